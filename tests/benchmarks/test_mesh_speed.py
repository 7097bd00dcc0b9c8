"""How fast the pattern is painted anew when a position gasket moves: maps, dial, words, and the paint on the drawn teeth.

Run with -m benchmark -s. Limit: 0.1 s for all of it, besides what any change of a gasket costs (frame without the mesh, drawing).
"""

from __future__ import annotations

import statistics

import numpy as np
import pytest

from scenes import mesh_paint, mesh_view, tooth_contact
from scenes.examples import EXAMPLES, open_machine
from scenes.explain import Explainer
from scenes.settings import Settings, changed
from tests.benchmarks.speed import seconds, told
from viewer import gl, mesh_figure
from viewer.stage import Stage

pytestmark = pytest.mark.benchmark
LIMIT = 0.1  # s
MOVES = 15


def painted(made: Explainer, stage: Stage, now: Settings) -> tuple[float, float]:
    """Seconds for the records of the mesh, and for its figure and paint, with nothing kept from before."""
    frame, reducer, step = made.frame(now), made.stage(now).reducer, made.procedure.steps["pattern"]
    toward = tuple(float(v) for v in np.subtract(frame.camera.position, frame.camera.focus))
    tooth_contact._meeting.cache_clear()
    view = seconds(lambda: mesh_view.view(reducer))
    paint = seconds(lambda: mesh_paint.of_step(reducer, step, frame.shown, toward))
    assert frame.mesh_view is not None
    figure = frame.mesh_view
    return view + paint, seconds(lambda: mesh_figure.svg(figure)) + seconds(lambda: stage._draw_paint(frame))


@pytest.mark.parametrize("name", EXAMPLES)
@pytest.mark.parametrize("gasket", ["pinion_gasket", "gear_gasket"])
def test_the_pattern_painted_anew(name: str, gasket: str) -> None:
    assert gl.probe() is None
    gl.prepare()
    made = Explainer(open_machine(name)[0])
    nominal = getattr(made.machine.gaskets, gasket).thickness
    start = changed(made.start_settings(), step="pattern")
    stage = Stage((960, 600), edges=True)
    stage.show(made.frame(start))
    stage.render()
    times: dict[str, list[float]] = {"maps, dial and paint": [], "brought to the page and the stage": [], "all": []}
    for thickness in np.linspace(0.8 * nominal, 1.3 * nominal, MOVES):
        found = painted(made, stage, changed(start, gaskets={gasket: float(thickness)}))
        for row, taken in zip(times.values(), (*found, sum(found)), strict=True):
            row.append(taken)
    stage.close()
    kept = [told(f"{name}, {gasket}: {what}", statistics.median(row), LIMIT) for what, row in times.items()]
    assert all(kept)
