"""Heating, materials and cooling against outside values, and the directions a fitter would expect."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import cooling, heat, materials
from tests.calc.rows import Row, cases, rows

MICRO = 1e-6
RING_AIR = cooling.Air(viscosity=1.97e-5, conductivity=0.0291, prandtl=0.70)
STEEL = 12.5e-6

MATERIAL_ROWS = {
    "linear expansion coefficient, carbon steel": ("steel", "expansion", 1.0 / MICRO),
    "linear expansion coefficient, bearing bronze": ("bronze", "expansion", 1.0 / MICRO),
    "linear expansion coefficient, aluminium": ("aluminium", "expansion", 1.0 / MICRO),
    "linear expansion coefficient, iron and steel": ("steel", "expansion", 1.0 / MICRO),
    "density, steel 52100": ("bearing steel", "density", 1.0),
    "density, grey cast iron": ("grey iron", "density", 1.0),
    "specific heat, grey cast iron": ("grey iron", "specific_heat", 1.0),
    "thermal conductivity, grey cast iron": ("grey iron", "conductivity", 1.0),
}


@pytest.mark.parametrize("row", [case for quantity in MATERIAL_ROWS for case in cases("THM-", quantity)])
def test_material_in_use_agrees_with_the_outside_value(row: Row) -> None:
    (name, field, scale) = next(found for quantity, found in MATERIAL_ROWS.items() if quantity in row.quantity)
    row.near(getattr(materials.material(name), field) * scale)


@pytest.mark.parametrize("row", cases("THM-", "linear expansion coefficient, bronze (shop table)"))
def test_the_shop_table_value_for_bronze_is_kept_as_a_note(row: Row) -> None:
    (note,) = [note for note in materials.notes("bronze") if note.property == "expansion" and not note.in_use]
    row.near(note.value)


@pytest.mark.parametrize("row", cases("THM-", "linear expansion, carbon steel, total"))
def test_steel_elongation_follows_the_printed_curve(row: Row) -> None:
    row.near(materials.steel_elongation(row.number("T")) * 1e3)


@pytest.mark.parametrize("row", cases("THM-", "specific heat, carbon steel at"))
def test_steel_specific_heat_follows_the_printed_curve(row: Row) -> None:
    row.near(materials.steel_specific_heat(row.number("T")))


@pytest.mark.parametrize("name", materials.names())
def test_every_material_has_one_value_in_use_for_each_property(name: str) -> None:
    used = [note.property for note in materials.notes(name) if note.in_use]
    assert len(used) == len(set(used))
    made = materials.material(name)
    assert made.expansion > 0.0 and made.density > 500.0 and made.specific_heat > 100.0 and made.youngs_modulus > 1.0
    assert 0.2 < made.poisson_ratio < 0.5


def test_an_unknown_material_is_refused_with_the_list_of_known_ones() -> None:
    with pytest.raises(ValueError, match="accepted: steel, bearing steel"):
        materials.material("tin")


@pytest.mark.parametrize("row", cases("THM-", "bore growth on heating"))
def test_bore_grows_as_an_evenly_heated_ring(row: Row) -> None:
    row.near(heat.growth(row.number("d"), row.number("alpha"), row.number("dT")))


@pytest.mark.parametrize("row", cases("THM-", "heating temperature for a fit"))
def test_heater_setting_gives_the_joining_clearance(row: Row) -> None:
    got = heat.heating_temperature(
        row.number("d"),
        row.number("I_max"),
        row.number("alpha"),
        joining_clearance=row.number("joining_clearance"),
        start=row.number("T0"),
    )
    row.near(got)


@pytest.mark.parametrize("row", cases("THM-", "common upper limit for heating a rolling bearing"))
def test_rolling_bearing_limit_is_the_common_one_unless_the_owner_enters_another(row: Row) -> None:
    row.near(heat.heat_plan("bearing ring", 60.0, -0.02, STEEL).limit)
    assert heat.heat_plan("bearing ring", 60.0, -0.02, STEEL, limit=100.0).limit == 100.0


def test_light_bearing_fit_is_heated_to_the_usual_setting_and_states_what_is_left_at_the_limit() -> None:
    plan = heat.heat_plan("bearing ring", 75.0, -0.013, STEEL)
    # 110 °C: common practice for rolling bearings, no standard
    assert plan.recommended == 110.0
    assert plan.slides and plan.has_full_clearance
    # 75 * 12.5e-6 * 100 K - 0.013 by hand
    assert plan.clearance_at_limit == pytest.approx(0.08075, abs=1e-9)


def test_heavy_bearing_fit_is_heated_past_the_usual_setting_but_not_past_its_limit() -> None:
    # Just clears at 20 + 0.056 / (50 * 12.5e-6) = 109.6 °C by hand; 20 K above that would pass 120 °C.
    plan = heat.heat_plan("bearing ring", 50.0, -0.056, STEEL)
    assert plan.just_clears == pytest.approx(109.6)
    assert plan.limit - plan.recommended == heat.THERMOMETER
    assert heat.heat_plan("bearing ring", 50.0, -0.056, STEEL, limit=140.0).recommended == pytest.approx(129.6)


def test_heavy_gear_fit_stops_at_the_limit_of_case_hardened_teeth() -> None:
    plan = heat.heat_plan("gear", 50.0, -0.050, 12.0e-6)
    assert plan.wanted > plan.limit == 150.0
    assert plan.recommended == 140.0  # 10 K in hand for overshoot: it still slides there
    tight = heat.heat_plan("gear", 50.0, -0.070, 12.0e-6, sliding_clearance=0.02)  # slides only at 20 + 0.090 / 0.0006 = 170 °C
    assert tight.recommended == 145.0  # and never closer to the limit than 5 K
    assert not plan.has_full_clearance
    # 50 * 12e-6 * 120 K - 0.050 by hand
    assert plan.clearance_at_recommended == pytest.approx(0.022, abs=1e-9)


def test_gear_that_never_slides_below_its_limit_is_said_not_to_slide() -> None:
    assert not heat.heat_plan("gear", 50.0, -0.050, 12.0e-6, limit=90.0).slides


def test_warm_shaft_asks_for_a_hotter_hub() -> None:
    cold = heat.heat_plan("gear", 90.0, -0.093, 12.0e-6, limit=250.0)
    warm = heat.heat_plan("gear", 90.0, -0.093, 12.0e-6, limit=250.0, shaft_temperature=35.0)
    assert warm.just_clears == pytest.approx(cold.just_clears + 15.0, abs=1e-9)


def test_limit_below_the_shaft_temperature_is_refused() -> None:
    with pytest.raises(ValueError, match="above the shaft's temperature"):
        heat.heat_plan("gear", 90.0, -0.05, STEEL, limit=15.0)


@given(
    diameter=st.floats(20.0, 200.0),
    interference=st.floats(0.001, 0.15),
    alpha=st.floats(9e-6, 2.5e-5),
    shaft=st.floats(-10.0, 40.0),
)
def test_at_the_just_clearing_temperature_nothing_is_left(diameter: float, interference: float, alpha: float, shaft: float) -> None:
    plan = heat.heat_plan("gear", diameter, -interference, alpha, shaft_temperature=shaft, limit=2000.0)
    if plan.just_clears > heat.REFERENCE:
        left = heat.clearance_at(-interference, diameter, alpha, hub_temperature=plan.just_clears, shaft_temperature=shaft)
        assert left == pytest.approx(0.0, abs=1e-12)
    assert plan.clearance_at_limit >= plan.clearance_at_recommended


def test_hot_ring_does_not_enter_a_cold_housing_that_it_would_enter_cold() -> None:
    cold = heat.enters_housing(110.0, (-0.015, 0.0), (0.0, 0.022), 0.0, STEEL)
    hot = heat.enters_housing(110.0, (-0.015, 0.0), (0.0, 0.022), 90.0, STEEL)
    assert (cold.low, cold.high) == pytest.approx((0.0, 0.037), abs=1e-12)
    assert hot.high == pytest.approx(0.037 - 0.12375, abs=1e-12)
    both = heat.enters_housing(110.0, (-0.015, 0.0), (0.0, 0.022), 90.0, STEEL, housing_rise=90.0)
    assert both.low == pytest.approx(0.0, abs=1e-12)


def _ring(row: Row) -> cooling.HotPart:
    return cooling.ring(row.number("OD"), row.number("ID"), row.number("B"), row.number("rho"), specific_heat=row.number("c"))


@pytest.mark.parametrize("row", cases("THM-", "Rayleigh number, hot ring"))
def test_rayleigh_number_of_a_hot_ring(row: Row) -> None:
    row.near(cooling.grashof_number(row.number("D") * 1e3, row.number("Ts"), row.number("Ta"), RING_AIR) * RING_AIR.prandtl)


@pytest.mark.parametrize("row", cases("THM-", "Nusselt number, horizontal cylinder"))
def test_nusselt_number_of_a_horizontal_cylinder(row: Row) -> None:
    row.near(cooling.nusselt_number(row.number("Pr"), row.number("Gr")))


@pytest.mark.parametrize("row", cases("THM-", "natural convection + radiation per metre"))
def test_textbook_pipe_loses_its_heat_by_convection_and_radiation(row: Row) -> None:
    """Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, 6th edition (edition from memory), Example 9.4: 325 and 441 W/m."""
    outside, hot, room = row.number("D") * 1e3, row.number("Ts"), row.number("Ta")
    air = cooling.Air(row.number("nu"), row.number("k"), row.number("Pr"), row.number("beta"))
    per_metre = math.pi * row.number("D") * (hot - room)
    row.near(cooling.convection_coefficient(outside, hot, room, air) * per_metre, "q_conv")
    row.near(cooling.radiation_coefficient(hot, room, row.number("eps")) * per_metre, "q_rad")


@pytest.mark.parametrize("row", cases("THM-", "radiative coefficient"))
def test_radiation_coefficient_of_a_grey_body(row: Row) -> None:
    row.near(cooling.radiation_coefficient(row.number("Ts"), row.number("Ta"), row.number("eps")))


@pytest.mark.parametrize("row", cases("THM-", "time for hot ring to cool in still air"))
def test_hot_ring_cools_in_still_air_in_the_stated_time(row: Row) -> None:
    got = cooling.cooling_time(_ring(row), row.number("T0"), row.number("T"), row.number("Ta"), RING_AIR)
    row.near(got.value)
    assert got.low == pytest.approx(0.8 * got.value) and got.high == pytest.approx(1.2 * got.value)


@pytest.mark.parametrize("row", cases("THM-", "ring temperature 60 s after heater off"))
def test_ring_temperature_a_minute_after_the_heater(row: Row) -> None:
    got = cooling.temperature_after(_ring(row), row.number("T0"), row.number("t"), row.number("Ta"), RING_AIR)
    row.near(got.value)
    assert got.low < got.value < got.high


@pytest.mark.parametrize("row", cases("THM-", "lumped time constant"))
def test_time_constant_of_a_lumped_body(row: Row) -> None:
    got = cooling.time_constant(row.number("m"), row.number("c"), row.number("h_total"), row.number("A") * 1e6)
    row.near(got)


@given(start=st.floats(60.0, 200.0), seconds=st.floats(1.0, 3000.0), room=st.floats(-5.0, 40.0))
def test_time_to_a_temperature_and_temperature_after_that_time_are_inverse(start: float, seconds: float, room: float) -> None:
    part = cooling.ring(132.5, 110.0, 53.0, 7850.0)
    reached = cooling.temperature_after(part, start, seconds, room).value
    assert cooling.cooling_time(part, start, reached, room).value == pytest.approx(seconds, rel=1e-5)


def test_eight_steps_of_the_integration_are_enough() -> None:
    part = cooling.ring(132.5, 110.0, 53.0, 7850.0)
    coarse = cooling._after(part, 200.0, 7200.0, 20.0, cooling.STEADY_AIR)
    assert coarse == pytest.approx(cooling._after(part, 200.0, 7200.0, 20.0, cooling.STEADY_AIR, 160), abs=1e-3)


def test_air_formulas_give_the_tabulated_air_at_film_temperature() -> None:
    # Air of the rows THM-038 and THM-044, at a film temperature of 65 °C; the formulas are good to about 2 %.
    air = cooling.air_at(65.0)
    assert air.viscosity == pytest.approx(1.97e-5, rel=0.02)
    assert air.conductivity == pytest.approx(0.0291, rel=0.02)
    assert air.prandtl == pytest.approx(0.70, rel=0.02)


def _carry(**changed: float) -> cooling.Seconds:
    numbers = {"setting": 110.0, "diameter": 110.0, "clearance": -0.05, "expansion": STEEL, "least_clearance": 0.02} | changed
    setting = numbers.pop("setting")
    return cooling.carry_time(cooling.ring(132.5, 110.0, 53.0, 7850.0), setting, **numbers)


def test_carry_time_ends_where_the_least_sliding_clearance_is_left() -> None:
    part = cooling.ring(132.5, 110.0, 53.0, 7850.0)
    bore = cooling.temperature_after(part, 110.0, _carry().value).value
    assert heat.clearance_at(-0.05, 110.0, STEEL, hub_temperature=bore) == pytest.approx(0.02, abs=1e-6)


def test_hotter_bore_gives_more_time_and_a_tighter_fit_or_a_warm_shaft_less() -> None:
    assert _carry(setting=120.0).value > _carry().value
    assert _carry(clearance=-0.06).value < _carry().value
    assert _carry(shaft_temperature=35.0).value < _carry().value


def test_no_time_is_left_when_the_bore_does_not_clear_and_no_end_when_it_slides_cold() -> None:
    assert _carry(setting=60.0).value == 0.0
    assert _carry(clearance=0.05).value == math.inf


def test_cooling_below_the_room_temperature_is_refused() -> None:
    with pytest.raises(ValueError, match="above 20.0 °C"):
        cooling.cooling_time(cooling.ring(132.5, 110.0, 53.0, 7850.0), 110.0, 20.0)


def test_every_heating_row_of_the_outside_checks_has_its_case() -> None:
    # Cold fits (THM-029 to 036) and induction heating (THM-050, 051) have no function here.
    known = [*MATERIAL_ROWS, "(shop table)", "linear expansion, carbon steel", "specific heat, carbon", "bore growth"]
    known += ["heating temperature", "common upper limit", "Rayleigh", "Nusselt", "natural convection", "radiative"]
    known += ["time for hot ring", "ring temperature", "lumped"]
    numbers = [*range(2, 29), *range(38, 50)]
    ours = [row for row in rows("THM-") if int(row.id[4:]) in numbers]
    assert [row.id for row in ours if not any(word in row.quantity for word in known)] == []
