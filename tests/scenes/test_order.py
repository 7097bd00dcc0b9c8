"""The order, proven: both shipped machines go together; wrong orders are stopped, naming step, part, blocker and travel left."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from importlib.resources import files
from math import inf
from random import Random

import numpy as np
import pytest

from geometry import features, kept
from geometry.blocking import FILE, Table
from geometry.check_solids import check_solid
from geometry.machine import accept
from geometry.mesh_path import out_of_mesh, teeth_touch
from geometry.part import Part, Solid
from geometry.reducer import Reducer, assemble
from scenes import order, order_words, procedure_file, rules, whole
from scenes.benches import locked_at
from scenes.examples import open_machine
from scenes.explain import Explainer
from scenes.moves import moves, required
from scenes.order import BlockedPath
from scenes.procedure import Procedure
from scenes.touches import Touch, chances, deciding
from tests.scenes.orders import changed, left_out, moved, swapped

MACHINES = ("millrace", "slipway")


@pytest.fixture(scope="module")
def jobs() -> dict[str, tuple[Reducer, Procedure]]:
    found = {}
    for name in MACHINES:
        explainer = Explainer(open_machine(name)[0])
        found[name] = (explainer.reducer(explainer.start_settings()), explainer.procedure)
    return found


@pytest.fixture(scope="module")
def job(jobs: dict[str, tuple[Reducer, Procedure]]) -> tuple[Reducer, Procedure]:
    return jobs["millrace"]


def blocked(job: tuple[Reducer, Procedure], wrong: Procedure, step: str, item: str) -> BlockedPath:
    """The verdict on one path of a wrong order."""
    proof = order.prove(job[0], wrong, pitch=order.QUICK)
    found = [path for path in proof.blocked if (path.step, path.item) == (step, item)]
    assert found, f"free; blocked instead: {[(path.step, path.item) for path in proof.blocked]}"
    return found[0]


@pytest.mark.parametrize("pitch", [order.QUICK, order.PROOF])
@pytest.mark.parametrize("name", MACHINES)
def test_both_shipped_machines_go_together(name: str, pitch: float, jobs: dict[str, tuple[Reducer, Procedure]]) -> None:
    reducer, shipped = jobs[name]
    proof = order.prove(reducer, shipped, pitch=pitch)
    assert [order_words.sentence(reducer, path) for path in proof.blocked] == [] and proof.free
    arrivals = sum(len(step.arrives) for step in shipped.steps.values())
    assert proof.paths >= arrivals - 7, "all but the first part on each bench have a way to be judged"
    assert proof.meshes == 1, "pinion and gear come together once"


# ---- wrong orders: at least two of each kind --------------------------------------------------------------------------------


def test_swapped_sleeve_and_bearing(job: tuple[Reducer, Procedure]) -> None:
    m = job[0].machine
    path = blocked(job, moved(job[1], "hs_sleeve", after="hs_bearing_1"), "hs_sleeve", "high_speed_sleeve")
    assert m.high_speed_pair.width is not None
    assert (path.by, path.trap) == ("high_speed_bearing_1_inner_ring", "high_speed_bearing_1_inner_ring")
    assert path.exact and path.left == pytest.approx(
        m.spacers.high_speed_sleeve.nominal + m.high_speed_pair.width.nominal, abs=1e-3
    )


def test_swapped_gear_and_lower_ring(job: tuple[Reducer, Procedure]) -> None:
    low = job[0].layout.low
    path = blocked(job, moved(job[1], "gear_hot", after="lower_inner_ring"), "gear_hot", "gear")
    assert (path.by, path.trap) == ("lower_bearing_inner_ring", "gear_spacer")
    assert path.left == pytest.approx(low.gear_front - low.roller_low, abs=2.0)


def test_swapped_nut_and_outer_bearing(job: tuple[Reducer, Procedure]) -> None:
    high = job[0].layout.high
    path = blocked(job, moved(job[1], "hs_nut", before="hs_bearing_2"), "hs_bearing_2", "high_speed_bearing_2")
    assert (path.by, path.trap) == ("high_speed_locknut", "high_speed_thrower")
    assert path.left == pytest.approx(high.nut_end - high.pair_2, abs=0.2)


@pytest.mark.parametrize(
    ("step", "after", "item", "by"),
    [
        ("gear_key", "gear_hot", "gear_key", "gear"),
        ("pinion_key", "pinion_hot", "pinion_key", "pinion"),
        ("inner_retainer", "shaft_into_cartridge", "inner_retainer", "pinion"),
        ("lower_retainer", "shaft_down", "lower_retainer", "gear"),
        ("hs_spacers", "hs_bearing_2", "high_speed_outer_spacer", "high_speed_bearing_2_outer_ring"),
        ("shaft_down", "cartridge_in", "low_speed_shaft", "pinion"),
        ("shaft_down", "split_screws", "low_speed_shaft", "upper_case"),
        ("cartridge_in", "split_screws", "cartridge", "upper_case"),
        ("packers", "shaft_down", "packer", "gear"),
    ],
)
def test_what_was_forgotten_and_is_brought_too_late(
    step: str, after: str, item: str, by: str, job: tuple[Reducer, Procedure]
) -> None:
    assert blocked(job, moved(job[1], step, after=after), step, item).by == by


@pytest.mark.parametrize(
    ("step", "after", "item", "trap", "axis"),
    [
        ("pinion_gasket", "cartridge_in", "pinion_gasket", "lower_case", "x"),
        ("gear_gasket", "ls_cartridge", "gear_gasket", "low_speed_cartridge", "z"),
        ("hs_float_gasket", "hs_cover", "high_speed_float_gasket", "high_speed_cover", "x"),
        ("ls_float_gasket", "ls_cover", "low_speed_float_gasket", "low_speed_cover", "z"),
    ],
)
def test_a_gasket_in_the_wrong_place_of_the_order_is_trapped_by_its_flange(
    step: str, after: str, item: str, trap: str, axis: str, job: tuple[Reducer, Procedure]
) -> None:
    path = blocked(job, moved(job[1], step, after=after), step, item)
    assert path.trap == trap and path.side[1] == axis and not path.inside
    assert path.left > 20.0, "met at the far side of what lies on it"


def test_travel_left_of_a_gasket_under_the_cover_is_the_cover_with_the_gasket(job: tuple[Reducer, Procedure]) -> None:
    """Seen from outside, the cover's outer face is met first: its thickness and the gasket's own."""
    m = job[0].machine
    path = blocked(job, moved(job[1], "hs_float_gasket", after="hs_cover"), "hs_float_gasket", "high_speed_float_gasket")
    expected = m.high_speed_cover.thickness + m.gaskets.high_speed_float_gasket.clamped
    assert path.left == pytest.approx(expected, abs=0.2)


@pytest.mark.parametrize(
    ("step", "side", "item", "by"),
    [
        ("lower_outer_ring", "-z", "lower_bearing_outer_ring", "carrier"),
        ("inner_outer_ring", "+x", "inner_bearing_outer_ring", "cartridge"),
        ("gear_hot", "+z", "gear", "low_speed_shaft"),
        ("pinion_hot", "+x", "pinion", "high_speed_shaft"),
        ("hs_bearing_1", "-x", "high_speed_bearing_1", "pinion_locknut"),
    ],
)
def test_from_the_wrong_side(step: str, side: str, item: str, by: str, job: tuple[Reducer, Procedure]) -> None:
    path = blocked(job, changed(job[1], step, side=side), step, item)
    assert (path.by, path.side) == (by, side)


def test_travel_left_of_a_ring_pressed_from_the_wrong_end_is_the_rib_and_the_ring(job: tuple[Reducer, Procedure]) -> None:
    """From the pair's side the inner bearing's outer ring meets the rib's far face: rib and ring width are left (and the bore is
    wide enough up to there)."""
    m = job[0].machine
    path = blocked(job, changed(job[1], "inner_outer_ring", side="+x"), "inner_outer_ring", "inner_bearing_outer_ring")
    assert m.inner_bearing.width is not None
    expected = m.high_speed_cartridge.rib_width.nominal + m.inner_bearing.width.nominal
    high = job[0].layout.high
    assert high.stop - high.rib_in + m.inner_bearing.width.nominal == pytest.approx(expected)
    assert path.left == pytest.approx(expected, abs=0.2)


@pytest.mark.parametrize(
    ("path", "by"),
    [
        ((("+z", 300.0), ("-x", 5.0)), "lower_case"),
        ((("+y", 300.0),), "lower_case"),
        ((("-z", 300.0), ("+x", 5.0)), "lower_case"),
    ],
    ids=["backed off the wrong way", "from the back", "from below"],
)
def test_in_the_wrong_direction(path: tuple[tuple[str, float], ...], by: str, job: tuple[Reducer, Procedure]) -> None:
    assert blocked(job, changed(job[1], "cartridge_in", path=path), "cartridge_in", "cartridge").by == by


def test_a_gasket_dragged_along_its_face_is_stopped(job: tuple[Reducer, Procedure]) -> None:
    """Lowered straight down the pinion gasket would scrape the end face: the flange is held off, then slid in."""
    path = blocked(job, changed(job[1], "cartridge_in", path=(("+z", 300.0),)), "cartridge_in", "cartridge")
    assert (path.cause, path.part, path.by) == ("gasket", "pinion_gasket", "lower_case")
    assert "drags Pinion gasket along Case, lower half" in order_words.sentence(job[0], path)


def test_the_upper_half_does_not_come_from_the_side(job: tuple[Reducer, Procedure]) -> None:
    for side in ("+x", "+y", "-z"):
        blocked(job, changed(job[1], "upper_half", side=side), "upper_half", "upper_case")


def test_plates_before_the_packers_are_counted_out_shut_them_in(job: tuple[Reducer, Procedure]) -> None:
    """A cover before a reading: geometry decides, the packers leave through the lower opening."""
    path = blocked(job, moved(job[1], "plates", before="packers_out"), "packers_out", "packer")
    assert path.leaving and (path.cause, path.by) == ("shut", "lower_plate")
    assert "Lower inspection plate shuts the way" in order_words.sentence(job[0], path)


def test_coupling_keys_before_the_covers_stop_the_seals(job: tuple[Reducer, Procedure]) -> None:
    wrong = moved(job[1], "coupling_keys", before="hs_cover")
    path = blocked(job, wrong, "hs_cover", "high_speed_cover")
    assert (path.part, path.by, path.bench) == ("high_speed_seal", "high_speed_coupling_key", True)


@pytest.mark.parametrize("step", ["gear_spacer", "hs_spacers", "pinion_gasket", "packers_out", "carrier_in"])
def test_an_omitted_step_leaves_a_gap(step: str, job: tuple[Reducer, Procedure]) -> None:
    """Leaving out is not a matter of ways in: the machine is not whole, and that is told."""
    assert whole.gaps(job[0], left_out(job[1], step))


@pytest.mark.parametrize("step", ["hs_bearing_1", "lower_inner_ring"])
def test_omitting_what_carries_nothing_else_blocks_nothing(step: str, job: tuple[Reducer, Procedure]) -> None:
    assert order.prove(job[0], left_out(job[1], step), pitch=order.QUICK).free


@pytest.mark.parametrize(
    "right",
    [("upper_half", "dowels"), ("dowels", "split_screws"), ("hs_cover", "hs_end_play")],
)
def test_orders_that_are_merely_different_are_free(right: tuple[str, str], job: tuple[Reducer, Procedure]) -> None:
    assert order.prove(job[0], moved(job[1], right[0], after=right[1]), pitch=order.QUICK).free


# ---- teeth ------------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", MACHINES)
def test_teeth_stay_free_from_out_of_mesh_to_the_seat(name: str, jobs: dict[str, tuple[Reducer, Procedure]]) -> None:
    blank = jobs[name][0].blank
    lowered = teeth_touch(blank, (0.0, 0.0), (5.0, 0.0, 0.0), (0.0, 0.0, 1.0), inf)
    slid = teeth_touch(blank, (0.0, 0.0), (0.0, 0.0, 0.0), (1.0, 0.0, 0.0), 5.0)
    assert lowered is not None and slid is not None and lowered[0] is None and slid[0] is None
    assert out_of_mesh(blank, (5.0, lowered[1])) == pytest.approx(1.0)
    assert teeth_touch(blank, (0.0, 0.0), (0.0, 0.0, 0.0), (0.0, 1.0, 0.0), inf) is None, "sideways is no way for teeth"
    assert teeth_touch(blank, (0.0, 0.0), (0.0, 0.0, 0.0), (-1.0, 0.0, 0.0), inf) is None


def test_a_pair_set_without_backlash_can_not_be_brought_together() -> None:
    """A gear gasket twice as thick and a pinion gasket gone thin close the teeth up: dG and dP of -0.7 and -0.4 mm."""
    explainer = Explainer(open_machine("millrace")[0])
    now = explainer.with_(explainer.start_settings(), gaskets={"gear_gasket": 1.2, "pinion_gasket": 0.15})
    reducer = explainer.reducer(now)
    touched = [path for path in order.prove(reducer, explainer.procedure).blocked if path.cause == "teeth"]
    assert [(path.step, path.part, path.by) for path in touched] == [("cartridge_in", "pinion", "gear")]
    assert "no backlash is left" in order_words.sentence(reducer, touched[0])


# ---- adjacent swaps against sampled boolean volumes --------------------------------------------------------------------------

PAIRS = ("gear_spacer", "lower_inner_ring", "lower_thrower", "inner_inner_ring", "lower_outer_ring", "hs_float_gasket", "dowels")


@pytest.mark.parametrize("first", PAIRS)
def test_adjacent_swaps_are_judged_like_sampled_boolean_volumes(first: str, job: tuple[Reducer, Procedure]) -> None:
    """Each part of both swapped steps, moved in 2 mm steps along its way: the same verdict from volumes of intersection."""
    reducer, shipped = job
    place = shipped.order.index(first)
    wrong = swapped(shipped, place)
    steps = set(shipped.order[place : place + 2])
    said = {(path.step, path.item) for path in order.prove(reducer, wrong, pitch=order.PROOF).blocked if path.step in steps}
    found, judged = set(), 0
    table, skipped, locked = Table(reducer), order.exempt(reducer), locked_at(reducer, wrong)
    for move in moves(reducer, wrong):
        if move.step not in steps:
            continue
        judged += 1
        now = wrong.order.index(move.step)
        parts = {name: _shape(table, reducer, name, locked.get(name, -1) > now) for name in (*move.parts, *move.standing)}
        if any(
            _meet(parts[a], parts[b], np.array(move.legs[-1].way))
            for a in move.parts
            for b in move.standing
            if frozenset((a, b)) not in skipped
        ):
            found.add((move.step, move.item))
    assert judged and found == said


def _shape(
    table: Table, reducer: Reducer, name: str, flat: bool
) -> tuple[features.Manifold, np.ndarray[tuple[int, ...], np.dtype[np.float64]]]:
    item: Part = reducer.by_name[name]
    spec = item.unlocked if flat and item.unlocked is not None else item.spec
    shape = check_solid(spec, table.sizes.get(name, ()))
    points = shape.vertices @ item.pose[:3, :3].T + item.pose[:3, 3]
    return features.from_solid(Solid(points, shape.faces)), np.array([points.min(axis=0), points.max(axis=0)])


def _meet(
    moving: tuple[features.Manifold, np.ndarray[tuple[int, ...], np.dtype[np.float64]]],
    fixed: tuple[features.Manifold, np.ndarray[tuple[int, ...], np.dtype[np.float64]]],
    way: np.ndarray[tuple[int, ...], np.dtype[np.float64]],
) -> bool:
    """Whether two bodies share more than a sliver at any sampled shift."""
    reach = float(np.abs((fixed[1] - moving[1][::-1]) @ way).max()) + 2.0
    for shift in np.arange(0.2, reach, 2.0):
        box = moving[1] + shift * way
        if (box[0] < fixed[1][1]).all() and (box[1] > fixed[1][0]).all():
            if (moving[0].translate(tuple(shift * way)) ^ fixed[0]).volume() > 0.5:
                return True
    return False


# ---- words ------------------------------------------------------------------------------------------------------------------


def test_a_blocked_path_is_told_with_step_part_blocker_and_travel(job: tuple[Reducer, Procedure]) -> None:
    path = blocked(job, moved(job[1], "gear_hot", after="lower_inner_ring"), "gear_hot", "gear")
    told = order_words.sentence(job[0], path)
    for word in (f"Step {path.number}", "Gear", "Lower roller bearing, inner ring", "about", " mm", "Gear spacer"):
        assert word in told
    assert " in " in order_words.sentence(job[0], path, "inch") and "mm" not in order_words.sentence(job[0], path, "inch")


def test_a_bench_brought_to_after_it_joined_another_is_followed_there(job: tuple[Reducer, Procedure]) -> None:
    wrong = moved(job[1], "gear_key", after="shaft_down")
    path = blocked(job, wrong, "gear_key", "gear_key")
    assert path.number == wrong.order.index("gear_key") + 1


def test_the_seal_seat_must_let_the_tab_washers_tongue_pass() -> None:
    """A seal seat thicker than the slot's floor stops the washer: its tongue can't pass over it."""
    content = files("scenes").joinpath("machines", "millrace.toml").read_text(encoding="utf-8")
    old = 'seal_diameter = "72 mm"'
    assert old in content
    reducer = assemble(accept(tomllib.loads(content.replace(old, 'seal_diameter = "75 mm"'))))
    stopped = order.prove(reducer, procedure_file.load(), pitch=order.QUICK).blocked
    assert [(path.item, path.by) for path in stopped] == [("low_speed_tab_washer", "low_speed_shaft")]


def test_the_same_order_gives_the_same_verdict_twice(job: tuple[Reducer, Procedure]) -> None:
    wrong = moved(job[1], "gear_gasket", after="ls_cartridge")
    assert order.prove(job[0], wrong, pitch=order.QUICK) == order.prove(job[0], wrong, pitch=order.QUICK)


@pytest.mark.parametrize("name", MACHINES)
def test_pairs_that_are_not_judged_would_change_nothing_that_is_told(name: str, jobs: dict[str, tuple[Reducer, Procedure]]) -> None:
    """Every pair judged, for the moves of drawn orders: the same words come out."""
    reducer, full = jobs[name]
    table, skipped, random = Table(reducer, order.QUICK), order.exempt(reducer), Random(3)
    stopped = 0
    for _ in range(12):
        wrong = moved(full, *random.sample(full.order, 1), after=full.order[0])
        for move in moves(reducer, wrong):
            moving, fixed = ([reducer.by_name[item] for item in names] for names in (move.parts, move.standing))
            every = [
                Touch(a.name, b.name, leg, hit)
                for leg in move.legs
                for a, b, hit in table.in_the_way(moving, fixed, leg.way, offset=leg.offset, until=leg.length, exempt=skipped)
            ]
            found = deciding(table, move, chances(table, move, reducer.by_name, skipped), [])
            assert bool(found) == bool(every)
            if every:
                stopped += not move.leaving
                told = [order._told(reducer, wrong.steps[move.step], 1, move, touches) for touches in (found, every)]
                assert told[0] == told[1]
    assert stopped > 5


# ---- kept between runs --------------------------------------------------------------------------------------------------------


def test_what_the_rules_looked_up_is_kept_for_the_next_run_too(nothing_kept: None) -> None:
    explainer = Explainer(open_machine("millrace")[0])
    rules.locks.sight.cache_clear()
    asked = kept.opened(FILE)
    found = explainer.verdict(explainer.start_settings(), pitch=order.QUICK)
    rules.locks.sight.cache_clear()
    assert found.holds and asked._rows and kept.Kept(asked.path)._rows.keys() == asked._rows.keys()


# ---- steps that may be skipped ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", MACHINES)
def test_a_part_tried_in_a_step_that_may_be_skipped_still_has_its_way_in_judged(
    name: str, jobs: dict[str, tuple[Reducer, Procedure]]
) -> None:
    """The pinion key laid in early for a trial: when that is skipped, bringing it after the pinion is as wrong as without a trial."""
    reducer, shipped = jobs[name]
    wrong = moved(shipped, "pinion_key", after="pinion_hot")
    trial = shipped.order[shipped.order.index("pinion_key") - 1]
    tried = changed(wrong, trial, arrives=(*wrong.steps[trial].arrives, "pinion_key"), optional=True)
    assert wrong.steps[trial].bench == wrong.steps["pinion_key"].bench
    said = order.prove(reducer, tried, pitch=order.QUICK).blocked
    assert ("pinion_key", "pinion_key", "pinion") in [(path.step, path.item, path.by) for path in said]


@pytest.mark.parametrize("name", MACHINES)
def test_a_part_that_is_in_the_way_only_when_a_step_is_done_is_found_as_well(
    name: str, jobs: dict[str, tuple[Reducer, Procedure]]
) -> None:
    """The dry trial closes the case and does not open it again: the cover of the pair can no longer be let down."""
    reducer, shipped = jobs[name]
    wrong = changed(moved(shipped, "cartridge_in", after="trial_close"), "trial_open", removes=())
    said = order.prove(reducer, wrong, pitch=order.QUICK).blocked
    assert ("cartridge_in", "cartridge", "upper_case") in [(path.step, path.item, path.by) for path in said]


@pytest.mark.parametrize("name", MACHINES)
def test_steps_that_may_be_skipped_add_nothing_to_the_shipped_order(name: str, jobs: dict[str, tuple[Reducer, Procedure]]) -> None:
    reducer, shipped = jobs[name]
    assert not any(move.skipping for move in moves(reducer, shipped))
    assert {step for step in shipped.order if shipped.steps[step].optional} and len(required(shipped).order) < len(shipped.order)


# ---- what is exempt -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", MACHINES)
def test_inside_a_bearing_only_rollers_balls_and_cage_are_not_judged(name: str, jobs: dict[str, tuple[Reducer, Procedure]]) -> None:
    reducer = jobs[name][0]
    pairs = order.exempt(reducer)
    assert frozenset(("high_speed_bearing_1_inner_ring", "high_speed_bearing_1_outer_ring")) not in pairs
    assert frozenset(("high_speed_bearing_1_inner_ring", "high_speed_bearing_1_balls")) in pairs
    assert frozenset(("lower_bearing_outer_ring", "lower_bearing_rollers")) not in pairs, "the loose ring comes on its own"


def test_rings_of_one_bearing_that_share_room_are_a_fault(job: tuple[Reducer, Procedure]) -> None:
    """An outer ring built as small as the inner one's shoulder: the two overlap in their seats."""
    reducer = job[0]
    inner, outer = (reducer.by_name[f"high_speed_bearing_1_{ring}_ring"] for ring in ("inner", "outer"))
    low, high = (min(r for r, _ in loop) for loop in (outer.spec.loops[0], inner.spec.loops[0]))
    loop = tuple((r - 0.6 * (low - high), z) for r, z in outer.spec.loops[0])
    swollen = replace(outer, spec=replace(outer.spec, loops=(loop,)))
    wrong = replace(reducer, parts=tuple(swollen if part is outer else part for part in reducer.parts))
    said = order.prove(wrong, job[1], pitch=order.QUICK).blocked
    assert ("overlap", outer.name) in {
        (path.cause, max(path.part, path.by)) for path in said if path.item == "high_speed_bearing_1"
    }
