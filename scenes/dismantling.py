"""What must come off to change a position gasket, read from the joints and from the order of the job.

A gasket that arrives in the case lies under all that was fitted after it onto its flange: that comes off. A gasket that arrives on a
bench of its own is freed by taking the flange's screws out and drawing the whole unit out, provided that the unit's gear passes the
bore; otherwise the case must be opened first. Contents: `Dismantling`, `to_reach`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from calc.bevel import PINION
from geometry.joints import DowelJoint, Fit, GasketJoint, KeyJoint, ScrewJoint
from geometry.reducer import Reducer
from scenes.made_void import void_readings
from scenes.procedure import MAIN_BENCH, Procedure, Step
from scenes.ties import tied

Way = Literal["drawn_out", "case_opened", "lifted_off"]


READ_AGAIN = frozenset({"high_speed_end_play", "low_speed_end_play", "backlash", "pattern", "turning_feel"})
"""Readings that are taken again after every change of a position gasket, of what was closed since it was laid."""


@dataclass(frozen=True)
class Dismantling:
    """What comes off for one gasket, the last fitted first; `tight`: what of it sits tight on its shaft; `supports`: tools that must
    stand in the machine meanwhile; `renew`: gaskets, tab washers and seals that are not used twice; `steps`: to be done again, in
    their order; bore of the case and tip of the gear of a unit drawn out [mm]."""

    gasket: str
    flange: str
    way: Way
    parts: tuple[str, ...]
    tight: tuple[str, ...]
    supports: tuple[str, ...]
    renew: tuple[str, ...]
    steps: tuple[str, ...]
    bore: float
    tip: float


def _arrivals(reducer: Reducer, procedure: Procedure) -> dict[str, Step]:
    """The step that brings each part for good, in the order in which they are fitted."""
    found: dict[str, Step] = {}
    for name in procedure.order:
        step = procedure.steps[name]
        if not step.optional:
            for item in step.arrives:
                for member in reducer.members(item):
                    found.pop(member, None)
                    found[member] = step
    return found


def to_reach(reducer: Reducer, procedure: Procedure, gasket: str) -> Dismantling:
    """What must come off to change a position gasket."""
    arrivals = _arrivals(reducer, procedure)
    number = {name: index for index, name in enumerate(procedure.order)}
    mine, flange = arrivals[gasket], next(item.flange for item in reducer.of_kind(GasketJoint) if item.gasket == gasket)
    bore, tip = reducer.machine.case.horizontal_bore.hole_mean, reducer.blank.tip_diameters[PINION]
    way: Way = "lifted_off"
    if mine.bench == MAIN_BENCH:
        later = {part for part, step in arrivals.items() if number[step.id] > number[mine.id]}
        over = {
            part
            for part in later
            if _side(arrivals[part]) == _side(mine) and _axis(reducer, part, _side(mine)) == _axis(reducer, flange, _side(mine))
        }
        # A seal does not pass over a key that stands in the shaft's end.
        over |= {
            joint.key
            for joint in reducer.of_kind(KeyJoint)
            if joint.key in later
            and not joint.hub
            and _axis(reducer, joint.shaft, _side(mine)) == _axis(reducer, flange, _side(mine))
        }
        off = _grown(reducer, {flange} | over, later)
    else:
        off = {part for item in reducer.of_kind(ScrewJoint) if item.clamps == flange for part in reducer.members(item.screws)}
        way = "drawn_out" if tip < bore else "case_opened"
        if way == "case_opened":
            off |= _lid(reducer)
    fitted = list(arrivals)
    units = _units(reducer, sorted(off, key=fitted.index, reverse=True))
    hung = {item.bore_part for item in reducer.of_kind(Fit) if item.clearance[0] < 0.0 and item.shaft_part.endswith("shaft")}
    tight = tuple(name for name in units if hung & set(reducer.members(name)))
    again = {arrivals[part].id for part in off if number[arrivals[part].id] > number[mine.id]} | {mine.id}
    last = max(number[name] for name in again)
    if way == "lifted_off":
        between = (procedure.steps[name] for name in procedure.order[number[mine.id] : last])
        again |= {step.id for step in between if step.phase == mine.phase and not step.arrives}
    else:
        # The unit goes back by the same moves: the steps of its phase from the gasket on, and its merging.
        again |= {name for name in procedure.order[number[mine.id] :] if procedure.steps[name].phase == mine.phase}
    since = procedure.order[number[mine.id] + 1 :]
    again |= {name for name in since if READ_AGAIN & set(procedure.steps[name].reads) and not procedure.steps[name].optional}
    again |= set(void_readings(reducer, procedure, (gasket, flange, *units), since))
    taken = [item for name in procedure.order[number[mine.id] :] for item in procedure.steps[name].removes]
    tools = [item for item in taken if reducer.by_name[reducer.members(item)[0]].tool] if tight else []
    steps = tuple(sorted(again, key=lambda name: number[name]))
    renew = tuple(name for name in (gasket, *units) if _used_once(reducer, name))
    return Dismantling(gasket, flange, way, units, tight, tuple(dict.fromkeys(tools)), renew, steps, bore, tip)


def _used_once(reducer: Reducer, name: str) -> bool:
    """Whether a part is renewed whenever it has been off."""
    return "tab_washer" in name or reducer.by_name[reducer.members(name)[0]].role in ("gasket", "seal")


def _units(reducer: Reducer, parts: list[str]) -> tuple[str, ...]:
    """The same parts, those of one circle of screws or one bearing under its one name."""
    unit = {member: name for name, members in reducer.groups.items() for member in members}
    return tuple(dict.fromkeys(unit.get(part, part) for part in parts))


def _side(step: Step) -> str:
    """The side that a step's parts come from; several, or a way of several legs: none."""
    sides = set(step.side.values())
    return sides.pop() if len(sides) == 1 else ""


def _axis(reducer: Reducer, part: str, side: str) -> tuple[float, ...]:
    """Where the part's own axis stands across the side it comes from [mm]."""
    point = reducer.by_name[part].pose[:3, 3]
    return tuple(round(float(point[k]), 3) for k in range(3) if k != "xyz".find(side[-1:]))


def _grown(reducer: Reducer, off: set[str], later: set[str]) -> set[str]:
    """What holds these parts and came later, and what holds that in turn."""
    joints = [{part for name in tied(item) if name for part in reducer.members(name)} for item in reducer.joints]
    while True:
        more = {part for held in joints if held & off for part in held if part in later} - off
        if not more:
            return off
        off = off | more


def _lid(reducer: Reducer) -> set[str]:
    """The upper half with what holds it down."""
    lid = next(item for item in reducer.of_kind(ScrewJoint) if item.clamps == "upper_case")
    dowels = {part for item in reducer.of_kind(DowelJoint) for part in reducer.members(item.dowels)}
    return {"upper_case"} | set(reducer.members(lid.screws)) | dowels
