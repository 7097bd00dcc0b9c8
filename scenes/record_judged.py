"""What a reading says: inside its limits or not, is it enough, does it hang together, and what to do now. mm, N·m.

Contents: `Judgement`, `counts`, `agreed`, `too_few`, `last_counting`, `held`, `judge`.
"""

from __future__ import annotations

from dataclasses import dataclass

from calc import units
from calc.readings import BACKLASH_SIGMA, set_value
from geometry.machine import Machine
from geometry.reducer import Reducer
from scenes import (
    adjusting,
    counted,
    dial,
    feel,
    first_run,
    guards,
    hot_bore,
    instruments,
    leaf,
    mark_words,
    own_judged,
    places,
    record_words,
    set_number,
    sizes,
    temperatures,
    torques,
)
from scenes.callouts.bench import verdict_of
from scenes.cures import CURED, NOTHING, PLAYS, Cure, marks_of
from scenes.explain import Explainer
from scenes.frame import Verdict
from scenes.gasket_changes import MOVES
from scenes.lapsed import Lapses
from scenes.mark_words import EDGE
from scenes.places import PUSHES_APART, Places, read_before, typed_twice
from scenes.positions import closed
from scenes.read_limits import limits_of
from scenes.reads import DIALS, FEELER, Read, kind_of, size_read, wanted_of
from scenes.record import PUT_IN, Job, State, Taken
from scenes.settings import Settings
from scenes.settled import LAID_ON
from scenes.standing import Held
from scenes.step_limits import Limits
from scenes.wording import text

SCATTERED_AT = 8
"""Places at which a backlash is read again that is no runout once a turn: own choice."""
ACCEPTED = "pattern_accepted"
"""The signature under the marks."""
URGENT = frozenset({*FEELER, "bore_clearance"})
"""Readings whose cure is told from the first value on."""


@dataclass(frozen=True)
class Judgement:
    """`verdict`: stop outside, watch not enough or not sure, fine inside, none without a limit; what the reading says; what to do now;
    `counts`: not taken too warm, nor with an instrument that is overdue, nor a gasket that is doubted; `danger`: a stop that stands whether it counts or not."""

    verdict: Verdict
    says: tuple[str, ...]
    now: tuple[str, ...]
    counts: bool = True
    danger: bool = False


def counts(machine: Machine, job: Job, read: Read, taken: Taken) -> bool:
    """Whether a reading counts as it was taken: as often as is wanted, with all within 5 K, with an instrument in date, a gasket that is
    not doubted, a backlash that is not none. `job`: the whole of it; what was read after it says nothing of that."""
    if too_few(read, taken) or guards.zero(taken):
        return False
    before = job.until(taken)
    warm, tool = temperatures.looked_at(machine, before, read, taken, "mm"), instruments.looked_at(before, read, taken)
    return warm.counts and tool.counts and not places.doubted(machine, before, read, taken)


def agreed(taken: Taken) -> bool:
    """Whether all that was ticked is a yes."""
    return all(one.strip().lower() == "yes" for one in taken.typed)


def too_few(read: Read, taken: Taken) -> bool:
    """Whether a length was read less often than is wanted."""
    return read.kind == "length" and len(taken.values) < read.wanted


def last_counting(machine: Machine, job: Job, read: Read) -> Taken | None:
    """The last reading of that name since the new parts went in that counts."""
    return next((one for one in reversed(job.standing(read.name, *PUT_IN)) if counts(machine, job, read, one)), None)


