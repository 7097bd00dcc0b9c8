"""The place of a tooth mark as a fitter types it: words such as "toe,low", or two percentages. Contents: `place`, `hard`, `flank`."""

from __future__ import annotations

import re

from calc import refusal, units
from calc.readings import ALONG_FACE, MARK_SIGMA, OVER_DEPTH, Mark
from scenes.procedure_file import suggestion

EDGE = (24, 76)
"""Centre of a pattern from the toe or up from the root [%] up to and from where it is called hard, so bears on an edge: own choice."""
WORDS = {"centre": "centred", "center": "centred", "centered": "centred", "middle": "centred"}
"""Other spellings of a pattern's place."""


def place(given: str, sigma: float = MARK_SIGMA) -> Mark:
    """A pattern's place, with its standard deviation [%]. Raises ValueError without the name of the field."""
    apart = given.split(",") if "%" in given else re.split(r"[,;\s]+", given.strip())
    items = [item.strip().lower().replace("-", "_").replace(" ", "_") for item in apart]
    if any("%" in item for item in items):
        return _shares(given, items, sigma)
    found: dict[str, str] = {}
    for item in items:
        word = WORDS.get(item, item)
        if word == "centred":
            continue
        axis = "along" if word in ALONG_FACE else "depth" if word in OVER_DEPTH else ""
        if not axis:
            known = {key.replace("_", "-") for key in (*ALONG_FACE, *OVER_DEPTH) if key != "centred"} | {"centre"}
            raise ValueError(f"{refusal.told(item)} is no place of a pattern: {suggestion(item.replace('_', '-'), known)}")
        if axis in found:
            raise ValueError(f"two places {'along the face' if axis == 'along' else 'over the depth'}: accepted: one of them")
        found[axis] = word
    return Mark(found.get("along", "centred"), found.get("depth", "centred"), sigma)


def _shares(given: str, items: list[str], sigma: float) -> Mark:
    if len(items) != 2:
        raise ValueError('accepted: two percentages, from the toe and up from the root, for example "40 %,55 %"')
    found = []
    for item in given.split(","):
        share = units.read(item.strip(), "fraction")
        if not 0.0 <= share <= 1.0:
            raise ValueError(f"{refusal.told(item.strip())}: accepted: 0 % to 100 %")
        found.append(share * 100.0)
    return Mark(found[0], found[1], sigma)


def hard(mark: Mark) -> bool:
    """Whether a mark bears on an edge of the teeth."""
    return any(share <= EDGE[0] or share >= EDGE[1] for share in mark.centre)


def flank(given: str) -> tuple[str, str]:
    """Flank and place of a mark typed as "drive toe,low". Raises ValueError."""
    found, _, where = given.strip().partition(" ")
    if found not in ("drive", "coast") or not where.strip():
        raise ValueError('accepted: a flank and a place, for example "drive toe,low" or "coast 40 %,55 %"')
    return found, where
