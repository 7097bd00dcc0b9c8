"""Screws, plugs, nuts, washers, keys, pins, wire and plain rings as Specs, each in its own frame [mm, rad].

The axis is local z. Screws and plugs have z = 0 at the face that is tightened (under the head), head upward, shank downward;
everything else stands on z = 0. Threads are plain cylinders at the nominal diameter. Chamfers, head shapes and wire twist are
derived.
"""

from __future__ import annotations

from math import cos, pi, sin
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from geometry.part import Feature, Spec
from geometry.profile import OVERSHOOT, turned
from geometry.solid import special

if TYPE_CHECKING:
    from manifold3d import Manifold

Vector = tuple[float, float, float]

BEND_RADIUS = 0.5
"""Inner radius of a bent tab over the sheet's thickness, derived."""
WIRE_PITCH = 12.0
"""Length of one twist of a lockwire over the radius of its strand, derived."""
BREATHER_CAP = 0.7
"""Radius of a breather's cap over its hexagon across flats, derived."""
CROSS_HOLE = 0.16
"""Hole for the lockwire in a screw head over the thread diameter, derived; at least 1.6 mm."""


def socket_screw(
    diameter: float,
    length: float,
    head_diameter: float,
    head_height: float,
    hexagon: float,
    socket_depth: float,
    *,
    drilled: bool = False,
) -> Spec:
    """Socket head screw: z = 0 under the head, head to +head_height, shank to -length.

    `diameter`: thread [mm]; `length`: under the head [mm]; `head_diameter`, `head_height`: head [mm]; `hexagon`: across flats [mm];
    `socket_depth`: depth of the socket [mm]; `drilled`: three cross holes through the head for lockwire.
    """
    radius, head = diameter / 2.0, head_diameter / 2.0
    point, edge = min(0.1 * diameter, length / 4.0), 0.05 * head_diameter
    loop = (
        (0.0, -length), (radius - point, -length), (radius, point - length), (radius, 0.0),
        (head, 0.0), (head, head_height - edge), (head - edge, head_height), (0.0, head_height),
    )  # fmt: skip
    cut: list[Feature] = [("hexagon", 0.0, 0.0, hexagon, head_height - socket_depth, head_height + OVERSHOOT)]
    if drilled:
        hole, reach, height = max(1.6, CROSS_HOLE * diameter) / 2.0, head + OVERSHOOT, 0.55 * head_height
        for angle in (0.0, pi / 3.0, 2.0 * pi / 3.0):
            x, y = reach * cos(angle), reach * sin(angle)
            cut.append(("rod", (-x, -y, height), (x, y, height), hole))
    return Spec("steel", loops=(loop,), cut=tuple(cut))


def plug(diameter: float, length: float, across_flats: float, head_height: float, *, magnet: bool = False) -> Spec:
    """Hexagon plug with collar for a drain or level hole: z = 0 at the collar's seat, hexagon upward.

    `diameter`: thread [mm]; `length`: thread below the seat [mm]; `across_flats`: hexagon [mm]; `head_height`: seat to top [mm];
    `magnet`: a round magnet stands out of the thread's end.
    """
    radius, collar, disc = diameter / 2.0, 0.56 * across_flats, 0.25 * head_height
    point = 0.1 * diameter
    loop = (
        (0.0, -length),
        (radius - point, -length),
        (radius, point - length),
        (radius, 0.0),
        (collar, 0.0),
        (collar, disc),
        (0.0, disc),
    )
    add: list[Feature] = [("hexagon", 0.0, 0.0, 0.9 * across_flats, disc / 2.0, head_height)]
    if magnet:
        add.append(("rod", (0.0, 0.0, -length - 0.3 * diameter), (0.0, 0.0, -length / 2.0), 0.3 * diameter))
    return Spec("steel", loops=(loop,), add=tuple(add))


