"""The bodies that a case half is put together from: shell, flange, bosses, ribs, feet, lugs, and the tools that machine them [mm].

Heights are given away from the split face; `Box.side` (+1 upper, -1 lower) turns them into z.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, pi, sin

import numpy as np
from manifold3d import Manifold
from numpy.typing import NDArray

from geometry import features
from geometry.features import Point

PAST = 2.0
"""Overshoot of tools [mm]."""
EDGE = 6.0
"""Chamfer of the raw outer edges, and of the chamber's [mm], derived."""


def upright(x: float, y: float, radius: float, low: float, high: float, sides: int) -> Manifold:
    """Cylinder along z between two heights [mm]."""
    return Manifold.cylinder(high - low, radius, radius, sides).translate((x, y, low))


def along_x(radius: float, low: float, high: float, sides: int) -> Manifold:
    """Cylinder about the high-speed axis, its first vertex upward [mm]."""
    turn = np.array([[0.0, 0.0, 1.0, low], [0.0, -1.0, 0.0, 0.0], [1.0, 0.0, 0.0, 0.0]])
    return Manifold.cylinder(high - low, radius, radius, sides).transform(turn)


def hull(*outlines: tuple[NDArray[np.float64], float]) -> Manifold:
    """Convex body around flat outlines (n, 2), each at its height [mm]."""
    points = [np.column_stack([outline, np.full(len(outline), height)]) for outline, height in outlines]
    return Manifold.hull_points(np.vstack(points))


def wedge(points: Sequence[Point]) -> Manifold:
    """Convex body of its corner points [mm]."""
    return Manifold.hull_points(np.array(points, dtype=float))


def end_taps(circle: tuple[int, float, float, float, float], end_face: float, n: int) -> list[Manifold]:
    """Tapped holes in the machined end of the horizontal boss, angle 0 along +z, turning toward -y [mm, rad]."""
    count, diameter, first, tap, depth = circle
    tools = []
    for index in range(count):
        angle = first + 2.0 * pi * index / count
        y, z = -diameter / 2.0 * sin(angle), diameter / 2.0 * cos(angle)
        tools.append(along_x(tap / 2.0, end_face - depth, end_face + PAST, features.hole_segments(n)).translate((0.0, y, z)))
    return tools


def gallery_tools(gallery: tuple[float, float, float], end_face: float, top: float, bore_radius: float, n: int) -> list[Manifold]:
    """Oil gallery from the top of the boss: to the port drilled from the end face, or straight into the bore [mm]."""
    x, diameter, port = gallery
    sides = features.hole_segments(n)
    low = port if port > 0.0 else 0.8 * bore_radius
    tools = [upright(x, 0.0, diameter / 2.0, low, top + PAST, sides)]
    if port > 0.0:
        tools.append(along_x(diameter / 2.0, x - diameter / 4.0, end_face + PAST, sides).translate((0.0, 0.0, port)))
    return tools


