"""Where pinion and gear sit, judged from backlash and patterns, and where they should sit.

`diagnose`, `best_state`; `GearSet` solves for both. Lengths mm, angles rad. The contact of `calc.contact` is solved backwards for the
two axial shifts. Results hold keys, not sentences.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from calc.bevel import Blank
from calc.contact import Contact, Form, contact
from calc.flank import ALIGNED, Array, EaseOff, Errors
from calc.least_squares import Solved, solve, widened
from calc.readings import Reading, SetValue, set_value

CHI_SQUARE_95 = (3.841, 5.991, 7.815, 9.488, 11.070)
"""Chi-square that 95 of 100 honest sets of 1 to 5 readings stay below: standard table."""
PRIOR_SIGMA = 0.25
"""How far from its expected place a member is thought to sit before anything is read [mm]: own choice."""
Doubt = tuple[float, float]
"""Standard deviations of where pinion and gear are thought to sit [mm]."""
UNREAD: Doubt = (PRIOR_SIGMA, PRIOR_SIGMA)
OFFSET_SIGMA, SHAFT_ANGLE_SIGMA = 0.10, 1.0e-3
"""The same for an axis offset [mm] and a shaft angle error [rad]: own choice."""
BEST_PRIOR_SIGMA = 2.0
"""Pull of the best state toward the design place [mm]: almost none."""
DRIVE_SIGMA, COAST_SIGMA = 6.0, 12.0
"""How closely the best state aims at the wanted pattern on the drive and on the coast flank [%]: own choice."""
FARTHEST = 0.6
FARTHEST_PER_MODULE = 0.25
"""Farthest shift that is searched [mm], and per outer module."""
NODES, REFINEMENT = 7, 4
"""Coarser table while solving: a micrometre and half a percent, far inside what is read."""


def search_reach(blank: Blank) -> float:
    """Farthest axial shift of a member that the inverse searches.

    reach = min(0.6 mm, a quarter of the outer module)

    blank: the pair [mm, rad]
    Result: shift either way [mm]. Range: any blank. Source: own choice, inside what the contact was held against.

    >>> from calc.bevel import blank
    >>> search_reach(blank(16, 48, 2.0, face_width=20.0, pressure_angle=math.radians(20.0), backlash=0.1))
    0.5
    """
    return min(FARTHEST, FARTHEST_PER_MODULE * blank.outer_module)


@dataclass(frozen=True)
class Target:
    """What the set should read: backlash band at the outer pitch radius [mm], pattern centres on the gear (along face, depth) [%].

    Without a maker's figure the pattern is set slightly toward the toe, cold and lightly loaded: common practice, no source.
    """

    band: tuple[float, float]
    drive: tuple[float, float] = (45.0, 50.0)
    coast: tuple[float, float] = (45.0, 50.0)

    def __post_init__(self) -> None:
        low, high = self.band
        if not (math.isfinite(high) and 0.0 <= low < high):
            raise ValueError(f"backlash band: {low} to {high} mm: accepted: 0 or more, the first below the second")
        for name, centre in (("drive", self.drive), ("coast", self.coast)):
            if not all(0.0 <= place <= 100.0 for place in centre):
                raise ValueError(f"{name} pattern: {centre}: accepted: 0 to 100 %")

    @property
    def figures(self) -> Array:
        """The five figures wanted: middle of the band, centres on drive and coast."""
        return np.array([sum(self.band) / 2.0, *self.drive, *self.coast])

    @property
    def sigma(self) -> Array:
        """How closely each is aimed at."""
        return np.array([(self.band[1] - self.band[0]) / 6.0, DRIVE_SIGMA, DRIVE_SIGMA, COAST_SIGMA, COAST_SIGMA])


@dataclass(frozen=True)
class Diagnosis:
    """Where the members sit, judged from what was read.

    displacement [mm]; sigma: standard deviations of pinion and gear shift [mm] and their correlation [1]; chi_square of the readings
    against its limit; explained: shims alone explain what was seen; causes: keys, the likeliest first, when they don't:
    "position_misread", "flanks_swapped", "end_play_in_reading", "backlash_reads_low", "axes_out_of_true", "pair_not_matched".
    """

    displacement: Errors
    sigma: tuple[float, float]
    correlation: float
    chi_square: float
    limit: float
    explained: bool
    causes: tuple[str, ...]


def state(found: Contact) -> Array:
    """The five figures that a fitter reads: backlash, then centre along the face and over the depth on drive and on coast.

    found: answer of `calc.contact.contact` [-]
    Result: backlash at the outer pitch radius, then four percentages [mm]. Range: a pair in mesh. Source: own definition.

    >>> from calc.bevel import blank
    >>> pair = blank(16, 48, 3.175, face_width=25.4, pressure_angle=math.radians(20.0), backlash=0.2)
    >>> state(contact(pair)).round(2)[:2].tolist()
    [0.2, 50.23]
    """
    if found.backlash is None or found.drive is None or found.coast is None:
        raise ValueError("displacement: out of mesh: accepted: teeth in mesh over the whole search range")
    drive, coast = found.drive.pattern, found.coast.pattern
    return np.array([found.backlash.outer, drive.centre_along, drive.centre_depth, coast.centre_along, coast.centre_depth])


@dataclass(frozen=True)
class GearSet:
    """A pair with the ease-off of both flanks and the flank that drives, as it is solved for."""

    blank: Blank
    ease_off: EaseOff
    coast_ease_off: EaseOff
    drive: Form

    @staticmethod
    def of(blank: Blank, ease_off: EaseOff | None, coast_ease_off: EaseOff | None, drive: Form) -> GearSet:
        """Set with the default ease-off where none is given."""
        ease = ease_off if ease_off is not None else EaseOff()
        return GearSet(blank, ease, coast_ease_off if coast_ease_off is not None else ease, drive)

    @property
    def reach(self) -> float:
        """Farthest shift that is searched [mm]."""
        return search_reach(self.blank)

    def contact(self, errors: Errors) -> Contact:
        """Contact of the displaced set."""
        return contact(self.blank, self.ease_off, errors, coast_ease_off=self.coast_ease_off, drive=self.drive)

    def state(self, errors: Errors) -> Array:
        """The five figures that a fitter reads, on the coarser table; kept, as several fits start from one place."""
        return _figures(self, errors)

    def _figures(self, errors: Errors) -> Array:
        return state(contact(self.blank, self.ease_off, errors, coast_ease_off=self.coast_ease_off, drive=self.drive,
                             nodes=NODES, refinement=REFINEMENT))  # fmt: skip

    def place(
        self, read: SetValue, expected: Errors, *, doubt: Doubt = UNREAD, start: Array | None = None, widen: bool = False
    ) -> Solved:
        """Shifts of pinion and gear that explain what was read best; `widen`: how far they can be told where patterns stand still."""
        wanted, sigma = _wanted(read)
        prior, deviation = np.array([expected.pinion, expected.gear]), np.array(doubt)

        def at(x: Array) -> Array:
            return self.state(replace(expected, pinion=float(x[0]), gear=float(x[1])))

        solved = solve(at, wanted, sigma, prior, deviation, np.full(2, self.reach), start, np.ones(2))
        if not widen:
            return solved

        def cost(x: Array) -> float:
            return float((((at(x) - wanted) / sigma) ** 2).sum() + (((x - prior) / deviation) ** 2).sum())

        return replace(solved, covariance=widened(cost, solved, self.reach))

    def axes(self, read: SetValue, expected: Errors, doubt: Doubt, start: Array) -> Solved:
        """The same with an axis offset and a shaft angle error let free."""
        wanted, sigma = _wanted(read)
        prior = np.array([expected.pinion, expected.gear, expected.offset, expected.shaft_angle])
        deviation = np.array([*doubt, OFFSET_SIGMA, SHAFT_ANGLE_SIGMA])
        limit = np.array([1.0, 1.0, 0.5, 5e-3]) * self.reach
        scale = np.array([PRIOR_SIGMA, PRIOR_SIGMA, OFFSET_SIGMA, SHAFT_ANGLE_SIGMA]) / PRIOR_SIGMA
        start = np.append(start, prior[2:])
        return solve(lambda x: self.state(_errors(x)), wanted, sigma, prior, deviation, limit, start, scale)

    def diagnosis(self, read: SetValue, expected: Errors, doubt: Doubt = UNREAD) -> tuple[Diagnosis, Solved]:
        """Diagnosis of a set value, and the fit behind it; `doubt`: standard deviations of where pinion and gear are expected [mm]."""
        solved = self.place(read, expected, doubt=doubt, widen=True)
        limit = _limit(read)
        deviation = np.sqrt(np.diag(solved.covariance))
        explained = solved.chi_square <= limit
        told = Diagnosis(
            displacement=replace(expected, pinion=float(solved.place[0]), gear=float(solved.place[1])),
            sigma=(float(deviation[0]), float(deviation[1])),
            correlation=float(solved.covariance[0, 1] / (deviation[0] * deviation[1])),
            chi_square=solved.chi_square,
            limit=limit,
            explained=explained,
            causes=() if explained else _causes(self, read, expected, doubt, solved),
        )
        return told, solved

    def best(self, target: Target) -> Solved:
        """Shifts that bring backlash and patterns nearest to what is wanted; kept, as it depends on no reading."""
        return _best(self, target)


@lru_cache(maxsize=2048)
def _figures(pair: GearSet, errors: Errors) -> Array:
    figures = pair._figures(errors)
    figures.flags.writeable = False
    return figures


def _errors(x: Array) -> Errors:
    return Errors(*(float(value) for value in x))


@lru_cache(maxsize=64)
def _best(pair: GearSet, target: Target) -> Solved:
    limit = np.full(2, pair.reach)
    return solve(lambda x: pair.state(_errors(x)), target.figures, target.sigma, np.zeros(2), np.full(2, BEST_PRIOR_SIGMA), limit)


def _wanted(read: SetValue) -> tuple[Array, Array]:
    """The five figures read and their deviations, infinite where nothing was read."""
    wanted, sigma = np.zeros(5), np.full(5, np.inf)
    if read.backlash is not None:
        wanted[0], sigma[0] = read.backlash, read.sigma
    for first, mark in ((1, read.drive), (3, read.coast)):
        if mark is not None:
            wanted[first : first + 2], sigma[first : first + 2] = mark.centre, mark.sigma
    return wanted, sigma


def _limit(read: SetValue) -> float:
    count = int(np.isfinite(_wanted(read)[1]).sum())
    return CHI_SQUARE_95[count - 1]


def _causes(pair: GearSet, read: SetValue, expected: Errors, doubt: Doubt, solved: Solved) -> tuple[str, ...]:
    """What would explain readings that shims don't, the likeliest first."""
    found: list[tuple[float, str]] = []
    limit = _limit(read)
    if doubt != UNREAD:
        free = pair.place(read, expected, start=solved.place)
        if free.chi_square <= limit:
            found.append((free.cost, "position_misread"))
    if read.drive is not None and read.coast is not None:
        swapped = pair.place(replace(read, drive=read.coast, coast=read.drive), expected, doubt=doubt, start=solved.place)
        if swapped.chi_square <= limit:
            found.append((swapped.cost, "flanks_swapped"))
    if read.backlash is not None and (read.drive is not None or read.coast is not None):
        without = replace(read, backlash=None)
        other = pair.place(without, expected, doubt=doubt, start=solved.place)
        if other.chi_square <= _limit(without):
            found.append((other.cost + 1.0, "end_play_in_reading" if read.backlash > other.state[0] else "backlash_reads_low"))
    axes = pair.axes(read, expected, doubt, solved.place)
    if axes.chi_square <= limit and axes.cost < 0.7 * solved.cost:
        found.append((axes.cost + 2.0, "axes_out_of_true"))
    return (*(key for _, key in sorted(found)), "pair_not_matched")


