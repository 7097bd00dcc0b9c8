"""How long a second look at an order takes on a computer that has proven it once, one step moved since. Run with -m benchmark -s."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path
from random import Random

import pytest

from scenes.examples import open_machine
from scenes.explain import Explainer
from tests.benchmarks.speed import told

pytestmark = pytest.mark.benchmark
LIMIT = 0.3  # s
ASKED = """
import sys, time
from scenes import order
from scenes.examples import open_machine
from scenes.explain import Explainer
from tests.scenes.orders import moved
explainer = Explainer(open_machine(sys.argv[1])[0])
reducer, job = explainer.reducer(explainer.start_settings()), explainer.procedure
if len(sys.argv) > 3:
    job = moved(job, sys.argv[3], after=sys.argv[4])
start = time.perf_counter()
proof = order.prove(reducer, job, pitch=float(sys.argv[2]))
print(time.perf_counter() - start, len(proof.blocked))
"""
SLOWEST = (("cartridge_in", "split_screws"), ("shaft_down", "split_screws"))
"""Moves that bring a whole bench past what it never met before."""
DRAWN, SEED = 6, 5
"""Moves drawn besides, each of any step behind any other, and what they are drawn with."""


def moves(order: tuple[str, ...]) -> list[tuple[str, str]]:
    """(step, the one it is done after)."""
    random = Random(SEED)
    drawn = [tuple(random.sample(order, 2)) for _ in range(DRAWN)]
    return [("hs_seal", "make_safe"), ("hs_sleeve", "hs_bearing_1"), *SLOWEST, *((step, after) for step, after in drawn)]


@pytest.mark.parametrize("pitch", ["1", "0.5"])
@pytest.mark.parametrize("name", ["millrace", "slipway"])
def test_an_order_looked_at_again_after_one_step_was_moved(name: str, pitch: str, tmp_path: Path) -> None:
    """The worst of all moves counts, each in a program of its own that finds what the proof of the shipped order kept."""

    def asked(place: Path, *change: str) -> tuple[float, int]:
        ran = subprocess.run(
            [sys.executable, "-c", ASKED, name, pitch, *change],
            env={**os.environ, "XDG_CACHE_HOME": str(place), "PYTHONPATH": os.getcwd()},
            capture_output=True, text=True, check=True,
        )  # fmt: skip
        took, blocked = ran.stdout.split()
        return float(took), int(blocked)

    first, blocked = asked(tmp_path / "shipped")
    assert blocked == 0
    print(f"{name} at {pitch} mm, nothing kept: {first:.2f} s")
    kept = []
    for place, (step, after) in enumerate(moves(Explainer(open_machine(name)[0]).procedure.order)):
        shutil.copytree(tmp_path / "shipped", tmp_path / str(place))
        took, blocked = asked(tmp_path / str(place), step, after)
        assert blocked or (step, after) not in SLOWEST
        kept.append(told(f"{name} at {pitch} mm: {step} after {after}", took, LIMIT))
    assert all(kept)
