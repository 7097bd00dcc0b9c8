"""The tooth maps of both gear flanks and the dial indicator beside the picture: the same figure for a sheet and, as SVG, for the live page."""

from __future__ import annotations

import math
from dataclasses import dataclass
from html import escape
from typing import Final

import numpy as np

from scenes.frame import DialView, FlankMap, MeshView
from viewer import palette
from viewer.lettering import Align, Point, Sheet, balanced, pitch, width_of, wrap

MAP_SHARE: Final = 0.6  # of the width on a sheet, where the dial stands beside the maps
WIDEST: Final = 240.0  # of a map above the dial [pixel]
DIAL_SHARE: Final = 0.36  # of the width below the maps, where the words stand beside the dial
RIM: Final = 0.45  # radius of the dial's scale over its width
CROSS: Final = 0.42  # half size of the cross at the centre, in type sizes
NUMBERED: Final = 9  # smallest type of the dial's numbers [pixel]
WORDED: Final = 12.0  # type size of the words on a sheet, at full size [pixel]


@dataclass(frozen=True)
class Area:
    """A filled outline; `kind` names it for the page."""

    kind: str
    points: tuple[Point, ...]
    fill: palette.Rgb | None
    edge: palette.Rgb | None = None
    width: float = 1.0


@dataclass(frozen=True)
class Line:
    """A stroke."""

    kind: str
    points: tuple[Point, ...]
    colour: palette.Rgb
    width: float


@dataclass(frozen=True)
class Word:
    """A word about its middle height."""

    kind: str
    at: Point
    text: str
    size: float
    bold: bool = False
    align: Align = "left"
    colour: palette.Rgb = palette.INK


@dataclass(frozen=True)
class Figure:
    """What is drawn, in this order: areas, lines, words; and the height that it takes [pixel]."""

    height: float
    areas: tuple[Area, ...]
    lines: tuple[Line, ...]
    words: tuple[Word, ...]


def lay_out(view: MeshView, width: float, size: float, *, beside: bool) -> Figure:
    """Lay maps and dial out in a width [pixel] with letters of a size [pixel]; `beside`: the dial right of the maps, else below."""
    wide = MAP_SHARE * width if beside else min(width, WIDEST)
    parts, y = [], 0.0
    for flank in view.flanks:
        part = _tooth_map(view, flank, wide, size, y)
        parts.append(part)
        y = part.height + 0.5 * size
    if beside:
        parts.append(_dial(view.dial, wide + size, 0.0, width - wide - size, size))
    else:
        parts.append(_dial(view.dial, 1.0, y + 0.3 * size, DIAL_SHARE * width, size, width))
    tall = max(part.height for part in parts)
    return Figure(
        tall,
        tuple(area for part in parts for area in part.areas),
        tuple(line for part in parts for line in part.lines),
        tuple(word for part in parts for word in part.words),
    )


def _tooth_map(view: MeshView, flank: FlankMap, width: float, size: float, top: float) -> Figure:
    """One flank seen square on: toe left, heel right, tip up; to scale."""
    kind = f"{flank.name.lower()} "
    line = 1.35 * size
    face = width - 2.0
    high = max(view.toe[2], view.heel[2])
    low = min(view.toe[0], view.heel[0])
    start = top + line

    def height(along: float, depth: float) -> float:
        """Over the pitch line, as a share of the face width; depth -100 stands for the tooth's own root."""
        share = along / 100.0
        root, bottom, tip = (a + (b - a) * share for a, b in zip(view.toe, view.heel, strict=True))
        return root if depth == -100.0 else bottom + depth / 100.0 * (tip - bottom)

    def at(along: float, depth: float) -> Point:
        return 1.0 + face * along / 100.0, start + face * (high - height(along, depth))

    def ring_at(ring: tuple[Point, ...]) -> tuple[Point, ...]:
        along, depth = np.array(ring).T / 100.0
        bottom, tip = (a + (b - a) * along for a, b in zip(view.toe[1:], view.heel[1:], strict=True))
        x, y = 1.0 + face * along, start + face * (high - (bottom + depth * (tip - bottom)))
        return tuple(zip(x.tolist(), y.tolist(), strict=True))

    corners = (at(0.0, 100.0), at(100.0, 100.0), at(100.0, -100.0), at(0.0, -100.0))
    areas = [Area(kind + "tooth", corners, palette.COMPOUND)]
    for share, rings in flank.bands:
        fill = palette.mix(palette.COMPOUND, palette.METAL, _wiped(flank, share))
        areas += [Area(kind + "mark", ring_at(ring), fill) for ring in rings if len(ring) > 2]
    areas.append(Area(kind + "edge", corners, None, palette.INK, 1.4))
    lines = [Line(kind + "root", (at(0.0, 0.0), at(100.0, 0.0)), palette.mix(palette.COMPOUND, palette.GROUND, 0.45), 0.9)]
    if flank.centre is not None:
        x, y = at(*flank.centre)
        arm = CROSS * size
        for colour, thick in ((palette.GROUND, 3.6), (palette.VERDICT["stop"], 1.7)):
            lines += [
                Line(kind + "centre", ((x - arm, y), (x + arm, y)), colour, thick),
                Line(kind + "centre", ((x, y - arm), (x, y + arm)), colour, thick),
            ]
    toe, heel, tip, root = view.ends
    foot = start + face * (high - low) + 0.62 * line
    upper = top + 0.5 * line
    said = [
        Word(kind + "name", (1.0, upper), flank.name, size, True),
        Word(kind + "toe", (1.0, foot), toe, size, colour=palette.SOFT_INK),
        Word(kind + "root", (1.0 + face / 2.0, foot), root, size, align="middle", colour=palette.SOFT_INK),
        Word(kind + "heel", (1.0 + face, foot), heel, size, align="right", colour=palette.SOFT_INK),
        Word(kind + "tip", (1.0 + face, upper), tip, size, align="right", colour=palette.SOFT_INK),
    ]
    used = width_of(flank.name, round(size), True) + 0.6 * size
    if used + width_of(flank.form, round(size)) + width_of(tip, round(size)) + 1.2 * size <= face:
        said.append(Word(kind + "form", (1.0 + used, upper), flank.form, size, colour=palette.SOFT_INK))
    return Figure(foot + 0.5 * line, tuple(areas), tuple(lines), tuple(said))


