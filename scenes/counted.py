"""What is counted on a job: packers and tools that go in and must come out, and the locks at the end. Contents: `judged`, `locks`."""

from __future__ import annotations

from typing import TYPE_CHECKING

from geometry.joints import NutJoint, WireJoint
from geometry.reducer import Reducer
from scenes.frame import Verdict
from scenes.wording import text

if TYPE_CHECKING:
    from scenes.record import Job, Taken

CAME_IN = {"packers_out": "packers_in", "tools_out": "tools_in"}
"""What goes out, and what it must be as many as."""
Said = tuple[Verdict, tuple[str, ...], tuple[str, ...]]


def locks(reducer: Reducer) -> tuple[int, int]:
    """Tab washers, each with a tab bent, and screw heads that a lockwire goes through, as the kit list counts them."""
    return len(reducer.of_kind(NutJoint)), sum(joint.count for joint in reducer.of_kind(WireJoint))


def packers(reducer: Reducer) -> int:
    """Packers of the machine."""
    return sum(part.name.startswith("packer_") for part in reducer.parts)


def judged(reducer: Reducer, job: Job, taken: Taken) -> Said:
    """What a count says: verdict, what it says, what to do now; `job`: what had been entered before."""
    count = int(taken.values[-1])
    if taken.read == "tools_in":
        return "", (text("record.says_tools", count=count),), ()
    if taken.read == "packers_in":
        drawn = packers(reducer)
        says = (text("record.says_packers", count=count, drawn=drawn),)
        if count < drawn:
            return "stop", says, (text("counted.packers_short", drawn=drawn),)
        return ("fine", says, ()) if count == drawn else ("watch", says, (text("counted.packers_over", drawn=drawn),))
    if taken.read == "locks_counted":
        washers, heads = locks(reducer)
        says = (text("record.says_locks", count=count, washers=washers, heads=heads, drawn=washers + heads),)
        if count > washers + heads:
            return "stop", says, (text("counted.locks_over"),)
        return ("fine", says, ()) if count == washers + heads else ("stop", says, (text("record.now_locks"),))
    came = job.latest(CAME_IN[taken.read])
    thing = "tools" if taken.read == "tools_out" else "packers"
    if came is None:
        return "stop", (), (text("record.now_not_counted_in" if thing == "packers" else "record.now_no_tools_in"),)
    inside = int(came.values[-1])
    told = (text("record.says_counted", came=inside, left=count),)
    if count > inside:
        return "stop", told, (text(f"counted.{thing}_more_out", number=came.number),)
    if count < inside:
        return "stop", told, (text("record.now_count" if thing == "packers" else "record.now_tools"),)
    if thing == "packers" and count < packers(reducer):
        return "stop", told, (text("counted.packers_missed", drawn=packers(reducer), number=came.number),)
    return "fine", told, ()
