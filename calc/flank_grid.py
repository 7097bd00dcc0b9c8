"""When and by how much each point of a flank touches: the gap tabulated on a small grid and refined.

Lengths mm, angles rad. Every flank point is taken at its own contact phase, where the gap is smooth over the flank; kinks at the
edges stay out of the table and come back as edge curvatures. First index of every array: 0 drive flank, 1 coast flank; then rows
from toe to heel; then points from the edge of the gear's tip to the edge of the pinion's tip.

The public entry is `tabulate`; `calc.contact` turns its table into backlash, transmission error and the marked pattern.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from calc.bevel import GEAR, PINION, Blank
from calc.flank import Array, EaseOff, Errors, Section, active_rolls, contact_phase, gap, roll_at, section, tip_polar

NODES = 9
"""Rows along the face and points over the depth: tried against 33 refined four times: backlash within 0.25 um."""
REFINEMENT = 8
"""Points that the refined table has for one of the coarse one, each way."""
PHASE_STEP = 0.002
"""Half step of the central difference in the phase [rad]."""
LARGEST_LAG = 0.05
"""Farthest that a point's contact phase may lie from the aligned one [rad]; the true lag is a thousandth."""
LEAST_ARC = 0.02
"""Floor of the roll arcs in the curvature, which has no limit on the base cone [rad]."""


@dataclass(frozen=True, eq=False)
class FlankTable:
    """Refined table of both flanks.

    gap: gear turn at which the point touches [rad], arrays (2, m, m); phase: side times pinion turn at which it does [rad];
    face: -1 toe .. +1 heel; depth: -1 root of the working depth .. +1 gear tip; arm: mm of normal per rad of gear;
    pinion_edge, gear_edge: curvature of the gap over the phase past the pinion's and the gear's tip edge [1/rad], arrays (2, m);
    undercut: the gear's tip reaches below the pinion's base cone, the pinion's below the gear's; engaged: some flank is left active.
    """

    gap: Array
    phase: Array
    face: Array
    depth: Array
    arm: Array
    pinion_edge: Array
    gear_edge: Array
    undercut: tuple[bool, bool]
    engaged: bool


@dataclass(frozen=True, eq=False)
class _Rows:
    """What does not depend on displacement: rows of radii (n, 1), their section, roll arcs at the edges."""

    radius: Array
    at: Section
    total: Array
    low: Array
    high: Array
    undercut: tuple[bool, bool]


@lru_cache(maxsize=32)
def _rows(blank: Blank, nodes: int) -> _Rows:
    radius = np.linspace(blank.cones.inner, blank.cones.outer, nodes)[:, None]
    at = section(blank, radius)
    total = at.pitch_roll[PINION] + at.pitch_roll[GEAR]
    low, high = active_rolls(blank, radius)
    reach = [roll_at(tip_polar(blank, member, radius), at.cos_base[member]) >= total for member in (GEAR, PINION)]
    return _Rows(radius, at, total, low, high, (bool(reach[0].any()), bool(reach[1].any())))


@lru_cache(maxsize=8)
def _weights(factor: int) -> Array:
    """Catmull-Rom weights of the four neighbours at every in-between place, the node itself first: (factor, 4)."""
    t = np.arange(factor) / factor
    weights = [-t + 2.0 * t**2 - t**3, 2.0 - 5.0 * t**2 + 3.0 * t**3, t + 4.0 * t**2 - 3.0 * t**3, -(t**2) + t**3]
    return 0.5 * np.stack(weights, axis=1)


def refine(values: Array, factor: int) -> Array:
    """Refine along the last axis by a local cubic with quadratic ghost points at the ends.

    p(t) = w_0 f_-1 + w_1 f_0 + w_2 f_1 + w_3 f_2, w after Catmull and Rom; f_-1 = 3 f_0 - 3 f_1 + f_2 at an end

    values: values at even nodes, last axis n, in any unit [-]
    factor: places for one [1]
    Result: values at (n - 1) factor + 1 places [-]. Range: three nodes or more; a parabola comes back exactly.
    Source: Catmull and Rom, A class of local interpolating splines (1974).

    >>> refine(np.array([0.0, 1.0, 4.0, 9.0]), 2).tolist()
    [0.0, 0.25, 1.0, 2.25, 4.0, 6.25, 9.0]
    """
    if values.shape[-1] < 3:
        raise ValueError(f"values: {values.shape[-1]} nodes: accepted: 3 or more")
    n = values.shape[-1]
    padded = np.empty((*values.shape[:-1], n + 2))
    padded[..., 1:-1] = values
    padded[..., 0] = 3.0 * values[..., 0] - 3.0 * values[..., 1] + values[..., 2]
    padded[..., -1] = 3.0 * values[..., -1] - 3.0 * values[..., -2] + values[..., -3]
    out = np.empty((*values.shape[:-1], (n - 1) * factor + 1))
    out[..., ::factor] = values
    # Slices with fixed weights: a threaded matrix product costs several times more on so small an array.
    parts = [padded[..., k : k + n - 1] for k in range(4)]
    for place in range(1, factor):
        w = _weights(factor)[place]
        out[..., place::factor] = w[0] * parts[0] + w[1] * parts[1] + w[2] * parts[2] + w[3] * parts[3]
    return out


