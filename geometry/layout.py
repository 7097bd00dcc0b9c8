"""Where every machined face of the reducer lies, from the machine's dimensions.

Positions in mm along the high-speed axis (x, outward from the crossing point) and along the low-speed axis (z, upward), in the set
position: both pairs against their inner stops, gaskets clamped, sealing film in place.
"""

from __future__ import annotations

from dataclasses import dataclass

from calc import hardware
from geometry.machine import Machine


@dataclass(frozen=True)
class HighSpeed:
    """Faces along x [mm]."""

    case_face: float
    flange_in: float
    stop: float
    roller_out: float
    roller_in: float
    pinion_back: float
    pinion_front: float
    pinion_washer: float
    pinion_nut: float
    inner_end: float
    pair_1: float
    pair_2: float
    outer_spacer: float
    inner_spacer: float
    thrower: float
    washer: float
    nut: float
    nut_end: float
    outer_face: float
    cover_face: float
    spigot_end: float
    cover_end: float
    extension: float
    outer_end: float
    rib_in: float
    nose: float


@dataclass(frozen=True)
class LowSpeed:
    """Faces along z [mm]."""

    case_top: float
    flange: float
    stop: float
    gear_front: float
    gear_back: float
    spacer_end: float
    roller_low: float
    thrower_end: float
    washer_end: float
    nut_end: float
    shaft_bottom: float
    pair_2: float
    stack_top: float
    washer: float
    nut: float
    nut_top: float
    outer_face: float
    cover_face: float
    cover_end: float
    extension: float
    shaft_top: float
    floor: float
    carrier_flange: float
    ring_seat: float
    carrier_top: float
    carrier_bottom: float


@dataclass(frozen=True)
class Layout:
    """All faces of one machine."""

    high: HighSpeed
    low: LowSpeed


RUNOUT = 4.0
"""Plain length left past a locknut on its thread, derived [mm]."""


SEAL_SUNK = 2.0
"""How far a seal lies under its cover's outer face, derived [mm]."""
SEAL_WALL = 6.0
"""Wall of a cover before its seal, derived [mm]."""


def seal_depth(thickness: float, seal_width: float) -> float:
    """Inner face of a cover to its seal [mm]."""
    return thickness - seal_width - SEAL_SUNK


def cavity_depth(thickness: float, seal_width: float) -> float:
    """Inner face of a cover to the end of its cavity, the wall before the seal [mm]."""
    return seal_depth(thickness, seal_width) - SEAL_WALL


def solve(machine: Machine) -> Layout:
    """Place every face from the machine's dimensions. Result in mm."""
    return Layout(_high(machine), _low(machine))


def _high(m: Machine) -> HighSpeed:
    pair, roller, cartridge = m.high_speed_pair, m.inner_bearing, m.high_speed_cartridge
    assert pair.width is not None and roller.width is not None
    case_face = m.case.end_face.nominal
    flange_in = case_face + m.gaskets.pinion_gasket.clamped
    stop = flange_in + cartridge.stop_offset.nominal
    roller_out = stop - m.spacers.high_speed_sleeve.nominal
    roller_in = roller_out - roller.width.nominal
    pinion_back = roller_in - m.high_speed_shaft.collar_width.nominal
    pinion_front = pinion_back - m.pinion.length.nominal
    inner_nut, inner_washer = (
        hardware.locknut(m.high_speed_shaft.pinion_thread),
        hardware.tab_washer(m.high_speed_shaft.pinion_thread),
    )
    pinion_washer = pinion_front - inner_washer.thickness
    pinion_nut = pinion_washer - inner_nut.width
    nut, washer = hardware.locknut(m.high_speed_shaft.bearing_thread), hardware.tab_washer(m.high_speed_shaft.bearing_thread)
    pair_2 = stop + pair.width.nominal + pair.inner_spacer.nominal
    thrower = pair_2 + pair.width.nominal
    washer_at = thrower + m.spacers.high_speed_thrower
    nut_at = washer_at + washer.thickness
    outer_face = stop + cartridge.outer_face.nominal
    cover_face = outer_face + m.gaskets.high_speed_float_gasket.clamped
    cover_end = cover_face + m.high_speed_cover.thickness
    extension = cover_end + RUNOUT
    return HighSpeed(
        case_face=case_face,
        flange_in=flange_in,
        stop=stop,
        roller_out=roller_out,
        roller_in=roller_in,
        pinion_back=pinion_back,
        pinion_front=pinion_front,
        pinion_washer=pinion_washer,
        pinion_nut=pinion_nut,
        inner_end=pinion_nut - RUNOUT,
        pair_1=stop,
        pair_2=pair_2,
        outer_spacer=stop + pair.width.nominal,
        inner_spacer=stop + pair.width.nominal,
        thrower=thrower,
        washer=washer_at,
        nut=nut_at,
        nut_end=nut_at + nut.width,
        outer_face=outer_face,
        cover_face=cover_face,
        spigot_end=cover_face - m.high_speed_cover.spigot.nominal,
        cover_end=cover_end,
        extension=extension,
        outer_end=extension + m.high_speed_shaft.extension_length,
        rib_in=stop - m.high_speed_cartridge.rib_width.nominal,
        nose=stop - m.high_speed_cartridge.rib_width.nominal - m.high_speed_cartridge.roller_seat_depth.nominal,
    )


