"""Solids for the phone file: corners split at sharp edges, places rounded to 16 bits, equal bodies kept once.

mm, in the part's own frame. Pictures only: the rounding is at most 1/131070 of a body's largest side, no size is read back from it.

Layout of `packed`, little endian, for all bodies one after the other: places (int16, differences along x, then y, then z), normals
(int8, 127 = 1, x then y then z), triangles (uint32: how far below the next new corner each corner's number lies, the next new one is 0).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from geometry.part import Matrix, Solid

SHARP: Final = 30.0  # deg: an edge sharper than this is drawn sharp
SAME: Final = 1e-3  # mm: bodies that lie this close after a shift or a turn are drawn from one
LEVELS: Final = 65535
Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Body:
    """A drawable body: `places` 0 to 65535 on a grid of `step` [mm] from its corner `low` [mm], `normals` int8, `faces` into both."""

    low: Floats
    step: float
    places: NDArray[np.int64]
    normals: NDArray[np.int8]
    faces: NDArray[np.int64]


def body(solid: Solid) -> Body:
    """A solid rounded for drawing, corners split at sharp edges and numbered as the triangles meet them."""
    corner, normals = _split(solid)
    order, first = np.unique(corner, return_index=True)
    rank = np.empty(len(order), dtype=np.int64)
    rank[np.argsort(first)] = np.arange(len(order))
    numbered = rank[np.searchsorted(order, corner)]
    source = np.empty(len(order), dtype=np.int64)
    source[numbered] = np.arange(len(corner))
    vertices = solid.vertices[solid.faces.ravel()[source]]
    low = vertices.min(axis=0)
    step = float((vertices.max(axis=0) - low).max()) / LEVELS
    places = np.rint((vertices - low) / step).astype(np.int64)
    return Body(low, step, places, np.rint(127.0 * normals[source]).astype(np.int8), numbered.reshape(-1, 3))


def _split(solid: Solid) -> tuple[NDArray[np.int64], Floats]:
    """For each corner of each triangle: which corners it shares its normal with, and that normal (mean over the area)."""
    faces = solid.faces.astype(np.int64)
    count, size = len(faces), len(solid.vertices)
    a, b, c = (solid.vertices[faces[:, k]] for k in range(3))
    area = np.cross(b - a, c - a)
    flat = area / np.maximum(np.linalg.norm(area, axis=1, keepdims=True), 1e-300)
    start, end = faces.ravel(), faces[:, [1, 2, 0]].ravel()
    side = np.argsort(start * size + end)
    back = np.argsort(end * size + start)
    other = np.empty(3 * count, dtype=np.int64)
    other[side] = back  # a closed solid has every edge once each way
    face = np.arange(3 * count) // 3
    smooth = np.flatnonzero(np.einsum("ij,ij->i", flat[face], flat[face[other]]) >= np.cos(np.radians(SHARP)))
    # the edge of corner i runs from i to the next corner of its triangle; its twin runs back
    after = 3 * face + (np.arange(3 * count) + 1 - 3 * face) % 3
    rows = np.concatenate([smooth, after[smooth]])
    columns = np.concatenate([after[other[smooth]], other[smooth]])
    _, corner = connected_components(
        coo_array((np.ones(len(rows), np.int8), (rows, columns)), shape=(3 * count,) * 2), directed=False
    )
    total = np.zeros((int(corner.max()) + 1, 3))
    for k in range(3):
        total[:, k] = np.bincount(corner, weights=np.repeat(area[:, k], 3), minlength=len(total))
    total /= np.maximum(np.linalg.norm(total, axis=1, keepdims=True), 1e-300)
    return corner.astype(np.int64), total[corner]


def separate(solid: Solid) -> list[tuple[Solid, list[Matrix]]]:
    """The bodies of a solid, equal ones once with the poses [mm] at which they lie (by a shift, or a turn about z)."""
    faces, size = solid.faces, len(solid.vertices)
    link = coo_array((np.ones(2 * len(faces), np.int8), (faces[:, [0, 1]].ravel(), faces[:, [1, 2]].ravel())), shape=(size, size))
    count, number = connected_components(link, directed=False)
    found: list[tuple[Solid, list[Matrix]]] = []
    for index in range(count):
        used, triangles = np.unique(faces[number[faces[:, 0]] == index], return_inverse=True)
        one = Solid(solid.vertices[used], triangles.reshape(-1, 3).astype(np.int32))
        for known, poses in found:
            pose = _pose(known, one)
            if pose is not None:
                poses.append(pose)
                break
        else:
            found.append((one, [np.eye(4)]))
    return found


def _pose(known: Solid, other: Solid) -> Matrix | None:
    """The shift or the turn about z that lays one body on the other [mm], or None."""
    if len(known.vertices) != len(other.vertices) or len(known.faces) != len(other.faces):
        return None
    here, there = known.vertices.mean(axis=0), other.vertices.mean(axis=0)
    tree = cKDTree(other.vertices)
    shift, turn = np.eye(4), np.eye(4)
    shift[:3, 3] = there - here
    angle = np.arctan2(there[1], there[0]) - np.arctan2(here[1], here[0])
    turn[:2, :2] = [[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]]
    for pose in (shift, turn):
        away, hit = tree.query(known.vertices @ pose[:3, :3].T + pose[:3, 3])
        if away.max() < SAME and len(np.unique(hit)) == len(hit):
            return pose
    return None


def packed(bodies: Iterable[Body]) -> tuple[list[list[float]], bytes]:
    """For each body (corners, triangles, low x, y, z, step), and all their arrays in one run of bytes as the module says."""
    heads, places, normals, faces = [], [], [], []
    for one in bodies:
        heads.append([len(one.places), len(one.faces), *(round(float(v), 6) for v in one.low), float(f"{one.step:.10g}")])
        places.append(np.diff(one.places.T, axis=1, prepend=0).astype("<u2").tobytes())
        normals.append(one.normals.T.tobytes())
        corner = one.faces.ravel()
        newest = np.maximum.accumulate(np.concatenate([[-1], corner[:-1]])) + 1
        faces.append((newest - corner).astype("<u4").tobytes())
    joined = b"".join(places)
    return heads, joined + b"\0" * (-len(joined) % 4) + _padded(b"".join(normals)) + b"".join(faces)


def _padded(data: bytes) -> bytes:
    return data + b"\0" * (-len(data) % 4)
