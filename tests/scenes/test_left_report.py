"""The report of a job as its owner reads it a year later: what stands, what was put right, whose job it was, how it drifted."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from scenes import drift, feel, left_report, next_move, record, record_listing, report_head
from scenes.examples import EXAMPLES, open_machine
from scenes.explain import Explainer
from scenes.reads import SIGNED, known
from scenes.record_listing import Opened, opened
from tests.scenes.test_record import put
from viewer import plot_figure


def test_deviations_tell_first_what_stands_and_by_which_entry_the_rest_was_put_right(millrace: Explainer, tmp_path: Path) -> None:
    """Limits of the low-speed end play in the machine file: 0.02 to 0.08 mm; three pushes wanted."""
    job = tmp_path / "job.jsonl"
    put(millrace, job, "low_speed_end_play", *["0.30 mm"] * 3)  # entry 2
    put(millrace, job, "low_speed_end_play", *["0.05 mm"] * 3)  # entry 3
    put(millrace, job, "split_screw", "10 x 300 N m", note="wrench slipped")  # entry 4
    found = put(millrace, job, "split_screw", "3 x 160 N m")  # entry 5: not every screw
    said = left_report.report(found, millrace.start_settings())["deviations"]
    assert len(said) == 2
    assert said[0].startswith("Entry 4") and "entry 5 does not put it right: wrench slipped" in said[0]
    assert said[1].startswith("Entry 2") and "put right: entry 3" in said[1] and "no reason" not in said[1]


def test_the_report_says_whose_job_it_is_and_how_far_its_record_went(millrace: Explainer, tmp_path: Path) -> None:
    """The set's data are those of the machine file: 15 and 46 teeth, spiral, set 1, 240 N m."""
    job = tmp_path / "weir.jsonl"
    put(millrace, job, "backlash", *["0.24 mm"] * 4)
    found = put(millrace, job, "low_speed_end_play", *["0.05 mm"] * 3)
    now = millrace.start_settings()
    said = [one["said"] for one in report_head.head(found, now, date(2026, 11, 24))]
    assert said[0] == "weir.jsonl, printed 2026-11-24" and "2 readings, 0 of them struck; last entry: number 3" in said[1]
    assert "Mill-race gate drive" in said
    assert "set 1; teeth 15 to 46, ratio 3.067, spiral" in said and "240.0 N·m" in said
    assert "entry 3" in left_report.report(found, now)["signed_for"]
    struck = record.strike(found.job, 2, initials="AB", note="wrong tooth")
    assert report_head.last_number(opened(millrace, job).job) == 3
    record_listing.put(found, struck)
    assert report_head.last_number(opened(millrace, job).job) == 4


def test_no_move_is_asked_for_where_both_gaskets_stay(millrace: Explainer, tmp_path: Path) -> None:
    """The backlash of the design, 0.22 mm, is inside the limits of the machine file, 0.17 to 0.30 mm."""
    job = tmp_path / "job.jsonl"
    for gasket in ("pinion_gasket", "gear_gasket", "high_speed_float_gasket", "low_speed_float_gasket"):
        size = millrace.machine.gaskets.model_dump()[gasket]["thickness"]
        put(millrace, job, f"gaskets.{gasket}", *[f"{size} mm"] * 4)
    put(millrace, job, "backlash", *["0.22 mm"] * 4)
    found = put(millrace, job, "pattern", "drive 45 %,50 %", "coast 45 %,50 %")
    now = millrace.start_settings()
    following = next_move.next_move(found, now)
    said = following.lines(found, now)
    assert following.gaskets == {} and any("leave both gaskets as they are" in line for line in said)
    assert not any("Make the move" in line for line in said)
    assert any("Nothing to move" in line for line in said) and said[-1].startswith("Still open: ") and "first: Step 1:" in said[-1]


