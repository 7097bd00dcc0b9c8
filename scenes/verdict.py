"""The verdict on a job, one page: is the order whole, has every part a way in, are the rules of the trade kept, does every joint hold.

Contents: `Verdict`, `Fault`, `judge`, `pair`, `faults`, `sentences`, `report`.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from typing import Any

from calc import units
from geometry.blocking import Table
from geometry.reducer import Reducer
from scenes import order, order_words, rules, whole
from scenes.order import BlockedPath, Progress, Proof
from scenes.rules import Breach, Job


@dataclass(frozen=True)
class Verdict:
    """What stands against an order. `gaps`: sentences on parts left out or brought twice; `proof`: the ways in."""

    gaps: tuple[str, ...]
    proof: Proof
    breaches: tuple[Breach, ...]

    @property
    def holds(self) -> bool:
        """Whether nothing stands against it; what is only to be watched does not."""
        return self.proof.free and not self.gaps and not self.stops

    @property
    def stops(self) -> tuple[Breach, ...]:
        """Rules broken so that the order does not hold."""
        return tuple(breach for breach in self.breaches if breach.level == "stop")

    @property
    def watches(self) -> tuple[Breach, ...]:
        """Rules broken that are told at their step and let the order stand."""
        return tuple(breach for breach in self.breaches if breach.level == "watch")


@dataclass(frozen=True)
class Fault:
    """One thing that stands against an order, told once: step and its number (0: none), the finished sentence, the blocked ways that
    it tells of as places in the proof, the broken rule."""

    step: str
    number: int
    text: str
    ways: tuple[int, ...] = ()
    breach: Breach | None = None


def judge(job: Job, *, pitch: float = order.QUICK, table: Table | None = None, progress: Progress | None = None) -> Verdict:
    """The verdict on a job. `pitch`: of the dexels [mm]; `table`: of this reducer, when several orders are judged."""
    table = table or Table(job.reducer, pitch)
    found = Verdict(
        whole.gaps(job.reducer, job.procedure),
        order.prove(job.reducer, job.procedure, pitch=table.pitch, table=table, progress=progress),
        rules.breaches(replace(job, table=table)),
    )
    table.save()
    return found


def pair(path: BlockedPath) -> tuple[str, ...]:
    """What one fault of a step tells of: pieces of one item that the same part stops are one."""
    return path.step, path.item, path.by, path.cause, "out" if path.leaving else "in"


def faults(verdict: Verdict, reducer: Reducer, system: units.System) -> tuple[Fault, ...]:
    """Every fault of the order once: gaps, then blocked ways and broken rules as the steps come."""
    missing: dict[str, Fault] = {gap: Fault("", 0, gap) for gap in verdict.gaps}
    found: dict[str, Fault] = {}
    first: dict[tuple[str, ...], str] = {}
    for place, path in enumerate(verdict.proof.blocked):
        told = first.setdefault(pair(path), order_words.sentence(reducer, path, system))
        ways = found[told].ways if told in found else ()
        found[told] = Fault(path.step, path.number, told, (*ways, place))
    for breach in verdict.stops:
        list_of = missing if breach.text in missing else found
        list_of[breach.text] = Fault(breach.step, breach.number, breach.text, breach=breach)
    return (*missing.values(), *sorted(found.values(), key=lambda fault: fault.number))


def sentences(verdict: Verdict, reducer: Reducer, system: units.System) -> list[str]:
    """Every fault of the order, in finished sentences."""
    return [fault.text for fault in faults(verdict, reducer, system)]


def report(verdict: Verdict, reducer: Reducer, system: units.System) -> dict[str, Any]:
    """What `check --json` prints under `order`: lengths in mm; `faults`: each once, with its sentence; then the ways and rules alone."""
    proof = verdict.proof
    listed = faults(verdict, reducer, system)
    return {
        "holds": verdict.holds,
        "faults": [
            {"step": fault.step, "number": fault.number, "rule": fault.breach.rule if fault.breach else None, "text": fault.text}
            for fault in listed
        ],
        "gaps": list(verdict.gaps),
        "free": proof.free,
        "paths": proof.paths,
        "meshes": proof.meshes,
        "pitch": proof.pitch,
        "blocked": [{**asdict(path), "text": order_words.sentence(reducer, path, system)} for path in proof.blocked],
        "breaches": [
            {**asdict(found), "reason": found.reason, "source": found.source}
            for found in verdict.breaches
            if found.text not in verdict.gaps
        ],
    }
