"""Materials of a reducer: `material` gives expansion, density, specific heat, stiffness; `notes` says where sources disagree.

Units inside: 1/K, kg/m3, J/(kg K), MPa, W/(m K), °C. Values and their sources: tables/materials.csv.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from calc import tables

PER_MILLION = 1e-6
"""Printed expansion coefficients are in 1e-6/K."""
STEEL_CURVE_RANGE = (20.0, 600.0)
"""Range of the steel curves below [°C]: up to where EN 1993-1-2 keeps the same polynomial for the specific heat."""


@dataclass(frozen=True)
class Material:
    """Properties in use: expansion [1/K], density [kg/m3], specific heat [J/(kg K)], Young's modulus [MPa], Poisson's ratio [1].

    `conductivity`: heat conductivity [W/(m K)], None where the table has none.
    """

    name: str
    expansion: float
    density: float
    specific_heat: float
    youngs_modulus: float
    poisson_ratio: float
    conductivity: float | None = None


@cache
def names() -> tuple[str, ...]:
    """Names of the materials in the table, in its order.

    Result: names [-]. Range: the table's rows. Source: tables/materials.csv.

    >>> names()[:2]
    ('steel', 'bearing steel')
    """
    return tuple(dict.fromkeys(row["material"] for row in tables.load("materials").records()))


def _check(name: str) -> None:
    if name not in names():
        raise ValueError(f"material: {name!r}: accepted: {', '.join(names())}")


@cache
def material(name: str) -> Material:
    """Properties in use of a material, near room temperature and up to about 150 °C.

    name: "steel", "bearing steel", "grey iron", "bronze", "aluminium", "gasket sheet", "rubber" or "sealing compound" [-]
    Result: Material [1/K, kg/m3, J/(kg K), MPa, 1, W/(m K)]. Range: a name in the table, else ValueError.
    Source: tables/materials.csv, each value with its own.

    >>> material("steel").density
    7850.0
    """
    _check(name)
    rows = (row for row in tables.load("materials").records() if row["material"] == name and row["in_use"] == "yes")
    value = {row["property"]: float(row["value"]) for row in rows}
    return Material(
        name=name,
        expansion=value["expansion"] * PER_MILLION,
        density=value["density"],
        specific_heat=value["specific_heat"],
        youngs_modulus=value["youngs_modulus"],
        poisson_ratio=value["poisson_ratio"],
        conductivity=value.get("conductivity"),
    )


@dataclass(frozen=True)
class Note:
    """What one source prints for a property, in the printed unit; `in_use`: it is the value the program takes."""

    property: str
    value: float
    in_use: bool
    source: str
    confirmed: str


@cache
def notes(name: str) -> tuple[Note, ...]:
    """Every printed value of a material with its source: more than one for a property means that sources disagree.

    name: material name [-]
    Result: notes, values in the printed unit [1e-6/K, kg/m3, J/(kg K), MPa, 1, W/(m K)]. Range: a name in the table, else ValueError.
    Source: tables/materials.csv.

    >>> [note.value for note in notes("steel") if note.property == "density"]
    [7850.0]
    """
    _check(name)
    return tuple(
        Note(row["property"], float(row["value"]), row["in_use"] == "yes", row["source"], row["confirmed"])
        for row in tables.load("materials").records()
        if row["material"] == name
    )


def _on_steel_curve(temperature: float) -> None:
    low, high = STEEL_CURVE_RANGE
    if not low <= temperature <= high:
        raise ValueError(f"temperature: {temperature} °C: accepted: {low:g} to {high:g} °C")


def steel_elongation(temperature: float) -> float:
    """Relative elongation of carbon steel from 20 °C: 1.2e-5 T + 0.4e-8 T^2 - 2.416e-4.

    temperature: temperature of the steel [°C]
    Result: elongation over length [1]. Range: 20 to 600 °C. Source: EN 1993-1-2:2005 eq. 3.1a.

    >>> round(steel_elongation(100.0) * 1e3, 4)
    0.9984
    """
    _on_steel_curve(temperature)
    return 1.2e-5 * temperature + 0.4e-8 * temperature**2 - 2.416e-4


def steel_specific_heat(temperature: float) -> float:
    """Specific heat of carbon steel: 425 + 0.773 T - 1.69e-3 T^2 + 2.22e-6 T^3.

    temperature: temperature of the steel [°C]
    Result: specific heat [J/(kg K)]. Range: 20 to 600 °C. Source: EN 1993-1-2:2005 eq. 3.2a.

    >>> round(steel_specific_heat(100.0), 1)
    487.6
    """
    _on_steel_curve(temperature)
    return 425.0 + 0.773 * temperature - 1.69e-3 * temperature**2 + 2.22e-6 * temperature**3
