"""Blocked intervals: against hand sums, closed formulas and boolean volumes; tight fits raise no alarm, small shoulders do."""

from __future__ import annotations

from dataclasses import replace
from math import inf, pi
from pathlib import Path

import numpy as np
import pytest

from geometry import blocking, dexels, features, solid, strips
from geometry.bill import on_low, pose
from geometry.blocking import NOWHERE, Hit, Table, Vector
from geometry.check_solids import INSET, check_solid, nominal, nominal_sizes
from geometry.part import Part, Solid, Spec
from geometry.profile import turned
from geometry.reducer import Reducer, assemble
from scenes.examples import open_machine

THIN_ONES = ("high_speed_bearing_1_cage", "lower_retainer_wire")
THIN = 0.15
"""What a grid of lines may miss of a wall of its own pitch's size seen edge on."""
UP: Vector = (0.0, 0.0, 1.0)
DOWN: Vector = (0.0, 0.0, -1.0)
OUT: Vector = (1.0, 0.0, 0.0)


@pytest.fixture(scope="module")
def reducer() -> Reducer:
    return assemble(open_machine("millrace")[0])


def part(name: str, spec: Spec, z: float = 0.0, **more: object) -> Part:
    return Part(name=name, role="spacer", spec=spec, pose=on_low(z, **more), bench="case", wording="")  # type: ignore[arg-type]


def ring(bore: float, outside: float, length: float, *, slotted: bool = False) -> Spec:
    """A ring; `slotted` gives it a keyway, so that its outline alone can't decide."""
    cut = (("keyway", 0.0, outside / 2.0 - 1.0, 6.0, 2.0, length - 2.0, "round"),) if slotted else ()
    return Spec("steel", loops=(turned([(0.0, length, outside)], [(0.0, length, bore)]),), cut=cut)


def box(x: float, y: float, z: float) -> Spec:
    return Spec("steel", add=(("box", (-x / 2, -y / 2, 0.0), (x / 2, y / 2, z)),))


# ---- travel against sums of the layout ------------------------------------------------------------------------------------


def test_travel_left_of_coaxial_parts_is_the_sum_of_their_lengths(reducer: Reducer) -> None:
    """Hand sums from the machine's own lengths; outlines are exact."""
    m, parts, table = reducer.machine, reducer.by_name, Table(reducer)
    assert m.high_speed_pair.width is not None and m.low_speed_pair.width is not None
    width = m.high_speed_pair.width.nominal
    for moving, fixed, way, left in (
        ("high_speed_sleeve", "high_speed_bearing_1_inner_ring", OUT, m.spacers.high_speed_sleeve.nominal + width),
        ("high_speed_inner_spacer", "high_speed_bearing_2_inner_ring", OUT, m.high_speed_pair.inner_spacer.nominal + width),
        ("high_speed_outer_spacer", "high_speed_bearing_2_outer_ring", OUT, m.high_speed_pair.outer_spacer.nominal + width),
        ("low_speed_inner_spacer", "low_speed_bearing_2_inner_ring", UP, m.low_speed_pair.inner_spacer.nominal + m.low_speed_pair.width.nominal),
        ("gear_spacer", "lower_bearing_inner_ring", DOWN, m.spacers.gear_spacer.nominal + reducer.layout.low.spacer_end - reducer.layout.low.roller_low),
    ):  # fmt: skip
        hit = table.hit(parts[moving], parts[fixed], way)
        assert hit is not None and hit.exact and not hit.inside, moving
        assert hit.left == pytest.approx(left, abs=1e-3), moving
        assert hit.first == pytest.approx(0.0, abs=1e-3), moving
        away: Vector = (-way[0], -way[1], -way[2])
        assert table.hit(parts[moving], parts[fixed], away) is None, f"{moving}: the other way is free"


