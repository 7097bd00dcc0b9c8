"""The notes of every step: each traces to a formula and a source, judges what the trade judges, and speaks one unit system."""

from __future__ import annotations

import copy
import re
import tomllib
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from importlib.resources import files
from math import pi
from typing import Any

import pytest

from geometry.machine import MachineError, accept
from scenes.examples import EXAMPLES, open_machine
from scenes.explain import Explainer
from scenes.frame import Callout
from scenes.step_frame import step_text
from scenes.wording import text


def tables(name: str = "millrace") -> dict[str, Any]:
    return copy.deepcopy(tomllib.loads(files("scenes").joinpath("machines", f"{name}.toml").read_text(encoding="utf-8")))


@cache
def explainer(name: str) -> Explainer:
    return Explainer(*open_machine(name))


def notes(made: Explainer, step: str, **settings: Any) -> dict[str, Callout]:
    now = made.with_(made.start_settings(), step=step, **settings)
    return {note.key: note for note in made.callouts(now, step)}


def every(name: str, units: str = "") -> Iterator[tuple[str, Callout]]:
    made = explainer(name)
    now = made.start_settings()
    now = replace(now, units=units) if units else now  # type: ignore[arg-type]
    for step in made.procedure.order:
        for note in made.callouts(now, step):
            yield step, note


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_figure_traces_to_a_formula_its_inputs_and_a_source(name: str) -> None:
    bare = [(step, note.key) for step, note in every(name) if not (note.formula and note.inserted and note.source)]
    assert bare == []


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_step_tells_no_figure_twice(name: str) -> None:
    made = explainer(name)
    for step in made.procedure.order:
        keys = [note.key for note in made.callouts(made.start_settings(), step)]
        assert len(keys) == len(set(keys)), step


@pytest.mark.parametrize("name", EXAMPLES)
@pytest.mark.parametrize(("units", "foreign"), [("inch", r"\d (mm|°C|kg|N·m|kN|MPa)\b"), ("mm", r"\d (in|°F|lb|lbf|psi)\b")])
def test_figures_speak_one_unit_system(name: str, units: str, foreign: str) -> None:
    mixed = [
        (step, note.key, text)
        for step, note in every(name, units)
        for text in (note.text, note.short, note.limit)
        if re.search(foreign, text)
    ]
    assert mixed == []


@pytest.mark.parametrize("name", EXAMPLES)
def test_shipped_machines_are_without_a_stop(name: str) -> None:
    assert [(step, note.key) for step, note in every(name) if note.verdict == "stop"] == []


@pytest.mark.parametrize(
    ("section", "field", "fit", "step", "key"),
    [
        ("low_speed_shaft", "gear_seat", "c11", "gear_hot", "fit.gear_bore"),
        ("high_speed_shaft", "bearing_seat", "c11", "hs_bearing_1", "fit.high_speed_bearing_1_bore"),
        ("high_speed_cartridge", "pair_seat", "S7", "hs_bearing_1", "fit.high_speed_bearing_1_outside"),
        ("high_speed_cartridge", "body", "p6", "cartridge_in", "fit.cartridge_body"),
    ],
)
def test_a_fit_that_ruins_the_job_is_stopped(section: str, field: str, fit: str, step: str, key: str) -> None:
    # A keyed gear and a turning ring must be tight, an outer ring must not be squeezed, a cartridge must slide: common practice, no source.
    data = tables()
    data[section][field]["fit"] = fit
    found = notes(Explainer(accept(data)), step)
    assert found[key].verdict == "stop", sorted(found)


def test_overtightened_screws_and_too_short_ones_are_stopped() -> None:
    data = tables()
    data["high_speed_cartridge"]["screws"] |= {"torque": "110 N m", "length": "33 mm"}
    found = notes(Explainer(accept(data)), "cartridge_draw_in")
    # M12 class 8.8 at friction 0.10: 90 % of yield is passed well below 110 N·m (VDI 2230-1 tables print about 73 N·m at 0.10).
    assert found["screws.cartridge_screw"].verdict == "stop"
    assert found["screws.cartridge_screw.thread"].verdict == "stop"


def test_the_fit_of_the_gear_holds_what_lame_says() -> None:
    # Lamé with one material, solid shaft: p = E I / (2 d) (1 - d² / D²); T = pi d² / 2 L mu p (textbook form, Shigley 9e eq. 3-56).
    made = explainer("millrace")
    found = notes(made, "gear_hot")
    # Smoothing takes 0.8 (Rz + Rz) of it (DIN 7190-1): 4 and 6.3 um stated in the machine file.
    tight, d, outside, grip = 0.036 - 0.8 * (0.004 + 0.0063), 90.0, 132.0, 68.0
    pressure = 206000.0 * tight / (2.0 * d) * (1.0 - d**2 / outside**2)
    torque = pi * d**2 / 2.0 * grip * 0.14 * pressure / 1000.0
    assert found["hold.gear_bore.torque"].value == pytest.approx(torque, rel=0.02)


