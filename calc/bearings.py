"""Rolling bearing facts: boundary dimensions of ISO 15, limits of ISO 492 Normal class, the fits that follow.

mm throughout (limits are printed in um).
"""

from __future__ import annotations

from dataclasses import dataclass

from calc.fits import MICRON, Fit, FitError, Limits, fit
from calc.standards import table_rows


@dataclass(frozen=True)
class Boundary:
    """Bore, outside diameter, width and smallest chamfer [mm]."""

    bore: float
    outside: float
    width: float
    chamfer: float


def boundary(bore: float, series: str) -> Boundary:
    """Boundary dimensions of a radial bearing by bore and dimension series.

    bore: bore diameter [mm]
    series: "02", "03", "22" or "23" [-]
    Result: boundary dimensions [mm]. Range: bores 20 to 130 mm. Source: ISO 15:2017.

    >>> boundary(60.0, "02").outside
    110.0
    """
    rows = [row for row in table_rows("iso15") if row["series"] == series]
    if not rows:
        raise FitError(f"series {series!r}: accepted: 02, 03, 22, 23")
    for row in rows:
        if abs(float(row["bore"]) - bore) < 1e-6:
            return Boundary(bore, float(row["outside"]), float(row["width"]), float(row["chamfer"]))
    raise FitError(f"bore {bore} mm: not in series {series}: accepted: {', '.join(row['bore'] for row in rows)} mm")


def non_thrust_chamfer(bore: float, series: str) -> float:
    """Smallest chamfer on the non-thrust side of an angular contact bearing's outer ring.

    bore: bore diameter [mm]
    series: dimension series [-]
    Result: chamfer [mm]. Source: ISO 12044:2014.

    >>> non_thrust_chamfer(60.0, "02")
    1.0
    """
    chamfer = boundary(bore, series).chamfer
    return next(
        float(row["non_thrust"]) for row in table_rows("iso12044") if row["chamfer"] != "mm" and float(row["chamfer"]) == chamfer
    )


def _row(table: str, size: float, what: str) -> dict[str, str]:
    for row in table_rows(table):
        if row["up_to"] != "mm" and 2.5 < size <= float(row["up_to"]) + 1e-9:
            return row
    raise FitError(f"{what} {size} mm: outside the table: accepted: up to {table_rows(table)[-1]['up_to']} mm")


def _below(row: dict[str, str], column: str) -> Limits:
    return Limits(-float(row[column]) * MICRON, 0.0)


def bore_limits(bore: float) -> Limits:
    """Deviation of a bearing's bore, Normal class: 0 / -t.

    bore: bore diameter [mm]
    Result: deviations [mm]. Range: 2.5 to 250 mm. Source: ISO 492:2014 Table 2.

    >>> bore_limits(60.0).lower
    -0.015
    """
    return _below(_row("iso492_inner", bore, "bore"), "bore")


def outside_limits(outside: float) -> Limits:
    """Deviation of a bearing's outside diameter, Normal class: 0 / -t.

    outside: outside diameter [mm]
    Result: deviations [mm]. Range: up to 400 mm. Source: ISO 492:2014 Table 3.

    >>> outside_limits(110.0).lower
    -0.015
    """
    return _below(_row("iso492_outer", outside, "outside diameter"), "outside")


def width_limits(bore: float) -> Limits:
    """Deviation of ring width, Normal class: 0 / -t.

    bore: bore diameter [mm]
    Result: deviations [mm]. Range: 2.5 to 250 mm. Source: ISO 492:2014 Table 2.

    >>> width_limits(60.0).lower
    -0.15
    """
    return _below(_row("iso492_inner", bore, "bore"), "width")


def outer_ring_runout(outside: float) -> float:
    """Radial runout of the outer ring Kea, Normal class.

    outside: outside diameter [mm]
    Result: runout [mm]. Range: up to 400 mm. Source: ISO 492:2014 Table 3.

    >>> outer_ring_runout(200.0)
    0.05
    """
    return float(_row("iso492_outer", outside, "outside diameter")["runout"]) * MICRON


def inner_ring_fit(bore: float, shaft: Limits) -> Fit:
    """Clearance of an inner ring on its seat; interference is negative.

    bore: bore diameter [mm]
    shaft: deviations of the seat [mm]
    Result: least and greatest clearance [mm]. Source: ISO 492 with ISO 286-1 clause 3.

    >>> from calc.fits import shaft_limits
    >>> inner_ring_fit(75.0, shaft_limits(75.0, "m6"))
    Fit(low=-0.045, high=-0.011)
    """
    return fit(bore_limits(bore), shaft)


def outer_ring_fit(outside: float, housing: Limits) -> Fit:
    """Clearance of an outer ring in its housing; interference is negative.

    outside: outside diameter [mm]
    housing: deviations of the bore [mm]
    Result: least and greatest clearance [mm]. Source: ISO 492 with ISO 286-1 clause 3.

    >>> from calc.fits import hole_limits
    >>> outer_ring_fit(130.0, hole_limits(130.0, "J7"))
    Fit(low=-0.014, high=0.044)
    """
    return fit(housing, outside_limits(outside))
