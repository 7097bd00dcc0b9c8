"""Threads: tightened to their torque, locked after that, and locked before they are out of reach."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache

from geometry.blocking import Table
from geometry.joints import NutJoint, ScrewJoint, WireJoint
from geometry.reducer import Reducer
from scenes import explode
from scenes.procedure import THREAD_COMPOUND, Step
from scenes.rules.course import DONE, Breach, Came, Course, Place


class Sight:
    """What stands in the way of a part that comes out along the side it came from, whatever the order: found when first asked for.

    `pitch`: of the dexels [mm]; tables of this pitch are asked.
    """

    def __init__(self, reducer: Reducer, pitch: float) -> None:
        self.reducer, self.pitch = reducer, pitch
        wires = {joint.screws: joint.wire for joint in reducer.of_kind(WireJoint)}
        self.own = {head: wire for screws, wire in wires.items() if wire in reducer.by_name for head in reducer.members(screws)}
        self._known: dict[tuple[str, str], dict[str, bool]] = {}

    def cover(self, table: Table, part: str, side: str, others: Iterable[str]) -> str:
        """Which of the others covers this part, none when it is free; its own lockwire does not."""
        known = self._known.setdefault((part, side), {self.own.get(part, part): False})
        new = [name for name in others if name not in known]
        if new:
            x, y, z = explode.AXES[side]
            found = table.in_the_way(
                [self.reducer.by_name[part]], [self.reducer.by_name[name] for name in new], (float(x), float(y), float(z))
            )
            known.update(dict.fromkeys(new, False))
            known.update({fixed.name: True for _, fixed, _ in found})
        return min((name for name in others if known[name]), default="")


@lru_cache(maxsize=4)
def sight(reducer: Reducer, pitch: float) -> Sight:
    """Who covers whom in this reducer, seen at this pitch [mm]."""
    return Sight(reducer, pitch)


@dataclass(frozen=True)
class Cover:
    """What puts a thread out of reach: when, in which step, which part."""

    at: Place
    step: Step
    item: str


def covered(course: Course, event: Came) -> Cover | None:
    """The later coming that puts a thread out of reach: something then stands where it, or any of its circle, would come out.

    A plate over an opening does not: it is made to come off again.
    """
    side = event.step.side.get(event.item, "")
    if not side:
        return None
    see, reopened = sight(course.reducer, course.table.pitch), _reopened(course)
    for later in course.events:
        if later.at <= event.at or later.bench != course.home(event.bench, later.at):
            continue
        others = (later.parts if event.parts.isdisjoint(later.parts) else later.standing) - reopened
        for part in sorted(event.parts):
            by = see.cover(course.table, part, side, others)
            if by:
                return Cover(later.at, later.step, by)
    return None


def _reopened(course: Course) -> frozenset[str]:
    """Plates over openings, with their gaskets and screws."""
    items = [*course.openings, *(course.screws(plate) for plate in course.openings)]
    items += [gasket for gasket, flange, _ in course.lays if flange in course.openings]
    return frozenset(part for item in items for part in course.members(item))


def torqued(course: Course) -> Iterator[Breach]:
    """Every nut and every screw with a torque is tightened to it, before the first run."""
    runs = course.reading("first_run")
    limit = runs[0][0][0] if runs else len(course.steps)
    threads = [joint.nut for joint in course.reducer.of_kind(NutJoint)]
    threads += [joint.screws for joint in course.reducer.of_kind(ScrewJoint) if joint.torque is not None]
    for thread in threads:
        event = course.at(thread)
        if event is not None and not any(place < limit for place, _ in course.tightened(thread)):
            yield course.breach("torqued", event.step, thread)


def washer_first(course: Course) -> Iterator[Breach]:
    """The tab washer lies under its nut."""
    for joint in course.reducer.of_kind(NutJoint):
        washer, nut = course.at(joint.washer), course.at(joint.nut)
        if washer is not None and nut is not None and washer.at > nut.at:
            yield course.breach("washer_first", washer.step, joint.washer, joint.nut)


def _bent(course: Course) -> dict[str, Place]:
    """For every tab washer: the step that bends its tab, the first of that kind on its bench after it came."""
    waiting: dict[str, str] = {}
    found: dict[str, Place] = {}
    washers = {joint.washer for joint in course.reducer.of_kind(NutJoint)}
    for place, step in enumerate(course.steps):
        if step.method == "bend_tab" and not step.optional:
            for washer in [item for item, bench in waiting.items() if bench == step.bench]:
                found[washer] = (place, DONE)
                del waiting[washer]
        waiting.update({item: step.bench for item in step.arrives if item in washers})
    return found


def _threads(course: Course) -> Iterator[tuple[str, Came, Place | None, str]]:
    """Every nut with its tab and every wired circle: the thread, its coming, when it is locked (None: never), and by what."""
    bent = _bent(course)
    for nut in course.reducer.of_kind(NutJoint):
        event = course.at(nut.nut)
        if event is not None:
            yield nut.nut, event, bent.get(nut.washer), nut.washer
    for wire in course.reducer.of_kind(WireJoint):
        event, came = course.at(wire.screws), course.at(wire.wire)
        if event is not None and came is not None:
            yield wire.screws, event, (came.at[0], DONE), wire.wire


def lock_after_torque(course: Course) -> Iterator[Breach]:
    """A lock is set when its thread is in and tight."""
    for thread, event, lock, by in _threads(course):
        tight = course.tightened(thread)
        if lock is not None and (lock[0] < event.at[0] or (tight and lock[0] < tight[-1][0])):
            yield course.breach("lock_after_torque", lock, by, thread)


def locked(course: Course) -> Iterator[Breach]:
    """Every locknut has a tab bent, every hidden screw its wire or compound, before it is covered."""
    known = set()
    for thread, event, lock, by in _threads(course):
        known.add(thread)
        cover = covered(course, event)
        if lock is None:
            where = cover.step if cover is not None else event.step
            yield course.breach("locked", where, thread, cover.item if cover else by, says="no_tab" if cover else "no_tab_at_all")
        elif cover is not None and lock[0] >= cover.at[0]:
            yield course.breach("locked", lock, thread, cover.item)
    for screws in course.reducer.of_kind(ScrewJoint):
        came = course.at(screws.screws)
        if screws.screws in known or came is None or THREAD_COMPOUND in came.step.consumables:
            continue
        cover = covered(course, came)
        if cover is not None:
            yield course.breach("locked", cover.step, screws.screws, cover.item, says="no_lock")
