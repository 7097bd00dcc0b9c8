"""A blocked way as a picture: the two parts where they first touch, cut open through the place of contact, with the way marked.

mm; the picture's frame is the bench's, as it stands in that step. Contents: `frame_of`, `MOST`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import inf
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from calc import units
from geometry.blocking import Table
from geometry.check_solids import check_solid
from geometry.meeting import Meeting, Section, body_of, meeting, section
from geometry.part import Part
from scenes import cameras, explode, order, order_words
from scenes.frame import BlockedWay, CutPlane, Frame, Shown, Vector
from scenes.moves import Leg, Move, moves
from scenes.order import BlockedPath
from scenes.procedure import Procedure
from scenes.settings import Settings
from scenes.shown import WHOLE_ROLES, rotation, stand
from scenes.stage import Stage
from scenes.step_frame import step_text
from scenes.wording import text

Array = NDArray[np.float64]
MOST = 12
"""Blocked ways of one order that are drawn."""
DEEPER = (0.3, 1.0, 2.0, 4.0, 8.0, 16.0)
"""How far past the first touch the two are pushed to see where they meet [mm]."""
NUDGE = 0.5
"""Shift along each axis that shows where two parts that touch in place meet [mm]."""
VIEWS: tuple[tuple[Vector, Vector], ...] = (
    ((0.0, -1.0, 0.0), (0.42, -1.0, 0.34)),
    ((1.0, 0.0, 0.0), (1.0, -0.42, 0.34)),
    ((0.0, 0.0, 1.0), (0.32, -0.5, 1.0)),
)
"""Planes that may cut a picture open, by the side taken away, each with the direction toward the eye; the first that serves is taken."""
SERVES = 0.25
"""A plane serves when it cuts this share of what the best one cuts."""
FLAT = 1.2
"""A place of contact thinner than this is cut across, not along its face [mm]."""
LEVEL = 0.3
"""Cosine above which a way runs across a plane instead of along it."""
BEYOND = 0.3
"""How far behind the moving part its drawn way begins, in sizes of the part."""
SHORTEST, LONGEST = 24.0, 300.0
"""Bounds of the length of a drawn way [mm]."""
AROUND = 1.3
"""How much of a large part is kept in view about the place of contact, in sizes of the smaller one."""
LEAST_AROUND, CLOSE = 22.0, 32.0
"""The same at least, and where a sheet is rubbed [mm]."""


def frame_of(stage: Stage, path: BlockedPath, settings: Settings, aspect: float = 1.5) -> Frame:
    """The picture of one blocked path. `settings`: the unit system is taken from them."""
    reducer, step = stage.reducer, stage.procedure.steps[path.step]
    move, turn, parts = _move_of(stage, path), rotation(step), stage.parts_at(step)
    laid = order_words.is_laid(reducer, path.part)
    shift = np.zeros(3) if laid else _shift(_leg_of(move, path), path)
    mine, other = parts[path.part], parts[path.by]
    if laid:
        met, middle = None, _middle(mine, other, shift)
    elif path.cause == "shut":
        met, middle = None, explode.box_of(mine).mean(axis=0) + shift
    else:
        met, middle = _met(stage, move, path, mine, other, shift), _middle(mine, other, shift)
    plane, toward, contact = _opened(met, middle, turn, np.array(_leg_of(move, path).way))
    whole = {path.part, path.by} if not _long(mine) or not _long(other) else {path.part}
    beside = bool(mine.number or other.number)  # one of a circle, which a whole shaft can hide
    shown = []
    for name in dict.fromkeys((*move.standing, *move.parts)):
        part = parts[name]
        item = stand(reducer, part, shift if name in move.parts else np.zeros(3), "waiting", turn, cut=True)
        lit = name in (path.part, path.by)
        keeps = part.role in WHOLE_ROLES and (name in whole if lit else not (beside and _long(part)))
        shown.append(_lit(item, path, whole=keeps))
    if laid:
        come, rest = [contact + np.array(_leg_of(move, path).way) * SHORTEST, contact], []
    else:
        come, rest = _way(move, path, contact - shift, shift, _reach(mine, shift, contact, np.array(_leg_of(move, path).way)))
    seen = _seen(mine, other, shift, contact, [*come, *rest], close=path.cause == "gasket") @ turn.T
    seen = seen - np.outer(np.maximum((seen - turn @ contact) @ plane, 0.0), plane)  # what is taken away needs no room
    camera = cameras.fit([np.array([seen.min(axis=0), seen.max(axis=0)])], toward, aspect)
    points = [tuple(_vector(turn @ point) for point in chain) for chain in (come, rest)]
    names = (
        _one(parts[path.part], order_words.part_name(reducer, path.part)),
        _one(parts[path.by], order_words.part_name(reducer, path.by)),
    )
    told = BlockedWay(
        path.part, path.by, _vector(turn @ contact), points[0], points[1], text("blocked.laid") if laid else _left(path, settings.units), text("blocked.heading"),
        order_words.sentence(reducer, path, settings.units), names, (text("blocked.arrow_laid") if laid else _said(path), *_first(stage, path)), tuple(_vector(point) for point in seen),
    )  # fmt: skip
    shown = [
        replace(item, label=names[(path.part, path.by).index(item.name)]) if item.name in (path.part, path.by) else item
        for item in shown
    ]
    return Frame(
        reducer.machine.name, step_text(stage, step), tuple(shown), (), (), camera,
        CutPlane(_vector(turn @ contact), _vector(plane)), notes=(text("blocked.sheet"),), labelled=(path.part, path.by), blocked=told,
    )  # fmt: skip


def _one(part: Part, name: str) -> str:
    return text("blocked.one_of", part=name) if part.number else name


def _lit(item: Shown, path: BlockedPath, *, whole: bool) -> Shown:
    """The two parts in their marks, the rest pale."""
    if item.name == path.part:
        return replace(item, state="moving", whole=whole)
    if item.name == path.by:
        return replace(item, state="blocking", whole=whole)
    return replace(item, whole=whole)


def _long(part: Part) -> bool:
    """Whether a part is a shaft, which a section leaves whole and which can then hide what lies beside it."""
    return part.role in ("shaft", "pinion")


def _move_of(stage: Stage, path: BlockedPath) -> Move:
    return next(
        move
        for move in moves(stage.reducer, stage.procedure)
        if (move.step, move.item, move.leaving) == (path.step, path.item, path.leaving) and path.part in move.parts
    )


def _leg_of(move: Move, path: BlockedPath) -> Leg:
    """The leg on which the touch lies."""
    fitting = [leg for leg in move.legs if leg.after - 1e-6 <= path.left <= leg.after + leg.length + 1e-6]
    return next((leg for leg in fitting if leg.side == path.side), fitting[0] if fitting else move.legs[-1])


def _shift(leg: Leg, path: BlockedPath) -> Array:
    """Where the moving part stands at the touch, from its seat [mm]."""
    return np.array(leg.offset) + np.array(leg.way) * (path.left - leg.after)


def _middle(mine: Part, other: Part, shift: Array) -> Array:
    """Middle of what the boxes of the two share, or of the gap between them [mm]."""
    a, b = explode.box_of(mine) + shift, explode.box_of(other)
    return np.asarray((np.maximum(a[0], b[0]) + np.minimum(a[1], b[1])) / 2.0)


def _size(part: Part) -> float:
    return float(np.diff(explode.box_of(part), axis=0).max())


def _reach(mine: Part, shift: Array, contact: Array, way: Array) -> float:
    """Length of the drawn way in: from the place of contact to somewhat behind the moving part [mm]."""
    behind = float(((cameras.corners(explode.box_of(mine) + shift) - contact) @ way).max())
    return float(np.clip(behind + BEYOND * min(_size(mine), 100.0), SHORTEST, LONGEST))


def _met(stage: Stage, move: Move, path: BlockedPath, mine: Part, other: Part, shift: Array) -> Meeting | None:
    """What the two share once the moving one is pushed on past the touch."""
    sizes = Table(stage.reducer).sizes
    a, b = (body_of(check_solid(part.spec, sizes.get(part.name, ())), part.pose) for part in (mine, other))
    return meeting(a, b, _pushes(move, path, shift))


def _pushes(move: Move, path: BlockedPath, shift: Array) -> Iterator[Array]:
    way = np.array(_leg_of(move, path).way) * (1.0 if path.leaving else -1.0)
    if path.cause == "solid":
        yield from (shift + way * deeper for deeper in DEEPER)
    yield from (shift + axis * NUDGE for axis in explode.AXES.values())


def _opened(met: Meeting | None, middle: Array, turn: Array, way: Array) -> tuple[Array, Array, Array]:
    """The side that is taken away, the direction toward the eye (both as the bench stands), and the place of contact in the section."""
    up, running = turn.T @ np.array([0.25, 0.0, 1.0]), turn @ way
    found: list[tuple[Section, Array, Array]] = []
    thin = turn @ np.eye(3)[int(np.argmin(np.diff(met.box, axis=0)))] if met is not None else up
    flat = met is not None and float(np.ptp(met.box, axis=0).min()) < FLAT
    for normal, toward in VIEWS:
        if abs(float(running @ normal)) > LEVEL or met is None or (flat and abs(float(thin @ normal)) > LEVEL):
            continue
        cuts = [section(met, place, turn.T @ np.array(normal), up) for place in met.middles[:4]]
        cut = next((item for item in cuts if item is not None), None)
        if cut is not None:
            found.append((cut, np.array(normal), np.array(toward)))
    if not found:
        normal, toward = next(view for view in VIEWS if abs(float(running @ view[0])) <= LEVEL)
        return np.array(normal), np.array(toward), middle
    most = max(cut.area for cut, _, _ in found)
    cut, plane, eye = next(item for item in found if item[0].area >= SERVES * most)
    return plane, eye, np.array(cut.middle)


def _way(move: Move, path: BlockedPath, contact: Array, shift: Array, reach: float) -> tuple[list[Array], list[Array]]:
    """The way in to the touch and what is left of it, as points through the place of contact (told for a part in its seat) [mm]."""
    leg = _leg_of(move, path)
    if path.cause == "shut":
        return [contact + shift, contact + shift + np.array(leg.way) * reach], []
    if path.leaving:
        come = [contact + shift - np.array(leg.way) * min(reach, max(SHORTEST, path.left)), contact + shift]
        return come, []
    place = move.legs.index(leg)
    corners = [shift]
    for before in reversed(move.legs[: place + 1]):
        far = np.array(before.offset) + np.array(before.way) * before.length if before.length < inf else None
        corners.append(corners[-1] + np.array(before.way) * reach if far is None else far)
    if path.cause == "gasket":
        return [contact + point for point in _last(corners, reach)], []
    rest = [shift, *(np.array(item.offset) for item in move.legs[place:])]
    return [contact + point for point in _last(corners, reach)], [contact + point for point in rest]


def _last(corners: list[Array], reach: float) -> list[Array]:
    """The last stretch of a way told from its end, of this length [mm], in the order in which it is gone."""
    kept, left = [corners[0]], reach
    for near, far in zip(corners, corners[1:], strict=False):
        length = float(np.linalg.norm(far - near))
        if length <= 1e-6:
            continue
        kept.append(near + (far - near) * min(1.0, left / length))
        left -= length
        if left <= 0.0:
            break
    return kept[::-1]


def _seen(mine: Part, other: Part, shift: Array, contact: Array, marks: list[Array], *, close: bool) -> Array:
    """Points that must be in view: both parts, of a much larger one only what lies about the contact, and the drawn way."""
    boxes = [explode.box_of(mine) + shift, explode.box_of(other)]
    around = CLOSE if close else max(AROUND * min(float(np.diff(box, axis=0).max()) for box in boxes), LEAST_AROUND)
    near = np.array([contact - around, contact + around])
    corners = [cameras.corners(np.array([np.maximum(box[0], near[0]), np.minimum(box[1], near[1])])) for box in boxes]
    reach = around * (1.0 if close else 2.0)
    marked = [np.clip(mark, contact - reach, contact + reach) for mark in marks]
    return np.vstack([*corners, contact, *marked])


def _left(path: BlockedPath, system: units.System) -> str:
    if path.cause in ("gasket", "shut"):
        return text(f"blocked.{path.cause}")
    if order_words.stuck(path, system):
        return text("blocked.stuck")
    told = order_words.travel(path, system)
    return text(("blocked." if path.exact else "blocked.about_") + ("out" if path.leaving else "left"), left=told)


def _said(path: BlockedPath) -> str:
    """What the arrow is."""
    if path.cause in ("gasket", "shut"):
        return text(f"blocked.arrow_{path.cause}")
    return text("blocked.leaving" if path.leaving else "blocked.coming")


def _first(stage: Stage, path: BlockedPath) -> tuple[str, ...]:
    """What must come before what, when the way is free before the step that brings what stops it; else nothing."""
    full = stage.procedure
    came = [move.step for move in moves(stage.reducer, full) if path.by in move.parts and not move.leaving]
    places = [full.order.index(name) for name in came if full.order.index(name) < path.number - 1]
    if not places:
        return ()
    names = (*full.order[: places[-1]], path.step)
    sooner = Procedure(names, MappingProxyType({name: full.steps[name] for name in names}), full.phases)
    if not any(move.step == path.step and path.part in move.parts for move in moves(stage.reducer, sooner)):
        return ()
    if any(found.step == path.step for found in order.prove(stage.reducer, sooner, pitch=order.QUICK).blocked):
        return ()
    step = full.steps[full.order[places[-1]]]
    item = order_words.named(stage.reducer, path.item, bench=path.bench)
    return (text("blocked.first", item=item, number=step.number, step=text(f"step.{step.id}.title")),)


def _vector(values: Array) -> Vector:
    return float(values[0]), float(values[1]), float(values[2])
