"""Where the live page's leaders end: on the callout's own point where that can be seen, else where most of its part can be seen.

Found once the picture is at rest and kept in each part's own frame, so that a leader stays on its part while things move.
Parts that share a name ("Cover screws") share one label.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scenes.frame import Callout, Frame, Shown
from viewer import labels
from viewer.talk import needed_first

Point = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Named:
    """What one label speaks of: the parts of this name and their callouts, what is needed first."""

    parts: tuple[Shown, ...]
    callouts: tuple[Callout, ...]


def named(frame: Frame) -> dict[str, Named]:
    """What gets a label, most wanted first: what arrives, has figures, or is named by the step; everything but what waits if that is
    nothing."""
    groups: dict[str, list[Shown]] = {}
    for part in frame.shown:
        groups.setdefault(part.label, []).append(part)
    notes: dict[str, list[Callout]] = {}
    for callout in needed_first(frame.callouts):
        notes.setdefault(callout.part, []).append(callout)
    found = []
    for label, parts in groups.items():
        said = tuple(callout for part in parts for callout in notes.get(part.name, ()))
        asked = any(part.name in frame.labelled or part.label in frame.labelled for part in parts)
        rank = 0 if any(part.state in ("arriving", "moving", "blocking") for part in parts) else 1 if said else 2 if asked else 3
        if rank < 3 or parts[0].state != "waiting":
            found.append((rank, label, Named(tuple(parts), said)))
    least = min((rank for rank, _, _ in found), default=3)
    return {label: group for rank, label, group in sorted(found, key=lambda row: row[0]) if rank < 3 or least == 3}


def find(stage: Any, frame: Frame) -> dict[str, tuple[str, Point]]:
    """Seen leader ends of this view by label: the part and the point in the part's own frame [mm]. What can't be seen has none."""
    groups = named(frame)
    if not groups:
        return {}
    parts = stage.part_map()
    depth = stage.depth()
    index = {name: i for i, name in enumerate(parts.names)}
    seen: dict[str, tuple[str, Point]] = {}
    for label, group in groups.items():
        for callout in group.callouts:
            (x, y) = stage.project(np.array([callout.point]))[0]
            inside = 0 <= x < parts.part.shape[1] and 0 <= y < parts.part.shape[0]
            if inside and parts.part[int(y), int(x)] == index.get(callout.part, -2):
                seen[label] = (callout.part, np.asarray(callout.point, dtype=float))
                break
    hidden = {label: [part.name for part in group.parts] for label, group in groups.items() if label not in seen}
    for label, spot in labels.anchors(parts, hidden).items():
        x, y = int(spot.x), int(spot.y)
        if parts.part[y, x] >= 0:
            seen[label] = (parts.names[parts.part[y, x]], unproject(stage, spot.x, spot.y, float(depth[y, x])))
    poses = {part.name: part.pose for part in frame.shown}
    return {
        label: (name, np.linalg.inv(poses[name])[:3] @ np.append(point, 1.0))
        for label, (name, point) in seen.items()
        if name in poses
    }


def place(frame: Frame, ends: Mapping[str, tuple[str, Point]]) -> dict[str, Point]:
    """The leader ends in the reducer's frame [mm] with the parts standing as in this frame."""
    poses = {part.name: part.pose for part in frame.shown}
    return {label: poses[name][:3, :3] @ point + poses[name][:3, 3] for label, (name, point) in ends.items() if name in poses}


def unproject(stage: Any, x: float, y: float, depth: float) -> Point:
    """The point of the reducer's frame [mm] drawn at a pixel with a raw depth (0 near, 1 far): the projection backwards."""
    width, height = stage.size
    matrix = stage.plotter.camera.GetCompositeProjectionTransformMatrix(width / height, -1.0, 1.0)
    full = np.array([[matrix.GetElement(i, j) for j in range(4)] for i in range(4)])
    flat = np.array([2.0 * x / width - 1.0, 1.0 - 2.0 * y / height, 2.0 * depth - 1.0, 1.0])
    near = np.linalg.solve(full, flat)
    point: Point = near[:3] / near[3]
    return point
