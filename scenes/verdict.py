"""The verdict on a job, one page: is the order whole, has every part a way in, are the rules of the trade kept, does every joint hold.

Contents: `Verdict`, `judge`, `sentences`, `report`.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from calc import units
from geometry.blocking import Table
from geometry.reducer import Reducer
from scenes import order, rules, whole
from scenes.order import Progress, Proof
from scenes.rules import Breach, Job


@dataclass(frozen=True)
class Verdict:
    """What stands against an order. `gaps`: sentences on parts left out or brought twice; `proof`: the ways in."""

    gaps: tuple[str, ...]
    proof: Proof
    breaches: tuple[Breach, ...]

    @property
    def holds(self) -> bool:
        """Whether nothing stands against it."""
        return self.proof.free and not self.gaps and not self.breaches


def judge(job: Job, *, pitch: float = order.QUICK, table: Table | None = None, progress: Progress | None = None) -> Verdict:
    """The verdict on a job. `pitch`: of the dexels [mm]; `table`: of this reducer, when several orders are judged."""
    table = table or Table(job.reducer, pitch)
    proof = order.prove(job.reducer, job.procedure, pitch=table.pitch, table=table, progress=progress)
    found = Verdict(whole.gaps(job.reducer, job.procedure), proof, rules.breaches(job))
    table.save()
    return found


def sentences(verdict: Verdict, reducer: Reducer, system: units.System) -> list[str]:
    """Every fault of the order, in finished sentences: gaps, then blocked ways and broken rules as the steps come."""
    found = [(path.number, order.sentence(reducer, path, system)) for path in verdict.proof.blocked]
    found += [(breach.number, breach.text) for breach in verdict.breaches if breach.text not in verdict.gaps]
    return [*verdict.gaps, *(told for _, told in sorted(found, key=lambda item: item[0]))]


def report(verdict: Verdict, reducer: Reducer, system: units.System) -> dict[str, Any]:
    """What `check --json` prints under `order`: lengths in mm, each fault with its sentence."""
    proof = verdict.proof
    return {
        "holds": verdict.holds,
        "gaps": list(verdict.gaps),
        "free": proof.free,
        "paths": proof.paths,
        "meshes": proof.meshes,
        "pitch": proof.pitch,
        "blocked": [{**asdict(path), "text": order.sentence(reducer, path, system)} for path in proof.blocked],
        "breaches": [{**asdict(found), "reason": found.reason, "source": found.source} for found in verdict.breaches],
    }
