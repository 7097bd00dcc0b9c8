"""The machine as it was measured: what stands in a record takes the place of what the machine file says. mm.

Fitted diameters and links of a chain take the last reading that counts, was taken at enough places and was not struck, whenever that was. A gasket takes the one that was put
in (read in the rebuild or as left); the machine as found takes the gasket that came out. Contents: `Measured`, `machine_of`, `proven`,
`dimensions`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from calc import units
from geometry import buildable
from geometry.fields import Fitted, Record, measured_size
from geometry.machine import Gasket, Machine
from geometry.reducer import assemble, prove
from scenes import read_titles
from scenes.read_limits import drawn
from scenes.reads import OFFSETS, field_at, known, size_read
from scenes.record import PUT_IN, Job, Taken
from scenes.record_judged import counts
from scenes.wording import text

FAR = 0.5
"""Most that a diameter as read may lie from its nominal [mm]: what the machine file takes."""
_MM = re.compile(r"(-?\d+(?:\.\d+)?) mm\b", re.ASCII)
LEAST = 0.01
"""Least length of a part [mm]."""


@dataclass(frozen=True)
class Measured:
    """A machine with readings in it, and what could not be put in: number of the entry and why, a finished line each."""

    machine: Machine
    unfit: tuple[tuple[int, str], ...] = ()


def machine_of(machine: Machine, job: Job, names: Sequence[str], *, found: bool = False) -> Measured:
    """The machine with the readings of a record in it. `names`: its dimensions that take readings; `found`: with the gaskets that came
    out. A reading that makes no buildable reducer is left out and told of."""
    taken = {}
    for name in names:
        read = size_read(machine, name)
        states = () if not isinstance(field_at(machine, name), Gasket) else ("found",) if found else PUT_IN
        one = next((one for one in reversed(job.standing(name, *states)) if counts(machine, job, read, one)), None)
        if one is not None:
            taken[name] = one
    try:
        return Measured(proven(_all_in(machine, taken, found)))
    except ValueError:  # one of them at least: find which
        pass
    changed, unfit = machine, []
    for name, one in taken.items():
        try:
            changed = proven(_all_in(changed, {name: one}, found))
        except ValueError as error:
            unfit.append((one.number, f"{read_titles.title(name)}: {_plain(error, machine.units)}"))
    return Measured(changed, tuple(unfit))


def _all_in(machine: Machine, taken: Mapping[str, Taken], found: bool) -> Machine:
    """The machine with these readings. Raises ValueError where one is out of its field's range."""
    for name, one in taken.items():
        machine = _replaced(machine, name.split("."), _field(field_at(machine, name), one, found, machine.units))
    return machine


def proven(machine: Machine) -> Machine:
    """The machine, if a reducer can be built of it. Raises ValueError."""
    clashes = list(buildable.clashes(machine))
    if clashes:
        raise ValueError("; ".join(clashes))
    prove(assemble(machine))
    return machine


def dimensions(machine: Machine, procedure: Any) -> list[str]:
    """Names of what takes readings in the machine file."""
    return [read.name for read in known(machine, procedure).values() if read.dimension]


def _field(old: Any, taken: Taken, found: bool, system: units.System) -> Any:
    """A field of the machine file with its readings. A gasket that came out has taken its set: what is measured is its clamped thickness."""
    if isinstance(old, Gasket):
        return old.model_copy(update={"thickness": taken.mean / (1.0 - old.compression) if found else taken.mean})
    if isinstance(old, Fitted):
        far = max(taken.values, key=lambda value: abs(value - old.diameter))
        if abs(far - old.diameter) > FAR:
            told = {
                name: units.show(size, "length", system) for name, size in (("read", far), ("size", old.diameter), ("most", FAR))
            }
            raise ValueError(text("record.far_from_size", **told))
        made = Fitted.model_validate({"diameter": f"{old.diameter!r} mm", "readings": [f"{value!r} mm" for value in taken.values]})
        return made if old.readings is not None else made.model_copy(update={"drawn": drawn(taken.read, old)})
    if old.low > 0.0 and min(taken.values) < LEAST:
        least, most = (units.typed(limit, "length", system) for limit in (LEAST, OFFSETS[1]))
        raise ValueError(text("record.out_of_range", least=least, most=most))
    return measured_size(taken.values)


def _replaced(record: Record, place: Sequence[str], value: Any) -> Any:
    inner = value if len(place) == 1 else _replaced(getattr(record, place[0]), place[1:], value)
    return record.model_copy(update={place[0]: inner})


def _plain(error: ValueError, system: units.System) -> str:
    """A fault's own words, without the wrapping of the library that found it, its lengths in the machine's units."""
    errors = getattr(error, "errors", None)
    said = (
        "; ".join(str(one["ctx"]["error"]) if "error" in one.get("ctx", {}) else one["msg"] for one in errors())
        if errors
        else str(error)
    )
    return said if system == "mm" else _MM.sub(lambda found: units.typed(float(found[1]), "length", system), said)
