"""Tooth flanks of a bevel pair and the gap between them.

Lengths mm, angles rad; ease-off in micrometres where the name says so. Radius is always the distance from the apex.

Model: rigid, unloaded, axes that meet. The flanks are an exactly conjugate pair of spherical involutes about a common apex with a
circular lengthwise trace, plus a parabolic ease-off that lies wholly on the gear flank. It is no maker's tooth form: the marked
pattern on the real gears decides.

Signs: side +1 is the flank whose outward normal points toward growing azimuth of its own member, -1 the other; flank s of the
pinion meets flank s of the gear. Shifts are positive away from the crossing point. Member frame: apex at the origin, +z from the
apex to the body of the gear. Mesh frame: gear axis +z, pinion axis (sin S, 0, cos S); the pitch element
is at azimuth 0 of both members.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from calc.bevel import GEAR, PINION, Blank

Array = NDArray[np.float64]
Side = int | NDArray[np.float64]
"""Flank +1 or -1, or an array of them that broadcasts with the points."""


@dataclass(frozen=True)
class EaseOff:
    """Relief of the gear flank at the edges when centred [um], and the place of its crown (-1 toe, root .. +1 heel, tip) [1]."""

    length_um: float = 25.0
    profile_um: float = 12.0
    twist_um: float = 0.0
    along_face: float = 0.0
    over_depth: float = 0.0

    def at(self, along: Array, depth: Array) -> Array:
        """Relief at places along the face and over the depth [mm]."""
        u, v = along - self.along_face, depth - self.over_depth
        return (self.length_um * u**2 + self.profile_um * v**2 + self.twist_um * u * v) * 1e-3


UNCROWNED = EaseOff(0.0, 0.0)
"""No ease-off: exactly conjugate flanks."""


@dataclass(frozen=True)
class Errors:
    """Where the members sit away from their design place: axial shifts, axis offset along +y [mm], shaft angle error [rad]."""

    pinion: float = 0.0
    gear: float = 0.0
    offset: float = 0.0
    shaft_angle: float = 0.0


ALIGNED = Errors()
"""Both members at their mounting distances, axes as drawn."""


@dataclass(frozen=True, eq=False)
class Section:
    """Transverse section of both members on spheres about the apex: arrays of the shape of the radii given [rad, 1]."""

    sin_beta: Array
    cos_beta: Array
    trace: Array
    sin_pressure: Array
    cos_pressure: Array
    sin_base: tuple[Array, Array]
    cos_base: tuple[Array, Array]
    pitch_roll: tuple[Array, Array]


@dataclass(frozen=True, eq=False)
class Touch:
    """Gap of flank points: gear rotation at which each touches [rad], and where it touches on the gear.

    `radius`, `polar`: gear spherical coordinates [mm, rad]; `along`, `height`: along and over the gear pitch cone [mm];
    `face`: -1 toe .. +1 heel; `depth`: -1 root of the working depth .. +1 gear tip; `arm`: mm of normal per rad of gear.
    """

    gap: Array
    radius: Array
    polar: Array
    along: Array
    height: Array
    face: Array
    depth: Array
    arm: Array


@dataclass(frozen=True, eq=False)
class Slopes:
    """First derivatives of the gap: per mm of pinion shift, gear shift and offset, per rad of shaft angle [rad/mm, rad/rad]."""

    pinion: Array
    gear: Array
    offset: Array
    shaft_angle: Array


def section(blank: Blank, radius: ArrayLike) -> Section:
    """Transverse section at cone distances R.

    sin beta = (R^2 - Rm^2 + 2 Rm rc sin bm)/(2 R rc), psi = F(Rm) - F(R), F = atan2(rc cos beta, R - rc sin beta),
    tan alpha_t = tan alpha_n / cos beta, sin delta_b = sin delta cos alpha_t, phi_p = atan(tan delta sin alpha_t)

    blank: the pair [mm, rad]
    radius: distance from the apex R [mm]
    Result: section, trace rising with R, 0 at Rm [rad]. Range: toe to heel and a little beyond.
    Source: circular trace on the developed crown gear, constant normal pressure angle; ISO 23509 for beta(R).

    >>> from calc.bevel import blank
    >>> pair = blank(16, 48, 3.175, face_width=25.4, pressure_angle=math.radians(20.0), backlash=0.0)
    >>> float(section(pair, pair.cones.mean).sin_pressure.round(4))
    0.342
    """
    r = np.asarray(radius, dtype=np.float64)
    cutter, mean = blank.cutter_radius, blank.cones.mean
    if cutter is None:
        sin_beta, trace = np.zeros_like(r), np.zeros_like(r)
        cos_beta = np.ones_like(r)
    else:
        sin_beta = (r**2 - mean**2 + 2.0 * mean * cutter * math.sin(blank.spiral_angle)) / (2.0 * r * cutter)
        cos_beta = np.sqrt(1.0 - sin_beta**2)
        start = math.atan2(cutter * math.cos(blank.spiral_angle), mean - cutter * math.sin(blank.spiral_angle))
        trace = start - np.arctan2(cutter * cos_beta, r - cutter * sin_beta)
    tan_t = math.tan(blank.pressure_angle) / cos_beta
    cos_t = 1.0 / np.sqrt(1.0 + tan_t**2)
    sin_t = tan_t * cos_t
    sines = [math.sin(angle) * cos_t for angle in blank.cones.angles]
    rolls = [np.arctan(math.tan(angle) * sin_t) for angle in blank.cones.angles]
    cosines = [np.sqrt(1.0 - sine**2) for sine in sines]
    return Section(sin_beta, cos_beta, trace, sin_t, cos_t, (sines[0], sines[1]), (cosines[0], cosines[1]), (rolls[0], rolls[1]))


def involute_azimuth(roll: ArrayLike, sin_base: ArrayLike) -> Array:
    """Azimuth of a spherical involute from its start on the base cone: A = phi / sin db - atan2(sin phi, sin db cos phi).

    roll: roll arc phi [rad]
    sin_base: sine of the base cone angle [1]
    Result: azimuth, not below 0 [rad]. Range: 0 to pi/2. Source: unrolling a great circle on the base cone.

    >>> float(involute_azimuth(0.1, 0.3).round(5))
    0.01058
    """
    phi, sine = np.asarray(roll, dtype=np.float64), np.asarray(sin_base, dtype=np.float64)
    return np.asarray(phi / sine - np.arctan2(np.sin(phi), sine * np.cos(phi)))


def roll_at(polar: ArrayLike, cos_base: ArrayLike) -> Array:
    """Roll arc of the involute at a polar angle: cos phi = min(cos gamma / cos db, 1).

    polar: angle from the axis gamma [rad]
    cos_base: cosine of the base cone angle [1]
    Result: roll arc, 0 below the base cone [rad]. Range: gamma up to pi/2. Source: spherical involute.

    >>> float(roll_at(0.4, 0.95).round(4))
    0.2475
    """
    return np.asarray(np.arccos(np.minimum(np.cos(polar) / cos_base, 1.0)))


def trace_azimuth(blank: Blank, member: int, trace: ArrayLike) -> Array:
    """Azimuth of the lengthwise trace on a member: psi_1 = sigma psi / sin d1, psi_2 = -sigma psi / sin d2.

    blank: the pair [mm, rad]
    member: 0 pinion, 1 gear [1]
    trace: trace angle on the crown gear psi [rad]
    Result: azimuth [rad]. Range: any. Source: rolling the crown gear on the pitch cones.

    >>> from calc.bevel import blank
    >>> pair = blank(16, 48, 3.175, face_width=25.4, pressure_angle=math.radians(20.0), backlash=0.0)
    >>> float(trace_azimuth(pair, GEAR, 0.1).round(4))
    -0.1054
    """
    sign = blank.sigma if member == PINION else -blank.sigma
    return np.asarray(sign * np.asarray(trace) / math.sin(blank.cones.angles[member]))


def half_thickness(blank: Blank, member: int, radius: ArrayLike, polar: ArrayLike) -> Array:
    """Half the tooth's angle on a sphere, without ease-off: tau = eta + A(phi_p) - A(phi); constant below the base cone.

    blank: the pair [mm, rad]
    member: 0 pinion, 1 gear [1]
    radius: distance from the apex [mm]
    polar: angle from the member's axis [rad]
    Result: half angle about the tooth's own trace [rad]. Range: root to tip. Source: spherical involute.

    >>> from calc.bevel import blank
    >>> pair = blank(16, 48, 3.175, face_width=25.4, pressure_angle=math.radians(20.0), backlash=0.0)
    >>> angle = half_thickness(pair, PINION, pair.cones.mean, pair.cones.angles[PINION])
    >>> bool(abs(angle - pair.half_tooth_angles[PINION]) < 1e-12)
    True
    """
    return _half_thickness(blank, member, section(blank, radius), polar)


def _half_thickness(blank: Blank, member: int, at: Section, polar: ArrayLike) -> Array:
    return _half(blank, member, at, roll_at(polar, at.cos_base[member]))


def _half(blank: Blank, member: int, at: Section, roll: ArrayLike) -> Array:
    sine = at.sin_base[member]
    return blank.half_tooth_angles[member] + involute_azimuth(at.pitch_roll[member], sine) - involute_azimuth(roll, sine)


def pinion_azimuth(blank: Blank, side: int, radius: ArrayLike, roll: ArrayLike) -> Array:
    """Azimuth of the pinion flank, tooth centred on 0 at Rm: theta = s (eta + A(phi_p) - A(phi)) + psi_1.

    blank: the pair [mm, rad]
    side: flank +1 or -1 [1]
    radius: distance from the apex [mm]
    roll: roll arc [rad]
    Result: azimuth in the pinion's frame [rad]. Range: base cone to tip. Source: spherical involute.

    >>> from calc.bevel import blank
    >>> pair = blank(16, 48, 3.175, face_width=25.4, pressure_angle=math.radians(20.0), backlash=0.0)
    >>> at = section(pair, pair.cones.mean)
    >>> bool(abs(pinion_azimuth(pair, 1, pair.cones.mean, at.pitch_roll[PINION]) - pair.half_tooth_angles[PINION]) < 1e-12)
    True
    """
    return _pinion_azimuth(blank, side, section(blank, radius), roll)


def _pinion_azimuth(blank: Blank, side: Side, at: Section, roll: ArrayLike) -> Array:
    return np.asarray(side * _half(blank, PINION, at, roll) + trace_azimuth(blank, PINION, at.trace))


def gear_azimuth(blank: Blank, side: int, touch: Touch, ease_off: EaseOff = UNCROWNED) -> Array:
    """Azimuth of the gear flank, tooth space centred on 0 at Rm: theta = s (-pi/z2 + eta + A(phi_p) - A(phi)) + psi_2 - s e / a.

    blank: the pair [mm, rad]
    side: flank +1 or -1 [1]
    touch: places on the gear (gap not used) [mm, rad]
    ease_off: relief [um]
    Result: azimuth in the gear's frame [rad]. Range: root to tip. Source: spherical involute and parabolic ease-off.

    >>> from calc.bevel import blank
    >>> pair = blank(16, 48, 3.175, face_width=25.4, pressure_angle=math.radians(20.0), backlash=0.0)
    >>> mean = np.array(pair.cones.mean)
    >>> touch = gear_places(pair, mean, np.array(pair.cones.angles[GEAR]))
    >>> float((gear_azimuth(pair, 1, touch) * mean * math.sin(pair.cones.angles[GEAR])).round(3))
    -2.601
    """
    return _gear_azimuth(blank, side, touch, section(blank, touch.radius), ease_off)


def _gear_azimuth(blank: Blank, side: Side, touch: Touch, at: Section, ease_off: EaseOff) -> Array:
    half = _half_thickness(blank, GEAR, at, touch.polar) - math.pi / blank.teeth[GEAR]
    if ease_off != UNCROWNED:
        half = half - ease_off.at(touch.face, touch.depth) / touch.arm
    return np.asarray(side * half + trace_azimuth(blank, GEAR, at.trace))


def gear_places(blank: Blank, radius: Array, polar: Array) -> Touch:
    """Where points of the gear lie on its flank; the gap is left at zero.

    x = R cos(gamma - d2), h = R sin(gamma - d2), u = (x - Rm)/(b/2), v = 2 (h + h_tip1)/(h_tip1 + h_tip2) - 1,
    a = R sin d2 cos alpha_n cos beta

    blank: the pair [mm, rad]
    radius: distance from the apex [mm]
    polar: angle from the gear's axis [rad]
    Result: places [mm, 1]. Range: any. Source: own definition, flank coordinates of the gear.

    >>> from calc.bevel import blank
    >>> pair = blank(16, 48, 3.175, face_width=25.4, pressure_angle=math.radians(20.0), backlash=0.0)
    >>> touch = gear_places(pair, np.array([pair.cones.mean]), np.array([pair.cones.angles[GEAR]]))
    >>> touch.face.round(9).tolist(), touch.along.round(3).tolist()
    ([0.0], [67.622])
    """
    return _gear_places(blank, radius, polar, section(blank, radius))


def _gear_places(blank: Blank, radius: Array, polar: Array, at: Section) -> Touch:
    over = polar - blank.cones.angles[GEAR]
    along, height = radius * np.cos(over), radius * np.sin(over)
    tips = [blank.outer_addenda[i] + (along - blank.cones.outer) * math.tan(blank.addendum_angles[i]) for i in (PINION, GEAR)]
    depth = 2.0 * (height + tips[PINION]) / (tips[PINION] + tips[GEAR]) - 1.0
    arm = radius * math.sin(blank.cones.angles[GEAR]) * math.cos(blank.pressure_angle) * at.cos_beta
    face = (along - blank.cones.mean) / (blank.face_width / 2.0)
    return Touch(np.zeros_like(along), radius, polar, along, height, face, depth, arm)


def gap(
    blank: Blank,
    side: Side,
    radius: ArrayLike,
    roll: ArrayLike,
    phase: ArrayLike,
    *,
    errors: Errors = ALIGNED,
    ease_off: EaseOff = UNCROWNED,
) -> Touch:
    """Gear rotation, in the closing direction of the flank, at which pinion flank points touch the gear.

    F = s (theta_g - theta_2(R_g, gamma_g)) + (z1/z2) q

    blank: the pair [mm, rad]
    side: flank +1 or -1, a number or an array [1]
    radius: pinion points, distance from the apex [mm]
    roll: pinion points, roll arc [rad]
    phase: side times pinion turn, q [rad]
    errors: shifts and errors of the axes [mm, rad]
    ease_off: relief of the gear flank [um]
    Result: gap against the ideal ratio and the places on the gear [rad, mm]. Range: shifts to about 0.6 mm; points far from contact
    give large values. Source: rigid placement of both flanks.

    >>> from calc.bevel import blank
    >>> pair = blank(16, 48, 3.175, face_width=25.4, pressure_angle=math.radians(20.0), backlash=0.0)
    >>> at, mean = section(pair, pair.cones.mean), pair.cones.mean
    >>> phase = contact_phase(pair, 1, mean, at.pitch_roll[PINION])
    >>> shifted = gap(pair, 1, mean, at.pitch_roll[PINION], phase, errors=Errors(gear=0.1)).gap
    >>> round(float(shifted) * pair.cones.mean * math.sin(pair.cones.angles[GEAR]), 4)
    0.0346
    """
    r, phi, q = (np.asarray(value, dtype=np.float64) for value in (radius, roll, phase))
    at = section(blank, r)
    azimuth = _pinion_azimuth(blank, side, at, phi) + side * q
    axial = at.cos_base[PINION] * np.cos(phi)
    across = r * np.sqrt(1.0 - axial**2)
    x, y, z = across * np.cos(azimuth), across * np.sin(azimuth), r * axial + errors.pinion
    sine, cosine = math.sin(blank.shaft_angle + errors.shaft_angle), math.cos(blank.shaft_angle + errors.shaft_angle)
    gx, gy, gz = -cosine * x + sine * z, errors.offset - y, sine * x + cosine * z - errors.gear
    out = np.sqrt(gx**2 + gy**2 + gz**2)
    there = section(blank, out)
    place = _gear_places(blank, out, np.arccos(gz / out), there)
    ratio = blank.teeth[PINION] / blank.teeth[GEAR]
    value = side * (np.arctan2(gy, gx) - _gear_azimuth(blank, side, place, there, ease_off)) + ratio * q
    return Touch(value, out, place.polar, place.along, place.height, place.face, place.depth, place.arm)


def contact_phase(blank: Blank, side: Side, radius: ArrayLike, roll: ArrayLike) -> Array:
    """Phase at which a pinion flank point touches when aligned: q = (phi - phi_p1)/sin db1 - s psi_1 - eta_1.

    blank: the pair [mm, rad]
    side: flank +1 or -1 [1]
    radius: distance from the apex [mm]
    roll: roll arc [rad]
    Result: side times pinion turn [rad]. Range: active flank. Source: common great circle tangent to both base cones.

    >>> from calc.bevel import blank
    >>> pair = blank(16, 48, 3.175, face_width=25.4, pressure_angle=math.radians(20.0), backlash=0.0)
    >>> at = section(pair, pair.cones.mean)
    >>> phase = contact_phase(pair, 1, pair.cones.mean, at.pitch_roll[PINION])
    >>> bool(abs(phase + pair.half_tooth_angles[PINION]) < 1e-12)
    True
    """
    at = section(blank, radius)
    turn = (np.asarray(roll, dtype=np.float64) - at.pitch_roll[PINION]) / at.sin_base[PINION]
    return np.asarray(turn - side * trace_azimuth(blank, PINION, at.trace) - blank.half_tooth_angles[PINION])


def tip_polar(blank: Blank, member: int, radius: ArrayLike) -> Array:
    """Polar angle of the tip line on a sphere: gamma = d + theta_a + asin(c cos theta_a / R), c = h_ae - Re tan theta_a.

    blank: the pair [mm, rad]
    member: 0 pinion, 1 gear [1]
    radius: distance from the apex R [mm]
    Result: angle from the member's axis [rad]. Range: toe to heel. Source: straight tip line in the axial plane.

    >>> from calc.bevel import blank
    >>> pair = blank(16, 48, 3.175, face_width=25.4, pressure_angle=math.radians(20.0), backlash=0.0)
    >>> round(math.degrees(tip_polar(pair, PINION, pair.cones.outer)), 2)
    21.95
    """
    slope = blank.addendum_angles[member]
    offset = blank.outer_addenda[member] - blank.cones.outer * math.tan(slope)
    return np.asarray(
        blank.cones.angles[member] + slope + np.arcsin(offset * math.cos(slope) / np.asarray(radius, dtype=np.float64))
    )


def active_rolls(blank: Blank, radius: ArrayLike) -> tuple[Array, Array]:
    """Roll arcs where the active pinion flank begins and ends when aligned (gear tip edge, pinion tip edge).

    low = phi_p1 + phi_p2 - acos(cos gamma_tip2 / cos db2), not below 0;
    high = acos(cos gamma_tip1 / cos db1), not above phi_p1 + phi_p2

    blank: the pair [mm, rad]
    radius: distance from the apex [mm]
    Result: (low, high) [rad]. Range: low clipped to 0 means the gear tip reaches below the pinion's base cone (undercut).
    Source: spherical involute.

    >>> from calc.bevel import blank
    >>> pair = blank(16, 48, 3.175, face_width=25.4, pressure_angle=math.radians(20.0), backlash=0.0)
    >>> [round(float(roll), 3) for roll in active_rolls(pair, pair.cones.mean)]
    [0.059, 0.237]
    """
    at = section(blank, radius)
    total = at.pitch_roll[PINION] + at.pitch_roll[GEAR]
    high = np.minimum(roll_at(tip_polar(blank, PINION, radius), at.cos_base[PINION]), total)
    low = np.maximum(total - roll_at(tip_polar(blank, GEAR, radius), at.cos_base[GEAR]), 0.0)
    return low, high


def slopes(blank: Blank, side: int, radius: ArrayLike, roll: ArrayLike) -> Slopes:
    """First derivatives of the gap at the aligned contact phase of pinion flank points.

    k = s sigma cos at tan b - sin^2 at tan b rho chi, rho = (R/rc - sin b)/cos b, chi = phi - phi_p1, phi2 = phi_p1 + phi_p2 - phi;
    pinion cos db1 (sin phi + k cos phi)/(R sin db2), gear cos db2 (sin phi2 - k cos phi2)/(R sin db2),
    offset s cos at (cos chi - k sin chi)/(R sin db2), shaft angle sin at / sin db2

    blank: the pair [mm, rad]
    side: flank +1 or -1 [1]
    radius: distance from the apex R [mm]
    roll: roll arc phi [rad]
    Result: derivatives [rad/mm, rad/rad]. Range: active flank above the base cone.
    Source: differentiation of `gap`, checked by finite differences.

    >>> from calc.bevel import blank
    >>> pair = blank(16, 48, 3.175, face_width=25.4, pressure_angle=math.radians(20.0), backlash=0.0)
    >>> at = section(pair, pair.cones.mean)
    >>> found = slopes(pair, 1, pair.cones.mean, at.pitch_roll[PINION])
    >>> round(float(found.gear) * pair.cones.mean * math.sin(pair.cones.angles[GEAR]), 4)
    0.3453
    """
    r, phi = np.broadcast_arrays(np.asarray(radius, dtype=np.float64), np.asarray(roll, dtype=np.float64))
    at = section(blank, r)
    tan_beta = at.sin_beta / at.cos_beta
    change = np.zeros_like(r) if blank.cutter_radius is None else (r / blank.cutter_radius - at.sin_beta) / at.cos_beta
    chi = phi - at.pitch_roll[PINION]
    mate = at.pitch_roll[PINION] + at.pitch_roll[GEAR] - phi
    kappa = side * blank.sigma * at.cos_pressure * tan_beta - at.sin_pressure**2 * tan_beta * change * chi
    arm = r * at.sin_base[GEAR]
    return Slopes(
        pinion=at.cos_base[PINION] * (np.sin(phi) + kappa * np.cos(phi)) / arm,
        gear=at.cos_base[GEAR] * (np.sin(mate) - kappa * np.cos(mate)) / arm,
        offset=side * at.cos_pressure * (np.cos(chi) - kappa * np.sin(chi)) / arm,
        shaft_angle=at.sin_pressure / at.sin_base[GEAR],
    )


def closing_rotations(
    blank: Blank,
    pinion_turn: float = 0.0,
    *,
    errors: Errors = ALIGNED,
    ease_off: EaseOff = UNCROWNED,
    nodes: int = 25,
) -> tuple[float, float]:
    """Gear rotations at which flanks +1 and -1 close at one pinion position, by a plain search over a grid of flank points.

    f_s = min F over active points and tooth pairs (q + 2 pi k / z1); their sum is the backlash in rad of gear. The search misses
    the exact minimum by a few micrometres at the pitch circle: good enough to place solids, not to report backlash.

    blank: the pair [mm, rad]
    pinion_turn: turn of the pinion about its axis [rad]
    errors: shifts and errors of the axes [mm, rad]
    ease_off: relief of the gear flank [um]
    nodes: grid points along the face and over the depth [1]
    Result: (side +1, side -1) [rad]. Range: one pitch of pinion turn around 0. Source: definition of contact, brute force.

    >>> from calc.bevel import blank
    >>> pair = blank(16, 48, 3.175, face_width=25.4, pressure_angle=math.radians(20.0), backlash=0.2)
    >>> [round(turn * pair.outer_diameters[GEAR] / 2.0, 2) for turn in closing_rotations(pair)]
    [0.1, 0.1]
    """
    radius = np.linspace(blank.cones.inner, blank.cones.outer, nodes)[:, None, None]
    low, high = active_rolls(blank, radius)
    roll = low + np.linspace(0.0, 1.0, nodes)[None, :, None] * (high - low)
    pairs = 2.0 * math.pi / blank.teeth[PINION] * np.arange(-2, 3)[None, None, :]
    slack = 1e-3
    found = []
    for side in (1, -1):
        touch = gap(blank, side, radius, roll, side * pinion_turn + pairs, errors=errors, ease_off=ease_off)
        tip = blank.outer_addenda[GEAR] + (touch.along - blank.cones.outer) * math.tan(blank.addendum_angles[GEAR])
        on_flank = (touch.height <= tip + slack) & (np.abs(touch.face) <= 1.0 + slack)
        found.append(float(np.min(np.where(on_flank, touch.gap, np.inf))))
    return found[0], found[1]
