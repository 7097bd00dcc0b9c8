"""Sharing in a room, started as a user starts it: many read along, a few have a live page, nobody changes what another sees."""

from __future__ import annotations

import asyncio
import json
import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any
from urllib.parse import urlencode, urlsplit

import psutil
import pytest
from aiohttp import web
from aiohttp.test_utils import TestClient, TestServer
from playwright.sync_api import Browser, Page

from scenes.wording import keys, text
from tests.viewer.browser import DRIVER_TALK, ROOT, Watched, in_a_loop_of_its_own, served
from viewer import places
from viewer.cli import main
from viewer.phone_place import SharedPhone
from viewer.share import CODE_LENGTH, LETTERS, LIVE_PLACES, Sharing, own_addresses

VIEWERS = 20
GROWN = 60e6  # bytes that the sharing process may have grown by after the crowd has gone (answers that it keeps among them)
MADE_SECONDS = 120_000  # that a visitor may wait for the page for phones on a machine with other work [ms]
TEXTS = "[...document.querySelectorAll('#notes > .note .sentence')].map(line => line.textContent)"
LIVE_TEXTS = "[...document.querySelectorAll('.numbers td.text')].map(cell => cell.innerText)"


@pytest.fixture(scope="module")
def early() -> Iterator[tuple[str, tuple[int, str]]]:
    """The address with its code, by this machine's own name, and what the page for phones answers right after the start."""
    with served(["-m", "viewer.cli", "show", "millrace", "--share", "--no-browser"]) as url:
        parts = urlsplit(url)
        address = f"http://127.0.0.1:{parts.port}{parts.path}"
        yield address, got(f"{address}phone")


@pytest.fixture(scope="module")
def address(early: tuple[str, tuple[int, str]]) -> str:
    return early[0]


def process(address: str) -> psutil.Process:
    """The sharing process: the one that listens there."""
    port = urlsplit(address).port
    return next(
        each
        for each in psutil.Process().children()
        if any(found.laddr.port == port and found.status == psutil.CONN_LISTEN for found in each.net_connections())
    )


def got(url: str) -> tuple[int, str]:
    try:
        with urllib.request.urlopen(url, timeout=60) as answer:
            return answer.status, answer.read().decode()
    except urllib.error.HTTPError as fault:
        with fault:
            return fault.code, fault.read().decode()


def printed(capsys: pytest.CaptureFixture[str], *options: str) -> str:
    capsys.readouterr()
    main(["numbers", "millrace", "--json", *options])
    return capsys.readouterr().out


@pytest.mark.parametrize(
    ("query", "options"),
    [
        ({"step": "gear_hot"}, ["--step", "gear_hot"]),
        ({"step": "5", "heater": "140 degC", "units": "inch"}, ["--step", "5", "--heater", "140 degC", "--units", "inch"]),
        ({"step": "backlash", "gasket": "pinion_gasket=0.6 mm"}, ["--step", "backlash", "--gasket", "pinion_gasket=0.6 mm"]),
        ({"language": "en", "ambient": "5 degC"}, ["--ambient", "5 degC"]),
        ({"language": "es", "step": "gear_hot"}, ["--language", "es", "--step", "gear_hot"]),
    ],
)
def test_the_address_answers_to_the_letter_what_the_command_prints(
    address: str, capsys: pytest.CaptureFixture[str], query: dict[str, str], options: list[str]
) -> None:
    assert got(f"{address}numbers?{urlencode(query)}") == (200, printed(capsys, *options))


@pytest.mark.parametrize(
    ("query", "line"),
    [
        ("step=gear_hut", "--step 'gear_hut': unknown: accepted: 1 to 75"),
        ("heater=hot", "--heater 'hot'"),
        ("heater=900%20degC", "accepted: 20 °C to 300 °C"),
        ("units=cubits", "accepted: mm, inch"),
        ("language=xx", "accepted: en"),
        ("gasket=thick", "accepted: NAME=THICKNESS"),
        ("heater=80%20degC&heater=90%20degC", "heater: given more than once: accepted: once"),
        ("gasket=pinion_gasket%3D0.5%20mm&gasket=pinion_gasket%3D0.6%20mm", "pinion_gasket: given more than once"),
        ("colour=red", "colour: unknown: accepted: step"),
        ("step=" + "9" * 300, "too long"),
        ("step=%3Cscript%3E", "'<script>'"),
    ],
)
def test_what_can_not_be_answered_is_refused_in_a_clear_line(address: str, query: str, line: str) -> None:
    status, told = got(f"{address}numbers?{query}")
    assert status == 400 and line in told and "\n" not in told


