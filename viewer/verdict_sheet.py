"""The verdict on a job on one page: does the order hold, what stands against it, what to watch, what hurts most if forgotten."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from scenes.verdict_page import Item, List, VerdictPage
from scenes.wording import text
from viewer import palette
from viewer.lettering import Sheet, pitch, width_of, wrap

SIZE: Final = (1240, 1754)  # A4 upright at 150 dots an inch [pixel]
EDGE: Final = 60.0
BODY: Final = 17
SMALL: Final = 15
INDENT: Final = 34.0
LEAST: Final = 4  # items of a list that are shown before one that stands above it is cut short


def sheet(page: VerdictPage) -> Sheet:
    """The page, drawn."""
    paper = Sheet(SIZE)
    width = SIZE[0] - 2 * EDGE
    y = _head(paper, page, width)
    for line in page.facts:
        y = paper.paragraph(EDGE, y, line, BODY, width) + 4
    foot = SIZE[1] - EDGE - sum(pitch(SMALL) * len(wrap(line, SMALL, width)) + 3 for line in page.foot)
    lists = [part for part in page.lists if part.items]
    for place, part in enumerate(lists):
        kept = sum(_least(later.items, width) for later in lists[place + 1 :])
        y = _list(paper, part, (y + 18, foot - 14 - kept), width)
    paper.line([(EDGE, foot - 8), (SIZE[0] - EDGE, foot - 8)], palette.RULE, 1.0)
    for line in page.foot:
        foot = paper.paragraph(EDGE, foot, line, SMALL, width, palette.SOFT_INK) + 3
    return paper


def draw(page: VerdictPage, path: Path) -> None:
    """Write the page as a picture."""
    import imageio.v3 as imageio

    imageio.imwrite(path, sheet(page).finish())


def _head(paper: Sheet, page: VerdictPage, width: float) -> float:
    paper.box(0, 0, SIZE[0], 104, palette.INK)
    paper.text(EDGE, 34, page.title, SMALL, palette.RULE)
    paper.text(EDGE, 68, page.machine, 30, palette.GROUND, bold=True)
    colour = palette.VERDICT[page.verdict]
    paper.box(0, 104, SIZE[0], 184, palette.mix(colour, palette.GROUND, 0.88))
    paper.mark(page.verdict, EDGE + 18, 144, 18)
    size = 26
    while width_of(page.headline, size, True) > width - 52:
        size -= 1
    paper.text(EDGE + 52, 144, page.headline, size, colour, bold=True)
    return 206.0


def _tall(item: Item, width: float) -> float:
    below = pitch(SMALL) * len(wrap(item.below, SMALL, width - INDENT)) if item.below else 0.0
    return pitch(BODY) * len(wrap(item.text, BODY, width - INDENT)) + below + 8


def _least(items: tuple[Item, ...], width: float) -> float:
    """Room for a heading, the first items and the line on the rest."""
    return 18 + 34 + sum(_tall(item, width) for item in items[:LEAST]) + pitch(SMALL)


def _list(paper: Sheet, part: List, rows: tuple[float, float], width: float) -> float:
    """A heading, as many items as have room between two heights, and where the rest is; gives the y below."""
    y, floor = rows
    paper.text(EDGE, y + 12, part.title, 20, palette.INK, bold=True)
    y += 34
    shown = 0
    for place, item in enumerate(part.items):
        rest = pitch(SMALL) + 6 if place + 1 < part.whole else 0.0
        if y + _tall(item, width) + rest > floor:
            break
        paper.mark(item.verdict, EDGE + 11, y + pitch(BODY) / 2, 8.5)
        y = paper.paragraph(EDGE + INDENT, y, item.text, BODY, width - INDENT)
        if item.below:
            y = paper.paragraph(EDGE + INDENT, y, item.below, SMALL, width - INDENT, palette.SOFT_INK)
        y += 8
        shown += 1
    if shown >= part.whole:
        return y
    more = text("order_verdict.more", count=part.whole - shown, whole=part.whole, command=part.all_of_it)
    paper.text(EDGE + INDENT, y + pitch(SMALL) / 2, more, SMALL, palette.SOFT_INK)
    return y + pitch(SMALL)
