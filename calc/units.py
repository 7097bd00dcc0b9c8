"""The door: texts with units in, the shop's numbers inside, texts out.

Inside: mm, degC, K, N·m, N, kg, W, rad, s, MPa, L. A narrow reader on pint: a short list of spellings per kind, finite plain numbers only,
decimal comma refused with its remedy, whatever language is spoken. Figures are shown, and refusals told, in that language. pint gives the factors, once per spelling, in exact decimals: 25 um reads as 0.025 mm to the last bit.
"""

from __future__ import annotations

import pickle
import re
from collections.abc import Mapping
from contextvars import ContextVar
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cache
from math import isfinite
from types import MappingProxyType
from typing import Any, Literal

from calc.refusal import LONGEST, told

System = Literal["mm", "inch"]


class UnitError(ValueError):
    """A text that is no quantity of the wanted kind: what was given, what is accepted."""

    def __init__(self, given: object, accepted: str) -> None:
        self.given, self.accepted = given, accepted
        super().__init__(accepted)


SPELLINGS: dict[str, dict[str, str]] = {
    "length": {
        "mm": "mm",
        "um": "um",
        "µm": "um",
        "μm": "um",
        "cm": "cm",
        "m": "m",
        "in": "inch",
        '"': "inch",
        "inch": "inch",
        "thou": "thou",
    },
    "temperature": {"degC": "degC", "°C": "degC", "degF": "degF", "°F": "degF"},
    "temperature rise": {"K": "kelvin", "degC": "delta_degC", "°C": "delta_degC", "degF": "delta_degF", "°F": "delta_degF"},
    "torque": {
        "N m": "N*m",
        "Nm": "N*m",
        "N·m": "N*m",
        "lbf ft": "lbf*ft",
        "ft lbf": "lbf*ft",
        "lbf in": "lbf*inch",
        "in lbf": "lbf*inch",
        "lbf·ft": "lbf*ft",
        "lbf·in": "lbf*inch",
    },
    "force": {"N": "N", "kN": "kN", "lbf": "lbf"},
    "mass": {"kg": "kg", "g": "g", "t": "t", "lb": "lb"},
    "power": {"W": "W", "kW": "kW", "hp": "hp"},
    "angle": {"deg": "deg", "°": "deg", "rad": "rad"},
    "time": {"s": "s", "min": "min", "h": "h"},
    "pressure": {"MPa": "MPa", "bar": "bar", "kPa": "kPa", "psi": "psi"},
    "volume": {
        "L": "L",
        "l": "L",
        "litre": "L",
        "mL": "mL",
        "ml": "mL",
        "US gal": "gallon",
        "US qt": "quart",
        "imp gal": "imperial_gallon",
    },
    "fraction": {"%": "percent"},
}
"""Accepted unit spellings by kind, and pint's name of each."""

ALSO: dict[str, dict[str, str]] = {
    "length": {"in.": "in", "inches": "in", "mil": "thou", "mils": "thou"},
    "torque": {
        sign.join(pair): f"lbf {arm}"
        for arm in ("ft", "in")
        for force in ("lb", "lbf")
        for pair in ((force, arm), (arm, force))
        for sign in (" ", "-", "·")
    },
    "mass": {"lbs": "lb"},
    "volume": {"qt": "US qt"},
}
"""What else a hand writes for a unit of SPELLINGS, where it can be no other: "ft lb" is a torque here; "qt" is the United States liquid quart,
as no other is sold by. A bare "gal" could be either gallon and is refused."""

INTERNAL = {
    "length": "mm", "temperature": "degC", "temperature rise": "kelvin", "torque": "N*m", "force": "N", "mass": "kg", "power": "W", "angle": "rad",
    "time": "s", "pressure": "MPa", "volume": "L", "fraction": "dimensionless",
}  # fmt: skip
"""The shop's coherent system, as pint's names."""