def test_without_the_code_there_is_nothing_but_the_question_for_it(browser: Browser, address: str) -> None:
    root = address[: -CODE_LENGTH - 1]
    code = address[-CODE_LENGTH - 1 : -1]
    assert len(code) == CODE_LENGTH and set(code) <= set(LETTERS)
    other = ("a" if code[0] != "a" else "b") + code[1:]
    for path in ("", "phone", "numbers?step=gear_hot", "live", "live/x/ws", "../numbers"):
        status, told = got(f"{root}{other}/{path}")
        assert status in (403, 404) and "callouts" not in told and "Mill-race" not in told, path
    watched = Watched(browser, (390, 780))
    watched.page.goto(root)
    watched.page.locator("#code").fill("zzzzzz")
    watched.page.get_by_role("button").click()
    watched.page.wait_for_selector(".fault")
    watched.page.locator("#code").fill(f" {code.upper()} ")
    watched.page.get_by_role("button").click()
    watched.page.wait_for_url(address)
    assert watched.foreign(address) == []
    watched.page.context.close()


def test_a_wrong_code_costs_time_and_a_flood_of_them_is_turned_away(address: str) -> None:
    root = address[: -CODE_LENGTH - 1]
    start = time.monotonic()
    assert got(f"{root}wrong1/numbers")[0] == 403
    assert time.monotonic() - start >= 1.0
    with ThreadPoolExecutor(40) as crowd:
        statuses = list(crowd.map(lambda i: got(f"{root}wrong{i}/numbers")[0], range(40)))
    assert set(statuses) == {403, 429}
    assert got(f"{address}numbers?step=gear_hot")[0] == 200


def test_who_comes_before_the_phone_page_is_made_gets_it_by_waiting(browser: Browser, early: tuple[str, tuple[int, str]]) -> None:
    address, (status, told) = early
    assert status == 202 and "is being made" in told
    page = browser.new_context(viewport={"width": 390, "height": 780}).new_page()
    page.goto(f"{address}phone")
    page.wait_for_selector("body:not([data-drawn=''])[data-drawn]", timeout=MADE_SECONDS)
    page.context.close()


def test_the_phone_page_reads_the_steps_and_asks_for_exact_numbers(
    browser: Browser, address: str, capsys: pytest.CaptureFixture[str]
) -> None:
    watched = Watched(browser, (390, 780))
    page = watched.page
    page.goto(address)
    page.get_by_role("link").first.click()
    page.wait_for_selector("body:not([data-drawn=''])[data-drawn]", timeout=MADE_SECONDS)

    def printed_texts(*options: str) -> list[str]:
        return [note["text"] for note in json.loads(printed(capsys, *options))["steps"][0]["callouts"]]

    for step in ("gear_hot", "backlash", "make_safe", "gear_hot"):
        page.locator("#count").click()
        page.locator(f"#list [data-step='{step}']").click()
        assert page.evaluate(TEXTS) == printed_texts("--step", step)
    exact = TEXTS.replace("#notes", "#live-notes")
    page.locator("#live-heater").fill("137 degC")
    page.locator("#exact button").click()
    page.wait_for_selector("#live-notes .note")
    assert (
        page.evaluate(exact) == printed_texts("--step", "gear_hot", "--heater", "137 degC") != printed_texts("--step", "gear_hot")
    )
    page.locator("#live-heater").fill("hot")
    page.locator("#exact button").click()
    page.wait_for_selector("#live-notes .note", state="detached")
    assert "--heater 'hot'" in page.locator("#live-fault").inner_text()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert watched.foreign(address) == []
    assert [line for line in watched.complaints if "400" not in line and DRIVER_TALK not in line] == []
    page.context.close()


