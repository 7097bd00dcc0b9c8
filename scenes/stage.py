"""Puts one step, or the whole exploded reducer, on stage: which part stands where, in which state, seen from where.

mm, degC. Everything that a renderer shows leaves this module finished.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from geometry.joints import Fit, MeshJoint
from geometry.part import Part
from geometry.reducer import Reducer, build
from scenes import callouts, cameras, explode, mesh_paint, mesh_view, pair_view, sequence
from scenes.callouts import heating
from scenes.callouts.bench import Bench, clearance_band
from scenes.frame import (
    Callout,
    Camera,
    CutPlane,
    FitView,
    Frame,
    HeatMark,
    HeatScale,
    MeshView,
    PairView,
    Shown,
    State,
    StepText,
    Trail,
    Vector,
)
from scenes.procedure import Procedure, Step
from scenes.settings import Settings
from scenes.standing import Held
from scenes.wording import text, texts

Array = NDArray[np.float64]
GAP_FACTORS = (2000.0, 1000.0, 500.0, 200.0, 100.0, 50.0, 20.0)
"""Exaggerations offered for the gap between bore and shaft, largest first."""
GAP_SHARE = 0.22
"""Share of the shaft's radius that the drawn gap may take."""
AHEAD = 2
"""How many later steps of the same bench and phase show their parts as waiting."""
WHOLE_ROLES = frozenset({"shaft", "rolling", "fastener", "pinion"})
"""Roles that stay whole in a section: drawing convention, ISO 128."""
FRONT = CutPlane((0.0, 0.0, 0.0), (0.0, -1.0, 0.0))
"""The cut through both axes: the half toward the viewer is taken away."""


@dataclass(frozen=True, eq=False)
class Standing:
    """What stands on a bench just before a step, what arrives in it, and what of it leaves."""

    before: tuple[str, ...]
    arriving: tuple[str, ...]
    bench: str
    leaving: tuple[str, ...] = ()


def replay(reducer: Reducer, procedure: Procedure) -> dict[str, Standing]:
    """Run the order once and note, for every step, what stands on its bench and what arrives (a merging bench included)."""
    benches: dict[str, list[str]] = {}
    found: dict[str, Standing] = {}
    for name in procedure.order:
        step = procedure.steps[name]
        bench = benches.setdefault(step.bench, [])
        arriving = [member for item in step.arrives for member in reducer.members(item)]
        before = tuple(bench)
        if step.merges:
            arriving += benches.pop(step.merges, [])
        leaving = tuple(member for item in step.removes for member in reducer.members(item) if member in before)
        bench[:] = [member for member in bench if member not in leaving]
        bench += [member for member in arriving if member not in bench]
        found[name] = Standing(before, tuple(arriving), step.bench, leaving)
    return found


def locked_at(reducer: Reducer, procedure: Procedure) -> dict[str, int]:
    """For every part with a lock: the place in the order of the step that sets it (past the end when none does)."""
    waiting: dict[str, str] = {}
    found = {part.name: len(procedure.order) for part in reducer.parts if part.unlocked is not None}
    for place, name in enumerate(procedure.order):
        step = procedure.steps[name]
        if step.method == "bend_tab":
            for washer in [item for item, bench in waiting.items() if bench == step.bench]:
                found[washer] = place
                del waiting[washer]
        for item in step.arrives:
            waiting.update({member: step.bench for member in reducer.members(item) if member in found})
    return found


UP: dict[str, Array] = {
    "+z": np.eye(3),
    "-z": np.diag([1.0, -1.0, -1.0]),
    "-x": np.array([[0.0, 0.0, 1.0], [0.0, 1.0, 0.0], [-1.0, 0.0, 0.0]]),
    "+x": np.array([[0.0, 0.0, -1.0], [0.0, 1.0, 0.0], [1.0, 0.0, 0.0]]),
}
"""Rotation that brings a reducer axis to the top of the picture."""


def rotation(step: Step | None) -> Array:
    """How the bench of a step stands [3x3]."""
    return UP[step.up if step is not None else "+z"]


def _turned(box: Array, turn: Array) -> Array:
    ends = cameras.corners(box) @ turn.T
    return np.array([ends.min(axis=0), ends.max(axis=0)])


