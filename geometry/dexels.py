"""Bodies as intervals on a grid of parallel lines (dexels), and how far apart two of them are on the lines they share [mm].

All bodies are cut by one global grid, whose origin is off any round dimension. A line crosses a closed mesh an even number of times
by construction: edges are always taken from their lower end, and rows and columns follow a half-open rule on whole numbers.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from geometry.part import Solid

OFFSET = (sqrt(2.0) - 1.0, sqrt(3.0) - 1.0)
"""Origin of the grid in pitches."""
HALF, ACROSS = 16384, 32768
"""Lines on either side of the origin, and in a row."""
STEEP = 1e4
"""Slope from which a face counts as parallel to the lines."""
AT_ONCE = 2048
"""Faces worked on together: what they need stays in the processor's own memory."""
Array = NDArray[np.float64]
Whole = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Dexels:
    """Intervals [mm] along one direction, sorted by the line's number; `box`: first and last row and column of lines."""

    line: NDArray[np.int32]
    low: NDArray[np.float32]
    high: NDArray[np.float32]


def cut(solid: Solid, turn: Array, origin: Array, pitch: float, window: Array | None = None) -> Dexels:
    """Intervals of a placed body along the third of the grid's axes.

    `turn`, `origin`: from the body's frame to the grid's, whose third axis is the direction [-, mm]; `pitch`: [mm]; `window`: least
    and greatest place across the direction beyond which no lines are drawn [mm].
    """
    points = solid.vertices @ turn.T + origin
    across = points[:, :2] / pitch - np.array(OFFSET)
    whole = np.ceil(across).astype(np.int64)
    inside = None if window is None else np.ceil(window / pitch - np.array(OFFSET)).astype(np.int64)
    faces = solid.faces[_counting(whole, solid.faces, inside)]
    floor = float(points[:, 2].min(initial=0.0))
    span = 2.0 ** np.ceil(np.log2(float(points[:, 2].max(initial=0.0)) - floor + 4.0))
    corner = whole.min(axis=0, initial=HALF)
    least = int((corner[1] + HALF) * ACROSS + corner[0] + HALF)
    placed = _Placed(points, across, whole, inside, pitch, least, floor, span)
    blocks = [faces[place : place + AT_ONCE] for place in range(0, len(faces), AT_ONCE)]
    both = np.concatenate([np.empty(0), *(_crossings(placed, block) for block in blocks)])
    both.sort()
    enters, leaves = both[::2], both[1::2]
    line, same = np.floor(enters / span), np.floor(leaves / span)
    assert len(line) == len(same) and (line == same).all(), "a line leaves a body as often as it enters"
    line *= span
    low, high = enters - line + (floor - 1.0), leaves - line + (floor - 1.0)
    return Dexels((same.astype(np.int32) + np.int32(least)), low.astype(np.float32), high.astype(np.float32))


@dataclass(frozen=True, eq=False)
class _Placed:
    """A body on the grid: its corners [mm], their places across in pitches, the same as the next line, the window's lines, the pitch
    [mm]; the first line's number, the floor and the span of heights [mm]."""

    points: Array
    across: Array
    whole: Whole
    inside: Whole | None
    pitch: float
    least: int
    floor: float
    span: float


