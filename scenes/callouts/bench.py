"""What the notes of one step are computed from, and how a note is made.

Internal units (mm, degC, s, kg, N, N·m, MPa). A note carries its figure, its limit, its verdict, and how the figure was found.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from math import isfinite
from typing import Any

from calc import backlash, units
from calc.contact import Contact
from calc.flank import Errors
from geometry.joints import Fit, Vector
from geometry.reducer import Reducer
from scenes import tooth_contact
from scenes.frame import Callout, Verdict
from scenes.positions import closed, solved
from scenes.procedure import Step
from scenes.settings import Settings
from scenes.standing import Held
from scenes.wording import text

SLACK = 1e-6
"""Limit comparisons get 1 nm of slack [mm]."""
MINUTES_FROM = 120.0
"""A time in hand is told in whole minutes from here on [s]: the cooling model is no better than 20 %."""
GASKET_STEP = {"mm": 0.1, "inch": 0.127}
"""Gasket change told in the notes, by unit system: 0.1 mm, 0.005 in [mm]."""


def verdict_of(value: float, low: float, high: float, low_limit: float, high_limit: float) -> Verdict:
    """`stop` the value is outside, `watch` its band crosses a limit, `fine` the whole band is inside."""
    if value < low_limit - SLACK or value > high_limit + SLACK:
        return "stop"
    if low < low_limit - SLACK or high > high_limit + SLACK:
        return "watch"
    return "fine"


@dataclass(frozen=True, eq=False)
class Bench:
    """The effective reducer, the step, what arrives in it (of that `merged`, which stood together before on a bench of its own), what
    stands after it, the settings, the readings that stand."""

    reducer: Reducer
    step: Step
    arriving: frozenset[str]
    standing: frozenset[str]
    settings: Settings
    merged: frozenset[str] = frozenset()
    held: Mapping[str, Held] = field(default_factory=dict)

    @property
    def ambient(self) -> float:
        """Workshop temperature [degC]."""
        return self.settings.ambient if self.settings.ambient is not None else self.reducer.machine.shop.ambient

    def shown(self, value: float, kind: str, **how: Any) -> str:
        """A figure with its unit in the chosen system."""
        return units.show(value, kind, self.settings.units, **how)

    def apart(self, one: float, other: float) -> tuple[str, str]:
        """Two lengths with as many digits as it takes to tell them apart [mm]."""
        usual = 3 if self.settings.units == "mm" else 4
        told = [
            (self.shown(one, "length", digits=digits), self.shown(other, "length", digits=digits))
            for digits in range(usual, usual + 3)
        ]
        return next((pair for pair in told if pair[0] != pair[1]), told[-1])

    def size(self, value: float, digits: int | None = None) -> str:
        """A nominal size without the zeros that say nothing."""
        return units.trimmed(self.shown(value, "length", digits=digits))

    def about(self, seconds: float) -> str:
        """A time that is only known roughly: whole minutes from 100 s on."""
        return self.shown(seconds, "time", digits=0)

    def within(self, seconds: float) -> str:
        """A time in hand that must not be overrun: rounded down, to whole minutes from 2 min on."""
        if not isfinite(seconds):
            return self.shown(seconds, "time")
        whole = 60.0 if seconds >= MINUTES_FROM else 5.0 if seconds >= 100.0 else 1.0
        return self.shown(max(0.0, seconds // whole * whole), "time", digits=0 if seconds >= MINUTES_FROM else None)

    def degrees(self, value: float) -> str:
        """A temperature to the whole degree."""
        return self.shown(value, "temperature", digits=0)

    def made(self, parts: Iterable[str]) -> bool:
        """Whether this step brings these parts together: all stand, at least one arrives."""
        names: set[str] = set()
        for name in parts:
            if name:
                names.update(self.reducer.members(name))
        return bool(names) and names <= self.standing and bool(names & self.arriving) and not names <= self.merged

    @property
    def new(self) -> frozenset[str]:
        """What is fitted in this step, without what stood together before."""
        return self.arriving - self.merged

    @cached_property
    def contact(self) -> Contact | None:
        """How the pair meets where the chains leave it; None where it doesn't, or can't be said."""
        return met(self.reducer, tooth_contact.displacement(self.reducer))

    @cached_property
    def backlash(self) -> tuple[float, float, float]:
        """Backlash at the heel, low and high of its band [mm]: the tooth model's value; the band goes to the handbook's first order and
        over the tolerances of the chains. Where the teeth don't meet, first order alone."""
        rates, design = mesh_rates(self.reducer), self.reducer.machine.gears.design_backlash
        shift = tooth_contact.displacement(self.reducer)
        value = design + rates.change(shift.pinion, shift.gear)
        if self.contact is not None and self.contact.backlash is not None:
            value = self.contact.backlash.outer
        handbook = design + rates.pinion.handbook * shift.pinion + rates.gear.handbook * shift.gear
        running, gear = closed(self.reducer, self.reducer.chain("pinion_running")), solved(self.reducer.chain("gear_distance"))
        ends = [
            start + slopes[0] * (pinion - running.nominal) + slopes[1] * (place - gear.nominal)
            for pinion in (running.low, running.high)
            for place in (gear.low, gear.high)
            for start, slopes in (
                (value, (rates.pinion.touching, rates.gear.touching)),
                (handbook, (rates.pinion.handbook, rates.gear.handbook)),
            )
        ]
        return value, min(ends), max(ends)


