"""Closed solids of the pinion and the gear with their teeth, and how they stand in mesh [mm, rad].

A solid is written in its member's own frame: apex at the origin, +z along the axis from the apex to the body of the gear, one tooth
centred on azimuth 0 at mid-face. `pinion_pose` and `gear_pose` place it in the reducer's frame (crossing point, x out along the
high-speed shaft, z up). Flanks are drawn without ease-off: it is a few micrometres.

Every ring of points runs once round the axis with the same number of points; neighbours are joined by quads, and the last body ring
joins the first tooth ring again, so a bored member is a torus by construction.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from calc.bevel import GEAR, PINION, Blank, BlankRefused
from calc.flank import Errors, closing_rotations, half_thickness, section, trace_azimuth
from geometry.part import Matrix, Solid
from geometry.solid import special

Array = NDArray[np.float64]
Outline = tuple[tuple[float, float], ...]
Member = Literal["pinion", "gear"]
INDEX: dict[Member, int] = {"pinion": PINION, "gear": GEAR}

FILLET_PER_CLEARANCE = 1.6
FILLET_PER_DEPTH = 0.45
FILLET_PER_ROOT_SPACE = 0.85
"""Root fillet of the drawn tooth: height up to 1.6 clearances and 0.45 depths, width up to 0.85 of half the space; own choice."""
RIM_STEP = 0.02
"""First body ring below the root line, in outer modules: keeps the end faces of the teeth on their cones."""
LARGEST_TURN = 0.08
"""Greatest turn between two body rings on an end face [rad]."""
NARROWEST_TIP = 0.05
"""Least half width of a tooth tip, in mean normal modules: below it the tooth is pointed."""


@dataclass(frozen=True)
class Facets:
    """Fineness of the drawn teeth: points up one flank, points round one fillet, rings from toe to heel."""

    flank: int = 6
    fillet: int = 3
    stations: int = 9

    def __post_init__(self) -> None:
        if self.flank < 2 or self.fillet < 1 or self.stations < 2:
            raise ValueError(f"facets: {self}: accepted: flank 2, fillet 1, stations 2 or more")

    @property
    def per_tooth(self) -> int:
        """Points of one ring in one pitch."""
        return 2 + 2 * (self.flank + self.fillet)


DISPLAY = Facets()
"""Fineness for pictures: about 55 000 triangles for a 15/46 pair."""
COARSE = Facets(flank=3, fillet=1, stations=4)
"""Fineness for proofs of the order and for phones."""


def toe_root_diameter(blank: Blank, member: Member) -> float:
    """Diameter of the root circle at the toe [mm]: what the metal over the keyway is measured from."""
    i = INDEX[member]
    return 2.0 * blank.axial_point(i, blank.cones.inner, blank.root_height(i, blank.cones.inner))[0]


def root_wall(blank: Blank, member: Member, keyway_floor: float) -> float:
    """Metal left between the keyway's floor, a radius from the axis [mm], and the root at the toe [mm]; negative: cut through."""
    return toe_root_diameter(blank, member) / 2.0 - keyway_floor


def body_outline(
    blank: Blank, member: Member, *, bore_radius: float, back: float, front: float, back_hub_radius: float, front_hub_radius: float,
    rim: float | None = None,
) -> Outline:  # fmt: skip
    """Body of a member from heel root to toe root: rim down the back cone, hub, back face, bore, front face, hub [mm].

    `back`, `front`: distances of the two faces from the apex along the axis; `rim`: metal below the heel root down the back cone
    (derived: one mean working depth and clearance, not past the hub, not past the back face, which else would stand in a cup).
    """
    i = INDEX[member]
    cones = blank.cones
    depth = rim if rim is not None else blank.mean_working_depth + blank.clearance
    heel_root = blank.root_diameters[i] / 2.0
    behind = (back - blank.axial_point(i, cones.outer, blank.root_height(i, cones.outer))[1]) / math.sin(cones.angles[i])
    room = min((heel_root - back_hub_radius) / math.cos(cones.angles[i]), behind)
    depth = min(depth, max(room, 2.0 * RIM_STEP * blank.outer_module))
    heel = blank.axial_point(i, cones.outer, blank.root_height(i, cones.outer) - depth)
    toe_height = blank.root_height(i, cones.inner)
    toe = blank.axial_point(i, cones.inner, toe_height)
    if cones.angles[i] < math.pi / 4.0:
        drop = max(toe[0] - front_hub_radius, 0.0) / math.cos(cones.angles[i])
        shoulder = blank.axial_point(i, cones.inner, toe_height - drop)[1]
    else:
        shoulder = toe[1]
    return (
        heel,
        (back_hub_radius, back),
        (bore_radius, back),
        (bore_radius, front),
        (front_hub_radius, front),
        (front_hub_radius, shoulder),
    )


