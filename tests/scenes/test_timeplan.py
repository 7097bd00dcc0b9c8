"""The time plan: heating by hand, cooling between hand-made bounds, sums that add up, waits that are named."""

from __future__ import annotations

import math
from functools import cache
from importlib.resources import files
from typing import Any

import pytest

from calc.cooling import Seconds
from geometry import mass
from geometry.machine import parse
from scenes import handling, timeplan
from scenes.callouts.heating import hot_body, joint_of
from scenes.explain import Explainer
from scenes.procedure_file import ProcedureError
from scenes.timeplan import StepTime, TimePlan

STEEL_HEAT = 460.0
"""Specific heat of steel [J/(kg K)]: handbooks print 450 to 490."""


@cache
def explainer(name: str = "millrace", *changes: tuple[str, str]) -> Explainer:
    """A shipped machine with some texts replaced; each must be there."""
    content = files("scenes").joinpath("machines", f"{name}.toml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in content, old
        content = content.replace(old, new, 1)
    return Explainer(parse(content.encode()))


def plan(name: str = "millrace", *changes: tuple[str, str], **settings: Any) -> TimePlan:
    machine = explainer(name, *changes)
    return machine.times(machine.with_(machine.start_settings(), step=None, **settings))


def rows(found: TimePlan) -> dict[str, StepTime]:
    return {row.id: row for row in found.steps}


def gear_mass(machine: Explainer) -> float:
    stage = machine.stage(machine.start_settings())
    return mass.properties(stage.reducer.by_name["gear"].spec).mass


def gear_surface(machine: Explainer) -> float:
    now = machine.start_settings()
    stage = machine.stage(now)
    bench = stage.bench(machine.procedure.steps["gear_hot"], now)
    joint = joint_of(bench)
    assert joint is not None
    return hot_body(bench.reducer, joint).surface


def test_the_gear_heats_as_long_as_its_mass_and_the_heater_of_the_file_say() -> None:
    # t = m c dT / (eta P) + hold, energy balance by hand: 140 °C from 20 °C, 3.6 kW at 75 %, 60 s
    weight = gear_mass(explainer())
    assert 25.0 < weight < 40.0
    heating = rows(plan(heater=140.0))["gear_hot"].heating
    assert heating is not None and heating.heater == "induction" and heating.oven is None
    assert heating.energy == pytest.approx(weight * STEEL_HEAT * 120.0, rel=1e-9)
    assert heating.time.value == pytest.approx(weight * STEEL_HEAT * 120.0 / (0.75 * 3600.0) + 60.0, rel=1e-9)


def test_a_part_too_heavy_for_the_heater_goes_into_the_oven() -> None:
    # m c / (h A) ln((Ts - T0) / (Ts - T1)) + hold by hand, h = 20 W/(m2 K), oven 10 K above the wanted 130 °C; A in m2
    changes = ('heater_largest_mass = "40 kg"', 'heater_largest_mass = "20 kg"')
    machine = explainer("millrace", changes)
    heating = rows(plan("millrace", changes, heater=130.0))["gear_hot"].heating
    assert heating is not None
    assert (heating.heater, heating.refused, heating.oven) == ("oven", "too_heavy", pytest.approx(140.0))
    lag = gear_mass(machine) * STEEL_HEAT / (20.0 * gear_surface(machine) * 1e-6)
    assert heating.time.value == pytest.approx(lag * math.log(120.0 / 10.0) + 60.0, rel=1e-9)
    assert heating.time.low < heating.time.value < heating.time.high
    assert rows(plan("millrace", changes))["pinion_hot"].heating.heater == "induction"  # type: ignore[union-attr]


def test_an_oven_never_stands_above_the_limit_of_the_part() -> None:
    changes = ('heater_smallest_bore = "30 mm"', 'heater_smallest_bore = "55 mm"')
    heating = rows(plan("millrace", changes))["pinion_hot"].heating
    assert heating is not None
    assert (heating.heater, heating.refused) == ("oven", "bore_too_small")
    assert heating.end == heating.oven == pytest.approx(145.0)  # 5 K under the limit of 150 °C
    assert rows(plan("millrace", changes))["gear_hot"].heating.heater == "induction"  # type: ignore[union-attr]


def test_without_a_heater_in_the_file_every_heating_is_by_oven_and_says_why() -> None:
    found = plan("millrace", ('heater_power = "3.6 kW"', ""))
    heatings = [row.heating for row in found.steps if row.heating]
    assert [heating.refused for heating in heatings] == ["no_heater"] * 4
    assert {heating.heater for heating in heatings} == {"oven"}


@pytest.mark.parametrize("name", ["millrace", "slipway"])
def test_every_hot_step_is_heated_and_no_other(name: str) -> None:
    found = plan(name)
    assert [row.id for row in found.steps if row.heating] == [row.id for row in found.steps if row.method == "hot"]


def test_the_slipway_gear_is_over_the_mass_of_its_heater() -> None:
    # 18 lb in the file; the gear by its solid
    assert gear_mass(explainer("slipway")) > 18.0 * 0.45359237
    heating = rows(plan("slipway"))["gear_hot"].heating
    assert heating is not None and heating.refused == "too_heavy"


def test_cooling_waits_stand_where_the_procedure_waits() -> None:
    found = {row.id: row.cooling.hot_step for row in plan().steps if row.cooling}
    assert found == {
        "gear_feeler": "gear_hot",
        "lower_inner_ring": "lower_inner_ring",
        "inner_inner_ring": "inner_inner_ring",
        "pinion_feeler": "pinion_hot",
    }


def test_the_gear_cools_within_what_newtons_law_gives_for_still_air() -> None:
    # t = m c / (h A) ln(dT0 / dT1); free convection and radiation from oily steel at 25 to 140 °C: h 6 to 15 W/(m2 K), textbooks
    machine = explainer()
    cooling = rows(plan(heater=140.0))["gear_feeler"].cooling
    assert cooling is not None
    assert (cooling.start, cooling.end) == (140.0, 25.0)
    lag = gear_mass(machine) * STEEL_HEAT / (gear_surface(machine) * 1e-6) * math.log(120.0 / 5.0)
    assert lag / 15.0 < cooling.time.value < lag / 6.0
    assert cooling.time.low == pytest.approx(0.8 * cooling.time.value)
    assert cooling.time.high == pytest.approx(1.2 * cooling.time.value)


def test_a_heavier_part_cools_longer_and_a_warmer_room_or_a_cooler_heater_shortens_the_wait() -> None:
    found = rows(plan(heater=140.0))
    gear, pinion = found["gear_feeler"].cooling, found["pinion_feeler"].cooling
    assert gear is not None and pinion is not None
    assert gear.time.value > 1.3 * pinion.time.value
    slim = rows(plan("millrace", ('hub_diameter = "132 mm"', 'hub_diameter = "115 mm"'), heater=140.0))["gear_feeler"].cooling
    assert gear_mass(explainer("millrace", ('hub_diameter = "132 mm"', 'hub_diameter = "115 mm"'))) < gear_mass(explainer())
    assert slim is not None and slim.time.value < gear.time.value
    cooler = rows(plan(heater=100.0))["gear_feeler"].cooling
    assert cooler is not None and cooler.time.value < gear.time.value


def test_what_has_passed_since_the_fit_is_taken_off_the_wait() -> None:
    found = rows(plan())
    waiting, nut = found["pinion_feeler"], found["pinion_nut"]
    assert waiting.cooling is not None
    assert waiting.waiting.value == pytest.approx(waiting.cooling.time.value - nut.total.value)
    assert waiting.waiting.low == pytest.approx(waiting.cooling.time.low - nut.total.high)
    assert found["gear_feeler"].waiting == found["gear_feeler"].cooling.time  # type: ignore[union-attr]


def test_a_cold_heater_makes_no_heat_and_no_wait() -> None:
    found = plan(heater=20.0)
    assert found.job.heating == found.job.waiting == Seconds(0.0, 0.0, 0.0)
    assert found.waits == ()


@pytest.mark.parametrize("name", ["millrace", "slipway"])
def test_sums_add_up(name: str) -> None:
    found = plan(name)
    for kind in ("value", "low", "high"):
        steps = [getattr(row.total, kind) for row in found.steps]
        assert getattr(found.job.total, kind) == pytest.approx(sum(steps))
        assert getattr(found.job.total, kind) == pytest.approx(sum(getattr(sums.total, kind) for _, sums in found.phases))
        parts = [getattr(getattr(found.job, part), kind) for part in ("heating", "handling", "waiting")]
        assert getattr(found.job.total, kind) == pytest.approx(sum(parts))
    assert found.job.total.low < found.job.total.value < found.job.total.high
    skipped = [row for row in found.steps if row.phase == "dry_trial"]
    assert found.optional.total.value == pytest.approx(sum(row.total.value for row in skipped))
    assert skipped and found.optional.total.value < found.job.total.value
    assert [row.id for row in found.steps] == list(explainer(name).procedure.order)


def test_screws_and_wired_heads_are_counted() -> None:
    # counts of the machine file: 5 split screws a side, 8 carrier screws wired; times of the shipped file
    times = handling.shipped()
    found = rows(plan())
    assert found["split_screws"].pieces == (("screw", 10),)
    assert found["split_screws"].handling.value == pytest.approx(600.0 + 10 * 90.0)
    assert dict(found["carrier_screws"].pieces) == {"screw": 8, "wired_head": 8}
    assert dict(found["trial_open"].pieces) == {"dowel": 2}
    assert dict(found["oil_first_run"].pieces) == {"checked_screw": 10 + 8 + 8 + 6 + 6}
    assert found["split_screws"].handling.high == pytest.approx(found["split_screws"].handling.value * (1.0 + times.spread))
    more = rows(plan("millrace", ("per_side = 5", "per_side = 7")))
    assert more["split_screws"].total.value - found["split_screws"].total.value == pytest.approx(4 * 90.0)


@pytest.mark.parametrize("name", ["millrace", "slipway"])
def test_every_wait_of_ten_minutes_is_named_with_what_other_benches_allow(name: str) -> None:
    found, steps = plan(name), explainer(name).procedure.steps
    long = {(row.id, "heating") for row in found.steps if row.heating_time.value >= 600.0}
    long |= {(row.id, "cooling") for row in found.steps if row.waiting.value >= 600.0}
    assert {(wait.step, wait.kind) for wait in found.waits} == long
    assert len(long) >= 4
    assert found.waits[0].meanwhile
    chosen = [step for wait in found.waits for step in wait.meanwhile]
    assert len(chosen) == len(set(chosen))  # nobody does the same step twice
    for wait in found.waits:
        bench, at = steps[wait.step].bench, steps[wait.step].number
        for step in wait.meanwhile:
            assert steps[step].number > at
            assert steps[step].bench != bench and steps[step].merges != bench
            assert steps[step].method != "hot"


def test_what_is_done_meanwhile_leaves_out_nothing_that_its_bench_needs_first() -> None:
    found, procedure = plan(), explainer().procedure
    forward: set[str] = set()
    for wait in found.waits:
        done = set(procedure.order[: procedure.order.index(wait.step)]) | forward
        forward |= set(wait.meanwhile)
        for name in wait.meanwhile:
            step = procedure.steps[name]
            needed = {step.bench, step.merges} - {""}
            before = [item for item in procedure.order[: procedure.order.index(name)] if procedure.steps[item].bench in needed]
            assert set(before) <= done, (wait.step, name)
            done.add(name)


# ---- handling times --------------------------------------------------------------------------------------------------


def test_an_owners_file_stands_over_the_shipped_times_line_by_line() -> None:
    shipped = handling.shipped()
    own = handling.parse(b'spread = "50 %"\n[method]\nhot = "1 h"\n[step]\npump = "2 h"\n', "mine.toml", shipped)
    assert (own.spread, own.method["hot"], own.step["pump"]) == (0.5, 3600.0, 7200.0)
    assert own.method["press"] == shipped.method["press"] and own.piece == shipped.piece
    machine = explainer()
    now = machine.with_(machine.start_settings(), step=None)
    changed = timeplan.plan(machine.stage(now), now, own)
    assert rows(changed)["gear_hot"].handling.value == 3600.0


@pytest.mark.parametrize(
    "content, wanted",
    [
        ('[method]\nhott = "5 min"', "mine.toml: method.hott: unknown key: did you mean hot?"),
        ("[method]\nhot = 5", "mine.toml: method.hot = 5: give a unit"),
        ('[method]\nhot = "5 mm"', "mine.toml: method.hot = '5 mm': unit 'mm' is not a time"),
        ('[piece]\nscrew = "-1 min"', "mine.toml: piece.screw = '-1 min': accepted: 0 s to 168 h 00 min"),
        ('[step]\ngear_hto = "5 min"', "mine.toml: step.gear_hto: unknown key: did you mean gear_hot?"),
        ('spread = "200 %"', "mine.toml: spread = '200 %': accepted: 0 % to 90 %"),
        ("method = 3", "mine.toml: method = 3: accepted: a table [method]"),
        ('[methods]\nhot = "5 min"', "mine.toml: methods: unknown key: did you mean method?"),
        ("[method", "mine.toml: not valid TOML"),
        ("", "mine.toml: the file is empty"),
    ],
)
def test_a_faulty_handling_file_is_refused_by_field(content: str, wanted: str) -> None:
    with pytest.raises(ProcedureError) as caught:
        handling.parse(content.encode(), "mine.toml", handling.shipped())
    assert any(line.startswith(wanted) for line in caught.value.faults), caught.value.faults
