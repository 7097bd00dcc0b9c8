"""While nothing moves on the live page: the solids of the next step made ready, so that its picture comes at once."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Sequence
from typing import Any

from viewer import meshes


class Ahead:
    """Makes meshes of the step after the present one, a few at a time, and leaves off as soon as somebody does something."""

    def __init__(self, explainer: Any, steps: Sequence[str | None]) -> None:
        self.explainer, self.steps = explainer, steps
        self._ready: Any = None
        self._task: asyncio.Task[None] | None = None

    def prepare(self, settings: Any, aspect: float, busy: Callable[[], bool]) -> None:
        """Begin with the step after that of the settings, unless it was the last one made ready."""
        place = self.steps.index(settings.step) + 1
        if place >= len(self.steps) or (self._task and not self._task.done()):
            return
        following = self.explainer.with_(settings, step=self.steps[place])
        if following != self._ready:
            self._task = asyncio.get_running_loop().create_task(self._make(following, aspect, busy))

    async def _make(self, settings: Any, aspect: float, busy: Callable[[], bool]) -> None:
        try:
            frame = self.explainer.frame(settings, aspect)
        except ValueError:  # no buildable reducer: said when the step is shown
            return
        for part in frame.shown:
            await asyncio.sleep(0.001)
            if busy():
                return
            if not meshes.taken_away(part, frame.cut):
                meshes.edges(part, frame.cut)
        self._ready = settings
