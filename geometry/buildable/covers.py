"""Cartridges, carrier and covers: flanges, walls, seals, and what turns inside them [mm]."""

from __future__ import annotations

from collections.abc import Iterator

from geometry import high_speed, layout, low_speed
from geometry.buildable.lines import less, more, not_over, same, within
from geometry.buildable.shafts import WALL
from geometry.machine import Cover, Machine

MOST_FLOAT = 6.0
"""Most that the end play may be off before a dimension must be wrong [mm]: any gasket of the file's range stays within."""


def cavity(m: Machine, section: str) -> float:
    """Bore of a cover's cavity [mm]."""
    if section == "high_speed_cover":
        return high_speed.cover_cavity(m.high_speed_shaft.bearing_thread, m.spacers.high_speed_thrower_diameter)
    return high_speed.cover_cavity(m.low_speed_shaft.bearing_thread)


def covers(m: Machine, faces: layout.Layout) -> Iterator[str]:
    """Both covers: seal, cavity, spigot."""
    for name, cover, shaft, pair, nut_end, face in (
        ("high_speed_cover", m.high_speed_cover, m.high_speed_shaft, m.high_speed_pair, faces.high.nut_end, faces.high.cover_face),
        ("low_speed_cover", m.low_speed_cover, m.low_speed_shaft, m.low_speed_pair, faces.low.nut_top, faces.low.cover_face),
    ):
        assert pair.outside is not None
        side = name.replace("cover", "shaft")
        yield from more(
            (f"{name}.seal_outside", cover.seal_outside),
            (f"{side}.seal_diameter", shaft.seal_diameter),
            "the seal has no section",
            5.0,
        )
        turning = f"{side}.bearing_thread's locknut" + (
            " or spacers.high_speed_thrower_diameter" if side.startswith("high") else ""
        )
        yield from less(
            (f"cavity for {turning}", cavity(m, name)),
            (f"{name.replace('cover', 'pair')}.outside", pair.outside),
            "the cover's spigot has no wall",
            WALL,
        )
        yield from more((f"{name}.seal_width", cover.seal_width), ("least seal", WALL), "too thin")
        yield from _depth(name, cover, nut_end, face)
        outside = (f"{name}.outside", cover.outside)
        yield from less((f"{name}.thickness", cover.thickness), outside, "no cover is longer than wide")


def _depth(name: str, cover: Cover, nut_end: float, face: float) -> Iterator[str]:
    room = layout.cavity_depth(cover.thickness, cover.seal_width)
    needed = max(nut_end + 2.0 - face, 1.0)
    if room < needed:
        yield f"{name}.thickness = {cover.thickness:.3f} mm: the locknut touches the seal wall: accepted: at least {cover.thickness + needed - room:.3f} mm ({name}.seal_width {cover.seal_width:.3f} mm)"
    if cover.spigot.nominal < 0.5:
        yield f"{name}.spigot = {cover.spigot.nominal:.3f} mm: accepted: at least 0.5 mm"


def float_room(m: Machine) -> Iterator[str]:
    """Cover spigots that do not belong to their ring stack."""
    for side, cartridge, cover, pair, gasket in (
        ("high_speed", m.high_speed_cartridge, m.high_speed_cover, m.high_speed_pair, m.gaskets.high_speed_float_gasket),
        ("low_speed", m.low_speed_cartridge, m.low_speed_cover, m.low_speed_pair, m.gaskets.low_speed_float_gasket),
    ):
        assert pair.width is not None
        stack = 2.0 * pair.width.nominal + pair.outer_spacer.nominal
        play = cartridge.outer_face.nominal + gasket.clamped - cover.spigot.nominal - stack
        yield from within(
            (f"{side}_cartridge.outer_face", cartridge.outer_face.nominal),
            cartridge.outer_face.nominal - play - MOST_FLOAT,
            cartridge.outer_face.nominal - play + MOST_FLOAT,
            "does not belong to its bearings and cover",
            f"{side}_cover.spigot {cover.spigot.nominal:.3f} mm, rings and outer spacer {stack:.3f} mm",
        )
        yield from not_over(
            (f"{side}_cover.outside", cover.outside),
            (f"{side}_cartridge.flange_diameter", cartridge.flange_diameter),
            "the cover hides the flange's screws",
        )


