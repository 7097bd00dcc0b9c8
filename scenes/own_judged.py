"""What a reading says that a step asks for by what it does: locks at their steps, their sum at the end, a ring off the heater. mm, degC.

Contents: `judged`, `ring_limits`.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from typing import TYPE_CHECKING

from calc import heat, materials, units
from geometry.reducer import Reducer
from scenes import counted
from scenes.counted import Said
from scenes.own_reads import NUT, RING, SCREWS, locked_at, rings
from scenes.procedure import Procedure
from scenes.wording import text

if TYPE_CHECKING:
    from scenes.record import Job, State, Taken

SUM = "locks_counted"
"""The count at the end."""
SAME = 1e-9
"""Rounding in a temperature [K]."""


def judged(
    reducer: Reducer, procedure: Procedure, job: Job, taken: Taken, system: units.System, stands: Callable[[Taken], bool]
) -> Said | None:  # fmt: skip
    """Verdict, what it says, what to do now; None for any other reading. `job`: what had been entered before;
    `stands`: whether one of these was not void by then."""
    if taken.read == NUT:
        return ("fine", (text("record.says_nut"),), ()) if _ticked(taken) else ("stop", (), (text("record.now_nut"),))
    if taken.read == SCREWS:
        return _screws(reducer, procedure, taken)
    if taken.read == SUM:
        return _sum(reducer, procedure, job, taken, stands)
    if taken.read == RING and taken.step in procedure.steps:
        return _ring(reducer, procedure.steps[taken.step].arrives, taken.values, system)
    return ("watch", (), (text("record.now_ring_step"),)) if taken.read == RING else None


def _ticked(taken: Taken) -> bool:
    return all(one.strip().lower() == "yes" for one in taken.typed)


def _screws(reducer: Reducer, procedure: Procedure, taken: Taken) -> Said:
    locked = locked_at(reducer, procedure).get(taken.step)
    count = int(taken.values[-1])
    if locked is None or not locked.screws:
        return "watch", (), (text("record.now_screws_step"),)
    says = (text("record.says_screws_locked", count=count, drawn=locked.screws),)
    if count == locked.screws:
        return "fine", says, ()
    return "stop", says, (text("record.now_screws_few" if count < locked.screws else "record.now_screws_many"),)


def _sum(reducer: Reducer, procedure: Procedure, job: Job, taken: Taken, stands: Callable[[Taken], bool]) -> Said:
    """The count at the end, beside what was written down when each lock was set: those that are closed in can't be seen any more."""
    verdict, says, now = counted.judged(reducer, job, taken)
    put_in: tuple[State, ...] = ("fitting", "left")
    nuts, heads, missing, wrong = 0, 0, list[int](), list[int]()
    for step, locked in locked_at(reducer, procedure).items():
        last = (job.latest(name, *put_in, step=step) for name in (NUT, SCREWS))
        nut, screws = (one if one is not None and stands(one) else None for one in last)
        number = procedure.steps[step].number
        if locked.nuts:
            good = nut is not None and _ticked(nut)
            nuts += locked.nuts if good else 0
            (missing if nut is None else wrong).extend([] if good else [number])
        if locked.screws:
            good = screws is not None and _screws(reducer, procedure, screws)[0] == "fine"
            heads += locked.heads if good else 0
            (missing if screws is None else wrong).extend([] if good else [number])
    washers, wired = counted.locks(reducer)
    says = (*says, text("record.says_locks_sum", nuts=nuts, washers=washers, heads=heads, wired=wired))
    if wrong:
        verdict, now = "stop", (*now, text("record.now_locks_wrong", steps=_listed(wrong)))
    if missing:
        now = (*now, text("record.now_locks_missing", steps=_listed(missing)))
    unproven = bool(missing) or nuts < washers or heads < wired
    return "watch" if verdict == "fine" and unproven else verdict, says, now


def _listed(numbers: Sequence[int]) -> str:
    return ", ".join(str(number) for number in dict.fromkeys(numbers))


def ring_limits(reducer: Reducer, arrives: Collection[str]) -> tuple[float, float] | None:
    """Between what the heated ring may be [degC]: just clear of its seat in the tightest pair, and its heating limit; None without one."""
    least, limit = [_clears(reducer, one.diameter, one.clearance[0]) for one in rings(reducer, arrives)], _limit(reducer)
    return (min(max(least), limit), limit) if least else None


def _limit(reducer: Reducer) -> float:
    return reducer.machine.shop.bearing_heating_limit


def _clears(reducer: Reducer, diameter: float, clearance: float) -> float:
    """Temperature at which a ring that clears so much at 20 °C just clears, the shaft as warm as the workshop [degC]."""
    ring, steel = (materials.material(name).expansion for name in ("bearing steel", "steel"))
    seat = heat.growth(diameter, steel, reducer.machine.shop.ambient - heat.REFERENCE)
    return heat.REFERENCE + (seat - clearance) / (ring * diameter)


def _ring(reducer: Reducer, arrives: Collection[str], values: Sequence[float], system: units.System) -> Said:
    """Over the limit a ring is scrap until its maker says otherwise; too cool it grips on the way."""
    limits = ring_limits(reducer, arrives)
    if limits is None:
        return "watch", (), (text("record.now_ring_step"),)
    (low, high), loose = limits, max(_clears(reducer, one.diameter, one.clearance[2]) for one in rings(reducer, arrives))
    told = {"value": _shown(max(values), system), "low": _shown(low, system), "high": _shown(high, system)}
    if max(values) > high + SAME:  # said with what is done about it by what looks at every temperature
        return "stop", (), ()
    if min(values) < low - SAME:
        return "stop" if min(values) < loose else "watch", (text("record.says_ring_cool", **told),), (text("record.now_ring_cool"),)
    return "fine", (text("record.says_ring", **told),), ()


def _shown(value: float, system: units.System) -> str:
    return units.show(value, "temperature", system)
