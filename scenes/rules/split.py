"""The split of the case: how long the compound stands open, what waits for a tight split, the cartridge drawn in on its gasket."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from geometry.joints import DowelJoint, GasketJoint, Rest, ScrewJoint, Seat
from scenes.procedure import Step
from scenes.rules.closing import halves
from scenes.rules.course import SQUARE, Breach, Came, Course, Level, Pair, Place

FILM = "link.sealing_film"
"""The link of a chain that stands for the film at the split."""
RUNNING = "pinion_running"
COMPOUND = "sealing_compound"


def _along(course: Course, dowel: DowelJoint, gasket: GasketJoint) -> bool:
    """Whether a flange lies on one half only, its axis along that of the split; else it lies across."""
    split = next(seat for seat in course.reducer.of_kind(Seat) if {seat.part, seat.against} == set(dowel.parts))
    return abs(sum(a * b for a, b in zip(gasket.axis, split.axis, strict=True))) >= SQUARE


def _hung(course: Course, dowel: DowelJoint) -> Iterator[Pair]:
    """Pairs whose housing stands on the loose half, the one that comes last."""
    came = [(event.at, half) for half in dowel.parts if (event := course.at(half)) is not None]
    if len(came) < len(dowel.parts):
        return
    upper = max(came)[1]
    for gasket in course.reducer.of_kind(GasketJoint):
        if gasket.base == upper and _along(course, dowel, gasket):
            yield from (pair for pair in course.pairs if pair.housing == gasket.flange)


def split_tight(course: Course) -> Iterator[Breach]:
    """Dowels and split screws are in and tight before a shaft is hung in the upper half, and before anything is read through the split."""
    for dowel, screws in halves(course):
        tight, driven = course.tightened(screws.screws), course.at(dowel.dowels)
        if not tight or driven is None:
            continue  # told by other rules
        ready = max(tight[0], driven.at)
        late = screws.screws if tight[0] == ready else dowel.dowels
        filmed = {chain.name for chain in course.reducer.chains if any(link.name == FILM for link in chain.links)}
        for pair in _hung(course, dowel):
            early = [event for bearing in pair.bearings if (event := course.at(bearing)) is not None and event.at < ready]
            if early:
                first = min(early, key=lambda event: event.at)
                yield course.breach("split_tight", first.step, first.item, late)
            filmed.add("high_speed_end_play" if pair.shaft == course.pinion_shaft else "low_speed_end_play")
        for name in sorted(filmed):
            for place, step in course.reading(name):
                if place < ready:
                    yield course.breach("split_tight", step, name, late, says="reading")


def _bead(course: Course) -> Iterator[tuple[Came, Place, Place | None]]:
    """The bead of compound, when the halves meet on it, when the screws across it are first tight."""
    for rest in course.reducer.of_kind(Rest):
        if rest.under and course.reducer.by_name[course.reducer.members(rest.part)[0]].role == "seal":
            bead, met = course.at(rest.part), course.met(rest.under, *rest.on)
            if bead is None or met is None or bead.at > met:
                continue
            screws = next((screws.screws for dowel, screws in halves(course) if rest.under in dowel.parts), "")
            tight = course.tightened(screws) if screws else []
            yield bead, met, tight[0] if tight else None


def open_time(course: Course) -> Iterator[Breach]:
    """From the compound on, the halves meet in the next step and the split is tightened before other work; elsewhere a mate may work."""
    closing = {name for dowel, screws in halves(course) for name in (dowel.dowels, screws.screws)}
    for bead, met, tight in _bead(course):
        between = range(bead.at[0] + 1, max(met[0], met[0] if tight is None else tight[0]))
        waiting = [
            place
            for place in between
            if place != met[0]
            and not course.steps[place].optional
            and not (place > met[0] and _closes(course.steps[place], closing))
        ]
        here = [place for place in waiting if course.home(course.steps[place].bench, (place, 0)) == bead.bench]
        light = [place for place in here if place > met[0] and _light(course, course.steps[place])]
        told: tuple[tuple[Sequence[int], Level, str], ...] = (
            ([place for place in here if place not in light], "stop", "breach"),
            (light, "watch", "light"),
            ([place for place in waiting if place not in here], "watch", "mate"),
        )
        for places, level, says in told:
            if places:
                count = str(len(places))
                yield course.breach("open_time", course.steps[places[0]], bead.item, level=level, says=says, count=count)


def _closes(step: Step, closing: set[str]) -> bool:
    """Whether a step only closes the split, or reads with nothing fitted."""
    if step.merges or step.removes or not {*step.arrives, *step.tightens} <= closing:
        return False
    return bool(step.arrives or step.tightens) or step.method == "measure"


def _light(course: Course, step: Step) -> bool:
    """Whether a step only lays gaskets or enters screws finger-tight."""
    screws = {joint.screws for joint in course.reducer.of_kind(ScrewJoint)}
    sheets = {gasket for gasket, _, _ in course.lays}
    entered = set(step.arrives)
    return bool(entered) and entered <= screws | sheets and not step.merges and "torque_wrench" not in step.tools


def _flanges(course: Course) -> Iterator[tuple[GasketJoint, ScrewJoint]]:
    """Flanges that lie across the split, with their screws."""
    for dowel, _ in halves(course):
        for gasket in course.reducer.of_kind(GasketJoint):
            if gasket.base in dowel.parts and not _along(course, dowel, gasket):
                yield from ((gasket, joint) for joint in course.reducer.of_kind(ScrewJoint) if joint.clamps == gasket.flange)


def drawn_in(course: Course) -> Iterator[Breach]:
    """The running pinion position is read with the cartridge drawn in on its gasket: before that it stands backed off."""
    for _, screws in _flanges(course):
        tight = course.tightened(screws.screws)
        for place, step in course.reading(RUNNING):
            if tight and place < tight[0]:
                yield course.breach("drawn_in", step, RUNNING, screws.screws)


def dabbed(course: Course) -> Iterator[Breach]:
    """A dab of compound lies where the split meets the gasket of a flange across it, before that is drawn in."""
    if not any(True for _ in _bead(course)):
        return
    for gasket, screws in _flanges(course):
        tight = course.tightened(screws.screws)
        if not tight:
            continue
        steps = course.steps[: tight[0][0] + 1]
        if not any(COMPOUND in step.consumables and step.method != "seal" and not step.optional for step in steps):
            yield course.breach("dabbed", tight[0], screws.screws, gasket.gasket)
