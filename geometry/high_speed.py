"""The high-speed side: shaft, pinion and what sits on it, its cartridge, cover and gaskets, with their joints [mm, rad].

Proportions not in the machine file (chamfers, undercuts, seal walls) are derived and written where they are used.
"""

from __future__ import annotations

from collections.abc import Callable
from math import cos, pi, sin

from calc import bearings, hardware, keys
from geometry import bearing_parts, fasteners, sheets
from geometry.bill import Bill, on_high, on_low
from geometry.fields import Fitted
from geometry.joints import Fit, GasketJoint, KeyJoint, NutJoint, PortJoint, RollerJoint, ScrewJoint, Seat, WireJoint
from geometry.layout import HighSpeed, cavity_depth, seal_depth
from geometry.machine import Cover, Key, Machine, Screws
from geometry.part import Feature, Matrix, Spec
from geometry.profile import OVERSHOOT, circle_of_holes, turned

AXIS = (1.0, 0.0, 0.0)
PORT_CIRCLE = 1.075
"""Radius of the oil port circle over the case bore's radius, derived."""
PORT_DIAMETER = 6.0
"""Oil port in case face, pinion gasket and flange [mm], derived."""


def keyway(section: keys.KeySection, diameter: float, middle: float, length: float, angle: float = 0.0) -> Feature:
    """Round-ended keyway in a shaft, `middle` its place along the local axis [mm]."""
    return (
        "keyway",
        angle,
        diameter / 2.0 - section.shaft_depth,
        section.width,
        middle - length / 2.0,
        middle + length / 2.0,
        "round",
    )


def tongue_slot(thread: str, low: float, high: float, angle: float = pi) -> Feature:
    """Slot for the tab washer's tongue along a thread [mm]."""
    washer = hardware.tab_washer(thread)
    floor = washer.tongue_to_bore - washer.bore / 2.0
    return ("keyway", angle, floor - 0.3, washer.tongue_width + 0.2, low, high, "flat")


def hub_keyway(section: keys.KeySection, shaft_diameter: float, low: float, high: float, angle: float = 0.0) -> Feature:
    """Through keyway in a hub [mm]."""
    half = section.width / 2.0
    return ("block", angle, (0.0, -half, low), (shaft_diameter / 2.0 + section.hub_depth, half, high))


def key_spec(section: keys.KeySection, length: float) -> Spec:
    """The key lying along local z, its foot at the shaft's centre height 0."""
    return fasteners.key(width=section.width, height=section.height, length=length, ends="round")


def screw_spec(screws: Screws) -> Spec:
    """Socket screw of this circle after ISO 4762 or the inch table."""
    size = hardware.socket_screw(screws.thread)
    return fasteners.socket_screw(
        diameter=size.diameter,
        length=screws.length,
        head_diameter=size.head_diameter,
        head_height=size.head_height,
        hexagon=size.hexagon,
        socket_depth=size.socket_depth,
        drilled=screws.drilled,
    )


def clearance_holes(screws: Screws, low: float, high: float) -> Feature:
    """Through holes after ISO 273 medium [mm]."""
    size = hardware.socket_screw(screws.thread)
    return circle_of_holes(screws.count, screws.circle, screws.first_angle, low, high, size.clearance_hole)


def tapped_holes(screws: Screws, low: float, high: float) -> Feature:
    """Tapped holes, drawn at the thread's nominal diameter (threads are plain cylinders) [mm]."""
    size = hardware.socket_screw(screws.thread)
    return circle_of_holes(screws.count, screws.circle, screws.first_angle, low, high, size.diameter)


def engagement(screws: Screws, clamped: float) -> float:
    """Thread length past the clamped parts [mm]."""
    return screws.length - clamped


