"""The records that a renderer draws. Renderers compute nothing: all that they show is in here.

Lengths mm, temperatures degC, in the reducer's frame. A text is finished (language and units chosen).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from geometry.part import Role, Solid

State = Literal["in place", "arriving", "waiting", "moving", "blocking"]
"""`moving`, `blocking`: the two parts of a blocked way."""
Verdict = Literal["fine", "watch", "stop", ""]
Vector = tuple[float, float, float]


@dataclass(frozen=True)
class Callout:
    """One live note tied to a point on a part.

    `key` is stable ("fit.pinion.bore"), `value` is in shop units (mm, degC, s, kg, ...), `unit` the unit of
    `value`; `text` is the finished sentence, `short` the figure alone with its unit (for a label), `limit` and
    `source` finished texts ("" = none), `verdict` "" where there is no limit. `formula` says how the value is found, `inserted` with which figures (finished texts).
    `entry`: the entry of the record that it was read in (0 = worked out).
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
    formula: str = ""
    inserted: tuple[str, ...] = ()
    entry: int = 0


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
class Numbered:
    """A place in an order of work, written at a point: which screw comes when."""

    point: Vector
    text: str


@dataclass(frozen=True)
class PairView:
    """Half a section through a duplex pair, x along the shaft and r from its axis [mm]: `rings` and `spacers` as (x0, x1, r0, r1),
    `balls` as (x, r, radius), `lines` the contact lines from the outside to the axis as ((x, r), (x, r)); finished texts.

    Bearing 1 comes first, with half of the rings. `labels`: bearing 1, bearing 2, the end at small x, the end at large x; `states`:
    of bearing 1, bearing 2 and the spacers; `upright`: the shaft stands, x runs upward."""

    caption: str
    rings: tuple[tuple[float, float, float, float], ...]
    spacers: tuple[tuple[float, float, float, float], ...]
    balls: tuple[tuple[float, float, float], ...]
    lines: tuple[tuple[tuple[float, float], tuple[float, float]], ...]
    labels: tuple[str, ...] = ()
    states: tuple[State, ...] = ("in place", "in place", "in place")
    upright: bool = False


@dataclass(frozen=True)
class FlankMap:
    """The mark on one gear flank; places are (along the face from the toe, over the working depth from the root) [%].

    `bands`: from whole to thin, the share of the film below which the outlines in it are wiped; `centre` None where nothing touches."""

    name: str
    form: str
    bands: tuple[tuple[float, tuple[tuple[tuple[float, float], ...], ...]], ...]
    centre: tuple[float, float] | None
    text: str


@dataclass(frozen=True)
class DialView:
    """A dial indicator: `reading`, `low` and `high` in revolutions of its needle, of `divisions` ticks each; finished texts.

    `numbers`: what stands at every tenth of the scale; `text` the reading, `radius` where the stem touches, `limits` and `tick` in words."""

    reading: float
    low: float
    high: float
    divisions: int
    numbers: tuple[str, ...]
    text: str
    tick: str
    radius: str
    limits: tuple[str, str]


@dataclass(frozen=True)
class MeshView:
    """How the pair meets: the marks on both gear flanks, the backlash on a dial, and what to know about both; finished texts.

    `toe`, `heel`: heights of tooth root, root of the working depth and tip over the pitch line, as shares of the face width.
    `ends`: words for toe, heel, tip, root. `verdict` of `said`'s first line, which tells the state unless that is "ok"."""

    state: Literal["ok", "jammed", "out_of_mesh"]
    verdict: Verdict
    caption: str
    toe: tuple[float, float, float]
    heel: tuple[float, float, float]
    flanks: tuple[FlankMap, FlankMap]
    ends: tuple[str, str, str, str]
    dial: DialView
    said: tuple[str, ...]
    indicative: str


@dataclass(frozen=True)
class BlockedWay:
    """A way that is not free, with both parts where they first touch [mm]; finished texts.

    `moving`, `by`: the two parts; `come`: the way from where it comes from to the touch, `rest`: what is left of it to the seat (empty
    when nothing is told of it), both as chains of points through the place of contact `contact`; `left`: millimetres that are left;
    `heading`, `sentence`, `said`: what to write beside it; `names`: of the moving part and of what is in its way; `seen`: points
    that the picture must take in.
    """

    moving: str
    by: str
    contact: Vector
    come: tuple[Vector, ...]
    rest: tuple[Vector, ...]
    left: str
    heading: str
    sentence: str
    names: tuple[str, str]
    said: tuple[str, ...]
    seen: tuple[Vector, ...]


@dataclass(frozen=True)
class OrderLine:
    """The verdict on the order in one line, finished; `faults`: what stands against it at the step that is shown, of
    which the first `ways` are blocked ways that can be drawn; `watched`: what is to be watched there and stops nothing."""

    verdict: Verdict
    text: str
    faults: tuple[str, ...] = ()
    ways: int = 0
    watched: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Paint:
    """Colour on a part's surface, in the reducer's frame [mm]: `vertices` (n, 3) with `normals`, `faces` (m, 3), `values` (n) from
    0 = bare metal to 1 = whole film of marking compound; a `mark` is paint of one colour."""

    part: str
    kind: Literal["compound", "mark"]
    vertices: NDArray[np.float64]
    normals: NDArray[np.float64]
    faces: NDArray[np.int32]
    values: NDArray[np.float64]


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
    sequence: tuple[Numbered, ...] = ()
    pair_view: PairView | None = None
    mesh_view: MeshView | None = None
    paint: tuple[Paint, ...] = ()
    blocked: BlockedWay | None = None
    order: OrderLine | None = None
    forgotten: tuple[str, ...] = ()