def test_travel_left_of_the_gear_below_its_spacer_and_bearing(reducer: Reducer) -> None:
    """The gear's bore is keyed, so it goes by lines: gear length + spacer (+ ring), to about 2 mm."""
    m, parts, table, low = reducer.machine, reducer.by_name, Table(reducer), reducer.layout.low
    spacer = table.hit(parts["gear"], parts["gear_spacer"], DOWN)
    bearing = table.hit(parts["gear"], parts["lower_bearing_inner_ring"], DOWN)
    assert spacer is not None and bearing is not None
    assert spacer.left == pytest.approx(m.gear.length.nominal + m.spacers.gear_spacer.nominal, abs=2.0)
    assert bearing.left == pytest.approx(low.gear_front - low.roller_low, abs=2.0)
    assert bearing.first == pytest.approx(m.spacers.gear_spacer.nominal, abs=2.0)


@pytest.mark.parametrize(
    "way", [(1.0, 0.0, 0.0), (-1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, 1.0), (0.0, 0.0, -1.0)]
)
def test_travel_of_two_blocks_in_every_direction(reducer: Reducer, way: Vector) -> None:
    """A 40 mm cube, another 100 mm away from middle to middle: first touch at 100 + 40 from far away, at 100 - 40 from the seat."""
    table = Table(reducer)
    here = Part("here", "spacer", box(40.0, 40.0, 40.0), pose(np.eye(3), (3.3, -7.7, 5.1)), "case", "")
    there = replace(here, name="there", pose=pose(np.eye(3), np.array([3.3, -7.7, 5.1]) + 100.0 * np.array(way)))
    hit = table.hit(here, there, way)
    assert hit is not None and hit.left == pytest.approx(140.0, abs=1e-4) and hit.first == pytest.approx(60.0, abs=1e-4)
    assert table.hit(here, there, (-way[0], -way[1], -way[2])) is None
    short = table.hit(here, there, way, until=30.0)
    inside = table.hit(here, there, way, until=100.0)
    assert short is None and inside is not None and inside.left == 100.0, "a leg that starts inside is blocked where it starts"
    aside = tuple(45.0 * abs(value) for value in (way[1], way[2], way[0]))
    assert table.hit(here, there, way, offset=aside) is None  # type: ignore[arg-type]
    own = table.hit(here, replace(here, name="same"), way)
    assert own is not None and own.inside


def test_a_slanted_direction_is_judged_like_a_straight_one(reducer: Reducer) -> None:
    """The same two cubes turned by 30 degrees about z together with the direction."""
    turn = np.array([[np.cos(0.5), -np.sin(0.5), 0.0], [np.sin(0.5), np.cos(0.5), 0.0], [0.0, 0.0, 1.0]])
    way: Vector = (float(turn[0, 0]), float(turn[1, 0]), 0.0)
    here = Part("here", "spacer", box(40.0, 40.0, 40.0), pose(turn, (0.0, 0.0, 0.0)), "case", "")
    there = replace(here, name="there", pose=pose(turn, 100.0 * np.array(way)))
    hit = Table(reducer).hit(here, there, way)
    assert hit is not None and hit.left == pytest.approx(140.0, abs=0.1) and hit.first == pytest.approx(60.0, abs=0.1)


# ---- tight fits -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("slotted", [False, True])
@pytest.mark.parametrize("radius", [8.0, 50.0, 160.0])
@pytest.mark.parametrize("clearance", [0.002, 0.0, -0.002, -0.060])
def test_a_tight_fit_is_no_collision(reducer: Reducer, clearance: float, radius: float, slotted: bool) -> None:
    """2 um of clearance to 60 um of interference on the diameter, at any facet phase, by outlines and by lines."""
    table = Table(reducer, 0.5)
    shaft = part("shaft", ring(radius, 2.0 * radius, 60.0, slotted=slotted))
    hub = part("hub", ring(2.0 * radius + clearance, 2.0 * radius + 30.0, 20.0), 20.0, angle=0.0123)
    assert table.hit(hub, shaft, UP) is None and table.hit(hub, shaft, DOWN) is None


