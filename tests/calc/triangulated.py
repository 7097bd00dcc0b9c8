"""Contact by brute force: every vertex of the pinion flank against the triangles of the gear flank, at every pinion turn.

Built from the same drawing data as the contact search but along another way: involutes by unrolling a plane off the base cone point
by point, the trace by the triangle of apex, cutter centre and flank point, the gear as triangles in its axial plane. No contact
phase, no edge curvature, no refinement.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calc.bevel import Blank
from calc.flank import EaseOff, Errors

Array = NDArray[np.float64]


def _trace(blank: Blank, radius: Array) -> tuple[Array, Array]:
    """Trace angle on the crown gear from the triangle of its circle, and the sine of the spiral angle."""
    cutter, mean = blank.cutter_radius, blank.cones.mean
    if cutter is None:
        return np.zeros_like(radius), np.zeros_like(radius)
    away = math.sqrt(mean**2 + cutter**2 - 2.0 * mean * cutter * math.sin(blank.spiral_angle))

    def angle(r: Array) -> Array:
        return np.arccos((r**2 + away**2 - cutter**2) / (2.0 * r * away))

    return angle(np.array(mean)) - angle(radius), (radius**2 + cutter**2 - away**2) / (2.0 * radius * cutter)


def _unrolled(base: Array, roll: Array) -> tuple[Array, Array]:
    """Azimuth and polar angle of the end of an arc that was wound on a base cone and is unrolled by `roll`."""
    wound = roll / np.sin(base)
    touching = np.stack((np.sin(base) * np.cos(wound), np.sin(base) * np.sin(wound), np.cos(base) + 0.0 * wound))
    back = np.stack((np.sin(wound), -np.cos(wound), 0.0 * wound))
    point = np.cos(roll) * touching + np.sin(roll) * back
    return np.arctan2(point[1], point[0]), np.arccos(np.clip(point[2], -1.0, 1.0))


def _half(blank: Blank, member: int, radius: Array, polar: Array, sine: Array) -> Array:
    """Half tooth angle at a polar angle, without ease-off."""
    pressure = np.arctan(math.tan(blank.pressure_angle) / np.sqrt(1.0 - sine**2))
    base = np.arcsin(math.sin(blank.cones.angles[member]) * np.cos(pressure))
    at_pitch = np.arccos(math.cos(blank.cones.angles[member]) / np.cos(base))
    roll = np.arccos(np.minimum(np.cos(polar) / np.cos(base), 1.0))
    return blank.half_tooth_angles[member] + _unrolled(base, at_pitch)[0] - _unrolled(base, roll)[0]


@dataclass(frozen=True, eq=False)
class Search:
    """One flank of a displaced pair: pinion vertices in its own frame and gear azimuths on a grid of (x, h)."""

    blank: Blank
    side: int
    errors: Errors
    radius: Array
    polar: Array
    azimuth: Array
    along: Array
    shares: int
    gear: Array

    def gap(self, phase: float) -> tuple[Array, Array, Array]:
        """Gear turn at which every pinion vertex touches at one phase (infinite off the gear), and where on the gear."""
        blank, s, errors = self.blank, self.side, self.errors
        turned = self.azimuth + s * phase
        x = self.radius * np.sin(self.polar) * np.cos(turned)
        y = self.radius * np.sin(self.polar) * np.sin(turned)
        z = self.radius * np.cos(self.polar) + errors.pinion
        shaft = blank.shaft_angle + errors.shaft_angle
        basis = np.array([[-math.cos(shaft), 0.0, math.sin(shaft)], [0.0, -1.0, 0.0], [math.sin(shaft), 0.0, math.cos(shaft)]])
        gx, gy, gz = np.tensordot(basis, np.stack((x, y, z)), axes=1) + np.array([0.0, errors.offset, -errors.gear])[:, None, None]
        ring, delta = np.hypot(gx, gy), blank.cones.angles[1]
        along, height = gz * math.cos(delta) + ring * math.sin(delta), ring * math.cos(delta) - gz * math.sin(delta)
        low, tip = _lines(blank, along)
        a = (along - self.along[0]) / (self.along[1] - self.along[0])
        b = (height - low) / (tip - low) * (self.shares - 1)
        on = (a >= 0.0) & (a <= len(self.along) - 1) & (b >= 0.0) & (b <= self.shares - 1)
        i = np.clip(a.astype(int), 0, len(self.along) - 2)
        j = np.clip(b.astype(int), 0, self.shares - 2)
        p, q = a - i, b - j
        grid = self.gear
        lower = grid[i, j] + p * (grid[i + 1, j] - grid[i, j]) + q * (grid[i + 1, j + 1] - grid[i + 1, j])
        upper = grid[i, j] + q * (grid[i, j + 1] - grid[i, j]) + p * (grid[i + 1, j + 1] - grid[i, j + 1])
        azimuth = np.where(p >= q, lower, upper)
        value = s * (np.arctan2(gy, gx) - azimuth) + blank.teeth[0] / blank.teeth[1] * phase
        return np.where(on, value, np.inf), along, height

    def closing(self, phase: float, pairs: range = range(-3, 4)) -> float:
        """Gear turn at which this flank closes at one phase: least over all vertices and tooth pairs."""
        pitch = 2.0 * math.pi / self.blank.teeth[0]
        return min(float(self.gap(phase + k * pitch)[0].min()) for k in pairs)


def _lines(blank: Blank, along: Array) -> tuple[Array, Array]:
    """Height of the gear's root line and tip line."""
    far = along - blank.cones.outer
    low = -(blank.outer_dedenda[1] + far * math.tan(blank.dedendum_angles[1]))
    return low, blank.outer_addenda[1] + far * math.tan(blank.addendum_angles[1])


