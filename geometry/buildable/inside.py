"""The room inside the case: teeth, walls, openings, what turns beside what stands still [mm]."""

from __future__ import annotations

from collections.abc import Iterator

from calc import bevel, hardware
from geometry import casework, layout, low_speed
from geometry.buildable.lines import less, more, not_over
from geometry.buildable.shafts import WALL
from geometry.machine import Machine

GAP = 2.0
"""Least gap between what turns and what stands still: common practice, no source [mm]."""
LEAST_OPENING = 15.0
"""Least height of an inspection opening: a gauge's foot must go in [mm], derived."""
LEAST_RIM = 0.3
"""Metal between the gear's back face and the root at the heel, along the axis, over the module: common practice, no source."""
RAW = 10.0
"""Room for the raw edges of the casting beyond its walls [mm], derived."""
MARKING = 1.5
"""Most that a chain may differ from the mounting distance etched on the set [mm]: beyond it a dimension is wrong."""


def shafts_pass(m: Machine, faces: layout.Layout) -> Iterator[str]:
    """The overhung pinion, its locknut and the low-speed shaft."""
    high, low = faces.high, faces.low
    collar = m.low_speed_shaft.collar_diameter / 2
    if high.inner_end - collar < GAP:
        yield (
            f"pinion.length = {m.pinion.length.nominal:.3f} mm: the pinion's nut and shaft end meet the low-speed shaft: "
            f"accepted: less than {m.pinion.length.nominal + high.inner_end - collar - GAP:.3f} mm, or a smaller low_speed_shaft.collar_diameter ({2 * collar:.3f} mm)"
        )
    nut = hardware.locknut(m.high_speed_shaft.pinion_thread).outside / 2
    hub = m.gear.hub_diameter / 2
    if high.inner_end - hub < GAP and low.gear_front > -nut - GAP:
        yield f"gear.hub_diameter = {m.gear.hub_diameter:.3f} mm: the pinion's locknut meets the gear's hub: accepted: less than {2 * (high.inner_end - GAP):.3f} mm"


def gears(m: Machine, faces: layout.Layout, blank: bevel.Blank) -> Iterator[str]:
    """Teeth against bores, walls, retainers; chains against the marks on the set."""
    high, low, h = faces.high, faces.low, m.high_speed_cartridge
    assert m.inner_bearing.width is not None and m.lower_bearing.width is not None
    tip = blank.axial_point(0, blank.cones.outer, blank.tip_height(0, blank.cones.outer))[0]
    yield from less(
        ("pinion tip diameter", 2 * tip),
        ("case.horizontal_bore.diameter", m.case.horizontal_bore.diameter),
        "a change of the pinion gasket would mean splitting the case",
    )
    gear_tip = blank.axial_point(1, blank.cones.outer, blank.tip_height(1, blank.cones.outer))[0]
    yield from less(("gear tip radius", gear_tip), ("case.inner_radius", m.case.inner_radius), "the gear touches the wall", GAP)
    heads = high.rib_in - m.inner_bearing.width.nominal - h.retainer.thickness
    heads -= hardware.socket_screw(h.retainer.screws.thread).head_height
    if heads < gear_tip + GAP:
        yield f"case.end_face = {m.case.end_face.nominal:.3f} mm: the wired screws on the cartridge's nose meet the gear's heel: accepted: at least {m.case.end_face.nominal + gear_tip + GAP - heads:.3f} mm"
    lip = low.stop - low_speed.lip_thickness(m)
    if lip < tip + GAP:
        yield f"low_speed_cartridge.stop_offset = {m.low_speed_cartridge.stop_offset.nominal:.3f} mm: the cartridge meets the pinion's teeth: accepted: at least {m.low_speed_cartridge.stop_offset.nominal + tip + GAP - lip:.3f} mm (case.upper_height {m.case.upper_height.nominal:.3f} mm)"
    ring = m.carrier.retainer
    retained = (
        low.ring_seat + m.lower_bearing.width.nominal + ring.thickness + hardware.socket_screw(ring.screws.thread).head_height
    )
    if low.gear_back - retained < GAP:
        yield f"spacers.gear_spacer = {m.spacers.gear_spacer.nominal:.3f} mm: the gear meets the lower retainer's screws: accepted: at least {m.spacers.gear_spacer.nominal + GAP - low.gear_back + retained:.3f} mm"
    marked = m.gears.pinion_mounting_distance.nominal
    if abs(high.pinion_back - marked) > MARKING:
        yield f"gears.pinion_mounting_distance = {marked:.3f} mm: the chain gives {high.pinion_back:.3f} mm: accepted: within {MARKING} mm (check case.end_face, stop_offset, sleeve, collar)"
    root = blank.axial_point(1, blank.cones.outer, blank.root_height(1, blank.cones.outer))[1]
    marked, least = m.gears.gear_mounting_distance.nominal, root + LEAST_RIM * blank.outer_module
    if marked < least:
        yield f"gears.gear_mounting_distance = {marked:.3f} mm: no rim is left under the teeth above the gear's back face: accepted: at least {least:.3f} mm (root at the heel {root:.3f} mm)"
    if abs(-low.gear_back - marked) > MARKING:
        yield f"gears.gear_mounting_distance = {marked:.3f} mm: the chain gives {-low.gear_back:.3f} mm: accepted: within {MARKING} mm (check upper_height, stop_offset, collar_length)"