def test_twenty_viewers_each_get_their_own_numbers_and_the_memory_stays_bounded(
    address: str, capsys: pytest.CaptureFixture[str]
) -> None:
    heaters = [80 + 3 * k for k in range(VIEWERS)]
    expected = [printed(capsys, "--step", "gear_hot", "--heater", f"{heater} degC") for heater in heaters]
    assert len(set(expected)) == VIEWERS
    got(f"{address}numbers?step=gear_hot")
    _, page = got(f"{address}phone")
    mine = process(address)
    before = mine.memory_info().rss

    def viewer(k: int) -> bool:
        query = urlencode({"step": "gear_hot", "heater": f"{heaters[k]} degC"})
        return all(got(f"{address}numbers?{query}") == (200, expected[k]) for _ in range(5))

    with ThreadPoolExecutor(VIEWERS) as crowd:
        assert all(crowd.map(viewer, range(VIEWERS)))
        assert all(each == (200, page) for each in crowd.map(got, [f"{address}phone"] * VIEWERS))
        # Many different questions: what is kept of them is bounded.
        list(crowd.map(lambda k: got(f"{address}numbers?{urlencode({'heater': f'{60 + k / 10} degC'})}"), range(0, 300, 15)))
    assert mine.memory_info().rss - before < GROWN


def letters(label: str) -> str:
    """A label without line breaks and counts."""
    return "".join(filter(str.isalpha, label))


def test_a_room_that_is_shown_spanish_reads_spanish_everywhere(browser: Browser, capsys: pytest.CaptureFixture[str]) -> None:
    with served(["-m", "viewer.cli", "show", "millrace", "--share", "--no-browser", "--language", "es", "--units", "inch"]) as url:
        address = f"http://127.0.0.1:{urlsplit(url).port}{urlsplit(url).path}"
        gate = got(address[: -CODE_LENGTH - 1])[1]
        assert '<html lang="es">' in gate and text("share.gate", "es") in gate
        spanish, english = (
            printed(capsys, "--step", "gear_hot", "--units", "inch", "--language", language) for language in ("es", "en")
        )
        assert spanish != english
        assert got(f"{address}numbers?step=gear_hot") == (200, spanish)
        assert got(f"{address}numbers?step=gear_hot&language=en") == (200, english)
        page = opened(browser, f"{address}live")
        page.get_by_role("button").click()
        page.wait_for_selector(".page[data-busy=false]", timeout=90_000)
        assert page.evaluate("document.documentElement.lang") == "es"
        assert page.locator("[name=units][value=inch]").is_checked()
        page.get_by_role("button", name=text("question.begin", "es")).click()
        page.locator(".ask .choice").first.click(timeout=60_000)
        page.wait_for_selector(".overlay [data-label]", timeout=60_000)  # the answer's picture names its parts
        named = {letters(label) for label in page.locator(".overlay [data-label] text").all_text_contents()}
        assert named and not named & {letters(text(key, "en", count="")) for key in keys("part.", "en")}
        page.context.close()


def started(address: str) -> str:
    """The address of a live session that has just been given a place and has started."""
    with urllib.request.urlopen(f"{address}live", data=b"", timeout=90) as answer:
        return str(answer.url)


def opened(browser: Browser, address: str) -> Page:
    page = browser.new_context(viewport={"width": 1280, "height": 800}).new_page()
    page.goto(address, timeout=90_000)
    return page


def test_looking_at_the_way_to_a_live_page_takes_no_place_and_a_browser_gets_one(address: str) -> None:
    mine = process(address)
    until(lambda: not mine.children(), MADE_SECONDS / 1000.0)  # the page for phones is made
    for _ in range(2):
        assert got(f"{address}live")[0] == 200
    with pytest.raises(urllib.error.HTTPError) as refused:
        urllib.request.urlopen(urllib.request.Request(f"{address}live", method="HEAD"), timeout=60)
    with refused.value as fault:
        assert fault.code == 403 and fault.headers["X-Frame-Options"] == "DENY"
    assert mine.children() == []
    browser = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
    places = set()
    for _ in range(2):
        with browser.open(f"{address}live", data=b"", timeout=90) as answer:
            places.add(answer.url)
    assert len(places) == 1 and len(mine.children()) == 1
    mine.children()[0].terminate()
    until(lambda: not mine.children(), 20)
    status, told = got(places.pop())
    assert status == 404 and "This live page has ended" in told and "<form" in told


