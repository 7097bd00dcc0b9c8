"""From a Spec to its closed solid: one revolve of all loops, one union, one subtraction of all cuts.

mm and rad. `build(spec)` is cached in memory by (spec.key, n); shapes that took long are also kept on disk. The boolean engine is
loaded only when a solid is really built. Shapes that are no revolve with features register a builder with `@special("name")`.
"""

from __future__ import annotations

import importlib
import time
import zipfile
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

import numpy as np
from numpy.typing import NDArray

from geometry import store
from geometry.part import Matrix, Solid, Spec

if TYPE_CHECKING:
    from manifold3d import Manifold

Builder = Callable[..., "Manifold | Solid"]
"""A special's builder: called with n and the Spec's args as keywords."""

SPECIALS: dict[str, Builder] = {}
"""Builders of special shapes by name."""
HOMES = ("geometry.fasteners", "geometry.sheets", "geometry.castings", "geometry.teeth", "geometry.reducer")
"""Modules that register specials, loaded when a name is not known yet."""
WORTH_KEEPING = 0.05
"""Building time from which a solid is kept on disk [s]: reading one back takes some 2 ms."""
MOST_IN_MEMORY = 2000
"""Solids held in memory at most; the oldest go first."""

_memory: dict[tuple[str, int], Solid] = {}


def special(name: str) -> Callable[[Builder], Builder]:
    """Register a builder `function(n, **args)` of a special shape under `name`; it returns a Manifold or a Solid."""

    def register(function: Builder) -> Builder:
        SPECIALS[name] = function
        return function

    return register


def _special(name: str) -> Builder:
    for home in HOMES:
        if name in SPECIALS:
            break
        try:
            importlib.import_module(home)
        except ModuleNotFoundError as error:
            if error.name != home:
                raise
    if name not in SPECIALS:
        raise ValueError(f"special {name!r} is unknown: accepted: {', '.join(sorted(SPECIALS))}")
    return SPECIALS[name]


def build(spec: Spec, n: int = 64) -> Solid:
    """Closed solid of a Spec in the part's own frame.

    Facet law of a revolve: V_mesh / V = sin(a) / a, a = 2 pi / n.
    `n`: sides of the main circle [-], 16 to 1024, a multiple of 16.
    Result: vertices on the nominal radius, first one at angle 0 [mm]. Raises ValueError for an unknown feature or an empty body.
    """
    if not 16 <= n <= 1024 or n % 16:
        raise ValueError(f"n = {n}: accepted: a multiple of 16 from 16 to 1024")
    key = (spec.key, n)
    solid = _memory.get(key)
    if solid is None:
        path = store.folder() / f"{spec.key}-{n}.npz"
        solid = read(path) if spec.special else None
        if solid is None:
            start = time.perf_counter()
            solid = _made(spec, n)
            if spec.special and time.perf_counter() - start > WORTH_KEEPING:
                store.put(path, writer(solid))
        while len(_memory) >= MOST_IN_MEMORY:
            _memory.pop(next(iter(_memory)))
        _memory[key] = solid
    return solid


def _made(spec: Spec, n: int) -> Solid:
    """Build without looking into any cache."""
    from geometry import features

    start: list[Manifold] = []
    if spec.special:
        made = _special(spec.special)(n, **dict(spec.args))
        if isinstance(made, Solid):
            if not (spec.loops or spec.add or spec.cut):
                return made
            made = features.from_solid(made)
        start.append(made)
    if spec.loops:
        start.append(features.revolve(spec.loops, n))
    if not start and not spec.add:
        raise ValueError("a Spec needs loops, add features or a special")
    return features.to_solid(features.shaped(start, spec.add, spec.cut, n))


def writer(solid: Solid) -> Callable[[BinaryIO], None]:
    """What writes a solid to a stream."""
    return lambda stream: np.savez(stream, vertices=solid.vertices, faces=solid.faces)


def read(path: Path) -> Solid | None:
    """A kept solid, or None when there is none or the file is damaged."""
    try:
        with open(path, "rb") as stream, np.load(stream, allow_pickle=False) as kept:
            return Solid(np.asarray(kept["vertices"], dtype=np.float64), np.asarray(kept["faces"], dtype=np.int32))
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile):
        return None


def closed(solid: Solid) -> bool:
    """Whether a mesh bounds a body: finite, every edge shared by exactly two faces of opposite sense, every vertex used, volume
    positive.

    `solid`: the mesh [mm]. Result: True or False [-].
    """
    vertices, faces = solid.vertices, solid.faces.astype(np.int64)
    if len(faces) < 4 or not np.isfinite(vertices).all():
        return False
    count = len(vertices)
    if faces.min() < 0 or faces.max() >= count or len(np.unique(faces)) != count:
        return False
    start, end = faces.ravel(), faces[:, [1, 2, 0]].ravel()
    if (start == end).any():
        return False
    forward = np.sort(start * count + end)
    backward = np.sort(end * count + start)
    return bool((np.diff(forward) > 0).all() and np.array_equal(forward, backward) and volume(solid) > 0.0)


def volume(solid: Solid) -> float:
    """Volume enclosed by a mesh, V = sum a . (b x c) / 6.

    `solid`: the mesh [mm]. Result: volume [mm3].
    """
    a, b, c = (solid.vertices[solid.faces[:, i]] for i in range(3))
    return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6.0)


def bodies(solid: Solid) -> int:
    """Number of separate closed surfaces of a mesh (a ring of balls has as many as balls).

    `solid`: the mesh [mm]. Result: count [-].
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    start, end = solid.faces.ravel(), solid.faces[:, [1, 2, 0]].ravel()
    size = len(solid.vertices)
    graph = coo_array((np.ones(len(start), dtype=np.int8), (start, end)), shape=(size, size))
    return int(connected_components(graph, directed=False, return_labels=False))


def trim(solid: Solid, pose: Matrix, origin: Sequence[float], normal: Sequence[float]) -> tuple[Solid, NDArray[np.bool_]]:
    """Cut a placed solid by a plane for a cutaway picture: what `normal` points at is taken away.

    `solid`: in the part's own frame [mm]; `pose`: its 4x4 placement [mm]; `origin`: a point of the plane in the reducer's frame
    [mm]; `normal`: its normal there, any length [-].
    Result: the rest, still in the part's own frame (so `pose` stays valid; it may have no faces), and a mask of the faces that the
    cut made.
    """
    direction = np.asarray(normal, dtype=float)
    direction = direction / np.linalg.norm(direction)
    local = np.asarray(pose)[:3, :3].T @ direction
    offset = float(direction @ (np.asarray(origin, dtype=float) - np.asarray(pose)[:3, 3]))
    height = solid.vertices @ local - offset
    if height.max() <= 1e-9:
        return solid, np.zeros(len(solid.faces), dtype=bool)
    if height.min() >= -1e-9:
        return Solid(np.zeros((0, 3)), np.zeros((0, 3), dtype=np.int32)), np.zeros(0, dtype=bool)
    from geometry import features

    rest = features.from_solid(solid).trim_by_plane((-local[0], -local[1], -local[2]), -offset)
    if rest.num_tri() == 0:
        return Solid(np.zeros((0, 3)), np.zeros((0, 3), dtype=np.int32)), np.zeros(0, dtype=bool)
    left = features.to_solid(rest)
    corner = left.vertices[left.faces]
    sense = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]) @ local
    on_plane = (np.abs(corner @ local - offset) < 1e-6).all(axis=1)
    return left, on_plane & (sense > 0.0)
