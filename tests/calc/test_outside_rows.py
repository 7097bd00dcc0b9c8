"""Each row of the outside checks is one test case of calc: none is left out, none is counted twice."""

from __future__ import annotations

import re
import subprocess
import sys
from collections import Counter
from pathlib import Path

from tests.calc.rows import CHECKS, rows

HERE = Path(__file__).resolve().parent
ROWS = 287
"""How many outside checks there are; a row that goes missing from the file is noticed here."""


def _cases() -> list[str]:
    """Identifiers in brackets of every collected case of this folder."""
    asked = [sys.executable, "-m", "pytest", "--collect-only", "-q", "-m", "", "-p", "no:cacheprovider", str(HERE)]
    told = subprocess.run(asked, cwd=HERE.parents[1], capture_output=True, text=True, check=True).stdout
    return re.findall(r"^\S+::\w+\[(.+)\]$", told, re.MULTILINE)


def test_the_file_holds_every_row_under_a_name_of_its_own() -> None:
    names = [row.id for row in rows("")]
    assert len(names) == len(set(names)) == ROWS
    assert all(re.fullmatch(r"[A-Z]{3}-\d{3}", name) for name in names)
    assert len(CHECKS.read_text(encoding="utf-8").splitlines()) == ROWS + 1


def test_each_row_is_one_case() -> None:
    names = {row.id for row in rows("")}
    # A row's case is named by the row's identifier alone; rows joined by a dash or a number would be a second use.
    used = Counter(name for case in _cases() for name in re.findall(r"(?<![A-Z])[A-Z]{3}-\d{3}(?!\d)", case))
    assert sorted(names - set(used)) == [], "rows without a case"
    assert sorted(set(used) - names) == [], "cases of rows that are not in the file"
    assert {name: count for name, count in used.items() if count != 1} == {}, "rows with more than one case"
    assert used.total() == ROWS
