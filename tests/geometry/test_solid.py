"""Solids against closed forms: Pappus volume with the facet law, extents, closed bodies, cutaway."""

from __future__ import annotations

from math import pi, sin, sqrt
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry import solid
from geometry.part import Feature, Loop, Solid, Spec
from geometry.profile import turned

EXTENT = 1e-6
"""Sizes of machined faces in a solid agree with the Spec to a nanometre [mm]."""
RING: Loop = ((20.0, 0.0), (40.0, 0.0), (40.0, 30.0), (20.0, 30.0))


def facet(n: int) -> float:
    """Volume of a revolve with n sides over the true one: sin(a) / a."""
    angle = 2.0 * pi / n
    return sin(angle) / angle


def pappus(loop: Loop) -> float:
    """Volume of a body of revolution: pi / 3 sum (r_i + r_j)(r_i z_j - r_j z_i)."""
    pairs = zip(loop, loop[1:] + loop[:1], strict=True)
    return pi / 3.0 * sum((r + s) * (r * z2 - s * z1) for (r, z1), (s, z2) in pairs)


def disc(sides: int, radius: float) -> float:
    """Area of a regular polygon with its corners on the radius."""
    return 0.5 * sides * radius**2 * sin(2.0 * pi / sides)


def made(*, cut: tuple[Feature, ...] = (), add: tuple[Feature, ...] = (), loops: tuple[Loop, ...] = (RING,), n: int = 64) -> Solid:
    body = solid.build(Spec("steel", loops=loops, add=add, cut=cut), n)
    assert solid.closed(body)
    return body


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.floats(4.0, 60.0), st.integers(30, 120)), min_size=1, max_size=6), st.sampled_from([32, 64, 128]))
def test_a_stepped_shaft_has_the_volume_of_pappus_times_the_facet_law(steps: list[tuple[float, int]], n: int) -> None:
    sections, low = [], 0.0
    for length, diameter in steps:
        sections.append((low, low + length, float(diameter)))
        low += length
    loop = turned(sections, [(0.0, low, 20.0)], chamfer=1.5)
    body = made(loops=(loop,), n=n)
    assert solid.bodies(body) == 1
    assert solid.volume(body) == pytest.approx(pappus(loop) * facet(n), rel=1e-9)
    assert body.vertices[:, 2].min() == pytest.approx(0.0, abs=EXTENT)
    assert body.vertices[:, 2].max() == pytest.approx(low, abs=EXTENT)
    assert np.hypot(body.vertices[:, 0], body.vertices[:, 1]).max() == pytest.approx(max(r for r, _ in loop), abs=EXTENT)


@pytest.mark.parametrize("n", [32, 64, 128])
def test_the_corners_of_a_seat_lie_on_its_nominal_radius_from_angle_zero(n: int) -> None:
    body = made(n=n)
    radius = np.hypot(body.vertices[:, 0], body.vertices[:, 1])
    assert np.min(np.abs(radius[:, None] - np.array([20.0, 40.0])), axis=1).max() < EXTENT
    angles = np.unique(np.round(np.arctan2(body.vertices[:, 1], body.vertices[:, 0]) / (2.0 * pi / n), 6) % n)
    np.testing.assert_allclose(angles, np.arange(n), atol=1e-5)


def test_screw_holes_take_away_their_prisms() -> None:
    plain, drilled = made(), made(cut=(("rods", 6, 30.0, 0.3, -2.0, 32.0, 3.0),))
    assert solid.volume(plain) - solid.volume(drilled) == pytest.approx(6 * disc(16, 3.0) * 30.0, rel=1e-9)


def test_a_blind_hole_ends_where_it_should() -> None:
    body = made(cut=(("rod", (30.0, 0.0, 18.0), (30.0, 0.0, 32.0), 3.0),))
    inside = np.hypot(body.vertices[:, 0] - 30.0, body.vertices[:, 1]) < 3.0 + EXTENT
    assert body.vertices[inside][:, 2].min() == pytest.approx(18.0, abs=EXTENT)


def test_a_keyway_has_its_floor_width_and_full_length() -> None:
    shaft = made(loops=(turned([(0.0, 100.0, 50.0)]),), cut=(("keyway", 0.5, 19.5, 14.0, 20.0, 80.0, "round"),))
    turn = np.array([[np.cos(0.5), np.sin(0.5), 0.0], [-np.sin(0.5), np.cos(0.5), 0.0], [0.0, 0.0, 1.0]])
    local = shaft.vertices @ turn.T
    floor = local[np.abs(local[:, 0] - 19.5) < EXTENT]
    assert np.abs(floor[:, 1]).max() == pytest.approx(7.0, abs=EXTENT)
    assert (floor[:, 2].min(), floor[:, 2].max()) == pytest.approx((20.0, 80.0), abs=EXTENT)


