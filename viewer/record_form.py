"""The record on the live page: a line for each reading that the step asks for, checked and on the disk before the page says so."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from scenes import record, record_listing
from scenes.reads import MOST_WORDS
from scenes.record_file import RecordError
from scenes.wording import text

MOST: Final = 10  # readings of one step that have a line


def build(html: Any, word: dict[str, str]) -> None:
    """The lines, shown while the step asks for readings and a record is open."""
    with html.Form(classes="readings record", v_if="to_record.length", v_on_submit_prevent="", raw_attrs=['autocomplete="off"']):
        html.H3(word["page.record"])
        with html.Div(classes="who"):
            with html.Label():
                html.Span(word["page.record_by"])
                html.Input(
                    v_model=("record_by",), raw_attrs=['id="record_by"', 'type="text"', f'maxlength="{record.MOST_INITIALS}"']
                )
            with html.Label():
                html.Span(word["page.record_state"])
                with html.Select(v_model=("record_state",), raw_attrs=['id="record_state"']):
                    for state in record.STATES:
                        html.Option(word[f"record.state_{state}"], raw_attrs=[f'value="{state}"'])
        with html.Label():
            html.Span(word["page.record_note"])
            html.Input(v_model=("record_note",), raw_attrs=['id="record_note"', 'type="text"', f'maxlength="{record.MOST_NOTE}"'])
        for slot in range(MOST):
            with html.Div(classes="line", v_if=f"to_record.length > {slot}"):
                with html.Label():
                    html.Span(f"{{{{ to_record[{slot}] }}}}")
                    html.Input(
                        v_model=(f"record_{slot}",), raw_attrs=[f'id="record_{slot}"', 'type="text"', f'maxlength="{MOST_WORDS}"']
                    )
                html.Button(word["page.record_add"], click=f"trigger('record_reading', [to_record_at, {slot}, record_{slot}, record_by, record_state, record_note])",
                            raw_attrs=['type="button"', f'id="record_add_{slot}"'])  # fmt: skip
        html.P("{{ record_fault }}", v_if="record_fault", classes="fault", raw_attrs=['role="alert"'])
        html.Pre("{{ record_said }}", v_if="record_said", classes="moves", raw_attrs=['role="status"'])


class Recording:
    """The open record, and the readings of the step that is shown; `now` gives the settings."""

    def __init__(self, server: Any, now: Callable[[], Any], found: record_listing.Opened | None) -> None:
        self.found, self.state, self.now = found, server.state, now
        self.names: list[str] = []
        empty = {
            "to_record": [],
            "record_by": "",
            "record_state": "fitting",
            "record_fault": "",
            "record_said": "",
            "record_note": "",
            "to_record_at": "",
        }
        self.state.update(empty | {f"record_{slot}": "" for slot in range(MOST)})
        server.controller.trigger("record_reading")(self.add)

    def shown(self, step: str | None) -> None:
        """Show the lines of this step, without what was typed and said at another."""
        names = list(self.found.planned.procedure.steps[step].reads[:MOST]) if self.found is not None and step else []
        self.state.to_record_at = step or ""
        if names != self.names:
            self.names = names
            self.state.update({"record_fault": "", "record_said": ""} | {f"record_{slot}": "" for slot in range(MOST)})
        self.state.to_record = [text(f"read.{name}") for name in names]

    def add(self, step: object, slot: int, typed: object, by: object, state: object, note: object) -> None:
        """Put a reading on the disk and say what it says, or what is wrong with it. `step`: the one that the line was shown at."""
        self.state.record_fault, self.state.record_said = "", ""
        if self.found is None:
            return
        if step != self.now().step or not 0 <= slot < len(self.names):
            self.state.record_fault = text("record.moved_on")
            return
        try:
            found = record_listing.opened(self.found.planned, self.found.record.path)
            values = [one.strip() for one in str(typed or "").split(";") if one.strip()]
            read, who = found.reads[self.names[slot]], str(by or "").strip()
            entry = record.reading(read, values, str(state), step=str(step), initials=who, note=str(note or "").strip())
            number = record_listing.put(found, entry)
            found = record_listing.opened(self.found.planned, self.found.record.path)
        except (ValueError, RecordError) as error:
            self.state.record_fault = str(error)
            return
        taken = next(one for one in found.job.taken if one.number == number)
        said = found.judge(taken, self.now())
        mark = [f"{text(f'page.mark_{said.verdict}')} {text(f'page.verdict_{said.verdict}')}"] if said.verdict else []
        self.state.record_said = "\n".join(
            [text("record.added", number=number, title=read.title), *mark, *said.says, *said.now, *found.follows(taken, self.now())]
        )
        for name in (f"record_{slot}", "record_note"):
            self.state[name] = ""
            self.state.dirty(name)  # what was typed may not have come here yet
