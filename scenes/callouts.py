"""Live notes of a step, derived from the joints it makes, the parts it moves and the chains it closes.

Internal units (mm, degC, s, kg, N·m). Nobody writes a callout per step: the joints say what there is to say.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from math import pi
from typing import Any, cast

from calc import backlash, chain, cooling, fits, heat, materials, press, units
from geometry import mass
from geometry.joints import (
    Chain,
    DowelJoint,
    Fit,
    GasketJoint,
    KeyJoint,
    MeshJoint,
    NutJoint,
    PortJoint,
    RollerJoint,
    ScrewJoint,
    Vector,
    WireJoint,
)
from geometry.reducer import Reducer, build
from scenes.frame import Callout, Verdict
from scenes.procedure import MAIN_BENCH, Step
from scenes.settings import Settings
from scenes.wording import text

SLACK = 1e-6
"""Limit comparisons get 1 nm of slack [mm]."""
TWO_HANDS = 15.0
"""Mass from which a part is lifted with tackle [kg]: common practice, no source."""
GASKET_STEP = {"mm": 0.1, "inch": 0.0254}
"""Gasket change told in the notes, by unit system: 0.1 mm, 0.001 in [mm]."""
TIME_IN_HAND = 60.0
"""A ring is set hotter, up to its limit, while less than this is left to slide it home [s]: common practice, no source."""
TOO_SHORT = 30.0
"""Time to slide home under which a hot fit is not started [s]: common practice, no source."""
HOTTER_THAN_USUAL = 5.0
"""How far over the usual limit of a bearing ring the setting draws a warning, whatever the owner's limit [K]."""
FORM_GRADE = 6
"""A seat's taper or out-of-round is compared with half of this grade of ISO 286: common practice, no source."""


def verdict_of(value: float, low: float, high: float, low_limit: float, high_limit: float) -> Verdict:
    """`stop` the value is outside, `watch` its band crosses a limit, `fine` the whole band is inside."""
    if value < low_limit - SLACK or value > high_limit + SLACK:
        return "stop"
    if low < low_limit - SLACK or high > high_limit + SLACK:
        return "watch"
    return "fine"


@dataclass(frozen=True, eq=False)
class Bench:
    """What the callouts of one step are computed from: the effective reducer, the step, what arrives in it (of that `merged`, which
    stood together before on a bench of its own), what stands after it, the settings."""

    reducer: Reducer
    step: Step
    arriving: frozenset[str]
    standing: frozenset[str]
    settings: Settings
    merged: frozenset[str] = frozenset()

    @property
    def ambient(self) -> float:
        """Workshop temperature [degC]."""
        return self.settings.ambient if self.settings.ambient is not None else self.reducer.machine.shop.ambient

    def shown(self, value: float, kind: str, **how: Any) -> str:
        """A figure with its unit in the chosen system."""
        return units.show(value, kind, self.settings.units, **how)

    def made(self, parts: Iterable[str]) -> bool:
        """Whether this step brings these parts together: all stand, at least one arrives."""
        names: set[str] = set()
        for name in parts:
            if name:
                names.update(self.reducer.members(name))
        return bool(names) and names <= self.standing and bool(names & self.arriving) and not names <= self.merged

    @property
    def new(self) -> frozenset[str]:
        """What is fitted in this step, without what stood together before."""
        return self.arriving - self.merged

    @cached_property
    def backlash(self) -> tuple[float, float, float]:
        """Backlash at the heel, low and high of its band [mm]: first order about the set's marked mounting distances."""
        machine = self.reducer.machine
        rates = mesh_rates(self.reducer)
        running, gear = closed(self.reducer, self.reducer.chain("pinion_running")), solved(self.reducer.chain("gear_distance"))
        away, down = machine.gears.pinion_mounting_distance.nominal, machine.gears.gear_mounting_distance.nominal
        touching = (rates.pinion.touching, rates.gear.touching)

        def at(pinion: float, gear_at: float, slopes: tuple[float, float]) -> float:
            return machine.gears.design_backlash + slopes[0] * (pinion - away) + slopes[1] * (gear_at - down)

        corners = [
            at(pinion, place, slopes)
            for pinion in (running.low, running.high)
            for place in (gear.low, gear.high)
            for slopes in (touching, (rates.pinion.handbook, rates.gear.handbook))
        ]
        return at(running.nominal, gear.nominal, touching), min(corners), max(corners)


