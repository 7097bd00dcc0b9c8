"""An order leaves a whole machine, or says what is missing; a machine without drilled heads needs no step for their wire."""

from __future__ import annotations

import tomllib
from importlib.resources import files

import pytest

from geometry.machine import Machine, accept
from geometry.reducer import assemble
from scenes import procedure, procedure_file, whole
from scenes.explain import Explainer

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
