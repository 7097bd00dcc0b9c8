"""Order of tightening, passes and lockwire against the printed patterns and by their properties."""

from __future__ import annotations

from math import cos, dist, pi, radians, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import tightening
from tests.calc.rows import Row, cases

COUNTS = st.integers(1, 200)


def circle(count: int, radius: float) -> list[tuple[float, float]]:
    """Screws on a circle, evenly spaced."""
    return [(radius * cos(2.0 * pi * k / count), radius * sin(2.0 * pi * k / count)) for k in range(count)]


@pytest.mark.parametrize("row", cases("SCR-", "star (cross) tightening order"))
def test_crossing_order_is_the_printed_one(row: Row) -> None:
    assert tightening.crossing_order(int(row.number("n"))) == tuple(int(number) for number in row.expected_text.split("-"))


# Legacy cross pattern of ASME PCC-1 for more screws (from memory).
@pytest.mark.parametrize(
    "printed",
    [
        "1-5-3-7-2-6-4-8",
        "1-9-5-13-3-11-7-15-2-10-6-14-4-12-8-16",
        "1-11-6-16-3-13-8-18-5-15-10-20-2-12-7-17-4-14-9-19",
        "1-13-7-19-4-16-10-22-2-14-8-20-5-17-11-23-3-15-9-21-6-18-12-24",
    ],
)
def test_crossing_order_is_the_legacy_one_for_larger_flanges(printed: str) -> None:
    order = tuple(int(number) for number in printed.split("-"))
    assert tightening.crossing_order(len(order)) == order


