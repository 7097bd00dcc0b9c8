"""Paint on the teeth: marking compound on gear teeth beside the mesh, wiped off where the pair touches, and the match marks.

mm, rad. Vertices are in the picture's frame, on the parts where they are drawn.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import atan2, pi, radians

import numpy as np
from numpy.typing import NDArray

from calc.bevel import GEAR, PINION, Blank
from calc.contact import FlankContact
from calc.flank import gear_places
from calc.pattern import Pattern
from geometry.joints import MeshJoint
from geometry.reducer import Reducer
from geometry.teeth import Member
from geometry.tooth_patch import Patch, flank, match_mark
from scenes.frame import Paint, Shown, Vector
from scenes.procedure import Step
from scenes.tooth_contact import meeting
from scenes.wording import text

Array = NDArray[np.float64]
LOOKED_AT = frozenset({"backlash", "pattern"})
"""Readings for which the teeth themselves are shown, with what marking compound would show on them."""
BRUSHED = (radians(18.0), radians(92.0))
"""The gear teeth that carry compound: from beside the mesh on round the gear on the viewer's side."""
DEPTHS = np.linspace(-30.0, 100.0, 53)
"""Places over the working depth at which the film of a row is taken [%]."""


def looked_at(step: Step) -> bool:
    """Whether a step's picture is about the teeth."""
    return bool(LOOKED_AT & set(step.reads))


def close_box(reducer: Reducer) -> Array:
    """What a close look at the teeth takes in: the pinion, and the quarter of the gear beside it toward the viewer [mm]."""
    blank = reducer.blank
    rim, depth = blank.tip_diameters[GEAR] / 2.0, blank.tip_diameters[PINION] / 2.0
    low = -0.3 * blank.crown_to_crossing_point[GEAR]
    return np.array([[0.25 * rim, -0.75 * rim, low], [0.85 * rim, -0.1 * rim, 0.6 * depth]])


def of_step(reducer: Reducer, step: Step, shown: Sequence[Shown], toward: Vector) -> tuple[Paint, ...]:
    """The paint at a step that shows the mesh; `toward`: direction from the picture's middle to the eye."""
    drawn = {item.name: item for item in shown if not item.cut}
    found: list[Paint] = []
    for joint in reducer.of_kind(MeshJoint):
        pinion, gear = drawn.get(joint.pinion), drawn.get(joint.gear)
        if gear is not None and looked_at(step) and joint.pinion in drawn:
            found.append(_compound(reducer, joint.gear, gear.pose, drawn[joint.pinion].pose, np.array(toward)))
        if pinion is not None:
            found.append(_marks(reducer.blank, "pinion", joint.pinion, pinion.pose, (0,)))
        if gear is not None:
            found.append(_marks(reducer.blank, "gear", joint.gear, gear.pose, (0, -1)))
    return tuple(found)


def facing(reducer: Reducer, shown: Sequence[Shown], toward: Vector) -> str:
    """Which flanks of the painted teeth look at the eye, in words; "" where that can't be told."""
    contact, drawn = meeting(reducer), {item.name: item.pose for item in shown}
    joint = next(iter(reducer.of_kind(MeshJoint)), None)
    if joint is None or contact.drive is None or not {joint.pinion, joint.gear} <= set(drawn):
        return ""
    pose, teeth = drawn[joint.gear], _brushed(reducer.blank, drawn[joint.gear], drawn[joint.pinion], np.array(toward))
    driving = flank(reducer.blank, "gear", contact.drive.side).normals.mean(axis=0)
    coasting = flank(reducer.blank, "gear", -contact.drive.side).normals.mean(axis=0)

    def seen(tooth: int) -> str:
        turn = pose[:3, :3] @ _turn(2.0 * pi * tooth / reducer.blank.teeth[GEAR])
        return "drive" if (turn @ driving) @ toward > (turn @ coasting) @ toward else "coast"

    near, far = (text(f"mesh_view.{seen(tooth)}").lower() for tooth in (teeth[0], teeth[-1]))
    return text("mesh_view.facing_one", flank=near) if near == far else text("mesh_view.facing", near=near, far=far)


