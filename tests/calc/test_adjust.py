"""Shim moves from readings: displaced pairs that are read as a fitter reads them come back within limits."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calc.adjust import Adjustment, Pack, adjust
from calc.backlash import mesh_rates
from calc.bevel import Blank
from calc.contact import contact, end_play_rates
from calc.diagnosis import CHI_SQUARE_95, Target, best_state, diagnose, state
from calc.flank import EaseOff, Errors
from calc.readings import ALONG_FACE, OVER_DEPTH, Mark, Reading, set_value
from tests.calc.bevel_pairs import INCH, INCH_SPIRAL, SLIPWAY, SPIRAL, STRAIGHT, ZEROL

LEAVES = (0.05, 0.10, 0.20, 0.25, 0.50)
PINION_PACK, GEAR_PACK = Pack(0.50, LEAVES, 1, 0.10), Pack(0.50, LEAVES, -1, 0.10)
PACKS = (PINION_PACK, GEAR_PACK)
INCH_LEAVES = tuple(size * INCH for size in (0.002, 0.004, 0.010, 0.020))
INCH_PACKS = (Pack(0.020 * INCH, INCH_LEAVES, 1), Pack(0.020 * INCH, INCH_LEAVES, -1))
FORMS = {"spiral": (SPIRAL, PACKS), "spiral inch": (INCH_SPIRAL, INCH_PACKS), "straight inch": (STRAIGHT, INCH_PACKS),
         "straight small inch": (SLIPWAY, INCH_PACKS), "zerol": (ZEROL, PACKS)}  # fmt: skip
each_form = pytest.mark.parametrize(("made", "packs"), FORMS.values(), ids=FORMS.keys())
SPIRALS = {name: FORMS[name] for name in ("spiral", "spiral inch")}


def target(made: Blank) -> Target:
    """Limits about the design backlash, as wide as makers print them."""
    return Target((0.8 * made.backlash, 1.3 * made.backlash))


def called(percent: float, classes: dict[str, float]) -> str:
    return min(classes, key=lambda name: abs(classes[name] - percent))


def read(made: Blank, errors: Errors, *, classes: bool = True) -> Reading:
    """What a fitter writes down: backlash to 0.01 mm, patterns by class or to 5 %."""
    found = contact(made, displacement=errors)
    assert found.backlash is not None and found.drive is not None and found.coast is not None
    marks = []
    for flank in (found.drive.pattern, found.coast.pattern):
        along, over = flank.centre_along, flank.centre_depth
        if classes:
            marks.append(Mark(called(along, dict(ALONG_FACE)), called(over, dict(OVER_DEPTH))))
        else:
            marks.append(Mark(5.0 * round(along / 5.0), 5.0 * round(over / 5.0)))
    return Reading(round(found.backlash.outer, 2), *marks)


def moved(errors: Errors, packs: tuple[Pack, Pack], found: Adjustment) -> Errors:
    """Where the real pair sits once the move is made."""
    return Errors(errors.pinion + packs[0].shift(found.move.pinion), errors.gear + packs[1].shift(found.move.gear))


# Round trips -------------------------------------------------------------------------------------------------------------------


@each_form
@pytest.mark.parametrize("classes", [True, False], ids=["classes", "percent"])
@pytest.mark.parametrize("place", [(0.15, 0.1), (-0.15, 0.15), (0.15, -0.05), (-0.1, 0.2), (0.0, 0.2), (0.2, 0.0)])
def test_a_displaced_pair_is_read_moved_and_back_within_limits(
    made: Blank, packs: tuple[Pack, Pack], classes: bool, place: tuple[float, float]
) -> None:
    errors, wanted = Errors(*place), target(made)
    found = adjust(made, [read(made, errors, classes=classes)], wanted, packs)
    assert found.diagnosis.explained and found.diagnosis.causes == ()
    after = contact(made, displacement=moved(errors, packs, found))
    assert after.state == "ok" and after.backlash is not None and after.drive is not None and after.coast is not None
    assert found.move.in_band
    assert wanted.band[0] <= after.backlash.outer <= wanted.band[1]
    # the dial to 0.01 mm, and the computed change
    assert after.backlash.outer == pytest.approx(found.move.backlash, abs=0.02)
    for side in (after.drive, after.coast):
        assert side.pattern.centre_along == pytest.approx(50.0, abs=15.0)
        assert side.pattern.centre_depth == pytest.approx(50.0, abs=20.0)
    for got, true, sigma in zip(
        (found.diagnosis.displacement.pinion, found.diagnosis.displacement.gear), place, found.diagnosis.sigma, strict=True
    ):
        assert abs(got - true) < 4.0 * sigma


@pytest.mark.parametrize(("made", "packs"), SPIRALS.values(), ids=SPIRALS.keys())
@settings(max_examples=8, deadline=None)
@given(pinion=st.floats(-0.15, 0.2), gear=st.floats(-0.05, 0.2))
def test_two_rounds_end_with_no_move_needed_or_a_set_in_its_band(
    made: Blank, packs: tuple[Pack, Pack], pinion: float, gear: float
) -> None:
    errors, wanted = Errors(pinion, gear), target(made)
    if state(contact(made, displacement=errors))[0] < 0.01:
        return  # so tight that no dial reads it
    for _ in range(2):
        found = adjust(made, [read(made, errors)], wanted, packs)
        errors = moved(errors, packs, found)
        packs = (
            Pack(found.move.pinion, packs[0].stock, packs[0].sign, packs[0].compression),
            Pack(found.move.gear, packs[1].stock, packs[1].sign, packs[1].compression),
        )
    play = float(state(contact(made, displacement=errors))[0])
    assert wanted.band[0] <= play <= wanted.band[1]


@pytest.mark.parametrize(("made", "packs"), SPIRALS.values(), ids=SPIRALS.keys())
def test_exact_readings_give_the_place_back(made: Blank, packs: tuple[Pack, Pack]) -> None:
    errors = Errors(0.08, 0.06)
    figures = state(contact(made, displacement=errors))
    exact = Reading(float(figures[0]), Mark(float(figures[1]), float(figures[2]), 0.5), Mark(float(figures[3]), float(figures[4]), 0.5),
                    sigma=0.002)  # fmt: skip
    found = diagnose(made, [exact])
    assert (found.displacement.pinion, found.displacement.gear) == pytest.approx((0.08, 0.06), abs=0.004)
    assert found.chi_square < 0.5


def test_a_better_reading_tells_the_place_closer() -> None:
    figures = state(contact(SPIRAL, displacement=Errors(0.05, 0.05)))
    marks = [(float(figures[1]), float(figures[2])), (float(figures[3]), float(figures[4]))]
    sigmas = [
        diagnose(SPIRAL, [Reading(float(figures[0]), *(Mark(*mark, error) for mark in marks))]).sigma for error in (3.0, 7.0, 15.0)
    ]
    assert sigmas[0] < sigmas[1] < sigmas[2]


def test_a_straight_pinion_too_deep_is_told_with_its_doubt() -> None:
    # a low pattern of straight teeth stops moving: the reading can't tell how deep the pinion sits, and says so
    deep, high = (diagnose(STRAIGHT, [read(STRAIGHT, Errors(*place), classes=False)]) for place in ((-0.15, 0.15), (0.05, 0.0)))
    assert deep.sigma[0] > 0.045
    assert abs(deep.displacement.pinion + 0.15) < 4.0 * deep.sigma[0]
    assert abs(high.displacement.pinion - 0.05) < 3.0 * high.sigma[0]


# Directions --------------------------------------------------------------------------------------------------------------------


def test_a_pinion_that_sits_out_is_brought_in_and_one_that_sits_deep_out() -> None:
    # common practice, no source: tip and heel on drive, toe on coast: pinion too far out; root and toe, heel: too far in
    design = SPIRAL.backlash
    out = adjust(SPIRAL, [Reading(design, Mark("heel", "high"), Mark("toe", "high"))], target(SPIRAL), PACKS)
    deep = adjust(SPIRAL, [Reading(design, Mark("toe", "low"), Mark("heel", "low"))], target(SPIRAL), PACKS)
    assert out.diagnosis.displacement.pinion > 0.05 and out.move.changes[0] < 0.0
    assert deep.diagnosis.displacement.pinion < -0.05 and deep.move.changes[0] > 0.0


@pytest.mark.parametrize(("seen", "backlash", "way"), [("toe", 0.10, 1.0), ("heel", 0.32, -1.0)])
def test_a_toe_bearing_moves_the_gear_away_and_a_heel_bearing_closer(seen: str, backlash: float, way: float) -> None:
    # TM 10-3930-653-14&P page 4-181: toe bearing, gear too close, small backlash; heel bearing, gear too far, large backlash
    found = adjust(SPIRAL, [Reading(backlash, Mark(seen), Mark(seen))], target(SPIRAL), PACKS)
    shift = GEAR_PACK.shift(found.move.gear)
    assert shift * way > 0.0
    # this gear's pack is thickened to bring it closer
    assert found.move.changes[1] * way < 0.0


def test_thicker_packs_move_the_members_the_way_their_sign_says() -> None:
    assert Pack(0.5, LEAVES, 1, 0.10).shift(0.6) == pytest.approx(0.09)
    assert Pack(0.5, LEAVES, -1, 0.10).shift(0.6) == pytest.approx(-0.09)
    for sign in (1, -1):
        pack = Pack(0.5, LEAVES, sign, 0.10)
        assert pack.shift(pack.thickness_for(0.123)) == pytest.approx(0.123, abs=1e-12)


# Best state and moves ----------------------------------------------------------------------------------------------------------


@each_form
def test_the_best_state_reads_in_the_middle_third_of_the_band(made: Blank, packs: tuple[Pack, Pack]) -> None:
    wanted = target(made)
    best = best_state(made, wanted)
    play = float(state(contact(made, displacement=best))[0])
    middle, half = sum(wanted.band) / 2.0, (wanted.band[1] - wanted.band[0]) / 2.0
    assert abs(play - middle) < half / 3.0
    # no neighbour reads better by what is asked for
    costs = []
    for step in ((0.0, 0.0), (0.02, 0.0), (-0.02, 0.0), (0.0, 0.02), (0.0, -0.02)):
        figures = state(contact(made, displacement=Errors(best.pinion + step[0], best.gear + step[1])))
        costs.append(float((((figures - wanted.figures) / wanted.sigma) ** 2).sum()))
    assert min(costs) == costs[0]


@each_form
def test_moves_are_whole_shims_from_stock_and_the_first_is_the_best(made: Blank, packs: tuple[Pack, Pack]) -> None:
    found = adjust(made, [read(made, Errors(0.15, 0.1))], target(made), packs)
    assert found.second is not None
    for move in (found.move, found.second):
        for pack, thickness, change, leaves in zip(packs, (move.pinion, move.gear), move.changes, move.leaves, strict=True):
            assert thickness - pack.thickness == pytest.approx(change, abs=1e-6)
            if change:
                assert sum(size * count for size, count in leaves) == pytest.approx(thickness, abs=1e-6)
                assert all(min(abs(size - held) for held in pack.stock) < 1e-6 for size, _ in leaves)
    first, second = found.move, found.second
    assert (not first.in_band, first.score) <= (not second.in_band, second.score)
    assert (first.pinion, first.gear) != (second.pinion, second.gear)


def test_no_other_whole_shim_move_scores_better() -> None:
    packs = (Pack(0.5, (0.1, 0.25, 0.4), 1, 0.1, 3), Pack(0.5, (0.1, 0.25, 0.4), -1, 0.1, 3))
    wanted, reading = target(SPIRAL), read(SPIRAL, Errors(0.12, 0.08))
    found = adjust(SPIRAL, [reading], wanted, packs)
    here, now = found.diagnosis.displacement, state(found.present)
    assert reading.backlash is not None
    for p in packs[0].totals():
        for g in packs[1].totals():
            there = Errors(here.pinion + packs[0].shift(float(p)), here.gear + packs[1].shift(float(g)))
            if max(abs(there.pinion), abs(there.gear)) > 0.3:
                continue
            figures = state(contact(SPIRAL, displacement=there))
            figures[0] += reading.backlash - now[0]
            opened = int(abs(p - 0.5) > 1e-9) + int(abs(g - 0.5) > 1e-9)
            score = float((((figures - wanted.figures) / wanted.sigma) ** 2).sum()) + opened
            if wanted.band[0] <= figures[0] <= wanted.band[1]:
                assert score >= found.move.score - 1e-6


@each_form
def test_a_set_that_reads_well_is_left_alone(made: Blank, packs: tuple[Pack, Pack]) -> None:
    best = best_state(made, target(made))
    found = adjust(made, [read(made, best, classes=False)], target(made), packs)
    assert found.move.changes == (0.0, 0.0) and found.move.packs_changed == 0
    assert "no_move_needed" in found.remarks


def test_the_predicted_reading_is_the_reading_and_the_computed_change() -> None:
    reading = Reading(0.30, Mark("heel"), Mark("heel"))
    found = adjust(SPIRAL, [reading], target(SPIRAL), PACKS)
    change = float(state(found.move.contact)[0] - state(found.present)[0])
    assert found.move.backlash == pytest.approx(0.30 + change, abs=1e-12)
    rates = mesh_rates(SPIRAL)
    shifts = (PINION_PACK.shift(found.move.pinion), GEAR_PACK.shift(found.move.gear))
    assert change == pytest.approx(rates.change(*shifts), abs=0.02)


def test_coarse_stock_that_reaches_no_move_in_the_band_says_so() -> None:
    coarse = (Pack(0.5, (0.5,), 1), Pack(0.5, (0.5,), -1))
    found = adjust(SPIRAL, [Reading(0.40, Mark("heel"), Mark("heel"))], Target((0.15, 0.25)), coarse)
    assert not found.move.in_band and "no_move_in_band" in found.remarks


# What shims don't explain ------------------------------------------------------------------------------------------------------


def test_mixed_up_flanks_are_flagged() -> None:
    for place in ((0.2, -0.1), (-0.2, 0.15)):
        right = read(SPIRAL, Errors(*place), classes=False)
        mixed = Reading(right.backlash, right.coast, right.drive)
        assert diagnose(SPIRAL, [right]).explained
        found = diagnose(SPIRAL, [mixed])
        assert found.chi_square > CHI_SQUARE_95[4] and not found.explained
        assert found.causes[0] == "flanks_swapped"
        assert "shims_do_not_explain" in adjust(SPIRAL, [mixed], target(SPIRAL), PACKS).remarks


def test_end_play_left_in_the_reading_is_named_and_can_be_taken_off() -> None:
    true = read(SPIRAL, Errors(0.0, 0.0), classes=False)
    assert true.backlash is not None
    play = 0.35
    loose = Reading(true.backlash + play * sum(end_play_rates(SPIRAL)), true.drive, true.coast)
    unheld = diagnose(SPIRAL, [loose])
    assert not unheld.explained and "end_play_in_reading" in unheld.causes
    found = adjust(SPIRAL, [loose], target(SPIRAL), PACKS, end_play=play)
    assert found.diagnosis.explained and found.read.backlash == pytest.approx(true.backlash, abs=1e-9)
    assert found.end_play_in_reading == pytest.approx(play * sum(end_play_rates(SPIRAL)))
    assert found.diagnosis.displacement.gear == pytest.approx(0.0, abs=0.06)


def test_axes_out_of_true_are_named() -> None:
    crossed = read(SPIRAL, Errors(0.0, 0.0, 0.25), classes=False)
    found = diagnose(SPIRAL, [crossed])
    assert not found.explained and "axes_out_of_true" in found.causes
    known = diagnose(SPIRAL, [crossed], expected=Errors(offset=0.25))
    assert known.explained


def test_a_pair_that_nothing_explains_may_not_belong_together() -> None:
    odd = Reading(0.60, Mark("hard_toe", "hard_high"), Mark("hard_toe", "hard_low"))
    found = diagnose(SPIRAL, [odd])
    assert not found.explained and found.causes[-1] == "pair_not_matched"


def test_fewer_readings_are_held_against_their_own_limit() -> None:
    assert diagnose(SPIRAL, [Reading(0.30)]).limit == CHI_SQUARE_95[0]
    assert diagnose(SPIRAL, [Reading(0.30, Mark("heel"))]).limit == CHI_SQUARE_95[2]
    # a dial alone can't tell pinion from gear: both share the change, and the doubt is nearly what it was
    alone = diagnose(SPIRAL, [Reading(0.30)])
    assert max(alone.sigma) > 0.2 and abs(alone.correlation) > 0.5


def test_the_other_driving_flank_and_its_own_ease_off_are_used() -> None:
    drive, coast = EaseOff(20.0, 10.0), EaseOff(40.0, 20.0)
    usual = best_state(SPIRAL, target(SPIRAL), ease_off=drive, coast_ease_off=coast)
    other = best_state(SPIRAL, target(SPIRAL), ease_off=drive, coast_ease_off=coast, drive="convex")
    assert (usual.pinion, usual.gear) != pytest.approx((other.pinion, other.gear), abs=1e-3)


# Readings round the gear -------------------------------------------------------------------------------------------------------


@settings(max_examples=30, deadline=None)
@given(mean=st.floats(0.1, 0.4), swing=st.floats(0.0, 0.05), at=st.floats(0.0, 6.28), places=st.integers(3, 12))
def test_runout_comes_apart_from_the_set_value(mean: float, swing: float, at: float, places: int) -> None:
    turns = np.arange(places) * (2.0 * math.pi / places)
    readings = [Reading(mean - swing * math.cos(turn - at), turn=float(turn)) for turn in turns]
    found = set_value(readings)
    assert found.backlash == pytest.approx(mean, abs=1e-9) and found.runout == pytest.approx(2.0 * swing, abs=1e-9)
    assert found.scatter < 1e-9
    assert found.sigma == pytest.approx(0.025 / math.sqrt(places), rel=1e-9)
    if swing > 1e-3 and found.tightest_at is not None:
        assert math.cos(found.tightest_at - at) == pytest.approx(1.0, abs=1e-9)


def test_runout_is_kept_within_the_band_all_round() -> None:
    base = read(SPIRAL, Errors(0.1, 0.1), classes=False)
    assert base.backlash is not None
    turns = [k * math.pi / 2.0 for k in range(4)]
    readings = [Reading(base.backlash + 0.03 * math.cos(turn), base.drive, base.coast, turn) for turn in turns]
    found = adjust(SPIRAL, readings, Target((0.15, 0.25)), PACKS)
    low, high = found.move.backlash_round
    assert high - low == pytest.approx(0.06, abs=1e-9) and found.move.in_band
    assert 0.15 <= low < high <= 0.25 + 1e-6
    wide = [Reading(base.backlash + 0.06 * math.cos(turn), base.drive, base.coast, turn) for turn in turns]
    assert "runout_exceeds_band" in adjust(SPIRAL, wide, Target((0.15, 0.25)), PACKS).remarks


def test_too_few_or_bunched_places_tell_no_runout() -> None:
    two = set_value([Reading(0.20, turn=0.0), Reading(0.24, turn=math.pi)])
    assert two.runout is None and two.backlash == pytest.approx(0.22) and two.scatter == pytest.approx(0.02)
    bunched = set_value([Reading(0.20, turn=0.0), Reading(0.21, turn=0.05), Reading(0.22, turn=0.1)])
    assert bunched.runout is None
    unplaced = set_value([Reading(0.20), Reading(0.21), Reading(0.22), Reading(0.21)])
    assert unplaced.runout is None and unplaced.backlash == pytest.approx(0.21)


def test_marks_at_several_places_are_averaged() -> None:
    found = set_value([Reading(0.2, Mark("toe"), Mark(40.0, 60.0)), Reading(0.2, Mark("heel"), None)])
    assert found.drive is not None and found.coast is not None
    assert found.drive.centre == pytest.approx((50.0, 50.0)) and found.drive.sigma == pytest.approx(7.0 / math.sqrt(2.0))
    assert found.coast.centre == (40.0, 60.0)


# Limits ------------------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: Mark("middle"), r"mark along face: middle: accepted: hard_toe, toe, centred, heel, hard_heel, or 0 to 100 %"),
        (lambda: Mark(50.0, 101.0), r"mark over depth: 101\.0: accepted"),
        (lambda: Mark(sigma=0.0), r"mark sigma: 0\.0 %: accepted: above 0 %"),
        (lambda: Reading(-0.1), r"backlash: -0\.1 mm: accepted: 0 to 5 mm"),
        (lambda: Reading(math.nan), r"backlash: nan mm: accepted"),
        (lambda: Reading(0.2, sigma=0.0), r"backlash sigma: 0\.0 mm: accepted"),
        (lambda: Reading(0.2, turn=math.inf), r"turn: inf rad: accepted"),
        (lambda: set_value([]), r"readings: none: accepted: one or more"),
        (lambda: set_value([Reading()]), r"readings: nothing read: accepted"),
        (lambda: Pack(-0.1, LEAVES), r"pack thickness: -0\.1 mm: accepted"),
        (lambda: Pack(0.5, LEAVES, 0), r"pack sign: 0: accepted: \+1, -1"),
        (lambda: Pack(0.5, LEAVES, 1, 1.0), r"pack compression: 1\.0: accepted"),
        (lambda: Pack(0.5, (0.0,)), r"pack stock: \(0\.0,\): accepted"),
        (lambda: Pack(0.5, LEAVES, most_leaves=13), r"pack leaves: 13: accepted: 1 to 12"),
        (lambda: Target((0.3, 0.2)), r"backlash band: 0\.3 to 0\.2 mm: accepted"),
        (lambda: Target((0.1, 0.2), (120.0, 50.0)), r"drive pattern: \(120\.0, 50\.0\): accepted: 0 to 100 %"),
        (lambda: adjust(SPIRAL, [Reading(0.2)], Target((0.1, 0.2)), PACKS, end_play=1.5), r"end play: 1\.5 mm: accepted: 0 to 1 mm"),
    ],
)  # fmt: skip
def test_what_is_out_of_range_is_refused_by_name(make: object, message: str) -> None:
    assert callable(make)
    with pytest.raises(ValueError, match=message):
        make()


@pytest.mark.parametrize("stock", [(0.2,), (0.3,), (0.15, 0.4)])
def test_a_stack_inside_the_band_is_found_whenever_the_stock_makes_one(stock: tuple[float, ...]) -> None:
    """Compared with computing every pair of stacks that the stock makes."""
    pair = STRAIGHT
    packs = (Pack(0.6, stock, 1), Pack(0.6, stock, -1))
    readings, target = (
        [Reading(contact(pair).backlash.outer + 0.2, drive=Mark("toe", "low"))],
        Target((contact(pair).backlash.outer - 0.05, contact(pair).backlash.outer + 0.05)),
    )
    found = adjust(pair, readings, target, packs)
    here, now = found.diagnosis.displacement, found.present.backlash
    assert now is not None and found.read.backlash is not None
    made = []
    for one in packs[0].totals():
        for two in packs[1].totals():
            there = Errors(here.pinion + packs[0].shift(float(one)), here.gear + packs[1].shift(float(two)))
            if max(abs(there.pinion), abs(there.gear)) <= 0.6:
                after = contact(pair, displacement=there).backlash
                made.append(after is not None and target.band[0] <= found.read.backlash + after.outer - now.outer <= target.band[1])
    assert found.move.in_band == any(made)
