"""A record in lines and as JSON: every entry with its verdict, what to do now, and what is still open.

Contents: `Opened`, `opened`, `put`, `report`, `lines`, `still_open`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import Any

from geometry.machine import Machine
from geometry.reducer import Reducer, assemble
from scenes import dry_trial, held_back, record_time, record_whose, record_words, sizes, temperatures, torques
from scenes.cures import CURED, TRIAL
from scenes.explain import Explainer
from scenes.gasket_changes import FOLLOWED, MOVES, found_after, found_closed_by, gaskets_at, tried_since
from scenes.guards import Guards
from scenes.lapsed import Lapses
from scenes.measured import Measured, dimensions, machine_of, proven
from scenes.procedure import MAIN_BENCH
from scenes.read_limits import limits_of
from scenes.reads import DIALS, Read, known
from scenes.record import PUT_IN, Job, Taken, job_of, opening
from scenes.record_file import Content, Entry, Record, RecordError
from scenes.record_judged import Judgement, counts, held, judge, last_counting
from scenes.record_order import moment, runs
from scenes.settings import Settings
from scenes.settled import LAID_ON, Stood, settled
from scenes.standing import HELD, Held
from scenes.step_limits import Limits
from scenes.wanted import Wanted, wanted
from scenes.wording import spoken, text

EMPTY = Content((), ())
"""What stands in a record that has no file yet."""
MOST_MACHINES = 8
"""Measured machines of one record that are kept: its entries are judged one after the other."""


@dataclass(frozen=True, eq=False)
class Opened:
    """A record beside its machine: `planned` as the machine file says; the job; what can be read; what stands in the file; the machines
    that were made of it, by the language of their faults and the entries that make them: sizes, and what says whether an instrument is in
    date; entries that were in the file since it was opened first, and are not now."""

    planned: Explainer
    record: Record
    job: Job
    reads: dict[str, Read]
    content: Content = EMPTY
    made: dict[tuple[str, bool, tuple[int, ...]], Measured] = field(default_factory=dict)
    gone: tuple[Entry, ...] = ()

    @property
    def there(self) -> bool:
        """Whether the record has a file. Raises RecordError."""
        return self.record.there

    @cached_property
    def _names(self) -> list[str]:
        return dimensions(self.planned.machine, self.planned.procedure)

    @cached_property
    def lapses(self) -> Lapses:
        """What the gaskets that were put in leave of the readings."""
        return Lapses(self.planned.machine, self.planned.procedure, self.job)

    @cached_property
    def guards(self) -> Guards:
        """What must stand before somebody turns or runs the machine."""
        return Guards(self.planned.machine, self.planned.procedure, self.reads, self.job, self.lapses)

    @cached_property
    def dry_marks(self) -> frozenset[int]:
        """Entries that are marks of the dry trial."""
        return dry_trial.marks(self.planned.procedure, self.job)

    @cached_property
    def sealed(self) -> Job:
        """The job without the marks of the dry trial, which are not those of the closed machine."""
        return replace(self.job, taken=tuple(one for one in self.job.taken if one.number not in self.dry_marks))

    @cached_property
    def held_back(self) -> dict[tuple[str, str], tuple[str, ...]]:
        """What holds every move back, by unit system and language, once it was asked for."""
        return {}

    @cached_property
    def _kept_names(self) -> frozenset[str]:
        return frozenset(self._names)

    @cached_property
    def present(self) -> Explainer:
        """The machine with the readings of the record in it."""
        machine = self._measured(self.job).machine
        read = self._settled(machine)
        same = read is self.planned.machine
        return (self.planned if same else Explainer(read, self.planned.folder, self.planned.units)).holding(self._held(machine))

    def _counts(self, taken: Taken) -> bool:
        return counts(self.planned.machine, self.job, self.reads[taken.read], taken)

    def _settled(self, machine: Machine) -> Machine:
        """The same with the ends of its chains where they were read; as it is where no reducer of this kind could be built."""
        stood = {}
        for name in LAID_ON:
            taken = last_counting(self.planned.machine, self.job, self.reads[name]) if name in self.reads else None
            if taken is not None:
                stood[name] = Stood(taken.mean, gaskets_at(self.planned.machine, self.job, taken, self._counts))
        try:
            return proven(settled(machine, stood)) if stood else machine
        except ValueError:
            return machine

    def _held(self, machine: Machine) -> dict[str, Held]:
        """Readings of the record that stand, for the notes."""
        names = [name for name in HELD if name in self.reads and self.job.standing(name, *PUT_IN)]
        if not names:
            return {}
        reducer, now = assemble(machine), self.planned.start_settings()
        found = {name: held(self.planned, reducer, now, self.guards.sound, self.reads[name], self.lapses) for name in names}
        return {name: one for name, one in found.items() if one is not None}

    @cached_property
    def unfit_entries(self) -> tuple[tuple[int, str], ...]:
        """Readings that could not be put into the machine: number of the entry, and a finished line."""
        both = (self._measured(self.job, found=found) for found in (True, False))
        said = ((number, text("record.unfit", number=number, fault=fault)) for one in both for number, fault in one.unfit)
        return tuple(dict.fromkeys(said))

    @property
    def unfit(self) -> tuple[str, ...]:
        """Readings that could not be put into the machine, a line each."""
        return tuple(line for _, line in self.unfit_entries)

    @property
    def remarks(self) -> tuple[str, ...]:
        """What is to be looked at in the record itself: entries that are gone, whose it is, the clock that dated it; a line each."""
        whose = record_whose.remark(self.job.whose, record_whose.of(self.planned.machine))
        return (*(one for one in (self.lost, whose) if one), *record_time.clock(self.job))

    @property
    def lost(self) -> str:
        """That entries which were in the file are gone; empty where none are."""
        numbers = sorted({one.number for one in self.gone})
        return text("record.gone", entries=", ".join(runs(numbers))) if numbers else ""

    def judge(self, taken: Taken, now: Settings, *, since: bool = False, cures: bool = True) -> Judgement:
        """What a reading says, on the machine as it stood when it was entered; `since`: with what was entered later, too; `cures`: what to
        put in is worked out, unless something holds every move back."""
        said = self.guards.looked_at(taken, self.own(taken, now, since=since, cures=cures), now.units)
        hot = self._heated_before(taken)
        if hot is None:
            return said
        return replace(said, verdict="stop", now=(text("record.now_hot_before", number=hot.number), *said.now), danger=True)

    @cached_property
    def overheated(self) -> tuple[Taken, ...]:
        """Entries of parts that were once heated over their limit, until they are struck."""
        return tuple(held_back.too_hot(self, self.planned.start_settings()))

    def _heated_before(self, taken: Taken) -> Taken | None:
        """The entry by which the part of this step, or one that this step closes in on its bench, was over its heating limit."""
        steps, at = self.planned.procedure.steps, self.planned.procedure.steps.get(taken.step)
        if at is None or at.bench == MAIN_BENCH:
            return None
        return next((one for one in self.overheated if one.place < taken.place and (hot := steps.get(one.step)) is not None
                     and hot.bench == at.bench and hot.number <= at.number), None)  # fmt: skip

    def own(self, taken: Taken, now: Settings, *, since: bool = False, cures: bool = False) -> Judgement:
        """The same by itself, whatever was missing when it was read."""
        found = taken.state == "found"
        late = since or (found and taken.read in FOLLOWED)  # what came out is measured after the machine was read as found
        late = late and self.reads[taken.read].kind != "count"  # what went in later is no part of it
        job = self.job if taken.read == TRIAL else self.sealed
        before = self._with_its_gaskets(job, taken) if late else job.until(taken)
        size = self.reads[taken.read].dimension  # is judged by its drawing, whatever else was measured
        reducer = self.planned.reducer(now) if size else self.reducer(before, found=found)
        given = self.planned, reducer, now, before, self.reads[taken.read], taken, self.lapses
        last = self.job.latest(taken.read, *(("found",) if found else PUT_IN))
        moved = cures and taken.read in CURED and (last is None or last.place <= taken.place)
        said = judge(*given, cures=cures and not moved)
        if moved and said.verdict == "stop":
            held = held_back.lines(self, now)
            said = replace(said, now=(*held, *said.now)) if held else judge(*given)
        if cures and taken.read == "pattern" and (held := held_back.lines(self, now)):
            said = replace(said, now=(held[0], text("rounds.held_back"), *(said.now if said.verdict == "stop" else ())))
        if taken.number in self.dry_marks:
            said = replace(said, now=(text("record.now_dry_marks"), *said.now))
        return said

    def _with_its_gaskets(self, job: Job, taken: Taken) -> Job:
        """A job without the gaskets that were put in after a reading."""
        later = {one.number for one in self.lapses.changes if one.place > taken.place}
        return replace(job, taken=tuple(one for one in job.taken if one.number not in later)) if later else job

    def reducer(self, job: Job, *, found: bool = False) -> Reducer:
        """The reducer of the machine with the readings of a job in it; `found`: with the gaskets that came out."""
        return assemble(self._measured(job, found=found).machine)

    def _measured(self, job: Job, *, found: bool = False) -> Measured:
        """The machine with the readings of a job in it, and what could not be put in."""
        names = self._kept_names
        key = spoken(), found, tuple(one.number for one in job.taken if not one.struck and (one.due or one.read in names))
        made = self.made.get(key)
        if made is None:
            if len(self.made) >= MOST_MACHINES:
                self.made.clear()
            made = self.made[key] = machine_of(self.planned.machine, job, self._names, found=found)
        return made

    def follows(self, taken: Taken, now: Settings) -> tuple[str, ...]:
        """What can be done now that a gasket which came out is measured, or the dry trial is marked: it is asked of the readings that were
        taken with it."""
        dials = [one for one in self.job.standing("", *PUT_IN) if one.read in DIALS and one.place < taken.place]
        if taken.read == "pattern" and taken.state != "found" and dials and dials[-1].read == TRIAL:
            if tried_since(self.lapses.changes, dials[-1]):
                return ()
            return self.judge(dials[-1], now, since=True).now
        if taken.state != "found":
            return ()
        read = (self.job.latest(name, "found") for name in MOVES.get(taken.read, ()) if name in CURED)
        return tuple(dict.fromkeys(line for one in read if one is not None for line in self.judge(one, now).now))


def opened(explainer: Explainer, path: Path, before: Opened | None = None) -> Opened:
    """The record at a path, empty where there is none yet. `before`: the same as it was read earlier; what is known from it is not worked
    out again, and what was in it and is not now is told of. Raises RecordError, also when it is of another machine."""
    if before is not None and before.planned is not explainer:
        before = None
    record, reads = Record(path), known(explainer.machine, explainer.procedure) if before is None else before.reads
    content = record.read(None if before is None else before.content) if record.there else EMPTY
    goes_on = before is not None and content.goes_on(before.content)
    if before is not None and goes_on and content.raw == before.content.raw:
        return before
    job = job_of(content, reads, {one.number: one for one in before.job.taken} if before is not None and goes_on else {})
    if refused := record_whose.refused(path, job.whose, record_whose.of(explainer.machine)):
        raise RecordError(refused)
    if job.strange and not (job.whose.machine or job.taken or job.strikes):
        raise RecordError(text("record.not_ours", file=path))
    gone = () if before is None else content.lacks((*before.gone, *(() if goes_on else before.content.entries)))
    gone = tuple(
        one for one in gone if "machine" not in one.values or "initials" in one.values
    )  # an opening says nothing of its own
    return Opened(explainer, record, job, reads, content, before.made if before is not None and goes_on else {}, gone)


def put(found: Opened, entry: Mapping[str, Any]) -> int:
    """Put an entry on the disk, in a new record behind the one that says whose it is. Result: its number. Raises RecordError, also when
    the record is of gears that are not those of the machine file, and when a reading goes against those as found."""
    whose = record_whose.of(found.planned.machine)
    if not found.job.whose.machine and found.there:  # somebody else may have begun it meanwhile
        found = opened(found.planned, found.record.path)
    if "machine" not in entry and (stopped := record_whose.hindrance(found.job.whose, whose)):
        raise RecordError(f"{found.record.path}: {stopped}")
    if "read" in entry and (against := _against_found(found, entry)):
        raise RecordError(against)
    return found.record.add(entry, opening=opening(whose))


def _against_found(found: Opened, entry: Mapping[str, Any]) -> str:
    """Why a reading can't have been taken when it says: as found with the new gaskets in, or these before the machine was read as found;
    empty where it can. A clock that went back is told of, and keeps no gasket out."""
    read, state, at = entry["read"], entry["state"], moment(entry["time"], entry.get("entered", ""))
    title = found.reads[read].title
    if (closed := found_closed_by(found.job, read, state, at)) is not None:
        return text("record.found_closed", title=title, number=closed.number)
    later = found_after(found.job, read, state, at) if entry.get("entered") else None
    if later is None:
        return ""
    what = found.reads[later.read].title
    return text("record.found_after", title=title, read=what, number=later.number, time=record_time.shown(later.time))


def report(found: Opened, now: Settings) -> dict[str, Any]:
    """What `record --json` prints. Figures in mm and N·m, whatever the unit system of the texts."""
    return {
        "machine": found.planned.title,
        "record": str(found.record.path),
        "readings": [_entry(found, one, now) for one in found.job.taken],
        "strikes": [
            {"number": one.number, "time": one.time, "strikes": one.strikes, "initials": one.initials, "note": one.note}
            for one in found.job.strikes
        ],
        "torn": list(found.job.torn),
        "strange": list(found.job.strange),
        "unfit": list(found.unfit),
        "remarks": list(found.remarks),
        "open": list(still_open(found, now)),
    }


def _entry(found: Opened, one: Taken, now: Settings) -> dict[str, Any]:
    said = found.judge(one, now)
    return {
        "number": one.number, "time": one.time, "entered": one.entered or one.time, "state": one.state, "step": one.step, "read": one.read,
        "title": found.reads[one.read].title, "values": list(one.typed), "figures": list(one.values), "with": one.instrument,
        "initials": one.initials, "note": one.note, "struck": one.struck,
        "temperatures": list(one.temperatures), "gauge": one.gauge, "due": one.due,
        "verdict": said.verdict, "counts": said.counts, "says": list(said.says), "now": list(said.now),
    }  # fmt: skip


def lines(found: Opened, now: Settings) -> Iterator[str]:
    """The record for a fitter, line by line; what to do now only for the last reading of its kind."""
    job = found.job
    if not job.taken:
        yield text("record.nothing")
    else:
        struck = sum(1 for one in job.taken if one.struck)
        yield text("record.heading", machine=found.planned.title, count=len(job.taken), struck=struck)
    for one in job.taken:
        yield entry_line(found, one)
        yield from (f"    {line}" for line in taken_how(one, now))
        if not one.struck:
            said = found.judge(one, now)
            last = job.latest(one.read, *(("found",) if one.state == "found" else PUT_IN), step=one.step)
            again = () if last is None or last is one else (text("record.read_again", number=last.number),)
            yield from (f"    {line}" for line in (*said.says, *(said.now if last is one else again)))
    yield from untold(found)
    missing, reasons = list(open_lines(found, now)), list(sizes.with_reason(found, now))
    if reasons:
        yield from ("", text("record.with_reason"), *(f"  {line}" for line in reasons))
    yield from missing
    if job.taken and not missing:
        reducer = found.present.reducer(now)
        yield text(
            "record.closed_reason" if reasons else "record.closed",
            count=sum(1 for read in found.reads.values() if read.steps and limits_at(found, reducer, read, read.steps[0]) is None),
        )


def taken_how(one: Taken, now: Settings) -> Iterator[str]:
    """What a reading was taken with and how warm, and the note on it; a line each, none where nothing is written."""
    due = text("record.sheet_due", due=one.due) if one.due else ""
    warm = temperatures.noted(one, now.units) if one.temperatures or one.gauge is not None else ""
    how = ", ".join(piece for piece in (one.instrument, due, warm) if piece)
    yield from [text("record.taken_with", how=how)] if how else []
    yield from [text("record.noted", note=one.note)] if one.note.strip() else []


def open_lines(found: Opened, now: Settings) -> Iterator[str]:
    """What is still open, under its heading; nothing where nothing is."""
    missing = list(still_open(found, now))
    if missing:
        yield ""
        yield text("record.open")
        yield from (f"  {line}" for line in missing)


def limits_at(found: Opened, reducer: Reducer, read: Read, step: str, value: float = 0.0) -> Limits | None:
    """What a reading must lie in at a step; `value`: what was read there [mm, N·m]."""
    taken_at = found.planned.procedure.steps.get(step)
    return limits_of(reducer, read, taken_at.arrives if taken_at is not None else (), value)


def untold(found: Opened) -> Iterator[str]:
    """What is to be looked at in the file, and what of it counts for nothing: torn lines, strange entries, readings that could not be put
    into the machine."""
    yield from (*record_whose.answered(found.job.whose), *found.remarks)
    yield from (text("record.torn", number=number) for number in found.job.torn)
    yield from (text("record.strange", number=number) for number in found.job.strange)
    yield from found.unfit


def entry_line(found: Opened, one: Taken) -> str:
    """One reading on one line."""
    time, entered = record_time.shown(one.time), record_time.shown(one.entered)
    time = text("record.time_entered", time=time, entered=entered) if one.entered else time
    told = {"number": one.number, "time": time, "by": one.struck, "initials": one.initials}
    told |= {"title": titled(found, found.reads[one.read], one.step), "values": record_words.told(found.reads[one.read], one.typed)}
    if not one.struck:
        return text("record.line", state=text(f"record.state_{one.state}"), **told)
    strike = next(each for each in found.job.strikes if each.number == one.struck)
    return text("record.line_struck", why=strike.note, who=strike.initials, **told)


def titled(found: Opened, read: Read, step: str) -> str:
    """A reading's name; with the number of its step where several ask for it, and that a torque is the one after the run."""
    steps = found.planned.procedure.steps
    if read.kind == "torque" and torques.after_run(found.planned.procedure, step):
        return text("record.retorque", title=read.title, step=steps[step].number)
    if len(read.steps) < 2 or step not in steps:
        return read.title
    return text("record.at_step", title=read.title, step=steps[step].number)


