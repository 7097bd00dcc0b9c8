"""What a reading says: inside its limits or not, is it enough, does it hang together, and what to do now. mm, N·m.

Limits come from the machine: what owner or maker wants at the end, what is etched on the set, the class of a fit, the band of a drawing.
Contents: `Judgement`, `limits_of`, `judge`.
"""

from __future__ import annotations

from dataclasses import dataclass

from calc import shims, units
from calc.readings import BACKLASH_SIGMA, set_value
from geometry.fields import Fitted
from geometry.joints import Chain, ScrewJoint
from geometry.machine import Gasket, Size
from geometry.reducer import Reducer
from scenes import adjusting, adjusting_listing, mark_words
from scenes.callouts.bench import verdict_of
from scenes.callouts.gaskets import MOST_LEAVES, TARGET_SHARE, THINNEST, stock_of
from scenes.callouts.hot import FEELER as LEAF
from scenes.explain import Explainer
from scenes.frame import Verdict
from scenes.reads import FEELER, Read, field_at, known
from scenes.record import Job, Taken
from scenes.settings import Settings
from scenes.wording import text

PUSHES_APART = 0.03
"""Pushes of one end play that differ by more do not hang together [mm]: own choice, a little over a fitter's deviation."""
TORQUE_SHARE = 0.04
"""How far a set torque may be off [1]: ISO 6789-1, class A, from memory."""
PLAYS = ("high_speed_end_play", "low_speed_end_play")
DIALS = ("backlash", "trial_backlash")


@dataclass(frozen=True)
class Limits:
    """What a reading must lie in [mm, N·m], and where that comes from."""

    low: float
    high: float
    source: str


@dataclass(frozen=True)
class Judgement:
    """`verdict`: stop outside, watch not enough or not sure, fine inside, none without a limit; what the reading says; what to do now."""

    verdict: Verdict
    says: tuple[str, ...]
    now: tuple[str, ...]


def limits_of(reducer: Reducer, read: Read) -> Limits | None:
    """What a reading must lie in; None where nothing is stated."""
    machine = reducer.machine
    if read.dimension:
        return _drawn(field_at(machine, read.name))
    if read.name in DIALS:
        return Limits(*machine.gears.backlash, text("record.source_owner"))
    if read.name in FEELER:
        return Limits(0.0, LEAF - 1e-9, text("source.common_practice"))
    chain = next((one for one in reducer.chains if one.name == read.name), None)
    if chain is not None and chain.low_limit is not None and chain.high_limit is not None:
        return Limits(chain.low_limit, chain.high_limit, text(chain.limit_source))
    screw = next((one for one in reducer.of_kind(ScrewJoint) if one.name == read.name), None)
    if screw is not None and screw.torque:
        return Limits(screw.torque * (1.0 - TORQUE_SHARE), screw.torque * (1.0 + TORQUE_SHARE), text("record.source_torque"))
    return None


def _drawn(field: Fitted | Gasket | Size) -> Limits | None:
    """The limits of a dimension as the drawing has them; none for a gasket, and for what is measured already."""
    if isinstance(field, Gasket) or (isinstance(field, Fitted) and field.readings is not None):
        return None
    if isinstance(field, Size):
        return None if field.measured or field.low == field.high else Limits(field.low, field.high, text("record.source_drawing"))
    if field.fit is None:
        assert field.limits is not None
        return Limits(*field.limits, text("record.source_drawing"))
    band = field.as_hole() if field.fit[0].isupper() else field.as_shaft()
    return Limits(field.diameter + band.lower, field.diameter + band.upper, f"ISO 286-2 {field.fit}")


def judge(explainer: Explainer, now: Settings, job: Job, taken: Taken) -> Judgement:
    """What a reading says. `now`: whose units and language the sentences are in; `job`: what else was read."""
    return _Judge(explainer, now, job, taken).judgement()


