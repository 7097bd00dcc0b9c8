"""Match marks: when the same teeth meet again."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import marks

TEETH = st.integers(3, 80)


# Published example pairs (explanations of the hunting tooth): 23/67 has no common factor, 20/60 has 20, 18/54 has 18; 11/30 repeats
# after 30 turns of the pinion and 11 of the gear; 21/22 hunts although neither is prime.
@pytest.mark.parametrize(("pinion", "gear", "factor"), [(23, 67, 1), (20, 60, 20), (18, 54, 18), (11, 30, 1), (21, 22, 1)])
def test_common_factor_of_published_pairs(pinion: int, gear: int, factor: int) -> None:
    got = marks.meeting_teeth(pinion, gear)
    assert got.common_factor == got.ways == factor
    assert got.hunting == (factor == 1) and got.marks_needed == (factor > 1)


def test_hunting_pair_11_to_30_repeats_after_30_and_11_turns() -> None:
    got = marks.meeting_teeth(11, 30)
    assert (got.pinion_turns, got.gear_turns, got.meshes) == (30, 11, 330)


@given(TEETH, TEETH)
def test_rolling_the_pair_tooth_by_tooth_gives_the_same(pinion: int, gear: int) -> None:
    got = marks.meeting_teeth(pinion, gear)
    meshes = 1
    while (meshes % pinion, meshes % gear) != (0, 0):
        meshes += 1
    assert meshes == got.meshes == got.pinion_turns * pinion == got.gear_turns * gear
    met = {mesh % gear + 1 for mesh in range(meshes) if mesh % pinion == 0}
    assert marks.partners(1, pinion, gear) == tuple(sorted(met))
    last = {mesh % gear + 1 for mesh in range(meshes) if mesh % pinion == pinion - 1}
    assert marks.partners(pinion, pinion, gear) == tuple(sorted(last))


def test_wrong_tooth_counts_are_refused() -> None:
    for wrong in (0, 2, 17.5):
        with pytest.raises(marks.TeethRefused, match="pinion teeth"):
            marks.meeting_teeth(wrong, 51)  # type: ignore[arg-type]
    with pytest.raises(marks.TeethRefused, match="gear teeth"):
        marks.meeting_teeth(17, 1)
    with pytest.raises(marks.TeethRefused, match="pinion tooth"):
        marks.partners(18, 17, 51)
