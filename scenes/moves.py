"""What moves in each step of an order, and on which way: straight legs from far away to the seat.

mm. Contents: `Leg`, `Move`, `moves`, `required`, `legs`, `locks_set`, `vector`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import inf
from types import MappingProxyType

import numpy as np

from geometry.blocking import NOWHERE, Vector
from geometry.part import Part
from geometry.reducer import Reducer
from scenes import explode
from scenes.benches import locked_at
from scenes.procedure import Procedure, Step

OWN_WAY = 0.25
"""A part that rides in another (a key) comes in square to its seat when its own axis is within this of the side [rad]."""


@dataclass(frozen=True)
class Leg:
    """One straight leg: `way`: from the seat to where it comes from; `offset`: shift of its line from the seat; `length`: how far out
    it begins, inf from outside; `after`: travel of the legs that follow [mm]."""

    way: Vector
    side: str
    offset: Vector = NOWHERE
    length: float = inf
    after: float = 0.0


@dataclass(frozen=True)
class Move:
    """What goes along one path in a step: its name in the procedure, its parts, what stands, the legs from far end to seat.

    `skipping`: found only when the steps that may be skipped are skipped."""

    step: str
    item: str
    parts: tuple[str, ...]
    standing: tuple[str, ...]
    legs: tuple[Leg, ...]
    leaving: bool = False
    bench: bool = False
    skipping: bool = False


def moves(reducer: Reducer, procedure: Procedure) -> tuple[Move, ...]:
    """Every path of the job in order: of the course with all steps, and what is new in it when those that may be skipped are skipped."""
    every = list(_course(reducer, procedure))
    least = required(procedure)
    if len(least.order) < len(procedure.order):
        known, shapes = set(every), locks_set(reducer, procedure) == locks_set(reducer, least)
        every += [replace(move, skipping=True) for move in _course(reducer, least) if move not in known or not shapes]
        places = {name: place for place, name in enumerate(procedure.order)}
        every.sort(key=lambda move: places[move.step])
    return tuple(every)


def required(procedure: Procedure) -> Procedure:
    """The order without the steps that may be skipped, numbers as they were."""
    steps = {name: step for name in procedure.order if not (step := procedure.steps[name]).optional}
    return Procedure(tuple(steps), MappingProxyType(steps), procedure.phases)


def locks_set(reducer: Reducer, procedure: Procedure) -> dict[str, str]:
    """The step that sets the lock of each part with one; none when none does."""
    return {part: [*procedure.order, ""][place] for part, place in locked_at(reducer, procedure).items()}


def _course(reducer: Reducer, procedure: Procedure) -> tuple[Move, ...]:
    """Every path when all steps are done. A bench that has joined another takes what is brought to it to that other; one on which
    nothing stood when it was to join stays by itself, so that its own steps are judged as they are."""
    benches: dict[str, list[str]] = {}
    joined: dict[str, str] = {}
    found: list[Move] = []

    def home(bench: str) -> str:
        while bench in joined:
            bench = joined[bench]
        return bench

    for name in procedure.order:
        step = procedure.steps[name]
        bench = benches.setdefault(home(step.bench), [])
        for item in step.removes:
            there = tuple(member for member in reducer.members(item) if member in bench)
            loose = any(reducer.by_name[member].tool for member in there)
            for parts in ((member,) for member in there) if loose else ((there,) if there else ()):
                bench[:] = [member for member in bench if member not in parts]
                if bench:
                    found.append(Move(name, item, parts, tuple(bench), legs(reducer, step, item, parts, True), True))
        coming = [(item, reducer.members(item), False) for item in step.arrives]
        target = home(step.bench)
        if step.merges and home(step.merges) != target:
            unit = tuple(benches.pop(home(step.merges), []))
            sheets = sum(1 for _, members, _ in coming if reducer.by_name[members[0]].role == "gasket")
            if unit:
                joined[home(step.merges)] = target
                coming.insert(sheets, (step.merges, unit, True))
        for item, members, joins in coming:
            fresh = tuple(member for member in members if member not in bench)
            if fresh and bench:
                way = legs(reducer, step, item, fresh, joins or not step.merges)
                found.append(Move(name, item, fresh, tuple(bench), way, bench=joins))
            bench += fresh
    return tuple(found)


def legs(reducer: Reducer, step: Step, item: str, parts: Sequence[str], path: bool) -> tuple[Leg, ...]:
    """The legs of one path, the far end first; the given path belongs to the merging bench where there is one."""
    if step.path and path:
        found = []
        for place, (axis, length) in enumerate(step.path):
            rest = step.path[place + 1 :]
            offset = sum((explode.AXES[after] * far for after, far in rest), np.zeros(3))
            found.append(
                Leg(vector(explode.AXES[axis]), axis, vector(offset), length if place else inf, sum(far for _, far in rest))
            )
        return tuple(found)
    side = explode.side_of(step, item) if item != step.merges else explode.AXES[explode.merge_side(step)]
    return (Leg(_own_way(reducer.by_name[parts[0]], side), _axis(side)),)


def _own_way(part: Part, side: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> Vector:
    """A part that rides in another comes in along its own axis where that lies near the side: a key, square to its keyway."""
    if part.host:
        for axis in (part.pose[:3, 0], -part.pose[:3, 0]):
            if float(axis @ side) > np.cos(OWN_WAY):
                return vector(axis)
    return vector(side)


def vector(values: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> Vector:
    return float(values[0]) + 0.0, float(values[1]) + 0.0, float(values[2]) + 0.0


def _axis(side: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> str:
    return next(name for name, axis in explode.AXES.items() if (axis == side).all())
