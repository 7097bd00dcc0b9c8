"""The live page: its shell, its layout and its words. Everything that it shows comes from the state that viewer.live fills."""

from __future__ import annotations

import html as markup
import re
from importlib import resources
from pathlib import Path
from typing import Any

from scenes.frame import Verdict
from scenes.wording import catalogue, spoken
from viewer import asking, readings_form, record_form, talk

OWN_FILES = ("page.css", "page.js", "talk.css", "talk.js", "ask.css", "ask.js", "record.css", "record.js")
VERDICTS: tuple[Verdict, ...] = ("fine", "watch", "stop", "")


def words() -> dict[str, str]:
    """Every text of the page by its key, in the language spoken: its own, those of pictures, of the order, of what is forgotten."""
    told = ("page.", "picture.", "order_verdict.", "forgotten.", "record.state_", "readings.")
    return {key: text for key, text in catalogue().items() if key.startswith(told) and isinstance(text, str)}


def verdict_words(word: dict[str, str]) -> dict[Verdict, tuple[str, str]]:
    """Mark and word of each verdict: colour never tells it alone."""
    return {v: (word[f"page.mark_{v or 'none'}"], word[f"page.verdict_{v or 'none'}"]) for v in VERDICTS}


def shell(title: str, word: dict[str, str]) -> dict[str, tuple[str, str]]:
    """Our own start page, style and script: file name -> (content type, text)."""
    from trame_client.module.vue3 import www

    theirs = (Path(www) / "index.html").read_text(encoding="utf-8")
    client = _first(r'src="\./(assets/[^"]+\.js)"', theirs)
    web = resources.files("viewer").joinpath("web")
    index = f"""<!doctype html>
<html lang="{spoken()}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<link rel="icon" href="data:,">
<title>{markup.escape(title)}</title>
<link rel="stylesheet" href="page.css">
<link rel="stylesheet" href="talk.css">
<link rel="stylesheet" href="ask.css">
<link rel="stylesheet" href="record.css">
<script src="vue.global.js"></script>
</head>
<body>
<div id="app"><div class="notice-page">{markup.escape(word["page.loading"])}</div></div>
<script src="talk.js"></script>
<script src="ask.js"></script>
<script src="record.js"></script>
<script src="page.js" data-client="{client}" data-taken="{markup.escape(word["page.taken"])}"></script>
</body>
</html>
"""
    kinds = {"css": "text/css", "js": "text/javascript"}
    files = {name: (kinds[name.rpartition(".")[2]], web.joinpath(name).read_text(encoding="utf-8")) for name in OWN_FILES}
    return {"index.html": ("text/html", index), **files}


def _first(pattern: str, text: str) -> str:
    found = re.search(pattern, text)
    if found is None:
        raise RuntimeError("the installed trame client has another start page than the pinned one")
    return found.group(1)


def build(server: Any, word: dict[str, str], gaskets: list[dict[str, Any]], ranges: dict[str, tuple[float, float]]) -> Any:
    """Lay the page out and give back the area that shows the picture. `gaskets`: name, label, slot, low, high [mm]."""
    from trame.ui.html import DivLayout
    from trame.widgets import html
    from trame.widgets.rca import RemoteControlledArea

    server.state.trame__template_error = f'<div class="notice-page">{markup.escape(word["page.lost"])}</div>'
    with (
        DivLayout(server),
        html.Div(
            classes="page",
            raw_attrs=[':data-busy="busy"', ':class="{ whole: !card, talk: talk, asking: asking, recorded: record_open }"'],
        ),
    ):
        _header(html, word)
        talk.build_leave(html, word)
        _left(html, word)
        with html.Main(classes="stage"):
            area = RemoteControlledArea("stage", display="image", event_throttle_ms=15, resize_throttle_ms=100)
            html.Div(classes="overlay", v_html=("overlay",))
            html.Div(word["page.drawing"], classes="busy", v_show="busy")
        _card(html, word)
        _numbers(html, word)
        asking.build(html)
        with html.Section(classes="side"):
            _controls(html, word, gaskets, ranges)
    return area


