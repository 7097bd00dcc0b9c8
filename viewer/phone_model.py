"""What the phone file draws: bodies once, and for every step which part stands where, in which state, seen from where.

mm. Places come from the Frame: a part's seat, and its shift when fully pulled apart; the page only scales that shift.

`scene` gives plain lists for JSON:
    bodies  heads of viewer.phone_solids.packed
    pieces  one a part and shape: [role, [[body, twelve numbers of its 3x4 pose in the part's own frame], ...], pose of the part (twelve)]
    turns   3x3 rotations, how a bench stands
    views   the whole machine, then every step: turn, cameras as [width over height, position, focus, up, angle], cut [origin, normal],
            cutting (whether it opens cut), shown, about (pieces the step is about), trails, order (numbers of an order of work)
A line of `shown` is [piece, state, shift x, y, z, cut, gone]: state 0 in place, 1 arriving, 2 waiting; cut 1 where the plane cuts it;
gone lists its bodies that the cut takes away whole.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from geometry.part import Part, Solid
from geometry.reducer import build
from scenes.explain import Explainer
from scenes.frame import Camera, CutPlane, Frame, Shown, State
from scenes.settings import Settings, changed
from scenes.shown import FRONT, WHOLE_ROLES, rotation
from viewer import phone_solids
from viewer.phone_solids import Body

ASPECTS: Final = (1.0, 1.5)
"""Widths over heights of the picture for which cameras are kept: a phone held upright, a wide screen."""
STATES: Final[tuple[State, ...]] = ("in place", "arriving", "waiting")
Floats = NDArray[np.float64]


class Pieces:
    """Every part in every shape that it has in some step, numbered as they come; equal bodies once."""

    def __init__(self) -> None:
        self.bodies: list[Body] = []
        self.records: list[list[Any]] = []
        self.parts: list[Part] = []
        self._number: dict[tuple[str, str], int] = {}
        self._split: dict[str, list[tuple[int, Solid, Floats]]] = {}

    def number(self, part: Part) -> int:
        """The number of a part in its shape."""
        key = part.name, part.spec.key
        if key not in self._number:
            self._number[key] = len(self.records)
            instances = [[body, *_twelve(pose)] for body, _, pose in self._bodies(part)]
            self.records.append([part.role, instances, _twelve(part.pose)])
            self.parts.append(part)
        return self._number[key]

    def _bodies(self, part: Part) -> list[tuple[int, Solid, Floats]]:
        found = self._split.get(part.spec.key)
        if found is None:
            solid = build(part)
            split = phone_solids.separate(solid) if part.role == "rolling" else [(solid, [np.eye(4)])]
            found = self._split[part.spec.key] = []
            for one, poses in split:
                self.bodies.append(phone_solids.body(one))
                found += [(len(self.bodies) - 1, one, pose) for pose in poses]
        return found

    def gone(self, part: Part, pose: Floats, plane: CutPlane) -> list[int]:
        """Which bodies of a part at this pose lie wholly on the side that a plane takes away."""
        normal, origin = np.array(plane.normal), np.array(plane.origin)
        found = []
        for index, (_, solid, own) in enumerate(self._bodies(part)):
            full = pose @ own
            if float((solid.vertices @ (full[:3, :3].T @ normal)).min() + normal @ (full[:3, 3] - origin)) >= -1e-6:
                found.append(index)
        return found


def scene(explainer: Explainer, now: Settings) -> tuple[dict[str, Any], bytes, list[Part]]:
    """Everything drawn, the bytes of its bodies, and the part of each piece."""
    pieces = Pieces()
    stage = explainer.stage(now)
    turns: list[list[float]] = []
    views = []
    for name in (None, *explainer.procedure.order):
        step = None if name is None else explainer.procedure.steps[name]
        parts = stage.reducer.by_name if step is None else stage.parts_at(step)
        turn = [_plain(value) for value in rotation(step).ravel()]
        if turn not in turns:
            turns.append(turn)
        frame = _whole_when_empty(explainer, now, name)
        views.append({"turn": turns.index(turn), **_view(explainer, now, name, frame, parts, pieces)})
    heads, data = phone_solids.packed(pieces.bodies)
    return {"bodies": heads, "pieces": pieces.records, "turns": turns, "views": views}, data, pieces.parts


def _whole_when_empty(explainer: Explainer, now: Settings, name: str | None) -> Frame:
    """The frame of a step fully pulled apart; the whole machine where a step has nothing on its bench yet."""
    frame = explainer.frame(changed(now, step=name, explode=1.0, cut=True), ASPECTS[0])
    return (
        frame
        if any(item.state != "waiting" for item in frame.shown)
        else explainer.frame(changed(now, step=None, explode=1.0), ASPECTS[0])
    )


def _view(
    explainer: Explainer, now: Settings, name: str | None, frame: Frame, parts: Mapping[str, Part], pieces: Pieces
) -> dict[str, Any]:
    step = name if frame.step is not None else None
    turn = rotation(None if step is None else explainer.procedure.steps[step])
    wide = explainer.frame(changed(now, step=step, explode=1.0, cut=True), ASPECTS[1])
    seated = explainer.frame(changed(now, step=step, explode=0.0, cut=True), ASPECTS[0])
    plane = frame.cut or CutPlane(FRONT.origin, _three(turn @ np.array(FRONT.normal)))
    formed = {item.name: _formed(item, parts, explainer.stage(now).reducer.by_name) for item in frame.shown}
    number = {name: pieces.number(part) for name, part in formed.items()}
    return {
        "cameras": [_camera(one.camera, aspect) for one, aspect in ((frame, ASPECTS[0]), (wide, ASPECTS[1]))],
        "cut": [[_plain(v) for v in plane.origin], [_plain(v) for v in plane.normal]],
        "cutting": frame.cut is not None,
        "shown": [_shown(item, number[item.name], formed[item.name], frame.cut, plane, pieces) for item in frame.shown],
        "about": [number[member] for member in frame.arriving if member in number],
        "trails": [[_rounded(point) for point in trail.points] for trail in frame.trails],
        "order": [[mark.text, _rounded(mark.point), _rounded(seat.point)] for mark, seat in zip(frame.sequence, seated.sequence, strict=True)],
    }  # fmt: skip


def _formed(item: Shown, *candidates: Mapping[str, Part]) -> Part:
    """The part in the shape in which it is drawn: a lock open, or set."""
    return next(parts[item.name] for parts in candidates if parts[item.name].spec.key == item.spec_key)


def _shown(item: Shown, number: int, part: Part, cut: CutPlane | None, plane: CutPlane, pieces: Pieces) -> list[Any]:
    whole = item.role in WHOLE_ROLES
    trimmed = item.cut if cut is not None else item.state == "in place" and not whole
    gone = pieces.gone(part, item.pose, plane) if whole and item.state != "arriving" else []
    return [number, STATES.index(item.state), *_rounded(item.travel), int(trimmed), gone]


def _camera(camera: Camera, aspect: float) -> list[Any]:
    return [aspect, _rounded(camera.position), _rounded(camera.focus), [round(v, 6) for v in camera.up], camera.angle]


def _three(values: Floats) -> tuple[float, float, float]:
    return float(values[0]), float(values[1]), float(values[2])


def _twelve(pose: Floats) -> list[float]:
    return [_plain(value) for value in pose[:3].ravel()]


def _rounded(values: Any) -> list[float]:
    """A place in the picture to a hundredth [mm]."""
    return [round(float(value), 2) + 0.0 for value in values]


def _plain(value: float) -> float:
    """A number short enough for the file: 1e-6 mm, 1e-9 rad."""
    return round(float(value), 9) + 0.0