class _Judge:
    """One reading looked at."""

    def __init__(self, explainer: Explainer, now: Settings, job: Job, taken: Taken) -> None:
        self.explainer, self.now, self.job, self.taken = explainer, now, job, taken
        self.reducer = explainer.reducer(now)
        self.read = known(explainer.machine, explainer.procedure)[taken.read]

    def judgement(self) -> Judgement:
        if self.read.kind == "agreed":
            good = self.taken.typed[-1].strip().lower() == "yes"
            return Judgement("fine" if good else "stop", (), () if good else (text("record.now_not_agreed"),))
        if self.read.kind == "count":
            return self._counted()
        if self.read.kind in ("words", "marks"):
            return self._marked() if self.read.kind == "marks" else Judgement("", (), ())
        return self._measured()

    def shown(self, value: float, signed: bool = False) -> str:
        kind = "torque" if self.read.kind == "torque" else "length"
        return units.show(value, kind, self.now.units, signed=signed)

    def _measured(self) -> Judgement:
        taken, limits = self.taken, limits_of(self.reducer, self.read)
        says, now = [], []
        middle, verdict = taken.mean, ""
        if len(taken.values) > 1:
            values = {"low": self.shown(min(taken.values)), "high": self.shown(max(taken.values)), "count": len(taken.values)}
            says.append(text("record.says_several", mean=self.shown(middle), **values))
        if self.read.name in DIALS:
            middle, more = self._set()
            says += more
        if limits is not None:
            verdict = verdict_of(middle, min(taken.values), max(taken.values), limits.low, limits.high)
            between = {"low": self.shown(max(limits.low, 0.0)), "high": self.shown(limits.high), "source": limits.source}
            says.append(text(f"record.says_{verdict}", value=self.shown(middle), **between))
            if verdict == "stop":
                now += self._cure(middle, limits)
        if len(taken.values) < self.read.wanted:
            verdict = "stop" if verdict == "stop" else "watch"
            now.append(text("record.now_more", count=len(taken.values), wanted=self.read.wanted))
        if self.read.name in PLAYS and taken.spread > PUSHES_APART:
            verdict = "stop" if verdict == "stop" else "watch"
            now.append(text("record.now_pushes", spread=self.shown(taken.spread), most=self.shown(PUSHES_APART)))
        return Judgement(verdict, tuple(says), tuple(now))  # type: ignore[arg-type]

    def _set(self) -> tuple[float, list[str]]:
        """The set backlash, and how far the gear runs out: places evenly spread round it."""
        found = set_value(adjusting.readings(self.reducer, adjusting.Read(self.taken.values)))
        assert found.backlash is not None
        if found.runout is None:
            return found.backlash, []
        told = {"set": self.shown(found.backlash), "runout": self.shown(found.runout), "sigma": self.shown(found.runout_sigma)}
        return found.backlash, [text("record.says_runout", **told)]

    def _cure(self, middle: float, limits: Limits) -> list[str]:
        """What to do about a figure outside its limits."""
        if self.read.name in DIALS:
            return self._shims()
        if self.read.kind == "torque":
            return [text("record.now_torque")]
        if self.read.name in FEELER:
            return [text("record.now_gap")]
        chain = next((one for one in self.reducer.chains if one.name == self.read.name), None)
        if chain is None or not chain.gasket or self.read.name not in PLAYS:
            return [text("record.now_outside")]
        return [self._gasket(chain, (limits.low + limits.high) / 2.0 - middle, (limits.high - limits.low) / 2.0)]

    def _gasket(self, chain: Chain, change: float, half: float) -> str:
        """The stack that brings an end play to the middle of its limits, from what was read and the gasket that is in."""
        item: Gasket = getattr(self.reducer.machine.gaskets, chain.gasket)
        stock = stock_of(self.reducer.machine, item)
        free = (item.clamped + change / chain.per_gasket) / (1.0 - stock.compression)
        told = {"gasket": text(f"part.{chain.gasket}"), "old": self.shown(item.thickness), "new": self.shown(max(free, 0.0))}
        choice = (
            shims.stacks(round(free * 1e4) / 1e4, stock.sizes, tolerance=TARGET_SHARE * half, most_leaves=MOST_LEAVES)
            if free >= THINNEST
            else None
        )
        if choice is None or choice.best is None:
            return text("record.now_no_stack", **told)
        leaves = " + ".join(f"{count} x {self.shown(size)}" for size, count in choice.best.leaves)
        return text("record.now_gasket", stack=leaves, **told)

    def _shims(self) -> list[str]:
        """The shim moves of the readings, with the marks that were read last."""
        marks = self.job.latest("pattern")
        drive, coast = marks_of(marks) if marks else (None, None)
        try:
            found = adjusting.answer(
                self.reducer,
                self.explainer.procedure,
                adjusting.Read(self.taken.values, drive=drive, coast=coast, sigma=BACKLASH_SIGMA),
            )
        except ValueError as error:
            return [str(error)]
        listed = adjusting_listing.lines(found, self.reducer, self.explainer.procedure, self.explainer.title, self.now.units)
        return [line for line in listed if line][1:]

    def _counted(self) -> Judgement:
        came = self.job.latest("packers_in") if self.taken.read == "packers_out" else None
        if came is None:
            return Judgement("", (), ())
        same = came.values[-1] == self.taken.values[-1]
        told = {"came": int(came.values[-1]), "left": int(self.taken.values[-1])}
        return Judgement(
            "fine" if same else "stop", (text("record.says_counted", **told),), () if same else (text("record.now_count"),)
        )

    def _marked(self) -> Judgement:
        return Judgement("watch", (), (text("record.now_marks"),))


def marks_of(taken: Taken) -> tuple[mark_words.Mark | None, mark_words.Mark | None]:
    """The marks on drive and coast, as they were typed."""
    found: dict[str, mark_words.Mark] = {}
    for one in taken.typed:
        flank, place = mark_words.flank(one)
        found[flank] = mark_words.place(place)
    return found.get("drive"), found.get("coast")
