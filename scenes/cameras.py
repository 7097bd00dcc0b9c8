"""Where the picture is taken from: one viewpoint per bench and phase, closer only where a small part would be lost.

mm, in the picture's frame (after the bench has been turned the way it stands).
"""

from __future__ import annotations

from collections.abc import Sequence
from math import radians, tan

import numpy as np
from numpy.typing import NDArray

from scenes.frame import Camera

Array = NDArray[np.float64]
DIRECTION = np.array([0.8, -1.0, 0.55])
"""From the focus toward the eye: right, front, above."""
FROM_ABOVE = np.array([0.7, -1.0, 1.0])
"""The same for a look at the gear's teeth, which stand up."""
ANGLE = 18.0
"""Vertical view angle [deg]."""
MARGIN = 1.12
"""Free border around what must be seen."""
SMALLEST = 0.16
"""A part that fills less than this share of the picture's height is moved in on."""
CONTEXT = 4.5
"""How many times the part's own size stays in view when moved in on."""


def corners(box: Array) -> Array:
    """The eight corners of a box, (8, 3) [mm]."""
    low, high = box
    return np.array([[(low, high)[i][0], (low, high)[j][1], (low, high)[k][2]] for i in (0, 1) for j in (0, 1) for k in (0, 1)])


def fit(boxes: Sequence[Array], direction: Array = DIRECTION, aspect: float = 1.5) -> Camera:
    """Camera that sees all boxes from this direction. `aspect`: width over height of the free picture area."""
    points = np.vstack([corners(box) for box in boxes])
    back = direction / np.linalg.norm(direction)
    up = np.array([0.0, 0.0, 1.0])
    right = np.cross(up, back)
    right /= np.linalg.norm(right)
    over = np.cross(back, right)
    across, along, toward = points @ right, points @ over, points @ back
    centre = (
        right * (across.max() + across.min()) / 2
        + over * (along.max() + along.min()) / 2
        + back * (toward.max() + toward.min()) / 2
    )
    half = tan(radians(ANGLE / 2.0))
    distance = 0.0
    for x, y, z in zip(across - centre @ right, along - centre @ over, toward - centre @ back, strict=True):
        distance = max(distance, z + MARGIN * abs(y) / half, z + MARGIN * abs(x) / (half * aspect))
    eye = centre + back * distance
    return Camera(_tuple(eye), _tuple(centre), _tuple(over), ANGLE)


def step_camera(group: Sequence[Array], subject: Sequence[Array], direction: Array = DIRECTION, aspect: float = 1.5) -> Camera:
    """The group's viewpoint, moved in on the subject where it would be too small. Boxes in mm."""
    if not subject:
        return fit(group, direction, aspect)
    whole, part = _union(group), _union(subject)
    size, room = float(np.linalg.norm(part[1] - part[0])), float(np.linalg.norm(whole[1] - whole[0]))
    if size >= SMALLEST * room:
        return fit(group, direction, aspect)
    return fit([_round(whole, part, CONTEXT)], direction, aspect)


def close_camera(group: Sequence[Array], subject: Sequence[Array], context: float, aspect: float = 1.5) -> Camera:
    """The group's viewpoint, moved in until `context` times the subject's own size stays in view. Boxes in mm."""
    return fit([_round(_union(group), _union(subject), context)], DIRECTION, aspect)


def _round(whole: Array, part: Array, context: float) -> Array:
    """The box in view: as much of the whole as lies round the part."""
    reach, middle = context * float(np.linalg.norm(part[1] - part[0])) / 2.0, (part[0] + part[1]) / 2.0
    return np.array(
        [np.maximum(whole[0], np.minimum(part[0], middle - reach)), np.minimum(whole[1], np.maximum(part[1], middle + reach))]
    )


def _union(boxes: Sequence[Array]) -> Array:
    stack = np.array(boxes)
    return np.array([stack[:, 0].min(axis=0), stack[:, 1].max(axis=0)])


def _tuple(vector: Array) -> tuple[float, float, float]:
    return float(vector[0]), float(vector[1]), float(vector[2])
