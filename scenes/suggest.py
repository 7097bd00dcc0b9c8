"""The smallest change of an order that is proven: the fewest steps moved, so that ways are free and the rules kept.

The links (scenes.precedence) are those of the same steps in the shipped order. Of any two steps that stand the wrong way round one must
move. Wrong pairs are a partial order themselves, so the most steps that may stay are its widest set without a wrong pair, and that is
found exactly (Dilworth 1950, by matching). The moved steps go back as near as may
be to where the order behind the links has them. Links may ask for more than a verdict does, so each moved step is tried in its own
place again. Steps of the shipped procedure that the order lacks are put back first, where that leaves fewer faults. The result is judged
like any other order; what it does not cure is told.
Contents: `Move`, `Suggestion`, `suggest`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

from geometry.blocking import QUICK, Table
from scenes import precedence, procedure_file, verdict
from scenes.closure import Closure
from scenes.order import Progress
from scenes.procedure import Procedure, Step, reordered
from scenes.rules import Job
from scenes.verdict import Verdict

MOST_TRIED = 12
"""Steps to move up to which each is tried in its own place again, since links may ask for more than a verdict does;
left-out steps up to which each is tried back in the order."""


@dataclass(frozen=True)
class Move:
    """One step to move: its place before and after, from 1, and the step it then follows (none when it comes first)."""

    step: str
    place: int
    to: int
    after: str


@dataclass(frozen=True, eq=False)
class Suggestion:
    """A proven order near the given one: steps to move, the order, and what no order of these steps cures (its verdict).

    `restored`: steps of the shipped procedure put back in; `links`: pairs that were found of who comes before whom; `tried`: orders judged.
    """

    given: Procedure
    moves: tuple[Move, ...]
    procedure: Procedure
    before: Verdict
    left: Verdict
    restored: tuple[str, ...] = ()
    links: int = 0
    tried: int = 1

    @property
    def cures(self) -> bool:
        """Whether nothing stands against the order any more."""
        return self.left.holds


def suggest(job: Job, *, pitch: float = QUICK, progress: Progress | None = None) -> Suggestion:
    """The smallest change of a job's order. `pitch`: of the dexels [mm]."""
    table, tried = Table(job.reducer, pitch), 0

    def judged(procedure: Procedure) -> Verdict:
        nonlocal tried
        tried += 1
        return verdict.judge(replace(job, procedure=procedure), table=table)

    before = verdict.judge(job, table=table, progress=progress)
    if before.holds:
        return Suggestion(job.procedure, (), job.procedure, before, before)
    shipped = procedure_file.shipped_without(frozenset(job.reducer.left_out))
    given, left = _restored(job.procedure, shipped, before, judged)
    restored = tuple(name for name in given.order if name not in job.procedure.steps)
    if left.holds:
        return Suggestion(job.procedure, (), given, before, left, restored, 0, tried + 1)
    start, basis = left, _basis(given, shipped)
    links = precedence.precedence(replace(job, procedure=basis), table=table, progress=progress)
    closure = links.closure
    kept = _kinder(given.order, basis.order, closure, _widest(given.order, closure))
    names = _placed(given.order, basis.order, closure, kept)
    if len(kept) < len(names):
        left = judged(reordered(given, names))
    for step in [name for name in given.order if name not in kept] if len(names) - len(kept) <= MOST_TRIED else []:
        nearer = _placed(given.order, basis.order, closure, kept | {step})
        found = judged(reordered(given, nearer))
        if _count(found) <= _count(left):
            kept, names, left = kept | {step}, nearer, found
    if not left.holds and _count(left) >= _count(start):
        kept, names, left = frozenset(given.order), list(given.order), start
    places = {name: place for place, name in enumerate(names, 1)}
    moves = tuple(
        Move(name, job.procedure.order.index(name) + 1, places[name], names[places[name] - 2] if places[name] > 1 else "")
        for name in job.procedure.order
        if name not in kept
    )
    return Suggestion(job.procedure, moves, reordered(given, names), before, left, restored, len(links.links), tried + 1)


