"""What is lifted and held: nothing from below by itself, hot parts on wire rope and in gloves, heavy ones on a hoist."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from geometry.joints import Fit, MeshJoint, NutJoint, ScrewJoint
from scenes.callouts.lifts import HOT_BY_HAND, TWO_HANDS
from scenes.procedure import AXES, Step
from scenes.rules.course import Breach, Course

GLOVES, ROPE, HOIST, CLAMP = "heat_gloves", "wire_rope", "hoist", "clamp_bar"
LIFTED = ("lower", "turn_over", "remove")
"""Methods by which the load hangs free: without tackle they are stopped, others watched."""


def _below(up: str) -> str:
    return next(axis for axis in AXES if axis[1] == up[1] and axis[0] != up[0])


def from_below(course: Course) -> Iterator[Breach]:
    """What comes from below is held by screws or a nut of the same step, or it falls."""
    held = {joint.clamps: joint.screws for joint in course.reducer.of_kind(ScrewJoint)}
    threads = {*held.values(), *(joint.nut for joint in course.reducer.of_kind(NutJoint))}
    for event in course.events:
        step = event.step
        if step.side.get(event.item, "") == _below(step.up) and event.standing and not threads & set(step.arrives):
            yield course.breach("from_below", step, event.item)


def _mass(course: Course, parts: Iterable[str]) -> float:
    """Mass of parts, tools left out [kg]."""
    return sum(course.reducer.weight(name).mass for name in parts if not course.reducer.by_name[name].tool)


def hot_held(course: Course) -> Iterator[Breach]:
    """Hot parts are touched in gloves; one that hangs does so on wire rope or chain."""
    gears = {fit.bore_part for fit in course.reducer.of_kind(Fit) if fit.hub == "gear"}
    for event in course.events:
        step = event.step
        if step.method != "hot" or event.merging:
            continue
        if GLOVES not in step.tools:
            yield course.breach("hot_held", step, event.item, says="gloves")
        if ROPE not in step.tools and ("rated_slings" in step.tools or _mass(course, event.parts) >= HOT_BY_HAND):
            hangs = event.parts & gears or "rated_slings" in step.tools
            yield course.breach("hot_held", step, event.item, level="stop" if hangs else "watch")


def tackle(course: Course) -> Iterator[Breach]:
    """What is too heavy for the hands comes on a hoist, in the dry trial too."""
    for place, step in enumerate(course.steps):
        if HOIST in step.tools:
            continue
        for item, parts in _moved(course, place, step):
            if _mass(course, parts) >= TWO_HANDS:
                yield course.breach("tackle", step, item, level="stop" if step.method in LIFTED else "watch")


def _moved(course: Course, place: int, step: Step) -> Iterator[tuple[str, Iterable[str]]]:
    """What a step moves, each with its parts: what comes or goes, the bench that joins, the bench that is turned over."""
    for item in (*step.arrives, *step.removes):
        yield item, course.members(item)
    if step.merges:
        yield from ((event.item, event.parts) for event in course.events if event.merging and event.step is step)
    if step.method == "turn_over":
        home = course.home(step.bench, (place, 0))
        stands = [event for event in course.events if event.at[0] < place and course.home(event.bench, (place, 0)) == home]
        yield step.bench, {name for event in stands for name in event.parts}


def clamped_home(course: Course) -> Iterator[Breach]:
    """A hot gear without a nut of its own is held against its shoulder by a clamp bar while it cools."""
    mesh = course.reducer.of_kind(MeshJoint)[0]
    event = course.at(mesh.gear)
    if event is not None and event.step.method == "hot" and CLAMP not in event.step.tools:
        yield course.breach("clamped_home", event.step, mesh.gear, level="watch")
