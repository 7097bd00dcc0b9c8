"""Parallel keys and their keyways against printed tables."""

from __future__ import annotations

from math import sqrt

import pytest

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
