"""One machine ready to be explained: loaded, ordered, staged; frames and numbers for any settings.

What takes settings speaks their language; the rest speaks the one that the caller does (`scenes.wording.speaking`).
"""

from __future__ import annotations

from collections.abc import Mapping
from copy import copy
from dataclasses import replace
from functools import cached_property
from pathlib import Path
from typing import Any

from calc import refusal
from calc.units import System
from geometry.machine import AMBIENT_RANGE, GASKET_RANGE, HEATER_RANGE, Machine
from geometry.reducer import Reducer, assemble, prove
from scenes import (
    blocked_view,
    callouts,
    curves,
    handling,
    judged,
    own_reads,
    settings,
    standing,
    timeplan,
    verdict,
    whole,
    wording,
)
from scenes.frame import Callout, Frame
from scenes.handling import Handling
from scenes.judged import Judged
from scenes.kit import Kit, kit
from scenes.order import QUICK, Progress
from scenes.plot import Plot
from scenes.procedure import Procedure, without
from scenes.procedure_file import load as load_procedure
from scenes.procedure_file import suggestion
from scenes.rules import Job
from scenes.settings import Settings
from scenes.stage import Stage
from scenes.standing import Held
from scenes.step_frame import Readings, frame_of, readings
from scenes.verdict import Verdict
from scenes.wording import speaking, spoken, text

VERDICT_ORDER = {"": 0, "fine": 1, "watch": 2, "stop": 3}
SPARE_GASKET = 2.0
"""How many times its nominal a gasket can be set to on the page."""


