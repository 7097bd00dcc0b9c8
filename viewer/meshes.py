"""Solids as drawable meshes: normals split at sharp edges, cut bodies with their caps apart, kept for the next frame."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass
from typing import Final

import numpy as np
import pyvista as pv
from numpy.typing import NDArray

from geometry.part import Solid
from scenes.frame import CutPlane, Shown

SPLIT_ANGLE: Final = 30.0  # deg: an edge sharper than this is drawn sharp
KEPT: Final = 3000  # meshes; the oldest go first
CutKey = tuple[float, ...]
MeshKey = tuple[str, CutKey]


@dataclass(frozen=True, eq=False)
class Mesh:
    """What one part looks like in its own frame: `body` None when the cut took all of it, `cap` the cut face if there is one."""

    body: pv.PolyData | None
    cap: pv.PolyData | None


_meshes: OrderedDict[MeshKey, Mesh] = OrderedDict()
_edges: OrderedDict[MeshKey, pv.PolyData] = OrderedDict()


def cut_of(part: Shown, plane: CutPlane | None) -> CutPlane | None:
    """The plane that trims this part, or None when it stays whole."""
    return plane if plane is not None and part.cut and not part.whole else None


def taken_away(part: Shown, plane: CutPlane | None) -> bool:
    """Whether a part that is never cut (screw, roller) lies wholly on the removed side and so goes with it; what arrives stays."""
    if plane is None or not part.whole or part.state == "arriving":
        return False
    return bool(_height(part, plane).min() >= -1e-6)


def _height(part: Shown, plane: CutPlane) -> NDArray[np.float64]:
    """How far each vertex lies on the removed side [mm]."""
    normal = np.asarray(plane.normal, dtype=float) / np.linalg.norm(plane.normal)
    height: NDArray[np.float64] = part.solid.vertices @ (part.pose[:3, :3].T @ normal)
    return height - float(normal @ (np.asarray(plane.origin, dtype=float) - part.pose[:3, 3]))


def _loses_bodies(part: Shown, plane: CutPlane | None) -> bool:
    """Whether a row of rollers or balls crosses the plane: those wholly on the removed side go, the others stay whole."""
    if plane is None or part.role != "rolling" or not part.whole or part.state == "arriving":
        return False
    height = _height(part, plane)
    return bool(height.min() < -1e-6 and height.max() > 1e-6)


def _standing(part: Shown, plane: CutPlane) -> Solid:
    """A row of separate bodies without those wholly on the removed side."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    faces, count = part.solid.faces, len(part.solid.vertices)
    link = coo_array((np.ones(2 * len(faces)), (faces[:, [0, 1]].ravel(), faces[:, [1, 2]].ravel())), shape=(count, count))
    bodies, body = connected_components(link, directed=False)
    lowest = np.full(bodies, np.inf)
    np.minimum.at(lowest, body, _height(part, plane))
    return _only(part.solid, lowest[body[faces[:, 0]]] < -1e-6)


def key_of(part: Shown, plane: CutPlane | None) -> MeshKey:
    """The name of a part's mesh in the store: its shape and, when cut, the plane as the part sees it."""
    trimmed = plane if _loses_bodies(part, plane) else cut_of(part, plane)
    if trimmed is None:
        return part.spec_key, ()
    rotation, place = part.pose[:3, :3], part.pose[:3, 3]
    normal = np.asarray(trimmed.normal, dtype=float)
    normal = normal / np.linalg.norm(normal)
    offset = float(normal @ (np.asarray(trimmed.origin, dtype=float) - place))
    return part.spec_key, (*(round(float(v), 9) + 0.0 for v in rotation.T @ normal), round(offset, 6) + 0.0)


def load(part: Shown, plane: CutPlane | None) -> Mesh:
    """The mesh of a part under a cut plane, from the store or made now."""
    key = key_of(part, plane)
    if key in _meshes:
        _meshes.move_to_end(key)
        return _meshes[key]
    trimmed = cut_of(part, plane)
    if plane is not None and _loses_bodies(part, plane):
        mesh = Mesh(_shaded(_standing(part, plane)), None)
    elif trimmed is None:
        mesh = Mesh(_shaded(part.solid), None)
    else:
        from geometry.solid import trim

        rest, caps = trim(part.solid, part.pose, trimmed.origin, trimmed.normal)
        mesh = Mesh(_shaded(_only(rest, ~caps)), _flat(_only(rest, caps)))
    _meshes[key] = mesh
    while len(_meshes) > KEPT:
        _meshes.popitem(last=False)
    return mesh


def edges(part: Shown, plane: CutPlane | None) -> pv.PolyData | None:
    """The sharp edges of a part's drawn mesh, as lines in its own frame; None when it has none."""
    key = key_of(part, plane)
    if key not in _edges:
        mesh = load(part, plane)
        found = [
            m.clean().extract_feature_edges(
                SPLIT_ANGLE, boundary_edges=True, non_manifold_edges=False, manifold_edges=False, clear_data=True
            )
            for m in (mesh.body, mesh.cap)
            if m is not None
        ]
        _edges[key] = pv.merge(found) if len(found) > 1 else (found[0] if found else pv.PolyData())
        while len(_edges) > KEPT:
            _edges.popitem(last=False)
    return _edges[key] if _edges[key].n_cells else None


def polydata(vertices: NDArray[np.float64], faces: NDArray[np.int32]) -> pv.PolyData:
    """A triangle mesh for the renderer (single precision: pictures only, never read a size back from it)."""
    mesh: pv.PolyData = pv.PolyData.from_regular_faces(vertices.astype(np.float32), faces)
    return mesh


def _only(solid: Solid, mask: NDArray[np.bool_]) -> Solid:
    return Solid(solid.vertices, solid.faces[mask])


def _compact(solid: Solid) -> Solid:
    used, faces = np.unique(solid.faces, return_inverse=True)
    return Solid(solid.vertices[used], faces.reshape(-1, 3).astype(np.int32))


def _shaded(solid: Solid) -> pv.PolyData | None:
    if not len(solid.faces):
        return None
    small = _compact(solid)
    mesh = polydata(small.vertices, small.faces)
    shaded: pv.PolyData = mesh.compute_normals(
        cell_normals=False, split_vertices=True, feature_angle=SPLIT_ANGLE, consistent_normals=False, auto_orient_normals=False
    )
    return shaded


def _flat(solid: Solid) -> pv.PolyData | None:
    if not len(solid.faces):
        return None
    small = _compact(solid)
    return polydata(small.vertices, small.faces)
