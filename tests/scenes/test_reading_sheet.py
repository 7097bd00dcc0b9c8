"""The sheet of readings: what a fitter is told to reach, and what only judges."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

import pytest

from geometry.machine import accept
from scenes.examples import open_machine
from scenes.explain import Explainer
from scenes.reading_sheet import readings


@cache
def explainer(name: str) -> Explainer:
    return Explainer(*open_machine(name))


def lines(made: Explainer, what: str) -> list[dict[str, Any]]:
    rows = readings(made, made.start_settings())["rows"]
    return [line for row in rows for line in row["lines"] if line["what"].startswith(what)]


@pytest.mark.parametrize(("name", "torques"), [("millrace", {"160.0 N·m", "60.0 N·m", "18.0 N·m"}), ("slipway", {"55.0 lbf·ft", "50.0 lbf·ft", "20.0 lbf·ft"})])  # fmt: skip
def test_the_torque_to_reach_is_the_one_of_the_machine_file_and_no_ceiling_is_printed(name: str, torques: set[str]) -> None:
    found = lines(explainer(name), "Torque of")
    assert {line["expected"] for line in found} == {f"target: {torque}" for torque in torques}
    assert {line["limit"] for line in found} == {""}
    assert all(line["expected"].endswith(f" {line['unit']}") for line in found)


def test_a_torque_over_its_ceiling_is_no_target() -> None:
    data = tomllib.loads(files("scenes").joinpath("machines", "millrace.toml").read_text(encoding="utf-8"))
    data["high_speed_cartridge"]["screws"]["torque"] = "110 N m"
    for line in lines(Explainer(accept(data)), "Torque of the cartridge screws"):
        assert "target" not in line["expected"] and "at most" in line["limit"]


def test_the_unloaded_pattern_is_printed_as_no_target() -> None:
    (line,) = lines(explainer("millrace"), "Tooth pattern")
    assert "no target" in line["expected"] and "expected" not in line["expected"]


def test_every_screw_has_its_blank_and_the_run_three_temperatures() -> None:
    """Ten split screws, eight in each flange, six in each cover: the machine file."""
    found = lines(explainer("millrace"), "Torque of")
    assert [line["blanks"] for line in found if line["kind"] == "screws"][-5:] == [10, 8, 8, 6, 6]
    (run,) = lines(explainer("millrace"), "Temperature in the first run")
    assert (run["kind"], run["blanks"], run["unit"]) == ("run", 3, "min")
    (oil,) = lines(explainer("slipway"), "Oil filled in")
    assert (oil["kind"], oil["unit"]) == ("value", "US gal")


def test_locks_rings_and_feelers_have_their_blanks() -> None:
    """Six, eight and six wired heads, four nuts, two rings of 120 °C, 0.03 mm: the machine file and the step's words."""
    rows = readings(explainer("millrace"), explainer("millrace").start_settings())["rows"]
    by = {(row["number"], line["read"]): line | {"warm": row["warm"]} for row in rows for line in row["lines"]}
    wired = [by[number, "screws_locked"] for number in (16, 19, 32)]
    assert [(line["kind"], line["expected"]) for line in wired] == [("count", f"expected: {heads}") for heads in (6, 8, 6)]
    assert {by[number, "nut_locked"]["kind"] for number in (11, 28, 39, 62)} == {"choice"}
    rings = [by[number, "ring_temperature"] for number in (8, 24)]
    assert {(line["kind"], line["unit"], line["limit"]) for line in rings} == {("value", "°C", "limit at most 120 °C")}
    gap = by[6, "shoulder_gap"]
    assert (gap["kind"], gap["blanks"], gap["unit"]) == ("feeler", 4, "mm")
    assert by[5, "bore_clearance"]["warm"]
