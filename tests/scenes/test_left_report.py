"""The report of a job as its owner reads it a year later: what stands, what was put right, whose job it was, how it drifted."""

from __future__ import annotations

from pathlib import Path

import pytest

from scenes import left_report
from scenes.examples import open_machine
from scenes.explain import Explainer
from tests.scenes.test_record import put


@pytest.fixture(scope="module")
def millrace() -> Explainer:
    return Explainer(open_machine("millrace")[0])


def test_deviations_tell_first_what_stands_and_by_which_entry_the_rest_was_put_right(millrace: Explainer, tmp_path: Path) -> None:
    """Limits of the low-speed end play in the machine file: 0.02 to 0.08 mm; three pushes wanted."""
    job = tmp_path / "job.jsonl"
    put(millrace, job, "low_speed_end_play", *["0.30 mm"] * 3)  # entry 2
    put(millrace, job, "low_speed_end_play", *["0.05 mm"] * 3)  # entry 3
    put(millrace, job, "split_screw", "10 x 300 N m", note="wrench slipped")  # entry 4
    found = put(millrace, job, "split_screw", "3 x 160 N m")  # entry 5: not every screw
    said = left_report.report(found, millrace.start_settings())["deviations"]
    assert len(said) == 2
    assert said[0].startswith("Entry 4") and "entry 5 does not put it right: wrench slipped" in said[0]
    assert said[1].startswith("Entry 2") and "put right: entry 3" in said[1] and "no reason" not in said[1]
