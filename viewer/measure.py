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
    """How well each named part is seen in what the stage shows now; one small drawing per part."""
    whole = stage.part_map() if parts is None else parts
    counts = np.bincount(whole.part.ravel() + 1, minlength=len(whole.names) + 1)
    index = {name: i for i, name in enumerate(whole.names)}
    found: dict[str, Seen] = {}
    for name in names:
        if name not in index:
            found[name] = Seen(0, 0, 0.0, False)
            continue
        alone = stage.part_map([name]).part == index[name]
        visible = int(counts[index[name] + 1])
        spots = stage.project(stage.corners([name]))
        width, height = stage.size
        border = bool(alone[0].any() or alone[-1].any() or alone[:, 0].any() or alone[:, -1].any())
        outside = bool((spots.max(axis=0) < 0).any() or (spots[:, 0].min() > width) or (spots[:, 1].min() > height))
        found[name] = Seen(visible, int(alone.sum()), visible / whole.part.size, border or outside)
    return found


def overlapping(labels: Sequence[Label]) -> list[tuple[str, str]]:
    """Pairs of labels whose boxes overlap."""
    pairs = []
    for i, first in enumerate(labels):
        for second in labels[i + 1 :]:
            a, b = first.box, second.box
            if min(a[2], b[2]) - max(a[0], b[0]) > 0.5 and min(a[3], b[3]) - max(a[1], b[1]) > 0.5:
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
