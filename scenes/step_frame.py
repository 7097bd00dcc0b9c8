"""Puts one step, or the whole exploded reducer, on stage: which part stands where, in which state, seen from where; what the step tells.

mm, degC. Everything that a renderer shows leaves this module finished.
Contents: `frame_of`, `overview`, `readings`, `step_text`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from geometry.joints import MeshJoint
from geometry.reducer import Reducer
from scenes import callouts, cameras, explode, mesh_paint, mesh_view, pair_view, sequence
from scenes.callouts import heating
from scenes.frame import (
    Callout,
    Camera,
    CutPlane,
    FitView,
    Frame,
    HeatScale,
    MeshView,
    PairView,
    Shown,
    State,
    StepText,
    Trail,
    Vector,
)
from scenes.heat_view import fit_view, heat_unit, scale_of, still_hot
from scenes.procedure import Step
from scenes.settings import Settings
from scenes.shown import FRONT, WHOLE_ROLES, Array, label_of, rotation, stand, turned, vector
from scenes.stage import SHOULDER, Stage
from scenes.wording import text, texts

AHEAD = 2
"""How many later steps of the same bench and phase show their parts as waiting."""
INSIDE = 0.05
"""Share of a hollow part's width that a seat must keep from its sides to count as inside it."""


def frame_of(stage: Stage, settings: Settings, aspect: float = 1.5) -> Frame:
    """The frame of the settings' step, or the exploded overview without a step."""
    if settings.step is None:
        return overview(stage, settings, aspect)
    step = stage.procedure.steps[settings.step]
    return _step_frame(stage, step, settings, aspect)


def overview(stage: Stage, settings: Settings, aspect: float = 1.5) -> Frame:
    """Every part, exploded along its assembly axes in assembly order."""
    shown, boxes, trails = [], [], []
    for part in stage.reducer.parts:
        if part.tool:
            continue
        shift = stage.spread.overview.get(part.name, np.zeros(3)) * settings.explode
        shown.append(stand(stage.reducer, part, shift, "in place", np.eye(3)))
        boxes.append(explode.box_of(part) + shift)
    camera = cameras.fit(boxes, aspect=aspect)
    labelled = tuple(sorted({label_of(stage.reducer, part) for part in stage.reducer.parts if not part.tool}))
    return Frame(
        stage.reducer.machine.name, None, tuple(shown), tuple(trails), (), camera, notes=texts("note.sheet"), labelled=labelled
    )


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
    warm = still_hot(stage, step, settings)
    hot_parts = heat_unit(stage, warm.hot if warm is not None else hot)
    met = mesh_view.of_bench(bench)
    if met is not None and mesh_paint.looked_at(step):
        pair = {name for joint in reducer.of_kind(MeshJoint) for name in (joint.pinion, joint.gear)}
        there = [stage.parts_at(step)[name] for name in (*standing.before, *standing.arriving) if name in pair]
        drawn = [stand(reducer, part, np.zeros(3), "in place", turn) for part in there]
        met = _facing(met, reducer, drawn, _close_camera(reducer, turn))
    return Readings(
        callouts.of_step(bench),
        fit_view(bench, hot, temperature),
        scale_of(bench, hot, temperature, warm),
        pair_view.of_step(reducer, step, standing.before),
        met,
        tuple(name for name in (*standing.before, *standing.arriving, *standing.leaving) if name in hot_parts),
        warm.temperature if warm is not None else temperature,
    )


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


def _leaders(stage: Stage, step: Step) -> set[str]:
    """The parts that get a trail: one of each circle or bearing that comes or goes, and the largest part of a merging bench."""
    reducer = stage.reducer
    leaders = {reducer.members(item)[0] for item in (*step.arrives, *step.removes)}
    merged = stage.merged(step)
    if merged:
        leaders.add(max(merged, key=stage.bulk))
    return leaders


def _close_camera(reducer: Reducer, turn: Array, aspect: float = 1.5) -> Camera:
    """Looks at the painted teeth."""
    return cameras.fit([turned(mesh_paint.close_box(reducer), turn)], cameras.FROM_ABOVE, aspect)


def _toward(camera: Camera) -> Vector:
    return vector(np.subtract(camera.position, camera.focus))


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
    unit = heat_unit(stage, hot)
    temperature = heating.setting_now(bench, hot) if hot is not None else None
    warm = still_hot(stage, step, settings)
    warm_unit = heat_unit(stage, warm.hot) if warm is not None else set()

    shown: list[Shown] = []
    for name in standing.before:
        if name not in standing.arriving and name not in standing.leaving:
            part = parts[name]
            state: State = "arriving" if name in about and not standing.arriving else "in place"
            whole = part.role in WHOLE_ROLES or (part.role == "gear" and mesh_paint.looked_at(step))
            still = warm.temperature if warm is not None and name in warm_unit else None
            shown.append(stand(reducer, part, np.zeros(3), state, turn, temperature=still, cut=cutting and not whole))
    trails = []
    leaders = _leaders(stage, step)
    for name in (*standing.arriving, *standing.leaving):
        part, way = parts[name], ways.get(name, ((0.0, 0.0, 0.0),))
        shift = np.array(way[0]) * settings.explode
        heated = temperature if name in unit else None
        shown.append(stand(reducer, part, shift, "arriving", turn, temperature=heated))
        if name in leaders and np.linalg.norm(shift) > 1.0:
            centre = explode.box_of(part).mean(axis=0)
            corner = [centre + np.array(point) * settings.explode for point in way] + [centre]
            trails.append(Trail(name, tuple(vector(turn @ point) for point in corner)))
    shown += _waiting(stage, step, settings, turn, shown)

    if mesh_paint.looked_at(step):
        camera = _close_camera(reducer, turn, aspect)
    else:
        subject = [turned(explode.box_of(parts[name]), turn) for name in about]
        subject += [turned(explode.box_of(parts[name]) + np.array(ways[name][0]) * settings.explode, turn) for name in ways]
        group = [turned(explode.box_of(parts[item.name]) + turn.T @ np.array(item.travel), turn) for item in shown]
        camera = cameras.step_camera(group, subject, aspect=aspect)
    paint = mesh_paint.of_step(reducer, step, shown, _toward(camera))
    cut = CutPlane(FRONT.origin, vector(turn @ np.array(FRONT.normal))) if cutting else None
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
        fit_view(bench, hot, temperature),
        scale_of(bench, hot, temperature, warm),
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
    return replace(note, point=vector(turn @ (np.array(note.point) + shift)))


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
            found += [stand(reducer, parts[member], shift * settings.explode, "waiting", turn) for member in members]
            taken.update(members)
        later += 1
        if later == AHEAD:
            break
    return found


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
