"""Whether a loose piece can be slid out level between what stands around it, in any way but without lifting or tilting it [mm, rad].

Seen from above, everything that stands at the piece's own height is a map of cells; the places that the piece can't take are that map
grown by its footprint. It comes out when the places it can take hang together from where it lies to beyond everything on one side.
Where it does not come out as it lies, it is also turned level, up to a quarter turn each way: from one attitude to the next where all
that the footprint sweeps on the spot is free. Footprints of turned attitudes are taken a cell larger all round, never smaller.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from geometry import dexels
from geometry.blocking import Table, Vector
from geometry.kept import digest
from geometry.part import Part

UP: Vector = (0.0, 0.0, 1.0)
ATTITUDES = np.radians(np.arange(-90.0, 91.0, 15.0))
"""Attitudes that a piece is turned through [rad]; as it lies is the middle one."""
MOST_CELLS = 400_000
"""Cells of the map on which turns are tried, about; a larger one is made coarser by whole cells, each taken where any part of it is."""
Map = NDArray[np.bool_]
Labels = NDArray[np.int_]


def _map(cuts: Sequence[dexels.Dexels], floor: float, roof: float, corner: tuple[int, int], shape: tuple[int, int]) -> Map:
    """Cells (row, column) with material between two heights."""
    seen = np.zeros(shape, dtype=bool)
    for cut in cuts:
        there = cut.line[(cut.low < roof) & (cut.high > floor)]
        row, column = there // dexels.ACROSS - dexels.HALF - corner[0], there % dexels.ACROSS - dexels.HALF - corner[1]
        inside = (row >= 0) & (row < shape[0]) & (column >= 0) & (column < shape[1])
        seen[row[inside], column[inside]] = True
    return seen


def _taken(around: Map, footprints: Iterable[Map]) -> Iterator[Map]:
    """For each footprint the places of its first cell at which it would lie on something."""
    from scipy.fft import next_fast_len

    shape = (next_fast_len(around.shape[0]), next_fast_len(around.shape[1]))
    spectrum = np.fft.rfft2(around, shape)
    for footprint in footprints:
        shared = np.fft.irfft2(spectrum * np.conj(np.fft.rfft2(footprint, shape)), shape)
        last = (around.shape[0] - footprint.shape[0] + 1, around.shape[1] - footprint.shape[1] + 1)
        yield np.asarray(shared[: last[0], : last[1]] > 0.5)


def slides_out(table: Table, part: Part, standing: Sequence[Part], side: Vector, *, turning: bool = True) -> bool:
    """Whether `part` can be slid level past everything that stands, and away on one side.

    `side`: level direction in which it leaves for good. `turning`: whether it may be turned level on its way. Result: True when a way
    exists.
    """
    if abs(side[2]) > 1e-9:
        raise ValueError(f"side: {side}: accepted: a level direction, across z")
    box = table.box(part, UP)
    floor, roof = float(box[0, 2]), float(box[1, 2])
    others = [item for item in standing if table.box(item, UP)[0, 2] < roof and table.box(item, UP)[1, 2] > floor]
    name = digest(
        b"slide", table.key(part), np.array((*side, table.pitch, turning)).tobytes(), *sorted(table.key(item) for item in others)
    )
    row = table.kept.get(name)
    if row is None:
        row = np.array([_slides_out(table, part, others, side, turning)], dtype=float)
        table.kept.put(name, row)
    return bool(row[0])


def _slides_out(table: Table, part: Part, others: Sequence[Part], side: Vector, turning: bool) -> bool:
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
    rows, columns = np.nonzero(piece)
    footprint = piece[rows.min() : rows.max() + 1, columns.min() : columns.max() + 1]
    places, _ = label(~next(_taken(around, [footprint])))
    here = places[rows.min(), columns.min()]
    if here > 0 and here in _border(places, side):
        return True
    return turning and _turns_out(around, piece, side)


def _border(places: Labels, side: Vector) -> Labels:
    """The places along the edge of the map on one side."""
    main = int(np.argmax(np.abs(side)))
    return np.asarray(np.take(places, 0 if side[main] < 0.0 else -1, axis=1 - main))


def _pooled(seen: Map, step: int) -> Map:
    """Cells `step` times as large, taken where any of the small ones is."""
    rows, columns = (-(-size // step) * step for size in seen.shape)
    full = np.zeros((rows, columns), dtype=bool)
    full[: seen.shape[0], : seen.shape[1]] = seen
    return np.asarray(full.reshape(rows // step, step, columns // step, step).any(axis=(1, 3)))


def _swept(cells: NDArray[np.int_], reach: int, start: float, end: float) -> Map:
    """Cells taken by a footprint's cells (about its middle) on the way from one attitude to another, a cell larger all round."""
    canvas = np.zeros((2 * reach + 1, 2 * reach + 1), dtype=bool)
    for angle in np.linspace(start, end, 1 + int(np.ceil(abs(end - start) * reach / 0.5))):
        cosine, sine = np.cos(angle), np.sin(angle)
        row = np.rint(cells[0] * cosine + cells[1] * sine).astype(int) + reach
        column = np.rint(cells[1] * cosine - cells[0] * sine).astype(int) + reach
        canvas[row, column] = True
    grown = canvas.copy()
    for down in (-1, 0, 1):
        for across in (-1, 0, 1):
            grown |= np.roll(canvas, (down, across), (0, 1))
    return grown


def _turns_out(around: Map, piece: Map, side: Vector) -> bool:
    """Whether the piece comes out when it may be turned on the spot between slides."""
    from scipy.ndimage import label
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    step = int(np.ceil(np.sqrt(around.size / MOST_CELLS)))
    around, piece = _pooled(around, step), _pooled(piece, step)
    found = np.array(np.nonzero(piece))
    middle = np.rint(found.mean(axis=1)).astype(int)
    cells = found - middle[:, None]
    reach = int(np.ceil(np.hypot(*np.abs(cells).max(axis=1)))) + 3
    as_it_lies = np.zeros((2 * reach + 1, 2 * reach + 1), dtype=bool)
    as_it_lies[cells[0] + reach, cells[1] + reach] = True
    kept = [as_it_lies if angle == 0.0 else _swept(cells, reach, angle, angle) for angle in ATTITUDES]
    turns = [_swept(cells, reach, start, end) for start, end in pairwise(ATTITUDES)]
    taken = list(_taken(around, [*kept, *turns]))
    places, count = [], 1
    for one in taken[: len(kept)]:
        numbers, most = label(~one)
        places.append(np.where(numbers > 0, numbers + count - 1, 0))
        count += most
    joined = [
        np.unique(np.stack([a[~turn], b[~turn]]), axis=1) for (a, b), turn in zip(pairwise(places), taken[len(kept) :], strict=True)
    ]
    links = np.concatenate(joined, axis=1)
    links = links[:, (links > 0).all(axis=0)]
    _, group = connected_components(
        coo_array((np.ones(links.shape[1]), (links[0], links[1])), shape=(count, count)), directed=False
    )
    here = places[len(kept) // 2][middle[0] - reach, middle[1] - reach]
    out = np.unique(np.concatenate([_border(one, side) for one in places]))
    return bool(here > 0 and (group[out[out > 0]] == group[here]).any())
