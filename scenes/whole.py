"""Whether an order leaves a whole machine: every part brought once, every bench joined to the case, every tool taken out again.

Steps that may be skipped do not count: without them the machine must be whole too. Contents: `Gap`, `found`, `gaps`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from geometry.reducer import Reducer
from scenes import procedure_file
from scenes.procedure import MAIN_BENCH, Procedure
from scenes.wording import text


@dataclass(frozen=True)
class Gap:
    """What is left out or brought twice: what kind of gap (its key in the catalogue), the step where it shows (none for what no step
    brings), parts, bench, finished sentence."""

    kind: str
    step: str
    parts: tuple[str, ...]
    bench: str
    text: str


def found(reducer: Reducer, procedure: Procedure) -> tuple[Gap, ...]:
    """Every gap; none when the order leaves a whole machine."""
    gaps: list[Gap] = []
    place: dict[str, str] = {}
    taken: dict[str, str] = {}
    titles = {name: _step(place, name) for place, name in enumerate(procedure.order, 1)}

    def told(key: str, names: Iterable[str], step: str = "", **values: str) -> None:
        members = tuple(names)
        if members:
            shown = {"parts": _named(reducer, members), "step": titles.get(step, ""), **values}
            gaps.append(
                Gap(
                    key,
                    step,
                    tuple(dict.fromkeys(_item(reducer, name) for name in members)),
                    values.get("bench", ""),
                    text(f"order.{key}", **shown),
                )
            )

    for name in procedure.order:
        step = procedure.steps[name]
        if step.optional:
            continue
        arriving = [member for item in step.arrives for member in reducer.members(item)]
        told("brought_twice", (member for member in arriving if member in place), name)
        place.update(dict.fromkeys(arriving, step.bench))
        if step.merges:
            joining = [member for member, bench in place.items() if bench == step.merges]
            if not joining:
                told_merge = text("order.nothing_merges", step=titles[name], bench=step.merges)
                gaps.append(Gap("nothing_merges", name, (), step.merges, told_merge))
            place.update(dict.fromkeys(joining, step.bench))
        leaving = [member for item in step.removes for member in reducer.members(item)]
        told("not_there", (member for member in leaving if member not in place), name)
        for member in leaving:
            if place.pop(member, None) is not None:
                taken[member] = name
    missing = [part.name for part in reducer.parts if part.name not in place and not part.tool]
    shipped = procedure_file.shipped_without(frozenset(reducer.left_out))
    bringing = {part: name for name, step in shipped.steps.items() for item in step.arrives for part in reducer.members(item)}
    never = [name for name in missing if name not in taken]
    for by in [name for name in (*shipped.order, "") if any(bringing.get(part, "") == name for part in never)]:
        members = [name for name in never if bringing.get(name, "") == by]
        earlier = [name for name in shipped.order[: shipped.order.index(by)] if name in titles] if by else []
        if by in titles:
            told("never_brought_in", members, at=titles[by])
        elif earlier:
            told("never_brought_after", members, at=titles[earlier[-1]], shipped=_step(shipped.steps[by].number, by))
        else:
            told("never_brought", members)
    for name in dict.fromkeys(taken.values()):
        told("taken_out", (member for member in missing if taken.get(member) == name), name)
    for bench in dict.fromkeys(place.values()):
        if bench != MAIN_BENCH and bench not in {gap.bench for gap in gaps if gap.kind == "nothing_merges"}:
            told("never_merged", (name for name, where in place.items() if where == bench), bench=bench)
    told("left_inside", (part.name for part in reducer.parts if part.tool and part.name in place))
    return tuple(gaps)


def _step(number: int, name: str) -> str:
    return text("order.numbered", number=number, title=text(f"step.{name}.title"))


def gaps(reducer: Reducer, procedure: Procedure) -> tuple[str, ...]:
    """Finished sentences, one for each gap."""
    return tuple(gap.text for gap in found(reducer, procedure))


def _item(reducer: Reducer, name: str) -> str:
    """A part as a procedure calls it: a circle of screws or a bearing by its one name."""
    part = reducer.by_name[name]
    return name.rsplit("_", 1)[0] if part.number else part.unit or name


def _named(reducer: Reducer, names: Iterable[str]) -> str:
    """Parts by their names for a fitter, a circle of screws once."""
    words = {}
    for name in names:
        part = reducer.by_name[name]
        group = reducer.groups.get(name.rsplit("_", 1)[0], ()) if part.number else ()
        words[part.wording] = text(part.wording, count=len(group))
    return ", ".join(words.values())