@dataclass(frozen=True)
class Box:
    """Sizes that all bodies of a half share; `depth`: split face to the raw outside of roof or floor [mm]."""

    n: int
    side: float
    minus_x: float
    plus_x: float
    half_width: float
    wall: float
    corner: float
    depth: float

    @property
    def sides(self) -> int:
        return features.hole_segments(self.n)

    @property
    def outer(self) -> float:
        """Outside of the long walls, +-y [mm]."""
        return self.half_width + self.wall

    def _plan(self, grow: float, radius: float) -> NDArray[np.float64]:
        low, high = (-self.minus_x - grow, -self.half_width - grow), (self.plus_x + grow, self.half_width + grow)
        return features.rounded_rectangle(low, high, max(radius, 1.0), self.sides * 2)

    def _span(self, near: float, far: float) -> tuple[float, float]:
        """Heights from the split face as rising z."""
        return (self.side * near, self.side * far) if self.side > 0.0 else (self.side * far, self.side * near)

    def shell(self) -> Manifold:
        """Outside of walls and roof or floor, raw edges chamfered."""
        full, less = self._plan(self.wall, self.corner), self._plan(self.wall - EDGE, self.corner - EDGE)
        return hull((full, 0.0), (full, self.side * (self.depth - EDGE)), (less, self.side * self.depth))

    def chamber(self) -> Manifold:
        """The hollow, open at the split."""
        radius = self.corner - self.wall
        full, less = self._plan(0.0, radius), self._plan(-EDGE, radius - EDGE)
        bottom = self.depth - self.wall
        return hull((full, -self.side * PAST), (full, self.side * (bottom - EDGE)), (less, self.side * bottom))

    def flange(self, width: float, thickness: float) -> list[Manifold]:
        """Split flange around the walls."""
        outline = self._plan(self.wall + width, self.corner + width)
        return [features.prism(outline, *self._span(0.0, thickness))]

    def end_boss(self, radius: float, end_face: float, width: float, thickness: float, circle: float) -> list[Manifold]:
        """Boss about the high-speed axis out to the machined end face, its flange wings and the web under or over it."""
        start = self.plus_x + self.wall / 2.0
        wing = radius + width
        bodies = [along_x(radius, start, end_face, self.n)]
        outline = np.array(
            [
                (start, -wing),
                (end_face - EDGE, -wing),
                (end_face, -wing + EDGE),
                (end_face, wing - EDGE),
                (end_face - EDGE, wing),
                (start, wing),
            ]
        )
        bodies.append(features.prism(outline, *self._span(0.0, thickness)))
        if self.depth > radius + 2.0 * self.wall:
            half, root = self.wall / 2.0, self.side * (self.depth - EDGE)
            z = self.side * radius * 0.9
            corners = [(start, y, height) for y in (-half, half) for height in (z, root)]
            corners += [
                (x, y, height)
                for y in (-half, half)
                for x, height in ((end_face - 2.0 * EDGE, z), (self.plus_x + self.wall + EDGE / 2.0, root))
            ]
            bodies.append(wedge(corners))
        return bodies

    def screw_bosses(self, places: Sequence[tuple[float, float]], radius: float, height: float, thickness: float) -> list[Manifold]:
        """Bosses of the split screws, when they stand out of the flange."""
        if height <= thickness:
            return []
        return [upright(x, y, radius, *self._span(thickness / 2.0, height), self.sides * 2) for x, y in places]

    def ribs(
        self,
        places: Sequence[tuple[float, float]],
        width: float,
        thickness: float,
        pad: tuple[float, ...] | None,
        dowels: Sequence[tuple[float, float]],
    ) -> list[Manifold]:
        """Stiffening ribs between the split screws on the long walls, tapering away from the flange; none over a dowel."""
        half, foot = 0.35 * self.wall, 0.55 * width
        bodies = []
        for side in (1.0, -1.0):
            row = sorted(x for x, y in places if y * side > self.outer)
            for left, right in zip(row, row[1:], strict=False):
                x = (left + right) / 2.0
                if side < 0.0 and pad is not None and abs(x - pad[0]) < pad[2] / 2.0 + 2.0 * half:
                    continue
                if any(y * side > 0.0 and abs(x - at) < 3.0 * half for at, y in dowels):
                    continue
                far = self.side * (self.depth - EDGE)
                near = self.side * thickness / 2.0
                corners = [
                    (x + dx, side * y, z)
                    for dx in (-half, half)
                    for y, z in (
                        (self.outer - self.wall / 2.0, near),
                        (self.outer + foot, near),
                        (self.outer + 0.25 * foot, far),
                        (self.outer - self.wall / 2.0, far),
                    )
                ]
                bodies.append(wedge(corners))
        return bodies

    def _lug_places(self) -> tuple[float, float]:
        return -self.minus_x + self.corner * 0.6, self.plus_x - self.corner * 0.6

    def _lug_size(self, hole: float) -> tuple[float, float, float, float]:
        """Radius and thickness of the lug's eye, its distance from the middle plane and height above the split [mm].

        The eye stands on the roof's edge, inside the wall's outline: over the flange it would stand in the way of screws and dowels.
        """
        radius = 1.1 * hole
        return radius, max(0.9 * self.wall, 0.45 * hole), self.outer - radius, self.depth + 0.8 * radius

    def lugs(self, hole: float) -> list[Manifold]:
        """Four lifting lugs on the long edges of the upper half's roof, eyes along x."""
        radius, thick, across, height = self._lug_size(hole)
        bodies = []
        for x in self._lug_places():
            for side in (1.0, -1.0):
                y = side * across
                eye = features.rod((x - thick / 2.0, y, height), (x + thick / 2.0, y, height), radius, self.sides * 2)
                root = features.block(
                    (x - thick / 2.0, y - radius, self.depth - EDGE), (x + thick / 2.0, y + radius, self.depth + 0.1 * radius)
                )
                bodies.append(Manifold.batch_hull([eye, root]))
        return bodies

    def lug_tools(self, hole: float) -> list[Manifold]:
        """Holes of the lifting lugs."""
        _, thick, across, height = self._lug_size(hole)
        return [
            features.rod(
                (x - thick / 2.0 - PAST, side * across, height),
                (x + thick / 2.0 + PAST, side * across, height),
                hole / 2.0,
                self.sides,
            )
            for x in self._lug_places()
            for side in (1.0, -1.0)
        ]

    def _foot_places(self) -> list[tuple[float, float]]:
        reach = self.corner * 0.5 + self.wall
        return [(x, side) for x in (-self.minus_x - self.wall + reach, self.plus_x + self.wall - reach) for side in (1.0, -1.0)]

    def _foot(self, height: float, hole: float) -> tuple[float, float, float]:
        """Half length along x, reach past the wall, plate thickness of a foot [mm]."""
        half = max(1.6 * hole, self.corner * 0.5 + self.wall)
        return half, max(2.6 * hole, 2.0 * self.wall), min(1.5 * self.wall, 0.45 * height)

    def feet(self, height: float, hole: float) -> list[Manifold]:
        """Four feet below the floor: a plate on the ground and a tapered leg up to the wall."""
        half, reach, plate = self._foot(height, hole)
        ground = -(self.depth + height)
        bodies = []
        for x, side in self._foot_places():
            inner, outside = side * (self.outer - 2.5 * self.wall), side * (self.outer + reach)
            low, high = min(inner, outside), max(inner, outside)
            base = features.rounded_rectangle((x - half, low), (x + half, high), min(EDGE, half / 2.0), self.sides)
            bodies.append(features.prism(base, ground, ground + plate))
            leg = [
                (x + dx, side * y, ground + plate / 2.0)
                for dx in (-0.8 * half, 0.8 * half)
                for y in (self.outer - 2.2 * self.wall, self.outer + 0.2 * self.wall)
            ]
            leg += [
                (x + dx, side * y, -(self.depth - self.wall / 2.0))
                for dx in (-0.6 * half, 0.6 * half)
                for y in (self.outer - 1.8 * self.wall, self.outer - EDGE)
            ]
            bodies.append(wedge(leg))
            web = [
                (x + dx, side * y, z)
                for dx in (-0.35 * self.wall, 0.35 * self.wall)
                for y, z in (
                    (self.outer - self.wall, ground + plate / 2.0),
                    (self.outer + 0.9 * reach, ground + plate),
                    (self.outer + 0.9 * reach, ground + plate / 2.0),
                    (self.outer, -(self.depth - 2.0 * self.wall)),
                    (self.outer - self.wall, -(self.depth - 2.0 * self.wall)),
                )
            ]
            bodies.append(wedge(web))
        return bodies

    def foot_tools(self, height: float, hole: float) -> list[Manifold]:
        """Two bolt holes in each foot, either side of its web."""
        half, reach, plate = self._foot(height, hole)
        if hole <= 0.0:
            return []
        ground = -(self.depth + height)
        return [
            upright(x + dx, side * (self.outer + 0.6 * reach), hole / 2.0, ground - PAST, ground + plate + PAST, self.sides)
            for x, side in self._foot_places()
            for dx in (-0.55 * half, 0.55 * half)
        ]

    def _outward(
        self, ports: Sequence[tuple[Point, Point, float, float, float]]
    ) -> list[tuple[NDArray[np.float64], NDArray[np.float64], float, float, float]]:
        return [
            (np.array(face, dtype=float), np.array(way, dtype=float) / np.linalg.norm(way), tap, boss, deep)
            for face, way, tap, boss, deep in ports
        ]

    def port_bosses(self, ports: Sequence[tuple[Point, Point, float, float, float]]) -> list[Manifold]:
        """Bosses of plug and breather holes, from their machined face to inside the wall."""
        return [
            features.rod((face - way * (deep - self.wall / 4.0)).tolist(), face.tolist(), boss, self.sides * 2)
            for face, way, _, boss, deep in self._outward(ports)
        ]

    def port_tools(self, ports: Sequence[tuple[Point, Point, float, float, float]]) -> list[Manifold]:
        """Holes of plugs and breather through to the chamber."""
        return [
            features.rod((face - way * (deep + PAST)).tolist(), (face + way * PAST).tolist(), tap / 2.0, self.sides)
            for face, way, tap, _, deep in self._outward(ports)
        ]

    def _on_wall(self, outline: NDArray[np.float64], near: float, far: float) -> Manifold:
        """An (x, z) outline drawn along -y between two distances from the middle plane [mm]."""
        upright_frame = np.array([[1.0, 0.0, 0.0, 0.0], [0.0, 0.0, -1.0, 0.0], [0.0, 1.0, 0.0, 0.0]])
        return features.prism(outline, near, far).transform(upright_frame)

    def _window(self, x: float, z: float, length: float, height: float) -> NDArray[np.float64]:
        radius = 0.12 * min(length, height)
        return features.rounded_rectangle(
            (x - length / 2.0, z - height / 2.0), (x + length / 2.0, z + height / 2.0), radius, self.sides
        )

    def side_pad(self, x: float, z: float, pad: tuple[float, float, float]) -> Manifold:
        """Machined pad of the inspection opening on the -y wall."""
        return self._on_wall(self._window(x, z, pad[0], pad[1]), self.outer - self.wall / 2.0, self.outer + pad[2])

    def opening_tools(
        self,
        opening: tuple[float, float, float, float],
        rise: float,
        screws: Sequence[tuple[float, float]],
        tap: tuple[float, float],
    ) -> list[Manifold]:
        """The inspection opening, level through the chamber's chamfered edge, and its tapped holes."""
        face = self.outer + rise
        tools = [self._on_wall(self._window(*opening), self.half_width - EDGE, face + PAST)]
        tools += [
            self._on_wall(features.circle(tap[0] / 2.0, self.sides) + np.array([x, z]), face - tap[1], face + PAST)
            for x, z in screws
        ]
        return tools

    def vertical_boss(self, height: float, radius: float, tap_depth: float, rise: float) -> Manifold:
        """Metal around the vertical bore: pad on the floor and below it (lower), under the roof (upper), deep enough for the
        tapped holes."""
        least = max(self.wall + rise, tap_depth + EDGE)
        if self.side > 0.0:
            return upright(0.0, 0.0, radius, height - least, height - rise / 2.0, self.n)
        return upright(0.0, 0.0, radius, -(height + least), -height, self.n)

    def vertical_tools(self, height: float, bore: float, circle: tuple[int, float, float, float, float]) -> list[Manifold]:
        """Vertical bore and the tapped holes in its pad."""
        count, diameter, first, tap, depth = circle
        reach = depth + 4.0 * self.wall
        tools = [
            upright(
                0.0,
                0.0,
                bore / 2.0,
                self.side * height - reach,
                self.side * height + (PAST if self.side > 0.0 else 0.5 * height),
                self.n,
            )
        ]
        face = self.side * height
        for index in range(count):
            angle = first + 2.0 * pi * index / count
            tools.append(
                upright(diameter / 2.0 * cos(angle), diameter / 2.0 * sin(angle), tap / 2.0, face - depth, face + PAST, self.sides)
            )
        return tools

    def split_tools(
        self,
        places: Sequence[tuple[float, float]],
        sizes: tuple[float, float, float, float, float],
        dowels: Sequence[tuple[float, float]],
        dowel: float,
        thickness: float,
    ) -> list[Manifold]:
        """Holes of the split: through with a spot face in the upper half, tapped in the lower; dowel holes through both flanges."""
        hole, tap, tap_depth, seat, spot = sizes
        tools = [upright(x, y, dowel / 2.0, *self._span(-PAST, thickness + PAST), self.sides) for x, y in dowels]
        for x, y in places:
            if self.side > 0.0:
                tools += [
                    upright(x, y, hole / 2.0, -PAST, seat + PAST, self.sides),
                    upright(x, y, spot / 2.0, seat, seat + EDGE, self.sides),
                ]
            else:
                tools.append(upright(x, y, tap / 2.0, -tap_depth, PAST, self.sides))
        return tools

    def beyond_split(self, reach: float) -> Manifold:
        """Everything on the other side of the split face."""
        far = 2.0 * (reach + self.minus_x + self.half_width + self.wall)
        return features.block((-far, -far, min(0.0, -self.side * far)), (far, far, max(0.0, -self.side * far)))

    def beyond_end(self, end_face: float) -> Manifold:
        """Everything past the machined end face: boss and split flange end there together."""
        far = 4.0 * (end_face + self.half_width + self.depth)
        return features.block((end_face, -far, -far), (end_face + far, far, far))
