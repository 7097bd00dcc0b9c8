"""A folder beside the target, where a pack is made: moved into place when all of it is finished, so that a pack that was stopped
half-way leaves the last good one as it was. Where files can't be moved from beside the target, the folder is made in it.
"""

from __future__ import annotations

import contextlib
import fcntl
import os
import re
import shutil
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

MARK = "shimwright"
"""Stands in the name of such a folder, which is .NAME.shimwright-ABCDEFGH for the target NAME."""
LOCK = f".{MARK}-lock"
"""File in the folder that whoever works in it holds ..."""
LINE = b"A pack in the making; the next one clears this folder away when nobody works in it any more.\n"
"""... and what is in it: a folder without exactly that is somebody else's."""


class CannotWrite(Exception):
    """The folder can't be used: a finished line."""


@contextlib.contextmanager
def beside(out: Path) -> Iterator[Path]:
    """A fresh folder beside `out`, gone afterwards; what a killed run left there goes first. Raises CannotWrite."""
    place, name = out.resolve(), out.resolve().name
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        for where in (place.parent, place):
            _clear(where, name)
        folder = Path(tempfile.mkdtemp(prefix=f".{name}.{MARK}-", dir=place if _only_inside(place) else place.parent))
    except OSError as error:
        raise CannotWrite(f"--out {out}: can't be written: {error.strerror}") from None
    try:
        with _held(folder):
            yield folder
    except OSError as error:
        raise CannotWrite(f"--out {out}: can't be written: {error.strerror or error}") from None
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _only_inside(place: Path) -> bool:
    """Whether nothing can be moved there from beside it: another disk begins there, or what is beside it is not ours to write."""
    if not place.is_dir():
        return False
    parent = place.parent
    return place.stat().st_dev != parent.stat().st_dev or not os.access(parent, os.W_OK | os.X_OK)


@contextlib.contextmanager
def _held(folder: Path) -> Iterator[None]:
    """Hold the folder's lock: it takes its name when it is held already, so that nobody finds it there and free."""
    coming = folder / f"{LOCK}-coming"
    with coming.open("wb") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        lock.write(LINE)
        lock.flush()
        coming.rename(folder / LOCK)
        yield


def _clear(where: Path, name: str) -> None:
    """Remove folders of runs that were killed: ours by name and by what is in the lock, which nobody holds any more."""
    ours = re.compile(rf"\.{re.escape(name)}\.{MARK}-[a-z0-9_]{{8}}")
    for folder in list(where.iterdir()) if where.is_dir() else []:
        if ours.fullmatch(folder.name) and not folder.is_symlink():
            with contextlib.suppress(OSError), (folder / LOCK).open("r+b") as lock:
                fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
                if lock.read(len(LINE) + 1) == LINE:
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
