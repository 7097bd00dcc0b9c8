"""The file of one job's record: one entry a line (JSON Lines), only ever added to.

An entry is on the disk before `Record.add` returns; nothing written is changed again. Whoever adds holds the file's lock, so that two
at once wait for each other, and adds to the file that has the name at that moment. A line that was torn off by a crash or a power cut stays as it is: the next entry begins on a line of its own,
and reading tells of the torn one. An entry is known by the number of its line, the first being 1.
Contents: `Record`, `Entry`, `Content`, `RecordError`.
"""

from __future__ import annotations

import contextlib
import fcntl
import json
import os
import random
import stat
import time
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

LONGEST = 20_000
"""Most bytes of one entry."""
LARGEST = 64 * 1024 * 1024
"""Most bytes of a record."""
PATIENCE = 10.0
"""Longest wait for somebody else who holds the record [s]."""
TRIES = 20
"""How often a file that was put in the record's place is gone after."""
NOT_ADDED, NOT_READ = "nothing was added", "nothing was read"


class RecordError(ValueError):
    """The record can't be read or added to: a finished line."""


@dataclass(frozen=True)
class Entry:
    """One line that is whole: its number and what it holds."""

    number: int
    values: Mapping[str, Any]


@dataclass(frozen=True)
class Content:
    """All entries of a record as they were added, the numbers of lines that are not whole; the file itself."""

    entries: tuple[Entry, ...]
    torn: tuple[int, ...]
    raw: bytes = field(default=b"", repr=False)

    def goes_on(self, before: Content) -> bool:
        """Whether it is what was read before, with more entries behind it or none."""
        return before.raw.endswith(b"\n") and self.raw.startswith(before.raw)

    def lacks(self, entries: Iterable[Entry]) -> tuple[Entry, ...]:
        """Those entries that are not in it: somebody put another file in its place."""
        here = {entry.number: entry.values for entry in self.entries}
        return tuple(entry for entry in entries if here.get(entry.number) != entry.values)


