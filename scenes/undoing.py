"""Which moves of a job must be undone before a part can be put in late, or taken out again.

mm. Contents: `Event`, `Undoing`.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from geometry.blocking import Table
from geometry.joints import Fit, GasketJoint, Joint, MeshJoint, Rest, ScrewJoint, Seat, WireJoint
from geometry.part import Part
from geometry.reducer import Reducer
from scenes import order
from scenes.moves import Leg, Move, moves
from scenes.procedure import Procedure
from scenes.ties import tied


@dataclass(frozen=True)
class Event:
    """One move with its place in the order; `until`: place of the step that takes it out again."""

    move: Move
    place: int
    until: int


def _ties(reducer: Reducer, joints: Sequence[Joint]) -> list[frozenset[str]]:
    return [
        frozenset(part for name in tied(joint) if name for part in reducer.members(name) if part in reducer.by_name)
        for joint in joints
    ]


def _laid(reducer: Reducer, procedure: Procedure) -> list[frozenset[str]]:
    """Gaskets that no joint names lie under what their step brings next, on what that is screwed to."""
    named = {joint.gasket for joint in reducer.of_kind(GasketJoint)}
    under = {joint.clamps: reducer.members(joint.into) for joint in reducer.of_kind(ScrewJoint)}
    found = []
    for step in procedure.steps.values():
        for item, above in zip(step.arrives, step.arrives[1:], strict=False):
            if item not in named and reducer.by_name[reducer.members(item)[0]].role == "gasket":
                found.append(frozenset((*reducer.members(item), *reducer.members(above), *under.get(above, ()))))
    return found


Partners = Mapping[str, frozenset[str]]


def _partners(ties: Sequence[frozenset[str]]) -> Partners:
    """What each part is tied to, itself included."""
    return {name: frozenset().union(*(tie for tie in ties if name in tie)) for name in frozenset().union(*ties)}


def _drawn(reducer: Reducer, move: Move) -> Leg | None:
    """The straight way out of a unit that is screwed to what stands, along its screws; none where it goes back that way anyway."""
    for joint in reducer.of_kind(ScrewJoint):
        if move.bench and joint.clamps in move.parts and set(reducer.members(joint.into)) & set(move.standing):
            as_it_came = len(move.legs) == 1 and move.legs[0].way == joint.axis
            return None if as_it_came else Leg(joint.axis, move.legs[-1].side)
    return None


class Undoing:
    """Which later moves must be undone before a move can be made (a forgotten part) or made back (one that is to come off)."""

    def __init__(self, reducer: Reducer, procedure: Procedure, pitch: float) -> None:
        self.reducer, self.procedure = reducer, procedure
        self.table = Table(reducer, pitch)
        self.parts: Mapping[str, Part] = {
            name: replace(part, spec=part.unlocked) if part.unlocked is not None else part for name, part in reducer.by_name.items()
        }
        self.teeth = tuple(reducer.of_kind(MeshJoint))
        self.exempt = order.exempt(reducer) - {frozenset((joint.pinion, joint.gear)) for joint in self.teeth}
        self.ties = _ties(reducer, reducer.joints) + _laid(reducer, procedure)
        self.partners = _partners(self.ties)
        sliding = (Fit, Seat, GasketJoint, Rest)
        self.holding = _partners(_ties(reducer, [joint for joint in reducer.joints if not isinstance(joint, sliding)]))
        places = {name: place for place, name in enumerate(procedure.order)}
        every = moves(reducer, procedure)
        gone = {part: places[move.step] for move in every if move.leaving for part in move.parts}
        self.events = [
            Event(move, places[move.step], max(gone.get(part, len(procedure.order)) for part in move.parts))
            for move in every
            if not move.leaving
        ]
        self.wires = {
            frozenset((joint.wire, head)) for joint in reducer.of_kind(WireJoint) for head in reducer.members(joint.screws)
        }
        self.housings = {joint.into for joint in reducer.of_kind(ScrewJoint)}
        self.drawn = {index: way for index, event in enumerate(self.events) if (way := _drawn(reducer, event.move)) is not None}
        self._before: dict[tuple[int, bool, frozenset[int], bool], tuple[int, ...]] = {}
        self._shut: dict[tuple[int, int, bool], bool] = {}
        self._drawn_free: dict[int, bool] = {}
        self._tight = tuple(self._sits_tight(event.move) for event in self.events)

    def before(self, index: int, *, back: bool, apart: frozenset[int] = frozenset(), straight: bool = False) -> tuple[int, ...]:
        """Later moves that must be undone first; `back`: to make this one back, else to make it at all; `apart`: benches and
        housings that come off again anyway, and take along what is tied to them; `straight`: it is drawn out along its joint's axis
        instead of going back as it came."""
        key = (index, back, apart, straight)
        if key not in self._before:
            self._before[key] = tuple(self._found(index, back, apart, straight))
        return self._before[key]

    def _found(self, index: int, back: bool, apart: frozenset[int], straight: bool) -> list[int]:
        move = self.events[index].move
        mine, theirs, gone = {*move.parts}, {*move.standing}, set[str]()
        cluster = mine | theirs
        found = []
        for later in range(index + 1, len(self.events)):
            other = self.events[later].move
            if cluster.isdisjoint(other.standing) and cluster.isdisjoint(other.parts):
                continue
            joining = set(other.parts if not cluster.isdisjoint(other.standing) else other.standing) - cluster
            cluster |= joining
            to_mine, to_theirs = back and self._tied_to(joining, mine), self._tied_to(joining, theirs)
            if straight and to_mine and to_theirs:  # what only slides on a unit that is drawn out stays where it is
                to_mine = self._tied_to(joining, mine, self.holding)
            wired = back and any(wire & joining and wire & set(move.parts) for wire in self.wires)
            if not to_mine and not to_theirs and self._tied_to(joining, gone):
                gone |= joining
            elif later in apart or wired or (to_mine and to_theirs):
                found.append(later)
                gone |= joining
            elif to_mine:
                mine |= joining
            elif self._stands_in_the_way(index, later, joining, straight) and not (
                back and not to_theirs and self._rides(move, joining, theirs)
            ):
                found.append(later)
                gone |= joining
            elif to_theirs:
                theirs |= joining
        return found

    def _rides(self, move: Move, joining: set[str], theirs: set[str]) -> bool:
        """Whether a plug that no joint names goes along with the move: it is free of all that stays."""
        pieces = [self.parts[name] for name in sorted(joining)]
        return all(piece.role == "fastener" for piece in pieces) and not self._in_the_way(move.legs, pieces, theirs)

    def _stands_in_the_way(self, index: int, later: int, joining: set[str], straight: bool) -> bool:
        key = (index, later, straight)
        if key not in self._shut:
            move = self.events[index].move
            moving = [self.parts[name] for name in move.parts]
            self._shut[key] = (
                self._in_the_way((self.drawn[index],), moving, joining)
                if straight
                else self._in_the_way(move.legs, moving, joining)
            )
        return self._shut[key]

    def _tied_to(self, joining: set[str], side: set[str], by: Partners | None = None) -> bool:
        partners = self.partners if by is None else by
        return any(not partners[name].isdisjoint(side) for name in joining if name in partners)

    def _in_the_way(self, legs: Sequence[Leg], moving: Sequence[Part], standing: Collection[str]) -> bool:
        return any(
            self.table.in_the_way(moving, [self.parts[name]], leg.way, offset=leg.offset, until=leg.length, exempt=self.exempt)
            for leg in legs
            for name in sorted(standing)
        )

    def _meshes(self, index: int) -> bool:
        """Whether the teeth keep a unit from being drawn out, by the flank model."""
        move, leg = self.events[index].move, self.drawn[index]
        for joint in self.teeth:
            pair = {joint.pinion, joint.gear}
            mine = pair & set(move.parts)
            if len(mine) == 1 and pair - mine <= set(move.standing):
                name = mine.pop()
                other = self.parts[(pair - {name}).pop()]
                if order.mesh(self.reducer, self.table, self.parts[name], other, leg, name == joint.pinion) is not None:
                    return True
        return False

    def _free(self, index: int) -> bool:
        """Whether a unit can be drawn out straight past what stood there when it came."""
        if index not in self._drawn_free:
            move, leg = self.events[index].move, self.drawn[index]
            moving, standing = ([self.parts[name] for name in names] for names in (move.parts, move.standing))
            skipped = order.exempt(self.reducer)
            shut = self.table.in_the_way(moving, standing, leg.way, exempt=skipped)
            self._drawn_free[index] = not shut and not self._meshes(index)
        return self._drawn_free[index]

    def off(self, index: int, place: int, *, back: bool = False) -> tuple[int, ...]:
        """All moves that must be undone for a forgotten one that is noticed after the step at this place, the last made first;
        `back`: for one that was made, before it can be made back."""
        found = self._off(index, place, frozenset(), back)
        for each in sorted(found & self.drawn.keys()):
            if self._free(each):
                found = min(found, self._off(index, place, frozenset({each}), back), key=self._hurt)
        return tuple(sorted(found, reverse=True))

    def _hurt(self, undone: set[int]) -> tuple[int, int]:
        return sum(self.tight(each) for each in undone), len(undone)

    def _off(self, index: int, place: int, straight: frozenset[int], back: bool) -> set[int]:
        found = self._grown(index, place, straight, straight, back)
        while True:
            apart = frozenset(each for each in found if self._carries(self.events[each].move))
            less = self._grown(index, place, apart, straight, back)
            if not less < found:
                return found
            found = less

    def _carries(self, move: Move) -> bool:
        return move.bench or not self.housings.isdisjoint(move.parts)

    def _grown(self, index: int, place: int, apart: frozenset[int], straight: frozenset[int], back: bool) -> set[int]:
        found: set[int] = set()
        waiting = list(self.before(index, back=back, apart=apart, straight=back and index in straight))
        while waiting:
            now = waiting.pop()
            if now not in found and self.events[now].place <= place < self.events[now].until:
                found.add(now)
                waiting += self.before(now, back=True, apart=apart, straight=now in straight)
        return found

    def tight(self, index: int) -> bool:
        """Whether this move, made back, parts what sits tight on a shaft."""
        return self._tight[index]

    def _sits_tight(self, move: Move) -> bool:
        return any(
            fit.clearance[0] < 0.0 and fit.shaft_part.endswith("shaft") and _parts(fit, move) for fit in self.reducer.of_kind(Fit)
        )

    def things(self, undone: Sequence[int]) -> tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]:
        """What comes off by moves undone, what of it sits tight, and which of it are whole units, by their names in the procedure."""
        items = [self.events[each].move for each in undone]
        return (
            tuple(dict.fromkeys(move.item for move in items)),
            tuple(dict.fromkeys(self.events[each].move.item for each in undone if self.tight(each))),
            tuple(move.item for move in items if move.bench),
        )

    def again(self, undone: Sequence[int], place: int) -> tuple[str, ...]:
        """Steps to be done again: those undone, after the first of them the ones of the same phases that bring nothing, and the
        closing checks when something tight or a whole unit comes off; oil and first run then, or when they read what was undone."""
        if not undone:
            return ()
        steps = self.procedure.steps
        names = {self.events[index].move.step for index in undone}
        phases = {steps[name].phase for name in names}
        items = {self.events[index].move.item for index in undone}
        heavy = any(self.events[index].move.bench or self.tight(index) for index in undone)
        if heavy:
            phases |= {
                phase
                for phase in self.procedure.phases
                if not any(step.arrives or step.merges for step in steps.values() if step.phase == phase)
            }
        first = min(self.events[index].place for index in undone)
        for name in self.procedure.order[first : place + 1]:
            step = steps[name]
            if step.method == "oil" and not heavy and items.isdisjoint(step.reads):
                continue
            if step.phase in phases and not (step.arrives or step.merges or step.removes):
                names.add(name)
        return tuple(name for name in self.procedure.order if name in names)


def _parts(fit: Fit, move: Move) -> bool:
    pair = {fit.bore_part, fit.shaft_part}
    return len(pair & set(move.parts)) == 1 and len(pair & set(move.standing)) == 1
