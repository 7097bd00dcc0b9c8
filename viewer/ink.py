"""Stills in the manner of a technical illustration: flat colour, ink lines, hatched cut faces, a halo round what arrives.

Drawn at twice the size and halved, which gives clean edges without any smoothing by the renderer.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy import ndimage

from scenes.frame import Frame
from viewer import palette
from viewer.stage import Box, PartMap, Stage

SCALE: Final = 2
STEP_PIXELS: Final = 7.0  # a jump in depth of this many pixels' width is an outline
CREASE_ANGLE: Final = 0.50  # rad between neighbouring pixels' surfaces: drawn as a lighter line
CREASE_SHARE: Final = 0.62
PALE_SHARE: Final = 0.5  # of the ink, on parts that wait
HATCH_PITCH: Final = (11, 15, 13, 17)  # pixels at double size, by turns, so that neighbours differ
HALO: Final = (3, 9)  # white gap and outer edge of the halo [pixel at double size]
LIT: Final = ("moving", "blocking")  # the two parts of a blocked way
HALOES: Final = ((("blocking",), palette.VERDICT["stop"]), (("arriving", "moving"), palette.ACCENT))
HALO_LINE: Final = 1.5  # dark line inside the halo [pixel at double size]
SOLID_ROLES: Final = ("gasket", "seal")  # thin in section: filled, not hatched


@dataclass(frozen=True)
class Finish:
    """How much work goes into a picture: drawn how many times as large and then reduced; inked by depth, or only lined where parts meet."""

    scale: int
    inked: bool


FINE: Final = Finish(SCALE, True)
ROUGH: Final = Finish(1, False)
"""For a pack in a hurry."""


@dataclass(frozen=True, eq=False)
class Drawing:
    """A finished still: `image` (h, w, 3), `parts` which part each of its pixels shows and `full` the same at the size drawn, where
    the callouts' points fall in it, and whether it is a close-up that its rectangle cuts off."""

    image: NDArray[np.uint8]
    parts: PartMap
    full: PartMap
    places: dict[str, tuple[float, float]]
    close: bool = False


def still(
    frame: Frame, size: tuple[int, int] = (1500, 1000), *, stage: Stage | None = None, free: Box | None = None
) -> NDArray[np.uint8]:
    """The picture of one frame, shape (height, width, 3); see `draw`."""
    return draw(frame, size, stage=stage, free=free).image


def draw(
    frame: Frame,
    size: tuple[int, int] = (1500, 1000),
    *,
    stage: Stage | None = None,
    free: Box | None = None,
    fit: bool = True,
    finish: Finish = FINE,
) -> Drawing:
    """Draw one frame with ink.

    `stage`: reuse this one (its size is changed); `free`: rectangle (left, top, right, bottom) [pixel] that the parts shall
    fill, default all but a margin; `fit` False keeps the frame's camera exactly.
    """
    own, scale = stage is None, finish.scale
    scene = Stage((size[0] * scale, size[1] * scale)) if stage is None else stage
    try:
        scene.resize((size[0] * scale, size[1] * scale))
        scene.show(frame)
        close = False
        if fit:
            margin = 0.04 * min(size)
            box = free if free is not None else (margin, margin, size[0] - margin, size[1] - margin)
            close = scene.fit(frame.camera, (box[0] * scale, box[1] * scale, box[2] * scale, box[3] * scale))
        drawing = develop(scene, frame, finish=finish)
        return _window(drawing, free) if close and free is not None else drawing
    finally:
        if own:
            scene.close()


def develop(
    scene: Stage, frame: Frame, *, faded: Iterable[str] = (), finish: Finish = FINE, parts: PartMap | None = None
) -> Drawing:
    """Ink what the stage shows now and reduce it; `parts` when they were the last that was drawn."""
    parts, scale = scene.part_map() if parts is None else parts, finish.scale
    depth = scene.depth()
    picture = np.array(scene.image())
    roles = {part.name: part.role for part in frame.shown}
    lit = {part.name: palette.of(part.role, part.state) for part in frame.shown if part.state in LIT}
    faint = {part.name for part in frame.shown if part.state == "waiting"} | set(faded)
    _hatch(picture, parts, roles, lit, scale / SCALE)
    outline, crease = _lines(parts, depth, scene) if finish.inked else (_borders(parts), None)
    pale = np.isin(parts.part, [i for i, name in enumerate(parts.names) if name in faint])
    for mask, share in ((crease, CREASE_SHARE), (outline, 1.0)):
        if mask is None:
            continue
        _ink(picture, mask & ~pale, share)
        _ink(picture, mask & pale, share * PALE_SHARE)
    for states, colour in HALOES:
        names = {part.name for part in frame.shown if part.state in states}
        _halo(
            picture, np.isin(parts.part, [i for i, name in enumerate(parts.names) if name in names]), depth, colour, scale / SCALE
        )
    small = np.asarray(Image.fromarray(picture).reduce(scale)) if scale > 1 else picture
    half = PartMap(parts.part[::scale, ::scale], parts.cap[::scale, ::scale], parts.names)
    spots = scene.project(np.array([c.point for c in frame.callouts])) / scale if frame.callouts else np.zeros((0, 2))
    return Drawing(small, half, parts, {c.key: (float(x), float(y)) for c, (x, y) in zip(frame.callouts, spots, strict=True)})


