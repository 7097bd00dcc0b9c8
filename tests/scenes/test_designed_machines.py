"""No false alarm on machines that were never shipped: ratio 1.5 to 6, shafts 30 to 120 mm, both tooth forms, 4 to 16 screws."""

from __future__ import annotations

from dataclasses import replace

import pytest

from geometry import features
from geometry.blocking import Table
from geometry.reducer import assemble, build
from geometry.sliding import slides_out
from scenes import order, verdict
from scenes.explain import Explainer
from tests.scenes.designed import Design, design
from tests.scenes.orders import moved

FEW, MANY = 5, 200


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


def test_packers_slide_out_from_under_a_gear_with_a_thin_back() -> None:
    """Back face 1.6 modules below the root at the heel: the rim ends level with it, so the packers do not stand in a cup."""
    reducer = assemble(design(26).machine)
    body = dict(reducer.by_name["gear"].spec.args)["body"]
    assert max(z for _, z in body) == pytest.approx(reducer.machine.gears.gear_mounting_distance.nominal, abs=1e-6)
    standing = [reducer.by_name[name] for name in ("gear", "lower_case", "carrier", "carrier_gasket", "low_speed_shaft")]
    table = Table(reducer, order.QUICK)
    assert [slides_out(table, reducer.by_name[name], standing, (0.0, -1.0, 0.0)) for name in reducer.members("packer")] == [
        True
    ] * 3


def test_an_inspection_plate_stands_below_a_split_flange_thicker_than_its_screws_reach() -> None:
    reducer = assemble(design(56).machine)
    case = reducer.machine.case
    assert case.flange_thickness > case.split_screws.length - case.flange_thickness + 14.0
    plate, lower = (
        features.from_solid(build(part)).transform(part.pose[:3])
        for part in (reducer.by_name["lower_plate"], reducer.by_name["lower_case"])
    )
    assert (plate ^ lower).volume() == 0.0
    assert plate.bounding_box()[5] < -case.flange_thickness


def test_the_draws_cover_what_they_claim() -> None:
    machines = [design(seed).machine for seed in range(MANY)]
    ratios = [m.gears.gear_teeth / m.gears.pinion_teeth for m in machines]
    seats = [seat.diameter for m in machines for seat in (m.high_speed_shaft.bearing_seat, m.low_speed_shaft.gear_seat)]
    counts = {m.high_speed_cover.screws.count for m in machines} | {m.carrier.screws.count for m in machines}
    hands = {m.gears.pinion_hand for m in machines}
    assert min(ratios) < 1.8 and max(ratios) > 5.6 and min(ratios) >= 1.45 and max(ratios) <= 6.05
    assert min(seats) == 30.0 and 110.0 <= max(seats) <= 120.0
    assert counts == set(range(4, 17)) and hands == {"straight", "left", "right"}
