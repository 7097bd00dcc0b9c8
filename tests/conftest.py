"""What all tests share: a place of their own for kept shapes, so that no run sees what another left on the disk, and their order."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from geometry import blocking

SLOWEST_FIRST = ("viewer", "pictures", "scenes", "geometry", "calc", "benchmarks")
"""Folders in the order in which they are run: two workers end together when the files that take longest come first."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put the slow folders first; within a folder the order stays, and a folder that is not among them comes last."""
    place = {folder: place for place, folder in enumerate(SLOWEST_FIRST)}
    items.sort(key=lambda item: place.get(item.path.parent.name, len(place)))


@pytest.fixture(scope="session", autouse=True)
def own_place() -> Iterator[None]:
    """Shapes are kept in a temporary folder for as long as the session lasts, by programs that tests start as well."""
    before = os.environ.get("XDG_CACHE_HOME")
    with TemporaryDirectory(prefix="shimwright-tests-", ignore_cleanup_errors=True) as folder:
        os.environ["XDG_CACHE_HOME"] = folder
        yield
        if before is None:
            del os.environ["XDG_CACHE_HOME"]
        else:
            os.environ["XDG_CACHE_HOME"] = before


@pytest.fixture
def nothing_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A computer that never built a shape nor judged a pair."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "kept"))
    blocking.forget()
