"""Readings into shim moves: round trips on both machines, what a move costs, what no shim can do."""

from __future__ import annotations

import copy
import math
import re
import tomllib
from dataclasses import replace
from functools import cache
from importlib.resources import files
from itertools import product
from typing import Any

import pytest

from calc.bevel import GEAR
from calc.flank import Errors
from calc.readings import Mark
from geometry.machine import accept
from geometry.reducer import Reducer
from scenes import adjusting, adjusting_listing
from scenes.adjusting import Read
from scenes.dismantling import to_reach
from scenes.examples import EXAMPLES, open_machine
from scenes.explain import Explainer
from scenes.tooth_contact import displacement, meeting


@cache
def explainer(name: str) -> Explainer:
    return Explainer(*open_machine(name))


def reducer(name: str) -> Reducer:
    return explainer(name).reducer(explainer(name).start_settings())


def simulated(built: Reducer, shift: Errors, **more: Any) -> Read:
    """What a fitter would read on the pair at these shifts, to a hundredth of a millimetre and five percent."""
    met = meeting(built, shift)
    assert met.backlash is not None and met.drive is not None and met.coast is not None
    marks = [
        Mark(5.0 * round(flank.pattern.centre_along / 5.0), 5.0 * round(flank.pattern.centre_depth / 5.0))
        for flank in (met.drive, met.coast)
    ]
    return Read((round(met.backlash.outer, 2),), drive=marks[0], coast=marks[1], **more)


# Far enough to be wrong, near enough to leave some backlash; not so far that the stock can't bring it back.
CASES = [case for case in product((-0.15, 0.0, 0.15), (-0.1, 0.0, 0.15)) if case != (-0.15, -0.1)]


@pytest.mark.parametrize("name", EXAMPLES)
@pytest.mark.parametrize(("pinion", "gear"), CASES)
def test_the_recommended_stock_brings_a_displaced_pair_inside_its_limits(name: str, pinion: float, gear: float) -> None:
    built = reducer(name)
    nominal = displacement(built)
    true = Errors(pinion=nominal.pinion + pinion, gear=nominal.gear + gear)
    found = adjusting.answer(built, explainer(name).procedure, simulated(built, true)).found
    # The move is applied to the true place, not to the diagnosed one; the pair is then met anew.
    packs = adjusting.packs(built)
    after = Errors(
        pinion=true.pinion + packs[0].shift(found.move.pinion), gear=true.gear + packs[1].shift(found.move.gear)
    )  # fmt: skip
    met = meeting(built, after)
    low, high = built.machine.gears.backlash
    assert met.backlash is not None and low <= met.backlash.outer <= high, (met.backlash, found.move.changes)
    for new, pack in ((found.move.pinion, packs[0]), (found.move.gear, packs[1])):
        assert new == pack.thickness or any(math.isclose(new, total, abs_tol=1e-6) for total in pack.totals())


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_pair_that_is_right_is_left_alone(name: str) -> None:
    built = reducer(name)
    found = adjusting.answer(built, explainer(name).procedure, simulated(built, displacement(built)))
    assert found.possible and found.found.move.packs_changed == 0 and "no_move_needed" in found.found.remarks


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_gear_set_too_far_is_brought_nearer_by_a_thicker_gear_gasket(name: str) -> None:
    # TM 10-3930-653-14&P, page 4-181: heel bearing, large backlash: gear set too far.
    built = reducer(name)
    high = built.machine.gears.backlash[1]
    read = Read((high + 0.05,), drive=Mark("heel", "centred"), coast=Mark("heel", "centred"))
    found = adjusting.answer(built, explainer(name).procedure, read).found
    assert found.diagnosis.displacement.gear > 0.03
    assert found.move.gear >= adjusting.packs(built)[1].thickness
    assert found.move.backlash < read.dial[0]


def test_a_dial_nearer_the_axis_reads_less() -> None:
    # Arc geometry: reading / radius of the stem = backlash / pitch radius.
    built = reducer("millrace")
    pitch = built.blank.outer_diameters[GEAR] / 2.0
    near = adjusting.answer(built, explainer("millrace").procedure, Read((0.1,), at_radius=pitch / 2.0))
    assert near.at_pitch_circle[0] == pytest.approx(0.2)


