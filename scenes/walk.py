"""Walk the gaskets: the pair set right, then pinion and gear each out and in by the same amount, computed for one machine.

mm. "Right" stands at the etched mounting distances. The amount is cut down until no state jams or goes out of mesh.
Contents: `Stop`, `Walk`, `walk`, `report`, `csv_rows`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal

from calc import units
from calc.contact import Contact
from calc.flank import ALIGNED, Errors
from geometry.machine import Gasket
from geometry.reducer import Reducer
from scenes import pattern_words
from scenes.effects import INCH, found
from scenes.wording import text, texts

System = Literal["mm", "inch"]
AMOUNT = {"mm": (0.15, 0.01), "inch": (0.006 * INCH, 0.0005 * INCH)}
"""How far each member is moved, and by how much that is cut down where it jams, by unit system [mm]."""
SMALLEST_MOVE = 1.5
"""A centre that moves less than this is said to stay [%]: own choice."""
NAMES = ("right", "pinion_out", "pinion_in", "gear_out", "gear_in")
COLUMNS = (
    "state", "gasket", "free_change_mm", "clamped_change_mm", "pinion_shift_mm", "gear_shift_mm", "backlash_mm", "backlash_change_mm",
    "drive_along_percent", "drive_depth_percent", "coast_along_percent", "coast_depth_percent", "sentence", "effect",
)  # fmt: skip
"""Columns of gaskets.csv."""


class CannotWalk(ValueError):
    """The pair doesn't mesh at its etched distances, so there is nothing to start from."""


@dataclass(frozen=True, eq=False)
class Stop:
    """One state: which gasket differs and by how much, free and clamped [mm]; contact; what moved; what it does, in sentences."""

    name: str
    gasket: str
    free_change: float
    clamped_change: float
    shift: Errors
    contact: Contact
    sentence: str
    effect: str

    @property
    def backlash(self) -> float:
        """Backlash at the heel [mm]."""
        assert self.contact.backlash is not None
        return self.contact.backlash.outer

    @property
    def places(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Centre of the pattern on drive and coast, from the toe and up from the root [%]."""
        drive, coast = self.contact.drive, self.contact.coast
        assert drive is not None and coast is not None
        return (drive.pattern.centre_along, drive.pattern.centre_depth), (coast.pattern.centre_along, coast.pattern.centre_depth)


@dataclass(frozen=True, eq=False)
class Walk:
    """The five states, and how far pinion and gear are moved [mm]; `cut`: less than the usual amount, so that nothing jams."""

    amount: float
    cut: bool
    stops: tuple[Stop, ...]


def _shifts(amount: float) -> tuple[Errors, ...]:
    return ALIGNED, Errors(pinion=amount), Errors(pinion=-amount), Errors(gear=amount), Errors(gear=-amount)


def walk(reducer: Reducer, system: System) -> Walk:
    """The five states of one machine. Raises CannotWalk."""
    usual, less = AMOUNT[system]
    count = round(usual / less)
    for left in range(count, 0, -1):
        amount = left * less
        met = [contact for shift in _shifts(amount) if (contact := found(reducer, shift)) is not None and contact.state == "ok"]
        if len(met) == len(NAMES):
            break
    else:
        raise CannotWalk(text("walk.cannot", least=units.show(less, "length", system)))
    stops: list[Stop] = []
    for name, shift, contact in zip(NAMES, _shifts(amount), met, strict=True):
        stops.append(_stop(reducer, system, name, shift, contact, stops[0] if stops else None))
    return Walk(amount, left < count, tuple(stops))


def _stop(reducer: Reducer, system: System, name: str, shift: Errors, contact: Contact, right: Stop | None) -> Stop:
    if right is None:
        sentence = text("walk.right")
        return Stop(name, "", 0.0, 0.0, shift, contact, sentence, text("walk.right_effect"))
    member = "pinion" if shift.pinion else "gear"
    gasket, chain = f"{member}_gasket", "pinion_running" if member == "pinion" else "gear_distance"
    clamped = (shift.pinion + shift.gear) / reducer.chain(chain).per_gasket
    item: Gasket = getattr(reducer.machine.gaskets, gasket)
    free = clamped / (1.0 - item.compression)
    sentence = text(
        f"walk.{name}", amount=units.show(abs(clamped), "length", system), gasket=text(f"part.{gasket}"),
        free=units.show(abs(free), "length", system), more=text("walk.thicker" if free > 0.0 else "walk.thinner"),
    )  # fmt: skip
    bare = Stop(name, gasket, free, clamped, shift, contact, sentence, "")
    return Stop(name, gasket, free, clamped, shift, contact, sentence, _effect(bare, right, system))


def _effect(stop: Stop, right: Stop, system: System) -> str:
    """What the move did to backlash and pattern, as computed; of a gear moved away the way along the face only, as the trade tells it."""
    change = units.show(stop.backlash - right.backlash, "length", system, signed=True)
    moves = []
    for flank, now, was in zip(("drive", "coast"), stop.places, right.places, strict=True):
        ways = [("along", now[0] - was[0])] if stop.name == "gear_out" else [("along", now[0] - was[0]), ("depth", now[1] - was[1])]
        said = [text(f"walk.toward.{axis}_{'up' if by > 0.0 else 'down'}") for axis, by in ways if abs(by) >= SMALLEST_MOVE]
        moves.append(text("walk.moves", flank=text(f"flank.{flank}"), ways=text("walk.and").join(said) or text("walk.stays")))
    return text("walk.effect", change=change, moves="; ".join(moves))


def report(found_walk: Walk, machine: str, system: System) -> dict[str, Any]:
    """What gaskets.json holds; figures in mm and percent."""
    return {
        "machine": machine,
        "units": system,
        "indicative": True,
        "amount": found_walk.amount,
        "cut": found_walk.cut,
        "notes": list(texts("walk.notes")),
        "states": [
            {
                "name": stop.name,
                "title": text(f"walk.title.{stop.name}"),
                "gasket": stop.gasket,
                "free_change": stop.free_change,
                "clamped_change": stop.clamped_change,
                "pinion_shift": stop.shift.pinion,
                "gear_shift": stop.shift.gear,
                "backlash": stop.backlash,
                **{
                    flank: {"along": place[0], "depth": place[1], "words": pattern_words.place(*place)}
                    for flank, place in zip(("drive", "coast"), stop.places, strict=True)
                },
                "remarks": list(stop.contact.remarks),
                "sentence": stop.sentence,
                "effect": stop.effect,
            }
            for stop in found_walk.stops
        ],
    }


def csv_rows(found_walk: Walk) -> Iterator[tuple[Any, ...]]:
    """Rows of gaskets.csv under COLUMNS."""
    right = found_walk.stops[0]
    for stop in found_walk.stops:
        figures = (
            stop.free_change,
            stop.clamped_change,
            stop.shift.pinion,
            stop.shift.gear,
            stop.backlash,
            stop.backlash - right.backlash,
        )
        places = [value for place in stop.places for value in place]
        yield (stop.name, stop.gasket, *(round(value, 4) for value in (*figures, *places)), stop.sentence, stop.effect)
