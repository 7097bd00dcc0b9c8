"""Reads the shipped tables: CSV files with '#' heading lines (title, source, how confirmed), then names, then the printed units.

Cells stay as printed; the module of the trade that uses a table converts its numbers to mm and N.
"""

from __future__ import annotations

import csv
from functools import cache
from importlib.resources import files


@cache
def table_rows(name: str) -> tuple[dict[str, str], ...]:
    """Rows of a shipped table, each as {column: printed cell}.

    name: file name without its ending, for example "iso4762" [-]
    Result: one dict a row [-]. Source: the heading of the file itself.
    """
    text = files("calc").joinpath("tables", f"{name}.csv").read_text(encoding="utf-8")
    names, _units, *rows = csv.reader(line for line in text.splitlines() if line and not line.startswith("#"))
    return tuple(dict(zip(names, row, strict=True)) for row in rows)


@cache
def table_heading(name: str) -> tuple[str, ...]:
    """Title, source and how confirmed of a shipped table.

    name: file name without its ending [-]
    Result: the heading lines without their '#' [-]. Source: the heading of the file itself.
    """
    text = files("calc").joinpath("tables", f"{name}.csv").read_text(encoding="utf-8")
    return tuple(line.removeprefix("#").strip() for line in text.splitlines() if line.startswith("#"))
