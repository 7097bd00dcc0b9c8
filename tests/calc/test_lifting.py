"""Slings, eyebolts and the hang of a load against statics and the printed factors."""

from __future__ import annotations

from math import atan, cos, degrees, pi, radians, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import cooling, lifting
from tests.calc.rows import Row, cases

ANGLES = st.floats(radians(1.0), pi / 2.0)


@pytest.mark.parametrize("row", cases("LFT-", "sling leg tension"))
def test_leg_tension_of_equal_legs(row: Row) -> None:
    tension = lifting.leg_tension(row.number("W"), radians(row.number("theta")), int(row.number("n")))
    row.near(tension / lifting.GRAVITY)


@pytest.mark.parametrize("row", cases("LFT-", "TRAP: tension factor"))
def test_factor_goes_with_the_sine_of_the_horizontal_angle(row: Row) -> None:
    row.near(lifting.sling_factor(radians(row.number("theta"))))


@pytest.mark.parametrize("row", cases("LFT-", "statically assumed legs"))
def test_four_legs_are_rated_as_two(row: Row) -> None:
    angle = radians(row.number("theta"))
    row.near(lifting.leg_tension(row.number("W"), angle, lifting.carrying_legs(int(row.number("n")))) / lifting.GRAVITY)
    row.near(lifting.needed_rating(row.number("W"), angle, int(row.number("n")), allowance=1.0))


@pytest.mark.parametrize("row", cases("LFT-", "mass of a ring"))
def test_mass_of_a_ring_to_be_lifted(row: Row) -> None:
    row.near(cooling.ring(row.number("OD"), row.number("ID"), row.number("B"), row.number("rho")).mass)


# ASME B30.9 style factors, printed to three decimals (statics gives them exactly).
@pytest.mark.parametrize(("angle", "factor"), [(90, 1.0), (60, 1.155), (45, 1.414), (30, 2.0)])
def test_printed_sling_factors(angle: float, factor: float) -> None:
    assert lifting.sling_factor(radians(angle)) == pytest.approx(factor, abs=0.0005)


@given(mass=st.floats(1.0, 5000.0), angle=ANGLES, legs=st.sampled_from([1, 2, 3]))
def test_the_legs_hold_the_weight_between_them(mass: float, angle: float, legs: int) -> None:
    tension = lifting.leg_tension(mass, angle, legs)
    assert legs * tension * sin(angle) == pytest.approx(mass * lifting.GRAVITY, rel=1e-12)


@given(ANGLES, st.floats(0.001, 0.2))
def test_a_flatter_sling_pulls_harder(angle: float, flatter: float) -> None:
    if angle - flatter > 0.0:
        assert lifting.sling_factor(angle - flatter) > lifting.sling_factor(angle)


@given(st.floats(50.0, 5000.0), st.floats(0.0, 5000.0))
def test_factor_is_length_over_height(height: float, spread: float) -> None:
    # Handbook form: sling length over height, here with the leg's own triangle.
    angle = lifting.leg_angle(height, spread)
    assert lifting.sling_factor(angle) == pytest.approx((height**2 + spread**2) ** 0.5 / height, rel=1e-9)


@pytest.mark.parametrize(
    ("angle", "verdict"), [(10.0, "stop"), (29.9, "stop"), (30.0, "watch"), (44.9, "watch"), (45.0, "good"), (90.0, "good")]
)
def test_verdict_stops_below_30_and_watches_below_45(angle: float, verdict: str) -> None:
    assert lifting.angle_verdict(radians(angle)) == verdict
    if verdict == "stop":
        with pytest.raises(lifting.LiftRefused, match="accepted: 30° or more"):
            lifting.check_angle(radians(angle))
    else:
        assert lifting.check_angle(radians(angle)) == verdict


def test_four_legs_never_need_less_than_two() -> None:
    for angle in (35.0, 60.0, 90.0):
        assert lifting.needed_rating(400.0, radians(angle), 4) == lifting.needed_rating(400.0, radians(angle), 2)
    # A mass that is only calculated is taken 10 % heavier.
    assert lifting.needed_rating(400.0, radians(60.0), 2) == pytest.approx(440.0 / 2.0 / sin(radians(60.0)))


@given(offset=st.floats(-500.0, 500.0), height=st.floats(10.0, 1000.0))
def test_a_hanging_load_brings_its_centre_of_gravity_under_the_hook(offset: float, height: float) -> None:
    tilt = lifting.hang_tilt(offset, height)
    # Turn the vector from centre of gravity to pick point by the tilt: it must stand upright.
    assert offset * cos(tilt) - height * sin(tilt) == pytest.approx(0.0, abs=1e-9 * (abs(offset) + height))
    assert offset * sin(tilt) + height * cos(tilt) > 0.0
    assert lifting.hang_tilt(-offset, height) == -tilt


def test_a_higher_pick_point_hangs_straighter() -> None:
    assert degrees(lifting.hang_tilt(20.0, 300.0)) == pytest.approx(degrees(atan(20.0 / 300.0)))
    assert lifting.hang_tilt(20.0, 600.0) < lifting.hang_tilt(20.0, 300.0)
    with pytest.raises(lifting.LiftRefused, match="turns over"):
        lifting.hang_tilt(5.0, 0.0)


@given(st.floats(0.0, 1000.0), st.floats(1.0, 1000.0))
def test_unequal_legs_share_by_the_lever(first: float, second: float) -> None:
    near, far = lifting.off_centre_shares(first, second)
    assert near + far == pytest.approx(1.0, rel=1e-12)
    assert near * first == pytest.approx(far * second, rel=1e-9, abs=1e-9)


def test_eyebolt_remarks() -> None:
    assert lifting.eyebolt_remarks(radians(90.0)) == ()
    assert lifting.eyebolt_remarks(radians(90.0), collared=False) == ()
    assert lifting.eyebolt_remarks(radians(40.0), collared=False, in_plane=False, seated=False) == (
        "eyebolt_needs_collar",
        "eyebolt_pull_too_flat",
        "eyebolt_pull_out_of_plane",
        "eyebolt_not_seated",
        "eyebolt_side_pull_lowers_rating",
    )


def test_wrong_inputs_are_refused_by_field() -> None:
    for angle in (0.0, -0.1, 2.0, float("nan")):
        with pytest.raises(lifting.LiftRefused, match="sling angle"):
            lifting.sling_factor(angle)
    with pytest.raises(lifting.LiftRefused, match="legs: 5"):
        lifting.carrying_legs(5)
    with pytest.raises(lifting.LiftRefused, match="carrying legs"):
        lifting.leg_tension(100.0, 1.0, 0)
    with pytest.raises(lifting.LiftRefused, match="mass"):
        lifting.leg_tension(0.0, 1.0, 2)
    with pytest.raises(lifting.LiftRefused, match="allowance"):
        lifting.needed_rating(100.0, 1.0, 2, allowance=0.9)
    with pytest.raises(lifting.LiftRefused, match="height"):
        lifting.leg_angle(0.0, 10.0)
    with pytest.raises(lifting.LiftRefused, match="spread"):
        lifting.leg_angle(10.0, -1.0)
    with pytest.raises(lifting.LiftRefused, match="offset"):
        lifting.hang_tilt(float("inf"), 10.0)
    with pytest.raises(lifting.LiftRefused, match="distances"):
        lifting.off_centre_shares(0.0, 0.0)
