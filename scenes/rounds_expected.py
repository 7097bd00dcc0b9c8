"""What is expected of each round of a job from the rounds before it: chains for end plays and mounting distances, the tooth model for
backlash and marks. mm, percent, rad. Contents: `rounds`, `last_round`, and the deviations that the expectation is given.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from calc.contact import Contact
from calc.diagnosis import Diagnosis, GearSet
from calc.flank import Errors
from calc.readings import BACKLASH_SIGMA, MARK_SIGMA, SetValue, set_value
from geometry.machine import Gasket, Machine
from geometry.reducer import Reducer
from scenes import adjusting
from scenes.callouts.bench import mesh_rates
from scenes.callouts.gaskets import trial_depth
from scenes.cures import NOTHING, marks_of
from scenes.gasket_changes import MOVES, TRIED, Stretch, stretches
from scenes.lapsed import Lapses
from scenes.positions import Positions, closed, positions
from scenes.reads import DIALS
from scenes.record import Taken
from scenes.record_listing import Opened
from scenes.rounds import FLANKS, LENGTHS, NO_CHANGE, Apart, Compared, InPlace, Marked, Round
from scenes.settings import POSITION_GASKETS
from scenes.tooth_contact import meeting
from scenes.wanted import counts

GASKET_SIGMA, UNMEASURED_SIGMA = 0.005, 0.02
"""Standard deviation of a gasket's thickness by micrometer, and by the machine file alone [mm]: own choice."""
UNCOUNTED_SIGMA = 0.5
"""Of a thickness that does not count [mm]: own choice, so wide that nothing is told by it."""
GIVES_SIGMA = 0.03
"""Standard deviation of the share that a gasket gives when clamped [1]: sheet gives 7 to 17 % (maker data, ASTM F36)."""


def rounds(found: Opened) -> tuple[Round, ...]:
    """The rounds of a job in their order, by the machine with the job's readings in it."""
    states = _states(found)
    return tuple(_Compare(states[: count + 1], found.lapses).round() for count in range(len(states)))


def last_round(found: Opened) -> Round | None:
    """The last of them; None where nothing that the gaskets set was read."""
    states = _states(found)
    return _Compare(states, found.lapses).round() if states else None


def _states(found: Opened) -> list[_State]:
    reducer, planned = found.reducer(found.job), found.planned.machine
    return [_State(reducer, planned, one) for one in stretches(found.sealed, lambda one: counts(found, one))]


class _State:
    """The machine in one round: where the chains put pinion and gear, where backlash and marks say that they are."""

    def __init__(self, reducer: Reducer, planned: Machine, stretch: Stretch) -> None:
        self.reducer, self.stretch, self.readings = reducer, stretch, stretch.readings
        self._kept: dict[tuple[Errors, bool], Diagnosis] = {}
        self.gaskets = {name: _in_place(planned, stretch, name) for name in POSITION_GASKETS}
        present = reducer.machine.gaskets
        self.ends: Positions = positions(reducer, {n: one.clamped - getattr(present, n).clamped for n, one in self.gaskets.items()})

    def set_value(self, *, dry: bool = False) -> SetValue | None:
        """Backlash and marks together, or what was read in the dry trial alone; None where nothing was read."""
        dial = self.readings.get(DIALS[not dry])
        drive, coast = marks_of(self.readings["pattern"]) if "pattern" in self.readings and not dry else (None, None)
        if dial is None and drive is None and coast is None:
            return None
        return set_value(adjusting.readings(self.reducer, adjusting.Read(dial.values if dial else (), drive=drive, coast=coast)))

    @property
    def dry_gear(self) -> float:
        """How much farther the gear stood in the dry trial of this round than in its sealed case [mm]."""
        depth, present = self.readings.get("trial_depth"), self.reducer.machine.gaskets.gear_gasket.clamped
        if depth is None:
            return self.reducer.machine.case.sealing_film
        return depth.mean - trial_depth(self.reducer.machine) + self.gaskets["gear_gasket"].clamped - present

    def chained(self, play: float, *, dry: bool = False) -> Errors:
        """Shifts from the etched mounting distances by the chains, with this end play of the pinion [mm]."""
        gears, ends = self.reducer.machine.gears, self.ends
        running = ends.pinion_running + max(0.0, play) - max(0.0, ends.high_speed_end_play)
        film = self.dry_gear if dry else 0.0
        return Errors(
            pinion=running - gears.pinion_mounting_distance.nominal,
            gear=ends.gear_distance + film - gears.gear_mounting_distance.nominal,
        )

    def diagnosed(self, near: Errors, *, dry: bool = False) -> Diagnosis:
        """Where backlash and marks say that the members are."""
        if (near, dry) not in self._kept:
            read = self.set_value(dry=dry)
            assert read is not None
            self._kept[near, dry] = GearSet.of(self.reducer.blank, None, None, "concave").diagnosis(read, near)[0]
        return self._kept[near, dry]


