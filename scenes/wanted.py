"""Every reading that a job wants: whether one is there, whether it counts, whether it is in order, and what it lacks.

What is open, the closing checks, the next move, the rounds and the plots all ask here. A reading counts that was taken within 5 K, with an
instrument in date, as often as is wanted; it stands as long as no gasket that was put in since makes it void.
Contents: `Lack`, `Wanted`, `asked`, `at`, `wanted`, `looked_at`, `counts`, `why_not`, `stands`, `accepted`, `at_end`, `last_at_end`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from scenes import instruments, record_judged, temperatures, torques
from scenes.cures import marks_of
from scenes.gasket_changes import MOVES
from scenes.own_judged import SUM
from scenes.reads import DIALS, SIGNED, Read
from scenes.record import PUT_IN, State, Taken
from scenes.record_judged import Judgement, too_few
from scenes.rounds import LENGTHS
from scenes.settings import POSITION_GASKETS, Settings
from scenes.wording import text

if TYPE_CHECKING:
    from scenes.record_listing import Opened

Lack = Literal[
    "unexplained",
    "missing",
    "stale",
    "lapsed",
    "not_counted",
    "stop",
    "few",
    "flank",
    "accept",
    "run",
    "words",
    "locks",
    "watch",
    "unready",
]
"""What a wanted reading lacks: it stopped, the machine was opened since and nobody wrote down the cause; it was not taken; a gasket that moves it was changed since; the machine was opened since; taken too warm or
with an instrument overdue; outside its limits, or not in order; too few values; one flank only; nobody answers for the marks; the run has
not settled; words that are not sure; locks not written down
at their own steps; values that disagree; something was missing when it was read."""
MOVED = frozenset({*LENGTHS, *DIALS, "pinion_set", "pattern", "pattern_accepted"})
"""Readings that other gaskets mend: their cause is that gasket."""
NO_READING = frozenset[Lack]({"missing", "stale", "lapsed", "not_counted", "few"})
"""What makes a reading count for nothing, whatever it says."""


@dataclass(frozen=True)
class Wanted:
    """A reading at the step that asks for it ("" where none does): what was taken last, the gasket that made it void, what it says without
    what to put in, all that it lacks, the gravest first; the entry that stopped before the machine was opened, its cause not written."""

    read: Read
    step: str
    taken: Taken | None
    gasket: Taken | None
    said: Judgement | None
    lacks: tuple[Lack, ...]
    unexplained: Taken | None = None

    @property
    def lack(self) -> Lack | None:
        """The gravest; None where it is in order."""
        return self.lacks[0] if self.lacks else None

    @property
    def no_reading(self) -> Lack | None:
        """Why it counts for nothing; None where it counts and stands."""
        return next((one for one in self.lacks if one in NO_READING), None)


def asked(found: Opened) -> Iterator[tuple[Read, str]]:
    """Every reading at every step that asks for it, and each position gasket at the step that puts it in, in the order of the job; then what
    is signed for at the end."""
    for name in found.planned.procedure.order:
        step = found.planned.procedure.steps[name]
        yield from ((found.reads[f"gaskets.{part}"], name) for part in POSITION_GASKETS if part in step.arrives)
        yield from ((found.reads[read], name) for read in step.reads)
    yield from ((found.reads[name], "") for name in SIGNED if not found.reads[name].steps)


def at(found: Opened, read: Read, step: str) -> Taken | None:
    """The last reading since the new parts went in, of that step where several ask for it; of a torque that is gone over after the first
    run the last one since a first run was written down."""
    if read.kind == "torque" and torques.after_run(found.planned.procedure, step):
        taken = found.job.latest(read.name, *PUT_IN, step=step)
        return taken if taken is not None and torques.has_run(found.job.until(taken)) else None
    return found.sealed.latest(read.name, *PUT_IN, step=step if len(read.steps) > 1 else "")


def wanted(found: Opened, now: Settings) -> Iterator[Wanted]:
    """Everything that the job wants, in its order; what only an optional step asks for is not wanted."""
    for read, step in asked(found):
        if not step or not found.planned.procedure.steps[step].optional:
            yield looked_at(found, now, read, at(found, read, step), step)


def looked_at(found: Opened, now: Settings, read: Read, taken: Taken | None, step: str = "", *, since: bool = False) -> Wanted:
    """One reading; `since`: judged with what was entered after it, too."""
    if taken is None:
        return Wanted(read, step, None, None, None, ("missing",))
    gasket, said = found.lapses.since(taken), found.judge(taken, now, since=since, cures=False)
    stopped = _unexplained(found, now, read, taken)
    lacks: list[Lack] = ["unexplained"] if stopped is not None else []
    if gasket is not None:
        lacks.append("stale" if read.name in MOVES[gasket.read] else "lapsed")
    if said.danger:
        lacks.append("stop")
    if not said.counts:
        lacks.append("not_counted")
    if said.verdict == "stop" and "stop" not in lacks:
        lacks.append("stop")
    if too_few(read, taken):
        lacks.append("few")
    if read.kind == "marks":
        lacks += ["flank"] if not all(marks_of(taken)) else [] if accepted(found, taken) else ["accept"]
    elif said.verdict == "watch":
        unready = bool(found.guards.faults(taken))
        lacks.append(
            "unready"
            if unready
            else "locks"
            if read.name == SUM
            else "run"
            if read.kind == "run"
            else "words"
            if read.kind == "words"
            else "watch"
        )
    return Wanted(read, step, taken, gasket, said, tuple(lacks), stopped)


def _unexplained(found: Opened, now: Settings, read: Read, last: Taken) -> Taken | None:
    """The last entry that stopped before the machine was opened, where nobody wrote down its cause: no later entry of that reading has a
    note, or is in order."""
    if read.name in MOVED or last.state == "found":
        return None
    step = last.step if len(read.steps) > 1 else ""
    for one in reversed([each for each in found.job.standing(read.name, *PUT_IN) if step in ("", each.step)]):
        said = found.judge(one, now, cures=False)
        if said.verdict == "stop":
            if found.guards.blocked(one) and found.own(one, now).verdict != "stop":  # what was missing is named where it is missing
                continue
            return one if found.lapses.since(one) is not None else None
        if one.note or (said.counts and said.verdict != "watch"):
            return None
    return None


def accepted(found: Opened, marks: Taken) -> bool:
    """Whether somebody answered for these marks after they were read."""
    after = found.job.latest("pattern_accepted", *PUT_IN)
    return after is not None and after.place > marks.place and record_judged.agreed(after)


def counts(found: Opened, taken: Taken) -> bool:
    """Whether a reading counts, as it was taken."""
    read = found.reads[taken.read]
    return record_judged.counts(found.planned.machine, found.job, read, taken) and not found.guards.blocked(taken)


def why_not(found: Opened, now: Settings, taken: Taken) -> tuple[str, ...]:
    """Why a reading does not count, in finished lines; none where it counts."""
    read, before = found.reads[taken.read], found.job.until(taken)
    remarks = (
        temperatures.looked_at(found.planned.machine, before, read, taken, now.units),
        instruments.looked_at(before, read, taken),
    )
    few = (text("rounds.why_few", count=len(taken.values), wanted=read.wanted),) if too_few(read, taken) else ()
    return (*(line for one in remarks if not one.counts for line in one.now), *few)


def stands(found: Opened, taken: Taken) -> bool:
    """Whether a reading counts and no gasket that was put in since makes it void."""
    return counts(found, taken) and found.lapses.since(taken) is None


def at_end(found: Opened) -> tuple[Taken, ...]:
    """Readings since the new parts went in that stand at the end of the job: the last of each name, at each step where several ask for it,
    that counts, was not struck and that no gasket put in later makes void. In their order."""
    last: dict[tuple[str, str], Taken] = {}
    for one in reversed(found.sealed.standing("", *PUT_IN)):
        key = one.read, one.step if len(found.reads[one.read].steps) > 1 else ""
        if key not in last and stands(found, one):
            last[key] = one
    return tuple(sorted(last.values(), key=lambda one: one.place))


def last_at_end(found: Opened, name: str, *states: State) -> Taken | None:
    """The last reading of that name that counts and stands, of these states."""
    return next((one for one in reversed(found.sealed.standing(name, *states)) if stands(found, one)), None)