def met(reducer: Reducer, errors: Errors) -> Contact | None:
    """Contact at these shifts; None where the teeth are out of mesh or so far away that the model says nothing."""
    try:
        found = tooth_contact.meeting(reducer, errors)
    except ValueError:
        return None
    return found if found.backlash is not None else None


_rates: dict[Any, backlash.MeshRates] = {}


def mesh_rates(reducer: Reducer) -> backlash.MeshRates:
    """Backlash per millimetre of shift for this pair, kept."""
    found = _rates.get(reducer.blank)
    if found is None:
        found = _rates[reducer.blank] = backlash.mesh_rates(reducer.blank)
    return found


def note(
    key: str,
    part: str,
    at: Vector,
    says: str,
    value: float,
    unit: str,
    short: str,
    /,
    *,
    how: str,
    given: Mapping[str, str] | Iterable[str] = (),
    limit: str = "",
    verdict: Verdict = "",
    source: str = "",
    **values: Any,
) -> Callout:
    """A finished note. `says`, `how`: keys of the catalogue for the sentence and for the formula; `given`: the figures that the formula
    was fed, by name (the catalogue's [inserted] line of that formula) or as finished lines; `values`: the figures in the sentence."""
    if isinstance(given, Mapping):
        inserted = (text(f"inserted.{how}", **given),)
    else:
        inserted = tuple(given)
    point = (float(at[0]), float(at[1]), float(at[2]))
    sentence = text(f"callout.{says}", **values)
    return Callout(key, part, point, sentence, short, value, unit, limit, verdict, source, text(f"formula.{how}"), inserted)


def measured(bench: Bench, read: str, model: Callout, says: str, **values: Any) -> Callout:
    """The note of a figure that is worked out, told as it was measured where a reading of it stands: that is judged, the model's figure
    stands beside it. `says`: key of the sentence; `values`: what else stands in it."""
    held = bench.held.get(read)
    if held is None:
        return model
    value, entry = bench.shown(held.value, "length"), text("callout.entry", number=held.entry)
    if held.count > 1 and held.high - held.low > SLACK:
        entry = text("callout.entry_several", number=held.entry, count=held.count, band=from_to(bench, held.low, held.high))
    told = text(
        f"callout.{says}",
        value=value,
        entry=entry,
        expected=bench.shown(model.value if held.expected is None else held.expected, "length"),
        **values,
    )
    state: Verdict = held.verdict
    if state in ("stop", "watch") and held.value > 0.0:
        told += " " + text(f"callout.measured_{state}", number=held.entry)
    if held.doubted:
        told += " " + text("callout.measured_doubted", number=held.doubted)
        state = "watch" if state == "fine" else state
    read_as = text("inserted.measured", value=value, entry=entry)
    beside = text("inserted.measured_model", formula=model.formula)
    return replace(
        model, text=told, value=held.value, verdict=state, source=text("source.reading", number=held.entry),
        formula=text("formula.measured"), inserted=(read_as, beside, *model.inserted), entry=held.entry,
    )  # fmt: skip


def part_name(name: str) -> str:
    """The part's name in words."""
    return text(f"part.{name}")


def at_most(limit: str) -> str:
    """A limit in words."""
    return text("callout.at_most", limit=limit)


def at_least(limit: str) -> str:
    """A limit in words."""
    return text("callout.at_least", limit=limit)


def from_to(bench: Bench, low: float, high: float, kind: str = "length", **how: Any) -> str:
    """A range in words."""
    return text("callout.from_to", low=bench.shown(low, kind, **how), high=bench.shown(high, kind, **how))


def clearance_band(bench: Bench, low: float, high: float) -> str:
    """A clearance band in words: tight, free or either."""
    if abs(high - low) < SLACK:
        return text("callout.band_one_tight" if low < 0.0 else "callout.band_one_free", value=bench.shown(abs(low), "length"))
    if high <= 0.0:
        return text("callout.band_tight", low=bench.shown(-high, "length"), high=bench.shown(-low, "length"))
    if low >= 0.0:
        return text("callout.band_free", low=bench.shown(low, "length"), high=bench.shown(high, "length"))
    return text("callout.band_either", low=bench.shown(-low, "length"), high=bench.shown(high, "length"))


def fit_sources(joint: Fit) -> str:
    """Where the limits of bore and shaft come from."""
    return text("callout.source_pair", bore=text(joint.bore_source), shaft=text(joint.shaft_source))


def place_of(bench: Bench, name: str) -> Vector:
    """A point of a part to hang a note on: where its own axis begins [mm]."""
    part = bench.reducer.by_name[bench.reducer.members(name)[0]]
    return (float(part.pose[0, 3]), float(part.pose[1, 3]), float(part.pose[2, 3]))
