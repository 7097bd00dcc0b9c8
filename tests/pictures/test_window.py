"""The plain window's keys, driven without a screen."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest

from viewer import gl

gl.prepare()

from tests.viewer.sample_explainer import SampleExplainer  # noqa: E402
from viewer.window import Window  # noqa: E402


@pytest.fixture
def window() -> Iterator[Window]:
    opened = Window(SampleExplainer(), (1000, 700), off_screen=True)
    yield opened
    opened.stage.close()


def test_arrow_keys_go_through_the_steps_and_stop_at_the_ends(window: Window) -> None:
    start = window.steps.index(window.settings.step)
    window.press("Right")
    assert window.settings.step == window.steps[start + 1]
    for _ in range(20):
        window.press("Left")
    assert window.settings.step == window.steps[0]


def test_heater_keys_move_the_setting_by_five_kelvin_within_its_range(window: Window) -> None:
    low, high, first = window.explainer.heater_range
    window.press("h")
    assert window.settings.heater == first + 5.0
    for _ in range(40):
        window.press("h")
    assert window.settings.heater == high


def test_plus_and_minus_change_the_chosen_gasket_through_its_stock(window: Window) -> None:
    name, _, nominal, _, _, stock = window.explainer.gaskets[0]
    window.press("plus")
    assert window.settings.gaskets[name] == min(t for t in stock if t > nominal)
    window.press("g")
    window.press("minus")
    assert set(window.settings.gaskets) == {name, window.explainer.gaskets[1][0]}


def test_other_keys_switch_cut_units_and_explode(window: Window) -> None:
    before = window.settings
    for key in ("c", "u", "e"):
        assert window.press(key)
    after = window.settings
    assert (after.cut, after.units, after.explode) == (
        not before.cut,
        "inch" if before.units == "mm" else "mm",
        before.explode + 0.1,
    )
    assert not window.press("w")  # the renderer's own wireframe key does nothing


def test_a_setting_that_is_refused_is_said_and_changes_nothing(window: Window) -> None:
    before = window.settings
    window._set(heater=900.0)
    assert window.settings == before
    assert "heater" in window.notice


def test_the_text_lies_over_the_scene_without_hiding_it(window: Window) -> None:
    shown = window.image()
    window._hide_text()
    bare = window.image()
    changed = (shown != bare).any(axis=2)
    assert 0.1 < changed.mean() < 0.7
    seen = window.stage.part_map().part >= 0
    assert changed[seen].mean() < 0.2


def test_real_key_events_reach_the_window(window: Window) -> None:
    window.listen()
    interactor = window.stage.plotter.iren.interactor
    before = window.settings.cut
    picture = window.image().copy()
    interactor.SetKeySym("c")
    interactor.InvokeEvent("KeyPressEvent")
    assert window.settings.cut is not before
    assert np.abs(window.image().astype(int) - picture).max() > 0


def test_the_window_tells_of_the_order_when_it_is_known_and_shows_where_a_way_meets() -> None:
    from scenes.examples import open_machine
    from scenes.explain import Explainer
    from tests.scenes.orders import moved

    explainer = Explainer(open_machine("millrace")[0])
    explainer.procedure = moved(explainer.procedure, "hs_sleeve", after="hs_bearing_1")
    opened = Window(explainer, (1000, 700), off_screen=True)
    try:
        assert opened.frame.order is None and not opened.tell()
        opened.judge()
        assert opened._judging is not None
        opened._judging.join()
        assert opened.tell() and not opened.tell(), "told once"
        opened._set(step="hs_sleeve")
        opened.press("b")
        assert opened.frame.blocked is not None and "mm left" in opened.frame.blocked.left
        opened.press("b")
        assert opened.frame.blocked is None and opened.frame.step is not None and opened.frame.step.id == "hs_sleeve"
    finally:
        opened.stage.close()
