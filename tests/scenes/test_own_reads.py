"""What a step asks for by what it does: locks as they are set and their sum, rings off the heater, hot bores, feelers. Figures of the
machines are our own invention; expansion of steel 12.0e-6/K, as in the machines' other hot fits."""

from __future__ import annotations

from pathlib import Path

import pytest

from scenes import (
    closing,
    left_report,
    own_reads,
    procedure_file,
    record_listing,
    record_typed,
    record_words,
    wording,
)
from scenes.examples import EXAMPLES, open_machine
from scenes.explain import Explainer
from scenes.record_listing import Opened, opened
from tests.scenes.readied import put, told
from tests.scenes.true_machine import explainer as built

LOCKS = {11: "nut_locked", 16: "screws_locked", 19: "screws_locked", 28: "nut_locked", 32: "screws_locked", 39: "nut_locked", 62: "nut_locked"}  # fmt: skip
"""Steps of the shipped order that set a lock, read by hand."""


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return tmp_path / "job.jsonl"


def open_of(found: Opened, number: int) -> list[str]:
    return [line for line in record_listing.still_open(found, found.planned.start_settings()) if line.startswith(f"Step {number}:")]


# ---- locks -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("example", EXAMPLES)
def test_every_lock_that_is_closed_in_is_asked_for_at_its_step(example: str, job: Path) -> None:
    made = built(example)
    asked = {step.number: name for step in made.procedure.steps.values() for name in step.reads if name in LOCKS.values()}
    assert asked == LOCKS
    assert all(any("not read" in line for line in open_of(opened(made, job), number)) for number in LOCKS)


def test_a_nut_that_is_not_locked_and_a_head_too_few_stop(millrace: Explainer, job: Path) -> None:
    found, said = put(millrace, job, "nut_locked", "no", step="ls_tab")
    assert said.verdict == "stop" and "maker's torque" in told(said) and open_of(found, 62)
    found, said = put(millrace, job, "nut_locked", "yes", step="ls_tab")
    assert said.verdict == "fine" and "the machine file has none" in told(said) and not open_of(found, 62) and open_of(found, 39)
    assert "(step 62)" in record_listing.entry_line(found, found.job.taken[-1])
    assert put(millrace, job, "screws_locked", "7", step="carrier_screws")[1].verdict == "stop"  # the carrier has eight screws
    assert "More than" in told(put(millrace, job, "screws_locked", "9", step="carrier_screws")[1])
    assert put(millrace, job, "screws_locked", "8", step="carrier_screws")[1].verdict == "fine"


def test_the_last_count_adds_up_what_was_written_at_each_lock(millrace: Explainer, job: Path) -> None:
    """Four nuts, 6 + 8 + 6 heads. What nobody wrote down is not proven by a figure."""
    found, said = put(millrace, job, "locks_counted", "24")
    assert (
        said.verdict == "watch"
        and "0 of 4 nuts, 0 of 20 wired heads" in told(said)
        and "step 11, 16, 19, 28, 32, 39, 62" in told(said)
    )
    assert "not every lock is written down at its own step (entry 2)" in " ".join(open_of(found, 72))
    check = next(one for one in closing.checks(found, millrace.start_settings()) if one.key == "locks")
    assert not check.done and "not every lock" in check.says
    for number, name in LOCKS.items():
        step = millrace.procedure.order[number - 1]
        value = "yes" if name == "nut_locked" else "8" if number == 19 else "6"
        put(millrace, job, name, value if number != 28 else "no", step=step)
    said = put(millrace, job, "locks_counted", "24")[1]
    assert (
        said.verdict == "stop"
        and "3 of 4 nuts, 20 of 20 wired heads" in told(said)
        and "at step 28: open it and look" in told(said)
    )
    put(millrace, job, "nut_locked", "yes", step="pinion_tab")
    found, said = put(millrace, job, "locks_counted", "24")
    assert (
        said.verdict == "fine"
        and "4 of 4 nuts, 20 of 20 wired heads" in told(said)
        and not [line for line in open_of(found, 72) if "Locks" in line]
    )
    assert put(millrace, job, "locks_counted", "23")[1].verdict == "stop"