_rates: dict[Any, backlash.MeshRates] = {}


def mesh_rates(reducer: Reducer) -> backlash.MeshRates:
    """Backlash per millimetre of shift for this pair, kept."""
    found = _rates.get(reducer.blank)
    if found is None:
        found = _rates[reducer.blank] = backlash.mesh_rates(reducer.blank)
    return found


def solved(item: Chain) -> chain.Result:
    """The chain's result with its bands [mm]."""
    return chain.solve(list(item.links))


def closed(reducer: Reducer, item: Chain) -> chain.Result:
    """The same, but a cover that clamps the rings leaves the pinion at its inner stop: a negative play moves nothing."""
    found = solved(item)
    if item.name != "pinion_running":
        return found
    at_stop, play = solved(reducer.chain("pinion_set")), solved(reducer.chain("high_speed_end_play"))
    low, high = at_stop.low + max(0.0, play.low), at_stop.high + max(0.0, play.high)
    return replace(found, nominal=at_stop.nominal + max(0.0, play.nominal), low=low, high=high, mid=(low + high) / 2.0)


def hub_temperature(bench: Bench, joint: Fit) -> float:
    """Present setting for the part that is heated in this step [degC]: the user's, else the file's, else the recommended one."""
    if bench.settings.heater is not None:
        return bench.settings.heater
    if bench.reducer.machine.shop.heater is not None:
        return bench.reducer.machine.shop.heater
    return plan(bench, joint).recommended


def expansion(joint: Fit) -> float:
    """Expansion coefficient of what carries the bore [1/K]."""
    return materials.material("bearing steel" if joint.hub == "bearing ring" else "steel").expansion


def plan(bench: Bench, joint: Fit) -> heat.HeatPlan:
    """Heating temperatures of this fit [degC]."""
    machine = bench.reducer.machine
    ring = joint.hub == "bearing ring"

    def planned(at_least: float | None = None) -> heat.HeatPlan:
        return heat.heat_plan(
            "bearing ring" if ring else "gear",
            joint.diameter,
            joint.clearance[0],
            expansion(joint),
            shaft_temperature=bench.ambient,
            shaft_expansion=materials.material("steel").expansion,
            limit=machine.shop.bearing_heating_limit if ring else machine.gears.heating_limit,
            sliding_clearance=machine.shop.sliding_clearance,
            at_least=at_least,
        )

    usual = planned()
    if time_to_slide(bench, joint, usual.recommended).low >= TIME_IN_HAND:
        return usual
    return planned(at_least=usual.limit)


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


def hot_fit(bench: Bench) -> Fit | None:
    """The fit that this step makes with a heated hub, if any."""
    if bench.step.method != "hot":
        return None
    for joint in bench.reducer.of_kind(Fit):
        if joint.hub in ("gear", "bearing ring") and joint.bore_part in bench.arriving and joint.shaft_part in bench.standing:
            return joint
    return None


def of_step(bench: Bench) -> tuple[Callout, ...]:
    """All callouts of one step, joints first in the order of the reducer, then chains, then lifts."""
    notes: list[Callout] = []
    hot = hot_fit(bench)
    if hot is not None:
        notes += _hot(bench, hot)
    for joint in bench.reducer.joints:
        if joint is hot:
            continue
        rule = _RULES.get(type(joint))
        if rule is not None:
            notes += rule(bench, joint)
    notes += _chains(bench)
    notes += _heights(bench)
    notes += _lifts(bench)
    return tuple(notes)


def _note(
    key: str,
    part: str,
    at: Vector,
    wording: str,
    value: float,
    unit: str,
    short: str,
    /,
    *,
    limit: str = "",
    verdict: Verdict = "",
    source: str = "",
    **values: Any,
) -> Callout:
    return Callout(
        key, part, (float(at[0]), float(at[1]), float(at[2])), text(wording, **values), short, value, unit, limit, verdict, source
    )


def _sources(joint: Fit) -> str:
    return text("callout.source_pair", bore=text(joint.bore_source), shaft=text(joint.shaft_source))


def _band(bench: Bench, low: float, high: float) -> str:
    """A clearance band in words: tight, loose or either."""
    if abs(high - low) < SLACK:
        return text("callout.band_one_tight" if low < 0.0 else "callout.band_one_free", value=bench.shown(abs(low), "length"))
    if high <= 0.0:
        return text("callout.band_tight", low=bench.shown(-high, "length"), high=bench.shown(-low, "length"))
    if low >= 0.0:
        return text("callout.band_free", low=bench.shown(low, "length"), high=bench.shown(high, "length"))
    return text("callout.band_either", low=bench.shown(-low, "length"), high=bench.shown(high, "length"))


