"""What is written over the picture: names of the parts with what is said of them, numbers of an order of work, a blocked way.

Pixels. Contents: `candidates`, `label_width`, `write_labels`, `write_order`, `projected`, `write_way`.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from scenes.frame import Callout, Frame, Shown
from viewer import ink, labels, order_marks, palette, way_mark
from viewer.lettering import Align, Sheet, balanced, pitch, width_of, wrap
from viewer.sheet_plan import SEVERITY, Line, Plan, Rect, Wanted, type_size, words
from viewer.stage import PartMap, Stage

MOST_OTHERS: Final = 12  # labels of parts that the step neither brings, names nor says anything about; the largest seen
DISC: Final = 13.0  # radius of a number on the sheet of 1000 pixels' height [pixel]
NOWHERE: Final = np.zeros((0, 2))


def candidates(frame: Frame, unit: float, widest: float) -> dict[str, Wanted]:
    """For each label text: the parts that share it, its lines and its rank."""
    name_size, value_size = type_size(13.5, unit), type_size(12.5, unit)
    notes: dict[str, list[Callout]] = {}
    for callout in sorted(frame.callouts, key=lambda c: SEVERITY[c.verdict]):
        notes.setdefault(callout.part, []).append(callout)
    groups: dict[str, list[Shown]] = {}
    for part in frame.shown:
        groups.setdefault(part.label, []).append(part)
    named = set(frame.labelled) & {part.name for part in frame.shown}
    chosen: dict[str, Wanted] = {}
    for text, parts in groups.items():
        arriving = any(p.state in ("arriving", *ink.LIT) for p in parts)
        said = [c for p in parts for c in notes.get(p.name, [])]
        rank = 0 if arriving else 1 if said or any(p.name in named for p in parts) else 3
        if rank == 3 and (named or parts[0].state == "waiting"):
            continue
        blocking = any(p.state == "blocking" for p in parts)
        colour = palette.VERDICT["stop"] if blocking else palette.ACCENT if arriving else palette.INK
        lines = [Line(line, colour, arriving, name=True) for line in balanced(text, name_size, widest, arriving)]
        for callout in said[:2]:
            short = wrap(callout.short, value_size, widest - 20 * unit, bool(callout.verdict))
            lines += [
                Line(line, palette.VERDICT[callout.verdict], bool(callout.verdict), callout.verdict if k == 0 else "")
                for k, line in enumerate(short)
            ]
        chosen[text] = Wanted(tuple(p.name for p in parts), tuple(lines), rank)
    return chosen


def label_width(lines: tuple[Line, ...], unit: float) -> float:
    size = type_size(13.5, unit)
    return max(width_of(line.text, size, line.bold) + (20 * unit if line.verdict else 0) for line in lines)


def write_labels(
    sheet: Sheet, plan: Plan, parts: PartMap, origin: tuple[float, float] = (0.0, 0.0), *, count_others: bool = True
) -> labels.Layout:
    """Lay the labels out and draw them; `origin` is where the upper left pixel of `parts` lies on the sheet. `count_others`: say how many
    parts found no room."""
    unit, area, wishes = plan.unit, plan.area, plan.wishes
    size = type_size(13.5, unit)
    spots = labels.anchors(parts, {key: wish.names for key, wish in wishes.items()})
    if not plan.overview:
        others = sorted((key for key in spots if wishes[key].rank >= 3), key=lambda key: -spots[key].depth)
        spots = {key: spot for key, spot in spots.items() if key not in others[MOST_OTHERS:]}
    rows = []
    for key, spot in spots.items():
        lines = wishes[key].lines
        end = labels.Anchor(spot.x + origin[0], spot.y + origin[1], spot.depth)
        rows.append(labels.Wish(key, end, label_width(lines, unit) + 6 * unit, pitch(size) * len(lines), wishes[key].rank))
    picture = (area[0] + 10 * unit, area[1] + 12 * unit, area[2] - 10 * unit, area[3] - 12 * unit)
    layout = labels.arrange(rows, picture=picture, inner=plan.columns, gap=7 * unit)
    for label in layout.labels:
        sheet.smooth(label.leader, palette.GROUND, 3.4)
    for label in layout.labels:
        colour = wishes[label.key].lines[0].colour
        sheet.smooth(label.leader, colour, 1.1)
        sheet.dot(*label.leader[-1], 4.8, palette.GROUND)
        sheet.dot(*label.leader[-1], 3.3, colour)
    for label in layout.labels:
        y = label.box[1] + pitch(size) / 2
        for line in wishes[label.key].lines:
            x = label.box[2] if label.side == "left" else label.box[0]
            if line.verdict:
                reach = 9 * unit
                sheet.mark(line.verdict, x - reach if label.side == "left" else x + reach, y, 6.5 * unit)
                x += -20 * unit if label.side == "left" else 20 * unit
            align: Align = "right" if label.side == "left" else "left"
            sheet.text(x, y, line.text, type_size(13.5 if line.name else 12.5, unit), line.colour, bold=line.bold, align=align)
            y += pitch(size)
    if layout.left_out and count_others:
        text = words()["unlabelled"].format(count=len(layout.left_out))
        sheet.text((area[0] + area[2]) / 2, area[3] - 10 * unit, text, type_size(11.5, unit), palette.SOFT_INK, align="middle")
    return layout


def write_order(
    sheet: Sheet, frame: Frame, spots: NDArray[np.float64], plan: Plan, layout: labels.Layout, area: Rect
) -> tuple[order_marks.Disc, ...]:
    """Number the places of an order of work, `spots` being where they fall on the sheet (n, 2) [pixel]; `area`: what may be drawn on."""
    texts = [mark.text for mark in frame.sequence]
    taken = [label.box for label in layout.labels]
    discs = order_marks.arrange(texts, spots, area=area, radius=DISC * plan.unit, taken=taken)
    for disc in discs:
        if disc.moved:
            sheet.smooth([(disc.x, disc.y), disc.spot], palette.GROUND, 3.4)
            sheet.smooth([(disc.x, disc.y), disc.spot], palette.INK, 1.2)
            sheet.dot(*disc.spot, 2.6, palette.INK)
    for disc in discs:
        sheet.dot(disc.x, disc.y, disc.radius, palette.INK)
        sheet.dot(disc.x, disc.y, disc.radius - 1.5 * plan.unit, palette.PAPER)
        size = max(8, round((1.3 if len(disc.text) < 2 else 1.1) * disc.radius))
        sheet.text(disc.x, disc.y, disc.text, size, palette.INK, bold=True, align="middle")
    return discs


def projected(scene: Stage, frame: Frame, scale: float, origin: tuple[float, float]) -> tuple[NDArray[np.float64], ...]:
    """Where the chains of a blocked way fall on the sheet, the picture being drawn `scale` times as large [pixel]."""
    if frame.blocked is None:
        return ()
    chains = (frame.blocked.come, frame.blocked.rest)
    return tuple(scene.project(np.array(chain)) / scale + origin if chain else NOWHERE for chain in chains)


def write_way(
    sheet: Sheet, frame: Frame, chains: tuple[NDArray[np.float64], ...], plan: Plan, layout: labels.Layout, area: Rect
) -> way_mark.Mark | None:
    """Mark a blocked way, `chains` being where its points fall on the sheet [pixel]; `area`: what may be drawn on."""
    if frame.blocked is None:
        return None
    taken = [label.box for label in layout.labels]
    mark = way_mark.arrange(*chains, frame.blocked.left, area=area, taken=taken, type_size=type_size(16, plan.unit))
    way_mark.write(sheet, mark)
    return mark
