"""When a reading was taken, as it is typed in afterwards: day and hour in local time (ISO 8601); and a clock that went wrong.

What is typed in afterwards is dated as it was read, and stands among the readings where it was read; the clock is looked at by the time at
which it was entered. Contents: `when`, `shown`, `clock`.
"""

from __future__ import annotations

import re
from datetime import datetime

from calc import refusal
from scenes.record import Job
from scenes.record_order import moment, runs
from scenes.wording import text

SLACK = 60.0
"""Two computers that add to one record may differ by so much, or wait for each other so long [s]."""
_DAY_AND_HOUR = re.compile(r"\d{4}-\d\d-\d\d[ T]\d\d:\d\d(:\d\d)?([+-]\d\d:\d\d|Z)?", re.ASCII)


def when(given: str) -> datetime | None:
    """The time that was typed; None where nothing was. Raises ValueError when it is none or lies ahead."""
    given = given.strip()
    if not given:
        return None
    try:
        found = datetime.fromisoformat(given).astimezone() if _DAY_AND_HOUR.fullmatch(given) else None
    except (ValueError, OverflowError, OSError):
        found = None
    if found is None:
        raise ValueError(text("record.when", given=refusal.told(given)))
    if found > datetime.now().astimezone():
        raise ValueError(text("record.future", given=refusal.told(given)))
    return found


def shown(time: str) -> str:
    """A time of a record as a person reads it: day and hour here, to the minute. As it stands where it is none."""
    return time if _moment(time) is None else f"{datetime.fromisoformat(time).astimezone():%Y-%m-%d %H:%M}"


def clock(job: Job, now: datetime | None = None) -> tuple[str, ...]:
    """Entries that a wrong clock dated, in sentences: before the entry above them, or ahead of `now`. A reading that was struck is none."""
    standing = [(one.number, one.entered_at) for one in job.standing()]
    struck = [(one.number, at) for one in job.strikes if (at := _moment(one.time)) is not None]
    dated = sorted(standing + struck)
    found = [
        text("record.clock_back", number=number, above=above)
        for (above, before), (number, at) in zip(dated, dated[1:], strict=False)
        if at + SLACK < before
    ]
    latest = (now or datetime.now()).timestamp() + SLACK
    ahead = [number for number, at in dated if at > latest]
    return (*found, *([text("record.clock_ahead", entries=", ".join(runs(ahead)))] if ahead else ()))


def _moment(time: str) -> float | None:
    """A time of a record [s since 1970]; None where it is none."""
    try:
        return moment(time)
    except ValueError:
        return None