def _wiped(flank: FlankMap, share: float) -> float:
    """Share of metal in the colour of a band: the palest where the least film is left."""
    shares = [each for each, _ in flank.bands]
    return (shares.index(share) + 1.0) / len(shares)


def _dial(dial: DialView, left: float, top: float, across: float, size: float, right: float = 0.0) -> Figure:
    """The dial with its scale, the band of the limits on its rim, its needle, and the turns where the needle has gone round.

    Its words stand below it, or beside it up to `right`."""
    x, y, rim = left + across / 2.0, top + across / 2.0, RIM * across

    def spot(turn: float, share: float) -> Point:
        angle = 2.0 * math.pi * turn
        return x + share * rim * math.sin(angle), y - share * rim * math.cos(angle)

    def ring(share: float, first: float = 0.0, last: float = 1.0) -> tuple[Point, ...]:
        count = max(3, round(96 * (last - first)))
        return tuple(spot(first + (last - first) * k / count, share) for k in range(count + 1))

    areas = [Area("dial case", ring(1.09), palette.GROUND, palette.INK, 1.6)]
    if dial.high < 1.0:
        band = (*ring(1.0, dial.low, dial.high), *reversed(ring(0.8, dial.low, dial.high)))
        areas.append(Area("dial limits", band, palette.mix(palette.VERDICT["fine"], palette.GROUND, 0.62)))
    lines = []
    for tick in range(dial.divisions):
        inner, thick = (0.82, 1.3) if tick % 10 == 0 else (0.88, 0.9) if tick % 5 == 0 else (0.93, 0.6)
        lines.append(Line("dial tick", (spot(tick / dial.divisions, inner), spot(tick / dial.divisions, 1.0)), palette.INK, thick))
    scale = max(float(NUMBERED), 0.17 * rim)
    said = [Word("dial number", spot(k / 10.0, 0.66), number, scale, align="middle") for k, number in enumerate(dial.numbers)]
    turns = math.floor(dial.reading)
    for colour, thick in ((palette.GROUND, 4.2), (palette.INK, 2.2)):
        lines.append(Line("dial needle", (spot(dial.reading + 0.5, 0.18), spot(dial.reading, 0.95)), colour, thick))
    lines.append(Line("dial hub", ((x, y), (x, y)), palette.INK, 0.2 * rim))
    if turns:
        said.append(Word("dial turns", spot(0.5, 0.36), f"+{turns}", scale, True, "middle"))
    align: Align = "left" if right else "middle"
    start, room = (left + across + 0.8 * size, right - left - across - 0.8 * size) if right else (x, 1.12 * across)
    rows = [("radius", row) for row in balanced(dial.radius, round(size), room)] + [
        ("limits", row) for half in dial.limits for row in balanced(half, round(size), room)
    ]
    rows += [("tick", row) for row in balanced(dial.tick, round(size), room)]
    tall = 1.5 * size + 1.28 * size * len(rows)
    y = top + max(0.0, (across - tall) / 2.0) + 0.9 * size if right else top + across + 0.7 * size
    said.append(Word("dial reading", (start, y), dial.text, 1.25 * size, True, align))
    y += 1.5 * size
    for kind, row in rows:
        said.append(Word(f"dial {kind}", (start, y), row, size, align=align, colour=palette.SOFT_INK))
        y += 1.28 * size
    return Figure(max(y - 0.5 * size, top + across), tuple(areas), tuple(lines), tuple(said))


