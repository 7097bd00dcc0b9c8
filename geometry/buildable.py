"""Whether the dimensions make a reducer at all: each refusal names the two dimensions that clash [mm]."""

from __future__ import annotations

from collections.abc import Iterator
from math import pi, sin

from calc import bevel, hardware
from geometry import layout
from geometry.machine import Cover, Fitted, Machine, Pair, Roller, Screws


def clashes(machine: Machine) -> list[str]:
    """Finished lines, one per clash; empty when the reducer can be built. The gear blank is checked first: the rest stands on it."""
    from geometry import reducer, teeth

    try:
        blank = reducer.blank_of(machine)
    except bevel.BlankRefused as error:
        return [f"gears.{error}"]
    found = [*_fit_classes(machine), *_threads(machine)]
    if found:
        return found
    found = list(_shafts(machine))
    found += _bearings(machine)
    found += _covers(machine)
    faces = layout.solve(machine)
    found += _inside(machine, faces, blank)
    wall = teeth.root_wall(
        blank,
        "pinion",
        machine.pinion.bore.diameter / 2 + machine.pinion.key.section(machine.high_speed_shaft.pinion_seat.diameter).hub_depth,
    )
    if wall < 0.3 * blank.outer_module:
        found.append(
            f"pinion.bore.diameter = {machine.pinion.bore.diameter:.3f} mm: leaves {wall:.2f} mm of metal over the keyway under the tooth root at the toe: "
            f"accepted: at least {0.3 * blank.outer_module:.2f} mm (a smaller bore or key, or a larger module)"
        )
    return found


HOLES = ("bore", "pair_seat", "roller_seat", "horizontal_bore", "upper_bore", "floor_bore")
"""Fitted diameters that are bores; all others are outside diameters."""


def _fit_classes(m: Machine) -> Iterator[str]:
    """A fit class that the tables do not hold, by field."""
    for section_name in type(m).model_fields:
        section = getattr(m, section_name)
        for name in getattr(type(section), "model_fields", {}):
            fitted = getattr(section, name)
            if isinstance(fitted, Fitted):
                try:
                    fitted.as_hole() if name in HOLES else fitted.as_shaft()
                except ValueError as error:
                    yield f"{section_name}.{name}.fit = {fitted.fit!r}: {error}"


def _threads(m: Machine) -> Iterator[str]:
    """Locknut threads that the standard does not hold, or that the parts of the seat can't pass."""
    h, low = m.high_speed_shaft, m.low_speed_shaft
    for side, name, thread, seat in (
        ("high_speed_shaft", "pinion_thread", h.pinion_thread, h.pinion_seat),
        ("high_speed_shaft", "bearing_thread", h.bearing_thread, h.bearing_seat),
        ("low_speed_shaft", "bearing_thread", low.bearing_thread, low.bearing_seat),
        ("low_speed_shaft", "lower_thread", low.lower_thread, low.lower_seat),
    ):
        try:
            nut = hardware.locknut(thread)
        except ValueError as error:
            yield f"{side}.{name}: {error}"
            continue
        if nut.thread_diameter > seat.diameter + 1e-6:
            yield f"{side}.{name} = {thread}: the parts of the seat can't pass it: accepted: at most {seat.diameter:.3f} mm"


def _less(small_name: str, small: float, large_name: str, large: float, why: str) -> Iterator[str]:
    """A fault unless small < large."""
    if not small < large:
        yield f"{small_name} = {small:.3f} mm: {why}: accepted: less than {large_name} ({large:.3f} mm)"


