"""Dimension chains and end play against the outside END rows."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import chain, endplay
from tests.calc.rows import Row, cases


@pytest.mark.parametrize("row", cases("END", "end play chain: e ="))
def test_end_play_is_what_the_chain_leaves(row: Row) -> None:
    found = endplay.end_play(
        face_to_seat=row.number("H"), gasket=row.number("t"), bearing_stack=row.number("W"), cover_spigot=row.number("C")
    )
    assert found == pytest.approx(row.value, abs=0.0005)


@pytest.mark.parametrize("row", cases("END", "end play chain statistical"))
def test_chances_add_as_the_root_of_squares(row: Row) -> None:
    links = []
    for name, size, plus, lower in re.findall(r"(\w)=([\d.]+)(?:\+-([\d.]+)| 0/-([\d.]+))", row.inputs):
        sign = 1 if name in "Ht" else -1
        links.append(chain.Link(name, sign, float(size), -float(plus or lower), float(plus or 0.0)))
    found = chain.solve(links)
    assert found.mid == pytest.approx(0.175, abs=0.001)
    assert found.rss == pytest.approx(0.107, abs=0.001)


@pytest.mark.parametrize("row", cases("END", "shim thickness to reach"))
def test_shims_under_the_cover_add_to_the_play(row: Row) -> None:
    assert endplay.shim_to_add(present=row.number("present e"), wanted=row.number("wanted")) == pytest.approx(
        row.want("add"), abs=1e-9
    )


@pytest.mark.parametrize("row", cases("END", "gasket compressed"))
def test_a_clamped_gasket_is_thinner(row: Row) -> None:
    compression = float(re.search(r"compression=(\d+)", row.inputs)[1]) / 100  # type: ignore[index]
    assert endplay.gasket_compressed(row.number("t0"), compression) == pytest.approx(row.value, abs=1e-9)


@given(
    st.lists(st.tuples(st.sampled_from([-1, 1]), st.floats(-100, 100), st.floats(0, 1), st.floats(0, 1)), min_size=1, max_size=8)
)
def test_worst_case_holds_every_mix_of_extremes(links: list[tuple[int, float, float, float]]) -> None:
    built = [chain.Link(str(index), sign, size, -minus, plus) for index, (sign, size, minus, plus) in enumerate(links)]
    found = chain.solve(built)
    assert found.low - 1e-9 <= sum(link.sign * (link.nominal + link.lower) for link in built) <= found.high + 1e-9
    assert found.low - 1e-9 <= found.nominal <= found.high + 1e-9
    assert found.rss <= (found.high - found.low) / 2 + 1e-9


def test_an_empty_chain_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one"):
        chain.solve([])
