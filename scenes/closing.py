"""The checks that close a job, each plainly done or open: end plays, backlash, marks, turning by hand, oil, locks.

Contents: `Check`, `checks`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from scenes import record_words
from scenes.gasket_changes import MOVES
from scenes.own_judged import SUM
from scenes.reads import Read
from scenes.record import PUT_IN, Taken
from scenes.record_judged import marks_of
from scenes.record_listing import Opened
from scenes.settings import Settings
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
        taken = found.job.latest(read.name, *PUT_IN)
        if taken is None:
            yield Check(key, title, False, text(f"rounds.wants_{key}"))
            continue
        fault = _fault(found, now, read, taken)
        says = fault or text("rounds.check_done", values=record_words.told(read, taken.typed), initials=taken.initials)
        yield Check(key, title, not fault, says, taken.number)


def _fault(found: Opened, now: Settings, read: Read, taken: Taken) -> str:
    """What is wrong with the reading that is there; "" for nothing."""
    changed = found.lapses.since(taken)
    if changed is not None:
        gasket = text(f"part.{changed.read.removeprefix('gaskets.')}")
        key = "rounds.check_stale" if taken.read in MOVES[changed.read] else "rounds.check_lapsed"
        return text(key, gasket=gasket, number=changed.number)
    if read.kind == "length" and len(taken.values) < read.wanted:
        return text("rounds.check_few", count=len(taken.values), wanted=read.wanted)
    if read.kind == "marks":
        if not all(marks_of(taken)):
            return text("rounds.check_flank")
        accepted = found.job.latest("pattern_accepted", *PUT_IN)
        answered = accepted is not None and accepted.number > taken.number and accepted.typed == ("yes",)
        return "" if answered else text("rounds.check_accept")
    said = found.judge(taken, now)
    if not said.counts:
        return text("rounds.check_not_counted", number=taken.number)
    verdict = said.verdict
    if verdict == "watch" and taken.read == SUM:
        return text("rounds.check_unlocked", values=record_words.told(read, taken.typed))
    return text(f"rounds.check_{verdict}", values=record_words.told(read, taken.typed)) if verdict in ("stop", "watch") else ""
