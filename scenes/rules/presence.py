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
from scenes import explode, whole
from scenes.procedure_file import readings
from scenes.rules.course import SQUARE, Breach, Came, Course
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
    """A gasket comes to the bench where its flange or its base stands, and down on it square, from the side that is open."""
    faces = {gasket: (flange, base) for gasket, flange, base in course.lays}
    for event, square in _misplaced(course):
        flange, base = faces.get(event.item, ("", ""))
        yield course.breach(
            "gasket_place", event.step, event.item, event.bench, says="across" if square else "breach",
            flange=course.name(flange), base=course.name(base),
        )  # fmt: skip


def _misplaced(course: Course) -> Iterator[tuple[Came, bool]]:
    """Every gasket that comes where it does not belong; whether something of its own place stands there all the same."""
    comes = [event for event in course.events if event.standing and _gasket(course, event)]
    joints = {joint.gasket: joint for joint in course.reducer.of_kind(GasketJoint)}
    found = [(event, _held(course, event)) for event in comes if not _held(course, event) or _across(course, event)]
    yield from found
    homeless = [joints[event.item] for event, _ in found if event.item in joints]
    for event in comes:
        own = joints.get(event.item)
        if own is None or event in [other for other, _ in found] or not {own.flange, own.base} <= event.standing:
            continue  # in its own place, or not late for it
        if any(
            joint.base in event.standing and joint.flange not in event.standing and not _skew(joint, event) for joint in homeless
        ):
            yield event, True  # exchanged: it lies in the place of a gasket that lies in another


def _skew(joint: GasketJoint, event: Came) -> bool:
    """Whether what comes does not come down square on a gasket's place from the side that is open there."""
    side = explode.AXES.get(event.step.side.get(event.item, ""))
    if side is None:
        return False
    down = float(side @ joint.axis)
    if {joint.flange, joint.base} <= event.standing:
        return abs(down) < SQUARE
    return (down if joint.base in event.standing else -down) < SQUARE


def _across(course: Course, event: Came) -> bool:
    """Whether a gasket comes from a side that is not its own: along its faces, or through the part that it lies on."""
    reducer = course.reducer
    for joint in reducer.of_kind(GasketJoint):
        if joint.gasket == event.item:
            return _skew(joint, event)
    side = explode.AXES.get(event.step.side.get(event.item, ""))
    if side is None:
        return False
    flanges = {flange for gasket, flange, _ in course.lays if gasket == event.item}
    screws = [joint for joint in reducer.of_kind(ScrewJoint) if joint.clamps in flanges]
    return any(abs(float(side @ joint.axis)) < SQUARE for joint in screws)


def _held(course: Course, event: Came) -> bool:
    known = holders(course.reducer)
    return any(known.get(part, frozenset()) & event.standing for part in event.parts)


def _gasket(course: Course, event: Came) -> bool:
    return all(course.reducer.by_name[part].role == "gasket" for part in event.parts)


def gasket_first(course: Course) -> Iterator[Breach]:
    """A gasket lies in its place before its flange closes on the base."""
    elsewhere = {event.item for event, _ in _misplaced(course)}
    for gasket, flange, base in course.lays:
        event, closed = course.at(gasket), course.met(flange, base)
        if gasket not in elsewhere and event is not None and closed is not None and event.at > closed:
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
        over = [step for _, step in course.reading(joint.screws, at) if "torque_wrench" in step.tools]
        if joint.screws in _circles(course) and not over:
            yield course.breach("retorque", run, joint.screws)


def _circles(course: Course) -> frozenset[str]:
    """Circles of screws whose torque is a reading of its own."""
    return readings() & {joint.screws for joint in course.reducer.of_kind(ScrewJoint)}
