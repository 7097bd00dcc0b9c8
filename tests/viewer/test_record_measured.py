"""What was read takes the place of what is worked out, wherever the numbers of a job are told."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from scenes.examples import open_machine
from scenes.explain import Explainer
from scenes.order import QUICK, Proof
from scenes.record_listing import opened
from scenes.verdict import Verdict
from scenes.wording import speaking
from tests.scenes.true_machine import Crew
from viewer.cli import main

READ: dict[str, dict[str, tuple[str, ...]]] = {
    "millrace": {
        "gaskets.gear_gasket": ("0.65 mm",) * 4,
        "high_speed_end_play": ("0.05 mm", "0.05 mm", "0.06 mm"),
        "low_speed_end_play": ("0.05 mm", "0.05 mm", "0.06 mm"),
        "pinion_running": ("205.01 mm",),
        "gear_distance": ("92.020 mm",),
        "backlash": ("0.240 mm", "0.254 mm", "0.254 mm", "0.240 mm"),
    },
    "slipway": {
        "gaskets.gear_gasket": ("0.010 in",) * 4,
        "high_speed_end_play": ("0.0025 in",) * 3,
        "low_speed_end_play": ("0.0025 in",) * 3,
        "pinion_running": ("5.5005 in",),
        "gear_distance": ("3.1505 in",),
        "backlash": ("0.009 in", "0.010 in", "0.010 in", "0.009 in"),
    },
}
SOLVED = {"chain.high_speed_end_play", "chain.low_speed_end_play", "chain.pinion_running", "chain.gear_distance", "mesh.backlash"}


def add(machine: str, job: Path, name: str, *values: str, **more: str) -> None:
    given = [part for value in values for part in ("--value", value)]
    options = [part for option, value in more.items() for part in (f"--{option}", value)]
    step = ["--step", "backlash"] if name in ("pinion_running", "gear_distance") else []
    who = ["--initials", "AB", "--state", "left"]
    assert main(["record", machine, str(job), "add", "--reading", name, *given, *step, *who, *options]) in (0, 1)


def recorded(machine: str, job: Path, *, but: str = "") -> Path:
    for name, values in READ[machine].items():
        if name != but:
            add(machine, job, name, *values)
    return job


def notes(capsys: pytest.CaptureFixture[str], machine: str, *options: str) -> list[dict[str, Any]]:
    capsys.readouterr()
    main(["numbers", machine, "--json", *options])
    return [note for step in json.loads(capsys.readouterr().out)["steps"] for note in step["callouts"]]


def present(machine: str, job: Path) -> Explainer:
    loaded, path = open_machine(machine)
    return opened(Explainer(loaded, path.parent if path else None), job).present


@pytest.mark.parametrize("machine", list(READ))
def test_numbers_and_check_judge_what_was_read(
    machine: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(
        Explainer, "verdict", lambda *_, **__: Verdict((), Proof((), 80, 1, QUICK), ())
    )  # the order is not asked here
    job = recorded(machine, tmp_path / "job.jsonl")
    steps = ("hs_end_play", "ls_end_play", "backlash")
    told = [note for step in steps for note in notes(capsys, machine, "--step", step, "--record", str(job))]
    read = [note for note in told if note["key"] in SOLVED]
    assert {note["key"] for note in read} == SOLVED and {note["verdict"] for note in read} == {"fine"}
    assert all(note["source"] == f"reading, entry {note['entry']}" for note in read)
    assert all("measured (entry" in note["text"] and "; expected " in note["text"] for note in read)
    assert all(note["short"].endswith("measured") for note in read)
    assert not [note["key"] for note in told if note["verdict"] == "stop"]
    capsys.readouterr()
    assert main(["check", machine, "--record", str(job)]) == 0
    assert "not read" not in capsys.readouterr().out


def test_the_words_of_a_reading(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = recorded("millrace", tmp_path / "job.jsonl", but="gear_distance")
    step = ("--step", "backlash", "--record", str(job))
    told = {note["key"]: note for note in notes(capsys, "millrace", *step)}
    said = "0.247 mm, measured (entry 6, 4 values 0.240 mm to 0.254 mm); expected 0.0"
    assert said in told["mesh.backlash"]["text"] and told["mesh.backlash"]["text"].endswith("by the tooth model.")
    assert told["mesh.backlash"]["short"] == "backlash 0.247 mm, measured"
    assert told["chain.gear_distance"]["verdict"] == "stop" and "entry" not in told["chain.gear_distance"]  # not read
    tried = {note["key"]: note for note in notes(capsys, "millrace", *step, "--gasket", "gear_gasket=0.5 mm")}
    assert "entry" not in tried["mesh.backlash"] and "not read" in tried["mesh.backlash"]["text"]
    assert tried["chain.pinion_running"]["entry"] == 5  # the gear gasket does not move it
    capsys.readouterr()
    assert main(["numbers", "millrace", *step, "--explain", "mesh.backlash"]) == 0
    assert "expected, for comparison" in capsys.readouterr().out


def test_what_holds_no_longer_or_does_not_count_is_not_told_as_measured(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = recorded("millrace", tmp_path / "job.jsonl")
    step = ("--step", "backlash", "--record", str(job))
    add("millrace", job, "backlash", *["0.22 mm"] * 4, instrument="dial 7", **{"calibrated-until": "2020-01-01"})
    told = {note["key"]: note for note in notes(capsys, "millrace", *step)}["mesh.backlash"]
    assert told["entry"] == 7 and told["verdict"] == "watch" and "Entry 8 came later and does not count" in told["text"]
    add("millrace", job, "backlash", "0.10 mm", "0.10 mm", "0.11 mm", "0.10 mm")
    told = {note["key"]: note for note in notes(capsys, "millrace", *step)}["mesh.backlash"]
    assert told["entry"] == 9 and told["verdict"] == "stop" and "do not run it" in told["text"]
    add("millrace", job, "backlash", "0.22 mm")
    told = {note["key"]: note for note in notes(capsys, "millrace", *step)}["mesh.backlash"]
    assert (told["entry"], told["verdict"]) == (9, "stop") and "read again" in told["text"]  # one place mends no stop
    add("millrace", job, "gaskets.gear_gasket", *["0.55 mm"] * 4)
    told = {note["key"]: note for note in notes(capsys, "millrace", *step)}
    assert "entry" not in told["mesh.backlash"] and "entry" not in told["chain.gear_distance"]
    assert "entry" not in told["chain.pinion_running"]  # read at the step of the backlash, which is done again


def test_no_end_play_read_is_a_stop(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = tmp_path / "job.jsonl"
    add("millrace", job, "high_speed_end_play", *["0 mm"] * 3)
    told = [note for note in notes(capsys, "millrace", "--record", str(job)) if note["key"] == "chain.high_speed_end_play"]
    assert told and all(note["verdict"] == "stop" and "do not turn it" in note["text"] for note in told)


def test_the_dial_shows_what_was_read_in_both_languages(tmp_path: Path) -> None:
    explainer = present("millrace", recorded("millrace", tmp_path / "job.jsonl"))
    for language, word in (("en", "measured"), ("es", "medido")):
        with speaking(language):
            now = replace(explainer.start_settings(), step="backlash")
            met = explainer.readings(now, "backlash").mesh_view
        assert (
            met is not None and met.dial.text.replace(",", ".") == f"0.247 mm {word}" and met.dial.reading == pytest.approx(0.247)
        )
        assert met.verdict in ("", "fine") and "entr" in met.said[0]


def test_a_pack_tells_what_was_read(tmp_path: Path) -> None:
    job, out = recorded("millrace", tmp_path / "job.jsonl"), tmp_path / "pack"
    assert main(["pack", "millrace", "--record", str(job), "-o", str(out), "--only", "numbers", "--step", "backlash"]) == 0
    report = json.loads((out / "numbers.json").read_text(encoding="utf-8"))
    told = next(note for note in report["steps"][0]["callouts"] if note["key"] == "mesh.backlash")
    assert told["entry"] == 7 and told["verdict"] == "fine"


def test_marks_that_were_read_stand_in_the_note_and_the_model_beside_them(tmp_path: Path) -> None:
    crew = Crew("millrace", tmp_path / "job")
    crew.read()
    now = replace(crew.planned.start_settings(), step="pattern")

    def told() -> list[dict[str, Any]]:
        step = crew.record.present.numbers(now)["steps"][0]
        return [one for one in step["callouts"] if one["key"].startswith("mesh.pattern.")]

    marked = crew.record.job.latest("pattern")
    assert marked is not None
    for one, said in zip(told(), marked.typed, strict=True):
        along = float(said.split()[1])
        assert one["value"] == along and f"({along:.0f} % from the toe" in one["text"] and f"entry {marked.number}" in one["text"]
        assert "The unloaded model has them at" in one["text"]
    crew.put_in({"gear_gasket": 0.7})
    assert not any("as read" in one["text"] for one in told())
