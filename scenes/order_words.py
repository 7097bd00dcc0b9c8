"""What stands against an order, in words: the sentence of a way that is not free, and the names of what moves.

Contents: `travel`, `stuck`, `sentence`, `is_laid`, `part_name`, `named`.
"""

from __future__ import annotations

from calc import units
from geometry.joints import Rest
from geometry.reducer import Reducer
from scenes.order import BlockedPath
from scenes.procedure import MAIN_BENCH
from scenes.wording import text


def travel(blocked: BlockedPath, system: units.System = "mm") -> str:
    """The travel that is left, with its unit, in as many digits as are known."""
    digits = (2 if system == "mm" else 3) if blocked.exact else (0 if system == "mm" else 1)
    return units.show(blocked.left, "length", system, digits=digits)


def stuck(blocked: BlockedPath, system: units.System = "mm") -> bool:
    """Whether something that is to come out touches at once, as far as is known."""
    return blocked.leaving and float(travel(blocked, system).split()[0]) == 0.0


def _side(reducer: Reducer, blocked: BlockedPath) -> str:
    """Where it comes from, as seen at the machine, or at the bench that the part is built up on."""
    away = not blocked.bench and reducer.by_name[blocked.part].bench != MAIN_BENCH
    return text(f"order.{'bench_side' if away else 'side'}.{blocked.side}")


def sentence(reducer: Reducer, blocked: BlockedPath, system: units.System = "mm") -> str:
    """The finished sentence of a blocked path."""
    left, trap = travel(blocked, system), part_name(reducer, blocked.trap)
    values = {
        "number": blocked.number, "step": text(f"step.{blocked.step}.title"), "item": named(reducer, blocked.item, bench=blocked.bench),
        "by": part_name(reducer, blocked.by), "part": part_name(reducer, blocked.part), "side": _side(reducer, blocked),
        "left": left if blocked.exact else text("order.about", left=left),
    }  # fmt: skip
    if blocked.cause != "solid":
        return text(f"order.{blocked.cause}", **values)
    if is_laid(reducer, blocked.part) and not blocked.leaving:
        return text("order.laid", **values)
    key = "stuck" if stuck(blocked, system) else "held" if blocked.leaving else "blocked"
    told = [text(f"order.{key}", **values)]
    members = _members(reducer, blocked.item)
    if (blocked.bench or len(members) != 1) and not reducer.by_name[blocked.part].number:
        told.append(text("order.touching", **values))
    if blocked.inside:
        told.append(text("order.inside", trap=trap))
    elif trap != values["by"] and not blocked.leaving:
        told.append(text("order.trapped", trap=trap))
    return " ".join(told)


def is_laid(reducer: Reducer, name: str) -> bool:
    """Whether a part is laid as a bead on a face that another part then closes."""
    return reducer.by_name[name].role == "seal" and any(rest.part == name and rest.under for rest in reducer.of_kind(Rest))


def _members(reducer: Reducer, item: str) -> tuple[str, ...]:
    try:
        return reducer.members(item)
    except KeyError:
        return ()


def part_name(reducer: Reducer, name: str) -> str:
    """A part by its name for a fitter."""
    part = reducer.by_name[name]
    if part.number:
        return text(part.wording, count=len(reducer.groups[name.rsplit("_", 1)[0]]))
    return text(part.wording)


def named(reducer: Reducer, item: str, *, bench: bool = False) -> str:
    """What moves, by its name for a fitter: a part, a circle of screws, a bearing, or a bench."""
    members = _members(reducer, item)
    if bench:
        return text(f"order.bench.{item}")
    if len(members) == 1 or reducer.by_name[members[0]].number:
        return part_name(reducer, members[0])
    return text(f"part.{item}")
