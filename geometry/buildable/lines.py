"""The finished line of a clash: the dimension at fault, its value, why it can't be, what is accepted, the dimension it clashes with [mm]."""

from __future__ import annotations

from collections.abc import Iterator

from calc.tables import RANGE_SLACK

Dimension = tuple[str, float]
"""Name in the machine file (or what turns on a shaft), size [mm]."""


def less(small: Dimension, large: Dimension, why: str, room: float = 0.0) -> Iterator[str]:
    """A fault unless small + room < large."""
    if not small[1] + room < large[1]:
        beyond = f", less {room:.3f} mm" if room else ""
        yield f"{small[0]} = {small[1]:.3f} mm: {why}: accepted: less than {large[1] - room:.3f} mm ({large[0]} {large[1]:.3f} mm{beyond})"


def more(large: Dimension, small: Dimension, why: str, room: float = 0.0) -> Iterator[str]:
    """A fault unless large > small + room: as `less`, told of the larger dimension."""
    if not large[1] > small[1] + room:
        beyond = f", plus {room:.3f} mm" if room else ""
        yield f"{large[0]} = {large[1]:.3f} mm: {why}: accepted: more than {small[1] + room:.3f} mm ({small[0]} {small[1]:.3f} mm{beyond})"


def not_over(small: Dimension, large: Dimension, why: str) -> Iterator[str]:
    """A fault when small is larger than large by more than the rounding of an inch size."""
    if small[1] > large[1] + RANGE_SLACK:
        yield f"{small[0]} = {small[1]:.3f} mm: {why}: accepted: at most {large[0]} ({large[1]:.3f} mm)"


def same(one: Dimension, other: Dimension, why: str) -> Iterator[str]:
    """A fault unless both are one size: a metric size written in four-place inches is the same size."""
    if abs(one[1] - other[1]) > RANGE_SLACK:
        yield f"{one[0]} = {one[1]:.3f} mm: {why}: accepted: {other[0]} ({other[1]:.3f} mm)"


def within(found: Dimension, low: float, high: float, why: str, clashes_with: str) -> Iterator[str]:
    """A fault unless low <= found <= high."""
    if not low <= found[1] <= high:
        span = f"{low:.3f} to {high:.3f} mm" if low <= high else "none: too little room"
        yield f"{found[0]} = {found[1]:.3f} mm: {why}: accepted: {span} ({clashes_with})"
