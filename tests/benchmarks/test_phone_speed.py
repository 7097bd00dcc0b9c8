"""How soon the phone file shows its first picture, from opening the file to the drawing at rest. Run with -m benchmark -s.

On software rendering, both shipped machines, at phone width and on a desk. Limit: 4 s, given also as R, which governs.
"""

from __future__ import annotations

import statistics
from pathlib import Path

import pytest

from tests.benchmarks.speed import seconds, told
from tests.viewer.browser import Watched, chromium
from viewer import phone
from viewer.cli import main

pytestmark = pytest.mark.benchmark
LIMIT = 4.0  # s


@pytest.mark.parametrize("name", ["millrace", "slipway"])
def test_first_picture_of_the_phone_file(name: str, tmp_path: Path) -> None:
    assert main(["pack", name, "-o", str(tmp_path), "--only", "phone"]) == 0
    address = (tmp_path / phone.NAME).as_uri()

    def opened(watched: Watched) -> None:
        watched.page.goto(address)
        watched.page.wait_for_selector("body:not([data-drawn=''])", timeout=60_000)

    kept = []
    with chromium() as browser:
        for size in ((390, 844), (1280, 800)):
            taken = []
            for _ in range(3):
                watched = Watched(browser, size)
                taken.append(seconds(lambda: opened(watched)))  # noqa: B023
                watched.page.context.close()
            kept.append(told(f"first picture, {name}, {size[0]} wide", statistics.median(taken), LIMIT))
    assert all(kept)
