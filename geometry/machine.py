"""The user's machine file as frozen records: read, checked field by field, and refused with every fault at once.

Lengths in mm, temperatures degC, torque N·m, angles rad once read; the file holds texts with units ("60 mm", "2.3622 in").
Contents: `Size` (a dimension with its tolerance or readings), `Fitted` (a diameter with a class, limits or readings), the
sections of the file, `Machine`, and `load` / `parse`.
"""

from __future__ import annotations

import difflib
import math
import re
import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError, model_validator

from calc import bearings, fits, hardware, keys, units

MICRON = 0.001
"""One micrometre [mm]."""


class MachineError(ValueError):
    """The file can't be used; `faults` holds one finished line per fault."""

    def __init__(self, faults: list[str]) -> None:
        self.faults = faults
        super().__init__("\n".join(faults))


def _reader(kind: str, low: float, high: float) -> Callable[[Any], float]:
    """A validator that reads a text of this kind and refuses what no reducer of this type can have [range in shop units]."""

    def read(value: Any) -> float:
        number = units.read(value, kind)
        if not low <= number <= high:
            raise ValueError(f"accepted: {units.show(low, kind, 'mm')} to {units.show(high, kind, 'mm')}")
        return number

    return read


Length = Annotated[float, BeforeValidator(_reader("length", 0.01, 2000.0))]
Offset = Annotated[float, BeforeValidator(_reader("length", -500.0, 500.0))]
Thin = Annotated[float, BeforeValidator(_reader("length", 0.0, 5.0))]
Film = Annotated[float, BeforeValidator(_reader("length", 0.005, 0.5))]
Temperature = Annotated[float, BeforeValidator(_reader("temperature", -60.0, 350.0))]
HeaterTemperature = Annotated[float, BeforeValidator(_reader("temperature", 0.0, 300.0))]
Torque = Annotated[float, BeforeValidator(_reader("torque", 0.1, 5000.0))]
Angle = Annotated[float, BeforeValidator(_reader("angle", -2 * math.pi, 2 * math.pi))]
Fraction = Annotated[float, BeforeValidator(_reader("fraction", 0.0, 0.5))]
Force = Annotated[float, BeforeValidator(_reader("force", 100.0, 1e7))]
Mass = Annotated[float, BeforeValidator(_reader("mass", 0.1, 1e5))]
Power = Annotated[float, BeforeValidator(_reader("power", 50.0, 1e6))]
Stress = Annotated[float, BeforeValidator(_reader("pressure", 50.0, 2000.0))]
Duration = Annotated[float, BeforeValidator(_reader("time", 0.0, 36000.0))]
Share = Annotated[float, BeforeValidator(_reader("fraction", 0.05, 1.0))]
SlingAngle = Annotated[float, BeforeValidator(_reader("angle", math.radians(5.0), math.radians(90.0)))]
ColdTemperature = Annotated[float, BeforeValidator(_reader("temperature", -200.0, 20.0))]
ScrewClass = Literal["8.8", "10.9", "12.9", "grade 5", "grade 8"]
Friction = Annotated[float, Field(gt=0.0, le=0.5)]
Teeth = Annotated[int, Field(ge=5, le=200)]
Count = Annotated[int, Field(ge=2, le=48)]


