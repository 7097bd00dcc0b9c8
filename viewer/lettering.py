"""A sheet to draw on: lines and marks at double size (smooth when halved), then text in DejaVu Sans on top."""

from __future__ import annotations

import functools
import importlib.util
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from scenes.frame import Verdict
from viewer import palette

SCALE: Final = 2
LEADING: Final = 1.32  # line pitch over type size
Align = Literal["left", "middle", "right"]
Point = tuple[float, float]
_SPACE: Final = re.compile(
    r"(?<!\d)[^\S\u00a0]+|[^\S\u00a0]+(?!(?:mm|in|%|°C|°F|K|N|N·m|kN|MPa|lbf|lbf·ft|lbf·in|psi|kg|lb|s|min|h)(?!\w))"
)
"""Where a line may break: never between a figure and its unit, nor at a no-break space."""


@functools.cache
def font_folder() -> Path:
    """Where DejaVu Sans lies: it comes with matplotlib, which the drawing library brings along."""
    found = importlib.util.find_spec("matplotlib")
    if found is None or found.origin is None:
        raise FileNotFoundError(
            "DejaVu Sans is read from matplotlib's data, but matplotlib is not installed: pip install matplotlib"
        )
    return Path(found.origin).parent / "mpl-data" / "fonts" / "ttf"


@functools.cache
def font(size: int, bold: bool = False) -> ImageFont.FreeTypeFont:
    """DejaVu Sans at a type size [pixel]."""
    return ImageFont.truetype(str(font_folder() / ("DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf")), size)


@functools.lru_cache(maxsize=100_000)
def width_of(text: str, size: int, bold: bool = False) -> float:
    """Width of a line of text [pixel]; lines are laid out many times over."""
    return float(font(size, bold).getlength(text))


def wrap(text: str, size: int, width: float, bold: bool = False) -> list[str]:
    """Break a text into lines no wider than `width` [pixel], a figure beside its unit; what is wider is broken before its unit, or where it must."""
    lines: list[str] = []
    current = ""
    for word in filter(None, _SPACE.split(text.strip())):
        trial = f"{current} {word}".strip()
        if width_of(trial, size, bold) <= width:
            current = trial
            continue
        if current:
            lines.append(current)
        while width_of(word, size, bold) > width and len(word) > 1:
            cut = next((k for k in range(len(word) - 1, 1, -1) if width_of(word[:k], size, bold) <= width), 1)
            glue = max(word.rfind(space, 1, cut + 1) for space in (" ", "\u00a0"))  # before a unit rather than inside it
            lines.append(word[: glue if glue > 0 else cut])
            word = word[glue + 1 :] if glue > 0 else word[cut:]
        current = word
    return [*lines, current] if current else lines


def balanced(text: str, size: int, width: float, bold: bool = False) -> list[str]:
    """Break a text like `wrap`, but into lines of much the same length."""
    lines = wrap(text, size, width, bold)
    least = max([width_of(word, size, bold) for word in _SPACE.split(text)], default=0.0)
    narrow = width
    while len(lines) > 1 and narrow - size / 2.0 >= max(least, width / 3.0):
        narrow -= size / 2.0
        trial = wrap(text, size, narrow, bold)
        if len(trial) > len(lines) or any(width_of(line, size, bold) > narrow for line in trial):
            break
        lines = trial
    return lines


def pitch(size: int) -> float:
    """Distance from line to line for a type size [pixel]."""
    return round(size * LEADING)


@dataclass(frozen=True)
class _Text:
    x: float
    y: float
    text: str
    size: int
    colour: palette.Rgb
    bold: bool
    align: Align


