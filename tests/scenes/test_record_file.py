"""Nothing written into a job's record is ever lost. What must hold is RFC 8259 for each line, the JSON Lines convention (one value a line,
lines end with a line feed) and POSIX.1-2017 for locks, appended writes and fsync."""

from __future__ import annotations

import fcntl
import json
import os
import resource
import signal
import subprocess
import sys
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from scenes import record_file
from scenes.record_file import LONGEST, Record, RecordError

WRITER = """
import sys
from pathlib import Path
from scenes.record_file import Record
record = Record(Path(sys.argv[1]))
for k in range(int(sys.argv[3])):
    print(record.add({"writer": int(sys.argv[2]), "k": k, "text": "ñ" * 40}), flush=True)
"""


def lines(path: Path) -> list[bytes]:
    return path.read_bytes().split(b"\n")


def write(path: Path, writer: int, count: int) -> list[int]:
    ran = subprocess.run(
        [sys.executable, "-c", WRITER, str(path), str(writer), str(count)], capture_output=True, text=True, check=True
    )
    return [int(number) for number in ran.stdout.split()]


def test_an_entry_is_found_again_as_it_was_given(tmp_path: Path) -> None:
    record = Record(tmp_path / "job.jsonl")
    given = {"read": "backlash", "values": ["0.31 mm", "0,33 mm"], "initials": "Ñ", "note": "two\nlines \u2028 and ‮"}
    assert record.add(given) == 1 and record.add({}) == 2
    found = record.read()
    assert [(entry.number, dict(entry.values)) for entry in found.entries] == [(1, given), (2, {})]
    assert found.torn == ()
    assert [json.loads(line) for line in lines(record.path)[:-1]] == [given, {}]  # as another reader reads them


def test_what_was_written_stands_byte_for_byte_before_what_is_added(tmp_path: Path) -> None:
    record = Record(tmp_path / "job.jsonl")
    before = b""
    for k in range(20):
        record.add({"k": k})
        after = record.path.read_bytes()
        assert after.startswith(before) and len(after) > len(before)
        before = after


def test_four_programs_that_add_at_once_lose_nothing_and_each_is_told_its_own_line(tmp_path: Path) -> None:
    path = tmp_path / "job.jsonl"
    with ThreadPoolExecutor(4) as crowd:
        told = list(crowd.map(lambda writer: write(path, writer, 50), range(4)))
    found = Record(path).read()
    assert found.torn == () and len(found.entries) == 200
    for writer, numbers in enumerate(told):
        mine = [entry.number for entry in found.entries if entry.values["writer"] == writer]
        assert mine == numbers and [found.entries[number - 1].values["k"] for number in numbers] == list(range(50))


@pytest.mark.long
def test_twenty_programs_add_two_hundred_entries_each_at_once(tmp_path: Path) -> None:
    path = tmp_path / "job.jsonl"
    with ThreadPoolExecutor(20) as crowd:
        list(crowd.map(lambda writer: write(path, writer, 200), range(20)))
    found = Record(path).read()
    assert found.torn == () and len({(entry.values["writer"], entry.values["k"]) for entry in found.entries}) == 4000


@pytest.mark.parametrize("keep", [1, 9, 20])
def test_a_line_torn_by_a_crash_stays_where_it_is_and_spoils_no_other(tmp_path: Path, keep: int) -> None:
    record = Record(tmp_path / "job.jsonl")
    record.add({"k": 1})
    whole = record.path.read_bytes()
    record.add({"k": 2, "text": "lost in the crash"})
    record.path.write_bytes(record.path.read_bytes()[: len(whole) + keep])
    assert [dict(entry.values) for entry in record.read().entries] == [{"k": 1}] and record.read().torn == (2,)
    assert record.add({"k": 3}) == 3
    found = record.read()
    assert [(entry.number, entry.values["k"]) for entry in found.entries] == [(1, 1), (3, 3)] and found.torn == (2,)