def _crossings(body: _Placed, faces: NDArray[np.int32]) -> Array:
    """Where lines cross some faces, each as (line - least) span + height above the floor + 1: a plain sort puts both in order.

    A crossing does not depend on the window.
    """
    points, across, whole, inside, pitch = body.points, body.across, body.whole, body.inside, body.pitch
    faces = np.take_along_axis(faces, np.argsort(whole[faces, 1], axis=1, kind="stable"), axis=1)
    first, middle, last = faces.T
    row_low, row_middle, row_high = whole[first, 1], whole[middle, 1], whole[last, 1]
    if inside is not None:
        row_low, row_high = np.clip(row_low, *inside[:, 1]), np.clip(row_high, *inside[:, 1])
    which, row = _runs(row_high - row_low)
    row += row_low[which]
    begin, end = across[np.concatenate([first, first, middle])], across[np.concatenate([last, middle, last])]
    long_side = _crossing(begin, end, which, row)
    short_side = _crossing(begin, end, which + len(faces) * np.where(row < row_middle[which], 1, 2), row)
    columns = np.ceil(np.minimum(long_side, short_side)).astype(np.int64)
    ends = np.ceil(np.maximum(long_side, short_side)).astype(np.int64)
    left = columns
    if inside is not None:
        left, ends = np.maximum(columns, inside[0, 0]), np.minimum(ends, inside[1, 0])
    some = np.flatnonzero(ends > left)
    which, row, columns, left, ends = which[some], row[some], columns[some], left[some], ends[some]
    a, b, c = points[first], points[middle], points[last]
    ab, ac = b - a, c - a
    tilt = ab[:, 0] * ac[:, 1] - ab[:, 1] * ac[:, 0]
    safe = np.where(tilt == 0.0, 1.0, tilt)
    slope_u = (ab[:, 2] * ac[:, 1] - ab[:, 1] * ac[:, 2]) / safe
    slope_v = (ab[:, 0] * ac[:, 2] - ab[:, 2] * ac[:, 0]) / safe
    upright = (tilt == 0.0) | (np.abs(slope_u) > STEEP) | (np.abs(slope_v) > STEEP)
    slope_u, slope_v = np.where(upright, 0.0, slope_u), np.where(upright, 0.0, slope_v)
    middle_height = (a[:, 2] + b[:, 2] + c[:, 2]) / 3.0
    level = np.where(upright, middle_height, a[:, 2] - slope_u * a[:, 0] - slope_v * a[:, 1])
    start_height = (
        level[which] + slope_u[which] * (columns + OFFSET[0]) * pitch + slope_v[which] * (row + OFFSET[1]) * pitch - body.floor
    )
    start = ((row + HALF) * ACROSS + (columns + HALF) - body.least) * body.span + (start_height + 1.0)
    run, place = _runs(ends - left)
    if inside is not None:
        place += (left - columns)[run]
    both = (body.span + slope_u[which] * pitch)[run]
    both *= place
    both += start[run]
    return np.asarray(both)


def _counting(whole: Whole, faces: NDArray[np.int32], inside: Whole | None) -> NDArray[np.bool_]:
    """Which faces can cross a line, in the window only."""
    row, column = whole[faces, 1], whole[faces, 0]
    if inside is None:
        return np.asarray(row.max(axis=1) > row.min(axis=1))
    row = np.clip(row, *inside[:, 1])
    beside = (column.max(axis=1) < inside[0, 0]) | (column.min(axis=1) > inside[1, 0])
    return np.asarray((row.max(axis=1) > row.min(axis=1)) & ~beside)


def _runs(count: Whole) -> tuple[Whole, Whole]:
    """The number of the entry and the place in it, 0, 1 ... count - 1 for each entry in turn; every count is at least 1."""
    ends = np.cumsum(count)
    which = np.zeros(int(ends[-1]) if len(ends) else 0, dtype=np.int64)
    which[ends[:-1]] = 1
    np.cumsum(which, out=which)
    place = np.arange(len(which))
    place -= (ends - count)[which]
    return which, place


def _crossing(start: Array, end: Array, which: Whole, row: Whole) -> Array:
    """Where some of the edges cross a row, reckoned from their lower ends."""
    run, rise = (end - start).T
    share = (row - start[:, 1][which]) / np.where(rise == 0.0, 1.0, rise)[which]
    return np.asarray(start[:, 0][which] + share * run[which])


def blocked(moving: Dexels, fixed: Dexels) -> tuple[Array, Array]:
    """Shifts of one body along the direction at which the two overlap, for every pair of intervals on a shared line.

    Overlap where low < s < high, low = fixed.low - moving.high, high = fixed.high - moving.low. Result: (low, high) [mm].
    """
    few, many = (moving, fixed) if len(moving.line) <= len(fixed.line) else (fixed, moving)
    if not len(few.line) or not len(many.line):
        return np.empty(0), np.empty(0)
    start = np.searchsorted(many.line, few.line, "left")
    count = np.searchsorted(many.line, few.line, "right") - start
    shared = np.flatnonzero(count)
    which, theirs = _runs(count[shared])
    mine = shared[which]
    theirs += start[mine]
    if few is moving:
        return np.asarray(fixed.low[theirs] - moving.high[mine], float), np.asarray(fixed.high[theirs] - moving.low[mine], float)
    return np.asarray(fixed.low[mine] - moving.high[theirs], float), np.asarray(fixed.high[mine] - moving.low[theirs], float)