class Record(BaseModel):
    """A frozen section of the file; a key it does not know is a fault."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Size(Record):
    """A length that enters a chain: the middle of its limits, or the mean of its readings, with the band about it [mm]."""

    nominal: float
    lower: float = 0.0
    upper: float = 0.0
    measured: bool = False

    @property
    def low(self) -> float:
        return self.nominal + self.lower

    @property
    def high(self) -> float:
        return self.nominal + self.upper


def _read_size(value: Any) -> Any:
    if isinstance(value, Size):
        return value
    if not isinstance(value, Mapping):
        return Size(nominal=_reader("length", -500.0, 2000.0)(value))
    keys_given = set(value)
    if keys_given == {"readings"}:
        numbers = [units.read(item, "length") for item in value["readings"]]
        if not numbers:
            raise ValueError("readings: accepted: at least one micrometer reading")
        mean = sum(numbers) / len(numbers)
        return Size(nominal=mean, lower=min(numbers) - mean, upper=max(numbers) - mean, measured=True)
    if keys_given <= {"size", "plus", "minus"} and "size" in keys_given:
        plus = units.read(value.get("plus", "0 mm"), "length")
        minus = units.read(value.get("minus", "0 mm"), "length")
        if plus < -minus or max(abs(plus), abs(minus)) > 2.0:
            raise ValueError('plus and minus: accepted: 0 to 2 mm each, for example plus = "0.02 mm", minus = "0.02 mm"')
        middle, half = _reader("length", -500.0, 2000.0)(value["size"]) + (plus - minus) / 2.0, (plus + minus) / 2.0
        return Size(nominal=middle, lower=-half, upper=half)
    raise ValueError(
        'accepted: "12 mm", or { size = "12 mm", plus = "0.02 mm", minus = "0.02 mm" }, or { readings = ["12.01 mm"] }'
    )


SizeField = Annotated[Size, BeforeValidator(_read_size)]


class Fitted(Record):
    """A fitted diameter: nominal [mm] with a class of ISO 286, its limits, or micrometer readings."""

    diameter: Length
    fit: str | None = None
    limits: tuple[float, float] | None = None
    readings: tuple[float | tuple[float, ...], ...] | None = None

    @model_validator(mode="before")
    @classmethod
    def _read(cls, value: Any) -> Any:
        if not isinstance(value, Mapping):
            raise ValueError('accepted: { diameter = "60 mm", fit = "m5" } (or limits = [...], or readings = [...])')
        value = dict(value)
        if sum(key in value for key in ("fit", "limits", "readings")) != 1:
            raise ValueError("accepted: exactly one of fit, limits, readings")
        if isinstance(value.get("limits"), list | tuple):
            value["limits"] = tuple(units.read(item, "length") for item in value["limits"])
        if isinstance(value.get("readings"), list | tuple):
            value["readings"] = tuple(
                tuple(units.read(one, "length") for one in item) if isinstance(item, list | tuple) else units.read(item, "length")
                for item in value["readings"]
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


class Screws(Record):
    """A circle of socket screws: thread, length under the head, circle, and the maker's torque."""

    thread: str
    length: Length
    count: Count
    circle: Length
    first_angle: Angle = 0.0
    torque: Torque | None = None
    drilled: bool = False
    property_class: ScrewClass = "8.8"

    @model_validator(mode="after")
    def _known(self) -> Screws:
        hardware.socket_screw(self.thread)
        return self


class Gasket(Record):
    """A flat gasket or shim pack: free thickness, how much it gives when clamped, the leaves in stock [mm]."""

    thickness: Thin
    compression: Fraction
    stock: tuple[Thin, ...] = ()

    @property
    def clamped(self) -> float:
        return self.thickness * (1.0 - self.compression)


class Key(Record):
    """A parallel key: its length; the section follows from the shaft diameter (ISO/R 773) unless typed; `key_width`, `shaft_width` and
    `hub_width` are measured widths of key and keyways, where somebody has measured them [mm]."""

    length: Length
    width: Length | None = None
    height: Length | None = None
    shaft_depth: Length | None = None
    hub_depth: Length | None = None
    key_width: SizeField | None = None
    shaft_width: SizeField | None = None
    hub_width: SizeField | None = None

    def section(self, diameter: float) -> keys.KeySection:
        """Width, height, keyway depth in the shaft and in the hub for this shaft diameter [mm]."""
        base = keys.key_section(diameter)
        chosen = {"width": self.width, "height": self.height, "shaft_depth": self.shaft_depth, "hub_depth": self.hub_depth}
        return base._replace(**{name: value for name, value in chosen.items() if value is not None})


def _pitch(value: Any) -> float:
    match = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(?:per in|/in|1/in)\s*", str(value))
    if not match or not 1.0 <= float(match[1]) <= 20.0:
        raise ValueError('accepted: 1 to 20 per inch, for example "4 per in"')
    return float(match[1])


