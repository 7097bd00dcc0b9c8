"""Adjust, expect, read again: rounds of a job on machines whose true sizes are known. mm."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scenes import closing, left_report, record, record_listing, rounds_listing
from scenes.adjusting import PACKS
from scenes.cures import other_gasket
from scenes.examples import EXAMPLES
from scenes.explain import Explainer
from scenes.positions import positions
from scenes.record_listing import opened
from scenes.rounds import Marked
from scenes.rounds_expected import movers, rounds
from scenes.tooth_contact import meeting
from scenes.wording import speaking, text
from tests.calc.rows import rows
from tests.scenes.readied import before_turning
from tests.scenes.true_machine import Crew, built, explainer, mm, read_on, true_machine

SETS = {
    "pinion_gasket": "pinion_running",
    "gear_gasket": "gear_distance",
    "high_speed_float_gasket": "high_speed_end_play",
    "low_speed_float_gasket": "low_speed_end_play",
}
"""Each gasket, and the reading that must tell of another one in its place."""
SLIPS = {"millrace": 0.1, "slipway": -0.127}
"""The old gasket put back in, in place of the one written down: a step of each machine's stock, too much and too little [mm]."""


@pytest.mark.parametrize("name", EXAMPLES)
def test_two_rounds_bring_a_machine_inside_its_limits_and_read_as_expected(name: str, tmp_path: Path) -> None:
    """The readings come from the assembled reducer and the contact of the true machine, the expectation from the readings before."""
    crew = Crew(name, tmp_path / "job")
    last = crew.rebuild(3)
    history = crew.history()
    assert [one.number for one in history] == [1, 2] and last.gaskets == {} and last.answer is not None
    for one in history[1:]:
        assert {each.verdict for each in one.compared} == {"fine"} and {mark.verdict for mark in one.marks} == {"fine"}
        assert len(one.compared) == 5 and len(one.marks) == 2
        for each in one.compared:  # to what is written down; of the backlash the model's slope, from a pair that sits far off
            assert abs(each.difference or 0.0) < (0.04 if each.read == "backlash" else 0.011)
    there = built(crew.true, crew.inside)
    ends, met, machine = positions(there), meeting(there), crew.planned.machine
    for play, (low, high) in (
        (ends.high_speed_end_play, machine.limits.high_speed_end_play),
        (ends.low_speed_end_play, machine.limits.low_speed_end_play),
    ):
        assert low <= play <= high
    assert met.backlash is not None and machine.gears.backlash[0] <= met.backlash.outer <= machine.gears.backlash[1]
    assert met.drive is not None and 35.0 < met.drive.pattern.centre_along < 60.0


@pytest.mark.parametrize("name", EXAMPLES)
def test_float_gasket_and_shims_fitted_together_land_inside_in_one_round(name: str, tmp_path: Path) -> None:
    """The true machine's end play is out; taking it out moves the running pinion as far, which the shims of the same round make up for."""
    crew = Crew(name, tmp_path / "job")
    crew.read()
    proposed, before = crew.next(), positions(built(crew.true, crew.inside))
    assert "high_speed_float_gasket" in proposed.gaskets and proposed.answer is not None and set(proposed.gaskets) & set(PACKS)
    told = proposed.answer.after(proposed.reducer, proposed.answer.found.move)
    now = crew.planned.with_(crew.planned.start_settings(), units="mm")
    said = "\n".join(rounds_listing.lines(crew.record, now))
    moved = before.high_speed_end_play - told.high_speed_end_play
    assert re.search(rf"running pinion goes {moved:.2f}\d mm in with it", said) or abs(moved) < 0.02
    crew.put_in(proposed.gaskets)
    there = built(crew.true, crew.inside)
    ends, met, machine = positions(there), meeting(there), crew.planned.machine
    for one in ("high_speed_end_play", "low_speed_end_play"):
        low, high = getattr(machine.limits, one)
        assert low <= getattr(ends, one) <= high
    assert met.backlash is not None and machine.gears.backlash[0] <= met.backlash.outer <= machine.gears.backlash[1]
    assert (told.high_speed_end_play, told.pinion_running, told.gear_distance) == pytest.approx(
        (ends.high_speed_end_play, ends.pinion_running, ends.gear_distance), abs=0.011
    )
    for each in crew.history()[-1].compared:  # one figure in the move and in what the next round is expected to read
        if each.read in ("pinion_running", "gear_distance", "high_speed_end_play"):
            assert each.expected == pytest.approx(getattr(told, each.read), abs=1e-3)


