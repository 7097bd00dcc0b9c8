"""The finished sheet of one step: title strip, picture with labels, the notes beside it, cautions and hold point below.

Everything written here comes finished in the Frame, except a few headings (scenes/wording, picture).
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from scenes.frame import BlockedWay, Callout, Frame, MeshView, PairView, Shown, Verdict
from scenes.wording import catalogue, spoken
from viewer import figures, ink, inset, labels, measure, mesh_figure, order_marks, pair_figure, palette, way_mark
from viewer.lettering import Align, Sheet, balanced, pitch, width_of, wrap
from viewer.stage import PartMap, Stage, colour_of

MOST_OTHERS: Final = 12  # labels of parts that the step neither brings, names nor says anything about; the largest seen
DISC: Final = 13.0  # radius of a number on the sheet of 1000 pixels' height [pixel]
LEAST_PICTURE: Final = 0.36  # of the sheet's height that the picture keeps before what forgetting costs is left out
INDENT: Final = 26.0  # of a note behind its mark, at the full sheet [pixel]
NOWHERE: Final = np.zeros((0, 2))
SEVERITY: Final[dict[Verdict, int]] = {"stop": 0, "watch": 1, "fine": 2, "": 3}
Rect = tuple[float, float, float, float]


@dataclass(frozen=True, eq=False)
class Page:
    """A finished sheet and what is needed to judge it: its labels, the picture's rectangle (left, top, right, bottom) [pixel],
    what was left out for want of room, and the close-ups; the bare drawing, and where the order of work falls in it [pixel]."""

    image: NDArray[np.uint8]
    layout: labels.Layout
    area: Rect
    parts: PartMap
    insets: tuple[inset.Inset, ...]
    callouts_left_out: int
    discs: tuple[order_marks.Disc, ...]
    drawing: ink.Drawing
    spots: NDArray[np.float64]
    way: way_mark.Mark | None = None


@dataclass(frozen=True)
class _Line:
    text: str
    colour: palette.Rgb
    bold: bool = False
    verdict: Verdict = ""
    name: bool = False


@dataclass(frozen=True)
class Wanted:
    """A label that wants a place: the parts that share it, its lines and its rank (0 = arriving, keep at all cost)."""

    names: tuple[str, ...]
    lines: tuple[_Line, ...]
    rank: int


def page(frame: Frame, size: tuple[int, int] = (1500, 1000), *, stage: Stage | None = None, finish: ink.Finish = ink.FINE) -> Page:
    """Draw the whole sheet of one frame; `stage` is reused if given (its size is changed)."""
    own = stage is None
    scene = Stage((size[0] * finish.scale, size[1] * finish.scale)) if stage is None else stage
    try:
        return _page(frame, size, scene, finish)
    finally:
        if own:
            scene.close()


def words() -> Mapping[str, str]:
    """The headings of a picture by their key, in the language spoken."""
    return _words(spoken())


@functools.cache
def _words(language: str) -> Mapping[str, str]:
    return {key.removeprefix("picture."): str(value) for key, value in catalogue(language).items() if key.startswith("picture.")}


def type_size(points: float, unit: float) -> int:
    """Type size for this sheet [pixel]; never so small that it can't be read."""
    return max(11, round(points * unit))


@dataclass(frozen=True, eq=False)
class Plan:
    """Where things go on a sheet [pixel]: the picture's rectangle, the part of it that the machine may fill, the inner edges of the
    two label columns, the panel's rectangle (None without a panel), and the labels that want a place."""

    unit: float
    area: Rect
    free: Rect
    columns: tuple[float, float]
    panel: Rect | None
    wishes: Mapping[str, Wanted]
    overview: bool