class Explainer:
    """Frames and numbers of one machine. `held`: its readings that stand, told as measured."""

    def __init__(self, machine: Machine, folder: Path | None = None, units: System | None = None) -> None:
        self.machine, self.folder, self.units = machine, folder or Path(), units or machine.units
        reducer = assemble(machine)
        prove(reducer)
        known = [part.name for part in reducer.parts] + list(reducer.groups) + list(reducer.left_out)
        path = None if machine.procedure is None else self.folder / machine.procedure
        self.procedure = own_reads.asking(without(load_procedure(path, parts=known), reducer.left_out), reducer)
        self.judged: Judged | None = None
        self.held: Mapping[str, Held] = {}
        self._stages: dict[tuple[tuple[str, float], ...], Stage] = {}

    @property
    def procedure(self) -> Procedure:
        """The order of the job; the words of its own steps are at hand from here on."""
        wording.use(self._words)
        return self._procedure

    @procedure.setter
    def procedure(self, given: Procedure) -> None:
        self._procedure = given
        self._words = {key: word for step in given.steps.values() for key, word in step.words.items()}

    def holding(self, held: Mapping[str, Held]) -> Explainer:
        """The same machine with these readings of it."""
        if held == self.held:
            return self
        found = copy(self)
        found.held, found._stages = dict(held), {}
        return found

    @property
    def title(self) -> str:
        """The machine's name."""
        return self.machine.name

    @property
    def phases(self) -> list[tuple[str, str, list[tuple[str, int, str]]]]:
        """(phase id, title, [(step id, number, title)]) in order."""
        found: list[tuple[str, str, list[tuple[str, int, str]]]] = []
        for number, name in enumerate(self.procedure.order, 1):
            step = self.procedure.steps[name]
            if not found or found[-1][0] != step.phase:
                found.append((step.phase, text(f"phase.{step.phase}"), []))
            found[-1][2].append((name, number, text(f"step.{name}.title")))
        return found

    @property
    def gaps(self) -> tuple[str, ...]:
        """What the order leaves out or brings twice, in sentences; each is a stop."""
        return whole.gaps(assemble(self.machine), self.procedure)

    def verdict(self, now: Settings, *, pitch: float = QUICK, progress: Progress | None = None) -> Verdict:
        """The verdict on the order at these settings. `pitch`: of the dexels [mm]."""
        return verdict.judge(self.job(now), pitch=pitch, progress=progress)

    def job(self, now: Settings) -> Job:
        """What the rules of the trade look at: reducer and order, fits whose hot-fit numbers say stop, gaskets that were changed."""
        hot = [name for name, step in self.procedure.steps.items() if step.method == "hot"]
        notes = [
            note for name in hot for note in self.callouts(now, name) if note.verdict == "stop" and note.key.startswith("heat.")
        ]
        changed = [name for name, thickness in now.gaskets.items() if thickness != getattr(self.machine.gaskets, name).thickness]
        return Job(self.reducer(now), self.procedure, {note.key.split(".")[1]: note.text for note in notes}, tuple(changed))

    def start_settings(self) -> Settings:
        """The first step, exploded, as the machine file says, in the units chosen and the language spoken."""
        return Settings(step=self.procedure.order[0], units=self.units, language=spoken())

    @property
    def gaskets(self) -> list[tuple[str, str, float, float, float, tuple[float, ...]]]:
        """(name, label, free thickness, least, most, stock) of the four position gaskets [mm]."""
        found = []
        least, most = GASKET_RANGE
        for name in settings.POSITION_GASKETS:
            gasket = getattr(self.machine.gaskets, name)
            found.append(
                (name, text(f"part.{name}"), gasket.thickness, least, min(most, SPARE_GASKET * gasket.thickness), gasket.stock)
            )
        return found

    @property
    def heater_range(self) -> tuple[float, float, float]:
        """Least, most and present setting [degC]."""
        return *HEATER_RANGE, self.machine.shop.heater if self.machine.shop.heater is not None else 110.0

    @property
    def ambient_range(self) -> tuple[float, float, float]:
        """Least, most and present workshop temperature [degC]."""
        return *AMBIENT_RANGE, self.machine.shop.ambient

    def with_(self, now: Settings, **changes: Any) -> Settings:
        """Changed settings, checked against the machine too. Raises ValueError with a clear line."""
        after = settings.changed(now, **changes)
        if after.step is not None and after.step not in self.procedure.steps:
            raise ValueError(
                f"step {refusal.told(after.step)}: unknown: accepted: a step id or number 1 to {len(self.procedure.order)}"
            )
        settings.effective(self.machine, after)
        return after

    def reducer(self, now: Settings) -> Reducer:
        """The reducer with the gaskets of the settings."""
        return assemble(settings.effective(self.machine, now))

    def stage(self, now: Settings) -> Stage:
        """The stage of the effective machine, kept for the last few."""
        wording.use(self._words)
        chosen = tuple(sorted(now.gaskets.items()))
        found = self._stages.get(chosen)
        if found is None:
            if len(self._stages) >= 8:
                self._stages.pop(next(iter(self._stages)))
            held = standing.under(self.held, self.machine, now.gaskets)
            found = self._stages[chosen] = Stage(assemble(settings.effective(self.machine, now)), self.procedure, held)
        return found

    def judge(self, *, pitch: float = QUICK, progress: Progress | None = None) -> Judged:
        """Judge the order of the machine as in its file; frames drawn after that tell of it. `pitch`: of the dexels [mm]."""
        now = self.start_settings()
        found = self.verdict(now, pitch=pitch, progress=progress)
        self.judged = judged.judge(self.reducer(now), self.procedure, self.times(now), found)
        return self.judged

    def frame(self, now: Settings, aspect: float = 1.5) -> Frame:
        """What a renderer draws."""
        with speaking(now.language):
            return self._told(frame_of(self.stage(now), now, aspect), now)

    def blocked_frame(self, now: Settings, place: int, aspect: float = 1.5) -> Frame:
        """The picture of a way of the step that is not free, by its place among the faults of the step; the order is judged before."""
        ways = judged.ways_at(self.judged.verdict, now.step) if self.judged and now.step else ()
        if not 0 <= place < len(ways):
            raise ValueError(f"blocked way {place}: accepted: one of the {len(ways)} of this step")
        start = replace(self.start_settings(), units=now.units, language=now.language)
        with speaking(now.language):
            return self._told(blocked_view.frame_of(self.stage(start), ways[place], start, aspect), now)

    def _told(self, frame: Frame, now: Settings) -> Frame:
        """A frame with what is known of the order."""
        if self.judged is None:
            return frame
        reducer = self.reducer(self.start_settings())
        line = judged.line(self.judged.verdict, reducer, now.units)
        notes = (*frame.notes, text("order_verdict.gaskets_other")) if now.gaskets else frame.notes
        if now.step is None or frame.step is None:
            whole = tuple(verdict.sentences(self.judged.verdict, reducer, now.units))
            watched = tuple(breach.text for breach in self.judged.verdict.watches)
            return replace(frame, order=replace(line, faults=whole, watched=watched), notes=notes)
        faults = judged.faults_at(self.judged.verdict, reducer, now.step, now.units)
        ways = len(judged.ways_at(self.judged.verdict, now.step))
        told = judged.forgotten_at(self.judged, reducer, self.procedure, now.step)
        watched = judged.watched_at(self.judged.verdict, now.step)
        return replace(frame, order=replace(line, faults=faults, ways=ways, watched=watched), forgotten=told, notes=notes)

    def plots(self, now: Settings) -> tuple[Plot, ...]:
        """The plots of the settings' step; none for the whole machine."""
        if now.step is None:
            return ()
        with speaking(now.language):
            return curves.of_bench(self.stage(now).bench(self.procedure.steps[now.step], now), self.reducer(self.start_settings()))

    def callouts(self, now: Settings, step: str) -> tuple[Callout, ...]:
        """The notes of one step; draws nothing."""
        stage = self.stage(now)
        with speaking(now.language):
            return callouts.of_step(stage.bench(self.procedure.steps[step], now))

    def readings(self, now: Settings, step: str) -> Readings:
        """Notes and figures of one step, without what is drawn of it."""
        stage = self.stage(now)
        with speaking(now.language):
            return readings(stage, self.procedure.steps[step], now)

    def numbers(self, now: Settings) -> dict[str, Any]:
        """What `numbers --json` prints: the settings' step, or all steps when it has none."""
        names = [now.step] if now.step is not None else list(self.procedure.order)
        steps = []
        for name in names:
            step = self.procedure.steps[name]
            notes = self.callouts(now, name)
            steps.append({
                "id": name,
                "number": self.procedure.order.index(name) + 1,
                "phase": step.phase,
                "title": text(f"step.{name}.title", now.language),
                "callouts": [
                    {"key": note.key, "part": note.part, "text": note.text, "short": note.short, "value": _finite(note.value), "unit": note.unit, "limit": note.limit,
                     "verdict": note.verdict, "source": note.source} | ({"entry": note.entry} if note.entry else {})
                    for note in notes
                ],
            })  # fmt: skip
        return {
            "machine": self.machine.name,
            "units": now.units,
            "settings": {"heater": now.heater, "ambient": now.ambient, "gaskets": dict(now.gaskets)},
            "steps": steps,
            "verdict": worst(note["verdict"] for step in steps for note in step["callouts"]),
        }

    def workings(self, now: Settings, key: str) -> list[dict[str, Any]]:
        """How one note is found, for each step that shows it: step, text, formula, inserted figures, value, limit, source.

        Raises ValueError with the nearest known ids when no step shows it.
        """
        names = [now.step] if now.step is not None else list(self.procedure.order)
        found, known = [], set()
        for name in names:
            for note in self.callouts(now, name):
                known.add(note.key)
                if note.key == key:
                    found.append({
                        "id": key, "step": name, "number": self.procedure.order.index(name) + 1, "text": note.text, "formula": note.formula,
                        "inserted": list(note.inserted), "value": _finite(note.value), "unit": note.unit, "limit": note.limit, "verdict": note.verdict, "source": note.source,
                    })  # fmt: skip
        if not found:
            raise ValueError(f"--explain {key}: no such figure here: {suggestion(key, known)}")
        return found

    @cached_property
    def handling(self) -> Handling:
        """Handling times: the shipped ones, with those of the machine's own file over them. Raises ProcedureError."""
        return handling.load(None if self.machine.handling is None else self.folder / self.machine.handling)

    def times(self, now: Settings) -> timeplan.TimePlan:
        """The time plan of the job at these settings [s]."""
        return timeplan.plan(self.stage(now), now, self.handling)

    def kit(self, now: Settings) -> Kit:
        """The kit list of the job, told in the settings' unit system and language."""
        with speaking(now.language):
            return kit(self.stage(now), now)

    def step_named(self, wanted: str) -> str:
        """A step id from an id or a number. Raises ValueError."""
        if wanted in self.procedure.steps:
            return wanted
        if wanted.isdecimal() and len(wanted) < 6 and 1 <= int(wanted) <= len(self.procedure.order):
            return self.procedure.order[int(wanted) - 1]
        raise ValueError(
            f"--step {refusal.told(wanted)}: unknown: accepted: 1 to {len(self.procedure.order)}, or a step id such as {self.procedure.order[0]}"
        )


def _finite(value: float) -> float | None:
    """JSON has no infinity: no limit in time is null."""
    return value if abs(value) != float("inf") else None


def worst(verdicts: Any) -> str:
    """The most serious verdict of many."""
    return max(verdicts, key=lambda verdict: VERDICT_ORDER[verdict], default="")
