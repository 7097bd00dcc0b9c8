"""The command line as a user meets it: right answers, clear refusals, nothing half-written."""

from __future__ import annotations

import csv
import json
import os
import re
import subprocess
import sys
from importlib.resources import files
from pathlib import Path

import pytest

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


def test_a_written_procedure_can_be_used_from_the_machine_file(tmp_path: Path) -> None:
    assert main(["start", "--procedure", str(tmp_path / "order.toml")]) == 0
    path = machine(tmp_path, ('units = "mm"', 'units = "mm"\nprocedure = "order.toml"'))
    assert main(["check", str(path)]) == 0


@pytest.mark.parametrize("name", ["millrace", "slipway"])
def test_shipped_machines_have_no_stop(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", name]) == 0
    assert "75 steps, 0 stop" in capsys.readouterr().out


FAULTS = [
    ('outer_module = "8 mm"', "outer_module = 8", ["gears.outer_module", "8", "give a unit"]),
    ('collar_diameter = "72 mm"', 'collar_diameter = "-72 mm"', ["collar_diameter", "-72 mm", "accepted"]),
    ('collar_diameter = "72 mm"', 'collar_diameter = "55 mm"', ["high_speed_shaft.bearing_seat.diameter", "60.000", "collar_diameter (55.000 mm)"]),
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
    [(b"", "empty"), (b"\x00\x01\xff\xfe" * 50, "not a text file"), (b"name = ", "not valid TOML"), (b"name = 1", "missing")],
    ids=["empty", "binary", "broken", "almost empty"],
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
        (["--heater", "900 degC"], ["heater", "900 °C", "300 °C"]), (["--heater", "110"], ["--heater", "give a unit"]), (["--step", "99"], ["--step", "1 to 75"]),
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
    assert sorted(path.name for path in (tmp_path / "talk").iterdir()) == ["kit.csv", "numbers.csv", "numbers.json", "times.csv"]
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


@pytest.mark.parametrize("option", ["--times", "--kit"])
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
