"""Families of parts: closed, the declared number of bodies, exact faces, no overlap where parts run on each other."""

from __future__ import annotations

from math import pi, radians, sin, sqrt
from typing import Any

import numpy as np
import pytest
from manifold3d import Manifold, OpType

from geometry import castings, fasteners, features, rolling, sheets, solid
from geometry.part import Solid, Spec

EXTENT = 1e-6
"""Machined faces in a solid agree with the Spec to a nanometre [mm]."""
WIRE = tuple(tuple((60.0 * np.cos(a), 60.0 * np.sin(a), 6.0) for a in (k * pi / 3.0, (k + 1) * pi / 3.0)) for k in (0, 2, 4))
NUT = fasteners.locknut(50.0, 70.0, 11.0, 6.0, 2.5)
WASHER: dict[str, Any] = {
    "bore": 50.0, "outside": 74.0, "thickness": 1.25, "tabs": 13, "tab_width": 6.0, "tongue_width": 6.0, "tongue_to_bore": 48.5, "nut_outside": 70.0,
    "slot_depth": 2.5,
}  # fmt: skip
ROLLER = rolling.cylindrical_roller_bearing(
    bore=75.0, outside=130.0, width=25.0, raceway_inner=88.5, raceway_outer=116.5, count=17, chamfer=1.5
)
RIBBED = rolling.cylindrical_roller_bearing(
    bore=75.0, outside=130.0, width=25.0, raceway_inner=88.5, raceway_outer=116.5, count=17, chamfer=1.5, rib_outer="one"
)
ANGULAR = rolling.angular_contact_bearing(bore=70.0, outside=125.0, width=24.0, contact_angle=radians(40.0), chamfer=1.5)

FAMILIES: dict[str, tuple[Spec, int, float, float, float]] = {
    "socket screw": (fasteners.socket_screw(12.0, 40.0, 18.0, 12.0, 10.0, 6.0), 1, -40.0, 12.0, 9.0),
    "drilled socket screw": (fasteners.socket_screw(12.0, 40.0, 18.0, 12.0, 10.0, 6.0, drilled=True), 1, -40.0, 12.0, 9.0),
    "level plug": (fasteners.plug(26.0, 20.0, 27.0, 14.0), 1, -20.0, 14.0, 0.56 * 27.0),
    "drain plug": (fasteners.plug(26.0, 20.0, 27.0, 14.0, magnet=True), 1, -27.8, 14.0, 0.56 * 27.0),
    "breather": (fasteners.breather(26.0, 20.0, 27.0, 45.0), 1, -20.0, 45.0, 0.7 * 27.0),
    "locknut": (NUT, 1, 0.0, 11.0, 35.0),
    "tab washer": (fasteners.tab_washer(**WASHER), 1, 0.0, 1.25, float(np.hypot(37.0, 3.0))),
    "flat key": (fasteners.key(14.0, 9.0, 63.0, ends="flat"), 1, 0.0, 63.0, float(np.hypot(9.0, 7.0))),
    "round key": (fasteners.key(14.0, 9.0, 63.0), 1, 0.0, 63.0, float(np.hypot(9.0, 7.0))),
    "dowel": (fasteners.dowel(12.0, 50.0, 1.5), 1, 0.0, 50.0, 6.0),
    "spacer": (fasteners.spacer(60.0, 75.0, 20.0), 1, 0.0, 20.0, 37.5),
    "oil thrower": (fasteners.oil_thrower(60.0, 90.0, 14.0), 1, 0.0, 14.0, 45.0),
    "gasket": (sheets.gasket(outside=250.0, inside=181.0, thickness=0.5, holes=(8, 220.0, 0.2, 13.5), ports=((97.0, 0.0, 6.0),)), 1, 0.0, 0.5, 125.0),
    "shim": (sheets.shim(outside=80.0, inside=60.0, thickness=0.1), 1, 0.0, 0.1, 40.0),
    "roller inner ring": (ROLLER["inner_ring"], 1, 0.0, 25.0, 44.25 + 0.3 * 14.0),
    "roller outer ring": (ROLLER["outer_ring"], 1, 0.0, 25.0, 65.0),
    "ribbed outer ring": (RIBBED["outer_ring"], 1, 0.0, 25.0, 65.0),
    "ball inner ring": (ANGULAR["inner_ring"], 1, 0.0, 24.0, 0.0),
    "ball outer ring": (ANGULAR["outer_ring"], 1, 0.0, 24.0, 62.5),
}  # fmt: skip


