"""The order of tightening: every screw once, opposite ones by turns, each number at its screw's head."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from scenes.examples import EXAMPLES, open_machine
from scenes.explain import Explainer
from scenes.frame import Frame
from scenes.sequence import tightened
from scenes.settings import changed

CIRCLES = (
    "lower_retainer",
    "carrier_screws",
    "inner_retainer",
    "cartridge_draw_in",
    "hs_cover",
    "ls_cartridge",
    "ls_cover",
    "pump",
)
ROWS = ("split_screws", "plates")


@cache
def explainer(name: str) -> Explainer:
    return Explainer(open_machine(name)[0])


def frame(name: str, step: str, explode: float = 1.0) -> Frame:
    made = explainer(name)
    return made.frame(changed(made.start_settings(), step=step, explode=explode), 1.5)


def screws(name: str, step: str) -> list[list[str]]:
    """The names of the screws of each circle or row of a step."""
    made = explainer(name)
    reducer = made.stage(made.start_settings()).reducer
    joints = tightened(reducer, made.procedure.steps[step])
    return [list(reducer.members(joint.screws)) for joint in joints]


@pytest.mark.parametrize("name", EXAMPLES)
@pytest.mark.parametrize("step", CIRCLES + ROWS)
def test_every_screw_of_a_step_has_one_number(name: str, step: str) -> None:
    groups = screws(name, step)
    texts = [mark.text for mark in frame(name, step).sequence]
    assert len(groups) == (2 if step == "plates" else 1)
    assert sorted(texts) == sorted(str(k) for group in groups for k in range(1, len(group) + 1))


@pytest.mark.parametrize("name", EXAMPLES)
@pytest.mark.parametrize("step", CIRCLES)
def test_on_a_circle_each_second_screw_lies_opposite_the_one_before(name: str, step: str) -> None:
    """Legacy cross pattern of ASME PCC-1, from memory: by pairs across the diameter."""
    points = np.array([mark.point for mark in frame(name, step).sequence])
    spokes = points - points.mean(axis=0)
    assert np.abs(spokes[0::2] + spokes[1::2]).max() < 0.01
    assert np.linalg.norm(spokes, axis=1).min() > 10.0


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_split_is_closed_from_the_middle_outward_and_side_by_side(name: str) -> None:
    """Common practice, no source."""
    points = np.array([mark.point for mark in frame(name, "split_screws").sequence])
    away = np.abs(points[:, 0] - (points[:, 0].min() + points[:, 0].max()) / 2.0)
    assert (np.diff(away) > -1.0).all()
    assert (points[0::2, 1] * points[1::2, 1] < 0.0).all()


@pytest.mark.parametrize("name", EXAMPLES)
@pytest.mark.parametrize("explode", [0.0, 1.0])
@pytest.mark.parametrize("step", ["inner_retainer", "hs_cover", "split_screws"])
def test_numbers_stand_at_the_heads_as_drawn(name: str, step: str, explode: float) -> None:
    """The head is the thick end: the farthest point of the drawn solid on the side where its cross-section is widest."""
    made = frame(name, step, explode)
    drawn = {item.name: item for item in made.shown}
    (group,) = screws(name, step)
    ends = []
    for screw in group:
        solid, pose = drawn[screw].solid, drawn[screw].pose
        points = solid.vertices @ pose[:3, :3].T + pose[:3, 3]
        axis = np.linalg.svd(points - points.mean(axis=0))[2][0]
        along = points @ axis
        wide = np.linalg.norm((points - points.mean(axis=0)) - np.outer((points - points.mean(axis=0)) @ axis, axis), axis=1)
        sign = 1.0 if along[wide.argmax()] > along.mean() else -1.0
        middle = (points.max(axis=0) + points.min(axis=0)) / 2.0
        ends.append(middle + axis * (sign * (sign * along).max() - middle @ axis))
    marks = np.array([mark.point for mark in made.sequence])
    off = np.linalg.norm(marks[:, None] - np.array(ends)[None], axis=2)
    assert off.min(axis=1).max() < 1.0
    assert len(set(off.argmin(axis=1))) == len(group)


def test_numbers_move_with_the_screws_as_they_are_pulled_apart() -> None:
    seated, apart = (np.array([m.point for m in frame("millrace", "hs_cover", e).sequence]) for e in (0.0, 1.0))
    shift = apart - seated
    assert np.ptp(shift, axis=0).max() < 1e-6
    assert np.linalg.norm(shift[0]) > 10.0


@pytest.mark.parametrize("step", ["gear_hot", "lower_nut", "cartridge_screws", "oil_first_run"])
def test_steps_that_tighten_no_circle_carry_no_numbers(step: str) -> None:
    assert frame("millrace", step).sequence == ()
