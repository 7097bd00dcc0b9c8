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
from scenes import adjusting, adjusting_listing, dial, feel, mark_words
from scenes.callouts.bench import verdict_of
from scenes.callouts.gaskets import TARGET_SHARE, THINNEST, stock_of
from scenes.callouts.hot import FEELER as LEAF
from scenes.explain import Explainer
from scenes.frame import Verdict
from scenes.reads import FEELER, Read, field_at
from scenes.record import PUT_IN, Job, State, Taken
from scenes.settings import Settings
from scenes.wording import text

PUSHES_APART = 0.03
"""Pushes of one end play that differ by more do not hang together [mm]: own choice, a little over a fitter's deviation."""
TORQUE_SHARE = 0.04
"""How far a set torque may be off [1]: own choice, as much as the wrench itself may be (ISO 6789-1, from memory)."""
PLAYS = ("high_speed_end_play", "low_speed_end_play")
DIALS = ("backlash", "trial_backlash")
DROP_SHARE = 0.5
"""How far the drop on the packers may be off what the machine file says [mm]: "2 to 3 mm" in the step's words."""


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
        return Limits(0.0, LEAF, text("source.common_practice"))
    if read.name == "gear_drop":
        drop = machine.spacers.packer_drop
        return Limits(drop - DROP_SHARE, drop + DROP_SHARE, text("record.source_owner"))
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


def judge(explainer: Explainer, reducer: Reducer, now: Settings, job: Job, read: Read, taken: Taken) -> Judgement:
    """What a reading says. `explainer`: the machine as in its file; `reducer`: as it was when that was read; `now`: whose units and
    language the sentences are in; `job`: what had been entered before."""
    try:
        return _Judge(explainer, reducer, now, job, read, taken).judgement()
    except ValueError as error:
        return Judgement("stop", (str(error),), (text("record.now_outside"),))


