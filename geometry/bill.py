"""The growing list of parts and joints while a reducer is put together, and the poses along its two axes.

Local frames: a part on the high-speed axis has its z along +x and its angle 0 upward (+z); a part on the low-speed axis has its z
upward and its angle 0 along +x. `flipped` parts point the other way (screws whose heads look inward or down).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from geometry.joints import Chain, Joint
from geometry.part import Matrix, Part, Role, Spec

_HIGH = np.array([[0.0, 0.0, 1.0], [0.0, -1.0, 0.0], [1.0, 0.0, 0.0]])
_HIGH_FLIPPED = np.array([[0.0, 0.0, -1.0], [0.0, 1.0, 0.0], [1.0, 0.0, 0.0]])
_LOW = np.eye(3)
_LOW_FLIPPED = np.diag([1.0, -1.0, -1.0])


def pose(rotation: Matrix, origin: Sequence[float]) -> Matrix:
    """A 4x4 placement from a rotation and an origin [mm]."""
    matrix = np.eye(4)
    matrix[:3, :3] = rotation
    matrix[:3, 3] = origin
    return matrix


def turned(angle: float) -> Matrix:
    """Rotation about the local z axis by `angle` [rad]."""
    cosine, sine = np.cos(angle), np.sin(angle)
    return np.array([[cosine, -sine, 0.0], [sine, cosine, 0.0], [0.0, 0.0, 1.0]])


def on_high(x: float, angle: float = 0.0, flipped: bool = False, off: tuple[float, float] = (0.0, 0.0)) -> Matrix:
    """Place on the high-speed axis with local z = 0 at x; `off`: shift in local x, y of the unflipped frame [mm, rad]."""
    shift = _HIGH @ np.array([off[0], off[1], 0.0])
    return pose((_HIGH_FLIPPED if flipped else _HIGH) @ turned(angle), shift + np.array([x, 0.0, 0.0]))


def on_low(z: float, angle: float = 0.0, flipped: bool = False, off: tuple[float, float] = (0.0, 0.0)) -> Matrix:
    """Place on the low-speed axis with local z = 0 at z; `off`: shift in x, y [mm, rad]."""
    return pose((_LOW_FLIPPED if flipped else _LOW) @ turned(angle), (off[0], off[1], z))


class Bill:
    """Parts, joints and chains collected so far."""

    def __init__(self) -> None:
        self.parts: list[Part] = []
        self.joints: list[Joint] = []
        self.chains: list[Chain] = []
        self.left_out: list[str] = []

    def add(self, name: str, role: Role, spec: Spec, placement: Matrix, bench: str, **more: Any) -> None:
        """Add one part; its wording key is `part.<name>` unless `wording` says otherwise."""
        more.setdefault("wording", f"part.{name}")
        self.parts.append(Part(name=name, role=role, spec=spec, pose=placement, bench=bench, **more))

    def circle(
        self,
        name: str,
        spec: Spec,
        bench: str,
        *,
        count: int,
        circle: float,
        first_angle: float,
        at: float,
        high: bool,
        flipped: bool = False,
    ) -> None:
        """Add `count` equal screws on a circle, named name_1 ... name_n [mm, rad]."""
        place = on_high if high else on_low
        for index in range(count):
            angle = first_angle + 2.0 * np.pi * index / count
            off = (circle / 2.0 * float(np.cos(angle)), circle / 2.0 * float(np.sin(angle)))
            placement = place(at, 0.0, flipped, off)
            self.add(f"{name}_{index + 1}", "fastener", spec, placement, bench, wording=f"part.{name}", number=index + 1)

    def join(self, *joints: Joint) -> None:
        self.joints.extend(joints)

    def leave_out(self, name: str) -> None:
        """Note a part that this machine does without."""
        self.left_out.append(name)

    def close(self, *chains: Chain) -> None:
        self.chains.extend(chains)
