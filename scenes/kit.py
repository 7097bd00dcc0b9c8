"""Kit list of a job: parts by designation, gaskets, consumables, tools by size, and what the lifting gear must carry.

mm, N·m, kg in `figures`; `size` is told in the chosen unit system. Sizes come from the machine, the joints and the standards' tables;
what each step asks for comes from the procedure.
Contents: `Item`, `Kit`, `kit`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from calc import bearings, hardware, lifting, units
from geometry import casework, low_speed, mass
from geometry.joints import Fit, GasketJoint, KeyJoint, NutJoint, ScrewJoint, WireJoint
from geometry.machine import Machine, Pair, Roller, Screws
from geometry.part import Part
from geometry.reducer import Reducer
from scenes.procedure import Procedure
from scenes.settings import Settings
from scenes.stage import Stage
from scenes.wording import text

Group = Literal["parts", "gaskets", "consumables", "tools", "lifting"]
GROUPS: tuple[Group, ...] = ("parts", "gaskets", "consumables", "tools", "lifting")
"""Groups in the order of the list."""
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
PLUGS = ("drain_plug", "level_plug", "breather")
"""What screws into the case by itself."""
FILM = "sealant_bead"
"""The compound at the split is a consumable, no part."""


@dataclass(frozen=True)
class Item:
    """One line: key within its group, name, size as told, how many, steps that ask for it, figures in mm, N·m, kg [-].

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


@dataclass(frozen=True)
class _Size:
    """How a part is ordered: words and figures."""

    words: str
    figures: Mapping[str, float]
    derived: bool = False


def kit(stage: Stage, settings: Settings) -> Kit:
    """The kit list of a machine and its procedure.

    `stage`: the reducer with its order. `settings`: the unit system of the sizes. Result: Kit, the parts in the order of the job.
    """
    maker = _Maker(stage, settings)
    return Kit((*maker.parts(), *maker.consumables(), *maker.tools(), *maker.lifts()))


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


