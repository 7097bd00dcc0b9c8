"""Questions for trainees on the live page and in the plain window, in a real browser and without a screen."""

from __future__ import annotations

import asyncio
import random
import socket
from collections.abc import Callable, Iterator
from importlib.resources import files
from urllib.parse import urlsplit

import numpy as np
import pytest
from numpy.typing import NDArray
from playwright.sync_api import Browser

from scenes import questions
from scenes.examples import open_machine
from scenes.explain import Explainer
from scenes.slips import Slips
from tests.viewer.browser import Watched, in_a_loop_of_its_own, served
from viewer import asking, gl

gl.prepare()

from viewer.window import Window  # noqa: E402


@pytest.fixture(scope="module")
def live(browser: Browser) -> Iterator[Watched]:
    with served(["-m", "viewer.cli", "show", "millrace", "--no-browser"]) as url:
        watched = Watched(browser)
        watched.page.goto(url)
        watched.page.wait_for_selector(".page", timeout=30_000)
        watched.settled()
        yield watched
        assert watched.complaints == []
        assert watched.foreign(url) == []
        watched.page.context.close()


def ask(live: Watched, kind: str) -> None:
    live.page.evaluate("document.querySelectorAll('.choice').forEach(choice => choice.remove())")
    live.page.evaluate("kind => window.trame.trigger('ask', [kind])", kind)
    live.page.wait_for_selector(".ask .choice", timeout=60_000)
    live.settled()


def test_a_trainee_answers_with_a_key_is_told_why_and_the_page_counts(live: Watched) -> None:
    page = live.page
    page.evaluate("window.trame.trigger('go', ['gear_hot'])")
    page.get_by_role("button", name="Questions").click()
    page.wait_for_selector(".ask .choice", timeout=60_000)
    live.settled()
    page.wait_for_selector(".overlay .order text", state="attached", timeout=30_000)
    for hidden in (".left", ".card", ".numbers", ".side"):
        assert page.locator(f"{hidden} >> visible=true").count() == 0, hidden
    numbers = page.locator(".overlay .order text").all_text_contents()
    assert numbers == [str(k + 1) for k in range(page.locator(".ask .choice").count())]
    assert page.locator(".ask .answer").is_hidden()
    right = page.evaluate("[...document.querySelectorAll('.ask .choice')].findIndex(choice => choice.dataset.right !== undefined)")
    page.keyboard.press(str(right + 1))
    assert page.locator(".ask .is-right").is_visible() and page.locator(".ask .not-right").is_hidden()
    assert page.locator(".ask .why").inner_text() and page.locator(".ask .cost").inner_text()
    assert page.locator(".ask .count").inner_text() == "1 / 1"
    page.keyboard.press(str((right + 1) % len(numbers) + 1))  # one answer to a question
    assert page.locator(".ask .count").inner_text() == "1 / 1"
    page.wait_for_selector(".overlay [data-label]")  # the answer's picture names its parts


def test_a_wrong_answer_shows_the_right_one_and_the_count_goes_with_the_page(live: Watched) -> None:
    page = live.page
    page.evaluate("window.trame.trigger('go', ['hs_nut'])")
    page.wait_for_selector(".page:not(.asking)", timeout=15_000)
    ask(live, "wrong")
    assert page.locator(".overlay [data-label]").count() == 0  # a name that is not there would tell what is left out
    before = page.locator(".ask .count").inner_text()
    page.locator(".ask .choice:not([data-right])").first.click()
    assert page.locator(".ask .not-right").is_visible()
    assert page.locator(".ask .choice[data-right] span").inner_text() in page.locator(".ask .not-right").inner_text()
    right, asked = (int(part) for part in before.split("/"))
    assert page.locator(".ask .count").inner_text() == f"{right} / {asked + 1}"
    page.reload()
    page.wait_for_selector(".page[data-busy=false]", timeout=30_000)
    assert page.evaluate("document.querySelector('.ask .count').textContent") in ("", "0 / 0")


def test_a_page_that_is_not_shared_answers_on_this_machine_only(live: Watched) -> None:
    port = urlsplit(live.page.url).port
    assert port
    socket.create_connection(("127.0.0.1", port), timeout=3).close()
    with pytest.raises(OSError):
        # Another of this machine's own addresses (Linux answers on all of 127/8): what a stranger's would meet.
        socket.create_connection(("127.0.0.2", port), timeout=3)


def test_a_step_key_leads_from_a_question_back_to_the_steps(live: Watched) -> None:
    ask(live, "next")
    live.page.keyboard.press("PageDown")
    live.page.wait_for_selector(".page:not(.asking) .card h2", timeout=15_000)
    assert live.page.locator(".ask").is_hidden()


def test_a_question_fits_a_phone(live: Watched) -> None:
    live.page.set_viewport_size({"width": 390, "height": 844})
    ask(live, "next")
    assert live.page.evaluate("document.documentElement.scrollWidth") <= 390
    assert live.page.locator(".ask .choice").first.is_visible()
    live.page.set_viewport_size({"width": 1280, "height": 800})
    live.page.evaluate("window.trame.trigger('ask_leave', [])")


