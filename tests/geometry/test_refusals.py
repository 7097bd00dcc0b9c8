"""What can't be built is refused by name; a metric size written in inches is the same size; wire goes through drilled heads only."""

from __future__ import annotations

import copy
import re
import tomllib
from dataclasses import replace
from importlib.resources import files
from math import pi
from typing import Any

import numpy as np
import pytest

from calc import hardware
from geometry import features, high_speed, mass, origin, solid
from geometry.buildable import screws
from geometry.joints import Fit, ScrewJoint, WireJoint
from geometry.machine import Machine, MachineError, accept
from geometry.part import Spec
from geometry.reducer import Reducer, assemble, blank_of, build, prove
from tests.geometry.test_reducer import radii_at

TWO_MICROMETRES = 0.002
METRIC = re.compile(r"(\d+) mm")


def shipped(name: str = "millrace") -> dict[str, Any]:
    return tomllib.loads(files("scenes").joinpath("machines", f"{name}.toml").read_text(encoding="utf-8"))


def changed(**sections: dict[str, Any]) -> Machine:
    data = shipped()
    for name, values in sections.items():
        data[name] |= values
    return accept(data)


def inched(value: Any) -> Any:
    """The same value with every whole metric diameter spelled in four-place inches."""
    if isinstance(value, dict):
        return {key: inched(item) if key != "readings" else item for key, item in value.items()}
    if isinstance(value, str) and (match := METRIC.fullmatch(value)):
        return f"{float(match[1]) / 25.4:.4f} in"
    return value


SEATS = (
    ("high_speed_shaft", "bearing_seat"), ("high_speed_shaft", "pinion_seat"), ("low_speed_shaft", "bearing_seat"), ("low_speed_shaft", "lower_seat"),
    ("low_speed_shaft", "gear_seat"), ("high_speed_cartridge", "pair_seat"), ("high_speed_cartridge", "roller_seat"), ("high_speed_cartridge", "body"),
    ("low_speed_cartridge", "pair_seat"), ("low_speed_cartridge", "body"), ("carrier", "roller_seat"), ("carrier", "body"),
)  # fmt: skip


def meets(red: Reducer) -> list[tuple[str, str]]:
    """Fits whose solids lie more than 2 um off the diameters that the joint states."""
    wrong = []
    for joint in red.of_kind(Fit):
        for part, diameter in ((joint.bore_part, joint.bore_mean), (joint.shaft_part, joint.shaft_mean)):
            along = float(np.array(joint.at) @ np.array(joint.axis)) + 0.13 * joint.grip
            radii = radii_at(red, part, joint.axis, along)
            if not len(radii) or np.abs(radii - diameter / 2).min() > TWO_MICROMETRES:
                wrong.append((joint.name, part))
    return wrong


def test_metric_seats_written_in_inches_are_the_same_machine() -> None:
    data = shipped()
    for section, name in SEATS:
        data[section][name] = inched(data[section][name])
    assert data["high_speed_shaft"]["bearing_seat"]["diameter"] == "2.3622 in"
    red = assemble(accept(data))
    assert [part.name for part in red.parts if not solid.closed(build(part))] == []
    assert meets(red) == []


def test_a_seat_beyond_the_rounding_of_an_inch_size_is_refused() -> None:
    data = shipped()
    data["high_speed_shaft"]["bearing_seat"]["diameter"] = "2.3625 in"
    with pytest.raises(MachineError, match=r"inner_bearing\.bore = 60\.000 mm: its bearing_seat differs"):
        accept(data)


def test_every_torque_of_the_shipped_machines_is_far_below_what_stretches_the_screw() -> None:
    # M12 of class 12.9: 0.2 x 12 mm x 84.3 mm2 (ISO 898-1 stress area) x 1080 MPa, by hand
    assert screws.most_torque("M12") == pytest.approx(0.2 * 12.0 * 84.3 * 1080.0 / 1000.0, rel=1e-3)
    for name in ("millrace", "slipway"):
        for joint in assemble(accept(shipped(name))).of_kind(ScrewJoint):
            assert joint.torque is None or joint.torque < 0.7 * screws.most_torque(joint.thread), joint.name


