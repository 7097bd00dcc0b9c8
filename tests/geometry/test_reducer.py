"""The built solids against the joints' and chains' own numbers: solids are the truth, not decoration."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from geometry import solid
from geometry.joints import Fit, GasketJoint, RollerJoint, Seat
from geometry.machine import Machine
from geometry.reducer import Reducer, assemble, build
from scenes.examples import open_machine

MICRON = 0.001
MACHINES = ("millrace", "slipway")


@cache
def machine(name: str) -> Machine:
    return open_machine(name)[0]


@cache
def reducer(name: str) -> Reducer:
    return assemble(machine(name))


def placed(red: Reducer, name: str) -> np.ndarray:
    """Vertices of a part in its place [mm]."""
    part = red.by_name[name]
    return build(part).vertices @ part.pose[:3, :3].T + part.pose[:3, 3]


def radii_at(red: Reducer, name: str, axis: tuple[float, float, float], along: float) -> np.ndarray:
    """Distances from the axis at which the part's edges cross the plane at `along`: edges of a turned seat run along it [mm]."""
    direction, points = np.array(axis), placed(red, name)
    faces = build(red.by_name[name]).faces
    ends = points[np.vstack([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])]
    height = ends @ direction - along
    crossing = height[:, 0] * height[:, 1] < 0
    ends, height = ends[crossing], height[crossing]
    share = height[:, 0] / (height[:, 0] - height[:, 1])
    cut = ends[:, 0] + share[:, None] * (ends[:, 1] - ends[:, 0])
    return np.linalg.norm(cut - np.outer(cut @ direction, direction), axis=1)


@pytest.mark.parametrize("name", MACHINES)
def test_every_part_is_a_closed_solid(name: str) -> None:
    open_parts = [part.name for part in reducer(name).parts if not solid.closed(build(part))]
    assert open_parts == []


@pytest.mark.parametrize("name", MACHINES)
def test_the_reducer_stays_within_its_triangle_budget(name: str) -> None:
    assert sum(len(build(part).faces) for part in reducer(name).parts) <= 300_000


@pytest.mark.parametrize("name", MACHINES)
def test_every_seat_has_the_radius_its_joint_says(name: str) -> None:
    red = reducer(name)
    wrong = []
    for joint in red.of_kind(Fit):
        for part, diameter in ((joint.bore_part, joint.bore_mean), (joint.shaft_part, joint.shaft_mean)):
            along = float(np.array(joint.at) @ np.array(joint.axis)) + 0.13 * joint.grip
            radii = radii_at(red, part, joint.axis, along)
            if not len(radii) or np.abs(radii - diameter / 2).min() > MICRON:
                wrong.append((joint.name, part, diameter / 2))
    assert wrong == []


@pytest.mark.parametrize("name", MACHINES)
def test_every_seat_face_lies_where_its_joint_says_on_both_parts(name: str) -> None:
    red = reducer(name)
    wrong = []
    for joint in red.of_kind(Seat):
        for part, position in ((joint.part, joint.position + joint.gap), (joint.against, joint.position)):
            along = placed(red, part) @ np.array(joint.axis)
            if np.abs(along - position).min() > MICRON:
                wrong.append((joint.name, part, position, float(along[np.abs(along - position).argmin()])))
    assert wrong == []


@pytest.mark.parametrize("name", MACHINES)
def test_every_gasket_fills_the_gap_between_its_faces(name: str) -> None:
    red = reducer(name)
    for joint in red.of_kind(GasketJoint):
        axis = np.array(joint.axis)
        gasket = placed(red, joint.gasket) @ axis
        assert gasket.min() == pytest.approx(joint.position, abs=MICRON)
        assert gasket.max() - gasket.min() == pytest.approx(joint.clamped, abs=MICRON)
        for part, face in ((joint.base, joint.position), (joint.flange, joint.position + joint.clamped)):
            assert np.abs(placed(red, part) @ axis - face).min() <= MICRON, (joint.name, part)


@pytest.mark.parametrize("name", MACHINES)
def test_roller_overlap_is_what_the_rings_share(name: str) -> None:
    red = reducer(name)
    for joint in red.of_kind(RollerJoint):
        axis = np.array([1.0, 0, 0]) if joint.name.startswith("inner") else np.array([0, 0, 1.0])
        inner = placed(red, joint.rollers.replace("_rollers", "_inner_ring")) @ axis
        outer = placed(red, joint.ring) @ axis
        shared = min(inner.max(), outer.max()) - max(inner.min(), outer.min())
        assert shared == pytest.approx(joint.overlap, abs=MICRON)


@pytest.mark.parametrize("name", MACHINES)
def test_chains_end_at_the_measured_faces(name: str) -> None:
    from calc.chain import solve

    red = reducer(name)
    x, z = np.array([1.0, 0, 0]), np.array([0, 0, 1.0])
    found = {
        "pinion_set": (placed(red, "pinion") @ x).max(),
        "gear_distance": -(placed(red, "gear") @ z).min(),
        "high_speed_end_play": spigot(red, "high_speed_cover", x) - stack_end(red, "high_speed_bearing_2_outer_ring", x),
        "low_speed_end_play": spigot(red, "low_speed_cover", z) - stack_end(red, "low_speed_bearing_2_outer_ring", z),
    }
    for chain in red.chains:
        if chain.name in found:
            internal = sum(link.nominal for link in chain.links if link.name == "link.internal_play")
            assert found[chain.name] == pytest.approx(solve(chain.links).nominal - internal, abs=MICRON), chain.name


def spigot(red: Reducer, cover: str, axis: np.ndarray) -> float:
    """Where the cover's spigot ends [mm]."""
    return float((placed(red, cover) @ axis).min())


def stack_end(red: Reducer, ring: str, axis: np.ndarray) -> float:
    """Outer end of the ring stack: the last outer ring stands on the outer spacer, so both spacers must be equal here [mm]."""
    return float((placed(red, ring) @ axis).max())


@pytest.mark.parametrize("name", MACHINES)
def test_pinion_gasket_moves_the_pinion_out_and_the_gear_gasket_lifts_the_gear(name: str) -> None:
    from scenes.settings import Settings, changed, effective

    base, step = machine(name), 0.1
    for gasket, axis, sign in (("pinion_gasket", 0, 1.0), ("gear_gasket", 2, 1.0)):
        now = getattr(base.gaskets, gasket).thickness
        thicker = effective(base, changed(Settings(), gaskets={gasket: now + step}))
        part = "pinion" if axis == 0 else "gear"
        moved = assemble(thicker).by_name[part].pose[axis, 3] - reducer(name).by_name[part].pose[axis, 3]
        assert moved == pytest.approx(sign * step * 0.9, abs=1e-6)


@pytest.mark.parametrize("name", MACHINES)
def test_a_changed_gasket_rebuilds_only_what_depends_on_it(name: str) -> None:
    from scenes.settings import Settings, changed, effective

    base = machine(name)
    thicker = effective(
        base, changed(Settings(), gaskets={"high_speed_float_gasket": base.gaskets.high_speed_float_gasket.thickness * 1.4})
    )
    before = {part.spec.key for part in reducer(name).parts}
    new = {part.name for part in assemble(thicker).parts if part.spec.key not in before}
    assert "high_speed_float_gasket" in new
    assert new <= {"high_speed_float_gasket", "high_speed_shaft"}
