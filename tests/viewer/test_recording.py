"""What the page does with the record's file when it can't be used: the same is said of a reading and of a strike, and nothing typed is lost."""

from __future__ import annotations

import asyncio
import fcntl
import json
import resource
import signal
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import Any

import pytest
from trame.app import get_server

from scenes import record, record_file, record_listing
from scenes.explain import Explainer
from scenes.record_listing import opened
from viewer.record_form import STRIKE
from viewer.recording import Recording

ENTRY = {"step": "hs_end_play", "name": "high_speed_end_play", "typed": "0.05; 0.05; 0.06"}


@contextmanager
def disk_full(path: Path) -> Iterator[None]:
    """The disk takes ten bytes more."""
    limits, old = resource.getrlimit(resource.RLIMIT_FSIZE), signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (path.stat().st_size + 10, limits[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limits)
        signal.signal(signal.SIGXFSZ, old)


@contextmanager
def held(path: Path) -> Iterator[None]:
    """Somebody else holds the file."""
    with path.open("rb") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        yield


@contextmanager
def foreign(path: Path) -> Iterator[None]:
    """The record of another machine was put in its place."""
    before = path.read_bytes()
    path.write_text(json.dumps(record.opening(record.Whose("Another drive", "9", "13:47"))) + "\n", encoding="utf-8")
    yield
    path.write_bytes(before)


@contextmanager
def folder(path: Path) -> Iterator[None]:
    """A folder has its name."""
    before = path.read_bytes()
    path.unlink()
    path.mkdir()
    yield
    path.rmdir()
    path.write_bytes(before)


@pytest.fixture
def recording(millrace: Explainer, tmp_path: Path) -> Recording:
    path = tmp_path / "job.jsonl"
    found = opened(millrace, path)
    record_listing.put(found, record.reading(found.reads["gear.bore"], ["90.02 mm"] * 4, "fitting", initials="AB"))
    now = millrace.with_(millrace.start_settings(), step=ENTRY["step"])
    made = Recording(get_server(f"{tmp_path}", client_type="vue3"), lambda: now, opened(millrace, path), lambda explainer: None)
    made.shown(ENTRY["step"])
    made.state.update({"record_0": ENTRY["typed"], "record_note": "by lamp", "record_old": "2", "record_why": "wrong gauge"})
    return made


async def add(recording: Recording) -> None:
    step, name, typed = ENTRY.values()
    await recording.add(step, name, typed, "AB", "left", "dial no. 4", "2099-12-31", "21; 22 degC", "", "by lamp")


async def strike(recording: Recording) -> None:
    await recording.strike("2", "AB", "wrong gauge")


def stands(recording: Recording) -> list[Any]:
    return [recording.state[name] for name in ("record_0", "record_note", "record_old", "record_why")]


@pytest.mark.parametrize("act", [add, strike])
@pytest.mark.parametrize(
    ("fault", "said"),
    [(disk_full, "nothing was added"), (held, "somebody else holds it"), (foreign, "Another drive"), (folder, "accepted: a file")],
)
def test_a_refused_file_is_told_alike_for_a_reading_and_a_strike_and_what_was_typed_stays(
    recording: Recording,
    monkeypatch: pytest.MonkeyPatch,
    act: Callable[[Recording], Any],
    fault: Callable[[Path], AbstractContextManager[None]],
    said: str,
) -> None:
    assert recording.found is not None
    path, typed = recording.found.record.path, stands(recording)
    before = path.read_bytes()
    monkeypatch.setattr(record_file, "PATIENCE", 0.1)
    with fault(path):
        asyncio.run(act(recording))
    assert said in recording.state.record_fault and "job.jsonl" in recording.state.record_fault
    assert recording.state.record_at == (STRIKE if act is strike else 0)
    assert recording.state.record_done == "" and not any(recording.state.record_tried)
    assert recording.state.record_busy == [] and stands(recording) == typed and path.read_bytes() == before
    asyncio.run(act(recording))
    assert recording.state.record_fault == "" and len(path.read_bytes().splitlines()) == 3
    assert stands(recording) == (["", "", *typed[2:]] if act is add else [*typed[:2], "", ""])


@pytest.mark.parametrize("act", [add, strike])
def test_an_entry_that_stands_but_can_not_be_read_again_is_said_to_stand(
    recording: Recording, monkeypatch: pytest.MonkeyPatch, act: Callable[[Recording], Any]
) -> None:
    """Somebody takes the file between writing and reading: what is on the disk must not be typed again, and is seen later."""
    assert recording.found is not None
    path, put = recording.found.record.path, record_listing.put
    monkeypatch.setattr(record_file, "PATIENCE", 0.1)
    with path.open("rb") as other:

        def then_taken(*given: Any) -> int:
            number = put(*given)
            fcntl.flock(other, fcntl.LOCK_EX)
            return number

        monkeypatch.setattr(record_listing, "put", then_taken)
        asyncio.run(act(recording))
    assert len(path.read_bytes().splitlines()) == 3
    told = recording.state.record_fault or recording.state.record_done
    assert "3" in told and ("do not enter it again" in told or "strikes entry 2" in told)

    async def later() -> None:
        recording.look()
        for _ in range(200):
            await asyncio.sleep(0.01)
            if recording.found is not None and len(recording.found.job.taken) + len(recording.found.job.strikes) == 2:
                return
        pytest.fail("the entry is not seen")

    asyncio.run(later())


def another_job(path: Path) -> None:
    """The record of another job on the same machine has its name."""
    lines = path.read_text(encoding="utf-8").splitlines()
    entry = json.loads(lines[1]) | {"values": ["90.01 mm"] * 4}
    path.write_text("\n".join([lines[0], json.dumps(entry), ""]), encoding="utf-8")


def older_copy(path: Path) -> None:
    path.write_text(path.read_text(encoding="utf-8").splitlines()[0] + "\n", encoding="utf-8")


@pytest.mark.parametrize("seen", [False, True])
@pytest.mark.parametrize(("loss", "gone"), [(Path.unlink, "2"), (older_copy, "2"), (another_job, "2")])
def test_a_record_that_lost_entries_is_told_of_and_added_to_only_when_asked_twice(
    recording: Recording, loss: Callable[[Path], None], gone: str, seen: bool
) -> None:
    assert recording.found is not None
    path, typed = recording.found.record.path, stands(recording)
    loss(path)
    left = path.read_bytes() if path.exists() else b""
    if seen:
        asyncio.run(recording._look())
        assert recording.state.record_gone.startswith(f"Entries that were here are gone ({gone})")
    asyncio.run(add(recording))
    assert "nothing was added" in recording.state.record_fault and f"({gone})" in recording.state.record_fault
    assert stands(recording) == typed and (path.read_bytes() if path.exists() else b"") == left
    asyncio.run(add(recording))
    assert recording.state.record_fault == "" and f"({gone})" in recording.state.record_gone
    assert path.read_bytes().startswith(left) and len(path.read_bytes().splitlines()) == max(len(left.splitlines()), 1) + 1
    recording.state.record_0 = ENTRY["typed"]
    asyncio.run(add(recording))
    assert recording.state.record_fault == "" and len(path.read_bytes().splitlines()) == max(len(left.splitlines()), 1) + 2
