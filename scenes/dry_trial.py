"""The marks of the dry trial: they were made in the open case, without the film of the split, and are not those of the closed machine.

Marks are the trial's as long as nothing was written down after it that only a later step asks for. Contents: `marks`.
"""

from __future__ import annotations

from scenes.procedure import Procedure
from scenes.record import PUT_IN, Job

TRIAL, MARKS = "trial_backlash", "pattern"
ANYWHEN = frozenset({MARKS, "turning_feel", "pattern_accepted", "zero_energy"})
"""Readings that do not tell that the case was closed."""


def marks(procedure: Procedure, job: Job) -> frozenset[int]:
    """Numbers of the entries that are marks of the dry trial."""
    trial = next((place for place, name in enumerate(procedure.order) if TRIAL in procedure.steps[name].reads), None)
    if trial is None:
        return frozenset()
    steps = [procedure.steps[name] for name in procedure.order[trial + 1 :]]
    later = {(step.id, read) for step in steps for read in step.reads if read not in ANYWHEN}
    found, dry = set(), False
    for one in job.standing("", *PUT_IN):
        if one.read == TRIAL:
            dry = True
        elif (one.step, one.read) in later:
            dry = False
        elif dry and one.read == MARKS:
            found.add(one.number)
    return frozenset(found)
