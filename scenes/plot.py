"""The record of a plot, finished but for its strokes: lines, bands and marks in internal units (mm, degC, s), ticks and texts as shown.

Contents: `Plot` and what is in it, `axis` for an axis with round ticks in the unit system.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, log10
from typing import Literal

from calc import units
from calc.units import System

Place = tuple[float, float]
SHOWN = {("length", "inch"): (1.0 / 25.4, 0.0), ("temperature", "inch"): (1.8, 32.0)}
"""Scale and offset from the internal unit to the one shown, where they differ."""
ROUND = (1.0, 2.0, 5.0, 10.0)
"""Steps between ticks, times a power of ten: common practice, no source."""
SOME_MORE = 0.85
"""A round step may be this much smaller than `most` asks for, or two ticks would be all there is [1]."""
MINUTES_FROM = 240.0
"""A time axis at least this long is told in minutes [s]."""


@dataclass(frozen=True)
class Axis:
    """Name with unit, ends, and ticks with their texts."""

    name: str
    low: float
    high: float
    ticks: tuple[tuple[float, str], ...]


@dataclass(frozen=True)
class Line:
    """One curve, in pieces where it breaks off. `style`: what is drawn, a key of the renderer's styles."""

    name: str
    style: str
    pieces: tuple[tuple[Place, ...], ...]


@dataclass(frozen=True)
class Band:
    """The area between two curves of the same `style`."""

    style: str
    lower: tuple[Place, ...]
    upper: tuple[Place, ...]


@dataclass(frozen=True)
class Mark:
    """A straight mark right across: at an x or a y, with its text; `kind`: the present setting, a limit, or what a curve must reach."""

    across: Literal["x", "y"]
    at: float
    text: str
    kind: Literal["now", "limit", "wanted"]


@dataclass(frozen=True)
class Dot:
    """Where a curve stands at the present setting."""

    style: str
    at: Place
    text: str


@dataclass(frozen=True)
class Plot:
    """A plot. `said`: what to read off it, in sentences; `indicative`: why its figures are not to be relied on, "" = they are."""

    key: str
    title: str
    x: Axis
    y: Axis
    lines: tuple[Line, ...]
    bands: tuple[Band, ...] = ()
    marks: tuple[Mark, ...] = ()
    dots: tuple[Dot, ...] = ()
    said: tuple[str, ...] = ()
    indicative: str = ""


def axis(name: str, ends: Sequence[float], kind: str, system: System, *, most: int = 5) -> Axis:
    """An axis from the least to the greatest of `ends` with at most `most` steps between round ticks; the unit is added to the name."""
    low, high = min(ends), max(ends)
    if high - low <= 0.0:
        low, high = low - 0.5, high + 0.5
    if kind == "time":
        scale, offset, unit = (1.0 / 60.0, 0.0, "min") if high - low >= MINUTES_FROM else (1.0, 0.0, "s")
    else:
        scale, offset = SHOWN.get((kind, system), (1.0, 0.0))
        unit = units.show(low, kind, system).rsplit(" ", 1)[1]
    rough = (high - low) * scale / most
    power = 10.0 ** floor(log10(rough))
    step = next(power * size for size in ROUND if power * size >= SOME_MORE * rough)
    first, last = ceil((low * scale + offset) / step - 1e-9), floor((high * scale + offset) / step + 1e-9)
    digits = max(0, -floor(log10(step) + 1e-9))
    ticks = []
    for count in range(first, last + 1):
        value = (count * step - offset) / scale
        shown = f"{count * step:.{digits}f}" if kind == "time" else units.show(value, kind, system, digits=digits).rsplit(" ", 1)[0]
        ticks.append((value, shown))
    return Axis(f"{name} [{unit}]", low, high, tuple(ticks))
