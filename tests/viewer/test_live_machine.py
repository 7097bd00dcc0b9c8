"""The live page of a shipped machine, started as a user starts it: the screen says what the command line prints."""

from __future__ import annotations

import html
import re
from importlib.resources import files
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from playwright.sync_api import Browser

from scenes.explain import Explainer
from scenes.frame import MeshView
from tests.viewer.browser import Watched, served
from viewer import mesh_figure
from viewer.talk import needed_first

TOLD = "[...document.querySelectorAll('.numbers tbody tr')].map(row => [...row.cells].map(cell => cell.innerText))"


def show(live: Watched, step: str) -> None:
    live.page.locator(f"[data-step={step}]").click()
    live.page.wait_for_selector(f"[aria-current=step][data-step={step}]", timeout=15_000)


def printed(millrace: Explainer, **changes: Any) -> list[list[str]]:
    """Text, figure, limit and source of each note, as `numbers --json` gives them, in the page's order."""
    report = millrace.numbers(millrace.with_(millrace.start_settings(), **changes))
    found: list[Any] = [SimpleNamespace(**note) for note in report["steps"][0]["callouts"]]
    return [[note.text, note.short, note.limit, note.source] for note in needed_first(found)]


def until_told(live: Watched, expected: list[list[str]]) -> None:
    cells = f"{TOLD}.map(cells => [cells[0], cells[1], cells[2], cells[4]])"
    live.page.wait_for_function(f"rows => JSON.stringify({cells}) === JSON.stringify(rows)", arg=expected, timeout=15_000)


@pytest.mark.parametrize("stride", [6, pytest.param(1, marks=pytest.mark.long)])
def test_the_steps_of_the_machine_show_their_printed_numbers(live: Watched, millrace: Explainer, address: str, stride: int) -> None:
    for step in millrace.procedure.order[::stride]:
        show(live, step)
        until_told(live, printed(millrace, step=step))
    live.settled()
    assert live.complaints == []
    assert live.foreign(address) == []


def test_heater_moves_the_hot_bore_on_the_screen_as_in_print(live: Watched, millrace: Explainer) -> None:
    show(live, "gear_hot")
    cold, hot = printed(millrace, step="gear_hot", heater=60.0), printed(millrace, step="gear_hot", heater=140.0)
    assert cold != hot
    for heater, expected in ((60.0, cold), (140.0, hot)):
        live.page.locator("#heater").fill(f"{heater:g}")
        until_told(live, expected)


def test_every_position_gasket_changes_a_number_of_some_step(live: Watched, millrace: Explainer) -> None:
    for slot, (name, _, nominal, _, _, stock) in enumerate(millrace.gaskets):
        other = max(stock)
        step = next(
            s for s in millrace.procedure.order if printed(millrace, step=s, gaskets={name: other}) != printed(millrace, step=s)
        )
        show(live, step)
        live.page.locator(f"#gasket_{slot}").fill(f"{other:g}")
        until_told(live, printed(millrace, step=step, gaskets={name: other}))
        live.page.locator(f"#gasket_{slot}").fill(f"{nominal:g}")
        until_told(live, printed(millrace, step=step))


def test_inch_shows_the_numbers_printed_in_inches(live: Watched, millrace: Explainer) -> None:
    show(live, "gear_hot")
    live.page.get_by_label("inch").check()
    until_told(live, printed(millrace, step="gear_hot", units="inch"))


def test_the_picture_numbers_as_many_heads_as_the_step_has_screws(live: Watched, millrace: Explainer) -> None:
    for step in ("carrier_screws", "split_screws"):
        show(live, step)
        frame = millrace.frame(millrace.with_(millrace.start_settings(), step=step))
        count = len(frame.sequence)
        live.page.wait_for_function(f"document.querySelectorAll('.overlay .order circle').length === {count}", timeout=15_000)
        texts = live.page.locator(".overlay .order text").all_text_contents()
        assert texts == [mark.text for mark in frame.sequence]
    show(live, "gear_hot")
    live.page.wait_for_function("!document.querySelector('.overlay .order')", timeout=15_000)


