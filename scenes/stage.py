"""One effective reducer with its order replayed: what stands where at a step, what the step is about, which way its parts come.

mm. Contents: `Stage`; `step_frame` draws a step of it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from geometry.part import Part
from geometry.reducer import Reducer
from scenes import explode
from scenes.benches import Standing, locked_at, replay
from scenes.callouts import heating
from scenes.callouts.bench import Bench
from scenes.frame import Vector
from scenes.procedure import Procedure, Step
from scenes.settings import Settings
from scenes.shown import Array, vector
from scenes.standing import Held

MOST_READ = 3
"""Circles of screws that a step's picture is about at most, when more are read in it."""
SHOULDER = "shoulder_gap"
"""The reading that looks at a part fitted hot, at its shoulder."""


@dataclass(eq=False)
class Stage:
    """Everything about one effective reducer that does not depend on the step: order replayed, exploded places, memories; its readings
    that stand."""

    reducer: Reducer
    procedure: Procedure
    held: Mapping[str, Held] = field(default_factory=dict)
    standing: dict[str, Standing] = field(init=False)
    locked: dict[str, int] = field(init=False)

    def __post_init__(self) -> None:
        self.standing = replay(self.reducer, self.procedure)
        self.locked = locked_at(self.reducer, self.procedure)
        self._spread: explode.Spread | None = None

    @property
    def spread(self) -> explode.Spread:
        """The full exploded view, made when first asked for."""
        if self._spread is None:
            self._spread = explode.spread(self.reducer, self.procedure)
        return self._spread

    def parts_at(self, step: Step) -> dict[str, Part]:
        """The parts as they are after a step: a tab still flat until its step has bent it."""
        place = self.procedure.order.index(step.id)
        return {
            name: replace(part, spec=part.unlocked) if part.unlocked is not None and self.locked[name] > place else part
            for name, part in self.reducer.by_name.items()
        }

    def merged(self, step: Step) -> tuple[str, ...]:
        """Parts that come with a merging bench and stood together before."""
        fitted = {member for item in step.arrives for member in self.reducer.members(item)}
        return tuple(name for name in self.standing[step.id].arriving if name not in fitted)

    def bulk(self, name: str) -> float:
        """Volume of a part's box: the largest part stands for its bench [mm3]."""
        return float(np.prod(np.diff(explode.box_of(self.reducer.by_name[name]), axis=0)))

    def subject(self, step: Step) -> tuple[str, ...]:
        """What a step is about: what arrives; else the lock it sets, the screws or chain it reads, or what was last fitted hot or fitted at all."""
        standing, reducer = self.standing[step.id], self.reducer
        if standing.arriving or standing.leaving:
            merged = self.merged(step)
            named = tuple(name for name in standing.arriving if name not in merged) or standing.leaving
            return named + ((max(merged, key=self.bulk),) if merged else ())
        if step.method == "turn_over":
            return tuple(sorted(standing.before, key=self.bulk)[-2:])
        place = self.procedure.order.index(step.id)
        locks = tuple(name for name, at in self.locked.items() if at == place)
        if locks:
            return locks
        there = set(standing.before)
        read = [item for item in step.reads if item in reducer.groups][:MOST_READ]
        screws = [name for item in read for name in reducer.members(item)]
        if set(screws) & there:
            return tuple(name for name in screws if name in there)
        mesh = [name for name in ("pinion", "gear") if name in there]
        if len(mesh) == 2 and step.phase in ("closing_checks", "dry_trial"):
            return tuple(mesh)
        earlier = [
            self.procedure.steps[name] for name in self.procedure.order[:place] if self.procedure.steps[name].bench == step.bench
        ]
        hot = [item for item in earlier if item.method == "hot"]
        if SHOULDER in step.reads and hot:
            earlier = hot
        for item in reversed(earlier):
            names = tuple(name for name in self.standing[item.id].arriving if name in there)
            if names:
                return names
        return ()

    def bench(self, step: Step, settings: Settings) -> Bench:
        """What the callouts of a step are computed from."""
        standing = self.standing[step.id]
        arriving = frozenset(standing.arriving)
        stands = (frozenset(standing.before) - frozenset(standing.leaving)) | arriving
        return Bench(self.reducer, step, arriving, stands, settings, frozenset(self.merged(step)), self.held)

    def tools(self, step: Step) -> tuple[str, ...]:
        """Tools of a step, the oven named where the part is heated in it; no setting changes them."""
        return heating.tools_of(self.bench(step, Settings()))

    def travel(self, step: Step) -> dict[str, tuple[Vector, ...]]:
        """For each arriving part: its way from the far end to just before its seat, as shifts from the seat [mm]."""
        standing, parts = self.standing[step.id], self.reducer.by_name
        merged = set(self.merged(step))
        if not (step.arrives or step.removes or merged):
            return {}
        placed = [explode.box_of(parts[name]) for name in standing.before if not parts[name].tool and name not in standing.leaving]
        ways: dict[str, tuple[Vector, ...]] = {}
        groups: list[tuple[tuple[str, ...], Array]] = []
        for item in (*step.arrives, *step.removes):
            groups.append((self.reducer.members(item), explode.side_of(step, item)))
        if merged:  # after the gasket that it stands on, before the screws that hold it
            sheets = sum(1 for item in step.arrives if parts[self.reducer.members(item)[0]].role == "gasket")
            unit = tuple(name for name in standing.arriving if name in merged)
            groups.insert(sheets, (unit, explode.AXES[explode.merge_side(step)]))
        for members, direction in groups:
            moving = [explode.box_of(parts[name]) for name in members]
            if step.path and (merged == set(members) or not merged):
                way = self._legs(step)
            else:
                distance = explode.clear_distance(moving, placed, direction) if placed else 0.0
                way = (vector(direction * distance),)
            for name in members:
                ways[name] = way
            shift = np.array(way[0])
            placed = placed + [box + shift for box in moving]
        return ways

    @staticmethod
    def _legs(step: Step) -> tuple[Vector, ...]:
        """A path given leg by leg, from the far end: shifts from the seat at its corners [mm]."""
        shift = np.zeros(3)
        points = []
        for axis, length in reversed(step.path):
            shift = shift + explode.AXES[str(axis)] * float(length)
            points.append(vector(shift))
        return tuple(reversed(points))
