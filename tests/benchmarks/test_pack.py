"""What the talk pack takes on two cores, nothing kept from earlier but the shapes. Run with -m benchmark -s.

Limits: 5 minutes for the full pack, 60 s in a hurry. Judged is the work, the processor time of all its processes shared out on two cores, in R
of processor time, so that whoever else uses the machine counts little; the time on the clock is told beside it, and counts when the cores are free.
"""

from __future__ import annotations

import os
import resource
import statistics
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from tests.benchmarks.speed import REFERENCE

pytestmark = pytest.mark.benchmark
CORES = 2
LIMITS = {"full": 300.0, "fast": 60.0}  # s


def unit() -> float:
    """R in processor time: np.sort of one million random floats, the middle of seven [s]."""
    values = np.random.default_rng(0).random(1_000_000)

    def taken() -> float:
        start = time.process_time()
        np.sort(values)
        return time.process_time() - start

    return statistics.median(taken() for _ in range(7))


def spent() -> float:
    """Processor time of all ended children and theirs [s]."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


@pytest.mark.parametrize("name", ["millrace", "slipway"])
@pytest.mark.parametrize("kind", LIMITS)
def test_the_pack_of_one_machine(kind: str, name: str, tmp_path: Path) -> None:
    words = [
        sys.executable,
        "-m",
        "viewer.cli",
        "pack",
        name,
        "-o",
        str(tmp_path / "talk"),
        *(["--fast"] if kind == "fast" else []),
    ]
    before, sort, start = spent(), unit(), time.perf_counter()
    subprocess.run(words, check=True, stdout=subprocess.DEVNULL, env={**os.environ, "OMP_NUM_THREADS": "1"})
    clock, work = time.perf_counter() - start, spent() - before
    sort = (sort + unit()) / 2.0
    shared, limit = work / CORES, LIMITS[kind]
    print(
        f"{name}: pack, {kind}: {work:.0f} s of work, {shared:.0f} s on two cores, R {shared / sort:.0f}; "
        f"{clock:.0f} s on the clock at load {os.getloadavg()[0]:.1f}; limit {limit:.0f} s, R {limit / REFERENCE:.0f}"
    )
    assert shared / sort <= limit / REFERENCE
    if os.getloadavg()[0] <= CORES + 0.5:
        assert clock / sort <= limit / REFERENCE
