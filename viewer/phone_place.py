"""The page for phones as it is shared: made once, in a process of its own, while the server already answers.

Contents: `SharedPhone`; run as a program it prints the page of one machine.
"""

from __future__ import annotations

import sys

from scenes.examples import open_machine
from scenes.explain import Explainer
from scenes.wording import speaking, spoken
from viewer import beside, phone


class SharedPhone:
    """The page's bytes: None until it is made; `failed` when it could not be."""

    def __init__(self, machine: str, units: str) -> None:
        self.machine, self.units = machine, units
        self.document: bytes | None = None
        self.failed = False

    async def make(self) -> None:
        """Make the page; cancelled, the process ends too."""
        process = await beside.start("viewer.phone_place", self.machine, spoken(), self.units)
        assert process.stdout
        try:
            made = await process.stdout.read()
            if await process.wait() == 0:
                self.document = made
            else:
                self.failed = True
        finally:
            if process.returncode is None:
                process.kill()
                await process.wait()


if __name__ == "__main__":
    beside.end_with_parent()
    with speaking(sys.argv[2]):
        machine, path = open_machine(sys.argv[1])
        explainer = Explainer(machine, path.parent if path else None, sys.argv[3])
        page = phone.served(phone.page(explainer, explainer.start_settings()), "numbers")
    sys.stdout.buffer.write(page.encode("utf-8"))
