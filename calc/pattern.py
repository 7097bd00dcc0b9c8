"""The contact pattern that marking compound shows on the gear flank: film, outline, centre, extents, area.

Positions are read on the gear: along the face in percent from the toe, over the depth in percent of the working depth from the
root. Lengths mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from calc.flank import Array

FILM = 0.006
"""Thickness of the marking compound's film [mm]: common practice, no source."""


@dataclass(frozen=True, eq=False)
class Pattern:
    """Marked pattern on one gear flank; arrays run (toe to heel, gear tip to gear root) over the active flank.

    along_face, over_depth: place of each grid point [%]; left: gap left when the teeth roll past [mm]; thickness of the film [mm];
    centre along the face and over the depth [%]; area: share of the working flank that is marked [%].
    """

    along_face: Array
    over_depth: Array
    left: Array
    thickness: float
    centre_along: float
    centre_depth: float
    area: float

    @cached_property
    def film(self) -> Array:
        """Film that stays on the flank: 0 wiped off where the teeth touch, 1 whole where they are clear."""
        return np.clip(self.left / self.thickness, 0.0, 1.0)

    @cached_property
    def outline(self) -> tuple[tuple[tuple[float, float], ...], ...]:
        """Closed outlines of the mark, each a ring of (along face, over depth) [%]; more than one where the mark is split."""
        return self.outline_at(1.0)

    def outline_at(self, share: float) -> tuple[tuple[tuple[float, float], ...], ...]:
        """Closed outlines of where less than a share of the film stays (above 0, up to 1), as `outline`."""
        return _rings(self.along_face, self.over_depth, self.left, share * self.thickness)

    @cached_property
    def _extents(self) -> tuple[tuple[float, float], tuple[float, float]]:
        return _extents(self.along_face, self.over_depth, self.left, self.thickness, (self.centre_along, self.centre_depth))

    @property
    def extent_along(self) -> tuple[float, float]:
        """Least and most place along the face that is marked [%]."""
        return self._extents[0]

    @property
    def extent_depth(self) -> tuple[float, float]:
        """Least and most place over the depth that is marked [%]."""
        return self._extents[1]

    @property
    def runs_off(self) -> tuple[str, ...]:
        """Ends that the mark runs over: any of toe, heel, root, tip; root is the end of the active flank, not of the tooth."""
        marked = self.left < self.thickness
        ends = (("toe", marked[0]), ("heel", marked[-1]), ("root", marked[:, -1]), ("tip", marked[:, 0]))
        return tuple(name for name, line in ends if bool(line.any()))


def mark(face: Array, depth: Array, left: Array, thickness: float) -> Pattern:
    """Pattern from the gap that is left on a grid of flank points.

    cell weight = |du||dv| clip((t - gc)/(2 w) + 1/2, 0, 1), gc mean of its corners, w = (|g11 - g00| + |g10 - g01|)/4;
    centre = weighted mean, area = 100 sum/4; extents by linear crossings g = t on the grid's edges

    face: places along the face, -1 toe .. +1 heel [1]
    depth: places over the depth, -1 root of the working depth .. +1 gear tip [1]
    left: gap left when the teeth roll past [mm]
    thickness: film of marking compound t [mm]
    Result: Pattern, its places in percent [mm]. Range: a grid of 2 by 2 or more, film above 0. Source: own definition.

    >>> u, v = np.meshgrid(np.linspace(-1, 1, 41), np.linspace(-1, 1, 41), indexing="ij")
    >>> found = mark(u, v, 0.012 * (u**2 + v**2), 0.006)
    >>> round(found.area), round(found.extent_along[1])
    (39, 85)
    """
    if not thickness > 0.0:
        raise ValueError(f"film: {thickness} mm: accepted: above 0")
    u, v = np.clip(face, -1.0, 1.0), np.clip(depth, -1.0, 1.0)
    a, b, c, d = (slice(None, -1), slice(None, -1)), (slice(1, None), slice(None, -1)), (slice(None, -1), slice(1, None)), (
        slice(1, None), slice(1, None))  # fmt: skip
    middle_u, middle_v, middle_g = ((x[a] + x[b] + x[c] + x[d]) / 4.0 for x in (u, v, left))
    width = (np.abs(left[d] - left[a]) + np.abs(left[b] - left[c])) / 4.0
    size = np.abs((u[b] + u[d] - u[a] - u[c]) * (v[c] + v[d] - v[a] - v[b])) / 4.0
    weight = size * np.clip((thickness - middle_g) / (2.0 * np.maximum(width, 1e-12)) + 0.5, 0.0, 1.0)
    total = float(weight.sum())
    if total > 0.0:
        centre = float((weight * middle_u).sum()) / total, float((weight * middle_v).sum()) / total
    else:
        least = np.unravel_index(int(np.argmin(left)), left.shape)
        centre = float(u[least]), float(v[least])
    return Pattern(
        along_face=50.0 * (1.0 + u),
        over_depth=50.0 * (1.0 + v),
        left=left,
        thickness=thickness,
        centre_along=50.0 * (1.0 + centre[0]),
        centre_depth=50.0 * (1.0 + centre[1]),
        area=25.0 * total,
    )