def cartridges(m: Machine) -> Iterator[str]:
    """Both cartridges: body in its bore, flange between body and neck, walls around the seats."""
    h, low, case = m.high_speed_cartridge, m.low_speed_cartridge, m.case
    for name, part, bore_name, bore in (
        ("high_speed_cartridge", h, "case.horizontal_bore", case.horizontal_bore),
        ("low_speed_cartridge", low, "case.upper_bore", case.upper_bore),
        ("carrier", m.carrier, "case.floor_bore", case.floor_bore),
    ):
        yield from same((f"{name}.body.diameter", part.body.diameter), (f"{bore_name}.diameter", bore.diameter), "its bore differs")
        yield from more((f"{name}.flange_thickness", part.flange_thickness), ("least flange", WALL), "too thin")
    for name, cartridge in (("high_speed_cartridge", h), ("low_speed_cartridge", low)):
        seat = (f"{name}.pair_seat.diameter", cartridge.pair_seat.diameter)
        for outer, diameter in (("body.diameter", cartridge.body.diameter), ("neck_diameter", cartridge.neck_diameter)):
            yield from less(seat, (f"{name}.{outer}", diameter), "too little wall around the pair", 2.0 * WALL)
        yield from less(
            (f"{name}.flange_thickness", cartridge.flange_thickness),
            (f"{name}.stop_offset and outer_face", cartridge.stop_offset.nominal + cartridge.outer_face.nominal),
            "the flange reaches past the outer face",
            1.0,
        )
    yield from less(
        ("high_speed_cartridge.roller_seat.diameter", h.roller_seat.diameter),
        ("high_speed_cartridge.body.diameter", h.body.diameter),
        "too little wall around the roller bearing",
        2.0 * WALL,
    )
    yield from more(("high_speed_cartridge.rib_width", h.rib_width.nominal), ("least rib", WALL), "too thin")
    nose = h.rib_width.nominal + h.roller_seat_depth.nominal
    yield from less(
        ("high_speed_cartridge.stop_offset", h.stop_offset.nominal),
        ("high_speed_cartridge.rib_width and roller_seat_depth", nose),
        "no body is left in the case's bore",
        WALL,
    )
    yield from less(
        ("low_speed_cartridge.stop_offset", low.stop_offset.nominal),
        ("thickness of its lip", low_speed.lip_thickness(m)),
        "no body is left in the case's bore",
        WALL,
    )
    for name, ring in (("high_speed_cartridge.retainer", h.retainer), ("carrier.retainer", m.carrier.retainer)):
        yield from more((f"{name}.thickness", ring.thickness), ("least ring", WALL), "too thin")
    for name, ring, body in (
        ("high_speed_cartridge", h.retainer, h.body.diameter),
        ("carrier", m.carrier.retainer, m.carrier.body.diameter),
    ):
        yield from not_over(
            (f"{name}.retainer.outside", ring.outside), (f"{name}.body.diameter", body), "it does not pass the case's bore"
        )


def carrier(m: Machine, faces: layout.Layout) -> Iterator[str]:
    """The carrier, its pump below and the shaft's end in it."""
    c, at = m.carrier, faces.low
    yield from less(
        ("carrier.flange_thickness", c.flange_thickness),
        ("carrier.flange_to_seat and roller_seat_depth", c.flange_to_seat.nominal + c.roller_seat_depth.nominal),
        "the flange reaches past the upper face",
        1.0,
    )
    yield from less(
        ("carrier.roller_seat.diameter", c.roller_seat.diameter),
        ("carrier.body.diameter", c.body.diameter),
        "too little wall around the roller bearing",
        2.0 * WALL,
    )
    yield from more(
        ("carrier.depth", c.depth + c.flange_to_seat.nominal),
        ("thickness of its bottom", low_speed.CARRIER_BOTTOM),
        "with flange_to_seat the bottom reaches the ring's seat",
        WALL,
    )
    short = at.carrier_bottom + low_speed.CARRIER_BOTTOM + 2.0 - at.shaft_bottom
    if short > 0.0:
        yield f"carrier.depth = {c.depth:.3f} mm: the shaft's lower end (low_speed_shaft.lower_thread's locknut) meets the carrier's bottom: accepted: at least {c.depth + short:.3f} mm"
    gap = at.shaft_bottom - at.carrier_bottom
    if gap > LONGEST_TONGUE:
        yield f"carrier.depth = {c.depth:.3f} mm: the pump's tongue does not reach the shaft's end: accepted: at most {c.depth - gap + LONGEST_TONGUE:.3f} mm"
    hanging = low_speed.PUMP_BODY + m.carrier.depth
    standing = m.case.foot_height + m.case.wall
    yield from more(
        ("case.foot_height and wall", standing), ("carrier.depth and the pump", hanging), "the pump meets the ground", 2.0
    )


LONGEST_TONGUE = 60.0
"""Farthest that the pump's tongue reaches into the carrier, derived [mm]."""
