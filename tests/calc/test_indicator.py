"""Dial readings and backlash against the outside DIA rows."""

from __future__ import annotations

from math import degrees, radians

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import backlash, indicator
from tests.calc.rows import Row, cases

LENGTHS = st.floats(10.0, 500.0)


@pytest.mark.parametrize("row", cases("DIA-", "indicator reading at radius"))
def test_reading_grows_with_the_radius_of_the_stem(row: Row) -> None:
    got = indicator.reading_from_backlash(row.number("jt"), pitch_radius=row.number("r"), dial_radius=row.number("Ri"))
    row.near(got)


@pytest.mark.parametrize("row", cases("DIA-", "angular backlash"))
def test_angular_backlash(row: Row) -> None:
    row.near(degrees(indicator.angular_backlash(row.number("jt"), row.number("r"))) * 60.0)


@pytest.mark.parametrize("row", cases("DIA-", "cosine error"))
def test_an_inclined_stem_reads_short(row: Row) -> None:
    got = indicator.backlash_from_reading(
        row.number("reading"), pitch_radius=100.0, dial_radius=100.0, incline=radians(row.number("e"))
    )
    row.near(got)


@given(value=st.floats(0.01, 2.0), near=LENGTHS, far=LENGTHS, incline=st.floats(-1.2, 1.2))
def test_reading_and_backlash_are_inverses(value: float, near: float, far: float, incline: float) -> None:
    place = {"pitch_radius": near, "dial_radius": far, "incline": incline}
    reading = indicator.reading_from_backlash(value, **place)
    assert indicator.backlash_from_reading(reading, **place) == pytest.approx(value, rel=1e-12)
    # Same turn at both radii, whatever the place.
    square = indicator.reading_from_backlash(value, pitch_radius=near, dial_radius=far)
    assert indicator.angular_backlash(square, far) == pytest.approx(indicator.angular_backlash(value, near), rel=1e-12)
    assert reading <= square


@given(value=st.floats(0.01, 1.0), pressure=st.floats(0.2, 0.5), spiral=st.floats(0.0, 0.7), near=LENGTHS, far=LENGTHS)
def test_a_stem_normal_to_the_flank_reads_the_normal_backlash(
    value: float, pressure: float, spiral: float, near: float, far: float
) -> None:
    # ISO 23509: jn = jt cos(alpha_n) cos(beta), as the mesh module has it.
    normal = backlash.normal_backlash(value * far / near, pressure, spiral)
    got = indicator.backlash_from_normal_reading(
        normal, pressure_angle=pressure, spiral_angle=spiral, pitch_radius=near, dial_radius=far
    )
    assert got == pytest.approx(value, rel=1e-9)


def test_remarks_before_a_reading_is_used() -> None:
    assert indicator.dial_remarks("plunger") == ()
    assert indicator.dial_remarks("plunger", radians(10.0)) == ("stem_not_square",)
    assert indicator.dial_remarks("lever", radians(-20.0), radius_known=False) == (
        "lever_dial_multiplies_differently",
        "stem_not_square",
        "dial_radius_unknown",
    )


def test_wrong_inputs_are_refused() -> None:
    with pytest.raises(indicator.DialRefused, match="pitch radius"):
        indicator.reading_from_backlash(0.2, pitch_radius=0.0, dial_radius=100.0)
    with pytest.raises(indicator.DialRefused, match="dial radius"):
        indicator.backlash_from_reading(0.2, pitch_radius=100.0, dial_radius=-1.0)
    with pytest.raises(indicator.DialRefused, match="incline"):
        indicator.backlash_from_reading(0.2, pitch_radius=100.0, dial_radius=100.0, incline=radians(90.0) + 1e-9)
    with pytest.raises(indicator.DialRefused, match="spiral angle"):
        indicator.backlash_from_normal_reading(0.2, pressure_angle=0.3, spiral_angle=2.0)
    with pytest.raises(indicator.DialRefused, match="kind"):
        indicator.dial_remarks("laser")  # type: ignore[arg-type]
