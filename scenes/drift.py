"""The drift of a machine over its jobs: each position gasket, backlash and end play, as found and as left, with the limits. mm.

Finished texts. Contents: `job_line`, `drift`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from calc import units
from scenes import report_head
from scenes.plot import Axis, Dot, Line, Mark, Plot, axis
from scenes.read_limits import limits_of
from scenes.record import PUT_IN, State
from scenes.record_listing import Opened
from scenes.settings import POSITION_GASKETS, Settings
from scenes.wanted import last_at_end
from scenes.wording import text

FOLLOWED = ("backlash", "high_speed_end_play", "low_speed_end_play")
"""Readings that drift as a machine wears."""
FOUND: tuple[State, ...] = ("found",)
BESIDE = 0.16
"""How far beside a job's place its readings are drawn, as found before, as left behind it [of the way to the next job]: own choice."""


def job_line(count: int, job: Opened) -> str:
    """A job's number in the plots, its file, the set that it was begun for, the days of its readings."""
    days, set_number = _days(job), job.job.whose.set_number or text("record.not_stated")
    told = {"number": count, "file": job.record.path.name, "set": set_number}
    return (
        text("record.drift_line", days=report_head.days_between(days), **told) if days else text("record.drift_line_empty", **told)
    )


def drift(jobs: Sequence[Opened], now: Settings) -> tuple[Plot, ...]:
    """One plot each, over the jobs in the order given; a plot with nothing in it is left out. What wears is joined from as left to the next
    as found, the time in service; where the machine was rebuilt it is not. An old gasket, as clamped, and a new one, free, are no
    pair: they have a plot each, `narrow`."""
    reads = [_worn(name, jobs, now) for name in FOLLOWED]
    gaskets = [
        _chosen(name, style, states, text(which), jobs, now)
        for style, states, which in (("found", FOUND, "record.drift_old"), ("left", PUT_IN, "record.drift_new"))
        for name in POSITION_GASKETS
    ]
    return tuple(plot for plot in (*reads, *gaskets) if plot is not None)


def _days(job: Opened) -> list[str]:
    return sorted(one.time[:10] for one in job.job.standing())


def _read(read: str, states: tuple[State, ...], jobs: Sequence[Opened]) -> dict[int, float]:
    """What was read last in each job that has it, by the job's number from 1 on [mm]."""
    taken = {count: last_at_end(job, read, *states) for count, job in enumerate(jobs, start=1)}
    return {count: one.mean for count, one in taken.items() if one is not None and one.values}


def _worn(read: str, jobs: Sequence[Opened], now: Settings) -> Plot | None:
    """A reading that drifts in service, as found on the left of each job's place, as left on the right."""
    found, left = _read(read, FOUND, jobs), _read(read, PUT_IN, jobs)
    came, went = (
        {count: (count + side, value) for count, value in some.items()} for side, some in ((-BESIDE, found), (BESIDE, left))
    )
    service = tuple((went[count], came[count + 1]) for count in went if count + 1 in came)
    names = (("record.state_found", "found", came), ("record.state_left", "left", went))
    lines = [Line(text(name), style, ()) for name, style, places in names if places]
    lines += [Line(text("record.drift_service"), "service", service)] if service else []
    dots = [Dot(style, place, "") for _, style, places in names for place in places.values()]
    last = jobs[-1]
    limits = limits_of(last.present.reducer(now), last.reads[read])
    ends = () if limits is None else (limits.low, limits.high)
    return _plot(f"drift_{read}", text(f"read.{read}"), lines, dots, ends, jobs, now)


def _chosen(gasket: str, style: str, states: tuple[State, ...], which: str, jobs: Sequence[Opened], now: Settings) -> Plot | None:
    """One position gasket over the jobs: those that came out, or those that went in."""
    places = tuple((float(count), value) for count, value in _read(f"gaskets.{gasket}", states, jobs).items())
    dots = [Dot(style, place, "") for place in places]
    plot = _plot(f"drift_{gasket}_{style}", text(f"part.{gasket}"), [Line("", style, (places,))], dots, (), jobs, now)
    return None if plot is None else replace(plot, said=(which,))


def _plot(
    key: str, title: str, lines: Sequence[Line], dots: Sequence[Dot], ends: tuple[float, ...], jobs: Sequence[Opened], now: Settings
) -> Plot | None:
    if not dots:
        return None
    marks = tuple(Mark("y", value, "", "limit") for value in ends)
    low, high = (units.show(value, "length", now.units) for value in ends or (0.0, 0.0))
    values = [*(dot.at[1] for dot in dots), *ends]
    room = 0.25 * (max(values) - min(values)) or 0.02
    years = [(_days(job) or [""])[-1][:4] for job in jobs]
    alone = "" not in years and len(set(years)) == len(years)
    named = years if alone else [f"{count}: {year}" for count, year in enumerate(years, start=1)]
    ticks = tuple((float(count), name) for count, name in enumerate(named, start=1))
    up = axis(text("record.drift_size"), (min(values) - room, max(values) + room), "length", now.units)
    across = Axis(text("record.drift_job"), 0.5, len(jobs) + 0.5, ticks)
    said = (text("record.drift_limits", low=low, high=high),) if marks else ()
    return Plot(key, title, across, up, tuple(lines), marks=marks, dots=tuple(dots), said=said)
