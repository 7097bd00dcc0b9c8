"""Energy and time of heating against the outside rows, and the directions a fitter would expect."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import cooling, induction
from tests.calc.rows import Row, cases, rows

PART = cooling.ring(132.5, 110.0, 53.0, 7850.0)


@pytest.mark.parametrize("row", cases("THM-", "induction heating energy and time"))
def test_induction_heater_brings_its_energy_in_its_time(row: Row) -> None:
    run = induction.induction_run(
        row.number("m"),
        row.number("dT"),
        row.number("P_kW") * 1000.0,
        efficiency=row.number("eta"),
        specific_heat=row.number("c"),
        hold=0.0,
    )
    row.near(run.energy / 1000.0, "E")
    row.near(run.total, "t")


def test_quenched_sphere_of_a_textbook_read_as_heating() -> None:
    """Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, 6th edition, Example 5.1, a thermocouple junction, from memory.

    Sphere of 0.706 mm, 8500 kg/m3, 400 J/(kg K), h = 400 W/(m2 K), from 25 to 199 °C in gas at 200 °C: 5.2 s.
    """
    diameter = 0.706
    ball = cooling.HotPart(8500.0 * math.pi / 6.0 * (diameter * 1e-3) ** 3, math.pi * diameter**2, diameter, 400.0)
    found = induction.soak_time(ball, 25.0, 199.0, surroundings=200.0, film=400.0)
    assert found.value == pytest.approx(5.2, abs=0.05)


@given(mass=st.floats(0.1, 500.0), rise=st.floats(1.0, 200.0), power=st.floats(500.0, 50000.0), share=st.floats(0.1, 1.0))
def test_power_that_arrives_times_time_is_the_energy(mass: float, rise: float, power: float, share: float) -> None:
    run = induction.induction_run(mass, rise, power, efficiency=share, hold=30.0)
    assert run.heating * power * share == pytest.approx(run.energy, rel=1e-12)
    assert run.total == run.heating + 30.0
    assert induction.induction_run(mass, rise * 1.1, power, efficiency=share).heating > run.heating


@given(start=st.floats(0.0, 40.0), end=st.floats(50.0, 115.0), film=st.floats(5.0, 200.0))
def test_part_left_for_the_soak_time_has_reached_its_temperature(start: float, end: float, film: float) -> None:
    # The same body by 20 000 small steps of Newton's law.
    found = induction.soak_time(PART, start, end, surroundings=120.0, film=film)
    temperature, steps = start, 20000
    rate = film * PART.surface * 1e-6 / (PART.mass * PART.specific_heat)
    growth = math.exp(-rate * found.value / steps)
    for _ in range(steps):
        temperature = 120.0 - (120.0 - temperature) * growth
    assert temperature == pytest.approx(end, abs=1e-6)
    assert found.low < found.value < found.high


def test_oil_is_quicker_than_an_oven_and_a_hotter_oven_quicker_than_a_cooler_one() -> None:
    oven = induction.soak_time(PART, 20.0, 110.0, surroundings=120.0)
    assert induction.soak_time(PART, 20.0, 110.0, surroundings=120.0, film=induction.FILM_OIL).value < oven.value
    assert induction.soak_time(PART, 20.0, 110.0, surroundings=130.0).value < oven.value
    assert induction.soak_time(PART, 20.0, 20.0, surroundings=120.0).value == 0.0


def test_part_that_does_not_fit_the_heater_is_told_why() -> None:
    heater = {"max_mass": 40.0, "min_bore": 30.0, "max_width": 150.0}
    assert induction.fits_heater(40.0, 30.0, width=150.0, **heater).fits
    assert induction.fits_heater(41.0, 29.0, width=151.0, **heater).refusals == ("too_heavy", "bore_too_small", "too_wide")
    assert induction.fits_heater(41.0, 60.0, **heater).refusals == ("too_heavy",)


@pytest.mark.parametrize("efficiency", [0.0, -0.1, 1.01, math.nan])
def test_efficiency_outside_its_range_is_refused(efficiency: float) -> None:
    with pytest.raises(ValueError, match="efficiency: .*: accepted: more than 0, up to 1"):
        induction.heating_time(1000.0, 1000.0, efficiency)


def test_heating_that_can_not_be_is_refused_by_field() -> None:
    with pytest.raises(ValueError, match="mass: 0.0: accepted: more than 0"):
        induction.energy(0.0, 90.0)
    with pytest.raises(ValueError, match="rise: -1.0 K: accepted: 0 or more"):
        induction.energy(1.0, -1.0)
    with pytest.raises(ValueError, match="power: 0.0: accepted: more than 0"):
        induction.heating_time(1000.0, 0.0)
    with pytest.raises(ValueError, match="hold: -1.0 s: accepted: 0 or more"):
        induction.induction_run(1.0, 90.0, 1000.0, hold=-1.0)
    with pytest.raises(ValueError, match="end: 120.0 °C: accepted: below the surroundings"):
        induction.soak_time(PART, 20.0, 120.0, surroundings=120.0)
    with pytest.raises(ValueError, match="end: 10.0 °C: accepted: the start"):
        induction.soak_time(PART, 20.0, 10.0, surroundings=120.0)
    with pytest.raises(ValueError, match="film: 0.0: accepted: more than 0"):
        induction.soak_time(PART, 20.0, 110.0, surroundings=120.0, film=0.0)


def test_every_heating_time_row_of_the_outside_checks_has_its_case() -> None:
    ours = [row for row in rows("THM-") if int(row.id[4:]) >= 50]
    assert [row.id for row in ours if "induction heating energy and time" not in row.quantity] == []
