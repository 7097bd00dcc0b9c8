"""The rounds of a job as JSON, as lines for a fitter, and as a table for the report. Figures of the JSON in mm and percent.

Contents: `report`, `lines`, `table`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from calc import units
from geometry.reducer import Reducer
from scenes import adjusting, adjusting_listing, pattern_words, record_words
from scenes.closing import checks
from scenes.cures import marks_of
from scenes.next_move import Next, next_move
from scenes.read_limits import limits_of
from scenes.record import Taken
from scenes.record_listing import Opened, open_lines, still_open, untold
from scenes.rounds import Compared, InPlace, Marked, Round
from scenes.rounds_expected import rounds
from scenes.settings import Settings
from scenes.suspects import suspects
from scenes.wanted import wanted, why_not
from scenes.wording import text


@dataclass(frozen=True, eq=False)
class _Told:
    """A record's rounds in the language and units of the settings."""

    found: Opened
    now: Settings

    @cached_property
    def rounds(self) -> tuple[Round, ...]:
        return rounds(self.found)

    @cached_property
    def reducer(self) -> Reducer:
        return self.found.reducer(self.found.job)

    @cached_property
    def next(self) -> Next:
        return next_move(self.found, self.now)

    @cached_property
    def asked_again(self) -> dict[str, list[str]]:
        """Steps at which a reading is asked for once more, by its name: none that counts and stands is there."""
        found: dict[str, list[str]] = {}
        for one in wanted(self.found, self.now):
            if one.no_reading is not None and one.step:
                found.setdefault(one.read.name, []).append(str(self.found.planned.procedure.steps[one.step].number))
        return found

    def shown(self, value: float, signed: bool = False) -> str:
        return units.show(value, "length", self.now.units, signed=signed)

    def title(self, one: Round) -> str:
        if not one.number:
            return text("rounds.as_found")
        return text("rounds.number", number=one.number)

    def gasket(self, one: InPlace) -> str:
        key = "rounds.gasket_by_file" if not one.entry else "rounds.gasket" if one.counts else "rounds.gasket_uncounted"
        return text(key, gasket=text(f"part.{one.gasket}"), size=self.shown(one.thickness), number=one.entry)

    def change(self, before: InPlace, after: InPlace) -> str:
        told = {
            "gasket": text(f"part.{after.gasket}"),
            "before": self.shown(before.thickness),
            "after": self.shown(after.thickness),
        }
        return text("rounds.changed", clamped=self.shown(after.clamped - before.clamped, True), **told)

    def basis(self, number: int | None) -> str:
        if number is None:
            return text("rounds.from_file")
        return text("rounds.from_found") if not number else text("rounds.from_round", number=number)

    def expected(self, one: Compared) -> str:
        band = one.band if self.shown(one.band[0]) != self.shown(one.band[1]) else None
        key = "rounds.at_most" if one.at_most else "rounds.expected_band" if band else "rounds.expected"
        told = {"value": self.shown(one.expected), "allowed": self.shown(one.allowed), "basis": self.basis(one.basis)}
        return text(key, low=self.shown(one.band[0]), high=self.shown(one.band[1]), **told)

    def got(self, one: Compared, taken: Taken) -> str:
        if one.runout is not None:
            return text(
                "rounds.got_set",
                value=self.shown(one.got or 0.0),
                runout=self.shown(one.runout),
                count=len(taken.values),
                number=one.entry,
            )
        key = "rounds.got_one" if len(taken.values) == 1 else "rounds.got"
        spread = self.shown(taken.spread)
        return text(key, value=self.shown(one.got or 0.0), count=len(taken.values), spread=spread, number=one.entry)

    def compared(self, round_: Round, one: Compared) -> Iterator[str]:
        title = self.found.reads[one.read].title
        if one.difference is None:
            key = "rounds.line_uncounted" if one.read in round_.uncounted else "rounds.line_unread"
            yield text(key, title=title, expected=self.expected(one))
            yield from self.outside(one)
            return
        taken = round_.readings[one.read]
        told = {
            "title": title,
            "expected": self.expected(one),
            "got": self.got(one, taken),
            "difference": self.shown(one.difference, True),
        }
        yield text("rounds.line", verdict=text(f"rounds.as_{one.verdict}"), **told)
        said = self.found.judge(taken, self.now)
        if one.blind:
            change = self.shown(one.change or 0.0, True)
            blind = text("rounds.blind", allowed=self.shown(one.allowed), change=change)
            yield f"  {blind} {text('rounds.blind_inside' if said.verdict == 'fine' else 'rounds.blind_again')}"
        if said.verdict == "watch" and said.now:
            yield from (f"  {line}" for line in said.now)
        elif said.verdict in ("stop", "watch"):
            yield "  " + text(f"rounds.limits_{said.verdict}")

    def outside(self, one: Compared) -> Iterator[str]:
        """That what is expected of a reading which was not taken yet lies outside its limits."""
        limits = limits_of(self.reducer, self.found.reads[one.read])
        if limits is not None and not one.at_most and not limits.low <= one.expected <= limits.high:
            yield "  " + text("rounds.expected_outside", low=self.shown(limits.low), high=self.shown(limits.high))

    def uncounted(self, taken: Taken) -> str:
        """A reading that does not count, and why."""
        read = self.found.reads[taken.read]
        values, why = record_words.told(read, taken.typed), " ".join(why_not(self.found, self.now, taken))
        return text("rounds.uncounted", title=read.title, values=values, number=taken.number, why=why)

    def marked(self, one: Marked, crossed: bool) -> str:
        told = {
            "flank": text(f"flank.{one.flank}"),
            "expected": pattern_words.centre(*one.expected),
            "basis": self.basis(one.basis),
        }
        if one.got is None:
            return text("rounds.mark_unread", **told)
        told |= {"got": pattern_words.centre(*one.got), "allowed": units.figure(one.allowed, ".0f")}
        if one.basis is None and not crossed:
            return text("rounds.mark_by_model", **told)
        key = "rounds.as_crossed" if crossed else f"rounds.as_{one.verdict}" if one.verdict else "rounds.as_blind"
        return text("rounds.mark", verdict=text(key), **told)

    def crossed(self, one: Round) -> bool:
        """Whether the marks of a round lie at opposite ends of straight teeth, whatever was expected of them."""
        taken = one.readings.get("pattern")
        return taken is not None and adjusting.crossed(self.reducer, *marks_of(taken))

    def block(self, one: Round) -> Iterator[str]:
        """One round, line by line."""
        yield self.title(one)
        yield "  " + text("rounds.in_place", gaskets="; ".join(self.gasket(each) for each in one.gaskets))
        yield from ("  " + self.change(*pair) for pair in one.changed)
        for each in one.compared:
            yield from ("  " + line for line in self.compared(one, each))
        crossed = self.crossed(one)
        yield from ("  " + self.marked(each, crossed) for each in one.marks)
        yield from ("  " + self.uncounted(taken) for taken in one.uncounted.values())
        for name, (number, taken) in one.holds.items():
            again = self.asked_again.get(name) if one is self.rounds[-1] else None
            key = "rounds.holds" if again is None else "rounds.holds_again"
            title, basis = self.found.reads[name].title, self.basis(number)
            yield "  " + text(key, title=title, basis=basis, entry=taken.number, steps=", ".join(again or ()))
        yield from ("  " + line for line in suspects(one, self.found, self.reducer, self.now))