def begin(sheet: Sheet, frame: Frame) -> Plan:
    """Draw the title strip and the strips at the foot, and share out what is left of the sheet."""
    size = sheet.size
    unit = max(0.62, min(size[1] / 1000.0, size[0] / 1500.0))
    has_panel = frame.step is not None or bool(frame.callouts) or frame.fit_view is not None or frame.heat_scale is not None
    breadth = round(364 * unit) if has_panel else 0
    top, bottom = round(_title(sheet, frame, unit)), round(_foot(sheet, frame, unit))
    floor = round(_order_strip(sheet, frame, unit, size[0] - breadth, bottom, top + LEAST_PICTURE * size[1]))
    area = (0.0, float(top), float(size[0] - breadth), float(floor))
    wishes = candidates(frame, unit, area[2] * 0.155)
    column = max([label_width(wish.lines, unit) for wish in wishes.values()], default=0.0) + 30 * unit
    columns = (column, area[2] - column)
    free = (column + 16 * unit, top + 18 * unit, area[2] - column - 16 * unit, floor - 24 * unit)
    return Plan(
        unit,
        area,
        free,
        columns,
        (area[2], float(top), float(size[0]), float(bottom)) if has_panel else None,
        wishes,
        frame.step is None,
    )


def _page(frame: Frame, size: tuple[int, int], scene: Stage, finish: ink.Finish) -> Page:
    sheet = Sheet(size)
    plan = begin(sheet, frame)
    x0, y0, x1, y1 = (round(v) for v in plan.area)
    local = (plan.free[0] - x0, plan.free[1] - y0, plan.free[2] - x0, plan.free[3] - y0)
    drawing = ink.draw(frame, (x1 - x0, y1 - y0), stage=scene, free=local, finish=finish)
    spots = (
        scene.project(np.array([mark.point for mark in frame.sequence])) / finish.scale + (x0, y0) if frame.sequence else NOWHERE
    )
    chains = projected(scene, frame, finish.scale, (x0, y0))
    views = inset.views(scene, frame, drawing.full)
    poor = inset.wanted(views, frame)
    sheet.picture(drawing.image, x0, y0)
    layout = write_labels(sheet, plan, drawing.parts, (x0, y0))
    discs = write_order(sheet, frame, spots, plan, layout, plan.free if drawing.close else plan.area)
    way = write_way(sheet, frame, chains, plan, layout, plan.free if drawing.close else plan.area)
    close: tuple[inset.Inset, ...] = ()
    left_out = 0
    if plan.panel is not None:
        if poor:
            inner = round(plan.panel[2] - plan.panel[0] - 44 * plan.unit)
            groups = inset.tiles(scene, frame, poor, views)
            each = round((inner - 8 * plan.unit * (len(groups) - 1)) / len(groups))
            close = tuple(
                inset.draw(scene, frame, names, (each, round(inner * (0.62 if len(groups) == 1 else 0.46))), finish)
                for names in groups
            )
        left_out = write_panel(sheet, frame, plan, close)
    return Page(sheet.finish(), layout, plan.area, drawing.parts, close, left_out, discs, drawing, spots - (x0, y0), way)


# -- strips ---------------------------------------------------------------------------------------------------------


def _title(sheet: Sheet, frame: Frame, unit: float) -> float:
    """Title strip; gives the y below it."""
    width = sheet.size[0]
    step = frame.step
    height = 78.0 * unit
    sheet.box(0, 0, width, height, palette.INK)
    if step is None:
        sheet.text(22 * unit, height / 2 - 17 * unit, words()["overview"], type_size(13, unit), palette.RULE)
        sheet.text(22 * unit, height / 2 + 10 * unit, frame.machine, type_size(25, unit), palette.GROUND, bold=True)
        return height
    side = 44.0 * unit
    x, middle = 22.0 * unit, height / 2.0
    chip = type_size(22, unit)
    number = str(step.number)
    breadth = max(side, width_of(number, chip, True) + 18 * unit)
    sheet.box(x, middle - side / 2, x + breadth, middle + side / 2, palette.GROUND, radius=5 * unit)
    sheet.text(x + breadth / 2, middle, number, chip, palette.INK, bold=True, align="middle")
    x += breadth + 18 * unit
    count = words()["step"].format(number=step.number, count=step.count)
    right = width - 22.0 * unit
    sheet.text(right, middle - 13 * unit, count, type_size(16, unit), palette.GROUND, bold=True, align="right")
    sheet.text(right, middle + 15 * unit, frame.machine, type_size(13, unit), palette.RULE, align="right")
    room = right - x - max(width_of(count, type_size(16, unit), True), width_of(frame.machine, type_size(13, unit))) - 30 * unit
    big = type_size(25, unit)
    while big > 13 and width_of(step.title, big, True) > room:
        big -= 1
    sheet.text(x, middle - 17 * unit, step.phase_title, type_size(13, unit), palette.RULE)
    sheet.text(x, middle + 10 * unit, step.title, big, palette.GROUND, bold=True)
    return height