def test_as_found_only_the_gaskets_wanted_are_told_and_which_way_each_was_measured(millrace: Explainer, tmp_path: Path) -> None:
    """0.40 mm of backlash is over the limit of 0.30 mm and 0.20 mm of end play over the limit of 0.08 mm, so both ask for a gasket."""
    job, now = tmp_path / "job.jsonl", millrace.start_settings()
    for gasket in ("pinion_gasket", "gear_gasket", "high_speed_float_gasket", "low_speed_float_gasket"):
        size = getattr(millrace.machine.gaskets, gasket).clamped
        put(millrace, job, f"gaskets.{gasket}", *[f"{size:.4f} mm"] * 4, state="found")
    found = put(millrace, job, "low_speed_end_play", *["0.20 mm"] * 3, state="found")
    told = " ".join(found.judge(found.job.taken[-1], now).now)
    assert "(old one, as clamped) is in" in told and "free (new one) would" in told
    assert "New bearings" in told and "Cover off" not in told
    put(millrace, job, "pattern", "drive 45 %,50 %", "coast 45 %,50 %", state="found")
    found = put(millrace, job, "backlash", *["0.40 mm"] * 4, state="found")
    for said in (list(found.judge(found.job.taken[-1], now).now), next_move.next_move(found, now).lines(found, now)):
        assert any(" gasket: " in line and "thinner" in line for line in said), said
        assert sum("New bearings" in line for line in said) == 1, said
        assert not any("Steps to do again" in line or "come off" in line or "Make the move" in line for line in said)
    old = found.judge(next(one for one in found.job.taken if one.read == "gaskets.gear_gasket"), now)
    assert "Taken as the old one, as it was clamped." in old.says
    new = put(millrace, job, "gaskets.gear_gasket", *["0.60 mm"] * 4)
    assert "Taken as a new one, free: not squeezed yet." in new.judge(new.job.taken[-1], now).says


def test_a_list_marks_what_was_read_again_and_names_the_way_out_of_what_can_not_be_used(
    millrace: Explainer, tmp_path: Path
) -> None:
    job, now = tmp_path / "job.jsonl", millrace.start_settings()
    put(millrace, job, "low_speed_end_play", *["0.30 mm"] * 3)  # entry 2
    put(millrace, job, "low_speed_end_play", *["0.05 mm"] * 3)  # entry 3
    found = put(millrace, job, "case.end_face", "-20 mm")  # entry 4: no case
    told = list(record_listing.lines(found, now))
    at = [next(k for k, line in enumerate(told) if line.startswith(f"{number}  ")) for number in (2, 3, 4)]
    assert any("entry 3 stands in its place" in line for line in told[at[0] : at[1]])
    assert not any("in its place" in line for line in told[at[1] :])
    assert any(line.startswith("Entry 4: ") and "--strike 4 --note" in line for line in told)


def test_the_machine_over_its_jobs_is_joined_from_as_left_to_the_next_as_found_never_across_a_rebuild(
    millrace: Explainer, tmp_path: Path
) -> None:
    """Limits of the machine file: backlash 0.17 to 0.30 mm, end play 0.02 to 0.08 mm; a gasket has none. In the third job no backlash was
    read as found: nobody knows what the machine had worn to."""
    jobs = []
    for year, was, left in ((2021, "0.31 mm", "0.22 mm"), (2024, "0.28 mm", "0.21 mm"), (2026, "", "0.23 mm")):
        job = tmp_path / f"{year}.jsonl"
        read = datetime(year, 5, 3, 9, tzinfo=UTC)
        put(millrace, job, "gaskets.gear_gasket", *["0.55 mm"] * 4, state="found", time=read)
        if was:
            put(millrace, job, "backlash", *[was] * 4, state="found", time=read)
        put(millrace, job, "low_speed_end_play", *["0.05 mm"] * 3, state="found", time=read)
        put(millrace, job, "gaskets.gear_gasket", *["0.60 mm"] * 4, time=read)
        jobs.append(put(millrace, job, "backlash", *[left] * 4, state="left", time=read))
    plots = {plot.key: plot for plot in drift.drift(jobs, millrace.start_settings())}
    assert list(plots) == ["drift_backlash", "drift_low_speed_end_play", "drift_gear_gasket_found", "drift_gear_gasket_left"]
    backlash = plots["drift_backlash"]
    assert [(line.name, len(line.pieces)) for line in backlash.lines] == [("as found", 0), ("as left", 0), ("in service", 1)]
    ((first, then),) = backlash.lines[-1].pieces
    assert (first[1], then[1]) == (0.22, 0.28) and 1.0 < first[0] < then[0] < 2.0
    told = [(dot.style, round(dot.at[0]), dot.at[1]) for dot in backlash.dots]
    assert told == [("found", 1, 0.31), ("found", 2, 0.28), ("left", 1, 0.22), ("left", 2, 0.21), ("left", 3, 0.23)]
    before, behind = ({round(dot.at[0]): dot.at[0] for dot in backlash.dots if dot.style == style} for style in ("found", "left"))
    assert all(before[number] < number < behind[number] for number in (1, 2))
    assert [mark.at for mark in backlash.marks] == pytest.approx([0.17, 0.30])
    assert [shown for _, shown in backlash.x.ticks] == ["2021", "2024", "2026"]
    assert drift.job_line(1, jobs[0]) == "1: 2021.jsonl, gears set 1, read 2021-05-03"
    assert backlash.said == ("Dashed red: limits 0.170 mm and 0.300 mm",)
    assert [shown for _, shown in drift.drift(jobs[:1] * 2, millrace.start_settings())[0].x.ticks] == ["1: 2021", "2: 2021"]
    drawn = plot_figure.svg(backlash)
    assert drawn.count("<rect") == 4 and drawn.count("<circle") == 4  # the dots, one in the key each; the area's frame
    assert drawn.count("<polyline") == 1


