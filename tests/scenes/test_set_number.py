"""The set number as fitters write it down. Rule: another number stops, the same is fine, what is not clear is asked."""

from __future__ import annotations

import pytest

from scenes import set_number


@pytest.mark.parametrize("typed", ["set 1", "1", "SET 1", "set no. 1", "juego 1", "Número 1", "set1", "pareja nº 1", "set 1, both gears, X and XX",
                                   "set 1, match marks 3 and 4", "pinion 1, gear 1", "1; X / XX", "no. 1", "set 1 tooth 7"])  # fmt: skip
def test_the_same_number_is_fine_however_it_is_written(typed: str) -> None:
    assert set_number.judged("set 1", [typed]) == "fine"


@pytest.mark.parametrize("typed", ["2", "set 2", "juego 12", "WRONG-99", "set 11", "1A", "pinion 1, gear 2", "set 1, gear set 2", "gear 2 pinion 1",
                                   "set 2, match marks 1", "1-2", "wrong"])  # fmt: skip
def test_another_number_stops(typed: str) -> None:
    assert set_number.judged("set 1", [typed]) == "stop"
    assert set_number.judged("set 1", ["set 1", typed]) == "stop"  # one of two gears


@pytest.mark.parametrize("typed", ["01", "1?", "not set 1", "X and XX", "1, 3 and 4", "1 2", "no es 1", "set", ""])
def test_what_is_not_clear_is_asked(typed: str) -> None:
    assert set_number.judged("set 1", [typed]) == "watch"


def test_a_set_that_has_no_figure_is_compared_by_its_words() -> None:
    assert [set_number.judged("set AB", [one]) for one in ("set ab", "AC", "set AB, X")] == ["fine", "stop", "watch"]