@pytest.mark.parametrize("gasket", SETS)
@pytest.mark.parametrize("name", EXAMPLES)
def test_a_gasket_that_is_not_what_was_written_down_is_told_of_in_the_round_that_it_came_in(
    name: str, gasket: str, tmp_path: Path
) -> None:
    read, slip = SETS[gasket], SLIPS[name]
    crew = Crew(name, tmp_path / "job", {gasket: slip})
    crew.read()
    crew.put_in({gasket: crew.written[gasket] - slip})
    crew.read()
    came = crew.history()[-1]
    assert any(new.gasket == gasket for _, new in came.changed)
    flagged = {one.read: one for one in came.compared if one.verdict in ("watch", "stop")}
    assert set(flagged) and all(gasket in movers(one) for one in flagged) and read in flagged
    assert abs(flagged[read].difference or 0.0) == pytest.approx(0.9 * abs(slip), abs=0.015)
    now = crew.planned.with_(crew.planned.start_settings(), units="mm")
    said = "\n".join(rounds_listing.lines(crew.record, now))
    assert "NOT as expected" in said
    assert re.search(f"Look for: .* too {'much' if slip > 0.0 else 'little'}: {text(f'part.{gasket}')}", said)


def test_the_first_round_off_the_drawing_names_what_is_not_measured_yet(tmp_path: Path) -> None:
    crew = Crew("millrace", tmp_path / "job")
    crew.read()
    said = [
        line for line in rounds_listing.lines(crew.record, crew.planned.start_settings()) if "Look for: High-speed end play" in line
    ]
    assert len(said) == 1 and "measure first: " in said[0] and "gasket" not in said[0]  # the gasket is measured


def test_a_cover_gasket_thicker_by_what_is_missing_gives_the_play_that_is_wanted(tmp_path: Path) -> None:
    """END-006: present end play 0.10, wanted 0.20, one cover: add 0.10."""
    (case,) = rows("END-006")
    present, wanted, add = case.number("present e"), case.number("wanted"), case.want("add")
    planned = explainer("millrace")
    metal = planned.machine.gaskets.high_speed_float_gasket.model_copy(update={"compression": 0.0})
    gaskets = planned.machine.gaskets.model_copy(update={"high_speed_float_gasket": metal})
    planned = Explainer(planned.machine.model_copy(update={"gaskets": gaskets}))
    reducer = built(planned.machine, {})
    crew = Crew("millrace", tmp_path / "job")
    crew.write("high_speed_end_play", *[f"{present} mm"] * 3)
    crew.put_in({"high_speed_float_gasket": metal.thickness + add})
    found = rounds(opened(planned, crew.path))[-1]
    expected = next(one for one in found.compared if one.read == "high_speed_end_play")
    assert expected.expected == pytest.approx(wanted, abs=1e-9) and expected.got is None
    case.near(other_gasket(reducer, reducer.chain("high_speed_end_play"), wanted - present, 0.01).free - metal.thickness, "add")


@pytest.mark.parametrize(
    "play,stack,gives,says",
    [
        ("0.0050 in", 0.010, 0.0005, "outside"),
        ("0.0006 in", 0.015, 0.0006, "outside"),
        ("0.0065 in", 0.010, 0.0020, "would bring it to the middle"),
        ("0.0070 in", 0.010, 0.0025, "would bring it to the middle"),
        ("0.0073 in", 0.010, 0.0028, "Watch: read it again"),
        ("0.0200 in", None, 0.0, "typed wrong"),
        ("0.0300 in", 0.010, 0.0255, "no gasket is thin enough"),
    ],
)
def test_the_nearest_gasket_from_stock_is_named_with_the_play_that_it_gives(
    play: str, stack: float | None, gives: float, says: str, tmp_path: Path
) -> None:
    """Slipway's leaves are 0.010, 0.015, 0.020 in and give a tenth; limits 0.0010 to 0.0030 in: play after = play before + change x 0.9."""
    crew = Crew("slipway", tmp_path / "job")
    crew.write("high_speed_end_play", *[play] * 3)
    now = crew.planned.with_(crew.planned.start_settings(), units="inch")
    taken = crew.record.job.latest("high_speed_end_play", "fitting")
    assert taken is not None
    said = " ".join(crew.record.judge(taken, now).now)
    assert says in said
    if stack is None:
        assert "From stock" not in said
    else:
        assert f"1 x {stack:.4f} in" in said and f"about {gives:.4f} in" in said
    proposed = crew.next().gaskets.get("high_speed_float_gasket")
    assert proposed == (pytest.approx(0.010 * 25.4) if "to the middle" in says or "Watch" in says else None)