def breather(diameter: float, length: float, across_flats: float, height: float) -> Spec:
    """Breather with hexagon, cap and side holes: z = 0 at its seat.

    `diameter`: thread [mm]; `length`: thread below the seat [mm]; `across_flats`: hexagon [mm]; `height`: seat to top of the cap
    [mm].
    """
    radius, flat, cap = diameter / 2.0, 0.3 * height, BREATHER_CAP * across_flats
    loop = (
        (0.0, -length), (radius, -length), (radius, 0.0), (0.45 * across_flats, 0.0), (0.45 * across_flats, flat),
        (0.8 * radius, flat), (0.8 * radius, 0.5 * height), (cap, 0.5 * height), (cap, 0.82 * height), (0.75 * cap, height), (0.0, height),
    )  # fmt: skip
    vents: tuple[Feature, ...] = (
        ("rod", (0.0, 0.0, -length - OVERSHOOT), (0.0, 0.0, 0.42 * height), 0.35 * radius),
        ("rod", (-radius, 0.0, 0.4 * height), (radius, 0.0, 0.4 * height), 0.2 * radius),
        ("rod", (0.0, -radius, 0.4 * height), (0.0, radius, 0.4 * height), 0.2 * radius),
    )
    return Spec("steel", loops=(loop,), add=(("hexagon", 0.0, 0.0, across_flats, 0.0, flat),), cut=vents)


def locknut(thread_diameter: float, outside: float, width: float, slot_width: float, slot_depth: float, *, slots: int = 4) -> Spec:
    """Slotted locknut: z = 0 at the face on the tab washer, slot 0 at angle 0.

    `thread_diameter`, `outside`, `width`: ring [mm]; `slot_width`, `slot_depth`: slots in the rim [mm]; `slots`: count [-].
    """
    radius, bore, chamfer = outside / 2.0, thread_diameter / 2.0, 0.15 * width
    loop = ((bore, 0.0), (radius, 0.0), (radius, width - chamfer), (radius - chamfer, width), (bore, width))
    cut: Feature = ("slots", slots, 0.0, slot_width, radius - slot_depth, radius + OVERSHOOT, -OVERSHOOT, width + OVERSHOOT)
    return Spec("steel", loops=(loop,), cut=(cut,))


def tab_washer(
    bore: float,
    outside: float,
    thickness: float,
    tabs: int,
    tab_width: float,
    tongue_width: float,
    tongue_to_bore: float,
    nut_outside: float,
    slot_depth: float,
    *,
    bent: int | None = None,
) -> Spec:
    """Tab washer with an inner tongue at angle 0 and tab 0 at angle 0; z = 0 at the face away from the nut, tabs bend upward.

    `bore`, `outside` (over the flat tabs), `thickness`: sheet [mm]; `tabs`: count [-]; `tab_width`, `tongue_width`: [mm];
    `tongue_to_bore`: tongue's end to the bore's far side [mm]; `nut_outside`, `slot_depth`: the nut whose slot takes the tab [mm];
    `bent`: number of the tab bent up into a slot, None = all flat. The developed length is kept on the sheet's middle line.
    """
    rim = nut_outside / 2.0 - slot_depth
    if not bore / 2.0 < rim < outside / 2.0:
        raise ValueError(
            f"tab washer: slot floor radius {rim:.3f} mm: accepted: between bore and tabs ({bore / 2:.3f}, {outside / 2:.3f} mm)"
        )
    if bent is not None and not 0 <= bent < tabs:
        raise ValueError(f"tab washer: bent = {bent}: accepted: 0 to {tabs - 1}")
    args = {
        "bore": bore, "outside": outside, "rim": rim, "thickness": thickness, "tabs": tabs, "tab_width": tab_width,
        "tongue_width": tongue_width, "tongue_end": tongue_to_bore - bore / 2.0, "bent": -1 if bent is None else bent,
    }  # fmt: skip
    return Spec("steel", special="tab_washer", args=tuple(args.items()))


