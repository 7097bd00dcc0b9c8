"""The record on the live page: a line for each reading that the step asks for, a choice of everything else that can be read, and what is
to be struck. A value is judged as it is typed, and on the disk before the page says so.

All lengths and torques as typed; a bare figure takes the unit that stands beside its line.
Contents: `build` (the form), `Recording` (what is behind it).
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Sequence
from contextlib import suppress
from typing import Any, Final

from scenes import record, record_listing, record_time, record_typed
from scenes.reads import MOST_WORDS, Read
from scenes.record_file import RecordError
from scenes.wording import text

MOST: Final = 12  # readings of one step that have a line
CHOSEN: Final = MOST  # the line of what is chosen from the list
ENTRIES: Final = 8  # that can be struck from the page
SETTLED: Final = 0.15  # s without another key before a value is judged
HOW: Final = ("record_with", "record_until", "record_warm")
"""How a reading was taken: the instrument, the last day of its calibration, how warm the parts were. Stays for the next line of a step."""
WHO: Final = ("record_by", "record_state", *HOW, "record_time", "record_note")
"""What is typed once for all lines; the last two belong to one entry only."""


def build(html: Any, word: dict[str, str]) -> None:
    """The form, shown while a record is open."""
    with html.Form(classes="readings record", v_if="record_open", v_on_submit_prevent="", raw_attrs=['autocomplete="off"']):
        html.H3(word["page.record"])
        with html.Div(classes="who"):
            _box(html, word["page.record_by"], "record_by", record.MOST_INITIALS)
            with html.Label():
                html.Span(word["page.record_state"])
                with html.Select(v_model=("record_state",), raw_attrs=['id="record_state"']):
                    for state in record.STATES:
                        html.Option(word[f"record.state_{state}"], raw_attrs=[f'value="{state}"'])
            for name in HOW:
                _box(html, word[f"page.{name}"], name, record.MOST_NOTE, wide=name == "record_with")
            _box(html, word["page.record_time"], "record_time", 32, wide=True)
        _box(html, word["page.record_note"], "record_note", record.MOST_NOTE)
        for slot in range(MOST):
            with html.Div(classes="line", v_if=f"to_record.length > {slot}"):
                _line(html, word, slot, f"to_record[{slot}]")
        with html.Details(raw_attrs=[':open="!to_record.length || null"']):
            html.Summary(word["page.record_other"])
            with html.Label():
                html.Span(word["page.record_choose"])
                with html.Select(
                    v_model=("record_name",), raw_attrs=['id="record_name"', "@change=\"trigger('record_chosen', [$event.target.value])\""]
                ):  # fmt: skip
                    html.Option(word["page.record_none"], raw_attrs=['value=""'])
                    with html.Optgroup(v_for="group in record_groups", raw_attrs=[':label="group.title"', ':key="group.title"']):
                        html.Option(
                            "{{ one.title }}", v_for="one in group.reads", raw_attrs=[':value="one.name"', ':key="one.name"']
                        )
            with html.Div(classes="line", v_if="record_chosen.name"):
                _line(html, word, CHOSEN, "record_chosen")
        with html.Details(v_if="record_entries.length"):
            html.Summary(word["page.record_strike"])
            with html.Label():
                html.Span(word["page.record_which"])
                with html.Select(v_model=("record_old",), raw_attrs=['id="record_old"']):
                    html.Option(word["page.record_none"], raw_attrs=['value=""'])
                    html.Option(
                        "{{ one.title }}", v_for="one in record_entries", raw_attrs=[':value="one.number"', ':key="one.number"']
                    )
            _box(html, word["page.record_why"], "record_why", record.MOST_NOTE)
            html.Button(word["page.record_strike_it"], click="trigger('record_strike', [record_old, record_by, record_why])",
                        raw_attrs=['type="button"', 'id="record_strike_it"'])  # fmt: skip
        html.P("{{ record_fault }}", v_if="record_fault", classes="fault", raw_attrs=['role="alert"'])
        html.Pre("{{ record_said }}", v_if="record_said", classes="moves", raw_attrs=['role="status"'])


def _box(html: Any, label: str, name: str, most: int, *, wide: bool = False) -> None:
    with html.Label(classes="wide" if wide else ""):
        html.Span(label)
        html.Input(v_model=(name,), raw_attrs=[f'id="{name}"', 'type="text"', f'maxlength="{most}"'])


def _line(html: Any, word: dict[str, str], slot: int, asked: str) -> None:
    """One reading: what it is and what is accepted, its box, its verdict as typed, its button."""
    box = f"record_{slot}"
    put = f"trigger('record_reading', [to_record_at, {asked}.name, {box}, {', '.join(WHO)}])"
    tried = f"trigger('record_typed', [{slot}, {asked}.name, $event.target.value, record_state, [{', '.join(HOW)}]])"
    with html.Label():
        html.Span(f"{{{{ {asked}.title }}}}")
        html.Small(f"{{{{ {asked}.hint }}}}", v_if=f"{asked}.hint")
        with html.Select(v_if=f"{asked}.ticked", v_model=(box,), raw_attrs=[f'id="{box}"', f'@change="{tried}"']):
            html.Option(word["page.record_none"], raw_attrs=['value=""'])
            for answer in ("yes", "no"):
                html.Option(word[f"readings.{answer}"], raw_attrs=[f'value="{answer}"'])
        html.Input(
            v_else=True,
            v_model=(box,),
            raw_attrs=[f'id="{box}"', 'type="text"', f'maxlength="{MOST_WORDS}"', f'@input="{tried}"', f'@keydown.enter.prevent="{put}"'],
        )  # fmt: skip
    html.Button(word["page.record_add"], click=put, raw_attrs=['type="button"', f'id="record_add_{slot}"'])
    html.Output(
        f"{{{{ record_tried[{slot}] }}}}", v_if=f"record_tried[{slot}]", classes="tried", raw_attrs=[f'id="record_tried_{slot}"', f'for="{box}"']
    )  # fmt: skip


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
        self._stamp = _stamp(found)
        self._timer: asyncio.TimerHandle | None = None
        self.state.update({name: "" for name in (*WHO, "record_name", "record_old", "record_why", "record_fault", "record_said")})
        self.state.update({f"record_{slot}": "" for slot in range(MOST + 1)})
        self.state.update(
            {"record_open": found is not None, "record_state": "fitting", "record_chosen": _nothing(), "to_record": []}
        )
        self.state.update({"to_record_at": "", "record_tried": [""] * (MOST + 1), "record_groups": [], "record_entries": []})
        for name, act in (("reading", self.add), ("typed", self.typed), ("chosen", self.chosen), ("strike", self.strike)):
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
        moved, self._at = at[0] != (self._at or (object(),))[0], at
        names = list(self.found.planned.procedure.steps[step].reads[:MOST]) if step else []
        if moved:
            for slot, name in enumerate(self.names):
                self._drafts[self.state.to_record_at, name] = self.state[f"record_{slot}"]
            self.names = names
            self._set({f"record_{slot}": self._drafts.get((step or "", name), "") for slot, name in enumerate(names)})
            self._set({name: "" for name in HOW})
            self.state.update(
                {"record_fault": "", "record_said": "", "record_tried": [""] * (MOST + 1), "to_record_at": step or ""}
            )
        reads = self.found.reads
        self.state.to_record = [self._asked(reads[name], step or "") for name in names]
        self.state.record_groups = record_typed.choice(self.found, now)
        self.state.record_entries = record_typed.strikable(self.found, step or "", ENTRIES)
        if self.state.record_name:
            self.state.record_chosen = self._asked(reads[self.state.record_name], "")

    def look(self) -> bool:
        """Read the record anew if another program has added to it. Result: whether it had."""
        if self.found is None or _stamp(self.found) == self._stamp:
            return False
        try:
            self._take(record_listing.opened(self.found.planned, self.found.record.path))
        except RecordError as error:
            self.state.record_fault = str(error)
            return False
        return True

    def _asked(self, read: Read, step: str) -> dict[str, Any]:
        assert self.found is not None
        return record_typed.asked(self.found, read, step, self.now())

    def _take(self, found: record_listing.Opened) -> None:
        """Go on with the record as it now is, and with the machine that it makes."""
        self.found, self._stamp = found, _stamp(found)
        self.measured(found.present)

    def _set(self, values: dict[str, Any]) -> None:
        """Put values into boxes, whatever stands in them on the page: what was typed may not have come here yet."""
        for name, value in values.items():
            self.state[name] = value
            self.state.dirty(name)

    # -- what a person does ---------------------------------------------------------------------------------------

    def chosen(self, name: object) -> None:
        """Another reading is chosen from the list."""
        if self.found is None:
            return
        read = self.found.reads.get(str(name or ""))
        self._set({"record_name": read.name if read else "", f"record_{CHOSEN}": ""})
        self.state.record_chosen = self._asked(read, "") if read else _nothing()
        self._say_tried(CHOSEN, "")

    def typed(self, slot: int, name: object, typed: object, state: object, how: list[object]) -> None:
        """A key more in a box: judge it once the hand rests."""
        if self._timer is not None:
            self._timer.cancel()
        self._timer = asyncio.get_running_loop().call_later(
            SETTLED, self._judge_now, int(slot), str(name), str(typed or ""), str(state), [_plain(one) for one in how]
        )

    def _judge_now(self, *asked: Any) -> None:
        with self.state:
            self._judge(*asked)

    def _judge_again(self, **_changed: object) -> None:
        """Judge what stands in the boxes anew: it was taken in another state, otherwise or warmer."""
        how = [_plain(self.state[name]) for name in HOW]
        for slot, name in (*enumerate(self.names), (CHOSEN, self.state.record_name)):
            if name and self.state.record_tried[slot]:
                self._judge(slot, name, _plain(self.state[f"record_{slot}"]), self.state.record_state, how)

    def _judge(self, slot: int, name: str, typed: str, state: str, how: Sequence[str]) -> None:
        if self.found is None or name not in self.found.reads or not 0 <= slot <= CHOSEN or state not in record.STATES:
            return
        with suppress(ValueError, RecordError):
            self._say_tried(slot, record_typed.verdict(self.found, self.found.reads[name], typed, state, self.now(), how))

    def _say_tried(self, slot: int, said: str) -> None:
        self.state.record_tried = [said if place == slot else other for place, other in enumerate(self.state.record_tried)]

    def add(
        self, step: object, name: object, typed: object, by: object, state: object,
        with_: object, until: object, warm: object, time: object, note: object,
    ) -> None:  # fmt: skip
        """Put a reading on the disk and say what it says, or what is wrong with it. `step`: the one that the line was shown at."""
        if self.found is None:
            return
        self.state.record_fault, self.state.record_said = "", ""
        if step != (self.now().step or ""):
            self.state.record_fault = text("record.moved_on")
            return
        try:
            found = record_listing.opened(self.found.planned, self.found.record.path)
            read, how = found.reads[str(name)], record_typed.how(_plain(with_), _plain(until), _plain(warm), self.now())
            entry = record.reading(
                read, record_typed.values(found, read, str(typed or ""), self.now()), str(state),
                step=str(step) if step in read.steps or not read.steps else "", instrument=how.instrument, due=how.due, temperature=how.temperature, initials=_plain(by),
                note=_plain(note), time=record_time.when(_plain(time)), called=read.title,
            )  # fmt: skip
            number = record_listing.put(found, entry)
        except (ValueError, RecordError) as error:
            self.state.record_fault = str(error)
            return
        try:
            found = record_listing.opened(self.found.planned, self.found.record.path)
            taken = next(one for one in found.job.taken if one.number == number)
            said = found.judge(taken, self.now())
            told = [
                *record_typed.told(said), *said.now, *found.follows(taken, self.now()), *_unfit(found, number),
            ]  # fmt: skip
            self.state.record_said = "\n".join([text("record.added", number=number, title=read.title), *told])
        except Exception as error:  # whatever it is: the entry stands, and nobody must type it again
            self.state.record_fault = text("record.added_untold", number=number, fault=error)
        slot = self.names.index(read.name) if read.name in self.names else CHOSEN
        self._set({f"record_{slot}": "", "record_note": "", "record_time": ""})
        self._say_tried(slot, "")
        self._take(found)

    def strike(self, number: object, by: object, why: object) -> None:
        """Strike an entry."""
        if self.found is None:
            return
        self.state.record_fault, self.state.record_said = "", ""
        if not str(number or "").isdecimal():
            self.state.record_fault = text("record.which_entry")
            return
        try:
            found = record_listing.opened(self.found.planned, self.found.record.path)
            struck = record_listing.put(found, record.strike(found.job, int(str(number)), initials=_plain(by), note=_plain(why)))
            found = record_listing.opened(self.found.planned, self.found.record.path)
        except (ValueError, RecordError) as error:
            self.state.record_fault = str(error)
            return
        self.state.record_said = text("record.struck", number=struck, old=number)
        self._set({"record_old": "", "record_why": ""})
        self._take(found)


def _nothing() -> dict[str, Any]:
    return {"name": "", "title": "", "hint": "", "ticked": False}


def _plain(given: object) -> str:
    return str(given or "").strip()


def _unfit(found: record_listing.Opened, number: int) -> list[str]:
    """That this reading could not be put into the machine."""
    return [line for of, line in found.unfit_entries if of == number]


def _stamp(found: record_listing.Opened | None) -> tuple[int, ...]:
    """What tells that a file is another one, or has more in it."""
    if found is None:
        return ()
    try:
        stat = found.record.path.stat()
    except OSError:
        return ()
    return stat.st_ino, stat.st_size, stat.st_mtime_ns
