"""Screws, threads, locknuts, tab washers and dowels against printed tables."""

from __future__ import annotations

import pytest

from calc import hardware, tables
from tests.calc.rows import Row, cases

MICROMETRE = 1e-3
SCREWS = [row["size"] for name in ("iso4762", "asme_b18_3") for row in tables.load(name).records()]
NUTS = [row["size"] for row in tables.load("iso2982_nuts").records()]
SHIPPED = ("iso4762", "asme_b18_3", "iso273", "iso2982_nuts", "iso2982_washers", "iso8734", "threads_metric", "threads_unc")
ALSO_SHIPPED = ("din6885", "asme_b17_1", "materials")


@pytest.mark.parametrize("row", cases("SCR-", "ISO 724 basic pitch"))
def test_thread_has_the_basic_sizes_of_the_standard(row: Row) -> None:
    got = hardware.thread(f"M{row.number('d'):g}")
    assert got.pitch == row.number("P")
    # The tolerance reads "0.001; As 0.5 %": diameters by the first, the area by the second.
    for name, value in {"d2": got.pitch_diameter, "D1": got.minor_diameter, "d3": got.root_diameter}.items():
        assert value == pytest.approx(row.want(name), abs=0.001)
    row.near(got.stress_area, "As")


@pytest.mark.parametrize("row", cases("SCR-", "ISO 4762 head"))
def test_socket_screw_head_is_that_of_the_standard(row: Row) -> None:
    got = hardware.socket_screw(row.inputs)
    for name, value in {"dk": got.head_diameter, "k": got.head_height, "s": got.hexagon, "t": got.socket_depth}.items():
        row.near(value, name)


@pytest.mark.parametrize("row", cases("SCR-", "ISO 273 clearance hole"))
def test_clearance_hole_is_that_of_the_standard(row: Row) -> None:
    for series in ("fine", "medium", "coarse"):
        row.near(hardware.clearance_hole(row.inputs, series), series)
    assert hardware.socket_screw(row.inputs).clearance_hole == row.want("medium")


@pytest.mark.parametrize("row", cases("KEY-", "locknut (slotted round) thread"))
def test_locknut_has_thread_outside_and_width_of_the_standard(row: Row) -> None:
    got = hardware.locknut(row.inputs)
    assert got.thread == row.expected_text.split(";")[0].removeprefix("thread=")
    row.near(got.outside, "D")
    row.near(got.width, "B")
    assert hardware.locknut(got.thread) == got


@pytest.mark.parametrize("row", cases("KEY-", "locknut slot width"))
def test_locknut_slots_are_those_of_the_standard(row: Row) -> None:
    got = hardware.locknut(row.inputs)
    row.near(got.slot_width, "b")
    row.near(got.slot_depth, "h")


@pytest.mark.parametrize("row", cases("KEY-", "lockwasher tongue"))
def test_tab_washer_is_that_of_the_standard(row: Row) -> None:
    got = hardware.tab_washer(row.inputs)
    for name, value in {"tongue": got.tongue_width, "M": got.tongue_to_bore, "S": got.thickness}.items():
        row.near(value, name)


@pytest.mark.parametrize("row", cases("KEY-", "dowel pin ISO 8734 diameter"))
def test_dowel_has_m6_limits_and_its_fit_in_a_reamed_hole(row: Row) -> None:
    pin = hardware.dowel(row.number("d"))
    row.near(pin.least, "dmin")
    row.near(pin.greatest, "dmax")
    least, greatest = hardware.dowel_clearance(row.number("d"))
    assert least / MICROMETRE == pytest.approx(row.want("fit min"), abs=0.5)
    assert greatest / MICROMETRE == pytest.approx(row.want("max"), abs=0.5)


@pytest.mark.parametrize("row", cases("KEY-", "dowel pin chamfer"))
def test_dowel_chamfer_is_that_of_the_standard(row: Row) -> None:
    wanted = [float(piece.split("=")[1]) for piece in row.expected_text.split(";")]
    diameters = [float(piece.split("=")[1]) for piece in row.inputs.split(";")]
    assert [hardware.dowel(diameter).chamfer for diameter in diameters] == wanted


