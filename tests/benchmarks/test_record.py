"""How long it takes to put a reading on the disk, from the form to "saved" as well, and to open a long record. Run with -m benchmark -s.

The record is mixed: every kind of reading that the machine knows, in millimetres and inches, as found, fitted and left, every tenth entry a
strike. What the disk itself takes for one entry (fsync alone) is measured beside it, in the same run and folder.
"""

from __future__ import annotations

import asyncio
import itertools
import json
import os
import random
import statistics
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from trame.app import get_server

from geometry.fields import Fitted
from geometry.machine import Gasket
from scenes import record, record_listing, record_whose
from scenes.examples import open_machine
from scenes.explain import Explainer
from scenes.reads import Read, field_at
from scenes.record_file import Record
from tests.benchmarks.speed import seconds, told
from tests.scenes.test_record_file import write
from viewer.recording import Recording

pytestmark = pytest.mark.benchmark
ENTRIES, ORDINARY, TRIES = 5000, 200, 25
WRITERS, EACH = 20, 200
STRIKE_EVERY = 10
INCH = 25.4
TYPED = {
    "torque": "60 N m", "count": "3", "agreed": "yes", "words": "as drawn", "marks": "drive centre", "volume": "6 L", "time": "90 min",
    "run": "20 min 48 degC", "feel": "even", "temperature": "90 degC",
}  # fmt: skip


def values(explainer: Explainer, read: Read, unit: str) -> list[str]:
    """A reading as often as it is wanted, a size as the machine file has it."""
    if read.kind != "length":
        return [TYPED[read.kind]] * read.wanted
    size = 0.2
    if read.dimension:
        field: Any = field_at(explainer.machine, read.name)
        size = field.diameter if isinstance(field, Fitted) else field.thickness if isinstance(field, Gasket) else field.nominal
    return [f"{size!r} mm" if unit == "mm" else f"{size / INCH!r} in"] * read.wanted


def mixed(explainer: Explainer, reads: dict[str, Read]) -> Iterator[dict[str, Any]]:
    """Entries without end: all readings one after the other, then again in another state and unit."""
    chosen = itertools.cycle(itertools.product(("mm", "in"), record.STATES, reads.values()))
    for number in itertools.count(2):  # the first says whose the record is
        if number % STRIKE_EVERY == 0:
            yield {"time": record.stamp(None), "strikes": number - 2, "initials": "AB", "note": "read again"}
            continue
        unit, state, read = next(chosen)
        step = read.steps[0] if read.steps else ""
        yield record.reading(read, values(explainer, read, unit), state, step=step, initials="AB", instrument="micrometer 3")


def filled(explainer: Explainer, path: Path, count: int) -> list[float]:
    """Fill a record, and say how long each entry took [s]."""
    entries = itertools.islice(mixed(explainer, record_listing.opened(explainer, path).reads), count)
    first = seconds(lambda: record_listing.put(record_listing.opened(explainer, path), next(entries)))
    found = record_listing.opened(explainer, path)  # it says whose it is: not read again for each entry
    return [first, *(seconds(lambda entry=entry: record_listing.put(found, entry)) for entry in entries)]  # type: ignore[misc]


def fsyncs(path: Path, line: bytes) -> list[float]:
    """What the disk takes for one entry, nothing else done [s]."""
    with path.open("ab", buffering=0) as file:

        def act() -> None:
            file.write(line)
            os.fsync(file)

        return [seconds(act) for _ in range(200)]


def form_to_saved(explainer: Explainer, path: Path, name: str, tries: int = TRIES) -> tuple[list[float], list[float]]:
    """From the text in the box to the reading's verdict with "saved", and the verdict as it is typed [s]."""
    now = explainer.start_settings()
    read = record_listing.opened(explainer, path).reads[name]
    now = explainer.with_(now, step=read.steps[0])
    server = get_server(f"record benchmark {path.name} {name}", client_type="vue3")
    page = Recording(server, lambda: now, record_listing.opened(explainer, path), lambda found: None)
    page.shown(now.step)
    typed = "; ".join(values(explainer, read, "mm"))
    judged, saved, worked = [], [], time.process_time()
    for _ in range(tries):
        judged.append(seconds(lambda: page._judge(page.names.index(name), name, typed, "fitting", ["micrometer 3", "", "20"])))
        assert server.state.record_tried[page.names.index(name)]
        before = path.stat().st_size
        entered = (now.step, name, typed, "AB", "fitting", "micrometer 3", "", "20", "", "")
        saved.append(seconds(lambda entered=entered: asyncio.run(page.add(*entered))))  # type: ignore[misc]
        said = server.state.record_tried[page.names.index(name)]
        assert not server.state.record_fault and said["saved"].startswith("Saved, entry ") and path.stat().st_size > before
    print(f"{f'{name}: of the processor, a try':44} {(time.process_time() - worked) / tries * 1000:7.0f} ms")
    return judged, saved


