"""What a reading must lie in: what owner or maker wants at the end, what is etched on the set, the class of a fit, the band of a drawing.

mm, N·m. Contents: `limits_of`, `drawn`, `is_bore`.
"""

from __future__ import annotations

from collections.abc import Sequence

from geometry.buildable import HOLES
from geometry.fields import Fitted
from geometry.joints import ScrewJoint
from geometry.machine import Gasket, Size
from geometry.reducer import Reducer
from scenes.callouts.hot import FEELER as LEAF
from scenes.reads import DIALS, FEELER, Read, field_at
from scenes.step_limits import Limits, of_step
from scenes.wording import text

TORQUE_SHARE = 0.04
"""How far a set torque may be off [1]: own choice, as much as the wrench itself may be (ISO 6789-1, from memory)."""
DROP_SHARE = 0.5
"""How far the drop on the packers may be off what the machine file says [mm]: "2 to 3 mm" in the step's words."""


def limits_of(reducer: Reducer, read: Read, arrives: Sequence[str] = (), value: float = 0.0) -> Limits | None:
    """What a reading must lie in; None where nothing is stated. `arrives`: what its step brings; `value`: what was read [mm, N·m]."""
    machine = reducer.machine
    if read.dimension:
        return _drawn(read.name, field_at(machine, read.name))
    if read.name in DIALS:
        return Limits(*machine.gears.backlash, text("record.source_owner"))
    if read.name in FEELER:
        return Limits(0.0, LEAF, text("source.common_practice"))
    if read.name == "gear_drop":
        drop = machine.spacers.packer_drop
        return Limits(drop - DROP_SHARE, drop + DROP_SHARE, text("record.source_owner"))
    chain = next((one for one in reducer.chains if one.name == read.name), None)
    if chain is not None and chain.low_limit is not None and chain.high_limit is not None:
        return Limits(chain.low_limit, chain.high_limit, text(chain.limit_source))
    screw = next((one for one in reducer.of_kind(ScrewJoint) if one.name == read.name), None)
    if screw is not None and screw.torque:
        return Limits(screw.torque * (1.0 - TORQUE_SHARE), screw.torque * (1.0 + TORQUE_SHARE), text("record.source_torque"))
    return of_step(reducer, read.name, arrives, value)


def _drawn(name: str, field: Fitted | Gasket | Size) -> Limits | None:
    """The limits of a dimension as the drawing has them; none for a gasket, and for what is measured already."""
    if isinstance(field, Gasket) or (isinstance(field, Fitted) and field.readings is not None):
        return None
    if isinstance(field, Size):
        return None if field.measured or field.low == field.high else Limits(field.low, field.high, text("record.source_drawing"))
    if field.fit is None:
        assert field.limits is not None
        return Limits(*field.limits, text("record.source_drawing"))
    lower, upper = drawn(name, field)
    return Limits(field.diameter + lower, field.diameter + upper, f"ISO 286-2 {field.fit}")


def drawn(name: str, field: Fitted) -> tuple[float, float]:
    """What the drawing lets a diameter be, as deviations from its nominal [mm]. `name`: its place in the machine file."""
    band = field.as_hole() if is_bore(name) else field.as_shaft()
    return band.lower, band.upper


def is_bore(name: str) -> bool:
    """Whether a diameter of the machine file is that of a bore."""
    return name.rsplit(".", 1)[-1] in HOLES