def facet(n: int) -> float:
    """Volume of a revolve with n sides over the true one: sin(a) / a."""
    return sin(2.0 * pi / n) / (2.0 * pi / n)


def disc(sides: int, radius: float) -> float:
    """Area of a regular polygon with its corners on the radius."""
    return pi * radius**2 * facet(sides)


def overlap(first: Solid, second: Solid) -> float:
    """Common volume of two solids in one frame [mm3]."""
    both = Manifold.batch_boolean([features.from_solid(first), features.from_solid(second)], OpType.Intersect)
    return float(both.volume())


@pytest.mark.parametrize("n", [64, 128])
@pytest.mark.parametrize("family", FAMILIES)
def test_every_family_is_closed_with_exact_faces(family: str, n: int) -> None:
    spec, count, low, high, radius = FAMILIES[family]
    body = solid.build(spec, n)
    assert solid.closed(body)
    assert solid.bodies(body) == count
    assert (body.vertices[:, 2].min(), body.vertices[:, 2].max()) == pytest.approx((low, high), abs=EXTENT)
    if radius:
        assert np.hypot(body.vertices[:, 0], body.vertices[:, 1]).max() == pytest.approx(radius, abs=EXTENT)


def test_a_socket_screw_has_the_volume_of_shank_and_head_less_its_socket() -> None:
    def frustum(radius: float, edge: float) -> float:
        return pi * edge / 3.0 * (radius**2 + radius * (radius - edge) + (radius - edge) ** 2)

    shank = pi * 36.0 * (40.0 - 1.2) + frustum(6.0, 1.2)
    head = pi * 81.0 * (12.0 - 0.9) + frustum(9.0, 0.9)
    expected = (shank + head) * facet(64) - sqrt(3.0) / 2.0 * 10.0**2 * 6.0
    assert solid.volume(solid.build(FAMILIES["socket screw"][0])) == pytest.approx(expected, rel=1e-9)


def test_a_gasket_has_the_volume_of_its_sheet_less_its_holes() -> None:
    expected = (disc(64, 125.0) - disc(64, 90.5) - 8 * disc(16, 6.75) - disc(16, 3.0)) * 0.5
    assert solid.volume(solid.build(FAMILIES["gasket"][0])) == pytest.approx(expected, rel=1e-9)


def test_a_plate_and_its_gasket_lie_on_each_other_with_the_same_holes() -> None:
    holes = tuple((x, y, 9.0) for x in (-90.0, 0.0, 90.0) for y in (-50.0, 50.0))
    plate = solid.build(sheets.plate(length=200.0, height=120.0, thickness=8.0, corner_radius=12.0, holes=holes))
    gasket = solid.build(
        sheets.plate_gasket(length=200.0, height=120.0, thickness=0.5, corner_radius=12.0, holes=holes, opening=(140.0, 70.0, 8.0))
    )
    assert solid.closed(plate) and solid.closed(gasket)
    corners = 4.0 * 12.0**2 - disc(16, 12.0)
    opening = 140.0 * 70.0 - (4.0 * 8.0**2 - disc(16, 8.0))
    sheet = 200.0 * 120.0 - corners - 6 * disc(16, 4.5)
    assert solid.volume(plate) == pytest.approx(8.0 * sheet, rel=1e-6)
    assert solid.volume(gasket) == pytest.approx(0.5 * (sheet - opening), rel=1e-6)


def test_a_film_keeps_its_inset_from_every_edge() -> None:
    square = ((0.0, 0.0), (100.0, 0.0), (100.0, 80.0), (0.0, 80.0))
    window = ((20.0, 20.0), (20.0, 60.0), (80.0, 60.0), (80.0, 20.0))
    film = solid.build(sheets.sealing_film(thickness=0.03, outlines=(square, window), inset=2.0))
    assert solid.closed(film)
    assert solid.volume(film) == pytest.approx(0.03 * (96.0 * 76.0 - 64.0 * 44.0), rel=1e-6)


def test_a_key_fills_its_keyway_without_overlap() -> None:
    shaft = solid.build(
        Spec(
            "steel",
            loops=(((0.0, 0.0), (25.0, 0.0), (25.0, 63.0), (0.0, 63.0)),),
            cut=(("keyway", 0.0, 19.5, 14.0, 0.0, 63.0, "round"),),
        )
    )
    key = solid.build(fasteners.key(14.0, 9.0, 63.0))
    placed = Solid(key.vertices + np.array([19.5, 0.0, 0.0]), key.faces)
    assert overlap(shaft, placed) < 1e-6
    raised = Solid(placed.vertices - np.array([0.5, 0.0, 0.0]), key.faces)
    assert overlap(shaft, raised) > 100.0


