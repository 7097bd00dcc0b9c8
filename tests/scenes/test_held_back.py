"""What stands as a stop comes before every move of a gasket and holds it back, in each place that names one. Which stops other gaskets mend
is common practice, no source. The machine is an example of our own with straight teeth; backlash 0.0060 to 0.0120 in, marks from the toe."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from scenes import closing, record, record_listing, rounds_listing
from scenes.next_move import Next, next_move
from scenes.record_judged import Judgement
from scenes.record_listing import opened
from tests.scenes.readied import before_turning
from tests.scenes.test_guards import is_open, put, said, slipway, told

WIDE = ["0.0135 in"] * 4
CENTRE = ("drive centre", "coast centre")
FLOAT = ["0.0150 in"] * 4


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A job whose mesh asks for a move: marked and read, its backlash too wide."""
    path = tmp_path / "job.jsonl"
    before_turning(slipway(), path)
    put(path, "high_speed_end_play", *["0.002 in"] * 3)
    put(path, "pattern", *CENTRE)
    put(path, "backlash", *WIDE)
    return path


def proposed(path: Path) -> tuple[Next, list[str]]:
    """The next move and its lines."""
    found, now = opened(slipway(), path), slipway().start_settings()
    asked = next_move(found, now)
    return asked, asked.lines(found, now)


def strike(path: Path, number: int, note: str) -> None:
    found = opened(slipway(), path)
    record_listing.put(found, record.strike(found.job, number, initials="AB", note=note))


def last(path: Path) -> int:
    return opened(slipway(), path).job.taken[-1].number


def check(path: Path, key: str) -> closing.Check:
    found = opened(slipway(), path)
    return next(one for one in closing.checks(found, slipway().start_settings()) if one.key == key)


def moves(lines: list[str]) -> bool:
    return any("Recommended" in line or "Re-mark before running" in line or "Nothing to move" in line for line in lines)


# ---- stops that stand ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "values", "how", "instruction"),
    [
        ("zero_energy", ["no"], {}, "Nobody touches the machine"),
        ("first_run", ["no"], {}, "electrician"),
        ("shoulder_gap", ["0.004 in"] * 4, {"step": "gear_feeler"}, ""),
        ("bore_clearance", ["0.0030 in"] * 2, {"step": "gear_hot", "temperature": ["500 degF"]}, "Do not fit it"),
        ("tools_out", ["3"], {}, ""),
    ],
)
def test_a_stop_that_stands_comes_first_and_no_move_is_named(
    name: str, values: list[str], how: dict[str, Any], instruction: str, job: Path
) -> None:
    assert moves(proposed(job)[1]) and any("thinner" in line for line in said(job, last(job)).now)
    number = last(job)
    stop = put(job, name, *values, **how)
    assert stop.verdict == "stop"
    asked, lines = proposed(job)
    assert lines[0].startswith("STOP: ") and asked.answer is None and not asked.gaskets and not moves(lines)
    assert lines[1] in stop.now and instruction in " ".join(lines) and "No gasket is moved before" in " ".join(lines)
    judged = said(job, number)
    assert judged.verdict == "stop" and judged.now[0] == lines[0] and not moves(list(judged.now)) and "thinner" not in told(judged)
    strike(job, last(job), "typed wrong")
    assert moves(proposed(job)[1]) and "thinner" in told(said(job, number))


def test_what_endangers_is_told_before_what_is_only_not_in_order(job: Path) -> None:
    put(job, "shoulder_gap", *["0.004 in"] * 4, step="pinion_feeler")
    put(job, "bore_clearance", "0.0030 in", "0.0030 in", step="gear_hot", temperature=["500 degF"])
    put(job, "bore_clearance", "0.0030 in", "0.0030 in", step="gear_hot", temperature=["250 degF"])  # a cooler one mends nothing
    stops = [line for line in proposed(job)[1] if line.startswith("STOP: ")]
    assert "Bore" in stops[0] and any("Gap at the shoulder" in line for line in stops[1:])


def test_what_another_gasket_mends_holds_no_move_back(job: Path) -> None:
    put(job, "turning_feel", "tight gear")
    put(job, "low_speed_end_play", *["0.0065 in"] * 3)
    asked, lines = proposed(job)
    assert asked.answer is not None and "low_speed_float_gasket" in asked.gaskets and moves(lines)


def test_nothing_to_move_is_not_said_over_a_stop_that_no_shim_mends(job: Path) -> None:
    put(job, "backlash", *["0.0090 in"] * 4)
    assert any("Nothing to move" in line for line in proposed(job)[1])
    put(job, "low_speed_end_play", *["0.0065 in"] * 3)
    asked, lines = proposed(job)
    assert list(asked.gaskets) == ["low_speed_float_gasket"] and not moves(lines) and "gasket stay" in " ".join(lines)


def test_a_round_that_is_not_as_its_gaskets_make_it_holds_the_move_back_everywhere(job: Path) -> None:
    put(job, "gaskets.gear_gasket", *["0.0350 in"] * 4)
    put(job, "packers_in", "3")
    put(job, "packers_out", "3")
    put(job, "free_turning", "yes", step="packers_out")
    put(job, "pattern", *CENTRE)
    judged = put(job, "backlash", *["0.0400 in"] * 4)
    asked, lines = proposed(job)
    assert "does not read as its gaskets should make it" in lines[0] and asked.answer is None and not moves(lines)
    assert judged.now[0] == lines[0] and not moves(list(judged.now))
    now = slipway().start_settings()
    all_lines = list(rounds_listing.lines(opened(slipway(), job), now))
    assert sum("does not read as its gaskets" in line for line in all_lines) == 1 and not moves(all_lines)
    report = json.loads(json.dumps(rounds_listing.report(opened(slipway(), job), now)))
    assert report["next"]["adjust"] is None and report["next"]["wanted_first"][0] == lines[0]


