"""What a forgotten part costs: what must come off again to bring it in, how much of that sits tight, and the time to do it over.

mm, s. A move of the job must be undone for a forgotten part when what it brought stands in the part's own way in; a move that must be
undone takes with it every later one that shuts its way back out, or that ties what it brought to what stood there by a joint (screws,
dowels, wire, fits, seats). What is tied to the moving side alone rides along, and what is tied to a part taken off goes with that. A unit
that is screwed to a flange goes back as it came, or straight out along its screws when that undoes less. What was tightened without the
part, and what was read meanwhile, is in `made_void`. Shapes are nominal, tabs bent back. Not judged: tilting,
and whether a tight part survives its puller. Parts that all else on their bench stands on can't be forgotten and are left out.
Contents: `Moment`, `Forgotten`, `table`, `report`, `lines`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from calc import units
from calc.cooling import Seconds
from geometry.blocking import QUICK
from geometry.reducer import Reducer
from scenes import made_void
from scenes.moves import required
from scenes.order import Progress
from scenes.procedure import Procedure
from scenes.timeplan import TimePlan, added
from scenes.undoing import Undoing
from scenes.wording import text

TOP = 15
"""Rows that `check --forgotten` prints."""

SPELT_OUT = 10
"""Things that come off again up to which a sentence names them all."""


@dataclass(frozen=True)
class Moment:
    """Noticed after `step`: what comes off again, the last fitted first (`tight`: of that, what sits tight on its shaft; `benches`:
    units drawn out whole), what is loosened and tightened again (`loose`), steps whose readings count for nothing (`void`), all steps
    to be done again and their time [s]."""

    step: str
    number: int
    off: tuple[str, ...]
    tight: tuple[str, ...]
    benches: tuple[str, ...]
    loose: tuple[str, ...]
    void: tuple[str, ...]
    steps: tuple[str, ...]
    time: Seconds


@dataclass(frozen=True)
class Forgotten:
    """What one forgotten part or group costs after each step from its own on; `free_until`: the last step after which nothing tight
    must come off, empty when there is none."""

    item: str
    step: str
    number: int
    moments: tuple[Moment, ...]
    free_until: str

    @property
    def end(self) -> Moment:
        """Noticed at the end (a tool: just before it is taken out)."""
        return self.moments[-1]


def noticed(undoing: Undoing, index: int, place: int, totals: Mapping[str, Seconds]) -> Moment:
    """What it costs when the part of a move is found to be missing after the step at this place. `totals`: time of each step [s]."""
    reducer, procedure = undoing.reducer, undoing.procedure
    event, step = undoing.events[index], procedure.steps[procedure.order[place]]
    undone = undoing.off(index, place)
    off, tight, benches = undoing.things(undone)
    since = procedure.order[event.place + 1 : place + 1]
    loose = made_void.loosened(reducer, procedure, event.move.item, since)
    void = made_void.void_readings(reducer, procedure, (event.move.item, *off, *loose), since)
    tightened = {name for name in since if {*procedure.steps[name].arrives, *procedure.steps[name].tightens} & set(loose)}
    redone = {*undoing.again(undone, place), *tightened, *void}
    again = tuple(name for name in procedure.order if name in redone)
    return Moment(step.id, step.number, off, tight, benches, loose, void, again, added(totals[name] for name in again))


def table(
    reducer: Reducer, procedure: Procedure, times: TimePlan, *, pitch: float = QUICK, progress: Progress | None = None
) -> tuple[Forgotten, ...]:
    """What each forgotten part costs, what hurts most first: by how much sits tight that must come off at the end, then by time.

    `times`: the time plan of the same job [s]. `pitch`: of the dexels [mm]. `progress`: called with parts done and parts in all.
    """
    undoing = Undoing(reducer, required(procedure), pitch)
    totals = {row.id: row.total for row in times.steps}
    found = []
    for index, event in enumerate(undoing.events):
        if progress is not None:
            progress(index, len(undoing.events))
        if event.move.bench:
            continue
        places = range(event.place, min(event.until, len(undoing.procedure.order)))
        moments = [noticed(undoing, index, place, totals) for place in places]
        free = [moment.step for moment in moments if not moment.tight]
        number = procedure.steps[event.move.step].number
        found.append(Forgotten(event.move.item, event.move.step, number, tuple(moments), free[-1] if free else ""))
    if progress is not None:
        progress(len(undoing.events), len(undoing.events))
    return tuple(sorted(found, key=lambda row: (-len(row.end.tight), -row.end.time.value, row.number, row.item)))


def name_of(reducer: Reducer, item: str, benches: Sequence[str] = ()) -> str:
    """A part, a circle of screws, a bearing, or a bench, by its name for a fitter."""
    if item in benches:
        return text(f"order.bench.{item}")
    members = reducer.members(item)
    part = reducer.by_name[members[0]]
    if part.number:
        return text(part.wording, count=len(members))
    return text(part.wording) if len(members) == 1 else text(f"part.{item}")


def sentence(reducer: Reducer, procedure: Procedure, row: Forgotten) -> str:
    """The finished sentence of one row."""
    end = row.end
    values: dict[str, Any] = {"item": name_of(reducer, row.item), "number": row.number, "step": text(f"step.{row.step}.title")}
    if not end.time.value:
        return text("order.forgotten.nothing", **values)
    names = [name_of(reducer, item, end.benches) for item in end.off]
    time = units.show(end.time.value, "time", "mm", digits=0)
    if not names:
        told = [text("order.forgotten.void", **values, time=time)]
    elif len(names) > SPELT_OUT:
        told = [text("order.forgotten.many", **values, count=len(names), first=names[0], last=names[-1], time=time)]
    else:
        told = [text("order.forgotten.row", **values, off=", ".join(names), time=time)]
    if end.loose:
        told.append(text("order.forgotten.loose", names=", ".join(name_of(reducer, item) for item in end.loose)))
    if end.void:
        told.append(text("order.forgotten.readings", steps=", ".join(str(procedure.steps[name].number) for name in end.void)))
    if end.tight:
        told.append(text("order.forgotten.tight", tight=", ".join(name_of(reducer, item, end.benches) for item in end.tight)))
        if row.free_until:
            last = procedure.steps[row.free_until]
            told.append(text("order.forgotten.free_until", number=last.number, step=text(f"step.{last.id}.title")))
        else:
            told.append(text("order.forgotten.never_free"))
    return " ".join(told)


def report(reducer: Reducer, procedure: Procedure, rows: Sequence[Forgotten]) -> list[dict[str, Any]]:
    """What `check --forgotten --json` prints: every row with its sentence, times in s."""
    return [{**asdict(row), "text": sentence(reducer, procedure, row)} for row in rows]


def lines(
    reducer: Reducer, procedure: Procedure, rows: Sequence[Forgotten], system: units.System, *, pitch: float = QUICK
) -> list[str]:
    """What `check --forgotten` prints: the rows that hurt most, and what the figures are. `pitch`: that the table was made at [mm]."""
    shown = [f"{place:2}  {sentence(reducer, procedure, row)}" for place, row in enumerate(rows[:TOP], 1)]
    foot = [text("order.forgotten.more", count=len(rows) - len(shown))] if len(rows) > len(shown) else []
    looked = text("order.forgotten.looked", pitch=units.show(pitch, "length", system, digits=None if system == "inch" else 1))
    return [
        text("order.forgotten.title", shown=len(shown), count=len(rows)),
        *shown,
        *foot,
        looked,
        text("order.forgotten.indicative"),
    ]
