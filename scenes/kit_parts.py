"""The parts of a kit list by designation and size, its gaskets and shims, and what the steps use up.

mm, N·m, kg in the figures. Contents: `Parts`, `screws_of`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from calc import bearings, hardware
from geometry import casework, low_speed
from geometry.joints import ScrewJoint
from geometry.machine import Machine, Pair, Roller, Screws
from geometry.part import Part
from scenes import screw_words
from scenes.kit_items import PLUGS, Group, Item, Store
from scenes.wording import text

WHOLE = {
    "inner_bearing_inner": "inner_bearing",
    "inner_bearing_outer_ring": "inner_bearing",
    "lower_bearing_inner": "lower_bearing",
    "lower_bearing_outer_ring": "lower_bearing",
    "high_speed_bearing_1": "high_speed_pair",
    "high_speed_bearing_2": "high_speed_pair",
    "low_speed_bearing_1": "low_speed_pair",
    "low_speed_bearing_2": "low_speed_pair",
}
"""Bearings that are fitted in pieces or as a pair, and what is drawn from the store for them."""
FILM = "sealant_bead"
"""The compound at the split is a consumable, no part."""


@dataclass(frozen=True)
class _Size:
    """How a part is ordered: words and figures."""

    words: str
    figures: Mapping[str, float]
    derived: bool = False


def screws_of(machine: Machine) -> dict[str, Screws]:
    """The screws of every circle by the name of its part, but those of the split."""
    high, low = machine.high_speed_cartridge, machine.low_speed_cartridge
    plate = casework.plate_screws(machine)
    return {
        "cartridge_screw": high.screws,
        "inner_retainer_screw": high.retainer.screws,
        "high_speed_cover_screw": machine.high_speed_cover.screws,
        "low_speed_cartridge_screw": low.screws,
        "low_speed_cover_screw": machine.low_speed_cover.screws,
        "carrier_screw": machine.carrier.screws,
        "lower_retainer_screw": machine.carrier.retainer.screws,
        "pump_screw": low_speed.pump_screws(machine),
        "lower_plate_screw": plate,
        "upper_plate_screw": plate,
    }


DERIVED_SCREWS = frozenset({"pump_screw", "lower_plate_screw", "upper_plate_screw"})
"""Circles that take their screws from another by a stated proportion."""


class Parts(Store):
    """Lines for what stays in the machine and what is used up."""

    def parts(self) -> list[Item]:
        """All that stays in the machine, in the order in which it is fitted, then the gaskets."""
        found: dict[str, list[str]] = {}
        for name in self.procedure.order:
            step = self.procedure.steps[name]
            for item in step.arrives:
                if item != FILM and not self.reducer.by_name[self.reducer.members(item)[0]].tool:
                    found.setdefault(WHOLE.get(item, item), []).append(name)
        lines = [self._part(name, tuple(steps)) for name, steps in found.items()]
        fitted = [line for line in lines if line.group == "parts"]
        return [*fitted, *(line for line in lines if line.group == "gaskets"), *self._leaves()]

    def _part(self, name: str, steps: tuple[str, ...]) -> Item:
        if name in ("high_speed_pair", "low_speed_pair"):
            size = self._pair(getattr(self.machine, name))
            return Item("parts", name, text(f"kit.name.{name}"), size.words, 1, steps, tuple(size.figures.items()))
        if name in ("inner_bearing", "lower_bearing"):
            size = self._roller(getattr(self.machine, name))
            return Item("parts", name, text(f"part.{name}"), size.words, 1, steps, tuple(size.figures.items()))
        members = self.reducer.members(name)
        part = self.reducer.by_name[members[0]]
        size = self._size(name, part)
        called = text(f"part.{name}", count=len(members)).removesuffix(f" ({len(members)})")
        group: Group = "gaskets" if part.role == "gasket" else "parts"
        return Item(group, name, called, size.words, len(members), steps, tuple(size.figures.items()), size.derived)

    def _bearing(self, bearing: Roller | Pair) -> tuple[str, dict[str, float]]:
        assert bearing.outside is not None and bearing.width is not None
        listed = bearings.boundary(round(bearing.bore, 3), bearing.series) if bearing.series else None
        nominal = listed.width if listed is not None else bearing.width.nominal
        figures = {"bore": bearing.bore, "outside": bearing.outside, "width": nominal}
        words = {name: self.shown(value) for name, value in figures.items()}
        if bearing.series:
            return text("kit.size.bearing_series", series=bearing.series, **words), figures
        return text("kit.size.bearing_typed", **words), figures

    def _roller(self, bearing: Roller) -> _Size:
        size, figures = self._bearing(bearing)
        return _Size(text("kit.size.roller", size=size), figures)

    def _pair(self, bearing: Pair) -> _Size:
        size, figures = self._bearing(bearing)
        angle = self.shown(bearing.contact_angle, "angle")
        return _Size(text("kit.size.pair", size=size, arrangement=text(f"arrangement.{bearing.arrangement}"), angle=angle), figures)

    def _size(self, name: str, part: Part) -> _Size:
        if name in self.screws:
            return self._screw(name, self.screws[name])
        if name in self.nuts:
            nut = hardware.locknut(self.nuts[name].thread)
            return _Size(text("kit.size.locknut", size=nut.size, thread=nut.thread), {"outside": nut.outside})
        if name in self.washers:
            return _Size(text("kit.size.tab_washer", size=hardware.tab_washer(self.washers[name].thread).size), {})
        if name in self.keys:
            key = self.keys[name]
            sizes = {"width": key.width, "height": key.height, "length": key.length}
            return _Size(text("kit.size.key", **{side: self.shown(value) for side, value in sizes.items()}), sizes)
        if name in self.wires:
            return _Size(text("kit.size.heads", count=self.wires[name].count), {"heads": float(self.wires[name].count)})
        if part.role == "gasket":
            return self._gasket(name, part)
        if part.wording == "part.dowel":
            sizes = {"diameter": self.machine.case.dowel_diameter, "length": _height(part)}
            words = {side: self.shown(value) for side, value in sizes.items()}
            return _Size(text("kit.size.dowel", **words), sizes, derived=True)
        if part.role == "seal":
            cover = self.machine.high_speed_cover if name == "high_speed_seal" else self.machine.low_speed_cover
            shaft = self.machine.high_speed_shaft if name == "high_speed_seal" else self.machine.low_speed_shaft
            sizes = {"shaft": shaft.seal_diameter, "outside": cover.seal_outside, "width": cover.seal_width}
            return _Size(text("kit.size.seal", **{side: self.shown(value) for side, value in sizes.items()}), sizes)
        if name in PLUGS:
            return _Size(text("kit.size.plug", thread=self.machine.case.split_screws.thread), {}, derived=True)
        weight = self.weight(self.reducer.members(name))
        return _Size(text("kit.by_mass", mass=self.shown(weight, "mass")), {"mass": weight})

    def _screw(self, name: str, joint: ScrewJoint) -> _Size:
        known = screws_of(self.machine).get(name)
        length = known.length if known is not None else self.machine.case.split_screws.length
        thread, told = hardware.socket_screw(joint.thread).designation, self.shown(length)
        words = [text("kit.size.screw", thread=thread, length=told)]
        if known is not None and "property_class" in known.model_fields_set:
            words.append(screw_words.strength(joint.thread, known.property_class, self.settings.units))
        figures = {"length": length}
        if joint.drilled:
            words.append(text("kit.size.drilled"))
        if joint.torque is None:
            words.append(text("kit.size.no_torque"))
        else:
            words.append(text("kit.size.torque", torque=self.shown(joint.torque, "torque")))
            figures["torque"] = joint.torque
        return _Size("; ".join(words), figures, derived=name in DERIVED_SCREWS)

    def _gasket(self, name: str, part: Part) -> _Size:
        joint = self.gaskets.get(name)
        if joint is None:
            thick = float(dict(part.spec.args)["thickness"]) if part.spec.special else _height(part)
            return _Size(text("kit.size.gasket_clamped", clamped=self.shown(thick)), {"clamped": thick}, derived=True)
        words = [text("kit.size.gasket", free=self.shown(joint.free), clamped=self.shown(joint.clamped))]
        own = getattr(self.machine.gaskets, name, None)
        if own is not None and own.stock:
            words.append(text("kit.size.stock", leaves=", ".join(self.shown(leaf) for leaf in own.stock)))
        return _Size("; ".join(words), {"free": joint.free, "clamped": joint.clamped})

    def _leaves(self) -> list[Item]:
        leaves = self.machine.shop.leaves
        if not leaves:
            return []
        told = text("kit.size.leaves", leaves=", ".join(self.shown(leaf) for leaf in leaves))
        figures = tuple((f"leaf_{place}", leaf) for place, leaf in enumerate(leaves, 1))
        return [Item("gaskets", "leaves", text("kit.name.leaves"), told, len(leaves), (), figures)]

    def consumables(self) -> list[Item]:
        """What the steps use up, in the order in which it is first asked for."""
        asked = dict.fromkeys(item for name in self.procedure.order for item in self.procedure.steps[name].consumables)
        found = []
        for item in asked:
            size, count = "", 1
            if item == "lockwire":
                heads = sum(wire.count for wire in self.wires.values())
                size = text("kit.size.heads", count=heads)
            elif item == "plug_washers":
                count = len(PLUGS)
                size = text("kit.size.sealing_washers", count=count, thread=self.machine.case.split_screws.thread)
            found.append(Item("consumables", item, text(f"consumable.{item}"), size, count, self.asking(consumables=item)))
        return found


def _height(part: Part) -> float:
    """Length of a turned part along its own axis [mm]."""
    ends = [z for loop in part.spec.loops for _, z in loop]
    return max(ends) - min(ends)
