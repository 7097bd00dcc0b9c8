"""The drift of a machine over its jobs: each position gasket, backlash and end play, as found and as left, with the limits. mm.

Finished texts. Contents: `job_line`, `drift`.
"""

from __future__ import annotations

from collections.abc import Sequence

from calc import units
from scenes import report_head
from scenes.plot import Axis, Dot, Line, Mark, Plot, axis
from scenes.read_limits import limits_of
from scenes.record import PUT_IN
from scenes.record_listing import Opened
from scenes.settings import POSITION_GASKETS, Settings
from scenes.wanted import last_at_end
from scenes.wording import text

FOLLOWED = ("backlash", "high_speed_end_play", "low_speed_end_play")
"""Readings that drift as a machine wears."""


def job_line(count: int, job: Opened) -> str:
    """A job's number in the plots, its file, the set that it was begun for, the days of its readings."""
    days, set_number = _days(job), job.job.whose.set_number or text("record.not_stated")
    told = {"number": count, "file": job.record.path.name, "set": set_number}
    return (
        text("record.drift_line", days=report_head.days_between(days), **told) if days else text("record.drift_line_empty", **told)
    )


def drift(jobs: Sequence[Opened], now: Settings) -> tuple[Plot, ...]:
    """One plot each, over the jobs in the order given; a plot with nothing in it is left out."""
    gaskets = [(f"gaskets.{name}", text(f"part.{name}"), "record.drift_old", "record.drift_new") for name in POSITION_GASKETS]
    reads = [(name, text(f"read.{name}"), "record.state_found", "record.state_left") for name in FOLLOWED]
    made = (_drift(read, title, (text(old), text(new)), jobs, now) for read, title, old, new in (*reads, *gaskets))
    return tuple(plot for plot in made if plot is not None)


def _days(job: Opened) -> list[str]:
    return sorted(one.time[:10] for one in job.job.standing())


def _drift(read: str, title: str, names: tuple[str, str], jobs: Sequence[Opened], now: Settings) -> Plot | None:
    drawn: list[Line] = []
    dots: list[Dot] = []
    values: list[float] = []
    for name, style, states in ((names[0], "found", ("found",)), (names[1], "left", PUT_IN)):
        taken = [(float(count), last_at_end(job, read, *states)) for count, job in enumerate(jobs, start=1)]
        places = [(count, one.mean) for count, one in taken if one is not None and one.values]
        if places:
            drawn.append(Line(name, style, (tuple(places),)))
            dots += [Dot(style, place, "") for place in places]
            values += [value for _, value in places]
    if not drawn:
        return None
    last = jobs[-1]
    limits = limits_of(last.present.reducer(now), last.reads[read])
    ends = () if limits is None else (limits.low, limits.high)
    marks = tuple(Mark("y", value, "", "limit") for value in ends)
    low, high = (units.show(value, "length", now.units) for value in ends or (0.0, 0.0))
    values += [mark.at for mark in marks]
    room = 0.25 * (max(values) - min(values)) or 0.02
    years = [(_days(job) or [""])[-1][:4] for job in jobs]
    alone = "" not in years and len(set(years)) == len(years)
    named = years if alone else [f"{count}: {year}" for count, year in enumerate(years, start=1)]
    ticks = tuple((float(count), name) for count, name in enumerate(named, start=1))
    up = axis(text("record.drift_size"), (min(values) - room, max(values) + room), "length", now.units)
    across = Axis(text("record.drift_job"), 0.5, len(jobs) + 0.5, ticks)
    said = (text("record.drift_limits", low=low, high=high),) if marks else ()
    return Plot(f"drift_{read.split('.')[-1]}", title, across, up, tuple(drawn), marks=marks, dots=tuple(dots), said=said)
