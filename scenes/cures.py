"""What to do about a reading outside its limits: another gasket for an end play, shim moves for the mesh, what the step wants else. mm.

Contents: `Cure`, `OtherGasket`, `other_gasket`, `marks_of`, `mesh_read`, `dry_gear`, `with_float`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from calc import shims, units
from calc.readings import BACKLASH_SIGMA, Mark
from geometry.joints import Chain
from geometry.machine import Gasket
from geometry.reducer import Reducer
from scenes import adjusting, adjusting_listing, mark_words
from scenes.callouts.gaskets import TARGET_SHARE, THINNEST, stock_of, trial_depth
from scenes.callouts.hot import FEELER as LEAF
from scenes.explain import Explainer
from scenes.positions import closed
from scenes.reads import DIALS, FEELER, Read
from scenes.record import PUT_IN, Job, State, Taken
from scenes.settings import Settings
from scenes.step_limits import Limits, of_step
from scenes.wording import text

NOTHING = 0.005
"""An end play read this small may be none at all: how far the cover clamps can't be read [mm]."""
TENFOLD = (8.0, 12.5)
"""A play this many times what is expected may be typed with its point in the wrong place [1]: own choice."""
TRIAL = DIALS[0]
"""The backlash of the dry trial."""
PLAYS = ("high_speed_end_play", "low_speed_end_play")
POSITIONS = tuple(adjusting.PACKS.values())
CURED = (*PLAYS, *POSITIONS, "backlash")
"""Readings that another gasket brings inside their limits."""


@dataclass(frozen=True, eq=False)
class Cure:
    """The cure of one reading. explainer: the machine as in its file; reducer: as it was when that was read; job: what had been entered
    before; stands: whether another reading of it counts and was not void then; counts: whether a gasket's thickness counts."""

    explainer: Explainer
    reducer: Reducer
    now: Settings
    job: Job
    read: Read
    taken: Taken
    stands: Callable[[Taken], bool]
    counts: Callable[[Taken], bool]

    @property
    def side(self) -> tuple[State, ...]:
        """States of the machine that was read."""
        return ("found",) if self.taken.state == "found" else PUT_IN

    def shown(self, value: float) -> str:
        """A figure of the reading."""
        return units.show(value, self.read.kind, self.now.units)

    def lines(self, middle: float, limits: Limits, *, wide: bool) -> list[str]:
        """What to do about a figure outside its limits; `wide`: a hot bore at any place wider than at its heating limit."""
        if self.read.name in DIALS:
            low = min(self.taken.values)
            if limits.low <= middle <= limits.high and low < limits.low:
                return [text("record.now_tightest", low=self.shown(low), limit=self.shown(limits.low))]
            return self._shims()
        if self.read.name == "bore_clearance":
            return [text("record.now_bore_hot" if wide else "record.now_bore_small")]
        if self.read.name in ("flange_gap", "trial_depth"):
            return [text(f"record.now_{self.read.name}", low=self.shown(limits.low), high=self.shown(limits.high))]
        if self.read.name in FEELER:
            return [text(f"record.now_{self.read.name}", leaf=self.shown(LEAF))]
        chain = next((one for one in self.reducer.chains if one.name == self.read.name), None)
        if chain is None or not chain.gasket or self.read.name not in (*PLAYS, *POSITIONS):
            return [text("record.now_outside")]
        if self.read.name == POSITIONS[0] and self._play_is_out():
            return [text("record.now_play_first")]
        if self.taken.state == "found" and not self._gasket_measured(chain.gasket):
            return [text("record.now_found", gasket=text(f"part.{chain.gasket}"))]
        unsure = self._unsure(chain.gasket)
        if unsure:
            return unsure
        return [
            self._gasket(chain, (limits.low + limits.high) / 2.0 - middle, (limits.high - limits.low) / 2.0),
            text("adjust.new_parts")
            if self.taken.state == "found"
            else text("record.now_cover" if self.read.name in PLAYS else "record.now_place"),
        ]

    def _play_is_out(self) -> bool:
        """Whether the high-speed end play was read outside its limits: it goes into where the pinion runs."""
        low, high = self.reducer.machine.limits.high_speed_end_play
        read = next(filter(self.stands, reversed(self.job.standing(PLAYS[0], *self.side))), None)
        return read is not None and not low - 1e-6 <= read.mean <= high + 1e-6

    def _unsure(self, *names: str) -> list[str]:
        """That it is not known what is in, where the last thickness of a gasket does not count."""
        last = {name: self.job.latest(f"gaskets.{name}", *self.side) for name in names}
        return [
            text("rounds.want_gasket", title=text(f"part.{name}"), entry=one.number)
            for name, one in last.items()
            if one is not None and not self.counts(one)
        ]

    def _gasket_measured(self, name: str) -> bool:
        taken = self.job.latest(f"gaskets.{name}", *self.side)
        return taken is not None and self.counts(taken)

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
        middle = self.taken.mean + change
        expected = next((one for one in (closed(self.reducer, chain).nominal, middle) if _tenfold(self.taken.mean, one)), None)
        if expected is not None:
            return text("record.now_tenfold", expected=self.shown(expected))
        told |= {"stack": self._leaves(found.nearest), "gives": self.shown(max(middle + found.off, 0.0))}
        told |= {"low": self.shown(middle - half), "high": self.shown(middle + half)}
        if found.stack is None:
            return text("record.now_no_stack" if found.free >= THINNEST else "record.now_too_thin", **told)
        return text("record.now_gasket" if found.middle else "record.now_gasket_edge", **told)

    def _leaves(self, stack: shims.Stack) -> str:
        return " + ".join(f"{count} x {self.shown(size)}" for size, count in stack.leaves)

    def _shims(self) -> list[str]:
        """The shim moves of the readings, with the marks of the pair as it then stood."""
        if self.taken.state == "found" and not all(self._gasket_measured(name) for name in adjusting.PACKS):
            return [text("record.now_found_mesh")]
        unsure = self._unsure(*adjusting.PACKS)
        if unsure:
            return unsure
        trial = self.read.name == TRIAL
        depth = next(filter(self.stands, reversed(self.job.standing("trial_depth", *self.side))), None) if trial else None
        dry = dry_gear(self.reducer, depth) if trial else None
        if trial and dry is None:
            return [text("record.now_trial_deep")]
        read = mesh_read(self.job, self.taken, self.stands, dry)
        if read is None:
            return [text("record.now_mark_trial" if trial else "record.now_mark")]
        if self.taken.state != "found" or self._gasket_measured("high_speed_float_gasket"):
            read = with_float(self.reducer, read)
        found = adjusting.answer(self.reducer, self.explainer.procedure, read)
        if self.taken.state == "found":
            return list(adjusting_listing.wanted_as_found(found, self.reducer, self.explainer.procedure, self.now.units))
        listed = adjusting_listing.lines(found, self.reducer, self.explainer.procedure, self.explainer.title, self.now.units)
        return [line for line in listed if line][1:]


