"""The scene and the finished sheets, judged by what can be measured in them."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from viewer import gl

gl.prepare()

from geometry.part import Solid  # noqa: E402
from scenes.frame import CutPlane, FitView, Frame, Shown, Trail  # noqa: E402
from tests.pictures import sample  # noqa: E402
from viewer import compose, figures, ink, inset, measure, meshes, palette  # noqa: E402
from viewer.stage import Stage, dash_dot  # noqa: E402

SMALL = (900, 600)


@pytest.fixture(scope="module")
def stage() -> Iterator[Stage]:
    scene = Stage((SMALL[0] * ink.SCALE, SMALL[1] * ink.SCALE))
    yield scene
    scene.close()


def part(frame: Frame, name: str) -> Shown:
    return next(shown for shown in frame.shown if shown.name == name)


def pixels(picture: ink.Drawing, name: str) -> np.ndarray:
    return picture.image[picture.parts.part == picture.parts.names.index(name)]


def test_this_machine_can_draw() -> None:
    assert gl.probe() is None


def test_a_machine_that_cannot_draw_is_told_what_to_install(tmp_path: Path) -> None:
    broken = tmp_path / "python"
    broken.write_text("#!/bin/sh\nkill -SEGV $$\n")
    broken.chmod(0o755)
    answer = gl.probe(str(broken))
    assert answer is not None and gl.REMEDY in answer and "\n" not in answer


def test_only_a_machine_without_a_screen_is_told_to_draw_without_one() -> None:
    headless: dict[str, str] = {}
    gl.prepare(headless, "linux")
    assert headless["VTK_DEFAULT_OPENGL_WINDOW"] == "vtkEGLRenderWindow"
    for env, platform in (({"DISPLAY": ":0"}, "linux"), ({"WAYLAND_DISPLAY": "wayland-0"}, "linux"), ({}, "darwin"), ({}, "win32")):
        gl.prepare(env, platform)
        assert "VTK_DEFAULT_OPENGL_WINDOW" not in env


def test_every_pixel_knows_its_part(stage: Stage) -> None:
    frame = sample.frame()
    stage.show(frame)
    seen = stage.part_map()
    assert set(seen.names) == {shown.name for shown in frame.shown}
    assert seen.part.min() == -1 and seen.part.max() < len(seen.names)
    middle = stage.project(np.array([[290.0, 0.0, 62.0 + 88.0]]))[0]  # on top of the cartridge's outer end
    assert seen.names[seen.part[round(middle[1]) + 3, round(middle[0])]] == "cartridge"


def test_the_same_frame_again_changes_nothing_and_keeps_the_meshes(stage: Stage) -> None:
    frame = sample.frame()
    stage.show(frame)
    first = stage.image().copy()
    actors = {name: staged.actors["body"] for name, staged in stage._staged.items()}
    stage.show(sample.heated())
    stage.show(frame)
    assert all(stage._staged[name].actors["body"] is actor for name, actor in actors.items())
    assert (stage.image() == first).all()


def test_reading_the_part_numbers_leaves_the_picture_as_it_was(stage: Stage) -> None:
    stage.show(sample.frame())
    before = stage.image().copy()
    stage.part_map()
    assert (stage.image() == before).all()


def test_a_part_that_left_the_frame_leaves_the_stage(stage: Stage) -> None:
    frame = sample.frame()
    stage.show(replace(frame, shown=frame.shown[:3]))
    assert set(stage.part_map().names) == {shown.name for shown in frame.shown[:3]}


def test_a_moved_part_is_drawn_where_it_stands(stage: Stage) -> None:
    frame = sample.hidden()
    lifted = replace(part(frame, "spacer"), pose=sample.place(z=100.0))
    stage.show(replace(frame, shown=(lifted,)))
    rows, columns = np.nonzero(stage.part_map().part == 0)
    expected = stage.project(np.array([[0.0, 0.0, 112.0]]))[0]
    assert abs(columns.mean() - expected[0]) < 5 and abs(rows.mean() - expected[1]) < 12


def test_a_cut_face_is_marked_and_lies_in_the_plane(stage: Stage) -> None:
    frame = sample.sectioned()
    stage.show(frame)
    seen = stage.part_map()
    assert {seen.names[i] for i in np.unique(seen.part[seen.cap])} >= {"case", "gear", "bearing-outer"}
    mesh = meshes.load(part(frame, "gear"), frame.cut)
    assert mesh.cap is not None
    assert np.abs(np.asarray(mesh.cap.points)[:, 1]).max() < 1e-4


def test_shafts_stay_whole_in_a_section(stage: Stage) -> None:
    frame = sample.sectioned()
    stage.show(frame)
    seen = stage.part_map()
    assert meshes.load(part(frame, "shaft"), frame.cut).cap is None
    assert not seen.cap[seen.part == seen.names.index("shaft")].any()


def test_a_roller_wholly_on_the_removed_side_goes_with_it(stage: Stage) -> None:
    frame = sample.sectioned()
    stage.show(frame)
    names = stage.part_map().names
    assert "roller9" not in names  # at 270 degrees, in front
    assert {"roller0", "roller3", "roller6"} <= set(names)  # in the plane, and behind it


def test_a_row_of_balls_loses_those_on_the_removed_side_only() -> None:
    front, back = (sample.turned([(4.0, -4.0), (4.0, 4.0)], 12) for _ in range(2))
    both = Solid(
        np.concatenate([front.vertices + [0, -40, 0], back.vertices + [0, 40, 0]]),
        np.concatenate([front.faces, back.faces + len(front.vertices)]),
    )
    row = sample.shown("row", "Balls", "rolling", both, sample.place(), whole=True)
    mesh = meshes.load(row, CutPlane((0.0, 0.0, 0.0), (0.0, -1.0, 0.0)))
    assert mesh.body is not None and np.asarray(mesh.body.points)[:, 1].min() > 30.0


def test_arriving_waiting_and_standing_parts_are_told_apart(stage: Stage) -> None:
    frame = sample.frame()
    drawing = ink.draw(frame, SMALL, stage=stage)
    accent = (drawing.image == np.array(palette.ACCENT)).all(axis=2)
    assert accent.sum() > 500  # the halo
    waiting = np.median(pixels(drawing, "cover"), axis=0)
    standing = np.median(
        pixels(
            ink.draw(replace(frame, shown=tuple(replace(s, state="in place") for s in frame.shown)), SMALL, stage=stage), "cover"
        ),
        axis=0,
    )
    assert waiting.min() > standing.min() + 40  # much paler
    none = replace(frame, shown=tuple(replace(s, state="in place") for s in frame.shown), trails=())
    assert (ink.draw(none, SMALL, stage=stage).image == np.array(palette.ACCENT)).all(axis=2).sum() == 0


def test_the_halo_never_covers_what_stands_in_front(stage: Stage) -> None:
    drawing = ink.draw(sample.frame(), SMALL, stage=stage)
    screws = [i for i, name in enumerate(drawing.parts.names) if name.startswith("screw")]
    on_screws = drawing.image[np.isin(drawing.parts.part, screws)].astype(int)
    blue = (np.abs(on_screws - np.array(palette.ACCENT)).max(axis=1) < 12).mean()
    assert blue < 0.03


def test_a_heated_part_takes_the_colour_of_its_temperature(stage: Stage) -> None:
    cold = ink.draw(sample.frame(), SMALL, stage=stage)
    hot = ink.draw(sample.heated(), SMALL, stage=stage)
    assert np.abs(np.median(pixels(cold, "gear"), axis=0) - np.median(pixels(hot, "gear"), axis=0)).max() > 10
    ramp = palette.heat_ramp(50).astype(float) @ [0.2126, 0.7152, 0.0722]
    assert (np.diff(ramp) < 0).all()  # darker all the way, so it reads without colour sight too


def test_role_colours_keep_apart_in_ordinary_sight() -> None:
    def lab(colour: palette.Rgb) -> np.ndarray:  # CIE 1976, D65, from the sRGB standard IEC 61966-2-1
        c = np.array(colour) / 255
        linear = np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)
        xyz = (
            np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]) @ linear / [0.9505, 1.0, 1.089]
        )
        f = np.where(xyz > (6 / 29) ** 3, np.cbrt(xyz), xyz / (3 * (6 / 29) ** 2) + 4 / 29)
        return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])

    colours = [lab(palette.role(name)) for name in palette.ROLE]
    apart = [np.linalg.norm(a - b) for i, a in enumerate(colours) for b in colours[i + 1 :]]
    assert min(apart) > 20


def test_the_drawn_sheet_has_no_overlapping_label_and_nothing_outside(stage: Stage) -> None:
    for frame in (sample.frame(), sample.sectioned(), sample.heated()):
        sheet = compose.page(frame, (1500, 1000), stage=stage)
        assert compose.faults(sheet) == []
        assert {label.key for label in sheet.layout.labels} >= {s.label for s in frame.shown if s.state == "arriving"}
        assert sheet.callouts_left_out == 0


def test_nothing_on_a_sheet_is_cut_off(stage: Stage) -> None:
    frame = sample.frame()
    sheet = compose.page(frame, (1500, 1000), stage=stage)
    for edge in (sheet.parts.part[0], sheet.parts.part[-1], sheet.parts.part[:, 0], sheet.parts.part[:, -1]):
        assert (edge == -1).all()
    assert not any(view.clipped for view in measure.seen(stage, [s.name for s in frame.shown]).values())


def test_sheets_come_out_in_other_sizes_without_faults(stage: Stage) -> None:
    for size in ((1280, 720), (900, 1200)):
        sheet = compose.page(sample.frame(), size, stage=stage)
        assert sheet.image.shape == (size[1], size[0], 3)
        assert compose.faults(sheet) == []


def test_a_hidden_arriving_part_gets_a_close_up_without_what_hides_it(stage: Stage) -> None:
    frame = sample.hidden()
    sheet = compose.page(frame, (1500, 1000), stage=stage)
    (close,) = sheet.insets
    assert close.names == ("spacer",) and close.removed == ("box",)
    accent = (close.image == np.array(palette.ACCENT)).all(axis=2)
    assert accent.sum() > 200


def test_a_well_seen_arriving_part_gets_no_close_up(stage: Stage) -> None:
    ink.draw(sample.frame(), SMALL, stage=stage)
    assert inset.wanted(inset.views(stage, sample.frame()), sample.frame()) == ()


def test_the_seen_share_of_a_part_counts_what_stands_in_front(stage: Stage) -> None:
    ink.draw(sample.hidden(), SMALL, stage=stage)
    seen = measure.seen(stage, ["box", "spacer"])
    assert seen["box"].of_itself == 1.0 and seen["spacer"].of_itself == 0.0
    assert seen["spacer"].silhouette > 0 and not seen["spacer"].clear


def test_a_camera_moved_in_close_stays_close_and_stays_in_its_rectangle(stage: Stage) -> None:
    frame = sample.frame()
    near = replace(frame, camera=replace(frame.camera, angle=4.0))
    free = (150.0, 20.0, 750.0, 580.0)
    drawing = ink.draw(near, SMALL, stage=stage, free=free)
    assert drawing.close
    assert (drawing.parts.part[:, :149] == -1).all() and (drawing.parts.part[:, 751:] == -1).all()
    assert not ink.draw(frame, SMALL, stage=stage, free=free).close


def test_a_trail_is_dash_dotted_from_end_to_end() -> None:
    strokes = dash_dot([Trail("gear", ((0.0, 0.0, 0.0), (0.0, 0.0, 60.0), (40.0, 0.0, 60.0)))])
    lengths = np.linalg.norm(strokes[:, 1] - strokes[:, 0], axis=1)
    assert 0.5 * 100 < lengths.sum() < 100
    assert strokes.min() >= 0.0 and strokes[..., 2].max() <= 60.0


def test_the_fit_drawing_shows_the_gap_at_its_stated_factor() -> None:
    view = FitView("gear", "bore", "seat", 60.0, 0.030, -0.012, 0.060, 118.0, 200.0, "200 times")
    bore, low, high = figures.fit_radii(view, 300.0)
    pixels_per_mm = 300.0 / 30.0
    assert bore - 300.0 == pytest.approx(0.030 / 2 * 200.0 * pixels_per_mm)
    assert low < 300.0 < bore < high


@pytest.mark.benchmark
def test_a_live_picture_of_160_parts_is_quick_enough() -> None:
    scene = Stage((1280, 800), edges=True)
    try:
        scene.show(sample.heavy())
        scene.image()
        scene.image()
        times = []
        for _ in range(5):
            start = time.perf_counter()
            scene.image()
            times.append(time.perf_counter() - start)
        assert min(times) < 0.5  # 0.08 s on two idle cores without a graphics card; the bound allows for a busy machine
    finally:
        scene.close()