@given(COUNTS)
def test_crossing_order_takes_every_screw_once_and_opposites_follow_each_other(count: int) -> None:
    order = tightening.crossing_order(count)
    assert sorted(order) == list(range(1, count + 1)) and order[0] == 1
    if count % 2 == 0:
        # Every second step goes exactly across.
        assert all((second - first) % count == count // 2 for first, second in zip(order[::2], order[1::2], strict=True))
    elif count > 1:
        # Nearly across: half a spacing short of it.
        assert all((second - first) % count == (count - 1) // 2 for first, second in zip(order, order[1:], strict=False))


@given(st.integers(4, 200))
def test_the_pull_of_the_tightened_screws_stays_balanced(count: int) -> None:
    # Sum of unit vectors to the tightened screws: never more than two screws' worth off the middle.
    points, x, y = circle(count, 1.0), 0.0, 0.0
    for number in tightening.crossing_order(count):
        x, y = x + points[number - 1][0], y + points[number - 1][1]
        assert (x * x + y * y) ** 0.5 <= 2.0


@given(st.lists(st.tuples(st.floats(-500, 500), st.floats(-500, 500)), min_size=1, max_size=24))
def test_row_order_takes_every_screw_once_and_works_outward(points: list[tuple[float, float]]) -> None:
    order = tightening.row_order(points)
    assert sorted(order) == list(range(1, len(points) + 1))
    middle = tuple((min(axis) + max(axis)) / 2.0 for axis in zip(*points, strict=True))
    away = [dist(points[number - 1], middle) for number in order]
    slack = 0.05 * max(away) + 1e-6
    for place, distance in enumerate(away):
        assert all(distance <= later + slack for later in away[place:])


@given(st.integers(1, 20), st.floats(5.0, 100.0))
def test_a_row_is_tightened_from_the_middle_on_changing_sides(half: int, spacing: float) -> None:
    places = [spacing * k for k in range(2 * half + 1)]
    order = tightening.row_order(places, same_distance=0.0)
    middle = half + 1
    assert order[0] == middle
    for step in range(half):
        assert set(order[1 + 2 * step : 3 + 2 * step]) == {middle - step - 1, middle + step + 1}


def test_two_rows_of_a_split_flange_are_tightened_across() -> None:
    # Four screws on either side of the bore: the inner four crosswise, then the outer four.
    places = [(x, y) for y in (-1.0, 1.0) for x in (-150.0, -50.0, 50.0, 150.0)]
    order = tightening.row_order([(x, 120.0 * y) for x, y in places])
    assert set(order[:4]) == {2, 3, 6, 7} and set(order[4:]) == {1, 4, 5, 8}
    for first, second in (order[0:2], order[4:6]):
        assert places[first - 1] == (-places[second - 1][0], -places[second - 1][1])


@pytest.mark.parametrize("row", cases("SCR-", "tightening passes"))
def test_passes_lie_in_the_printed_ranges(row: Row) -> None:
    rounds = tightening.passes()
    for each, name in zip(rounds, ("pass1", "pass2", "pass3"), strict=False):
        limits = [float(piece) for piece in row.given.get(name, row.expected_texts[name]).split("%")[0].split("..")]
        assert limits[0] == pytest.approx(each.least * 100.0) and limits[-1] == pytest.approx(each.most * 100.0)
        assert each.least <= each.share <= each.most and each.order == "crossing"
    assert len(rounds) == 4 and rounds[-1].order == "circular" and rounds[-1].share == 1.0 and rounds[-1].until_none_moves


@pytest.mark.parametrize("row", cases("SCR-", "lockwire: twists per inch"))
def test_twists_per_inch_are_those_of_the_wire(row: Row) -> None:
    for inch in (float(piece) for piece in row.given["wire"].split("..")):
        got = tightening.twists(inch * 25.4)
        assert (got.low, got.high) == (row.want("low"), row.want("high"))
        assert got.widest_low <= got.low and got.high <= got.widest_high


@pytest.mark.parametrize("row", cases("SCR-", "lockwire: pigtail"))
def test_pigtail_has_the_printed_twists(row: Row) -> None:
    assert tightening.PIGTAIL_TWISTS == (row.want("low"), row.want("high"))


@pytest.mark.parametrize("row", cases("SCR-", "lockwire: longest span"))
def test_lockwire_limits_are_the_printed_ones(row: Row) -> None:
    assert tightening.LONGEST_SPAN / 25.4 == pytest.approx(row.want("span"))
    assert tightening.LONGEST_WIRE / 25.4 == pytest.approx(row.want("wire"))
    assert tightening.WIDE_SPAN / 25.4 == pytest.approx(4.0)
    assert "4-6 in spacing max 3" in row.expected_text
    assert max(len(group) for count in range(1, 50) for group in tightening.wire_groups(count)) == 3


@given(COUNTS)
def test_every_head_is_wired_once_two_by_two_and_three_at_an_odd_end(count: int) -> None:
    groups = tightening.wire_groups(count)
    assert [head for group in groups for head in group] == list(range(1, count + 1))
    assert all(len(group) == 2 for group in groups[:-1])
    assert len(groups[-1]) == (1 if count == 1 else 2 + count % 2)


@given(apart=st.floats(21.0, 150.0), angle=st.floats(0.0, 2.0 * pi), diameter=st.floats(5.0, 20.0), left_handed=st.booleans())
def test_the_wire_pulls_both_heads_the_tightening_way(apart: float, angle: float, diameter: float, left_handed: bool) -> None:
    heads = [(3.0, -7.0), (3.0 + apart * cos(angle), -7.0 + apart * sin(angle))]
    got = tightening.lockwire(heads, head_diameter=diameter, wire_diameter=0.8, left_handed=left_handed)
    (span,) = got.wires[0].spans
    pull = (span.arrives_at[0] - span.leaves_at[0], span.arrives_at[1] - span.leaves_at[1])
    for centre, touch, sign in ((heads[0], span.leaves_at, 1.0), (heads[1], span.arrives_at, -1.0)):
        arm = (touch[0] - centre[0], touch[1] - centre[1])
        moment = sign * (arm[0] * pull[1] - arm[1] * pull[0])
        # Clockwise, seen from the heads, is a negative moment; the wire is tangent, so the whole pull turns the head.
        expected = -span.length * diameter / 2.0 * (-1.0 if left_handed else 1.0)
        assert moment == pytest.approx(expected, rel=1e-9)
    assert span.length == pytest.approx((apart**2 - diameter**2) ** 0.5, rel=1e-9)
    assert got.turn == ("anticlockwise" if left_handed else "clockwise")


def test_lockwire_of_six_heads_on_a_cartridge_flange() -> None:
    got = tightening.lockwire(circle(6, 90.0), head_diameter=16.0, wire_diameter=0.8)
    assert got.pairs == 3 and [wire.heads for wire in got.wires] == [(1, 2), (3, 4), (5, 6)]
    assert all(wire.remarks == () for wire in got.wires)
    # Two strands must at least reach from head to head.
    assert all(wire.cut_length > 2.0 * wire.spans[0].length for wire in got.wires)
    assert got.length == pytest.approx(sum(wire.cut_length for wire in got.wires))
    odd = tightening.lockwire(circle(5, 60.0), head_diameter=16.0, wire_diameter=0.8)
    assert odd.pairs == 1 and odd.wires[-1].heads == (3, 4, 5) and len(odd.wires[-1].spans) == 2


def test_lockwire_says_what_speaks_against_it() -> None:
    far = tightening.lockwire([(0.0, 0.0), (160.0, 0.0)], head_diameter=16.0, wire_diameter=0.8)
    assert "span_too_long" in far.wires[0].remarks
    three = tightening.lockwire([(0.0, 0.0), (140.0, 0.0), (280.0, 0.0)], head_diameter=16.0, wire_diameter=0.8)
    assert three.wires[0].remarks == ("wire_too_long",)
    alone = tightening.lockwire([(0.0, 0.0)], head_diameter=16.0, wire_diameter=0.8)
    assert alone.wires[0].remarks == ("single_head_needs_fixed_point",) and alone.pairs == 0


@given(st.floats(25.0, 140.0), st.floats(1.0, 10.0))
def test_farther_heads_take_more_wire_and_no_fewer_twists(apart: float, more: float) -> None:
    near, far = (
        tightening.lockwire([(0.0, 0.0), (length, 0.0)], head_diameter=20.0, wire_diameter=1.0).wires[0]
        for length in (apart, apart + more)
    )
    assert far.cut_length > near.cut_length
    assert far.spans[0].twists >= near.spans[0].twists and near.spans[0].twists[0] <= near.spans[0].twists[1]


def test_wrong_inputs_are_refused_by_field() -> None:
    for count in (0, -3, 2.5):
        with pytest.raises(tightening.TighteningRefused, match="count"):
            tightening.crossing_order(count)  # type: ignore[arg-type]
        with pytest.raises(tightening.TighteningRefused, match="count"):
            tightening.wire_groups(count)  # type: ignore[arg-type]
    with pytest.raises(tightening.TighteningRefused, match="positions"):
        tightening.row_order([])
    with pytest.raises(tightening.TighteningRefused, match="finite"):
        tightening.row_order([0.0, float("nan")])
    with pytest.raises(tightening.TighteningRefused, match="same distance"):
        tightening.row_order([0.0], same_distance=2.0)
    for wire in (0.3, 2.0):
        with pytest.raises(tightening.TighteningRefused, match="wire diameter"):
            tightening.twists(wire)
    with pytest.raises(tightening.TighteningRefused, match="between heads 1 and 2"):
        tightening.lockwire([(0.0, 0.0), (15.0, 0.0)], head_diameter=16.0, wire_diameter=0.8)
    with pytest.raises(tightening.TighteningRefused, match="head diameter"):
        tightening.lockwire([(0.0, 0.0), (15.0, 0.0)], head_diameter=0.0, wire_diameter=0.8)


def test_steps_of_three_heads_turn_by_the_angle_between_the_spans() -> None:
    # A right angle of heads: both spans are the same length, turned by 90 degrees.
    got = tightening.lockwire([(0.0, 0.0), (40.0, 0.0), (40.0, 40.0)], head_diameter=18.0, wire_diameter=0.8)
    first, second = got.wires[0].spans
    assert first.length == pytest.approx(second.length, rel=1e-12)
    x, y = first.leaves_at
    turned = (x * cos(radians(90.0)) - y * sin(radians(90.0)) + 40.0, x * sin(radians(90.0)) + y * cos(radians(90.0)))
    assert second.leaves_at == pytest.approx(turned, abs=1e-9)
