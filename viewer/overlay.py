"""What the live page draws as SVG in the browser: labels and leaders over the picture, the fit drawn apart, the heat scale."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from html import escape
from typing import Final

from scenes.frame import FitView, Frame, HeatScale, Verdict
from viewer import palette
from viewer.anchors import Named, named
from viewer.figures import fit_radii
from viewer.labels import Anchor, Label, Layout, Wish, arrange
from viewer.lettering import width_of, wrap
from viewer.order_marks import Disc

TYPE_SIZE: Final = 14  # CSS pixels at the smallest page; grows with it
FIGURES_EACH: Final = 3  # of one part at its label; the table has them all
LABEL_SHARE: Final = 0.24  # of the picture's width that a column of labels may take
SLACK: Final = 1.08  # the browser's letters may run wider than the ones measured here
Line = tuple[str, str]  # style class, text


def labels(
    frame: Frame,
    places: Mapping[str, tuple[float, float]],
    size: tuple[float, float],
    marks: Mapping[Verdict, tuple[str, str]],
    type_size: int,
) -> tuple[Layout, dict[str, list[Line]]]:
    """Lay out the labels of a frame.

    `places`: where the leader of each label ends in the picture (x right, y down) [CSS pixel]; `size` of the picture.
    """
    width, height = size
    room = LABEL_SHARE * width
    lines = {label: _lines(label, group, marks, room, type_size) for label, group in named(frame).items() if label in places}
    wishes = []
    for rank, (label, text) in enumerate(lines.items()):
        x, y = places[label]
        if 0.0 <= x <= width and 0.0 <= y <= height:
            widest = max(width_of(line, type_size, kind == "name") for kind, line in text) * SLACK
            wishes.append(Wish(label, Anchor(x, y, 1.0), min(widest, room), len(text) * 1.25 * type_size, rank))
    column = 12.0 + max((wish.width for wish in wishes), default=0.0)
    left, right = (_column([w for w in wishes if (w.anchor.x < width / 2.0) == side], column, width) for side in (True, False))
    layout = arrange(wishes, picture=(8.0, 10.0, width - 8.0, height - 10.0), inner=(left, width - right), gap=0.5 * type_size)
    return layout, lines


def _column(wishes: Sequence[Wish], column: float, width: float) -> float:
    """Width of a column of labels [CSS pixel]: as wide as the other's, but where it would cover what it points to no wider than it must."""
    nearest = min((min(wish.anchor.x, width - wish.anchor.x) for wish in wishes), default=width)
    return column if nearest > column else 12.0 + max(wish.width for wish in wishes)


def _lines(label: str, group: Named, marks: Mapping[Verdict, tuple[str, str]], room: float, type_size: int) -> list[Line]:
    lines = [("name", text) for text in wrap(label, type_size, room / SLACK, True)]
    for callout in [c for c in group.callouts if c.short][:FIGURES_EACH]:
        text = f"{callout.short}\N{NO-BREAK SPACE}{marks[callout.verdict][0]}" if callout.verdict else callout.short
        lines += [(f"figure {callout.verdict}".strip(), piece) for piece in wrap(text, type_size, room / SLACK)]
    return lines


def leaders(
    layout: Layout,
    lines: Mapping[str, Sequence[Line]],
    size: tuple[float, float],
    type_size: int,
    discs: Sequence[Disc] = (),
    way: str = "",
) -> str:
    """The laid out labels as SVG: text on a plate of the ground's colour, elbow leader, dot at the part; over them the numbers of the order of work
    and the mark of a blocked way, drawn already."""
    parts = [
        f'<svg viewBox="0 0 {size[0]:.0f} {size[1]:.0f}" width="{size[0]:.0f}" height="{size[1]:.0f}" font-size="{type_size}">'
    ]
    for label in layout.labels:
        points = " ".join(f"{x:.1f},{y:.1f}" for x, y in label.leader)
        x, y = label.leader[-1]
        parts.append(f'<g data-label="{escape(label.key)}"><polyline class="halo" points="{points}"/><polyline points="{points}"/>')
        parts.append(
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3.2"/>{_plate(label, lines[label.key], type_size)}{_text(label, lines[label.key], type_size)}</g>'
        )
    if discs:
        parts.append(f'<g class="order">{"".join(_disc(disc) for disc in discs)}</g>')
    return "".join(parts) + way + "</svg>"


def _disc(disc: Disc) -> str:
    lead = f'<path d="M{disc.x:.1f},{disc.y:.1f}L{disc.spot[0]:.1f},{disc.spot[1]:.1f}"/>' if disc.moved else ""
    size = (1.3 if len(disc.text) < 2 else 1.1) * disc.radius
    return (
        f'{lead}<circle cx="{disc.x:.1f}" cy="{disc.y:.1f}" r="{disc.radius:.1f}"/>'
        f'<text x="{disc.x:.1f}" y="{disc.y + 0.36 * size:.1f}" font-size="{size:.1f}" text-anchor="middle">{escape(disc.text)}</text>'
    )


