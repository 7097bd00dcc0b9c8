"""Tooth flanks and the gap function against reference points, closed forms and symmetries."""

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calc import flank
from calc.backlash import mesh_rates
from calc.bevel import GEAR, PINION, Blank, blank

POINTS = Path(__file__).parents[1] / "data" / "mesh" / "points_A_14x41_spiral35.csv"
INCH = 25.4


def pair_a(hand: str = "left") -> Blank:
    return blank(14, 41, 6.0, face_width=38.0, pressure_angle=math.radians(20), spiral_angle=math.radians(35), hand=hand,
                 cutter_radius=150.0, backlash=0.2)  # type: ignore[arg-type]  # fmt: skip


A = pair_a()
STRAIGHT = blank(16, 40, INCH / 3.0, face_width=2.25 * INCH, pressure_angle=math.radians(20), backlash=0.25)
ZEROL = blank(17, 43, 5.0, face_width=28.0, pressure_angle=math.radians(20), hand="right", backlash=0.15)
OBLIQUE = blank(15, 31, 4.0, face_width=17.0, pressure_angle=math.radians(22.5), spiral_angle=math.radians(30), hand="right",
                shaft_angle=math.radians(75), backlash=0.12)  # fmt: skip
PAIRS = {"spiral left": A, "spiral right": pair_a("right"), "straight": STRAIGHT, "zerol": ZEROL, "75 deg": OBLIQUE}
each_pair = pytest.mark.parametrize("made", PAIRS.values(), ids=PAIRS.keys())
each_side = pytest.mark.parametrize("side", [1, -1])

with POINTS.open(newline="", encoding="utf-8") as file:
    REFERENCE = [{name: float(text) for name, text in row.items()} for row in csv.DictReader(file)]


def active_grid(made: Blank, nodes: int = 9) -> tuple[np.ndarray, np.ndarray]:
    """Radii and roll arcs over the active pinion flank."""
    radius = np.linspace(made.cones.inner, made.cones.outer, nodes)[:, None]
    low, high = flank.active_rolls(made, radius)
    low = np.maximum(low, 0.02)  # an undercut pinion's flank starts at the base cone, where the roll arc has no derivative
    return np.broadcast_to(radius, (nodes, nodes)), low + np.linspace(0.0, 1.0, nodes)[None, :] * (high - low)


@pytest.mark.parametrize("row", REFERENCE, ids=[f"point {n + 1}" for n in range(len(REFERENCE))])
def test_a_reference_point_is_met_to_nine_digits(row: dict[str, float]) -> None:
    # reference: an independent trial implementation, tests/data/mesh/points_A_14x41_spiral35.csv
    side, radius, roll = int(row["s"]), row["R"], row["roll"]
    at = flank.section(A, radius)
    errors = flank.Errors(row["dP"], row["dG"], row["dE"], row["dSigma"])
    touch = flank.gap(A, side, radius, roll, side * row["phi1"], errors=errors, ease_off=flank.EaseOff())
    got = {
        "sin_beta": at.sin_beta, "psi_c": at.trace, "sin_db1": at.sin_base[PINION], "sin_db2": at.sin_base[GEAR],
        "theta1": flank.pinion_azimuth(A, side, radius, roll), "gamma1": np.arccos(at.cos_base[PINION] * np.cos(roll)),
        "F": touch.gap, "u": touch.face, "v": touch.depth,
    }  # fmt: skip
    assert {name: float(value) for name, value in got.items()} == pytest.approx({name: row[name] for name in got}, abs=1e-9)
    assert float(touch.arm) == pytest.approx(row["arm"], rel=1e-9)


@each_pair
@each_side
def test_aligned_uncrowned_flanks_touch_all_over_at_once(made: Blank, side: int) -> None:
    radius, roll = active_grid(made)
    touch = flank.gap(made, side, radius, roll, flank.contact_phase(made, side, radius, roll))
    heel = made.cones.outer * math.sin(made.cones.angles[GEAR])
    assert np.ptp(touch.gap) * heel * 1000.0 < 1e-6  # micrometres at the heel
    assert touch.gap.mean() * 2.0 * heel == pytest.approx(made.backlash, rel=1e-9)


