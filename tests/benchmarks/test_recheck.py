"""How long a second look at an order takes on a computer that has proven it once, one step moved since. Run with -m benchmark -s."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

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
MOVES = {"to another free place": ("hs_seal", "make_safe", 0), "to a wrong place": ("hs_sleeve", "hs_bearing_1", 1)}


@pytest.mark.parametrize("move", MOVES)
@pytest.mark.parametrize("pitch", ["1", "0.5"])
@pytest.mark.parametrize("name", ["millrace", "slipway"])
def test_an_order_looked_at_again_after_one_step_was_moved(name: str, pitch: str, move: str, tmp_path: Path) -> None:
    """Each time a program of its own, as a planner calls it; the first of three counts."""

    def asked(*change: str) -> tuple[float, int]:
        ran = subprocess.run(
            [sys.executable, "-c", ASKED, name, pitch, *change],
            env={**os.environ, "XDG_CACHE_HOME": str(tmp_path), "PYTHONPATH": os.getcwd()},
            capture_output=True, text=True, check=True,
        )  # fmt: skip
        took, blocked = ran.stdout.split()
        return float(took), int(blocked)

    first, _ = asked()
    print(f"{name} at {pitch} mm, nothing kept: {first:.2f} s")
    step, after, blocked = MOVES[move]
    again = [asked(step, after) for _ in range(3)]
    assert [found > 0 for _, found in again] == [blocked > 0] * 3
    assert told(f"{name} at {pitch} mm: {step} moved {move}", again[0][0], LIMIT), "the first one after the move"
