"""Parallel keys and their keyways against printed tables."""

from __future__ import annotations

from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import keys, tables
from tests.calc.rows import Row, cases

MICROMETRE = 1e-3
METRIC = [float(row["up_to"]) for row in tables.load("din6885").records()]
INCH = [float(row["up_to"]) * 25.4 for row in tables.load("asme_b17_1").records()]


@pytest.mark.parametrize("row", cases("KEY-", "parallel key section and keyway depths"))
def test_key_section_follows_the_shaft_diameter(row: Row) -> None:
    got = keys.key_section(row.number("d"))
    for name, value in {"b": got.width, "h": got.height, "t1": got.shaft_depth, "t2": got.hub_depth}.items():
        row.near(value, name)


@pytest.mark.parametrize("row", cases("KEY-", "keyway width limits"))
def test_keyway_width_has_the_limits_of_its_class(row: Row) -> None:
    width = row.number("b")
    for piece in row.expected_text.split(";"):
        name, _, limits = piece.strip().partition("=")
        got = keys.keyway_limits(width, name)
        if limits.startswith("+-"):
            upper, lower = float(limits[2:]), -float(limits[2:])
        else:
            upper, lower = (float(limit) for limit in limits.split("/"))
        assert got.upper / MICROMETRE == pytest.approx(upper, abs=1e-6), name
        assert got.lower / MICROMETRE == pytest.approx(lower, abs=1e-6), name


@pytest.mark.parametrize("diameter", METRIC)
def test_key_has_clearance_over_its_top_and_not_in_the_next_size(diameter: float) -> None:
    section = keys.key_section(diameter)
    assert 0.15 < section.shaft_depth + section.hub_depth - section.height < 0.45
    assert section.width < 0.36 * diameter
    if diameter < METRIC[-1]:
        assert keys.key_section(diameter + 0.01).width > section.width


@pytest.mark.parametrize("diameter", METRIC)
def test_keyway_depth_tolerance_goes_by_key_height(diameter: float) -> None:
    section = keys.key_section(diameter)
    # ISO/R 773: 0.1 up to 6 mm height, 0.2 up to 18 mm, 0.3 above.
    assert section.depth_tolerance == (0.1 if section.height <= 6.0 else 0.2 if section.height <= 18.0 else 0.3)


@pytest.mark.parametrize("diameter", INCH)
def test_inch_key_is_square_and_half_of_it_stands_in_the_hub_at_its_edges(diameter: float) -> None:
    section = keys.inch_key_section(diameter)
    assert section.width == section.height
    edge = sqrt(diameter**2 - section.width**2) / 2.0
    floor = diameter / 2.0 - section.shaft_depth
    assert edge - floor == pytest.approx(section.width / 2.0, abs=1e-9)
    assert section.shaft_depth + section.hub_depth - section.height == pytest.approx(0.127, abs=1e-9)


def test_textbook_inch_shaft_takes_the_textbook_key() -> None:
    # Outside check KEY-018: a 2 in shaft has a 1/2 in square key.
    assert keys.inch_key_section(50.8).width == pytest.approx(12.7)


@pytest.mark.parametrize("wrong", [6.0, 231.0, -5.0])
def test_shaft_outside_the_table_is_refused_with_the_range(wrong: float) -> None:
    with pytest.raises(ValueError, match="over 6 mm, up to 230 mm"):
        keys.key_section(wrong)


PSI, LBF_IN = 0.006894757, 0.11298483
"""Pound per square inch [MPa], pound-force inch [N·m]."""
TORQUES, DIAMETERS = st.floats(1.0, 20000.0), st.floats(7.0, 230.0)


def square_key(inches: float) -> keys.KeySection:
    """A square key sunk by half of its height, as the textbooks take it."""
    side = inches * 25.4
    return keys.KeySection(side, side, side / 2.0, side / 2.0)


@pytest.mark.parametrize("row", cases("KEY-", "parallel key form A"))
def test_key_with_round_ends_carries_its_torque(row: Row) -> None:
    section = keys.key_section(row.number("d"))
    assert (section.width, section.height, section.shaft_depth) == (18.0, 11.0, row.number("t1"))
    got = keys.key_load(row.number("T"), row.number("d"), section, row.number("L"))
    row.near(got.force / 1000.0, "F")
    row.near(got.shear, "tau")
    row.near(got.hub_pressure, "p")


@pytest.mark.parametrize("row", cases("KEY-", "shear stress on key"))
def test_shear_stress_of_a_key_with_square_ends(row: Row) -> None:
    width = row.number("b") * 25.4
    section = keys.KeySection(width, width, width / 2.0, width / 2.0)
    got = keys.key_load(row.number("T") * LBF_IN, row.number("d") * 25.4, section, row.number("L") * 25.4, rounded=False)
    row.near(got.shear / PSI)


