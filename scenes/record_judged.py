"""What a reading says: inside its limits or not, is it enough, does it hang together, and what to do now. mm, N·m.

Limits come from the machine: what owner or maker wants at the end, what is etched on the set, the class of a fit, the band of a drawing.
Contents: `Judgement`, `limits_of`, `counts`, `held`, `judge`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from calc import shims, units
from calc.readings import BACKLASH_SIGMA, set_value
from geometry.fields import Fitted
from geometry.joints import Chain, ScrewJoint
from geometry.machine import Gasket, Machine, Size
from geometry.reducer import Reducer
from scenes import (
    adjusting,
    adjusting_listing,
    counted,
    dial,
    feel,
    first_run,
    hot_bore,
    instruments,
    leaf,
    mark_words,
    own_judged,
    record_words,
    set_number,
    temperatures,
    torques,
)
from scenes.callouts.bench import verdict_of
from scenes.callouts.gaskets import TARGET_SHARE, THINNEST, stock_of
from scenes.callouts.hot import FEELER as LEAF
from scenes.explain import Explainer
from scenes.frame import Verdict
from scenes.gasket_changes import MOVES, moved_since
from scenes.mark_words import EDGE
from scenes.reads import DIALS, FEELER, Read, field_at, kind_of
from scenes.record import PUT_IN, Job, State, Taken
from scenes.settings import Settings
from scenes.standing import Held
from scenes.step_limits import Limits, of_step
from scenes.wording import text

PUSHES_APART = 0.03
"""Pushes of one end play that differ by more do not hang together [mm]: own choice, a little over a fitter's deviation."""
NOTHING = 0.005
"""An end play read this small may be none at all: how far the cover clamps can't be read [mm]."""
SCATTERED_AT = 8
"""Places at which a backlash is read again that is no runout once a turn: own choice."""
TORQUE_SHARE = 0.04
"""How far a set torque may be off [1]: own choice, as much as the wrench itself may be (ISO 6789-1, from memory)."""
PLAYS = ("high_speed_end_play", "low_speed_end_play")
URGENT = frozenset({*FEELER, "bore_clearance"})
"""Readings whose cure is told from the first value on."""
CURED = (*PLAYS, "backlash")
"""Readings that another gasket brings inside their limits."""
DROP_SHARE = 0.5
"""How far the drop on the packers may be off what the machine file says [mm]: "2 to 3 mm" in the step's words."""


@dataclass(frozen=True)
class Judgement:
    """`verdict`: stop outside, watch not enough or not sure, fine inside, none without a limit; what the reading says; what to do now;
    `counts`: not taken too warm, nor with an instrument that is overdue."""

    verdict: Verdict
    says: tuple[str, ...]
    now: tuple[str, ...]
    counts: bool = True


def limits_of(reducer: Reducer, read: Read, arrives: Sequence[str] = (), value: float = 0.0) -> Limits | None:
    """What a reading must lie in; None where nothing is stated. `arrives`: what its step brings; `value`: what was read [mm, N·m]."""
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
    return of_step(reducer, read.name, arrives, value)


def counts(machine: Machine, job: Job, read: Read, taken: Taken) -> bool:
    """Whether a reading was taken with all within 5 K, and with an instrument in date; entries after it say nothing of that."""
    return temperatures.looked_at(machine, job, read, taken, "mm").counts and instruments.looked_at(job, read, taken).counts


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


def held(explainer: Explainer, reducer: Reducer, now: Settings, job: Job, read: Read) -> Held | None:
    """The reading of that name that stands since the new parts went in: the last that counts, unless a gasket moved it since. Its verdict
    is the record's; what to do is not worked out."""
    standing = job.standing(read.name, *PUT_IN)
    taken = next((one for one in reversed(standing) if counts(explainer.machine, job, read, one)), None)
    if taken is None or moved_since(job, taken) is not None:
        return None
    doubted = standing[-1].number if standing[-1] is not taken else 0
    looked = _Judge(explainer, reducer, now, job.until(taken.number), read, taken, cures=False)
    try:
        value, verdict = looked.figure(), looked.judgement().verdict
    except ValueError:  # out of range
        value, verdict = taken.mean, "stop"
    moved_by = tuple(gasket.removeprefix("gaskets.") for gasket, moved in MOVES.items() if read.name in moved)
    verdict = "stop" if read.name in (*PLAYS, *DIALS) and value <= 0.0 else verdict
    return Held(value, min(taken.values), max(taken.values), len(taken.values), taken.number, verdict, moved_by, doubted)


