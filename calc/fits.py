"""Limits and fits of ISO 286 up to 500 mm, and what micrometer readings say. Lengths in mm, deviations from the nominal size.

Contents: `Limits`, `Fit`, `Readings`; `standard_tolerance`, `shaft_limits`, `hole_limits`, `fit`, `limits_from_readings`; for arrays of
sizes `shaft_deviations`, `hole_deviations`, `clearance_band`.
Clearance is positive, interference negative, both on the diameter. A size at most 0.0013 mm past the end of a range counts as the end
(a metric size written in four-place inches is off by that much).
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from calc import tables
from calc.arrays import Array

Deviations = tuple[Array, Array]
"""Lower and upper deviations of an array of sizes [mm]."""

GREATEST_SIZE = 500.0
GRADES = range(4, 13)
SHAFT_LETTERS = ("c", "d", "e", "f", "g", "h", "j", "js", "k", "m", "n", "p", "r", "s", "t", "u")
HOLE_LETTERS = tuple(letter.upper() for letter in SHAFT_LETTERS)
M6_EXCEPTION = -0.009
"""Upper deviation of M6 over 250 up to 315 mm [mm] (ISO 286-1:2010 Table 3, note): not the -0.011 of the general rule."""


class FitError(ValueError):
    """No limits for this size and class; `size` [mm], `fit_class` and `accepted` say why."""

    def __init__(self, message: str, size: float = math.nan, fit_class: str = "", accepted: str = "") -> None:
        self.size = size
        self.fit_class = fit_class
        self.accepted = accepted
        super().__init__(message)


@dataclass(frozen=True)
class Limits:
    """Lower and upper deviation from the nominal size [mm]."""

    lower: float
    upper: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.lower) and math.isfinite(self.upper) and self.lower <= self.upper):
            raise FitError(
                f"limits {self.lower} to {self.upper} mm: accepted: finite deviations, the smaller first",
                accepted="finite deviations, the smaller first",
            )

    def at(self, size: float) -> tuple[float, float]:
        """Smallest and greatest size of a part of this nominal size [mm]."""
        return size + self.lower, size + self.upper

    @property
    def middle(self) -> float:
        """Deviation of the middle of the band [mm]."""
        return (self.lower + self.upper) / 2.0

    @property
    def width(self) -> float:
        """Upper less lower deviation [mm]."""
        return self.upper - self.lower


@dataclass(frozen=True)
class Fit:
    """Least and greatest clearance on the diameter [mm]; negative is interference."""

    low: float
    high: float

    @property
    def middle(self) -> float:
        """Clearance in the middle of both bands [mm]."""
        return (self.low + self.high) / 2.0

    @property
    def kind(self) -> Literal["clearance", "transition", "interference"]:
        """What the whole band amounts to (ISO 286-1:2010 clause 3: least clearance 0 is a clearance fit)."""
        if self.low >= 0.0:
            return "clearance"
        return "interference" if self.high <= 0.0 else "transition"


@dataclass(frozen=True)
class Readings:
    """What a set of diameter readings says; lengths in mm.

    `taper`: greatest less smallest plane mean, None with fewer than two planes. `out_of_round`: greatest difference between the
    directions of one plane, None when no plane was read in two directions.
    """

    nominal: float
    count: int
    mean: float
    low: float
    high: float
    taper: float | None
    out_of_round: float | None

    @property
    def spread(self) -> float:
        """Greatest less smallest reading [mm]."""
        return self.high - self.low

    @property
    def limits(self) -> Limits:
        """Smallest and greatest reading as deviations from the nominal size [mm]."""
        return Limits(self.low - self.nominal, self.high - self.nominal)


def _given(size: float) -> str:
    return f"{size:.6f}".rstrip("0").rstrip(".")


def _check_size(size: float, fit_class: str) -> None:
    if not (math.isfinite(size) and 0.0 < size and size - tables.RANGE_SLACK <= GREATEST_SIZE):
        accepted = "over 0 up to and including 500 mm"
        raise FitError(f"{fit_class} at {_given(size)} mm: accepted: {accepted} (ISO 286)", size, fit_class, accepted)


def _deviation(table: str, size: float, column: str) -> float | None:
    held = tables.load(table)
    row = held.row_for(size)
    assert row is not None, "the size was checked against the tables' range"
    return held.mm(row, column)


def standard_tolerance(size: float, grade: int) -> float:
    """Width of the tolerance band of a grade.

    Formula: table look-up; the standard rounds IT5 = 7 i to IT12 = 160 i, i = 0.45 D^(1/3) + 0.001 D [um].

    Parameters:
        size: nominal size [mm]
        grade: number of the grade, 7 for IT7 [-]
    Returns: IT [mm]
    Range: over 0 up to and including 500 mm, IT4 to IT12; outside raises FitError.
    Source: ISO 286-1:2010 Table 1.

    >>> standard_tolerance(60.0, 7)
    0.03
    """
    _check_size(size, f"IT{grade}")
    if grade not in GRADES:
        accepted = f"IT{GRADES[0]} to IT{GRADES[-1]}"
        raise FitError(f"IT{grade} at {_given(size)} mm: accepted: {accepted}", size, f"IT{grade}", accepted)
    return _tolerance(size, grade)


def _tolerance(size: float, grade: int) -> float:
    width = _deviation("iso286_grades", size, f"IT{grade}")
    assert width is not None, "the table of grades has no empty cell"
    return width


def _microns(value: float) -> float:
    """Take the float dust off a sum of table values: the nearest tenth of a micrometre [mm]."""
    return round(value, 4) + 0.0


def _split(size: float, fit_class: str, letters: Sequence[str], what: str, case: str) -> tuple[str, int]:
    """Letter and grade of a class, or a FitError that says what to write."""
    accepted = f"{letters[0]} to {letters[-1]}, grades {GRADES[0]} to {GRADES[-1]}, for example {'m6' if what == 'shaft' else 'H7'}"
    _check_size(size, fit_class)
    match = re.fullmatch(r"([A-Za-z]{1,2})([0-9]{1,2})", fit_class.strip())
    if match is None:
        raise FitError(f'"{fit_class}" at {_given(size)} mm: accepted: a class of ISO 286, {accepted}', size, fit_class, accepted)
    letter, grade = match.group(1), int(match.group(2))
    if letter not in letters:
        other = letter.lower() if what == "shaft" else letter.upper()
        hint = f": a {what} takes {case} letters, write {other}{grade}" if other in letters else ""
        raise FitError(f"{fit_class} at {_given(size)} mm{hint}; accepted: {accepted}", size, fit_class, accepted)
    if grade not in GRADES:
        raise FitError(f"{fit_class} at {_given(size)} mm: accepted: {accepted}", size, fit_class, accepted)
    return letter, grade


def _refuse(size: float, fit_class: str, accepted: str) -> FitError:
    return FitError(f"{fit_class} at {_given(size)} mm: not in the standard; accepted: {accepted}", size, fit_class, accepted)


def _shaft_deviation(size: float, letter: str, fit_class: str) -> float:
    value = _deviation("iso286_shafts", size, letter)
    if value is None:
        raise _refuse(size, fit_class, f"{letter} over 24 mm; below it {'u' if letter == 't' else 'U'} of the same grade")
    return value


def shaft_limits(size: float, fit_class: str) -> Limits:
    """Limits of a shaft by its class.

    Formula: c to h: es from the table, ei = es - IT; k to u: ei from the table, es = ei + IT; js: +-IT/2, not rounded;
    k is 0 below IT4 and above IT7.

    Parameters:
        size: nominal diameter [mm]
        fit_class: letter and grade, for example "m6" [-]
    Returns: deviations ei, es [mm]
    Range: over 0 up to and including 500 mm; c to u, IT4 to IT12; j only 5 to 7; t only over 24 mm; outside raises FitError.
    Source: ISO 286-1:2010 Tables 4 and 5.

    >>> shaft_limits(60.0, "k6")
    Limits(lower=0.002, upper=0.021)
    """
    letter, grade = _split(size, fit_class, SHAFT_LETTERS, "shaft", "small")
    width = _tolerance(size, grade)
    if letter == "js":
        return Limits(-width / 2.0, width / 2.0)
    if letter == "j":
        if grade not in (5, 6, 7):
            raise _refuse(size, fit_class, "j5, j6, j7")
        column = "ei_j7" if grade == 7 else "ei_j5_j6"
        lower = _deviation("iso286_j", size, column)
        assert lower is not None, "the table of j has no empty cell"
        return Limits(lower, _microns(lower + width))
    if letter in ("c", "d", "e", "f", "g", "h"):
        upper = _shaft_deviation(size, letter, fit_class)
        return Limits(_microns(upper - width), upper)
    lower = _shaft_deviation(size, letter, fit_class)
    if letter == "k" and grade not in (4, 5, 6, 7):
        lower = 0.0
    return Limits(lower, _microns(lower + width))


def _hole_upper(size: float, letter: str, grade: int, fit_class: str) -> float:
    """ES of K to U: the shaft's deviation mirrored, shifted by Delta in the finer grades [mm]."""
    smallest_range = size - tables.RANGE_SLACK <= 3.0
    shaft = _shaft_deviation(size, letter.lower(), fit_class)
    if letter == "K" and grade > 8 and not smallest_range:
        raise _refuse(size, fit_class, "K4 to K8")
    if letter == "N" and grade > 8 and not smallest_range:
        return 0.0
    if letter == "M" and grade == 6 and 250.0 < size - tables.RANGE_SLACK <= 315.0:
        return M6_EXCEPTION
    if smallest_range or grade > (8 if letter in ("K", "M", "N") else 7):
        return -shaft
    return _microns(_tolerance(size, grade) - _tolerance(size, grade - 1) - shaft)


