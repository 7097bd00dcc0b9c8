"""What a change of each position gasket does: positions, end plays, backlash and pattern by the tooth model.

mm throughout. Shifts are from the etched mounting distances, away from the crossing point positive; places of a pattern are read on
the gear [%]. Contents: `Effect`, `Effects`, `effects`, `STEPS`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from calc.contact import Contact
from calc.flank import Errors
from geometry.machine import GASKET_RANGE, Gasket
from geometry.reducer import Reducer
from scenes.callouts.bench import mesh_rates
from scenes.positions import Positions, positions
from scenes.settings import POSITION_GASKETS
from scenes.tooth_contact import meeting

INCH = 25.4
STEPS = {"mm": (0.05, 0.10, 0.25), "inch": (0.002 * INCH, 0.005 * INCH, 0.010 * INCH)}
"""Changes of free thickness in the table, either way, by unit system [mm]."""

State = Literal["ok", "jammed", "out_of_mesh", "too_thin"]


@dataclass(frozen=True, eq=False)
class Effect:
    """One gasket changed by so much, free and clamped [mm]; `gasket` is empty for the present state.

    positions: ends of the chains, None where the gasket would be thinner than can be; shift: of pinion and gear; contact: None where the
    model says nothing; first_order: backlash by the rates where the teeth touch, handbook: by the handbook form [mm].
    """

    gasket: str
    change: float
    clamped_change: float
    free: float
    positions: Positions | None
    shift: Errors
    contact: Contact | None
    first_order: float
    handbook: float

    @property
    def state(self) -> State:
        """Whether the teeth mesh, jam or are out of mesh; or the gasket can't be so thin."""
        if self.positions is None:
            return "too_thin"
        return self.contact.state if self.contact is not None else "out_of_mesh"

    @property
    def backlash(self) -> float | None:
        """Backlash at the heel by the tooth model [mm]; None where the teeth are out of mesh."""
        return self.contact.backlash.outer if self.contact is not None and self.contact.backlash is not None else None

    @property
    def places(self) -> tuple[tuple[float, float], tuple[float, float]] | None:
        """Centre of the pattern on drive and coast, along the face from the toe and over the depth from the root [%]."""
        if self.contact is None or self.contact.drive is None or self.contact.coast is None:
            return None
        marks = self.contact.drive.pattern, self.contact.coast.pattern
        return (marks[0].centre_along, marks[0].centre_depth), (marks[1].centre_along, marks[1].centre_depth)


@dataclass(frozen=True, eq=False)
class Effects:
    """The present state, and for each position gasket its changes from the thinnest to the thickest."""

    present: Effect
    rows: Mapping[str, tuple[Effect, ...]]


def after(reducer: Reducer, gasket: str, change: float) -> Effect:
    """State with one gasket changed by so much, free [mm]; no gasket: the present state."""
    if not gasket:
        return _effect(reducer, "", 0.0, 0.0, 0.0, positions(reducer))
    item: Gasket = getattr(reducer.machine.gaskets, gasket)
    clamped, free = change * (1.0 - item.compression), item.thickness + change
    there = positions(reducer, {gasket: clamped}) if free >= GASKET_RANGE[0] - 1e-9 else None
    return _effect(reducer, gasket, change, clamped, free, there)


def _effect(reducer: Reducer, gasket: str, change: float, clamped: float, free: float, there: Positions | None) -> Effect:
    gears, rates = reducer.machine.gears, mesh_rates(reducer)
    at = there if there is not None else positions(reducer)
    shift = Errors(
        pinion=at.pinion_running - gears.pinion_mounting_distance.nominal,
        gear=at.gear_distance - gears.gear_mounting_distance.nominal,
    )
    handbook = gears.design_backlash + rates.pinion.handbook * shift.pinion + rates.gear.handbook * shift.gear
    first = gears.design_backlash + rates.change(shift.pinion, shift.gear)
    return Effect(gasket, change, clamped, free, there, shift, found(reducer, shift) if there else None, first, handbook)


def found(reducer: Reducer, shift: Errors) -> Contact | None:
    """Contact at these shifts; None where they are farther than the model goes [mm]."""
    try:
        return meeting(reducer, shift)
    except ValueError:
        return None


def effects(reducer: Reducer, system: Literal["mm", "inch"]) -> Effects:
    """The table of one machine: STEPS of the unit system either way on each position gasket."""
    changes = sorted(sign * size for size in STEPS[system] for sign in (-1, 1))
    return Effects(
        after(reducer, "", 0.0), {name: tuple(after(reducer, name, change) for change in changes) for name in POSITION_GASKETS}
    )