def film_on(blank: Blank, mark: Pattern, patch: Patch) -> Array:
    """Film left at the points of a patch on the gear's flank: 0 wiped off, 1 whole; whole where the teeth never touch."""
    radius = np.hypot(patch.along, patch.height)
    place = gear_places(blank, radius, blank.cones.angles[GEAR] + np.arctan2(patch.height, patch.along))
    along, depth = 50.0 * (1.0 + place.face), 50.0 * (1.0 + place.depth)
    rows = np.stack([
        np.interp(DEPTHS, over[::-1], film[::-1], left=1.0) for over, film in zip(mark.over_depth, mark.film, strict=True)
    ])  # fmt: skip
    middle = mark.along_face.mean(axis=1)
    i = np.interp(along, middle, np.arange(len(middle)))
    j = np.clip((depth - DEPTHS[0]) / (DEPTHS[1] - DEPTHS[0]), 0.0, len(DEPTHS) - 1.0)
    low_i, low_j = np.minimum(i.astype(int), len(middle) - 2), np.minimum(j.astype(int), len(DEPTHS) - 2)
    s, t = i - low_i, j - low_j
    corner = [rows[low_i + a, low_j + b] for a, b in ((0, 0), (0, 1), (1, 0), (1, 1))]
    return np.asarray((1 - s) * ((1 - t) * corner[0] + t * corner[1]) + s * ((1 - t) * corner[2] + t * corner[3]), dtype=np.float64)


def _compound(reducer: Reducer, part: str, pose: Array, pinion_pose: Array, toward: Array) -> Paint:
    blank = reducer.blank
    contact = meeting(reducer)
    sides: tuple[tuple[int, FlankContact | None], ...] = ((1, None), (-1, None))
    if contact.drive is not None and contact.coast is not None:
        sides = ((contact.drive.side, contact.drive), (contact.coast.side, contact.coast))
    patches = [(flank(blank, "gear", side), found) for side, found in sides]
    values = [film_on(blank, found.pattern, patch) if found else np.ones(len(patch.along)) for patch, found in patches]
    teeth = _brushed(blank, pose, pinion_pose, toward)
    return _gathered(
        part, "compound", pose, [(patch, value, tooth) for patch, value in zip([p for p, _ in patches], values, strict=True) for tooth in teeth],
        blank.teeth[GEAR],
    )  # fmt: skip


def _brushed(blank: Blank, pose: Array, pinion_pose: Array, toward: Array) -> list[int]:
    """Numbers of the gear teeth beside the mesh on the side of the eye, from the pinion on."""
    axis, mesh = pose[:3, 2], pinion_pose[:3, 2]
    aside = np.cross(axis, mesh)
    if aside @ toward < 0.0:
        aside = -aside
    found = []
    for tooth in range(blank.teeth[GEAR]):
        way = pose[:3, :3] @ _turn(2.0 * pi * tooth / blank.teeth[GEAR])[:, 0]
        place = atan2(float(way @ aside), float(way @ mesh))
        if BRUSHED[0] < place < BRUSHED[1]:
            found.append((place, tooth))
    return [tooth for _, tooth in sorted(found)]


def _turn(angle: float) -> Array:
    """A turn about the member's axis [3x3]."""
    cosine, sine = np.cos(angle), np.sin(angle)
    return np.array([[cosine, -sine, 0.0], [sine, cosine, 0.0], [0.0, 0.0, 1.0]])


def _marks(blank: Blank, member: Member, part: str, pose: Array, teeth: tuple[int, ...]) -> Paint:
    patch = match_mark(blank, member)
    count = blank.teeth[PINION if member == "pinion" else GEAR]
    return _gathered(part, "mark", pose, [(patch, np.ones(len(patch.along)), tooth) for tooth in teeth], count)


def _gathered(part: str, kind: str, pose: Array, pieces: list[tuple[Patch, Array, int]], count: int) -> Paint:
    """Patches of several teeth as one."""
    points, normals, faces, values, start = [], [], [], [], 0
    for patch, value, tooth in pieces:
        turn = pose[:3, :3] @ _turn(2.0 * pi * tooth / count)
        points.append(patch.points @ turn.T + pose[:3, 3])
        normals.append(patch.normals @ turn.T)
        faces.append(patch.faces + np.int32(start))
        values.append(value)
        start += len(value)
    return Paint(
        part,
        "compound" if kind == "compound" else "mark",
        np.concatenate(points),
        np.concatenate(normals),
        np.concatenate(faces).astype(np.int32),
        np.concatenate(values),
    )
