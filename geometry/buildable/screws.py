"""Screws: length against what they clamp, circles against bores and rims, heads against each other, torque against the thread [mm, N·m]."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import acos, cos, floor, pi, sin

from calc import hardware, tables
from geometry import casework, high_speed, low_speed
from geometry.buildable import covers
from geometry.buildable.lines import Dimension, less, more, within
from geometry.machine import Machine, Screws

ENGAGEMENT = (0.8, 2.5)
"""Thread in the metal over the screw's diameter, least and most: common practice, no source."""
NUT_FACTOR = 0.2
"""Torque factor of a dry screw, T = 0.2 d F: common practice, no source."""
YIELD = 1080.0
"""Yield stress of class 12.9 [MPa]: 0.9 of 1200, as the class says itself (ISO 898-1, designation of property classes)."""
WIRED_GAP = 5.0
"""Room between two drilled heads for the twisted lockwire, derived [mm]."""
FEWEST_WIRED = 4
"""Drilled screws on a circle at least: with fewer the wire would be drawn across the shaft."""
POCKET_WALL = 4.0
"""Head pockets of a cover stay this far (on diameter) outside its cavity and its seal [mm]: 1 mm of metal and 1 mm of play."""
WIRE_ROOM = 4.0
"""Lockwire between two heads runs this far (on diameter) outside what stands in the circle or passes it later [mm]: two strands of 1 mm,
twisted, and 1 mm of play."""
INCH_DOWELS = (0.125, 0.1875, 0.25, 0.3125, 0.375, 0.5, 0.625, 0.75)
"""Diameters of hardened inch dowels [in]: ASME B18.8.2, from memory."""


@dataclass(frozen=True)
class Circle:
    """A screw circle with what it clamps and what stands inside and outside of its heads and of its threads [mm]."""

    section: str
    screws: Screws
    clamped: Dimension
    head_inside: Dimension
    head_outside: Dimension
    tap_inside: Dimension
    tap_outside: Dimension
    pocket: float = 0.0
    wire_inside: Dimension | None = None

    @property
    def name(self) -> str:
        return f"{self.section}.screws"


def circles(m: Machine) -> Iterator[Circle]:
    """All screw circles of the file."""
    h, low, base, case = m.high_speed_cartridge, m.low_speed_cartridge, m.carrier, m.case
    for section, cartridge, bore_name, bore in (
        ("high_speed_cartridge", h, "case.horizontal_bore.diameter", case.horizontal_bore.diameter),
        ("low_speed_cartridge", low, "case.upper_bore.diameter", case.upper_bore.diameter),
    ):
        rim = (f"{section}.flange_diameter", cartridge.flange_diameter)
        neck = (f"{section}.neck_diameter", cartridge.neck_diameter)
        clamped = (f"{section}.flange_thickness", cartridge.flange_thickness)
        yield Circle(section, cartridge.screws, clamped, neck, rim, (bore_name, bore), rim)
    rim = ("carrier.flange_diameter", base.flange_diameter)
    body = ("carrier.body.diameter", base.body.diameter)
    floor = ("case.floor_bore.diameter", case.floor_bore.diameter)
    yield Circle(
        "carrier", base.screws, ("carrier.flange_thickness", base.flange_thickness), body, rim, floor, rim, wire_inside=body
    )
    for section, holder, seat, bearing, rollers in (
        ("high_speed_cartridge", h, h.roller_seat.diameter, "inner_bearing", m.inner_bearing.raceway_outer),
        ("carrier", base, base.roller_seat.diameter, "lower_bearing", m.lower_bearing.raceway_outer),
    ):
        ring, name = holder.retainer, f"{section}.retainer"
        yield Circle(
            name,
            ring.screws,
            (f"{name}.thickness", ring.thickness),
            (f"{name}.bore", ring.bore),
            (f"{name}.outside", ring.outside),
            (f"{section}.roller_seat.diameter", seat),
            (f"{section}.body.diameter", holder.body.diameter),
            wire_inside=(f"{bearing}.raceway_outer", rollers),
        )
    for section, cover, cartridge_name, cartridge in (
        ("high_speed_cover", m.high_speed_cover, "high_speed_cartridge", h),
        ("low_speed_cover", m.low_speed_cover, "low_speed_cartridge", low),
    ):
        under = cover.thickness - high_speed.counterbore(cover)
        cavity = (f"cavity of {section}", covers.cavity(m, section))
        seal = (f"{section}.seal_outside", cover.seal_outside)
        yield Circle(
            section,
            cover.screws,
            (f"{section}.thickness under the heads", under),
            max(cavity, seal, key=lambda one: one[1]),
            (f"{section}.outside", cover.outside),
            (f"{cartridge_name}.pair_seat.diameter", cartridge.pair_seat.diameter),
            (f"{cartridge_name}.neck_diameter", cartridge.neck_diameter),
            POCKET_WALL,
        )