def shaft(m: Machine, at: HighSpeed) -> Spec:
    """The shaft in its own frame: z = 0 at the inner end."""
    s, zero = m.high_speed_shaft, at.inner_end
    inner, outer = hardware.locknut(s.pinion_thread), hardware.locknut(s.bearing_thread)
    seat, extension = s.pinion_seat, s.extension
    section, coupling = m.pinion.key.section(seat.diameter), s.coupling_key.section(extension.diameter)
    thread_from = at.thrower + m.spacers.high_speed_thrower - 2.0
    outline = turned(
        [
            (0.0, at.pinion_front + 2.0 - zero, inner.thread_diameter),
            (at.pinion_front + 2.0 - zero, at.pinion_back - zero, seat.shaft_mean),
            (at.pinion_back - zero, at.roller_in - zero, s.collar_diameter),
            (at.roller_in - zero, thread_from - zero, s.bearing_seat.shaft_mean),
            (thread_from - zero, at.nut_end + 2.0 - zero, outer.thread_diameter),
            (at.nut_end + 2.0 - zero, at.extension - zero, s.seal_diameter),
            (at.extension - zero, at.outer_end - zero, extension.shaft_mean),
        ],
        chamfer=1.5,
    )
    middle = (at.pinion_front + at.pinion_back) / 2.0 - zero
    end = at.outer_end - zero
    cuts = (
        keyway(section, seat.diameter, middle, m.pinion.key.length),
        tongue_slot(s.pinion_thread, -OVERSHOOT, at.pinion_front + 1.0 - zero),
        tongue_slot(s.bearing_thread, at.washer - 1.0 - zero, at.nut_end + 2.0 + OVERSHOOT - zero),
        keyway(coupling, extension.diameter, end - 6.0 - s.coupling_key.length / 2.0, s.coupling_key.length),
    )
    return Spec("steel", loops=(outline,), cut=cuts)


def cover(c: Cover, pair_outside: float, cavity: float, seal_diameter: float) -> Spec:
    """Cover with spigot, cavity, seal wall and seal pocket: z = 0 at the spigot's end."""
    spigot, end = c.spigot.nominal, c.spigot.nominal + c.thickness
    wall, pocket = spigot + cavity_depth(c.thickness, c.seal_width), spigot + seal_depth(c.thickness, c.seal_width)
    outline = turned(
        [(0.0, spigot, pair_outside - 0.3), (spigot, end, c.outside)],
        [
            (0.0, wall, cavity),
            (wall, pocket, seal_diameter + 4.0),
            (pocket, end, c.seal_outside),
        ],
        chamfer=0.0,
    )
    size = hardware.socket_screw(c.screws.thread)
    sunk = end - counterbore(c)
    return Spec(
        "grey iron",
        loops=(outline,),
        cut=(
            clearance_holes(c.screws, spigot - OVERSHOOT, end),
            circle_of_holes(c.screws.count, c.screws.circle, c.screws.first_angle, sunk, end + OVERSHOOT, size.head_diameter + 2.0),
        ),
    )


def counterbore(c: Cover) -> float:
    """Depth of the screw head pockets in a cover [mm], derived: leaves 14 mm, or the cover's own thickness, under the head."""
    return c.thickness - min(14.0, 0.6 * c.thickness)


def seal(diameter: float, outside: float, width: float) -> Spec:
    """Radial lip seal as a plain ring with its lip cavity on the oil side (z = 0)."""
    body = turned(
        [(0.0, width, outside)],
        [(0.0, 0.55 * width, diameter + 0.45 * (outside - diameter)), (0.55 * width, width, diameter)],
    )
    return Spec("rubber", loops=(body,))


