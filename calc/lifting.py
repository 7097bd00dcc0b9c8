"""Slings, eyebolts and how a load hangs: `sling_factor`, `carrying_legs`, `leg_tension`, `needed_rating`, `angle_verdict`,
`check_angle`, `leg_angle`, `hang_tilt`, `eyebolt_remarks`, `off_centre_shares`.

Angles rad from the HORIZONTAL, masses kg, forces N, lengths mm. Never take the equal share of four legs as allowed: two carry.
"""

from __future__ import annotations

from math import atan2, degrees, hypot, isfinite, pi, radians, sin
from typing import Literal

GRAVITY = 9.80665
"""Standard acceleration of free fall [m/s2], exact."""
STOP_BELOW, WATCH_BELOW = radians(30.0), radians(45.0)
"""Sling angles from horizontal [rad]: stop below 30°, watch below 45° (ASME B30.9 allows no less than 30°, from memory)."""
FIRST_LIFT = 1.10
"""Allowance on a mass that is calculated and not yet weighed [1]: common practice, no source."""
ANGLE_SLACK = 1e-9
"""An angle this little below a threshold counts as on it [rad]."""
UPRIGHT = radians(85.0)
"""Steeper than this a pull on an eyebolt counts as straight [rad]: makers' tables give the full rating to 5° from the shank's axis."""

Verdict = Literal["stop", "watch", "good"]


class LiftRefused(ValueError):
    """A lift that must not be made, or an input outside its range: field, value given, what is accepted."""

    def __init__(self, field: str, given: object, accepted: str) -> None:
        self.field, self.given, self.accepted = field, given, accepted
        super().__init__(f"{field}: {given}: accepted: {accepted}")


def _angle(angle: float) -> None:
    if not 0.0 < angle <= pi / 2.0 + ANGLE_SLACK:
        raise LiftRefused("sling angle", f"{degrees(angle):.1f}°", "more than 0°, up to 90° from horizontal")


def _positive(**values: float) -> None:
    for name, value in values.items():
        if not (isfinite(value) and value > 0.0):
            raise LiftRefused(name.replace("_", " "), value, "more than 0")


def sling_factor(angle: float) -> float:
    """How much more than its vertical share a leg carries: 1 / sin(theta).

    angle: sling angle from the horizontal theta [rad]
    Result: factor [1]. Range: more than 0, up to 90°. Source: statics; ASME B30.9 prints 1.155 (60°), 1.414 (45°), 2.000 (30°).

    >>> round(sling_factor(radians(60.0)), 3)
    1.155
    """
    _angle(angle)
    return 1.0 / sin(angle)


def carrying_legs(legs: int) -> int:
    """Legs to count on: a four-leg sling counts as two, since a stiff load hangs on two opposite legs.

    legs: legs of the sling [1]
    Result: legs counted [1]. Range: 1 to 4; three only with the centre of gravity amid them.
    Source: common practice for four legs; statics for three.

    >>> carrying_legs(4)
    2
    """
    if legs not in (1, 2, 3, 4):
        raise LiftRefused("legs", legs, "1, 2, 3 or 4")
    return 2 if legs == 4 else legs


def leg_tension(mass: float, angle: float, carrying: int) -> float:
    """Tension of one leg of a sling with equal legs: T = m g / (n sin(theta)).

    mass: mass of the load [kg]
    angle: sling angle from the horizontal theta [rad]
    carrying: legs that carry n; take them from `carrying_legs` [1]
    Result: tension [N]. Range: centre of gravity below the hook and amid the legs. Source: statics.

    >>> round(leg_tension(1000.0, radians(60.0), 2) / GRAVITY, 1)
    577.4
    """
    _positive(mass=mass)
    if not (isinstance(carrying, int) and carrying >= 1):
        raise LiftRefused("carrying legs", carrying, "a whole number, 1 or more")
    return mass * GRAVITY / carrying * sling_factor(angle)


def needed_rating(mass: float, angle: float, legs: int, *, allowance: float = FIRST_LIFT) -> float:
    """Rated load that one leg and its shackle must have for a straight pull: m k / (n sin(theta)), n from `carrying_legs`.

    mass: mass of the load [kg]
    angle: sling angle from the horizontal theta [rad]
    legs: legs of the sling [1]
    allowance: k, 1.1 on a mass that is not weighed, 1 on one that is [1]
    Result: rated load of one leg [kg]. Range: as `leg_tension`; allowance 1 to 2. Source: statics; allowance: common practice.

    >>> round(needed_rating(300.0, radians(45.0), 4))
    233
    """
    if not 1.0 <= allowance <= 2.0:
        raise LiftRefused("allowance", allowance, "1 to 2")
    return leg_tension(mass * allowance, angle, carrying_legs(legs)) / GRAVITY


