"""How warm parts and instrument were when something was read: no reading counts until they are within 5 K of each other. degC, K, mm.

One temperature alone is set against its partner in the record (a bore and its seat), else against the workshop's in the machine file.
Contents: `read_all`, `looked_at`, `too_hot`, `noted`, `material_of`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from calc import heat, materials, units
from geometry.joints import Fit
from geometry.machine import Machine
from geometry.reducer import Reducer
from scenes.procedure import Step
from scenes.reads import DIALLED, TEMPERATURES, Read
from scenes.remarks import Remark
from scenes.timeplan import COLD
from scenes.wording import text

if TYPE_CHECKING:
    from scenes.record import Job, Taken

MOST = 8
"""Parts whose temperature is noted with one reading at most."""
ANYHOW = frozenset({"bore_clearance"})
"""Lengths that are read between a hot and a cold part: without the hot part's temperature they count for nothing."""
NOTED = DIALLED | {"shoulder_gap"}
"""Readings that tell of it where no temperature was noted."""
PAIRS = (
    ("pinion.bore", "high_speed_shaft.pinion_seat"),
    ("gear.bore", "low_speed_shaft.gear_seat"),
    ("case.horizontal_bore", "high_speed_cartridge.body"),
    ("case.upper_bore", "low_speed_cartridge.body"),
    ("case.floor_bore", "carrier.body"),
)
"""Bores and what goes into them: both are read at one temperature."""
PARTNER = {one: other for pair in PAIRS for one, other in (pair, pair[::-1])}
IRON = ("case", "high_speed_cartridge", "low_speed_cartridge", "high_speed_cover", "low_speed_cover", "carrier")
BEARING = ("inner_bearing", "lower_bearing", "high_speed_pair", "low_speed_pair")
NO_PART = ("gears", "gaskets", "carrier.gasket")
"""Sizes that are no length of one metal part."""
SAME = 1e-9
"""Rounding in a difference of temperatures [K]."""


def read_all(given: Sequence[str], gauge: str, system: units.System = "mm") -> tuple[tuple[float, ...], float | None]:
    """Temperatures as typed: of the parts, of the instrument [degC]. Raises ValueError with every fault, a line each."""
    faults, found = [], []
    if len(given) > MOST:
        faults.append(text("record.too_many_temperatures", count=len(given), most=MOST))
    for one in [*given, *([gauge] if gauge else [])]:
        try:
            value = units.read(one, "temperature", system)
            if not TEMPERATURES[0] <= value <= TEMPERATURES[1]:
                least, most = (units.typed(limit, "temperature", system) for limit in TEMPERATURES)
                raise ValueError(text("record.out_of_range", least=least, most=most))
            found.append(value)
        except ValueError as error:
            faults.append(text("record.temperature", given=one, fault=error))
    if faults:
        raise ValueError("\n".join(faults))
    return (tuple(found[:-1]), found[-1]) if gauge else (tuple(found), None)


def looked_at(machine: Machine, job: Job, read: Read, taken: Taken, system: units.System) -> Remark:
    """What the temperatures of a reading say; `job`: what had been entered before."""
    if read.kind not in ("length", "torque"):
        return Remark()
    known = [*taken.temperatures, *([taken.gauge] if taken.gauge is not None else [])]
    if read.name in ANYHOW and not taken.temperatures:
        return Remark((), (text("record.now_part_temperature"),), counts=False)
    if not known:
        return Remark((text("record.no_temperature"),)) if read.name in NOTED else Remark()
    says = []
    if read.name not in ANYHOW and len(known) == 1:
        other, whose = _reference(machine, job, read, taken)
        says.append(text(f"record.says_{whose[0]}", one=_shown(known[0], system), other=_shown(other, system), number=whose[1]))
        known.append(other)
    says += _expansion(read, taken, system)
    apart = max(known) - min(known)
    if read.name in ANYHOW or apart <= COLD + SAME:
        return Remark(tuple(says))
    told = {"low": _shown(min(known), system), "high": _shown(max(known), system)}
    told |= {"apart": units.show(apart, "temperature rise", system), "most": units.show(COLD, "temperature rise", system)}
    return Remark(tuple(says), (text("record.now_temperature", **told),), counts=False)


