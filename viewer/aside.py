"""A folder beside the target, where a pack is made: moved into place when all of it is finished, so that a pack that was stopped
half-way leaves the last good one as it was.
"""

from __future__ import annotations

import contextlib
import fcntl
import os
import shutil
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

LOCK = ".lock"
"""File in the folder that whoever works in it holds."""


class CannotWrite(Exception):
    """The folder can't be used: a finished line."""


@contextlib.contextmanager
def beside(out: Path) -> Iterator[Path]:
    """A fresh folder beside `out`, gone afterwards; what a killed run left there goes first. Raises CannotWrite."""
    parent = out.resolve().parent
    try:
        parent.mkdir(parents=True, exist_ok=True)
        _clear(parent, out.name)
        folder = Path(tempfile.mkdtemp(prefix=f".{out.name}-", dir=parent))
    except OSError as error:
        raise CannotWrite(f"--out {out}: can't be written: {error.strerror}") from None
    try:
        with (folder / LOCK).open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
            yield folder
    except OSError as error:
        raise CannotWrite(f"--out {out}: can't be written: {error.strerror or error}") from None
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _clear(parent: Path, name: str) -> None:
    """Remove folders of runs that were killed: nobody holds their lock any more."""
    for folder in parent.glob(f".{name}-*"):
        with contextlib.suppress(OSError), (folder / LOCK).open("r+") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
            shutil.rmtree(folder, ignore_errors=True)


def check(out: Path, names: Iterable[str]) -> None:
    """Raise CannotWrite when one of the files can't take its place: before anything is moved."""
    if out.exists() and not out.is_dir():
        raise CannotWrite(f"--out {out}: is a file: accepted: a folder")
    if out.is_dir() and not os.access(out, os.W_OK | os.X_OK):
        raise CannotWrite(f"--out {out}: can't be written: Permission denied: accepted: a folder of your own")
    for name in names:
        if (out / name).is_dir() and not (out / name).is_symlink():
            raise CannotWrite(f"--out {out}: {name} is a folder there: accepted: a folder without one of that name")


def move(folder: Path, out: Path, names: Sequence[str], stale: Iterable[Path]) -> None:
    """Put the finished files in place one rename each, when all of them are finished; what an older order left goes."""
    check(out, names)
    out.mkdir(exist_ok=True)
    for name in names:
        os.replace(folder / name, out / name)
    for path in stale:
        path.unlink(missing_ok=True)
