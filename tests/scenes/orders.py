"""Procedures put out of order: a step moved, brought from another side, along another path, or with other parts."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType
from typing import Any

from scenes.procedure import Procedure, Step


def _ordered(full: Procedure, order: list[str], steps: dict[str, Step]) -> Procedure:
    numbered = {name: replace(steps[name], number=place + 1) for place, name in enumerate(order)}
    return Procedure(tuple(order), MappingProxyType(numbered), full.phases)


def moved(full: Procedure, step: str, *, after: str = "", before: str = "") -> Procedure:
    """The same job with one step done later or earlier."""
    order = [name for name in full.order if name != step]
    order.insert(order.index(after) + 1 if after else order.index(before), step)
    return _ordered(full, order, dict(full.steps))


def swapped(full: Procedure, place: int) -> Procedure:
    """The same job with the step at this place and the next one changed over."""
    order = list(full.order)
    order[place], order[place + 1] = order[place + 1], order[place]
    return _ordered(full, order, dict(full.steps))


def changed(full: Procedure, step: str, **fields: Any) -> Procedure:
    """The same job with one step's fields changed; `side`: one axis for all that moves in it."""
    old = full.steps[step]
    if isinstance(fields.get("side"), str):
        movers = (*fields.get("arrives", old.arrives), *old.removes, *([old.merges] if old.merges else []))
        fields["side"] = MappingProxyType(dict.fromkeys(movers, fields["side"]))
    return _ordered(full, list(full.order), {**full.steps, step: replace(old, **fields)})


def left_out(full: Procedure, step: str) -> Procedure:
    """The same job without one step."""
    return _ordered(full, [name for name in full.order if name != step], dict(full.steps))
