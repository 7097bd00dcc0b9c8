"""Contact of a displaced bevel pair: backlash, transmission error and the marked pattern on both flanks.

`contact`, `end_play_rates`. Lengths mm, angles rad. Rigid and unloaded: directions and magnitudes for planning. The backlash change
is geometry and reliable; how far a pattern moves per millimetre is inversely proportional to the crowning, which is assumed. The
marked pattern on the real gears decides.

Index 0 of a pair of flanks is the drive flank, 1 the coast flank. The drive flank is the pinion's concave one unless told otherwise;
on a straight pair it is flank +1.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np

from calc.backlash import mesh_rates
from calc.bevel import GEAR, PINION, Blank, Pair
from calc.flank import ALIGNED, Array, EaseOff, Errors, half_thickness, slopes, tip_polar
from calc.flank_grid import NODES, REFINEMENT, FlankTable, tabulate
from calc.pattern import FILM, Pattern, mark

PHASES = 48
"""Pinion positions in one pitch."""
MARGIN = 0.3
"""Phases searched past the ends of the flank, in pitches."""
LARGEST_SHIFT = 2.0
"""Axial shift or offset beyond this many outer modules takes the teeth apart whatever the pair."""
TRIED_SHIFT = 0.1
"""Axial shifts and offsets up to this many outer modules were held against a brute-force search."""
LARGEST_SHAFT_ANGLE_ERROR = 0.02
"""Shaft angle error accepted [rad]."""
HARD_EDGE_SHARE = 0.1
"""Share of the pitch that rides on a tip edge above which the contact counts as hard."""
LARGEST_EASE_OFF = 1000.0
"""Relief accepted [um]."""

Flank = Literal["drive", "coast"]
Form = Literal["concave", "convex"]
State = Literal["ok", "jammed", "out_of_mesh"]


@dataclass(frozen=True)
class Backlash:
    """Backlash over one pitch: at the gear's large-end pitch circle (mean, least, most), square to the tooth there, at a dial [mm].

    Negative: the teeth overlap by that much.
    """

    outer: float
    least: float
    most: float
    normal: float
    at_indicator: float | None


@dataclass(frozen=True, eq=False)
class FlankContact:
    """Contact of one flank.

    pattern: mark on the gear; transmission_error: peak to peak [rad of gear], transmission_error_um: at the outer pitch radius;
    closing: gear turn at which the flank closes over one pitch of pinion turn [rad]; contact_ratio: whole path in pitches;
    profile_contact_ratio: at mid-face; edge_root: share of the pitch in which the pinion's tip edge digs at the gear's root;
    edge_tip: in which the gear's tip edge digs [1].
    """

    side: int
    pattern: Pattern
    transmission_error: float
    transmission_error_um: float
    closing: Array
    contact_ratio: float
    profile_contact_ratio: float
    edge_root: float
    edge_tip: float

    @property
    def edge_share(self) -> float:
        """Share of the pitch in which a tip edge carries the contact [1]."""
        return self.edge_root + self.edge_tip

    @property
    def hard(self) -> Literal["", "low", "high"]:
        """Hard edge contact: low at the gear's root, high at its tip."""
        if self.edge_share <= HARD_EDGE_SHARE:
            return ""
        return "low" if self.edge_root >= self.edge_tip else "high"


@dataclass(frozen=True, eq=False)
class Contact:
    """Contact of a displaced pair; without numbers where the teeth are out of mesh.

    state: "ok"; "jammed" where the backlash goes below zero somewhere in the pitch; "out_of_mesh" where one pair of teeth lets go
    before the next takes over. remarks: keys of what to say beside the numbers.
    """

    state: State
    displacement: Errors
    backlash: Backlash | None
    drive: FlankContact | None
    coast: FlankContact | None
    remarks: tuple[str, ...]


