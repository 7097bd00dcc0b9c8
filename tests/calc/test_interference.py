"""Interference joints against textbooks' numbers and Lamé's formulas by hand, and the directions a fitter would expect."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import interference, press
from tests.calc.rows import Row, cases, leading_number, rows

INCH = 25.4
PSI = 0.006894757293168361
"""MPa in one psi."""
LBF_IN = 0.1129848290276167
"""N·m in one lbf in."""
MICRON = 1e-3
STEEL = 210000.0
IRON_HUB = {"hub_modulus": 14e6 * PSI, "hub_poisson": 0.28, "shaft_modulus": 30e6 * PSI, "shaft_poisson": 0.28}
"""Grey iron hub on a steel shaft, as Norton, Machine Design 4e, Example 10-5 gives them."""

sizes = st.floats(20.0, 200.0)
walls = st.floats(1.1, 5.0)
hollows = st.floats(0.0, 0.9)
amounts = st.floats(0.001, 0.1)


def _modulus(row: Row) -> float:
    """Young's modulus of a metric row [MPa]: '206 GPa' or '69000 MPa'."""
    text = row.given["E"]
    return leading_number(text) * (1000.0 if "GPa" in text else 1.0)


@pytest.mark.parametrize("row", cases("INT-001"))
def test_pressure_of_a_steel_shaft_in_a_steel_hub_by_radial_interference(row: Row) -> None:
    """Brown, Marks' Calculations for Machine Design, edition of 2005, Example 6, p. 136: 2083 psi (the book rounds to 2100)."""
    diameter, outside = (2.0 * row.number(name) * INCH for name in ("R", "ro"))
    modulus = row.number("E") * PSI
    diametral = 2.0 * row.number("radial_interference") * INCH
    row.near(interference.pressure(diametral, diameter, outside, hub_modulus=modulus, shaft_modulus=modulus) / PSI)


@pytest.mark.parametrize("row", [*cases("INT-003"), *cases("INT-004")])
def test_pressure_and_hoop_stress_of_a_steel_shaft_in_an_iron_hub(row: Row) -> None:
    diameter, outside = row.number("d") * INCH, row.number("D") * INCH
    modulus = {"hub_modulus": row.number("Eo") * PSI, "shaft_modulus": row.number("Ei") * PSI}
    ratio = {"hub_poisson": row.number("nu"), "shaft_poisson": row.number("nu")}
    found = interference.pressure(row.number("diametral_interference") * INCH, diameter, outside, **modulus, **ratio)
    row.near((interference.hub_hoop_stress(found, diameter, outside) if "hoop" in row.quantity else found) / PSI)


@pytest.mark.parametrize("row", cases("INT-006"))
def test_interference_is_diametral_here(row: Row) -> None:
    modulus = _modulus(row)
    got = interference.pressure(
        row.number("diametral_interference"), row.number("d"), row.number("D"), hub_modulus=modulus, shaft_modulus=modulus
    )
    row.near(got)


@pytest.mark.parametrize("row", [*cases("INT-007"), *cases("INT-", "interference fit, steel hub on steel shaft")])
def test_pressure_stress_force_and_torque_of_a_steel_joint(row: Row) -> None:
    modulus, given_names = _modulus(row), row.given
    amount = row.number("I" if "I" in given_names else "diametral_interference")
    diameter, outside, length, mu = (row.number(name) for name in ("d", "D", "L", "mu"))
    made = interference.joint(
        amount,
        diameter,
        outside,
        length=length,
        hub_yield=600.0,
        shaft_yield=600.0,
        hub_modulus=modulus,
        shaft_modulus=modulus,
        holding=interference.Friction(mu, mu),
    )
    row.near(made.pressure, "p")
    row.near(made.hub_hoop_stress, "hoop")
    row.near(made.holding_torque.low / 1000.0, "T")
    if "F" in row.expected_texts:
        row.near(made.holding_force.low / 1000.0, "F")
    assert made.holding_torque.low == made.holding_torque.high


@pytest.mark.parametrize("row", cases("INT-", "effective interference after smoothing"))
def test_smoothing_takes_its_part_of_the_interference(row: Row) -> None:
    rough = (row.number("RzA") * MICRON, row.number("RzI") * MICRON)
    row.near(interference.effective_interference(row.number("U"), *rough))