def circle_faults(circle: Circle) -> Iterator[str]:
    """One circle: thread, heads, holes."""
    size = hardware.socket_screw(circle.screws.thread)
    yield from _length(circle.name, circle.screws.length, size.diameter, circle.clamped)
    yield from torque(circle.name, circle.screws.thread, circle.screws.torque)
    place = (f"{circle.name}.circle", circle.screws.circle)
    for inside, outside, room, pocket, why in (
        (circle.head_inside, circle.head_outside, size.head_diameter, circle.pocket, "no room for the heads"),
        (circle.tap_inside, circle.tap_outside, size.clearance_hole, 0.0, "the holes break out"),
    ):
        yield from within(
            place,
            inside[1] + room + pocket,
            outside[1] - room,
            why,
            f"{inside[0]} {inside[1]:.3f} mm, {outside[0]} {outside[1]:.3f} mm",
        )
    chord = circle.screws.circle * sin(pi / circle.screws.count)
    room = size.head_diameter + (WIRED_GAP if circle.screws.drilled else 1.0)
    if chord < room:
        most = next((n for n in range(circle.screws.count, 1, -1) if circle.screws.circle * sin(pi / n) >= room), 0)
        yield f"{circle.name}.count = {circle.screws.count}: the heads ({size.head_diameter:.1f} mm) touch on the circle ({circle.screws.circle:.3f} mm): accepted: at most {most}"
    if circle.screws.drilled and circle.screws.count < FEWEST_WIRED:
        yield f"{circle.name}.count = {circle.screws.count}: the lockwire would cross the shaft: accepted: at least {FEWEST_WIRED} drilled screws"
    elif circle.screws.drilled and circle.wire_inside is not None:
        yield from _wire(circle, circle.wire_inside, room)


def _wire(circle: Circle, inside: Dimension, room: float) -> Iterator[str]:
    """Lockwire drawn straight from head to head through what stands in the circle or passes it later."""
    size, clear = circle.screws.circle, inside[1] + WIRE_ROOM
    run = size * cos(pi / circle.screws.count)
    if run > clear:
        return
    enough = floor(pi / acos(clear / size)) + 1 if clear < size else 0
    more_screws = f"at least {enough} drilled screws, or " if enough and size * sin(pi / enough) >= room else ""
    yield f"{circle.name}.count = {circle.screws.count}: the lockwire from head to head passes {run:.3f} mm across, {inside[0]} ({inside[1]:.3f} mm) needs more than {clear:.3f} mm: accepted: {more_screws}drilled = false with thread-locking compound"


def _length(name: str, length: float, diameter: float, clamped: Dimension) -> Iterator[str]:
    yield from within(
        (f"{name}.length", length),
        clamped[1] + ENGAGEMENT[0] * diameter,
        clamped[1] + ENGAGEMENT[1] * diameter,
        f"{ENGAGEMENT[0]} to {ENGAGEMENT[1]} diameters of thread must hold",
        f"{clamped[0]} {clamped[1]:.3f} mm, thread {diameter:.2f} mm",
    )


