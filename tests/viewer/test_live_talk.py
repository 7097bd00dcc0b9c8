"""The live page before a room: keys and clickers, projector mode, fingers, and the plots of a step, in a real browser."""

from __future__ import annotations

import math
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page

from scenes.explain import Explainer
from tests.viewer.browser import Watched
from viewer.orbit import Orbit
from viewer.talk import Fingers, few, needed_first

SMALLEST_TARGET = 44  # CSS pixels that a finger needs: WCAG 2.2, success criterion 2.5.5


@pytest.fixture
def tablet(browser: Browser, address: str) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 1180, "height": 820}, has_touch=True, is_mobile=True)
    page = context.new_page()
    page.goto(address)
    page.wait_for_selector(".page[data-busy=false]", timeout=30_000)
    yield page
    context.close()


def at_step(page: Page, step: str) -> None:
    page.wait_for_selector(f"[aria-current=step][data-step='{step}']", timeout=15_000, state="attached")


def show(page: Page, step: str) -> None:
    page.evaluate("step => window.trame.trigger('go', [step])", step)
    at_step(page, step)


def touch(page: Page, *paths: list[tuple[float, float]]) -> None:
    """Lay as many fingers as there are paths on the page, move them along together, and take them off."""
    session = page.context.new_cdp_session(page)
    for k in range(len(paths[0])):
        points = [{"x": path[k][0], "y": path[k][1], "id": i} for i, path in enumerate(paths)]
        session.send("Input.dispatchTouchEvent", {"type": "touchStart" if k == 0 else "touchMove", "touchPoints": points})
        page.wait_for_timeout(30)
    session.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})


def test_arrows_page_keys_and_space_go_through_the_job_and_home_and_end_to_its_ends(live: Watched, millrace: Explainer) -> None:
    order = millrace.procedure.order
    for key, there in (
        ("Home", ""),
        ("ArrowRight", order[0]),
        ("PageDown", order[1]),
        (" ", order[2]),
        ("ArrowLeft", order[1]),
        ("PageUp", order[0]),
        ("End", order[-1]),
        ("PageDown", order[-1]),
        ("Shift+Space", order[-2]),
    ):
        live.page.keyboard.press(key)
        at_step(live.page, there)
    assert live.complaints == []


def test_a_clicker_goes_on_with_the_focus_on_a_slider_which_keeps_its_arrows(live: Watched, millrace: Explainer) -> None:
    show(live.page, "gear_hot")
    live.settled()
    live.page.locator("#heater").focus()
    before = live.page.locator("#heater").input_value()
    live.page.keyboard.press("ArrowRight")
    live.page.wait_for_function("before => document.getElementById('heater').value !== before", arg=before)
    at_step(live.page, "gear_hot")
    live.page.keyboard.press("PageDown")
    at_step(live.page, millrace.procedure.order[millrace.procedure.order.index("gear_hot") + 1])


def test_letters_and_spaces_typed_into_a_reading_are_only_typed(live: Watched) -> None:
    show(live.page, "backlash")
    live.page.locator("#typed_backlash").press_sequentially("0.3 pp")
    assert live.page.locator("#typed_backlash").input_value() == "0.3 pp"
    at_step(live.page, "backlash")
    assert live.page.locator(".page.talk").count() == 0


def test_projector_shows_picture_step_numbers_and_cautions_and_nothing_else(live: Watched) -> None:
    live.page.set_viewport_size({"width": 1920, "height": 1080})
    show(live.page, "gear_hot")
    small = live.page.locator(".card .act").evaluate("e => parseFloat(getComputedStyle(e).fontSize)")
    live.page.keyboard.press("p")
    live.page.wait_for_selector(".page.talk")
    for gone in (".bar", ".left", ".side", ".why", ".tools", ".numbers .source", ".numbers .limit"):
        assert live.page.locator(f"{gone} >> visible=true").count() == 0, gone
    for there in (".stage", ".card h2", ".card .act", ".card .hold", ".card .cautions", ".numbers .text", ".numbers .verdict"):
        assert live.page.locator(f"{there} >> visible=true").count() > 0, there
    # Legible from the back: letters of 1/200 of the distance for capitals is common practice; here at least 2 % of the picture's height.
    for large, least in ((".card .act", 0.022), (".card h2", 0.035), (".numbers .figure", 0.022)):
        tall = live.page.locator(large).first.evaluate("e => parseFloat(getComputedStyle(e).fontSize)")
        assert tall >= least * 1080 and tall > small, large
    wide = live.page.locator(".stage").bounding_box()
    assert wide and wide["width"] > 0.55 * 1920
    live.page.keyboard.press("Escape")
    live.page.wait_for_selector(".page:not(.talk)")
    assert live.page.locator(".bar >> visible=true").count() == 1


