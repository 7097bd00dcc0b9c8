"""What is said before starting, and what the tools of a step owe to its cautions: common practice, no source."""

from __future__ import annotations

import re
from functools import cache
from typing import Any

from calc.cooling import Seconds
from scenes import briefing, procedure, procedure_file, sheets, wording
from scenes.examples import open_machine
from scenes.explain import Explainer

STEPS = procedure_file.load().steps


@cache
def explainer(name: str) -> Explainer:
    return Explainer(*open_machine(name))


@cache
def sheet(name: str) -> dict[str, Any]:
    return briefing.foreman(explainer(name), explainer(name).start_settings())


def talk(start: str, name: str = "millrace") -> str:
    return next(line for line in sheet(name)["talk"] if line.startswith(start))


def named(line: str) -> set[int]:
    """The step numbers in the brackets of a line, ranges filled in."""
    found: set[int] = set()
    for item in re.findall(r"\d+(?:–\d+)?", line[line.index("(") : line.index(")")]):
        first, _, last = item.partition("–")
        found |= set(range(int(first), int(last or first) + 1))
    return found


def said(step: procedure.Step) -> str:
    """Everything that a step says."""
    keys = [key for key in wording.keys(f"step.{step.id}.") if not key.endswith(".caution")]
    return " ".join(wording.text(key) for key in (*keys, *step.cautions))


def test_no_shaft_is_run_with_a_key_in_a_bare_keyway() -> None:
    run = STEPS["oil_first_run"]
    assert run.hold and run.reads[0] == "shaft_ends"
    assert "couplings fitted, aligned and guarded by qualified people" in wording.text("step.oil_first_run.hold")
    assert "both keys taken out and the bare shaft ends guarded" in wording.text("step.oil_first_run.hold")
    for name in ("coupling_keys", "oil_first_run"):
        assert "bare keyway" in wording.text(f"step.{name}.caution")
    line = talk("First run")
    assert named(line) == {run.number}
    for phrase in ("guards on", "people clear", "own lock off last"):
        assert phrase in line


def test_who_is_told_to_wear_eye_protection_finds_it_among_the_tools() -> None:
    lacking = [step.id for step in STEPS.values() if "eye protection" in said(step).lower() and "eye_protection" not in step.tools]
    assert lacking == []


def test_a_hot_part_that_is_not_carried_in_the_hands_has_a_hoist() -> None:
    for name in ("gear_hot", "pinion_hot"):
        assert {"hoist", "wire_rope", "eye_protection", "heat_gloves"} <= set(STEPS[name].tools)


def test_the_stack_is_tapped_with_a_soft_drift_and_its_caution() -> None:
    step = STEPS["lower_nut"]
    assert {"soft_drift", "soft_hammer", "eye_protection"} <= set(step.tools) and "caution.soft_drift" in step.cautions
    assert step.number in named(talk("Driving"))


def test_wire_cut_over_the_case_floor_is_in_the_line_about_lockwire() -> None:
    wired = {step.number for step in STEPS.values() if "wire_pliers" in step.tools}
    assert STEPS["carrier_screws"].number in wired and wired <= named(talk("Lockwire"))


def test_the_nut_that_follows_the_hot_pinion_is_in_the_line_about_hot_fits() -> None:
    step = STEPS["pinion_nut"]
    assert step.number in named(talk("Hot fits")) and "eye protection" in said(step)


def test_only_a_gasketed_flange_warns_of_its_own_limit() -> None:
    for name, flanged in (("pinion_nut", False), ("lower_retainer", False), ("hs_cover", True), ("carrier_screws", True)):
        assert ("gasketed flange" in said(STEPS[name])) == flanged, name


def test_the_machine_is_made_safe_against_every_energy_and_by_everybody() -> None:
    told = said(STEPS["make_safe"]).lower()
    for phrase in (
        "isolate",
        "lock and tag",
        "stored energy",
        "water head",
        "springs",
        "raised gate",
        "test for dead",
        "try to start",
        "back to off",
    ):
        assert phrase in told  # fmt: skip


def test_no_step_points_beside_a_picture_that_paper_and_phone_do_not_have_there() -> None:
    assert [key for key in wording.keys("step.") if "picture" in wording.text(key)] == []
    assert [key for key in wording.keys("step.") if "junto a la imagen" in wording.text(key, "es")] == []


def test_a_time_of_days_is_told_in_hours_and_no_finer() -> None:
    assert briefing.roughly(Seconds(165180.0, 115200.0, 208800.0)) == "about 46 h (32 to 58)"
    assert briefing.roughly(Seconds(2730.0, 1900.0, 3500.0)) == "about 45 min (30 to 60)"
    assert briefing.roughly(Seconds(1200.0, 1200.0, 1200.0)) == "about 20 min"
    assert re.search(r"about \d+ h \(\d+ to \d+\) of bench time, indicative", sheet("millrace")["job"])


def test_the_strongest_gasket_tells_its_free_and_its_clamped_thickness() -> None:
    row = next(row for row in sheet("millrace")["five"] if row["kind"] == "Strongest gasket")
    free, clamped = (float(number) for number in re.match(r".*: ([\d.]+) mm free, ([\d.]+) mm clamped", row["figure"]).groups())  # type: ignore[union-attr]
    assert 0.0 < clamped < free


def test_a_hold_point_names_its_readings_or_says_where_the_rest_is() -> None:
    holds = {hold["number"]: hold["what"] for hold in sheet("millrace")["holds"]}
    assert holds[STEPS["backlash"].number] == "Backlash; Pinion position, running; Gear position"
    assert holds[STEPS["oil_first_run"].number].endswith("; and 9 more on the readings sheet")


def test_every_locknut_has_a_blank_for_its_makers_torque() -> None:
    made = explainer("millrace")
    now = made.start_settings()
    for name in ("lower_nut", "pinion_nut", "hs_nut", "ls_nut"):
        rows = sheets.steps(made, now, STEPS[name].phase)["steps"]
        notes = next(row for row in rows if row["id"] == name)["notes"]
        assert [note["blank"] for note in notes if note["torque"]] == ["(the maker's)"], name


def test_the_pinion_is_drawn_hot_while_its_nut_is_followed_up_and_cold_at_the_feeler() -> None:
    made = explainer("millrace")
    for name, hot in (("pinion_hot", True), ("pinion_nut", True), ("pinion_feeler", False), ("gear_feeler", False)):
        frame = made.frame(made.with_(made.start_settings(), step=name))
        assert any(part.temperature is not None for part in frame.shown) == hot == (frame.heat_scale is not None), name
        read = made.readings(made.with_(made.start_settings(), step=name), name)
        assert bool(read.heated) == hot, name