@pytest.mark.parametrize("name", EXAMPLES)
@settings(max_examples=4, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    play=st.floats(0.01, 0.2), other=st.floats(0.01, 0.2), backlash=st.floats(0.15, 0.4),
    drive=st.tuples(st.integers(30, 70), st.integers(30, 70)), coast=st.tuples(st.integers(30, 70), st.integers(30, 70)),
)  # fmt: skip
def test_the_same_gaskets_put_in_again_are_expected_to_read_as_before(
    name: str, tmp_path_factory: pytest.TempPathFactory, play: float, other: float, backlash: float, drive: tuple[int, int], coast: tuple[int, int]
) -> None:  # fmt: skip
    crew = Crew(name, tmp_path_factory.mktemp("same") / "job")
    for read, value in (("high_speed_end_play", play), ("low_speed_end_play", other), ("backlash", backlash)):
        crew.write(read, *[f"{value} mm"] * 4)
    crew.write("pattern", f"drive {drive[0]} %,{drive[1]} %", f"coast {coast[0]} %,{coast[1]} %")
    crew.put_in(crew.written)
    last = crew.history()[-1]
    assert last.number == 2
    assert {one.read: one.expected for one in last.compared} == pytest.approx(
        {"high_speed_end_play": play, "low_speed_end_play": other, "backlash": backlash}, abs=1e-9
    )
    assert [one.expected for one in last.marks] == [pytest.approx(drive), pytest.approx(coast)]


def test_no_play_read_says_only_what_the_next_round_has_at_most(tmp_path: Path) -> None:
    """A cover that clamps reads no play, however hard it clamps (common practice, no source)."""
    crew = Crew("millrace", tmp_path / "job")
    crew.write("high_speed_end_play", *["0 mm"] * 3)
    crew.put_in({"high_speed_float_gasket": 0.7})
    crew.write("high_speed_end_play", *["0.05 mm"] * 3)
    one = next(each for each in crew.history()[-1].compared if each.read == "high_speed_end_play")
    assert one.at_most and one.expected == pytest.approx(0.18) and one.verdict == "fine"
    crew.write("high_speed_end_play", *["0.40 mm"] * 3)
    assert next(each for each in crew.history()[-1].compared if each.read == "high_speed_end_play").verdict == "stop"


def test_a_reading_that_no_change_moved_holds_from_an_earlier_round(tmp_path: Path) -> None:
    crew = Crew("millrace", tmp_path / "job")
    crew.read()
    crew.put_in({"gear_gasket": 0.6})  # the high-speed side stays closed
    crew.write("backlash", *["0.25 mm"] * 4)
    last = crew.history()[-1]
    assert set(last.holds) == {"high_speed_end_play", "pinion_running"}
    assert {one.read: one.got for one in last.compared} == {
        "low_speed_end_play": None, "gear_distance": None, "backlash": pytest.approx(0.25),
    }  # fmt: skip
    crew.put_in({"low_speed_float_gasket": 0.4})  # moves nothing that was read in this round
    assert [one.number for one in crew.history()] == [1, 2]
    assert set(crew.history()[-1].holds) == {"high_speed_end_play", "pinion_running"}


def test_what_the_job_asks_for_again_is_not_said_to_hold(tmp_path: Path) -> None:
    """The gear gasket moves nothing of the high-speed side; its end play is read once, the running pinion at two steps."""
    crew = Crew("millrace", tmp_path / "job")
    crew.read()
    crew.put_in({"gear_gasket": 0.6})
    crew.write("backlash", *["0.25 mm"] * 4)
    now = crew.planned.start_settings()
    held = [one for one in rounds_listing.lines(crew.record, now) if "not read again" in one]
    for one in held:
        title = one.strip().split(": ")[0]
        again = [line for line in record_listing.still_open(crew.record, now) if title in line and "not in order" not in line]
        assert ("still holds" in one) is (not again) and ("asks for it again" in one) is bool(again)
    assert len(held) == 2 and any("asks for it again: step" in one for one in held)


@pytest.mark.parametrize(
    "sigma,got,verdict,blind",
    [
        (9.9, (50.0, 50.0), "fine", False),
        (9.9, (60.0, 50.0), "", True),  # toe expected, heel read
        (9.9, (82.0, 50.0), "stop", True),
        (13.0, (45.0, 50.0), "", True),  # 52 % wide
    ],
)
def test_a_mark_that_would_read_as_expected_on_either_half_of_the_tooth_proves_nothing(
    sigma: float, got: tuple[float, float], verdict: str, blind: bool
) -> None:
    one = Marked("drive", 1, (43.0, 50.0), got, sigma)
    assert one.verdict == verdict and one.blind is blind and one.allowed == pytest.approx(2.0 * sigma)