class _Judge:
    """One reading looked at."""

    def __init__(self, explainer: Explainer, reducer: Reducer, now: Settings, job: Job, read: Read, taken: Taken) -> None:
        self.explainer, self.reducer, self.now, self.job, self.read, self.taken = explainer, reducer, now, job, read, taken
        self.side: tuple[State, ...] = ("found",) if taken.state == "found" else PUT_IN

    def judgement(self) -> Judgement:
        if self.read.kind == "agreed":
            good = all(one.strip().lower() == "yes" for one in self.taken.typed)
            return Judgement("fine" if good else "stop", (), () if good else (text("record.now_not_agreed"),))
        if self.read.kind == "count":
            return self._counted()
        if self.read.kind == "words":
            return self._written()
        if self.read.kind == "feel":
            return self._felt()
        return self._marked() if self.read.kind == "marks" else self._measured()

    def shown(self, value: float, signed: bool = False) -> str:
        kind = "torque" if self.read.kind == "torque" else "length"
        return units.show(value, kind, self.now.units, signed=signed)

    def _measured(self) -> Judgement:
        taken, read = self.taken, self.read
        limits = limits_of(self.explainer.reducer(self.now) if read.dimension else self.reducer, read)
        says, now, verdict = [], [], ""
        if dial.elsewhere(read.name, taken.typed):
            says.append(text("record.says_radius", radius=self.shown(read.pitch)))
        if len(taken.values) > 1:
            values = {"low": self.shown(min(taken.values)), "high": self.shown(max(taken.values)), "count": len(taken.values)}
            says.append(text("record.says_several", mean=self.shown(taken.mean), **values))
        middle, more = self._set() if read.name in DIALS else (max(taken.values) if read.name in FEELER else taken.mean, [])
        says += more
        sure = self._sure(now)
        if limits is not None:
            verdict = self._against(middle, limits)
            between = {"low": self.shown(max(limits.low, 0.0)), "high": self.shown(limits.high), "source": limits.source}
            key = f"record.says_{verdict}" if read.name not in FEELER else f"record.leaf_{verdict}"
            says.append(text(key, value=self.shown(middle), **between))
            if verdict == "stop" and (sure or read.name in FEELER or read.kind == "torque"):
                now += self._cure(middle, limits)
        if not sure:
            verdict = "stop" if verdict == "stop" else "watch"
        return Judgement(verdict, tuple(says), tuple(now))  # type: ignore[arg-type]

    def _sure(self, now: list[str]) -> bool:
        """Whether the reading was taken often enough and hangs together; else what is wanted goes into `now`."""
        few = len(self.taken.values) < self.read.wanted
        apart = self.read.name in PLAYS and self.taken.spread > PUSHES_APART
        if few:
            now.append(text("record.now_more", count=len(self.taken.values), wanted=self.read.wanted))
        if apart:
            now.append(text("record.now_pushes", spread=self.shown(self.taken.spread), most=self.shown(PUSHES_APART)))
        return not few and not apart

    def _against(self, middle: float, limits: Limits) -> Verdict:
        if self.read.name in FEELER:
            return "fine" if middle < limits.high - 1e-6 else "stop"
        verdict = verdict_of(middle, min(self.taken.values), max(self.taken.values), limits.low, limits.high)
        tight = self.read.name in DIALS and min(self.taken.values) < limits.low
        return "stop" if tight else verdict

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
            low = min(self.taken.values)
            if limits.low <= middle <= limits.high and low < limits.low:
                return [text("record.now_tightest", low=self.shown(low), limit=self.shown(limits.low))]
            return self._shims()
        if self.read.kind == "torque":
            return [text("record.now_torque" if middle < limits.low else "record.now_over_torque")]
        if self.read.name in FEELER:
            return [text(f"record.now_{self.read.name}", leaf=self.shown(LEAF))]
        chain = next((one for one in self.reducer.chains if one.name == self.read.name), None)
        if chain is None or not chain.gasket or self.read.name not in PLAYS:
            return [text("record.now_outside")]
        if self.taken.state == "found" and not self._gasket_measured(chain.gasket):
            return [text("record.now_found", gasket=text(f"part.{chain.gasket}"))]
        return [
            self._gasket(chain, (limits.low + limits.high) / 2.0 - middle, (limits.high - limits.low) / 2.0),
            text("record.now_cover"),
        ]

    def _gasket_measured(self, name: str) -> bool:
        return self.job.latest(f"gaskets.{name}", *self.side) is not None

    def _gasket(self, chain: Chain, change: float, half: float) -> str:
        """The stack that brings an end play to the middle of its limits, from what was read and the gasket that is in."""
        item: Gasket = getattr(self.reducer.machine.gaskets, chain.gasket)
        stock = stock_of(self.reducer.machine, item)
        free = (item.clamped + change / chain.per_gasket) / (1.0 - stock.compression)
        old = (
            self.shown(item.thickness)
            if self._gasket_measured(chain.gasket)
            else text("record.by_file", size=self.shown(item.thickness))
        )
        told = {"gasket": text(f"part.{chain.gasket}"), "old": old, "new": self.shown(max(free, 0.0))}
        tolerance = TARGET_SHARE * half
        thick = free >= THINNEST
        choice = (
            shims.stacks(round(free * 1e4) / 1e4, stock.sizes, tolerance=tolerance, most_leaves=stock.most_leaves)
            if thick
            else None
        )
        if choice is None or choice.best is None:
            return text("record.now_no_stack", **told)
        leaves = " + ".join(f"{count} x {self.shown(size)}" for size, count in choice.best.leaves)
        return text("record.now_gasket", stack=leaves, **told)

    def _shims(self) -> list[str]:
        """The shim moves of the readings, with the marks of the pair as it then stood."""
        if self.taken.state == "found" and not all(self._gasket_measured(name) for name in adjusting.PACKS):
            return [text("record.now_found_mesh")]
        marks = self.job.latest("pattern", *self.side)
        changed = max(
            (one.number for name in adjusting.PACKS for one in self.job.standing(f"gaskets.{name}", *self.side)), default=0
        )
        if marks is None or marks.number < changed:
            return [text("record.now_mark")]
        drive, coast = marks_of(marks)
        read = adjusting.Read(self.taken.values, drive=drive, coast=coast, sigma=BACKLASH_SIGMA)
        found = adjusting.answer(self.reducer, self.explainer.procedure, read)
        listed = adjusting_listing.lines(found, self.reducer, self.explainer.procedure, self.explainer.title, self.now.units)
        return [line for line in listed if line][1:]

    def _counted(self) -> Judgement:
        left = int(self.taken.values[-1])
        if self.taken.read == "packers_in":
            drawn = sum(part.name.startswith("packer_") for part in self.reducer.parts)
            told = (text("record.says_packers", count=left, drawn=drawn),)
            return Judgement("fine" if left == drawn else "watch", told, ())
        came = self.job.latest("packers_in")
        if came is None:
            return Judgement("stop", (), (text("record.now_not_counted_in"),))
        same = int(came.values[-1]) == left
        told = (text("record.says_counted", came=int(came.values[-1]), left=left),)
        return Judgement("fine" if same else "stop", told, () if same else (text("record.now_count"),))

    def _written(self) -> Judgement:
        marked = self.reducer.machine.gears.set_number if self.read.name == "set_number" else None
        if not marked:
            return Judgement("", (), ())
        same = marked.strip().lower() in {one.strip().lower() for one in self.taken.typed}
        return Judgement(
            "fine" if same else "stop", (text("record.says_set", marked=marked),), () if same else (text("record.now_set"),)
        )

    def _felt(self) -> Judgement:
        given = self.taken.typed
        told = tuple(feel.says(given, self.reducer.machine.gears))
        return Judgement("stop" if feel.tight(given) else "fine", told, tuple(feel.now(given, self._last)))

    def _last(self, name: str) -> tuple[str, ...]:
        taken = self.job.latest(name, *self.side)
        return () if taken is None else taken.typed

    def _marked(self) -> Judgement:
        drive, coast = marks_of(self.taken)
        both = drive is not None and coast is not None
        return Judgement("watch", (), (text("record.now_marks" if both else "record.now_both_marks"),))


def marks_of(taken: Taken) -> tuple[mark_words.Mark | None, mark_words.Mark | None]:
    """The marks on drive and coast, as they were typed."""
    found = {flank: mark_words.place(where) for flank, where in map(mark_words.flank, taken.typed)}
    return found.get("drive"), found.get("coast")