def _foot(sheet: Sheet, frame: Frame, unit: float) -> float:
    """Cautions, hold point and notes at the bottom; gives the y above them."""
    width, height = sheet.size
    small, body = type_size(11.5, unit), type_size(13.5, unit)
    y = float(height)
    if frame.notes:
        lines = wrap("  ·  ".join(frame.notes), small, width - 44 * unit)
        y -= pitch(small) * len(lines) + 10 * unit
        for k, line in enumerate(lines):
            sheet.text(22 * unit, y + 4 * unit + pitch(small) * (k + 0.5), line, small, palette.SOFT_INK)
    step = frame.step
    if step is None or frame.blocked is not None or not (step.cautions or step.hold):
        return y
    share = 1.0 if not step.hold else (0.0 if not step.cautions else 0.62)
    split = 22 * unit + (width - 44 * unit) * share
    lead = max(104 * unit, width_of(words()["hold"], body, True) + 16 * unit)
    wide_left = split - 22 * unit - (46 * unit if step.hold else 30 * unit)
    wide_right = width - 22 * unit - split - (18 * unit if step.cautions else 0) - 46 * unit - lead
    cautions = [wrap(text, body, wide_left) for text in step.cautions]
    hold = wrap(step.hold, body, wide_right, True) if step.hold else []
    tall = (
        max(sum(len(c) for c in cautions) * pitch(body) + 4 * unit * max(0, len(cautions) - 1), len(hold) * pitch(body)) + 20 * unit
    )
    y -= tall
    if cautions:
        sheet.box(
            0, y, split - (9 * unit if hold else -22 * unit), y + tall, palette.mix(palette.VERDICT["watch"], palette.GROUND, 0.88)
        )
        at = y + 10 * unit
        for lines in cautions:
            sheet.mark("watch", 32 * unit, at + pitch(body) / 2, 7.5 * unit)
            for line in lines:
                sheet.text(48 * unit, at + pitch(body) / 2, line, body, palette.INK)
                at += pitch(body)
            at += 4 * unit
    if hold:
        x = split + (9 * unit if cautions else -22 * unit)
        sheet.box(x, y, width, y + tall, palette.mix(palette.VERDICT["stop"], palette.GROUND, 0.88))
        sheet.mark("stop", x + 24 * unit, y + tall / 2, 10 * unit)
        sheet.text(x + 42 * unit, y + tall / 2, words()["hold"], body, palette.VERDICT["stop"], bold=True)
        for k, line in enumerate(hold):
            sheet.text(
                x + 42 * unit + lead, y + tall / 2 + (k - (len(hold) - 1) / 2) * pitch(body), line, body, palette.INK, bold=True
            )
    return y


def _order_strip(sheet: Sheet, frame: Frame, unit: float, width: float, floor: float, least: float) -> float:
    """The verdict on the order, what stands against it at this step and what forgetting costs, below the picture; gives the y above.
    What forgetting costs is left out where the strip would reach above `least`."""
    body, room = type_size(12.5, unit), width - 66 * unit
    rows: list[tuple[Verdict, str, bool]] = []
    if frame.order is not None:
        rows.append((frame.order.verdict, frame.order.text, True))
        rows += [("stop", fault, False) for fault in frame.order.faults if frame.blocked is None]
        rows += [("watch", told, False) for told in frame.order.watched if frame.blocked is None]
    costs: list[tuple[Verdict, str, bool]] = []
    if frame.blocked is None:
        costs = [("watch", f"{words()['forgotten']}: {told}", False) for told in frame.forgotten]

    def laid(some: list[tuple[Verdict, str, bool]]) -> tuple[list[tuple[Verdict, list[str], bool]], float]:
        found = [(mark, wrap(text, body, room, bold), bold) for mark, text, bold in some]
        return found, floor - pitch(body) * sum(len(lines) for _, lines, _ in found) - 14 * unit

    broken, top = laid([*rows, *costs])
    if top < least:
        broken, top = laid(rows)
    if not broken:
        return floor
    y = top
    sheet.line([(0, y), (width, y)], palette.RULE, 1.0)
    y += 7 * unit
    for mark, lines, bold in broken:
        sheet.mark(mark, 32 * unit, y + pitch(body) / 2, 6.5 * unit)
        for line in lines:
            sheet.text(46 * unit, y + pitch(body) / 2, line, body, palette.VERDICT[mark] if bold else palette.INK, bold=bold)
            y += pitch(body)
    return top


