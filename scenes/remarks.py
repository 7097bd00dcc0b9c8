"""What the circumstances of a reading say: whether it counts, and what to do where it does not. Contents: `Remark`."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Remark:
    """What is told, what to do now, whether the reading counts."""

    says: tuple[str, ...] = ()
    now: tuple[str, ...] = ()
    counts: bool = True
