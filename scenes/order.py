"""The order, proven: for every step the way of every arriving part from far away to its seat, against all that stands there.

mm. Only straight legs are judged: no tilting, no bending, no reach of tools or hands; a tool that is taken out may also be slid out level
in any way and turned level on its way. Exempt are the lockwire on its own heads and rollers,
balls and cage inside their own bearing unit; the pair of teeth is judged by the flank model instead of by solids. An order with steps that
may be skipped is judged twice, with all of them and with none.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import combinations
from math import nan
from typing import Any

import numpy as np

from geometry.blocking import PROOF as PROOF
from geometry.blocking import QUICK as QUICK
from geometry.blocking import TOUCH, Hit, Table, Vector
from geometry.joints import GasketJoint, MeshJoint, WireJoint
from geometry.kept import digest
from geometry.mesh_path import teeth_touch
from geometry.part import Part
from geometry.reducer import Reducer
from geometry.sliding import slides_out
from scenes.moves import Leg, Move, locks_set, moves, required, vector
from scenes.procedure import Procedure, Step
from scenes.touches import Cause, Touch, chances, deciding

SQUARE = 0.5
"""Cosine of the angle to a gasket's axis below which a part is dragged along its face."""
LAST_PLACED = 40
"""Parts, the last ones put in place first, that are tried as what shuts a tool in."""
Progress = Callable[[int, int], None]


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
    courses = {skipping: locks_set(reducer, required(procedure) if skipping else procedure) for skipping in (False, True)}
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
                and table.overlap(part, reducer.by_name[other], vector(part.pose[:3, 2])) > TOUCH
            ):
                found.append(_overlap(step, place + 1, name, name, other, procedure.steps[step].up))
    return found


def _overlap(step: str, number: int, item: str, part: str, by: str, side: str) -> BlockedPath:
    return BlockedPath(step, number, item, part, by, 0.0, by, side, False, True, False, "overlap", False)


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
        if slides_out(table, piece, [item for item in standing if item is not other], leg.way, turning=False):
            return [Touch(piece.name, other.name, leg, Hit(0.0, 0.0, False), "shut")]
    return hits


def _hits(
    reducer: Reducer, table: Table, move: Move, parts: Mapping[str, Part], skipped: frozenset[frozenset[str]]
) -> tuple[list[Touch], bool]:
    """The touches on the legs of one path that decide what is told of it, and whether the teeth were judged."""
    found: list[Touch] = []
    teeth = False
    for leg in move.legs:
        for joint in reducer.of_kind(MeshJoint):
            pair = {joint.pinion, joint.gear}
            mine = pair & set(move.parts)
            if len(mine) == 1 and pair - mine <= set(move.standing):
                teeth = True
                name = mine.pop()
                hit_teeth = mesh(reducer, table, parts[name], parts[(pair - {name}).pop()], leg, name == joint.pinion)
                if hit_teeth is not None:
                    found.append(hit_teeth)
    others = [*found, *_rubbed(reducer, move)]
    return deciding(table, move, chances(table, move, parts, skipped), others), teeth


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
    flanks = _flanks(table, reducer.blank, shifts, offset, way, leg.length)
    beyond = TOUCH
    if flanks is not None:
        left, beyond = flanks
        if left is not None:
            return Touch(moving.name, fixed.name, leg, Hit(left, 0.0, False), "teeth")
    if beyond >= leg.length:
        return None
    hit = table.hit(moving, fixed, leg.way, offset=leg.offset, until=leg.length, beyond=beyond)
    return None if hit is None else Touch(moving.name, fixed.name, leg, hit)


def _flanks(table: Table, *way: Any) -> tuple[float | None, float] | None:
    """What the flank model says of a way (geometry.mesh_path), kept between runs like the table's own answers."""
    name = digest(b"teeth", repr(way).encode())
    row = table.kept.get(name)
    if row is None:
        found = teeth_touch(*way)
        row = np.array([] if found is None else [nan if found[0] is None else found[0], found[1]])
        table.kept.put(name, row)
    if not row.size:
        return None
    return None if np.isnan(row[0]) else float(row[0]), float(row[1])


def _scaled(vector: Vector, sign: float) -> Vector:
    return sign * vector[0], sign * vector[1], sign * vector[2]


def _told(reducer: Reducer, step: Step, number: int, move: Move, hits: Sequence[Touch]) -> BlockedPath:
    """The touch that comes first on the way in, and the part that holds it on the way out; equal ones by name."""
    trap = min(hits, key=lambda touch: touch.soonest)
    first = trap if move.leaving else max(hits, key=lambda touch: touch.farthest)
    return BlockedPath(
        move.step, number, move.item, first.part, first.by, first.first if move.leaving else first.left, trap.by, first.leg.side,
        move.leaving, any(touch.hit.inside for touch in hits if touch.by == trap.by), first.hit.exact, first.cause, move.bench,
    )  # fmt: skip