def test_what_is_allowed_of_a_mark_is_printed_and_grows_with_gaskets_nobody_measured(tmp_path: Path) -> None:
    """Two eyes of 7 % each allow 20 %; a change of which nobody knows the thickness allows more."""
    crew = Crew("millrace", tmp_path / "job")
    crew.read()
    crew.put_in({"gear_gasket": 0.4})
    crew.read()
    said = [one for one in rounds_listing.lines(crew.record, crew.planned.start_settings()) if "Marks, drive: expected" in one]
    assert re.search(r"±2\d %, from round 1; read ", said[-1])
    assert all(2.0 * math.hypot(7.0, 7.0) < one.allowed < 30.0 for one in crew.history()[-1].marks)


def test_a_gasket_named_as_left_is_the_one_that_was_put_in(tmp_path: Path) -> None:
    crew = Crew("millrace", tmp_path / "job")
    crew.read()
    crew.write("gaskets.pinion_gasket", "0.50 mm", "0.502 mm", state="left")
    assert [one.number for one in crew.history()] == [1]
    now = crew.planned.start_settings()
    assert not any("changed" in line for line in record_listing.still_open(crew.record, now))
    crew.write("gaskets.pinion_gasket", "0.60 mm", state="left")
    assert [one.number for one in crew.history()] == [1, 2]


def test_a_change_that_is_struck_is_no_round(tmp_path: Path) -> None:
    crew = Crew("millrace", tmp_path / "job")
    crew.read()
    crew.put_in({"pinion_gasket": 0.6})
    assert len(crew.history()) == 2
    found = crew.record
    number = found.job.taken[-1].number
    record_listing.put(found, record.strike(found.job, number, initials="AB", note="not put in"))
    assert len(crew.history()) == 1


def test_the_sealed_case_is_expected_from_the_dry_trial_less_the_film(tmp_path: Path) -> None:
    """Truth of the bench: the film lifts the upper half and with it the gear. The pair is met with and without the film."""
    crew = Crew("millrace", tmp_path / "job")
    film = crew.planned.machine.case.sealing_film
    sealed = built(crew.true, crew.inside)
    from calc.flank import Errors
    from scenes.tooth_contact import displacement

    here = displacement(sealed)
    dry, wet = meeting(sealed, Errors(here.pinion, here.gear + film)), meeting(sealed)
    assert dry.backlash is not None and wet.backlash is not None and dry.backlash.outer > wet.backlash.outer + 0.02
    crew.write("trial_backlash", *[mm(dry.backlash.outer)] * 4)
    crew.write("backlash", *[mm(wet.backlash.outer)] * 4)
    one = next(each for each in crew.history()[-1].compared if each.read == "backlash")
    assert one.basis == 1 and one.expected == pytest.approx(wet.backlash.outer, abs=0.01) and one.verdict == "fine"


@pytest.mark.parametrize("deeper", [None, 0.0, 0.02])
def test_gaskets_chosen_by_the_dry_trial_set_the_sealed_case(deeper: float | None, tmp_path: Path) -> None:
    """The trial is read on the true machine with the gear by so much farther than sealed: the film where no depth was set, else what the depth
    is off the calculated one (deeper is farther). With the gaskets it asks for, the sealed machine lies inside."""
    from calc.flank import Errors
    from scenes.callouts.gaskets import trial_depth
    from scenes.tooth_contact import displacement

    crew = Crew("millrace", tmp_path / "job")
    crew.put_in({"gear_gasket": 0.25})
    sealed = built(crew.true, crew.inside)
    here, off = displacement(sealed), crew.planned.machine.case.sealing_film if deeper is None else deeper
    met = meeting(sealed, Errors(here.pinion, here.gear + off))
    assert met.backlash is not None and met.drive is not None and met.coast is not None
    marks = [f"{one.pattern.centre_along:.0f} %,{one.pattern.centre_depth:.0f} %" for one in (met.drive, met.coast)]
    if deeper is not None:
        depth = trial_depth(crew.record.reducer(crew.record.job).machine) + deeper
        crew.write("trial_depth", *[f"{depth:.3f} mm"] * 2)
    crew.write("trial_backlash", *[f"{met.backlash.outer:.3f} mm"] * 4)
    crew.write("pattern", f"drive {marks[0]}", f"coast {marks[1]}")
    found, now = crew.record, crew.planned.with_(crew.planned.start_settings(), units="mm")
    proposed = crew.next()
    assert proposed.answer is not None and proposed.answer.read.dry == pytest.approx(off, abs=1e-3) and proposed.gaskets
    told = "\n".join(proposed.lines(found, now))
    assert "By the dry trial" in told
    follows = found.follows(found.job.taken[-1], now)
    assert any("By the dry trial" in line for line in follows) and any("Gear gasket: " in line for line in follows)
    crew.put_in(proposed.gaskets)
    assert crew.next().answer is None  # the trial was read with other gaskets
    landed = meeting(built(crew.true, crew.inside))
    assert landed.backlash is not None
    assert crew.planned.machine.gears.backlash[0] <= landed.backlash.outer <= crew.planned.machine.gears.backlash[1]
    assert proposed.answer.found.move.backlash == pytest.approx(landed.backlash.outer, abs=0.015)


