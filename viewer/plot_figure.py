"""A plot of a step as SVG for the live page: white ground, ink axes, the palette's colours; each curve named in a key below."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import Final

from scenes.plot import Mark, Place, Plot
from viewer import palette
from viewer.lettering import width_of, wrap

SIZE: Final = 12  # type size [SVG unit]
WIDTH, HEIGHT = 220.0, 122.0  # of the whole figure, and of the area for the curves
LINE: Final = 15.0  # pitch of lines of text
SLACK: Final = 1.08  # the browser's letters may run wider than the ones measured here
GAP: Final = 5.0  # between two figures under the plot
STYLES: Final[dict[str, tuple[palette.Rgb, str]]] = {
    "bore": (palette.role("gear"), ""),
    "shaft": (palette.INK, "7 4"),
    "pinion_gasket": (palette.mix(palette.role("pinion"), palette.INK, 0.25), ""),
    "gear_gasket": (palette.role("gear"), "8 4"),
    "high_speed_float_gasket": (palette.role("cage"), "2.5 3"),
    "low_speed_float_gasket": (palette.role("ring"), "9 3 2.5 3"),
    "found": (palette.INK, "7 4"),
    "left": (palette.role("gear"), ""),
    "service": (palette.INK, ""),
}
"""Colour and dashes of what a curve shows: told by both."""
SQUARE: Final = frozenset({"found"})
"""Curves whose dots are open squares, drawn first, wide enough to show round a dot of another curve at the same place."""
DOTTED: Final = frozenset({"found", "left"})
"""Curves that have a dot for each reading, in the key too."""
MARKS: Final[dict[str, tuple[palette.Rgb, str]]] = {
    "now": (palette.INK, ""),
    "limit": (palette.VERDICT["stop"], "5 3"),
    "wanted": (palette.VERDICT["watch"], "2 3"),
}


@dataclass(frozen=True)
class _Area:
    """Where the curves are drawn."""

    plot: Plot
    left: float
    right: float
    top: float
    bottom: float

    def at(self, place: Place) -> Place:
        x, y = self.plot.x, self.plot.y
        return (
            self.left + (self.right - self.left) * (place[0] - x.low) / (x.high - x.low),
            self.bottom - (self.bottom - self.top) * (place[1] - y.low) / (y.high - y.low),
        )

    def path(self, places: Sequence[Place]) -> str:
        return " ".join(f"{x:.1f},{y:.1f}" for x, y in map(self.at, places))


def svg(plot: Plot) -> str:
    """The plot as one drawing; its title and what to read off it are the page's to write."""
    inner = max((width_of(shown, SIZE) for _, shown in plot.y.ticks), default=20.0)
    upright = [mark for mark in plot.marks if mark.across == "x"]
    level = [mark for mark in plot.marks if mark.across == "y"]
    top = LINE * (1 + len(upright)) + 5.0
    area = _Area(plot, 8.0 + inner * SLACK, WIDTH - 8.0, top, top + HEIGHT)
    clip = f"area-{plot.key}"
    shapes = [
        f'<clipPath id="{clip}"><rect x="{area.left:.1f}" y="{top:.1f}" width="{area.right - area.left:.1f}" height="{HEIGHT:.1f}"/></clipPath>',
        f'<text x="2" y="{SIZE}" class="axis">{escape(plot.y.name)}</text>',
        *_axes(area),
        f'<g clip-path="url(#{clip})">{"".join(_curves(area))}</g>',
        *(_upright(area, mark, row) for row, mark in enumerate(upright)),
        *(_level(area, mark, level) for mark in level),
    ]
    for dot in plot.dots:
        x, y = area.at(dot.at)
        if area.left - 1 <= x <= area.right + 1 and area.top - 1 <= y <= area.bottom + 1:
            shapes.append(_dot(x, y, dot.style))
    y = area.bottom + 2.0 * LINE + 2.0
    shapes.append(f'<text x="{area.right:.1f}" y="{y:.1f}" text-anchor="end" class="axis">{escape(plot.x.name)}</text>')
    key, y = _key(plot, y + 5.0)
    return (
        f'<svg viewBox="0 0 {WIDTH:.0f} {y + 5:.0f}" role="img" font-size="{SIZE}" data-plot="{plot.key}" '
        f'aria-label="{escape(plot.title)}">{"".join([*shapes, *key])}</svg>'
    )


def _code(style: str) -> str:
    return palette.code(STYLES[style][0])


def _dot(x: float, y: float, style: str) -> str:
    if style in SQUARE:
        return (
            f'<rect x="{x - 6:.1f}" y="{y - 6:.1f}" width="12" height="12" fill="#fff" stroke="{_code(style)}" stroke-width="1.8"/>'
        )
    return f'<circle class="dot" cx="{x:.1f}" cy="{y:.1f}" r="4.5" fill="{_code(style)}" stroke="#fff" stroke-width="1.4"/>'