@dataclass(eq=False)
class Stage:
    """Everything about one effective reducer that does not depend on the step: order replayed, exploded places, memories; its readings
    that stand."""

    reducer: Reducer
    procedure: Procedure
    held: Mapping[str, Held] = field(default_factory=dict)
    standing: dict[str, Standing] = field(init=False)
    locked: dict[str, int] = field(init=False)

    def __post_init__(self) -> None:
        self.standing = replay(self.reducer, self.procedure)
        self.locked = locked_at(self.reducer, self.procedure)
        self._spread: explode.Spread | None = None

    @property
    def spread(self) -> explode.Spread:
        """The full exploded view, made when first asked for."""
        if self._spread is None:
            self._spread = explode.spread(self.reducer, self.procedure)
        return self._spread

    def parts_at(self, step: Step) -> dict[str, Part]:
        """The parts as they are after a step: a tab still flat until its step has bent it."""
        place = self.procedure.order.index(step.id)
        return {
            name: replace(part, spec=part.unlocked) if part.unlocked is not None and self.locked[name] > place else part
            for name, part in self.reducer.by_name.items()
        }

    def merged(self, step: Step) -> tuple[str, ...]:
        """Parts that come with a merging bench and stood together before."""
        fitted = {member for item in step.arrives for member in self.reducer.members(item)}
        return tuple(name for name in self.standing[step.id].arriving if name not in fitted)

    def _bulk(self, name: str) -> float:
        """Volume of a part's box: the largest part stands for its bench [mm3]."""
        return float(np.prod(np.diff(explode.box_of(self.reducer.by_name[name]), axis=0)))

    def subject(self, step: Step) -> tuple[str, ...]:
        """What a step is about: what arrives; else the lock it sets, the screws or chain it reads, or what was last fitted hot or fitted at all."""
        standing, reducer = self.standing[step.id], self.reducer
        if standing.arriving or standing.leaving:
            merged = self.merged(step)
            named = tuple(name for name in standing.arriving if name not in merged) or standing.leaving
            return named + ((max(merged, key=self._bulk),) if merged else ())
        if step.method == "turn_over":
            return tuple(sorted(standing.before, key=self._bulk)[-2:])
        place = self.procedure.order.index(step.id)
        locks = tuple(name for name, at in self.locked.items() if at == place)
        if locks:
            return locks
        there = set(standing.before)
        read = [item for item in step.reads if item in reducer.groups][:MOST_READ]
        screws = [name for item in read for name in reducer.members(item)]
        if set(screws) & there:
            return tuple(name for name in screws if name in there)
        mesh = [name for name in ("pinion", "gear") if name in there]
        if len(mesh) == 2 and step.phase in ("closing_checks", "dry_trial"):
            return tuple(mesh)
        earlier = [
            self.procedure.steps[name] for name in self.procedure.order[:place] if self.procedure.steps[name].bench == step.bench
        ]
        hot = [item for item in earlier if item.method == "hot"]
        if SHOULDER in step.reads and hot:
            earlier = hot
        for item in reversed(earlier):
            names = tuple(name for name in self.standing[item.id].arriving if name in there)
            if names:
                return names
        return ()

    def bench(self, step: Step, settings: Settings) -> Bench:
        """What the callouts of a step are computed from."""
        standing = self.standing[step.id]
        arriving = frozenset(standing.arriving)
        stands = (frozenset(standing.before) - frozenset(standing.leaving)) | arriving
        return Bench(self.reducer, step, arriving, stands, settings, frozenset(self.merged(step)), self.held)

    def tools(self, step: Step) -> tuple[str, ...]:
        """Tools of a step, the oven named where the part is heated in it; no setting changes them."""
        return heating.tools_of(self.bench(step, Settings()))

    def travel(self, step: Step) -> dict[str, tuple[Vector, ...]]:
        """For each arriving part: its way from the far end to just before its seat, as shifts from the seat [mm]."""
        standing, parts = self.standing[step.id], self.reducer.by_name
        merged = set(self.merged(step))
        if not (step.arrives or step.removes or merged):
            return {}
        placed = [explode.box_of(parts[name]) for name in standing.before if not parts[name].tool and name not in standing.leaving]
        ways: dict[str, tuple[Vector, ...]] = {}
        groups: list[tuple[tuple[str, ...], Array]] = []
        for item in (*step.arrives, *step.removes):
            groups.append((self.reducer.members(item), explode.side_of(step, item)))
        if merged:  # after the gasket that it stands on, before the screws that hold it
            sheets = sum(1 for item in step.arrives if parts[self.reducer.members(item)[0]].role == "gasket")
            unit = tuple(name for name in standing.arriving if name in merged)
            groups.insert(sheets, (unit, explode.AXES[explode.merge_side(step)]))
        for members, direction in groups:
            moving = [explode.box_of(parts[name]) for name in members]
            if step.path and (merged == set(members) or not merged):
                way = self._legs(step)
            else:
                distance = explode.clear_distance(moving, placed, direction) if placed else 0.0
                way = (_vector(direction * distance),)
            for name in members:
                ways[name] = way
            shift = np.array(way[0])
            placed = placed + [box + shift for box in moving]
        return ways

    @staticmethod
    def _legs(step: Step) -> tuple[Vector, ...]:
        """A path given leg by leg, from the far end: shifts from the seat at its corners [mm]."""
        shift = np.zeros(3)
        points = []
        for axis, length in reversed(step.path):
            shift = shift + explode.AXES[str(axis)] * float(length)
            points.append(_vector(shift))
        return tuple(reversed(points))

    def frame(self, settings: Settings, aspect: float = 1.5) -> Frame:
        """The frame of the settings' step, or the exploded overview without a step."""
        if settings.step is None:
            return self.overview(settings, aspect)
        step = self.procedure.steps[settings.step]
        return _step_frame(self, step, settings, aspect)

    def overview(self, settings: Settings, aspect: float = 1.5) -> Frame:
        """Every part, exploded along its assembly axes in assembly order."""
        shown, boxes, trails = [], [], []
        for part in self.reducer.parts:
            if part.tool:
                continue
            shift = self.spread.overview.get(part.name, np.zeros(3)) * settings.explode
            shown.append(stand(self.reducer, part, shift, "in place", np.eye(3), settings))
            boxes.append(explode.box_of(part) + shift)
        camera = cameras.fit(boxes, aspect=aspect)
        labelled = tuple(sorted({label_of(self.reducer, part) for part in self.reducer.parts if not part.tool}))
        return Frame(
            self.reducer.machine.name, None, tuple(shown), tuple(trails), (), camera, notes=texts("note.sheet"), labelled=labelled
        )


