"""How long the contact of a bevel pair and a shim move take, beside a brute-force search. Run with -m benchmark -s."""

from __future__ import annotations

import math
import statistics

import numpy as np
import pytest

from calc.adjust import Pack, adjust
from calc.bevel import GEAR, PINION, Blank
from calc.contact import contact
from calc.diagnosis import Target, _best, _figures, diagnose
from calc.flank import EaseOff, Errors
from calc.readings import Mark, Reading
from tests.benchmarks.speed import seconds, told
from tests.calc.bevel_pairs import SPIRAL, STRAIGHT
from tests.calc.triangulated import search

pytestmark = pytest.mark.benchmark
PAIRS = {"spiral": SPIRAL, "straight": STRAIGHT}
each_pair = pytest.mark.parametrize("name", PAIRS)
ERRORS = Errors(0.08, 0.05)
LEAVES = (0.05, 0.10, 0.20, 0.25, 0.50)
PACKS = (Pack(0.50, LEAVES, 1, 0.10), Pack(0.50, LEAVES, -1, 0.10))


def _contact(made: Blank) -> float:
    times = [seconds(lambda: contact(made, displacement=ERRORS)) for _ in range(75)]
    return statistics.median(times[25:])


@each_pair
def test_contact_of_both_flanks(name: str) -> None:
    assert told(f"contact, both flanks, {name}", _contact(PAIRS[name]), 0.010)


@each_pair
def test_a_shim_move(name: str) -> None:
    made = PAIRS[name]
    readings = [Reading(0.30, Mark("heel", "high"), Mark("centred", "high"))]

    def job() -> None:
        _best.cache_clear()
        _figures.cache_clear()
        adjust(made, readings, Target((0.18, 0.30)), PACKS)

    assert told(f"shim move, {name}", statistics.median(seconds(job) for _ in range(5)), 0.3)


def test_a_shim_move_for_readings_that_shims_do_not_explain() -> None:
    mixed = [Reading(0.18, Mark("toe", "hard_high"), Mark("heel", "hard_high"))]
    assert not diagnose(SPIRAL, mixed).explained

    def job() -> None:
        _best.cache_clear()
        _figures.cache_clear()
        adjust(SPIRAL, mixed, Target((0.18, 0.30)), PACKS)

    assert told("shim move, not explained", statistics.median(seconds(job) for _ in range(5)), 0.3)


@each_pair
def test_a_search_on_triangles_of_like_accuracy_takes_a_hundred_times_as_long(name: str) -> None:
    made, ease = PAIRS[name], EaseOff()
    step = 2.0 * math.pi / made.teeth[PINION] / 48
    curves: list[list[float]] = []

    def brute(pinion: tuple[int, int], gear: tuple[int, int]) -> None:
        curves.clear()
        for side in (1, -1):
            flank = search(made, side, ERRORS, ease, pinion=pinion, gear=gear)
            curves.append([flank.closing(j * step) for j in range(48)])

    ours = _contact(made)
    taken = seconds(lambda: brute((141, 71), (201, 101)))
    found = contact(made, displacement=ERRORS)
    heel = made.outer_diameters[GEAR] / 2.0 * 1000.0
    assert found.drive is not None and found.coast is not None
    order = {found.drive.side: found.drive, found.coast.side: found.coast}
    apart = [abs(float(np.mean(np.array(curve) - order[side].closing)) * heel) for side, curve in zip((1, -1), curves, strict=True)]
    print(
        f"{'triangles, both flanks, ' + name:44} {taken * 1000:7.0f} ms  {taken / ours:.0f} times; "
        f"closing apart {max(apart):.2f} um on average"
    )
    assert max(apart) < 0.4
    assert taken > 100.0 * ours
