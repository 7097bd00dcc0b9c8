"""A bar on stderr while something takes longer than a second; silent when that is no terminal."""

from __future__ import annotations

import sys
from collections.abc import Callable

Told = Callable[[int, int, str], None]
_elsewhere: list[Told] = []


def divert(to: Told) -> None:
    """From now on tell somebody else in this process's stead."""
    _elsewhere[:] = [to]


def progress(count: int, total: int, what: str) -> None:
    """A bar on stderr, silent when that is no terminal."""
    if _elsewhere:
        _elsewhere[0](count, total, what)
    elif total > 1 and sys.stderr.isatty():
        filled = round(30 * count / total)
        sys.stderr.write(
            f"\r[{'#' * filled}{'.' * (30 - filled)}] {count}/{total} {what[:40]:40}" + ("\n" if count == total else "")
        )
        sys.stderr.flush()
