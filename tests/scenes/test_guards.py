"""What must stand in a record before anybody turns or runs the machine. The order of the acts is that of the steps; what each one wants and
what to do without it is common practice, no source. The machine is an example of our own, three packers, 22 locks."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

import pytest

from scenes import closing, guards, next_move, record, record_listing, record_time
from scenes.examples import open_machine
from scenes.explain import Explainer
from scenes.own_reads import NUT
from scenes.reads import AGREED
from scenes.record_judged import Judgement
from scenes.record_listing import Opened, opened
from scenes.wording import LANGUAGES, speaking
from tests.scenes.readied import before_running, before_turning

INSIDE = ["0.0085 in"] * 4
RUN = ("0 min 70 degF", "30 min 100 degF", "60 min 104 degF", "90 min 105 degF")


@cache
def slipway() -> Explainer:
    return Explainer(open_machine("slipway")[0])


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return tmp_path / "job.jsonl"


def put(path: Path, name: str, *values: str, made: Explainer | None = None, state: str = "fitting", **how: Any) -> Judgement:
    """One more reading, and what it says."""
    found = opened(made or slipway(), path)
    step = how.pop("step", next(iter(found.reads[name].steps), ""))
    number = record_listing.put(found, record.reading(found.reads[name], values, state, initials="AB", step=step, **how))
    return said(path, number, made)


def said(path: Path, number: int, made: Explainer | None = None) -> Judgement:
    """What an entry says now."""
    found = opened(made or slipway(), path)
    return found.judge(next(one for one in found.job.taken if one.number == number), found.planned.start_settings())


def told(judged: Judgement) -> str:
    return " ".join((*judged.says, *judged.now))


def is_open(found: Opened, words: str) -> bool:
    return any(words in line for line in record_listing.still_open(found, found.planned.start_settings()))


# ---- turning by hand -------------------------------------------------------------------------------------------------


def test_nobody_turns_the_pair_while_a_packer_is_inside(job: Path) -> None:
    put(job, "zero_energy", "yes")
    put(job, "packers_in", "3")
    put(job, "packers_out", "2")
    turned = put(job, "free_turning", "yes", step="packers_out")
    assert turned.verdict == "stop" and not turned.counts
    assert "Packers counted out: 2 (entry 4), 3 went in (entry 3)" in told(turned) and "Nobody turns anything" in turned.now[0]
    read = put(job, "backlash", *INSIDE)
    assert read.verdict == "stop" and not read.counts and "Packers counted out: 2" in told(read)
    assert is_open(opened(slipway(), job), "Free turning by hand: not in order (entry 5)")


def test_a_feel_from_before_the_packers_came_out_does_not_close_its_step(job: Path) -> None:
    put(job, "zero_energy", "yes")
    put(job, "packers_in", "3")
    felt = put(job, "turning_feel", "free")
    assert felt.verdict == "stop" and not felt.counts and "Packers counted out: none since 3 went in (entry 3)" in told(felt)
    put(job, "packers_out", "3")
    put(job, "free_turning", "yes", step="packers_out")
    found = opened(slipway(), job)
    assert said(job, 4).verdict == "stop" and is_open(found, "Feel of the pair turned by hand: not in order (entry 4)")
    turning = next(one for one in closing.checks(found, slipway().start_settings()) if one.key == "turning")
    assert not turning.done
    assert put(job, "turning_feel", "free").verdict == "fine"
    assert not is_open(opened(slipway(), job), "Feel of the pair turned by hand")


def test_the_shaft_turns_free_before_the_pair_is_felt(job: Path) -> None:
    put(job, "zero_energy", "yes")
    put(job, "packers_in", "3")
    put(job, "packers_out", "3")
    felt = put(job, "turning_feel", "free")
    assert felt.verdict == "stop" and "Must be written down first: Free turning by hand." in told(felt)
    put(job, "free_turning", "no", step="packers_out")
    assert "Free turning by hand: stands at no (entry 6)" in told(put(job, "turning_feel", "free"))


def test_a_shaft_on_its_bench_is_turned_without_the_machines_packers(job: Path) -> None:
    assert put(job, "free_turning", "yes", step="hs_turn").verdict == "fine"


def test_packers_that_go_in_again_must_come_out_again(job: Path) -> None:
    before_turning(slipway(), job)
    assert put(job, "turning_feel", "even").verdict == "fine"
    put(job, "packers_in", "3")
    assert "none since 3 went in" in told(put(job, "turning_feel", "even"))


def test_a_backlash_is_evidence_while_nothing_speaks_against_it_and_never_fine(job: Path) -> None:
    read = put(job, "backlash", *INSIDE)
    assert read.verdict == "watch" and read.counts and "Lockout and failed start attempt" in told(read)
    put(job, "zero_energy", "no")
    read = put(job, "backlash", *INSIDE)
    assert read.verdict == "stop" and not read.counts and "stands at no (entry 3)" in told(read)
    before_turning(slipway(), job)
    assert put(job, "backlash", *INSIDE).verdict == "fine"


def test_a_machine_that_ran_is_locked_out_again_before_a_hand_turns_it(job: Path) -> None:
    before_running(slipway(), job)
    put(job, "first_run", "yes")
    felt = put(job, "turning_feel", "even")
    assert felt.verdict == "stop" and "for which the locks came off" in told(felt)
    put(job, "zero_energy", "yes")
    assert put(job, "turning_feel", "even").verdict == "fine"


# ---- the first run ---------------------------------------------------------------------------------------------------


def test_a_run_that_nothing_was_made_ready_for_is_stopped(job: Path) -> None:
    put(job, "zero_energy", "no")
    run = put(job, "first_run", "yes")
    assert run.verdict == "stop" and not run.counts and "if it runs, stop it now and lock it out" in run.now[0]
    assert "Lockout and failed start attempt: stands at no (entry 2)" in told(run)
    for name in ("Packers counted out", "Backlash", "Tools counted out", "guarded", "Oil filled in", "Torque of the split screws"):
        assert name in run.now[2]
    warm = put(job, "first_run_temperature", *RUN)
    assert warm.verdict == "stop" and not warm.counts and "entry 3 does not count" in told(warm)
    assert is_open(opened(slipway(), job), "Rotation right, oil shown: not in order (entry 3)")


def test_a_run_that_all_was_made_ready_for_stands(job: Path) -> None:
    before_running(slipway(), job)
    assert put(job, "first_run", "yes").verdict == "fine"
    assert put(job, "first_run_temperature", *RUN).counts and put(job, "no_leaks", "yes").verdict == "fine"


def test_each_thing_that_was_left_out_is_named_and_stops_the_run(job: Path) -> None:
    left_out = ("pattern", "turning_feel", "pump_direction", "locks_counted", "shaft_ends", "oil_filled")
    before_running(slipway(), job, *left_out)
    run, reads = put(job, "first_run", "yes"), opened(slipway(), job).reads
    assert run.verdict == "stop" and not run.counts
    assert run.now[1] == f"Must be written down first: {'; '.join(reads[name].title for name in left_out)}."


def test_oil_after_the_run_asks_for_bearings_and_teeth_to_be_looked_at(job: Path) -> None:
    before_running(slipway(), job, "oil_filled")
    put(job, "first_run", "yes")
    oil = put(job, "oil_filled", "2 US gal")
    assert oil.verdict == "stop" and "had no oil written down before it" in oil.now[0] and "turn by hand" in oil.now[0]
    assert is_open(opened(slipway(), job), "Oil filled in: not in order")
    assert put(job, "first_run", "yes").verdict == "fine"
    assert not is_open(opened(slipway(), job), "Oil filled in")


def test_no_oil_goes_over_a_tool_that_is_missing(job: Path) -> None:
    before_running(slipway(), job, "oil_filled", "tools_out")
    put(job, "tools_out", "30")
    oil = put(job, "oil_filled", "2 US gal")
    assert oil.verdict == "stop" and "Tools counted out: 30" in told(oil) and "No oil goes in" in told(oil)


def test_another_set_of_gears_never_runs(job: Path) -> None:
    before_running(slipway(), job, "set_number")
    put(job, "set_number", "set 8")
    assert "another set than in the machine file" in told(put(job, "first_run", "yes"))


def test_a_sheet_typed_in_afterwards_is_judged_by_the_hours_on_it(job: Path) -> None:
    at = {hour: record_time.when(f"2025-11-24 {hour}") for hour in ("08:00", "09:00", "10:00", "11:00", "12:00")}
    put(job, "turning_feel", "even", time=at["12:00"])
    assert said(job, 2).verdict == "stop"
    put(job, "free_turning", "yes", step="packers_out", time=at["11:00"])
    put(job, "packers_out", "3", time=at["10:00"])
    put(job, "packers_in", "3", time=at["09:00"])
    assert said(job, 2).verdict == "stop"
    put(job, "zero_energy", "yes", time=at["08:00"])
    assert [said(job, number).verdict for number in (2, 3, 4)] == ["fine"] * 3
    assert (
        put(job, "packers_out", "2").verdict == "stop" and said(job, 2).verdict == "fine"
    )  # what was counted today speaks of today


def test_what_is_struck_stands_for_nothing(job: Path) -> None:
    before_turning(slipway(), job)
    found = opened(slipway(), job)
    record_listing.put(found, record.strike(found.job, 2, initials="AB", note="not tried"))
    assert "Lockout and failed start attempt" in told(put(job, "turning_feel", "even"))


def test_a_reading_that_no_step_of_the_owners_procedure_asks_for_is_not_wanted(job: Path) -> None:
    made = Explainer(open_machine("slipway")[0])
    gone = {"packers_in", "packers_out", "shaft_ends", "pump_direction", "first_run_temperature"}
    steps = {
        name: replace(step, reads=tuple(read for read in step.reads if read not in gone))
        for name, step in made.procedure.steps.items()
    }
    made.procedure = replace(made.procedure, steps=MappingProxyType(steps))
    put(job, "zero_energy", "yes", made=made)
    put(job, "free_turning", "yes", made=made, step="packers_out")
    assert put(job, "turning_feel", "even", made=made).verdict == "fine"
    run = told(put(job, "first_run", "yes", made=made))
    assert "Oil filled in" in run and "Packers" not in run and "guarded" not in run


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_no_at_a_hold_point_says_what_to_do(language: str) -> None:
    with speaking(language):
        told = [guards.refused(name) for name in sorted(AGREED - {NUT})]  # a nut that is not locked has its own words
    assert len(set(told)) == len(AGREED) - 1 and all(one.startswith({"en": "Stop", "es": "Parar"}[language]) for one in told)


def test_a_run_that_turns_the_wrong_way_is_stopped_first(job: Path) -> None:
    run = put(job, "first_run", "no")
    assert run.now[0].startswith("Stop it now and lock it out") and "electrician" in run.now[0] and "pump primed" in run.now[0]


# ---- no backlash -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("values", "places"),
    [(["0 in"] * 4, "place 1, 2, 3, 4"), (["0.0085 in", "0 in", "0.0085 in", "0.009 in"], "place 2"), (["0.0001 in"], "place 1")],
)
@pytest.mark.parametrize("state", ["found", "fitting"])
def test_a_pair_without_backlash_is_neither_turned_nor_marked(values: list[str], places: str, state: str, job: Path) -> None:
    if state == "fitting":
        before_turning(slipway(), job)
    read = put(job, "backlash", *values, state=state)
    assert read.verdict == "stop" and not read.counts
    assert f"No backlash at {places}: do not turn, do not mark." in read.now[0] and "back the pinion off first" in read.now[0]
    assert "record the pattern" not in told(read) and "Read again at 8" not in told(read)


def test_a_pair_that_had_no_backlash_is_not_marked_until_another_gasket_is_in(job: Path) -> None:
    before_turning(slipway(), job)
    put(job, "gaskets.pinion_gasket", *["0.0150 in"] * 4)
    put(job, "backlash", "0.0085 in", "0 in", "0.0085 in", "0.009 in")
    marked = put(job, "pattern", "drive centre", "coast centre")
    assert marked.verdict == "stop" and not marked.counts and "Backlash: nothing, at one place at least (entry 7)" in told(marked)
    assert not put(job, "turning_feel", "even").counts
    put(job, "gaskets.pinion_gasket", *["0.0250 in"] * 4)
    assert put(job, "pattern", "drive centre", "coast centre").counts


def test_no_gasket_is_worked_out_of_a_backlash_that_is_none(job: Path) -> None:
    before_turning(slipway(), job)
    put(job, "pattern", "drive heel", "coast heel")
    put(job, "backlash", *["0 in"] * 4)
    found = opened(slipway(), job)
    proposed = next_move.next_move(found, slipway().start_settings())
    lines = proposed.lines(found, slipway().start_settings())
    assert proposed.answer is None and lines[0].startswith("STOP: Backlash: 0 in")
    assert lines[1].startswith("No backlash at place 1, 2, 3, 4")
    assert "backlash" not in found.present.held


# ---- counts ----------------------------------------------------------------------------------------------------------


def test_the_shaft_is_not_lowered_on_fewer_packers_than_the_machine_has(job: Path) -> None:
    few = put(job, "packers_in", "2")
    assert few.verdict == "stop" and "Do not lower the shaft until 3 stand" in told(few)
    out = put(job, "packers_out", "2")
    assert out.verdict == "stop" and "the machine has 3" in told(out)
    put(job, "zero_energy", "yes")
    assert "Packers counted out: 2 (entry 3), the machine file makes 3" in told(put(job, "turning_feel", "even"))
    assert put(job, "packers_in", "4").verdict == "watch" and put(job, "packers_in", "3").verdict == "fine"


@pytest.mark.parametrize(("name", "came"), [("packers", "3"), ("tools", "31")])
def test_more_out_than_in_says_that_the_first_count_was_wrong(name: str, came: str, job: Path) -> None:
    put(job, f"{name}_in", came)
    out = put(job, f"{name}_out", str(int(came) + 1))
    assert (
        out.verdict == "stop" and "More out than in: the in-count was wrong (entry 2)" in told(out) and "is found" not in told(out)
    )
    assert "is found" in told(put(job, f"{name}_out", str(int(came) - 1)))


def test_more_locks_than_the_machine_has_is_a_wrong_count(job: Path) -> None:
    over = put(job, "locks_counted", "23")
    assert over.verdict == "stop" and "the count was wrong" in told(over) and "left out" not in told(over)


# ---- screws gone over after the run ----------------------------------------------------------------------------------


def gone_over(path: Path, *warm: str) -> Judgement:
    return put(path, "split_screw", "8 x 55 lbf ft", step="oil_first_run", temperature=warm)


def test_screws_are_gone_over_cold(job: Path) -> None:
    """Cold: within 5 K of the workshop's temperature of the machine file, as for every reading; 170 degF is 76.7 degC."""
    before_running(slipway(), job)
    put(job, "first_run", "yes")
    unsaid, hot, warm, cold = (
        gone_over(job),
        gone_over(job, "170 degF"),
        gone_over(job, "170 degF", "169 degF"),
        gone_over(job, "70 degF"),
    )
    assert [one.counts for one in (unsaid, hot, warm, cold)] == [False, False, False, True]
    assert "Let it cool" in told(unsaid) and "Warm screws read wrong" in told(hot) and "Warm screws read wrong" in told(warm)
    assert cold.verdict == "fine" and "Cold: part at 70" in told(cold) and "Cold:" not in told(hot)


def test_a_later_run_asks_for_the_screws_again(job: Path) -> None:
    before_running(slipway(), job)
    put(job, "first_run", "yes")
    number = slipway().procedure.steps["oil_first_run"].number
    assert gone_over(job, "70 degF").verdict == "fine"
    assert not is_open(opened(slipway(), job), f"Step {number}: Torque of the split screws")
    put(job, "first_run", "yes")
    found = opened(slipway(), job)
    assert is_open(found, f"Step {number}: Torque of the split screws")
    assert "The machine ran again since" in told(said(job, found.job.taken[-2].number))
    assert gone_over(job, "70 degF").verdict == "fine"
