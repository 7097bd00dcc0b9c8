"""Readings that a step asks for by what it does, whoever wrote the procedure: a nut or screws that it locks, a bearing ring that it heats.

They are found in the reducer's joints, so a procedure of a planner's own has them too. Contents: `Locked`, `locked_at`, `rings`, `asking`.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from types import MappingProxyType

from geometry.joints import Fit, NutJoint, ScrewJoint, WireJoint
from geometry.reducer import Reducer
from scenes.procedure import THREAD_COMPOUND, Procedure, Step

NUT, SCREWS, RING = "nut_locked", "screws_locked", "ring_temperature"
"""A locknut that is tight with its tab bent; screws that are tight and locked; the temperature of a bearing ring off the heater."""


@dataclass(frozen=True)
class Locked:
    """What a step locks: locknuts whose tabs it bends, screw heads that it wires, screws that it sets in thread-locking compound."""

    nuts: int
    heads: int
    compound: int

    @property
    def screws(self) -> int:
        """Screws that are counted at the step, however they are locked."""
        return self.heads + self.compound


def locked_at(reducer: Reducer, procedure: Procedure) -> dict[str, Locked]:
    """Every step that locks something. A step that bends tabs does so at every nut that came to its bench before."""
    washers = {joint.washer for joint in reducer.of_kind(NutJoint)}
    wires = {joint.wire: joint for joint in reducer.of_kind(WireJoint)}
    wired = {joint.screws for joint in wires.values()}
    loose = {joint.screws: joint.count for joint in reducer.of_kind(ScrewJoint) if joint.screws not in wired}
    waiting: dict[str, str] = {}
    found = {}
    for name in procedure.order:
        step = procedure.steps[name]
        bent = [washer for washer, bench in waiting.items() if step.method == "bend_tab" and bench == step.bench]
        for washer in bent:
            del waiting[washer]
        waiting.update({item: step.bench for item in step.arrives if item in washers})
        heads = sum(wires[item].count for item in step.arrives if item in wires)
        compound = sum(loose.get(item, 0) for item in step.arrives) if THREAD_COMPOUND in step.consumables else 0
        if bent or heads or compound:
            found[name] = Locked(len(bent), heads, compound)
    return found


def rings(reducer: Reducer, arrives: Collection[str]) -> list[Fit]:
    """Fits of the bearing rings among these parts that go on a shaft."""
    parts = {part for item in arrives for part in reducer.members(item)}
    return [joint for joint in reducer.of_kind(Fit) if joint.hub == "bearing ring" and joint.bore_part in parts]


def asking(procedure: Procedure, reducer: Reducer) -> Procedure:
    """The procedure with what its steps ask for by themselves."""
    locked = locked_at(reducer, procedure)
    steps = {name: _asking(step, locked.get(name), reducer) for name, step in procedure.steps.items()}
    return replace(procedure, steps=MappingProxyType(steps))


def _asking(step: Step, locked: Locked | None, reducer: Reducer) -> Step:
    own = [
        *([RING] if step.method == "hot" and rings(reducer, step.arrives) else []),
        *([NUT] if locked is not None and locked.nuts else []),
        *([SCREWS] if locked is not None and locked.screws else []),
    ]
    return replace(step, reads=tuple(dict.fromkeys((*step.reads, *own)))) if own else step
