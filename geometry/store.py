"""Where finished shapes and masses are kept between runs, and how files get there whole.

The folder's name carries a digest of the formulas and libraries that made its contents, so a changed program never reads an old shape.
Contents: `folder`, `put`, `trim`.
"""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import stat
import tempfile
from collections.abc import Callable
from contextlib import suppress
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import BinaryIO

LIBRARIES = ("manifold3d", "numpy", "scipy")
"""Whose results are kept: another release of one may round or cut otherwise."""


@cache
def _digest() -> str:
    """Digest of what decides a shape: the modules of calc and geometry, and the releases of `LIBRARIES`."""
    digest = hashlib.sha1()
    root = Path(__file__).parent.parent
    for path in sorted((*(root / "geometry").rglob("*"), *(root / "calc").rglob("*"))):
        if path.suffix in {".py", ".csv"}:
            digest.update(f"{path.relative_to(root).as_posix()}\0".encode())
            digest.update(path.read_bytes())
    for name in LIBRARIES:
        digest.update(f"{name} {version(name)}\0".encode())
    return digest.hexdigest()[:16]


NO_PLACE = Path(os.devnull)
"""In here nothing can be written and nothing is found."""
NAMED = re.compile("[0-9a-f]{16}")
"""What a folder of one digest is called."""


def _root() -> Path:
    """Where the folders lie: below $XDG_CACHE_HOME or ~/.cache; without a home in a temporary folder of this user's own, if it is."""
    given = os.environ.get("XDG_CACHE_HOME", "")
    try:
        return (Path(given) if Path(given).is_absolute() else Path.home() / ".cache") / "shimwright"
    except RuntimeError:  # no home folder known
        path = Path(tempfile.gettempdir()) / f"shimwright-{os.getuid()}"
    return path if _ours(path) else NO_PLACE


def _ours(path: Path) -> bool:
    """Whether a folder, made if it is not there, is this user's and shut to all others: its name could be guessed."""
    try:
        path.mkdir(mode=0o700, exist_ok=True)
        found = path.lstat()
    except OSError:
        return False
    return stat.S_ISDIR(found.st_mode) and found.st_uid == os.getuid() and stat.S_IMODE(found.st_mode) == 0o700


def folder() -> Path:
    """Folder of this program's kept shapes; it may not exist yet, and can't where there is no safe place for it."""
    return _root() / _digest()


def _make(path: Path) -> None:
    """Make the folder of this digest where it is not there; those of other digests beside it go."""
    if not path.is_dir():
        path.mkdir(parents=True, exist_ok=True)
        for old in path.parent.iterdir():
            if old != path and NAMED.fullmatch(old.name) and old.is_dir() and not old.is_symlink():
                shutil.rmtree(old, ignore_errors=True)


def put(path: Path, write: Callable[[BinaryIO], object]) -> bool:
    """Write a file beside its place and move it in, so that no reader sees half of it. Result: False when the disk refuses."""
    try:
        _make(path.parent)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=".part")
        try:
            with os.fdopen(handle, "wb") as stream:
                write(stream)
            os.replace(name, path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError:
        return False
    return True


def trim(pattern: str, most: int) -> None:
    """Of the files of this program that match a pattern keep the newest ones, `most` of them."""
    found = list(folder().glob(pattern))
    if len(found) > most:
        with suppress(OSError):  # another run may be at it too
            for path in sorted(found, key=lambda path: path.stat().st_mtime)[: len(found) - most]:
                path.unlink(missing_ok=True)
