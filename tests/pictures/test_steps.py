"""Pictures of the shipped machines judged by measurement: what the step is about is seen, nothing overlaps, nothing is cut off."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from scenes.examples import EXAMPLES, open_machine
from scenes.explain import Explainer
from scenes.settings import changed
from viewer import compose, gl, ink, order_marks, pair_figure
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
@pytest.mark.parametrize("step", ["hs_cover", "split_screws"])
def test_the_order_of_tightening_can_be_read(name: str, step: str, scene: Stage) -> None:
    made = explainer(name)
    frame = made.frame(changed(made.start_settings(), step=step), SIZE[0] / SIZE[1])
    page = compose.page(frame, SIZE, stage=scene)
    discs = page.discs
    assert [disc.text for disc in discs] == [mark.text for mark in frame.sequence] != []
    for i, a in enumerate(discs):
        assert a.radius >= 9.0
        assert page.area[0] <= a.x - a.radius and a.x + a.radius <= page.area[2]
        assert page.area[1] <= a.y - a.radius and a.y + a.radius <= page.area[3]
        assert np.hypot(a.x - a.spot[0], a.y - a.spot[1]) <= 2.0 * a.radius
        assert all(np.hypot(a.x - b.x, a.y - b.y) >= a.radius + b.radius for b in discs[i + 1 :])
        for label in page.layout.labels:
            x, y = np.clip(a.x, label.box[0], label.box[2]), np.clip(a.y, label.box[1], label.box[3])
            assert np.hypot(a.x - x, a.y - y) >= a.radius - 0.5, label.key
        # Paper with an ink edge: white inside beside the digits, dark on the rim.
        assert page.image[round(a.y), round(a.x - 0.8 * a.radius)].min() > 200
        rim = page.image[round(a.y), round(a.x - a.radius) - 1 : round(a.x - a.radius) + 3].max(axis=1)
        assert rim.min() < 110


def test_discs_that_would_cover_each_other_are_parted_and_those_outside_are_left_out() -> None:
    spots = np.array([(100.0, 100.0), (104.0, 100.0), (104.0, 100.0), (101.0, 108.0), (500.0, 100.0)])
    discs = order_marks.arrange("12345", spots, area=(0.0, 0.0, 300.0, 200.0), radius=12.0, taken=[(60.0, 90.0, 95.0, 110.0)])
    assert [disc.text for disc in discs] == list("1234")
    for i, a in enumerate(discs):
        assert all(np.hypot(a.x - b.x, a.y - b.y) >= a.radius + b.radius for b in discs[i + 1 :])
        assert not (a.x - a.radius < 94.5 and 90.0 < a.y < 110.0)


def test_the_pair_is_drawn_in_the_panel_and_not_with_a_fit(scene: Stage) -> None:
    made = explainer("millrace")
    frame = made.frame(changed(made.start_settings(), step="ls_bearing_2"), SIZE[0] / SIZE[1])
    page = compose.page(frame, SIZE, stage=scene)
    panel = page.image[:, round(page.area[2]) :].astype(int)
    red = np.abs(panel - pair_figure.LINE).max(axis=2) < 12
    assert red.sum() > 200
    bare = compose.page(replace(frame, pair_view=None), SIZE, stage=scene)
    assert (np.abs(bare.image[:, round(page.area[2]) :].astype(int) - pair_figure.LINE).max(axis=2) < 12).sum() < red.sum() / 4


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