def held(explainer: Explainer, reducer: Reducer, now: Settings, job: Job, read: Read, lapses: Lapses) -> Held | None:
    """The reading of that name that stands since the new parts went in: the last that counts, unless a gasket made it void since. Its
    verdict is the record's; what to do is not worked out."""
    standing = job.standing(read.name, *PUT_IN)
    taken = last_counting(explainer.machine, job, read)
    if taken is None or lapses.since(taken) is not None:
        return None
    doubted = standing[-1].number if standing[-1] is not taken else 0
    looked = _Judge(explainer, reducer, now, job.until(taken), read, taken, lapses, cures=False)
    moved_by = tuple(gasket.removeprefix("gaskets.") for gasket, moved in MOVES.items() if read.name in moved)
    if read.kind == "marks":
        marks = {flank: mark.centre for flank, mark in zip(record_words.FLANKS, marks_of(taken), strict=True) if mark is not None}
        return Held(0.0, 0.0, 0.0, len(marks), taken.number, looked.judgement().verdict, moved_by, doubted, marks=marks)
    try:
        value, verdict = looked.figure(), looked.judgement().verdict
    except ValueError:  # out of range
        value, verdict = taken.mean, "stop"
    expected = closed(reducer, reducer.chain(read.name)).nominal if read.name in LAID_ON else None
    verdict = "stop" if read.name in (*PLAYS, *DIALS) and value <= 0.0 else verdict
    return Held(value, min(taken.values), max(taken.values), len(taken.values), taken.number, verdict, moved_by, doubted, expected)


def judge(
    explainer: Explainer, reducer: Reducer, now: Settings, job: Job, read: Read, taken: Taken, lapses: Lapses, *, cures: bool = True
) -> Judgement:  # fmt: skip
    """What a reading says. `explainer`: the machine as in its file; `reducer`: as it was when that was read; `now`: whose units and
    language the sentences are in; `job`: what had been entered before; `lapses`: of the whole job; `cures`: what to put in is worked out."""
    try:
        looked = _Judge(explainer, reducer, now, job, read, taken, lapses, cures=cures)
        return looked.with_remarks(looked.judgement())
    except ValueError as error:
        return Judgement("stop", (str(error),), (text("record.now_outside"),))