def _low(m: Machine) -> LowSpeed:
    pair, roller, cartridge = m.low_speed_pair, m.lower_bearing, m.low_speed_cartridge
    assert pair.width is not None and roller.width is not None
    case_top = m.case.sealing_film + m.case.upper_height.nominal
    flange = case_top + m.gaskets.gear_gasket.clamped
    stop = flange + cartridge.stop_offset.nominal
    gear_front = stop - m.low_speed_shaft.collar_length.nominal
    gear_back = gear_front - m.gear.length.nominal
    spacer_end = gear_back - m.spacers.gear_spacer.nominal
    roller_low = spacer_end - roller.width.nominal
    thrower_end = roller_low - m.spacers.lower_thrower
    lower_nut, lower_washer = hardware.locknut(m.low_speed_shaft.lower_thread), hardware.tab_washer(m.low_speed_shaft.lower_thread)
    washer_end = thrower_end - lower_washer.thickness
    nut_end = washer_end - lower_nut.width
    nut, washer = hardware.locknut(m.low_speed_shaft.bearing_thread), hardware.tab_washer(m.low_speed_shaft.bearing_thread)
    pair_2 = stop + pair.width.nominal + pair.inner_spacer.nominal
    stack_top = pair_2 + pair.width.nominal
    outer_face = stop + cartridge.outer_face.nominal
    cover_face = outer_face + m.gaskets.low_speed_float_gasket.clamped
    cover_end = cover_face + m.low_speed_cover.thickness
    extension = cover_end + RUNOUT
    floor = -m.case.floor_depth.nominal
    carrier_flange = floor + m.carrier.gasket.clamped
    ring_seat = carrier_flange + m.carrier.flange_to_seat.nominal
    return LowSpeed(
        case_top=case_top,
        flange=flange,
        stop=stop,
        gear_front=gear_front,
        gear_back=gear_back,
        spacer_end=spacer_end,
        roller_low=roller_low,
        thrower_end=thrower_end,
        washer_end=washer_end,
        nut_end=nut_end,
        shaft_bottom=nut_end - 1.5 * RUNOUT,
        pair_2=pair_2,
        stack_top=stack_top,
        washer=stack_top,
        nut=stack_top + washer.thickness,
        nut_top=stack_top + washer.thickness + nut.width,
        outer_face=outer_face,
        cover_face=cover_face,
        cover_end=cover_end,
        extension=extension,
        shaft_top=extension + m.low_speed_shaft.extension_length,
        floor=floor,
        carrier_flange=carrier_flange,
        ring_seat=ring_seat,
        carrier_top=ring_seat + m.carrier.roller_seat_depth.nominal,
        carrier_bottom=carrier_flange - m.carrier.depth,
    )
