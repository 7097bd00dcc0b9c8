"""The low-speed side: shaft, gear and what sits on it, the carrier below, the cartridge and cover above, with their joints [mm, rad]."""

from __future__ import annotations

from math import cos, pi, sin

from calc import hardware
from geometry import bearing_parts, fasteners, sheets
from geometry.bill import Bill, on_low
from geometry.high_speed import (
    add_key,
    add_nut,
    add_screws,
    add_wire,
    circle_tuple,
    clearance_holes,
    counterbore,
    cover,
    cover_cavity,
    engagement,
    housing_fit,
    keyway,
    retainer_spec,
    ring_fit,
    seal,
    source,
    spacer_diameters,
    tapped_holes,
    tongue_slot,
    turned_round,
)
from geometry.joints import Fit, GasketJoint, RollerJoint, Seat
from geometry.layout import LowSpeed, seal_depth
from geometry.machine import Machine, Screws
from geometry.part import Feature, Matrix, Spec
from geometry.profile import OVERSHOOT, turned

AXIS = (0.0, 0.0, 1.0)
FRONT = -pi / 2.0
"""Angle of the low-speed keyways: toward -y, where the inspection plates are [rad]."""
TONGUE_DEPTH = 10.0
"""Depth of the pump's slot in the shaft end [mm], derived."""
TONGUE_PLAY = 2.5
"""Axial play of the pump's tongue in its slot [mm], derived."""
CARRIER_BOTTOM = 12.0
"""Thickness of the carrier's bottom [mm], derived."""
PUMP_FLANGE = 14.0
"""Thickness of the pump's flange [mm], derived."""
PUMP_BODY = 52.0
"""How far the pump reaches below the carrier [mm], derived."""
PUMP_SCREW = 25.0
"""Length of the pump's screws [mm], derived."""
PUMP_BORE = 0.42
"""Hole for the pump spindle over the lower seat's diameter, derived."""


def tongue_width(m: Machine) -> float:
    """Width of the pump's tongue [mm], derived: a sixth of the lower seat."""
    return round(m.low_speed_shaft.lower_seat.diameter / 6.0)


def shaft(m: Machine, at: LowSpeed) -> Spec:
    """The low-speed shaft in its own frame: z = 0 at the lower end, keyways toward its own -y."""
    s, zero = m.low_speed_shaft, at.shaft_bottom
    lower, upper = hardware.locknut(s.lower_thread), hardware.locknut(s.bearing_thread)
    section, coupling = m.gear.key.section(s.gear_seat.diameter), s.coupling_key.section(s.extension.diameter)
    outline = turned(
        [
            (0.0, at.thrower_end + 2.0 - zero, lower.thread_diameter),
            (at.thrower_end + 2.0 - zero, at.gear_back + 2.0 - zero, s.lower_seat.shaft_mean),
            (at.gear_back + 2.0 - zero, at.gear_front - zero, s.gear_seat.shaft_mean),
            (at.gear_front - zero, at.stop - zero, s.collar_diameter),
            (at.stop - zero, at.stack_top - 2.0 - zero, s.bearing_seat.shaft_mean),
            (at.stack_top - 2.0 - zero, at.nut_top + 1.0 - zero, upper.thread_diameter),
            (at.nut_top + 1.0 - zero, at.extension - zero, s.seal_diameter),
            (at.extension - zero, at.shaft_top - zero, s.extension.shaft_mean),
        ],
        chamfer=1.5,
    )
    half, reach = tongue_width(m) / 2.0 + 0.25, s.lower_seat.diameter
    top = at.shaft_top - zero
    cuts: tuple[Feature, ...] = (
        keyway(section, s.gear_seat.diameter, (at.gear_front + at.gear_back) / 2.0 - zero, m.gear.key.length, FRONT),
        tongue_slot(s.lower_thread, -OVERSHOOT, at.roller_low - 0.5 * m.spacers.lower_thrower - zero, FRONT + pi),
        tongue_slot(s.bearing_thread, at.stack_top - 1.0 - zero, at.nut_top + 1.0 + OVERSHOOT - zero, FRONT + pi),
        keyway(coupling, s.extension.diameter, top - 6.0 - s.coupling_key.length / 2.0, s.coupling_key.length, FRONT),
        ("box", (-reach, -half, -OVERSHOOT), (reach, half, TONGUE_DEPTH)),
    )
    return Spec("steel", loops=(outline,), cut=cuts)


