"""Arrays of sizes and temperatures give what single numbers give."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc import backlash, cooling, fits, heat, press, tables

ENDS = sorted(
    {float(cell) for name in ("iso286_grades", "iso286_shafts", "iso286_j") for cell in tables.load(name).column("up_to")}
)
NEAR = st.builds(
    lambda end, off: end + off, st.sampled_from(ENDS[:-1]), st.sampled_from([-0.001, 0.0, 0.001, 0.0013, 0.0014, 0.002])
)
"""Sizes at the end of a range, where the next one begins 0.0013 mm late."""
SIZES = st.one_of(st.floats(0.001, 500.0013), NEAR)
SHAFTS = [f"{letter}{grade}" for letter in fits.SHAFT_LETTERS for grade in fits.GRADES]
HOLES = [f"{letter}{grade}" for letter in fits.HOLE_LETTERS for grade in fits.GRADES]
STEEL = 12.5e-6


def _singles(limits: Callable[[float, str], fits.Limits], sizes: list[float], fit_class: str) -> list[fits.Limits] | str:
    """Limits one by one, or what the first refusal says."""
    try:
        return [limits(size, fit_class) for size in sizes]
    except fits.FitError as refused:
        return str(refused)


@pytest.mark.parametrize(
    ("limits", "deviations", "classes"),
    [(fits.shaft_limits, fits.shaft_deviations, SHAFTS), (fits.hole_limits, fits.hole_deviations, HOLES)],
    ids=["shafts", "bores"],
)
@given(data=st.data())
def test_many_sizes_have_the_limits_each_has_alone(limits: Any, deviations: Any, classes: list[str], data: st.DataObject) -> None:
    sizes, fit_class = data.draw(st.lists(SIZES, min_size=1, max_size=8)), data.draw(st.sampled_from(classes))
    wanted = _singles(limits, sizes, fit_class)
    if isinstance(wanted, str):
        with pytest.raises(fits.FitError) as refused:
            deviations(sizes, fit_class)
        assert str(refused.value) == wanted
        return
    lower, upper = deviations(sizes, fit_class)
    assert lower.tolist() == [one.lower for one in wanted] and upper.tolist() == [one.upper for one in wanted]


@given(
    sizes=st.lists(st.floats(3.1, 500.0), min_size=1, max_size=8),
    hole=st.sampled_from(["H7", "J7", "P6"]),
    shaft=st.sampled_from(["k6", "g6"]),
)
def test_clearance_of_many_fits_is_that_of_each(sizes: list[float], hole: str, shaft: str) -> None:
    low, high = fits.clearance_band(fits.hole_deviations(sizes, hole), fits.shaft_deviations(sizes, shaft))
    each = [fits.fit(fits.hole_limits(size, hole), fits.shaft_limits(size, shaft)) for size in sizes]
    assert low.tolist() == [one.low for one in each] and high.tolist() == [one.high for one in each]


def test_deviations_keep_the_shape_of_the_sizes() -> None:
    lower, upper = fits.shaft_deviations(np.full((2, 3), 60.0), "m6")
    assert lower.shape == upper.shape == (2, 3)
    assert fits.shaft_deviations([], "m6")[0].shape == (0,)
    assert fits.hole_deviations(60.0, "H7")[1] == pytest.approx(0.030)  # ISO 286-1 Table 1: IT7 over 50 up to 80 mm


@pytest.mark.parametrize(
    ("sizes", "fit_class", "said"),
    [
        ([60.0, 501.0, 700.0], "k6", "k6 at 501 mm: accepted: over 0 up to and including 500 mm"),
        ([60.0, 0.0], "k6", "k6 at 0 mm: accepted"),
        ([60.0, math.nan], "k6", "k6 at nan mm: accepted"),
        ([60.0, 24.0, 20.0], "t6", "t6 at 24 mm: not in the standard; accepted: t over 24 mm"),
        ([60.0], "H7", "H7 at 60 mm: a shaft takes small letters"),
        ([], "z9", "z9 at 3 mm"),
    ],
)
def test_the_first_size_without_limits_is_named(sizes: list[float], fit_class: str, said: str) -> None:
    with pytest.raises(fits.FitError, match=said):
        fits.shaft_deviations(sizes, fit_class)


PLACES = np.linspace(25.0, 300.0, 12)
BORES = np.linspace(20.0, 200.0, 12)
TIGHT = np.linspace(-0.02, 0.12, 12)


@pytest.mark.parametrize(
    ("act", "values"),
    [
        pytest.param(lambda v: heat.growth(v, STEEL, 90.0), BORES, id="growth of diameters"),
        pytest.param(lambda v: heat.growth(60.0, STEEL, v), PLACES, id="growth with temperature"),
        pytest.param(lambda v: heat.heating_temperature(60.0, v, STEEL), TIGHT, id="heating temperature"),
        pytest.param(lambda v: heat.clearance_at(-0.045, 60.0, STEEL, hub_temperature=v), PLACES, id="clearance while hot"),
        pytest.param(lambda v: heat.clearance_at(v, 60.0, STEEL, hub_temperature=110.0), -TIGHT, id="clearance of fits"),
        pytest.param(lambda v: press.first_grip_rise(0.05, v, STEEL), BORES, id="first grip"),
        pytest.param(lambda v: press.shrink_back_gap(v, 70.0, 60.0), TIGHT, id="shrink-back gap"),
        pytest.param(press.largest_ring_interference, BORES, id="largest ring interference"),
        pytest.param(lambda v: cooling.radiation_coefficient(v, 20.0), PLACES, id="radiation"),
        pytest.param(lambda v: cooling.grashof_number(132.5, v, 20.0), PLACES, id="Grashof number"),
        pytest.param(lambda v: cooling.nusselt_number(0.7, v * 1e5), PLACES, id="Nusselt number"),
        pytest.param(lambda v: cooling.convection_coefficient(132.5, v, 20.0), PLACES, id="convection"),
        pytest.param(lambda v: cooling.convection_coefficient(v, 110.0, 20.0), BORES, id="convection by diameter"),
        pytest.param(lambda v: backlash.backlash_change(v, 0.35, 1.2, 0.6), TIGHT, id="backlash change"),
        pytest.param(lambda v: backlash.normal_backlash_change(v, 0.35, 1.2), TIGHT, id="normal backlash change"),
    ],
)
def test_an_array_is_read_as_its_numbers_are(act: Callable[[Any], Any], values: np.ndarray[Any, np.dtype[np.float64]]) -> None:
    found, each = act(values), [act(float(value)) for value in values]
    assert found.shape == values.shape and all(type(one) is float for one in each)
    assert found == pytest.approx(each, rel=1e-12, abs=1e-15)


def test_one_wrong_number_in_an_array_is_refused() -> None:
    with pytest.raises(ValueError, match="diameter: 0.0: accepted: more than 0"):
        heat.heating_temperature(np.array([60.0, 0.0]), 0.05, STEEL)
    with pytest.raises(ValueError, match="interference: -0.02: accepted: 0 or more"):
        press.first_grip_rise(TIGHT, 60.0, STEEL)
    with pytest.raises(ValueError, match="grip_at: 1.1: accepted: 0"):
        press.shrink_back_gap(0.05, 70.0, 60.0, np.array([0.5, 1.1]))
