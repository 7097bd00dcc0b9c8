"""What a dimension of the machine file is called in the trade: its part and the size, in the language spoken.

Contents: `part_of`, `title`.
"""

from __future__ import annotations

from collections.abc import Mapping

from scenes.wording import text

PARTS: Mapping[str, str] = {
    "high_speed_cartridge": "part.cartridge",
    "high_speed_pair": "dimension.high_speed_pair",
    "low_speed_pair": "dimension.low_speed_pair",
    "high_speed_pair.inner_spacer": "part.high_speed_inner_spacer",
    "high_speed_pair.outer_spacer": "part.high_speed_outer_spacer",
    "low_speed_pair.inner_spacer": "part.low_speed_inner_spacer",
    "low_speed_pair.outer_spacer": "part.low_speed_outer_spacer",
    "case": "dimension.case",
    "carrier.gasket": "part.carrier_gasket",
    "gears.pinion_mounting_distance": "part.pinion",
    "gears.gear_mounting_distance": "part.gear",
    "pinion.key": "part.pinion_key",
    "gear.key": "part.gear_key",
    "high_speed_shaft.coupling_key": "part.high_speed_coupling_key",
    "low_speed_shaft.coupling_key": "part.low_speed_coupling_key",
}
"""Sections and places of the machine file that are not called as the part is."""
GASKETS = ("gaskets", "carrier.gasket")
"""Where a dimension is a gasket's own thickness, so that its name says it."""


def part_of(place: str) -> str:
    """Key of the part that has the dimension at that place of the machine file."""
    section, _, field = place.rpartition(".")
    for known in (place, section):
        if known in PARTS:
            return PARTS[known]
    return f"part.{field}" if section in ("spacers", "gaskets") else f"part.{section}"


def title(place: str) -> str:
    """A dimension in words, by its place in the machine file."""
    part = text(part_of(place))
    if place.startswith(GASKETS):
        return part
    section, _, field = place.rpartition(".")
    if section == "spacers" or field.endswith("_spacer"):
        field = "length"
    elif section.endswith("_pair"):
        field = f"pair_{field}"
    return text("dimension.title", part=part, size=text(f"dimension.{field}"))
