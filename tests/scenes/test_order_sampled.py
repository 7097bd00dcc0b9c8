"""The proof against a general-purpose collision library asked at many places along every path: same verdicts, travel within 2 mm.

Judged apart, because they are no question of solids: the pair of teeth (flank model), a gasket dragged along its face, and a tool
slid out level in any way. The library knows none of them, so paths stopped for such a cause are left out by that cause.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass

import pytest

from geometry.blocking import Table
from geometry.part import Part
from geometry.reducer import Reducer
from scenes import order
from scenes.examples import open_machine
from scenes.explain import Explainer
from scenes.procedure import Procedure
from scenes.stage import locked_at
from tests.scenes.orders import left_out, swapped
from tests.scenes.sampled import Sampler

MACHINES = ("millrace", "slipway")
TRAVEL = 2.0
"""What travel by lines is good to [mm]."""
SOME = 8
"""Every how many-th adjacent pair of steps is changed over in the default run."""
CAUSES = frozenset({"teeth", "gasket", "shut"})
"""Causes that no collision of solids can tell."""


@dataclass(frozen=True, eq=False)
class Bench:
    """One machine with both judges."""

    reducer: Reducer
    shipped: Procedure
    table: Table
    sampler: Sampler
    exempt: frozenset[frozenset[str]]

    def shapes(self, wrong: Procedure, step: str, names: Collection[str]) -> dict[str, Part]:
        """Parts as they are at a step: tabs flat until bent."""
        place, locked, flat = wrong.order.index(step), locked_at(self.reducer, wrong), order._unlocked(self.reducer)
        return {name: (flat if locked.get(name, -1) > place else self.reducer.by_name)[name] for name in names}

    def differences(self, wrong: Procedure, steps: Collection[str]) -> Iterator[str]:
        """What the two judges do not agree on in these steps, pair by pair and leg by leg, then path by path."""
        said = {(path.step, path.item): path for path in order.prove(self.reducer, wrong, pitch=order.PROOF).blocked}
        for move in order.moves(self.reducer, wrong):
            if move.step not in steps:
                continue
            parts = self.shapes(wrong, move.step, (*move.parts, *move.standing))
            moving, fixed = [parts[name] for name in move.parts], [parts[name] for name in move.standing]
            touches = self.sampler.touches(move, parts, self.exempt)
            for leg, meets in zip(move.legs, touches, strict=True):
                found = self.table.in_the_way(moving, fixed, leg.way, offset=leg.offset, until=leg.length, exempt=self.exempt)
                table = {(a.name, b.name): hit.left for a, b, hit in found}
                library = {(touch.part, touch.by): touch.left for touch in meets}
                for pair in sorted({*table, *library}):
                    mine, theirs = table.get(pair), library.get(pair)
                    if mine is None or theirs is None or abs(mine - theirs) > TRAVEL:
                        yield f"{move.step}: {pair} from {leg.way}: {mine} by the table, {theirs} by the library"
            path = said.get((move.step, move.item))
            slid = move.leaving and parts[move.parts[0]].tool
            if not slid and (path is None or path.cause not in CAUSES) and (path is not None) != any(touches):
                yield f"{move.step}: {move.item}: blocked by {path.by if path else 'nothing'}, the library says {any(touches)}"


@pytest.fixture(scope="module")
def benches() -> dict[str, Bench]:
    found = {}
    for name in MACHINES:
        explainer = Explainer(open_machine(name)[0])
        reducer = explainer.reducer(explainer.start_settings())
        found[name] = Bench(reducer, explainer.procedure, Table(reducer, order.PROOF), Sampler(reducer), order.exempt(reducer))
    return found


def changed_over(shipped: Procedure, every: int, first: int = 0) -> Iterator[tuple[Procedure, tuple[str, ...]]]:
    """Orders with two neighbours changed over, and these two steps: all other steps find what they find in the shipped order."""
    for place in range(first, len(shipped.order) - 1, every):
        yield swapped(shipped, place), shipped.order[place : place + 2]


@pytest.mark.parametrize("name", MACHINES)
def test_neighbouring_steps_changed_over_are_judged_alike(name: str, benches: dict[str, Bench]) -> None:
    """A spread of adjacent swaps; what is blocked and what is free must both be among them."""
    bench, blocked, free = benches[name], 0, 0
    for wrong, steps in changed_over(bench.shipped, SOME, first=3):
        assert list(bench.differences(wrong, steps)) == []
        stopped = {path.step for path in order.prove(bench.reducer, wrong, pitch=order.PROOF).blocked} & set(steps)
        blocked, free = blocked + bool(stopped), free + (not stopped)
    assert blocked >= 2 and free >= 2


@pytest.mark.parametrize("name", MACHINES)
def test_steps_left_out_are_judged_alike(name: str, benches: dict[str, Bench]) -> None:
    """Without the step the later ones of its bench have more room, never less: nearest follower and the step that closes in."""
    bench = benches[name]
    for step, later in (("gear_key", "gear_hot"), ("hs_spacers", "hs_bearing_2"), ("lower_retainer", "lower_retainer_wire")):
        assert list(bench.differences(left_out(bench.shipped, step), (later,))) == []


@pytest.mark.parametrize("name", MACHINES)
def test_the_library_finds_no_two_parts_in_one_place(name: str, benches: dict[str, Bench]) -> None:
    """Every pair of the finished machine, tools taken out, tabs bent: nothing but the exempt pairs overlaps in its seat."""
    bench = benches[name]
    parts = [part for part in bench.reducer.parts if not part.tool]
    shared = [
        (one.name, other.name)
        for place, one in enumerate(parts)
        for other in parts[place + 1 :]
        if frozenset((one.name, other.name)) not in bench.exempt and bench.sampler.overlap(one, other)
    ]
    assert shared == []


@pytest.mark.long
@pytest.mark.parametrize("name", MACHINES)
def test_the_shipped_order_every_adjacent_swap_and_every_omission_are_judged_alike(name: str, benches: dict[str, Bench]) -> None:
    bench = benches[name]
    everything = list(bench.shipped.order)
    differing = list(bench.differences(bench.shipped, everything))
    for place in range(len(everything) - 1):
        differing += bench.differences(swapped(bench.shipped, place), everything)
    for step in everything:
        differing += bench.differences(left_out(bench.shipped, step), everything)
    assert list(dict.fromkeys(differing)) == []
    print(f"{name}: {bench.sampler.asked} positions asked")
