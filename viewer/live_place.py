"""One live session in a process of its own, started by viewer.places: its settings are its own, its memory goes when it ends."""

from __future__ import annotations

import sys

from scenes.examples import open_machine
from scenes.explain import Explainer
from scenes.wording import speaking
from viewer import beside, live

if __name__ == "__main__":
    beside.end_with_parent()
    with speaking(sys.argv[2]):
        machine, path = open_machine(sys.argv[1])
        live.serve(Explainer(machine, path.parent if path else None, sys.argv[3]), open_browser=False)