def test_an_old_gasket_as_clamped_and_a_new_one_free_share_no_plot(millrace: Explainer, tmp_path: Path) -> None:
    jobs = []
    for year, old, new in ((2021, "0.55 mm", "0.60 mm"), (2024, "0.54 mm", "0.62 mm")):
        read = datetime(year, 5, 3, 9, tzinfo=UTC)
        put(millrace, tmp_path / f"{year}.jsonl", "gaskets.gear_gasket", *[old] * 4, state="found", time=read)
        jobs.append(put(millrace, tmp_path / f"{year}.jsonl", "gaskets.gear_gasket", *[new] * 4, time=read))
    came_out, went_in = drift.drift(jobs, millrace.start_settings())
    assert (came_out.title, came_out.said, came_out.lines[0].pieces[0]) == (
        "Gear gasket",
        ("old one, as clamped",),
        ((1.0, 0.55), (2.0, 0.54)),
    )
    assert (went_in.title, went_in.said, went_in.lines[0].pieces[0]) == (
        "Gear gasket",
        ("new one, free",),
        ((1.0, 0.6), (2.0, 0.62)),
    )
    assert came_out.y.high < 0.6 <= went_in.y.high and came_out.marks == went_in.marks == ()


def test_the_readme_names_what_wants_a_step_and_the_words_that_can_be_typed() -> None:
    told = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    for name in EXAMPLES:
        reads = Explainer(open_machine(name)[0])
        several = [read.name for read in known(reads.machine, reads.procedure).values() if len(read.steps) > 1]
        assert several and all(f"`{one}`" in told or one.endswith("_screw") for one in several), several
    assert all(f"`{word}`" in told for word in (*feel.FEELS, *SIGNED[:1], "cartridge_screw"))


def test_the_marks_as_left_are_those_of_the_closed_machine_that_hold(millrace: Explainer, tmp_path: Path) -> None:
    job, now = tmp_path / "job.jsonl", millrace.start_settings()

    def drawn(found: Opened) -> list[str]:
        return [one["title"] for one in left_report.report(found, now)["marks"]]

    put(millrace, job, "trial_backlash", *["0.20 mm"] * 4, step="trial_read")
    assert drawn(put(millrace, job, "pattern", "drive toe", "coast toe")) == []  # of the open case
    put(millrace, job, "backlash", *["0.20 mm"] * 4)
    assert drawn(put(millrace, job, "pattern", "drive centre", "coast centre")) == ["drive, as left", "coast, as left"]
    assert drawn(put(millrace, job, "gaskets.pinion_gasket", *["0.60 mm"] * 4)) == []  # they hold no longer