def test_a_press_too_small_for_the_ring_is_stopped() -> None:
    data = tables()
    force = notes(Explainer(accept(data)), "hs_bearing_1")["press.high_speed_bearing_1_bore"]
    # p = E I / (2 d) (1 - d² / F²), F = pi d L mu p: I 0.030 mm, d 60, drawn raceway 71.4, L 21.98, mu 0.15.
    pressure = 206000.0 * 0.030 / 120.0 * (1.0 - 60.0**2 / 71.36**2)
    assert force.value == pytest.approx(pi * 60.0 * 21.98 * 0.15 * pressure, rel=0.02) and force.verdict == "fine"
    data["shop"]["press_capacity"] = "5 kN"
    assert notes(Explainer(accept(data)), "hs_bearing_1")["press.high_speed_bearing_1_bore"].verdict == "watch"
    data["high_speed_shaft"]["bearing_seat"]["fit"] = "n6"
    data["shop"]["press_capacity"] = "1 kN"
    assert notes(Explainer(accept(data)), "hs_bearing_1")["press.high_speed_bearing_1_bore"].verdict == "stop"


def test_a_heavy_gear_is_sent_to_the_oven() -> None:
    data = tables()
    data["shop"]["heater_largest_mass"] = "20 kg"
    heater = notes(Explainer(accept(data)), "gear_hot")["heat.gear_bore.heater"]
    assert heater.verdict == "watch" and "oven" in heater.text and heater.value > 1800.0


def test_an_oven_is_among_the_tools_and_its_air_is_told_apart_from_the_bore() -> None:
    """Slipway's gear, 24 lb, on a heater for 18 lb. Set to 139 degC (282 °F); the air 10 K above, but 5 K under the limit of 300 °F at most."""
    made = explainer("slipway")
    now = made.with_(made.start_settings(), step="gear_hot")
    stage = made.stage(now)
    heated = {name: stage.tools(step)[:2] for name, step in made.procedure.steps.items() if step.method == "hot"}
    assert [name for name, tools in heated.items() if "oven" in tools] == ["gear_hot"]
    assert [name for name, tools in heated.items() if "induction_heater" in tools] == [
        name for name in heated if name != "gear_hot"
    ]
    words = step_text(stage, made.procedure.steps["gear_hot"]).tools
    assert text("tool.oven") in words and text("tool.induction_heater") not in words
    told = {
        setting: notes(made, "gear_hot", heater=(setting - 32.0) / 1.8, units="inch")["heat.gear_bore.heater"]
        for setting in (266.0, 282.0, 295.0, 320.0)
    }
    assert "oven at 284 °F: air 18 °F over the 266 °F wanted in the bore" in told[266.0].text
    assert "oven at 291 °F: air 9 °F over the 282 °F wanted in the bore" in told[282.0].text
    assert "take it out at a measured 282 °F" in told[282.0].text
    assert "oven at 295 °F, no hotter" in told[295.0].text and "air" not in told[295.0].text
    assert "no oven at 320 °F either" in told[320.0].text
    assert [note.verdict for note in told.values()] == ["watch", "watch", "watch", "stop"]


def test_the_heater_needs_mass_times_heat_times_rise() -> None:
    # E = m c dT, t = E / (share x power): 460 J/(kg K), 3.6 kW, 75 %, from 20 °C, plus 60 s of hold.
    made = explainer("millrace")
    found = notes(made, "gear_hot", heater=120.0)
    weight = found["lift.mass"].value
    assert found["heat.gear_bore.heater"].value == pytest.approx(weight * 460.0 * 100.0 / (0.75 * 3600.0) + 60.0, rel=0.01)


def test_a_sling_below_thirty_degrees_is_refused_and_an_overloaded_one_stopped() -> None:
    flat, low, weak = tables(), tables(), tables()
    flat["shop"]["sling_angle"] = "25 deg"
    with pytest.raises(MachineError, match="sling_angle = '25 deg': accepted: 30"):
        accept(flat)
    low["shop"]["sling_angle"] = "40 deg"
    assert notes(Explainer(accept(low)), "case_stand")["lift.legs"].verdict == "watch"
    weak["shop"]["sling_rating"] = "20 kg"
    assert notes(Explainer(accept(weak)), "case_stand")["lift.legs"].verdict == "stop"


def test_one_eye_carries_all_of_a_shaft_that_hangs_plumb() -> None:
    found = notes(explainer("millrace"), "shaft_down")
    assert found["lift.legs"].value == pytest.approx(found["lift.mass"].value * 1.1 * 9.80665, rel=1e-6)


