"""ISO 286 limits and fits for sizes up to 500 mm, and what micrometer readings say of a fit.

mm throughout (the tables are printed in um). Deviations are from the nominal size; clearance is positive, interference negative, diametral.
Contents: `standard_tolerance`, `shaft_limits`, `hole_limits`, `fit`, `limits_from_readings`.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from calc.standards import table_rows

MICRON = 0.001
"""One micrometre [mm]."""
SHAFTS = ("e", "f", "g", "h", "js", "j", "k", "m", "n", "p", "r", "s")
HOLES = tuple(letter.upper() for letter in SHAFTS)
GRADES = (5, 6, 7, 8, 9)
WATCH_FORM = 0.005
"""Taper or out-of-round from which readings get a warning [mm]: about half of IT6 at 50 mm, common practice, no source."""


class FitError(ValueError):
    """A size or class that the tables do not hold."""


@dataclass(frozen=True)
class Limits:
    """Lower and upper deviation from the nominal size [mm]."""

    lower: float
    upper: float

    def at(self, size: float) -> tuple[float, float]:
        """Smallest and largest size for this nominal [mm]."""
        return size + self.lower, size + self.upper


@dataclass(frozen=True)
class Fit:
    """Least and greatest diametral clearance [mm]; negative is interference."""

    low: float
    high: float


@dataclass(frozen=True)
class Readings:
    """What micrometer readings say: mean, spread, extremes, out-of-round within a plane and taper between planes [mm]."""

    mean: float
    spread: float
    low: float
    high: float
    out_of_round: float
    taper: float

    @property
    def warnings(self) -> tuple[str, ...]:
        """Form faults worth a look: "taper", "out-of-round"."""
        named = (("taper", self.taper), ("out-of-round", self.out_of_round))
        return tuple(name for name, value in named if value > WATCH_FORM + 1e-9)


def _row(table: str, size: float) -> dict[str, str]:
    if not 0.0 < size <= 500.0:
        raise FitError(f"size {size} mm: accepted: above 0 up to 500 mm")
    for row in table_rows(table):
        if row["up_to"] != "mm" and size <= float(row["up_to"]) + 1e-9:
            return row
    raise FitError(f"size {size} mm: accepted: above 0 up to 500 mm")


def _class(text: str, letters: tuple[str, ...]) -> tuple[str, int]:
    match = re.fullmatch(r"([A-Za-z]{1,2})(\d{1,2})", text.strip())
    if not match or match[1] not in letters or int(match[2]) not in GRADES:
        raise FitError(
            f"fit class {text!r}: accepted: {', '.join(letters)} with grade 5 to 9, for example {'k6' if letters is SHAFTS else 'H7'}"
        )
    return match[1], int(match[2])


def _um(row: dict[str, str], column: str) -> float:
    return float(row[column])


def standard_tolerance(size: float, grade: int) -> float:
    """Standard tolerance IT of a size.

    size: nominal size [mm]
    grade: 4 to 9 [1]
    Result: tolerance [mm]. Range: above 0 up to 500 mm. Source: ISO 286-1:2010 Table 1.

    >>> standard_tolerance(50.0, 7)
    0.025
    """
    if grade not in (4, *GRADES):
        raise FitError(f"grade IT{grade}: accepted: IT4 to IT9")
    return _um(_row("iso286_tolerances", size), f"IT{grade}") * MICRON


def _tabulated(column: str, size: float, text: str) -> float:
    row = _row("iso286_j", size)
    if column not in row:
        known = [name for name in row if name.startswith(column[0]) and name != "up_to"]
        raise FitError(f"fit class {text!r}: accepted: {', '.join(known)}")
    return _um(row, column)


@lru_cache(maxsize=1024)
def shaft_limits(size: float, fit_class: str) -> Limits:
    """Deviations of a shaft: es given for e to h (ei = es - IT), ei given for k to s (es = ei + IT), js even, j from the table.

    size: nominal size [mm]
    fit_class: letter and grade, for example "k6" [-]
    Result: lower and upper deviation [mm]. Range: e to s, js, j; IT5 to IT9; up to 500 mm. Source: ISO 286-1:2010 Tables 4, 5; ISO 286-2.

    >>> shaft_limits(60.0, "k6")
    Limits(lower=0.002, upper=0.021)
    """
    letter, grade = _class(fit_class, SHAFTS)
    tolerance = _um(_row("iso286_tolerances", size), f"IT{grade}")
    if letter == "js":
        return _limits(-tolerance / 2.0, tolerance / 2.0)
    if letter == "j":
        lower = _tabulated(f"j{grade}", size, fit_class)
        if grade == 6 and 250.0 < size:
            return _limits(-tolerance / 2.0, tolerance / 2.0)
        return _limits(lower, lower + tolerance)
    deviation = _um(_row("iso286_shafts", size), letter)
    if letter in "efgh":
        return _limits(deviation - tolerance, deviation)
    if letter == "k" and grade > 7:
        deviation = 0.0
    return _limits(deviation, deviation + tolerance)


@lru_cache(maxsize=1024)
def hole_limits(size: float, fit_class: str) -> Limits:
    """Deviations of a hole: EI = -es for E to H; ES = -ei + Delta for K, M, N to IT8 and P to S to IT7 (Delta = IT_n - IT_(n-1)).

    size: nominal size [mm]
    fit_class: letter and grade, for example "H7" [-]
    Result: lower and upper deviation [mm]. Range: E to S, JS, J; IT5 to IT9; up to 500 mm. Source: ISO 286-1:2010 Tables 2, 3; ISO 286-2.

    >>> hole_limits(160.0, "K7")
    Limits(lower=-0.028, upper=0.012)
    """
    letter, grade = _class(fit_class, HOLES)
    row = _row("iso286_tolerances", size)
    tolerance = _um(row, f"IT{grade}")
    if letter == "JS":
        return _limits(-tolerance / 2.0, tolerance / 2.0)
    if letter == "J":
        upper = _tabulated(f"J{grade}", size, fit_class)
        return _limits(upper - tolerance, upper)
    deviation = -_um(_row("iso286_shafts", size), letter.lower())
    if letter in "EFGH":
        return _limits(deviation, deviation + tolerance)
    with_delta = grade <= (8 if letter in "KMN" else 7) and size > 3.0
    if letter == "K" and grade > 8:
        if size > 3.0:
            raise FitError(f"fit class {fit_class!r}: accepted: K5 to K8 above 3 mm")
        deviation = 0.0
    if letter == "N" and grade > 8 and size > 3.0:
        return _limits(-tolerance, 0.0)
    if letter == "M" and grade == 6 and 250.0 < size <= 315.0:
        return _limits(-9.0 - tolerance, -9.0)
    upper = deviation + (tolerance - _um(row, f"IT{grade - 1}") if with_delta else 0.0)
    return _limits(upper - tolerance, upper)


def _limits(lower: float, upper: float) -> Limits:
    return Limits(round(lower * MICRON, 7) + 0.0, round(upper * MICRON, 7) + 0.0)


def fit(hole: Limits, shaft: Limits) -> Fit:
    """Clearance of a hole on a shaft: c_min = EI - es, c_max = ES - ei.

    hole: deviations of the hole [mm]
    shaft: deviations of the shaft [mm]
    Result: least and greatest clearance, negative = interference [mm]. Source: ISO 286-1:2010 clause 3.

    >>> fit(hole_limits(50.0, "H7"), shaft_limits(50.0, "k6"))
    Fit(low=-0.018, high=0.023)
    """
    return Fit(round(hole.lower - shaft.upper, 9), round(hole.upper - shaft.lower, 9))


def limits_from_readings(planes: Sequence[Sequence[float]]) -> Readings:
    """Mean, spread and form of micrometer readings: out-of-round is the largest spread in a plane, taper that of the planes' means.

    planes: readings of each plane along the seat, one or more directions each [mm]
    Result: the figures [mm]. Range: at least one reading. Source: definition.

    >>> limits_from_readings([[60.010, 60.012], [60.008, 60.008]]).taper
    0.003
    """
    every = [value for plane in planes for value in plane]
    if not every:
        raise FitError("readings: none given: accepted: at least one")
    means = [sum(plane) / len(plane) for plane in planes if plane]
    low, high = min(every), max(every)
    rounds = max(max(plane) - min(plane) for plane in planes if plane)
    return Readings(sum(every) / len(every), round(high - low, 9), low, high, round(rounds, 9), round(max(means) - min(means), 9))