@each_pair
@each_side
def test_a_flank_point_is_clear_before_and_after_its_contact(made: Blank, side: int) -> None:
    radius, roll = active_grid(made)
    phase = flank.contact_phase(made, side, radius, roll)
    least = flank.gap(made, side, radius, roll, phase).gap
    for step in (-0.02, 0.02):
        assert (flank.gap(made, side, radius, roll, phase + step).gap > least).all()


@each_side
def test_swapping_the_hand_swaps_the_flanks_and_the_axis_offset(side: int) -> None:
    left, right = pair_a("left"), pair_a("right")
    radius, roll = active_grid(left)
    phase = flank.contact_phase(left, side, radius, roll)
    assert phase == pytest.approx(flank.contact_phase(right, -side, radius, roll), abs=1e-14)
    errors, mirrored = flank.Errors(0.1, -0.05, 0.03, 2e-4), flank.Errors(0.1, -0.05, -0.03, 2e-4)
    one = flank.gap(left, side, radius, roll, phase, errors=errors, ease_off=flank.EaseOff())
    other = flank.gap(right, -side, radius, roll, phase, errors=mirrored, ease_off=flank.EaseOff())
    assert one.gap == pytest.approx(other.gap, abs=1e-13)
    assert one.depth == pytest.approx(other.depth, abs=1e-10)


def test_straight_teeth_have_like_flanks() -> None:
    radius, roll = active_grid(STRAIGHT)
    errors = flank.Errors(0.12, 0.07)
    gaps = [
        flank.gap(STRAIGHT, s, radius, roll, flank.contact_phase(STRAIGHT, s, radius, roll), errors=errors).gap for s in (1, -1)
    ]
    assert gaps[0] == pytest.approx(gaps[1], abs=1e-14)


@each_pair
@each_side
@pytest.mark.parametrize(("name", "step"), [("pinion", 1e-3), ("gear", 1e-3), ("offset", 1e-3), ("shaft_angle", 1e-5)])
def test_closed_slopes_agree_with_finite_differences(made: Blank, side: int, name: str, step: float) -> None:
    radius, roll = active_grid(made)
    phase = flank.contact_phase(made, side, radius, roll)
    ends = [flank.gap(made, side, radius, roll, phase, errors=flank.Errors(**{name: e})).gap for e in (step, -step)]
    closed = np.broadcast_to(getattr(flank.slopes(made, side, radius, roll), name), radius.shape)
    scale = float(np.abs(closed).max())
    assert (ends[0] - ends[1]) / (2.0 * step) == pytest.approx(closed, abs=2e-6 * scale)


@each_pair
def test_both_flanks_slopes_together_are_the_first_order_backlash_rates(made: Blank) -> None:
    rates = mesh_rates(made)
    both = [flank.slopes(made, side, rates.contact_radius, rates.roll_arcs[0]) for side in (1, -1)]
    heel = made.cones.outer * math.sin(made.cones.angles[GEAR])
    # one term has the same sign on both flanks and is left out of the closed form of the sum: sin^2(alpha_t) tan(beta) rho chi
    assert heel * (both[0].pinion + both[1].pinion) == pytest.approx(rates.pinion.touching, rel=1e-2)
    assert heel * (both[0].gear + both[1].gear) == pytest.approx(rates.gear.touching, rel=1e-2)
    assert abs(both[0].offset + both[1].offset) < 0.07 * abs(both[0].offset)


def test_one_sided_slopes_on_the_pitch_cone_are_the_axial_force_ratios() -> None:
    # axial over tangential force (virtual work), tan at sin d +- tan b cos d: pinion drive and coast, then gear
    at = flank.section(A, A.cones.mean)
    scale = A.cones.mean * math.sin(A.cones.angles[GEAR])
    drive, coast = (flank.slopes(A, side, A.cones.mean, at.pitch_roll[PINION]) for side in (A.sigma, -A.sigma))
    got = [float(value) * scale for value in (drive.pinion, coast.pinion, drive.gear, coast.gear)]
    assert got == pytest.approx([0.806, -0.519, 0.194, 0.647], abs=5.1e-4)