def tooth_profile(blank: Blank, i: int, facets: Facets) -> tuple[Array, Array, Array]:
    """Along, height and azimuth of one tooth's points on every ring, toe to heel: arrays (stations, per tooth)."""
    pitch = math.pi / blank.teeth[i]
    x = np.linspace(blank.cones.inner, blank.cones.outer, facets.stations)[:, None]
    tip = blank.outer_addenda[i] + (x - blank.cones.outer) * math.tan(blank.addendum_angles[i])
    root = -(blank.outer_dedenda[i] + (x - blank.cones.outer) * math.tan(blank.dedendum_angles[i]))
    fillet_height = min(FILLET_PER_CLEARANCE * blank.clearance, FILLET_PER_DEPTH * (blank.mean_working_depth + blank.clearance))
    rise = fillet_height * x / blank.cones.mean

    def half_angle(height: Array) -> Array:
        return half_thickness(blank, i, np.hypot(x, height), blank.cones.angles[i] + np.arctan2(height, x))

    up = root + rise + (tip - root - rise) * np.linspace(0.0, 1.0, facets.flank)[None, :]
    flank = half_angle(up)
    across = flank[:, -1] * (x[:, 0] * math.sin(blank.cones.angles[i]) + tip[:, 0] * math.cos(blank.cones.angles[i]))
    if float(across.min()) < NARROWEST_TIP * blank.mean_normal_module:
        name = "pinion" if i == PINION else "gear"
        raise BlankRefused(
            f"{name} tooth", f"half width of the tip {float(across.min()):.3f} mm", "a tip that is not pointed: less depth"
        )
    space = pitch - flank[:, :1]
    width = np.minimum(rise / (x * math.sin(blank.cones.angles[i])), FILLET_PER_ROOT_SPACE * space)
    turn = (math.pi / 2.0) * (1.0 - np.arange(facets.fillet) / facets.fillet)[None, :]
    half = np.hstack((flank[:, :1] + width * (1.0 - np.cos(turn)), flank))
    height = np.hstack((root + rise * (1.0 - np.sin(turn)), up))
    azimuth = np.hstack((np.full_like(x, -pitch), -half, np.zeros_like(x), half[:, ::-1]))
    heights = np.hstack((root, height, tip, height[:, ::-1]))
    radius = np.hypot(x, heights)
    azimuth = azimuth + trace_azimuth(blank, i, section(blank, radius).trace)
    return np.broadcast_to(x, heights.shape), heights, azimuth


def _spread(azimuth: Array, count: int) -> Array:
    """Azimuths of one tooth's points, kept apart where the flank is radial, so that the rim under it has no empty facets."""
    least = 0.02 * 2.0 * math.pi / count
    apart, crown = azimuth.copy(), len(azimuth) // 2
    for n in range(1, crown):
        apart[n] = max(apart[n], apart[n - 1] + least)
    for n in range(len(azimuth) - 2, crown, -1):
        apart[n] = min(apart[n], apart[n + 1] - least)
    return apart


