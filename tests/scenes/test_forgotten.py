"""What a forgotten part costs. What must come off is stated by hand from the sections of the two shipped machines (common practice, no
source); times are added up from the time plan, and parts that must stay are looked up in the joints."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import FrozenInstanceError

import pytest

from geometry import blocking
from geometry.joints import ScrewJoint
from geometry.reducer import Reducer
from scenes import forgotten, order
from scenes.dismantling import to_reach
from scenes.examples import open_machine
from scenes.explain import Explainer
from scenes.forgotten import Forgotten
from scenes.procedure import Procedure
from scenes.timeplan import TimePlan
from tests.scenes.orders import moved

MACHINES = ("millrace", "slipway")
WHOLE_TABLE = 12.0
"""Longest time of the processor for all parts, nothing kept from before [s]."""
Job = tuple[Reducer, Procedure, TimePlan, tuple[Forgotten, ...], float]


@pytest.fixture(scope="module", params=MACHINES)
def job(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Job]:
    explainer = Explainer(open_machine(request.param)[0])
    now = explainer.start_settings()
    reducer, times = explainer.reducer(now), explainer.times(now)
    with pytest.MonkeyPatch.context() as place:
        place.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("nothing_kept")))
        blocking.forget()
        start = time.process_time()
        rows = forgotten.table(reducer, explainer.procedure, times)
        taken = time.process_time() - start
    yield reducer, explainer.procedure, times, rows, taken


def row(job: Job, item: str) -> Forgotten:
    return next(each for each in job[3] if each.item == item)


def after(found: Forgotten, step: str) -> forgotten.Moment:
    return next(moment for moment in found.moments if moment.step == step)


@pytest.mark.parametrize("spacer", ["high_speed_inner_spacer", "high_speed_outer_spacer"])
def test_a_bearing_spacer_costs_the_second_bearing_nut_washer_and_cover(spacer: str, job: Job) -> None:
    end = row(job, spacer).end
    assert set(end.off) == {
        "high_speed_bearing_2", "high_speed_thrower", "high_speed_tab_washer", "high_speed_locknut",
        "high_speed_cover", "high_speed_cover_screw", "high_speed_coupling_key",
    }  # fmt: skip
    assert end.tight == ("high_speed_bearing_2",) and end.benches == ("high_speed_cover",)
    assert end.off.index("high_speed_locknut") < end.off.index("high_speed_bearing_2"), "the last fitted comes off first"
    assert {"hs_bearing_2", "hs_nut", "hs_tab", "hs_cover", "hs_end_play"} <= set(end.steps)


def test_a_spacer_is_free_until_the_second_bearing_is_drawn_on(job: Job) -> None:
    found = row(job, "high_speed_inner_spacer")
    assert found.free_until == "hs_spacers"
    assert after(found, "hs_bearing_2").off == ("high_speed_bearing_2",)
    assert set(after(found, "hs_nut").off) == {
        "high_speed_bearing_2", "high_speed_thrower", "high_speed_tab_washer", "high_speed_locknut",
    }  # fmt: skip


@pytest.mark.parametrize("item", ["drain_plug", "level_plug", "breather", "upper_plate_screw"])
def test_what_is_screwed_in_from_outside_costs_nothing(item: str, job: Job) -> None:
    found = row(job, item)
    assert found.end.off == () and found.end.steps == () and found.end.time.value == 0.0
    assert found.free_until == job[1].order[-1]


def test_the_lower_retainer_costs_the_shaft(job: Job) -> None:
    found = row(job, "lower_retainer")
    assert {"low_speed_shaft", "upper_case", "split_screw", "cartridge", "low_speed_bearing_1"} <= set(found.end.off)
    assert "low_speed_shaft" in found.end.benches and "shaft_down" in found.end.steps
    assert not {"gear", "lower_bearing_inner", "carrier", "oil_pump", "drain_plug"} & set(found.end.off), "they stay where they are"
    assert set(found.end.tight) == {"low_speed_bearing_1", "low_speed_bearing_2"}
    assert "low_speed_shaft" not in after(found, "packers").off
    assert "low_speed_shaft" in after(found, "shaft_down").off
    assert found.free_until == "ls_cartridge", "the shaft can be lifted out until its pair is drawn on"


def test_the_gear_key_costs_the_hot_gear(job: Job) -> None:
    found = row(job, "gear_key")
    assert found.free_until == "gear_key" and after(found, "gear_hot").tight == ("gear",)
    assert {"gear", "lower_bearing_inner", "low_speed_shaft"} <= set(found.end.off)
    assert "lower_plate" not in found.end.off, "the shaft is out of the case by then"


GASKETS = ("pinion_gasket", "high_speed_float_gasket", "gear_gasket", "low_speed_float_gasket")


def test_a_forgotten_pinion_gasket_takes_off_what_changing_it_does(job: Job) -> None:
    """The bore is larger than the pinion's tip: screws out, cartridge drawn out as a unit, the case stays closed."""
    end, change = row(job, "pinion_gasket").end, to_reach(job[0], job[1], "pinion_gasket")
    assert set(end.off) == {*change.parts, change.flange} == {"cartridge_screw", "cartridge"}
    assert end.tight == () and end.benches == ("cartridge",)


