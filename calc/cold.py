"""Fitting by cold: how much a part shrinks in a freezer, dry ice or liquid nitrogen, and how cold a bearing ring may get.

Lengths mm, temperatures °C. Clearance +, interference -, diametral; sizes hold at 20 °C. The contraction comes from a table, not from an
expansion coefficient: below 0 °C the coefficient of steel falls, at -196 °C to a third of its value at 20 °C.
"""

from __future__ import annotations

import math
from functools import cache
from typing import Literal, overload

import numpy as np
from numpy.typing import NDArray

from calc import tables
from calc.heat import JOINING_CLEARANCE, REFERENCE, growth

Array = NDArray[np.float64]
Part = Literal["bearing ring", "plain part"]

KELVIN = 273.15
"""0 °C [K]."""
DRY_ICE = -78.5
"""Dry ice at atmospheric pressure [°C]."""
LIQUID_NITROGEN = -195.8
"""Boiling liquid nitrogen at atmospheric pressure [°C]: lower end of `contraction`."""
COLD_LIMIT_BEARING = -50.0
"""Coldest a rolling bearing's ring may get where the maker gives no limit [°C]: common practice, from memory."""
COLD_LIMITS = {"bearing ring": COLD_LIMIT_BEARING, "plain part": LIQUID_NITROGEN}
"""Coldest each kind of part may get [°C]: bearing ring from memory, plain part the end of the table."""
CAST_IRON_SPREAD = 3e-5
"""How far cast iron may be from steel SAE 1020 in contraction [1]: Beenakker & Swenson 1955."""
CURVED = ("steel", "bearing steel", "grey iron")
"""Materials that follow the table: grey iron by measurement, hardened bearing steel from memory."""
PRINTED = 1e-5
"""Unit of the table's contraction [1]."""
TEMPERATURE_SLACK = 1e-9
"""Room for the last bit of a temperature at a limit [K]."""


class TooCold(ValueError):
    """A temperature below what the part may have: temperature and limit [°C]."""

    def __init__(self, part: Part, temperature: float, limit: float) -> None:
        self.part = part
        self.temperature = temperature
        self.limit = limit
        super().__init__(f"temperature: {temperature:g} °C for a {part}: accepted: {limit:g} °C and warmer")


@cache
def _curve() -> tuple[Array, Array]:
    table = tables.load("nbs29_steel")
    kelvin = np.array([float(cell) for cell in table.column("temperature")])
    printed = np.array([float(cell) for cell in table.column("contraction")]) * PRINTED
    return kelvin - KELVIN, printed - np.interp(REFERENCE + KELVIN, kelvin, printed)


@overload
def contraction(temperature: float, material: str = "steel") -> float: ...
@overload
def contraction(temperature: Array, material: str = "steel") -> Array: ...
def contraction(temperature: float | Array, material: str = "steel") -> float | Array:
    """Total contraction of steel or grey iron from 20 °C: (L20 - LT) / L20, straight between the table's rows.

    temperature: temperature of the part, a number or an array [°C]
    material: "steel", "bearing steel" or "grey iron" (the same curve, grey iron within 3e-5) [-]
    Result: contraction over length [1]. Range: -195.8 to 20 °C. Source: NBS Monograph 29 (1961), steel SAE 1020; grey iron: Beenakker &
    Swenson 1955; hardened bearing steel by the same curve: from memory.

    >>> round(contraction(DRY_ICE) * 1e3, 2)
    1.06
    """
    if material not in CURVED:
        raise ValueError(f"material: {material!r}: accepted: {', '.join(CURVED)}")
    asked = np.asarray(temperature, dtype=np.float64)
    inside = (asked >= LIQUID_NITROGEN - TEMPERATURE_SLACK) & (asked <= REFERENCE + TEMPERATURE_SLACK)
    if not np.all(inside):
        raise ValueError(f"temperature: {temperature} °C: accepted: {LIQUID_NITROGEN:g} to {REFERENCE:g} °C")
    places, values = _curve()
    found = np.interp(asked, places, values)
    return float(found) if asked.ndim == 0 else np.asarray(found, dtype=np.float64)


@overload
def shrinkage(diameter: float, temperature: float, material: str = "steel") -> float: ...
@overload
def shrinkage(diameter: float, temperature: Array, material: str = "steel") -> Array: ...
def shrinkage(diameter: float, temperature: float | Array, material: str = "steel") -> float | Array:
    """How much smaller a diameter is at a low temperature: dd = d (L20 - LT) / L20, bore and outside alike.

    diameter: diameter at 20 °C [mm]
    temperature: temperature of the part, a number or an array [°C]
    material: "steel", "bearing steel" or "grey iron" [-]
    Result: shrinkage, positive [mm]. Range: as `contraction`; even temperature. Source: as there.

    >>> round(shrinkage(110.0, DRY_ICE), 3)
    0.117
    """
    if not (diameter > 0.0 and math.isfinite(diameter)):
        raise ValueError(f"diameter: {diameter} mm: accepted: more than 0")
    return diameter * contraction(temperature, material)