def test_an_address_without_its_last_stroke_leads_to_the_menu(address: str) -> None:
    with urllib.request.urlopen(address[:-1], timeout=60) as answer:
        assert answer.url == address


class Failing:
    """Places that fail where nobody expects it."""

    free, most = 1, 3

    def holds(self, _: str) -> bool:
        return False

    async def take(self) -> str:
        raise RuntimeError("no memory")

    async def answer(self, _: web.Request) -> web.Response:
        raise RuntimeError("no memory")


class Named:
    title = "Mill-race"


def test_a_fault_is_told_in_a_line_and_every_answer_carries_the_headers(capsys: pytest.CaptureFixture[str]) -> None:
    async def asked() -> list[tuple[int, str, str]]:
        app = Sharing(Named(), lambda _: None, SharedPhone("", "mm"), Failing(), "abcdef").app()  # type: ignore[arg-type,return-value]
        found = []
        async with TestClient(TestServer(app)) as client:
            for method, path in (("POST", "live"), ("GET", "live/x/"), ("GET", "live/x/ws"), ("GET", "nothing"), ("HEAD", "live")):
                answer = await client.request(method, f"/abcdef/{path}")
                found.append((answer.status, answer.headers["X-Frame-Options"], await answer.text()))
        return found

    found = in_a_loop_of_its_own(asked())
    assert {header for _, header, _ in found} == {"DENY"}
    assert [status for status, _, _ in found] == [500, 404, 500, 403, 403]
    assert "could not be answered" in found[0][2] and "no memory" not in found[0][2]
    assert capsys.readouterr().err.splitlines() == ["An answer failed: RuntimeError: no memory"] * 2


def test_a_session_that_does_not_end_when_it_is_told_to_is_killed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(places, "END_SECONDS", 0.3)
    deaf = "import signal, time; signal.signal(signal.SIGTERM, signal.SIG_IGN); print('deaf', flush=True); time.sleep(60)"

    async def end() -> int | None:
        kept = places.Places("", 1, "mm")
        job = await asyncio.create_subprocess_exec(sys.executable, "-c", deaf, stdout=asyncio.subprocess.PIPE)
        assert job.stdout and await job.stdout.readline() == b"deaf\n"
        kept._places["a"] = places.Place(job, asyncio.get_running_loop().create_future())
        await kept.close()
        assert kept.free == 1
        return job.returncode

    assert in_a_loop_of_its_own(end()) == -signal.SIGKILL


