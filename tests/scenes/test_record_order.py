"""The order in which the entries of a record were read, and times that are none. Expected orders by the slow rule, one entry after the
other, written out here; times are ISO 8601."""

from __future__ import annotations

import json
import random
import time as clock
from pathlib import Path
from typing import Any

import pytest

from scenes import record, record_listing, record_time
from scenes.explain import Explainer
from scenes.record_listing import Opened, opened
from scenes.record_order import in_order
from scenes.wording import speaking

EARLY, LATE = "2026-03-01T08:00:00+00:00", "2026-03-02T08:00:00+00:00"


def add(explainer: Explainer, path: Path, read: str, *given: str, state: str = "fitting", **over: Any) -> int:
    """An entry through the program, dated by hand. Result: its number."""
    found = opened(explainer, path)
    entry = record.reading(found.reads[read], given, state, step=next(iter(found.reads[read].steps), ""), initials="AB")
    return record_listing.put(found, entry | over)


def line(explainer: Explainer, path: Path, read: str, *given: str, state: str = "fitting", **over: Any) -> None:
    """The same written by another hand, unchecked."""
    reads = opened(explainer, path).reads
    entry = record.reading(reads[read], given, state, step=next(iter(reads[read].steps), ""), initials="AB")
    with path.open("a", encoding="utf-8") as file:
        file.write(json.dumps(entry | over) + "\n")


def told(found: Opened, explainer: Explainer) -> list[str]:
    return list(record_listing.lines(found, explainer.start_settings()))


@pytest.mark.parametrize(
    "over",
    [
        {"time": "9999-12-31T23:59:59-10:00"},
        {"time": "0001-01-01T00:00:00+10:00"},
        {"time": "soon"},
        {"time": 12},
        {"time": LATE, "entered": "yesterday"},
        {"time": LATE, "entered": "9999-12-31T23:59:59-10:00"},
    ],
)
def test_a_line_with_a_time_that_is_none_is_told_of_and_the_rest_is_read(
    millrace: Explainer, tmp_path: Path, over: dict[str, Any]
) -> None:
    path = tmp_path / "job.jsonl"
    add(millrace, path, "gaskets.pinion_gasket", *["0.30 mm"] * 4, time=EARLY)
    line(millrace, path, "gaskets.pinion_gasket", "0.30 mm", "0.30 mm", "0.20 mm", "0.30 mm", **over)
    found = opened(millrace, path)
    assert found.job.strange == (3,) and [one.number for one in found.job.taken] == [2]
    assert any(one.startswith("Entry 3 is none that this program knows") for one in told(found, millrace))
    assert add(millrace, path, "backlash", "0.2 mm", state="left") == 4


@pytest.mark.parametrize("zone", ["America/New_York", "Asia/Tokyo"])
def test_a_time_at_either_end_of_the_calendar_is_shown_or_left_as_it_stands(zone: str, monkeypatch: pytest.MonkeyPatch) -> None:
    times = [f"{day}T{hour:02}:00:00+00:00" for day in ("0001-01-01", "9999-12-31") for hour in range(24)]
    with monkeypatch.context() as away:
        away.setenv("TZ", zone)
        clock.tzset()
        told = [record_time.shown(one) for one in times]
    clock.tzset()
    assert {*times} & {*told} and {*told} - {*times}


def test_a_strike_or_an_opening_with_a_time_that_is_none_does_not_keep_the_record_from_being_read(
    millrace: Explainer, tmp_path: Path
) -> None:
    path = tmp_path / "job.jsonl"
    add(millrace, path, "backlash", "0.2 mm", state="left")
    strike = record.strike(opened(millrace, path).job, 2, initials="AB", note="wrong gauge")
    with path.open("a", encoding="utf-8") as file:
        for values in (strike, record.opening(record.Whose(millrace.machine.name)) | {"initials": "AB", "note": "looked"}):
            file.write(json.dumps(values | {"time": "9999-12-31T23:59:59-10:00"}) + "\n")
    found = opened(millrace, path)
    assert found.job.taken[0].struck == 3 and any("struck in entry 3" in one for one in told(found, millrace))


def test_a_gasket_without_a_distance_from_utc_stands_in_local_time_beside_a_reading_as_found(
    millrace: Explainer, tmp_path: Path
) -> None:
    path = tmp_path / "job.jsonl"
    add(millrace, path, "backlash", "0.2 mm", state="found", time=EARLY)
    line(millrace, path, "gaskets.pinion_gasket", *["0.30 mm"] * 4, time="2026-03-02T08:00:00")
    with pytest.raises(record_listing.RecordError, match=r"new gaskets are in \(entry 3\)"):
        add(millrace, path, "backlash", "0.2 mm", state="found", time="2026-03-03T20:00:00+00:00")
    assert add(millrace, path, "backlash", "0.2 mm", state="found", time="2026-02-28T08:00:00+00:00", entered=LATE) == 4


def one_by_one(read: list[tuple[float, bool]]) -> list[int]:
    """The slow rule: what is typed in afterwards goes forward past all that was read later."""
    found: list[tuple[float, int]] = []
    for number, (time, afterwards) in enumerate(read):
        at = len(found)
        while afterwards and at and found[at - 1][0] > time:
            at -= 1
        found.insert(at, (time, number))
    return [number for _, number in found]


