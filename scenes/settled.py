"""The machine as it was read: what an end play or a position reads beyond what the chain's sizes give is laid on a size nobody measured.

A chain's end that was read is surer than the sizes it is added up from, so solids, mesh and end plays follow the reading. The difference
is laid on the cartridge, where none of the chain's sizes was measured on one of the next; it holds for other gaskets too. mm.
Contents: `LAID_ON`, `Stood`, `settled`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from geometry.fields import Size
from geometry.machine import Machine
from geometry.reducer import assemble
from scenes.positions import closed

LAID_ON = {
    "high_speed_end_play": (("high_speed_cartridge", "outer_face", 1), ("high_speed_cover", "spigot", -1)),
    "low_speed_end_play": (("low_speed_cartridge", "outer_face", 1), ("low_speed_cover", "spigot", -1)),
    "pinion_running": (("high_speed_cartridge", "stop_offset", 1), ("case", "end_face", 1)),
    "gear_distance": (("low_speed_cartridge", "stop_offset", -1), ("case", "upper_height", -1)),
}
"""Chains that are read at their end, in the order in which they are settled (an end play moves the running pinion), and for each the sizes
of the machine file that can carry the difference, with the sign by which they move the end."""


@dataclass(frozen=True)
class Stood:
    """A reading of a chain's end [mm], and the free thickness of the position gaskets that were in when it was taken [mm]."""

    value: float
    gaskets: Mapping[str, float]


def settled(machine: Machine, read: Mapping[str, Stood]) -> Machine:
    """The machine whose chains end where they were read. `read`: by the chain's name; an end play of nothing says only how little there is
    and is left out. Raises ValueError where no reducer of this kind can have such a size."""
    for name, sizes in LAID_ON.items():
        one = read.get(name)
        if one is None or (name.endswith("end_play") and one.value <= 0.0):
            continue
        then = assemble(_with(machine, one.gaskets))
        off = one.value - closed(then, then.chain(name)).nominal
        for section, field, sign in sizes:
            size: Size = getattr(getattr(machine, section), field)
            if not size.measured:
                machine = _laid(machine, section, field, sign * off)
                break
    return machine


def _with(machine: Machine, gaskets: Mapping[str, float]) -> Machine:
    made = {name: getattr(machine.gaskets, name).model_copy(update={"thickness": size}) for name, size in gaskets.items()}
    return machine.model_copy(update={"gaskets": machine.gaskets.model_copy(update=made)})


def _laid(machine: Machine, section: str, field: str, off: float) -> Machine:
    record = getattr(machine, section)
    old: Size = getattr(record, field)
    size = old.model_copy(update={"nominal": old.nominal + off, "settled": True})
    return machine.model_copy(update={section: record.model_copy(update={field: size})})
