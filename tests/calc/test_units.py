"""The door: what a fitter may write, and what must never be misread."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import units


@pytest.mark.parametrize(
    ("text", "kind", "number"),
    [
        ("60 mm", "length", 60.0), ("60mm", "length", 60.0), ("2.3622 in", "length", 59.99988), ('1 "', "length", 25.4), ("25 µm", "length", 0.025), ("1 thou", "length", 0.0254),
        ("212 degF", "temperature", 100.0), ("110 °C", "temperature", 110.0), ("70 degC", "temperature rise", 70.0), ("90 degF", "temperature rise", 50.0),
        ("45 N m", "torque", 45.0), ("12 Nm", "torque", 12.0), ("10 %", "fraction", 0.1), ("2.2 kW", "power", 2200.0), ("1.5 min", "time", 90.0),
        ("6.5 L", "volume", 6.5), ("6.5 l", "volume", 6.5), ("500 mL", "volume", 0.5), ("2 US gal", "volume", 7.570823568), ("1 imp gal", "volume", 4.54609),
    ],
)  # fmt: skip
def test_quantities_are_read_into_the_shop_system(text: str, kind: str, number: float) -> None:
    """The gallons by definition: 231 cubic inches of 25.4 mm; 4.546 09 L (Units of Measurement Regulations 1995)."""
    assert units.read(text, kind) == pytest.approx(number, rel=1e-12)


@pytest.mark.parametrize("torque", [3.0, 45.0])
@pytest.mark.parametrize("system", ["mm", "inch"])
def test_a_torque_is_read_as_it_is_shown(torque: float, system: units.System) -> None:
    """Shown to 0.1 N·m, 0.1 lbf·ft or 1 lbf·in (0.113 N·m), so read back to half of that or better."""
    assert units.read(units.show(torque, "torque", system), "torque") == pytest.approx(torque, abs=0.07)


def test_torque_in_foot_pounds_follows_its_definition() -> None:
    """1 lbf ft = 1.355 817 948 331 400 4 N m (international foot and pound, exact by definition)."""
    assert units.read("1 lbf ft", "torque") == pytest.approx(1.3558179483314004, rel=1e-14)


PAGES = {
    ("mil", "length"): (2.54e-2, 1e-15), ("thou", "length"): (2.54e-2, 1e-15), ("inches", "length"): (25.4, 1e-15),
    ("ft lb", "torque"): (1.355818, 5e-7), ("ft-lb", "torque"): (1.355818, 5e-7), ("lb-ft", "torque"): (1.355818, 5e-7), ("ft-lbf", "torque"): (1.355818, 5e-7),
    ("ft·lbf", "torque"): (1.355818, 5e-7), ("in-lb", "torque"): (0.1129848, 5e-8), ("lb in", "torque"): (0.1129848, 5e-8), ("lbf-in", "torque"): (0.1129848, 5e-8),
    ("lbs", "mass"): (0.4535924, 5e-8), ("qt", "volume"): (0.9463529, 5e-8), ("US qt", "volume"): (0.9463529, 5e-8),
}  # fmt: skip


@pytest.mark.parametrize(("spelling", "kind"), PAGES)
def test_what_a_hand_writes_for_a_unit_is_that_unit(spelling: str, kind: str) -> None:
    """NIST SP 811 (2008), appendix B.8: mil (0.001 in) 2.54 E-05 m, inch 2.54 E-02 m, pound-force foot 1.355 818 E+00 N m, pound-force inch
    1.129 848 E-01 N m, pound 4.535 924 E-01 kg, quart (U.S. liquid) 9.463 529 E-04 m3, each to half its last digit or exact. NIST Handbook 44,
    appendix C: the liquid quart is 57.75 cubic inches. Figures from memory of the printed tables."""
    value, half_digit = PAGES[spelling, kind]
    assert units.read(f"1 {spelling}", kind) == pytest.approx(value, abs=half_digit)
    assert units.read("1 qt", "volume") == pytest.approx(57.75 * 0.0254**3 * 1000.0, rel=1e-12)


@pytest.mark.parametrize(
    ("given_text", "kind"), [("2 gal", "volume"), ("3 lb", "torque"), ("3 ft", "torque"), ("3 mil", "torque"), ("2 qt", "length")]
)
def test_a_unit_that_could_be_another_or_is_of_another_kind_is_refused(given_text: str, kind: str) -> None:
    with pytest.raises(units.UnitError, match="accepted"):
        units.read(given_text, kind)


@given(st.integers(0, 5000))
def test_micrometres_and_millimetres_agree_to_the_last_bit(count: int) -> None:
    assert units.read(f"{count} um", "length") == units.read(f"{count / 1000:.3f} mm", "length")


@pytest.mark.parametrize(
    ("given_text", "kind", "hint"),
    [
        (60, "length", 'give a unit, for example "60 mm"'), ("60", "length", "give a unit"), ("0,38 mm", "length", "0.38 mm"), ("90 C", "temperature", "degC"),
        ("nan mm", "length", "number and a unit"), ("inf mm", "length", "number and a unit"), ("2**3 mm", "length", "accepted"), ("12 Nm", "length", "accepted: mm"),
        (True, "length", "give a unit"), (None, "length", "accepted"), ("", "length", "accepted"), ("1e999 mm", "length", "finite"), ("60 mm mm", "length", "accepted"),
    ],
)  # fmt: skip
def test_what_could_be_misread_is_refused_with_its_remedy(given_text: object, kind: str, hint: str) -> None:
    with pytest.raises(units.UnitError) as refused:
        units.read(given_text, kind)
    assert hint in str(refused.value)


@pytest.mark.parametrize(
    ("value", "kind", "system", "shown"),
    [
        (0.0254, "length", "inch", "0.0010 in"), (0.0345678, "length", "mm", "0.035 mm"), (110.0, "temperature", "inch", "230 °F"), (170.0, "time", "mm", "2 min 50 s"),
        (45.0, "torque", "inch", "33.2 lbf·ft"), (-0.05, "length", "mm", "−0.050 mm"), (10.0, "mass", "inch", "22.0 lb"), (0.00001, "length", "mm", "0.000 mm"), (7.570823568, "volume", "inch", "2.00 US gal"), (6.5, "volume", "mm", "6.5 L"),
    ],
)  # fmt: skip
def test_figures_are_shown_as_a_fitter_reads_them(value: float, kind: str, system: units.System, shown: str) -> None:
    assert units.show(value, kind, system) == shown


def test_the_readme_lists_every_unit_that_is_accepted_and_no_other() -> None:
    told = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8").split("Accepted units", 1)[1]
    rows = {kind: row for kind, row in re.findall(r"^\| (\w+) \| (.+) \|$", told, re.MULTILINE) if kind in units.SPELLINGS}
    assert list(rows) == ["length", "torque", "volume", "temperature", "time"]
    for kind, row in rows.items():
        listed = set(re.findall(r"`([^`]+)`", row))
        taken = {*units.SPELLINGS[kind], *units.ALSO.get(kind, ())}
        assert listed <= taken, kind
        assert {one.replace("-", " ").replace("\u03bc", "\u00b5") for one in taken} - listed <= {
            "lbf·ft",
            "lbf·in",
            *(one for one in taken if "·" in one),
        }
