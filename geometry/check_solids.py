"""Check solids: what the proof of the order moves against what, so that a tight fit never counts as a collision [mm].

Bore and shaft are both built to the nominal size of their fit, then every face is moved inward by `INSET`. Two parts that touch, or
are pressed together, stand `2 INSET` apart; a part that is too large or in the wrong place by more than that is still found. Screws
and tapped holes are both drawn at the thread's nominal diameter here, so that the same inset keeps a thread free while its clearance
hole is judged at full size. All are kept on disk: a second look then never loads what builds solids.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from geometry import store
from geometry.joints import Fit
from geometry.kept import digest
from geometry.part import Solid, Spec
from geometry.solid import build, read, writer

if TYPE_CHECKING:
    from geometry.reducer import Reducer

INSET = 0.05
"""How far every face is moved inward [mm]."""
SIDES = 128
"""Sides of the main circle: its sagitta stays below 2 INSET up to a radius of 330 mm, that of a hole up to 20 mm."""
THINNEST = 8.0
"""A sheet loses at most the 1/8 part of its thickness on each face."""
FARTHEST = 4.0
"""A corner moves by this many insets at most."""
DAMPING = 1e-4
"""Share of the trace added to the corner's equations: what keeps a corner of nearly parallel faces in place."""
MOST = 1000
"""Check solids held in memory, and on disk, at most."""
FILES = "check-{}.npz"
"""What each is called on disk."""

Sizes = tuple[tuple[float, float], ...]
"""Built size and the nominal size that takes its place [mm]."""
_memory: dict[tuple[str, Sizes], Solid] = {}


def nominal_sizes(reducer: Reducer) -> Mapping[str, Sizes]:
    """For each part of a fit: its built radii and diameters and the nominal ones that bore and shaft share [mm]."""
    found: dict[str, list[tuple[float, float]]] = {}
    for fit in reducer.of_kind(Fit):
        for part, mean in ((fit.bore_part, fit.bore_mean), (fit.shaft_part, fit.shaft_mean)):
            if mean != fit.diameter:
                found.setdefault(part, []).extend(((mean, fit.diameter), (mean / 2.0, fit.diameter / 2.0)))
    return {part: tuple(sizes) for part, sizes in found.items()}


def nominal(spec: Spec, sizes: Sizes) -> Spec:
    """A Spec with each built size of a fit replaced by the nominal one."""

    def swapped(value: Any) -> Any:
        if isinstance(value, float):
            return next((new for old, new in sizes if abs(value - old) < 1e-9), value)
        if isinstance(value, tuple):
            return tuple(swapped(item) for item in value)
        return value

    return replace(spec, loops=swapped(spec.loops), cut=swapped(spec.cut), args=swapped(spec.args)) if sizes else spec


def inset(solid: Solid, depth: float | NDArray[np.float64]) -> Solid:
    """A mesh with every face moved inward, corners following their faces.

    Each corner moves by the x that solves n . x = -depth for the faces that meet in it (least squares, weighted by their angles).
    `depth`: of all faces, or one for each [mm], small against every wall. Result: a mesh of the same faces.
    """
    corners = solid.vertices[solid.faces]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(normal, axis=1)
    flat = length > 1e-12
    normal = normal / np.where(flat, length, 1.0)[:, None]
    along = np.roll(corners, -1, axis=1) - corners
    before = -np.roll(along, 1, axis=1)
    cosine = np.einsum("fij,fij->fi", along, before)
    sine = np.linalg.norm(np.cross(along, before), axis=2)
    angle = np.where(flat[:, None], np.arctan2(sine, cosine), 0.0).ravel()
    face = np.repeat(np.arange(len(solid.faces)), 3)
    where, count = solid.faces.ravel(), len(solid.vertices)
    matrix = np.empty((count, 3, 3))
    for i in range(3):
        for j in range(i, 3):
            matrix[:, i, j] = matrix[:, j, i] = np.bincount(where, angle * (normal[:, i] * normal[:, j])[face], count)
    wanted = np.broadcast_to(-np.asarray(depth, dtype=float), len(solid.faces))[face] * angle
    right = np.column_stack([np.bincount(where, wanted * normal[face, i], count) for i in range(3)])
    trace = np.einsum("nii->n", matrix)
    matrix[:, range(3), range(3)] += (DAMPING * trace + 1e-12)[:, None]
    shift = np.linalg.solve(matrix, right[:, :, None])[:, :, 0]
    size = np.linalg.norm(shift, axis=1)
    most = FARTHEST * float(np.max(depth))
    shift *= np.minimum(1.0, most / np.maximum(size, 1e-30))[:, None]
    return Solid(solid.vertices + shift, solid.faces)


def check_solid(spec: Spec, sizes: Sizes = ()) -> Solid:
    """The check solid of a Spec in the part's own frame, built once for each shape.

    `sizes`: its built sizes and their nominal ones [mm]. Result: closed mesh, every face `INSET` inside the nominal one (the faces of
    a thin sheet less).
    """
    key = (spec.key, sizes)
    found = _memory.get(key)
    if found is None:
        path = store.folder() / FILES.format(digest(spec.key.encode(), repr(sizes).encode()).hex())
        found = read(path)
        if found is None:
            found = _made(spec, sizes)
            store.put(path, writer(found))
        while len(_memory) >= MOST:
            _memory.pop(next(iter(_memory)))
        _memory[key] = found
    return found


def _made(spec: Spec, sizes: Sizes) -> Solid:
    solid = build(nominal(spec, sizes), SIDES)
    thickness = float(np.ptp(solid.vertices[:, 2]))
    depth: float | NDArray[np.float64] = INSET
    if thickness < THINNEST * INSET:
        corners = solid.vertices[solid.faces]
        normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        level = np.abs(normal[:, 2]) > 0.5 * np.linalg.norm(normal, axis=1)
        depth = np.where(level, thickness / THINNEST, INSET)
    return inset(solid, depth)
