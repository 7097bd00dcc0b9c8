"""ISO 286 limits, fits and readings against the outside check rows (sources named in each row)."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import fits
from tests.calc.rows import Row, cases

MICRON = 0.001


@pytest.mark.parametrize("row", cases("FIT", "ISO286 standard tolerance"))
def test_standard_tolerances_are_those_of_the_table(row: Row) -> None:
    grade = int(row.quantity.rsplit("IT", 1)[1])
    assert fits.standard_tolerance(row.number("D"), grade) == pytest.approx(row.value * MICRON, abs=1e-9)


@pytest.mark.parametrize("row", cases("FIT", "ISO286 shaft limits"))
def test_shaft_limits_are_those_of_the_table(row: Row) -> None:
    limits = fits.shaft_limits(row.number("d"), row.quantity.split()[-1])
    assert (limits.upper, limits.lower) == pytest.approx((row.want("es") * MICRON, row.want("ei") * MICRON), abs=1e-9)


@pytest.mark.parametrize("row", cases("FIT", "ISO286 hole limits"))
def test_hole_limits_are_those_of_the_table(row: Row) -> None:
    limits = fits.hole_limits(row.number("D"), row.quantity.split()[-1])
    assert (limits.upper, limits.lower) == pytest.approx((row.want("ES") * MICRON, row.want("EI") * MICRON), abs=1e-9)


@pytest.mark.parametrize("row", cases("FIT", "fit clearance limits H7"))
def test_fits_give_the_clearance_of_the_tables(row: Row) -> None:
    match = re.search(r"(H7)/(\w+)", row.quantity)
    assert match
    size = row.number("D")
    found = fits.fit(fits.hole_limits(size, match[1]), fits.shaft_limits(size, match[2]))
    assert (found.low, found.high) == pytest.approx((row.want("cmin") * MICRON, row.want("cmax") * MICRON), abs=1e-9)


@pytest.mark.parametrize("row", cases("FIT-079"))
def test_a_loose_running_fit_of_a_textbook_has_its_printed_sizes(row: Row) -> None:
    """Shigley, Mechanical Engineering Design, 9th edition, Example 7-7, p. 398: H11/c11 at 34 mm, sizes of hole and shaft."""
    hole = fits.hole_limits(row.number("D"), "H11").at(row.number("D"))
    shaft = fits.shaft_limits(row.number("D"), "c11").at(row.number("D"))
    for got, name in ((hole[0], "Dmin"), (hole[1], "Dmax"), (shaft[0], "dmin"), (shaft[1], "dmax")):
        row.near(got, name)


@given(st.floats(3.1, 500.0), st.sampled_from(["e", "f", "g", "h", "js", "k", "m", "n", "p", "r", "s"]), st.sampled_from([5, 6, 7]))
def test_a_shaft_band_is_as_wide_as_its_grade(size: float, letter: str, grade: int) -> None:
    limits = fits.shaft_limits(size, f"{letter}{grade}")
    assert limits.upper - limits.lower == pytest.approx(fits.standard_tolerance(size, grade), abs=1e-9)


@given(st.floats(3.1, 500.0), st.sampled_from(["e", "f", "g", "h"]), st.sampled_from([5, 6, 7, 8, 9]))
def test_clearance_holes_mirror_their_shafts(size: float, letter: str, grade: int) -> None:
    """ISO 286-1: EI = -es for A to H."""
    assert fits.hole_limits(size, f"{letter.upper()}{grade}").lower == pytest.approx(
        -fits.shaft_limits(size, f"{letter}{grade}").upper, abs=1e-9
    )


def test_the_tolerances_follow_the_tolerance_factor_within_its_rounding() -> None:
    """i = 0.45 D^(1/3) + 0.001 D, IT6 = 10 i, IT7 = 16 i (ISO 286-1 annex): the table's rounding differs by up to 8.5 % above 6 mm."""
    edges = [6, 10, 18, 30, 50, 80, 120, 180, 250, 315, 400, 500]
    for low, high in zip(edges, edges[1:], strict=False):
        middle = (low * high) ** 0.5
        factor = 0.45 * middle ** (1 / 3) + 0.001 * middle
        for grade, times in ((5, 7), (6, 10), (7, 16), (8, 25), (9, 40)):
            assert fits.standard_tolerance(high, grade) / MICRON == pytest.approx(times * factor, rel=0.09), (high, grade)


@pytest.mark.parametrize(("size", "fit_class"), [(60.0, "z9"), (60.0, "k13"), (0.0, "k6"), (501.0, "k6"), (60.0, "H7"), (60.0, "")])
def test_what_the_tables_do_not_hold_is_refused(size: float, fit_class: str) -> None:
    with pytest.raises(fits.FitError, match="accepted"):
        fits.shaft_limits(size, fit_class)


def test_readings_tell_taper_from_out_of_round() -> None:
    readings = fits.limits_from_readings([[60.010, 60.018], [60.002, 60.010]], 60.0)
    assert readings.mean == pytest.approx(60.010)
    assert readings.out_of_round == pytest.approx(0.008)
    assert readings.taper == pytest.approx(0.008)
