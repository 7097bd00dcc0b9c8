"""The case: two halves, sealing film, dowels, split screws, inspection plates, plugs, breather, packers, with their joints [mm, rad].

Wall layout, plates, plugs and feet are derived from the bores, the wall and the screws of the machine file.
"""

from __future__ import annotations

from math import cos, hypot, pi, sin

from calc import fits, hardware
from geometry import castings, fasteners, sheets
from geometry.bill import Bill, on_low, pose
from geometry.high_speed import PORT_CIRCLE, PORT_DIAMETER, engagement
from geometry.joints import DowelJoint, MeshJoint, ScrewJoint, Seat
from geometry.layout import Layout
from geometry.machine import Machine, Screws
from geometry.part import Matrix, Spec

PAD_RISE = 4.0
"""Machined pads stand this far out of the raw face [mm]."""
PLATE = 8.0
"""Thickness of the inspection plates [mm]."""
PLATE_GASKET = 0.5
"""Thickness of their gaskets [mm]."""
CORNER = 0.35
"""Radius of the outer wall's corners over the inner radius, derived."""
SPLIT = (0.0, 0.0, 1.0)
BOSS_PAST = 11.0
"""Bosses of the split screws reach this far past the screws' ends in the lower half [mm], derived: 5 of thread, 6 of metal."""
BREATHER_AT = (-0.72, 0.55)
"""Place (x, y) of the breather on the roof over the inner radius, derived."""
FLATS = 1.5
"""Hexagon of plugs and breather over their thread, derived."""


def _tapped(screws: Screws, clamped: float) -> tuple[int, float, float, float, float]:
    size = hardware.socket_screw(screws.thread)
    return screws.count, screws.circle, screws.first_angle, size.diameter, engagement(screws, clamped) + 5.0


def openings(m: Machine) -> dict[str, tuple[float, float, float, float]]:
    """Inspection openings in the -y wall: middle x, middle z, length, height [mm]; the lower one shows the packers under the gear.

    Each plate stands clear of the split flange and of its screws' heads and bosses on one side, of the roof on the other; the lower
    opening's sill lies level with the raw floor, so that a packer slides out over it.
    """
    c = m.case
    border = 2.0 * plate_border(m)
    head = hardware.socket_screw(c.split_screws.thread).head_height
    bands = {
        "upper": (c.flange_thickness + head + 5.0, c.upper_height.nominal - c.wall / 2.0),
        "lower": (
            -(c.floor_depth.nominal + PAD_RISE + border / 2.0),
            -(max(c.split_screws.length - c.flange_thickness + BOSS_PAST, c.flange_thickness) + 3.0),
        ),
    }
    return {
        half: (-0.12 * c.inner_radius, (low + high) / 2.0, 0.95 * c.inner_radius, high - low - border)
        for half, (low, high) in bands.items()
    }


def plate_border(m: Machine) -> float:
    """Width of a plate around its opening [mm], derived."""
    return 2.6 * hardware.socket_screw(plate_screws(m).thread).diameter


def plate_screws(m: Machine) -> Screws:
    """Six screws of the retainer's thread on each plate, derived."""
    return m.high_speed_cartridge.retainer.screws.model_copy(
        update={"count": 6, "length": 20.0, "first_angle": 0.0, "torque": None, "drilled": False}
    )


def _plate_size(m: Machine, opening: tuple[float, float, float, float]) -> tuple[float, float]:
    return opening[2] + 2.0 * plate_border(m), opening[3] + 2.0 * plate_border(m)


def _plate_places(m: Machine, opening: tuple[float, float, float, float]) -> tuple[tuple[float, float], ...]:
    """Screw places relative to the opening's middle (x, z) [mm]."""
    length, height = _plate_size(m, opening)
    inset = 1.3 * hardware.socket_screw(plate_screws(m).thread).diameter
    half, rise = length / 2.0 - inset, height / 2.0 - inset
    return tuple((x, z) for z in (-rise, rise) for x in (-half, 0.0, half))


def dowel_limits(m: Machine) -> tuple[fits.Limits, fits.Limits]:
    """Pin m6 (ISO 8734) in a hole H7, as deviations [mm]."""
    return fits.shaft_limits(m.case.dowel_diameter, "m6"), fits.hole_limits(m.case.dowel_diameter, "H7")


