"""The first run in figures: how warm it became, and whether that is settled. s, degC.

Contents: `judged`.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from calc import units
from scenes.frame import Verdict
from scenes.wording import text

SETTLED = 1.0
"""Rise over half an hour under which a temperature is settled [K]: own choice; IEC 60034-1 asks the same of motors, from memory."""
WINDOW = 1800.0
"""Time over which that rise is taken [s]."""


def judged(values: Sequence[float], wanted: int, system: units.System) -> tuple[Verdict, tuple[str, ...], tuple[str, ...]]:
    """What temperatures in the run say: verdict, what they say, what to do. `values`: time and temperature in turn [s, degC]."""
    read = sorted(zip(values[::2], values[1::2], strict=True))
    warmest = max(degrees for _, degrees in read)
    told = {"count": len(read), "time": units.show(read[-1][0], "time", system, digits=0)}
    says = (text("record.says_run", warmest=units.show(warmest, "temperature", system, digits=1), **told), text("record.run_limit"))
    rate = _rise(read)
    if len(read) < wanted or rate is None:
        return "watch", says, (text("record.now_run_more", wanted=wanted, window=_time(system), count=len(read)),)
    figures = {"rise": units.show(rate, "temperature rise", system, signed=True, digits=1), "window": _time(system)}
    figures |= {"most": units.show(SETTLED, "temperature rise", system, digits=1)}
    if rate > SETTLED:
        return "watch", (*says, text("record.says_rising", **figures)), (text("record.now_rising"),)
    return "fine", (*says, text("record.says_settled", **figures)), ()


def _time(system: units.System) -> str:
    return units.show(WINDOW, "time", system, digits=0)


def _rise(read: Sequence[tuple[float, float]]) -> float | None:
    """Rise over the last half hour [K]: the temperature half an hour before the last is taken between its neighbours; None where the
    readings do not reach back so far."""
    end, last = read[-1]
    at = end - WINDOW
    for (early, low), (late, high) in pairwise(read):
        if early <= at <= late and late > early:
            return last - (low + (high - low) * (at - early) / (late - early))
    return None
