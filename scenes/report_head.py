"""Whose job a report is of, and how far its record went when it was printed: finished texts. Contents: `head`, `last_number`,
`days_between`."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from calc import units
from scenes.record import Job
from scenes.record_listing import Opened
from scenes.settings import Settings
from scenes.wording import text


def head(found: Opened, now: Settings, printed: date | None = None) -> list[dict[str, str]]:
    """Lines with their names: record, machine, set, rating. `printed`: today by default."""
    job, gears = found.job, found.planned.machine.gears
    struck = sum(1 for one in job.taken if one.struck)
    days = sorted(one.time[:10] for one in job.standing())
    told = {
        "record": text("record.head_record_says", file=found.record.path.name, printed=(printed or date.today()).isoformat()),
        "entries": text("record.head_entries_says", count=len(job.taken), struck=struck, number=last_number(job)),
        "read": days_between(days) if days else "",
        "machine": found.planned.title,
        "set": text(
            "record.head_set_says",
            number=gears.set_number or text("record.not_stated"),
            pinion=gears.pinion_teeth,
            gear=gears.gear_teeth,
            ratio=units.figure(gears.gear_teeth / gears.pinion_teeth, ".3f"),
            form=text("record.head_spiral" if gears.spiral_angle else "record.head_straight"),
        ),
        "rating": text("record.not_stated")
        if gears.pinion_torque is None
        else units.show(gears.pinion_torque, "torque", now.units),
    }
    return [{"name": text(f"record.head_{name}"), "said": said} for name, said in told.items() if said]


def last_number(job: Job) -> int:
    """Number of the last line of the record, whatever it is; 0 where nothing is recorded."""
    return max((*(one.number for one in job.taken), *(one.number for one in job.strikes), *job.torn, *job.strange), default=0)


def days_between(days: Sequence[str]) -> str:
    """The first and the last of some days in their order; a single one once."""
    return days[0] if days[0] == days[-1] else text("record.head_read_says", first=days[0], last=days[-1])
