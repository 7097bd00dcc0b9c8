"""The rules of the trade: the shipped orders keep them; every wrong order is found by the rule, the part and the step that are wrong.

What must be caught and what is harmless is stated here by hand, from common practice at the bench; none of it is read off the program.
`tests/scenes/orders.py` puts an order wrong; the ways in are judged by `scenes.order`.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from functools import lru_cache
from importlib.resources import files
from typing import Any

import pytest

from geometry.reducer import Reducer
from scenes import order, procedure_file, rules
from scenes.examples import open_machine
from scenes.explain import Explainer
from scenes.procedure import Procedure
from scenes.rules import Breach, Job
from scenes.wording import text
from tests.scenes.orders import changed, left_out, moved, swapped
from tests.scenes.test_whole import machine

MACHINES = ("millrace", "slipway")


@lru_cache
def job(name: str) -> tuple[Reducer, Procedure]:
    explainer = Explainer(open_machine(name)[0])
    return explainer.reducer(explainer.start_settings()), explainer.procedure


def broken(name: str, wrong: Procedure, **more: Any) -> tuple[Breach, ...]:
    return rules.breaches(Job(job(name)[0], wrong, **more))


def shown(found: tuple[Breach, ...]) -> list[tuple[str, str, str]]:
    return [(breach.rule, breach.step, breach.part) for breach in found]


@pytest.mark.parametrize("wired", [True, False])
@pytest.mark.parametrize("name", MACHINES)
def test_the_shipped_orders_break_no_rule(name: str, wired: bool) -> None:
    explainer = Explainer(machine(name, wired))
    assert [breach.text for breach in rules.breaches(explainer.job(explainer.start_settings()))] == []


# ---- every two neighbours changed over -------------------------------------------------------------------------------

HARMLESS = "harmless"
WAY = "way"
"""The way in is barred: found by geometry, the part that can't come is named."""

