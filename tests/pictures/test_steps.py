"""Pictures of the shipped machines judged by measurement: what the step is about is seen, nothing overlaps, nothing is cut off."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

import pytest

from scenes.examples import EXAMPLES, open_machine
from scenes.explain import Explainer
from scenes.settings import changed
from viewer import compose, gl, ink
from viewer.stage import Stage

SIZE = (1500, 1000)
USUAL = ("gear_key", "gear_hot", "shaft_down", "hs_bearing_1", "upper_half", "plates")
"""Six steps of each machine that CI draws: a small part, a hot one, a merge, one inside a cartridge, a large one, several at once."""


@cache
def explainer(name: str) -> Explainer:
    return Explainer(open_machine(name)[0])


@pytest.fixture(scope="module")
def scene() -> Iterator[Stage]:
    fault = gl.probe()
    assert fault is None, fault
    gl.prepare()
    stage = Stage((SIZE[0] * ink.SCALE, SIZE[1] * ink.SCALE))
    yield stage
    stage.close()


def judged(name: str, step: str | None, stage: Stage) -> list[str]:
    """Faults of one sheet: of its labels, and parts of the step that neither picture nor close-up shows."""
    made = explainer(name)
    frame = made.frame(changed(made.start_settings(), step=step), SIZE[0] / SIZE[1])
    page = compose.page(frame, SIZE, stage=stage)
    found = compose.faults(page)
    from viewer import inset, measure

    area = page.area
    stage.resize((round(area[2] - area[0]) * ink.SCALE, round(area[3] - area[1]) * ink.SCALE))
    shown = {name for close in page.insets for name in close.names}
    labels = {part.name: part.label for part in frame.shown}
    covered = {labels[part] for part in shown}
    for part in inset.wanted(inset.views(stage, frame), frame, 1.0):
        if labels[part] not in covered:
            found.append(f"{part} is neither seen nor in the close-up")
    found += [f"{part} runs out of the picture" for part, view in measure.seen(stage, frame.arriving).items() if view.clipped]
    return found


@pytest.mark.parametrize("name", EXAMPLES)
@pytest.mark.parametrize("step", USUAL)
def test_a_step_shows_what_it_is_about(name: str, step: str, scene: Stage) -> None:
    assert judged(name, step, scene) == []


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_overview_is_whole(name: str, scene: Stage) -> None:
    made = explainer(name)
    page = compose.page(made.frame(changed(made.start_settings(), step=None), 1.5), SIZE, stage=scene)
    assert compose.faults(page) == []


@pytest.mark.long
@pytest.mark.parametrize("name", EXAMPLES)
def test_every_step_shows_what_it_is_about(name: str, scene: Stage) -> None:
    wrong = {step: faults for step in explainer(name).procedure.order if (faults := judged(name, step, scene))}
    assert wrong == {}