def test_a_joint_no_tighter_than_its_roughness_holds_nothing() -> None:
    """DIN 7190-1: 0.8 (Rz + Rz) of the interference is lost; what is less has no pressure left to hold with."""
    made = interference.joint(
        0.007, 40.0, 70.0, length=50.0, hub_yield=300.0, shaft_yield=500.0, shaft_roughness=0.004, hub_roughness=0.0063
    )
    assert made.effective == made.holding_pressure == made.holding_torque.high == 0.0 and made.pressure > 0.0


def test_press_fitted_gear_of_a_textbook_from_interference_to_torque() -> None:
    """Norton, Machine Design, 4th edition, Example 10-5: iron hub 3.00 in outside, 1.50 in long, on a 0.781 in steel shaft, 0.0015 in tight.

    The book's pressure is 15 265 psi, its peak torque 146 lbf in. Torque by Shigley 9e eq. 7-49, T = (pi/2) f p l d^2, by hand with
    f = 0.10: (pi/2) 0.10 * 15 265 * 1.50 * 0.781^2 = 2193.9 lbf in.
    """
    made = interference.joint(
        0.0015 * INCH,
        0.781 * INCH,
        3.00 * INCH,
        length=1.50 * INCH,
        hub_yield=32e3 * PSI,
        shaft_yield=44e3 * PSI,
        holding=interference.SHRUNK_IRON,
        **IRON_HUB,
    )
    assert made.pressure / PSI == pytest.approx(15265.0, abs=1.0)
    assert made.holding_torque.low / LBF_IN == pytest.approx(2193.9, rel=1e-3)
    assert made.holding_torque.low / LBF_IN > 146.0
    assert made.yields_first == "hub"
    assert made.use < 1.0


@given(amount=amounts, diameter=sizes, wall=walls, hollow=hollows)
def test_hub_grows_and_shaft_shrinks_by_the_interference(amount: float, diameter: float, wall: float, hollow: float) -> None:
    # Displacements by Lamé for each body alone, with its own constants: they must add up to the interference.
    outside, bore = diameter * wall, diameter * hollow
    p = interference.pressure(amount, diameter, outside, shaft_bore=bore, hub_modulus=110000.0, hub_poisson=0.26)
    hub = p * diameter / 110000.0 * ((outside**2 + diameter**2) / (outside**2 - diameter**2) + 0.26)
    shaft = p * diameter / 206000.0 * ((diameter**2 + bore**2) / (diameter**2 - bore**2) - 0.3)
    assert hub + shaft == pytest.approx(amount, rel=1e-9)


@given(amount=amounts, diameter=sizes, wall=walls)
def test_one_material_and_a_solid_shaft_follow_the_short_formula(amount: float, diameter: float, wall: float) -> None:
    # p = E I / (2 d) (1 - (d/D)^2), Shigley 9e eq. 3-57 with a solid shaft
    expected = STEEL * amount / (2.0 * diameter) * (1.0 - 1.0 / wall**2)
    got = interference.pressure(amount, diameter, diameter * wall, hub_modulus=STEEL, shaft_modulus=STEEL)
    assert got == pytest.approx(expected, rel=1e-9)


@given(diameter=sizes, wall=walls, hollow=hollows)
def test_thicker_hubs_press_harder_and_hollow_shafts_less(diameter: float, wall: float, hollow: float) -> None:
    solid = interference.pressure(0.05, diameter, diameter * wall)
    assert interference.pressure(0.05, diameter, diameter * wall * 1.1) > solid
    assert interference.pressure(0.05, diameter, diameter * wall, shaft_bore=diameter * hollow) <= solid * (1.0 + 1e-12)
    assert interference.pressure(0.05, diameter, math.inf) >= solid


@given(diameter=sizes, wall=walls, hollow=hollows, hub_yield=st.floats(150.0, 900.0), shaft_yield=st.floats(150.0, 900.0))
def test_at_the_yield_interference_the_first_part_just_yields(
    diameter: float, wall: float, hollow: float, hub_yield: float, shaft_yield: float
) -> None:
    body = {"shaft_bore": diameter * hollow, "hub_yield": hub_yield, "shaft_yield": shaft_yield}
    limit, part = interference.yield_interference(diameter, diameter * wall, **body)
    made = interference.joint(limit, diameter, diameter * wall, length=50.0, **body)
    assert made.yields_first == part
    used = {"hub": made.hub_stress / hub_yield, "shaft": made.shaft_stress / shaft_yield}
    assert used[part] == pytest.approx(1.0, rel=1e-9)
    assert max(used.values()) <= 1.0 + 1e-9
    with pytest.raises(interference.InterferenceYields) as refused:
        interference.joint(limit * 1.001, diameter, diameter * wall, length=50.0, **body)
    assert refused.value.yield_interference == limit and refused.value.part == part


