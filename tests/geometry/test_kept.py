"""Rows kept between runs: they come back as they were put in, a damaged file counts as absent, two writers lose no file."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from geometry import kept
from geometry.kept import Kept, digest


def test_what_one_run_found_the_next_one_knows_to_the_last_bit(tmp_path: Path) -> None:
    rows = {digest(b"a"): np.array([0.1, np.inf, -3.0]), digest(b"b"): np.empty(0)}
    first = Kept(tmp_path / "ways")
    for key, row in rows.items():
        first.put(key, row)
    assert first.save()
    second = Kept(tmp_path / "ways")
    for key, row in rows.items():
        found = second.get(key)
        assert found is not None and found.tobytes() == row.tobytes()
    assert second.get(digest(b"c")) is None


@pytest.mark.parametrize("place", [0, 10, 40, -1])
def test_a_damaged_file_counts_as_absent(place: int, tmp_path: Path) -> None:
    path = tmp_path / "ways"
    first = Kept(path)
    first.put(digest(b"a"), np.arange(4.0))
    first.save()
    content = bytearray(path.read_bytes())
    content[place] ^= 1
    path.write_bytes(content)
    assert Kept(path).get(digest(b"a")) is None
    path.write_bytes(path.read_bytes()[:-5])
    assert Kept(path).get(digest(b"a")) is None


def test_two_runs_at_once_keep_what_both_found(tmp_path: Path) -> None:
    one, other = Kept(tmp_path / "ways"), Kept(tmp_path / "ways")
    one.put(digest(b"one"), np.ones(1))
    other.put(digest(b"other"), np.ones(2))
    one.save()
    other.save()
    again = Kept(tmp_path / "ways")
    assert again.get(digest(b"one")) is not None and again.get(digest(b"other")) is not None


def test_the_oldest_rows_go_when_the_file_is_full(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept, "MOST", 3)
    rows = Kept(tmp_path / "ways")
    for name in (b"1", b"2", b"3", b"4"):
        rows.put(digest(name), np.ones(1))
    rows.save()
    again = Kept(tmp_path / "ways")
    assert [again.get(digest(name)) is not None for name in (b"1", b"2", b"3", b"4")] == [False, True, True, True]


def test_pieces_of_a_key_do_not_run_together() -> None:
    assert digest(b"ab", b"c") != digest(b"a", b"bc") != digest(b"abc")
