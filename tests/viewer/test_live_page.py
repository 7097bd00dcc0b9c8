"""The live page in a real browser: what a person does, and what then stands on the screen."""

from __future__ import annotations

import io
import os
import re
import signal
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image
from playwright.sync_api import Browser

from scenes.frame import Camera, FitView
from tests.viewer.browser import ROOT, Watched, served
from tests.viewer.sample_explainer import SampleExplainer
from viewer import overlay, page, palette
from viewer.orbit import Orbit
from viewer.seat import RESERVED_SECONDS, Seat
from viewer.talk import needed_first

TOLD = "[...document.querySelectorAll('.numbers td.text')].map(cell => cell.innerText)"
BOXES = """[...document.querySelectorAll('.overlay text')].map(text => {
  const box = text.getBoundingClientRect();
  return [box.left, box.top, box.right, box.bottom];
})"""
PICTURE_SECONDS = 10.0  # that a picture may take on a machine with other work
SAMPLE = ["-m", "tests.viewer.sample_explainer"]


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    with served(SAMPLE) as url:
        yield url


@pytest.fixture
def live(browser: Browser, address: str) -> Iterator[Watched]:
    watched = Watched(browser)
    watched.page.goto(address)
    watched.page.wait_for_selector(".page", timeout=20_000)
    watched.settled()
    yield watched
    watched.page.context.close()


def told(live: Watched) -> list[str]:
    return live.page.locator(".numbers td.text").all_inner_texts()


def printed(**changes: Any) -> list[str]:
    sample = SampleExplainer()
    return [note.text for note in needed_first(sample.frame(sample.with_(sample.start_settings(), **changes)).callouts)]


def picture(live: Watched) -> NDArray[np.uint8]:
    """The 3-D picture as the screen shows it, without the labels over it."""
    hide = "on => document.querySelector('.overlay').style.visibility = on ? 'hidden' : ''"
    live.page.evaluate(hide, True)
    shot = live.page.locator(".stage").screenshot()
    live.page.evaluate(hide, False)
    return np.asarray(Image.open(io.BytesIO(shot)).convert("RGB"))


def share_changed(a: NDArray[np.uint8], b: NDArray[np.uint8]) -> float:
    return float((np.abs(a.astype(int) - b).max(axis=2) > 40).mean())


def until_changed(live: Watched, before: NDArray[np.uint8], share: float) -> NDArray[np.uint8]:
    """The picture once it has come: numbers and their state go ahead of it."""
    end = time.monotonic() + PICTURE_SECONDS
    while share_changed(before, now := picture(live)) <= share:
        assert time.monotonic() < end, share_changed(before, now)
        live.page.wait_for_timeout(100)
    return now


def at_rest(live: Watched) -> NDArray[np.uint8]:
    """The picture when it no longer changes: of the step before it may still be on its way."""
    live.settled()
    last, now = picture(live), None
    for _ in range(20):
        live.page.wait_for_timeout(400)
        live.settled()
        last, now = picture(live), last
        if share_changed(last, now) < 1e-4:
            break
    return last


def until_told(live: Watched, expected: list[str]) -> None:
    live.page.wait_for_function(f"lines => JSON.stringify({TOLD}) === JSON.stringify(lines)", arg=expected)


def test_page_opens_without_a_complaint_and_asks_no_other_host(live: Watched, address: str) -> None:
    live.page.locator("#heater").fill("150")
    live.page.keyboard.press("PageDown")
    live.settled()
    live.page.wait_for_timeout(500)
    assert live.complaints == []
    assert len(live.requests) > 5
    assert live.foreign(address) == []


def test_page_carries_its_own_name_and_nothing_of_the_libraries_it_stands_on(live: Watched) -> None:
    assert live.page.title() == "Sample reducer: assembly, step by step"
    assert live.page.locator("footer").count() == 0
    markup = live.page.content().replace("__trame_rca_", "").lower()
    assert not re.findall(r">[^<]*(trame|kitware|vuetify)[^<]*<", re.sub(r"<(script|style)\b.*?</\1>", "", markup, flags=re.S))
    assert live.page.locator("link[rel=icon]").get_attribute("href") == "data:,"


def test_numbers_on_the_page_are_the_printed_numbers(live: Watched) -> None:
    assert told(live) == printed()


