"""Where the chains leave pinion and gear and what end play they leave, with the present gaskets or with changed ones [mm]."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from calc import chain
from geometry.joints import Chain
from geometry.reducer import Reducer


def solved(item: Chain) -> chain.Result:
    """The chain's result with its bands [mm]."""
    return chain.solve(list(item.links))


def closed(reducer: Reducer, item: Chain) -> chain.Result:
    """The same, but a cover that clamps the rings leaves the pinion at its inner stop: a negative play moves nothing."""
    found = solved(item)
    if item.name != "pinion_running":
        return found
    at_stop, play = solved(reducer.chain("pinion_set")), solved(reducer.chain("high_speed_end_play"))
    low, high = at_stop.low + max(0.0, play.low), at_stop.high + max(0.0, play.high)
    return replace(found, nominal=at_stop.nominal + max(0.0, play.nominal), low=low, high=high, mid=(low + high) / 2.0)


@dataclass(frozen=True)
class Positions:
    """Nominal ends of the chains: running pinion, gear, the two end plays (below zero: the cover clamps the rings) [mm]."""

    pinion_running: float
    gear_distance: float
    high_speed_end_play: float
    low_speed_end_play: float


def positions(reducer: Reducer, changes: Mapping[str, float] | None = None) -> Positions:
    """The ends of the chains when gaskets are thicker by so much clamped: {gasket: change} [mm]."""
    more = {f"part.{name}": change for name, change in (changes or {}).items()}

    def end(name: str) -> float:
        links = [replace(link, nominal=link.nominal + more.get(link.name, 0.0)) for link in reducer.chain(name).links]
        return chain.solve(links).nominal

    play = end("high_speed_end_play")
    return Positions(end("pinion_set") + max(0.0, play), end("gear_distance"), play, end("low_speed_end_play"))
