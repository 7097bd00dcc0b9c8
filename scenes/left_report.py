"""The report of a finished job: as found beside as left, fits, torques, locks, gaskets, marks, deviations, what is open.

Finished texts only. Contents: `report`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from calc import units
from scenes import instruments, leaf, paper, record_whose, record_words, report_head, rounds_listing, temperatures
from scenes.cures import TRIAL, marks_of
from scenes.gasket_changes import FOLLOWED, MOVES
from scenes.reads import FEELER, Read
from scenes.record import PUT_IN, STATES, State, Taken
from scenes.record_listing import Opened, limits_at, still_open, titled
from scenes.settings import POSITION_GASKETS, Settings
from scenes.wanted import asked, at_end, last_at_end
from scenes.wording import text

SIDES: tuple[tuple[State, ...], ...] = (("found",), PUT_IN)
SET = ("backlash", "pattern", "high_speed_end_play", "low_speed_end_play", "pinion_running", "gear_distance", "turning_feel")
"""What the job is about: told whether it was read or not."""
LONGEST_WORD = 24
"""Signs without a blank that fit into a cell of the report."""


def report(found: Opened, now: Settings) -> dict[str, Any]:
    """What the report says."""
    job = found.job
    setting = [(read, step) for read, step in asked(found) if read.name in SET]
    checks = [(read, step) for read, step in asked(found) if read.name not in SET and not read.dimension and job.latest(read.name)]
    return {
        "head": report_head.head(found, now),
        "signed_for": text("record.signed_for", number=report_head.last_number(job)),
        "setting": [_row(found, now, read, titled(found, read, step), step) for read, step in setting],
        "gaskets": [_row(found, now, found.reads[f"gaskets.{name}"], text(f"part.{name}")) for name in POSITION_GASKETS],
        "sizes": [_row(found, now, read) for read in found.reads.values() if read.dimension and _is_size(found, read)],
        "checks": [_row(found, now, read, titled(found, read, step), step) for read, step in checks],
        "told": [
            {"what": found.reads[one.read].title, "said": _told(found, one, now), "who": _who(one, now)}
            for one in job.standing()
            if found.reads[one.read].kind == "words"
        ],
        "instruments": instruments.rows(job, found.reads),
        "marks": list(_marks(found)),
        "rounds": rounds_listing.table(found, now),
        "deviations": list(_deviations(found, now)),
        "open": list(still_open(found, now)),
        "remarks": [breakable(line) for line in found.remarks],
        "torn": list(_untold(found)),
    }


def _untold(found: Opened) -> Iterator[str]:
    """Who answered for whose record it is; what of it counts for nothing; a reading that makes no reducer without the words of the check, which are English."""
    titles = {one.number: found.reads[one.read].title for one in found.job.taken}
    yield from map(breakable, record_whose.answered(found.job.whose))
    yield from (text("record.torn", number=number) for number in found.job.torn)
    yield from (text("record.strange", number=number) for number in found.job.strange)
    for number in dict.fromkeys(number for number, _ in found.unfit_entries):
        yield text("record.unfit_report", number=number, title=titles[number])


def _is_size(found: Opened, read: Read) -> bool:
    return not read.name.startswith("gaskets.") and found.job.latest(read.name) is not None


def _row(found: Opened, now: Settings, read: Read, title: str = "", step: str = "") -> dict[str, Any]:
    """One reading: its limits, as found, as left."""
    reducer = (found.planned if read.dimension else found.present).reducer(now)
    last = found.job.latest(read.name, step=step if len(read.steps) > 1 else "")
    if read.name == "trial_depth" and last is not None:  # the gaskets that were in then
        reducer = found.reducer(found.job.until(last))
    limits = limits_at(found, reducer, read, step, min(last.values, default=0.0) if last is not None else 0.0)
    kind = read.kind
    between = (
        ""
        if limits is None
        else text("readings.limits", low=units.show(limits.least, kind, now.units), high=units.show(limits.high, kind, now.units))
    )
    if read.name in FEELER:
        between = leaf.limit(now.units)
    sides = []
    for states in SIDES:
        taken = found.sealed.latest(read.name, *states, step=step if len(read.steps) > 1 else "")
        if taken is None:
            sides.append({"said": "", "more": "", "verdict": "", "why": "", "who": ""})
            continue
        told = paper.values(read, taken.typed, now.units)
        said, more = breakable("; ".join(told.shown)), told.brackets
        if read.kind in record_words.FIGURES and not (read.kind == "time" and len(taken.values) == 1):
            said, more = _figures(taken, kind, now)
        if read.name in FEELER:
            said, more = leaf.said(taken.values, now.units)
        verdict, why = paper.stands(found, taken, now)
        closed = _tried(found, now, read.name)
        if closed is not None:
            verdict, why = "", text("record.trial_done", number=closed.number)
        sides.append({"said": said, "more": more, "verdict": verdict, "why": why, "who": _who(taken, now)})
    return {
        "what": title or read.title,
        "limits": between,
        "found": sides[0],
        "left": sides[1],
    }


def _tried(found: Opened, now: Settings, name: str) -> Taken | None:
    """The backlash of the closed machine that was read inside its limits, for a reading of the dry trial, which says nothing then."""
    closed = last_at_end(found, "backlash", *PUT_IN) if name in (TRIAL, "trial_depth") else None
    return closed if closed is not None and found.judge(closed, now).verdict == "fine" else None


def breakable(said: str) -> str:
    """Words that may be broken into lines, however long one of them is."""
    return re.sub(rf"\S{{{LONGEST_WORD}}}(?=\S)", lambda piece: piece[0] + "\u200b", said)


def _told(found: Opened, taken: Taken, now: Settings) -> str:
    """The values in words, figures in the units of the report."""
    return breakable(paper.values(found.reads[taken.read], taken.typed, now.units).line)


def _figures(taken: Taken, kind: str, now: Settings) -> tuple[str, str]:
    """Mean of the values; least, greatest and number of them where there are several."""
    mean = units.show(taken.mean, kind, now.units, digits=0 if kind == "time" else None)
    if len(taken.values) == 1:
        return mean, ""
    low, high = units.show(min(taken.values), kind, now.units), units.show(max(taken.values), kind, now.units)
    return mean, text("record.report_same" if low == high else "record.report_several", low=low, high=high, count=len(taken.values))


def _who(taken: Taken, now: Settings) -> str:
    time = taken.time[:10]
    if taken.entered[:10] not in ("", time):
        time = text("record.time_entered", time=time, entered=taken.entered[:10])
    signed = f"{taken.number}: {text(f'record.state_{taken.state}')}, {taken.initials} {time}"
    note = text("record.noted", note=taken.note) if taken.note.strip() else ""
    told = (signed, taken.instrument, temperatures.noted(taken, now.units), note)
    return breakable(", ".join(one for one in told if one))


def _marks(found: Opened) -> Iterator[dict[str, Any]]:
    """Where the marks were read on the gear: drive and coast, as found and as left [%]."""
    for states, title in zip(SIDES, ("state_found", "state_left"), strict=True):
        taken = found.job.latest("pattern", "found") if states == ("found",) else last_at_end(found, "pattern", *PUT_IN)
        flanks = zip(("drive", "coast"), marks_of(taken), strict=True) if taken else ()
        for flank, mark in flanks:
            if mark is not None:
                yield {
                    "title": f"{text(f'flank.{flank}')}, {text(f'record.{title}')}",
                    "along": mark.centre[0],
                    "depth": mark.centre[1],
                }


def _deviations(found: Opened, now: Settings) -> Iterator[str]:
    """Readings outside their limits, but for those that another gasket was put in for (they are told round by round): first what still
    stands, with the reason that was written beside it, then what a later entry put right; entries that were struck, and why."""
    right, standing = [], {one.number for one in at_end(found)}
    for one in found.job.standing():
        if _tried(found, now, one.read):
            continue
        size = found.reads[one.read].dimension and one.read not in MOVES  # whenever it was measured, it is that of the machine
        states = STATES if size else PUT_IN
        bad: tuple[str, ...] = ("stop", "watch") if size and one.note.strip() else ("stop",)
        lapsed = one.read in FOLLOWED and found.lapses.since(one) is not None
        if one.state not in states or lapsed or found.judge(one, now).verdict not in bad:
            continue
        last = found.job.latest(one.read, *states, step=one.step if len(found.reads[one.read].steps) > 1 else "")
        told = _deviation(found, one, now)
        if last is None or last is one:
            measured = found.reads[one.read].kind in ("length", "torque") and found.own(one, now).verdict == "stop"
            key = "record.report_outside" if measured else "record.report_not_in_order"
            yield text(key, why=breakable(one.note) or text("record.report_no_reason"), **told)
        elif (size or last.number in standing) and found.judge(last, now).verdict == "fine":
            right.append(text("record.report_put_right", by=last.number, why=f" {breakable(one.note)}" if one.note else "", **told))
        else:
            yield text(
                "record.report_read_again", by=last.number, why=breakable(one.note) or text("record.report_no_reason"), **told
            )
    yield from right
    for one in found.job.taken:
        if one.struck:
            why = next(strike for strike in found.job.strikes if strike.number == one.struck)
            yield text("record.report_struck", why=breakable(why.note), by=why.initials, **_deviation(found, one, now))


def _deviation(found: Opened, one: Taken, now: Settings) -> dict[str, Any]:
    title = titled(found, found.reads[one.read], one.step)
    return {"number": one.number, "title": title, "values": _told(found, one, now), "initials": one.initials}
