"""Adds the rolling bearings to the bill: solids from ISO 15 sizes, rings built to the middle of their ISO 492 limits."""

from __future__ import annotations

from calc import bearings
from geometry import rolling
from geometry.bill import Bill
from geometry.machine import Pair, Roller
from geometry.part import Matrix, Role

ROLES: dict[str, Role] = {"inner_ring": "ring", "outer_ring": "ring", "rollers": "rolling", "balls": "rolling", "cage": "cage"}


def _middle(nominal: float, lower: float, upper: float) -> float:
    return nominal + (lower + upper) / 2.0


def mean_bore(bore: float) -> float:
    """Bore in the middle of the ISO 492 Normal limits [mm]."""
    band = bearings.bore_limits(bore)
    return _middle(bore, band.lower, band.upper)


def mean_outside(outside: float) -> float:
    """Outside diameter in the middle of the ISO 492 Normal limits [mm]."""
    band = bearings.outside_limits(outside)
    return _middle(outside, band.lower, band.upper)


def chamfer(bearing: Roller | Pair) -> float:
    """Smallest chamfer of ISO 15 for this bearing, or a derived one for typed sizes [mm]."""
    if bearing.series is not None:
        return bearings.boundary(round(bearing.bore, 3), bearing.series).chamfer
    return 0.02 * bearing.bore


def add_roller(
    bill: Bill, name: str, bearing: Roller, inner_pose: Matrix, outer_pose: Matrix, bench: str, outer_bench: str
) -> None:
    """Inner unit (ring, rollers, cage) on the shaft and the loose outer ring in its seat."""
    assert bearing.outside is not None and bearing.width is not None
    shapes = rolling.cylindrical_roller_bearing(
        bore=mean_bore(bearing.bore),
        outside=mean_outside(bearing.outside),
        width=bearing.width.nominal,
        raceway_inner=bearing.raceway_inner,
        raceway_outer=bearing.raceway_outer,
        count=bearing.roller_count,
        chamfer=chamfer(bearing),
    )
    for piece, spec in shapes.items():
        inner = piece != "outer_ring"
        bill.add(
            f"{name}_{piece}",
            ROLES[piece],
            spec,
            inner_pose if inner else outer_pose,
            bench if inner else outer_bench,
            unit=f"{name}_inner" if inner else "",
        )


def add_angular(bill: Bill, name: str, bearing: Pair, placement: Matrix, bench: str) -> None:
    """One bearing of a duplex pair, all its pieces one unit."""
    assert bearing.outside is not None and bearing.width is not None
    shapes = rolling.angular_contact_bearing(
        bore=mean_bore(bearing.bore),
        outside=mean_outside(bearing.outside),
        width=bearing.width.nominal,
        contact_angle=bearing.contact_angle,
        chamfer=chamfer(bearing),
    )
    for piece, spec in shapes.items():
        bill.add(f"{name}_{piece}", ROLES[piece], spec, placement, bench, unit=name)
