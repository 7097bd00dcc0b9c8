"""How long calc takes over many fits and temperatures. Run with -m benchmark -s."""

from __future__ import annotations

import statistics

import numpy as np
import pytest

from calc import cooling, fits, heat, press
from tests.benchmarks.speed import seconds, told

pytestmark = pytest.mark.benchmark
COUNT = 100_000
SIZES = np.random.default_rng(0).uniform(25.0, 500.0, COUNT)


def test_a_hundred_thousand_fits() -> None:
    def job() -> None:
        low, high = fits.clearance_band(fits.hole_deviations(SIZES, "H7"), fits.shaft_deviations(SIZES, "k6"))
        assert low.size == COUNT and bool(np.all(low < high))

    fits._by_range.cache_clear()
    first = seconds(job)
    again = statistics.median(seconds(job) for _ in range(7))
    # The first includes looking both classes up in each size range.
    kept = [told("100 000 fits, first time", first, 0.05), told("100 000 fits", again, 0.05)]
    assert all(kept)


def test_a_hundred_thousand_hot_hubs() -> None:
    lower, upper = fits.shaft_deviations(SIZES, "p6")

    def job() -> None:
        heating = heat.heating_temperature(SIZES, upper, 12.5e-6)
        left = heat.clearance_at(-upper, SIZES, 12.5e-6, hub_temperature=heating)
        gaps = press.shrink_back_gap(upper, 0.8 * SIZES, SIZES)
        radiated = cooling.radiation_coefficient(heating, 20.0)
        assert left.shape == gaps.shape == radiated.shape == SIZES.shape

    assert told("100 000 hot hubs", statistics.median(seconds(job) for _ in range(7)), 0.05)
