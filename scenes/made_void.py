"""What counts for nothing because a part was missing: what was tightened without it, and the readings taken meanwhile.

A flange whose screws or gasket were missing did not stand where it will: the ends of the chains that its gasket is in, backlash and
pattern are read again. Halves that no dowel located shift when it is driven in: what was tightened across the split is loosened for it,
with the flanges that lie on both halves. A first run that retorques what was missing is made again. Common practice, no source.
Contents: `loosened`, `void_readings`.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np

from geometry.joints import DowelJoint, GasketJoint, ScrewJoint, Seat
from geometry.reducer import Reducer
from scenes.procedure import Procedure

PAIR = frozenset({"backlash", "pattern"})
"""Readings of the pair: both members must stand where they will."""
ACROSS = 0.5
"""Cosine between a screw's axis and the normal of the split below which its flange lies on both halves."""


def loosened(reducer: Reducer, procedure: Procedure, item: str, names: Sequence[str]) -> tuple[str, ...]:
    """Screws that these steps tightened and that must be loosened before the forgotten dowels can be driven in, the last first."""
    tightened = [screws for name in names for screws in (*procedure.steps[name].arrives, *procedure.steps[name].tightens)]
    flanges = {joint.flange for joint in reducer.of_kind(GasketJoint)}
    found = []
    for dowels in reducer.of_kind(DowelJoint):
        halves = set(dowels.parts)
        normals = [seat.axis for seat in reducer.of_kind(Seat) if {seat.part, seat.against} == halves]
        for joint in reducer.of_kind(ScrewJoint):
            on_both = joint.clamps in flanges and all(abs(float(np.dot(joint.axis, normal))) < ACROSS for normal in normals)
            if item == dowels.dowels and joint.into in halves and (joint.clamps in halves or on_both):
                found += [joint.screws] if joint.screws in tightened else []
    return tuple(sorted(found, key=tightened.index, reverse=True))


def void_readings(reducer: Reducer, procedure: Procedure, touched: Collection[str], names: Sequence[str]) -> tuple[str, ...]:
    """Those of these steps whose readings count for nothing, as these parts were missing or came off again."""
    keys, items = _keys(reducer, set(touched)), set(touched)
    steps = (procedure.steps[name] for name in names)
    return tuple(
        step.id
        for step in steps
        if not step.optional and (keys & set(step.reads) or (step.method == "oil" and items & set(step.reads)))
    )


def _keys(reducer: Reducer, touched: set[str]) -> set[str]:
    """Readings that depend on where these parts stand."""
    found: set[str] = set()
    screws = reducer.of_kind(ScrewJoint)
    for joint in reducer.of_kind(GasketJoint):
        if touched & {joint.gasket, joint.flange, *(each.screws for each in screws if each.clamps == joint.flange)}:
            link = f"part.{joint.gasket}"
            found |= {chain.name for chain in reducer.chains if any(each.name == link for each in chain.links)}
    for dowels in reducer.of_kind(DowelJoint):
        halves = set(dowels.parts)
        if touched & {dowels.dowels, *halves, *(each.screws for each in screws if {each.clamps, each.into} <= halves)}:
            found |= {chain.name for chain in reducer.chains}
    return found | PAIR if found else found
