"""Which parts a joint ties to each other: what comes off with a part, and what keeps it.

Contents: `tied`.
"""

from __future__ import annotations

from geometry.joints import DowelJoint, Fit, GasketJoint, Joint, KeyJoint, NutJoint, Rest, ScrewJoint, Seat, WireJoint


def tied(joint: Joint) -> tuple[str, ...]:
    """Parts and groups that a joint ties to each other; none for one that only lines up, rolls or meshes."""
    match joint:
        case Fit():
            return joint.bore_part, joint.shaft_part
        case Seat():
            return joint.part, joint.against
        case GasketJoint():
            return joint.gasket, joint.flange, joint.base
        case ScrewJoint():
            return joint.screws, joint.clamps, joint.into
        case NutJoint():
            return joint.nut, joint.washer, joint.shaft
        case WireJoint():
            return joint.wire, joint.screws
        case DowelJoint():
            return joint.dowels, *joint.parts
        case KeyJoint():
            return joint.key, joint.shaft, joint.hub
        case Rest():
            return joint.part, *joint.on
        case _:
            return ()