@pytest.mark.parametrize("gasket", GASKETS)
def test_changing_a_gasket_lists_all_that_comes_off_when_it_was_forgotten(gasket: str, job: Job) -> None:
    end, change = row(job, gasket).end, to_reach(job[0], job[1], gasket)
    assert set(end.off) <= {*change.parts, change.flange} and end.tight == change.tight


@pytest.mark.parametrize("gasket", GASKETS)
def test_changing_a_gasket_does_again_every_step_that_the_order_undoes(gasket: str, job: Job) -> None:
    """What the order proof has to be made again when that gasket was forgotten is done again when it is changed, closing checks too."""
    end, change = row(job, gasket).end, to_reach(job[0], job[1], gasket)
    assert set(end.steps) <= set(change.steps) and {"ls_end_play", "backlash", "pattern", "turn_pair"} <= set(change.steps)
    places = [job[1].order.index(name) for name in change.steps]
    assert places == sorted(places) and gasket in job[1].steps[change.steps[0]].arrives


@pytest.mark.parametrize(
    "item", ["pinion_locknut", "pinion_tab_washer", "pinion", "pinion_key", "inner_retainer", "inner_retainer_wire"]
)
def test_what_the_cartridge_carries_is_reached_with_the_case_closed(item: str, job: Job) -> None:
    end = row(job, item).end
    assert "cartridge" in end.benches
    assert not {"upper_case", "split_screw", "low_speed_bearing_1", "low_speed_cover"} & set(end.off)


def test_forgotten_dowels_cost_both_flanges_and_every_reading_since(job: Job) -> None:
    """Driven in late, they shift the halves: split and cartridge screws are loosened, tightened again, all chains read again."""
    end = row(job, "dowel").end
    assert end.off == () and set(end.loose) == {"split_screw", "cartridge_screw"}
    assert set(end.void) == {"hs_end_play", "ls_end_play", "backlash", "pattern", "oil_first_run"}
    assert {"split_screws", "cartridge_draw_in", *end.void} == set(end.steps)


@pytest.mark.parametrize(
    ("screws", "play"),
    [
        ("cartridge_screw", "hs_end_play"),
        ("high_speed_cover_screw", "hs_end_play"),
        ("low_speed_cartridge_screw", "ls_end_play"),
        ("low_speed_cover_screw", "ls_end_play"),
    ],
)
def test_readings_over_a_flange_without_its_screws_count_for_nothing(screws: str, play: str, job: Job) -> None:
    end = row(job, screws).end
    assert end.off == () and set(end.void) == {play, "backlash", "pattern", "oil_first_run"} and end.time.value > 0.0
    assert after(row(job, screws), row(job, screws).step).time.value == 0.0, "nothing was read yet"


def test_the_table_tells_its_pitch_and_what_it_is_ranked_by(job: Job) -> None:
    reducer, procedure, times, _, _ = job
    told: list[tuple[int, int]] = []
    rows = forgotten.table(reducer, procedure, times, progress=lambda done, total: told.append((done, total)))
    assert told[0][0] == 0 and told[-1][0] == told[-1][1] and told == sorted(told)
    said = "\n".join(forgotten.lines(reducer, procedure, rows, "mm", pitch=0.5))
    assert "0.5 mm apart" in said and "Ranked by" in said and "shorter way may exist" in said
    keys = [(-len(found.end.tight), -found.end.time.value) for found in rows]
    assert keys == sorted(keys)