def cartridge(m: Machine, at: HighSpeed) -> Spec:
    """The cartridge in its own frame: z = 0 at the nose."""
    c, zero = m.high_speed_cartridge, at.nose
    flange_out = at.flange_in + c.flange_thickness
    outline = turned(
        [
            (0.0, at.flange_in - zero, c.body.shaft_mean),
            (at.flange_in - zero, flange_out - zero, c.flange_diameter),
            (flange_out - zero, at.outer_face - zero, c.neck_diameter),
        ],
        [
            (0.0, at.rib_in - zero, c.roller_seat.hole_mean),
            (at.rib_in - zero, at.stop - zero, c.stop_bore),
            (at.stop - zero, at.outer_face - zero, c.pair_seat.hole_mean),
        ],
    )
    port = m.case.horizontal_bore.diameter / 2.0 * PORT_CIRCLE
    middle = at.flange_in + c.flange_thickness / 2.0 - zero
    cover_screws, retainer = m.high_speed_cover.screws, c.retainer
    tapped = engagement(cover_screws, m.high_speed_cover.thickness - counterbore(m.high_speed_cover)) + 4.0
    nose = engagement(retainer.screws, retainer.thickness) + 4.0
    cuts: tuple[Feature, ...] = (
        clearance_holes(c.screws, at.flange_in - OVERSHOOT - zero, flange_out + OVERSHOOT - zero),
        tapped_holes(cover_screws, at.outer_face - tapped - zero, at.outer_face + OVERSHOOT - zero),
        tapped_holes(retainer.screws, -OVERSHOOT, nose),
        ("rod", (port, 0.0, at.flange_in - OVERSHOOT - zero), (port, 0.0, middle), PORT_DIAMETER / 2.0),
        ("rod", (c.stop_bore / 2.0 - OVERSHOOT, 0.0, middle), (port + PORT_DIAMETER / 4.0, 0.0, middle), PORT_DIAMETER / 2.0),
    )
    return Spec("grey iron", loops=(outline,), cut=cuts)


def retainer_spec(bore: float, outside: float, thickness: float, screws: Screws) -> Spec:
    """Flat retainer ring: z = 0 at the face on the bearing ring."""
    return Spec(
        "steel",
        loops=(turned([(0.0, thickness, outside)], [(0.0, thickness, bore)], chamfer=0.5),),
        cut=(clearance_holes(screws, -OVERSHOOT, thickness + OVERSHOOT),),
    )


def mirrored(screws: Screws) -> Screws:
    """The same circle as seen from the other side: what a flipped part must carry to line up."""
    return screws.model_copy(update={"first_angle": -screws.first_angle})


def wire_points(screws: Screws, head_height: float) -> tuple[tuple[tuple[float, float, float], ...], ...]:
    """Middles of the heads on each lockwire of one circle: pairs of neighbours, of an odd count the last three; local frame (z = 0
    under the heads) [mm]."""
    height, radius = head_height * 0.55, screws.circle / 2.0
    angles = [screws.first_angle + 2 * pi * index / screws.count for index in range(screws.count)]
    heads = [(radius * cos(angle), radius * sin(angle), height) for angle in angles]
    starts = range(0, screws.count - 1, 2)
    return tuple(tuple(heads[start : start + 2] if start + 3 != screws.count else heads[start:]) for start in starts)


def add_key(
    bill: Bill,
    name: str,
    key: Key,
    diameter: float,
    middle: float,
    bench: str,
    host: str,
    hub: str,
    place: Callable[[float, float], Matrix],
) -> None:
    """The key and its joint; `place(middle - length/2, offset)` gives the pose [mm]."""
    section = key.section(diameter)
    foot = diameter / 2.0 - section.shaft_depth
    bill.add(name, "fastener", key_spec(section, key.length), place(middle - key.length / 2.0, foot), bench, host=host)
    centre = place(middle, diameter / 2.0)[:3, 3]
    bill.join(
        KeyJoint(
            name,
            name,
            host,
            hub,
            diameter,
            section.width,
            section.height,
            key.length,
            section.shaft_depth,
            section.hub_depth,
            (float(centre[0]), float(centre[1]), float(centre[2])),
        )
    )


