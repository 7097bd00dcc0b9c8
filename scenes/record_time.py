"""When a reading was taken, as it is typed in afterwards: day and hour in local time (ISO 8601). Contents: `when`."""

from __future__ import annotations

import re
from datetime import datetime

from calc import refusal
from scenes.wording import text

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
