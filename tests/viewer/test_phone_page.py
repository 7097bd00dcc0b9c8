"""The phone file as it is packed, opened from a folder in a real browser: what it says is what `numbers --json` prints."""

from __future__ import annotations

import base64
import gzip
import json
import re
import threading
import tomllib
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from importlib.resources import files
from pathlib import Path
from typing import Any, ClassVar
from urllib.parse import parse_qs, urlsplit

import pytest
from playwright.sync_api import Browser, Page

from calc import units
from scenes.examples import open_machine
from scenes.explain import Explainer
from scenes.wording import LANGUAGES, catalogue, keys
from tests.viewer.browser import DRIVER_TALK, Watched
from viewer import phone, phone_words
from viewer.cli import main

PHONE, DESK = (390, 844), (1280, 800)
TOLD = """() => [...document.querySelectorAll('#notes > .note')].map(row => ['.sentence', '.figure', '.limit', '.source']
  .map(part => row.querySelector(part)?.textContent ?? '').concat(row.className.split(' ')[1]))"""
WALKED = f"""() => {{
  const next = document.getElementById('next'), walked = [];
  while (!next.disabled) {{ next.click(); walked.push([document.getElementById('title').textContent, ({TOLD})()]); }}
  return walked; }}"""
CHOSEN = f"""points => points.map(point => {{
  const list = document.getElementById('gasket');
  list.value = point;
  list.dispatchEvent(new Event('change'));
  return ({TOLD})(); }})"""


