"""The sheet of readings: every reading that the job asks for, with its limit, the instrument and blanks to write in.

Limits come from the notes of the steps; a reading without a computed limit is judged by the words of its hold point.
Contents: `readings`.
"""

from __future__ import annotations

from fnmatch import fnmatchcase
from typing import Any

from calc import units
from geometry.joints import Fit, Limits
from scenes import feel, own_reads, timeplan
from scenes.counted import locks, packers
from scenes.explain import Explainer
from scenes.reads import AGREED, COUNTED, FEELER, OF_THE_RUN, WRITTEN, kind_of, screw_counts, wanted_of
from scenes.settings import Settings
from scenes.temperatures import ANYHOW, NOTED
from scenes.wording import text

INSTRUMENTS = frozenset(
    {
        "micrometer",
        "bore_gauge",
        "depth_micrometer",
        "thickness_micrometer",
        "feeler",
        "straight_edge",
        "level",
        "dial_plunger",
        "contact_thermometer",
        "load_cell",
        "torque_wrench",
    }
)
"""Tools that a reading is taken with."""
JUDGED: dict[str, tuple[str, ...]] = {
    "bore_clearance": ("heat.*.clearance",),
    "shoulder_gap": ("heat.*.shrink_back",),
    "gear_drop": ("height.packers",),
    "trial_depth": ("height.trial_depth",),
    "trial_backlash": ("mesh.backlash",),
    "high_speed_end_play": ("chain.high_speed_end_play",),
    "low_speed_end_play": ("chain.low_speed_end_play",),
    "pinion_set": ("chain.pinion_set",),
    "pinion_running": ("chain.pinion_running",),
    "gear_distance": ("chain.gear_distance",),
    "backlash": ("mesh.backlash",),
    "pattern": ("mesh.pattern.drive", "mesh.pattern.coast"),
    own_reads.RING: ("heat.*.recommended",),
}
"""Which notes say what a reading should be; a circle of screws is judged by its own note."""
FLANGE_GAP = 1.0
"""How far the flange is held off, as its step says [mm]."""
IN_WORDS = frozenset({"bore_clearance", "gear_drop"})
"""Readings that are not of the note's own figure: its whole sentence says what to look for."""
KINDS = {"mm": "length", "N m": "torque", "degC": "temperature"}
"""Unit of a note: what is written into the blank is of this kind."""


def readings(explainer: Explainer, now: Settings, phase: str | None = None) -> dict[str, Any]:
    """What stands on the sheet of readings, of the whole job or of one phase, as finished texts."""
    explainer = explainer.holding({})  # what is expected stands on it, not what was read
    procedure = explainer.procedure
    report = explainer.numbers(explainer.with_(now, step=None))
    notes = {step["id"]: step["callouts"] for step in report["steps"]}
    told, locked = _told(explainer, now), own_reads.locked_at(explainer.reducer(now), procedure)
    blanks = screw_counts(explainer.machine)
    rows: list[dict[str, Any]] = []
    earlier: list[dict[str, Any]] = []
    for name in procedure.order:
        step = procedure.steps[name]
        earlier = [*notes[name], *earlier]
        if not step.reads or phase not in (None, step.phase):
            continue
        with_ = [text(f"tool.{tool}") for tool in step.tools if tool in INSTRUMENTS]
        hold = text(f"step.{name}.hold") if step.hold else ""
        lines = [
            _line(read, _notes(read, earlier), now, _count(read, locked.get(name)) or told.get(read, ""))
            | {"blanks": wanted_of(read, blanks)}
            for read in step.reads
        ]
        rows.append(
            {
                "number": step.number,
                "title": text(f"step.{name}.title"),
                "optional": step.optional,
                "with": text("readings.instrument", tools=", ".join(with_)) if with_ else "",
                "warm": not (NOTED | ANYHOW).isdisjoint(step.reads),
                "hold": hold,
                "lines": lines,
            }
        )
    first = next((step for step in procedure.steps.values() if "incoming" in step.reads), None)
    seats = first is not None and phase in (None, first.phase)
    return {
        "how": text("readings.how", cold=units.show(timeplan.COLD, "temperature rise", now.units)),
        "rows": rows,
        "degrees": _unit("degC", now),
        "length": _unit("mm", now),
        "fits_title": text("readings.fits", step=first.number) if first is not None and seats else "",
        "fits": _fits(explainer, now) if seats else [],
    }


