"""Which part blocks which: for each pair and direction the shifts at which the two overlap, whatever else stands there [mm].

Let a part move by s along a direction from its final place, another stand still. On a line along that direction on which the moving
part fills [a0, a1] and the other [b0, b1] they overlap for b0 - a1 < s < b1 - a0. The union of these intervals over all lines says
everything: whether the way in from far away is free, how much of it is left at the first touch, which part traps which. It does not
depend on the order, so any order, any forgotten part and any group is a look-up.

Two engines: bodies of revolution on one axis by their outlines (geometry.strips, exact travel), everything else by dexels of the
check solids (geometry.dexels; every overlap that holds a square of 1.42 pitches is found, travel good to about 2 mm). Lines are
drawn closer where a sheet is met edge on, so that at least two lie in its thickness.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import inf

import numpy as np
from numpy.typing import NDArray

from geometry import check_solids, dexels, kept, solid, store, strips
from geometry.check_solids import INSET, Sizes, check_solid, nominal, nominal_sizes
from geometry.part import Loop, Part
from geometry.reducer import Reducer

QUICK, PROOF = 1.0, 0.5
"""Pitch of the dexels for a quick look and for a verdict [mm]."""
TOUCH = 0.05
"""Shift up to which two parts that touch in place count as free [mm]."""
SAME = 1e-6
"""Axes closer than this are one [mm, -]."""
ALIKE = 1.0
"""Travel of the two engines within which the exact one is told [mm]."""
BEYOND = ALIKE + 0.2
"""How far beyond what the boxes say either engine may tell a touch: corners moved inward, outlines with their cuts filled [mm]."""
EDGE_ON = 1.5
"""Size over the pitch below which a body is a sheet met edge on: a line might miss it."""
FILE = "ways.rows"
"""Where intervals, boxes and other answers are kept between runs."""
MOST_CUTS, MOST_PAIRS = 1500, 60_000
"""Bodies as dexels, and pairs, held in memory at most."""

Array = NDArray[np.float64]
Vector = tuple[float, float, float]
NOWHERE: Vector = (0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Hit:
    """A blocked way: `left`: shift from the seat at which the moving part, coming in, first touches [mm]; `first`: shift at which it
    would first touch on its way out [mm]; `exact`: found from outlines, else to about 2 mm; `inside`: the two overlap in the seat."""

    left: float
    first: float
    exact: bool
    inside: bool = False


@dataclass(frozen=True)
class Cleared:
    """Shifts [mm] at which two parts overlap, merged and rising: rows of low, high."""

    spans: Array
    slack: float
    exact: bool

    def hit(self, until: float, beyond: float) -> Hit | None:
        """The touch of a part that comes in from `until` down to `beyond` [mm]."""
        spans = self.spans[(self.spans[:, 1] > max(beyond, TOUCH)) & (self.spans[:, 0] < until)]
        if not len(spans):
            return None
        left = min(float(spans[-1, 1]) + self.slack, until)
        return Hit(left, max(0.0, float(spans[0, 0]) - self.slack), self.exact, float(spans[0, 0]) < -TOUCH)


def merged(low: Array, high: Array) -> Array:
    """Union of open intervals as rising rows of low, high."""
    keep = high > low
    low, high = low[keep], high[keep]
    if not len(low):
        return np.empty((0, 2))
    order = np.argsort(low)
    low, top = low[order], np.maximum.accumulate(high[order])
    starts = np.flatnonzero(np.concatenate([[True], low[1:] > top[:-1]]))
    return np.column_stack([low[starts], top[np.concatenate([starts[1:] - 1, [len(top) - 1]])]])


@lru_cache(maxsize=256)
def frame(axis: Vector) -> tuple[Array, float]:
    """Rows of a right-handed frame whose third is the direction, or its opposite when that is a positive axis; and that sense."""
    direction = np.array(axis) / np.linalg.norm(axis)
    main = int(np.argmax(np.abs(direction)))
    sense = 1.0 if direction[main] > 0.0 else -1.0
    third = sense * direction
    first = np.eye(3)[(main + 1) % 3]
    first = first - third * (first @ third)
    first /= np.linalg.norm(first)
    return np.array([first, np.cross(third, first), third]), sense


@lru_cache(maxsize=256)
def _line(axis: Vector) -> bytes:
    """Name of the direction's frame, the same for both senses."""
    return frame(axis)[0].tobytes()


