"""Shim stacks against a plain count of every stack that the stock can make, and gaskets for a band of end play."""

from __future__ import annotations

import re
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calc import endplay, shims
from tests.calc.rows import Row, cases

# A stock of up to four thicknesses, 0 to 3 leaves of each.
STOCKS = st.dictionaries(st.integers(1, 60).map(lambda steps: steps / 100.0), st.integers(0, 3), min_size=1, max_size=4)


def every_stack(stock: dict[float, int], most_leaves: int) -> list[tuple[int, int]]:
    """(total in 1/10000 mm, leaves) of every stack that can be made, by trying all."""
    sizes = list(stock)
    tried = product(*(range(stock[size] + 1) for size in sizes))
    sums = ((sum(n * round(size * 10_000) for n, size in zip(numbers, sizes, strict=True)), sum(numbers)) for numbers in tried)
    return [(total, leaves) for total, leaves in sums if leaves <= most_leaves]


@pytest.mark.parametrize("row", cases("KEY-", "shim leaf stock, metric"))
def test_metric_leaves_are_the_listed_ones(row: Row) -> None:
    assert shims.standard_leaves() == tuple(float(piece) for piece in row.expected_text.split(","))


@pytest.mark.parametrize("row", cases("KEY-", "fewest leaves for a shim pack"))
def test_a_thickness_is_made_of_the_fewest_leaves(row: Row) -> None:
    stock = [float(piece) for piece in row.given["stock"].split(",")]
    best = shims.stacks(row.number("target"), stock).best
    assert best is not None
    row.near(best.count)
    assert best.error == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("row", cases("KEY-", "closest shim pack"))
def test_a_thickness_that_cannot_be_made_is_answered_with_the_nearest(row: Row) -> None:
    stock = [float(piece) for piece in row.given["stock"].split(",")]
    leaves = int(re.search(r"at most (\d+) leaves", row.inputs)[1])  # type: ignore[index]
    got = shims.stacks(row.number("target"), stock, most_leaves=leaves)
    assert got.best is None and got.next_best is None
    row.near(got.nearest.thickness, "thickness")
    row.near(got.nearest.error, "error")
    row.near(got.nearest.count, "leaves")


@settings(deadline=None)
@given(stock=STOCKS, required=st.integers(0, 200), tolerance=st.integers(0, 10), most=st.integers(1, 8))
def test_no_stack_is_better_than_the_best(stock: dict[float, int], required: int, tolerance: int, most: int) -> None:
    got = shims.stacks(required / 100.0, stock, tolerance / 100.0, most_leaves=most)
    every = every_stack(stock, most)
    goal, slack = required * 100, tolerance * 100
    good = sorted((leaves, abs(total - goal)) for total, leaves in every if abs(total - goal) <= slack)
    if good:
        assert got.best is not None and (got.best.count, round(abs(got.best.error) * 10_000)) == good[0]
        assert (got.next_best is not None) == (len(good) > 1)
        if got.next_best is not None:
            assert (got.next_best.count, round(abs(got.next_best.error) * 10_000)) == good[1]
            assert got.next_best.leaves != got.best.leaves
        return
    assert got.best is None
    below = min(((goal - total, leaves) for total, leaves in every if total < goal), default=None)
    above = min(((total - goal, leaves) for total, leaves in every if total > goal), default=None)
    for stack, wanted in ((got.below, below), (got.above, above)):
        assert (stack is None) == (wanted is None)
        if stack is not None:
            assert (round(abs(stack.error) * 10_000), stack.count) == wanted


@settings(deadline=None)
@given(stock=STOCKS, required=st.floats(0.0, 3.0), tolerance=st.floats(0.0, 0.2), most=st.integers(1, 8))
def test_stacks_never_use_more_than_the_stock(stock: dict[float, int], required: float, tolerance: float, most: int) -> None:
    got = shims.stacks(required, stock, tolerance, most_leaves=most)
    for stack in (got.best, got.next_best, got.below, got.above):
        if stack is None:
            continue
        assert stack.count <= most
        assert all(0 < number <= stock[size] for size, number in stack.leaves)
        assert stack.thickness == pytest.approx(sum(size * number for size, number in stack.leaves), abs=1e-9)
        assert stack.error == pytest.approx(stack.thickness - required, abs=1e-8)


