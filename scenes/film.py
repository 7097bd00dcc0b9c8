"""What a film of the rebuild shows, drawing by drawing: each step pulled apart, its parts sliding home along their path, seated.

mm. A drawing that stands for a while is drawn once and held. Nothing here is drawn.
Contents: `Shot`, `script`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from scenes.explain import Explainer
from scenes.frame import Frame, Shown
from scenes.settings import Settings
from scenes.shown import rotation
from scenes.wording import text

Array = NDArray[np.float64]
MOST_DRAWN = 450
"""Drawings in the whole film at most."""
FAST_DRAWN = 150
"""The same for a quick film."""
EASING = 2
"""Drawings while the view moves on to the next step, where there is room for any."""
LOOK, SEATED = 1.4, 1.0
"""How long a step stands pulled apart, and seated [s]."""
READ = 0.045
"""Time to read a letter of the title [s]."""


@dataclass(frozen=True)
class Shot:
    """One drawing: the step, how far its parts are from the far end (0) to home (1), how far the view has eased over from the step
    before (1 = there), and for how long the drawing stands [s]."""

    step: str
    phase: str
    home: float
    eased: float
    time: float


def script(explainer: Explainer, *, most: int = MOST_DRAWN, beat: float = 0.1) -> tuple[Shot, ...]:
    """All drawings of the whole film in order, at most `most` of them; `beat`: how long a drawing in movement stands [s].

    Every step stands once; the rest of the drawings is shared out among the moves of the view and, above all, of the parts.
    """
    procedure = explainer.procedure
    here = explainer.stage(explainer.start_settings())
    steps = [procedure.steps[name] for name in procedure.order]
    moving = {step.id for step in steps if here.standing[step.id].arriving or here.standing[step.id].leaving}
    follows = {b.id for a, b in zip(steps[:-1], steps[1:], strict=True) if (a.bench, a.up) == (b.bench, b.up)}
    spare = most - len(steps) - len(moving)
    easing = EASING if spare >= EASING * len(follows) + 2 * len(moving) else 0
    between = max(0, (spare - easing * len(follows)) // max(1, len(moving)))
    shots: list[Shot] = []
    for step in steps:
        if step.id in follows:
            shots += [Shot(step.id, step.phase, 0.0, smooth((k + 1) / (easing + 1)), beat) for k in range(easing)]
        title = READ * len(step_title(step.id))
        if step.id not in moving:
            shots.append(Shot(step.id, step.phase, 0.0, 1.0, LOOK + SEATED + title))
            continue
        shots.append(Shot(step.id, step.phase, 0.0, 1.0, LOOK + title))
        shots += [Shot(step.id, step.phase, smooth((k + 1) / (between + 1)), 1.0, beat) for k in range(between)]
        shots.append(Shot(step.id, step.phase, 1.0, 1.0, SEATED))
    return tuple(shots)


def step_title(step: str) -> str:
    """The title of a step."""
    return text(f"step.{step}.title")


def smooth(share: float) -> float:
    """A movement that starts and ends gently, 0 to 1."""
    return share * share * (3.0 - 2.0 * share)


def moved(explainer: Explainer, now: Settings, frame: Frame, step: str, home: float) -> Frame:
    """A step's frame, pulled apart, with its arriving parts a share of the way home (what leaves goes the other way)."""
    here, item = explainer.stage(now), explainer.procedure.steps[step]
    standing, turn = here.standing[step], rotation(item)
    ways = here.travel(item)
    shown = []
    for part in frame.shown:
        way = ways.get(part.name)
        if way is None or part.name not in (*standing.arriving, *standing.leaving):
            shown.append(part)
            continue
        share = 1.0 - home if part.name in standing.leaving else home
        shift = turn @ along([*(np.array(point) for point in way), np.zeros(3)], share)
        shown.append(shifted(part, shift - np.array(part.travel)))
    trails = frame.trails if home < 1.0 else ()
    return replace(frame, shown=tuple(shown), trails=trails)


def along(points: Sequence[Array], share: float) -> Array:
    """The point at a share of the length of a chain of points [mm]."""
    lengths = [float(np.linalg.norm(b - a)) for a, b in zip(points[:-1], points[1:], strict=True)]
    left = share * sum(lengths)
    for a, b, length in zip(points[:-1], points[1:], lengths, strict=True):
        if left <= length and length > 0.0:
            return np.asarray(a + (b - a) * (left / length))
        left -= length
    return np.asarray(points[-1])


def shifted(part: Shown, shift: Array) -> Shown:
    """A part drawn elsewhere [mm]."""
    pose = part.pose.copy()
    pose[:3, 3] += shift
    return replace(part, pose=pose, travel=tuple(float(a + b) for a, b in zip(part.travel, shift, strict=True)))


def blended(before: Frame, after: Frame, share: float) -> Frame:
    """The later frame with the parts that both show on their way over from where they stood before."""
    stood = {part.name: part for part in before.shown}
    shown = []
    for part in after.shown:
        old = stood.get(part.name)
        if old is None:
            shown.append(part)
            continue
        shown.append(shifted(part, (old.pose[:3, 3] - part.pose[:3, 3]) * (1.0 - share)))
    return replace(after, shown=tuple(shown), trails=())
