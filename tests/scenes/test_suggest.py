"""The smallest change of a wrong order: as few steps moved as can be, proven, and written so that a planner can use it."""

from __future__ import annotations

import random
from itertools import combinations

import pytest

from geometry.reducer import Reducer
from scenes import order_lines, procedure_file, suggest, verdict
from scenes.closure import Closure
from scenes.examples import open_machine
from scenes.explain import Explainer
from scenes.order_listing import suggestion_lines
from scenes.procedure import Procedure, reordered
from scenes.rules import Job
from tests.scenes.orders import changed, left_out, moved


@pytest.fixture(scope="module", params=["millrace", pytest.param("slipway", marks=pytest.mark.long)])
def job(request: pytest.FixtureRequest) -> tuple[Reducer, Procedure]:
    explainer = Explainer(open_machine(request.param)[0])
    return explainer.reducer(explainer.start_settings()), explainer.procedure


@pytest.mark.parametrize(
    ("step", "after"), [("hs_sleeve", "hs_bearing_1"), ("packers_out", "plates"), ("shaft_down", "cartridge_in")]
)
def test_one_step_in_a_wrong_place_is_cured_by_one_move(step: str, after: str, job: tuple[Reducer, Procedure]) -> None:
    wrong = moved(job[1], step, after=after)
    found = suggest.suggest(Job(job[0], wrong))
    assert not found.before.holds and found.cures and len(found.moves) == 1
    assert verdict.judge(Job(job[0], found.procedure)).holds, "judged anew, from the order alone"
    rest = [name for name in wrong.order if name != found.moves[0].step]
    assert [name for name in found.procedure.order if name != found.moves[0].step] == rest, "nothing else has moved"


def test_two_faults_that_have_no_step_in_common_take_two_moves(job: tuple[Reducer, Procedure]) -> None:
    wrong = moved(moved(job[1], "gear_key", after="gear_hot"), "hs_float_gasket", after="hs_cover")
    found = suggest.suggest(Job(job[0], wrong))
    assert found.cures and len(found.moves) == 2
    assert {frozenset(("gear_key", "gear_hot")), frozenset(("hs_float_gasket", "hs_cover"))} == {
        next(
            pair for pair in (frozenset(("gear_key", "gear_hot")), frozenset(("hs_float_gasket", "hs_cover"))) if move.step in pair
        )
        for move in found.moves
    }


def test_a_shuffled_job_is_put_right(job: tuple[Reducer, Procedure]) -> None:
    names = list(job[1].order)
    random.Random(5).shuffle(names)
    found = suggest.suggest(Job(job[0], reordered(job[1], names)))
    assert not found.before.holds and found.cures
    assert sorted(found.procedure.order) == sorted(names) and len(found.moves) < len(names)
    assert verdict.judge(Job(job[0], found.procedure)).holds


def test_an_order_that_holds_is_left_alone(job: tuple[Reducer, Procedure]) -> None:
    found = suggest.suggest(Job(job[0], job[1]))
    assert found.cures and found.moves == () and found.procedure is job[1]


def test_a_part_that_no_step_brings_is_cured_by_no_order(job: tuple[Reducer, Procedure]) -> None:
    found = suggest.suggest(Job(job[0], changed(job[1], "pinion_key", arrives=(), side="+x", method="measure")))
    lines = suggestion_lines(found, job[0], "mm")
    assert not found.cures and found.left.gaps and not found.moves
    assert lines[0] == "No order of these steps cures what follows."
    assert any("Pinion key" in line for line in lines)
    assert not any(line.startswith("order = [") for line in lines)


