"""The effect table and the walk round the gaskets: directions of the trade, one answer everywhere, nothing hidden where teeth jam."""

from __future__ import annotations

import copy
import re
import tomllib
from dataclasses import replace
from functools import cache
from importlib.resources import files
from typing import Any

import pytest

from calc import units
from calc.flank import Errors
from geometry.machine import accept
from geometry.reducer import Reducer, assemble
from scenes import effects, effects_listing, pattern_words, walk
from scenes.examples import EXAMPLES, open_machine
from scenes.explain import Explainer
from scenes.positions import positions


@cache
def explainer(name: str) -> Explainer:
    return Explainer(*open_machine(name))


def reducer(name: str) -> Reducer:
    return explainer(name).reducer(explainer(name).start_settings())


def table(name: str) -> effects.Effects:
    return effects.effects(reducer(name), explainer(name).start_settings().units)


def notes(name: str, step: str) -> dict[str, Any]:
    made = explainer(name)
    return {note.key: note for note in made.callouts(made.with_(made.start_settings(), step=step), step)}


def millrace(**changes: dict[str, Any]) -> Reducer:
    data = copy.deepcopy(tomllib.loads(files("scenes").joinpath("machines", "millrace.toml").read_text(encoding="utf-8")))
    for section, fields in changes.items():
        data[section] |= fields
    return assemble(accept(data))


@pytest.mark.parametrize("name", EXAMPLES)
def test_each_gasket_moves_what_the_trade_says(name: str) -> None:
    # Common practice, no source, printed alike in many service manuals: pinion out, gear away: more backlash; pinion out: pattern to the tip;
    # gear away: heel on both flanks (also TM 10-3930-653-14&P, page 4-181: heel bearing = gear set too far, large backlash).
    found = table(name)
    for gasket, sign in (("pinion_gasket", 1), ("gear_gasket", -1)):
        backlash = [row.backlash for row in found.rows[gasket]]
        assert backlash == sorted(backlash, reverse=sign < 0)
    pinion, gear = found.rows["pinion_gasket"], found.rows["gear_gasket"]
    for flank in (0, 1):
        assert pinion[0].places[flank][1] < found.present.places[flank][1] < pinion[-1].places[flank][1]
        assert gear[0].places[flank][0] > found.present.places[flank][0] > gear[-1].places[flank][0]


def test_on_spiral_teeth_the_pinion_drives_the_pattern_apart_lengthwise() -> None:
    # Common practice, no source (large cutter): pinion out: heel on drive, toe on coast; on straight teeth both go to the heel.
    spiral, straight = (table(name).rows["pinion_gasket"] for name in ("millrace", "slipway"))
    assert spiral[-1].places[0][0] > spiral[0].places[0][0] and spiral[-1].places[1][0] < spiral[0].places[1][0]
    assert straight[-1].places[0] == pytest.approx(straight[-1].places[1])
    assert straight[-1].places[0][0] > straight[0].places[0][0]


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_model_stays_near_its_own_first_order_and_near_the_handbook_at_small_steps(name: str) -> None:
    # Closed form of the touching rates against the contact search, and 2 a tan(alpha) sin(delta) / cos(beta) (handbook form).
    for rows in table(name).rows.values():
        for row in rows:
            if row.positions is not None and abs(row.clamped_change) < 0.1 and row.backlash is not None:
                assert row.backlash == pytest.approx(row.first_order, abs=0.008)
                assert row.backlash == pytest.approx(row.handbook, abs=0.025)


def test_a_float_gasket_moves_the_running_pinion_and_stops_where_the_cover_clamps() -> None:
    # Truth of the bench: 0.1 mm more float gasket lets the running pinion sit 0.1 mm further out; a cover that clamps moves nothing.
    built = reducer("millrace")
    now, more, less = (positions(built, {"high_speed_float_gasket": change}) for change in (0.0, 0.1, -0.2))
    assert more.pinion_running - now.pinion_running == pytest.approx(0.1)
    assert less.high_speed_end_play < 0.0
    assert less.pinion_running == pytest.approx(now.pinion_running - now.high_speed_end_play)
    rows = table("millrace").rows
    assert "no_high_speed_end_play" in effects_listing.remarks(rows["high_speed_float_gasket"][0])
    assert {row.backlash for row in rows["low_speed_float_gasket"]} == {table("millrace").present.backlash}


def test_the_clamped_change_goes_through_the_compression_and_equals_a_rebuilt_machine() -> None:
    row = table("millrace").rows["gear_gasket"][-1]
    assert row.clamped_change == pytest.approx(0.9 * row.change)
    made = explainer("millrace")
    built = made.reducer(made.with_(made.start_settings(), gaskets={"gear_gasket": row.free}))
    assert effects.after(built, "", 0.0).backlash == pytest.approx(row.backlash, abs=1e-6)


def test_too_little_backlash_is_a_jam_and_a_gasket_thinner_than_any_is_said_to_be() -> None:
    tight = effects.effects(millrace(gears={"design_backlash": "0.10 mm", "backlash": ["0.05 mm", "0.15 mm"]}), "mm").rows[
        "gear_gasket"
    ]
    assert tight[-1].state == "jammed" and tight[-1].backlash is not None and tight[-1].backlash < 0.0
    assert "jammed" in effects_listing.line(tight[-1], "mm", reducer("millrace"))
    thin = {"thickness": "0.2 mm", "compression": "10 %"}
    gone = effects.after(millrace(gaskets={"pinion_gasket": thin}), "pinion_gasket", -0.25)
    assert gone.state == "too_thin" and gone.backlash is None


