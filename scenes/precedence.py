"""Who must come before whom: the partial order that ways in and rules of the trade leave, and how far each step may move in it.

Ways in: scenes.step_pairs, from the table of what blocks what. Rules are asked, not copied: a step is moved back behind the steps after it,
with all that must follow it, until a rule is broken that was not broken before; there the link is. A reading or an act that no way and
no rule holds is kept behind what its bench last got (at the opening before all else, at the close behind it), and its link says so.
Every order that keeps all links has free ways; rules that ask for one of several (this or that first) may still be broken by some, so a
new order is judged like any other. Where several orders of two acts would do (either merge first), the links keep the one of the order
at hand.
Contents: `Link`, `Precedence`, `precedence`.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Literal

from geometry.blocking import QUICK, Table
from geometry.reducer import Reducer
from scenes import order_words, rules, step_pairs, whole
from scenes.closure import Closure
from scenes.order import Progress
from scenes.procedure import Procedure, reordered
from scenes.rules import Job
from scenes.step_pairs import Need
from scenes.wording import text

Kind = Literal["way", "gasket", "base", "join", "out", "again", "rule", "whole", "stated"]


@dataclass(frozen=True)
class Link:
    """One step must come before another, and why.

    `kind`: a way that is shut, a gasket rubbed, the base of a bench, what a bench gets before it joins, a part that comes and goes, a
    rule (its id in `rule`), a whole machine, or only stated by the file (no check faults that one turned round); `item`: what moves,
    `part`, `by`: what would touch.
    """

    before: str
    after: str
    kind: Kind
    text: str
    item: str = ""
    part: str = ""
    by: str = ""
    rule: str = ""


@dataclass(frozen=True, eq=False)
class Precedence:
    """The partial order of a procedure's steps. `links`: all that were found, not those that only follow from them."""

    order: tuple[str, ...]
    links: tuple[Link, ...]
    closure: Closure = field(repr=False)

    @cached_property
    def reduced(self) -> tuple[Link, ...]:
        """The links that follow from no others."""
        by_pair = {(link.before, link.after): link for link in self.links}
        return tuple(by_pair[pair] for pair in self.closure.reduced())

    def freedom(self, step: str) -> tuple[int, int]:
        """First and last place that a step may take, counted from 1."""
        return len(self.closure.before(step)) + 1, len(self.order) - len(self.closure.after(step))

    def allows(self, names: Sequence[str]) -> bool:
        """Whether an order keeps every link."""
        place = {name: number for number, name in enumerate(names)}
        return all(place[link.before] < place[link.after] for link in self.links)


def precedence(job: Job, *, pitch: float = QUICK, table: Table | None = None, progress: Progress | None = None) -> Precedence:
    """The partial order of a job's steps.

    `pitch`: of the dexels [mm]; `table`: of this reducer at that pitch; `progress`: called with what is done and in all.
    """
    reducer, procedure = job.reducer, job.procedure
    table = table or Table(reducer, pitch)
    links = [_told(reducer, need) for need in step_pairs.needs(reducer, procedure, table, progress)]
    table.save()
    closure = Closure(procedure.order, ((link.before, link.after) for link in links))
    links += _ruled(job, closure)
    links += _stated(procedure, closure)
    place = {name: number for number, name in enumerate(procedure.order)}
    return Precedence(procedure.order, tuple(sorted(links, key=lambda link: (place[link.before], place[link.after]))), closure)


def _told(reducer: Reducer, need: Need) -> Link:
    key = need.kind if need.kind != "way" else "way_out" if need.leaving else "way"
    values = {"part": order_words.named(reducer, need.part), "item": order_words.named(reducer, need.item, bench=need.bench)}
    values["by"] = text(f"order.bench.{need.by}") if need.kind in ("base", "join") else order_words.named(reducer, need.by)
    return Link(need.before, need.after, need.kind, text(f"precedence.{key}", **values), need.item, need.part, need.by)


Fault = tuple[str, str, str, str]


def faults(job: Job) -> frozenset[Fault]:
    """What rules and wholeness hold against an order: rule, step, part, other; a gap by what it is. What is only watched binds nobody."""
    gaps = {("", gap.step, " ".join((gap.kind, *gap.parts)), gap.bench) for gap in whole.found(job.reducer, job.procedure)}
    stops = {(found.rule, found.step, found.part, found.other) for found in rules.breaches(job) if found.level == "stop"}
    return frozenset(gaps | stops)


def _ruled(job: Job, closure: Closure) -> list[Link]:
    """Links that rules ask for and ways do not; they are put into the closure."""
    names = job.procedure.order
    known = faults(job)
    found: list[Link] = []

    def broken(step: str, overtaking: Collection[str]) -> frozenset[Fault]:
        """What is broken when these later steps are done before the step."""
        at = names.index(step)
        rest = [name for name in names[at:] if name not in overtaking]
        other = reordered(job.procedure, [*names[:at], *(name for name in names[at:] if name in overtaking), *rest])
        return faults(replace(job, procedure=other)) - known

    for at in range(len(names) - 2, -1, -1):
        step = names[at]
        while True:
            free = [name for name in names[at + 1 :] if not closure.has(step, name) and not closure.against(step, name)]
            low, high = 0, len(free) + 1  # with the first `low` overtaking it is whole, with `high` it is broken
            if not free or not broken(step, free):
                break
            high = len(free)
            while high - low > 1:
                middle = (low + high) // 2
                low, high = (low, middle) if broken(step, free[:middle]) else (middle, high)
            after = free[high - 1]
            rule = min(broken(step, free[:high]))[0]
            closure.add(step, after)
            told = text("precedence.rule", reason=text(f"rule.{rule}.reason")) if rule else text("precedence.whole")
            found.append(Link(step, after, "rule" if rule else "whole", told, rule=rule))
    return found


def _stated(procedure: Procedure, closure: Closure) -> list[Link]:
    """Acts that bring nothing, where nothing else holds them: behind what was last brought to their bench; those that open the job before
    all that is brought, those that close it behind all else."""
    found: list[Link] = []

    def state(before: str, after: str) -> None:
        if not closure.has(before, after) and not closure.against(before, after):
            closure.add(before, after)
            found.append(Link(before, after, "stated", text("precedence.stated")))

    names = procedure.order
    moving = [name for name in names if (step := procedure.steps[name]).arrives or step.removes or step.merges]
    last: dict[str, str] = {}
    for name in names:
        step = procedure.steps[name]
        if name in moving:
            last[step.bench] = name
        elif step.bench in last:
            state(last[step.bench], name)
    if moving:
        for act in names[: names.index(moving[0])]:
            for name in moving:
                state(act, name)
        for act in names[names.index(moving[-1]) + 1 :]:
            for name in names[: names.index(act)]:
                state(name, act)
    return found
