"""What the links leave open in time: the critical path, phases that can be worked side by side, and a plan for two fitters.

s. Each step takes what the time plan of the given order says; heating and waiting count as work of the fitter at hand. Two fitters never
work on one bench at the same time; a merge takes both benches, and from then on they are one. The plan takes the ready step with the longest way still to go first,
which need not be the shortest plan. All of it is indicative, as the times are.
Contents: `Network`, `network`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from scenes.precedence import Precedence
from scenes.procedure import Procedure, Step
from scenes.timeplan import TimePlan

FITTERS = 2


@dataclass(frozen=True)
class Slot:
    """One step in the plan: which fitter, 1 or 2, from when to when [s]."""

    step: str
    fitter: int
    start: float
    end: float


@dataclass(frozen=True)
class Network:
    """Critical path and its length, one bench after the other, the plan for two fitters [s]; pairs of phases that can be
    worked side by side."""

    critical: tuple[str, ...]
    critical_time: float
    alone: float
    plan: tuple[Slot, ...]
    side_by_side: tuple[tuple[str, str], ...]

    @property
    def together(self) -> float:
        """How long two fitters take [s]."""
        return max(slot.end for slot in self.plan)


def network(procedure: Procedure, links: Precedence, times: TimePlan) -> Network:
    """What the links of a procedure leave open. `times`: its time plan [s]."""
    took = {row.id: row.total.value for row in times.steps}
    rest = _rest(links, took)
    step = max(links.order, key=lambda name: rest[name])
    critical = [step]
    while followers := [link.after for link in links.reduced if link.before == step]:
        step = max(followers, key=lambda name: rest[name])
        critical.append(step)
    return Network(
        tuple(critical),
        rest[critical[0]],
        sum(took.values()),
        _planned(procedure, links, took, rest),
        _side_by_side(procedure, links),
    )


def _rest(links: Precedence, took: Mapping[str, float]) -> dict[str, float]:
    """Time of the longest way from the start of a step to the end of the job [s]."""
    rest: dict[str, float] = {}
    for name in reversed(links.order):
        rest[name] = took[name] + max((rest[link.after] for link in links.reduced if link.before == name), default=0.0)
    return rest


def _planned(procedure: Procedure, links: Precedence, took: Mapping[str, float], rest: Mapping[str, float]) -> tuple[Slot, ...]:
    waiting = sorted(links.order, key=lambda name: (-rest[name], links.order.index(name)))
    ends: dict[str, float] = {}
    benches: dict[str, float] = {}
    joined: dict[str, str] = {}
    fitters = [0.0] * FITTERS
    found: list[Slot] = []

    def taken(step: Step) -> set[str]:
        """Benches that a step works on, each as the one that it has joined."""
        units = set()
        for bench in filter(None, (step.bench, step.merges)):
            while bench in joined:
                bench = joined[bench]
            units.add(bench)
        return units

    while waiting:
        starts = {}
        for name in waiting:
            before = links.closure.before(name)
            if all(other in ends for other in before):
                free = [benches.get(bench, 0.0) for bench in taken(procedure.steps[name])]
                starts[name] = max([min(fitters), *free, *(ends[other] for other in before)])
        name = min(starts, key=lambda name: (starts[name], waiting.index(name)))
        start, step = starts[name], procedure.steps[name]
        fitter = max((place for place in range(FITTERS) if fitters[place] <= start), key=lambda place: fitters[place])
        ends[name] = fitters[fitter] = start + took[name]
        units = taken(step)
        for bench in units:
            benches[bench] = ends[name]
        if len(units) > 1:
            into = min(taken(replace(step, merges="")))
            joined[min(units - {into})] = into
        found.append(Slot(name, fitter + 1, start, ends[name]))
        waiting.remove(name)
    return tuple(sorted(found, key=lambda slot: (slot.start, slot.fitter)))


def _side_by_side(procedure: Procedure, links: Precedence) -> tuple[tuple[str, str], ...]:
    """Pairs of phases on benches of their own, nothing of which that moves something waits for the other's."""
    moving = [step for step in procedure.steps.values() if step.arrives or step.removes or step.merges]
    steps = {phase: [step.id for step in moving if step.phase == phase] for phase in procedure.phases}
    benches = {phase: {procedure.steps[name].bench for name in names} for phase, names in steps.items()}
    return tuple(
        (first, second)
        for place, first in enumerate(procedure.phases)
        for second in procedure.phases[place + 1 :]
        if steps[first]
        and steps[second]
        and benches[first].isdisjoint(benches[second])
        and not any(links.closure.has(a, b) or links.closure.has(b, a) for a in steps[first] for b in steps[second])
    )
