"""One live session in a process of its own, started by viewer.places: its settings are its own, its memory goes when it ends."""

from __future__ import annotations

import os
import sys
import threading

from scenes.examples import open_machine
from scenes.explain import Explainer
from scenes.wording import speaking
from viewer import live


def _end_with_parent() -> None:
    """Whoever started this holds the other end of standard input: when that is gone, so is this."""
    sys.stdin.read()
    os._exit(0)


if __name__ == "__main__":
    threading.Thread(target=_end_with_parent, daemon=True).start()
    machine, path = open_machine(sys.argv[1])
    with speaking(sys.argv[2]):
        live.serve(Explainer(machine, path.parent if path else None), open_browser=False)
