"""Reads the outside checks of tests/data/checks.csv: one row, one test case.

A row whose confidence is low, or that nobody has seen confirmed outside memory, is marked so that it can't fail a build on its own.
"""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import pytest

CHECKS = Path(__file__).resolve().parents[1] / "data" / "checks.csv"
NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
OPENING = rf"\s*(?:\+-)?({NUMBER})"
PRINTED_SLACK = 1e-9
"""Room for the last bit of a float beside a tolerance of 0 (expected values are at most 8 digits long)."""


def pairs(text: str) -> dict[str, str]:
    """Split 'a=1; b=2 mm' into {'a': '1', 'b': '2 mm'}; pieces without '=' are left out."""
    found = {}
    for piece in text.split(";"):
        name, sign, value = piece.partition("=")
        if sign:
            found[name.strip()] = value.strip().rstrip(",")
    return found


def leading_number(text: str) -> float:
    """The number a text opens with: '195.8 kJ' -> 195.8."""
    match = re.match(OPENING, text)
    if match is None:
        raise ValueError(f"no number opens {text!r}")
    return float(match.group(1))


@dataclass(frozen=True)
class Tolerance:
    """Allowed difference: absolute in the row's unit, or a percentage of the expected value."""

    value: float
    is_percent: bool = False

    def around(self, expected: float) -> float:
        """The allowed difference in the unit of the expected value."""
        return abs(expected) * self.value / 100.0 if self.is_percent else self.value


@dataclass(frozen=True)
class Row:
    """One outside check, its texts as printed in the file."""

    id: str
    quantity: str
    inputs: str
    expected_text: str
    unit: str
    tolerance_text: str
    source: str
    confirmed: str
    confidence: str
    printed: str = ""
    """Of a case out of a manual: "figure" or "rule", as tests/scenes/test_record_manuals.py says."""

    @property
    def given(self) -> dict[str, str]:
        """Named inputs as texts: 'd=60; alpha=1e-5' -> {'d': '60', 'alpha': '1e-5'}."""
        return pairs(self.inputs)

    def number(self, name: str) -> float:
        """The number that opens the named input."""
        return leading_number(self.given[name])

    @property
    def expected(self) -> dict[str, float] | float:
        """A single number, or a dict for 'es=13; ei=2' (each value's opening number; values that open with none are left out)."""
        if "=" not in self.expected_text:
            return float(self.expected_text)
        return {name: leading_number(value) for name, value in self.expected_texts.items() if re.match(OPENING, value)}

    @property
    def expected_texts(self) -> dict[str, str]:
        """Named results as texts: 'thread=M35x1.5; D=52' -> {'thread': 'M35x1.5', 'D': '52'}."""
        return pairs(self.expected_text)

    @property
    def value(self) -> float:
        """The expected number of a row that has just one, named or not."""
        expected = self.expected
        if isinstance(expected, float):
            return expected
        (only,) = expected.values()
        return only

    def want(self, name: str) -> float:
        """The expected number of this name."""
        return leading_number(pairs(self.expected_text)[name])

    def tolerance_of(self, name: str = "") -> Tolerance:
        """Tolerance of the whole row, or of a named result in 'q_conv 4; q_rad 2'."""
        text = self.tolerance_text
        for piece in text.split(";"):
            if name and piece.strip().startswith(name + " "):
                text = piece.strip()[len(name) :]
        return Tolerance(leading_number(text.split(";")[0]), "%" in text)

    @property
    def tolerance(self) -> Tolerance:
        """Tolerance of the whole row."""
        return self.tolerance_of()

    def near(self, got: float, name: str = "") -> None:
        """Assert that `got`, in the row's unit, meets the expected number within the row's tolerance."""
        expected = self.want(name) if name else self.value
        allowed = self.tolerance_of(name).around(expected) + PRINTED_SLACK * max(1.0, abs(expected))
        where = f"{self.id} {name}".strip()
        assert abs(got - expected) <= allowed, f"{where}: got {got}, {expected} +- {allowed} wanted ({self.source})"

    @property
    def is_weak(self) -> bool:
        """True when the row rests on memory or its confidence is low."""
        return self.confidence == "low" or self.confirmed == "memory"


@cache
def _every(path: Path) -> tuple[Row, ...]:
    with path.open(newline="", encoding="utf-8") as file:
        return tuple(Row(*(cell.strip() for cell in line)) for line in list(csv.reader(file))[1:])


def rows(prefix: str, quantity: str = "", path: Path = CHECKS) -> list[Row]:
    """Rows whose id starts with `prefix` and whose quantity contains `quantity`; an empty answer is an error."""
    found = [row for row in _every(path) if row.id.startswith(prefix) and quantity in row.quantity]
    if not found:
        raise LookupError(f"{path.name} has no row {prefix}* with {quantity!r}")
    return found


def cases(prefix: str, quantity: str = "", path: Path = CHECKS) -> list[Any]:
    """The same rows as pytest cases; weak ones may fail without failing the build."""
    reason = "row rests on memory or low confidence: no outside text seen"
    weak = pytest.mark.xfail(strict=False, reason=reason)
    return [pytest.param(row, id=row.id, marks=[weak] if row.is_weak else []) for row in rows(prefix, quantity, path)]
