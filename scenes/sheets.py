"""What stands on the printed sheets, as plain records of finished texts: step sheets, kit list and time plan, and the head of all.

Nothing here is drawn. The foreman's sheet is in `briefing`, the readings in `reading_sheet`.
Contents: `head`, `steps`, `kit`, `times`.
"""

from __future__ import annotations

from typing import Any

from calc import units
from calc.cooling import Seconds
from scenes import briefing, listing, step_frame, timeplan
from scenes.explain import Explainer
from scenes.settings import POSITION_GASKETS, Settings, effective
from scenes.wording import text, texts


def head(explainer: Explainer, now: Settings, title: str, part: str = "") -> dict[str, Any]:
    """What every sheet carries: machine, title, what stands before it, and the settings that its figures come from."""
    machine = effective(explainer.machine, now)
    heater = now.heater if now.heater is not None else machine.shop.heater
    ambient = now.ambient if now.ambient is not None else machine.shop.ambient
    gaskets = ", ".join(
        text(
            "sheet.basis.gasket",
            name=text(f"part.{name}"),
            thickness=units.show(getattr(machine.gaskets, name).thickness, "length", now.units),
        )
        for name in POSITION_GASKETS
    )
    return {
        "machine": machine.name,
        "title": title,
        "part": part,
        "page": text("sheet.page", page="{page}", count="{count}"),
        "safety": texts("note.sheet"),
        "basis": text(
            "sheet.basis.line",
            heater=text("sheet.basis.recommended") if heater is None else units.show(heater, "temperature", now.units),
            ambient=units.show(ambient, "temperature", now.units),
            gaskets=gaskets,
            units=text(f"sheet.basis.{now.units}"),
        ),
    }


def steps(explainer: Explainer, now: Settings, phase: str) -> dict[str, Any]:
    """The step sheets of one phase: what to do and why, figures with verdict, limit and source, torque, cautions, hold point."""
    procedure, report = explainer.procedure, explainer.numbers(explainer.with_(now, step=None))
    here = explainer.stage(now)
    rows, sources = [], {}
    for step in report["steps"]:
        if step["phase"] != phase:
            continue
        words = step_frame.step_text(here, procedure.steps[step["id"]])
        notes = []
        for note in sorted(step["callouts"], key=lambda note: briefing.GRAVEST[note["verdict"]]):
            letter = sources.setdefault(note["source"], _letter(len(sources))) if note["source"] else ""
            limit = text("sheet.limit", limit=note["limit"]) if note["limit"] else ""
            notes.append({"text": note["text"], "limit": limit, "verdict": note["verdict"], "source": letter, **_torque(note)})
        rows.append(
            {
                "id": words.id,
                "number": words.number,
                "title": words.title,
                "method": words.method,
                "act": words.act,
                "why": text("sheet.why", reason=words.reason),
                "tools": text("sheet.tools", tools=", ".join(words.tools)) if words.tools else "",
                "notes": notes,
                "cautions": words.cautions,
                "hold": words.hold,
                "optional": procedure.steps[words.id].optional,
                "again": "first_run" in procedure.steps[words.id].reads,
            }
        )
    numbers = [row["number"] for row in rows]
    return {
        "range": text("sheet.steps_range", first=numbers[0], last=numbers[-1], count=len(procedure.order)),
        "steps": rows,
        "sources": [{"letter": letter, "text": source} for source, letter in sources.items()],
    }


def _torque(note: dict[str, Any]) -> dict[str, str]:
    """What is printed large where a note is about the torque of screws or a nut: the torque, or else a blank for the maker's."""
    key = str(note["key"])
    if key.startswith("nut."):
        return {"torque": text(f"part.{note['part']}"), "blank": text("sheet.torque_maker")}
    if not key.startswith("screws.") or key.count(".") != 1:
        return {"torque": "", "blank": ""}
    count, _, given = str(note["short"]).partition(" ")
    screws = text(f"part.{key.removeprefix('screws.')}", count=count)
    if ", " not in given:
        return {"torque": screws, "blank": text("sheet.torque_maker")}
    return {"torque": text("sheet.torque_line", screws=screws, torque=given.rsplit(", ", 1)[1]), "blank": ""}


def _letter(place: int) -> str:
    """a to z, then aa, ab and on."""
    first, last = divmod(place, 26)
    return (chr(96 + first) if first else "") + chr(97 + last)


def kit(explainer: Explainer, now: Settings) -> dict[str, Any]:
    """The kit list, group by group, with the steps that ask for each item."""
    report = listing.kit(explainer.kit(now), explainer.title, now.units)
    numbers = {name: step.number for name, step in explainer.procedure.steps.items()}
    groups = []
    for group in report["groups"]:
        rows = [
            {
                "name": item["name"],
                "size": item["size"],
                "count": str(item["count"]) if group["id"] in ("parts", "gaskets") else "",
                "derived": item["derived"],
                "steps": briefing.listed([numbers[name] for name in item["steps"]]),
            }
            for item in group["items"]
        ]
        if rows:
            groups.append({"title": group["title"], "rows": rows})
    return {"groups": groups, "notes": report["notes"]}


def times(explainer: Explainer, now: Settings) -> dict[str, Any]:
    """The time plan, phase by phase, with what to do while something heats or cools; indicative."""
    plan, procedure = explainer.times(now), explainer.procedure
    report = listing.times(plan, procedure, explainer.title, now.units)

    def told(time: Seconds) -> str:
        return units.show(time.value, "time", now.units, digits=0) if time.value else ""

    phases = []
    for phase, sums in plan.phases:
        rows = [
            {
                "number": row.number,
                "title": text(f"step.{row.id}.title"),
                "heating": told(row.heating_time),
                "handling": told(row.handling),
                "waiting": told(row.waiting),
                "total": told(row.total),
                "optional": row.optional,
            }
            for row in plan.steps
            if row.phase == phase
        ]
        phases.append({"title": text(f"phase.{phase}"), "rows": rows, "total": briefing.roughly(sums.total)})
    waits = []
    for wait in report["waits"]:
        steps = ", ".join(
            text("times.meanwhile_step", number=procedure.steps[name].number, title=text(f"step.{name}.title"))
            for name in wait["meanwhile"]
        )
        waits.append(
            {
                "text": wait["text"],
                "meanwhile": text("times_sheet.meanwhile", steps=steps) if steps else text("times.meanwhile_none"),
            }
        )
    job = plan.job
    return {
        "phases": phases,
        "job": {
            "heating": briefing.roughly(job.heating),
            "handling": briefing.roughly(job.handling),
            "waiting": briefing.roughly(job.waiting),
            "total": briefing.roughly(job.total),
        },
        "waits": waits,
        "no_waits": "" if waits else text("times.no_waits", long=units.show(timeplan.LONG_WAIT, "time", now.units, digits=0)),
        "notes": report["notes"],
    }
