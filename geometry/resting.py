"""What loose parts lie on or sit in: spacers, throwers, seals, plain gaskets, the sealing compound, plugs, packers."""

from __future__ import annotations

from geometry.bill import Bill
from geometry.joints import Rest

LOOSE = (
    Rest("high_speed_sleeve_rest", "high_speed_sleeve", ("high_speed_shaft", "inner_bearing_inner_ring")),
    Rest("high_speed_inner_spacer_rest", "high_speed_inner_spacer", ("high_speed_bearing_1_inner_ring", "high_speed_shaft")),
    Rest("high_speed_outer_spacer_rest", "high_speed_outer_spacer", ("high_speed_bearing_1_outer_ring", "cartridge")),
    Rest("high_speed_thrower_rest", "high_speed_thrower", ("high_speed_shaft", "high_speed_bearing_2_inner_ring")),
    Rest("high_speed_seal_rest", "high_speed_seal", ("high_speed_cover",)),
    Rest("gear_spacer_rest", "gear_spacer", ("gear", "low_speed_shaft")),
    Rest("lower_thrower_rest", "lower_thrower", ("lower_bearing_inner_ring", "low_speed_shaft")),
    Rest("low_speed_inner_spacer_rest", "low_speed_inner_spacer", ("low_speed_bearing_1_inner_ring", "low_speed_shaft")),
    Rest("low_speed_outer_spacer_rest", "low_speed_outer_spacer", ("low_speed_bearing_1_outer_ring", "low_speed_cartridge")),
    Rest("low_speed_seal_rest", "low_speed_seal", ("low_speed_cover",)),
    Rest("pump_gasket_rest", "pump_gasket", ("carrier", "oil_pump"), "oil_pump"),
    Rest("lower_plate_gasket_rest", "lower_plate_gasket", ("lower_case", "lower_plate"), "lower_plate"),
    Rest("upper_plate_gasket_rest", "upper_plate_gasket", ("upper_case", "upper_plate"), "upper_plate"),
    Rest("sealant_bead_rest", "sealant_bead", ("lower_case",), "upper_case"),
    Rest("drain_plug_rest", "drain_plug", ("lower_case",)),
    Rest("level_plug_rest", "level_plug", ("lower_case",)),
    Rest("breather_rest", "breather", ("upper_case",)),
    Rest("packer_rest", "packer", ("lower_case",)),
)
"""Every loose part of this layout; a part that a machine does without has none."""


def add(bill: Bill) -> None:
    """Declare them for the parts on the bill."""
    there = {part.name.rsplit("_", 1)[0] if part.number else part.name for part in bill.parts}
    bill.join(*(rest for rest in LOOSE if rest.part in there))
