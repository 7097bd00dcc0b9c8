"""How long the proof of the order takes. Run with -m benchmark -s."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from geometry import blocking, check_solids, features, solid, strips
from geometry.blocking import Table
from geometry.check_solids import check_solid
from geometry.part import Solid
from geometry.reducer import Reducer, assemble
from scenes import order
from scenes.examples import open_machine
from scenes.explain import Explainer
from tests.benchmarks.speed import seconds, told
from tests.scenes.orders import moved

pytestmark = pytest.mark.benchmark
MACHINES = ("millrace", "slipway")
LIMITS = {order.QUICK: 4.0, order.PROOF: 8.0}  # s
AGAIN, OTHER_ORDER, OTHER_GASKET = 0.6, 1.0, 2.0  # s


@pytest.fixture
def forgotten(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A computer that never built a shape nor judged a pair."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    for memory in (
        solid._memory,
        check_solids._memory,
        blocking._boxes,
        blocking._cuts,
        blocking._pairs,
        blocking._loops,
        strips._shrunk,
    ):
        memory.clear()
    yield


@pytest.mark.parametrize("pitch", sorted(LIMITS, reverse=True))
@pytest.mark.parametrize("name", MACHINES)
def test_from_nothing_to_a_proven_order_and_again(name: str, pitch: float, forgotten: None) -> None:
    explainer = Explainer(open_machine(name)[0])
    now = explainer.start_settings()
    reducer = explainer.reducer(now)
    solid._memory.clear()
    kept = [told(f"{name}: order at {pitch:g} mm, nothing kept", seconds(lambda: order.prove(reducer, explainer.procedure, pitch=pitch)), LIMITS[pitch])]  # fmt: skip
    kept.append(told(f"{name}: the same again", seconds(lambda: order.prove(reducer, explainer.procedure, pitch=pitch)), AGAIN))
    other = moved(explainer.procedure, "hs_sleeve", after="hs_bearing_1")
    kept.append(told(f"{name}: another order", seconds(lambda: order.prove(reducer, other, pitch=pitch)), OTHER_ORDER))
    thicker = explainer.reducer(explainer.with_(now, gaskets={"pinion_gasket": 0.6}))
    kept.append(told(f"{name}: another gasket", seconds(lambda: order.prove(thicker, explainer.procedure, pitch=pitch)), OTHER_GASKET))  # fmt: skip
    assert all(kept)


def test_against_boolean_volumes_sampled_every_two_millimetres(forgotten: None) -> None:
    """One part against one in its way, 200 mm of travel: the table's answer and the sampled boolean's, check solids built."""
    reducer = assemble(open_machine("millrace")[0])
    table = Table(reducer)
    pairs = [("inner_retainer", "pinion", (-1.0, 0.0, 0.0)), ("gear", "lower_case", (0.0, 0.0, 1.0)), ("pinion", "gear", (0.0, 0.0, 1.0))]  # fmt: skip

    def shaped(name: str) -> features.Manifold:
        item = reducer.by_name[name]
        shape = check_solid(item.spec, table.sizes.get(name, ()))
        return features.from_solid(Solid(shape.vertices @ item.pose[:3, :3].T + item.pose[:3, 3], shape.faces))

    def sampled() -> None:
        for a, b, way in pairs:
            moving, fixed = shaped(a), shaped(b)
            for shift in np.arange(0.0, 200.0, 2.0):
                (moving.translate(tuple(shift * np.array(way))) ^ fixed).volume()

    def looked_up(reducer: Reducer = reducer) -> None:
        for a, b, way in pairs:
            table.hit(reducer.by_name[a], reducer.by_name[b], way)

    for a, b, _ in pairs:
        shaped(a), shaped(b)
    fast, slow = seconds(looked_up), seconds(sampled)
    told("three pairs by intervals", fast, 1.0)
    told("three pairs by 100 boolean volumes each", slow, 60.0)
    print(f"ratio {slow / fast:.0f}")
    assert fast < slow