def test_heater_moves_the_bore_on_the_screen_as_in_print(live: Watched) -> None:
    before = told(live)
    live.page.locator("#heater").fill("160")
    until_told(live, printed(heater=160.0))
    assert told(live) != before
    assert "160 °C" in live.page.locator("output[for=heater]").inner_text()
    assert live.page.locator("tr[data-key='heat.gear'] .verdict").inner_text().split() == ["✕", "stop"]


def test_dragging_the_heater_slider_by_hand_ends_where_the_hand_stops(live: Watched) -> None:
    box = live.page.locator("#heater").bounding_box()
    assert box
    y = box["y"] + box["height"] / 2
    live.page.mouse.move(box["x"] + box["width"] * 0.5, y)
    live.page.mouse.down()
    for share in np.linspace(0.5, 0.9, 25):
        live.page.mouse.move(box["x"] + box["width"] * share, y)
        live.page.wait_for_timeout(12)
    live.page.mouse.up()
    value = float(live.page.locator("#heater").input_value())
    assert value > 150.0
    until_told(live, printed(heater=value))
    live.settled()
    assert float(live.page.locator("#heater").input_value()) == value


def test_gasket_slider_and_stock_buttons_change_the_chain_as_in_print(live: Watched) -> None:
    live.page.locator("#gasket_0").fill("0.63")
    until_told(live, printed(gaskets={"gear_gasket": 0.63}))
    live.page.get_by_role("button", name="Next thicker in stock: Gear gasket").click()
    until_told(live, printed(gaskets={"gear_gasket": 0.8}))
    live.page.get_by_role("button", name="Next thinner in stock: Gear gasket").click()
    until_told(live, printed(gaskets={"gear_gasket": 0.5}))


def test_gasket_slider_catches_on_a_thickness_in_stock(live: Watched) -> None:
    live.page.locator("#gasket_0").fill("0.793")
    until_told(live, printed(gaskets={"gear_gasket": 0.8}))


def test_inch_shows_the_same_machine_in_thousandths(live: Watched) -> None:
    live.page.get_by_label("inch").check()
    until_told(live, printed(units="inch"))
    assert live.page.locator("output[for=gasket_0]").inner_text().endswith(" in")


def test_arrow_keys_and_clicker_keys_turn_the_steps(live: Watched) -> None:
    current = live.page.locator("[aria-current=step]")
    for key, step in (
        ("ArrowRight", "cool"),
        ("PageDown", "flange"),
        ("ArrowRight", "flange"),
        ("ArrowLeft", "cool"),
        ("PageUp", "place"),
    ):
        live.page.keyboard.press(key)
        live.page.wait_for_selector(f"[aria-current=step][data-step={step}]")
        assert current.count() == 1
    assert "Step 4 of 6" in live.page.locator(".card .place").inner_text()


def test_arrow_keys_on_a_slider_stay_with_the_slider_but_clicker_keys_do_not(live: Watched) -> None:
    live.page.locator("#heater").focus()
    live.page.keyboard.press("ArrowRight")
    until_told(live, printed(heater=111.0))
    assert live.page.locator("[aria-current=step]").get_attribute("data-step") == "place"
    live.page.keyboard.press("PageDown")
    live.page.wait_for_selector("[aria-current=step][data-step=cool]")


def test_clicking_a_step_shows_it(live: Watched) -> None:
    live.page.locator("[data-step=clean]").click()
    live.page.wait_for_selector("[aria-current=step][data-step=clean]")
    assert live.page.locator(".card h2").inner_text() == "Clean and inspect the seats"


def test_before_the_first_step_stands_the_whole_machine(live: Watched) -> None:
    live.page.locator("[data-step=clean]").click()
    live.page.wait_for_selector("[aria-current=step][data-step=clean]")
    live.page.keyboard.press("PageUp")
    live.page.wait_for_selector("[aria-current=step][data-step='']")
    assert live.page.locator(".card h2").inner_text() == "The whole machine"
    assert live.page.get_by_role("button", name="Previous").is_disabled()
    assert live.page.locator(".numbers tr").count() == 0


def test_picture_shows_the_parts_in_their_colours(live: Watched) -> None:
    live.page.locator("[data-step=cool]").click()
    live.page.wait_for_selector("[aria-current=step][data-step=cool]")
    live.settled()
    shown = picture(live).astype(float)
    hue = shown / np.maximum(shown.sum(axis=2, keepdims=True), 1.0)
    for role in ("gear", "cartridge", "ring"):
        wanted = np.array(palette.role(role), dtype=float)
        near = np.abs(hue - wanted / wanted.sum()).max(axis=2) < 0.03
        assert near.mean() > 0.005, role


