"""Who must come before whom: pairs every fitter knows, orders that keep all links, links turned round, critical path, two fitters.

Which pairs must keep their order is common practice of the trade, no source, except where the geometry itself is the judge.
"""

from __future__ import annotations

import random
from itertools import combinations

import numpy as np
import pytest
from scipy.optimize import linprog

from geometry.blocking import Table
from geometry.reducer import Reducer
from scenes import network, order, whole
from scenes.closure import Closure
from scenes.examples import open_machine
from scenes.explain import Explainer
from scenes.network import Network
from scenes.precedence import Precedence, precedence
from scenes.procedure import Procedure, reordered
from scenes.timeplan import TimePlan

MACHINES = ("millrace", "slipway")
MUST = [
    ("dowels", "ls_bearing_1"),
    ("split_screws", "ls_bearing_1"),
    ("split_screws", "ls_end_play"),
    ("cartridge_draw_in", "hs_end_play"),
    ("gear_key", "gear_hot"), ("gear_spacer", "lower_inner_ring"), ("lower_inner_ring", "lower_nut"), ("lower_outer_ring", "lower_retainer"),
    ("lower_retainer", "lower_retainer_wire"), ("carrier_screws", "shaft_down"), ("packers", "shaft_down"), ("packers_out", "plates"),
    ("pinion_key", "pinion_hot"), ("pinion_hot", "pinion_nut"), ("inner_inner_ring", "shaft_into_cartridge"),
    ("inner_retainer_wire", "shaft_into_cartridge"), ("hs_sleeve", "hs_bearing_1"), ("hs_bearing_1", "hs_spacers"),
    ("hs_spacers", "hs_bearing_2"), ("hs_spacers", "hs_nut"), ("pinion_gasket", "cartridge_in"), ("shaft_down", "cartridge_in"),
    ("seal_bead", "upper_half"), ("upper_half", "split_screws"), ("hs_float_gasket", "hs_cover"), ("hs_seal", "hs_cover"),
    ("gear_gasket", "ls_cartridge"), ("ls_spacers", "ls_nut"), ("ls_float_gasket", "ls_cover"), ("ls_nut", "ls_cover"),
    ("hs_cover", "coupling_keys"), ("ls_cover", "coupling_keys"),
    ("make_safe", "gear_key"), ("make_safe", "cartridge_stand"), ("backlash", "oil_first_run"), ("plates", "oil_first_run"),
]  # fmt: skip
FREE = [("gear_hot", "pinion_hot"), ("hs_seal", "gear_key"), ("ls_seal", "upper_half"), ("lower_outer_ring", "pinion_key"), ("packers", "hs_spacers")]  # fmt: skip


class Worked:
    """A shipped machine with its links, its time plan and what they leave open."""

    def __init__(self, name: str) -> None:
        explainer = Explainer(open_machine(name)[0])
        now = explainer.start_settings()
        self.reducer: Reducer = explainer.reducer(now)
        self.job: Procedure = explainer.procedure
        self.table = Table(self.reducer, order.QUICK)
        self.links: Precedence = precedence(explainer.job(now), table=self.table)
        self.times: TimePlan = explainer.times(now)
        self.network: Network = network.network(self.job, self.links, self.times)

    def free(self, names: list[str]) -> bool:
        """Whether every way in is free in another order."""
        return order.prove(self.reducer, reordered(self.job, names), table=self.table).free


@pytest.fixture(scope="module", params=[MACHINES[0], pytest.param(MACHINES[1], marks=pytest.mark.long)])
def worked(request: pytest.FixtureRequest) -> Worked:
    return Worked(request.param)


@pytest.mark.parametrize(("first", "second"), MUST)
def test_the_fitter_s_known_pairs_keep_their_order(first: str, second: str, worked: Worked) -> None:
    assert worked.links.closure.has(first, second)


@pytest.mark.parametrize(("first", "second"), FREE)
def test_work_on_benches_that_have_nothing_to_do_with_each_other_is_free(first: str, second: str, worked: Worked) -> None:
    assert not worked.links.closure.has(first, second) and not worked.links.closure.has(second, first)


def _drawn(links: Precedence, chance: random.Random) -> list[str]:
    """An order that keeps all links, drawn by chance."""
    names: list[str] = []
    while len(names) < len(links.order):
        ready = [name for name in links.order if name not in names and set(links.closure.before(name)) <= set(names)]
        names.append(chance.choice(ready))
    return names


@pytest.mark.parametrize("seed", range(5))
def test_every_way_is_free_in_any_order_that_keeps_the_links(seed: int, worked: Worked) -> None:
    names = _drawn(worked.links, random.Random(seed))
    assert names != list(worked.job.order) and worked.links.allows(names)
    assert worked.free(names)
    assert whole.gaps(worked.reducer, reordered(worked.job, names)) == ()


def test_a_way_is_shut_when_a_link_of_the_ways_is_turned_round(worked: Worked) -> None:
    """Each direct link alone, all others kept: the table says who comes first, the judgement of the whole order must agree."""
    closure = worked.links.closure
    ways = [link for link in worked.links.reduced if link.kind == "way"]
    assert len(ways) > 30
    for link in random.Random(1).sample(ways, 15):
        early = {*closure.before(link.after), *closure.before(link.before)} - {link.before}
        names = [name for name in worked.job.order if name in early]
        names += [link.after, link.before]
        names += [name for name in worked.job.order if name not in names]
        assert not worked.free(names), f"{link.before} after {link.after}: {link.text}"


