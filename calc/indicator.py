"""Dial indicator on a gear: what it reads for a backlash, and the backlash behind a reading.

`reading_from_backlash`, `backlash_from_reading`, `backlash_from_normal_reading`, `angular_backlash`, `dial_remarks`. Lengths mm, angles
rad. The formulas are for plunger dials; a lever dial multiplies differently, so ask which it is.
"""

from __future__ import annotations

from math import cos, isfinite, pi, radians
from typing import Literal

SQUARE_ENOUGH = radians(8.0)
"""A stem inclined more than this misreads by more than 1 % and is worth a remark [rad]: 1 - cos 8° = 0.0097."""

Kind = Literal["plunger", "lever"]


class DialRefused(ValueError):
    """An input outside its range."""


def _radii(pitch_radius: float, dial_radius: float) -> None:
    for name, value in (("pitch radius", pitch_radius), ("dial radius", dial_radius)):
        if not (isfinite(value) and value > 0.0):
            raise DialRefused(f"{name}: {value}: accepted: more than 0 mm")


def _below_square(name: str, angle: float) -> None:
    if not -pi / 2.0 < angle < pi / 2.0:
        raise DialRefused(f"{name}: {angle} rad: accepted: between -90° and 90°")


def reading_from_backlash(backlash: float, *, pitch_radius: float, dial_radius: float, incline: float = 0.0) -> float:
    """What a plunger dial reads for a circumferential backlash: reading = jt (Ri / r) cos(e).

    backlash: circumferential backlash jt at the pitch radius [mm]
    pitch_radius: r, where the backlash is stated [mm]
    dial_radius: Ri, where the stem touches [mm]
    incline: angle e between stem and tangent [rad]
    Result: reading [mm]. Range: small movements; |incline| below 90°. Source: arc geometry.

    >>> round(reading_from_backlash(0.2, pitch_radius=76.5, dial_radius=150.0), 4)
    0.3922
    """
    _radii(pitch_radius, dial_radius)
    _below_square("incline", incline)
    return backlash * dial_radius / pitch_radius * cos(incline)


def backlash_from_reading(reading: float, *, pitch_radius: float, dial_radius: float, incline: float = 0.0) -> float:
    """Circumferential backlash behind the reading of a plunger dial: jt = reading (r / Ri) / cos(e).

    reading: movement of the dial between the two ends of the play [mm]
    pitch_radius: r, where the backlash is wanted [mm]
    dial_radius: Ri, where the stem touches [mm]
    incline: angle e between stem and tangent [rad]
    Result: circumferential backlash [mm]. Range: as `reading_from_backlash`, of which this is the inverse. Source: as there.

    >>> round(backlash_from_reading(0.15, pitch_radius=100.0, dial_radius=100.0, incline=radians(10.0)), 4)
    0.1523
    """
    _radii(pitch_radius, dial_radius)
    _below_square("incline", incline)
    return reading * pitch_radius / dial_radius / cos(incline)


def backlash_from_normal_reading(
    reading: float, *, pressure_angle: float, spiral_angle: float, pitch_radius: float = 1.0, dial_radius: float = 1.0
) -> float:
    """Circumferential backlash from a dial whose stem stands normal to the flank: jt = jn (r / Ri) / (cos(alpha_n) cos(beta)).

    reading: movement jn along the flank's normal [mm]
    pressure_angle: normal pressure angle alpha_n [rad]
    spiral_angle: spiral angle beta where the stem touches [rad]
    pitch_radius: r, where the backlash is wanted; leave both radii out to keep the place [mm]
    dial_radius: Ri, where the stem touches [mm]
    Result: circumferential backlash [mm]. Range: angles below 90°. Source: ISO 23509 (normal and circumferential backlash).

    >>> round(backlash_from_normal_reading(0.15, pressure_angle=radians(20.0), spiral_angle=radians(35.0)), 5)
    0.19487
    """
    _radii(pitch_radius, dial_radius)
    _below_square("pressure angle", pressure_angle)
    _below_square("spiral angle", spiral_angle)
    return reading * pitch_radius / dial_radius / (cos(pressure_angle) * cos(spiral_angle))


def angular_backlash(backlash: float, radius: float) -> float:
    """How far a gear turns within its backlash: phi = jt / r.

    backlash: circumferential backlash jt [mm]
    radius: radius r at which it is stated [mm]
    Result: angle [rad]. Range: radius more than 0. Source: arc geometry.

    >>> round(angular_backlash(0.2, 76.5) * 180.0 / pi * 60.0, 3)
    8.988
    """
    _radii(radius, radius)
    return backlash / radius


def dial_remarks(kind: Kind, incline: float = 0.0, *, radius_known: bool = True) -> tuple[str, ...]:
    """Keys of what to say before a reading is used.

    kind: "plunger" or "lever" [-]
    incline: angle between stem and tangent [rad]
    radius_known: the radius at which the stem touches was measured [-]
    Result: keys, the gravest first [-]. Range: |incline| below 90°.
    Source: geometry (cosine error); lever dials: common practice, their maker's factor holds.

    >>> dial_remarks("lever")
    ('lever_dial_multiplies_differently',)
    """
    if kind not in ("plunger", "lever"):
        raise DialRefused(f"kind: {kind}: accepted: plunger, lever")
    _below_square("incline", incline)
    found = []
    if kind == "lever":
        found.append("lever_dial_multiplies_differently")
    if abs(incline) > SQUARE_ENOUGH:
        found.append("stem_not_square")
    if not radius_known:
        found.append("dial_radius_unknown")
    return tuple(found)