def add(bill: Bill, m: Machine, at: HighSpeed, pinion: Spec, pinion_pose: Matrix) -> None:
    """Add all high-speed parts and joints to the bill."""
    s, c, gaskets = m.high_speed_shaft, m.high_speed_cartridge, m.gaskets
    roller, pair = m.inner_bearing, m.high_speed_pair
    assert roller.width is not None and roller.outside is not None and pair.width is not None and pair.outside is not None
    shaft_bench, bench = "high_speed_shaft", "cartridge"

    bill.add("high_speed_shaft", "shaft", shaft(m, at), on_high(at.inner_end), shaft_bench)
    add_key(
        bill,
        "pinion_key",
        m.pinion.key,
        s.pinion_seat.diameter,
        (at.pinion_front + at.pinion_back) / 2,
        shaft_bench,
        "high_speed_shaft",
        "pinion",
        lambda along, up: on_high(along, 0.0, False, (up, 0.0)),
    )
    bill.add("pinion", "pinion", pinion, pinion_pose, shaft_bench)
    _nut(
        bill, "pinion_locknut", "pinion_tab_washer", "high_speed_shaft", s.pinion_thread, at.pinion_front, shaft_bench, inward=True
    )
    bill.join(
        Fit(
            "pinion_bore",
            "pinion",
            "high_speed_shaft",
            s.pinion_seat.diameter,
            m.pinion.bore.as_hole(),
            s.pinion_seat.as_shaft(),
            m.pinion.length.nominal - 2.0,
            ((at.pinion_front + at.pinion_back) / 2, 0, 0),
            AXIS,
            "gear",
            source(m.pinion.bore),
            source(s.pinion_seat),
            1,
            m.pinion.bore.measured,
            s.pinion_seat.measured,
            m.pinion.bore.drawn,
            s.pinion_seat.drawn,
        ),
        Seat("pinion_seat", "pinion", "high_speed_shaft", AXIS, at.pinion_back),
    )

    bearing_parts.add_roller(
        bill, "inner_bearing", roller, on_high(at.roller_in), on_high(at.rib_in - roller.width.nominal), shaft_bench, bench
    )
    bill.add(
        "high_speed_sleeve",
        "spacer",
        fasteners.spacer(bore=s.bearing_seat.diameter + 0.1, outside=s.bearing_seat.diameter * 1.2, length=at.stop - at.roller_out),
        on_high(at.roller_out),
        bench,
    )
    bill.join(
        ring_fit(
            "inner_bearing_bore",
            "inner_bearing_inner_ring",
            "high_speed_shaft",
            roller.bore,
            s.bearing_seat,
            roller.width.nominal,
            (at.roller_in + at.roller_out) / 2,
            -1,
        ),
        housing_fit(
            "inner_bearing_outside",
            "inner_bearing_outer_ring",
            "cartridge",
            roller.outside,
            c.roller_seat,
            roller.width.nominal,
            at.rib_in - roller.width.nominal / 2,
        ),
        Seat("inner_bearing_inner_ring_seat", "inner_bearing_inner_ring", "high_speed_shaft", AXIS, at.roller_in),
        Seat("inner_bearing_outer_ring_seat", "inner_bearing_outer_ring", "cartridge", AXIS, at.rib_in),
        RollerJoint(
            "inner_bearing_overlap",
            "inner_bearing_rollers",
            "inner_bearing_outer_ring",
            roller.width.nominal,
            at.roller_in - (at.rib_in - roller.width.nominal),
            ((at.roller_in + at.roller_out) / 2, 0, roller.raceway_outer / 2),
        ),
    )

    bill.add("cartridge", "cartridge", cartridge(m, at), on_high(at.nose), bench)
    ring_face = at.rib_in - roller.width.nominal
    retainer = c.retainer
    bill.add(
        "inner_retainer",
        "cartridge",
        retainer_spec(retainer.bore, retainer.outside, retainer.thickness, mirrored(retainer.screws)),
        on_high(ring_face, 0.0, True),
        bench,
    )
    head = ring_face - retainer.thickness
    add_screws(
        bill,
        "inner_retainer_screw",
        retainer.screws,
        head,
        "inner_retainer",
        "cartridge",
        bench,
        face=ring_face,
        high=True,
        flipped=True,
    )
    add_wire(bill, "inner_retainer_wire", "inner_retainer_screw", mirrored(retainer.screws), on_high(head, 0.0, True), bench)

    for index, start in ((1, at.pair_1), (2, at.pair_2)):
        name = f"high_speed_bearing_{index}"
        bearing_parts.add_angular(
            bill,
            name,
            pair,
            on_high(
                start + (pair.width.nominal if turned_round(pair.arrangement, index) else 0.0),
                0.0,
                turned_round(pair.arrangement, index),
            ),
            bench,
        )
        bill.join(
            ring_fit(
                f"{name}_bore",
                f"{name}_inner_ring",
                "high_speed_shaft",
                pair.bore,
                s.bearing_seat,
                pair.width.nominal,
                start + pair.width.nominal / 2,
                -1,
            ),
            housing_fit(
                f"{name}_outside",
                f"{name}_outer_ring",
                "cartridge",
                pair.outside,
                c.pair_seat,
                pair.width.nominal,
                start + pair.width.nominal / 2,
            ),
        )
    bill.join(Seat("high_speed_bearing_1_stop", "high_speed_bearing_1_outer_ring", "cartridge", AXIS, at.stop))
    between = at.stop + pair.width.nominal
    inner_outside, outer_bore = spacer_diameters(pair.bore, pair.outside)
    bill.add(
        "high_speed_inner_spacer",
        "spacer",
        fasteners.spacer(bore=pair.bore + 0.1, outside=inner_outside, length=pair.inner_spacer.nominal),
        on_high(between),
        bench,
    )
    bill.add(
        "high_speed_outer_spacer",
        "spacer",
        fasteners.spacer(bore=outer_bore, outside=pair.outside - 0.1, length=pair.outer_spacer.nominal),
        on_high(between),
        bench,
    )
    bill.add(
        "high_speed_thrower",
        "spacer",
        fasteners.oil_thrower(
            bore=s.bearing_seat.diameter + 0.1, outside=m.spacers.high_speed_thrower_diameter, width=m.spacers.high_speed_thrower
        ),
        on_high(at.thrower),
        bench,
    )
    _nut(bill, "high_speed_locknut", "high_speed_tab_washer", "high_speed_shaft", s.bearing_thread, at.washer, bench, inward=False)

    bore = m.case.horizontal_bore.diameter
    holes = circle_tuple(c.screws)
    bill.add(
        "pinion_gasket",
        "gasket",
        sheets.gasket(
            outside=c.flange_diameter,
            inside=bore + 1.0,
            thickness=gaskets.pinion_gasket.clamped,
            holes=holes,
            ports=((bore / 2.0 * PORT_CIRCLE, 0.0, PORT_DIAMETER),),
        ),
        on_high(at.case_face),
        bench,
    )
    flange_out = at.flange_in + c.flange_thickness
    add_screws(bill, "cartridge_screw", c.screws, flange_out, "cartridge", "lower_case", "case", face=at.case_face, high=True)
    bill.join(
        GasketJoint(
            "pinion_gasket",
            "pinion_gasket",
            "cartridge",
            "lower_case",
            gaskets.pinion_gasket.thickness,
            gaskets.pinion_gasket.clamped,
            AXIS,
            at.case_face,
        ),
        Fit(
            "cartridge_body",
            "lower_case",
            "cartridge",
            m.case.horizontal_bore.diameter,
            m.case.horizontal_bore.as_hole(),
            c.body.as_shaft(),
            at.flange_in - at.nose,
            ((at.case_face + at.nose) / 2, 0, 0),
            AXIS,
            "cartridge",
            source(m.case.horizontal_bore),
            source(c.body),
            bore_read=m.case.horizontal_bore.measured,
            bore_drawn=m.case.horizontal_bore.drawn,
            shaft_read=c.body.measured,
            shaft_drawn=c.body.drawn,
        ),
        PortJoint(
            "cartridge_port",
            ("upper_case", "cartridge"),
            (0.0, 0.0),
            (at.case_face, at.flange_in),
            PORT_DIAMETER,
            (at.case_face, 0, bore / 2 * PORT_CIRCLE),
        ),
    )

    k = m.high_speed_cover
    cavity = cover_cavity(s.bearing_thread, m.spacers.high_speed_thrower_diameter)
    bill.add(
        "high_speed_cover", "cartridge", cover(k, pair.outside, cavity, s.seal_diameter), on_high(at.spigot_end), "high_speed_cover"
    )
    bill.add(
        "high_speed_seal",
        "seal",
        seal(s.seal_diameter, k.seal_outside, k.seal_width),
        on_high(at.cover_face + seal_depth(k.thickness, k.seal_width)),
        "high_speed_cover",
    )
    bill.add(
        "high_speed_float_gasket",
        "gasket",
        sheets.gasket(
            outside=k.outside,
            inside=pair.outside + 1.0,
            thickness=gaskets.high_speed_float_gasket.clamped,
            holes=circle_tuple(k.screws),
        ),
        on_high(at.outer_face),
        "case",
    )
    add_screws(
        bill,
        "high_speed_cover_screw",
        k.screws,
        at.cover_end - counterbore(k),
        "high_speed_cover",
        "cartridge",
        "case",
        face=at.outer_face,
        high=True,
    )
    bill.join(
        GasketJoint(
            "high_speed_float_gasket",
            "high_speed_float_gasket",
            "high_speed_cover",
            "cartridge",
            gaskets.high_speed_float_gasket.thickness,
            gaskets.high_speed_float_gasket.clamped,
            AXIS,
            at.outer_face,
        )
    )
    add_key(
        bill,
        "high_speed_coupling_key",
        s.coupling_key,
        s.extension.diameter,
        at.outer_end - 6.0 - s.coupling_key.length / 2,
        "case",
        "high_speed_shaft",
        "",
        lambda along, up: on_high(along, 0.0, False, (up, 0.0)),
    )