def split_places(m: Machine) -> tuple[tuple[float, float], ...]:
    """Places (x, y) of the split screws, first those on +y [mm]."""
    c = m.case
    return castings.split_positions(
        minus_x=c.inner_radius,
        plus_x=c.inner_radius,
        half_width=c.inner_radius,
        wall=c.wall,
        flange_width=c.flange_width,
        per_side=c.split_screws.per_side,
        corner_radius=CORNER * c.inner_radius,
    )


def case_spec(m: Machine, half: str) -> Spec:
    """One half of the case from the machine's numbers."""
    c = m.case
    radius, wall = c.inner_radius, c.wall
    screw = hardware.socket_screw(c.split_screws.thread)
    places = split_places(m)
    y = radius + wall + c.flange_width / 2.0
    first, last = places[0][0], places[c.split_screws.per_side - 1][0]
    step = (last - first) / (c.split_screws.per_side - 1)
    pin, hole = dowel_limits(m)
    opening = openings(m)[half]
    length, height = _plate_size(m, opening)
    thread = hardware.socket_screw(plate_screws(m).thread)
    cartridge, upper, carrier = m.high_speed_cartridge, m.low_speed_cartridge, m.carrier
    up = half == "upper"
    return castings.case_half(
        half="upper" if up else "lower",
        minus_x=radius,
        plus_x=radius,
        half_width=radius,
        wall=wall,
        corner_radius=CORNER * radius,
        height=c.upper_height.nominal if up else c.floor_depth.nominal,
        pad_radius=(upper.flange_diameter if up else carrier.flange_diameter) / 2.0 + 2.0,
        pad_rise=PAD_RISE,
        vertical_bore=(c.upper_bore if up else c.floor_bore).hole_mean,
        vertical_screws=_tapped(upper.screws, upper.flange_thickness) if up else _tapped(carrier.screws, carrier.flange_thickness),
        horizontal_bore=c.horizontal_bore.hole_mean,
        boss_radius=cartridge.flange_diameter / 2.0 + 2.0,
        end_face=c.end_face.nominal,
        end_screws=_tapped(cartridge.screws, cartridge.flange_thickness),
        flange_width=c.flange_width,
        flange_thickness=c.flange_thickness,
        split_screws=places,
        split_hole=screw.clearance_hole,
        split_tap=screw.diameter,
        split_tap_depth=c.split_screws.length - c.flange_thickness + 5.0,
        split_seat=c.flange_thickness,
        spot_diameter=screw.head_diameter + 3.0,
        dowels=((first + step / 2.0, y), (last - step / 2.0, -y)),
        dowel_diameter=c.dowel_diameter + (hole.lower + hole.upper) / 2.0,
        opening=opening,
        opening_pad=(length, height, PAD_RISE),
        opening_screws=tuple((opening[0] + x, opening[1] + z) for x, z in _plate_places(m, opening)),
        opening_tap=(thread.diameter, 20.0 - PLATE + 4.0),
        foot_height=c.foot_height if not up else 0.0,
        foot_hole=screw.clearance_hole if not up else 0.0,
        ports=_ports(m, half),
        gallery=(c.end_face.nominal - 18.0, PORT_DIAMETER, c.horizontal_bore.diameter / 2.0 * PORT_CIRCLE) if up else None,
        lug_hole=22.0 if up else 0.0,
    )


def plug_size(m: Machine) -> float:
    """Thread of drain, level and breather [mm], derived: as a split screw."""
    return hardware.socket_screw(m.case.split_screws.thread).diameter


def _places(m: Machine) -> dict[str, tuple[tuple[float, float, float], tuple[float, float, float]]]:
    """Where plugs and breather sit: point on the face of their boss, outward direction [mm]."""
    c, size = m.case, plug_size(m)
    out = c.inner_radius + c.wall + PAD_RISE
    depth = c.floor_depth.nominal
    return {
        "drain_plug": ((-out, 0.0, -depth + 1.5 * size), (-1.0, 0.0, 0.0)),
        "level_plug": ((-out, 0.55 * c.inner_radius, -0.5 * depth), (-1.0, 0.0, 0.0)),
        "breather": ((BREATHER_AT[0] * c.inner_radius, BREATHER_AT[1] * c.inner_radius, c.upper_height.nominal), (0.0, 0.0, 1.0)),
    }