def test_a_page_that_goes_out_of_range_gives_its_place_back(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(places, "SILENT_SECONDS", 0.4)

    async def session(request: web.Request) -> web.WebSocketResponse:
        talk = web.WebSocketResponse()
        await talk.prepare(request)
        async for _ in talk:
            continue
        return talk

    async def lost() -> int:
        inner = web.Application()
        inner.router.add_get("/ws", session)
        kept = places.Places("", 1, "mm")
        outer = web.Application()
        outer.router.add_get("/{place}/{tail:.*}", kept.answer)
        async with TestServer(inner) as there, TestClient(TestServer(outer)) as client:
            job = await asyncio.create_subprocess_exec(sys.executable, "-c", "import time; time.sleep(60)")
            place = kept._places["a"] = places.Place(job, asyncio.get_running_loop().create_future())
            place.port.set_result(there.port)
            async with client.ws_connect("/a/ws", autoping=False):  # never answers a ping, as if out of range
                await asyncio.sleep(0.1)
                assert place.connections == 1
                await asyncio.sleep(1.5)
                left = place.connections
            await kept.close()
        return left

    assert in_a_loop_of_its_own(lost()) == 0


def test_a_machine_names_only_addresses_that_others_can_reach() -> None:
    # What the kernel says of itself, read by another library.
    told = {each.address for all in psutil.net_if_addrs().values() for each in all if each.family == socket.AF_INET}
    assert set(own_addresses()) == {each for each in told if not each.startswith("127.")}


def set_heater(page: Page, value: int) -> None:
    page.wait_for_selector(".page", timeout=90_000)
    page.evaluate("window.trame.trigger('go', ['gear_hot'])")
    page.wait_for_selector("[aria-current=step][data-step=gear_hot]", state="attached", timeout=30_000)
    page.locator("#heater").fill(str(value))


def until(what: Any, seconds: float) -> None:
    end = time.monotonic() + seconds
    while not what():
        assert time.monotonic() < end
        time.sleep(0.3)


def test_three_live_pages_do_not_see_each_other_and_give_their_memory_back(
    browser: Browser, address: str, capsys: pytest.CaptureFixture[str]
) -> None:
    mine = process(address)
    heaters = [95, 120, 160]
    assert len(heaters) == LIVE_PLACES
    until(lambda: not mine.children(), MADE_SECONDS / 1000.0)  # the page for phones is made
    with ThreadPoolExecutor(LIVE_PLACES) as crowd:
        pages = [opened(browser, place) for place in list(crowd.map(started, [address] * LIVE_PLACES))]
    for page, heater in zip(pages, heaters, strict=True):
        set_heater(page, heater)
    for page, heater in zip(pages, heaters, strict=True):
        report = json.loads(printed(capsys, "--step", "gear_hot", "--heater", f"{heater} degC"))
        lines = sorted(note["text"] for note in report["steps"][0]["callouts"])  # the page puts first what the act goes by
        page.wait_for_function(f"lines => JSON.stringify({LIVE_TEXTS}.sort()) === JSON.stringify(lines)", arg=lines, timeout=30_000)
        page.wait_for_selector(".page[data-busy=false]", timeout=30_000)
    print("live sessions [MB]: " + ", ".join(f"{each.memory_info().rss / 1e6:.0f}" for each in mine.children()))
    fourth = opened(browser, f"{address}live")
    assert "All 3 live pages are in use" in fourth.inner_text("main")
    assert got(f"{address}numbers?step=gear_hot")[0] == 200
    assert len(mine.children()) == LIVE_PLACES
    pages[0].reload()
    pages[0].wait_for_selector(".page[data-busy=false]", timeout=30_000)
    assert pages[0].locator("#heater").input_value() == "95"
    for page in (fourth, *pages):
        page.context.close()
    until(lambda: not mine.children(), 40)  # after the time kept for a reload
    assert re.search(r"Free now: 3 of 3", got(address)[1])


def test_a_taken_port_is_refused_in_a_clear_line() -> None:
    with socket.socket() as other:
        other.bind(("0.0.0.0", 0))
        other.listen()
        port = other.getsockname()[1]
        for extra in ([], ["--share"]):
            command = [sys.executable, "-m", "viewer.cli", "show", "millrace", "--no-browser", "--port", str(port), *extra]
            done = subprocess.run(command, capture_output=True, text=True, timeout=60, cwd=ROOT, check=False)
            assert done.returncode == 2 and done.stdout == ""
            assert f"--port {port}: can't be used" in done.stderr and done.stderr.count("\n") == 1


@pytest.mark.parametrize(
    ("environment", "line"),
    [
        # A screen and nothing to open on it; no vendor of OpenGL for the drawing library to find.
        ({"DISPLAY": ":87", "PATH": "/nowhere"}, "no browser on this machine: accepted: install one, or --no-browser"),
        ({"__EGL_VENDOR_LIBRARY_DIRS": "/nowhere"}, "this machine can't draw"),
    ],
)
def test_a_machine_that_can_not_show_it_says_so(environment: dict[str, str], line: str) -> None:
    bare = {key: value for key, value in os.environ.items() if key not in ("DISPLAY", "WAYLAND_DISPLAY", "BROWSER")}
    command = [sys.executable, "-m", "viewer.cli", "show", "millrace", "--share"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, cwd=ROOT, check=False, env={**bare, **environment})
    assert done.returncode == 2 and done.stdout == ""
    assert line in done.stderr and done.stderr.count("\n") == 1
