"""Two bodies of revolution on one axis: at which shifts along it they overlap, exactly, from their (r, z) outlines [mm].

The radii of all corners cut r into strips in which every border is straight, so the extremes lie at the strips' ends.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from geometry.part import Loop, Spec

Array = NDArray[np.float64]
SHRINK = 0.06
"""How far the moving outline is moved inward, and what is added to the travel again [mm]."""
BESIDE = 1e-7
"""Distance from a strip's end at which it is read [mm]."""
_shrunk: dict[tuple[Loop, ...], tuple[Array, ...]] = {}


def outlines(spec: Spec) -> tuple[Loop, ...]:
    """Outlines that enclose the body, all its cuts filled; none for a body that is no revolve."""
    return () if spec.special or spec.add else spec.loops


def shrunk(loops: tuple[Loop, ...]) -> tuple[Array, ...]:
    """Outlines moved inward by SHRINK; the axis is no border."""
    found = _shrunk.get(loops)
    if found is None:
        from manifold3d import CrossSection, FillRule, JoinType

        reach = 1.0 + max(abs(value) for loop in loops for point in loop for value in point)
        flat = CrossSection([np.array(loop, dtype=float) for loop in loops])
        whole = flat + flat.mirror((1.0, 0.0))
        right = CrossSection(
            [np.array([(0.0, -2.0 * reach), (2.0 * reach, -2.0 * reach), (2.0 * reach, 2.0 * reach), (0.0, 2.0 * reach)])],
            FillRule.Positive,
        )
        inner = whole.offset(-SHRINK, JoinType.Miter, 3.0) ^ right
        if len(_shrunk) > 2000:
            _shrunk.clear()
        found = _shrunk[loops] = tuple(np.asarray(item, dtype=float) for item in inner.to_polygons())
    return found


def _spans(loops: Sequence[Array], radii: Array) -> Array:
    """Material along the axis at each radius: (radius, pairs of low and high), nan where there is no further pair."""
    start = np.vstack(loops)
    end = np.vstack([np.roll(loop, -1, axis=0) for loop in loops])
    r = radii[:, None]
    crosses = (start[:, 0] <= r) != (end[:, 0] <= r)
    run = np.where(end[:, 0] == start[:, 0], 1.0, end[:, 0] - start[:, 0])
    z = np.where(crosses, start[:, 1] + (r - start[:, 0]) / run * (end[:, 1] - start[:, 1]), np.nan)
    return np.sort(z, axis=1)[:, : max(int(crosses.sum(axis=1).max(initial=0)), 0)]


def blocked(
    moving: tuple[Loop, ...], fixed: tuple[Loop, ...], place: tuple[float, float], other: tuple[float, float]
) -> tuple[Array, Array]:
    """Shifts of one body of revolution along the common axis at which it overlaps the other.

    `place`, `other`: sense (+1 or -1) and position of each body's z along the axis [-, mm].
    Result: (low, high) of the shrunk outline, to be widened by SHRINK [mm].
    """
    a = [np.column_stack([loop[:, 0], place[0] * loop[:, 1] + place[1]]) for loop in shrunk(moving)]
    b = [np.column_stack([np.array(loop)[:, 0], other[0] * np.array(loop)[:, 1] + other[1]]) for loop in fixed]
    if not a or not b:
        return np.empty(0), np.empty(0)
    corners = np.unique(np.concatenate([loop[:, 0] for loop in (*a, *b)]))
    radii = np.concatenate([corners[:-1] + BESIDE, corners[1:] - BESIDE])
    mine, theirs = _spans(a, radii), _spans(b, radii)
    low, high = [], []
    for i in range(0, mine.shape[1] - 1, 2):
        for j in range(0, theirs.shape[1] - 1, 2):
            low.append(theirs[:, j] - mine[:, i + 1])
            high.append(theirs[:, j + 1] - mine[:, i])
    if not low:
        return np.empty(0), np.empty(0)
    lows, highs = np.concatenate(low), np.concatenate(high)
    there = ~np.isnan(lows) & ~np.isnan(highs)
    return lows[there], highs[there]
