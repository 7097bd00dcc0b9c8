"""What a forgotten part costs: what must come off again to bring it in, how much of that sits tight, and the time to do it over.

mm, s. A move of the job must be undone for a forgotten part when what it brought stands in the part's own way in; a move that must be
undone takes with it every later one that shuts its way back out, or that ties what it brought to what stood there by a joint (screws,
dowels, wire, fits, seats). What is tied to the moving side alone rides along, and what is tied to a part taken off goes with that. A unit
that is screwed to a flange goes back as it came, or straight out along its screws when that undoes less. What was tightened without the
part, and what was read meanwhile, is in `made_void`. Shapes are nominal, tabs bent back. Not judged: tilting,
and whether a tight part survives its puller. Parts that all else on their bench stands on can't be forgotten and are left out.
Contents: `Moment`, `Forgotten`, `table`, `report`, `lines`.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from calc import units
from calc.cooling import Seconds
from geometry.blocking import QUICK, Table
from geometry.joints import Fit, GasketJoint, Joint, MeshJoint, Rest, ScrewJoint, Seat, WireJoint
from geometry.part import Part
from geometry.reducer import Reducer
from scenes import made_void, order
from scenes.order import Leg, Move, Progress
from scenes.procedure import Procedure
from scenes.ties import tied
from scenes.timeplan import TimePlan, added
from scenes.wording import text

TOP = 15
"""Rows that `check --forgotten` prints."""

SPELT_OUT = 10
"""Things that come off again up to which a sentence names them all."""


@dataclass(frozen=True)
class Moment:
    """Noticed after `step`: what comes off again, the last fitted first (`tight`: of that, what sits tight on its shaft; `benches`:
    units drawn out whole), what is loosened and tightened again (`loose`), steps whose readings count for nothing (`void`), all steps
    to be done again and their time [s]."""

    step: str
    number: int
    off: tuple[str, ...]
    tight: tuple[str, ...]
    benches: tuple[str, ...]
    loose: tuple[str, ...]
    void: tuple[str, ...]
    steps: tuple[str, ...]
    time: Seconds


@dataclass(frozen=True)
class Forgotten:
    """What one forgotten part or group costs after each step from its own on; `free_until`: the last step after which nothing tight
    must come off, empty when there is none."""

    item: str
    step: str
    number: int
    moments: tuple[Moment, ...]
    free_until: str

    @property
    def end(self) -> Moment:
        """Noticed at the end (a tool: just before it is taken out)."""
        return self.moments[-1]


@dataclass(frozen=True)
class _Event:
    """One move with its place in the order; `until`: place of the step that takes it out again."""

    move: Move
    place: int
    until: int


def _ties(reducer: Reducer, joints: Sequence[Joint]) -> list[frozenset[str]]:
    return [
        frozenset(part for name in tied(joint) if name for part in reducer.members(name) if part in reducer.by_name)
        for joint in joints
    ]


def _drawn(reducer: Reducer, move: Move) -> Leg | None:
    """The straight way out of a unit that is screwed to what stands, along its screws; none where it goes back that way anyway."""
    for joint in reducer.of_kind(ScrewJoint):
        if move.bench and joint.clamps in move.parts and set(reducer.members(joint.into)) & set(move.standing):
            as_it_came = len(move.legs) == 1 and move.legs[0].way == joint.axis
            return None if as_it_came else Leg(joint.axis, move.legs[-1].side)
    return None


class _Undoing:
    """Which later moves must be undone before a move can be made (a forgotten part) or made back (one that is to come off)."""

    def __init__(self, reducer: Reducer, procedure: Procedure, pitch: float) -> None:
        self.reducer, self.procedure = reducer, procedure
        self.table = Table(reducer, pitch)
        self.parts: Mapping[str, Part] = {
            name: replace(part, spec=part.unlocked) if part.unlocked is not None else part for name, part in reducer.by_name.items()
        }
        self.teeth = tuple(reducer.of_kind(MeshJoint))
        self.exempt = order.exempt(reducer) - {frozenset((joint.pinion, joint.gear)) for joint in self.teeth}
        self.ties = _ties(reducer, reducer.joints)
        sliding = (Fit, Seat, GasketJoint, Rest)
        self.holding = _ties(reducer, [joint for joint in reducer.joints if not isinstance(joint, sliding)])
        places = {name: place for place, name in enumerate(procedure.order)}
        every = order.moves(reducer, procedure)
        gone = {part: places[move.step] for move in every if move.leaving for part in move.parts}
        self.events = [
            _Event(move, places[move.step], max(gone.get(part, len(procedure.order)) for part in move.parts))
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

    def _tied_to(self, joining: set[str], side: set[str], ties: Sequence[frozenset[str]] | None = None) -> bool:
        return any(tie & joining and tie & side for tie in (self.ties if ties is None else ties))

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

    def off(self, index: int, place: int) -> tuple[int, ...]:
        """All moves that must be undone for a forgotten one that is noticed after the step at this place, the last made first."""
        found = self._off(index, place, frozenset())
        for each in sorted(found & self.drawn.keys()):
            if self._free(each):
                found = min(found, self._off(index, place, frozenset({each})), key=self._hurt)
        return tuple(sorted(found, reverse=True))

    def _hurt(self, undone: set[int]) -> tuple[int, int]:
        return sum(self.tight(each) for each in undone), len(undone)

    def _off(self, index: int, place: int, straight: frozenset[int]) -> set[int]:
        found = self._grown(index, place, straight, straight)
        while True:
            apart = frozenset(each for each in found if self._carries(self.events[each].move))
            less = self._grown(index, place, apart, straight)
            if not less < found:
                return found
            found = less

    def _carries(self, move: Move) -> bool:
        return move.bench or not self.housings.isdisjoint(move.parts)

    def _grown(self, index: int, place: int, apart: frozenset[int], straight: frozenset[int]) -> set[int]:
        found: set[int] = set()
        waiting = list(self.before(index, back=False, apart=apart))
        while waiting:
            now = waiting.pop()
            if now not in found and self.events[now].place <= place < self.events[now].until:
                found.add(now)
                waiting += self.before(now, back=True, apart=apart, straight=now in straight)
        return found

    def tight(self, index: int) -> bool:
        """Whether this move, made back, parts what sits tight on a shaft."""
        move = self.events[index].move
        return any(
            fit.clearance[0] < 0.0 and fit.shaft_part.endswith("shaft") and _parts(fit, move) for fit in self.reducer.of_kind(Fit)
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


def table(
    reducer: Reducer, procedure: Procedure, times: TimePlan, *, pitch: float = QUICK, progress: Progress | None = None
) -> tuple[Forgotten, ...]:
    """What each forgotten part costs, what hurts most first: by how much sits tight that must come off at the end, then by time.

    `times`: the time plan of the same job [s]. `pitch`: of the dexels [mm]. `progress`: called with parts done and parts in all.
    """
    undoing = _Undoing(reducer, order.required(procedure), pitch)
    totals = {row.id: row.total for row in times.steps}
    found = []
    for index, event in enumerate(undoing.events):
        if progress is not None:
            progress(index, len(undoing.events))
        if event.move.bench:
            continue
        moments: list[Moment] = []
        known: dict[tuple[int, ...], tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]] = {}
        for place in range(event.place, min(event.until, len(undoing.procedure.order))):
            undone = undoing.off(index, place)
            if undone not in known:
                items = [undoing.events[each].move for each in undone]
                known[undone] = (
                    tuple(dict.fromkeys(move.item for move in items)),
                    tuple(dict.fromkeys(undoing.events[each].move.item for each in undone if undoing.tight(each))),
                    tuple(move.item for move in items if move.bench),
                )
            off, tight, benches = known[undone]
            step = procedure.steps[undoing.procedure.order[place]]
            since = undoing.procedure.order[event.place + 1 : place + 1]
            loose = made_void.loosened(reducer, procedure, event.move.item, since)
            void = made_void.void_readings(reducer, procedure, (event.move.item, *off, *loose), since)
            tightened = {name for name in since if {*procedure.steps[name].arrives, *procedure.steps[name].tightens} & set(loose)}
            redone = {*undoing.again(undone, place), *tightened, *void}
            again = tuple(name for name in undoing.procedure.order if name in redone)
            time = added(totals[name] for name in again)
            moments.append(Moment(step.id, step.number, off, tight, benches, loose, void, again, time))
        free = [moment.step for moment in moments if not moment.tight]
        number = procedure.steps[event.move.step].number
        found.append(Forgotten(event.move.item, event.move.step, number, tuple(moments), free[-1] if free else ""))
    if progress is not None:
        progress(len(undoing.events), len(undoing.events))
    return tuple(sorted(found, key=lambda row: (-len(row.end.tight), -row.end.time.value, row.number, row.item)))


def name_of(reducer: Reducer, item: str, benches: Sequence[str] = ()) -> str:
    """A part, a circle of screws, a bearing, or a bench, by its name for a fitter."""
    if item in benches:
        return text(f"order.bench.{item}")
    members = reducer.members(item)
    part = reducer.by_name[members[0]]
    if part.number:
        return text(part.wording, count=len(members))
    return text(part.wording) if len(members) == 1 else text(f"part.{item}")


def sentence(reducer: Reducer, procedure: Procedure, row: Forgotten) -> str:
    """The finished sentence of one row."""
    end = row.end
    values: dict[str, Any] = {"item": name_of(reducer, row.item), "number": row.number, "step": text(f"step.{row.step}.title")}
    if not end.time.value:
        return text("order.forgotten.nothing", **values)
    names = [name_of(reducer, item, end.benches) for item in end.off]
    time = units.show(end.time.value, "time", "mm", digits=0)
    if not names:
        told = [text("order.forgotten.void", **values, time=time)]
    elif len(names) > SPELT_OUT:
        told = [text("order.forgotten.many", **values, count=len(names), first=names[0], last=names[-1], time=time)]
    else:
        told = [text("order.forgotten.row", **values, off=", ".join(names), time=time)]
    if end.loose:
        told.append(text("order.forgotten.loose", names=", ".join(name_of(reducer, item) for item in end.loose)))
    if end.void:
        told.append(text("order.forgotten.readings", steps=", ".join(str(procedure.steps[name].number) for name in end.void)))
    if end.tight:
        told.append(text("order.forgotten.tight", tight=", ".join(name_of(reducer, item, end.benches) for item in end.tight)))
        if row.free_until:
            last = procedure.steps[row.free_until]
            told.append(text("order.forgotten.free_until", number=last.number, step=text(f"step.{last.id}.title")))
        else:
            told.append(text("order.forgotten.never_free"))
    return " ".join(told)


def report(reducer: Reducer, procedure: Procedure, rows: Sequence[Forgotten]) -> list[dict[str, Any]]:
    """What `check --forgotten --json` prints: every row with its sentence, times in s."""
    return [{**asdict(row), "text": sentence(reducer, procedure, row)} for row in rows]


def lines(
    reducer: Reducer, procedure: Procedure, rows: Sequence[Forgotten], system: units.System, *, pitch: float = QUICK
) -> list[str]:
    """What `check --forgotten` prints: the rows that hurt most, and what the figures are. `pitch`: that the table was made at [mm]."""
    shown = [f"{place:2}  {sentence(reducer, procedure, row)}" for place, row in enumerate(rows[:TOP], 1)]
    foot = [text("order.forgotten.more", count=len(rows) - len(shown))] if len(rows) > len(shown) else []
    looked = text("order.forgotten.looked", pitch=units.show(pitch, "length", system, digits=None if system == "inch" else 1))
    return [
        text("order.forgotten.title", shown=len(shown), count=len(rows)),
        *shown,
        *foot,
        looked,
        text("order.forgotten.indicative"),
    ]