def source(fitted: Fitted) -> str:
    """Where a diameter's limits come from: a text key."""
    if fitted.measured is not None:
        return "source.measured"
    return "source.iso286" if fitted.fit is not None else "source.typed_limits"


def turned_round(arrangement: str, index: int) -> bool:
    """Whether this bearing of the pair is placed with its wide outer shoulder the other way round."""
    return index == (1 if arrangement == "back-to-back" else 2)


def spacer_diameters(bore: float, outside: float) -> tuple[float, float]:
    """Outside of the inner spacer and bore of the outer one [mm], derived: a sixth of the section each."""
    section = (outside - bore) / 2.0
    return bore + 2.0 * section / 3.0, outside - 2.0 * section / 3.0


def cover_cavity(thread: str, thrower: float = 0.0) -> float:
    """Bore of a cover's cavity [mm], derived: 8 mm over locknut and thrower, 1 mm over the flat tabs of the locknut's washer."""
    return max(hardware.locknut(thread).outside + 8.0, thrower + 8.0, hardware.tab_washer(thread).outside + 1.0)


def circle_tuple(screws: Screws) -> tuple[int, float, float, float]:
    """(count, circle, first angle, hole diameter) for a gasket [mm, rad]."""
    return screws.count, screws.circle, screws.first_angle, hardware.socket_screw(screws.thread).clearance_hole