def test_wire_comes_off_before_its_screws(job: Job) -> None:
    off = row(job, "lower_bearing_outer_ring").end.off
    assert off.index("lower_retainer_wire") < off.index("lower_retainer_screw") < off.index("lower_retainer")


def test_parts_under_pressed_bearings_rank_before_screws_of_covers(job: Job) -> None:
    places = {found.item: place for place, found in enumerate(job[3])}
    under = ["gear_spacer", "high_speed_sleeve", "high_speed_inner_spacer", "low_speed_outer_spacer", "gear_gasket"]
    screws = [joint.screws for joint in job[0].of_kind(ScrewJoint) if "cover" in joint.clamps or "plate" in joint.clamps]
    assert screws and max(places[item] for item in under) < min(places[item] for item in screws)
    assert places["gear_key"] == 0


def test_time_is_that_of_the_steps_done_again(job: Job) -> None:
    totals = {step.id: step.total for step in job[2].steps}
    for found in job[3]:
        for moment in found.moments:
            for end in ("value", "low", "high"):
                summed = sum(getattr(totals[name], end) for name in moment.steps)
                assert getattr(moment.time, end) == pytest.approx(summed), (found.item, moment.step)


def test_noticing_later_never_costs_less_and_nothing_comes_off_that_is_not_there(job: Job) -> None:
    brought = {item: step.number for step in job[1].steps.values() if not step.optional for item in (*step.arrives, step.merges)}
    for found in job[3]:
        assert [moment.number for moment in found.moments] == sorted(moment.number for moment in found.moments)
        for earlier, later in zip(found.moments, found.moments[1:], strict=False):
            assert set(earlier.tight) <= set(later.tight), (found.item, later.step)
        for moment in found.moments:
            items = set(moment.off) - set(moment.benches)
            assert all(found.number <= brought[item] <= moment.number for item in items), (found.item, moment.step)


def test_every_part_but_those_that_a_bench_stands_on(job: Job) -> None:
    brought = {item for step in job[1].steps.values() if not step.optional for item in step.arrives}
    stood_on = {
        "low_speed_shaft", "high_speed_shaft", "carrier", "cartridge", "lower_case", "high_speed_cover", "low_speed_cover",
    }  # fmt: skip
    assert {found.item for found in job[3]} == brought - stood_on


def test_a_tool_counts_until_it_is_taken_out(job: Job) -> None:
    assert row(job, "packer").end.number == job[1].steps["packers_out"].number - 1


def test_records_are_frozen_and_the_table_is_quick(job: Job) -> None:
    with pytest.raises(FrozenInstanceError):
        job[3][0].item = "gear"  # type: ignore[misc]
    assert job[4] < WHOLE_TABLE


def test_words(job: Job) -> None:
    reducer, procedure, _, rows, _ = job
    lines = forgotten.lines(reducer, procedure, rows, "mm")
    assert len(lines) == forgotten.TOP + 4 and lines[1].startswith(" 1  Gear key (step 4")
    report = forgotten.report(reducer, procedure, rows)
    assert len(report) == len(rows) and report[0]["item"] == "gear_key"
    assert "nothing comes off again" in forgotten.sentence(reducer, procedure, row(job, "drain_plug"))
    assert "Tight on its shaft" not in forgotten.sentence(reducer, procedure, row(job, "high_speed_locknut"))


@pytest.mark.parametrize(
    ("step", "item", "later"),
    [
        ("hs_sleeve", "high_speed_sleeve", "hs_bearing_1"),
        ("pinion_gasket", "pinion_gasket", "cartridge_in"),
        ("gear_spacer", "gear_spacer", "shaft_down"),
        ("cartridge_draw_in", "cartridge_screw", "ls_cartridge"),
        ("dowels", "dowel", "hs_cover"),
        ("ls_float_gasket", "low_speed_float_gasket", "ls_cover"),
    ],
)
def test_something_comes_off_just_where_the_proof_stops_the_late_part(step: str, item: str, later: str, job: Job) -> None:
    reducer, shipped, _, _, _ = job
    proof = order.prove(reducer, moved(shipped, step, after=later), pitch=order.QUICK)
    stopped = any((path.step, path.item) == (step, item) for path in proof.blocked)
    assert stopped == bool(after(row(job, item), later).off)