def test_the_freedom_of_a_step_is_reached_at_both_ends_and_not_beyond(worked: Worked) -> None:
    closure, names = worked.links.closure, worked.job.order
    for step in ("gear_key", "pinion_hot", "packers_out", "hs_seal", "ls_cover"):
        first, last = worked.links.freedom(step)
        before, after = closure.before(step), closure.after(step)
        early = [
            *(name for name in names if name in before),
            step,
            *(name for name in names if name not in before and name != step),
        ]
        late = [*(name for name in names if name not in after and name != step), step, *(name for name in names if name in after)]
        assert early.index(step) + 1 == first and late.index(step) + 1 == last
        assert worked.links.allows(early) and worked.links.allows(late)
        for wrong, place in ((early, first - 2), (late, last)):
            if 0 <= place < len(names):
                rest = [name for name in wrong if name != step]
                rest.insert(place, step)
                assert not worked.links.allows(rest)


def test_direct_links_say_all_that_the_links_say_and_none_twice(worked: Worked) -> None:
    direct = [(link.before, link.after) for link in worked.links.reduced]
    again = Closure(worked.job.order, direct)
    every = [(a, b) for a in worked.job.order for b in worked.job.order if a != b]
    assert [again.has(a, b) for a, b in every] == [worked.links.closure.has(a, b) for a, b in every]
    for pair in direct:
        assert not Closure(worked.job.order, [other for other in direct if other != pair]).has(*pair)


def test_the_critical_path_is_as_long_as_the_shortest_job_of_a_linear_program(worked: Worked) -> None:
    """Least end of the job with every step begun after those before it are done, by scipy's solver from all links."""
    names = list(worked.job.order)
    took = {row.id: row.total.value for row in worked.times.steps}
    rows, limits = [], []
    for link in worked.links.links:
        row = np.zeros(len(names) + 1)
        row[names.index(link.before)], row[names.index(link.after)] = 1.0, -1.0
        rows.append(row)
        limits.append(-took[link.before])
    for place, name in enumerate(names):
        row = np.zeros(len(names) + 1)
        row[place], row[-1] = 1.0, -1.0
        rows.append(row)
        limits.append(-took[name])
    least = linprog([0.0] * len(names) + [1.0], A_ub=np.array(rows), b_ub=limits, bounds=(0, None))
    assert worked.network.critical_time == pytest.approx(least.fun, rel=1e-9)
    path = worked.network.critical
    assert sum(took[name] for name in path) == pytest.approx(worked.network.critical_time, rel=1e-12)
    assert all(worked.links.closure.has(a, b) for a, b in zip(path, path[1:], strict=False))


def test_two_fitters_never_meet_at_one_bench_nor_begin_too_early(worked: Worked) -> None:
    slots = {slot.step: slot for slot in worked.network.plan}
    assert set(slots) == set(worked.job.order)
    for link in worked.links.links:
        assert slots[link.before].end <= slots[link.after].start
    for one, other in combinations(worked.network.plan, 2):
        benches = [{step.bench, step.merges} - {""} for step in (worked.job.steps[one.step], worked.job.steps[other.step])]
        if one.fitter == other.fitter or benches[0] & benches[1]:
            assert one.end <= other.start or other.end <= one.start, (one, other)
    assert max(worked.network.critical_time, worked.network.alone / 2) <= worked.network.together < worked.network.alone


def test_what_has_joined_is_one_unit_at_which_one_fitter_works(worked: Worked) -> None:
    """From the merge on, a step on either bench is at the same unit: the pinion shaft that stands in its cartridge, then in the case."""
    plan = sorted(worked.network.plan, key=lambda slot: (slot.end, slot.start))

    def unit(bench: str, at: float) -> frozenset[str]:
        """All benches that hang together by then."""
        mine = {bench}
        for _ in plan:
            for slot in plan:
                step = worked.job.steps[slot.step]
                if step.merges and slot.end <= at and mine & {step.bench, step.merges}:
                    mine |= {step.bench, step.merges}
        return frozenset(mine)

    assert len({unit(bench, worked.network.together) for bench in ("high_speed_shaft", "carrier", "case")}) == 1
    for one, other in combinations(worked.network.plan, 2):
        if one.end > other.start and other.end > one.start:
            at = max(one.start, other.start)
            benches = [
                frozenset().union(*(unit(bench, at) for bench in (step.bench, step.merges) if bench))
                for step in (worked.job.steps[one.step], worked.job.steps[other.step])
            ]
            assert not benches[0] & benches[1], (one, other)


def test_the_pinion_shaft_and_the_gear_shaft_are_built_up_side_by_side(worked: Worked) -> None:
    pairs = worked.network.side_by_side
    assert ("low_speed_shaft", "high_speed_shaft") in pairs
    assert not any("closing" in pair for pair in pairs), "the case is closed over all that was built before"


def test_a_link_that_closes_a_circle_is_refused() -> None:
    closure = Closure(["key", "gear", "nut"], [("key", "gear"), ("gear", "nut")])
    assert closure.has("key", "nut") and not closure.has("nut", "key")
    with pytest.raises(ValueError, match="nut before key"):
        closure.add("nut", "key")
