"""Whose record it is, and the clock that dated it. That pinion and gear are lapped as a pair, numbered together and never mixed is common
practice, no source; times are ISO 8601."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from scenes import record, record_listing, record_time, record_whose
from scenes.examples import open_machine
from scenes.explain import Explainer
from scenes.record import Whose
from scenes.record_file import RecordError
from scenes.record_listing import Opened, opened
from scenes.wording import speaking

KEPT = Whose("Drive 3", "set 1", "15:46, 6.000 mm, left")


@pytest.fixture(scope="module")
def millrace() -> Explainer:
    return Explainer(open_machine("millrace")[0])


def changed(explainer: Explainer, name: str = "", **gears: Any) -> Explainer:
    machine = explainer.machine
    machine = machine.model_copy(update={"gears": machine.gears.model_copy(update=gears), "name": name or machine.name})
    return Explainer(machine)


def put(explainer: Explainer, path: Path) -> Opened:
    found = opened(explainer, path)
    record_listing.put(found, record.reading(found.reads["backlash"], ["0.2 mm"], "left", initials="AB"))
    return opened(explainer, path)


@pytest.mark.parametrize(
    ("kept", "given", "likeness"),
    [
        (KEPT, KEPT, "same"),
        (Whose(), KEPT, "same"),
        (Whose("Drive 3", "Set No. 1", KEPT.gears), KEPT, "same"),
        (Whose("Drive 3", "set 1"), KEPT, "same"),  # of an older program
        (Whose("Drive 3"), KEPT, "same"),
        (Whose("Drive 3", "set 2", KEPT.gears), KEPT, "set"),
        (Whose("Drive 3", "set 2"), KEPT, "set"),
        (Whose("Drive 3", "set 1", "17:38, 4.233 mm, straight"), KEPT, "set"),
        (Whose("Drive 3", "X and XX", KEPT.gears), KEPT, "unsure"),
        (Whose("Winch drive", "set 1", KEPT.gears), KEPT, "renamed"),
        (Whose("Winch drive", "set 1"), KEPT, "unsure"),  # many a machine has a set 1
        (Whose("Winch drive", "", KEPT.gears), KEPT, "unsure"),
        (Whose("Winch drive"), KEPT, "unsure"),
        (Whose("Winch drive", "set 2", KEPT.gears), KEPT, "other"),
        (Whose("Winch drive", "set 1", "17:38, 4.233 mm, straight"), KEPT, "other"),
    ],
)
def test_a_machine_is_known_by_its_set_and_teeth_not_by_its_title(kept: Whose, given: Whose, likeness: str) -> None:
    assert record_whose.judged(kept, given) == likeness


def test_gears_of_another_set_are_not_recorded_with_those_that_the_record_was_begun_for(
    millrace: Explainer, tmp_path: Path
) -> None:
    path = tmp_path / "a"
    put(millrace, path)
    before, other = path.read_bytes(), changed(millrace, set_number="set 2")
    with pytest.raises(RecordError, match=r"nothing was added\. Stop\..*set 1.*set 2.*begin another record.*--same-machine"):
        put(other, path)
    assert path.read_bytes() == before
    found, now = opened(other, path), other.start_settings()  # readable all the same
    assert any("Pinion and gear of two sets never run together" in line for line in record_listing.lines(found, now))
    assert "set 2" in record_listing.report(found, now)["remarks"][0]
    with speaking("es"):
        assert "set 1 (15:46, 8,000 mm)" in opened(other, path).remarks[0]
    record_listing.put(found, record.same_machine(record_whose.of(other.machine), initials="AB", note="2 on both gears, read off"))
    found = put(other, path)
    assert found.remarks == () and len(found.job.taken) == 2
    assert any("signed by AB" in line and "2 on both gears" in line for line in record_listing.untold(found))
    with pytest.raises(RecordError, match="nothing was added"):
        put(millrace, path)


def test_a_machine_under_another_title_goes_on_with_its_record(millrace: Explainer, tmp_path: Path) -> None:
    path = tmp_path / "a"
    put(millrace, path)
    found = put(changed(millrace, name="Gate drive 2"), path)
    assert len(found.job.taken) == 2
    assert len(found.remarks) == 1 and "Gate drive 2" in found.remarks[0] and "another name" in found.remarks[0]


def test_an_older_record_under_another_title_is_read_and_goes_on_once_it_is_signed_for(millrace: Explainer, tmp_path: Path) -> None:
    path, now = tmp_path / "a", millrace.start_settings()
    put(millrace, path)
    first, *rest = path.read_text().splitlines()
    older = {name: said for name, said in json.loads(first).items() if name != "gears"}
    path.write_text("\n".join([json.dumps(older), *rest]) + "\n")
    assert opened(millrace, path).remarks == ()
    renamed = changed(millrace, name="Gate drive 2")
    assert any("not clear" in line for line in record_listing.lines(opened(renamed, path), now))
    with pytest.raises(RecordError, match="nothing was added"):
        put(renamed, path)
    entry = record.same_machine(record_whose.of(renamed.machine), initials="AB", note="same plate")
    record_listing.put(opened(renamed, path), entry)
    assert len(put(renamed, path).job.taken) == 2


def test_nobody_signs_without_saying_why(millrace: Explainer) -> None:
    with pytest.raises(ValueError, match=r"note: missing.*\ninitials"):
        record.same_machine(record_whose.of(millrace.machine), initials="", note=" ")


def test_a_record_begun_meanwhile_for_another_set_takes_no_reading_of_this_one(millrace: Explainer, tmp_path: Path) -> None:
    path = tmp_path / "a"
    found = opened(millrace, path)
    put(changed(millrace, set_number="set 2"), path)
    with pytest.raises(RecordError, match="nothing was added"):
        record_listing.put(found, record.reading(found.reads["backlash"], ["0.2 mm"], "left", initials="AB"))


def dated(explainer: Explainer, path: Path, *entries: tuple[str, str]) -> Opened:
    """A record with readings of these times, each read at the first and entered at the second ("" = as it was read)."""
    found = opened(explainer, path)
    for time, entered in entries:
        entry = record.reading(found.reads["backlash"], ["0.2 mm"], "left", initials="AB")
        record_listing.put(found, entry | {"time": time} | ({"entered": entered} if entered else {}))
    return opened(explainer, path)


def test_a_clock_that_went_back_is_told_of_once_and_no_more_when_the_entry_is_struck(millrace: Explainer, tmp_path: Path) -> None:
    path, now = tmp_path / "a", millrace.start_settings()
    times = ("2026-03-01T10:00:00+00:00", "2020-01-01T00:00:10+00:00", "2020-01-01T00:05:00+00:00")
    found = dated(millrace, path, *((time, "") for time in times))
    assert found.remarks == (
        "Entry 3 is dated before entry 2: check the clock. If the time is wrong, strike the entry and type it in again with --time.",
    )
    assert found.remarks[0] in list(record_listing.lines(found, now))
    for number in (3, 4):
        record_listing.put(found, record.strike(opened(millrace, path).job, number, initials="AB", note="clock"))
    assert opened(millrace, path).remarks == ()


def test_entries_ahead_of_now_are_told_of(millrace: Explainer, tmp_path: Path) -> None:
    ahead = [(datetime.now().astimezone() + timedelta(days=days)).isoformat(timespec="seconds") for days in (1, 2, 3)]
    found = dated(millrace, tmp_path / "a", ("2026-03-01T10:00:00+00:00", ""), *((time, "") for time in ahead))
    assert len(found.remarks) == 1 and found.remarks[0].startswith("Dated ahead of now: entry 3–5: check the clock.")
    later = datetime.now().astimezone() + timedelta(days=2.5)
    assert record_time.clock(found.job, later)[0].startswith("Dated ahead of now: entry 5:")
    assert record_time.clock(found.job, later + timedelta(days=2)) == ()


def test_a_blank_sheet_typed_in_afterwards_is_not_taken_for_a_wrong_clock(millrace: Explainer, tmp_path: Path) -> None:
    """Read on the 3rd, 1st and 2nd, typed in one after the other on the 4th, in another time zone than the last."""
    entered = ("2026-03-04T08:00:00+01:00", "2026-03-04T08:01:00+01:00", "2026-03-04T08:01:30+01:00", "2026-03-04T07:02:00+00:00")
    read = ("2026-03-03T10:00:00+01:00", "2026-03-01T10:00:00+01:00", "2026-03-02T10:00:00+01:00", "2026-03-01T09:00:00+01:00")
    assert dated(millrace, tmp_path / "a", *zip(read, entered, strict=True)).remarks == ()
    two = ("2026-03-04T08:00:08+01:00", ""), ("2026-03-04T08:00:00+01:00", "")  # one waited for the other
    assert dated(millrace, tmp_path / "b", *two).remarks == ()
