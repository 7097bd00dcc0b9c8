"""What can be read on a job: what the steps ask for, and every dimension of the machine file that is measured. mm, N·m, s, L, degC.

A reading of a dimension is called by its place in the machine file (`high_speed_shaft.roller_seat`, `gaskets.pinion_gasket`), so that it
can take the place of what stands there. Contents: `Read`, `known`, `typed`, and the constants that say how a step's reading is taken.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from calc import refusal, units
from geometry.fields import Fitted, Record
from geometry.joints import ScrewJoint
from geometry.machine import GASKET_RANGE, Gasket, Machine, Size
from geometry.reducer import assemble
from scenes import dial, feel, mark_words, read_titles
from scenes.procedure import Procedure
from scenes.wording import text

Kind = Literal["length", "torque", "time", "volume", "run", "count", "agreed", "words", "marks", "feel", "temperature"]
AGREED = frozenset(
    {
        "zero_energy",
        "incoming",
        "free_turning",
        "pump_direction",
        "tool_count",
        "shaft_ends",
        "first_run",
        "no_leaks",
        "pattern_accepted",
        "locks",
        "nut_locked",
    }
)
"""Readings that are ticked, not measured."""
COUNTED = frozenset({"packers_in", "packers_out", "tools_in", "tools_out", "locks_counted", "screws_locked"})
"""Readings that are counted."""
OF_THE_RUN: dict[str, Kind] = {"oil_filled": "volume", "first_run_temperature": "run", "first_run_minutes": "time"}
"""Figures of the first run."""
OLDER = ("locks", "tool_count")
"""Ticks of older records, now counted: still readable."""
WRITTEN = frozenset({"set_number"})
"""Readings that are words."""
FEELER = {"shoulder_gap": 4, "end_face_step": 2}
"""Readings with a feeler that must not enter (a reading is the thickest leaf that does, "none" where none does), and at how many places."""
NONE = "none"
"""What a feeler's reading is kept as where no leaf enters; counts as 0 mm."""
BLANKS = {
    "trial_backlash": 4,
    "backlash": 4,
    "high_speed_end_play": 3,
    "low_speed_end_play": 3,
    "flange_gap": 4,
    "bore_clearance": 2,
    "trial_depth": 2,
    "first_run_temperature": 3,
}
"""How often a reading is taken where it is not once: as often as its step says to."""
GASKET_POINTS, SEAT_POINTS = 4, 4
"""Points at which a gasket and a seat are measured: common practice, no source."""
FOUND = ("bearing_marks", "match_marks", "found_condition")
"""What is written down in words when the machine comes apart, whatever its steps are."""
SIGNED = ("pattern_accepted", "locks_counted")
"""What somebody answers for at the end, whatever the steps are: the marked pattern, and every lock counted."""
DIALS = ("trial_backlash", "backlash")
"""Readings of a backlash: of the dry trial, and of the sealed case."""
DIALLED = frozenset({"backlash", "trial_backlash", "high_speed_end_play", "low_speed_end_play"})
"""Readings of a dial."""
DIAL = (0.0, 5.0)
"""What a dial can show of them [mm]."""
LENGTHS, OFFSETS = (0.0, 2000.0), (-500.0, 2000.0)
"""Lengths that can be read at a step, and for a dimension of the machine file [mm]."""
TORQUES = (0.0, 20_000.0)
"""Torques that can be read [N·m]."""
TIMES, VOLUMES = (60.0, 3 * 24 * 3600.0), (0.1, 2000.0)
"""How long a first run lasts [s], and how much oil goes in [L]."""
WARM = {"ring_temperature"}
"""Readings that are a temperature."""
TEMPERATURES = (-60.0, 400.0)
"""What a part can be [degC]: chilled rings to hubs that were heated far too much."""
RUN_TIMES, RUN_TEMPERATURES = (0.0, 3 * 24 * 3600.0), (-30.0, 150.0)
"""When in the run a temperature was read [s], and what it can be [degC]."""
YES = ("yes", "no")
MOST_WORDS = 400
"""Characters of a reading in words at most."""


@dataclass(frozen=True)
class Read:
    """A reading: its name in a record, what it is, how many values it wants at least, the steps that ask for it (none for a dimension
    of the machine file), whether its place in the machine file can take it, the radius at which a backlash is stated [mm];
    `system`: of the machine's figures, in which a refusal is told."""

    name: str
    kind: Kind
    wanted: int = 1
    steps: tuple[str, ...] = ()
    dimension: bool = False
    pitch: float = 0.0
    system: units.System = "mm"

    @property
    def title(self) -> str:
        """What it is, in words."""
        return read_titles.title(self.name) if self.dimension else text(f"read.{self.name}")

    @property
    def typed_as(self) -> str:
        """What is typed for it, in words."""
        return text("record.kind_feeler" if self.name in FEELER else f"record.kind_{self.kind}")


def kind_of(name: str) -> Kind:
    """What a step's reading is."""
    if name in AGREED:
        return "agreed"
    if name in COUNTED:
        return "count"
    if name in WRITTEN or name in FOUND:
        return "words"
    if name == "pattern":
        return "marks"
    if name in OF_THE_RUN:
        return OF_THE_RUN[name]
    if name in feel.FELT:
        return "feel"
    if name in WARM:
        return "temperature"
    return "torque" if name.endswith("_screw") else "length"


