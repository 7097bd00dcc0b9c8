"""Tables of the standards, in the unit they are printed in, so that a person can hold the book beside the file.

A file: `#` lines (title, source, confirmed), a line of column names, a line of units, then the values. An empty cell is a value that
the standard does not give. Lengths leave here in mm: `load` reads as printed, `Table.mm` converts.
"""

from __future__ import annotations

import csv
from bisect import bisect_left
from dataclasses import dataclass
from functools import cache
from importlib import resources

PER_MM = {"mm": 1.0, "um": 1000.0}
"""How many of a table's unit make one millimetre (dividing keeps 25 um exactly the float 0.025)."""

RANGE_SLACK = 0.0013
"""A size this little past the end of a range counts as the end: a metric size written in four-place inches is off by that much [mm]."""


@dataclass(frozen=True)
class Table:
    """One table as printed: notes by name, column names, units of the columns, rows of texts."""

    name: str
    notes: dict[str, str]
    columns: tuple[str, ...]
    units: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]

    def column(self, name: str) -> tuple[str, ...]:
        """The cells of a named column, as printed."""
        place = self.columns.index(name)
        return tuple(row[place] for row in self.rows)

    def mm(self, row: int, name: str) -> float | None:
        """A length in mm, or None where the standard gives no value."""
        place = self.columns.index(name)
        text = self.rows[row][place]
        return float(text) / PER_MM[self.units[place]] if text else None

    def records(self) -> tuple[dict[str, str], ...]:
        """Each row as {column: cell as printed}."""
        return tuple(dict(zip(self.columns, row, strict=True)) for row in self.rows)

    def row_for(self, size: float) -> int | None:
        """Index of the row "over ... up to and including ..." that holds the size, None outside the table."""
        lower, ends = _range_ends(self.name)
        place = bisect_left(ends, size - RANGE_SLACK)
        if place == len(ends) or not size > lower:
            return None
        return place


@cache
def load(name: str) -> Table:
    """Read one table of this package.

    name: file name without its ending, for example "iso15" [-]
    Result: Table, as printed [-]. Range: the files of this folder; a row with a cell too few or too many raises ValueError.
    Source: the heading of each file.

    >>> load("iso286_grades").mm(0, "IT7")
    0.01
    """
    text = resources.files(__name__).joinpath(f"{name}.csv").read_text(encoding="utf-8")
    lines = text.splitlines()
    notes = dict(line[1:].strip().split(": ", 1) for line in lines if line.startswith("#"))
    columns, units, *rows = csv.reader(line for line in lines if line and not line.startswith("#"))
    for row in rows:
        if len(row) != len(columns):
            raise ValueError(f"{name}.csv: {len(row)} cells beside {len(columns)} columns in {row}")
    return Table(name, notes, tuple(columns), tuple(units), tuple(tuple(row) for row in rows))


@cache
def _range_ends(name: str) -> tuple[float, list[float]]:
    table = load(name)
    starts, ends = [float(cell) for cell in table.column("over")], [float(cell) for cell in table.column("up_to")]
    if starts[1:] != ends[:-1]:
        raise ValueError(f"{name}.csv: the ranges leave a gap or overlap")
    return starts[0], ends
