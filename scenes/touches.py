"""Touches on a path, and which of them decide what is told of it: the first one on the way in, and the part that holds it on the way out.

mm. Of a whole bench most pairs can be neither, whatever their shapes: their boxes say so, and they are not judged.
Contents: `Touch`, `Chance`, `chances`, `deciding`.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from geometry.blocking import Hit, Table
from geometry.part import Part
from scenes.moves import Leg, Move

Cause = Literal["solid", "teeth", "gasket", "shut", "overlap"]


@dataclass(frozen=True)
class Touch:
    """Two parts that touch on a leg: `part` moves, `by` stands."""

    part: str
    by: str
    leg: Leg
    hit: Hit
    cause: Cause = "solid"

    @property
    def left(self) -> float:
        """Travel still to go to the seat at the first touch [mm]."""
        return self.hit.left + self.leg.after

    @property
    def first(self) -> float:
        """Travel to the touch on the way out [mm]."""
        return self.hit.first + self.leg.after

    @property
    def soonest(self) -> tuple[float, str, str]:
        """The least of these is the trap."""
        return round(self.first, 3), self.by, self.part

    @property
    def farthest(self) -> tuple[float, bool, str, str]:
        """The greatest of these comes first on the way in."""
        return round(self.left, 3), self.hit.exact, self.by, self.part


@dataclass(frozen=True, eq=False)
class Chance:
    """A pair not judged yet on a leg: the least `first` and the greatest `left` that its touch can have there [mm]."""

    part: Part
    by: Part
    leg: Leg
    first: float
    left: float

    @property
    def soonest(self) -> tuple[float, str, str]:
        """That of its touch is no less."""
        return round(self.first + self.leg.after, 3), self.by.name, self.part.name

    @property
    def farthest(self) -> tuple[float, bool, str, str]:
        """That of its touch is no greater."""
        return round(self.left + self.leg.after, 3), True, self.by.name, self.part.name


def chances(table: Table, move: Move, parts: Mapping[str, Part], skipped: Collection[frozenset[str]]) -> list[Chance]:
    """Every pair of the move, on every leg, whose boxes do not rule out a touch."""
    moving, fixed = [parts[name] for name in move.parts], [parts[name] for name in move.standing]
    return [
        Chance(a, b, leg, *table.range(a, b, leg.way, offset=leg.offset, until=leg.length))
        for leg in move.legs
        for a, b in table.near(moving, fixed, leg.way, offset=leg.offset, until=leg.length)
        if frozenset((a.name, b.name)) not in skipped
    ]


def deciding(table: Table, move: Move, pairs: Sequence[Chance], others: Sequence[Touch]) -> list[Touch]:
    """Of all touches those that decide what is told; none only when there is none at all.

    `others`: touches found otherwise.
    """
    found, waiting = list(others), dict.fromkeys(pairs)

    def judge(chance: Chance) -> None:
        leg = chance.leg
        del waiting[chance]
        hit = table.hit(chance.part, chance.by, leg.way, offset=leg.offset, until=leg.length)
        if hit is not None:
            found.append(Touch(chance.part.name, chance.by.name, leg, hit))

    for chance in sorted(waiting, key=lambda chance: chance.soonest):
        if any(touch.soonest < chance.soonest for touch in found):
            break
        judge(chance)
    for chance in () if move.leaving else sorted(waiting, key=lambda chance: chance.farthest, reverse=True):
        if any(touch.farthest > chance.farthest for touch in found):
            break
        judge(chance)
    trap = min((touch.soonest for touch in found), default=None)
    for chance in list(waiting):  # does the trap overlap any of them in the seat?
        if trap is not None and chance.by.name == trap[1] and chance.first == 0.0:
            judge(chance)
    return sorted(found[len(others) :] + found[: len(others)], key=lambda touch: move.legs.index(touch.leg))
