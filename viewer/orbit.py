"""How far a person has turned, shifted and enlarged the view that a step comes with. Plain numpy, no drawing."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from scenes.frame import Camera

HALF_TURN: Final = np.pi  # a drag across the whole picture turns the machine by this [rad]
STEEPEST: Final = np.radians(88.0)  # nearer to the up direction the picture would flip over
UP: Final = np.array([0.0, 0.0, 1.0])  # a bench is drawn the way it stands, so up is up whatever the camera's own top edge says
ZOOM_STEP: Final = 1.15  # of one notch of the wheel
ZOOM_LIMITS: Final = (0.3, 12.0)


@dataclass(frozen=True)
class Orbit:
    """A turn about the up direction and a tilt [rad], a shift [half picture] and an enlargement, all from the step's own view."""

    turn: float = 0.0
    tilt: float = 0.0
    shift: tuple[float, float] = (0.0, 0.0)
    zoom: float = 1.0

    def turned(self, across: float, up: float) -> Orbit:
        """Turn by a drag given in picture widths and heights."""
        return replace(self, turn=self.turn - across * HALF_TURN, tilt=self.tilt - up * HALF_TURN)

    def shifted(self, across: float, up: float) -> Orbit:
        """Shift by a drag given in picture widths and heights."""
        return replace(self, shift=(self.shift[0] + 2.0 * across, self.shift[1] + 2.0 * up))

    def zoomed(self, notches: float) -> Orbit:
        """Enlarge (+) or reduce (-) by notches of the wheel, about the middle of the picture, within limits."""
        zoom = float(np.clip(self.zoom * ZOOM_STEP**notches, *ZOOM_LIMITS))
        more = zoom / self.zoom
        return replace(self, zoom=zoom, shift=(self.shift[0] * more, self.shift[1] * more))

    def held(self, camera: Camera) -> Orbit:
        """The same with the tilt kept off the poles as seen from this camera, so that dragging back answers at once."""
        height = _height(camera)
        return replace(self, tilt=float(np.clip(self.tilt, -STEEPEST - height, STEEPEST - height)))

    def camera(self, camera: Camera) -> Camera:
        """The step's camera after the turn and the tilt about its focus."""
        if self.turn == 0.0 and self.tilt == 0.0:
            return camera
        focus = np.asarray(camera.focus, dtype=float)
        up = UP
        arm = np.asarray(camera.position, dtype=float) - focus
        height = float(np.clip(_height(camera) + self.tilt, -STEEPEST, STEEPEST))
        level = arm - up * (arm @ up)
        if np.linalg.norm(level) < 1e-9:  # looking straight along `up`: any level direction will do
            level = np.array([1.0, 0.0, 0.0])
        level = _unit(level)
        side = np.cross(up, level)
        level = level * np.cos(self.turn) + side * np.sin(self.turn)
        position = focus + np.linalg.norm(arm) * (level * np.cos(height) + up * np.sin(height))
        return replace(camera, position=(float(position[0]), float(position[1]), float(position[2])), up=(0.0, 0.0, 1.0))


def _height(camera: Camera) -> float:
    """The angle of the view above the level plane [rad]."""
    arm = _unit(np.subtract(camera.position, camera.focus).astype(float))
    return float(np.arcsin(np.clip(arm @ UP, -1.0, 1.0)))


def _unit(vector: NDArray[np.float64]) -> NDArray[np.float64]:
    unit: NDArray[np.float64] = vector / max(float(np.linalg.norm(vector)), 1e-12)
    return unit
