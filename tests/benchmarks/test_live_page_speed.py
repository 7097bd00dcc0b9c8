"""How fast the live page answers: slider move to number on the screen, and to the settled picture. Run with -m benchmark -s.

On the shipped machine: the heater where the gear goes on hot (few parts), a gasket where the backlash is read (nearly all).
Browser and server share the machine. Limits: 0.1 s for the number, 0.5 s for the picture; both are also given as R, the
ratio to np.sort of one million floats in the same run, which is what governs on another machine.
"""

from __future__ import annotations

import statistics

import numpy as np
import pytest

from tests.benchmarks.speed import told
from tests.viewer.browser import Watched, chromium, served

pytestmark = pytest.mark.benchmark
NUMBER_LIMIT, PICTURE_LIMIT = 0.1, 0.5  # s
MOVES = 15
COMMAND = ["-m", "viewer.cli", "show", "millrace", "--no-browser"]
CASES = (("gear_hot", "heater", 60.0, 144.0), ("backlash", "gasket_0", 0.55, 0.75))
PROBE = """
async ([slider, value]) => {
  const numbers = document.querySelector('.numbers'), stage = document.querySelector('.stage');
  const page = document.querySelector('.page');
  const input = document.getElementById(slider);
  const start = performance.now();
  let told = null, drawn = null;
  const watch = new MutationObserver(() => { told ??= performance.now(); });
  watch.observe(numbers, {subtree: true, childList: true, characterData: true});
  const loaded = (event) => {
    if (event.target.naturalWidth >= Math.floor(stage.clientWidth * Math.max(1, devicePixelRatio)) - 1) drawn = performance.now();
  };
  stage.addEventListener('load', loaded, true);
  input.value = value;
  input.dispatchEvent(new Event('input', {bubbles: true}));
  while (performance.now() - start < 6000) {
    await new Promise(done => setTimeout(done, 4));
    if (told && drawn && page.dataset.busy === 'false') break;
  }
  watch.disconnect();
  stage.removeEventListener('load', loaded, true);
  return [told && told - start, drawn && drawn - start, performance.now() - start];
}
"""


def measure(command: list[str], step: str, slider: str, values: list[float]) -> dict[str, list[float]]:
    """Seconds from moving the slider in a step to the number, to the settled picture and to labels at rest, for each move."""
    found: dict[str, list[float]] = {"number": [], "picture": [], "labels too": []}
    with served(command) as address, chromium() as browser:
        watched = Watched(browser)
        watched.page.goto(address)
        watched.page.wait_for_selector(".page")
        watched.page.locator(f"[data-step={step}]").click()
        watched.page.wait_for_selector(f"[aria-current=step][data-step={step}]")
        watched.page.wait_for_timeout(1500)
        watched.settled()
        for value in values:
            watched.page.wait_for_timeout(250)
            for name, milliseconds in zip(found, watched.page.evaluate(PROBE, [slider, value]), strict=True):
                if milliseconds is None:
                    raise RuntimeError(f"{name}: nothing came within 6 s of moving {slider} to {value:g}")
                found[name].append(milliseconds / 1000.0)
    return found


@pytest.mark.parametrize(("step", "slider", "low", "high"), CASES)
def test_a_slider_of_the_live_page(step: str, slider: str, low: float, high: float) -> None:
    times = measure(COMMAND, step, slider, [float(v) for v in np.linspace(low, high, MOVES).round(2)])
    limits = {"number": NUMBER_LIMIT, "picture": PICTURE_LIMIT, "labels too": 2.0 * PICTURE_LIMIT}
    kept = [told(f"{step}, {slider}: {name}, middle", statistics.median(times[name]), limit) for name, limit in limits.items()]
    assert all(kept)
