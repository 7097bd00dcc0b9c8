"""A rule that is only watched lets the order stand, and is told on the page, in the figures and at its step."""

from __future__ import annotations

import pytest

from scenes import precedence, verdict, verdict_page
from scenes.examples import open_machine
from scenes.explain import Explainer
from tests.scenes.orders import changed

MACHINES = ("millrace", "slipway")


@pytest.fixture(scope="module", params=MACHINES)
def watched(request: pytest.FixtureRequest) -> Explainer:
    """The gear put on hot with no clamp bar."""
    explainer = Explainer(open_machine(request.param)[0])
    full = explainer.procedure
    tools = tuple(tool for tool in full.steps["gear_hot"].tools if tool != "clamp_bar")
    explainer.procedure = changed(full, "gear_hot", tools=tools)
    explainer.judge()
    return explainer


def test_the_order_stands_and_the_watch_has_its_level_in_the_figures(watched: Explainer) -> None:
    assert watched.judged is not None
    found = watched.judged.verdict
    assert found.holds and found.stops == () and [breach.rule for breach in found.watches] == ["clamped_home"]
    start = watched.start_settings()
    told = verdict.report(found, watched.reducer(start), "mm")
    assert told["holds"] and [(breach["rule"], breach["level"]) for breach in told["breaches"]] == [("clamped_home", "watch")]
    assert verdict.sentences(found, watched.reducer(start), "mm") == []


def test_the_page_lists_it_first_under_watch_at_the_bench_and_nothing_against_the_order(watched: Explainer) -> None:
    assert watched.judged is not None
    start = watched.start_settings()
    page = verdict_page.page(
        watched.judged, watched.numbers(start) | {"steps": []}, watched.reducer(start), watched.procedure, "mm", ()
    )
    against, bench, _ = page.lists
    assert page.headline == "The order holds" and [item.verdict for item in against.items] == ["fine"]
    assert bench.title == "Watch at the bench" and [item.verdict for item in bench.items] == ["watch"]
    assert "no clamp bar" in bench.items[0].text and bench.items[0].below.startswith("Why:")
    assert any("broken: 0" in fact for fact in page.facts)


def test_its_step_tells_it_beside_a_fine_line_and_no_other_step_does(watched: Explainer) -> None:
    for step in ("gear_hot", "gear_spacer"):
        told = watched.frame(watched.with_(watched.start_settings(), step=step)).order
        assert told is not None and told.verdict == "fine" and told.faults == ()
        assert [("clamp bar" in line) for line in told.watched] == ([True] if step == "gear_hot" else [])


@pytest.mark.parametrize("name", MACHINES)
def test_a_watch_binds_no_step_to_another(name: str) -> None:
    """A seal pressed in while the compound waits is only watched: the step stays free."""
    explainer = Explainer(open_machine(name)[0])
    assert precedence.faults(explainer.job(explainer.start_settings())) == frozenset()
    tools = tuple(tool for tool in explainer.procedure.steps["gear_hot"].tools if tool != "clamp_bar")
    explainer.procedure = changed(explainer.procedure, "gear_hot", tools=tools)
    assert precedence.faults(explainer.job(explainer.start_settings())) == frozenset()