def _part(name: str) -> str:
    return text(f"part.{name}")


def _fit(bench: Bench, joint: Fit) -> list[Callout]:
    if not bench.made((joint.bore_part, joint.shaft_part)):
        return []
    low, middle, high = joint.clearance
    band = _band(bench, low, high)
    part = joint.bore_part if joint.bore_part in bench.arriving else joint.shaft_part
    notes = [
        _note(
            f"fit.{joint.name}",
            part,
            joint.at,
            "callout.fit_housing" if joint.hub in ("housing", "cartridge") else "callout.fit",
            middle,
            "mm",
            band,
            source=_sources(joint),
            bore=_part(joint.bore_part),
            shaft=_part(joint.shaft_part),
            band=band,
            diameter=bench.shown(joint.diameter, "length"),
        )
    ]
    notes += _measured(bench, joint)
    if joint.hub == "bearing ring" and joint.bore_part.endswith("_inner_ring"):
        limit = press.largest_ring_interference(joint.diameter)
        notes += _other_diameter(bench, joint)
        if -low > limit:
            notes.append(
                _note(
                    f"fit.{joint.name}.largest",
                    part,
                    joint.at,
                    "callout.large_interference",
                    -low,
                    "mm",
                    bench.shown(-low, "length"),
                    limit=text("callout.at_most", limit=bench.shown(limit, "length")),
                    verdict="watch",
                    source=text("source.common_practice"),
                    value=bench.shown(-low, "length"),
                    limit_value=bench.shown(limit, "length"),
                )
            )
    return notes


def _measured(bench: Bench, joint: Fit) -> list[Callout]:
    """What micrometer readings say of a diameter: mean, spread, and whether it is tapered or out of round."""
    notes = []
    for name, readings in ((joint.bore_part, joint.bore_read), (joint.shaft_part, joint.shaft_read)):
        if readings is None:
            continue
        limit = fits.standard_tolerance(joint.diameter, FORM_GRADE) / 2.0
        worst = max(readings.taper or 0.0, readings.out_of_round or 0.0, readings.spread if readings.taper is None else 0.0)
        shown = {
            "mean": bench.shown(readings.mean, "length"),
            "spread": bench.shown(readings.spread, "length"),
            "taper": bench.shown(readings.taper or 0.0, "length"),
            "roundness": bench.shown(readings.out_of_round or 0.0, "length"),
        }
        known = readings.taper is not None and readings.out_of_round is not None
        notes.append(
            _note(
                f"fit.{joint.name}.{'bore' if name == joint.bore_part else 'shaft'}_readings",
                name,
                joint.at,
                "callout.readings_by_plane" if known else "callout.readings",
                readings.mean,
                "mm",
                shown["mean"],
                limit=text("callout.at_most", limit=bench.shown(limit, "length")),
                verdict="fine" if worst <= limit + SLACK else "watch",
                source=text("source.form_limit"),
                part=_part(name),
                count=readings.count,
                **shown,
            )
        )
    return notes


def _other_diameter(bench: Bench, joint: Fit) -> list[Callout]:
    """Why a ring pair is or is not heated: does its outside still enter the housing at the temperature its bore would need?"""
    outer = next(
        (item for item in bench.reducer.of_kind(Fit) if item.shaft_part == joint.bore_part.replace("_inner_ring", "_outer_ring")),
        None,
    )
    if outer is None or outer.shaft_part not in bench.arriving:
        return []
    rise = plan(bench, joint).recommended - heat.REFERENCE
    band = heat.enters_housing(
        outer.diameter,
        (outer.shaft.lower, outer.shaft.upper),
        (outer.bore.lower, outer.bore.upper),
        rise,
        materials.material("bearing steel").expansion,
        housing_expansion=materials.material("grey iron").expansion,
        housing_rise=bench.ambient - heat.REFERENCE,
    )
    wording = "callout.hot_ring_enters" if band.low >= 0.0 else "callout.hot_ring_jams"
    return [
        _note(
            f"fit.{joint.name}.other_diameter",
            outer.shaft_part,
            outer.at,
            wording,
            band.low,
            "mm",
            text("callout.hot_ring_label", band=_band(bench, band.low, band.high)),
            source=_sources(outer),
            ring=_part(joint.bore_part.removesuffix("_inner_ring")),
            temperature=bench.shown(plan(bench, joint).recommended, "temperature"),
            band=_band(bench, band.low, band.high),
            housing=_part(outer.bore_part),
        )
    ]


