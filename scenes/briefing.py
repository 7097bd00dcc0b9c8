"""The foreman's sheet: the job in a line, five numbers chosen by rule, hold points, what to say before starting, who does what.

Everything is a finished text; figures come from the notes of the steps (`Explainer.numbers`) and the time plan.
Contents: `foreman`, `five`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from calc import units
from calc.cooling import Seconds
from geometry.joints import GasketJoint
from scenes.explain import Explainer
from scenes.procedure import Step
from scenes.settings import Settings
from scenes.wording import text

GRAVEST = {"stop": 0, "watch": 1, "fine": 2, "": 3}
TALK: tuple[tuple[str, Callable[[Step], bool]], ...] = (
    ("measure", lambda step: False),
    ("hot", lambda step: step.method == "hot" or "heat_gloves" in step.tools),
    ("lift", lambda step: "hoist" in step.tools or step.method in ("lower", "turn_over")),
    ("press", lambda step: step.method in ("press", "draw_on")),
    ("drift", lambda step: step.method == "soft_drift" or "soft_hammer" in step.tools),
    ("wire", lambda step: step.method in ("wire", "bend_tab") or "wire_pliers" in step.tools),
    ("air", lambda step: "air_gun" in step.tools or step.method == "seal"),
    ("count", lambda step: False),
    ("run", lambda step: "first_run" in step.reads),
)
"""What is said before starting, each with the steps that it is about; those without steps are always said."""
MOST_NAMED = 3
"""Readings of one hold point that are all named; of more, one fewer, and how many are left."""
HOUR = 3600.0
"""An hour [s]."""
ROLES = ("leader", "turning", "signals", "hot", "readings", "locks")
"""Blanks of who does what."""


@dataclass(frozen=True)
class Note:
    """One note of the report and the step that it stands in."""

    step: dict[str, Any]
    said: dict[str, Any]

    @property
    def key(self) -> str:
        """Key of the note."""
        return str(self.said["key"])


def notes_of(report: dict[str, Any]) -> Iterator[Note]:
    """All notes of a report of numbers in the order of the steps."""
    for step in report["steps"]:
        for said in step["callouts"]:
            yield Note(step, said)


def gravest(found: list[Note], size: Callable[[Note], float]) -> Note | None:
    """The note with the gravest verdict, of several the one that is largest; the first of equals."""
    return min(found, key=lambda note: (GRAVEST[note.said["verdict"]], -size(note)), default=None)


def five(report: dict[str, Any], free: dict[str, float], system: units.System) -> list[dict[str, Any]]:
    """The numbers that matter, by the rule that the sheet states; a kind that the job has no note for is left out.

    `report`: what `Explainer.numbers` gives for all steps; `free`: thickness of each gasket before it is clamped [mm]. Result: texts, one record a number.
    """
    notes = list(notes_of(report))
    at = {(note.step["id"], note.key): note.said for note in notes}

    def beside(note: Note, key: str) -> str:
        """The short figure of another note of the same step."""
        return str(at[note.step["id"], key]["short"])

    def ending(start: str, end: str) -> list[Note]:
        return [note for note in notes if note.key.startswith(start) and note.key.endswith(end)]

    def value(note: Note) -> float:
        given = note.said["value"]
        return math.inf if given is None else abs(float(given))

    rows = []
    hot = gravest(ending("heat.", ".carry_time"), lambda note: -value(note))
    if hot is not None:
        setting = beside(hot, hot.key.removesuffix("carry_time") + "setting")
        part = text(f"part.{hot.said['part']}")
        rows.append(_row("hot", hot, text("foreman.hot_figure", part=part, setting=setting, time=hot.said["short"])))
    heaviest = max(ending("lift.mass", ""), key=value, default=None)
    if heaviest is not None:
        figure = text("foreman.lift_figure", weight=heaviest.said["short"], title=heaviest.step["title"])
        rows.append(_row("lift", heaviest, figure, at.get((heaviest.step["id"], "lift.legs"))))
    gasket = gravest(ending("gasket.", ".backlash"), value)
    if gasket is not None:
        key = gasket.key.removesuffix(".backlash")
        chain = next((said for said in reversed(gasket.step["callouts"]) if said["key"].startswith("chain.")), None)
        words = {"name": text(f"part.{gasket.said['part']}"), "clamped": beside(gasket, key), "effect": gasket.said["short"]}
        words["free"] = units.show(free[gasket.said["part"]], "length", system)
        figure = text("foreman.gasket_figure", **words)
        rows.append(_row("gasket", gasket, f"{figure}; {chain['short']}" if chain else figure, chain))
    backlash = next((note for note in reversed(notes) if note.key == "mesh.backlash"), None)
    if backlash is not None:
        read, short = "entry" in backlash.said, backlash.said["short"]
        rows.append(
            _row("backlash_read" if read else "backlash", backlash, short if read else text("foreman.backlash_figure", value=short))
        )
    screws = [note for note in ending("screws.", "") if note.key.count(".") == 1 and note.said["limit"]]
    torque = gravest(screws, value)
    if torque is not None:
        name = text(f"part.{torque.key.removeprefix('screws.')}", count=_count(torque))
        rows.append(_row("torque", torque, text("foreman.torque_figure", screws=name, short=torque.said["short"])))
    return rows


def _count(note: Note) -> str:
    """How many screws a note of screws is about, as its figure says."""
    return str(note.said["short"]).split(" ", 1)[0]


def _row(kind: str, note: Note, figure: str, judged: dict[str, Any] | None = None) -> dict[str, Any]:
    """A number with its limit: its own, or that of the note that judges it."""
    said = note.said if judged is None or note.said["limit"] else judged
    return {
        "kind": text(f"foreman.{kind}"),
        "figure": figure,
        "limit": said["limit"],
        "verdict": said["verdict"],
        "source": said["source"] or note.said["source"],
        "where": text("foreman.where", number=note.step["number"]),
    }


def foreman(explainer: Explainer, now: Settings) -> dict[str, Any]:
    """What stands on the foreman's sheet, as finished texts. `now`: settings, the step of no account."""
    report = explainer.numbers(explainer.with_(now, step=None))
    procedure, notes = explainer.procedure, list(notes_of(report))
    steps = [procedure.steps[name] for name in procedure.order]
    holds = [step for step in steps if step.hold]
    free = {joint.gasket: joint.free for joint in explainer.reducer(now).of_kind(GasketJoint)}
    job, gears = explainer.times(now).job.total, explainer.machine.gears

    line = text(
        "foreman.job", pinion=gears.pinion_teeth, gear=gears.gear_teeth, steps=len(steps), phases=len(procedure.phases),
        holds=len(holds), time=roughly(job),
    )  # fmt: skip
    counts = {verdict: sum(note.said["verdict"] == verdict for note in notes) for verdict in ("stop", "watch", "fine")}
    watched = dict.fromkeys(note.step["number"] for note in notes if note.said["verdict"] == "watch")
    told = "verdicts" if watched else "verdicts_none"
    talk = []
    for key, fits in TALK:
        numbers = [step.number for step in steps if fits(step)]
        if numbers or key in ("measure", "count"):
            talk.append(text(f"foreman.talk.{key}", steps=listed(numbers)))
    return {
        "job": line,
        "stops": [
            f"{text('foreman.where', number=note.step['number'])}: {note.said['text']}"
            for note in notes
            if note.said["verdict"] == "stop"
        ],
        "verdicts": text(f"foreman.{told}", **counts, steps=listed(list(watched))),
        "five": five(report, free, now.units),
        "holds": [{"number": step.number, "what": _readings(step.reads), "optional": step.optional} for step in holds],
        "talk": talk,
        "roles": [text(f"foreman.role.{role}") for role in ROLES],
    }


def _readings(reads: tuple[str, ...]) -> str:
    """What is read at a hold point, in a line: all, or else the first and how many more the sheet of readings has."""
    if len(reads) > MOST_NAMED:
        first = "; ".join(text(f"read.{name}") for name in reads[: MOST_NAMED - 1])
        return text("foreman.more", first=first, count=len(reads) - MOST_NAMED + 1)
    return "; ".join(text(f"read.{name}") for name in reads)


def roughly(time: Seconds) -> str:
    """An indicative time, no finer than it is known: hours, or minutes to the next five below two hours."""
    kind, unit, step = (
        ("hours", HOUR, 1.0 if time.value >= 10.0 * HOUR else 0.5) if time.value >= 2.0 * HOUR else ("minutes", 60.0, 5.0)
    )
    value, low, high = (units.figure(step * round(item / unit / step), "g") for item in (time.value, time.low, time.high))
    if low == high:
        return text(f"sheet.{kind}_known", value=value)
    return text(f"sheet.{kind}", value=value, low=low, high=high)


def listed(numbers: list[int]) -> str:
    """Numbers in a line, three or more in a row as a range."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(f"{run[0]}–{run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs)