def most_torque(thread: str) -> float:
    """Torque at which a screw of class 12.9 yields: T = 0.2 d As 1080 MPa [N·m]."""
    basic = hardware.thread(thread)
    return NUT_FACTOR * basic.diameter * basic.stress_area * YIELD / 1000.0


def torque(name: str, thread: str, given: float | None) -> Iterator[str]:
    """A torque that would stretch even the strongest screw."""
    if given is not None and given > most_torque(thread):
        yield f"{name}.torque = {given:.1f} N m: would stretch a {thread} screw of class 12.9: accepted: at most {most_torque(thread):.1f} N m ({name}.thread)"


def split(m: Machine) -> Iterator[str]:
    """The screws and dowels of the split flange."""
    c, screws = m.case, m.case.split_screws
    size = hardware.socket_screw(screws.thread)
    yield from _length("case.split_screws", screws.length, size.diameter, ("case.flange_thickness", c.flange_thickness))
    yield from torque("case.split_screws", screws.thread, screws.torque)
    yield from more(
        ("case.flange_width", c.flange_width), ("head of case.split_screws", size.head_diameter), "no room for the heads", 4.0
    )
    places = casework.split_places(m)
    step = places[1][0] - places[0][0]
    room = max(size.head_diameter + 4.0, size.diameter + c.dowel_diameter + size.head_diameter / 2.0)
    if step < room:
        yield f"case.split_screws.per_side = {screws.per_side}: {step:.1f} mm apart leaves no room for heads and dowels ({room:.1f} mm): accepted: fewer screws, or a larger case.inner_radius ({c.inner_radius:.3f} mm)"
    yield from _dowel(c.dowel_diameter)
    yield from less(
        ("case.dowel_diameter", c.dowel_diameter), ("half of case.flange_width", c.flange_width / 2.0), "too little metal around it"
    )


def _dowel(diameter: float) -> Iterator[str]:
    metric = [float(row["diameter"]) for row in tables.load("iso8734").records()]
    inch = [size * hardware.INCH for size in INCH_DOWELS]
    if min(abs(diameter - size) for size in (*metric, *inch)) > tables.RANGE_SLACK:
        sizes = ", ".join(f"{size:g}" for size in metric)
        yield f"case.dowel_diameter = {diameter:.3f} mm: no dowel of this size: accepted: {sizes} mm (ISO 8734), or 1/8 to 3/4 in"


def pump(m: Machine) -> Iterator[str]:
    """The pump's screws take the upper cover's thread and sit in the carrier's wall."""
    size = hardware.socket_screw(m.low_speed_cover.screws.thread)
    yield from less(
        ("carrier.shoulder_bore", m.carrier.shoulder_bore),
        ("carrier.body.diameter", m.carrier.body.diameter),
        f"no wall for the pump's screws ({m.low_speed_cover.screws.thread}, as low_speed_cover)",
        2.0 * size.head_diameter,
    )
    length = low_speed.PUMP_SCREW - low_speed.PUMP_FLANGE
    yield from less(
        ("low_speed_cover.screws.thread", size.diameter),
        ("what the pump's screws can hold by", length / ENGAGEMENT[0]),
        "too thick for the pump's screws, which are of the same thread",
    )


def off_the_split(m: Machine) -> Iterator[str]:
    """A cartridge screw on the split of the case would have half a thread in each half."""
    screws = m.high_speed_cartridge.screws
    hole = hardware.socket_screw(screws.thread).diameter
    for index in range(screws.count):
        angle = screws.first_angle + 2 * pi * index / screws.count
        if abs(screws.circle / 2 * cos(angle)) < hole:
            yield f"high_speed_cartridge.screws.first_angle: screw {index + 1} lies on the split: accepted: an angle that keeps every screw {hole:.1f} mm off it"
            return
