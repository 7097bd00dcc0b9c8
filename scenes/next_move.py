"""What to put in next, from the readings of the last round that hold: gaskets for the end plays, shim moves for the mesh. mm.

Contents: `Next`, `next_move`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from geometry.reducer import Reducer
from scenes import adjusting, adjusting_listing, held_back
from scenes.cures import CURED, PLAYS, POSITIONS, TRIAL, OtherGasket, dry_gear, mesh_read, other_gasket, with_float
from scenes.gasket_changes import MOVES, tried_since
from scenes.read_limits import limits_of
from scenes.record import PUT_IN, State, Taken
from scenes.record_listing import Opened, still_open
from scenes.settings import Settings
from scenes.wanted import Wanted, counts, looked_at, stands
from scenes.wording import text

GASKET_OF = {moved[0]: gasket for gasket, moved in MOVES.items() if moved[0] in (*PLAYS, *POSITIONS)}
"""The gasket that sets each end play and each position."""


@dataclass(frozen=True, eq=False)
class Next:
    """floats: gaskets for end plays that are outside their limits, and for positions that are as long as the mesh is not read; answer: where
    the pair sits and the shim move, None where the readings are not enough or something that stands holds it back; why: what is wanted first, a finished line each, what stops before all else;
    reducer: of the machine that was read; side: the states in which it was read."""

    floats: tuple[OtherGasket, ...]
    answer: adjusting.Answer | None
    why: tuple[str, ...]
    said: tuple[str, ...]
    reducer: Reducer
    side: tuple[State, ...]

    @property
    def gaskets(self) -> dict[str, float]:
        """Free thickness of every gasket to change [mm]."""
        made = {one.name: one.stack.thickness for one in self.floats if one.stack is not None}
        if self.answer is not None and self.answer.possible:
            move = self.answer.found.move
            made |= {
                name: new
                for name, new, change in zip(adjusting.PACKS, (move.pinion, move.gear), move.changes, strict=True)
                if change
            }
        return made

    @property
    def as_found(self) -> bool:
        """Whether it was read on the machine as it came apart."""
        return self.side != PUT_IN

    def lines(self, found: Opened, now: Settings) -> list[str]:
        """What to do, for a fitter."""
        listed: list[str] = []
        if self.answer is not None:
            given = self.answer, self.reducer, found.planned.procedure, found.planned.title, now.units
            listed = list(adjusting_listing.lines(*given, as_found=self.as_found))[1:]
        return [
            *(line for line in self.said if line not in listed),
            *self.why,
            *(line for line in listed if line),
            *self._open(found, now),
        ]

    def _open(self, found: Opened, now: Settings) -> list[str]:
        """What the job wants instead, where no gasket is to be changed."""
        if self.answer is None or not self.answer.possible or self.gaskets:
            return []
        missing = list(still_open(found, now))
        return [
            text("rounds.nothing_open" if not missing else "rounds.first_open", count=len(missing), first=next(iter(missing), ""))
        ]


def next_move(found: Opened, now: Settings) -> Next:
    """What the readings of the last round ask for; of the machine as found as long as no reading was taken since."""
    return _Asked(found, now).next()


class _Asked:
    """The readings that hold, of the last round."""

    def __init__(self, found: Opened, now: Settings) -> None:
        self.found, self.now, self.job = found, now, found.job
        names = {name for moved in MOVES.values() for name in moved}
        put_in = any(one.read in MOVES or one.read in names for one in self.job.standing("", *PUT_IN))
        self.side: tuple[State, ...] = PUT_IN if put_in else ("found",)

    @cached_property
    def reducer(self) -> Reducer:
        """The machine that was read, with the gaskets that were in it."""
        return self.found.reducer(self.job, found=self.side != PUT_IN)

    def looked_at(self, name: str) -> Wanted:
        """The last reading of that name on that side."""
        return looked_at(self.found, self.now, self.found.reads[name], self.found.sealed.latest(name, *self.side), since=True)

    def next(self) -> Next:
        held = held_back.lines(self.found, self.now)
        if held:
            return self.without(*held, *self.wanted())
        stand = [one for one in held_back.stops(self.found, self.now) if one.taken.read not in CURED]
        floats: list[OtherGasket] = []
        moved: list[OtherGasket] = []
        said: list[str] = [*held_back.told(self.found, stand)]
        why: list[str] = []
        for name in CURED:
            one = self.looked_at(name)
            if one.taken is None or one.said is None or one.gasket is not None:
                continue
            unsure = self.unsure(GASKET_OF[name]) if name in GASKET_OF else []
            why += unsure
            if one.said.verdict in ("stop", "watch") and not unsure:
                said += self.found.judge(one.taken, self.now, since=True).now
            if name in GASKET_OF and one.said.verdict == "stop" and one.no_reading is None and not unsure and self.measured(name):
                (floats if name in PLAYS else moved).append(self.play(name, one.taken))
        pinion = [one for one in floats if one.name == "high_speed_float_gasket"]
        together = any(one.stack is not None for one in pinion)
        wanted = [text("rounds.play_first")] if pinion and not together else self.wanted()
        answer = None if wanted else self.answer(together=together)
        if wanted and moved and not pinion:  # a member outside its etched limits is brought back before there is a mesh to read
            floats, wanted = [*floats, *moved], []
        if answer is not None and answer.possible and not answer.found.move.packs_changed and self.stopped():
            answer, wanted = None, [text("rounds.shims_stay")]
        return Next(tuple(floats), answer, tuple([*why, *wanted]), tuple(dict.fromkeys(said)), self.reducer, self.side)

    def without(self, *why: str) -> Next:
        """That no move is worked out, and why not."""
        return Next((), None, why, (), self.reducer, self.side)

    def stopped(self) -> bool:
        """Whether anything that was read with these gaskets in stops, though the shims of the mesh stay."""
        if self.side == PUT_IN:
            return bool(held_back.stops(self.found, self.now))
        return any(one.said is not None and one.said.verdict == "stop" for one in map(self.looked_at, CURED))

    def measured(self, name: str) -> bool:
        """Whether the gasket that sets this end play is known; what came out must have been measured."""
        return self.side == PUT_IN or self.job.latest(GASKET_OF[name], "found") is not None

    def unsure(self, gasket: str) -> list[str]:
        """That the last thickness of a gasket does not count, so that it is not known what is in; nothing where it does."""
        taken = self.job.latest(gasket, *self.side)
        if taken is None or counts(self.found, taken):
            return []
        return [text("rounds.want_gasket", title=self.found.reads[gasket].title, entry=taken.number)]

    def play(self, name: str, taken: Taken) -> OtherGasket:
        limits = limits_of(self.reducer, self.found.reads[name])
        assert limits is not None
        middle, half = (limits.low + limits.high) / 2.0, (limits.high - limits.low) / 2.0
        return other_gasket(self.reducer, self.reducer.chain(name), middle - taken.mean, half)

    def wanted(self) -> list[str]:
        """What must be read before a shim move can be worked out."""
        missing = []
        for one in map(self.looked_at, ("backlash", "pattern")) if self.trial is None else ():
            lack, taken, title = one.no_reading, one.taken, one.read.title
            if taken is None:
                missing.append(text("rounds.want", title=title))
            elif one.gasket is not None:
                gasket = text(f"part.{one.gasket.read.removeprefix('gaskets.')}")
                missing.append(
                    text(f"rounds.want_{lack}", title=title, entry=taken.number, gasket=gasket, number=one.gasket.number)
                )
            elif lack is not None:
                told = {"count": len(taken.values), "wanted": one.read.wanted}
                missing.append(text(f"rounds.want_{lack}", title=title, entry=taken.number, **told))
        missing += [line for name in adjusting.PACKS for line in self.unsure(f"gaskets.{name}")]
        if self.side != PUT_IN and not all(self.job.latest(f"gaskets.{name}", "found") for name in adjusting.PACKS):
            missing.append(text("record.now_found_mesh"))
        return missing

    @cached_property
    def trial(self) -> adjusting.Read | None:
        """The dry trial, where it is the last backlash that was read and tells enough; None else."""
        dial, closed = (self.job.latest(name, *self.side) for name in (TRIAL, "backlash"))
        if dial is None or not stands(self.found, dial) or (closed is not None and closed.place > dial.place):
            return None
        if tried_since(self.found.lapses.changes, dial):
            return None
        depth = self.job.latest("trial_depth", *self.side)
        dry = dry_gear(self.reducer, depth if depth is not None and stands(self.found, depth) else None)
        return None if dry is None else mesh_read(self.job, dial, lambda one: stands(self.found, one), dry)

    def answer(self, *, together: bool) -> adjusting.Answer:
        """The shim move; `together`: with the float gasket that is proposed."""
        read = self.trial
        if read is None:
            backlash = self.job.latest("backlash", *self.side)
            assert backlash is not None
            read = mesh_read(self.found.sealed, backlash, lambda one: stands(self.found, one))
        assert read is not None
        read = with_float(self.reducer, read) if together else read
        return adjusting.answer(self.reducer, self.found.planned.procedure, read)
