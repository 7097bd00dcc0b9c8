"""The record on the live page: its form is in view, a value is judged as typed and saved on the disk, the numbers follow what is recorded."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser

from scenes import record, record_listing
from scenes.explain import Explainer
from scenes.record_listing import Opened, opened
from tests.viewer.browser import Watched, served
from viewer.record_form import CHOSEN

SOURCES = "[...document.querySelectorAll('.numbers tbody tr')].map(row => row.innerText).join(' ')"


PATIENT = "import sys; from scenes import record_file; from viewer.cli import main; record_file.PATIENCE = 90.0; sys.exit(main())"
"""The program, waiting for a held file longer than the slowest computer takes to change the step."""


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("job") / "job.jsonl"


@pytest.fixture(scope="module")
def recording(browser: Browser, job: Path) -> Iterator[Watched]:
    with served(["-c", PATIENT, "show", "millrace", "--no-browser", "--record", str(job)]) as url:
        watched = Watched(browser)
        watched.page.goto(url)
        watched.page.wait_for_selector(".page", timeout=30_000)
        watched.settled()
        yield watched
        assert watched.complaints == [] and watched.foreign(url) == []
        watched.page.context.close()


def go(watched: Watched, step: str) -> None:
    watched.page.evaluate(f"window.trame.trigger('go', ['{step}'])")
    watched.page.wait_for_selector(f"[aria-current=step][data-step={step}]", timeout=15_000)
    watched.page.wait_for_function(f"window.trame.state.get('to_record_at') === '{step}'")


def unfolded(watched: Watched, name: str) -> None:
    if watched.page.locator(f"#{name}").get_attribute("open") is None:
        watched.page.locator(f"#{name} > summary").click()


def until(watched: Watched, script: str, arg: Any = None) -> None:
    watched.page.wait_for_function(script, arg=arg, timeout=20_000)


def entries(job: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in job.read_text(encoding="utf-8").splitlines()]


def test_a_bore_is_chosen_judged_as_typed_recorded_and_then_measured_beats_the_drawing(recording: Watched, job: Path) -> None:
    page = recording.page
    go(recording, "gear_hot")
    unfolded(recording, "record_other")
    first = page.locator("#record_name optgroup").first
    assert first.get_attribute("label") == "At this step" and "Gear: bore" in first.inner_text()
    page.locator("#record_name").select_option("gear.bore")
    page.locator(f"#record_{CHOSEN}").fill("91; 91; 91; 91")
    until(recording, f"document.querySelector('#record_tried_{CHOSEN}')?.innerText.startsWith('✕ stop')")
    assert not job.exists()
    page.locator(f"#record_{CHOSEN}").fill("90.020; 90.021; 90.019; 90.020")
    until(recording, f"document.querySelector('#record_tried_{CHOSEN}')?.innerText.startsWith('✓ fine')")
    assert "bore: measured" not in page.evaluate(SOURCES)
    page.locator(f"#record_{CHOSEN}").press("Enter")
    page.wait_for_selector(".record .fault")
    assert "initials" in page.locator(".record .fault").inner_text() and not job.exists()
    page.locator("#record_by").fill("AB")
    page.locator("#record_state").select_option("left")
    page.locator(f"#record_{CHOSEN}").press("Enter")
    until(recording, "document.querySelector('.record .saved')?.innerText.includes('Saved, entry 2: 90.020 mm')")
    until(recording, f"{SOURCES}.includes('bore: measured')")
    assert entries(job)[1] | {"read": "gear.bore", "step": "gear_hot", "state": "left"} == entries(job)[1]
    assert entries(job)[1]["values"] == ["90.020 mm", "90.021 mm", "90.019 mm", "90.020 mm"]
    assert page.locator(f"#record_{CHOSEN}").input_value() == ""


def test_what_was_typed_stays_when_a_fault_is_said_and_when_one_comes_back_to_the_step(recording: Watched, job: Path) -> None:
    page = recording.page
    go(recording, "gear_feeler")
    page.locator("#record_0").fill("0.02; 0.02; 0.01; 0.02")
    unfolded(recording, "record_how")
    page.locator("#record_note").fill("by lamp light")
    page.locator("#record_time").fill("2999-01-01 00:00")
    page.locator("#record_add_0").click()
    page.wait_for_selector(".record .fault")
    assert "lies ahead" in page.locator(".record .fault").inner_text()
    assert page.locator("#record_0").input_value() == "0.02; 0.02; 0.01; 0.02"
    go(recording, "gear_hot")
    until(recording, "document.querySelector('#record_0').value === ''")
    go(recording, "gear_feeler")
    until(recording, "document.querySelector('#record_0').value === '0.02; 0.02; 0.01; 0.02'")
    page.locator("#record_time").fill("2020-11-24 14:30")
    page.locator("#record_add_0").click()
    until(recording, "document.querySelector('.record .saved')?.innerText.includes('0.02 mm; 0.02 mm; 0.01 mm; 0.02 mm')")
    entry = entries(job)[-1]
    assert entry["time"].startswith("2020-11-24T14:30") and entry["entered"] and entry["note"] == "by lamp light"
    until(recording, "document.querySelector('#record_time').value === ''")


def test_a_lock_is_ticked_and_a_ring_judged_at_the_steps_that_set_and_heat_them(recording: Watched, job: Path) -> None:
    page = recording.page
    go(recording, "lower_inner_ring")
    page.locator("#record_0").fill("130")
    until(recording, "document.querySelector('#record_tried_0')?.innerText.includes('over its heating limit of 120 °C')")
    go(recording, "lower_tab")
    until(recording, "document.querySelector('#record_0').tagName === 'SELECT'")
    page.locator("#record_0").select_option("yes")
    page.locator("#record_add_0").click()
    until(recording, "document.querySelector('#record_tried_0 .saved')?.innerText.includes('Saved, entry')")
    assert (entries(job)[-1]["read"], entries(job)[-1]["step"], entries(job)[-1]["values"]) == ("nut_locked", "lower_tab", ["yes"])


def test_an_entry_is_struck_with_the_keys_alone_on_a_narrow_page_and_the_drawing_counts_again(
    recording: Watched, job: Path
) -> None:
    page = recording.page
    page.set_viewport_size({"width": 390, "height": 844})
    go(recording, "gear_hot")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    until(recording, "document.querySelector('#record_name')")
    page.locator(".here [data-strike='2']").focus()
    page.keyboard.press("Enter")
    until(recording, "document.activeElement.id === 'record_why'")
    assert page.locator("#record_old").input_value() == "2"
    page.keyboard.type("wrong gauge")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    until(recording, "document.querySelector('.record .saved')?.innerText.includes('strikes entry 2')")
    until(recording, f"!{SOURCES}.includes('bore: measured')")
    assert f"struck in entry {len(entries(job))}" in page.locator(".here .struck").inner_text()
    assert entries(job)[-1] | {"strikes": 2, "note": "wrong gauge", "initials": "AB"} == entries(job)[-1]
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    page.set_viewport_size({"width": 1280, "height": 800})


def test_what_another_program_adds_is_seen_at_the_next_step(recording: Watched, job: Path, millrace: Explainer) -> None:
    other: Opened = opened(millrace, job)
    record_listing.put(other, record.reading(other.reads["gaskets.pinion_gasket"], ["0.60 mm"] * 4, "fitting", initials="CD"))
    go(recording, "pinion_gasket")
    until(recording, "document.querySelector('.side').innerText.includes('0.60 mm')")
    until(recording, "[...document.querySelectorAll('#record_old option')].some(one => one.innerText.includes('Pinion gasket'))")


def test_how_a_reading_was_taken_is_judged_as_typed_recorded_and_stays_for_the_next_line_of_its_step(
    recording: Watched, job: Path
) -> None:
    page = recording.page
    go(recording, "hs_end_play")
    page.locator("#record_state").select_option("left")
    unfolded(recording, "record_how")
    page.locator("#record_with").fill("dial no. 4")
    page.locator("#record_until").fill("2099-12-31")
    page.locator("#record_warm").fill("21; 31 degC")
    page.locator("#record_0").fill("0.05; 0.05; 0.06")
    until(recording, "document.querySelector('#record_tried_0')?.innerText.startsWith('▲')")
    page.locator("#record_warm").fill("21; 22 degC")
    until(recording, "document.querySelector('#record_tried_0')?.innerText.startsWith('✓ fine')")
    page.locator("#record_add_0").click()
    until(recording, "document.querySelector('.record .saved')?.innerText.includes('0.05 mm; 0.05 mm; 0.06 mm')")
    until(recording, "document.querySelector('#record_0').value === ''")
    entry = entries(job)[-1]
    assert (entry["read"], entry["state"], entry["step"]) == ("high_speed_end_play", "left", "hs_end_play")
    assert entry["values"] == ["0.05 mm", "0.05 mm", "0.06 mm"]
    assert (entry["with"], entry["due"], entry["temperatures"]) == ("dial no. 4", "2099-12-31", ["21 °C", "22 degC"])
    assert page.locator("#record_with").input_value() == "dial no. 4"
    go(recording, "gear_hot")
    until(recording, "document.querySelector('#record_with').value === '' && document.querySelector('#record_warm').value === ''")


FOLD = """[...document.querySelectorAll('#record_0, #record_add_0, #record_tried_0')].map(one => {
    const box = one.getBoundingClientRect(), form = one.closest('.record').getBoundingClientRect();
    return [box.top - form.top, Math.min(form.bottom, innerHeight) - box.bottom];
}).flat()"""
"""How far box, button and verdict of the first line lie inside what is seen of the form [CSS pixel]."""


def test_box_verdict_and_what_to_do_are_in_view_without_scrolling_and_the_picture_keeps_half_of_the_page(
    recording: Watched,
) -> None:
    page, sizes = recording.page, ((1024, 768), (1280, 800))
    for step, given in (("backlash", "0.40; 0.41; 0.40; 0.42"), ("oil_first_run", "no")):
        go(recording, step)
        box = page.locator("select#record_0" if given == "no" else "input#record_0")
        box.select_option(given) if given == "no" else box.fill(given)
        until(recording, "document.querySelector('#record_tried_0 .now')")
        for width, height in sizes:
            page.set_viewport_size({"width": width, "height": height})
            assert min(page.evaluate(FOLD)) >= 0, (step, width)
            assert page.locator(".stage").evaluate("one => one.clientWidth") >= 0.5 * width
            assert page.locator(".stage").evaluate("one => one.clientHeight") >= 0.5 * height
        assert page.evaluate("document.querySelector('.record').scrollTop") == 0
        seen = page.locator("#record_tried_0").inner_text()
        assert seen.startswith("✕ stop") and "What to do now" in seen
        box.select_option("") if given == "no" else box.fill("")
    assert "job.jsonl" in page.locator(".bar .job").inner_text()


STOPS = "[...document.querySelectorAll('.bar .record-stop, .left > .record-stop')].map(one => one.innerText)"
ORDER = "document.querySelector('.bar .order.fine')?.checkVisibility()"


def test_what_stands_at_stop_in_the_record_is_told_above_the_page_and_the_form_until_it_is_struck(
    recording: Watched, job: Path
) -> None:
    """A machine that was run with nothing ready for it endangers people: that entry is the first."""
    page = recording.page
    page.set_viewport_size({"width": 1280, "height": 800})
    go(recording, "oil_first_run")
    until(recording, ORDER)
    assert page.evaluate(STOPS) == []
    slot = page.evaluate("window.trame.state.get('to_record').findIndex(one => one.name === 'first_run')")
    page.locator(f"#record_{slot}").select_option("yes")
    page.locator(f"#record_add_{slot}").click()
    until(recording, f"{STOPS}.length === 2")
    number = len(entries(job))
    assert entries(job)[-1]["read"] == "first_run"
    for told in page.evaluate(STOPS):
        assert told.startswith("✕ STOP: 1 in the record; first: ") and told.endswith(f"(entry {number})")
    until(recording, f"{ORDER} === false")
    assert page.locator(".bar .record-stop").evaluate("one => getComputedStyle(one).color") == "rgb(176, 28, 40)"
    go(recording, "gear_hot")
    assert len(page.evaluate(STOPS)) == 2
    go(recording, "oil_first_run")
    page.locator(f".here [data-strike='{number}']").click()
    page.locator("#record_why").fill("not run")
    page.locator("#record_strike_it").click()
    until(recording, f"{STOPS}.length === 0 && {ORDER}")


def test_the_state_is_that_of_the_step_and_one_chosen_by_hand_stays_and_is_told(recording: Watched) -> None:
    page = recording.page
    go(recording, "gear_hot")
    page.locator("#record_state").select_option("fitting")
    go(recording, "backlash")
    until(recording, "document.querySelector('#record_state').value === 'left'")
    assert page.locator(".other-state").count() == 0
    page.locator("#record_state").select_option("found")
    until(recording, "document.querySelector('.other-state')?.innerText.includes('as left')")
    go(recording, "gear_hot")
    until(recording, "document.querySelector('.other-state')?.innerText.includes('rebuild')")
    assert page.locator("#record_state").input_value() == "found"
    page.locator("#record_state").select_option("fitting")
    until(recording, "document.querySelector('.other-state') === null")


def test_with_the_keys_alone_from_anywhere_to_the_box_and_a_reading_is_saved_under_it(recording: Watched, job: Path) -> None:
    page = recording.page
    go(recording, "hs_cover")
    page.evaluate("document.activeElement.blur()")
    page.keyboard.press("r")
    assert page.evaluate("document.activeElement.id") == "record_0"
    page.keyboard.type("6 x 18")
    page.keyboard.press("Enter")
    until(recording, "document.querySelector('#record_tried_0 .saved')?.innerText.includes('Saved, entry')")
    assert entries(job)[-1]["values"] == ["6 x 18 N·m"]
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") == "record_add_0"
    until(recording, "document.querySelectorAll('.here li').length === 1")


HOLD = "import fcntl, sys; file = open(sys.argv[1]); fcntl.flock(file, fcntl.LOCK_EX); print('held', flush=True); sys.stdin.read()"


def test_while_another_program_holds_the_file_the_page_goes_on_says_so_and_saves_when_it_is_free(
    recording: Watched, job: Path
) -> None:
    page, before = recording.page, job.read_bytes()
    go(recording, "gear_feeler")
    with subprocess.Popen([sys.executable, "-c", HOLD, str(job)], stdin=subprocess.PIPE, stdout=subprocess.PIPE) as other:
        assert other.stdout is not None and other.stdout.readline() == b"held\n"
        page.locator("#record_0").fill("0.01; 0.01; 0.01; 0.01")
        page.locator("#record_0").press("Enter")
        page.wait_for_selector(".line .waiting")
        page.locator("#record_0").press("Enter")
        page.evaluate("window.trame.trigger('go', ['gear_hot'])")
        waiting = page.wait_for_selector(".record > .waiting")
        assert waiting is not None and "Waiting for the file" in waiting.inner_text()
        assert "Bore of the hot part" in page.locator(".record .line").first.inner_text()
        assert page.locator("[aria-current=step]").get_attribute("data-step") == "gear_hot"
        assert page.locator(".record .saved").count() == 0 and job.read_bytes() == before
    until(recording, "document.querySelector('.record > .saved')?.innerText.includes('Gap at the shoulder')")
    assert page.locator(".record .waiting").count() == 0
    added = job.read_bytes()[len(before) :].decode().splitlines()
    assert [json.loads(line)["values"] for line in added] == [["0.01 mm"] * 4]
    go(recording, "gear_feeler")
    until(recording, "document.querySelector('#record_0').value === ''")
