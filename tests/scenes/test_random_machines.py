"""Any change to a shipped machine either is refused by field, or makes a whole reducer with a number at every step."""

from __future__ import annotations

import copy
import math
import re
import tomllib
from importlib.resources import files
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from geometry import mass, solid
from geometry.machine import Machine, MachineError, accept
from geometry.reducer import assemble, build
from scenes.explain import Explainer
from scenes.frame import Callout

FIT_CLASSES = {
    "g6": ("f6", "g6", "h6"),
    "k5": ("j6", "k5", "k6", "m5"),
    "m5": ("k5", "m5", "m6"),
    "r6": ("n6", "p6", "r6"),
    "s6": ("p6", "r6", "s6"),
}
NUMBER = re.compile(r"^(-?\d+(?:\.\d+)?) (mm|in|deg)$")
MOST_CHANGES = 4
FACTORS = (0.3, 0.5, 0.8, 0.95, 0.99, 0.999, 1.001, 1.01, 1.05, 1.2, 2.0, 3.0)
LINE = re.compile(r"machine file: \[?[a-z_.0-9]+")


def shipped(name: str) -> dict[str, Any]:
    return tomllib.loads(files("scenes").joinpath("machines", f"{name}.toml").read_text(encoding="utf-8"))


def places(table: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Paths of all values that can be changed."""
    if isinstance(table, dict):
        return [found for key, value in table.items() for found in places(value, (*path, key))]
    if isinstance(table, list):
        return [found for index, value in enumerate(table) for found in places(value, (*path, index))]
    wanted = (isinstance(table, str) and (NUMBER.match(table) or table in FIT_CLASSES)) or (
        isinstance(table, int) and path[-1] != "name"
    )
    return [path] if wanted else []


PLACES = {name: places(shipped(name)) for name in ("millrace", "slipway")}


@st.composite
def changed(draw: st.DrawFn) -> dict[str, Any]:
    """The tables of a shipped machine with a few values changed; every size by a third to three times, every count up to three times."""
    name = draw(st.sampled_from(sorted(PLACES)))
    data = copy.deepcopy(shipped(name))
    for path in draw(st.lists(st.sampled_from(PLACES[name]), min_size=1, max_size=MOST_CHANGES, unique=True)):
        holder = data
        for key in path[:-1]:
            holder = holder[key]
        value = holder[path[-1]]
        if isinstance(value, int):
            holder[path[-1]] = draw(st.integers(max(1, value // 3), value * 3))
        elif value in FIT_CLASSES:
            holder[path[-1]] = draw(st.sampled_from(FIT_CLASSES[value]))
        else:
            number, unit = NUMBER.match(value).groups()  # type: ignore[union-attr]
            size = draw(st.sampled_from(FACTORS)) * float(number)
            holder[path[-1]] = f"{size:.5f} {unit}"
    return data


def whole(machine: Machine) -> None:
    """Every part closed and heavier than nothing, every note a finite number, on every step."""
    red = assemble(machine)
    assert [part.name for part in red.parts if not solid.closed(build(part))] == []
    assert all(mass.properties(part.spec).mass > 0.0 for part in red.parts)
    explainer = Explainer(machine)
    start = explainer.start_settings()
    for step in explainer.procedure.order:
        notes: tuple[Callout, ...] = explainer.callouts(start, step)
        for note in notes:
            assert math.isfinite(note.value) or note.value == math.inf, (step, note.key)
            assert "{" not in note.text and "nan" not in note.text, note.text


def judge(data: dict[str, Any]) -> bool:
    """True for a whole reducer, False for a refusal in clear words."""
    try:
        machine = accept(data)
    except MachineError as refused:
        for line in refused.faults:
            assert LINE.match(line) and ("accepted" in line or "missing" in line), line
            assert "nan" not in line and len(line) < 700, line
        return False
    whole(machine)
    return True


@given(changed())
@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
def test_a_changed_machine_is_whole_or_refused_by_field(data: dict[str, Any]) -> None:
    judge(data)


@pytest.mark.long
@given(changed())
@settings(max_examples=300, deadline=None, suppress_health_check=list(HealthCheck))
def test_many_changed_machines_are_whole_or_refused_by_field(data: dict[str, Any]) -> None:
    judge(data)


@given(teeth=st.tuples(st.integers(12, 20), st.integers(36, 60)), fit=st.sampled_from(FIT_CLASSES["k5"]), screws=st.integers(4, 16))
@settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
def test_a_fair_share_of_changes_makes_a_reducer(teeth: tuple[int, int], fit: str, screws: int) -> None:
    data = shipped("millrace")
    scale = 46 / teeth[1]
    data["gears"] |= {"pinion_teeth": teeth[0], "gear_teeth": teeth[1], "outer_module": f"{8 * scale:.4f} mm"}
    data["high_speed_shaft"]["bearing_seat"]["fit"] = fit
    data["high_speed_cover"]["screws"]["count"] = screws
    judge(data)