def ring_fit(
    name: str,
    ring: str,
    shaft_part: str,
    bore: float,
    seat: Fitted,
    width: float,
    x: float,
    shoulder: int,
    axis: tuple[float, float, float] = AXIS,
) -> Fit:
    """Fit of a bearing's inner ring (ISO 492 Normal) on its seat."""
    at = (axis[0] * x, axis[1] * x, axis[2] * x)
    return Fit(
        name,
        ring,
        shaft_part,
        bore,
        bearings.bore_limits(bore),
        seat.as_shaft(),
        width,
        at,
        axis,
        "bearing ring",
        "source.iso492",
        source(seat),
        shoulder,
        shaft_read=seat.measured,
        shaft_drawn=seat.drawn,
    )


def housing_fit(
    name: str,
    ring: str,
    housing: str,
    outside: float,
    seat: Fitted,
    width: float,
    x: float,
    axis: tuple[float, float, float] = AXIS,
) -> Fit:
    """Fit of a bearing's outer ring (ISO 492 Normal) in its seat."""
    at = (axis[0] * x, axis[1] * x, axis[2] * x)
    return Fit(
        name,
        housing,
        ring,
        outside,
        seat.as_hole(),
        bearings.outside_limits(outside),
        width,
        at,
        axis,
        "housing",
        source(seat),
        "source.iso492",
        bore_read=seat.measured,
        bore_drawn=seat.drawn,
    )