def _shafts(m: Machine) -> Iterator[str]:
    h, low = m.high_speed_shaft, m.low_speed_shaft
    for section, bearing, seat in (
        ("inner_bearing", m.inner_bearing, h.bearing_seat),
        ("high_speed_pair", m.high_speed_pair, h.bearing_seat),
        ("low_speed_pair", m.low_speed_pair, low.bearing_seat),
        ("lower_bearing", m.lower_bearing, low.lower_seat),
    ):
        if abs(bearing.bore - seat.diameter) > 1e-6:
            yield f"{section}.bore = {bearing.bore:.3f} mm: the seat it sits on differs: accepted: the seat's diameter ({seat.diameter:.3f} mm)"
    yield from _less(
        "high_speed_shaft.bearing_seat.diameter",
        h.bearing_seat.diameter,
        "high_speed_shaft.collar_diameter",
        h.collar_diameter,
        "the bearing ring has no shoulder",
    )
    yield from _less(
        "high_speed_shaft.pinion_seat.diameter",
        h.pinion_seat.diameter,
        "high_speed_shaft.collar_diameter",
        h.collar_diameter,
        "the pinion has no shoulder",
    )
    yield from _less(
        "low_speed_shaft.gear_seat.diameter",
        low.gear_seat.diameter,
        "low_speed_shaft.collar_diameter",
        low.collar_diameter,
        "the gear has no shoulder",
    )
    yield from _less(
        "low_speed_shaft.bearing_seat.diameter",
        low.bearing_seat.diameter,
        "low_speed_shaft.collar_diameter",
        low.collar_diameter,
        "the pair has no shoulder",
    )
    yield from _less(
        "low_speed_shaft.lower_seat.diameter",
        low.lower_seat.diameter,
        "low_speed_shaft.gear_seat.diameter",
        low.gear_seat.diameter,
        "the gear can't pass it",
    )
    for side, shaft in (("high_speed_shaft", h), ("low_speed_shaft", low)):
        yield from _less(
            f"{side}.seal_diameter",
            shaft.seal_diameter,
            f"{side}.bearing_seat.diameter",
            shaft.bearing_seat.diameter + 1e-3,
            "the bearings can't pass it",
        )
        yield from _less(
            f"{side}.extension.diameter",
            shaft.extension.diameter,
            f"{side}.seal_diameter",
            shaft.seal_diameter + 1e-3,
            "the seal can't pass it",
        )
    for name, bore, seat in (("pinion", m.pinion.bore, h.pinion_seat), ("gear", m.gear.bore, low.gear_seat)):
        if abs(bore.diameter - seat.diameter) > 1e-6:
            yield f"{name}.bore.diameter = {bore.diameter:.3f} mm: its seat differs: accepted: the seat's diameter ({seat.diameter:.3f} mm)"


def _bearings(m: Machine) -> Iterator[str]:
    h, low = m.high_speed_cartridge, m.low_speed_cartridge
    for section, bearing, seat_name, seat in (
        ("inner_bearing", m.inner_bearing, "high_speed_cartridge.roller_seat", h.roller_seat),
        ("high_speed_pair", m.high_speed_pair, "high_speed_cartridge.pair_seat", h.pair_seat),
        ("low_speed_pair", m.low_speed_pair, "low_speed_cartridge.pair_seat", low.pair_seat),
        ("lower_bearing", m.lower_bearing, "carrier.roller_seat", m.carrier.roller_seat),
    ):
        yield from _same(section, bearing, seat_name, seat)
    for section, bearing, retainer, name in (
        ("inner_bearing", m.inner_bearing, h.retainer, "high_speed_cartridge.retainer"),
        ("lower_bearing", m.lower_bearing, m.carrier.retainer, "carrier.retainer"),
    ):
        assert bearing.outside is not None
        yield from _less(
            f"{section}.raceway_outer", bearing.raceway_outer, f"{name}.bore", retainer.bore, "the rollers don't pass the retainer"
        )
        yield from _less(
            f"{name}.bore", retainer.bore, f"{section}.outside", bearing.outside, "the retainer doesn't hold the outer ring"
        )
        yield from _less(
            f"{section}.raceway_inner",
            bearing.raceway_inner,
            f"{section}.raceway_outer",
            bearing.raceway_outer,
            "there is no room for rollers",
        )
    nut = hardware.locknut(m.low_speed_shaft.lower_thread).outside
    raceway = m.lower_bearing.raceway_outer
    yield from _less(
        "low_speed_shaft.lower_thread: locknut outside",
        nut,
        "lower_bearing.raceway_outer",
        raceway,
        "the locknut doesn't pass the roller raceway",
    )
    thrower = m.spacers.lower_thrower_diameter
    yield from _less(
        "spacers.lower_thrower_diameter",
        thrower,
        "lower_bearing.raceway_outer",
        raceway,
        "the thrower doesn't pass the roller raceway",
    )
    yield from _less(
        "spacers.lower_thrower_diameter",
        thrower,
        "carrier.shoulder_bore",
        m.carrier.shoulder_bore,
        "the thrower doesn't pass the carrier's shoulder",
    )
    assert m.lower_bearing.outside is not None
    yield from _less(
        "carrier.shoulder_bore",
        m.carrier.shoulder_bore,
        "lower_bearing.outside",
        m.lower_bearing.outside,
        "the outer ring has no shoulder",
    )
    yield from _less(
        "low_speed_shaft.collar_diameter",
        m.low_speed_shaft.collar_diameter,
        "low_speed_cartridge.stop_bore",
        low.stop_bore,
        "the shaft's collar doesn't pass the lip",
    )
    yield from _less(
        "high_speed_cartridge.stop_bore",
        h.stop_bore,
        "high_speed_cartridge.pair_seat.diameter",
        h.pair_seat.diameter,
        "the pair has no inner stop",
    )
    yield from _less(
        "low_speed_cartridge.stop_bore",
        low.stop_bore,
        "low_speed_cartridge.pair_seat.diameter",
        low.pair_seat.diameter,
        "the pair has no stop",
    )