def _notes(read: str, notes: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The notes that judge a reading: of each kind the first, in its own step or else the step nearest before it."""
    found = [next((note for note in notes if fnmatchcase(note["key"], key)), None) for key in JUDGED.get(read, (f"screws.{read}",))]
    return [note for note in found if note is not None]


def _told(explainer: Explainer, now: Settings) -> dict[str, str]:
    """What is expected of readings that no note speaks of: the packers that the job has, the gap that the step names, the set."""
    reducer = explainer.reducer(now)
    count = str(packers(reducer))
    told = {"packers_in": count, "packers_out": count, "locks_counted": str(sum(locks(reducer)))}
    told |= {"flange_gap": units.show(FLANGE_GAP, "length", now.units, digits=2)} | dict.fromkeys(feel.FELT, feel.choices())
    return told | ({"set_number": reducer.machine.gears.set_number} if reducer.machine.gears.set_number else {})


def _count(read: str, locked: own_reads.Locked | None) -> str:
    """How many screws a step locks, where that is what is read."""
    return str(locked.screws) if read == own_reads.SCREWS and locked is not None else ""


def _kind(read: str) -> str:
    """What a reading is written down as."""
    if read in FEELER:
        return "feeler"
    if read in WRITTEN or read in feel.FELT:
        return "words"
    if OF_THE_RUN.get(read) == "run":
        return "run"
    if kind_of(read) == "torque":
        return "screws"
    return "choice" if read in AGREED else "count" if read in COUNTED else "pattern" if read == "pattern" else "value"


def _line(read: str, found: list[dict[str, Any]], now: Settings, told: str = "") -> dict[str, Any]:
    """One reading: what is expected, what is accepted, blanks with their unit. Of screws the target alone: their ceiling is no limit to
    read up to."""
    expected = [note["text"] if read in IN_WORDS else note["short"] for note in found if read not in FEELER]
    expected = expected or [told] * bool(told)
    screws = [note for note in found if note["key"].startswith("screws.") and note["verdict"] != "stop"]
    limits = list(dict.fromkeys(note["limit"] for note in found if note["limit"] and note not in screws))
    target = [units.show(note["value"], "torque", now.units) for note in screws if note["limit"]]
    of_run = OF_THE_RUN.get(read)
    unit = _unit(found[0]["unit"], now, found[0]["value"]) if found else _unit("mm", now) if read == "flange_gap" else ""
    if of_run == "volume":
        unit = units.show(1.0, "volume", now.units).split(" ", 1)[1]
    elif of_run is not None:
        unit = "min"
    kind = _kind(read)
    return {
        "read": read,
        "what": text(f"read.{read}"),
        "expected": ""
        if not expected
        else expected[0]
        if read in IN_WORDS
        else text("readings.target", value=", ".join(target))
        if target
        else text("readings.by_model", value="; ".join(expected))
        if read == "pattern"
        else text("readings.expected", value="; ".join(expected)),
        "limit": text("sheet.limit", limit="; ".join(limits)) if limits else "",
        "kind": kind,
        "unit": unit if kind in ("value", "run", "screws", "feeler") else "",
    }


def _unit(unit: str, now: Settings, value: float = 100.0) -> str:
    """The unit as it is written after a blank, in the chosen system; a torque's is that of its target."""
    kind = KINDS.get(unit)
    return "" if kind is None else units.show(value, kind, now.units).split(" ", 1)[1]


def _fits(explainer: Explainer, now: Settings) -> list[dict[str, Any]]:
    """The seats and bores of all fits, with the limits that their diameters must lie in."""
    rows = []
    for joint in explainer.reducer(now).of_kind(Fit):
        key = "fit_housing" if joint.hub in ("housing", "cartridge") else "fit"
        rows.append(
            {
                "what": text(f"readings.{key}", bore=text(f"part.{joint.bore_part}"), shaft=text(f"part.{joint.shaft_part}")),
                "bore": _limits(joint.diameter, joint.bore, now),
                "shaft": _limits(joint.diameter, joint.shaft, now),
                "shaft_word": text("readings.outside" if key == "fit_housing" else "readings.seat"),
            }
        )
    return rows


def _limits(diameter: float, limits: Limits, now: Settings) -> str:
    return between(diameter + limits.lower, diameter + limits.upper, now)


def between(low: float, high: float, now: Settings) -> str:
    """Two lengths that something must lie between [mm], in words."""
    return text("readings.limits", low=units.show(low, "length", now.units), high=units.show(high, "length", now.units))
