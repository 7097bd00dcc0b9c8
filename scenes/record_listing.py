"""A record in lines and as JSON: every entry with its verdict, what to do now, and what is still open.

Contents: `Opened`, `opened`, `with_job`, `report`, `lines`, `still_open`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from scenes.explain import Explainer
from scenes.measured import dimensions, machine_of
from scenes.reads import Read, known
from scenes.record import Job, Taken, job_of
from scenes.record_file import Content, Entry, Record
from scenes.record_judged import Judgement, judge
from scenes.settings import Settings
from scenes.wording import text


@dataclass(frozen=True, eq=False)
class Opened:
    """A record beside its machine: `planned` as the machine file says, `found` and `present` with the readings of the record in it."""

    planned: Explainer
    record: Record
    job: Job
    reads: dict[str, Read]
    found: Explainer
    present: Explainer
    unfit: tuple[str, ...] = ()

    def judge(self, taken: Taken, now: Settings) -> Judgement:
        """What a reading says, on the machine as it then was; a dimension by what the machine file says of it."""
        if self.reads[taken.read].dimension:
            return judge(self.planned, now, self.job, taken)
        return judge(self.found if taken.state == "found" else self.present, now, self.job, taken)


def opened(explainer: Explainer, path: Path) -> Opened:
    """The record at a path, empty where there is none yet. Raises RecordError."""
    record, reads = Record(path), known(explainer.machine, explainer.procedure)
    job = job_of(record.read(), reads) if path.exists() else Job(())
    return with_job(explainer, record, job, reads)


def with_job(explainer: Explainer, record: Record, job: Job, reads: dict[str, Read]) -> Opened:
    """A record that was read already, beside its machine."""
    names = dimensions(explainer.machine, explainer.procedure)
    found, present = (machine_of(explainer.machine, job, names, found=found) for found in (True, False))
    both = [
        Explainer(each.machine, explainer.folder) if each.machine is not explainer.machine else explainer
        for each in (found, present)
    ]
    unfit = (text("record.unfit", number=number, fault=fault) for number, fault in (*found.unfit, *present.unfit))
    return Opened(explainer, record, job, reads, both[0], both[1], tuple(dict.fromkeys(unfit)))


def refuse_unfit(found: Opened, read: Read, values: Mapping[str, Any]) -> None:
    """Raises ValueError when a reading of a dimension can't stand in the machine file's place."""
    if not read.dimension:
        return
    trial = job_of(Content((Entry(0, values),), ()), found.reads)
    unfit = machine_of(found.planned.machine, trial, [read.name], found=values["state"] == "found").unfit
    if unfit:
        raise ValueError("\n".join(fault for _, fault in unfit))


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
        "open": list(still_open(found, now)),
    }


def _entry(found: Opened, one: Taken, now: Settings) -> dict[str, Any]:
    said = found.judge(one, now)
    return {
        "number": one.number, "time": one.time, "state": one.state, "step": one.step, "read": one.read,
        "title": found.reads[one.read].title, "values": list(one.typed), "figures": list(one.values), "with": one.instrument,
        "initials": one.initials, "note": one.note, "struck": one.struck,
        "verdict": said.verdict, "says": list(said.says), "now": list(said.now),
    }  # fmt: skip


def lines(found: Opened, now: Settings) -> Iterator[str]:
    """The record for a fitter, line by line."""
    job = found.job
    if not job.taken:
        yield text("record.nothing")
    else:
        struck = sum(1 for one in job.taken if one.struck)
        yield text("record.heading", machine=found.planned.title, count=len(job.taken), struck=struck)
    for one in job.taken:
        yield entry_line(found, one)
        if not one.struck:
            said = found.judge(one, now)
            yield from (f"    {line}" for line in (*said.says, *said.now))
    yield from (text("record.torn", number=number) for number in job.torn)
    yield from (text("record.strange", number=number) for number in job.strange)
    yield from found.unfit
    missing = list(still_open(found, now))
    if missing:
        yield ""
        yield text("record.open")
        yield from (f"  {line}" for line in missing)
    elif job.taken:
        yield text("record.closed")


def entry_line(found: Opened, one: Taken) -> str:
    """One reading on one line."""
    told = {"number": one.number, "time": one.time, "by": one.struck, "initials": one.initials}
    told |= {"title": found.reads[one.read].title, "values": "; ".join(one.typed), "state": text(f"record.state_{one.state}")}
    return text("record.line_struck" if one.struck else "record.line", **told)


def still_open(found: Opened, now: Settings) -> Iterator[str]:
    """What the job still wants: each reading that a step asks for and that is not there, or not inside its limits."""
    procedure = found.planned.procedure
    for read in found.reads.values():
        if not read.step or procedure.steps[read.step].optional:
            continue
        taken = found.job.latest(read.name, "fitting", "left")
        step = procedure.steps[read.step].number
        if taken is None:
            yield text("record.open_missing", title=read.title, step=step)
            continue
        verdict = found.judge(taken, replace(now, step=None)).verdict
        if verdict == "stop" or (verdict == "watch" and read.kind != "marks"):
            yield text(f"record.open_{verdict}", title=read.title, step=step, number=taken.number)