def test_pulling_apart_and_cutting_change_the_picture(live: Watched) -> None:
    whole = picture(live)
    live.page.locator("#explode").fill("0.8")
    live.page.wait_for_selector(".page[data-busy=true]")
    live.settled()
    apart = until_changed(live, whole, 0.03)
    live.page.get_by_label("Cut open").check()
    live.page.wait_for_selector(".page[data-busy=true]")
    live.settled()
    until_changed(live, apart, 0.01)


def test_dragging_turns_the_machine_and_the_steps_own_view_brings_it_back(live: Watched) -> None:
    before = at_rest(live)
    box = live.page.locator(".stage").bounding_box()
    assert box
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    live.page.mouse.move(x, y)
    live.page.mouse.down()
    for i in range(12):
        live.page.mouse.move(x + 6 * i, y + 9 * i)
        live.page.wait_for_timeout(25)
    live.page.mouse.up()
    live.page.wait_for_timeout(600)
    live.settled()
    turned = picture(live)
    assert share_changed(before, turned) > 0.03
    live.page.get_by_role("button", name="Step's own view").click()
    left = 1.0
    for _ in range(20):  # a busy machine draws late
        live.page.wait_for_timeout(500)
        live.settled()
        left = share_changed(before, picture(live))
        if left < 0.002:
            break
    assert left < 0.002


def test_wheel_enlarges_the_machine(live: Watched) -> None:
    def ground() -> float:
        return float((picture(live).min(axis=2) > 250).mean())

    before = ground()
    live.page.locator(".stage").hover()
    for _ in range(3):
        live.page.mouse.wheel(0, -100)
        live.page.wait_for_timeout(150)
    live.page.wait_for_timeout(600)
    live.settled()
    assert ground() < 0.85 * before


@pytest.mark.parametrize("size", [(1280, 800), (1920, 1080), (1024, 700)])
def test_labels_stay_in_the_picture_and_apart_and_nothing_runs_off_the_page(live: Watched, size: tuple[int, int]) -> None:
    live.page.set_viewport_size({"width": size[0], "height": size[1]})
    live.page.wait_for_timeout(600)
    live.settled()
    boxes = live.page.evaluate(BOXES)
    frame = live.page.locator(".stage").bounding_box()
    assert frame and len(boxes) >= 3
    for left, top, right, bottom in boxes:
        assert left >= frame["x"] and right <= frame["x"] + frame["width"]
        assert top >= frame["y"] and bottom <= frame["y"] + frame["height"]
    for i, a in enumerate(boxes):
        for b in boxes[i + 1 :]:
            assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] + 1 or b[3] <= a[1] + 1
    assert live.page.evaluate("[document.documentElement.scrollWidth, document.documentElement.scrollHeight]") == list(size)
    for area in (".numbers", ".side", ".card", ".steps"):
        wide, room = live.page.evaluate("a => { const e = document.querySelector(a); return [e.scrollWidth, e.clientWidth] }", area)
        assert wide <= room, area


def test_every_verdict_has_its_word_and_its_mark_beside_the_colour(live: Watched) -> None:
    rows = live.page.locator(".numbers tbody tr")
    seen = {tuple(rows.nth(i).locator(".verdict").inner_text().split(maxsplit=1)) for i in range(rows.count())}
    assert seen == {("▲", "watch"), ("✓", "fine"), ("–", "no limit")}
    marks = page.verdict_words(page.words())
    assert len({mark for mark, _ in marks.values()}) == len({word for _, word in marks.values()}) == 4


def test_second_window_is_turned_away_and_a_later_one_starts_afresh(browser: Browser, address: str) -> None:
    first = Watched(browser)
    first.page.goto(address)
    first.page.wait_for_selector(".page")
    first.page.locator("#heater").fill("165")
    until_told(first, printed(heater=165.0))

    second = Watched(browser)
    second.page.goto(address)
    second.page.wait_for_selector("text=already open in another window", timeout=10_000)
    assert "165" not in second.page.content()
    second.page.context.close()

    first.page.reload()
    first.page.wait_for_selector(".page", timeout=10_000)
    until_told(first, printed(heater=165.0))
    first.page.context.close()

    third = Watched(browser)
    third.page.goto(address)
    third.page.wait_for_selector(".page", timeout=10_000)
    until_told(third, printed())
    assert third.page.locator("#heater").input_value() == "110"
    third.page.context.close()