_cuts: dict[tuple[object, ...], tuple[Array, float, dexels.Dexels]] = {}
"""Bodies cut: the window seen, the area of all windows drawn for it so far, the intervals [mm]."""
_pairs: dict[bytes, Cleared | None] = {}
_loops: dict[tuple[str, Sizes], tuple[tuple[Loop, ...], bool]] = {}


def forget() -> None:
    """Clear all that is kept in memory: pairs, outlines, dexels, shapes, rows read from disk. What lies on disk stays there."""
    for memory in (_cuts, _pairs, _loops, strips._shrunk, check_solids._memory, solid._memory):
        memory.clear()
    kept.forget()


class Table:
    """Blocked intervals between the parts of one reducer, found when first asked for and kept by shape and place, also between runs.

    `pitch`: of the dexels [mm].
    """

    def __init__(self, reducer: Reducer, pitch: float = QUICK) -> None:
        if not 0.1 <= pitch <= 5.0:
            raise ValueError(f"pitch: {pitch:g} mm: accepted: 0.1 to 5 mm")
        self.pitch = pitch
        self.sizes: Mapping[str, Sizes] = nominal_sizes(reducer)
        self.kept = kept.opened(FILE)
        self._keys: dict[Part, bytes] = {}
        self._boxes: dict[tuple[bytes, bytes], Array] = {}

    def key(self, part: Part) -> bytes:
        """What shape and place of a part are known by."""
        found = self._keys.get(part)
        if found is None:
            sizes = repr(self.sizes.get(part.name, ())).encode()
            found = self._keys[part] = kept.digest(part.spec.key.encode(), sizes, part.pose.tobytes())
        return found

    def save(self) -> None:
        """Keep what was found for the next run."""
        self.kept.save()
        store.trim(check_solids.FILES.format("*"), check_solids.MOST)

    def box(self, part: Part, axis: Vector, offset: Vector = NOWHERE) -> Array:
        """Least and greatest corner of the check solid in the direction's frame, its third along the direction's line [mm]."""
        key = (self.key(part), _line(axis))
        found = self._boxes.get(key)
        if found is None:
            name = kept.digest(b"box", *key)
            row = self.kept.get(name)
            if row is None:
                turn, _ = frame(axis)
                points = check_solid(part.spec, self.sizes.get(part.name, ())).vertices @ (turn @ part.pose[:3, :3]).T
                points = points + turn @ part.pose[:3, 3]
                row = np.concatenate([points.min(axis=0), points.max(axis=0)])
                self.kept.put(name, row)
            found = self._boxes[key] = row.reshape(2, 3)
        return found if offset == NOWHERE else np.asarray(found + frame(axis)[0] @ np.array(offset))

    def cut(self, part: Part, axis: Vector, offset: Vector = NOWHERE, window: Array | None = None) -> dexels.Dexels:
        """The part's check solid as intervals along the direction's line, at least those of a window.

        `window`: least and greatest place across it [mm]; all lines when None. A window grows with what is asked for, until as many
        lines were drawn as the whole body has.
        """
        key = (self.key(part), offset, _line(axis), self.pitch)
        whole = self.box(part, axis, offset)[:, :2]
        wanted = whole if window is None else np.array([np.maximum(window[0], whole[0]), np.minimum(window[1], whole[1])])
        reach, drawn, found = _cuts.get(key, (wanted, 0.0, None))
        if found is None or (reach[0] > wanted[0]).any() or (reach[1] < wanted[1]).any():
            reach = np.array([np.minimum(reach[0], wanted[0]), np.maximum(reach[1], wanted[1])])
            drawn += float(np.prod(reach[1] - reach[0]))
            if drawn >= np.prod(whole[1] - whole[0]):
                reach = whole
            turn, _ = frame(axis)
            solid = check_solid(part.spec, self.sizes.get(part.name, ()))
            place = turn @ (part.pose[:3, 3] + np.array(offset))
            found = dexels.cut(solid, turn @ part.pose[:3, :3], place, self.pitch, None if reach is whole else reach)
            while len(_cuts) >= MOST_CUTS:
                _cuts.pop(next(iter(_cuts)))
            _cuts[key] = reach, drawn, found
        return found

    def _outline(self, part: Part) -> tuple[tuple[Loop, ...], bool]:
        """Outlines around the part, all cuts filled, and whether there are any cuts."""
        key = (part.spec.key, self.sizes.get(part.name, ()))
        found = _loops.get(key)
        if found is None:
            loops = strips.outlines(nominal(part.spec, key[1]))
            found = _loops[key] = (loops, bool(part.spec.cut))
        return found

    def _by_outline(self, moving: Part, fixed: Part, axis: Vector, offset: Vector) -> Cleared | None:
        """Overlap of the outlines, or None when the two are no revolves about one axis along the direction."""
        (mine, mine_cut), (theirs, theirs_cut) = self._outline(moving), self._outline(fixed)
        if not mine or not theirs:
            return None
        turn, sense = frame(axis)
        place = moving.pose[:3, 3] + np.array(offset)
        senses = (float(turn[2] @ moving.pose[:3, 2]), float(turn[2] @ fixed.pose[:3, 2]))
        apart = turn[:2] @ (place - fixed.pose[:3, 3])
        if min(abs(senses[0]), abs(senses[1])) < 1.0 - SAME or float(np.abs(apart).max()) > SAME:
            return None
        places = (float(turn[2] @ place), float(turn[2] @ fixed.pose[:3, 3]))
        low, high = strips.blocked(mine, theirs, (float(np.sign(senses[0])), places[0]), (float(np.sign(senses[1])), places[1]))
        return Cleared(_toward(merged(low, high), sense), strips.SHRINK, not (mine_cut or theirs_cut))

    def _by_dexels(self, moving: Part, fixed: Part, axis: Vector, offset: Vector) -> Cleared:
        turn, sense = frame(axis)
        boxes = np.array([self.box(moving, axis, offset), self.box(fixed, axis)])
        size = np.ptp(boxes[:, :, :2], axis=1).min(axis=0)
        window = _shared(boxes)
        if (size < EDGE_ON * self.pitch).any():
            closer = np.where(size < EDGE_ON * self.pitch, np.ceil(2.0 * self.pitch / size), 1.0)
            cuts = []
            for part, aside in ((moving, offset), (fixed, NOWHERE)):
                grid = np.append(closer, 1.0)[:, None] * turn
                place = grid @ (part.pose[:3, 3] + np.array(aside))
                solid = check_solid(part.spec, self.sizes.get(part.name, ()))
                cuts.append(dexels.cut(solid, grid @ part.pose[:3, :3], place, self.pitch, window * closer))
        else:
            cuts = [self.cut(moving, axis, offset, window), self.cut(fixed, axis, NOWHERE, window)]
        low, high = dexels.blocked(cuts[0], cuts[1])
        return Cleared(_toward(merged(low, high), sense), 2.0 * INSET, False)

    def _cleared(self, engine: str, moving: Part, fixed: Part, axis: Vector, offset: Vector) -> Cleared | None:
        line = np.array((*axis, *offset, self.pitch)).tobytes()
        key = kept.digest(engine.encode(), self.key(moving), self.key(fixed), line)
        if key in _pairs:
            return _pairs[key]
        row = self.kept.get(key)
        if row is None:
            made = (self._by_outline if engine == "outline" else self._by_dexels)(moving, fixed, axis, offset)
            self.kept.put(key, _row(made))
        else:
            made = Cleared(row[2:].reshape(-1, 2), float(row[0]), bool(row[1])) if row.size else None
        while len(_pairs) >= MOST_PAIRS:
            _pairs.pop(next(iter(_pairs)))
        _pairs[key] = made
        return made

    def cleared(self, moving: Part, fixed: Part, axis: Vector, offset: Vector = NOWHERE) -> Cleared:
        """Every shift along the direction at which the two overlap, by outlines where these are exact, else by lines."""
        outline = self._cleared("outline", moving, fixed, axis, offset)
        found = outline if outline is not None and outline.exact else self._cleared("lines", moving, fixed, axis, offset)
        assert found is not None
        return found

    def hit(
        self, moving: Part, fixed: Part, axis: Vector, *, offset: Vector = NOWHERE, until: float = inf, beyond: float = TOUCH
    ) -> Hit | None:
        """Whether `fixed` is in the way of `moving` as it comes in along a straight line.

        `axis`: direction from its seat to where it comes from; `offset`: shift of the whole line from the seat, for a leg before the
        last [mm]; `until`, `beyond`: shifts along the line between which it moves [mm]. Result: the touch, or None.
        """
        outline = self._cleared("outline", moving, fixed, axis, offset)
        if outline is not None:
            hit = outline.hit(until, beyond)
            if hit is None or outline.exact:
                return hit
        made = self._cleared("lines", moving, fixed, axis, offset)
        assert made is not None
        found = made.hit(until, beyond)
        if found is None or outline is None or hit is None:
            return found
        if abs(found.left - hit.left) <= ALIKE:
            return Hit(hit.left, found.first, True, found.inside)
        return found

    def overlap(self, one: Part, other: Part, axis: Vector) -> float:
        """How deep two parts overlap in their places, along a direction's line [mm]; 0 when they do not."""
        boxes = np.array([self.box(one, axis), self.box(other, axis)])
        if (boxes[:, 0].max(axis=0) >= boxes[:, 1].min(axis=0)).any():
            return 0.0
        key = kept.digest(b"overlap", self.key(one), self.key(other), np.array((*axis, self.pitch)).tobytes())
        row = self.kept.get(key)
        if row is None:
            low, high = dexels.blocked(*(self.cut(part, axis, NOWHERE, _shared(boxes)) for part in (one, other)))
            row = np.array([np.minimum(-low, high).max(initial=0.0)])
            self.kept.put(key, row)
        return float(row[0])

    def in_the_way(
        self,
        moving: Sequence[Part],
        fixed: Sequence[Part],
        axis: Vector,
        *,
        offset: Vector = NOWHERE,
        until: float = inf,
        exempt: Iterable[frozenset[str]] = (),
    ) -> list[tuple[Part, Part, Hit]]:
        """Every blocked pair of a group that moves as one and the parts that stand: (moving, fixed, touch)."""
        skipped = set(exempt)
        found = []
        for a, b in self.near(moving, fixed, axis, offset=offset, until=until):
            if skipped and frozenset((a.name, b.name)) in skipped:
                continue
            hit = self.hit(a, b, axis, offset=offset, until=until)
            if hit is not None:
                found.append((a, b, hit))
        return found

    def range(
        self, moving: Part, fixed: Part, axis: Vector, *, offset: Vector = NOWHERE, until: float = inf
    ) -> tuple[float, float]:
        """What `hit` can tell at all, by the boxes: least `first`, greatest `left` [mm]."""
        _, sense = frame(axis)
        mine, theirs = (np.sort(sense * box[:, 2]) for box in (self.box(moving, axis, offset), self.box(fixed, axis)))
        return max(0.0, float(theirs[0] - mine[1]) - BEYOND), min(float(theirs[1] - mine[0]) + BEYOND, until)

    def near(
        self, moving: Sequence[Part], fixed: Sequence[Part], axis: Vector, *, offset: Vector = NOWHERE, until: float = inf
    ) -> list[tuple[Part, Part]]:
        """Pairs of a group that moves and the parts that stand whose boxes do not rule out a touch: (moving, fixed)."""
        if not moving or not fixed:
            return []
        _, sense = frame(axis)
        mine = np.array([self.box(part, axis, offset) for part in moving])
        theirs = np.array([self.box(part, axis) for part in fixed])
        near = (mine[:, None, 0, :2] < theirs[None, :, 1, :2]).all(axis=2) & (mine[:, None, 1, :2] > theirs[None, :, 0, :2]).all(
            axis=2
        )
        if sense > 0.0:
            near &= mine[:, None, 0, 2] + TOUCH < theirs[None, :, 1, 2]
            near &= mine[:, None, 1, 2] + until > theirs[None, :, 0, 2]
        else:
            near &= mine[:, None, 1, 2] - TOUCH > theirs[None, :, 0, 2]
            near &= mine[:, None, 0, 2] - until < theirs[None, :, 1, 2]
        return [(moving[int(i)], fixed[int(j)]) for i, j in np.argwhere(near)]


def _row(made: Cleared | None) -> Array:
    """A pair's intervals as one row of numbers: slack, whether exact, low and high of each; nothing when the engine has no say."""
    return np.empty(0) if made is None else np.array([made.slack, made.exact, *made.spans.ravel()])


def _shared(boxes: Array) -> Array:
    """Least and greatest place across the direction that two boxes share [mm]."""
    return np.array([boxes[:, 0, :2].max(axis=0), boxes[:, 1, :2].min(axis=0)])


def _toward(spans: Array, sense: float) -> Array:
    """Intervals along the direction itself, from those along its frame's third axis."""
    return spans if sense > 0.0 else -spans[::-1, ::-1]
