"""When the entries of a record were read, as a moment [s since 1970, UTC], and the order in which they were.

Contents: `moment`, `runs`, `in_order`.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime

MINUTE = 59.999
"""To the end of a minute [s]."""


def moment(time: str, entered: str = "") -> float:
    """A time of a record, local where it names no distance from UTC [s]. What was `entered` afterwards and is dated to the minute stands
    for the end of it: within that minute the entries decide. Raises ValueError where it is none, or none that can be shown here."""
    try:
        found = datetime.fromisoformat(time).astimezone()
    except (OverflowError, OSError) as error:
        raise ValueError(str(error)) from None
    to_the_minute = entered and not found.second and not found.microsecond
    return found.timestamp() + (MINUTE if to_the_minute else 0.0)


def in_order(read: Iterable[tuple[float, bool]]) -> list[int]:
    """Places of the entries in the order in which they were read. `read`: the moment of each, and whether it was typed in afterwards: then
    it goes before the first that was read later; all else stays as it was entered, whatever the clock said."""
    found: list[int] = []
    earliest: list[float] = []  # of that place and all behind it: never less than of the place before
    for number, (time, afterwards) in enumerate(read):
        at = bisect_right(earliest, time)
        earliest.insert(at, time)
        if afterwards:
            found.insert(at, number)
        else:
            found.append(number)
            earliest[at:] = [time] * (len(earliest) - at)
    return found


def runs(numbers: Sequence[int]) -> Iterator[str]:
    """Numbers in their order, those that follow each other as "2–9"."""
    first = last = numbers[0]
    for number in (*numbers[1:], None):
        if number == last + 1:
            last = number
            continue
        yield str(first) if first == last else f"{first}–{last}"
        if number is not None:
            first = last = number
