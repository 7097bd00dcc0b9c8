"""The machine files that come with the program, opened by name."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from geometry.machine import Machine, load, parse

EXAMPLES = ("millrace", "slipway")


def open_machine(name: str) -> tuple[Machine, Path | None]:
    """A machine by file path or by the name of a shipped example. Raises MachineError."""
    if name in EXAMPLES:
        return parse(files("scenes").joinpath("machines", f"{name}.toml").read_bytes(), f"{name}.toml"), None
    return load(name), Path(name)
