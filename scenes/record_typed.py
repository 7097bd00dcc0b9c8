"""What the form for readings shows and takes: what is asked and what is accepted, values as typed, their verdict before they are kept.

Values in mm, N·m, s, L or degC inside; a bare figure takes the unit that is shown beside its box.
Contents: `asked`, `choice`, `strikable`, `entries_at`, `values`, `How`, `how`, `Said`, `verdict`, `added`.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

from calc import units
from scenes import dial, feel, instruments, leaf, measurable, record, record_words, temperatures
from scenes.reads import FEELER, Read, typed
from scenes.record import STATES, Taken
from scenes.record_judged import Judgement, limits_of
from scenes.record_listing import Opened, entry_line, limits_at, titled
from scenes.record_order import moment
from scenes.settings import Settings
from scenes.wording import text

AT_A_GLANCE = 420
"""Most characters of what is to be done now that are shown unfolded: own choice."""
_BARE = re.compile(r"[+-]?\d*[.,]?\d+", re.ASCII)
_SCREWS = re.compile(r"([1-9]\d?\s*[x×]\s*)?\d*[.,]?\d+", re.ASCII)
"""A torque without its unit, of one screw or of several alike."""


@dataclass(frozen=True)
class How:
    """How a reading was taken, as a record keeps it: instrument, last day of its calibration, temperatures of the parts."""

    instrument: str
    due: str
    temperature: list[str]


def asked(found: Opened, read: Read, step: str, now: Settings) -> dict[str, Any]:
    """Name, title and hint of one line: limits, unit, how many places; whether it is only ticked."""
    limits = limits_at(found, (found.planned if read.dimension else found.present).reducer(now), read, step)
    hints = []
    if limits is not None:
        low, high = (units.show(value, read.kind, now.units) for value in (limits.least, limits.high))
        hints.append(leaf.limit(now.units) if read.name in FEELER else text("readings.limits", low=low, high=high))
    if read.kind in record_words.FIGURES:
        hints.append(text("page.record_unit", unit=_unit(found, read, now)))
    if read.wanted > 1 and read.kind != "run":
        hints.append(text("page.record_screws" if read.kind == "torque" else "page.record_places", count=read.wanted))
    if read.name in FEELER:
        hints.append(read.typed_as)
    elif read.kind == "feel":
        hints.append(feel.choices())
    elif read.kind in ("count", "marks", "run"):
        hints.append(text(f"record.kind_{read.kind}"))
    return {"name": read.name, "title": titled(found, read, step), "hint": " · ".join(hints), "ticked": read.kind == "agreed"}


def choice(found: Opened, now: Settings) -> list[dict[str, Any]]:
    """Everything that can be read besides the lines of the step, in groups."""
    groups = measurable.groups(found.planned, found.reads, now)
    return [
        {"title": title, "reads": [{"name": name, "title": found.reads[name].title} for name in names]} for title, names in groups
    ]


def strikable(found: Opened, step: str, most: int) -> list[dict[str, Any]]:
    """Entries that can be struck: those of the step first, then the last ones, the newest first."""
    standing = sorted(found.job.standing(), key=lambda one: one.number, reverse=True)
    here = [one for one in standing if step and one.step == step]
    shown = [*here, *(one for one in standing if one not in here)]
    return [{"number": str(one.number), "title": entry_line(found, one)} for one in shown[: max(most, len(here))]]


def entries_at(found: Opened, step: str) -> list[dict[str, Any]]:
    """The entries of a step, the newest first: number, what was read, who read it in which state; whether it is struck."""
    return [_entry(found, one) for one in reversed(found.job.taken) if step and one.step == step]


def _entry(found: Opened, one: Taken) -> dict[str, Any]:
    read = found.reads[one.read]
    by = f"{text(f'record.state_{one.state}')}, {one.initials}"
    struck = text("page.record_struck_by", number=one.struck) if one.struck else ""
    what = text("page.record_entry", title=read.title, values=record_words.told(read, one.typed))
    return {"number": str(one.number), "title": what, "by": struck or by, "struck": bool(one.struck)}


def values(found: Opened, read: Read, given: str, now: Settings) -> list[str]:
    """The values that were typed into one box, parted by semicolons; a bare figure with its unit."""
    if read.kind == "words":
        return [given.strip()] if given.strip() else []
    parts = [one.strip() for one in given.split(";") if one.strip()]
    if read.kind not in record_words.FIGURES:
        return parts
    unit = _unit(found, read, now)
    bare = _SCREWS if read.kind == "torque" else _BARE
    kept = record_words.kept(read, parts)
    pieces = [[piece for piece in dial.split(one) if piece] if read.pitch else [one] for one in kept]
    whole = (" at ".join(f"{one} {unit}" if bare.fullmatch(one) else one for one in some) for some in pieces)
    return record_words.kept(read, list(whole))


def how(instrument: str, due: str, warm: str, now: Settings) -> How:
    """How a reading was taken, from what stands in the boxes; temperatures parted by semicolons, a bare one with its unit."""
    unit = units.show(0.0, "temperature", now.units).split(" ", 1)[1]
    parts = [one.strip() for one in warm.split(";") if one.strip()]
    return How(instrument, due, [record_words.pointed(f"{one} {unit}" if _BARE.fullmatch(one) else one) for one in parts])


@dataclass(frozen=True)
class Said:
    """What a value says: the verdict with its mark and word, the line that has the figure against its limits, what to do now, and what is
    folded under these."""

    verdict: str = ""
    heading: str = ""
    line: str = ""
    now: tuple[str, ...] = ()
    more: tuple[str, ...] = ()

    def shown(self) -> dict[str, Any]:
        """For the page."""
        return asdict(self)


def verdict(
    found: Opened, read: Read, given: str, state: str, now: Settings, taken_how: Sequence[str] = ("", "", "")
) -> Said | None:
    """What the values say as they stand in the box, nothing kept; why they say nothing yet; None for an empty box. `taken_how`: what
    stands in the boxes of instrument, calibration and temperatures."""
    spoken = values(found, read, given, now)
    entered = record_words.kept(read, spoken)
    if not entered:
        return None
    try:
        instrument, until, warm = taken_how
        figures, told_how = typed(read, entered, read.title, spoken), how(instrument, until, warm, now)
        degrees, _ = temperatures.read_all(told_how.temperature, "", read.system)
        due = told_how.due and instruments.due(told_how.due, told_how.instrument)
    except ValueError as error:
        return Said(line=text("page.record_not_yet", fault=str(error).splitlines()[0]))
    side = next(one for one in STATES if one == state)
    time = record.stamp(None)
    at = moment(time)
    taken = Taken(record.LAST, time, side, now.step or "", read.name, tuple(entered), figures,
                  told_how.instrument, "", "", temperatures=degrees, due=due, at=at, entered_at=at)  # fmt: skip
    return _said(found, taken, found.judge(taken, now), (), now)


def added(found: Opened, number: int, now: Settings) -> Said:
    """What an entry says that was just added."""
    taken = next(one for one in found.job.taken if one.number == number)
    unfit = [line for of, line in found.unfit_entries if of == number] if found.reads[taken.read].dimension else []
    return _said(found, taken, found.judge(taken, now), (*found.follows(taken, now), *unfit), now)


def _said(found: Opened, taken: Taken, judged: Judgement, follows: Sequence[str], now: Settings) -> Said:
    """A judgement as the page shows it. Of what is to be done as much is shown as can be taken in at a glance, the first of it always."""
    read = found.reads[taken.read]
    limits = limits_at(found, (found.planned if read.dimension else found.present).reducer(now), read, taken.step)
    says, to_do = list(judged.says), [*judged.now, *follows]
    line = next((one for one in says if limits is not None and limits.source in one), says[0] if says else "")
    seen = 1
    while seen < len(to_do) and sum(map(len, to_do[: seen + 1])) <= AT_A_GLANCE:
        seen += 1
    more = (*to_do[seen:], *(one for one in says if one is not line))
    mark = f"{text(f'page.mark_{judged.verdict}')} {text(f'page.verdict_{judged.verdict}')}" if judged.verdict else ""
    return Said(judged.verdict, mark, line, tuple(to_do[:seen]), more)


def _unit(found: Opened, read: Read, now: Settings) -> str:
    """The unit that a bare figure takes; a torque's is that of its limits."""
    if read.kind == "time":
        return "min"
    limits = limits_of(found.present.reducer(now), read) if read.kind == "torque" else None
    return units.show(100.0 if limits is None else limits.high, read.kind, now.units).split(" ", 1)[1]
