"""Handling times by method, by piece and by step, read from a TOML file of texts with units.

Times in s. Common practice, no source: the shipped file is a start, and a file of the owner's stands over it line by line.
Contents: `Handling`, `parse`, `load`, `shipped`.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib import resources
from pathlib import Path
from types import MappingProxyType
from typing import Any

from calc import units
from scenes import wording
from scenes.procedure import METHODS
from scenes.procedure_file import ProcedureError, contents, suggestion

SHIPPED = "handling.toml"
"""The times that come with the program."""
PIECES = ("screw", "checked_screw", "locknut", "wired_head", "dowel", "plug")
"""Pieces that are counted one by one."""
LONGEST = 7.0 * 24.0 * 3600.0
"""Longest time accepted for one entry [s]: a week."""
WIDEST = 0.9
"""Widest spread accepted [1]."""
REMEDY = 'accepted: a handling file (TOML in UTF-8), for example [method] hot = "25 min"'
"""What to do about a file that is none."""


@dataclass(frozen=True)
class Handling:
    """Times of one step by method, of one piece, and of steps that differ [s]; spread of all of them either way [1]."""

    spread: float
    method: Mapping[str, float] = field(hash=False)
    piece: Mapping[str, float] = field(hash=False)
    step: Mapping[str, float] = field(hash=False)


def parse(content: bytes, file: str = "handling file", base: Handling | None = None) -> Handling:
    """Read handling times from the bytes of a TOML file; what it leaves out comes from `base`.

    `content`: the file [bytes]. `file`: name used in messages [text]. `base`: times to stand on [s]; None: the file is whole.
    Raises ProcedureError with every fault at once.
    """
    try:
        data = tomllib.loads(content.decode("utf-8"))
    except UnicodeDecodeError:
        raise ProcedureError([f"{file}: not a text file: {REMEDY}"]) from None
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise ProcedureError([f"{file}: not valid TOML: {error}"]) from None
    if not data:
        raise ProcedureError([f"{file}: the file is empty: {REMEDY}"])
    known = {"method": METHODS, "piece": PIECES, "step": tuple({key.split(".")[1]: "" for key in wording.keys("step.")})}
    faults = [
        f"{file}: {key}: unknown key: {suggestion(key, ('spread', *known))}" for key in data if key not in known and key != "spread"
    ]
    spread = base.spread if base is not None else 0.0
    if "spread" in data:
        spread = _quantity(data["spread"], "fraction", WIDEST, f"{file}: spread", faults)
    tables = {name: dict(getattr(base, name)) if base is not None else {} for name in known}
    for name, accepted in known.items():
        given = data.get(name, {})
        if not isinstance(given, Mapping):
            faults.append(f"{file}: {name} = {given!r}: accepted: a table [{name}]")
            continue
        for key, value in given.items():
            if key not in accepted:
                faults.append(f"{file}: {name}.{key}: unknown key: {suggestion(key, accepted)}")
            else:
                tables[name][key] = _quantity(value, "time", LONGEST, f"{file}: {name}.{key}", faults)
    for name in ("method", "piece"):
        faults += [f"{file}: {name}.{key}: missing: accepted: a time" for key in known[name] if key not in tables[name]]
    if faults:
        raise ProcedureError(faults)
    return Handling(spread, *(MappingProxyType(tables[name]) for name in ("method", "piece", "step")))


def _quantity(given: Any, kind: str, most: float, field_name: str, faults: list[str]) -> float:
    try:
        value = units.read(given, kind)
    except units.UnitError as error:
        faults.append(f"{field_name} = {given!r}: {error}")
        return 0.0
    if not 0.0 <= value <= most:
        faults.append(f"{field_name} = {given!r}: accepted: {units.typed(0.0, kind, 'mm')} to {units.typed(most, kind, 'mm')}")
    return value


def shipped() -> Handling:
    """The times that come with the program [s]."""
    return parse(resources.files("scenes").joinpath("procedures", SHIPPED).read_bytes(), SHIPPED)


def load(path: str | Path | None = None) -> Handling:
    """The shipped times, with those of the owner's file over them.

    `path`: the owner's file; None for the shipped times alone. Raises ProcedureError when it can't be opened or used.
    """
    if path is None:
        return shipped()
    path = Path(path)
    return parse(contents(path, REMEDY), path.name, shipped())
