"""Locknut slots against washer tabs: the forward turn to the next alignment."""

from __future__ import annotations

from math import lcm, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import hardware, locking, tables

TURN = 2.0 * pi
SIZES = [row["size"] for row in tables.load("iso2982_nuts").records()]


def off(angle: float) -> float:
    """Distance of an angle from a whole turn."""
    return abs((angle + pi) % TURN - pi)


@given(slots=st.integers(1, 8), tabs=st.integers(1, 21), present=st.floats(-20.0, 20.0))
def test_after_the_turn_a_slot_stands_on_a_tab_and_none_did_sooner(slots: int, tabs: int, present: float) -> None:
    got = locking.next_alignment(slots, tabs, present)
    assert 0.0 <= got.turn < got.step
    # The pair that is named meets.
    slot_at = present + got.turn + got.slot * TURN / slots
    assert off(slot_at - got.tab * TURN / tabs) < 1e-6
    assert 0 <= got.slot < slots and 0 <= got.tab < tabs
    # No pair meets on a shorter way forward: each pair's own least forward turn, by trying all.
    ways = [(tab * TURN / tabs - slot * TURN / slots - present) % TURN for slot in range(slots) for tab in range(tabs)]
    shortest = min(0.0 if TURN - way < 1e-8 else way for way in ways)
    assert got.turn == pytest.approx(shortest, abs=1e-7)


@given(slots=st.integers(1, 8), tabs=st.integers(1, 21))
def test_alignments_come_once_in_every_step(slots: int, tabs: int) -> None:
    places = {
        round((tab * TURN / tabs - slot * TURN / slots) % TURN / TURN * lcm(slots, tabs)) % lcm(slots, tabs)
        for slot in range(slots)
        for tab in range(tabs)
    }
    assert len(places) == round(TURN / locking.alignment_step(slots, tabs))


@pytest.mark.parametrize("size", SIZES)
def test_an_uneven_number_of_tabs_gives_fine_steps(size: str) -> None:
    nut, washer = hardware.locknut(size), hardware.tab_washer(size)
    got = locking.nut_alignment(nut, washer, 0.001)
    # Four slots, tabs coprime to four: four times as many places as tabs, none more than 8.2 degrees on (11 tabs).
    assert got.step == pytest.approx(TURN / (4 * washer.tabs))
    assert got.advance == pytest.approx(got.turn / TURN * nut.pitch)
    assert got.advance < 0.05


def test_a_slot_that_is_on_a_tab_already_needs_no_turn() -> None:
    assert locking.next_alignment(4, 17, 0.0).turn == 0.0
    assert locking.next_alignment(4, 17, 3 * TURN / 68).turn == 0.0
    assert locking.next_alignment(4, 17, 1e-12).turn == 0.0


def test_wrong_inputs_are_refused() -> None:
    with pytest.raises(locking.LockingRefused, match="slots"):
        locking.alignment_step(0, 17)
    with pytest.raises(locking.LockingRefused, match="tabs"):
        locking.next_alignment(4, 0, 0.0)
    with pytest.raises(locking.LockingRefused, match="present"):
        locking.next_alignment(4, 17, float("nan"))
    with pytest.raises(locking.LockingRefused, match="pitch"):
        locking.next_alignment(4, 17, 0.0, pitch=-1.0)
    with pytest.raises(locking.LockingRefused, match="size 12"):
        locking.nut_alignment(hardware.locknut(12), hardware.tab_washer(13), 0.0)
