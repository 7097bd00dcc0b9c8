"""The mesh made visible: which way the marks move when a gasket grows, what the dial says, and the paint on the teeth."""

from __future__ import annotations

import re
from functools import cache

import numpy as np
import pytest

from calc.bevel import GEAR
from calc.flank import Errors
from scenes import mesh_view
from scenes.examples import EXAMPLES, open_machine
from scenes.explain import Explainer
from scenes.frame import Frame, MeshView, Paint
from scenes.settings import changed
from scenes.tooth_contact import meeting

GROWN = 0.1
"""By how much a gasket grows [mm]."""


@cache
def explainer(name: str) -> Explainer:
    return Explainer(open_machine(name)[0])


def frame(name: str, step: str = "pattern", units: str = "mm", **more: float) -> Frame:
    """The step with gaskets thicker by so much [mm]."""
    made = explainer(name)
    gaskets = {gasket: getattr(made.machine.gaskets, gasket).thickness + by for gasket, by in more.items()}
    return made.frame(changed(made.start_settings(), step=step, units=units, gaskets=gaskets), 1.5)


def view(name: str, step: str = "pattern", units: str = "mm", **more: float) -> MeshView:
    found = frame(name, step, units, **more).mesh_view
    assert found is not None
    return found


def moved(name: str, gasket: str) -> list[tuple[float, float]]:
    """How far the centres of the drive and coast marks move along the face and over the depth when a gasket grows [%]."""
    pairs = zip(view(name, **{gasket: GROWN}).flanks, view(name).flanks, strict=True)
    return [(b.centre[0] - a.centre[0], b.centre[1] - a.centre[1]) for b, a in pairs if a.centre and b.centre]


@pytest.mark.parametrize("name", EXAMPLES)
def test_pinion_out_moves_both_marks_toward_the_tip(name: str) -> None:
    """Common practice, no source, printed alike in many service manuals: pinion out, pattern toward the tip on both flanks."""
    assert all(over > 2.0 for _, over in moved(name, "pinion_gasket"))


def test_pinion_out_moves_the_spiral_pair_s_marks_apart_and_the_straight_pair_s_together() -> None:
    """Common practice, no source: spiral teeth cut with a large cutter, pinion out, drive toward the heel and coast toward the toe."""
    (drive, _), (coast, _) = moved("millrace", "pinion_gasket")
    assert drive > 2.0 and coast < -1.0
    (drive, _), (coast, _) = moved("slipway", "pinion_gasket")
    assert drive > 1.0 and coast == pytest.approx(drive)


@pytest.mark.parametrize("name", EXAMPLES)
def test_gear_toward_the_pinion_moves_both_marks_toward_the_toe_and_closes_the_backlash(name: str) -> None:
    """TM 10-3930-653-14&P, page 4-181: toe bearing and small backlash go together. A thicker gear gasket raises the gear."""
    assert all(along < -2.0 for along, _ in moved(name, "gear_gasket"))
    assert view(name, gear_gasket=GROWN).dial.reading < view(name).dial.reading < view(name, pinion_gasket=GROWN).dial.reading


@pytest.mark.parametrize("name", EXAMPLES)
@pytest.mark.parametrize("units, tick", [("mm", 0.01), ("inch", 0.0254)])
def test_the_dial_reads_the_backlash_at_its_radius(name: str, units: str, tick: float) -> None:
    """Arc geometry: the reading goes with the radius. Dials of 0.01 mm and 0.001 in: common practice, no source."""
    reducer = explainer(name).stage(explainer(name).start_settings()).reducer
    backlash = meeting(reducer).backlash
    assert backlash is not None
    heel = reducer.blank.outer_diameters[GEAR] / 2.0
    for radius in (heel, 0.8 * heel):
        dial = mesh_view.view(reducer, units, dial_radius=radius).dial  # type: ignore[arg-type]
        turned = dial.reading * dial.divisions * tick
        assert turned == pytest.approx(backlash.outer * radius / heel)
        told = float(dial.text.split()[0]) * (1.0 if units == "mm" else 25.4)
        assert told == pytest.approx(turned, abs=0.0013)
        assert dial.low * dial.divisions * tick == pytest.approx(reducer.machine.gears.backlash[0] * radius / heel)


