"""Time plan and kit list as tables of texts and plain figures: what the command line prints and the pack holds.

Times in s, lengths mm, torque N·m, masses kg in the figures, whatever the unit system of the texts.
Contents: `times`, `times_lines`, `times_rows`, `kit`, `kit_lines`, `kit_rows`.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Literal

from calc import units
from calc.cooling import Seconds
from scenes import timeplan
from scenes.kit import GROUPS, Kit
from scenes.procedure import Procedure
from scenes.timeplan import Heating, StepTime, TimePlan, Totals, Wait
from scenes.wording import text, texts

System = Literal["mm", "inch"]
TIMES_COLUMNS = (
    "step", "id", "phase", "title", "method", "optional", "heated_by", "heating_s", "handling_s", "waiting_s", "total_s", "total_low_s", "total_high_s",
    "time", "basis",
)  # fmt: skip
"""Columns of times.csv."""
KIT_COLUMNS = ("group", "key", "name", "size", "count", "derived", "steps", "figures")
"""Columns of kit.csv."""


def _short(value: float) -> str:
    return units.show(value, "time", "mm", digits=0)


def _time(time: Seconds) -> dict[str, Any]:
    return {"value": time.value, "low": time.low, "high": time.high, "text": _short(time.value)}


def _sums(sums: Totals) -> dict[str, Any]:
    return {
        "heating": _time(sums.heating),
        "handling": _time(sums.handling),
        "waiting": _time(sums.waiting),
        "total": _time(sums.total),
    }


def _title(step: str) -> str:
    return text(f"step.{step}.title")


def _heater(heating: Heating, system: System) -> str:
    if heating.oven is None:
        return text("times.heater.induction")
    oven = units.show(heating.oven, "temperature", system)
    return text("times.heater.oven", oven=oven, reason=text(f"times.reason.{heating.refused}"))


def _heating(row: StepTime, system: System) -> dict[str, Any] | None:
    heating = row.heating
    if heating is None:
        return None
    basis = "times.basis_induction" if heating.oven is None else "times.basis_oven"
    oven = "" if heating.oven is None else units.show(heating.oven, "temperature", system)
    return {
        "part": heating.part,
        "mass": heating.mass,
        "from": heating.start,
        "to": heating.end,
        "heater": heating.heater,
        "refused": heating.refused,
        "energy": heating.energy,
        "hold": heating.hold,
        "oven": heating.oven,
        "time": _time(heating.time),
        "basis": text(basis, oven=oven),
    }


def _cooling(row: StepTime) -> dict[str, Any] | None:
    found = row.cooling
    if found is None:
        return None
    return {
        "fitted_in": found.hot_step,
        "part": found.part,
        "from": found.start,
        "to": found.end,
        "evened": found.evened,
        "cooling": _time(found.time),
        "time": _time(found.left),
        "basis": text("times.basis_cooling_shaft" if found.shaft_cools else "times.basis_cooling"),
    }


def _wait_words(wait: Wait, row: StepTime) -> str:
    if wait.kind == "heating":
        return "wait_heating" if wait.time.low == wait.time.high else "wait_heating_band"
    return "wait_cooling_shaft" if row.cooling is not None and row.cooling.shaft_cools else "wait_cooling"


def times(plan: TimePlan, procedure: Procedure, machine: str, system: System) -> dict[str, Any]:
    """What `numbers --times --json` prints; times in s."""
    numbers = {name: step.number for name, step in procedure.steps.items()}
    rows = {row.id: row for row in plan.steps}
    waits = []
    for wait in plan.waits:
        row = rows[wait.step]
        part = row.heating.part if wait.kind == "heating" and row.heating else row.cooling.part if row.cooling else ""
        words = {name: _short(getattr(wait.time, field)) for name, field in (("time", "value"), ("low", "low"), ("high", "high"))}
        told = text(
            f"times.{_wait_words(wait, row)}",
            number=numbers[wait.step],
            title=_title(wait.step),
            part=text(f"part.{part}"),
            **words,
        )
        waits.append(
            {
                "step": wait.step,
                "number": numbers[wait.step],
                "kind": wait.kind,
                "time": _time(wait.time),
                "meanwhile": list(wait.meanwhile),
                "text": told,
            }
        )
    return {
        "machine": machine,
        "units": system,
        "indicative": True,
        "notes": list(
            texts(
                "times.notes",
                cold=units.show(timeplan.COLD, "temperature rise", system),
                spread=units.show(plan.spread, "fraction", system),
            )
        ),
        "steps": [
            {
                "id": row.id,
                "number": row.number,
                "phase": row.phase,
                "title": _title(row.id),
                "method": row.method,
                "optional": row.optional,
                "heating": _heating(row, system),
                "handling": {**_time(row.handling), "pieces": dict(row.pieces), "basis": text("times.basis_handling")},
                "waiting": _cooling(row),
                "total": _time(row.total),
            }
            for row in plan.steps
        ],
        "phases": [{"id": phase, "title": text(f"phase.{phase}"), **_sums(sums)} for phase, sums in plan.phases],
        "job": _sums(plan.job),
        "optional": _sums(plan.optional),
        "waits": waits,
    }


def times_lines(plan: TimePlan, procedure: Procedure, machine: str, system: System) -> Iterator[str]:
    """The time plan for a reader, line by line."""
    report = times(plan, procedure, machine, system)
    yield text("times.title", machine=machine)
    for phase, sums in plan.phases:
        yield ""
        yield text("times.phase", title=text(f"phase.{phase}"), total=_short(sums.total.value))
        for row in plan.steps:
            if row.phase != phase:
                continue
            parts = []
            if row.heating is not None:
                parts.append(text("times.part_heating", time=_short(row.heating.time.value), heater=_heater(row.heating, system)))
            if parts or row.cooling is not None:
                parts.append(text("times.part_handling", time=_short(row.handling.value)))
            if row.cooling is not None:
                parts.append(text("times.part_waiting", time=_short(row.waiting.value)))
            tail = "  " + text("times.step_parts", parts="; ".join(parts)) if parts else ""
            yield "  " + text("times.step", number=row.number, title=_title(row.id), total=_short(row.total.value)) + tail
    yield ""
    job = plan.job
    yield text(
        "times.job",
        total=_short(job.total.value),
        low=_short(job.total.low),
        high=_short(job.total.high),
        heating=_short(job.heating.value),
        handling=_short(job.handling.value),
        waiting=_short(job.waiting.value),
    )
    if plan.optional.total.value:
        yield text("times.optional", total=_short(plan.optional.total.value))
    yield ""
    yield text("times.waits") if report["waits"] else text("times.no_waits", long=_short(timeplan.LONG_WAIT))
    for wait in report["waits"]:
        yield "  " + wait["text"]
        steps = ", ".join(
            text("times.meanwhile_step", number=procedure.steps[name].number, title=_title(name)) for name in wait["meanwhile"]
        )
        yield "    " + (text("times.meanwhile", steps=steps) if steps else text("times.meanwhile_none"))
    yield ""
    yield from report["notes"]


def times_rows(plan: TimePlan, procedure: Procedure, machine: str, system: System) -> Iterator[tuple[Any, ...]]:
    """Rows of times.csv, one a step, under TIMES_COLUMNS."""
    for step in times(plan, procedure, machine, system)["steps"]:
        heating, waiting = step["heating"], step["waiting"]
        basis = [part["basis"] for part in (heating, step["handling"], waiting) if part]
        yield (
            step["number"],
            step["id"],
            step["phase"],
            step["title"],
            step["method"],
            "yes" if step["optional"] else "no",
            heating["heater"] if heating else "",
            round(heating["time"]["value"], 1) if heating else 0.0,
            round(step["handling"]["value"], 1),
            round(waiting["time"]["value"], 1) if waiting else 0.0,
            round(step["total"]["value"], 1),
            round(step["total"]["low"], 1),
            round(step["total"]["high"], 1),
            step["total"]["text"],
            "; ".join(dict.fromkeys(basis)),
        )


def kit(found: Kit, machine: str, system: System) -> dict[str, Any]:
    """What `numbers --kit --json` prints; figures in mm, N·m, kg, W."""
    return {
        "machine": machine,
        "units": system,
        "notes": list(texts("kit.notes")),
        "groups": [
            {
                "id": group,
                "title": text(f"kit.group.{group}"),
                "items": [
                    {
                        "key": item.key,
                        "name": item.name,
                        "size": item.size,
                        "count": item.count,
                        "derived": item.derived,
                        "steps": list(item.steps),
                        "figures": dict(item.figures),
                    }
                    for item in found.of(group)
                ],
            }
            for group in GROUPS
        ],
    }


def kit_lines(found: Kit, procedure: Procedure, machine: str) -> Iterator[str]:
    """The kit list for a reader, line by line."""
    yield text("kit.title", machine=machine)
    for group in GROUPS:
        items = found.of(group)
        if not items:
            continue
        yield ""
        yield text(f"kit.group.{group}")
        for item in items:
            numbers = ", ".join(str(procedure.steps[name].number) for name in item.steps)
            where = text("kit.one_step" if len(item.steps) == 1 else "kit.steps", numbers=numbers) if item.steps else ""
            count = f"{item.count:3}" if group in ("parts", "gaskets") else "   "
            tail = "; ".join(part for part in (item.size, text("kit.derived") if item.derived else "") if part)
            line = text("kit.line", count=count, name=item.name)
            yield line + (f": {tail}" if tail else "") + (f"  [{where}]" if where else "")
    yield ""
    yield from texts("kit.notes")


def kit_rows(found: Kit) -> Iterator[tuple[Any, ...]]:
    """Rows of kit.csv under KIT_COLUMNS; figures as name=value in mm, N·m, kg, W."""
    for item in found.items:
        figures = " ".join(f"{name}={value:.6g}" for name, value in item.figures)
        yield (
            item.group,
            item.key,
            item.name,
            item.size,
            item.count,
            "yes" if item.derived else "no",
            " ".join(item.steps),
            figures,
        )
