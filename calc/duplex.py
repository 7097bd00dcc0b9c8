"""Pairs of angular contact bearings: arrangement, spacers, contact lines, and what a fitting mistake makes of the pair.

Lengths mm, angles rad. Axial clearance of the pair: + play, - preload (as an offset before clamping). "First" and "second" are the bearings
in the order of the shaft, x running from first to second. A tandem pair here leans toward the first bearing: its contact lines meet
the axis on that side. Contents: `axial_clearance`, `contact_lines`, `consequence`, `check_spacers`, `axial_change`, `free_contact_angle`,
`axial_play`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, get_args

Arrangement = Literal["back-to-back", "face-to-face", "tandem"]
Turned = Literal["none", "first", "second", "both"]
Missing = Literal["none", "inner", "outer", "both"]
Lean = Literal[-1, 1]
Point = tuple[float, float]
Key = Literal[
    "locked",
    "stack_short",
    "becomes_tandem",
    "thrust_reversed",
    "becomes_back_to_back",
    "becomes_face_to_face",
    "loose",
    "preload_lost",
    "load_not_shared",
    "preload_gained",
    "preload_raised",
    "preload_reduced",
    "play_raised",
    "play_reduced",
    "clearance_unknown",
    "unchanged",
]

LEANS: dict[Arrangement, tuple[Lean, Lean]] = {"back-to-back": (-1, 1), "face-to-face": (1, -1), "tandem": (-1, -1)}
"""Side on which each bearing's contact line meets the axis, -1 before the bearing (smaller x), +1 after it [1]."""
SPACER_SIGN: dict[Arrangement, float] = {"back-to-back": 1.0, "face-to-face": -1.0, "tandem": 0.0}
"""Change of the pair's axial clearance per inner less outer spacer [1]: the inner rings clamp a back-to-back pair, the outer rings a
face-to-face pair (ISO 5593 terms; sign from the rings' kinematics)."""
KEYS: tuple[Key, ...] = get_args(Key)
"""Words for a consequence, the gravest first."""
GREATEST_DIFFERENCE = 0.5
"""Greatest difference in length of a pair's two spacers [mm]: a greater one locks the pair or lets it fall apart; own limit (real
pairs differ by hundredths)."""
LENGTH_SLACK = 1e-6
"""Lengths that differ by no more than this are equal [mm]."""


class SpacersDoNotFit(ValueError):
    """Spacers that can't sit between the two bearings; `field` says which size is at fault."""

    def __init__(self, field: str, value: str, accepted: str) -> None:
        self.field = field
        super().__init__(f"{field}: {value}: accepted: {accepted}")


@dataclass(frozen=True)
class ContactLine:
    """One bearing's contact line in the half section (x, r) [mm]: on the axis, at the ball's centre, at the outside; and its lean."""

    load_centre: Point
    ball_centre: Point
    outer_end: Point
    lean: Lean


@dataclass(frozen=True)
class ContactLines:
    """Contact lines of first and second bearing; `span`: distance between their load centres [mm]."""

    first: ContactLine
    second: ContactLine
    span: float


@dataclass(frozen=True)
class Consequence:
    """What a mistake makes of a pair.

    `arrangement`: the one that results. `clearance`: axial clearance of the pair as it now is, `change`: against the pair as marked [mm];
    None where the pair has none of its own (tandem) or it can't be known. `stack_change`: change of the ring stack's length [mm].
    `keys`: words for it, the gravest first.
    """

    arrangement: Arrangement
    clearance: float | None
    change: float | None
    stack_change: float
    keys: tuple[Key, ...]

    @property
    def key(self) -> Key:
        """The gravest word."""
        return self.keys[0]


def _check_arrangement(arrangement: str) -> None:
    if arrangement not in LEANS:
        raise ValueError(f"arrangement: {arrangement!r}: accepted: {', '.join(LEANS)}")


def _check_lengths(inner_spacer: float, outer_spacer: float) -> None:
    for field, length in (("inner spacer", inner_spacer), ("outer spacer", outer_spacer)):
        if not (math.isfinite(length) and length >= 0.0):
            raise SpacersDoNotFit(field, f"{length:g} mm", "0 (none) or more")
    if abs(inner_spacer - outer_spacer) > GREATEST_DIFFERENCE:
        accepted = f"within {GREATEST_DIFFERENCE:g} mm of the outer spacer's {outer_spacer:g} mm"
        raise SpacersDoNotFit("inner spacer", f"{inner_spacer:g} mm", accepted)


