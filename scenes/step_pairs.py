"""What geometry says about who comes first: for any two parts, which act may be the last of those that bring them together.

Two parts meet when both stand on one bench: after the two acts that bring them and the merges that join their benches. Whichever act is
last makes the move, the other part stands. An act that can't be last (the part that stands is in its way) must come before one that
can. This holds for every order of the same acts, so an order that keeps all these pairs has every way free; it is not enough for a
tool that may be slid out in any way, which is tried against all that may stand at once.
Contents: `Need`, `needs`, `replayed`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import product
from typing import Literal

import numpy as np

from geometry.blocking import Table
from geometry.joints import GasketJoint, MeshJoint
from geometry.part import Part
from geometry.reducer import Reducer
from geometry.sliding import slides_out
from scenes import order
from scenes.benches import locked_at
from scenes.closure import Closure
from scenes.moves import Leg, legs
from scenes.order import SQUARE, Progress
from scenes.procedure import Procedure

Place = tuple[int, int]
"""Number of the step in the order, from 0, and of the act in the step."""
Kind = Literal["way", "gasket", "base", "join", "out", "again"]


@dataclass(frozen=True)
class Need:
    """One step must come before another: `item` can't come in (or be joined, or come out) there once `by` stands.

    `leaving`: it is a way out; `bench`: item is a bench that merges; `touch`: travel to the touch on the way out [mm]. `kind`: a way
    that is shut, a gasket that would be rubbed, the base that all else on a bench (`by`) stands on, what a bench (`by`) gets before it
    joins another, a part that comes and goes (and comes again).
    """

    before: str
    after: str
    item: str
    part: str
    by: str
    leaving: bool = False
    bench: bool = False
    touch: float = 0.0
    kind: Kind = "way"


@dataclass(frozen=True)
class _Stay:
    """One part in one shape from the act that brings it to the act that takes it (or gives it another shape)."""

    part: Part
    bench: str
    start: Place
    end: Place | None


@dataclass(frozen=True)
class Act:
    """An act that moves something: a part comes, a bench joins, a part is taken out."""

    place: Place
    item: str
    names: frozenset[str]
    legs: tuple[Leg, ...]
    leaving: bool = False
    bench: str = ""


@dataclass
class Played:
    """An order replayed: how long each part stays, all acts that move, and what each bench joins (the act, the bench it joins)."""

    stays: dict[str, list[_Stay]] = field(default_factory=dict)
    acts: dict[Place, Act] = field(default_factory=dict)
    joins: dict[str, tuple[Place, str]] = field(default_factory=dict)

    def chain(self, bench: str) -> list[tuple[Place, str]]:
        """The merges that a bench goes through, with the bench that each one moves."""
        found: list[tuple[Place, str]] = []
        while bench in self.joins and len(found) < len(self.joins):
            place, onto = self.joins[bench]
            found.append((place, bench))
            bench = onto
        return found

    def set_by(self, stay: _Stay) -> int | None:
        """Number of the step that brought a part whose lock was set later; none for a stay that begins with its coming."""
        first = self.stays[stay.part.name][0].start
        return None if stay.start in self.acts else first[0]

    def under(self, bench: str, other: str) -> bool:
        """Whether what stands on a bench goes along when the other one moves."""
        return bench == other or any(self.joins[moved][1] == other for _, moved in self.chain(bench))


def replayed(reducer: Reducer, procedure: Procedure) -> Played:
    played = Played()
    locks, flat = locked_at(reducer, procedure), order.unlocked(reducer)
    here: dict[str, tuple[str, Place]] = {}

    def stay(name: str, end: Place | None) -> None:
        bench, start = here.pop(name)
        lock = (locks[name], 0) if locks.get(name, len(procedure.order)) < len(procedure.order) else None
        rows = played.stays.setdefault(name, [])
        if name not in locks:
            rows.append(_Stay(reducer.by_name[name], bench, start, end))
        elif lock is None:
            rows.append(_Stay(flat[name], bench, start, end))
        else:
            rows += [_Stay(flat[name], bench, start, lock), _Stay(reducer.by_name[name], bench, lock, end)]

    for number, name in enumerate(procedure.order):
        step = procedure.steps[name]
        count = 0

        def act(item: str, parts: Sequence[str], legs: tuple[Leg, ...], leaving: bool = False, bench: str = "") -> Place:
            nonlocal count
            count += 1
            place = (number, count)  # noqa: B023 (called before the next step)
            played.acts[place] = Act(place, item, frozenset(parts), legs, leaving, bench)
            return place

        for item in step.removes:
            there = [member for member in reducer.members(item) if member in here]
            loose = any(reducer.by_name[member].tool for member in there)
            for parts in [[member] for member in there] if loose else [there] if there else []:
                end = act(item, parts, legs(reducer, step, item, parts, True), leaving=True)
                for member in parts:
                    stay(member, end)
        coming = [(item, reducer.members(item), "") for item in step.arrives]
        if step.merges and step.merges not in played.joins and step.merges != step.bench:
            sheets = sum(reducer.by_name[members[0]].role == "gasket" for _, members, _ in coming)
            coming.insert(sheets, (step.merges, (), step.merges))
        for item, members, bench in coming:
            fresh = [member for member in members if member not in here]
            if bench:
                first = next((name for name, (where, _) in here.items() if played.under(where, bench)), "")
                if first:
                    way = legs(reducer, step, item, (first,), True)
                    played.joins[bench] = (act(item, (), way, bench=bench), step.bench)
            elif fresh:
                place = act(item, fresh, legs(reducer, step, item, fresh, not step.merges))
                here.update(dict.fromkeys(fresh, (step.bench, place)))
    for name in list(here):
        stay(name, None)
    return played


class _Ways:
    """Whether a part's way in (or out) is shut by another, looked up when first asked for."""

    def __init__(self, reducer: Reducer, table: Table, played: Played) -> None:
        self.reducer, self.table, self.played = reducer, table, played
        self.skipped = order.exempt(reducer)
        self.meshes = {frozenset((joint.pinion, joint.gear)): joint.pinion for joint in reducer.of_kind(MeshJoint)}
        self.near = {place: self._near(act) for place, act in played.acts.items()}
        self._found: dict[tuple[Place, Part, Part], float | None] = {}

    def _near(self, act: Act) -> frozenset[tuple[Part, Part]]:
        """Pairs whose boxes leave it open: what may move in the act, and what may stand, in any order of the same acts."""
        moving: list[Part] = []
        standing: list[Part] = []
        for name, stays in self.played.stays.items():
            for part in dict.fromkeys(stay.part for stay in stays):
                goes = self.played.under(stays[0].bench, act.bench) if act.bench else name in act.names
                (moving if goes else standing).append(part)
        return frozenset(
            (a, b)
            for leg in act.legs
            for a, b in self.table.near(moving, standing, leg.way, offset=leg.offset, until=leg.length)
            if frozenset((a.name, b.name)) not in self.skipped or frozenset((a.name, b.name)) in self.meshes
        )

    def touch(self, place: Place, moving: Part, standing: Part) -> float | None:
        """Travel on the way out at which one part touches another in an act, None when the way is free [mm]."""
        if place not in self.near or (moving, standing) not in self.near[place]:
            return None
        key = (place, moving, standing)
        if key not in self._found:
            self._found[key] = self._touch(self.played.acts[place], moving, standing)
        return self._found[key]

    def _touch(self, act: Act, moving: Part, standing: Part) -> float | None:
        pinion = self.meshes.get(frozenset((moving.name, standing.name)))
        found: list[float] = []
        for leg in act.legs:
            if pinion is not None:
                touch = order.mesh(self.reducer, self.table, moving, standing, leg, moving.name == pinion)
                found += [touch.first] if touch is not None else []
            else:
                hit = self.table.hit(moving, standing, leg.way, offset=leg.offset, until=leg.length)
                found += [hit.first + leg.after] if hit is not None else []
        return min(found, default=None)


