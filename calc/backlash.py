"""Backlash of a bevel pair: recommended values, normal and circumferential, and what moving one member along its axis does to it.

Lengths mm, angles rad. An axial shift is positive when the member moves away from the crossing point (its mounting distance grows).
The full answer for a pair is `mesh_rates` (closed form where the teeth touch); the handbook form is right on the pitch cone and at
the contact radius only, and is shown as the other end of the band.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import overload

from calc import tables
from calc.arrays import Array, Numbers
from calc.bevel import GEAR, PINION, Blank, Pair

INCH = 25.4
"""One inch [mm], exact."""


@cache
def _table(name: str) -> tuple[tuple[float, ...], ...]:
    return tuple(tuple(float(cell) for cell in row) for row in tables.load(name).rows)


def recommended_backlash(outer_module: float, *, fine: bool = True) -> Pair:
    """Recommended normal backlash at the tightest point of the mesh, by diametral pitch.

    outer_module: outer transverse module, 25.4 mm over diametral pitch [mm]
    fine: AGMA quality 7 to 13; False: quality 3 to 6 [1]
    Result: (least, most) [mm]. Range: 1 to 20 per inch; a pitch on a limit takes the row of finer pitch.
    Source: AGMA 2005 as printed in handbooks; tables/bevel_backlash.csv.

    >>> [round(limit / 25.4, 3) for limit in recommended_backlash(25.4 / 8.0)]
    [0.003, 0.005]
    """
    pitch = INCH / outer_module
    for low, high, *limits in _table("bevel_backlash"):
        if low - 1e-9 <= pitch < high - 1e-9 or pitch == high == 20.0:
            least, most = limits[:2] if fine else limits[2:]
            return least * INCH, most * INCH
    raise ValueError(f"outer_module: {outer_module} mm: accepted: 1.27 to 25.4 mm (diametral pitch 20 to 1)")


def minimum_backlash(outer_module: float) -> float:
    """Least outer normal backlash by module, finer accuracy.

    outer_module: outer transverse module [mm]
    Result: normal backlash [mm]. Range: 2 to 25 mm.
    Source: ISO 23509 annex, from memory, not confirmed; tables/bevel_minimum_backlash.csv.

    >>> minimum_backlash(6.0)
    0.2
    """
    for low, high, least in _table("bevel_minimum_backlash"):
        if low <= outer_module < high or outer_module == high == 25.0:
            return least
    raise ValueError(f"outer_module: {outer_module} mm: accepted: 2 to 25 mm")


def normal_backlash(circumferential: float, pressure_angle: float, spiral_angle: float) -> float:
    """Backlash square to the tooth: jn = jt cos alpha_n cos beta.

    circumferential: circumferential (transverse) backlash [mm]
    pressure_angle: normal pressure angle [rad]
    spiral_angle: spiral angle there [rad]
    Result: normal backlash [mm]. Range: any. Source: ISO 23509.

    >>> round(normal_backlash(0.2, math.radians(20.0), math.radians(35.0)), 4)
    0.154
    """
    return circumferential * math.cos(pressure_angle) * math.cos(spiral_angle)


def circumferential_backlash(normal: float, pressure_angle: float, spiral_angle: float) -> float:
    """Backlash along the pitch circle: jt = jn / (cos alpha_n cos beta).

    normal: backlash square to the tooth [mm]
    pressure_angle: normal pressure angle [rad]
    spiral_angle: spiral angle there [rad]
    Result: circumferential backlash [mm]. Range: any. Source: ISO 23509.

    >>> round(circumferential_backlash(0.15, math.radians(20.0), math.radians(35.0)), 4)
    0.1949
    """
    return normal / (math.cos(pressure_angle) * math.cos(spiral_angle))


def heel_backlash(mean: float, outer_radius: float, mean_radius: float) -> float:
    """Circumferential backlash at the heel from that at mid-face: jet = jmt Re / Rm.

    mean: circumferential backlash at mid-face [mm]
    outer_radius: outer cone distance [mm]
    mean_radius: mean cone distance [mm]
    Result: circumferential backlash at the heel [mm]. Range: any. Source: similar sectors of the pitch cone.

    >>> round(heel_backlash(0.16, 130.0, 111.0), 4)
    0.1874
    """
    return mean * outer_radius / mean_radius


@overload
def backlash_change(shift: float, pressure_angle: float, pitch_angle: float, spiral_angle: float = 0.0) -> float: ...
@overload
def backlash_change(shift: Array, pressure_angle: float, pitch_angle: float, spiral_angle: float = 0.0) -> Array: ...
def backlash_change(shift: Numbers, pressure_angle: float, pitch_angle: float, spiral_angle: float = 0.0) -> Numbers:
    """Circumferential backlash gained when one member moves out along its axis: djt = 2 a tan alpha_n sin delta / cos beta.

    shift: axial shift a, a number or an array, away from the crossing point positive [mm]
    pressure_angle: normal pressure angle [rad]
    pitch_angle: pitch cone angle of the member that moves [rad]
    spiral_angle: mean spiral angle [rad]
    Result: change [mm]. Range: first order, contact on the pitch cone.
    Source: handbook form, common practice, no standard table found.

    >>> round(backlash_change(0.1, math.radians(20.0), math.radians(71.0), math.radians(35.0)), 4)
    0.084
    """
    return 2.0 * shift * math.tan(pressure_angle) * math.sin(pitch_angle) / math.cos(spiral_angle)


@overload
def normal_backlash_change(shift: float, pressure_angle: float, pitch_angle: float) -> float: ...
@overload
def normal_backlash_change(shift: Array, pressure_angle: float, pitch_angle: float) -> Array: ...
def normal_backlash_change(shift: Numbers, pressure_angle: float, pitch_angle: float) -> Numbers:
    """Normal backlash gained when one member moves out along its axis: djn = 2 a sin alpha_n sin delta.

    shift: axial shift a, a number or an array, away from the crossing point positive [mm]
    pressure_angle: normal pressure angle [rad]
    pitch_angle: pitch cone angle of the member that moves [rad]
    Result: change [mm]. Range: first order, contact on the pitch cone.
    Source: handbook form, common practice, no standard table found.

    >>> round(normal_backlash_change(0.1, math.radians(20.0), math.radians(71.0)), 4)
    0.0647
    """
    return 2.0 * shift * math.sin(pressure_angle) * math.sin(pitch_angle)


def shift_for_backlash_change(change: float, pressure_angle: float, pitch_angle: float, spiral_angle: float = 0.0) -> float:
    """Axial shift that gives a wanted circumferential backlash change: a = djt cos beta / (2 tan alpha_n sin delta).

    change: wanted change of circumferential backlash [mm]
    pressure_angle: normal pressure angle [rad]
    pitch_angle: pitch cone angle of the member that moves [rad]
    spiral_angle: mean spiral angle [rad]
    Result: shift, away from the crossing point positive [mm]. Range: first order. Source: inverse of the handbook form.

    >>> round(shift_for_backlash_change(0.05, math.radians(20.0), math.radians(71.0), math.radians(35.0)), 4)
    0.0595
    """
    return change / backlash_change(1.0, pressure_angle, pitch_angle, spiral_angle)


@dataclass(frozen=True)
class Rate:
    """Heel circumferential backlash gained per axial shift of one member [mm/mm]: where the teeth touch and two simpler forms."""

    touching: float
    pitch_cone: float
    handbook: float

    @property
    def band(self) -> Pair:
        """Smallest and largest of the touching and the handbook value [mm/mm]."""
        return min(self.touching, self.handbook), max(self.touching, self.handbook)


@dataclass(frozen=True)
class MeshRates:
    """First-order backlash rates of a pair, the end-play reading [mm/mm] and the place of contact (radius mm, roll arcs rad)."""

    pinion: Rate
    gear: Rate
    end_play: float
    contact_radius: float
    roll_arcs: Pair

    def change(self, pinion_shift: float, gear_shift: float) -> float:
        """Change of heel circumferential backlash for both shifts, away from the crossing point positive [mm]."""
        return self.pinion.touching * pinion_shift + self.gear.touching * gear_shift

    def change_band(self, pinion_shift: float, gear_shift: float) -> Pair:
        """Least and greatest change between the touching and the handbook rates [mm]."""
        parts = [
            (rate.touching * shift, rate.handbook * shift) for rate, shift in ((self.pinion, pinion_shift), (self.gear, gear_shift))
        ]
        return sum(min(pair) for pair in parts), sum(max(pair) for pair in parts)


def mesh_rates(blank: Blank, *, along_face: float = 0.0, over_depth: float = 0.0) -> MeshRates:
    """First-order change of the heel circumferential backlash of a pair per axial shift of pinion and gear.

    d jet / d A1 = 2 Re sin d2 cos db1 sin f1 / (R sin db2), d jet / d A2 = 2 Re sin d2 cos db2 sin f2 / (R sin db2),
    f the roll arcs where the teeth touch: cos f = cos gamma / cos db, f1 + f2 = fp1 + fp2, fp = atan(tan delta sin alpha_t);
    on the pitch cone at mid-face 2 tan alpha_n sin delta Re / (Rm cos beta).
    End play of the pinion adds to the reading from the inner stop, for each flank whose thrust is outward,
    (tan alpha_t sin d1 +- tan beta cos d1) Re / Rm per mm of it: one flank of a spiral tooth, both of a straight one.

    blank: the pair [mm, rad]
    along_face: place of contact, -1 toe to +1 heel [1]
    over_depth: place of contact, -1 root of the working depth to +1 gear tip [1]
    Result: rates and place of contact [mm/mm]. Range: first order, about 0.15 mm of shift; no undercut. Source: derivatives
    of the gap of two conjugate spherical involutes (calc.flank); a term of the same sign on both flanks, below 1 %, is left out.
    No published table found.

    >>> from calc.bevel import blank
    >>> pair = blank(16, 48, 3.175, face_width=25.4, pressure_angle=math.radians(20.0), backlash=0.0)
    >>> rates = mesh_rates(pair)
    >>> round(rates.gear.touching, 3), round(rates.gear.handbook, 3)
    (0.77, 0.691)
    """
    cones, half = blank.cones, blank.face_width / 2.0
    along = cones.mean + along_face * half
    tips = blank.tip_height(PINION, along), blank.tip_height(GEAR, along)
    height = (over_depth + 1.0) / 2.0 * (tips[0] + tips[1]) - tips[0]
    radius = math.hypot(along, height)
    sin_beta = blank.spiral_sine(radius)
    cos_beta = math.sqrt(1.0 - sin_beta**2)
    tan_t = math.tan(blank.pressure_angle) / cos_beta
    sin_t, cos_t = math.sin(math.atan(tan_t)), math.cos(math.atan(tan_t))
    sine = math.sin(cones.angles[0]), math.sin(cones.angles[1])
    base_sine = sine[0] * cos_t, sine[1] * cos_t
    base_cosine = math.sqrt(1.0 - base_sine[0] ** 2), math.sqrt(1.0 - base_sine[1] ** 2)
    pitch_rolls = math.atan(math.tan(cones.angles[0]) * sin_t), math.atan(math.tan(cones.angles[1]) * sin_t)
    gear_polar = cones.angles[GEAR] + math.atan2(height, along)
    gear_roll = math.acos(min(math.cos(gear_polar) / base_cosine[GEAR], 1.0))
    rolls = (pitch_rolls[0] + pitch_rolls[1] - gear_roll, gear_roll)
    scale = 2.0 * cones.outer * sine[GEAR] / (radius * base_sine[GEAR])
    rate = [
        Rate(
            touching=scale * base_cosine[i] * math.sin(rolls[i]),
            pitch_cone=backlash_change(1.0, blank.pressure_angle, cones.angles[i], blank.spiral_angle) * cones.outer / cones.mean,
            handbook=backlash_change(1.0, blank.pressure_angle, cones.angles[i], blank.spiral_angle),
        )
        for i in (PINION, GEAR)
    ]
    mean_t, mean_tan = math.tan(blank.pressure_angle) / math.cos(blank.spiral_angle), math.tan(blank.spiral_angle)
    apart, along = mean_t * sine[PINION], mean_tan * math.cos(cones.angles[PINION])
    end_play = (max(apart + along, 0.0) + max(apart - along, 0.0)) * cones.outer / cones.mean
    return MeshRates(rate[PINION], rate[GEAR], end_play, radius, rolls)