def test_projector_tells_first_what_must_be_acted_on(live: Watched) -> None:
    show(live.page, "gear_hot")
    live.page.locator("#heater").fill("170")
    live.page.wait_for_selector(".numbers tr.stop")
    live.page.get_by_role("button", name="Projector").click()
    live.page.wait_for_selector(".page.talk")
    live.page.wait_for_function("document.querySelector('.numbers tbody tr').classList.contains('stop')")
    rows = live.page.evaluate("[...document.querySelectorAll('.numbers tbody tr')].map(row => [row.className, row.dataset.key])")
    stops = [name == "stop" for name, _ in rows]
    assert stops == sorted(stops, reverse=True) and not all(stops)
    live.page.locator(".talk-buttons button").last.click()
    live.page.wait_for_selector(".page:not(.talk)")


def test_hot_steps_and_lifts_begin_with_what_the_crew_acts_on(millrace: Explainer) -> None:
    """Common practice, no source: temperature, bore to measure and time to carry for a hot part; mass and slings for a lift."""

    def first(step: str, count: int) -> list[str]:
        notes = needed_first(millrace.callouts(millrace.start_settings(), step))
        assert {note.key for note in few(notes)} >= {note.key for note in notes if note.verdict in ("stop", "watch")}
        return [note.key for note in few(notes)][:count]

    for step, fit in (("gear_hot", "gear_bore"), ("pinion_hot", "pinion_bore"), ("inner_inner_ring", "inner_bearing_bore")):
        assert first(step, 4) == [f"heat.{fit}.setting", f"heat.{fit}.clearance", f"heat.{fit}.carry_time", "lift.mass"]
    for step in ("cartridge_in", "shaft_down", "upper_half"):
        assert first(step, 2) == ["lift.mass", "lift.legs"]


LONGEST = ("gear_hot", "pinion_hot", "trial_read", "ls_bearing_2", "oil_first_run")


def test_every_caution_is_in_sight_on_the_projector_and_on_a_small_screen(live: Watched) -> None:
    last = "document.querySelector('.card .cautions').getBoundingClientRect().bottom"
    for size, projector in (((1280, 800), False), ((1920, 1080), True)):
        live.page.set_viewport_size({"width": size[0], "height": size[1]})
        if projector:
            live.page.keyboard.press("p")
            live.page.wait_for_selector(".page.talk")
        for step in LONGEST:
            show(live.page, step)
            live.settled()
            live.page.wait_for_function(f"{last} <= {size[1]}", timeout=5_000)
        assert live.page.locator(".card .forgotten >> visible=true").count() == 0 or not projector


def test_a_clicker_shows_what_is_hidden_of_a_step_before_it_goes_on(live: Watched) -> None:
    live.page.set_viewport_size({"width": 1024, "height": 600})
    show(live.page, "gear_hot")
    live.page.keyboard.press("p")
    live.page.wait_for_selector(".talk .card[data-more]")
    live.page.keyboard.press("PageDown")
    live.page.wait_for_function("document.querySelector('.card').scrollTop > 0")
    at_step(live.page, "gear_hot")
    hidden = "[...document.querySelectorAll('.card, .numbers')].some(e => e.scrollHeight - e.scrollTop - e.clientHeight > 3)"
    while live.page.evaluate(hidden):
        live.page.keyboard.press("PageDown")
        at_step(live.page, "gear_hot")
    at_step(live.page, "gear_hot")
    live.page.keyboard.press("PageDown")
    at_step(live.page, "gear_feeler")
    live.page.wait_for_function("document.querySelector('.card').scrollTop === 0")


def test_swiping_the_words_aside_changes_the_step_and_swiping_down_does_not(tablet: Page, millrace: Explainer) -> None:
    order = millrace.procedure.order
    show(tablet, order[2])
    box = tablet.locator(".card").bounding_box()
    assert box
    x, y = box["x"] + box["width"] * 0.7, box["y"] + 120
    touch(tablet, [(x, y), (x - 60, y + 4), (x - 150, y + 6)])
    at_step(tablet, order[3])
    touch(tablet, [(x - 150, y), (x - 60, y + 4), (x, y + 6)])
    at_step(tablet, order[2])
    touch(tablet, [(x, y), (x - 10, y + 80), (x - 70, y + 160)])
    tablet.wait_for_timeout(400)
    at_step(tablet, order[2])


