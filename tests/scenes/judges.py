"""One machine with both judges of ways in: the proof's table and positions asked of a general-purpose collision library [mm]."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from functools import cache

from geometry.blocking import Table
from geometry.part import Part
from geometry.reducer import Reducer
from scenes import order
from scenes.benches import locked_at
from scenes.examples import open_machine
from scenes.explain import Explainer
from scenes.moves import moves
from scenes.procedure import Procedure
from tests.scenes.sampled import Sampler

TRAVEL = 2.0
"""What travel by lines is good to [mm]."""
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
        place, locked, flat = wrong.order.index(step), locked_at(self.reducer, wrong), order.unlocked(self.reducer)
        return {name: (flat if locked.get(name, -1) > place else self.reducer.by_name)[name] for name in names}

    def differences(self, wrong: Procedure, steps: Collection[str]) -> Iterator[str]:
        """What the two judges do not agree on in these steps, pair by pair and leg by leg, then path by path."""
        said = {(path.step, path.item): path for path in order.prove(self.reducer, wrong, pitch=order.PROOF).blocked}
        met: dict[tuple[str, str], bool] = {}
        for move in moves(self.reducer, wrong):
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
            if not (move.leaving and parts[move.parts[0]].tool):
                met[move.step, move.item] = met.get((move.step, move.item), False) or any(touches)
        for (step, item), meets_any in met.items():
            path = said.get((step, item))
            if (path is None or path.cause not in CAUSES) and (path is not None) != meets_any:
                yield f"{step}: {item}: blocked by {path.by if path else 'nothing'}, the library says {meets_any}"

    def first_touch(self, wrong: Procedure, step: str, item: str) -> list[tuple[float, str, str]]:
        """What the library meets on the way in of one item: travel left, part, blocking part; farthest from the seat first."""
        move = next(move for move in moves(self.reducer, wrong) if (move.step, move.item) == (step, item))
        parts = self.shapes(wrong, step, (*move.parts, *move.standing))
        touches = zip(move.legs, self.sampler.touches(move, parts, self.exempt), strict=True)
        return sorted(((touch.left + leg.after, touch.part, touch.by) for leg, meets in touches for touch in meets), reverse=True)


@cache
def bench_of(name: str) -> Bench:
    """The bench of a shipped machine at its start settings, one for all tests of a session."""
    explainer = Explainer(open_machine(name)[0])
    reducer = explainer.reducer(explainer.start_settings())
    return Bench(reducer, explainer.procedure, Table(reducer, order.PROOF), Sampler(reducer), order.exempt(reducer))