def test_a_round_keyway_leaves_the_ends_that_a_flat_one_takes() -> None:
    round_ends, flat_ends = (
        made(loops=(turned([(0.0, 100.0, 50.0)]),), cut=(("keyway", 0.0, 19.5, 14.0, 20.0, 80.0, ends),))
        for ends in ("round", "flat")
    )
    assert 0.0 < solid.volume(round_ends) - solid.volume(flat_ends) < (4.0 - pi) * 7.0**2 * 6.0


def test_slots_hexagon_box_and_turned_block_have_their_volumes() -> None:
    base = solid.volume(made(loops=(turned([(0.0, 30.0, 80.0)]),)))
    for cut, expected in (
        (("slots", 4, 0.0, 5.0, 10.0, 20.0, 25.0, 32.0), 4 * 5.0 * 10.0 * 5.0),
        (("hexagon", 5.0, 3.0, 12.0, 20.0, 32.0), sqrt(3.0) / 2.0 * 12.0**2 * 10.0),
        (("box", (-5.0, -4.0, 20.0), (5.0, 4.0, 32.0)), 10.0 * 8.0 * 10.0),
        (("block", 0.7, (5.0, -4.0, 20.0), (15.0, 4.0, 32.0)), 10.0 * 8.0 * 10.0),
    ):
        assert base - solid.volume(made(loops=(turned([(0.0, 30.0, 80.0)]),), cut=(cut,))) == pytest.approx(expected, rel=1e-9)


def test_a_groove_cut_as_a_second_revolve_follows_pappus() -> None:
    groove: Loop = ((38.0, 10.0), (42.0, 10.0), (42.0, 15.0), (38.0, 15.0))
    inside: Loop = ((38.0, 10.0), (40.0, 10.0), (40.0, 15.0), (38.0, 15.0))
    body = made(cut=(("revolve", groove),))
    assert solid.volume(body) == pytest.approx((pappus(RING) - pappus(inside)) * facet(64), rel=1e-9)


@pytest.mark.parametrize("kind", ["balls", "rollers"])
def test_rolling_elements_are_separate_bodies_of_the_declared_number(kind: str) -> None:
    feature: Feature = (kind, 13, 50.0, 0.0, 5.0, 6.0) if kind == "balls" else (kind, 13, 50.0, 0.0, 0.0, 20.0, 6.0)
    body = made(loops=(), add=(feature,))
    assert solid.bodies(body) == 13
    assert np.hypot(body.vertices[:, 0], body.vertices[:, 1]).max() == pytest.approx(56.0, abs=EXTENT)


def test_a_mitred_wire_has_the_volume_of_its_section_times_its_length() -> None:
    points = ((0.0, 0.0, 0.0), (0.0, 0.0, 10.0), (10.0, 0.0, 10.0), (10.0, 10.0, 20.0))
    body = made(loops=(), add=(("tube", points, 1.0, False),))
    assert solid.volume(body) == pytest.approx(disc(6, 1.0) * (20.0 + sqrt(200.0)), rel=1e-12)


@pytest.mark.parametrize("rise", [0.0, 5.0])
def test_a_wire_joined_to_a_ring_is_closed(rise: float) -> None:
    turn = 2.0 * pi * np.arange(30) / 30
    path = tuple(
        zip((20.0 * np.cos(turn)).tolist(), (20.0 * np.sin(turn)).tolist(), (rise * np.sin(3.0 * turn)).tolist(), strict=True)
    )
    body = made(loops=(), add=(("tube", path, 1.0, True),))
    length = np.linalg.norm(np.diff(np.array([*path, path[0]]), axis=0), axis=1).sum()
    assert solid.bodies(body) == 1
    assert solid.volume(body) == pytest.approx(disc(6, 1.0) * length, rel=1e-9 if rise == 0.0 else 0.02)


def test_several_loops_and_features_become_one_body() -> None:
    body = made(
        loops=(RING, ((30.0, 20.0), (60.0, 20.0), (60.0, 25.0), (30.0, 25.0))),
        add=(("rod", (50.0, 0.0, 22.0), (50.0, 0.0, 40.0), 4.0),),
    )
    assert solid.bodies(body) == 1
    assert body.vertices[:, 2].max() == pytest.approx(40.0, abs=EXTENT)


@pytest.mark.parametrize("damage", ["hole", "flipped face", "inside out", "loose vertex", "not a number", "doubled face"])
def test_a_damaged_mesh_is_not_called_closed(damage: str) -> None:
    body = made()
    vertices, faces = body.vertices.copy(), body.faces.copy()
    if damage == "hole":
        faces = faces[1:]
    elif damage == "flipped face":
        faces[0] = faces[0][::-1]
    elif damage == "inside out":
        faces = faces[:, ::-1]
    elif damage == "loose vertex":
        vertices = np.vstack([vertices, [[0.0, 0.0, 0.0]]])
    elif damage == "not a number":
        vertices[0, 0] = np.nan
    else:
        faces = np.vstack([faces, faces[:1]])
    assert not solid.closed(Solid(vertices, np.ascontiguousarray(faces)))


