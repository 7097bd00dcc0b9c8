"""The record from the command line."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from pypdf import PdfReader

from scenes.examples import open_machine
from scenes.explain import Explainer
from tests.scenes.readied import before_turning
from tests.viewer.browser import ROOT
from viewer.cli import main


def run(job: Path, *options: str) -> int:
    return main(["record", "millrace", str(job), *options])


def add(job: Path, name: str, *values: str, state: str = "fitting") -> int:
    given = [part for value in values for part in ("--value", value)]
    return run(job, "add", "--reading", name, *given, "--initials", "AB", "--state", state)


def test_a_reading_is_added_judged_and_shown(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = tmp_path / "job.jsonl"
    assert add(job, "high_speed_end_play", "0.05 mm", "0.05 mm", "0.06 mm") == 0
    assert "Entry 2 is on the disk: High-speed end play." in capsys.readouterr().out
    assert add(job, "high_speed_end_play", "0.25 mm", "0.25 mm", "0.26 mm") == 1
    assert "High-speed float gasket" in capsys.readouterr().out
    assert run(job, "add", "--strike", "3", "--initials", "AB", "--note", "dial slipped") == 0
    capsys.readouterr()
    assert run(job, "show", "--json") == 0
    report = json.loads(capsys.readouterr().out)
    assert [(one["number"], one["struck"]) for one in report["readings"]] == [(2, 0), (3, 4)]
    assert [one["verdict"] for one in report["readings"]] == ["fine", "stop"]
    assert not any("High-speed end play:" in line and "not in order" in line for line in report["open"])
    assert run(job, "show") == 0
    assert "struck in entry 4 by AB: dial slipped" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (["add", "--reading", "backlesh", "--value", "1 mm", "--initials", "AB", "--state", "left"], "did you mean backlash?"),
        (["add", "--reading", "backlash", "--value", "1", "--initials", "AB", "--state", "left"], "backlash '1'"),
        (["add", "--reading", "backlash", "--value", "1 mm", "--state", "left"], "accepted: 1 to 12 characters"),
        (
            ["add", "--reading", "backlash", "--value", "1 mm", "--initials", "AB", "--step", "backlish", "--state", "left"],
            "did you mean backlash?",
        ),
        (["add", "--strike", "4", "--initials", "AB", "--note", "x"], "entry 4: no reading that stands"),
        (["add", "--strike", "4", "--reading", "backlash"], "--strike: with --reading: accepted: one of the two"),
        (
            ["add", "--strike", "4", "--initials", "AB", "--note", "x", "--time", "2020-11-24 14:30"],
            "--time: with --strike: accepted",
        ),
        (["sheet"], "--out: missing"),
        (["show"], "not found: accepted: the record of a job"),
        (["show", "--strike", "2"], "--strike: with show: accepted: with add"),
        (["sheet", "-o", "sheet.pdf", "--json"], "--json: with sheet: accepted: with add, show, rounds"),
        (["add", "--strike", "4", "--state", "left"], "--state: with --strike: accepted: with a reading"),
        (["add", "--reading", "pattern", "--value", "drive toe,low", "--initials", "A\x1b[31m"], "signs that can't be printed"),
        (["add", "--reading", "backlash", "--value", "0.2 mm", "--initials", "AB", "--note", "x\nEntry 9"], "can't be printed"),
        (
            ["add", "--reading", "packers_in", "--value", "3", "--initials", "AB", "--step", "3"],
            "--step packers, the only one that does",
        ),
        (["rounds"], "not found: accepted: the record of a job"),
        (["report", "-o", "left.pdf"], "not found: accepted: the record of a job"),
        (["report"], "--out: missing"),
    ],
)
def test_bad_input_is_refused_in_clear_lines_and_nothing_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], options: list[str], told: str
) -> None:
    assert run(tmp_path / "job.jsonl", *options) == 2
    assert told in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("content", ["my own notes", '{"name":"another program"}\n'])
def test_a_file_of_somebody_else_is_not_written_into(tmp_path: Path, capsys: pytest.CaptureFixture[str], content: str) -> None:
    job = tmp_path / "notes"
    job.write_text(content)
    assert add(job, "backlash", "0.2 mm") == 2
    assert "accepted" in capsys.readouterr().err and job.read_text() == content


def test_a_sheet_does_not_take_the_place_of_a_record_that_is_not_there_yet(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = tmp_path / "job.jsonl"
    assert run(job, "sheet", "-o", str(job)) == 2
    assert "is the record" in capsys.readouterr().err and not job.exists()


def test_a_fault_after_an_entry_is_on_the_disk_says_that_it_is(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("no judgement")

    monkeypatch.setattr("scenes.record_listing.Opened.judge", broken)
    job = tmp_path / "job.jsonl"
    assert add(job, "backlash", "0.2 mm") == 1
    assert "Entry 2 is on the disk, do not enter it again" in capsys.readouterr().err
    assert len(job.read_text().splitlines()) == 2


def test_a_record_is_signed_to_be_of_this_machine(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = tmp_path / "job.jsonl"
    signed = ("add", "--same-machine", "--initials", "AB", "--note", "2 on both gears")
    assert run(job, *signed) == 2
    assert "not found: accepted: the record of a job" in capsys.readouterr().err and not job.exists()
    add(job, "backlash", "0.2 mm")
    job.write_text(job.read_text().replace('"set":"set 1"', '"set":"set 2"'))
    before = job.read_bytes()
    assert add(job, "backlash", "0.2 mm") == 2
    assert "nothing was added. Stop." in capsys.readouterr().err and job.read_bytes() == before
    for wrong in (
        ("add", "--same-machine"),
        (*signed, "--reading", "backlash"),
        (*signed, "--state", "left"),
        ("show", "--same-machine"),
    ):
        assert run(job, *wrong) == 2
    assert "--same-machine: with show: accepted: with add" in capsys.readouterr().err and job.read_bytes() == before
    for act, options in (("report", []), ("sheet", ["--units", "inch"])):
        assert run(job, act, "-o", str(tmp_path / "a.pdf"), *options) == 0
        first = " ".join(PdfReader(tmp_path / "a.pdf").pages[0].extract_text().split())
        assert "▲ Stop. The record was begun for gears of set 2" in first
    capsys.readouterr()
    assert run(job, *signed) == 0
    assert "Entry 3 says that the record is of Mill-race gate drive" in capsys.readouterr().out
    add(job, "backlash", "0.2 mm")
    assert "Entry 4 is on the disk" in capsys.readouterr().out


def test_a_record_that_can_not_be_written_is_refused_in_a_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert add(tmp_path / "nowhere" / "job.jsonl", "backlash", "0.2 mm") == 2
    assert "can't be used: No such file or directory" in capsys.readouterr().err


def test_numbers_take_what_was_measured_and_the_gasket_that_was_put_in(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = tmp_path / "job.jsonl"
    add(job, "gaskets.pinion_gasket", *["0.60 mm"] * 4)
    capsys.readouterr()
    main(["numbers", "millrace", "--step", "pinion_gasket", "--gasket", "pinion_gasket=0.6 mm"])
    by_option = capsys.readouterr().out
    main(["numbers", "millrace", "--step", "pinion_gasket", "--record", str(job)])
    assert capsys.readouterr().out == by_option
    main(["numbers", "millrace", "--step", "pinion_gasket"])
    assert capsys.readouterr().out != by_option


def test_the_report_shows_as_found_beside_as_left_and_what_is_open(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    first, job, out = tmp_path / "first.jsonl", tmp_path / "job.jsonl", tmp_path / "left.pdf"
    add(first, "backlash", *["0.22 mm"] * 4, state="left")
    add(job, "backlash", "0.31 mm", "0.33 mm", "0.35 mm", "0.33 mm", state="found")
    add(job, "pattern", "drive heel", "coast heel", state="left")
    add(job, "backlash", "0.21 mm", "0.23 mm", "0.25 mm", "0.23 mm", state="left")
    add(job, "low_speed_end_play", *["0.09 mm"] * 3, state="left")
    assert run(job, "report", "-o", str(out), "--before", str(first)) == 0
    told = " ".join(" ".join(page.extract_text() for page in PdfReader(out).pages).split())
    for words in (
        "Record as left",
        "0.330 mm",
        "0.230 mm",
        "63 %, 50 %",
        "no reason written",
        "Still open",
        "Signatures",
        "2: job.jsonl",
    ):
        assert words in told, words
    assert "maker's manual" in told
    before = out.read_bytes()
    assert run(job, "report", "-o", str(out), "--before", str(first)) == 0
    assert out.read_bytes() == before
    assert sorted(path.name for path in tmp_path.iterdir()) == ["first.jsonl", "job.jsonl", "left.pdf"]


def test_a_report_is_never_written_over_a_record(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job, before = tmp_path / "job.jsonl", tmp_path / "before.jsonl"
    add(before, "backlash", "0.2 mm")
    add(job, "backlash", "0.2 mm")
    kept = {path: path.read_bytes() for path in (job, before)}
    for out in (job, before):
        assert run(job, "report", "-o", str(out), "--before", str(before)) == 2
        assert "is the record" in capsys.readouterr().err
    (tmp_path / "notes.pdf").write_text("mine")
    assert run(job, "report", "-o", str(tmp_path / "notes.pdf")) == 2
    assert "is no PDF" in capsys.readouterr().err and (tmp_path / "notes.pdf").read_text() == "mine"
    assert {path: path.read_bytes() for path in kept} == kept


def test_a_record_that_is_not_there_is_no_measured_machine(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for command in (
        ["numbers"],
        ["check"],
        ["adjust", "--backlash", "0.3 mm", "--drive", "toe"],
        ["pack", "-o", str(tmp_path / "talk")],
    ):
        assert main([command[0], "millrace", *command[1:], "--record", str(tmp_path / "typo.jsonl")]) == 2
        assert "typo.jsonl: not found: accepted: the record of a job" in capsys.readouterr().err


def test_the_rounds_are_told_and_adjust_takes_the_readings_of_the_last_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = tmp_path / "job.jsonl"
    before_turning(Explainer(open_machine("millrace")[0]), job)
    add(job, "gaskets.pinion_gasket", *["0.50 mm"] * 4)
    add(job, "high_speed_end_play", *["0.05 mm"] * 3)
    add(job, "backlash", *["0.36 mm"] * 4)
    capsys.readouterr()
    assert main(["adjust", "millrace", "--record", str(job)]) == 1  # nothing typed is wrong: no answer yet
    assert "Tooth pattern: not read in this round" in capsys.readouterr().out
    add(job, "pattern", "drive heel", "coast heel")
    capsys.readouterr()
    assert main(["adjust", "millrace", "--record", str(job)]) == 0
    moves = [line for line in capsys.readouterr().out.splitlines() if line][1:]
    assert any("Recommended move" in line for line in moves)
    assert run(job, "rounds") == 0
    told = capsys.readouterr().out
    assert told.split("Next move:\n")[1].splitlines() == [f"  {line}" for line in moves]
    assert main(["adjust", "millrace", "--backlash", "0.36 mm", "--drive", "heel", "--coast", "heel", "--json"]) == 0
    typed = json.loads(capsys.readouterr().out)
    assert run(job, "rounds", "--json") == 0
    report = json.loads(capsys.readouterr().out)
    assert (
        report["next"]["adjust"]["move"]["gaskets"][1]["to"]
        == typed["move"]["gaskets"][1]["to"]
        == report["next"]["gaskets"]["gear_gasket"]
    )
    assert [one["number"] for one in report["rounds"]] == [1] and report["closing"][0]["done"]
    add(job, "gaskets.gear_gasket", *["0.65 mm"] * 4)
    capsys.readouterr()
    assert main(["adjust", "millrace", "--record", str(job), "--json"]) == 1
    assert "before the Gear gasket was changed (entry 10): read again" in json.loads(capsys.readouterr().out)["wanted_first"][0]
    for extra in (["--gasket", "gear_gasket=0.6 mm"], ["--sigma", "0.01 mm"], ["--dial", "lever"]):
        assert main(["adjust", "millrace", "--record", str(job), *extra]) == 2
        assert "with --record alone" in capsys.readouterr().err


def test_as_found_adjust_gives_the_gaskets_wanted_and_nothing_to_take_off(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A machine that comes apart all the same is not dismantled for a gasket, and its new bearings change what is wanted."""
    job = tmp_path / "job.jsonl"
    for name, values in (
        ("high_speed_end_play", ["0.05 mm"] * 3), ("low_speed_end_play", ["0.05 mm"] * 3), ("backlash", ["0.36 mm"] * 4),
        ("pattern", ["drive heel", "coast heel"]), ("gaskets.pinion_gasket", ["0.45 mm"] * 4), ("gaskets.gear_gasket", ["0.45 mm"] * 4),
    ):  # fmt: skip
        add(job, name, *values, state="found")
    capsys.readouterr()
    assert main(["adjust", "millrace", "--record", str(job)]) == 0
    told = capsys.readouterr().out
    assert "By what was read as found" in told and "New bearings, spacers" in told
    assert "Steps to do again" not in told and "Recommended move" not in told and "come off" not in told
    assert main(["adjust", "millrace", "--record", str(job), "--json"]) == 0
    report = json.loads(capsys.readouterr().out)
    assert report["move"]["costs"] == [] and any(one["change"] for one in report["move"]["gaskets"])