def test_two_fingers_apart_enlarge_the_machine_and_one_finger_turns_it(tablet: Page) -> None:
    def dots() -> list[list[float]]:
        return tablet.evaluate(
            "[...document.querySelectorAll('.overlay circle')].map(c => [c.cx.baseVal.value, c.cy.baseVal.value])"
        )

    def moved(before: list[list[float]]) -> None:
        tablet.wait_for_function(
            "before => JSON.stringify([...document.querySelectorAll('.overlay circle')].map(c => [c.cx.baseVal.value, c.cy.baseVal.value])) !== JSON.stringify(before)",
            arg=before,
            timeout=10_000,
        )
        tablet.wait_for_timeout(700)
        tablet.wait_for_selector(".page[data-busy=false]")

    show(tablet, "split_screws")
    tablet.wait_for_timeout(1000)
    tablet.wait_for_selector(".page[data-busy=false]")
    box = tablet.locator(".stage").bounding_box()
    assert box
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    before = tablet.locator(".stage").screenshot()
    start = dots()
    touch(tablet, [(x, y), (x + 30, y), (x + 60, y + 4), (x + 110, y + 8)])
    moved(start)
    turned = tablet.locator(".stage").screenshot()
    assert turned != before
    start = dots()
    steps = (20, 40, 70, 100, 130)
    touch(tablet, [(x - d, y) for d in steps], [(x + d, y) for d in steps])
    moved(start)
    assert tablet.locator(".stage").screenshot() != turned


def test_everything_to_touch_is_large_enough_for_a_finger(tablet: Page) -> None:
    show(tablet, "pinion_gasket")
    tablet.wait_for_selector(".plot", timeout=10_000)
    small = tablet.evaluate(
        """least => [...document.querySelectorAll('button, input')].filter(e => e.offsetParent).map(e => {
          const box = (e.matches('[type=checkbox], [type=radio]') ? e.closest('label') : e).getBoundingClientRect();
          return [e.outerHTML.slice(0, 80), box.width, box.height];
        }).filter(([_, w, h]) => w < least - 0.5 || h < least - 0.5)""",
        SMALLEST_TARGET,
    )
    assert small == []


def test_fingers_enlarge_by_how_far_they_part_and_shift_by_how_far_they_go() -> None:
    fingers, start = Fingers(), Orbit(zoom=2.0, shift=(0.1, 0.0))
    assert fingers.moved({"type": "Pinch", "factor": 2.0}, start, (800.0, 600.0)) is None  # never began
    assert fingers.moved({"type": "StartPinch", "factor": 1.0}, start, (800.0, 600.0)) is None
    wider = fingers.moved({"type": "Pinch", "factor": 1.5}, start, (800.0, 600.0))
    assert wider is not None and math.isclose(wider.zoom, 3.0, rel_tol=1e-12)
    fingers.moved({"type": "StartPan"}, start, (800.0, 600.0))
    aside = fingers.moved({"type": "Pan", "translation": [80.0, -60.0]}, start, (800.0, 600.0))
    assert aside is not None and aside.shift == pytest.approx((0.1 + 2.0 * 0.1, -0.2))


def test_plots_stand_at_the_steps_where_they_belong_and_follow_the_sliders(live: Watched) -> None:
    for step, keys in (
        ("gear_hot", ["bore", "cooling"]),
        ("pinion_gasket", ["backlash"]),
        ("hs_float_gasket", ["backlash", "play"]),
    ):
        show(live.page, step)
        expected = (
            "keys => JSON.stringify([...document.querySelectorAll('.plot')].map(p => p.dataset.key)) === JSON.stringify(keys)"
        )
        live.page.wait_for_function(expected, arg=keys, timeout=15_000)
    show(live.page, "split_screws")
    live.page.wait_for_function("document.querySelectorAll('.plot').length === 0")

    show(live.page, "gear_hot")
    live.page.locator("#heater").fill("131")
    live.page.wait_for_selector(".plot[data-key=bore] text.mark:text-is('now 131 °C')", timeout=10_000)
    live.page.get_by_label("inch", exact=True).check()
    live.page.wait_for_selector(".plot[data-key=bore] text.axis:text-is('Diameter [in]')", timeout=10_000)
    assert live.page.locator(".plot[data-key=cooling] .indicative").inner_text().startswith("Indicative")


def test_a_plot_is_laid_large_over_the_picture_and_put_back_by_escape(live: Watched) -> None:
    show(live.page, "pinion_gasket")
    small = live.page.locator(".plot svg").bounding_box()
    live.page.locator(".plot .enlarge").click()
    large = live.page.locator(".plot.large svg").bounding_box()
    assert small and large and large["width"] > 2.0 * small["width"]
    before = live.page.locator(".plot .dot").get_attribute("cx")
    live.page.locator("#gasket_0").fill("0.8")
    live.page.wait_for_function(
        "before => document.querySelector('.plot .dot').getAttribute('cx') !== before", arg=before, timeout=10_000
    )
    live.page.keyboard.press("Escape")
    assert live.page.locator(".plot.large").count() == 0
    at_step(live.page, "pinion_gasket")
