"""What a length says place by place: which lie outside its limits, which stands apart from the others, what may be typed wrong. mm.

How far a place may stand apart is an own choice: a tenth of a gasket, and never less than 0.03 mm; 0.02 mm of a diameter; of an end play what
its pushes may differ. So is that a figure near ten times, one tenth, 25.4 times or one over 25.4 of what is expected is asked after.
Contents: `Places`, `doubted`, `read_before`, `typed_twice`.
"""

from __future__ import annotations

from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING

from calc import units
from geometry.fields import Fitted
from geometry.machine import Gasket, Machine
from scenes.callouts.bench import SLACK
from scenes.cures import NOTHING, PLAYS
from scenes.frame import Verdict
from scenes.reads import DIALS, Read, field_at
from scenes.step_limits import Limits
from scenes.wording import text

if TYPE_CHECKING:
    from scenes.record import Job, Taken

PUSHES_APART = 0.03
"""Pushes of one end play that differ by more do not hang together [mm]: own choice, a little over a fitter's deviation."""
GASKET_SHARE, GASKET_LEAST, DIAMETER_APART = 0.1, 0.03, 0.02
"""How far a place of a gasket may stand off the others, of its thickness [1] and at least [mm]; a place of a diameter [mm]: own choice."""
SLIPS = {"ten": 10.0, "tenth": 0.1, "inch": 25.4, "millimetre": 1.0 / 25.4}
"""Slips of the pen: a decimal point, a unit."""
NEAR = 1.25
"""Within this factor of a slip a figure is asked after [1]: own choice."""
SAME_AGAIN = 0.1
"""A figure that is read again within this share of itself is believed [1]: own choice."""
AGAIN = 600.0
"""The same again within so long is asked after [s]: own choice."""
MORE_DIGITS = 3
"""Digits more than usual that a figure gets at most, to be told from its limit."""