def _same(section: str, bearing: Roller | Pair, seat_name: str, seat: Fitted) -> Iterator[str]:
    assert bearing.outside is not None
    if abs(bearing.outside - seat.diameter) > 1e-6:
        yield f"{section}.outside = {bearing.outside:.3f} mm: its seat differs: accepted: {seat_name}.diameter ({seat.diameter:.3f} mm)"


def _covers(m: Machine) -> Iterator[str]:
    for name, cover, cartridge, shaft in (
        ("high_speed_cover", m.high_speed_cover, m.high_speed_cartridge, m.high_speed_shaft),
        ("low_speed_cover", m.low_speed_cover, m.low_speed_cartridge, m.low_speed_shaft),
    ):
        yield from _less(
            f"{name.replace('cover', 'shaft')}.seal_diameter",
            shaft.seal_diameter,
            f"{name}.seal_outside",
            cover.seal_outside,
            "the seal has no section",
        )
        yield from _circle(name, cover.screws, cartridge.pair_seat.diameter, min(cover.outside, cartridge.neck_diameter))
        yield from _depth(m, name, cover)
    for name, screws, inner, outer in (
        (
            "high_speed_cartridge",
            m.high_speed_cartridge.screws,
            m.case.horizontal_bore.diameter,
            m.high_speed_cartridge.flange_diameter,
        ),
        ("low_speed_cartridge", m.low_speed_cartridge.screws, m.case.upper_bore.diameter, m.low_speed_cartridge.flange_diameter),
        ("carrier", m.carrier.screws, m.case.floor_bore.diameter, m.carrier.flange_diameter),
    ):
        yield from _circle(name, screws, inner, outer)
    for name, body, bore_name, bore in (
        ("high_speed_cartridge", m.high_speed_cartridge.body, "case.horizontal_bore", m.case.horizontal_bore),
        ("low_speed_cartridge", m.low_speed_cartridge.body, "case.upper_bore", m.case.upper_bore),
        ("carrier", m.carrier.body, "case.floor_bore", m.case.floor_bore),
    ):
        if abs(body.diameter - bore.diameter) > 1e-6:
            yield f"{name}.body.diameter = {body.diameter:.3f} mm: its bore differs: accepted: {bore_name}.diameter ({bore.diameter:.3f} mm)"
    for index in range(m.high_speed_cartridge.screws.count):
        angle = m.high_speed_cartridge.screws.first_angle + 2 * pi * index / m.high_speed_cartridge.screws.count
        height = abs(m.high_speed_cartridge.screws.circle / 2 * sin(angle - pi / 2))
        hole = hardware.socket_screw(m.high_speed_cartridge.screws.thread).diameter
        if height < hole:
            yield f"high_speed_cartridge.screws.first_angle: screw {index + 1} lies on the split: accepted: an angle that keeps every screw {hole:.1f} mm off it"
            break


def _circle(name: str, screws: Screws, inner: float, outer: float) -> Iterator[str]:
    hole = hardware.socket_screw(screws.thread).clearance_hole
    if not inner + hole < screws.circle < outer - hole:
        yield f"{name}.screws.circle = {screws.circle:.3f} mm: the holes break out: accepted: {inner + hole:.3f} to {outer - hole:.3f} mm"


