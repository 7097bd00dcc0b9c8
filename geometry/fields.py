"""What a value of the machine file may be: texts with units, sizes with their tolerance, fitted diameters, limit pairs, plain texts.

Lengths in mm, temperatures degC, torque N·m, angles rad once read. Each type refuses what no reducer of this kind can have.
Contents: `reader`, the number types (`Length`, `Thin` ...), `Text`, `Size` (a dimension with its tolerance or readings), `Fitted` (a
diameter with a class, limits or readings), `LimitPair`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from calc import fits, hardware, refusal, units

LONGEST_TEXT = 80
"""Most characters of a name or any other text of the file."""
READINGS_APART = 1.0
"""Most that micrometer readings of one size may differ [mm]: more is a slip of the pen."""


def reader(kind: str, low: float, high: float) -> Callable[[Any], float]:
    """A validator that reads a text of this kind and refuses what no reducer of this type can have [range in shop units]."""

    def read(value: Any) -> float:
        number = units.read(value, kind)
        if not low <= number <= high:
            raise ValueError(f"accepted: {units.typed(low, kind, 'mm')} to {units.typed(high, kind, 'mm')}")
        return number

    return read


Length = Annotated[float, BeforeValidator(reader("length", 0.01, 2000.0))]
Thin = Annotated[float, BeforeValidator(reader("length", 0.0, 5.0))]
Film = Annotated[float, BeforeValidator(reader("length", 0.005, 0.5))]
Torque = Annotated[float, BeforeValidator(reader("torque", 0.1, 5000.0))]
Angle = Annotated[float, BeforeValidator(reader("angle", -2 * math.pi, 2 * math.pi))]
Fraction = Annotated[float, BeforeValidator(reader("fraction", 0.0, 0.5))]
Teeth = Annotated[int, Field(ge=5, le=200)]
Count = Annotated[int, Field(ge=2, le=48)]


def _printable(value: str) -> str:
    if len(value) > LONGEST_TEXT:
        raise ValueError(f"accepted: at most {LONGEST_TEXT} characters")
    if not value.isprintable():
        raise ValueError("accepted: printable characters on one line")
    return value


def _named(value: str) -> str:
    if not value.strip():
        raise ValueError("accepted: a text that is not empty")
    return value


def _screw_thread(value: str) -> str:
    hardware.socket_screw(value)
    return value


Text = Annotated[str, AfterValidator(_printable)]
Name = Annotated[Text, AfterValidator(_named)]
ScrewThread = Annotated[Text, AfterValidator(_screw_thread)]


def _read_pair(value: Any) -> Any:
    if not isinstance(value, list | tuple) or len(value) != 2:
        raise ValueError('accepted: a list of two sizes, the smaller first, for example ["0.17 mm", "0.30 mm"]')
    low, high = (length_at("limit", item, 0.0, 5.0) for item in value)
    if low >= high:
        raise ValueError("accepted: the smaller limit first")
    return low, high


LimitPair = Annotated[tuple[float, float], BeforeValidator(_read_pair)]
"""Least and greatest value wanted [mm]."""


def length_at(field: str, given: Any, low: float = -2000.0, high: float = 2000.0) -> float:
    """One length inside a table or a list, its fault told with its key and value."""
    try:
        return reader("length", low, high)(given)
    except ValueError as error:
        raise ValueError(f"{field}: {refusal.told(given)}: {error}") from None


def _sizes(field: str, given: Any) -> Iterable[Any]:
    """The items of a list of sizes. Raises ValueError for anything else."""
    if not isinstance(given, list | tuple):
        raise ValueError(f'{field}: {refusal.told(given)}: accepted: a list of sizes, for example ["60.01 mm", "60.02 mm"]')
    return given


class Record(BaseModel):
    """A frozen section of the file; a key it does not know is a fault."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Size(Record):
    """A length that enters a chain: the middle of its limits, or the mean of its readings, with the band about it [mm]; `settled`: moved so
    that its chain ends where it was read."""

    nominal: float
    lower: float = 0.0
    upper: float = 0.0
    measured: bool = False
    settled: bool = False

    @property
    def low(self) -> float:
        return self.nominal + self.lower

    @property
    def high(self) -> float:
        return self.nominal + self.upper


def measured_size(readings: Sequence[float]) -> Size:
    """A length from its micrometer readings: their mean, with the band from least to greatest [mm]. Raises ValueError."""
    if not readings:
        raise ValueError("readings: accepted: at least one micrometer reading")
    if max(readings) - min(readings) > READINGS_APART:
        raise ValueError(f"readings: accepted: readings within {READINGS_APART:g} mm of each other")
    mean = sum(readings) / len(readings)
    return Size(nominal=mean, lower=min(readings) - mean, upper=max(readings) - mean, measured=True)


