"""The rules of the trade name what is wrong sharply: both bearings of a pair, the bench and the tool of a reading, the tool of a method.

What must be said is stated here by hand, from common practice at the bench.
"""

from __future__ import annotations

import re
from itertools import combinations
from pathlib import Path

import pytest

from calc import units
from geometry.blocking import QUICK, Table
from scenes import order, order_words, procedure_file, rules, verdict
from scenes.explain import Explainer
from scenes.procedure import Procedure
from scenes.rules import Breach, Job, locks, readings
from scenes.wording import has, text
from tests.scenes.orders import changed, left_out, moved
from tests.scenes.test_rules import MACHINES, broken, exchanged, given_over, job, shown, turned, without
from tests.scenes.test_whole import machine

both_machines = pytest.mark.parametrize("name", MACHINES)


def told(found: tuple[Breach, ...], rule: str) -> str:
    return " ".join(breach.text for breach in found if breach.rule == rule)


# ---- a pair turned end for end ---------------------------------------------------------------------------------------


@both_machines
@pytest.mark.parametrize(("pair", "shaft"), [("hs", "High-speed shaft"), ("ls", "Low-speed shaft")])
def test_a_pair_turned_end_for_end_names_both_bearings(pair: str, shaft: str, name: str) -> None:
    speed = {"hs": "high", "ls": "low"}[pair]
    wrong = job(name)[1]
    for number in (1, 2):
        wrong = turned(f"{pair}_bearing_{number}", f"{speed}_speed_bearing_{number}")(wrong)
    found = broken(name, wrong)
    assert f"Bearings 1 and 2 both face the wrong way: turn both. The pair on {shaft}" in told(found, "pair_faces")
    assert {(breach.part, breach.other) for breach in found} == {(f"{speed}_speed_bearing_2", f"{speed}_speed_bearing_1")}


# ---- thread-locking compound where there is no lockwire --------------------------------------------------------------


@both_machines
@pytest.mark.parametrize("step", ["lower_retainer", "inner_retainer", "carrier_screws"])
def test_a_planners_file_that_leaves_the_thread_compound_out_is_stopped(step: str, name: str, tmp_path: Path) -> None:
    """The shipped file states it; struck out for one circle of undrilled heads, that circle holds by nothing."""
    content = procedure_file.shipped().decode("utf-8")
    start = content.index(f"[step.{step}]")
    head, tail = content[:start], content[start:]
    (tmp_path / "own.toml").write_text(head + tail.replace('"thread_compound"', "", 1), encoding="utf-8")
    explainer = Explainer(machine(name, wired=False).model_copy(update={"procedure": "own.toml"}), tmp_path)
    found = rules.breaches(explainer.job(explainer.start_settings()))
    screws = next(item for item in explainer.procedure.steps[step].arrives if item.endswith("screw"))
    assert {(breach.rule, breach.part) for breach in found} == {("locked", screws)}


@both_machines
@pytest.mark.parametrize("wired", [True, False])
def test_the_shipped_order_asks_for_wire_or_compound_and_never_for_both(wired: bool, name: str) -> None:
    explainer = Explainer(machine(name, wired))
    asked = {item for step in explainer.procedure.steps.values() for item in step.consumables}
    assert asked & {"lockwire", "thread_compound"} == {"lockwire" if wired else "thread_compound"}


# ---- what covers a thread --------------------------------------------------------------------------------------------


@both_machines
def test_a_circle_is_covered_when_any_of_its_screws_is(name: str) -> None:
    """A part that stands over the third screw of the inner retainer alone, before the wire is drawn through its head."""
    reducer, full = job(name)
    see, table, screws = locks.sight(reducer, QUICK), Table(reducer, QUICK), reducer.members("inner_retainer_screw")
    hidden = [bool(see.cover(table, screw, "-x", ["gear_key"])) for screw in screws]
    assert any(hidden) and not hidden[0]
    found = broken(name, given_over("gear_key", "gear_key", "inner_retainer")(full))
    assert ("inner_retainer_screw", "gear_key") in [(each.part, each.other) for each in found if each.rule == "locked"]


@both_machines
def test_a_plate_over_an_opening_covers_no_thread(name: str) -> None:
    """The upper inspection plate stands over some split screws: it is made to come off again."""
    reducer, full = job(name)
    see, table = locks.sight(reducer, QUICK), Table(reducer, QUICK)
    assert any(see.cover(table, screw, "+z", ["upper_plate"]) for screw in reducer.members("split_screw"))
    assert broken(name, full) == ()


