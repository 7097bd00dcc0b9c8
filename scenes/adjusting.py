"""Shim moves for one machine from what was read on it: readings to the large end, stacks from the gaskets' stock, what a move costs.

mm, rad. Shifts are from the etched mounting distances, away from the crossing point positive, the pinion on its running stop, the gear
resting down. Contents: `Read`, `Answer`, `answer`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from calc import indicator
from calc.adjust import Adjustment, Move, Pack, adjust
from calc.backlash import mesh_rates
from calc.bevel import GEAR
from calc.contact import Contact
from calc.diagnosis import PRIOR_SIGMA, Target, search_reach
from calc.flank import Errors
from calc.readings import BACKLASH_SIGMA, FEWEST_FOR_RUNOUT, Mark, Reading
from geometry.machine import Gasket
from geometry.reducer import Reducer
from scenes.callouts.gaskets import stock_of
from scenes.dismantling import Dismantling, to_reach
from scenes.positions import Positions, positions
from scenes.procedure import Procedure
from scenes.tooth_contact import displacement, end_play_rate, meeting
from scenes.wording import text

PACKS = {"pinion_gasket": "pinion_running", "gear_gasket": "gear_distance"}
"""The gaskets that set the mesh, and the chain each ends in."""
AT_EDGE = 2e-3
"""A shift this close to the edge of the search counts as on it [mm]."""
POSITION_SIGMA = 0.03
"""Standard deviation of a mounting distance as read, over a face or two and by a rounded etching [mm]: own choice."""
UNKNOWN = 0.1
"""A shift known no closer than this counts as not known [mm]: own choice."""
CROSSED = 15.0
"""Marks of straight flanks this far apart along the face, on opposite sides of the middle, are no matter of shims [%]: own choice."""
NO_SHIM = ("shims_do_not_explain", "no_move_in_band", "no_move_helps", "runout_exceeds_band")
"""Remarks of `calc.adjust` after which no shim can do it alone."""


@dataclass(frozen=True)
class Read:
    """What was read: the dial [mm] at one or more places, evenly spread round the gear; where the stem touches, from the gear's axis
    [mm], None at the large-end pitch circle; pattern on drive and coast; end play that the reading contains [mm], None: it was taken
    out; standard deviation of one reading [mm]; kind of dial; end plays and mounting distances as read, which stand over the chains' [mm];
    float_moves: how far the float gasket that goes in with the move shifts the running pinion, of the end play too; dry: how much farther
    the gear stood in the dry trial than it will in the sealed case, None: it was read in the sealed case [mm]."""

    dial: tuple[float, ...] = ()
    at_radius: float | None = None
    drive: Mark | None = None
    coast: Mark | None = None
    end_play: float | None = None
    sigma: float = BACKLASH_SIGMA
    kind: Literal["plunger", "lever"] = "plunger"
    high_speed_end_play: float | None = None
    low_speed_end_play: float | None = None
    pinion_running: float | None = None
    gear_distance: float | None = None
    float_moves: float = 0.0
    dry: float | None = None


@dataclass(frozen=True, eq=False)
class Answer:
    """`found`: answer of the inverse; present: ends of the chains with the gaskets of the settings; play_adds: what the present end play
    of the pinion would add to a reading over the running stop; taken_off: what was taken off this one for its end play [mm]; costs: of
    each gasket that may be changed; gates: why no move is named before something else is done (keys); possible: shims can do it;
    then: what would be read in the sealed case with the float gasket in, beside `read`, and how much more backlash that is."""

    read: Read
    then: Read
    more: float
    at_pitch_circle: tuple[float, ...]
    found: Adjustment
    present: Positions
    play_adds: float
    taken_off: float
    packs: tuple[Pack, Pack]
    costs: tuple[Dismantling, Dismantling]
    gates: tuple[str, ...]
    possible: bool

    def after(self, reducer: Reducer, move: Move) -> Positions:
        """Ends of the chains after a move: positions as read, else as diagnosed, moved by it; end plays as the gaskets leave them."""
        gears, there, here = reducer.machine.gears, move.displacement, self.found.diagnosis.displacement
        pinion, gear = self.then.pinion_running, self.then.gear_distance
        if pinion is None:
            pinion = gears.pinion_mounting_distance.nominal + here.pinion
        if gear is None:
            gear = gears.gear_mounting_distance.nominal + here.gear
        return replace(
            self.present, pinion_running=pinion + there.pinion - here.pinion, gear_distance=gear + there.gear - here.gear
        )


def _gasket(reducer: Reducer, name: str) -> Gasket:
    item: Gasket = getattr(reducer.machine.gaskets, name)
    return item


def packs(reducer: Reducer) -> tuple[Pack, Pack]:
    """The gaskets of pinion and gear with their stock and the way a thicker one moves the member."""
    made = []
    for name, chain in PACKS.items():
        item = _gasket(reducer, name)
        sign = 1 if reducer.chain(chain).per_gasket > 0.0 else -1
        stock = stock_of(reducer.machine, item)
        now = item.clamped / (1.0 - stock.compression)  # the present pack as if it were made of that stock
        made.append(Pack(now, stock.sizes, sign, stock.compression, stock.most_leaves))
    return made[0], made[1]


def over_running_stop(reducer: Reducer, play: float) -> float:
    """What end play left in adds to a reading, over the reading with the pinion held on its running stop [mm]."""
    return end_play_rate(reducer.blank) * play


def readings(reducer: Reducer, read: Read) -> tuple[Reading, ...]:
    """The readings at the large-end pitch circle; from three places on evenly round the gear."""
    pitch = reducer.blank.outer_diameters[GEAR] / 2.0
    radius = pitch if read.at_radius is None else read.at_radius
    scale = indicator.backlash_from_reading(1.0, pitch_radius=pitch, dial_radius=radius)
    count = len(read.dial)
    turns = [2.0 * math.pi * k / count if count >= FEWEST_FOR_RUNOUT else None for k in range(count)]
    found = [Reading(dial * scale, turn=turn, sigma=read.sigma * scale) for dial, turn in zip(read.dial, turns, strict=True)]
    if read.drive is not None or read.coast is not None:
        found = (
            [replace(found[0], drive=read.drive, coast=read.coast), *found[1:]]
            if found
            else [Reading(drive=read.drive, coast=read.coast)]
        )
    return tuple(found)


def answer(reducer: Reducer, procedure: Procedure, read: Read) -> Answer:
    """Where the pair sits by these readings and which whole-shim move sets it. Raises ValueError for readings out of range."""
    as_read: Sequence[Reading] = readings(reducer, read)
    typed, read, more = read, *_then(reducer, read)
    at_large_end: Sequence[Reading] = readings(reducer, read)
    play = read.end_play or 0.0
    if read.dial and play and over_running_stop(reducer, play) > max(item.backlash or 0.0 for item in at_large_end):
        raise ValueError(text("adjust.more_than_read"))
    # The inverse takes a reading with end play back to the inner stop; the pattern and the targets are for the running stop.
    outward = mesh_rates(reducer.blank).pinion.touching * play
    given = [item if item.backlash is None else replace(item, backlash=item.backlash + outward) for item in at_large_end]
    ready = packs(reducer)
    now = _present(reducer, read)
    gears, here = reducer.machine.gears, displacement(reducer)
    expected = replace(
        here,
        pinion=here.pinion + read.float_moves
        if read.pinion_running is None
        else read.pinion_running - gears.pinion_mounting_distance.nominal,
        gear=here.gear if read.gear_distance is None else read.gear_distance - gears.gear_mounting_distance.nominal,
    )
    doubt = (
        PRIOR_SIGMA if read.pinion_running is None else POSITION_SIGMA,
        PRIOR_SIGMA if read.gear_distance is None else POSITION_SIGMA,
    )
    found = adjust(reducer.blank, given, Target(gears.backlash), ready, expected=expected, doubt=doubt, end_play=play)
    gates = (*_gates(reducer, typed, now), *_beyond(reducer, found))
    return Answer(
        read=typed,
        then=read,
        more=more,
        at_pitch_circle=tuple(item.backlash for item in as_read if item.backlash is not None),
        found=found,
        present=now,
        play_adds=over_running_stop(reducer, max(now.high_speed_end_play, 0.0)),
        taken_off=over_running_stop(reducer, play) if read.dial else 0.0,
        packs=ready,
        costs=(to_reach(reducer, procedure, "pinion_gasket"), to_reach(reducer, procedure, "gear_gasket")),
        gates=gates,
        possible=not gates and not set(NO_SHIM) & set(found.remarks) and not _hard(found.move),
    )


def _then(reducer: Reducer, read: Read) -> tuple[Read, float]:
    """What would be read in the sealed case with another float gasket in, by the tooth model; how much more backlash that is [mm]."""
    pinion, gear = read.float_moves, -(read.dry or 0.0)
    if not pinion and not gear:
        return read, 0.0
    gears, here = reducer.machine.gears, displacement(reducer)
    now = replace(
        here,
        pinion=here.pinion if read.pinion_running is None else read.pinion_running - gears.pinion_mounting_distance.nominal,
        gear=here.gear - gear if read.gear_distance is None else read.gear_distance - gears.gear_mounting_distance.nominal,
    )
    before, after = _met(reducer, now), _met(reducer, replace(now, pinion=now.pinion + pinion, gear=now.gear + gear))
    rates, marks = mesh_rates(reducer.blank), {"drive": read.drive, "coast": read.coast}
    more = rates.pinion.touching * pinion + rates.gear.touching * gear
    if before is not None and after is not None and before.backlash is not None and after.backlash is not None:
        more = after.backlash.outer - before.backlash.outer
        for name, mark in marks.items():
            was, is_ = getattr(before, name), getattr(after, name)
            if mark is not None and was is not None and is_ is not None:
                along = mark.centre[0] + is_.pattern.centre_along - was.pattern.centre_along
                depth = mark.centre[1] + is_.pattern.centre_depth - was.pattern.centre_depth
                marks[name] = Mark(min(max(along, 0.0), 100.0), min(max(depth, 0.0), 100.0), mark.sigma)
    radius = 1.0 if read.at_radius is None else read.at_radius / (reducer.blank.outer_diameters[GEAR] / 2.0)

    def moved(value: float | None, shift: float) -> float | None:
        return None if value is None else value + shift

    then = replace(
        read,
        dial=tuple(max(0.0, one + more * radius) for one in read.dial),
        drive=marks["drive"],
        coast=marks["coast"],
        pinion_running=moved(read.pinion_running, pinion),
        gear_distance=moved(read.gear_distance, gear),
        high_speed_end_play=moved(read.high_speed_end_play, pinion),
    )
    return then, more


def _met(reducer: Reducer, at: Errors) -> Contact | None:
    """The pair at these shifts; None beyond the model."""
    try:
        return meeting(reducer, at)
    except ValueError:
        return None


def _present(reducer: Reducer, read: Read) -> Positions:
    """Ends of the chains, with the end plays that were read."""
    now = positions(reducer)
    high = now.high_speed_end_play if read.high_speed_end_play is None else read.high_speed_end_play
    low = now.low_speed_end_play if read.low_speed_end_play is None else read.low_speed_end_play
    running = now.pinion_running + max(0.0, high) - max(0.0, now.high_speed_end_play)
    running = running if read.pinion_running is None else read.pinion_running
    return Positions(running, now.gear_distance if read.gear_distance is None else read.gear_distance, high, low)


def _hard(move: Move) -> bool:
    """Whether a move lands on a tip edge on either flank."""
    return any(flank is not None and flank.hard for flank in (move.contact.drive, move.contact.coast))


def _gates(reducer: Reducer, read: Read, now: Positions) -> tuple[str, ...]:
    """What stands before any shim move, the gravest first."""
    found = []
    if now.high_speed_end_play < 0.0:
        found.append("cover_clamps")
    if any(dial <= 0.0 for dial in read.dial):
        found.append("no_backlash")
    placed = read.dry is not None and read.pinion_running is not None and read.gear_distance is not None
    if not read.dial or (read.drive is None and read.coast is None and not placed):
        found.append("not_enough_read")
    if crossed(reducer, read.drive, read.coast):
        found.append("crossed_marks")
    return tuple(found)


def crossed(reducer: Reducer, drive: Mark | None, coast: Mark | None) -> bool:
    """Whether straight teeth are marked at opposite ends, drive and coast."""
    if reducer.blank.spiral_angle != 0.0 or drive is None or coast is None:
        return False
    one, other = drive.centre[0] - 50.0, coast.centre[0] - 50.0
    return one * other < 0.0 and abs(one - other) > CROSSED


def _beyond(reducer: Reducer, found: Adjustment) -> tuple[str, ...]:
    """A member that stands, or is found, at the edge of what the inverse searches: no move can be named from there."""
    reach, here, there = search_reach(reducer.blank), displacement(reducer), found.diagnosis.displacement
    if max(abs(here.pinion), abs(here.gear)) > reach:
        return ("far_by_the_chains",)
    return ("far_by_the_readings",) if max(abs(there.pinion), abs(there.gear)) >= reach - AT_EDGE else ()


def expected_marks(answer: Answer, move: Move) -> tuple[tuple[float, float] | None, tuple[float, float] | None]:
    """Centres of the marks after a move, drive and coast [%]: the mark as read, shifted as the model shifts; the model's where none was."""
    found: list[tuple[float, float] | None] = []
    for name in ("drive", "coast"):
        then, now, read = getattr(move.contact, name), getattr(answer.found.present, name), getattr(answer.then, name)
        if then is None:
            found.append(None)
        elif read is None or now is None:
            found.append((then.pattern.centre_along, then.pattern.centre_depth))
        else:
            along = read.centre[0] + then.pattern.centre_along - now.pattern.centre_along
            depth = read.centre[1] + then.pattern.centre_depth - now.pattern.centre_depth
            found.append((min(max(along, 0.0), 100.0), min(max(depth, 0.0), 100.0)))
    return found[0], found[1]
