"""How a load hangs in a step: legs, angle, and what each leg must be rated for. One place for the notes and the kit list.

kg, rad, N. Contents: `Sling`, `sling`.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from math import pi

from calc import lifting
from geometry.machine import Shop

EYE = "lifting_eye"
"""The tool on which a load hangs plumb, all of it on one leg."""


@dataclass(frozen=True)
class Sling:
    """Legs of the sling and legs counted on [1], angle from horizontal [rad], load to plan for [kg], rated load of each leg [kg]."""

    legs: int
    carrying: int
    angle: float
    planned: float
    rating: float

    @property
    def tension(self) -> float:
        """Tension of one leg, the allowance of the first lift in it [N]."""
        return self.rating * lifting.GRAVITY


def sling(shop: Shop, tools: Collection[str], weight: float) -> Sling:
    """The sling of a step with these tools for a mass not yet weighed [kg]: one plumb leg on a lifting eye, else the shop's sling."""
    legs, angle = (1, pi / 2.0) if EYE in tools or shop.sling_legs == 1 else (shop.sling_legs, shop.sling_angle)
    planned, rating = weight * lifting.FIRST_LIFT, lifting.needed_rating(weight, angle, legs)
    return Sling(legs, lifting.carrying_legs(legs), angle, planned, rating)