# -- labels ---------------------------------------------------------------------------------------------------------


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
        lines = [_Line(line, colour, arriving, name=True) for line in balanced(text, name_size, widest, arriving)]
        for callout in said[:2]:
            short = wrap(callout.short, value_size, widest - 20 * unit, bool(callout.verdict))
            lines += [
                _Line(line, palette.VERDICT[callout.verdict], bool(callout.verdict), callout.verdict if k == 0 else "")
                for k, line in enumerate(short)
            ]
        chosen[text] = Wanted(tuple(p.name for p in parts), tuple(lines), rank)
    return chosen


def label_width(lines: tuple[_Line, ...], unit: float) -> float:
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


# -- the panel ------------------------------------------------------------------------------------------------------


def write_panel(sheet: Sheet, frame: Frame, plan: Plan, close: tuple[inset.Inset, ...] = ()) -> int:
    """What to do, the notes and the small drawings, from top to bottom; gives how many notes found no room."""
    if plan.panel is None:
        return len(frame.callouts)
    unit = plan.unit
    x0, top, x1, bottom = plan.panel
    sheet.box(x0, top, x1, bottom, palette.PANEL)
    x, width = x0 + 22 * unit, x1 - x0 - 44 * unit
    body, small = type_size(14, unit), type_size(12, unit)
    y = top + 18 * unit
    step = frame.step
    if frame.blocked is not None:
        y = _way_panel(sheet, frame.blocked, unit, (x, y, x + width, bottom))
    elif step is not None:
        if step.method:
            chip = width_of(step.method, small, True) + 16 * unit
            sheet.box(x, y, x + chip, y + pitch(small) + 6 * unit, palette.ACCENT, radius=4 * unit)
            sheet.text(x + 8 * unit, y + pitch(small) / 2 + 3 * unit, step.method, small, palette.GROUND, bold=True)
            y += pitch(small) + 14 * unit
        y = sheet.paragraph(x, y, step.act, body, width) + 6 * unit
        if step.reason:
            y = sheet.paragraph(x, y, words()["why"].format(reason=step.reason), small, width, palette.SOFT_INK) + 4 * unit
        tools = words()["tools"].format(tools=", ".join(step.tools)) if step.tools else ""
        if tools and y + pitch(small) * len(wrap(tools, small, width)) <= bottom:
            y = sheet.paragraph(x, y, tools, small, width, palette.SOFT_INK) + 4 * unit
    floor = bottom - 14 * unit

    def room_for(tall: float) -> bool:
        """Whether a small drawing of that height finds room; on a small sheet the numbers tell the same."""
        return floor - tall >= y

    if close and room_for(close[0].image.shape[0] + 3 * pitch(small) + 15 * unit):
        floor = _close_ups(sheet, frame, unit, (x, y, x + width, floor), close)
    heat = figures.heat_height(frame.heat_scale, width, unit) + 12 * unit if frame.heat_scale is not None else 0.0
    if frame.heat_scale is not None and room_for(heat):
        floor -= heat
        figures.draw_heat(sheet, frame.heat_scale, x, floor, width, unit)
    fit = figures.fit_height(frame.fit_view, width, unit, words()["band"]) + 12 * unit if frame.fit_view is not None else 0.0
    if frame.fit_view is not None and room_for(fit):
        floor -= fit
        hub = next((part for part in frame.shown if part.name == frame.fit_view.part), None)
        colour = colour_of(hub, frame) if hub is not None else palette.role("gear")
        figures.draw_fit(sheet, frame.fit_view, x, floor, width, unit, colour, words()["band"])
    elif frame.pair_view is not None:
        share, tall = _pair_share(frame, frame.pair_view, unit, width, floor - y - 20 * unit)
        floor -= tall + 12 * unit
        pair_figure.draw(sheet, frame.pair_view, x, floor, width, unit, share)
    if frame.mesh_view is not None:
        form, tall = _mesh_form(frame, frame.mesh_view, unit, width, floor - y - 20 * unit)
        if form is not None:
            floor -= tall + 8 * unit
            mesh_figure.draw(sheet, frame.mesh_view, x, floor, width, unit, **form)
    return _notes(sheet, frame, unit, (x, y + 4 * unit, x + width, floor - 4 * unit))


