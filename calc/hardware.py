"""Screws, threads, locknuts, tab washers and dowels by designation.

`thread`, `clearance_hole`, `socket_screw`, `locknut`, `tab_washer`, `dowel`, `dowel_clearance`. Lengths mm, areas mm². Inch tables
are converted as they are read. Sources and how each table was confirmed: the heading of its file.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from math import pi, sqrt
from typing import Literal

from calc import tables

INCH = 25.4
"""One inch [mm], exact."""
MICROMETRE = 1e-3
"""One micrometre [mm]."""
TRIANGLE = sqrt(3.0) / 2.0
"""Height of the sharp thread triangle over the pitch (ISO 68-1)."""
FINEST_PITCH = 0.2
"""Least metric pitch accepted [mm] (ISO 261)."""

Series = Literal["fine", "medium", "coarse"]
_METRIC = re.compile(r"\s*[Mm]\s*(\d+(?:\.\d+)?)\s*(?:[xX×*]\s*(\d+(?:\.\d+)?))?\s*", re.ASCII)
_INCH = re.compile(r"\s*(\d+/\d+|1)\s*(?:-\s*(\d+))?\s*(?:UNC|unc|in|\")?\s*", re.ASCII)
_INCH_SERIES = {"fine": "close", "medium": "normal", "coarse": "loose"}


@dataclass(frozen=True)
class Thread:
    """Basic sizes of a 60° thread: d, pitch P, pitch diameter d2, nut's minor D1, screw's root d3 [mm]; stress area As [mm²]."""

    designation: str
    diameter: float
    pitch: float
    pitch_diameter: float
    minor_diameter: float
    root_diameter: float
    stress_area: float


@dataclass(frozen=True)
class SocketScrew:
    """Hexagon socket head cap screw [mm]: largest head, nominal hexagon, least socket depth, clearance hole (medium), tap drill."""

    designation: str
    diameter: float
    pitch: float
    head_diameter: float
    head_height: float
    hexagon: float
    socket_depth: float
    clearance_hole: float
    tap_drill: float
    minor_diameter: float


@dataclass(frozen=True)
class Locknut:
    """Slotted round nut [mm]: outside D, width B, slots b wide and h deep, face diameter d1 that bears on the washer."""

    size: str
    thread: str
    thread_diameter: float
    pitch: float
    chamfer_face: float
    outside: float
    width: float
    slot_width: float
    slot_depth: float
    slots: int

    @property
    def designation(self) -> str:
        """Name as drawings give it: 'locknut size 12, M60x2'."""
        return f"locknut size {self.size}, {self.thread}"


@dataclass(frozen=True)
class TabWasher:
    """Washer that locks a nut [mm]: bore, over the tabs, thickness, tongue width and distance to the bore's far side (M), tabs."""

    size: str
    bore: float
    chamfer_face: float
    outside: float
    thickness: float
    tongue_width: float
    tongue_to_bore: float
    tabs: int
    tab_width: float

    @property
    def designation(self) -> str:
        """Name as drawings give it: 'tab washer size 12'."""
        return f"tab washer size {self.size}"


@dataclass(frozen=True)
class Dowel:
    """Hardened parallel pin [mm]: nominal diameter, m6 deviations, chamfer length."""

    diameter: float
    lower: float
    upper: float
    chamfer: float

    @property
    def least(self) -> float:
        """Smallest diameter [mm]."""
        return self.diameter + self.lower

    @property
    def greatest(self) -> float:
        """Largest diameter [mm]."""
        return self.diameter + self.upper


def _named(table: str, column: str) -> dict[str, dict[str, str]]:
    return {row[column]: row for row in tables.load(table).records()}


def _refuse(field: str, given: object, accepted: str) -> ValueError:
    return ValueError(f"{field}: {given!r}: accepted: {accepted}")


def _sixty_degree(designation: str, diameter: float, pitch: float, stress_area: float | None = None) -> Thread:
    height = TRIANGLE * pitch
    pitch_diameter, root = diameter - 0.75 * height, diameter - 17.0 * height / 12.0
    area = pi / 4.0 * ((pitch_diameter + root) / 2.0) ** 2 if stress_area is None else stress_area
    return Thread(designation, diameter, pitch, pitch_diameter, diameter - 1.25 * height, root, area)


