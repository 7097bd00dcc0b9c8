"""The user's machine file as frozen records: read, checked field by field, and refused with every fault at once.

Lengths in mm, temperatures degC, torque N·m, angles rad once read; the file holds texts with units ("60 mm", "2.3622 in").
Contents: the ranges that file, settings and page share, the sections of the file, `Machine`, and `load` / `parse` / `accept`.
What a single value may be: geometry.fields. How a fault is told: geometry.faults.
"""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, StrictBool, ValidationError, model_validator

from calc import bearings, keys, refusal
from geometry import faults
from geometry.faults import MachineError as MachineError
from geometry.fields import (
    Angle,
    Count,
    Film,
    Fitted,
    Fraction,
    Length,
    LimitPair,
    Name,
    OffsetField,
    Record,
    ScrewThread,
    SizeField,
    Teeth,
    Text,
    Thin,
    Torque,
    length_at,
    reader,
)
from geometry.fields import Size as Size

GASKET_RANGE = (0.05, 5.0)
"""Free thickness of a gasket or shim pack: in the file, set live, and on the page's sliders [mm]."""
HEATER_RANGE = (20.0, 300.0)
"""Heater settings and heating limits: in the file, set live, and on the page's slider [degC]."""
AMBIENT_RANGE = (-30.0, 50.0)
"""Workshop temperatures: in the file, set live, and on the page's slider [degC]."""
PLAY_RANGE = (-0.2, 0.2)
"""Internal play of a mounted pair [mm]; preload is negative."""
CONTACT_RANGE = (math.radians(1.0), math.radians(45.0))
"""Contact angle of an angular contact ball bearing [rad]: above 0 up to 45 deg (ISO 76 calls a larger one a thrust bearing)."""

GasketThickness = Annotated[float, BeforeValidator(reader("length", *GASKET_RANGE))]
HeaterTemperature = Annotated[float, BeforeValidator(reader("temperature", *HEATER_RANGE))]
AmbientTemperature = Annotated[float, BeforeValidator(reader("temperature", *AMBIENT_RANGE))]
Play = Annotated[float, BeforeValidator(reader("length", *PLAY_RANGE))]
ContactAngle = Annotated[float, BeforeValidator(reader("angle", *CONTACT_RANGE))]
Force = Annotated[float, BeforeValidator(reader("force", 100.0, 1e7))]
Mass = Annotated[float, BeforeValidator(reader("mass", 0.1, 1e5))]
Power = Annotated[float, BeforeValidator(reader("power", 50.0, 1e6))]
Stress = Annotated[float, BeforeValidator(reader("pressure", 50.0, 2000.0))]
Duration = Annotated[float, BeforeValidator(reader("time", 0.0, 36000.0))]
Share = Annotated[float, BeforeValidator(reader("fraction", 0.05, 1.0))]
SlingAngle = Annotated[float, BeforeValidator(reader("angle", math.radians(30.0), math.radians(90.0)))]
ColdTemperature = Annotated[float, BeforeValidator(reader("temperature", -80.0, 20.0))]
Leaf = Annotated[float, BeforeValidator(reader("length", 0.01, 5.0))]
Roughness = Annotated[float, BeforeValidator(reader("length", 0.0002, 0.1))]
ScrewClass = Literal["8.8", "10.9", "12.9", "grade 5", "grade 8"]
Friction = Annotated[float, Field(gt=0.0, le=0.5)]


class Screws(Record):
    """A circle of socket screws: thread, length under the head, circle, and the maker's torque."""

    thread: ScrewThread
    length: Length
    count: Count
    circle: Length
    first_angle: Angle = 0.0
    torque: Torque | None = None
    drilled: StrictBool = False
    property_class: ScrewClass = "8.8"


class Gasket(Record):
    """A flat gasket or shim pack: free thickness, how much it gives when clamped, the leaves in stock [mm]."""

    thickness: GasketThickness
    compression: Fraction
    stock: tuple[GasketThickness, ...] = ()

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
    match = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(?:per in|/in|1/in)\s*", value, re.ASCII) if isinstance(value, str) else None
    if not match or not 1.0 <= float(match[1]) <= 20.0:
        raise ValueError('accepted: 1 to 20 per inch, for example "4 per in"')
    return float(match[1])


class Gears(Record):
    """Tooth data of the set and what is etched on it."""

    pinion_teeth: Teeth
    gear_teeth: Teeth
    outer_module: Annotated[float, BeforeValidator(reader("length", 1.0, 26.0))] | None = None
    diametral_pitch: Annotated[float, BeforeValidator(_pitch)] | None = None
    face_width: Length
    pressure_angle: Angle
    spiral_angle: Angle
    pinion_hand: Literal["left", "right", "straight"]
    cutter_radius: Length | None = None
    backlash: LimitPair
    design_backlash: Thin
    pinion_mounting_distance: SizeField
    gear_mounting_distance: SizeField
    set_number: Text = ""
    heating_limit: HeaterTemperature = 150.0
    pinion_torque: Torque | None = None

    @model_validator(mode="after")
    def _whole(self) -> Gears:
        if (self.outer_module is None) == (self.diametral_pitch is None):
            raise ValueError("accepted: exactly one of outer_module, diametral_pitch")
        if (self.pinion_hand == "straight") != (self.spiral_angle == 0.0):
            raise ValueError('pinion_hand: accepted: "straight" with spiral_angle 0 deg, else "left" or "right"')
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
    series: Text | None = None
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


