"""A mate: a second process that makes part of a pack at the same time, on the machine's second core.

It tells how far it is and hands its fault over; it ends when it is told to, and by itself when whoever sent for it is gone.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
import threading
import time
from collections.abc import Callable
from multiprocessing.connection import Connection, wait
from typing import Any, Final

from viewer import progress

TOLD_EVERY: Final = 0.2  # s
ENDS_WITHIN: Final = 5.0  # s, when told to


class Gone(Exception):
    """The mate ended without a word: a finished line."""


class Mate:
    """A process that runs one function; use as a context, so that it never outlives its work."""

    def __init__(self, act: Callable[..., None], *given: Any) -> None:
        """`act` and what is `given` to it must be such that another process can be handed them."""
        context = multiprocessing.get_context("spawn")  # a copy of this process could not draw
        self._ear, mouth = context.Pipe(duplex=False)
        self._process = context.Process(target=_run, args=(mouth, act, given), daemon=True)
        self._process.start()
        mouth.close()
        self._done = False

    def __enter__(self) -> Mate:
        return self

    def __exit__(self, *_: object) -> None:
        if not self._done:
            self._process.terminate()
            self._process.join(ENDS_WITHIN)
            self._process.kill()
        self._process.join()
        self._process.close()
        self._ear.close()

    def look(self) -> None:
        """Raise the mate's fault if it has come to one; waits for nothing."""
        while not self._done and self._ear.poll():
            self._hear()

    def finish(self) -> None:
        """Wait until it is done, with a bar. Raises its fault."""
        while not self._done:
            said = self._hear()
            if said:
                progress.progress(*said)

    def _hear(self) -> tuple[int, int, str] | None:
        try:
            said = self._ear.recv()
        except EOFError:
            self._process.join()
            raise Gone(f"a process that made part of it ended with code {self._process.exitcode}") from None
        if isinstance(said, BaseException):
            raise said
        self._done = said is None
        return said  # type: ignore[no-any-return]


def _run(mouth: Connection, act: Callable[..., None], given: tuple[Any, ...]) -> None:
    """What the second process does."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # whoever sent for it says when to stop
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))
    threading.Thread(target=_leave_with_parent, daemon=True).start()
    told = 0.0

    def tell(count: int, total: int, what: str) -> None:
        nonlocal told
        if count == total or time.monotonic() > told + TOLD_EVERY:
            told = time.monotonic()
            mouth.send((count, total, what))

    progress.divert(tell)
    try:
        act(*given)
    except Exception as error:
        _hand_over(mouth, error)
    else:
        mouth.send(None)


def _hand_over(mouth: Connection, error: Exception) -> None:
    try:
        mouth.send(error)
    except (TypeError, AttributeError, ValueError):  # what can't be handed over is told
        mouth.send(RuntimeError(f"{type(error).__name__}: {error}"))


def _leave_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        wait([parent.sentinel])
        os._exit(1)
