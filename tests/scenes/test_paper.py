"""A reading on paper. Expected figures by hand from the exact inch (25.4 mm), pound-force foot (1.355818 N·m, NIST SP 811) and
°F = 1.8 °C + 32."""

from __future__ import annotations

from pathlib import Path

import pytest

from calc.units import System
from scenes import filled_sheet, left_report, paper, record, record_listing
from scenes.examples import open_machine
from scenes.explain import Explainer
from scenes.reads import Kind, Read
from scenes.record_listing import Opened, opened
from scenes.wording import speaking


@pytest.fixture(scope="module")
def millrace() -> Explainer:
    return Explainer(open_machine("millrace")[0])


@pytest.mark.parametrize(
    ("kind", "given", "system", "told"),
    [
        ("length", ["0.45 mm", "0.4501 mm"], "mm", "0.45 mm; 0.4501 mm"),
        ("length", ["0.0177 in"], "inch", "0.0177 in"),
        ("length", ["0.254 mm", "0.508 mm"], "inch", "0.0100 in; 0.0200 in (0.254 mm; 0.508 mm)"),
        ("length", ["0.01 in", "0.3 mm"], "mm", "0.254 mm; 0.3 mm (0.01 in; 0.3 mm)"),
        ("length", ["1e-1 mm", "25 um"], "mm", "1e-1 mm; 25 um"),
        ("torque", ["8 x 60 N m"], "mm", "8 × 60 N·m"),
        ("torque", ["8x60Nm"], "inch", "8 × 44.3 lbf·ft (8 × 60 N·m)"),
        ("torque", ["50 lbf ft"], "mm", "67.8 N·m (50 lbf·ft)"),
        ("volume", ["6.5 L"], "inch", "1.72 US gal (6.5 L)"),
        ("time", ["90 min"], "inch", "90 min"),
        ("run", ["0 min 20 degC", "20 min 48.5 degC"], "mm", "0 min 20 °C; 20 min 48.5 °C"),
        ("run", ["0 min 20 degC", "20 min 48.5 degC"], "inch", "0 min 68 °F; 20 min 119.3 °F (0 min 20 °C; 20 min 48.5 °C)"),
        ("words", ["0.5 mm of rust"], "inch", "0.5 mm of rust"),
    ],
)
def test_a_value_is_told_in_the_units_of_the_sheet_and_as_typed_in_brackets(
    kind: Kind, given: list[str], system: System, told: str
) -> None:
    assert paper.values(Read("x", kind), given, system).line.replace("\u00a0", " ") == told


def test_a_dial_at_another_radius_keeps_its_radius() -> None:
    with speaking("es"):
        told = paper.values(Read("backlash", "length", pitch=200.0), ["0.39 mm at 240 mm"], "inch").line
    assert told.replace("\u00a0", " ") == "0,0154 in a 9,4488 in (0,39 mm a 240 mm)"


def put(explainer: Explainer, path: Path, name: str, *values: str, state: str = "fitting", step: str = "") -> Opened:
    found = opened(explainer, path)
    read = found.reads[name]
    record_listing.put(found, record.reading(read, values, state, initials="AB", step=step or next(iter(read.steps), "")))
    return opened(explainer, path)


def line(found: Opened, name: str) -> dict[str, object]:
    rows = filled_sheet.content(found, found.planned.start_settings())["rows"]
    return next(one for row in rows for one in row["lines"] if one["name"].split()[0] == name and one["values"])


def test_what_stands_on_the_sheet_has_its_verdict_and_is_fine_no_more_once_a_gasket_was_changed(
    millrace: Explainer, tmp_path: Path
) -> None:
    path, now = tmp_path / "a", millrace.start_settings()
    put(millrace, path, "high_speed_end_play", *["0.05 mm"] * 3)
    put(millrace, path, "low_speed_end_play", *["0.5 mm"] * 3)
    found = put(millrace, path, "tools_in", "41")
    verdicts = [line(found, name)["verdict"] for name in ("high_speed_end_play", "low_speed_end_play", "tools_in")]
    assert verdicts == ["fine", "stop", ""]
    found = put(millrace, path, "gaskets.high_speed_float_gasket", *["0.4 mm"] * 4)
    changed = line(found, "high_speed_end_play")
    assert changed["verdict"] == "watch" and "gasket of entry 5" in str(changed["why"])
    assert line(found, "low_speed_end_play")["verdict"] == "stop"
    row = next(one for one in left_report.report(found, now)["setting"] if one["what"] == "High-speed end play")
    assert row["left"]["verdict"] == "watch" and "gasket of entry 5" in row["left"]["why"]