class Gears(Record):
    """Tooth data of the set and what is etched on it."""

    pinion_teeth: Teeth
    gear_teeth: Teeth
    outer_module: Annotated[float, BeforeValidator(_reader("length", 1.0, 26.0))] | None = None
    diametral_pitch: Annotated[float, BeforeValidator(_pitch)] | None = None
    face_width: Length
    pressure_angle: Angle
    spiral_angle: Angle
    pinion_hand: Literal["left", "right", "straight"]
    cutter_radius: Length | None = None
    backlash: tuple[Thin, Thin]
    design_backlash: Thin
    pinion_mounting_distance: SizeField
    gear_mounting_distance: SizeField
    set_number: str = ""
    heating_limit: HeaterTemperature = 150.0
    pinion_torque: Torque | None = None

    @model_validator(mode="after")
    def _whole(self) -> Gears:
        if (self.outer_module is None) == (self.diametral_pitch is None):
            raise ValueError("accepted: exactly one of outer_module, diametral_pitch")
        if (self.pinion_hand == "straight") != (self.spiral_angle == 0.0):
            raise ValueError('pinion_hand: accepted: "straight" with spiral_angle 0 deg, else "left" or "right"')
        if self.backlash[0] >= self.backlash[1]:
            raise ValueError("backlash: accepted: the smaller limit first")
        if self.pinion_teeth > self.gear_teeth:
            raise ValueError(f"pinion_teeth: {self.pinion_teeth}: accepted: not more than gear_teeth ({self.gear_teeth})")
        return self

    @property
    def module(self) -> float:
        """Outer transverse module [mm]."""
        return self.outer_module if self.outer_module is not None else 25.4 / (self.diametral_pitch or 1.0)


class Blank(Record):
    """Body of the pinion or the gear behind and in front of its teeth [mm]."""

    bore: Fitted
    length: SizeField
    hub_diameter: Length
    key: Key
    yield_strength: Stress = 600.0


class Roller(Record):
    """Cylindrical roller bearing, rollers held by the inner ring, outer ring plain [mm]."""

    bore: Length
    series: str | None = None
    outside: Length | None = None
    width: SizeField | None = None
    raceway_inner: Length
    raceway_outer: Length
    roller_count: Count
    clearance_group: Literal["2", "N", "3", "4", "5"] = "N"

    @model_validator(mode="before")
    @classmethod
    def _by_series(cls, value: Any) -> Any:
        return _from_series(value)


class Pair(Record):
    """Duplex pair of angular contact bearings with its spacers [mm, rad]."""

    bore: Length
    series: str | None = None
    outside: Length | None = None
    width: SizeField | None = None
    contact_angle: Angle
    arrangement: Literal["back-to-back", "face-to-face", "tandem"]
    inner_spacer: SizeField
    outer_spacer: SizeField
    internal_play: Offset = 0.0

    @model_validator(mode="before")
    @classmethod
    def _by_series(cls, value: Any) -> Any:
        return _from_series(value)


def _from_series(value: Any) -> Any:
    """Fill outside diameter and width from ISO 15 by bore and series; typed values stand."""
    if not isinstance(value, Mapping):
        return value
    value = dict(value)
    if "series" in value and "bore" in value:
        bore = units.read(value["bore"], "length")
        size = bearings.boundary(round(bore, 3), str(value["series"]))
        width = bearings.width_limits(bore)
        value.setdefault("outside", f"{size.outside} mm")
        value.setdefault("width", {"size": f"{size.width} mm", "plus": f"{width.upper} mm", "minus": f"{-width.lower} mm"})
    for name in ("outside", "width"):
        if name not in value:
            raise ValueError(f"{name}: accepted: a size, or a series of ISO 15 (02, 03, 22, 23) to take it from")
    return value


class Shaft(Record):
    """What both shafts share: bearing seat, threads, seal seat and extension [mm]."""

    bearing_seat: Fitted
    bearing_thread: str
    seal_diameter: Length
    extension: Fitted
    extension_length: Length
    coupling_key: Key
    collar_diameter: Length


class HighSpeedShaft(Shaft):
    """Horizontal shaft; the pinion sits on its inner end against the collar."""

    pinion_seat: Fitted
    pinion_thread: str
    collar_width: SizeField


class LowSpeedShaft(Shaft):
    """Vertical shaft; the gear seats upward against the collar, the pair downward against its upper face."""

    gear_seat: Fitted
    collar_length: SizeField
    lower_seat: Fitted
    lower_thread: str


