"""Whether the teeth let pinion and gear come together along a line, by the flank model: backlash must stay above zero [mm].

Two ways are known: the gear comes (or goes) along its own axis, or the pinion slides along its own, turning with the spiral. The
teeth are out of mesh once the pitch cones stand a whole depth apart.
"""

from __future__ import annotations

from math import inf, sin

import numpy as np

from calc.bevel import GEAR, PINION, Blank
from calc.flank import Errors, closing_rotations
from geometry.blocking import Vector

SAMPLES = 9
"""Positions looked at between the seat and out of mesh."""
STRAY = 1e-6
"""Sideways shift that still counts as none [mm]."""


def out_of_mesh(blank: Blank, apart: tuple[float, float]) -> float:
    """How far the pitch cones stand apart over the whole depth of the teeth: 1 and more is out of mesh.

    `apart`: pinion and gear, each away from the crossing point along its own axis [mm].
    """
    angles = blank.cones.angles
    normal = apart[0] * sin(angles[PINION]) + apart[1] * sin(angles[GEAR])
    depth = blank.outer_addenda[PINION] + blank.outer_dedenda[PINION]
    return normal / depth


def teeth_touch(
    blank: Blank, shifts: tuple[float, float], offset: Vector, way: Vector, until: float
) -> tuple[float | None, float] | None:
    """Where the teeth get in each other's way while the pinion comes in relative to the gear.

    `shifts`: of pinion and gear in their seats from their marked distances [mm]; `offset`: of the line from the seat, `way`:
    direction that the pinion comes from as the gear sees it, in the reducer's frame [mm, -]; `until`: start of the line [mm].
    Result: (travel left where the backlash is used up, or None; travel from which on the teeth are out of mesh) [mm]; None for a way
    that the flank model does not know.
    """
    if abs(offset[1]) > STRAY or abs(way[1]) > STRAY or min(way[0], way[2]) < -STRAY or min(offset[0], offset[2]) < -STRAY:
        return None
    rate = out_of_mesh(blank, (way[0], way[2]))
    start = out_of_mesh(blank, (offset[0], offset[2]))
    if start >= 1.0:
        return None, 0.0
    clear = min((1.0 - start) / rate, until)
    for travel in np.linspace(clear, 0.0, SAMPLES):
        apart = (offset[0] + way[0] * travel, offset[2] + way[2] * travel)
        if out_of_mesh(blank, apart) >= 1.0 - 1e-9:
            continue
        drive, coast = closing_rotations(blank, errors=Errors(shifts[0] + apart[0], shifts[1] + apart[1]))
        if not drive + coast > 0.0:
            return float(travel), clear
    return None, clear if clear < inf else 0.0