def test_the_report_tells_round_by_round_how_it_came_inside_its_limits(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job, out = tmp_path / "job.jsonl", tmp_path / "left.pdf"
    for size, play in (("0.50 mm", "0.14 mm"), ("0.40 mm", "0.05 mm")):
        add(job, "gaskets.high_speed_float_gasket", *[size] * 4)
        add(job, "high_speed_end_play", *[play] * 3)
    assert run(job, "report", "-o", str(out)) == 0
    told = " ".join(" ".join(page.extract_text() for page in PdfReader(out).pages).split())
    for words in (
        "How it was brought inside its limits",
        "Round 1",
        "Round 2",
        "0.050 mm ±",
        "High-speed float gasket 0.400 mm",
    ):
        assert words in told, words
    assert main(["record", "millrace", str(job), "report", "-o", str(out), "--language", "es"]) == 0
    told = " ".join(" ".join(page.extract_text() for page in PdfReader(out).pages).split())
    assert "Cómo se llevó dentro de sus límites" in told and "Ronda 2" in told and "0,050 mm ±" in told


def test_every_name_of_a_reading_is_listed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(tmp_path / "job.jsonl", "names") == 0
    told = capsys.readouterr().out
    assert "backlash  [a length; step 68]  Backlash" in told and "gaskets.pinion_gasket  [a length; step -]" in told


def test_hostile_words_stay_words_in_the_report(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job, out = tmp_path / "job.jsonl", tmp_path / "left.pdf"
    add(job, "found_condition", '#read("/etc/passwd") *b* </w> \u202eabc $x$')
    assert run(job, "report", "-o", str(out)) == 0
    assert '#read("/etc/passwd") *b* </w>' in " ".join(" ".join(page.extract_text() for page in PdfReader(out).pages).split())


def test_a_step_that_does_not_ask_for_a_reading_is_told_which_one_does(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = ["--value", "0.2 mm", "--initials", "AB", "--step", "5"]
    assert run(tmp_path / "job.jsonl", "add", "--reading", "backlash", *given) == 2
    said = capsys.readouterr().err
    assert "does not ask for it: accepted: --step backlash, the only one that does" in said and "several" not in said
    assert run(tmp_path / "job.jsonl", "add", "--reading", "shoulder_gap", *given) == 2
    assert "asked at several steps: accepted: --step with one of" in capsys.readouterr().err
    assert not (tmp_path / "job.jsonl").exists()


@pytest.mark.parametrize("act", ["sheet", "report"])
def test_a_pdf_is_written_under_a_pdf_s_name_alone(act: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = tmp_path / "job.jsonl"
    add(job, "found_condition", "dry")
    before = sorted(tmp_path.iterdir())
    for name in ("blank.txt", "blank", ".pdf"):
        assert run(job, act, "-o", str(tmp_path / name)) == 2
        assert "accepted: a name that ends in .pdf" in capsys.readouterr().err
    assert sorted(tmp_path.iterdir()) == before


@pytest.mark.parametrize("after", [0.05, 0.3, 0.6])
def test_ctrl_c_while_the_program_loads_ends_it_without_a_traceback(after: float) -> None:
    """130 as shells have it: 128 and the number of the signal."""
    begin = (
        "import os, signal, sys, threading; signal.signal(signal.SIGINT, signal.default_int_handler);"  # as in a terminal
        f"threading.Timer({after}, os.kill, (os.getpid(), signal.SIGINT)).start();"
        "from viewer.begin import main; code = main(['check', 'millrace']); sys.exit(code)"
    )
    done = subprocess.run([sys.executable, "-c", begin], capture_output=True, text=True, timeout=60, cwd=ROOT, check=False)
    assert (done.returncode, done.stdout) == (128 + signal.SIGINT, "") and "Traceback" not in done.stderr


def test_a_record_goes_with_the_page_alone() -> None:
    for extra in ("--window", "--share"):
        command = [sys.executable, "-m", "viewer.cli", "show", "millrace", "--record", "job.jsonl", extra]
        done = subprocess.run(command, capture_output=True, text=True, timeout=60, cwd=ROOT, check=False)
        assert done.returncode == 2 and "the page alone adds to a record" in done.stderr


def test_temperature_and_instrument_go_with_a_reading_and_into_the_report(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job, out = tmp_path / "job.jsonl", tmp_path / "left.pdf"
    given = ["add", "--reading", "low_speed_end_play", *["--value", "0.05 mm"] * 3, "--state", "left", "--initials", "AB"]
    warm = ["--temperature", "21 degC", "--temperature", "29 degC", "--gauge-temperature", "20 degC"]
    assert run(job, *given, *warm, "--instrument", "dial no. 4", "--calibrated-until", "2020-01-31") == 0
    said = capsys.readouterr().out
    assert "20 °C and 29 °C are 9 K apart" in said and "calibration of dial no. 4 ran out on 2020-01-31" in said
    assert run(job, *given) == 0
    assert "Part temperature not noted" in capsys.readouterr().out
    assert run(job, *given, "--calibrated-until", "soon") == 2
    assert "accepted: the last day as a date" in capsys.readouterr().err
    torque = ["--reading", "split_screw", "--value", "10 x 160 N m", "--step", "split_screws"]
    assert run(job, "add", *torque, "--state", "left", "--initials", "AB") == 0
    capsys.readouterr()
    assert run(job, "show", "--json") == 0
    first = json.loads(capsys.readouterr().out)["readings"][0]
    assert (first["temperatures"], first["gauge"], first["due"], first["counts"]) == ([21.0, 29.0], 20.0, "2020-01-31", False)
    assert run(job, "report", "-o", str(out)) == 0
    told = " ".join(" ".join(page.extract_text() for page in PdfReader(out).pages).split())
    for words in (
        "Instruments and wrenches",
        "dial no. 4",
        "2020-01-31",
        "not stated",
        "temperature not noted",
        "after the first run",
    ):
        assert words in told, words