@dataclass(frozen=True)
class _Doubt:
    """A pair that makes `before` come before `after` if `moving` can't pass `standing` in the act `mover`; of no matter once the act
    `gone` is known to come before `after`, or `mover` before one of the `others` that bring the two together."""

    before: Place
    after: Place
    mover: Place
    moving: Part
    standing: Part
    gone: Place | None = None
    others: tuple[Place, ...] = ()


def _doubts(played: Played, ways: _Ways, one: _Stay, other: _Stay) -> Iterator[_Doubt]:
    """What to look up for two parts: none of the acts that can't be last may be the last."""
    joining = _joining(played, (one, other))
    movers: dict[Place, tuple[Part, Part]] = {}
    for mine, theirs in ((one, other), (other, one)):
        places = [mine.start, *(place for place, bench in joining.items() if played.under(mine.bench, bench))]
        movers.update(dict.fromkeys(places, (mine.part, theirs.part)))
    ends = sorted((mine.end, mine.part, theirs.part) for mine, theirs in ((one, other), (other, one)) if mine.end is not None)
    last = max(movers)
    gone = ends[0][0] if ends and ends[0][0] < last else None
    if any(played.set_by(stay) == before[0] for stay, before in ((one, other.start), (other, one.start))):
        return
    if gone is not None:
        yield _Doubt(gone, last, last, *movers[last])
        yield _Doubt(gone, last, *ends[0])
    elif ways.touch(last, *movers[last]) is not None:
        last = max((place for place, pair in movers.items() if ways.touch(place, *pair) is None), default=last)
    for place, pair in movers.items():
        if place != last:
            yield _Doubt(place, last, place, *pair, gone, tuple(other for other in movers if other[0] != place[0]))
    if gone is None and len(ends) == 2:
        yield _Doubt(ends[0][0], ends[1][0], *ends[1])


