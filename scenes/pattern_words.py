"""A marked pattern in words: where its centre lies, read on the gear, and what runs hard on an edge."""

from __future__ import annotations

from collections.abc import Mapping

from calc.contact import Contact, FlankContact
from calc.readings import ALONG_FACE, OVER_DEPTH
from scenes.wording import text


def nearest(value: float, classes: Mapping[str, float]) -> str:
    """The class of `calc.readings` whose place is nearest [%]."""
    return min(classes, key=lambda name: abs(classes[name] - value))


def place(along: float, depth: float) -> str:
    """Both places in words, without figures: "toe, low", or "centred"."""
    names = (nearest(along, ALONG_FACE), nearest(depth, OVER_DEPTH))
    said = [text(f"pattern.{name}") for name in names if name != "centred"]
    return ", ".join(said) or text("pattern.centred")


def centre(along: float, depth: float) -> str:
    """Both places in words and percent: "toe, low (37 % from the toe, 40 % up from the root)"."""
    return text("pattern.centre", place=place(along, depth), along=f"{along:.0f} %", depth=f"{depth:.0f} %")


def short(along: float, depth: float) -> str:
    """Both places in percent for a table: "37/40 %"."""
    return text("pattern.short", along=f"{along:.0f}", depth=f"{depth:.0f}")


def flank(found: FlankContact) -> str:
    """A flank's pattern in words and percent, with the ends that it runs over and the edge that digs."""
    said = [centre(found.pattern.centre_along, found.pattern.centre_depth)]
    if found.hard:
        said.append(text(f"pattern.hard_edge_{found.hard}"))
    return "; ".join(said)


def both(found: Contact) -> tuple[str, str]:
    """Drive and coast in words; empty where the teeth are out of mesh."""
    if found.drive is None or found.coast is None:
        return "", ""
    return flank(found.drive), flank(found.coast)
