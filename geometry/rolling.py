"""Rolling bearings as Specs: rings with exact faces at z = 0 and z = width, rolling elements, cage [mm, rad].

Everything inside the boundary sizes (ribs, grooves, roller length, ball size, cage) is derived; contacts carry the small gaps
named below.
"""

from __future__ import annotations

from math import asin, cos, floor, pi, sin
from typing import Literal

from geometry.part import Loop, Spec

CONTACT_GAP = 0.03
"""Gap left at each rolling contact, so that drawn bodies stay apart [mm], derived."""
POCKET_GAP = 0.15
"""Gap between a rolling element and its cage pocket [mm], derived."""
RIB_WIDTH = 0.16
"""Width of a rib over the ring width, derived."""
RIB_HEIGHT = 0.3
"""Height of a rib over the roller diameter, derived."""
BALL_OF_SECTION = 0.6
"""Ball diameter over the radial section, derived; at most 0.62 of the width."""
GROOVE = 0.52
"""Groove radius over the ball diameter, derived."""
HIGH_SHOULDER = 0.2
"""Radial distance of the high shoulder from the ball circle over the ball diameter, derived."""
LOW_SHOULDER = 0.47
"""The same for the low shoulder, derived."""
GROOVE_STEPS = 12
"""Straight pieces of a drawn groove; tangent to the true arc, so they never reach into the ball."""


def cylindrical_roller_bearing(
    *,
    bore: float,
    outside: float,
    width: float,
    raceway_inner: float,
    raceway_outer: float,
    count: int,
    chamfer: float,
    rib_outer: Literal["none", "one"] = "none",
) -> dict[str, Spec]:
    """Cylindrical roller bearing whose rollers are held between two ribs of the inner ring; the outer ring comes off.

    Roller diameter = (raceway_outer - raceway_inner) / 2 less the contact gaps.
    `bore`, `outside`, `width`: boundary sizes [mm]; `raceway_inner`, `raceway_outer`: raceway diameters F and E [mm]; `count`:
    rollers [-]; `chamfer`: of the ring corners [mm]; `rib_outer`: "one" puts a rib on the outer ring at z = 0, rollers then leave
    toward +z.
    Result: inner_ring, rollers, cage, outer_ring. Raises ValueError when raceways or rollers do not fit.
    """
    if not bore < raceway_inner < raceway_outer < outside:
        raise ValueError(
            f"raceways {raceway_inner:g} and {raceway_outer:g} mm: accepted: bore ({bore:g} mm) < F < E < outside ({outside:g} mm)"
        )
    diameter = (raceway_outer - raceway_inner) / 2.0
    circle, roller = (raceway_inner + raceway_outer) / 4.0, diameter / 2.0 - CONTACT_GAP
    most = floor(pi / asin(min(1.0, (roller + POCKET_GAP + 0.03 * diameter) / circle)))
    if not 3 <= count <= most:
        raise ValueError(f"roller_count = {count}: accepted: 3 to {most} rollers of {diameter:g} mm between these raceways")
    rib = RIB_WIDTH * width
    low, high = rib + CONTACT_GAP, width - rib - CONTACT_GAP
    inner, crown, race = bore / 2.0, raceway_inner / 2.0 + RIB_HEIGHT * diameter, raceway_inner / 2.0
    c = chamfer
    inner_ring: Loop = (
        (inner + c, 0.0), (crown, 0.0), (crown, rib), (race, rib), (race, width - rib), (crown, width - rib), (crown, width),
        (inner + c, width), (inner, width - c), (inner, c),
    )  # fmt: skip
    rim, track = outside / 2.0, raceway_outer / 2.0
    lead = min(0.6, rib / 3.0, (rim - track) / 4.0)
    outer_low: Loop = ((track + lead, 0.0),)
    if rib_outer == "one":
        outer_low = (
            (track, low - 2.0 * CONTACT_GAP),
            (track - RIB_HEIGHT / 2.0 * diameter, low - 2.0 * CONTACT_GAP),
            (track - RIB_HEIGHT / 2.0 * diameter, 0.0),
        )
    outer_ring: Loop = (
        *outer_low, (rim - c, 0.0), (rim, c), (rim, width - c), (rim - c, width), (track + lead, width), (track, width - lead),
        *(((track, lead),) if rib_outer == "none" else ()),
    )  # fmt: skip
    bottom, top = 0.05 * width, 0.95 * width
    if rib_outer == "one":
        bottom = 0.5 * rib
    cage_in, cage_out = race + (RIB_HEIGHT + 0.06) * diameter, race + 0.72 * diameter
    cage: Loop = ((cage_in, bottom), (cage_out, bottom), (cage_out, top), (cage_in, top))
    return {
        "inner_ring": Spec("bearing steel", loops=(inner_ring,)),
        "rollers": Spec("bearing steel", add=(("rollers", count, circle, 0.0, low, high, roller),)),
        "cage": Spec(
            "bronze",
            loops=(cage,),
            cut=(("rollers", count, circle, 0.0, low - POCKET_GAP, high + POCKET_GAP, roller + POCKET_GAP),),
        ),
        "outer_ring": Spec("bearing steel", loops=(outer_ring,)),
    }


