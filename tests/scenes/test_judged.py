"""What the page, the window and the sheets tell of an order: the verdict in a line, faults at their step, the cost of a forgotten part."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from scenes import blocked_view, forgotten, judged, order, order_words, verdict, verdict_page
from scenes.examples import open_machine
from scenes.explain import Explainer
from scenes.frame import Frame, Shown
from scenes.procedure import Procedure
from scenes.stage import Stage
from tests.scenes.orders import changed, left_out, moved
from viewer import blocked_sheets

MACHINES = ("millrace", pytest.param("slipway", marks=pytest.mark.long))


def wrong(full: Procedure) -> Procedure:
    """The sleeve after the bearing that it lies under; the key after its gear."""
    return moved(moved(full, "hs_sleeve", after="hs_bearing_1"), "gear_key", after="gear_hot")


@pytest.fixture(scope="module")
def right() -> Explainer:
    explainer = Explainer(open_machine("millrace")[0])
    explainer.judge()
    return explainer


@pytest.fixture(scope="module", params=MACHINES)
def astray(request: pytest.FixtureRequest) -> Explainer:
    explainer = Explainer(open_machine(request.param)[0])
    explainer.procedure = wrong(explainer.procedure)
    explainer.judge()
    return explainer


def at(explainer: Explainer, step: str) -> Frame:
    return explainer.frame(explainer.with_(explainer.start_settings(), step=step))


def test_every_step_of_a_right_order_tells_that_its_ways_in_are_free(right: Explainer) -> None:
    assert right.judged is not None
    for step in right.procedure.order:
        told = at(right, step).order
        assert told is not None and told.verdict == "fine" and told.faults == ()
        assert "checked at a quick look" in told.text


def test_a_frame_says_nothing_of_an_order_that_was_not_looked_at() -> None:
    explainer = Explainer(open_machine("millrace")[0])
    frame = at(explainer, "gear_hot")
    assert frame.order is None and frame.forgotten == ()


def test_other_gaskets_than_the_files_are_told_beside_the_verdict(right: Explainer) -> None:
    now = right.with_(right.start_settings(), step="gear_hot", gaskets={"gear_gasket": 0.7})
    assert any("gaskets of the machine file" in note for note in right.frame(now).notes)
    assert not any("gaskets of the machine file" in note for note in at(right, "gear_hot").notes)


def test_faults_stand_at_their_own_step_with_the_first_in_the_line(astray: Explainer) -> None:
    key, sleeve = at(astray, "gear_key"), at(astray, "hs_sleeve")
    assert key.order is not None and sleeve.order is not None
    assert f"step {astray.procedure.steps['gear_key'].number}" in key.order.text and key.order.verdict == "stop"
    assert key.order.ways == sleeve.order.ways == 1 and "Gear key" in key.order.faults[0]
    assert "Distance sleeve" in sleeve.order.faults[0]
    assert astray.judged is not None
    broken = {breach.step for breach in astray.judged.verdict.breaches}
    for step in astray.procedure.order:
        told = at(astray, step).order
        assert told is not None and (told.faults == ()) == (step not in {"gear_key", "hs_sleeve"} | broken)


def shown(frame: Frame, state: str) -> Shown:
    found = [part for part in frame.shown if part.state == state]
    assert len(found) == 1, [part.name for part in found]
    return found[0]


def test_the_picture_of_a_blocked_way_lights_two_parts_that_touch_there(astray: Explainer) -> None:
    """The moving part stands by the travel that is left away from its seat, and the arrow's dotted rest is as long."""
    for step, by in (("hs_sleeve", "high_speed_bearing_1_inner_ring"), ("gear_key", "gear")):
        frame = astray.blocked_frame(astray.with_(astray.start_settings(), step=step), 0)
        way = frame.blocked
        assert way is not None and astray.judged is not None
        path = judged.ways_at(astray.judged.verdict, step)[0]
        assert shown(frame, "moving").name == path.part and shown(frame, "blocking").name == path.by == by
        assert np.linalg.norm(shown(frame, "moving").travel) == pytest.approx(path.left, abs=1e-6)
        rest = np.diff(np.array(way.rest), axis=0)
        assert np.linalg.norm(rest, axis=1).sum() == pytest.approx(path.left, abs=1e-6)
        assert way.come[-1] == pytest.approx(way.rest[0])
        assert order_words.travel(path, astray.machine.units) in way.left and re.search(r"\d (mm|in) left$", way.left)