def of_disk(what: str, taken: float, disk: float) -> None:
    print(f"{what:44} {taken / disk:7.1f} times an fsync of {disk * 1000:.1f} ms")


def test_a_reading_is_on_the_disk_and_a_long_record_is_open_soon(tmp_path: Path) -> None:
    explainer, path = Explainer(open_machine("millrace")[0]), tmp_path / "job.jsonl"
    took = filled(explainer, path, ENTRIES)
    disk = statistics.median(fsyncs(tmp_path / "disk", b"x" * (path.stat().st_size // ENTRIES)))
    of_disk("add a reading, the middle of 5000", statistics.median(took), disk)
    of_disk("add a reading, the slowest of 5000", max(took), disk)
    found: list[Any] = []

    def timed(act: Callable[[], Any]) -> float:
        return seconds(lambda: found.append(act()))

    opening = timed(lambda: record_listing.opened(explainer, path))
    again = found[0]
    entry = next(mixed(explainer, again.reads))
    in_machine = seconds(lambda: again.present)
    and_added = seconds(lambda: record_listing.put(record_listing.opened(explainer, path), entry))
    kinds = {again.reads[one.read].kind for one in again.job.taken}
    assert len(again.job.taken) + len(again.job.strikes) == ENTRIES and not again.job.strange and len(again.job.strikes) > 400
    assert kinds == {"length", *TYPED} and {one.state for one in again.job.taken} == {*record.STATES}
    _, saved = form_to_saved(explainer, path, "backlash", tries=5)
    print(f"{'its readings put into the machine':44} {in_machine * 1000:7.0f} ms, no limit")
    print(f"{'form to saved with 5000 entries':44} {statistics.median(saved) * 1000:7.0f} ms, no limit")
    assert all(
        [
            told("add a reading, on the disk (the slowest of 5000)", max(took), 0.1),
            told("open a record of 5000 entries", opening, 0.5),
            told("open it and add", and_added, 0.6),
        ]
    )


@pytest.mark.parametrize("way", ["typed in, newest first", "typed in, in no order", "by a clock that goes back"])
def test_a_long_record_is_open_soon_in_whatever_order_it_was_read(way: str, tmp_path: Path) -> None:
    explainer, path = Explainer(open_machine("millrace")[0]), tmp_path / "job.jsonl"
    reads = record_listing.opened(explainer, path).reads
    start, order = datetime(2020, 1, 1).astimezone(), list(range(ENTRIES, 0, -1))
    if way == "typed in, in no order":
        random.Random(5).shuffle(order)
    over = {} if way == "by a clock that goes back" else {"entered": record.stamp(None)}
    dated = ({"time": record.stamp(start + timedelta(minutes=minute))} | over for minute in order)
    first = json.dumps(record.opening(record_whose.of(explainer.machine)))
    entries = (json.dumps(entry | at) for entry, at in zip(mixed(explainer, reads), dated, strict=False))
    path.write_text("\n".join([first, *entries, ""]), encoding="utf-8")
    found: list[Any] = []
    took = seconds(lambda: found.append(record_listing.opened(explainer, path)))
    taken = found[0].job.taken
    assert len(taken) > ENTRIES * 0.8 and not found[0].job.strange
    assert not over or [one.at for one in taken] == sorted(one.at for one in taken)
    assert told(f"open a record of {ENTRIES} entries, {way}", took, 0.5)


@pytest.mark.parametrize("name", ["backlash", "high_speed_end_play", "pattern"])
def test_a_reading_typed_on_the_page_is_judged_and_saved_soon(name: str, tmp_path: Path) -> None:
    """Of an ordinary job: text of the form, checked, on the disk, read again, judged, said to be saved."""
    explainer, path = Explainer(open_machine("millrace")[0]), tmp_path / "job.jsonl"
    filled(explainer, path, ORDINARY)
    judged, saved = form_to_saved(explainer, path, name)
    disk = statistics.median(fsyncs(tmp_path / "disk", b"x" * 200))
    of_disk(f"{name}: form to saved, middle", statistics.median(saved), disk)
    assert all(
        [
            told(f"{name}: verdict as typed, middle", statistics.median(judged), 0.1),
            told(f"{name}: form to saved, middle", statistics.median(saved), 0.1),
        ]
    )


def test_twenty_writers_at_once_are_all_there(tmp_path: Path) -> None:
    path = tmp_path / "job.jsonl"
    start = time.perf_counter()
    with ThreadPoolExecutor(WRITERS) as crowd:
        list(crowd.map(lambda writer: write(path, writer, EACH), range(WRITERS)))
    taken = time.perf_counter() - start
    found = Record(path).read()
    print(f"{WRITERS} writers x {EACH} entries: {taken:.1f} s, {taken / WRITERS / EACH * 1000:.1f} ms an entry, none torn")
    assert found.torn == () and len({(entry.values["writer"], entry.values["k"]) for entry in found.entries}) == WRITERS * EACH