def drive_side(blank: Blank, drive: Form = "concave") -> int:
    """Flank that drives: s = sigma for the pinion's concave flank, -sigma for its convex one.

    blank: the pair [mm, rad]
    drive: the pinion's driving flank, "concave" or "convex" [-]
    Result: +1 or -1 [1]. Range: a straight pair has neither form; concave stands for +1. Source: hand of the trace.

    >>> from calc.bevel import blank
    >>> drive_side(blank(16, 48, 3.175, face_width=25.4, pressure_angle=math.radians(20.0), backlash=0.2))
    1
    """
    if drive not in ("concave", "convex"):
        raise ValueError(f"drive: {drive}: accepted: concave, convex")
    return blank.sigma if drive == "concave" else -blank.sigma


def _refuse(blank: Blank, ease_offs: tuple[EaseOff, EaseOff], errors: Errors, film: float, indicator: float | None) -> None:
    reach = LARGEST_SHIFT * blank.outer_module
    limits = {"pinion": reach, "gear": reach, "offset": reach}
    for name, limit in limits.items():
        value = getattr(errors, name)
        if not abs(value) <= limit:
            raise ValueError(f"displacement {name}: {value} mm: accepted: {-limit:g} to {limit:g} mm")
    if not abs(errors.shaft_angle) <= LARGEST_SHAFT_ANGLE_ERROR:
        limit = LARGEST_SHAFT_ANGLE_ERROR
        raise ValueError(f"displacement shaft angle: {errors.shaft_angle} rad: accepted: {-limit} to {limit} rad")
    for ease in ease_offs:
        for name, size in (("length", ease.length_um), ("profile", ease.profile_um)):
            if not 0.0 <= size <= LARGEST_EASE_OFF:
                raise ValueError(f"ease-off {name}: {size} um: accepted: 0 to {LARGEST_EASE_OFF:g} um")
        if not abs(ease.twist_um) <= LARGEST_EASE_OFF:
            raise ValueError(f"ease-off twist: {ease.twist_um} um: accepted: -{LARGEST_EASE_OFF:g} to {LARGEST_EASE_OFF:g} um")
        for name, place in (("along face", ease.along_face), ("over depth", ease.over_depth)):
            if not abs(place) <= 1.0:
                raise ValueError(f"ease-off {name}: {place}: accepted: -1 to 1")
    if not 0.0 < film <= 0.1:
        raise ValueError(f"film: {film} mm: accepted: above 0, to 0.1 mm")
    if indicator is not None and not (math.isfinite(indicator) and indicator > 0.0):
        raise ValueError(f"indicator radius: {indicator} mm: accepted: above 0 mm")
    for member, land in zip(("pinion", "gear"), _tip_lands(blank), strict=True):
        if not land > 0.0:
            raise ValueError(f"{member} tip thickness: {land:.3f} mm: accepted: above 0 mm; the tooth is pointed")


@lru_cache(maxsize=32)
def _tip_lands(blank: Blank) -> Pair:
    """Least thickness of the tooth tips of pinion and gear, along the circumference [mm]."""
    radius = np.array([blank.cones.inner, blank.cones.mean, blank.cones.outer])
    polar = [tip_polar(blank, member, radius) for member in (PINION, GEAR)]
    lands = [2.0 * half_thickness(blank, i, radius, polar[i]) * radius * np.sin(polar[i]) for i in (PINION, GEAR)]
    return float(lands[0].min()), float(lands[1].min())


@dataclass(frozen=True, eq=False)
class _Closing:
    """Closing curve of one flank over a pitch, and the shares that ride on an edge."""

    curve: Array
    edge_root: float
    edge_tip: float


