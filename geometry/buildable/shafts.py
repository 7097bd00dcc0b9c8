"""Shafts: seats, threads, shoulders, keys, and what is threaded over them [mm]."""

from __future__ import annotations

from collections.abc import Iterator

from calc import hardware, keys
from geometry.buildable.lines import less, more, not_over, same, within
from geometry.machine import HighSpeedShaft, Key, LowSpeedShaft, Machine

KEY_WIDTH = (0.1, 0.4)
"""Width of a key over the shaft's diameter: common practice, no source (ISO/R 773 keys lie between 0.16 and 0.33)."""
DEEPEST_KEYWAY = 0.25
"""Depth of a shaft's keyway over its diameter: common practice, no source."""
KEY_END = 6.0
"""Shaft left beyond a coupling key, as drawn [mm]."""
WALL = 3.0
"""Least metal in a wall, a flange or a disc: common practice, no source [mm]."""


def threads(m: Machine) -> Iterator[str]:
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
        seat_name = f"{side}.{name.replace('thread', 'seat')}.diameter"
        yield from not_over(
            (f"{side}.{name}", nut.thread_diameter), (seat_name, seat.diameter), "the parts of the seat can't pass it"
        )
        yield from more(
            (f"locknut on {side}.{name}", nut.outside), (seat_name, seat.diameter), "it does not reach over the seat's end", 2.0
        )


def key_sections(m: Machine) -> Iterator[str]:
    """Keys whose shaft no table holds."""
    for name, key, diameter_name, diameter in _keys(m):
        try:
            key.section(diameter)
        except ValueError as error:
            yield f"{diameter_name} = {diameter:.3f} mm: no parallel key for {name}: accepted: {str(error).rpartition('accepted: ')[2]}"


def _keys(m: Machine) -> Iterator[tuple[str, Key, str, float]]:
    h, low = m.high_speed_shaft, m.low_speed_shaft
    yield "pinion.key", m.pinion.key, "high_speed_shaft.pinion_seat.diameter", h.pinion_seat.diameter
    yield "gear.key", m.gear.key, "low_speed_shaft.gear_seat.diameter", low.gear_seat.diameter
    for side, shaft in (("high_speed_shaft", h), ("low_speed_shaft", low)):
        yield f"{side}.coupling_key", shaft.coupling_key, f"{side}.extension.diameter", shaft.extension.diameter


def shafts(m: Machine) -> Iterator[str]:
    """Seats against bearings, shoulders, seals and extensions."""
    h, low = m.high_speed_shaft, m.low_speed_shaft
    for section, bearing, seat_name, seat in (
        ("inner_bearing", m.inner_bearing, "bearing_seat", h.bearing_seat),
        ("high_speed_pair", m.high_speed_pair, "bearing_seat", h.bearing_seat),
        ("low_speed_pair", m.low_speed_pair, "bearing_seat", low.bearing_seat),
        ("lower_bearing", m.lower_bearing, "lower_seat", low.lower_seat),
    ):
        yield from same((f"{section}.bore", bearing.bore), ("the seat's diameter", seat.diameter), f"its {seat_name} differs")
    for side, shaft, seat_name, seat, why in (
        ("high_speed_shaft", h, "bearing_seat", h.bearing_seat, "the bearing ring has no shoulder"),
        ("high_speed_shaft", h, "pinion_seat", h.pinion_seat, "the pinion has no shoulder"),
        ("low_speed_shaft", low, "gear_seat", low.gear_seat, "the gear has no shoulder"),
        ("low_speed_shaft", low, "bearing_seat", low.bearing_seat, "the pair has no shoulder"),
    ):
        yield from less(
            (f"{side}.{seat_name}.diameter", seat.diameter), (f"{side}.collar_diameter", shaft.collar_diameter), why, 1.0
        )
    yield from less(
        ("low_speed_shaft.lower_seat.diameter", low.lower_seat.diameter),
        ("low_speed_shaft.gear_seat.diameter", low.gear_seat.diameter),
        "the gear can't pass it",
    )
    for side, shaft in (("high_speed_shaft", h), ("low_speed_shaft", low)):
        yield from _outer_end(side, shaft)
    for name, bore, seat in (("pinion", m.pinion.bore, h.pinion_seat), ("gear", m.gear.bore, low.gear_seat)):
        yield from same((f"{name}.bore.diameter", bore.diameter), ("the seat's diameter", seat.diameter), "its seat differs")


