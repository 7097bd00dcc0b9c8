"""The catalogue: every key that the shipped procedure and machines use has words, in the language of the trade."""

from __future__ import annotations

import re

import pytest

from geometry import machine, reducer
from scenes import procedure, procedure_file, wording
from scenes.callouts import heating

SHIPPED = procedure_file.load()
STEPS = tuple(SHIPPED.steps.values())
SENTENCE = re.compile(r"(?<=[.!?])\s+")
LONGEST = 30
"""Words in a sentence that a reader in a second language still takes in at once: common practice, no source."""


def sentences(key: str) -> list[str]:
    return [part for item in wording.texts(key) for part in SENTENCE.split(item)]


def spoken_keys() -> list[str]:
    return [key for key in wording.keys() if key.split(".")[0] in ("step", "caution", "note")]


@pytest.mark.parametrize("step", STEPS, ids=lambda step: step.id)
def test_every_step_says_what_to_do_and_why(step: procedure.Step) -> None:
    assert 2 <= len(wording.text(f"step.{step.id}.title").split()) <= 10
    assert 1 <= len(sentences(f"step.{step.id}.act")) <= 3
    assert len(sentences(f"step.{step.id}.reason")) == 1
    assert wording.text(f"step.{step.id}.reason").startswith("If ")


@pytest.mark.parametrize("step", STEPS, ids=lambda step: step.id)
def test_a_hold_point_has_its_words_exactly_where_something_is_read(step: procedure.Step) -> None:
    assert wording.has(f"step.{step.id}.hold") == step.hold == bool(step.reads)


@pytest.mark.parametrize("step", STEPS, ids=lambda step: step.id)
def test_every_key_that_a_step_uses_exists(step: procedure.Step) -> None:
    used = [f"phase.{step.phase}", f"method.{step.method}", f"caution.{step.method}", *step.cautions]
    used += [f"tool.{name}" for name in step.tools] + [f"consumable.{name}" for name in step.consumables]
    used += [f"read.{name}" for name in step.reads] + [f"part.{name}" for name in (*step.arrives, *step.removes)]
    assert [key for key in used if not wording.has(key)] == []


def test_every_method_has_a_name_and_cautions() -> None:
    for method in procedure.METHODS:
        assert wording.text(f"method.{method}")
        assert wording.texts(f"caution.{method}")


def test_no_words_are_kept_for_a_step_that_is_not_in_the_procedure() -> None:
    assert {key.split(".")[1] for key in wording.keys("step.")} == set(SHIPPED.order)


@pytest.mark.parametrize("kind, used", [("tool", "tools"), ("consumable", "consumables")])
def test_no_tool_is_listed_that_no_step_asks_for(kind: str, used: str) -> None:
    asked = {name for step in STEPS for name in getattr(step, used)}
    if kind == "consumable":
        asked.add(procedure.THREAD_COMPOUND)  # for screws that a machine has without lockwire
    else:
        asked.add(heating.OVEN)  # for a part that does not go on the induction heater
    assert {key.split(".")[1] for key in wording.keys(f"{kind}.")} == asked


@pytest.mark.parametrize("example", ["millrace", "slipway"])
def test_every_part_of_the_shipped_machines_has_a_name_and_a_circle_of_screws_shows_its_count(example: str) -> None:
    built = reducer.assemble(machine.load(f"scenes/machines/{example}.toml"))
    for part in built.parts:
        if part.number:
            count = len(built.groups[part.name.rsplit("_", 1)[0]])
            assert str(count) in wording.text(part.wording, count=count)
        else:
            assert "{" not in wording.text(part.wording)
    assert [name for name in built.groups if not wording.has(f"part.{name}")] == []


def test_no_two_parts_share_a_name() -> None:
    names = [wording.text(key, count=2) for key in wording.keys("part.")]
    assert len(names) == len(set(names))


def test_no_sentence_is_longer_than_thirty_words() -> None:
    long = [(key, item) for key in spoken_keys() for item in sentences(key) if len(item.split()) > LONGEST]
    assert long == []


@pytest.mark.parametrize("wrong", [r"\braces?\b", r"safe to run", r"\bslinger\b", r"\block ?washer\b", r"\bbearing lip"])
def test_the_words_are_those_of_the_trade(wrong: str) -> None:
    entries = {key: " ".join([entry] if isinstance(entry, str) else entry) for key, entry in wording.catalogue().items()}
    assert [key for key, entry in entries.items() if re.search(wrong, entry, re.IGNORECASE)] == []