def _closing(table: FlankTable, i: int, step: float) -> _Closing:
    """Least gap over all rows and tooth pairs at every phase of one pitch; step of the phase [rad]."""
    values, low, high = table.gap[i], table.phase[i][:, 0], table.phase[i][:, -1]
    ends = table.phase[i].min(), table.phase[i].max()
    first = math.floor(ends[0] / step - MARGIN * PHASES)
    pitches = math.ceil((ends[1] / step + MARGIN * PHASES - first + 1.0) / PHASES)
    phase = (first + np.arange(pitches * PHASES)) * step
    rows, points = values.shape
    place = (phase - low[:, None]) * ((points - 1) / (high - low))[:, None]
    inside = np.clip(place, 0.0, points - 1.0)
    node = np.minimum(inside.astype(np.intp), points - 2)
    flat = node + (np.arange(rows) * points)[:, None]
    left = values.ravel()[flat]
    clear = left + (inside - node) * (values.ravel()[flat + 1] - left)
    before = np.minimum(phase - low[:, None], 0.0)
    after = np.maximum(phase - high[:, None], 0.0)
    clear += 0.5 * (table.gear_edge[i][:, None] * before**2 + table.pinion_edge[i][:, None] * after**2)
    row = clear.argmin(axis=0)
    count = np.arange(phase.size)
    least = clear[row, count].reshape(pitches, PHASES)
    pair = least.argmin(axis=0)
    leading = pair * PHASES + np.arange(PHASES)
    turn = np.roll(least[pair, np.arange(PHASES)], first % PHASES)
    past_high = after[row[leading], leading] > 0.0
    past_low = before[row[leading], leading] < 0.0
    return _Closing(turn, float(past_high.mean()), float(past_low.mean()))