def _gear_tip_arc(blank: Blank, rows: _Rows, sides: Array, errors: Errors, phase_of: Array) -> Array:
    """Roll arc at which the pinion point at its contact phase lies on the gear's tip line: one secant step, (2, n, 1)."""

    def over(roll: Array, phase: Array) -> Array:
        touch = gap(blank, sides, rows.radius, roll, phase, errors=errors)
        tip = blank.outer_addenda[GEAR] + (touch.along - blank.cones.outer) * math.tan(blank.addendum_angles[GEAR])
        return touch.height - tip

    first = np.broadcast_to(rows.low, phase_of.shape)
    miss = over(first, phase_of)
    step = miss / (rows.radius * math.sin(blank.pressure_angle))
    second = first + step
    slope = over(second, phase_of + step / rows.at.sin_base[PINION]) - miss
    moved = np.where(np.abs(slope) > 1e-12, -miss * step / np.where(np.abs(slope) > 1e-12, slope, 1.0), 0.0)
    return np.clip(first + moved, 0.0, rows.high)


def tabulate(
    blank: Blank,
    sides: tuple[int, int],
    ease_offs: tuple[EaseOff, EaseOff],
    errors: Errors,
    *,
    nodes: int = NODES,
    refinement: int = REFINEMENT,
) -> FlankTable:
    """Gap and contact phase of every point of both flanks of a displaced pair.

    q0 = (phi - phi_p1)/sin db1 - s psi_1 - eta_1, F_q = (F(q0 + d) - F(q0 - d))/2d, D = -F_q / k1, E = F(q0) + F_q D / 2 + e / a,
    q* = q0 + D, k1 = kr (sin phi cos db1)^2, k2 = kr (sin phi2 cos db2 sin db1 / sin db2)^2, kr = (cot phi + cot phi2)/sin db2

    blank: the pair [mm, rad]
    sides: flanks tabulated first and second, +1 or -1 [1]
    ease_offs: relief of the gear flank, for each [um]
    errors: shifts and errors of the axes [mm, rad]
    nodes: rows and points before refinement [1]
    refinement: places for one, each way [1]
    Result: table [rad, mm]. Range: shifts to about a tenth of the module; no fillet contact.
    Source: own derivation; the gap of `calc.flank` is quadratic in the phase about contact.

    >>> from calc.bevel import blank
    >>> from calc.flank import ALIGNED
    >>> pair = blank(16, 48, 3.175, face_width=25.4, pressure_angle=math.radians(20.0), backlash=0.2)
    >>> table = tabulate(pair, (1, -1), (EaseOff(), EaseOff()), ALIGNED)
    >>> round(float(table.gap[0].min()) * pair.outer_diameters[GEAR] / 2.0, 4)
    0.1
    """
    rows = _rows(blank, nodes)
    side = np.array(sides, dtype=np.float64)[:, None, None]
    at = rows.at
    low = rows.low[None]
    if errors != Errors():
        low = _gear_tip_arc(blank, rows, side, errors, contact_phase(blank, side, rows.radius, rows.low))
    span = rows.high - low
    share = np.linspace(0.0, 1.0, nodes)
    roll = np.broadcast_to(low + share * span, (2, nodes, nodes))
    aligned = contact_phase(blank, side, rows.radius, roll)
    steps = np.array([0.0, PHASE_STEP, -PHASE_STEP])[:, None, None, None]
    touch = gap(blank, side, rows.radius, roll, aligned + steps, errors=errors)
    here, ahead, behind = touch.gap
    slope = (ahead - behind) / (2.0 * PHASE_STEP)
    arc = np.maximum(roll, LEAST_ARC)
    mate = np.maximum(rows.total - roll, LEAST_ARC)
    bend = (1.0 / np.tan(arc) + 1.0 / np.tan(mate)) / at.sin_base[GEAR]
    pinion_fixed = bend * (np.sin(arc) * at.cos_base[PINION]) ** 2
    gear_fixed = bend * (np.sin(mate) * at.cos_base[GEAR] * at.sin_base[PINION] / at.sin_base[GEAR]) ** 2
    lag = np.clip(-slope / pinion_fixed, -LARGEST_LAG, LARGEST_LAG)
    face, depth, arm = touch.face[0], touch.depth[0], touch.arm[0]
    relief = np.stack([ease.at(face[i], depth[i]) for i, ease in enumerate(ease_offs)]) / arm
    fields = np.stack((here + 0.5 * slope * lag + relief, aligned + lag, face, depth, arm))
    edges = np.stack((pinion_fixed[..., -1], gear_fixed[..., 0]))
    if refinement > 1:
        fields = refine(np.swapaxes(refine(np.swapaxes(fields, -1, -2), refinement), -1, -2), refinement)
        edges = refine(edges, refinement)
    value, phase, face, depth, arm = fields
    return FlankTable(value, phase, face, depth, arm, edges[0], edges[1], rows.undercut, bool((span > 0.0).any()))
