"""The kit list against the machine file, the standards' tables and the solids."""

from __future__ import annotations

import math
import re
import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

import pytest

from geometry import mass
from geometry.machine import accept
from geometry.reducer import assemble
from scenes.examples import open_machine
from scenes.explain import Explainer
from scenes.kit import Item, Kit
from scenes.kit_parts import FILM, WHOLE


@cache
def explainer(name: str) -> Explainer:
    return Explainer(open_machine(name)[0])


def kit(name: str = "millrace", **settings: Any) -> Kit:
    machine = explainer(name)
    return machine.kit(machine.with_(machine.start_settings(), step=None, **settings))


def line(found: Kit, key: str) -> Item:
    (item,) = [item for item in found.items if item.key == key]
    return item


@pytest.mark.parametrize("name", ["millrace", "slipway"])
def test_every_part_of_the_machine_is_on_the_list_once(name: str) -> None:
    reducer = assemble(explainer(name).machine)
    found = kit(name)
    listed = [item.key for item in (*found.of("parts"), *found.of("gaskets")) if item.key != "leaves"]
    assert len(listed) == len(set(listed))
    named = [piece for key in listed for piece in ([one for one, whole in WHOLE.items() if whole == key] or [key])]
    members = [part for piece in named for part in reducer.members(piece)]
    assert sorted(members) == sorted(part.name for part in reducer.parts if not part.tool and part.name != FILM)
    for item in found.of("parts"):
        if item.key in reducer.groups:
            assert item.count == len(reducer.groups[item.key])


def test_bearings_go_by_series_and_bore() -> None:
    # ISO 15:2017, dimension series 02: 60 x 110 x 22, 75 x 130 x 25, 80 x 140 x 26
    found = kit()
    sizes = {"inner_bearing": (60, 110, 22), "lower_bearing": (75, 130, 25), "high_speed_pair": (60, 110, 22), "low_speed_pair": (80, 140, 26)}  # fmt: skip
    for key, size in sizes.items():
        item = line(found, key)
        assert tuple(value for _, value in item.figures) == pytest.approx(size)
        assert "ISO 15 series 02" in item.size and f"bore {size[0]} mm" in item.size
    assert line(found, "high_speed_pair").steps == ("hs_bearing_1", "hs_bearing_2")
    assert line(found, "lower_bearing").steps == ("lower_inner_ring", "lower_outer_ring")


def test_hook_spanners_fit_the_nuts() -> None:
    # outside diameters of locknuts 09, 12, 15, 16: ISO 2982-2 = DIN 981, as bearing makers print them, from memory
    found = {item.key: dict(item.figures)["outside"] for item in kit().of("tools") if item.key.startswith("hook_spanner")}
    assert found == {"hook_spanner_09": 65.0, "hook_spanner_12": 80.0, "hook_spanner_15": 98.0, "hook_spanner_16": 105.0}
    assert line(kit(), "hook_spanner_09").steps == ("pinion_nut",)


def test_hexagon_bits_fit_the_screws() -> None:
    # ISO 4762:2004 table 1: M6 5, M8 6, M10 8, M12 10, M16 14; ASME B18.3: 1/4 3/16 in, 3/8 5/16 in, 1/2 3/8 in
    found = {item.key: dict(item.figures)["hexagon"] for item in kit().of("tools") if item.key.startswith("hexagon_bit")}
    assert found == {f"hexagon_bit_M{size}": float(hexagon) for size, hexagon in ((6, 5), (8, 6), (10, 8), (12, 10), (16, 14))}
    inch = [dict(item.figures)["hexagon"] for item in kit("slipway").of("tools") if item.key.startswith("hexagon_bit")]
    assert inch == pytest.approx([3 / 16 * 25.4, 5 / 16 * 25.4, 3 / 8 * 25.4])


def test_the_torque_wrench_reaches_from_the_least_to_the_greatest_torque_of_the_file() -> None:
    wrench = line(kit(), "torque_wrench")
    assert dict(wrench.figures) == pytest.approx({"low": 8.0, "high": 160.0})
    assert wrench.size == "from 8.0 N·m to 160.0 N·m"


def test_the_oven_is_on_the_list_for_what_is_too_heavy_for_the_heater() -> None:
    """The machine file's heater takes 18 lb: the gear goes in the oven, the rings and the pinion on the heater."""
    found = kit("slipway", units="inch")
    assert line(found, "oven").steps == ("gear_hot",) and line(found, "oven").size == "for 24.3 lb, air at 291 °F"
    heater = line(found, "induction_heater")
    assert (
        heater.steps == ("lower_inner_ring", "inner_inner_ring", "pinion_hot") and dict(heater.figures)["mass"] < 18.0 * 0.45359237
    )
    assert "oven" not in {item.key for item in kit().items}


def test_screws_keys_dowels_and_seals_carry_the_sizes_of_the_file() -> None:
    found = kit()
    assert line(found, "cartridge_screw").size == "M12 x 45 mm; 60.0 N·m"
    assert line(found, "carrier_screw").size == "M10 x 30 mm; heads drilled for wire; 34.0 N·m"
    assert line(found, "split_screw").count == 10
    # ISO/R 773 by shaft diameter: 50 mm 14 x 9, 90 mm 25 x 14, 70 mm 20 x 12
    assert line(found, "pinion_key").size == "14 mm x 9 mm x 63 mm"
    assert line(found, "gear_key").size == "25 mm x 14 mm x 56 mm"
    assert line(found, "low_speed_coupling_key").size == "20 mm x 12 mm x 100 mm"
    assert dict(line(found, "dowel").figures)["diameter"] == 12.0
    assert line(found, "high_speed_seal").size == "shaft 55 mm, outside 80 mm, width 8 mm"
    assert line(found, "lower_locknut").size == "locknut size 15, M75x2"
    assert line(found, "lower_tab_washer").size == "tab washer size 15"


