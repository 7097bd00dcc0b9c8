"""Fits and forces: hot, press, draw or slide as the fit asks; force through the right ring, reacted honestly; the shaft carried."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from types import MappingProxyType

from geometry.joints import Fit, Rest
from scenes.callouts.heating import INDUCTION, OVEN
from scenes.procedure import MAIN_BENCH
from scenes.rules.course import Breach, Course

SLACK = 1e-6
"""Fits tighter or looser than this count as tight or loose [mm]."""
FORCED = ("press", "draw_on")
STANDS = frozenset({"blocks", "v_blocks", "tube_stand", "soft_jaws"})
"""What a bench is stood on so that a press can react."""
BOTH, RING = "both_rings_plate", "driving_ring"
DONE_WITH: Mapping[str, tuple[tuple[str, ...], ...]] = MappingProxyType(
    {"press": (("press",),), "hot": ((INDUCTION, OVEN), ("contact_thermometer",))}
)
"""Tools without which a method can't be done, one of each group (a puller is asked for where its force is reacted)."""


def method_fits(course: Course) -> Iterator[Breach]:
    """A tight fit goes on hot or by force, a gear hot only; what slides is neither heated nor forced; the method has its tools."""
    made = course.fitted
    yield from _tools_of(course)
    yield from _needless(course)
    for event, fit in made:
        method, tight = event.step.method, fit.clearance[1] < -SLACK
        part = event.item if not event.merging else fit.bore_part
        if method == "hot" and fit.hub in ("gear", "bearing ring"):
            housed = any(other is not fit and at is event and other.hub == "housing" for at, other in made)
            if fit.clearance[1] > SLACK:
                yield course.breach("method_fits", event.step, part, says="loose")
            elif housed:
                yield course.breach("method_fits", event.step, part, says="housed")
            elif fit.name in course.job.hot:
                yield course.breach("method_fits", event.step, part, says="too_hot", why=course.job.hot[fit.name])
        elif fit.hub == "gear" and tight:
            yield course.breach("method_fits", event.step, part, fit.shaft_part, says="gear")
        elif fit.hub == "bearing ring" and tight and method not in FORCED:
            says = "blows" if method == "soft_drift" else "ring"
            yield course.breach("method_fits", event.step, part, fit.shaft_part, says=says)
        elif method == "hot" and fit.hub == "housing" and event.parts & {fit.shaft_part}:
            yield course.breach("method_fits", event.step, part, says="housed")
        elif fit.hub == "housing" and tight and method not in FORCED and event.parts & {fit.shaft_part}:
            yield course.breach("method_fits", event.step, part, fit.bore_part, says="housing")


def _tools_of(course: Course) -> Iterator[Breach]:
    """Steps whose method lacks a tool."""
    for event in {event.step.id: event for event in course.events}.values():
        for tools in DONE_WITH.get(event.step.method, ()):
            if not {*tools} & {*event.step.tools}:
                yield course.breach("method_fits", event.step, event.item, tools[0], says="no_tool")


def _needless(course: Course) -> Iterator[Breach]:
    """What comes hot or by force in a step that makes no fit that asks for it: spacers, keys, dowels, units that slide in."""
    made = {(event.step.id, fit.hub) for event, fit in course.fitted}
    for event in course.events:
        step = event.step
        fits = {hub for name, hub in made if name == step.id} - {"cartridge", "loose"}
        sealed = any(course.reducer.by_name[name].role == "seal" for item in step.arrives for name in course.members(item))
        if not event.standing or fits:
            continue
        if step.method == "hot":
            yield course.breach("method_fits", step, event.item, says="cold")
        elif step.method in FORCED and not sealed:
            yield course.breach("method_fits", step, event.item, says="by_hand")


def reacted(course: Course) -> Iterator[Breach]:
    """The force of a press or puller is reacted on the same shaft, or on a stated block."""
    made = course.fitted
    for event in course.events:
        step = event.step
        if step.method == "draw_on" and event.item in step.arrives and "draw_tool" not in step.tools:
            yield course.breach("reacted", step, event.item, says="no_puller")
        if step.method != "press" or event.merging:
            continue
        on_shaft = [
            fit
            for at, fit in made
            if at is event and course.reducer.by_name[fit.shaft_part].role == "shaft" and fit.clearance[1] < 0.0
        ]
        if on_shaft and event.bench == MAIN_BENCH:
            yield course.breach("reacted", step, event.item, on_shaft[0].shaft_part, says="closed_case")
        elif not any(
            STANDS & set(other.tools) and other.bench == step.bench and not other.optional
            for other in course.steps[: event.at[0] + 1]
        ):
            yield course.breach("reacted", step, event.item, says="no_block")


