"""The proof against a general-purpose collision library asked at many places along every path: same verdicts, travel within 2 mm.

Judged apart, because they are no question of solids: the pair of teeth (flank model), a gasket dragged along its face, and a tool
slid out level in any way. The library knows none of them, so paths stopped for such a cause are left out by that cause.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from scenes import order
from scenes.procedure import Procedure
from tests.scenes.judges import Bench, bench_of
from tests.scenes.orders import left_out, swapped

MACHINES = ("millrace", "slipway")
SOME = 8
"""Every how many-th adjacent pair of steps is changed over, and step left out, in the default run; all of them in the long one."""


@pytest.fixture(scope="module")
def benches() -> dict[str, Bench]:
    return {name: bench_of(name) for name in MACHINES}


def changed_over(shipped: Procedure, every: int, first: int = 0) -> Iterator[tuple[Procedure, tuple[str, ...]]]:
    """Orders with two neighbours changed over, and these two steps: all other steps find what they find in the shipped order."""
    for place in range(first, len(shipped.order) - 1, every):
        yield swapped(shipped, place), shipped.order[place : place + 2]


@pytest.mark.parametrize("name", [MACHINES[0], pytest.param(MACHINES[1], marks=pytest.mark.long)])
def test_neighbouring_steps_changed_over_are_judged_alike(name: str, benches: dict[str, Bench]) -> None:
    """A spread of adjacent swaps; what is blocked and what is free must both be among them."""
    bench, blocked, free = benches[name], 0, 0
    for wrong, steps in changed_over(bench.shipped, SOME, first=1):
        assert list(bench.differences(wrong, steps)) == []
        stopped = {path.step for path in order.prove(bench.reducer, wrong, pitch=order.PROOF).blocked} & set(steps)
        blocked, free = blocked + bool(stopped), free + (not stopped)
    assert blocked >= 2 and free >= 2


def followers(wrong: Procedure, shipped: Procedure, step: str) -> tuple[str, ...]:
    """The next step of the bench of the one left out, where there is one: what goes where it should have gone."""
    later = shipped.order[shipped.order.index(step) + 1 :]
    return tuple(name for name in later if wrong.steps[name].bench == shipped.steps[step].bench)[:1]


@pytest.mark.parametrize("name", [MACHINES[0], pytest.param(MACHINES[1], marks=pytest.mark.long)])
def test_steps_left_out_are_judged_alike(name: str, benches: dict[str, Bench]) -> None:
    """Without the step the later ones of its bench have more room, never less: the nearest follower is asked about."""
    bench = benches[name]
    for step in bench.shipped.order[::SOME]:
        wrong = left_out(bench.shipped, step)
        assert list(bench.differences(wrong, followers(wrong, bench.shipped, step))) == []


@pytest.mark.parametrize("name", MACHINES)
@pytest.mark.parametrize(
    ("step", "later"), [("gear_key", "gear_hot"), ("hs_spacers", "hs_bearing_2"), ("lower_retainer", "lower_retainer_wire")]
)
def test_what_closes_in_a_part_left_out_is_judged_alike(step: str, later: str, name: str, benches: dict[str, Bench]) -> None:
    bench = benches[name]
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
def test_the_shipped_order_and_every_adjacent_swap_are_judged_alike(name: str, benches: dict[str, Bench]) -> None:
    bench = benches[name]
    differing = list(bench.differences(bench.shipped, bench.shipped.order))
    for wrong, steps in changed_over(bench.shipped, 1):
        differing += bench.differences(wrong, steps)
    assert list(dict.fromkeys(differing)) == []
    print(f"{name}: {bench.sampler.asked} positions asked")


@pytest.mark.long
@pytest.mark.parametrize("name", MACHINES)
def test_with_every_single_step_left_out_all_others_are_judged_alike(name: str, benches: dict[str, Bench]) -> None:
    bench = benches[name]
    differing: list[str] = []
    for step in bench.shipped.order:
        differing += bench.differences(left_out(bench.shipped, step), bench.shipped.order)
    assert list(dict.fromkeys(differing)) == []
    print(f"{name}: {bench.sampler.asked} positions asked")
