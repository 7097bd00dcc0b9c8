"""Oil where a later part shuts it out: the first bearing of a pair, the lip of a shaft seal."""

from __future__ import annotations

from collections.abc import Iterator

from geometry.joints import Rest
from scenes.rules.course import Breach, Course

OIL = "oil"


def oiled_between(course: Course) -> Iterator[Breach]:
    """The first bearing of a pair is oiled before the second one shuts it in: from above no oil reaches it then."""
    for pair in course.pairs:
        first, second = (course.at(bearing) for bearing in pair.bearings)
        if first is None or second is None or first.at > second.at:
            continue
        names = {pair.bearings[0], *course.members(pair.bearings[0])}
        if not any(names & set(step.oils) for step in course.steps[first.at[0] : second.at[0] + 1] if not step.optional):
            yield course.breach("oiled_between", second.step, pair.bearings[0], pair.bearings[1], level="watch")


def lip_oiled(course: Course) -> Iterator[Breach]:
    """The lip of a shaft seal is oiled when the seal is put into its cover, or when it goes over the shaft."""
    shafts = {pair.shaft for pair in course.pairs}
    loose = {rest.part for rest in course.reducer.of_kind(Rest) if not rest.under}
    for event in course.events:
        seals = [name for name in sorted(event.parts & loose) if course.reducer.by_name[name].role == "seal"]
        if not seals or not shafts & event.standing:
            continue
        for seal in seals:
            came = course.at(seal)
            if came is not None and OIL not in {*came.step.consumables, *event.step.consumables}:
                yield course.breach("lip_oiled", event.step, seal)
