"""Interference joints by Lamé's thick rings: pressure, stresses, what the joint holds, what the press needs, where it yields.

Lengths mm, stresses and moduli MPa, forces N, torques N·m. Interference is positive and diametral in this module (a formula printed
for radial interference has twice the factor). Contents: `pressure`, `hub_hoop_stress`, `holding_force`, `holding_torque`,
`effective_interference`, `yield_pressure`, `yield_interference`, `joint`; `Friction` and its usual ranges.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

Part = Literal["hub", "shaft"]

STEEL_MODULUS = 206000.0
"""Young's modulus of steel [MPa]: as in tables/materials.csv."""
STEEL_POISSON = 0.3
"""Poisson's ratio of steel [1]: as in tables/materials.csv."""
SMOOTHING = 0.8
"""Part of the roughness depths Rz of both surfaces that a joint loses by smoothing [1]: DIN 7190-1 (clause from memory)."""
MILLIMETRES_PER_METRE = 1000.0
"""N mm to N·m."""


class InterferenceYields(ValueError):
    """An interference that yields the hub or the shaft: the interference asked for and the largest elastic one [mm]."""

    def __init__(self, interference: float, yield_interference: float, part: Part) -> None:
        self.interference = interference
        self.yield_interference = yield_interference
        self.part = part
        super().__init__(f"interference: {interference:g} mm yields the {part}: accepted: up to {yield_interference:.6g} mm")


@dataclass(frozen=True)
class Friction:
    """A range of friction coefficients [1] and where it comes from."""

    low: float
    high: float
    source: str = "entered"

    def __post_init__(self) -> None:
        if not 0.0 < self.low <= self.high or not math.isfinite(self.high):
            raise ValueError(f"friction: {self.low} to {self.high}: accepted: more than 0, the smaller first")


SHRUNK_STEEL = Friction(0.14, 0.20, "steel hub shrunk on steel, not degreased to degreased: DIN 7190-1, from memory")
"""Friction that holds a steel hub fitted by heat [1]."""
SHRUNK_IRON = Friction(0.10, 0.16, "iron hub shrunk on steel, not degreased to degreased: DIN 7190-1, from memory")
"""Friction that holds a grey iron hub fitted by heat [1]."""
PRESSED_STEEL = Friction(0.07, 0.11, "steel hub pressed on steel, oiled to dry, when slipping: DIN 7190-1, from memory")
"""Friction that holds a steel hub pressed on cold [1]."""
PRESSING_OILED = Friction(0.06, 0.15, "pressing steel on steel, oiled: common practice, no source")
"""Friction against the press [1]: planned on the high end, a wedged or dry hub takes more."""


@dataclass(frozen=True)
class Span:
    """Low and high end of a quantity, in its own unit."""

    low: float
    high: float


@dataclass(frozen=True)
class InterferenceJoint:
    """An elastic interference joint.

    `interference`: as measured; `effective`: after smoothing [mm]. `pressure`: by `interference`; `holding_pressure`: by `effective`
    [MPa]. `hub_hoop_stress`: tension at the bore; `hub_stress`, `shaft_stress`: greatest equivalent stresses by von Mises, at
    `interference` [MPa]. `shaft_hoop_stress`: compression at the most loaded place of the shaft, negative [MPa]. `holding_force`
    [N] and `holding_torque` [N·m]: each alone, by the friction range that holds. `press_force`: against the press at full length [N].
    `yield_interference`: largest elastic interference [mm], `yields_first` the part it is of. `use`: interference over it [1].
    """

    interference: float
    effective: float
    pressure: float
    holding_pressure: float
    hub_hoop_stress: float
    hub_stress: float
    shaft_hoop_stress: float
    shaft_stress: float
    holding_force: Span
    holding_torque: Span
    press_force: Span
    yield_interference: float
    yields_first: Part

    @property
    def use(self) -> float:
        """Interference over the largest elastic interference [1]."""
        return self.interference / self.yield_interference


def _check(diameter: float, hub_outside: float, shaft_bore: float) -> None:
    if not (diameter > 0.0 and math.isfinite(diameter)):
        raise ValueError(f"diameter: {diameter} mm: accepted: more than 0")
    if not hub_outside > diameter:
        raise ValueError(f"hub outside: {hub_outside} mm: accepted: more than the joint's diameter of {diameter:g} mm")
    if not 0.0 <= shaft_bore < diameter:
        raise ValueError(f"shaft bore: {shaft_bore} mm: accepted: 0 (solid) up to, not including, {diameter:g} mm")


