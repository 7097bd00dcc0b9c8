"""How long the main job takes, from the machine file to a still. Run with -m benchmark -s."""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from geometry import solid
from geometry.reducer import Reducer, assemble, build
from scenes.examples import open_machine
from scenes.explain import Explainer
from tests.benchmarks.speed import seconds, told

pytestmark = pytest.mark.benchmark
MACHINES = ("millrace", "slipway")
TRIANGLES = 300_000
PACK_MEMORY = 1.5e9  # bytes


@pytest.fixture(params=MACHINES)
def name(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture
def empty_store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A computer that never built a shape: nothing kept on disk or in memory."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    solid._memory.clear()
    yield tmp_path
    solid._memory.clear()


def built(red: Reducer) -> int:
    """Build every part; its triangles."""
    return sum(len(build(part).faces) for part in red.parts)


def test_from_the_file_to_all_solids(name: str, empty_store: Path) -> None:
    triangles = 0

    def job() -> None:
        nonlocal triangles
        triangles = built(assemble(open_machine(name)[0]))

    kept = told(f"{name}: file to all solids, nothing kept", seconds(job), 2.0)
    print(f"{name}: {triangles} triangles, at most {TRIANGLES}")
    assert kept and triangles <= TRIANGLES


def test_one_dimension_changed(name: str, empty_store: Path) -> None:
    first = open_machine(name)[0]
    built(assemble(first))
    gaskets, shaft = first.gaskets, first.high_speed_shaft
    gasket = gaskets.pinion_gasket
    seat = shaft.bearing_seat
    thicker = gasket.model_copy(update={"thickness": gasket.thickness + 0.05})
    limits = {"fit": None, "readings": None, "limits": (seat.diameter + 0.01, seat.diameter + 0.02)}
    bored = shaft.model_copy(update={"bearing_seat": seat.model_copy(update=limits)})
    gasket_changed = first.model_copy(update={"gaskets": gaskets.model_copy(update={"pinion_gasket": thicker})})
    seat_changed = first.model_copy(update={"high_speed_shaft": bored})
    after_gasket = seconds(lambda: built(assemble(gasket_changed)))
    after_bore = seconds(lambda: built(assemble(seat_changed)))
    assert told(f"{name}: one gasket changed", after_gasket, 0.15) & told(f"{name}: one bearing seat changed", after_bore, 0.15)


def test_notes_and_frame_after_a_change(name: str) -> None:
    explainer = Explainer(*open_machine(name))
    start = explainer.start_settings()
    notes, frames = [], []
    for number, step in enumerate(explainer.procedure.order):
        now = explainer.with_(start, step=step, heater=100.0 + number / 10.0)
        explainer.frame(now)
        after = replace(now, heater=110.0 + number / 10.0)
        notes.append(seconds(lambda now=after, step=step: explainer.callouts(now, step)))  # type: ignore[misc]
        frames.append(seconds(lambda now=after: explainer.frame(now)))  # type: ignore[misc]
    kept = [
        told(f"{name}: notes of a step, slowest", max(notes), 0.02),
        told(f"{name}: frame, middle", statistics.median(frames), 0.05),
    ]
    told(f"{name}: frame, slowest", max(frames), 0.05)
    assert all(kept)


def test_a_still(name: str) -> None:
    from viewer import compose

    explainer = Explainer(*open_machine(name))
    start = explainer.start_settings()
    times = []
    for step in explainer.procedure.order[::8]:
        frame = explainer.frame(explainer.with_(start, step=step))
        times.append(seconds(lambda frame=frame: compose.page(frame, (1500, 1000))))  # type: ignore[misc]
    kept = told(f"{name}: a still of 1500 x 1000, middle", statistics.median(times[1:]), 1.5)
    told(f"{name}: a still of 1500 x 1000, slowest", max(times[1:]), 3.0)
    assert kept


def command(*words: str, store: Path) -> Callable[[], object]:
    return lambda: subprocess.run(
        [sys.executable, "-m", "viewer.cli", *words],
        env={**os.environ, "XDG_CACHE_HOME": str(store)},
        stdout=subprocess.DEVNULL,
        check=True,
    )


def test_the_numbers_command(name: str, tmp_path: Path) -> None:
    act = command("numbers", name, store=tmp_path)
    cold = seconds(act)
    warm = statistics.median(seconds(act) for _ in range(3))
    assert told(f"{name}: numbers, nothing kept", cold, 4.0) & told(f"{name}: numbers, masses kept", warm, 1.5)


MEASURED_PACK = """
import resource, sys, json
from viewer import cli
code = cli.main(["pack", sys.argv[1], "-o", sys.argv[2]])
peak = max(resource.getrusage(who).ru_maxrss for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)) * 1024
print(json.dumps({"code": code, "peak": peak}))
"""


def test_memory_of_the_pack(name: str, tmp_path: Path) -> None:
    done = subprocess.run([sys.executable, "-c", MEASURED_PACK, name, str(tmp_path / "talk")], capture_output=True, text=True)
    found = json.loads(done.stdout.splitlines()[-1])
    print(f"{name}: peak memory of pack {found['peak'] / 1e6:.0f} MB, at most {PACK_MEMORY / 1e6:.0f} MB")
    assert found["code"] == 0 and found["peak"] <= PACK_MEMORY
