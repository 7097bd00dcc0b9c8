"""Text on a sheet: where lines break. A figure stands on the line of its unit (ISO 80000-1, 7.1.4: a space that does not part them)."""

from __future__ import annotations

import re

import pytest

from viewer.lettering import width_of, wrap

SAID = "Corona: calentar a 140 °C, nunca por encima de 150 °C. Agujero con al menos 0,020 mm de holgura, 90 % del límite, 48 N·m, 5 de 75"


@pytest.mark.parametrize("width", range(120, 420, 7))
def test_a_figure_stays_on_the_line_of_its_unit(width: int) -> None:
    lines = wrap(SAID, 14, width)
    assert " ".join(lines) == SAID
    assert max(width_of(line, 14) for line in lines) <= width
    assert [line for line in lines if re.match(r"(°C|mm|%|N·m)(\W|$)", line)] == []


def test_a_line_may_break_after_a_figure_that_has_no_unit() -> None:
    assert "5" in {line.split()[-1] for width in range(120, 420, 7) for line in wrap(SAID, 14, width)}
    assert wrap("screw 4 inner nuts", 14, width_of("inner nuts", 14)) == ["screw 4", "inner nuts"]


def test_a_word_wider_than_the_column_is_broken_and_nothing_is_nothing() -> None:
    assert wrap("", 14, 100) == []
    assert "".join(wrap("portarrodamiento" * 4, 14, 100)) == "portarrodamiento" * 4


@pytest.mark.parametrize("width", range(40, 200, 20))
def test_a_mark_stays_on_the_line_of_what_it_marks(width: int) -> None:
    assert wrap("carry at most 9 min free\N{NO-BREAK SPACE}✓", 14, width)[-1] != "✓" or width < 60
