"""The effect table as a picture: backlash over the change of each gasket, and where the pattern goes."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Literal

from matplotlib.ticker import MaxNLocator

from scenes.effects import INCH, Effect, Effects
from scenes.wording import text
from viewer import chart, palette

GASKETS = ("pinion_gasket", "gear_gasket", "high_speed_float_gasket", "low_speed_float_gasket")
LEGEND = (10.0, 9.0, 8.0)
"""Type sizes of the legend, the first that fits is taken [point]."""
TURNING = GASKETS[:2]
"""The gaskets whose pattern is drawn; the high-speed float gasket moves the pinion as the pinion gasket does."""


def draw(
    found: Effects,
    limits: tuple[float, float],
    machine: str,
    system: Literal["mm", "inch"],
    path: Path,
    size: tuple[int, int] = (1200, 800),
) -> None:
    """Write the picture."""
    scale, unit = (1.0, "mm") if system == "mm" else (INCH, "in")
    sheet = chart.figure(*size)
    sheet.text(
        0.02, 0.965, text("effects.figure.heading", machine=machine), fontsize=15, weight="bold", color=chart.INK, va="center"
    )
    backlash = sheet.add_axes((0.075, 0.19, 0.42, 0.70))
    along, depth = sheet.add_axes((0.575, 0.585, 0.405, 0.305)), sheet.add_axes((0.575, 0.19, 0.405, 0.305))
    band = palette.code(palette.mix(palette.VERDICT["fine"], palette.GROUND, 0.86))
    backlash.axhspan(limits[0] / scale, limits[1] / scale, color=band, zorder=0, label=text("effects.figure.limits"))
    for name in GASKETS:
        rows = sorted((*found.rows[name], found.present), key=lambda row: row.change)
        _backlash(
            backlash, rows, scale, text(f"part.{name}"), palette.code(chart.LINES[name]), "-" if name in TURNING else (0, (5, 3))
        )
    for name in TURNING:
        rows = sorted((*found.rows[name], found.present), key=lambda row: row.change)
        for axes, index in ((along, 0), (depth, 1)):
            _pattern(axes, rows, scale, index, name)
    for axes, key in ((backlash, "backlash"), (along, "along"), (depth, "depth")):
        chart.ruled(axes)
        axes.set_ylabel(text(f"effects.figure.{key}", unit=unit), fontsize=11.5, color=chart.INK)
        axes.axvline(0.0, color=chart.INK, linewidth=0.8, zorder=1)
        axes.margins(x=0.04)
        axes.xaxis.set_major_locator(MaxNLocator(5))
    for axes in (along, depth):
        axes.set_ylim(0.0, 100.0)
        axes.set_yticks([0, 25, 50, 75, 100])
    backlash.set_ylim(bottom=min(0.0, backlash.get_ylim()[0]))
    for axes in (backlash, depth):
        axes.set_xlabel(text("effects.figure.change", unit=unit), fontsize=11.5, color=chart.INK)
    along.tick_params(labelbottom=False)
    _legend(sheet, backlash, 0.075)
    _legend(sheet, along, 0.575)
    sheet.savefig(path, dpi=chart.DOTS)


def _backlash(axes: Any, rows: list[Effect], scale: float, label: str, colour: str, style: Any) -> None:
    held = [row for row in rows if row.backlash is not None]
    change, value = [row.change / scale for row in held], [(row.backlash or 0.0) / scale for row in held]
    axes.plot(change, value, color=colour, linewidth=1.8, linestyle=style, marker="o", markersize=4.5, label=label)
    jammed = [k for k, row in enumerate(held) if row.state == "jammed"]
    if jammed:
        axes.plot([change[k] for k in jammed], [value[k] for k in jammed], "x", color=palette.code(palette.VERDICT["stop"]), markersize=11, markeredgewidth=2.2,
                  label=text("effects.figure.jammed"))  # fmt: skip


def _pattern(axes: Any, rows: list[Effect], scale: float, index: int, name: str) -> None:
    held = [row for row in rows if row.places is not None]
    for flank, style, mark in (("drive", "-", "o"), ("coast", (0, (5, 3)), "s")):
        which = 0 if flank == "drive" else 1
        value = [row.places[which][index] for row in held if row.places is not None]
        label = text(f"effects.figure.{flank}", gasket=text(f"part.{name}"))
        axes.plot(
            [row.change / scale for row in held],
            value,
            color=palette.code(chart.LINES[name]),
            linewidth=1.6,
            linestyle=style,
            marker=mark,
            markersize=4.0,
            label=label,
        )
        hard = [
            (row.change / scale, at)
            for row, at in zip(held, value, strict=True)
            if any(key.startswith("hard_") and key.endswith(flank) for key in row.contact.remarks)
        ]  # type: ignore[union-attr]
        if hard:
            axes.plot(
                *zip(*hard, strict=True),
                "o",
                color=palette.code(palette.VERDICT["watch"]),
                fillstyle="none",
                markersize=10,
                markeredgewidth=1.6,
                label=text("effects.figure.hard"),
            )


def _legend(sheet: Any, axes: Any, left: float) -> None:
    """The lines of one chart named below it, each once."""
    handles, labels = axes.get_legend_handles_labels()
    last = (text("effects.figure.hard"), text("effects.figure.jammed"))
    named = dict(sorted(zip(labels, handles, strict=True), key=lambda pair: pair[0] in last))
    for size in LEGEND:
        legend = sheet.legend(named.values(), named.keys(), loc="upper left", bbox_to_anchor=(left - 0.01, 0.125), ncols=2, fontsize=size, frameon=False,
                              labelcolor=chart.INK, handlelength=2.6, columnspacing=1.6)  # fmt: skip
        if legend.get_window_extent().x1 <= sheet.bbox.x1 or size == LEGEND[-1]:
            return
        legend.remove()