def test_the_cut_lays_the_place_of_contact_open(astray: Explainer) -> None:
    frame = astray.blocked_frame(astray.with_(astray.start_settings(), step="hs_sleeve"), 0)
    assert frame.blocked is not None and frame.cut is not None
    assert frame.cut.origin == pytest.approx(frame.blocked.contact)
    toward = np.array(frame.camera.position) - np.array(frame.camera.focus)
    assert toward @ np.array(frame.cut.normal) > 0.0, "the side toward the eye is taken away"
    assert all(shown(frame, state).cut and not shown(frame, state).whole for state in ("moving", "blocking"))


def test_a_blocked_way_that_there_is_not_is_refused(right: Explainer) -> None:
    with pytest.raises(ValueError, match="accepted"):
        right.blocked_frame(right.with_(right.start_settings(), step="gear_hot"), 0)


def test_a_way_that_would_rub_a_gasket_tells_no_travel(right: Explainer) -> None:
    straight = changed(right.procedure, "cartridge_in", path=(("+z", 300.0),))
    start = right.start_settings()
    rubbed = next(path for path in order.prove(right.reducer(start), straight, pitch=order.QUICK).blocked if path.cause == "gasket")
    way = blocked_view.frame_of(Stage(right.reducer(start), straight), rubbed, start).blocked
    assert way is not None and way.rest == () and not re.search(r"\d", way.left)


def test_what_must_be_looked_for_stands_at_the_step_that_shuts_it_in(right: Explainer) -> None:
    """Bearing 2 shuts the spacers in: their last moment is the step before, as in the table of forgotten parts."""
    told = at(right, "hs_bearing_2").forgotten
    assert "High-speed inner spacer" in told[0] and "Look before this step" in told[0] and "Angular contact bearing 2" in told[0]
    assert not any("Look before" in line for line in at(right, "hs_spacers").forgotten)
    assert right.judged is not None
    for row in right.judged.forgotten:
        tight = [moment for moment in row.moments if moment.tight]
        if tight and tight[0].step != row.step:
            lines = " ".join(at(right, tight[0].step).forgotten)
            assert "Look before this step" in lines, row.item


def test_a_step_tells_number_time_and_last_moment_of_what_it_brings(right: Explainer) -> None:
    assert right.judged is not None
    row = next(row for row in right.judged.forgotten if row.item == "gear_key")
    line = at(right, "gear_key").forgotten[0]
    assert f"{len(row.end.off)} things" in line and "23 h" in line and f"after step {row.number}." in line
    assert all(forgotten.name_of(right.reducer(right.start_settings()), item) in line for item in row.end.tight)
    assert at(right, right.procedure.order[-1]).forgotten == ()


def test_the_page_with_the_verdict_names_every_fault_its_picture_and_what_is_not_promised(astray: Explainer) -> None:
    now = astray.start_settings()
    assert astray.judged is not None
    reducer, report = astray.reducer(now), astray.numbers(replace(now, step=None))
    page = verdict_page.page(astray.judged, report, reducer, astray.procedure, now.units, ["one.png", "two.png"])
    assert page.verdict == "stop" and "does not hold" in page.headline
    against = page.lists[0].items
    assert [item.below for item in against if item.below.startswith("Picture")] == ["Picture: one.png", "Picture: two.png"]
    assert len(against) == 2 + len(astray.judged.verdict.breaches)
    assert all(item.verdict == "stop" for item in against) and "Gear key" in against[0].text
    assert "quick look" in page.foot[0], "at 1 mm no proof is claimed"
    assert any("qualified people" in line for line in page.foot)


