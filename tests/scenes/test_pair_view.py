"""The half section of a duplex pair: contact lines through the balls, bearings turned the way the solids are."""

from __future__ import annotations

from functools import cache
from math import atan2, degrees

import numpy as np
import pytest

from geometry.reducer import Reducer, assemble, build
from scenes.examples import EXAMPLES, open_machine
from scenes.explain import Explainer
from scenes.pair_view import ENDS, of_step
from scenes.settings import changed

ARRANGEMENTS = ("back-to-back", "face-to-face")
SIDES = {"high_speed": "hs", "low_speed": "ls"}


@cache
def explainer(name: str) -> Explainer:
    return Explainer(open_machine(name)[0])


@cache
def reducer(arrangement: str) -> Reducer:
    machine = open_machine("millrace")[0]
    pairs = {f"{side}_pair": getattr(machine, f"{side}_pair").model_copy(update={"arrangement": arrangement}) for side in SIDES}
    return assemble(machine.model_copy(update=pairs))


def view(arrangement: str, side: str, step: str = "bearing_1"):  # type: ignore[no-untyped-def]
    made = of_step(reducer(arrangement), explainer("millrace").procedure.steps[f"{SIDES[side]}_{step}"], ())
    assert made is not None
    return made


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("arrangement", ARRANGEMENTS)
def test_contact_lines_cross_the_balls_at_the_contact_angle(arrangement: str, side: str) -> None:
    """ISO 5593: the contact angle lies between the line of action and the plane across the bearing's axis."""
    pair = getattr(reducer(arrangement).machine, f"{side}_pair")
    made = view(arrangement, side)
    for (x, r, _), ((x0, r0), (x1, r1)) in zip(made.balls, made.lines, strict=True):
        assert (x - x0) * (r1 - r0) == pytest.approx((r - r0) * (x1 - x0), abs=1e-6)
        assert degrees(atan2(abs(x1 - x0), r0 - r1)) == pytest.approx(degrees(pair.contact_angle), abs=1e-6)
        assert r1 == 0.0 and r0 == pytest.approx(pair.outside / 2.0)


@pytest.mark.parametrize("side", SIDES)
def test_lines_spread_back_to_back_and_come_together_face_to_face(side: str) -> None:
    """Public descriptions of the two arrangements (the letters O and X)."""

    def apart(arrangement: str) -> tuple[float, float]:
        first, second = view(arrangement, side).lines
        return second[0][0] - first[0][0], second[1][0] - first[1][0]

    outside, axis = apart("back-to-back")
    assert axis > outside > 0.0
    outside, axis = apart("face-to-face")
    assert outside > abs(axis)


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("arrangement", ARRANGEMENTS)
def test_the_figure_shows_each_bearing_turned_as_its_solid_is(arrangement: str, side: str) -> None:
    made, built = view(arrangement, side), reducer(arrangement)
    axis = 0 if side == "high_speed" else 2
    half = len(made.rings) // 2
    for index in (1, 2):
        part = built.by_name[f"{side}_bearing_{index}_outer_ring"]
        points = build(part).vertices @ part.pose[:3, :3].T + part.pose[:3, 3]
        along = points[:, axis]
        radius = np.linalg.norm(np.delete(points, axis, axis=1), axis=1)
        low, high = along.min(), along.max()
        bore = [radius[np.abs(along - end) < 1e-6].min() for end in (low, high)]
        wide_at_far_end = bore[1] < bore[0]
        body, shoulder = made.rings[(index - 1) * half : index * half][:2]
        assert (shoulder[0] > body[0]) == wide_at_far_end
        assert shoulder[2] == pytest.approx(min(bore), abs=0.5)
        assert body[2] == pytest.approx(max(bore), abs=0.5)
        assert body[1] - body[0] == pytest.approx(high - low, abs=1e-6)
        # The line meets the outer ring on the side of its wide shoulder.
        (x0, _), _ = made.lines[index - 1]
        assert (x0 > made.balls[index - 1][0]) == wide_at_far_end


@pytest.mark.parametrize("arrangement, words", [("back-to-back", "spread"), ("face-to-face", "together")])
def test_the_caption_says_the_arrangement_and_which_way_each_bearing_faces(arrangement: str, words: str) -> None:
    made = view(arrangement, "low_speed")
    assert arrangement in made.caption and words in made.caption
    first = made.caption.split("Bearing 1")[1].split("Bearing 2")[0]
    assert (" up." in first) == (made.rings[1][0] > made.rings[0][0])
    assert (" down." in first) != (" up." in first)


@pytest.mark.parametrize("name", EXAMPLES)
@pytest.mark.parametrize("side", SIDES)
def test_the_three_steps_of_a_pair_show_it_with_what_comes(name: str, side: str) -> None:
    made = explainer(name)
    states = {}
    for step in ("bearing_1", "spacers", "bearing_2"):
        frame = made.frame(changed(made.start_settings(), step=f"{SIDES[side]}_{step}"), 1.5)
        assert frame.pair_view is not None and frame.fit_view is None
        assert frame.pair_view.labels[2:] == ENDS[side]
        assert frame.pair_view.upright == (side == "low_speed")
        states[step] = frame.pair_view.states
    assert states == {
        "bearing_1": ("arriving", "waiting", "waiting"),
        "spacers": ("in place", "waiting", "arriving"),
        "bearing_2": ("in place", "arriving", "in place"),
    }


def test_other_steps_show_no_pair() -> None:
    made = explainer("millrace")
    frames = [made.frame(changed(made.start_settings(), step=step), 1.5) for step in ("gear_hot", "hs_nut", "carrier_screws")]
    assert [frame.pair_view for frame in frames] == [None, None, None]