def _header(html: Any, word: dict[str, str]) -> None:
    with html.Header(classes="bar"):
        with html.Div(classes="whose"):
            html.H1("{{ machine }}")
            record_form.build_job(html)
        record_form.build_stop(html)
        free = "!(record_stop && order.class === 'fine')"  # no green line where the record stands at stop
        with html.P(classes="order", v_show=free, raw_attrs=[':class="order.class"', 'role="status"']):
            html.B("{{ order.mark }}")
            html.Span("{{ order.text }}")
        html.Span("{{ notice }}", classes="notice", v_if="notice", raw_attrs=['role="alert"'])
        with html.Div(classes="buttons"):
            asking.build_buttons(html)
            talk.build_buttons(html, word)
            html.Button(
                word["page.as_built"], click="trigger('as_built')", title=word["page.as_built_hint"], classes="plain own-step"
            )
            html.Button(word["page.view"], click="trigger('own_view')", title=word["page.view_hint"], classes="plain")
            html.Button(
                "‹ " + word["page.previous"],
                classes="own-step",
                click="trigger('step_by', [-1])",
                title=word["page.previous_hint"],
                disabled=("first",),
            )
            html.Button(
                word["page.next"] + " ›",
                classes="own-step",
                click="trigger('step_by', [1])",
                title=word["page.next_hint"],
                disabled=("last",),
            )


def _left(html: Any, word: dict[str, str]) -> None:
    with html.Div(classes="left"):
        record_form.build(html, word)
        _steps(html, word)
        with html.Div(classes="figures"):
            for figure in ("heat", "fit", "pair"):
                with html.Figure(classes=figure, v_if=figure):
                    html.Figcaption(f"{{{{ {figure}_caption }}}}")
                    html.Div(v_html=(figure,))
            with html.Figure(classes="mesh", v_if="mesh"):
                html.Figcaption("{{ mesh_caption }}")
                html.Div(v_html=("mesh",))
                with html.Ul(raw_attrs=[':class="mesh_state"']):
                    html.Li("{{ line }}", v_for="line in mesh_words", key="line")
            talk.build_plots(html, word)
            readings_form.build(html, word)


def _steps(html: Any, word: dict[str, str]) -> None:
    with html.Nav(classes="steps", raw_attrs=[f'aria-label="{markup.escape(word["page.steps"])}"']):
        html.Button(
            word["page.whole_machine"],
            click="trigger('go', [''])",
            raw_attrs=[":aria-current=\"step === '' ? 'step' : false\"", 'data-step=""'],
        )
        with html.Section(v_for="phase in phases", key="phase.id"):
            html.H2("{{ phase.title }}")
            with (
                html.Ol(),
                html.Li(v_for="s in phase.steps", key="s.id"),
                html.Button(
                    click="trigger('go', [s.id])",
                    raw_attrs=[":aria-current=\"s.id === step ? 'step' : false\"", ':data-step="s.id"'],
                ),
            ):
                html.Span("{{ s.number }}", classes="number")
                html.Span("{{ s.title }}")


def _card(html: Any, word: dict[str, str]) -> None:
    with html.Article(classes="card", v_if="card"):
        html.P("{{ card.place }}", classes="place")
        html.H2("{{ card.title }}")
        html.P("{{ card.act }}", classes="act")
        _faults(html, word)
        with html.Div(v_if="card.hold", classes="hold"):
            html.H3(word["page.hold"])
            html.P("{{ card.hold }}")
        _lines(html, "cautions", word["page.cautions"], "card.cautions")
        _lines(html, "watched", word["order_verdict.watched"], "order.watched")
        for key, name in (("reason", "why"), ("method", "how")):
            with html.Div(v_if=f"card.{key}", classes=name):
                html.H3(word[f"page.{name}"])
                html.P(f"{{{{ card.{key} }}}}")
        _lines(html, "tools", word["page.tools"], "card.tools")
        _lines(html, "forgotten", word["forgotten.heading"], "forgotten")
        _lines(html, "notes", word["page.notes"], "notes")
    with html.Article(classes="card", v_if="!card"):
        html.H2(word["page.whole_machine"])
        html.P(word["page.whole_hint"])
        _faults(html, word)
        _lines(html, "watched", word["order_verdict.watched"], "order.watched")
        _lines(html, "notes", word["page.notes"], "notes")