def _read_size(value: Any, low: float, high: float) -> Size:
    if isinstance(value, Size):
        return value
    if not isinstance(value, Mapping):
        return Size(nominal=reader("length", low, high)(value))
    keys_given = set(value)
    if keys_given == {"readings"}:
        return measured_size([length_at("readings", item, low, high) for item in _sizes("readings", value["readings"])])
    if keys_given <= {"size", "plus", "minus"} and "size" in keys_given:
        plus = length_at("plus", value.get("plus", "0 mm"))
        minus = length_at("minus", value.get("minus", "0 mm"))
        if plus < -minus or max(abs(plus), abs(minus)) > 2.0:
            raise ValueError('plus and minus: accepted: 0 to 2 mm each, for example plus = "0.02 mm", minus = "0.02 mm"')
        middle, half = length_at("size", value["size"], low, high) + (plus - minus) / 2.0, (plus + minus) / 2.0
        return Size(nominal=middle, lower=-half, upper=half)
    raise ValueError(
        'accepted: "12 mm", or { size = "12 mm", plus = "0.02 mm", minus = "0.02 mm" }, or { readings = ["12.01 mm"] }'
    )


SizeField = Annotated[Size, BeforeValidator(lambda value: _read_size(value, 0.01, 2000.0))]
OffsetField = Annotated[Size, BeforeValidator(lambda value: _read_size(value, -500.0, 500.0))]


class Fitted(Record):
    """A fitted diameter: nominal [mm] with a class of ISO 286, its limits, or micrometer readings; `drawn`: limits of the drawing as
    deviations [mm], where readings of a job stand in their place."""

    diameter: Length
    fit: Text | None = None
    limits: tuple[float, float] | None = None
    readings: tuple[float | tuple[float, ...], ...] | None = None
    drawn: tuple[float, float] | None = None

    @model_validator(mode="before")
    @classmethod
    def _read(cls, value: Any) -> Any:
        if not isinstance(value, Mapping):
            raise ValueError('accepted: { diameter = "60 mm", fit = "m5" } (or limits = [...], or readings = [...])')
        value = dict(value)
        if "drawn" in value or sum(key in value for key in ("fit", "limits", "readings")) != 1:
            raise ValueError("accepted: exactly one of fit, limits, readings")
        if "limits" in value:
            value["limits"] = tuple(length_at("limits", item) for item in _sizes("limits", value["limits"]))
            if len(value["limits"]) != 2:
                raise ValueError("limits: accepted: two sizes, the smaller first")
        if "readings" in value:
            value["readings"] = tuple(
                tuple(length_at("readings", one) for one in item) if isinstance(item, list | tuple) else length_at("readings", item)
                for item in _sizes("readings", value["readings"])
            )
        return value

    @model_validator(mode="after")
    def _near(self) -> Fitted:
        if self.readings is not None:
            fits.limits_from_readings(self.readings, self.diameter)
        read = (size for item in self.readings or () for size in (item if isinstance(item, tuple) else (item,)))
        for size in [*(self.limits or ()), *read]:
            if abs(size - self.diameter) > 0.5:
                raise ValueError(f"{size:.4f} mm lies too far from the diameter: accepted: within 0.5 mm of {self.diameter:.4f} mm")
        if self.limits and self.limits[0] > self.limits[1]:
            raise ValueError("limits: accepted: the smaller size first")
        return self

    @property
    def measured(self) -> fits.Readings | None:
        """What the micrometer readings say, None when the diameter is given by class or limits [mm]."""
        return None if self.readings is None else fits.limits_from_readings(self.readings, self.diameter)

    def _band(self, by_class: Callable[[float, str], fits.Limits]) -> fits.Limits:
        if self.fit is not None:
            return by_class(self.diameter, self.fit)
        if self.limits is not None:
            return fits.Limits(self.limits[0] - self.diameter, self.limits[1] - self.diameter)
        assert self.measured is not None
        return self.measured.limits

    @property
    def shaft_mean(self) -> float:
        """Mean of the readings of an outside diameter, else the middle of its band: the size its solid is built to [mm]."""
        return self.measured.mean if self.measured else self.diameter + self.as_shaft().middle

    @property
    def hole_mean(self) -> float:
        """Mean of the readings of a bore, else the middle of its band: the size its solid is built to [mm]."""
        return self.measured.mean if self.measured else self.diameter + self.as_hole().middle

    def as_shaft(self) -> fits.Limits:
        """Deviations of an outside diameter from its nominal [mm]."""
        return self._band(fits.shaft_limits)

    def as_hole(self) -> fits.Limits:
        """Deviations of a bore from its nominal [mm]."""
        return self._band(fits.hole_limits)