def test_the_trial_says_nothing_as_left_once_the_closed_machine_is_inside(tmp_path: Path) -> None:
    crew = Crew("millrace", tmp_path / "job")
    crew.write("trial_backlash", *["0.40 mm"] * 4)
    now = crew.planned.start_settings()

    def row() -> dict[str, str]:
        checks = left_report.report(crew.record, now)["checks"]
        return next(one["left"] for one in checks if "dry trial" in one["what"])  # type: ignore[no-any-return]

    before_turning(crew.planned, crew.path)
    assert row()["verdict"] == "stop"
    crew.put_in({"gear_gasket": 0.6})
    before_turning(crew.planned, crew.path)
    crew.write("backlash", *["0.23 mm"] * 4)
    assert row()["verdict"] == "" and row()["said"]
    assert not any("dry trial" in line for line in left_report.report(crew.record, now)["deviations"])


def test_a_trial_depth_is_judged_by_the_gasket_that_was_in_then(tmp_path: Path) -> None:
    """Calculated depth with 0.5 free in: 0.4 free would want 0.09 more. The later gasket changes neither verdict nor the limits told."""
    from scenes.callouts.gaskets import trial_depth

    crew = Crew("millrace", tmp_path / "job")
    now = crew.planned.with_(crew.planned.start_settings(), units="mm")
    crew.write("trial_depth", *[f"{trial_depth(crew.planned.machine):.3f} mm"] * 2)
    taken = crew.record.job.taken[-1]

    def told() -> tuple[str, str, str]:
        row = next(
            one for one in left_report.report(crew.record, now)["checks"] if one["what"] == crew.record.reads["trial_depth"].title
        )
        return crew.record.judge(taken, now).verdict, crew.record.judge(taken, now, since=True).verdict, row["limits"]

    before = told()
    crew.put_in({"gear_gasket": 0.25})
    assert told() == before and before[:2] == ("fine", "fine")


def test_a_trial_at_a_wrong_depth_chooses_no_gasket(tmp_path: Path) -> None:
    crew = Crew("millrace", tmp_path / "job")
    crew.write("trial_depth", "30 mm", "30 mm")
    crew.write("trial_backlash", *["0.40 mm"] * 4)
    crew.write("pattern", "drive heel", "coast heel")
    assert not crew.next().gaskets and crew.next().answer is None
    said = crew.record.follows(crew.record.job.taken[-1], crew.planned.start_settings())
    assert any("did not stand at its calculated depth" in line for line in said)


def test_a_trial_without_marks_goes_by_both_positions(tmp_path: Path) -> None:
    crew = Crew("millrace", tmp_path / "job")
    crew.write("trial_backlash", *["0.40 mm"] * 4)
    assert crew.next().answer is None
    crew.write("pinion_running", "205.10 mm")
    crew.write("gear_distance", "92.10 mm")
    proposed = crew.next()
    assert proposed.answer is not None and proposed.answer.gates == () and proposed.gaskets


