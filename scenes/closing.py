"""The checks that close a job, each plainly done or open: end plays, backlash, marks, turning by hand, oil, locks.

Contents: `Check`, `checks`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from scenes import record_words
from scenes.record import PUT_IN
from scenes.record_listing import Opened
from scenes.settings import Settings
from scenes.wanted import Wanted, looked_at
from scenes.wording import text

CLOSING = {
    "high_speed_end_play": ("high_speed_end_play",),
    "low_speed_end_play": ("low_speed_end_play",),
    "backlash": ("backlash",),
    "pattern": ("pattern",),
    "turning": ("turning_feel", "free_turning"),
    "oil": ("oil_filled",),
    "locks": ("locks_counted", "locks"),
}
"""Each check and the readings that answer it; of several the first that this job has."""


@dataclass(frozen=True)
class Check:
    """One check: its key, what it is called, whether it is done, a finished line that says so or what it wants, its entry (0: none)."""

    key: str
    title: str
    done: bool
    says: str
    entry: int = 0


def checks(found: Opened, now: Settings) -> tuple[Check, ...]:
    """Every closing check in the order of the job."""
    return tuple(_checks(found, now))


def _checks(found: Opened, now: Settings) -> Iterator[Check]:
    for key, names in CLOSING.items():
        title = text(f"rounds.check_{key}")
        read = next((found.reads[name] for name in names if name in found.reads), None)
        if read is None:
            yield Check(key, title, False, text("rounds.not_asked"))
            continue
        taken = found.sealed.latest(read.name, *PUT_IN)
        if taken is None:
            yield Check(key, title, False, text(f"rounds.wants_{key}"))
            continue
        fault = _fault(looked_at(found, now, read, taken))
        says = fault or text("rounds.check_done", values=record_words.told(read, taken.typed), initials=taken.initials)
        yield Check(key, title, not fault, says, taken.number)


SURE = {"run": "watch", "words": "watch", "locks": "unlocked"}
"""Lacks that share a sentence."""


def _fault(one: Wanted) -> str:
    """What is wrong with the reading that is there; "" for nothing."""
    if one.taken is None or one.lack is None:
        return ""
    if one.unexplained is not None:
        return text("rounds.check_unexplained", number=one.unexplained.number)
    if one.gasket is not None:
        gasket = text(f"part.{one.gasket.read.removeprefix('gaskets.')}")
        return text(f"rounds.check_{one.lack}", gasket=gasket, number=one.gasket.number)
    told = {"count": len(one.taken.values), "wanted": one.read.wanted, "number": one.taken.number}
    return text(f"rounds.check_{SURE.get(one.lack, one.lack)}", values=record_words.told(one.read, one.taken.typed), **told)