@pytest.mark.parametrize(
    ("step", "fields", "part"),
    [
        ("cartridge_in", {"path": (("+y", 300.0),)}, "Cartridge"),
        pytest.param("upper_half", {"path": (("+x", 400.0),)}, "upper half", marks=pytest.mark.long),
        pytest.param("hs_nut", {"side": "+y"}, "High-speed locknut", marks=pytest.mark.long),
        ("ls_nut", {"side": "-z"}, "ocknut"),
        ("shaft_down", {"side": "-z"}, "Low-speed shaft"),
    ],
)
def test_a_wrong_side_or_path_is_cured_by_no_order_and_the_way_is_named(
    step: str, fields: dict[str, object], part: str, job: tuple[Reducer, Procedure]
) -> None:
    """No step may be moved for it: the order is the shipped one."""
    found = suggest.suggest(Job(job[0], changed(job[1], step, **fields)))
    lines = suggestion_lines(found, job[0], "mm")
    assert not found.cures and found.left.proof.blocked
    assert lines[0] == "No order of these steps cures what follows."
    assert any(f"Step {job[1].steps[step].number}, " in line and part in line for line in lines)


@pytest.mark.parametrize(
    ("step", "before"), [("packers", "shaft_down"), ("gear_spacer", "lower_inner_ring"), ("pinion_tab", "cartridge_stand")]
)
def test_a_step_left_out_is_put_back_where_it_belongs(step: str, before: str, job: tuple[Reducer, Procedure]) -> None:
    found = suggest.suggest(Job(job[0], left_out(job[1], step)))
    lines = suggestion_lines(found, job[0], "mm")
    assert found.cures and found.restored == (step,) and not found.moves
    assert lines[1].startswith(f'Put step "{step}" (') and f'back before "{before}" (' in lines[1]
    assert found.procedure.order == job[1].order


def test_only_what_is_missed_is_put_back_and_the_rest_is_moved(job: tuple[Reducer, Procedure]) -> None:
    """A dry trial may be skipped; a spacer may not, and a key goes in before its gear."""
    wrong = moved(left_out(job[1], "gear_spacer"), "gear_key", after="gear_hot")
    for trial in [name for name, step in job[1].steps.items() if step.optional]:
        wrong = left_out(wrong, trial)
    found = suggest.suggest(Job(job[0], wrong))
    assert found.cures and found.restored == ("gear_spacer",) and len(found.moves) == 1


def test_a_step_put_back_brings_its_table_and_crlf_stays() -> None:
    shipped = procedure_file.shipped().decode()
    table = order_lines.table_of(shipped, "packers")
    short = shipped.replace(table, "").replace('  "packers",\n', "")
    assert "packers" not in procedure_file.parse(short.encode()).steps
    for content in (short, short.replace("\n", "\r\n")):
        made = order_lines.rewritten(content, procedure_file.load().order, {"packers": table})
        assert procedure_file.parse(made.encode()).steps["packers"] == procedure_file.load().steps["packers"]
        assert made.count("\r\n") == (made.count("\n") if "\r\n" in content else 0)


@pytest.mark.parametrize("seed", range(20))
def test_no_fewer_steps_could_be_moved_among_seven(seed: int) -> None:
    """Against trying every set of steps that may stay."""
    chance = random.Random(seed)
    names = list("abcdefg")
    closure = Closure(names, [pair for pair in combinations(names, 2) if chance.random() < 0.4])
    given = chance.sample(names, len(names))

    def stands(some: tuple[str, ...]) -> bool:
        return not any(closure.has(late, early) for early, late in combinations(some, 2))

    most = max(count for count in range(8) for some in combinations(given, count) if stands(some))
    kept = suggest._widest(given, closure)
    assert stands(tuple(name for name in given if name in kept)) and len(kept) == most


def test_the_order_of_a_file_is_rewritten_and_all_else_left() -> None:
    content = procedure_file.shipped().decode().replace('  "gear_key",\n', '  "gear_key", # mind the burr\n', 1)
    job = procedure_file.load()
    names = list(moved(job, "hs_seal", before="pinion_key").order)
    made = order_lines.rewritten(content, names)
    assert list(procedure_file.parse(made.encode(), "mine.toml").order) == names
    assert '  "gear_key",  # mind the burr\n' in made
    cut = "# ---- gear shaft"
    assert made[made.index(cut) :] == content[content.index(cut) :] and made.startswith(content[: content.index("order = [")])


def test_an_order_that_is_not_one_id_a_line_is_not_rewritten() -> None:
    with pytest.raises(order_lines.CannotRewrite, match="one step id a line"):
        order_lines.rewritten('order = ["a", "b"]\n', ["b", "a"])
