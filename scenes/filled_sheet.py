"""The sheet of readings of one job: with the name by which each reading is entered, and filled in as far as it is read.

What was not read is left blank, so that it can be written down at the bench and typed in afterwards. What is read as found stands after the
step that makes the machine safe, in the order in which the machine comes apart. Contents: `content`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from calc import units
from scenes import paper, reading_sheet, temperatures
from scenes.reads import FOUND, SIGNED, Read
from scenes.record import PUT_IN, State, Taken
from scenes.record_judged import limits_of
from scenes.record_listing import Opened
from scenes.settings import POSITION_GASKETS, Settings
from scenes.wanted import at
from scenes.wording import text

PACKS = (*(f"gaskets.{name}" for name in POSITION_GASKETS), "carrier.gasket")
"""Gaskets that are measured when they come out and when they go in, where the machine has them."""
APART = (
    "high_speed_end_play",
    "low_speed_end_play",
    "backlash",
    "pattern",
)
"""What is read before the machine comes apart."""
SAFE = "zero_energy"
"""Read at the step that makes the machine safe: nobody touches it before."""


def content(found: Opened, now: Settings) -> dict[str, Any]:
    """What stands on the sheet, as finished texts."""
    told = reading_sheet.readings(found.present, now)
    for row in told["rows"]:
        step = found.planned.procedure.order[row["number"] - 1]
        for line in row["lines"]:
            read = found.reads[line["read"]]
            line |= _entered(found, read, at(found, read, step), step, line["blanks"], now)
        row["done"] = all(line["values"] and not line["left"] for line in row["lines"])
    safe = next((place for place, row in enumerate(told["rows"], 1) if any(line["read"] == SAFE for line in row["lines"])), 0)
    apart = [[found.reads[name] for name in names if name in found.reads] for names in ((*FOUND, *APART), PACKS)]
    signed = [_line(found, now, found.reads[name], PUT_IN) for name in SIGNED if not found.reads[name].steps]
    sizes = [read for read in found.reads.values() if read.dimension and read.name not in PACKS]
    gaskets = [found.reads[name] for name in PACKS if name in found.reads]
    return told | {
        "rows": [
            *told["rows"][:safe],
            *(
                _row("", text(f"record.sheet_{title}"), [_line(found, now, read, ("found",)) for read in some])
                for title, some in zip(("found", "gaskets_found"), apart, strict=True)
            ),
            *told["rows"][safe:],
            _row("", text("record.sheet_gaskets"), [_line(found, now, read, PUT_IN) for read in gaskets]),
            _row("", text("record.sheet_signed"), signed),
        ],
        "fits": [],
        "remarks": list(found.remarks),
        "afterwards": text("record.sheet_afterwards"),
        "sizes_title": text("record.sheet_sizes"),
        "sizes": [_line(found, now, read, ()) for read in sizes],
    }


def _row(number: str, title: str, lines: Sequence[dict[str, Any]]) -> dict[str, Any]:
    return {
        "number": number,
        "title": title,
        "optional": False,
        "done": False,
        "with": "",
        "warm": False,
        "hold": "",
        "lines": list(lines),
    }


def _line(found: Opened, now: Settings, read: Read, states: Sequence[State]) -> dict[str, Any]:
    """A line for a reading that no step of the sheet has, in one state of the machine."""
    limits = limits_of((found.planned if read.dimension else found.present).reducer(now), read)
    kinds = {"agreed": "choice", "words": "words", "feel": "words", "marks": "pattern"}
    return {
        "what": read.title,
        "expected": "",
        "limit": "" if limits is None else reading_sheet.between(limits.least, limits.high, now),
        "kind": kinds.get(read.kind, "value"),
        "blanks": read.wanted,
        "unit": units.show(100.0, "length", now.units).split(" ", 1)[1] if read.kind == "length" else "",
    } | _entered(found, read, found.job.latest(read.name, *states), "", read.wanted, now)


def _entered(found: Opened, read: Read, taken: Taken | None, step: str, blanks: int, now: Settings) -> dict[str, Any]:
    """How a reading is entered, what stands in the record of it and what that says, how many blanks are left, who read it, with what, and
    how warm the parts were. `blanks`: wanted in all."""
    name = read.name if len(read.steps) < 2 or not step else f"{read.name} --step {step}"
    line = {"name": name, "values": [], "brackets": "", "verdict": "", "why": "", "who": "", "blanks": blanks, "left": blanks}
    if taken is None:
        return line
    told = paper.values(read, taken.typed, now.units)
    verdict, why = paper.stands(found, taken, now)
    read_so_far = len(taken.values) if read.kind == "torque" else len(taken.typed)  # "8 x 60 N m" are eight
    return line | {
        "values": list(told.shown),
        "brackets": told.brackets,
        "verdict": verdict,
        "why": why,
        "who": ", ".join(one for one in _how(taken, now) if one),
        "left": max(blanks - read_so_far, 0),
    }


def _how(taken: Taken, now: Settings) -> list[str]:
    """Entry and who, instrument, until when it is calibrated, temperatures, the note."""
    entry = text("record.sheet_entry", number=taken.number, initials=taken.initials, time=taken.time[:10])
    due = text("record.sheet_due", due=taken.due) if taken.due else ""
    note = text("record.noted", note=taken.note) if taken.note.strip() else ""
    return [entry, taken.instrument, due, temperatures.noted(taken, now.units), note]
