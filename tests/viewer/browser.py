"""Pages in a real browser without a screen, and the live page served by a process of its own."""

from __future__ import annotations

import asyncio
import contextlib
import os
import subprocess
import sys
import threading
from collections.abc import Coroutine, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TypeVar
from urllib.parse import urlsplit

from playwright.sync_api import Browser, Page, sync_playwright

# Debian's package. A missing browser must fail the tests, so nothing here looks for another.
CHROMIUM = "/usr/bin/chromium"
FLAGS = ["--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"]
FLAGS += ["--disable-background-networking", "--disable-component-update", "--disable-sync"]
ROOT = Path(__file__).resolve().parents[2]
START_SECONDS = 60.0
DRIVER_TALK = "GL Driver Message"  # the software renderer's remark on speed when pixels are read back

Result = TypeVar("Result")


def in_a_loop_of_its_own(work: Coroutine[None, None, Result]) -> Result:
    """What the work gives: the browser's driver has a loop in this thread already."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, work).result()


@contextlib.contextmanager
def chromium() -> Iterator[Browser]:
    """A browser with an empty user folder."""
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        try:
            yield browser
        finally:
            browser.close()


class Watched:
    """A browser page that keeps what it asked for and what it complained about."""

    def __init__(self, browser: Browser, size: tuple[int, int] = (1280, 800)) -> None:
        self.page: Page = browser.new_context(viewport={"width": size[0], "height": size[1]}).new_page()
        self.requests: list[str] = []
        self.complaints: list[str] = []
        self.page.on("request", lambda request: self.requests.append(request.url))
        self.page.on("websocket", lambda socket: self.requests.append(socket.url))
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on(
            "console", lambda message: self.complaints.append(message.text) if message.type in ("error", "warning") else None
        )

    def foreign(self, address: str) -> list[str]:
        """Requests that left the page's own server (its own pictures come as blobs)."""
        home = urlsplit(address).netloc
        return [url for url in self.requests if urlsplit(url).scheme not in ("blob", "data") and urlsplit(url).netloc != home]

    def settled(self) -> None:
        """Wait until numbers and picture are at rest."""
        self.page.wait_for_selector(".page[data-busy=false]", timeout=30_000)


@contextlib.contextmanager
def served(command: list[str], environment: dict[str, str] | None = None) -> Iterator[str]:
    """Run a command that serves the page and give the address that it prints."""
    env = {**os.environ, "PYTHONPATH": str(ROOT), "OMP_NUM_THREADS": "1", "PYTHONUNBUFFERED": "1", **(environment or {})}
    process = subprocess.Popen(
        [sys.executable, *command], cwd=ROOT, env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    assert process.stdout and process.stderr
    complaints: list[str] = []
    listener = threading.Thread(target=lambda: complaints.extend(process.stderr or ()))
    listener.start()
    timer = threading.Timer(START_SECONDS, process.kill)
    timer.start()
    try:
        line = next((row for row in process.stdout if "http://" in row), "")
        timer.cancel()
        assert line, "the page did not start: " + "".join(complaints)
        yield line.split()[1]
    finally:
        timer.cancel()
        process.terminate()
        process.wait(timeout=20)
        listener.join(timeout=20)
        process.stdout.close()
        process.stderr.close()
