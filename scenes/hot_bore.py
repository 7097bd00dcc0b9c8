"""Whether a hot bore and its temperature can belong together, by the sizes of bore and seat. mm, degC.

A thermometer that lifts off, a gauge set to another size, or a part that was never heated through shows so. Contents: `looked_at`.
"""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

from calc import heat, materials, units
from calc.readings import BACKLASH_SIGMA
from geometry.joints import Fit
from geometry.reducer import Reducer
from scenes.remarks import Remark
from scenes.wording import text

if TYPE_CHECKING:
    from scenes.record import Taken

THERMOMETER = 5.0
"""How far a contact thermometer on a hot bore may be off [K]: own choice."""
GAUGE = BACKLASH_SIGMA
"""How far a bore that is measured hot may be off [mm]: a fitter's deviation."""


def looked_at(reducer: Reducer, arrives: Collection[str], taken: Taken, system: units.System) -> Remark:
    """What speaks against a hot bore at its temperature; nothing for any other reading, nor where no temperature is noted."""
    if taken.read != "bore_clearance" or not taken.temperatures:
        return Remark()
    joint = next((one for one in reducer.of_kind(Fit) if one.hub == "gear" and one.bore_part in set(arrives)), None)
    if joint is None:
        return Remark()
    low, high, thermometer = _expected(reducer, joint, taken)
    least, most = min(taken.values), max(taken.values)
    clears = least < joint.diameter / 2.0
    off = most > high + thermometer + GAUGE or least < low - thermometer - GAUGE
    tight = clears and least > 0.0 and high + thermometer < 0.0
    if not (off or tight):
        return Remark()
    told = {
        "value": units.show(most if most > high else least, "length", system),
        "at": units.show(max(taken.temperatures), "temperature", system),
    }
    if clears and high < 0.0:
        told |= {"low": units.show(-high, "length", system), "high": units.show(-low, "length", system)}
        says = text("record.says_bore_tight", **told)
    else:
        told |= {"low": units.show(low, "length", system), "high": units.show(high, "length", system)}
        told |= {"thermometer": units.show(THERMOMETER, "temperature rise", system), "gauge": units.show(GAUGE, "length", system)}
        says = text("record.says_bore_apart", **told)
    hotter = (text("record.now_bore_hotter"),) if most > high else ()
    return Remark((says,), (*hotter, text("record.now_bore_apart")), counts=False)


def _expected(reducer: Reducer, joint: Fit, taken: Taken) -> tuple[float, float, float]:
    """Least and most that the sizes make of the reading, and what the thermometer adds either way [mm]; the warmest part is the bore, the
    coolest of several the seat, which else is as warm as the workshop."""
    steel = materials.material("steel").expansion
    hub = max(taken.temperatures)
    seat = min(taken.temperatures) if len(taken.temperatures) > 1 else reducer.machine.shop.ambient
    bore = heat.growth(joint.diameter, steel, hub - heat.REFERENCE)
    thermometer = heat.growth(joint.diameter, steel, THERMOMETER)
    if min(taken.values) >= joint.diameter / 2.0:  # its diameter
        return joint.diameter + joint.bore.lower + bore, joint.diameter + joint.bore.upper + bore, thermometer
    change = bore - heat.growth(joint.diameter, steel, seat - heat.REFERENCE)
    return joint.clearance[0] + change, joint.clearance[2] + change, thermometer