SWAPS: dict[str, tuple[str, str]] = {
    "make_safe": ("safe_first", "zero_energy"),
    "inspect": (HARMLESS, "a bare shaft may stand on the bench while parts are inspected"),
    "ls_shaft_stand": ("supported", "gear_key"),
    "gear_key": (WAY, "gear_key"),
    "gear_hot": ("shoulder", "gear"),
    "gear_feeler": ("shoulder", "gear"),
    "gear_spacer": (WAY, "gear_spacer"),
    "lower_inner_ring": (WAY, "lower_bearing_inner"),
    "lower_thrower": (WAY, "lower_thrower"),
    "lower_nut": ("locked", "lower_locknut"),
    "lower_tab": ("turned_over", "low_speed_shaft"),
    "turn_over": (HARMLESS, "another bench"),
    "carrier_stand": ("supported", "lower_bearing_outer_ring"),
    "lower_outer_ring": (WAY, "lower_bearing_outer_ring"),
    "lower_retainer": ("lock_after_torque", "lower_retainer_wire"),
    "lower_retainer_wire": (HARMLESS, "another bench"),
    "case_stand": ("supported", "carrier"),
    "carrier_in": (WAY, "carrier"),
    "carrier_screws": (HARMLESS, "packers stand clear of the carrier's screws"),
    "packers": ("carried", "low_speed_shaft"),
    "shaft_down": (HARMLESS, "another bench"),
    "hs_shaft_stand": ("supported", "pinion_key"),
    "pinion_key": (HARMLESS, "key and inner ring sit on seats of their own"),
    "inner_inner_ring": ("followed_up", "pinion"),
    "pinion_hot": (WAY, "pinion"),
    "pinion_nut": ("followed_up", "pinion"),
    "pinion_feeler": ("shoulder", "pinion"),
    "pinion_tab": (HARMLESS, "another bench"),
    "cartridge_stand": ("supported", "inner_bearing_outer_ring"),
    "inner_outer_ring": (WAY, "inner_bearing_outer_ring"),
    "inner_retainer": ("lock_after_torque", "inner_retainer_wire"),
    "inner_retainer_wire": ("locked", "inner_retainer_screw"),
    "shaft_into_cartridge": ("supported", "high_speed_sleeve"),
    "hs_sleeve": (WAY, "high_speed_sleeve"),
    "hs_bearing_1": (WAY, "high_speed_bearing_1"),
    "hs_spacers": (WAY, "high_speed_inner_spacer"),
    "hs_bearing_2": ("seated", "high_speed_locknut"),
    "hs_nut": ("locked", "high_speed_locknut"),
    "hs_tab": (HARMLESS, "the pair is clamped; the tab can be bent after it has been turned"),
    "hs_turn": (HARMLESS, "the gasket lies on the flange while the shaft is turned"),
    "pinion_gasket": ("gasket_first", "pinion_gasket"),
    "cartridge_in": ("taken", "flange_gap"),
    "cartridge_screws": ("taken", "flange_gap"),
    "trial_close": ("trial", "trial_backlash"),
    "trial_read": ("trial", "trial_backlash"),
    "trial_open": ("trial", "sealant_bead"),
    "seal_bead": ("compound_first", "sealant_bead"),
    "upper_half": ("dowels_first", "dowel"),
    "dowels": ("dowels_first", "split_screw"),
    "split_screws": ("flange_free", "cartridge_screw"),
    "cartridge_draw_in": (HARMLESS, "another bench"),
    "hs_seal": (HARMLESS, "another bench"),
    "hs_float_gasket": ("gasket_first", "high_speed_float_gasket"),
    "hs_cover": ("taken", "high_speed_end_play"),
    "hs_end_play": (HARMLESS, "the gear gasket lies free on the upper half"),
    "gear_gasket": ("gasket_first", "gear_gasket"),
    "ls_cartridge": (WAY, "low_speed_cartridge"),
    "ls_bearing_1": (WAY, "low_speed_bearing_1"),
    "ls_spacers": (WAY, "low_speed_inner_spacer"),
    "ls_bearing_2": ("seated", "low_speed_locknut"),
    "ls_nut": ("locked", "low_speed_locknut"),
    "ls_tab": (HARMLESS, "the nut carries the shaft; tab and packers are far apart"),
    "packers_out": (HARMLESS, "another bench"),
    "ls_seal": (HARMLESS, "another bench"),
    "ls_float_gasket": ("gasket_first", "low_speed_float_gasket"),
    "ls_cover": ("taken", "low_speed_end_play"),
    "ls_end_play": ("plays_first", "backlash"),
    "backlash": (HARMLESS, "both are read in the same state"),
    "pattern": (HARMLESS, "both turn the closed machine by hand"),
    "turn_pair": (HARMLESS, "the pump does not stop the pair from being turned"),
    "pump": (HARMLESS, "pump and plates are apart"),
    "plates": (HARMLESS, "plates and plugs are apart"),
    "plugs": (HARMLESS, "plugs and keys are apart"),
    "coupling_keys": ("run_last", "high_speed_coupling_key"),
}
"""Each step done after its next neighbour instead of before it: the rule that stops it and what it names, or why it may be."""


@pytest.mark.parametrize("step", SWAPS)
@pytest.mark.parametrize("name", MACHINES)
def test_two_neighbours_changed_over_are_caught_or_harmless(name: str, step: str) -> None:
    reducer, full = job(name)
    wrong = swapped(full, full.order.index(step))
    rule, part = SWAPS[step]
    found = broken(name, wrong)
    if rule in rules.RULES:
        assert (rule, part) in [(breach.rule, breach.part) for breach in found], shown(found)
        return
    ways = [path.item for path in order.prove(reducer, wrong, pitch=order.QUICK).blocked]
    if rule == WAY:
        assert part in ways
    else:
        assert (shown(found), ways) == ([], [])


@pytest.mark.parametrize("name", MACHINES)
def test_every_neighbour_has_its_line_in_the_table(name: str) -> None:
    assert tuple(SWAPS) == job(name)[1].order[:-1]


# ---- every step and every part left out ------------------------------------------------------------------------------