def test_end_play_left_in_is_taken_off_a_spiral_pair_and_costs_a_straight_one_nothing() -> None:
    # Rocking the gear of a spiral pair pushes the pinion out on drive and in on coast; on straight teeth it is pushed out both ways and
    # stands on its running stop in both readings.
    for name, adds in (("millrace", 0.5), ("slipway", 0.0)):
        built = reducer(name)
        assert adjusting.over_running_stop(built, 0.1) / 0.1 == pytest.approx(adds, abs=0.1)
        held, loose = (
            adjusting.answer(built, explainer(name).procedure, Read((0.25,), end_play=play)).found.read.backlash
            for play in (None, 0.1)
        )
        assert held is not None and loose is not None
        assert held - loose == pytest.approx(adjusting.over_running_stop(built, 0.1))


def test_runout_is_told_apart_from_the_set_value() -> None:
    # Three places of j0 + a cos w at 0, 120, 240 degrees: j0 = mean, runout 2 a.
    built = reducer("millrace")
    read = Read(tuple(0.25 + 0.03 * math.cos(2.0 * math.pi * k / 3.0) for k in range(3)))
    found = adjusting.answer(built, explainer("millrace").procedure, read).found
    assert found.read.backlash == pytest.approx(0.25) and found.read.runout == pytest.approx(0.06)
    wide = Read(tuple(0.25 + 0.1 * math.cos(2.0 * math.pi * k / 3.0) for k in range(3)))
    answer = adjusting.answer(built, explainer("millrace").procedure, wide)
    assert not answer.possible and "runout_exceeds_band" in answer.found.remarks


def test_what_no_shim_explains_is_said_with_its_causes() -> None:
    # Toe on both flanks asks for a gear set too near; a backlash twice too large contradicts it.
    built = reducer("millrace")
    given = (adjusting.answer(built, explainer("millrace").procedure, Read((0.55,), drive=Mark("toe", "centred"), coast=Mark("toe", "centred"))), built, explainer("millrace").procedure, "x", "mm")  # fmt: skip
    report = adjusting_listing.report(*given)
    assert report["verdict"] == "stop" and not report["possible"] and report["diagnosis"]["causes"]
    said = "\n".join(report["text"])
    assert "No shim can do this." in said and "The dial reads high" in said and "Recommended move" not in said


def test_the_pinion_gasket_costs_its_screws_and_the_gear_gasket_the_pair() -> None:
    # Truth of the bench: with a case bore larger than the pinion's tip the cartridge is drawn out, the case stays closed.
    built, procedure = reducer("millrace"), explainer("millrace").procedure
    pinion, gear = to_reach(built, procedure, "pinion_gasket"), to_reach(built, procedure, "gear_gasket")
    assert pinion.way == "drawn_out" and pinion.parts == ("cartridge_screw",) and pinion.bore > pinion.tip
    assert {"pinion_gasket", "cartridge_in", "cartridge_screws", "cartridge_draw_in", "backlash", "pattern"} <= set(pinion.steps)
    assert pinion.renew == ("pinion_gasket",)
    assert {"gear_gasket", "low_speed_float_gasket", "low_speed_seal", "low_speed_tab_washer"} <= set(gear.renew)
    assert gear.way == "lifted_off" and gear.parts[0] == "low_speed_coupling_key" and gear.parts[-1] == "low_speed_cartridge"
    assert {"low_speed_seal", "low_speed_bearing_1", "low_speed_bearing_2", "low_speed_locknut"} <= set(gear.parts)
    assert gear.tight == ("low_speed_bearing_2", "low_speed_bearing_1") and gear.supports == ("packer",)
    # The seal in the cover does not pass over the coupling's key.
    float_gasket = to_reach(built, procedure, "high_speed_float_gasket")
    assert float_gasket.parts == ("high_speed_coupling_key", "high_speed_cover_screw", "high_speed_cover")


def test_a_bore_smaller_than_the_pinion_opens_the_case() -> None:
    built = reducer("millrace")
    wide = replace(built, blank=replace(built.blank, tip_diameters=(170.0, built.blank.tip_diameters[GEAR])))
    cost = to_reach(wide, explainer("millrace").procedure, "pinion_gasket")
    assert cost.way == "case_opened" and {"upper_case", "split_screw", "dowel"} <= set(cost.parts)


def test_what_a_move_costs_follows_the_order_of_the_job() -> None:
    built, procedure = reducer("slipway"), explainer("slipway").procedure
    cost = to_reach(built, procedure, "gear_gasket")
    numbers = [procedure.steps[name].number for name in cost.steps]
    assert numbers == sorted(numbers) and numbers[0] == procedure.steps["gear_gasket"].number
    assert {"ls_tab", "packers_out"} <= set(cost.steps)