def judge(explainer: Explainer, reducer: Reducer, now: Settings, job: Job, read: Read, taken: Taken) -> Judgement:
    """What a reading says. `explainer`: the machine as in its file; `reducer`: as it was when that was read; `now`: whose units and
    language the sentences are in; `job`: what had been entered before."""
    try:
        looked = _Judge(explainer, reducer, now, job, read, taken)
        return looked.with_remarks(looked.judgement())
    except ValueError as error:
        return Judgement("stop", (str(error),), (text("record.now_outside"),))


class _Judge:
    """One reading looked at."""

    def __init__(
        self, explainer: Explainer, reducer: Reducer, now: Settings, job: Job, read: Read, taken: Taken, *, cures: bool = True
    ) -> None:
        self.cures = cures
        self.explainer, self.reducer, self.now, self.job, self.read, self.taken = explainer, reducer, now, job, read, taken
        self.side: tuple[State, ...] = ("found",) if taken.state == "found" else PUT_IN
        self.step = explainer.procedure.steps.get(taken.step)
        self.remarks = (
            temperatures.looked_at(explainer.machine, job, read, taken, now.units),
            instruments.looked_at(job, read, taken),
            hot_bore.looked_at(reducer, self.step.arrives if self.step is not None else (), taken, now.units),
        )
        self.counts = all(one.counts for one in self.remarks)

    def with_remarks(self, said: Judgement) -> Judgement:
        """The judgement with what temperatures and instrument say."""
        says = [line for one in self.remarks for line in one.says]
        now = [line for one in self.remarks for line in one.now]
        hot = temperatures.too_hot(self.reducer, self.step, self.read, self.taken, self.now.units)
        if hot is not None:  # nothing that a reading asks for goes before that, least of all more heat
            return Judgement("stop", (*said.says, *says, *hot.says), (*hot.now, *now), self.counts)
        return Judgement(said.verdict, (*said.says, *says), (*said.now, *now), self.counts)

    def judgement(self) -> Judgement:
        own = own_judged.judged(self.reducer, self.explainer.procedure, self.job, self.taken, self.now.units)
        if own is not None:
            return Judgement(*own)
        if self.read.kind == "agreed":
            good = all(one.strip().lower() == "yes" for one in self.taken.typed)
            return Judgement("fine" if good else "stop", (), () if good else (text("record.now_not_agreed"),))
        if self.read.kind == "count":
            return Judgement(*counted.judged(self.reducer, self.job, self.taken))
        if self.read.kind == "words":
            return self._written()
        if self.read.kind == "run":
            return Judgement(*first_run.judged(self.reducer.machine, self.taken.values, self.read.wanted, self.now.units))
        if self.read.kind == "torque":
            return self._tightened()
        if self.read.kind == "feel":
            return self._felt()
        return self._marked() if self.read.kind == "marks" else self._measured()

    def shown(self, value: float, signed: bool = False) -> str:
        return units.show(value, self.read.kind, self.now.units, signed=signed)

    def _tightened(self) -> Judgement:
        limits = limits_of(self.reducer, self.read)
        between = None if limits is None else (limits.low, limits.high, limits.source)
        verdict, says, now = torques.judged(self.taken.values, self.read.wanted, between, self.now.units)
        if torques.after_run(self.explainer.procedure, self.taken.step):
            if torques.has_run(self.job):
                says = (text("record.says_retorque"), *says)
            else:
                verdict, now = "stop" if verdict == "stop" else "watch", (*now, text("record.now_before_run"))
        return Judgement("watch" if verdict == "fine" and not self.counts else verdict, says, now)

    def _measured(self) -> Judgement:
        taken, read = self.taken, self.read
        arrives = self.step.arrives if self.step is not None else ()
        reducer = self.explainer.reducer(self.now) if read.dimension else self.reducer
        limits = limits_of(reducer, read, arrives, min(taken.values))
        says, now, verdict = [], [], ""
        if dial.elsewhere(read.name, taken.typed):
            says.append(text("record.says_radius", radius=self.shown(read.pitch)))
        if len(taken.values) > 1 and read.name not in FEELER:
            values = {"low": self.shown(min(taken.values)), "high": self.shown(max(taken.values)), "count": len(taken.values)}
            says.append(text("record.says_several", mean=self.shown(taken.mean), **values))
        if read.kind == "volume":
            says.append(text("record.says_oil"))
        if read.name.startswith("gaskets."):
            says.append(text("record.says_gasket_found" if taken.state == "found" else "record.says_gasket_new"))
        if read.name in PLAYS and min(taken.values) <= NOTHING:
            now.append(text("record.now_no_play"))
        middle, scatter, more = self._set() if read.name in DIALS else (self._middle(), 0.0, [])
        says += more
        sure = self._sure(now)
        if scatter > BACKLASH_SIGMA:
            sure = False
            now.append(text("record.now_scatter", places=SCATTERED_AT))
        if limits is not None:
            verdict = self._against(middle, limits)
            between = {"low": self.shown(limits.least), "high": self.shown(limits.high), "source": limits.source}
            key = f"record.says_{verdict}" if read.name not in FEELER else leaf.key(verdict, middle)
            says.append(text(key, value=self.shown(max(taken.values) if self._wide(limits) else middle), **between))
            if verdict == "stop" and self.cures and (sure or read.name in URGENT):
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
        return not few and not apart and self.counts

    def figure(self) -> float:
        """The value that is judged: of backlash the set value [mm]."""
        return self._set()[0] if self.read.name in DIALS else self._middle()

    def _middle(self) -> float:
        """The value that is judged: the thickest leaf, the narrowest place of a hot bore, else the mean [mm]."""
        if self.read.name in FEELER:
            return max(self.taken.values)
        return min(self.taken.values) if self.read.name == "bore_clearance" else self.taken.mean

    def _against(self, middle: float, limits: Limits) -> Verdict:
        if self.read.name in FEELER:
            return "fine" if middle < limits.high - 1e-6 else "stop"
        verdict = verdict_of(middle, min(self.taken.values), max(self.taken.values), limits.low, limits.high)
        tight = self.read.name in DIALS and min(self.taken.values) < limits.low
        return "stop" if tight or self._wide(limits) else verdict

    def _wide(self, limits: Limits) -> bool:
        """Whether a hot bore is wider at any place than it is at its heating limit."""
        return self.read.name == "bore_clearance" and max(self.taken.values) > limits.high

    def _set(self) -> tuple[float, float, list[str]]:
        """The set backlash, what scatters beside a runout once a turn [mm], and both in words: places evenly spread round the gear."""
        found = set_value(adjusting.readings(self.reducer, adjusting.Read(self.taken.values)))
        assert found.backlash is not None
        says = []
        if len(self.taken.values) > 1:
            says.append(text("record.says_most_least", spread=self.shown(self.taken.spread)))
        if found.scatter > BACKLASH_SIGMA:
            shown = {"scatter": self.shown(found.scatter), "sigma": self.shown(BACKLASH_SIGMA)}
            says.append(text("record.says_scatter", **shown))
        if found.runout is None:
            return found.backlash, found.scatter, says
        told = {"set": self.shown(found.backlash), "runout": self.shown(found.runout), "sigma": self.shown(found.runout_sigma)}
        return found.backlash, found.scatter, [text("record.says_runout", **told), *says]

    def _cure(self, middle: float, limits: Limits) -> list[str]:
        """What to do about a figure outside its limits."""
        if self.read.name in DIALS:
            low = min(self.taken.values)
            if limits.low <= middle <= limits.high and low < limits.low:
                return [text("record.now_tightest", low=self.shown(low), limit=self.shown(limits.low))]
            return self._shims()
        if self.read.name == "bore_clearance":
            return [text("record.now_bore_hot" if self._wide(limits) else "record.now_bore_small")]
        if self.read.name in ("flange_gap", "trial_depth"):
            return [text(f"record.now_{self.read.name}", low=self.shown(limits.low), high=self.shown(limits.high))]
        if self.read.name in FEELER:
            return [text(f"record.now_{self.read.name}", leaf=self.shown(LEAF))]
        chain = next((one for one in self.reducer.chains if one.name == self.read.name), None)
        if chain is None or not chain.gasket or self.read.name not in PLAYS:
            return [text("record.now_outside")]
        if self.taken.state == "found" and not self._gasket_measured(chain.gasket):
            return [text("record.now_found", gasket=text(f"part.{chain.gasket}"))]
        return [
            self._gasket(chain, (limits.low + limits.high) / 2.0 - middle, (limits.high - limits.low) / 2.0),
            text("adjust.new_parts" if self.taken.state == "found" else "record.now_cover"),
        ]

    def _gasket_measured(self, name: str) -> bool:
        return self.job.latest(f"gaskets.{name}", *self.side) is not None

    def _gasket(self, chain: Chain, change: float, half: float) -> str:
        """The stack that brings an end play to the middle of its limits, in words."""
        found = other_gasket(self.reducer, chain, change, half)
        clamped = self.taken.state == "found"  # so it was measured when it came out
        size = self.shown(found.old.clamped if clamped else found.old.thickness)
        size = text("record.old_clamped" if clamped else "record.old_free", size=size)
        old = size if self._gasket_measured(chain.gasket) else text("record.by_file", size=size)
        told = {"gasket": text(f"part.{chain.gasket}"), "old": old, "new": self.shown(max(found.free, 0.0))}
        if self.taken.mean <= NOTHING:
            return text("record.now_clamped", **told)
        if found.stack is None:
            return text("record.now_no_stack", **told)
        leaves = " + ".join(f"{count} x {self.shown(size)}" for size, count in found.stack.leaves)
        return text("record.now_gasket", stack=leaves, **told)

    def _shims(self) -> list[str]:
        """The shim moves of the readings, with the marks of the pair as it then stood."""
        if self.taken.state == "found" and not all(self._gasket_measured(name) for name in adjusting.PACKS):
            return [text("record.now_found_mesh")]
        read = mesh_read(self.job, self.taken)
        if read is None:
            return [text("record.now_mark")]
        found = adjusting.answer(self.reducer, self.explainer.procedure, read)
        if self.taken.state == "found":
            return list(adjusting_listing.as_found(found, self.reducer, self.explainer.procedure, self.now.units))
        listed = adjusting_listing.lines(found, self.reducer, self.explainer.procedure, self.explainer.title, self.now.units)
        return [line for line in listed if line][1:]

    def _written(self) -> Judgement:
        marked = self.reducer.machine.gears.set_number if self.read.name == "set_number" else None
        if not marked:
            return Judgement("", (), ())
        verdict = set_number.judged(marked, self.taken.typed)
        now = {"stop": (text("record.now_set"),), "watch": (text("record.now_set_unsure", marked=marked),)}
        return Judgement(verdict, (text("record.says_set", marked=marked),), now.get(verdict, ()))

    def _felt(self) -> Judgement:
        given = self.taken.typed
        told = tuple(feel.says(given, self.reducer.machine.gears))
        return Judgement("stop" if feel.tight(given) else "fine", told, tuple(feel.now(given, self._last)))

    def _last(self, name: str) -> tuple[str, ...]:
        taken = self.job.latest(name, *self.side)
        return () if taken is None else (record_words.told(Read(name, kind_of(name)), taken.typed),)

    def _marked(self) -> Judgement:
        drive, coast = marks_of(self.taken)
        both = drive is not None and coast is not None
        stands = self.job.latest("backlash", *self.side)
        if stands is not None and (moved_since(self.job, stands) is not None or not self._counted(stands)):
            stands = None
        if not both:
            now = text("record.now_both_marks")
        elif stands is not None:
            now = text("record.now_marks_move", number=stands.number)
        else:
            now = text("record.now_marks")
        edge = [one for one in self.taken.typed if mark_words.hard(mark_words.place(mark_words.flank(one)[1]))]
        if not edge:
            return Judgement("watch", (), (now,))
        says = text("record.says_edge", marks=record_words.told(self.read, edge), low=EDGE[0], high=EDGE[1])
        return Judgement("stop", (says,), (text("record.now_edge"), now))

    def _counted(self, taken: Taken) -> bool:
        return counts(self.explainer.machine, self.job, Read(taken.read, kind_of(taken.read)), taken)