ACTS = {
    "make_safe": ("safe_first", "zero_energy"),
    "inspect": ("inspected", "gear_key"),
    "gear_feeler": ("shoulder", "gear"),
    "lower_tab": ("locked", "lower_locknut"),
    "turn_over": ("turned_over", "low_speed_shaft"),
    "packers": ("carried", "low_speed_shaft"),
    "pinion_feeler": ("shoulder", "pinion"),
    "pinion_tab": ("locked", "pinion_locknut"),
    "hs_tab": ("locked", "high_speed_locknut"),
    "hs_turn": ("turned_by_hand", "high_speed_bearing_1"),
    "cartridge_screws": ("taken", "flange_gap"),
    "trial_close": ("trial", "trial_backlash"),
    "trial_read": ("trial", "trial_backlash"),
    "trial_open": ("trial", "trial_backlash"),
    "hs_end_play": ("taken", "high_speed_end_play"),
    "ls_tab": ("locked", "low_speed_locknut"),
    "packers_out": ("complete", "packer"),
    "ls_end_play": ("taken", "low_speed_end_play"),
    "backlash": ("taken", "backlash"),
    "pattern": ("taken", "pattern"),
    "turn_pair": ("turned_by_hand", "pinion"),
    "oil_first_run": ("run_last", "first_run"),
}
"""Steps that bring nothing for good: what is missed when they are left out."""


def words(reducer: Reducer, item: str) -> str:
    """The name that a fitter reads for a part of this item."""
    part = reducer.by_name[reducer.members(item)[0]]
    return text(part.wording, count=len(reducer.members(item)))


@pytest.mark.parametrize("name", MACHINES)
def test_every_step_left_out_is_missed(name: str) -> None:
    reducer, full = job(name)
    for step in full.order:
        found = broken(name, left_out(full, step))
        if step in ACTS:
            assert ACTS[step] in [(breach.rule, breach.part) for breach in found], (step, shown(found))
            continue
        told = " ".join(breach.text for breach in found if breach.rule == "complete")
        brings = full.steps[step]
        assert all(words(reducer, item) in told for item in brings.arrives), (step, told)
        assert not brings.merges or f'"{brings.merges}"' in told, (step, told)


@pytest.mark.parametrize("name", MACHINES)
def test_every_part_left_out_is_missed(name: str) -> None:
    reducer, full = job(name)
    for step in full.steps.values():
        for item in step.arrives if len(step.arrives) > 1 else ():
            found = broken(name, changed(full, step.id, arrives=tuple(other for other in step.arrives if other != item)))
            rule = "trial" if step.optional else "complete"
            assert any(breach.rule == rule and words(reducer, item) in breach.text for breach in found), (
                step.id,
                item,
                shown(found),
            )


# ---- wrong orders, at least two of a kind ----------------------------------------------------------------------------

Wrong = Callable[[Procedure], Procedure]


def late(step: str, after: str) -> Wrong:
    return lambda full: moved(full, step, after=after)


def early(step: str, before: str) -> Wrong:
    return lambda full: moved(full, step, before=before)


def turned(step: str, *items: str) -> Wrong:
    return lambda full: changed(full, step, turned=items)


def done_by(step: str, method: str) -> Wrong:
    return lambda full: changed(full, step, method=method)


def without(field: str, step: str, item: str) -> Wrong:
    """A tool, oil or reading left out of a step."""
    return lambda full: changed(full, step, **{field: tuple(other for other in getattr(full.steps[step], field) if other != item)})


def given_over(item: str, step: str, to: str) -> Wrong:
    """A part brought in another step."""

    def edit(full: Procedure) -> Procedure:
        less = changed(full, step, arrives=tuple(other for other in full.steps[step].arrives if other != item))
        side = full.steps[to].side or {item: full.steps[step].side[item]}
        return changed(less, to, arrives=(*full.steps[to].arrives, item), side=next(iter(side.values())))

    return edit