def _way_panel(sheet: Sheet, way: BlockedWay, unit: float, rect: Rect) -> float:
    """What is in the way, in words, with the two marks; gives the y below it."""
    x, y, x1, _ = rect
    head, body, small = type_size(16, unit), type_size(14, unit), type_size(12, unit)
    sheet.mark("stop", x + 9 * unit, y + pitch(head) / 2, 9 * unit)
    sheet.text(x + 26 * unit, y + pitch(head) / 2, way.heading, head, palette.VERDICT["stop"], bold=True)
    y = sheet.paragraph(x, y + pitch(head) + 8 * unit, way.sentence, body, x1 - x) + 14 * unit
    marks = ((palette.MOVING, "moving"), (palette.BLOCKING, "fixed"))
    for (colour, key), name in zip(marks, way.names, strict=True):
        side = 13 * unit
        sheet.box(x, y + (pitch(body) - side) / 2, x + side, y + (pitch(body) + side) / 2, colour, palette.INK)
        y = sheet.paragraph(x + INDENT * unit, y, words()[key].format(part=name), body, x1 - x - INDENT * unit) + 6 * unit
    for line in way.said:
        y = sheet.paragraph(x, y + 4 * unit, line, small, x1 - x, palette.SOFT_INK) + 4 * unit
    return y


def _pair_share(frame: Frame, view: PairView, unit: float, width: float, room: float) -> tuple[float, float]:
    """The largest size of the pair's figure, and its height, for which the fewest notes find no room in a height [pixel]."""
    notes = _broken(frame, unit, width - INDENT * unit)
    tall = {share: pair_figure.height(view, width, unit, share) for share in pair_figure.SHARES}
    share = max(tall, key=lambda each: (len(_fitting(notes, unit, room - tall[each])), each))
    return share, tall[share]


def _mesh_form(frame: Frame, view: MeshView, unit: float, width: float, room: float) -> tuple[dict[str, bool] | None, float]:
    """How the mesh is drawn, and its height: large where no note loses room by it, with few words where else no note would have any,
    not at all where even then none would."""
    notes = _broken(frame, unit, width - INDENT * unit)
    forms = {"large": {"beside": False}, "usual": {"beside": True}, "terse": {"beside": True, "terse": True}}
    tall = {name: mesh_figure.height(view, width, unit, **form) for name, form in forms.items()}
    kept = {name: len(_fitting(notes, unit, room - each)) if each <= room else -1 for name, each in tall.items()}
    if kept["large"] >= kept["usual"] >= 0:
        return forms["large"], tall["large"]
    for name in ("usual", "terse"):
        if kept[name] > 0 or (kept[name] == 0 and not notes):
            return forms[name], tall[name]
    return None, 0.0