class Record:
    """The record of one job."""

    def __init__(self, path: Path) -> None:
        self.path = path

    @property
    def there(self) -> bool:
        """Whether there is a file with that name."""
        with self._refusing(NOT_READ):
            return self.path.exists()

    def add(self, values: Mapping[str, Any], *, opening: Mapping[str, Any] | None = None) -> int:
        """Put one entry on the disk; behind `opening`, where the record holds nothing whole yet. Result: its number. Raises RecordError;
        the record is as it was unless the error says otherwise."""
        line = self._line(values)
        first = b"" if opening is None else self._line(opening)
        with self._refusing(NOT_ADDED), self._held(os.O_RDWR | os.O_APPEND | os.O_CREAT, fcntl.LOCK_EX, NOT_ADDED) as file:
            before = _all(file)
            if not any(_values(one) for one in before.split(b"\n")):
                line = first + line
            if len(before) + len(line) > LARGEST:
                raise RecordError(f"{self.path}: full: accepted: at most {LARGEST // 2**20} MB; begin another record")
            if not before:
                _sync_folder(self.path.resolve().parent)
            piece = line if not before or before.endswith(b"\n") else b"\n" + line
            try:
                _write(file, piece)
                os.fsync(file)
            except OSError as error:
                self._take_back(file, len(before), error)
                raise
            return before.count(b"\n") + piece.count(b"\n")

    def read(self, before: Content | None = None) -> Content:
        """Everything in the record; what is known from `before` is not read again. Raises RecordError when it is no record or can't be
        read."""
        with self._refusing(NOT_READ), self._held(os.O_RDONLY, fcntl.LOCK_SH, NOT_READ) as file:
            content = _all(file)
        if len(content) > LARGEST:
            raise RecordError(f"{self.path}: larger than {LARGEST // 2**20} MB: accepted: a record of one job")
        raw, known = Content((), (), content), before if before is not None else Content((), ())
        known = known if raw.goes_on(known) else Content((), ())
        lines = content[len(known.raw) :].split(b"\n")
        unfinished, first = lines.pop(), known.raw.count(b"\n") + 1
        found = [
            (number, line, _values(line)) for number, line in enumerate([*lines, unfinished] if unfinished else lines, start=first)
        ]
        entries = (*known.entries, *(Entry(number, values) for number, _, values in found if values is not None))
        if not entries and not all(_torn_off(line) for _, line, _ in found):
            raise RecordError(f"{self.path}: no entry in it: accepted: a record made by this program")
        return Content(entries, (*known.torn, *(number for number, _, values in found if values is None)), content)

    def _line(self, values: Mapping[str, Any]) -> bytes:
        """The entry as it is written. Raises RecordError when it can't be."""
        try:
            line = (json.dumps(dict(values), ensure_ascii=False, allow_nan=False, separators=(",", ":")) + "\n").encode()
        except UnicodeEncodeError as error:
            sign = f"U+{ord(error.object[error.start]):04X}"
            raise RecordError(f"{self.path}: an entry with half a character ({sign}): accepted: text of whole characters") from None
        except ValueError as error:
            raise RecordError(f"{self.path}: an entry that can't be written: {error}: accepted: text and finite numbers") from None
        if len(line) > LONGEST:
            raise RecordError(f"{self.path}: an entry of {len(line)} bytes: accepted: at most {LONGEST}")
        return line

    def _take_back(self, file: int, size: int, cause: OSError) -> None:
        """Make the record as long as it was, on the disk too."""
        try:
            os.ftruncate(file, size)
            os.fsync(file)
        except OSError:
            reason = cause.strerror or cause
            raise RecordError(f"{self.path}: {reason}: the entry may have been added: read the record first") from None

    @contextlib.contextmanager
    def _held(self, way: int, lock: int, outcome: str) -> Iterator[int]:
        """The open file that has the record's name, locked."""
        until = time.monotonic() + PATIENCE
        for _ in range(TRIES):
            file = os.open(self.path, way | os.O_CLOEXEC | os.O_NONBLOCK, 0o644)
            try:
                if not stat.S_ISREG(os.fstat(file).st_mode):
                    raise RecordError(f"{self.path}: no file: accepted: a file to keep the record in")
                while not _locked(file, lock):
                    if time.monotonic() > until:
                        raise RecordError(f"{self.path}: somebody else holds it: try again later; {outcome}")
                    time.sleep(random.uniform(0.001, 0.004))  # not in step with others who wait
                if _has_name(file, self.path):
                    yield file
                    return
            finally:
                with contextlib.suppress(OSError):  # what was to be on the disk is there
                    os.close(file)
        raise RecordError(f"{self.path}: another program keeps putting files in its place; {outcome}")

    @contextlib.contextmanager
    def _refusing(self, outcome: str) -> Iterator[None]:
        try:
            yield
        except OSError as error:
            raise RecordError(f"{self.path}: can't be used: {error.strerror or error}; {outcome}") from None


def _locked(file: int, lock: int) -> bool:
    """Whether the lock was got, without waiting."""
    try:
        fcntl.flock(file, lock | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True


def _has_name(file: int, path: Path) -> bool:
    """Whether a path still leads to an open file."""
    try:
        named = os.stat(path)
    except FileNotFoundError:
        return False
    return os.path.samestat(named, os.fstat(file))


def _sync_folder(folder: Path) -> None:
    """Put a new file's name on the disk."""
    place = os.open(folder, os.O_RDONLY | os.O_CLOEXEC)
    try:
        os.fsync(place)
    finally:
        os.close(place)


def _all(file: int) -> bytes:
    """Everything in a file, and not much more than a record may hold."""
    os.lseek(file, 0, os.SEEK_SET)
    with os.fdopen(file, "rb", closefd=False) as stream:
        return stream.read(LARGEST + 1)


def _write(file: int, piece: bytes) -> None:
    """All of it: the system may take a part at a time."""
    while piece:
        piece = piece[os.write(file, piece) :]


def _torn_off(line: bytes) -> bool:
    """Whether a line may be the beginning of an entry, or the zeros that a power cut leaves."""
    return line != b"" and line.strip(b"\0")[:1] in (b"", b"{")


def _values(line: bytes) -> dict[str, Any] | None:
    """What a line holds; None when it is not whole."""
    try:
        found = json.loads(line.decode())
    except (ValueError, RecursionError):
        return None
    return found if isinstance(found, dict) else None
