"""Who must come before whom as a drawing: a row for each step by phase, the places it may take, its direct links; below, two fitters.

Links leave a step's mark downward and end at the mark of the step that waits: no two steps share a column, none share a row.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from calc import units
from scenes.network import FITTERS, Network
from scenes.precedence import Precedence
from scenes.procedure import Procedure
from scenes.wording import text
from viewer import chart, palette

WIDTH, ROW, TOP, PLAN, BOTTOM = 1700, 21, 110, 130, 90  # pixels
NAMES = 470  # pixels left of the chart
LETTERING = ((20, 9.0, 0.0), (15, 7.5, 0.0), (9, 7.0, 90.0))
"""Of the numbers in the plan, by least length of a bar [pixels]: size [points] and turn [deg]."""
HOUR = 3600.0
BAR = palette.code(palette.mix(palette.role("cartridge"), palette.GROUND, 0.72))
BAND = palette.code(palette.PANEL)
LINK = palette.code(palette.mix(palette.INK, palette.GROUND, 0.35))
CRITICAL = palette.code(palette.VERDICT["stop"])


def draw(procedure: Procedure, links: Precedence, found: Network, machine: str, path: Path) -> None:
    """Write the drawing; the ending of the name says whether as PNG or SVG."""
    rows = len(links.order) + len(procedure.phases)
    height = TOP + rows * ROW + 70 + PLAN + BOTTOM
    sheet = chart.figure(WIDTH, height)
    low = (BOTTOM + PLAN + 70) / height
    axes = sheet.add_axes((NAMES / WIDTH, low, (WIDTH - NAMES - 30) / WIDTH, rows * ROW / height))
    sheet.text(20 / WIDTH, 1.0 - 32 / height, text("precedence.figure.heading", machine=machine), fontsize=17, weight="bold", color=chart.INK, va="center")  # fmt: skip
    _network(axes, procedure, links, found)
    _legend(sheet, height)
    plan = sheet.add_axes((NAMES / WIDTH, BOTTOM / height, (WIDTH - NAMES - 30) / WIDTH, PLAN / height))
    _plan(plan, procedure, found)
    sheet.text(20 / WIDTH, 22 / height, text("precedence.basis"), fontsize=9.5, color=chart.SOFT, va="center")
    sheet.savefig(path, dpi=chart.DOTS)


def _network(axes: Any, procedure: Procedure, links: Precedence, found: Network) -> None:
    """Rows, bars and links. The steps of a phase stand together, as they come."""
    place = {name: number for number, name in enumerate(links.order, 1)}
    row, heads, last = {}, {}, 0
    for phase in procedure.phases:
        heads[phase] = last
        for count, name in enumerate((name for name in links.order if procedure.steps[name].phase == phase), 1):
            row[name] = last + count
        last = max(row.values()) + 1
    critical = set(zip(found.critical, found.critical[1:], strict=False))
    for index, (phase, at) in enumerate(heads.items()):
        end = [*heads.values(), last][index + 1]
        if index % 2 == 0:
            axes.axhspan(at - 0.5, end - 0.5, xmin=-NAMES / (WIDTH - NAMES - 30), color=BAND, zorder=0, clip_on=False, linewidth=0)
        heading = axes.annotate(text(f"phase.{phase}"), (0, at), xycoords=("axes fraction", "data"), xytext=(-(NAMES - 20) * 0.72, 0), textcoords="offset points", va="center", fontsize=10.5, weight="bold", color=chart.INK)  # fmt: skip
        wide = heading.get_window_extent(axes.figure.canvas.get_renderer()).width / axes.figure.dpi * chart.DOTS
        heading.set_fontsize(10.5 * min(1.0, (NAMES - 40) / wide))
    for name, at in row.items():
        first, final = links.freedom(name)
        on_path = name in found.critical
        axes.plot([first - 0.3, final + 0.3], [at, at], color=BAR, linewidth=8.5, solid_capstyle="butt", zorder=1)
        label = text("precedence.step", number=place[name], title=text(f"step.{name}.title"))
        axes.annotate(label, (0, at), xycoords=("axes fraction", "data"), xytext=(-(NAMES - 36) * 0.72, 0), textcoords="offset points", va="center", fontsize=9.5, color=CRITICAL if on_path else chart.INK)  # fmt: skip
        axes.plot(place[name], at, "D" if on_path else "o", color=CRITICAL if on_path else chart.INK, markersize=5.5, zorder=6)
    for link in links.reduced:
        x, y = [place[link.before], place[link.before], place[link.after]], [row[link.before], row[link.after], row[link.after]]
        on_path = (link.before, link.after) in critical
        style = (0, (2, 2)) if link.kind == "stated" else "-"
        axes.plot(x, y, color=CRITICAL if on_path else LINK, linewidth=2.2 if on_path else 1.0, linestyle=style, zorder=5 if on_path else 3)  # fmt: skip
    chart.ruled(axes)
    axes.grid(False, axis="y")
    axes.set_yticks([])
    axes.set_xlim(0.0, len(place) + 1.0)
    axes.set_ylim(last - 0.5, -0.5)
    axes.spines["left"].set_visible(False)
    axes.xaxis.set_ticks_position("top")
    axes.set_xticks(range(5, len(place) + 1, 5))
    axes.xaxis.set_label_position("top")
    axes.set_xlabel(text("precedence.figure.places"), fontsize=11, color=chart.INK, labelpad=7)


def _legend(sheet: Any, height: int) -> None:
    handles = [
        Patch(color=BAR, label=text("precedence.figure.free")),
        Line2D([], [], color=LINK, linewidth=1.0, label=text("precedence.figure.link")),
        Line2D([], [], color=LINK, linewidth=1.0, linestyle=(0, (2, 2)), label=text("precedence.figure.stated")),
        Line2D([], [], color=CRITICAL, linewidth=2.2, marker="D", markersize=5.5, label=text("precedence.figure.critical")),
    ]
    sheet.legend(handles=handles, loc="upper left", bbox_to_anchor=(8 / WIDTH, 1.0 - 52 / height), ncols=2, fontsize=10, frameon=False, labelcolor=chart.INK)  # fmt: skip


def _plan(axes: Any, procedure: Procedure, found: Network) -> None:
    """What two fitters do when, step numbers in the bars that are long enough, upright in short ones."""
    for slot in found.plan:
        on_path = slot.step in found.critical
        start, length = slot.start / HOUR, (slot.end - slot.start) / HOUR
        colour = palette.mix(palette.VERDICT["stop"], palette.GROUND, 0.7) if on_path else palette.mix(palette.role("cartridge"), palette.GROUND, 0.72)  # fmt: skip
        axes.barh(slot.fitter, length, left=start, height=0.7, color=palette.code(colour), edgecolor=chart.INK, linewidth=0.5)
        pixels = (slot.end - slot.start) / found.together * (WIDTH - NAMES - 30)
        size = next((lettering for least, *lettering in LETTERING if pixels >= least), None)
        if size is not None:
            axes.text(start + length / 2, slot.fitter, str(procedure.steps[slot.step].number), ha="center", va="center_baseline", fontsize=size[0], rotation=size[1], color=chart.INK)  # fmt: skip
    chart.ruled(axes)
    axes.grid(False, axis="y")
    axes.set_ylim(FITTERS + 0.6, 0.4)
    axes.set_xlim(0.0, 1.005 * found.together / HOUR)
    axes.set_yticks(range(1, FITTERS + 1), [text("precedence.figure.fitter", number=number) for number in range(1, FITTERS + 1)])
    axes.set_xlabel(text("precedence.figure.hours"), fontsize=11, color=chart.INK)
    shown = {name: units.show(value, "time", "mm", digits=0) for name, value in (("time", found.together), ("alone", found.alone))}
    axes.set_title(text("precedence.figure.plan", **shown), fontsize=11, color=chart.INK, loc="left")
