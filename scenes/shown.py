"""How a part is shown: turned with its bench, under its trade name, cut or whole.

mm, degC. Contents: `stand`, `label_of`, `rotation`, `turned`, `vector`, and what is left whole in a section.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from geometry.part import Part
from geometry.reducer import Reducer, build
from scenes import cameras
from scenes.frame import CutPlane, Shown, State, Vector
from scenes.procedure import Step
from scenes.wording import text

Array = NDArray[np.float64]
WHOLE_ROLES = frozenset({"shaft", "rolling", "fastener", "pinion"})
"""Roles that stay whole in a section: drawing convention, ISO 128."""
FRONT = CutPlane((0.0, 0.0, 0.0), (0.0, -1.0, 0.0))
"""The cut through both axes: the half toward the viewer is taken away."""
UP: dict[str, Array] = {
    "+z": np.eye(3),
    "-z": np.diag([1.0, -1.0, -1.0]),
    "-x": np.array([[0.0, 0.0, 1.0], [0.0, 1.0, 0.0], [-1.0, 0.0, 0.0]]),
    "+x": np.array([[0.0, 0.0, -1.0], [0.0, 1.0, 0.0], [1.0, 0.0, 0.0]]),
}
"""Rotation that brings a reducer axis to the top of the picture."""


def rotation(step: Step | None) -> Array:
    """How the bench of a step stands [3x3]."""
    return UP[step.up if step is not None else "+z"]


def turned(box: Array, turn: Array) -> Array:
    ends = cameras.corners(box) @ turn.T
    return np.array([ends.min(axis=0), ends.max(axis=0)])


def vector(values: Array) -> Vector:
    return float(values[0]), float(values[1]), float(values[2])


def label_of(reducer: Reducer, part: Part) -> str:
    """The part's name as shown: a circle of screws once with its count, the pieces of a bearing by the bearing's name."""
    if part.number:
        return text(part.wording, count=len(reducer.groups[part.name.rsplit("_", 1)[0]]))
    return text(f"part.{part.unit}") if part.unit else text(part.wording)


def stand(
    reducer: Reducer,
    part: Part,
    shift: Array,
    state: State,
    turn: Array,
    *,
    temperature: float | None = None,
    cut: bool = False,
) -> Shown:
    pose = np.eye(4)
    pose[:3, :3] = turn @ part.pose[:3, :3]
    pose[:3, 3] = turn @ (part.pose[:3, 3] + shift)
    return Shown(
        part.name,
        label_of(reducer, part),
        part.role,
        build(part),
        part.spec.key,
        pose,
        state,
        vector(turn @ shift),
        temperature,
        cut,
        part.role in WHOLE_ROLES,
    )
