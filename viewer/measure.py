"""What a picture shows, in numbers: how much of each part is seen, what is cut off, which labels overlap or leave it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from viewer.labels import Label

if TYPE_CHECKING:
    from viewer.stage import PartMap, Stage

HIDDEN_SHARE: Final = 0.30  # an arriving part of which less is seen needs an inset
SMALL_SHARE: Final = 0.005  # ... or one that covers less of the picture
Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Seen:
    """One part in one picture: pixels seen, pixels of its whole silhouette within it, its seen share of the picture, and whether
    the part runs over the picture's border."""

    visible: int
    silhouette: int
    of_picture: float
    clipped: bool

    @property
    def of_itself(self) -> float:
        """Share of the part's silhouette that nothing hides [-]."""
        return self.visible / self.silhouette if self.silhouette else 0.0

    @property
    def clear(self) -> bool:
        """Whether the part can be made out without an inset."""
        return self.of_itself >= HIDDEN_SHARE and self.of_picture >= SMALL_SHARE


def seen(stage: Stage, names: Iterable[str], parts: PartMap | None = None) -> dict[str, Seen]:
    """How well each named part is seen in what the stage shows now; parts that can't hide each other are drawn alone together."""
    whole = stage.part_map() if parts is None else parts
    counts = np.bincount(whole.part.ravel() + 1, minlength=len(whole.names) + 1)
    index = {name: i for i, name in enumerate(whole.names)}
    width, height = stage.size
    found: dict[str, Seen] = {}
    boxes: dict[str, Box] = {}
    for name in names:
        found[name] = Seen(0, 0, 0.0, False)
        if name in index:
            spots = stage.project(stage.corners([name]))
            boxes[name] = (*spots.min(axis=0), *spots.max(axis=0))
    for group in _apart(boxes):
        drawn = stage.part_map(group).part
        whole_counts = np.bincount(drawn.ravel() + 1, minlength=len(whole.names) + 1)
        at_border = set(np.unique(np.concatenate([drawn[0], drawn[-1], drawn[:, 0], drawn[:, -1]])).tolist())
        for name in group:
            visible, (x0, y0, x1, y1) = int(counts[index[name] + 1]), boxes[name]
            away = x1 < 0 or y1 < 0 or x0 > width or y0 > height
            clipped = away or index[name] in at_border
            found[name] = Seen(visible, int(whole_counts[index[name] + 1]), visible / whole.part.size, clipped)
    return found


def _apart(boxes: dict[str, Box]) -> list[list[str]]:
    """Share names out into the fewest groups, first come first, in which no two boxes overlap."""
    groups: list[list[str]] = []
    for name, box in boxes.items():
        home = next((group for group in groups if not any(_overlap(box, boxes[other]) for other in group)), None)
        if home is None:
            groups.append([name])
        else:
            home.append(name)
    return groups


def _overlap(a: Box, b: Box, by: float = 0.0) -> bool:
    return min(a[2], b[2]) - max(a[0], b[0]) > by and min(a[3], b[3]) - max(a[1], b[1]) > by


def overlapping(labels: Sequence[Label]) -> list[tuple[str, str]]:
    """Pairs of labels whose boxes overlap."""
    pairs = []
    for i, first in enumerate(labels):
        for second in labels[i + 1 :]:
            if _overlap(first.box, second.box, 0.5):
                pairs.append((first.key, second.key))
    return pairs


def outside(labels: Sequence[Label], picture: Box) -> list[str]:
    """Labels that leave the picture (left, top, right, bottom)."""
    return [
        label.key
        for label in labels
        if label.box[0] < picture[0] - 0.5
        or label.box[1] < picture[1] - 0.5
        or label.box[2] > picture[2] + 0.5
        or label.box[3] > picture[3] + 0.5
    ]
