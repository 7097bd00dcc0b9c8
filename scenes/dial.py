"""A dial's reading of backlash as it is typed: "0.21 mm", or "0.39 mm at 240 mm" where the stem stands at another radius than the large
end of the gear's teeth. mm. Contents: `DIALLED_AT`, `split`, `at_pitch_circle`, `elsewhere`."""

from __future__ import annotations

import re
from collections.abc import Sequence

from calc import indicator, units
from scenes.wording import text

DIALLED_AT = frozenset({"backlash", "trial_backlash"})
"""Readings that depend on the radius at which the stem stands."""
RADII = (1.0, 5000.0)
"""Where a stem can stand, from the gear's axis [mm]."""
_AT = re.compile(r"\s+at\s+|\s*@\s*", re.IGNORECASE)


def split(given: str) -> tuple[str, str]:
    """What the dial shows, and the radius of its stem ("" = at the large end)."""
    found = _AT.split(given.strip(), maxsplit=1)
    return found[0], found[1] if len(found) > 1 else ""


def at_pitch_circle(shown: float, radius: str, pitch: float) -> float:
    """Backlash at the large-end pitch circle, radius `pitch`, of what a dial shows at a radius as typed [mm]. Raises ValueError."""
    if not radius:
        return shown
    at, (low, high) = units.read(radius, "length"), RADII
    if not low <= at <= high:
        raise ValueError(
            text("record.out_of_range", least=units.typed(low, "length", "mm"), most=units.typed(high, "length", "mm"))
        )
    return indicator.backlash_from_reading(shown, pitch_radius=pitch, dial_radius=at)


def elsewhere(read: str, given: Sequence[str]) -> bool:
    """Whether any value of a reading was read at another radius."""
    return read in DIALLED_AT and any(split(one)[1] for one in given)
