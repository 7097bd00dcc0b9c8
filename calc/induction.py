"""Heating a gear or ring: energy, the induction heater's time, the oven's or oil bath's time, and whether the part fits the heater.

Mass kg, temperatures °C, rises K, energy J, power W, time s, lengths mm. The efficiency of a heater and the film coefficient of an oven are
entered by the owner; the values here are a start. Contents: `energy`, `heating_time`, `induction_run`, `soak_time`, `fits_heater`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from calc.cooling import STEEL_HEAT, HotPart, Seconds, time_constant

Refusal = Literal["too_heavy", "bore_too_small", "too_wide"]

EFFICIENCY = 0.75
"""Part of an induction heater's power that ends in the ring [1]: common practice, no source; the owner enters his own."""
HOLD = 60.0
"""Usual hold at temperature so that bore and outside agree [s]: common practice, no source."""
FILM_OVEN = 20.0
"""Film coefficient in an oven with a fan, radiation counted in [W/(m2 K)]: order of magnitude, from memory."""
FILM_OIL = 100.0
"""Film coefficient in a still oil bath [W/(m2 K)]: order of magnitude, from memory."""
FILM_UNCERTAINTY = 0.4
"""Band of a film coefficient either way [1]: own estimate."""


@dataclass(frozen=True)
class InductionRun:
    """One heating: energy into the part [J], heating, hold and whole time [s]."""

    energy: float
    heating: float
    hold: float

    @property
    def total(self) -> float:
        """Heating and hold together [s]."""
        return self.heating + self.hold


@dataclass(frozen=True)
class HeaterFit:
    """Whether a part fits a heater, and by which keys it does not: "too_heavy", "bore_too_small", "too_wide"."""

    refusals: tuple[Refusal, ...]

    @property
    def fits(self) -> bool:
        """True when nothing speaks against it."""
        return not self.refusals


def _positive(**values: float) -> None:
    for name, value in values.items():
        if not (value > 0.0 and math.isfinite(value)):
            raise ValueError(f"{name.replace('_', ' ')}: {value}: accepted: more than 0")


def energy(mass: float, rise: float, specific_heat: float = STEEL_HEAT) -> float:
    """Heat that a part takes up: E = m c dT.

    mass: mass of the part [kg]
    rise: temperature rise [K]
    specific_heat: mean specific heat [J/(kg K)]
    Result: energy [J]. Range: rise 0 or more, up to some 300 K. Source: definition of specific heat.

    >>> round(energy(4.73, 90.0) / 1000.0, 1)
    195.8
    """
    _positive(mass=mass, specific_heat=specific_heat)
    if not (rise >= 0.0 and math.isfinite(rise)):
        raise ValueError(f"rise: {rise} K: accepted: 0 or more")
    return mass * specific_heat * rise


def heating_time(heat: float, power: float, efficiency: float = EFFICIENCY) -> float:
    """Time in which a heater gives off the heat: t = E / (eta P).

    heat: energy into the part [J]
    power: power of the heater [W]
    efficiency: part of the power that ends in the part, entered by the owner [1]
    Result: time at full power [s]. Range: efficiency over 0, up to 1; losses to the air are in the efficiency. Source: energy balance.

    >>> round(heating_time(195822.0, 2500.0, 0.8), 1)
    97.9
    """
    _positive(power=power)
    if not 0.0 < efficiency <= 1.0:
        raise ValueError(f"efficiency: {efficiency}: accepted: more than 0, up to 1")
    if not (heat >= 0.0 and math.isfinite(heat)):
        raise ValueError(f"heat: {heat} J: accepted: 0 or more")
    return heat / (efficiency * power)


def induction_run(
    mass: float,
    rise: float,
    power: float,
    *,
    efficiency: float = EFFICIENCY,
    specific_heat: float = STEEL_HEAT,
    hold: float = HOLD,
) -> InductionRun:
    """Energy and time of one heating on an induction heater: t = m c dT / (eta P) + hold.

    mass: mass of the part [kg]
    rise: temperature rise [K]
    power: power of the heater [W]
    efficiency: part of the power that ends in the part, entered by the owner [1]
    specific_heat: mean specific heat [J/(kg K)]
    hold: time held at temperature [s]
    Result: InductionRun [J, s]. Range: as `energy` and `heating_time`. Source: energy balance; hold: common practice, no source.

    >>> run = induction_run(85.0, 150.0, 10000.0, hold=120.0)
    >>> round(run.heating), round(run.total)
    (782, 902)
    """
    if not (hold >= 0.0 and math.isfinite(hold)):
        raise ValueError(f"hold: {hold} s: accepted: 0 or more")
    heat = energy(mass, rise, specific_heat)
    return InductionRun(heat, heating_time(heat, power, efficiency), hold)


def soak_time(part: HotPart, start: float, end: float, *, surroundings: float, film: float = FILM_OVEN) -> Seconds:
    """Time for a part to reach a temperature in an oven or oil bath: t = m c / (h A) ln((Ts - T0) / (Ts - T1)). Indicative.

    part: what is heated [kg, mm2, mm]
    start: temperature of the part when it goes in [°C]
    end: temperature to reach [°C]
    surroundings: temperature of the oven or bath, at temperature before the part goes in [°C]
    film: film coefficient, radiation counted in [W/(m2 K)]
    Result: time with the band of the film coefficient, 40 % either way [s]. Range: start up to, end below the surroundings; the part at
    one temperature (Biot number under 0.1: steel up to some 300 mm thick in an oven, 80 mm in oil). Source: Newton's law, lumped body
    (Incropera & DeWitt, chapter 5, from memory); film coefficients: order of magnitude, from memory.

    >>> from calc.cooling import ring
    >>> round(soak_time(ring(132.5, 110.0, 53.0, 7850.0), 20.0, 110.0, surroundings=120.0).value / 60.0)
    32
    """
    _positive(film=film)
    if not start <= end:
        raise ValueError(f"end: {end} °C: accepted: the start of {start} °C and warmer")
    if not end < surroundings:
        raise ValueError(f"end: {end} °C: accepted: below the surroundings of {surroundings} °C")
    lag = time_constant(part.mass, part.specific_heat, film, part.surface)
    value = lag * math.log((surroundings - start) / (surroundings - end))
    return Seconds(value, value / (1.0 + FILM_UNCERTAINTY), value / (1.0 - FILM_UNCERTAINTY))


def fits_heater(
    mass: float,
    bore: float,
    *,
    max_mass: float,
    min_bore: float,
    width: float | None = None,
    max_width: float | None = None,
) -> HeaterFit:
    """Whether a part may go on an induction heater: mass up to the heater's, bore over its yoke, width between its poles.

    mass: mass of the part [kg]
    bore: bore of the part [mm]
    max_mass: greatest mass the heater takes [kg]
    min_bore: smallest bore that passes over the heater's yoke [mm]
    width: width of the part; None: not asked [mm]
    max_width: greatest width between the heater's poles; None: not asked [mm]
    Result: HeaterFit, the limits themselves still fit [-]. Range: all more than 0. Source: the heater's own data.

    >>> fits_heater(12.0, 60.0, max_mass=10.0, min_bore=20.0).refusals
    ('too_heavy',)
    """
    _positive(mass=mass, bore=bore, max_mass=max_mass, min_bore=min_bore)
    refusals: list[Refusal] = []
    if mass > max_mass:
        refusals.append("too_heavy")
    if bore < min_bore:
        refusals.append("bore_too_small")
    if width is not None and max_width is not None:
        _positive(width=width, max_width=max_width)
        if width > max_width:
            refusals.append("too_wide")
    return HeaterFit(tuple(refusals))
