"""Strength of a screw in words: its metric property class, its inch grade, or the class that its strength is taken from. MPa.

Contents: `strength`.
"""

from __future__ import annotations

from calc import bolts, units
from scenes.wording import text

GRADE = "grade "
"""How the machine file writes an inch grade."""


def strength(thread: str, property_class: str, system: units.System) -> str:
    """The strength that a screw's figures are worked out with, with its proof stress where the thread is not metric."""
    metric = thread.startswith("M")
    kind = "grade" if property_class.startswith(GRADE) else "class" if metric else "borrowed"
    proof = bolts.strength(thread, property_class).proof
    return text(f"strength.{kind}", name=property_class.removeprefix(GRADE), proof=units.show(proof, "pressure", system))