def test_stopping_at_the_keyboard_ends_it_quietly() -> None:
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "OMP_NUM_THREADS": "1"}
    pipe = subprocess.PIPE
    with subprocess.Popen(
        [sys.executable, *SAMPLE], cwd=ROOT, env=environment, stdout=pipe, stderr=pipe, text=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # whoever runs the tests may have it ignored
    ) as process:  # fmt: skip
        assert process.stdout
        first = process.stdout.readline()
        process.send_signal(signal.SIGINT)
        try:
            _, complaints = process.communicate(timeout=30)
        finally:
            process.kill()
    assert re.fullmatch(r"Open http://127\.0\.0\.1:\d+/ in a browser\. Stop with Ctrl\+C\.\n", first)
    assert process.returncode == 0
    assert complaints == ""


def test_server_answers_only_to_its_own_name(address: str) -> None:
    for headers in ({"Host": "somewhere.example"}, {"Origin": "http://somewhere.example"}):
        with pytest.raises(urllib.error.HTTPError) as refused:
            urllib.request.urlopen(urllib.request.Request(address + "index.html", headers=headers), timeout=10)
        assert refused.value.code == 403
        refused.value.close()
    with urllib.request.urlopen(address + "index.html", timeout=10) as answer:
        assert "default-src 'self'" in answer.headers["Content-Security-Policy"]


def test_seat_is_kept_for_the_page_that_asked_and_free_again_later() -> None:
    now: list[float] = [0.0]
    taken: list[bool] = []
    seat = Seat(taken.append, clock=lambda: now[0])
    assert seat.ask("one") and not seat.ask("two") and seat.ask("one")
    now[0] = RESERVED_SECONDS + 0.1
    assert seat.ask("two")
    assert taken == [True, False, True]
    assert not seat.ask("")


def test_every_word_of_the_page_has_a_key_that_is_used() -> None:
    source = "".join(
        (ROOT / "viewer" / name).read_text(encoding="utf-8")
        for name in ("page.py", "live.py", "session.py", "readings_form.py", "talk.py")
    )
    patterns = set(re.findall(r'"(page\.[a-z_{}\' ]+)"', source)) | {"page.mark_{v}", "page.verdict_{v}"}
    keys = {key for key in page.words() if key.startswith("page.")}
    forms = [re.compile(re.sub(r"\\\{.*?\\\}", "[a-z_]+", re.escape(pattern))) for pattern in patterns]
    assert [key for key in sorted(keys) if not any(form.fullmatch(key) for form in forms)] == []
    assert [
        p for p in sorted(patterns) if "{" not in p and p not in keys and p.rpartition(".")[2] not in ("css", "js", "toml")
    ] == []


def test_fit_drawing_shows_a_gap_white_and_an_interference_hatched() -> None:
    loose = FitView("gear", "Bore", "Shaft", 75.0, 0.08, 0.06, 0.10, 110.0, 100.0, "")
    tight = replace(loose, clearance=-0.045, clearance_low=-0.06, clearance_high=-0.03)
    assert 'class="gap"' in overlay.fit(loose, palette.role("gear")) and 'class="tight"' not in overlay.fit(
        loose, palette.role("gear")
    )
    assert 'class="tight"' in overlay.fit(tight, palette.role("gear")) and 'class="gap"' not in overlay.fit(
        tight, palette.role("gear")
    )


def test_turning_keeps_the_distance_and_tilting_stops_short_of_the_pole() -> None:
    camera = Camera((800.0, -1000.0, 550.0), (0.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    turned = Orbit().turned(0.3, 0.1).camera(camera)
    assert np.linalg.norm(turned.position) == pytest.approx(np.linalg.norm(camera.position), rel=1e-12)
    assert turned.position != camera.position
    steep = Orbit().turned(0.0, -5.0).held(camera)
    assert abs(np.degrees(np.arcsin(steep.camera(camera).position[2] / np.linalg.norm(camera.position))) - 88.0) < 1e-6
    assert steep.turned(0.0, 0.1).camera(camera).position[2] < steep.camera(camera).position[2]
    assert Orbit().camera(camera) == camera


def test_page_names_no_file_outside_the_package() -> None:
    for name in page.OWN_FILES:
        text = (Path(page.__file__).parent / "web" / name).read_text(encoding="utf-8")
        assert not re.search(r"https?://|@import|url\(", text)
