"""What only waits for its step is drawn pale and gets no label: nobody takes it for the part in hand."""

from __future__ import annotations

import pytest

from scenes.examples import open_machine
from scenes.explain import Explainer
from viewer import anchors, over_picture


@pytest.mark.parametrize("step", ["make_safe", "inspect"])
def test_a_step_that_brings_nothing_labels_nothing_that_is_still_to_come(step: str) -> None:
    made = Explainer(*open_machine("millrace"))
    frame = made.frame(made.with_(made.start_settings(), step=step))
    assert {part.state for part in frame.shown} == {"waiting"}
    assert anchors.named(frame) == {} and over_picture.candidates(frame, 1.0, 300.0) == {}