@pytest.mark.parametrize("units", ["mm", "inch"])
@pytest.mark.parametrize("name", EXAMPLES)
def test_new_gaskets_are_worked_out_of_the_old_ones_and_what_was_read_with_them(name: str, units: str, tmp_path: Path) -> None:
    """As found: readings first, then the gaskets that came out. Wanted = clamped old one + middle of the limits - play as read."""
    planned, true = explainer(name), true_machine(name)
    crew = Crew.__new__(Crew)
    crew.name, crew.path, crew.planned = name, tmp_path / "job", planned
    old = built(true, {})
    for read, values in read_on(old).items():
        crew.write(read, *values, state="found")
    now = planned.with_(planned.start_settings(), units=units)
    before = "\n".join(rounds_listing.lines(crew.record, now))
    assert "that came out" in before and "From stock" not in before
    for gasket in SETS:
        size = getattr(old.machine.gaskets, gasket).clamped
        crew.write(f"gaskets.{gasket}", *[f"{size + off:.4f} mm" for off in (-0.01, 0.0, 0.01, 0.0)], state="found")
    found = crew.record
    told = rounds_listing.report(found, now)
    assert [one["number"] for one in told["rounds"]] == [0]
    for read, gasket in (("high_speed_end_play", "high_speed_float_gasket"), ("low_speed_end_play", "low_speed_float_gasket")):
        low, high = getattr(planned.machine.limits, read)
        item = getattr(planned.machine.gaskets, gasket)
        play = found.job.latest(read, "found")
        assert play is not None
        wanted = (item.clamped + (low + high) / 2.0 - play.mean) / (1.0 - item.compression)
        assert abs(told["next"]["gaskets"][gasket] - wanted) <= (high - low) / 4.0 / (1.0 - item.compression) + 1e-6
        shown = f"{wanted:.3f} mm free" if units == "mm" else f"{wanted / 25.4:.4f} in free"
        judged = " ".join(found.judge(play, now).now)
        assert shown in judged and all(line in "\n".join(told["text"]) for line in found.judge(play, now).now)
    assert told["next"]["wanted_first"] == [] and "fit them together with the float gasket" in "\n".join(told["text"])
    together = built(true, {name: told["next"]["gaskets"].get(name, getattr(true.gaskets, name).thickness) for name in SETS})
    met, ends = meeting(together), positions(together)
    assert met.backlash is not None and planned.machine.gears.backlash[0] <= met.backlash.outer <= planned.machine.gears.backlash[1]
    assert (
        planned.machine.limits.high_speed_end_play[0] <= ends.high_speed_end_play <= planned.machine.limits.high_speed_end_play[1]
    )
    backlash = found.job.latest("backlash", "found")  # and in the reading's own words
    assert backlash is not None and all(line in "\n".join(told["text"]) for line in found.judge(backlash, now).now)
    # with the end plays right as found, the same readings give the shim move at once, as they do in `show`
    for read in ("high_speed_end_play", "low_speed_end_play"):
        low, high = getattr(planned.machine.limits, read)
        crew.write(read, *[f"{(low + high) / 2.0:.4f} mm"] * 3, state="found")
    found = crew.record
    told, backlash = rounds_listing.report(found, now), found.job.latest("backlash", "found")
    assert backlash is not None and told["next"]["adjust"]["move"] is not None
    judgement = found.judge(backlash, now)
    assert all(line in "\n".join(told["text"]) for line in judgement.now)
    if judgement.verdict == "stop":
        assert judgement.now
    move = told["next"]["adjust"]["move"]
    free = {one["name"]: one["to"] for one in move["gaskets"]}
    met = meeting(
        built(
            true,
            {**free, **{gasket: told["next"]["gaskets"].get(gasket, getattr(true.gaskets, gasket).thickness) for gasket in PACKS}},
        )
    )
    low, high = planned.machine.gears.backlash
    assert met.backlash is not None and low <= met.backlash.outer <= high


def test_the_first_round_is_expected_from_as_found_once_the_old_gasket_is_measured(tmp_path: Path) -> None:
    """An old gasket of 0.45 as clamped read 0.14; 0.40 free, a tenth of it given, is 0.36 clamped: 0.09 less."""
    crew = Crew("millrace", tmp_path / "job", found={"high_speed_end_play": ("0.14 mm",) * 3})
    crew.put_in({"high_speed_float_gasket": 0.4})
    crew.write("high_speed_end_play", *["0.05 mm"] * 3)

    def first() -> tuple[int | None, float]:
        one = next(each for each in crew.history()[-1].compared if each.read == "high_speed_end_play")
        return one.basis, one.expected

    assert first()[0] is None
    crew.write("gaskets.high_speed_float_gasket", *["0.45 mm"] * 4, state="found")
    assert first() == (0, pytest.approx(0.14 - 0.09))
    assert [one.number for one in crew.history()] == [0, 1]


def test_readings_at_the_ends_of_what_can_be_read_are_told_of_too(tmp_path: Path) -> None:
    crew = Crew("millrace", tmp_path / "job")
    for gasket, size in (("gear_gasket", 5.0), ("high_speed_float_gasket", 0.05)):
        for play in ("high_speed_end_play", "low_speed_end_play", "trial_backlash", "backlash"):
            crew.write(play, *["5 mm" if size < 1.0 else "0 mm"] * 4)
        crew.write("pattern", "drive 0 %,100 %", "coast hard-heel,hard-low")
        crew.put_in({gasket: size})
    said = list(rounds_listing.lines(crew.record, crew.planned.start_settings()))
    assert "Round 3" in said and "Next move:" in said


