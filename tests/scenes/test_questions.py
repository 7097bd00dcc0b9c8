"""Questions for trainees: every answer is checked against what the order, the joints and the solids of the machine say by themselves."""

from __future__ import annotations

import random
from dataclasses import replace
from types import MappingProxyType

import numpy as np
import pytest

from geometry.solid import volume
from scenes import forgotten, order, questions
from scenes.examples import open_machine
from scenes.explain import Explainer
from scenes.frame import Frame
from scenes.procedure import Procedure
from scenes.questions import CHOICES, FEWEST, SEEN, Question
from scenes.slips import Slips


@pytest.fixture(scope="module")
def explainer() -> Explainer:
    machine, _ = open_machine("millrace")
    return Explainer(machine)


@pytest.fixture(scope="module")
def slips(explainer: Explainer) -> Slips:
    return Slips(explainer)


def any_change(a: Frame, b: Frame) -> float:
    """Stands for the renderer where none is asked: frames differ when a part's shape or place does."""

    def look(frame: Frame) -> dict[str, tuple[str, bytes]]:
        return {part.name: (part.spec_key, part.pose.tobytes()) for part in frame.shown}

    return 1.0 if look(a) != look(b) else 0.0


def one_right(question: Question) -> str:
    right = [choice.text for choice in question.choices if choice.right]
    assert len(right) == 1 and FEWEST <= len(question.choices) <= CHOICES
    assert len({choice.text for choice in question.choices}) == len(question.choices)
    return right[0]


def earlier(procedure: Procedure, name: str, before: str) -> Procedure:
    """The same job with one step moved in front of another."""
    names = [step for step in procedure.order if step != name]
    names.insert(names.index(before), name)
    return Procedure(tuple(names), MappingProxyType({step: procedure.steps[step] for step in names}), procedure.phases)


@pytest.mark.parametrize("due", ["gear_spacer"])
def test_a_part_offered_as_wrong_can_not_come_first_in_the_proof_of_the_order(slips: Slips, due: str) -> None:
    question = questions.next_part(slips, due, random.Random(0))
    assert question is not None
    right = one_right(question)
    assert right == ", ".join(slips.name(item) for item in slips.procedure.steps[due].arrives)
    for choice in question.choices:
        if choice.right:
            continue
        step = next(
            name
            for name in slips.offered(due)
            if ", ".join(slips.name(item) for item in slips.procedure.steps[name].arrives) == choice.text
        )
        proof = order.prove(slips.reducer, earlier(slips.procedure, step, due), pitch=order.QUICK)
        assert not proof.free, (due, step)
        assert choice.because


def test_the_machine_is_laid_out_without_words_that_tell_the_answer(slips: Slips) -> None:
    question = questions.next_part(slips, "gear_spacer", random.Random(1))
    assert question is not None
    frame = question.frame
    assert frame.step is None and frame.callouts == () and frame.trails == ()
    assert [mark.text for mark in frame.sequence] == [str(k + 1) for k in range(len(question.choices))]
    offered = {
        member
        for name in ("gear_spacer",)
        for item in slips.procedure.steps[name].arrives
        for member in slips.reducer.members(item)
    }
    assert offered <= {part.name for part in frame.shown if part.state == "arriving"}
    # Nothing laid out lies in anything else: boxes in the picture's frame are apart.
    standing = [part for part in frame.shown if part.state == "in place"]
    laid = [part for part in frame.shown if part.state == "arriving"]
    for a in laid:
        for b in standing:
            low = np.maximum(*(questions._box(part)[0] for part in (a, b)))
            high = np.minimum(*(questions._box(part)[1] for part in (a, b)))
            assert (high - low).min() <= 0.0, (a.name, b.name)


def test_a_part_left_out_costs_what_the_table_of_forgotten_parts_says(explainer: Explainer, slips: Slips) -> None:
    table = forgotten.table(slips.reducer, explainer.procedure, explainer.times(slips.now))
    rows = {row.item: row for row in table}
    checked = 0
    for slip in slips.all:
        if slip.kind == "omitted":
            moment = next(each for each in rows[slip.item].moments if each.step == slip.seen)
            cost = slips.cost(slip)
            assert (cost.off, cost.tight, cost.benches) == (moment.off, moment.tight, moment.benches)
            assert cost.time == pytest.approx(moment.time.value, rel=1e-12)
            checked += 1
    assert checked > 100


PAIRS = {f"{shaft}_speed_bearing_{place}" for shaft in ("high", "low") for place in (1, 2)}


def test_a_bearing_turned_round_comes_off_itself_and_makes_a_tandem_of_its_pair(slips: Slips) -> None:
    """Turning one bearing of a back-to-back or face-to-face pair end for end makes a tandem pair: ISO 5593 terms."""
    found = [slip for slip in slips.all if slip.kind == "turned" and slip.item in PAIRS]
    assert {slip.item for slip in found} == PAIRS
    for slip in found:
        assert slip.item == slips.cost(slip).off[-1]
        assert "tandem" in slips.why(slip)


