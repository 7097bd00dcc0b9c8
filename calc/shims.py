"""Shim stacks from the leaves at hand: `standard_leaves`, `stacks`.

Lengths mm. A stack is counted in ten-thousandths of a millimetre, so that whole micrometres and whole thousandths of an inch are exact.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import floor, isfinite
from typing import Literal

from calc import tables
from calc.hardware import INCH

PER_MM = 10_000
"""Counting steps in one millimetre: 0.001 mm is 10, 0.001 in is 254."""
SLACK = 1e-6
"""Comparison slack of a tolerance [mm]: 1 nm."""
MOST_LEAVES = 8
"""A thicker book of leaves springs and is miscounted: common practice, no source."""

Stock = Mapping[float, int | None] | Iterable[float]
_Counts = tuple[int, ...]


class StackRefused(ValueError):
    """An input outside its range: field, value given, what is accepted."""

    def __init__(self, field: str, given: object, accepted: str) -> None:
        self.field, self.given, self.accepted = field, given, accepted
        super().__init__(f"{field}: {given}: accepted: {accepted}")


@dataclass(frozen=True)
class Stack:
    """Leaves (thickness [mm], how many), the thickest first; their total and its error against what is required [mm]."""

    leaves: tuple[tuple[float, int], ...]
    thickness: float
    error: float

    @property
    def count(self) -> int:
        """How many leaves."""
        return sum(number for _, number in self.leaves)


@dataclass(frozen=True)
class Choice:
    """Answer of `stacks`: best and next best within the tolerance; when there is none, the nearest below and above.

    Below there is always one, if only the stack without a leaf.
    """

    required: float
    tolerance: float
    best: Stack | None
    next_best: Stack | None
    below: Stack | None
    above: Stack | None

    @property
    def nearest(self) -> Stack:
        """The best stack, or the one with the least error, fewest leaves, when none is within the tolerance."""
        if self.best is not None:
            return self.best
        both = [stack for stack in (self.below, self.above) if stack is not None]
        return min(both, key=lambda stack: (round(abs(stack.error) * PER_MM), stack.count))


def standard_leaves(system: Literal["metric", "inch"] = "metric") -> tuple[float, ...]:
    """Thicknesses in which shim leaves are commonly held.

    system: "metric" or "inch" [-]
    Result: thicknesses, the thinnest first [mm]. Range: the two lists. Source: common practice, no source; tables/shim_leaves.csv.

    >>> standard_leaves()[:3]
    (0.05, 0.1, 0.15)
    """
    if system not in ("metric", "inch"):
        raise StackRefused("system", system, "metric, inch")
    scale = INCH if system == "inch" else 1.0
    return tuple(float(cell) * scale for cell in tables.load("shim_leaves").column(system) if cell)


def _held(stock: Stock, most_leaves: int) -> tuple[list[int], list[int]]:
    """Stock as step counts, the thickest first, and how many of each may be used."""
    pairs: Mapping[float, int | None] = stock if isinstance(stock, Mapping) else dict.fromkeys(stock)
    found: dict[int, int] = {}
    for thickness, number in pairs.items():
        steps = round(thickness * PER_MM) if isfinite(thickness) else 0
        if steps <= 0 or abs(steps / PER_MM - thickness) > SLACK:
            raise StackRefused(
                "stock", thickness, "thicknesses above 0 in whole micrometres or whole tenths of a thousandth of an inch"
            )
        if number is not None and number < 0:
            raise StackRefused("stock", number, "0 or more leaves, or None for any number")
        found[steps] = most_leaves if number is None else min(number, most_leaves)
    held = sorted((steps for steps, number in found.items() if number), reverse=True)
    return held, [found[steps] for steps in held]


def _rank(counts: _Counts) -> tuple[int, _Counts]:
    """Fewest leaves first, then the stack with more of the thick ones."""
    return sum(counts), tuple(-number for number in counts)


def _greedy(held: list[int], numbers: list[int], most_leaves: int, goal: int) -> int:
    """A total not above the goal that the stock surely reaches: the thickest leaves first."""
    total = 0
    for steps, limit in zip(held, numbers, strict=True):
        number = min(limit, most_leaves, (goal - total) // steps)
        total, most_leaves = total + number * steps, most_leaves - number
    return total


def _reachable(held: list[int], numbers: list[int], most_leaves: int, lowest: int, highest: int) -> dict[int, list[_Counts]]:
    """The two best stacks of every total from `lowest` to `highest`, as how many of each thickness."""
    reached: dict[int, list[_Counts]] = {0: [()]}
    for steps, limit, thinner in zip(held, numbers, [*held, 0][1:], strict=True):
        grown: dict[int, list[_Counts]] = {}
        for total, ways in reached.items():
            for counts in ways:
                left = most_leaves - sum(counts)
                for number in range(min(limit, left, (highest - total) // steps) + 1):
                    taller = total + number * steps
                    # Leaves still to come are thinner: a stack that they cannot raise far enough is dropped.
                    if taller + (left - number) * thinner >= lowest:
                        grown.setdefault(taller, []).append((*counts, number))
        reached = {total: sorted(ways, key=_rank)[:2] for total, ways in grown.items()}
    return reached


def stacks(required: float, stock: Stock, tolerance: float = 0.0, *, most_leaves: int = MOST_LEAVES) -> Choice:
    """The stack of leaves with the fewest leaves within a tolerance, the next best, or the nearest that can be made.

    Every total that the stock reaches is kept with its two best stacks; fewest leaves win, then the least error, then thicker leaves.

    required: thickness wanted [mm]
    stock: {thickness: how many, None for any number}, or thicknesses held in any number [mm]
    tolerance: how far the stack may be off either way [mm]
    most_leaves: most leaves in a stack [1]
    Result: Choice [mm]. Range: required 0 to 100 mm; tolerance 0 or more; 1 to 12 leaves; stock in whole micrometres or in tenths of
    a thousandth of an inch. Source: exhaustive search; ten thousandths of a millimetre are counted whole.

    >>> stacks(0.65, [0.05, 0.10, 0.15, 0.20, 0.25, 0.30, 0.40, 0.50]).best.leaves
    ((0.5, 1), (0.15, 1))
    """
    if not 0.0 <= required <= 100.0:
        raise StackRefused("required", required, "0 to 100 mm")
    if not (isfinite(tolerance) and tolerance >= 0.0):
        raise StackRefused("tolerance", tolerance, "0 or more")
    if not 1 <= most_leaves <= 12:
        raise StackRefused("most leaves", most_leaves, "1 to 12")
    held, numbers = _held(stock, most_leaves)
    highest = floor((required + tolerance) * PER_MM) + (held[0] if held else 0) + 1
    goal = floor(required * PER_MM)
    lowest = min(_greedy(held, numbers, most_leaves, goal), floor((required - tolerance - SLACK) * PER_MM))
    sizes = [steps / PER_MM for steps in held]
    found = [
        Stack(
            tuple((size, number) for size, number in zip(sizes, counts, strict=True) if number),
            total / PER_MM,
            round(total / PER_MM - required, 9),
        )
        for total, ways in _reachable(held, numbers, most_leaves, lowest, highest).items()
        for counts in ways
    ]

    def order(stack: Stack) -> tuple[int, int, tuple[float, ...]]:
        thick = tuple(-size for size, number in stack.leaves for _ in range(number))
        return stack.count, round(abs(stack.error) * PER_MM * 10), thick

    good = sorted((stack for stack in found if abs(stack.error) <= tolerance + SLACK), key=order)
    if good:
        return Choice(required, tolerance, good[0], good[1] if len(good) > 1 else None, None, None)

    def distance(stack: Stack) -> tuple[float, int, tuple[float, ...]]:
        return round(abs(stack.error) * PER_MM * 10), stack.count, order(stack)[2]

    below = min((stack for stack in found if stack.error < 0.0), key=distance, default=None)
    above = min((stack for stack in found if stack.error > 0.0), key=distance, default=None)
    return Choice(required, tolerance, None, None, below, above)