@dataclass(frozen=True)
class Places:
    """The values of a length, one by one. `machine`: as in its file; `system`: in whose units they are told."""

    machine: Machine
    read: Read
    values: tuple[float, ...]
    system: units.System

    def against(self, verdict: Verdict, value: float, limits: Limits) -> str:
        """A figure against its limits, with each place outside by its number, and as many digits as tell them from the limits."""
        out = [(place, one) for place, one in enumerate(self.values, 1) if not limits.low - SLACK <= one <= limits.high + SLACK]
        digits = self._digits(([value] if verdict == "stop" else []) + [one for _, one in out], limits)

        def shown(one: float) -> str:
            return units.show(one, self.read.kind, self.system, digits=digits)

        told = {"value": shown(value), "low": shown(limits.least), "high": shown(limits.high), "source": limits.source}
        if not out or len(self.values) == 1 or (verdict == "stop" and len(out) == len(self.values)):
            return text(f"record.says_{verdict}", **told)
        which = "; ".join(text(self._called, place=place, value=shown(one)) for place, one in out)
        return text(f"record.says_{verdict}_places", which=which, **told)

    def _digits(self, values: list[float], limits: Limits) -> int | None:
        """Digits that tell these figures from the limits they are outside of; None where the usual ones do."""
        usual = max(len(units.typed(0.0, self.read.kind, self.system).split(" ")[0]) - 2, 0)
        for more in range(MORE_DIGITS):
            digits = usual + more
            ends = {units.show(one, self.read.kind, self.system, digits=digits) for one in (limits.least, limits.high)}
            outside = (one for one in values if not limits.low - SLACK <= one <= limits.high + SLACK)
            if not any(units.show(one, self.read.kind, self.system, digits=digits) in ends for one in outside):
                return digits if more else None
        return usual + MORE_DIGITS

    @property
    def _called(self) -> str:
        return "record.push" if self.read.name in PLAYS else "record.place"

    def apart(self) -> list[str]:
        """Which place stands apart from the others, or that they all disagree, and what to do; nothing where they hang together."""
        most = self._most()
        if most is None or max(self.values) - min(self.values) <= most + SLACK:
            return []
        far = [place for place, _ in enumerate(self.values) if self._off(place, most) is not None]
        if len(far) == 1:
            off = self._off(far[0], most)
            assert off is not None
            key = "more" if off > 0.0 else "less"
            return [text(f"record.apart_{self._kind}_{key}", place=far[0] + 1, off=units.show(abs(off), "length", self.system))]
        if self._kind == "play":  # told by what judges the pushes
            return []
        spread = max(self.values) - min(self.values)
        told = {name: units.show(size, "length", self.system) for name, size in (("spread", spread), ("most", most))}
        return [text("record.apart_all", **told)]

    def _off(self, place: int, most: float) -> float | None:
        """How far a place stands off the others, where these hang together and it does not [mm]."""
        others = [one for other, one in enumerate(self.values) if other != place]
        off = self.values[place] - median(others)
        return off if len(others) > 1 and max(others) - min(others) <= most + SLACK and abs(off) > most + SLACK else None

    @property
    def _field(self) -> object:
        return field_at(self.machine, self.read.name) if self.read.dimension else None

    @property
    def _kind(self) -> str:
        return "gasket" if isinstance(self._field, Gasket) else "play" if self.read.name in PLAYS else "size"

    def _most(self) -> float | None:
        """How far apart places may be [mm]; None where nothing is said of it."""
        if isinstance(self._field, Gasket):
            return max(GASKET_SHARE * median(self.values), GASKET_LEAST)
        if isinstance(self._field, Fitted):
            return DIAMETER_APART
        return PUSHES_APART if self.read.name in PLAYS else None

    def mistyped(self, limits: Limits | None) -> list[str]:
        """That a figure may be typed wrong, and what would be expected; nothing where it is not near a slip of the pen."""
        expected, value = self._expected(limits), sum(self.values) / len(self.values)
        if expected <= 0.0 or value <= NOTHING:
            return []
        for slip, factor in SLIPS.items():
            if 1.0 / NEAR <= value / expected / factor <= NEAR:
                told = {name: units.show(size, "length", self.system) for name, size in (("value", value), ("expected", expected))}
                return [text(f"record.slip_{slip}", **told)]
        return []

    def _expected(self, limits: Limits | None) -> float:
        """What is expected about [mm]; 0 where nothing is."""
        field = self._field
        if isinstance(field, Gasket):
            return field.thickness
        if isinstance(field, Fitted):
            return field.diameter
        if self.read.dimension:
            return abs(float(getattr(field, "nominal", 0.0)))
        of_limits = limits is not None and self.read.name in (*PLAYS, *DIALS, "pinion_running", "gear_distance")
        return (limits.low + limits.high) / 2.0 if limits is not None and of_limits else 0.0


def doubted(machine: Machine, job: Job, read: Read, taken: Taken) -> bool:
    """Whether a gasket is squeezed at a place or typed wrong, as it seems, and was not read so before: its thickness is not known then."""
    if not read.dimension or not isinstance(field_at(machine, read.name), Gasket):
        return False
    each = Places(machine, read, taken.values, machine.units)
    return bool(each.apart() or each.mistyped(None)) and not read_before(job, taken)


def read_before(job: Job, taken: Taken) -> bool:
    """Whether the same was read before, and not typed in twice: then it is no slip."""
    side = [
        one for one in job.standing(taken.read) if one.place < taken.place and (one.state == "found") == (taken.state == "found")
    ]
    twin = typed_twice(job, taken)
    return any(one is not twin and abs(one.mean - taken.mean) <= SAME_AGAIN * abs(taken.mean) for one in side)


def typed_twice(job: Job, taken: Taken) -> Taken | None:
    """The entry shortly before that says the very same; None where none does."""
    before = [one for one in job.standing(taken.read, taken.state) if one.number < taken.number]
    if not before:
        return None
    last = before[-1]
    same = all(
        getattr(last, name) == getattr(taken, name)
        for name in ("step", "typed", "instrument", "initials", "note", "temperatures", "gauge")
    )
    return last if same and 0.0 <= taken.entered_at - last.entered_at <= AGAIN else None
