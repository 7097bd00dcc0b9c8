"""Interference fits: the gap a hot-fitted hub leaves at its shoulder when it shrinks back, a bearing ring's interference.

Lengths mm, temperatures °C, expansion 1/K. Interference is positive and diametral in this module.
"""

from __future__ import annotations

from typing import overload

import numpy as np

from calc.arrays import Array, Numbers, check_all

FAR_END, MIDDLE, SHOULDER = 1.0, 0.5, 0.0
"""Where a hub grips first, as a fraction of its grip length from the shoulder."""
LARGEST_RING_INTERFERENCE = 7e-4
"""Largest advisable interference of a bearing ring over the shaft diameter [1]: common practice, a bearing handbook."""


@overload
def first_grip_rise(interference: float, diameter: float, expansion: float) -> float: ...  # type: ignore[overload-overlap]
@overload
def first_grip_rise(interference: Numbers, diameter: Numbers, expansion: Numbers) -> Array: ...
def first_grip_rise(interference: Numbers, diameter: Numbers, expansion: Numbers) -> Numbers:
    """How much hotter than the shaft a hub is when its bore first grips: dT = I / (alpha d).

    interference: interference when both are cold, positive, a number or an array [mm]
    diameter: nominal diameter of the fit, a number or an array [mm]
    expansion: mean linear expansion coefficient of the hub [1/K]
    Result: temperature difference [K]. Range: interference not negative. Source: definition of linear expansion.

    >>> round(first_grip_rise(0.08, 110.0, 12.0e-6), 1)
    60.6
    """
    check_all("interference", interference, np.asarray(interference) >= 0.0, "0 or more")
    check_all("diameter", diameter, np.asarray(diameter) > 0.0, "more than 0")
    check_all("expansion", expansion, np.asarray(expansion) > 0.0, "more than 0")
    return interference / (expansion * diameter)


@overload
def shrink_back_gap(  # type: ignore[overload-overlap]
    interference: float, grip_length: float, diameter: float, grip_at: float = FAR_END
) -> float: ...
@overload
def shrink_back_gap(interference: Numbers, grip_length: Numbers, diameter: Numbers, grip_at: Numbers = FAR_END) -> Array: ...
def shrink_back_gap(interference: Numbers, grip_length: Numbers, diameter: Numbers, grip_at: Numbers = FAR_END) -> Numbers:
    """Axial gap at the shoulder after a hot hub has gripped and cooled without being held: g = I L k / d.

    Only the length between the shoulder and the place that grips first pulls away; k is that place as a fraction of L.
    Upper bound: a hub held against the shoulder, cooled from the shoulder end and retightened keeps less.

    interference: interference when cold, a number or an array, positive; a clearance fit leaves no gap [mm]
    grip_length: length of hub in contact L, a number or an array [mm]
    diameter: nominal diameter of the fit, a number or an array [mm]
    grip_at: 0 at the shoulder, 0.5 mid-length, 1 at the far end [1]
    Result: gap [mm]. Range: grip_at 0 to 1, diameter more than 0, length 0 or more, else ValueError. Source: derived (free shrinkage from first grip; no published number found).

    >>> round(shrink_back_gap(0.08, 100.0, 110.0), 4)
    0.0727
    """
    place = np.asarray(grip_at)
    check_all("grip_at", grip_at, (place >= SHOULDER) & (place <= FAR_END), "0 (shoulder) to 1 (far end)")
    check_all("diameter", diameter, np.asarray(diameter) > 0.0, "more than 0")
    check_all("grip_length", grip_length, np.asarray(grip_length) >= 0.0, "0 or more")
    gap = np.maximum(0.0, interference) * grip_length * grip_at / diameter
    return float(gap) if np.ndim(gap) == 0 else gap


def mounting_distance_sign(shoulder_is_farther_out: bool) -> int:
    """Which way a shrink-back gap moves a gear's mounting distance: the hub leaves its shoulder.

    shoulder_is_farther_out: True when the shoulder is farther from the crossing point than the hub [-]
    Result: -1 the mounting distance shrinks (toward the crossing point), +1 it grows [1]. Range: a hub drawn up to one shoulder.
    Source: geometry of the seat.

    >>> mounting_distance_sign(True)
    -1
    """
    return -1 if shoulder_is_farther_out else 1


@overload
def largest_ring_interference(diameter: float) -> float: ...
@overload
def largest_ring_interference(diameter: Array) -> Array: ...
def largest_ring_interference(diameter: Numbers) -> Numbers:
    """Largest advisable interference of a rolling bearing's inner ring: 7/10000 of the shaft diameter.

    diameter: shaft diameter, a number or an array [mm]
    Result: interference [mm]. Range: solid steel shafts. Source: common practice (a bearing handbook), no standard.

    >>> round(largest_ring_interference(110.0), 3)
    0.077
    """
    return LARGEST_RING_INTERFERENCE * diameter
