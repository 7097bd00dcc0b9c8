"""A job's record: what is accepted, what it says, what it changes. Figures of the machines are our own invention; sources of others beside them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from scenes import closing, counted, left_report, own_reads, record, record_listing, wanted
from scenes.examples import open_machine
from scenes.explain import Explainer
from scenes.measured import machine_of
from scenes.read_limits import limits_of
from scenes.reads import FEELER, known
from scenes.record_file import RecordError
from scenes.record_listing import Opened, opened
from tests.scenes.readied import before_running, before_turning


def put(explainer: Explainer, path: Path, name: str, *values: str, state: str = "fitting", **other: Any) -> Opened:
    """The record with one more reading in it."""
    found = opened(explainer, path)
    step = other.pop("step", found.reads[name].steps[0] if found.reads[name].steps else "")
    record_listing.put(found, record.reading(found.reads[name], values, state, initials="AB", step=step, **other))
    return opened(explainer, path)


def said(found: Opened) -> tuple[str, str]:
    """Verdict and what to do of the last reading."""
    judged = found.judge(found.job.taken[-1], found.planned.start_settings())
    return judged.verdict, " ".join((*judged.says, *judged.now))


def test_every_reading_of_every_step_can_be_recorded(explainer: Explainer) -> None:
    reads = known(explainer.machine, explainer.procedure)
    asked = {name for step in explainer.procedure.steps.values() for name in step.reads}
    assert asked <= set(reads)
    assert {"gaskets.pinion_gasket", "high_speed_shaft.bearing_seat", "bearing_marks", "match_marks"} <= set(reads)
    typed = {"length": "0.2 mm", "torque": "40 N m", "count": "3", "agreed": "yes", "words": "as drawn", "marks": "drive toe"}
    typed |= {"volume": "6 L", "time": "90 min", "run": "20 min 48 degC", "feel": "even", "temperature": "110 degC"}
    for read in reads.values():
        step = read.steps[0] if read.steps else ""
        assert record.reading(read, [typed[read.kind]], "fitting", initials="AB", step=step)["values"] == [typed[read.kind]], (
            read.name
        )
        assert read.title


def test_a_reading_in_inches_is_the_same_as_in_millimetres(millrace: Explainer, tmp_path: Path) -> None:
    """25.4 mm to the inch: ISO 80000-3; a thousandth is 0.0254 mm."""
    found = put(millrace, tmp_path / "a", "backlash", "0.010 in")
    assert found.job.taken[0].values == pytest.approx((0.254,), abs=1e-9)


@pytest.mark.parametrize(
    ("name", "values", "told"),
    [
        ("backlash", ["0.2"], "backlash '0.2': "),
        ("backlash", ["0.2 mm", "hot"], "backlash 'hot': "),
        ("backlash", [], "backlash: no value: accepted: at least one"),
        ("gaskets.pinion_gasket", ["9 mm"], "accepted: 0.050 mm to 5.000 mm"),
        ("backlash", ["-0.1 mm"], "backlash '-0.1 mm': accepted: 0.000 mm to 5.000 mm"),
        ("low_speed_end_play", ["-500 mm"], "accepted: 0.000 mm to 5.000 mm"),
        ("shoulder_gap", ["-0.05 mm"], "accepted: 0.000 mm to 2000.000 mm"),
        ("packers_in", ["three"], "accepted: a number of pieces"),
        ("free_turning", ["perhaps"], "accepted: yes, no"),
        ("pattern", ["toe"], "accepted: a flank and a place"),
        ("pattern", ["drive tow"], "did you mean toe?"),
        ("found_condition", ["x" * 401], "at most 400 characters"),
        ("backlash", ["0.2 mm"] * 25, "accepted: at most 24"),
    ],
)
def test_what_is_no_reading_is_refused_and_says_what_would_be(millrace: Explainer, name: str, values: list[str], told: str) -> None:
    with pytest.raises(ValueError) as refused:
        record.reading(known(millrace.machine, millrace.procedure)[name], values, "fitting", initials="AB")
    assert told in str(refused.value)


def test_every_fault_is_told_at_once(millrace: Explainer) -> None:
    with pytest.raises(ValueError) as refused:
        record.reading(known(millrace.machine, millrace.procedure)["backlash"], ["a", "b"], "later", initials="")
    assert len(str(refused.value).splitlines()) == 4


def test_end_play_is_judged_by_its_limits_its_pushes_and_their_number(millrace: Explainer, tmp_path: Path) -> None:
    low, high = millrace.machine.limits.high_speed_end_play
    middle, path = (low + high) / 2.0, tmp_path / "a"
    assert said(put(millrace, path, "high_speed_end_play", *[f"{middle} mm"] * 3))[0] == "fine"
    verdict, told = said(put(millrace, path, "high_speed_end_play", *[f"{high + 0.1} mm"] * 2))
    assert verdict == "stop" and "2 of 3" in told and "From stock" not in told  # no gasket is moved by too few readings
    found = put(millrace, path, "high_speed_end_play", f"{middle - 0.02} mm", f"{middle} mm", f"{middle + 0.02} mm")
    assert said(found)[0] == "watch" and "The pushes differ by 0.040 mm" in said(found)[1]
    verdict, told = said(put(millrace, path, "high_speed_end_play", *[f"{high + 0.1} mm"] * 3))
    assert verdict == "stop" and "High-speed float gasket" in told


def test_too_much_end_play_asks_for_a_cover_gasket_thinner_by_what_is_too_much(millrace: Explainer, tmp_path: Path) -> None:
    """A cover stands off by its gasket: end play goes with its clamped thickness one to one (common practice, no source)."""
    low, high = millrace.machine.limits.high_speed_end_play
    gasket, path = millrace.machine.gaskets.high_speed_float_gasket, tmp_path / "a"
    found = put(millrace, path, "high_speed_end_play", *[f"{(low + high) / 2.0 + 0.1} mm"] * 3)
    told = said(found)[1]
    stock = found.present.reducer(millrace.start_settings())
    from scenes.callouts.gaskets import stock_of

    wanted = (gasket.clamped - 0.1) / (1.0 - stock_of(stock.machine, gasket).compression)
    assert f"{wanted:.3f} mm free" in told


def test_backlash_is_taken_apart_into_what_shims_change_and_what_they_do_not(millrace: Explainer, tmp_path: Path) -> None:
    """Four places on a gear that runs out 0.06 mm: mean 0.23 mm, once a turn (least squares; numpy's is the other judge)."""
    import numpy as np

    values = [0.26, 0.23, 0.20, 0.23]
    turns = np.pi / 2.0 * np.arange(4)
    fit = np.linalg.lstsq(np.stack([np.ones(4), np.cos(turns), np.sin(turns)], axis=1), np.array(values), rcond=None)[0]
    before_turning(millrace, tmp_path / "a")
    verdict, told = said(put(millrace, tmp_path / "a", "backlash", *[f"{value} mm" for value in values]))
    assert f"Set value {fit[0]:.3f} mm; over a turn it varies by {2.0 * np.hypot(fit[1], fit[2]):.3f} mm" in told
    assert verdict == "fine"


def test_backlash_outside_its_limits_is_answered_with_the_shim_moves_of_adjust(millrace: Explainer, tmp_path: Path) -> None:
    path = tmp_path / "a"
    put(millrace, path, "pattern", "drive heel", "coast heel")
    verdict, told = said(put(millrace, path, "backlash", "0.36 mm", "0.39 mm", "0.41 mm", "0.38 mm"))
    assert verdict == "stop" and "Recommended move" in told and "Pinion gasket" in told


def test_packers_that_do_not_come_out_again_stop_the_job(millrace: Explainer, tmp_path: Path) -> None:
    path = tmp_path / "a"
    put(millrace, path, "packers_in", "3")
    verdict, told = said(put(millrace, path, "packers_out", "2"))
    assert verdict == "stop" and "3 went in, 2 came out" in told and "Do not turn anything" in told
    found = put(millrace, path, "packers_in", "2")  # what is written afterwards mends nothing
    out = next(one for one in found.job.taken if one.read == "packers_out")
    assert found.judge(out, millrace.start_settings()).verdict == "stop"
    assert said(put(millrace, tmp_path / "b", "packers_out", "3"))[0] == "stop"  # nobody counted them in


def test_a_leaf_that_enters_stops_the_job(millrace: Explainer, tmp_path: Path) -> None:
    path = tmp_path / "a"
    assert said(put(millrace, path, "shoulder_gap", *["0 mm"] * 4))[0] == "fine"
    verdict, told = said(put(millrace, path, "shoulder_gap", "0 mm", "0 mm", "0 mm", "0.05 mm"))
    assert verdict == "stop" and "A leaf of 0.050 mm enters" in told and "does not sit" in told
    assert said(put(millrace, path, "end_face_step", "0.03 mm", "0.03 mm"))[0] == "stop"
    found = put(millrace, path, "shoulder_gap", *["0 mm"] * 4, step="pinion_feeler")  # the other shoulder mends not this one
    number = millrace.procedure.steps["gear_feeler"].number
    assert any(
        line.startswith(f"Step {number}:") and "not in order" in line
        for line in record_listing.still_open(found, millrace.start_settings())
    )


def test_a_seat_is_judged_by_the_class_of_its_fit(millrace: Explainer) -> None:
    """60 k5: +2 to +15 um (ISO 286-2, table of shafts)."""
    read = known(millrace.machine, millrace.procedure)["high_speed_shaft.bearing_seat"]
    assert (
        millrace.machine.high_speed_shaft.bearing_seat.diameter == 60.0
        and millrace.machine.high_speed_shaft.bearing_seat.fit == "k5"
    )
    found = limits_of(millrace.reducer(millrace.start_settings()), read)
    assert found is not None and (found.low, found.high) == pytest.approx((60.002, 60.015), abs=1e-9)


def test_measured_beats_nominal_in_every_note_and_says_that_it_was_measured(millrace: Explainer, tmp_path: Path) -> None:
    name = "high_speed_shaft.bearing_seat"
    before = millrace.numbers(replace(millrace.start_settings(), step="hs_bearing_1"))["steps"][0]["callouts"]
    found = put(millrace, tmp_path / "a", name, "60.014 mm", "60.014 mm", "60.012 mm", "60.014 mm")
    after = found.present.numbers(replace(millrace.start_settings(), step="hs_bearing_1"))["steps"][0]["callouts"]
    changed = [new for old, new in zip(before, after, strict=False) if old["text"] != new["text"]]
    assert changed and any("measured" in note["source"] for note in changed)


def test_the_gasket_that_came_out_is_in_the_machine_as_found_and_the_new_one_in_the_machine_as_it_is(
    millrace: Explainer, tmp_path: Path
) -> None:
    path = tmp_path / "a"
    put(millrace, path, "gaskets.pinion_gasket", *["0.40 mm", "0.42 mm"] * 2, state="found")
    found = put(millrace, path, "gaskets.pinion_gasket", *["0.60 mm"] * 4)
    stock = millrace.machine.gaskets.pinion_gasket
    old = machine_of(millrace.machine, found.job, ["gaskets.pinion_gasket"], found=True).machine.gaskets.pinion_gasket
    assert old.clamped == pytest.approx(0.41) and old.compression == stock.compression  # what came out has taken its set
    assert found.present.machine.gaskets.pinion_gasket.thickness == pytest.approx(0.60)
    assert millrace.machine.gaskets.pinion_gasket.thickness == pytest.approx(0.50)


def test_the_new_gasket_is_worked_out_from_the_old_one_and_what_was_read_with_it(millrace: Explainer, tmp_path: Path) -> None:
    path = tmp_path / "a"
    low, high = millrace.machine.limits.low_speed_end_play
    put(millrace, path, "gaskets.low_speed_float_gasket", *["0.80 mm"] * 4, state="found")
    told = said(put(millrace, path, "low_speed_end_play", *[f"{high + 0.2} mm"] * 3, state="found"))[1]
    assert "Low-speed float gasket: " in told and "by the machine file" not in told
    told = said(put(millrace, tmp_path / "b", "low_speed_end_play", *[f"{high + 0.2} mm"] * 3, state="found"))[1]
    assert "look at bearings, nut and tab washer" in told and "From stock" not in told


def test_a_gasket_that_is_changed_makes_void_what_was_read_before(millrace: Explainer, tmp_path: Path) -> None:
    path, now = tmp_path / "a", millrace.start_settings()
    put(millrace, path, "backlash", *["0.23 mm"] * 4)
    assert not any("Backlash:" in line and "changed" in line for line in record_listing.still_open(opened(millrace, path), now))
    found = put(millrace, path, "gaskets.pinion_gasket", *["0.60 mm"] * 4)
    assert any("Backlash: read before the Pinion gasket was changed" in line for line in record_listing.still_open(found, now))


@pytest.mark.parametrize(
    "gasket,void,kept",
    [
        (
            "gear_gasket",
            "packers_in packers_out free_turning@packers_out turning_feel tools_in tools_out locks_counted low_speed_end_play"
            " gear_distance backlash pattern pattern_accepted oil_filled first_run no_leaks low_speed_cartridge_screw zero_energy",
            "free_turning@hs_turn high_speed_end_play set_number cartridge_screw@cartridge_draw_in incoming",
        ),
        (
            "pinion_gasket",
            "turning_feel tools_in tools_out locks_counted high_speed_end_play low_speed_end_play flange_gap backlash pattern"
            " pattern_accepted oil_filled first_run no_leaks cartridge_screw@cartridge_draw_in cartridge_screw@oil_first_run zero_energy",
            "packers_in packers_out free_turning@hs_turn end_face_step",
        ),
        (
            "low_speed_float_gasket",
            "turning_feel tools_in tools_out locks_counted low_speed_end_play backlash pattern pattern_accepted oil_filled first_run"
            " no_leaks zero_energy",
            "packers_in packers_out high_speed_end_play set_number",
        ),
    ],
)
def test_a_machine_that_is_opened_for_a_gasket_has_its_counts_torques_oil_and_run_to_do_again(
    explainer: Explainer, gasket: str, void: str, kept: str, tmp_path: Path
) -> None:
    """Which flanges come off: the order of the job, read by hand; counts, oil and run after any opening: common practice."""
    path, typed = tmp_path / "a", {"agreed": "yes", "count": "3", "feel": "even", "volume": "6 L", "time": "90 min", "words": "1"}
    typed |= {"marks": "drive centre", "run": "30 min 47 degC", "torque": "40 N m", "length": "0.2 mm", "temperature": "110 degC"}
    found = opened(explainer, path)
    put(explainer, path, "gaskets." + gasket, *["0.5 mm"] * 4)
    for read, step in wanted.asked(found):
        put(explainer, path, read.name, typed[read.kind], step=step)
    before = opened(explainer, path)
    assert not any(
        before.lapses.since(one) for one in before.job.taken
    )  # a gasket that goes in as the machine is built opens nothing
    after = put(explainer, path, "gaskets." + gasket, *["0.8 mm"] * 4)
    gone = {one.read for one in after.job.taken if after.lapses.since(one)}
    gone |= {f"{one.read}@{one.step}" for one in after.job.taken if after.lapses.since(one)}
    stand = {name for one in after.job.taken if not after.lapses.since(one) for name in (one.read, f"{one.read}@{one.step}")}
    assert set(void.split()) <= gone and set(kept.split()) <= stand - gone | {one for one in stand if "@" in one}
    told = [line for line in record_listing.still_open(after, after.planned.start_settings()) if "was opened for the" in line]
    assert any("Tools" in line for line in told) and any("oil" in line.lower() for line in told)
    checks = {one.key: one for one in closing.checks(after, after.planned.start_settings())}
    assert not (checks["turning"].done or checks["oil"].done or checks["locks"].done)


@pytest.mark.parametrize(
    "screw", ["split_screw", "cartridge_screw", "low_speed_cartridge_screw", "high_speed_cover_screw", "low_speed_cover_screw"]
)
def test_a_torque_of_the_rebuild_does_not_say_that_the_screws_were_gone_over_after_the_run(
    explainer: Explainer, screw: str, tmp_path: Path
) -> None:
    path, now = tmp_path / "a", explainer.start_settings()
    found = opened(explainer, path)
    fitted, after = (explainer.procedure.steps[name] for name in found.reads[screw].steps)
    assert screw in (*fitted.arrives, *fitted.tightens) and after.id == "oil_first_run"
    limits = record_listing.limits_at(found, explainer.reducer(now), found.reads[screw], fitted.id)
    values = [f"{(limits.low + limits.high) / 2.0 if limits else 40.0} N m"] * found.reads[screw].wanted

    def open_at(step: str) -> bool:
        told = record_listing.still_open(opened(explainer, path), now)
        return any(line.startswith(f"Step {explainer.procedure.steps[step].number}: {found.reads[screw].title}") for line in told)

    assert "after the first run" not in said(put(explainer, path, screw, *values, step=fitted.id))[1]
    assert not open_at(fitted.id) and open_at(after.id)
    verdict, told = said(put(explainer, path, screw, *values, step=after.id))
    assert verdict == "watch" and "No first run is written down" in told and open_at(after.id)
    put(explainer, path, "first_run", "no")
    put(explainer, path, screw, *values, step=after.id)
    assert open_at(after.id)
    put(explainer, path, "first_run", "yes")  # nothing was ready: it does not count
    found = put(explainer, path, screw, *values, step=after.id, temperature=["21 degC"])
    assert "no first run that counts stands before it" in said(found)[1] and open_at(after.id)
    before_running(explainer, path)
    put(explainer, path, "first_run", "yes")
    put(explainer, path, screw, *values, step=fitted.id)
    assert open_at(after.id)
    gone_over = put(explainer, path, screw, *values, step=after.id, temperature=["21 degC"])
    assert "Gone over after the first run" in said(gone_over)[1] and not open_at(after.id)


def test_shim_moves_ask_for_marks_of_the_pair_as_it_stands(millrace: Explainer, tmp_path: Path) -> None:
    path = tmp_path / "a"
    put(millrace, path, "pattern", "drive heel", "coast heel", state="found")
    assert "Mark the teeth as the pair now stands" in said(put(millrace, path, "backlash", *["0.40 mm"] * 4))[1]


def test_one_tight_place_stops_the_job_though_the_mean_is_right(millrace: Explainer, tmp_path: Path) -> None:
    verdict, told = said(put(millrace, tmp_path / "a", "backlash", "0.14 mm", "0.20 mm", "0.21 mm", "0.20 mm"))
    assert verdict == "stop" and "Tightest place 0.140 mm" in told and "chip" in told


def test_too_much_torque_is_not_mended_by_setting_the_wrench_again(millrace: Explainer, tmp_path: Path) -> None:
    verdict, told = said(put(millrace, tmp_path / "a", "cartridge_screw", "90 N m"))
    assert verdict == "stop" and "take the screws out" in told


def test_gears_of_another_set_stop_the_job(millrace: Explainer, tmp_path: Path) -> None:
    assert millrace.machine.gears.set_number
    assert said(put(millrace, tmp_path / "a", "set_number", "WRONG-99"))[0] == "stop"
    unsure = put(millrace, tmp_path / "a", "set_number", "X and XX")
    assert said(unsure)[0] == "watch" and any(
        "not clear" in line for line in record_listing.still_open(unsure, millrace.start_settings())
    )
    assert said(put(millrace, tmp_path / "a", "set_number", "set 1, both gears, X and XX"))[0] == "fine"
    assert said(put(millrace, tmp_path / "a", "set_number", str(millrace.machine.gears.set_number)))[0] == "fine"


def test_an_earlier_reading_is_judged_by_what_was_in_then(millrace: Explainer, tmp_path: Path) -> None:
    path, high = tmp_path / "a", millrace.machine.limits.high_speed_end_play[1]
    first = said(put(millrace, path, "high_speed_end_play", *[f"{high + 0.1} mm"] * 3))
    found = put(millrace, path, "gaskets.high_speed_float_gasket", *["0.40 mm"] * 4)
    judged = found.judge(found.job.taken[0], millrace.start_settings())
    assert (judged.verdict, " ".join((*judged.says, *judged.now))) == first


def test_a_record_of_another_machine_is_refused(millrace: Explainer, tmp_path: Path) -> None:
    put(millrace, tmp_path / "a", "backlash", "0.2 mm")
    with pytest.raises(RecordError, match="is the record of Mill-race gate drive, not of Slipway winch drive"):
        opened(Explainer(open_machine("slipway")[0]), tmp_path / "a")


def test_a_struck_reading_stays_in_the_file_and_counts_no_more(millrace: Explainer, tmp_path: Path) -> None:
    path = tmp_path / "a"
    put(millrace, path, "gaskets.pinion_gasket", *["0.60 mm"] * 4)
    found = put(millrace, path, "gaskets.pinion_gasket", *["0.90 mm"] * 4)
    found.record.add(record.strike(found.job, 3, initials="CD", note="other gasket"))
    found = opened(millrace, path)
    assert found.present.machine.gaskets.pinion_gasket.thickness == pytest.approx(0.60)
    assert len(found.record.read().entries) == 4 and found.job.taken[1].struck == 4
    for number, why in ((3, "struck already by entry 4"), (9, "no reading that stands: accepted: 2")):
        with pytest.raises(ValueError, match=why):
            record.strike(found.job, number, initials="CD", note="again")
    with pytest.raises(ValueError, match="accepted: why the entry is struck"):
        record.strike(found.job, 2, initials="CD")


@pytest.mark.parametrize(
    ("name", "value"), [("high_speed_shaft.bearing_seat", "59.3 mm"), ("carrier.gasket", "0 mm"), ("case.end_face", "-20 mm")]
)
def test_a_size_that_makes_no_reducer_is_kept_told_of_and_can_be_struck(
    millrace: Explainer, tmp_path: Path, name: str, value: str
) -> None:
    found = put(millrace, tmp_path / "a", name, *[value] * 4, state="found")
    now = millrace.start_settings()
    assert found.present.machine == millrace.machine
    assert any(f"Entry 2: {found.reads[name].title}: " in line for line in record_listing.lines(found, now))
    assert record_listing.report(found, now)["unfit"]
    found.record.add(record.strike(found.job, 2, initials="AB", note="other part"))
    assert opened(millrace, tmp_path / "a").unfit == ()


def test_what_this_program_does_not_know_is_kept_and_told_of(millrace: Explainer, tmp_path: Path) -> None:
    found = opened(millrace, tmp_path / "a")
    found.record.add(record.opening(record.Whose(millrace.title)))
    for values in (
        {"read": "colour", "values": ["blue"], "state": "found"},
        {"strikes": 7},
        {"read": "backlash", "values": [3]},
        {},
    ):
        found.record.add(values)
    found = opened(millrace, tmp_path / "a")
    assert found.job.strange == (2, 3, 4, 5) and found.job.taken == ()


def test_what_is_open_shrinks_with_every_reading_that_is_right_until_nothing_is(millrace: Explainer, tmp_path: Path) -> None:
    limits = millrace.machine.limits.model_copy(update={"first_run_temperature": 80.0})
    millrace = Explainer(millrace.machine.model_copy(update={"limits": limits}))
    now, path = millrace.start_settings(), tmp_path / "a"
    found = opened(millrace, path)
    all_asked = [(read, step) for read, step in wanted.asked(found) if not (step and millrace.procedure.steps[step].optional)]
    assert len(list(record_listing.still_open(found, now))) == len(all_asked)
    for read, step in all_asked:
        asked = record_listing.limits_at(found, millrace.reducer(now), read, step)
        unit = {"torque": "N m", "temperature": "degC"}.get(read.kind, "mm")
        middle = f"{(asked.low + asked.high) / 2.0} {unit}" if asked else "1 mm"
        locked = own_reads.locked_at(millrace.reducer(now), millrace.procedure).get(step)
        counts = {"locks_counted": sum(counted.locks(millrace.reducer(now))), "screws_locked": locked.screws if locked else 0}
        values = {
            "count": [str(counts.get(read.name, 3))],
            "volume": ["6 L"],
            "time": ["90 min"],
            "run": ["30 min 47 degC", "60 min 48 degC", "90 min 48.5 degC"],
            "agreed": ["yes"],
            "words": [str(millrace.machine.gears.set_number)],
            "marks": ["drive centre", "coast centre"],
            "feel": ["even"],
        }
        leaf = ["0 mm"] * read.wanted if read.name in FEELER else [middle] * read.wanted
        warm = {"temperature": ["130 degC" if read.name == "bore_clearance" else "20 degC"]}
        found = put(millrace, path, read.name, *values.get(read.kind, leaf), state="left", step=step, **warm)
    assert list(record_listing.still_open(found, now)) == []
    assert "The signatures are not this program's" in list(record_listing.lines(found, now))[-1]


def test_a_pattern_stays_open_until_somebody_answers_for_it(millrace: Explainer, tmp_path: Path) -> None:
    path, now = tmp_path / "a", millrace.start_settings()

    def is_open(found: Opened) -> bool:
        return any("Tooth pattern" in line for line in record_listing.still_open(found, now))

    put(millrace, path, "pattern_accepted", "yes")
    assert is_open(put(millrace, path, "pattern", "drive centre"))
    assert is_open(put(millrace, path, "pattern", "drive centre", "coast centre"))
    assert not is_open(put(millrace, path, "pattern_accepted", "yes"))


def test_whatever_is_accepted_can_be_told_again(explainer: Explainer, tmp_path: Path) -> None:
    """Both ends of every range, through judging, listing and the report."""
    now = explainer.start_settings()
    found = opened(explainer, tmp_path / "a")
    dimensions = [read for read in found.reads.values() if read.dimension]
    for read in [read for read in found.reads.values() if not read.dimension] + dimensions[::8]:
        ends = {"length": ["0 mm", "5 mm"], "torque": ["0 N m", "20000 N m"], "count": ["0", "9999"], "agreed": ["no", "yes"]}
        ends |= {"volume": ["0.1 L", "2000 L"], "time": ["1 min", "72 h"], "run": ["0 s -30 degC", "72 h 150 degC"]}
        ends |= {"feel": ["free", "tight everywhere"], "temperature": ["-60 degC", "400 degC"]}
        for value in ends.get(read.kind, ["drive toe"] if read.kind == "marks" else ["x"]):
            if not (read.name.startswith("gaskets.") and value == "0 mm"):
                found.record.add(record.reading(read, [value], "left", initials="AB", step=read.steps[0] if read.steps else ""))
    found = opened(explainer, tmp_path / "a")
    assert len(found.job.taken) > 50 and found.job.strange == ()
    assert all(found.judge(one, now) for one in found.job.taken[::7])
    assert left_report.report(found, now)["deviations"] is not None