def add_screws(
    bill: Bill,
    name: str,
    screws: Screws,
    at: float,
    clamps: str,
    into: str,
    bench: str,
    *,
    face: float,
    high: bool,
    flipped: bool = False,
) -> None:
    """A circle of screws with its joint; `at`: under-head face along the axis, `face`: where the thread of `into` begins [mm]."""
    bill.circle(
        name,
        screw_spec(screws),
        bench,
        count=screws.count,
        circle=screws.circle,
        first_angle=screws.first_angle,
        at=at,
        high=high,
        flipped=flipped,
    )
    axis = (1.0, 0.0, 0.0) if high else (0.0, 0.0, 1.0)
    bill.join(
        ScrewJoint(
            name,
            name,
            screws.thread,
            screws.count,
            clamps,
            into,
            screws.torque,
            screws.drilled,
            (axis[0] * at, 0.0, axis[2] * at),
            axis,
            screws.property_class,
            screws.length - abs(at - face),
        )
    )


def add_wire(bill: Bill, name: str, screws_name: str, screws: Screws, placement: Matrix, bench: str) -> None:
    """Lockwire through the heads of a circle, with its joint; none where the heads are not drilled."""
    if not screws.drilled:
        bill.leave_out(name)
        return
    size = hardware.socket_screw(screws.thread)
    spec = fasteners.lockwire(wire_points(screws, size.head_height), radius=0.5, head_diameter=size.head_diameter)
    bill.add(name, "fastener", spec, placement, bench)
    centre = placement[:3, 3]
    bill.join(WireJoint(name, name, screws_name, screws.count, (float(centre[0]), float(centre[1]), float(centre[2]))))


def _nut(bill: Bill, nut: str, washer: str, shaft_part: str, thread: str, face: float, bench: str, *, inward: bool) -> None:
    """Tab washer against `face` and locknut behind it, on the high-speed axis."""
    add_nut(bill, nut, washer, shaft_part, thread, face, bench, high=True, flipped=inward)


def add_nut(
    bill: Bill,
    nut: str,
    washer: str,
    shaft_part: str,
    thread: str,
    face: float,
    bench: str,
    *,
    high: bool,
    flipped: bool,
    angle: float = 0.0,
) -> None:
    """Tab washer against `face` [mm] and locknut behind it; `flipped`: the nut lies on the negative side of the face."""
    place = on_high if high else on_low
    nut_size, washer_size = hardware.locknut(thread), hardware.tab_washer(thread)
    sign = -1.0 if flipped else 1.0
    flat, bent = (
        fasteners.tab_washer(
            bore=washer_size.bore,
            outside=washer_size.outside,
            thickness=washer_size.thickness,
            tabs=washer_size.tabs,
            tab_width=washer_size.tab_width,
            tongue_width=washer_size.tongue_width,
            tongue_to_bore=washer_size.tongue_to_bore,
            nut_outside=nut_size.outside,
            slot_depth=nut_size.slot_depth,
            bent=tab,
        )
        for tab in (None, 0)
    )
    turn = pi + angle
    bill.add(washer, "fastener", bent, place(face, turn, flipped), bench, unlocked=flat)
    nut_spec = fasteners.locknut(
        thread_diameter=nut_size.thread_diameter,
        outside=nut_size.outside,
        width=nut_size.width,
        slot_width=nut_size.slot_width,
        slot_depth=nut_size.slot_depth,
        slots=nut_size.slots,
    )
    bill.add(nut, "fastener", nut_spec, place(face + sign * washer_size.thickness, turn, flipped), bench)
    axis = (1.0, 0.0, 0.0) if high else (0.0, 0.0, 1.0)
    bill.join(
        NutJoint(
            nut, nut, washer, shaft_part, thread, nut_size.slots, washer_size.tabs, (axis[0] * face, 0.0, axis[2] * face), axis
        )
    )
