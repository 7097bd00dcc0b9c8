"""The place of a tooth mark as a fitter types it: words such as "toe,low", or two percentages. Contents: `place`, `hard`, `flank`."""

from __future__ import annotations

import re

from calc import refusal, units
from calc.readings import ALONG_FACE, MARK_SIGMA, OVER_DEPTH, Mark
from scenes.procedure_file import suggestion
from scenes.wording import text

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
            known = {text(f"pattern.{key}").replace(" ", "-") for key in (*ALONG_FACE, *OVER_DEPTH)}
            near = suggestion(item.replace("_", "-"), known)
            raise ValueError(text("mark.no_place", given=refusal.told(item), suggestion=near))
        if axis in found:
            raise ValueError(text(f"mark.two_{axis}"))
        found[axis] = word
    return Mark(found.get("along", "centred"), found.get("depth", "centred"), sigma)


def _shares(given: str, items: list[str], sigma: float) -> Mark:
    if len(items) != 2:
        raise ValueError(text("mark.two_shares"))
    found = []
    for item in given.split(","):
        share = units.read(item.strip(), "fraction")
        if not 0.0 <= share <= 1.0:
            raise ValueError(text("mark.share", given=refusal.told(item.strip())))
        found.append(share * 100.0)
    return Mark(found[0], found[1], sigma)


def hard(mark: Mark) -> bool:
    """Whether a mark bears on an edge of the teeth."""
    return any(share <= EDGE[0] or share >= EDGE[1] for share in mark.centre)


def flank(given: str) -> tuple[str, str]:
    """Flank and place of a mark typed as "drive toe,low". Raises ValueError."""
    found, _, where = given.strip().partition(" ")
    if found not in ("drive", "coast") or not where.strip():
        raise ValueError(text("mark.flank"))
    return found, where