def test_the_closing_checks_are_listed_plainly_until_each_is_done(tmp_path: Path) -> None:
    crew = Crew("millrace", tmp_path / "job")
    before_turning(crew.planned, crew.path)
    now = crew.planned.start_settings()
    assert [one.key for one in closing.checks(crew.record, now)] == list(closing.CLOSING)
    assert not any(one.done for one in closing.checks(crew.record, now))
    said = {one.key: one.says for one in closing.checks(crew.record, now)}
    assert (
        "three pushes" in said["high_speed_end_play"] and "four places" in said["backlash"] and "drive and coast" in said["pattern"]
    )
    crew.write("high_speed_end_play", "0.05 mm", "0.05 mm")
    crew.write("low_speed_end_play", *["0.30 mm"] * 3)
    crew.write("backlash", *["0.23 mm"] * 4)
    crew.write("pattern", "drive centre")
    said = {one.key: one.says for one in closing.checks(crew.record, now)}
    assert said["high_speed_end_play"].startswith("2 of 3") and "outside" in said["low_speed_end_play"]
    assert said["pattern"].startswith("one flank only")
    assert any("2 of 3 values" in line for line in record_listing.still_open(crew.record, now))
    crew.put_in({"gear_gasket": 0.5})
    assert "was changed (entry" in {one.key: one.says for one in closing.checks(crew.record, now)}["backlash"]
    before_turning(crew.planned, crew.path)
    crew.write("high_speed_end_play", *["0.05 mm"] * 3)
    crew.write("low_speed_end_play", *["0.05 mm"] * 3)
    crew.write("backlash", *["0.23 mm"] * 4)
    crew.write("pattern", "drive centre", "coast centre")
    assert "accepted by who signs" in {one.key: one.says for one in closing.checks(crew.record, now)}["pattern"]
    crew.write("pattern_accepted", "yes")
    done = {one.key for one in closing.checks(crew.record, now) if one.done}
    assert {"high_speed_end_play", "low_speed_end_play", "backlash", "pattern"} <= done and "turning" not in done


def test_the_history_is_told_in_spanish_too(tmp_path: Path) -> None:
    crew = Crew("slipway", tmp_path / "job")
    crew.rebuild(2)
    with speaking("es"):
        said = "\n".join(rounds_listing.lines(crew.record, crew.planned.start_settings()))
    assert "Ronda 2" in said and "según la ronda 1" in said and "expected" not in said and "Siguiente cambio" in said


def test_no_gasket_is_moved_for_a_reading_that_does_not_count(tmp_path: Path) -> None:
    """Parts 10 K apart: the end play says nothing, nor does the backlash, however far outside their limits they are."""
    crew = Crew("millrace", tmp_path / "job")
    found = crew.record
    for name, values in (
        ("high_speed_end_play", ["0.30 mm"] * 3),
        ("backlash", ["0.60 mm"] * 4),
        ("pattern", ["drive toe", "coast toe"]),
    ):
        read = found.reads[name]
        warm = [] if name == "pattern" else ["21 degC", "31 degC"]
        step = read.steps[0] if read.steps else ""
        record_listing.put(found, record.reading(read, values, "fitting", step=step, initials="AB", temperature=warm))
    proposed = crew.next()
    assert not proposed.gaskets and any("Backlash" in one and "does not count" in one for one in proposed.why)
    said = {one.key: one.says for one in closing.checks(crew.record, crew.planned.start_settings())}
    assert "does not count" in said["high_speed_end_play"] and "does not count" in said["backlash"]


def test_a_reading_that_does_not_count_stays_out_of_its_round_and_says_why(tmp_path: Path) -> None:
    """One round: a backlash at 9 K apart with a dial that is overdue, an end play pushed once; nothing is expected from either."""
    crew = Crew("millrace", tmp_path / "job")
    crew.write("low_speed_end_play", *["0.05 mm"] * 3)
    read = crew.record.reads["backlash"]
    entry = record.reading(
        read, ["0.40 mm"] * 4, "fitting", step=read.steps[0], initials="AB", instrument="dial 7", due="2020-01-31",
        temperature=["21 degC", "30 degC"],
    )  # fmt: skip
    record_listing.put(crew.record, entry)
    crew.write("high_speed_end_play", "0.05 mm")
    last = crew.history()[-1]
    assert set(last.readings) == {"low_speed_end_play"} and set(last.uncounted) == {"backlash", "high_speed_end_play"}
    assert {one.read for one in last.compared} == {"low_speed_end_play"}
    now = crew.planned.start_settings()
    told = [line for line in rounds_listing.lines(crew.record, now) if "compared with nothing. Does not count: " in line]
    backlash, play = sorted(told)
    assert "21 °C and 30 °C" in backlash and "2020-01-31" in backlash and "1 of 3" in play
    assert not any("as expected" in line for line in rounds_listing.lines(crew.record, now) if "Backlash:" in line)
    assert {one["read"] for one in rounds_listing.report(crew.record, now)["rounds"][-1]["uncounted"]} == set(last.uncounted)
    crew.put_in({"pinion_gasket": 0.6})
    crew.write("backlash", *["0.25 mm"] * 4)
    after = next(one for one in crew.history()[-1].compared if one.read == "backlash")
    assert after.basis is None  # not from the reading that does not count


