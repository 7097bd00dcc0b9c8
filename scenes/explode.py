"""Where parts stand before they are fitted: along their assembly direction, in assembly order, far enough apart that boxes never overlap.

mm, in the reducer's frame. A bench that merges into another moves as one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.part import Part
from geometry.reducer import Reducer, build
from scenes.procedure import Procedure, Step

Array = NDArray[np.float64]
GAP = 14.0
"""Free space between two exploded parts along their direction [mm]."""
TOUCH = 0.5
"""Boxes that overlap sideways by less than this are beside each other [mm]."""

AXES: dict[str, Array] = {
    f"{sign}{name}": (1.0 if sign == "+" else -1.0) * np.eye(3)[index] for sign in "+-" for index, name in enumerate("xyz")
}


def box_of(part: Part) -> Array:
    """Lower and upper corner of a part in its place, (2, 3) [mm]."""
    turn = part.pose[:3, :3]
    key = (part.spec.key, turn.tobytes())
    found = _boxes.get(key)
    if found is None:
        points = build(part).vertices @ turn.T
        found = np.array([points.min(axis=0), points.max(axis=0)])
        if len(_boxes) > 4000:
            _boxes.clear()
        _boxes[key] = found
    return np.asarray(found + part.pose[:3, 3])


_boxes: dict[tuple[str, bytes], Array] = {}


def union(boxes: Sequence[Array]) -> Array:
    """Smallest box around boxes [mm]."""
    stack = np.array(boxes)
    return np.array([stack[:, 0].min(axis=0), stack[:, 1].max(axis=0)])


def clear_distance(moving: Sequence[Array], standing: Sequence[Array], direction: Array, gap: float = GAP) -> float:
    """Least travel along `direction` that brings every moving box past every standing box it would overlap sideways [mm]."""
    if not standing or not moving:
        return gap
    axis = int(np.argmax(np.abs(direction)))
    sign = float(direction[axis])
    cross = [index for index in range(3) if index != axis]
    there = np.array(standing)
    needed = gap
    for box in moving:
        beside = np.ones(len(there), dtype=bool)
        for index in cross:
            beside &= (box[0, index] < there[:, 1, index] - TOUCH) & (box[1, index] > there[:, 0, index] + TOUCH)
        if beside.any():
            if sign > 0:
                needed = max(needed, float(there[beside, 1, axis].max() - box[0, axis]) + gap)
            else:
                needed = max(needed, float(box[1, axis] - there[beside, 0, axis].min()) + gap)
    return needed


def side_of(step: Step, name: str) -> Array:
    """Unit vector from a part's seat toward where it comes from."""
    return AXES[step.side.get(name, "+z")]


@dataclass(frozen=True, eq=False)
class Spread:
    """Displacement of each part in the full exploded view [mm] and of each step's arrivals from their seats."""

    overview: Mapping[str, Array]
    travel: Mapping[str, Array]


def arrivals(reducer: Reducer, step: Step) -> list[tuple[str, tuple[str, ...]]]:
    """(name in the procedure, its parts) of what arrives in a step."""
    return [(name, reducer.members(name)) for name in step.arrives]


def spread(reducer: Reducer, procedure: Procedure) -> Spread:
    """Explode the whole procedure once.

    Optional (dry-trial) steps are passed over; tools are not spread. Result: displacements [mm].
    """
    parts = reducer.by_name
    stands: dict[str, dict[str, Array]] = {}
    travel: dict[str, Array] = {}
    for step in (procedure.steps[name] for name in procedure.order):
        if step.optional:
            continue
        bench = stands.setdefault(step.bench, {})
        for name, members in arrivals(reducer, step):
            if parts[members[0]].tool:
                continue
            direction = side_of(step, name)
            seated = [box_of(parts[member]) for member in members]
            placed = [box_of(parts[other]) + shift for other, shift in bench.items()]
            distance = clear_distance(seated, placed, direction) if bench else 0.0
            for member in members:
                bench[member] = direction * distance
        if step.merges:
            group = stands.pop(step.merges, {})
            direction = AXES[merge_side(step)]
            moving = [box_of(parts[other]) + shift for other, shift in group.items()]
            placed = [box_of(parts[other]) + shift for other, shift in bench.items()]
            distance = clear_distance(moving, placed, direction, 2.0 * GAP)
            for other, shift in group.items():
                bench[other] = shift + direction * distance
    overview = {name: shift for bench in stands.values() for name, shift in bench.items()}
    return Spread(overview, travel)


def merge_side(step: Step) -> str:
    """The axis from which a merging bench comes: the step's side for the bench, else the last leg of its path."""
    if step.merges in step.side:
        return step.side[step.merges]
    if step.path:
        return str(step.path[-1][0])
    return next(iter(step.side.values()), "+z")
