"""Shrink-back and interference of hot-fitted hubs."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import heat, press
from tests.calc.rows import Row, cases

GRIP = {"upper bound": press.FAR_END, "starts at the shoulder end": press.SHOULDER, "starts mid-length": press.MIDDLE}


@pytest.mark.parametrize("row", cases("INT-01", "shrink-back axial gap"))
def test_hub_pulls_off_its_shoulder_as_it_cools(row: Row) -> None:
    grip_at = next(place for words, place in GRIP.items() if words in row.quantity)
    row.near(press.shrink_back_gap(row.number("I"), row.number("L"), row.number("d"), grip_at))


@pytest.mark.parametrize("row", cases("INT-", "largest advisable bearing interference"))
def test_largest_advisable_interference_of_a_bearing_ring(row: Row) -> None:
    row.near(press.largest_ring_interference(row.number("d")))


@given(
    interference=st.floats(0.001, 0.2),
    diameter=st.floats(20.0, 200.0),
    length=st.floats(10.0, 200.0),
    alpha=st.floats(9e-6, 2.5e-5),
)
def test_gap_is_the_free_shrinkage_of_the_hub_from_first_grip(
    interference: float, diameter: float, length: float, alpha: float
) -> None:
    rise = press.first_grip_rise(interference, diameter, alpha)
    assert heat.growth(length, alpha, rise) == pytest.approx(press.shrink_back_gap(interference, length, diameter), rel=1e-12)
    gripping = heat.clearance_at(-interference, diameter, alpha, hub_temperature=heat.REFERENCE + rise)
    assert gripping == pytest.approx(0.0, abs=1e-12)


def test_clearance_fit_leaves_no_gap() -> None:
    assert press.shrink_back_gap(-0.02, 80.0, 60.0) == 0.0


def test_pinion_on_an_outer_shoulder_moves_toward_the_crossing_point_and_gear_under_its_shoulder_away() -> None:
    assert press.mounting_distance_sign(shoulder_is_farther_out=True) == -1
    assert press.mounting_distance_sign(shoulder_is_farther_out=False) == +1


def test_grip_beyond_the_hub_is_refused() -> None:
    with pytest.raises(ValueError, match="accepted: 0"):
        press.shrink_back_gap(0.05, 80.0, 60.0, 1.2)
    with pytest.raises(ValueError, match="accepted: 0 or more"):
        press.first_grip_rise(-0.01, 60.0, 12e-6)
