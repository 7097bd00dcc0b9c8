"""Questions for trainees in the plain window: the question as a frame whose step text and notes are what is asked, and the count."""

from __future__ import annotations

import random
from dataclasses import replace
from typing import Any

from scenes import questions
from scenes.frame import Callout, Frame, StepText, Verdict
from scenes.questions import Question
from scenes.slips import Slips
from scenes.wording import text


class Asked:
    """The present question of a window, what was chosen, and the count; nothing of it outlives the window."""

    def __init__(self, explainer: Any) -> None:
        self.explainer = explainer
        self.question: Question | None = None
        self.chosen: int | None = None
        self.right = self.count = 0
        self._slips: Slips | None = None
        self._chance = random.Random()

    @property
    def silent(self) -> bool:
        """Whether names in the picture would give the answer away."""
        return self.question is not None and self.chosen is None

    @property
    def score(self) -> str:
        """The count in words."""
        return f"{text('question.score')}: {self.right} / {self.count}"

    def ask(self, kind: str, step: str | None, differs: questions.Differs) -> None:
        """Put another question: "next" or "wrong"."""
        self.question, self.chosen = None, None
        self._slips = self._slips or Slips(self.explainer)
        self.question = questions.ask(self._slips, kind, step, self._chance, differs)

    def answer(self, choice: int) -> bool:
        """Take a choice, from 0; False when there is nothing to choose."""
        if self.question is None or self.chosen is not None or choice >= len(self.question.choices):
            return False
        self.chosen = choice
        self.count += 1
        self.right += self.question.choices[choice].right
        return True

    def frame(self) -> Frame | None:
        """The question as a frame; None while none is asked."""
        asked = self.question
        if asked is None:
            return None
        shown = asked.frame if self.chosen is None else asked.answer
        why = "" if self.chosen is None else f"{asked.why} {asked.cost} {asked.indicative}"
        count = len(self.explainer.procedure.order)
        words = StepText(
            "question",
            asked.number,
            count,
            "",
            text("question.begin"),
            text(f"question.{asked.kind}"),
            asked.hint,
            why,
            "",
            (),
            (),
            "",
        )
        return replace(shown, step=words, callouts=tuple(self._notes(asked)), mesh_view=asked.frame.mesh_view)

    def _notes(self, asked: Question) -> list[Callout]:
        found = []
        for number, choice in enumerate(asked.choices):
            verdict: Verdict = ""
            told = f"{number + 1}   {choice.text}"
            if self.chosen is not None and choice.right:
                verdict = "fine"
            elif self.chosen == number:
                verdict, told = "stop", f"{told}. {choice.because}"
            found.append(Callout(f"choice.{number}", "", (0.0, 0.0, 0.0), told, "", 0.0, "", "", verdict, ""))
        return found
