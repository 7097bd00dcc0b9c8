"""Dimension chains: signed lengths that add up to one result, worst case and root sum square.

mm. A link carries its own limits as deviations from its nominal.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt


@dataclass(frozen=True)
class Link:
    """One length of a chain: `sign` +1 or -1, nominal, deviations of its limits [mm], where it comes from."""

    name: str
    sign: int
    nominal: float
    lower: float = 0.0
    upper: float = 0.0
    source: str = ""

    def __post_init__(self) -> None:
        if self.sign not in (-1, 1):
            raise ValueError(f"{self.name}: sign = {self.sign}: accepted: +1 or -1")
        if self.lower > self.upper:
            raise ValueError(f"{self.name}: lower = {self.lower} mm: accepted: not above upper ({self.upper} mm)")

    @property
    def middle(self) -> float:
        """Signed middle of the link's band [mm]."""
        return self.sign * (self.nominal + (self.lower + self.upper) / 2.0)

    @property
    def half_band(self) -> float:
        """Half the width of the link's band [mm]."""
        return (self.upper - self.lower) / 2.0


@dataclass(frozen=True)
class Result:
    """Sum at nominal sizes, worst case limits, middle of the band, and the root sum square half band about it [mm]."""

    nominal: float
    low: float
    high: float
    middle: float
    rss: float
    links: tuple[Link, ...]

    @property
    def dominant(self) -> tuple[Link, ...]:
        """Links in falling order of what they add to the band."""
        return tuple(sorted(self.links, key=lambda link: -link.half_band))


def solve(links: Sequence[Link]) -> Result:
    """Sum a chain: e = sum s_i x_i; worst case adds half bands, root sum square about the middle takes sqrt(sum h_i^2).

    links: the signed links [mm]
    Result: nominal, worst case, middle and root sum square half band [mm]. Range: at least one link. Source: dimension chain arithmetic.

    >>> round(solve([Link("depth", 1, 62.0, -0.05, 0.05), Link("gasket", 1, 0.45, -0.03, 0.03), Link("stack", -1, 31.0, -0.15, 0.0),
    ...              Link("spigot", -1, 31.35, -0.05, 0.05)]).middle, 3)
    0.175
    """
    if not links:
        raise ValueError("links: none given: accepted: at least one")
    middle = sum(link.middle for link in links)
    half = sum(link.half_band for link in links)
    nominal = sum(link.sign * link.nominal for link in links)
    return Result(nominal, middle - half, middle + half, middle, sqrt(sum(link.half_band**2 for link in links)), tuple(links))