class _Maker:
    """Puts the list together."""

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
        if kind == "angle":
            return told.replace(".0", "")
        if kind != "length":
            return told
        number, unit = told.rsplit(" ", 1)
        return f"{number.rstrip('0').rstrip('.')} {unit}"

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

    # ---- parts and gaskets -------------------------------------------------------------------------------------------

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
        return _Size(text("kit.size.pair", size=size, arrangement=bearing.arrangement, angle=angle), figures)

    def _size(self, name: str, part: Part) -> _Size:
        if name in self.screws:
            return self._screw(name, self.screws[name])
        if name in self.nuts:
            nut = hardware.locknut(self.nuts[name].thread)
            return _Size(nut.designation, {"outside": nut.outside})
        if name in self.washers:
            return _Size(hardware.tab_washer(self.washers[name].thread).designation, {})
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
            words.append(text("kit.size.strength", strength=known.property_class))
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

    # ---- consumables and tools ---------------------------------------------------------------------------------------

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

    def tools(self) -> list[Item]:
        """What the steps ask for, in the order in which it is first asked for; spanners and bits one line a size."""
        asked = dict.fromkeys(item for name in self.procedure.order for item in self.procedure.steps[name].tools)
        found = []
        for item in asked:
            steps = self.asking(tools=item)
            if item == "hook_spanner":
                found += self._hook_spanners()
            elif item == "hexagon_bits":
                found += self._hexagon_bits()
            else:
                size, figures = self._tool(item)
                found.append(Item("tools", item, text(f"tool.{item}"), size, 1, steps, tuple(figures.items())))
        return found

    def _hook_spanners(self) -> list[Item]:
        sizes: dict[float, list[str]] = {}
        for name, joint in self.nuts.items():
            sizes.setdefault(hardware.locknut(joint.thread).outside, []).append(name)
        found = []
        for outside, names in sorted(sizes.items()):
            nut = hardware.locknut(self.nuts[names[0]].thread)
            steps = tuple(dict.fromkeys(step for name in names for step in self.asking(arrives=name)))
            told = text("kit.size.outside", outside=self.shown(outside), slot=self.shown(nut.slot_width))
            nuts = ", ".join(nut.thread for nut in dict.fromkeys(hardware.locknut(self.nuts[name].thread) for name in names))
            found.append(
                Item(
                    "tools",
                    f"hook_spanner_{nut.size}",
                    text("kit.name.hook_spanner", nuts=nuts),
                    told,
                    1,
                    steps,
                    (("outside", outside), ("slot", nut.slot_width)),
                )
            )
        return found

    def _hexagon_bits(self) -> list[Item]:
        sizes: dict[float, list[ScrewJoint]] = {}
        for joint in self.screws.values():
            sizes.setdefault(hardware.socket_screw(joint.thread).hexagon, []).append(joint)
        found = []
        for hexagon, joints in sorted(sizes.items()):
            threads = list(dict.fromkeys(hardware.socket_screw(joint.thread).designation for joint in joints))
            steps = {step for joint in joints for step in (*self.asking(arrives=joint.screws), *self.asking(reads=joint.screws))}
            found.append(
                Item(
                    "tools",
                    f"hexagon_bit_{threads[0].split()[0].replace('/', '_')}",
                    text("kit.name.hexagon_bits", threads=", ".join(threads)),
                    text("kit.size.hexagon", hexagon=self.shown(hexagon)),
                    1,
                    tuple(name for name in self.procedure.order if name in steps),
                    (("hexagon", hexagon),),
                )
            )
        return found

    def _range(self, values: Iterable[float], kind: str = "length") -> tuple[str, dict[str, float]]:
        kept = list(values)
        if not kept:
            return "", {}
        low, high = min(kept), max(kept)
        return text("kit.size.range", low=self.shown(low, kind), high=self.shown(high, kind)), {"low": low, "high": high}

    def _tool(self, item: str) -> tuple[str, dict[str, float]]:
        """Size of a tool where the machine says one."""
        fits = self.reducer.of_kind(Fit)
        if item == "torque_wrench":
            return self._range((joint.torque for joint in self.screws.values() if joint.torque is not None), "torque")
        if item == "micrometer":
            return self._range(joint.diameter for joint in fits if self.reducer.by_name[joint.shaft_part].role == "shaft")
        if item == "bore_gauge":
            return self._range(joint.diameter for joint in fits if joint.hub in ("gear", "housing", "cartridge"))
        if item == "hoist":
            heaviest = max((weight for weight, _ in self._hoisted()), default=0.0) * lifting.FIRST_LIFT
            return text("kit.size.hoist", mass=self.shown(heaviest, "mass")), {"mass": heaviest}
        if item == "induction_heater":
            return self._heater()
        return "", {}

    def _heater(self) -> tuple[str, dict[str, float]]:
        """What the hot steps ask of the heater: greatest mass, smallest bore, and the power in the machine file."""
        masses, bores = [], []
        for name in self.procedure.order:
            step = self.procedure.steps[name]
            if step.method != "hot":
                continue
            arriving = {member for item in step.arrives for member in self.reducer.members(item)}
            masses.append(self.weight(arriving))
            bores += [joint.diameter for joint in self.reducer.of_kind(Fit) if joint.bore_part in arriving]
        if not bores:
            return "", {}
        figures: dict[str, float] = {"mass": max(masses), "bore": min(bores)}
        words = [text("kit.size.heater", mass=self.shown(max(masses), "mass"), bore=self.shown(min(bores)))]
        power = self.machine.shop.heater_power
        if power is not None:
            figures["power"] = power
            words.append(text("kit.size.heater_power", power=self.shown(power, "power")))
        return "; ".join(words), figures

    # ---- lifts -------------------------------------------------------------------------------------------------------

    def lifts(self) -> list[Item]:
        """Every step with the hoist and the mass on it, the heaviest of them first."""
        found = self._hoisted()
        if not found:
            return []
        heaviest = max(found, key=lambda lift: lift[0])
        lines = [self._lift("heaviest", heaviest, text("kit.name.heaviest", title=text(f"step.{heaviest[1]}.title")))]
        return lines + [self._lift(lift[1], lift, text(f"step.{lift[1]}.title")) for lift in found]

    def _hoisted(self) -> list[tuple[float, str]]:
        """Mass on the hoist [kg] and step: what leaves, what stands when the bench is turned another way up, else what arrives."""
        found, ups = [], dict[str, str]()
        for name in self.procedure.order:
            step, standing = self.procedure.steps[name], self.stage.standing[name]
            turned = ups.get(step.bench, step.up) != step.up
            ups[step.bench] = step.up
            if "hoist" not in step.tools:
                continue
            moved = standing.leaving or (standing.before if turned else standing.arriving)
            names = [item for item in moved if not self.reducer.by_name[item].tool]
            if names:
                found.append((self.weight(names), name))
        return found

    def _lift(self, key: str, lift: tuple[float, str], name: str) -> Item:
        weight, step = lift
        shop = self.machine.shop
        rating = lifting.needed_rating(weight, shop.sling_angle, shop.sling_legs)
        values: dict[str, Any] = {
            "mass": self.shown(weight, "mass"),
            "allowed": self.shown(weight * lifting.FIRST_LIFT, "mass"),
            "rating": self.shown(rating, "mass"),
            "legs": lifting.carrying_legs(shop.sling_legs),
            "angle": self.shown(shop.sling_angle, "angle"),
        }
        words = [text("kit.size.lift", **values)]
        if shop.sling_rating is not None and rating > shop.sling_rating:
            words.append(text("kit.size.over_rating", rating=self.shown(shop.sling_rating, "mass")))
        return Item("lifting", key, name, "; ".join(words), 1, (step,), (("mass", weight), ("rating", rating)))


def _height(part: Part) -> float:
    """Length of a turned part along its own axis [mm]."""
    ends = [z for loop in part.spec.loops for _, z in loop]
    return max(ends) - min(ends)