class Sheet:
    """A white sheet of a size [pixel]; all positions are in its own pixels, y down."""

    def __init__(self, size: tuple[int, int]) -> None:
        self.size = size
        self._big = Image.new("RGB", (size[0] * SCALE, size[1] * SCALE), palette.GROUND)
        self._pen = ImageDraw.Draw(self._big)
        self._texts: list[_Text] = []
        self._strokes: list[tuple[Point, Point, palette.Rgb, float]] = []

    def picture(self, image: NDArray[np.uint8], x: int, y: int) -> None:
        """Put a picture down with its upper left corner at (x, y)."""
        part = Image.fromarray(np.ascontiguousarray(image))
        self._big.paste(part.resize((part.width * SCALE, part.height * SCALE), Image.Resampling.NEAREST), (x * SCALE, y * SCALE))

    def line(self, points: Sequence[Point], colour: palette.Rgb, width: float = 1.0) -> None:
        """A chain of straight lines."""
        flat = [(x * SCALE, y * SCALE) for x, y in points]
        self._pen.line(flat, fill=colour, width=max(1, round(width * SCALE)), joint="curve")

    def smooth(self, points: Sequence[Point], colour: palette.Rgb, width: float = 1.0) -> None:
        """A chain of straight lines with soft edges, over all that is not text; for leaders, which run at any slope."""
        self._strokes += [(a, b, colour, width) for a, b in zip(points[:-1], points[1:], strict=True)]

    def dot(self, x: float, y: float, radius: float, colour: palette.Rgb) -> None:
        """A disc with a soft edge, over the lines drawn before it."""
        self._strokes.append(((x, y), (x, y), colour, 2.0 * radius))

    def polygon(
        self, points: Sequence[Point], fill: palette.Rgb | None, outline: palette.Rgb | None = None, width: float = 1.0
    ) -> None:
        """A closed outline, filled or not."""
        flat = [(x * SCALE, y * SCALE) for x, y in points]
        if fill is not None:
            self._pen.polygon(flat, fill=fill)
        if outline is not None:
            self._pen.line([*flat, flat[0]], fill=outline, width=max(1, round(width * SCALE)), joint="curve")

    def box(
        self,
        x0: float,
        y0: float,
        x1: float,
        y1: float,
        fill: palette.Rgb | None,
        outline: palette.Rgb | None = None,
        radius: float = 0.0,
    ) -> None:
        """A rectangle, with rounded corners if asked."""
        self._pen.rounded_rectangle(
            (x0 * SCALE, y0 * SCALE, x1 * SCALE, y1 * SCALE), radius=radius * SCALE, fill=fill, outline=outline, width=SCALE
        )

    def plate(self, rect: tuple[float, float, float, float], fill: palette.Rgb, outline: palette.Rgb) -> None:
        """A filled rectangle with an outline, over all lines drawn before it."""
        x0, y0, x1, y1 = rect
        middle, half = (y0 + y1) / 2.0, (y1 - y0) / 2.0
        for inset, colour in ((0.0, outline), (1.2, fill)):
            radius = half - inset
            self._strokes.append(((x0 + half, middle), (x1 - half, middle), colour, 2.0 * radius))

    def disc(
        self, x: float, y: float, radius: float, fill: palette.Rgb, outline: palette.Rgb | None = None, width: float = 1.0
    ) -> None:
        """A filled circle."""
        r = radius * SCALE
        self._pen.ellipse(
            (x * SCALE - r, y * SCALE - r, x * SCALE + r, y * SCALE + r), fill=fill, outline=outline, width=round(width * SCALE)
        )

    def mark(self, verdict: Verdict, x: float, y: float, radius: float) -> None:
        """The sign of a verdict about (x, y): a ticked disc, a triangle with a bar, a crossed octagon; each its own shape."""
        colour, white = palette.VERDICT[verdict], palette.GROUND
        if verdict == "fine":
            self.disc(x, y, radius, colour)
            self.line(
                [
                    (x - 0.5 * radius, y + 0.02 * radius),
                    (x - 0.12 * radius, y + 0.42 * radius),
                    (x + 0.52 * radius, y - 0.4 * radius),
                ],
                white,
                radius * 0.28,
            )
        elif verdict == "watch":
            r = radius * 1.18
            self.polygon([(x, y - r), (x + r, y + 0.82 * r), (x - r, y + 0.82 * r)], colour)
            self.line([(x, y - 0.42 * r), (x, y + 0.25 * r)], white, radius * 0.3)
            self.disc(x, y + 0.54 * r, radius * 0.17, white)
        elif verdict == "stop":
            angle = np.pi / 8 + np.arange(8) * np.pi / 4
            self.polygon([(x + radius * 1.08 * float(np.cos(a)), y + radius * 1.08 * float(np.sin(a))) for a in angle], colour)
            for s in (-1.0, 1.0):
                self.line(
                    [(x - 0.42 * radius, y - 0.42 * s * radius), (x + 0.42 * radius, y + 0.42 * s * radius)], white, radius * 0.28
                )
        else:
            self.disc(x, y, radius * 0.34, colour)

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: int,
        colour: palette.Rgb = palette.INK,
        *,
        bold: bool = False,
        align: Align = "left",
    ) -> None:
        """One line of text; y is its middle height."""
        self._texts.append(_Text(x, y, text, size, colour, bold, align))

    def paragraph(
        self, x: float, y: float, text: str, size: int, width: float, colour: palette.Rgb = palette.INK, *, bold: bool = False
    ) -> float:
        """Text broken to a width with its top at y; gives the y below it."""
        for line in wrap(text, size, width, bold):
            self.text(x, y + pitch(size) / 2.0, line, size, colour, bold=bold)
            y += pitch(size)
        return y

    def finish(self) -> NDArray[np.uint8]:
        """The finished sheet, shape (height, width, 3)."""
        pixels = np.array(self._big.reduce(SCALE))
        for stroke in self._strokes:
            _stroke(pixels, *stroke)
        small = Image.fromarray(pixels)
        pen = ImageDraw.Draw(small)
        anchor = {"left": "lm", "middle": "mm", "right": "rm"}
        for t in self._texts:
            pen.text((round(t.x), round(t.y)), t.text, fill=t.colour, font=font(t.size, t.bold), anchor=anchor[t.align])
        return np.array(small)


def _stroke(pixels: NDArray[np.uint8], a: Point, b: Point, colour: palette.Rgb, width: float) -> None:
    """Blend a straight line into an image by how much of each pixel it covers."""
    reach = width / 2.0 + 1.0
    height, breadth = pixels.shape[:2]
    x0, x1 = max(0, int(min(a[0], b[0]) - reach)), min(breadth, int(max(a[0], b[0]) + reach) + 2)
    y0, y1 = max(0, int(min(a[1], b[1]) - reach)), min(height, int(max(a[1], b[1]) + reach) + 2)
    if x0 >= x1 or y0 >= y1:
        return
    x, y = np.meshgrid(np.arange(x0, x1) + 0.5 - a[0], np.arange(y0, y1) + 0.5 - a[1])
    dx, dy = b[0] - a[0], b[1] - a[1]
    along = np.clip((x * dx + y * dy) / max(dx * dx + dy * dy, 1e-9), 0.0, 1.0)
    cover = np.clip(width / 2.0 + 0.5 - np.hypot(x - along * dx, y - along * dy), 0.0, 1.0)[..., None]
    under = pixels[y0:y1, x0:x1].astype(np.float64)
    pixels[y0:y1, x0:x1] = np.round(under + (np.array(colour) - under) * cover).astype(np.uint8)