def _outer_end(side: str, shaft: HighSpeedShaft | LowSpeedShaft) -> Iterator[str]:
    """Seal and extension: each must let pass what goes on before it."""
    nut = hardware.locknut(shaft.bearing_thread)
    minor = hardware.thread(shaft.bearing_thread).minor_diameter
    seal = (f"{side}.seal_diameter", shaft.seal_diameter)
    yield from not_over(seal, (f"{side}.bearing_seat.diameter", shaft.bearing_seat.diameter), "the bearings can't pass it")
    yield from not_over(seal, (f"minor diameter of {side}.bearing_thread", minor), f"the {nut.thread} locknut can't pass it")
    yield from not_over((f"{side}.extension.diameter", shaft.extension.diameter), seal, "the seal can't pass it")
    yield from less(
        (f"{side}.coupling_key.length", shaft.coupling_key.length),
        (f"{side}.extension_length", shaft.extension_length),
        "the key is longer than its seat",
        KEY_END,
    )


def key_fits(m: Machine) -> Iterator[str]:
    """Keys against their shaft, their hub and each other's depths."""
    for name, key, diameter_name, diameter in _keys(m):
        section = key.section(diameter)
        yield from within(
            (f"{name}.width", section.width),
            KEY_WIDTH[0] * diameter,
            KEY_WIDTH[1] * diameter,
            "no key for this shaft",
            f"{diameter_name} {diameter:.3f} mm",
        )
        yield from within(
            (f"{name}.shaft_depth", section.shaft_depth),
            0.02 * diameter,
            DEEPEST_KEYWAY * diameter,
            "no keyway for this shaft",
            f"{diameter_name} {diameter:.3f} mm",
        )
        yield from _section(name, section)
        yield from more((f"{name}.length", key.length), (f"{name}.width", section.width), "a key with round ends has no flat side")
    for part, body, seat in (("pinion", m.pinion, m.high_speed_shaft.pinion_seat), ("gear", m.gear, m.low_speed_shaft.gear_seat)):
        yield from less(
            (f"{part}.key.length", body.key.length), (f"{part}.length", body.length.nominal), "the key is longer than its seat", 4.0
        )
        floor = body.bore.diameter + 2.0 * body.key.section(seat.diameter).hub_depth
        yield from more(
            (f"{part}.hub_diameter", body.hub_diameter),
            (f"{part}.bore over its keyway", floor),
            "too little metal over the keyway",
            2.0,
        )


def _section(name: str, section: keys.KeySection) -> Iterator[str]:
    yield from more(
        (f"{name}.height", section.height), (f"{name}.shaft_depth", section.shaft_depth), "the key does not stand out", 0.5
    )
    depths = section.shaft_depth + section.hub_depth
    yield from not_over(
        (f"{name}.height", section.height), (f"both keyway depths of {name}", depths), "the key does not go into both keyways"
    )
    yield from less(
        (f"{name}.hub_depth", section.hub_depth), (f"{name}.height", section.height), "the hub's keyway is deeper than the key", 0.0
    )


def rings(m: Machine) -> Iterator[str]:
    """Throwers, sleeves and spacers on the shafts."""
    h, low, s = m.high_speed_shaft, m.low_speed_shaft, m.spacers
    for name, diameter, width, seat_name, seat in (
        (
            "high_speed_thrower",
            s.high_speed_thrower_diameter,
            s.high_speed_thrower,
            "high_speed_shaft.bearing_seat",
            h.bearing_seat,
        ),
        ("lower_thrower", s.lower_thrower_diameter, s.lower_thrower, "low_speed_shaft.lower_seat", low.lower_seat),
    ):
        yield from more(
            (f"spacers.{name}_diameter", diameter),
            (f"{seat_name}.diameter", seat.diameter),
            "no disc is left outside its bore",
            2.0 * WALL,
        )
        yield from more((f"spacers.{name}", width), ("least wall", WALL), "too thin")
    for name, pair in (("high_speed_pair", m.high_speed_pair), ("low_speed_pair", m.low_speed_pair)):
        inner, outer = pair.inner_spacer.nominal, pair.outer_spacer.nominal
        yield from within(
            (f"{name}.inner_spacer", inner),
            outer - 0.5,
            outer + 0.5,
            "the spacers of a pair differ too much",
            f"{name}.outer_spacer {outer:.3f} mm",
        )
        yield from more((f"{name}.inner_spacer", inner), ("least spacer", 1.0), "too thin")
    for name, sleeve in (("high_speed_sleeve", s.high_speed_sleeve), ("gear_spacer", s.gear_spacer)):
        yield from more((f"spacers.{name}", sleeve.nominal), ("least spacer", 1.0), "too thin")
    for name, collar in (("high_speed_shaft.collar_width", h.collar_width), ("low_speed_shaft.collar_length", low.collar_length)):
        yield from more((name, collar.nominal), ("least shoulder", WALL), "too thin")