def test_what_follows_from_a_proportion_says_so() -> None:
    found = kit()
    derived = {item.key for item in found.items if item.derived}
    assert {"pump_screw", "lower_plate_screw", "upper_plate_screw", "drain_plug", "lower_plate_gasket"} <= derived
    assert not derived & {"cartridge_screw", "pinion_gasket", "split_screw", "pinion_key"}


def test_gaskets_follow_the_setting_and_shims_come_from_the_stock() -> None:
    figures = dict(line(kit(gaskets={"pinion_gasket": 0.8}), "pinion_gasket").figures)
    assert figures == pytest.approx({"free": 0.8, "clamped": 0.8 * 0.9})
    assert dict(line(kit(), "pinion_gasket").figures) == pytest.approx({"free": 0.5, "clamped": 0.45})
    assert "in stock: 0.25 mm, 0.4 mm, 0.5 mm, 0.8 mm" in line(kit(), "pinion_gasket").size
    assert line(kit(), "leaves").size == "0.05 mm, 0.1 mm, 0.2 mm, 0.25 mm, 0.5 mm"


@pytest.mark.parametrize("name", ["millrace", "slipway"])
def test_every_tool_and_consumable_of_the_procedure_is_there_with_its_steps(name: str) -> None:
    found, steps = kit(name), explainer(name).procedure.steps
    sized = {"hook_spanner", "hexagon_bits"}
    assert {item for step in steps.values() for item in step.tools} - sized <= {item.key for item in found.of("tools")}
    assert {item for step in steps.values() for item in step.consumables} == {item.key for item in found.of("consumables")}
    for item in found.of("consumables"):
        assert item.steps == tuple(key for key, step in steps.items() if item.key in step.consumables)


def test_the_heaviest_lift_is_told_with_what_a_leg_must_carry() -> None:
    reducer = assemble(explainer("millrace").machine)
    weights = {part.name: mass.properties(part.spec).mass for part in reducer.parts}
    found = kit()
    heaviest = line(found, "heaviest")
    assert heaviest.steps == ("case_stand",)
    figures = dict(heaviest.figures)
    assert figures["mass"] == pytest.approx(weights["lower_case"])
    # two legs at 60° from horizontal, 10 % on a mass not weighed: m 1.1 / (2 sin 60°), statics
    assert figures["rating"] == pytest.approx(1.1 * weights["lower_case"] / (2.0 * math.sin(math.pi / 3.0)))
    lifts = [item for item in found.of("lifting") if item.key != "heaviest"]
    assert figures["mass"] == max(dict(item.figures)["mass"] for item in lifts)


def test_a_bench_that_is_turned_is_lifted_whole() -> None:
    reducer, found = assemble(explainer("millrace").machine), kit()
    weights = {part.name: mass.properties(part.spec).mass for part in reducer.parts}
    shaft = sum(weights[part.name] for part in reducer.parts if part.bench == "low_speed_shaft")
    assert dict(line(found, "turn_over").figures)["mass"] == pytest.approx(shaft)
    laid = dict(line(found, "hs_sleeve").figures)["mass"]
    assert laid > weights["cartridge"] + weights["high_speed_shaft"] + weights["pinion"]


@pytest.mark.parametrize("name", ["millrace", "slipway"])
def test_inch_texts_hold_no_millimetre(name: str) -> None:
    found = kit(name, units="inch")
    assert [item.key for item in found.items if re.search(r"\bmm\b|°C|N·m|\bkg\b", item.size)] == []
    both = [item.name for item in found.items if re.search(r"\bmm\b", item.name)]
    assert all(re.search(r"\bmm \([\d.]+ in\)", called) for called in both)
    assert [item.figures for item in found.items] == [item.figures for item in kit(name, units="mm").items]


@pytest.mark.parametrize("legs", [1, 2, 3, 4])
def test_the_kit_list_and_the_note_of_a_lift_ask_for_the_same_rating(legs: int) -> None:
    data = tomllib.loads(files("scenes").joinpath("machines", "millrace.toml").read_text(encoding="utf-8"))
    data["shop"]["sling_legs"] = legs
    found = Explainer(accept(data))
    now = found.start_settings()
    told = {item.key: item for item in found.kit(now).of("lifting")}
    alone = 0
    for step in found.numbers(found.with_(now, step=None))["steps"]:
        for note in step["callouts"]:
            if note["key"] != "lift.legs":
                continue
            item = told[step["id"]]
            assert dict(item.figures)["rating"] * 9.80665 == pytest.approx(note["value"])
            rating = f"{note['value'] / 9.80665:.1f} kg"
            assert rating in note["text"] and rating in note["short"] and f"rated {rating}" in item.size
            alone += "one eye or leg" in note["text"]
            assert ("one eye or leg" in note["text"]) == ("one eye or leg" in item.size)
    assert alone >= 2


def test_a_shaft_on_a_lifting_eye_hangs_on_one_leg_in_the_kit_list() -> None:
    steps = explainer("millrace").procedure.steps
    for item in kit().of("lifting"):
        figures = dict(item.figures)
        if "lifting_eye" in steps[item.steps[0]].tools:
            # statics: one plumb leg carries all of it, and 10 % more for a mass not weighed (common practice)
            assert figures["rating"] == pytest.approx(1.1 * figures["mass"])
        else:
            assert figures["rating"] == pytest.approx(1.1 * figures["mass"] / 2.0 / math.sin(math.radians(60.0)))
