"""Fitting by heat: bore growth, heater setting, clearance while hot, and whether a hot ring still enters its housing.

Lengths mm, temperatures °C, expansion 1/K. Clearance +, interference -, diametral. Cold sizes hold at 20 °C (ISO 1).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, overload

import numpy as np

from calc.arrays import Array, Numbers, check_all

Hub = Literal["gear", "bearing ring"]

REFERENCE = 20.0
"""Temperature at which sizes hold [°C]: ISO 1."""
JOINING_CLEARANCE = 0.001
"""Usual joining clearance over diameter [1]: DIN 7190-1, from memory."""
BEARING_SETTING = 110.0
"""Recommended heater setting for a rolling bearing's ring [°C]: common practice; makers' texts name 80 to 110."""
OVER_JUST_CLEARING = 20.0
"""How far above the just-clearing temperature a ring is heated at least [K]: common practice, 20 to 30."""
BEARING_LIMIT = 120.0
"""Usual limit for a rolling bearing [°C]: common practice, no ISO limit; sources disagree (120; 80 to 110; 121 for 8 h)."""
GEAR_LIMIT = 150.0
"""Upper limit for a gear with case-hardened teeth where the maker gives none [°C]: from memory (tempered at 150 to 180)."""
THERMOMETER = 5.0
"""No setting comes closer to a limit than this [K]: overshoot and the error of a contact thermometer; common practice, no source."""
HEADROOM = 10.0
"""How far under its limit a gear is set where that still slides [K]: heater overshoot and thermometer; common practice, no source."""
LIMIT_SOURCES = {"gear": "case-hardened teeth: from memory", "bearing ring": "rolling bearing: common practice, no ISO limit"}


@dataclass(frozen=True)
class Band:
    """Least and greatest diametral clearance [mm]; interference is negative."""

    low: float
    high: float


@dataclass(frozen=True)
class HeatPlan:
    """How hot to make a hub for its shaft, and what is left to slide in.

    `just_clears`: the tightest pair has clearance 0 [°C]. `wanted`: it has the joining clearance [°C]. `recommended`: the heater
    setting, 5 K under `limit` at most [°C]. `joining_clearance`: asked for [mm]. `clearance_at_recommended`, `clearance_at_limit`: left in
    the tightest pair [mm], interference negative. `limit_source`: where the limit comes from.
    """

    hub: Hub
    just_clears: float
    wanted: float
    recommended: float
    limit: float
    joining_clearance: float
    clearance_at_recommended: float
    clearance_at_limit: float
    limit_source: str

    @property
    def slides(self) -> bool:
        """True when the tightest pair is loose at the recommended setting."""
        return self.clearance_at_recommended > 0.0

    @property
    def has_full_clearance(self) -> bool:
        """True when the joining clearance is reached without passing the limit."""
        return self.wanted <= self.limit


def _positive(**values: Numbers) -> None:
    for name, value in values.items():
        check_all(name.replace("_", " "), value, np.asarray(value) > 0.0, "more than 0")


@overload
def growth(diameter: float, expansion: float, rise: float) -> float: ...  # type: ignore[overload-overlap]
@overload
def growth(diameter: Numbers, expansion: Numbers, rise: Numbers) -> Array: ...
def growth(diameter: Numbers, expansion: Numbers, rise: Numbers) -> Numbers:
    """Growth of a diameter of an evenly heated ring, bore and outside alike: dd = alpha d dT.

    diameter: diameter when cold, a number or an array [mm]
    expansion: mean linear expansion coefficient, a number or an array [1/K]
    rise: temperature rise, a number or an array; negative when cooled [K]
    Result: growth [mm]. Range: even heating, rises up to some 300 K. Source: definition of linear expansion.

    >>> round(growth(60.0, 12.5e-6, 60.0), 4)
    0.045
    """
    return diameter * expansion * rise


@overload
def heating_temperature(  # type: ignore[overload-overlap]
    diameter: float, interference: float, expansion: float, *, joining_clearance: float | None = None, start: float = REFERENCE
) -> float: ...
@overload
def heating_temperature(
    diameter: Numbers,
    interference: Numbers,
    expansion: Numbers,
    *,
    joining_clearance: Numbers | None = None,
    start: Numbers = REFERENCE,
) -> Array: ...
def heating_temperature(
    diameter: Numbers,
    interference: Numbers,
    expansion: Numbers,
    *,
    joining_clearance: Numbers | None = None,
    start: Numbers = REFERENCE,
) -> Numbers:
    """Temperature of a hub at which it clears its shaft by the joining clearance: T = T0 + (I + s) / (alpha d).

    diameter: nominal diameter of the fit, a number or an array [mm]
    interference: greatest interference, a number or an array, positive; negative for a clearance fit [mm]
    expansion: mean linear expansion coefficient of the hub [1/K]
    joining_clearance: clearance wanted while joining; None: 0.001 d; 0: just clears [mm]
    start: temperature of the shaft, at which the interference holds [°C]
    Result: temperature, not under `start` [°C]. Range: diameter and expansion more than 0, else ValueError.
    Source: DIN 7190-1 thermal joining (joining clearance from memory).

    >>> round(heating_temperature(60.0, 0.045, 12.5e-6), 1)
    160.0
    """
    _positive(diameter=diameter, expansion=expansion)
    slide = JOINING_CLEARANCE * diameter if joining_clearance is None else joining_clearance
    rise = np.maximum(0.0, interference + slide) / (expansion * diameter)
    return start + (float(rise) if np.ndim(rise) == 0 else rise)


@overload
def clearance_at(  # type: ignore[overload-overlap]
    clearance: float,
    diameter: float,
    expansion: float,
    *,
    hub_temperature: float,
    shaft_temperature: float = REFERENCE,
    shaft_expansion: float | None = None,
) -> float: ...
@overload
def clearance_at(
    clearance: Numbers,
    diameter: Numbers,
    expansion: Numbers,
    *,
    hub_temperature: Numbers,
    shaft_temperature: Numbers = REFERENCE,
    shaft_expansion: Numbers | None = None,
) -> Array: ...
def clearance_at(
    clearance: Numbers,
    diameter: Numbers,
    expansion: Numbers,
    *,
    hub_temperature: Numbers,
    shaft_temperature: Numbers = REFERENCE,
    shaft_expansion: Numbers | None = None,
) -> Numbers:
    """Clearance of hub on shaft at both parts' temperatures: c = c20 + d [alpha_h (Th - 20) - alpha_s (Ts - 20)].

    clearance: clearance at 20 °C, a number or an array, interference negative [mm]
    diameter: nominal diameter of the fit, a number or an array [mm]
    expansion: mean linear expansion coefficient of the hub [1/K]
    hub_temperature: temperature of the hub's bore, not of the heater, a number or an array [°C]
    shaft_temperature: temperature of the shaft, a number or an array [°C]
    shaft_expansion: mean linear expansion coefficient of the shaft; None: that of the hub [1/K]
    Result: free clearance, not that of parts already gripping; interference negative [mm]. Range: even temperatures, up to some 300 K
    from 20 °C. Source: definition of linear expansion.

    >>> round(clearance_at(-0.045, 60.0, 12.5e-6, hub_temperature=110.0), 4)
    0.0225
    """
    other = expansion if shaft_expansion is None else shaft_expansion
    hub_growth = growth(diameter, expansion, hub_temperature - REFERENCE)
    return clearance + hub_growth - growth(diameter, other, shaft_temperature - REFERENCE)


def heat_plan(
    hub: Hub,
    diameter: float,
    clearance: float,
    expansion: float,
    *,
    shaft_temperature: float = REFERENCE,
    shaft_expansion: float | None = None,
    limit: float | None = None,
    joining_clearance: float | None = None,
    sliding_clearance: float = 0.0,
    at_least: float | None = None,
) -> HeatPlan:
    """Heater setting for a gear or a bearing ring, and the clearance that it leaves in the tightest pair.

    A gear is set to the temperature that gives the joining clearance, but 10 K under its limit where the bore still slides there; a
    bearing ring to 110 °C, or to 20 K above just clearing, or to where it slides; neither comes closer to its limit than 5 K. The shaft's own growth
    over 20 °C counts.

    hub: "gear" or "bearing ring" [-]
    diameter: nominal diameter of the fit [mm]
    clearance: least clearance at 20 °C, interference negative [mm]
    expansion: mean linear expansion coefficient of the hub [1/K]
    shaft_temperature: temperature of the shaft [°C]
    shaft_expansion: mean linear expansion coefficient of the shaft; None: that of the hub [1/K]
    limit: the maker's or owner's limit; None: 150 °C for a gear, 120 °C for a bearing ring [°C]
    joining_clearance: clearance wanted while joining; None: 0.001 d [mm]
    sliding_clearance: least clearance with which the part still slides by hand [mm]
    at_least: lowest setting wanted for another reason, such as time in hand; None: none [°C]
    Result: HeatPlan [°C, mm]. Range: limit above the shaft's temperature. Source: DIN 7190-1; limits: common practice and memory.

    >>> heat_plan("bearing ring", 60.0, -0.03, 12.5e-6).recommended
    110.0
    """
    _positive(diameter=diameter, expansion=expansion)
    if hub not in LIMIT_SOURCES:
        raise ValueError(f"hub: {hub!r}: accepted: {', '.join(LIMIT_SOURCES)}")
    highest = {"gear": GEAR_LIMIT, "bearing ring": BEARING_LIMIT}[hub] if limit is None else limit
    if highest <= shaft_temperature:
        raise ValueError(f"limit: {highest} °C: accepted: above the shaft's temperature of {shaft_temperature} °C")
    slide = JOINING_CLEARANCE * diameter if joining_clearance is None else joining_clearance

    def left(temperature: float) -> float:
        return clearance_at(
            clearance,
            diameter,
            expansion,
            hub_temperature=temperature,
            shaft_temperature=shaft_temperature,
            shaft_expansion=shaft_expansion,
        )

    interference = -left(REFERENCE)
    just = heating_temperature(diameter, interference, expansion, joining_clearance=0.0)
    wanted = heating_temperature(diameter, interference, expansion, joining_clearance=slide)
    slides = heating_temperature(diameter, interference, expansion, joining_clearance=sliding_clearance)
    if hub == "gear":
        setting = min(wanted, max(highest - HEADROOM, slides))
    else:
        setting = max(BEARING_SETTING, just + OVER_JUST_CLEARING, slides)
    setting = min(max(setting, shaft_temperature if at_least is None else at_least), highest - THERMOMETER)
    return HeatPlan(
        hub=hub,
        just_clears=just,
        wanted=wanted,
        recommended=setting,
        limit=highest,
        joining_clearance=slide,
        clearance_at_recommended=left(setting),
        clearance_at_limit=left(highest),
        limit_source=LIMIT_SOURCES[hub] if limit is None else "maker or owner",
    )


def enters_housing(
    outside: float,
    outside_limits: tuple[float, float],
    housing_limits: tuple[float, float],
    rise: float,
    expansion: float,
    *,
    housing_rise: float = 0.0,
    housing_expansion: float | None = None,
) -> Band:
    """Clearance of a hot ring's outside in its housing bore, both limits: c = D_H (1 + alpha_H dT_H) - D (1 + alpha dT).

    outside: nominal diameter of ring and housing bore [mm]
    outside_limits: lower and upper deviation of the ring's outside diameter [mm]
    housing_limits: lower and upper deviation of the housing bore [mm]
    rise: temperature rise of the ring over 20 °C [K]
    expansion: mean linear expansion coefficient of the ring [1/K]
    housing_rise: temperature rise of the housing over 20 °C [K]
    housing_expansion: mean linear expansion coefficient of the housing; None: that of the ring [1/K]
    Result: least and greatest clearance; it enters freely only if `low` > 0 [mm]. Range: lower limits not above upper ones, else
    ValueError; even temperatures. Source: definition of linear expansion.

    >>> round(enters_housing(110.0, (-0.015, 0.0), (0.0, 0.022), 60.0, 12.5e-6).low, 4)
    -0.0825
    """
    if outside_limits[0] > outside_limits[1] or housing_limits[0] > housing_limits[1]:
        raise ValueError(f"limits: {outside_limits}, {housing_limits}: accepted: lower before upper")
    other = expansion if housing_expansion is None else housing_expansion
    shift = growth(outside, other, housing_rise) - growth(outside, expansion, rise)
    return Band(housing_limits[0] - outside_limits[1] + shift, housing_limits[1] - outside_limits[0] + shift)
