"""End play of a bearing stack between its inner stop and the cover, and the gasket that sets it. Lengths in mm.

Contents: `end_play`, `total_end_play`, `gasket_compressed`, `gasket_free`, `shim_to_add`, `gasket_for_end_play`, `gasket_for_band`.
For limits run the same dimensions through `calc.chain`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from calc import shims


class EndPlayError(ValueError):
    """A dimension that no cover can have; `name` is the dimension at fault."""

    def __init__(self, message: str, name: str = "") -> None:
        self.name = name
        super().__init__(message)


@dataclass(frozen=True)
class GasketForBand:
    """Free thickness of the leaves that keeps an end play within its band [mm], and the stack that can be made of them.

    least, most: free thickness of the leaves at the low and the high end of the band; choice: answer of `shims.stacks`;
    end_play: end play with the stack that is nearest; within: it lies in the band.
    """

    least: float
    most: float
    choice: shims.Choice
    end_play: float
    within: bool


def _check(**sizes: float) -> None:
    for name, size in sizes.items():
        if not (math.isfinite(size) and size >= 0.0):
            raise EndPlayError(f"{name.replace('_', ' ')} {size} mm: accepted: 0 or more", name)


def _check_compression(compression: float) -> None:
    if not 0.0 <= compression < 1.0:
        raise EndPlayError(f"compression {compression}: accepted: 0 up to, not including, 1", "compression")


def end_play(*, face_to_seat: float, gasket: float, bearing_stack: float, cover_spigot: float) -> float:
    """Float of a ring stack between its inner stop and the cover's spigot.

    Formula: e = H + t - W - C.

    Parameters:
        face_to_seat: H, housing face to the bearing seat's shoulder [mm]
        gasket: t, clamped thickness of the cover's gasket [mm]
        bearing_stack: W, rings and spacers between shoulder and spigot [mm]
        cover_spigot: C, depth the cover's spigot reaches past its flange face [mm]
    Returns: float of the ring stack; negative means the cover clamps the rings before its flange seats [mm]
    Range: all dimensions 0 or more.
    Source: dimension chain.

    >>> round(end_play(face_to_seat=58.2, gasket=0.5, bearing_stack=43.0, cover_spigot=15.5), 9)
    0.2
    """
    _check(face_to_seat=face_to_seat, gasket=gasket, bearing_stack=bearing_stack, cover_spigot=cover_spigot)
    return math.fsum((face_to_seat, gasket, -bearing_stack, -cover_spigot))


def total_end_play(ring_stack_float: float, internal_play: float) -> float:
    """Whole axial movement of a shaft: float of the ring stack plus the mounted pair's internal play if that is above zero.

    Formula: e_total = e + max(play, 0).

    Parameters:
        ring_stack_float: result of `end_play` [mm]
        internal_play: axial play of the mounted pair, negative for preload [mm]
    Returns: end play that an indicator on the shaft reads [mm]
    Range: any finite values.
    Source: common practice, no source.

    >>> total_end_play(0.05, -0.01)
    0.05
    """
    return ring_stack_float + max(internal_play, 0.0)


def gasket_compressed(free: float, compression: float) -> float:
    """Thickness of a gasket once clamped.

    Formula: t = t0 (1 - compression).

    Parameters:
        free: t0, thickness before clamping [mm]
        compression: part of t0 that clamping takes away, 0.10 for 10 % [-]
    Returns: clamped thickness [mm]
    Range: compressed fibre sheet gives 7 to 17 % at 34.5 MPa; paper: common practice, no source.
    Source: makers' sheet data by ASTM F36 method J.

    >>> gasket_compressed(0.50, 0.10)
    0.45
    """
    _check(free=free)
    _check_compression(compression)
    return free * (1.0 - compression)


def gasket_free(compressed: float, compression: float) -> float:
    """Thickness to cut a gasket from so that it clamps to a wanted thickness.

    Formula: t0 = t / (1 - compression).

    Parameters:
        compressed: t, wanted clamped thickness [mm]
        compression: part of t0 that clamping takes away, 0.10 for 10 % [-]
    Returns: free thickness [mm]
    Range: as `gasket_compressed`.
    Source: inverse of `gasket_compressed`.

    >>> round(gasket_free(0.45, 0.10), 9)
    0.5
    """
    _check(compressed=compressed)
    _check_compression(compression)
    return compressed / (1.0 - compression)


def shim_to_add(*, present: float, wanted: float) -> float:
    """Clamped thickness to add under one cover to change the end play; negative: to take away.

    Formula: dt = wanted - present.

    Parameters:
        present: end play now [mm]
        wanted: end play to reach [mm]
    Returns: change of the clamped gasket or shim thickness [mm]
    Range: one cover holds the stack; metal shims don't compress.
    Source: dimension chain.

    >>> round(shim_to_add(present=0.10, wanted=0.20), 9)
    0.1
    """
    return wanted - present


def gasket_for_end_play(
    *, wanted: float, face_to_seat: float, bearing_stack: float, cover_spigot: float, compression: float = 0.0
) -> float:
    """Free thickness of the cover's gasket that gives a wanted end play.

    Formula: t0 = (e + W + C - H) / (1 - compression).

    Parameters:
        wanted: e, float of the ring stack to reach [mm]
        face_to_seat: H, housing face to the bearing seat's shoulder [mm]
        bearing_stack: W, rings and spacers between shoulder and spigot [mm]
        cover_spigot: C, depth the cover's spigot reaches past its flange face [mm]
        compression: part of the free thickness that clamping takes away [-]
    Returns: free thickness [mm]
    Range: a result below zero raises EndPlayError: the spigot is too short for that end play whatever the gasket.
    Source: dimension chain.

    >>> round(gasket_for_end_play(wanted=0.05, face_to_seat=58.2, bearing_stack=43.0, cover_spigot=15.6), 9)
    0.45
    """
    _check(face_to_seat=face_to_seat, bearing_stack=bearing_stack, cover_spigot=cover_spigot)
    clamped = math.fsum((wanted, bearing_stack, cover_spigot, -face_to_seat))
    if not clamped >= 0.0:
        raise EndPlayError(
            f"cover spigot {cover_spigot:g} mm: {-clamped:.3f} mm too short for {wanted:.3f} mm end play", "cover_spigot"
        )
    return gasket_free(clamped, compression)


def gasket_for_band(
    low: float,
    high: float,
    stock: shims.Stock,
    *,
    face_to_seat: float,
    bearing_stack: float,
    cover_spigot: float,
    compression: float = 0.0,
    fixed: float = 0.0,
    most_leaves: int = shims.MOST_LEAVES,
) -> GasketForBand:
    """Leaves from stock that bring the end play into a wanted band.

    Formula: t0 = (e + W + C - H - f) / (1 - compression) at both ends of the band; the stack aims at the middle, half the band either way.

    Parameters:
        low: least end play wanted [mm]
        high: most end play wanted [mm]
        stock: {thickness: how many, None for any number}, or thicknesses held in any number; free thicknesses [mm]
        face_to_seat: H, housing face to the bearing seat's shoulder [mm]
        bearing_stack: W, rings and spacers between shoulder and spigot [mm]
        cover_spigot: C, depth the cover's spigot reaches past its flange face [mm]
        compression: part of the leaves' free thickness that clamping takes away, 0 for metal shims [-]
        fixed: f, clamped thickness that stays under the cover beside the leaves, a gasket for example [mm]
        most_leaves: most leaves in the stack [-]
    Returns: free thickness at both ends of the band, stack, end play it gives [mm]
    Range: low up to high; the middle of the band must need no leaf of negative thickness, else EndPlayError.
    Source: dimension chain.

    >>> gasket_for_band(0.03, 0.08, [0.05, 0.1, 0.5], face_to_seat=58.2, bearing_stack=43.0, cover_spigot=15.6).choice.best.leaves
    ((0.1, 4), (0.05, 1))
    """
    if not low <= high:
        raise EndPlayError(f"low: {low} mm: accepted: not above high, {high} mm", "low")
    _check(fixed=fixed)

    def leaves(wanted: float) -> float:
        clamped = math.fsum((wanted, bearing_stack, cover_spigot, -face_to_seat, -fixed))
        return math.copysign(gasket_free(abs(clamped), compression), clamped)

    _check(face_to_seat=face_to_seat, bearing_stack=bearing_stack, cover_spigot=cover_spigot)
    least, most = leaves(low), leaves(high)
    middle = (least + most) / 2.0
    if middle < -shims.SLACK:
        raise EndPlayError(
            f"cover spigot: {cover_spigot:g} mm: accepted: {-middle * (1.0 - compression):.3f} mm longer, "
            f"or less fixed thickness, for {low:.3f} to {high:.3f} mm end play",
            "cover_spigot",
        )
    choice = shims.stacks(max(middle, 0.0), stock, (most - least) / 2.0, most_leaves=most_leaves)
    nearest = choice.nearest
    clamped = fixed + gasket_compressed(nearest.thickness, compression)
    reached = end_play(face_to_seat=face_to_seat, gasket=clamped, bearing_stack=bearing_stack, cover_spigot=cover_spigot)
    return GasketForBand(least, most, choice, reached, choice.best is not None)
