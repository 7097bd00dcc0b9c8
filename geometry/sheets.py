"""Gaskets, shims, inspection plates and the sealing film as Specs: flat pieces from z = 0 to their thickness [mm, rad]."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from geometry.part import Feature, Spec
from geometry.profile import OVERSHOOT, circle_of_holes
from geometry.solid import special

if TYPE_CHECKING:
    from manifold3d import CrossSection, Manifold

Point = tuple[float, float]
Holes = tuple[int, float, float, float]
"""Count, circle diameter, first angle, hole diameter."""


def gasket(
    *,
    outside: float,
    inside: float,
    thickness: float,
    holes: Holes | None = None,
    ports: tuple[tuple[float, float, float], ...] = (),
    material: str = "gasket sheet",
) -> Spec:
    """Round flat gasket.

    `outside`, `inside`, `thickness`: [mm]; `holes`: screw holes (count, circle diameter [mm], first angle [rad], hole diameter
    [mm]); `ports`: further holes (x, y, diameter) [mm].
    """
    loop = ((inside / 2.0, 0.0), (outside / 2.0, 0.0), (outside / 2.0, thickness), (inside / 2.0, thickness))
    low, high = -OVERSHOOT, thickness + OVERSHOOT
    cut: list[Feature] = [circle_of_holes(holes[0], holes[1], holes[2], low, high, holes[3])] if holes else []
    cut += [("rod", (x, y, low), (x, y, high), diameter / 2.0) for x, y, diameter in ports]
    return Spec(material, loops=(loop,), cut=tuple(cut))


def shim(*, outside: float, inside: float, thickness: float, holes: Holes | None = None) -> Spec:
    """Round steel shim, as `gasket` [mm, rad]."""
    return gasket(outside=outside, inside=inside, thickness=thickness, holes=holes, material="steel")


def plate(
    *,
    length: float,
    height: float,
    thickness: float,
    corner_radius: float,
    holes: tuple[tuple[float, float, float], ...],
    opening: tuple[float, float, float] | None = None,
    material: str = "steel",
) -> Spec:
    """Flat rectangular plate, or its gasket when it has an opening: length along x, height along y, middle at x = y = 0.

    `length`, `height`, `thickness`, `corner_radius`: [mm]; `holes`: (x, y, diameter) [mm]; `opening`: (length, height, corner
    radius) [mm].
    """
    args = {
        "length": length,
        "height": height,
        "thickness": thickness,
        "corner_radius": corner_radius,
        "holes": holes,
        "opening": opening,
    }
    return Spec(material, special="plate", args=tuple(args.items()))


def plate_gasket(
    *,
    length: float,
    height: float,
    thickness: float,
    corner_radius: float,
    holes: tuple[tuple[float, float, float], ...],
    opening: tuple[float, float, float],
) -> Spec:
    """Gasket of an inspection plate, as `plate` [mm]."""
    return plate(
        length=length,
        height=height,
        thickness=thickness,
        corner_radius=corner_radius,
        holes=holes,
        opening=opening,
        material="gasket sheet",
    )


@special("plate")
def _plate(
    n: int,
    length: float,
    height: float,
    thickness: float,
    corner_radius: float,
    holes: tuple[tuple[float, float, float], ...],
    opening: tuple[float, float, float] | None,
) -> Manifold:
    from geometry import features

    sides = features.hole_segments(n)
    sheet = features.polygon([_rectangle(length, height, corner_radius, sides)])
    openings = [features.circle(diameter / 2.0, sides) + np.array([x, y]) for x, y, diameter in holes]
    if opening is not None:
        openings.append(_rectangle(*opening, sides))
    if openings:
        sheet = sheet - features.polygon(openings)
    return sheet.extrude(thickness)


def _rectangle(length: float, height: float, radius: float, sides: int) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    from geometry import features

    return features.rounded_rectangle((-length / 2.0, -height / 2.0), (length / 2.0, height / 2.0), radius, sides)


def sealing_film(*, thickness: float, outlines: tuple[tuple[Point, ...], ...], inset: float = 0.0) -> Spec:
    """Film of sealing compound from closed outlines, counter-clockwise material, clockwise openings.

    `thickness`: [mm]; `outlines`: corner points (x, y) [mm]; `inset`: how far the film keeps from every edge [mm].
    """
    return Spec("sealing compound", special="film", args=(("thickness", thickness), ("outlines", outlines), ("inset", inset)))


@special("film")
def _film(n: int, thickness: float, outlines: tuple[tuple[Point, ...], ...], inset: float) -> Manifold:
    from geometry import features

    return _inset(features.polygon([np.array(outline) for outline in outlines]), inset).extrude(thickness)


def sealant_bead(*, lower_case: Spec, thickness: float, inset: float = 2.0) -> Spec:
    """Film of sealing compound on the split face (z = 0) of the lower half, its bores, holes and chamber left free.

    `lower_case`: the half whose split face it covers; `thickness`: [mm]; `inset`: how far it keeps from every edge [mm].
    """
    return Spec("sealing compound", special="bead", args=(("lower_case", lower_case), ("thickness", thickness), ("inset", inset)))


@special("bead")
def _bead(n: int, lower_case: Spec, thickness: float, inset: float) -> Manifold:
    from geometry import features
    from geometry.solid import build

    return _inset(features.from_solid(build(lower_case, n)).slice(-SLICE_BELOW), inset).extrude(thickness)


SLICE_BELOW = 0.01
"""Depth below the split face at which its outline is read [mm]."""


def _inset(flat: CrossSection, inset: float) -> CrossSection:
    from manifold3d import JoinType

    return flat.offset(-inset, JoinType.Miter, 2.0) if inset > 0.0 else flat
