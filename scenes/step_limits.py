"""Limits of readings that a step takes by hand: how far a hot bore clears its seat, the gap of a backed-off flange, the shaft's depth in
the dry trial. mm.

Contents: `Limits`, `of_step`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from calc import heat, materials
from geometry.joints import Fit
from geometry.reducer import Reducer
from scenes.callouts.gaskets import trial_depth
from scenes.own_judged import ring_limits
from scenes.own_reads import RING
from scenes.reading_sheet import FLANGE_GAP
from scenes.wording import text

FLANGE_SHARE = 0.5
"""How far the gap of a backed-off flange may be off the "about 1 mm" of its step [mm]: own choice."""


@dataclass(frozen=True)
class Limits:
    """What a reading must lie in [mm, N·m], and where that comes from."""

    low: float
    high: float
    source: str

    @property
    def least(self) -> float:
        """The lower limit as it is told: of what can't be below zero, zero."""
        return self.low if self.high < 0.0 else max(self.low, 0.0)


def of_step(reducer: Reducer, name: str, arrives: Iterable[str], value: float) -> Limits | None:
    """Limits of a reading that is taken by hand; None where nothing is stated. `arrives`: what the step brings; `value`: what was read,
    which tells a bore's diameter from its clearance."""
    if name == "flange_gap":
        return Limits(FLANGE_GAP - FLANGE_SHARE, FLANGE_GAP + FLANGE_SHARE, text("record.source_step"))
    if name == "trial_depth":
        chain = next(one for one in reducer.chains if one.name == "gear_distance")
        if chain.low_limit is None or chain.high_limit is None:
            return None
        depth, half = trial_depth(reducer.machine), (chain.high_limit - chain.low_limit) / 2.0
        return Limits(depth - half, depth + half, text("record.source_depth"))
    if name == "bore_clearance":
        joints = (one for one in reducer.of_kind(Fit) if one.hub == "gear" and one.bore_part in set(arrives))
        joint = next(joints, None)
        return None if joint is None else _hot_bore(reducer, joint, value)
    if name == RING:
        between = ring_limits(reducer, set(arrives))
        return None if between is None else Limits(*between, text("record.source_ring"))
    return None


def _hot_bore(reducer: Reducer, joint: Fit, value: float) -> Limits:
    """From where the bore slides over the seat at its largest, to where the hub is at its heating limit with the bore at its largest."""
    machine, steel = reducer.machine, materials.material("steel").expansion
    clears = value < joint.diameter / 2.0
    seat, tightest = (0.0, joint.shaft.lower) if clears else (joint.diameter + joint.shaft.upper, joint.shaft.upper)
    hot = heat.clearance_at(joint.bore.upper - tightest, joint.diameter, steel, hub_temperature=machine.gears.heating_limit)
    low = machine.shop.sliding_clearance
    return Limits(seat + low, seat + max(hot, low), text("record.source_bore"))
