"""The half section of a duplex pair beside the picture: rings, balls, spacers, and the contact lines that tell its arrangement.

The same figure for a sheet and, as SVG, for the live page.
"""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from typing import Final, Literal

from scenes.frame import PairView, State
from viewer import palette
from viewer.lettering import Point, Sheet, pitch, wrap

ARROW: Final = "→"
FLAT, TALL = 0.62, 1.4  # greatest height over width of the drawing: shaft lying, shaft standing
SHARES: Final = (1.0, 0.85)  # sizes of the drawing, the largest for which the notes above it have room is taken
STANDING: Final = 0.56  # of the width: what the drawing of a standing shaft takes on a sheet, its caption stands beside it
BEYOND: Final = 0.05  # of the pair's length: how far the shaft runs past what must be seen
NUMBER: Final = ' class="number"'
LINE: Final[palette.Rgb] = palette.VERDICT["stop"]  # of the contact lines: stands out from every part's colour


@dataclass(frozen=True)
class Piece:
    """A filled area of the figure; pieces of one part follow each other and share one outline."""

    points: tuple[Point, ...]
    fill: palette.Rgb
    part: str
    outline: palette.Rgb = palette.INK


@dataclass(frozen=True)
class Word:
    """A word of the figure about its middle height."""

    at: Point
    text: str
    bold: bool
    align: Literal["left", "middle", "right"]


@dataclass(frozen=True)
class Figure:
    """The half section laid out for a width [pixel]: its height, areas, balls (x, y, radius, colour, outline), lines, axis and words."""

    height: float
    pieces: tuple[Piece, ...]
    balls: tuple[tuple[float, float, float, palette.Rgb, palette.Rgb], ...]
    lines: tuple[tuple[Point, Point], ...]
    axis: tuple[Point, Point]
    words: tuple[Word, ...]


def _tint(colour: palette.Rgb, state: State) -> palette.Rgb:
    return palette.waiting(colour) if state == "waiting" else colour


def _edge(state: State) -> palette.Rgb:
    return {"arriving": palette.ACCENT, "in place": palette.INK, "waiting": palette.SOFT_INK}[state]


