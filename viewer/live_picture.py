"""The picture of the live page as the remote area sees it: coarse while something moves, fine at rest, never so costly that the hand waits.

Sizes in pixels, times in s.
Contents: `Picture`.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image

MOVING_SCALES: Final = (0.28, 0.6)  # of the picture's width and height while something is dragged: least and most
MOVING_SECONDS: Final = 0.05  # a moving picture is made so small that drawing it takes about this long
FINE: Final = 2  # times the size that a picture at rest is drawn at
FINE_UP_TO: Final = 1_200_000  # pixels of the finished picture: a larger one is drawn as it is, or it comes too late
LINE_WIDTH: Final = 1.3  # pixels of the finished picture
FINE_AT_ONCE: Final = 0.2  # s: where drawing finely takes longer, a plain picture comes first


class Picture:
    """The stage as the remote area sees it: asked for pixels, told of its size and of the mouse."""

    def __init__(
        self, stage: Any, drawn: Callable[[bool], None], moved: Callable[[dict[str, Any]], None], sized: Callable[[], None]
    ) -> None:
        self.stage = stage
        self.size = stage.size
        self.moving = False
        self.fine = False  # the next picture at rest is to be the fine one, whatever it costs
        self.finer_due = False  # the last one at rest was a plain one
        self._moving_scale = MOVING_SCALES[1]
        self._plain_seconds = 0.0  # that a plain picture takes
        self._drawn, self._moved, self._sized = drawn, moved, sized

    @property
    def img_cols_rows(self) -> tuple[NDArray[np.uint8], int, int]:
        """Draw: coarse and without edges while moving; at rest at twice the size, halved, for clean lines (a costly one plainly first)."""
        start = time.perf_counter()
        scale = self._moving_scale if self.moving else float(self._fineness())
        width, height = max(2, round(self.size[0] * scale)), max(2, round(self.size[1] * scale))
        self.stage.resize((width, height))
        self.stage.show_edges(not self.moving)
        self._draw_lines_wide(LINE_WIDTH * scale)
        image = np.ascontiguousarray(self.stage.image())
        if scale > 1.0:
            image = np.asarray(Image.fromarray(image).reduce(round(scale)))
            self.stage.resize(self.size)
        self._learn(time.perf_counter() - start, scale)
        self._drawn(self.moving)
        return image, image.shape[1], image.shape[0]

    def _fineness(self) -> int:
        if self.size[0] * self.size[1] > FINE_UP_TO:
            self.finer_due = False
            return 1
        self.finer_due = not self.fine and FINE * self._plain_seconds > FINE_AT_ONCE
        self.fine = False
        return 1 if self.finer_due else FINE

    def _learn(self, seconds: float, scale: float) -> None:
        """Note what a picture took: the next moving one is drawn larger or smaller, the next at rest finely or plainly."""
        if self.moving:
            better = self._moving_scale * math.sqrt(MOVING_SECONDS / max(seconds, 1e-3))
            self._moving_scale = float(np.clip(0.5 * (self._moving_scale + better), *MOVING_SCALES))
        else:
            self._plain_seconds = seconds / scale

    def _draw_lines_wide(self, width: float) -> None:
        """Edges and trails keep their width on the screen at every size that is drawn."""
        for renderer in self.stage.window.GetRenderers():
            for actor in renderer.GetActors():
                if actor.GetMapper().GetInput().GetNumberOfLines():
                    actor.GetProperty().SetLineWidth(width)

    def process_resize_event(self, width: int, height: int) -> None:
        """Take a new size [pixel]."""
        self.size = (width, height)
        self.stage.resize(self.size)
        self._sized()

    def process_interaction_event(self, event: dict[str, Any]) -> None:
        """Take a mouse event of the browser."""
        self._moved(event)