def needs(reducer: Reducer, procedure: Procedure, table: Table, progress: Progress | None = None) -> tuple[Need, ...]:
    """What must come before what for every way to be free, where an order of the same steps can do that at all.

        `table`: of this reducer. Where more than one act may be the last, the one that is last in this order is taken. What already follows
        from nearer pairs is not looked up. A way that no order of these steps opens asks for a circle: what would close one is left out, and
    the verdict on any order then tells the way. `progress`: called with pairs of steps done and in all.
    """
    played = replayed(reducer, procedure)
    ways = _Ways(reducer, table, played)
    names = procedure.order
    found = {(need.before, need.after): need for need in (*_bases(procedure, played), *_rubbed(reducer, procedure, played))}
    found |= {(need.before, need.after): need for need in _slid(reducer, procedure, played, table)}
    known = Closure(names)
    for pair in list(found):
        if known.against(*pair):
            del found[pair]
        else:
            known.add(*pair)
    asked: dict[tuple[int, int], list[_Doubt]] = {}
    pairs = {frozenset(pair) for place, near in ways.near.items() if not _slides(reducer, played.acts[place]) for pair in near}
    for a, b in sorted(map(_by_name, pairs), key=lambda pair: (pair[0].name, pair[1].name)):
        mine, theirs = ([stay for stay in played.stays[part.name] if stay.part is part] for part in (a, b))
        for one, other in product(mine, theirs):
            for doubt in _doubts(played, ways, one, other):
                if doubt.before[0] != doubt.after[0] and not _slides(reducer, played.acts.get(doubt.mover)):
                    asked.setdefault((doubt.before[0], doubt.after[0]), []).append(doubt)
    todo = sorted(asked, key=lambda pair: (pair[1] < pair[0], abs(pair[1] - pair[0]), pair[0]))
    for done, (before, after) in enumerate(todo):
        if progress is not None:
            progress(done + 1, len(todo))
        if known.has(names[before], names[after]) or known.against(names[before], names[after]):
            continue
        told = [
            Need(names[before], names[after], act.item, doubt.moving.name, doubt.standing.name, act.leaving, bool(act.bench), touch)
            for doubt in asked[before, after]
            if doubt.gone is None or not known.has(names[doubt.gone[0]], names[after])
            if not any(known.has(names[before], names[other[0]]) for other in doubt.others)
            if (act := played.acts.get(doubt.mover)) is not None
            if (touch := ways.touch(doubt.mover, doubt.moving, doubt.standing)) is not None
        ]
        if told:
            found[names[before], names[after]] = min(told, key=lambda need: (round(need.touch, 3), need.part, need.by))
            known.add(names[before], names[after])
    return tuple(found.values())


def _by_name(pair: frozenset[Part]) -> tuple[Part, Part]:
    a, b = sorted(pair, key=lambda part: part.name)
    return a, b


def _slides(reducer: Reducer, act: Act | None) -> bool:
    """Whether a way out may go round corners: a single tool that leaves level."""
    return (
        act is not None
        and act.leaving
        and len(act.names) == 1
        and len(act.legs) == 1
        and act.legs[0].way[2] == 0.0
        and reducer.by_name[min(act.names)].tool
    )