def _hot(bench: Bench, joint: Fit) -> list[Callout]:
    heating, now = plan(bench, joint), hub_temperature(bench, joint)
    low, middle, high = clearance_now(bench, joint, now)
    part, at = joint.bore_part, joint.at
    name = _part(part)
    key = f"heat.{joint.name}"
    degrees = lambda value: bench.shown(value, "temperature", digits=0)  # noqa: E731
    limit = text("callout.at_most", limit=degrees(heating.limit))
    sliding = bench.reducer.machine.shop.sliding_clearance
    state: Verdict = "stop" if middle < -SLACK else "watch" if low < sliding - SLACK else "fine"
    over = now > heating.limit + SLACK
    hotter = joint.hub == "bearing ring" and now > heat.BEARING_LIMIT + HOTTER_THAN_USUAL
    notes = [
        _note(
            f"fit.{joint.name}",
            part,
            at,
            "callout.fit",
            joint.clearance[1],
            "mm",
            _band(bench, joint.clearance[0], joint.clearance[2]),
            source=_sources(joint),
            bore=name,
            shaft=_part(joint.shaft_part),
            band=_band(bench, joint.clearance[0], joint.clearance[2]),
            diameter=bench.shown(joint.diameter, "length"),
        ),
        _note(
            f"{key}.just_clears",
            part,
            at,
            "callout.just_clears",
            heating.just_clears,
            "degC",
            degrees(heating.just_clears),
            source=text("source.expansion"),
            part=name,
            temperature=degrees(heating.just_clears),
        ),
        _note(
            f"{key}.recommended",
            part,
            at,
            "callout.recommended",
            heating.recommended,
            "degC",
            degrees(heating.recommended),
            limit=limit,
            verdict="fine"
            if heating.recommended < heating.limit - SLACK and heating.clearance_at_recommended >= sliding - SLACK
            else "watch",
            source=text("source.joining_clearance") if joint.hub == "gear" else text("source.bearing_heating"),
            part=name,
            temperature=degrees(heating.recommended),
            clearance=_band(bench, heating.clearance_at_recommended, heating.clearance_at_recommended),
        ),
        _note(
            f"{key}.setting",
            part,
            at,
            "callout.setting_too_hot" if over else "callout.setting_hotter_than_usual" if hotter else "callout.setting",
            now,
            "degC",
            degrees(now),
            limit=limit,
            verdict="stop" if over else "watch" if hotter else "fine",
            source=text("source.owner") if joint.hub == "gear" else text("source.bearing_heating"),
            part=name,
            temperature=degrees(now),
            limit_value=degrees(heating.limit),
            usual=degrees(heat.BEARING_LIMIT),
        ),
        _note(
            f"{key}.clearance",
            part,
            at,
            "callout.clearance_now",
            middle,
            "mm",
            _band(bench, low, high),
            limit=text("callout.at_least", limit=bench.shown(sliding, "length")),
            verdict=state,
            source=text("source.expansion"),
            part=name,
            temperature=degrees(now),
            band=_band(bench, low, high),
        ),
    ]
    notes += _measured(bench, joint)
    notes += _carry(bench, joint, now, name)
    if joint.hub == "gear":
        notes += _shrink_back(bench, joint, name)
    return notes


def _carry(bench: Bench, joint: Fit, now: float, name: str) -> list[Callout]:
    """Seconds left from the heater until the least clearance no longer slides: still air, the model says its own uncertainty."""
    if now <= bench.ambient + 1.0:
        return []
    time = time_to_slide(bench, joint, now)
    clears = clearance_now(bench, joint, now)[0] > SLACK
    if time.low >= TOO_SHORT:
        wording = "callout.carry_time"
    elif time.low > 0.0:
        wording = "callout.carry_time_short"
    else:
        wording = "callout.no_time_in_hand" if clears else "callout.no_carry_time"
    return [
        _note(
            f"heat.{joint.name}.carry_time",
            joint.bore_part,
            joint.at,
            wording,
            time.low,
            "s",
            text("callout.carry_time_label", time=bench.shown(time.low, "time")),
            verdict="watch" if wording == "callout.carry_time" else "stop",
            limit=text("callout.at_least", limit=bench.shown(TOO_SHORT, "time")),
            source=text("source.still_air"),
            part=name,
            time=bench.shown(time.low, "time"),
            model=bench.shown(time.value, "time"),
            least=bench.shown(TOO_SHORT, "time"),
        )
    ]


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