def _line(a: Place, b: Place, colour: palette.Rgb, width: float, dashes: str = "") -> str:
    return (
        f'<line x1="{a[0]:.1f}" y1="{a[1]:.1f}" x2="{b[0]:.1f}" y2="{b[1]:.1f}" stroke="{palette.code(colour)}" '
        f'stroke-width="{width}" stroke-dasharray="{dashes}"/>'
    )


def _axes(area: _Area) -> list[str]:
    found = []
    for value, shown in area.plot.y.ticks:
        y = area.at((area.plot.x.low, value))[1]
        found.append(_line((area.left, y), (area.right, y), palette.INK if value == 0.0 else palette.RULE, 0.8))
        found.append(f'<text x="{area.left - 4:.1f}" y="{y + 4:.1f}" text-anchor="end">{escape(shown)}</text>')
    written = -WIDTH  # where the last figure ends: one that would run into it is left out, its line stays
    for value, shown in area.plot.x.ticks:
        x = area.at((value, area.plot.y.low))[0]
        half = 0.5 * width_of(shown, SIZE) * SLACK
        found.append(_line((x, area.top), (x, area.bottom), palette.RULE, 0.8))
        centre = min(x, WIDTH - half)
        if centre - half < written + GAP:
            continue
        written = centre + half
        found.append(f'<text x="{centre:.1f}" y="{area.bottom + SIZE + 3:.1f}" text-anchor="middle">{escape(shown)}</text>')
    frame = f"M{area.left:.1f},{area.top:.1f}V{area.bottom:.1f}H{area.right:.1f}"
    return [*found, f'<path d="{frame}" fill="none" stroke="{palette.code(palette.INK)}" stroke-width="1"/>']


def _curves(area: _Area) -> list[str]:
    found = []
    for band in area.plot.bands:
        ring = area.path((*band.lower, *reversed(band.upper)))
        found.append(f'<polygon points="{ring}" fill="{_code(band.style)}" fill-opacity="0.22"/>')
    for line in area.plot.lines:
        for piece in line.pieces:
            found.append(
                f'<polyline points="{area.path(piece)}" fill="none" stroke="{_code(line.style)}" stroke-width="2.2" '
                f'stroke-dasharray="{STYLES[line.style][1]}"/>'
            )
    return found


def _word(x: float, y: float, said: str, colour: palette.Rgb, anchor: str) -> str:
    return f'<text class="mark" x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{palette.code(colour)}">{escape(said)}</text>'


def _upright(area: _Area, mark: Mark, row: int) -> str:
    """A mark at an x, its words in a row of their own above the area."""
    colour, dashes = MARKS[mark.kind]
    x = min(max(area.at((mark.at, area.plot.y.low))[0], area.left), area.right)
    y = LINE * (row + 1) + SIZE
    wide = width_of(mark.text, SIZE, True) * SLACK
    anchor = "end" if x + wide > WIDTH - 4.0 else "start"
    line = _line((x, y - SIZE), (x, area.bottom), colour, 1.6, dashes)
    return line + _word(x - 4.0 if anchor == "end" else x + 4.0, y, mark.text, colour, anchor)


def _level(area: _Area, mark: Mark, others: Sequence[Mark]) -> str:
    """A mark at a y, its words at the right: on it, but under the lowest of several, or those of a narrow band would cross."""
    colour, dashes = MARKS[mark.kind]
    y = area.at((area.plot.x.low, mark.at))[1]
    if not area.top <= y <= area.bottom:
        return ""
    line = _line((area.left, y), (area.right, y), colour, 1.6, dashes)
    under = y < area.top + LINE or (len(others) > 1 and mark.at == min(other.at for other in others))
    return line + _word(area.right - 2.0, y + SIZE if under and y < area.bottom - LINE else y - 4.0, mark.text, colour, "end")


def _key(plot: Plot, y: float) -> tuple[list[str], float]:
    """Each curve's stroke with its name, of one without strokes its dot; and the foot of the last. A curve without a name is the only one."""
    found = []
    for line in (one for one in plot.lines if one.name):
        y += LINE
        if line.pieces:
            found.append(_line((4.0, y - 4.0), (34.0, y - 4.0), STYLES[line.style][0], 2.6, STYLES[line.style][1]))
        if line.style in DOTTED:
            found.append(_dot(19.0, y - 4.0, line.style))
        rows = wrap(line.name, SIZE, (WIDTH - 44.0) / SLACK)
        found += [f'<text x="40" y="{y + LINE * k:.1f}">{escape(row)}</text>' for k, row in enumerate(rows)]
        y += LINE * (len(rows) - 1)
    return found, y
