"""Heating a hub for its shaft: which fit, how hot, what it clears, how long it slides. Shared by the notes, the stage and the time plan.

mm, degC, kg, s.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import pi
from typing import Literal

from calc import cooling, heat, induction, materials
from calc.cooling import Seconds
from geometry.joints import Fit
from geometry.reducer import Reducer
from scenes.callouts.bench import Bench

TIME_IN_HAND = 60.0
"""A ring is set hotter, up to its limit, while less than this is left to slide it home [s]: common practice, no source."""
RING_OUTSIDE = 1.25
"""Outside over bore of an inner ring for its cooling surface [1]: derived."""
Heater = Literal["induction", "oven"]
Reason = Literal["", "too_heavy", "bore_too_small", "no_heater"]
FASTEST = 1.5
"""Fastest rise that heats a part evenly on the induction heater [K/s]: common practice, no source."""
OVEN_ABOVE = 10.0
"""How far above the wanted temperature an oven is set, its limit permitting [K]: common practice, no source."""
OVEN_SHORT = 1.0
"""An oven set to the wanted temperature itself is waited for until the part is this close to it [K]: own choice."""
NO_TIME = Seconds(0.0, 0.0, 0.0)
INDUCTION, OVEN = "induction_heater", "oven"
"""Tools that heat."""


@dataclass(frozen=True)
class Heating:
    """One heating: what is heated [kg], from and to [degC], by what and why not by induction, energy [J], hold and whole time [s].

    `oven`: temperature of the oven [degC], None on the induction heater. The band of an induction heating is not known: low = high.
    """

    part: str
    mass: float
    start: float
    end: float
    heater: Heater
    refused: Reason
    energy: float
    hold: float
    time: Seconds
    oven: float | None = None


def joint_of(bench: Bench) -> Fit | None:
    """The fit that this step makes with a heated hub, if any."""
    if bench.step.method != "hot":
        return None
    for joint in bench.reducer.of_kind(Fit):
        if joint.hub in ("gear", "bearing ring") and joint.bore_part in bench.arriving and joint.shaft_part in bench.standing:
            return joint
    return None


def expansion(joint: Fit) -> float:
    """Expansion coefficient of what carries the bore [1/K]."""
    return materials.material("bearing steel" if joint.hub == "bearing ring" else "steel").expansion


def plan(bench: Bench, joint: Fit) -> heat.HeatPlan:
    """Heating temperatures of this fit [degC]."""
    machine = bench.reducer.machine
    ring = joint.hub == "bearing ring"

    def planned(at_least_this: float | None = None) -> heat.HeatPlan:
        return heat.heat_plan(
            "bearing ring" if ring else "gear",
            joint.diameter,
            joint.clearance[0],
            expansion(joint),
            shaft_temperature=bench.ambient,
            shaft_expansion=materials.material("steel").expansion,
            limit=machine.shop.bearing_heating_limit if ring else machine.gears.heating_limit,
            sliding_clearance=machine.shop.sliding_clearance,
            at_least=at_least_this,
        )

    usual = planned()
    if time_to_slide(bench, joint, usual.recommended).low >= TIME_IN_HAND:
        return usual
    return planned(usual.limit)


def setting_now(bench: Bench, joint: Fit) -> float:
    """Present setting for the part that is heated in this step [degC]: the user's, else the file's, else the recommended one."""
    if bench.settings.heater is not None:
        return bench.settings.heater
    if bench.reducer.machine.shop.heater is not None:
        return bench.reducer.machine.shop.heater
    return plan(bench, joint).recommended


def clearance_now(bench: Bench, joint: Fit, temperature: float) -> tuple[float, float, float]:
    """Least, middle, greatest clearance with the hub at this temperature and the shaft at workshop temperature [mm]."""
    low, middle, high = (
        heat.clearance_at(
            value,
            joint.diameter,
            expansion(joint),
            hub_temperature=temperature,
            shaft_temperature=bench.ambient,
            shaft_expansion=materials.material("steel").expansion,
        )
        for value in joint.clearance
    )
    return low, middle, high


def hot_body(reducer: Reducer, joint: Fit) -> cooling.HotPart:
    """The heated part for the cooling model: its mass from the solid, its surface from its rough size."""
    weight = reducer.weight(joint.bore_part).mass
    if joint.hub == "gear":
        blank = reducer.blank
        index = 0 if joint.bore_part == "pinion" else 1
        outside = 2.0 * blank.axial_point(index, blank.cones.mean, 0.0)[0]
    else:
        outside = joint.diameter * RING_OUTSIDE
    surface = pi * (outside + joint.diameter) * joint.grip + pi / 2.0 * (outside**2 - joint.diameter**2)
    return cooling.HotPart(mass=weight, surface=surface, outside=outside, specific_heat=materials.material("steel").specific_heat)


def heated_mass(reducer: Reducer, joint: Fit) -> float:
    """Mass that the heater heats: the gear, or the ring with all that comes with it [kg]."""
    unit = reducer.by_name[joint.bore_part].unit
    names = reducer.members(unit) if unit else (joint.bore_part,)
    return sum(reducer.weight(name).mass for name in names)


def time_to_slide(bench: Bench, joint: Fit, setting: float) -> cooling.Seconds:
    """Time from the heater until the tightest pair no longer slides by hand [s]."""
    return cooling.carry_time(
        hot_body(bench.reducer, joint),
        setting,
        diameter=joint.diameter,
        clearance=joint.clearance[0],
        expansion=expansion(joint),
        least_clearance=bench.reducer.machine.shop.sliding_clearance,
        ambient=bench.ambient,
        shaft_expansion=materials.material("steel").expansion,
    )


def refused(bench: Bench, joint: Fit) -> Reason:
    """Why a part does not go on the induction heater; empty where it does, else it is heated in an oven."""
    shop = bench.reducer.machine.shop
    if shop.heater_power is None:
        return "no_heater"
    weight = heated_mass(bench.reducer, joint)
    fit = induction.fits_heater(
        weight,
        joint.diameter,
        max_mass=shop.heater_largest_mass if shop.heater_largest_mass is not None else weight,
        min_bore=shop.heater_smallest_bore if shop.heater_smallest_bore is not None else joint.diameter,
    )
    if fit.fits:
        return ""
    return "too_heavy" if "too_heavy" in fit.refusals else "bore_too_small"


def tools_of(bench: Bench) -> tuple[str, ...]:
    """Tools of a step, an oven in the place of the induction heater where the part does not go on that."""
    joint = joint_of(bench)
    if joint is None or not refused(bench, joint):
        return bench.step.tools
    return tuple(dict.fromkeys(OVEN if tool == INDUCTION else tool for tool in bench.step.tools))


def heating_of(bench: Bench) -> Heating | None:
    """Heating of a step: induction heater by the shop's figures, an oven where the part does not go on it. None: nothing is heated."""
    joint = joint_of(bench)
    if joint is None:
        return None
    shop, end = bench.reducer.machine.shop, setting_now(bench, joint)
    body, weight, rise = hot_body(bench.reducer, joint), heated_mass(bench.reducer, joint), max(0.0, end - bench.ambient)
    reason = refused(bench, joint)
    if not reason and shop.heater_power is not None:
        run = induction.induction_run(
            weight,
            rise,
            shop.heater_power,
            efficiency=shop.heater_efficiency,
            specific_heat=body.specific_heat,
            hold=shop.hold_time,
        )
        total = max(run.heating, rise / FASTEST) + run.hold
        time = Seconds(total, total, total) if rise > 0.0 else NO_TIME
        return Heating(joint.bore_part, weight, bench.ambient, end, "induction", "", run.energy, run.hold, time)
    limit = plan(bench, joint).limit
    oven = max(end, min(end + OVEN_ABOVE, limit - heat.THERMOMETER))
    reached = min(end, oven - OVEN_SHORT)
    needed = induction.energy(weight, rise, body.specific_heat)
    time = NO_TIME
    if reached > bench.ambient:
        soak = induction.soak_time(replace(body, mass=weight), bench.ambient, reached, surroundings=oven)
        time = Seconds(*(value + shop.hold_time for value in (soak.value, soak.low, soak.high)))
    return Heating(joint.bore_part, weight, bench.ambient, end, "oven", reason, needed, shop.hold_time, time, oven)