def breather_clear(m: Machine) -> float:
    """Diameter about the low-speed axis that the breather's cap leaves free on the roof [mm]."""
    return 2.0 * (hypot(*BREATHER_AT) * m.case.inner_radius - fasteners.BREATHER_CAP * FLATS * plug_size(m))


def _ports(m: Machine, half: str) -> tuple[tuple[tuple[float, float, float], tuple[float, float, float], float, float, float], ...]:
    size = plug_size(m)
    names = ("breather",) if half == "upper" else ("drain_plug", "level_plug")
    places = _places(m)
    return tuple((*places[name], size, 1.2 * size, m.case.wall + PAD_RISE + 3.0) for name in names)


def _outward(place: tuple[float, float, float], direction: tuple[float, float, float]) -> Matrix:
    """Local z along the outward direction."""
    if direction[2] > 0.5:
        return on_low(place[2], 0.0, False, (place[0], place[1]))
    turn = {(-1.0, 0.0, 0.0): [[0, 0, -1], [0, 1, 0], [1, 0, 0]], (0.0, -1.0, 0.0): [[1, 0, 0], [0, 0, -1], [0, 1, 0]]}[direction]
    import numpy as np

    return pose(np.array(turn, dtype=float), place)


def add(bill: Bill, m: Machine, layout: Layout) -> None:
    """Add the case and everything fixed to it."""
    c, film = m.case, m.case.sealing_film
    lower, upper = case_spec(m, "lower"), case_spec(m, "upper")
    bill.add("lower_case", "case", lower, on_low(0.0), "case")
    bill.add("upper_case", "case", upper, on_low(film), "case")
    if film > 0.0:
        bill.add("sealant_bead", "seal", sheets.sealant_bead(lower_case=lower, thickness=film), on_low(0.0), "case")
    args = dict(upper.args)
    size = hardware.socket_screw(c.split_screws.thread)
    screw = fasteners.socket_screw(
        diameter=size.diameter,
        length=c.split_screws.length,
        head_diameter=size.head_diameter,
        head_height=size.head_height,
        hexagon=size.hexagon,
        socket_depth=size.socket_depth,
    )
    for index, (x, y) in enumerate(args["split_screws"]):
        bill.add(
            f"split_screw_{index + 1}",
            "fastener",
            screw,
            on_low(c.flange_thickness + film, 0.0, False, (x, y)),
            "case",
            wording="part.split_screw",
            number=index + 1,
        )
    pin, hole = dowel_limits(m)
    length = 1.8 * c.flange_thickness
    dowel = fasteners.dowel(
        diameter=c.dowel_diameter + (pin.lower + pin.upper) / 2.0, length=length, chamfer=0.15 * c.dowel_diameter
    )
    for index, (x, y) in enumerate(args["dowels"]):
        bill.add(
            f"dowel_{index + 1}",
            "fastener",
            dowel,
            on_low(-0.85 * c.flange_thickness, 0.0, False, (x, y)),
            "case",
            wording="part.dowel",
            number=index + 1,
        )
    bill.join(
        Seat("split", "upper_case", "lower_case", SPLIT, 0.0, film),
        ScrewJoint(
            "split_screw",
            "split_screw",
            c.split_screws.thread,
            2 * c.split_screws.per_side,
            "upper_case",
            "lower_case",
            c.split_screws.torque,
            False,
            (0.0, -(c.inner_radius + c.wall + c.flange_width / 2), c.flange_thickness),
            SPLIT,
            c.split_screws.property_class,
            c.split_screws.length - c.flange_thickness - film,
        ),
        DowelJoint(
            "dowel",
            "dowel",
            ("upper_case", "lower_case"),
            c.dowel_diameter,
            pin,
            hole,
            (args["dowels"][0][0], args["dowels"][0][1], 0.0),
        ),
        MeshJoint(
            "mesh",
            "pinion",
            "gear",
            (m.gears.pinion_mounting_distance.nominal - m.pinion.length.nominal / 2, 0.0, -2.0 * layout.high.stop / 10),
        ),
    )
    for half, shift in (("lower", 0.0), ("upper", film)):
        _add_plate(bill, m, half, shift)
    _add_plugs(bill, m, film)
    _add_packers(bill, m, layout)