@pytest.mark.parametrize("slotted", [False, True])
@pytest.mark.parametrize("height", [0.15, 0.3, 1.0])
def test_a_shoulder_in_the_way_is_found(reducer: Reducer, height: float, slotted: bool) -> None:
    """A collar `height` above the seat, 30 mm from it: 30 mm and the hub's length are left. By lines it must rise over both insets."""
    table = Table(reducer, 0.5)
    outline = turned([(0.0, 60.0, 100.0), (60.0, 90.0, 100.0 + 2.0 * height)], [(0.0, 90.0, 50.0)])
    cut = (("keyway", 0.0, 45.0, 8.0, 10.0, 40.0, "round"),) if slotted else ()
    shaft = part("shaft", Spec("steel", loops=(outline,), cut=cut))
    hub = part("hub", ring(100.0, 140.0, 20.0), 10.0)
    hit = table.hit(hub, shaft, UP)
    assert hit is not None and hit.left == pytest.approx(90.0 - 10.0, abs=1e-3) and hit.exact and not hit.inside
    assert hit.first == pytest.approx(30.0, abs=0.2)
    assert table.hit(hub, shaft, DOWN) is None


def test_a_key_too_wide_for_its_keyway_is_found(reducer: Reducer) -> None:
    """A 20 mm keyway takes a 20 mm key and not one of 20.5 mm."""
    from geometry import fasteners

    shaft = part(
        "shaft", Spec("steel", loops=(turned([(0.0, 100.0, 80.0)]),), cut=(("keyway", 0.0, 32.5, 20.0, 20.0, 80.0, "round"),))
    )
    table = Table(reducer, 0.5)
    for width, free in ((20.0, True), (20.5, False)):
        key = replace(part("key", fasteners.key(width, 12.0, 60.0)), pose=on_low(20.0, 0.0, False, (32.5, 0.0)))
        assert (table.hit(key, shaft, OUT) is None) == free, width


def test_a_screw_that_bottoms_in_its_hole_is_found(reducer: Reducer) -> None:
    """Tapped 30 mm deep: a screw reaching in 28 mm goes home, one of 32 mm overlaps in its seat by 2 mm."""
    from geometry import fasteners

    hole = ("rod", (0.0, 0.0, 20.0), (0.0, 0.0, 55.0), 6.0)
    base = part("base", Spec("steel", add=(("box", (-40.0, -40.0, 0.0), (40.0, 40.0, 50.0)),), cut=(hole,)))
    for length, free in ((28.0, True), (32.0, False)):
        screw = part("screw", fasteners.socket_screw(12.0, length, 18.0, 12.0, 10.0, 6.0), 50.0)
        hit = Table(reducer, 0.5).hit(screw, base, UP)
        assert (hit is None) == free
        if hit is not None:
            assert hit.inside and hit.left == pytest.approx(2.0, abs=0.05)


@pytest.mark.parametrize("pitch", [0.5, 1.0])
@pytest.mark.parametrize("height", [0.0, 0.11, 0.23, 0.31, 0.47, 0.71])
def test_a_sheet_met_edge_on_is_found_wherever_it_lies(reducer: Reducer, height: float, pitch: float) -> None:
    """A 0.34 mm gasket 60 mm beside a block's seat, at any place between the lines: the block slid level meets its edge, one slid
    just over it does not."""
    table = Table(reducer, pitch)
    sheet = part("sheet", Spec("gasket sheet", loops=(((30.0, 0.0), (50.0, 0.0), (50.0, 0.34), (30.0, 0.34)),)), height)
    for lift, free in ((-5.0, False), (0.45, True)):
        block = replace(part("block", box(20.0, 20.0, 10.0)), pose=on_low(height + lift, 0.0, False, (-110.0, 0.0)))
        hit = table.hit(block, sheet, OUT)
        assert (hit is None) == free
        assert hit is None or hit.left == pytest.approx(50.0 + 10.0 + 110.0, abs=2.0)


@pytest.mark.parametrize("deep", [0.0, 0.5])
def test_overlap_in_place_is_as_deep_as_the_parts_reach_into_each_other(reducer: Reducer, deep: float) -> None:
    """Two 20 mm cubes side by side, pushed into each other by `deep`, less the inset of both faces."""
    here, there = (
        replace(part(name, box(20.0, 20.0, 20.0)), pose=on_low(0.0, 0.0, False, (x, 3.0)))
        for name, x in (("here", 0.0), ("there", 20.0 - deep))
    )
    assert Table(reducer, 0.5).overlap(here, there, OUT) == pytest.approx(max(0.0, deep - 2.0 * INSET), abs=1e-3)