def best_state(
    blank: Blank,
    target: Target,
    *,
    ease_off: EaseOff | None = None,
    coast_ease_off: EaseOff | None = None,
    drive: Form = "concave",
) -> Errors:
    """Shifts of pinion and gear that bring backlash and patterns nearest to what is wanted.

    min over (dP, dG) of ((j - middle)/(half band / 3))^2 + ((u, v drive - wanted)/6 %)^2 + ((u, v coast - wanted)/12 %)^2

    blank: the pair [mm, rad]
    target: backlash band and pattern centres wanted [mm]
    ease_off: relief of the gear's drive flank; none gives the default of `calc.contact` [um]
    coast_ease_off: relief of the coast flank; none gives the drive flank's [um]
    drive: the pinion's driving flank, "concave" or "convex" [-]
    Result: displacement [mm]. Range: shifts up to 0.6 mm and a quarter of the outer module. Source: least squares on `calc.contact`.

    >>> from calc.bevel import blank
    >>> pair = blank(16, 48, 3.175, face_width=25.4, pressure_angle=math.radians(20.0), backlash=0.2)
    >>> best_state(pair, Target((0.25, 0.35))).gear > 0.05
    True
    """
    return _errors(_best(GearSet.of(blank, ease_off, coast_ease_off, drive), target).place)


