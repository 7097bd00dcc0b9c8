"""When a reading was taken, as it is typed in afterwards: day and hour in local time (ISO 8601); and a clock that went wrong.

What is typed in afterwards is dated as it was read, and stands among the readings where it was read; the clock is looked at by the time at
which it was entered. Contents: `when`, `shown`, `clock`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from calc import refusal
from scenes.record import Job
from scenes.wording import text

SLACK = timedelta(seconds=60.0)
"""Two computers that add to one record may differ by so much, or wait for each other so long."""
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
    moment = _moment(time)
    return time if moment is None else f"{moment.astimezone():%Y-%m-%d %H:%M}"


def clock(job: Job, now: datetime | None = None) -> tuple[str, ...]:
    """Entries that a wrong clock dated, in sentences: before the entry above them, or ahead of `now`. A reading that was struck is none."""
    standing = [(one.number, one.entered or one.time) for one in job.standing()]
    struck = [(one.number, one.time) for one in job.strikes]
    dated = [(number, moment) for number, time in sorted(standing + struck) if (moment := _moment(time)) is not None]
    found = [
        text("record.clock_back", number=number, above=above)
        for (above, before), (number, moment) in zip(dated, dated[1:], strict=False)
        if moment + SLACK < before
    ]
    latest = (now or datetime.now()).astimezone() + SLACK
    ahead = [number for number, moment in dated if moment > latest]
    return (*found, *([text("record.clock_ahead", entries=", ".join(_runs(ahead)))] if ahead else ()))


def _moment(time: str) -> datetime | None:
    """A time of a record; None where it is none."""
    try:
        found = datetime.fromisoformat(time)
        return found if found.tzinfo is not None else found.astimezone()
    except (ValueError, OverflowError, OSError):
        return None


def _runs(numbers: Sequence[int]) -> Iterator[str]:
    """Numbers in their order, those that follow each other as "2–9"."""
    first = last = numbers[0]
    for number in (*numbers[1:], None):
        if number == last + 1:
            last = number
            continue
        yield str(first) if first == last else f"{first}–{last}"
        if number is not None:
            first = last = number