def too_hot(reducer: Reducer, step: Step | None, read: Read, taken: Taken, system: units.System) -> Remark | None:
    """What stands against a part that is warmer than it may be heated, at the step where it goes on hot or by a size of its own; None
    where nothing does."""
    machine = reducer.machine
    warmest = max((*taken.temperatures, *(taken.values if read.kind == "temperature" else ())), default=-math.inf)
    if warmest <= min(machine.gears.heating_limit, machine.shop.bearing_heating_limit) + SAME:
        return None
    items = step.arrives if step is not None and step.method == "hot" else ()
    arrives = [part for item in items for part in reducer.members(item)]
    own = (read.name.split(".", 1)[0],) if read.dimension else ()
    joints = [one for one in reducer.of_kind(Fit) if one.bore_part in {*arrives, *own} and one.hub in ("gear", "bearing ring")]
    if not joints:
        return None
    hubs = {one.hub: machine.gears.heating_limit if one.hub == "gear" else machine.shop.bearing_heating_limit for one in joints}
    hub, limit = min(hubs.items(), key=lambda each: each[1])
    if warmest <= limit + SAME:
        return None
    told = {"warmest": _shown(warmest, system), "limit": _shown(limit, system)}
    key = "record.now_too_hot" if hub == "gear" else "record.now_too_hot_ring"
    return Remark((text("record.says_too_hot", **told),), (text(key),))


def noted(taken: Taken, system: units.System) -> str:
    """The temperatures of a reading for the report; that there are none, where one would be wanted; else nothing."""
    if not taken.temperatures and taken.gauge is None:
        return text("record.report_no_temperature") if taken.read in NOTED else ""
    parts = [_shown(one, system) for one in taken.temperatures]
    return ", ".join([*parts, *([text("record.gauge_at", at=_shown(taken.gauge, system))] if taken.gauge is not None else [])])


def _shown(value: float, system: units.System) -> str:
    return units.show(value, "temperature", system)


def _reference(machine: Machine, job: Job, read: Read, taken: Taken) -> tuple[float, tuple[str, int]]:
    """What one temperature alone is set against [degC], where it comes from, and the number of its entry."""
    for one in reversed(job.standing(PARTNER[read.name]) if read.name in PARTNER else ()):
        if one.temperatures and one.place < taken.place:
            return one.temperatures[0], ("partner", one.number)
    return machine.shop.ambient, ("workshop", 0)


def material_of(name: str) -> str:
    """What the part of a dimension is made of, as `calc.materials` calls it; nothing for what is no length of one metal part."""
    section = name.split(".", 1)[0]
    if section in NO_PART or name in NO_PART:
        return ""
    return "grey iron" if section in IRON else "bearing steel" if section in BEARING else "steel"


def _expansion(read: Read, taken: Taken, system: units.System) -> list[str]:
    """What a size is at 20 °C, when it was read at another temperature: the part's growth less the instrument's."""
    material = material_of(read.name) if read.dimension else ""
    if not material or not taken.temperatures:
        return []
    gauge = heat.REFERENCE if taken.gauge is None else taken.gauge
    part, steel = (materials.material(name).expansion for name in (material, "steel"))
    size = taken.mean
    change = heat.growth(size, steel, gauge - heat.REFERENCE) - heat.growth(size, part, taken.temperatures[0] - heat.REFERENCE)
    if taken.temperatures[0] == heat.REFERENCE and change == 0.0:
        return []
    told = {"at": _shown(heat.REFERENCE, system), "size": units.show(size + change, "length", system)}
    told |= {"change": units.show(change, "length", system, signed=True), "gauge": _shown(gauge, system)}
    return [text("record.says_expansion", material=text(f"material.{material.replace(' ', '_')}"), **told)]