@pytest.mark.parametrize("left", [b"{", b'{"time":"2024', b'{"note":"\xc3', bytes(512), bytes(512) + b'{"k"', b"{" * 5000])
def test_a_crash_in_the_first_entry_leaves_a_record_with_a_torn_line(tmp_path: Path, left: bytes) -> None:
    record = Record(tmp_path / "job.jsonl")
    record.path.write_bytes(left)
    assert record.read().entries == () and record.read().torn == (1,)
    assert record.add({"k": 1}) == 2 and record.path.read_bytes() == left + b'\n{"k":1}\n'
    found = record.read()
    assert [(entry.number, dict(entry.values)) for entry in found.entries] == [(2, {"k": 1})] and found.torn == (1,)


def test_crashes_in_the_first_two_entries_leave_a_record_with_two_torn_lines(tmp_path: Path) -> None:
    record = Record(tmp_path / "job.jsonl")
    record.path.write_bytes(b'{"time":"2024\n{"ti')
    assert record.read().torn == (1, 2) and record.add({"k": 1}) == 3


def test_a_line_that_only_lacks_its_end_is_whole(tmp_path: Path) -> None:
    record = Record(tmp_path / "job.jsonl")
    record.add({"k": 1})
    record.path.write_bytes(record.path.read_bytes()[:-1])
    assert record.add({"k": 2}) == 2
    assert [entry.values["k"] for entry in record.read().entries] == [1, 2]


def test_zeros_left_by_a_power_cut_are_a_torn_line(tmp_path: Path) -> None:
    record = Record(tmp_path / "job.jsonl")
    record.add({"k": 1})
    with record.path.open("ab") as file:
        file.write(bytes(512))
    assert record.read().torn == (2,)
    assert record.add({"k": 2}) == 3 and [entry.values["k"] for entry in record.read().entries] == [1, 2]


def test_a_full_disk_refuses_the_entry_and_leaves_the_record_as_it_was(tmp_path: Path) -> None:
    record = Record(tmp_path / "job.jsonl")
    record.add({"k": 1})
    before = record.path.read_bytes()
    limits, old = resource.getrlimit(resource.RLIMIT_FSIZE), signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (len(before) + 10, limits[1]))  # the disk takes ten bytes more
    try:
        with pytest.raises(RecordError, match="nothing was added"):
            record.add({"k": 2, "text": "more than ten bytes"})
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limits)
        signal.signal(signal.SIGXFSZ, old)
    assert record.path.read_bytes() == before
    assert record.add({"k": 3}) == 2


@pytest.mark.parametrize("content", [b"", bytes(64), b'{"ti'])
def test_a_record_that_holds_nothing_whole_yet_gets_its_opening_with_its_first_entry(tmp_path: Path, content: bytes) -> None:
    """A first entry that failed on a full disk leaves an empty file: the next one still says whose the record is."""
    record = Record(tmp_path / "job.jsonl")
    record.path.write_bytes(content)
    record.add({"k": 1}, opening={"machine": "x"})
    record.add({"k": 2}, opening={"machine": "x"})
    assert [dict(entry.values) for entry in record.read().entries] == [{"machine": "x"}, {"k": 1}, {"k": 2}]


def test_a_text_without_a_line_end_is_no_record(tmp_path: Path) -> None:
    path = tmp_path / "notes.txt"
    path.write_text("my own notes")
    with pytest.raises(RecordError, match="no entry in it"):
        Record(path).read()


def test_what_is_no_file_is_refused() -> None:
    with pytest.raises(RecordError, match="/dev/full: no file"):
        Record(Path("/dev/full")).add({"k": 1})


def test_a_program_killed_at_any_moment_keeps_every_entry_that_it_was_told_of(tmp_path: Path) -> None:
    path = tmp_path / "job.jsonl"
    with subprocess.Popen([sys.executable, "-c", WRITER, str(path), "0", "100000"], stdout=subprocess.PIPE, text=True) as running:
        assert running.stdout and running.stdout.readline()
        time.sleep(0.3)
        running.kill()
        told = [1, *(int(line) for line in running.stdout.read().split("\n")[:-1])]
    found = Record(path).read()
    assert len(told) > 5 and told == [entry.number for entry in found.entries][: len(told)]
    assert Record(path).add({"k": "after"}) > told[-1]


