"""The shipped machines as their files have them, for the tests that share them; each is built once."""

from __future__ import annotations

import pytest

from scenes.examples import EXAMPLES
from scenes.explain import Explainer
from tests.scenes import true_machine


@pytest.fixture(scope="module", params=EXAMPLES)
def explainer(request: pytest.FixtureRequest) -> Explainer:
    return true_machine.explainer(request.param)


@pytest.fixture(scope="module")
def millrace() -> Explainer:
    return true_machine.explainer("millrace")
