"""Parallel keys: `key_section` by shaft diameter, `inch_key_section` for inch shafts, `keyway_limits` of the width.

Lengths mm. Sources and how confirmed: the headings of tables/din6885.csv and tables/asme_b17_1.csv.
"""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING, NamedTuple

from calc import tables

if TYPE_CHECKING:
    from calc.fits import Limits

INCH = 25.4
"""One inch [mm], exact."""
INCH_KEY_CLEARANCE = 0.005 * INCH
"""Clearance over a parallel key in inch practice [mm]: ASME B17.1 keyseat depth formula, from memory."""
EDGE = 1e-6
"""Slack at a limit of a diameter range [mm]: 1 nm, so that an inch size converted to mm stays in its range."""


class KeySection(NamedTuple):
    """Key width b, height h, keyway depth in the shaft t1 and in the hub t2, and what both depths may be over [mm]."""

    width: float
    height: float
    shaft_depth: float
    hub_depth: float
    depth_tolerance: float = 0.0


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
    """
    from calc import fits

    return fits.hole_limits(width, tolerance_class)