def _crossing(outline: list[tuple[float, float]]) -> bool:
    """True when two edges of a closed outline cross."""

    def left(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> bool:
        return (b[0] - a[0]) * (c[1] - a[1]) > (b[1] - a[1]) * (c[0] - a[0])

    edges = list(zip(outline, outline[1:] + outline[:1], strict=True))
    for n, (a, b) in enumerate(edges):
        for m in range(n + 2, len(edges)):
            c, d = edges[m]
            if (n, m) != (0, len(edges) - 1) and left(a, b, c) != left(a, b, d) and left(c, d, a) != left(c, d, b):
                return True
    return False


def _refuse_body(blank: Blank, i: int, body: Outline) -> None:
    if len(body) < 2 or min(point[0] for point in body) <= 0.0:
        raise ValueError("body: accepted: two points or more, none on or across the axis")
    cones = blank.cones
    roots = [blank.axial_point(i, at, blank.root_height(i, at)) for at in (cones.inner, cones.outer)]
    outline = [*roots, *body]
    turned = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(outline, outline[1:] + outline[:1], strict=True))
    if turned <= 0.0 or _crossing(outline):
        shown = ", ".join(f"({radius:.2f}, {z:.2f})" for radius, z in outline)
        raise ValueError(f"body: outline toe root, heel root, body {shown} mm: accepted: an outline that does not cross itself")


def refuse(blank: Blank, member: Member, body: Outline) -> None:
    """Raise BlankRefused for a pointed tooth, ValueError for a body that crosses itself or its teeth, without building either."""
    tooth_profile(blank, INDEX[member], COARSE)
    _refuse_body(blank, INDEX[member], body)


def _weights(points: list[tuple[float, float]]) -> list[float]:
    """Share of the turn each stretch of body takes: flat faces only where there are any, else by length."""
    spans = [abs(b[0] - a[0]) if abs(b[1] - a[1]) < 1e-9 else 0.0 for a, b in zip(points, points[1:], strict=False)]
    if sum(spans) < 1e-9:
        spans = [math.dist(a, b) for a, b in zip(points, points[1:], strict=False)]
    total = sum(spans) or 1.0
    return [span / total for span in spans]


def _body_rings(body: Outline, heel: Array, middle: Array, toe: Array) -> list[tuple[float, float, Array]]:
    """Radius, z and azimuths of every body ring: from the heel's spacing to an even one at the bore to the toe's."""
    least = min(point[0] for point in body)
    inner = [n for n, point in enumerate(body) if point[0] <= least + 1e-9]
    first, last = inner[0], inner[-1]
    rings = [(body[0][0], body[0][1], heel if first > 0 else middle)]
    for points, start, end in (
        (body[: first + 1], heel, middle),
        (body[first : last + 1], middle, middle),
        (body[last:], middle, toe),
    ):
        share = 0.0
        farthest = float(np.max(np.abs(end - start)))
        for a, b, weight in zip(points, points[1:], _weights(list(points)), strict=False):
            steps = max(1, math.ceil(farthest * weight / LARGEST_TURN))
            for k in range(1, steps + 1):
                t = k / steps
                mix = share + weight * t
                rings.append((a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t, start + mix * (end - start)))
            share += weight
    return rings