@pytest.mark.parametrize("name", MACHINES)
@pytest.mark.parametrize("astray_by", ["gear_spacer", "packers", "plates"])
def test_no_fault_is_told_or_counted_twice(name: str, astray_by: str) -> None:
    """A part left out breaks a rule as well; three packers behind one plate are one fault."""
    explainer = Explainer(open_machine(name)[0])
    full = explainer.procedure
    explainer.procedure = moved(full, "plates", after="ls_tab") if astray_by == "plates" else left_out(full, astray_by)
    found = explainer.judge().verdict
    now = explainer.start_settings()
    reducer = explainer.reducer(now)
    listed = [fault.text for fault in verdict.faults(found, reducer, "mm")]
    assert listed and len(listed) == len(set(listed)) and verdict.sentences(found, reducer, "mm") == listed
    assert set(found.gaps) <= set(listed)
    count = re.search(r"(\d+) fault", judged.line(found, reducer, "mm").text)
    assert count is not None and int(count[1]) == len(listed)
    report = verdict.report(found, reducer, "mm")
    assert [fault["text"] for fault in report["faults"]] == listed
    told = [*report["gaps"], *(fault["text"] for fault in report["breaches"])]
    assert len(told) == len(set(told))
    page = verdict_page.page(explainer.judged, explainer.numbers(replace(now, step=None)), reducer, explainer.procedure, "mm", ())
    shown = [item.text for item in page.lists[0].items]
    assert shown[: len(listed)] == listed and page.lists[0].whole == len(shown)
    for step in explainer.procedure.order:
        told_there = judged.faults_at(found, reducer, step, "mm")
        assert len(told_there) == len(set(told_there))


def test_the_page_says_how_many_forgotten_parts_there_are_and_what_prints_them(right: Explainer) -> None:
    now = right.start_settings()
    assert right.judged is not None
    page = verdict_page.page(right.judged, right.numbers(replace(now, step=None)), right.reducer(now), right.procedure, "mm", ())
    worst = page.lists[2]
    costly = [row for row in right.judged.forgotten if row.end.time.value]
    assert worst.whole == len(costly) > len(worst.items) == verdict_page.WORST
    assert "then by time" in worst.title and worst.all_of_it.endswith("--forgotten --json")


def test_a_step_whose_parts_cost_readings_alone_tells_which(right: Explainer) -> None:
    line = " ".join(at(right, "dowels").forgotten)
    assert "count for nothing" in line and str(right.procedure.steps["backlash"].number) in line


def blocked_frames(name: str, wrong_order: Procedure) -> list[tuple[order.BlockedPath, Frame]]:
    explainer = Explainer(open_machine(name)[0])
    explainer.procedure = wrong_order
    now = explainer.start_settings()
    stage = explainer.stage(now)
    return [(path, blocked_view.frame_of(stage, path, now)) for path in explainer.judge().verdict.proof.blocked]


@pytest.mark.parametrize("name", MACHINES)
def test_the_picture_says_what_must_come_first_when_that_cures_it(name: str) -> None:
    """The key belongs before its gear, the sleeve before its bearing: both by hand from the section."""
    full = Explainer(open_machine(name)[0]).procedure
    for path, frame in blocked_frames(name, wrong(full)):
        assert frame.blocked is not None
        by = {"gear_key": "Fit the gear hot", "hs_sleeve": "bearing"}[path.step]
        assert "What must come first" in frame.blocked.said[1] and by in frame.blocked.said[1]


@pytest.mark.parametrize("name", MACHINES)
def test_a_bead_is_not_drawn_as_a_plate_in_the_air(name: str) -> None:
    """Cartridge screws that stand over the split: the bead is drawn where it belongs, without a travel."""
    full = Explainer(open_machine(name)[0]).procedure
    found = blocked_frames(name, moved(full, "cartridge_draw_in", after="cartridge_in"))
    frame = next(frame for path, frame in found if path.step == "seal_bead")
    assert frame.blocked is not None and frame.blocked.rest == () and not re.search(r"\d", frame.blocked.left)
    assert np.linalg.norm(shown(frame, "moving").travel) == 0.0
    assert "can't be laid" in frame.blocked.sentence and "before its seat" not in frame.blocked.sentence


@pytest.mark.parametrize("name", MACHINES)
def test_one_picture_shows_one_item_and_what_stops_it(name: str) -> None:
    full = Explainer(open_machine(name)[0]).procedure
    for astray_by, least in (
        (moved(full, "plates", after="ls_tab"), 1),
        (moved(full, "cartridge_draw_in", after="cartridge_in"), 2),
    ):
        explainer = Explainer(open_machine(name)[0])
        explainer.procedure = astray_by
        ways = explainer.judge().verdict.proof.blocked
        files = blocked_sheets.shown(ways)
        pairs = {(way.item, way.by, way.cause, way.leaving) for way in ways}
        assert len(files) == len(ways) >= len(blocked_sheets.names(ways)) == len(pairs) >= least
        assert len({(file, way.item, way.by, way.cause, way.leaving) for file, way in zip(files, ways, strict=True)}) == len(pairs)
