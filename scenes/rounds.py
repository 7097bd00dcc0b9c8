"""The way of a job into its limits, round by round: what was in, what was expected of it from the round before, what was read.

expected = reading before + what the chains or the tooth model say that the change of the gaskets does (`rounds_expected`). A difference
within two standard deviations is as expected; beyond three something else was changed than was written down. mm and percent.
Contents: `Round`, `InPlace`, `Compared`, `Marked`, `Apart`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from scenes.frame import Verdict
from scenes.record import Taken

BLIND, NO_CHANGE = 0.25, 0.005
"""An allowance above which a reading that lies in it tells nothing, and a change too small to be looked for [mm]: own choice."""
READ_AGAIN, WRONG = 2.0, 3.0
"""Standard deviations beyond which a difference is looked at, and beyond which no gasket is moved before it is found [1]."""
LENGTHS = ("high_speed_end_play", "low_speed_end_play", "pinion_running", "gear_distance")
"""Readings that end a chain."""
WORST_FIRST: tuple[Verdict, ...] = ("stop", "watch", "fine")
Flank = Literal["drive", "coast"]
FLANKS: tuple[Flank, Flank] = ("drive", "coast")


@dataclass(frozen=True)
class InPlace:
    """A position gasket in its place: thickness as measured, which is the clamped one for what came out, else the free one; clamped;
    standard deviation of the clamped [mm]; number of the entry (0: by the machine file, not measured); whether that entry counts."""

    gasket: str
    thickness: float
    clamped: float
    sigma: float
    entry: int
    counts: bool = True


@dataclass(frozen=True)
class Compared:
    """One reading of a round beside what was expected of it [mm].

    basis: number of the round that it is expected from, None: by the chains alone; expected, band: from the handbook's backlash to the
    tooth model's; at_most: the reading before was no play at all; sigma: of expected; got: what was read (of a backlash the set value),
    None: not read; runout: of a backlash, None below three places; got_sigma; entry: its number; change: what the gaskets that were changed
    do to it, None where there is no round to expect it from.
    """

    read: str
    basis: int | None
    expected: float
    band: tuple[float, float]
    sigma: float
    at_most: bool = False
    got: float | None = None
    got_sigma: float = 0.0
    runout: float | None = None
    entry: int = 0
    change: float | None = None

    @property
    def difference(self) -> float | None:
        """Read less expected [mm]."""
        return None if self.got is None else self.got - self.expected

    @property
    def allowed(self) -> float:
        """Difference that the deviations allow [mm]."""
        return READ_AGAIN * math.hypot(self.sigma, self.got_sigma)

    @property
    def blind(self) -> bool:
        """Whether it reads as expected only because so much is allowed: it would read so without the change, too. No verdict goes by it."""
        if self.change is None or self.verdict != "fine":
            return False
        return self.allowed > BLIND or self.allowed >= abs(self.change) > NO_CHANGE

    @property
    def verdict(self) -> Verdict:
        """fine: as expected; watch: read again; stop: something else is wrong; none: not read."""
        if self.difference is None:
            return ""
        off = max(0.0, self.difference) if self.at_most else abs(self.difference)
        return _verdict(off, self.allowed)


HALF, CENTRED = 50.0, 5.0
"""Half of the tooth: an allowance that spans as much tells nothing of a mark; how far off its middle one is still centred [%]: own choice."""


@dataclass(frozen=True)
class Marked:
    """The mark on a flank: centre along the face and over the depth [%], expected and read; `sigma` of their difference, what the gaskets
    leave in doubt in it."""

    flank: Flank
    basis: int | None
    expected: tuple[float, float]
    got: tuple[float, float] | None
    sigma: float

    @property
    def difference(self) -> tuple[float, float] | None:
        """Read less expected [%]."""
        return None if self.got is None else (self.got[0] - self.expected[0], self.got[1] - self.expected[1])

    @property
    def allowed(self) -> float:
        """Difference that the deviations allow [%]."""
        return READ_AGAIN * self.sigma

    @property
    def blind(self) -> bool:
        """Whether so much is allowed that a mark on either half of the tooth would read as expected."""
        if self.basis is None:
            return False
        return 2.0 * self.allowed >= HALF or any(
            min(abs(one), abs(other)) > CENTRED and one * other < 0.0
            for one, other in ((a - HALF, b - HALF) for a, b in zip(self.expected, self.got or self.expected, strict=True))
        )

    @property
    def verdict(self) -> Verdict:
        """As for `Compared`; none where the model alone says what to expect, or where it cannot be told."""
        if self.difference is None or self.basis is None:
            return ""
        verdict = _verdict(max(map(abs, self.difference)), self.allowed)
        return "" if self.blind and verdict == "fine" else verdict


@dataclass(frozen=True)
class Apart:
    """How far the members stand from where their gaskets should have put them, by backlash and marks together [mm]; likely causes."""

    pinion: float
    gear: float
    sigma: tuple[float, float]
    causes: tuple[str, ...]


@dataclass(frozen=True)
class Round:
    """One round. number: 0 as found; gaskets: what was in, in the order of the machine file; changed: before and after of what was changed
    to come into it; compared, marks; holds: readings of earlier rounds that nothing changed since (round, reading); apart: None where
    backlash and marks are as expected; uncounted: what was read and does not count."""

    number: int
    gaskets: tuple[InPlace, ...]
    changed: tuple[tuple[InPlace, InPlace], ...]
    compared: tuple[Compared, ...]
    marks: tuple[Marked, ...]
    holds: Mapping[str, tuple[int, Taken]]
    readings: Mapping[str, Taken]
    apart: Apart | None
    uncounted: Mapping[str, Taken]

    @property
    def verdict(self) -> Verdict:
        """The gravest of what was compared."""
        found = {one.verdict for one in self.compared} | {one.verdict for one in self.marks}
        return next((one for one in WORST_FIRST if one in found), "")

    @property
    def wrong(self) -> bool:
        """Whether something does not read as the round before makes one expect, beyond what another reading may mend."""
        lengths = any(one.verdict == "stop" and one.basis is not None for one in self.compared)
        return lengths or any(one.verdict == "stop" for one in self.marks)


def _verdict(off: float, allowed: float) -> Verdict:
    return "fine" if off <= allowed + 1e-9 else "watch" if off <= allowed * WRONG / READ_AGAIN else "stop"