def _in_place(planned: Machine, stretch: Stretch, name: str) -> InPlace:
    """A gasket as it was measured when it went in; by the machine's file until it was."""
    item: Gasket = getattr(planned.gaskets, name)
    taken = stretch.gaskets.get(f"gaskets.{name}")
    gives = GIVES_SIGMA if item.compression else 0.0
    if taken is None:
        return InPlace(name, item.thickness, item.clamped, math.hypot(UNMEASURED_SIGMA, gives * item.thickness), 0)
    if taken.number in {one.number for one in stretch.uncounted.values()}:
        clamped = taken.mean * (1.0 - item.compression)
        return InPlace(name, taken.mean, clamped, UNCOUNTED_SIGMA, taken.number, counts=False)
    spread = max(GASKET_SIGMA, taken.spread / 2.0 / math.sqrt(len(taken.values)))
    if not stretch.number:
        return InPlace(name, taken.mean, taken.mean, spread, taken.number)
    sigma = math.hypot(spread, gives * taken.mean)
    return InPlace(name, taken.mean, taken.mean * (1.0 - item.compression), sigma, taken.number)


class _Compare:
    """One round beside the earlier ones."""

    def __init__(self, states: Sequence[_State], lapses: Lapses) -> None:
        self.now, self.before, self.lapses = states[-1], states[:-1], lapses
        self.reducer = self.now.reducer
        self.rates = mesh_rates(self.reducer)

    def round(self) -> Round:
        last = self.before[-1].gaskets if self.before else self.now.gaskets
        changed = [(last[name], one) for name, one in self.now.gaskets.items() if one.entry != last[name].entry and self.before]
        compared: list[Compared] = []
        marks: list[Marked] = []
        holds: dict[str, tuple[int, Taken]] = {}
        for name in (*LENGTHS, *DIALS, "pattern"):
            basis, read = self.basis(name), name in self.now.readings
            if not read and (basis is None or name == "trial_backlash"):
                continue
            if not read and basis is not None and not self.touched(basis, name) and self.holds(basis.readings[name]):
                holds[name] = (basis.stretch.number, basis.readings[name])
            elif name == "pattern":
                marks = list(self.marks(basis))
            else:
                compared += self.length(name, basis) if name in LENGTHS else self.dial(name, basis)
        return Round(
            self.now.stretch.number, tuple(self.now.gaskets.values()), tuple(changed), tuple(compared), tuple(marks), holds,
            self.now.readings, self.apart([*compared, *marks]), self.now.stretch.uncounted,
        )  # fmt: skip

    def basis(self, name: str) -> _State | None:
        """The last round before this one in which it was read; as found only where the gaskets that move it were measured too."""
        for state in reversed(self.before):
            if name in state.readings and (state.stretch.number or all(state.gaskets[one].entry for one in movers(name))):
                return state
        return None

    def holds(self, taken: Taken) -> bool:
        """Whether no gasket that was put in up to this round makes a reading void."""
        last = max((one.place for one in self.now.stretch.changed), default=-1)
        return self.lapses.since(taken, last + 1) is None

    def touched(self, basis: _State, name: str) -> bool:
        """Whether a gasket that moves this reading was changed since that round."""
        return any(self.other(basis, gasket) for gasket in movers(name))

    def other(self, basis: _State, gasket: str) -> bool:
        """Whether that gasket is another one than in that round."""
        return basis.gaskets[gasket].entry != self.now.gaskets[gasket].entry or not basis.stretch.number

    def doubt(self, basis: _State, gaskets: Iterable[str]) -> float:
        """Standard deviation of what a change of these gaskets does; none of one that stayed in [mm]."""
        changed = [name for name in gaskets if self.other(basis, name)]
        return math.hypot(*(one.sigma for name in changed for one in (basis.gaskets[name], self.now.gaskets[name])))

    def plays(self, basis: _State) -> tuple[float, float]:
        """End play of the pinion in that round, as read where it was, and what it should be now [mm]."""
        read = next((one.readings["high_speed_end_play"].mean for one in self.until(basis) if "high_speed_end_play" in one.readings
                     and one.gaskets["high_speed_float_gasket"].entry == basis.gaskets["high_speed_float_gasket"].entry), None)  # fmt: skip
        before = basis.ends.high_speed_end_play if read is None else read
        return before, before + self.now.ends.high_speed_end_play - basis.ends.high_speed_end_play

    def until(self, basis: _State) -> list[_State]:
        return [state for state in reversed(self.before) if state.stretch.number <= basis.stretch.number]

    def shift(self, basis: _State) -> tuple[float, float]:
        """How far the change since that round moves pinion and gear [mm]."""
        before, after = self.plays(basis)
        there, here = self.now.chained(after), basis.chained(before)
        return there.pinion - here.pinion, there.gear - here.gear

    def length(self, name: str, basis: _State | None) -> Iterator[Compared]:
        """An end play or a mounting distance."""
        if basis is None:
            yield self.with_reading(_expected(name, None, getattr(self.now.ends, name), self.by_chain(name)))
            return
        before = basis.readings[name]
        if name in ("pinion_running", "gear_distance"):
            change = self.shift(basis)[name == "gear_distance"]
        else:
            change = getattr(self.now.ends, name) - getattr(basis.ends, name)
        none = name.endswith("end_play") and before.mean <= NOTHING
        sigma = math.hypot(sigma_of(before), self.doubt(basis, movers(name)))
        made = _expected(name, basis, max(0.0, before.mean + change), sigma, at_most=none)
        yield self.with_reading(replace(made, change=change))

    def by_chain(self, name: str) -> float:
        """Standard deviation of the end of a chain, from its limits [mm]."""
        return closed(self.reducer, self.reducer.chain(name)).rss / 2.0

    def with_reading(self, one: Compared) -> Compared:
        """The same with what was read."""
        taken = self.now.readings.get(one.read)
        if taken is None:
            return one
        if one.read in LENGTHS:
            return replace(one, got=taken.mean, got_sigma=sigma_of(taken), entry=taken.number)
        read = set_value(adjusting.readings(self.reducer, adjusting.Read(taken.values)))
        return replace(one, got=read.backlash, got_sigma=read.sigma, entry=taken.number, runout=read.runout)

    def dial(self, name: str, basis: _State | None) -> Iterator[Compared]:
        """A backlash. In the sealed case it is expected from the dry trial where it was not read before, with the film under the upper half."""
        dry, from_trial = name == "trial_backlash", False
        if basis is None and not dry:
            basis = next((state for state in (self.now, *reversed(self.before)) if "trial_backlash" in state.readings), None)
            from_trial = basis is not None
        if basis is None:
            met = self.met(self.now.chained(self.now.ends.high_speed_end_play, dry=dry))
            if met is not None and met.backlash is not None:
                doubt = (
                    self.rates.pinion.touching * self.by_chain("pinion_running"),
                    self.rates.gear.touching * self.by_chain("gear_distance"),
                )
                yield self.with_reading(_expected(name, None, met.backlash.outer, math.hypot(*doubt)))
            return
        before = basis.set_value(dry=dry or from_trial)
        assert before is not None and before.backlash is not None
        change, handbook = self.backlash_change(basis, dry or from_trial, from_trial)
        doubt = (
            self.rates.pinion.touching * self.doubt(basis, ("pinion_gasket", "high_speed_float_gasket")),
            self.rates.gear.touching * self.doubt(basis, ("gear_gasket",)),
        )
        expected, other = (max(0.0, before.backlash + one) for one in (change, handbook))
        made = _expected(name, basis, expected, math.hypot(before.sigma, *doubt, (expected - other) / 2.0))
        yield self.with_reading(replace(made, band=(min(expected, other), max(expected, other)), change=change))

    def backlash_change(self, basis: _State, dry: bool, sealed: bool) -> tuple[float, float]:
        """What the change since that round does to the backlash, by the tooth model and by the handbook form; `dry`: it was read in the
        dry trial then; `sealed`: and in the sealed case now [mm]."""
        pinion, gear = self.shift(basis)
        gear -= basis.dry_gear if sealed else 0.0
        rates, here = self.rates, self.here(basis, dry=dry)
        handbook = rates.pinion.handbook * pinion + rates.gear.handbook * gear
        now, then = self.met(here.displacement), self.met(_moved(here.displacement, pinion, gear))
        if now is None or then is None or now.backlash is None or then.backlash is None:
            return rates.pinion.touching * pinion + rates.gear.touching * gear, handbook
        return then.backlash.outer - now.backlash.outer, handbook

    def here(self, basis: _State, *, dry: bool = False) -> Diagnosis:
        """Where the pair sat in that round, by what was read then."""
        return basis.diagnosed(basis.chained(self.plays(basis)[0], dry=dry), dry=dry)

    def met(self, at: Errors) -> Contact | None:
        """The pair at these shifts; None beyond the model."""
        try:
            return meeting(self.reducer, at)
        except ValueError:
            return None

    def marks(self, basis: _State | None) -> Iterator[Marked]:
        """Drive and coast: as they were marked before, shifted as the model shifts; where the model has them when nothing was."""
        taken = self.now.readings.get("pattern")
        earlier = None if basis is None else basis.readings["pattern"]
        read, before = (marks_of(one) if one is not None else (None, None) for one in (taken, earlier))
        here = self.now.chained(self.now.ends.high_speed_end_play) if basis is None else self.here(basis).displacement
        now, then = self.met(here), self.met(here if basis is None else _moved(here, *self.shift(basis)))
        if now is None or then is None:
            return
        share = 0.0 if basis is None else self.doubted(basis)
        for flank, met, moved, old, got in zip(FLANKS, (now.drive, now.coast), (then.drive, then.coast), before, read, strict=True):
            if met is None or moved is None or (basis is not None and old is None):
                continue
            u, v = (met.pattern.centre_along, met.pattern.centre_depth) if old is None else old.centre
            u += moved.pattern.centre_along - met.pattern.centre_along
            v += moved.pattern.centre_depth - met.pattern.centre_depth
            sigma = math.hypot(
                *(MARK_SIGMA if one is None else one.sigma for one in (old, got)),
                share * (moved.pattern.centre_along - met.pattern.centre_along),
            )
            number = None if basis is None else basis.stretch.number
            yield Marked(
                flank, number, (min(max(u, 0.0), 100.0), min(max(v, 0.0), 100.0)), None if got is None else got.centre, sigma
            )

    def doubted(self, basis: _State) -> float:
        """Standard deviation of what the change of the gaskets since that round does to the mesh, as a share of it [1]."""
        shift = math.hypot(*self.shift(basis))
        return self.doubt(basis, movers("pattern")) / shift if shift > NO_CHANGE else 0.0

    def apart(self, compared: Sequence[Compared | Marked]) -> Apart | None:
        """Which member stands where it should not, once backlash or marks are not as expected."""
        flagged = any(one.verdict in ("watch", "stop") and (isinstance(one, Marked) or one.read == "backlash") for one in compared)
        basis, read = self.basis("backlash"), self.now.readings
        if not flagged or basis is None or "backlash" not in read or "pattern" not in read:
            return None
        here = self.here(basis)
        there = _moved(here.displacement, *self.shift(basis))
        found = self.now.diagnosed(there)
        off = found.displacement.pinion - there.pinion, found.displacement.gear - there.gear
        return Apart(*off, (math.hypot(here.sigma[0], found.sigma[0]), math.hypot(here.sigma[1], found.sigma[1])), found.causes)


def movers(name: str) -> tuple[str, ...]:
    """The gaskets that move a reading."""
    return tuple(gasket.removeprefix("gaskets.") for gasket, moved in (*MOVES.items(), *TRIED.items()) if name in moved)


def _expected(name: str, basis: _State | None, expected: float, sigma: float, *, at_most: bool = False) -> Compared:
    return Compared(name, None if basis is None else basis.stretch.number, expected, (expected, expected), sigma, at_most)


def _moved(here: Errors, pinion: float, gear: float) -> Errors:
    return Errors(here.pinion + pinion, here.gear + gear, here.offset, here.shaft_angle)


def sigma_of(taken: Taken) -> float:
    """Standard deviation of the mean of a length's readings [mm]: a fitter's, or their own spread where that is wider."""
    return max(BACKLASH_SIGMA, taken.spread / 2.0) / math.sqrt(len(taken.values))
