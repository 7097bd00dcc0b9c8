"""No false alarm on machines that were never shipped: ratio 1.5 to 6, shafts 30 to 120 mm, both tooth forms, 4 to 16 screws."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scenes import order, verdict
from scenes.explain import Explainer
from tests.scenes.designed import Design, design
from tests.scenes.orders import moved

FEW, MANY = 10, 200


def alarms(one: Design, pitch: float) -> list[str]:
    """What the whole verdict says against the shipped procedure on this machine: parts, ways in, rules of the trade.

    Not whether the heater is set high enough for its fits: no order cures that, and each hot fit has a note that says it.
    """
    explainer = Explainer(one.machine)
    now = explainer.start_settings()
    job = replace(explainer.job(now), hot={})
    return verdict.sentences(verdict.judge(job, pitch=pitch), job.reducer, "mm")


@pytest.mark.parametrize("seed", range(FEW))
def test_a_designed_machine_goes_together(seed: int) -> None:
    one = design(seed)
    assert alarms(one, order.QUICK) == [], one.told


@pytest.mark.long
@pytest.mark.parametrize("seed", range(MANY))
def test_many_designed_machines_go_together(seed: int) -> None:
    one = design(seed)
    assert alarms(one, order.PROOF) == [], one.told


def test_a_designed_machine_in_a_wrong_order_does_not_go_together() -> None:
    """The same machines are no open space: the pinion key forgotten until the pinion is on is stopped."""
    explainer = Explainer(design(0).machine)
    reducer = explainer.reducer(explainer.start_settings())
    wrong = moved(explainer.procedure, "pinion_key", after="pinion_hot")
    assert [(path.item, path.by) for path in order.prove(reducer, wrong).blocked] == [("pinion_key", "pinion")]


def test_the_draws_cover_what_they_claim() -> None:
    machines = [design(seed).machine for seed in range(MANY)]
    ratios = [m.gears.gear_teeth / m.gears.pinion_teeth for m in machines]
    seats = [seat.diameter for m in machines for seat in (m.high_speed_shaft.bearing_seat, m.low_speed_shaft.gear_seat)]
    counts = {m.high_speed_cover.screws.count for m in machines} | {m.carrier.screws.count for m in machines}
    hands = {m.gears.pinion_hand for m in machines}
    assert min(ratios) < 1.8 and max(ratios) > 5.6 and min(ratios) >= 1.45 and max(ratios) <= 6.05
    assert min(seats) == 30.0 and 110.0 <= max(seats) <= 120.0
    assert counts == set(range(4, 17)) and hands == {"straight", "left", "right"}