@cache
def thread(designation: str) -> Thread:
    """Basic sizes of a thread: H = 0.866 P, d2 = d - 0.75 H, D1 = d - 1.25 H, d3 = d - 17 H / 12, As = pi/4 ((d2 + d3) / 2)^2.

    designation: "M12" (coarse), "M60x2", "1/2-13 UNC" or "1/2 in" (coarse) [-]
    Result: Thread [mm, mm²]. Range: M3 to M64 coarse, any metric pitch when given; inch 1/4 to 1, there As = pi/4 (d - 0.9743 P)^2.
    Source: ISO 724:1993, ISO 898-1:2013 (As), ISO 261 (pitch); ASME B1.1 from memory. tables/threads_metric.csv, threads_unc.csv.

    >>> round(thread("M16").stress_area, 1)
    156.7
    """
    accepted = 'M3 to M64, "M60x2" with a pitch, or inch 1/4 to 1, for example "1/2-13 UNC"'
    if match := _METRIC.fullmatch(designation):
        diameter = float(match[1])
        if match[2] is not None:
            pitch = float(match[2])
            if not FINEST_PITCH <= pitch < diameter / 2.0:
                raise _refuse("thread", designation, accepted)
            return _sixty_degree(f"M{diameter:g}x{pitch:g}", diameter, pitch)
        row = _named("threads_metric", "size").get(f"M{diameter:g}")
        if row is not None:
            return _sixty_degree(f"M{diameter:g}", diameter, float(row["pitch"]))
    elif match := _INCH.fullmatch(designation):
        row = _named("threads_unc", "size").get(match[1])
        if row is not None and match[2] in (None, row["threads_per_inch"]):
            diameter, pitch = float(row["diameter"]) * INCH, INCH / float(row["threads_per_inch"])
            area = pi / 4.0 * (diameter - 0.9743 * pitch) ** 2
            return _sixty_degree(f"{match[1]}-{row['threads_per_inch']} UNC", diameter, pitch, area)
    raise _refuse("thread", designation, accepted)


def _screw_row(designation: str) -> tuple[dict[str, str], bool]:
    """Table row of a screw size, and whether it is an inch size."""
    if match := _METRIC.fullmatch(designation):
        row = _named("iso4762", "size").get(f"M{float(match[1]):g}")
        if row is not None:
            return row, False
    elif match := _INCH.fullmatch(designation):
        row = _named("asme_b18_3", "size").get(match[1])
        if row is not None:
            return row, True
    sizes = ", ".join(row["size"] for row in (*tables.load("iso4762").records(), *tables.load("asme_b18_3").records()))
    raise _refuse("screw", designation, f"{sizes}")


@cache
def clearance_hole(designation: str, series: Series = "medium") -> float:
    """Through hole for a screw.

    designation: screw size, for example "M12" or "1/2-13 UNC" [-]
    series: "fine", "medium" or "coarse" (inch: close, normal, loose) [-]
    Result: hole diameter [mm]. Range: M5 to M30, inch 1/4 to 1. Source: ISO 273:1979; ASME B18.2.8 from memory.

    >>> clearance_hole("M12")
    13.5
    """
    if series not in _INCH_SERIES:
        raise _refuse("series", series, ", ".join(_INCH_SERIES))
    row, inch = _screw_row(designation)
    if inch:
        return float(row[_INCH_SERIES[series]]) * INCH
    return float(_named("iso273", "size")[row["size"]][series])


@cache
def socket_screw(designation: str) -> SocketScrew:
    """Head, socket, holes and thread of a hexagon socket head cap screw.

    designation: "M12", "M12x1.25" (fine pitch, same head) or "1/2-13 UNC" [-]
    Result: SocketScrew [mm]; the tap drill of a fine pitch is d - P. Range: M5 to M30, inch 1/4 to 1.
    Source: ISO 4762:2004 Table 1, ISO 273:1979, ISO 2306; ASME B18.3. tables/iso4762.csv, iso273.csv, asme_b18_3.csv.

    >>> socket_screw("M12").head_diameter
    18.0
    """
    row, inch = _screw_row(designation)
    scale = INCH if inch else 1.0
    basic = thread(designation)
    coarse = thread(row["size"]).pitch
    drill = float(row["tap_drill"]) * scale if basic.pitch == coarse else basic.diameter - basic.pitch
    return SocketScrew(
        designation=basic.designation,
        diameter=basic.diameter,
        pitch=basic.pitch,
        head_diameter=float(row["head_diameter"]) * scale,
        head_height=float(row["head_height"]) * scale,
        hexagon=float(row["hexagon"]) * scale,
        socket_depth=float(row["socket_depth"]) * scale,
        clearance_hole=clearance_hole(designation),
        tap_drill=drill,
        minor_diameter=basic.minor_diameter,
    )


