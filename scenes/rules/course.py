"""A job replayed for the rules: what came when on which bench, when two parts met for good, when a screw was tightened.

A place in the job is a pair: the step's place in the order, and what counts within the step: parts as they are brought, then
(`DONE`) what is tightened, read or locked with all of them there. Steps that may be skipped bring nothing for good and are left out.
Contents: `Job`, `Breach`, `Came`, `Course`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from types import MappingProxyType
from typing import Literal

from geometry.blocking import QUICK, Table
from geometry.joints import Fit, GasketJoint, MeshJoint, NutJoint, Rest, RollerJoint, ScrewJoint
from geometry.reducer import Reducer
from scenes.procedure import Procedure, Step
from scenes.wording import has, text

Place = tuple[int, int]
Level = Literal["stop", "watch"]
"""What a breach does: `stop` ends the order there, `watch` is told at the bench and lets the order stand."""
DONE = 1000
"""Within a step: after all that it brings."""
SQUARE = 0.5
"""Cosine below which two axes count as square to each other."""


@dataclass(frozen=True)
class Job:
    """What rules look at: the reducer, the order; `hot`: for each fit that can't be made hot, why (finished sentence, by joint name);
    `changed`: position gaskets of another thickness than the machine file's; `table`: of this reducer, at the pitch of the verdict (None: a
    quick look)."""

    reducer: Reducer = field(hash=False)
    procedure: Procedure
    hot: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}), hash=False)
    changed: tuple[str, ...] = ()
    table: Table | None = field(default=None, hash=False, compare=False, repr=False)


@dataclass(frozen=True)
class Breach:
    """A rule broken in a step. `part`: what is wrong there, a part, group or bench; `other`: what it should have come before or after."""

    rule: str
    step: str
    number: int
    part: str
    other: str
    text: str
    level: Level = "stop"

    @property
    def reason(self) -> str:
        """Why the rule stands."""
        return text(f"rule.{self.rule}.reason")

    @property
    def source(self) -> str:
        """Where the rule comes from."""
        return text(f"rule.{self.rule}.source")


@dataclass(frozen=True)
class Came:
    """One thing brought to a bench: its name in the procedure, its parts, the bench that it then belongs to and what stood there;
    `merging`: it is a bench."""

    at: Place
    step: Step
    item: str
    parts: frozenset[str]
    bench: str
    standing: frozenset[str]
    merging: bool = False


@dataclass(frozen=True)
class Pair:
    """A pair of angular contact bearings: its bearings in order, its shaft, its housing, the nut that clamps it, the cover over it."""

    bearings: tuple[str, str]
    shaft: str
    housing: str
    nut: str
    cover: str


class Course:
    """The job replayed."""

    def __init__(self, job: Job) -> None:
        self.job, self.reducer, self.procedure = job, job.reducer, job.procedure
        self.steps = tuple(self.procedure.steps[name] for name in self.procedure.order)
        self.events: list[Came] = []
        self.came: dict[str, Came] = {}
        self.left: dict[str, tuple[Place, Step]] = {}
        self._joined: list[tuple[Place, str, str]] = []
        self._at: dict[str, Came | None] = {}
        benches: dict[str, set[str]] = {}
        for place, step in enumerate(self.steps):
            if not step.optional:
                self._replay(place, step, benches)

    def _replay(self, place: int, step: Step, benches: dict[str, set[str]]) -> None:
        home = self.home(step.bench)
        there = benches.setdefault(home, set())
        for item in step.removes:
            for member in self.reducer.members(item):
                if member in there:
                    there.discard(member)
                    self.left[member] = ((place, 0), step)
        coming = [(item, frozenset(self.reducer.members(item)), False) for item in step.arrives]
        joining = self.home(step.merges) if step.merges else home
        if joining != home:
            sheets = sum(1 for _, parts, _ in coming if all(self.reducer.by_name[name].role == "gasket" for name in parts))
            coming.insert(sheets, (step.merges, frozenset(benches.pop(joining, set())), True))
        for count, (item, parts, merging) in enumerate(coming, 1):
            at = (place, count)
            fresh = parts - there
            if merging and parts:
                self._joined.append((at, joining, home))
            if not fresh:
                continue
            event = Came(at, step, item, fresh, home, frozenset(there), merging)
            self.events.append(event)
            there |= fresh
            if not merging:
                for name in fresh:
                    self.came[name] = event
                    self.left.pop(name, None)

    def home(self, bench: str, at: Place | None = None) -> str:
        """The bench that a bench has joined by then (None: by now, as the job is replayed)."""
        for when, joining, into in self._joined:
            if joining == bench and (at is None or when <= at):
                bench = into
        return bench

    def members(self, item: str) -> tuple[str, ...]:
        """The parts of a name; none for a bench or a part that this machine does without."""
        try:
            return self.reducer.members(item)
        except KeyError:
            return ()

    def at(self, item: str) -> Came | None:
        """The coming of a part or group for good (of a group: its last)."""
        if item not in self._at:
            found = [self.came.get(name) for name in self.members(item)]
            there = [event for event in found if event is not None]
            self._at[item] = max(there, key=lambda event: event.at) if there and len(there) == len(found) else None
        return self._at[item]

    def gone(self, item: str) -> tuple[Place, Step] | None:
        """When a part or group was last taken out, where it was."""
        found = [self.left[name] for name in self.members(item) if name in self.left]
        return max(found, key=lambda pair: pair[0]) if found else None

    def met(self, *items: str) -> Place | None:
        """When these stood on one bench for the first time, and from then on; None when they never do."""
        events = [self.at(item) for item in items]
        if not events or None in events:
            return None
        there = [event for event in events if event is not None]
        start = max(event.at for event in there)
        for when in (start, *(when for when, _, _ in self._joined if when > start)):
            if len({self.home(event.bench, when) for event in there}) == 1:
                return when
        return None

    def step_at(self, place: Place) -> Step:
        """The step of a place."""
        return self.steps[place[0]]

    def tightened(self, screws: str) -> list[Place]:
        """When a circle of screws or a nut was tightened to its torque: brought or named in a step with a torque wrench."""
        came = self.at(screws)
        return [
            (place, DONE)
            for place, step in enumerate(self.steps)
            if not step.optional
            and "torque_wrench" in step.tools
            and (screws in step.tightens or screws in step.reads or screws in step.arrives)
            and came is not None
            and place >= came.at[0]
        ]

    def reading(self, name: str, since: Place = (0, 0)) -> list[tuple[Place, Step]]:
        """Every step that takes a reading, from a place on."""
        return [
            ((place, DONE), step)
            for place, step in enumerate(self.steps)
            if name in step.reads and not step.optional and (place, DONE) >= since
        ]

    @cached_property
    def table(self) -> Table:
        """Who stands in whose way, at the pitch of the verdict."""
        return self.job.table or Table(self.reducer, QUICK)

    @cached_property
    def end(self) -> Place:
        """After the last step."""
        return len(self.steps) - 1, DONE

    @cached_property
    def fitted(self) -> tuple[tuple[Came, Fit], ...]:
        """Every fit with the coming that makes it."""
        fits = [(fit, {fit.bore_part, fit.shaft_part}) for fit in self.reducer.of_kind(Fit)]
        return tuple(
            (event, fit)
            for event in self.events
            for fit, pair in fits
            if not event.parts.isdisjoint(pair) and len(pair & event.parts) == 1 and len(pair & event.standing) == 1
        )

    @cached_property
    def lays(self) -> tuple[tuple[str, str, str], ...]:
        """Every gasket with the flange that closes over it and the base under it."""
        found = [(joint.gasket, joint.flange, joint.base) for joint in self.reducer.of_kind(GasketJoint)]
        for rest in self.reducer.of_kind(Rest):
            if rest.under and self.reducer.by_name[self.reducer.members(rest.part)[0]].role == "gasket":
                found.append((rest.part, rest.under, rest.on[0]))
        return tuple(found)

    @cached_property
    def openings(self) -> tuple[str, ...]:
        """The plates that close openings of the case: what a gasket of no measured thickness lies under, on a case half."""
        found = (
            (rest, self.reducer.by_name[self.reducer.members(rest.part)[0]].role)
            for rest in self.reducer.of_kind(Rest)
            if rest.under
        )
        return tuple(rest.under for rest, role in found if role == "gasket" and self.reducer.by_name[rest.on[0]].role == "case")

    @cached_property
    def pinion_shaft(self) -> str:
        """The shaft that carries the pinion."""
        pinion = self.reducer.of_kind(MeshJoint)[0].pinion
        return next(fit.shaft_part for fit in self.reducer.of_kind(Fit) if fit.bore_part == pinion)

    @cached_property
    def unit_of(self) -> Mapping[str, str]:
        """The bearing that a ring belongs to."""
        return {part.name: part.unit for part in self.reducer.parts if part.unit}

    @cached_property
    def rollers(self) -> tuple[tuple[str, str, RollerJoint], ...]:
        """Every roller bearing: the unit with its rollers, the loose ring, the joint."""
        return tuple((self.unit_of[joint.rollers], joint.ring, joint) for joint in self.reducer.of_kind(RollerJoint))

    @cached_property
    def pairs(self) -> tuple[Pair, ...]:
        """Every pair of angular contact bearings."""
        roller_units = {unit for unit, _, _ in self.rollers}
        fits = self.reducer.of_kind(Fit)
        shafts: dict[str, list[str]] = {}
        for fit in fits:
            unit = self.unit_of.get(fit.bore_part, "")
            if fit.hub == "bearing ring" and unit and unit not in roller_units:
                shafts.setdefault(fit.shaft_part, []).append(unit)
        found = []
        for shaft, (first, second) in shafts.items():
            housing = next(fit.bore_part for fit in fits if self.unit_of.get(fit.shaft_part) == first)
            nut = next(
                joint.nut
                for joint in self.reducer.of_kind(NutJoint)
                if joint.shaft == shaft and self._bench(joint.nut) == self._bench(self.reducer.members(first)[0])
            )
            cover = next(joint.flange for joint in self.reducer.of_kind(GasketJoint) if joint.base == housing)
            found.append(Pair((first, second), shaft, housing, nut, cover))
        return tuple(found)

    def _bench(self, part: str) -> str:
        return self.reducer.by_name[part].bench

    def screws(self, clamps: str, into: str = "") -> str:
        """The circle that clamps a part."""
        return next(
            (joint.screws for joint in self.reducer.of_kind(ScrewJoint) if joint.clamps == clamps and into in ("", joint.into)), ""
        )

    def name(self, item: str) -> str:
        """A part, a circle of screws, a bearing or a bench by its name for a fitter; anything else (a reading) by its own words."""
        members = self.members(item)
        if members:
            part = self.reducer.by_name[members[0]]
            if part.number:
                return text(part.wording, count=len(self.reducer.groups[part.name.rsplit("_", 1)[0]]))
            return text(part.wording) if len(members) == 1 else text(f"part.{item}")
        for kind in ("order.bench", "read", "part", "tool", "consumable"):
            if has(f"{kind}.{item}"):
                return text(f"{kind}.{item}")
        return item

    def breach(
        self,
        rule: str,
        where: Step | Place,
        part: str,
        other: str = "",
        *,
        says: str = "breach",
        level: Level = "stop",
        **values: str,
    ) -> Breach:
        """A breach with its finished sentence; `says`: which of the rule's sentences; `values`: what else it names."""
        step = where if isinstance(where, Step) else self.step_at(where)
        number = self.procedure.order.index(step.id) + 1
        told = text(
            f"rule.{rule}.{says}",
            number=number,
            step=text(f"step.{step.id}.title"),
            part=self.name(part),
            other=self.name(other) if other else "",
            **values,
        )
        return Breach(rule, step.id, number, part, other, told, level)


def first(places: Iterable[Place | None]) -> Place | None:
    """The earliest of places, of those that there are."""
    known = [place for place in places if place is not None]
    return min(known) if known else None