def exchanged(first: str, second: str) -> Wrong:
    """Two steps that bring each other's parts."""

    def edit(full: Procedure) -> Procedure:
        one, two = full.steps[first], full.steps[second]
        half = changed(full, first, arrives=two.arrives, side=next(iter(one.side.values())))
        return changed(half, second, arrives=one.arrives, side=next(iter(two.side.values())))

    return edit


WRONG: list[tuple[str, Wrong, str, str, str]] = [
    # missing lock, lock too late, lock too early
    ("wire after the shaft covers it", late("inner_retainer_wire", "shaft_into_cartridge"), "locked", "inner_retainer_wire", "inner_retainer_screw"),
    ("tab after the cover", late("hs_tab", "hs_cover"), "locked", "hs_tab", "high_speed_locknut"),
    ("low tab after its cover", late("ls_tab", "ls_cover"), "locked", "ls_tab", "low_speed_locknut"),
    ("carrier wire after the gear", given_over("carrier_wire", "carrier_screws", "gear_gasket"), "locked", "gear_gasket", "carrier_screw"),
    ("wire moved to the lowering step", given_over("lower_retainer_wire", "lower_retainer_wire", "cartridge_in"), "locked", "cartridge_in", "lower_retainer_screw"),
    ("washer after its nut", given_over("high_speed_tab_washer", "hs_nut", "hs_tab"), "washer_first", "hs_tab", "high_speed_tab_washer"),
    ("low washer after its nut", given_over("low_speed_tab_washer", "ls_nut", "ls_tab"), "washer_first", "ls_tab", "low_speed_tab_washer"),
    ("nut without torque", without("tools", "ls_nut", "torque_wrench"), "torqued", "ls_nut", "low_speed_locknut"),
    ("split screws without torque", without("tools", "split_screws", "torque_wrench"), "torqued", "split_screws", "split_screw"),
    ("nut before the pair is home", early("ls_nut", "ls_bearing_2"), "seated", "ls_nut", "low_speed_locknut"),
    ("high nut before the pair is home", early("hs_nut", "hs_bearing_1"), "seated", "hs_nut", "high_speed_locknut"),
    # gaskets
    ("float gaskets exchanged", exchanged("hs_float_gasket", "ls_float_gasket"), "gasket_place", "hs_float_gasket", "low_speed_float_gasket"),
    ("position gaskets exchanged", exchanged("pinion_gasket", "gear_gasket"), "gasket_place", "pinion_gasket", "gear_gasket"),
    ("gear gasket after its cartridge", late("gear_gasket", "ls_bearing_1"), "gasket_first", "gear_gasket", "gear_gasket"),
    ("float gasket after its cover", late("hs_float_gasket", "backlash"), "gasket_first", "hs_float_gasket", "high_speed_float_gasket"),
    ("gasket holes turned away", turned("pinion_gasket", "pinion_gasket"), "ports", "pinion_gasket", "pinion_gasket"),
    ("cartridge port turned away", turned("cartridge_stand", "cartridge"), "ports", "cartridge_stand", "cartridge"),
    ("retainer port turned away", turned("lower_retainer", "lower_retainer"), "ports", "lower_retainer", "lower_retainer"),
    # bearings
    ("first bearing turned", turned("hs_bearing_1", "high_speed_bearing_1"), "pair_faces", "hs_bearing_1", "high_speed_bearing_1"),
    ("upper bearing turned", turned("ls_bearing_2", "low_speed_bearing_2"), "pair_faces", "ls_bearing_2", "low_speed_bearing_2"),
    ("roller ring turned", turned("inner_outer_ring", "inner_bearing_outer_ring"), "faces", "inner_outer_ring", "inner_bearing_outer_ring"),
    ("gear turned", turned("gear_hot", "gear"), "faces", "gear_hot", "gear"),
    ("seal turned", turned("hs_seal", "high_speed_seal"), "faces", "hs_seal", "high_speed_seal"),
    ("roller bearing dry", without("oils", "shaft_into_cartridge", "inner_bearing_inner"), "oiled", "shaft_into_cartridge", "inner_bearing_inner"),
    ("pair dry", without("oils", "ls_nut", "low_speed_bearing_2"), "oiled", "ls_cover", "low_speed_bearing_2"),
    ("seal over a bare keyway", without("tools", "hs_cover", "sleeve_protector"), "lip_guarded", "hs_cover", "high_speed_seal"),
    ("low seal over a bare keyway", without("tools", "ls_cover", "sleeve_protector"), "lip_guarded", "ls_cover", "low_speed_seal"),
    ("pair turned before it is clamped", early("hs_turn", "hs_nut"), "turned_by_hand", "cartridge_in", "high_speed_bearing_1"),
    ("low pair not turned", without("reads", "packers_out", "free_turning"), "turned_by_hand", "ls_cover", "low_speed_bearing_1"),
    ("unit hoisted without keeper", without("tools", "hs_turn", "keeper_bar"), "kept", "cartridge_in", "high_speed_bearing_2"),
    # hot fits and force
    ("gear driven on cold", done_by("gear_hot", "soft_drift"), "method_fits", "gear_hot", "gear"),
    ("pinion pressed", done_by("pinion_hot", "press"), "method_fits", "pinion_hot", "pinion"),
    ("bearing driven", done_by("hs_bearing_1", "soft_drift"), "method_fits", "hs_bearing_1", "high_speed_bearing_1"),
    ("hot bearing into a housing", done_by("ls_bearing_1", "hot"), "method_fits", "ls_bearing_1", "low_speed_bearing_1"),
    ("pressed inside the case", done_by("ls_bearing_2", "press"), "reacted", "ls_bearing_2", "low_speed_bearing_2"),
    ("no puller", without("tools", "hs_bearing_2", "draw_tool"), "reacted", "hs_bearing_2", "high_speed_bearing_2"),
    ("no blocks under the carrier", without("tools", "carrier_stand", "blocks"), "reacted", "lower_outer_ring", "lower_bearing_outer_ring"),
    ("force through the balls", without("tools", "ls_bearing_1", "both_rings_plate"), "through_ring", "ls_bearing_1", "low_speed_bearing_1"),
    ("hot bore not measured", without("reads", "gear_hot", "bore_clearance"), "hot_bore", "gear_hot", "gear"),
    ("spacer on before the feeler", late("gear_feeler", "gear_spacer"), "shoulder", "gear_spacer", "gear"),
    ("ring on while the pinion cools", late("inner_inner_ring", "pinion_hot"), "followed_up", "inner_inner_ring", "pinion"),
    # packers
    ("packers out before the nut", early("packers_out", "ls_nut"), "carried", "packers_out", "packer"),
    ("shaft down without packers", late("packers", "shaft_down"), "carried", "shaft_down", "low_speed_shaft"),
    ("packers not counted in", without("reads", "packers", "packers_in"), "counted", "packers", "packer"),
    ("packers not counted out", without("reads", "packers_out", "packers_out"), "counted", "packers_out", "packer"),
    ("packers shut in", late("packers_out", "plates"), "counted", "packers_out", "packer"),
    # closing
    ("compound after the halves met", late("seal_bead", "split_screws"), "compound_first", "seal_bead", "sealant_bead"),
    ("compound before the dry trial", early("seal_bead", "trial_close"), "trial", "seal_bead", "sealant_bead"),
    ("dry trial without dowels", lambda full: changed(full, "trial_close", arrives=("upper_case",)), "trial", "trial_close", "dowel"),
    ("dowels after torque", late("dowels", "cartridge_draw_in"), "dowels_first", "split_screws", "split_screw"),
    ("dowels before the half", early("dowels", "upper_half"), "dowels_first", "dowels", "dowel"),
    ("cartridge tight before the split", early("cartridge_draw_in", "dowels"), "flange_free", "cartridge_draw_in", "cartridge_screw"),
    ("cartridge tight at once", early("cartridge_draw_in", "trial_close"), "flange_free", "cartridge_draw_in", "cartridge_screw"),
    # readings
    ("backlash after the plates", late("backlash", "plates"), "taken", "backlash", "backlash"),
    ("pattern after the plates", late("pattern", "plates"), "taken", "pattern", "pattern"),
    ("flange gap after the upper half", late("cartridge_screws", "upper_half"), "taken", "cartridge_screws", "flange_gap"),
    ("end play before its cover", early("ls_end_play", "ls_cover"), "taken", "ls_end_play", "low_speed_end_play"),
    ("backlash before the end play", early("backlash", "ls_end_play"), "plays_first", "backlash", "backlash"),
    ("backlash without thermometer", without("tools", "backlash", "contact_thermometer"), "one_temperature", "backlash", "backlash"),
    # first and last
    ("made safe too late", late("make_safe", "gear_key"), "safe_first", "inspect", "zero_energy"),
    ("inspected too late", late("inspect", "gear_hot"), "inspected", "gear_key", "gear_key"),
    ("not turned over", late("turn_over", "shaft_down"), "turned_over", "shaft_down", "low_speed_shaft"),
    ("key on no shaft", early("gear_key", "ls_shaft_stand"), "supported", "gear_key", "gear_key"),
    ("brought twice", lambda full: changed(full, "gear_spacer", arrives=("gear_spacer", "gear"), side="-z"), "complete", "gear_spacer", "gear"),
    ("run before the plugs", early("oil_first_run", "plugs"), "run_last", "plugs", "drain_plug"),
    ("not retorqued", without("reads", "oil_first_run", "cartridge_screw"), "retorque", "oil_first_run", "cartridge_screw"),
    ("wire before its screws", early("lower_retainer_wire", "lower_retainer"), "lock_after_torque", "lower_retainer_wire", "lower_retainer_wire"),
    # the split and the compound on it
    ("low-speed pair on a loose half", late("split_screws", "ls_tab"), "split_tight", "ls_bearing_1", "low_speed_bearing_1"),
    ("dowels forgotten until the pair is in", late("dowels", "ls_bearing_2"), "split_tight", "ls_bearing_1", "low_speed_bearing_1"),
    ("gear position read on a loose half", late("split_screws", "ls_end_play"), "split_tight", "ls_end_play", "gear_distance"),
    ("end play read on a loose half", late("split_screws", "ls_end_play"), "split_tight", "ls_end_play", "low_speed_end_play"),
    ("pump fitted on open compound", early("pump", "upper_half"), "open_time", "pump", "sealant_bead"),
    ("low-speed cartridge before the split is tight", early("ls_cartridge", "split_screws"), "open_time", "ls_cartridge", "sealant_bead"),
    ("split tightened at the end", late("split_screws", "pump"), "open_time", "cartridge_draw_in", "sealant_bead"),
    ("running pinion read backed off", late("cartridge_draw_in", "hs_end_play"), "drawn_in", "hs_end_play", "pinion_running"),
    ("no dab at the gasket", without("consumables", "cartridge_draw_in", "sealing_compound"), "dabbed", "cartridge_draw_in", "cartridge_screw"),
    # weight, heat and hands
    ("gear held up from below", lambda full: changed(full, "gear_hot", up="+z"), "from_below", "gear_hot", "gear"),
    ("shaft the other way up without a turn", lambda full: changed(full, "gear_hot", up="+z"), "turned_over", "gear_hot", "low_speed_shaft"),
    ("hot gear without gloves", without("tools", "gear_hot", "heat_gloves"), "hot_held", "gear_hot", "gear"),
    ("hot ring without gloves", without("tools", "lower_inner_ring", "heat_gloves"), "hot_held", "lower_inner_ring", "lower_bearing_inner"),
    ("hot gear on synthetic slings", lambda full: changed(full, "gear_hot", tools=("induction_heater", "contact_thermometer", "bore_gauge", "heat_gloves", "hoist", "rated_slings", "clamp_bar")), "hot_held", "gear_hot", "gear"),
    ("shaft lowered by hand", without("tools", "shaft_down", "hoist"), "tackle", "shaft_down", "low_speed_shaft"),
    ("shaft turned over by hand", without("tools", "turn_over", "hoist"), "tackle", "turn_over", "low_speed_shaft"),
    ("upper half set down by hand", without("tools", "upper_half", "hoist"), "tackle", "upper_half", "upper_case"),
    ("upper half set down by hand in the trial", without("tools", "trial_close", "hoist"), "tackle", "trial_close", "upper_case"),
    ("dry seal lips", lambda full: changed(changed(full, "ls_seal", consumables=()), "ls_cover", consumables=()), "lip_oiled", "ls_cover", "low_speed_seal"),
    ("dry high-speed lip", lambda full: changed(changed(full, "hs_seal", consumables=()), "hs_cover", consumables=()), "lip_oiled", "hs_cover", "high_speed_seal"),
]  # fmt: skip

