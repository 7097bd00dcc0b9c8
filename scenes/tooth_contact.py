"""How the pair meets in this machine: shifts from the chains, contact and backlash from the tooth model. Indicative throughout.

mm, rad. Shifts are from the mounting distances etched on the set, away from the crossing point positive; the pinion stands on its
running stop, the gear rests down.
"""

from __future__ import annotations

from functools import lru_cache

from calc.backlash import mesh_rates
from calc.bevel import Blank
from calc.contact import Contact, contact, end_play_rates
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


def end_play_rate(blank: Blank) -> float:
    """What pinion end play left in adds to the dial, over a reading with the pinion held on its running stop [mm/mm].

    From the inner stop it adds its rate on the flank that pushes out; the running stop lies the play farther out. Straight teeth push
    the pinion to its running stop themselves: nothing is added.
    """
    return sum(end_play_rates(blank)) - mesh_rates(blank).pinion.touching


@lru_cache(maxsize=256)
def _meeting(blank: Blank, pinion: int, gear: int, indicator_radius: float | None) -> Contact:
    return contact(blank, EaseOff(), Errors(pinion=pinion * STEP, gear=gear * STEP), indicator_radius=indicator_radius)