EXAMPLES = {
    "length": "60 mm", "temperature": "110 degC", "temperature rise": "30 K", "torque": "45 N m", "force": "12 kN", "mass": "18 kg", "power": "2.2 kW",
    "angle": "20 deg", "time": "90 s", "pressure": "0.5 MPa", "volume": "6.5 L", "fraction": "10 %",
}  # fmt: skip
EXAMPLES_INCH = EXAMPLES | {
    "length": "0.010 in", "temperature": "230 degF", "temperature rise": "54 degF", "torque": "45 lbf ft", "force": "2700 lbf", "mass": "40 lb",
    "pressure": "70 psi", "volume": "7 US qt",
}  # fmt: skip
"""What a person types, for a refusal, by the unit system of the machine."""
REFUSALS: Mapping[str, str] = MappingProxyType(
    {
        "no_unit": 'give a unit, for example "{example}"',
        "no_text": 'accepted: a text such as "{example}"',
        "too_long": 'accepted: a text of at most {most} characters, for example "{example}"',
        "comma": 'write a decimal point, for example "{pointed}"',
        "no_quantity": 'not a {kind}: accepted: a number and a unit, for example "{example}"',
        "other_unit": "unit {unit} is not a {kind}: accepted: {spellings}",
        "degrees": 'unit {unit} is not a {kind} (for degrees write "degC" or "degF"): accepted: {spellings}',
        "too_large": 'too large: accepted: a finite number, for example "{example}"',
        "too_small": 'too small: accepted: 0, or a number that counts, for example "{example}"',
        **{kind.replace(" ", "_"): kind for kind in SPELLINGS},
    }
)
"""How a refusal is told, and what each kind is called there; another language has the same keys (Figures)."""
_NUMBER = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?)\s*(.*)", re.ASCII)
_COMMA = re.compile(r"[+-]?\d*,\d+", re.ASCII)


@cache
def _registry() -> Any:
    import pint

    how: dict[str, Any] = {"non_int_type": Decimal, "autoconvert_offset_to_baseunit": True}
    try:
        return pint.UnitRegistry(cache_folder=":auto:", **how)  # its parsed definitions, kept in the user's cache folder
    except (OSError, EOFError, pickle.UnpicklingError):  # no such folder, or one file half written by another process just now
        return pint.UnitRegistry(**how)


@cache
def _factor(kind: str, spelling: str) -> tuple[Decimal, Decimal]:
    """Scale and offset from a spelling to the internal unit, exact decimals from pint."""
    registry = _registry()
    unit, internal = SPELLINGS[kind][spelling], INTERNAL[kind]
    zero = registry.Quantity(Decimal(0), unit).to(internal).magnitude
    one = registry.Quantity(Decimal(1), unit).to(internal).magnitude
    if unit == internal:
        return Decimal(1), Decimal(0)
    if kind == "angle":
        import math

        return Decimal(math.pi) / Decimal(180), Decimal(0)
    return Decimal(one) - Decimal(zero), Decimal(zero)


_MILLIMETRES = {"mm": Decimal(1)}


def read(given: Any, kind: str, system: System = "mm") -> float:
    """Read a text with its unit into the shop's system.

    given: the text, for example "60 mm" [text]
    kind: what it must be, a key of SPELLINGS [-]
    system: "mm" or "inch", whose units the example in a refusal has [-]
    Result: the number [mm, degC, K, N·m, N, kg, W, rad, s, MPa, L or 1]. Range: finite plain numbers in the listed spellings; raises
    UnitError naming what is accepted. Source: exact factors of the SI and of the international inch and pound, as pint holds them.

    >>> read("25 um", "length") == read("0.025 mm", "length")
    True
    >>> read("212 degF", "temperature")
    100.0
    """
    if isinstance(given, bool) or isinstance(given, int | float):
        raise _refused(given, kind, system, "no_unit")
    if not isinstance(given, str):
        raise _refused(given, kind, system, "no_text")
    given = given.strip()
    if len(given) > LONGEST:
        raise _refused(given, kind, system, "too_long", most=str(LONGEST))
    if _COMMA.match(given):
        pointed = given.replace(",", ".", 1) if given.isprintable() else _example(kind, system)
        raise _refused(given, kind, system, "comma", pointed=pointed)
    match = _NUMBER.fullmatch(given)
    if not match:
        raise _refused(given, kind, system, "no_quantity")
    digits, spelling = match[1], match[2]
    if not spelling:
        raise _refused(given, kind, system, "no_unit")
    spelling = ALSO.get(kind, {}).get(spelling, spelling)
    if spelling not in SPELLINGS[kind]:
        reason = "degrees" if spelling in ("C", "F") else "other_unit"
        raise _refused(given, kind, system, reason, unit=told(spelling), spellings=", ".join(dict.fromkeys(SPELLINGS[kind])))
    if kind == "length" and spelling in _MILLIMETRES:
        number = float(Decimal(digits))
    else:
        scale, offset = _factor(kind, spelling)
        number = float(Decimal(digits) * scale + offset)
    if kind in ("temperature", "temperature rise"):
        number = float(round(number, 9))
    if not isfinite(number):
        raise _refused(given, kind, system, "too_large")
    if number == 0.0 and Decimal(digits) != 0 and kind != "temperature":
        raise _refused(given, kind, system, "too_small")
    return number