def _positive(**values: float) -> None:
    for name, value in values.items():
        if not (value > 0.0 and math.isfinite(value)):
            raise ValueError(f"{name.replace('_', ' ')}: {value}: accepted: more than 0")


def pressure(
    interference: float,
    diameter: float,
    hub_outside: float,
    *,
    shaft_bore: float = 0.0,
    hub_modulus: float = STEEL_MODULUS,
    hub_poisson: float = STEEL_POISSON,
    shaft_modulus: float = STEEL_MODULUS,
    shaft_poisson: float = STEEL_POISSON,
) -> float:
    """Pressure between hub and shaft: p = I / (d [((D2 + d2)/(D2 - d2) + nu_o)/E_o + ((d2 + b2)/(d2 - b2) - nu_i)/E_i]).

    D2, d2, b2 are the squares of the hub's outside, the joint's diameter and the shaft's bore.

    interference: diametral interference, positive [mm]
    diameter: diameter of the joint [mm]
    hub_outside: outside diameter of the hub, inf for a very large body [mm]
    shaft_bore: bore of a hollow shaft, 0 when solid [mm]
    hub_modulus: Young's modulus of the hub [MPa]
    hub_poisson: Poisson's ratio of the hub [1]
    shaft_modulus: Young's modulus of the shaft [MPa]
    shaft_poisson: Poisson's ratio of the shaft [1]
    Result: pressure [MPa]. Range: interference 0 or more, elastic, hub and shaft equally long.
    Source: Lamé; Budynas & Nisbett, Shigley's Mechanical Engineering Design 9e eq. 3-56 (printed for radial interference).

    >>> round(pressure(0.05, 60.0, 90.0, hub_modulus=210000.0, shaft_modulus=210000.0), 2)
    48.61
    """
    _check(diameter, hub_outside, shaft_bore)
    _positive(hub_modulus=hub_modulus, shaft_modulus=shaft_modulus)
    if not (interference >= 0.0 and math.isfinite(interference)):
        raise ValueError(f"interference: {interference} mm: accepted: 0 or more")
    for name, ratio in (("hub poisson", hub_poisson), ("shaft poisson", shaft_poisson)):
        if not 0.0 <= ratio < 0.5:
            raise ValueError(f"{name}: {ratio}: accepted: 0 up to, not including, 0.5")
    hub, shaft = (diameter / hub_outside) ** 2, (shaft_bore / diameter) ** 2
    yielding = ((1.0 + hub) / (1.0 - hub) + hub_poisson) / hub_modulus
    yielding += ((1.0 + shaft) / (1.0 - shaft) - shaft_poisson) / shaft_modulus
    return interference / (diameter * yielding)


def hub_hoop_stress(joint_pressure: float, diameter: float, hub_outside: float) -> float:
    """Hoop tension at the hub's bore: sigma = p (D2 + d2) / (D2 - d2).

    joint_pressure: pressure between hub and shaft [MPa]
    diameter: diameter of the joint [mm]
    hub_outside: outside diameter of the hub, inf for a very large body [mm]
    Result: stress, tension positive [MPa]. Range: elastic. Source: Lamé; Shigley 9e eq. 3-58.

    >>> round(hub_hoop_stress(48.61, 60.0, 90.0), 1)
    126.4
    """
    _check(diameter, hub_outside, 0.0)
    ratio = (diameter / hub_outside) ** 2
    return joint_pressure * (1.0 + ratio) / (1.0 - ratio)


def holding_force(joint_pressure: float, diameter: float, length: float, friction: float) -> float:
    """Axial force at which a joint slips: F = pi d L mu p.

    joint_pressure: pressure between hub and shaft [MPa]
    diameter: diameter of the joint [mm]
    length: length of hub in contact [mm]
    friction: friction coefficient [1]
    Result: force, axial alone [N]. Range: friction and sizes more than 0. Source: Shigley 9e eq. 7-48.

    >>> round(holding_force(48.61, 60.0, 70.0, 0.12) / 1000.0, 1)
    77.0
    """
    _positive(diameter=diameter, length=length, friction=friction)
    return math.pi * diameter * length * friction * joint_pressure


