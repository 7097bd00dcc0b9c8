"""What to look for when a round does not read as its gaskets should make it read: the likeliest first. mm.

Which way it is off says whether something stands too far apart (not drawn down, a leaf too many) or too near (a leaf too few, not pushed
home); common practice, no source. Contents: `suspects`.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from calc import units
from geometry.machine import Gasket
from geometry.reducer import Reducer
from scenes.callouts.gaskets import stock_of
from scenes.positions import solved
from scenes.reads import DIALS
from scenes.record_listing import Opened
from scenes.rounds import LENGTHS, Compared, Round
from scenes.rounds_expected import movers
from scenes.settings import Settings
from scenes.wording import text

NEAR_A_LEAF = 0.03
"""A difference this near to a leaf, or to the difference of two, may be that leaf [mm]: own choice, a fitter's deviation."""
MEASURE_FIRST = 2
"""Sizes of a chain that are named, the widest first [1]: own choice."""
OFF = ("watch", "stop")


def suspects(one: Round, found: Opened, reducer: Reducer, now: Settings) -> tuple[str, ...]:
    """What to look for, each once. `reducer`: of the machine with the job's readings in it."""
    return tuple(dict.fromkeys(_suspects(one, found, reducer, now)))


def _suspects(one: Round, found: Opened, reducer: Reducer, now: Settings) -> Iterator[str]:
    for each in one.compared:
        if each.verdict not in OFF:
            continue
        title = found.reads[each.read].title
        if each.basis is None:
            yield from _by_file(each, title, one, reducer)
        elif each.read in LENGTHS:
            yield from _length(each, title, one, reducer, now)
        else:
            yield from _dial(each, title, one)
        if each.basis == 0:
            yield text("rounds.suspect_rebuilt", title=title)
    if any(mark.verdict in OFF for mark in one.marks):
        yield text("rounds.suspect_marks")
    if one.apart is not None:
        shifts = {}
        for name, shift, sigma in (("pinion", one.apart.pinion, one.apart.sigma[0]), ("gear", one.apart.gear, one.apart.sigma[1])):
            shifts[name] = units.show(shift, "length", now.units, signed=True)
            shifts[f"{name}_sigma"] = units.show(sigma, "length", now.units)
        yield text("rounds.suspect_apart", **shifts)
        yield from (text(f"adjust.cause.{cause}").strip() for cause in one.apart.causes)


def _by_file(each: Compared, title: str, one: Round, reducer: Reducer) -> Iterator[str]:
    """Not as the machine file has it: which sizes, not measured yet, would tell."""
    chains = ("pinion_running", "gear_distance") if each.read in DIALS else (each.read,)
    measured = {f"part.{gasket.gasket}" for gasket in one.gaskets if gasket.entry}
    names: list[str] = []
    for chain in (reducer.chain(name) for name in chains):
        left = {link.name for link in chain.links if link.source != "source.measured"} - measured
        widest = [part.name for part in solved(chain).contributions if part.name in left and part.half_band > 0.0]
        names += [text(name) for name in widest[:MEASURE_FIRST]]
    yield text(
        "rounds.suspect_file" if names else "rounds.suspect_file_measured", title=title, names=", ".join(dict.fromkeys(names))
    )


def _changed(each: Compared, one: Round) -> list[str]:
    moving = movers(each.read)
    return [new.gasket for _, new in one.changed if new.gasket in moving]


def _length(each: Compared, title: str, one: Round, reducer: Reducer, now: Settings) -> Iterator[str]:
    """An end play or a mounting distance that is not as expected."""
    assert each.difference is not None
    changed = _changed(each, one)
    if not changed:
        yield text("rounds.suspect_unchanged", title=title)
        return
    apart = (
        each.difference > 0.0 if each.read != "gear_distance" else each.difference < 0.0
    )  # a thicker gear gasket brings the gear nearer
    gaskets = ", ".join(text(f"part.{name}") for name in changed)
    leaf = next((size for name in changed if (size := _leaf(reducer, name, abs(each.difference))) is not None), None)
    if leaf is not None:
        key = "rounds.suspect_leaf_more" if apart else "rounds.suspect_leaf_less"
        yield text(key, gasket=gaskets, leaf=units.show(leaf, "length", now.units))
    yield text("rounds.suspect_not_clamped" if apart else "rounds.suspect_not_home", title=title, gasket=gaskets)


def _leaf(reducer: Reducer, name: str, off: float) -> float | None:
    """The leaf, or the difference of two, that a reading is off by [mm]."""
    item: Gasket = getattr(reducer.machine.gaskets, name)
    stock = stock_of(reducer.machine, item)
    sizes = {*stock.sizes, *(abs(a - b) for a, b in combinations(stock.sizes, 2))}
    nearest = min(sizes, key=lambda size: abs(size * (1.0 - stock.compression) - off))
    return nearest if abs(nearest * (1.0 - stock.compression) - off) <= NEAR_A_LEAF else None


def _dial(each: Compared, title: str, one: Round) -> Iterator[str]:
    """A backlash that is not as expected."""
    assert each.difference is not None
    if not _changed(each, one):
        yield text("rounds.suspect_unchanged", title=title)
    yield text("rounds.suspect_backlash_more" if each.difference > 0.0 else "rounds.suspect_backlash_less")
