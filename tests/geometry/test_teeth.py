"""Solids of the bevel pair: closed, of the right volume, and in mesh without overlap."""

import math
import time
from collections.abc import Callable

import manifold3d
import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from calc.bevel import Blank, BlankRefused, blank
from calc.flank import closing_rotations, half_thickness
from geometry import solid as solids
from geometry import teeth
from geometry.part import Matrix, Solid, Spec

INCH = 25.4
MEMBERS: tuple[teeth.Member, ...] = ("pinion", "gear")
FINE = teeth.Facets(flank=12, fillet=5, stations=33)


def spiral_pair(hand: str = "left", backlash: float = 0.22) -> Blank:
    return blank(15, 46, 8.0, face_width=56.0, pressure_angle=math.radians(20), spiral_angle=math.radians(35), hand=hand,
                 backlash=backlash)  # type: ignore[arg-type]  # fmt: skip


def straight_pair() -> Blank:
    return blank(16, 40, INCH / 3.0, face_width=2.25 * INCH, pressure_angle=math.radians(20), backlash=0.25)


def oblique_pair() -> Blank:
    return blank(15, 31, 4.0, face_width=17.0, pressure_angle=math.radians(22.5), spiral_angle=math.radians(30), hand="left",
                 shaft_angle=math.radians(75), backlash=0.12)  # fmt: skip


def miter_pair() -> Blank:
    return blank(30, 30, 4.0, face_width=20.0, pressure_angle=math.radians(20), spiral_angle=math.radians(30), hand="right",
                 backlash=0.12)  # fmt: skip


def zerol_pair() -> Blank:
    return blank(17, 43, 5.0, face_width=28.0, pressure_angle=math.radians(20), hand="right", backlash=0.15)


PAIRS: dict[str, Blank] = {
    "spiral left": spiral_pair(), "spiral right": spiral_pair("right"), "straight": straight_pair(), "zerol": zerol_pair(),
    "miter": miter_pair(), "75 deg": oblique_pair(),
}  # fmt: skip
each_pair = pytest.mark.parametrize("made", PAIRS.values(), ids=PAIRS.keys())


def outline(made: Blank, member: teeth.Member) -> teeth.Outline:
    """A plain hub sized from the toe root."""
    i = teeth.INDEX[member]
    toe = teeth.toe_root_diameter(made, member) / 2.0
    z_toe = made.axial_point(i, made.cones.inner, made.root_height(i, made.cones.inner))[1]
    z_heel = made.axial_point(i, made.cones.outer, made.root_height(i, made.cones.outer))[1]
    rim = min(made.mean_working_depth + made.clearance, made.root_diameters[i] / 2.0 - 0.65 * toe)
    return teeth.body_outline(
        made, member, bore_radius=0.55 * toe, back=z_heel + 2.5 * made.outer_module, front=z_toe - 0.5 * made.outer_module,
        back_hub_radius=0.8 * toe, front_hub_radius=0.7 * toe, rim=rim,
    )  # fmt: skip


def manifold(solid: Solid, pose: Matrix | None = None) -> manifold3d.Manifold:
    place = np.eye(4) if pose is None else pose
    vertices = solid.vertices @ place[:3, :3].T + place[:3, 3]
    return manifold3d.Manifold(manifold3d.Mesh64(np.ascontiguousarray(vertices), solid.faces.astype(np.uint64)))


def assert_closed(solid: Solid) -> None:
    shell = trimesh.Trimesh(solid.vertices, solid.faces, process=False)
    assert shell.is_watertight
    assert shell.is_winding_consistent
    assert shell.euler_number == 0  # a ring with one bore
    body = manifold(solid)
    assert body.status() == manifold3d.Error.NoError
    assert body.genus() == 1
    assert body.volume() == pytest.approx(shell.volume, rel=1e-9)
    assert shell.volume > 0.0
    assert solids.closed(solid)


def revolved_volume(points: list[tuple[float, float]]) -> float:
    """Volume of revolution of a polygon (radius, z), by Pappus."""
    total = 0.0
    for (r1, z1), (r2, z2) in zip(points, points[1:] + points[:1], strict=True):
        total += (r1 * z2 - r2 * z1) * (r1 + r2)
    return math.pi / 3.0 * total


def cone_body(made: Blank, member: teeth.Member, height: Callable[[int, float], float]) -> float:
    """Volume of the member with its teeth cut off at, or the spaces filled to, a line."""
    i = teeth.INDEX[member]
    ends = [made.axial_point(i, x, made.root_height(i, x)) for x in (made.cones.inner, made.cones.outer)]
    raised = [made.axial_point(i, x, height(i, x)) for x in (made.cones.inner, made.cones.outer)]
    return revolved_volume([ends[0], *raised, ends[1], *outline(made, member)])