def diagnose(
    blank: Blank,
    readings: Sequence[Reading],
    *,
    ease_off: EaseOff | None = None,
    coast_ease_off: EaseOff | None = None,
    drive: Form = "concave",
    expected: Errors = ALIGNED,
) -> Diagnosis:
    """Where pinion and gear sit, judged from backlash and patterns.

    min over (dP, dG) of sum ((y - read)/sigma)^2 + sum ((x - expected)/0.25 mm)^2; deviations from the inverse normal matrix

    blank: the pair [mm, rad]
    readings: one setting, one or more places, the pinion held on its stop [mm]
    ease_off: relief of the gear's drive flank; none gives the default of `calc.contact` [um]
    coast_ease_off: relief of the coast flank; none gives the drive flank's [um]
    drive: the pinion's driving flank, "concave" or "convex" [-]
    expected: where the members are thought to sit before reading; its offset and shaft angle error stand [mm, rad]
    Result: Diagnosis [mm]. Range: shifts up to 0.6 mm and a quarter of the outer module. Source: least squares on `calc.contact`;
    chi-square 95 % points.

    >>> from calc.bevel import blank
    >>> from calc.readings import Mark
    >>> pair = blank(16, 48, 3.175, face_width=25.4, pressure_angle=math.radians(20.0), backlash=0.2)
    >>> found = diagnose(pair, [Reading(0.28, drive=Mark("heel", "low"), coast=Mark("heel", "low"))])
    >>> found.explained, found.displacement.gear > 0.05
    (True, True)
    """
    return GearSet.of(blank, ease_off, coast_ease_off, drive).diagnosis(set_value(readings), expected)[0]
