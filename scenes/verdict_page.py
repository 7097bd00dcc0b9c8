"""What the one-page verdict of a job says, in finished words.

mm, s. Contents: `Item`, `List`, `VerdictPage`, `page`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from calc import units
from geometry.reducer import Reducer
from scenes import forgotten, rules, verdict
from scenes.frame import Verdict
from scenes.judged import Judged
from scenes.order import PROOF
from scenes.procedure import Procedure
from scenes.rules import Breach
from scenes.wording import text

WORST = 8
"""Forgotten parts that the page names."""
CHECK = "shimwright check FILE"
"""The command that prints the lists of this page in full."""


@dataclass(frozen=True)
class Item:
    """A line of a list with its mark; `below`: in small print (reason, limit, source, picture)."""

    verdict: Verdict
    text: str
    below: str = ""


@dataclass(frozen=True)
class List:
    """Items under a heading, the gravest first; `whole`: how many there are in all, shown here or not; `all_of_it`: the command that
    prints them all."""

    title: str
    items: tuple[Item, ...]
    whole: int
    all_of_it: str


@dataclass(frozen=True)
class VerdictPage:
    """The page from top to bottom."""

    machine: str
    title: str
    verdict: Verdict
    headline: str
    facts: tuple[str, ...]
    lists: tuple[List, ...]
    foot: tuple[str, ...]


def page(
    judged: Judged, report: Mapping[str, Any], reducer: Reducer, procedure: Procedure, system: units.System, pictures: Sequence[str]
) -> VerdictPage:
    """The page of a judged job. `report`: the numbers of all its steps; `pictures`: names of the pictures of its blocked ways."""
    found = judged.verdict
    notes = [(step, note) for step in report["steps"] for note in step["callouts"] if note["verdict"]]
    counts = {word: sum(note["verdict"] == word for _, note in notes) for word in ("fine", "watch", "stop")}
    broken = len({breach.rule for breach in found.stops})
    pitch = units.show(found.proof.pitch, "length", system, digits=None if system == "inch" else 1)
    facts = [
        text("order.looked", paths=found.proof.paths, pitch=pitch),
        text("order_verdict.whole_not" if found.gaps else "order_verdict.whole"),
        text("order_verdict.rules", count=len(rules.RULES), broken=broken),
        text("order_verdict.joints", **counts),
    ]
    thin = units.show(0.2, "length", system, digits=None if system == "inch" else 1)
    fine = text("order_verdict.fine", thin=thin) if found.proof.pitch <= PROOF else text("order_verdict.quick", pitch=pitch)
    against = (*_order_faults(judged, reducer, system, pictures), *_noted(notes, "stop"))
    costly = [row for row in judged.forgotten if row.end.time.value]
    worst = tuple(Item("watch", forgotten.sentence(reducer, procedure, row)) for row in costly[:WORST])
    watched = (*(_broken(each) for each in found.watches), *_noted(notes, "watch"))
    holds = found.holds and not counts["stop"]
    key = "stands" if holds else "stands_but" if found.holds else "stands_not"
    return VerdictPage(
        str(report["machine"]), text("order_verdict.title"), "fine" if holds else "stop", text(f"order_verdict.{key}"), tuple(facts),
        (
            List(text("order_verdict.against"), against or (Item("fine", text("order_verdict.nothing")),), len(against), CHECK),
            List(text("order_verdict.watched"), watched, len(watched), CHECK),
            List(text("forgotten.worst"), worst, len(costly), f"{CHECK} --forgotten --json"),
        ),
        (fine, text("order.not_judged"), *((text("forgotten.indicative"),) if judged.forgotten else ())),
    )  # fmt: skip


def _order_faults(judged: Judged, reducer: Reducer, system: units.System, pictures: Sequence[str]) -> tuple[Item, ...]:
    """Every fault of the order, with its picture, or the reason of the broken rule."""
    told = []
    for fault in verdict.faults(judged.verdict, reducer, system):
        if fault.breach is not None:
            told.append(_broken(fault.breach))
            continue
        below = ""
        if fault.ways and fault.ways[0] < len(pictures) and pictures[fault.ways[0]]:
            below = text("order_verdict.picture", name=pictures[fault.ways[0]])
        told.append(Item("stop", fault.text, below))
    return tuple(told)


def _broken(breach: Breach) -> Item:
    """A rule that is broken, with its reason."""
    return Item(breach.level, breach.text, text("order_verdict.reason", reason=breach.reason, source=breach.source))


def _noted(notes: Sequence[tuple[Mapping[str, Any], Mapping[str, Any]]], word: Verdict) -> tuple[Item, ...]:
    """Notes of one verdict; one that several steps show is told once, as at the first of them."""
    shown: dict[tuple[str, float | None], list[tuple[Mapping[str, Any], Mapping[str, Any]]]] = {}
    for step, note in notes:
        if note["verdict"] == word:
            shown.setdefault((note["key"], note["value"]), []).append((step, note))
    told = []
    for found in shown.values():
        numbers = list(dict.fromkeys(step["number"] for step, _ in found))
        key = "order_verdict.note" if len(numbers) == 1 else "order_verdict.notes"
        line = text(key, number=", ".join(map(str, numbers)), text=found[0][1]["text"])
        told.append(Item(word, line, "; ".join(part for part in (found[0][1]["limit"], found[0][1]["source"]) if part)))
    return tuple(told)
