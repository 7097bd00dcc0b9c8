"""How the pair meets in this machine: shifts from the chains, contact and backlash from the tooth model. Indicative throughout.

mm, rad. Shifts are from the mounting distances etched on the set, away from the crossing point positive; the pinion stands on its
running stop, the gear rests down.
"""

from __future__ import annotations

from functools import lru_cache

from calc.bevel import Blank
from calc.contact import Contact, contact
from calc.flank import EaseOff, Errors
from geometry.reducer import Reducer
from scenes.positions import closed, solved

STEP = 1e-4
"""Shifts closer than this share a result [mm]."""


def displacement(reducer: Reducer) -> Errors:
    """How far pinion and gear stand from their etched mounting distances, by the chains with the present gaskets [mm]."""
    gears = reducer.machine.gears
    running, gear = closed(reducer, reducer.chain("pinion_running")), solved(reducer.chain("gear_distance"))
    return Errors(
        pinion=running.nominal - gears.pinion_mounting_distance.nominal, gear=gear.nominal - gears.gear_mounting_distance.nominal
    )


def meeting(reducer: Reducer, errors: Errors | None = None, *, indicator_radius: float | None = None) -> Contact:
    """Contact of the machine's pair where it stands, or at the shifts given [mm]; kept."""
    at = displacement(reducer) if errors is None else errors
    return _meeting(reducer.blank, round(at.pinion / STEP), round(at.gear / STEP), indicator_radius)


@lru_cache(maxsize=256)
def _meeting(blank: Blank, pinion: int, gear: int, indicator_radius: float | None) -> Contact:
    return contact(blank, EaseOff(), Errors(pinion=pinion * STEP, gear=gear * STEP), indicator_radius=indicator_radius)