def _faults(html: Any, word: dict[str, str]) -> None:
    """What stands against the order at this step, with a picture of each way that is not free."""
    with html.Div(v_if="order.faults.length", classes="faults"):
        html.H3(word["order_verdict.against"])
        with html.Ul(), html.Li(v_for="fault in order.faults", key="fault.text"):
            html.Span("{{ fault.text }} ")
            html.Button(
                f"{{{{ fault.now ? {_quoted(word['order_verdict.hide'])} : {_quoted(word['order_verdict.show'])} }}}}",
                v_if="fault.meet >= 0",
                click="trigger('meet', [fault.meet])",
                raw_attrs=[':data-meet="fault.meet"'],
            )
        with html.P(v_for="name in order.names", key="name.class", classes="sides"):
            html.I(raw_attrs=[':class="name.class"'])
            html.Span("{{ name.text }}")
        html.P("{{ line }}", v_for="line in order.said", key="line", classes="said")


def _quoted(words: str) -> str:
    """A text as a string of the page's template."""
    return "'" + words.replace("\\", "\\\\").replace("'", "\\'") + "'"


def _lines(html: Any, name: str, heading: str, lines: str) -> None:
    """A block of the card: its heading and the sentences that the state `lines` holds; nothing where there are none."""
    with html.Div(v_if=f"{lines}.length", classes=name):
        html.H3(heading)
        with html.Ul():
            html.Li("{{ line }}", v_for=f"line in {lines}", key="line")


def _numbers(html: Any, word: dict[str, str]) -> None:
    with html.Section(classes="numbers"):
        html.P(word["page.no_numbers"], v_if="card && !rows.length", classes="no-numbers")
        with html.Table(v_if="rows.length"):
            html.Caption(word["page.numbers"])
            with html.Thead(), html.Tr():
                for column in ("note", "figure", "limit", "verdict", "source"):
                    html.Th(word[f"page.column_{column}"], raw_attrs=['scope="col"'])
            row = [':data-key="row.key"', ':class="row.class"']
            with html.Tbody(), html.Tr(v_for="row in rows", key="row.id", raw_attrs=row):
                html.Td("{{ row.text }}", classes="text")
                html.Td("{{ row.short }}", classes="figure")
                html.Td("{{ row.limit }}", classes="limit")
                with html.Td(classes="verdict"), html.Span():
                    html.B("{{ row.mark }}")
                    html.Span("{{ row.word }}")
                html.Td("{{ row.source }}", classes="source")


def _controls(html: Any, word: dict[str, str], gaskets: list[dict[str, Any]], ranges: dict[str, tuple[float, float]]) -> None:
    with html.Form(classes="controls", v_on_submit_prevent="", raw_attrs=['autocomplete="off"']):
        with html.Div(classes="row"):
            with html.Label(classes="switch"):
                html.Input(type="checkbox", v_model=("cut",), raw_attrs=['id="cut"'])
                html.Span(word["page.cut"])
            with html.Span(classes="units", raw_attrs=['role="radiogroup"', f'aria-label="{markup.escape(word["page.units"])}"']):
                for unit in ("mm", "inch"):
                    with html.Label():
                        html.Input(type="radio", value=unit, v_model=("units",), raw_attrs=['name="units"'])
                        html.Span(word[f"page.unit_{unit}"])
        for name, step in (("explode", "0.01"), ("ambient", "1"), ("heater", "1")):
            low, high = ranges[name]
            _slider(html, name, word[f"page.{name}"], (low, high), step)
        for gasket in gaskets:
            _slider(html, gasket["slot"], gasket["label"], (gasket["low"], gasket["high"]), "any", gasket["name"], word)


def _slider(
    html: Any, slot: str, label: str, limits: tuple[float, float], step: str, gasket: str = "", word: dict[str, str] | None = None
) -> None:
    shown = {"v_show": "heat"} if slot == "heater" else {}
    with html.Div(classes="slider" + (" stock" if gasket else ""), **shown):
        html.Label(label, raw_attrs=[f'for="{slot}"'])
        html.Output(f"{{{{ readouts.{slot} }}}}", raw_attrs=[f'for="{slot}"'])
        if gasket and word:
            _stock_button(html, "−", word["page.thinner"].format(name=label), f"trigger('stock', ['{gasket}', -1])")
        html.Input(
            type="range",
            v_model_number=(slot,),
            raw_attrs=[f'id="{slot}"', f'min="{limits[0]:g}"', f'max="{limits[1]:g}"', f'step="{step}"'],
        )
        if gasket and word:
            _stock_button(html, "+", word["page.thicker"].format(name=label), f"trigger('stock', ['{gasket}', 1])")


def _stock_button(html: Any, sign: str, hint: str, click: str) -> None:
    html.Button(sign, click=click, title=hint, raw_attrs=['type="button"', f'aria-label="{markup.escape(hint)}"'])
