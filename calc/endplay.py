"""End play of a shaft between an inner stop and a cover's spigot, and the gasket that sets it.

mm. Ring-stack float only: the mounted internal play of the pair, if above zero, adds to it.
"""

from __future__ import annotations

from math import isfinite


def end_play(depth: float, gasket: float, stack: float, spigot: float, internal_play: float = 0.0) -> float:
    """End play: e = H + t - W - C (+ the pair's mounted internal play when above zero).

    depth: H, cartridge face to bearing seat [mm]
    gasket: t, clamped thickness [mm]
    stack: W, outer rings and spacer [mm]
    spigot: C, length of the cover's spigot [mm]
    internal_play: mounted internal axial play of the pair, preload negative [mm]
    Result: end play, negative = the stack is squeezed [mm]. Range: any finite. Source: dimension chain.

    >>> round(end_play(58.2, 0.5, 43.0, 15.5), 3)
    0.2
    """
    if not all(isfinite(value) for value in (depth, gasket, stack, spigot, internal_play)):
        raise ValueError("end play: accepted: finite lengths")
    return depth + gasket - stack - spigot + max(internal_play, 0.0)


def gasket_compressed(free: float, compression: float) -> float:
    """Clamped thickness of a gasket: t = t0 (1 - c).

    free: thickness as cut t0 [mm]
    compression: share c that it gives when clamped [1]
    Result: clamped thickness [mm]. Range: free >= 0, 0 <= compression < 1. Source: common practice; sheet makers print 7 to 17 % (ASTM F36 J).

    >>> round(gasket_compressed(0.5, 0.10), 3)
    0.45
    """
    if free < 0.0 or not 0.0 <= compression < 1.0:
        raise ValueError(f"gasket {free} mm, compression {compression}: accepted: 0 mm or more, 0 to below 1")
    return free * (1.0 - compression)


def gasket_change_for_end_play(present: float, wanted: float, covers: int = 1) -> float:
    """Thickness to add under the cover(s): (wanted - present) / covers.

    present: end play read [mm]
    wanted: end play wanted [mm]
    covers: covers that get the same change [1]
    Result: change of clamped thickness, positive adds [mm]. Range: one or two covers. Source: dimension chain.

    >>> round(gasket_change_for_end_play(0.10, 0.20), 3)
    0.1
    """
    if covers not in (1, 2):
        raise ValueError(f"covers = {covers}: accepted: 1 or 2")
    return (wanted - present) / covers
