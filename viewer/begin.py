"""Where the program begins: Ctrl+C while it still loads ends it as quietly as later on. Contents: `main`."""

from __future__ import annotations

import sys
from collections.abc import Sequence

INTERRUPTED = 130
"""Exit code of a program that Ctrl+C ended, as shells have it."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command. Result: the exit code."""
    try:
        from viewer import cli

        return cli.main(argv)
    except KeyboardInterrupt:
        return INTERRUPTED


if __name__ == "__main__":
    sys.exit(main())
