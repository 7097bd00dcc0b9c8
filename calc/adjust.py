"""Whole-shim moves that set a bevel pair, from what was read on it.

`adjust`. Lengths mm, angles rad. Move, mark again, read again: two rounds are normal. The result holds keys, not sentences.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import chain

import numpy as np

from calc import shims
from calc.backlash import mesh_rates
from calc.bevel import Blank
from calc.contact import Contact, Form, end_play_rates
from calc.diagnosis import UNREAD, Diagnosis, Doubt, GearSet, Target, state
from calc.flank import ALIGNED, Array, EaseOff, Errors
from calc.least_squares import Solved
from calc.readings import Reading, SetValue, set_value

EFFORT = 1.0
"""What each pack that must be opened adds to a move's score: own choice, one standard deviation squared."""
END_PLAY_DOUBT = 0.25
"""Standard deviation of the part of a reading that is end play, as a share of it: friction decides where the pinion rests."""
TRIED = 3
"""Moves near the best state that are computed in full, beside the four neighbours and leaving all as it is."""
MOST_BY_BACKLASH = 12
"""Thickness pairs tried by their backlash alone when none of the others comes inside the band [1]: own choice."""


@dataclass(frozen=True)
class Pack:
    """Shims or gasket that place one member.

    thickness: free thickness now [mm]; stock: free thicknesses held, as `shims.Stock`; sign: +1 when a thicker pack moves the member
    away from the crossing point, else -1; compression: share of the thickness that clamping takes away [1].
    """

    thickness: float
    stock: tuple[float, ...]
    sign: int = 1
    compression: float = 0.0
    most_leaves: int = 4

    def __post_init__(self) -> None:
        if not (math.isfinite(self.thickness) and self.thickness >= 0.0):
            raise ValueError(f"pack thickness: {self.thickness} mm: accepted: 0 mm or more")
        if self.sign not in (1, -1):
            raise ValueError(f"pack sign: {self.sign}: accepted: +1, -1")
        if not 0.0 <= self.compression < 1.0:
            raise ValueError(f"pack compression: {self.compression}: accepted: 0 up to, not including, 1")
        if not all(math.isfinite(leaf) and leaf > 0.0 for leaf in self.stock):
            raise ValueError(f"pack stock: {self.stock}: accepted: thicknesses above 0 mm")
        if not 1 <= self.most_leaves <= 12:
            raise ValueError(f"pack leaves: {self.most_leaves}: accepted: 1 to 12")

    def shift(self, thickness: float) -> float:
        """Axial shift that a new free thickness gives, away from the crossing point positive [mm]."""
        return self.sign * (thickness - self.thickness) * (1.0 - self.compression)

    def totals(self) -> Array:
        """Every free thickness that the stock reaches, and the present one [mm]."""
        steps = sorted({round(leaf * shims.PER_MM) for leaf in self.stock})
        reached = {0}
        for _ in range(self.most_leaves if steps else 0):
            reached |= {total + leaf for total in reached for leaf in steps}
        # A pack keeps one leaf at least.
        return np.array(sorted({*(total / shims.PER_MM for total in reached if total), self.thickness}))

    def leaves_for(self, thickness: float) -> tuple[tuple[float, int], ...]:
        """Leaves that make a reachable thickness, the fewest."""
        return shims.stacks(thickness, self.stock, shims.SLACK, most_leaves=self.most_leaves).nearest.leaves

    def thickness_for(self, shift: float) -> float:
        """Free thickness that gives an axial shift [mm]."""
        return self.thickness + self.sign * shift / (1.0 - self.compression)


@dataclass(frozen=True, eq=False)
class Move:
    """One whole-shim move and what it should read.

    pinion, gear: new free thickness of each pack [mm]; leaves: (thickness, how many) of each pack that changes; changes: of free
    thickness [mm]; displacement after it [mm]; backlash: predicted reading, its standard deviation, its least and most round the
    gear [mm]; contact: predicted; in_band: all round the gear; score: lower is better [1].
    """

    pinion: float
    gear: float
    changes: tuple[float, float]
    leaves: tuple[tuple[tuple[float, int], ...], tuple[tuple[float, int], ...]]
    displacement: Errors
    backlash: float
    sigma: float
    backlash_round: tuple[float, float]
    contact: Contact
    in_band: bool
    score: float

    @property
    def packs_changed(self) -> int:
        """How many packs must be opened."""
        return sum(change != 0.0 for change in self.changes)


