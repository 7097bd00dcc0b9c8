"""The records that a renderer draws. Renderers compute nothing: all that they show is in here.

Lengths mm, temperatures degC, in the reducer's frame. A text is finished (language and units chosen).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from geometry.part import Role, Solid

State = Literal["in place", "arriving", "waiting"]
Verdict = Literal["fine", "watch", "stop", ""]
Vector = tuple[float, float, float]


@dataclass(frozen=True)
class Callout:
    """One live note tied to a point on a part.

    `key` is stable ("fit.pinion.bore"), `value` is in shop units (mm, degC, s, kg, ...), `unit` the unit of
    `value`; `text` is the finished sentence, `short` the figure alone with its unit (for a label), `limit` and
    `source` finished texts ("" = none), `verdict` "" where there is no limit.
    """

    key: str
    part: str
    point: Vector
    text: str
    short: str
    value: float
    unit: str
    limit: str
    verdict: Verdict
    source: str


@dataclass(frozen=True, eq=False)
class Shown:
    """One part on stage. `pose` is where it is drawn; `travel` how far that is from its seat (zero vector = seated)."""

    name: str
    label: str
    role: Role
    solid: Solid
    spec_key: str
    pose: NDArray[np.float64]
    state: State
    travel: Vector = (0.0, 0.0, 0.0)
    temperature: float | None = None
    cut: bool = False
    whole: bool = False


@dataclass(frozen=True)
class Trail:
    """A dash-dot line from a part's drawn place to its seat, as a chain of points."""

    part: str
    points: tuple[Vector, ...]


@dataclass(frozen=True)
class Camera:
    """A perspective camera: `angle` is the vertical view angle [deg]."""

    position: Vector
    focus: Vector
    up: Vector
    angle: float = 18.0


@dataclass(frozen=True)
class CutPlane:
    """Material on the side that `normal` points to is taken away from the parts marked `cut`."""

    origin: Vector
    normal: Vector


@dataclass(frozen=True)
class FitView:
    """Bore and shaft drawn apart by `factor`: radii in mm, `clearance` diametral mm (negative = interference)."""

    part: str
    bore_name: str
    shaft_name: str
    shaft_diameter: float
    clearance: float
    clearance_low: float
    clearance_high: float
    temperature: float
    factor: float
    caption: str


@dataclass(frozen=True)
class HeatMark:
    """A temperature on the scale [degC] with its finished text; `kind`: where the part is `now`, its `limit`, or the scale's `start`."""

    temperature: float
    text: str
    kind: Literal["start", "now", "limit"]


@dataclass(frozen=True)
class HeatScale:
    """The colour scale shown beside a heated part [degC], with its marks and what the fitter acts on as finished sentences."""

    low: float
    high: float
    caption: str
    marks: tuple[HeatMark, ...] = ()


@dataclass(frozen=True)
class StepText:
    """The words of one step, finished."""

    id: str
    number: int
    count: int
    phase: str
    phase_title: str
    title: str
    act: str
    reason: str
    method: str
    cautions: tuple[str, ...]
    tools: tuple[str, ...]
    hold: str


@dataclass(frozen=True, eq=False)
class Frame:
    """All that is on stage for one machine, step and settings."""

    machine: str
    step: StepText | None
    shown: tuple[Shown, ...]
    trails: tuple[Trail, ...]
    callouts: tuple[Callout, ...]
    camera: Camera
    cut: CutPlane | None = None
    fit_view: FitView | None = None
    heat_scale: HeatScale | None = None
    notes: tuple[str, ...] = ()
    labelled: tuple[str, ...] = ()
    arriving: tuple[str, ...] = ()
