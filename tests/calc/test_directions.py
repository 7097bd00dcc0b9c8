"""What every fitter expects, whatever the numbers: which way a change goes, and that inches and millimetres tell the same."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import backlash, bolts, chain, endplay, fits, heat, keys, press, units

DIAMETERS = st.floats(20.0, 200.0)
AMOUNTS = st.floats(0.005, 0.12)
EXPANSIONS = st.floats(9e-6, 2.4e-5)
MICROMETRES = st.integers(6_001, 500_000).map(lambda count: count / 1000.0)
"""Sizes in whole micrometres: none lies within the dust of an inch text beside the end of a range [mm]."""
CLASSES = st.sampled_from(["f7", "g6", "h6", "js6", "k6", "m6", "n6", "p6", "r6", "s6"])
STACK = {"face_to_seat": 58.2, "bearing_stack": 43.0, "cover_spigot": 15.5}


@given(diameter=DIAMETERS, amount=AMOUNTS, expansion=EXPANSIONS, at=st.floats(20.0, 200.0), more=st.floats(1.0, 100.0))
def test_a_hotter_hub_has_more_clearance_and_a_hotter_shaft_less(
    diameter: float, amount: float, expansion: float, at: float, more: float
) -> None:
    cool = heat.clearance_at(-amount, diameter, expansion, hub_temperature=at)
    assert heat.clearance_at(-amount, diameter, expansion, hub_temperature=at + more) > cool
    assert heat.clearance_at(-amount, diameter, expansion, hub_temperature=at, shaft_temperature=20.0 + more) < cool
    # Both equally warm and of one material: the same fit as at 20 °C.
    both = heat.clearance_at(-amount, diameter, expansion, hub_temperature=at, shaft_temperature=at)
    assert both == pytest.approx(-amount, abs=1e-12)


@given(diameter=DIAMETERS, amount=AMOUNTS, expansion=EXPANSIONS, more=st.floats(0.001, 0.05))
def test_a_tighter_fit_asks_for_more_heat_and_leaves_a_wider_gap_at_the_shoulder(
    diameter: float, amount: float, expansion: float, more: float
) -> None:
    assert heat.heating_temperature(diameter, amount + more, expansion) > heat.heating_temperature(diameter, amount, expansion)
    assert press.shrink_back_gap(amount + more, 70.0, diameter) > press.shrink_back_gap(amount, 70.0, diameter)


@given(free=st.floats(0.1, 2.0), more=st.floats(0.01, 0.5), compression=st.floats(0.0, 0.3))
def test_a_thicker_gasket_at_the_floating_bearing_gives_more_end_play(free: float, more: float, compression: float) -> None:
    thin, thick = (endplay.gasket_compressed(thickness, compression) for thickness in (free, free + more))
    plays = [endplay.end_play(gasket=clamped, **STACK) for clamped in (thin, thick)]
    assert plays[1] > plays[0]
    assert plays[1] - plays[0] == pytest.approx(more * (1.0 - compression), abs=1e-9)
    links = [chain.Link("face", 1, 58.2), chain.Link("stack", -1, 43.0), chain.Link("spigot", -1, 15.5)]
    found = [chain.solve([*links, chain.Link("gasket", 1, clamped)]).mid for clamped in (thin, thick)]
    assert found == pytest.approx(plays, abs=1e-9)


@given(shift=st.floats(0.01, 0.3), pressure=st.floats(0.25, 0.44), pitch=st.floats(0.2, 1.4), spiral=st.floats(0.0, 0.7))
def test_a_gear_moved_out_has_more_backlash(shift: float, pressure: float, pitch: float, spiral: float) -> None:
    change = backlash.backlash_change(shift, pressure, pitch, spiral)
    assert change > 0.0 > backlash.backlash_change(-shift, pressure, pitch, spiral)
    assert backlash.shift_for_backlash_change(change, pressure, pitch, spiral) == pytest.approx(shift, rel=1e-12)


@given(size=MICROMETRES, letter=CLASSES)
def test_limits_and_clearances_stand_in_order(size: float, letter: str) -> None:
    shaft, hole = fits.shaft_limits(size, letter), fits.hole_limits(size, "H7")
    assert shaft.lower < shaft.upper and hole.lower < hole.upper
    band = fits.fit(hole, shaft)
    assert band.low < band.middle < band.high
    assert band.high - band.low == pytest.approx(shaft.width + hole.width, abs=1e-12)


@given(
    size=MICROMETRES,
    pair=st.sampled_from([("f7", "g6"), ("g6", "h6"), ("h6", "k6"), ("k6", "m6"), ("m6", "n6"), ("n6", "p6"), ("p6", "r6")]),
)
def test_later_letters_are_thicker_shafts(size: float, pair: tuple[str, str]) -> None:
    thin, thick = (fits.shaft_limits(size, fit_class) for fit_class in pair)
    assert thick.lower > thin.lower and thick.upper > thin.upper


def _inches(millimetres: float) -> str:
    return f"{millimetres / 25.4!r} in"


def test_sixty_millimetres_are_read_from_inches() -> None:
    # 60 / 25.4 = 2.362204724409449 (1 in = 25.4 mm, exact by the international agreement of 1959)
    inch = units.read("2.362204724409449 in", "length")
    assert inch == pytest.approx(units.read("60 mm", "length"), rel=1e-15)
    assert fits.shaft_limits(inch, "k6") == fits.shaft_limits(60.0, "k6")


@given(size=st.integers(6_001, 230_000).map(lambda count: count / 1000.0), letter=CLASSES)
def test_a_size_in_inches_has_the_fit_and_the_key_of_the_same_size_in_millimetres(size: float, letter: str) -> None:
    metric, inch = units.read(f"{size!r} mm", "length"), units.read(_inches(size), "length")
    assert inch == pytest.approx(metric, rel=1e-14)
    assert fits.shaft_limits(inch, letter) == fits.shaft_limits(metric, letter)
    assert fits.hole_limits(inch, "H7") == fits.hole_limits(metric, "H7")
    assert keys.key_section(inch) == keys.key_section(metric)


@given(diameter=DIAMETERS, amount=AMOUNTS, rise=st.floats(1.0, 150.0), shaft=st.floats(0.0, 40.0))
def test_a_hot_fit_computes_the_same_from_inches_and_fahrenheit(diameter: float, amount: float, rise: float, shaft: float) -> None:
    def clearance(size: str, tight: str, hub: str, cold: str) -> float:
        return heat.clearance_at(
            -units.read(tight, "length"),
            units.read(size, "length"),
            12.5e-6,
            hub_temperature=units.read(hub, "temperature"),
            shaft_temperature=units.read(cold, "temperature"),
        )

    hub = shaft + rise
    metric = clearance(f"{diameter!r} mm", f"{amount!r} mm", f"{hub!r} degC", f"{shaft!r} degC")
    inch = clearance(_inches(diameter), _inches(amount), f"{hub * 1.8 + 32.0!r} degF", f"{shaft * 1.8 + 32.0!r} degF")
    # A temperature is read to 1e-9 K; over 200 mm that moves a clearance by 2.5e-12 mm.
    assert inch == pytest.approx(metric, abs=1e-11)


@given(torque=st.floats(1.0, 500.0))
def test_a_torque_in_pound_feet_gives_the_same_preload(torque: float) -> None:
    # 1 lbf ft = 1.3558179483314004 N m, exact by the definitions of foot and pound
    metric = units.read(f"{torque!r} N m", "torque")
    inch = units.read(f"{torque / 1.3558179483314004!r} lbf ft", "torque")
    assert bolts.preload_by_factor(inch, 12.0) == pytest.approx(bolts.preload_by_factor(metric, 12.0), rel=1e-12)