@pytest.mark.parametrize("share", [0.0, 0.1, 0.5, 1.0])
def test_entries_of_a_clock_that_jumps_stand_where_one_by_one_they_would(share: float) -> None:
    dice = random.Random(3)
    for count in range(60):
        read = [(float(dice.randrange(20)), dice.random() < share) for _ in range(count)]
        assert in_order(read) == one_by_one(read)


def test_a_blank_sheet_typed_in_newest_first_stands_oldest_first() -> None:
    assert in_order([(float(-one), True) for one in range(1000)]) == list(range(999, -1, -1))


def test_a_time_typed_to_the_minute_leaves_the_order_within_it_to_the_entries(millrace: Explainer, tmp_path: Path) -> None:
    """A gasket entered live at 04:49:31, the backlash read with it typed in as 04:49: it is read after the gasket and holds."""
    path = tmp_path / "job.jsonl"
    add(millrace, path, "gaskets.pinion_gasket", *["0.30 mm"] * 4, time="2026-03-01T04:49:31+00:00")
    add(millrace, path, "pinion_running", "72.70 mm", time="2026-03-01T04:50:00+00:00")
    late = {"state": "left", "entered": "2026-03-01T05:30:00+00:00"}
    add(millrace, path, "backlash", "0.2 mm", time="2026-03-01T04:49:00+00:00", **late)
    add(millrace, path, "pattern", "drive centre", time="2026-03-01T04:49:30+00:00", **late)  # to the second: before the gasket
    assert [one.read for one in opened(millrace, path).job.taken] == [
        "pattern",
        "gaskets.pinion_gasket",
        "backlash",
        "pinion_running",
    ]


@pytest.mark.parametrize("language", ["en", "es"])
def test_a_gasket_typed_in_before_a_reading_as_found_is_refused(millrace: Explainer, tmp_path: Path, language: str) -> None:
    path, gasket, late = tmp_path / "job.jsonl", ("gaskets.pinion_gasket", *["0.30 mm"] * 4), "2026-03-01T12:00:00+00:00"
    add(millrace, path, "backlash", "0.2 mm", state="found", time=EARLY)
    before = path.read_bytes()
    with speaking(language), pytest.raises(record_listing.RecordError) as refused:
        add(millrace, path, *gasket, time="2026-03-01T07:00:00+00:00", entered=late)
    assert {"en": "still read as found", "es": "todavía una lectura al desmontar"}[language] in str(refused.value)
    assert ("entry 2" if language == "en" else "entrada 2") in str(refused.value) and path.read_bytes() == before
    assert add(millrace, path, *gasket, state="found", time="2026-03-01T07:00:00+00:00", entered=late) == 3  # the old one, measured
    assert add(millrace, path, *gasket, time="2026-03-01T08:01:00+00:00", entered=late) == 4


def test_a_gasket_goes_in_live_whatever_the_clock_says(millrace: Explainer, tmp_path: Path) -> None:
    path = tmp_path / "job.jsonl"
    add(millrace, path, "backlash", "0.2 mm", state="found", time="2026-03-01T08:00:00+00:00")
    assert add(millrace, path, "gaskets.pinion_gasket", *["0.30 mm"] * 4, time="2020-01-01T00:00:10+00:00") == 3


def test_entries_that_are_gone_are_told_of_until_they_are_back(millrace: Explainer, tmp_path: Path) -> None:
    path = tmp_path / "job.jsonl"
    add(millrace, path, "backlash", "0.2 mm", state="left")
    older = path.read_bytes()
    for _ in range(2):
        add(millrace, path, "backlash", "0.25 mm", state="left")
    whole = path.read_bytes()
    found = opened(millrace, path)
    assert found.remarks == ()
    path.write_bytes(older)
    found = opened(millrace, path, found)
    assert "gone (3–4)" in found.remarks[0] and found.remarks[0] in told(found, millrace)
    with speaking("es"):
        assert "Faltan entradas que estaban aquí (3–4)" in found.remarks[0]
    path.unlink()
    found = opened(millrace, path, found)
    assert "gone (2–4)" in found.lost and found.job.taken == ()
    add(millrace, path, "backlash", "0.3 mm", state="left")  # a new file
    found = opened(millrace, path, found)
    assert "gone (2–4)" in found.lost and len(found.job.taken) == 1
    path.write_bytes(whole)
    found = opened(millrace, path, found)
    assert "gone (2)" in found.lost and [one.number for one in found.job.taken] == [2, 3, 4]


def test_a_torn_end_that_is_gone_on_from_is_no_entry_that_is_gone(millrace: Explainer, tmp_path: Path) -> None:
    path = tmp_path / "job.jsonl"
    add(millrace, path, "backlash", "0.2 mm", state="left")
    with path.open("ab") as file:
        file.write(b'{"time":"2026-')
    found = opened(millrace, path)
    add(millrace, path, "backlash", "0.25 mm", state="left")
    assert opened(millrace, path, found).remarks == () and opened(millrace, path, found).job.torn == (3,)
