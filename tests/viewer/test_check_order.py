"""`check --precedence` and `check --suggest` as a planner meets them."""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
from imageio.v3 import imread

from tests.viewer.test_cli import machine, refused
from viewer.cli import main

PROCEDURE = files("scenes").joinpath("procedures", "right_angle.toml").read_text(encoding="utf-8")


def planned(folder: Path, order: str, name: str = "mine.toml") -> str:
    """A machine file with a planner's own order."""
    (folder / name).write_text(order, encoding="utf-8")
    return str(machine(folder, ('units = "mm"', f'procedure = "{name}"\nunits = "mm"')))


@pytest.fixture
def wrong() -> str:
    """One line moved: the gear goes on before its key."""
    assert PROCEDURE.count('  "gear_key",\n  "gear_hot",\n') == 1
    return PROCEDURE.replace('  "gear_key",\n  "gear_hot",\n', '  "gear_hot",\n  "gear_key",\n')


def test_a_moved_line_is_found_put_right_and_then_passes(wrong: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path, mended = planned(tmp_path, wrong), tmp_path / "mended.toml"
    assert main(["check", path]) == 1
    assert "Gear key" in capsys.readouterr().out
    assert main(["check", path, "--suggest", "-o", str(mended)]) == 0
    printed = capsys.readouterr().out
    assert printed.startswith("Steps to move: 1.")
    block = printed[printed.index("order = [") :]
    pasted = wrong[: wrong.index("order = [")] + block + wrong[wrong.index("]", wrong.index('"oil_first_run",')) + 2 :]
    for content in (mended.read_text(encoding="utf-8"), pasted):
        assert main(["check", planned(tmp_path, content, "again.toml")]) == 0
        capsys.readouterr()


def test_precedence_is_printed_drawn_and_given_as_data(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    drawing = tmp_path / "order.png"
    assert main(["check", "slipway", "--precedence", "-o", str(drawing)]) == 0
    printed = capsys.readouterr().out
    assert "Critical path" in printed and "Two fitters" in printed and "Indicative" in printed
    picture = imread(drawing)
    assert picture.shape[1] == 1700 and np.mean(picture[..., :3].min(axis=2) < 128) > 0.01, "ink on the sheet"
    assert main(["check", "slipway", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)["order"]["precedence"]
    steps = [row["step"] for row in found["freedom"]]
    assert len(steps) == 75 and all(row["earliest"] <= row["number"] <= row["latest"] for row in found["freedom"])
    assert all(steps.index(link["before"]) < steps.index(link["after"]) and link["text"] for link in found["links"])
    assert f"{sum(link['direct'] for link in found['links'])} direct links" in printed


def test_precedence_of_an_order_that_does_not_hold_is_not_told(
    wrong: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, drawing = planned(tmp_path, wrong), tmp_path / "order.svg"
    assert main(["check", path, "--precedence", "-o", str(drawing)]) == 1
    assert "--suggest" in capsys.readouterr().out and not drawing.exists()
    assert main(["check", path, "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["order"]["precedence"] is None


@pytest.mark.parametrize(
    ("options", "wanted"),
    [
        (["-o", "order.png"], "with --precedence or --suggest"),
        (["--precedence", "-o", "order.doc"], ".png or .svg"),
        (["--suggest", "-o", "order.png"], ".toml"),
        (["--forgotten", "-o", "order.toml"], "nothing is written"),
        (["--rules", "--proof"], "one of the two"),
        (["--precedence", "-o", "no/such/folder/order.svg"], "can't be written"),
    ],
)
def test_a_file_that_can_t_be_written_is_refused(options: list[str], wanted: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    assert wanted in refused(capsys, "check", "millrace", *options)
    assert list(tmp_path.iterdir()) == []


def test_a_procedure_file_is_never_overwritten(wrong: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = planned(tmp_path, wrong)
    assert "exists" in refused(capsys, "check", path, "--suggest", "-o", str(tmp_path / "mine.toml"))
    assert (tmp_path / "mine.toml").read_text(encoding="utf-8") == wrong
