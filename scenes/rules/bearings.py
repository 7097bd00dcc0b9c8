"""Bearings: oiled before they are closed in, the right way round, turned by hand when they are clamped."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from calc import duplex
from geometry.joints import GasketJoint, MeshJoint, NutJoint, PortJoint, Rest
from geometry.part import Spec
from scenes.procedure import Step
from scenes.rules.course import DONE, Breach, Course, Pair, Place
from scenes.wording import text

TURNING = ("free_turning", "turning_feel")
"""Readings that say that a shaft was turned by hand."""
KEEPER = "keeper_bar"
GUARD = "sleeve_protector"


def oiled(course: Course) -> Iterator[Breach]:
    """A roller bearing is oiled by when its rollers go into the ring, a pair by when its cover closes."""
    closings = [(unit, course.met(joint.rollers, ring)) for unit, ring, joint in course.rollers]
    closings += [(bearing, course.met(pair.cover, pair.housing)) for pair in course.pairs for bearing in pair.bearings]
    for unit, closed in closings:
        event = course.at(unit)
        if event is None or closed is None:
            continue
        names = {unit, *course.members(unit)}
        if not any(names & set(step.oils) for step in course.steps[event.at[0] : closed[0] + 1] if not step.optional):
            yield course.breach("oiled", closed, unit)


def _turned(course: Course) -> dict[str, tuple[int, Step]]:
    """What goes in the other way round than drawn, with place and step."""
    return {item: (place, step) for place, step in enumerate(course.steps) for item in step.turned}


def pair_faces(course: Course) -> Iterator[Breach]:
    """The bearings of a pair face as their marks say."""
    turned = _turned(course)
    for pair in course.pairs:
        wrong = [bearing for bearing in pair.bearings if turned.keys() & {bearing, *course.members(bearing)}]
        if wrong:
            yield _pair_turned(course, pair, wrong, turned)


SAYS = {"seal": "seal", "gear": "hub", "pinion": "hub", "shaft": "hub"}
"""Sentence for a part of this role that lies the other way round."""


def faces(course: Course) -> Iterator[Breach]:
    """Ribs, tabs, lips, hubs and throwers lie as drawn."""
    rings = {name for unit, ring, _ in course.rollers for name in (unit, ring)}
    nuts = {name for joint in course.reducer.of_kind(NutJoint) for name in (joint.nut, joint.washer)}
    beside = {rest.part: _bearing(course, rest) for rest in course.reducer.of_kind(Rest)}
    for item, (_, step) in _turned(course).items():
        part = course.reducer.by_name.get(item)
        if item in rings:
            yield course.breach("faces", step, item, says="ring")
        elif part is not None and part.role in SAYS:
            yield course.breach("faces", step, item, says=SAYS[part.role])
        elif item in nuts:
            yield course.breach("faces", step, item, says="washer")
        elif part is not None and part.role == "spacer" and not _even(part.spec):
            yield course.breach("faces", step, item, beside.get(item, ""), says="thrower")


def _bearing(course: Course, rest: Rest) -> str:
    """The bearing that a loose part lies against, none when it lies against no ring."""
    return next((course.unit_of[name] for name in rest.on if name in course.unit_of), "")


def _even(spec: Spec) -> bool:
    """Whether a turned part looks the same from both ends: a plain spacer, as no thrower is."""
    low, high = (pick(height for loop in spec.loops for _, height in loop) for pick in (min, max))
    seen = [sorted((round(radius, 3), round(height - low, 3)) for radius, height in loop) for loop in spec.loops]
    back = [sorted((round(radius, 3), round(high - height, 3)) for radius, height in loop) for loop in spec.loops]
    return sorted(seen) == sorted(back) and not spec.add and not spec.cut


def ports(course: Course) -> Iterator[Breach]:
    """Oil ports line up: as built to a quarter of their diameter (the limit of the notes), and with nothing turned away."""
    joints = {part: joint for joint in course.reducer.of_kind(PortJoint) for part in joint.parts}
    for item, (_, step) in _turned(course).items():
        part = course.reducer.by_name.get(item)
        if item in joints:
            yield course.breach("ports", step, item, next(name for name in joints[item].parts if name != item))
        elif part is not None and part.role in ("gasket", "cartridge", "case"):
            yield course.breach("ports", step, item, says="hole")
    for joint in course.reducer.of_kind(PortJoint):
        met = course.met(*joint.parts)
        if met is not None and abs(joint.angles[0] - joint.angles[1]) * abs(joint.at[2]) > joint.diameter / 4.0:
            yield course.breach("ports", met, joint.parts[1], joint.parts[0])


def _pair_turned(course: Course, pair: Pair, wrong: list[str], turned: dict[str, tuple[int, Step]]) -> Breach:
    """What a pair becomes with one of its bearings, or both, turned end for end."""
    machine = course.reducer.machine
    data = machine.high_speed_pair if pair.shaft == course.pinion_shaft else machine.low_speed_pair
    which: Literal["first", "second", "both"] = "both" if len(wrong) == 2 else "first" if wrong[0] == pair.bearings[0] else "second"
    result = duplex.consequence(
        data.arrangement, turned=which, equal_spacers=data.internal_play,
        inner_spacer=data.inner_spacer.nominal, outer_spacer=data.outer_spacer.nominal,
    )  # fmt: skip
    place = max(turned[item][0] for item in turned if any(item in (name, *course.members(name)) for name in wrong))
    return course.breach(
        "pair_faces", (place, DONE), wrong[-1], pair.bearings[0] if wrong[-1] == pair.bearings[1] else pair.bearings[1],
        says="both" if which == "both" else "breach", shaft=course.name(pair.shaft),
        marked=text(f"arrangement.{data.arrangement}"), result=text(f"arrangement.{result.arrangement}"), slip=text(f"pair_slip.{result.key}"),
    )  # fmt: skip


def turned_by_hand(course: Course) -> Iterator[Breach]:
    """Each pair is turned by hand once it is clamped: one in a cartridge before that goes into the case, the gears at the end."""
    for pair in course.pairs:
        tight = course.tightened(pair.nut)
        if not tight:
            continue
        away = _shut_away(course, pair) or course.met(pair.cover, pair.housing)
        if away is None:
            continue
        own = [place for place, step in _turnings(course, tight[0]) if _same(course, step.bench, pair.shaft, place)]
        limit = away if away > tight[0] else course.end
        if not own or own[0] > limit:
            yield course.breach("turned_by_hand", limit, pair.bearings[0], says="pair", shaft=course.name(pair.shaft))
    mesh = course.reducer.of_kind(MeshJoint)[0]
    covers = [course.met(pair.cover, pair.housing) for pair in course.pairs]
    closed = [place for place in covers if place is not None]
    met = course.met(mesh.pinion, mesh.gear)
    if len(closed) < len(covers) or met is None:
        return
    run = course.reading("first_run")
    limit = run[0][0] if run else course.end
    last = [place for place, step in _turnings(course, max(*closed, met)) if place <= limit and "set_number" in step.reads]
    if not last:
        yield course.breach("turned_by_hand", limit, mesh.pinion, mesh.gear, says="gears")


def _turnings(course: Course, since: Place) -> list[tuple[Place, Step]]:
    """Every step that turns a shaft by hand, from a place on, in the order of the job."""
    return sorted((one for name in TURNING for one in course.reading(name, since)), key=lambda one: one[0])


def seated(course: Course) -> Iterator[Breach]:
    """A pair's nut is tightened when both bearings are home: a nut torqued before clamps nothing, or the wrong stack."""
    for pair in course.pairs:
        for place in course.tightened(pair.nut)[:1]:
            late = [name for name in pair.bearings if (came := course.at(name)) is not None and came.at > place]
            if late:
                yield course.breach("seated", place, pair.nut, late[0])