def carrier(m: Machine, at: LowSpeed) -> Spec:
    """The carrier in its own frame: z = 0 at its lower end."""
    c, zero = m.carrier, at.carrier_bottom
    shaft_hole = PUMP_BORE * m.low_speed_shaft.lower_seat.diameter
    flange_top = at.carrier_flange + c.flange_thickness
    outline = turned(
        [
            (0.0, at.carrier_flange - zero, c.body.shaft_mean),
            (at.carrier_flange - zero, flange_top - zero, c.flange_diameter),
            (flange_top - zero, at.carrier_top - zero, c.body.diameter),
        ],
        [
            (0.0, CARRIER_BOTTOM, shaft_hole),
            (CARRIER_BOTTOM, at.ring_seat - zero, c.shoulder_bore),
            (at.ring_seat - zero, at.carrier_top - zero, c.roller_seat.hole_mean),
        ],
    )
    depth = engagement(c.retainer.screws, c.retainer.thickness) + 4.0
    pump = pump_screws(m)
    cuts = (
        clearance_holes(c.screws, at.carrier_flange - OVERSHOOT - zero, flange_top + OVERSHOOT - zero),
        tapped_holes(c.retainer.screws, at.carrier_top - depth - zero, at.carrier_top + OVERSHOOT - zero),
        tapped_holes(pump, -OVERSHOOT, pump.length - PUMP_FLANGE + 3.0),
    )
    return Spec("grey iron", loops=(outline,), cut=cuts)


def pump_screws(m: Machine) -> Screws:
    """The pump's screws, derived: four of the upper cover's thread on the middle of the carrier wall."""
    c = m.carrier
    circle = (c.body.diameter + c.shoulder_bore) / 2.0
    return m.low_speed_cover.screws.model_copy(
        update={"count": 4, "circle": circle, "first_angle": pi / 4.0, "length": PUMP_SCREW, "torque": None}
    )


def pump(m: Machine, at: LowSpeed, turn: float) -> Spec:
    """Oil pump as one body in its own frame: z = 0 at the face on the carrier, tongue upward, body downward."""
    c = m.carrier
    spindle = PUMP_BORE * m.low_speed_shaft.lower_seat.diameter - 3.0
    gasket = pump_gasket_thickness(m)
    face = at.carrier_bottom - gasket
    tongue_root = at.shaft_bottom - 2.0 - face
    tongue_top = at.shaft_bottom + TONGUE_DEPTH - TONGUE_PLAY - face
    outline = turned(
        [(-PUMP_BODY, -PUMP_FLANGE, c.shoulder_bore * 0.8), (-PUMP_FLANGE, 0.0, c.body.diameter), (0.0, tongue_root, spindle)],
        chamfer=2.0,
    )
    half = tongue_width(m) / 2.0
    tongue: Feature = ("block", turn, (-spindle * 0.42, -half, tongue_root - 1.0), (spindle * 0.42, half, tongue_top))
    return Spec(
        "grey iron",
        loops=(outline,),
        add=(tongue, ("rod", (0.0, 0.0, -30.0), (c.shoulder_bore * 0.4 + 14.0, 0.0, -30.0), 11.0)),
        cut=(
            clearance_holes(pump_screws(m), -PUMP_FLANGE - OVERSHOOT, OVERSHOOT),
            ("rod", (c.shoulder_bore * 0.3, 0.0, -30.0), (c.shoulder_bore * 0.4 + 16.0, 0.0, -30.0), 6.0),
        ),
    )


def pump_gasket_thickness(m: Machine) -> float:
    """Clamped pump gasket [mm], derived: as the carrier's."""
    return m.carrier.gasket.clamped


def cartridge(m: Machine, at: LowSpeed) -> Spec:
    """The low-speed cartridge in its own frame: z = 0 at its lower end (lip below the pair)."""
    c = m.low_speed_cartridge
    lip = lip_thickness(m)
    zero = at.stop - lip
    flange_top = at.flange + c.flange_thickness
    outline = turned(
        [
            (0.0, at.flange - zero, c.body.shaft_mean),
            (at.flange - zero, flange_top - zero, c.flange_diameter),
            (flange_top - zero, at.outer_face - zero, c.neck_diameter),
        ],
        [(0.0, lip, c.stop_bore), (lip, at.outer_face - zero, c.pair_seat.hole_mean)],
    )
    screws = m.low_speed_cover.screws
    tapped = engagement(screws, m.low_speed_cover.thickness - counterbore(m.low_speed_cover)) + 4.0
    cuts = (
        clearance_holes(c.screws, at.flange - OVERSHOOT - zero, at.flange + c.flange_thickness + OVERSHOOT - zero),
        tapped_holes(screws, at.outer_face - tapped - zero, at.outer_face + OVERSHOOT - zero),
    )
    return Spec("grey iron", loops=(outline,), cut=cuts)