def test_what_can_be_put_in_the_wrong_way_round_says_what_it_does_then(slips: Slips) -> None:
    """Common practice, no source: what works one way only, and what has an oil port."""
    says = {
        "high_speed_seal": "lip faces away", "low_speed_seal": "lip faces away", "lower_thrower": "throws the oil to the far side",
        "inner_bearing_outer_ring": "rib", "high_speed_tab_washer": "tab", "inner_retainer": "oil port", "lower_retainer": "oil port",
    }  # fmt: skip
    found = {slip.item: slip for slip in slips.all if slip.kind == "turned"}
    assert says.keys() <= found.keys()
    for item, said in says.items():
        assert said in slips.why(found[item]) and slips.cost(found[item]).off[-1] == item
    assert not found.keys() & {"lower_case", "upper_case", "high_speed_shaft", "low_speed_shaft", "cartridge", "sealant_bead"}


def test_an_open_lock_is_reached_without_taking_its_own_nut_off(slips: Slips) -> None:
    found = [slip for slip in slips.all if slip.kind == "open"]
    assert found
    for slip in found:
        cost = slips.cost(slip)
        assert slip.item not in cost.off and slip.item.replace("tab_washer", "locknut") not in cost.off
    covered = next(slip for slip in found if slip.seen == "ls_cover")
    assert "low_speed_cover" in slips.cost(covered).off


def test_a_wrong_gasket_turns_a_note_to_a_stop_that_the_built_one_does_not(explainer: Explainer, slips: Slips) -> None:
    found = [slip for slip in slips.all if slip.kind == "shim"]
    assert {(slip.item, slip.thick) for slip in found} == {
        (item, thick) for item in ("pinion_gasket", "gear_gasket") for thick in (True, False)
    }
    for slip in found:
        stops = [
            note for step in ("backlash", "pattern") for note in explainer.callouts(slips.settings(replace(slip, seen=step)), step)
        ]
        texts = {note.text for note in stops if note.verdict == "stop"}
        assert any(text in slips.why(slip) for text in texts)
        assert any(note.verdict == "stop" and note.key.startswith("mesh.") for note in stops), "something to find at the teeth"
        flange = {"pinion_gasket": "cartridge", "gear_gasket": "low_speed_cartridge"}[slip.item]
        assert {flange, slip.item} <= set(slips.cost(slip).off)


def test_a_part_left_out_is_not_explained_by_how_it_goes_on(slips: Slips) -> None:
    gear = next(slip for slip in slips.all if slip.kind == "omitted" and slip.item == "gear")
    assert "half way" not in slips.why(gear) and "without it" in slips.why(gear).lower()


@pytest.mark.parametrize("kind", ["omitted", "turned", "open", "shim"])
def test_a_slip_changes_the_picture_in_its_own_parts_alone(slips: Slips, kind: str) -> None:
    for slip in [each for each in slips.all if each.kind == kind][:: 9 if kind == "omitted" else 3]:
        question = questions.slip(slips, slip, random.Random(2), any_change)
        if question is None:
            continue
        assert one_right(question) == slips.said(slip)
        asked = {part.name: part for part in question.frame.shown}
        true = {part.name: part for part in question.answer.shown}
        mine = set(slips.reducer.members(slip.item))
        if kind == "shim":
            assert question.frame.mesh_view is not None and question.frame.step is None
            continue
        same = {
            name
            for name in asked
            if name in true and asked[name].spec_key == true[name].spec_key and np.array_equal(asked[name].pose, true[name].pose)
        }
        assert set(true) - same == mine
        if kind == "turned":  # end for end about its own middle, or half a turn about its own axis: the same room
            kept = 1.0 if slips.about_its_axis(slip) else -1.0
            for name in mine:
                assert np.linalg.det(asked[name].pose[:3, :3]) == pytest.approx(1.0, rel=1e-9)
                assert asked[name].pose[:3, 2] @ true[name].pose[:3, 2] == pytest.approx(kept, rel=1e-9)
                assert asked[name].pose[:3, 0] @ true[name].pose[:3, 0] == pytest.approx(-kept, rel=1e-9)
                assert volume(asked[name].solid) == volume(true[name].solid)


def test_no_question_is_put_about_what_can_not_be_seen(slips: Slips) -> None:
    slip = next(each for each in slips.all if each.kind == "omitted" and slips.cost(each).off)
    assert questions.slip(slips, slip, random.Random(0), lambda a, b: SEEN / 2.0) is None


def test_asking_again_and_again_puts_every_kind_of_question(slips: Slips) -> None:
    told = set()
    for seed in range(24):
        question = questions.ask(slips, "wrong", "hs_nut", random.Random(seed), any_change)
        assert question is not None
        told.add(one_right(question).rpartition(": ")[2])
    assert {"left out", "turned round", "its tab not bent"} <= told and told & {"too thick", "too thin"}
    assert questions.ask(slips, "next", "gear_hot", random.Random(0), any_change) is not None