@both_machines
def test_covers_are_looked_at_as_finely_as_the_ways(name: str) -> None:
    """Judged at the pitch of a proof, the rules ask the same table as the ways do."""
    reducer, full = job(name)
    asked = Table(reducer, 0.7)
    locks.sight.cache_clear()
    verdict.judge(Job(reducer, full), table=asked)
    assert locks.sight.cache_info().misses == 1
    locks.sight(reducer, 0.7)
    assert locks.sight.cache_info().misses == 1


# ---- roles and joints, not names -------------------------------------------------------------------------------------


@both_machines
def test_a_thrower_turned_round_says_where_the_oil_goes_and_a_plain_spacer_may_lie_either_way(name: str) -> None:
    full = job(name)[1]
    found = broken(name, turned("hs_nut", "high_speed_thrower")(full))
    assert "its cone faces away from Angular contact bearing 2" in told(found, "faces")
    assert broken(name, turned("gear_spacer", "gear_spacer")(full)) == ()
    assert told(broken(name, turned("ls_nut", "low_speed_tab_washer")(full)), "faces")


def test_rules_know_parts_by_their_joints_and_not_by_their_names() -> None:
    """No rule asks how a part's name begins or ends."""
    folder = Path(rules.__file__).parent
    for module in sorted(folder.glob("*.py")):
        content = module.read_text(encoding="utf-8")
        assert "endswith" not in content and "startswith" not in content, module.name


# ---- bench and tool of a reading -------------------------------------------------------------------------------------

TOOLS = {
    "make_safe": ("lockout_kit", "zero_energy"),
    "inspect": ("bore_gauge", "incoming"),
    "gear_hot": ("bore_gauge", "bore_clearance"),
    "gear_feeler": ("feeler", "shoulder_gap"),
    "pinion_feeler": ("feeler", "shoulder_gap"),
    "shaft_down": ("feeler", "gear_drop"),
    "cartridge_screws": ("feeler", "flange_gap"),
    "trial_read": ("dial_plunger", "trial_backlash"),
    "split_screws": ("straight_edge", "end_face_step"),
    "hs_end_play": ("dial_plunger", "high_speed_end_play"),
    "ls_end_play": ("dial_plunger", "low_speed_end_play"),
    "backlash": ("dial_plunger", "backlash"),
    "oil_first_run": ("contact_thermometer", "first_run"),
}
"""Steps whose reading can't be taken without this tool."""


@both_machines
def test_a_reading_without_its_tool_is_no_reading(name: str) -> None:
    full = job(name)[1]
    for step, (tool, reading) in TOOLS.items():
        found = broken(name, without("tools", step, tool)(full))
        assert ("taken", step, reading) in shown(found), step
        assert "is read without" in told(found, "taken") and "_" not in told(found, "taken")
    found = broken(name, without("consumables", "pattern", "marking_blue")(full))
    assert shown(found) == [("taken", "pattern", "pattern")]


def test_every_reading_that_a_tool_takes_has_it_in_the_shipped_order_and_its_words() -> None:
    full = job("millrace")[1]
    assert {name for step in full.steps.values() for name in step.reads} >= set(readings.READ_WITH)
    for sets in readings.READ_WITH.values():
        assert all(has(f"tool.{item}") or has(f"consumable.{item}") for tools in sets for item in tools)


@both_machines
@pytest.mark.parametrize(
    ("step", "bench", "reading"),
    [
        ("hs_end_play", "carrier", "high_speed_end_play"),
        ("ls_end_play", "low_speed_cover", "low_speed_end_play"),
        ("backlash", "cartridge", "backlash"),
        ("pattern", "high_speed_shaft", "pattern"),
        ("cartridge_screws", "high_speed_cover", "flange_gap"),
    ],
)
def test_a_reading_on_a_bench_where_nothing_of_it_stands_is_no_reading(step: str, bench: str, reading: str, name: str) -> None:
    found = broken(name, changed(job(name)[1], step, bench=bench))
    assert ("taken", step, reading) in shown(found), shown(found)
    assert "on another bench" in told(found, "taken")