def axial_clearance(arrangement: Arrangement, equal_spacers: float, inner_spacer: float, outer_spacer: float) -> float:
    """Axial clearance of a pair with spacers of unequal length: G = G0 + (Li - Lo) back-to-back, G0 + (Lo - Li) face-to-face.

    arrangement: "back-to-back", "face-to-face" or "tandem" (the spacers change nothing) [-]
    equal_spacers: axial clearance with equal spacers G0, negative for preload [mm]
    inner_spacer: length of the spacer between the inner rings Li [mm]
    outer_spacer: length of the spacer between the outer rings Lo [mm]
    Result: axial clearance, negative for preload [mm]. Range: spacers within 0.5 mm of each other, else SpacersDoNotFit; before the
    clamping's elastic give. Source: derived from the rings' kinematics; agrees with what public descriptions say is clamped together.

    >>> round(axial_clearance("back-to-back", 0.02, 39.99, 40.0), 6)
    0.01
    """
    _check_arrangement(arrangement)
    _check_lengths(inner_spacer, outer_spacer)
    return equal_spacers + SPACER_SIGN[arrangement] * (inner_spacer - outer_spacer)


def check_spacers(
    *,
    bearing_bore: float,
    bearing_outside: float,
    inner_bore: float,
    inner_outside: float,
    outer_bore: float,
    outer_outside: float,
) -> None:
    """Refuse spacers whose section does not fit between the bearings: each on its own ring, clear of the other.

    bearing_bore: bore of the bearings [mm]
    bearing_outside: outside diameter of the bearings [mm]
    inner_bore: bore of the inner spacer [mm]
    inner_outside: outside diameter of the inner spacer [mm]
    outer_bore: bore of the outer spacer [mm]
    outer_outside: outside diameter of the outer spacer [mm]
    Result: nothing when they fit. Range: bearing bore <= inner bore < inner outside < outer bore < outer outside <= bearing outside, else
    SpacersDoNotFit. Source: geometry.

    >>> check_spacers(bearing_bore=60.0, bearing_outside=110.0, inner_bore=60.1, inner_outside=72.0, outer_bore=70.0, outer_outside=109.9)
    Traceback (most recent call last):
        ...
    calc.duplex.SpacersDoNotFit: outer spacer's bore: 70 mm: accepted: more than the inner spacer's 72 mm
    """
    if not inner_bore >= bearing_bore:
        raise SpacersDoNotFit("inner spacer's bore", f"{inner_bore:g} mm", f"{bearing_bore:g} mm and more")
    if not inner_outside > inner_bore:
        raise SpacersDoNotFit("inner spacer's outside", f"{inner_outside:g} mm", f"more than its bore of {inner_bore:g} mm")
    if not outer_bore > inner_outside:
        raise SpacersDoNotFit("outer spacer's bore", f"{outer_bore:g} mm", f"more than the inner spacer's {inner_outside:g} mm")
    if not outer_bore < outer_outside <= bearing_outside:
        accepted = f"more than its bore of {outer_bore:g} mm, up to {bearing_outside:g} mm"
        raise SpacersDoNotFit("outer spacer's outside", f"{outer_outside:g} mm", accepted)


def contact_lines(
    arrangement: Arrangement,
    *,
    bore: float,
    outside: float,
    width: float,
    contact_angle: float,
    spacer: float = 0.0,
    pitch_diameter: float | None = None,
) -> ContactLines:
    """Contact lines of a pair in the half section, x from the first bearing's outer side face: load centre at x_ball -+ r tan(alpha).

    arrangement: "back-to-back", "face-to-face" or "tandem" [-]
    bore: bore of the bearings [mm]
    outside: outside diameter of the bearings [mm]
    width: width of one bearing [mm]
    contact_angle: contact angle, a maker's figure [rad]
    spacer: length of the spacers, 0 without [mm]
    pitch_diameter: diameter of the balls' centres; None: middle of bore and outside [mm]
    Result: ContactLines [mm]. Range: contact angle over 0, below 90 degrees. Source: ISO 5593 (contact angle, load centre); geometry.

    >>> round(contact_lines("back-to-back", bore=60.0, outside=110.0, width=22.0, contact_angle=math.radians(40.0)).span, 1)
    93.3
    """
    _check_arrangement(arrangement)
    if not 0.0 < bore < outside:
        raise ValueError(f"bore: {bore} mm: accepted: more than 0, below the outside of {outside} mm")
    if not (width > 0.0 and spacer >= 0.0):
        raise ValueError(f"width, spacer: {width}, {spacer} mm: accepted: more than 0; 0 or more")
    if not 0.0 < contact_angle < math.pi / 2.0:
        raise ValueError(f"contact angle: {contact_angle} rad: accepted: over 0, below {math.pi / 2.0:.4f}")
    pitch = (bore + outside) / 2.0 if pitch_diameter is None else pitch_diameter
    if not bore < pitch < outside:
        raise ValueError(f"pitch diameter: {pitch} mm: accepted: over {bore:g} mm, below {outside:g} mm")
    slope = math.tan(contact_angle)

    def line(ball: float, lean: Lean) -> ContactLine:
        at_axis = ball + lean * pitch / 2.0 * slope
        at_outside = ball - lean * (outside - pitch) / 2.0 * slope
        return ContactLine((at_axis, 0.0), (ball, pitch / 2.0), (at_outside, outside / 2.0), lean)

    leans = LEANS[arrangement]
    first, second = line(width / 2.0, leans[0]), line(width * 1.5 + spacer, leans[1])
    return ContactLines(first, second, abs(second.load_centre[0] - first.load_centre[0]))


