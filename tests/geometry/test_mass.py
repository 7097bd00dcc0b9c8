"""Mass properties against closed forms, and the file they are kept in."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from math import pi
from pathlib import Path

import numpy as np
import pytest

from calc import materials
from geometry import fasteners, mass
from geometry.part import Spec
from geometry.profile import turned

EXTRAPOLATED = 1e-6
"""Relative error left by the extrapolation: a^4 / 480 with a = 2 pi / 64 is 2e-7."""
CONE = Spec("steel", loops=(((0.0, 0.0), (30.0, 0.0), (0.0, 80.0)),))


@pytest.fixture(autouse=True)
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty place on disk for masses."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setattr(mass, "_known", {})
    return tmp_path


def test_a_spacer_weighs_what_its_ring_weighs() -> None:
    ring = mass.properties(Spec("steel", loops=(turned([(0.0, 20.0, 80.0)], [(0.0, 20.0, 60.0)]),)))
    volume = pi / 4.0 * (80.0**2 - 60.0**2) * 20.0
    assert ring.volume == pytest.approx(volume, rel=EXTRAPOLATED)
    assert ring.mass == pytest.approx(volume * 1e-9 * materials.material("steel").density, rel=EXTRAPOLATED)
    assert ring.centre == pytest.approx((0.0, 0.0, 10.0), abs=1e-9)


def test_a_cone_has_its_centre_at_a_quarter_of_its_height() -> None:
    assert mass.properties(CONE).centre == pytest.approx((0.0, 0.0, 20.0), abs=1e-4)


def test_holes_keep_the_accuracy_of_the_extrapolation() -> None:
    drilled = Spec("steel", loops=(turned([(0.0, 10.0, 100.0)]),), cut=(("rods", 6, 35.0, 0.0, -2.0, 12.0, 8.0),))
    exact = pi * (50.0**2 - 6 * 8.0**2) * 10.0
    assert mass.properties(drilled).volume == pytest.approx(exact, rel=2e-5)


def test_balls_weigh_what_spheres_weigh() -> None:
    balls = Spec("bearing steel", add=(("balls", 12, 50.0, 0.0, 5.0, 8.0),))
    assert mass.properties(balls).volume == pytest.approx(12 * 4.0 / 3.0 * pi * 8.0**3, rel=1e-3)


def test_density_follows_the_material() -> None:
    loops = CONE.loops
    steel, iron = mass.properties(CONE), mass.properties(Spec("grey iron", loops=loops))
    ratio = materials.material("grey iron").density / materials.material("steel").density
    assert iron.mass / steel.mass == pytest.approx(ratio, rel=1e-12)


def test_two_placed_parts_balance_at_their_common_centre() -> None:
    cone = mass.properties(CONE)
    lying = np.array([[0.0, 0.0, 1.0, 100.0], [0.0, -1.0, 0.0, 0.0], [1.0, 0.0, 0.0, 0.0], [0.0, 0.0, 0.0, 1.0]])
    both = mass.combined([(cone, np.eye(4)), (cone, lying)])
    assert both.mass == pytest.approx(2.0 * cone.mass, rel=1e-12)
    assert both.centre == pytest.approx((60.0, 0.0, 10.0), abs=1e-4)


def test_no_parts_have_no_centre() -> None:
    with pytest.raises(ValueError, match="at least one"):
        mass.combined([])


def test_many_parts_come_back_in_their_order() -> None:
    specs = [fasteners.spacer(20.0, 30.0, length) for length in (5.0, 10.0, 5.0)]
    first, second, third = mass.properties_of(specs)
    assert first == third and first.mass < second.mass


def test_a_warm_file_answers_without_the_boolean_engine(kept: Path) -> None:
    expected = mass.properties(CONE)
    code = (
        "import sys; from geometry import mass; from geometry.part import Spec\n"
        f"found = mass.properties(Spec('steel', loops={CONE.loops!r}))\n"
        "assert 'manifold3d' not in sys.modules and 'trimesh' not in sys.modules\n"
        "print(repr(found.mass))"
    )
    root = Path(mass.__file__).parent.parent
    run = subprocess.run(
        [sys.executable, "-c", code], env=os.environ | {"PYTHONPATH": str(root)}, capture_output=True, text=True, check=True
    )
    assert float(run.stdout) == expected.mass


@pytest.mark.parametrize(
    "content", [b"", b"{", b"[1, 2]", b"\xff\xfe", b'{"KEY": [1.0, 2.0]}', b'{"KEY": [NaN, 0, 0, 0]}', b'{"KEY": [-5.0, 0, 0, 0]}']
)
def test_a_damaged_file_is_found_out_and_replaced(kept: Path, monkeypatch: pytest.MonkeyPatch, content: bytes) -> None:
    expected = mass.properties(CONE)
    (file,) = kept.rglob("masses.json")
    file.write_bytes(content.replace(b"KEY", CONE.key.encode()))
    monkeypatch.setattr(mass, "_known", {})
    assert mass.properties(CONE) == expected
    assert list(json.loads(file.read_bytes())) == [CONE.key]
    assert not list(kept.rglob("*.part"))


def test_what_another_run_wrote_stays_in_the_file(kept: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    mass.properties(CONE)
    monkeypatch.setattr(mass, "_known", {})
    other = fasteners.spacer(20.0, 30.0, 5.0)
    mass.properties(other)
    (file,) = kept.rglob("masses.json")
    assert set(json.loads(file.read_bytes())) == {CONE.key, other.key}
