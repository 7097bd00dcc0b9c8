"""The finished sheet of one step: title strip, picture with labels, the notes beside it, cautions and hold point below.

Everything written here comes finished in the Frame, except a few headings (scenes/wording, picture).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from scenes.frame import Frame
from viewer import ink, inset, labels, measure, order_marks, strips, way_mark
from viewer.lettering import Sheet
from viewer.over_picture import NOWHERE, candidates, label_width, projected, write_labels, write_order, write_way
from viewer.panel import write_panel
from viewer.sheet_plan import Plan, Rect
from viewer.stage import PartMap, Stage

LEAST_PICTURE: Final = 0.36  # of the sheet's height that the picture keeps before what forgetting costs is left out


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


def page(frame: Frame, size: tuple[int, int] = (1500, 1000), *, stage: Stage | None = None, finish: ink.Finish = ink.FINE) -> Page:
    """Draw the whole sheet of one frame; `stage` is reused if given (its size is changed)."""
    own = stage is None
    scene = Stage((size[0] * finish.scale, size[1] * finish.scale)) if stage is None else stage
    try:
        return _page(frame, size, scene, finish)
    finally:
        if own:
            scene.close()


def begin(sheet: Sheet, frame: Frame) -> Plan:
    """Draw the title strip and the strips at the foot, and share out what is left of the sheet."""
    size = sheet.size
    unit = max(0.62, min(size[1] / 1000.0, size[0] / 1500.0))
    has_panel = frame.step is not None or bool(frame.callouts) or frame.fit_view is not None or frame.heat_scale is not None
    breadth = round(364 * unit) if has_panel else 0
    top, bottom = round(strips.title(sheet, frame, unit)), round(strips.foot(sheet, frame, unit))
    floor = round(strips.order_strip(sheet, frame, unit, size[0] - breadth, bottom, top + LEAST_PICTURE * size[1]))
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


def faults(result: Page) -> list[str]:
    """What is wrong with a sheet by measurement: overlapping labels, labels outside the picture, crossing leaders."""
    found = [f"labels overlap: {a} / {b}" for a, b in measure.overlapping(result.layout.labels)]
    found += [f"label leaves the picture: {key}" for key in measure.outside(result.layout.labels, result.area)]
    return found + ([f"{result.layout.crossings} leaders cross"] if result.layout.crossings else [])
