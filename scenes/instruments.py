"""What a reading is taken with, and until when that is calibrated: a reading with an instrument that is overdue does not count.

A date is told once: later readings with the same instrument go by the last date that the record has of it. ISO 8601.
Contents: `due`, `looked_at`, `rows`.
"""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING, Any

from calc import refusal
from scenes.reads import Read
from scenes.remarks import Remark
from scenes.wording import text

if TYPE_CHECKING:
    from collections.abc import Mapping

    from scenes.record import Job, Taken

MEASURING = ("length", "torque", "temperature")
"""Kinds of reading that are worth no more than what they were taken with."""
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
YEARS = (1990, 2199)


def due(given: str, instrument: str) -> str:
    """The last day of a calibration as typed. Raises ValueError, one line."""
    try:
        found = date.fromisoformat(given) if _DATE.fullmatch(given) else None
    except ValueError:
        found = None
    if found is None or not YEARS[0] <= found.year <= YEARS[1]:
        raise ValueError(text("record.no_date", given=refusal.told(given)))
    if not instrument.strip():
        raise ValueError(text("record.date_of_what"))
    return given


def looked_at(job: Job, read: Read, taken: Taken) -> Remark:
    """Whether the instrument of a reading was in date on that day; `job`: what had been entered before."""
    until = _until(job, taken)
    if read.kind not in MEASURING or not until or taken.time[:10] <= until:
        return Remark()
    return Remark((), (text("record.now_overdue", instrument=taken.instrument, due=until),), counts=False)


def rows(job: Job, reads: Mapping[str, Read]) -> list[dict[str, Any]]:
    """Every instrument of the readings that stand: until when it is calibrated, in which entries it was used, in which it was overdue."""
    found: dict[str, list[Taken]] = {}
    for one in job.standing():
        if reads[one.read].kind in MEASURING:
            found.setdefault(_same(one.instrument), []).append(one)
    rows = []
    for used in found.values():
        until = _until(job, used[-1])
        late = [one for one in used if not looked_at(job.until(one), reads[one.read], one).counts]
        rows.append(
            {
                "what": " ".join(used[-1].instrument.split()) or text("record.no_instrument"),
                "due": until or text("record.not_stated"),
                "used": _entries(used),
                "overdue": _entries(late),
            }
        )
    return rows


def _entries(some: list[Taken]) -> str:
    return ", ".join(str(one.number) for one in some)


def _same(instrument: str) -> str:
    """An instrument's name without what typing adds to it."""
    return " ".join(instrument.lower().split())


def _until(job: Job, taken: Taken) -> str:
    """The last day of its calibration: told with it, else in an earlier entry; nothing where nobody says."""
    if taken.due or not taken.instrument:
        return taken.due
    earlier = (one for one in reversed(job.taken) if one.due and not one.struck and one.place < taken.place)
    return next((one.due for one in earlier if _same(one.instrument) == _same(taken.instrument)), "")