class Retainer(Record):
    """Ring that holds a roller bearing's outer ring [mm]."""

    bore: Length
    outside: Length
    thickness: Length
    screws: Screws


class Cover(Record):
    """Flanged cover with its lip seal; the spigot limits the pair's float [mm]."""

    spigot: SizeField
    outside: Length
    thickness: Length
    screws: Screws
    seal_outside: Length
    seal_width: Length


class Cartridge(Record):
    """Flanged cartridge: flange on the case (gasket between), stop and seat of the pair [mm]."""

    body: Fitted
    flange_diameter: Length
    flange_thickness: Length
    screws: Screws
    stop_offset: SizeField
    outer_face: SizeField
    pair_seat: Fitted
    stop_bore: Length
    neck_diameter: Length


class HighSpeedCartridge(Cartridge):
    """The horizontal cartridge also carries the roller bearing's outer ring on its nose."""

    rib_width: SizeField
    roller_seat: Fitted
    roller_seat_depth: SizeField
    retainer: Retainer


class Carrier(Record):
    """Carrier of the lower roller bearing on the floor of the case [mm]."""

    body: Fitted
    flange_diameter: Length
    flange_thickness: Length
    screws: Screws
    roller_seat: Fitted
    roller_seat_depth: SizeField
    flange_to_seat: SizeField
    shoulder_bore: Length
    depth: Length
    gasket: Gasket
    retainer: Retainer


class SplitScrews(Record):
    """The screws of the split flange: how many on each long side, and the maker's torque."""

    thread: str
    length: Length
    per_side: Annotated[int, Field(ge=3, le=16)]
    torque: Torque | None = None
    property_class: ScrewClass = "8.8"

    @model_validator(mode="after")
    def _known(self) -> SplitScrews:
        hardware.socket_screw(self.thread)
        return self


class Case(Record):
    """Split case: machined faces and bores; wall and rib proportions are derived [mm]."""

    end_face: SizeField
    upper_height: SizeField
    floor_depth: SizeField
    sealing_film: Film = 0.03
    horizontal_bore: Fitted
    upper_bore: Fitted
    floor_bore: Fitted
    inner_radius: Length
    wall: Length
    foot_height: Length
    flange_width: Length
    flange_thickness: Length
    split_screws: SplitScrews
    dowel_diameter: Length
    iron_strength: Stress = 250.0


class Spacers(Record):
    """Distance pieces that enter a chain [mm]."""

    high_speed_sleeve: SizeField
    gear_spacer: SizeField
    high_speed_thrower: Length
    high_speed_thrower_diameter: Length
    lower_thrower: Length
    lower_thrower_diameter: Length
    packer_drop: Annotated[float, BeforeValidator(_reader("length", 0.5, 6.0))] = 2.5


class Gaskets(Record):
    """The four position gaskets."""

    pinion_gasket: Gasket
    gear_gasket: Gasket
    high_speed_float_gasket: Gasket
    low_speed_float_gasket: Gasket


class Limits(Record):
    """What the owner or maker wants at the end [mm]."""

    high_speed_end_play: tuple[Thin, Thin]
    low_speed_end_play: tuple[Thin, Thin]


class Shop(Record):
    """The bench on the day."""

    ambient: Temperature = 20.0
    heater: HeaterTemperature | None = None
    bearing_heating_limit: HeaterTemperature = 120.0
    sliding_clearance: Thin = 0.02
    bearing_cold_limit: ColdTemperature = -50.0
    heater_power: Power | None = None
    heater_efficiency: Share = 0.75
    heater_largest_mass: Mass | None = None
    heater_smallest_bore: Length | None = None
    hold_time: Duration = 60.0
    press_capacity: Force | None = None
    sling_legs: Literal[1, 2, 3, 4] = 2
    sling_angle: SlingAngle = math.radians(60.0)
    sling_rating: Mass | None = None
    screw_friction: tuple[Friction, Friction] = (0.10, 0.16)
    leaves: tuple[Thin, ...] = ()

    @model_validator(mode="after")
    def _ordered(self) -> Shop:
        if self.screw_friction[0] > self.screw_friction[1]:
            raise ValueError("screw_friction: accepted: the smaller first, above 0 up to 0.5")
        return self


