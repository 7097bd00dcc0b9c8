"""The order, proven: for every step the way of every arriving part from far away to its seat, against all that stands there.

mm. Only straight legs are judged: no tilting, no bending, no reach of tools or hands; a tool that is taken out may also be slid out level
in any way. Exempt are the lockwire on its own heads and rollers,
balls and cage inside their own bearing unit; the pair of teeth is judged by the flank model instead of by solids. An order with steps that
may be skipped is judged twice, with all of them and with none.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import combinations
from math import inf
from types import MappingProxyType
from typing import Literal

import numpy as np

from calc import units
from geometry.blocking import NOWHERE, TOUCH, Hit, Table, Vector
from geometry.blocking import PROOF as PROOF
from geometry.blocking import QUICK as QUICK
from geometry.joints import GasketJoint, MeshJoint, Rest, WireJoint
from geometry.mesh_path import teeth_touch
from geometry.part import Part
from geometry.reducer import Reducer
from geometry.sliding import slides_out
from scenes import explode
from scenes.procedure import MAIN_BENCH, Procedure, Step
from scenes.stage import locked_at
from scenes.wording import text

SQUARE = 0.5
"""Cosine of the angle to a gasket's axis below which a part is dragged along its face."""
LAST_PLACED = 40
"""Parts, the last ones put in place first, that are tried as what shuts a tool in."""
OWN_WAY = 0.25
"""A part that rides in another (a key) comes in square to its seat when its own axis is within this of the side [rad]."""
Progress = Callable[[int, int], None]
Cause = Literal["solid", "teeth", "gasket", "shut", "overlap"]


@dataclass(frozen=True)
class Leg:
    """One straight leg: `way`: from the seat to where it comes from; `offset`: shift of its line from the seat; `length`: how far out
    it begins, inf from outside; `after`: travel of the legs that follow [mm]."""

    way: Vector
    side: str
    offset: Vector = NOWHERE
    length: float = inf
    after: float = 0.0


@dataclass(frozen=True)
class Move:
    """What goes along one path in a step: its name in the procedure, its parts, what stands, the legs from far end to seat.

    `skipping`: found only when the steps that may be skipped are skipped."""

    step: str
    item: str
    parts: tuple[str, ...]
    standing: tuple[str, ...]
    legs: tuple[Leg, ...]
    leaving: bool = False
    bench: bool = False
    skipping: bool = False


@dataclass(frozen=True)
class BlockedPath:
    """A part that can't get to its seat (or out of it).

    `item`: what moves, as the procedure calls it; `part`, `by`: the two that touch first; `left`: travel still to go there [mm];
    `trap`: the part that would touch first on the way back out; `side`: axis it comes from; `inside`: they overlap in the seat itself;
    `exact`: `left` is found from outlines, else good to about 2 mm; `cause`: solids overlap, tooth meets tooth by the flank
    model, a gasket would be rubbed sideways along its face, a tool is shut in (`left` then tells nothing), or two parts that came
    together, or whose shape the step changed, overlap in their seats;
    `bench`: `item` is a bench that merges.
    """

    step: str
    number: int
    item: str
    part: str
    by: str
    left: float
    trap: str
    side: str
    leaving: bool
    inside: bool
    exact: bool
    cause: Cause
    bench: bool


@dataclass(frozen=True)
class Proof:
    """The verdict on an order: blocked paths, how many paths and pairs of teeth were judged, pitch of the dexels [mm]."""

    blocked: tuple[BlockedPath, ...]
    paths: int
    meshes: int
    pitch: float

    @property
    def free(self) -> bool:
        """Whether every part has a free way in."""
        return not self.blocked


def moves(reducer: Reducer, procedure: Procedure) -> tuple[Move, ...]:
    """Every path of the job in order: of the course with all steps, and what is new in it when those that may be skipped are skipped."""
    every = list(_course(reducer, procedure))
    least = required(procedure)
    if len(least.order) < len(procedure.order):
        known, shapes = set(every), _set(reducer, procedure) == _set(reducer, least)
        every += [replace(move, skipping=True) for move in _course(reducer, least) if move not in known or not shapes]
        places = {name: place for place, name in enumerate(procedure.order)}
        every.sort(key=lambda move: places[move.step])
    return tuple(every)