def ball_size(bore: float, outside: float, width: float) -> tuple[float, float, int]:
    """Ball diameter [mm], ball circle diameter [mm] and number of balls [-] of a drawn angular contact bearing, derived.

    `bore`, `outside`, `width`: boundary sizes [mm].
    """
    ball = min(BALL_OF_SECTION * (outside - bore) / 2.0, 0.62 * width)
    circle = (bore + outside) / 2.0
    return ball, circle, max(3, floor(pi / asin(0.6 * ball / (circle / 2.0))))


def _groove(centre: tuple[float, float], radius: float, start: float, end: float) -> list[tuple[float, float]]:
    """Tangent polygon of an arc in (r, z) from angle `start` to `end`, measured from +r toward +z [mm, rad]."""
    step = (end - start) / GROOVE_STEPS
    drawn = radius / cos(step / 2.0)
    return [(centre[0] + drawn * cos(start + step * i), centre[1] + drawn * sin(start + step * i)) for i in range(GROOVE_STEPS + 1)]


def angular_contact_bearing(*, bore: float, outside: float, width: float, contact_angle: float, chamfer: float) -> dict[str, Spec]:
    """Angular contact ball bearing: the outer ring's high shoulder (its back) is at z = 0, the inner ring's at z = width.

    The contact line runs from the outer ring at small z to the inner ring at larger z, at `contact_angle` to the radial plane.
    `bore`, `outside`, `width`: boundary sizes [mm]; `contact_angle`: [rad], 0 to 0.87; `chamfer`: of the ring corners [mm].
    Result: inner_ring, balls, cage, outer_ring.
    """
    if not 0.0 < contact_angle < 0.87:
        raise ValueError(f"contact_angle = {contact_angle:.4f} rad: accepted: above 0, below 0.87 rad (50 deg)")
    ball, circle, count = ball_size(bore, outside, width)
    pitch, middle = circle / 2.0, width / 2.0
    radius = GROOVE * ball
    shift = radius - (ball / 2.0 + CONTACT_GAP)
    along_r, along_z = cos(contact_angle), -sin(contact_angle)
    outer_centre = (pitch - shift * along_r, middle - shift * along_z)
    inner_centre = (pitch + shift * along_r, middle + shift * along_z)
    drawn = radius * 1.02
    high, low = HIGH_SHOULDER * ball, LOW_SHOULDER * ball

    def angle(height: float, limit: float = 1.0) -> float:
        return asin(min(height / drawn, limit))

    from_high = -(pi / 2.0 - angle(pitch + high - outer_centre[0]))
    to_low = pi / 2.0 - angle(pitch + low - outer_centre[0], 0.98)
    groove = _groove(outer_centre, radius, from_high, to_low)
    rim, inner, c = outside / 2.0, bore / 2.0, chamfer
    outer_ring: Loop = (
        (groove[0][0], 0.0), (rim - c, 0.0), (rim, c), (rim, width - c), (rim - c, width), (groove[-1][0], width),
        *reversed(groove),
    )  # fmt: skip
    mirrored = [(2.0 * pitch - r, width - z) for r, z in groove]
    inner_ring: Loop = (
        (inner + c, 0.0), (mirrored[-1][0], 0.0), *reversed(mirrored), (mirrored[0][0], width),
        (inner + c, width), (inner, width - c), (inner, c),
    )  # fmt: skip
    assert abs(inner_centre[0] - (2.0 * pitch - outer_centre[0])) < 1e-9
    half = min(0.6 * ball, 0.48 * width)
    wall = 0.13 * ball
    cage: Loop = (
        (pitch - wall, middle - half),
        (pitch + wall, middle - half),
        (pitch + wall, middle + half),
        (pitch - wall, middle + half),
    )
    return {
        "inner_ring": Spec("bearing steel", loops=(inner_ring,)),
        "balls": Spec("bearing steel", add=(("balls", count, pitch, 0.0, middle, ball / 2.0),)),
        "cage": Spec("bronze", loops=(cage,), cut=(("balls", count, pitch, 0.0, middle, ball / 2.0 + POCKET_GAP),)),
        "outer_ring": Spec("bearing steel", loops=(outer_ring,)),
    }