@settings(max_examples=30, deadline=None)
@given(roll=st.floats(0.05, 1.2), base=st.floats(0.15, 1.4))
def test_the_involute_leaves_its_base_cone_outward_and_unrolls_a_great_circle(roll: float, base: float) -> None:
    azimuth = float(flank.involute_azimuth(roll, math.sin(base)))
    assert azimuth > 0.0
    # the arc of the great circle from the flank point back to the base cone is as long as the base circle's arc it unrolled from
    polar = math.acos(math.cos(base) * math.cos(roll))
    touching = roll / math.sin(base)
    point = np.array([math.sin(polar) * math.cos(azimuth), math.sin(polar) * math.sin(azimuth), math.cos(polar)])
    foot = np.array([math.sin(base) * math.cos(touching), math.sin(base) * math.sin(touching), math.cos(base)])
    assert math.acos(np.clip(point @ foot, -1.0, 1.0)) == pytest.approx(roll, abs=1e-7)
    assert float(flank.roll_at(polar, math.cos(base))) == pytest.approx(roll, abs=1e-7)


@each_pair
def test_the_tip_line_is_straight_in_the_axial_plane(made: Blank) -> None:
    for member in (PINION, GEAR):
        radius = np.linspace(made.cones.inner, made.cones.outer, 7)
        over = flank.tip_polar(made, member, radius) - made.cones.angles[member]
        tip = [made.tip_height(member, x) for x in radius * np.cos(over)]
        assert radius * np.sin(over) == pytest.approx(tip, abs=1e-10)


@each_pair
def test_the_active_flank_lies_between_the_mates_tip_and_its_own(made: Blank) -> None:
    radius, roll = active_grid(made)
    touch = flank.gap(made, 1, radius, roll, flank.contact_phase(made, 1, radius, roll))
    assert (touch.depth <= 1.0 + 2e-3).all()
    assert (
        touch.depth[:, 0] == pytest.approx(np.ones(len(radius)), abs=2e-3)
        or float(flank.active_rolls(made, radius)[0].min()) < 0.02
    )
    assert (touch.depth > -1.0).all()


@each_pair
@pytest.mark.parametrize("turn", [0.0, 0.07, -0.11])
def test_the_plain_search_finds_the_design_backlash_at_any_turn(made: Blank, turn: float) -> None:
    heel = made.cones.outer * math.sin(made.cones.angles[GEAR])
    assert sum(flank.closing_rotations(made, turn)) * heel == pytest.approx(made.backlash, abs=5e-3)


def test_moving_a_member_out_opens_the_backlash_at_its_first_order_rate() -> None:
    heel = A.cones.outer * math.sin(A.cones.angles[GEAR])
    rates = mesh_rates(A)
    crown = flank.EaseOff()
    for errors, rate in ((flank.Errors(pinion=0.1), rates.pinion.touching), (flank.Errors(gear=0.1), rates.gear.touching)):
        gained = [sum(flank.closing_rotations(A, errors=e, ease_off=crown, nodes=41)) * heel for e in (errors, flank.ALIGNED)]
        assert gained[0] - gained[1] == pytest.approx(0.1 * rate, abs=0.012)


def test_the_design_crown_touches_first_where_it_is_told() -> None:
    crown = flank.EaseOff(length_um=25.0, profile_um=12.0, twist_um=0.0, along_face=0.3, over_depth=0.1)
    radius, roll = active_grid(A, 41)
    touch = flank.gap(A, 1, radius, roll, flank.contact_phase(A, 1, radius, roll), ease_off=crown)
    first = np.unravel_index(np.argmin(touch.gap), touch.gap.shape)
    assert (float(touch.face[first]), float(touch.depth[first])) == pytest.approx((0.3, 0.1), abs=0.06)
