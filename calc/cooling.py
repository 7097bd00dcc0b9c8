"""Cooling of a hot ring or gear in still air: seconds to a temperature, temperature after seconds, and the carry time to the shaft.

Lengths mm, mass kg, temperatures °C, s, J, W; coefficients W/(m2 K) and air data in SI as printed in heat-transfer tables.
Model: the body has one temperature; free convection of a horizontal cylinder (L = outside diameter) and grey radiation act on its
whole surface. Convention, good to about 20 % either way: every time carries that band.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import overload

import numpy as np

from calc.arrays import Array, Numbers
from calc.heat import REFERENCE, growth

GRAVITY = 9.81
"""Gravity [m/s2]."""
STEFAN_BOLTZMANN = 5.670374419e-8
"""Stefan-Boltzmann constant [W/(m2 K4)]: CODATA 2018."""
KELVIN = 273.15
"""0 °C [K]."""
MILLIMETRE = 1e-3
"""One millimetre [m]."""
MODEL_UNCERTAINTY = 0.20
"""Band of the model either way [1]: which surface counts and which length, own estimate."""
EMISSIVITY = 0.6
"""Grey emissivity of a machined, oiled or slightly oxidised steel part [1]: handbooks 0.2 bright to 0.8 oxidised, from memory."""
STEEL_HEAT = 460.0
"""Specific heat of steel [J/(kg K)]: as in tables/materials.csv."""
PRESSURE = 101325.0
"""Air pressure [Pa]."""
AIR_RANGE = (-50.0, 400.0)
"""Range of the air formulas [°C]."""
STEPS = 8
"""Steps of the integration in ln(T - Ta), which is nearly straight in time: a test compares with 20 times as many."""
REMEMBERED = 1024
"""Answers kept for a slider that returns to a place."""


@dataclass(frozen=True)
class Air:
    """Still air: kinematic viscosity [m2/s], conductivity [W/(m K)], Prandtl number [1], expansion [1/K] or None for 1/T_film."""

    viscosity: float = 1.97e-5
    conductivity: float = 0.0291
    prandtl: float = 0.70
    expansion: float | None = None


STEADY_AIR = Air()
"""Air at a film temperature of about 65 °C [m2/s, W/(m K), 1]: heat-transfer textbooks' property tables."""


@dataclass(frozen=True)
class HotPart:
    """A part that cools: mass [kg], free surface [mm2], outside diameter [mm], specific heat [J/(kg K)], emissivity [1]."""

    mass: float
    surface: float
    outside: float
    specific_heat: float = STEEL_HEAT
    emissivity: float = EMISSIVITY

    def __post_init__(self) -> None:
        for name in ("mass", "surface", "outside", "specific_heat"):
            if not getattr(self, name) > 0.0:
                raise ValueError(f"{name}: {getattr(self, name)}: accepted: more than 0")
        if not 0.0 <= self.emissivity <= 1.0:
            raise ValueError(f"emissivity: {self.emissivity}: accepted: 0 to 1")


@dataclass(frozen=True)
class Seconds:
    """A time of the model [s] and its band either way."""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class CooledTo:
    """A temperature of the model [°C] and its band (faster and slower cooling)."""

    value: float
    low: float
    high: float


def ring(
    outside: float, bore: float, width: float, density: float, *, specific_heat: float = STEEL_HEAT, emissivity: float = EMISSIVITY
) -> HotPart:
    """A plain ring as a hot part: m = rho pi/4 (D^2 - d^2) B, A = pi (D + d) B + pi/2 (D^2 - d^2).

    outside: outside diameter [mm]
    bore: bore diameter [mm]
    width: width [mm]
    density: density [kg/m3]
    specific_heat: specific heat [J/(kg K)]
    emissivity: grey emissivity [1]
    Result: HotPart [kg, mm2, mm]. Range: outside more than bore, all more than 0, else ValueError.
    Source: geometry; whole surface by convention.

    >>> round(ring(132.5, 110.0, 53.0, 7850.0).mass, 4)
    1.7829
    """
    if not 0.0 < bore < outside or not width > 0.0:
        raise ValueError(f"outside, bore, width: {outside}, {bore}, {width}: accepted: outside more than bore, all more than 0")
    face = math.pi / 4.0 * (outside**2 - bore**2)
    mass = density * face * width * MILLIMETRE**3
    return HotPart(mass, math.pi * (outside + bore) * width + 2.0 * face, outside, specific_heat, emissivity)


