"""Slips of a job for trainees: what goes wrong, why it is wrong, and what it costs once it is noticed. mm, s.

A slip is a part left out, one that goes in the wrong way round, a lock left open, or a gasket of another thickness than built. Why: the rules
of the order that the slip breaks (scenes.rules), else the reason of the step that does it right; for a gasket the notes that change. What it costs: by the blocked ways and ties of scenes.forgotten, times as in the time plan; for a gasket by scenes.dismantling.
Contents: `Slip`, `Cost`, `Slips`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from types import MappingProxyType
from typing import Any, Literal

from calc import units
from geometry.blocking import QUICK
from geometry.joints import GasketJoint, NutJoint
from scenes import dismantling, forgotten, rules
from scenes.benches import locked_at
from scenes.explain import Explainer
from scenes.forgotten import SPELT_OUT, name_of
from scenes.moves import required
from scenes.procedure import MAIN_BENCH, Procedure
from scenes.settings import Settings
from scenes.undoing import Undoing
from scenes.wording import text

Kind = Literal["omitted", "turned", "open", "shim"]
END_FOR_END = ("pair_faces", "faces")
"""Rules that a part breaks when it lies the other way round, end for end."""
ABOUT_ITS_AXIS = "ports"
"""The rule that a part breaks when it is turned about its own axis."""
NEVER_TURNED = ("case", "sealant_bead")
"""What nobody can put the wrong way round: parts of this role, and what is laid from a tube."""
SHIMS = ("pinion_gasket", "gear_gasket")
"""Gaskets that place the mesh."""
READINGS = frozenset({"backlash", "pattern"})
"""Readings in which a wrong gasket shows: marks and dial."""
FOR_PLANNERS = ("complete",)
"""Rules that speak of the order as a file, not of the machine on the bench."""
WINDOW = 5
"""How many later steps of the same bench a slip may stay unnoticed in a question."""
MOST_PARTNERS = 4
"""Parts that one left out is said to belong with, at most."""
FITTED_BY = ("hot", "press", "draw_on", "soft_drift", "lower")
"""Methods whose steps give the reason for how a part goes on, not for the part."""
MOST_NOTES = 2
"""Notes that a wrong gasket is explained by at most."""


@dataclass(frozen=True)
class Slip:
    """What went wrong, seen after step `seen`. `item`: part, circle, bearing or gasket; `thickness`: of a wrong gasket [mm]."""

    kind: Kind
    item: str
    seen: str
    thickness: float = 0.0
    nominal: float = 0.0

    @property
    def thick(self) -> bool:
        """Whether a wrong gasket is too thick."""
        return self.thickness > self.nominal


@dataclass(frozen=True)
class Cost:
    """What comes off again, what of it sits tight on a shaft, whole units among it, and the time to do over [s]."""

    off: tuple[str, ...]
    tight: tuple[str, ...]
    benches: tuple[str, ...]
    time: float


class Slips:
    """The slips of one machine at the settings of its file. Making one replays the job (seconds); it draws nothing."""

    def __init__(self, explainer: Explainer) -> None:
        self.explainer = explainer
        self.now: Settings = replace(explainer.start_settings(), step=None, explode=0.0, cut=True)
        self.reducer = explainer.reducer(self.now)
        self.procedure: Procedure = required(explainer.procedure)
        self.undoing = Undoing(self.reducer, self.procedure, QUICK)
        self.times = explainer.times(self.now)
        self.totals = {row.id: row.total for row in self.times.steps}
        self.place = {name: place for place, name in enumerate(self.procedure.order)}
        self.event = {event.move.item: index for index, event in enumerate(self.undoing.events) if not event.move.bench}
        self.locked = {
            washer: self.procedure.order[at]
            for washer, at in locked_at(self.reducer, self.procedure).items()
            if at < len(self.procedure.order)
        }

    # -- which there are ------------------------------------------------------------------------------------------

    @cached_property
    def all(self) -> tuple[Slip, ...]:
        """Every slip that a question can be about, in the order of the job."""
        found: list[Slip] = []
        for item, index in self.event.items():
            step = self.undoing.events[index].move.step
            if not self.reducer.by_name[self.reducer.members(item)[0]].tool:
                found += self._seen_later("omitted", item, step)
            if item in self.turns:
                found += self._seen_later("turned", item, step)
        for washer, step in self.locked.items():
            found += self._seen_later("open", washer, step)
        return (*found, *self._shims())

    @cached_property
    def turns(self) -> dict[str, str]:
        """What can go in the wrong way round, and the rule that says so: asked with everything turned at once."""
        steps = {name: replace(step, turned=step.arrives) for name, step in self.procedure.steps.items()}
        found: dict[str, str] = {}
        for breach in rules.breaches(
            rules.Job(self.reducer, Procedure(tuple(steps), MappingProxyType(steps), self.procedure.phases))
        ):
            if breach.rule in (*END_FOR_END, ABOUT_ITS_AXIS):
                both = (breach.part, breach.other) if breach.rule == "pair_faces" else (breach.part,)
                found |= {item: breach.rule for item in both}
        first = {
            event.move.item for event in self.undoing.events if not event.move.standing
        }  # what a bench begins with lies as it lies
        never = {item for item in found if {item, self.reducer.by_name[self.reducer.members(item)[0]].role} & set(NEVER_TURNED)}
        return {item: rule for item, rule in found.items() if item not in first | never}

    def _seen_later(self, kind: Kind, item: str, step: str) -> list[Slip]:
        """Seen after one of the next steps that bring something to the same bench as it stands, or to what that bench is joined to."""
        first = self.procedure.steps[step]
        bench, up, later = first.bench, first.up, []
        for name in self.procedure.order[self.place[step] + 1 :]:
            after = self.procedure.steps[name]
            if after.merges == bench:
                bench, up = after.bench, after.up
            if after.bench == bench and after.up == up and (after.arrives or after.merges or after.method == "bend_tab"):
                later.append(name)
            if len(later) == WINDOW:
                break
        return [Slip(kind, item, name) for name in later]

    @cached_property
    def read_at(self) -> tuple[str, ...]:
        """Steps at which marks and dial are read with both gaskets in place: by what they read, whatever they are called."""
        fitted = max(
            (self.undoing.events[self.event[name]].move.step for name in SHIMS if name in self.event),
            key=self.place.__getitem__,
            default=None,
        )
        later = self.procedure.order if fitted is None else self.procedure.order[self.place[fitted] + 1 :]
        return tuple(name for name in later if READINGS & set(self.procedure.steps[name].reads))

    def _shims(self) -> list[Slip]:
        """For each way a gasket can be wrong: the nearest thickness in stock that takes a reading or a mark of the mesh out of its limits."""
        found = []
        for name, _, nominal, low, high, stock in self.explainer.gaskets:
            if name not in SHIMS:
                continue
            for more in (True, False):
                for thickness in sorted(
                    (t for t in stock if low <= t <= high and (t > nominal) == more and t != nominal), reverse=not more
                ):
                    slip = Slip("shim", name, "", thickness, nominal)
                    if any(note.key.startswith("mesh.") for note in self._changed(slip)):
                        found += [replace(slip, seen=step) for step in self.read_at]
                        break
        return found

    def settings(self, slip: Slip) -> Settings:
        """The settings at which the slip is seen."""
        gaskets = {slip.item: slip.thickness} if slip.kind == "shim" else {}
        return self.explainer.with_(self.now, step=slip.seen, gaskets=gaskets)

    # -- why ------------------------------------------------------------------------------------------------------

    def said(self, slip: Slip) -> str:
        """What is wrong, in a sentence."""
        key: str = slip.kind
        if slip.kind == "shim":
            key = f"too_{'thick' if slip.thick else 'thin'}"
        elif self.about_its_axis(slip):
            key = "turned_about"
        return text(f"slip.{key}", item=self.name(slip.item))

    def about_its_axis(self, slip: Slip) -> bool:
        """Whether a part is turned about its own axis, not end for end."""
        return slip.kind == "turned" and self.turns[slip.item] == ABOUT_ITS_AXIS

    def why(self, slip: Slip) -> str:
        """Why that is wrong."""
        if slip.kind == "shim":
            return " ".join(note.text for note in self._changed(slip)[:MOST_NOTES])
        broken = [found for found in rules.breaches(rules.Job(self.reducer, self._with(slip))) if found not in self._usual]
        broken = [found for found in broken if found.rule not in FOR_PLANNERS]
        if broken:
            return f"{broken[0].text} {broken[0].reason}"
        because = text(f"step.{self.right_step(slip)}.reason")
        partners = self._partners(slip.item) if slip.kind == "omitted" else ""
        if slip.kind == "omitted" and self.procedure.steps[self.right_step(slip)].method in FITTED_BY:
            return text("slip.missing_with", partners=partners) if partners else text("slip.missing")
        return text("slip.not_whole", partners=partners, because=because) if partners else because

    def _partners(self, item: str) -> str:
        """What a part is joined to, by its name for a fitter."""
        mine = set(self.reducer.members(item))
        joined = [name for tie in self.undoing.ties if tie & mine for name in sorted(tie - mine)]
        unit = {member: name for name, members in self.reducer.groups.items() for member in members}
        return ", ".join(dict.fromkeys(self.name(unit.get(name, name)) for name in joined[:MOST_PARTNERS]))

    def right_step(self, slip: Slip) -> str:
        """The step that does it right."""
        if slip.kind == "open":
            return self.locked[slip.item]
        return self.undoing.events[self.event[slip.item]].move.step

    @cached_property
    def _usual(self) -> tuple[rules.Breach, ...]:
        """What the machine's own order breaks."""
        return rules.breaches(rules.Job(self.reducer, self.procedure))

    def _with(self, slip: Slip) -> Procedure:
        """The order of the job with the slip in it."""
        steps = dict(self.procedure.steps)
        name = self.right_step(slip)
        step = steps[name]
        if slip.kind == "open":
            del steps[name]
        elif slip.kind == "omitted":
            steps[name] = replace(step, arrives=tuple(item for item in step.arrives if item != slip.item))
        elif slip.kind == "turned":
            steps[name] = replace(step, turned=(slip.item,))
        return Procedure(tuple(steps), MappingProxyType(steps), self.procedure.phases)

    def _changed(self, slip: Slip) -> list[Any]:
        """Notes that a wrong gasket turns to a stop, at the steps that read the mesh; none when no reducer can be built with it."""
        found = []
        try:
            for step in self.read_at:
                before = {note.key: note.verdict for note in self.explainer.callouts(self.now, step)}
                notes = self.explainer.callouts(self.settings(replace(slip, seen=step)), step)
                found += [note for note in notes if note.verdict == "stop" and before.get(note.key) != "stop"]
        except ValueError:
            return []
        return list({note.key: note for note in found}.values())

    # -- what it costs --------------------------------------------------------------------------------------------

    def cost(self, slip: Slip) -> Cost:
        """What the slip costs when it is noticed after the step it is seen at."""
        place = self.place[slip.seen]
        if slip.kind == "shim":
            way = dismantling.to_reach(self.reducer, self.procedure, slip.item)
            flange = next(joint.flange for joint in self.reducer.of_kind(GasketJoint) if joint.gasket == slip.item)
            parts = tuple(dict.fromkeys((*way.parts, flange, slip.item)))
            return Cost(parts, way.tight, (), sum(self.totals[name].value for name in way.steps))
        if slip.kind == "open":
            nut = next(joint.nut for joint in self.reducer.of_kind(NutJoint) if joint.washer == slip.item)
            undone = self.undoing.off(self.event[nut], place, back=True)
        elif slip.kind == "turned":
            index = self.event[slip.item]
            undone = (*self.undoing.off(index, place, back=True), index)
        else:
            moment = forgotten.noticed(self.undoing, self.event[slip.item], place, self.totals)
            return Cost(moment.off, moment.tight, moment.benches, moment.time.value)
        return self._cost(undone, place)

    def _cost(self, undone: tuple[int, ...], place: int) -> Cost:
        return Cost(*self.undoing.things(undone), sum(self.totals[name].value for name in self.undoing.again(undone, place)))

    def told(self, cost: Cost) -> str:
        """The cost in sentences."""
        if not cost.off:
            return text("slip.cost_none")
        names = [self.name(item, cost.benches) for item in cost.off]
        time = units.show(cost.time, "time", "mm", digits=0)
        if len(names) > SPELT_OUT:
            said = [text("slip.cost_many", count=len(names), first=names[0], last=names[-1], time=time)]
        else:
            said = [text("slip.cost", off=", ".join(names), time=time)]
        if cost.tight:
            said.append(text("order.forgotten.tight", tight=", ".join(self.name(item, cost.benches) for item in cost.tight)))
        return " ".join(said)

    def name(self, item: str, benches: tuple[str, ...] = ()) -> str:
        """A part, circle, bearing or bench by its name for a fitter."""
        return name_of(self.reducer, item, benches)

    # -- too early ------------------------------------------------------------------------------------------------

    def too_early(self, early: str, due: str) -> tuple[str, Cost] | None:
        """Why what step `early` brings can't come before what step `due` brings, and what trying costs; None when it could."""
        mine = [self.event[item] for item in self.procedure.steps[due].arrives if item in self.event]
        theirs = [self.event[item] for item in self.procedure.steps[early].arrives if item in self.event]
        for index in mine:
            for other in theirs:
                if other in self.undoing.before(index, back=False):
                    values = {"early": self.name(self._item(other)), "due": self.name(self._item(index))}
                    return text("slip.in_the_way", **values), self._cost((other,), self.place[early])
        standing = set(self.undoing.events[min(mine)].move.standing) if mine else set()
        for other in theirs:
            parts = set(self.undoing.events[other].move.parts)
            held = set().union(*(tie - parts for tie in self.undoing.ties if tie & parts)) if parts else set()
            for index in mine:
                if held & set(self.undoing.events[index].move.parts) and not held & standing:
                    values = {"early": self.name(self._item(other)), "due": self.name(self._item(index))}
                    return text("slip.nothing_to_hold", **values), Cost((), (), (), 0.0)
        return None

    def _item(self, index: int) -> str:
        return self.undoing.events[index].move.item

    def offered(self, due: str) -> tuple[str, ...]:
        """Later steps whose parts could be offered in place of those of step `due`: same bench as it stands."""
        first = self.procedure.steps[due]
        later = self.procedure.order[self.place[due] + 1 :]
        bench = [
            name for name in later if self.procedure.steps[name].bench == first.bench and self.procedure.steps[name].up == first.up
        ]
        return tuple(name for name in bench if self.procedure.steps[name].arrives and not self.procedure.steps[name].merges)

    @cached_property
    def due(self) -> tuple[str, ...]:
        """Steps that a question about what comes next can be about: they bring something to what stands already."""
        found = []
        for name in self.procedure.order:
            step = self.procedure.steps[name]
            index = next((self.event[item] for item in step.arrives if item in self.event), None)
            if index is not None and not step.merges and (step.bench == MAIN_BENCH or self.undoing.events[index].move.standing):
                found.append(name)
        return tuple(found)