def _vector(values: Array) -> Vector:
    return float(values[0]), float(values[1]), float(values[2])


def label_of(reducer: Reducer, part: Part) -> str:
    """The part's name as shown: a circle of screws once with its count, the pieces of a bearing by the bearing's name."""
    if part.number:
        return text(part.wording, count=len(reducer.groups[part.name.rsplit("_", 1)[0]]))
    return text(f"part.{part.unit}") if part.unit else text(part.wording)


def stand(
    reducer: Reducer,
    part: Part,
    shift: Array,
    state: State,
    turn: Array,
    settings: Settings,
    *,
    temperature: float | None = None,
    cut: bool = False,
) -> Shown:
    pose = np.eye(4)
    pose[:3, :3] = turn @ part.pose[:3, :3]
    pose[:3, 3] = turn @ (part.pose[:3, 3] + shift)
    return Shown(
        part.name,
        label_of(reducer, part),
        part.role,
        build(part),
        part.spec.key,
        pose,
        state,
        _vector(turn @ shift),
        temperature,
        cut,
        part.role in WHOLE_ROLES,
    )


def _leaders(stage: Stage, step: Step) -> set[str]:
    """The parts that get a trail: one of each circle or bearing that comes or goes, and the largest part of a merging bench."""
    reducer = stage.reducer
    leaders = {reducer.members(item)[0] for item in (*step.arrives, *step.removes)}
    merged = stage.merged(step)
    if merged:
        leaders.add(max(merged, key=stage._bulk))
    return leaders


MOST_READ = 3
"""Circles of screws that a step's picture is about at most, when more are read in it."""
SHOULDER = "shoulder_gap"
"""The reading that looks at a part fitted hot, at its shoulder."""
GLOVES = "heat_gloves"
"""The tool of steps that handle a hot part."""
HEAT_HEADROOM = 1.15
"""The heat scale ends this far above the limit, so that a part at its limit keeps its colour."""
INSIDE = 0.05
"""Share of a hollow part's width that a seat must keep from its sides to count as inside it."""


