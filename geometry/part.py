"""What a part is: pure data that a builder turns into a closed solid.

Lengths in mm, angles in rad. A `Spec` is written in the part's own frame: its axis is local z and its
lowest machined face lies at z = 0 (so that moving a part never changes its spec, and the cache holds).

Features (tuples, the first item names the kind); `add` features are united with the revolved loops, `cut`
features are taken away. Cutting tools overshoot the body by at least 1 mm.

    ("rod", (x, y, z), (x, y, z), r)                      solid cylinder between two points
    ("rods", count, pitch_radius, phase, z0, z1, r)       cylinders along z on a pitch circle
    ("box", (x0, y0, z0), (x1, y1, z1))                   axis-parallel block
    ("block", angle, (x0, y0, z0), (x1, y1, z1))          the same, turned about z by angle
    ("keyway", angle, floor, width, z0, z1, ends)         from radius `floor` outward past the body; ends "round" | "flat";
                                                          z0, z1 are the full length
    ("slots", count, phase, width, r0, r1, z0, z1)        radial slots on a circle
    ("hexagon", x, y, across_flats, z0, z1)               hexagonal prism, one corner on +x
    ("revolve", loop)                                     another body of revolution about local z
    ("balls", count, pitch_radius, phase, z, r)           a ring of balls
    ("rollers", count, pitch_radius, phase, z0, z1, r)    a ring of rollers
    ("tube", ((x, y, z), ...), r, closed)                 wire along points; closed = True joins the ends
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

Loop = tuple[tuple[float, float], ...]
Feature = tuple[Any, ...]
Matrix = NDArray[np.float64]
Role = Literal[
    "case", "cartridge", "pinion", "gear", "shaft", "ring", "rolling", "cage", "spacer", "seal", "gasket", "fastener", "tool"
]


@dataclass(frozen=True)
class Spec:
    """Shape and material of one part, hashable, in the part's own frame [mm, rad].

    `loops`: closed counter-clockwise (r, z) outlines, r >= 0, revolved about z. `special` names a builder of
    geometry.solid for shapes that are not a revolve with features; `args` are its arguments.
    """

    material: str
    loops: tuple[Loop, ...] = ()
    add: tuple[Feature, ...] = ()
    cut: tuple[Feature, ...] = ()
    special: str = ""
    args: tuple[tuple[str, Any], ...] = ()

    @cached_property
    def key(self) -> str:
        """Name of this shape in every cache: equal specs share it, any change of size gives another."""
        return hashlib.sha1(repr((self.material, self.loops, self.add, self.cut, self.special, self.args)).encode()).hexdigest()


@dataclass(frozen=True, eq=False)
class Part:
    """One named piece of the reducer: shape, role in the drawing, place when the job is done.

    `pose` is the 4x4 placement [mm] in the reducer's frame (crossing point, x out along the high-speed shaft,
    z up). `unlocked`: the shape it has until its lock is set (a tab washer with its tab still flat). `axis` is the direction in the reducer's frame along which the part is withdrawn. `host`: the
    part it rides on (key -> shaft). `unit`: the rolling bearing it belongs to. `wording`: key of its name.
    """

    name: str
    role: Role
    spec: Spec
    pose: Matrix
    bench: str
    wording: str
    number: int = 0
    axis: tuple[float, float, float] = (0.0, 0.0, 1.0)
    host: str = ""
    unit: str = ""
    tool: bool = False
    unlocked: Spec | None = None


@dataclass(frozen=True, eq=False)
class Solid:
    """A closed triangle mesh: vertices (n, 3) float64 [mm], faces (m, 3) int32, outward by the right-hand rule."""

    vertices: NDArray[np.float64]
    faces: NDArray[np.int32]
