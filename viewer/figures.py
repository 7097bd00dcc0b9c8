"""Two small drawings beside the picture: bore and shaft with their gap drawn larger than it is, and the temperature scale."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from scenes.frame import FitView, HeatScale
from viewer import palette
from viewer.lettering import Point, Sheet, pitch, width_of, wrap

HALF_SECTOR: Final = 27.0  # deg either side of the top: the piece of the ring that is drawn


def fit_radii(view: FitView, radius: float) -> tuple[float, float, float]:
    """Drawn radii of the bore at nominal, least and largest clearance [pixel], the shaft being drawn at `radius` [pixel].

    bore = radius (1 + factor clearance / diameter): the shaft is to scale with itself, the gap `factor` times too large.
    """
    nominal, low, high = (
        radius * (1.0 + view.factor * c / view.shaft_diameter) for c in (view.clearance, view.clearance_low, view.clearance_high)
    )
    return nominal, low, high


def fit_height(view: FitView, width: float, unit: float, band: str = "") -> float:
    """Height that the fit drawing takes at a width [pixel]."""
    size = round(12.5 * unit)
    return 128.0 * unit + pitch(size) * len(wrap(f"{view.caption} {band}".strip(), size, width)) + 8.0 * unit


def draw_fit(sheet: Sheet, view: FitView, x: float, y: float, width: float, unit: float, hub: palette.Rgb, band: str = "") -> None:
    """Draw a sector of hub and shaft at (x, y): a gap stays white, an interference is hatched, the least and largest bore
    are dashed; `band` says so below, after the caption."""
    size = round(12.5 * unit)
    height = 128.0 * unit
    wall = 0.17
    widest = max(*fit_radii(view, 1.0), 1.0) + wall
    radius = width * 0.33 / widest / float(np.sin(np.radians(HALF_SECTOR)))  # a large circle seen in part: its edge is what matters
    bore, low, high = fit_radii(view, radius)
    outer = widest * radius
    centre = (x + width * 0.34, y + 6.0 * unit + outer)

    def point(r: float, degrees: float) -> Point:
        a = np.radians(90.0 - degrees)
        return centre[0] + r * float(np.cos(a)), centre[1] - r * float(np.sin(a))

    def arc(r: float, back: bool = False) -> list[Point]:
        points = [point(r, d) for d in np.linspace(-HALF_SECTOR, HALF_SECTOR, 61)]
        return points[::-1] if back else points

    floor = min(radius, low, bore) - 0.2 * radius
    shaft = palette.role("shaft")
    sheet.polygon([*arc(bore), *arc(outer, back=True)], hub, palette.INK, 1.0)
    sheet.polygon([*arc(floor), *arc(radius, back=True)], shaft, palette.INK, 1.0)
    if bore > radius:
        sheet.polygon([*arc(radius), *arc(bore, back=True)], palette.GROUND, palette.INK, 1.0)
    elif bore < radius:
        sheet.polygon([*arc(bore), *arc(radius, back=True)], palette.mix(palette.VERDICT["stop"], palette.GROUND, 0.75))
        _hatch_band(sheet, arc(bore), arc(radius))
        sheet.line(arc(bore), palette.INK, 1.0)
        sheet.line(arc(radius), palette.INK, 1.0)
    for r in (low, high):
        sheet.line(arc(r), palette.GROUND, 1.6)
        _dashes(sheet, arc(r))
    note = x + width * 0.70
    for text, r, at in (
        (view.bore_name, (max(bore, radius) + outer) / 2, y + 26 * unit),
        (view.shaft_name, (floor + min(bore, radius)) / 2, y + 84 * unit),
    ):
        end = point(r, HALF_SECTOR * 0.72)
        for colour, thick in ((palette.GROUND, 3.0), (palette.INK, 1.0)):
            sheet.smooth([(note - 5 * unit, at), (note - 14 * unit, at), end], colour, thick)
        sheet.dot(*end, 4.2, palette.GROUND)
        sheet.dot(*end, 2.8, palette.INK)
        top_line = at - pitch(size) * (len(wrap(text, size, width * 0.30)) - 1) / 2 - pitch(size) / 2
        sheet.paragraph(note, top_line, text, size, width * 0.30)
    sheet.paragraph(x, y + height, f"{view.caption} {band}".strip(), size, width, palette.SOFT_INK)


def _hatch_band(sheet: Sheet, inner: Sequence[Point], outer: Sequence[Point]) -> None:
    for k in range(0, len(inner) - 2, 2):
        sheet.line([inner[k], outer[k + 2]], palette.VERDICT["stop"], 1.0)


def _dashes(sheet: Sheet, points: Sequence[Point]) -> None:
    for k in range(0, len(points) - 2, 4):
        sheet.line(points[k : k + 3], palette.INK, 0.9)


def heat_height(scale: HeatScale, width: float, unit: float) -> float:
    """Height that the temperature scale takes at a width [pixel]."""
    size = round(12.5 * unit)
    return 70.0 * unit + pitch(size) * len(wrap(scale.caption, size, width))


def draw_heat(sheet: Sheet, scale: HeatScale, x: float, y: float, width: float, unit: float) -> None:
    """Draw what to do and the temperature scale at (x, y): a pointer above for the part now, a tick below for its limit."""
    size = round(12.5 * unit)
    y = sheet.paragraph(x, y, scale.caption, size, width, palette.INK) + 4.0 * unit
    top, tall = y + 28.0 * unit, 14.0 * unit
    colours = palette.heat_ramp(96)
    step = width / len(colours)
    for k, colour in enumerate(colours):
        sheet.box(x + k * step, top, x + (k + 1) * step, top + tall, (int(colour[0]), int(colour[1]), int(colour[2])))
    sheet.polygon([(x, top), (x + width, top), (x + width, top + tall), (x, top + tall)], None, palette.INK, 0.8)
    span = max(scale.high - scale.low, 1e-9)
    below = top + tall + 11.0 * unit
    for mark in scale.marks:
        at = x + width * min(1.0, max(0.0, (mark.temperature - scale.low) / span))
        room = width_of(mark.text, size, mark.kind != "start") / 2 + 1.0
        middle = min(max(at, x + room), x + width - room)
        if mark.kind == "now":
            sheet.polygon([(at, top - 1), (at - 5 * unit, top - 9 * unit), (at + 5 * unit, top - 9 * unit)], palette.INK)
            sheet.text(middle, top - 18 * unit, mark.text, size, palette.INK, bold=True, align="middle")
        elif mark.kind == "limit":
            sheet.line([(at, top - 3 * unit), (at, top + tall + 4 * unit)], palette.VERDICT["stop"], 2.5 * unit)
            sheet.text(middle, below, mark.text, size, palette.VERDICT["stop"], bold=True, align="middle")
        else:
            sheet.text(x, below, mark.text, size, palette.SOFT_INK)