def tooth_volume(made: Blank, member: teeth.Member) -> float:
    """Volume of all teeth above the root cone without their fillets, by summing the half angle over the flank."""
    i = teeth.INDEX[member]
    nodes, weights = np.polynomial.legendre.leggauss(24)
    x = (made.cones.mean + made.face_width / 2.0 * nodes)[:, None]
    tip = np.array([made.tip_height(i, float(v)) for v in x[:, 0]])[:, None]
    root = np.array([made.root_height(i, float(v)) for v in x[:, 0]])[:, None]
    h = (tip + root) / 2.0 + (tip - root) / 2.0 * nodes[None, :]
    half = half_thickness(made, i, np.hypot(x, h), made.cones.angles[i] + np.arctan2(h, x))
    radius = x * math.sin(made.cones.angles[i]) + h * math.cos(made.cones.angles[i])
    cell = weights[:, None] * weights[None, :] * made.face_width / 2.0 * (tip - root) / 2.0
    return float(made.teeth[i] * np.sum(2.0 * half * radius * cell))


@each_pair
@pytest.mark.parametrize("member", MEMBERS)
def test_a_toothed_member_is_a_closed_ring(made: Blank, member: teeth.Member) -> None:
    assert_closed(teeth.tooth_solid(made, member, outline(made, member)))


@settings(max_examples=25, deadline=None)
@given(
    counts=st.tuples(st.integers(10, 40), st.integers(0, 20)),
    spiral=st.floats(0.0, 36.0),
    hand=st.sampled_from(["left", "right", "straight"]),
    width=st.floats(0.15, 0.32),
    pressure=st.sampled_from([20.0, 22.5]),
    member=st.sampled_from(MEMBERS),
)
def test_any_sound_blank_gives_a_closed_ring(
    counts: tuple[int, int], spiral: float, hand: str, width: float, pressure: float, member: teeth.Member
) -> None:
    z1, z2 = counts[0], counts[0] + counts[1]
    made = blank(z1, z2, 5.0, face_width=width * 2.5 * math.hypot(z1, z2), pressure_angle=math.radians(pressure),
                 spiral_angle=0.0 if hand == "straight" else math.radians(spiral), hand=hand, backlash=0.15)  # type: ignore[arg-type]  # fmt: skip
    try:
        solid = teeth.tooth_solid(made, member, outline(made, member))
    except BlankRefused as refused:
        assert "not pointed" in refused.accepted
        return
    assert_closed(solid)


@each_pair
@pytest.mark.parametrize("member", MEMBERS)
def test_the_volume_lies_between_root_cone_and_tip_cone_and_meets_the_tooth_integral(made: Blank, member: teeth.Member) -> None:
    volume = manifold(teeth.tooth_solid(made, member, outline(made, member), FINE)).volume()
    root, tip = cone_body(made, member, made.root_height), cone_body(made, member, made.tip_height)
    assert root < volume < tip
    # the fillets add a few hundredths of the teeth; end faces are flat between facets
    metal = tooth_volume(made, member)
    assert 0.995 * metal < volume - root < 1.06 * metal


def test_a_ring_of_revolution_is_measured_right_by_the_test_itself() -> None:
    assert revolved_volume([(2.0, 0.0), (3.0, 0.0), (3.0, 4.0), (2.0, 4.0)]) == pytest.approx(math.pi * (9.0 - 4.0) * 4.0)


@pytest.mark.parametrize("member", MEMBERS)
def test_extents_are_the_tip_diameter_and_the_faces(member: teeth.Member) -> None:
    made = spiral_pair()
    body = outline(made, member)
    solid = teeth.tooth_solid(made, member, body)
    i = teeth.INDEX[member]
    assert 2.0 * np.hypot(solid.vertices[:, 0], solid.vertices[:, 1]).max() == pytest.approx(made.tip_diameters[i], abs=1e-6)
    assert solid.vertices[:, 2].max() == pytest.approx(max(z for _, z in body), abs=1e-6)
    assert np.hypot(solid.vertices[:, 0], solid.vertices[:, 1]).min() == pytest.approx(min(r for r, _ in body), abs=1e-9)


