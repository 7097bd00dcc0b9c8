"""What a change of a position gasket does to a record: which readings it makes void, and the rounds that lie between the changes.

A round begins when a gasket is put in after something was read that it moves. Gaskets put in one after the other with nothing read in
between begin one round together. Contents: `MOVES`, `TRIED`, `FOLLOWED`, `Stretch`, `changes`, `tried_since`, `found_closed_by`, `found_after`,
`gaskets_at`, `stretches`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from geometry.machine import Machine
from scenes.record import PUT_IN, Job, State, Taken

MOVES = {
    "gaskets.pinion_gasket": ("pinion_running", "pinion_set", "backlash", "pattern"),
    "gaskets.gear_gasket": ("gear_distance", "backlash", "pattern"),
    "gaskets.high_speed_float_gasket": ("high_speed_end_play", "pinion_running", "backlash", "pattern"),
    "gaskets.low_speed_float_gasket": ("low_speed_end_play",),
}
"""Readings that hold no longer once that gasket is another one."""
TRIED = {"gaskets.pinion_gasket": ("trial_backlash",), "gaskets.gear_gasket": ("trial_backlash", "trial_depth")}
"""Readings of the dry trial that it moves: once the case is sealed they need not be read again."""
FOLLOWED = (
    "high_speed_end_play",
    "low_speed_end_play",
    "pinion_running",
    "gear_distance",
    "trial_depth",
    "trial_backlash",
    "backlash",
    "pattern",
)
"""Readings that are followed from round to round."""
SAME = 0.005
"""A gasket named as left that is this near to the one that was put in is that one [mm]: own choice, a micrometer's doubt."""


@dataclass(frozen=True)
class Stretch:
    """What was read between two changes of gaskets. number: 0 as found, 1 the first since the new parts went in; changed: gaskets put in
    at its beginning; gaskets: what was in, by the entry's name, of those that were measured; readings: the last of each name that counts;
    uncounted: the last of each name that does not, gaskets too, where none that counts came after it."""

    number: int
    changed: tuple[Taken, ...]
    gaskets: Mapping[str, Taken]
    readings: Mapping[str, Taken]
    uncounted: Mapping[str, Taken]

    @property
    def side(self) -> tuple[State, ...]:
        """States in which it was read."""
        return PUT_IN if self.number else ("found",)


def changes(job: Job) -> tuple[Taken, ...]:
    """Gaskets that were put in, in their order; one that is only named again in the machine as left is none."""
    found: list[Taken] = []
    inside: dict[str, Taken] = {}
    for one in job.standing("", *PUT_IN):
        if one.read not in MOVES:
            continue
        before = inside.get(one.read)
        if before is None or one.state != "left" or abs(one.mean - before.mean) > SAME:
            found.append(one)
            inside[one.read] = one
    return tuple(found)


def tried_since(changed: Iterable[Taken], trial: Taken) -> bool:
    """Whether a gasket that moves the mesh was put in after a dry trial: it chooses none then."""
    return any(one.place > trial.place and "pattern" in MOVES[one.read] for one in changed)


def found_closed_by(job: Job, read: str, state: str, at: float) -> Taken | None:
    """The gasket that was put in before a reading which is said to be of the machine as found: it can't be. `at`: when it was read
    [s since 1970]. An old gasket may be measured later on, once."""
    first = next(iter(changes(job)), None)
    again = read in FOLLOWED or (read in MOVES and job.latest(read, "found") is not None)
    if state != "found" or first is None or not again:
        return None
    return first if at >= first.at else None


def found_after(job: Job, read: str, state: str, at: float) -> Taken | None:
    """The first reading of the machine as found that was taken after a gasket is said to have gone in: it can't have been. `at`: when it
    went in [s since 1970]."""
    if state not in PUT_IN or read not in MOVES:
        return None
    return next((one for one in job.standing("", "found") if one.read in FOLLOWED and one.at > at), None)


def gaskets_at(machine: Machine, job: Job, taken: Taken, counts: Callable[[Taken], bool]) -> dict[str, float]:
    """Free thickness of the position gaskets that were in when that was read: as measured when they were put in where that `counts`, else
    by the machine's file [mm]."""
    inside = {name.removeprefix("gaskets."): getattr(machine.gaskets, name.removeprefix("gaskets.")).thickness for name in MOVES}
    return inside | {one.read.removeprefix("gaskets."): one.mean for one in changes(job) if one.place < taken.place and counts(one)}


def stretches(job: Job, counts: Callable[[Taken], bool]) -> tuple[Stretch, ...]:
    """The rounds of a job, in their order; as found, too, where something was read then. A gasket that was put in begins a round whether
    its thickness `counts` or not; nothing is expected from a reading that does not count."""
    found = [one for one in job.standing("", "found") if one.read in MOVES or one.read in FOLLOWED]
    sure = {one.read: one for one in found if counts(one)}
    old = {name: one for name, one in sure.items() if name in MOVES}
    first = {name: one for name, one in sure.items() if name in FOLLOWED}
    unsure = {one.read: one for one in found if not counts(one) and (one.read not in sure or sure[one.read].place < one.place)}
    made = [Stretch(0, (), old, first, unsure)] if first or unsure.keys() & set(FOLLOWED) else []
    count, put_in = 0, {one.number for one in changes(job)}
    inside: dict[str, Taken] = {}
    changed: list[Taken] = []
    readings: dict[str, Taken] = {}
    uncounted: dict[str, Taken] = {}
    for one in job.standing("", *PUT_IN):
        if one.number in put_in:
            if any(name in readings or name in uncounted for name in (*MOVES[one.read], *TRIED.get(one.read, ()))):
                count += 1
                made.append(Stretch(count, tuple(changed), dict(inside), readings, uncounted))
                changed, readings, uncounted = [], {}, {name: each for name, each in uncounted.items() if name in MOVES}
            changed = [*(other for other in changed if other.read != one.read), one]
            inside[one.read] = one
        if one.read not in FOLLOWED and one.number not in put_in:
            continue
        uncounted.pop(one.read, None)
        if not counts(one):
            uncounted[one.read] = one
        elif one.read in FOLLOWED:
            readings[one.read] = one
    if changed or readings or uncounted:
        made.append(Stretch(count + 1, tuple(changed), dict(inside), readings, uncounted))
    return tuple(made)