def needs_cut(stage: Stage, step: Step) -> bool:
    """Whether a step happens out of sight in a case or cartridge: what arrives seats inside it, or the mesh is looked at in the closed case."""
    parts, standing = stage.reducer.by_name, stage.standing[step.id]
    if SHOULDER in step.reads:
        return True
    if not standing.arriving:
        return "upper_case" in standing.before and {"pinion", "gear"} <= set(stage.subject(step))
    hollow = [explode.box_of(parts[name]) for name in standing.before if parts[name].role in ("case", "cartridge")]
    for item in step.arrives:
        side = step.side.get(item, "+z")
        if step.bench == "case" and side not in ("+x", "+z"):
            return False
        along = "xyz".index(side[1])
        seat = explode.union([explode.box_of(parts[member]) for member in stage.reducer.members(item)])
        for other in hollow:
            room = INSIDE * (other[1] - other[0])
            room[along] = -1.0
            if (seat[0] >= other[0] + room).all() and (seat[1] <= other[1] - room).all():
                return True
    return False


@dataclass(frozen=True, eq=False)
class Readings:
    """What a step tells at some settings, without what is drawn of it: its notes and figures; the parts that come heated, and how hot
    [degC]."""

    callouts: tuple[Callout, ...]
    fit_view: FitView | None
    heat_scale: HeatScale | None
    pair_view: PairView | None
    mesh_view: MeshView | None
    heated: tuple[str, ...]
    temperature: float | None


def readings(stage: Stage, step: Step, settings: Settings) -> Readings:
    """What a step tells at these settings, pushed together."""
    reducer, standing, turn = stage.reducer, stage.standing[step.id], rotation(step)
    bench = stage.bench(step, settings)
    hot = heating.joint_of(bench)
    temperature = heating.setting_now(bench, hot) if hot is not None else None
    warm = _still_hot(stage, step, settings)
    hot_parts = _heat_unit(stage, warm.hot if warm is not None else hot)
    met = mesh_view.of_bench(bench)
    if met is not None and mesh_paint.looked_at(step):
        pair = {name for joint in reducer.of_kind(MeshJoint) for name in (joint.pinion, joint.gear)}
        there = [stage.parts_at(step)[name] for name in (*standing.before, *standing.arriving) if name in pair]
        drawn = [stand(reducer, part, np.zeros(3), "in place", turn, settings) for part in there]
        met = _facing(met, reducer, drawn, _close_camera(reducer, turn))
    return Readings(
        callouts.of_step(bench),
        _fit_view(bench, hot, temperature),
        _heat_scale(bench, hot, temperature) if hot is not None else _warm_scale(warm) if warm is not None else None,
        pair_view.of_step(reducer, step, standing.before),
        met,
        tuple(name for name in (*standing.before, *standing.arriving, *standing.leaving) if name in hot_parts),
        warm.temperature if warm is not None else temperature,
    )


def _heat_unit(stage: Stage, hot: Fit | None) -> set[str]:
    """The parts that are heated for a fit."""
    if hot is None:
        return set()
    unit = stage.reducer.by_name[hot.bore_part].unit
    return {hot.bore_part, *(stage.reducer.members(unit) if unit else ())}


def _close_camera(reducer: Reducer, turn: Array, aspect: float = 1.5) -> Camera:
    """Looks at the painted teeth."""
    return cameras.fit([_turned(mesh_paint.close_box(reducer), turn)], cameras.FROM_ABOVE, aspect)


def _toward(camera: Camera) -> Vector:
    return _vector(np.subtract(camera.position, camera.focus))


def _facing(met: MeshView, reducer: Reducer, shown: Sequence[Shown], camera: Camera) -> MeshView:
    """How the pair meets, with which flanks of the painted teeth look at the eye."""
    facing = mesh_paint.facing(reducer, shown, _toward(camera))
    return replace(met, said=(*met.said, facing)) if facing else met