def test_four_legs_count_as_two() -> None:
    data = tables()
    two = notes(Explainer(accept(data)), "case_stand")["lift.legs"].value
    data["shop"]["sling_legs"] = 4
    assert notes(Explainer(accept(data)), "case_stand")["lift.legs"].value == pytest.approx(two)


def test_unequal_spacers_change_the_pair_and_too_much_is_stopped() -> None:
    data = tables()
    data["high_speed_pair"]["inner_spacer"] = "9.98 mm"
    found = notes(Explainer(accept(data)), "hs_bearing_2")["pair.high_speed.play"]
    # Back-to-back: the inner rings are clamped together, a shorter inner spacer takes play away.
    assert found.value == pytest.approx(-0.02, abs=1e-6) and found.verdict == "stop"
    for spacer, verdict in (("9.995 mm", "watch"), ("10.03 mm", "fine"), ("10.1 mm", "stop")):
        data["high_speed_pair"]["inner_spacer"] = spacer
        assert notes(Explainer(accept(data)), "hs_bearing_2")["pair.high_speed.play"].verdict == verdict


def test_a_thicker_float_gasket_gives_more_end_play_and_a_hotter_ring_more_clearance() -> None:
    made = explainer("millrace")
    plays = [
        notes(made, "hs_cover", gaskets={"high_speed_float_gasket": size})["chain.high_speed_end_play"].value
        for size in (0.5, 0.55, 0.6)
    ]
    gaps = [notes(made, "gear_hot", heater=heat)["heat.gear_bore.clearance"].value for heat in (80.0, 110.0, 140.0)]
    assert plays == sorted(plays) and plays[0] < plays[-1]
    assert gaps == sorted(gaps) and gaps[0] < gaps[-1]


def test_a_cover_that_clamps_the_rings_is_said_in_words_and_moves_nothing() -> None:
    found = notes(explainer("millrace"), "hs_cover", gaskets={"high_speed_float_gasket": 0.25})
    assert found["chain.high_speed_end_play"].verdict == "stop"
    assert "clamps" in found["chain.high_speed_end_play"].text
    set_at = notes(explainer("millrace"), "pinion_gasket")["chain.pinion_set"].value
    assert found["chain.pinion_running"].value == pytest.approx(set_at)


def test_the_gasket_chosen_from_stock_lands_in_the_middle_of_the_limits() -> None:
    found = notes(explainer("millrace"), "hs_float_gasket", gaskets={"high_speed_float_gasket": 0.6})
    needed = found["gasket.high_speed_float_gasket.choice"].value
    again = notes(explainer("millrace"), "hs_float_gasket", gaskets={"high_speed_float_gasket": needed})
    assert again["chain.high_speed_end_play"].value == pytest.approx(0.05, abs=1e-3)


def test_hot_ring_in_its_housing_follows_the_room() -> None:
    # Both grow from 20 °C: ring 12.5e-6 x 110 mm x 90 K less housing 11e-6 or so x 110 mm x (room - 20 K), whatever the room.
    made = explainer("millrace")
    cold = notes(made, "hs_bearing_1", ambient=-20.0)["fit.high_speed_bearing_1_bore.other_diameter"].value
    warm = notes(made, "hs_bearing_1", ambient=40.0)["fit.high_speed_bearing_1_bore.other_diameter"].value
    assert 0.05 < warm - cold < 0.09


def test_an_unmeasured_band_says_which_reading_would_narrow_it() -> None:
    chain = notes(explainer("slipway"), "pinion_gasket")["chain.pinion_running"]
    assert chain.verdict == "watch" and "Measure first: " in chain.text


@pytest.mark.parametrize("name", EXAMPLES)
@pytest.mark.parametrize("ambient", [-30.0, 5.0, 50.0])
def test_every_step_has_its_notes_in_any_workshop(name: str, ambient: float) -> None:
    made = explainer(name)
    for step in made.procedure.order:
        assert all(note.text for note in notes(made, step, ambient=ambient).values())


def test_without_stock_metal_leaves_are_chosen_and_do_not_give() -> None:
    data = tables()
    del data["gaskets"]["pinion_gasket"]["stock"]
    choice = notes(Explainer(accept(data)), "pinion_gasket")["gasket.pinion_gasket.choice"]
    # 0.45 mm clamped now, 0.013 mm too far out: a metal stack of 0.437 mm, not the free thickness of a fibre sheet.
    assert choice.value == pytest.approx(0.4372, abs=1e-3) and "leaves" in choice.source