@special("tab_washer")
def _tab_washer(
    n: int,
    bore: float,
    outside: float,
    rim: float,
    thickness: float,
    tabs: int,
    tab_width: float,
    tongue_width: float,
    tongue_end: float,
    bent: int,
) -> Manifold:
    from manifold3d import CrossSection, Manifold, OpType

    from geometry import features

    def strip(inner: float, outer: float, width: float, angle: float) -> NDArray[np.float64]:
        cosine, sine = cos(angle), sin(angle)
        corners = ((inner, -width / 2.0), (outer, -width / 2.0), (outer, width / 2.0), (inner, width / 2.0))
        return np.array([(x * cosine - y * sine, x * sine + y * cosine) for x, y in corners])

    body_radius = rim - 0.25 * thickness
    root = (bore / 2.0 + body_radius) / 2.0
    flat = [strip(root, outside / 2.0, tab_width, 2.0 * pi * index / tabs) for index in range(tabs) if index != bent]
    sheet = features.polygon([features.circle(body_radius, n), *flat]) - features.polygon([features.circle(bore / 2.0, n)])
    sheet = CrossSection.batch_boolean([sheet, features.polygon([strip(tongue_end, root, tongue_width, 0.0)])], OpType.Add)
    body = sheet.extrude(thickness)
    if bent < 0:
        return body
    inner = BEND_RADIUS * thickness
    rise = outside / 2.0 - rim - (inner + thickness / 2.0) * pi / 2.0
    turn = np.linspace(-pi / 2.0, 0.0, 7)
    arc = np.column_stack([np.cos(turn), np.sin(turn)])
    centre, top = np.array([rim, thickness + inner]), thickness + inner + max(rise, thickness)
    side = np.vstack(
        [
            [(root, 0.0)],
            centre + (inner + thickness) * arc,
            [(rim + inner + thickness, top), (rim + inner, top)],
            (centre + inner * arc)[::-1],
            [(root, thickness)],
        ]
    )
    tab = features.prism(side, -tab_width / 2.0, tab_width / 2.0)
    upright = np.array([[1.0, 0.0, 0.0, 0.0], [0.0, 0.0, -1.0, 0.0], [0.0, 1.0, 0.0, 0.0]])
    tab = tab.transform(upright).rotate((0.0, 0.0, 360.0 * bent / tabs))
    return Manifold.batch_boolean([body, tab], OpType.Add)


def key(width: float, height: float, length: float, *, ends: Literal["round", "flat"] = "round") -> Spec:
    """Parallel key lying along z from 0 to length, foot at x = 0, top at x = height.

    `width`, `height`, `length`: [mm]; `ends`: "round" or "flat".
    """
    if ends == "flat":
        return Spec("steel", add=(("box", (0.0, -width / 2.0, 0.0), (height, width / 2.0, length)),))
    return Spec("steel", special="round_key", args=(("width", width), ("height", height), ("length", length)))


@special("round_key")
def _round_key(n: int, width: float, height: float, length: float) -> Manifold:
    from geometry import features

    tool = features.prism(features.stadium(width / 2.0, 0.0, length, features.hole_segments(n)), 0.0, height)
    return tool.transform(np.array([[0.0, 0.0, 1.0, 0.0], [1.0, 0.0, 0.0, 0.0], [0.0, 1.0, 0.0, 0.0]]))


def dowel(diameter: float, length: float, chamfer: float) -> Spec:
    """Parallel dowel from z = 0 to length, both ends chamfered 45° [mm]."""
    return Spec("steel", loops=(turned([(0.0, length, diameter)], chamfer=chamfer),))


def spacer(bore: float, outside: float, length: float) -> Spec:
    """Distance ring with exact ends at z = 0 and length [mm]; outer edges broken by 0.5 mm at most, derived."""
    chamfer = min(0.5, (outside - bore) / 8.0, length / 4.0)
    return Spec("steel", loops=(turned([(0.0, length, outside)], [(0.0, length, bore)], chamfer=chamfer),))


