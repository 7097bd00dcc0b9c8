"""Turned outlines: the (r, z) loops of bodies of revolution, written as a fitter reads a drawing [mm]."""

from __future__ import annotations

from collections.abc import Sequence

from geometry.part import Loop

Section = tuple[float, float, float]
"""From z, to z, diameter [mm]."""

OVERSHOOT = 2.0
"""How far a cutting tool reaches past the body it cuts, so that no faces coincide [mm]."""


def turned(outer: Sequence[Section], bore: Sequence[Section] = (), chamfer: float = 0.0) -> Loop:
    """Outline of a turned part: steps outside, steps of the through bore inside.

    `outer`, `bore`: sections in rising z, end to end, both from the same first to the same last z [mm]; `chamfer`: 45° break
    on the outermost edges of both ends [mm]. Result: one closed counter-clockwise loop (r, z).
    """
    bottom, top = outer[0][0], outer[-1][1]
    points: list[tuple[float, float]] = []
    for index, (low, high, diameter) in enumerate(outer):
        radius = diameter / 2.0
        first, last = index == 0, index == len(outer) - 1
        if first and chamfer:
            points += [(radius - chamfer, low), (radius, low + chamfer)]
        else:
            points.append((radius, low))
        if last and chamfer:
            points += [(radius, high - chamfer), (radius - chamfer, high)]
        else:
            points.append((radius, high))
    if bore:
        for low, high, diameter in reversed(bore):
            points += [(diameter / 2.0, high), (diameter / 2.0, low)]
    else:
        points += [(0.0, top), (0.0, bottom)]
    return _clean(points)


def _clean(points: list[tuple[float, float]]) -> Loop:
    """Drop repeated neighbours (within 1 nm), which would make faces without area."""
    kept: list[tuple[float, float]] = []
    for point in points:
        if not kept or max(abs(point[0] - kept[-1][0]), abs(point[1] - kept[-1][1])) > 1e-6:
            kept.append(point)
    if max(abs(kept[0][0] - kept[-1][0]), abs(kept[0][1] - kept[-1][1])) <= 1e-6:
        kept.pop()
    return tuple(kept)


def circle_of_holes(count: int, circle: float, first_angle: float, low: float, high: float, diameter: float) -> tuple[object, ...]:
    """Cutting feature: holes along the axis on a circle [mm, rad]."""
    return ("rods", count, circle / 2.0, first_angle, low, high, diameter / 2.0)
