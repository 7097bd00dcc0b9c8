"""The worked examples of textbooks that calc runs end to end: where each is, and that its test names book, edition and example."""

from __future__ import annotations

import importlib
import inspect
import re

import pytest

EXAMPLES = {
    "test_fits.test_a_loose_running_fit_of_a_textbook_has_its_printed_sizes": "Shigley",
    "test_interference.test_press_fitted_gear_of_a_textbook_from_interference_to_torque": "Norton",
    "test_interference.test_pressure_of_a_steel_shaft_in_a_steel_hub_by_radial_interference": "Brown",
    "test_bolts.test_textbook_bolt_preload_stress_and_both_torques": "Shigley",
    "test_bolts.test_textbook_cast_iron_joint_preload": "Shigley",
    "test_bolts.test_textbook_permanent_joint_torque": "Shigley",
    "test_keys.test_textbook_key_that_is_as_strong_as_its_shaft": "Faires",
    "test_bevel.test_the_textbook_straight_pair_has_its_printed_cones": "Mott",
    "test_bevel.test_the_textbook_straight_pair_has_its_printed_mean_depths": "Mott",
    "test_heat.test_textbook_pipe_loses_its_heat_by_convection_and_radiation": "Incropera",
    "test_induction.test_quenched_sphere_of_a_textbook_read_as_heating": "Incropera",
    "test_duplex.test_play_and_contact_angle_of_a_textbooks_bearings": "Harris",
}
"""Test of this folder, and the first author of its book. Where a number or an edition comes from memory, the test says so."""
CITED = re.compile(r"^(?P<author>[\w &]+), (?P<book>[^,]+), .*edition.*?(Examples?|Problem|example on p\.)[ A-Za-z]* \d")


@pytest.mark.parametrize(("place", "author"), EXAMPLES.items(), ids=list(EXAMPLES))
def test_each_names_its_book_its_edition_and_its_example(place: str, author: str) -> None:
    module, name = place.split(".")
    told = " ".join((inspect.getdoc(getattr(importlib.import_module(f"tests.calc.{module}"), name)) or "").split())
    cited = CITED.match(told)
    assert cited and cited["author"].startswith(author), told


def test_no_textbook_example_is_left_off_the_list() -> None:
    for module in {place.split(".")[0] for place in EXAMPLES}:
        for name, test in inspect.getmembers(importlib.import_module(f"tests.calc.{module}"), inspect.isfunction):
            if name.startswith("test_") and CITED.match(" ".join((inspect.getdoc(test) or "").split())):
                assert f"{module}.{name}" in EXAMPLES