@pytest.mark.parametrize("row", cases("KEY-", "key length for yield"))
def test_textbook_length_of_a_square_key(row: Row) -> None:
    needed = keys.length_needed(
        row.number("T") * LBF_IN,
        row.number("D") * 25.4,
        square_key(0.5),
        yield_strength=row.number("Sy") * PSI,
        safety=row.number("N"),
    )
    row.near(needed.length / 25.4)
    # Shear by the maximum shear stress theory and pressure on half the height ask for the same length of a square key.
    assert needed.shear == pytest.approx(needed.pressure, rel=1e-12)


def test_textbook_key_that_is_as_strong_as_its_shaft() -> None:
    """Faires, Design of Machine Elements, 4th edition (edition from memory), Problem 521 (a), published solution.

    2 in shaft of AISI 1137 with Sy = 93 ksi, Sys = 0.6 Sy, so 87.65 in kip at yield; 1/2 in square key of C1020 with Sy = 66 ksi. By
    shear 4.43 in, by compression 5.32 in.
    """
    torque = 0.6 * 93_000.0 * 3.141592653589793 * 2.0**3 / 16.0
    assert torque == pytest.approx(87_650.0, abs=5.0)
    section = keys.inch_key_section(50.8)
    needed = keys.length_needed(torque * LBF_IN, 50.8, section, yield_strength=66_000.0 * PSI, safety=1.0, shear_share=0.6)
    assert needed.shear / 25.4 == pytest.approx(4.43, abs=0.005)
    assert needed.pressure / 25.4 == pytest.approx(5.32, abs=0.01)
    assert needed.length == needed.pressure


@given(torque=TORQUES, diameter=DIAMETERS, more=st.floats(1.1, 5.0))
def test_a_longer_key_is_stressed_less_and_a_larger_torque_more(torque: float, diameter: float, more: float) -> None:
    section = keys.key_section(diameter)
    length = 3.0 * section.width
    usual = keys.key_load(torque, diameter, section, length)
    longer, harder = (
        keys.key_load(torque, diameter, section, length * more),
        keys.key_load(torque * more, diameter, section, length),
    )
    square = keys.key_load(torque, diameter, section, length, rounded=False)
    for name in ("shear", "hub_pressure", "shaft_pressure"):
        assert getattr(longer, name) < getattr(usual, name) < getattr(harder, name)
        assert getattr(square, name) == pytest.approx(getattr(usual, name) * 2.0 / 3.0, rel=1e-9)
    # Force balance: what presses on the hub presses on the shaft and shears the key.
    assert usual.hub_pressure * (section.height - section.shaft_depth) == pytest.approx(usual.shaft_pressure * section.shaft_depth)


@given(torque=TORQUES, diameter=DIAMETERS, strength=st.floats(150.0, 900.0), safety=st.floats(1.0, 5.0))
def test_the_needed_length_just_reaches_the_allowed_stress(torque: float, diameter: float, strength: float, safety: float) -> None:
    section = keys.key_section(diameter)
    needed = keys.length_needed(torque, diameter, section, yield_strength=strength, safety=safety)
    load = keys.key_load(torque, diameter, section, needed.shear + section.width)
    assert load.shear * safety == pytest.approx(0.5 * strength, rel=1e-9)


def test_side_clearances_of_measured_widths() -> None:
    got = keys.side_clearances(18.0, 17.985, 18.022)
    assert got.shaft == pytest.approx(-0.015) and got.hub == pytest.approx(0.022)
    # Only the loose side leaves play: 0.022 mm at a radius of 30 mm.
    assert keys.lost_motion(got, 60.0) == pytest.approx(0.022 / 30.0)
    assert keys.lost_motion(keys.SideClearances(-0.01, -0.02), 60.0) == 0.0


@pytest.mark.parametrize("diameter", METRIC)
def test_top_clearance_is_that_of_the_table(diameter: float) -> None:
    section = keys.key_section(diameter)
    assert 0.15 < keys.top_clearance(section.height, section.shaft_depth, section.hub_depth) < 0.45


def test_wrong_key_inputs_are_refused_by_field() -> None:
    section = keys.key_section(60.0)
    with pytest.raises(ValueError, match="torque: 0.0: accepted: more than 0"):
        keys.key_force(0.0, 60.0)
    with pytest.raises(ValueError, match="round ends"):
        keys.key_load(100.0, 60.0, section, 18.0)
    with pytest.raises(ValueError, match="yield strength"):
        keys.length_needed(100.0, 60.0, section, yield_strength=-1.0)
    with pytest.raises(ValueError, match="hub keyway"):
        keys.side_clearances(18.0, 18.0, 0.0)
