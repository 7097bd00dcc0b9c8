"""How long it takes to put a reading on the disk, and to open a long record. Run with -m benchmark -s."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from scenes import record, record_listing
from scenes.examples import open_machine
from scenes.explain import Explainer
from tests.benchmarks.speed import told

pytestmark = pytest.mark.benchmark
ENTRIES = 5000


def test_a_reading_is_on_the_disk_and_a_long_record_is_open_soon(tmp_path: Path) -> None:
    explainer = Explainer(open_machine("millrace")[0])
    found = record_listing.opened(explainer, tmp_path / "job.jsonl")
    read = found.reads["backlash"]
    entry = record.reading(read, [f"0.{20 + k} mm" for k in range(4)], "fitting", initials="AB")
    took = []
    for _ in range(ENTRIES):
        start = time.perf_counter()
        found.record.add(entry)
        took.append(time.perf_counter() - start)
    start = time.perf_counter()
    again = record_listing.opened(explainer, tmp_path / "job.jsonl")
    opening = time.perf_counter() - start
    start = time.perf_counter()
    record_listing.opened(explainer, tmp_path / "job.jsonl").record.add(entry)
    again_and_added = time.perf_counter() - start
    assert len(again.job.taken) == ENTRIES
    assert all(
        [
            told("add a reading, on the disk (the slowest of 5000)", max(took), 0.1),
            told("open a record of 5000 entries", opening, 0.5),
            told("open it and add", again_and_added, 0.6),
        ]
    )
