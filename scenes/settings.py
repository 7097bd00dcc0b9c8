"""What a person moves live, and the effective machine that follows from it.

Lengths mm, temperatures degC. Settings are overrides only: None or an absent gasket means what the machine file says.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from types import MappingProxyType
from typing import Any, Literal

from calc import refusal, units
from geometry import buildable
from geometry.machine import AMBIENT_RANGE, GASKET_RANGE, HEATER_RANGE, Gaskets, Machine, MachineError
from scenes.wording import LANGUAGES

POSITION_GASKETS = tuple(Gaskets.model_fields)


@dataclass(frozen=True)
class Settings:
    """Step id, explode amount 0 to 1, heater and ambient [degC], free gasket thickness [mm], cutaway, unit system, language."""

    step: str | None = None
    explode: float = 1.0
    heater: float | None = None
    ambient: float | None = None
    gaskets: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    cut: bool = True
    units: Literal["mm", "inch"] = "mm"
    language: str = LANGUAGES[0]


def changed(settings: Settings, **changes: Any) -> Settings:
    """A copy with these changes, each checked. Raises ValueError naming the setting, the value and what is accepted."""
    if "gaskets" in changes:
        for name, thickness in changes["gaskets"].items():
            if name not in POSITION_GASKETS:
                raise ValueError(f"gasket {refusal.told(name)}: unknown: accepted: {', '.join(POSITION_GASKETS)}")
            _within(f"gasket {name}", thickness, GASKET_RANGE, "length")
        changes["gaskets"] = MappingProxyType(dict(changes["gaskets"]))
    if changes.get("heater") is not None:
        _within("heater", changes["heater"], HEATER_RANGE, "temperature")
    if changes.get("ambient") is not None:
        _within("ambient", changes["ambient"], AMBIENT_RANGE, "temperature")
    if not 0.0 <= changes.get("explode", 0.0) <= 1.0:
        raise ValueError(f"explode = {changes['explode']}: accepted: 0 to 1")
    if changes.get("units", "mm") not in ("mm", "inch"):
        raise ValueError(f"units = {changes['units']!r}: accepted: mm, inch")
    if changes.get("language", LANGUAGES[0]) not in LANGUAGES:
        raise ValueError(f"language = {changes['language']!r}: accepted: {', '.join(LANGUAGES)}")
    return replace(settings, **changes)


def _within(name: str, value: float, limits: tuple[float, float], kind: str) -> None:
    if not limits[0] <= value <= limits[1]:
        low, high = (units.typed(limit, kind, "mm") for limit in limits)
        raise ValueError(f"{name} = {units.typed(value, kind, 'mm')}: accepted: {low} to {high}")


def effective(machine: Machine, settings: Settings) -> Machine:
    """The machine with the gaskets of the settings in it. Raises MachineError where that makes no buildable reducer."""
    return _effective(machine, tuple(sorted(settings.gaskets.items())))


@lru_cache(maxsize=64)
def _effective(machine: Machine, gaskets: tuple[tuple[str, float], ...]) -> Machine:
    if not gaskets:
        return machine
    chosen = {name: getattr(machine.gaskets, name).model_copy(update={"thickness": value}) for name, value in gaskets}
    copy = machine.model_copy(update={"gaskets": machine.gaskets.model_copy(update=chosen)})
    clashes = buildable.clashes(copy)
    if clashes:
        raise MachineError(clashes)
    return copy
