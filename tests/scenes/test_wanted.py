"""What a job wants and what a reading lacks is one answer, whoever asks: what is open, the closing checks, the next move. mm."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest

from scenes import closing, record, record_listing, wanted
from scenes.cures import mesh_read
from scenes.next_move import next_move
from scenes.record_listing import Opened, opened
from tests.scenes.readied import before_turning
from tests.scenes.true_machine import explainer

Entry = tuple[str, Sequence[str], bool]
BACKLASH = ("0.23 mm",) * 4
MARKS = ("drive centre", "coast centre")


def job(path: Path, *entries: Entry) -> Opened:
    """A record of these readings, name, values, and whether the instrument was overdue."""
    planned = explainer("millrace")
    for name, values, overdue in entries:
        found = opened(planned, path)
        read = found.reads[name]
        due = {"instrument": f"dial of {name}", "due": "2020-01-31"} if overdue else {}
        record_listing.put(
            found, record.reading(read, values, "fitting", step=read.steps[0] if read.steps else "", initials="AB", **due)
        )
    return opened(planned, path)


def told(found: Opened, name: str) -> tuple[str, str, str]:
    """What is open of a reading, what its closing check says, why no move is worked out of it."""
    now, title = found.planned.start_settings(), found.reads[name].title
    is_open = [line for line in record_listing.still_open(found, now) if f": {title}:" in line]
    key = next(key for key, names in closing.CLOSING.items() if name in names)
    check = next(one for one in closing.checks(found, now) if one.key == key)
    why = [line for line in next_move(found, now).why if line.startswith(f"{title}:")]
    return " ".join(is_open), "done" if check.done else check.says, " ".join(why)


@pytest.mark.parametrize(
    "name,entries,is_open,check,why",
    [
        ("backlash", [], "not read", "not read", "not read"),
        ("backlash", [("backlash", BACKLASH, False)], "", "done", ""),
        ("backlash", [("backlash", BACKLASH[:2], False)], "2 of 4", "2 of 4", "2 of 4"),
        ("backlash", [("backlash", BACKLASH, True)], "does not count", "does not count", "does not count"),
        ("backlash", [("backlash", BACKLASH[:2], True)], "does not count", "does not count", "does not count"),
        ("backlash", [("backlash", ("0.40 mm",) * 4, True)], "does not count", "does not count", "does not count"),
        ("backlash", [("backlash", ("0.40 mm",) * 4, False)], "not in order", "outside its limits", ""),
        ("backlash", [("backlash", ("0.40 mm",) * 2, False)], "not in order", "outside its limits", "2 of 4"),
        ("backlash", [("backlash", BACKLASH, False), ("gaskets.pinion_gasket", ("0.60 mm",) * 4, False)],
         "before the Pinion gasket was changed", "before the Pinion gasket was changed", "before the Pinion gasket was changed"),
        ("backlash", [("gaskets.low_speed_float_gasket", ("0.50 mm",) * 4, False), ("backlash", BACKLASH, False),
                      ("gaskets.low_speed_float_gasket", ("0.60 mm",) * 4, False)],
         "was opened for the Low-speed float gasket", "was opened for the Low-speed float gasket", "was opened for the Low-speed float gasket"),
        ("high_speed_end_play", [("high_speed_end_play", ("0.05 mm", "0.05 mm", "0.09 mm"), False)], "disagree", "not sure yet", ""),
        ("pattern", [("pattern", MARKS, False)], "to be accepted", "to be accepted", ""),
        ("pattern", [("pattern", MARKS[:1], False)], "both flanks", "one flank only", ""),
        ("pattern", [("pattern", MARKS[:1], False), ("pattern_accepted", ("yes",), False)], "both flanks", "one flank only", ""),
        ("pattern", [("pattern_accepted", ("yes",), False), ("pattern", MARKS, False)], "to be accepted", "to be accepted", ""),
        ("pattern", [("pattern", MARKS, False), ("pattern_accepted", ("yes",), False)], "", "done", ""),
        ("pattern", [("pattern", MARKS, False), ("pattern_accepted", ("yes", "yes"), False)], "", "done", ""),
        ("pattern", [("pattern", MARKS, False), ("pattern_accepted", ("yes", "no"), False)], "to be accepted", "to be accepted", ""),
        ("pattern", [("pattern", MARKS, False), ("pattern_accepted", ("no",), False)], "to be accepted", "to be accepted", ""),
        ("pattern", [("pattern", ("drive hard-heel", "coast centre"), False), ("pattern_accepted", ("yes",), False)],
         "not in order", "not in order", ""),
        ("turning_feel", [("turning_feel", ("even",), False)], "", "done", ""),
        ("turning_feel", [("turning_feel", ("tight gear",), False)], "not in order", "not in order", ""),
        ("oil_filled", [("oil_filled", ("6 L",), False), ("gaskets.pinion_gasket", ("0.60 mm",) * 4, False)],
         "was opened for the Pinion gasket", "was opened for the Pinion gasket", ""),
    ],
)  # fmt: skip
def test_what_is_open_the_closing_check_and_the_next_move_agree(
    tmp_path: Path, name: str, entries: list[Entry], is_open: str, check: str, why: str
) -> None:
    before_turning(explainer("millrace"), tmp_path / "job")
    found = told(job(tmp_path / "job", *entries), name)
    for said, part in zip(found, (is_open, check, why), strict=True):
        assert part in said if part else not said


def test_what_stands_at_the_end_counts_was_not_struck_and_no_gasket_made_it_void(tmp_path: Path) -> None:
    path = tmp_path / "job"
    found = job(
        path,
        ("backlash", ("0.23 mm",) * 4, False),  # 1 in the file is whose record it is
        ("gaskets.gear_gasket", ("0.50 mm",) * 4, False),
        ("backlash", ("0.24 mm",) * 4, False),
        ("backlash", ("0.25 mm",) * 2, False),
        ("backlash", ("0.26 mm",) * 4, True),
        ("high_speed_end_play", ("0.05 mm",) * 3, False),
        ("high_speed_end_play", ("0.06 mm",) * 3, False),
    )
    struck = found.job.taken[-1].number
    record_listing.put(found, record.strike(found.job, struck, initials="AB", note="dial slipped"))
    found = opened(found.planned, path)
    assert {one.read: one.mean for one in wanted.at_end(found)} == pytest.approx(
        {"gaskets.gear_gasket": 0.50, "backlash": 0.24, "high_speed_end_play": 0.05}
    )
    last = wanted.last_at_end(found, "backlash", "fitting")
    assert last is not None and last.mean == pytest.approx(0.24)
    found = job(path, ("gaskets.pinion_gasket", ("0.60 mm",) * 4, False))
    assert {one.read for one in wanted.at_end(found)} == {"gaskets.gear_gasket", "gaskets.pinion_gasket"}
    assert wanted.last_at_end(found, "backlash", "fitting") is None


def test_no_shim_move_is_worked_out_of_end_plays_and_marks_that_do_not_count(tmp_path: Path) -> None:
    """The pinion's end play goes into where it runs; one read with a dial that is overdue, or once, is none."""
    path = tmp_path / "job"
    entries = [("high_speed_end_play", ("0.05 mm",) * 3, False), ("backlash", ("0.40 mm",) * 4, False), ("pattern", MARKS, False)]
    found = job(path, *entries)
    backlash = found.job.latest("backlash", "fitting")

    def plays() -> tuple[float | None, float | None]:
        found = opened(explainer("millrace"), path)
        assert backlash is not None
        read = mesh_read(found.job, backlash, lambda one: wanted.stands(found, one))
        assert read is not None
        return read.high_speed_end_play, read.low_speed_end_play

    assert plays() == (pytest.approx(0.05), None)
    job(path, ("high_speed_end_play", ("0.90 mm",) * 3, True), ("low_speed_end_play", ("0.90 mm",), False))
    assert plays() == (pytest.approx(0.05), None)
    found = job(path, ("gaskets.high_speed_float_gasket", ("0.60 mm",) * 4, False))
    assert mesh_read(found.job, backlash, lambda one: wanted.stands(found, one)) is None  # the marks went with the gasket


