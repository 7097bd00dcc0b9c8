"""The tools of a kit list, one line a size where the machine says the size, and what hangs on the hoist.

mm, N·m, kg, degC in the figures. Contents: `Tools`.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from calc import hardware, lifting, units
from geometry.joints import Fit, ScrewJoint
from scenes import slinging
from scenes.callouts import heating
from scenes.kit_items import Item, Store
from scenes.wording import text


class Tools(Store):
    """Lines for the tools and the lifts."""

    def tools(self) -> list[Item]:
        """What the steps ask for, in the order in which it is first asked for; spanners and bits one line a size."""
        asked: dict[str, list[str]] = {}
        for name in self.procedure.order:
            for item in self.stage.tools(self.procedure.steps[name]):
                asked.setdefault(item, []).append(name)
        found = []
        for item, steps in asked.items():
            if item == "hook_spanner":
                found += self._hook_spanners()
            elif item == "hexagon_bits":
                found += self._hexagon_bits()
            else:
                size, figures = self._tool(item)
                found.append(Item("tools", item, text(f"tool.{item}"), size, 1, tuple(steps), tuple(figures.items())))
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
        if item == heating.INDUCTION:
            return self._heater()
        if item == heating.OVEN:
            return self._oven()
        return "", {}

    def _heater(self) -> tuple[str, dict[str, float]]:
        """What the hot steps ask of the heater: greatest mass, smallest bore, and the power in the machine file."""
        masses, bores = [], []
        for name in self.procedure.order:
            step = self.procedure.steps[name]
            if step.method != "hot" or heating.OVEN in self.stage.tools(step):
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

    def _oven(self) -> tuple[str, dict[str, float]]:
        """What the parts that don't go on the heater ask of the oven: the heaviest, and the hottest air at the present setting."""
        benches = (self.stage.bench(step, self.settings) for step in self.procedure.steps.values())
        found = [run for run in map(heating.heating_of, benches) if run is not None and run.oven is not None]
        if not found:
            return "", {}
        heaviest, air = max(run.mass for run in found), max(run.oven or 0.0 for run in found)
        told = text(
            "kit.size.oven", mass=self.shown(heaviest, "mass"), oven=units.show(air, "temperature", self.settings.units, digits=0)
        )
        return told, {"mass": heaviest, "temperature": air}

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
        hung = slinging.sling(shop, self.procedure.steps[step].tools, weight)
        rating = hung.rating
        values: dict[str, Any] = {
            "mass": self.shown(weight, "mass"),
            "allowed": self.shown(hung.planned, "mass"),
            "rating": self.shown(rating, "mass"),
            "legs": hung.carrying,
            "angle": self.shown(hung.angle, "angle"),
        }
        words = [text("kit.size.lift" if hung.legs > 1 else "kit.size.lift_one", **values)]
        if shop.sling_rating is not None and rating > shop.sling_rating:
            words.append(text("kit.size.over_rating", rating=self.shown(shop.sling_rating, "mass")))
        return Item("lifting", key, name, "; ".join(words), 1, (step,), (("mass", weight), ("rating", rating)))
