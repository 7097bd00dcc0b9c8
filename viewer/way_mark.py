"""How a blocked way is marked in a picture: an arrow up to the touch, a dotted line for what is left, and the words beside it.

Pixels, y down. `arrange` finds the places, `write` draws them on a sheet, `svg` for the live page.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import Final

import numpy as np
from numpy.typing import NDArray

from viewer import palette
from viewer.lettering import Sheet, pitch, width_of

Point = tuple[float, float]
Rect = tuple[float, float, float, float]
HEAD: Final = 1.15  # length of an arrow's head over the type size
SPREAD: Final = 0.42  # half its width over its length
DOT: Final = 0.42  # length of a dot of the dotted line, and of the gap after it, over the type size
TICK: Final = 0.45  # half a tick across the end of the way over the type size
OFF: Final = 1.0  # from the way to the words over the type size
HALO: Final = 0.42  # white on either side of a line, over the type size


@dataclass(frozen=True)
class Mark:
    """A marked way: the arrow's chain, the chain of what is left, the words and their box (left, top, right, bottom)."""

    come: tuple[Point, ...]
    rest: tuple[Point, ...]
    text: str
    box: Rect
    type_size: int

    @property
    def length(self) -> float:
        """Length of the arrow [pixel]."""
        return float(sum(np.hypot(b[0] - a[0], b[1] - a[1]) for a, b in zip(self.come, self.come[1:], strict=False)))

    @property
    def head(self) -> tuple[Point, Point, Point]:
        """Tip and both barbs of the arrow's head."""
        tip, tail = np.array(self.come[-1]), np.array(self.come[0])
        for point in reversed(self.come[:-1]):
            if np.hypot(*(tip - np.array(point))) > 1.0:
                tail = np.array(point)
                break
        along = (tip - tail) / max(float(np.hypot(*(tip - tail))), 1e-9)
        across = np.array([-along[1], along[0]])
        size = HEAD * self.type_size
        a, b = tip - along * size + across * size * SPREAD, tip - along * size - across * size * SPREAD
        return _point(tip), _point(a), _point(b)

    @property
    def dots(self) -> list[tuple[Point, Point]]:
        """The strokes of the dotted line."""
        step = 2.0 * DOT * self.type_size
        found = []
        for a, b in zip(self.rest, self.rest[1:], strict=False):
            start, way = np.array(a), np.array(b) - np.array(a)
            length = float(np.hypot(*way))
            for at in np.arange(0.0, length, step):
                end = min(at + step / 2.0, length)
                found.append((_point(start + way * at / length), _point(start + way * end / length)))
        return found

    @property
    def tick(self) -> tuple[Point, Point] | None:
        """A stroke across the end of what is left: where the place that touches should come to; None when nothing is left."""
        if len(self.rest) < 2:
            return None
        a, b = np.array(self.rest[-2]), np.array(self.rest[-1])
        length = float(np.hypot(*(b - a)))
        if length < 1.0:
            return None
        across = np.array([a[1] - b[1], b[0] - a[0]]) / length * TICK * self.type_size
        return _point(b - across), _point(b + across)


def _point(values: NDArray[np.float64]) -> Point:
    return float(values[0]), float(values[1])


def arrange(
    come: NDArray[np.float64],
    rest: NDArray[np.float64],
    text: str,
    *,
    area: Rect,
    taken: Sequence[Rect] = (),
    type_size: int,
) -> Mark:
    """Places for a way whose points fall at `come` and `rest`, shape (n, 2); the words keep inside `area` and off the boxes `taken`."""
    points = _within([_point(point) for point in come[::-1]], area)[::-1]
    left = _within([_point(point) for point in rest], area)
    wide, tall = width_of(text, type_size, True) + 1.0 * type_size, pitch(type_size) + 0.3 * type_size
    spots = [np.array(point) for point in (left[-1:] + left[:1] or points[-1:])]
    if len(left) > 1:
        spots.insert(0, (np.array(left[0]) + np.array(left[-1])) / 2.0)
    spots += [np.array(points[-1]), np.array(points[0])]
    lines = [(points[i], points[i + 1]) for i in range(len(points) - 1)] + [(left[i], left[i + 1]) for i in range(len(left) - 1)]
    best: tuple[float, Rect] | None = None
    for rank, spot in enumerate(spots):
        for far in (1.0, 2.2, 4.0, 6.5):
            off = OFF * type_size * far
            for dx, dy in ((0, 1), (0, -1), (1, 0), (-1, 0), (1, 1), (-1, 1), (1, -1), (-1, -1)):
                x, y = spot[0] + dx * (off + wide / 2.0), spot[1] + dy * (off + tall / 2.0)
                box = (float(x - wide / 2.0), float(y - tall / 2.0), float(x + wide / 2.0), float(y + tall / 2.0))
                out = (
                    max(area[0] - box[0], 0.0)
                    + max(area[1] - box[1], 0.0)
                    + max(box[2] - area[2], 0.0)
                    + max(box[3] - area[3], 0.0)
                )
                cost = (
                    1e4 * out
                    + 1e3 * sum(_shared(box, other) for other in taken)
                    + 60.0 * sum(_crosses(box, line) for line in lines)
                )
                cost += 4.0 * far + 3.0 * rank
                if best is None or cost < best[0]:
                    best = cost, box
    assert best is not None
    return Mark(tuple(points), tuple(left), text, best[1], type_size)


