"""Rolling bearings: their sizes among themselves, their seats, and what passes them or holds them [mm]."""

from __future__ import annotations

from collections.abc import Iterator
from math import asin, floor, pi

from calc import bearings, hardware
from geometry import bearing_parts, rolling
from geometry.buildable.lines import less, more, same, within
from geometry.machine import Machine, Pair, Roller

RING = 1.0
"""Least metal of a ring at its raceway beyond the corner [mm]: common practice, no source."""
MOST_OFFSET = 0.25
"""How far rollers may stand beside their outer ring over its width; beyond that the rings do not belong together."""


def sections(m: Machine) -> Iterator[tuple[str, Roller | Pair]]:
    """The four bearings by section."""
    yield "inner_bearing", m.inner_bearing
    yield "lower_bearing", m.lower_bearing
    yield "high_speed_pair", m.high_speed_pair
    yield "low_speed_pair", m.low_speed_pair


def tables(m: Machine) -> Iterator[str]:
    """Sizes that ISO 492 does not hold."""
    for section, bearing in sections(m):
        assert bearing.outside is not None
        for name, size, limits in (
            ("bore", bearing.bore, bearings.bore_limits),
            ("outside", bearing.outside, bearings.outside_limits),
        ):
            try:
                limits(size)
            except ValueError as error:
                yield f"{section}.{name} = {size:.3f} mm: accepted: {str(error).rpartition('accepted: ')[2]}"


def sizes(m: Machine) -> Iterator[str]:
    """Sections and widths that can hold rolling elements, rollers that do not overlap."""
    for section, bearing in sections(m):
        assert bearing.outside is not None and bearing.width is not None
        corner = bearing_parts.chamfer(bearing)
        yield from more(
            (f"{section}.outside", bearing.outside),
            (f"{section}.bore", bearing.bore),
            "no room for rolling elements",
            8.0 * corner + 4.0,
        )
        yield from within(
            (f"{section}.width", bearing.width.nominal),
            max(4.0 * corner, 0.2 * (bearing.outside - bearing.bore)),
            1.5 * (bearing.outside - bearing.bore),
            "no bearing of this section",
            f"{section}.outside {bearing.outside:.3f} mm, {section}.bore {bearing.bore:.3f} mm",
        )
        if isinstance(bearing, Roller):
            yield from _raceways(section, bearing, 2.0 * (corner + RING))


def _raceways(section: str, bearing: Roller, ring: float) -> Iterator[str]:
    assert bearing.outside is not None
    inner, outer = (f"{section}.raceway_inner", bearing.raceway_inner), (f"{section}.raceway_outer", bearing.raceway_outer)
    refused = [
        *more(inner, (f"{section}.bore", bearing.bore), "the inner ring is too thin", ring),
        *less(outer, (f"{section}.outside", bearing.outside), "the outer ring is too thin", ring),
        *less(inner, outer, "there is no room for rollers", 6.0),
    ]
    yield from refused
    if refused:
        return
    diameter, circle = (outer[1] - inner[1]) / 2.0, (inner[1] + outer[1]) / 4.0
    pocket = diameter / 2.0 - rolling.CONTACT_GAP + rolling.POCKET_GAP + 0.03 * diameter
    most = floor(pi / asin(min(1.0, pocket / circle)))
    if not 3 <= bearing.roller_count <= most:
        yield f"{section}.roller_count = {bearing.roller_count}: rollers of {diameter:.3f} mm overlap: accepted: 3 to {most} (raceways {inner[1]:.3f} and {outer[1]:.3f} mm)"