def _joining(played: Played, stays: Sequence[_Stay]) -> dict[Place, str]:
    """The merges that bring all these on one bench, with the bench that each one moves."""
    chains = [played.chain(stay.bench) for stay in stays]
    shared = set.intersection(*({place for place, _ in chain} for chain in chains))
    return {place: bench for chain in chains for place, bench in chain if place not in shared}


def _bases(procedure: Procedure, played: Played) -> Iterator[Need]:
    """The first part on a bench before all that moves there, all that a bench gets before it joins another; what is brought before it is
    taken out, and out before it comes again."""
    first: dict[str, tuple[int, str]] = {}
    for place, act in sorted(played.acts.items()):
        step = procedure.steps[procedure.order[place[0]]]
        if not act.leaving and not act.bench:
            first.setdefault(step.bench, (place[0], act.item))
    for number, name in enumerate(procedure.order):
        step = procedure.steps[name]
        for bench in dict.fromkeys((step.bench, step.merges)):
            base, item = first.get(bench, (number, ""))
            if base != number and (step.arrives or step.removes or step.merges):
                yield Need(procedure.order[base], name, item, item, bench, kind="base")
        joined = played.joins.get(step.bench)
        if step.arrives and joined is not None and number < joined[0][0]:
            yield Need(name, procedure.order[joined[0][0]], step.arrives[0], step.arrives[0], step.bench, kind="join")
    for name, stays in played.stays.items():
        for stay, following in zip(stays, [*stays[1:], None], strict=True):
            if stay.end is None:
                continue
            spans: list[tuple[Place, Place, Kind]] = [(stay.start, stay.end, "out")]
            spans += [(stay.end, following.start, "again")] if following is not None else []
            for start, end, kind in spans:
                if start[0] != end[0] and start in played.acts and end in played.acts:
                    yield Need(procedure.order[start[0]], procedure.order[end[0]], name, name, name, kind=kind)


def _rubbed(reducer: Reducer, procedure: Procedure, played: Played) -> Iterator[Need]:
    """Acts that would drag a gasket along a face if they came last."""
    for joint in reducer.of_kind(GasketJoint):
        names = (joint.gasket, joint.flange, joint.base)
        for stays in product(*(played.stays.get(name, []) for name in names)):
            movers = {place: played.acts[place] for place in (*(stay.start for stay in stays), *_joining(played, stays))}
            last = max(movers)
            ends = [stay.end for stay in stays if stay.end is not None]
            for place, act in movers.items():
                if abs(float(np.dot(joint.axis, act.legs[-1].way))) <= SQUARE and place[0] != last[0]:
                    before = min([place, *(end for end in ends if end < last)])
                    yield Need(
                        procedure.order[before[0]], procedure.order[last[0]], act.item, joint.gasket, joint.base, kind="gasket"
                    )


def _slid(reducer: Reducer, procedure: Procedure, played: Played, table: Table) -> Iterator[Need]:
    """Later arrivals that would shut a tool in, tried with all that may stand by then."""
    for place, act in played.acts.items():
        if not _slides(reducer, act):
            continue
        tool = reducer.by_name[min(act.names)]
        gone = {name for name, stays in played.stays.items() if all(stay.end is not None and stay.end <= place for stay in stays)}
        came = {
            name: min(max([stay.start, *(join for join, _ in played.chain(stay.bench))]) for stay in stays)
            for name, stays in played.stays.items()
        }
        standing = [reducer.by_name[name] for name, start in came.items() if start < place and name not in gone]
        if not slides_out(table, tool, standing, act.legs[0].way):
            continue
        later: dict[Place, list[str]] = {}
        for name, start in came.items():
            if start > place:
                later.setdefault((start[0], 0), []).append(name)
        for start in sorted(later):
            more = [reducer.by_name[name] for name in later[start]]
            if slides_out(table, tool, [*standing, *more], act.legs[0].way):
                standing += more
            else:
                shut = next((part for part in more if not slides_out(table, tool, [*standing, part], act.legs[0].way)), more[0])
                yield Need(procedure.order[place[0]], procedure.order[start[0]], act.item, tool.name, shut.name, leaving=True)