def lay_out(view: PairView, width: float, size: float, tallest: float = 0.0) -> Figure:
    """Lay the figure out in a width [pixel] with letters of a size [pixel]; `tallest`: height over width, 0 = as on a sheet."""
    tallest = tallest or (TALL if view.upright else FLAT)
    ends = [x for line in view.lines for x, _ in line] + [x for ring in view.rings for x in ring[:2]]
    rim = max(ring[3] for ring in view.rings)
    bore = min(ring[2] for ring in view.rings)
    margin = BEYOND * (max(ends) - min(ends))
    left, right = min(ends) - margin, max(ends) + margin
    line = 1.5 * size
    # Along the shaft, across it: what the drawing may take once the words have their room.
    room = (width - 8.0, tallest * width - 2.2 * line) if not view.upright else (tallest * width - 2.2 * line, width - 3.0 * size)
    scale = min(room[0] / (right - left), room[1] / rim)
    long, deep = scale * (right - left), scale * rim
    start = (width - 2.0 * size - deep) / 2.0 if view.upright else (width - long) / 2.0

    def at(x: float, r: float) -> Point:
        if view.upright:
            return start + scale * r, line + long - scale * (x - left)
        return start + scale * (x - left), line + deep - scale * r

    def box(rect: tuple[float, float, float, float]) -> tuple[Point, ...]:
        x0, x1, r0, r1 = rect
        return at(x0, r0), at(x1, r0), at(x1, r1), at(x0, r1)

    half, states = len(view.rings) // 2, view.states
    shaft = palette.mix(palette.role("shaft"), palette.GROUND, 0.45)
    pieces = [Piece(box((left, right, 0.0, bore)), shaft, "shaft", shaft)]
    for number, rings in enumerate((view.rings[:half], view.rings[half:])):
        colour = _tint(palette.role("ring"), states[number])
        for piece in (rings[: half // 2], rings[half // 2 :]):
            name = f"bearing {number + 1} {'outer' if piece[0][2] > bore else 'inner'}"
            pieces += [Piece(box(rect), colour, name, _edge(states[number])) for rect in piece]
    for number, rect in enumerate(view.spacers):
        colour = _tint(palette.role("spacer"), states[2])
        pieces.append(Piece(box(rect), colour, f"spacer {number + 1}", _edge(states[2])))
    balls = tuple(
        (*at(x, r), scale * radius, palette.role("rolling"), _edge(state))
        for (x, r, radius), state in zip(view.balls, states[:2], strict=True)
    )
    words = [
        Word(_beside(at(ball[0], rim), view.upright, size), view.labels[number], True, "left" if view.upright else "middle")
        for number, ball in enumerate(view.balls)
    ]
    low, high = at(left, 0.0), at(right, 0.0)
    if view.upright:
        words += [
            Word((start + deep / 2.0, high[1] - 0.75 * size), f"↑ {view.labels[3]}", False, "middle"),
            Word((start + deep / 2.0, low[1] + 0.75 * size), f"↓ {view.labels[2]}", False, "middle"),
        ]
    else:
        words += [
            Word((low[0], low[1] + 0.85 * size), f"← {view.labels[2]}", False, "left"),
            Word((high[0], high[1] + 0.85 * size), f"{view.labels[3]} {ARROW}", False, "right"),
        ]
    drawn = tuple((at(*outer), at(*centre)) for outer, centre in view.lines)
    tall = line + (long if view.upright else deep) + 1.2 * line
    return Figure(tall, tuple(pieces), balls, drawn, (low, high), tuple(words))


def _beside(point: Point, upright: bool, size: float) -> Point:
    return (point[0] + 0.6 * size, point[1]) if upright else (point[0], point[1] - 0.75 * size)


def height(view: PairView, width: float, unit: float, share: float = 1.0) -> float:
    """Height that figure and caption take at a width [pixel]."""
    figure, lines = _on_sheet(view, width, unit, share)
    beside = pitch(round(12.5 * unit)) * len(lines)
    return max(figure.height, beside) if view.upright else figure.height + beside + 4.0 * unit


def _on_sheet(view: PairView, width: float, unit: float, share: float) -> tuple[Figure, list[str]]:
    """The figure and the lines of its caption: beside a standing shaft, below a lying one."""
    size = round(12.5 * unit)
    if not view.upright:
        return lay_out(view, share * width, size), wrap(view.caption, size, width)
    breadth = share * STANDING * width
    return lay_out(view, breadth, size), wrap(view.caption, size, width - breadth - 8.0 * unit)


def draw(sheet: Sheet, view: PairView, x: float, y: float, width: float, unit: float, share: float = 1.0) -> None:
    """Draw figure and caption at (x, y); `share`: of the figure's full size."""
    size = round(12.5 * unit)
    figure, lines = _on_sheet(view, width, unit, share)
    inset = 0.0 if view.upright else (1.0 - share) * width / 2.0

    def moved(point: Point) -> Point:
        return x + inset + point[0], y + point[1]

    for name in dict.fromkeys(piece.part for piece in figure.pieces):
        pieces = [piece for piece in figure.pieces if piece.part == name]
        thick = 3.4 if pieces[0].outline == palette.ACCENT else 2.0
        for piece in pieces:
            sheet.polygon([moved(p) for p in piece.points], None, piece.outline, thick * unit)
        for piece in pieces:
            sheet.polygon([moved(p) for p in piece.points], piece.fill)
    for bx, by, radius, fill, edge in figure.balls:
        sheet.disc(*moved((bx, by)), radius, fill, edge, 1.6 * unit)
    _axis(sheet, moved(figure.axis[0]), moved(figure.axis[1]), unit)
    for a, b in figure.lines:
        sheet.smooth([moved(a), moved(b)], palette.GROUND, 4.0 * unit)
    for a, b in figure.lines:
        sheet.smooth([moved(a), moved(b)], LINE, 2.0 * unit)
        sheet.dot(*moved(b), 3.4 * unit, LINE)
    for word in figure.words:
        sheet.text(*moved(word.at), word.text, size, palette.INK, bold=word.bold, align=word.align)
    left, top = x, y + figure.height
    if view.upright:
        left += share * STANDING * width + 8.0 * unit
        top = y + max(0.0, (figure.height - pitch(size) * len(lines)) / 2.0)
    for k, line in enumerate(lines):
        sheet.text(left, top + pitch(size) * (k + 0.5), line, size, palette.INK)


def _axis(sheet: Sheet, a: Point, b: Point, unit: float) -> None:
    """A centre line: long dash, dot."""
    length = ((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2) ** 0.5
    along = 0.0
    while along < length:
        for offset, dash in ((0.0, 12.0 * unit), (15.0 * unit, 2.0 * unit)):
            s, e = min(along + offset, length) / length, min(along + offset + dash, length) / length
            if e > s:
                sheet.line(
                    [(a[0] + (b[0] - a[0]) * s, a[1] + (b[1] - a[1]) * s), (a[0] + (b[0] - a[0]) * e, a[1] + (b[1] - a[1]) * e)],
                    palette.INK,
                    1.0,
                )
        along += 20.0 * unit


def svg(view: PairView, width: float = 196.0) -> str:
    """The figure as SVG."""
    size = 13.0
    figure = lay_out(view, width, size, 1.1 if view.upright else FLAT)
    shapes: list[str] = []
    for name in dict.fromkeys(piece.part for piece in figure.pieces):
        pieces = [piece for piece in figure.pieces if piece.part == name]
        outline, fill = palette.code(pieces[0].outline), palette.code(pieces[0].fill)
        path = "".join("M" + "L".join(f"{x:.2f},{y:.2f}" for x, y in piece.points) + "Z" for piece in pieces)
        thick = 2.6 if pieces[0].outline == palette.ACCENT else 1.6
        shapes.append(f'<g data-part="{escape(name)}"><path d="{path}" fill="none" stroke="{outline}" stroke-width="{thick}"/>')
        shapes.append(f'<path d="{path}" fill="{fill}"/></g>')
    shapes += [
        f'<circle class="ball" cx="{x:.2f}" cy="{y:.2f}" r="{r:.2f}" fill="{palette.code(fill)}" stroke="{palette.code(edge)}"/>'
        for x, y, r, fill, edge in figure.balls
    ]
    (ax, ay), (bx, by) = figure.axis
    shapes.append(f'<path class="axis" d="M{ax:.2f},{ay:.2f}L{bx:.2f},{by:.2f}"/>')
    for style in ("under", "contact"):
        shapes += [f'<path class="{style}" d="M{a[0]:.2f},{a[1]:.2f}L{b[0]:.2f},{b[1]:.2f}"/>' for a, b in figure.lines]
    anchor = {"left": "start", "middle": "middle", "right": "end"}
    shapes += [
        f'<text x="{w.at[0]:.1f}" y="{w.at[1] + 0.36 * size:.1f}" text-anchor="{anchor[w.align]}"'
        f"{NUMBER if w.bold else ''}>{escape(w.text)}</text>"
        for w in figure.words
    ]
    return f'<svg viewBox="0 0 {width:.0f} {figure.height:.0f}" role="img" font-size="{size:g}">{"".join(shapes)}</svg>'
