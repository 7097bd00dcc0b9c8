"""Tools of the solid builder: every feature of a Spec as a closed body, double precision, in the part's own frame [mm, rad].

Circles carry their vertices exactly on the nominal radius, the first one at angle 0, so that bodies on one axis share their facets.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import cos, pi, sin, sqrt
from typing import Any

import manifold3d
import numpy as np
from manifold3d import CrossSection, Manifold, Mesh64, OpType
from numpy.typing import NDArray

from geometry.part import Feature, Loop, Matrix, Solid

Point = Sequence[float]

MARGIN = 1.0
"""How far an outward tool reaches past the body [mm]."""
ON_AXIS = 1e-9
"""Distance from the part's axis below which a rod is turned with the part itself [mm]."""


def hole_segments(n: int) -> int:
    """Sides of a hole when the main circle has n: a quarter, at least 12, a multiple of 4."""
    return max(12, n // 16 * 4)


def element_segments(n: int) -> int:
    """Sides of a ball or a roller when the main circle has n: three eighths, at least 12, a multiple of 4."""
    return max(12, n * 3 // 32 * 4)


def wire_segments(n: int) -> int:
    """Sides of a wire when the main circle has n: three thirty-seconds, at least 6."""
    return max(6, n * 3 // 32)


def circle(radius: float, n: int, phase: float = 0.0) -> NDArray[np.float64]:
    """Corner points (n, 2) of a circle, counter-clockwise from `phase` [mm, rad]."""
    angles = phase + 2.0 * pi * np.arange(n) / n
    return np.column_stack([radius * np.cos(angles), radius * np.sin(angles)])


def polygon(outlines: Sequence[NDArray[np.float64]]) -> CrossSection:
    """Flat shape from closed outlines: counter-clockwise material, clockwise openings [mm]."""
    return CrossSection([np.ascontiguousarray(item, dtype=float) for item in outlines])


def prism(outline: NDArray[np.float64], low: float, high: float) -> Manifold:
    """An outline (n, 2) in x, y drawn from z = low to high [mm]."""
    return polygon([outline]).extrude(high - low).translate((0.0, 0.0, low))


def block(low: Point, high: Point) -> Manifold:
    """Axis-parallel block between two corners [mm]."""
    size = [high[i] - low[i] for i in range(3)]
    return Manifold.cube((size[0], size[1], size[2])).translate((low[0], low[1], low[2]))


def revolve(loops: Sequence[Loop], n: int) -> Manifold:
    """Body of revolution of (r, z) loops about z with n sides [mm]. Raises ValueError for a loop that runs clockwise or crosses
    the axis."""
    for loop in loops:
        pairs = zip(loop, (*loop[1:], loop[0]), strict=True)
        if sum(r * after[1] - after[0] * z for (r, z), after in pairs) <= 0.0 or min(r for r, _ in loop) < 0.0:
            raise ValueError(f"loop {loop[:3]} ...: accepted: counter-clockwise in (r, z), r not below 0")
    return CrossSection([np.array(loop, dtype=float) for loop in loops]).revolve(n)


def axes_along(direction: NDArray[np.float64]) -> Matrix:
    """Right-handed unit axes (columns) whose third is `direction`; an axis-parallel direction gives axis-parallel columns."""
    third = direction / np.linalg.norm(direction)
    beside = np.eye(3)[int(np.argmin(np.abs(third)))] if abs(third[2]) < 1.0 - 1e-12 else np.array([0.0, 1.0, 0.0])
    first = np.cross(beside, third)
    first /= np.linalg.norm(first)
    return np.column_stack([first, np.cross(third, first), third])


def rod(start: Point, end: Point, radius: float, sides: int) -> Manifold:
    """Solid cylinder between two points, its vertices on `radius` [mm]."""
    a, b = np.array(start, dtype=float), np.array(end, dtype=float)
    matrix = np.column_stack([axes_along(b - a), a])
    return Manifold.cylinder(float(np.linalg.norm(b - a)), radius, radius, sides).transform(matrix)


def stadium(half_width: float, low: float, high: float, sides: int) -> NDArray[np.float64]:
    """Outline of a round-ended slot along the second coordinate, its full length from low to high [mm]."""
    half = np.linspace(0.0, pi, sides // 2 + 1)
    upper = np.column_stack([half_width * np.cos(half), high - half_width + half_width * np.sin(half)])
    lower = np.column_stack([-half_width * np.cos(half), low + half_width - half_width * np.sin(half)])
    return np.vstack([upper, lower])


def rounded_rectangle(low: tuple[float, float], high: tuple[float, float], radius: float, sides: int) -> NDArray[np.float64]:
    """Outline of a rectangle with rounded corners, counter-clockwise; `sides`: of a whole corner circle [mm]."""
    quarter = np.linspace(0.0, pi / 2.0, sides // 4 + 1)
    corners = [
        (high[0] - radius, low[1] + radius),
        (high[0] - radius, high[1] - radius),
        (low[0] + radius, high[1] - radius),
        (low[0] + radius, low[1] + radius),
    ]
    arcs = [
        np.column_stack([x + radius * np.cos(quarter + turn), y + radius * np.sin(quarter + turn)])
        for (x, y), turn in zip(corners, (-pi / 2.0, 0.0, pi / 2.0, pi), strict=True)
    ]
    return np.vstack(arcs)


def tube(points: Sequence[Point], radius: float, closed: bool, sides: int) -> Manifold:
    """Wire along points with mitred corners; closed joins the ends. Volume = section times length of the middle line [mm]."""
    path = np.array(points, dtype=float)
    legs = np.diff(np.vstack([path, path[:1]]) if closed else path, axis=0)
    legs /= np.linalg.norm(legs, axis=1)[:, None]
    ring = circle(1.0, sides)
    first = axes_along(legs[0])[:, 0]
    rings = []
    before = legs[-1] if closed else legs[0]
    for index in range(len(path)):
        after = legs[index] if index < len(legs) else legs[-1]
        first = first - before * (first @ before)
        first /= np.linalg.norm(first)
        second = np.cross(before, first)
        section = radius * (ring[:, :1] * first + ring[:, 1:] * second)
        plane = before + after
        section -= np.outer(section @ plane / (before @ plane), before)
        rings.append(path[index] + section)
        first = first - plane * (2.0 * (first @ plane) / (plane @ plane))
        before = after
    vertices = np.vstack(rings)
    count, around = len(rings), np.arange(sides)
    nxt = (around + 1) % sides
    shift = _closing_shift(rings, legs[-1]) if closed else 0
    faces = []
    for index in range(count if closed else count - 1):
        last = index == count - 1
        a, b = index * sides + around, index * sides + nxt
        target = 0 if last else (index + 1) * sides
        offset = shift if last else 0
        c, d = target + (around + offset) % sides, target + (nxt + offset) % sides
        faces += [np.column_stack([a, b, d]), np.column_stack([a, d, c])]
    if not closed:
        fan = np.arange(1, sides - 1)
        end = (count - 1) * sides
        faces += [np.column_stack([0 * fan, fan + 1, fan]), np.column_stack([end + 0 * fan, end + fan, end + fan + 1])]
    return from_mesh(vertices, np.vstack(faces))


def _closing_shift(rings: list[NDArray[np.float64]], along: NDArray[np.float64]) -> int:
    """Index of the first ring's vertex that meets vertex 0 of the last ring when a wire is closed."""
    offsets = rings[0] - rings[-1][0]
    offsets = offsets - np.outer(offsets @ along, along)
    return int(np.argmin(np.einsum("ij,ij->i", offsets, offsets)))


def from_mesh(vertices: NDArray[np.float64], faces: NDArray[Any]) -> Manifold:
    """Body from a closed triangle mesh [mm]."""
    return Manifold(Mesh64(np.ascontiguousarray(vertices, dtype=float), np.ascontiguousarray(faces, dtype=np.uint64)))


def to_solid(body: Manifold) -> Solid:
    """Evaluate a body and hand over its mesh [mm]. Raises ValueError when it is empty or broken."""
    if body.status() != manifold3d.Error.NoError:
        raise ValueError(f"the body is broken ({body.status().name}): accepted: outlines and features that make a closed body")
    if body.num_tri() == 0:
        raise ValueError("the body is empty: accepted: cuts that leave something")
    mesh = body.to_mesh64()
    vertices = np.array(mesh.vert_properties[:, :3], dtype=float)
    faces = np.array(mesh.tri_verts, dtype=np.int64)
    if len(mesh.merge_from_vert):
        alias = np.arange(len(vertices))
        alias[np.asarray(mesh.merge_from_vert, dtype=np.int64)] = np.asarray(mesh.merge_to_vert, dtype=np.int64)
        used, faces = np.unique(alias[faces], return_inverse=True)
        vertices, faces = vertices[used], faces.reshape(-1, 3)
    return Solid(vertices, faces.astype(np.int32))


def from_solid(solid: Solid) -> Manifold:
    """Body from a Solid [mm]."""
    return from_mesh(solid.vertices, solid.faces)


def _on_circle(tool: Manifold, count: int, radius: float, phase: float) -> list[Manifold]:
    angles = [phase + 2.0 * pi * index / count for index in range(count)]
    return [tool.translate((radius * cos(angle), radius * sin(angle), 0.0)) for angle in angles]


def _turned(tool: Manifold, angle: float) -> Manifold:
    cosine, sine = cos(angle), sin(angle)
    return tool.transform(np.array([[cosine, -sine, 0.0, 0.0], [sine, cosine, 0.0, 0.0], [0.0, 0.0, 1.0, 0.0]]))


def _rod(n: int, reach: float, start: Point, end: Point, radius: float) -> list[Manifold]:
    on_axis = max(abs(start[0]), abs(start[1]), abs(end[0]), abs(end[1])) < ON_AXIS
    return [rod(start, end, radius, n if on_axis else hole_segments(n))]


def _rods(
    n: int, reach: float, count: int, circle_radius: float, phase: float, low: float, high: float, radius: float
) -> list[Manifold]:
    tool = Manifold.cylinder(high - low, radius, radius, hole_segments(n)).translate((0.0, 0.0, low))
    return _on_circle(tool, count, circle_radius, phase)


def _box(n: int, reach: float, low: Point, high: Point) -> list[Manifold]:
    return [block(low, high)]


def _block(n: int, reach: float, angle: float, low: Point, high: Point) -> list[Manifold]:
    return [_turned(block(low, high), angle)]


def _keyway(n: int, reach: float, angle: float, floor: float, width: float, low: float, high: float, ends: str) -> list[Manifold]:
    depth = max(reach - floor, 0.0) + MARGIN
    if ends == "flat":
        return [_turned(block((floor, -width / 2.0, low), (floor + depth, width / 2.0, high)), angle)]
    if ends != "round":
        raise ValueError(f'keyway ends = {ends!r}: accepted: "round" or "flat"')
    tool = prism(stadium(width / 2.0, low, high, hole_segments(n)), 0.0, depth)
    upright = np.array([[0.0, 0.0, 1.0, floor], [1.0, 0.0, 0.0, 0.0], [0.0, 1.0, 0.0, 0.0]])
    return [_turned(tool.transform(upright), angle)]


def _slots(
    n: int, reach: float, count: int, phase: float, width: float, inner: float, outer: float, low: float, high: float
) -> list[Manifold]:
    tool = block((inner, -width / 2.0, low), (outer, width / 2.0, high))
    return [_turned(tool, phase + 2.0 * pi * index / count) for index in range(count)]


def _hexagon(n: int, reach: float, x: float, y: float, across: float, low: float, high: float) -> list[Manifold]:
    return [prism(circle(across / sqrt(3.0), 6) + np.array([x, y]), low, high)]


def _revolve(n: int, reach: float, loop: Loop) -> list[Manifold]:
    return [revolve([loop], n)]


def _balls(n: int, reach: float, count: int, circle_radius: float, phase: float, height: float, radius: float) -> list[Manifold]:
    ball = Manifold.sphere(radius, element_segments(n)).translate((0.0, 0.0, height))
    return _on_circle(ball, count, circle_radius, phase)


def _rollers(
    n: int, reach: float, count: int, circle_radius: float, phase: float, low: float, high: float, radius: float
) -> list[Manifold]:
    roller = Manifold.cylinder(high - low, radius, radius, element_segments(n)).translate((0.0, 0.0, low))
    return _on_circle(roller, count, circle_radius, phase)


def _tube(n: int, reach: float, points: Sequence[Point], radius: float, closed: bool) -> list[Manifold]:
    return [tube(points, radius, closed, wire_segments(n))]


TOOLS: dict[str, Callable[..., list[Manifold]]] = {
    "rod": _rod, "rods": _rods, "box": _box, "block": _block, "keyway": _keyway, "slots": _slots, "hexagon": _hexagon,
    "revolve": _revolve, "balls": _balls, "rollers": _rollers, "tube": _tube,
}  # fmt: skip
"""Feature name -> maker of its bodies; arguments: n, reach of the body [mm], then the feature's own items."""


def bodies_of(feature: Feature, n: int, reach: float) -> list[Manifold]:
    """Closed bodies of one feature; `reach`: farthest radius of the part it works on [mm]."""
    if feature[0] not in TOOLS:
        raise ValueError(f"feature {feature[0]!r} is unknown: accepted: {', '.join(TOOLS)}")
    return TOOLS[feature[0]](n, reach, *feature[1:])


def shaped(start: Sequence[Manifold], add: Sequence[Feature], cut: Sequence[Feature], n: int) -> Manifold:
    """Unite bodies and `add` features, then take all `cut` features away in one operation."""
    parts = [*start, *(body for feature in add for body in bodies_of(feature, n, 0.0))]
    body = parts[0] if len(parts) == 1 else Manifold.batch_boolean(parts, OpType.Add)
    if not cut:
        return body
    box = body.bounding_box()
    reach = float(np.hypot(max(abs(box[0]), abs(box[3])), max(abs(box[1]), abs(box[4]))))
    tools = [tool for feature in cut for tool in bodies_of(feature, n, reach)]
    return Manifold.batch_boolean([body, *tools], OpType.Subtract)
