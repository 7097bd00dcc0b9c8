"""Where two solids meet when one is pushed into the other, and how a plane through that place cuts what they share [mm].

Contents: `Meeting`, `body_of`, `meeting`, `Section`, `section`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from geometry import features
from geometry.part import Matrix, Solid

if TYPE_CHECKING:
    from manifold3d import Manifold

Array = NDArray[np.float64]
SHARED = 0.05
"""Volume that two solids must share to count as pushed into each other [mm3]."""
SLIVER = 1e-3
"""A section smaller than this counts as none [mm2]."""
ALIKE = 0.8
"""Places of a section that have this share of the greatest one's area count as equal: the upper one is taken."""


@dataclass(frozen=True, eq=False)
class Meeting:
    """What two solids share just after they touch."""

    body: Manifold

    @property
    def middles(self) -> list[Array]:
        """Places to lay a plane through: the middle of it all (the axis, for a ring), then of its pieces, the greatest first [mm]."""
        pieces = sorted(self.body.decompose(), key=lambda piece: -piece.volume())
        return [(np.array(box[:3]) + np.array(box[3:])) / 2.0 for box in (item.bounding_box() for item in (self.body, *pieces))]

    @property
    def box(self) -> Array:
        """Its least and greatest corner [mm]."""
        box = self.body.bounding_box()
        return np.array([box[:3], box[3:]])


def body_of(solid: Solid, pose: Matrix) -> Manifold:
    """A part's solid in its place [mm]."""
    return features.from_mesh(solid.vertices @ pose[:3, :3].T + pose[:3, 3], solid.faces)


def meeting(moving: Manifold, fixed: Manifold, shifts: Iterable[Array]) -> Meeting | None:
    """What the two share at the first of the shifts [mm] at which they share anything; None when they never do."""
    for shift in shifts:
        shared = moving.translate((float(shift[0]), float(shift[1]), float(shift[2]))) ^ fixed
        if shared.volume() > SHARED:
            return Meeting(shared)
    return None


@dataclass(frozen=True)
class Section:
    """A plane's cut through what two solids share: its area [mm2] and the middle of its greatest piece [mm]."""

    area: float
    middle: tuple[float, float, float]


def section(found: Meeting, origin: Array, normal: Array, up: Array) -> Section | None:
    """Cut a meeting by the plane through `origin` with `normal`; of pieces much alike the one farthest along `up` is told."""
    third = normal / np.linalg.norm(normal)
    second = up - third * float(up @ third)
    second = second / np.linalg.norm(second)
    turn = np.array([np.cross(second, third), second, third])
    turned = found.body.transform(np.column_stack([turn, np.zeros(3)]))
    height = float(third @ origin)
    cut = turned.slice(height)
    if cut.area() < SLIVER:
        return None
    pieces = cut.decompose()
    largest = max(piece.area() for piece in pieces)
    best = max((piece for piece in pieces if piece.area() >= ALIKE * largest), key=lambda piece: float(piece.bounds()[3]))
    x0, y0, x1, y1 = best.bounds()
    middle = turn.T @ np.array([(x0 + x1) / 2.0, (y0 + y1) / 2.0, height])
    return Section(float(cut.area()), (float(middle[0]), float(middle[1]), float(middle[2])))
