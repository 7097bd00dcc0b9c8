"""Where shapes are kept between runs: one folder for each state of the program, in a place of the user's own or nowhere."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from importlib import metadata
from pathlib import Path

import pytest

from geometry import store


@pytest.fixture(autouse=True)
def asked_anew() -> Iterator[None]:
    store._digest.cache_clear()
    yield
    store._digest.cache_clear()


@pytest.fixture
def homeless(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """No home folder known; result: where temporary files go."""

    def home() -> Path:
        raise RuntimeError("no home")

    monkeypatch.delenv("XDG_CACHE_HOME")
    monkeypatch.setattr(Path, "home", home)
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    return tmp_path


def put(name: str = "row") -> bool:
    return store.put(store.folder() / name, lambda stream: stream.write(b"kept"))


def test_without_a_home_shapes_are_kept_in_a_folder_shut_to_others(homeless: Path) -> None:
    assert put() and store.folder().is_relative_to(homeless)
    assert (store.folder() / "row").read_bytes() == b"kept"
    assert store.folder().parent.stat().st_mode & 0o777 == 0o700


@pytest.mark.parametrize("mode", [0o755, 0o777])
def test_a_folder_that_others_can_reach_is_not_used(mode: int, homeless: Path) -> None:
    assert put()
    row = store.folder() / "row"
    row.parent.parent.chmod(mode)
    assert not put("other") and not (store.folder() / "row").exists()
    assert row.exists(), "left alone"


def test_a_folder_put_there_as_a_link_is_not_used(homeless: Path) -> None:
    assert put()
    real, other = store.folder().parent, homeless / "elsewhere"
    real.rename(other)
    real.symlink_to(other)
    assert not put("other") and not (other / store.folder().name / "other").exists()


def test_folders_of_other_states_of_the_program_go_and_nothing_else(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    old, own = tmp_path / "shimwright" / "0123456789abcdef", tmp_path / "shimwright" / "notes"
    for path in (old, own):
        path.mkdir(parents=True)
        (path / "file").write_text("x")
    assert put() and not old.exists() and (own / "file").exists()
    old.mkdir()
    assert put("second") and old.exists(), "looked for only when a folder is new"


@pytest.mark.parametrize("library", ["manifold3d", "numpy", "scipy"])
def test_another_release_of_a_library_is_another_folder(library: str, monkeypatch: pytest.MonkeyPatch) -> None:
    before, real = store.folder(), metadata.version
    monkeypatch.setattr(store, "version", lambda name: "0.0" if name == library else real(name))
    store._digest.cache_clear()
    assert store.folder() != before


def test_two_modules_of_one_name_are_told_apart(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Contents that changed places between calc and geometry are another program."""
    found = []
    for first, second in (("a = 1", "a = 2"), ("a = 2", "a = 1")):
        root = tmp_path / str(len(found))
        for folder, content in (("calc", first), ("geometry", second)):
            (root / folder).mkdir(parents=True)
            (root / folder / "same.py").write_text(content)
        monkeypatch.setattr(store, "__file__", str(root / "geometry" / "store.py"))
        store._digest.cache_clear()
        found.append(store._digest())
    assert found[0] != found[1]
