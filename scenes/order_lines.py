"""The opening `order = [...]` of a procedure file written anew, everything else in it left as it is.

Contents: `rewritten`, `table_of`.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from types import MappingProxyType

OPENING = re.compile(r"(?ms)^order\s*=\s*\[.*?^\s*\]")
"""From the key to the first bracket at the start of a line."""
LINE = re.compile(r'^\s*"([^"]+)"\s*,?[ \t]*(#.*)?$')


def table_of(content: str, step: str) -> str:
    """The table of one step as it stands in a procedure file [text]."""
    found = re.search(rf"(?ms)^\[step\.{re.escape(step)}\].*?(?=^\[|\Z)", content)
    return found[0].rstrip() + "\n" if found else ""


class CannotRewrite(ValueError):
    """The file's order is not one step id a line: a finished line."""


def rewritten(content: str, order: Sequence[str], tables: Mapping[str, str] = MappingProxyType({})) -> str:
    """The text of a procedure file with its steps in another order; a remark on a step's line goes along with it.

    `content`: the file [text]; `order`: the ids in their new order; ids of the file that are not among them keep to the one before them;
    `tables`: of steps that the file does not have yet, put at its end. Line ends stay as they are.
    """
    if "\r\n" in content:
        return rewritten(content.replace("\r\n", "\n"), order, tables).replace("\n", "\r\n")
    was: list[str] = tomllib.loads(content)["order"]
    names = list(order)
    for place, name in enumerate(was):
        if name not in names:
            names.insert(names.index(was[place - 1]) + 1 if place else 0, name)
    found = OPENING.search(content)
    if found is None:
        raise CannotRewrite("order: accepted: `order = [`, one step id a line, then `]` on a line of its own")
    remarks = {one[1]: one[2] for line in found[0].splitlines() if (one := LINE.match(line)) and one[2]}
    lines = [f'  "{name}",' + (f"  {remarks[name]}" if name in remarks else "") for name in names]
    made = content[: found.start()] + "\n".join(["order = [", *lines, "]"]) + content[found.end() :]
    made = "\n".join([made.rstrip("\n") + "\n", *tables.values()]) if tables else made
    read, added = tomllib.loads(content), tomllib.loads("\n".join(tables.values())).get("step", {})
    if tomllib.loads(made) != {**read, "order": names, "step": {**read["step"], **added}}:
        raise CannotRewrite("order: accepted: `order = [`, one step id a line, then `]` on a line of its own")
    return made