def _flank(table: FlankTable, i: int, side: int, heel: float, film: float, pitch: float) -> FlankContact:
    step = pitch / PHASES
    closing = _closing(table, i, step)
    place = table.phase[i] / step
    index = np.floor(place)
    part = place - index
    now = index.astype(np.intp) % PHASES
    curve = closing.curve
    turn = curve[now] + part * (curve[(now + 1) % PHASES] - curve[now])
    pattern = mark(table.face[i], table.depth[i], (table.gap[i] - turn) * table.arm[i], film)
    error = float(np.ptp(curve))
    phase = table.phase[i]
    middle = phase[phase.shape[0] // 2]
    return FlankContact(
        side=side,
        pattern=pattern,
        transmission_error=error,
        transmission_error_um=error * heel * 1000.0,
        closing=curve,
        contact_ratio=float(phase.max() - phase.min()) / pitch,
        profile_contact_ratio=float(middle[-1] - middle[0]) / pitch,
        edge_root=closing.edge_root,
        edge_tip=closing.edge_tip,
    )


def contact(
    blank: Blank,
    ease_off: EaseOff | None = None,
    displacement: Errors = ALIGNED,
    *,
    coast_ease_off: EaseOff | None = None,
    drive: Form = "concave",
    film: float = FILM,
    indicator_radius: float | None = None,
    nodes: int = NODES,
    refinement: int = REFINEMENT,
) -> Contact:
    """Contact of a bevel pair whose members sit away from their design places, on both flanks.

    f(q) = min over flank points and tooth pairs of E + edge rise; backlash = (f_drive(q) + f_coast(-q)) Re sin d2;
    gap left = (E - f) a; marked where it is below the film; transmission error = max f - min f

    blank: the pair [mm, rad]
    ease_off: relief of the gear's drive flank; none gives 25 um lengthwise and 12 um over the depth [um]
    displacement: axial shifts, away from the crossing point positive, axis offset, shaft angle error [mm, rad]
    coast_ease_off: relief of the coast flank; none gives the drive flank's [um]
    drive: the pinion's driving flank, "concave" or "convex" [-]
    film: thickness of the marking compound's film [mm]
    indicator_radius: where a dial square to the gear's tooth touches, from the gear's axis [mm]
    nodes: rows and points of the table before refinement, odd [1]
    refinement: places of the table for one node, each way [1]
    Result: Contact [mm, rad, um]. Range: shifts and offset to 2 outer modules, shaft angle error to 0.02 rad. Held against brute force:
    closing turns within 0.4 um on average to a fortieth of the module, 0.15 mm at module 6, 3 um to a tenth; riding on a tip edge that
    far out, a single phase may be 40 um off and the transmission error up to half too small.
    Source: own derivation; rigid unloaded contact of conjugate spherical involutes with parabolic ease-off.

    >>> from calc.bevel import blank
    >>> pair = blank(16, 48, 3.175, face_width=25.4, pressure_angle=math.radians(20.0), backlash=0.2)
    >>> found = contact(pair, displacement=Errors(gear=0.1))
    >>> found.state, round(found.backlash.outer, 2), round(found.drive.profile_contact_ratio, 1)
    ('ok', 0.28, 1.5)
    """
    ease = ease_off if ease_off is not None else EaseOff()
    eases = (ease, coast_ease_off if coast_ease_off is not None else ease)
    _refuse(blank, eases, displacement, film, indicator_radius)
    if nodes < 3 or nodes % 2 == 0 or refinement < 1:
        raise ValueError(f"nodes, refinement: {nodes}, {refinement}: accepted: odd, 3 or more; 1 or more")
    first = drive_side(blank, drive)
    sides = (first, -first)
    table = tabulate(blank, sides, eases, displacement, nodes=nodes, refinement=refinement)
    remarks = _remarks(blank, table, displacement)
    pitch = 2.0 * math.pi / blank.teeth[PINION]
    reach = table.phase.max(axis=(1, 2)) - table.phase.min(axis=(1, 2))
    whole = bool((table.phase[:, :, -1] > table.phase[:, :, 0]).all())
    if not table.engaged or not whole or bool((reach < pitch).any()):
        return Contact("out_of_mesh", displacement, None, None, None, remarks)
    heel = blank.outer_diameters[GEAR] / 2.0
    flanks = [_flank(table, i, sides[i], heel, film, pitch) for i in (0, 1)]
    # Both flanks at the same pinion turn: phase index j on one is -j on the other.
    mate = np.roll(flanks[1].closing[::-1], 1)
    play = (flanks[0].closing + mate) * heel
    mean = float(play.mean())
    squarely = math.cos(blank.pressure_angle) * math.sqrt(1.0 - blank.spiral_sine(blank.cones.outer) ** 2)
    backlash = Backlash(
        outer=mean,
        least=float(play.min()),
        most=float(play.max()),
        normal=mean * squarely,
        at_indicator=None if indicator_radius is None else mean * indicator_radius / heel,
    )
    hard = tuple(f"hard_{flank.hard}_{name}" for name, flank in zip(("drive", "coast"), flanks, strict=True) if flank.hard)
    state: State = "jammed" if backlash.least < 0.0 else "ok"
    return Contact(state, displacement, backlash, flanks[0], flanks[1], remarks + hard)


def _remarks(blank: Blank, table: FlankTable, errors: Errors) -> tuple[str, ...]:
    found = []
    if table.undercut[0]:
        found.append("undercut_pinion")
    if table.undercut[1]:
        found.append("undercut_gear")
    sizes = (errors.pinion, errors.gear, errors.offset, errors.shaft_angle * blank.cones.outer)
    if max(abs(size) for size in sizes) > TRIED_SHIFT * blank.outer_module:
        found.append("beyond_tried_shift")
    return tuple(found)


def end_play_rates(
    blank: Blank, *, drive: Form = "concave", along_face: float = 0.0, over_depth: float = 0.0
) -> tuple[float, float]:
    """How much of the pinion's end play a dial reads as backlash when the gear is rocked and the pinion is free to move.

    Rocking pushes the pinion to the stop that opens the touching flank: rate = max(c_P, 0) Re sin d2 for each flank, from the inner stop.

    blank: the pair [mm, rad]
    drive: the pinion's driving flank, "concave" or "convex" [-]
    along_face: place of contact, -1 toe .. +1 heel [1]
    over_depth: place of contact, -1 root of the working depth .. +1 gear tip [1]
    Result: rate on the drive and on the coast flank, to be added [mm/mm]. Range: small plays; no friction.
    Source: virtual work: a flank's axial force is along the shift that opens it.

    >>> from calc.bevel import blank
    >>> pair = blank(14, 41, 6.0, face_width=38.0, pressure_angle=math.radians(20.0), spiral_angle=math.radians(35.0), hand="left",
    ...              cutter_radius=150.0, backlash=0.2)
    >>> [round(rate, 2) for rate in end_play_rates(pair)]
    [1.0, 0.0]
    """
    at = mesh_rates(blank, along_face=along_face, over_depth=over_depth)
    heel = blank.outer_diameters[GEAR] / 2.0
    first = drive_side(blank, drive)
    rates = [heel * float(slopes(blank, s, at.contact_radius, at.roll_arcs[0]).pinion) for s in (first, -first)]
    return max(rates[0], 0.0), max(rates[1], 0.0)