def test_end_play_outside_its_limits_is_said_before_any_shim() -> None:
    data = copy.deepcopy(tomllib.loads(files("scenes").joinpath("machines", "millrace.toml").read_text(encoding="utf-8")))
    data["gaskets"]["high_speed_float_gasket"]["thickness"] = "0.60 mm"
    made = Explainer(accept(data))
    built = made.reducer(made.start_settings())
    said = "\n".join(
        adjusting_listing.lines(
            adjusting.answer(built, made.procedure, Read((0.33,), drive=Mark("heel"))), built, made.procedure, "x", "mm"
        )
    )
    assert "set it first" in said


@pytest.mark.parametrize(("units", "foreign"), [("inch", r"\d mm\b"), ("mm", r"\d in\b")])
def test_the_answer_speaks_one_unit_system(units: Any, foreign: str) -> None:
    for name in EXAMPLES:
        built, procedure = reducer(name), explainer(name).procedure
        for read in (
            Read((0.35, 0.36, 0.34), at_radius=150.0, drive=Mark("heel", "low"), coast=Mark("heel"), end_play=0.03),
            Read((0.6,), drive=Mark("toe", "low"), coast=Mark("toe")),
        ):
            lines = "\n".join(adjusting_listing.lines(adjusting.answer(built, procedure, read), built, procedure, name, units))
            assert re.search(foreign, lines) is None, lines


def told(name: str, read: Read, **gaskets: float) -> tuple[adjusting.Answer, str]:
    made = explainer(name)
    built = made.reducer(made.with_(made.start_settings(), gaskets=gaskets))
    found = adjusting.answer(built, made.procedure, read)
    return found, "\n".join(adjusting_listing.lines(found, built, made.procedure, name, "mm"))


@pytest.mark.parametrize(
    ("name", "read", "gaskets", "key"),
    [
        ("slipway", Read((0.23,), drive=Mark("toe"), coast=Mark("heel")), {}, "crossed_marks"),
        ("millrace", Read((0.0,), drive=Mark("hard_toe"), coast=Mark("hard_toe")), {}, "no_backlash"),
        ("millrace", Read((0.29,)), {}, "not_enough_read"),
        ("millrace", Read(drive=Mark("toe", "low")), {}, "not_enough_read"),
        ("millrace", Read((0.23,), drive=Mark()), {"high_speed_float_gasket": 0.4}, "cover_clamps"),
    ],
)
def test_no_move_is_named_before_what_must_be_done_first(name: str, read: Read, gaskets: dict[str, float], key: str) -> None:
    # Truths of the bench: straight teeth marked at opposite ends are no matter of shims; zero backlash is no measure of a jam; a clamped
    # bearing comes first; one reading alone does not say which member to move. Common practice, no source.
    found, said = told(name, read, **gaskets)
    assert key in found.gates and not found.possible
    assert "Recommended" not in said and "Second best" not in said


def test_a_mark_is_expected_where_it_was_read_when_nothing_moves() -> None:
    found, _ = told("millrace", Read((0.23,), drive=Mark(60.0, 45.0), coast=Mark(58.0, 52.0)))
    stay = replace(found.found.move, contact=found.found.present)
    for mark, read in zip(adjusting.expected_marks(found, stay), ((60.0, 45.0), (58.0, 52.0)), strict=True):
        assert mark == pytest.approx(read)


def test_a_member_beyond_the_search_gets_no_move() -> None:
    found, said = told("millrace", Read((0.438,), drive=Mark(72.0, 89.0), coast=Mark(38.0, 90.0)), pinion_gasket=1.6)
    assert "far_by_the_chains" in found.gates and not found.possible and "Recommended" not in said


def test_more_end_play_than_was_read_is_refused() -> None:
    with pytest.raises(ValueError, match="more than was read"):
        told("millrace", Read((0.1,), drive=Mark(), end_play=0.9))


def test_a_place_that_a_move_leaves_outside_its_limits_is_said_beside_the_move() -> None:
    """Limits of the machine file: 205.000 mm +/- 0.050 mm for the running pinion. The second move leaves it at the foot of them."""
    built, procedure = reducer("millrace"), explainer("millrace").procedure
    answer = adjusting.answer(built, procedure, Read((0.36,), drive=Mark("heel", "centred"), coast=Mark("heel", "centred")))
    assert answer.found.second is not None
    places = [answer.after(built, move).pinion_running for move in (answer.found.move, answer.found.second)]
    said = [line for line in adjusting_listing.lines(answer, built, procedure, "x", "mm") if "mounting distance." in line]
    assert ["(outside 204.950 mm to 205.050 mm)" in line for line in said] == [not 204.95 <= at <= 205.05 for at in places]
    assert places[1] < 204.95