def hole_limits(size: float, fit_class: str) -> Limits:
    """Limits of a bore by its class.

    Formula: C to H: EI = -es of the shaft letter, ES = EI + IT; K, M, N up to IT8 and P to U up to IT7: ES = -ei + Delta,
    Delta = IT(n) - IT(n-1), none up to 3 mm, coarser: ES = -ei; N9 and coarser over 3 mm: ES = 0; M6 over 250 up to 315 mm:
    ES = -9 um; EI = ES - IT; JS: +-IT/2, not rounded.

    Parameters:
        size: nominal diameter [mm]
        fit_class: letter and grade, for example "H7" [-]
    Returns: deviations EI, ES [mm]
    Range: over 0 up to and including 500 mm; C to U, IT4 to IT12; J only 6 to 8; K over 3 mm up to 8; T only over 24 mm; outside
        raises FitError.
    Source: ISO 286-1:2010 Tables 2 and 3 with the rule for Delta.

    >>> hole_limits(130.0, "J7")
    Limits(lower=-0.014, upper=0.026)
    """
    letter, grade = _split(size, fit_class, HOLE_LETTERS, "bore", "capital")
    width = _tolerance(size, grade)
    if letter == "JS":
        return Limits(-width / 2.0, width / 2.0)
    if letter == "J":
        if grade not in (6, 7, 8):
            raise _refuse(size, fit_class, "J6, J7, J8")
        upper = _deviation("iso286_j", size, f"ES_J{grade}")
        assert upper is not None, "the table of J has no empty cell"
    elif letter in ("C", "D", "E", "F", "G", "H"):
        lower = -_shaft_deviation(size, letter.lower(), fit_class) + 0.0
        return Limits(lower, _microns(lower + width))
    else:
        upper = _hole_upper(size, letter, grade, fit_class) + 0.0
    return Limits(_microns(upper - width), upper)