def _close_ups(sheet: Sheet, frame: Frame, unit: float, rect: Rect, close: tuple[inset.Inset, ...]) -> float:
    """The close-ups side by side above the rectangle's lower edge, with one heading; gives the y above it."""
    x, _, x1, floor = rect
    small = type_size(12, unit)
    label = {part.name: part.label for part in frame.shown}
    names = [list(dict.fromkeys(label[name] for name in item.names)) for item in close]
    key = "hidden" if any(item.removed for item in close) else "close"
    caption = wrap(words()[key].format(parts=", ".join(", ".join(row) for row in names)), small, x1 - x, True)
    if len(caption) > 3:
        caption = [*caption[:2], caption[2].rstrip(",") + " …"]
    tall = int(close[0].image.shape[0])
    top = round(floor - tall)
    head = top - pitch(small) * len(caption) - 5 * unit
    for k, line in enumerate(caption):
        sheet.text(x, head + pitch(small) * (k + 0.5), line, small, palette.ACCENT, bold=True)
    left = x
    for item in close:
        wide = item.image.shape[1]
        sheet.picture(item.image, round(left), top)
        sheet.polygon([(left, top), (left + wide, top), (left + wide, top + tall), (left, top + tall)], None, palette.INK, 1.0)
        left += wide + 8 * unit
    return head - 10 * unit


@dataclass(frozen=True)
class _Note:
    """A callout broken into lines: its sentence, limit and source below it, the room for its verdict and its height [pixel]."""

    callout: Callout
    lines: list[str]
    below: list[str]
    word: float
    tall: float


def _broken(frame: Frame, unit: float, width: float) -> list[_Note]:
    """The callouts, gravest first, broken to a width [pixel]."""
    body, small = type_size(13, unit), type_size(11.5, unit)
    found = []
    for callout in sorted(frame.callouts, key=lambda c: SEVERITY[c.verdict]):
        lines = wrap(callout.text, body, width)
        bits = [words()["limit"].format(limit=callout.limit) if callout.limit else "", callout.source]
        word = width_of(words()[callout.verdict], small, True) + 8 * unit if callout.verdict else 0.0
        below = wrap("  ·  ".join(b for b in bits if b), small, width - word)
        tall = pitch(body) * len(lines) + pitch(small) * max(len(below), 1 if callout.verdict else 0) + 14 * unit
        found.append(_Note(callout, lines, below, word, tall))
    return found


def _fitting(notes: list[_Note], unit: float, room: float) -> list[_Note]:
    """The notes that find room in a height [pixel], a line being kept free that says how many do not."""
    left = room - pitch(type_size(11.5, unit)) - 6 * unit
    kept = []
    for note in notes:
        if note.tall <= left:
            kept.append(note)
            left -= note.tall
    return kept


def _notes(sheet: Sheet, frame: Frame, unit: float, rect: Rect) -> int:
    """The callouts as a table, gravest first, as many as have room; gives how many found none."""
    x, y, x1, floor = rect
    body, small = type_size(13, unit), type_size(11.5, unit)
    indent = INDENT * unit
    kept = _fitting(_broken(frame, unit, x1 - x - indent), unit, floor - y)
    for note in kept:
        callout = note.callout
        sheet.line([(x, y), (x1, y)], palette.RULE, 1.0)
        y += 7 * unit
        sheet.mark(callout.verdict, x + 9 * unit, y + pitch(body) / 2, 7.5 * unit)
        for line in note.lines:
            sheet.text(x + indent, y + pitch(body) / 2, line, body, palette.INK)
            y += pitch(body)
        if callout.verdict:
            word = words()[callout.verdict]
            sheet.text(x + indent, y + pitch(small) / 2, word, small, palette.VERDICT[callout.verdict], bold=True)
        for line in note.below or ([""] if callout.verdict else []):
            sheet.text(x + indent + note.word, y + pitch(small) / 2, line, small, palette.SOFT_INK)
            y += pitch(small)
        y += 7 * unit
    left_out = len(frame.callouts) - len(kept)
    if left_out and y + pitch(small) <= floor + 4 * unit:
        sheet.text(x + indent, y + pitch(small) / 2, words()["more_notes"].format(count=left_out), small, palette.SOFT_INK)
    return left_out


def faults(result: Page) -> list[str]:
    """What is wrong with a sheet by measurement: overlapping labels, labels outside the picture, crossing leaders."""
    found = [f"labels overlap: {a} / {b}" for a, b in measure.overlapping(result.layout.labels)]
    found += [f"label leaves the picture: {key}" for key in measure.outside(result.layout.labels, result.area)]
    return found + ([f"{result.layout.crossings} leaders cross"] if result.layout.crossings else [])
