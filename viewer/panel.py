"""The panel beside the picture: what to do and why, the notes, gravest first, and the small drawings below them.

Pixels; `unit`: the sheet's scale. Contents: `write_panel`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from scenes.frame import BlockedWay, Callout, Frame, MeshView, PairView
from viewer import figures, inset, mesh_figure, pair_figure, palette
from viewer.lettering import Sheet, pitch, width_of, wrap
from viewer.sheet_plan import SEVERITY, Plan, Rect, type_size, words
from viewer.stage import colour_of

INDENT: Final = 26.0  # of a note behind its mark, at the full sheet [pixel]


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
