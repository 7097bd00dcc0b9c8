"""What stops now, and holds every move of a gasket back until it is put right: the gravest first, each with its own instruction.

A stop that another gasket mends (backlash, end play, position or marks outside their limits, the tight feel that goes with too little
backlash) is told and holds nothing back. A round that does not read as its gaskets should make it holds the move back, too.
Contents: `Stop`, `stops`, `told`, `lines`, `too_hot`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from scenes import record_words, temperatures
from scenes.gasket_changes import FOLLOWED, changes
from scenes.record import PUT_IN, Taken
from scenes.record_judged import Judgement
from scenes.settings import Settings
from scenes.wanted import MOVED, wanted
from scenes.wording import spoken, text

if TYPE_CHECKING:
    from scenes.record_listing import Opened


@dataclass(frozen=True)
class Stop:
    """An entry that stops: what it says without what to put in; `void`: the machine was opened since and nobody wrote down the cause;
    `moved`: another gasket mends it."""

    taken: Taken
    said: Judgement
    void: bool
    moved: bool


def stops(found: Opened, now: Settings) -> tuple[Stop, ...]:
    """All that stops now: first what endangers people or machine, then in the order of the job; each entry once."""
    each = {one.taken.number: one for one in _stops(found, now)}
    tight = any(one.taken.read == "backlash" and one.moved for one in each.values())
    freed = (
        Stop(one.taken, one.said, one.void, one.moved or (tight and one.taken.read == "turning_feel")) for one in each.values()
    )
    return tuple(sorted(freed, key=lambda one: (not one.said.danger, one.moved)))


def _stops(found: Opened, now: Settings) -> Iterator[Stop]:
    def stop(taken: Taken, void: bool = False) -> Iterator[Stop]:
        said = found.judge(taken, now, cures=False)
        if said.verdict == "stop":
            yield Stop(taken, said, void, taken.read in MOVED and not said.danger)

    locked = found.job.latest("zero_energy")
    if locked is not None and (locked.state == "found" or found.lapses.since(locked) is None):
        yield from stop(locked)
    for taken in too_hot(found, now):
        yield from stop(taken)
    if not changes(found.job):
        read = (found.job.latest(name, "found") for name in FOLLOWED)
        yield from (one for taken in read if taken is not None for one in stop(taken) if one.said.danger)
    for one in wanted(found, now):
        if one.unexplained is not None:
            yield from stop(one.unexplained, void=True)
        elif one.taken is not None and one.gasket is None:
            yield from stop(one.taken)
    sizes = (found.job.latest(read.name, *PUT_IN) for read in found.reads.values() if read.dimension)
    yield from (one for taken in sizes if taken is not None and not taken.note.strip() for one in stop(taken))


def told(found: Opened, which: Iterable[Stop]) -> Iterator[str]:
    """What stops, a line for what it is, then what to do about it; what asks for nothing else is only named with it."""
    done: set[str] = set()
    same: list[str] = []
    for one in which:
        read = found.reads[one.taken.read]
        named = {"title": read.title, "values": record_words.told(read, one.taken.typed), "number": one.taken.number}
        if one.said.now and done.issuperset(one.said.now):
            same.append(text("rounds.stop_named", **named))
            continue
        yield text("rounds.stop_void" if one.void else "rounds.stop", **named)
        yield from (line for line in one.said.now if line not in done)
        done |= {*one.said.now}
    if same:
        yield text("rounds.stop_same", entries="; ".join(same))


def lines(found: Opened, now: Settings) -> tuple[str, ...]:
    """What holds every move back, in finished lines; none where nothing does."""
    key = now.units, spoken()
    if key not in found.held_back:
        found.held_back[key] = tuple(_lines(found, now))
    return found.held_back[key]


def _lines(found: Opened, now: Settings) -> Iterator[str]:
    held = [*told(found, (one for one in stops(found, now) if not one.moved))]
    held += _round(found)
    if held:
        yield from held
        yield text("rounds.held_back")


def _round(found: Opened) -> Iterator[str]:
    """That the last round does not read as its gaskets should make it."""
    from scenes.rounds_expected import last_round  # which looks at the record as a whole

    last = last_round(found)
    if last is not None and last.wrong:
        title = text("rounds.number", number=last.number) if last.number else text("rounds.as_found")
        yield text("rounds.find_first", round=title)


def too_hot(found: Opened, now: Settings) -> Iterator[Taken]:
    """Every entry of a part that was once heated over its limit, until it is struck."""
    reducer, steps = found.planned.reducer(now), found.planned.procedure.steps
    for one in found.job.standing("", *PUT_IN):
        if temperatures.too_hot(reducer, steps.get(one.step), found.reads[one.read], one, now.units) is not None:
            yield one
