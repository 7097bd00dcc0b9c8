"""The command line as a user meets it: right answers, clear refusals, nothing half-written."""

from __future__ import annotations

import json
import os
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
    assert sorted(path.name for path in (tmp_path / "talk").iterdir()) == ["numbers.csv", "numbers.json"]
    assert list(tmp_path.glob(".talk*")) == []
    blocked = tmp_path / "file"
    blocked.write_text("kept")
    capsys.readouterr()
    assert "accepted: a folder" in refused(capsys, "pack", "slipway", "-o", str(blocked), "--only", "numbers")
    assert "can't be written" in refused(capsys, "pack", "slipway", "-o", str(blocked / "below"), "--only", "numbers")
    assert blocked.read_text() == "kept"


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