def _step_frame(stage: Stage, step: Step, settings: Settings, aspect: float) -> Frame:
    reducer, parts = stage.reducer, stage.parts_at(step)
    standing, turn = stage.standing[step.id], rotation(step)
    bench = stage.bench(step, settings)
    notes = callouts.of_step(bench)
    hot = heating.joint_of(bench)
    ways, about = stage.travel(step), stage.subject(step)
    cutting = settings.cut and needs_cut(stage, step)
    heat_unit = _heat_unit(stage, hot)
    temperature = heating.setting_now(bench, hot) if hot is not None else None
    warm = _still_hot(stage, step, settings)
    warm_unit = _heat_unit(stage, warm.hot) if warm is not None else set()

    shown: list[Shown] = []
    for name in standing.before:
        if name not in standing.arriving and name not in standing.leaving:
            part = parts[name]
            state: State = "arriving" if name in about and not standing.arriving else "in place"
            whole = part.role in WHOLE_ROLES or (part.role == "gear" and mesh_paint.looked_at(step))
            still = warm.temperature if warm is not None and name in warm_unit else None
            shown.append(stand(reducer, part, np.zeros(3), state, turn, settings, temperature=still, cut=cutting and not whole))
    trails = []
    leaders = _leaders(stage, step)
    for name in (*standing.arriving, *standing.leaving):
        part, way = parts[name], ways.get(name, ((0.0, 0.0, 0.0),))
        shift = np.array(way[0]) * settings.explode
        heated = temperature if name in heat_unit else None
        shown.append(stand(reducer, part, shift, "arriving", turn, settings, temperature=heated))
        if name in leaders and np.linalg.norm(shift) > 1.0:
            centre = explode.box_of(part).mean(axis=0)
            corner = [centre + np.array(point) * settings.explode for point in way] + [centre]
            trails.append(Trail(name, tuple(_vector(turn @ point) for point in corner)))
    shown += _waiting(stage, step, settings, turn, shown)

    if mesh_paint.looked_at(step):
        camera = _close_camera(reducer, turn, aspect)
    else:
        subject = [_turned(explode.box_of(parts[name]), turn) for name in about]
        subject += [_turned(explode.box_of(parts[name]) + np.array(ways[name][0]) * settings.explode, turn) for name in ways]
        group = [_turned(explode.box_of(parts[item.name]) + turn.T @ np.array(item.travel), turn) for item in shown]
        camera = cameras.step_camera(group, subject, aspect=aspect)
    paint = mesh_paint.of_step(reducer, step, shown, _toward(camera))
    cut = CutPlane(FRONT.origin, _vector(turn @ np.array(FRONT.normal))) if cutting else None
    how_it_meets = mesh_view.of_bench(bench)
    if how_it_meets is not None and mesh_paint.looked_at(step):
        how_it_meets = _facing(how_it_meets, reducer, shown, camera)
    turned_notes = tuple(_moved(note, turn, ways, settings) for note in notes)
    return Frame(
        reducer.machine.name,
        step_text(stage, step),
        tuple(shown),
        tuple(trails),
        turned_notes,
        camera,
        cut,
        _fit_view(bench, hot, temperature),
        _heat_scale(bench, hot, temperature) if hot is not None else _warm_scale(warm) if warm is not None else None,
        texts("note.sheet"),
        tuple(dict.fromkeys(label_of(reducer, parts[name]) for name in about)),
        tuple(name for name in about if parts[name].role != "gear") if mesh_paint.looked_at(step) else about,
        sequence.of_step(reducer, step, shown),
        pair_view.of_step(reducer, step, standing.before),
        how_it_meets,
        paint if how_it_meets is not None else (),
    )


def _moved(note: Callout, turn: Array, ways: dict[str, tuple[Vector, ...]], settings: Settings) -> Callout:
    """The note's point where its part is drawn."""
    shift = np.array(ways[note.part][0]) * settings.explode if note.part in ways else np.zeros(3)
    return replace(note, point=_vector(turn @ (np.array(note.point) + shift)))


def _waiting(stage: Stage, step: Step, settings: Settings, turn: Array, shown: Sequence[Shown]) -> list[Shown]:
    """Parts of the next steps on the same bench and in the same phase, stacked behind what arrives; pushed together they only stay
    where nothing else is on stage."""
    if settings.explode <= 0.0 and shown:
        return []
    reducer, parts = stage.reducer, stage.reducer.by_name
    taken = {item.name for item in shown}
    placed = [explode.box_of(parts[item.name]) + turn.T @ np.array(item.travel) for item in shown]
    order, found, later = stage.procedure.order, [], 0
    for name in order[order.index(step.id) + 1 :]:
        follower = stage.procedure.steps[name]
        if follower.phase != step.phase or follower.bench != step.bench or follower.up != step.up:
            break
        if not follower.arrives or follower.merges:
            continue
        for item in follower.arrives:
            members = [member for member in reducer.members(item) if member not in taken and not parts[member].tool]
            if not members:
                continue
            direction = explode.side_of(follower, item)
            boxes = [explode.box_of(parts[member]) for member in members]
            shift = direction * explode.clear_distance(boxes, placed, direction)
            placed += [box + shift for box in boxes]
            found += [stand(reducer, parts[member], shift * settings.explode, "waiting", turn, settings) for member in members]
            taken.update(members)
        later += 1
        if later == AHEAD:
            break
    return found