@settings(deadline=None)
@given(required=st.integers(0, 150).map(lambda steps: steps / 100.0), wider=st.floats(0.0, 0.1))
def test_a_wider_tolerance_never_takes_more_leaves(required: float, wider: float) -> None:
    narrow, wide = (shims.stacks(required, shims.standard_leaves(), slack).best for slack in (0.01, 0.01 + wider))
    if narrow is not None:
        assert wide is not None and wide.count <= narrow.count


def test_inch_leaves_are_counted_exactly() -> None:
    best = shims.stacks(0.012 * 25.4, shims.standard_leaves("inch")).best
    assert best is not None
    assert [(round(size / 25.4, 4), number) for size, number in best.leaves] == [(0.01, 1), (0.002, 1)]
    # Mixed stock: a 0.031 in leaf with metric ones.
    mixed = shims.stacks(0.031 * 25.4 + 0.25, [*shims.standard_leaves(), *shims.standard_leaves("inch")]).best
    assert mixed is not None and mixed.leaves == ((0.7874, 1), (0.25, 1))


def test_no_shim_is_an_answer_too() -> None:
    assert shims.stacks(0.0, [0.1]).best == shims.Stack((), 0.0, 0.0)
    short = shims.stacks(1.0, {0.1: 2})
    assert short.above is None and short.below is not None and short.nearest.thickness == pytest.approx(0.2)
    assert shims.stacks(0.5, {}).nearest == shims.Stack((), 0.0, -0.5)


@pytest.mark.parametrize(
    ("field", "wrong"),
    [
        ("required", {"required": -0.1}),
        ("required", {"required": float("nan")}),
        ("tolerance", {"tolerance": -0.01}),
        ("most leaves", {"most_leaves": 0}),
        ("stock", {"stock": [0.0]}),
        ("stock", {"stock": [0.00123456]}),
        ("stock", {"stock": {0.1: -1}}),
    ],
)
def test_wrong_inputs_are_refused_by_field(field: str, wrong: dict[str, object]) -> None:
    given_inputs: dict[str, object] = {"required": 0.5, "stock": [0.1], "tolerance": 0.0, **wrong}
    with pytest.raises(shims.StackRefused, match=f"^{field}"):
        shims.stacks(**given_inputs)  # type: ignore[arg-type]


CHAIN = {"face_to_seat": 58.2, "bearing_stack": 43.0, "cover_spigot": 15.6}


@settings(deadline=None)
@given(
    low=st.integers(0, 20).map(lambda steps: steps / 100.0),
    width=st.integers(0, 10).map(lambda steps: steps / 100.0),
    fixed=st.sampled_from([0.0, 0.27]),
    compression=st.sampled_from([0.0, 0.1]),
)
def test_leaves_for_a_band_give_an_end_play_inside_it(low: float, width: float, fixed: float, compression: float) -> None:
    got = endplay.gasket_for_band(low, low + width, shims.standard_leaves(), fixed=fixed, compression=compression, **CHAIN)
    assert got.within == (low - 2e-6 <= got.end_play <= low + width + 2e-6)
    # The ends of the free thickness, clamped, give the ends of the band.
    for free, wanted in ((got.least, low), (got.most, low + width)):
        clamped = fixed + endplay.gasket_compressed(free, compression)
        assert endplay.end_play(gasket=clamped, **CHAIN) == pytest.approx(wanted, abs=1e-9)


def test_a_cover_too_short_for_the_band_is_refused_and_so_is_a_band_the_wrong_way_round() -> None:
    with pytest.raises(endplay.EndPlayError, match="0.300 mm longer"):
        endplay.gasket_for_band(0.0, 0.0, [0.1], face_to_seat=58.2, bearing_stack=43.0, cover_spigot=14.9)
    with pytest.raises(endplay.EndPlayError, match="low"):
        endplay.gasket_for_band(0.1, 0.0, [0.1], **CHAIN)


def test_a_band_that_the_stock_cannot_meet_is_answered_with_the_nearest() -> None:
    got = endplay.gasket_for_band(0.02, 0.04, {0.5: 1, 0.3: 1}, **CHAIN)
    assert not got.within and got.choice.best is None
    assert got.end_play == pytest.approx(0.1)