def seats(m: Machine) -> Iterator[str]:
    """Housing seats, stops and retainers around the outer rings."""
    h, low = m.high_speed_cartridge, m.low_speed_cartridge
    for section, bearing, seat_name, seat in (
        ("inner_bearing", m.inner_bearing, "high_speed_cartridge.roller_seat", h.roller_seat),
        ("high_speed_pair", m.high_speed_pair, "high_speed_cartridge.pair_seat", h.pair_seat),
        ("low_speed_pair", m.low_speed_pair, "low_speed_cartridge.pair_seat", low.pair_seat),
        ("lower_bearing", m.lower_bearing, "carrier.roller_seat", m.carrier.roller_seat),
    ):
        assert bearing.outside is not None
        yield from same((f"{section}.outside", bearing.outside), (f"{seat_name}.diameter", seat.diameter), "its seat differs")
    for section, roller, retainer, name, depth in (
        ("inner_bearing", m.inner_bearing, h.retainer, "high_speed_cartridge", h.roller_seat_depth.nominal),
        ("lower_bearing", m.lower_bearing, m.carrier.retainer, "carrier", m.carrier.roller_seat_depth.nominal),
    ):
        assert roller.outside is not None and roller.width is not None
        bore = (f"{name}.retainer.bore", retainer.bore)
        yield from less((f"{section}.raceway_outer", roller.raceway_outer), bore, "the rollers don't pass the retainer")
        yield from less(bore, (f"{section}.outside", roller.outside), "the retainer doesn't hold the outer ring", 1.0)
        yield from within(
            (f"{name}.roller_seat_depth", depth),
            0.5 * roller.width.nominal,
            roller.width.nominal + 0.5,
            "the retainer doesn't hold the outer ring",
            f"{section}.width {roller.width.nominal:.3f} mm",
        )
    yield from less(
        ("high_speed_shaft.collar_diameter", m.high_speed_shaft.collar_diameter),
        ("high_speed_cartridge.retainer.bore", h.retainer.bore),
        "the collar turns in the retainer",
        2.0,
    )
    yield from _stops(m)


def _stops(m: Machine) -> Iterator[str]:
    """Bores that stop a ring: the turning parts pass them, the ring does not."""
    h, low, s = m.high_speed_cartridge, m.low_speed_cartridge, m.spacers
    sleeve = 1.2 * m.high_speed_shaft.bearing_seat.diameter
    stop = ("high_speed_cartridge.stop_bore", h.stop_bore)
    yield from more(stop, ("sleeve on high_speed_shaft.bearing_seat", sleeve), "the sleeve doesn't pass it", 1.0)
    yield from less(stop, ("high_speed_cartridge.pair_seat.diameter", h.pair_seat.diameter), "the pair has no inner stop", 2.0)
    yield from less(
        stop, ("high_speed_cartridge.roller_seat.diameter", h.roller_seat.diameter), "the roller bearing's ring has no stop", 2.0
    )
    raceway = ("lower_bearing.raceway_outer", m.lower_bearing.raceway_outer)
    nut = ("locknut on low_speed_shaft.lower_thread", hardware.locknut(m.low_speed_shaft.lower_thread).outside)
    yield from less(nut, raceway, "the locknut doesn't pass the roller raceway")
    thrower = ("spacers.lower_thrower_diameter", s.lower_thrower_diameter)
    shoulder = ("carrier.shoulder_bore", m.carrier.shoulder_bore)
    yield from less(thrower, raceway, "the thrower doesn't pass the roller raceway")
    yield from less(thrower, shoulder, "the thrower doesn't pass the carrier's shoulder")
    yield from less(nut, shoulder, "the locknut doesn't pass the carrier's shoulder")
    assert m.lower_bearing.outside is not None
    yield from less(shoulder, ("lower_bearing.outside", m.lower_bearing.outside), "the outer ring has no shoulder", 2.0)
    lip = ("low_speed_cartridge.stop_bore", low.stop_bore)
    yield from less(
        ("low_speed_shaft.collar_diameter", m.low_speed_shaft.collar_diameter), lip, "the shaft's collar doesn't pass the lip"
    )
    yield from less(lip, ("low_speed_cartridge.pair_seat.diameter", low.pair_seat.diameter), "the pair has no stop", 2.0)


def overlaps(m: Machine, lower_offset: float) -> Iterator[str]:
    """Rollers under their outer ring. `lower_offset`: lower inner ring above the outer one's seat [mm]."""
    assert m.inner_bearing.width is not None and m.lower_bearing.width is not None
    rib, sleeve = m.high_speed_cartridge.rib_width.nominal, m.spacers.high_speed_sleeve.nominal
    room = MOST_OFFSET * m.inner_bearing.width.nominal
    yield from within(
        ("high_speed_cartridge.rib_width", rib),
        sleeve - room,
        sleeve + room,
        "the rollers stand beside their outer ring",
        f"spacers.high_speed_sleeve {sleeve:.3f} mm",
    )
    spacer, room = m.spacers.gear_spacer.nominal, MOST_OFFSET * m.lower_bearing.width.nominal
    yield from within(
        ("spacers.gear_spacer", spacer),
        spacer + lower_offset - room,
        spacer + lower_offset + room,
        "the rollers stand beside their outer ring",
        "case.floor_depth, case.upper_height, carrier.flange_to_seat",
    )