@both_machines
def test_screws_gone_over_without_a_torque_wrench_are_not_gone_over(name: str) -> None:
    found = broken(name, without("tools", "oil_first_run", "torque_wrench")(job(name)[1]))
    assert {(breach.rule, breach.part) for breach in found} == {
        ("retorque", f"{circle}_screw")
        for circle in ("split", "cartridge", "low_speed_cartridge", "high_speed_cover", "low_speed_cover")
    }


# ---- method against tools --------------------------------------------------------------------------------------------


@both_machines
@pytest.mark.parametrize(
    ("step", "tool"),
    [
        ("lower_outer_ring", "press"),
        ("hs_seal", "press"),
        ("gear_hot", "induction_heater"),
        ("pinion_hot", "contact_thermometer"),
        ("lower_inner_ring", "induction_heater"),
    ],
)
def test_a_method_without_its_tool_is_stopped(step: str, tool: str, name: str) -> None:
    found = broken(name, without("tools", step, tool)(job(name)[1]))
    assert ("method_fits", step) in [(breach.rule, breach.step) for breach in found], shown(found)
    assert text(f"tool.{tool}") in told(found, "method_fits")


@both_machines
@pytest.mark.parametrize(
    ("step", "method", "item"),
    [
        ("gear_spacer", "hot", "gear_spacer"),
        ("dowels", "hot", "dowel"),
        ("hs_sleeve", "hot", "high_speed_sleeve"),
        ("upper_half", "hot", "upper_case"),
        ("carrier_in", "hot", "carrier"),
        ("gear_key", "press", "gear_key"),
        ("pinion_key", "hot", "pinion_key"),
        ("hs_spacers", "draw_on", "high_speed_outer_spacer"),
    ],
)
def test_what_slides_is_neither_heated_nor_forced(step: str, method: str, item: str, name: str) -> None:
    full = job(name)[1]
    tools = (*full.steps[step].tools, "press", "draw_tool", "driving_ring", "induction_heater", "contact_thermometer")
    found = broken(name, changed(full, step, method=method, tools=tools))
    assert ("method_fits", step, item) in shown(found), shown(found)


@both_machines
def test_a_hot_pinion_and_its_nut_may_share_a_step(name: str) -> None:
    """The nut follows the pinion while it is hot: nothing in that step is heated needlessly."""
    full = job(name)[1]
    nut = full.steps["pinion_nut"]
    hot = full.steps["pinion_hot"]
    one = changed(
        left_out(full, "pinion_nut"),
        "pinion_hot",
        arrives=(*hot.arrives, *nut.arrives),
        side="-x",
        tools=tuple(dict.fromkeys((*hot.tools, *nut.tools))),
    )
    assert shown(broken(name, one)) == []


# ---- a gasket in the wrong place -------------------------------------------------------------------------------------

GASKETS = {
    "pinion_gasket": ("pinion_gasket", "High-speed cartridge and Case, lower half"),
    "gear_gasket": ("gear_gasket", "Low-speed cartridge and Case, upper half"),
    "hs_float_gasket": ("high_speed_float_gasket", "High-speed cover and High-speed cartridge"),
    "ls_float_gasket": ("low_speed_float_gasket", "Low-speed cover and Low-speed cartridge"),
}
"""Step that lays on each position gasket, and where it belongs."""


@both_machines
@pytest.mark.parametrize(("first", "second"), [pair for pair in combinations(GASKETS, 2)])
def test_two_gaskets_exchanged_are_both_told_to_be_in_the_wrong_place(first: str, second: str, name: str) -> None:
    found = broken(name, exchanged(first, second)(job(name)[1]))
    for step, other in ((first, second), (second, first)):
        gasket, place = GASKETS[other]
        (breach,) = (each for each in found if each.part == gasket)
        assert (breach.rule, breach.step) == ("gasket_place", step), breach.text
        assert f"is in the wrong place: it belongs between {place}" in breach.text


@both_machines
def test_a_gasket_that_is_only_late_is_not_told_to_be_in_the_wrong_place(name: str) -> None:
    for step, after in (("gear_gasket", "ls_cartridge"), ("hs_float_gasket", "hs_cover"), ("pinion_gasket", "cartridge_in")):
        found = broken(name, moved(job(name)[1], step, after=after))
        assert GASKETS[step][0] in [breach.part for breach in found if breach.rule == "gasket_first"], shown(found)
        assert not told(found, "gasket_place")


# ---- words -----------------------------------------------------------------------------------------------------------


