"""The torque of a circle of screws, screw by screw: each must be right, and every one must be read. N·m.

A torque that is asked for after the first run is one of the screws gone over cold: what was written before any run is none.
Contents: `judged`, `after_run`, `has_run`.
"""

from __future__ import annotations

from collections.abc import Sequence

from calc import units
from scenes.frame import Verdict
from scenes.procedure import Procedure
from scenes.record import PUT_IN, Job
from scenes.wording import text

SLACK = 1e-6
"""Rounding in a torque [N·m]."""
RUN = ("first_run", "first_run_temperature", "first_run_minutes")
"""Readings of a first run, any of which says that there was one."""


def after_run(procedure: Procedure, step: str) -> bool:
    """Whether the torques of a step are those gone over after the first run."""
    return step in procedure.steps and "first_run" in procedure.steps[step].reads


def has_run(job: Job) -> bool:
    """Whether a first run was written down since the new parts went in."""
    return any(one.read in RUN and one.typed != ("no",) for one in job.standing("", *PUT_IN))


def judged(
    values: Sequence[float], screws: int, limits: tuple[float, float, str] | None, system: units.System
) -> tuple[Verdict, tuple[str, ...], tuple[str, ...]]:
    """What the torques of one circle say: verdict, what they say, what to do. `values` in the order in which they were typed; `screws`:
    how many there are; `limits`: lowest, highest and their source, None where the machine file has no torque."""

    def shown(value: float) -> str:
        return units.show(value, "torque", system)

    says, now = [], []
    verdict: Verdict = ""
    if len(values) > 1:
        mean = shown(sum(values) / len(values))
        says.append(text("record.says_several", count=len(values), low=shown(min(values)), high=shown(max(values)), mean=mean))
    if limits is not None:
        low, high, source = limits
        out = [(place, value) for place, value in enumerate(values, 1) if not low - SLACK <= value <= high + SLACK]
        told = {"low": shown(low), "high": shown(high), "source": source}
        verdict = "stop" if out else "fine"
        if out:
            which = "; ".join(text("record.screw", place=place, value=shown(value)) for place, value in out)
            which = which if len(out) < len(values) or len(out) == 1 else text("record.screws_all", count=len(out))
            says.append(text("record.says_screws_out", which=which, **told))
            now += [text("record.now_torque")] * any(value < low for _, value in out)
            now += [text("record.now_over_torque")] * any(value > high for _, value in out)
        else:
            says.append(text("record.says_screws", **told))
    if len(values) != screws:
        now.append(text("record.now_screws", count=len(values), screws=screws))
        verdict = verdict if verdict == "stop" else "watch"
    return verdict, tuple(says), tuple(now)
