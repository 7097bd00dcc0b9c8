"""A reading on paper: its values in the units of the sheet, as they were typed in brackets where these are others; how it stands by now.

Finished texts, with blanks that a line is not broken at. Contents: `Values`, `values`, `stands`.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from calc import units
from scenes import dial, record_words
from scenes.frame import Verdict
from scenes.reads import FEELER, NONE, Read
from scenes.record import Taken
from scenes.record_listing import Opened
from scenes.settings import Settings
from scenes.wording import text

OF_INCH = frozenset({"in", '"', "inch", "thou", "lbf ft", "ft lbf", "lbf in", "in lbf", "US gal", "US qt", "imp gal", "degF", "°F"})
"""Units of a sheet in inches; a time is of both, the others are of a sheet in mm."""
_WRITTEN = {"N m": "N·m", "Nm": "N·m", "lbf ft": "lbf·ft", "ft lbf": "lbf·ft", "lbf in": "lbf·in", "in lbf": "lbf·in", "degC": "°C", "degF": "°F"}  # fmt: skip
_SEVERAL = re.compile(r"\s*(\d+)\s*[x×]\s*(.+)", re.ASCII)
_FIGURE = re.compile(r"\s*([+-]?[\d.]+)(?:[eE][+-]?\d+)?\s*(.*?)\s*", re.ASCII)
_RUN = re.compile(r"(\S+?\s*(?:s|min|h))[\s:]+(.+)", re.ASCII)


@dataclass(frozen=True)
class Values:
    """Values of a reading in the units of the sheet; as typed in brackets, "" where the sheet has their units."""

    shown: tuple[str, ...]
    brackets: str

    @property
    def line(self) -> str:
        """All of it on one line."""
        return " ".join(one for one in ("; ".join(self.shown), self.brackets) if one)


def values(read: Read, given: Sequence[str], system: units.System) -> Values:
    """The values of a reading, as a record has them, on a sheet in mm or inches."""
    if read.kind not in (*record_words.FIGURES, "run"):
        return Values(tuple(record_words.told(read, [one]) for one in given), "")
    shown = tuple(_value(read, one, system) for one in given)
    typed = tuple(_value(read, one, None) for one in given)
    return Values(shown, "" if shown == typed else f"({'; '.join(typed)})")


def stands(found: Opened, taken: Taken, now: Settings) -> tuple[Verdict, str]:
    """The verdict of a reading as it stands by now, and why it holds no longer: never fine then."""
    said = found.judge(taken, now)
    changed = found.lapses.since(taken)
    why = text("record.paper_lapsed", number=changed.number) if changed is not None else ""
    unsure = changed is not None or not said.counts
    return ("watch" if unsure and said.verdict != "stop" else said.verdict), why


def _value(read: Read, given: str, system: units.System | None) -> str:
    """One value in a unit system; None: as typed."""
    if read.kind == "run":
        pair = _RUN.fullmatch(given.strip())
        assert pair is not None
        return f"{_figure(pair[1], 'time', system)} {_figure(pair[2], 'temperature', system)}".replace(" ", "\u00a0")
    if read.name in FEELER and given == NONE:
        return record_words.told(read, [given])
    shown, radius = dial.split(given) if read.name in dial.DIALLED_AT else (given, "")
    several = _SEVERAL.fullmatch(shown) if read.kind == "torque" else None
    count, one = (f"{several[1]} × ", several[2]) if several else ("", shown)
    at = f" {text('record.at')} {_figure(radius, 'length', system)}" if radius else ""
    return f"{count}{_figure(one, read.kind, system)}{at}".replace(" ", "\u00a0")


def _figure(given: str, kind: str, system: units.System | None) -> str:
    """A figure with its unit in a unit system; as typed where that has the unit."""
    found = _FIGURE.fullmatch(given)
    assert found is not None
    digits, unit = found[1], found[2]
    if system is None or kind == "time" or (unit in OF_INCH) == (system == "inch"):
        return units.marked(given.strip().removesuffix(unit).strip()) + f" {_WRITTEN.get(unit, unit)}"
    decimals = {"digits": 1} if kind == "temperature" and "." in digits else {}
    return units.show(units.read(given.strip(), kind), kind, system, **decimals)