def hot_body(reducer: Reducer, joint: Fit) -> cooling.HotPart:
    """The heated part for the cooling model: its mass from the solid, its surface from its rough size."""
    part = reducer.by_name[joint.bore_part]
    weight = mass.properties(part.spec).mass
    if joint.hub == "gear":
        blank = reducer.blank
        index = 0 if joint.bore_part == "pinion" else 1
        outside = 2.0 * blank.axial_point(index, blank.cones.mean, 0.0)[0]
    else:
        outside = joint.diameter * 1.25
    width = joint.grip
    surface = pi * (outside + joint.diameter) * width + pi / 2.0 * (outside**2 - joint.diameter**2)
    return cooling.HotPart(mass=weight, surface=surface, outside=outside, specific_heat=materials.material("steel").specific_heat)


def _shrink_back(bench: Bench, joint: Fit, name: str) -> list[Callout]:
    """The gap that a hub leaves at its shoulder when it grips first at the far end, and what it would do to the mounting distance."""
    gap = press.shrink_back_gap(max(-joint.clearance[0], 0.0), joint.grip, joint.diameter)
    chain_name = "pinion_set" if joint.bore_part == "pinion" else "gear_distance"
    # the pinion's shoulder lies outward of it: the gap brings it toward the crossing point; the gear hangs below its shoulder: away.
    shift = gap * press.mounting_distance_sign(joint.bore_part == "pinion")
    rates = mesh_rates(bench.reducer)
    rate = rates.pinion.touching if joint.bore_part == "pinion" else rates.gear.touching
    feeler = 0.03
    return [
        _note(
            f"heat.{joint.name}.shrink_back",
            joint.bore_part,
            joint.at,
            "callout.shrink_back",
            gap,
            "mm",
            text("callout.shrink_back_label", gap=bench.shown(gap, "length")),
            limit=text("callout.at_most", limit=bench.shown(feeler, "length")),
            verdict="watch" if gap > feeler else "fine",
            source=text("source.derived_gap"),
            part=name,
            gap=bench.shown(gap, "length"),
            shift=bench.shown(shift, "length", signed=True),
            chain=text(f"chain.{chain_name}"),
            backlash=bench.shown(rate * shift, "length", signed=True),
        )
    ]


def _gasket(bench: Bench, joint: GasketJoint) -> list[Callout]:
    if joint.gasket not in bench.new:
        return []
    notes = [
        _note(
            f"gasket.{joint.name}",
            joint.gasket,
            bench_point(bench, joint.gasket),
            "callout.gasket",
            joint.clamped,
            "mm",
            bench.shown(joint.clamped, "length"),
            source=text("source.gasket"),
            gasket=_part(joint.gasket),
            free=bench.shown(joint.free, "length"),
            clamped=bench.shown(joint.clamped, "length"),
        )
    ]
    step = GASKET_STEP[bench.settings.units]
    for item in bench.reducer.chains:
        if item.gasket != joint.gasket:
            continue
        rates = mesh_rates(bench.reducer)
        rate = {"pinion_set": rates.pinion, "gear_distance": rates.gear}.get(item.name)
        change = item.per_gasket * step
        if rate is not None:
            notes.append(
                _note(
                    f"gasket.{joint.name}.backlash",
                    joint.gasket,
                    bench_point(bench, joint.gasket),
                    "callout.gasket_backlash",
                    rate.touching * change,
                    "mm",
                    bench.shown(rate.touching * change, "length", signed=True),
                    verdict="",
                    source=text("source.first_order"),
                    step=bench.shown(step, "length"),
                    chain=text(f"chain.{item.name}"),
                    change=bench.shown(change, "length", signed=True),
                    backlash=bench.shown(rate.touching * change, "length", signed=True),
                    handbook=bench.shown(rate.handbook * change, "length", signed=True),
                )
            )
        elif item.name.endswith("end_play"):
            notes.append(
                _note(
                    f"gasket.{joint.name}.end_play",
                    joint.gasket,
                    bench_point(bench, joint.gasket),
                    "callout.gasket_end_play",
                    change,
                    "mm",
                    bench.shown(change, "length", signed=True),
                    source=text("source.chain"),
                    step=bench.shown(step, "length"),
                    chain=text(f"chain.{item.name}"),
                    change=bench.shown(change, "length", signed=True),
                )
            )
    return notes