@pytest.mark.parametrize("member", MEMBERS)
def test_the_bore_stays_round_within_two_hundredths_of_a_per_cent(member: teeth.Member) -> None:
    made = spiral_pair()
    solid = teeth.tooth_solid(made, member, outline(made, member))
    bore = min(r for r, _ in outline(made, member))
    on_bore = np.isclose(np.hypot(solid.vertices[:, 0], solid.vertices[:, 1]), bore, atol=1e-9)
    inner = solid.faces[on_bore[solid.faces].all(axis=1)]
    middles = solid.vertices[inner][:, [0, 1, 2]].mean(axis=1)
    edges = (solid.vertices[inner] + solid.vertices[np.roll(inner, -1, axis=1)]) / 2.0
    assert len(inner) == 2 * made.teeth[teeth.INDEX[member]] * teeth.DISPLAY.per_tooth
    assert np.hypot(middles[:, 0], middles[:, 1]).min() > bore * (1.0 - 2e-4)
    assert np.hypot(edges[..., 0], edges[..., 1]).min() > bore * (1.0 - 2e-4)


def test_both_members_are_light_enough_to_show_and_quick_to_make() -> None:
    made = spiral_pair()
    bodies = {member: outline(made, member) for member in MEMBERS}
    start = time.perf_counter()
    pair = [teeth.tooth_solid(made, member, bodies[member]) for member in MEMBERS]
    assert time.perf_counter() - start < 0.3
    assert sum(len(solid.faces) for solid in pair) <= 60_000
    coarse = [teeth.tooth_solid(made, member, bodies[member], teeth.COARSE) for member in MEMBERS]
    assert sum(len(solid.faces) for solid in coarse) < 0.6 * sum(len(solid.faces) for solid in pair)


@each_pair
@pytest.mark.parametrize("shifts", [(0.0, 0.0), (0.2, 0.1)], ids=["at their distances", "moved out"])
def test_teeth_in_mesh_do_not_overlap(made: Blank, shifts: tuple[float, float]) -> None:
    turns = teeth.mesh_pose(made, *shifts)
    pinion = manifold(teeth.tooth_solid(made, "pinion", outline(made, "pinion")), teeth.pinion_pose(made, turns[0], shifts[0]))
    gear = manifold(teeth.tooth_solid(made, "gear", outline(made, "gear")), teeth.gear_pose(made, turns[1], shifts[1]))
    assert (pinion ^ gear).volume() < 1.0
    assert turns[0] == 0.0
    # a third of a pitch on, tooth stands on tooth: the pair is in mesh, not merely apart
    ahead = teeth.gear_pose(made, turns[1] + 2.0 * math.pi / made.teeth[1] / 3.0, shifts[1])
    assert (pinion ^ manifold(teeth.tooth_solid(made, "gear", outline(made, "gear")), ahead)).volume() > 20.0


@pytest.mark.parametrize("made", [spiral_pair(backlash=0.6), straight_pair()], ids=["spiral", "straight"])
@pytest.mark.parametrize("turn", [0.0, 0.13])
def test_rocking_the_gear_meets_the_pinion_at_the_ends_of_the_backlash(made: Blank, turn: float) -> None:
    pinion_turn, gear_turn = teeth.mesh_pose(made, pinion_turn=turn)
    half = sum(closing_rotations(made, turn)) / 2.0
    pinion = manifold(teeth.tooth_solid(made, "pinion", outline(made, "pinion"), FINE), teeth.pinion_pose(made, pinion_turn))
    gear = teeth.tooth_solid(made, "gear", outline(made, "gear"), FINE)
    for way in (1.0, -1.0):
        free, jammed = (
            (pinion ^ manifold(gear, teeth.gear_pose(made, gear_turn + way * part * half))).volume() for part in (0.85, 1.15)
        )
        assert free < 1e-3
        assert jammed > 0.05


def test_members_of_the_same_hand_do_not_mesh() -> None:
    left, right = spiral_pair("left"), spiral_pair("right")
    turns = teeth.mesh_pose(left)
    pinion = manifold(teeth.tooth_solid(left, "pinion", outline(left, "pinion")), teeth.pinion_pose(left, turns[0]))
    wrong = manifold(teeth.tooth_solid(right, "gear", outline(right, "gear")), teeth.gear_pose(left, turns[1]))
    assert (pinion ^ wrong).volume() > 500.0


def test_moving_out_takes_the_pinion_along_the_high_speed_shaft_and_the_gear_down() -> None:
    made = spiral_pair()
    for member, pose, way in (("pinion", teeth.pinion_pose, (1.0, 0.0, 0.0)), ("gear", teeth.gear_pose, (0.0, 0.0, -1.0))):
        middles = []
        for shift in (0.0, 0.3):
            place = pose(made, 0.0, shift)
            solid = teeth.tooth_solid(made, member, outline(made, member), teeth.COARSE)  # type: ignore[arg-type]
            middles.append((solid.vertices @ place[:3, :3].T + place[:3, 3]).mean(axis=0))
        assert middles[1] - middles[0] == pytest.approx(0.3 * np.array(way), abs=1e-9)
        assert middles[0] @ np.array(way) > 0.0  # the body lies on the far side of the crossing point


