"""Radial internal clearance of rolling bearings: as delivered (ISO 5753-1), and what fit and heat leave of it.

Lengths mm, temperatures K apart. Clearance +, interference positive and diametral in this module. Contents: `internal_clearance`,
`smoothed`, `raceway_growth`, `raceway_contraction`, `thermal_loss`, `mounted_clearance`, `rule_of_thumb_growth`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from calc import tables

Kind = Literal["deep-groove ball", "cylindrical roller"]
Group = Literal["2", "N", "3", "4", "5"]
Surface = Literal["ground", "turned"]

GROUPS: tuple[Group, ...] = ("2", "N", "3", "4", "5")
"""Clearance groups of ISO 5753-1, small to large."""
TABLES = {"deep-groove ball": "iso5753_deep_groove", "cylindrical roller": "iso5753_cylindrical_roller"}
"""Table of each kind of bearing."""
SMOOTHING = {"ground": 2.0, "turned": 3.0}
"""c in I_eff = I d/(d + c), d in mm [mm]: common practice (bearing handbooks), no standard."""
BEARING_EXPANSION = 12.5e-6
"""Mean expansion coefficient of bearing steel [1/K]: as in tables/materials.csv."""
USUAL_DIFFERENCE = 5.0
"""Usual difference between inner and outer ring in steady running [K]: bearing handbooks, 5 to 10."""
RULE_OF_THUMB = 0.75
"""Part of the effective interference that reaches the raceway [1]: common practice, no standard; `raceway_growth` computes it."""
RULE_OF_THUMB_RANGE = (0.6, 0.9)
"""What sources give for that part [1]: 60 to 80 %, 70 to 90 %, up to 80 %."""


@dataclass(frozen=True)
class ClearanceBand:
    """Least, middle and greatest radial clearance [mm]; negative: radial preload."""

    low: float
    high: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.low) and math.isfinite(self.high) and self.low <= self.high):
            raise ValueError(f"clearance: {self.low} to {self.high} mm: accepted: finite, the smaller first")

    @property
    def mid(self) -> float:
        """Middle of the band [mm]."""
        return (self.low + self.high) / 2.0


@dataclass(frozen=True)
class MountedClearance:
    """Radial clearance in place, and where the rest went.

    `band`: clearance mounted and warm; `mounted`: mounted, rings at one temperature [mm]. `inner_loss`, `outer_loss`: taken by the fits,
    least and greatest; `thermal_loss`: taken by the difference of the rings [mm].
    """

    band: ClearanceBand
    mounted: ClearanceBand
    inner_loss: ClearanceBand
    outer_loss: ClearanceBand
    thermal_loss: float

    @property
    def may_be_preloaded(self) -> bool:
        """True when the tightest bearing has no clearance left."""
        return self.band.low < 0.0


def _check(name: str, value: float, low: float, high: float) -> None:
    if not low < value < high:
        raise ValueError(f"{name}: {value:g} mm: accepted: over {low:g} mm, below {high:g} mm")


def internal_clearance(bore: float, kind: Kind, group: Group = "N") -> ClearanceBand:
    """Radial internal clearance of a bearing as delivered, with cylindrical bore.

    Table look-up.

    bore: bore of the bearing [mm]
    kind: "deep-groove ball" or "cylindrical roller" (interchangeable rings) [-]
    group: clearance group "2", "N", "3", "4" or "5" [-]
    Result: ClearanceBand [mm]. Range: bores over 10 up to and including 140 mm. Source: ISO 5753-1:2009.

    >>> internal_clearance(60.0, "cylindrical roller", "3")
    ClearanceBand(low=0.06, high=0.09)
    """
    if kind not in TABLES:
        raise ValueError(f"kind: {kind!r}: accepted: {', '.join(TABLES)}")
    if group not in GROUPS:
        raise ValueError(f"group: {group!r}: accepted: {', '.join(GROUPS)}")
    table = tables.load(TABLES[kind])
    row = table.row_for(bore)
    if row is None:
        raise ValueError(f"bore: {bore:g} mm: accepted: over {table.column('over')[0]} mm, up to {table.column('up_to')[-1]} mm")
    low, high = table.mm(row, f"{group}_min"), table.mm(row, f"{group}_max")
    if low is None or high is None:
        raise ValueError(f"group: {group!r}: accepted: one that ISO 5753-1 gives for a bore of {bore:g} mm")
    return ClearanceBand(low, high)


def smoothed(interference: float, diameter: float, surface: Surface = "ground") -> float:
    """Interference of a bearing ring that is left once the seat has smoothed: I_eff = I d / (d + 2), turned seat d / (d + 3).

    interference: apparent interference, positive; a loose fit stays as it is [mm]
    diameter: diameter of the seat [mm]
    surface: "ground" or "turned" seat [-]
    Result: effective interference [mm]. Range: diameter more than 0. Source: common practice (bearing handbooks), no standard.

    >>> round(smoothed(0.045, 60.0), 5)
    0.04355
    """
    if surface not in SMOOTHING:
        raise ValueError(f"surface: {surface!r}: accepted: {', '.join(SMOOTHING)}")
    _check("diameter", diameter, 0.0, math.inf)
    return interference * diameter / (diameter + SMOOTHING[surface]) if interference > 0.0 else interference


def raceway_growth(interference: float, bore: float, raceway: float, *, shaft_bore: float = 0.0) -> float:
    """Growth of the inner raceway on its shaft: dF = I (d/F) (1 - (d1/d)^2) / (1 - (d1/F)^2); a loose ring does not grow.

    interference: effective interference of the inner ring, positive [mm]
    bore: bore of the bearing d [mm]
    raceway: diameter of the inner raceway F [mm]
    shaft_bore: bore of a hollow shaft d1, 0 when solid [mm]
    Result: growth of the raceway's diameter [mm]. Range: steel ring on steel shaft, d1 < d < F, elastic.
    Source: Lamé's thick rings, same material; the same closed forms are in bearing catalogues.

    >>> round(raceway_growth(0.03, 50.0, 59.5, shaft_bore=20.0), 5)
    0.02387
    """
    _check("bore", bore, 0.0, raceway)
    if not 0.0 <= shaft_bore < bore:
        raise ValueError(f"shaft bore: {shaft_bore:g} mm: accepted: 0 (solid) up to, not including, {bore:g} mm")
    hollow = (1.0 - (shaft_bore / bore) ** 2) / (1.0 - (shaft_bore / raceway) ** 2)
    return max(0.0, interference) * bore / raceway * hollow


def raceway_contraction(interference: float, outside: float, raceway: float, *, housing_outside: float = math.inf) -> float:
    """Contraction of the outer raceway in its housing: dE = I h (1 - h0^2) / (1 - h^2 h0^2), h = E/D, h0 = D/D0.

    interference: effective interference of the outer ring, positive [mm]
    outside: outside diameter of the bearing D [mm]
    raceway: diameter of the outer raceway E [mm]
    housing_outside: outside diameter of the housing D0, inf for a very thick one [mm]
    Result: contraction of the raceway's diameter [mm]. Range: E < D < D0, ring and housing of one material (an iron housing takes less).
    Source: Lamé's thick rings, same material; the same closed forms are in bearing catalogues.

    >>> round(raceway_contraction(0.03, 180.0, 160.0), 5)
    0.02667
    """
    _check("raceway", raceway, 0.0, outside)
    if not housing_outside > outside:
        raise ValueError(f"housing outside: {housing_outside:g} mm: accepted: over {outside:g} mm")
    ring, housing = raceway / outside, outside / housing_outside
    return max(0.0, interference) * ring * (1.0 - housing**2) / (1.0 - (ring * housing) ** 2)


def thermal_loss(bore: float, outside: float, difference: float, *, kind: Kind, expansion: float = BEARING_EXPANSION) -> float:
    """Radial clearance lost because the inner ring runs warmer: d = alpha dT De, De = (3D + d)/4 roller, (4D + d)/5 ball.

    bore: bore of the bearing d [mm]
    outside: outside diameter of the bearing D [mm]
    difference: inner less outer ring temperature [K]
    kind: "deep-groove ball" or "cylindrical roller" [-]
    expansion: mean expansion coefficient of the rings [1/K]
    Result: loss, negative when the outer ring is warmer [mm]. Range: d < D. Source: bearing handbooks.

    >>> round(thermal_loss(60.0, 110.0, 5.0, kind="cylindrical roller"), 5)
    0.00609
    """
    _check("bore", bore, 0.0, outside)
    if kind not in TABLES:
        raise ValueError(f"kind: {kind!r}: accepted: {', '.join(TABLES)}")
    mean = (3.0 * outside + bore) / 4.0 if kind == "cylindrical roller" else (4.0 * outside + bore) / 5.0
    return expansion * difference * mean


def rule_of_thumb_growth(effective_interference: float, factor: float = RULE_OF_THUMB) -> float:
    """Growth of the inner raceway by the rule of thumb: dF = 0.75 I_eff.

    effective_interference: interference after smoothing, positive [mm]
    factor: part that reaches the raceway [1]
    Result: growth [mm]. Range: factor 0.6 to 0.9, as sources give it. Source: common practice, no standard; sources disagree.

    >>> round(rule_of_thumb_growth(0.040), 9)
    0.03
    """
    low, high = RULE_OF_THUMB_RANGE
    if not low <= factor <= high:
        raise ValueError(f"factor: {factor}: accepted: {low} to {high}")
    return max(0.0, effective_interference) * factor


def mounted_clearance(
    initial: ClearanceBand,
    *,
    bore: float,
    outside: float,
    kind: Kind,
    inner_raceway: float,
    inner_interference: ClearanceBand,
    surface: Surface = "ground",
    shaft_bore: float = 0.0,
    outer_raceway: float | None = None,
    outer_interference: ClearanceBand | None = None,
    housing_surface: Surface = "turned",
    housing_outside: float = math.inf,
    difference: float = 0.0,
    expansion: float = BEARING_EXPANSION,
) -> MountedClearance:
    """Radial clearance of a bearing in place: G = G0 - dF - dE - alpha dT De, the least with the tightest fits.

    initial: clearance as delivered [mm]
    bore: bore of the bearing [mm]
    outside: outside diameter of the bearing [mm]
    kind: "deep-groove ball" or "cylindrical roller" [-]
    inner_raceway: diameter of the inner raceway [mm]
    inner_interference: apparent interference of the inner ring, negative when loose [mm]
    surface: "ground" or "turned" shaft seat [-]
    shaft_bore: bore of a hollow shaft, 0 when solid [mm]
    outer_raceway: diameter of the outer raceway; needed with `outer_interference` [mm]
    outer_interference: apparent interference of the outer ring; None: loose in its housing [mm]
    housing_surface: "ground" or "turned" housing seat [-]
    housing_outside: outside diameter of the housing [mm]
    difference: inner less outer ring temperature [K]
    expansion: mean expansion coefficient of the rings [1/K]
    Result: MountedClearance [mm]. Range: as `raceway_growth`, `raceway_contraction`, `thermal_loss`. Source: their sum.

    >>> fit = ClearanceBand(0.045, 0.045)
    >>> found = mounted_clearance(
    ...     ClearanceBand(0.06, 0.08), bore=60.0, outside=110.0, kind="cylindrical roller", inner_raceway=73.5,
    ...     inner_interference=fit, difference=5.0)
    >>> round(found.band.mid, 4)
    0.0284
    """
    _check("inner raceway", inner_raceway, bore, outside)
    inner = ClearanceBand(
        *(
            raceway_growth(smoothed(one, bore, surface), bore, inner_raceway, shaft_bore=shaft_bore)
            for one in (inner_interference.low, inner_interference.high)
        )
    )
    outer = ClearanceBand(0.0, 0.0)
    if outer_interference is not None:
        if outer_raceway is None:
            raise ValueError("outer raceway: None: accepted: its diameter, when the outer ring's interference is given")
        _check("outer raceway", outer_raceway, inner_raceway, outside)
        outer = ClearanceBand(
            *(
                raceway_contraction(
                    smoothed(one, outside, housing_surface), outside, outer_raceway, housing_outside=housing_outside
                )
                for one in (outer_interference.low, outer_interference.high)
            )
        )
    warm = thermal_loss(bore, outside, difference, kind=kind, expansion=expansion)
    cold = ClearanceBand(initial.low - inner.high - outer.high, initial.high - inner.low - outer.low)
    return MountedClearance(ClearanceBand(cold.low - warm, cold.high - warm), cold, inner, outer, warm)
