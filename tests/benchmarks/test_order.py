"""The proof of the order against dense sampling with a general-purpose collision library, in one run. Run with -m benchmark -s.

Both judge the same ways with the same check solids. The ratio is taken in processor seconds, so that other work on the computer
weighs on neither; the library keeps its bodies and trees, only positions are asked anew.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import pytest

from geometry import blocking
from scenes import forgotten, order
from scenes.examples import open_machine
from scenes.explain import Explainer
from scenes.moves import moves
from scenes.procedure import Procedure
from tests.benchmarks.speed import seconds, told
from tests.scenes.judges import Bench, bench_of
from tests.scenes.orders import moved
from tests.scenes.sampled import Sampler

pytestmark = pytest.mark.benchmark
MACHINES = ("millrace", "slipway")
COLD = {order.QUICK: 4.0, order.PROOF: 8.0}  # s
AFTER_ONE_MOVE, FORGOTTEN = 0.3, 12.0  # s
FASTER = 50.0
"""The first proof of a changed order, after that of the order before, over the same ways asked of the library anew."""


def processor(act: Callable[[], object]) -> float:
    """Processor seconds of one call."""
    start = time.process_time()
    act()
    return time.process_time() - start


def one_later(job: Procedure) -> tuple[Procedure, tuple[str, ...]]:
    """A step moved behind its neighbour, and the two."""
    return moved(job, "hs_sleeve", after="hs_bearing_1"), ("hs_sleeve", "hs_bearing_1")


@pytest.mark.parametrize("pitch", sorted(COLD, reverse=True))
@pytest.mark.parametrize("name", MACHINES)
def test_from_nothing_to_a_verdict_and_after_one_step_was_moved(name: str, pitch: float, nothing_kept: None) -> None:
    explainer = Explainer(open_machine(name)[0])
    reducer = explainer.reducer(explainer.start_settings())
    blocking.forget()
    wrong, _ = one_later(explainer.procedure)
    cold = seconds(lambda: order.prove(reducer, explainer.procedure, pitch=pitch))
    kept = [told(f"{name}: order at {pitch:g} mm, nothing kept", cold, COLD[pitch])]
    again = seconds(lambda: order.prove(reducer, wrong, pitch=pitch))
    kept.append(told(f"{name}: at {pitch:g} mm after one step was moved", again, AFTER_ONE_MOVE))
    assert all(kept)


@pytest.mark.parametrize("name", MACHINES)
def test_the_table_of_forgotten_parts(name: str, nothing_kept: None) -> None:
    explainer = Explainer(open_machine(name)[0])
    start = explainer.start_settings()
    reducer, times = explainer.reducer(start), explainer.times(start)
    blocking.forget()
    taken = seconds(lambda: forgotten.table(reducer, explainer.procedure, times))
    assert told(f"{name}: all forgotten parts, nothing kept", taken, FORGOTTEN)


@pytest.mark.parametrize("name", MACHINES)
def test_same_verdicts_as_the_library_and_a_changed_order_proven_again_much_faster(name: str, nothing_kept: None) -> None:
    bench = bench_of(name)
    assert list(bench.differences(bench.shipped, bench.shipped.order)) == []
    wrong, steps = one_later(bench.shipped)
    blocking.forget()
    order.prove(bench.reducer, bench.shipped)
    whole = processor(lambda: order.prove(bench.reducer, wrong))
    assert list(bench.differences(wrong, steps)) == []
    _sampled(bench, bench.sampler, wrong, steps)
    fresh = Sampler(bench.reducer, remember=False)
    fresh._bodies = bench.sampler._bodies
    slow = processor(lambda: _sampled(bench, fresh, wrong, steps))
    every = processor(lambda: _sampled(bench, fresh, wrong, bench.shipped.order))
    print(f"{name}: only the two steps by the library {1000 * slow:.0f} ms")
    print(
        f"{name}: the whole order: table {1000 * whole:.0f} ms, library {1000 * every:.0f} ms, ratio {every / whole:.0f}; {fresh.asked} positions"
    )
    assert every > FASTER * whole


def _sampled(bench: Bench, sampler: Sampler, wrong: Procedure, steps: tuple[str, ...]) -> None:
    for move in moves(bench.reducer, wrong):
        if move.step in steps:
            sampler.touches(move, bench.shapes(wrong, move.step, (*move.parts, *move.standing)), bench.exempt)
