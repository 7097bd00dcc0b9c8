"""Measured sizes of a job: what to do about one outside its drawing, which of them are still open, which stand with a reason written.

A size takes the last entry of its name; a gasket the one that was put in, and the one that came out as long as none was. One outside its
limits stays open until it is read again inside, or a reason is written with the last entry of it. mm.
Contents: `cure`, `Size`, `sizes`, `still_open`, `with_reason`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from geometry.fields import Fitted
from geometry.machine import Gasket, Machine
from scenes.read_limits import is_bore
from scenes.reads import Read, field_at
from scenes.record import PUT_IN, Job, Taken
from scenes.settings import Settings
from scenes.step_limits import Limits
from scenes.wording import text

if TYPE_CHECKING:
    from scenes.record_judged import Judgement
    from scenes.record_listing import Opened


def cure(machine: Machine, taken: Taken, limits: Limits) -> list[str]:
    """What to do about a size of which a place at least is outside its drawing, in the trade's words."""
    if not isinstance(field_at(machine, taken.read), Fitted):
        key = "length"
    else:
        under, over = limits.low - min(taken.values), max(taken.values) - limits.high
        key = f"{'bore' if is_bore(taken.read) else 'shaft'}_{'small' if under > over else 'large'}"
    answered = text("record.size_reason", note=taken.note) if taken.note.strip() else text("record.size_no_reason")
    return [text(f"record.size_{key}"), answered]


@dataclass(frozen=True)
class Size:
    """A size that was measured: its reading, the last entry of it and what that says."""

    read: Read
    taken: Taken
    said: Judgement

    @property
    def few(self) -> bool:
        """Whether it was read at fewer places than is wanted."""
        return len(self.taken.values) < self.read.wanted

    @property
    def off(self) -> bool:
        """Whether it is not in order."""
        return (
            self.said.danger or self.said.verdict == "stop" or (self.said.verdict == "watch" and self.said.counts and not self.few)
        )

    @property
    def reason(self) -> str:
        """Why it may stay as it is, as somebody wrote it; nothing where there is no reason, or none helps."""
        return "" if self.said.danger else self.taken.note.strip()


def sizes(found: Opened, now: Settings) -> Iterator[Size]:
    """Every size that was measured, in the order of the machine file."""
    for read in found.reads.values():
        taken = _last(found.planned.machine, found.job, read) if read.dimension else None
        if taken is not None:
            yield Size(read, taken, found.judge(taken, now))


def _last(machine: Machine, job: Job, read: Read) -> Taken | None:
    if isinstance(field_at(machine, read.name), Gasket):
        return job.latest(read.name, *PUT_IN) or job.latest(read.name)
    return job.latest(read.name)


def still_open(found: Opened, now: Settings) -> Iterator[str]:
    """Every size that is not in order without a reason, does not count, or was read at too few places; a line each."""
    for one in sizes(found, now):
        told = {"title": one.read.title, "number": one.taken.number, "count": len(one.taken.values), "wanted": one.read.wanted}
        if one.off and not one.reason:
            yield text("record.open_size" if one.said.verdict == "stop" else "record.open_size_watch", **told)
        elif not one.said.counts:
            yield text("record.open_uncounted", **told)
        elif one.few:
            yield text("record.open_size_few", **told)


def with_reason(found: Opened, now: Settings) -> Iterator[str]:
    """Every size that is not in order and stays so for a reason, a line each."""
    for one in sizes(found, now):
        if one.off and one.reason:
            yield text(
                "record.deviation", title=one.read.title, number=one.taken.number, initials=one.taken.initials, why=one.reason
            )
