"""Blank of a bevel pair: cones, tooth depths, tooth thickness; textbook proportions; pitch-line speed and load.

Lengths mm, angles rad, force N, power W, speed mm/s; index 0 of every pair is the pinion, index 1 the gear.

Naming and definitions follow ISO 23509 for axes that meet (no offset), proportions as "data type II"; its formulas are written
from memory of that standard and checked for constant clearance, equal working depth and conjugate flanks. Own choices: the default
mounting distance, the half tooth angle that is the same all along the face, face cones parallel to the mate's root cone.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

Pair = tuple[float, float]
Hand = Literal["left", "right", "straight"]
Taper = Literal["standard", "uniform"]
PINION, GEAR = 0, 1

LARGEST_SPIRAL_SINE = 0.95
"""|sin beta| at toe and heel above this makes no trace that a cutter of this radius can leave."""
FEWEST_TEETH, MOST_TEETH = 5, 200
USUAL_CUTTER_RADIUS = 1.35
"""Cutter radius over mean cone distance where the drawing gives none: common practice, no source."""
DEFAULT_BACKING = 2.5
"""Locating face behind the heel root in outer modules where no mounting distance is given: own choice."""


class BlankRefused(ValueError):
    """A dimension that makes no bevel pair: which one, what was given, what is accepted."""

    def __init__(self, field: str, given: object, accepted: str) -> None:
        self.field, self.given, self.accepted = field, given, accepted
        super().__init__(f"{field}: {given}: accepted: {accepted}")


@dataclass(frozen=True)
class PitchCones:
    """Pitch cone angles [rad] and outer, mean and inner cone distance [mm] of a pair."""

    angles: Pair
    outer: float
    mean: float
    inner: float


@dataclass(frozen=True)
class Depths:
    """Addenda, dedenda and clearance of pinion and gear, all at one place along the face [mm]."""

    addenda: Pair
    dedenda: Pair
    clearance: float


@dataclass(frozen=True)
class Blank:
    """Bevel pair ready to cut; made by `blank`. Lengths mm, angles rad; pairs are (pinion, gear)."""

    teeth: tuple[int, int]
    outer_module: float
    face_width: float
    pressure_angle: float
    spiral_angle: float
    hand: Hand
    cutter_radius: float | None
    shaft_angle: float
    taper: Taper
    backlash: float
    cones: PitchCones
    mean_normal_module: float
    gear_addendum_factor: float
    profile_shift: float
    mean_working_depth: float
    mean_depths: Depths
    addendum_angles: Pair
    dedendum_angles: Pair
    face_cones: Pair
    root_cones: Pair
    outer_addenda: Pair
    outer_dedenda: Pair
    outer_diameters: Pair
    mean_diameters: Pair
    tip_diameters: Pair
    root_diameters: Pair
    crown_to_crossing_point: Pair
    front_crown_to_crossing_point: Pair
    mounting_distances: Pair
    mean_thicknesses: Pair
    half_tooth_angles: Pair

    @property
    def sigma(self) -> int:
        """Hand of the pinion as a sign: right or straight +1, left -1."""
        return -1 if self.hand == "left" else 1

    @property
    def clearance(self) -> float:
        """Tip to mating root, the same all along the face [mm]."""
        return self.mean_depths.clearance

    def spiral_sine(self, radius: float) -> float:
        """Sine of the spiral angle at a cone distance [mm]."""
        if self.cutter_radius is None:
            return 0.0
        mean = self.cones.mean
        return (radius**2 - mean**2 + 2.0 * mean * self.cutter_radius * math.sin(self.spiral_angle)) / (
            2.0 * radius * self.cutter_radius
        )

    def tip_height(self, member: int, along: float) -> float:
        """Height of the tip line over the pitch cone at a distance [mm] along its element [mm]."""
        return self.outer_addenda[member] + (along - self.cones.outer) * math.tan(self.addendum_angles[member])

    def root_height(self, member: int, along: float) -> float:
        """Height of the root line (below the pitch cone: negative) at a distance [mm] along its element [mm]."""
        return -(self.outer_dedenda[member] + (along - self.cones.outer) * math.tan(self.dedendum_angles[member]))

    def axial_point(self, member: int, along: float, height: float) -> tuple[float, float]:
        """Radius and distance from the apex along the axis [mm] of a point given along and over the pitch cone [mm]."""
        sine, cosine = math.sin(self.cones.angles[member]), math.cos(self.cones.angles[member])
        return along * sine + height * cosine, along * cosine - height * sine


def pitch_cone_angles(ratio: float, shaft_angle: float = math.pi / 2.0) -> Pair:
    """Pitch cone angles of pinion and gear: delta1 = atan2(sin S, u + cos S), delta2 = S - delta1.

    ratio: gear teeth over pinion teeth u [1]
    shaft_angle: angle S between the axes [rad]
    Result: (pinion, gear) [rad]. Range: u >= 1, 0 < S < pi. Source: ISO 23509, pitch cone angles.

    >>> [round(math.degrees(angle), 2) for angle in pitch_cone_angles(48 / 16)]
    [18.43, 71.57]
    """
    pinion = math.atan2(math.sin(shaft_angle), ratio + math.cos(shaft_angle))
    return pinion, shaft_angle - pinion


def cone_distance(pitch_diameter: float, pitch_angle: float) -> float:
    """Apex to the pitch circle along the cone: R = d / (2 sin delta).

    pitch_diameter: pitch diameter [mm]
    pitch_angle: pitch cone angle [rad]
    Result: cone distance [mm]. Range: 0 < delta < pi. Source: ISO 23509, outer cone distance.

    >>> round(cone_distance(6.0 * 25.4, math.radians(71.565)) / 25.4, 3)
    3.162
    """
    return pitch_diameter / (2.0 * math.sin(pitch_angle))


def pitch_cones(
    pinion_teeth: int, gear_teeth: int, outer_module: float, face_width: float, shaft_angle: float = math.pi / 2.0
) -> PitchCones:
    """Pitch cones of a pair: Re = m z2 / (2 sin delta2), Rm = Re - b/2, Ri = Re - b.

    pinion_teeth: teeth of the pinion [1]
    gear_teeth: teeth of the gear [1]
    outer_module: outer transverse module m [mm]
    face_width: face width b [mm]
    shaft_angle: angle between the axes [rad]
    Result: angles and cone distances [rad, mm]. Range: intersecting axes. Source: ISO 23509, pitch cone parameters.

    >>> round(pitch_cones(16, 48, 25.4 / 8.0, 25.4).mean / 25.4, 3)
    2.662
    """
    angles = pitch_cone_angles(gear_teeth / pinion_teeth, shaft_angle)
    outer = cone_distance(outer_module * gear_teeth, angles[GEAR])
    return PitchCones(angles, outer, outer - face_width / 2.0, outer - face_width)


def mean_depths(
    normal_module: float, profile_shift: float, *, addendum_factor: float = 1.0, clearance_factor: float = 0.25
) -> Depths:
    """Addenda and dedenda at mid-face: ham1 = m (k + x), ham2 = m (k - x), c = m kc, hfm = mate's addendum + c.

    normal_module: mean normal module m [mm]
    profile_shift: profile shift coefficient x of the pinion, the gear's is -x [1]
    addendum_factor: basic addendum over module k [1]
    clearance_factor: clearance over module kc [1]
    Result: mean depths [mm]. Range: |x| < k. Source: ISO 23509, mean addendum and dedendum.

    >>> mean_depths(5.0, 0.3)
    Depths(addenda=(6.5, 3.5), dedenda=(4.75, 7.75), clearance=1.25)
    """
    pinion = normal_module * (addendum_factor + profile_shift)
    gear = normal_module * (addendum_factor - profile_shift)
    clearance = normal_module * clearance_factor
    return Depths((pinion, gear), (gear + clearance, pinion + clearance), clearance)


def face_and_root_cones(pitch_angles: Pair, addendum_angles: Pair, dedendum_angles: Pair) -> tuple[Pair, Pair]:
    """Face and root cone angles: delta_a = delta + theta_a, delta_f = delta - theta_f.

    pitch_angles: pitch cone angles [rad]
    addendum_angles: addendum angles; with constant clearance the mate's dedendum angle [rad]
    dedendum_angles: dedendum angles [rad]
    Result: (face cones, root cones) [rad]. Range: any. Source: ISO 23509, face and root angles.

    >>> face, root = face_and_root_cones((0.32, 1.25), (0.03, 0.05), (0.05, 0.03))
    >>> [round(angle, 2) for angle in (*face, *root)]
    [0.35, 1.3, 0.27, 1.22]
    """
    face = pitch_angles[0] + addendum_angles[0], pitch_angles[1] + addendum_angles[1]
    return face, (pitch_angles[0] - dedendum_angles[0], pitch_angles[1] - dedendum_angles[1])


def dedendum_angle(dedendum: float, radius: float) -> float:
    """Angle between pitch and root cone: theta_f = atan(hf / R).

    dedendum: dedendum at that cone distance [mm]
    radius: cone distance R [mm]
    Result: angle [rad]. Range: R > 0. Source: ISO 23509, dedendum angle, standard taper.

    >>> round(math.degrees(dedendum_angle(4.0, 100.0)), 3)
    2.291
    """
    return math.atan(dedendum / radius)


def tip_diameter(pitch_diameter: float, addendum: float, pitch_angle: float) -> float:
    """Diameter over the crown: da = d + 2 ha cos delta.

    pitch_diameter: outer pitch diameter [mm]
    addendum: outer addendum [mm]
    pitch_angle: pitch cone angle [rad]
    Result: diameter [mm]. Range: any. Source: ISO 23509, outer tip diameter.

    >>> round(tip_diameter(84.0, 7.0, math.radians(18.85)), 2)
    97.25
    """
    return pitch_diameter + 2.0 * addendum * math.cos(pitch_angle)


def crown_to_apex(radius: float, addendum: float, pitch_angle: float) -> float:
    """Axial distance from the apex to the crown: X = R cos delta - ha sin delta.

    radius: outer cone distance R [mm]
    addendum: outer addendum [mm]
    pitch_angle: pitch cone angle [rad]
    Result: distance [mm]. Range: any. Source: ISO 23509, crown to crossing point.

    >>> round(crown_to_apex(130.0, 7.0, math.radians(18.85)), 2)
    120.77
    """
    return radius * math.cos(pitch_angle) - addendum * math.sin(pitch_angle)


def gear_addendum_factor(teeth_ratio: float, pitch_angles: Pair, constant: float = 0.21, variable: float = 0.29) -> float:
    """Share of the working depth that is gear addendum: 0.21 + 0.29 / m90^2, m90^2 = u cos delta1 / cos delta2.

    teeth_ratio: gear teeth over pinion teeth u [1]
    pitch_angles: pitch cone angles [rad]
    constant: first constant [1]
    variable: second constant [1]
    Result: factor [1]. Range: delta2 < 90 deg. Source: ISO 23509, mean addendum factor; Mott 4e Table 8-7.

    >>> round(gear_addendum_factor(3.0, pitch_cone_angles(3.0)), 4)
    0.2422
    """
    return constant + variable * math.cos(pitch_angles[GEAR]) / (teeth_ratio * math.cos(pitch_angles[PINION]))


def _outer(module: float, working: float, whole: float, gear: float) -> Depths:
    pinion = module * (working - gear)
    return Depths((pinion, module * gear), (module * whole - pinion, module * (whole - gear)), module * (whole - working))


def spiral_outer_depths(module: float, ratio: float) -> Depths:
    """Textbook outer depths of a spiral pair at 90 deg: hk = 1.700 m, h = 1.888 m, ha2 = m (0.46 + 0.39 / u^2).

    module: outer transverse module m [mm]
    ratio: gear teeth over pinion teeth u [1]
    Result: outer depths [mm]. Range: 35 deg spiral, 20 deg pressure angle.
    Source: textbook spiral bevel proportions (checks BEV-014).

    >>> [round(depth, 3) for depth in spiral_outer_depths(6.0, 3.0).addenda]
    [7.18, 3.02]
    """
    return _outer(module, 1.700, 1.888, 0.46 + 0.39 / ratio**2)


def long_addendum_outer_depths(module: float, ratio: float, extra_clearance: float = 0.0) -> Depths:
    """Textbook outer depths of a straight pair at 90 deg: hk = 2 m, h = 2.188 m, ha2 = m (0.54 + 0.46 / u^2).

    module: outer module m [mm]
    ratio: gear teeth over pinion teeth u [1]
    extra_clearance: added to the whole depth; inch practice 0.002 in = 0.05 mm [mm]
    Result: outer depths [mm]. Range: 20 deg pressure angle. Source: textbook straight bevel proportions (checks BEV-016).

    >>> [round(depth, 3) for depth in long_addendum_outer_depths(6.0, 3.0).addenda]
    [8.453, 3.547]
    """
    return _outer(module, 2.0, 2.188 + extra_clearance / module, 0.54 + 0.46 / ratio**2)


def standard_outer_depths(module: float) -> Depths:
    """Outer depths of the standard rack: ha = m, hf = 1.25 m on both members.

    module: outer module m [mm]
    Result: outer depths [mm]. Range: any. Source: standard proportions, ISO 677 rack (checks BEV-017).

    >>> standard_outer_depths(6.0).dedenda
    (7.5, 7.5)
    """
    return Depths((module, module), (1.25 * module, 1.25 * module), 0.25 * module)


def pitch_line_speed(pitch_diameter: float, speed: float) -> float:
    """Speed of the large-end pitch circle: v = omega d / 2.

    pitch_diameter: outer pitch diameter [mm]
    speed: shaft speed omega [rad/s]
    Result: speed [mm/s]. Range: any. Source: kinematics.

    >>> pitch_line_speed(84.0, 100.0)
    4200.0
    """
    return speed * pitch_diameter / 2.0


def tangential_load(power: float, pitch_speed: float) -> float:
    """Tangential force at the pitch circle: F = P / v.

    power: power P [W]
    pitch_speed: pitch-line speed v [mm/s]
    Result: force [N]. Range: v > 0. Source: definition of power.

    >>> round(tangential_load(5500.0, 4200.0), 1)
    1309.5
    """
    return 1000.0 * power / pitch_speed


def _refuse_inputs(teeth: tuple[int, int], pressure: float, spiral: float, hand: Hand, radius: float | None, shaft: float) -> None:
    for name, count in (("pinion_teeth", teeth[0]), ("gear_teeth", teeth[1])):
        if not FEWEST_TEETH <= count <= MOST_TEETH:
            raise BlankRefused(name, count, f"{FEWEST_TEETH} to {MOST_TEETH}")
    if teeth[0] > teeth[1]:
        raise BlankRefused("pinion_teeth", teeth[0], f"not more than gear_teeth ({teeth[1]})")
    if not math.radians(10.0) <= pressure <= math.radians(30.0):
        raise BlankRefused("pressure_angle", f"{math.degrees(pressure):.3f} deg", "10 to 30 deg")
    if not math.radians(30.0) <= shaft <= math.radians(150.0):
        raise BlankRefused("shaft_angle", f"{math.degrees(shaft):.3f} deg", "30 to 150 deg")
    if spiral < 0.0:
        raise BlankRefused("spiral_angle", f"{math.degrees(spiral):.3f} deg", "0 deg or more; the hand says which way")
    if hand == "straight" and (spiral != 0.0 or radius is not None):
        field, given = ("spiral_angle", f"{math.degrees(spiral):.3f} deg") if spiral else ("cutter_radius", f"{radius} mm")
        raise BlankRefused(field, given, "none with hand straight; else hand left or right")
    if radius is not None and not radius > 0.0:
        raise BlankRefused("cutter_radius", f"{radius} mm", "above 0 mm")


def blank(
    pinion_teeth: int,
    gear_teeth: int,
    outer_module: float,
    *,
    face_width: float,
    pressure_angle: float,
    backlash: float,
    spiral_angle: float = 0.0,
    hand: Hand = "straight",
    cutter_radius: float | None = None,
    shaft_angle: float = math.pi / 2.0,
    depth_factor: float = 2.0,
    clearance_factor: float = 0.125,
    addendum_factor: float | None = None,
    taper: Taper = "standard",
    thickness_modification: float = 0.0,
    share: float = 0.5,
    mounting_distances: tuple[float | None, float | None] = (None, None),
) -> Blank:
    """Blank of a bevel pair from its drawing data.

    h_mw = k_d m_mn, c = k_c h_mw, theta_f = atan(h_fm / R_m), theta_a = the mate's theta_f,
    eta = s_mn / (2 R_m sin delta cos beta_m) - share j_et / (2 R_e sin delta)

    pinion_teeth: teeth of the pinion [1]
    gear_teeth: teeth of the gear [1]
    outer_module: outer transverse module, 25.4 mm over diametral pitch [mm]
    face_width: face width [mm]
    pressure_angle: normal pressure angle [rad]
    backlash: design outer circumferential backlash j_et [mm]
    spiral_angle: mean spiral angle beta_m [rad]
    hand: hand of the pinion, "left", "right" or "straight" [1]
    cutter_radius: lengthwise tooth radius; none gives 1.35 R_m, or a straight tooth with hand straight [mm]
    shaft_angle: angle between the axes [rad]
    depth_factor: working depth over mean normal module k_d [1]
    clearance_factor: clearance over working depth k_c [1]
    addendum_factor: gear mean addendum over working depth c_ham; none gives 0.21 + 0.29 / m90^2 [1]
    taper: "standard", or "uniform" depth [1]
    thickness_modification: pinion thickness modification x_smn [1]
    share: part of the backlash taken from the pinion tooth [1]
    mounting_distances: crossing point to locating face; none gives heel root + 2.5 modules [mm]
    Result: the blank [mm, rad]. Range: tried for shaft angles 60 to 105 deg, 8 pinion teeth and more; refused (`BlankRefused`)
    where the gear's face cone reaches 90 deg or |sin beta| passes 0.95. Source: ISO 23509, data type II, from memory.

    >>> pair = blank(16, 48, 25.4 / 8.0, face_width=25.4, pressure_angle=math.radians(20.0), backlash=0.0)
    >>> round(pair.mean_working_depth / 25.4, 2), round(pair.gear_addendum_factor, 3)
    (0.21, 0.242)
    """
    teeth = (pinion_teeth, gear_teeth)
    _refuse_inputs(teeth, pressure_angle, spiral_angle, hand, cutter_radius, shaft_angle)
    if not outer_module > 0.0:
        raise BlankRefused("outer_module", f"{outer_module} mm", "above 0 mm")
    if not 0.0 <= backlash < outer_module / 4.0:
        raise BlankRefused("backlash", f"{backlash} mm", f"0 to below a quarter of the module ({outer_module / 4.0:.3f} mm)")
    cones = pitch_cones(pinion_teeth, gear_teeth, outer_module, face_width, shaft_angle)
    if not 0.0 < face_width < cones.outer / 2.0:
        raise BlankRefused(
            "face_width", f"{face_width} mm", f"above 0 and below half the outer cone distance ({cones.outer / 2.0:.3f} mm)"
        )
    delta = cones.angles
    if delta[GEAR] >= math.pi / 2.0:
        raise BlankRefused("shaft_angle", f"{math.degrees(shaft_angle):.3f} deg", "a gear pitch cone angle below 90 deg")
    radius = cutter_radius if hand == "straight" or cutter_radius is not None else USUAL_CUTTER_RADIUS * cones.mean
    normal = outer_module * cones.mean / cones.outer * math.cos(spiral_angle)
    working = depth_factor * normal
    factor = addendum_factor if addendum_factor is not None else gear_addendum_factor(gear_teeth / pinion_teeth, delta)
    shift = depth_factor * (0.5 - factor)
    depths = mean_depths(normal, shift, addendum_factor=depth_factor / 2.0, clearance_factor=clearance_factor * depth_factor)
    fall = [dedendum_angle(depths.dedenda[i], cones.mean) if taper == "standard" else 0.0 for i in (PINION, GEAR)]
    theta_f, theta_a = (fall[0], fall[1]), (fall[1], fall[0])
    face, root = face_and_root_cones(delta, theta_a, theta_f)
    if face[GEAR] >= math.pi / 2.0:
        raise BlankRefused("gear face cone", f"{math.degrees(face[GEAR]):.3f} deg", "below 90 deg: another ratio, depth or taper")
    half = face_width / 2.0
    rise = [half * math.tan(theta_a[i]) for i in (PINION, GEAR)]
    addenda = (depths.addenda[0] + rise[0], depths.addenda[1] + rise[1])
    dedenda = (depths.dedenda[0] + half * math.tan(theta_f[0]), depths.dedenda[1] + half * math.tan(theta_f[1]))
    outer = (outer_module * pinion_teeth, outer_module * gear_teeth)
    sine, cosine = (math.sin(delta[0]), math.sin(delta[1])), (math.cos(delta[0]), math.cos(delta[1]))
    thick = normal * (math.pi / 2.0 + 2.0 * (thickness_modification + shift * math.tan(pressure_angle)))
    taken = (share, 1.0 - share)
    arcs = [
        s / (cones.mean * math.cos(spiral_angle)) - w * backlash / cones.outer
        for s, w in zip((thick, math.pi * normal - thick), taken, strict=True)
    ]

    def both(value: list[float]) -> Pair:
        return value[0], value[1]

    i12 = (PINION, GEAR)
    backing = [cones.outer * cosine[i] + dedenda[i] * sine[i] + DEFAULT_BACKING * outer_module for i in i12]
    given = [m if m is not None else d for m, d in zip(mounting_distances, backing, strict=True)]
    made = Blank(
        teeth=teeth, outer_module=outer_module, face_width=face_width, pressure_angle=pressure_angle, spiral_angle=spiral_angle,
        hand=hand, cutter_radius=radius, shaft_angle=shaft_angle, taper=taper, backlash=backlash, cones=cones,
        mean_normal_module=normal, gear_addendum_factor=factor, profile_shift=shift, mean_working_depth=working, mean_depths=depths,
        addendum_angles=theta_a, dedendum_angles=theta_f, face_cones=face, root_cones=root,
        outer_addenda=addenda, outer_dedenda=dedenda, outer_diameters=outer,
        mean_diameters=both([2.0 * cones.mean * sine[i] for i in i12]),
        tip_diameters=both([tip_diameter(outer[i], addenda[i], delta[i]) for i in i12]),
        root_diameters=both([tip_diameter(outer[i], -dedenda[i], delta[i]) for i in i12]),
        crown_to_crossing_point=both([crown_to_apex(cones.outer, addenda[i], delta[i]) for i in i12]),
        front_crown_to_crossing_point=both([crown_to_apex(cones.inner, depths.addenda[i] - rise[i], delta[i]) for i in i12]),
        mounting_distances=both(given), mean_thicknesses=both([arc * cones.mean * math.cos(spiral_angle) for arc in arcs]),
        half_tooth_angles=both([arcs[i] / (2.0 * sine[i]) for i in i12]),
    )  # fmt: skip
    for end, distance in (("toe", cones.inner), ("heel", cones.outer)):
        if abs(made.spiral_sine(distance)) > LARGEST_SPIRAL_SINE:
            raise BlankRefused(
                "cutter_radius",
                f"{radius:.3f} mm",
                f"|sin beta| up to {LARGEST_SPIRAL_SINE} at the {end}: another radius or spiral angle",
            )
    return made
