"""The file of one job's record: one entry a line (JSON Lines), only ever added to.

An entry is on the disk before `Record.add` returns; nothing written is changed again. Whoever adds holds the file's lock, so that two
at once wait for each other. A line that was torn off by a crash or a power cut stays as it is: the next entry begins on a line of its own,
and reading tells of the torn one. An entry is known by the number of its line, the first being 1.
Contents: `Record`, `Entry`, `Content`, `RecordError`.
"""

from __future__ import annotations

import contextlib
import fcntl
import json
import os
import stat
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

LONGEST = 20_000
"""Most bytes of one entry."""
LARGEST = 64 * 1024 * 1024
"""Most bytes of a record."""


class RecordError(ValueError):
    """The record can't be read or added to: a finished line."""


@dataclass(frozen=True)
class Entry:
    """One line that is whole: its number and what it holds."""

    number: int
    values: Mapping[str, Any]


@dataclass(frozen=True)
class Content:
    """All entries of a record as they were added, and the numbers of lines that are not whole."""

    entries: tuple[Entry, ...]
    torn: tuple[int, ...]


class Record:
    """The record of one job."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def add(self, values: Mapping[str, Any]) -> int:
        """Put one entry on the disk. Result: its number. Raises RecordError; the record is then as it was."""
        line = (json.dumps(dict(values), ensure_ascii=False, allow_nan=False, separators=(",", ":")) + "\n").encode()
        if len(line) > LONGEST:
            raise RecordError(f"{self.path}: an entry of {len(line)} bytes: accepted: at most {LONGEST}")
        with self._refusing(), self._held() as file:
            before = _all(file)
            if len(before) + len(line) > LARGEST:
                raise RecordError(f"{self.path}: full: accepted: at most {LARGEST // 2**20} MB; begin another record")
            piece = line if not before or before.endswith(b"\n") else b"\n" + line
            try:
                _write(file, piece)
                os.fsync(file)
            except OSError:
                with contextlib.suppress(OSError):  # a torn line is put up with
                    os.ftruncate(file, len(before))
                raise
            return before.count(b"\n") + piece.count(b"\n")

    def read(self) -> Content:
        """Everything in the record. Raises RecordError when it is no record or can't be read."""
        with self._refusing():
            with self.path.open("rb") as file:
                fcntl.flock(file, fcntl.LOCK_SH)
                content = file.read(LARGEST + 1)
        if len(content) > LARGEST:
            raise RecordError(f"{self.path}: larger than {LARGEST // 2**20} MB: accepted: a record of one job")
        lines = content.split(b"\n")
        if not lines[-1]:
            lines.pop()
        entries, torn = [], []
        for number, line in enumerate(lines, start=1):
            values = _values(line)
            if values is None:
                torn.append(number)
            else:
                entries.append(Entry(number, values))
        if torn and not entries:
            raise RecordError(f"{self.path}: no entry in it: accepted: a record made by this program")
        return Content(tuple(entries), tuple(torn))

    @contextlib.contextmanager
    def _held(self) -> Iterator[int]:
        """The open file, locked against all others; its folder too is on the disk when it is new."""
        fresh = not self.path.exists()
        file = os.open(self.path, os.O_RDWR | os.O_APPEND | os.O_CREAT | os.O_CLOEXEC, 0o644)
        try:
            if not stat.S_ISREG(os.fstat(file).st_mode):
                raise RecordError(f"{self.path}: no file: accepted: a file to keep the record in")
            fcntl.flock(file, fcntl.LOCK_EX)
            if fresh:
                place = os.open(self.path.parent, os.O_RDONLY)
                try:
                    os.fsync(place)
                finally:
                    os.close(place)
            yield file
        finally:
            os.close(file)

    @contextlib.contextmanager
    def _refusing(self) -> Iterator[None]:
        try:
            yield
        except OSError as error:
            raise RecordError(f"{self.path}: can't be used: {error.strerror or error}; nothing was added") from None


def _all(file: int) -> bytes:
    os.lseek(file, 0, os.SEEK_SET)
    with os.fdopen(file, "rb", closefd=False) as stream:
        return stream.read()


def _write(file: int, piece: bytes) -> None:
    """All of it: the system may take a part at a time."""
    while piece:
        piece = piece[os.write(file, piece) :]


def _values(line: bytes) -> dict[str, Any] | None:
    """What a line holds; None when it is not whole."""
    try:
        found = json.loads(line.decode())
    except (ValueError, RecursionError):
        return None
    return found if isinstance(found, dict) else None