def _after_turning(marked: Arrangement, turned: Turned) -> tuple[Arrangement, bool]:
    """Arrangement after turning bearings end for end, and whether a tandem pair now leans the other way."""
    first, second = LEANS[marked]
    if turned in ("first", "both"):
        first = -1 if first == 1 else 1
    if turned in ("second", "both"):
        second = -1 if second == 1 else 1
    if first == second:
        return "tandem", first != LEANS["tandem"][0]
    return ("back-to-back" if first == -1 else "face-to-face"), False


def _compare(before: float, now: float) -> list[Key]:
    """Words for the pair's clearance before and now."""
    if now <= -GREATEST_DIFFERENCE:
        return ["locked"]
    if now >= GREATEST_DIFFERENCE:
        return ["loose", "preload_lost"] if before < -LENGTH_SLACK else ["loose"]
    if abs(now - before) <= LENGTH_SLACK:
        return []
    if before < -LENGTH_SLACK:
        if now >= -LENGTH_SLACK:
            return ["preload_lost"]
        return ["preload_raised"] if now < before else ["preload_reduced"]
    if now < -LENGTH_SLACK:
        return ["preload_gained"]
    return ["play_raised"] if now > before else ["play_reduced"]


def consequence(
    arrangement_marked: Arrangement,
    *,
    turned: Turned = "none",
    spacer_missing: Missing = "none",
    spacers_swapped: bool = False,
    equal_spacers: float = 0.0,
    inner_spacer: float = 0.0,
    outer_spacer: float = 0.0,
    universal: bool = True,
) -> Consequence:
    """What results when a bearing is turned end for end, a spacer is left out, or the spacers' lengths are exchanged.

    The contact lines lean as the bearings lie; the clearance follows `axial_clearance` with the spacers that are in, a missing one being
    0 long. A pair that would need more than 0.5 mm of give is locked, one with more than 0.5 mm of play is loose.

    arrangement_marked: the arrangement that the marks on the rings ask for [-]
    turned: "none", "first", "second" or "both" bearings turned end for end [-]
    spacer_missing: "none", "inner", "outer" or "both" spacers left out [-]
    spacers_swapped: True when each spacer has the other's length [-]
    equal_spacers: axial clearance of the pair with equal spacers, negative for preload [mm]
    inner_spacer: length of the right inner spacer, 0 without [mm]
    outer_spacer: length of the right outer spacer, 0 without [mm]
    universal: True when the side faces are ground for any arrangement, so that `equal_spacers` holds for all [-]
    Result: Consequence with words, not sentences [-]. Range: a spacer can be missing only where there is one. Source: derived (kinematics).

    >>> consequence("back-to-back", turned="second", equal_spacers=-0.005).keys
    ('becomes_tandem', 'preload_lost')
    >>> consequence("back-to-back", spacer_missing="inner", inner_spacer=10.0, outer_spacer=10.0).key
    'locked'
    """
    before = axial_clearance(arrangement_marked, equal_spacers, inner_spacer, outer_spacer)
    if turned not in ("none", "first", "second", "both"):
        raise ValueError(f"turned: {turned!r}: accepted: none, first, second, both")
    if spacer_missing not in ("none", "inner", "outer", "both"):
        raise ValueError(f"spacer missing: {spacer_missing!r}: accepted: none, inner, outer, both")
    if spacer_missing != "none" and not min(inner_spacer, outer_spacer) > 0.0:
        raise ValueError(f"spacer missing: {spacer_missing!r}: accepted: none, for a pair without spacers")
    result, reversed_thrust = _after_turning(arrangement_marked, turned)
    inner, outer = (outer_spacer, inner_spacer) if spacers_swapped else (inner_spacer, outer_spacer)
    inner = 0.0 if spacer_missing in ("inner", "both") else inner
    outer = 0.0 if spacer_missing in ("outer", "both") else outer
    known = result == arrangement_marked or (universal and arrangement_marked != "tandem")
    clearance: float | None = None
    found: list[Key] = []
    if result != arrangement_marked:
        becomes: dict[Arrangement, Key] = {
            "tandem": "becomes_tandem",
            "back-to-back": "becomes_back_to_back",
            "face-to-face": "becomes_face_to_face",
        }
        found.append(becomes[result])
    elif reversed_thrust:
        found.append("thrust_reversed")
    if result == "tandem":
        if abs(inner - outer) > LENGTH_SLACK and (spacer_missing != "none" or spacers_swapped):
            found.append("load_not_shared")
        if arrangement_marked != "tandem" and before < -LENGTH_SLACK:
            found.append("preload_lost")
    elif known:
        clearance = equal_spacers + SPACER_SIGN[result] * (inner - outer)
        found.extend(_compare(before, clearance))
    else:
        found.append("clearance_unknown")
    if spacer_missing == "both":
        found.append("stack_short")
    keys = tuple(key for key in KEYS if key in found) or ("unchanged",)
    change = None if clearance is None else clearance - before
    stack = -outer_spacer if spacer_missing == "both" else 0.0
    return Consequence(result, clearance, change, stack, keys)