def bench_point(bench: Bench, name: str) -> Vector:
    """A point of a part to hang a note on: the middle of its edge seen from the front."""
    part = bench.reducer.by_name[bench.reducer.members(name)[0]]
    return (float(part.pose[0, 3]), float(part.pose[1, 3]), float(part.pose[2, 3]))


def _screws(bench: Bench, joint: ScrewJoint) -> list[Callout]:
    if not set(bench.reducer.members(joint.screws)) & bench.new and joint.name not in bench.step.reads:
        return []
    tight = joint.torque is not None
    shown = bench.shown(joint.torque, "torque") if joint.torque is not None else ""
    return [
        _note(
            f"screws.{joint.name}",
            bench.reducer.members(joint.screws)[0],
            joint.at,
            "callout.screws" if tight else "callout.screws_no_torque",
            joint.torque or 0.0,
            "N m",
            text("callout.screws_short", count=joint.count, thread=joint.thread, torque=shown)
            if tight
            else f"{joint.count} x {joint.thread}",
            source=text("source.owner") if tight else text("source.maker_manual"),
            screws=text(f"part.{joint.screws}", count=joint.count),
            count=joint.count,
            thread=joint.thread,
            torque=shown,
        )
    ]


def _nut(bench: Bench, joint: NutJoint) -> list[Callout]:
    if not bench.made((joint.nut, joint.washer, joint.shaft)):
        return []
    turn = 360.0 / (joint.slots * joint.tabs) if joint.tabs % joint.slots else 360.0 / joint.tabs
    shown = units.show(turn * pi / 180.0, "angle", bench.settings.units)
    return [
        _note(
            f"nut.{joint.name}",
            joint.nut,
            joint.at,
            "callout.nut",
            turn,
            "deg",
            joint.thread,
            source=text("source.iso2982"),
            nut=_part(joint.nut),
            thread=joint.thread,
            slots=joint.slots,
            tabs=joint.tabs,
            turn=shown,
        )
    ]


def _key(bench: Bench, joint: KeyJoint) -> list[Callout]:
    if joint.key in bench.new:
        proud = joint.height - joint.shaft_depth
        return [
            _note(
                f"key.{joint.name}.proud",
                joint.key,
                joint.at,
                "callout.key_proud",
                proud,
                "mm",
                text("callout.key_proud_label", proud=bench.shown(proud, "length")),
                source=text("source.key"),
                key=_part(joint.key),
                proud=bench.shown(proud, "length"),
                hub_depth=bench.shown(joint.hub_depth, "length"),
            ),
            _note(
                f"key.{joint.name}",
                joint.key,
                joint.at,
                "callout.key",
                joint.width,
                "mm",
                f"{bench.shown(joint.width, 'length')} x {bench.shown(joint.height, 'length')}",
                source=text("source.key"),
                key=_part(joint.key),
                width=bench.shown(joint.width, "length"),
                height=bench.shown(joint.height, "length"),
                length=bench.shown(joint.length, "length"),
            ),
        ]
    if joint.hub and joint.hub in bench.new:
        gap = joint.top_clearance
        return [
            _note(
                f"key.{joint.name}.top",
                joint.key,
                joint.at,
                "callout.key_top",
                gap,
                "mm",
                bench.shown(gap, "length"),
                limit=text("callout.at_least", limit=bench.shown(0.0, "length")),
                verdict="fine" if gap > SLACK else "stop",
                source=text("source.key"),
                key=_part(joint.key),
                gap=bench.shown(gap, "length"),
            )
        ]
    return []


def _dowel(bench: Bench, joint: DowelJoint) -> list[Callout]:
    if not set(bench.reducer.members(joint.dowels)) & bench.new:
        return []
    low, high = joint.hole.lower - joint.pin.upper, joint.hole.upper - joint.pin.lower
    return [
        _note(
            f"dowel.{joint.name}",
            bench.reducer.members(joint.dowels)[0],
            joint.at,
            "callout.dowel",
            (low + high) / 2,
            "mm",
            _band(bench, low, high),
            source=text("source.dowel"),
            diameter=bench.shown(joint.diameter, "length"),
            band=_band(bench, low, high),
        )
    ]