def _depth(m: Machine, name: str, cover: Cover) -> Iterator[str]:
    faces = layout.solve(m)
    high = name == "high_speed_cover"
    nut_end = (faces.high.nut_end if high else faces.low.nut_top) + 2.0
    face = faces.high.cover_face if high else faces.low.cover_face
    wall = face + cover.thickness - cover.seal_width - 8.0
    if nut_end > wall:
        yield f"{name}.thickness = {cover.thickness:.3f} mm: the locknut touches the seal wall: accepted: at least {cover.thickness + nut_end - wall:.3f} mm"
    if cover.spigot.nominal < 0.5:
        yield f"{name}.spigot = {cover.spigot.nominal:.3f} mm: accepted: at least 0.5 mm"


def _inside(m: Machine, faces: layout.Layout, blank: bevel.Blank) -> Iterator[str]:
    high, low = faces.high, faces.low
    gap = 2.0
    collar = m.low_speed_shaft.collar_diameter / 2
    if high.inner_end - collar < gap:
        yield (
            f"pinion.length = {m.pinion.length.nominal:.3f} mm: the pinion's nut and shaft end meet the low-speed shaft: "
            f"accepted: less than {m.pinion.length.nominal + high.inner_end - collar - gap:.3f} mm, or a smaller low_speed_shaft.collar_diameter ({2 * collar:.3f} mm)"
        )
    nut = hardware.locknut(m.high_speed_shaft.pinion_thread).outside / 2
    hub = m.gear.hub_diameter / 2
    if high.inner_end - hub < gap and low.gear_front > -nut - gap:
        yield f"gear.hub_diameter = {m.gear.hub_diameter:.3f} mm: the pinion's locknut meets the gear's hub: accepted: less than {2 * (high.inner_end - gap):.3f} mm"
    tip = 2 * blank.axial_point(0, blank.cones.outer, blank.tip_height(0, blank.cones.outer))[0]
    yield from _less(
        "pinion tip diameter",
        tip,
        "case.horizontal_bore.diameter",
        m.case.horizontal_bore.diameter,
        "a change of the pinion gasket would mean splitting the case",
    )
    gear_tip = blank.axial_point(1, blank.cones.outer, blank.tip_height(1, blank.cones.outer))[0]
    yield from _less("gear tip radius", gear_tip + gap, "case.inner_radius", m.case.inner_radius, "the gear touches the wall")
    heads = (
        high.rib_in - (m.inner_bearing.width.nominal if m.inner_bearing.width else 0.0) - m.high_speed_cartridge.retainer.thickness
    )
    heads -= hardware.socket_screw(m.high_speed_cartridge.retainer.screws.thread).head_height
    if heads < gear_tip + gap:
        yield f"case.end_face = {m.case.end_face.nominal:.3f} mm: the wired screws on the cartridge's nose meet the gear's heel: accepted: at least {m.case.end_face.nominal + gear_tip + gap - heads:.3f} mm"
    if m.case.end_face.nominal < m.case.inner_radius + m.case.wall:
        yield f"case.end_face = {m.case.end_face.nominal:.3f} mm: lies inside the wall: accepted: at least {m.case.inner_radius + m.case.wall:.3f} mm"
    if low.gear_back - low.ring_seat < m.carrier.roller_seat_depth.nominal:
        yield "spacers.gear_spacer: the gear meets the lower retainer: accepted: a longer spacer"
    marked = m.gears.pinion_mounting_distance.nominal
    if abs(high.pinion_back - marked) > 1.5:
        yield f"gears.pinion_mounting_distance = {marked:.3f} mm: the chain gives {high.pinion_back:.3f} mm: accepted: within 1.5 mm (check case.end_face, stop_offset, sleeve, collar)"
    marked = m.gears.gear_mounting_distance.nominal
    if abs(-low.gear_back - marked) > 1.5:
        yield f"gears.gear_mounting_distance = {marked:.3f} mm: the chain gives {-low.gear_back:.3f} mm: accepted: within 1.5 mm (check upper_height, stop_offset, collar_length)"
