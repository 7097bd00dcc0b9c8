"""What is known of an order, in words beside the picture of each step: the verdict in a line, its faults at the step, what it costs to
forget what the step brings or shuts in.

mm, s. Contents: `Judged`, `judge`, `line`, `faults_at`, `watched_at`, `ways_at`, `forgotten_at`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from calc import units
from geometry.reducer import Reducer
from scenes import forgotten, order_words, verdict
from scenes.forgotten import Forgotten, Moment
from scenes.frame import OrderLine
from scenes.order import PROOF, BlockedPath
from scenes.procedure import Procedure
from scenes.timeplan import TimePlan
from scenes.verdict import Verdict
from scenes.wording import text

NAMED = 4
"""Things that a line names before it counts the rest."""
MOST = 2
"""Lines of a step on what it brings, the dearest first."""


@dataclass(frozen=True)
class Judged:
    """The verdict on an order and what each forgotten part costs (none told where parts are left out anyway)."""

    verdict: Verdict
    forgotten: tuple[Forgotten, ...]


def judge(reducer: Reducer, procedure: Procedure, times: TimePlan, found: Verdict) -> Judged:
    """Both together. `times`: the time plan of the same job [s]; `found`: the verdict on it."""
    return Judged(found, () if found.gaps else forgotten.table(reducer, procedure, times))


def line(found: Verdict, reducer: Reducer, system: units.System) -> OrderLine:
    """The verdict in one line."""
    proof = found.proof
    listed = verdict.faults(found, reducer, system)
    steps, count = [fault.number for fault in listed if fault.number], len(listed)
    if not count:
        key = "proven" if proof.pitch <= PROOF else "free_quick"
        return OrderLine("fine", text(f"order_verdict.{key}"))
    key = ("fault" if count == 1 else "faults") + ("" if steps else "_loose")
    return OrderLine("stop", text(f"order_verdict.{key}", count=count, number=min(steps, default=0)))


def ways_at(found: Verdict, step: str) -> tuple[BlockedPath, ...]:
    """Ways of a step that are not free, one for pieces of an item that the same part stops."""
    first: dict[tuple[str, ...], BlockedPath] = {}
    for path in found.proof.blocked:
        if path.step == step:
            first.setdefault(verdict.pair(path), path)
    return tuple(first.values())


def faults_at(found: Verdict, reducer: Reducer, step: str, system: units.System) -> tuple[str, ...]:
    """What stands against the order at a step, in finished sentences: its ways in the order of `ways_at`, then broken rules."""
    ways = [order_words.sentence(reducer, path, system) for path in ways_at(found, step)]
    return (*ways, *(fault.text for fault in verdict.faults(found, reducer, system) if fault.step == step and fault.breach))


def watched_at(found: Verdict, step: str) -> tuple[str, ...]:
    """What is to be watched at a step and does not stop the order, in finished sentences."""
    return tuple(breach.text for breach in found.watches if breach.step == step)


def forgotten_at(judged: Judged, reducer: Reducer, procedure: Procedure, step: str) -> tuple[str, ...]:
    """What it costs to forget what a step brings, and what must be looked for before the step is done; finished sentences."""
    last: dict[tuple[str, ...], list[tuple[Forgotten, Moment]]] = {}
    brought: dict[tuple[tuple[str, ...], tuple[str, ...], str], list[Forgotten]] = {}
    for row in judged.forgotten:
        first = next((moment for moment in row.moments if moment.tight), None)
        if first is not None and first.step == step and row.step != step:
            last.setdefault(first.tight, []).append((row, first))
        if row.step == step and row.end.time.value:
            brought.setdefault((row.end.off, row.end.void, row.free_until), []).append(row)
    told = [_last_chance(reducer, tight, rows) for tight, rows in last.items()]
    worst = sorted(brought.values(), key=lambda rows: -rows[0].end.time.value)[:MOST]
    return (*told, *(_left_out(reducer, procedure, rows) for rows in worst))


def _last_chance(reducer: Reducer, tight: Sequence[str], rows: Sequence[tuple[Forgotten, Moment]]) -> str:
    worst = max(rows, key=lambda pair: pair[0].end.time.value)[0]
    return text(
        "forgotten.last_chance", items=_names(reducer, [row.item for row, _ in rows]), tight=_names(reducer, tight),
        count=len(worst.end.off), time=_time(worst.end),
    )  # fmt: skip


def _left_out(reducer: Reducer, procedure: Procedure, rows: Sequence[Forgotten]) -> str:
    end = rows[0].end
    if not end.off:
        steps = ", ".join(str(procedure.steps[name].number) for name in end.void)
        return text("forgotten.left_out_void", items=_names(reducer, [row.item for row in rows]), steps=steps, time=_time(end))
    tight = text("forgotten.tight", names=_names(reducer, end.tight, end.benches)) if end.tight else ""
    key = "forgotten.left_out_one" if len(end.off) == 1 else "forgotten.left_out"
    told = [text(key, items=_names(reducer, [row.item for row in rows]), count=len(end.off), tight=tight, time=_time(end))]
    if end.tight:
        until = rows[0].free_until
        told.append(text("forgotten.until", number=procedure.steps[until].number) if until else text("forgotten.never"))
    return " ".join(told)


def _names(reducer: Reducer, items: Sequence[str], benches: Sequence[str] = ()) -> str:
    names = list(dict.fromkeys(forgotten.name_of(reducer, item, benches) for item in items))
    if len(names) <= NAMED:
        return "; ".join(names)
    return text("forgotten.more", names="; ".join(names[: NAMED - 1]), count=len(names) - NAMED + 1)


def _time(moment: Moment) -> str:
    return units.show(moment.time.value, "time", "mm", digits=0)