def tooth_solid(blank: Blank, member: Member, body: Outline, facets: Facets = DISPLAY) -> Solid:
    """Closed solid of a bored member in its own frame.

    `body`: axial outline (radius, z) [mm] from the heel root over back face, bore and front to the toe root, both roots not in it.
    A body that crosses itself, touches the axis, or a pointed tooth is refused. Keyways are cut from the result.
    """
    i = INDEX[member]
    _refuse_body(blank, i, body)
    teeth, per = blank.teeth[i], facets.per_tooth
    along, height, azimuth = tooth_profile(blank, i, facets)
    count = teeth * per
    turns = np.repeat(np.arange(teeth) * (2.0 * math.pi / teeth), per)
    sine, cosine = math.sin(blank.cones.angles[i]), math.cos(blank.cones.angles[i])
    radii = np.tile(along * sine + height * cosine, (1, teeth))
    levels = np.tile(along * cosine - height * sine, (1, teeth))
    angles = np.tile(azimuth, (1, teeth)) + turns

    pitch = 2.0 * math.pi / teeth
    heel = np.tile(_spread(azimuth[-1], count), teeth) + turns
    lag = float(angles[0].mean() - angles[-1].mean())
    jump = -round(lag / pitch)
    toe = np.tile(_spread(azimuth[0], count), teeth) + turns + jump * pitch
    even: Array = (float(heel[0]) + float(toe[0])) / 2.0 + np.arange(count, dtype=np.float64) * (2.0 * math.pi / count)
    step = RIM_STEP * blank.outer_module
    heel_rim = blank.axial_point(i, blank.cones.outer, blank.root_height(i, blank.cones.outer) - step)
    toe_rim = blank.axial_point(i, blank.cones.inner, blank.root_height(i, blank.cones.inner) - step)
    below = [(*heel_rim, heel), *_body_rings(body, heel, even, toe), (*toe_rim, toe)]

    r = np.vstack((radii, np.array([np.full(count, ring[0]) for ring in below])))
    z = np.vstack((levels, np.array([np.full(count, ring[1]) for ring in below])))
    a = np.vstack((angles, np.array([ring[2] for ring in below])))
    vertices = np.stack((r * np.cos(a), r * np.sin(a), z), axis=-1).reshape(-1, 3)

    ids = np.arange(r.size, dtype=np.int32).reshape(r.shape)
    here, there = ids, np.vstack((ids[1:], np.roll(ids[0], -jump * per)[None, :]))
    here_next, there_next = np.roll(here, -1, axis=1), np.roll(there, -1, axis=1)
    faces = np.stack(
        (np.stack((here, here_next, there_next), axis=-1), np.stack((here, there_next, there), axis=-1)), axis=2
    ).reshape(-1, 3)
    return Solid(np.ascontiguousarray(vertices), np.ascontiguousarray(faces.astype(np.int32)))


@special("toothed_member")
def build_toothed_member(n: int, *, blank: Blank, member: Member, body: Outline) -> Solid:
    """`tooth_solid` as a special shape of a Spec: args ("blank", ...), ("member", ...), ("body", ...); coarse below n = 48."""
    return tooth_solid(blank, member, body, DISPLAY if n >= 48 else COARSE)


@lru_cache(maxsize=256)
def mesh_pose(blank: Blank, pinion_shift: float = 0.0, gear_shift: float = 0.0, pinion_turn: float = 0.0) -> tuple[float, float]:
    """Turns of pinion and gear about their own axes with the pinion's tooth in the middle of the backlash [rad].

    Shifts are positive away from the crossing point [mm]. With closed-up teeth (negative backlash) both flanks overlap alike.
    """
    drive, coast = closing_rotations(blank, pinion_turn, errors=Errors(pinion_shift, gear_shift))
    follow = (drive - coast) / 2.0 - blank.teeth[PINION] / blank.teeth[GEAR] * pinion_turn
    return pinion_turn, follow + math.pi / blank.teeth[GEAR]


def to_reducer() -> Matrix:
    """Mesh frame to reducer frame: (x, y, z) -> (x, -y, -z), a half turn about x: the gear hangs below the crossing point."""
    return np.diag([1.0, -1.0, -1.0, 1.0])


def _turn(angle: float, along: float) -> Matrix:
    cosine, sine = math.cos(angle), math.sin(angle)
    return np.array([[cosine, -sine, 0.0, 0.0], [sine, cosine, 0.0, 0.0], [0.0, 0.0, 1.0, along], [0.0, 0.0, 0.0, 1.0]])


def pinion_pose(blank: Blank, angle: float, pinion_shift: float = 0.0) -> Matrix:
    """Place of the pinion's solid in the reducer's frame: turned by `angle` [rad], moved out along +x by the shift [mm]."""
    sine, cosine = math.sin(blank.shaft_angle), math.cos(blank.shaft_angle)
    frame = np.array([[-cosine, 0.0, sine, 0.0], [0.0, -1.0, 0.0, 0.0], [sine, 0.0, cosine, 0.0], [0.0, 0.0, 0.0, 1.0]])
    return np.asarray(to_reducer() @ frame @ _turn(angle, pinion_shift))


def gear_pose(blank: Blank, angle: float, gear_shift: float = 0.0) -> Matrix:
    """Place of the gear's solid in the reducer's frame: turned by `angle` [rad], moved down along -z by the shift [mm]."""
    return np.asarray(to_reducer() @ _turn(angle, gear_shift))
