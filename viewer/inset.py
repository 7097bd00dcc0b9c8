"""A close-up of what arrives, without what hides it: drawn when the main picture can't show it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from scenes.frame import Frame
from viewer import ink, measure
from viewer.stage import PartMap, Stage

LAYERS: Final = 10  # how many shells of hiding parts are taken off at most
CLEAR_SHARE: Final = 0.55  # of the arriving parts' silhouette: enough to make it out, so that its neighbours stay
HIDER_SHARE: Final = 0.02  # a part that covers less of it stays
MOST: Final = 3  # close-ups side by side
MARGIN: Final = 1.2  # a part this close to too small or too hidden gets a close-up as well
NEAR: Final = 2.0  # parts within this many times the size of the largest share a close-up


@dataclass(frozen=True, eq=False)
class Inset:
    """The close-up and the parts that were taken away for it."""

    image: NDArray[np.uint8]
    names: tuple[str, ...]
    removed: tuple[str, ...]


def views(stage: Stage, frame: Frame, parts: PartMap | None = None) -> dict[str, measure.Seen]:
    """How well what the stage shows now shows each arriving part; `parts` when it has been read already."""
    arriving = [
        part.name for part in frame.shown if part.name in frame.arriving or (not frame.arriving and part.state == "arriving")
    ]
    return measure.seen(stage, arriving, parts)


def wanted(views: Mapping[str, measure.Seen], frame: Frame, margin: float = MARGIN) -> tuple[str, ...]:
    """The arriving parts that the picture doesn't show well enough, with this much in hand."""
    alike: dict[str, list[str]] = {}
    label = {part.name: part.label for part in frame.shown}
    for name in views:
        alike.setdefault(label[name], []).append(name)
    # several of a kind (screws, rollers) count as seen when one of them is, or all together are
    poor: list[str] = []
    for names in alike.values():
        together = sum(views[n].of_picture for n in names)
        if together < margin * measure.SMALL_SHARE or max(views[n].of_itself for n in names) < margin * measure.HIDDEN_SHARE:
            poor += names
    return tuple(poor)


def tiles(stage: Stage, frame: Frame, names: tuple[str, ...], views: Mapping[str, measure.Seen]) -> list[tuple[str, ...]]:
    """Share parts out into close-ups: the best seen of each kind; kinds that lie near each other go together."""
    label = {part.name: part.label for part in frame.shown}
    best: dict[str, str] = {}
    for name in names:
        if label[name] not in best or views[name].visible > views[best[label[name]]].visible:
            best[label[name]] = name
    groups: list[list[str]] = []
    for name in best.values():
        home = next((group for group in groups if _near(stage, [*group, name])), None)
        if home is None:
            groups.append([name])
        else:
            home.append(name)
    return [tuple(group) for group in groups[:MOST]]


def _near(stage: Stage, names: list[str]) -> bool:
    def size(points: NDArray[np.float64]) -> float:
        return float(np.linalg.norm(points.max(axis=0) - points.min(axis=0)))

    return size(stage.corners(names)) <= NEAR * max(size(stage.corners([name])) for name in names)


def draw(stage: Stage, frame: Frame, names: tuple[str, ...], size: tuple[int, int], finish: ink.Finish = ink.FINE) -> Inset:
    """Draw the named parts close up from the frame's direction, taking off what hides them and paling the rest."""
    stage.resize((size[0] * finish.scale, size[1] * finish.scale))
    stage.show(frame)
    width, height = stage.size
    pad = 0.16
    stage.fit(frame.camera, (width * pad, height * pad, width * (1 - pad), height * (1 - pad)), names)
    present = [n for n in names if len(stage.corners([n])) > 1]
    removed: set[str] = set()
    alone = stage.part_map(present)
    target = alone.part >= 0
    last: PartMap | None = None
    for _ in range(LAYERS):
        stage.hide(removed)
        last = now = stage.part_map()
        keep = {i for i, name in enumerate(now.names) if name in present}
        inside = now.part[target]
        if not len(inside) or np.isin(inside, list(keep)).mean() >= CLEAR_SHARE:
            break
        counts = np.bincount(inside[inside >= 0], minlength=len(now.names))
        counts[list(keep)] = 0
        if not counts.any() or counts.max() <= HIDER_SHARE * len(inside):
            break
        last = None
        removed |= {now.names[i] for i in np.nonzero(counts >= 0.5 * counts.max())[0]}
    stage.hide(removed)
    others = [part.name for part in frame.shown if part.state != "arriving" and part.name in alone.names]
    stage.fade(others)
    image = ink.develop(stage, frame, faded=others, finish=finish, parts=last).image
    stage.hide(())
    stage.show(frame)
    return Inset(image, tuple(present), tuple(sorted(removed)))
