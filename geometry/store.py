"""Where finished shapes and masses are kept between runs, and how files get there whole.

The folder's name carries a digest of the formulas that made its contents, so a changed program never reads an old shape.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import BinaryIO


@cache
def _digest() -> str:
    """Digest of the modules that decide a shape: calc and geometry."""
    digest = hashlib.sha1()
    here = Path(__file__).parent
    for folder in (here, here.parent / "calc"):
        for path in sorted(folder.rglob("*")):
            if path.suffix in {".py", ".csv"}:
                digest.update(path.name.encode())
                digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def folder() -> Path:
    """Folder of this program's kept shapes, below $XDG_CACHE_HOME or ~/.cache; it may not exist yet."""
    root = os.environ.get("XDG_CACHE_HOME", "")
    try:
        start = Path(root) if root and Path(root).is_absolute() else Path.home() / ".cache"
    except RuntimeError:  # no home folder known
        start = Path(tempfile.gettempdir())
    return start / "shimwright" / _digest()


def put(path: Path, write: Callable[[BinaryIO], object]) -> bool:
    """Write a file beside its place and move it in, so that no reader sees half of it. Result: False when the disk refuses."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
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
