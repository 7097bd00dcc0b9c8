"""What is written over the picture of the live page: labels with their leaders, the numbers of the order of work, the way of a blocked part.

Places in pixels of the page, whose picture may be drawn larger or smaller.
Contents: `Scene`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from scenes.frame import Frame, Verdict
from viewer import anchors, order_marks, overlay, way_mark
from viewer.labels import Layout

DISC: Final = 0.75  # radius of a number in the picture over the labels' type size
TYPE_GROWS: Final = (800.0, 1.0, 1.5)
"""Width of the page's picture from which its type grows with it; least and most that it does."""


@dataclass(frozen=True)
class Scene:
    """A frame as it now stands in the picture. `size`: of the picture on the page; `larger`: its type over that at a desk; `marks`: mark and
    word of each verdict."""

    stage: Any
    frame: Frame
    size: tuple[float, float]
    larger: float
    marks: dict[Verdict, tuple[str, str]]

    def labels(self, leader_ends: dict[str, tuple[str, NDArray[np.float64]]]) -> str:
        """All of it as markup; `leader_ends`: what is seen of the parts that have a label."""
        ends = anchors.place(self.frame, leader_ends)
        flat = self.stage.project(np.array(list(ends.values()))) if ends else np.zeros((0, 2))
        across, down = self._scale
        places = {part: (float(x) * across, float(y) * down) for part, (x, y) in zip(ends, flat, strict=True)}
        layout, lines = overlay.labels(self.frame, places, self.size, self.marks, self._type_size)
        return overlay.leaders(layout, lines, self.size, self._type_size, self._order(layout), self._way(layout))

    @property
    def _scale(self) -> tuple[float, float]:
        return self.size[0] / self.stage.size[0], self.size[1] / self.stage.size[1]

    @property
    def _type_size(self) -> int:
        width, least, most = TYPE_GROWS
        return round(overlay.TYPE_SIZE * self.larger * min(most, max(least, self.size[0] / width)))

    def _order(self, layout: Layout) -> tuple[order_marks.Disc, ...]:
        """The numbers of the step's order of work where the picture shows their places."""
        marks = self.frame.sequence
        if not marks:
            return ()
        spots = self.stage.project(np.array([mark.point for mark in marks])) * self._scale
        taken = [label.box for label in layout.labels]
        texts = [mark.text for mark in marks]
        return order_marks.arrange(texts, spots, area=(0.0, 0.0, *self.size), radius=DISC * self._type_size, taken=taken)

    def _way(self, layout: Layout) -> str:
        """The way of a blocked part, marked where the picture shows it."""
        way = self.frame.blocked
        if way is None:
            return ""
        come, rest = (self.stage.project(np.array(c)) * self._scale if c else np.zeros((0, 2)) for c in (way.come, way.rest))
        taken = [label.box for label in layout.labels]
        area = (8.0, 8.0, self.size[0] - 8.0, self.size[1] - 8.0)
        return way_mark.svg(way_mark.arrange(come, rest, way.left, area=area, taken=taken, type_size=self._type_size))
