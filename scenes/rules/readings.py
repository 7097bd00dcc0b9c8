"""Readings: each is taken, with all there that it reads, and before what hides it or makes it void."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from geometry.joints import DowelJoint, Fit, GasketJoint, MeshJoint, NutJoint, Rest, ScrewJoint
from scenes.procedure import Step
from scenes.rules.course import DONE, SQUARE, Breach, Came, Course, Place, first

COLD = frozenset({"shoulder_gap", "backlash", "trial_backlash"})
"""Readings that count only when all parts are of one temperature."""
THERMOMETER = "contact_thermometer"
MESH = ("backlash", "pattern")
READ_WITH: Mapping[str, tuple[frozenset[str], ...]] = MappingProxyType({
    "zero_energy": (frozenset({"lockout_kit"}),),
    "incoming": (frozenset({"micrometer"}), frozenset({"bore_gauge"})),
    "bore_clearance": (frozenset({"bore_gauge"}),),
    "shoulder_gap": (frozenset({"feeler"}),),
    "gear_drop": (frozenset({"feeler", "depth_micrometer"}),),
    "flange_gap": (frozenset({"feeler"}),),
    "trial_depth": (frozenset({"depth_micrometer"}),),
    "trial_backlash": (frozenset({"dial_plunger"}),),
    "end_face_step": (frozenset({"straight_edge", "depth_micrometer", "dial_plunger"}),),
    "high_speed_end_play": (frozenset({"dial_plunger"}),),
    "low_speed_end_play": (frozenset({"dial_plunger"}),),
    "backlash": (frozenset({"dial_plunger"}),),
    "pattern": (frozenset({"marking_blue"}),),
    "first_run": (frozenset({"contact_thermometer"}),),
    "first_run_temperature": (frozenset({"contact_thermometer"}),),
})  # fmt: skip
"""What each reading is taken with, tools or consumables: one of each set. A reading by eye or hand, or found from others, has none; what
reads torque is asked for where threads are tightened, the thermometer of a cold reading in `one_temperature`."""


@dataclass(frozen=True)
class Due:
    """A reading with what must be there (part or bench met, screws tight, tool out), and what hides it; `of`: a part of what it reads."""

    reading: str
    after: tuple[tuple[str, Place | None], ...] = ()
    before: tuple[tuple[str, Place | None], ...] = ()
    needs: tuple[str, ...] = ()
    of: str = ""


def _dues(course: Course) -> list[Due]:
    """Every reading that this layout asks for."""
    met, mesh = course.met, course.reducer.of_kind(MeshJoint)[0]
    run = _first(course, "first_run")

    def tight(thread: str) -> list[Place]:
        """When a thread is tightened for the readings: going over it after the first run comes too late for them."""
        return [place for place in course.tightened(thread) if run is None or place < run]

    found: list[Due] = []
    bases = {flange: base for _, flange, base in course.lays}
    openings = [(plate, met(plate, bases[plate])) for plate in course.openings]
    covers: list[tuple[str, Place | None]] = []
    plays = []
    for pair in course.pairs:
        screws = course.screws(pair.cover)
        done = tight(screws)
        covers.append(
            (
                pair.cover,
                max(place for place in (met(pair.cover, pair.housing), done[0]) if place)
                if done and met(pair.cover, pair.housing)
                else None,
            )
        )
        plays.append("high_speed_end_play" if pair.shaft == course.pinion_shaft else "low_speed_end_play")
    for cover, play in zip(covers, plays, strict=True):
        found.append(Due(play, after=(cover,), before=tuple((name, _first(course, name)) for name in MESH), of=cover[0]))
    drawn = [(screws, tight(screws)[0] if tight(screws) else None) for screws in _across(course)]
    flange = next(
        (gasket.flange for gasket in course.reducer.of_kind(GasketJoint) if course.screws(gasket.flange) in dict(drawn)), ""
    )
    base = next(iter(course.reducer.of_kind(GasketJoint))).base if not flange else next(
        gasket.base for gasket in course.reducer.of_kind(GasketJoint) if gasket.flange == flange
    )  # fmt: skip
    lid = course.reducer.of_kind(DowelJoint)[0].parts[0]
    closed = first(
        (met(lid, base), *((place, 0) for place, step in enumerate(course.steps) if step.optional and lid in step.arrives))
    )
    upright = next(pair for pair in course.pairs if abs(_axis(course, pair.shaft)[2]) > SQUARE)
    lying = next(pair for pair in course.pairs if pair is not upright)
    lowered = met(upright.shaft, base)
    found += [
        Due("gear_drop", after=((upright.shaft, lowered),), before=((flange, met(flange, base)), (lid, closed)), of=base),
        Due("flange_gap", after=((flange, met(flange, base)),), before=((lid, closed),), of=base),
        Due("end_face_step", after=tuple((name, tight(name)[0] if tight(name) else None) for name in (course.screws(lid, base),)), before=tuple(drawn), of=base),
        Due("pinion_running", after=(covers[course.pairs.index(lying)],), of=base),
        Due("gear_distance", after=((upright.nut, tight(upright.nut)[0] if tight(upright.nut) else None),), of=base),
        Due("backlash", after=(*covers, *drawn, (mesh.gear, met(mesh.pinion, mesh.gear))), before=tuple(openings), needs=tuple(plays), of=base),
        Due("pattern", after=(*covers, *drawn, (mesh.gear, met(mesh.pinion, mesh.gear))), before=tuple(openings), needs=tuple(plays), of=base),
        Due("set_number", after=((mesh.gear, met(mesh.pinion, mesh.gear)),), before=tuple(openings), of=base),
        Due("pump_direction", before=(("first_run", _first(course, "first_run")),)),
        Due(_tools_counted(course), after=tuple((tool, place) for tool, place in _tools_out(course)), before=(("first_run", _first(course, "first_run")),), of=base),
    ]  # fmt: skip
    return found


def _circles(course: Course) -> frozenset[str]:
    """Circles of screws."""
    return frozenset(joint.screws for joint in course.reducer.of_kind(ScrewJoint))


def _first(course: Course, reading: str) -> Place | None:
    taken = course.reading(reading)
    return taken[0][0] if taken else None


def _tools_counted(course: Course) -> str:
    """What the procedure calls the count of tools at the end: an owner's older one ticks it."""
    return "tool_count" if course.reading("tool_count") else "tools_out"


