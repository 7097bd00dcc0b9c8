"""The live page for a talk: projector mode, fingers on the picture, and the plots of a step. Its keys and swipes are in web/talk.js."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from typing import Any, Final

from scenes.frame import Callout
from viewer import plot_figure
from viewer.orbit import ZOOM_STEP, Orbit

LARGER: Final = 1.35  # type in the picture on the projector over that on the page
SEVERITY: Final = {"stop": 0, "watch": 1, "fine": 2, "": 3}
NEEDED: Final = (
    "heat.setting",
    "heat.clearance",
    "heat.carry_time",
    "lift.mass",
    "lift.legs",
)  # what a hot or a lifted part is fitted by
FEW: Final = 6  # figures under the picture on the projector; more only where more are to be watched


def build_buttons(html: Any, word: dict[str, str]) -> None:
    """The button into projector mode, in the bar."""
    html.Button(word["page.project"], click="trigger('project', [true])", title=word["page.project_hint"], classes="plain")


def build_leave(html: Any, word: dict[str, str]) -> None:
    """What stays to touch in projector mode: back, on, and out of it; and where in the job this is."""
    with html.Div(classes="talk-buttons", v_if="talk"):
        html.Button("‹", title=word["page.previous_hint"], disabled=("first",), raw_attrs=['data-by="-1"'])
        html.Button("›", title=word["page.next_hint"], raw_attrs=['data-by="1"'])
        html.Button("✕", click="trigger('project', [false])", title=word["page.project_leave"])


def build_plots(html: Any, word: dict[str, str]) -> None:
    """The plots of the step; each can be laid large over the picture (web/talk.js)."""
    with html.Figure(v_for="plot in plots", key="plot.key", classes="plot", raw_attrs=[':data-key="plot.key"']):
        with html.Figcaption():
            html.Span("{{ plot.title }}")
            html.Button(
                "⤢",
                title=word["page.plot_large"],
                classes="enlarge",
                raw_attrs=['type="button"', f'aria-label="{word["page.plot_large"]}"'],
            )
        html.Div(v_html=("plot.svg",))
        html.P("{{ line }}", v_for="line in plot.said", key="line")
        html.P("{{ plot.indicative }}", v_if="plot.indicative", classes="indicative")


def needed_first(callouts: Iterable[Callout]) -> list[Callout]:
    """Notes as a crew needs them: stops, then what the step's act goes by (a hot part: temperature, bore, time; a lift: mass, slings),
    then what is to be watched, then the rest as it was."""
    return sorted(callouts, key=lambda each: (each.verdict != "stop", _need(each.key), SEVERITY[each.verdict]))


def needed(note: Callout) -> bool:
    """Whether a step's act goes by this note."""
    return _need(note.key) < len(NEEDED)


def few(callouts: Sequence[Callout]) -> list[Callout]:
    """Of notes so sorted those for the projector: none that is needed or to be watched is left out."""
    kept = [each for each in callouts if each.verdict in ("stop", "watch") or needed(each)]
    others = [each for each in callouts if each not in kept][: max(0, FEW - len(kept))]
    return [each for each in callouts if each in kept or each in others]


def _need(key: str) -> int:
    """Place of a note among those that an act goes by; all others share the last."""
    kind, *_, what = key.split(".")
    name = f"{kind}.{what}"
    return NEEDED.index(name) if name in NEEDED else len(NEEDED)


class Talk:
    """Whether the page is on the projector, and the plots of its step. `changed`: lay labels and rows out anew."""

    def __init__(self, explainer: Any, server: Any, changed: Callable[[], None]) -> None:
        self.explainer, self.state, self._changed = explainer, server.state, changed
        self.on = False
        self._due: Any = None  # settings whose plots are to be drawn once the picture rests
        self._step: str | None = None
        self.state.update({"talk": False, "plots": []})
        server.controller.trigger("project")(self.project)

    def project(self, on: bool | None = None) -> None:
        """Into projector mode or out of it; without a word to the other one."""
        self.on = not self.on if on is None else bool(on)
        self.state.talk = self.on
        self._changed()

    @property
    def larger(self) -> float:
        """Type in the picture over its usual size [1]."""
        return LARGER if self.on else 1.0

    def sorted(self, callouts: Sequence[Callout]) -> list[Callout]:
        """What must be acted on comes first; on the projector the few that the act needs or that are to be watched are all."""
        found = needed_first(callouts)
        return few(found) if self.on else found

    def follow(self, settings: Any, *, at_once: bool) -> None:
        """Take new settings: plots that cost little come `at_once`, others when the picture rests; another step's go away."""
        self._due = settings
        if settings.step != self._step:
            self._step, self.state.plots = settings.step, []
        if at_once:
            self.rest()

    def rest(self) -> None:
        """The picture rests: bring the plots up to the settings."""
        if self._due is not None:
            settings, self._due = self._due, None
            self._show(settings)

    def _show(self, settings: Any) -> None:
        plots = self.explainer.plots(settings) if hasattr(self.explainer, "plots") else ()
        self.state.plots = [
            {
                "key": plot.key,
                "title": plot.title,
                "svg": plot_figure.svg(plot),
                "said": list(plot.said),
                "indicative": plot.indicative,
            }
            for plot in plots
        ]


class Fingers:
    """Two fingers on the picture: apart or together to enlarge or reduce, side by side to shift. All is told from where they began."""

    def __init__(self) -> None:
        self._began: Orbit | None = None

    def moved(self, event: dict[str, Any], now: Orbit, size: tuple[float, float]) -> Orbit | None:
        """The view after an event of two fingers; None for any other event. `size` of the picture on the page [CSS pixel]."""
        kind = str(event.get("type", ""))
        if kind in ("StartPinch", "StartPan", "StartRotate"):
            self._began = now
        elif kind == "Pinch" and self._began is not None and event.get("factor"):
            return self._began.zoomed(math.log(float(event["factor"])) / math.log(ZOOM_STEP))
        elif kind == "Pan" and self._began is not None and event.get("translation"):
            across, up = event["translation"]
            return self._began.shifted(float(across) / max(size[0], 1.0), float(up) / max(size[1], 1.0))
        return None