def wanted_of(name: str, screws: dict[str, int]) -> int:
    """How many values a step's reading wants at least; of a torque one for each screw."""
    return {**BLANKS, **FEELER, **screws}.get(name, 1)


def screw_counts(machine: Machine) -> dict[str, int]:
    """How many screws each circle has."""
    return {joint.name: joint.count for joint in assemble(machine).of_kind(ScrewJoint)}


def known(machine: Machine, procedure: Procedure) -> dict[str, Read]:
    """Every reading by name: those of the steps in their order, then what is told of a machine that comes apart, then dimensions."""
    found: dict[str, Read] = {}
    screws = screw_counts(machine)
    for name in dict.fromkeys(name for step in procedure.steps.values() for name in step.reads):
        steps = tuple(one for one in procedure.order if name in procedure.steps[one].reads)
        pitch = machine.gears.module * machine.gears.gear_teeth / 2.0 if name in dial.DIALLED_AT else 0.0
        found[name] = Read(name, kind_of(name), wanted_of(name, screws), steps, pitch=pitch, system=machine.units)
    for name in (*FOUND, *SIGNED, *OLDER):
        found.setdefault(name, Read(name, kind_of(name), system=machine.units))
    return found | {name: size_read(machine, name) for name, _ in _dimensions(machine, "")}


def size_read(machine: Machine, name: str) -> Read:
    """The reading of a dimension of the machine file."""
    field = field_at(machine, name)
    wanted = GASKET_POINTS if isinstance(field, Gasket) else SEAT_POINTS if isinstance(field, Fitted) else 1
    return Read(name, "length", wanted, dimension=True, system=machine.units)


def _dimensions(record: Record, place: str) -> Iterator[tuple[str, Any]]:
    """Every field that takes readings: fitted diameters, links of a chain, gaskets."""
    for name in type(record).model_fields:
        value = getattr(record, name)
        if isinstance(value, Fitted | Gasket | Size):
            yield f"{place}{name}", value
        elif isinstance(value, Record):
            yield from _dimensions(value, f"{place}{name}.")


def field_at(machine: Machine, name: str) -> Any:
    """What stands in the machine file at the place of a dimension."""
    found: Any = machine
    for piece in name.split("."):
        found = getattr(found, piece)
    return found


def typed(read: Read, given: Sequence[str], called: str = "", spoken: Sequence[str] = ()) -> tuple[float, ...]:
    """The values of a reading as typed, in mm or N·m; none for words, ticks and marks. Raises ValueError with every fault, a line each,
    that name the reading as `called` and repeat the values as they were `spoken`."""
    faults, values = [], []
    if not given:
        faults.append(text("record.no_value", read=called or read.name))
    for one, heard in zip(given, spoken or given, strict=True):
        try:
            values += _value(read, one)
        except ValueError as error:
            faults.append(f"{called or read.name} {refusal.told(heard)}: {error}")
    if faults:
        raise ValueError("\n".join(faults))
    return tuple(values)


_TIMES_OVER = re.compile(r"([1-9]\d?)\s*[x×]\s*(.+)", re.ASCII)
"""So many screws at one torque: "8 x 60 N m"."""
_RUN = re.compile(r"(\S+?\s*(?:s|min|h))[\s:]+(.+)", re.ASCII)
"""When in the run, and how warm: "20 min 48 degC"."""


def _range(read: Read) -> tuple[float, float]:
    """What a reading can be at all [mm, N·m, s, L, degC]."""
    if read.kind in ("torque", "time", "volume", "temperature"):
        return {"torque": TORQUES, "time": TIMES, "volume": VOLUMES, "temperature": TEMPERATURES}[read.kind]
    if read.dimension:
        return GASKET_RANGE if read.name.startswith("gaskets.") else OFFSETS
    return DIAL if read.name in DIALLED else LENGTHS


def _within(given: str, kind: str, limits: tuple[float, float], system: units.System) -> float:
    value = units.read(given, kind, system)
    if not limits[0] <= value <= limits[1]:
        least, most = (units.typed(limit, kind, system) for limit in limits)
        raise ValueError(text("record.out_of_range", least=least, most=most))
    return value


def _value(read: Read, given: str) -> list[float]:
    if read.name in FEELER and given.strip().lower() == NONE:
        return [0.0]
    if read.kind in ("length", "torque", "time", "volume", "temperature"):
        several = _TIMES_OVER.fullmatch(given.strip()) if read.kind == "torque" else None
        count, one = (int(several[1]), several[2]) if several else (1, given)
        shown, radius = dial.split(one) if read.pitch else (one, "")
        return [dial.at_pitch_circle(_within(shown, read.kind, _range(read), read.system), radius, read.pitch)] * count
    if read.kind == "run":
        pair = _RUN.fullmatch(given.strip())
        if pair is None:
            raise ValueError(text("record.no_run"))
        return [_within(pair[1], "time", RUN_TIMES, read.system), _within(pair[2], "temperature", RUN_TEMPERATURES, read.system)]
    if read.kind == "count":
        if not (given.strip().isascii() and given.strip().isdecimal() and len(given.strip()) < 5):
            raise ValueError(text("record.no_count"))
        return [float(given)]
    if read.kind == "agreed" and given.strip().lower() not in YES:
        raise ValueError(text("record.no_tick"))
    if len(given) > MOST_WORDS:
        raise ValueError(text("record.too_long", most=MOST_WORDS))
    if read.kind == "feel":
        feel.felt(given)
    if read.kind == "marks":
        mark_words.place(mark_words.flank(given)[1])
    return []
