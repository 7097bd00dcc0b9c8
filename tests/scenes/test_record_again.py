"""A record that is read again after more was written into it: it says what it says to whoever opens it for the first time."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

from scenes import record, record_listing
from scenes.explain import Explainer
from scenes.record_listing import Opened, opened
from scenes.wording import speaking

PLAY = ["0.05 mm", "0.05 mm", "0.06 mm"]


def put(found: Opened, read: str, values: list[str], hours_ago: float = 0.0) -> None:
    time = datetime.now().astimezone() - timedelta(hours=hours_ago) if hours_ago else None
    record_listing.put(found, record.reading(found.reads[read], values, "fitting", initials="AB", time=time))


def struck(found: Opened, number: int) -> None:
    record_listing.put(found, record.strike(found.job, number, initials="AB", note="wrong gauge"))


def more(path: Path, piece: bytes) -> None:
    with path.open("ab") as file:
        file.write(piece)


def begun_anew(path: Path) -> None:
    """Another record of the same machine in its place, of entries with the same numbers."""
    opening = path.read_bytes().split(b"\n")[0]
    path.write_bytes(opening + b"\n")


ACTS: dict[str, Callable[[Opened], None]] = {
    "nothing": lambda found: None,
    "a reading": lambda found: put(found, "high_speed_end_play", PLAY),
    "a size": lambda found: put(found, "gear.bore", ["90.02 mm"] * 4),
    "typed in afterwards": lambda found: put(found, "low_speed_end_play", PLAY, hours_ago=3.0),
    "a strike": lambda found: struck(found, 2),
    "a torn line": lambda found: more(found.record.path, b'{"time":"2026'),
    "and one behind it": lambda found: put(found, "high_speed_end_play", PLAY),
    "an entry of another program": lambda found: more(found.record.path, b'{"weather":"fair"}\n'),
    "begun anew": lambda found: begun_anew(found.record.path),
    "another size": lambda found: put(found, "gear.bore", ["90.03 mm"] * 4),
    "gone": lambda found: found.record.path.unlink(),
}


LOST = ("begun anew", "another size", "gone")


def test_whatever_was_done_to_the_file_it_says_the_same_read_again_as_read_for_the_first_time(
    millrace: Explainer, tmp_path: Path
) -> None:
    path, now = tmp_path / "job.jsonl", millrace.start_settings()
    put(opened(millrace, path), "gear.bore", ["90.01 mm"] * 4)
    put(opened(millrace, path), "high_speed_end_play", PLAY, hours_ago=1.0)
    again = opened(millrace, path)
    for act, done in ACTS.items():
        done(again)
        again, first = opened(millrace, path, again), opened(millrace, path)
        assert (again.job, again.content) == (first.job, first.content), act
        lost = [again.lost] if act in LOST else []  # only who read it before can tell
        assert all(lost) and (lost or not again.lost), act
        told = record_listing.report(first, now)
        assert record_listing.report(again, now) == told | {"remarks": [*lost, *told["remarks"]]}, act
        assert again.present.machine == first.present.machine, act


def test_a_machine_is_measured_once_however_many_readings_that_are_no_sizes_follow(millrace: Explainer, tmp_path: Path) -> None:
    path, now = tmp_path / "job.jsonl", millrace.start_settings()
    put(opened(millrace, path), "gear.bore", ["90.01 mm"] * 4)
    found = opened(millrace, path)
    put(found, "high_speed_end_play", PLAY)
    found = opened(millrace, path, found)
    assert found.present and found.unfit == () and found.judge(found.job.taken[-1], now)
    made = dict(found.made)
    for count in range(3):
        put(found, "high_speed_end_play", PLAY)
        found = opened(millrace, path, found)
        assert found.present and found.unfit == () and len(found.job.taken) == count + 3
        assert found.judge(found.job.taken[-1], now)
        assert {key: one is made[key] for key, one in found.made.items()} == dict.fromkeys(made, True)


def test_a_size_that_does_not_fit_is_told_in_the_language_spoken_when_it_is_asked(millrace: Explainer, tmp_path: Path) -> None:
    path = tmp_path / "job.jsonl"
    put(opened(millrace, path), "gear.bore", ["150 mm"] * 4)
    found = opened(millrace, path)
    english = found.unfit
    more(path, b'{"weather":"fair"}\n')
    with speaking("es"):
        spanish, first = opened(millrace, path, found).unfit, opened(millrace, path).unfit
    assert len(english) == 1 and spanish == first and spanish != english