def fit(hole: Limits, shaft: Limits) -> Fit:
    """Clearance band of a bore on a shaft of the same nominal size.

    Formula: least = EI - es, greatest = ES - ei.

    Parameters:
        hole: deviations of the bore [mm]
        shaft: deviations of the shaft [mm]
    Returns: least and greatest clearance, negative for interference [mm]
    Range: any limits on one nominal size.
    Source: ISO 286-1:2010 clause 3 (definitions).

    >>> fit(Limits(0.0, 0.025), Limits(0.0, 0.0)).kind
    'clearance'
    """
    return Fit(hole.lower - shaft.upper, hole.upper - shaft.lower)


@cache
def _ends() -> Array:
    """Ends of the size ranges of all tables that a class can draw on [mm]."""
    held = ("iso286_grades", "iso286_shafts", "iso286_j")
    return np.unique([float(cell) for name in held for cell in tables.load(name).column("up_to")])


@cache
def _by_range(limits: Callable[[float, str], Limits], fit_class: str) -> Deviations:
    """Deviations of a class in each size range, not-a-number where the standard gives none [mm]."""
    found = []
    for end in _ends():
        try:
            one = limits(float(end), fit_class)
            found.append((one.lower, one.upper))
        except FitError:
            found.append((math.nan, math.nan))
    lower, upper = np.array(found).T
    return lower, upper


def _deviations(limits: Callable[[float, str], Limits], sizes: ArrayLike, fit_class: str) -> Deviations:
    asked = np.asarray(sizes, dtype=np.float64)
    lower, upper = _by_range(limits, fit_class)
    place = np.searchsorted(_ends(), asked - tables.RANGE_SLACK, side="left")
    inside = (asked > 0.0) & (place < lower.size)
    place = np.where(inside, place, 0)
    if not np.any(np.isfinite(lower)):
        limits(float(asked.flat[0] if asked.size else _ends()[0]), fit_class)
    good = inside & np.isfinite(lower[place])
    if not np.all(good):
        limits(float(asked[~good].flat[0]), fit_class)
        raise AssertionError("a size without deviations is refused alone too")
    return lower[place], upper[place]


