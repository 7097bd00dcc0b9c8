"""The two halves of the split case as Specs, in the reducer's frame [mm, rad].

Each half has its split face at z = 0, the lower one reaching down, the upper one up. The face on the high-speed side (x =
end_face), the pad of the vertical bore and all bores are exact; walls, ribs, feet, lugs and bosses are shaped like a casting and
are derived where no argument gives them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Literal

from geometry.part import Spec
from geometry.solid import special

if TYPE_CHECKING:
    from manifold3d import Manifold

Point = tuple[float, float]
Vector = tuple[float, float, float]
Circle = tuple[int, float, float, float, float]
"""Count, circle diameter [mm], first angle [rad], tapped diameter [mm], depth [mm]."""


def split_positions(
    *, minus_x: float, plus_x: float, half_width: float, wall: float, flange_width: float, per_side: int, corner_radius: float
) -> tuple[Point, ...]:
    """Screw places along the two long sides of the split flange, in the middle of its width, first those on +y.

    `minus_x`, `plus_x`, `half_width`: inner faces of the walls at x = -minus_x, x = plus_x, y = +-half_width [mm]; `wall`,
    `flange_width`: [mm]; `per_side`: screws on each side [-]; `corner_radius`: of the outer wall in plan [mm]. Result: (x, y) [mm].
    """
    y = half_width + wall + flange_width / 2.0
    first, last = -minus_x - wall + 0.8 * corner_radius, plus_x + wall - 0.8 * corner_radius
    step = (last - first) / (per_side - 1)
    return tuple((first + step * index, side * y) for side in (1.0, -1.0) for index in range(per_side))


def case_half(
    *,
    half: Literal["lower", "upper"],
    minus_x: float,
    plus_x: float,
    half_width: float,
    wall: float,
    corner_radius: float,
    height: float,
    pad_radius: float,
    pad_rise: float,
    vertical_bore: float,
    vertical_screws: Circle,
    horizontal_bore: float,
    boss_radius: float,
    end_face: float,
    end_screws: Circle,
    flange_width: float,
    flange_thickness: float,
    split_screws: tuple[Point, ...],
    split_hole: float,
    split_tap: float,
    split_tap_depth: float,
    split_seat: float,
    spot_diameter: float,
    dowels: tuple[Point, ...],
    dowel_diameter: float,
    opening: tuple[float, float, float, float] | None = None,
    opening_pad: tuple[float, float, float] = (0.0, 0.0, 0.0),
    opening_screws: tuple[Point, ...] = (),
    opening_tap: tuple[float, float] = (0.0, 0.0),
    foot_height: float = 0.0,
    foot_hole: float = 0.0,
    ports: tuple[tuple[Vector, Vector, float, float, float], ...] = (),
    gallery: tuple[float, float, float] | None = None,
    bore_inner_end: float | None = None,
    lug_hole: float = 0.0,
    material: str = "grey iron",
) -> Spec:
    """One half of the split case.

    `half`: "lower" or "upper"; `minus_x`, `plus_x`, `half_width`: inner wall faces at x = -minus_x, x = plus_x, y = +-half_width
    [mm]; `wall`: thickness of walls, roof and floor [mm]; `corner_radius`: of the outer wall in plan [mm];
    `height`: split face to the machined pad of the vertical bore: top of the roof (upper), inside of the floor (lower) [mm];
    `pad_radius`, `pad_rise`: size of that pad and its height over the raw face [mm]; `vertical_bore`: diameter about z [mm];
    `vertical_screws`: tapped into the pad, angle 0 along +x; `horizontal_bore`: diameter about x [mm]; `boss_radius`: boss about
    it [mm]; `end_face`: machined end of the boss, x [mm]; `end_screws`: tapped into it, angle 0 along +z, turning toward -y;
    `flange_width`, `flange_thickness`: split flange outside the wall [mm]; `split_screws`: places (x, y) [mm]; `split_hole`:
    through hole in the upper half [mm]; `split_tap`, `split_tap_depth`: tapped hole in the lower half [mm]; `split_seat`: split
    face to the screw's seat [mm]; `spot_diameter`: of the spot face there [mm]; `dowels`, `dowel_diameter`: places (x, y), hole
    [mm]; `opening`: inspection opening in the -y wall: middle x, middle z, length, height [mm]; `opening_pad`: its pad: length,
    height, thickness over the wall [mm]; `opening_screws`: (x, z) [mm]; `opening_tap`: diameter, depth [mm]; `foot_height`:
    floor's underside to the ground (lower) [mm]; `foot_hole`: in the four feet [mm]; `ports`: plug and breather holes: point on
    the face, outward direction, tapped diameter, boss radius, depth from the face into the chamber [mm]; `gallery`: oil gallery of
    the upper half: x, diameter, height above the high-speed axis at which it meets the port drilled from the end face; height 0
    goes straight into the bore [mm]; `bore_inner_end`: x where the horizontal bore's boss ends inside, default the inner wall
    [mm]; `lug_hole`: hole of the four lifting lugs of the upper half, 0 = none [mm].
    Result: Spec in the reducer's frame. Raises ValueError for sizes that clash.
    """
    outer = half_width + wall
    if half not in ("lower", "upper"):
        raise ValueError(f'half = {half!r}: accepted: "lower" or "upper"')
    for name, low, high in (
        ("horizontal_bore / 2 < boss_radius", horizontal_bore / 2.0, boss_radius),
        ("plus_x + wall < end_face", plus_x + wall, end_face),
        ("vertical_bore / 2 < pad_radius", vertical_bore / 2.0, pad_radius),
        ("corner_radius < half_width + wall", corner_radius, outer),
        ("flange_thickness <= split_seat", flange_thickness, split_seat + 1e-9),
    ):
        if not low < high:
            raise ValueError(f"case_half: {low:g} mm and {high:g} mm clash: accepted: {name}")
    args = dict(locals())
    for name in ("outer", "material", "name", "low", "high"):
        args.pop(name)
    if bore_inner_end is None:
        args["bore_inner_end"] = plus_x
    return Spec(material, special="case_half", args=tuple(args.items()))


@special("case_half")
def _case_half(
    n: int,
    *,
    half: str,
    minus_x: float,
    plus_x: float,
    half_width: float,
    wall: float,
    corner_radius: float,
    height: float,
    pad_radius: float,
    pad_rise: float,
    vertical_bore: float,
    vertical_screws: Circle,
    horizontal_bore: float,
    boss_radius: float,
    end_face: float,
    end_screws: Circle,
    flange_width: float,
    flange_thickness: float,
    split_screws: Sequence[Point],
    split_hole: float,
    split_tap: float,
    split_tap_depth: float,
    split_seat: float,
    spot_diameter: float,
    dowels: Sequence[Point],
    dowel_diameter: float,
    opening: tuple[float, float, float, float] | None,
    opening_pad: tuple[float, float, float],
    opening_screws: Sequence[Point],
    opening_tap: tuple[float, float],
    foot_height: float,
    foot_hole: float,
    ports: Sequence[tuple[Vector, Vector, float, float, float]],
    gallery: tuple[float, float, float] | None,
    bore_inner_end: float,
    lug_hole: float,
) -> Manifold:
    from manifold3d import Manifold, OpType

    from geometry import casting_shapes as shapes

    up = half == "upper"
    box = shapes.Box(
        n,
        1.0 if up else -1.0,
        minus_x,
        plus_x,
        half_width,
        wall,
        corner_radius,
        height - pad_rise if up else height + pad_rise + wall,
    )
    pad_outline = None if opening is None else (opening[0], opening[1], *opening_pad)
    seat_boss = 0.62 * spot_diameter + 2.0
    solid = [
        box.shell(),
        *box.flange(flange_width, flange_thickness),
        *box.end_boss(boss_radius, end_face, flange_width, flange_thickness, tuple(end_screws)[1] / 2.0),
        *box.screw_bosses(split_screws, seat_boss, split_seat + 1.0 if up else split_tap_depth + 6.0, flange_thickness),
        *box.ribs(split_screws, flange_width, flange_thickness, pad_outline, dowels),
        *box.port_bosses(ports),
    ]
    if up:
        solid.append(shapes.upright(0.0, 0.0, pad_radius, height - pad_rise - wall / 2.0, height, n))
        if lug_hole > 0.0:
            solid += box.lugs(lug_hole)
    elif foot_height > 0.0:
        solid += box.feet(foot_height, foot_hole)
    if opening is not None:
        solid.append(box.side_pad(opening[0], opening[1], opening_pad))
    # the chamber, then what stands inside it
    hollow = Manifold.batch_boolean([Manifold.batch_boolean(solid, OpType.Add), box.chamber()], OpType.Subtract)
    inside = [box.vertical_boss(height, pad_radius, vertical_screws[4], pad_rise)]
    if bore_inner_end < plus_x:
        inside.append(shapes.along_x(boss_radius, bore_inner_end, plus_x + wall / 2.0, n))
    body = Manifold.batch_boolean([hollow, *inside], OpType.Add)
    tools = [
        box.beyond_split(end_face + flange_width + boss_radius),
        box.beyond_end(end_face),
        shapes.along_x(horizontal_bore / 2.0, bore_inner_end - 2.0, end_face + 2.0, n),
        *shapes.end_taps(end_screws, end_face, n),
        *box.vertical_tools(height, vertical_bore, vertical_screws),
        *box.split_tools(
            split_screws,
            (split_hole, split_tap, split_tap_depth, split_seat, spot_diameter),
            dowels,
            dowel_diameter,
            flange_thickness,
        ),
        *box.port_tools(ports),
    ]
    if opening is not None:
        tools += box.opening_tools(opening, opening_pad[2], opening_screws, opening_tap)
    if up and lug_hole > 0.0:
        tools += box.lug_tools(lug_hole)
    if not up and foot_height > 0.0:
        tools += box.foot_tools(foot_height, foot_hole)
    if up and gallery is not None:
        tools += shapes.gallery_tools(gallery, end_face, max(height, boss_radius), horizontal_bore / 2.0, n)
    return Manifold.batch_boolean([body, *tools], OpType.Subtract)