@dataclass(frozen=True)
class OtherGasket:
    """A gasket to put in the place of another: its name, the old one, the free thickness wanted [mm], the stack of it from stock."""

    name: str
    old: Gasket
    free: float
    stack: shims.Stack | None


def other_gasket(reducer: Reducer, chain: Chain, change: float, half: float) -> OtherGasket:
    """The gasket that changes the end of a chain by so much, from the one that is in; `half`: half of the limits' band [mm]."""
    item: Gasket = getattr(reducer.machine.gaskets, chain.gasket)
    stock = stock_of(reducer.machine, item)
    free = (item.clamped + change / chain.per_gasket) / (1.0 - stock.compression)
    if free < THINNEST:
        return OtherGasket(chain.gasket, item, free, None)
    choice = shims.stacks(round(free * 1e4) / 1e4, stock.sizes, tolerance=TARGET_SHARE * half, most_leaves=stock.most_leaves)
    return OtherGasket(chain.gasket, item, free, choice.best)


def marks_of(taken: Taken) -> tuple[mark_words.Mark | None, mark_words.Mark | None]:
    """The marks on drive and coast, as they were typed."""
    found = {flank: mark_words.place(where) for flank, where in map(mark_words.flank, taken.typed)}
    return found.get("drive"), found.get("coast")


def mesh_read(job: Job, backlash: Taken) -> adjusting.Read | None:
    """What the shim moves are worked out of: a backlash, the marks of the pair as it then stood, the end plays that were read and hold;
    None without marks."""
    side: tuple[State, ...] = ("found",) if backlash.state == "found" else PUT_IN
    held = {
        name: one for name in ("pattern", *PLAYS) if (one := job.latest(name, *side)) is not None and moved_since(job, one) is None
    }
    if "pattern" not in held:
        return None
    drive, coast = marks_of(held["pattern"])
    high, low = (held[name].mean if name in held else None for name in PLAYS)
    return adjusting.Read(
        backlash.values, drive=drive, coast=coast, sigma=BACKLASH_SIGMA, high_speed_end_play=high, low_speed_end_play=low
    )