def ways(name: str, wrong: Procedure, system: units.System = "mm") -> list[str]:
    reducer = job(name)[0]
    return [order_words.sentence(reducer, path, system) for path in order.prove(reducer, wrong, pitch=order.QUICK).blocked]


@both_machines
def test_screws_that_nobody_tightens_do_not_come_later(name: str) -> None:
    """Going over them after the first run is no tightening that a reading could have waited for."""
    full = job(name)[1]
    found = broken(name, without("tools", "split_screws", "torque_wrench")(full))
    assert ("torqued", "split_screws", "split_screw") in shown(found)
    assert not told(found, "taken")
    cover = broken(name, moved(full, "split_screws", after="cartridge_draw_in"))
    assert "comes later" not in " ".join(breach.text for breach in cover if "screw" in breach.other)


@both_machines
@pytest.mark.parametrize("system", ["mm", "inch"])
def test_what_is_shut_in_at_once_can_not_move_at_all(system: units.System, name: str) -> None:
    """The cartridge's screws, drawn in before the trial is opened, stand over the rim of the upper half."""
    told_ways = ways(name, moved(job(name)[1], "cartridge_draw_in", before="trial_open"), system)
    out = next(line for line in told_ways if "Case, upper half can't" in line)
    assert "can't move at all from the top of the machine" in out and " 0.0 in" not in out and " 0 mm" not in out


@both_machines
def test_packers_that_are_shut_in_are_told_once(name: str) -> None:
    shut = [line for line in ways(name, moved(job(name)[1], "packers_out", after="plates")) if "Packers" in line]
    assert len(shut) == 1 and "can't be slid out" in shut[0]


@both_machines
def test_sides_are_told_as_seen_at_the_bench(name: str) -> None:
    (key,) = ways(name, moved(job(name)[1], "gear_key", after="gear_hot"))
    assert "from the side" in key and "inspection" not in key
    across = " ".join(ways(name, changed(job(name)[1], "upper_half", side="-x")))
    assert "from the pinion's end" in across


@both_machines
def test_no_part_is_named_twice_as_what_bars_the_way(name: str) -> None:
    lines = ways(name, moved(job(name)[1], "upper_half", after="hs_end_play"))
    (line,) = (line for line in lines if "Case, upper half, coming in" in line and "meets Cartridge screws" in line)
    assert "What closes its seat off" not in line


# ---- notes that do not cry wolf --------------------------------------------------------------------------------------


@both_machines
def test_a_ring_drawn_on_cold_gets_no_warning_against_heat(name: str) -> None:
    explainer = Explainer(machine(name))
    now = explainer.start_settings()
    for step in ("hs_bearing_1", "hs_bearing_2", "ls_bearing_1", "ls_bearing_2"):
        (cold,) = (note for note in explainer.callouts(now, step) if note.key.endswith("other_diameter"))
        assert (cold.verdict, "do not heat it here" in cold.text) == ("", True)
    hot = broken(name, changed(explainer.procedure, "hs_bearing_1", method="hot"))
    assert ("method_fits", "hs_bearing_1", "high_speed_bearing_1") in shown(hot)


@both_machines
def test_a_watched_carry_time_says_the_limit_that_it_is_under(name: str) -> None:
    """Ninety seconds leave a second try, thirty none (common practice, no source)."""
    explainer = Explainer(machine(name))
    now = explainer.start_settings()
    found = [
        note for step in explainer.procedure.order for note in explainer.callouts(now, step) if note.key.endswith("carry_time")
    ]
    assert found
    for note in found:
        assert note.value is not None and note.verdict == (
            "fine" if note.value >= 89.5 else "watch" if note.value >= 30.0 else "stop"
        )
        assert ("leave time for a second try" in note.text) == (note.verdict == "watch")
        assert note.verdict != "watch" or "90 s" in note.limit


def test_an_interference_just_over_what_is_advised_is_told_in_figures_that_differ() -> None:
    """Slipway's lower inner ring: in the usual four digits both read 0.0015 in."""
    explainer = Explainer(machine("slipway"))
    (note,) = (note for note in explainer.callouts(explainer.start_settings(), "lower_inner_ring") if note.key.endswith(".largest"))
    told_figures = re.findall(r"[\d.]+ in", note.text)
    assert len(told_figures) == 2 and told_figures[0] != told_figures[1]
    assert float(told_figures[0].split()[0]) > float(told_figures[1].split()[0])