def lines(found: Opened, now: Settings) -> Iterator[str]:
    """The history of a job for a fitter: one block a round, the closing checks, what is open, what to put in next."""
    yield from _lines(_Told(found, now))


def _lines(told: _Told) -> Iterator[str]:
    found, now = told.found, told.now
    yield text("rounds.heading", machine=found.planned.title, count=sum(1 for one in told.rounds if one.number))
    if not told.rounds:
        yield text("rounds.none")
    for one in told.rounds:
        yield ""
        yield from told.block(one)
    yield ""
    yield text("rounds.closing")
    for check in checks(found, now):
        yield "  " + text(
            "rounds.check_line", mark=text(f"rounds.{'is_done' if check.done else 'is_open'}"), title=check.title, says=check.says
        )
    yield from untold(found)
    yield from open_lines(found, now)
    if told.rounds:
        yield ""
        yield text("rounds.next")
        yield from (f"  {line}" for line in told.next.lines(found, now))


def report(found: Opened, now: Settings) -> dict[str, Any]:
    """What `record rounds --json` prints."""
    told = _Told(found, now)
    return {
        "machine": found.planned.title,
        "record": str(found.record.path),
        "rounds": [_round(told, one) for one in told.rounds],
        "closing": [{"key": one.key, "title": one.title, "done": one.done, "says": one.says, "entry": one.entry} for one in checks(found, now)],
        "open": list(still_open(found, now)),
        "next": _move(told) if told.rounds else None,
        "text": list(_lines(told)),
    }  # fmt: skip


