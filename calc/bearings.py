"""Sizes and tolerances of rolling bearings, and the fits of their rings. Lengths in mm, deviations from the nominal size.

Contents: `Boundary`, `boundary` (ISO 15), `outer_ring_chamfer` (ISO 12044), `bore_limits`, `outside_limits`, `width_limits`,
`inner_ring_runout`, `outer_ring_runout` (ISO 492 Normal class), `inner_ring_fit`, `outer_ring_fit`. The contact angle of an angular contact bearing
(ISO 5593) is a maker's figure: no table here gives it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from calc import tables
from calc.fits import Fit, Limits, fit

ANGULAR_SERIES = ("10", "02", "03")


class BearingError(ValueError):
    """No entry for this bearing; `given` and `accepted` say why."""

    def __init__(self, message: str, given: str = "", accepted: str = "") -> None:
        self.given = given
        self.accepted = accepted
        super().__init__(message)


@dataclass(frozen=True)
class Boundary:
    """Boundary dimensions of a radial bearing: bore, outside diameter, width, smallest chamfer [mm]."""

    bore: float
    outside: float
    width: float
    chamfer: float


@cache
def _boundaries() -> dict[tuple[str, float], Boundary]:
    table = tables.load("iso15")
    found = {}
    for row, series in enumerate(table.column("series")):
        sizes = [table.mm(row, name) for name in ("bore", "outside", "width", "chamfer")]
        bore, outside, width, chamfer = (size for size in sizes if size is not None)
        found[series, bore] = Boundary(bore, outside, width, chamfer)
    return found


def boundary(bore: float, series: str) -> Boundary:
    """Boundary dimensions of a bearing by bore and dimension series.

    Formula: table look-up. Angular contact bearings of series 2 and 3 have the boundaries of 02 and 03.

    Parameters:
        bore: bore diameter; a bore within 0.0013 mm of a listed one counts as that one [mm]
        series: dimension series, for example "02" [-]
    Returns: bore, outside diameter, width, smallest chamfer r_s min [mm]
    Range: series 10, 02, 03, 22, 23, bores 20 to 130 mm as listed; outside raises BearingError.
    Source: ISO 15:2017, diameter series 0, 2, 3.

    >>> boundary(60.0, "02")
    Boundary(bore=60.0, outside=110.0, width=22.0, chamfer=1.5)
    """
    held = _boundaries()
    known = list(dict.fromkeys(name for name, _ in held))
    if series not in known:
        accepted = ", ".join(known)
        raise BearingError(f'series "{series}": accepted: {accepted}', series, accepted)
    sizes = [size for name, size in held if name == series]
    for size in sizes:
        if abs(size - bore) <= tables.RANGE_SLACK:
            return held[series, size]
    accepted = ", ".join(f"{size:g}" for size in sizes)
    raise BearingError(f"bore {bore:.10g} mm in series {series}: accepted: {accepted} mm", f"{bore:.10g} mm", accepted)


def outer_ring_chamfer(bore: float, series: str) -> float:
    """Smallest chamfer on the non-thrust side of the outer ring of a single-row angular contact bearing.

    Formula: table look-up by the bearing's r_s min.

    Parameters:
        bore: bore diameter [mm]
        series: dimension series 10, 02 or 03 [-]
    Returns: r_1s min [mm]
    Range: bores of `boundary` in these series; outside raises BearingError.
    Source: ISO 12044:2014.

    >>> outer_ring_chamfer(60.0, "02")
    1.0
    """
    if series not in ANGULAR_SERIES:
        accepted = ", ".join(ANGULAR_SERIES)
        raise BearingError(f'series "{series}" of an angular contact bearing: accepted: {accepted}', series, accepted)
    size = boundary(bore, series).chamfer
    table = tables.load("iso12044")
    for row in range(len(table.rows)):
        value = table.mm(row, "r1s_min")
        if table.mm(row, "chamfer") == size and value is not None:
            return value
    raise BearingError(f"chamfer {size:g} mm: no entry in ISO 12044", f"{size:g} mm", ", ".join(table.column("chamfer")))


def _normal_class(table_name: str, size: float, column: str, what: str) -> float:
    table = tables.load(table_name)
    row = table.row_for(size)
    value = table.mm(row, column) if row is not None else None
    if value is None:
        accepted = f"over {table.column('over')[0]} up to and including {table.column('up_to')[-1]} mm"
        raise BearingError(f"{what} {size:.10g} mm: accepted: {accepted} (ISO 492 Normal class)", f"{size:.10g} mm", accepted)
    return value


def bore_limits(bore: float) -> Limits:
    """Limits of the mean bore, Normal class: 0 and minus.

    Formula: table look-up.

    Parameters:
        bore: nominal bore [mm]
    Returns: deviations of the mean bore [mm]
    Range: over 2.5 up to and including 500 mm; outside raises BearingError.
    Source: ISO 492:2014 Table 2.

    >>> bore_limits(60.0)
    Limits(lower=-0.015, upper=0.0)
    """
    return Limits(_normal_class("iso492_inner", bore, "bore_lower", "bore"), 0.0)


def width_limits(bore: float) -> Limits:
    """Limits of the width of one ring, Normal class: 0 and minus; the outer ring follows the inner ring of the same bearing.

    Formula: table look-up.

    Parameters:
        bore: nominal bore [mm]
    Returns: deviations of a single ring width [mm]
    Range: over 2.5 up to and including 500 mm; outside raises BearingError. Rings made for pairing have wider limits (maker's figure).
    Source: ISO 492:2014 Table 2.

    >>> width_limits(60.0)
    Limits(lower=-0.15, upper=0.0)
    """
    return Limits(_normal_class("iso492_inner", bore, "width_lower", "bore"), 0.0)


def outside_limits(outside: float) -> Limits:
    """Limits of the mean outside diameter, Normal class: 0 and minus.

    Formula: table look-up.

    Parameters:
        outside: nominal outside diameter [mm]
    Returns: deviations of the mean outside diameter [mm]
    Range: over 2.5 up to and including 500 mm; outside raises BearingError.
    Source: ISO 492:2014 Table 3.

    >>> outside_limits(110.0)
    Limits(lower=-0.015, upper=0.0)
    """
    return Limits(_normal_class("iso492_outer", outside, "outside_lower", "outside diameter"), 0.0)


def inner_ring_runout(bore: float) -> float:
    """Greatest radial runout of the inner ring of an assembled bearing, Normal class.

    Formula: table look-up.

    Parameters:
        bore: nominal bore [mm]
    Returns: Kia [mm]
    Range: over 2.5 up to and including 500 mm; outside raises BearingError.
    Source: ISO 492:2014 Table 2.

    >>> inner_ring_runout(60.0)
    0.02
    """
    return _normal_class("iso492_inner", bore, "Kia", "bore")


def outer_ring_runout(outside: float) -> float:
    """Greatest radial runout of the outer ring of an assembled bearing, Normal class.

    Formula: table look-up.

    Parameters:
        outside: nominal outside diameter [mm]
    Returns: Kea [mm]
    Range: over 2.5 up to and including 500 mm; outside raises BearingError.
    Source: ISO 492:2014 Table 3.

    >>> outer_ring_runout(200.0)
    0.05
    """
    return _normal_class("iso492_outer", outside, "Kea", "outside diameter")


def inner_ring_fit(bore: float, shaft: Limits) -> Fit:
    """Clearance band of an inner ring (Normal class) on its shaft seat.

    Formula: least = ring's lower - es, greatest = 0 - ei; interference is the negative of it.

    Parameters:
        bore: nominal bore [mm]
        shaft: deviations of the seat, by class or measured [mm]
    Returns: least and greatest clearance, negative for interference [mm]
    Range: bores of `bore_limits`; before smoothing of the surfaces.
    Source: ISO 492:2014 Table 2 with ISO 286-1:2010 clause 3.

    >>> inner_ring_fit(75.0, Limits(0.011, 0.030)).high
    -0.011
    """
    return fit(bore_limits(bore), shaft)


def outer_ring_fit(outside: float, hole: Limits) -> Fit:
    """Clearance band of an outer ring (Normal class) in its housing seat.

    Formula: least = EI - 0, greatest = ES - ring's lower.

    Parameters:
        outside: nominal outside diameter [mm]
        hole: deviations of the seat, by class or measured [mm]
    Returns: least and greatest clearance, negative for interference [mm]
    Range: outside diameters of `outside_limits`.
    Source: ISO 492:2014 Table 3 with ISO 286-1:2010 clause 3.

    >>> outer_ring_fit(130.0, Limits(-0.014, 0.026)).low
    -0.014
    """
    return fit(hole, outside_limits(outside))