@pytest.mark.parametrize("bent", [0, 3])
def test_a_bent_tab_keeps_its_developed_length(bent: int) -> None:
    flat, body = solid.build(fasteners.tab_washer(**WASHER)), solid.build(fasteners.tab_washer(**WASHER, bent=bent))
    assert solid.closed(body) and solid.bodies(body) == 1
    assert solid.volume(body) == pytest.approx(solid.volume(flat), rel=2e-3)
    assert body.vertices[:, 2].max() > 3.0


def test_the_bent_tab_lies_in_the_nut_slot_without_touching_it() -> None:
    washer, nut = solid.build(fasteners.tab_washer(**(WASHER | {"tab_width": 5.0}), bent=0)), solid.build(NUT)
    on_washer = Solid(nut.vertices + np.array([0.0, 0.0, 1.25]), nut.faces)
    assert overlap(washer, on_washer) < 1e-6
    turn = pi / 4.0
    rotation = np.array([[np.cos(turn), np.sin(turn), 0.0], [-np.sin(turn), np.cos(turn), 0.0], [0.0, 0.0, 1.0]])
    beside = Solid(on_washer.vertices @ rotation, nut.faces)
    assert overlap(washer, beside) > 1.0


def test_the_tongue_reaches_the_stated_distance_from_the_far_side_of_the_bore() -> None:
    body = solid.build(FAMILIES["tab washer"][0])
    tongue = body.vertices[(np.abs(body.vertices[:, 1]) < 3.0 + EXTENT) & (body.vertices[:, 0] > 0.0)]
    assert tongue[:, 0].min() + 25.0 == pytest.approx(48.5, abs=EXTENT)


