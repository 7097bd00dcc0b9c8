"""The form of the record on the live page: state and initials, a line for each reading that the step asks for, how it was read, a choice of
everything else that can be read, the entries of this step, and what is to be struck.

A line shows under its box what stands there now: waiting for the file, refused and why, or the verdict and what to do; long texts are folded.
All lengths and torques as typed; a bare figure takes the unit that stands beside its line.
Contents: `build`, `build_job`, `build_stop`, and the names of the boxes. What is behind it: viewer.recording.
"""

from __future__ import annotations

from typing import Any, Final

from scenes import record
from scenes.reads import MOST_WORDS

MOST: Final = 12  # readings of one step that have a line
CHOSEN: Final = MOST  # the line of what is chosen from the list
STRIKE: Final = MOST + 1  # where the page says what became of striking an entry
FORM: Final = MOST + 2  # where it says what belongs to no line
HOW: Final = ("record_with", "record_until", "record_warm")
"""How a reading was taken: the instrument, the last day of its calibration, how warm the parts were. Stays for the next line of a step."""
ONCE: Final = ("record_time", "record_note")
"""What belongs to one entry only."""
WHO: Final = ("record_by", "record_state", *HOW, *ONCE)
"""What is typed once for all lines."""


def build_job(html: Any) -> None:
    """Which record is open, in the bar."""
    html.P("{{ record_job }}", v_if="record_open", classes="job", raw_attrs=[':title="record_path"'])


def build_stop(html: Any) -> None:
    """What stands at stop in the record, in the bar and above the form."""
    html.P("{{ record_stop }}", v_if="record_stop", classes="record-stop", raw_attrs=['role="alert"', ':title="record_stop"'])


def build(html: Any, word: dict[str, str]) -> None:
    """The form, shown while a record is open; above it what stands at stop."""
    build_stop(html)
    with html.Form(
        classes="record",
        v_if="record_open",
        v_on_submit_prevent="",
        raw_attrs=['autocomplete="off"', f'aria-label="{word["page.record"]}"', ':data-step="to_record_at"'],
    ):
        _head(html, word)
        html.P(word["page.record_nothing_asked"], v_if="step && !to_record.length", classes="soft")
        for slot in range(MOST):
            with html.Div(classes="line", v_if=f"to_record.length > {slot}"):
                _line(html, word, slot, f"to_record[{slot}]")
        _how(html, word)
        _here(html, word)
        _other(html, word)
        _strike(html, word)


def _head(html: Any, word: dict[str, str]) -> None:
    with html.Div(classes="who"):
        with html.Label(classes="state"):
            html.Span(word["page.record_state"])
            with html.Select(v_model=("record_state",), raw_attrs=['id="record_state"']):
                for state in record.STATES:
                    html.Option(word[f"record.state_{state}"], raw_attrs=[f'value="{state}"'])
        _box(html, word["page.record_by"], "record_by", record.MOST_INITIALS)
    html.P("{{ record_gone }}", v_if="record_gone", classes="fault", raw_attrs=['role="alert"', 'id="record_gone"'])
    html.P("{{ record_other_state }}", v_if="record_other_state", classes="other-state")
    _became(html, FORM)


def _became(html: Any, at: int) -> None:
    """What became of what was done here: waiting for the file, refused, or done."""
    for what, role in (("waiting", "status"), ("fault", "alert"), ("done", "status")):
        html.P(
            f"{{{{ record_{what} }}}}",
            v_if=f"record_{what} && record_at === {at}",
            classes=what if what != "done" else "saved",
            raw_attrs=[f'role="{role}"'],
        )


def _box(html: Any, label: str, name: str, most: int, *, wide: bool = False) -> None:
    with html.Label(classes="wide" if wide else ""):
        html.Span(label)
        html.Input(v_model=(name,), raw_attrs=[f'id="{name}"', 'type="text"', f'maxlength="{most}"'])


