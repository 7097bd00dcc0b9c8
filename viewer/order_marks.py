"""Where the numbers of an order of work are written in a picture: a disc on each place, moved aside where two would overlap.

Plain numpy, no drawing; pixels, y down.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

APART: Final = 2.0  # pixels between two discs
ROUNDS: Final = 200  # of moving aside
PULL: Final = 0.08  # share of the way back to its place that a disc takes in each round, while there are rounds to spare
SHRINK: Final = (1.0, 0.86, 0.74)  # radii tried, the full one first
STRAY: Final = 0.75  # of a radius: a disc that must move farther than this from its place would rather be smaller
Rect = tuple[float, float, float, float]


@dataclass(frozen=True)
class Disc:
    """A number in its disc: middle and radius [pixel], and the place that it speaks of."""

    text: str
    x: float
    y: float
    radius: float
    spot: tuple[float, float]

    @property
    def moved(self) -> bool:
        """Whether its place lies outside the disc, so that a line must lead there."""
        return bool(np.hypot(self.x - self.spot[0], self.y - self.spot[1]) > self.radius)


def arrange(
    texts: Sequence[str], spots: NDArray[np.float64], *, area: Rect, radius: float, taken: Sequence[Rect] = ()
) -> tuple[Disc, ...]:
    """A disc for each text at its spot (n, 2) [pixel].

    `area`: left, top, right, bottom that no disc may leave, spots outside it get none; `radius`: wanted, smaller where they crowd;
    `taken`: boxes of labels that they keep off.
    """
    inside = [
        i for i, (x, y) in enumerate(spots) if area[0] <= x <= area[2] and area[1] <= y <= area[3] and np.isfinite([x, y]).all()
    ]
    if not inside:
        return ()
    places = np.asarray(spots, dtype=float)[inside]
    best, size = places, radius
    for share in SHRINK:
        size = radius * share
        best = _apart(places, size, area, taken)
        if np.linalg.norm(best - places, axis=1).max() <= STRAY * size:
            break
    return tuple(
        Disc(texts[i], float(x), float(y), size, (float(u), float(v)))
        for i, (x, y), (u, v) in zip(inside, best, places, strict=True)
    )


def _apart(places: NDArray[np.float64], radius: float, area: Rect, taken: Sequence[Rect]) -> NDArray[np.float64]:
    """Move discs outward until none overlap, none leaves the area and none covers a label."""
    middle = places.mean(axis=0)
    out = places - middle
    # Two screws in one line of sight: the order in the list parts them, always the same way.
    angle = 2.4 * np.arange(len(places))
    now = places + 1e-3 * np.column_stack([np.cos(angle), np.sin(angle)])
    out = out / np.maximum(np.linalg.norm(out, axis=1, keepdims=True), 1e-9)
    need = 2.0 * radius + APART
    low, high = np.array(area[:2]) + radius + 1.0, np.array(area[2:]) - radius - 1.0
    for turn in range(ROUNDS):
        if turn < ROUNDS // 2:
            now = now + PULL * (places - now)
        gap = now[:, None] - now[None]
        far = np.linalg.norm(gap, axis=2) + 1e9 * np.eye(len(now))
        close = np.maximum(0.0, need - far)
        if not close.any() and turn >= ROUNDS // 2:
            break
        push = (gap / far[..., None] * close[..., None]).sum(axis=1) * 0.55
        now = now + push + 0.1 * np.linalg.norm(push, axis=1, keepdims=True) * out
        for box in taken:
            now = _off(now, radius, box)
        now = np.clip(now, low, np.maximum(low, high))
    return now


def _off(discs: NDArray[np.float64], radius: float, box: Rect) -> NDArray[np.float64]:
    """Push discs out of a box by the shortest way."""
    grown = np.array([box[0] - radius, box[1] - radius, box[2] + radius, box[3] + radius])
    ways = np.column_stack([discs[:, 0] - grown[0], grown[2] - discs[:, 0], discs[:, 1] - grown[1], grown[3] - discs[:, 1]])
    hit = (ways > 0.0).all(axis=1)
    step = np.array([(-1.0, 0.0), (1.0, 0.0), (0.0, -1.0), (0.0, 1.0)])
    nearest = ways.argmin(axis=1)
    moved: NDArray[np.float64] = discs + (hit * ways.min(axis=1))[:, None] * step[nearest]
    return moved