def test_the_pair_stands_beside_the_steps_that_fit_it(live: Watched, millrace: Explainer) -> None:
    show(live, "hs_bearing_1")
    live.page.wait_for_selector("figure.pair svg", timeout=15_000)
    assert live.page.locator("figure.pair .contact").count() == 2
    assert live.page.locator("figure.fit").count() == 0
    view = millrace.frame(millrace.with_(millrace.start_settings(), step="hs_bearing_1")).pair_view
    assert view is not None
    assert live.page.locator("figure.pair figcaption").inner_text() == view.caption
    show(live, "gear_hot")
    live.page.wait_for_selector("figure.pair", state="detached", timeout=15_000)


MARKS = "[...document.querySelectorAll('figure.mesh .mark, figure.mesh .needle')].map(path => path.getAttribute('d'))"
WORDS = "[...document.querySelectorAll('figure.mesh text, figure.mesh li')].map(item => item.textContent)"


def drawn(view: MeshView) -> tuple[list[str], list[str]]:
    """Outlines of the marks and the needle, and all words, as the frame's own figure has them."""
    figure = mesh_figure.svg(view)
    outlines = re.findall(r'<path class="[^"]*\b(?:mark|needle)" d="([^"]*)"', figure)
    texts = [html.unescape(text) for text in re.findall(r"<text[^>]*>([^<]*)</text>", figure)]
    return outlines, [*texts, *mesh_figure.words(view)]


def test_a_pinion_gasket_moves_the_marks_and_the_dial_as_in_the_frame(live: Watched, millrace: Explainer) -> None:
    name, _, nominal, *_ = millrace.gaskets[0]
    assert name == "pinion_gasket"
    seen = []
    for step, thickness in (("pattern", nominal), ("pattern", nominal + 0.2), ("pinion_gasket", nominal - 0.2)):
        show(live, step)
        live.page.locator("#gasket_0").fill(f"{thickness:g}")
        view = millrace.frame(millrace.with_(millrace.start_settings(), step=step, gaskets={name: round(thickness, 6)})).mesh_view
        assert view is not None
        outlines, words = drawn(view)
        assert len(outlines) >= 10
        live.page.wait_for_function(f"told => JSON.stringify({WORDS}) === JSON.stringify(told)", arg=words, timeout=15_000)
        assert live.page.evaluate(MARKS) == outlines
        seen.append((outlines, view.dial.text))
    assert seen[0][0] != seen[1][0] != seen[2][0] and len({text for _, text in seen}) == 3
    show(live, "gear_hot")
    live.page.wait_for_selector("figure.mesh", state="detached", timeout=15_000)
    assert live.complaints == []


def test_a_jam_is_said_on_the_page(live: Watched, millrace: Explainer) -> None:
    show(live, "backlash")
    live.page.locator("#gasket_1").fill("0.8")
    live.page.wait_for_selector("figure.mesh svg[data-state=jammed]", timeout=15_000)
    first = live.page.locator("figure.mesh li").first
    assert first.inner_text().startswith("Jammed")
    assert live.page.evaluate("getComputedStyle(document.querySelector('figure.mesh li')).fontWeight") == "700"


def test_readings_typed_on_the_page_are_answered_as_the_command_line_answers(
    live: Watched, capsys: pytest.CaptureFixture[str]
) -> None:
    from viewer.cli import main

    show(live, "backlash")
    for name, value in (("backlash", "0.31 mm; 0.33 mm; 0.35 mm"), ("drive", "heel"), ("coast", "heel"), ("end_play", "0.05 mm")):
        live.page.locator(f"#typed_{name}").fill(value)
    live.page.locator(".readings button").click()
    live.page.wait_for_selector(".readings .moves", timeout=10_000)
    options = ["--backlash", "0.31 mm", "--backlash", "0.33 mm", "--backlash", "0.35 mm", "--drive", "heel", "--coast", "heel"]
    assert main(["adjust", "millrace", *options, "--end-play", "0.05 mm"]) == 0
    told = capsys.readouterr().out.split()
    assert live.page.locator(".readings .moves").inner_text().split() == told
    live.page.locator("#typed_drive").fill("tow")
    live.page.locator(".readings button").click()
    live.page.wait_for_selector(".readings .fault", timeout=10_000)
    assert "did you mean toe?" in live.page.locator(".readings .fault").inner_text()
    assert live.complaints == []


