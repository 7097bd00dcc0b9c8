"""Everything comes once, onto something that holds it: completeness, support, first and last things of the job."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from geometry.joints import (
    DowelJoint,
    Fit,
    GasketJoint,
    Joint,
    KeyJoint,
    NutJoint,
    Rest,
    RollerJoint,
    ScrewJoint,
    Seat,
    WireJoint,
)
from geometry.reducer import Reducer
from scenes import whole
from scenes.procedure_file import readings
from scenes.rules.course import Breach, Came, Course
from scenes.rules.forces import STANDS

FIRST = ("shaft", "case", "cartridge")
"""Roles of what a bench may begin with: it stands by itself."""
OPPOSITE = {"+z": "-z", "-z": "+z"}


def complete(course: Course) -> Iterator[Breach]:
    """Each part once, each bench joined, each tool out again."""
    last = course.steps[-1]
    for gap in whole.found(course.reducer, course.procedure):
        step = course.procedure.steps.get(gap.step, last)
        yield Breach(
            "complete",
            step.id,
            course.procedure.order.index(step.id) + 1,
            gap.parts[0] if gap.parts else gap.bench,
            gap.bench,
            gap.text,
        )


def _held_by(joint: Joint) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """What a joint holds, and any of which holds it."""
    match joint:
        case Fit():
            return (joint.bore_part, (joint.shaft_part,)), (joint.shaft_part, (joint.bore_part,))
        case Seat():
            return (joint.part, (joint.against,)), (joint.against, (joint.part,))
        case GasketJoint():
            return (joint.gasket, (joint.flange, joint.base)), (joint.flange, (joint.base,)), (joint.base, (joint.flange,))
        case ScrewJoint():
            return (joint.screws, (joint.into, joint.clamps)), (joint.clamps, (joint.into,)), (joint.into, (joint.clamps,))
        case NutJoint():
            return (joint.nut, (joint.shaft,)), (joint.washer, (joint.shaft,))
        case WireJoint():
            return ((joint.wire, (joint.screws,)),)
        case DowelJoint():
            return ((joint.dowels, joint.parts),)
        case KeyJoint():
            return ((joint.key, (joint.shaft,)),)
        case RollerJoint():
            return (joint.rollers, (joint.ring,)), (joint.ring, (joint.rollers,))
        case Rest():
            return ((joint.part, joint.on),)
        case _:
            return ()


@lru_cache(maxsize=8)
def holders(reducer: Reducer) -> dict[str, frozenset[str]]:
    """For every part, the parts any of which holds it."""
    found: dict[str, set[str]] = {}
    for joint in reducer.joints:
        for held, by in _held_by(joint):
            if held not in reducer.by_name and held not in reducer.groups:
                continue
            others = {part for name in by if name in reducer.by_name or name in reducer.groups for part in reducer.members(name)}
            for part in reducer.members(held):
                found.setdefault(part, set()).update(others)
    return {part: frozenset(others) for part, others in found.items()}


def supported(course: Course) -> Iterator[Breach]:
    """What comes is held by something in place on the same bench; a bench begins with what stands by itself."""
    for event in course.events:
        if not event.standing:
            if event.merging or all(course.reducer.by_name[part].role not in FIRST for part in event.parts):
                yield course.breach("supported", event.step, event.item, event.bench, says="nothing_there")
        elif not _held(course, event) and not _gasket(course, event):
            yield course.breach("supported", event.step, event.item, event.bench)


def gasket_place(course: Course) -> Iterator[Breach]:
    """A gasket comes to the bench where its flange or its base stands."""
    faces = {gasket: (flange, base) for gasket, flange, base in course.lays}
    for event in course.events:
        if event.standing and _gasket(course, event) and not _held(course, event):
            flange, base = faces.get(event.item, ("", ""))
            yield course.breach(
                "gasket_place", event.step, event.item, event.bench, flange=course.name(flange), base=course.name(base)
            )


def _held(course: Course, event: Came) -> bool:
    known = holders(course.reducer)
    return any(known.get(part, frozenset()) & event.standing for part in event.parts)


def _gasket(course: Course, event: Came) -> bool:
    return all(course.reducer.by_name[part].role == "gasket" for part in event.parts)


def gasket_first(course: Course) -> Iterator[Breach]:
    """A gasket lies in its place before its flange closes on the base."""
    for gasket, flange, base in course.lays:
        event, closed = course.at(gasket), course.met(flange, base)
        if event is not None and closed is not None and event.at > closed:
            yield course.breach("gasket_first", event.step, gasket, flange, base=course.name(base))


def safe_first(course: Course) -> Iterator[Breach]:
    """Nothing is touched before the machine is made safe."""
    read = course.reading("zero_energy")
    if not read:
        yield course.breach("safe_first", course.steps[0], "zero_energy", says="missing")
    elif read[0][0][0] > 0:
        yield course.breach("safe_first", course.steps[0], "zero_energy")


def inspected(course: Course) -> Iterator[Breach]:
    """Parts are inspected and measured before the first is fitted to another."""
    read = course.reading("incoming")
    fitted = next((event for event in course.events if event.standing), None)
    if fitted is not None and (not read or read[0][0] > fitted.at):
        yield course.breach("inspected", fitted.step, fitted.item, "incoming")


def turned_over(course: Course) -> Iterator[Breach]:
    """A shaft built upside down is turned over, by a lift of its own, before it is lowered in; no bench turns over by itself."""
    for event in course.events:
        if not event.merging or event.step.up not in OPPOSITE:
            continue
        place = event.at[0]
        before = [step for step in course.steps[:place] if step.bench == event.item and not step.optional]
        turned = max((course.procedure.order.index(step.id) for step in before if step.method == "turn_over"), default=-1)
        wrong = [step for step in before if step.up == OPPOSITE[event.step.up]]
        if wrong and wrong[-1].method != "turn_over" and course.procedure.order.index(wrong[-1].id) > turned:
            yield course.breach("turned_over", event.step, event.item)
    stood: dict[str, str] = {}
    for step in course.steps:
        if step.optional:
            continue
        over = stood.get(step.bench, "") == OPPOSITE.get(step.up, "?")
        if over and step.method not in ("turn_over", "base") and not STANDS & set(step.tools):
            yield course.breach("turned_over", step, step.bench, says="unturned")
        stood[step.bench] = step.up


def run_last(course: Course) -> Iterator[Breach]:
    """The first run comes when all is in and read."""
    runs = course.reading("first_run")
    if not runs:
        yield course.breach("run_last", course.steps[-1], "first_run", says="missing")
        return
    at, _ = runs[0]
    late = next((event for event in course.events if event.at > at), None)
    if late is not None:
        yield course.breach("run_last", late.step, late.item)
    late_reading = next((step for step in course.steps[at[0] + 1 :] if set(step.reads) - {"first_run"} - _circles(course)), None)
    if late_reading is not None:
        yield course.breach("run_last", late_reading, next(iter(late_reading.reads)))


def retorque(course: Course) -> Iterator[Breach]:
    """After the first run the screws of case, flanges and covers are gone over."""
    runs = course.reading("first_run")
    if not runs:
        return
    at, run = runs[0]
    for joint in course.reducer.of_kind(ScrewJoint):
        if joint.screws in _circles(course) and not course.reading(joint.screws, at):
            yield course.breach("retorque", run, joint.screws)


def _circles(course: Course) -> frozenset[str]:
    """Circles of screws whose torque is a reading of its own."""
    return readings() & {joint.screws for joint in course.reducer.of_kind(ScrewJoint)}
