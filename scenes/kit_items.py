"""What a kit list is made of: its lines, and the store of joints, masses and steps that they are made from.

mm, N·m, kg, degC in `figures`; `size` is told in the chosen unit system.
Contents: `Item`, `Kit`, `Store`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from calc import units
from geometry import mass
from geometry.joints import GasketJoint, KeyJoint, NutJoint, ScrewJoint, WireJoint
from geometry.machine import Machine
from geometry.reducer import Reducer
from scenes.procedure import Procedure
from scenes.settings import Settings
from scenes.stage import Stage

Group = Literal["parts", "gaskets", "consumables", "tools", "lifting"]
GROUPS: tuple[Group, ...] = ("parts", "gaskets", "consumables", "tools", "lifting")
"""Groups in the order of the list."""
PLUGS = ("drain_plug", "level_plug", "breather")
"""What screws into the case by itself."""


@dataclass(frozen=True)
class Item:
    """One line: key within its group, name, size as told, how many, steps that ask for it, figures in mm, N·m, kg, degC [-].

    `derived`: the size is a stated proportion, to be checked against the old part.
    """

    group: Group
    key: str
    name: str
    size: str
    count: int
    steps: tuple[str, ...]
    figures: tuple[tuple[str, float], ...] = ()
    derived: bool = False


@dataclass(frozen=True)
class Kit:
    """The whole list, group by group."""

    items: tuple[Item, ...]

    def of(self, group: Group) -> tuple[Item, ...]:
        """The lines of one group."""
        return tuple(item for item in self.items if item.group == group)


class Store:
    """What every line of the list is made from: the machine's joints by part, the procedure, the unit system."""

    def __init__(self, stage: Stage, settings: Settings) -> None:
        self.stage, self.settings = stage, settings
        self.reducer: Reducer = stage.reducer
        self.machine: Machine = stage.reducer.machine
        self.procedure: Procedure = stage.procedure
        self.screws = {joint.screws: joint for joint in self.reducer.of_kind(ScrewJoint)}
        self.nuts = {joint.nut: joint for joint in self.reducer.of_kind(NutJoint)}
        self.washers = {joint.washer: joint for joint in self.reducer.of_kind(NutJoint)}
        self.keys = {joint.key: joint for joint in self.reducer.of_kind(KeyJoint)}
        self.gaskets = {joint.gasket: joint for joint in self.reducer.of_kind(GasketJoint)}
        self.wires = {joint.wire: joint for joint in self.reducer.of_kind(WireJoint)}

    def shown(self, value: float, kind: str = "length") -> str:
        """A figure with its unit; a length or angle without the zeros that say nothing."""
        told = units.show(value, kind, self.settings.units)
        return units.trimmed(told) if kind in ("length", "angle") else told

    def weight(self, names: Iterable[str]) -> float:
        """Mass of some parts [kg]."""
        return math.fsum(mass.properties(self.reducer.by_name[name].spec).mass for name in names)

    def asking(self, **wanted: str) -> tuple[str, ...]:
        """Steps whose list of this kind holds this word, in order."""
        return tuple(
            name
            for name in self.procedure.order
            if all(word in getattr(self.procedure.steps[name], kind) for kind, word in wanted.items())
        )