@pytest.mark.parametrize("name", EXAMPLES)
@pytest.mark.parametrize("units, unit", [("mm", "mm"), ("inch", "in")])
@pytest.mark.parametrize("more", [{}, {"gear_gasket": 0.3}, {"pinion_gasket": -0.2}])
def test_every_figure_carries_its_unit(name: str, units: str, unit: str, more: dict[str, float]) -> None:
    found = view(name, "backlash", units, **more)
    texts = [*found.said, *(flank.text for flank in found.flanks), found.dial.radius, *found.dial.limits, found.indicative]
    texts += [] if found.state == "jammed" else [found.dial.text]
    assert any(re.search(r"\d", said) for said in texts)
    for said in texts:
        for after in re.findall(r"\d\.?\d*(?![\d.])(.{0,3})", said):
            assert after.startswith((f" {unit}", "\u00a0%")), said
    assert f" {unit}" in found.dial.tick


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_jam_is_said_in_words(name: str) -> None:
    found = view(name, "backlash", gear_gasket=0.3)
    assert found.state == "jammed" and found.verdict == "stop"
    assert found.said[0].startswith("Jammed") and "Do not turn" in found.said[0]
    assert found.dial.reading == 0.0 and not re.search(r"\d", found.dial.text)
    assert not any("Jammed" in said for said in view(name, "backlash").said)


def test_out_of_mesh_is_said_in_words(monkeypatch: pytest.MonkeyPatch) -> None:
    reducer = explainer("millrace").stage(explainer("millrace").start_settings()).reducer
    apart = meeting(reducer, Errors(gear=14.0))
    assert apart.state == "out_of_mesh"
    monkeypatch.setattr(mesh_view, "meeting", lambda _: apart)
    found = mesh_view.view(reducer)
    assert found.said[0].startswith("Out of mesh") and found.verdict == "stop"
    assert [flank.centre for flank in found.flanks] == [None, None]


@pytest.mark.parametrize("name", EXAMPLES)
def test_end_play_is_told_with_what_it_reads_as(name: str) -> None:
    def told(by: float) -> str:
        return next(said for said in view(name, "hs_end_play", high_speed_float_gasket=by).said if "end play" in said)

    figures = [[float(figure) for figure in re.findall(r"(\d+\.\d+) mm", told(by))] for by in (0.0, 0.1)]
    assert figures[1][0] > figures[0][0] > 0.0
    if name == "millrace":
        assert figures[1][1] > figures[0][1] > 0.0
    else:  # straight teeth push the pinion to its running stop
        assert "adds nothing" in told(0.1)
    assert "no end play" in told(-0.3)


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_words_say_which_flank_the_painted_teeth_turn_to_the_eye(name: str) -> None:
    found = frame(name)
    paint, said = compound(found), next(said for said in view(name).said if "On the picture" in said)
    toward = np.subtract(found.camera.position, found.camera.focus)
    half = len(paint.values) // 2
    nearest = []
    for part in (slice(0, half), slice(half, None)):  # the drive flanks come first
        beside = paint.vertices[part][:, 0] > np.quantile(paint.vertices[part][:, 0], 0.9)
        nearest.append(float((paint.normals[part][beside] @ toward).mean()))
    order = ("drive", "coast") if nearest[0] > nearest[1] else ("coast", "drive")
    assert said.index(order[0]) < said.index(order[1])


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_mesh_is_shown_where_it_is_read_or_moved_and_painted_where_it_is_looked_at(name: str) -> None:
    made = explainer(name)
    frames = {step: made.frame(changed(made.start_settings(), step=step), 1.5) for step in made.procedure.order}
    shown = {step for step, found in frames.items() if found.mesh_view is not None}
    assert shown >= {"pinion_gasket", "cartridge_in", "trial_read", "hs_cover", "gear_gasket", "backlash", "pattern", "turn_pair"}
    assert not shown & {"gear_hot", "pinion_hot", "carrier_screws", "pump", "oil_first_run", "hs_bearing_1"}
    assert {step for step, found in frames.items() if any(paint.kind == "compound" for paint in found.paint)} == {
        "backlash",
        "pattern",
    }
    assert {paint.part for paint in frames["cartridge_in"].paint if paint.kind == "mark"} == {"pinion", "gear"}


