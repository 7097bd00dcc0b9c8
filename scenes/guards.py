"""What must be true before somebody turns or runs the machine, and before oil goes in: which readings must stand, and stand in order.

Which readings an act wants follows from the steps: those of them that the procedure asks for before it, each at the last step that does; a
reading that no step asks for is not wanted. An entry is judged by when it was read, not by its place in the file. What was turned or run
without them stays in the record as evidence and counts for nothing. A backlash or a mark stands where nothing speaks against it, but is never
called fine. Screws are gone over after the last run, cold. mm, degC. Contents: `Guards`, `refused`, `zero`.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import takewhile
from typing import TYPE_CHECKING, Any

from calc import units
from geometry.reducer import assemble
from scenes import counted, dry_trial, feel, set_number, torques
from scenes.cures import NOTHING
from scenes.frame import Verdict
from scenes.lapsed import Lapses
from scenes.procedure import MAIN_BENCH, Procedure
from scenes.reads import DIALS, Read
from scenes.record import PUT_IN, Job, Taken
from scenes.timeplan import COLD
from scenes.wording import spoken, text

if TYPE_CHECKING:
    from geometry.machine import Machine
    from scenes.record_judged import Judgement

TURNS = frozenset({"free_turning", "turning_feel", "backlash", "trial_backlash", "pattern"})
"""Readings for which the shafts are turned by hand."""
RUNS = frozenset({*torques.RUN, "no_leaks"})
"""Readings of a machine that runs."""
STARTS = ("first_run", "first_run_temperature")
"""Readings that say that the machine was started."""
FILLS = frozenset({"oil_filled"})
"""Readings of what goes into a closed machine."""
BY_HAND = frozenset({"zero_energy", "packers_out", "free_turning", "backlash"})
"""What must stand before anything is turned by hand."""
NOT_NONE = frozenset({"backlash"})
"""Of these, what need not be read yet, but must not have been read as none."""
CLOSED = frozenset({"packers_out", "tools_out", "locks_counted"})
"""What must stand before oil goes in: nothing was left inside."""
READY = BY_HAND | CLOSED | {
    "turning_feel", "set_number", "pump_direction", "shaft_ends", "oil_filled", "first_run", "backlash", "pattern", "high_speed_end_play",
    "low_speed_end_play",
}  # fmt: skip
"""What must stand before it runs, with the torques that were asked for by then."""
EVIDENCE = frozenset({"backlash", "trial_backlash", "pattern", *FILLS})
"""Readings that stand, unsure, where what they want is only not written down."""
INSTEAD = {"locks_counted": "locks", "tools_out": "tool_count"}
"""Counts, and the ticks that older records have of them."""
SAME = 1e-9
"""Rounding in a difference of temperatures [K]."""


@dataclass(frozen=True)
class Fault:
    """What is missing before an act: a finished phrase; whether what is written speaks against the act, or nothing is written."""

    says: str
    against: bool


class Guards:
    """What the entries of a job say of each other. `reads`: what can be read, by name; `lapses`: what gaskets left of the readings."""

    def __init__(self, machine: Machine, procedure: Procedure, reads: dict[str, Read], job: Job, lapses: Lapses) -> None:
        self.machine, self.procedure, self.reads, self.job, self.lapses = machine, procedure, reads, job, lapses
        self._found: dict[tuple[object, ...], tuple[Fault, ...]] = {}

    @cached_property
    def sound(self) -> Job:
        """The job without the last backlashes and marks that do not count: something was missing when they were read, or there was none;
        and without the marks of the dry trial."""
        dry = dry_trial.marks(self.procedure, self.job)
        left_out = set(dry)
        for name in ("backlash", "pattern"):
            named = (one for one in reversed(self.job.standing(name, *PUT_IN)) if one.number not in dry)
            left_out |= {one.number for one in takewhile(lambda one: zero(one) or self.blocked(one), named)}
        return replace(self.job, taken=tuple(one for one in self.job.taken if one.number not in left_out))

    def looked_at(self, taken: Taken, said: Judgement, system: units.System) -> Judgement:
        """What an entry says, with what was missing when it was read."""
        places = zero(taken)
        if places:
            said = replace(
                said,
                verdict="stop",
                now=(text("guards.zero", count=len(places), places=", ".join(map(str, places))),),
                counts=False,
                danger=True,
            )
        if taken.read in FILLS:
            said = self._late(taken, said)
        if self.reads[taken.read].kind == "torque" and torques.after_run(self.procedure, taken.step):
            said = self._gone_over(taken, said, system)
        faults = self.faults(taken)
        if not faults:
            return said
        told = tuple(_told(faults))
        if said.verdict == "stop" and self.reads[taken.read].kind == "agreed":  # it says itself what to do
            return replace(said, now=(*said.now, *told))
        if self.blocked(taken):
            key = "guards.stop_run" if taken.read in RUNS else "guards.stop_fill" if taken.read in FILLS else "guards.stop_turn"
            own = said.now if places or taken.read not in EVIDENCE else ()  # nothing is worked out of what does not count
            return replace(said, verdict="stop", now=(*own, text(key), *told, text("guards.late")), counts=False, danger=True)
        verdict: Verdict = "stop" if said.verdict == "stop" else "watch"
        return replace(said, verdict=verdict, now=(*said.now, *told, text("guards.unsure")))

    def blocked(self, taken: Taken) -> bool:
        """Whether an entry counts for nothing as something was missing when it was read."""
        unsure = taken.read in EVIDENCE or taken.state == "found"
        return any(one.against or not unsure for one in self.faults(taken))

    def faults(self, taken: Taken) -> tuple[Fault, ...]:
        """What was missing when an entry was read."""
        if taken.read not in TURNS | RUNS | FILLS:
            return ()
        key = taken.number, taken.time, taken.state, taken.step, taken.read, spoken()
        if key not in self._found:
            self._found[key] = tuple(self._faults(taken))
        return self._found[key]

    def _faults(self, taken: Taken) -> Iterator[Fault]:
        wants = self._wants(taken)
        started = self._last("first_run", wants["first_run"], taken) if "first_run" in wants else None
        for name, step in wants.items():
            if started is None or name == "first_run":  # what the run itself wanted was looked at then
                faults = self._fault(name, step, taken)
                yield from (one for one in faults if one.against or name not in NOT_NONE or taken.read not in TURNS)

    def _wants(self, taken: Taken) -> dict[str, str]:
        """Readings that must stand before this one, and the last step that asks for each, in the order of the job."""
        asked = self._asked.get((taken.step, taken.read))
        if asked is None:
            asked = next((place for (_, name), place in self._asked.items() if name == taken.read), None)
        if asked is None:
            return {}
        steps, running = self.procedure.steps, taken.read in RUNS
        found: dict[str, str] = {}
        for (step, name), place in self._asked.items():
            if place == asked:
                if step in steps and steps[step].bench != MAIN_BENCH:  # a shaft by itself, on its bench
                    return {}
                break
            due = (
                name in READY or self.reads[name].kind == "torque"
                if running
                else name in (CLOSED if taken.read in FILLS else BY_HAND)
            )
            own = name == taken.read or (name in TURNS and steps[step].bench != MAIN_BENCH)
            if due and not own and not steps[step].optional and (taken.state != "found" or name == "zero_energy"):
                found.pop(name, None)
                found[name] = step
        return found

    @cached_property
    def _asked(self) -> dict[tuple[str, str], int]:
        """(step, reading) in the order of the job, and the place of each."""
        pairs = [(name, read) for name in self.procedure.order for read in self.procedure.steps[name].reads]
        return {pair: place for place, pair in enumerate(pairs)}

    @cached_property
    def _by_name(self) -> dict[str, list[Taken]]:
        """Entries that stand, by name, in the order in which they were read."""
        found: dict[str, list[Taken]] = {}
        for one in self.job.taken:
            if not one.struck and (one.state != "found" or one.read == "zero_energy"):
                found.setdefault(one.read, []).append(one)
        return found

    def _last(self, name: str, step: str, taken: Taken) -> Taken | None:
        """The last entry of that name that was read before another; of that step where several ask for it."""
        several, named = step and len(self.reads[name].steps) > 1, self._by_name.get(name, [])
        earlier = reversed(named[: bisect_left(named, taken.place, key=lambda one: one.place)])
        return next((one for one in earlier if not several or one.step == step), None)

    def _fault(self, name: str, step: str, taken: Taken) -> Iterator[Fault]:
        title, last = self.reads[name].title, self._last(name, step, taken)
        came = (
            self._last(counted.CAME_IN[name], "", taken)
            if name in counted.CAME_IN and self._is_asked(counted.CAME_IN[name])
            else None
        )
        if came is not None and (last is None or last.place < came.place):
            yield Fault(text("guards.none_out", title=title, came=int(came.values[-1]), number=came.number), name == "packers_out")
            return
        if last is None and name in INSTEAD:
            last = self._last(INSTEAD[name], "", taken)
        if last is None:
            yield Fault(title, False)
            return
        told: dict[str, Any] = {"title": title, "number": last.number}
        against = self._against(last, came)
        changed = self.lapses.since(last, taken.place)
        ran = self._started(last, taken) if name == "zero_energy" and taken.read in TURNS else None
        if against and (changed is None or self.reads[name].kind != "length"):
            yield Fault(text(f"guards.{against[0]}", **told, **against[1]), True)
        elif changed is None and self.blocked(last):
            yield Fault(text("guards.not_counting", **told), True)
        elif changed is not None:
            yield Fault(text("guards.lapsed", gasket=text(f"part.{changed.read.removeprefix('gaskets.')}"), **told), False)
        elif ran is not None:
            yield Fault(text("guards.ran", run=ran.number, **told), False)

    def _against(self, last: Taken, came: Taken | None) -> tuple[str, dict[str, Any]] | None:
        """What an entry says against going on: key of a text, and its values; None where it is in order."""
        read = self.reads[last.read]
        if read.kind == "agreed":
            return ("refused", {}) if any(one.strip().lower() != "yes" for one in last.typed) else None
        if read.kind == "feel":
            return ("tight", {"values": ", ".join(map(feel.word, map(feel.felt, last.typed)))}) if feel.tight(last.typed) else None
        if read.kind == "count":
            return self._miscounted(last, came)
        if last.read == "set_number":
            marked = self.machine.gears.set_number
            other = bool(marked) and set_number.judged(str(marked), last.typed) == "stop"
            return ("other_set", {"values": "; ".join(last.typed)}) if other else None
        return ("nothing", {}) if read.kind == "length" and min(last.values) <= NOTHING else None

    def _miscounted(self, last: Taken, came: Taken | None) -> tuple[str, dict[str, Any]] | None:
        count, reducer = int(last.values[-1]), assemble(self.machine)
        if last.read == "locks_counted":
            drawn = sum(counted.locks(reducer))
            return None if count == drawn else ("locks", {"count": count, "drawn": drawn})
        if came is None:
            return ("none_in", {"left": count}) if self._is_asked(counted.CAME_IN[last.read]) else None
        inside = int(came.values[-1])
        if inside != count:
            return "balance", {"left": count, "came": inside, "entry": came.number}
        drawn = counted.packers(reducer) if last.read == "packers_out" else 0
        return ("short", {"left": count, "drawn": drawn}) if count < drawn else None

    def _is_asked(self, name: str) -> bool:
        return any(read == name for _, read in self._asked)

    def _started(self, early: Taken, late: Taken) -> Taken | None:
        """The last start of the machine between two entries."""
        runs = (one for name in STARTS for one in self._by_name.get(name, []) if one.typed != ("no",))
        return max((one for one in runs if early.place < one.place < late.place), key=lambda one: one.place, default=None)

    def _late(self, taken: Taken, said: Judgement) -> Judgement:
        """Oil after a run that had none before it."""
        runs = [one for one in self._by_name.get("first_run", []) if one.typed != ("no",)]
        dry = [one for one in runs if one.place < taken.place and self._last(taken.read, taken.step, one) is None]
        if taken.state == "found" or not dry or any(one.place > taken.place and not self.blocked(one) for one in runs):
            return said
        return replace(said, verdict="stop", now=(text("guards.dry", number=dry[-1].number), *said.now))

    def _gone_over(self, taken: Taken, said: Judgement, system: units.System) -> Judgement:
        """Screws gone over after a run: after the last one, and cold."""
        runs = [
            one for name in STARTS for one in self._by_name.get(name, []) if one.typed != ("no",) and one.number != taken.number
        ]
        later = max((one for one in runs if one.place > taken.place), key=lambda one: one.place, default=None)
        earlier = [one for one in runs if one.place < taken.place]
        if not earlier:
            return said
        unsure: Verdict = "stop" if said.verdict == "stop" else "watch"
        if all(self.blocked(one) for one in earlier):
            told_run = text("guards.no_run", number=earlier[-1].number)
            return replace(said, verdict=unsure, now=(*said.now, told_run), counts=False)
        if later is not None:
            return replace(said, verdict=unsure, now=(*said.now, text("guards.ran_again", run=later.number)), counts=False)
        workshop = self.machine.shop.ambient if taken.gauge is None else taken.gauge
        told = {"workshop": units.show(workshop, "temperature", system), "most": units.show(COLD, "temperature rise", system)}
        if not taken.temperatures:
            return replace(said, verdict=unsure, now=(*said.now, text("guards.how_cold", **told)), counts=False)
        part = max(taken.temperatures, key=lambda degrees: abs(degrees - workshop))
        told["part"] = units.show(part, "temperature", system)
        if abs(part - workshop) > COLD + SAME:
            return replace(said, verdict=unsure, now=(*said.now, text("guards.not_cold", **told)), counts=False)
        return replace(said, says=(*said.says, text("guards.cold", **told)))


def refused(name: str) -> str:
    """What to do when a hold point is answered with no: its own instruction."""
    return text(f"guards.no.{name}")


def _told(faults: tuple[Fault, ...]) -> Iterator[str]:
    """What was missing, a sentence each for what speaks against it and for what nobody wrote down."""
    for key, against in (("guards.missing", True), ("guards.unwritten", False)):
        named = [one.says for one in faults if one.against == against]
        if named:
            yield text(key, faults="; ".join(named))


def zero(taken: Taken) -> tuple[int, ...]:
    """Places at which a backlash was read as none, counted from 1."""
    return tuple(place for place, value in enumerate(taken.values, 1) if value <= NOTHING) if taken.read in DIALS else ()
