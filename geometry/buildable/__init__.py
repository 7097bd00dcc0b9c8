"""Whether the dimensions make a reducer at all: each refusal names the two dimensions that clash [mm].

`clashes` asks in three rounds, each standing on the one before: teeth and tables, then every size against its neighbours, then the
bodies of pinion and gear. The rules lie by place: shafts, rolling, covers, screws, inside.
"""

from __future__ import annotations

from collections.abc import Iterator

from calc import bevel, fits
from geometry import layout, teeth
from geometry.buildable import covers, inside, rolling, screws, shafts
from geometry.buildable.lines import less
from geometry.fields import Fitted
from geometry.machine import Blank, Machine
from geometry.part import Spec

HOLES = ("bore", "pair_seat", "roller_seat", "horizontal_bore", "upper_bore", "floor_bore")
"""Fitted diameters that are bores; all others are outside diameters."""
NARROWEST_FACE = 2.0
"""Face width over the module, at least: common practice, no source."""
LEAST_ROOT_WALL = 0.3
"""Metal over a keyway under the tooth root, over the module: common practice, no source."""


def clashes(machine: Machine) -> list[str]:
    """Finished lines, one per clash; empty when the reducer can be built."""
    from geometry import reducer

    try:
        blank = reducer.blank_of(machine)
    except bevel.BlankRefused as error:
        return [f"gears.{error}"]
    found = [
        *_face_width(machine),
        *_fit_classes(machine),
        *shafts.threads(machine),
        *shafts.key_sections(machine),
        *rolling.tables(machine),
    ]
    if found:
        return found
    faces = layout.solve(machine)
    found = [*shafts.shafts(machine), *shafts.key_fits(machine), *shafts.rings(machine)]
    found += [
        *rolling.sizes(machine),
        *rolling.seats(machine),
        *rolling.overlaps(machine, faces.low.roller_low - faces.low.ring_seat),
    ]
    found += [
        *covers.covers(machine, faces),
        *covers.float_room(machine),
        *covers.cartridges(machine),
        *covers.carrier(machine, faces),
    ]
    for circle in screws.circles(machine):
        found += screws.circle_faults(circle)
    found += [*screws.split(machine), *screws.pump(machine), *screws.off_the_split(machine)]
    found += [
        *inside.shafts_pass(machine, faces),
        *inside.gears(machine, faces, blank),
        *inside.case(machine),
        *inside.packers(machine, faces),
    ]
    found += [*_root_wall(machine, blank), *_heating(machine)]
    return found or list(_bodies(machine, blank))


def _face_width(m: Machine) -> Iterator[str]:
    least = NARROWEST_FACE * m.gears.module
    if m.gears.face_width < least:
        yield f"gears.face_width = {m.gears.face_width:.3f} mm: too narrow for its module ({m.gears.module:.3f} mm): accepted: at least {least:.3f} mm"


def _fit_classes(m: Machine) -> Iterator[str]:
    """A fit class that the tables do not hold, by field."""
    for section_name in type(m).model_fields:
        section = getattr(m, section_name)
        for name in getattr(type(section), "model_fields", {}):
            fitted = getattr(section, name)
            if isinstance(fitted, Fitted):
                try:
                    fitted.as_hole() if name in HOLES else fitted.as_shaft()
                except ValueError as error:
                    yield f"{section_name}.{name}.fit = {fitted.fit!r}: {error}"
    try:
        fits.shaft_limits(m.case.dowel_diameter, "m6"), fits.hole_limits(m.case.dowel_diameter, "H7")
    except ValueError as error:
        yield f"case.dowel_diameter: {error}"


def _root_wall(m: Machine, blank: bevel.Blank) -> Iterator[str]:
    members: tuple[tuple[teeth.Member, Blank], ...] = ("pinion", m.pinion), ("gear", m.gear)
    for member, body in members:
        root = teeth.toe_root_diameter(blank, member)
        yield from less(
            (f"{member}.hub_diameter", body.hub_diameter), (f"{member} root diameter at the toe", root), "the hub covers its teeth"
        )
    depth = m.pinion.key.section(m.high_speed_shaft.pinion_seat.diameter).hub_depth
    wall, least = teeth.root_wall(blank, "pinion", m.pinion.bore.diameter / 2 + depth), LEAST_ROOT_WALL * blank.outer_module
    if wall < least:
        yield (
            f"pinion.bore.diameter = {m.pinion.bore.diameter:.3f} mm: leaves {wall:.2f} mm of metal over the keyway under the tooth root at the toe: "
            f"accepted: at least {least:.2f} mm (a smaller bore or key, or a larger module)"
        )


def _heating(m: Machine) -> Iterator[str]:
    """Heating limits that the workshop itself exceeds."""
    for name, limit in (
        ("gears.heating_limit", m.gears.heating_limit),
        ("shop.bearing_heating_limit", m.shop.bearing_heating_limit),
    ):
        if limit <= m.shop.ambient:
            yield f"{name} = {limit:.0f} degC: nothing can be heated: accepted: above shop.ambient ({m.shop.ambient:.0f} degC)"


def _bodies(m: Machine, blank: bevel.Blank) -> Iterator[str]:
    """Teeth and bodies of pinion and gear."""
    from geometry import reducer

    pinion, gear = reducer.gear_specs(m, blank)
    members: tuple[tuple[teeth.Member, Blank, Spec], ...] = ("pinion", m.pinion, pinion), ("gear", m.gear, gear)
    for member, body, spec in members:
        try:
            teeth.refuse(blank, member, dict(spec.args)["body"])
        except bevel.BlankRefused as error:
            yield f"gears.{error}"
        except ValueError:
            yield (
                f"{member}.length = {body.length.nominal:.3f} mm: with {member}.hub_diameter ({body.hub_diameter:.3f} mm), its bore ({body.bore.diameter:.3f} mm) and the mounting distance "
                "the body crosses its teeth: accepted: another length, hub or mounting distance"
            )
