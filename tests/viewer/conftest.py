"""A browser, a shipped machine and its live page, for the tests that share them."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser

from scenes.examples import open_machine
from scenes.explain import Explainer
from tests.viewer.browser import Watched, chromium, served


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as running:
        yield running


@pytest.fixture(scope="module")
def millrace() -> Explainer:
    machine, _ = open_machine("millrace")
    return Explainer(machine)


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    with served(["-m", "viewer.cli", "show", "millrace", "--no-browser"]) as url:
        yield url


@pytest.fixture
def live(browser: Browser, address: str) -> Iterator[Watched]:
    watched = Watched(browser)
    watched.page.goto(address)
    watched.page.wait_for_selector(".page", timeout=30_000)
    watched.settled()
    yield watched
    watched.page.context.close()