def search(
    blank: Blank,
    side: int,
    errors: Errors,
    ease: EaseOff,
    *,
    pinion: tuple[int, int] = (141, 71),
    gear: tuple[int, int] = (201, 101),
) -> Search:
    """Triangulated flanks of one side."""
    radius = np.linspace(blank.cones.inner, blank.cones.outer, pinion[0])[:, None]
    trace, sine = _trace(blank, radius)
    top = _tip_polar(blank, radius)
    pressure = np.arctan(math.tan(blank.pressure_angle) / np.sqrt(1.0 - sine**2))
    base = np.arcsin(math.sin(blank.cones.angles[0]) * np.cos(pressure))
    polar = base + (top - base) * np.linspace(0.0, 1.0, pinion[1]) ** 0.8
    radius = np.broadcast_to(radius, polar.shape)
    half = _half(blank, 0, radius, polar, np.broadcast_to(sine, polar.shape))
    azimuth = side * half + blank.sigma * trace / math.sin(blank.cones.angles[0])

    along = np.linspace(blank.cones.inner - 2.0, blank.cones.outer + 2.0, gear[0])
    low, tip = _lines(blank, along)
    height = low[:, None] + (tip - low)[:, None] * np.linspace(0.0, 1.0, gear[1])
    x = np.broadcast_to(along[:, None], height.shape)
    r = np.hypot(x, height)
    gear_trace, gear_sine = _trace(blank, r)
    gear_half = _half(blank, 1, r, blank.cones.angles[1] + np.arctan2(height, x), gear_sine)
    far = x - blank.cones.outer
    tips = [blank.outer_addenda[i] + far * math.tan(blank.addendum_angles[i]) for i in (0, 1)]
    u = (x - blank.cones.mean) / (blank.face_width / 2.0)
    v = 2.0 * (height + tips[0]) / (tips[0] + tips[1]) - 1.0
    u, v = u - ease.along_face, v - ease.over_depth
    relief = 1e-3 * (ease.length_um * u**2 + ease.profile_um * v**2 + ease.twist_um * u * v)
    arm = r * math.sin(blank.cones.angles[1]) * math.cos(blank.pressure_angle) * np.sqrt(1.0 - gear_sine**2)
    space = side * (gear_half - math.pi / blank.teeth[1] - relief / arm)
    lead = -blank.sigma * gear_trace / math.sin(blank.cones.angles[1])
    return Search(blank, side, errors, radius, polar, azimuth, along, gear[1], space + lead)


def _tip_polar(blank: Blank, radius: Array) -> Array:
    """Polar angle of the pinion's tip on a sphere: where its straight tip line is that far from the apex."""
    slope = math.tan(blank.addendum_angles[0])
    start = blank.outer_addenda[0] - blank.cones.outer * slope
    # (1 + slope^2) x^2 + 2 start slope x + start^2 - R^2 = 0
    a, b = 1.0 + slope**2, start * slope
    x = (-b + np.sqrt(b**2 - a * (start**2 - radius**2))) / a
    return blank.cones.angles[0] + np.arctan2(start + slope * x, x)
