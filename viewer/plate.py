"""The picture of a step for paper: the drawing without strip and panel, with labels as large as the text of the sheet.

Sizes in pixels at DOTS to the millimetre.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from scenes.frame import Frame
from viewer import compose, inset, labels, over_picture, palette, sheet_plan
from viewer.lettering import Sheet
from viewer.stage import PartMap

DOTS: Final = 8.0  # pixels to the millimetre: 203 to the inch
UNIT: Final = 2.3  # of compose's type sizes: 13.5 x 2.3 pixels are 11 points on paper
MOST_OTHERS: Final = 4  # labels of parts that the step says nothing about
LARGEST: Final = 2.5  # how far a drawing may be enlarged
COLUMN: Final = 0.235  # widest line of a label, of the width of the plate
NARROW: Final = 0.155  # the same beside a drawing that is long and low
LOW: Final = 75.0  # a drawing that comes out less tall than this is a low one [mm]
PAD: Final = 4  # pixels round what is drawn


def draw(page: compose.Page, frame: Frame, size: tuple[float, float]) -> NDArray[np.uint8]:
    """The plate of a finished page; `size`: width and height on paper [mm]."""
    return _trimmed(laid(page, frame, size)[0])


def laid(page: compose.Page, frame: Frame, size: tuple[float, float]) -> tuple[NDArray[np.uint8], labels.Layout]:
    """The plate before it is trimmed, and the places of its labels [pixel]."""
    width, height = round(size[0] * DOTS), round(size[1] * DOTS)
    wishes = _wishes(frame, width * COLUMN)
    column = _column(wishes)
    x0, y0, x1, y1 = _drawn(page)
    if (width - 2.0 * column) * (y1 - y0) < LOW * DOTS * (x1 - x0):  # long and low: narrow columns leave it more room
        wishes = _wishes(frame, width * NARROW)
        column = _column(wishes)
    free = (column + 12 * UNIT, 4.0, width - column - 12 * UNIT, height - 4.0)
    image, parts, spots = _placed(page, (width, height), free)
    sheet = Sheet((width, height))
    sheet.picture(image, 0, 0)
    area = (0.0, 0.0, float(width), float(height))
    plan = sheet_plan.Plan(UNIT, area, free, (column, width - column), None, wishes, False)
    layout = over_picture.write_labels(sheet, plan, parts, count_others=False)
    if frame.sequence:
        over_picture.write_order(sheet, frame, spots, replace(plan, unit=0.75 * UNIT), layout, area)
    return sheet.finish(), layout


def _wishes(frame: Frame, widest: float) -> dict[str, sheet_plan.Wanted]:
    """The labels that are wanted: what arrives and what the step speaks of, and of what stands there only a few."""
    wishes = over_picture.candidates(frame, UNIT, widest)
    kept = [key for key, wish in wishes.items() if wish.rank < 3]
    others = [key for key in wishes if key not in kept][: max(0, MOST_OTHERS - len(kept))]
    return {key: wish for key, wish in wishes.items() if key in kept or key in others}


def _column(wishes: dict[str, sheet_plan.Wanted]) -> float:
    """Width of a column that the widest label fits into with its margins."""
    return max([over_picture.label_width(wish.lines, UNIT) for wish in wishes.values()], default=0.0) + 18 * UNIT


def _drawn(page: compose.Page) -> tuple[int, int, int, int]:
    """The rectangle of a drawing that is drawn on: left, top, right, bottom [pixel]."""
    image = page.drawing.image
    rows, columns = np.nonzero((image < 250).any(axis=2))
    y0, y1 = max(0, int(rows.min()) - PAD), min(image.shape[0], int(rows.max()) + PAD + 1)
    x0, x1 = max(0, int(columns.min()) - PAD), min(image.shape[1], int(columns.max()) + PAD + 1)
    return x0, y0, x1, y1


def _trimmed(image: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """A plate without the empty rows above and below, but for a narrow margin."""
    rows = np.nonzero((image < 250).any(axis=(1, 2)))[0]
    margin = round(1.5 * DOTS)
    return image[max(0, int(rows[0]) - margin) : int(rows[-1]) + margin + 1]


def close_up(found: tuple[inset.Inset, ...]) -> NDArray[np.uint8] | None:
    """The close-ups of a step side by side in a thin frame each, or None when there are none."""
    if not found:
        return None
    tall = max(item.image.shape[0] for item in found)
    wide = sum(item.image.shape[1] for item in found) + PAD * (len(found) - 1)
    sheet = np.full((tall, wide, 3), 255, dtype=np.uint8)
    x = 0
    for item in found:
        rows, columns = item.image.shape[:2]
        sheet[:rows, x : x + columns] = palette.INK
        sheet[1 : rows - 1, x + 1 : x + columns - 1] = item.image[1:-1, 1:-1]
        x += columns + PAD
    return sheet


def _placed(
    page: compose.Page, size: tuple[int, int], free: tuple[float, float, float, float]
) -> tuple[NDArray[np.uint8], PartMap, NDArray[np.float64]]:
    """The drawing cut to what is drawn and set in the middle of the free rectangle, with its parts and the order's places."""
    drawing = page.drawing
    x0, y0, x1, y1 = _drawn(page)
    scale = min((free[2] - free[0]) / (x1 - x0), (free[3] - free[1]) / (y1 - y0), LARGEST)
    wide, tall = max(1, int((x1 - x0) * scale)), max(1, int((y1 - y0) * scale))
    left, top = round((free[0] + free[2] - wide) / 2.0), round((free[1] + free[3] - tall) / 2.0)
    image = np.full((size[1], size[0], 3), 255, dtype=np.uint8)
    small = Image.fromarray(drawing.image[y0:y1, x0:x1]).resize((wide, tall), Image.Resampling.LANCZOS)
    image[top : top + tall, left : left + wide] = np.asarray(small)
    seen_rows = y0 + (np.arange(tall) / scale).astype(int)
    seen_columns = x0 + (np.arange(wide) / scale).astype(int)
    pick = np.ix_(seen_rows, seen_columns)
    part = np.full((size[1], size[0]), -1, dtype=np.int16)
    cap = np.zeros((size[1], size[0]), dtype=bool)
    part[top : top + tall, left : left + wide] = drawing.parts.part[pick]
    cap[top : top + tall, left : left + wide] = drawing.parts.cap[pick]
    spots = (page.spots - (x0, y0)) * scale + (left, top)
    return image, PartMap(part, cap, drawing.parts.names), spots
