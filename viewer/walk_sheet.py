"""The sheet "walk the gaskets": five states, each with its sentence and the mark on a flat drive and coast tooth."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import Any, Literal

import numpy as np
from matplotlib.colors import LinearSegmentedColormap

from calc import units
from calc.pattern import Pattern
from scenes.walk import Stop, Walk
from scenes.wording import text, texts
from viewer import chart, palette

LINE = palette.mix(palette.METAL, palette.GROUND, 0.3)
"""Of the outlines on the blue."""
LEFT, WIDE, TALL = 0.335, 0.285, 0.098
"""Where the maps begin, and their size, in shares of the sheet."""
COLUMN = 44
"""Letters in a line of the sentences."""


def draw(found: Walk, machine: str, system: Literal["mm", "inch"], path: Path, size: tuple[int, int] = (1500, 1400)) -> None:
    """Write the sheet."""
    sheet = chart.figure(*size)
    say = {"color": chart.INK, "va": "top"}
    sheet.text(0.025, 0.978, text("walk.heading", machine=machine), fontsize=19, weight="bold", **say)
    under = text("walk.under", amount=units.show(found.amount, "length", system)) + (text("walk.cut") if found.cut else "")
    sheet.text(0.025, 0.949, under, fontsize=12.5, **say)
    for k, key in enumerate(("drive", "coast")):
        sheet.text(
            LEFT + k * (WIDE + 0.055) + WIDE / 2.0, 0.918, text(f"walk.{key}"), fontsize=14, weight="bold", ha="center", **say
        )
    right = found.stops[0]
    for row, stop in enumerate(found.stops):
        top = 0.882 - row * 0.163
        _words(sheet, stop, top, system)
        for k in (0, 1):
            axes = sheet.add_axes((LEFT + k * (WIDE + 0.055), top - TALL, WIDE, TALL))
            _tooth(axes, _mark(stop, k), _mark(right, k) if row else None)
    sheet.text(0.025, 0.062, text("walk.key"), fontsize=12, **say)
    sheet.text(0.025, 0.038, " ".join(texts("walk.notes")), fontsize=12, color=chart.SOFT, va="top")
    sheet.savefig(path, dpi=chart.DOTS)


def _mark(stop: Stop, which: int) -> Pattern:
    flank = stop.contact.drive if which == 0 else stop.contact.coast
    assert flank is not None
    return flank.pattern


def _words(sheet: Any, stop: Stop, top: float, system: Literal["mm", "inch"]) -> None:
    sheet.text(0.025, top, text(f"walk.title.{stop.name}"), fontsize=15, weight="bold", color=chart.INK, va="top")
    value = text("walk.backlash", value=units.show(stop.backlash, "length", system))
    sheet.text(0.025, top - 0.021, value, fontsize=13, weight="bold", color=chart.INK, va="top")
    lines = [line for said in (stop.sentence, stop.effect) for line in textwrap.wrap(said, COLUMN)]
    sheet.text(0.025, top - 0.041, "\n".join(lines), fontsize=12, color=chart.INK, va="top", linespacing=1.25)


def _tooth(axes: Any, mark: Pattern, right: Pattern | None) -> None:
    """A flank drawn flat: toe left, heel right, tip above, root below."""
    axes.set(xlim=(0.0, 100.0), ylim=(0.0, 100.0), xticks=[], yticks=[], facecolor=palette.code(palette.COMPOUND))
    for spine in axes.spines.values():
        spine.set(linewidth=1.2, edgecolor=chart.INK)
    shades = LinearSegmentedColormap.from_list("film", [palette.code(palette.METAL), palette.code(palette.COMPOUND)])
    axes.pcolormesh(
        mark.along_face, mark.over_depth, mark.film, cmap=shades, vmin=0.0, vmax=1.0, shading="gouraud", rasterized=True
    )
    for ring in mark.outline:
        axes.plot(*np.array([*ring, ring[0]]).T, color=palette.code(LINE), linewidth=1.2)
    for ring in right.outline if right is not None else ():
        axes.plot(*np.array([*ring, ring[0]]).T, color=palette.code(palette.GROUND), linewidth=1.1, linestyle=(0, (2, 3)))
    lower = (
        (mark.along_face[:, -1], mark.over_depth[:, -1])
        if mark.over_depth[0, -1] < mark.over_depth[0, 0]
        else (mark.along_face[:, 0], mark.over_depth[:, 0])
    )
    axes.plot(*lower, color=palette.code(palette.GROUND), linewidth=0.9, linestyle=(0, (6, 4)))
    axes.plot(
        mark.centre_along, mark.centre_depth, "+", color=palette.code(palette.VERDICT["stop"]), markersize=15, markeredgewidth=2.0
    )
    around = {"fontsize": 11, "color": chart.SOFT, "transform": axes.transAxes, "clip_on": False}
    axes.text(-0.012, 0.5, text("walk.toe"), ha="right", va="center", rotation=90, **around)
    axes.text(1.012, 0.5, text("walk.heel"), ha="left", va="center", rotation=90, **around)
    axes.text(0.5, 1.03, text("walk.tip"), ha="center", va="bottom", **around)
    axes.text(0.5, -0.04, text("walk.root"), ha="center", va="top", **around)
