"""What the form for readings shows and takes: what is asked and what is accepted, values as typed, their verdict before they are kept.

Values in mm, N·m, s, L or degC inside; a bare figure takes the unit that is shown beside its box.
Contents: `asked`, `choice`, `strikable`, `values`, `How`, `how`, `verdict`, `told`.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from calc import units
from scenes import dial, feel, instruments, leaf, measurable, record, record_words, temperatures
from scenes.reads import FEELER, Read, typed
from scenes.record import STATES, Taken
from scenes.record_judged import Judgement, limits_of
from scenes.record_listing import Opened, entry_line, limits_at, titled
from scenes.settings import Settings
from scenes.wording import text

LAST = 10**9
"""Number of an entry that is not made yet: all others came before it."""
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
    standing = sorted(found.job.standing(), key=lambda one: (one.step == step and step != "", one.number), reverse=True)
    return [{"number": str(one.number), "title": entry_line(found, one)} for one in standing[:most]]


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


def verdict(found: Opened, read: Read, given: str, state: str, now: Settings, taken_how: Sequence[str] = ("", "", "")) -> str:
    """What the values say as they stand in the box, nothing kept; why they say nothing yet; empty for an empty box. `taken_how`: what
    stands in the boxes of instrument, calibration and temperatures."""
    spoken = values(found, read, given, now)
    entered = record_words.kept(read, spoken)
    if not entered:
        return ""
    try:
        instrument, until, warm = taken_how
        figures, told_how = typed(read, entered, read.title, spoken), how(instrument, until, warm, now)
        degrees, _ = temperatures.read_all(told_how.temperature, "")
        due = told_how.due and instruments.due(told_how.due, told_how.instrument)
    except ValueError as error:
        return text("page.record_not_yet", fault=str(error).splitlines()[0])
    side = next(one for one in STATES if one == state)
    taken = Taken(LAST, record.stamp(None), side, now.step or "", read.name, tuple(entered), figures,
                  told_how.instrument, "", "", temperatures=degrees, due=due)  # fmt: skip
    said = found.judge(taken, now)
    return " ".join([*told(said), *said.now])


def told(said: Judgement) -> list[str]:
    """Mark and word of a verdict, and what the reading says."""
    mark = [f"{text(f'page.mark_{said.verdict}')} {text(f'page.verdict_{said.verdict}')}"] if said.verdict else []
    return [*mark, *said.says]


def _unit(found: Opened, read: Read, now: Settings) -> str:
    """The unit that a bare figure takes; a torque's is that of its limits."""
    if read.kind == "time":
        return "min"
    limits = limits_of(found.present.reducer(now), read) if read.kind == "torque" else None
    return units.show(100.0 if limits is None else limits.high, read.kind, now.units).split(" ", 1)[1]