def check_cold(part: Part, temperature: float, limit: float | None = None) -> float:
    """Refuse a temperature below what a part may have.

    part: "bearing ring" or "plain part" [-]
    temperature: temperature of the part [°C]
    limit: the maker's or owner's limit; None: -50 °C for a bearing ring, -195.8 °C for a plain part [°C]
    Result: the limit that was applied [°C]. Range: colder than it raises TooCold. Source: bearing ring: common practice, from memory.

    >>> check_cold("plain part", DRY_ICE)
    -195.8
    """
    if part not in COLD_LIMITS:
        raise ValueError(f"part: {part!r}: accepted: {', '.join(COLD_LIMITS)}")
    lowest = COLD_LIMITS[part] if limit is None else limit
    if not temperature >= lowest - TEMPERATURE_SLACK:
        raise TooCold(part, temperature, lowest)
    return lowest


def clearance_of_cold_ring(
    clearance: float,
    diameter: float,
    temperature: float,
    *,
    part: Part = "bearing ring",
    material: str = "steel",
    limit: float | None = None,
    housing_temperature: float = REFERENCE,
    housing_expansion: float | None = None,
) -> float:
    """Clearance of a cooled ring, sleeve or pin in its bore: c = c20 + d (L20 - LT)/L20 + d alpha_H (T_H - 20).

    clearance: clearance at 20 °C, interference negative [mm]
    diameter: nominal diameter of the fit [mm]
    temperature: temperature of the cooled part itself [°C]
    part: "bearing ring" or "plain part" [-]
    material: material of the cooled part: "steel", "bearing steel" or "grey iron" [-]
    limit: the maker's or owner's cold limit; None: as `check_cold` [°C]
    housing_temperature: temperature of the bore's part, -60 to 200 °C [°C]
    housing_expansion: mean linear expansion coefficient of the bore's part; needed only when it is not at 20 °C [1/K]
    Result: clearance, interference negative [mm]. Range: -195.8 to 20 °C, a bearing ring not below its limit (TooCold).
    Source: as `contraction`.

    >>> round(clearance_of_cold_ring(-0.010, 110.0, -40.0, material="bearing steel"), 3)
    0.064
    """
    check_cold(part, temperature, limit)
    warm = 0.0
    if housing_temperature != REFERENCE:
        if housing_expansion is None or not housing_expansion > 0.0:
            raise ValueError(f"housing expansion: {housing_expansion}: accepted: more than 0 when the housing is not at 20 °C")
        if not -60.0 <= housing_temperature <= 200.0:
            raise ValueError(f"housing temperature: {housing_temperature} °C: accepted: -60 to 200 °C")
        warm = growth(diameter, housing_expansion, housing_temperature - REFERENCE)
    return clearance + shrinkage(diameter, temperature, material) + warm


def cold_temperature(
    diameter: float,
    interference: float,
    *,
    joining_clearance: float | None = None,
    part: Part = "bearing ring",
    material: str = "steel",
    limit: float | None = None,
) -> float:
    """Temperature of a part at which it clears its bore by the joining clearance: the table read backwards at (I + s) / d.

    diameter: nominal diameter of the fit [mm]
    interference: greatest interference, positive; negative for a clearance fit [mm]
    joining_clearance: clearance wanted while joining; None: 0.001 d; 0: just clears [mm]
    part: "bearing ring" or "plain part" [-]
    material: material of the cooled part [-]
    limit: the maker's or owner's cold limit; None: as `check_cold` [°C]
    Result: temperature, 20 °C when none is needed [°C]. Range: one below the part's limit raises TooCold.
    Source: as `contraction`; joining clearance: DIN 7190-1, from memory.

    >>> round(cold_temperature(40.0, 0.020, joining_clearance=0.020, part="plain part"))
    -72
    """
    if not (diameter > 0.0 and math.isfinite(diameter)):
        raise ValueError(f"diameter: {diameter} mm: accepted: more than 0")
    slide = JOINING_CLEARANCE * diameter if joining_clearance is None else joining_clearance
    needed = (interference + slide) / diameter
    if needed <= 0.0:
        return REFERENCE
    if needed > contraction(LIQUID_NITROGEN, material):
        most = contraction(LIQUID_NITROGEN, material) * diameter - slide
        raise ValueError(f"interference: {interference:g} mm: accepted: up to {most:.4f} mm, what liquid nitrogen takes")
    places, values = _curve()
    found = float(np.interp(needed, values[::-1], places[::-1]))
    check_cold(part, found, limit)
    return found