def _arranged(value: Any) -> Any:
    if value == "tandem":
        raise ValueError(
            "accepted: back-to-back, face-to-face: the pair locates its shaft both ways, a tandem pair holds it one way only"
        )
    return value


Arrangement = Annotated[Literal["back-to-back", "face-to-face"], BeforeValidator(_arranged)]


class Pair(Record):
    """Duplex pair of angular contact bearings with its spacers [mm, rad]."""

    bore: Length
    series: Text | None = None
    outside: Length | None = None
    width: SizeField | None = None
    contact_angle: ContactAngle
    arrangement: Arrangement
    inner_spacer: SizeField
    outer_spacer: SizeField
    internal_play: Play = 0.0

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
        bore = length_at("bore", value["bore"])
        if not isinstance(value["series"], str):
            raise ValueError(f'series: {refusal.told(value["series"])}: accepted: a text in quotes, for example "02"')
        size = bearings.boundary(round(bore, 3), value["series"])
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
    bearing_thread: Text
    seal_diameter: Length
    extension: Fitted
    extension_length: Length
    coupling_key: Key
    collar_diameter: Length


class HighSpeedShaft(Shaft):
    """Horizontal shaft; the pinion sits on its inner end against the collar."""

    pinion_seat: Fitted
    pinion_thread: Text
    collar_width: SizeField


class LowSpeedShaft(Shaft):
    """Vertical shaft; the gear seats upward against the collar, the pair downward against its upper face."""

    gear_seat: Fitted
    collar_length: SizeField
    lower_seat: Fitted
    lower_thread: Text


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
    stop_offset: OffsetField
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
    flange_to_seat: OffsetField
    shoulder_bore: Length
    depth: Length
    gasket: Gasket
    retainer: Retainer


class SplitScrews(Record):
    """The screws of the split flange: how many on each long side, and the maker's torque."""

    thread: ScrewThread
    length: Length
    per_side: Annotated[int, Field(ge=3, le=16)]
    torque: Torque | None = None
    property_class: ScrewClass = "8.8"


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
    packer_drop: Annotated[float, BeforeValidator(reader("length", 0.5, 6.0))] = 2.5


class Gaskets(Record):
    """The four position gaskets."""

    pinion_gasket: Gasket
    gear_gasket: Gasket
    high_speed_float_gasket: Gasket
    low_speed_float_gasket: Gasket


class Limits(Record):
    """What the owner or maker wants at the end [mm], and the hottest that the maker lets it become in the first run [degC]."""

    high_speed_end_play: LimitPair
    low_speed_end_play: LimitPair
    first_run_temperature: HeaterTemperature | None = None


class Shop(Record):
    """The bench on the day."""

    ambient: AmbientTemperature = 20.0
    heater: HeaterTemperature | None = None
    bearing_heating_limit: HeaterTemperature = 120.0
    sliding_clearance: Thin = 0.02
    seat_roughness: tuple[Roughness, Roughness] | None = None
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
    leaves: tuple[Leaf, ...] = ()

    @model_validator(mode="after")
    def _ordered(self) -> Shop:
        if self.screw_friction[0] > self.screw_friction[1]:
            raise ValueError("screw_friction: accepted: the smaller first, above 0 up to 0.5")
        return self


class Machine(Record):
    """One reducer as its owner describes it."""

    name: Name
    units: Literal["mm", "inch"]
    procedure: Name | None = None
    handling: Name | None = None
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


def parse(content: bytes, file: str = "machine file") -> Machine:
    """Read a machine from the bytes of its TOML file.

    `content`: the file [bytes]. `file`: name used in messages [text]. Raises MachineError with every fault at once.
    """
    if not content.strip():
        raise MachineError([f"{file}: the file is empty: accepted: a machine file; `shimwright start` writes one"])
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise MachineError([f"{file}: not a text file: accepted: TOML in UTF-8; `shimwright start` writes one"]) from None
    if "\x00" in text:
        raise MachineError([f"{file}: not a text file: accepted: TOML in UTF-8; `shimwright start` writes one"])
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise MachineError([f"{file}: not valid TOML: {refusal.unreadable(error)}"]) from None
    return accept(data, file)


def accept(data: Mapping[str, Any], file: str = "machine file") -> Machine:
    """A machine from the tables of its file.

    `data`: sections and values as TOML reads them. `file`: name used in messages [text]. Raises MachineError with every fault at once.
    """
    try:
        machine = Machine.model_validate(data)
    except ValidationError as error:
        raise MachineError([faults.line(item, file, Machine) for item in error.errors()]) from None
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