def test_the_page_tells_the_verdict_on_the_order_and_what_forgetting_costs(live: Watched) -> None:
    live.page.wait_for_selector(".bar .order.fine", timeout=60_000)
    assert "nothing stands against it" in live.page.locator(".bar .order").inner_text()
    show(live, "hs_bearing_2")
    live.page.wait_for_selector(".card .forgotten", timeout=15_000)
    assert "High-speed inner spacer" in live.page.locator(".card .forgotten").inner_text()
    assert live.page.locator(".card .faults").count() == 0


def test_a_blocked_way_is_drawn_where_it_meets_with_the_travel_that_is_left(browser: Browser, tmp_path: Path) -> None:
    text = files("scenes").joinpath("procedures", "right_angle.toml").read_text(encoding="utf-8")
    line, after = '  "hs_sleeve",\n', '  "hs_bearing_1",\n'
    (tmp_path / "mine.toml").write_text(text.replace(line, "").replace(after, after + line), encoding="utf-8")
    shipped = files("scenes").joinpath("machines", "millrace.toml").read_text(encoding="utf-8")
    (tmp_path / "machine.toml").write_text('procedure = "mine.toml"\n' + shipped, encoding="utf-8")
    with served(["-m", "viewer.cli", "show", str(tmp_path / "machine.toml"), "--no-browser"]) as url:
        watched = Watched(browser)
        watched.page.goto(url)
        watched.page.wait_for_selector(".bar .order.stop", timeout=60_000)
        show(watched, "hs_sleeve")
        watched.page.locator("[data-meet='0']").click()
        watched.page.wait_for_selector(".overlay .way text", timeout=30_000)
        assert watched.page.locator(".overlay .way text").text_content() == "41.98 mm left"
        watched.page.wait_for_function(
            """wanted => {
                const named = [...document.querySelectorAll('.overlay [data-label]')].map(one => one.dataset.label);
                return JSON.stringify([...new Set(named)].sort()) === JSON.stringify(wanted);
            }""",
            arg=["Angular contact bearing 1, inner ring", "Distance sleeve"],
            timeout=30_000,
        )
        watched.page.locator("[data-meet='0']").click()
        watched.page.wait_for_function("!document.querySelector('.overlay .way')", timeout=30_000)


def test_the_page_speaks_the_language_it_was_started_in(browser: Browser, millrace: Explainer) -> None:
    with served(["-m", "viewer.cli", "show", "millrace", "--no-browser", "--language", "es"]) as url:
        watched = Watched(browser)
        watched.page.goto(url)
        watched.page.wait_for_selector(".page", timeout=30_000)
        watched.settled()
        assert watched.page.locator("html").get_attribute("lang") == "es"
        show(watched, "gear_hot")
        until_told(watched, printed(millrace, step="gear_hot", language="es"))
        watched.page.locator("#heater").fill("100")
        until_told(watched, printed(millrace, step="gear_hot", language="es", heater=100.0))
        page = watched.page.locator(".page").inner_text()
        assert "Punto de parada" in page and "0,50 mm" in page
        assert not re.search(r"\d\.\d{2,3} mm|\b(the|with|Hold point|Heater|Next)\b", page)
        assert watched.complaints == []
        watched.page.context.close()


def test_what_is_only_watched_is_told_at_its_step_and_the_order_stays_fine(browser: Browser, tmp_path: Path) -> None:
    text = files("scenes").joinpath("procedures", "right_angle.toml").read_text(encoding="utf-8")
    assert text.count(', "clamp_bar"]') == 1
    (tmp_path / "mine.toml").write_text(text.replace(', "clamp_bar"]', "]"), encoding="utf-8")
    shipped = files("scenes").joinpath("machines", "millrace.toml").read_text(encoding="utf-8")
    (tmp_path / "machine.toml").write_text('procedure = "mine.toml"\n' + shipped, encoding="utf-8")
    with served(["-m", "viewer.cli", "show", str(tmp_path / "machine.toml"), "--no-browser"]) as url:
        watched = Watched(browser)
        watched.page.goto(url)
        watched.page.wait_for_selector(".bar .order.fine", timeout=60_000)
        show(watched, "gear_hot")
        watched.page.wait_for_selector(".card .watched", timeout=15_000)
        assert "no clamp bar" in watched.page.locator(".card .watched").inner_text()
        assert watched.page.locator(".card .faults").count() == 0 and watched.complaints == []
        watched.page.context.close()