WATCHED: list[tuple[str, Wrong, str, str, str]] = [
    ("no clamp bar on the hot gear", without("tools", "gear_hot", "clamp_bar"), "clamped_home", "gear_hot", "gear"),
    ("first bearing not oiled", without("oils", "hs_spacers", "high_speed_bearing_1"), "oiled_between", "hs_bearing_2", "high_speed_bearing_1"),
    ("first low bearing not oiled", without("oils", "ls_spacers", "low_speed_bearing_1"), "oiled_between", "ls_bearing_2", "low_speed_bearing_1"),
    ("seal pressed in while the compound waits", early("hs_seal", "upper_half"), "open_time", "hs_seal", "sealant_bead"),
    ("gasket laid before the split is tight", early("gear_gasket", "dowels"), "open_time", "gear_gasket", "sealant_bead"),
    ("dry trial left out", lambda full: left_out(left_out(left_out(full, "trial_close"), "trial_read"), "trial_open"), "trial", "seal_bead", "trial_backlash"),
]  # fmt: skip
"""Orders that stand, with what must be told at the step all the same."""


@pytest.mark.parametrize(("wrong", "rule", "step", "part"), [row[1:] for row in WRONG], ids=[row[0] for row in WRONG])
@pytest.mark.parametrize("name", MACHINES)
def test_a_wrong_order_is_caught_with_rule_step_and_part(name: str, wrong: Wrong, rule: str, step: str, part: str) -> None:
    full = job(name)[1]
    found = broken(name, wrong(full))
    assert (rule, step, part) in shown(found), shown(found)
    told = next(breach for breach in found if (breach.rule, breach.step, breach.part) == (rule, step, part))
    assert told.text and "{" not in told.text and "_" not in told.text, told.text
    assert told.level == "stop"