def air_at(film_temperature: float) -> Air:
    """Dry air at atmospheric pressure by Sutherland's laws for viscosity and conductivity and the gas law for density.

    film_temperature: mean of surface and room temperature [°C]
    Result: Air [m2/s, W/(m K), 1]. Range: -50 to 400 °C, to about 2 %.
    Source: White, Viscous Fluid Flow, Sutherland constants 111 K and 194 K, from memory.

    >>> round(air_at(65.0).viscosity * 1e5, 2)
    1.94
    """
    low, high = AIR_RANGE
    if not low <= film_temperature <= high:
        raise ValueError(f"film temperature: {film_temperature} °C: accepted: {low:g} to {high:g} °C")
    kelvin = film_temperature + KELVIN
    ratio = kelvin / 273.0
    viscosity = 1.716e-5 * ratio**1.5 * (273.0 + 111.0) / (kelvin + 111.0)
    conductivity = 0.0241 * ratio**1.5 * (273.0 + 194.0) / (kelvin + 194.0)
    density = PRESSURE / (287.05 * kelvin)
    return Air(viscosity / density, conductivity, 1006.0 * viscosity / conductivity)


@overload
def grashof_number(  # type: ignore[overload-overlap]
    outside: float, surface_temperature: float, ambient: float, air: Air = STEADY_AIR
) -> float: ...
@overload
def grashof_number(outside: Numbers, surface_temperature: Numbers, ambient: Numbers, air: Air = STEADY_AIR) -> Array: ...
def grashof_number(outside: Numbers, surface_temperature: Numbers, ambient: Numbers, air: Air = STEADY_AIR) -> Numbers:
    """Buoyancy over friction around a hot horizontal cylinder: Gr = g beta (Ts - Ta) D^3 / nu^2.

    outside: outside diameter, a number or an array [mm]
    surface_temperature: temperature of the surface, a number or an array [°C]
    ambient: room temperature [°C]
    air: air data [m2/s, W/(m K), 1]
    Result: Grashof number [1]; the Rayleigh number is Gr Pr. Range: surface hotter than the room; below it the number turns negative.
    Source: Incropera & DeWitt, chapter 9.

    >>> round(grashof_number(132.5, 110.0, 20.0) * 0.70 / 1e7, 3)
    1.096
    """
    beta = 1.0 / ((surface_temperature + ambient) / 2.0 + KELVIN) if air.expansion is None else air.expansion
    return GRAVITY * beta * (surface_temperature - ambient) * (outside * MILLIMETRE) ** 3 / air.viscosity**2


@overload
def nusselt_number(prandtl: float, grashof: float) -> float: ...
@overload
def nusselt_number(prandtl: float, grashof: Array) -> Array: ...
def nusselt_number(prandtl: float, grashof: Numbers) -> Numbers:
    """Free convection from a horizontal cylinder: Nu = {0.60 + 0.387 Ra^(1/6) / [1 + (0.559/Pr)^(9/16)]^(8/27)}^2.

    prandtl: Prandtl number [1]
    grashof: Grashof number, a number or an array [1]
    Result: Nusselt number [1]. Range: Ra up to 1e12. Source: Churchill & Chu 1975 (Incropera 6e eq. 9.34).

    >>> round(nusselt_number(0.69, 2.63e9), 3)
    139.135
    """
    # Imported here: it takes some 0.17 s once, and only a hot part needs it.
    from ht.conv_free_immersed import Nu_horizontal_cylinder_Churchill_Chu

    found = Nu_horizontal_cylinder_Churchill_Chu(prandtl, grashof)
    return np.asarray(found, dtype=np.float64) if isinstance(found, np.ndarray) else float(found)


@overload
def convection_coefficient(  # type: ignore[overload-overlap]
    outside: float, surface_temperature: float, ambient: float, air: Air = STEADY_AIR
) -> float: ...
@overload
def convection_coefficient(outside: Numbers, surface_temperature: Numbers, ambient: Numbers, air: Air = STEADY_AIR) -> Array: ...
def convection_coefficient(outside: Numbers, surface_temperature: Numbers, ambient: Numbers, air: Air = STEADY_AIR) -> Numbers:
    """Heat given to still air per surface and kelvin: h = Nu k / D.

    outside: outside diameter, a number or an array [mm]
    surface_temperature: temperature of the surface, a number or an array [°C]
    ambient: room temperature [°C]
    air: air data [m2/s, W/(m K), 1]
    Result: coefficient [W/(m2 K)]. Range: surface hotter than the room. Source: Churchill & Chu 1975.

    >>> round(convection_coefficient(132.5, 110.0, 20.0), 2)
    6.36
    """
    grashof = grashof_number(outside, surface_temperature, ambient, air)
    return nusselt_number(air.prandtl, grashof) * air.conductivity / (outside * MILLIMETRE)


