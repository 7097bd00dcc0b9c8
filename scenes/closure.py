"""Which of many things comes before which, with all that follows from it, as bits of whole numbers.

Contents: `Closure`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence


class Closure:
    """A partial order that grows: `has(a, b)` is true when a comes before b, directly or through others."""

    def __init__(self, names: Sequence[str], edges: Iterable[tuple[str, str]] = ()) -> None:
        self.names = tuple(names)
        self._bit = {name: place for place, name in enumerate(names)}
        self._after = [0] * len(names)
        self._before = [0] * len(names)
        for before, after in edges:
            self.add(before, after)

    def has(self, before: str, after: str) -> bool:
        """Whether the first comes before the second."""
        return bool(self._after[self._bit[before]] >> self._bit[after] & 1)

    def against(self, before: str, after: str) -> bool:
        """Whether putting the first before the second would close a circle."""
        return before == after or self.has(after, before)

    def add(self, before: str, after: str) -> None:
        """Put one before another. Raises ValueError where that would close a circle."""
        a, b = self._bit[before], self._bit[after]
        if self.against(before, after):
            raise ValueError(f"{before} before {after}: accepted: no circle")
        if self._after[a] >> b & 1:
            return
        up, down = self._before[a] | 1 << a, self._after[b] | 1 << b
        for place in _bits(up):
            self._after[place] |= down
        for place in _bits(down):
            self._before[place] |= up

    def after(self, name: str) -> list[str]:
        """All that comes after it."""
        return [self.names[place] for place in _bits(self._after[self._bit[name]])]

    def before(self, name: str) -> list[str]:
        """All that comes before it."""
        return [self.names[place] for place in _bits(self._before[self._bit[name]])]

    def reduced(self) -> list[tuple[str, str]]:
        """The fewest pairs from which all the others follow."""
        found = []
        for a, after in enumerate(self._after):
            for b in _bits(after):
                if not after & self._before[b]:
                    found.append((self.names[a], self.names[b]))
        return found


def _bits(number: int) -> Iterator[int]:
    while number:
        low = number & -number
        yield low.bit_length() - 1
        number ^= low
