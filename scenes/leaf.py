"""A feeler's reading in words: the thickest leaf that enters, or none. mm.

"none" is kept for it, in English. Contents: `key`, `said`, `limit`.
"""

from __future__ import annotations

from collections.abc import Sequence

from calc import units
from scenes.callouts.hot import FEELER as LEAF
from scenes.wording import text


def key(verdict: str, thickest: float) -> str:
    """The text that says what a feeler found; `thickest`: leaf that entered, 0 for none [mm]."""
    return f"record.leaf_{verdict}" if thickest else "record.leaf_none"


def said(values: Sequence[float], system: units.System) -> tuple[str, str]:
    """What a feeler found, and at how many places, for the report; `values`: the thickest leaf of each place [mm]."""
    thickest = max(values)
    more = text("record.leaf_places", count=len(values)) if len(values) > 1 else ""
    if not thickest:
        return text("record.leaf_out", leaf=units.show(LEAF, "length", system)), more
    more = text("record.leaf_most", count=len(values)) if more else ""
    return text("record.leaf_in", leaf=units.show(thickest, "length", system)), more


def limit(system: units.System) -> str:
    """What is accepted, in words."""
    return text("record.leaf_under", leaf=units.show(LEAF, "length", system))