# ---- lines and solids -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["cartridge", "gear", "upper_case", "high_speed_bearing_1_cage", "lower_retainer_wire"])
def test_lines_hold_the_body_and_the_inset_body_lies_inside_it(reducer: Reducer, name: str) -> None:
    """Volume of the lines against the mesh's; the check solid's lines lie within the full solid's, and it is smaller."""
    full = solid.build(nominal(reducer.by_name[name].spec, nominal_sizes(reducer).get(name, ())), 128)
    small = check_solid(reducer.by_name[name].spec, nominal_sizes(reducer).get(name, ()))
    pitch = 0.5 if name == "lower_retainer_wire" else 1.0
    for turn in (np.eye(3), np.eye(3)[[1, 2, 0]], np.eye(3)[[2, 0, 1]]):
        outer, inner = (dexels.cut(item, turn, np.array([0.013, 0.027, 0.0]), pitch) for item in (full, small))
        volume = float((outer.high - outer.low).sum()) * pitch**2
        assert volume == pytest.approx(solid.volume(full), rel=THIN if name in THIN_ONES else 0.01)
        low, high = dexels.blocked(inner, inner)
        assert len(low) and low.min() < 0.0 < high.max()
        out = sum(_outside(inner, outer))
        assert out < 1e-3 * volume, f"{out} mm3 of the check solid lie outside"
    assert solid.volume(small) < solid.volume(full)


def _outside(inner: dexels.Dexels, outer: dexels.Dexels) -> list[float]:
    """Lengths of the inner lines that no outer interval covers [mm]."""
    covered = {}
    for line, low, high in zip(outer.line.tolist(), outer.low.tolist(), outer.high.tolist(), strict=True):
        covered.setdefault(line, []).append((low, high))
    rest = []
    for line, low, high in zip(inner.line.tolist(), inner.low.tolist(), inner.high.tolist(), strict=True):
        inside = sum(max(0.0, min(high, b) - max(low, a)) for a, b in covered.get(line, ()))
        rest.append(max(0.0, high - low - inside - 1e-3))
    return rest


def test_the_inset_of_a_block_and_of_a_cylinder_follows_its_formula() -> None:
    """Block: every side shorter by 2 INSET; cylinder: radius and both ends, to a ten thousandth of INSET."""
    block = check_solid(box(30.0, 20.0, 10.0))
    assert solid.volume(block) == pytest.approx((30.0 - 2 * INSET) * (20.0 - 2 * INSET) * (10.0 - 2 * INSET), rel=1e-5)
    bar = check_solid(Spec("steel", loops=(turned([(0.0, 40.0, 50.0)]),)))
    facets = np.sin(2 * pi / 128) / (2 * pi / 128)
    radius = 25.0 - INSET / np.cos(pi / 128)
    assert solid.volume(bar) == pytest.approx(facets * pi * radius**2 * (40.0 - 2 * INSET), rel=1e-5)


def test_a_thin_shim_keeps_three_quarters_of_its_thickness() -> None:
    shim = check_solid(Spec("steel", loops=(((30.0, 0.0), (50.0, 0.0), (50.0, 0.1), (30.0, 0.1)),)))
    assert float(np.ptp(shim.vertices[:, 2])) == pytest.approx(0.075, abs=1e-3)


def test_both_engines_agree_on_coaxial_parts(reducer: Reducer) -> None:
    """Uncut bodies of revolution of the shipped machine: same verdict, travel within 0.15 mm."""
    table, seen = Table(reducer, 0.5), 0
    plain = [item for item in reducer.parts if strips.outlines(item.spec) and not item.spec.cut and item.bench == "cartridge"]
    for moving in plain:
        for fixed in plain:
            if moving is fixed or moving.unit and moving.unit == fixed.unit:
                continue
            by_lines = table._by_dexels(moving, fixed, OUT, NOWHERE).hit(inf, blocking.TOUCH)
            outline = table._by_outline(moving, fixed, OUT, NOWHERE)
            assert outline is not None
            exact: Hit | None = outline.hit(inf, blocking.TOUCH)
            assert (by_lines is None) == (exact is None), (moving.name, fixed.name)
            if by_lines is not None and exact is not None:
                seen += 1
                assert by_lines.left == pytest.approx(exact.left, abs=0.15), (moving.name, fixed.name)
    assert seen > 10


