"""Live notes of a step, derived from the joints it makes, the parts it moves and the chains it closes.

Nobody writes a note per step: the joints say what there is to say. One module a topic; `bench` is what they are computed from.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from geometry.joints import (
    DowelJoint,
    Fit,
    GasketJoint,
    KeyJoint,
    MeshJoint,
    NutJoint,
    PortJoint,
    RollerJoint,
    ScrewJoint,
    WireJoint,
)
from scenes.callouts import bearings, fasteners, fits, gaskets, heating, hot, lifts, mesh
from scenes.callouts.bench import Bench
from scenes.frame import Callout

RULES: dict[type, Callable[[Bench, Any], list[Callout]]] = {
    Fit: fits.notes,
    GasketJoint: gaskets.of_gasket,
    ScrewJoint: fasteners.of_screws,
    NutJoint: fasteners.of_nut,
    KeyJoint: fasteners.of_key,
    DowelJoint: fasteners.of_dowel,
    WireJoint: fasteners.of_wire,
    RollerJoint: bearings.of_rollers,
    PortJoint: mesh.of_port,
    MeshJoint: mesh.of_mesh,
}
"""Which function speaks for which kind of joint."""


def of_step(bench: Bench) -> tuple[Callout, ...]:
    """All notes of one step: what goes on hot, the joints in the order of the reducer, the pair, the chains, heights, lifts."""
    found: list[Callout] = []
    heated = heating.joint_of(bench)
    if heated is not None:
        found += hot.notes(bench, heated)
    for joint in bench.reducer.joints:
        rule = RULES.get(type(joint))
        if rule is not None and joint is not heated:
            found += rule(bench, joint)
    found += bearings.of_pair(bench)
    found += gaskets.of_chains(bench)
    found += gaskets.heights(bench)
    found += lifts.notes(bench)
    return tuple(found)