@pytest.mark.parametrize("count", [4, 5, 6, 7])
def test_a_wire_goes_through_every_drilled_head_once(count: int) -> None:
    circle = accept(shipped()).high_speed_cartridge.retainer.screws.model_copy(update={"count": count})
    runs = high_speed.wire_points(circle, 6.0)
    assert [len(run) for run in runs] == [2] * (count // 2 - count % 2) + [3] * (count % 2)
    heads = {(round(x, 6), round(y, 6)) for run in runs for x, y, _ in run}
    assert len(heads) == count == sum(len(run) for run in runs)


def test_an_odd_circle_is_wired_whole_in_one_closed_body() -> None:
    data = shipped()
    data["carrier"]["screws"]["count"] = 7
    red = assemble(accept(data))
    assert solid.closed(build(red.by_name["carrier_wire"]))
    size, strand = hardware.socket_screw("M10"), 0.5
    wire = features.from_solid(build(red.by_name["carrier_wire"]))
    for index in range(7):
        angle = pi / 8 + 2 * pi * index / 7
        x, y = 103.0 * np.cos(angle), 103.0 * np.sin(angle)
        head = features.rod((x, y, 0.0), (x, y, size.head_height), size.head_diameter / 2, 64)
        # one strand across the whole head: its section times the head's diameter; a hexagon has 0.827 of its circle
        assert (wire ^ head).volume() > 0.8 * pi * strand**2 * size.head_diameter, index


def test_undrilled_heads_get_no_wire() -> None:
    data = shipped()
    del data["carrier"]["screws"]["drilled"]
    red = assemble(accept(data))
    assert red.left_out == ("carrier_wire",)
    assert "carrier_wire" not in red.by_name
    assert sorted(joint.name for joint in red.of_kind(WireJoint)) == ["inner_retainer_wire", "lower_retainer_wire"]


def test_lockwire_passes_outside_what_its_screws_hold_from_the_fewest_screws_that_are_accepted_on() -> None:
    """The carrier's wire against the carrier's body, as solids: clear with six heads, cut through with five."""
    data = shipped()
    data["carrier"]["screws"]["count"] = 6
    machine = accept(data)
    fewer = machine.carrier.screws.model_copy(update={"count": 5, "circle": 205.0})
    for one, clear in (
        (machine, True),
        (machine.model_copy(update={"carrier": machine.carrier.model_copy(update={"screws": fewer})}), False),
    ):
        red = assemble(one)
        wire, carrier = (
            features.from_solid(build(part)).transform(part.pose[:3])
            for part in (red.by_name["carrier_wire"], red.by_name["carrier"])
        )
        assert ((wire ^ carrier).volume() == 0.0) is clear
        if not clear:
            lines = screws.circle_faults(next(circle for circle in screws.circles(one) if circle.section == "carrier"))
            assert any(line.startswith("carrier.screws.count = 5: the lockwire") for line in lines)


def test_the_widest_upper_flange_that_is_accepted_leaves_the_breather_its_place() -> None:
    data = shipped()
    data["low_speed_cartridge"]["flange_diameter"] = "339.3 mm"
    red = assemble(accept(data))
    breather, flange = (
        features.from_solid(build(part)).transform(part.pose[:3])
        for part in (red.by_name["breather"], red.by_name["low_speed_cartridge"])
    )
    assert (breather ^ flange).volume() == 0.0
    assert (breather.translate((6.0, -4.0, 0.0)) ^ flange).volume() > 0.0


def test_a_gear_whose_teeth_reach_its_back_face_is_refused() -> None:
    """Distances along the axis; the root at the heel by the cone distance, the pitch angle and the dedendum."""
    machine = accept(shipped())
    blank = blank_of(machine)
    cone, angle = blank.cones.outer, blank.cones.angles[1]
    root = cone * np.cos(angle) + blank.outer_dedenda[1] * np.sin(angle)
    data = shipped()
    data["gears"]["gear_mounting_distance"] = {"size": f"{root:.3f} mm", "plus": "0.05 mm", "minus": "0.05 mm"}
    with pytest.raises(MachineError) as caught:
        accept(data)
    (line,) = (line for line in caught.value.faults if "no rim is left" in line)
    assert f"accepted: at least {root + 0.3 * 8.0:.3f} mm (root at the heel {root:.3f} mm)" in line


def test_a_part_that_cannot_be_built_is_named_with_its_section() -> None:
    red = assemble(accept(shipped()))
    clockwise = Spec("steel", loops=(((1.0, 0.0), (1.0, 1.0), (2.0, 1.0), (2.0, 0.0)),))
    parts = tuple(replace(part, spec=clockwise) if part.name == "lower_thrower" else part for part in red.parts)
    broken = Reducer(red.machine, red.layout, red.blank, parts, red.joints, red.chains)
    with pytest.raises(MachineError) as caught:
        prove(broken)
    (line,) = caught.value.faults
    assert line.startswith("spacers: lower_thrower can't be built: loop") and "accepted: counter-clockwise" in line
    with pytest.raises(MachineError, match="spacers: lower_thrower can't be built"):
        build(broken.by_name["lower_thrower"])


@pytest.mark.parametrize("name", ["millrace", "slipway"])
def test_every_part_has_a_section_of_the_file(name: str) -> None:
    machine = accept(shipped(name))
    for part in assemble(machine).parts:
        holder: Any = machine
        for key in origin.section_of(part.name).split("."):
            holder = getattr(holder, key)
    assert origin.section_of("high_speed_bearing_1_inner_ring") == "high_speed_pair"
    assert origin.section_of("pinion_locknut") == "high_speed_shaft"


def test_a_proven_reducer_has_a_mass_for_every_part() -> None:
    red = assemble(accept(shipped("slipway")))
    prove(red)
    assert all(mass.properties(part.spec).mass > 0.0 for part in red.parts)


def test_a_refused_machine_leaves_the_given_tables_alone() -> None:
    data = shipped()
    data["gears"]["face_width"] = "wide"
    before = copy.deepcopy(data)
    with pytest.raises(MachineError):
        accept(data)
    assert data == before
