"""A machine whose sizes are known, rebuilt by a crew that knows only the machine file: what it reads comes from the assembled reducer and the
tooth contact of the true machine, what it puts in from the record. Deviations are our own invention. mm.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from geometry.machine import Machine
from geometry.reducer import Reducer, assemble
from scenes import record, record_listing
from scenes.examples import open_machine
from scenes.explain import Explainer
from scenes.next_move import Next, next_move
from scenes.positions import positions
from scenes.record_listing import Opened, opened
from scenes.rounds import Round
from scenes.rounds_expected import rounds
from scenes.settings import POSITION_GASKETS
from scenes.tooth_contact import meeting

DEVIATIONS = {
    "millrace": {
        "case.end_face": 0.08,
        "low_speed_cartridge.stop_offset": 0.12,
        "high_speed_cartridge.outer_face": 0.09,
        "low_speed_cartridge.outer_face": 0.085,
    },
    "slipway": {
        "case.end_face": 0.08,
        "low_speed_cartridge.stop_offset": 0.12,
        "high_speed_cartridge.outer_face": 0.11,
        "low_speed_cartridge.outer_face": 0.115,
    },
}
"""How far the true sizes are off the drawing, end plays by about what one gasket of the stock can mend [mm]."""


@cache
def explainer(name: str) -> Explainer:
    """The machine as its file has it."""
    return Explainer(open_machine(name)[0])


def true_machine(name: str) -> Machine:
    """The machine as it is."""
    machine = explainer(name).machine
    for place, off in DEVIATIONS[name].items():
        section, size = place.split(".")
        record_ = getattr(machine, section)
        old = getattr(record_, size)
        changed = record_.model_copy(update={size: old.model_copy(update={"nominal": old.nominal + off})})
        machine = machine.model_copy(update={section: changed})
    return machine


def built(machine: Machine, gaskets: Mapping[str, float]) -> Reducer:
    """The reducer with these free thicknesses."""
    made = {name: getattr(machine.gaskets, name).model_copy(update={"thickness": size}) for name, size in gaskets.items()}
    return assemble(machine.model_copy(update={"gaskets": machine.gaskets.model_copy(update=made)}))


def mm(value: float) -> str:
    """As a fitter writes it down: to a hundredth."""
    return f"{max(0.0, round(value, 2)):.2f} mm"


def read_on(reducer: Reducer, runout: float = 0.04) -> dict[str, list[str]]:
    """What a fitter reads on that reducer."""
    ends, met = positions(reducer), meeting(reducer)
    assert met.backlash is not None and met.drive is not None and met.coast is not None
    places = [
        f"{5 * round(one.pattern.centre_along / 5)} %,{5 * round(one.pattern.centre_depth / 5)} %" for one in (met.drive, met.coast)
    ]
    return {
        "high_speed_end_play": [mm(ends.high_speed_end_play)] * 3,
        "low_speed_end_play": [mm(ends.low_speed_end_play)] * 3,
        "pinion_running": [mm(ends.pinion_running)],
        "gear_distance": [mm(ends.gear_distance)],
        "backlash": [mm(met.backlash.outer + runout / 2.0 * math.cos(k * math.pi / 2.0)) for k in range(4)],
        "pattern": [f"drive {places[0]}", f"coast {places[1]}"],
    }


@dataclass
class Crew:
    """Who rebuilds: puts in what the record proposes and writes it down; `slips`: how much another gasket was put in than written down;
    `found`: what was read of the machine as found."""

    name: str
    path: Path
    slips: Mapping[str, float] = field(default_factory=dict)
    found: Mapping[str, Sequence[str]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.planned, self.true = explainer(self.name), true_machine(self.name)
        self.written = {one: getattr(self.planned.machine.gaskets, one).thickness for one in POSITION_GASKETS}
        self.inside = dict(self.written)
        for name, values in self.found.items():
            self.write(name, *values, state="found")
        self.put_in(self.written)

    @property
    def record(self) -> Opened:
        """The record as it stands."""
        return opened(self.planned, self.path)

    def write(self, name: str, *values: str, state: str = "fitting") -> None:
        """Add a reading."""
        found = self.record
        steps = found.reads[name].steps
        entry = record.reading(found.reads[name], values, state, initials="AB", step=steps[0] if steps else "")
        record_listing.put(found, entry)

    def put_in(self, gaskets: Mapping[str, float]) -> None:
        """Put gaskets in and write their thickness down."""
        for one, size in gaskets.items():
            self.inside[one] = size + (self.slips.get(one, 0.0) if size != self.written[one] else 0.0)
            self.written[one] = size
            self.write(f"gaskets.{one}", *[f"{size} mm"] * 4)

    def read(self) -> None:
        """Read everything on the true machine."""
        for name, values in read_on(built(self.true, self.inside)).items():
            self.write(name, *values)

    def history(self) -> tuple[Round, ...]:
        """The rounds so far."""
        return rounds(self.record)

    def next(self) -> Next:
        """What the record proposes."""
        return next_move(self.record, self.planned.start_settings())

    def rebuild(self, most: int) -> Next:
        """Read and change until nothing is proposed, so many rounds at most."""
        for _ in range(most - 1):
            self.read()
            proposed = self.next()
            if not proposed.gaskets:
                return proposed
            self.put_in(proposed.gaskets)
        self.read()
        return self.next()