def _line(html: Any, word: dict[str, str], slot: int, asked: str) -> None:
    """One reading: what it is and what is accepted, its box, its button; under them what became of it."""
    box, held = f"record_{slot}", f"record_busy.includes({slot})"
    put = f"trigger('record_reading', [to_record_at, {asked}.name, {box}, {', '.join(WHO)}])"
    tried = f"trigger('record_typed', [{slot}, {asked}.name, $event.target.value, record_state, [{', '.join(HOW)}]])"
    with html.Label():
        html.Span(f"{{{{ {asked}.title }}}}")
        html.Small(f"{{{{ {asked}.hint }}}}", v_if=f"{asked}.hint")
        with html.Select(
            v_if=f"{asked}.ticked", v_model=(box,), raw_attrs=[f'id="{box}"', f'@change="{tried}"', f':disabled="{held}"']
        ):
            html.Option(word["page.record_none"], raw_attrs=['value=""'])
            for answer in ("yes", "no"):
                html.Option(word[f"readings.{answer}"], raw_attrs=[f'value="{answer}"'])
        html.Input(
            v_else=True,
            v_model=(box,),
            raw_attrs=[
                f'id="{box}"', 'type="text"', f'maxlength="{MOST_WORDS}"', f'@input="{tried}"', f'@keydown.enter.prevent="{put}"',
                f':readonly="{held}"', f'aria-describedby="record_tried_{slot}"',
            ],
        )  # fmt: skip
    html.Button(word["page.record_add"], click=put, raw_attrs=['type="button"', f'id="record_add_{slot}"', f':disabled="{held}"'])
    _became(html, slot)
    _said(html, word, slot)


def _said(html: Any, word: dict[str, str], slot: int) -> None:
    """What the value says: mark and word of the verdict, what to do now; the rest folded."""
    said = f"record_tried[{slot}]"
    with html.Div(
        v_if=f"{said} && !(record_fault && record_at === {slot} && !{said}.heading)", classes="said", raw_attrs=[f':class="{said}.verdict"', f'id="record_tried_{slot}"', 'role="status"']
    ):  # fmt: skip
        html.P(f"{{{{ {said}.saved }}}}", v_if=f"{said}.saved", classes="saved")
        with html.P(v_if=f"{said}.heading || {said}.line"):
            html.B(f"{{{{ {said}.heading }}}}", v_if=f"{said}.heading")
            html.Span(f"{{{{ {said}.line }}}}")
        with html.Div(v_if=f"{said}.now.length", classes="now"):
            html.H4(word["page.record_now"])
            html.P("{{ one }}", v_for=f"one in {said}.now", key="one")
        with html.Details(v_if=f"{said}.more.length"):
            html.Summary(word["page.record_more"])
            html.P("{{ one }}", v_for=f"one in {said}.more", key="one")


def _how(html: Any, word: dict[str, str]) -> None:
    """How and when it was read: folded, what stands in it beside its name."""
    with html.Details(v_if="to_record.length || record_chosen.name", raw_attrs=['id="record_how"']):
        with html.Summary():
            html.Span(word["page.record_how"])
            html.Small(f"{{{{ [{', '.join((*HOW, *ONCE))}].filter(one => one).join(' · ') }}}}")
        with html.Div(classes="who"):
            for name in HOW:
                _box(html, word[f"page.{name}"], name, record.MOST_NOTE, wide=name != "record_until")
            _box(html, word["page.record_time"], "record_time", 32, wide=True)
            _box(html, word["page.record_note"], "record_note", record.MOST_NOTE, wide=True)


def _here(html: Any, word: dict[str, str]) -> None:
    """The entries of this step, each with its number and its strike (web/record.js takes the hand to the reason)."""
    with html.Div(v_if="record_here.length", classes="here"):
        html.H4(word["page.record_entries"])
        with html.Ol(), html.Li(v_for="one in record_here", key="one.number", raw_attrs=[':class="{ struck: one.struck }"']):
            html.B("{{ one.number }}")
            with html.Span():
                html.Span("{{ one.title }}", classes="what")
                html.Small("{{ one.by }}")
            html.Button(
                word["page.record_strike_it"],
                v_if="!one.struck",
                click="record_old = one.number",
                raw_attrs=['type="button"', ':data-strike="one.number"'],
            )


def _other(html: Any, word: dict[str, str]) -> None:
    with html.Details(raw_attrs=[':open="!step || null"', 'id="record_other"']):
        html.Summary(word["page.record_other"])
        with html.Label():
            html.Span(word["page.record_choose"])
            with html.Select(
                v_model=("record_name",), raw_attrs=['id="record_name"', "@change=\"trigger('record_chosen', [$event.target.value])\""]
            ):  # fmt: skip
                html.Option(word["page.record_none"], raw_attrs=['value=""'])
                with html.Optgroup(v_for="group in record_groups", raw_attrs=[':label="group.title"', ':key="group.title"']):
                    html.Option("{{ one.title }}", v_for="one in group.reads", raw_attrs=[':value="one.name"', ':key="one.name"'])
        with html.Div(classes="line", v_if="record_chosen.name"):
            _line(html, word, CHOSEN, "record_chosen")


def _strike(html: Any, word: dict[str, str]) -> None:
    with html.Details(v_if="record_entries.length", raw_attrs=['id="record_striking"']):
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
                    raw_attrs=['type="button"', 'id="record_strike_it"', f':disabled="record_busy.includes({STRIKE})"'])  # fmt: skip
    _became(html, STRIKE)