@given(diameter=sizes, wall=walls)
def test_equivalent_stress_at_the_bore_is_von_mises_of_hoop_and_pressure(diameter: float, wall: float) -> None:
    made = interference.joint(0.001, diameter, diameter * wall, length=10.0, hub_yield=900.0, shaft_yield=900.0)
    hoop, radial = made.hub_hoop_stress, -made.pressure
    assert made.hub_stress == pytest.approx(math.sqrt(hoop**2 - hoop * radial + radial**2), rel=1e-9)


def test_what_holds_counts_on_smoothed_surfaces_and_low_friction_what_presses_on_full_interference_and_high_friction() -> None:
    made = interference.joint(
        0.060, 80.0, 130.0, length=70.0, hub_yield=400.0, shaft_yield=500.0, shaft_roughness=0.004, hub_roughness=0.0063
    )
    assert made.effective == pytest.approx(0.060 - 0.8 * 0.0103)
    assert made.holding_pressure / made.pressure == pytest.approx(made.effective / made.interference)
    assert made.holding_force.low < made.holding_force.high
    assert made.press_force.low < made.press_force.high
    assert made.holding_torque.low == pytest.approx(made.holding_force.low * 40.0 / 1000.0)


def test_largest_advisable_interference_of_a_bearing_seat_stays_elastic() -> None:
    # 7/10000 of the shaft (common practice) against an inner ring of bearing steel: no yield at 1500 MPa and shaft of 350 MPa.
    limit, _ = interference.yield_interference(110.0, 130.0, hub_yield=1500.0, shaft_yield=350.0)
    assert press.largest_ring_interference(110.0) < limit


@pytest.mark.parametrize(("low", "high"), [(0.0, 0.1), (-0.1, 0.1), (0.2, 0.1), (0.1, math.inf)])
def test_friction_that_is_not_above_zero_is_refused(low: float, high: float) -> None:
    with pytest.raises(ValueError, match=r"friction: .*: accepted: more than 0"):
        interference.Friction(low, high)
    with pytest.raises(ValueError, match=r"friction: .*: accepted: more than 0"):
        interference.holding_force(50.0, 60.0, 70.0, 0.0)


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"amount": 0.0}, "interference: 0.0: accepted: more than 0"),
        ({"amount": -0.01}, "interference: -0.01: accepted: more than 0"),
        ({"outside": 60.0}, "hub outside: 60.0 mm: accepted: more than the joint's diameter"),
        ({"shaft_bore": 60.0}, "shaft bore: 60.0 mm: accepted: 0"),
        ({"length": 0.0}, "length: 0.0: accepted: more than 0"),
        ({"hub_yield": 20.0}, "interference: 0.03 mm yields the hub: accepted: up to"),
    ],
)
def test_joints_that_can_not_be_are_refused_by_field(changed: dict[str, float], said: str) -> None:
    numbers = {
        "amount": 0.03,
        "diameter": 60.0,
        "outside": 90.0,
        "length": 50.0,
        "hub_yield": 300.0,
        "shaft_yield": 500.0,
    } | changed
    amount, diameter, outside = (numbers.pop(name) for name in ("amount", "diameter", "outside"))
    with pytest.raises(ValueError, match=re.escape(said)):
        interference.joint(amount, diameter, outside, **numbers)


def test_every_interference_row_of_the_outside_checks_has_its_case() -> None:
    here = ["INT-001", "INT-003", "INT-004", "INT-006", "INT-007"]
    words = ["interference fit, steel hub on steel shaft", "effective interference after smoothing"]
    words += ["shrink-back axial gap", "largest advisable bearing interference"]  # test_press
    left = [row.id for row in rows("INT-") if row.id not in here and not any(word in row.quantity for word in words)]
    assert left == []