def _tools_out(course: Course) -> list[tuple[str, Place | None]]:
    found: list[tuple[str, Place | None]] = []
    for rest in course.reducer.of_kind(Rest):
        out = course.gone(rest.part)
        if out is not None:
            found.append((rest.part, out[0]))
    return found


def _axis(course: Course, shaft: str) -> tuple[float, float, float]:
    return next(fit.axis for fit in course.reducer.of_kind(Fit) if fit.shaft_part == shaft)


def _across(course: Course) -> list[str]:
    """Screws of flanges that lie across the split: the gasket's axis is level."""
    return [
        course.screws(joint.flange, joint.base)
        for joint in course.reducer.of_kind(GasketJoint)
        if abs(joint.axis[2]) < SQUARE and course.reducer.by_name[joint.base].role == "case"
    ]


def taken(course: Course) -> Iterator[Breach]:
    """Each reading is taken, with its tool, on the bench where it is to be had, with all there that it reads, and before what hides it."""
    for step in course.steps:
        for name in step.reads:
            lacking = [tools for tools in READ_WITH.get(name, ()) if not tools & {*step.tools, *step.consumables}]
            if lacking:
                yield course.breach("taken", step, name, min(lacking[0]), says="no_tool")
    for due in _dues(course):
        ready = max((place for _, place in due.after if place is not None), default=None)
        if due.after and any(place is None for _, place in due.after):
            continue  # what it reads is never there: told by other rules
        readings = course.reading(due.reading)
        there = [(place, step) for place, step in readings if ready is None or place >= ready]
        good = [place for place, step in there if _at_its_bench(course, due, place, step)]
        hidden = min(((place, name) for name, place in due.before if place is not None), default=None)
        if not readings:
            where: Step | Place = hidden[0] if hidden is not None else course.end
            yield course.breach(
                "taken", where, due.reading, hidden[1] if hidden else "", says="never" if hidden is None else "not_before"
            )
        elif there and not good:
            step = there[0][1]
            yield course.breach(
                "taken", step, due.reading, _bench_of(course, due, there[0][0]), says="elsewhere", at=course.name(step.bench)
            )
        elif not good:
            name = max((place, name) for name, place in due.after if place is not None)[1]
            says = "not_tight" if name in _circles(course) else "nothing_there"
            yield course.breach("taken", readings[-1][1], due.reading, name, says=says)
        elif hidden is not None and all(place > _limit(hidden) for place in good):
            yield course.breach("taken", good[0], due.reading, hidden[1], says="hidden")