def _wire(bench: Bench, joint: WireJoint) -> list[Callout]:
    if joint.wire not in bench.new:
        return []
    return [
        _note(
            f"wire.{joint.name}",
            joint.wire,
            joint.at,
            "callout.wire",
            float(joint.count),
            "heads",
            text("callout.wire_short", count=joint.count),
            source=text("source.lockwire"),
            screws=text(f"part.{joint.screws}", count=joint.count),
            count=joint.count,
        )
    ]


def _rollers(bench: Bench, joint: RollerJoint) -> list[Callout]:
    if not bench.made((joint.rollers, joint.ring)):
        return []
    wanted = 0.9 * joint.width
    notes = []
    if joint.name.startswith("lower"):
        drop = bench.reducer.machine.spacers.packer_drop
        notes.append(
            _note(
                f"rollers.{joint.name}.on_packers",
                joint.rollers,
                joint.at,
                "callout.roller_overlap_on_packers",
                joint.overlap_at(-drop),
                "mm",
                text("callout.roller_overlap_on_packers_label", overlap=bench.shown(joint.overlap_at(-drop), "length")),
                source=text("source.chain"),
                drop=bench.shown(drop, "length"),
                overlap=bench.shown(joint.overlap_at(-drop), "length"),
            )
        )
    return notes + [
        _note(
            f"rollers.{joint.name}",
            joint.rollers,
            joint.at,
            "callout.roller_overlap",
            joint.overlap,
            "mm",
            bench.shown(joint.overlap, "length"),
            limit=text("callout.at_least", limit=bench.shown(wanted, "length")),
            verdict="fine" if joint.overlap >= wanted - SLACK else "watch",
            source=text("source.common_practice"),
            overlap=bench.shown(joint.overlap, "length"),
            width=bench.shown(joint.width, "length"),
            ring=_part(joint.ring),
        )
    ]


def _port(bench: Bench, joint: PortJoint) -> list[Callout]:
    if not bench.made(joint.parts):
        return []
    off = abs(joint.angles[0] - joint.angles[1]) * abs(joint.at[2])
    return [
        _note(
            f"port.{joint.name}",
            joint.parts[1],
            joint.at,
            "callout.port",
            off,
            "mm",
            bench.shown(off, "length"),
            limit=text("callout.at_most", limit=bench.shown(joint.diameter / 4, "length")),
            verdict="fine" if off <= joint.diameter / 4 else "stop",
            source=text("source.chain"),
            first=_part(joint.parts[0]),
            second=_part(joint.parts[1]),
            off=bench.shown(off, "length"),
        )
    ]


def _mesh(bench: Bench, joint: MeshJoint) -> list[Callout]:
    read = bool({"backlash", "trial_backlash"} & set(bench.step.reads))
    if not (bench.made((joint.pinion, joint.gear)) or read):
        return []
    value, low, high = bench.backlash
    wanted = bench.reducer.machine.gears.backlash
    state = verdict_of(value, low, high, *wanted)
    step = GASKET_STEP[bench.settings.units]
    adds = mesh_rates(bench.reducer).end_play * step
    return [
        _note(
            "mesh.backlash",
            joint.pinion,
            joint.at,
            "callout.backlash" if value > 0.0 else "callout.no_backlash",
            value,
            "mm",
            text("callout.backlash_label", value=bench.shown(value, "length")),
            limit=_limits(bench, *wanted),
            verdict="watch" if state == "fine" else state,
            source=text("source.first_order"),
            value=bench.shown(value, "length"),
            band=text("callout.from_to", low=bench.shown(low, "length"), high=bench.shown(high, "length")),
        ),
        _note(
            "mesh.end_play_in_reading",
            joint.pinion,
            joint.at,
            "callout.end_play_in_reading",
            adds,
            "mm",
            text("callout.end_play_in_reading_label", adds=bench.shown(adds, "length", signed=True)),
            source=text("source.first_order"),
            step=bench.shown(step, "length"),
            adds=bench.shown(adds, "length"),
        ),
    ]


def _limits(bench: Bench, low: float, high: float) -> str:
    return text("callout.from_to", low=bench.shown(low, "length"), high=bench.shown(high, "length"))