@dataclass(frozen=True, eq=False)
class Adjustment:
    """Answer of `adjust`: what was read, where the pair sits, where it should sit, the move to make and the next best.

    end_play_in_reading: taken off the backlash reading [mm]; remarks: keys: "no_move_needed", "runout_exceeds_band",
    "no_move_in_band", "shims_do_not_explain".
    """

    read: SetValue
    end_play_in_reading: float
    diagnosis: Diagnosis
    present: Contact
    best: Errors
    best_contact: Contact
    move: Move
    second: Move | None
    remarks: tuple[str, ...]


def adjust(
    blank: Blank,
    readings: Sequence[Reading],
    target: Target,
    packs: tuple[Pack, Pack],
    *,
    ease_off: EaseOff | None = None,
    coast_ease_off: EaseOff | None = None,
    drive: Form = "concave",
    expected: Errors = ALIGNED,
    doubt: Doubt = UNREAD,
    end_play: float = 0.0,
) -> Adjustment:
    """Shim move that sets the pair, from backlash and patterns read at one or several places round the gear.

    move = best state - diagnosed place, in whole shims: score = sum ((y - wanted)/sigma)^2 + 1 for each pack opened, moves that keep the
    backlash in its band all round the gear before those that don't; predicted backlash = reading + computed change

    blank: the pair [mm, rad]
    readings: one setting, one or more places, backlash at the outer pitch radius [mm]
    target: backlash band and pattern centres wanted [mm]
    packs: shims of pinion and gear [mm]
    ease_off: relief of the gear's drive flank; none gives the default of `calc.contact` [um]
    coast_ease_off: relief of the coast flank; none gives the drive flank's [um]
    drive: the pinion's driving flank, "concave" or "convex" [-]
    expected: where the members are thought to sit before reading; its offset and shaft angle error stand [mm, rad]
    doubt: standard deviations of that for pinion and gear; small where the positions were read [mm]
    end_play: axial play of the pinion that the reading contains, 0 when it was held on its stop [mm]
    Result: Adjustment [mm]. Range: shifts up to 0.6 mm and a quarter of the outer module; end play 0 to 1 mm.
    Source: least squares on `calc.contact`; the marked pattern decides.

    >>> from calc.bevel import blank
    >>> from calc.readings import Mark
    >>> pair = blank(16, 48, 3.175, face_width=25.4, pressure_angle=math.radians(20.0), backlash=0.2)
    >>> pack = Pack(0.5, (0.05, 0.1, 0.2, 0.25, 0.5))
    >>> found = adjust(pair, [Reading(0.3, drive=Mark("heel", "low"), coast=Mark("heel", "low"))], Target((0.15, 0.25)), (pack, pack))
    >>> found.move.gear < 0.5, found.move.in_band
    (True, True)
    """
    if not 0.0 <= end_play <= 1.0:
        raise ValueError(f"end play: {end_play} mm: accepted: 0 to 1 mm")
    gears = GearSet.of(blank, ease_off, coast_ease_off, drive)
    read = set_value(readings)
    added = sum(end_play_rates(blank, drive=drive)) * end_play if read.backlash is not None else 0.0
    if read.backlash is not None and added:
        read = replace(read, backlash=read.backlash - added, sigma=math.hypot(read.sigma, END_PLAY_DOUBT * added))
    diagnosis, solved = gears.diagnosis(read, expected, doubt)
    best = gears.best(target)
    present = gears.contact(diagnosis.displacement)
    moves = _moves(gears, read, target, packs, diagnosis, present, solved, best)
    place = replace(ALIGNED, pinion=float(best.place[0]), gear=float(best.place[1]))
    first = moves[0]
    remarks = []
    if not first.packs_changed:
        remarks.append("no_move_needed" if first.in_band else "no_move_helps")
    if read.runout is not None and read.runout > target.band[1] - target.band[0]:
        remarks.append("runout_exceeds_band")
    elif not first.in_band:
        remarks.append("no_move_in_band")
    if not diagnosis.explained:
        remarks.append("shims_do_not_explain")
    second = moves[1] if len(moves) > 1 else None
    return Adjustment(read, added, diagnosis, present, place, gears.contact(place), first, second, tuple(remarks))