def _extents(
    u: Array, v: Array, left: Array, thickness: float, centre: tuple[float, float]
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Least and most place along the face and over the depth: marked nodes and crossings between neighbours."""
    marked = left < thickness
    places: tuple[list[Array], list[Array]] = ([u[marked]], [v[marked]])
    for one, two in (((slice(None, -1),), (slice(1, None),)), ((slice(None), slice(None, -1)), (slice(None), slice(1, None)))):
        cut = marked[one] != marked[two]
        g0, g1 = left[one][cut], left[two][cut]
        t = (thickness - g0) / (g1 - g0)
        for found, x in zip(places, (u, v), strict=True):
            x0, x1 = x[one][cut], x[two][cut]
            found.append(x0 + t * (x1 - x0))
    both = [np.concatenate(found) for found in places]
    if not both[0].size:
        return (centre[0], centre[0]), (centre[1], centre[1])
    return (float(both[0].min()), float(both[0].max())), (float(both[1].min()), float(both[1].max()))


_Point = tuple[int, int, int]
"""Grid edge that an outline crosses: row, column, 0 along the rows or 1 along the columns."""


def _rings(along: Array, depth: Array, left: Array, level: float) -> tuple[tuple[tuple[float, float], ...], ...]:
    """Outlines of left < level by marching squares; past the border the gap counts as open, so that every ring closes."""
    g = np.pad(left, 1, constant_values=np.inf)
    x, y = np.pad(along, 1, mode="edge"), np.pad(depth, 1, mode="edge")
    marked = g < level
    code = marked[:-1, :-1] * 1 + marked[1:, :-1] * 2 + marked[1:, 1:] * 4 + marked[:-1, 1:] * 8
    follow: dict[_Point, _Point] = {}
    for i, j in zip(*(index.tolist() for index in np.nonzero((code > 0) & (code < 15))), strict=True):
        follow.update(_cell_edges(int(code[i, j]), i, j))

    def places(ring: list[_Point]) -> tuple[tuple[float, float], ...]:
        i, j, way = np.array(ring).T
        near, far = (i, j), (i + (way == 0), j + (way == 1))
        swapped = ~marked[near]
        inside, outside = (
            tuple(np.where(swapped, b, a) for a, b in zip(*ends, strict=True)) for ends in ((near, far), (far, near))
        )
        t = (level - g[inside]) / (g[outside] - g[inside])  # 0 where outside is past the border, at infinity
        u, v = (z[inside] + t * (z[outside] - z[inside]) for z in (x, y))
        return tuple(zip(u.tolist(), v.tolist(), strict=True))

    rings = []
    while follow:
        here = next(iter(follow))
        ring = []
        while here in follow:
            ring.append(here)
            here = follow.pop(here)
        rings.append(places(ring))
    return tuple(sorted(rings, key=len, reverse=True))


def _cell_edges(code: int, i: int, j: int) -> list[tuple[_Point, _Point]]:
    """Directed crossings of one cell, the marked side on the left; a saddle keeps its marked corners apart."""
    south, north, west, east = (i, j, 0), (i, j + 1, 0), (i, j, 1), (i + 1, j, 1)
    ways = {
        1: (south, west), 2: (east, south), 3: (east, west), 4: (north, east), 6: (north, south), 7: (north, west),
        8: (west, north), 9: (south, north), 11: (east, north), 12: (west, east), 13: (south, east), 14: (west, south),
    }  # fmt: skip
    return [ways[bit] for bit in (1, 2, 4, 8) if code & bit] if code in (5, 10) else [ways[code]]
