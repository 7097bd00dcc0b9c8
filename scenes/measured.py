"""The machine as it was measured: what stands in a record takes the place of what the machine file says. mm.

Fitted diameters and links of a chain take the last reading that was not struck, whenever it was taken. A gasket takes the one that was put
in (read in the rebuild or as left); the machine as found takes the gasket that came out. Contents: `Measured`, `machine_of`, `dimensions`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from geometry import buildable
from geometry.fields import Fitted, Record, measured_size
from geometry.machine import Gasket, Machine
from scenes.reads import field_at, known
from scenes.record import Job, State, Taken

PUT_IN: tuple[State, ...] = ("fitting", "left")


@dataclass(frozen=True)
class Measured:
    """A machine with readings in it, and what could not be put in: number of the entry and why, a finished line each."""

    machine: Machine
    unfit: tuple[tuple[int, str], ...] = ()


def machine_of(machine: Machine, job: Job, names: Sequence[str], *, found: bool = False) -> Measured:
    """The machine with the readings of a record in it. `names`: its dimensions that take readings; `found`: with the gaskets that came
    out. A reading that makes no buildable reducer is left out and told of."""
    changed, unfit = machine, []
    for name in names:
        old = field_at(machine, name)
        taken = job.latest(name, *(("found",) if found else PUT_IN)) if isinstance(old, Gasket) else job.latest(name)
        if taken is None:
            continue
        try:
            trial = _replaced(changed, name.split("."), _field(old, taken))
            clashes = list(buildable.clashes(trial))
        except ValueError as error:
            clashes = [f"{name}: {_plain(error)}"]
        if clashes:
            unfit += [(taken.number, fault) for fault in clashes]
        else:
            changed = trial
    return Measured(changed, tuple(unfit))


def dimensions(machine: Machine, procedure: Any) -> list[str]:
    """Names of what takes readings in the machine file."""
    return [read.name for read in known(machine, procedure).values() if read.dimension]


def _field(old: Any, taken: Taken) -> Any:
    """A field of the machine file with its readings."""
    if isinstance(old, Gasket):
        return old.model_copy(update={"thickness": taken.mean})
    if isinstance(old, Fitted):
        return Fitted.model_validate({"diameter": f"{old.diameter!r} mm", "readings": [f"{value!r} mm" for value in taken.values]})
    return measured_size(taken.values)


def _replaced(record: Record, place: Sequence[str], value: Any) -> Any:
    inner = value if len(place) == 1 else _replaced(getattr(record, place[0]), place[1:], value)
    return record.model_copy(update={place[0]: inner})


def _plain(error: ValueError) -> str:
    """A fault's own words, without the wrapping of the library that found it."""
    errors = getattr(error, "errors", None)
    return (
        "; ".join(str(one["ctx"]["error"]) if "error" in one.get("ctx", {}) else one["msg"] for one in errors())
        if errors
        else str(error)
    )