def test_a_pair_taken_apart_is_out_of_mesh_without_figures() -> None:
    far = effects.found(reducer("millrace"), Errors(gear=12.0))
    assert far is not None and far.state == "out_of_mesh" and far.backlash is None
    assert effects.found(reducer("millrace"), Errors(gear=40.0)) is None


@pytest.mark.parametrize("name", EXAMPLES)
def test_notes_and_table_give_one_backlash(name: str) -> None:
    present = table(name).present
    told = notes(name, "backlash")["mesh.backlash"]
    assert told.value == pytest.approx(present.backlash, abs=1e-9)
    marks = notes(name, "pattern")
    assert marks["mesh.pattern.drive"].value == pytest.approx(present.places[0][0])
    assert {note.verdict for key, note in marks.items() if key.startswith("mesh.pattern")} == {"watch"}


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_shrink_back_gap_is_told_as_the_shim_error_that_it_is(name: str) -> None:
    # A pinion gap off its shoulder acts like a pinion gasket thinner by the same clamped amount.
    note = notes(name, "pinion_hot")["heat.pinion_bore.shrink_back"]
    built = reducer(name)
    change = -note.value / (1.0 - built.machine.gaskets.pinion_gasket.compression)
    row = effects.after(built, "pinion_gasket", change)
    shown = explainer(name).start_settings().units
    assert units.show(row.backlash, "length", shown) in note.text
    assert pattern_words.centre(*row.places[0]) in note.text


def test_end_play_in_the_reading_is_the_present_one() -> None:
    made = explainer("millrace")
    adds = []
    for free in (0.5, 0.55):
        now = made.with_(made.start_settings(), step="backlash", gaskets={"high_speed_float_gasket": free})
        adds.append({note.key: note for note in made.callouts(now, "backlash")}["mesh.end_play_in_reading"].value)
    # (tan(at) sin(d1) + tan(b) cos(d1)) Re/Rm of the set, by hand: 0.4443 x 0.3101 + 0.7002 x 0.9507 = 0.8035; x 193.54/165.54 = 0.939
    # over the running stop, which lies the play farther out: less what the pinion moved out adds, 0.43 or so of it (effect table)
    assert adds[1] - adds[0] == pytest.approx(0.045 * (0.939 - 0.40), rel=0.1)


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_walk_goes_the_ways_of_the_trade(name: str) -> None:
    built, system = reducer(name), explainer(name).start_settings().units
    found = walk.walk(built, system)
    right, out, into, away, toward = found.stops
    assert [stop.name for stop in found.stops] == list(walk.NAMES)
    assert found.amount == pytest.approx(0.15 if system == "mm" else 0.1524) and not found.cut
    assert right.backlash == pytest.approx(built.machine.gears.design_backlash, abs=0.006)
    assert into.backlash < right.backlash < out.backlash and toward.backlash < right.backlash < away.backlash
    # Directions: common practice, no source; on straight teeth pinion out goes to the heel on both flanks.
    assert "drive to the heel and to the tip" in out.effect
    assert ("coast to the toe and to the tip" if name == "millrace" else "coast to the heel and to the tip") in out.effect
    assert (
        "drive to the heel; coast to the heel" in away.effect
        and "drive to the toe" in toward.effect
        and "coast to the toe" in toward.effect
    )
    assert (
        "Pinion gasket" in out.sentence
        and "thicker" in out.sentence
        and "thicker" in toward.sentence
        and "thinner" in away.sentence
    )
    rows = list(walk.csv_rows(found))
    assert len(rows) == 5 and all(len(row) == len(walk.COLUMNS) for row in rows)


def test_the_walk_is_cut_short_before_it_jams() -> None:
    found = walk.walk(millrace(gears={"design_backlash": "0.08 mm", "backlash": ["0.04 mm", "0.12 mm"]}), "mm")
    assert found.cut and 0.0 < found.amount < 0.15
    assert all(stop.contact.state == "ok" for stop in found.stops)


def test_a_pair_that_jams_where_it_should_be_right_has_no_walk(monkeypatch: pytest.MonkeyPatch) -> None:
    built = reducer("millrace")
    tight = replace(
        built, blank=replace(built.blank, half_tooth_angles=tuple(1.05 * angle for angle in built.blank.half_tooth_angles))
    )
    with pytest.raises(walk.CannotWalk, match="accepted: a pair that meshes there"):
        walk.walk(tight, "mm")


@pytest.mark.parametrize("system", ["mm", "inch"])
def test_the_table_speaks_one_unit_system_and_its_figures_stay(system: Any) -> None:
    found = effects.effects(reducer("millrace"), system)
    lines = "\n".join(effects_listing.lines(found, reducer("millrace"), "x", system))
    assert re.search(r"\d (in)\b" if system == "mm" else r"\d mm\b", lines) is None
    report = effects_listing.report(found, reducer("millrace"), "x", system)
    assert [item["name"] for item in report["gaskets"]] == [
        "pinion_gasket",
        "gear_gasket",
        "high_speed_float_gasket",
        "low_speed_float_gasket",
    ]
    steps = [row["change"] for row in report["gaskets"][0]["rows"]]
    assert steps == pytest.approx(
        [-0.25, -0.1, -0.05, 0.05, 0.1, 0.25] if system == "mm" else [-0.254, -0.127, -0.0508, 0.0508, 0.127, 0.254]
    )
    for row in effects_listing.csv_rows(found, reducer("millrace"), system):
        assert len(row) == len(effects_listing.COLUMNS)
