"""Labels at the border of a picture: where each leader ends, and a layout without overlap or crossing. Plain numpy, no drawing.

1. A leader ends at the deepest pixel of what is seen of its part. 2. A label goes to the left or right column by that
point. 3. In each column the labels keep the order of their points and move as little as possible (least squares, by pooling
adjacent violators). 4. Pairs whose leaders cross change places.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

if TYPE_CHECKING:
    from viewer.stage import PartMap

MIN_DEPTH: Final = 1.5  # pixels: what is seen of a part must be this deep to take a leader
SWAPS: Final = 400
ELBOW: Final = 16.0  # pixels of a leader that run level from its label
Side = Literal["left", "right"]


@dataclass(frozen=True)
class Anchor:
    """Where a leader may end: (x, y) [pixel] and how far inside the part's visible area that is [pixel]."""

    x: float
    y: float
    depth: float


@dataclass(frozen=True)
class Wish:
    """A label that wants a place: its anchor, its size [pixel] and its rank (0 = keep at all cost)."""

    key: str
    anchor: Anchor
    width: float
    height: float
    rank: int = 0


@dataclass(frozen=True)
class Label:
    """A placed label: its box (left, top, right, bottom), the leader from box to anchor as (x, y) points."""

    key: str
    side: Side
    box: tuple[float, float, float, float]
    leader: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Layout:
    """All placed labels, what found no room, and how many leaders still cross."""

    labels: tuple[Label, ...]
    left_out: tuple[str, ...]
    crossings: int


def anchors(parts: PartMap, groups: Mapping[str, Sequence[str]]) -> dict[str, Anchor]:
    """The best leader end of each group of part names (a group = what shares one label); groups that can't be seen have none."""
    index = {name: i for i, name in enumerate(parts.names)}
    boxes = ndimage.find_objects(parts.part.astype(np.int32) + 1)
    found: dict[str, Anchor] = {}
    for key, names in groups.items():
        best: Anchor | None = None
        for name in names:
            i = index.get(name, -1)
            box = boxes[i] if 0 <= i < len(boxes) else None
            if box is None:
                continue
            spot = _deepest(parts.part[box] == i, box[1].start, box[0].start)
            if best is None or spot.depth > best.depth:
                best = spot
        if best is not None and best.depth >= MIN_DEPTH:
            found[key] = best
    return found


