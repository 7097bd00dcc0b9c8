"""The order of the job as frozen records.

Lengths in mm, axes in the reducer's frame (x outward along the high-speed shaft, z up). The words of a step are in the catalogue
(scenes.wording).
Contents: `Step`, `Procedure`, `phases`, `reordered`, `without`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

AXES = ("+x", "-x", "+y", "-y", "+z", "-z")
"""Directions of the reducer's frame: the side a part comes from, or the axis that points up on the bench."""
METHODS = (
    "base",
    "hot",
    "press",
    "draw_on",
    "soft_drift",
    "slide",
    "lower",
    "turn_over",
    "screw",
    "bend_tab",
    "wire",
    "seal",
    "oil",
    "measure",
    "turn_by_hand",
    "remove",
)
"""How the act of a step is done."""
BENCHES = ("low_speed_shaft", "carrier", "high_speed_shaft", "cartridge", "high_speed_cover", "low_speed_cover", "case")
"""What is built up by itself before it joins the case; the case itself comes last."""
MAIN_BENCH = "case"
"""The bench that the others end in."""
THREAD_COMPOUND, LOCKWIRE = "thread_compound", "lockwire"
"""The consumables that lock a thread without a tab: one or the other."""
WIRE = "_wire"
"""End of a lockwire's name; its screws go by the same name with `_screw`."""


@dataclass(frozen=True)
class Step:
    """One act of the job.

    `side`: for each arriving part, merging bench or removed part the axis it comes from (leaves to);
    nothing for one that travels along `path`.
    `path`: legs from the far end to the seat, each the axis along which the part is displaced and by how much [mm].
    `tightens`: screws and nuts brought earlier that this step tightens; `oils`: bearings that it oils; `turned`: what goes in the other
    way round than drawn, end for end, or about its own axis where it has an oil port. `words`: of a planner's own step, by their keys in the
    catalogue. `cautions`: keys of the catalogue, those of the method first. `number` counts from 1.
    """

    id: str
    number: int
    phase: str
    bench: str
    method: str
    arrives: tuple[str, ...] = ()
    side: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}), hash=False)
    path: tuple[tuple[str, float], ...] = ()
    up: str = "+z"
    merges: str = ""
    removes: tuple[str, ...] = ()
    tools: tuple[str, ...] = ()
    consumables: tuple[str, ...] = ()
    hold: bool = False
    reads: tuple[str, ...] = ()
    optional: bool = False
    tightens: tuple[str, ...] = ()
    oils: tuple[str, ...] = ()
    turned: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    words: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}), hash=False)


@dataclass(frozen=True)
class Procedure:
    """The steps by id, their order, and the phases in the order in which they are first met."""

    order: tuple[str, ...]
    steps: Mapping[str, Step] = field(hash=False)
    phases: tuple[str, ...]


def phases(steps: Iterable[Step]) -> tuple[str, ...]:
    """The phases in the order in which they are first met."""
    return tuple(dict.fromkeys(step.phase for step in steps))


def reordered(procedure: Procedure, order: Iterable[str]) -> Procedure:
    """The same steps in another order."""
    names = tuple(order)
    steps = {}
    for place, name in enumerate(names, 1):
        step = procedure.steps[name]
        steps[name] = step if step.number == place else replace(step, number=place)
    return Procedure(names, MappingProxyType(steps), phases(steps.values()))


def _screws(wire: str) -> str:
    """The circle of screws that a lockwire holds."""
    return f"{wire.removesuffix(WIRE)}_screw"


def without(procedure: Procedure, absent: Collection[str]) -> Procedure:
    """The procedure for a machine that does without these parts: no step brings or takes one, a step that only did so is left out.

    A step may state lockwire and thread-locking compound for the same screws: with their wire they need no compound, without it no wire.
    Neither is added: screws whose step states no compound go without.
    """
    wires = {item for step in procedure.steps.values() for item in step.arrives if item.endswith(WIRE)}
    unwired = {_screws(item) for item in absent if item.endswith(WIRE)}
    wired = {_screws(item) for item in wires - set(absent)}
    if not absent and not any(
        THREAD_COMPOUND in step.consumables and wired & set(step.arrives) for step in procedure.steps.values()
    ):
        return procedure
    steps: dict[str, Step] = {}
    for step in procedure.steps.values():
        arrives = tuple(item for item in step.arrives if item not in absent)
        removes = tuple(item for item in step.removes if item not in absent)
        if (step.arrives or step.removes) and not (arrives or removes or step.merges):
            continue
        side = MappingProxyType({item: axis for item, axis in step.side.items() if item not in absent})
        consumables = step.consumables
        for screws, spare in ((unwired, LOCKWIRE), (wired, THREAD_COMPOUND)):
            if screws & set(arrives):
                consumables = tuple(item for item in consumables if item != spare)
        steps[step.id] = replace(step, number=len(steps) + 1, arrives=arrives, removes=removes, side=side, consumables=consumables)
    return Procedure(tuple(steps), MappingProxyType(steps), phases(steps.values()))
