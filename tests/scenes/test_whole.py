"""An order leaves a whole machine, or says what is missing; a machine without drilled heads needs no step for their wire."""

from __future__ import annotations

import tomllib
from importlib.resources import files

import pytest

from geometry.machine import Machine, accept
from geometry.reducer import assemble
from scenes import order, procedure, procedure_file, rules, whole
from scenes.explain import Explainer
from tests.scenes.orders import changed, left_out, moved

WIRE_STEPS = {"inner_retainer_wire", "lower_retainer_wire"}


def machine(name: str, wired: bool = True) -> Machine:
    text = files("scenes").joinpath("machines", f"{name}.toml").read_text(encoding="utf-8")
    return accept(tomllib.loads(text if wired else text.replace(", drilled = true", "")))


@pytest.mark.parametrize("name", ["millrace", "slipway"])
def test_the_shipped_order_leaves_a_whole_machine(name: str) -> None:
    assert whole.gaps(assemble(machine(name)), procedure_file.load()) == ()


def test_a_machine_without_drilled_heads_needs_no_step_for_their_wire() -> None:
    plain = Explainer(machine("millrace", wired=False))
    wired = Explainer(machine("millrace"))
    assert plain.gaps == ()
    assert set(wired.procedure.order) - set(plain.procedure.order) == WIRE_STEPS
    assert plain.procedure.steps["carrier_screws"].arrives == ("carrier_screw",)
    assert [step.number for step in plain.procedure.steps.values()] == list(range(1, len(plain.procedure.order) + 1))
    start = plain.start_settings()
    for step in plain.procedure.order:
        assert all("lockwire" not in note.text.lower() for note in plain.callouts(start, step)), step


def test_every_skipped_bringing_step_is_noticed() -> None:
    """Leaving out any one step that brings or merges something leaves a gap that the check tells."""
    red, full = assemble(machine("millrace")), procedure_file.load()
    for name, step in full.steps.items():
        if step.optional or not (step.arrives or step.merges):
            continue
        order = tuple(item for item in full.order if item != name)
        rest = procedure.Procedure(order, {item: full.steps[item] for item in order}, full.phases)
        assert whole.gaps(red, rest) or all(red.by_name[item].tool for arrival in step.arrives for item in red.members(arrival)), (
            name
        )


@pytest.mark.parametrize("name", ["millrace", "slipway"])
def test_what_is_never_brought_is_told_with_the_place_where_it_belongs(name: str) -> None:
    red, full = assemble(machine(name)), procedure_file.load()
    told = whole.gaps(red, left_out(full, "gear_spacer"))
    assert len(told) == 1 and told[0].startswith("Never brought: Gear spacer. It belongs after this: Step 6, ")
    assert "(in the shipped order: Step 7, " in told[0]
    told = whole.gaps(red, changed(full, "gear_spacer", arrives=(), side="+z"))
    assert len(told) == 1 and told[0].startswith("Never brought: Gear spacer. It belongs in this: Step 7, ")


def test_each_step_that_lacks_a_part_is_told_by_itself() -> None:
    told = whole.gaps(assemble(machine("millrace")), left_out(left_out(procedure_file.load(), "gear_spacer"), "pinion_key"))
    assert ["Gear spacer" in line for line in told] == [True, False] and "Pinion key" in told[1]


def test_a_part_brought_twice_is_told_with_the_number_of_the_step() -> None:
    full = procedure_file.load()
    told = whole.gaps(
        assemble(machine("millrace")), changed(full, "lower_thrower", arrives=("lower_thrower", "gear_spacer"), side="+z")
    )
    assert len(told) == 1 and told[0].startswith("Step 9, ") and "Gear spacer" in told[0]


@pytest.mark.parametrize("name", ["millrace", "slipway"])
def test_a_bench_that_is_to_join_before_it_is_built_leaves_one_trail(name: str) -> None:
    """The cartridge brought in before anything stands on its bench: what is built up there later is not judged in the case."""
    red = assemble(machine(name))
    wrong = moved(procedure_file.load(), "cartridge_in", before="cartridge_stand")
    found = whole.found(red, wrong)
    assert [gap.kind for gap in found] == ["nothing_merges"]
    assert "the rest follows from it" in found[0].text
    own = [step.id for step in wrong.steps.values() if step.bench == "cartridge"]
    assert own and not [path for path in order.prove(red, wrong, pitch=order.QUICK).blocked if path.step in own]
    assert not [breach for breach in rules.breaches(rules.Job(red, wrong)) if breach.step in own]