class Machine(Record):
    """One reducer as its owner describes it."""

    name: str
    units: Literal["mm", "inch"]
    procedure: str | None = None
    handling: str | None = None
    gears: Gears
    pinion: Blank
    gear: Blank
    high_speed_shaft: HighSpeedShaft
    low_speed_shaft: LowSpeedShaft
    inner_bearing: Roller
    lower_bearing: Roller
    high_speed_pair: Pair
    low_speed_pair: Pair
    spacers: Spacers
    high_speed_cartridge: HighSpeedCartridge
    high_speed_cover: Cover
    low_speed_cartridge: Cartridge
    low_speed_cover: Cover
    carrier: Carrier
    case: Case
    gaskets: Gaskets
    limits: Limits
    shop: Shop = Shop()


def _nearest(model: type[BaseModel], location: tuple[Any, ...]) -> str:
    """The known key closest to a misspelt one, or the list of keys."""
    current: Any = model
    for name in location[:-1]:
        field = current.model_fields.get(name) if isinstance(current, type) and issubclass(current, BaseModel) else None
        if field is None:
            return ""
        current = next(
            (
                item
                for item in [field.annotation, *getattr(field.annotation, "__args__", ())]
                if isinstance(item, type) and issubclass(item, BaseModel)
            ),
            None,
        )
    if current is None:
        return ""
    known = list(current.model_fields)
    close = difflib.get_close_matches(str(location[-1]), known, n=1, cutoff=0.5)
    return f"did you mean {close[0]}?" if close else "accepted: " + ", ".join(known)


def _fault(error: Any, file: str) -> str:
    """One finished line: file, field, what was given, what is accepted."""
    location = tuple(part for part in error["loc"] if not (isinstance(part, str) and "[" in part))
    field = ".".join(str(part) for part in location) or "file"
    kind, given = error["type"], error.get("input")
    if kind == "missing":
        return f"{file}: {field}: missing: this dimension is required"
    if kind == "extra_forbidden":
        return f"{file}: {field}: unknown key: {_nearest(Machine, location)}"
    message = str(error["msg"]).removeprefix("Value error, ").replace("Input should be", "accepted:")
    shown = f" = {given!r}" if isinstance(given, str | int | float) else ""
    return f"{file}: {field}{shown}: {message}"


def parse(content: bytes, file: str = "machine file") -> Machine:
    """Read a machine from the bytes of its TOML file.

    `content`: the file [bytes]. `file`: name used in messages [text]. Raises MachineError with every fault at once.
    """
    if not content.strip():
        raise MachineError([f"{file}: the file is empty: accepted: a machine file; `shimwright start` writes one"])
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError:
        raise MachineError([f"{file}: not a text file: accepted: TOML in UTF-8; `shimwright start` writes one"]) from None
    if "\x00" in text:
        raise MachineError([f"{file}: not a text file: accepted: TOML in UTF-8; `shimwright start` writes one"])
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise MachineError([f"{file}: not valid TOML: {error}"]) from None
    return accept(data, file)


def accept(data: Mapping[str, Any], file: str = "machine file") -> Machine:
    """A machine from the tables of its file.

    `data`: sections and values as TOML reads them. `file`: name used in messages [text]. Raises MachineError with every fault at once.
    """
    try:
        machine = Machine.model_validate(data)
    except ValidationError as error:
        raise MachineError([_fault(item, file) for item in error.errors()]) from None
    from geometry import buildable

    clashes = buildable.clashes(machine)
    if clashes:
        raise MachineError([f"{file}: {line}" for line in clashes])
    return machine


def load(path: str | Path) -> Machine:
    """Read a machine file from disk. Raises MachineError when it can't be opened or used."""
    path = Path(path)
    if path.is_dir():
        raise MachineError([f"{path}: is a folder: accepted: a machine file"])
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        raise MachineError([f"{path}: no such file: accepted: a machine file, or the name of a shipped example"]) from None
    except OSError as error:
        raise MachineError([f"{path}: can't be read: {error.strerror}"]) from None
    return parse(content, path.name)
