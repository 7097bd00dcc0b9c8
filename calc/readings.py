"""What a fitter reads off a bevel pair: backlash by dial and marked patterns, at one or several places round the gear.

`Mark`, `Reading`, `set_value`. Readings round the gear are taken apart into the set value, which shims change, and the runout, which
they don't. Backlash is circumferential at the gear's outer pitch radius [mm]; `calc.indicator` turns a dial's reading into it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

BACKLASH_SIGMA = 0.025
"""Standard deviation of a fitter's backlash reading [mm]: common practice, no source."""
MARK_SIGMA = 7.0
"""Standard deviation of a pattern's centre judged by eye [%]: own choice."""
ALONG_FACE: Mapping[str, float] = {"hard_toe": 24.0, "toe": 37.0, "centred": 50.0, "heel": 63.0, "hard_heel": 76.0}
OVER_DEPTH: Mapping[str, float] = {"hard_low": 24.0, "low": 37.0, "centred": 50.0, "high": 63.0, "hard_high": 76.0}
"""Where the centre of a pattern lies that is called so, along the face from the toe and over the depth from the root [%]: own choice."""
FEWEST_FOR_RUNOUT = 3
"""Places round the gear from which a once-per-turn runout can be told."""


@dataclass(frozen=True)
class Mark:
    """Centre of a marked pattern on the gear: a class of `ALONG_FACE` and `OVER_DEPTH` or a percentage; standard deviation [%]."""

    along_face: float | str = "centred"
    over_depth: float | str = "centred"
    sigma: float = MARK_SIGMA

    def __post_init__(self) -> None:
        for name, value, classes in (("along face", self.along_face, ALONG_FACE), ("over depth", self.over_depth, OVER_DEPTH)):
            good = value in classes if isinstance(value, str) else 0.0 <= value <= 100.0
            if not good:
                raise ValueError(f"mark {name}: {value}: accepted: {', '.join(classes)}, or 0 to 100 %")
        if not (math.isfinite(self.sigma) and self.sigma > 0.0):
            raise ValueError(f"mark sigma: {self.sigma} %: accepted: above 0 %")

    @property
    def centre(self) -> tuple[float, float]:
        """Centre along the face and over the depth [%]."""
        along = ALONG_FACE[self.along_face] if isinstance(self.along_face, str) else self.along_face
        over = OVER_DEPTH[self.over_depth] if isinstance(self.over_depth, str) else self.over_depth
        return along, over


@dataclass(frozen=True)
class Reading:
    """What was read at one place round the gear; what was not read is None. Backlash and its deviation [mm], turn of the gear [rad]."""

    backlash: float | None = None
    drive: Mark | None = None
    coast: Mark | None = None
    turn: float | None = None
    sigma: float = BACKLASH_SIGMA

    def __post_init__(self) -> None:
        if self.backlash is not None and not 0.0 <= self.backlash <= 5.0:
            raise ValueError(f"backlash: {self.backlash} mm: accepted: 0 to 5 mm")
        if not (math.isfinite(self.sigma) and self.sigma > 0.0):
            raise ValueError(f"backlash sigma: {self.sigma} mm: accepted: above 0 mm")
        if self.turn is not None and not math.isfinite(self.turn):
            raise ValueError(f"turn: {self.turn} rad: accepted: a finite angle")


@dataclass(frozen=True)
class SetValue:
    """Readings of one setting brought together.

    backlash: set value and its standard deviation [mm], None when not read; runout: most less least of the once-per-turn part [mm],
    None below three places; runout_sigma [mm]; tightest_at: gear turn at the least backlash [rad]; scatter: root mean square of what is
    left [mm]; drive, coast: mean marks.
    """

    backlash: float | None
    sigma: float
    runout: float | None
    runout_sigma: float
    tightest_at: float | None
    scatter: float
    drive: Mark | None
    coast: Mark | None


def set_value(readings: Sequence[Reading]) -> SetValue:
    """Set value and runout of readings at several places round the gear.

    j(w) = j0 + a cos w + b sin w by weighted least squares; runout = 2 sqrt(a^2 + b^2); below three places, or without their turns,
    the weighted mean; marks by their mean, deviation sigma / sqrt(n)

    readings: one setting, one or more places [mm, rad]
    Result: SetValue [mm, rad]. Range: places spread round the gear; three make no check of each other.
    Source: once-per-turn runout of an eccentric or tilted gear; least squares.

    >>> turns = [0.0, math.pi / 2.0, math.pi, 3.0 * math.pi / 2.0]
    >>> found = set_value([Reading(j, turn=w) for j, w in zip((0.22, 0.20, 0.18, 0.20), turns)])
    >>> round(found.backlash, 3), round(found.runout, 3), round(found.tightest_at, 3)
    (0.2, 0.04, 3.142)
    """
    if not readings:
        raise ValueError("readings: none: accepted: one or more")
    read = [reading for reading in readings if reading.backlash is not None]
    marks = [
        _mean_mark([mark for mark in found if mark is not None])
        for found in zip(*((r.drive, r.coast) for r in readings), strict=True)
    ]
    drive, coast = marks
    if not read and drive is None and coast is None:
        raise ValueError("readings: nothing read: accepted: a backlash or a mark at one place or more")
    if not read:
        return SetValue(None, BACKLASH_SIGMA, None, 0.0, None, 0.0, drive, coast)
    values = np.array([reading.backlash for reading in read], dtype=np.float64)
    weight = 1.0 / np.array([reading.sigma for reading in read])
    turns = np.array([math.nan if reading.turn is None else reading.turn for reading in read])
    columns = np.stack((np.ones_like(values), np.cos(turns), np.sin(turns)), axis=1)
    spread = bool(np.isfinite(turns).all()) and len(read) >= FEWEST_FOR_RUNOUT
    if spread:
        scaled = columns * weight[:, None]
        spread = bool(np.linalg.cond(scaled) < 20.0)
    if not spread:
        mean = float((values * weight**2).sum() / (weight**2).sum())
        scatter = float(np.sqrt(np.mean((values - mean) ** 2)))
        return SetValue(mean, float(1.0 / np.sqrt((weight**2).sum())), None, 0.0, None, scatter, drive, coast)
    covariance = np.linalg.inv(scaled.T @ scaled)
    fit = covariance @ (scaled.T @ (values * weight))
    left = values - columns @ fit
    return SetValue(
        backlash=float(fit[0]),
        sigma=math.sqrt(covariance[0, 0]),
        runout=2.0 * math.hypot(fit[1], fit[2]),
        runout_sigma=2.0 * math.sqrt((covariance[1, 1] + covariance[2, 2]) / 2.0),
        tightest_at=math.atan2(-fit[2], -fit[1]) % (2.0 * math.pi),
        scatter=float(np.sqrt(np.mean(left**2))),
        drive=drive,
        coast=coast,
    )


def _mean_mark(marks: list[Mark]) -> Mark | None:
    if not marks:
        return None
    centres = [mark.centre for mark in marks]
    count = len(marks)
    sigma = math.sqrt(sum(mark.sigma**2 for mark in marks)) / count
    return Mark(sum(c[0] for c in centres) / count, sum(c[1] for c in centres) / count, sigma)