def test_the_mesh_frame_reaches_the_reducer_by_half_a_turn() -> None:
    assert teeth.to_reducer() @ np.array([1.0, 2.0, 3.0, 1.0]) == pytest.approx([1.0, -2.0, -3.0, 1.0])
    assert np.linalg.det(teeth.to_reducer()[:3, :3]) == pytest.approx(1.0)
    made = spiral_pair()
    for place in (teeth.pinion_pose(made, 0.4, 0.1), teeth.gear_pose(made, -0.7, 0.2)):
        assert place[:3, :3] @ place[:3, :3].T == pytest.approx(np.eye(3), abs=1e-15)
        assert np.linalg.det(place[:3, :3]) == pytest.approx(1.0)


def test_moving_the_pinion_in_past_the_backlash_jams_the_teeth() -> None:
    made = spiral_pair()
    pinion, gear = (teeth.tooth_solid(made, member, outline(made, member)) for member in MEMBERS)
    turns = teeth.mesh_pose(made, -1.0, 0.0)
    jammed = manifold(pinion, teeth.pinion_pose(made, turns[0], -1.0)) ^ manifold(gear, teeth.gear_pose(made, turns[1]))
    assert jammed.volume() > 1.0


def test_toe_root_and_keyway_wall_are_measured_on_the_solid() -> None:
    made = spiral_pair()
    solid = teeth.tooth_solid(made, "pinion", outline(made, "pinion"))
    toe_ring = solid.vertices[: made.teeth[0] * teeth.DISPLAY.per_tooth]
    assert 2.0 * np.hypot(toe_ring[:, 0], toe_ring[:, 1]).min() == pytest.approx(teeth.toe_root_diameter(made, "pinion"), abs=1e-9)
    floor = 28.8
    assert teeth.root_wall(made, "pinion", floor) == pytest.approx(teeth.toe_root_diameter(made, "pinion") / 2.0 - floor)
    assert teeth.root_wall(made, "pinion", 60.0) < 0.0


def test_a_spec_names_the_toothed_shape_and_takes_its_keyway() -> None:
    made = spiral_pair()
    body = outline(made, "pinion")
    args = (("blank", made), ("member", "pinion"), ("body", body))
    bore = min(r for r, _ in body)
    plain = solids.build(Spec("steel", special="toothed_member", args=args))
    assert np.array_equal(plain.vertices, teeth.tooth_solid(made, "pinion", body).vertices)
    low, high = min(z for _, z in body) - 1.0, max(z for _, z in body) + 1.0
    cut = solids.build(
        Spec("steel", special="toothed_member", args=args, cut=(("box", (0.0, -5.0, low), (bore + 3.0, 5.0, high)),))
    )
    assert solids.closed(cut)
    assert manifold(cut).genus() == 1
    removed = solids.volume(plain) - solids.volume(cut)
    length = high - low - 2.0
    segment = bore**2 * math.asin(5.0 / bore) + 5.0 * math.sqrt(bore**2 - 25.0)  # part of the box inside the bore
    assert removed == pytest.approx(length * (10.0 * (bore + 3.0) - segment), rel=0.02)


@pytest.mark.parametrize(
    ("spoil", "message"),
    [
        (lambda body: tuple((0.0 if r < 40.0 else r, z) for r, z in body), "none on or across the axis"),
        (lambda body: body[::-1], "does not cross itself"),
        (lambda body: (body[0], (200.0, 60.0), *body[1:]), "does not cross itself"),
        (lambda body: body[:1], "two points or more"),
    ],
)
def test_a_body_that_cannot_be_turned_is_refused(spoil: Callable[[teeth.Outline], teeth.Outline], message: str) -> None:
    made = spiral_pair()
    with pytest.raises(ValueError, match=message):
        teeth.tooth_solid(made, "pinion", spoil(outline(made, "pinion")))


def test_a_pointed_tooth_is_refused_with_the_member_named() -> None:
    made = blank(8, 40, 6.0, face_width=34.0, pressure_angle=math.radians(20), backlash=0.2)
    with pytest.raises(BlankRefused, match="pinion tooth: half width of the tip .* mm: accepted: a tip that is not pointed"):
        teeth.tooth_solid(made, "pinion", outline(made, "pinion"))


def test_too_few_facets_are_refused() -> None:
    with pytest.raises(ValueError, match="accepted: flank 2, fillet 1, stations 2 or more"):
        teeth.Facets(flank=1)