# ---- a stop whose cause nobody wrote down ----------------------------------------------------------------------------


def hot_run(path: Path, *peak: str) -> Judgement:
    return put(path, "first_run_temperature", "0 min 70 degF", "30 min 110 degF", *peak)


def test_a_new_gasket_hides_no_hot_run(job: Path) -> None:
    hot = hot_run(job, "60 min 190 degF")
    number = last(job)
    assert hot.verdict == "stop"
    put(job, "gaskets.low_speed_float_gasket", *FLOAT)
    words = (
        f"Temperature in the first run, with the time of each: not in order (entry {number}), cause not written; and do it again."
    )
    assert is_open(opened(slipway(), job), words)
    assert f"(entry {number}): not in order before the machine was opened" in " ".join(proposed(job)[1])
    strike(job, number, "pump primed too late")
    assert not is_open(opened(slipway(), job), f"entry {number}")


def test_a_note_on_a_later_entry_is_the_cause(job: Path) -> None:
    put(job, "tools_in", "31")
    put(job, "locks_counted", "21")
    number = last(job)
    put(job, "gaskets.low_speed_float_gasket", *FLOAT)
    assert is_open(opened(slipway(), job), f"not in order (entry {number}), cause not written")
    assert f"not in order (entry {number}), cause not written" in check(job, "locks").says
    put(job, "locks_counted", "22", note="one tab lay under the bench")  # unsure: nobody wrote down the locks at their steps
    assert not is_open(opened(slipway(), job), "cause not written")


def test_a_lockout_that_failed_stays_told_after_the_machine_ran_and_was_opened(job: Path) -> None:
    put(job, "zero_energy", "no")
    number = last(job)
    put(job, "first_run", "yes")
    put(job, "gaskets.pinion_gasket", *FLOAT)
    assert is_open(opened(slipway(), job), f"not in order (entry {number}), cause not written; and do it again")
    put(job, "zero_energy", "yes")
    assert not is_open(opened(slipway(), job), f"entry {number}")


def test_a_backlash_that_a_gasket_changed_is_no_stop_any_more(job: Path) -> None:
    put(job, "gaskets.pinion_gasket", *FLOAT)
    assert is_open(opened(slipway(), job), "Backlash: read before the Pinion gasket was changed")


# ---- marks -----------------------------------------------------------------------------------------------------------


def test_marks_at_opposite_ends_of_straight_teeth_stop_and_are_never_done(job: Path) -> None:
    crossed = put(job, "pattern", "drive toe", "coast heel")
    assert crossed.verdict == "stop" and crossed.danger and "Drive and coast changed over?" in told(crossed)
    number = last(job)
    accepted = put(job, "pattern_accepted", "yes")
    assert accepted.verdict == "stop" and f"the marks of entry {number} stop" in told(accepted)
    assert not check(job, "pattern").done and is_open(opened(slipway(), job), f"Tooth pattern: not in order (entry {number})")
    lines = list(rounds_listing.lines(opened(slipway(), job), slipway().start_settings()))
    marks = [line for line in lines if line.strip().startswith("Marks, ")]
    assert len(marks) == 2 and all("at opposite ends" in line and ": as expected" not in line for line in marks)
    assert not moves(lines)
    strike(job, number, "drive and coast changed over")
    assert put(job, "pattern", "drive toe", "coast toe").verdict == "watch"


@pytest.mark.parametrize(
    ("marks", "verdict", "words"),
    [
        ((), "stop", "no marks of the closed machine"),
        (("drive centre",), "watch", "of one flank"),
        (("drive hard-heel", "coast centre"), "stop", "stop. Nobody runs it"),
        (CENTRE, "fine", ""),
    ],
)
def test_a_signature_under_the_marks_wants_marks(marks: tuple[str, ...], verdict: str, words: str, tmp_path: Path) -> None:
    path = tmp_path / "job.jsonl"
    before_turning(slipway(), path)
    if marks:
        put(path, "pattern", *marks)
    signed = put(path, "pattern_accepted", "yes")
    assert signed.verdict == verdict and words in told(signed)


def test_a_signature_does_not_reach_over_a_new_gasket(job: Path) -> None:
    put(job, "gaskets.pinion_gasket", *FLOAT)
    assert put(job, "pattern_accepted", "yes").verdict == "stop"


def test_the_marks_of_the_dry_trial_are_not_those_of_the_closed_machine(tmp_path: Path) -> None:
    path = tmp_path / "job.jsonl"
    before_turning(slipway(), path)
    put(path, "trial_backlash", *["0.0145 in"] * 4)
    assert "Marks of the dry trial" in told(put(path, "pattern", "drive heel", "coast heel"))
    put(path, "high_speed_end_play", *["0.002 in"] * 3)  # closed
    judged = put(path, "backlash", *WIDE)
    assert "Mark the teeth" in told(judged) and proposed(path)[0].answer is None
    assert is_open(opened(slipway(), path), "Tooth pattern: not read") and not check(path, "pattern").done
    assert put(path, "pattern_accepted", "yes").verdict == "stop"
    strike(path, last(path), "too early")
    assert "Marks of the dry trial" not in told(put(path, "pattern", *CENTRE))
    assert proposed(path)[0].answer is not None
