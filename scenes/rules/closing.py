"""Closing the case: compound, dowels, split screws, the flange that lies across the split, the dry trial before all of it."""

from __future__ import annotations

from collections.abc import Iterator

from geometry.joints import DowelJoint, GasketJoint, Rest, ScrewJoint, Seat
from scenes.procedure import Step
from scenes.rules.course import DONE, SQUARE, Breach, Course, Place

TRIAL = frozenset({"trial_depth", "trial_backlash"})


def compound_first(course: Course) -> Iterator[Breach]:
    """Sealing compound is on before the halves meet for good."""
    for rest in course.reducer.of_kind(Rest):
        if rest.under and course.reducer.by_name[course.reducer.members(rest.part)[0]].role == "seal":
            bead, closed = course.at(rest.part), course.met(rest.under, *rest.on)
            if bead is not None and closed is not None and bead.at > closed:
                yield course.breach("compound_first", bead.step, rest.part, rest.under)


def halves(course: Course) -> Iterator[tuple[DowelJoint, ScrewJoint]]:
    """Each doweled joint with the screws across it."""
    for dowel in course.reducer.of_kind(DowelJoint):
        for screws in course.reducer.of_kind(ScrewJoint):
            if {screws.clamps, screws.into} == set(dowel.parts):
                yield dowel, screws


def dowels_first(course: Course) -> Iterator[Breach]:
    """Dowels are driven through both halves, and before the screws across them are tightened."""
    for dowel, screws in halves(course):
        event, met, tight = course.at(dowel.dowels), course.met(*dowel.parts), course.tightened(screws.screws)
        if event is None:
            continue
        if met is not None and event.at < met:
            yield course.breach("dowels_first", event.step, dowel.dowels, dowel.parts[0], says="too_early")
        if tight and tight[0] < event.at:
            yield course.breach("dowels_first", tight[0], screws.screws, dowel.dowels)


def flange_free(course: Course) -> Iterator[Breach]:
    """The flange across the split stays finger-tight until upper half, dowels and split screws are tight."""
    splits = {frozenset((seat.part, seat.against)): seat for seat in course.reducer.of_kind(Seat)}
    for dowel, across in halves(course):
        split = splits[frozenset(dowel.parts)]
        for gasket in course.reducer.of_kind(GasketJoint):
            square = abs(sum(a * b for a, b in zip(gasket.axis, split.axis, strict=True))) < SQUARE
            if gasket.base not in dowel.parts or not square:
                continue
            screws = course.screws(gasket.flange, gasket.base)
            tight = course.tightened(screws)
            if not tight:
                continue
            closed, driven, drawn = course.met(*dowel.parts), course.at(dowel.dowels), course.tightened(across.screws)
            waits: list[tuple[str, Place | None]] = [
                (dowel.parts[0], closed),
                (dowel.dowels, driven.at if driven else None),
                (across.screws, drawn[0] if drawn else None),
            ]
            late = [name for name, at in waits if at is not None and at[0] >= tight[0][0] and at > (tight[0][0], 0)]
            if late:
                yield course.breach("flange_free", tight[0], screws, late[-1], flange=course.name(gasket.flange))


def trial(course: Course) -> Iterator[Breach]:
    """A dry trial is whole - closed, read, opened - and lies before the compound; it is needed where a gasket was changed."""
    steps = list(enumerate(course.steps))
    closed = [(place, step) for place, step in steps if step.optional and step.arrives]
    read = [(place, step) for place, step in steps if TRIAL & set(step.reads)]
    opened = [(place, step) for place, step in steps if step.optional and step.removes]
    if not (closed or read or opened):
        if course.job.changed:
            yield course.breach("trial", course.steps[-1], course.job.changed[0], says="needed")
        else:
            closing = next((step for step in course.steps if step.method == "seal"), course.steps[-1])
            yield course.breach("trial", closing, "trial_backlash", says="left_out", level="watch")
        return
    last: Step = (opened or read or closed)[-1][1]
    for found, says in ((closed, "not_closed"), (read, "not_read"), (opened, "not_opened")):
        if not found:
            yield course.breach("trial", last, "trial_backlash", says=says)
    if not (closed and read and opened):
        return
    brought = [item for _, step in closed for item in step.arrives]
    taken = [item for _, step in opened for item in step.removes]
    for item in dict.fromkeys([*taken, *brought]):
        if item not in brought:
            yield course.breach("trial", closed[0][1], item, says="not_brought")
        elif item not in taken:
            yield course.breach("trial", opened[-1][1], item, says="left_on")
    if read[0][0] < closed[0][0]:
        yield course.breach("trial", read[0][1], "trial_backlash", says="read_open")
    elif opened[0][0] < read[-1][0]:
        yield course.breach("trial", opened[0][1], "trial_backlash", says="opened_early")
    missing = TRIAL - {name for _, step in read for name in step.reads}
    if missing:
        yield course.breach("trial", read[-1][1], min(missing), says="not_read")
    for place, step in steps:
        if step.method == "seal" and any(place < when for when, _ in (*closed, *read, *opened)):
            item = step.arrives[0] if step.arrives else "sealant_bead"
            yield course.breach("trial", step, item, says="sealed")
    for place, step in closed:
        for item in step.arrives:
            event = course.at(item)
            if event is not None and event.at < (place, DONE) and course.gone(item) is None:
                yield course.breach("trial", step, item, says="already_closed")
