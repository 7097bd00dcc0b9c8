"""The readings form of the live page: what the dial and the compound showed, typed where the step reads it, answered with shim moves."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import Any

from scenes.frame import Frame
from viewer import adjust_command

FIELDS = ("backlash", "at_radius", "drive", "coast", "end_play")
"""Boxes of the form, as the options of the command line are called."""


def build(html: Any, word: dict[str, str]) -> None:
    """The form, shown while the step looks at the mesh."""
    typed = ", ".join(f"typed_{name}" for name in FIELDS)
    asked = f"trigger('shim_moves', [{typed}])"  # the boxes as they stand: the server may not have heard of the last key yet
    with html.Form(classes="readings", v_if="asks_readings", v_on_submit_prevent=asked, raw_attrs=['autocomplete="off"']):
        html.H3(word["page.readings"])
        for name in FIELDS:
            with html.Label():
                html.Span(word[f"page.readings_{name}"])
                html.Input(v_model=(f"typed_{name}",), raw_attrs=[f'id="typed_{name}"', 'type="text"', 'maxlength="400"'])
        html.Button(word["page.readings_ask"], raw_attrs=['type="submit"'])
        html.P("{{ moves_fault }}", v_if="moves_fault", classes="fault", raw_attrs=['role="alert"'])
        html.Pre("{{ moves }}", v_if="moves", classes="moves")


class Readings:
    """What was typed, and its answer; `now` gives the settings that it belongs to."""

    def __init__(self, explainer: Any, server: Any, now: Callable[[], Any]) -> None:
        self.explainer, self.state, self.now = explainer, server.state, now
        self.state.update({f"typed_{name}": "" for name in FIELDS} | {"moves": "", "moves_fault": "", "asks_readings": False})
        server.controller.trigger("shim_moves")(self.answer)

    def shown(self, frame: Frame) -> None:
        """Show the form with this frame, or put it away with its answer."""
        self.state.asks_readings = frame.mesh_view is not None and hasattr(self.explainer, "reducer")
        self.state.moves, self.state.moves_fault = "", ""

    def answer(self, *boxes: object) -> None:
        """Answer what was typed in the boxes, in the order of FIELDS, or say what is wrong with it."""
        typed: dict[str, Any] = {name: str(box or "").strip() or None for name, box in zip(FIELDS, boxes, strict=False)}
        typed = dict.fromkeys(FIELDS) | typed
        backlash = [one.strip() for one in (typed.pop("backlash") or "").split(";") if one.strip()]
        args = argparse.Namespace(backlash=backlash, sigma=None, mark_sigma=None, dial="plunger", json=False, **typed)
        self.state.moves, self.state.moves_fault = "", ""
        try:
            lines, _ = adjust_command.answered(self.explainer, self.now(), args)
            self.state.moves = "\n".join(lines)
        except adjust_command.Fault as fault:
            self.state.moves_fault = str(fault)
