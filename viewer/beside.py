"""Processes of our own beside a shared page: started with this Python and this program, ended with whoever started them."""

from __future__ import annotations

import asyncio
import os
import sys
import threading
from pathlib import Path


async def start(module: str, *words: str) -> asyncio.subprocess.Process:
    """Run a module of this program with these words; what it prints can be read."""
    root = str(Path(__file__).resolve().parents[1])
    paths = [root, *filter(None, os.environ.get("PYTHONPATH", "").split(os.pathsep))]
    return await asyncio.create_subprocess_exec(
        sys.executable, "-P", "-m", module, *words,
        stdin=asyncio.subprocess.PIPE, stdout=asyncio.subprocess.PIPE, stderr=asyncio.subprocess.DEVNULL,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(paths), "PYTHONUNBUFFERED": "1"},
    )  # fmt: skip


def end_with_parent() -> None:
    """Called in such a process: whoever started it holds the other end of standard input; when that is gone, so is this."""
    threading.Thread(target=_wait, daemon=True).start()


def _wait() -> None:
    sys.stdin.read()
    os._exit(0)