def test_a_gasket_whose_thickness_does_not_count_is_named_and_no_other_is_worked_out_of_it(tmp_path: Path) -> None:
    crew = Crew("millrace", tmp_path / "job")
    read = crew.record.reads["gaskets.high_speed_float_gasket"]
    entry = record.reading(read, ["0.50 mm"] * 4, "fitting", initials="AB", instrument="mike 3", due="2020-01-31")
    record_listing.put(crew.record, entry)
    crew.write("high_speed_end_play", *["0.30 mm"] * 3)
    number = crew.record.job.taken[-2].number
    proposed = crew.next()
    assert not proposed.gaskets and any(f"entry {number} does not count" in line for line in proposed.why)
    said = list(rounds_listing.lines(crew.record, crew.planned.start_settings()))
    assert any(f"entry {number} does NOT count" in line for line in said)
    (row,) = rounds_listing.table(crew.record, crew.planned.start_settings())[-1:]
    assert [one.endswith("(does not count)") for one in row["gaskets"]].count(True) == 1


@pytest.mark.parametrize("change,blind", [(0.04, True), (0.3, False)])
def test_a_change_no_larger_than_what_is_allowed_is_told_to_prove_nothing(change: float, blind: bool, tmp_path: Path) -> None:
    """The gear gasket gives backlash at about half its change; a dial and the gaskets allow more than 0.02 mm, less than 0.1 mm."""
    crew = Crew("millrace", tmp_path / "job")
    crew.read()
    crew.put_in({"gear_gasket": crew.written["gear_gasket"] - change})
    crew.read()
    one = next(each for each in crew.history()[-1].compared if each.read == "backlash")
    assert one.blind is blind and one.verdict == "fine" and crew.history()[-1].verdict == "fine"
    said = [line for line in rounds_listing.lines(crew.record, crew.planned.start_settings()) if "cannot be told" in line]
    assert any("It is inside its limits all the same" in line or "read again before another" in line for line in said) is bool(said)
    assert bool(said) >= blind


def test_what_is_expected_outside_its_limits_is_said_before_it_is_read(tmp_path: Path) -> None:
    """0.05 mm and a gasket thicker by 0.2, a tenth of it given: 0.23 mm expected, 0.10 mm the most."""
    crew = Crew("millrace", tmp_path / "job")
    crew.write("high_speed_end_play", *["0.05 mm"] * 3)
    crew.put_in({"high_speed_float_gasket": crew.written["high_speed_float_gasket"] + 0.2})
    now = crew.planned.start_settings()
    said = [line for line in rounds_listing.lines(crew.record, now) if "What is expected lies outside its limits" in line]
    assert len(said) == 1
    crew.write("high_speed_end_play", *["0.23 mm"] * 3)
    assert not any("What is expected" in line for line in rounds_listing.lines(crew.record, now))


def test_a_position_outside_its_etched_limits_names_the_gasket_that_brings_it_back(tmp_path: Path) -> None:
    """Common practice, no source: mounting distances first, then the mesh. Gasket of 0.50 mm gives a tenth; 0.09 mm too far out; 0.4 from stock."""
    crew = Crew("millrace", tmp_path / "job")
    crew.write("high_speed_end_play", *["0.14 mm"] * 3)
    crew.write("pinion_running", "205.09 mm")
    now = crew.planned.start_settings()
    taken = crew.record.job.latest("pinion_running", "fitting")
    assert taken is not None and "set that first" in " ".join(crew.record.judge(taken, now).now)
    assert set(crew.next().gaskets) == {"high_speed_float_gasket"}
    crew.write("high_speed_end_play", *["0.05 mm"] * 3)
    crew.write("pinion_running", "205.09 mm")
    taken = crew.record.job.latest("pinion_running", "fitting")
    assert taken is not None and "From stock: 1 x 0.400 mm. It gives about 205.000 mm" in " ".join(
        crew.record.judge(taken, now).now
    )
    assert crew.next().gaskets == pytest.approx({"pinion_gasket": 0.4})