@pytest.fixture(scope="module")
def packed(millrace: Explainer, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The file of the metric example in its first language."""
    path = tmp_path_factory.mktemp("talk") / phone.NAME
    phone.write(millrace, millrace.with_(millrace.start_settings(), step=None), path, LANGUAGES[:1])
    return path


@pytest.fixture(scope="module")
def told(packed: Path) -> dict[str, Any]:
    """What the file carries beside the drawing's bodies."""
    block = re.search(r'id="packed-words">(.*?)</script>', packed.read_text(encoding="utf-8"), re.S)
    assert block
    carried: dict[str, Any] = json.loads(gzip.decompress(base64.b64decode(block[1])))
    return carried


class Opened(Watched):
    """A file opened in the browser."""

    def __init__(self, browser: Browser, address: str, size: tuple[int, int] = PHONE) -> None:
        super().__init__(browser, size)
        self.page.goto(address)
        self.at_rest()

    def at_rest(self, step: str = "") -> None:
        """Wait until the picture (of this step) is drawn."""
        self.page.wait_for_selector(f"body[data-drawn='{step}']" if step else "body:not([data-drawn=''])", timeout=60_000)

    def faults(self) -> list[str]:
        """What the page complained of."""
        return [line for line in self.complaints if DRIVER_TALK not in line]

    def go(self, step: str) -> None:
        """Choose a step in the list."""
        self.page.locator("#count").click()
        self.page.locator(f"#list [data-step='{step}']").click()


@pytest.fixture(scope="module")
def kept(browser: Browser, packed: Path) -> Iterator[Opened]:
    opened = Opened(browser, packed.as_uri())
    yield opened
    opened.page.context.close()


@pytest.fixture
def page(kept: Opened) -> Page:
    """The page at phone width with all as it was packed."""
    page = kept.page
    page.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
    page.keyboard.press("Escape")
    if page.locator("#back").is_visible():
        page.locator("#back").click()
    page.locator("#pull").fill("1")
    in_units(page, "mm")
    return page


def in_units(page: Page, system: str) -> None:
    page.locator("#set").click()
    page.locator(f"[name=units][value={system}]").check()
    page.locator("#settings .close").click()


def printed(explainer: Explainer, **changes: Any) -> list[list[str]]:
    """Each note of a step as `numbers --json` gives it."""
    report = explainer.numbers(explainer.with_(explainer.start_settings(), **changes))
    return of_step(report["steps"][0])


def of_step(step: dict[str, Any]) -> list[list[str]]:
    names = ("text", "short", "limit", "source")
    return [[*(note[name] for name in names), note["verdict"] or "none"] for note in step["callouts"]]


def test_every_step_shows_its_printed_numbers_and_no_request_leaves(kept: Opened, page: Page, millrace: Explainer) -> None:
    kept.go("")
    report = millrace.numbers(millrace.with_(millrace.start_settings(), step=None))
    assert len(report["steps"]) == 75
    assert page.evaluate(WALKED) == [[step["title"], of_step(step)] for step in report["steps"]]
    assert page.locator("#next").is_disabled()
    kept.at_rest(report["steps"][-1]["id"])
    assert kept.faults() == []
    assert [url for url in kept.requests if not url.startswith(("file:", "data:", "blob:"))] == []
    assert len([url for url in kept.requests if url.startswith("file:")]) == 1


def test_grid_has_the_heater_every_five_kelvin_and_each_stock_thickness_alone(told: dict[str, Any], millrace: Explainer) -> None:
    low, high, _ = millrace.heater_range
    heater = [5 * number for number in range(1000) if low <= 5 * number <= high]
    gaskets = [f"{name} {thickness:g}" for name, *_, stock in millrace.gaskets for thickness in stock]
    assert len(heater) > 10 and len(gaskets) > 10
    for words in told["words"].values():
        assert set(words["grid"]) == {"mm", "inch"}
        for points in words["grid"].values():
            assert [point for point, _ in points] == [*(f"heater {value}" for value in heater), *gaskets]
            assert len({name for _, name in points}) == len(points)


def test_a_setting_is_kept_for_every_step_that_it_changes_and_for_no_other(told: dict[str, Any], millrace: Explainer) -> None:
    """Every step is asked anew at settings between those that tell what is asked at all: two of the heater, each thickness but the usual."""
    now = millrace.with_(millrace.start_settings(), step=None)
    grid, kept = phone_words.points(millrace, now), next(iter(told["words"].values()))["told"]["mm"]
    heater = [point for point in grid if point.startswith("heater ")]
    sampled = [heater[len(heater) * share // 7] for share in (2, 5)]
    for name, _, nominal, _, _, stock in millrace.gaskets:
        sampled += [f"{name} {size:g}" for size in sorted(stock)[1:-1] if abs(size - nominal) > 0.01]
    changed = 0
    for place, step in enumerate(millrace.procedure.order):
        words, figures = phone_words.words_and_figures(millrace.readings(now, step))
        for point in sampled:
            other, drawn = phone_words.words_and_figures(millrace.readings(grid[point], step))
            assert (point in kept[place]) == ((other, drawn) != (words, figures)), (step, point)
            assert ("figures" in kept[place].get(point, {})) == (drawn != figures), (step, point)
            changed += point in kept[place]
    assert len(sampled) == 4 and 20 < changed < len(sampled) * len(kept) // 2


def test_heater_slider_stops_at_grid_points_only_and_shows_what_is_printed(kept: Opened, page: Page, millrace: Explainer) -> None:
    kept.go("gear_hot")
    low, high, _ = millrace.heater_range
    slider = page.locator("#heater")
    assert slider.get_attribute("step") == "1"
    last = int(slider.get_attribute("max") or 0)
    seen = set()
    for place in (0, 3, last // 2, last):
        slider.fill(str(place))
        at = low + place * (high - low) / last
        assert at % 5 == 0
        expected = printed(millrace, step="gear_hot", heater=at)
        assert page.evaluate(TOLD) == expected
        assert page.locator("#point").inner_text().startswith(f"heater {units.show(at, 'temperature', 'mm', digits=0)}")
        seen.add(str(expected))
    assert len(seen) >= 3
    page.locator("#back").click()
    assert page.evaluate(TOLD) == printed(millrace, step="gear_hot")


def test_every_stock_thickness_of_every_gasket_shows_what_is_printed(
    kept: Opened, page: Page, told: dict[str, Any], millrace: Explainer
) -> None:
    by_step = next(iter(told["words"].values()))["told"]["mm"]
    for name, _, nominal, _, _, stock in millrace.gaskets:
        points = {f"{name} {thickness:g}": thickness for thickness in stock}
        place = max(range(len(by_step)), key=lambda step: len(points.keys() & by_step[step].keys()))
        step = millrace.procedure.order[place]
        base, moved = printed(millrace, step=step), 0
        kept.go(step)
        shown = page.evaluate(CHOSEN, list(points))
        for thickness, rows in zip(points.values(), shown, strict=True):
            expected = printed(millrace, step=step, gaskets={name: thickness})
            assert rows == expected, (name, thickness)
            moved += expected != base
        assert moved >= len([thickness for thickness in stock if thickness != nominal]) - 1
        page.locator("#gasket").select_option("")
        assert page.evaluate(TOLD) == base


def test_inch_shows_the_numbers_printed_in_inches(kept: Opened, page: Page, millrace: Explainer) -> None:
    kept.go("gear_hot")
    in_units(page, "inch")
    assert page.evaluate(TOLD) == printed(millrace, step="gear_hot", units="inch") != printed(millrace, step="gear_hot")
    page.locator("#heater").fill("4")
    low = millrace.heater_range[0]
    assert page.evaluate(TOLD) == printed(millrace, step="gear_hot", units="inch", heater=low + 20.0)


def test_the_keyboard_alone_reaches_everything(kept: Opened, page: Page) -> None:
    kept.go("make_safe")
    focused = "() => document.activeElement.id || document.activeElement.dataset.step"
    reached = set()
    page.locator("#set").focus()
    for _ in range(60):
        reached.add(page.evaluate(focused))
        page.keyboard.press("Tab")
    assert reached >= {"set", "canvas", "farther", "nearer", "own", "pull", "cut", "previous", "count", "next"}

    page.locator("#count").focus()
    page.keyboard.press("Enter")
    assert page.evaluate(focused) == "make_safe"
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    assert not page.locator("#steps").is_visible()
    assert page.locator("#count").inner_text() == "2 / 75"
    page.keyboard.press("PageDown")
    assert page.locator("#count").inner_text() == "3 / 75"
    page.keyboard.press("ArrowLeft")
    assert page.locator("#count").inner_text() == "2 / 75"
    page.locator("#pull").focus()
    page.keyboard.press("Home")
    assert page.locator("#pull").input_value() == "0"
    assert page.locator("#count").inner_text() == "2 / 75"
    before = page.locator("#cut").is_checked()
    page.locator("#cut").focus()
    page.keyboard.press("Space")
    assert page.locator("#cut").is_checked() != before


def test_pulling_apart_cutting_and_turning_change_the_picture(kept: Opened, page: Page) -> None:
    kept.go("ls_cover")
    kept.at_rest("ls_cover")
    pictures = [page.locator("#canvas").screenshot()]
    for change in ("pull", "cut", "turn"):
        if change == "pull":
            page.locator("#pull").fill("0")
        elif change == "cut":
            page.locator("#cut").click()
        else:
            page.locator("#canvas").focus()
            page.keyboard.press("Shift+ArrowRight")
        kept.at_rest("ls_cover")
        pictures.append(page.locator("#canvas").screenshot())
    assert len(set(pictures)) == 4
    assert kept.faults() == []


def test_a_tap_on_a_part_shows_its_name(kept: Opened, page: Page) -> None:
    kept.go("ls_cover")
    kept.at_rest("ls_cover")
    stage = page.locator("#stage").bounding_box()
    assert stage
    letters = page.locator("#overlay text.balloon").all_text_contents()
    dots = page.evaluate(
        "() => [...document.querySelectorAll('#overlay .dot')].map(dot => [+dot.getAttribute('cx'), +dot.getAttribute('cy')])"
    )
    names = dict(
        page.evaluate(
            "() => [...document.querySelectorAll('#part-list button')].map(one => [...one.children].map(part => part.textContent))"
        )
    )
    assert len(letters) == len(dots) >= 2
    for letter, (x, y) in zip(letters, dots, strict=True):
        page.mouse.click(stage["x"] + x, stage["y"] + y)
        assert page.locator("#name").inner_text() == names[letter]
    page.keyboard.press("Escape")
    assert not page.locator("#name").is_visible()


def test_nothing_runs_off_a_phone_at_any_letter_size(kept: Opened, page: Page) -> None:
    runs_off = "() => [...document.querySelectorAll('body *')].filter(e => !e.closest('svg, .unseen') && e.getBoundingClientRect().right > innerWidth + 1).map(e => e.id || e.className)"
    for step in ("gear_hot", "backlash"):
        kept.go(step)
        assert page.evaluate("() => document.documentElement.scrollWidth") == PHONE[0]
        assert page.evaluate(runs_off) == []
    page.locator("#set").click()
    ordinary = page.evaluate("() => parseFloat(getComputedStyle(document.querySelector('#act')).fontSize)")
    page.evaluate("() => { for (let k = 0; k < 4; k++) document.getElementById('larger').click(); }")
    assert page.evaluate("() => parseFloat(getComputedStyle(document.querySelector('#act')).fontSize)") == pytest.approx(
        1.6 * ordinary
    )
    assert page.evaluate(runs_off) == []
    page.locator("#settings .close").click()
    assert page.evaluate("() => document.documentElement.scrollWidth") == PHONE[0]
    assert page.evaluate(runs_off) == []
    for name in ("previous", "count", "next"):
        box = page.locator(f"#{name}").bounding_box()
        assert box and box["height"] >= 40 and box["y"] + box["height"] <= PHONE[1]
    page.evaluate("() => { for (let k = 0; k < 4; k++) document.getElementById('smaller').click(); }")


def test_light_and_dark_change_the_page_and_the_picture(kept: Opened, page: Page) -> None:
    seen = {}
    kept.go("gear_hot")
    for theme in ("dark", "light"):
        page.locator("#set").click()
        page.locator(f"[name=theme][value={theme}]").check()
        page.locator("#settings .close").click()
        kept.at_rest("gear_hot")
        seen[theme] = (
            page.evaluate("() => getComputedStyle(document.documentElement).backgroundColor"),
            page.locator("#canvas").screenshot(),
        )
    assert seen["light"][0] == "rgb(255, 255, 255)" and seen["dark"][0] == "rgb(23, 25, 29)"
    assert seen["light"][1] != seen["dark"][1]


def test_ticks_are_kept_while_the_page_is_open_and_shown_in_the_list(kept: Opened, page: Page) -> None:
    kept.go("make_safe")
    page.locator("[data-tick=done]").check()
    kept.go("inspect")
    assert not page.locator("[data-tick=done]").is_checked()
    kept.go("make_safe")
    assert page.locator("[data-tick=done]").is_checked()
    page.locator("#count").click()
    assert page.locator("#list [data-step=make_safe] .tick").inner_text() == "✓"
    page.locator("#steps .close").click()


def test_file_is_light_asks_for_nothing_and_carries_the_licence(packed: Path) -> None:
    text = packed.read_text(encoding="utf-8")
    assert packed.stat().st_size <= phone.MOST_BYTES == 5_000_000
    assert set(re.findall(r"https?://[^\"'`\s)<]+", text)) <= {"http://www.w3.org/2000/svg", "http://www.w3.org/1999/xhtml"}
    assert "default-src 'none'" in text and "connect-src 'none'" in text
    licence = (Path(phone.__file__).parent / "web" / "phone" / "LICENSE.three").read_text(encoding="utf-8")
    assert " ".join(licence.split()) in " ".join(text.split())


def test_every_word_of_the_page_is_used() -> None:
    viewer = Path(phone.__file__).parent
    sources = [*viewer.glob("phone*.py"), viewer / "web" / "phone.html", *(viewer / "web" / "phone").glob("*.js")]
    source = "".join(path.read_text(encoding="utf-8") for path in sources)
    words = [key.removeprefix("phone.") for key in keys("phone.")]
    assert len(words) > 40
    used = r"(page\.|phone\.|data-(?:word|hint)=\")"
    assert [word for word in words if not re.search(rf"{used}{word}\b", source)] == []


HOSTILE = "<img src=x onerror=document.title='hit'>مرحبا</script><script>1</script>{x}"
HUGE = "W" * 80


@pytest.mark.parametrize("name", [HOSTILE, HUGE])
def test_hostile_text_of_a_machine_file_appears_as_text(browser: Browser, tmp_path: Path, name: str) -> None:
    """A job of four steps of the shipped machine, under a name that would harm a careless page, packed by the command."""
    source = files("scenes").joinpath("procedures", "right_angle.toml").read_text(encoding="utf-8")
    order = tomllib.loads(source)["order"][:4]
    tables = [table for table in source.split("\n[step.")[1:] if table.partition("]")[0] in order]
    text = "".join([f"order = {json.dumps(order)}\n", *(f"\n[step.{table}" for table in tables)])
    (tmp_path / "order.toml").write_text(text, encoding="utf-8")
    example = files("scenes").joinpath("machines", "millrace.toml").read_text(encoding="utf-8")
    told, count = re.subn(r"(?m)^name = .*$", lambda _: f'name = {json.dumps(name)}\nprocedure = "order.toml"', example, count=1)
    assert count == 1
    (tmp_path / "machine.toml").write_text(told, encoding="utf-8")
    assert main(["pack", str(tmp_path / "machine.toml"), "-o", str(tmp_path / "talk"), "--only", "phone"]) == 0
    assert [path.name for path in (tmp_path / "talk").iterdir()] == [phone.NAME]
    opened = Opened(browser, (tmp_path / "talk" / phone.NAME).as_uri())
    page = opened.page
    assert page.locator("#machine").evaluate("e => e.textContent") == name == page.title()
    assert page.locator("img, script:not(body > script)").count() == 0
    assert page.evaluate("() => document.documentElement.scrollWidth") == PHONE[0]
    opened.go(order[-1])
    assert page.locator("#count").inner_text() == "4 / 4"
    for language in LANGUAGES:
        page.evaluate(
            "name => { const list = document.getElementById('language'); list.value = name; list.dispatchEvent(new Event('change')); }",
            language,
        )
        assert page.locator("#title").inner_text() == catalogue(language)[f"step.{order[-1]}.title"]
    assert opened.faults() == []
    page.context.close()


class Desk(BaseHTTPRequestHandler):
    """Serves a phone file with its live numbers, as whoever shares the page does."""

    document: ClassVar[str]
    explainer: ClassVar[Explainer]

    def do_GET(self) -> None:
        url = urlsplit(self.path)
        kind, status, body = "text/html; charset=utf-8", 200, self.document
        if url.path == "/numbers":
            asked = {key: values[0] for key, values in parse_qs(url.query).items()}
            changes: dict[str, Any] = {"step": asked["step"], "units": asked["units"]}
            try:
                if "heater" in asked:
                    changes["heater"] = units.read(asked["heater"], "temperature")
                if "gasket" in asked:
                    gasket, thickness = asked["gasket"].split("=")
                    changes["gaskets"] = {gasket: units.read(thickness, "length")}
                report = self.explainer.numbers(self.explainer.with_(self.explainer.start_settings(), **changes))
                kind, body = "application/json", json.dumps(report)
            except ValueError as fault:
                kind, status, body = "text/plain; charset=utf-8", 400, str(fault)
        self.send_response(status)
        self.send_header("Content-Type", kind)
        self.end_headers()
        self.wfile.write(body.encode("utf-8"))

    def log_message(self, format: str, *args: Any) -> None:
        """Keep quiet."""


def test_a_shared_page_asks_for_exact_settings_and_shows_the_answer(browser: Browser, packed: Path, millrace: Explainer) -> None:
    Desk.document, Desk.explainer = phone.served(packed.read_text(encoding="utf-8"), "numbers"), millrace
    server = ThreadingHTTPServer(("127.0.0.1", 0), Desk)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    try:
        address = f"http://127.0.0.1:{server.server_port}/"
        opened = Opened(browser, address)
        page = opened.page
        opened.go("gear_hot")
        page.locator("#live-heater").fill("137 degC")
        page.locator("#exact button").click()
        page.wait_for_selector("#live-notes .note")
        assert page.evaluate(TOLD.replace("#notes", "#live-notes")) == printed(millrace, step="gear_hot", heater=137.0)
        page.locator("#live-heater").fill("137")
        page.locator("#exact button").click()
        page.wait_for_selector("#live-notes .note", state="detached")
        assert "give a unit" in page.locator("#live-fault").inner_text()
        page.locator("#live-heater").fill("")
        name, *_ = millrace.gaskets[0]
        opened.go("pinion_gasket")
        page.locator("#live-gasket").select_option(name)
        page.locator("#live-thickness").fill("0.57 mm")
        page.locator("#exact button").click()
        page.wait_for_selector("#live-notes .note")
        assert page.evaluate(TOLD.replace("#notes", "#live-notes")) == printed(millrace, step="pinion_gasket", gaskets={name: 0.57})
        assert opened.foreign(address) == []
        page.context.close()
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


UNDER_KEYS = """() => {
  const keys = [...document.querySelectorAll('#stage button')].map(key => key.getBoundingClientRect());
  return [...document.querySelectorAll('#overlay circle.balloon')].map(one => one.getBoundingClientRect())
    .filter(b => keys.some(k => b.left < k.right && b.right > k.left && b.top < k.bottom && b.bottom > k.top)).map(b => [b.x, b.y]);
}"""


@pytest.mark.long
@pytest.mark.parametrize("name", ["millrace", "slipway"])
def test_every_step_of_both_machines_is_drawn_at_both_sizes(browser: Browser, tmp_path: Path, name: str) -> None:
    assert main(["pack", name, "-o", str(tmp_path), "--only", "phone"]) == 0
    path = tmp_path / phone.NAME
    assert path.stat().st_size <= phone.MOST_BYTES
    explainer = Explainer(open_machine(name)[0])
    for size in (PHONE, DESK):
        opened = Opened(browser, path.as_uri(), size)
        for step in explainer.procedure.order:
            opened.page.keyboard.press("ArrowRight")
            opened.at_rest(step)
            assert opened.page.evaluate(TOLD) == printed(explainer, step=step), step
            assert opened.page.evaluate(UNDER_KEYS) == [], step
        assert opened.faults() == []
        opened.page.context.close()


def test_no_place_in_the_layout_is_left_unfilled() -> None:
    page = phone._document("Mill-race", "{}", "")
    assert re.findall(r"<!--\w+-->", page) == [] and page.count("Mill-race") == 2
