"""A second judge of ways in: positions along a path, asked of a general-purpose collision library [mm].

It shares with the proof the check solids and the list of paths, nothing else: no lines, no outlines, no intervals. Positions are
`STEP` apart, closer where a part is thin along the way, so that no sheet is stepped over; triangles that touch say nothing of a
body that lies wholly inside another, so that is asked where a way begins and ends.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import pi

import fcl
import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from geometry.blocking import TOUCH
from geometry.check_solids import Sizes, check_solid, nominal_sizes
from geometry.part import Part
from geometry.reducer import Reducer
from scenes.moves import Leg, Move

STEP = 1.0
"""Farthest that two positions are apart [mm]; no more than half of the thinner part along the way."""
ASIDE = 0.0071
"""Off the round places at which two faces lie in one plane [mm]."""
Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Body:
    """A check solid in place: points, faces, box, one point of each of its pieces, and as the library holds it."""

    points: Array
    faces: NDArray[np.int64]
    box: Array
    pieces: NDArray[np.int64]
    held: fcl.CollisionObject


@dataclass(frozen=True)
class Touch:
    """A pair that meets on a leg; `left`: from the first position at which they do [mm]."""

    part: str
    by: str
    left: float


class Sampler:
    """Asks the library about the parts of one reducer. `remember`: keep the answer for a pair and a leg."""

    def __init__(self, reducer: Reducer, *, remember: bool = True) -> None:
        self.sizes: Mapping[str, Sizes] = nominal_sizes(reducer)
        self.remember = remember
        self.asked = 0
        self._bodies: dict[tuple[object, ...], Body] = {}
        self._answers: dict[tuple[object, ...], float | None] = {}

    def _key(self, part: Part) -> tuple[object, ...]:
        return part.spec.key, self.sizes.get(part.name, ()), part.pose.tobytes()

    def body(self, part: Part) -> Body:
        """The part's check solid in its place."""
        key = self._key(part)
        if key not in self._bodies:
            solid = check_solid(part.spec, self.sizes.get(part.name, ()))
            points = np.ascontiguousarray(solid.vertices @ part.pose[:3, :3].T + part.pose[:3, 3])
            faces = np.ascontiguousarray(solid.faces, dtype=np.int64)
            model = fcl.BVHModel()
            model.beginModel(len(points), len(faces))
            model.addSubModel(points, faces)
            model.endModel()
            edges = coo_matrix((np.ones(2 * len(faces)), (np.tile(faces[:, 0], 2), faces[:, 1:].T.ravel())), (len(points),) * 2)
            pieces = np.unique(connected_components(edges, directed=False)[1], return_index=True)[1]
            box = np.array([points.min(axis=0), points.max(axis=0)])
            self._bodies[key] = Body(points, faces, box, pieces, fcl.CollisionObject(model, fcl.Transform()))
        return self._bodies[key]

    def touches(self, move: Move, parts: Mapping[str, Part], exempt: frozenset[frozenset[str]]) -> list[list[Touch]]:
        """For each leg of a move the pairs that meet on it."""
        found = []
        for leg in move.legs:
            meets = []
            for a in move.parts:
                for b in move.standing:
                    if frozenset((a, b)) not in exempt:
                        left = self.left(parts[a], parts[b], leg)
                        if left is not None:
                            meets.append(Touch(a, b, left))
            found.append(meets)
        return found

    def left(self, moving: Part, fixed: Part, leg: Leg) -> float | None:
        """Travel left on this leg at the first position at which the two meet, or None [mm]."""
        key = (self._key(moving), self._key(fixed), leg.way, leg.offset, leg.length)
        if self.remember and key in self._answers:
            return self._answers[key]
        found = self._answers[key] = self._sampled(self.body(moving), self.body(fixed), leg)
        return found

    def _sampled(self, a: Body, b: Body, leg: Leg) -> float | None:
        way, offset = np.array(leg.way), np.array(leg.offset)
        box = a.box + offset
        across = np.eye(3)[np.abs(way) < 1e-9]
        if ((box[0] @ across.T >= b.box[1] @ across.T) | (box[1] @ across.T <= b.box[0] @ across.T)).any():
            return None
        reach = [_along(box, way), _along(b.box, way)]
        near, far = max(TOUCH, reach[1][0] - reach[0][1]), min(leg.length, reach[1][1] - reach[0][0])
        if far <= TOUCH or near > far:
            return None
        thin = min(float(np.ptp(sides)) for sides in reach)
        count = 1 + int(np.ceil((far - near) / min(STEP, 0.5 * thin)))
        for shift in np.linspace(far, near, count):
            if self._meet(a, b, offset + way * shift):
                return float(shift)
        for shift in (near + ASIDE, *([far - ASIDE] if far == leg.length else [])):
            if _inside(a, b, offset + way * shift) or _inside(b, a, -(offset + way * shift)):
                return float(shift)
        return None

    def _meet(self, a: Body, b: Body, shift: Array) -> bool:
        self.asked += 1
        a.held.setTranslation(shift)
        b.held.setTranslation(np.zeros(3))
        return bool(fcl.collide(a.held, b.held, fcl.CollisionRequest(), fcl.CollisionResult()))

    def overlap(self, first: Part, second: Part) -> bool:
        """Whether two parts overlap in their places."""
        a, b = self.body(first), self.body(second)
        if (a.box[0] >= b.box[1]).any() or (a.box[1] <= b.box[0]).any():
            return False
        return self._meet(a, b, np.zeros(3)) or _inside(a, b, np.zeros(3)) or _inside(b, a, np.zeros(3))


def _along(box: Array, way: Array) -> Array:
    """Least and greatest place of a box along a direction."""
    middle, half = box.mean(axis=0) @ way, (np.ptp(box, axis=0) / 2.0) @ np.abs(way)
    return np.array([middle - half, middle + half])


def _inside(a: Body, b: Body, shift: Array) -> bool:
    """Whether a piece of `a`, shifted, lies wholly inside `b`: by the solid angle under which b's faces are seen from it."""
    for point in a.points[a.pieces] + shift:
        if (point > b.box[0]).all() and (point < b.box[1]).all():
            corners = b.points[b.faces] - point
            size = np.linalg.norm(corners, axis=2)
            top = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2]))
            below = size.prod(axis=1)
            for k in range(3):
                below = below + np.einsum("ij,ij->i", corners[:, k], corners[:, (k + 1) % 3]) * size[:, (k + 2) % 3]
            if abs(2.0 * np.arctan2(top, below).sum()) > 2.0 * pi:
                return True
    return False
