"""Whose record it is: machine, set and teeth of its opening against the machine file.

The title is only a name: the same set with the same teeth is the same machine, whatever it is called now. Another set is another pair, and
what was read on one says nothing of the other. What can't be told is signed for by somebody who looked at the numbers on the gears.
Contents: `of`, `judged`, `refused`, `remark`, `hindrance`, `answered`.
"""

from __future__ import annotations

from typing import Literal

from calc import units
from geometry.machine import Machine
from scenes import set_number
from scenes.record import Whose
from scenes.wording import text

Likeness = Literal["same", "renamed", "unsure", "set", "other"]
"""The same; the same under another title; not to be told; the same title with gears of another set; another machine."""


def of(machine: Machine) -> Whose:
    """What a record of this machine says in its opening."""
    gears = machine.gears
    teeth = f"{gears.pinion_teeth}:{gears.gear_teeth}, {gears.module:.3f} mm, {gears.pinion_hand}"
    return Whose(machine.name, gears.set_number or "", teeth)


def judged(kept: Whose, given: Whose) -> Likeness:
    """A record's opening against the machine file."""
    if not kept.machine:
        return "same"
    known = bool(kept.set_number and given.set_number)
    likeness = set_number.judged(given.set_number, [kept.set_number]) if known else "watch"
    another = bool(kept.gears) and kept.gears != given.gears
    if kept.machine == given.machine:
        if another or likeness == "stop":
            return "set"
        return "unsure" if known and likeness == "watch" else "same"
    if another or likeness == "stop":
        return "other"
    return "renamed" if likeness == "fine" and kept.gears else "unsure"


def refused(file: object, kept: Whose, given: Whose) -> str:
    """Why a record is not opened beside this machine; empty when it is."""
    return (
        text("record.other_machine", file=file, machine=kept.machine, given=given.machine) if judged(kept, given) == "other" else ""
    )


def remark(kept: Whose, given: Whose) -> str:
    """What is told of a record whose opening differs from the machine file; empty where it does not."""
    likeness = judged(kept, given)
    return "" if likeness == "same" else text(f"record.whose_{likeness}", **_told(kept, given))


def hindrance(kept: Whose, given: Whose) -> str:
    """Why nothing is added to a record, and what to do; empty where nothing stands against it."""
    stopped = judged(kept, given) not in ("same", "renamed")
    return text("record.whose_stop", remark=remark(kept, given)) if stopped else ""


def answered(kept: Whose) -> tuple[str, ...]:
    """Who answered for it that the record is of the machine and set that it now says, in a sentence; nothing where nobody had to."""
    if not kept.initials:
        return ()
    return (text("record.same_report", number=kept.number, initials=kept.initials, time=kept.time[:10], note=kept.note),)


def _told(kept: Whose, given: Whose) -> dict[str, str]:
    unsaid, told = text("record.not_stated"), {}
    for side, one in (("record", kept), ("file", given)):
        gears = units.marked(", ".join(one.gears.split(", ")[:2]))  # teeth and module: figures alone, for every language
        told |= {f"{side}_machine": one.machine, f"{side}_set_number": one.set_number or unsaid, f"{side}_gears": gears or unsaid}
    return told