def _round(told: _Told, one: Round) -> dict[str, Any]:
    return {
        "number": one.number,
        "verdict": one.verdict,
        "gaskets": [{"name": each.gasket, "thickness": each.thickness, "clamped": each.clamped, "entry": each.entry} for each in one.gaskets],
        "changed": [{"name": new.gasket, "from": old.thickness, "to": new.thickness, "clamped_change": new.clamped - old.clamped}
                    for old, new in one.changed],
        "readings": [
            {
                "read": each.read, "basis": each.basis, "expected": each.expected, "band": list(each.band), "at_most": each.at_most,
                "read_value": each.got, "runout": each.runout, "difference": each.difference, "allowed": each.allowed,
                "verdict": each.verdict, "blind": each.blind, "entry": each.entry,
            }
            for each in one.compared
        ],
        "marks": [
            {"flank": each.flank, "basis": each.basis, "expected": list(each.expected), "read": each.got and list(each.got), "allowed": each.allowed,
             "verdict": "stop" if each.got and told.crossed(one) else each.verdict, "blind": each.blind}
            for each in one.marks
        ],
        "holds": [{"read": name, "round": number, "entry": taken.number} for name, (number, taken) in one.holds.items()],
        "uncounted": [
            {"read": name, "entry": taken.number, "why": list(why_not(told.found, told.now, taken))}
            for name, taken in one.uncounted.items()
        ],
        "suspects": list(suspects(one, told.found, told.reducer, told.now)),
    }  # fmt: skip


def _move(told: _Told) -> dict[str, Any]:
    found, answer = told.next, told.next.answer
    procedure, title = told.found.planned.procedure, told.found.planned.title
    return {
        "gaskets": found.gaskets,
        "wanted_first": list(found.why),
        "adjust": None
        if answer is None
        else adjusting_listing.report(answer, found.reducer, procedure, title, told.now.units, as_found=found.as_found),
    }


def table(found: Opened, now: Settings) -> list[dict[str, Any]]:
    """How the machine was brought inside its limits, a row a round, for the report."""
    told = _Told(found, now)
    return [_row(told, one) for one in told.rounds]


def _row(told: _Told, one: Round) -> dict[str, Any]:
    return {
        "round": told.title(one),
        "gaskets": [_short(told, each) for each in one.gaskets],
        "rows": [*(_figures(told, each) for each in one.compared if each.got is not None),
                 *(_place(each, told.crossed(one)) for each in one.marks if each.got is not None)],
    }  # fmt: skip


def _short(told: _Told, one: InPlace) -> str:
    key = "rounds.short_gasket" if one.counts else "rounds.short_gasket_uncounted"
    return text(key, gasket=text(f"part.{one.gasket}"), size=told.shown(one.thickness))


def _figures(told: _Told, one: Compared) -> Mapping[str, str]:
    return {
        "what": told.found.reads[one.read].title,
        "expected": text("rounds.short_expected", value=told.shown(one.expected), allowed=told.shown(one.allowed)),
        "read": told.shown(one.got or 0.0),
        "difference": told.shown(one.difference or 0.0, True),
        "verdict": one.verdict,
    }


def _place(one: Marked, crossed: bool) -> Mapping[str, str]:
    apart = one.difference or ()
    return {
        "what": text("rounds.short_mark", flank=text(f"flank.{one.flank}")),
        "expected": pattern_words.short(*one.expected),
        "read": pattern_words.short(*(one.got or (0.0, 0.0))),
        "difference": "/".join(units.figure(share, "+.0f").replace("-", "\u2212") for share in apart) + " %",
        "verdict": "stop" if crossed else one.verdict,
    }