def shaft_deviations(sizes: ArrayLike, fit_class: str) -> Deviations:
    """Lower and upper deviations of many shafts of one class, each as `shaft_limits` gives it.

    Formula: that of `shaft_limits`, looked up once per size range.

    Parameters:
        sizes: nominal diameters, any shape [mm]
        fit_class: letter and grade, for example "m6" [-]
    Returns: (ei, es), arrays of the shape of the sizes [mm]
    Range: as `shaft_limits`; outside raises FitError for the first size that has no limits.
    Source: ISO 286-1:2010 Tables 1, 4 and 5.

    >>> lower, upper = shaft_deviations([30.0, 60.0, 130.0], "k6")
    >>> upper.tolist()
    [0.015, 0.021, 0.028]
    """
    return _deviations(shaft_limits, sizes, fit_class)


def hole_deviations(sizes: ArrayLike, fit_class: str) -> Deviations:
    """Lower and upper deviations of many bores of one class, each as `hole_limits` gives it.

    Formula: that of `hole_limits`, looked up once per size range.

    Parameters:
        sizes: nominal diameters, any shape [mm]
        fit_class: letter and grade, for example "H7" [-]
    Returns: (EI, ES), arrays of the shape of the sizes [mm]
    Range: as `hole_limits`; outside raises FitError for the first size that has no limits.
    Source: ISO 286-1:2010 Tables 1, 2 and 3.

    >>> lower, upper = hole_deviations([30.0, 60.0, 130.0], "H7")
    >>> upper.tolist()
    [0.021, 0.03, 0.04]
    """
    return _deviations(hole_limits, sizes, fit_class)


def clearance_band(hole: Deviations, shaft: Deviations) -> Deviations:
    """Least and greatest clearance of many bores on their shafts, each as `fit` gives it.

    Formula: least = EI - es, greatest = ES - ei.

    Parameters:
        hole: deviations of the bores, from `hole_deviations` [mm]
        shaft: deviations of the shafts of the same nominal sizes, from `shaft_deviations` [mm]
    Returns: (least, greatest) clearance, negative for interference [mm]
    Range: any deviations on the same nominal sizes.
    Source: ISO 286-1:2010 clause 3 (definitions).

    >>> least, greatest = clearance_band(hole_deviations([60.0], "H7"), shaft_deviations([60.0], "k6"))
    >>> least.round(3).tolist(), greatest.round(3).tolist()
    ([-0.021], [0.028])
    """
    return hole[0] - shaft[1], hole[1] - shaft[0]


def limits_from_readings(readings: Sequence[float | Sequence[float]], nominal: float) -> Readings:
    """Size, taper and out-of-round of a diameter from micrometer readings.

    Formula: mean = sum / count; spread = greatest - smallest; taper = greatest - smallest plane mean; out-of-round = greatest
    difference within a plane.

    Parameters:
        readings: either a flat list of diameters, or one list per plane along the seat with its directions [mm]
        nominal: nominal diameter the readings belong to [mm]
    Returns: mean, smallest, greatest, taper and out-of-round, None where the readings can't tell [mm]
    Range: at least one reading, all positive; outside raises FitError.
    Source: common practice, no source.

    >>> limits_from_readings([[60.010, 60.012], [60.014, 60.016]], 60.0).mean
    60.013
    """
    listed = list(readings)
    flat = all(isinstance(item, int | float) for item in listed)
    planes = [[float(plane)] if isinstance(plane, int | float) else [float(item) for item in plane] for plane in listed]
    every = [item for plane in planes for item in plane]
    if not every or not all(planes):
        raise FitError(
            f"readings at {_given(nominal)} mm: accepted: at least one reading in every plane", nominal, "", "one reading or more"
        )
    if not all(math.isfinite(item) and item > 0.0 for item in every):
        raise FitError(f"readings at {_given(nominal)} mm: accepted: diameters above 0", nominal, "", "diameters above 0 mm")
    means = [math.fsum(plane) / len(plane) for plane in planes]
    paired = [max(plane) - min(plane) for plane in planes if len(plane) > 1]
    return Readings(
        nominal=nominal,
        count=len(every),
        mean=math.fsum(every) / len(every),
        low=min(every),
        high=max(every),
        taper=max(means) - min(means) if len(planes) > 1 and not flat else None,
        out_of_round=max(paired) if paired else None,
    )