# What a fitter of long standing expects to hear at that step: truths of the bench, common practice, no source.
TOLD = [
    ("make_safe", "One named person commands all turning"),
    ("inspect", "same set number and match marks"),
    ("inspect", "within 5 K"),
    ("ls_shaft_stand", "blind end up"),
    ("gear_hot", "shoulder end cool first"),
    ("gear_feeler", "0.03 mm (0.0012 in) feeler"),
    ("gear_feeler", "at four points"),
    ("lower_outer_ring", "rib at the bottom"),
    ("lower_tab", "tighten forward to the next slot, never back off"),
    ("carrier_in", "oil port lines up"),
    ("packers", "counted in"),
    ("packers", "2 to 3 mm"),
    ("packers", "a roller bearing carries no weight"),
    ("pinion_nut", "follow the pinion up"),
    ("pinion_nut", "Retighten cold"),
    ("pinion_feeler", "0.03 mm (0.0012 in) feeler"),
    ("pinion_feeler", "after the cold retightening"),
    ("cartridge_in", "about 5 mm"),
    ("cartridge_in", "rocking the gear"),
    ("cartridge_in", "turning the pinion"),
    ("cartridge_screws", "until upper half, dowels and split screws are tight"),
    ("cartridge_screws", "shears the gasket"),
    ("trial_close", "like for like"),
    ("trial_close", "without compound"),
    ("trial_read", "depth micrometer"),
    ("trial_read", "jack and shims on the packers"),
    ("trial_read", "film lifts the gear"),
    ("seal_bead", "two different compounds"),
    ("seal_bead", "oil ports"),
    ("dowels", "Only then may a split screw be tightened"),
    ("split_screws", "on the end face"),
    ("cartridge_draw_in", "dab of sealing compound where the split meets the gasket"),
    ("cartridge_draw_in", "evenly"),
    ("hs_seal", "lip toward the oil"),
    ("hs_cover", "oiled protector over the keyway"),
    ("ls_cover", "oiled protector over the keyway"),
    ("hs_end_play", "the float of the rings plus the play inside the pair"),
    ("ls_bearing_1", "reacts on the same shaft"),
    ("ls_bearing_2", "bears on both rings"),
    ("packers_out", "As many packers out as were counted in"),
    ("backlash", "on its running stop, with the gear resting down"),
    ("backlash", "Take all end play out first"),
    ("backlash", "within 5 K"),
    ("backlash", "plunger dial"),
    ("pattern", "slightly toward the toe"),
    ("turn_pair", "Set number noted"),
    ("pump", "Wrong rotation = no oil"),
    ("pump", "tongue has end play"),
    ("plates", "tools are counted out"),
    ("oil_first_run", "Re-mark before running"),
    ("oil_first_run", "retorque"),
]


@pytest.mark.parametrize("step, phrase", TOLD)
def test_the_step_tells_what_the_bench_has_taught(step: str, phrase: str) -> None:
    said = " ".join(wording.text(key) for key in wording.keys(f"step.{step}."))
    assert phrase in said


@pytest.mark.parametrize(
    "method, phrase",
    [
        ("hot", "heat-resistant gloves"),
        ("hot", "wire rope or chain, never on synthetic slings"),
        ("hot", "Measure the bore itself"),
        ("hot", "do not stop"),
        ("hot", "Demagnetise"),
        ("hot", "No torch on teeth"),
        ("ring", "only through the ring being fitted"),
        ("draw_on", "reacts on the same shaft"),
        ("ring", "bears on both"),
        ("soft_drift", "Hardened steel chips"),
        ("lower", "under the load"),
        ("lower", "10 %"),
        ("lower", "four-leg sling counts as two"),
        ("lower", "stop below 30°"),
        ("turn_over", "side pull"),
        ("wire", "eye protection"),
        ("seal", "safety data sheet"),
        ("measure", "locked out"),
        ("turn_by_hand", "One person commands all turning"),
    ],
)
def test_a_method_brings_its_cautions(method: str, phrase: str) -> None:
    assert phrase in wording.text(f"caution.{method}")


def test_marking_blue_and_sealing_compound_are_never_asked_for_in_one_step() -> None:
    blue = {step.id for step in STEPS if "marking_blue" in step.consumables}
    sealing = {step.id for step in STEPS if "sealing_compound" in step.consumables}
    assert blue == {"pattern"}
    assert sealing == {"seal_bead", "cartridge_draw_in"}


def test_every_sheet_defers_to_the_maker_and_qualified_people() -> None:
    notes = " ".join(wording.texts("note.sheet"))
    for phrase in ("maker's manual", "site rules", "local codes", "qualified people", "Re-mark before running"):
        assert phrase in notes


def test_an_unknown_key_is_refused_with_the_nearest_one() -> None:
    with pytest.raises(wording.WordingError, match=r"did you mean part\.pinion_gasket\?"):
        wording.text("part.pinion_gaskett")


def test_a_missing_value_is_named() -> None:
    with pytest.raises(wording.WordingError, match="needs a value for 'count'"):
        wording.text("part.split_screw")


def test_an_unknown_language_is_refused() -> None:
    with pytest.raises(wording.WordingError, match="accepted: en"):
        wording.text("part.gear", language="xx")


def test_optional_texts_may_be_absent_but_others_may_not() -> None:
    assert wording.texts("step.gear_spacer.caution", optional=True) == ()
    with pytest.raises(wording.WordingError):
        wording.texts("step.gear_spacer.caution")


def test_a_list_of_texts_comes_one_by_one_or_joined() -> None:
    cautions = wording.texts("caution.hot")
    assert len(cautions) > 1
    assert wording.text("caution.hot") == " ".join(cautions)