def _plate(label: Label, lines: Sequence[Line], type_size: int) -> str:
    """The ground behind a label's letters: they are read over any part."""
    wide = max(width_of(text, type_size, kind == "name") for kind, text in lines) * SLACK + 0.5 * type_size
    left = label.box[2] - wide + 0.25 * type_size if label.side == "left" else label.box[0] - 0.25 * type_size
    tall = len(lines) * 1.25 * type_size + 0.2 * type_size
    return f'<rect class="plate" x="{left:.1f}" y="{label.box[1]:.1f}" width="{wide:.1f}" height="{tall:.1f}" rx="2"/>'


def _text(label: Label, lines: Sequence[Line], type_size: int) -> str:
    anchor, x = ("end", label.box[2]) if label.side == "left" else ("start", label.box[0])
    top = label.box[1] + 0.95 * type_size
    rows = [
        f'<tspan x="{x:.1f}" y="{top + i * 1.25 * type_size:.1f}" class="{kind}">{escape(text)}</tspan>'
        for i, (kind, text) in enumerate(lines)
    ]
    return f'<text text-anchor="{anchor}">{"".join(rows)}</text>'


def fit(view: FitView, hub: palette.Rgb, width: float = 196.0) -> str:
    """A sector of hub and shaft: a gap stays white, an interference is hatched, dashed arcs bound the band of sizes."""
    half = math.radians(30.0)
    radius = 0.44 * width / math.sin(half)
    bore, low, high = fit_radii(view, radius)
    wall = 0.13 * radius
    outer = max(bore, high, radius) + wall
    floor = min(radius, bore, low) - wall
    centre = (0.5 * width, outer + 2.0)
    foot = centre[1] - floor * math.cos(half) + 6.0

    def arc(r: float) -> str:
        x, y = r * math.sin(half), centre[1] - r * math.cos(half)
        return f"M{centre[0] - x:.2f},{y:.2f}A{r:.2f},{r:.2f} 0 0 1 {centre[0] + x:.2f},{y:.2f}"

    def band(inner: float, outside: float) -> str:
        x, y = inner * math.sin(half), centre[1] - inner * math.cos(half)
        return f"{arc(outside)}L{centre[0] + x:.2f},{y:.2f}A{inner:.2f},{inner:.2f} 0 0 0 {centre[0] - x:.2f},{y:.2f}Z"

    shown_hub, shown_shaft = palette.mix(hub, palette.GROUND, 0.35), palette.role("shaft")
    shapes = [
        '<defs><pattern id="tight" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">',
        '<rect width="6" height="6" fill="#fff"/>',
        f'<rect width="2" height="6" fill="{palette.code(palette.VERDICT["stop"])}"/></pattern></defs>',
        f'<path class="hub" d="{band(min(bore, radius), outer)}" fill="{palette.code(shown_hub)}"/>',
        f'<path class="shaft" d="{band(floor, radius)}" fill="{palette.code(shown_shaft)}"/>',
    ]
    if bore > radius:
        shapes.append(f'<path class="gap" d="{band(radius, bore)}" fill="#fff"/>')
    elif bore < radius:
        shapes.append(f'<path class="tight" d="{band(bore, radius)}" fill="url(#tight)"/>')
    shapes += [f'<path class="limit" d="{arc(r)}"/>' for r in (low, high) if r != bore]
    y = foot
    for name, colour in ((view.bore_name, shown_hub), (view.shaft_name, shown_shaft)):
        shapes.append(f'<rect x="4" y="{y + 3:.0f}" width="12" height="12" fill="{palette.code(colour)}"/>')
        for row in wrap(name, 13, (width - 24.0) / SLACK):
            shapes.append(f'<text x="22" y="{y + 13:.0f}">{escape(row)}</text>')
            y += 16.0
        y += 2.0
    return f'<svg viewBox="0 0 {width:.0f} {y:.0f}" role="img" font-size="13">{"".join(shapes)}</svg>'


def heat(scale: HeatScale, width: float = 176.0) -> str:
    """The temperature scale: a pointer above for the part now, a tick below for its limit."""
    colours = palette.heat_ramp(24)
    stops = "".join(
        f'<stop offset="{i / 23:.4f}" stop-color="{palette.code((int(c[0]), int(c[1]), int(c[2])))}"/>'
        for i, c in enumerate(colours)
    )
    span = max(scale.high - scale.low, 1e-9)
    shapes = [
        f'<defs><linearGradient id="heat">{stops}</linearGradient></defs>',
        f'<rect x="10" y="20" width="{width}" height="12" fill="url(#heat)"/>',
    ]
    for mark in scale.marks:
        share = min(1.0, max(0.0, (mark.temperature - scale.low) / span))
        x = 10.0 + width * share
        anchor = "start" if share < 0.25 else "end" if share > 0.75 else "middle"
        if mark.kind == "now":
            shapes.append(f'<path class="pointer" d="M{x:.1f},20l-5,-7h10z"/>')
            shapes.append(f'<text class="reading" x="{x:.1f}" y="10" text-anchor="{anchor}">{escape(mark.text)}</text>')
        elif mark.kind == "limit":
            shapes.append(f'<path class="limit-tick" d="M{x:.1f},17v19"/>')
            shapes.append(f'<text class="limit-text" x="{x:.1f}" y="47" text-anchor="{anchor}">{escape(mark.text)}</text>')
        else:
            shapes.append(f'<text x="10" y="47">{escape(mark.text)}</text>')
    return f'<svg viewBox="0 0 {width + 20:.0f} 52" role="img" font-size="13">{"".join(shapes)}</svg>'