def _nut_row(size_or_thread: str | int) -> dict[str, str]:
    text = str(size_or_thread).strip()
    if match := re.fullmatch(r"(?:size\s*)?(\d{1,2})", text):
        row = _named("iso2982_nuts", "size").get(f"{int(match[1]):02d}")
    elif match := _METRIC.fullmatch(text):
        pitch = f"x{float(match[2]):g}" if match[2] else ""
        row = _named("iso2982_nuts", "thread").get(f"M{float(match[1]):g}{pitch}")
    else:
        row = None
    if row is None:
        threads = ", ".join(row["thread"] for row in tables.load("iso2982_nuts").records())
        raise _refuse("locknut", size_or_thread, f"size 04 to 22, or its thread: {threads}")
    return row


@cache
def locknut(size_or_thread: str | int) -> Locknut:
    """Slotted round locknut by size number or by thread.

    size_or_thread: 12, "12", "size 12" or "M60x2" [-]
    Result: Locknut [mm]. Range: sizes 04 to 22, M20x1 to M110x2. Source: ISO 2982-2 = DIN 981; tables/iso2982_nuts.csv.

    >>> locknut("M60x2").outside
    80.0
    """
    row = _nut_row(size_or_thread)
    return Locknut(
        size=row["size"],
        thread=row["thread"],
        thread_diameter=float(row["thread_diameter"]),
        pitch=float(row["pitch"]),
        chamfer_face=float(row["chamfer_face"]),
        outside=float(row["outside"]),
        width=float(row["width"]),
        slot_width=float(row["slot_width"]),
        slot_depth=float(row["slot_depth"]),
        slots=int(row["slots"]),
    )


@cache
def tab_washer(size_or_thread: str | int) -> TabWasher:
    """Tab washer of a locknut, by the nut's size number or thread.

    size_or_thread: 12, "12", "size 12" or "M60x2" [-]
    Result: TabWasher [mm]. Range: sizes 04 to 22. Source: ISO 2982-1 = DIN 5406; tables/iso2982_washers.csv (partly from memory).

    >>> tab_washer(10).tongue_to_bore
    47.5
    """
    row = _named("iso2982_washers", "size")[_nut_row(size_or_thread)["size"]]
    return TabWasher(
        size=row["size"],
        bore=float(row["bore"]),
        chamfer_face=float(row["chamfer_face"]),
        outside=float(row["outside"]),
        thickness=float(row["thickness"]),
        tongue_width=float(row["tongue_width"]),
        tongue_to_bore=float(row["tongue_to_bore"]),
        tabs=int(row["tabs"]),
        tab_width=float(row["tab_width"]),
    )


@cache
def dowel(diameter: float) -> Dowel:
    """Hardened parallel pin, tolerance m6.

    diameter: nominal diameter [mm]
    Result: Dowel [mm]. Range: 3, 4, 5, 6, 8, 10, 12, 16, 20 mm. Source: ISO 8734:1997, ISO 286-2 (m6); tables/iso8734.csv.

    >>> round(dowel(10).greatest, 3)
    10.015
    """
    row = _named("iso8734", "diameter").get(f"{diameter:g}")
    if row is None:
        raise _refuse("dowel", diameter, ", ".join(row["diameter"] for row in tables.load("iso8734").records()) + " mm")
    return Dowel(float(diameter), float(row["lower"]) * MICROMETRE, float(row["upper"]) * MICROMETRE, float(row["chamfer"]))


def dowel_clearance(diameter: float, hole_class: str = "H7") -> tuple[float, float]:
    """Least and greatest clearance of a dowel in its reamed hole: hole lower - pin upper, hole upper - pin lower.

    diameter: nominal diameter [mm]
    hole_class: ISO tolerance class of the hole [-]
    Result: (least, greatest), interference negative [mm]. Range: as `dowel`. Source: ISO 8734:1997, ISO 286-2.

    >>> [round(limit, 3) for limit in dowel_clearance(10)]
    [-0.015, 0.009]
    """
    from calc import fits

    pin, hole = dowel(diameter), fits.hole_limits(diameter, hole_class)
    return hole.lower - pin.upper, hole.upper - pin.lower