@overload
def radiation_coefficient(  # type: ignore[overload-overlap]
    surface_temperature: float, ambient: float, emissivity: float = EMISSIVITY
) -> float: ...
@overload
def radiation_coefficient(surface_temperature: Numbers, ambient: Numbers, emissivity: Numbers = EMISSIVITY) -> Array: ...
def radiation_coefficient(surface_temperature: Numbers, ambient: Numbers, emissivity: Numbers = EMISSIVITY) -> Numbers:
    """Heat radiated per surface and kelvin: h_r = eps sigma (Ts^4 - Ta^4) / (Ts - Ta) = eps sigma (Ts + Ta)(Ts^2 + Ta^2).

    surface_temperature: temperature of the surface, a number or an array [°C]
    ambient: temperature of the room's walls [°C]
    emissivity: grey emissivity [1]
    Result: coefficient [W/(m2 K)]. Range: a grey body that sees only the room, emissivity 0 to 1. Source: Stefan-Boltzmann law.

    >>> round(radiation_coefficient(110.0, 20.0), 3)
    5.355
    """
    hot, cold = surface_temperature + KELVIN, ambient + KELVIN
    return emissivity * STEFAN_BOLTZMANN * (hot + cold) * (hot**2 + cold**2)


def time_constant(mass: float, specific_heat: float, coefficient: float, surface: float) -> float:
    """Time in which the excess temperature falls to 1/e: tau = m c / (h A).

    mass: mass [kg]
    specific_heat: specific heat [J/(kg K)]
    coefficient: heat given per surface and kelvin [W/(m2 K)]
    surface: free surface [mm2]
    Result: time [s]. Range: all more than 0; one temperature through the body (Biot number below 0.1).
    Source: Newton's law of cooling; Incropera & DeWitt, chapter 5.

    >>> round(time_constant(1.78291, 460.0, 12.0, 48948.0))
    1396
    """
    return mass * specific_heat / (coefficient * surface * MILLIMETRE**2)


def _rate(part: HotPart, temperature: float, ambient: float, air: Air) -> float:
    """Fall of ln(T - Ta) per second [1/s]: one over the time constant at this temperature."""
    h = convection_coefficient(part.outside, temperature, ambient, air)
    h += radiation_coefficient(temperature, ambient, part.emissivity)
    return 1.0 / time_constant(part.mass, part.specific_heat, h, part.surface)


@cache
def _gauss_points() -> tuple[tuple[float, float], ...]:
    places, weights = np.polynomial.legendre.leggauss(8)
    return tuple((float(x), float(w)) for x, w in zip(places, weights, strict=True))


def _hotter_than_room(start: float, ambient: float) -> None:
    if not start > ambient:
        raise ValueError(f"start: {start} °C: accepted: above the room temperature of {ambient} °C")


def _seconds(value: float) -> Seconds:
    return Seconds(value, value * (1.0 - MODEL_UNCERTAINTY), value * (1.0 + MODEL_UNCERTAINTY))


@lru_cache(maxsize=REMEMBERED)
def cooling_time(part: HotPart, start: float, end: float, ambient: float = REFERENCE, air: Air = STEADY_AIR) -> Seconds:
    """Time in which a hot part cools in still air: t = integral of m c / (h A) over ln(T - Ta), h = convection + radiation.

    part: what cools [kg, mm2, mm]
    start: temperature at the heater [°C]
    end: temperature to reach [°C]
    ambient: room temperature [°C]
    air: air data [m2/s, W/(m K), 1]
    Result: seconds with a band of 20 % either way [s]. Range: start not under end, end above the room.
    Source: Churchill & Chu 1975, Stefan-Boltzmann; whole surface, L = D.

    >>> round(cooling_time(ring(132.5, 110.0, 53.0, 7850.0), 110.0, 100.0).value, 0)
    172.0
    """
    _hotter_than_room(start, ambient)
    if not ambient < end <= start:
        raise ValueError(f"end: {end} °C: accepted: above {ambient} °C, up to {start} °C")
    high, low = math.log(start - ambient), math.log(end - ambient)
    half, middle = (high - low) / 2.0, (high + low) / 2.0
    total = sum(weight / _rate(part, ambient + math.exp(middle + half * place), ambient, air) for place, weight in _gauss_points())
    return _seconds(half * total)