def test_names_in_a_machine_file_stay_text_in_a_question() -> None:
    machine, _ = open_machine("millrace")
    explainer = Explainer(machine)
    question = questions.next_part(Slips(explainer), "gear_spacer", random.Random(0))
    assert question is not None
    hostile = asking.panel(questions.replace(question, hint="<img src=x onerror=alert(1)>"))
    assert "<img" not in hostile and "&lt;img" in hostile


def test_the_window_asks_counts_and_goes_back_to_the_steps() -> None:
    machine, _ = open_machine("millrace")
    window = Window(Explainer(machine), (900, 600), off_screen=True)
    try:
        window.press("n")
        question = window.asking.question
        assert question is not None and window.frame.step is not None and window.frame.step.title == "What comes next?"
        right = next(number for number, choice in enumerate(question.choices) if choice.right)
        assert window.press(str(right + 1))
        assert window.asking.score == "Right so far: 1 / 1"
        verdicts = {note.text.split()[0]: note.verdict for note in window.frame.callouts}
        assert verdicts[str(right + 1)] == "fine" and list(verdicts.values()).count("") == len(question.choices) - 1
        window.press("Right")
        assert window.asking.question is None and window.frame.step.title != "What comes next?"
    finally:
        window.stage.close()


OWN = """[step.mesh_play]
title = "Read the play of the mesh"
act = "Read the dial at the pitch circle."
why = "The gaskets set it."
"""


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Explainer:
    """A machine whose planner calls the step that reads the backlash by a name of his own."""
    folder = tmp_path_factory.mktemp("planned")
    order = files("scenes").joinpath("procedures", "right_angle.toml").read_text(encoding="utf-8")
    assert order.count("[step.backlash]\n") == 1
    order = order.replace("[step.backlash]\n", OWN).replace('"backlash"', '"mesh_play"', 1)
    (folder / "order.toml").write_text(order, encoding="utf-8")
    machine_file = files("scenes").joinpath("machines", "millrace.toml").read_text(encoding="utf-8")
    (folder / "machine.toml").write_text('procedure = "order.toml"\n' + machine_file, encoding="utf-8")
    machine, path = open_machine(str(folder / "machine.toml"))
    assert path is not None
    return Explainer(machine, path.parent)


class Desk:
    """What questions need of a page: its state, its triggers, and a stage that tells what was shown on it last."""

    def __init__(self) -> None:
        self.state, self.controller = Held(), self
        self.shown: list[object] = []

    def trigger(self, _: str) -> Callable[[object], object]:
        return lambda act: act

    def show(self, frame: object) -> None:
        self.shown.append(frame)

    def resize(self, _: object) -> None:
        return

    def show_edges(self, _: object) -> None:
        return

    def image(self) -> NDArray[np.uint8]:
        return np.random.default_rng(len(self.shown)).integers(0, 255, (4, 4, 3), dtype=np.uint8)


class Held(dict[str, object]):
    """State that is set as on a page: by name, and in a block."""

    def __setattr__(self, name: str, value: object) -> None:
        self[name] = value

    def __enter__(self) -> None:
        return

    def __exit__(self, *_: object) -> None:
        return


def test_a_question_that_is_left_while_it_is_worked_out_leaves_the_stage_alone() -> None:
    machine, _ = open_machine("millrace")

    async def leave_early() -> tuple[Desk, asking.Asking]:
        desk = Desk()
        page = asking.Asking(Explainer(machine), desk, desk, lambda: None, lambda: ("hs_nut", 1.5))
        page.ask("wrong")
        await asyncio.sleep(asking.LAYOUT_SECONDS / 2.0)
        page.leave()
        assert page._task is not None
        await page._task
        return desk, page

    desk, page = in_a_loop_of_its_own(leave_early())
    assert desk.shown == [] and page.question is None and not desk.state["asking"] and desk.state["asked"] == ""


def test_a_fault_while_a_question_is_worked_out_is_said_in_the_panel_and_the_stage_drawn_anew() -> None:
    class Broken:
        procedure = None

    async def ask() -> tuple[Desk, list[str]]:
        desk, drawn = Desk(), list[str]()
        page = asking.Asking(Broken(), desk, desk, lambda: drawn.append("anew"), lambda: (None, 1.5))
        page.ask("next")
        assert page._task is not None
        await page._task
        return desk, drawn

    desk, drawn = in_a_loop_of_its_own(ask())
    assert "could not be worked out" in str(desk.state["asked"]) and drawn == ["anew"]


def test_questions_of_gaskets_are_put_at_the_step_that_reads_the_backlash_whatever_it_is_called(planned: Explainer) -> None:
    slips = Slips(planned)
    assert slips.read_at == ("mesh_play", "pattern")
    assert {slip.seen for slip in slips.all if slip.kind == "shim"} == {"mesh_play", "pattern"}
    chosen = next(slip for slip in slips.all if slip.kind == "shim" and slip.seen == "mesh_play")
    question = questions.slip(slips, chosen, random.Random(0), lambda a, b: 1.0)
    assert question is not None and question.why and "Read the play of the mesh" in question.hint
