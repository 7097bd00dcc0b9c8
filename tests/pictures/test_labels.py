"""Labels at the border: no overlap, no crossing, nothing outside, least movement. No drawing needed."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from viewer import labels, measure
from viewer.labels import Anchor, Wish

PICTURE = (0.0, 0.0, 1000.0, 600.0)
INNER = (200.0, 800.0)

wishes = st.lists(
    st.tuples(st.floats(220, 780), st.floats(10, 590), st.floats(30, 190), st.floats(14, 40), st.integers(0, 4)),
    min_size=0,
    max_size=40,
).map(lambda rows: [Wish(f"part {k}", Anchor(x, y, 5.0), w, h, rank) for k, (x, y, w, h, rank) in enumerate(rows)])


def arrange(rows: list[Wish]) -> labels.Layout:
    return labels.arrange(rows, picture=PICTURE, inner=INNER)


@given(wishes)
@settings(max_examples=120, deadline=None)
def test_labels_never_overlap_and_never_leave_the_picture(rows: list[Wish]) -> None:
    layout = arrange(rows)
    assert measure.overlapping(layout.labels) == []
    assert measure.outside(layout.labels, PICTURE) == []
    assert sorted([label.key for label in layout.labels] + list(layout.left_out)) == sorted(w.key for w in rows)


@given(wishes)
@settings(max_examples=120, deadline=None)
def test_every_leader_ends_on_its_part_and_starts_at_its_label(rows: list[Wish]) -> None:
    anchor = {w.key: (w.anchor.x, w.anchor.y) for w in rows}
    for label in arrange(rows).labels:
        assert label.leader[-1] == anchor[label.key]
        assert label.box[1] <= label.leader[0][1] <= label.box[3]
        assert label.leader[0][1] == label.leader[1][1]


def test_leaders_of_thirty_scattered_parts_do_not_cross() -> None:
    rng = np.random.default_rng(7)
    for _ in range(20):
        rows = [Wish(str(k), Anchor(rng.uniform(220, 780), rng.uniform(20, 580), 4.0), 120.0, 17.0) for k in range(30)]
        layout = arrange(rows)
        assert layout.crossings == 0
        assert labels.count_crossings([label.leader for label in layout.labels]) == 0


def test_a_label_with_room_stands_level_with_its_part() -> None:
    layout = arrange([Wish("low", Anchor(300.0, 400.0, 5.0), 80.0, 18.0), Wish("high", Anchor(300.0, 100.0, 5.0), 80.0, 18.0)])
    for label in layout.labels:
        assert (label.box[1] + label.box[3]) / 2 == label.leader[-1][1]


def test_spacing_moves_the_labels_as_little_as_a_general_optimiser_finds() -> None:
    rng = np.random.default_rng(3)
    for _ in range(6):
        wanted, heights, gap = np.sort(rng.uniform(0, 200, 7)), rng.uniform(14, 30, 7), 5.0
        ours = labels.spread(wanted, heights, 0.0, 320.0, gap)
        need = (heights[:-1] + heights[1:]) / 2 + gap
        rules = [
            {"type": "ineq", "fun": lambda c, need=need: np.diff(c) - need},
            {"type": "ineq", "fun": lambda c, h=heights: np.array([c[0] - h[0] / 2, 320.0 - c[-1] - h[-1] / 2])},
        ]
        start = np.cumsum(np.concatenate([[heights[0] / 2], need]))
        peer = minimize(lambda c, w=wanted: ((c - w) ** 2).sum(), start, constraints=rules, method="SLSQP", options={"ftol": 1e-10})
        assert ((ours - wanted) ** 2).sum() <= peer.fun + 1e-3
        assert (np.diff(ours) >= need - 1e-9).all()


def test_an_overfull_column_keeps_what_arrives_and_says_what_it_left_out() -> None:
    rows = [Wish(f"old {k}", Anchor(300.0, 10.0 * k, 5.0), 80.0, 30.0, 3) for k in range(50)]
    rows.append(Wish("arriving", Anchor(300.0, 300.0, 5.0), 80.0, 30.0, 0))
    layout = arrange(rows)
    assert "arriving" in [label.key for label in layout.labels]
    assert len(layout.left_out) + len(layout.labels) == 51
    assert layout.left_out and all(key.startswith("old") for key in layout.left_out)


def test_an_overfull_left_side_sends_what_is_nearest_the_middle_to_the_right() -> None:
    rows = [Wish(str(k), Anchor(250.0 + 10 * k, 300.0, 5.0), 80.0, 30.0) for k in range(20)]
    layout = arrange(rows)
    assert layout.left_out == ()
    assert "19" in [label.key for label in layout.labels if label.side == "right"]
    assert "0" in [label.key for label in layout.labels if label.side == "left"]


def test_crossing_segments_are_told_from_touching_ones() -> None:
    assert labels.cross((0, 0), (10, 10), (0, 10), (10, 0))
    assert not labels.cross((0, 0), (10, 0), (5, 0), (5, 5))
    assert not labels.cross((0, 0), (10, 0), (0, 5), (10, 5))


def test_a_leader_ends_at_the_deepest_point_of_what_is_seen_of_its_part() -> None:
    from viewer.stage import PartMap

    part = np.full((100, 200), -1, dtype=np.int16)
    part[20:61, 30:111] = 0
    part[20:61, 60:111] = 1  # stands in front
    part[90, 150:160] = 2  # one pixel high: too thin to point at
    found = labels.anchors(
        PartMap(part, np.zeros_like(part, dtype=bool), ("behind", "front", "thin")), {"a": ["behind"], "b": ["thin"]}
    )
    assert set(found) == {"a"}
    assert 30 <= found["a"].x < 60 and abs(found["a"].x - 45) <= 1
    assert found["a"].depth == 15


def test_parts_that_share_a_label_get_one_leader_on_the_one_best_seen() -> None:
    from viewer.stage import PartMap

    part = np.full((60, 120), -1, dtype=np.int16)
    part[10:14, 10:14] = 0
    part[30:50, 60:80] = 1
    found = labels.anchors(
        PartMap(part, np.zeros_like(part, dtype=bool), ("screw0", "screw1")), {"Screws (2)": ["screw0", "screw1"]}
    )
    assert 60 <= found["Screws (2)"].x < 80