@dataclass(frozen=True)
class OtherGasket:
    """A gasket to put in the place of another: its name, the old one, the free thickness wanted [mm], the nearest stack from stock, how far
    from the middle of the limits that brings the end [mm], whether it lands near the middle, and inside at all."""

    name: str
    old: Gasket
    free: float
    nearest: shims.Stack
    off: float
    middle: bool
    inside: bool

    @property
    def stack(self) -> shims.Stack | None:
        """The stack to put in; None where none from stock lands inside."""
        return self.nearest if self.inside else None


def other_gasket(reducer: Reducer, chain: Chain, change: float, half: float) -> OtherGasket:
    """The gasket that changes the end of a chain by so much, from the one that is in; `half`: half of the limits' band [mm]."""
    item: Gasket = getattr(reducer.machine.gaskets, chain.gasket)
    stock = stock_of(reducer.machine, item)
    free = (item.clamped + change / chain.per_gasket) / (1.0 - stock.compression)
    wanted = round(max(free, min(stock.sizes)) * 1e4) / 1e4  # no gasket is thinner than the thinnest
    choice = shims.stacks(wanted, stock.sizes, tolerance=TARGET_SHARE * half, most_leaves=stock.most_leaves)
    held = [one for one in (choice.best, choice.below, choice.above) if one is not None and one.leaves]
    nearest = choice.best or min(held, key=lambda one: abs(one.thickness - free))
    off = (nearest.thickness - free) * (1.0 - stock.compression) * chain.per_gasket
    return OtherGasket(
        chain.gasket, item, free, nearest, off, choice.best is not None and wanted <= free + 1e-4, abs(off) <= half + 1e-6
    )


def _tenfold(value: float, expected: float) -> bool:
    """Whether a figure looks like another with its point one place too far to the right."""
    return expected > NOTHING and TENFOLD[0] <= value / expected <= TENFOLD[1]


def marks_of(taken: Taken) -> tuple[Mark | None, Mark | None]:
    """The marks on drive and coast, as they were typed."""
    found = {flank: mark_words.place(where) for flank, where in map(mark_words.flank, taken.typed)}
    return found.get("drive"), found.get("coast")


def mesh_read(job: Job, dial: Taken, stands: Callable[[Taken], bool], dry: float | None = None) -> adjusting.Read | None:
    """What the shim moves are worked out of: a backlash, the marks of the pair as it then stood, the end plays that were read; of each the
    last that counts and `stands`. `dry`: of a dry trial, `dry_gear`. None without marks, of a trial without both positions too."""
    side: tuple[State, ...] = ("found",) if dial.state == "found" else PUT_IN
    held = {
        name: one
        for name in ("pattern", *PLAYS, *adjusting.PACKS.values())
        if (one := next(filter(stands, reversed(job.standing(name, *side))), None)) is not None
    }
    if "pattern" not in held and (dry is None or not all(name in held for name in adjusting.PACKS.values())):
        return None
    drive, coast = marks_of(held["pattern"]) if "pattern" in held else (None, None)
    return adjusting.Read(
        dial.values,
        drive=drive,
        coast=coast,
        sigma=BACKLASH_SIGMA,
        dry=dry,
        **{name: one.mean for name, one in held.items() if name != "pattern"},
    )


def dry_gear(reducer: Reducer, depth: Taken | None) -> float | None:
    """How much farther the gear stood in the dry trial than it will in the sealed case [mm]: the film lifts the upper half and with it the
    gear, unless the shaft was set to a depth that has the film in it already. None where that depth is outside its limits."""
    if depth is None:
        return reducer.machine.case.sealing_film
    limits = of_step(reducer, "trial_depth", (), depth.mean)
    if limits is None or not limits.low <= depth.mean <= limits.high:
        return None
    return depth.mean - trial_depth(reducer.machine)


def with_float(reducer: Reducer, read: adjusting.Read) -> adjusting.Read:
    """The same with the float gasket in that brings the high-speed end play inside: the running pinion moves with it. As it is where the
    play is inside, is none at all, or no gasket from stock does it."""
    play, (low, high) = read.high_speed_end_play, reducer.machine.limits.high_speed_end_play
    if play is None or play <= NOTHING or low - 1e-6 <= play <= high + 1e-6:
        return read
    middle = (low + high) / 2.0
    found = other_gasket(reducer, reducer.chain("high_speed_end_play"), middle - play, (high - low) / 2.0)
    return read if found.stack is None else replace(read, float_moves=middle + found.off - play)