# -- paint ------------------------------------------------------------------------------------------------------------


def compound(found: Frame) -> Paint:
    (paint,) = (paint for paint in found.paint if paint.kind == "compound")
    return paint


def off_the_solid(paint: Paint, found: Frame, every: int) -> np.ndarray:
    """How far points of the paint stand off the part's solid, along its outward normal [mm]."""
    part = next(item for item in found.shown if item.name == paint.part)
    corners = part.solid.vertices @ part.pose[:3, :3].T + part.pose[:3, 3]
    a, b, c = (corners[part.solid.faces[:, k]] for k in range(3))
    normal = np.cross(b - a, c - a)
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    middle = (a + b + c) / 3.0
    away = []
    for point, outward in zip(paint.vertices[::every], paint.normals[::every], strict=True):
        near = (np.linalg.norm(middle - point, axis=1) < 12.0) & (normal @ outward > 0.7)
        height = np.einsum("ij,ij->i", point - a[near], normal[near])
        foot = point - height[:, None] * normal[near]
        inside = np.ones(int(near.sum()), dtype=bool)
        for one, two in ((a, b), (b, c), (c, a)):
            edge = np.cross(normal[near], two[near] - one[near])
            edge /= np.linalg.norm(edge, axis=1, keepdims=True)
            inside &= np.einsum("ij,ij->i", foot - one[near], edge) > -0.02
        assert inside.any()
        away.append(height[inside][np.argmin(np.abs(height[inside]))])
    return np.array(away)


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_paint_lies_on_the_drawn_teeth(name: str) -> None:
    found = frame(name)
    away = off_the_solid(compound(found), found, 61)
    assert 0.005 < away.min() and away.max() < 0.03


@pytest.mark.parametrize("name", EXAMPLES)
def test_match_marks_lie_on_the_pinion_tooth_and_the_two_gear_teeth_that_it_meets(name: str) -> None:
    found = frame(name)
    marks = {paint.part: paint for paint in found.paint if paint.kind == "mark"}
    for paint in marks.values():
        away = off_the_solid(paint, found, 1)
        assert 0.0 < away.min() and away.max() < 0.25
    gear, pinion = (marks[part].vertices for part in ("gear", "pinion"))
    pitch = 360.0 / explainer(name).machine.gears.gear_teeth
    one, two = (np.degrees(np.arctan2(half[:, 1], half[:, 0])).mean() for half in np.array_split(gear, 2))
    between = np.degrees(np.arctan2(pinion[:, 1], pinion[:, 0])).mean()
    assert abs(one - two) == pytest.approx(pitch, rel=1e-3)
    assert between == pytest.approx((one + two) / 2.0, abs=pitch / 4.0)


@pytest.mark.parametrize("name", EXAMPLES)
@pytest.mark.parametrize("more", [{}, {"pinion_gasket": 0.1}])
def test_the_paint_is_wiped_off_where_the_map_says(name: str, more: dict[str, float]) -> None:
    """The mark's centre on the teeth, along the face, is the map's; measured on the painted points themselves."""
    found = frame(name, **more)
    paint, flanks = compound(found), view(name, **more).flanks
    gear = next(item for item in found.shown if item.name == "gear")
    own = (paint.vertices - gear.pose[:3, 3]) @ gear.pose[:3, :3]
    cones = explainer(name).stage(explainer(name).start_settings()).reducer.blank.cones
    along = (np.linalg.norm(own, axis=1) - cones.inner) / (cones.outer - cones.inner) * 100.0
    wiped = 1.0 - paint.values
    halves = np.array_split(np.arange(len(wiped)), 2)
    for half, flank in zip(halves, flanks, strict=True):
        assert flank.centre is not None
        assert float((wiped[half] * along[half]).sum() / wiped[half].sum()) == pytest.approx(flank.centre[0], abs=4.0)
        assert 0.05 < wiped[half].mean() < 0.6