def axial_change(radial_change: float, contact_angle: float) -> float:
    """Change of a pair's axial clearance when the radial clearance of both bearings changes by the same: dG = dGr cot(alpha).

    radial_change: change of each bearing's radial clearance, negative for a loss by fit or heat [mm]
    contact_angle: contact angle [rad]
    Result: change of the axial clearance [mm]. Range: small against the balls; contact angle over 0, below 90 degrees; opposed pairs.
    Source: derivative of Gr = 2 A (1 - cos a), Ga = 2 A sin a (Harris, Rolling Bearing Analysis 4e, section 2.2, from memory).

    >>> round(axial_change(-0.020, math.radians(40.0)), 4)
    -0.0238
    """
    if not 0.0 < contact_angle < math.pi / 2.0:
        raise ValueError(f"contact angle: {contact_angle} rad: accepted: over 0, below {math.pi / 2.0:.4f}")
    return radial_change / math.tan(contact_angle)


def free_contact_angle(radial_clearance: float, *, ball: float, inner_groove: float, outer_groove: float) -> float:
    """Contact angle of an unloaded ball bearing pushed to one side: cos(a0) = 1 - Gr / (2 A), A = ri + ro - D.

    radial_clearance: radial internal clearance Gr, on the diameter [mm]
    ball: ball diameter D [mm]
    inner_groove: groove radius of the inner raceway ri [mm]
    outer_groove: groove radius of the outer raceway ro [mm]
    Result: angle [rad]. Range: grooves wider than the ball, clearance 0 up to 2 A. Source: Harris, Rolling Bearing Analysis 4e,
    section 2.2 (from memory).

    >>> round(math.degrees(free_contact_angle(0.015, ball=12.7, inner_groove=6.604, outer_groove=6.604)), 2)
    9.86
    """
    apart = inner_groove + outer_groove - ball
    if not (ball > 0.0 and min(inner_groove, outer_groove) > ball / 2.0):
        raise ValueError(
            f"inner groove, outer groove: {inner_groove}, {outer_groove} mm: accepted: more than half the ball of {ball} mm"
        )
    if not 0.0 <= radial_clearance <= 2.0 * apart:
        raise ValueError(f"radial clearance: {radial_clearance} mm: accepted: 0 to {2.0 * apart:g} mm")
    return math.acos(1.0 - radial_clearance / (2.0 * apart))


def axial_play(radial_clearance: float, *, ball: float, inner_groove: float, outer_groove: float) -> float:
    """Axial play of a single unloaded ball bearing, stop to stop: Ga = 2 A sin(a0).

    radial_clearance: radial internal clearance, on the diameter [mm]
    ball: ball diameter [mm]
    inner_groove: groove radius of the inner raceway [mm]
    outer_groove: groove radius of the outer raceway [mm]
    Result: axial play [mm]. Range: as `free_contact_angle`; a deep-groove bearing, or an angular contact one as if it had
    both shoulders. Source: as there.

    >>> round(axial_play(0.015, ball=12.7, inner_groove=6.604, outer_groove=6.604), 3)
    0.174
    """
    angle = free_contact_angle(radial_clearance, ball=ball, inner_groove=inner_groove, outer_groove=outer_groove)
    return 2.0 * (inner_groove + outer_groove - ball) * math.sin(angle)