def _bench_of(course: Course, due: Due, place: Place) -> str:
    """The bench on which a reading is to be had by then, none where it is not said."""
    event = course.at(due.of) if due.of else None
    return course.home(event.bench, place) if event is not None else ""


def _at_its_bench(course: Course, due: Due, place: Place, step: Step) -> bool:
    """Whether a step reads where the reading is to be had: the bench itself, not one that has joined it."""
    return _bench_of(course, due, place) in ("", step.bench)


def _limit(hidden: tuple[Place, str]) -> Place:
    """A reading in the very step of what hides it is taken in good time."""
    return hidden[0][0], DONE


def plays_first(course: Course) -> Iterator[Breach]:
    """Both end plays are read before backlash and pattern."""
    for due in _dues(course):
        for play in due.needs:
            read, mesh = _first(course, play), course.reading(due.reading)
            if read is not None and mesh and mesh[0][0] < read:
                yield course.breach("plays_first", mesh[0][1], due.reading, play)


def one_temperature(course: Course) -> Iterator[Breach]:
    """Gap and backlash are read with a thermometer at hand."""
    for step in course.steps:
        cold = COLD & set(step.reads)
        if cold and THERMOMETER not in step.tools:
            yield course.breach("one_temperature", step, min(cold))


def hot_bore(course: Course) -> Iterator[Breach]:
    """The bore of a gear is measured hot, before it goes down."""
    for event, _ in _hubs(course):
        measured = [
            step for step in course.steps[: event.at[0] + 1] if "bore_clearance" in step.reads and step.bench == event.step.bench
        ]
        if event.step.method == "hot" and not measured:
            yield course.breach("hot_bore", event.step, event.item)


def _hubs(course: Course) -> Iterator[tuple[Came, Fit]]:
    for fit in course.reducer.of_kind(Fit):
        event = course.at(fit.bore_part)
        if fit.hub == "gear" and event is not None and event.standing & {fit.shaft_part}:
            yield event, fit


def shoulder(course: Course) -> Iterator[Breach]:
    """A hot gear is tried at its shoulder, cold, with its own nut retightened, before anything else goes on that bench."""
    nuts = course.reducer.of_kind(NutJoint)
    for event, fit in _hubs(course):
        place, bench = event.at[0], event.step.bench
        own: set[str] = set()
        for nut in nuts:
            if nut.shaft == fit.shaft_part and course.reducer.by_name[nut.nut].bench == course.reducer.by_name[fit.bore_part].bench:
                if fit.bore_part == course.reducer.of_kind(MeshJoint)[0].pinion:
                    own |= {nut.nut, nut.washer}
        read: int | None = None
        for later, step in enumerate(course.steps[place:], place):
            if step.optional or course.home(step.bench, (later, 0)) != course.home(bench, (later, 0)) and step.merges != bench:
                continue
            if "shoulder_gap" in step.reads:
                read = later
                break
            brings = later > place and (set(step.arrives) - own or step.merges or step.method == "bend_tab")
            if brings:
                what = step.merges or next((item for item in step.arrives if item not in own), "")
                says = "breach" if what else "tab"
                yield course.breach("shoulder", step, event.item, what, says=says)
                break
        else:
            yield course.breach("shoulder", event.step, event.item, says="never")
        for item in own:
            came = course.at(item)
            if read is not None and came is not None and came.at[0] > read:
                yield course.breach("shoulder", course.steps[read], event.item, item, says="before_nut")
                break


def followed_up(course: Course) -> Iterator[Breach]:
    """A hot pinion is followed up by its nut while it is hot: nothing comes between on that bench."""
    pinion = course.reducer.of_kind(MeshJoint)[0].pinion
    event = course.at(pinion)
    if event is None or event.step.method != "hot":
        return
    nut = next(
        (
            joint
            for joint in course.reducer.of_kind(NutJoint)
            if joint.shaft in event.standing and course.reducer.by_name[joint.nut].bench == course.reducer.by_name[pinion].bench
        ),
        None,
    )
    if nut is None or nut.nut in event.step.arrives:
        return
    for later, step in enumerate(course.steps[event.at[0] + 1 :], event.at[0] + 1):
        if step.optional or course.home(step.bench, (later, 0)) != event.bench and step.merges != event.bench:
            continue
        if not {nut.nut, nut.washer} & set(step.arrives):
            yield course.breach("followed_up", step, pinion, nut.nut)
        return
