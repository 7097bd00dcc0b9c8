"""How a pair feels that is turned by hand: what was felt, what that says, where to look first. Common practice, no source.

A tight spot is told by how often it comes: what turns with the pinion comes round once in its turn, what turns with the gear once in the
gear's. Contents: `FELT`, `FEELS`, `felt`, `word`, `tight`, `choices`, `says`, `now`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from types import MappingProxyType

from calc import refusal, units
from geometry.machine import Gears
from scenes.procedure_file import suggestion
from scenes.wording import text, texts

FELT = frozenset({"turning_feel"})
"""Readings of a feel."""
FEELS = ("free", "even", "tight pinion", "tight gear", "tight everywhere")
"""What can be felt: nothing, a drag alike all round, a spot once in a turn of the pinion or of the gear, tight all round."""
FIRST: Mapping[str, tuple[str, ...]] = MappingProxyType({
    "tight gear": ("backlash",),
    "tight everywhere": ("high_speed_end_play", "low_speed_end_play", "backlash"),
})  # fmt: skip
"""Readings that tell most of a tight place."""


def felt(given: str) -> str:
    """What was felt, from what was typed. Raises ValueError."""
    found = " ".join(given.lower().replace("_", " ").replace("-", " ").replace(",", " ").split())
    if found not in FEELS:
        spoken = frozenset(map(word, FEELS))
        raise ValueError(text("feel.unknown", given=refusal.told(given), suggestion=suggestion(found, spoken)))
    return found


def word(one: str) -> str:
    """A feel in the language spoken, as it is typed there."""
    return text(f"feel.word.{one.replace(' ', '_')}")


def tight(given: Sequence[str]) -> bool:
    """Whether anything was felt that must be found before the job goes on."""
    return any(felt(one).startswith("tight") for one in given)


def choices() -> str:
    """What can be felt, as it is typed, the good first."""
    good, bad = (", ".join(word(one) for one in FEELS if tight([one]) == bad) for bad in (False, True))
    return text("feel.choices", good=good, bad=bad)


def says(given: Sequence[str], gears: Gears) -> Iterator[str]:
    """What each feel says, a sentence each."""
    turns = units.figure(gears.gear_teeth / gears.pinion_teeth, ".2f")
    for one in dict.fromkeys(map(felt, given)):
        yield text(f"feel.says.{one.replace(' ', '_')}", turns=turns)


def now(given: Sequence[str], last: Callable[[str], Sequence[str]]) -> Iterator[str]:
    """What to look at, the likeliest first, after what was read of it; nothing where nothing is tight. `last`: values of a reading as
    last typed, none where it was not taken."""
    spots = [one for one in dict.fromkeys(map(felt, given)) if one.startswith("tight")]
    if not spots:
        return
    for name in dict.fromkeys(name for one in spots for name in FIRST.get(one, ())):
        values = "; ".join(last(name))
        yield text("feel.read" if values else "feel.not_read", title=text(f"read.{name}"), values=values)
    yield text("feel.hand")
    yield text("feel.causes")
    yield from dict.fromkeys(cause for one in spots for cause in texts(f"feel.cause.{one.replace(' ', '_')}"))
    yield text("feel.then")
