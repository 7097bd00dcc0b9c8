"""The ink look for charts: white ground, thin ink lines, the palette's colours."""

from __future__ import annotations

from typing import Any, Final

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.ticker import ScalarFormatter

from calc import units
from viewer import palette

DOTS: Final = 100  # pixels of an inch of figure
SOFT: Final = palette.code(palette.SOFT_INK)
INK: Final = palette.code(palette.INK)
RULE: Final = palette.code(palette.RULE)
LINES: Final = {
    "pinion_gasket": palette.role("pinion"), "gear_gasket": palette.role("gear"), "high_speed_float_gasket": palette.role("cage"),
    "low_speed_float_gasket": palette.role("fastener"),
}  # fmt: skip
"""Line colour of each position gasket: that of the part it moves, or one apart from both."""


def figure(width: int, height: int) -> Figure:
    """An empty white sheet of so many pixels."""
    made = Figure(figsize=(width / DOTS, height / DOTS), dpi=DOTS, facecolor=palette.code(palette.GROUND))
    FigureCanvasAgg(made)
    return made


class Ticks(ScalarFormatter):
    """Figures at the ticks with the decimal mark of the language spoken."""

    def __call__(self, x: float, pos: int | None = None) -> str:
        """The figure at a tick."""
        return units.marked(super().__call__(x, pos))


def ruled(axes: Any, size: float = 11.0) -> None:
    """Thin ink frame, light rules, small ticks."""
    for side, spine in axes.spines.items():
        spine.set(linewidth=0.8, edgecolor=INK, visible=side in ("left", "bottom"))
    axes.grid(True, color=RULE, linewidth=0.6)
    axes.set_axisbelow(True)
    axes.xaxis.set_major_formatter(Ticks())
    axes.yaxis.set_major_formatter(Ticks())
    axes.tick_params(labelsize=size, width=0.8, length=3.0, color=INK, labelcolor=INK)
