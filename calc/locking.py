"""Tab washers: how far a locknut turns on until one of its slots meets a tab.

`alignment_step`, `next_alignment`, `nut_alignment`. Angles rad, positive the tightening way; lengths mm. Tighten forward to the next slot, never back.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite, lcm, pi

from calc.hardware import Locknut, TabWasher

TURN = 2.0 * pi
ON_SLOT = 1e-9
"""A slot this little past a tab counts as on it [rad]."""


class LockingRefused(ValueError):
    """An input outside its range."""


@dataclass(frozen=True)
class Alignment:
    """Next alignment: turn forward to it [rad], the slot and the tab that meet (from 0), step between alignments [rad], advance [mm]."""

    turn: float
    slot: int
    tab: int
    step: float
    advance: float


def _counts(slots: int, tabs: int) -> None:
    for name, number in (("slots", slots), ("tabs", tabs)):
        if not (isinstance(number, int) and number >= 1):
            raise LockingRefused(f"{name}: {number}: accepted: a whole number, 1 or more")


def alignment_step(slots: int, tabs: int) -> float:
    """Turn between one alignment of slot and tab and the next: 2 pi / lcm(slots, tabs).

    slots: slots of the nut, evenly spaced [1]
    tabs: tabs of the washer, evenly spaced [1]
    Result: step [rad]. Range: 1 or more. Source: least common multiple of the two divisions.

    >>> round(alignment_step(4, 17) * 180.0 / pi, 2)
    5.29
    """
    _counts(slots, tabs)
    return TURN / lcm(slots, tabs)


def next_alignment(slots: int, tabs: int, present: float, *, pitch: float = 0.0) -> Alignment:
    """Least forward turn of the nut that brings one of its slots onto a tab: (-present) mod step.

    present: how far slot 0 now stands past tab 0, the tightening way [rad]
    slots: slots of the nut, numbered the tightening way [1]
    tabs: tabs of the washer, numbered the tightening way [1]
    pitch: thread pitch, for the advance [mm]
    Result: Alignment [rad, mm]; turn is 0 when a slot is on a tab already. Range: any present angle; evenly spaced slots and tabs, the
    washer held by its tongue. Source: geometry; common practice (never back off).

    >>> round(next_alignment(4, 17, 0.02).turn * 180.0 / pi, 2)
    4.15
    """
    _counts(slots, tabs)
    if not isfinite(present):
        raise LockingRefused(f"present: {present}: accepted: a finite angle")
    if not (isfinite(pitch) and pitch >= 0.0):
        raise LockingRefused(f"pitch: {pitch}: accepted: 0 or more")
    step = alignment_step(slots, tabs)
    turn = -present % step
    if min(turn, step - turn) < ON_SLOT:
        turn = 0.0
    # On alignment slot k stands at present + turn + k / slots of a turn, which is a whole number of tab divisions.
    steps = round((present + turn) / step)
    division = lcm(slots, tabs)
    slot = next(k for k in range(slots) if (steps + k * (division // slots)) % (division // tabs) == 0)
    tab = (steps + slot * (division // slots)) // (division // tabs) % tabs
    return Alignment(turn, slot, tab, step, turn / TURN * pitch)


def nut_alignment(nut: Locknut, washer: TabWasher, present: float) -> Alignment:
    """`next_alignment` of a locknut and its tab washer.

    nut: locknut from `hardware.locknut` [-]
    washer: tab washer from `hardware.tab_washer` [-]
    present: how far slot 0 now stands past tab 0, the tightening way [rad]
    Result: Alignment [rad, mm]. Range: nut and washer of the same size. Source: as `next_alignment`.

    >>> from calc import hardware
    >>> round(nut_alignment(hardware.locknut(12), hardware.tab_washer(12), 0.01).advance, 3)
    0.026
    """
    if nut.size != washer.size:
        raise LockingRefused(f"tab washer: size {washer.size}: accepted: size {nut.size}, that of the nut")
    return next_alignment(nut.slots, washer.tabs, present, pitch=nut.pitch)