def lip_thickness(m: Machine) -> float:
    """Height of the lip that carries the pair [mm], derived: a twentieth of the body."""
    return round(m.low_speed_cartridge.body.diameter / 20.0, 1)


def add(bill: Bill, m: Machine, at: LowSpeed, gear: Spec, gear_pose: Matrix, turn: float) -> None:
    """Add all low-speed parts and joints; `turn`: angle of the keyed shaft about z that brings the teeth into mesh [rad]."""
    s, gaskets, k = m.low_speed_shaft, m.gaskets, m.low_speed_cover
    roller, pair, c, base = m.lower_bearing, m.low_speed_pair, m.low_speed_cartridge, m.carrier
    assert roller.width is not None and roller.outside is not None and pair.width is not None and pair.outside is not None
    bench = "low_speed_shaft"

    bill.add("low_speed_shaft", "shaft", shaft(m, at), on_low(at.shaft_bottom, turn), bench)

    def place_key(along: float, up: float) -> Matrix:
        offset = turned_offset(up, turn + FRONT)
        return on_low(along, turn + FRONT, False, offset)

    add_key(
        bill,
        "gear_key",
        m.gear.key,
        s.gear_seat.diameter,
        (at.gear_front + at.gear_back) / 2.0,
        bench,
        "low_speed_shaft",
        "gear",
        place_key,
    )
    bill.add("gear", "gear", gear, gear_pose, bench)
    bill.join(
        Fit(
            "gear_bore",
            "gear",
            "low_speed_shaft",
            s.gear_seat.diameter,
            m.gear.bore.as_hole(),
            s.gear_seat.as_shaft(),
            m.gear.length.nominal - 2.0,
            (0, 0, (at.gear_front + at.gear_back) / 2),
            AXIS,
            "gear",
            source(m.gear.bore),
            source(s.gear_seat),
            1,
            m.gear.bore.measured,
            s.gear_seat.measured,
            m.gear.bore.drawn,
            s.gear_seat.drawn,
        ),
        Seat("gear_seat", "gear", "low_speed_shaft", AXIS, at.gear_front),
    )
    bill.add(
        "gear_spacer",
        "spacer",
        fasteners.spacer(
            bore=s.lower_seat.diameter + 0.2, outside=s.gear_seat.diameter * 1.28, length=m.spacers.gear_spacer.nominal
        ),
        on_low(at.spacer_end),
        bench,
    )
    bearing_parts.add_roller(bill, "lower_bearing", roller, on_low(at.roller_low), on_low(at.ring_seat), bench, "carrier")
    bill.add(
        "lower_thrower",
        "spacer",
        fasteners.oil_thrower(
            bore=s.lower_seat.diameter + 0.1, outside=m.spacers.lower_thrower_diameter, width=m.spacers.lower_thrower
        ),
        on_low(at.roller_low, 0.0, True),
        bench,
    )
    add_nut(
        bill,
        "lower_locknut",
        "lower_tab_washer",
        "low_speed_shaft",
        s.lower_thread,
        at.thrower_end,
        bench,
        high=False,
        flipped=True,
        angle=-(turn + FRONT),
    )
    bill.join(
        ring_fit(
            "lower_bearing_bore",
            "lower_bearing_inner_ring",
            "low_speed_shaft",
            roller.bore,
            s.lower_seat,
            roller.width.nominal,
            (at.roller_low + at.spacer_end) / 2,
            1,
            AXIS,
        ),
        housing_fit(
            "lower_bearing_outside",
            "lower_bearing_outer_ring",
            "carrier",
            roller.outside,
            base.roller_seat,
            roller.width.nominal,
            at.ring_seat + roller.width.nominal / 2,
            AXIS,
        ),
        Seat("lower_bearing_inner_ring_seat", "lower_bearing_inner_ring", "gear_spacer", AXIS, at.spacer_end),
        Seat("lower_bearing_outer_ring_seat", "lower_bearing_outer_ring", "carrier", AXIS, at.ring_seat),
        RollerJoint(
            "lower_bearing_overlap",
            "lower_bearing_rollers",
            "lower_bearing_outer_ring",
            roller.width.nominal,
            at.roller_low - at.ring_seat,
            (0, -roller.raceway_outer / 2, (at.roller_low + at.spacer_end) / 2),
        ),
    )

    bill.add("carrier", "cartridge", carrier(m, at), on_low(at.carrier_bottom), "carrier")
    ring_top = at.ring_seat + roller.width.nominal
    bill.add(
        "lower_retainer",
        "cartridge",
        retainer_spec(base.retainer.bore, base.retainer.outside, base.retainer.thickness, base.retainer.screws),
        on_low(ring_top),
        "carrier",
    )
    head = ring_top + base.retainer.thickness
    add_screws(
        bill,
        "lower_retainer_screw",
        base.retainer.screws,
        head,
        "lower_retainer",
        "carrier",
        "carrier",
        face=head - base.retainer.thickness,
        high=False,
    )
    add_wire(bill, "lower_retainer_wire", "lower_retainer_screw", base.retainer.screws, on_low(head), "carrier")
    floor_hole = m.case.floor_bore.diameter
    bill.add(
        "carrier_gasket",
        "gasket",
        sheets.gasket(
            outside=base.flange_diameter, inside=floor_hole + 1.0, thickness=base.gasket.clamped, holes=circle_tuple(base.screws)
        ),
        on_low(at.floor),
        "case",
    )
    flange_top = at.carrier_flange + base.flange_thickness
    add_screws(bill, "carrier_screw", base.screws, flange_top, "carrier", "lower_case", "case", face=at.floor, high=False)
    add_wire(bill, "carrier_wire", "carrier_screw", base.screws, on_low(flange_top), "case")
    bill.join(
        GasketJoint(
            "carrier_gasket", "carrier_gasket", "carrier", "lower_case", base.gasket.thickness, base.gasket.clamped, AXIS, at.floor
        ),
        Fit(
            "carrier_body",
            "lower_case",
            "carrier",
            floor_hole,
            m.case.floor_bore.as_hole(),
            base.body.as_shaft(),
            m.case.wall,
            (0, 0, at.floor - m.case.wall / 2),
            AXIS,
            "cartridge",
            source(m.case.floor_bore),
            source(base.body),
            bore_read=m.case.floor_bore.measured,
            bore_drawn=m.case.floor_bore.drawn,
            shaft_read=base.body.measured,
            shaft_drawn=base.body.drawn,
        ),
    )

    bill.add(
        "gear_gasket",
        "gasket",
        sheets.gasket(
            outside=c.flange_diameter,
            inside=m.case.upper_bore.diameter + 1.0,
            thickness=gaskets.gear_gasket.clamped,
            holes=circle_tuple(c.screws),
        ),
        on_low(at.case_top),
        "case",
    )
    bill.add("low_speed_cartridge", "cartridge", cartridge(m, at), on_low(at.stop - lip_thickness(m)), "case")
    add_screws(
        bill,
        "low_speed_cartridge_screw",
        c.screws,
        at.flange + c.flange_thickness,
        "low_speed_cartridge",
        "upper_case",
        "case",
        face=at.case_top,
        high=False,
    )
    bill.join(
        GasketJoint(
            "gear_gasket",
            "gear_gasket",
            "low_speed_cartridge",
            "upper_case",
            gaskets.gear_gasket.thickness,
            gaskets.gear_gasket.clamped,
            AXIS,
            at.case_top,
        ),
        Fit(
            "low_speed_cartridge_body",
            "upper_case",
            "low_speed_cartridge",
            m.case.upper_bore.diameter,
            m.case.upper_bore.as_hole(),
            c.body.as_shaft(),
            m.case.wall,
            (0, 0, at.case_top - m.case.wall / 2),
            AXIS,
            "cartridge",
            source(m.case.upper_bore),
            source(c.body),
            bore_read=m.case.upper_bore.measured,
            bore_drawn=m.case.upper_bore.drawn,
            shaft_read=c.body.measured,
            shaft_drawn=c.body.drawn,
        ),
    )
    for index, start in ((1, at.stop), (2, at.pair_2)):
        name, flipped = f"low_speed_bearing_{index}", turned_round(pair.arrangement, index)
        bearing_parts.add_angular(bill, name, pair, on_low(start + (pair.width.nominal if flipped else 0.0), 0.0, flipped), "case")
        middle = start + pair.width.nominal / 2
        bill.join(
            ring_fit(
                f"{name}_bore",
                f"{name}_inner_ring",
                "low_speed_shaft",
                pair.bore,
                s.bearing_seat,
                pair.width.nominal,
                middle,
                -1,
                AXIS,
            ),
            housing_fit(
                f"{name}_outside",
                f"{name}_outer_ring",
                "low_speed_cartridge",
                pair.outside,
                c.pair_seat,
                pair.width.nominal,
                middle,
                AXIS,
            ),
        )
    bill.join(
        Seat("low_speed_bearing_1_stop", "low_speed_bearing_1_outer_ring", "low_speed_cartridge", AXIS, at.stop),
        Seat("low_speed_bearing_1_shoulder", "low_speed_bearing_1_inner_ring", "low_speed_shaft", AXIS, at.stop),
    )
    between = at.stop + pair.width.nominal
    inner_outside, outer_bore = spacer_diameters(pair.bore, pair.outside)
    bill.add(
        "low_speed_inner_spacer",
        "spacer",
        fasteners.spacer(bore=pair.bore + 0.1, outside=inner_outside, length=pair.inner_spacer.nominal),
        on_low(between),
        "case",
    )
    bill.add(
        "low_speed_outer_spacer",
        "spacer",
        fasteners.spacer(bore=outer_bore, outside=pair.outside - 0.1, length=pair.outer_spacer.nominal),
        on_low(between),
        "case",
    )
    add_nut(
        bill,
        "low_speed_locknut",
        "low_speed_tab_washer",
        "low_speed_shaft",
        s.bearing_thread,
        at.washer,
        "case",
        high=False,
        flipped=False,
        angle=turn + FRONT,
    )

    cavity = cover_cavity(s.bearing_thread)
    bill.add(
        "low_speed_cover",
        "cartridge",
        cover(k, pair.outside, cavity, s.seal_diameter),
        on_low(at.cover_face - k.spigot.nominal),
        "low_speed_cover",
    )
    bill.add(
        "low_speed_seal",
        "seal",
        seal(s.seal_diameter, k.seal_outside, k.seal_width),
        on_low(at.cover_face + seal_depth(k.thickness, k.seal_width)),
        "low_speed_cover",
    )
    bill.add(
        "low_speed_float_gasket",
        "gasket",
        sheets.gasket(
            outside=k.outside,
            inside=pair.outside + 1.0,
            thickness=gaskets.low_speed_float_gasket.clamped,
            holes=circle_tuple(k.screws),
        ),
        on_low(at.outer_face),
        "case",
    )
    add_screws(
        bill,
        "low_speed_cover_screw",
        k.screws,
        at.cover_end - counterbore(k),
        "low_speed_cover",
        "low_speed_cartridge",
        "case",
        face=at.outer_face,
        high=False,
    )
    bill.join(
        GasketJoint(
            "low_speed_float_gasket",
            "low_speed_float_gasket",
            "low_speed_cover",
            "low_speed_cartridge",
            gaskets.low_speed_float_gasket.thickness,
            gaskets.low_speed_float_gasket.clamped,
            AXIS,
            at.outer_face,
        )
    )
    add_key(
        bill,
        "low_speed_coupling_key",
        s.coupling_key,
        s.extension.diameter,
        at.shaft_top - 6.0 - s.coupling_key.length / 2,
        "case",
        "low_speed_shaft",
        "",
        place_key,
    )

    screws, gasket = pump_screws(m), pump_gasket_thickness(m)
    bill.add(
        "pump_gasket",
        "gasket",
        sheets.gasket(
            outside=base.body.diameter, inside=PUMP_BORE * s.lower_seat.diameter + 2.0, thickness=gasket, holes=circle_tuple(screws)
        ),
        on_low(at.carrier_bottom - gasket),
        "case",
    )
    bill.add("oil_pump", "cartridge", pump(m, at, turn), on_low(at.carrier_bottom - gasket), "case")
    add_screws(
        bill,
        "pump_screw",
        screws,
        at.carrier_bottom - gasket - PUMP_FLANGE,
        "oil_pump",
        "carrier",
        "case",
        face=at.carrier_bottom,
        high=False,
        flipped=True,
    )


def turned_offset(radius: float, angle: float) -> tuple[float, float]:
    """A point at this radius and angle [mm, rad]."""
    return radius * cos(angle), radius * sin(angle)
