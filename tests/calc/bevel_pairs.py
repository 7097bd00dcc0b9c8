"""Bevel pairs that several tests share: spiral, zerol-like, straight, another shaft angle, sizes in millimetres and in inches."""

from __future__ import annotations

import math
from typing import Literal

from calc.bevel import Blank, blank

INCH = 25.4


def reference_pair(hand: Literal["left", "right"] = "left", backlash: float = 0.2) -> Blank:
    """Pair of the reference table, tests/data/mesh/blank_A.json."""
    return blank(14, 41, 6.0, face_width=38.0, pressure_angle=math.radians(20), spiral_angle=math.radians(35), hand=hand,
                 cutter_radius=150.0, backlash=backlash)  # fmt: skip


def mott_pair(backlash: float = 0.008 * INCH) -> Blank:
    """Straight pair of Mott, Machine Elements in Mechanical Design, 4th edition, Example Problem 8-6, with inch backlash added."""
    return blank(16, 48, INCH / 8.0, face_width=1.0 * INCH, pressure_angle=math.radians(20), backlash=backlash)


SPIRAL = reference_pair()
STRAIGHT = blank(16, 40, INCH / 3.0, face_width=2.25 * INCH, pressure_angle=math.radians(20), backlash=0.010 * INCH)
ZEROL = blank(17, 43, 5.0, face_width=28.0, pressure_angle=math.radians(20), hand="right", backlash=0.15)
OBLIQUE = blank(15, 31, 4.0, face_width=17.0, pressure_angle=math.radians(22.5), spiral_angle=math.radians(30), hand="right",
                shaft_angle=math.radians(75), backlash=0.12)  # fmt: skip
INCH_SPIRAL = blank(13, 38, INCH / 5.0, face_width=1.25 * INCH, pressure_angle=math.radians(20), spiral_angle=math.radians(35),
                    hand="right", backlash=0.007 * INCH)  # fmt: skip
SLIPWAY = blank(17, 38, INCH / 4.0, face_width=1.75 * INCH, pressure_angle=math.radians(20), backlash=0.008 * INCH)
PAIRS = {
    "spiral mm": SPIRAL, "spiral right": reference_pair("right"), "spiral inch": INCH_SPIRAL, "straight inch": STRAIGHT,
    "straight small inch": SLIPWAY, "textbook straight": mott_pair(), "zerol": ZEROL, "75 deg": OBLIQUE,
}  # fmt: skip