def oil_thrower(bore: float, outside: float, width: float) -> Spec:
    """Oil thrower: hub over the whole width, z = 0 on the bearing ring, throwing disc with a conical back on the far half.

    `bore`: [mm]; `outside`: over the disc [mm]; `width`: between the two hub faces [mm].
    """
    hub = bore / 2.0 + 0.35 * (outside - bore) / 2.0
    loop = (
        (bore / 2.0, 0.0), (hub, 0.0), (hub, 0.25 * width), (outside / 2.0, 0.5 * width), (outside / 2.0, 0.75 * width),
        (hub, 0.9 * width), (hub, width), (bore / 2.0, width),
    )  # fmt: skip
    return Spec("steel", loops=(loop,))


def lockwire(pairs: tuple[tuple[Vector, ...], ...], radius: float, *, head_diameter: float = 0.0) -> Spec:
    """Lockwire through the heads of a screw circle, one body for each run of points.

    `pairs`: points on the wire, for example the middles of two heads [mm]; `radius`: of the strand [mm]; `head_diameter`: when
    given, each run is two heads or more: the strand passes through the first and back around it, both strands are twisted to the next
    and from the last on to a short end [mm].
    """
    return Spec("steel", special="lockwire", args=(("pairs", pairs), ("radius", radius), ("head_diameter", head_diameter)))


@special("lockwire")
def _lockwire(n: int, pairs: tuple[tuple[Vector, ...], ...], radius: float, head_diameter: float) -> Manifold:
    from manifold3d import Manifold, OpType

    from geometry import features

    sides = features.wire_segments(n)
    bodies = []
    for run in pairs:
        paths = (
            _twisted([np.array(point) for point in run], radius, head_diameter / 2.0) if head_diameter > 0.0 else [np.array(run)]
        )
        bodies += [features.tube(path.tolist(), radius, False, sides) for path in paths]
    return Manifold.batch_boolean(bodies, OpType.Add)


def _twisted(heads: list[NDArray[np.float64]], radius: float, head: float) -> list[NDArray[np.float64]]:
    """Middle lines of one wire: through and around the first head, twisted to the next, through each, twisted end."""
    clear, height = head + 2.0 * radius, np.array([0.0, 0.0, 1.0])
    legs = list(zip(heads, heads[1:], strict=False))
    spans = [float(np.linalg.norm(end - start)) for start, end in legs]
    if min(spans) <= 2.0 * clear + WIRE_PITCH * radius / 2.0:
        raise ValueError(f"lockwire: heads {min(spans):.2f} mm apart leave no room for a twist past heads of {2 * head:.2f} mm")
    ways = [(end - start) / span for (start, end), span in zip(legs, spans, strict=True)]
    first, last, along = heads[0], heads[-1], ways[0]
    paths = [np.array([first - along * (clear + radius), first + along * (clear + 2.0 * radius)])]
    turn = np.linspace(0.0, pi, 13)
    across = np.cross(height, along)
    paths.append(first + (head + 1.5 * radius) * (np.outer(np.cos(turn), along) + np.outer(np.sin(turn), across)))
    for middle, before, after in zip(heads[1:-1], ways, ways[1:], strict=False):
        paths.append(np.array([middle - before * (clear + 2.0 * radius), middle, middle + after * (clear + 2.0 * radius)]))
    paths.append(np.array([last - ways[-1] * (clear + 2.0 * radius), last + ways[-1] * (clear + 2.0 * radius)]))
    twists = [(start + way * clear, way, span - 2.0 * clear) for (start, _), way, span in zip(legs, ways, spans, strict=True)]
    for start, way, length in (*twists, (last + ways[-1] * clear, ways[-1], 10.0 * radius)):
        turns, across = max(1, round(length / (WIRE_PITCH * radius))), np.cross(height, way)
        step = np.linspace(0.0, 1.0, 6 * turns + 1)
        for phase in (0.0, pi):
            angle = 2.0 * pi * turns * step + phase
            offset = 1.05 * radius * (np.outer(np.cos(angle), across) + np.outer(np.sin(angle), height))
            paths.append(start + np.outer(length * step, way) + offset)
    return paths