def case(m: Machine) -> Iterator[str]:
    """Walls, bores and openings of the case."""
    c = m.case
    outside = c.inner_radius + c.wall
    for name, size in (("wall", c.wall), ("flange_thickness", c.flange_thickness)):
        yield from more((f"case.{name}", size), ("least wall", WALL), "too thin")
    yield from less(
        ("case.wall", c.wall), ("a quarter of case.inner_radius", c.inner_radius / 4.0), "too thick a wall for this case"
    )
    yield from more(("case.end_face", c.end_face.nominal), ("case.inner_radius and wall", outside), "lies inside the wall")
    bore = c.horizontal_bore.diameter / 2.0
    for name, height in (("upper_height", c.upper_height.nominal), ("floor_depth", c.floor_depth.nominal)):
        yield from more(
            (f"case.{name}", height),
            ("radius of case.horizontal_bore", bore),
            "the cartridge's bore meets roof or floor",
            c.wall + RAW,
        )
        yield from more(
            (f"case.{name}", height), ("case.flange_thickness", c.flange_thickness), "no wall beyond the flange", c.wall + RAW
        )
    for name, flange in (
        ("low_speed_cartridge", m.low_speed_cartridge.flange_diameter),
        ("carrier", m.carrier.flange_diameter),
        ("high_speed_cartridge", m.high_speed_cartridge.flange_diameter),
    ):
        yield from not_over(
            (f"{name}.flange_diameter", flange),
            ("twice case.inner_radius", 2.0 * c.inner_radius),
            "the flange is wider than the case",
        )
    yield from less(("case.flange_width", c.flange_width), ("case.inner_radius", c.inner_radius), "too wide a flange for this case")
    yield from more(("case.foot_height", c.foot_height), ("case.wall", c.wall), "no foot")
    for half, name in (("upper", "case.upper_height"), ("lower", "case.floor_depth")):
        height, length = casework.openings(m)[half][3], c.upper_height.nominal if half == "upper" else c.floor_depth.nominal
        if height < LEAST_OPENING:
            yield f"{name} = {length:.3f} mm: no room for the {half} inspection plate (case.flange_thickness {c.flange_thickness:.3f} mm, case.split_screws.length {c.split_screws.length:.3f} mm, thread {m.high_speed_cartridge.retainer.screws.thread}): accepted: at least {length + LEAST_OPENING - height:.3f} mm"
    flange, clear = m.low_speed_cartridge.flange_diameter, casework.breather_clear(m) - 2.0 * GAP
    if flange > clear:
        yield f"low_speed_cartridge.flange_diameter = {flange:.3f} mm: the breather has no place beside it on the roof: accepted: at most {clear:.3f} mm, or a larger case.inner_radius ({c.inner_radius:.3f} mm)"
    yield from less(
        ("border of the inspection plates (thread of high_speed_cartridge.retainer.screws)", casework.plate_border(m)),
        ("half of case.inner_radius", c.inner_radius / 2.0),
        "the plates are wider than the case",
    )


def packers(m: Machine, faces: layout.Layout) -> Iterator[str]:
    """The packers that the gear rests on."""
    height = casework.packer_height(m, faces)
    if height < WALL:
        yield f"case.floor_depth = {m.case.floor_depth.nominal:.3f} mm: no room for packers under the gear: accepted: at least {m.case.floor_depth.nominal + WALL - height:.3f} mm (spacers.packer_drop {m.spacers.packer_drop:.3f} mm)"
    _, middle, _, opening = casework.openings(m)["lower"]
    over, c = faces.low.gear_back - m.spacers.packer_drop - middle - opening / 2.0, m.case
    if over > 0.0:
        screws = c.split_screws.length - c.flange_thickness + casework.BOSS_PAST > c.flange_thickness
        name, size = ("split_screws.length", c.split_screws.length) if screws else ("flange_thickness", c.flange_thickness)
        yield f"case.{name} = {size:.3f} mm: the packers under the gear stand {over:.3f} mm higher than the lower inspection opening lets pass: accepted: at most {size - over:.3f} mm (gears.gear_mounting_distance {m.gears.gear_mounting_distance.nominal:.3f} mm, spacers.packer_drop {m.spacers.packer_drop:.3f} mm)"