@dataclass(frozen=True)
class Figures:
    """How a language writes figures: its decimal mark, what it calls a time without end, how it refuses what is no quantity."""

    mark: str = "."
    endless: str = "no limit"
    refusals: Mapping[str, str] = field(default_factory=lambda: REFUSALS)


WRITTEN: ContextVar[Figures] = ContextVar("WRITTEN", default=Figures())  # noqa: B039 (frozen)
"""How figures are written here and now; each thread and task has its own. Set by the catalogue of sentences."""


def _refused(given: object, kind: str, system: System, reason: str, **words: str) -> UnitError:
    """The refusal of a text, in the language spoken."""
    told_in = WRITTEN.get().refusals
    called = told_in[kind.replace(" ", "_")]
    return UnitError(given, told_in[reason].format(kind=called, example=_example(kind, system), **words))


def _example(kind: str, system: System) -> str:
    """A quantity as it is typed."""
    return (EXAMPLES if system == "mm" else EXAMPLES_INCH)[kind]


SMALL_TORQUE = 15.0
"""Below this a torque is told in lbf·in [lbf·ft]."""
_SHOWN: dict[tuple[str, System], tuple[str, float, float, int]] = {
    ("temperature", "mm"): ("°C", 1.0, 0.0, 0),
    ("temperature", "inch"): ("°F", 1.8, 32.0, 0),
    ("temperature rise", "mm"): ("K", 1.0, 0.0, 0),
    ("temperature rise", "inch"): ("°F", 1.8, 0.0, 0),
    ("torque", "mm"): ("N·m", 1.0, 0.0, 1),
    ("torque", "inch"): ("lbf·ft", 1.0 / 1.3558179483314004, 0.0, 1),
    ("force", "mm"): ("kN", 1e-3, 0.0, 1),
    ("force", "inch"): ("lbf", 1.0 / 4.4482216152605, 0.0, 0),
    ("mass", "mm"): ("kg", 1.0, 0.0, 1),
    ("mass", "inch"): ("lb", 1.0 / 0.45359237, 0.0, 1),
    ("power", "mm"): ("kW", 1e-3, 0.0, 2),
    ("power", "inch"): ("kW", 1e-3, 0.0, 2),
    ("angle", "mm"): ("°", 57.29577951308232, 0.0, 1),
    ("angle", "inch"): ("°", 57.29577951308232, 0.0, 1),
    ("pressure", "mm"): ("MPa", 1.0, 0.0, 0),
    ("pressure", "inch"): ("psi", 145.03773773020923, 0.0, -2),
    ("volume", "mm"): ("L", 1.0, 0.0, 1),
    ("volume", "inch"): ("US gal", 1.0 / 3.785411784, 0.0, 2),
    ("fraction", "mm"): ("%", 100.0, 0.0, 0),
    ("fraction", "inch"): ("%", 100.0, 0.0, 0),
}