def holding_torque(joint_pressure: float, diameter: float, length: float, friction: float) -> float:
    """Torque at which a joint slips: T = pi d L mu p d / 2.

    joint_pressure: pressure between hub and shaft [MPa]
    diameter: diameter of the joint [mm]
    length: length of hub in contact [mm]
    friction: friction coefficient [1]
    Result: torque, turning alone [N·m]. Range: friction and sizes more than 0. Source: Shigley 9e eq. 7-49.

    >>> round(holding_torque(48.61, 60.0, 70.0, 0.12))
    2309
    """
    return holding_force(joint_pressure, diameter, length, friction) * diameter / 2.0 / MILLIMETRES_PER_METRE


def effective_interference(interference: float, shaft_roughness: float, hub_roughness: float) -> float:
    """Interference left after the surfaces have smoothed: I_w = I - 0.8 (Rz_shaft + Rz_hub).

    interference: measured diametral interference, positive [mm]
    shaft_roughness: roughness depth Rz of the shaft [mm]
    hub_roughness: roughness depth Rz of the hub's bore [mm]
    Result: interference; negative when smoothing takes it all [mm]. Range: roughness 0 or more.
    Source: DIN 7190-1 (factor 0.8: from memory); a rolling bearing's ring has its own rule, `clearance.smoothed`.

    >>> round(effective_interference(0.044, 0.004, 0.0063), 5)
    0.03576
    """
    for name, value in (("shaft roughness", shaft_roughness), ("hub roughness", hub_roughness)):
        if not (value >= 0.0 and math.isfinite(value)):
            raise ValueError(f"{name}: {value} mm: accepted: 0 or more")
    return interference - SMOOTHING * (shaft_roughness + hub_roughness)


def _stress_factors(diameter: float, hub_outside: float, shaft_bore: float) -> tuple[float, float]:
    """Equivalent stress over pressure at the hub's bore and in the shaft (bore of a hollow one, anywhere in a solid one) [1]."""
    hub, shaft = (diameter / hub_outside) ** 2, (shaft_bore / diameter) ** 2
    return math.sqrt(3.0 + hub**2) / (1.0 - hub), 2.0 / (1.0 - shaft) if shaft_bore else 1.0


def yield_pressure(
    diameter: float, hub_outside: float, *, hub_yield: float, shaft_yield: float, shaft_bore: float = 0.0
) -> tuple[float, Part]:
    """Pressure at which the hub's bore or the shaft begins to yield, and which of them does.

    Hub: p = Re (1 - q) / sqrt(3 + q^2), q = (d/D)^2. Solid shaft: p = Re. Hollow shaft: p = Re (1 - (b/d)^2) / 2.

    diameter: diameter of the joint [mm]
    hub_outside: outside diameter of the hub [mm]
    hub_yield: yield strength of the hub; a brittle hub: its strength over its safety factor [MPa]
    shaft_yield: yield strength of the shaft [MPa]
    shaft_bore: bore of a hollow shaft, 0 when solid [mm]
    Result: pressure [MPa] and part. Range: elastic up to it. Source: von Mises of Lamé's stresses without axial stress (Shigley 9e
    eq. 5-15). DIN 7190-1 works with a modified shear stress hypothesis that allows up to 15 % more (from memory).

    >>> yield_pressure(60.0, 90.0, hub_yield=300.0, shaft_yield=500.0)[1]
    'hub'
    """
    _check(diameter, hub_outside, shaft_bore)
    _positive(hub_yield=hub_yield, shaft_yield=shaft_yield)
    hub, shaft = _stress_factors(diameter, hub_outside, shaft_bore)
    in_hub, in_shaft = hub_yield / hub, shaft_yield / shaft
    return (in_hub, "hub") if in_hub <= in_shaft else (in_shaft, "shaft")


def yield_interference(
    diameter: float,
    hub_outside: float,
    *,
    hub_yield: float,
    shaft_yield: float,
    shaft_bore: float = 0.0,
    hub_modulus: float = STEEL_MODULUS,
    hub_poisson: float = STEEL_POISSON,
    shaft_modulus: float = STEEL_MODULUS,
    shaft_poisson: float = STEEL_POISSON,
) -> tuple[float, Part]:
    """Largest interference that neither hub nor shaft yields under, and which of them yields first: I = p_yield / (p / I).

    diameter: diameter of the joint [mm]
    hub_outside: outside diameter of the hub [mm]
    hub_yield: yield strength of the hub [MPa]
    shaft_yield: yield strength of the shaft [MPa]
    shaft_bore: bore of a hollow shaft, 0 when solid [mm]
    hub_modulus: Young's modulus of the hub [MPa]
    hub_poisson: Poisson's ratio of the hub [1]
    shaft_modulus: Young's modulus of the shaft [MPa]
    shaft_poisson: Poisson's ratio of the shaft [1]
    Result: interference [mm] and part. Range: as `yield_pressure` and `pressure`. Source: as there.

    >>> round(yield_interference(60.0, 90.0, hub_yield=300.0, shaft_yield=500.0)[0], 4)
    0.0977
    """
    limit, part = yield_pressure(diameter, hub_outside, hub_yield=hub_yield, shaft_yield=shaft_yield, shaft_bore=shaft_bore)
    per_millimetre = pressure(
        1.0,
        diameter,
        hub_outside,
        shaft_bore=shaft_bore,
        hub_modulus=hub_modulus,
        hub_poisson=hub_poisson,
        shaft_modulus=shaft_modulus,
        shaft_poisson=shaft_poisson,
    )
    return limit / per_millimetre, part


