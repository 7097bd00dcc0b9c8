"""`check --precedence` and `check --suggest` as a planner meets them."""

from __future__ import annotations

import json
import random
import re
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
from imageio.v3 import imread

from scenes import order_lines, procedure_file
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
    assert picture[130:1870, 450:464, :3].min() > 200, "no heading runs into the plot"
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
    assert main(["check", path, "--precedence", "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert told["machine"] and told["holds"] is False and any("Gear key" in fault for fault in told["faults"])
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


def without(content: str, *steps: str) -> str:
    """A procedure file without some steps: their lines and their tables."""
    for step in steps:
        table = order_lines.table_of(content, step)
        assert table and content.count(f'  "{step}",\n') == 1
        content = content.replace(f'  "{step}",\n', "").replace(table, "")
    return content


def test_forgotten_parts_of_an_order_with_gaps_are_not_told_and_the_gaps_are(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = planned(tmp_path, without(PROCEDURE, "gear_spacer"))
    assert main(["check", path, "--forgotten"]) == 1
    assert "Gear spacer" in capsys.readouterr().out
    assert main(["check", path, "--forgotten", "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert told["machine"] and told["holds"] is False and "forgotten" not in told
    assert any("Gear spacer" in fault for fault in told["faults"])


def test_forgotten_parts_of_an_order_with_a_way_that_is_not_free_come_with_a_warning(
    wrong: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = planned(tmp_path, wrong)
    assert main(["check", path, "--forgotten"]) == 1
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("The order is at fault") and "Gear key" in lines[1] and lines[-1].startswith("Indicative")


def test_check_judges_the_settings_it_is_given(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A dry trial is asked for when a chain has changed; steps of the dry trial may be skipped otherwise."""
    path = planned(tmp_path, without(PROCEDURE, "trial_close", "trial_read", "trial_open"))
    assert main(["check", path]) == 0
    capsys.readouterr()
    assert main(["check", path, "--gasket", "pinion_gasket=0.55 mm", "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert told["settings"]["gaskets"] == {"pinion_gasket": 0.55}
    assert [found["rule"] for found in told["order"]["breaches"]] == ["trial"]
    assert main(["check", path, "--heater", "60 degC"]) == 1, "the gear does not go on at that"
    assert "60" in capsys.readouterr().out
    assert "accepted" in refused(capsys, "check", path, "--ambient", "900 degC")


def test_a_mended_file_keeps_its_byte_order_mark_its_line_ends_and_gets_back_what_it_lacked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, mended = planned(tmp_path, ""), tmp_path / "mended.toml"
    (tmp_path / "mine.toml").write_bytes(b"\xef\xbb\xbf" + without(PROCEDURE, "packers").replace("\n", "\r\n").encode())
    assert main(["check", path, "--suggest", "-o", str(mended)]) == 0
    assert 'Put step "packers" (' in capsys.readouterr().out
    made = mended.read_bytes()
    assert made.startswith(b"\xef\xbb\xbf#") and made.count(b"\r\n") == made.count(b"\n") > 300
    assert procedure_file.parse(made).order == procedure_file.load().order


LINES = re.compile(r"(?m)^(?!#).*\S.*$")


@pytest.mark.parametrize("seed", range(4))
def test_no_mutated_procedure_file_brings_an_unexpected_fault(
    seed: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Lines dropped, doubled or changed over, and words put in place of others: right, at fault, or refused by the file's name."""
    chance = random.Random(seed)
    sides = ['from = "+y"', 'from = "-z"', 'path = [["+y", 300]]', 'path = [["-x", 40], ["+z", 5]]']
    for _ in range(6):
        lines = PROCEDURE.splitlines()
        for _ in range(chance.randint(1, 3)):
            place = chance.choice([number for number, line in enumerate(lines) if LINES.match(line)])
            match chance.randrange(5):
                case 0:
                    del lines[place]
                case 1:
                    lines.insert(place, lines[place])
                case 2:
                    other = chance.choice([number for number, line in enumerate(lines) if line.startswith('  "')])
                    lines.insert(other, lines.pop(place))
                case 3:
                    heads = [number for number, line in enumerate(lines) if line.startswith("[step.")]
                    lines.insert(chance.choice(heads) + 1, chance.choice(sides))
                case _:
                    lines[place] = lines[place].replace('"', chance.choice(["", "'", '"x', "[", "\x07"]), 1)
        path = planned(tmp_path, "\n".join(lines))
        code = main(["check", path, chance.choice(["--suggest", "--json", "--precedence", "--forgotten"])])
        told = capsys.readouterr()
        assert code in (0, 1, 2) and "unexpected" not in told.err and "Traceback" not in told.err
        assert code != 2 or ("mine.toml" in told.err and not told.out), told.err