def angle_verdict(angle: float) -> Verdict:
    """Verdict on a sling angle: stop below 30°, watch below 45°, else good.

    angle: sling angle from the horizontal [rad]
    Result: "stop", "watch" or "good" [-]. Range: more than 0, up to 90°. Source: common practice; ASME B30.9 from memory (30°).

    >>> angle_verdict(radians(40.0))
    'watch'
    """
    _angle(angle)
    if angle < STOP_BELOW - ANGLE_SLACK:
        return "stop"
    return "watch" if angle < WATCH_BELOW - ANGLE_SLACK else "good"


def check_angle(angle: float) -> Verdict:
    """The verdict of `angle_verdict`; raises LiftRefused where it is stop.

    angle: sling angle from the horizontal [rad]
    Result: "watch" or "good" [-]. Range: 30° to 90°. Source: as `angle_verdict`.

    >>> check_angle(radians(60.0))
    'good'
    """
    verdict = angle_verdict(angle)
    if verdict == "stop":
        factor = sling_factor(angle)
        raise LiftRefused(
            "sling angle",
            f"{degrees(angle):.1f}° from horizontal, each leg carries {factor:.2f} times its share",
            "30° or more: longer slings or a spreader beam",
        )
    return verdict


def leg_angle(height: float, spread: float) -> float:
    """Sling angle from the horizontal, from the hook's height and how far out the leg's lower end is: theta = atan(h / s).

    height: hook above the lower ends h [mm]
    spread: lower end's distance from the plumb line of the hook s [mm]
    Result: angle [rad]. Range: height more than 0, spread 0 or more. Source: geometry.

    >>> round(degrees(leg_angle(866.0, 500.0)), 1)
    60.0
    """
    _positive(height=height)
    if not (isfinite(spread) and spread >= 0.0):
        raise LiftRefused("spread", spread, "0 or more")
    return atan2(height, spread)


def hang_tilt(offset: float, height: float) -> float:
    """How far a load turns from its set attitude when lifted at one point: tan(tilt) = offset / height.

    The pick point comes to hang above the centre of gravity.

    offset: pick point's horizontal distance from the centre of gravity, its sign kept [mm]
    height: pick point above the centre of gravity [mm]
    Result: tilt, its sign that of the offset; the side away from the pick point goes down [rad].
    Range: height more than 0: picked at or below its centre of gravity a load turns over. Source: statics.

    >>> round(degrees(hang_tilt(20.0, 300.0)), 1)
    3.8
    """
    if not isfinite(offset):
        raise LiftRefused("offset", offset, "a finite length")
    if not (isfinite(height) and height > 0.0):
        raise LiftRefused("height", height, "more than 0: below its centre of gravity a load turns over")
    return atan2(offset, height)


def eyebolt_remarks(angle: float, *, collared: bool = True, in_plane: bool = True, seated: bool = True) -> tuple[str, ...]:
    """Keys of what to say about an eyebolt under a sling leg.

    angle: sling angle from the horizontal [rad]
    collared: the eyebolt has a collar [-]
    in_plane: the pull lies in the plane of the eye [-]
    seated: the collar bears on the part all round, the thread is home [-]
    Result: keys, the gravest first [-]. Range: as `sling_factor`.
    Source: common practice; printed ratings at 45° run from a quarter to two thirds of the straight pull: the maker's value holds.

    >>> eyebolt_remarks(radians(60.0))
    ('eyebolt_side_pull_lowers_rating',)
    """
    straight = angle >= UPRIGHT
    _angle(angle)
    found = []
    if not straight and not collared:
        found.append("eyebolt_needs_collar")
    if not straight and angle < WATCH_BELOW - ANGLE_SLACK:
        found.append("eyebolt_pull_too_flat")
    if not straight and not in_plane:
        found.append("eyebolt_pull_out_of_plane")
    if not seated:
        found.append("eyebolt_not_seated")
    if not straight:
        found.append("eyebolt_side_pull_lowers_rating")
    return tuple(found)


def off_centre_shares(first: float, second: float) -> tuple[float, float]:
    """Vertical shares of two upright legs whose pick points lie unequally far from the centre of gravity: b/(a+b), a/(a+b).

    first: horizontal distance of the first pick point from the centre of gravity a [mm]
    second: that of the second, on the other side b [mm]
    Result: shares of the first and the second leg, summing to 1 [1]. Range: 0 or more, not both 0. Source: statics.

    >>> off_centre_shares(100.0, 300.0)
    (0.75, 0.25)
    """
    if not (first >= 0.0 and second >= 0.0 and 0.0 < hypot(first, second) and isfinite(first + second)):
        raise LiftRefused("distances", (first, second), "0 or more, not both 0")
    return second / (first + second), first / (first + second)