@pytest.mark.parametrize(
    ("change", "message"), [({"nut_outside": 90.0}, "accepted: between bore and tabs"), ({"bent": 13}, "accepted: 0 to 12")]
)
def test_a_washer_that_cannot_lock_its_nut_is_refused(change: dict[str, Any], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        fasteners.tab_washer(**(WASHER | change))


@pytest.mark.parametrize("head", [0.0, 18.0])
def test_a_lockwire_is_one_body_for_each_pair_of_heads(head: float) -> None:
    body = solid.build(fasteners.lockwire(WIRE, 0.5, head_diameter=head))
    assert solid.closed(body)
    assert solid.bodies(body) == 3


def test_a_lockwire_needs_room_between_the_heads() -> None:
    with pytest.raises(ValueError, match="no room"):
        solid.build(fasteners.lockwire(WIRE, 0.5, head_diameter=58.0))


@pytest.mark.parametrize(
    ("bearing", "elements", "count"), [(ROLLER, "rollers", 17), (RIBBED, "rollers", 17), (ANGULAR, "balls", 0)]
)
def test_the_pieces_of_a_bearing_run_clear_of_each_other(bearing: dict[str, Spec], elements: str, count: int) -> None:
    pieces = {name: solid.build(spec, 256) for name, spec in bearing.items()}
    assert list(bearing) == ["inner_ring", elements, "cage", "outer_ring"]
    assert solid.bodies(pieces[elements]) == (count or rolling.ball_size(70.0, 125.0, 24.0)[2])
    assert solid.bodies(pieces["cage"]) == 1
    names = list(pieces)
    for index, first in enumerate(names):
        assert solid.closed(pieces[first])
        for second in names[index + 1 :]:
            assert overlap(pieces[first], pieces[second]) < 1e-6, (first, second)


@pytest.mark.parametrize("bearing", [ROLLER, ANGULAR])
def test_a_tenth_of_a_millimetre_more_play_is_all_a_rolling_element_has(bearing: dict[str, Spec]) -> None:
    ring, elements = (
        solid.build(bearing["outer_ring"], 256),
        solid.build(bearing["rollers" if "rollers" in bearing else "balls"], 256),
    )
    moved = Solid(elements.vertices * np.array([1.002, 1.002, 1.0]), elements.faces)
    assert overlap(ring, moved) > 0.01


def test_the_outer_ring_of_a_roller_bearing_comes_off_along_its_axis() -> None:
    inside = solid.build(ROLLER["outer_ring"], 256).vertices
    rollers = solid.build(ROLLER["rollers"], 256).vertices
    assert np.hypot(inside[:, 0], inside[:, 1]).min() * np.cos(pi / 256) > np.hypot(rollers[:, 0], rollers[:, 1]).max()


def test_the_back_of_an_angular_contact_bearing_is_at_its_zero_face() -> None:
    outer, inner = (solid.build(ANGULAR[name]).vertices for name in ("outer_ring", "inner_ring"))

    def radii(vertices: np.ndarray, z: float) -> np.ndarray:
        face = vertices[np.abs(vertices[:, 2] - z) < EXTENT]
        return np.hypot(face[:, 0], face[:, 1])

    assert radii(outer, 0.0).min() < radii(outer, 24.0).min() - 1.0
    assert radii(inner, 24.0).max() > radii(inner, 0.0).max() + 1.0


def test_the_balls_touch_along_the_contact_angle() -> None:
    ball, circle, _ = rolling.ball_size(70.0, 125.0, 24.0)
    outline = np.array(ANGULAR["outer_ring"].loops[0])
    centre = np.array([circle / 2.0, 12.0])
    distance = np.linalg.norm(outline - centre, axis=1)
    nearest = outline[int(np.argmin(distance))] - centre
    assert np.arctan2(-nearest[1], nearest[0]) == pytest.approx(radians(40.0), abs=pi / 2.0 / rolling.GROOVE_STEPS)
    assert distance.min() > ball / 2.0


@pytest.mark.parametrize(("change", "message"), [({"count": 40}, "accepted: 3 to"), ({"raceway_outer": 80.0}, "accepted: bore")])
def test_a_roller_bearing_that_cannot_be_built_is_refused(change: dict[str, Any], message: str) -> None:
    sizes: dict[str, Any] = {
        "bore": 75.0,
        "outside": 130.0,
        "width": 25.0,
        "raceway_inner": 88.5,
        "raceway_outer": 116.5,
        "count": 17,
        "chamfer": 1.5,
    }
    with pytest.raises(ValueError, match=message):
        rolling.cylindrical_roller_bearing(**(sizes | change))


def case(half: str, **change: Any) -> Spec:
    """A case half of plain numbers."""
    lower = half == "lower"
    places = castings.split_positions(
        minus_x=208.0, plus_x=208.0, half_width=208.0, wall=16.0, flange_width=38.0, per_side=5, corner_radius=70.0
    )
    z = -85.0 if lower else 86.0
    sizes: dict[str, Any] = {
        "half": half, "minus_x": 208.0, "plus_x": 208.0, "half_width": 208.0, "wall": 16.0, "corner_radius": 70.0, "height": 150.36 if lower else 150.0,
        "pad_radius": 115.0, "pad_rise": 4.0, "vertical_bore": 166.0 if lower else 176.0, "vertical_screws": (8, 206.0, 0.2, 12.0, 24.0),
        "horizontal_bore": 160.0, "boss_radius": 113.0, "end_face": 240.0, "end_screws": (8, 192.0, pi / 8.0, 12.0, 26.0), "flange_width": 38.0,
        "flange_thickness": 26.0, "split_screws": places, "split_hole": 17.5, "split_tap": 16.0, "split_tap_depth": 36.0, "split_seat": 26.0,
        "spot_diameter": 28.0, "dowels": ((-110.0, 243.0), (110.0, -243.0)), "dowel_diameter": 12.0, "opening": (0.0, z, 170.0, 50.0),
        "opening_pad": (220.0, 95.0, 4.0), "opening_screws": ((-97.0, z), (97.0, z)), "opening_tap": (8.0, 16.0),
    }  # fmt: skip
    if lower:
        sizes |= {"foot_height": 100.0, "foot_hole": 18.0, "ports": (((-228.0, 0.0, -126.0), (-1.0, 0.0, 0.0), 16.0, 19.0, 23.0),)}
    else:
        sizes |= {
            "lug_hole": 22.0,
            "gallery": (222.0, 6.0, 86.0),
            "ports": (((-150.0, 130.0, 150.0), (0.0, 0.0, 1.0), 16.0, 19.0, 23.0),),
        }
    return castings.case_half(**(sizes | change))


def has(body: Solid, point: tuple[float, float, float]) -> bool:
    """Whether there is metal at a point."""
    probe = Manifold.cube((0.2, 0.2, 0.2), True).translate(point)
    return float(Manifold.batch_boolean([features.from_solid(body), probe], OpType.Intersect).volume()) > 0.5 * 0.2**3


@pytest.mark.parametrize("n", [64, 128])
@pytest.mark.parametrize("half", ["lower", "upper"])
def test_a_case_half_is_one_closed_casting_with_exact_machined_faces(half: str, n: int) -> None:
    body = solid.build(case(half), n)
    assert solid.closed(body) and solid.bodies(body) == 1
    x, y, z = body.vertices.T
    side = -1.0 if half == "lower" else 1.0
    assert (side * z).min() == pytest.approx(0.0, abs=EXTENT)
    around = np.hypot(y, z)
    assert x[(around > 80.0 - EXTENT) & (around < 113.0 + EXTENT) & (x > 224.5)].max() == pytest.approx(240.0, abs=EXTENT)
    assert np.abs(around[np.abs(x - 240.0) < EXTENT] - 80.0).min() < EXTENT
    pad = z[np.abs(np.hypot(x, y) - 115.0) < EXTENT]
    assert np.abs(pad - side * (150.36 if half == "lower" else 150.0)).min() < EXTENT
    bore = 83.0 if half == "lower" else 88.0
    assert np.abs(np.hypot(x, y)[np.abs(z - side * (150.36 if half == "lower" else 150.0)) < EXTENT] - bore).min() < EXTENT
    assert y[np.abs(z - (side * 85.5)) < 48.0].min() <= -228.0 + EXTENT


def test_the_halves_meet_at_the_split_without_overlap_and_share_their_holes() -> None:
    lower, upper = solid.build(case("lower")), solid.build(case("upper"))
    assert overlap(lower, upper) < 1e-6
    (x, y) = castings.split_positions(
        minus_x=208.0, plus_x=208.0, half_width=208.0, wall=16.0, flange_width=38.0, per_side=5, corner_radius=70.0
    )[1]
    for body, side in ((lower, -1.0), (upper, 1.0)):
        assert not has(body, (x, y, side * 10.0))
        assert not has(body, (110.0, -243.0, side * 10.0))
        assert has(body, (x, y + 13.0, side * 10.0))
        assert not has(body, (0.0, 0.0, side * 10.0))
        assert has(body, (0.0, 216.0, side * 60.0))


def test_drain_gallery_opening_and_feet_are_where_they_were_asked_for() -> None:
    lower, upper = solid.build(case("lower")), solid.build(case("upper"))
    assert not has(lower, (-216.0, 0.0, -126.0)) and has(lower, (-216.0, 13.0, -126.0))
    assert not has(upper, (-150.0, 130.0, 140.0)) and has(upper, (-150.0, 143.0, 140.0))
    assert not has(upper, (222.0, 0.0, 100.0)) and not has(upper, (235.0, 0.0, 86.0)) and has(upper, (215.0, 0.0, 86.0))
    assert not has(lower, (40.0, -216.0, -85.0)) and not has(upper, (40.0, -216.0, 86.0))
    assert lower.vertices[:, 2].min() == pytest.approx(-(150.36 + 4.0 + 16.0 + 100.0), abs=EXTENT)
    ground = lower.vertices[np.abs(lower.vertices[:, 2] - lower.vertices[:, 2].min()) < EXTENT]
    assert {(bool(x > 0.0), bool(y > 0.0)) for x, y, _ in ground} == {(a, b) for a in (True, False) for b in (True, False)}


def test_end_screws_turn_from_up_toward_the_near_side() -> None:
    upper = solid.build(case("upper", end_screws=(1, 192.0, pi / 4.0, 12.0, 26.0)))
    across = 96.0 * sqrt(0.5)
    assert not has(upper, (230.0, -across, across)) and has(upper, (230.0, across, across))


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"boss_radius": 70.0}, "horizontal_bore / 2 < boss_radius"),
        ({"end_face": 220.0}, r"plus_x \+ wall < end_face"),
        ({"half": "middle"}, "lower"),
    ],
)
def test_a_case_half_whose_sizes_clash_is_refused(change: dict[str, Any], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        case(**({"half": "upper"} | change))


def test_the_bead_covers_the_split_face_but_no_hole() -> None:
    lower = case("lower")
    bead = solid.build(sheets.sealant_bead(lower_case=lower, thickness=0.03, inset=2.0))
    assert solid.closed(bead)
    assert (bead.vertices[:, 2].min(), bead.vertices[:, 2].max()) == pytest.approx((0.0, 0.03), abs=EXTENT)
    lifted = Solid(bead.vertices - np.array([0.0, 0.0, 0.03]), bead.faces)
    assert overlap(lifted, solid.build(lower)) == pytest.approx(solid.volume(bead), rel=1e-6)