def through_ring(course: Course) -> Iterator[Breach]:
    """Force goes only through the ring being fitted, through both by a plate when both meet their seats; never through the balls."""
    made = course.fitted
    for event in course.events:
        if event.step.method not in FORCED or event.merging:
            continue
        rings = {fit.name for at, fit in made if at is event and fit.hub in ("bearing ring", "housing")}
        tools = set(event.step.tools)
        if len(rings) > 1 and BOTH not in tools:
            yield course.breach("through_ring", event.step, event.item, says="both")
        elif len(rings) == 1 and not tools & {BOTH, RING}:
            yield course.breach("through_ring", event.step, event.item)


def _packers(course: Course) -> tuple[str, str] | None:
    """The tools that carry the shaft, and what they stand on."""
    for rest in course.reducer.of_kind(Rest):
        if course.reducer.by_name[course.reducer.members(rest.part)[0]].tool:
            return rest.part, rest.on[0]
    return None


def _upright(course: Course) -> str:
    """The shaft that hangs: its fits stand upright."""
    return next(
        fit.shaft_part
        for fit in course.reducer.of_kind(Fit)
        if abs(fit.axis[2]) > 0.5 and course.reducer.by_name[fit.shaft_part].role == "shaft"
    )


def carried(course: Course) -> Iterator[Breach]:
    """A roller bearing carries no weight: the upright shaft stands on packers until its pair and nut carry it."""
    packers = _packers(course)
    if packers is None:
        return
    shaft = _upright(course)
    pair = next(pair for pair in course.pairs if pair.shaft == shaft)
    lowered = course.met(shaft, packers[1])
    if lowered is None:
        return
    event, out = course.at(packers[0]), course.gone(packers[0])
    hung = course.tightened(pair.nut)
    if event is None and out is None or event is not None and event.at > lowered:
        carried_already = hung and hung[0] < lowered
        if not carried_already:
            yield course.breach("carried", lowered, shaft, packers[0])
    if out is not None and out[0] > lowered:
        seated = [course.at(bearing) for bearing in pair.bearings]
        ready = [came.at for came in seated if came is not None] + hung[:1]
        if len(ready) < 3 or max(ready) > out[0]:
            missing = next(
                (name for name, came in zip(pair.bearings, seated, strict=True) if came is None or came.at > out[0]), pair.nut
            )
            yield course.breach("carried", out[1], packers[0], missing, says="too_soon")


CLOSING = ("low_speed_end_play", "gear_distance", "backlash", "pattern", "first_run")
"""Readings that mean nothing while the gear stands on packers."""


def counted(course: Course) -> Iterator[Breach]:
    """Packers are counted in and counted out, and are out before the closing readings and before they are shut in."""
    packers = _packers(course)
    if packers is None:
        return
    tool, base = packers
    out = course.gone(tool)
    ins = [place for place, step in enumerate(course.steps) if tool in step.arrives and not step.optional]
    if ins:
        shaft = course.met(_upright(course), base)
        counts = [place for place, _ in course.reading("packers_in") if place[0] >= ins[0]]
        if not counts or (shaft is not None and shaft[0] > ins[0] and counts[0] > shaft):
            yield course.breach("counted", course.steps[ins[0]], tool, "packers_in")
    if out is None:
        return
    counts = [place for place, _ in course.reading("packers_out") if place >= out[0]]
    if not counts:
        yield course.breach("counted", out[1], tool, "packers_out")
    for name in CLOSING:
        early = [step for place, step in course.reading(name) if place < out[0]]
        if early:
            yield course.breach("counted", early[0], tool, name, says="reading")
            break
    for rest in course.reducer.of_kind(Rest):
        if rest.under and rest.on[0] == base:
            plate = course.met(rest.under, base)
            if (
                plate is not None
                and plate < out[0]
                and course.reducer.by_name[course.reducer.members(rest.part)[0]].role == "gasket"
            ):
                yield course.breach("counted", out[1], tool, rest.under, says="shut_in")
