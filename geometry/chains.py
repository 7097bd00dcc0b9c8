"""The dimension chains of the reducer: what the gaskets set, link by link [mm]."""

from __future__ import annotations

from calc.chain import Link
from geometry.bill import Bill
from geometry.joints import Chain
from geometry.layout import Layout
from geometry.machine import Cartridge, Cover, Gasket, Machine, Pair, Size

GASKET_SPREAD = 0.05
"""Half width of a new gasket's thickness over its nominal: common practice, no source (a measured one has none)."""


def _link(name: str, sign: int, size: Size) -> Link:
    source = "source.settled" if size.settled else "source.measured" if size.measured else "source.drawing"
    return Link(name, sign, size.nominal, size.lower, size.upper, source)


def _gasket(name: str, sign: int, gasket: Gasket) -> Link:
    spread = GASKET_SPREAD * gasket.clamped
    return Link(name, sign, gasket.clamped, -spread, spread, "source.gasket")


def pinion_set(m: Machine) -> tuple[Link, ...]:
    """Crossing point to the pinion's back face, pair against the inner stop."""
    assert m.inner_bearing.width is not None
    return (
        _link("link.case_end_face", 1, m.case.end_face),
        _gasket("part.pinion_gasket", 1, m.gaskets.pinion_gasket),
        _link("link.cartridge_stop_offset", 1, m.high_speed_cartridge.stop_offset),
        _link("part.high_speed_sleeve", -1, m.spacers.high_speed_sleeve),
        _link("link.inner_ring_width", -1, m.inner_bearing.width),
        _link("link.collar_width", -1, m.high_speed_shaft.collar_width),
    )


def end_play(cartridge: Cartridge, cover: Cover, pair: Pair, gasket_name: str, gasket: Gasket) -> tuple[Link, ...]:
    """Float of the ring stack between inner stop and cover spigot."""
    assert pair.width is not None
    return (
        _link("link.stop_to_outer_face", 1, cartridge.outer_face),
        _gasket(gasket_name, 1, gasket),
        _link("link.bearing_1_width", -1, pair.width),
        _link("link.outer_spacer", -1, pair.outer_spacer),
        _link("link.bearing_2_width", -1, pair.width),
        _link("link.cover_spigot", -1, cover.spigot),
    )


def gear_distance(m: Machine) -> tuple[Link, ...]:
    """Crossing point down to the gear's back face; the sealing film at the split is a link."""
    film = Link("link.sealing_film", -1, m.case.sealing_film, -m.case.sealing_film, m.case.sealing_film, "source.common_practice")
    return (
        _link("link.collar_length", 1, m.low_speed_shaft.collar_length),
        _link("link.gear_length", 1, m.gear.length),
        film,
        _link("link.upper_height", -1, m.case.upper_height),
        _gasket("part.gear_gasket", -1, m.gaskets.gear_gasket),
        _link("link.cartridge_stop_offset", -1, m.low_speed_cartridge.stop_offset),
    )


def internal_play(pair: Pair) -> Link:
    """Internal play of the mounted pair, counted when above zero."""
    play = max(pair.internal_play, 0.0)
    return Link("link.internal_play", 1, play, 0.0, 0.0, "source.maker")


def add(bill: Bill, m: Machine, layout: Layout) -> None:
    """Declare the five chains."""
    gears, limits, gaskets = m.gears, m.limits, m.gaskets
    high, low = layout.high, layout.low
    pmd, gmd = gears.pinion_mounting_distance, gears.gear_mounting_distance
    high_play = (
        *end_play(
            m.high_speed_cartridge,
            m.high_speed_cover,
            m.high_speed_pair,
            "part.high_speed_float_gasket",
            gaskets.high_speed_float_gasket,
        ),
        internal_play(m.high_speed_pair),
    )
    low_play = (
        *end_play(
            m.low_speed_cartridge,
            m.low_speed_cover,
            m.low_speed_pair,
            "part.low_speed_float_gasket",
            gaskets.low_speed_float_gasket,
        ),
        internal_play(m.low_speed_pair),
    )
    bill.close(
        Chain("pinion_set", pinion_set(m), "cartridge", "pinion_gasket", 1.0, None, None, "", (high.pinion_back, 0, 0)),
        Chain(
            "pinion_running",
            (*pinion_set(m), *high_play),
            "high_speed_cover",
            "pinion_gasket",
            1.0,
            pmd.low,
            pmd.high,
            "source.set_marking",
            (high.pinion_back, 0, 0),
        ),
        Chain(
            "gear_distance",
            gear_distance(m),
            "low_speed_bearing_1",
            "gear_gasket",
            -1.0,
            gmd.low,
            gmd.high,
            "source.set_marking",
            (0, 0, low.gear_back),
        ),
        Chain(
            "high_speed_end_play",
            high_play,
            "high_speed_cover",
            "high_speed_float_gasket",
            1.0,
            *limits.high_speed_end_play,
            "source.owner",
            (high.outer_face, 0, 0),
        ),
        Chain(
            "low_speed_end_play",
            low_play,
            "low_speed_cover",
            "low_speed_float_gasket",
            1.0,
            *limits.low_speed_end_play,
            "source.owner",
            (0, 0, low.outer_face),
        ),
    )
