"""The command line as a user meets it: right answers, clear refusals, nothing half-written."""

from __future__ import annotations

import csv
import json
import os
import re
import subprocess
import sys
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import pytest

from scenes.examples import open_machine
from scenes.explain import Explainer
from scenes.settings import Settings
from viewer.cli import main

EXAMPLE = files("scenes").joinpath("machines", "millrace.toml").read_text(encoding="utf-8")


def machine(folder: Path, *changes: tuple[str, str]) -> Path:
    """The metric example with some texts replaced; each must be there."""
    content = EXAMPLE
    for old, new in changes:
        assert old in content, old
        content = content.replace(old, new, 1)
    path = folder / "machine.toml"
    path.write_text(content, encoding="utf-8")
    return path


def refused(capsys: pytest.CaptureFixture[str], *argv: str) -> str:
    """Run a command that must be refused; its lines."""
    assert main(argv) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert "Traceback" not in captured.err
    return captured.err


def test_a_new_machine_file_passes_the_check_unchanged(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "mine.toml"
    assert main(["start", str(path)]) == 0
    assert main(["check", str(path)]) == 0
    assert "0 stop" in capsys.readouterr().out


def test_start_never_overwrites(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "mine.toml"
    path.write_text("kept")
    assert "exists" in refused(capsys, "start", str(path))
    assert path.read_text() == "kept"


def test_a_written_procedure_is_used_from_the_machine_file_as_it_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "mine.toml"
    assert main(["start", str(path)]) == 0 and f"shimwright check {path}" in capsys.readouterr().out
    assert main(["start", "--procedure", str(tmp_path / "order.toml")]) == 0
    told = capsys.readouterr().out
    line = 'procedure = "order.toml"'
    assert f"wrote {tmp_path / 'order.toml'}" in told and line in told and "shimwright check" in told
    content = path.read_text(encoding="utf-8")
    assert content.count(f"# {line}") == 1, "the machine file shows where the line goes"
    path.write_text(content.replace(f"# {line}", line), encoding="utf-8")
    assert main(["check", str(path)]) == 0
    capsys.readouterr()
    (tmp_path / "order.toml").unlink()
    assert "order.toml: no such file" in refused(capsys, "check", str(path))


@pytest.mark.parametrize("name", ["millrace", "slipway"])
def test_shipped_machines_have_no_stop(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", name]) == 0
    assert "fine: The order holds" in capsys.readouterr().out


FAULTS = [
    ('outer_module = "8 mm"', "outer_module = 8", ["gears.outer_module", "8", "give a unit"]),
    ('collar_diameter = "72 mm"', 'collar_diameter = "-72 mm"', ["collar_diameter", "-72 mm", "accepted"]),
    ('collar_diameter = "72 mm"', 'collar_diameter = "55 mm"', ["high_speed_shaft.bearing_seat.diameter", "60.000", "collar_diameter 55.000 mm"]),
    ('fit = "k5" }\nbearing_thread = "M60x2"', 'fit = "q5" }\nbearing_thread = "M60x2"', ["fit", "q5", "accepted"]),
    ("pinion_teeth = 15", "pinion_teeth = 0", ["pinion_teeth", "0"]),
    ('pinion_gasket = { thickness = "0.50 mm"', 'pinion_gasket = { thickness = "3 m"', ["pinion_gasket", "3 m", "accepted"]),
    ('collar_width = { size = "12 mm"', 'colar_width = { size = "12 mm"', ["colar_width", "did you mean collar_width?"]),
    ('ambient = "20 degC"', 'ambient = "20 C"', ["shop.ambient", "20 C", "degC"]),
    ('design_backlash = "0.22 mm"', 'design_backlash = "0,22 mm"', ["design_backlash", "0.22 mm"]),
    ('lower_thread = "M75x2"', 'lower_thread = "M75x9"', ["lower_thread", "M75x9"]),
    ('raceway_outer = "116.5 mm"', 'raceway_outer = "95 mm"', ["locknut", "raceway"]),
    ('length = { size = "85 mm"', 'length = { size = "140 mm"', ["pinion.length", "low-speed shaft"]),
    ('bore = "75 mm"\nseries = "02"', 'bore = "80 mm"\nseries = "02"', ["lower_bearing.bore", "80.000 mm", "the seat's diameter (75.000 mm)"]),
    ('name = "Mill-race gate drive"', 'name = "Mill-race', ["not valid TOML"]),
    ('pinion_gasket = { thickness = "0.50 mm"', 'pinion_gasket = { thickness = "0 mm"', ["gaskets.pinion_gasket.thickness", "'0 mm'", "0.050 mm to 5.000 mm"]),
    ('stock = ["0.25 mm"', 'stock = ["0 mm"', ["gaskets.pinion_gasket.stock.0", "0.050 mm to 5.000 mm"]),
    ('ambient = "20 degC"', 'ambient = "60 degC"', ["shop.ambient", "30 °C to 50 °C"]),
    ('bearing_heating_limit = "120 degC"', 'bearing_heating_limit = "10 degC"', ["shop.bearing_heating_limit", "20 °C to 300 °C"]),
    ('ambient = "20 degC"', 'ambient = "45 degC"\nheater = "310 degC"', ["shop.heater", "20 °C to 300 °C"]),
    ('bearing_heating_limit = "120 degC"', 'bearing_heating_limit = "20 degC"', ["shop.bearing_heating_limit = 20", "accepted: above shop.ambient (20 degC)"]),
    ('{ readings = ["21.985 mm", "21.990 mm"] }', "{ readings = 20 }", ["inner_bearing.width", "readings: 20", "accepted: a list of sizes"]),
    ('{ readings = ["21.985 mm", "21.990 mm"] }', '{ readings = "20 mm" }', ["inner_bearing.width", "readings: '20 mm'", "accepted: a list of sizes"]),
    ('bearing_seat = { diameter = "60 mm", fit = "k5" }', 'bearing_seat = { diameter = "60 mm", limits = "60 mm" }', ["high_speed_shaft.bearing_seat", "limits: '60 mm'", "accepted: a list of sizes"]),
    ('collar_width = { size = "12 mm", plus = "0.01 mm"', 'collar_width = { size = "12 mm", plus = "tight"', ["high_speed_shaft.collar_width", "plus: 'tight'", "accepted: a number and a unit"]),
    ('bore = "60 mm"\nseries = "02"', 'bore = "wide"\nseries = "02"', ["inner_bearing", "bore: 'wide'", "accepted: a number and a unit"]),
    ('gasket = { thickness = "0.4 mm", compression = "10 %" }', 'gasket = "0.4 mm"', ["carrier.gasket = '0.4 mm'", "accepted: a table with the keys thickness, compression, stock"]),
    ('face_width = "56 mm"', "face_width = 2024-01-01", ["gears.face_width = 2024-01-01", "accepted: a text such as"]),
    ('face_width = "56 mm"', 'face_width = "0.01 mm"', ["gears.face_width = 0.010 mm", "accepted: at least 16.000 mm"]),
    ('[gears]', '[grears]', ["[gears]: missing: this section is required", "grears: unknown key: did you mean gears?"]),
    ('backlash = ["0.17 mm", "0.30 mm"]', 'backlash = "0.17 mm"', ["gears.backlash = '0.17 mm'", "accepted: a list of two sizes"]),
    ('high_speed_end_play = ["0.02 mm", "0.08 mm"]', 'high_speed_end_play = ["0.08 mm", "0.02 mm"]', ["limits.high_speed_end_play", "accepted: the smaller limit first"]),
    ('pinion_teeth = 15', 'pinion_teeth = "many"', ["gears.pinion_teeth = 'many'", "accepted: a whole number"]),
    ('gear_teeth = 46', 'gear_teeth = 460', ["gears.gear_teeth = 460", "accepted: 200 or less"]),
    ('gear_teeth = 46', f'gear_teeth = {"9" * 5000}', ["not valid TOML", "too many digits"]),
    ('gear_teeth = 46', f'gear_teeth = 0x{"f" * 5000}', ["gears.gear_teeth", "more than 4000 digits", "accepted: 200 or less"]),
    ('set_number = "set 1"', f'set_number = {"[" * 5000}', ["not valid TOML", "too deep"]),
    ('pinion_hand = "left"', 'pinion_hand = "both"', ["gears.pinion_hand = 'both'", 'accepted: "left", "right", "straight"']),
    ('drilled = true', 'drilled = "yes"', ["high_speed_cartridge.retainer.screws.drilled = 'yes'", "accepted: true, false"]),
    ('thread = "M12"', 'thread = "M13"', ["high_speed_cartridge.screws.thread = 'M13'", "accepted: M5, M6"]),
    ('fit = "k5" }\nbearing_thread = "M60x2"', f'fit = "{"k" * 300}" }}\nbearing_thread = "M60x2"', ["high_speed_shaft.bearing_seat.fit", "kkk..", "accepted: at most 80 characters"]),
    ('name = "Mill-race gate drive"', 'name = "bell \\u0007"', ["name = 'bell \\x07'", "accepted: printable characters"]),
    ('name = "Mill-race gate drive"', f'name = "{"x" * 81}"', ["name", "accepted: at most 80 characters"]),
    ('series = "02"', 'series = "0\\u001b2"', ["inner_bearing", "accepted"]),
    ('face_width = "56 mm"', 'face_width = "1e-400 mm"', ["gears.face_width = '1e-400 mm'", "too small", "accepted"]),
    ('face_width = "56 mm"', 'face_width = "٥٦ mm"', ["gears.face_width", "accepted: a number and a unit"]),
    ('arrangement = "back-to-back"', 'arrangement = "tandem"', ["high_speed_pair.arrangement = 'tandem'", "accepted: back-to-back, face-to-face", "one way only"]),
    ('outer_spacer = { size = "10 mm"', 'outer_spacer = { size = "11 mm"', ["high_speed_pair.inner_spacer = 10.000 mm", "high_speed_pair.outer_spacer 11.000 mm", "10.500 to 11.500 mm"]),
    ('thread = "M12", length = "45 mm"', 'thread = "M12", length = "25 mm"', ["high_speed_cartridge.screws.length = 25.000 mm", "31.600 to 52.000 mm", "flange_thickness 22.000 mm"]),
    ('split_screws = { thread = "M16", length = "60 mm"', 'split_screws = { thread = "M16", length = "30 mm"', ["case.split_screws.length = 30.000 mm", "case.flange_thickness 26.000 mm"]),
    ('circle = "192 mm"', 'circle = "215 mm"', ["high_speed_cartridge.screws.circle = 215.000 mm", "no room for the heads", "high_speed_cartridge.flange_diameter 222.000 mm"]),
    ('count = 6, circle = "130 mm"', 'count = 40, circle = "130 mm"', ["high_speed_cartridge.retainer.screws.count = 40", "touch", "accepted: at most"]),
    ('count = 6, circle = "130 mm"', 'count = 3, circle = "130 mm"', ["high_speed_cartridge.retainer.screws.count = 3", "accepted: at least 4"]),
    ('torque = "60 N m"', 'torque = "600 N m"', ["high_speed_cartridge.screws.torque = 600.0 N m", "class 12.9", "accepted: at most 218.4 N m"]),
    ('hub_diameter = "72 mm"', 'hub_diameter = "55 mm"', ["pinion.hub_diameter = 55.000 mm", "pinion.bore over its keyway 57.600 mm"]),
    ('hub_diameter = "72 mm"', 'hub_diameter = "95 mm"', ["pinion.hub_diameter = 95.000 mm", "root diameter at the toe"]),
    ('high_speed_thrower_diameter = "84 mm"', 'high_speed_thrower_diameter = "61 mm"', ["spacers.high_speed_thrower_diameter = 61.000 mm", "high_speed_shaft.bearing_seat.diameter 60.000 mm"]),
    ('high_speed_thrower_diameter = "84 mm"', 'high_speed_thrower_diameter = "108 mm"', ["spacers.high_speed_thrower_diameter", "high_speed_pair.outside 110.000 mm"]),
    ('raceway_inner = "73.5 mm"', 'raceway_inner = "61 mm"', ["inner_bearing.raceway_inner = 61.000 mm", "inner_bearing.bore 60.000 mm"]),
    ('roller_count = 16', 'roller_count = 40', ["inner_bearing.roller_count = 40", "overlap", "accepted: 3 to 2"]),
    ('contact_angle = "40 deg"', 'contact_angle = "60 deg"', ["high_speed_pair.contact_angle = '60 deg'", "1.0° to 45.0°"]),
    ('extension = { diameter = "50 mm"', 'extension = { diameter = "56 mm"', ["high_speed_shaft.extension.diameter = 56.000 mm", "high_speed_shaft.seal_diameter (55.000 mm)"]),
    ('seal_diameter = "55 mm"', 'seal_diameter = "59 mm"', ["high_speed_shaft.seal_diameter = 59.000 mm", "locknut can't pass it"]),
    ('dowel_diameter = "12 mm"', 'dowel_diameter = "11 mm"', ["case.dowel_diameter = 11.000 mm", "accepted: 3, 4, 5, 6, 8, 10, 12, 16, 20 mm (ISO 8734)"]),
    ('stop_bore = "98 mm"', 'stop_bore = "65 mm"', ["high_speed_cartridge.stop_bore = 65.000 mm", "the sleeve doesn't pass it"]),
    ('key = { length = "63 mm" }', 'key = { length = "63 mm", shaft_depth = "20 mm" }', ["pinion.key.shaft_depth = 20.000 mm", "high_speed_shaft.pinion_seat.diameter 50.000 mm"]),
    ('key = { length = "63 mm" }', 'key = { length = "63 mm", width = "30 mm" }', ["pinion.key.width = 30.000 mm", "5.000 to 20.000 mm"]),
    ('key = { length = "63 mm" }', 'key = { length = "84 mm" }', ["pinion.key.length = 84.000 mm", "pinion.length 85.000 mm"]),
    ('coupling_key = { length = "80 mm" }', 'coupling_key = { length = "98 mm" }', ["high_speed_shaft.coupling_key.length = 98.000 mm", "high_speed_shaft.extension_length 100.000 mm"]),
    ('wall = "16 mm"', 'wall = "1 mm"', ["case.wall = 1.000 mm", "least wall 3.000 mm"]),
    ('flange_thickness = "22 mm"', 'flange_thickness = "2 mm"', ["high_speed_cartridge.flange_thickness = 2.000 mm", "least flange 3.000 mm"]),
    ('seal_outside = "80 mm"', 'seal_outside = "130 mm"', ["high_speed_cover.screws.circle = 134.000 mm", "high_speed_cover.seal_outside 130.000 mm"]),
    ('rib_width = { size = "20 mm"', 'rib_width = { size = "-20 mm"', ["high_speed_cartridge.rib_width", "accepted: 0.010 mm to 2000.000 mm"]),
    ('roller_seat_depth = { size = "21.8 mm"', 'roller_seat_depth = { size = "2 mm"', ["high_speed_cartridge.roller_seat_depth = 2.000 mm", "inner_bearing.width"]),
    ('collar_diameter = "72 mm"', 'collar_diameter = "101 mm"', ["high_speed_shaft.collar_diameter = 101.000 mm", "high_speed_cartridge.retainer.bore 102.000 mm"]),
    ('count = 8, circle = "206 mm"', 'count = 5, circle = "206 mm"', ["carrier.screws.count = 5", "passes 166.658 mm across", "carrier.body.diameter (166.000 mm)", "accepted: at least 6 drilled screws, or drilled = false"]),
    ('flange_diameter = "240 mm"', 'flange_diameter = "380 mm"', ["low_speed_cartridge.flange_diameter = 380.000 mm", "the breather has no place", "accepted: at most 339.311 mm", "case.inner_radius (208.000 mm)"]),
    ('split_screws = { thread = "M16", length = "60 mm"', 'split_screws = { thread = "M16", length = "95 mm"', ["case.split_screws.length = 95.000 mm", "4.100 mm higher than the lower inspection opening", "accepted: at most 90.900 mm"]),
    ('internal_play = "0.00 mm"', 'internal_play = "0.5 mm"', ["high_speed_pair.internal_play = '0.5 mm'", "0.200 mm"]),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "wanted"), FAULTS, ids=[new[:28] for _, new, _ in FAULTS])
def test_bad_dimensions_are_refused_by_name_value_and_remedy(
    old: str, new: str, wanted: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = machine(tmp_path, (old, new))
    for command in (["check"], ["numbers"], ["pack", "-o", str(tmp_path / "out")]):
        lines = refused(capsys, command[0], str(path), *command[1:])
        for part in wanted:
            assert part in lines
    assert not (tmp_path / "out").exists()


def test_all_faults_come_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = machine(
        tmp_path,
        ('outer_module = "8 mm"', "outer_module = 8"),
        ('face_width = "56 mm"', 'face_width = "wide"'),
        ('ambient = "20 degC"', 'ambient = "hot"'),
    )
    lines = refused(capsys, "check", str(path)).splitlines()
    assert len(lines) == 3


@pytest.mark.parametrize(
    ("content", "wanted"),
    [
        (b"", "empty"),
        (b"\xef\xbb\xbfname = 1", "name = 1: accepted: a text in quotes"),
        (b"\x00\x01\xff\xfe" * 50, "not a text file"),
        (b"name = ", "not valid TOML"),
        (b"name = 1", "missing"),
    ],
    ids=["empty", "byte order mark", "binary", "broken", "almost empty"],
)
def test_files_that_are_no_machine_are_refused(
    content: bytes, wanted: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "odd.toml"
    path.write_bytes(content)
    assert wanted in refused(capsys, "check", str(path))


def test_a_missing_file_and_a_folder_are_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "no such file" in refused(capsys, "check", str(tmp_path / "none.toml"))
    assert "is a folder" in refused(capsys, "check", str(tmp_path))


@pytest.mark.parametrize(
    ("options", "wanted"),
    [
        (["--heater", "900 degC"], ["heater", "900 °C", "300 °C"]), (["--step", "9" * 5000], ["--step", "1 to 75"]), (["--heater", "x" * 300], ["--heater", "accepted"]), (["--gasket", "pinion_gasket=0 mm"], ["pinion_gasket", "0.050 mm"]),
        (["--heater", "110"], ["--heater", "give a unit"]), (["--step", "99"], ["--step", "1 to 75"]),
        (["--gasket", "pinion_gasket=3 m"], ["pinion_gasket", "accepted"]), (["--gasket", "pinion_gaskt=0.5 mm"], ["pinion_gaskt", "pinion_gasket"]), (["--gasket", "0.5 mm"], ["NAME=THICKNESS"]),
    ],
)  # fmt: skip
def test_bad_settings_are_refused(options: list[str], wanted: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    lines = refused(capsys, "numbers", "millrace", *options)
    for part in wanted:
        assert part in lines


def test_numbers_follow_the_heater(capsys: pytest.CaptureFixture[str]) -> None:
    found = []
    for heater in ("80 degC", "150 degC"):
        assert main(["numbers", "millrace", "--step", "gear_hot", "--heater", heater, "--json"]) == 0
        report = json.loads(capsys.readouterr().out)
        notes = {note["key"]: note for note in report["steps"][0]["callouts"]}
        found.append(notes["heat.gear_bore.clearance"])
    # the bore grows by alpha d dT = 12e-6 x 90 x 70 (definition of linear expansion)
    assert found[1]["value"] - found[0]["value"] == pytest.approx(12e-6 * 90.0 * 70.0, rel=1e-6)
    assert [note["verdict"] for note in found] == ["watch", "fine"]


def test_a_pack_of_numbers_is_whole_and_an_unwritable_folder_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["pack", "slipway", "-o", str(tmp_path / "talk"), "--only", "numbers"]) == 0
    assert sorted(path.name for path in (tmp_path / "talk").iterdir()) == [
        "effects.csv",
        "kit.csv",
        "numbers.csv",
        "numbers.json",
        "times.csv",
    ]
    assert list(tmp_path.glob(".talk*")) == []
    blocked = tmp_path / "file"
    blocked.write_text("kept")
    capsys.readouterr()
    assert "accepted: a folder" in refused(capsys, "pack", "slipway", "-o", str(blocked), "--only", "numbers")
    assert "can't be written" in refused(capsys, "pack", "slipway", "-o", str(blocked / "below"), "--only", "numbers")
    assert blocked.read_text() == "kept"


def printed(capsys: pytest.CaptureFixture[str], *argv: str) -> str:
    """Run a command that must do well; what it prints."""
    assert main(argv) == 0
    return capsys.readouterr().out


TIME_KEYS = {"value", "low", "high", "text"}
TIMES_KEYS = {"machine", "units", "indicative", "notes", "steps", "phases", "job", "optional", "waits"}
TIMES_STEP_KEYS = {"id", "number", "phase", "title", "method", "optional", "heating", "handling", "waiting", "total"}
HEATING_KEYS = {"part", "mass", "from", "to", "heater", "refused", "energy", "hold", "oven", "time", "basis"}
WAITING_KEYS = {"fitted_in", "part", "from", "to", "evened", "cooling", "time", "basis"}
WAIT_KEYS = {"step", "number", "kind", "time", "meanwhile", "text"}
KIT_KEYS = {"key", "name", "size", "count", "derived", "steps", "figures"}


def test_the_time_plan_keeps_its_keys_and_adds_up(capsys: pytest.CaptureFixture[str]) -> None:
    report = json.loads(printed(capsys, "numbers", "millrace", "--times", "--json"))
    assert set(report) == TIMES_KEYS and report["indicative"] is True
    assert len(report["steps"]) == 75
    for step in report["steps"]:
        assert set(step) == TIMES_STEP_KEYS and set(step["total"]) == TIME_KEYS
        assert set(step["handling"]) == TIME_KEYS | {"pieces", "basis"}
        assert step["heating"] is None or set(step["heating"]) == HEATING_KEYS
        assert step["waiting"] is None or set(step["waiting"]) == WAITING_KEYS
    for wait in report["waits"]:
        assert set(wait) == WAIT_KEYS
    whole = report["job"]["total"]["value"]
    assert whole == pytest.approx(sum(step["total"]["value"] for step in report["steps"]))
    assert whole == pytest.approx(sum(phase["total"]["value"] for phase in report["phases"]))


def test_the_printed_time_plan_says_what_is_indicative_and_where_to_wait(capsys: pytest.CaptureFixture[str]) -> None:
    lines = printed(capsys, "numbers", "millrace", "--times")
    for wanted in ("indicative", "Whole job:", "Long waits", "common practice, no source", "Gear cools", "Meanwhile:"):
        assert wanted in lines
    inch = printed(capsys, "numbers", "slipway", "--times", "--units", "inch")
    assert "too heavy for the induction heater" in inch and "°F" in inch
    assert re.search(r"\bmm\b|°C", inch) is None


def test_a_cooler_heater_shortens_the_time_plan(capsys: pytest.CaptureFixture[str]) -> None:
    hot, cool = (
        json.loads(printed(capsys, "numbers", "millrace", "--times", "--json", "--heater", heater))["job"]
        for heater in ("140 degC", "90 degC")
    )
    assert cool["heating"]["value"] < hot["heating"]["value"] and cool["waiting"]["value"] < hot["waiting"]["value"]
    assert cool["handling"] == hot["handling"]


def test_the_kit_list_keeps_its_keys_in_both_unit_systems(capsys: pytest.CaptureFixture[str]) -> None:
    reports = [json.loads(printed(capsys, "numbers", "millrace", "--kit", "--json", "--units", units)) for units in ("mm", "inch")]
    for report in reports:
        assert set(report) == {"machine", "units", "notes", "groups"}
        assert [group["id"] for group in report["groups"]] == ["parts", "gaskets", "consumables", "tools", "lifting"]
        assert all(set(item) == KIT_KEYS for group in report["groups"] for item in group["items"])
    figures = [[item["figures"] for group in report["groups"] for item in group["items"]] for report in reports]
    assert figures[0] == figures[1]
    lines = printed(capsys, "numbers", "millrace", "--kit")
    for wanted in ("Parts", "Tools", "Heaviest lift", "M12 x 45 mm", "free 0.5 mm", "derived"):
        assert wanted in lines


@pytest.mark.parametrize("option", ["--times", "--kit", "--effects"])
def test_a_list_of_the_whole_job_takes_no_step(option: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert "accepted: one of the two" in refused(capsys, "numbers", "millrace", option, "--step", "5")


def test_time_plan_and_kit_list_are_asked_for_one_at_a_time(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as caught:
        main(["numbers", "millrace", "--times", "--kit"])
    assert caught.value.code == 2
    assert "not allowed with" in capsys.readouterr().err


def test_an_owners_handling_times_come_from_beside_the_machine_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = machine(tmp_path, ('units = "mm"', 'units = "mm"\nhandling = "mine.toml"'))
    assert "mine.toml: no such file" in refused(capsys, "numbers", str(path), "--times")
    assert main(["start", "--handling", str(tmp_path / "mine.toml")]) == 0
    capsys.readouterr()
    before = json.loads(printed(capsys, "numbers", str(path), "--times", "--json"))
    assert before == json.loads(printed(capsys, "numbers", "millrace", "--times", "--json"))
    (tmp_path / "mine.toml").write_text('[method]\nturn_over = "2 h"\n', encoding="utf-8")
    after = json.loads(printed(capsys, "numbers", str(path), "--times", "--json"))
    changed = [step["id"] for step, old in zip(after["steps"], before["steps"], strict=True) if step != old]
    assert changed == ["turn_over"]
    (tmp_path / "mine.toml").write_text('[method]\nturn_ovr = "2 h"\n', encoding="utf-8")
    assert "did you mean turn_over?" in refused(capsys, "numbers", str(path), "--times")


def test_the_pack_holds_the_same_times_and_kit_as_are_printed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    printed(capsys, "pack", "millrace", "-o", str(tmp_path / "talk"), "--only", "numbers")
    report = json.loads(printed(capsys, "numbers", "millrace", "--times", "--json"))
    with (tmp_path / "talk" / "times.csv").open(newline="", encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert [row["id"] for row in rows] == [step["id"] for step in report["steps"]]
    for row in rows:
        parts = sum(float(row[name]) for name in ("heating_s", "handling_s", "waiting_s"))
        assert parts == pytest.approx(float(row["total_s"]), abs=0.2)
        assert "indicative" in row["basis"]
    with (tmp_path / "talk" / "kit.csv").open(newline="", encoding="utf-8") as stream:
        kit = {(row["group"], row["key"]): row for row in csv.DictReader(stream)}
    assert kit["parts", "cartridge_screw"]["count"] == "8"
    assert kit["tools", "torque_wrench"]["figures"] == "low=8 high=160"
    printed(capsys, "pack", "millrace", "-o", str(tmp_path / "one"), "--only", "numbers", "--step", "5")
    assert sorted(path.name for path in (tmp_path / "one").iterdir()) == ["numbers.csv", "numbers.json"]


EFFECT_KEYS = {
    "gasket", "change", "clamped_change", "free", "pinion_running", "gear_distance", "pinion_shift", "gear_shift", "backlash", "first_order", "handbook",
    "drive", "coast", "high_speed_end_play", "low_speed_end_play", "state", "remarks", "text",
}  # fmt: skip


def test_the_effect_table_keeps_its_keys_and_prints_in_inches_without_millimetres(capsys: pytest.CaptureFixture[str]) -> None:
    report = json.loads(printed(capsys, "numbers", "slipway", "--effects", "--json"))
    assert set(report) == {"machine", "units", "indicative", "notes", "present", "gaskets"} and report["indicative"] is True
    assert len(report["gaskets"]) == 4 and all(len(item["rows"]) == 6 for item in report["gaskets"])
    for row in (report["present"], *(row for item in report["gaskets"] for row in item["rows"])):
        assert set(row) == EFFECT_KEYS and row["state"] == "ok"
        assert set(row["drive"]) == {"along", "depth", "words"}
    lines = printed(capsys, "numbers", "slipway", "--effects")
    assert "+0.0050 in" in lines and re.search(r"\d mm\b", lines) is None
    assert "The marked pattern on the real gears decides." in lines
    thicker = json.loads(printed(capsys, "numbers", "millrace", "--effects", "--json", "--gasket", "pinion_gasket=0.6 mm"))
    assert thicker["present"]["pinion_running"] - 204.9625 - 0.09 - thicker["present"]["high_speed_end_play"] == pytest.approx(
        0.0, abs=1e-6
    )


@pytest.mark.parametrize("name", ["millrace", "slipway"])
def test_the_walk_round_the_gaskets_is_packed_whole(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    import imageio.v3 as imageio

    printed(capsys, "pack", name, "-o", str(tmp_path / "talk"), "--only", "gaskets")
    files = {path.name: path for path in (tmp_path / "talk").iterdir()}
    assert sorted(files) == ["effects.csv", "effects.png", "gaskets.csv", "gaskets.json", "gaskets.png"]
    report = json.loads(files["gaskets.json"].read_text(encoding="utf-8"))
    assert [state["name"] for state in report["states"]] == ["right", "pinion_out", "pinion_in", "gear_out", "gear_in"]
    with files["gaskets.csv"].open(newline="", encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    for row, state in zip(rows, report["states"], strict=True):
        assert float(row["backlash_mm"]) == pytest.approx(state["backlash"], abs=1e-4)
    with files["effects.csv"].open(newline="", encoding="utf-8") as stream:
        table = list(csv.DictReader(stream))
    assert len(table) == 25 and table[0]["gasket"] == "present"
    for picture, size in (("effects.png", (800, 1200)), ("gaskets.png", (1400, 1500))):
        image = imageio.imread(files[picture])[..., :3]
        assert image.shape[:2] == size
        frame = 4
        # Nothing is cut off: the sheet's rim is white; and something is drawn.
        rim = [image[:frame], image[-frame:], image[:, :frame], image[:, -frame:]]
        assert min(part.min() for part in rim) > 250 and image.min() < 60


ADJUST_KEYS = {
    "gates",
    "machine",
    "units",
    "indicative",
    "verdict",
    "limits",
    "read",
    "present",
    "diagnosis",
    "possible",
    "remarks",
    "move",
    "second",
    "text",
}
MOVE_KEYS = {"marks",
    "gaskets", "pinion_shift", "gear_shift", "pinion_running", "gear_distance", "backlash", "backlash_sigma", "backlash_round", "in_band", "pattern",
    "high_speed_end_play", "low_speed_end_play", "costs",
}  # fmt: skip


def test_adjust_gives_a_move_with_its_cost_and_keeps_its_keys(capsys: pytest.CaptureFixture[str]) -> None:
    given = ("adjust", "millrace", "--backlash", "0.36 mm", "--drive", "heel,low", "--coast", "heel")
    report = json.loads(printed(capsys, *given, "--json"))
    assert set(report) == ADJUST_KEYS and set(report["move"]) == MOVE_KEYS and set(report["second"]) == MOVE_KEYS
    assert report["possible"] and report["move"]["in_band"] and report["verdict"] == "watch"
    gear = report["move"]["gaskets"][1]
    assert gear["name"] == "gear_gasket" and gear["to"] == pytest.approx(
        sum(leaf["thickness"] * leaf["count"] for leaf in gear["leaves"])
    )
    lines = printed(capsys, *given)
    for wanted in (
        "Recommended move",
        "Second best",
        "standard deviation",
        "off come, in this order",
        "Re-mark before running",
        "running stop",
    ):
        assert wanted in lines
    inch = printed(capsys, *given, "--units", "inch")
    assert re.search(r"\d mm\b", inch) is None and "0.0142 in" in inch


def test_adjust_takes_dial_radius_gaskets_as_set_and_percentages(capsys: pytest.CaptureFixture[str]) -> None:
    far = json.loads(
        printed(capsys, "adjust", "millrace", "--backlash", "0.15 mm", "--at-radius", "92 mm", "--drive", "heel", "--json")
    )
    assert far["read"]["at_pitch_circle"] == [pytest.approx(0.30)]
    given = ["adjust", "millrace", "--backlash", "0.25 mm", "--drive", "45 %,50 %", "--coast", "centre", "--json"]
    thick = json.loads(printed(capsys, *given, "--gasket", "pinion_gasket=0.75 mm", "--sigma", "0.01 mm", "--mark-sigma", "5 %"))
    assert thick["move"]["gaskets"][0]["from"] == pytest.approx(0.75)
    assert thick["read"]["drive"] == {"along": 45.0, "depth": 50.0, "words": "centred", "sigma": 5.0} and thick["read"][
        "sigma"
    ] == pytest.approx(0.01)


def test_adjust_says_what_no_shim_can_do_and_exits_with_a_stop(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["adjust", "millrace", "--backlash", "0.55 mm", "--drive", "toe", "--coast", "toe"]) == 1
    lines = capsys.readouterr().out
    assert "No shim can do this." in lines and "Look for" in lines and "Recommended move" not in lines


@pytest.mark.parametrize(
    ("options", "wanted"),
    [
        (["--backlash", "0.31"], ["--backlash", "give a unit"]), (["--backlash", "0.3 mm", "--at-radius", "0 mm"], ["--at-radius", "accepted: 1.000 mm"]),
        (["--drive", "tow,low"], ["--drive", "'tow'", "did you mean toe?"]), (["--coast", "high,low"], ["--coast", "two places over the depth"]),
        (["--coast", "hard-heal"], ["did you mean hard-heel?"]), (["--drive", "40 %"], ["two percentages"]), (["--drive", "140 %,50 %"], ["--drive", "accepted"]),
        ([], ["nothing read", "--backlash, --drive or --coast"]), (["--at-radius", "100 mm", "--drive", "toe"], ["--at-radius", "nothing to convert"]),
        (["--backlash", "-0.1 mm"], ["--backlash", "0.000 mm to 5.000 mm"]), (["--backlash", "0.3 mm", "--end-play", "3 mm"], ["--end-play", "1.000 mm"]),
        (["--backlash", "0.3 mm", "--sigma", "0 mm"], ["--sigma", "above"]), (["--backlash", "0.3 mm", "--gasket", "pinion_gaskt=1 mm"], ["pinion_gaskt"]),
        (["--backlash", "4 mm", "--at-radius", "1 mm"], ["736"]), (["--drive", "x" * 300], ["--drive", "no place of a pattern"]), (["--backlash", "0.3 mm"] * 25, ["at most 24"]),
    ],
)  # fmt: skip
def test_readings_that_are_none_are_refused(options: list[str], wanted: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    lines = refused(capsys, "adjust", "millrace", *options)
    for part in wanted:
        assert part in lines


def test_all_faults_of_the_readings_come_at_once(capsys: pytest.CaptureFixture[str]) -> None:
    assert (
        len(refused(capsys, "adjust", "slipway", "--backlash", "0.004", "--at-radius", "0 in", "--drive", "tow").splitlines()) == 3
    )


def test_the_readme_tells_of_adjust() -> None:
    readme = Path(__file__).parents[2].joinpath("README.md").read_text(encoding="utf-8")
    assert "| `shimwright adjust mymachine.toml --backlash" in readme and "--only gaskets" in readme


def test_a_pack_is_refused_before_anything_is_moved(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    talk = tmp_path / "talk"
    (talk / "numbers.json").mkdir(parents=True)
    (talk / "numbers.csv").write_text("kept")
    assert "numbers.json is a folder there" in refused(capsys, "pack", "slipway", "-o", str(talk), "--only", "numbers")
    assert (talk / "numbers.csv").read_text() == "kept"
    assert [path.name for path in tmp_path.iterdir()] == ["talk"]
    assert "accepted: a folder to write" in refused(capsys, "pack", "slipway", "-o", "", "--only", "numbers")


def test_pictures_of_an_older_order_are_cleared_and_nothing_else(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from viewer import packing

    opened = Explainer(open_machine("slipway")[0])
    now = opened.with_(opened.start_settings(), step=None)

    def drawn(explainer: Explainer, now: Settings, folder: Path, order: packing.Order, look: object) -> None:
        for name, _ in packing._wanted(explainer, now, order):
            (folder / name).write_bytes(b"picture")

    monkeypatch.setattr(packing, "_pictures", drawn)
    talk = tmp_path / "talk"
    talk.mkdir()
    for name in ("step-03-older_step.png", "step-mine.png", "notes.txt"):
        (talk / name).write_text("old")
    packing.write(opened, replace(now, step="gear_hot"), talk, packing.Order(only="steps"))
    assert (talk / "step-03-older_step.png").exists()
    packing.write(opened, now, talk, packing.Order(only="steps"))
    assert not (talk / "step-03-older_step.png").exists()
    assert (talk / "step-mine.png").exists() and (talk / "notes.txt").exists()
    assert len(list(talk.glob("step-[0-9]*.png"))) == len(opened.procedure.order)


def test_a_machine_file_with_a_byte_order_mark_and_a_metric_size_in_inches_is_read(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = machine(tmp_path, ('bearing_seat = { diameter = "60 mm"', 'bearing_seat = { diameter = "2.3622 in"'))
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes())
    assert main(["check", str(path)]) == 0
    assert "0 stop" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("old", "new", "wanted"),
    [
        (
            'arrives = ["gear_spacer"]',
            'arrives = []\ntightens = ["lower_locknut"]',
            "Never brought: Gear spacer.",
        ),
        ('arrives = ["gear_spacer"]', 'arrives = ["gear_spacer", "gear"]', "brings what is already there: Gear."),
        ('merges = "carrier"', "", 'What stands on the bench "carrier" never joins the machine'),
        ('removes = ["packer"]\nfrom = "-y"\nmethod = "remove"', 'method = "measure"', "Tools are left in the machine"),
        (
            'arrives = ["gear_spacer"]',
            'arrives = ["gear_spacer"]\noptional = true',
            "Never brought: Gear spacer.",
        ),
    ],
    ids=["missing", "twice", "never merged", "tools left", "only optional"],
)
def test_an_order_that_leaves_no_whole_machine_is_a_stop(
    old: str, new: str, wanted: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    content = files("scenes").joinpath("procedures", "right_angle.toml").read_text(encoding="utf-8")
    assert old in content
    (tmp_path / "mine.toml").write_text(content.replace(old, new, 1), encoding="utf-8")
    path = machine(tmp_path, ('units = "mm"', 'procedure = "mine.toml"\nunits = "mm"'))
    assert main(["check", str(path)]) == 1
    printed = capsys.readouterr().out
    assert wanted in printed and "stop: The order does not hold" in printed
    assert main(["check", str(path), "--json"]) == 1
    report = json.loads(capsys.readouterr().out)
    assert report["verdict"] == "stop" and any(wanted in line for line in report["order"]["gaps"])


def test_a_planners_steps_moved_and_split_are_judged(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The nut's washer in a step of its own is as good; the dowels moved after the split screws are a stop that names both."""
    content = files("scenes").joinpath("procedures", "right_angle.toml").read_text(encoding="utf-8")
    washer = """
[step.my_washer]
title = "Lay on the washer"
why = "It lies under the nut."
phase = "low_speed_pair"
bench = "case"
arrives = ["low_speed_tab_washer"]
method = "slide"
"""
    split = content.replace('"low_speed_tab_washer", "low_speed_locknut"', '"low_speed_locknut"')
    split = split.replace('  "ls_nut",', '  "my_washer",\n  "ls_nut",') + washer
    path = machine(tmp_path, ('units = "mm"', 'procedure = "mine.toml"\nunits = "mm"'))
    (tmp_path / "mine.toml").write_text(split, encoding="utf-8")
    assert main(["check", str(path)]) == 0
    assert "fine: The order holds" in capsys.readouterr().out
    wrong = split.replace('  "dowels",\n  "split_screws",', '  "split_screws",\n  "dowels",')
    (tmp_path / "mine.toml").write_text(wrong, encoding="utf-8")
    assert main(["check", str(path)]) == 1
    assert "are tightened before the dowels are driven (" in capsys.readouterr().out


def test_the_rules_of_the_trade_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "millrace", "--rules"]) == 0
    assert "common practice, no source" in capsys.readouterr().out
    assert main(["check", "millrace", "--rules", "--json"]) == 0
    listed = json.loads(capsys.readouterr().out)["rules"]
    assert all(set(found) == {"rule", "reason", "source"} for found in listed) and len(listed) > 30


@pytest.mark.parametrize(
    ("content", "wanted"),
    [
        (b"\xef\xbb\xbforder = 3", "order: given 3"), (b"order = " + b"9" * 5000, "too many digits"), (b"order = 0x" + b"f" * 5000, "more than 4000 digits"),
        (b"order = " + b"[" * 5000, "too deep"), (b'order = ["' + b"a" * 400 + b'"]', "aaa.."), (b'order = ["a\\u001b"]', "a\\x1b"),
    ],
    ids=["byte order mark", "long number", "long hexadecimal", "deep", "long text", "control character"],
)  # fmt: skip
def test_a_procedure_file_of_odd_values_is_refused(
    content: bytes, wanted: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "mine.toml").write_bytes(content)
    path = machine(tmp_path, ('units = "mm"', 'procedure = "mine.toml"\nunits = "mm"'))
    lines = refused(capsys, "check", str(path))
    assert wanted in lines and "accepted" in lines and "mine.toml" in lines


def test_a_figure_is_explained_with_its_formula_its_figures_and_its_source(capsys: pytest.CaptureFixture[str]) -> None:
    lines = printed(capsys, "numbers", "millrace", "--explain", "chain.pinion_set")
    assert "sum of the links" in lines and "Pinion gasket: 0.450 mm" in lines and "source" in lines
    report = json.loads(printed(capsys, "numbers", "millrace", "--explain", "fit.gear_bore", "--json"))
    assert report[0]["formula"].startswith("clearance = bore - shaft") and "90.000 mm" in report[0]["inserted"][0]
    assert "did you mean fit.gear_bore" in refused(capsys, "numbers", "millrace", "--explain", "fit.gear_bor")


def test_drawing_without_opengl_says_what_to_install_and_numbers_still_work(tmp_path: Path) -> None:
    environment = {
        **os.environ,
        "VTK_DEFAULT_OPENGL_WINDOW": "vtkEGLRenderWindow",
        "__EGL_VENDOR_LIBRARY_DIRS": str(tmp_path),
        "LIBGL_DRIVERS_PATH": str(tmp_path),
    }
    environment["LD_LIBRARY_PATH"] = str(tmp_path)
    run = lambda *argv: subprocess.run([sys.executable, "-m", "viewer.cli", *argv], capture_output=True, text=True, env=environment)  # noqa: E731
    done = run("pack", "millrace", "-o", str(tmp_path / "talk"), "--only", "overview")
    assert done.returncode == 2
    assert "libegl1" in done.stderr and "Traceback" not in done.stderr
    assert not (tmp_path / "talk").exists()
    assert run("numbers", "millrace", "--step", "1").returncode == 0


def test_what_a_forgotten_part_costs(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(("check", "millrace", "--forgotten")) == 0
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) == 19 and lines[1].startswith(" 1  Gear key") and lines[-1].startswith("Indicative")
    assert main(("check", "millrace", "--forgotten", "--json")) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["machine"] == "Mill-race gate drive" and told["holds"] and not told["faults"] and told["pitch"] == 1.0
    rows = told["forgotten"]
    assert len(rows) > 15 and rows[0]["item"] == "gear_key" and rows[0]["moments"][-1]["tight"]


def astray(folder: Path) -> Path:
    """The shipped machine with the sleeve after the bearing that it lies under: one line of the order moved."""
    text = files("scenes").joinpath("procedures", "right_angle.toml").read_text(encoding="utf-8")
    line, after = '  "hs_sleeve",\n', '  "hs_bearing_1",\n'
    assert text.count(line) == text.count(after) == 1
    (folder / "mine.toml").write_text(text.replace(line, "").replace(after, after + line), encoding="utf-8")
    return machine(folder, ('units = "mm"', 'procedure = "mine.toml"\nunits = "mm"'))


def test_check_draws_each_way_that_is_not_free(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "ways"
    assert main(["check", str(astray(tmp_path)), "-o", str(out)]) == 1
    told = capsys.readouterr().out
    assert "41.98 mm before its seat" in told and told.splitlines()[-1].endswith(": 1")
    assert [path.name for path in out.iterdir()] == ["blocked-01-hs_sleeve.png"]
    taken = tmp_path / "taken"
    taken.write_text("kept")
    assert "accepted: a folder" in refused(capsys, "check", "millrace", "-o", str(taken)) and taken.read_text() == "kept"
    assert "accepted: one of the two" in refused(capsys, "check", "millrace", "--forgotten", "-o", str(out))


def test_the_pack_holds_the_verdict_on_one_page_and_as_data(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    talk = tmp_path / "talk"
    talk.mkdir()
    (talk / "blocked-03-older_step.png").write_text("old")
    assert main(["pack", str(astray(tmp_path)), "-o", str(talk), "--only", "verdict"]) == 0
    assert sorted(path.name for path in talk.iterdir()) == ["blocked-01-hs_sleeve.png", "verdict.json", "verdict.png"]
    told = json.loads((talk / "verdict.json").read_text(encoding="utf-8"))
    assert not told["order"]["holds"] and told["order"]["pitch"] == 0.5, "the verdict of a pack is the proof"
    assert [path["part"] for path in told["order"]["blocked"]] == ["high_speed_sleeve"] and len(told["forgotten"]) > 15
