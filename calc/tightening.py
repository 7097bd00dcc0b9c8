"""Order of tightening, passes, and lockwire.

`crossing_order`, `row_order`, `passes`; `twists`, `wire_groups`, `lockwire`. Screws are numbered from 1. Lengths mm, positions (x, y) mm
seen from the heads' side. In what order is a matter of evenness, not of one right answer: any order in which the next screw
lies nearly opposite the last will do.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, dist, floor, hypot, isfinite, pi, sqrt
from typing import Literal

from calc import tables
from calc.hardware import INCH

FIRST, SECOND, FULL = (0.20, 0.30, 0.30), (0.50, 0.60, 0.70), (1.0, 1.0, 1.0)
"""Shares of the torque (least, taken, most) of the crossing passes [1]."""
LONGEST_SPAN = 6.0 * INCH
"""Longest wire between two heads [mm]: lockwire practice after NASM33540."""
WIDE_SPAN = 4.0 * INCH
"""From this span on no more than three heads share a wire [mm]: lockwire practice after NASM33540."""
LONGEST_WIRE = 24.0 * INCH
"""Longest wire in a series of heads [mm]: lockwire practice after NASM33540."""
PIGTAIL_TWISTS = (3, 6)
"""Twists left at the end [1]: FAA AC 43.13-1B prints 4 to 6, other sources 3 to 6 or at least 5."""
HANDLING = 150.0
"""Wire to hold in the pliers [mm]: common practice, no source."""

Point = tuple[float, float]


class TighteningRefused(ValueError):
    """An input outside its range: field, value given, what is accepted."""

    def __init__(self, field: str, given: object, accepted: str) -> None:
        self.field, self.given, self.accepted = field, given, accepted
        super().__init__(f"{field}: {given}: accepted: {accepted}")


@dataclass(frozen=True)
class Pass:
    """One round over all screws: share of the torque [1] with the range sources print, and the order it goes in."""

    number: int
    least: float
    share: float
    most: float
    order: Literal["crossing", "circular"]
    until_none_moves: bool = False


@dataclass(frozen=True)
class Twists:
    """Twists per inch of double twisted wire [1/in]: the range in use, and the widest that any source prints."""

    low: float
    high: float
    widest_low: float
    widest_high: float


@dataclass(frozen=True)
class Span:
    """Wire between two heads: the heads, length between where it touches them [mm], the two points, and twists in it (low, high)."""

    heads: tuple[int, int]
    length: float
    leaves_at: Point
    arrives_at: Point
    twists: tuple[int, int]


@dataclass(frozen=True)
class Wire:
    """One wire: the heads it joins, its spans, length to cut off the reel [mm], and keys of what speaks against it."""

    heads: tuple[int, ...]
    spans: tuple[Span, ...]
    cut_length: float
    remarks: tuple[str, ...]


@dataclass(frozen=True)
class Lockwire:
    """Lockwire of a set of heads: the wires, the twists, `turn` that the pull of the wire gives every head, wire in all [mm]."""

    wires: tuple[Wire, ...]
    twists: Twists
    turn: Literal["clockwise", "anticlockwise"]

    @property
    def pairs(self) -> int:
        """How many wires join just two heads."""
        return sum(len(wire.heads) == 2 for wire in self.wires)

    @property
    def length(self) -> float:
        """Wire to have at hand [mm]."""
        return sum(wire.cut_length for wire in self.wires)


def crossing_order(count: int) -> tuple[int, ...]:
    """Order of tightening for screws on a circle: each next screw opposite, or as nearly so as the count allows.

    Even counts: k, then k + n/2, with the starters k in the crossing order of n/2. Odd counts: steps of (n - 1)/2.

    count: number of screws, numbered around the circle [1]
    Result: screw numbers in order [-]. Range: 1 or more.
    Source: legacy cross pattern of ASME PCC-1, from memory, for 4, 8, 12, 16, 20, 24; other counts by the same rule.

    >>> crossing_order(6)
    (1, 4, 2, 5, 3, 6)
    """
    if not (isinstance(count, int) and count >= 1):
        raise TighteningRefused("count", count, "a whole number, 1 or more")
    if count <= 2:
        return tuple(range(1, count + 1))
    if count % 2:
        step = (count - 1) // 2
        return tuple(number * step % count + 1 for number in range(count))
    half = count // 2
    return tuple(number for starter in crossing_order(half) for number in (starter, starter + half))


def _points(positions: Sequence[float] | Sequence[Point]) -> list[Point]:
    if not positions:
        raise TighteningRefused("positions", positions, "one position or more")
    found = [(float(place[0]), float(place[1])) if isinstance(place, tuple) else (float(place), 0.0) for place in positions]
    if not all(isfinite(x) and isfinite(y) for x, y in found):
        raise TighteningRefused("positions", positions, "finite lengths")
    return found


def row_order(positions: Sequence[float] | Sequence[Point], *, same_distance: float = 0.05) -> tuple[int, ...]:
    """Order of tightening for a row, two rows or a rectangle: from the middle outward, changing sides.

    Next comes a screw from those nearest to the middle (within `same_distance` of the largest distance), of these the one farthest
    from the screw before. The middle is that of the outermost screws.

    positions: places along the row, or (x, y) of each screw [mm]
    same_distance: share of the largest distance from the middle within which distances count as equal [1]
    Result: numbers of the positions, counted from 1, in order [-]. Range: 1 position or more; same_distance 0 to 0.5.
    Source: common practice, no source (from the middle outward, so that the flange does not trap a bulge).

    >>> row_order([0.0, 100.0, 200.0, 300.0, 400.0])
    (3, 2, 4, 1, 5)
    """
    if not 0.0 <= same_distance <= 0.5:
        raise TighteningRefused("same distance", same_distance, "0 to 0.5")
    points = _points(positions)
    middle = tuple((min(axis) + max(axis)) / 2.0 for axis in zip(*points, strict=True))
    away = [dist(point, middle) for point in points]
    slack = same_distance * max(away) + 1e-9
    left, order, last = list(range(len(points))), [], middle
    while left:
        nearest = min(away[index] for index in left)
        ring = [index for index in left if away[index] <= nearest + slack]
        taken = min(ring, key=lambda index: (-round(dist(points[index], last), 6), index))
        order.append(taken + 1)
        left.remove(taken)
        last = points[taken]
    return tuple(order)


def passes() -> tuple[Pass, ...]:
    """Passes of tightening as shares of the torque: 30 %, 60 %, 100 % crossing, then 100 % around until no screw moves.

    Result: Pass for each round [1]. Range: shares within 20 to 30 %, 50 to 70 %, 100 %.
    Source: ASME PCC-1-2019 Table 2 (legacy method, from memory); shop guides print 30, 60, 100 %.

    >>> [each.share for each in passes()]
    [0.3, 0.6, 1.0, 1.0]
    """
    crossing = tuple(Pass(number, *shares, "crossing") for number, shares in enumerate((FIRST, SECOND, FULL), start=1))
    return (*crossing, Pass(len(crossing) + 1, *FULL, "circular", until_none_moves=True))


def twists(wire_diameter: float) -> Twists:
    """Twists per inch of double twisted lockwire.

    wire_diameter: diameter of the wire [mm]
    Result: Twists [1/in]. Range: 0.5 to 1.53 mm (0.020 to 0.060 in); between two rows of the table the row of the next thinner wire.
    Source: NASM33540, AS567, FAA AC 43.13-1B, which disagree; tables/lockwire.csv.

    >>> twists(0.8).low, twists(0.8).high
    (6.0, 8.0)
    """
    rows = [{name: float(cell) for name, cell in row.items()} for row in tables.load("lockwire").records()]
    size = wire_diameter / INCH
    # A metric wire is up to half a thousandth of an inch off its inch size: 0.8 mm is 0.0315 in.
    low, high, slack = rows[0]["from"], rows[-1]["up_to"], 0.0006
    if not low - slack <= size <= high + slack:
        raise TighteningRefused("wire diameter", f"{wire_diameter} mm", f"{low * INCH:.2f} to {high * INCH:.2f} mm")
    row = [row for row in rows if row["from"] <= size + slack][-1]
    return Twists(row["low"], row["high"], row["widest_low"], row["widest_high"])


def wire_groups(count: int) -> tuple[tuple[int, ...], ...]:
    """Which heads share a wire: neighbours two by two, three on the last wire of an odd count.

    count: number of heads, numbered in the order in which they stand [1]
    Result: heads of each wire [-]; a single head is wired to a fixed point. Range: 1 or more.
    Source: lockwire practice: two heads on a wire, three at most where they stand wide apart.

    >>> wire_groups(5)
    ((1, 2), (3, 4, 5))
    """
    if not (isinstance(count, int) and count >= 1):
        raise TighteningRefused("count", count, "a whole number, 1 or more")
    if count <= 3:
        return (tuple(range(1, count + 1)),)
    starts = range(1, count - count % 2, 2)
    groups = [(start, start + 1) for start in starts]
    return (*groups[:-1], (*groups[-1], count)) if count % 2 else tuple(groups)


def _touching(start: Point, end: Point, radius: float, left_handed: bool) -> tuple[Point, Point, float]:
    """Where the wire leaves one head and meets the next, crossing between them so that its pull tightens both; length between."""
    apart = dist(start, end)
    along = ((end[0] - start[0]) / apart, (end[1] - start[1]) / apart)
    # A right-hand screw tightens clockwise: seen along the wire it must leave from the head's left side.
    side = -1.0 if left_handed else 1.0
    left = (-side * along[1], side * along[0])
    lean = 2.0 * radius / apart
    straight = sqrt(1.0 - lean**2)
    # Radius to the touching point: square to the crossing wire, which leans by asin(2 r / a).
    out = (lean * along[0] + straight * left[0], lean * along[1] + straight * left[1])
    leaves = (start[0] + radius * out[0], start[1] + radius * out[1])
    arrives = (end[0] - radius * out[0], end[1] - radius * out[1])
    return leaves, arrives, hypot(arrives[0] - leaves[0], arrives[1] - leaves[1])


def _wire(heads: tuple[int, ...], points: list[Point], radius: float, diameter: float, rate: Twists, left_handed: bool) -> Wire:
    spans = []
    for first, second in zip(heads, heads[1:], strict=False):
        leaves, arrives, length = _touching(points[first - 1], points[second - 1], radius, left_handed)
        number = (ceil(rate.low * length / INCH), max(ceil(rate.low * length / INCH), floor(rate.high * length / INCH)))
        spans.append(Span((first, second), length, leaves, arrives, number))
    each_turn = 2.0 * INCH / (rate.low + rate.high)
    # Each strand of a twist is a helix one wire diameter wide.
    stretch = hypot(each_turn, pi * diameter) / each_turn
    twisted = sum(span.length for span in spans) + PIGTAIL_TWISTS[1] * each_turn
    # At each head one strand goes through the hole, the other around half the head.
    around = len(heads) * (2.0 * radius + pi * radius)
    cut = 2.0 * stretch * twisted + around + HANDLING
    apart = [dist(points[span.heads[0] - 1], points[span.heads[1] - 1]) for span in spans]
    remarks = []
    if not spans:
        remarks.append("single_head_needs_fixed_point")
    if any(length > LONGEST_SPAN for length in apart):
        remarks.append("span_too_long")
    if len(heads) > 3 and any(length >= WIDE_SPAN for length in apart):
        remarks.append("too_many_heads")
    if cut - HANDLING > LONGEST_WIRE:
        remarks.append("wire_too_long")
    return Wire(heads, tuple(spans), cut, tuple(remarks))


def lockwire(positions: Sequence[Point], *, head_diameter: float, wire_diameter: float, left_handed: bool = False) -> Lockwire:
    """Lockwire of drilled heads: which heads share a wire, where it leaves and meets them, twists, and wire to cut.

    Between two heads the wire crosses from one side to the other, so that its pull turns both the tightening way:
    l = sqrt(a^2 - dk^2). Cut length: two strands, each sqrt(p^2 + (pi d)^2)/p longer for the twist, half round each head, six
    twists of pigtail, 150 mm to hold.

    positions: (x, y) of each head in the order in which they stand, seen from the heads' side [mm]
    head_diameter: diameter of the heads dk [mm]
    wire_diameter: diameter of the wire d [mm]
    left_handed: True for left-hand threads [-]
    Result: Lockwire [mm, 1]. Range: heads that do not touch; wire as `twists`.
    Source: lockwire practice after NASM33540 and FAA AC 43.13-1B; the lengths are geometry, an estimate.

    >>> lockwire([(0.0, 0.0), (40.0, 0.0)], head_diameter=18.0, wire_diameter=0.8).wires[0].spans[0].twists
    (9, 11)
    """
    points = _points(positions)
    if not (isfinite(head_diameter) and head_diameter > 0.0):
        raise TighteningRefused("head diameter", head_diameter, "more than 0 mm")
    rate = twists(wire_diameter)
    groups = wire_groups(len(points))
    for heads in groups:
        for first, second in zip(heads, heads[1:], strict=False):
            apart = dist(points[first - 1], points[second - 1])
            if not apart > head_diameter:
                raise TighteningRefused(
                    "positions", f"{apart:g} mm between heads {first} and {second}", f"more than {head_diameter:g} mm"
                )
    wires = tuple(_wire(heads, points, head_diameter / 2.0, wire_diameter, rate, left_handed) for heads in groups)
    return Lockwire(wires, rate, "anticlockwise" if left_handed else "clockwise")