def _after(part: HotPart, start: float, seconds: float, ambient: float, air: Air, steps: int = STEPS) -> float:
    """Runge-Kutta of fourth order on ln(T - Ta), which is close to a straight line in time."""
    u, step = math.log(start - ambient), seconds / steps

    def slope(value: float) -> float:
        return -_rate(part, ambient + math.exp(value), ambient, air)

    for _ in range(steps):
        k1 = slope(u)
        k2 = slope(u + step / 2.0 * k1)
        k3 = slope(u + step / 2.0 * k2)
        k4 = slope(u + step * k3)
        u += step / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4)
    return ambient + math.exp(u)


@lru_cache(maxsize=REMEMBERED)
def temperature_after(part: HotPart, start: float, seconds: float, ambient: float = REFERENCE, air: Air = STEADY_AIR) -> CooledTo:
    """Temperature of a hot part some time after leaving the heater: d ln(T - Ta)/dt = -h A / (m c).

    part: what cools [kg, mm2, mm]
    start: temperature at the heater [°C]
    seconds: time since then [s]
    ambient: room temperature [°C]
    air: air data [m2/s, W/(m K), 1]
    Result: temperature; its band is the time 20 % longer and shorter [°C]. Range: start above the room. Source: as `cooling_time`.

    >>> round(temperature_after(ring(132.5, 110.0, 53.0, 7850.0), 110.0, 60.0).value, 1)
    106.3
    """
    _hotter_than_room(start, ambient)
    if seconds < 0.0:
        raise ValueError(f"seconds: {seconds}: accepted: 0 or more")
    later, now, sooner = (
        _after(part, start, seconds * factor, ambient, air) for factor in (1.0 + MODEL_UNCERTAINTY, 1.0, 1.0 - MODEL_UNCERTAINTY)
    )
    return CooledTo(now, later, sooner)


def carry_time(
    part: HotPart,
    setting: float,
    *,
    diameter: float,
    clearance: float,
    expansion: float,
    least_clearance: float = 0.0,
    ambient: float = REFERENCE,
    shaft_temperature: float | None = None,
    shaft_expansion: float | None = None,
    air: Air = STEADY_AIR,
) -> Seconds:
    """Seconds from the heater until the bore has shrunk to the least clearance that still slides.

    The bore reaches it at T = 20 + (I + s + shaft growth) / (alpha d). Time in air only: on the cold shaft it grips within seconds.

    part: what cools [kg, mm2, mm]
    setting: temperature of the bore at the start [°C]
    diameter: nominal diameter of the fit [mm]
    clearance: least clearance at 20 °C, interference negative [mm]
    expansion: mean linear expansion coefficient of the hub [1/K]
    least_clearance: least clearance that still slides [mm]
    ambient: room temperature [°C]
    shaft_temperature: temperature of the shaft; None: that of the room [°C]
    shaft_expansion: mean linear expansion coefficient of the shaft; None: that of the hub [1/K]
    air: air data [m2/s, W/(m K), 1]
    Result: seconds with a band of 20 % either way; 0 when it does not slide even so hot, infinite when it slides cold [s].
    Range: a setting above the room. Source: as `cooling_time`.

    >>> part = ring(132.5, 110.0, 53.0, 7850.0)
    >>> round(carry_time(part, 110.0, diameter=110.0, clearance=-0.05, expansion=12.5e-6, least_clearance=0.02).value)
    890
    """
    shaft = ambient if shaft_temperature is None else shaft_temperature
    shaft_growth = growth(diameter, expansion if shaft_expansion is None else shaft_expansion, shaft - REFERENCE)
    needed = shaft_growth - clearance
    end = REFERENCE + (needed + least_clearance) / (expansion * diameter)
    if end <= ambient:
        return Seconds(math.inf, math.inf, math.inf)
    if setting <= end:
        return Seconds(0.0, 0.0, 0.0)
    return cooling_time(part, setting, end, ambient, air)
