"""The finished reducer: every part in its place, every joint and chain, from one machine [mm, rad].

`assemble(machine)` places; solids are built later, part by part, from their specs, so that a change rebuilds only what it touches.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from math import isfinite
from typing import TypeVar

import numpy as np

from calc import bevel
from geometry import casework, chains, high_speed, layout, low_speed, mass, resting, teeth
from geometry.bill import Bill
from geometry.faults import MachineError
from geometry.joints import Chain, Joint
from geometry.layout import Layout
from geometry.machine import Blank as Body
from geometry.machine import Machine
from geometry.origin import named, refusal
from geometry.part import Part, Solid, Spec
from geometry.profile import OVERSHOOT

PHASE_STEP = 2e-4
"""Fineness of the keyed shaft's angle [rad]: a change below it would rebuild the pump's tongue for nothing."""
KEYWAY_AZIMUTH = np.pi
"""Where the pinion's keyway lies in its own frame: up in the reducer [rad]."""

J = TypeVar("J", bound=Joint)


@dataclass(frozen=True, eq=False)
class Reducer:
    """All parts, joints and chains of one machine in the set position.

    `left_out`: parts that another machine of this layout would have (the lockwire of a circle without drilled heads).
    """

    machine: Machine
    layout: Layout
    blank: bevel.Blank
    parts: tuple[Part, ...]
    joints: tuple[Joint, ...]
    chains: tuple[Chain, ...]
    left_out: tuple[str, ...] = ()

    @cached_property
    def by_name(self) -> Mapping[str, Part]:
        """Parts by name."""
        return {part.name: part for part in self.parts}

    @cached_property
    def groups(self) -> Mapping[str, tuple[str, ...]]:
        """Names that stand for several parts (screw circles, bearing units) and those parts."""
        found: dict[str, list[str]] = {}
        for part in self.parts:
            if part.number:
                found.setdefault(part.name.rsplit("_", 1)[0], []).append(part.name)
            if part.unit:
                found.setdefault(part.unit, []).append(part.name)
        return {name: tuple(members) for name, members in found.items()}

    @cached_property
    def _members(self) -> Mapping[str, tuple[str, ...]]:
        return {**self.groups, **{part.name: (part.name,) for part in self.parts}}

    def members(self, name: str) -> tuple[str, ...]:
        """The parts that a name stands for: itself, or its group. Raises KeyError for an unknown name."""
        return self._members[name]

    @cached_property
    def _weights(self) -> dict[str, mass.Properties]:
        return {}

    def weight(self, name: str) -> mass.Properties:
        """Volume, mass and centre of a part in its own frame [mm3, kg, mm]; found once."""
        found = self._weights.get(name)
        if found is None:
            found = self._weights[name] = mass.properties(self.by_name[name].spec)
        return found

    def of_kind(self, kind: type[J]) -> tuple[J, ...]:
        """All joints of one kind."""
        return tuple(joint for joint in self.joints if isinstance(joint, kind))

    def chain(self, name: str) -> Chain:
        """The chain of this name."""
        return next(chain for chain in self.chains if chain.name == name)


def blank_of(machine: Machine) -> bevel.Blank:
    """The tooth blank of the machine's set."""
    gears = machine.gears
    return bevel.blank(
        gears.pinion_teeth,
        gears.gear_teeth,
        gears.module,
        face_width=gears.face_width,
        pressure_angle=gears.pressure_angle,
        backlash=gears.design_backlash,
        spiral_angle=gears.spiral_angle,
        hand=gears.pinion_hand,
        cutter_radius=gears.cutter_radius,
        mounting_distances=(gears.pinion_mounting_distance.nominal, gears.gear_mounting_distance.nominal),
    )


def gear_specs(machine: Machine, blank: bevel.Blank) -> tuple[Spec, Spec]:
    """Specs of pinion and gear in the member's own frame (apex at the origin, z toward the back)."""
    pinion = _member(
        machine.pinion,
        blank,
        "pinion",
        machine.gears.pinion_mounting_distance.nominal,
        machine.high_speed_shaft.pinion_seat.diameter,
        machine.high_speed_shaft.collar_diameter / 2.0 * 1.2,
        KEYWAY_AZIMUTH,
    )
    heel = blank.axial_point(1, blank.cones.outer, blank.root_height(1, blank.cones.outer))[0]
    gear = _member(
        machine.gear,
        blank,
        "gear",
        machine.gears.gear_mounting_distance.nominal,
        machine.low_speed_shaft.gear_seat.diameter,
        heel * 0.88,
        -low_speed.FRONT,
    )
    return pinion, gear


def _member(
    body: Body, blank: bevel.Blank, member: teeth.Member, back: float, seat: float, back_hub: float, azimuth: float
) -> Spec:
    front = back - body.length.nominal
    outline = teeth.body_outline(
        blank,
        member,
        bore_radius=body.bore.hole_mean / 2.0,
        back=back,
        front=front,
        back_hub_radius=back_hub,
        front_hub_radius=body.hub_diameter / 2.0,
    )
    section = body.key.section(seat)
    cut = high_speed.hub_keyway(section, seat, front - OVERSHOOT, back + OVERSHOOT, azimuth)
    return Spec("steel", special="toothed_member", args=(("blank", blank), ("member", member), ("body", outline)), cut=(cut,))


@lru_cache(maxsize=64)
def assemble(machine: Machine) -> Reducer:
    """Every part of the machine in its place. Result: the reducer in the set position [mm]."""
    faces = layout.solve(machine)
    blank = blank_of(machine)
    marked_pinion, marked_gear = machine.gears.pinion_mounting_distance.nominal, machine.gears.gear_mounting_distance.nominal
    shift = (faces.high.pinion_back - marked_pinion, -faces.low.gear_back - marked_gear)
    with named("gear"):
        pinion_angle, gear_angle = teeth.mesh_pose(blank, round(shift[0], 4), round(shift[1], 4))
        gear_angle = round(gear_angle / PHASE_STEP) * PHASE_STEP
        pinion_spec, gear_spec = gear_specs(machine, blank)
    bill = Bill()
    with named("high_speed_shaft"):
        high_speed.add(bill, machine, faces.high, pinion_spec, teeth.pinion_pose(blank, pinion_angle, shift[0]))
    with named("low_speed_shaft"):
        low_speed.add(bill, machine, faces.low, gear_spec, teeth.gear_pose(blank, gear_angle, shift[1]), -gear_angle)
    with named("case"):
        casework.add(bill, machine, faces)
        resting.add(bill)
        chains.add(bill, machine, faces)
    return Reducer(machine, faces, blank, tuple(bill.parts), tuple(bill.joints), tuple(bill.chains), tuple(bill.left_out))


def build(part: Part, n: int = 64) -> Solid:
    """The part's solid in its own frame. Raises MachineError naming the part and its section of the file when it can't be built."""
    from geometry import solid

    with named(part.name):
        return solid.build(part.spec, n)


def prove(reducer: Reducer) -> None:
    """Build what was never built before and weigh it. Raises MachineError with one line for each part that can't be."""
    from geometry import mass

    specs = {part.spec.key: part for part in reducer.parts}
    try:
        found = mass.properties_of(part.spec for part in specs.values())
        if all(isfinite(one.mass) and one.mass > 0.0 for one in found):
            return
    except (ValueError, ArithmeticError):
        pass
    lines = []
    for part in specs.values():
        try:
            one = mass.properties(part.spec)
            if not (isfinite(one.mass) and one.mass > 0.0):
                raise ValueError("it has no volume")
        except (ValueError, ArithmeticError) as error:
            lines.append(refusal(part.name, error))
    raise MachineError(lines)
