"""Dimension chains: a signed list of dimensions that ends in one result. Lengths in mm.

Contents: `Link`, `Contribution`, `Result`, `solve`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass


class ChainError(ValueError):
    """A chain that has no result; `link` names the link at fault."""

    def __init__(self, message: str, link: str = "") -> None:
        self.link = link
        super().__init__(message)


@dataclass(frozen=True)
class Link:
    """One dimension of a chain: +1 adds, -1 takes away; nominal with lower and upper deviation [mm], and where it comes from."""

    name: str
    sign: int
    nominal: float
    lower: float = 0.0
    upper: float = 0.0
    source: str = ""

    def __post_init__(self) -> None:
        if self.sign not in (1, -1):
            raise ChainError(f"{self.name}: sign {self.sign}: accepted: +1 or -1", self.name)
        if not all(math.isfinite(number) for number in (self.nominal, self.lower, self.upper)):
            raise ChainError(f"{self.name}: accepted: finite sizes", self.name)
        if self.lower > self.upper:
            raise ChainError(f"{self.name}: deviations {self.lower} to {self.upper} mm: accepted: the smaller first", self.name)

    @property
    def middle(self) -> float:
        """Size in the middle of the band [mm]."""
        return self.nominal + (self.lower + self.upper) / 2.0

    @property
    def half_band(self) -> float:
        """Half of upper less lower deviation [mm]."""
        return (self.upper - self.lower) / 2.0


@dataclass(frozen=True)
class Contribution:
    """What one link adds: half band [mm], share of the worst case [-], share of the squared sum [-]."""

    name: str
    half_band: float
    worst_share: float
    square_share: float


@dataclass(frozen=True)
class Result:
    """End of a chain [mm]: nominal, worst case low and high, middle of the band, and `rss`, the half band by root sum square.

    `contributions` are sorted, the widest link first.
    """

    nominal: float
    low: float
    high: float
    mid: float
    rss: float
    contributions: tuple[Contribution, ...] = ()

    @property
    def rss_low(self) -> float:
        """Lower end of the statistical band [mm]."""
        return self.mid - self.rss

    @property
    def rss_high(self) -> float:
        """Upper end of the statistical band [mm]."""
        return self.mid + self.rss

    @property
    def dominant(self) -> tuple[str, ...]:
        """The fewest links, widest first, that make up at least half of the squared sum; none when nothing varies."""
        names, share = [], 0.0
        for part in self.contributions:
            if share >= 0.5 or part.half_band == 0.0:
                break
            names.append(part.name)
            share += part.square_share
        return tuple(names)


def solve(links: Iterable[Link]) -> Result:
    """Close a chain: nominal result, worst case, and root sum square about the middle.

    Formula: result = sum(sign * size); low, high = sums of the limits that make it least and greatest;
    rss = sqrt(sum(((upper - lower)/2)^2)) about mid = (low + high)/2.

    Parameters:
        links: the signed dimensions with their deviations [mm]
    Returns: nominal, worst case limits, middle, statistical half band, contributions [mm]
    Range: at least one link; independent links for the root sum square.
    Source: definition of a dimension chain; root sum square of independent bands.

    >>> found = solve([Link("face", 1, 58.2), Link("gasket", 1, 0.5), Link("stack", -1, 43.0, -0.15), Link("spigot", -1, 15.5)])
    >>> round(found.mid, 6)
    0.275
    """
    held = tuple(links)
    if not held:
        raise ChainError("the chain has no link: accepted: at least one dimension")
    nominal = math.fsum(link.sign * link.nominal for link in held)
    low = math.fsum(n for link in held for n in (link.sign * link.nominal, link.lower if link.sign > 0 else -link.upper))
    high = math.fsum(n for link in held for n in (link.sign * link.nominal, link.upper if link.sign > 0 else -link.lower))
    total = math.fsum(link.half_band for link in held)
    squares = math.fsum(link.half_band**2 for link in held)
    parts = (
        Contribution(
            link.name,
            link.half_band,
            link.half_band / total if total > 0.0 else 0.0,
            (link.half_band / math.sqrt(squares)) ** 2 if squares > 0.0 else 0.0,
        )
        for link in held
    )
    ordered = tuple(sorted(parts, key=lambda part: -part.half_band))
    return Result(nominal, low, high, (low + high) / 2.0, math.sqrt(squares), ordered)
