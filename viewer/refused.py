"""Bad input on the command line."""

from __future__ import annotations


class Refused(Exception):
    """Bad input: one finished line per fault."""

    def __init__(self, *lines: str) -> None:
        self.lines = lines
        super().__init__("\n".join(lines))