@pytest.mark.parametrize(("wrong", "rule", "step", "part"), [row[1:] for row in WATCHED], ids=[row[0] for row in WATCHED])
@pytest.mark.parametrize("name", MACHINES)
def test_what_is_only_watched_is_told_and_nothing_else(name: str, wrong: Wrong, rule: str, step: str, part: str) -> None:
    found = broken(name, wrong(job(name)[1]))
    assert [(breach.rule, breach.step, breach.part, breach.level) for breach in found] == [(rule, step, part, "watch")]
    assert "{" not in found[0].text and "_" not in found[0].text, found[0].text


def test_every_rule_has_a_wrong_order_that_breaks_it_a_reason_and_a_source() -> None:
    assert {row[2] for row in (*WRONG, *WATCHED)} == set(rules.RULES)
    for listed in rules.listing():
        assert len(listed["reason"]) > 20 and listed["source"]


@pytest.mark.parametrize("name", MACHINES)
def test_a_changed_gasket_asks_for_a_dry_trial(name: str) -> None:
    full = job(name)[1]
    assert broken(name, full, changed=("gear_gasket",)) == ()
    for step in ("trial_close", "trial_read", "trial_open"):
        full = left_out(full, step)
    told = broken(name, full)
    assert [(breach.rule, breach.step, breach.level) for breach in told] == [("trial", "seal_bead", "watch")]
    assert told[0].text.endswith("dry trial left out: right only if nothing in the chains changed.")
    found = broken(name, full, changed=("gear_gasket",))
    assert [(breach.rule, breach.part, breach.level) for breach in found] == [("trial", "gear_gasket", "stop")]


