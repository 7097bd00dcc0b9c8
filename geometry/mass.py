"""Volume, mass and centre of mass of parts and of groups of parts.

mm, kg, rad; density comes from calc.materials in kg/m3. A value once found is kept in one small file, so that asking again
loads neither the boolean engine nor any solid.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from calc import materials
from geometry import store
from geometry.part import Matrix, Solid, Spec

CUBIC_METRE = 1e9
"""One cubic metre [mm3]."""
COARSE, FINE = 64, 128
"""Sides of the main circle of the two solids that the extrapolation starts from [-]."""
TOOTHED = frozenset({"bevel", "toothed_member"})
"""Specials with teeth: their flank grid does not follow n, so one solid has to do."""
MOST_KEPT = 5000
"""Entries kept in the file at most; the oldest go first."""

_Entry = tuple[float, float, float, float]
_known: dict[Path, dict[str, _Entry]] = {}


@dataclass(frozen=True)
class Properties:
    """Volume [mm3], mass [kg] and centre of mass (x, y, z) [mm]."""

    volume: float
    mass: float
    centre: tuple[float, float, float]


def of_solid(solid: Solid) -> tuple[float, NDArray[np.float64]]:
    """Volume and first moment of a mesh: V = sum d / 6, S = sum d (a + b + c) / 24, d = a . (b x c).

    `solid`: closed mesh [mm]. Result: volume [mm3], first moment (3,) [mm4].
    """
    a, b, c = (solid.vertices[solid.faces[:, index]] for index in range(3))
    d = np.einsum("ij,ij->i", a, np.cross(b, c))
    return float(d.sum() / 6.0), d @ (a + b + c) / 24.0


def _solved(spec: Spec) -> _Entry:
    """Volume and centre by solids, extrapolated over the number of facets: (4 fine - coarse) / 3."""
    from geometry.solid import build

    volume, moment = of_solid(build(spec, COARSE))
    if spec.special not in TOOTHED:
        fine_volume, fine_moment = of_solid(build(spec, FINE))
        volume, moment = (4.0 * fine_volume - volume) / 3.0, (4.0 * fine_moment - moment) / 3.0
    x, y, z = (moment / volume).tolist()
    return volume, x, y, z


def _read(path: Path) -> dict[str, _Entry]:
    """Entries of the file; a damaged file or entry counts as absent."""
    try:
        kept: Any = json.loads(path.read_text(encoding="ascii"))
    except (OSError, ValueError):
        return {}
    if not isinstance(kept, dict):
        return {}
    return {key: (float(row[0]), float(row[1]), float(row[2]), float(row[3])) for key, row in kept.items() if _sound(row)}


def _sound(row: Any) -> bool:
    return (
        isinstance(row, list)
        and len(row) == 4
        and all(isinstance(item, int | float) and math.isfinite(item) for item in row)
        and row[0] > 0.0
    )


def properties_of(specs: Iterable[Spec]) -> list[Properties]:
    """Properties of many parts, the file read and written once.

    V = (4 V128 - V64) / 3 over the sides of the circle, which removes the facet error of order n^-2.
    `specs`: parts, each in its own frame [mm]. Result: Properties in the same order [mm3, kg, mm].
    """
    wanted = list(specs)
    path = store.folder() / "masses.json"
    known = _known.setdefault(path, {})
    if any(spec.key not in known for spec in wanted):
        for key, row in _read(path).items():
            known.setdefault(key, row)
    fresh = {spec.key: spec for spec in wanted if spec.key not in known}
    for key, spec in fresh.items():
        known[key] = _solved(spec)
    rows = [known[spec.key] for spec in wanted]
    if fresh:
        for key in list(known)[: max(0, len(known) - MOST_KEPT)]:
            del known[key]
        text = json.dumps(known).encode("ascii")
        store.put(path, lambda stream: stream.write(text))
    return [_weighed(spec, row) for spec, row in zip(wanted, rows, strict=True)]


def _weighed(spec: Spec, row: _Entry) -> Properties:
    volume, x, y, z = row
    return Properties(volume, volume / CUBIC_METRE * materials.material(spec.material).density, (x, y, z))


def properties(spec: Spec) -> Properties:
    """Volume, mass and centre of one part in its own frame, as `properties_of` [mm3, kg, mm]."""
    return properties_of([spec])[0]


def combined(placed: Sequence[tuple[Properties, Matrix]]) -> Properties:
    """Several placed parts as one: centre = sum m R c / sum m.

    `placed`: properties in the part's own frame and the 4x4 placement [mm]. Result: Properties in the frame of the placements
    [mm3, kg, mm].
    Raises ValueError when there is no part.
    """
    if not placed:
        raise ValueError("combined: no parts given: accepted: at least one")
    mass = sum(item.mass for item, _ in placed)
    moment = sum(
        (item.mass * (np.asarray(pose)[:3, :3] @ np.array(item.centre) + np.asarray(pose)[:3, 3]) for item, pose in placed),
        start=np.zeros(3),
    )
    x, y, z = (moment / mass).tolist()
    return Properties(sum(item.volume for item, _ in placed), mass, (x, y, z))
