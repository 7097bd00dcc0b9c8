"""Who must come before whom, and the smallest change of an order, as JSON and as lines.

Times in s in the figures. Places and step numbers count from 1.
Contents: `precedence_report`, `precedence_lines`, `suggestion_report`, `suggestion_lines`.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from calc import units
from geometry.reducer import Reducer
from scenes import order_lines, procedure_file, verdict
from scenes.network import Network
from scenes.precedence import Precedence
from scenes.procedure import Procedure
from scenes.suggest import Suggestion
from scenes.wording import text


def _time(value: float) -> str:
    return units.show(value, "time", "mm", digits=0)


def _step(procedure: Procedure, name: str) -> str:
    return text("precedence.step", number=procedure.steps[name].number, title=text(f"step.{name}.title"))


def precedence_report(procedure: Procedure, links: Precedence, found: Network) -> dict[str, Any]:
    """What `check --json` gives under `order.precedence`; `direct`: the link follows from no others."""
    direct = {(link.before, link.after) for link in links.reduced}
    freedom = {name: links.freedom(name) for name in links.order}
    return {
        "links": [{**asdict(link), "direct": (link.before, link.after) in direct} for link in links.links],
        "freedom": [
            {
                "step": name,
                "number": number,
                "phase": procedure.steps[name].phase,
                "bench": procedure.steps[name].bench,
                "earliest": freedom[name][0],
                "latest": freedom[name][1],
            }
            for number, name in enumerate(links.order, 1)
        ],
        "side_by_side": [list(pair) for pair in found.side_by_side],
        "critical": {"steps": list(found.critical), "time": found.critical_time},
        "one_fitter": found.alone,
        "two_fitters": found.together,
        "plan": [asdict(slot) for slot in found.plan],
        "basis": text("precedence.basis"),
    }


def precedence_lines(procedure: Procedure, links: Precedence, found: Network, machine: str) -> list[str]:
    """What `check --precedence` prints."""
    lines = [text("precedence.title", machine=machine, steps=len(links.order), links=len(links.reduced))]
    for phase in procedure.phases:
        lines += ["", text(f"phase.{phase}")]
        for name in (name for name in links.order if procedure.steps[name].phase == phase):
            first, last = links.freedom(name)
            key = "fixed" if first == last else "free"
            lines.append(text(f"precedence.{key}", step=_step(procedure, name), first=first, last=last))
            lines += [
                text("precedence.after", number=procedure.steps[link.before].number, reason=link.text)
                for link in links.reduced
                if link.after == name
            ]
    lines += ["", text("precedence.side_by_side" if found.side_by_side else "precedence.none_side_by_side")]
    lines += [
        text("precedence.pair", first=text(f"phase.{first}"), second=text(f"phase.{second}"))
        for first, second in found.side_by_side
    ]
    lines += ["", text("precedence.critical", time=_time(found.critical_time))]
    took = {slot.step: slot.end - slot.start for slot in found.plan}
    lines += [text("precedence.critical_step", step=_step(procedure, name), time=_time(took[name])) for name in found.critical]
    lines += ["", text("precedence.fitters", alone=_time(found.alone), together=_time(found.together))]
    return [*lines, text("precedence.basis")]


def suggestion_report(found: Suggestion, reducer: Reducer, system: units.System) -> dict[str, Any]:
    """What `check --suggest --json` gives under `suggestion`."""
    return {
        "holds_as_it_is": found.before.holds,
        "holds": found.cures,
        "moves": [asdict(move) for move in found.moves],
        "restored": [
            {"step": name, "place": found.procedure.order.index(name) + 1, "before": _next(found, name)} for name in found.restored
        ],
        "order": list(found.procedure.order),
        "tried": found.tried,
        "left": verdict.sentences(found.left, reducer, system),
    }


def suggestion_lines(found: Suggestion, reducer: Reducer, system: units.System) -> list[str]:
    """What `check --suggest` prints: moves in words, then the lines of the procedure file; or what was tried."""
    if found.before.holds:
        return [text("suggest.holds")]
    given = {name: step.number for name, step in found.given.steps.items()}
    moves = [_put_back(found, name) for name in found.restored]
    moves += [
        text(
            "suggest.move" if move.after else "suggest.move_first",
            number=move.place,
            step=text(f"step.{move.step}.title"),
            id=move.step,
            after=move.after,
            other=text(f"step.{move.after}.title") if move.after else "",
            other_number=given.get(move.after, 0),
        )
        for move in found.moves
    ]
    if not found.cures:
        left = verdict.sentences(found.left, reducer, system)
        was = len(verdict.sentences(found.before, reducer, system))
        tried = [text("suggest.tried", was=was, left=len(left)), *moves] if moves else []
        return [text("suggest.none"), *tried, text("suggest.left"), *(f"  {sentence}" for sentence in left)]
    moved = {move.step for move in found.moves}
    put = [text("suggest.restored_tables"), "", *tables] if (tables := _tables(found)) else []
    remarks = {name: text("suggest.moved") for name in moved} | {name: text("suggest.back") for name in found.restored}
    lines = [f'  "{name}",' + (f"  # {remarks[name]}" if name in remarks else "") for name in found.procedure.order]
    told = text("suggest.found" if found.moves else "suggest.found_back", count=len(found.moves))
    return [told, *moves, text("suggest.paste"), "", "order = [", *lines, "]", *put]


def _next(found: Suggestion, name: str) -> str:
    """The step of the given order that a restored one comes before; empty when it comes last."""
    order = found.procedure.order
    return next((other for other in order[order.index(name) + 1 :] if other not in found.restored), "")


def _put_back(found: Suggestion, name: str) -> str:
    before = _next(found, name)
    values = {"id": name, "step": text(f"step.{name}.title")}
    if not before:
        return text("suggest.restore_last", **values)
    return text("suggest.restore", before=before, other=text(f"step.{before}.title"), **values)


def _tables(found: Suggestion) -> list[str]:
    """Lines of the tables that restored steps have in the shipped procedure."""
    shipped = procedure_file.shipped().decode()
    return [line for name in found.restored for line in (*order_lines.table_of(shipped, name).splitlines(), "")]
