"""What stands on each bench as the order is run, and which step sets each lock.

Contents: `Standing`, `replay`, `locked_at`.
"""

from __future__ import annotations

from dataclasses import dataclass

from geometry.reducer import Reducer
from scenes.procedure import Procedure


@dataclass(frozen=True, eq=False)
class Standing:
    """What stands on a bench just before a step, what arrives in it, and what of it leaves."""

    before: tuple[str, ...]
    arriving: tuple[str, ...]
    bench: str
    leaving: tuple[str, ...] = ()


def replay(reducer: Reducer, procedure: Procedure) -> dict[str, Standing]:
    """Run the order once and note, for every step, what stands on its bench and what arrives (a merging bench included)."""
    benches: dict[str, list[str]] = {}
    found: dict[str, Standing] = {}
    for name in procedure.order:
        step = procedure.steps[name]
        bench = benches.setdefault(step.bench, [])
        arriving = [member for item in step.arrives for member in reducer.members(item)]
        before = tuple(bench)
        if step.merges:
            arriving += benches.pop(step.merges, [])
        leaving = tuple(member for item in step.removes for member in reducer.members(item) if member in before)
        bench[:] = [member for member in bench if member not in leaving]
        bench += [member for member in arriving if member not in bench]
        found[name] = Standing(before, tuple(arriving), step.bench, leaving)
    return found


def locked_at(reducer: Reducer, procedure: Procedure) -> dict[str, int]:
    """For every part with a lock: the place in the order of the step that sets it (past the end when none does)."""
    waiting: dict[str, str] = {}
    found = {part.name: len(procedure.order) for part in reducer.parts if part.unlocked is not None}
    for place, name in enumerate(procedure.order):
        step = procedure.steps[name]
        if step.method == "bend_tab":
            for washer in [item for item, bench in waiting.items() if bench == step.bench]:
                found[washer] = place
                del waiting[washer]
        for item in step.arrives:
            waiting.update({member: step.bench for member in reducer.members(item) if member in found})
    return found
