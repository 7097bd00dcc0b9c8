"""The rules of the trade name what is wrong sharply: both bearings of a pair, the bench and the tool of a reading, the tool of a method.

What must be said is stated here by hand, from common practice at the bench.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from geometry.blocking import QUICK, Table
from scenes import rules, verdict
from scenes.explain import Explainer
from scenes.procedure_file import shipped
from scenes.rules import Breach, Job, locks
from tests.scenes.test_rules import MACHINES, broken, given_over, job, turned
from tests.scenes.test_whole import machine

both_machines = pytest.mark.parametrize("name", MACHINES)


def told(found: tuple[Breach, ...], rule: str) -> str:
    return " ".join(breach.text for breach in found if breach.rule == rule)


# ---- a pair turned end for end ---------------------------------------------------------------------------------------


@both_machines
@pytest.mark.parametrize(("pair", "shaft"), [("hs", "High-speed shaft"), ("ls", "Low-speed shaft")])
def test_a_pair_turned_end_for_end_names_both_bearings(pair: str, shaft: str, name: str) -> None:
    speed = {"hs": "high", "ls": "low"}[pair]
    wrong = job(name)[1]
    for number in (1, 2):
        wrong = turned(f"{pair}_bearing_{number}", f"{speed}_speed_bearing_{number}")(wrong)
    found = broken(name, wrong)
    assert f"Bearings 1 and 2 both face the wrong way: turn both. The pair on {shaft}" in told(found, "pair_faces")
    assert {(breach.part, breach.other) for breach in found} == {(f"{speed}_speed_bearing_2", f"{speed}_speed_bearing_1")}


# ---- thread-locking compound where there is no lockwire --------------------------------------------------------------


@both_machines
@pytest.mark.parametrize("step", ["lower_retainer", "inner_retainer", "carrier_screws"])
def test_a_planners_file_that_leaves_the_thread_compound_out_is_stopped(step: str, name: str, tmp_path: Path) -> None:
    """The shipped file states it; struck out for one circle of undrilled heads, that circle holds by nothing."""
    content = shipped().decode("utf-8")
    start = content.index(f"[step.{step}]")
    head, tail = content[:start], content[start:]
    (tmp_path / "own.toml").write_text(head + tail.replace('"thread_compound"', "", 1), encoding="utf-8")
    explainer = Explainer(machine(name, wired=False).model_copy(update={"procedure": "own.toml"}), tmp_path)
    found = rules.breaches(explainer.job(explainer.start_settings()))
    screws = next(item for item in explainer.procedure.steps[step].arrives if item.endswith("screw"))
    assert {(breach.rule, breach.part) for breach in found} == {("locked", screws)}


@both_machines
@pytest.mark.parametrize("wired", [True, False])
def test_the_shipped_order_asks_for_wire_or_compound_and_never_for_both(wired: bool, name: str) -> None:
    explainer = Explainer(machine(name, wired))
    asked = {item for step in explainer.procedure.steps.values() for item in step.consumables}
    assert asked & {"lockwire", "thread_compound"} == {"lockwire" if wired else "thread_compound"}


# ---- what covers a thread --------------------------------------------------------------------------------------------


@both_machines
def test_a_circle_is_covered_when_any_of_its_screws_is(name: str) -> None:
    """A part that stands over the third screw of the inner retainer alone, before the wire is drawn through its head."""
    reducer, full = job(name)
    see, table, screws = locks.sight(reducer, QUICK), Table(reducer, QUICK), reducer.members("inner_retainer_screw")
    hidden = [bool(see.cover(table, screw, "-x", ["gear_key"])) for screw in screws]
    assert any(hidden) and not hidden[0]
    found = broken(name, given_over("gear_key", "gear_key", "inner_retainer")(full))
    assert ("inner_retainer_screw", "gear_key") in [(each.part, each.other) for each in found if each.rule == "locked"]


@both_machines
def test_a_plate_over_an_opening_covers_no_thread(name: str) -> None:
    """The upper inspection plate stands over some split screws: it is made to come off again."""
    reducer, full = job(name)
    see, table = locks.sight(reducer, QUICK), Table(reducer, QUICK)
    assert any(see.cover(table, screw, "+z", ["upper_plate"]) for screw in reducer.members("split_screw"))
    assert broken(name, full) == ()


@both_machines
def test_covers_are_looked_at_as_finely_as_the_ways(name: str) -> None:
    """Judged at the pitch of a proof, the rules ask the same table as the ways do."""
    reducer, full = job(name)
    asked = Table(reducer, 0.7)
    locks.sight.cache_clear()
    verdict.judge(Job(reducer, full), table=asked)
    assert locks.sight.cache_info().misses == 1
    locks.sight(reducer, 0.7)
    assert locks.sight.cache_info().misses == 1


# ---- roles and joints, not names -------------------------------------------------------------------------------------


@both_machines
def test_a_thrower_turned_round_says_where_the_oil_goes_and_a_plain_spacer_may_lie_either_way(name: str) -> None:
    full = job(name)[1]
    found = broken(name, turned("hs_nut", "high_speed_thrower")(full))
    assert "its cone faces away from Angular contact bearing 2" in told(found, "faces")
    assert broken(name, turned("gear_spacer", "gear_spacer")(full)) == ()
    assert told(broken(name, turned("ls_nut", "low_speed_tab_washer")(full)), "faces")


def test_rules_know_parts_by_their_joints_and_not_by_their_names() -> None:
    """No rule asks how a part's name begins or ends."""
    folder = Path(rules.__file__).parent
    for module in sorted(folder.glob("*.py")):
        content = module.read_text(encoding="utf-8")
        assert "endswith" not in content and "startswith" not in content, module.name
