"""In which order the screws of a step are tightened, written at their heads.

mm, in the picture's frame: a number stands where its screw is drawn.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from calc.tightening import crossing_order, row_order
from geometry.joints import ScrewJoint
from geometry.part import Part
from geometry.reducer import Reducer, build
from scenes.frame import Numbered, Shown
from scenes.procedure import Step

Array = NDArray[np.float64]
EVEN = 1e-3
"""Share of a circle's radius by which a screw may lie off its even place."""
SAME = 0.01
"""Share of the largest distance from the middle within which two screws of a row count as equally far."""
MOST = 2
"""Circles and rows that one step numbers; a step that goes over more of them is a round of checks, each in its own order."""


def tightened(reducer: Reducer, step: Step) -> tuple[ScrewJoint, ...]:
    """The circles and rows that a step tightens: what it reads, and what it brings where it screws or takes the torque wrench."""
    turns = step.method == "screw" or "torque_wrench" in step.tools
    found = tuple(
        joint
        for joint in reducer.of_kind(ScrewJoint)
        if joint.screws in (*step.reads, *step.tightens) or (turns and joint.screws in step.arrives)
    )
    return found if len(found) <= MOST else ()


def order(parts: Sequence[Part]) -> tuple[int, ...]:
    """Places in `parts` counted from 1, in the order of tightening: crossing over on an even circle, else from the middle outward."""
    axis = parts[0].pose[:3, 2]
    across = np.eye(3)[int(np.argmin(np.abs(axis)))]
    across = across - axis * (across @ axis)
    across /= np.linalg.norm(across)
    heads = np.array([part.pose[:3, 3] for part in parts])
    flat = np.column_stack([heads @ across, heads @ np.cross(axis, across)])
    if _on_circle(flat):
        return crossing_order(len(parts))
    # Two rows far apart: what counts as equally far from the middle must be less than one step along a row.
    return row_order([(float(x), float(y)) for x, y in flat], same_distance=SAME)


def _on_circle(flat: Array) -> bool:
    """Whether points follow one another evenly around a circle."""
    spokes = flat - flat.mean(axis=0)
    radius = float(np.linalg.norm(spokes, axis=1).mean())
    turned = np.array([1.0, 1j]) @ spokes[0] * np.exp(2j * np.pi * np.arange(len(flat)) / len(flat))
    off = [np.abs(spokes @ np.array([1.0, sign * 1j]) - turned).max() for sign in (1.0, -1.0)]
    return len(flat) >= 3 and min(off) <= EVEN * radius


def of_step(reducer: Reducer, step: Step, shown: Sequence[Shown]) -> tuple[Numbered, ...]:
    """A number at the outer face of the head of every screw that the step tightens; each circle or row counts from 1."""
    drawn = {item.name: item for item in shown}
    found: list[Numbered] = []
    for joint in tightened(reducer, step):
        parts = [reducer.by_name[name] for name in reducer.members(joint.screws)]
        if all(part.name in drawn for part in parts):
            found += [
                Numbered(_head(parts[place - 1], drawn[parts[place - 1].name]), str(number))
                for number, place in enumerate(order(parts), start=1)
            ]
    return tuple(found)


def _head(screw: Part, shown: Shown) -> tuple[float, float, float]:
    """Middle of the head's outer face: a screw's axis is its own z, its head at the top."""
    top = float(build(screw).vertices[:, 2].max())
    point = shown.pose @ np.array([0.0, 0.0, top, 1.0])
    return float(point[0]), float(point[1]), float(point[2])
