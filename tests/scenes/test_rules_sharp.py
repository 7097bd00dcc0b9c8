"""The rules of the trade name what is wrong sharply: both bearings of a pair, the bench and the tool of a reading, the tool of a method.

What must be said is stated here by hand, from common practice at the bench.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from scenes import rules
from scenes.explain import Explainer
from scenes.procedure_file import shipped
from scenes.rules import Breach
from tests.scenes.test_rules import MACHINES, broken, job, turned
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
