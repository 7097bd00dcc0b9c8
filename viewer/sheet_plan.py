"""Where things go on a sheet, and what all of its parts share: headings, type sizes, the labels that want a place.

Pixels. Contents: `Plan`, `Wanted`, `Line`, `words`, `type_size`.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from scenes.frame import Verdict
from scenes.wording import catalogue, spoken
from viewer import palette

SEVERITY: Final[dict[Verdict, int]] = {"stop": 0, "watch": 1, "fine": 2, "": 3}
Rect = tuple[float, float, float, float]


@dataclass(frozen=True)
class Line:
    text: str
    colour: palette.Rgb
    bold: bool = False
    verdict: Verdict = ""
    name: bool = False


@dataclass(frozen=True)
class Wanted:
    """A label that wants a place: the parts that share it, its lines and its rank (0 = arriving, keep at all cost)."""

    names: tuple[str, ...]
    lines: tuple[Line, ...]
    rank: int


@dataclass(frozen=True, eq=False)
class Plan:
    """Where things go on a sheet [pixel]: the picture's rectangle, the part of it that the machine may fill, the inner edges of the
    two label columns, the panel's rectangle (None without a panel), and the labels that want a place."""

    unit: float
    area: Rect
    free: Rect
    columns: tuple[float, float]
    panel: Rect | None
    wishes: Mapping[str, Wanted]
    overview: bool


def words() -> Mapping[str, str]:
    """The headings of a picture by their key, in the language spoken."""
    return _words(spoken())


@functools.cache
def _words(language: str) -> Mapping[str, str]:
    return {key.removeprefix("picture."): str(value) for key, value in catalogue(language).items() if key.startswith("picture.")}


def type_size(points: float, unit: float) -> int:
    """Type size for this sheet [pixel]; never so small that it can't be read."""
    return max(11, round(points * unit))