def test_an_order_of_a_planners_own_is_asked_for_its_locks_and_its_heated_rings(tmp_path: Path) -> None:
    """A bearing of the pair heated in place of drawn on, and a step of its own for the wire."""
    order = procedure_file.shipped().decode().replace('"ls_tab"', '"my_tab"').replace("[step.ls_tab]", "[step.my_tab]")
    order = order.replace("[step.my_tab]\n", '[step.my_tab]\ntitle = "Bend the tab"\nwhy = "If not, the nut comes off."\n')
    begin = order.index("[step.hs_bearing_1]")
    order = order[:begin] + order[begin:].replace('method = "draw_on"', 'method = "hot"', 1)
    (tmp_path / "mine.toml").write_text(order)
    made, _ = open_machine("millrace")
    mine = Explainer(made.model_copy(update={"procedure": "mine.toml"}), tmp_path)
    assert mine.procedure.steps["my_tab"].reads == ("nut_locked",)
    assert mine.procedure.steps["hs_bearing_1"].reads == ("ring_temperature",)
    assert mine.procedure.steps["hs_bearing_2"].reads == ()


def test_screws_set_in_compound_are_counted_where_their_heads_are_not_drilled() -> None:
    made, _ = open_machine("millrace")
    retainer = made.carrier.retainer
    plain = retainer.model_copy(update={"screws": retainer.screws.model_copy(update={"drilled": False})})
    mine = Explainer(made.model_copy(update={"carrier": made.carrier.model_copy(update={"retainer": plain})}))
    locked = own_reads.locked_at(mine.reducer(mine.start_settings()), mine.procedure)
    assert locked["lower_retainer"] == own_reads.Locked(0, 0, 6) and "lower_retainer_wire" not in mine.procedure.steps
    assert mine.procedure.steps["lower_retainer"].reads == ("screws_locked",)


# ---- heat ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "verdict", "words"),
    [  # the machine file's limit is 120 °C
        ("110 degC", "fine", "heating limit of 120 °C"),
        ("120 degC", "fine", ""),
        ("121 degC", "stop", "It is scrap until its maker says otherwise"),
        ("55 degC", "watch", "Heat on, under the limit"),
        ("25 degC", "stop", "Heat on, under the limit"),  # tight even in the loosest pair
    ],
)
def test_a_ring_is_judged_by_its_heating_limit_as_it_leaves_the_heater(
    millrace: Explainer, job: Path, value: str, verdict: str, words: str
) -> None:
    found, said = put(millrace, job, "ring_temperature", value, step="lower_inner_ring")
    assert said.verdict == verdict and words in told(said) and bool(open_of(found, 8)) == (verdict != "fine") and open_of(found, 24)
    assert ("Do not fit it" in told(said)) == (value == "121 degC")
    found, said = put(millrace, job, "ring_temperature", "110 degC", step="lower_inner_ring")
    kept_open = [line for line in record_listing.still_open(found, millrace.start_settings()) if "over its heating limit" in line]
    assert bool(kept_open) == (value == "121 degC")


def test_a_ring_is_typed_in_either_unit_and_bare_on_the_page(job: Path) -> None:
    """230 °F are 110 °C."""
    slipway = built("slipway")
    found, said = put(slipway, job, "ring_temperature", "230 degF", step="inner_inner_ring")
    assert found.job.taken[-1].values == pytest.approx((110.0,)) and said.verdict == "fine"
    assert record_listing.entry_line(found, found.job.taken[-1]).endswith(": 230 °F  AB")
    now, read = slipway.with_(slipway.start_settings(), step="inner_inner_ring"), found.reads["ring_temperature"]
    assert record_typed.values(found, read, "230", now) == ["230 °F"]
    assert "250" in record_typed.asked(found, read, "inner_inner_ring", now)["hint"]
    assert record_typed.verdict(found, read, "260", "fitting", now).verdict == "stop"


def test_a_hot_bore_without_the_parts_temperature_does_not_count(millrace: Explainer, job: Path) -> None:
    found, said = put(millrace, job, "bore_clearance", "0.06 mm", "0.06 mm", step="gear_hot")
    assert said.verdict == "watch" and not said.counts and "measure the part's temperature" in told(said)
    assert "its entry says why" in " ".join(open_of(found, 5))
    found, said = put(millrace, job, "bore_clearance", "0.06 mm", "0.06 mm", step="gear_hot", temperature=["130 degC"])
    assert said.verdict == "fine" and said.counts and not open_of(found, 5)