def _window(drawing: Drawing, free: Box) -> Drawing:
    """A close-up within its rectangle: what runs out of it is cut off at a thin line, so that labels stand on white."""
    x0, y0, x1, y1 = (round(v) for v in free)
    image = np.full_like(drawing.image, 255)
    part = np.full_like(drawing.parts.part, -1)
    cap = np.zeros_like(drawing.parts.cap)
    inside = (slice(y0, y1), slice(x0, x1))
    image[inside] = palette.SOFT_INK
    inner = (slice(y0 + 1, y1 - 1), slice(x0 + 1, x1 - 1))
    image[inner], part[inner], cap[inner] = drawing.image[inner], drawing.parts.part[inner], drawing.parts.cap[inner]
    return Drawing(image, PartMap(part, cap, drawing.parts.names), drawing.full, drawing.places, True)


def _ink(picture: NDArray[np.uint8], mask: NDArray[np.bool_], share: float) -> None:
    under = picture[mask].astype(np.float32)
    picture[mask] = (under + (np.array(palette.INK, dtype=np.float32) - under) * share).astype(np.uint8)


def _borders(parts: PartMap) -> NDArray[np.bool_]:
    """One pixel's line where one part ends."""
    code = parts.part * 2 + parts.cap
    border = np.zeros(code.shape, dtype=bool)
    border[:, 1:] |= code[:, 1:] != code[:, :-1]
    border[1:] |= code[1:] != code[:-1]
    return border


def _lines(parts: PartMap, depth: NDArray[np.float32], scene: Stage) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Outlines (another part, or a jump in depth) and creases (the surface turns), from the part numbers and the depth."""
    code = parts.part.astype(np.int16) * 2 + parts.cap
    outline = np.zeros(code.shape, dtype=bool)
    across, down = code[:, 1:] != code[:, :-1], code[1:] != code[:-1]
    outline[:, 1:] |= across
    outline[:, :-1] |= across
    outline[1:] |= down
    outline[:-1] |= down
    near, far = scene.clipping()
    # raw depth d = far (z - near) / (z (far - near)), so dz/dd = z^2 (far - near) / (far near); one pixel covers z / focal
    z = (far * near / (far - (far - near) * depth)).astype(np.float32)
    per_pixel = z * np.float32((far - near) / (far * near) * scene.focal_pixels())
    inner = depth[1:-1, 1:-1]
    bend_x = depth[1:-1, 2:] + depth[1:-1, :-2] - 2.0 * inner
    bend_y = depth[2:, 1:-1] + depth[:-2, 1:-1] - 2.0 * inner
    slope_x = (depth[1:-1, 2:] - depth[1:-1, :-2]) * 0.5
    slope_y = (depth[2:, 1:-1] - depth[:-2, 1:-1]) * 0.5
    scale = per_pixel[1:-1, 1:-1]
    bend = np.maximum(np.abs(bend_x), np.abs(bend_y)) * scale
    steep = 1.0 + (slope_x * slope_x + slope_y * slope_y) * scale * scale
    crease = np.zeros(code.shape, dtype=bool)
    crease[1:-1, 1:-1] = bend > CREASE_ANGLE * steep
    crease[1:-1, 1:-1] &= bend < STEP_PIXELS
    signed = np.where(np.abs(bend_x) > np.abs(bend_y), bend_x, bend_y) * scale
    outline[1:-1, 1:-1] |= (signed > STEP_PIXELS) & (parts.part[1:-1, 1:-1] >= 0)
    crease &= ~outline & (parts.part >= 0)
    return outline, crease


def _hatch(
    picture: NDArray[np.uint8], parts: PartMap, roles: Mapping[str, str], lit: Mapping[str, palette.Rgb], size: float
) -> None:
    """Slanting lines over cut faces in a dark shade of the role's colour; slant and pitch change from part to part. `size`: of the picture
    over double size."""
    rows, columns = np.nonzero(parts.cap)
    if not len(rows):
        return
    owner = parts.part[rows, columns]
    turn = 0
    for index in np.unique(owner):
        role = roles.get(parts.names[index], "tool")
        base = lit.get(parts.names[index], palette.rgb(palette.ROLE[role]))
        mine = owner == index
        y, x = rows[mine], columns[mine]
        if role in SOLID_ROLES:
            picture[y, x] = base
            continue
        pitch = round(size * HATCH_PITCH[turn % len(HATCH_PITCH)])
        slant = x + y if turn % 2 == 0 else x - y
        turn += 1
        on = slant % pitch < 2 * size
        picture[y[on], x[on]] = palette.mix(base, palette.INK, 0.72)


def _halo(
    picture: NDArray[np.uint8], mask: NDArray[np.bool_], depth: NDArray[np.float32], colour: palette.Rgb, size: float
) -> None:
    """A bold outline, a white gap and a band of colour round what arrives or blocks, but never over what stands in front of it."""
    rows, columns = np.nonzero(mask)
    if not len(rows):
        return
    line, gap, edge = (max(1.0, size * width) for width in (HALO_LINE, *HALO))
    reach = round(edge) + 2
    box = (
        slice(max(int(rows.min()) - reach, 0), int(rows.max()) + reach + 1),
        slice(max(int(columns.min()) - reach, 0), int(columns.max()) + reach + 1),
    )
    outside, nearest = ndimage.distance_transform_edt(~mask[box], return_indices=True)
    local = depth[box]
    behind = local >= local[nearest[0], nearest[1]]
    part = picture[box]
    part[(outside > gap) & (outside <= edge) & behind] = colour
    part[(outside > line) & (outside <= gap) & behind] = palette.GROUND
    part[(outside > 0) & (outside <= line)] = palette.INK