def lip_guarded(course: Course) -> Iterator[Breach]:
    """A shaft seal passes the keyway under a thin sleeve."""
    for event in course.events:
        seals = [name for name in sorted(event.parts) if course.reducer.by_name[name].role == "seal"]
        shafts = {pair.shaft for pair in course.pairs}
        if event.merging and seals and shafts & event.standing and GUARD not in event.step.tools:
            yield course.breach("lip_guarded", event.step, seals[0])


def _shut_away(course: Course, pair: Pair) -> Place | None:
    """When the pair's unit goes into the case, for a pair that was built on a bench of its own."""
    event = course.at(pair.housing)
    if event is None:
        return None
    bases = [joint.base for joint in course.reducer.of_kind(GasketJoint) if joint.flange == pair.housing]
    met = course.met(pair.housing, *bases)
    clamped = course.at(pair.nut)
    return met if met is not None and clamped is not None and clamped.at < met else None


def _same(course: Course, bench: str, part: str, place: Place) -> bool:
    event = course.at(part)
    return event is not None and course.home(bench, place) == course.home(event.bench, place)


def kept(course: Course) -> Iterator[Breach]:
    """A pair that slides in its housing is held by a keeper or its cover while the unit is hoisted into the case."""
    for pair in course.pairs:
        away = _shut_away(course, pair)
        cover = course.met(pair.cover, pair.housing)
        if away is None or (cover is not None and cover < away):
            continue
        if not any(KEEPER in step.tools and not step.optional for step in course.steps[: away[0] + 1]):
            yield course.breach("kept", away, pair.bearings[1], pair.housing)
