"""Readings of a record that stand, for the notes: what was measured takes the place of what is worked out.

They hold for the gaskets that were in when they were taken: with others tried, what those move is worked out again. mm.
Contents: `HELD`, `Held`, `under`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from geometry.machine import Machine
from scenes.frame import Verdict

HELD = ("high_speed_end_play", "low_speed_end_play", "pinion_set", "pinion_running", "gear_distance", "backlash", "pattern")
"""Readings that a note tells as measured."""


@dataclass(frozen=True)
class Held:
    """A reading that stands: what is judged of it, least and most of its values [mm], how many, number of its entry, its verdict; the
    gaskets that move it; the entry after it that does not count (0 = none); of a chain's end what
    the sizes of the drawing and those measured give [mm]; of the marks on the teeth their centres by flank, along the face and over the depth
    [%], and no value."""

    value: float
    low: float
    high: float
    count: int
    entry: int
    verdict: Verdict
    moved_by: tuple[str, ...]
    doubted: int = 0
    expected: float | None = None
    marks: Mapping[str, tuple[float, float]] = field(default_factory=dict)


def under(held: Mapping[str, Held], machine: Machine, gaskets: Mapping[str, float]) -> dict[str, Held]:
    """Those that still hold with other gaskets tried: {name: free thickness} [mm]."""
    tried = {name for name, thickness in gaskets.items() if thickness != getattr(machine.gaskets, name).thickness}
    return {read: one for read, one in held.items() if not tried.intersection(one.moved_by)}