def _add_plate(bill: Bill, m: Machine, half: str, shift: float) -> None:
    """Inspection plate with gasket and screws on the -y wall."""
    opening, screws = openings(m)[half], plate_screws(m)
    length, height = _plate_size(m, opening)
    places = _plate_places(m, opening)
    size = hardware.socket_screw(screws.thread)
    holes = tuple((x, z, size.clearance_hole) for x, z in places)
    face = -(m.case.inner_radius + m.case.wall + PAD_RISE)
    radius = 1.2 * size.diameter
    gasket = sheets.plate_gasket(
        length=length,
        height=height,
        thickness=PLATE_GASKET,
        corner_radius=radius,
        holes=holes,
        opening=(opening[2], opening[3], radius),
    )
    plate = sheets.plate(length=length, height=height, thickness=PLATE, corner_radius=radius, holes=holes)
    out = (0.0, -1.0, 0.0)
    x0, z0 = opening[0], opening[1] + shift
    bill.add(f"{half}_plate_gasket", "gasket", gasket, _outward((x0, face, z0), out), "case")
    bill.add(f"{half}_plate", "cartridge", plate, _outward((x0, face - PLATE_GASKET, z0), out), "case")
    spec = fasteners.socket_screw(
        diameter=size.diameter,
        length=screws.length,
        head_diameter=size.head_diameter,
        head_height=size.head_height,
        hexagon=size.hexagon,
        socket_depth=size.socket_depth,
    )
    under = face - PLATE_GASKET - PLATE
    for index, (x, z) in enumerate(places):
        bill.add(
            f"{half}_plate_screw_{index + 1}",
            "fastener",
            spec,
            _outward((x0 + x, under, z0 + z), out),
            "case",
            wording=f"part.{half}_plate_screw",
            number=index + 1,
        )
    name = f"{half}_plate_screw"
    bill.join(
        ScrewJoint(name, name, screws.thread, screws.count, f"{half}_plate", f"{half}_case", None, False, (x0, under, z0), out)
    )


def _add_plugs(bill: Bill, m: Machine, film: float) -> None:
    """Drain with magnet, level, breather."""
    size, reach = plug_size(m), m.case.wall + PAD_RISE
    flats = FLATS * size
    places = _places(m)
    for name, magnet in (("drain_plug", True), ("level_plug", False)):
        bill.add(
            name, "fastener", fasteners.plug(size, reach - 2.0, flats, 0.9 * size, magnet=magnet), _outward(*places[name]), "case"
        )
    place, direction = places["breather"]
    bill.add(
        "breather",
        "fastener",
        fasteners.breather(size, reach - 2.0, flats, 2.4 * size),
        _outward((place[0], place[1], place[2] + film), direction),
        "case",
    )


def packer_height(m: Machine, layout: Layout) -> float:
    """Height of a packer: from the raw floor to the gear's back, less the drop below running height [mm]."""
    return layout.low.gear_back - m.spacers.packer_drop - (layout.low.floor - PAD_RISE)


def _add_packers(bill: Bill, m: Machine, layout: Layout) -> None:
    """Three packers on the floor under the gear's back face: tools, counted in and out."""
    from geometry import reducer

    blank = reducer.blank_of(m)
    heel = blank.axial_point(1, blank.cones.outer, blank.root_height(1, blank.cones.outer))[0]
    inner = m.carrier.flange_diameter / 2.0 + 6.0
    outer = max(heel * 0.88, inner + 14.0)
    depth, width = outer - inner, 40.0
    height = packer_height(m, layout)
    spec = Spec("steel", add=(("box", (0.0, -width / 2.0, 0.0), (depth, width / 2.0, height)),))
    for index in range(3):
        angle = -pi / 2.0 + 2.0 * pi * index / 3.0
        place = on_low(layout.low.floor - PAD_RISE, angle, False, (inner * cos(angle), inner * sin(angle)))
        bill.add(f"packer_{index + 1}", "tool", spec, place, "case", wording="part.packer", number=index + 1, tool=True)
