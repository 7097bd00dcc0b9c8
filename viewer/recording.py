"""What is behind the form of the record: the open record, the lines of the step that is shown, what was typed and what became of it.

A value is judged as it is typed, and on the disk before the page says so. The file is read and added to beside the page, which goes on
drawing while somebody else holds it. What was typed stays in its box until it is on the disk.
Contents: `Recording`, `state_of`.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, NamedTuple, TypeVar

from scenes import held_back, record, record_listing, record_time, record_typed, record_words
from scenes.procedure import Procedure
from scenes.reads import Read
from scenes.wording import text
from viewer.record_form import CHOSEN, FORM, HOW, MOST, ONCE, STRIKE, WHO

ENTRIES: Final = 8  # that can be struck from the page besides those of the step
SETTLED: Final = 0.15  # s without another key before a value is judged
PATIENT: Final = 0.3  # s that the file may take before the page says that it waits for it
Result = TypeVar("Result")
STRIKING, LOOKING = ("", "strike"), ("", "look")
"""What goes on with the file besides a reading, which is called by its step and its name."""
CLOSING: Final = ("closing_checks", "finish")
"""Phases whose readings are those of the machine as left."""


def state_of(procedure: Procedure, step: str | None) -> record.State:
    """The state in which readings of a step are taken as a rule: as left from the closing checks on; beside the steps, which only put
    together, the machine comes apart."""
    if step is None:
        return "found"
    return "left" if procedure.steps[step].phase in CLOSING else "fitting"


@dataclass(frozen=True)
class _Added:
    """An entry on the disk: its number, the record read anew; what kept it from being read."""

    number: int
    now: _Now | None
    fault: str = ""

    @property
    def found(self) -> record_listing.Opened | None:
        return self.now.found if self.now else None


class _Now(NamedTuple):
    """The record as it now is, and its file as it was before."""

    found: record_listing.Opened
    stamp: tuple[int, ...]


class Recording:
    """The open record, and the readings of the step that is shown. `now` gives the settings; `measured` is called with the machine as it
    stands in the record whenever that is another one."""

    def __init__(
        self, server: Any, now: Callable[[], Any], found: record_listing.Opened | None, measured: Callable[[Any], None]
    ) -> None:
        self.found, self.state, self.now, self.measured = found, server.state, now, measured
        self.names: list[str] = []
        self._at: tuple[object, ...] = ()
        self._drafts: dict[tuple[str, str], str] = {}
        self._stamp = _stamp(found.record.path) if found else ()
        self._timer: asyncio.TimerHandle | None = None
        self._file = asyncio.Lock()
        self._told_gone: tuple[object, ...] = ()
        self._under_way: set[tuple[str, str]] = set()
        self._acts: set[asyncio.Task[None]] = set()
        path = found.record.path if found else Path()
        self.state.update({name: "" for name in (*WHO, "record_name", "record_old", "record_why")})
        self.state.update({name: "" for name in ("record_fault", "record_done", "record_waiting", "record_other_state")})
        self.state.update({f"record_{slot}": "" for slot in range(MOST + 1)})
        self.state.update({"record_open": found is not None, "record_job": text("page.record_job", job=path.name)})
        self.state.update({"record_path": str(path), "record_state": "found", "record_chosen": _nothing(), "to_record": []})
        self.state.update({"to_record_at": "", "record_tried": [None] * (MOST + 1), "record_groups": [], "record_entries": []})
        self.state.update(
            {
                "record_here": [],
                "record_busy": [],
                "record_at": FORM,
                "record_gone": "",
                "record_stop": _stop(found) if found else "",
            }
        )
        acts = (("reading", self._beginning(self.add)), ("strike", self._beginning(self.strike)))
        for name, act in (*acts, ("typed", self.typed), ("chosen", self.chosen)):
            server.controller.trigger(f"record_{name}")(act)
        self.state.change("record_state", *HOW)(self._judge_again)

    # -- what is shown --------------------------------------------------------------------------------------------

    def shown(self, step: str | None) -> None:
        """Show the lines of this step; what was typed at another stays there until one comes back to it."""
        if self.found is None:
            return
        now = self.now()
        at = (step, now.units, self._stamp)
        if at == self._at:
            return
        first, before, self._at = not self._at, (self._at or (None,))[0], at
        names = list(self.found.planned.procedure.steps[step].reads[:MOST]) if step else []
        if first or before != step:
            self._moved(names, step)
            if first or self.state.record_state == self._usual(before):
                self._set({"record_state": self._usual(step)})
            self._tell_state()
        reads = self.found.reads
        self.state.to_record = [self._asked(reads[name], step or "") for name in names]
        self.state.record_groups = record_typed.choice(self.found, now)
        self.state.record_entries = record_typed.strikable(self.found, step or "", ENTRIES)
        self.state.record_here = record_typed.entries_at(self.found, step or "")
        if self.state.record_name:
            self.state.record_chosen = self._asked(reads[self.state.record_name], "")

    def _moved(self, names: list[str], step: str | None) -> None:
        self._unjudged()
        for slot, name in enumerate(self.names):
            self._drafts[self.state.to_record_at, name] = self.state[f"record_{slot}"]
        self.names = names
        self._set({f"record_{slot}": self._drafts.get((step or "", name), "") for slot, name in enumerate(names)})
        self._set({name: "" for name in HOW})
        self.state.record_tried, self.state.to_record_at = [None] * (MOST + 1), step or ""
        self._tell(FORM, waiting=self.state.record_waiting)
        self._show_busy()

    def _usual(self, step: Any) -> record.State:
        assert self.found is not None
        return state_of(self.found.planned.procedure, step)

    def _tell_state(self) -> None:
        """Say so where the state was chosen by hand and is not the usual one of this step."""
        usual = self._usual(self.now().step)
        same = self.state.record_state == usual
        self.state.record_other_state = "" if same else text("page.record_other_state", state=text(f"record.state_{usual}"))

    def look(self) -> None:
        """Read the record anew, beside the page, if another program has added to it."""
        if self.found is not None and _stamp(self.found.record.path) != self._stamp and LOOKING not in self._under_way:
            self._beginning(self._look)()

    async def _look(self) -> None:
        try:
            self._take(await self._beside(LOOKING, self._read))
        except ValueError as error:
            self._tell(FORM, fault=str(error))

    def _asked(self, read: Read, step: str) -> dict[str, Any]:
        assert self.found is not None
        return record_typed.asked(self.found, read, step, self.now())

    def _take(self, now: _Now) -> None:
        """Go on with the record as it now is, and with the machine that it makes."""
        self.found, self._stamp = now
        self.state.record_gone = now.found.lost
        self.measured(now.found.present)
        asyncio.get_running_loop().call_later(SETTLED, self._beginning(self._say_stop))  # what was saved is told first

    async def _say_stop(self) -> None:
        """What stands at stop in the record by now, worked out beside the page."""
        found = self.found
        if found is not None:
            said = await asyncio.to_thread(_stop, found)
            if found is self.found:
                self.state.record_stop = said
                self.state.flush()

    def _set(self, values: dict[str, Any]) -> None:
        """Put values into boxes, whatever stands in them on the page: what was typed may not have come here yet."""
        for name, value in values.items():
            self.state[name] = value
            self.state.dirty(name)

    def _tell(self, at: int, *, fault: str = "", done: str = "", waiting: str = "") -> None:
        """Say at one place of the form what became of what was done there; nothing at any other."""
        self.state.update({"record_at": at, "record_fault": fault, "record_done": done, "record_waiting": waiting})

    def _beginning(self, act: Callable[..., Coroutine[Any, Any, None]]) -> Callable[..., None]:
        """An act that waits for the file, as one that is only begun: the page hears what is done meanwhile."""

        async def done(*given: object) -> None:
            with self.state:
                await act(*given)

        def begin(*given: object) -> None:
            task = asyncio.get_running_loop().create_task(done(*given))
            self._acts.add(task)
            task.add_done_callback(self._acts.discard)

        return begin

    # -- the file -------------------------------------------------------------------------------------------------

    def _opened(self, before: record_listing.Opened | None = None) -> record_listing.Opened:
        assert self.found is not None
        return record_listing.opened(self.found.planned, self.found.record.path, before or self.found)

    def _read(self, before: record_listing.Opened | None = None) -> _Now:
        """The record as it now is, and its file as it was before: what is added meanwhile is seen at the next look."""
        assert self.found is not None
        stamp = _stamp(self.found.record.path)
        found = self._opened(before)
        return _Now(found, stamp)

    def _put(self, entry: Callable[[record_listing.Opened], Mapping[str, Any]]) -> _Added:
        """Put an entry on the disk. Raises ValueError, then nothing was added; once, too, where entries are gone from the file."""
        found = self._opened()
        if found.gone and found.gone != self._told_gone:
            self._told_gone = found.gone
            raise ValueError(text("record.gone_put", file=found.record.path, remark=found.lost))
        number = record_listing.put(found, entry(found))
        try:
            return _Added(number, self._read(found))
        except ValueError as error:  # the entry stands, and nobody must type it again
            return _Added(number, None, str(error))

    async def _beside(self, what: tuple[str, str], work: Callable[[], Result]) -> Result:
        """Do what needs the file while the page goes on; where that takes long, say so."""
        waiting = asyncio.get_running_loop().call_later(PATIENT, self._wait_told, what)
        self._under_way.add(what)
        self._show_busy()
        self.state.flush()  # in the midst of an act
        try:
            async with self._file:
                return await asyncio.to_thread(work)
        finally:
            waiting.cancel()
            self._under_way.discard(what)
            self.state.record_waiting = ""
            self._show_busy()
            self.state.flush()

    def _show_busy(self) -> None:
        """Boxes whose values are on their way into the file, which nobody changes meanwhile."""
        self.state.record_busy = sorted(self._place(what) for what in self._under_way)

    def _wait_told(self, what: tuple[str, str]) -> None:
        with self.state:
            self._tell(self._place(what), waiting=text("page.record_waiting"))

    def _place(self, what: tuple[str, str]) -> int:
        """Where the form shows what goes on with the file: at its line, unless another step or another choice is shown by now."""
        step, name = what
        if what == STRIKING:
            return STRIKE
        if what == LOOKING or step != self.state.to_record_at:
            return FORM
        if name in self.names:
            return self.names.index(name)
        return CHOSEN if name == self.state.record_name else FORM

    async def _added(self, what: tuple[str, str], entry: Callable[[record_listing.Opened], Mapping[str, Any]]) -> _Added | None:
        """An entry put on the disk; None where it was refused, which the page then says, and what was typed stays."""
        if what in self._under_way:  # the same again, by an impatient hand
            return None
        self._unjudged()  # the last key's verdict is the entry's own
        self._tell(self._place(what))
        try:
            return await self._beside(what, lambda: self._put(entry))
        except ValueError as error:
            self._tell(self._place(what), fault=str(error))
            return None

    # -- what a person does ---------------------------------------------------------------------------------------

    def chosen(self, name: object) -> None:
        """Another reading is chosen from the list."""
        if self.found is None:
            return
        read = self.found.reads.get(str(name or ""))
        self._set({"record_name": read.name if read else "", f"record_{CHOSEN}": ""})
        self.state.record_chosen = self._asked(read, "") if read else _nothing()
        self._say(CHOSEN, None)

    def typed(self, slot: int, name: object, typed: object, state: object, how: list[object]) -> None:
        """A key more in a box: judge it once the hand rests."""
        self._unjudged()
        self._timer = asyncio.get_running_loop().call_later(
            SETTLED, self._judge_now, int(slot), str(name), str(typed or ""), str(state), [_plain(one) for one in how]
        )

    def _unjudged(self) -> None:
        """Let go of a value that waits to be judged."""
        if self._timer is not None:
            self._timer.cancel()

    def _judge_now(self, *asked: Any) -> None:
        with self.state:
            self._judge(*asked)

    def _judge_again(self, **_changed: object) -> None:
        """Judge what stands in the boxes anew: it was taken in another state, otherwise or warmer."""
        if self.found is None:
            return
        self._tell_state()
        how = [_plain(self.state[name]) for name in HOW]
        for slot, name in (*enumerate(self.names), (CHOSEN, self.state.record_name)):
            given = _plain(self.state[f"record_{slot}"])
            if name and given and self.state.record_tried[slot]:
                self._judge(slot, name, given, self.state.record_state, how)

    def _judge(self, slot: int, name: str, typed: str, state: str, how: Sequence[str]) -> None:
        if self.found is None or name not in self.found.reads or not 0 <= slot <= CHOSEN or state not in record.STATES:
            return
        with suppress(ValueError):
            self._say(slot, record_typed.verdict(self.found, self.found.reads[name], typed, state, self.now(), how))

    def _say(self, slot: int, said: record_typed.Said | None, saved: str = "") -> None:
        told = None if said is None else {**said.shown(), "saved": saved}
        self.state.record_tried = [told if place == slot else other for place, other in enumerate(self.state.record_tried)]

    async def add(
        self, step: object, name: object, typed: object, by: object, state: object,
        with_: object, until: object, warm: object, time: object, note: object,
    ) -> None:  # fmt: skip
        """Put a reading on the disk and say what it says, or what is wrong with it. `step`: the one that the line was shown at."""
        if self.found is None:
            return
        now = self.now()
        what = str(step), str(name)
        if what in self._under_way:  # the same again, by an impatient hand
            return
        if step != (now.step or ""):
            self._tell(FORM, fault=text("record.moved_on"))
            return

        def entry(found: record_listing.Opened) -> Mapping[str, Any]:
            read, how = found.reads[str(name)], record_typed.how(_plain(with_), _plain(until), _plain(warm), now)
            return record.reading(
                read, record_typed.values(found, read, str(typed or ""), now), str(state),
                step=str(step) if step in read.steps or not read.steps else "", instrument=how.instrument, due=how.due, temperature=how.temperature, initials=_plain(by),
                note=_plain(note), time=record_time.when(_plain(time)), called=read.title,
            )  # fmt: skip

        added = await self._added(what, entry)
        if added is None:
            return
        slot = self._place(what)
        self._drafts.pop(what, None)
        if slot <= CHOSEN:  # what is on the disk need not stand in its box any longer
            self._set({f"record_{slot}": "", **dict.fromkeys(ONCE, "")})
            self._say(slot, None)
        self._say_saved(slot, str(name), added)
        self._go_on(added)

    def _say_saved(self, slot: int, name: str, added: _Added) -> None:
        """Say that an entry is on the disk, and what it says."""
        assert self.found is not None
        if added.found is None:
            self._tell(slot, fault=text("record.added_untold", number=added.number, fault=added.fault))
            return
        if slot > CHOSEN:
            title = self.found.reads[name].title
            self._tell(slot, done=text("page.record_saved", number=added.number, what=title))
            return
        try:
            said = record_typed.added(added.found, added.number, self.now())
            taken = next(one for one in added.found.job.taken if one.number == added.number)
            what = record_words.told(added.found.reads[name], taken.typed)
            self._say(slot, said, text("page.record_saved", number=added.number, what=what))
        except Exception as error:  # whatever it is: the entry stands, and nobody must type it again
            self._tell(slot, fault=text("record.added_untold", number=added.number, fault=error))

    def _go_on(self, added: _Added) -> None:
        """Go on with what is in the record now; where it could not be read, read it at the next look."""
        if added.now is None:
            self._stamp = ()
        else:
            self._take(added.now)

    async def strike(self, number: object, by: object, why: object) -> None:
        """Strike an entry."""
        if self.found is None:
            return
        if not (str(number or "").isascii() and str(number or "").isdecimal()):
            self._tell(STRIKE, fault=text("record.which_entry"))
            return
        added = await self._added(
            STRIKING, lambda found: record.strike(found.job, int(str(number)), initials=_plain(by), note=_plain(why))
        )
        if added is None:
            return
        self._set({"record_old": "", "record_why": ""})
        self._tell(STRIKE, done=text("record.struck", number=added.number, old=number))
        self._go_on(added)


def _nothing() -> dict[str, Any]:
    return {"name": "", "title": "", "hint": "", "ticked": False}


def _plain(given: object) -> str:
    return str(given or "").strip()


def _stop(found: record_listing.Opened) -> str:
    """How many entries stand at stop, and the first; "" where none does. Judged as the job is planned, whatever the page tries out."""
    stops = held_back.stops(found, found.planned.start_settings())
    if not stops:
        return ""
    first = stops[0].taken
    return text("page.record_stop", count=len(stops), title=found.reads[first.read].title, number=first.number)


def _stamp(path: Path) -> tuple[int, ...]:
    """What tells that a file is another one, or has more in it."""
    try:
        stat = path.stat()
    except OSError:
        return ()
    return stat.st_ino, stat.st_size, stat.st_mtime_ns
