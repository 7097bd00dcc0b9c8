"""Parallel keys: `key_section` by shaft diameter, `inch_key_section` for inch shafts, `keyway_limits` of the width; `key_force`,
`key_load`, `length_needed` for a torque; `side_clearances`, `lost_motion`, `top_clearance` from readings.

Lengths mm, torque N·m, force N, stress MPa; clearance positive, interference negative. Sources and how confirmed: the headings of
tables/din6885.csv and tables/asme_b17_1.csv.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite, sqrt
from typing import TYPE_CHECKING, NamedTuple

from calc import tables

if TYPE_CHECKING:
    from calc.fits import Limits

INCH = 25.4
"""One inch [mm], exact."""
INCH_KEY_CLEARANCE = 0.005 * INCH
"""Clearance over a parallel key in inch practice [mm]: ASME B17.1 keyseat depth formula, from memory."""
SHEAR_SHARE = 0.5
"""Yield strength in shear over yield strength [1]: maximum shear stress theory."""
MILLIMETRES_PER_METRE = 1000.0
EDGE = 1e-6
"""Slack at a limit of a diameter range [mm]: 1 nm, so that an inch size converted to mm stays in its range."""


class KeySection(NamedTuple):
    """Key width b, height h, keyway depth in the shaft t1 and in the hub t2, and what both depths may be over [mm]."""

    width: float
    height: float
    shaft_depth: float
    hub_depth: float
    depth_tolerance: float = 0.0


@dataclass(frozen=True)
class KeyLoad:
    """What a torque does to one key: force [N], shear stress, pressure on the hub's and on the shaft's keyway [MPa], length used [mm]."""

    force: float
    shear: float
    hub_pressure: float
    shaft_pressure: float
    bearing_length: float


@dataclass(frozen=True)
class LengthNeeded:
    """Straight length of key that a torque needs [mm]: for shear, for pressure on half its height, and the longer of both."""

    shear: float
    pressure: float

    @property
    def length(self) -> float:
        """The longer of both [mm]."""
        return max(self.shear, self.pressure)


@dataclass(frozen=True)
class SideClearances:
    """Clearance of a key across its width in the shaft's and in the hub's keyway, interference negative [mm]."""

    shaft: float
    hub: float

    @property
    def play(self) -> float:
        """Movement that both leave together at the key [mm]."""
        return max(self.shaft, 0.0) + max(self.hub, 0.0)


def _row(table: str, diameter: float, scale: float) -> dict[str, str]:
    rows = tables.load(table).records()
    for row in rows:
        if float(row["over"]) * scale + EDGE < diameter <= float(row["up_to"]) * scale + EDGE:
            return row
    low, high = float(rows[0]["over"]) * scale, float(rows[-1]["up_to"]) * scale
    raise ValueError(f"shaft diameter: {diameter} mm: accepted: over {low:g} mm, up to {high:g} mm")


def key_section(shaft_diameter: float) -> KeySection:
    """Section of a parallel key and depth of its keyways, by shaft diameter.

    shaft_diameter: diameter at the keyway [mm]
    Result: KeySection [mm]. Range: over 6, up to 230 mm. Source: DIN 6885-1 = ISO/R 773; tables/din6885.csv.

    >>> key_section(60.0).width
    18.0
    """
    row = _row("din6885", shaft_diameter, 1.0)
    return KeySection(*(float(row[name]) for name in KeySection._fields))


def inch_key_section(shaft_diameter: float) -> KeySection:
    """Square inch key by shaft diameter, keyway depths from the crown of the shaft: t1 = W/2 + y, t2 = W/2 - y + 0.005 in.

    y = (D - sqrt(D^2 - W^2)) / 2 is how far the crown stands above the keyway's edges.

    shaft_diameter: diameter at the keyway [mm]
    Result: KeySection [mm]. Range: over 5/16 in, up to 6 1/2 in. Source: ASME B17.1, from memory; tables/asme_b17_1.csv.

    >>> inch_key_section(50.8).width
    12.7
    """
    width = float(_row("asme_b17_1", shaft_diameter, INCH)["width"]) * INCH
    rise = (shaft_diameter - sqrt(shaft_diameter**2 - width**2)) / 2.0
    return KeySection(width, width, rise + width / 2.0, width / 2.0 - rise + INCH_KEY_CLEARANCE)


def keyway_limits(width: float, tolerance_class: str) -> Limits:
    """Limits of a keyway's width: tight P9 in both; normal N9 in the shaft, JS9 in the hub; free H9 in the shaft, D10 in the hub.

    width: nominal key width [mm]
    tolerance_class: "P9", "N9", "JS9", "H9" or "D10" [-]
    Result: deviations from the nominal width [mm]. Range: that of the hole tables.
    Source: DIN 6885-1 = ISO/R 773 (classes), ISO 286-2 (limits).

    >>> keyway_limits(18.0, "P9")
    Limits(lower=-0.061, upper=-0.018)
    """
    from calc import fits

    return fits.hole_limits(width, tolerance_class)


def _positive(**values: float) -> None:
    for name, value in values.items():
        if not (isfinite(value) and value > 0.0):
            raise ValueError(f"{name.replace('_', ' ')}: {value}: accepted: more than 0")


def key_force(torque: float, shaft_diameter: float) -> float:
    """Force on a key: F = 2 T / d.

    torque: torque through the key T [N·m]
    shaft_diameter: diameter at the keyway d [mm]
    Result: force [N]. Range: both more than 0; one key, no help from the fit. Source: statics; DIN 6892 method C.

    >>> key_force(1500.0, 60.0)
    50000.0
    """
    _positive(torque=torque, shaft_diameter=shaft_diameter)
    return 2.0 * torque * MILLIMETRES_PER_METRE / shaft_diameter


def key_load(torque: float, shaft_diameter: float, section: KeySection, length: float, *, rounded: bool = True) -> KeyLoad:
    """Shear stress and bearing pressure: tau = F/(b l), p hub = F/((h - t1) l), p shaft = F/(t1 l), l = L - b with round ends, else L.

    torque: torque through the key [N·m]
    shaft_diameter: diameter at the keyway [mm]
    section: key and keyway depths, from `key_section` [mm]
    length: whole length of the key L [mm]
    rounded: True for round ends, False for square ends [-]
    Result: KeyLoad [N, MPa, mm]. Range: one key, evenly loaded, up to 1.3 d long; L more than b with round ends.
    Source: DIN 6892 method C.

    >>> round(key_load(1500.0, 60.0, key_section(60.0), 90.0).hub_pressure, 1)
    173.6
    """
    _positive(length=length)
    bearing = length - section.width if rounded else length
    if not bearing > 0.0:
        raise ValueError(f"length: {length}: accepted: more than the key's width {section.width:g} mm with round ends")
    force = key_force(torque, shaft_diameter)
    return KeyLoad(
        force,
        force / (section.width * bearing),
        force / ((section.height - section.shaft_depth) * bearing),
        force / (section.shaft_depth * bearing),
        bearing,
    )


def length_needed(
    torque: float,
    shaft_diameter: float,
    section: KeySection,
    *,
    yield_strength: float,
    safety: float = 3.0,
    shear_share: float = SHEAR_SHARE,
) -> LengthNeeded:
    """Straight length of key for a torque: shear l = F N/(b k Sy), pressure on half the height l = 2 F N/(h Sy).

    torque: torque through the key [N·m]
    shaft_diameter: diameter at the keyway [mm]
    section: key section [mm]
    yield_strength: yield strength of the weakest of key, shaft and hub Sy [MPa]
    safety: safety factor N [1]
    shear_share: yield strength in shear over yield strength k [1]
    Result: LengthNeeded [mm]; a key with round ends is longer by b. Range: all more than 0.
    Source: Mott, Machine Elements in Mechanical Design, chapter 11 (k = 0.5); Faires, Design of Machine Elements, section 8 (k = 0.6).

    >>> round(length_needed(1500.0, 60.0, key_section(60.0), yield_strength=350.0).length, 1)
    77.9
    """
    _positive(yield_strength=yield_strength, safety=safety, shear_share=shear_share)
    force = key_force(torque, shaft_diameter) * safety
    shear = force / (section.width * shear_share * yield_strength)
    return LengthNeeded(shear, 2.0 * force / (section.height * yield_strength))


def side_clearances(key_width: float, shaft_keyway: float, hub_keyway: float) -> SideClearances:
    """How a measured key fits across its width: keyway less key, in shaft and hub.

    key_width: measured width of the key [mm]
    shaft_keyway: measured width of the shaft's keyway [mm]
    hub_keyway: measured width of the hub's keyway [mm]
    Result: SideClearances [mm]. Range: all more than 0. Source: definition of clearance.

    >>> round(side_clearances(17.98, 17.96, 18.01).hub, 3)
    0.03
    """
    _positive(key_width=key_width, shaft_keyway=shaft_keyway, hub_keyway=hub_keyway)
    return SideClearances(shaft_keyway - key_width, hub_keyway - key_width)


def lost_motion(clearances: SideClearances, shaft_diameter: float) -> float:
    """How far a loose hub can turn on its shaft before the key bears: phi = 2 (cs + ch) / d.

    clearances: from `side_clearances` [mm]
    shaft_diameter: diameter at the keyway [mm]
    Result: angle [rad], 0 where both sides are tight. Range: a hub that slides on its shaft; small angles. Source: geometry.

    >>> round(lost_motion(SideClearances(-0.02, 0.03), 60.0), 4)
    0.001
    """
    _positive(shaft_diameter=shaft_diameter)
    return 2.0 * clearances.play / shaft_diameter


def top_clearance(key_height: float, shaft_depth: float, hub_depth: float) -> float:
    """Clearance over a key: t1 + t2 - h; negative: the key lifts the hub off centre.

    key_height: measured height h [mm]
    shaft_depth: measured depth of the shaft's keyway t1 [mm]
    hub_depth: measured depth of the hub's keyway t2 [mm]
    Result: clearance [mm]. Range: all more than 0. Source: definition; DIN 6885-1 leaves 0.2 to 0.4 mm.

    >>> round(top_clearance(11.0, 7.0, 4.4), 3)
    0.4
    """
    _positive(key_height=key_height, shaft_depth=shaft_depth, hub_depth=hub_depth)
    return shaft_depth + hub_depth - key_height
