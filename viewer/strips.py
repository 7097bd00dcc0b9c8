"""The strips of a sheet: title at the top; cautions, hold point and the order's verdict at the foot.

Pixels; `unit`: the sheet's scale. Contents: `title`, `foot`, `order_strip`.
"""

from __future__ import annotations

from scenes.frame import Frame, Verdict
from viewer import palette
from viewer.lettering import Sheet, pitch, width_of, wrap
from viewer.sheet_plan import type_size, words


def title(sheet: Sheet, frame: Frame, unit: float) -> float:
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


def foot(sheet: Sheet, frame: Frame, unit: float) -> float:
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


def order_strip(sheet: Sheet, frame: Frame, unit: float, width: float, floor: float, least: float) -> float:
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