def show(
    value: float, kind: str, system: System, *, signed: bool = False, digits: int | None = None, beside: float | None = None
) -> str:
    """A number of the shop's system as a text for a fitter.

    value: number in the internal unit of its kind [-]
    kind: a key of SPELLINGS [-]
    system: "mm" or "inch" [-]
    signed: whether a positive number carries its + [-]
    digits: decimals, None = as the trade writes it (3 in mm, 4 in inches); a time with 0 is told in whole minutes from 100 s on [1]
    beside: another torque of the same joint, None = none; both are told in its unit [N·m]
    Result: figure and unit [text]; lengths of 100 mm and more, clearances and shims alike keep the micrometre. Range: finite numbers;
    an endless time reads "no limit". Source: decimals by common practice, no source; factors as `read`.

    >>> show(0.0254, "length", "inch")
    '0.0010 in'
    """
    plus = "+" if signed else ""
    if kind == "time":
        return _time(value, digits)
    if kind == "length":
        shown, places, unit = (value, 3, "mm") if system == "mm" else (value / 25.4, 4, "in")
    else:
        unit, scale, offset, places = _SHOWN[(kind, system)]
        shown = value * scale + offset
        if unit == "lbf·ft" and abs(shown if beside is None else beside * scale) < SMALL_TORQUE:
            unit, shown, places = "lbf·in", shown * 12.0, 0
    if digits is not None:
        places = digits
    shown, places = round(shown, places) + 0.0, max(places, 0)
    number = figure(shown, f"{plus}.{places}f").replace("-", "\u2212")
    return f"{number}{unit}" if unit == "°" else f"{number} {unit}"


def typed(value: float, kind: str, system: System) -> str:
    """A number as a person types it, with a decimal point in every language: for a line that says what is accepted.

    value: number in the internal unit of its kind [-]
    kind: a key of SPELLINGS [-]
    system: "mm" or "inch" [-]
    Result: figure and unit [text], as `show` gives it in English. Range: as `show`. Source: as `show`.

    >>> typed(0.05, "length", "mm")
    '0.050 mm'
    """
    before = WRITTEN.set(Figures())
    try:
        return show(value, kind, system)
    finally:
        WRITTEN.reset(before)


def figure(value: float, form: str) -> str:
    """A figure without unit, with the decimal mark of the language spoken.

    value: the number [-]
    form: how many figures, as Python's format has it, for example ".3f" or "g" [-]
    Result: the figure [text]; no mark between thousands. Range: any number. Source: comma or point by ISO 80000-1, 7.3.2.

    >>> figure(0.16, ".3f")
    '0.160'
    """
    return marked(f"{value:{form}}")


def marked(number: str) -> str:
    """A number written with a decimal point, with the mark of the language spoken.

    number: a number alone, without words [text]
    Result: the same number [text]. Range: any text. Source: as `figure`.

    >>> marked("0.160")
    '0.160'
    """
    return number.replace(".", WRITTEN.get().mark)


def trimmed(shown: str) -> str:
    """A figure and its unit without the decimals that say nothing.

    shown: what `show` gave [text]
    Result: the same quantity [text]. Range: figure and unit, apart or with a degree sign. Source: common practice, no source.

    >>> trimmed("60.000 mm"), trimmed("40.0°")
    ('60 mm', '40°')
    """
    mark = re.escape(WRITTEN.get().mark)
    return re.sub(rf"(\d)(?:{mark}0+|({mark}\d*?[1-9])0+)(?!\d)", lambda found: found[1] + (found[2] or ""), shown, count=1)


def _time(value: float, digits: int | None = None) -> str:
    """Seconds, or minutes and seconds, or hours and minutes: the figures a person counts down."""
    if not isfinite(value):
        return WRITTEN.get().endless
    if value < 100.0:
        return f"{value:.0f} s"
    if digits == 0:
        minutes = round(value / 60.0)
        return f"{minutes} min" if minutes < 100 else f"{minutes // 60} h {minutes % 60:02} min"
    minutes, seconds = divmod(round(value / 5.0) * 5, 60)
    if minutes < 100:
        return f"{minutes:.0f} min {seconds:02.0f} s"
    return f"{minutes // 60:.0f} h {minutes % 60:02.0f} min"