@pytest.mark.parametrize(
    ("values", "warm", "words"),
    [
        # bore 90 H7 on seat 90 s6: 0.036 to 0.093 mm tight at 20 °C; 0.00108 mm a kelvin
        (["0.05 mm"] * 2, "21 degC", "0.05 mm free"),
        (["0.025 mm"] * 2, "45 degC", "can't belong together"),  # 0.010 to 0.067 mm tight yet
        (["0.09 mm"] * 2, "85 degC", "do not belong together"),  # 0.034 mm free at most
        (["90.16 mm"] * 2, "60 degC", "do not belong together"),  # a bore of 90.043 to 90.078 mm
        (["90.114 mm"] * 2, "190 degC", ""),  # over the limit: said first, whatever the bore is
        (["0.06 mm"] * 2, "120 degC", ""),
        (["90.12 mm"] * 2, "110 degC", ""),
    ],
)
def test_a_bore_that_its_temperature_does_not_make_is_not_believed(
    millrace: Explainer, job: Path, values: list[str], warm: str, words: str
) -> None:
    said = put(millrace, job, "bore_clearance", *values, step="gear_hot", temperature=[warm])[1]
    if words:
        assert said.verdict != "fine" and not said.counts and "belong together" in told(said)
        assert "hotter than the thermometer says" in told(said)
    elif warm == "190 degC":
        assert said.verdict == "stop" and "Do not fit it" in told(said)
    else:
        assert said.verdict == "fine" and said.counts


def test_measured_sizes_take_the_place_of_the_drawn_ones_for_a_hot_bore(millrace: Explainer, job: Path) -> None:
    """0.060 mm free at 110 °C is right for the drawing's loosest pair, and 0.060 mm too much for one that is measured 0.093 mm tight."""
    assert put(millrace, job, "bore_clearance", "0.060 mm", "0.060 mm", step="gear_hot", temperature=["110 degC"])[1].counts
    put(millrace, job, "gear.bore", *["90.000 mm"] * 4)
    put(millrace, job, "low_speed_shaft.gear_seat", *["90.093 mm"] * 4)
    said = put(millrace, job, "bore_clearance", "0.060 mm", "0.060 mm", step="gear_hot", temperature=["110 degC"])[1]
    assert not said.counts and "belong together" in told(said)


# ---- feelers ---------------------------------------------------------------------------------------------------------


def test_no_leaf_is_typed_as_none_and_told_in_words(job: Path) -> None:
    slipway = built("slipway")
    now = slipway.start_settings()
    found, said = put(slipway, job, "shoulder_gap", *["none"] * 4, step="gear_feeler")
    taken = found.job.taken[-1]
    assert taken.values == (0.0,) * 4 and said.verdict == "fine" and "No leaf enters; under 0.0012 in" in told(said)
    assert not open_of(found, 6)
    assert "none; none; none; none" in record_listing.entry_line(found, taken)
    row = next(row for row in left_report.report(found, now)["checks"] if "step 6" in row["what"])
    assert (row["left"]["said"], row["left"]["more"]) == ("0.0012 in leaf did not enter", "4 places")
    assert (
        "0.0000 in" not in "\n".join(record_listing.lines(found, now))
        and "none" in record_typed.asked(found, found.reads["shoulder_gap"], "gear_feeler", now)["hint"]
    )
    found, said = put(slipway, job, "shoulder_gap", "none", "none", "none", "0.002 in", step="gear_feeler")
    assert said.verdict == "stop" and "If it was tried and did not enter" in told(said)
    row = next(row for row in left_report.report(found, now)["checks"] if "step 6" in row["what"])
    assert (row["limits"], row["left"]["said"], row["left"]["more"]) == (
        "under 0.0012 in",
        "0.0020 in leaf entered",
        "the thickest at 4 places",
    )
    found, _ = put(slipway, job, "shoulder_gap", *["0 in"] * 4, step="gear_feeler")  # as it was typed until now
    assert "none; none" in record_listing.entry_line(found, found.job.taken[-1])


def test_none_is_typed_in_the_language_spoken_and_only_for_a_feeler(millrace: Explainer, job: Path) -> None:
    reads = opened(millrace, job).reads
    with wording.speaking("es"):
        assert record_words.kept(reads["shoulder_gap"], ["Ninguna", "0,05 mm"]) == ["none", "0.05 mm"]
        assert record_words.told(reads["shoulder_gap"], ["none", "0.05 mm"]) == "ninguna; 0,05 mm"
    with pytest.raises(ValueError, match="backlash 'none'"):
        put(millrace, job, "backlash", "none")
