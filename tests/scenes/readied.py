"""One more reading in a record and what it says; and the readings that a careful crew has before it turns the pair by hand, and before it runs
the machine. Contents: `put`, `told`, `before_turning`, `before_running`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from scenes import counted, record, record_listing
from scenes.explain import Explainer
from scenes.record_judged import Judgement
from scenes.record_listing import Opened, opened


def put(explainer: Explainer, path: Path, name: str, *values: str, state: str = "fitting", **how: Any) -> tuple[Opened, Judgement]:
    """The record with one more reading in it, and what that says."""
    found = opened(explainer, path)
    step = how.pop("step", next(iter(found.reads[name].steps), ""))
    record_listing.put(found, record.reading(found.reads[name], values, state, initials="AB", step=step, **how))
    found = opened(explainer, path)
    return found, found.judge(found.job.taken[-1], explainer.start_settings())


def told(said: Judgement) -> str:
    return " ".join((*said.says, *said.now))


def before_turning(explainer: Explainer, path: Path) -> None:
    """Locked out, packers counted in and out, the gear shaft turned by hand."""
    packers = str(counted.packers(explainer.reducer(explainer.start_settings())))
    _write(explainer, path, [("zero_energy", "make_safe", ["yes"]), ("packers_in", "packers", [packers])])
    _write(explainer, path, [("packers_out", "packers_out", [packers]), ("free_turning", "packers_out", ["yes"])])


def before_running(explainer: Explainer, path: Path, *without: str) -> None:
    """All that stands before a first run, in the order of the steps; `without`: but for these."""
    reads, reducer = opened(explainer, path).reads, explainer.reducer(explainer.start_settings())
    packers, locks = str(counted.packers(reducer)), str(sum(counted.locks(reducer)))
    values = {
        "zero_energy": ["yes"], "tools_in": ["31"], "packers_in": [packers], "packers_out": [packers], "free_turning": ["yes"],
        "high_speed_end_play": ["0.05 mm"] * 3, "low_speed_end_play": ["0.05 mm"] * 3, "backlash": ["0.23 mm"] * 4,
        "pattern": ["drive centre", "coast centre"], "turning_feel": ["even"], "set_number": [explainer.machine.gears.set_number or "set 1"],
        "pump_direction": ["yes"], "tools_out": ["31"], "locks_counted": [locks], "shaft_ends": ["yes"], "oil_filled": ["6 L"],
    }  # fmt: skip
    asked = [(name, step) for step in explainer.procedure.order for name in explainer.procedure.steps[step].reads]
    torques = {name: [f"{read.wanted} x 60 N m"] for name, read in reads.items() if read.kind == "torque"}
    before = asked[: asked.index(("first_run", "oil_first_run"))]
    given = [(name, step, (values | torques)[name]) for name, step in before if name in values | torques and name not in without]
    _write(explainer, path, given)


def _write(explainer: Explainer, path: Path, given: list[tuple[str, str, list[str]]]) -> None:
    """Readings with their steps and values, one after the other."""
    found = opened(explainer, path)
    for name, step, values in given:
        record_listing.put(found, record.reading(found.reads[name], values, "fitting", initials="AB", step=step))
