"""The record on the live page: every size can be read there, a value is judged as typed, the numbers follow what is recorded."""

from __future__ import annotations

import json
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


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("job") / "job.jsonl"


@pytest.fixture(scope="module")
def recording(browser: Browser, job: Path) -> Iterator[Watched]:
    with served(["-m", "viewer.cli", "show", "millrace", "--no-browser", "--record", str(job)]) as url:
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


def until(watched: Watched, script: str, arg: Any = None) -> None:
    watched.page.wait_for_function(script, arg=arg, timeout=20_000)


def entries(job: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in job.read_text(encoding="utf-8").splitlines()]


def test_a_bore_is_chosen_judged_as_typed_recorded_and_then_measured_beats_the_drawing(recording: Watched, job: Path) -> None:
    page = recording.page
    go(recording, "gear_hot")
    page.locator(".record summary").first.click()
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
    until(recording, "document.querySelector('.record .moves')?.innerText.includes('Gear: bore')")
    until(recording, f"{SOURCES}.includes('bore: measured')")
    assert entries(job)[1] | {"read": "gear.bore", "step": "gear_hot", "state": "left"} == entries(job)[1]
    assert entries(job)[1]["values"] == ["90.020 mm", "90.021 mm", "90.019 mm", "90.020 mm"]
    assert page.locator(f"#record_{CHOSEN}").input_value() == ""


def test_what_was_typed_stays_when_a_fault_is_said_and_when_one_comes_back_to_the_step(recording: Watched, job: Path) -> None:
    page = recording.page
    go(recording, "gear_feeler")
    page.locator("#record_0").fill("0.02; 0.02; 0.01; 0.02")
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
    until(recording, "document.querySelector('.record .moves')?.innerText.includes('Gap at the shoulder')")
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
    until(recording, "document.querySelector('.record .moves')?.innerText.includes('Locknut tight')")
    assert (entries(job)[-1]["read"], entries(job)[-1]["step"], entries(job)[-1]["values"]) == ("nut_locked", "lower_tab", ["yes"])


def test_an_entry_is_struck_with_the_keys_alone_on_a_narrow_page_and_the_drawing_counts_again(
    recording: Watched, job: Path
) -> None:
    page = recording.page
    page.set_viewport_size({"width": 390, "height": 844})
    go(recording, "gear_hot")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    until(recording, "document.querySelector('#record_name')")
    page.locator(".record summary").last.focus()
    page.keyboard.press("Space")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") == "record_old"
    page.keyboard.type("2")
    page.keyboard.press("Tab")
    page.keyboard.type("wrong gauge")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    until(recording, "document.querySelector('.record .moves')?.innerText.includes('strikes entry 2')")
    until(recording, f"!{SOURCES}.includes('bore: measured')")
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
    page.locator("#record_with").fill("dial no. 4")
    page.locator("#record_until").fill("2099-12-31")
    page.locator("#record_warm").fill("21; 31 degC")
    page.locator("#record_0").fill("0.05; 0.05; 0.06")
    until(recording, "document.querySelector('#record_tried_0')?.innerText.startsWith('▲')")
    page.locator("#record_warm").fill("21; 22 degC")
    until(recording, "document.querySelector('#record_tried_0')?.innerText.startsWith('✓ fine')")
    page.locator("#record_add_0").click()
    until(recording, "document.querySelector('.record .moves')?.innerText.includes('is on the disk: High-speed end play.')")
    until(recording, "document.querySelector('#record_0').value === ''")
    entry = entries(job)[-1]
    assert (entry["read"], entry["state"], entry["step"]) == ("high_speed_end_play", "left", "hs_end_play")
    assert entry["values"] == ["0.05 mm", "0.05 mm", "0.06 mm"]
    assert (entry["with"], entry["due"], entry["temperatures"]) == ("dial no. 4", "2099-12-31", ["21 °C", "22 degC"])
    assert page.locator("#record_with").input_value() == "dial no. 4"
    go(recording, "gear_hot")
    until(recording, "document.querySelector('#record_with').value === '' && document.querySelector('#record_warm').value === ''")