def test_no_setting_comes_close_to_a_limit() -> None:
    for name in EXAMPLES:
        for step in ("gear_hot", "lower_inner_ring", "inner_inner_ring", "pinion_hot"):
            found = {key: note for key, note in notes(explainer(name), step).items() if key.endswith(".recommended")}
            limit = 150.0 if "hot" in step else 121.2
            assert all(note.value <= limit - 4.9 for note in found.values()), (name, step)


@pytest.mark.parametrize("system", ["mm", "inch"])
def test_the_torques_of_one_joint_are_told_in_one_unit(system: str) -> None:
    for name in EXAMPLES:
        for step, note in every(name, system):
            if note.key.startswith("screws."):
                told = set(re.findall(r"(?:lbf·in|lbf·ft|N·m)", f"{note.text} {note.short} {note.limit}"))
                assert len(told) <= 1, (name, step, note.text)


def test_an_inch_screw_is_told_by_its_inch_grade_and_its_passes_in_one_unit() -> None:
    found = notes(explainer("slipway"), "ls_cover", units="inch")
    order = found["screws.low_speed_cover_screw.order"].text
    # 30 %, 60 % and 100 % of 20 lbf·ft (ASME PCC-1, from memory)
    assert "6 lbf·ft, 12 lbf·ft, 20 lbf·ft" in order
    # SAE J429 grade 5: proof strength 85 kpsi
    assert "SAE J429 grade 5 (proof 85000 psi)" in found["screws.low_speed_cover_screw"].text


def test_an_inch_screw_of_which_no_grade_is_known_says_whose_strength_it_is_given() -> None:
    data = tables("slipway")
    del data["low_speed_cover"]["screws"]["property_class"]
    found = notes(Explainer(accept(data)), "ls_cover")
    assert "strength taken as ISO 898-1 class 8.8" in found["screws.low_speed_cover_screw"].text


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_hot_part_is_followed_up_by_what_holds_it(name: str) -> None:
    # the pinion has a locknut, the gear is clamped on the bench
    told = {step: note.text for step, note in every(name) if note.key.endswith(".shrink_back")}
    assert "with the nut" in told["pinion_hot"] and "clamp" not in told["pinion_hot"]
    assert "clamped until it is cold" in told["gear_hot"] and "retighten" not in told["gear_hot"]


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_time_in_hand_is_never_told_longer_than_it_is_nor_to_the_second(name: str) -> None:
    found = [note for _, note in every(name) if note.key.endswith(".carry_time")]
    assert found
    for note in found:
        told = re.fullmatch(r"heater to seat: at most (?:(\d+) min)?(?: ?(\d+) s)?", note.short)
        assert told, note.short
        assert 60 * int(told[1] or 0) + int(told[2] or 0) <= note.value
        assert note.limit.endswith("from heater to seat")


def test_a_time_under_two_minutes_is_not_rounded_up_to_two() -> None:
    made = explainer("millrace")
    bench = made.stage(made.start_settings()).bench(made.procedure.steps["gear_hot"], made.start_settings())
    assert [bench.within(seconds) for seconds in (545.0, 599.0, 119.0, 104.0, 89.7)] == [
        "9 min",
        "9 min",
        "1 min 55 s",
        "1 min 40 s",
        "89 s",
    ]


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_model_s_pattern_is_said_to_be_no_target_and_what_moves_it_is_named(name: str) -> None:
    found = [note.text for _, note in every(name) if note.key.startswith("mesh.pattern")]
    assert len(found) == 2
    for told in found:
        assert "no target" in told and "toward the toe" in told and "Pinion gasket and gear gasket move it" in told


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_key_s_height_stands_beside_the_depth_of_its_hub_keyway(name: str) -> None:
    for _, note in every(name):
        if note.key.endswith(".proud"):
            assert "proud" not in note.short and "hub keyway" in note.short


@pytest.mark.parametrize("name", EXAMPLES)
def test_one_plumb_leg_tips_nothing_and_its_label_says_what_to_plan_for(name: str) -> None:
    found = {step: note for step, note in every(name) if note.key == "lift.legs"}
    plumb = [note for step, note in found.items() if "lifting_eye" in explainer(name).procedure.steps[step].tools]
    assert plumb
    assert all("tips it" not in note.text and note.short.startswith("plan ") for note in plumb)
    assert all("tips it" in note.text for note in found.values() if note not in plumb)


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_bearing_that_is_fitted_cold_gets_no_verdict_on_its_heating(name: str) -> None:
    assert {note.verdict for _, note in every(name) if note.key.endswith(".other_diameter")} == {""}


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_ceiling_of_a_torque_is_said_to_be_no_target_wherever_it_stands(name: str) -> None:
    found = [note for _, note in every(name) if note.key.startswith("screws.") and note.key.count(".") == 1 and note.limit]
    assert found and all(note.limit.endswith("never a target") for note in found)