_RULES: dict[type, Callable[[Bench, Any], list[Callout]]] = {
    Fit: _fit,
    GasketJoint: _gasket,
    ScrewJoint: _screws,
    NutJoint: _nut,
    KeyJoint: _key,
    DowelJoint: _dowel,
    WireJoint: _wire,
    RollerJoint: _rollers,
    PortJoint: _port,
    MeshJoint: _mesh,
}


def _chains(bench: Bench) -> list[Callout]:
    """The chains that close in this step, that are read in it, or whose gasket arrives in it."""
    notes = []
    for item in bench.reducer.chains:
        closes = bench.step.bench == MAIN_BENCH and bool(set(bench.reducer.members(item.closes_with)) & bench.arriving)
        if not (closes or item.name in bench.step.reads or item.gasket in bench.arriving):
            continue
        result = closed(bench.reducer, item)
        limit, state = "", ""
        if item.low_limit is not None and item.high_limit is not None:
            limit = _limits(bench, item.low_limit, item.high_limit)
            state = verdict_of(result.nominal, result.low, result.high, item.low_limit, item.high_limit)
        clamped = item.name.endswith("end_play") and result.nominal <= 0.0
        notes.append(
            _note(
                f"chain.{item.name}",
                bench.reducer.members(item.closes_with)[0],
                item.at,
                "callout.no_end_play" if clamped else "callout.chain",
                result.nominal,
                "mm",
                text("callout.chain_label", name=text(f"chain_label.{item.name}"), value=bench.shown(result.nominal, "length")),
                limit=limit,
                verdict="stop" if clamped else cast(Verdict, state),
                source=text(item.limit_source) if limit else text("source.chain"),
                chain=text(f"chain.{item.name}"),
                value=bench.shown(result.nominal, "length"),
                low=bench.shown(result.low, "length"),
                high=bench.shown(result.high, "length"),
                likely_low=bench.shown(result.rss_low, "length"),
                likely_high=bench.shown(result.rss_high, "length"),
                gasket=_part(item.gasket),
            )
        )
    return notes


def _heights(bench: Bench) -> list[Callout]:
    """Heights that are set by hand: the packers under the gear, and the shaft's depth in the dry trial."""
    machine, notes = bench.reducer.machine, []
    packers = sorted(name for name in bench.new if bench.reducer.by_name[name].tool)
    if packers:
        low, high = standing_height(bench.reducer, packers[0])
        notes.append(("packers", packers[0], high - low, {"drop": bench.shown(machine.spacers.packer_drop, "length")}))
    if "trial_depth" in bench.step.reads:
        # top face to the shaft's shoulder in the dry case: the flange stands on the clamped gasket, and the film is not there yet
        depth = -machine.low_speed_cartridge.stop_offset.nominal - machine.gaskets.gear_gasket.clamped - machine.case.sealing_film
        notes.append(("trial_depth", "low_speed_shaft", depth, {}))
    return [
        _note(
            f"height.{key}",
            part,
            bench_point(bench, part),
            f"callout.{key}",
            value,
            "mm",
            text(f"callout.{key}_label", value=bench.shown(value, "length")),
            source=text("source.chain"),
            value=bench.shown(value, "length"),
            **more,
        )
        for key, part, value, more in notes
    ]


def standing_height(reducer: Reducer, name: str) -> tuple[float, float]:
    """Lowest and highest point of a part in its place [mm]."""
    part = reducer.by_name[name]
    up = (build(part).vertices @ part.pose[:3, :3].T + part.pose[:3, 3])[:, 2]
    return float(up.min()), float(up.max())


def _lifts(bench: Bench) -> list[Callout]:
    """Mass of what moves in this step, told when it needs tackle or is a lift or a heated part."""
    moved = bench.standing if bench.step.method == "turn_over" else bench.arriving
    names = [name for name in moved if not bench.reducer.by_name[name].tool]
    if not names:
        return []
    placed = [(mass.properties(bench.reducer.by_name[name].spec), bench.reducer.by_name[name].pose) for name in sorted(names)]
    total = mass.combined(placed)
    if total.mass < TWO_HANDS and bench.step.method not in ("lower", "turn_over", "hot", "base"):
        return []
    return [
        _note(
            "lift.mass",
            sorted(names)[0],
            (float(total.centre[0]), float(total.centre[1]), float(total.centre[2])),
            "callout.mass",
            total.mass,
            "kg",
            text("callout.mass_label", mass=bench.shown(total.mass, "mass")),
            source=text("source.solids"),
            mass=bench.shown(total.mass, "mass"),
        )
    ]