def _restored(
    given: Procedure, shipped: Procedure, before: Verdict, judged: Callable[[Procedure], Verdict]
) -> tuple[Procedure, Verdict]:
    """The order with those left-out steps of the shipped one put back without which more would stand against it."""
    absent = [name for name in shipped.order if name not in given.steps]
    if not 0 < len(absent) <= MOST_TRIED:
        return given, before
    best = _with(given, shipped, absent)
    left = judged(best)
    if _count(left) >= _count(before):
        return given, before
    trial = [name for name in absent if shipped.steps[name].optional]
    for some in [trial, *([name] for name in absent)] if len(absent) > 1 else ():
        keep = [name for name in absent if name in best.steps and name not in some]
        if all(name not in best.steps for name in some):
            continue
        found = judged(less := _with(given, shipped, keep))
        if _count(found) <= _count(left):
            best, left = less, found
    return best, left


def _with(given: Procedure, shipped: Procedure, added: Sequence[str]) -> Procedure:
    """The order with steps of the shipped one, each behind the last step there that the shipped order has before it."""
    steps: dict[str, Step] = {**given.steps, **{name: shipped.steps[name] for name in added}}
    names = list(given.order)
    for name in added:
        earlier = [other for other in shipped.order[: shipped.order.index(name)] if other in names]
        names.insert(names.index(earlier[-1]) + 1 if earlier else 0, name)
    return reordered(Procedure(tuple(names), MappingProxyType(steps), given.phases), names)


def _count(found: Verdict) -> int:
    return len(found.gaps) + len(found.proof.blocked) + len(found.stops)


def _basis(given: Procedure, shipped: Procedure) -> Procedure:
    """The given steps in the order of the shipped procedure, a planner's own ones behind the step they follow in the given order."""
    names = [name for name in shipped.order if name in given.steps]
    for place, name in enumerate(given.order):
        if name not in names:
            names.insert(names.index(given.order[place - 1]) + 1 if place else 0, name)
    return reordered(given, names)


def _placed(given: Sequence[str], basis: Sequence[str], closure: Closure, kept: frozenset[str]) -> list[str]:
    """The kept steps as given, each other one as near to its place in the order behind the links as these let it."""
    names = [name for name in given if name in kept]
    for name in (name for name in basis if name not in kept):
        low = max((place + 1 for place, other in enumerate(names) if closure.has(other, name)), default=0)
        high = min((place for place, other in enumerate(names) if closure.has(name, other)), default=len(names))
        at = {other: place for place, other in enumerate(names)}
        before = [other for other in basis[: basis.index(name)] if other in at]
        wanted = at[before[-1]] + 1 if before else 0
        names.insert(min(max(wanted, low), high), name)
    return names


def _widest(given: Sequence[str], closure: Closure) -> frozenset[str]:
    """The most steps no two of which stand the wrong way round: the complement of a least cover, read off a greatest matching."""
    wrong = {first: [late for late in given[place + 1 :] if closure.has(late, first)] for place, first in enumerate(given)}
    partner: dict[str, str] = {}

    def matched(step: str, seen: set[str]) -> bool:
        for other in wrong[step]:
            if other not in seen:
                seen.add(other)
                if other not in partner or matched(partner[other], seen):
                    partner[other] = step
                    return True
        return False

    for step in given:
        matched(step, set())
    left, right = {step for step in given if step not in partner.values()}, set[str]()
    waiting = list(left)
    while waiting:
        for other in wrong[waiting.pop()]:
            if other not in right:
                right.add(other)
                if partner[other] not in left:
                    left.add(partner[other])
                    waiting.append(partner[other])
    return frozenset(step for step in given if step in left and step not in right)


def _kinder(given: Sequence[str], basis: Sequence[str], closure: Closure, kept: frozenset[str]) -> frozenset[str]:
    """The same number of steps kept, where one step moved will do: the one that then restores more of the order behind the links."""
    if len(given) - len(kept) != 1:
        return kept
    wrong = [(a, b) for place, a in enumerate(given) for b in given[place + 1 :] if closure.has(b, a)]
    able = [name for name in given if all(name in pair for pair in wrong)]

    def strayed(name: str) -> int:
        rest = [other for other in given if other != name]
        return sum(basis.index(a) > basis.index(b) for place, a in enumerate(rest) for b in rest[place + 1 :])

    return frozenset(given) - {min(able, key=lambda name: (strayed(name), given.index(name)))}