def _moves(
    gears: GearSet, read: SetValue, target: Target, packs: tuple[Pack, Pack], diagnosis: Diagnosis, present: Contact, solved: Solved,
    best: Solved,
) -> list[Move]:  # fmt: skip
    """Moves computed in full, the best first."""
    here = diagnosis.displacement
    now = state(present)
    offset = 0.0 if read.backlash is None else read.backlash - float(now[0])
    sigma = math.sqrt(max(float(solved.slopes[0] @ solved.covariance @ solved.slopes[0]), 0.0))
    half = 0.0 if read.runout is None else read.runout / 2.0
    rates = mesh_rates(gears.blank)
    by_slope = partial(
        _by_backlash, packs, here, target, float(now[0]) + offset, (rates.pinion.touching, rates.gear.touching), gears.reach
    )
    found: list[Move] = []
    for new in chain(_candidates(packs, here, best, gears.reach), _when(lambda: not any(move.in_band for move in found), by_slope)):
        shifts = [pack.shift(thickness) for pack, thickness in zip(packs, new, strict=True)]
        there = replace(here, pinion=here.pinion + shifts[0], gear=here.gear + shifts[1])
        after = gears.contact(there)
        if after.backlash is None:
            continue
        figures = state(after)
        figures[0] += offset
        reading = float(figures[0])
        changes = tuple(round(thickness - pack.thickness, 9) for pack, thickness in zip(packs, new, strict=True))
        opened = sum(change != 0.0 for change in changes)
        inside = target.band[0] - shims.SLACK <= reading - half and reading + half <= target.band[1] + shims.SLACK
        leaves = [pack.leaves_for(thickness) if change else () for pack, thickness, change in zip(packs, new, changes, strict=True)]
        found.append(
            Move(
                pinion=new[0],
                gear=new[1],
                changes=(changes[0], changes[1]),
                leaves=(leaves[0], leaves[1]),
                displacement=there,
                backlash=reading,
                sigma=sigma,
                backlash_round=(reading - half, reading + half),
                contact=after,
                in_band=inside,
                score=float((((figures - target.figures) / target.sigma) ** 2).sum()) + EFFORT * opened,
            )
        )
    return sorted(found, key=lambda move: (not move.in_band, move.score))


def _when(wanted: Callable[[], bool], more: Callable[[], list[tuple[float, float]]]) -> Iterator[tuple[float, float]]:
    """More candidates, once those before have been tried and are still wanted."""
    if wanted():
        yield from more()


def _by_backlash(
    packs: tuple[Pack, Pack], here: Errors, target: Target, reading: float, rates: tuple[float, float], reach: float
) -> list[tuple[float, float]]:
    """Thickness pairs whose first-order backlash comes nearest to the middle of the band, of all that the stock makes."""
    totals = [pack.totals() for pack in packs]
    shifts = [np.array([pack.shift(float(size)) for size in sizes]) for pack, sizes in zip(packs, totals, strict=True)]
    p, g = np.meshgrid(*shifts, indexing="ij")
    off = np.abs(reading + rates[0] * p + rates[1] * g - sum(target.band) / 2.0)
    off[(np.abs(here.pinion + p) > reach) | (np.abs(here.gear + g) > reach)] = np.inf
    order = np.argsort(off, axis=None, kind="stable")[:MOST_BY_BACKLASH]
    rows, columns = np.unravel_index(order, off.shape)
    return [(float(totals[0][i]), float(totals[1][j])) for i, j in zip(rows, columns, strict=True) if np.isfinite(off[i, j])]


def _candidates(packs: tuple[Pack, Pack], here: Errors, best: Solved, reach: float) -> list[tuple[float, float]]:
    """Thickness pairs worth computing: as it is, the four neighbours of the best state, the nearest by the slope of its cost."""
    totals, offs, near = [], [], []
    for pack, member, wanted in zip(packs, (here.pinion, here.gear), best.place, strict=True):
        reached = pack.totals()
        off = member + np.array([pack.shift(float(thickness)) for thickness in reached]) - float(wanted)
        ideal = pack.thickness_for(float(wanted) - member)
        place = int(np.clip(np.searchsorted(reached, ideal), 1, max(len(reached) - 1, 1)))
        near.append(sorted({float(reached[k]) for k in (place - 1, place) if k < len(reached)} | {pack.thickness}))
        keep = np.abs(off + float(wanted)) <= reach
        totals.append(reached[keep])
        offs.append(off[keep])
    chosen = dict.fromkeys([(packs[0].thickness, packs[1].thickness)])
    # The cost near the best state is a quadratic form, slanted: the best pair of whole shims need not be made of both nearest.
    form = np.linalg.inv(best.covariance)
    p, g = np.meshgrid(offs[0], offs[1], indexing="ij")
    cost = form[0, 0] * p**2 + 2.0 * form[0, 1] * p * g + form[1, 1] * g**2
    order = np.argsort(cost, axis=None)[:TRIED]
    for i, j in zip(*np.unravel_index(order, cost.shape), strict=True):
        chosen[float(totals[0][i]), float(totals[1][j])] = None
    for one in near[0]:
        for two in near[1]:
            chosen[one, two] = None
    limit = [(here.pinion, packs[0]), (here.gear, packs[1])]
    return [
        new
        for count, new in enumerate(chosen)
        if count == 0 or all(abs(m + pack.shift(t)) <= reach for (m, pack), t in zip(limit, new, strict=True))
    ]