def _within(points: list[Point], area: Rect) -> list[Point]:
    """A chain up to where it leaves the area."""
    kept: list[Point] = []
    for point in points:
        inside = area[0] <= point[0] <= area[2] and area[1] <= point[1] <= area[3]
        if not inside and kept:
            a, b = np.array(kept[-1]), np.array(point)
            shares = [
                (limit - a[k]) / (b[k] - a[k])
                for k, limits in ((0, (area[0], area[2])), (1, (area[1], area[3])))
                for limit in limits
                if abs(b[k] - a[k]) > 1e-9 and (limit - a[k]) / (b[k] - a[k]) > 0.0
            ]
            return [*kept, _point(a + (b - a) * min([1.0, *shares]))]
        kept.append(point)
    return kept


def _shared(a: Rect, b: Rect) -> float:
    return float(min(a[2], b[2]) - max(a[0], b[0]) > 0.0 and min(a[3], b[3]) - max(a[1], b[1]) > 0.0)


def _crosses(box: Rect, line: tuple[Point, Point]) -> float:
    """Share of a line's sample points inside a box."""
    at = np.linspace(0.0, 1.0, 40)[:, None]
    points = np.array(line[0]) * (1.0 - at) + np.array(line[1]) * at
    inside = (points[:, 0] > box[0]) & (points[:, 0] < box[2]) & (points[:, 1] > box[1]) & (points[:, 1] < box[3])
    return float(inside.mean())


def write(sheet: Sheet, mark: Mark) -> None:
    """Draw a marked way on a sheet."""
    unit = mark.type_size / 14.0
    white = 2.0 * HALO * mark.type_size
    strokes = [*mark.dots, *([mark.tick] if mark.tick else [])]
    tip, a, b = mark.head
    for start, end in strokes:
        sheet.smooth([start, end], palette.PAPER, 2.2 * unit + white / 2.0)
    sheet.smooth(mark.come, palette.PAPER, 3.2 * unit + white)
    sheet.smooth([a, tip, b], palette.PAPER, 3.2 * unit + white)
    for start, end in strokes:
        sheet.smooth([start, end], palette.INK, 2.2 * unit)
    sheet.smooth(mark.come, palette.INK, 3.2 * unit)
    sheet.smooth([a, tip, b, a, tip], palette.INK, 3.2 * unit)
    x0, y0, x1, y1 = mark.box
    sheet.plate((x0, y0, x1, y1), palette.PAPER, palette.INK)
    sheet.text((x0 + x1) / 2.0, (y0 + y1) / 2.0, mark.text, mark.type_size, palette.INK, bold=True, align="middle")


def svg(mark: Mark) -> str:
    """A marked way as a group for the page's overlay."""
    tip, a, b = mark.head

    def path(points: Sequence[Point], close: bool = False) -> str:
        return "M" + "L".join(f"{x:.1f},{y:.1f}" for x, y in points) + ("Z" if close else "")

    strokes = "".join(path(stroke) for stroke in (*mark.dots, *([mark.tick] if mark.tick else [])))
    x0, y0, x1, y1 = mark.box
    size = mark.type_size
    arrow, head = path(mark.come), path([a, tip, b], close=True)
    return (
        f'<g class="way"><path class="under" d="{arrow}{head}{strokes}"/><path class="left" d="{strokes}"/><path class="come" d="{arrow}"/>'
        f'<path class="head" d="{head}"/><rect x="{x0:.1f}" y="{y0:.1f}" width="{x1 - x0:.1f}" height="{y1 - y0:.1f}" rx="3"/>'
        f'<text x="{(x0 + x1) / 2.0:.1f}" y="{(y0 + y1) / 2.0 + 0.36 * size:.1f}" text-anchor="middle" font-size="{size}">{escape(mark.text)}</text></g>'
    )
