"""Joints: where two parts meet, with the numbers of that meeting; and chains: dimensions that end in one result.

mm, N·m, rad, in the reducer's frame. A joint names its parts; the callouts are derived from joints alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from calc.chain import Link
from calc.fits import Limits, Readings

Vector = tuple[float, float, float]
Hub = Literal["gear", "bearing ring", "cartridge", "housing", "loose"]


@dataclass(frozen=True)
class Fit:
    """A bore on a shaft, or a ring in a housing.

    `bore`, `shaft`: limits as deviations from `diameter` [mm]; `grip`: length in contact [mm]; `at`: middle of the grip; `axis`: unit
    vector; `hub`: what carries the bore, which decides how it may be heated; `shoulder`: +1/-1 side of the stop along the axis, 0 = none;
    `bore_read`, `shaft_read`: what the micrometer said, None where nothing was measured; `bore_drawn`, `shaft_drawn`: limits of the drawing
    where readings of a job stand in their place, as deviations [mm].
    """

    name: str
    bore_part: str
    shaft_part: str
    diameter: float
    bore: Limits
    shaft: Limits
    grip: float
    at: Vector
    axis: Vector
    hub: Hub
    bore_source: str
    shaft_source: str
    shoulder: int = 0
    bore_read: Readings | None = None
    shaft_read: Readings | None = None
    bore_drawn: tuple[float, float] | None = None
    shaft_drawn: tuple[float, float] | None = None

    @property
    def bore_mean(self) -> float:
        """Bore diameter that the solid is built to: the mean of the readings, else the middle of the limits [mm]."""
        return self.bore_read.mean if self.bore_read else self.diameter + (self.bore.lower + self.bore.upper) / 2.0

    @property
    def shaft_mean(self) -> float:
        """Shaft diameter that the solid is built to: the mean of the readings, else the middle of the limits [mm]."""
        return self.shaft_read.mean if self.shaft_read else self.diameter + (self.shaft.lower + self.shaft.upper) / 2.0

    @property
    def clearance(self) -> tuple[float, float, float]:
        """Least, middle and greatest diametral clearance [mm]; interference is negative."""
        return self.bore.lower - self.shaft.upper, self.bore_mean - self.shaft_mean, self.bore.upper - self.shaft.lower

    @property
    def drawn(self) -> tuple[float, float] | None:
        """Least and greatest diametral clearance that the drawing allows; None where no reading stands in its place [mm]."""
        if self.bore_drawn is None and self.shaft_drawn is None:
            return None
        bore = self.bore_drawn or (self.bore.lower, self.bore.upper)
        shaft = self.shaft_drawn or (self.shaft.lower, self.shaft.upper)
        return bore[0] - shaft[1], bore[1] - shaft[0]


@dataclass(frozen=True)
class Seat:
    """Two plane faces that touch (or face each other across a gasket): the plane's position along `axis` [mm]."""

    name: str
    part: str
    against: str
    axis: Vector
    position: float
    gap: float = 0.0


@dataclass(frozen=True)
class GasketJoint:
    """A gasket between two faces: free and clamped thickness [mm] and which way a thicker one moves what."""

    name: str
    gasket: str
    flange: str
    base: str
    free: float
    clamped: float
    axis: Vector
    position: float


@dataclass(frozen=True)
class ScrewJoint:
    """A circle or row of screws: thread, count, torque [N·m or None], what it clamps to what, property class; `engagement`: length of
    thread in the part that they are screwed into [mm], None where nobody says."""

    name: str
    screws: str
    thread: str
    count: int
    clamps: str
    into: str
    torque: float | None
    drilled: bool
    at: Vector
    axis: Vector
    property_class: str = "8.8"
    engagement: float | None = None


@dataclass(frozen=True)
class NutJoint:
    """A locknut with its tab washer: thread, number of slots and tabs."""

    name: str
    nut: str
    washer: str
    shaft: str
    thread: str
    slots: int
    tabs: int
    at: Vector
    axis: Vector


@dataclass(frozen=True)
class KeyJoint:
    """A parallel key: section and length [mm], clearance over its top [mm]."""

    name: str
    key: str
    shaft: str
    hub: str
    diameter: float
    width: float
    height: float
    length: float
    shaft_depth: float
    hub_depth: float
    at: Vector

    @property
    def top_clearance(self) -> float:
        """Gap between key and hub keyway [mm]."""
        return self.shaft_depth + self.hub_depth - self.height


@dataclass(frozen=True)
class DowelJoint:
    """Dowels through the split: diameter and limits of pin and hole as deviations [mm]."""

    name: str
    dowels: str
    parts: tuple[str, str]
    diameter: float
    pin: Limits
    hole: Limits
    at: Vector


@dataclass(frozen=True)
class WireJoint:
    """Lockwire through the heads of one screw circle."""

    name: str
    wire: str
    screws: str
    count: int
    at: Vector


@dataclass(frozen=True)
class RollerJoint:
    """Rollers running in a loose outer ring: axial overlap of ring and rollers [mm]."""

    name: str
    rollers: str
    ring: str
    width: float
    offset: float
    at: Vector

    @property
    def overlap(self) -> float:
        """Axial length that both rings share [mm]."""
        return self.overlap_at(0.0)

    def overlap_at(self, shift: float) -> float:
        """Axial length that they share with the rollers this far along the axis from their place [mm]."""
        return max(0.0, self.width - abs(self.offset + shift))


@dataclass(frozen=True)
class Rest:
    """A loose part with no fit, screw or gasket of its own: what it lies on or sits in, any of which holds it; `under`: the part that
    closes over it, none when nothing does."""

    name: str
    part: str
    on: tuple[str, ...]
    under: str = ""


@dataclass(frozen=True)
class PortJoint:
    """Oil ports of two parts that must line up: angle about the axis [rad] and position along it [mm] of each."""

    name: str
    parts: tuple[str, str]
    angles: tuple[float, float]
    positions: tuple[float, float]
    diameter: float
    at: Vector


@dataclass(frozen=True)
class MeshJoint:
    """The gear pair: the parts that carry the teeth."""

    name: str
    pinion: str
    gear: str
    at: Vector


Joint = (
    Fit
    | Seat
    | GasketJoint
    | ScrewJoint
    | NutJoint
    | KeyJoint
    | DowelJoint
    | WireJoint
    | RollerJoint
    | Rest
    | PortJoint
    | MeshJoint
)


@dataclass(frozen=True)
class Chain:
    """A signed list of dimensions ending in one result [mm].

    `parts`: the parts whose arrival closes the chain; `gasket`: the one that sets it and `per_gasket`: change of the result with the gasket's clamped
    thickness; `faces`: the two measured faces (part, axis position of the face) whose distance is the result, for the check on solids.
    """

    name: str
    links: tuple[Link, ...]
    closes_with: str
    gasket: str
    per_gasket: float
    low_limit: float | None
    high_limit: float | None
    limit_source: str
    at: Vector