@pytest.mark.parametrize(
    ("spec", "n", "message"),
    [
        (Spec("steel", loops=(RING[::-1],)), 64, "counter-clockwise"),
        (Spec("steel"), 64, "needs loops"),
        (Spec("steel", loops=(RING,), cut=(("groove", 1.0),)), 64, "accepted: rod, rods"),
        (Spec("steel", loops=(RING,), cut=(("keyway", 0.0, 38.0, 5.0, 0.0, 10.0, "square"),)), 64, "accepted: \"round\" or \"flat\""),
        (Spec("steel", special="unheard of"), 64, "accepted:.*round_key"),
        (Spec("steel", loops=(RING,)), 50, "multiple of 16"),
    ],
)  # fmt: skip
def test_a_spec_that_makes_no_body_says_what_is_accepted(spec: Spec, n: int, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        solid.build(spec, n)


def test_equal_specs_share_one_solid() -> None:
    assert solid.build(Spec("steel", loops=(RING,))) is solid.build(Spec("steel", loops=(RING,)))


@pytest.fixture
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty place on disk for solids, where even quick ones are kept."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setattr(solid, "WORTH_KEEPING", 0.0)
    monkeypatch.setattr(solid, "_memory", {})
    return tmp_path


KEY = Spec("steel", special="round_key", args=(("width", 14.0), ("height", 9.0), ("length", 63.0)))


@pytest.mark.parametrize("damaged", [False, True])
def test_a_solid_kept_on_disk_is_read_back_or_built_anew_when_damaged(
    kept: Path, monkeypatch: pytest.MonkeyPatch, damaged: bool
) -> None:
    first = solid.build(KEY)
    (file,) = kept.rglob("*.npz")
    if damaged:
        file.write_bytes(file.read_bytes()[:100])
    monkeypatch.setattr(solid, "_memory", {})
    again = solid.build(KEY)
    assert again is not first
    np.testing.assert_array_equal(again.vertices, first.vertices)
    np.testing.assert_array_equal(again.faces, first.faces)
    assert not list(kept.rglob("*.part"))


def test_a_folder_that_refuses_writing_costs_only_the_copy(kept: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (kept / "file").write_text("in the way", encoding="ascii")
    monkeypatch.setenv("XDG_CACHE_HOME", str(kept / "file"))
    assert solid.closed(solid.build(KEY))


def test_a_registered_special_takes_further_features(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(solid, "SPECIALS", dict(solid.SPECIALS))

    @solid.special("plain_disc")
    def plain_disc(n: int, **args: Any) -> Solid:
        return solid.build(Spec("steel", loops=(((0.0, 0.0), (args["radius"], 0.0), (args["radius"], 10.0), (0.0, 10.0)),)), n)

    args = (("radius", 25.0),)
    whole, keyed = (
        solid.build(Spec("steel", special="plain_disc", args=args)),
        solid.build(Spec("steel", special="plain_disc", args=args, cut=(("box", (-1.0, -1.0, -1.0), (1.0, 1.0, 11.0)),))),
    )
    assert solid.closed(keyed)
    assert solid.volume(whole) - solid.volume(keyed) == pytest.approx(40.0, rel=1e-9)


def test_a_cutaway_keeps_half_and_marks_the_cut_faces() -> None:
    body = made()
    rest, caps = solid.trim(body, np.eye(4), (0.0, 0.0, 0.0), (0.0, -3.0, 0.0))
    assert solid.closed(rest)
    assert solid.volume(rest) == pytest.approx(solid.volume(body) / 2.0, rel=1e-9)
    assert rest.vertices[:, 1].min() == pytest.approx(0.0, abs=EXTENT)
    corner = rest.vertices[rest.faces[caps]]
    area = np.linalg.norm(np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]), axis=1).sum() / 2.0
    assert area == pytest.approx(2.0 * 20.0 * 30.0, rel=1e-9)


def test_a_cutaway_of_a_placed_part_follows_its_pose_and_stays_in_its_own_frame() -> None:
    body = made()
    pose = np.array([[0.0, 0.0, 1.0, 200.0], [0.0, -1.0, 0.0, 5.0], [1.0, 0.0, 0.0, -7.0], [0.0, 0.0, 0.0, 1.0]])
    rest, caps = solid.trim(body, pose, (212.0, 0.0, 0.0), (1.0, 0.0, 0.0))
    assert rest.vertices[:, 2].max() == pytest.approx(12.0, abs=EXTENT)
    assert solid.volume(rest) == pytest.approx(solid.volume(body) * 12.0 / 30.0, rel=1e-9)
    assert np.abs(rest.vertices[rest.faces[caps]][:, :, 2] - 12.0).max() < EXTENT


def test_a_plane_beside_a_part_leaves_all_or_nothing() -> None:
    body = made()
    rest, caps = solid.trim(body, np.eye(4), (0.0, 0.0, 30.0), (0.0, 0.0, 1.0))
    assert rest is body and not caps.any()
    gone, none = solid.trim(body, np.eye(4), (0.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    assert len(gone.faces) == 0 and len(none) == 0
