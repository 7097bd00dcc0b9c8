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
Array = NDArray[np.float64]


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
    faces = solid.faces
    rows = whole[faces, 1]
    order = np.argsort(rows, axis=1, kind="stable")
    rising = rows.max(axis=1) > rows.min(axis=1)
    faces = np.take_along_axis(faces[rising], order[rising], axis=1)
    first, middle, last = faces.T
    row_low, row_middle, row_high = whole[first, 1], whole[middle, 1], whole[last, 1]
    inside = None if window is None else np.ceil(window / pitch - np.array(OFFSET)).astype(np.int64)
    if inside is not None:
        row_low, row_high = np.clip(row_low, *inside[:, 1]), np.clip(row_high, *inside[:, 1])
    count = row_high - row_low
    which = np.repeat(np.arange(len(faces)), count)
    row = row_low[which] + _places(count)
    upper = row >= row_middle[which]
    start = np.where(upper, middle[which], first[which])
    end = np.where(upper, last[which], middle[which])
    long_side = _crossing(across, first[which], last[which], row)
    short_side = _crossing(across, start, end, row)
    columns = np.ceil(np.minimum(long_side, short_side)).astype(np.int64)
    ends = np.ceil(np.maximum(long_side, short_side)).astype(np.int64)
    if inside is not None:
        columns, ends = np.clip(columns, *inside[:, 0]), np.clip(ends, *inside[:, 0])
    count = ends - columns
    some = count > 0
    which, row, columns, count = which[some], row[some], columns[some], count[some]
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
    floor = float(points[:, 2].min(initial=0.0))
    span = 2.0 ** np.ceil(np.log2(float(points[:, 2].max(initial=0.0)) - floor + 4.0))
    start_height = (
        level[which] + slope_u[which] * (columns + OFFSET[0]) * pitch + slope_v[which] * (row + OFFSET[1]) * pitch - floor
    )
    start_line = (row + HALF) * ACROSS + (columns + HALF)
    least = int(start_line.min(initial=HALF * ACROSS))
    # one number holds line and height, so that a plain sort puts both in order
    start = (start_line - least) * span + (start_height + 1.0)
    both = np.repeat(start, count) + np.repeat(span + slope_u[which] * pitch, count) * _places(count)
    both.sort()
    place = np.floor(both / span)
    height = both - place * span + (floor - 1.0)
    place = place.astype(np.int32) + np.int32(least)
    assert len(place) % 2 == 0 and (place[::2] == place[1::2]).all(), "a line leaves a body as often as it enters"
    return Dexels(place[::2].copy(), height[::2].astype(np.float32), height[1::2].astype(np.float32))


def _places(count: NDArray[np.int64]) -> NDArray[np.int64]:
    """0, 1 ... count - 1 for each entry, one after the other."""
    total = int(count.sum())
    return np.arange(total) - np.repeat(np.cumsum(count) - count, count)


def _crossing(across: Array, start: NDArray[np.int64], end: NDArray[np.int64], row: NDArray[np.int64]) -> Array:
    """Where an edge crosses a row, reckoned from its lower end."""
    rise = across[end, 1] - across[start, 1]
    share = (row - across[start, 1]) / np.where(rise == 0.0, 1.0, rise)
    return np.asarray(across[start, 0] + share * (across[end, 0] - across[start, 0]))


def blocked(moving: Dexels, fixed: Dexels) -> tuple[Array, Array]:
    """Shifts of one body along the direction at which the two overlap, for every pair of intervals on a shared line.

    Overlap where low < s < high, low = fixed.low - moving.high, high = fixed.high - moving.low. Result: (low, high) [mm].
    """
    few, many = (moving, fixed) if len(moving.line) <= len(fixed.line) else (fixed, moving)
    if not len(few.line) or not len(many.line):
        return np.empty(0), np.empty(0)
    start = np.searchsorted(many.line, few.line, "left")
    count = np.searchsorted(many.line, few.line, "right") - start
    mine = np.repeat(np.arange(len(count)), count)
    theirs = start[mine] + _places(count)
    if few is moving:
        return np.asarray(fixed.low[theirs] - moving.high[mine], float), np.asarray(fixed.high[theirs] - moving.low[mine], float)
    return np.asarray(fixed.low[mine] - moving.high[theirs], float), np.asarray(fixed.high[mine] - moving.low[theirs], float)
