"""Wrong orders on both machines, kind by kind: the proof names step, part and blocking part that a collision library finds too.

What must be named is stated by hand from the trade; the library, asked at positions along the same way, is the second judge. Trade
rules (locks, readings, oil, bearings turned about) are judged elsewhere: no solid is in their way.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from scenes import order, order_words, whole
from scenes.procedure import Procedure
from tests.scenes.judges import TRAVEL, Bench, bench_of
from tests.scenes.orders import changed, left_out, moved

MACHINES = ("millrace", "slipway")
Slip = Callable[[Procedure], Procedure]


def late(step: str, after: str) -> Slip:
    return lambda job: moved(job, step, after=after)


def early(step: str, before: str) -> Slip:
    return lambda job: moved(job, step, before=before)


def from_side(step: str, side: str) -> Slip:
    return lambda job: changed(job, step, side=side)


def along(step: str, *path: tuple[str, float]) -> Slip:
    return lambda job: changed(job, step, path=path)


WRONG: list[tuple[str, Slip, str, str, str]] = [
    # kind, slip, step, item, blocking part (its name begins so)
    ("swap", late("hs_sleeve", "hs_bearing_1"), "hs_sleeve", "high_speed_sleeve", "high_speed_bearing_1_inner_ring"),
    ("swap", late("gear_hot", "lower_inner_ring"), "gear_hot", "gear", "lower_bearing_inner_ring"),
    ("swap", early("hs_nut", "hs_bearing_2"), "hs_bearing_2", "high_speed_bearing_2", "high_speed_locknut"),
    ("forgotten", late("gear_key", "gear_hot"), "gear_key", "gear_key", "gear"),
    ("forgotten", late("inner_retainer", "shaft_into_cartridge"), "inner_retainer", "inner_retainer", "pinion"),
    ("forgotten", late("hs_spacers", "hs_bearing_2"), "hs_spacers", "high_speed_outer_spacer", "high_speed_bearing_2_outer_ring"),
    ("forgotten", late("packers", "shaft_down"), "packers", "packer", "gear"),
    ("wrong side", from_side("lower_outer_ring", "-z"), "lower_outer_ring", "lower_bearing_outer_ring", "carrier"),
    ("wrong side", from_side("inner_outer_ring", "+x"), "inner_outer_ring", "inner_bearing_outer_ring", "cartridge"),
    ("wrong side", from_side("gear_hot", "+z"), "gear_hot", "gear", "low_speed_shaft"),
    ("wrong side", from_side("pinion_hot", "+x"), "pinion_hot", "pinion", "high_speed_shaft"),
    ("wrong direction", along("cartridge_in", ("+z", 300.0), ("-x", 5.0)), "cartridge_in", "cartridge", "lower_case"),
    ("wrong direction", along("cartridge_in", ("+y", 300.0)), "cartridge_in", "cartridge", "lower_case"),
    ("wrong direction", from_side("upper_half", "+x"), "upper_half", "upper_case", "high_speed_shaft"),
    ("wrong direction", from_side("upper_half", "+y"), "upper_half", "upper_case", "pinion"),
    ("gasket misplaced", late("gear_gasket", "ls_cartridge"), "gear_gasket", "gear_gasket", "low_speed_cartridge_screw"),
    ("gasket misplaced", late("hs_float_gasket", "hs_cover"), "hs_float_gasket", "high_speed_float_gasket", "high_speed_cover"),
    ("gasket misplaced", late("pinion_gasket", "cartridge_in"), "pinion_gasket", "pinion_gasket", "lower_case"),
    ("cover before", late("cartridge_in", "split_screws"), "cartridge_in", "cartridge", "upper_case"),
    ("cover before", late("ls_nut", "ls_cover"), "ls_nut", "low_speed_locknut", "low_speed_cover"),
    ("cover before", early("coupling_keys", "hs_cover"), "hs_cover", "high_speed_cover", "high_speed_coupling_key"),
]


@pytest.fixture(scope="module")
def benches() -> dict[str, Bench]:
    return {name: bench_of(name) for name in MACHINES}


@pytest.mark.parametrize("name", MACHINES)
@pytest.mark.parametrize(("kind", "slip", "step", "item", "by"), WRONG, ids=[f"{row[0]}: {row[2]}" for row in WRONG])
def test_a_wrong_order_is_stopped_where_the_library_stops_it(
    kind: str, slip: Slip, step: str, item: str, by: str, name: str, benches: dict[str, Bench]
) -> None:
    bench = benches[name]
    wrong = slip(bench.shipped)
    said = {(path.step, path.item): path for path in order.prove(bench.reducer, wrong).blocked}
    path = said[step, item]
    touches = bench.first_touch(wrong, step, item)
    assert touches and abs(path.left - touches[0][0]) <= TRAVEL
    first = {(part, blocker) for left, part, blocker in touches if left >= touches[0][0] - TRAVEL}
    assert (path.part, path.by) in first
    assert path.by.startswith(by)


@pytest.mark.parametrize("name", MACHINES)
@pytest.mark.parametrize("kind", sorted({row[0] for row in WRONG}))
def test_the_step_that_was_slipped_is_the_first_fault_told(kind: str, name: str, benches: dict[str, Bench]) -> None:
    """No alarm in a step before: what stands there already went in as it does in the right order."""
    bench = benches[name]
    for _, slip, step, _, _ in (row for row in WRONG if row[0] == kind):
        assert order.prove(bench.reducer, slip(bench.shipped)).blocked[0].step == step


OMITTED = [
    ("gear_spacer", "gear_spacer"),
    ("hs_spacers", "high_speed_outer_spacer"),
    ("pinion_gasket", "pinion_gasket"),
    ("inner_retainer", "inner_retainer"),
]


@pytest.mark.parametrize("name", MACHINES)
@pytest.mark.parametrize(("step", "part"), OMITTED)
def test_what_was_left_out_is_named_and_no_longer_goes_in_at_the_end(
    step: str, part: str, name: str, benches: dict[str, Bench]
) -> None:
    bench = benches[name]
    told = whole.gaps(bench.reducer, left_out(bench.shipped, step))
    assert any(order_words.part_name(bench.reducer, part) in line for line in told)
    last = moved(bench.shipped, step, after=bench.shipped.order[-1])
    path = next(path for path in order.prove(bench.reducer, last).blocked if (path.step, path.item) == (step, part))
    touches = bench.first_touch(last, step, part)
    assert touches and abs(path.left - touches[0][0]) <= TRAVEL
    assert (path.part, path.by) in {(a, b) for left, a, b in touches if left >= touches[0][0] - TRAVEL}
