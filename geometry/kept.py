"""Small rows of numbers found once and kept in one file between runs, each under the digest of all that it depends on.

The file lies in the folder that carries the program's own digest (geometry.store), is written beside its place and moved in, holds a
bounded number of rows (the oldest go first), and counts as absent when it is damaged. Two runs that write at once lose rows, never a
whole file.
Contents: `Kept`, `opened`, `forget`, `digest`.
"""

from __future__ import annotations

from hashlib import blake2b
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from geometry import store

Row = NDArray[np.float64]
KEY = 16
"""Length of a digest [byte]."""
MARK = b"rows 1\n"
"""First bytes of the file."""
MOST = 60_000
"""Rows kept in the file at most."""


def digest(*pieces: bytes) -> bytes:
    """One key for several pieces in their order."""
    made = blake2b(digest_size=KEY)
    for piece in pieces:
        made.update(len(piece).to_bytes(4, "little"))
        made.update(piece)
    return made.digest()


class Kept:
    """The rows of one file, read when first asked for."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._fresh = False
        self._rows: dict[bytes, Row] = _read(path)

    def get(self, key: bytes) -> Row | None:
        """The row of a key, None when it is not known."""
        return self._rows.get(key)

    def put(self, key: bytes, row: Row) -> None:
        """Keep a row; it reaches the disk with `save`."""
        while len(self._rows) >= MOST:
            del self._rows[next(iter(self._rows))]
        self._rows[key] = row
        self._fresh = True

    def save(self) -> bool:
        """Write what is new, together with what another run wrote meanwhile. Result: False when the disk refuses."""
        if not self._fresh:
            return True
        rows = {**_read(self.path), **self._rows}
        for key in list(rows)[: max(0, len(rows) - MOST)]:
            del rows[key]
        content = _packed(rows)
        self._fresh = False
        return store.put(self.path, lambda stream: stream.write(content))


_open: dict[Path, Kept] = {}


def opened(name: str) -> Kept:
    """The rows of a file in the folder of this program's kept shapes, shared by all that ask for it."""
    path = store.folder() / name
    if path not in _open:
        _open[path] = Kept(path)
    return _open[path]


def forget() -> None:
    """Drop what was read from disk; it is read again when next asked for."""
    _open.clear()


def _packed(rows: dict[bytes, Row]) -> bytes:
    counts = np.array([row.size for row in rows.values()], dtype="<i4")
    values = np.concatenate([np.empty(0), *(row.ravel() for row in rows.values())]).astype("<f8")
    body = len(rows).to_bytes(4, "little") + b"".join(rows) + counts.tobytes() + values.tobytes()
    return MARK + blake2b(body, digest_size=KEY).digest() + body


def _read(path: Path) -> dict[bytes, Row]:
    """Rows of the file, none when it is absent or damaged."""
    try:
        content = path.read_bytes()
    except OSError:
        return {}
    start = len(MARK) + KEY
    body = content[start:]
    if content[:start] != MARK + blake2b(body, digest_size=KEY).digest():
        return {}
    many = int.from_bytes(body[:4], "little")
    keys, rest = body[4 : 4 + many * KEY], body[4 + many * KEY :]
    counts = np.frombuffer(rest[: many * 4], dtype="<i4")
    ends = np.cumsum(counts)
    values = np.frombuffer(rest[many * 4 :], dtype="<f8")
    return {
        keys[place * KEY : (place + 1) * KEY]: values[end - count : end]
        for place, (end, count) in enumerate(zip(ends.tolist(), counts.tolist(), strict=True))
    }