@pytest.mark.parametrize("size", SCREWS)
def test_screw_sizes_stand_in_the_order_that_a_fitter_expects(size: str) -> None:
    screw = hardware.socket_screw(size)
    assert screw.socket_depth < screw.head_height and screw.hexagon < screw.head_diameter
    # A drilled hole for the tap lies between the nut's minor diameter and a tenth of a pitch over three quarters of thread.
    assert screw.minor_diameter - 0.05 * screw.pitch < screw.tap_drill < screw.diameter - 0.7 * screw.pitch
    assert screw.diameter < screw.clearance_hole < 1.15 * screw.diameter
    assert screw.head_height == pytest.approx(screw.diameter, rel=0.005)
    assert 1.4 * screw.diameter < screw.head_diameter <= 1.7 * screw.diameter + 1e-9
    assert hardware.clearance_hole(size, "fine") < screw.clearance_hole < hardware.clearance_hole(size, "coarse")


@pytest.mark.parametrize("size", NUTS)
def test_tab_washer_suits_its_nut(size: str) -> None:
    nut, washer = hardware.locknut(size), hardware.tab_washer(size)
    assert washer.bore == nut.thread_diameter == int(size) * 5
    assert washer.tab_width <= nut.slot_width
    assert nut.thread_diameter < nut.chamfer_face == washer.chamfer_face < nut.outside < washer.outside
    # The tongue reaches into the thread, not past it, and each tab is long enough to fill a slot when bent.
    assert washer.bore / 2.0 < washer.tongue_to_bore < washer.bore
    assert (washer.outside - nut.outside) / 2.0 + 1e-9 >= washer.thickness + 0.5
    assert washer.tabs % nut.slots


def test_locknut_grows_with_its_size_number() -> None:
    nuts = [hardware.locknut(size) for size in NUTS]
    for smaller, larger in zip(nuts, nuts[1:], strict=False):
        assert smaller.outside < larger.outside and smaller.width <= larger.width and smaller.slot_width <= larger.slot_width


def test_fine_pitch_keeps_the_head_and_changes_the_tap_drill() -> None:
    fine, coarse = hardware.socket_screw("M12x1.25"), hardware.socket_screw("M12")
    assert fine.head_diameter == coarse.head_diameter
    assert fine.tap_drill == pytest.approx(10.75) and fine.minor_diameter > coarse.minor_diameter


def test_inch_screw_is_read_in_its_usual_spellings() -> None:
    for spelling in ("1/2-13 UNC", "1/2-13", "1/2 in", '1/2"'):
        screw = hardware.socket_screw(spelling)
        assert screw.designation == "1/2-13 UNC"
        assert screw.head_diameter == pytest.approx(19.05)
    # Textbook stress area of 1/2-13 UNC, 0.1419 in2 (Shigley 9e Table 8-2).
    assert hardware.thread("1/2-13").stress_area / 25.4**2 == pytest.approx(0.1419, abs=0.00005)


@pytest.mark.parametrize("wrong", ["M11", "M6.5", "1/2-20", "12", "", "M12x9", "W 1/2"])
def test_unknown_screw_is_refused_with_what_is_accepted(wrong: str) -> None:
    with pytest.raises(ValueError, match="accepted: "):
        hardware.socket_screw(wrong)


@pytest.mark.parametrize("wrong", ["03", 23, "M60x1.5", "M60", "sixty"])
def test_unknown_locknut_is_refused_with_the_threads_that_exist(wrong: str | int) -> None:
    with pytest.raises(ValueError, match="M60x2"):
        hardware.locknut(wrong)


def test_unknown_dowel_and_series_are_refused() -> None:
    with pytest.raises(ValueError, match="accepted: 3, 4"):
        hardware.dowel(7)
    with pytest.raises(ValueError, match="accepted: fine"):
        hardware.clearance_hole("M12", "wide")  # type: ignore[arg-type]


@pytest.mark.parametrize("name", SHIPPED + ALSO_SHIPPED)
def test_every_table_names_its_source_and_how_it_was_confirmed(name: str) -> None:
    assert {"title", "source", "confirmed"} <= set(tables.load(name).notes)
    assert tables.load(name).records()


def test_designations_are_those_of_a_drawing() -> None:
    assert hardware.locknut(12).designation == "locknut size 12, M60x2"
    assert hardware.tab_washer("M60x2").designation == "tab washer size 12"