def required(procedure: Procedure) -> Procedure:
    """The order without the steps that may be skipped, numbers as they were."""
    steps = {name: step for name in procedure.order if not (step := procedure.steps[name]).optional}
    return Procedure(tuple(steps), MappingProxyType(steps), procedure.phases)


def _set(reducer: Reducer, procedure: Procedure) -> dict[str, str]:
    """The step that sets the lock of each part with one; none when none does."""
    return {part: [*procedure.order, ""][place] for part, place in locked_at(reducer, procedure).items()}


def _course(reducer: Reducer, procedure: Procedure) -> tuple[Move, ...]:
    """Every path when all steps are done. A bench that has joined another takes what is brought to it to that other; one on which
    nothing stood when it was to join stays by itself, so that its own steps are judged as they are."""
    benches: dict[str, list[str]] = {}
    joined: dict[str, str] = {}
    found: list[Move] = []

    def home(bench: str) -> str:
        while bench in joined:
            bench = joined[bench]
        return bench

    for name in procedure.order:
        step = procedure.steps[name]
        bench = benches.setdefault(home(step.bench), [])
        for item in step.removes:
            there = tuple(member for member in reducer.members(item) if member in bench)
            loose = any(reducer.by_name[member].tool for member in there)
            for parts in ((member,) for member in there) if loose else ((there,) if there else ()):
                bench[:] = [member for member in bench if member not in parts]
                if bench:
                    found.append(Move(name, item, parts, tuple(bench), legs(reducer, step, item, parts, True), True))
        coming = [(item, reducer.members(item), False) for item in step.arrives]
        target = home(step.bench)
        if step.merges and home(step.merges) != target:
            unit = tuple(benches.pop(home(step.merges), []))
            sheets = sum(1 for _, members, _ in coming if reducer.by_name[members[0]].role == "gasket")
            if unit:
                joined[home(step.merges)] = target
                coming.insert(sheets, (step.merges, unit, True))
        for item, members, joins in coming:
            fresh = tuple(member for member in members if member not in bench)
            if fresh and bench:
                way = legs(reducer, step, item, fresh, joins or not step.merges)
                found.append(Move(name, item, fresh, tuple(bench), way, bench=joins))
            bench += fresh
    return tuple(found)


def legs(reducer: Reducer, step: Step, item: str, parts: Sequence[str], path: bool) -> tuple[Leg, ...]:
    """The legs of one path, the far end first; the given path belongs to the merging bench where there is one."""
    if step.path and path:
        found = []
        for place, (axis, length) in enumerate(step.path):
            rest = step.path[place + 1 :]
            offset = sum((explode.AXES[after] * far for after, far in rest), np.zeros(3))
            found.append(
                Leg(_vector(explode.AXES[axis]), axis, _vector(offset), length if place else inf, sum(far for _, far in rest))
            )
        return tuple(found)
    side = explode.side_of(step, item) if item != step.merges else explode.AXES[explode.merge_side(step)]
    return (Leg(_own_way(reducer.by_name[parts[0]], side), _axis(side)),)