@pytest.mark.parametrize("name", MACHINES)
def test_the_end_play_alone_may_be_read_before_the_cartridge_is_drawn_in(name: str) -> None:
    full = moved(job(name)[1], "cartridge_draw_in", after="hs_end_play")
    assert shown(broken(name, full)) == [("drawn_in", "hs_end_play", "pinion_running")]
    assert shown(broken(name, changed(full, "hs_end_play", reads=("high_speed_end_play",)))) == []


@pytest.mark.parametrize("name", MACHINES)
def test_a_low_speed_pair_on_a_loose_half_is_told_in_the_words_of_the_bench(name: str) -> None:
    found = broken(name, moved(job(name)[1], "split_screws", after="ls_tab"))
    (told,) = [breach.text for breach in found if breach.rule == "split_tight"]
    assert (
        "before dowels and split screws are in and tight: the halves are not yet in line, and the shaft hangs on a loose half."
        in told
    )


@pytest.mark.parametrize("name", MACHINES)
def test_a_bench_stood_anew_on_blocks_has_been_turned(name: str) -> None:
    """Jaws, stands and blocks say that the bench was set up again; without them nothing turned the shaft."""
    full = job(name)[1]
    free = changed(full, "turn_over", method="measure", tools=("feeler",))
    assert ("turned_over", "turn_over", "low_speed_shaft") in shown(broken(name, free))
    stood = changed(full, "turn_over", method="measure", tools=("blocks",))
    assert ("turned_over", "turn_over", "low_speed_shaft") not in shown(broken(name, stood))


