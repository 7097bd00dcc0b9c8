"""ISO 15, ISO 12044, ISO 492 and the fits that follow, against the outside check rows (sources named in each row)."""

from __future__ import annotations

import pytest

from calc import bearings, fits
from tests.calc.rows import Row, cases

MICRON = 0.001


@pytest.mark.parametrize("row", cases("BRG", "ISO15 boundary dimensions"))
def test_boundary_dimensions_are_those_of_the_standard(row: Row) -> None:
    size = bearings.boundary(row.number("d"), row.quantity.split()[-1])
    assert (size.outside, size.width, size.chamfer) == (row.want("D"), row.want("B"), row.want("rs_min"))


@pytest.mark.parametrize("row", cases("BRG", "angular contact series"))
def test_angular_contact_bearings_share_the_boundary_of_their_series(row: Row) -> None:
    size = bearings.boundary(row.number("d"), "02")
    assert (size.outside, size.width, size.chamfer) == (row.want("D"), row.want("B"), row.want("rs_min"))


@pytest.mark.parametrize("row", cases("BRG", "ISO 12044"))
def test_non_thrust_chamfers_are_those_of_the_standard(row: Row) -> None:
    assert bearings.outer_ring_chamfer(row.number("d"), "02") == row.value


@pytest.mark.parametrize("row", cases("BRG", "ISO492 Normal class bore"))
def test_bores_may_only_be_smaller(row: Row) -> None:
    limits = bearings.bore_limits(row.number("d"))
    assert (limits.upper, limits.lower) == pytest.approx((row.want("upper") * MICRON, row.want("lower") * MICRON), abs=1e-9)


@pytest.mark.parametrize("row", cases("BRG", "ISO492 Normal class outside"))
def test_outside_diameters_may_only_be_smaller(row: Row) -> None:
    limits = bearings.outside_limits(row.number("D"))
    assert (limits.upper, limits.lower) == pytest.approx((row.want("upper") * MICRON, row.want("lower") * MICRON), abs=1e-9)


@pytest.mark.parametrize("row", cases("BRG", "ISO492 Normal ring width"))
def test_ring_widths_may_only_be_smaller(row: Row) -> None:
    assert bearings.width_limits(row.number("d")).lower == pytest.approx(row.want("lower") * MICRON, abs=1e-9)


@pytest.mark.parametrize("row", cases("BRG", "ISO492 Normal radial runout"))
def test_outer_ring_runout_is_that_of_the_table(row: Row) -> None:
    assert bearings.outer_ring_runout(row.number("D")) == pytest.approx(row.value * MICRON, abs=1e-9)


@pytest.mark.parametrize("row", cases("BRG", "bearing bore / shaft"))
def test_inner_rings_on_their_seats(row: Row) -> None:
    size, fit_class = row.number("d"), row.quantity.split(", ")[-1].split()[0]
    found = bearings.inner_ring_fit(size, fits.shaft_limits(size, fit_class))
    assert (-found.high, -found.low) == pytest.approx((row.want("imin") * MICRON, row.want("imax") * MICRON), abs=1e-9)


@pytest.mark.parametrize("row", cases("BRG", "housing / outer ring"))
def test_outer_rings_in_their_housings(row: Row) -> None:
    size, fit_class = row.number("D"), row.quantity.split(", ")[-1]
    found = bearings.outer_ring_fit(size, fits.hole_limits(size, fit_class))
    assert (found.low, found.high) == pytest.approx((row.want("cmin") * MICRON, row.want("cmax") * MICRON), abs=1e-9)


def test_an_unknown_bearing_is_refused_with_the_bores_of_its_series() -> None:
    with pytest.raises(bearings.BearingError, match="accepted: 20"):
        bearings.boundary(61.0, "02")