def _own_way(part: Part, side: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> Vector:
    """A part that rides in another comes in along its own axis where that lies near the side: a key, square to its keyway."""
    if part.host:
        for axis in (part.pose[:3, 0], -part.pose[:3, 0]):
            if float(axis @ side) > np.cos(OWN_WAY):
                return _vector(axis)
    return _vector(side)


def _vector(values: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> Vector:
    return float(values[0]) + 0.0, float(values[1]) + 0.0, float(values[2]) + 0.0


def _axis(side: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> str:
    return next(name for name, axis in explode.AXES.items() if (axis == side).all())


def exempt(reducer: Reducer) -> frozenset[frozenset[str]]:
    """Pairs that are not judged by solids: wire and its own heads, rollers, balls and cage in their own unit, pinion and gear (judged by
    the flank model)."""
    pairs = {
        frozenset((joint.wire, head))
        for joint in reducer.of_kind(WireJoint)
        for head in reducer.members(joint.screws)
        if joint.wire in reducer.by_name
    }
    for part in reducer.parts:
        if part.role in ("rolling", "cage"):
            pairs |= {frozenset((part.name, other)) for other in reducer.groups.get(part.unit, ()) if other != part.name}
    return frozenset(pairs | {frozenset((joint.pinion, joint.gear)) for joint in reducer.of_kind(MeshJoint)})


def prove(
    reducer: Reducer, procedure: Procedure, *, pitch: float = PROOF, table: Table | None = None, progress: Progress | None = None
) -> Proof:
    """Judge every path of the procedure.

    `pitch`: of the dexels [mm]: 1 for a quick look, 0.5 for a verdict. `table`: of this reducer at this pitch, when several orders
    are judged. `progress`: called with paths done and paths in all.
    """
    table = table or Table(reducer, pitch)
    skipped = exempt(reducer)
    parts = {False: reducer.by_name, True: unlocked(reducer)}
    places = {name: place for place, name in enumerate((*procedure.order, ""))}
    courses = {skipping: _set(reducer, required(procedure) if skipping else procedure) for skipping in (False, True)}
    locks = {skipping: {name: places[step] for name, step in by.items()} for skipping, by in courses.items()}
    every = moves(reducer, procedure)
    blocked: list[BlockedPath] = []
    meshes = 0
    for done, move in enumerate(every):
        if progress is not None:
            progress(done, len(every))
        place = places[move.step]
        now = {name: parts[locks[move.skipping].get(name, -1) > place][name] for name in (*move.parts, *move.standing)}
        hits, teeth = _hits(reducer, table, move, now, skipped)
        meshes += teeth
        if hits and move.leaving and now[move.parts[0]].tool:
            hits = _unless_it_slides(table, move, now, hits)
        if hits:
            blocked.append(_told(reducer, procedure.steps[move.step], place + 1, move, hits))
        blocked += _overlaps(table, place + 1, move, now, skipped)
    blocked += _bent(reducer, table, procedure, every, locks[False], skipped)
    if progress is not None:
        progress(len(every), len(every))
    table.save()
    return Proof(_once(reducer, blocked), len(every), meshes, pitch)


def _once(reducer: Reducer, blocked: Sequence[BlockedPath]) -> tuple[BlockedPath, ...]:
    """Of pieces of one circle or group that are stopped alike, the first."""

    def kind(name: str) -> str:
        return name.rsplit("_", 1)[0] if reducer.by_name[name].number else name

    first: dict[BlockedPath, BlockedPath] = {}
    for path in blocked:
        alike = replace(path, part=kind(path.part), by=kind(path.by), trap=kind(path.trap), left=round(path.left, 1))
        first.setdefault(alike, path)
    return tuple(first.values())


@lru_cache(maxsize=8)
def unlocked(reducer: Reducer) -> Mapping[str, Part]:
    """Every part by name, those with a lock as they are before it is set."""
    return {
        name: replace(part, spec=part.unlocked) if part.unlocked is not None else part for name, part in reducer.by_name.items()
    }


def _overlaps(
    table: Table, number: int, move: Move, parts: Mapping[str, Part], skipped: frozenset[frozenset[str]]
) -> list[BlockedPath]:
    """Parts that come along one path as one item and overlap in their seats (a bench's own were judged when it was built up)."""
    if move.leaving or move.bench:
        return []
    found = []
    for one, other in combinations(move.parts, 2):
        way = move.legs[-1].way
        if frozenset((one, other)) not in skipped and table.overlap(parts[one], parts[other], way) > TOUCH:
            found.append(_overlap(move.step, number, move.item, one, other, move.legs[-1].side))
    return found


def _bent(
    reducer: Reducer,
    table: Table,
    procedure: Procedure,
    every: Sequence[Move],
    locked: Mapping[str, int],
    skipped: frozenset[frozenset[str]],
) -> list[BlockedPath]:
    """Parts whose shape a later step changed (a tab bent) and that then overlap what stood there already."""
    found, places = [], {name: place for place, name in enumerate(procedure.order)}
    for name, place in locked.items():
        if place == len(procedure.order):
            continue
        step, part = procedure.order[place], reducer.by_name[name]
        beside: set[str] = set()
        for move in every:
            if places[move.step] <= place and name in (*move.parts, *move.standing):
                beside = {*move.parts, *move.standing}
        for other in sorted(beside - {name}):
            if (
                frozenset((name, other)) not in skipped
                and table.overlap(part, reducer.by_name[other], _vector(part.pose[:3, 2])) > TOUCH
            ):
                found.append(_overlap(step, place + 1, name, name, other, procedure.steps[step].up))
    return found


def _overlap(step: str, number: int, item: str, part: str, by: str, side: str) -> BlockedPath:
    return BlockedPath(step, number, item, part, by, 0.0, by, side, False, True, False, "overlap", False)


@dataclass(frozen=True)
class Touch:
    """Two parts that touch on a leg: `part` moves, `by` stands."""

    part: str
    by: str
    leg: Leg
    hit: Hit
    cause: Cause = "solid"

    @property
    def left(self) -> float:
        """Travel still to go to the seat at the first touch [mm]."""
        return self.hit.left + self.leg.after

    @property
    def first(self) -> float:
        """Travel to the touch on the way out [mm]."""
        return self.hit.first + self.leg.after


def _unless_it_slides(table: Table, move: Move, parts: Mapping[str, Part], hits: list[Touch]) -> list[Touch]:
    """No touch when a tool that is taken out sideways can be slid out level; else what closes its way: the last part put in place
    without which it could be."""
    leg = move.legs[-1]
    if leg.way[2] != 0.0 or len(move.legs) > 1 or len(move.parts) > 1:
        return hits
    piece, standing = parts[move.parts[0]], [parts[name] for name in move.standing]
    if slides_out(table, piece, standing, leg.way):
        return []
    for other in standing[: -LAST_PLACED - 1 : -1]:
        if slides_out(table, piece, [item for item in standing if item is not other], leg.way):
            return [Touch(piece.name, other.name, leg, Hit(0.0, 0.0, False), "shut")]
    return hits


def _hits(
    reducer: Reducer, table: Table, move: Move, parts: Mapping[str, Part], skipped: frozenset[frozenset[str]]
) -> tuple[list[Touch], bool]:
    """Every touch on the legs of one path, and whether the teeth were judged."""
    moving, fixed = [parts[name] for name in move.parts], [parts[name] for name in move.standing]
    found: list[Touch] = []
    teeth = False
    for leg in move.legs:
        for a, b, hit in table.in_the_way(moving, fixed, leg.way, offset=leg.offset, until=leg.length, exempt=skipped):
            found.append(Touch(a.name, b.name, leg, hit))
        for joint in reducer.of_kind(MeshJoint):
            pair = {joint.pinion, joint.gear}
            mine = pair & set(move.parts)
            if len(mine) == 1 and pair - mine <= set(move.standing):
                teeth = True
                name = mine.pop()
                hit_teeth = mesh(reducer, table, parts[name], parts[(pair - {name}).pop()], leg, name == joint.pinion)
                if hit_teeth is not None:
                    found.append(hit_teeth)
    return [*found, *_rubbed(reducer, move)], teeth


def _rubbed(reducer: Reducer, move: Move) -> list[Touch]:
    """Gaskets that the last leg would drag along a face instead of bringing it down on them."""
    leg, found = move.legs[-1], []
    for joint in reducer.of_kind(GasketJoint):
        if abs(float(np.dot(joint.axis, leg.way))) > SQUARE:
            continue
        sides = ({joint.gasket, joint.flange}, {joint.base})
        for mine, other in (sides, sides[::-1]):
            if mine & set(move.parts) and other & set(move.standing) and {*mine, *other} <= {*move.parts, *move.standing}:
                found.append(Touch(joint.gasket, min(other & set(move.standing)), leg, Hit(0.0, 0.0, True), "gasket"))
                break
    return found


def mesh(reducer: Reducer, table: Table, moving: Part, fixed: Part, leg: Leg, pinion: bool) -> Touch | None:
    """The teeth on one leg: the flank model while they are in mesh, solids before."""
    sign = 1.0 if pinion else -1.0
    high, low, gears = reducer.layout.high, reducer.layout.low, reducer.machine.gears
    shifts = (
        high.pinion_back - gears.pinion_mounting_distance.nominal,
        -low.gear_back - gears.gear_mounting_distance.nominal,
    )
    offset, way = _scaled(leg.offset, sign), _scaled(leg.way, sign)
    flanks = teeth_touch(reducer.blank, shifts, offset, way, leg.length)
    beyond = TOUCH
    if flanks is not None:
        left, beyond = flanks
        if left is not None:
            return Touch(moving.name, fixed.name, leg, Hit(left, 0.0, False), "teeth")
    if beyond >= leg.length:
        return None
    hit = table.hit(moving, fixed, leg.way, offset=leg.offset, until=leg.length, beyond=beyond)
    return None if hit is None else Touch(moving.name, fixed.name, leg, hit)


def _scaled(vector: Vector, sign: float) -> Vector:
    return sign * vector[0], sign * vector[1], sign * vector[2]


def _told(reducer: Reducer, step: Step, number: int, move: Move, hits: Sequence[Touch]) -> BlockedPath:
    """The touch that comes first on the way in, and the part that holds it on the way out; equal ones by name."""
    trap = min(hits, key=lambda touch: (round(touch.first, 3), touch.by, touch.part))
    first = trap if move.leaving else max(hits, key=lambda touch: (round(touch.left, 3), touch.hit.exact, touch.by, touch.part))
    return BlockedPath(
        move.step, number, move.item, first.part, first.by, first.first if move.leaving else first.left, trap.by, first.leg.side,
        move.leaving, any(touch.hit.inside for touch in hits if touch.by == trap.by), first.hit.exact, first.cause, move.bench,
    )  # fmt: skip


def travel(blocked: BlockedPath, system: units.System = "mm") -> str:
    """The travel that is left, with its unit, in as many digits as are known."""
    digits = (2 if system == "mm" else 3) if blocked.exact else (0 if system == "mm" else 1)
    return units.show(blocked.left, "length", system, digits=digits)


def stuck(blocked: BlockedPath, system: units.System = "mm") -> bool:
    """Whether something that is to come out touches at once, as far as is known."""
    return blocked.leaving and float(travel(blocked, system).split()[0]) == 0.0


def _side(reducer: Reducer, blocked: BlockedPath) -> str:
    """Where it comes from, as seen at the machine, or at the bench that the part is built up on."""
    away = not blocked.bench and reducer.by_name[blocked.part].bench != MAIN_BENCH
    return text(f"order.{'bench_side' if away else 'side'}.{blocked.side}")


def sentence(reducer: Reducer, blocked: BlockedPath, system: units.System = "mm") -> str:
    """The finished sentence of a blocked path."""
    left, trap = travel(blocked, system), part_name(reducer, blocked.trap)
    values = {
        "number": blocked.number, "step": text(f"step.{blocked.step}.title"), "item": named(reducer, blocked.item, bench=blocked.bench),
        "by": part_name(reducer, blocked.by), "part": part_name(reducer, blocked.part), "side": _side(reducer, blocked),
        "left": left if blocked.exact else text("order.about", left=left),
    }  # fmt: skip
    if blocked.cause != "solid":
        return text(f"order.{blocked.cause}", **values)
    if is_laid(reducer, blocked.part) and not blocked.leaving:
        return text("order.laid", **values)
    key = "stuck" if stuck(blocked, system) else "held" if blocked.leaving else "blocked"
    told = [text(f"order.{key}", **values)]
    members = _members(reducer, blocked.item)
    if (blocked.bench or len(members) != 1) and not reducer.by_name[blocked.part].number:
        told.append(text("order.touching", **values))
    if blocked.inside:
        told.append(text("order.inside", trap=trap))
    elif trap != values["by"] and not blocked.leaving:
        told.append(text("order.trapped", trap=trap))
    return " ".join(told)


def is_laid(reducer: Reducer, name: str) -> bool:
    """Whether a part is laid as a bead on a face that another part then closes."""
    return reducer.by_name[name].role == "seal" and any(rest.part == name and rest.under for rest in reducer.of_kind(Rest))


def _members(reducer: Reducer, item: str) -> tuple[str, ...]:
    try:
        return reducer.members(item)
    except KeyError:
        return ()


def part_name(reducer: Reducer, name: str) -> str:
    """A part by its name for a fitter."""
    part = reducer.by_name[name]
    if part.number:
        return text(part.wording, count=len(reducer.groups[name.rsplit("_", 1)[0]]))
    return text(part.wording)


def named(reducer: Reducer, item: str, *, bench: bool = False) -> str:
    """What moves, by its name for a fitter: a part, a circle of screws, a bearing, or a bench."""
    members = _members(reducer, item)
    if bench:
        return text(f"order.bench.{item}")
    if len(members) == 1 or reducer.by_name[members[0]].number:
        return part_name(reducer, members[0])
    return text(f"part.{item}")