@pytest.mark.parametrize("name", MACHINES)
def test_what_comes_from_below_with_its_screws_stays_up(name: str) -> None:
    """The pump comes from below and brings its screws; given to another step it falls."""
    full = job(name)[1]
    assert full.steps["pump"].side["oil_pump"] == "-z" and broken(name, full) == ()
    loose = changed(full, "pump", arrives=("pump_gasket", "oil_pump"))
    assert ("from_below", "pump", "oil_pump") in shown(broken(name, loose))


@pytest.mark.parametrize("name", MACHINES)
def test_a_hot_fit_that_its_numbers_forbid_is_caught(name: str) -> None:
    explainer = Explainer(open_machine(name)[0])
    cold = explainer.with_(explainer.start_settings(), heater=45.0)
    found = rules.breaches(explainer.job(cold))
    assert ("method_fits", "gear_hot", "gear") in shown(found) and ("method_fits", "pinion_hot", "pinion") in shown(found)


# ---- a planner's own steps -------------------------------------------------------------------------------------------


def renamed(edit: Callable[[list[str]], None] = lambda order: None) -> Procedure:
    """The shipped order with every step under an id, a title and a reason of the planner's own."""
    data = tomllib.loads(files("scenes").joinpath("procedures", procedure_file.SHIPPED).read_text(encoding="utf-8"))
    order = [f"own_{name}" for name in data["order"]]
    edit(order)
    tables = {
        f"own_{name}": {**table, "title": f"Own {number}", "why": "because"}
        for number, (name, table) in enumerate(data["step"].items())
    }
    return procedure_file.read({"order": order, "step": {name: tables[name] for name in order}}, "own.toml")


def test_rules_look_at_parts_and_acts_and_not_at_the_names_of_steps() -> None:
    assert [breach.text for breach in broken("millrace", renamed())] == []

    def dowels_last(order: list[str]) -> None:
        order.remove("own_dowels")
        order.insert(order.index("own_split_screws") + 1, "own_dowels")

    assert ("dowels_first", "own_split_screws", "split_screw") in shown(broken("millrace", renamed(dowels_last)))
    assert ("locked", "own_hs_cover", "high_speed_locknut") in shown(
        broken("millrace", renamed(lambda order: order.remove("own_hs_tab")))
    )