def joint(
    interference: float,
    diameter: float,
    hub_outside: float,
    *,
    length: float,
    hub_yield: float,
    shaft_yield: float,
    shaft_bore: float = 0.0,
    hub_modulus: float = STEEL_MODULUS,
    hub_poisson: float = STEEL_POISSON,
    shaft_modulus: float = STEEL_MODULUS,
    shaft_poisson: float = STEEL_POISSON,
    shaft_roughness: float = 0.0,
    hub_roughness: float = 0.0,
    holding: Friction = SHRUNK_STEEL,
    pressing: Friction = PRESSING_OILED,
) -> InterferenceJoint:
    """An interference joint: stresses and press force by the full interference, what it holds by the effective one.

    interference: diametral interference, positive; take the least for holding, the greatest for stress and press [mm]
    diameter: diameter of the joint [mm]
    hub_outside: outside diameter of the hub [mm]
    length: length of hub in contact [mm]
    hub_yield: yield strength of the hub [MPa]
    shaft_yield: yield strength of the shaft [MPa]
    shaft_bore: bore of a hollow shaft, 0 when solid [mm]
    hub_modulus: Young's modulus of the hub [MPa]
    hub_poisson: Poisson's ratio of the hub [1]
    shaft_modulus: Young's modulus of the shaft [MPa]
    shaft_poisson: Poisson's ratio of the shaft [1]
    shaft_roughness: roughness depth Rz of the shaft [mm]
    hub_roughness: roughness depth Rz of the hub's bore [mm]
    holding: friction range that holds the finished joint [1]
    pressing: friction range against the press [1]
    Result: InterferenceJoint [mm, MPa, N, N·m]. Range: interference more than 0; one that smoothing takes all of
    holds nothing, one that yields raises InterferenceYields. Source: Lamé; DIN 7190-1.

    >>> made = joint(0.05, 60.0, 90.0, length=70.0, hub_yield=300.0, shaft_yield=500.0, holding=Friction(0.12, 0.12))
    >>> round(made.pressure, 2), round(made.holding_torque.low)
    (47.69, 2265)
    """
    _positive(interference=interference, length=length)
    limit, part = yield_interference(
        diameter,
        hub_outside,
        hub_yield=hub_yield,
        shaft_yield=shaft_yield,
        shaft_bore=shaft_bore,
        hub_modulus=hub_modulus,
        hub_poisson=hub_poisson,
        shaft_modulus=shaft_modulus,
        shaft_poisson=shaft_poisson,
    )
    if interference > limit:
        raise InterferenceYields(interference, limit, part)
    effective = max(effective_interference(interference, shaft_roughness, hub_roughness), 0.0)
    limit_pressure, _ = yield_pressure(diameter, hub_outside, hub_yield=hub_yield, shaft_yield=shaft_yield, shaft_bore=shaft_bore)
    full = limit_pressure * interference / limit
    held = limit_pressure * effective / limit
    hub_factor, shaft_factor = _stress_factors(diameter, hub_outside, shaft_bore)
    return InterferenceJoint(
        interference=interference,
        effective=effective,
        pressure=full,
        holding_pressure=held,
        hub_hoop_stress=hub_hoop_stress(full, diameter, hub_outside),
        hub_stress=hub_factor * full,
        shaft_hoop_stress=-shaft_factor * full,
        shaft_stress=shaft_factor * full,
        holding_force=Span(*(holding_force(held, diameter, length, mu) for mu in (holding.low, holding.high))),
        holding_torque=Span(*(holding_torque(held, diameter, length, mu) for mu in (holding.low, holding.high))),
        press_force=Span(*(holding_force(full, diameter, length, mu) for mu in (pressing.low, pressing.high))),
        yield_interference=limit,
        yields_first=part,
    )
