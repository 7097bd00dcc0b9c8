"""The README's job from strip-down to signature, run line by line as it stands there."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from viewer.cli import main

README = Path(__file__).parents[2].joinpath("README.md").read_text(encoding="utf-8")
OUTSIDE_LIMITS = ("backlash",)
"""Readings of that job that are outside their limits, as the page says."""


def job() -> list[list[str]]:
    """Arguments of each command of the job."""
    section = README.split("## One job, from strip-down to signature")[1].split("\n## ")[0]
    lines = [line for block in re.findall(r"```sh\n(.*?)```", section, re.DOTALL) for line in block.splitlines()]
    assert all(line.startswith("shimwright ") for line in lines)
    return [shlex.split(line)[1:] for line in lines]


def test_the_job_of_the_readme_runs_as_it_stands_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    told = ""
    for words in job():
        if words[0] == "show":
            continue  # the live page: its own tests start it
        code = main([word for word in words if word not in ("--before", "lastjob.jsonl")])
        printed = capsys.readouterr()
        assert code == (1 if "--value" in words and words[words.index("--reading") + 1] in OUTSIDE_LIMITS else 0), (
            words,
            printed.err,
        )
        told += printed.out
    assert (tmp_path / "sheet.pdf").read_bytes().startswith(b"%PDF") and (tmp_path / "left.pdf").read_bytes().startswith(b"%PDF")
    assert "these gaskets would be wanted" in told  # both old gaskets, backlash and marks are in
    assert "1 struck" in told and "Still open:" in told