def words(view: MeshView) -> tuple[str, ...]:
    """All that is said below the figure, the state first where it is not ok."""
    return (*view.said, *(f"{flank.name}: {flank.text}." for flank in view.flanks), view.indicative)


# -- on a sheet -------------------------------------------------------------------------------------------------------


def _rows(view: MeshView, width: float, unit: float, terse: bool) -> list[tuple[str, palette.Rgb, bool]]:
    """Lines below the figure: the state first where it is not ok; `terse`: only that, and that all is indicative."""
    size = round(WORDED * unit)
    rows: list[tuple[str, palette.Rgb, bool]] = []
    alarm = view.state != "ok"
    for k, said in enumerate((*view.said[: int(alarm)], view.indicative) if terse else words(view)):
        loud = alarm and k == 0
        colour = palette.VERDICT[view.verdict] if loud else palette.INK
        rows += [(row, colour, loud) for row in wrap(said, size, width, loud)]
    return rows


def height(view: MeshView, width: float, unit: float, *, beside: bool = True, terse: bool = False) -> float:
    """Height that heading, figure and words take at a width [pixel]."""
    size = round(WORDED * unit)
    tall = lay_out(view, width, size, beside=beside).height
    return pitch(size) * (1 + len(_rows(view, width, unit, terse))) + tall + 10.0 * unit


def draw(
    sheet: Sheet, view: MeshView, x: float, y: float, width: float, unit: float, *, beside: bool = True, terse: bool = False
) -> None:
    """Draw heading, figure and words at (x, y)."""
    size = round(WORDED * unit)
    sheet.text(x, y + pitch(size) / 2.0, view.caption, size, palette.INK, bold=True)
    y += pitch(size) + 4.0 * unit
    figure = lay_out(view, width, size, beside=beside)

    def moved(points: tuple[Point, ...]) -> list[Point]:
        return [(x + px, y + py) for px, py in points]

    for area in figure.areas:
        sheet.polygon(moved(area.points), area.fill, area.edge, area.width * unit)
    for line in figure.lines:
        sheet.smooth(moved(line.points), line.colour, line.width * unit)
    for word in figure.words:
        (at,) = moved((word.at,))
        sheet.text(*at, word.text, round(word.size), word.colour, bold=word.bold, align=word.align)
    y += figure.height + 6.0 * unit
    for row, colour, bold in _rows(view, width, unit, terse):
        sheet.text(x, y + pitch(size) / 2.0, row, size, colour, bold=bold)
        y += pitch(size)


# -- on the page ------------------------------------------------------------------------------------------------------


def svg(view: MeshView, width: float = 196.0) -> str:
    """The figure as SVG."""
    size = 12.0
    figure = lay_out(view, width, size, beside=False)

    def path(points: tuple[Point, ...]) -> str:
        return "M" + "L".join(f"{px:.1f},{py:.1f}" for px, py in points)

    shapes = []
    for area in figure.areas:
        fill = palette.code(area.fill) if area.fill else "none"
        edge = f' stroke="{palette.code(area.edge)}" stroke-width="{area.width:g}"' if area.edge else ""
        shapes.append(f'<path class="{area.kind}" d="{path(area.points)}Z" fill="{fill}"{edge}/>')
    shapes += [
        f'<path class="{line.kind}" d="{path(line.points)}" stroke="{palette.code(line.colour)}" stroke-width="{line.width:g}"/>'
        for line in figure.lines
    ]
    anchor = {"left": "start", "middle": "middle", "right": "end"}
    shapes += [
        f'<text class="{word.kind}" x="{word.at[0]:.1f}" y="{word.at[1] + 0.36 * word.size:.1f}" font-size="{word.size:.1f}" '
        f'text-anchor="{anchor[word.align]}" fill="{palette.code(word.colour)}"{" font-weight=" + chr(34) + "700" + chr(34) if word.bold else ""}>'
        f"{escape(word.text)}</text>"
        for word in figure.words
    ]
    return f'<svg viewBox="0 0 {width:.0f} {figure.height:.0f}" role="img" data-state="{view.state}">{"".join(shapes)}</svg>'