def _deepest(mask: NDArray[np.bool_], x0: int, y0: int) -> Anchor:
    step = max(1, int(min(mask.shape) // 160))  # a coarse look is enough for a large part
    padded = np.pad(mask[::step, ::step], 1)
    depth = ndimage.distance_transform_edt(padded)
    y, x = np.unravel_index(int(depth.argmax()), depth.shape)
    return Anchor(x0 + (int(x) - 1) * step + 0.5, y0 + (int(y) - 1) * step + 0.5, float(depth[y, x]) * step)


def spread(wanted: NDArray[np.float64], heights: NDArray[np.float64], low: float, high: float, gap: float) -> NDArray[np.float64]:
    """Centres nearest to the wanted ones (least squares), in the given order, not overlapping, within low..high.

    Shifted by the heights before it, "no overlap" is "does not decrease": isotonic regression. Bounds clip its solution exactly.
    """
    if not len(wanted):
        return wanted
    offset = np.concatenate([[0.0], np.cumsum((heights[:-1] + heights[1:]) / 2.0 + gap)])
    pools: list[list[float]] = []  # value, weight
    for value in wanted - offset:
        pools.append([float(value), 1.0])
        while len(pools) > 1 and pools[-2][0] > pools[-1][0]:
            value_b, weight_b = pools.pop()
            value_a, weight_a = pools.pop()
            weight = weight_a + weight_b
            pools.append([(value_a * weight_a + value_b * weight_b) / weight, weight])
    flat = np.concatenate([np.full(round(weight), value) for value, weight in pools])
    centres: NDArray[np.float64] = np.clip(flat, low + heights[0] / 2.0, high - heights[-1] / 2.0 - offset[-1]) + offset
    return centres


def arrange(
    wishes: Sequence[Wish], *, picture: tuple[float, float, float, float], inner: tuple[float, float], gap: float = 6.0
) -> Layout:
    """Place labels in two columns.

    `picture`: (left, top, right, bottom) that no label may leave [pixel]; `inner`: x of the right edge of the left column and of
    the left edge of the right column [pixel]. Labels that don't fit are left out, highest rank first.
    """
    top, bottom = picture[1], picture[3]
    room = {"left": inner[0] - picture[0], "right": picture[2] - inner[1]}
    fitting = [w for w in wishes if w.width <= max(room.values())]
    left_out = [w.key for w in wishes if w not in fitting]
    sides = _sides(fitting, (inner[0] + inner[1]) / 2.0, room, bottom - top, gap)
    placed: list[Label] = []
    crossings = 0
    columns: tuple[Side, Side] = ("left", "right")
    for side in columns:
        column = sides[side]
        while column and sum(w.height for w in column) + gap * (len(column) - 1) > bottom - top:
            worst = max(column, key=lambda w: (w.rank, -w.anchor.depth))
            column.remove(worst)
            left_out.append(worst.key)
        labels, crossed = _column(column, side, inner[0] if side == "left" else inner[1], top, bottom, gap)
        placed += labels
        crossings += crossed
    return Layout(tuple(placed), tuple(left_out), crossings)


def _sides(wishes: Sequence[Wish], middle: float, room: Mapping[str, float], height: float, gap: float) -> dict[Side, list[Wish]]:
    """Left or right by the anchor; from an overfull column what stands nearest to the middle goes across, while there is room."""
    sides: dict[Side, list[Wish]] = {"left": [], "right": []}
    for wish in wishes:
        side: Side = "left" if wish.anchor.x < middle else "right"
        other: Side = "right" if side == "left" else "left"
        sides[side if wish.width <= room[side] else other].append(wish)

    def need(column: list[Wish]) -> float:
        return sum(w.height + gap for w in column) - gap

    pairs: tuple[tuple[Side, Side], ...] = (("left", "right"), ("right", "left"))
    for full, other in pairs:
        while need(sides[full]) > height:
            movable = [w for w in sides[full] if w.width <= room[other] and need(sides[other]) + gap + w.height <= height]
            if not movable:
                break
            nearest = min(movable, key=lambda w: abs(w.anchor.x - middle))
            sides[full].remove(nearest)
            sides[other].append(nearest)
    return sides


def _column(column: Sequence[Wish], side: Side, edge: float, top: float, bottom: float, gap: float) -> tuple[list[Label], int]:
    order = sorted(column, key=lambda w: (w.anchor.y, w.anchor.x))
    sign = 1.0 if side == "left" else -1.0
    elbow = edge + sign * ELBOW

    def settle(rows: Sequence[Wish]) -> NDArray[np.float64]:
        return spread(np.array([w.anchor.y for w in rows]), np.array([w.height for w in rows]), top, bottom, gap)

    centres = settle(order)
    for _ in range(SWAPS):
        pair = _crossing(order, centres, elbow)
        if pair is None:
            break
        order[pair[0]], order[pair[1]] = order[pair[1]], order[pair[0]]
        centres = settle(order)
    labels = []
    for wish, centre in zip(order, centres, strict=True):
        x0, x1 = (edge - wish.width, edge) if side == "left" else (edge, edge + wish.width)
        box = (float(x0), float(centre - wish.height / 2), float(x1), float(centre + wish.height / 2))
        start = edge + sign * 4.0
        labels.append(Label(wish.key, side, box, ((start, float(centre)), (elbow, float(centre)), (wish.anchor.x, wish.anchor.y))))
    return labels, count_crossings([label.leader for label in labels])


def _crossing(order: Sequence[Wish], centres: NDArray[np.float64], elbow: float) -> tuple[int, int] | None:
    for i in range(len(order)):
        for j in range(i + 1, len(order)):
            a, b = order[i].anchor, order[j].anchor
            if cross((elbow, float(centres[i])), (a.x, a.y), (elbow, float(centres[j])), (b.x, b.y)):
                return i, j
    return None


def cross(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float], d: tuple[float, float]) -> bool:
    """Whether segments ab and cd cross in a point inside both."""

    def turn(p: tuple[float, float], q: tuple[float, float], r: tuple[float, float]) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return turn(a, b, c) * turn(a, b, d) < 0.0 and turn(c, d, a) * turn(c, d, b) < 0.0


def count_crossings(leaders: Sequence[Sequence[tuple[float, float]]]) -> int:
    """How many pairs of leaders cross."""
    count = 0
    for i in range(len(leaders)):
        for j in range(i + 1, len(leaders)):
            first, second = leaders[i], leaders[j]
            hit = any(
                cross(first[p], first[p + 1], second[q], second[q + 1])
                for p in range(len(first) - 1)
                for q in range(len(second) - 1)
            )
            count += hit
    return count