@dataclass(frozen=True, eq=False)
class Warm:
    """The fit made hot in the step just before, while its part is still handled in gloves; its temperature as it went on [degC]."""

    bench: Bench
    hot: Fit
    temperature: float


def _still_hot(stage: Stage, step: Step, settings: Settings) -> Warm | None:
    """What is still hot in a step that is no hot fit itself."""
    if step.method == "hot" or GLOVES not in step.tools:
        return None
    place = stage.procedure.order.index(step.id)
    earlier = [stage.procedure.steps[name] for name in stage.procedure.order[:place]]
    last = next((item for item in reversed(earlier) if item.bench == step.bench), None)
    bench = stage.bench(last, settings) if last is not None else None
    hot = heating.joint_of(bench) if bench is not None else None
    return Warm(bench, hot, heating.setting_now(bench, hot)) if bench is not None and hot is not None else None


def _warm_scale(warm: Warm) -> HeatScale:
    """The scale of a part that was heated in the step before."""
    scale = _heat_scale(warm.bench, warm.hot, warm.temperature)
    marks = tuple(
        replace(mark, text=text("heat_scale.fitted", temperature=warm.bench.shown(mark.temperature, "temperature", digits=0)))
        if mark.kind == "now"
        else mark
        for mark in scale.marks
    )
    return replace(scale, caption=text("heat_scale.still", part=text(f"part.{warm.hot.bore_part}")), marks=marks)


def _heat_scale(bench: Bench, hot: Fit, temperature: float | None) -> HeatScale:
    """From the workshop's temperature to the part's limit, or to its setting if that is above."""
    plan = heating.plan(bench, hot)
    low, high = bench.ambient, HEAT_HEADROOM * max(plan.limit, temperature or 0.0)

    def degrees(value: float) -> str:
        return bench.shown(value, "temperature", digits=0)

    marks = [
        HeatMark(low, degrees(low), "start"),
        HeatMark(plan.limit, text("heat_scale.limit", limit=degrees(plan.limit)), "limit"),
    ]
    if temperature is not None:
        marks.append(HeatMark(temperature, text("heat_scale.now", temperature=degrees(temperature)), "now"))
    return HeatScale(
        low,
        high,
        text(
            "heat_scale.caption",
            part=text(f"part.{hot.bore_part}"),
            recommended=degrees(plan.recommended),
            limit=degrees(plan.limit),
            least=bench.shown(bench.reducer.machine.shop.sliding_clearance, "length"),
            time=bench.within(heating.time_to_slide(bench, hot, plan.recommended).low),
        ),
        tuple(marks),
    )


def _fit_view(bench: Bench, hot: Fit | None, temperature: float | None) -> FitView | None:
    """Bore and shaft at the present setting, drawn apart by the largest factor that still leaves a ring to look at."""
    if hot is None or temperature is None:
        return None
    low, middle, high = heating.clearance_now(bench, hot, temperature)
    widest = max(abs(low), abs(high), 1e-6)
    factor = next((item for item in GAP_FACTORS if widest * item <= GAP_SHARE * hot.diameter / 2.0), GAP_FACTORS[-1])
    caption = text(
        "fit_view.caption",
        factor=f"{factor:.0f}",
        temperature=bench.shown(temperature, "temperature", digits=0),
        band=clearance_band(bench, low, high),
    )
    return FitView(
        hot.bore_part,
        text(f"part.{hot.bore_part}"),
        text(f"part.{hot.shaft_part}"),
        hot.diameter,
        middle,
        low,
        high,
        temperature,
        factor,
        caption,
    )


def step_text(stage: Stage, step: Step) -> StepText:
    """The words of a step."""
    order = stage.procedure.order
    cautions = tuple(dict.fromkeys(line for key in step.cautions for line in texts(key)))
    return StepText(
        step.id,
        order.index(step.id) + 1,
        len(order),
        step.phase,
        text(f"phase.{step.phase}"),
        text(f"step.{step.id}.title"),
        text(f"step.{step.id}.act"),
        text(f"step.{step.id}.reason"),
        text(f"method.{step.method}"),
        cautions,
        tuple([text(f"tool.{name}") for name in stage.tools(step)] + [text(f"consumable.{name}") for name in step.consumables]),
        text(f"step.{step.id}.hold") if step.hold else "",
    )