class _Judge:
    """One reading looked at."""

    def __init__(
        self, explainer: Explainer, reducer: Reducer, now: Settings, job: Job, read: Read, taken: Taken, lapses: Lapses,
        *, cures: bool = True,
    ) -> None:  # fmt: skip
        self.cures, self.lapses = cures, lapses
        self.explainer, self.reducer, self.now, self.job, self.read, self.taken = explainer, reducer, now, job, read, taken
        self.side: tuple[State, ...] = ("found",) if taken.state == "found" else PUT_IN
        self.step = explainer.procedure.steps.get(taken.step)
        self.remarks = (
            temperatures.looked_at(explainer.machine, job, read, taken, now.units),
            instruments.looked_at(job, read, taken),
        )
        self.bore = hot_bore.looked_at(reducer, self.step.arrives if self.step is not None else (), taken, now.units)
        doubted = places.doubted(explainer.machine, job, read, taken)
        self.counts = all(one.counts for one in (*self.remarks, self.bore)) and not doubted

    def with_remarks(self, said: Judgement) -> Judgement:
        """The judgement with what temperatures and instrument say."""
        says = [line for one in (*self.remarks, self.bore) for line in one.says]
        now = [line for one in self.remarks for line in one.now]
        twin = typed_twice(self.job, self.taken)
        now += [] if twin is None or not self.not_void(twin) else [text("record.typed_twice", number=twin.number)]
        hot = temperatures.too_hot(self.reducer, self.step, self.read, self.taken, self.now.units)
        if hot is not None:  # nothing that a reading asks for goes before that, least of all more heat
            return Judgement("stop", (*said.says, *says, *hot.says), (*hot.now, *now), self.counts, danger=True)
        return Judgement(said.verdict, (*said.says, *says), (*said.now, *now, *self.bore.now), self.counts, danger=said.danger)

    def judgement(self) -> Judgement:
        own = own_judged.judged(self.reducer, self.explainer.procedure, self.job, self.taken, self.now.units, self.not_void)
        if own is not None:
            return Judgement(*own)
        if self.read.kind == "agreed":
            if not agreed(self.taken):
                return Judgement("stop", (), (guards.refused(self.read.name),))
            return self._accepted() if self.read.name == ACCEPTED else Judgement("fine", (), ())
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

    def not_void(self, other: Taken) -> bool:
        """Whether no gasket that was put in by then made another reading void."""
        return self.lapses.since(other, self.taken.place) is None

    def stands(self, other: Taken) -> bool:
        """Whether another reading of the job that this one was entered into counts, and was not void then."""
        before = self.job.taken[-1].place + 1 if self.job.taken else 0
        read = Read(other.read, kind_of(other.read), wanted_of(other.read, {}))
        return counts(self.explainer.machine, self.job, read, other) and self.lapses.since(other, before) is None

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
        sure = self._sure(now, limits)
        if scatter > BACKLASH_SIGMA:
            sure = False
            now.append(text("record.now_scatter", places=SCATTERED_AT))
        if limits is not None:
            verdict = self._against(middle, limits)
            if read.name in FEELER:
                between = {"low": self.shown(limits.least), "high": self.shown(limits.high), "source": limits.source}
                says.append(text(leaf.key(verdict, middle), value=self.shown(middle), **between))
            else:
                says.append(self.places.against(verdict, max(taken.values) if self._wide(limits) else middle, limits))
            if read.dimension and verdict in ("stop", "watch") and self.counts:
                now += sizes.cure(self.explainer.machine, taken, limits)
            elif verdict == "stop" and (self.cures or read.name not in CURED) and (sure or read.name in URGENT):
                now += self._cure().lines(middle, limits, wide=self._wide(limits))
        if not sure:
            verdict = "stop" if verdict == "stop" else "watch"
        return Judgement(verdict, tuple(says), tuple(now))  # type: ignore[arg-type]

    @property
    def places(self) -> Places:
        return Places(self.explainer.machine, self.read, self.taken.values, self.now.units)

    def _sure(self, now: list[str], limits: Limits | None) -> bool:
        """Whether the reading was taken often enough and hangs together; else what is wanted goes into `now`."""
        few = len(self.taken.values) < self.read.wanted
        apart = self.read.name in PLAYS and self.taken.spread > PUSHES_APART
        if few:
            now.append(text("record.now_more", count=len(self.taken.values), wanted=self.read.wanted))
        if apart:
            now.append(text("record.now_pushes", spread=self.shown(self.taken.spread), most=self.shown(PUSHES_APART)))
        off, slip = self.places.apart(), [] if read_before(self.job, self.taken) else self.places.mistyped(limits)
        now += off + slip
        return not (few or apart or off or slip) and self.counts

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

    def _cure(self) -> Cure:
        def measured(gasket: Taken) -> bool:
            machine, read = self.explainer.machine, size_read(self.explainer.machine, gasket.read)
            return counts(machine, self.job, read, gasket)

        return Cure(self.explainer, self.reducer, self.now, self.job, self.read, self.taken, self.stands, measured)

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
        if stands is not None and not self.stands(stands):
            stands = None
        if not both:
            now = text("record.now_both_marks")
        elif stands is not None:
            now = text("record.now_marks_move", number=stands.number)
        else:
            now = text("record.now_marks")
        if adjusting.crossed(self.reducer, drive, coast):  # no shim cures that
            says, now = (
                text("record.says_crossed", marks=record_words.told(self.read, self.taken.typed)),
                text("record.now_crossed"),
            )
            return Judgement("stop", (says,), (now,), danger=True)
        edge = [one for one in self.taken.typed if mark_words.hard(mark_words.place(mark_words.flank(one)[1]))]
        if not edge:
            return Judgement("watch", (), (now,))
        says = text("record.says_edge", marks=record_words.told(self.read, edge), low=EDGE[0], high=EDGE[1])
        return Judgement("stop", (says,), (text("record.now_edge"), now))

    def _accepted(self) -> Judgement:
        """A yes to marks that nobody wrote down, or that stop, accepts nothing."""
        marks = self.job.latest("pattern", *self.side)
        if marks is None or not self.stands(marks):
            return Judgement("stop", (), (text("record.now_accepted_none"),))
        looked = _Judge(self.explainer, self.reducer, self.now, self.job, Read("pattern", "marks"), marks, self.lapses, cures=False)
        if looked.judgement().verdict == "stop":
            return Judgement("stop", (), (text("record.now_accepted_stop", number=marks.number),))
        if not all(marks_of(marks)):
            return Judgement("watch", (), (text("record.now_accepted_one", number=marks.number),))
        return Judgement("fine", (), ())
