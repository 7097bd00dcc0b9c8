"""Match marks on teeth: when the same two teeth meet again, and whether every tooth meets every other.

`meeting_teeth`, `partners`. Hunting tooth counts still keep worn pairs together: note the set number whatever the answer.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import gcd

FEWEST_TEETH = 3


class TeethRefused(ValueError):
    """A tooth count or number outside its range."""


@dataclass(frozen=True)
class MeetingTeeth:
    """Common factor of the tooth counts; turns of pinion and gear and tooth meshes until the same two teeth meet again.

    hunting: every tooth meets every tooth; ways: in how many different ways the pair can be put together as to who meets whom.
    """

    common_factor: int
    pinion_turns: int
    gear_turns: int
    meshes: int
    hunting: bool

    @property
    def ways(self) -> int:
        """Different ways of assembly: the common factor [1]."""
        return self.common_factor

    @property
    def marks_needed(self) -> bool:
        """True when teeth run in with some partners only, so that match marks restore which."""
        return not self.hunting


def _check(pinion_teeth: int, gear_teeth: int) -> None:
    for name, teeth in (("pinion teeth", pinion_teeth), ("gear teeth", gear_teeth)):
        if not (isinstance(teeth, int) and teeth >= FEWEST_TEETH):
            raise TeethRefused(f"{name}: {teeth}: accepted: a whole number, {FEWEST_TEETH} or more")


def meeting_teeth(pinion_teeth: int, gear_teeth: int) -> MeetingTeeth:
    """When the same pair of teeth meets again: after z2/g turns of the pinion, z1/g of the gear, g = common factor of z1 and z2.

    pinion_teeth: z1 [1]
    gear_teeth: z2 [1]
    Result: MeetingTeeth [1]. Range: 3 teeth or more.
    Source: least common multiple of the counts; assembly phases after W. C. Foiles, Gear Frequencies Using the Euclidean Algorithm.

    >>> meeting_teeth(18, 54).pinion_turns
    3
    """
    _check(pinion_teeth, gear_teeth)
    common = gcd(pinion_teeth, gear_teeth)
    return MeetingTeeth(common, gear_teeth // common, pinion_teeth // common, pinion_teeth * gear_teeth // common, common == 1)


def partners(pinion_tooth: int, pinion_teeth: int, gear_teeth: int) -> tuple[int, ...]:
    """Gear spaces that one pinion tooth meets when tooth 1 was put into space 1: every g-th space.

    pinion_tooth: number of the tooth, counted from 1 in the order in which the teeth meet [1]
    pinion_teeth: z1 [1]
    gear_teeth: z2 [1]
    Result: numbers of the gear spaces, in rising order [1]. Range: pinion_tooth 1 to z1. Source: remainder classes of the common factor.

    >>> partners(1, 18, 54)
    (1, 19, 37)
    """
    common = meeting_teeth(pinion_teeth, gear_teeth).common_factor
    if not 1 <= pinion_tooth <= pinion_teeth:
        raise TeethRefused(f"pinion tooth: {pinion_tooth}: accepted: 1 to {pinion_teeth}")
    return tuple(range((pinion_tooth - 1) % common + 1, gear_teeth + 1, common))
