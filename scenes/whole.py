"""Whether an order leaves a whole machine: every part brought once, every bench joined to the case, every tool taken out again.

Steps that may be skipped do not count: without them the machine must be whole too.
"""

from __future__ import annotations

from collections.abc import Iterable

from geometry.reducer import Reducer
from scenes.procedure import MAIN_BENCH, Procedure
from scenes.wording import text


def gaps(reducer: Reducer, procedure: Procedure) -> tuple[str, ...]:
    """Finished sentences, one for each gap; none when the order leaves a whole machine."""
    found: list[str] = []
    place: dict[str, str] = {}
    taken: dict[str, str] = {}

    def told(key: str, names: Iterable[str], **values: str) -> None:
        parts = _named(reducer, names)
        if parts:
            found.append(text(f"order.{key}", parts=parts, **values))

    for name in procedure.order:
        step = procedure.steps[name]
        if step.optional:
            continue
        title = text(f"step.{name}.title")
        arriving = [member for item in step.arrives for member in reducer.members(item)]
        told("brought_twice", (member for member in arriving if member in place), step=title)
        place.update(dict.fromkeys(arriving, step.bench))
        if step.merges:
            joining = [member for member, bench in place.items() if bench == step.merges]
            if not joining:
                found.append(text("order.nothing_merges", step=title, bench=step.merges))
            place.update(dict.fromkeys(joining, step.bench))
        leaving = [member for item in step.removes for member in reducer.members(item)]
        told("not_there", (member for member in leaving if member not in place), step=title)
        for member in leaving:
            if place.pop(member, None) is not None:
                taken[member] = title
    missing = [part.name for part in reducer.parts if part.name not in place and not part.tool]
    told("never_brought", (name for name in missing if name not in taken))
    for title in dict.fromkeys(taken.values()):
        told("taken_out", (name for name in missing if taken.get(name) == title), step=title)
    for bench in dict.fromkeys(place.values()):
        if bench != MAIN_BENCH:
            told("never_merged", (name for name, where in place.items() if where == bench), bench=bench)
    told("left_inside", (part.name for part in reducer.parts if part.tool and part.name in place))
    return tuple(found)


def _named(reducer: Reducer, names: Iterable[str]) -> str:
    """Parts by their names for a fitter, a circle of screws once."""
    parts = [reducer.by_name[name] for name in names]
    words = {}
    for part in parts:
        group = reducer.groups.get(part.name.rsplit("_", 1)[0], ()) if part.number else ()
        words[part.wording] = text(part.wording, count=len(group))
    return ", ".join(words.values())
