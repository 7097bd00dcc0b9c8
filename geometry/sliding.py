"""Whether a loose piece can be slid out level between what stands around it, in any way but without lifting or turning it [mm].

Seen from above, everything that stands at the piece's own height is a map of cells; the places that the piece can't take are that map
grown by its footprint. It comes out when the places it can take hang together from where it lies to beyond everything on one side.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from geometry import dexels
from geometry.blocking import Table, Vector
from geometry.kept import digest
from geometry.part import Part

UP: Vector = (0.0, 0.0, 1.0)
Map = NDArray[np.bool_]


def _map(cuts: Sequence[dexels.Dexels], floor: float, roof: float, corner: tuple[int, int], shape: tuple[int, int]) -> Map:
    """Cells (row, column) with material between two heights."""
    seen = np.zeros(shape, dtype=bool)
    for cut in cuts:
        there = cut.line[(cut.low < roof) & (cut.high > floor)]
        row, column = there // dexels.ACROSS - dexels.HALF - corner[0], there % dexels.ACROSS - dexels.HALF - corner[1]
        inside = (row >= 0) & (row < shape[0]) & (column >= 0) & (column < shape[1])
        seen[row[inside], column[inside]] = True
    return seen


def _coarser(seen: Map, pitch: float) -> Map:
    """The lines that lie about 1 mm apart."""
    step = max(1, round(1.0 / pitch))
    return np.ascontiguousarray(seen[::step, ::step])


def _taken(around: Map, footprint: Map) -> Map:
    """Places of the footprint's first cell at which it would lie on something."""
    from scipy.fft import next_fast_len

    shape = (next_fast_len(around.shape[0]), next_fast_len(around.shape[1]))
    shared = np.fft.irfft2(np.fft.rfft2(around, shape) * np.conj(np.fft.rfft2(footprint, shape)), shape)
    last = (around.shape[0] - footprint.shape[0] + 1, around.shape[1] - footprint.shape[1] + 1)
    return np.asarray(shared[: last[0], : last[1]] > 0.5)


def slides_out(table: Table, part: Part, standing: Sequence[Part], side: Vector) -> bool:
    """Whether `part` can be slid level past everything that stands, and away on one side.

    `side`: level direction in which it leaves for good. Result: True when a way exists.
    """
    if abs(side[2]) > 1e-9:
        raise ValueError(f"side: {side}: accepted: a level direction, across z")
    box = table.box(part, UP)
    floor, roof = float(box[0, 2]), float(box[1, 2])
    others = [item for item in standing if table.box(item, UP)[0, 2] < roof and table.box(item, UP)[1, 2] > floor]
    name = digest(b"slide", table.key(part), np.array((*side, table.pitch)).tobytes(), *sorted(table.key(item) for item in others))
    row = table.kept.get(name)
    if row is None:
        row = np.array([_slides_out(table, part, others, side)], dtype=float)
        table.kept.put(name, row)
    return bool(row[0])


def _slides_out(table: Table, part: Part, others: Sequence[Part], side: Vector) -> bool:
    from scipy.ndimage import label

    box = table.box(part, UP)
    floor, roof = float(box[0, 2]), float(box[1, 2])
    boxes = np.array([table.box(item, UP)[:, :2] for item in (part, *others)])
    size = float(np.ptp(box[:, :2], axis=0).max())
    low = np.floor((boxes[:, 0].min(axis=0) - 2.0 * size) / table.pitch).astype(int)
    high = np.ceil((boxes[:, 1].max(axis=0) + 2.0 * size) / table.pitch).astype(int)
    corner, shape = (int(low[1]), int(low[0])), (int(high[1] - low[1]), int(high[0] - low[0]))
    around = _map([table.cut(item, UP) for item in others], floor, roof, corner, shape)
    piece = _map([table.cut(part, UP)], floor, roof, corner, shape)
    around, piece = _coarser(around, table.pitch), _coarser(piece, table.pitch)
    rows, columns = np.nonzero(piece)
    footprint = piece[rows.min() : rows.max() + 1, columns.min() : columns.max() + 1]
    places, _ = label(~_taken(around, footprint))
    here = places[rows.min(), columns.min()]
    main = int(np.argmax(np.abs(side)))
    border = np.take(places, 0 if side[main] < 0.0 else -1, axis=1 - main)
    return bool(here > 0 and (border == here).any())