def test_intervals_agree_with_boolean_volumes(reducer: Reducer) -> None:
    """Thrower over locknut and two more pairs: sampled positions overlap (boolean volume) where, and only where, an interval says."""
    table, parts = Table(reducer, 0.5), reducer.by_name
    for moving, fixed, way in (
        ("high_speed_thrower", "high_speed_locknut", OUT),
        ("inner_retainer", "pinion", (-1.0, 0.0, 0.0)),
        ("pinion_key", "pinion", UP),
        ("lower_retainer", "gear", UP),
    ):
        a, b = (features.from_solid(_placed(table, parts[name])) for name in (moving, fixed))
        found = table.cleared(parts[moving], parts[fixed], way)
        for shift in np.linspace(0.0, 200.0, 41):
            volume = (a.translate(tuple(shift * np.array(way))) ^ b).volume()
            said = bool(((found.spans[:, 0] < shift) & (found.spans[:, 1] > shift)).any())
            edge = float(np.abs(found.spans - shift).min()) if len(found.spans) else inf
            assert said == (volume > 0.05) or edge < 2.0, (moving, fixed, shift, volume)


def _placed(table: Table, item: Part) -> Solid:
    shape = check_solid(item.spec, table.sizes.get(item.name, ()))
    return Solid(shape.vertices @ item.pose[:3, :3].T + item.pose[:3, 3], shape.faces)


@pytest.mark.parametrize("axis", [UP, (1.0, 0.0, 0.0), (0.6, 0.0, 0.8)])
@pytest.mark.parametrize("name", ["upper_case", "pinion", "lower_retainer_wire", "gear_gasket"])
def test_the_lines_of_a_window_are_those_of_the_whole_cut(reducer: Reducer, name: str, axis: tuple[float, float, float]) -> None:
    """To the last digit: an answer may not depend on how much of a body was drawn for it."""
    item = reducer.by_name[name]
    turn, _ = blocking.frame(axis)
    solid, place = check_solid(item.spec), (turn @ item.pose[:3, :3], turn @ item.pose[:3, 3])
    points = solid.vertices @ place[0].T + place[1]
    low, size = points[:, :2].min(axis=0), np.ptp(points[:, :2], axis=0)
    whole = dexels.cut(solid, *place, 1.0)
    row, column = whole.line // dexels.ACROSS - dexels.HALF, whole.line % dexels.ACROSS - dexels.HALF
    across = (np.column_stack([column, row]) + dexels.OFFSET) * 1.0
    for begin, end in ((0.0, 0.5), (0.3, 0.4), (0.45, 1.1)):
        window = np.array([low + begin * size, low + end * size])
        seen = dexels.cut(solid, *place, 1.0, window)
        inside = ((across >= window[0]) & (across < window[1])).all(axis=1)
        for mine, theirs in ((seen.line, whole.line), (seen.low, whole.low), (seen.high, whole.high)):
            np.testing.assert_array_equal(mine, theirs[inside])


def test_answers_do_not_depend_on_what_was_asked_before(reducer: Reducer, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same look-ups in two orders, from empty memories."""
    names = ["cartridge", "lower_case", "pinion", "gear", "low_speed_shaft", "inner_retainer"]
    pairs = [(a, b) for a in names for b in names if a != b]

    def asked(order: list[tuple[str, str]]) -> dict[tuple[str, str], Hit | None]:
        monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / str(len(list(tmp_path.iterdir())))))
        blocking._pairs.clear()
        blocking._cuts.clear()
        table = Table(reducer)
        found = {(a, b): table.hit(reducer.by_name[a], reducer.by_name[b], UP) for a, b in order}
        table.save()
        return found

    assert asked(pairs) == asked(pairs[::-1])


def test_a_pitch_out_of_range_is_refused(reducer: Reducer) -> None:
    with pytest.raises(ValueError, match="pitch.*accepted"):
        Table(reducer, 0.0)
