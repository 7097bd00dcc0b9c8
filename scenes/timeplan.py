"""Time plan of the job: heating, waiting while a hot part cools, and handling, step by step, with totals and the long waits.

Times in s, temperatures degC, kg, J. Heating is an energy balance, cooling a model of still air (20 % either way), handling common
practice: all of it is indicative, and says so. Times are for one bench after the other.
Contents: `plan`, and its answer `TimePlan`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from calc import cooling
from calc.cooling import Seconds
from geometry import mass
from geometry.joints import NutJoint, ScrewJoint, WireJoint
from geometry.reducer import Reducer
from scenes.callouts.bench import Bench
from scenes.callouts.heating import Heating, heating_of, hot_body, joint_of
from scenes.handling import Handling
from scenes.procedure import Procedure, Step
from scenes.settings import Settings
from scenes.stage import Stage

COLD = 5.0
"""A part counts as cold within this of the room [K]: no reading counts before; common practice, no source."""
LONG_WAIT = 600.0
"""A wait from here on is worth planning around [s]: ten minutes, own choice."""
SHOULDER = "shoulder_gap"
"""The reading that waits for a part fitted hot to be cold."""
FEELER = "feeler"
"""A hot step with this tool tries the seat itself, cold, when no later step reads the gap."""
NOTHING = Seconds(0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Cooling:
    """A wait until a part fitted hot is within 5 K of the room: cooling from the fit on, what of it is left to wait here [s].

    `hot_step`: the step that fitted the part; `start`, `end`: temperatures [degC]. `evened`: temperature at which part and shaft would
    meet if no heat went into the air [degC]: with that below `end` the cold shaft does the cooling, and the wait may be far shorter.
    """

    hot_step: str
    part: str
    start: float
    end: float
    evened: float
    time: Seconds
    left: Seconds

    @property
    def shaft_cools(self) -> bool:
        """Whether the cold shaft alone could take the heat."""
        return self.start > self.end >= self.evened


@dataclass(frozen=True)
class StepTime:
    """Times of one step [s]; `pieces`: what is counted one by one in the handling time, and how many."""

    id: str
    number: int
    phase: str
    method: str
    optional: bool
    handling: Seconds
    pieces: tuple[tuple[str, int], ...] = ()
    heating: Heating | None = None
    cooling: Cooling | None = None

    @property
    def heating_time(self) -> Seconds:
        """Heating and hold, none when nothing is heated [s]."""
        return self.heating.time if self.heating else NOTHING

    @property
    def waiting(self) -> Seconds:
        """Wait for a hot part to be cold, what is left of it here [s]."""
        return self.cooling.left if self.cooling else NOTHING

    @property
    def total(self) -> Seconds:
        """Heating, handling and waiting [s]."""
        return added([self.heating_time, self.handling, self.waiting])


@dataclass(frozen=True)
class Totals:
    """Sums over steps [s]."""

    heating: Seconds
    handling: Seconds
    waiting: Seconds

    @property
    def total(self) -> Seconds:
        """All three together [s]."""
        return added([self.heating, self.handling, self.waiting])


@dataclass(frozen=True)
class Wait:
    """A wait of ten minutes or more: step, why, length [s], and steps of other benches that can be done meanwhile."""

    step: str
    kind: Literal["heating", "cooling"]
    time: Seconds
    meanwhile: tuple[str, ...]


@dataclass(frozen=True)
class TimePlan:
    """All steps, sums by phase and for the job, those of the steps that may be skipped, and the long waits."""

    steps: tuple[StepTime, ...]
    phases: tuple[tuple[str, Totals], ...]
    job: Totals
    optional: Totals
    waits: tuple[Wait, ...]
    spread: float


def added(times: Iterable[Seconds]) -> Seconds:
    """Times one after the other; low and high ends are added too, the worst case [s]."""
    kept = list(times)
    return Seconds(*(math.fsum(getattr(time, name) for time in kept) for name in ("value", "low", "high")))


def plan(stage: Stage, settings: Settings, handling: Handling) -> TimePlan:
    """The time plan of a procedure.

    `stage`: the reducer with its order. `settings`: heater and ambient [degC] change it. `handling`: times by method and piece [s].
    Result: TimePlan [s], indicative.
    """
    procedure = stage.procedure
    benches = {name: stage.bench(procedure.steps[name], settings) for name in procedure.order}
    heatings = {name: found for name, bench in benches.items() if (found := heating_of(bench)) is not None}
    waiting = {waits_in(procedure, name): name for name in heatings}
    steps: list[StepTime] = []
    for name in procedure.order:
        step = procedure.steps[name]
        pieces = pieces_of(stage.reducer, step)
        row = StepTime(name, step.number, step.phase, step.method, step.optional, _handled(step, pieces, handling), pieces)
        row = replace(row, heating=heatings.get(name))
        hot = waiting.get(name)
        if hot is not None:
            row = replace(row, cooling=_cooling(benches[hot], heatings[hot], _between(steps, hot)))
        steps.append(row)
    phases = tuple((phase, totals([row for row in steps if row.phase == phase])) for phase in procedure.phases)
    return TimePlan(
        tuple(steps),
        phases,
        totals(steps),
        totals([row for row in steps if row.optional]),
        _long_waits(procedure, steps),
        handling.spread,
    )


def totals(steps: Sequence[StepTime]) -> Totals:
    """Sums of heating, handling and waiting over some steps [s]."""
    return Totals(
        added([row.heating_time for row in steps]), added([row.handling for row in steps]), added([row.waiting for row in steps])
    )


def _between(steps: Sequence[StepTime], hot: str) -> Seconds:
    """Time since a part was fitted hot: that of all steps done after it, none when it was fitted in the step at hand [s]."""
    names = [row.id for row in steps]
    return added([row.total for row in steps[names.index(hot) + 1 :]]) if hot in names else NOTHING


def waits_in(procedure: Procedure, hot: str) -> str | None:
    """The step that waits for what a hot step fitted to be cold: the next on its bench that reads the gap at the shoulder, before the
    next hot one; else the hot step itself when it tries its seat with a feeler; else none."""
    step = procedure.steps[hot]
    for name in procedure.order[procedure.order.index(hot) + 1 :]:
        later = procedure.steps[name]
        if later.bench != step.bench:
            continue
        if later.method == "hot":
            break
        if SHOULDER in later.reads:
            return name
    return hot if FEELER in step.tools or SHOULDER in step.reads else None


def _cooling(bench: Bench, heating: Heating, since: Seconds) -> Cooling:
    """Cooling of the part alone in still air to within 5 K of the room, less the time that has passed since the fit.

    T = (m_hot T_hot + m_shaft T_room) / (m_hot + m_shaft) is where it would meet its shaft, both of steel.
    """
    joint = joint_of(bench)
    assert joint is not None
    body, end, time = replace(hot_body(bench.reducer, joint), mass=heating.mass), bench.ambient + COLD, NOTHING
    shaft = mass.properties(bench.reducer.by_name[joint.shaft_part].spec).mass
    evened = (heating.mass * heating.end + shaft * bench.ambient) / (heating.mass + shaft)
    if heating.end > end:
        time = cooling.cooling_time(body, heating.end, end, bench.ambient)
        if evened <= end:
            time = replace(time, low=0.0)
    left = Seconds(max(0.0, time.value - since.value), max(0.0, time.low - since.high), max(0.0, time.high - since.low))
    return Cooling(bench.step.id, heating.part, heating.end, end, evened, time, left)


def pieces_of(reducer: Reducer, step: Step) -> tuple[tuple[str, int], ...]:
    """What a step fits, takes off or checks one by one, and how many."""
    moved = {name for item in (*step.arrives, *step.removes) for name in reducer.members(item)}
    screws = {joint.screws: joint.count for joint in reducer.of_kind(ScrewJoint)}
    fitted = {name for name in screws if set(reducer.members(name)) <= moved}
    counts = {
        "screw": sum(screws[name] for name in fitted),
        "checked_screw": sum(count for name, count in screws.items() if name in step.reads and name not in fitted),
        "locknut": sum(joint.nut in moved for joint in reducer.of_kind(NutJoint)),
        "wired_head": sum(joint.count for joint in reducer.of_kind(WireJoint) if joint.wire in moved),
        "dowel": sum(reducer.by_name[name].wording == "part.dowel" for name in moved),
        "plug": len(moved & {"drain_plug", "level_plug", "breather"}),
    }
    return tuple((kind, count) for kind, count in counts.items() if count)


def _handled(step: Step, pieces: tuple[tuple[str, int], ...], handling: Handling) -> Seconds:
    value = handling.step.get(step.id, handling.method[step.method]) + sum(handling.piece[kind] * count for kind, count in pieces)
    return Seconds(value, value * (1.0 - handling.spread), value * (1.0 + handling.spread))


def _long_waits(procedure: Procedure, steps: Sequence[StepTime]) -> tuple[Wait, ...]:
    found: list[Wait] = []
    taken: set[str] = set()

    def wait(row: StepTime, kind: Literal["heating", "cooling"], time: Seconds) -> None:
        chosen = meanwhile(procedure, row.id, [item for item in steps if item.id not in taken], time.value)
        taken.update(chosen)
        found.append(Wait(row.id, kind, time, chosen))

    for row in steps:
        if row.heating_time.value >= LONG_WAIT:
            wait(row, "heating", row.heating_time)
        if row.waiting.value >= LONG_WAIT:
            wait(row, "cooling", row.waiting)
    return tuple(found)


def meanwhile(procedure: Procedure, waiting: str, steps: Sequence[StepTime], length: float) -> tuple[str, ...]:
    """Later steps that can be brought forward into a wait [s], in order, until they fill it: those on other benches that nothing on
    the waiting bench leads to. Hot steps are left where they stand, and so is all that follows on their bench."""
    times = {row.id: row.total.value for row in steps}
    held, chosen, filled = {procedure.steps[waiting].bench}, [], 0.0
    for name in procedure.order[procedure.order.index(waiting) + 1 :]:
        step = procedure.steps[name]
        if filled >= length:
            break
        if name not in times:
            continue
        if step.bench in held or step.merges in held or step.method == "hot" or step.optional:
            held.add(step.bench)
            continue
        chosen.append(name)
        filled += times[name]
    return tuple(chosen)
