"""Patches that lie on the drawn teeth: a flank as a fine grid on the solid's own facets, and the place of a painted match mark [mm].

Everything is of tooth 0, centred on azimuth 0 at mid-face, in its member's own frame (geometry.teeth).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from calc.bevel import Blank
from geometry.teeth import DISPLAY, INDEX, Array, Facets, Member, tooth_profile

LIFT = 0.02
"""How far a patch stands off the tooth, so that the tooth does not hide it [mm]."""
FINE = 4
"""Points of the patch for one facet, each way."""
MARK_LENGTH = 0.3
"""Share of the face that a match mark runs along the top of the tooth, from the heel."""
MARK_WIDTH = 0.7
"""Share of the tooth's thickness that it takes there and on the heel."""
MARK_HEIGHTS = (0.25, 0.8)
"""Where it begins and ends on the heel, as shares of the whole depth."""
MARK_LIFT = 0.1
"""How far it stands off [mm]: it runs across facets."""


@dataclass(frozen=True, eq=False)
class Patch:
    """A grid of points on a tooth with outward normals, and the triangles between them; `along`, `height`: distance from the apex along
    the pitch cone and over it [mm], of each point."""

    points: Array
    normals: Array
    faces: NDArray[np.int32]
    along: Array
    height: Array


def _grid_faces(rows: int, columns: int) -> NDArray[np.int32]:
    ids = np.arange(rows * columns, dtype=np.int32).reshape(rows, columns)
    here, after, there, both = ids[:-1, :-1], ids[:-1, 1:], ids[1:, :-1], ids[1:, 1:]
    cells = np.stack((np.stack((here, after, both), axis=-1), np.stack((here, both, there), axis=-1)), axis=2)
    return np.ascontiguousarray(cells.reshape(-1, 3))


def _normals(points: Array, faces: NDArray[np.int32]) -> Array:
    a, b, c = (points[faces[:, k]] for k in range(3))
    across = np.cross(b - a, c - a)
    total = np.zeros_like(points)
    for k in range(3):
        np.add.at(total, faces[:, k], across)
    return np.asarray(total / np.linalg.norm(total, axis=1, keepdims=True))


def _on_facets(values: Array, fine: int) -> Array:
    """Values at the facets' corners (rows, columns, ...) carried on to a finer grid over the same triangles."""
    rows, columns = values.shape[:2]
    down, over = np.arange((rows - 1) * fine + 1), np.arange((columns - 1) * fine + 1)
    i, j = np.minimum(down // fine, rows - 2)[:, None], np.minimum(over // fine, columns - 2)[None, :]
    s, t = (down[:, None] / fine - i)[..., None], (over[None, :] / fine - j)[..., None]
    flat = values.reshape(rows, columns, -1)
    here, after, there, both = flat[i, j], flat[i, j + 1], flat[i + 1, j], flat[i + 1, j + 1]
    first = here * (1.0 - t) + after * (t - s) + both * s
    second = here * (1.0 - s) + there * (s - t) + both * t
    return np.asarray(np.where(t >= s, first, second)).reshape(len(down), len(over), *values.shape[2:])


def _point(blank: Blank, i: int, along: Array, height: Array, azimuth: Array) -> Array:
    sine, cosine = math.sin(blank.cones.angles[i]), math.cos(blank.cones.angles[i])
    radius = along * sine + height * cosine
    return np.stack((radius * np.cos(azimuth), radius * np.sin(azimuth), along * cosine - height * sine), axis=-1)


@lru_cache(maxsize=16)
def flank(blank: Blank, member: Member, side: int, fine: int = FINE, facets: Facets = DISPLAY) -> Patch:
    """The flank of one side (+1 or -1) of the drawn tooth, root fillet left out, lifted off it; rows from toe to heel."""
    i = INDEX[member]
    along, height, azimuth = tooth_profile(blank, i, facets)
    first = 1 + facets.fillet + (0 if side < 0 else facets.flank + 1)
    columns = slice(first, first + facets.flank)
    corners = np.concatenate(
        (
            _point(blank, i, along[:, columns], height[:, columns], azimuth[:, columns]),
            np.stack((along[:, columns], height[:, columns]), axis=-1),
        ),
        axis=-1,
    )
    grid = _on_facets(corners, fine)
    faces = _grid_faces(*grid.shape[:2])
    flat = grid.reshape(-1, 5)
    normals = _normals(flat[:, :3], faces)
    return Patch(flat[:, :3] + LIFT * normals, normals, faces, flat[:, 3], flat[:, 4])


@lru_cache(maxsize=8)
def match_mark(blank: Blank, member: Member, facets: Facets = DISPLAY) -> Patch:
    """A stripe over the top of the tooth at its heel and down its heel end."""
    i = INDEX[member]
    along, height, azimuth = tooth_profile(blank, i, facets)
    before, crown, after = facets.fillet + facets.flank, facets.fillet + facets.flank + 1, facets.fillet + facets.flank + 2
    count = max(2, math.ceil(MARK_LENGTH * facets.stations) + 1)
    rows = slice(facets.stations - count, facets.stations)
    low, middle, high = azimuth[rows, before], azimuth[rows, crown], azimuth[rows, after]
    ends = np.stack((middle + MARK_WIDTH * (low - middle), middle, middle + MARK_WIDTH * (high - middle)), axis=1)
    top = np.broadcast_to(height[rows, crown][:, None], ends.shape)
    land = np.broadcast_to(along[rows, crown][:, None], ends.shape)
    base, tip = height[-1, 0], height[-1, crown]
    steps = base + (tip - base) * np.linspace(*MARK_HEIGHTS, 5)[::-1]
    up, half = height[-1, 1:crown], np.abs(azimuth[-1, 1:crown] - azimuth[-1, crown])
    reach = MARK_WIDTH * np.interp(steps, up, half)
    lean = np.interp(steps, up, (azimuth[-1, 1:crown] + azimuth[-1, crown + 1 :][::-1]) / 2.0)
    heel = np.stack((lean - reach, lean, lean + reach), axis=1)
    pieces = []
    for x, h, a in (
        (land, top + MARK_LIFT, ends),
        (np.full(heel.shape, blank.cones.outer + MARK_LIFT), np.repeat(steps[:, None], 3, axis=1), heel),
    ):
        pieces.append((_point(blank, i, x, h, a), x, h, _grid_faces(*x.shape)))
    points = np.concatenate([piece[0].reshape(-1, 3) for piece in pieces])
    faces = np.concatenate([pieces[0][3], pieces[1][3] + pieces[0][1].size]).astype(np.int32)
    values = [np.concatenate([piece[k].ravel() for piece in pieces]) for k in (1, 2)]
    return Patch(points, _normals(points, faces), faces, values[0], values[1])