@pytest.mark.parametrize("already", [False, True])
def test_a_first_entry_and_the_files_name_are_on_the_disk_before_the_number_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, already: bool
) -> None:
    """`already`: another program made the file and stopped before it wrote."""
    path = tmp_path / "job.jsonl"
    if already:
        path.touch()
    acts: list[tuple[str, Path, bool]] = []
    write, sync = os.write, os.fsync

    def note(act: str, file: int) -> None:
        at = next(place for place in (tmp_path, path) if os.path.samestat(os.stat(place), os.fstat(file)))
        with path.open("rb") as other:
            try:
                fcntl.flock(other, fcntl.LOCK_SH | fcntl.LOCK_NB)
            except BlockingIOError:
                acts.append((act, at, True))
            else:
                acts.append((act, at, False))

    def wrote(file: int, piece: bytes) -> int:
        note("write", file)
        return write(file, piece)

    def put(file: int) -> None:
        note("sync", file)
        sync(file)

    monkeypatch.setattr(os, "write", wrote)
    monkeypatch.setattr(os, "fsync", put)
    Record(path).add({"k": 1})
    assert acts == [("sync", tmp_path, True), ("write", path, True), ("sync", path, True)]
    Record(path).add({"k": 2})
    assert acts[3:] == [("write", path, True), ("sync", path, True)]


def test_the_name_of_a_new_record_behind_a_link_is_put_on_the_disk_where_the_file_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    there, link = tmp_path / "share", tmp_path / "job.jsonl"
    there.mkdir()
    link.symlink_to(there / "job.jsonl")
    folders, sync = list[bool](), os.fsync

    def put(file: int) -> None:
        folders.append(os.path.samestat(os.stat(there), os.fstat(file)))
        sync(file)

    monkeypatch.setattr(os, "fsync", put)
    Record(link).add({"k": 1})
    assert folders == [True, False] and (there / "job.jsonl").read_bytes() == b'{"k":1}\n'


def test_what_a_program_without_locks_adds_in_the_middle_is_not_written_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    record, write, met = Record(tmp_path / "job.jsonl"), os.write, list[int]()
    record.add({"k": 1})

    def wrote(file: int, piece: bytes) -> int:
        if not met:
            met.append(file)
            with record.path.open("ab") as other:
                other.write(b'{"k":"of another hand"}\n')
        return write(file, piece)

    monkeypatch.setattr(os, "write", wrote)
    record.add({"k": 2})
    assert [entry.values["k"] for entry in record.read().entries] == [1, "of another hand", 2]


def test_a_record_that_is_full_is_left_as_it_is_and_one_that_is_too_large_is_not_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    record = Record(tmp_path / "job.jsonl")
    record.add({"k": 1})
    before = record.path.read_bytes()
    monkeypatch.setattr(record_file, "LARGEST", 2 * len(before))
    record.add({"k": 2})
    with pytest.raises(RecordError, match="full: accepted: at most"):
        record.add({"k": 3})
    assert [entry.values["k"] for entry in record.read().entries] == [1, 2]
    monkeypatch.setattr(record_file, "LARGEST", len(before))
    with pytest.raises(RecordError, match="larger than"):
        record.read()


@pytest.mark.parametrize("then", ["another", "removed"])
def test_an_entry_goes_into_the_file_that_has_the_name_when_its_turn_comes(tmp_path: Path, then: str) -> None:
    path, new = tmp_path / "job.jsonl", tmp_path / "copy"
    Record(path).add({"k": 1})
    new.write_bytes(path.read_bytes() + b'{"k":2}\n')
    with path.open("rb") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        told: list[int] = []
        adding = threading.Thread(target=lambda: told.append(Record(path).add({"k": 3})))
        adding.start()
        time.sleep(0.2)
        assert told == []
        if then == "another":
            new.rename(path)
        else:
            path.unlink()
    adding.join(timeout=5.0)
    assert [entry.values["k"] for entry in Record(path).read().entries] == ([1, 2, 3] if then == "another" else [3])
    assert told == [3 if then == "another" else 1]


