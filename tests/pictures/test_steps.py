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
from viewer import compose, gl, ink, lettering, mesh_figure, order_marks, pair_figure
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
@pytest.mark.parametrize("step", ["backlash", "pattern"])
def test_the_teeth_are_seen_with_compound_and_bare_marks(name: str, step: str, scene: Stage) -> None:
    assert judged(name, step, scene) == []
    made = explainer(name)
    frame = made.frame(changed(made.start_settings(), step=step), SIZE[0] / SIZE[1])
    page, bare = (compose.page(each, SIZE, stage=scene) for each in (frame, replace(frame, paint=())))
    right = round(page.area[2])
    changes = (page.image[:, :right] != bare.image[:, :right]).any(axis=2)
    red, green, blue = (page.image[:, :right][changes].astype(int)[:, k] for k in range(3))
    film = (blue > 1.5 * red) & (blue > green)
    metal = (np.abs(red - blue) < 25) & (red > 90)
    assert film.sum() > 6000 and metal.sum() > 1200
    # A gasket moves the marks on the teeth and in the maps, in one and the same picture.
    moved = made.frame(
        changed(made.start_settings(), step=step, gaskets={"pinion_gasket": made.machine.gaskets.pinion_gasket.thickness + 0.2}),
        1.5,
    )
    other = compose.page(moved, SIZE, stage=scene)
    differs = (other.image != page.image).any(axis=2)
    assert differs[:, :right].sum() > 2000 and differs[:, right:].sum() > 1000


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_tooth_maps_show_film_and_metal_and_their_words_keep_apart(name: str) -> None:
    made = explainer(name)
    for step, gaskets in (("pattern", {}), ("backlash", {"gear_gasket": made.machine.gaskets.gear_gasket.thickness + 0.3})):
        view = made.frame(changed(made.start_settings(), step=step, gaskets=gaskets)).mesh_view
        assert view is not None
        for beside, width, size in ((True, 320.0, 12.0), (False, 320.0, 12.0), (False, 196.0, 12.0)):
            figure = mesh_figure.lay_out(view, width, size, beside=beside)
            boxes = []
            for word in figure.words:
                long = lettering.width_of(word.text, round(word.size), word.bold)
                left = word.at[0] - {"left": 0.0, "middle": 0.5, "right": 1.0}[word.align] * long
                boxes.append((left, word.at[1] - 0.45 * word.size, left + long, word.at[1] + 0.45 * word.size, word.text))
            for i, a in enumerate(boxes):
                assert -4.0 <= a[0] and a[2] <= width + 4.0 and a[3] <= figure.height + 1.0, a
                for b in boxes[i + 1 :]:
                    assert a[2] <= b[0] + 0.5 or b[2] <= a[0] + 0.5 or a[3] <= b[1] + 0.5 or b[3] <= a[1] + 0.5, (a, b)


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
