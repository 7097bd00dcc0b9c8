"""Questions for trainees on the live page: which one is put, its panel as markup, its picture. The count of right answers is the page's own
(web/ask.js): the server neither hears what is chosen nor keeps it."""

from __future__ import annotations

import asyncio
import html as markup
import random
from collections.abc import Callable
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from scenes import questions
from scenes.frame import Frame
from scenes.questions import Question
from scenes.slips import Slips
from scenes.wording import text
from viewer import mesh_figure

TRIAL_SIZE: Final = (480, 320)  # pixels of the pictures that tell whether a slip can be seen
LAYOUT_SECONDS: Final = 0.3  # for the page to say that a question is made, and to give its picture the size it then has
DIFFERENT: Final = 40  # of 255: two pixels that differ by more are seen as different


def build_buttons(html: Any) -> None:
    """The way into questions, in the bar."""
    html.Button(
        text("question.begin"), click="trigger('ask', ['next'])", title=text("question.begin_hint"), classes="plain", v_if="can_ask"
    )


def build(html: Any) -> None:
    """The panel of questions."""
    with html.Section(classes="ask", v_show="asking"):
        with html.Div(classes="kinds"):
            for kind in ("next", "wrong"):
                html.Button(
                    text(f"question.{kind}"),
                    click=f"trigger('ask', ['{kind}'])",
                    raw_attrs=[f":aria-pressed=\"asked_kind === '{kind}'\""],
                )
        html.Div(v_html=("asked",), classes="asked", raw_attrs=['aria-live="polite"'])
        html.P(text("question.kept"), classes="kept")
        with html.Div(classes="foot"):
            with html.P(classes="score"):
                html.Span(text("question.score"))
                html.Output(classes="count")
            html.Button(text("question.another"), click="trigger('ask', [asked_kind])", classes="another")
            html.Button(text("question.leave"), click="trigger('ask_leave', [])", classes="plain")


class Asking:
    """Whether questions are asked, and the present one. `changed`: draw and label anew; `standing`: the step that the page stands at,
    and width over height of its picture."""

    def __init__(
        self, explainer: Any, server: Any, stage: Any, changed: Callable[[], None], standing: Callable[[], tuple[str | None, float]]
    ) -> None:
        self.explainer, self.state, self.stage = explainer, server.state, stage
        self._changed, self._standing = changed, standing
        self._drawn: tuple[Frame | None, NDArray[np.int16]] = (None, np.zeros((1, 1, 3), dtype=np.int16))
        self._chance = random.Random()
        self._slips: Slips | None = None
        self._task: asyncio.Task[None] | None = None
        self._working = asyncio.Lock()
        self._serial = 0  # of the question that is wanted; leaving counts as another
        self.question: Question | None = None
        self.answered = False
        self.on = False
        self.state.update({"asking": False, "asked": "", "asked_kind": "next", "can_ask": hasattr(explainer, "procedure")})
        for name, act in (("ask", self.ask), ("ask_answered", self.answer), ("ask_leave", self.leave)):
            server.controller.trigger(name)(act)

    @property
    def silent(self) -> bool:
        """Whether names in the picture would give the answer away."""
        return self.on and not self.answered

    def frame(self) -> Frame | None:
        """The picture of the question, or of its answer once that was given; None while none is asked."""
        if self.question is None:
            return None
        return self.question.answer if self.answered else self.question.frame

    def ask(self, kind: str) -> None:
        """Put a question: "next" or "wrong"."""
        if not self.on or self._task is None or self._task.done():
            self._serial += 1
            self._task = asyncio.get_running_loop().create_task(self._make("wrong" if kind == "wrong" else "next", self._serial))

    def answer(self) -> None:
        """Somebody has chosen: show how it should be."""
        if self.question is not None and not self.answered:
            self.answered = True
            self._changed()

    def leave(self) -> None:
        """Back to the steps."""
        self.on, self.question, self.answered = False, None, False
        self._serial += 1
        self.state.asking, self.state.asked = False, ""
        self._changed()

    def forget(self) -> None:
        """The machine is another one: the slips are looked for anew."""
        self.leave()
        self._slips = None

    async def _make(self, kind: str, serial: int) -> None:
        with self.state:
            self.on = True
            self.question, self.answered = None, False
            self.state.update({"asking": True, "asked_kind": kind, "busy": True})
            self.state.asked = f"<p>{markup.escape(text('question.making'))}</p>"
        await asyncio.sleep(LAYOUT_SECONDS)
        try:
            async with self._working:
                if self._slips is None:
                    self._slips = await asyncio.to_thread(Slips, self.explainer)
            if serial != self._serial:  # left meanwhile, or another is asked: the stage is no longer ours
                return
            step, aspect = self._standing()
            self.question = questions.ask(self._slips, kind, step, self._chance, self.differs, aspect)
            asked = panel(self.question)
        except Exception as fault:  # whatever it is: said in the panel, and the steps go on
            if serial != self._serial:
                return
            self.question = None
            asked = f'<p role="alert">{markup.escape(failed(fault))}</p>'
        self.answered = False
        with self.state:
            self._changed()  # the trials have left their own picture on stage
            self.state.update({"asked": asked, "overlay": "", "busy": True})

    def differs(self, a: Frame, b: Frame) -> float:
        """Share of the picture [1] that two frames differ in."""
        if self._drawn[0] is not b:
            self._drawn = b, self._picture(b)
        return float((np.abs(self._picture(a) - self._drawn[1]).max(axis=2) > DIFFERENT).mean())

    def _picture(self, frame: Frame) -> NDArray[np.int16]:
        self.stage.show(frame)
        self.stage.resize(TRIAL_SIZE)
        self.stage.show_edges(False)
        return np.asarray(self.stage.image(), dtype=np.int16)


def failed(fault: Exception) -> str:
    """Why no question can be put, in a line."""
    return text("question.failed", fault=f"{type(fault).__name__}: {' '.join(str(fault).split())}")


def panel(question: Question | None) -> str:
    """The markup of a question, with its answer folded in: the page itself unfolds it."""
    if question is None:
        return f"<p>{markup.escape(text('question.none'))}</p>"
    mesh = question.frame.mesh_view
    rows = [f"<h2>{markup.escape(text(f'question.{question.kind}'))}</h2>", f"<p>{markup.escape(question.hint)}</p>"]
    if mesh is not None:
        rows.append(f'<div class="mesh">{mesh_figure.svg(mesh)}</div>')
    rows.append('<ol class="choices">')
    for number, choice in enumerate(question.choices, 1):
        right = ' data-right=""' if choice.right else ""
        rows.append(
            f'<li><button type="button" class="choice"{right}><b>{number}</b> <span>{markup.escape(choice.text)}</span></button>'
            + (f'<p class="because" hidden>{markup.escape(choice.because)}</p></li>' if choice.because else "</li>")
        )
    right = next(choice.text for choice in question.choices if choice.right)
    rows.append('</ol><div class="answer" role="status" hidden>')
    rows.append(f'<p class="verdict is-right" hidden>✓ {markup.escape(text("question.right"))}</p>')
    rows.append(f'<p class="verdict not-right" hidden>✕ {markup.escape(text("question.not_right"))} ')
    rows.append(f"{markup.escape(text('question.answer', answer=right))}</p>")
    rows.append(f'<p class="why">{markup.escape(question.why)}</p>')
    rows.append(f'<p class="cost">{markup.escape(question.cost)}</p><p class="soft">{markup.escape(question.indicative)}</p></div>')
    return "".join(rows)