def test_every_gasket_that_goes_in_is_measured_and_one_that_an_opening_spoils_is_measured_again(tmp_path: Path) -> None:
    """Common practice, no source: a gasket that comes off with another is renewed, and the new one is not the old one's thickness."""
    path = tmp_path / "job"

    def open_gaskets(found: Opened) -> list[str]:
        said = record_listing.still_open(found, found.planned.start_settings())
        return [line for line in said if "asket: " in line]

    assert [line.split(": ")[1] for line in open_gaskets(job(path))] == [
        "Pinion gasket", "High-speed float gasket", "Gear gasket", "Low-speed float gasket",
    ]  # fmt: skip
    names = ("low_speed_float_gasket", "gear_gasket", "pinion_gasket", "high_speed_float_gasket")  # as they lie on the bench
    found = job(path, *((f"gaskets.{name}", ("0.50 mm",) * 4, False) for name in names))
    assert open_gaskets(found) == []
    found = job(path, ("backlash", BACKLASH, False), ("gaskets.gear_gasket", ("0.65 mm",) * 4, False))
    (line,) = open_gaskets(found)
    assert "Low-speed float gasket" in line and "was opened for the Gear gasket" in line
    assert open_gaskets(job(path, ("gaskets.low_speed_float_gasket", ("0.51 mm",) * 4, False))) == []
