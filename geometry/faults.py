"""How a fault of the machine file is told: one line with file, field, what was given, what is accepted."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel

from calc import refusal


class MachineError(ValueError):
    """The file can't be used; `faults` holds one finished line per fault."""

    def __init__(self, faults: list[str]) -> None:
        self.faults = faults
        super().__init__("\n".join(faults))


def _inner(annotation: Any) -> type[BaseModel] | None:
    """The record in a field's type, if there is one."""
    for item in (annotation, *getattr(annotation, "__args__", ())):
        if isinstance(item, type) and issubclass(item, BaseModel):
            return item
    return None


def _record(model: type[BaseModel], location: tuple[Any, ...]) -> type[BaseModel] | None:
    """The record that a place in the file stands for, None for a plain value."""
    current: type[BaseModel] | None = model
    for name in location:
        field = current.model_fields.get(str(name)) if current is not None else None
        current = _inner(field.annotation) if field is not None else None
    return current


def _nearest(model: type[BaseModel], location: tuple[Any, ...]) -> str:
    """The known key closest to a misspelt one, or the list of keys."""
    holder = _record(model, location[:-1])
    if holder is None:
        return "accepted: no key here"
    known = list(holder.model_fields)
    close = difflib.get_close_matches(str(location[-1])[: refusal.LONGEST], known, n=1, cutoff=0.5)
    return f"did you mean {close[0]}? accepted: known keys only" if close else "accepted: " + ", ".join(known)


def _accepted(error: Mapping[str, Any], record: type[BaseModel] | None) -> str:
    """The remedy for each kind of fault that the records themselves find."""
    limits = error.get("ctx", {})
    if record is not None:
        return "accepted: a table with the keys " + ", ".join(record.model_fields)
    match error["type"]:
        case "greater_than_equal":
            return f"accepted: {limits['ge']} or more"
        case "less_than_equal":
            return f"accepted: {limits['le']} or less"
        case "literal_error":
            return "accepted: " + str(limits["expected"]).replace(" or ", ", ").replace("'", '"')
        case "tuple_type" | "list_type":
            return 'accepted: a list, for example ["0.4 mm", "0.5 mm"]'
        case "bool_type" | "bool_parsing":
            return "accepted: true, false"
        case "string_type" | "string_unicode":
            return "accepted: a text in quotes"
        case kind if kind.startswith("int_") or kind == "finite_number":
            return "accepted: a whole number without quotes"
    return "accepted: another value: " + str(error["msg"])


def line(error: Mapping[str, Any], file: str, model: type[BaseModel]) -> str:
    """One finished line from a fault as pydantic tells it.

    `error`: an item of ValidationError.errors(). `file`: name used in the line [text]. `model`: the record of the whole file.
    """
    location = tuple(
        part for part in error["loc"] if not (isinstance(part, str) and "[" in part and error["type"] != "extra_forbidden")
    )
    field = ".".join(refusal.key(part) for part in location) or "file"
    record, given = _record(model, location), error.get("input")
    if error["type"] == "missing":
        if record is not None and not _written_inline(record):
            return f"{file}: [{field}]: missing: this section is required"
        return f"{file}: {field}: missing: this dimension is required"
    if error["type"] == "extra_forbidden":
        return f"{file}: {field}: unknown key: {_nearest(model, location)}"
    shown = f" = {refusal.told(given)}" if not isinstance(given, Mapping) else ""
    if error["type"] != "value_error":
        return f"{file}: {field}{shown}: {_accepted(error, record)}"
    message = str(error["msg"]).removeprefix("Value error, ")
    if shown and isinstance(given, str):
        message = (
            re.sub(r"^.*?(?=accepted: )", "", message) if message.startswith(("screw: ", "locknut: ", "thread: ")) else message
        )
    return f"{file}: {field}{shown}: {message}"


def _written_inline(record: type[BaseModel]) -> bool:
    """Whether the file writes this record in braces on one line: a size, a fitted diameter, screws, a key, a gasket."""
    return record.__name__ in {"Size", "Fitted", "Screws", "SplitScrews", "Key", "Gasket"}
