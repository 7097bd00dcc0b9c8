"""How a time is taken and told: in seconds and in R, the ratio to np.sort of one million floats in the same run. R governs.

A limit is stated in seconds on a machine whose R takes 16 ms; on a slower machine the limit grows with R.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import numpy as np

REFERENCE = 0.016
"""np.sort of one million floats on the machine that the limits are written for [s]."""


def unit() -> float:
    """R: np.sort of one million random floats, the middle of seven, as this machine is loaded now [s]."""
    values = np.random.default_rng(0).random(1_000_000)
    return statistics.median(seconds(lambda: np.sort(values)) for _ in range(7))


def seconds(act: Callable[[], object]) -> float:
    """Seconds that one call takes."""
    start = time.perf_counter()
    act()
    return time.perf_counter() - start


def told(what: str, taken: float, limit: float) -> bool:
    """Print one figure beside its limit. Result: True when it is kept, in R."""
    sort = unit()
    kept = taken / sort <= limit / REFERENCE
    mark = "" if kept else "  MISSED"
    print(
        f"{what:44} {taken * 1000:7.0f} ms  R {taken / sort:7.2f}   limit {limit * 1000:5.0f} ms  R {limit / REFERENCE:7.2f}{mark}"
    )
    return kept
