"""The first run in figures: how warm it became, how fast, and whether that is settled. s, degC.

Without a maker's limit (`limits.first_run_temperature` of the machine file) no temperature is fine. Contents: `judged`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, pairwise

from calc import units
from geometry.machine import Machine
from scenes.frame import Verdict
from scenes.wording import text

SETTLED = 1.0
"""Rise over half an hour under which a temperature is settled [K]: own choice; IEC 60034-1 asks the same of motors, from memory."""
WINDOW = 1800.0
"""Time over which a rise is taken [s]."""
HOTTEST = 90.0
"""From where a run is stopped when the machine file has no limit [degC]: common practice for mineral oil, no source."""
ABOVE = 55.0
"""Rise over the workshop from where it is stopped then [K]: common practice, no source."""
STEEPEST = 30.0
"""Rise over half an hour from where it is stopped, whatever the limit [K]: own choice."""


def judged(
    machine: Machine, values: Sequence[float], wanted: int, system: units.System
) -> tuple[Verdict, tuple[str, ...], tuple[str, ...]]:
    """What temperatures in the run say: verdict, what they say, what to do. `values`: time and temperature in turn [s, degC]."""
    read, limit = sorted(zip(values[::2], values[1::2], strict=True)), machine.limits.first_run_temperature
    warmest = max(degrees for _, degrees in read)
    told = {"count": len(read), "time": units.show(read[-1][0], "time", system, digits=0)}
    says = [text("record.says_run", warmest=_degrees(warmest, system), **told)]
    says.append(text("record.run_limit") if limit is None else text("record.run_limit_is", limit=_degrees(limit, system)))
    stops = list(_stops(machine, read, system))
    if stops:
        return "stop", (*says, *stops), (text("record.now_run_stop"),)
    rate = _rise(read)
    asked = (text("record.now_run_limit"),) if limit is None else ()
    if len(read) < wanted or rate is None:
        return "watch", tuple(says), (text("record.now_run_more", wanted=wanted, window=_time(system), count=len(read)), *asked)
    figures = {"rise": _kelvin(rate, system, signed=True), "window": _time(system), "most": _kelvin(SETTLED, system)}
    if rate > SETTLED:
        return "watch", (*says, text("record.says_rising", **figures)), (text("record.now_rising"), *asked)
    return "watch" if asked else "fine", (*says, text("record.says_settled", **figures)), asked


def _stops(machine: Machine, read: Sequence[tuple[float, float]], system: units.System) -> Iterator[str]:
    """Why the run must be stopped."""
    limit, ambient = machine.limits.first_run_temperature, machine.shop.ambient
    warmest = max(degrees for _, degrees in read)
    if limit is not None and warmest > limit:
        yield text("record.run_over_limit", warmest=_degrees(warmest, system), limit=_degrees(limit, system))
    if limit is None and warmest >= HOTTEST:
        yield text("record.run_hot", warmest=_degrees(warmest, system), most=_degrees(HOTTEST, system))
    if limit is None and warmest - ambient >= ABOVE:
        told = {"rise": _kelvin(warmest - ambient, system), "most": _kelvin(ABOVE, system)}
        yield text("record.run_above", ambient=_degrees(ambient, system), **told)
    start = [(0.0, ambient)] if read[0][0] > 0.0 else []
    steepest = max((_steepness(*pair) for pair in combinations([*start, *read], 2)), default=0.0)
    if steepest >= STEEPEST:
        told = {"rise": _kelvin(steepest, system), "most": _kelvin(STEEPEST, system)}
        yield text("record.run_steep", window=_time(system), **told)


def _steepness(one: tuple[float, float], other: tuple[float, float]) -> float:
    """Rise between two readings, of half an hour at most [K]."""
    (early, low), (late, high) = one, other
    return (high - low) * min(1.0, WINDOW / (late - early)) if late > early else high - low


def _degrees(value: float, system: units.System) -> str:
    return units.show(value, "temperature", system, digits=1)


def _kelvin(value: float, system: units.System, signed: bool = False) -> str:
    return units.show(value, "temperature rise", system, signed=signed, digits=1)


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
