"""What counts no more once a gasket was put in: what it moves, what the opening undoes, and what is done again once the machine is closed.

Whoever opens a closed machine counts tools, packers and locks again, feels the pair again, tightens what was loosened, fills oil and makes
the first run again; common practice, no source. A gasket counts as changed whatever it was measured with. What stays true of a part
(`KEPT`) is not asked again. Contents: `Lapses`.
"""

from __future__ import annotations

from functools import cached_property

from geometry.machine import Machine
from geometry.reducer import assemble
from scenes.dismantling import Dismantling, to_reach
from scenes.gasket_changes import MOVES, changes
from scenes.procedure import Procedure
from scenes.record import PUT_IN, Job, Taken

AFTER_ANY = frozenset({"turning_feel", "tools_out", "locks_counted", "tool_count", "locks"})
"""Readings that close a machine: whatever was opened, they are taken again."""
BEGUN = {"tools_in": "tools_out", "packers_in": "packers_out", "zero_energy": "first_run"}
"""Readings that hold until another one was taken: what was counted out is counted in again, a machine that ran is locked out again."""

KEPT = frozenset({"set_number"})
"""Readings that no opening undoes."""


class Lapses:
    """What the gaskets that were put in on a job leave of its readings. `machine`: as in its file."""

    def __init__(self, machine: Machine, procedure: Procedure, job: Job) -> None:
        self.machine, self.procedure, self.job = machine, procedure, job
        self._ways: dict[str, Dismantling] = {}

    @cached_property
    def changes(self) -> tuple[Taken, ...]:
        """Gaskets that were put in, in their order."""
        return changes(self.job)

    def since(self, taken: Taken, before: int | None = None) -> Taken | None:
        """The gasket that was put in after a reading and makes it void, the last of them; None while the reading holds. `before`: place
        of what is asked before."""
        if taken.state == "found":
            return None
        later = (one for one in reversed(self.changes) if taken.place < one.place and (before is None or one.place < before))
        return next((one for one in later if self._void(one, taken)), None)

    def _void(self, gasket: Taken, taken: Taken) -> bool:
        if taken.read in KEPT:
            return False
        if taken.read in AFTER_ANY or taken.read in MOVES[gasket.read]:
            return True
        way = self._way(gasket.read.removeprefix("gaskets."))
        off = [f"gaskets.{name}" for name in way.parts]
        if taken.read in MOVES:
            return taken.read in off and self._opened(taken, gasket)
        if taken.read in {name for part in off for name in MOVES.get(part, ())}:
            return True
        if taken.read == "pattern_accepted":
            return any("pattern" in self.procedure.steps[name].reads for name in way.steps)
        if taken.read in BEGUN and (way.supports or taken.read != "packers_in"):
            done = self.job.standing(BEGUN[taken.read], *PUT_IN)
            return any(taken.place < one.place < gasket.place for one in done)
        step = self.procedure.steps.get(taken.step)
        if step is None or taken.read not in step.reads:
            return False
        return step.id in way.steps or step.method == "oil"

    def _opened(self, taken: Taken, gasket: Taken) -> bool:
        """Whether a gasket took the place of another, after the machine had been read with one that comes off with it."""
        again = any(one.read == gasket.read and one.place < gasket.place for one in self.changes)
        between = (one for one in self.job.standing("", *PUT_IN) if taken.place < one.place < gasket.place)
        return again and any(one.read not in MOVES for one in between)

    def _way(self, gasket: str) -> Dismantling:
        if gasket not in self._ways:
            self._ways[gasket] = to_reach(assemble(self.machine), self.procedure, gasket)
        return self._ways[gasket]