def test_who_waits_too_long_for_somebody_else_is_told_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    record = Record(tmp_path / "job.jsonl")
    record.add({"k": 1})
    before = record.path.read_bytes()
    monkeypatch.setattr(record_file, "PATIENCE", 0.1)
    with record.path.open("rb") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        with pytest.raises(RecordError, match="somebody else holds it.*nothing was added"):
            record.add({"k": 2})
        with pytest.raises(RecordError, match="somebody else holds it.*nothing was read"):
            record.read()
    assert record.path.read_bytes() == before and record.add({"k": 2}) == 2


@pytest.mark.parametrize("failing", ["ftruncate", "fsync"])
def test_an_entry_that_can_not_be_taken_back_is_said_to_be_there_perhaps(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, failing: str
) -> None:
    record = Record(tmp_path / "job.jsonl")
    record.add({"k": 1})

    def broken(*_: int) -> None:
        raise OSError(5, "Input/output error")

    with monkeypatch.context() as disk:
        disk.setattr(os, "fsync", broken)
        if failing == "ftruncate":
            disk.setattr(os, "ftruncate", broken)
        with pytest.raises(RecordError, match="may have been added: read the record first") as told:
            record.add({"k": 2})
    assert "nothing was added" not in str(told.value)
    assert [entry.values["k"] for entry in record.read().entries] == ([1, 2] if failing == "ftruncate" else [1])


def test_an_entry_that_was_taken_back_is_off_the_disk_before_it_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    record = Record(tmp_path / "job.jsonl")
    record.add({"k": 1})
    before, sync, sizes = record.path.read_bytes(), os.fsync, list[int]()

    def first_broken(file: int) -> None:
        sizes.append(os.fstat(file).st_size)
        if len(sizes) == 1:
            raise OSError(5, "Input/output error")
        sync(file)

    with monkeypatch.context() as disk:
        disk.setattr(os, "fsync", first_broken)
        with pytest.raises(RecordError, match="nothing was added"):
            record.add({"k": 2})
    assert sizes == [2 * len(before), len(before)] and record.path.read_bytes() == before


@pytest.mark.parametrize("content", [b"[1, 2]\n", b"title = 3\n", b"title = 3\nrest", b'{\n"k": 1\n}\n', b"\n"])
def test_a_file_that_is_no_record_is_refused_in_a_line(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "job.jsonl").write_bytes(content)
    with pytest.raises(RecordError, match="no entry in it: accepted: a record"):
        Record(tmp_path / "job.jsonl").read()


def test_what_can_not_be_an_entry_is_refused_before_anything_is_written(tmp_path: Path) -> None:
    record = Record(tmp_path / "job.jsonl")
    with pytest.raises(RecordError, match=f"accepted: at most {LONGEST}"):
        record.add({"note": "x" * LONGEST})
    with pytest.raises(RecordError, match="accepted: text and finite numbers"):
        record.add({"value": float("nan")})
    with pytest.raises(RecordError, match=r"half a character \(U\+D83D\): accepted"):
        record.add({"note": ["cut off \ud83d"]})
    assert not record.path.exists()


@pytest.mark.parametrize("name", ["", "nowhere/job.jsonl", "x" * 300, "/".join(["x" * 200] * 30)])
def test_a_place_that_can_not_be_used_is_refused_in_a_line(tmp_path: Path, name: str) -> None:
    with pytest.raises(RecordError, match="can't be used.*nothing was added$"):
        Record(tmp_path / name).add({"k": 1})
    with pytest.raises(RecordError, match="no file: accepted|can't be used.*nothing was read$"):
        Record(tmp_path / name).read()


def test_a_pipe_is_refused_at_once(tmp_path: Path) -> None:
    path = tmp_path / "job.jsonl"
    os.mkfifo(path)
    asked = f"from pathlib import Path; from scenes.record_file import Record; Record(Path({str(path)!r}))"
    for call in (".read()", '.add({"k": 1})'):
        ran = subprocess.run([sys.executable, "-c", asked + call], capture_output=True, text=True, timeout=20)
        assert ran.returncode == 1 and "RecordError" in ran.stderr and "no file: accepted" in ran.stderr