def still_open(found: Opened, now: Settings) -> Iterator[str]:
    """What the job still wants: what a step asks for and is not there, not in order or out of date, and every size that is not in order."""
    yield from (_wants(found, one) for one in wanted(found, now) if one.lacks)
    yield from sizes.still_open(found, now)
    yield from _too_hot(found, now)


def _too_hot(found: Opened, now: Settings) -> Iterator[str]:
    """Every part that was once heated over its limit: a cooler reading does not mend it, only its entry struck, with the answer."""
    for one in held_back.too_hot(found, now):
        yield text("record.open_too_hot", title=found.reads[one.read].title, number=one.number)


OPEN = {"flank": "marks", "accept": "marks"}
"""Lacks that share a sentence."""


def _wants(found: Opened, one: Wanted) -> str:
    """What a reading lacks, in a finished line."""
    procedure, taken, lack = found.planned.procedure, one.taken, one.lack
    told = {"title": one.read.title, "step": procedure.steps[one.step].number if one.step else len(procedure.order)}
    if taken is None or lack is None:
        return text("record.open_missing", **told)
    if one.unexplained is not None:
        return text("record.open_unexplained", number=one.unexplained.number, **told)
    if one.gasket is not None:
        gasket = text(f"part.{one.gasket.read.removeprefix('gaskets.')}")
        return text(f"record.open_{lack}", gasket=gasket, number=one.gasket.number, **told)
    return text(f"record.open_{OPEN.get(lack, lack)}", number=taken.number, count=len(taken.values), wanted=one.read.wanted, **told)
