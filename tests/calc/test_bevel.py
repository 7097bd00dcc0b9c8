"""Blanks, textbook proportions and first-order backlash of bevel pairs against outside checks."""

import csv
import json
import math
from collections.abc import Sequence
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calc import backlash, bevel
from tests.calc.rows import Row, cases, rows

INCH = 25.4
POUND_FORCE = 4.4482216152605  # N, exact by definition of pound and standard gravity
REFERENCE = json.loads((Path(__file__).parents[1] / "data" / "mesh" / "blank_A.json").read_text(encoding="utf-8"))[
    "A_14x41_spiral35"
]


def rad(degrees: float) -> float:
    return math.radians(degrees)


def pair_a(**changes: object) -> bevel.Blank:
    data = (
        dict(face_width=38.0, pressure_angle=rad(20), spiral_angle=rad(35), hand="left", cutter_radius=150.0, backlash=0.2)
        | changes
    )
    return bevel.blank(14, 41, 6.0, **data)  # type: ignore[arg-type]


A = pair_a()


def degrees(angles: Sequence[float]) -> list[float]:
    return [math.degrees(angle) for angle in angles]


@pytest.mark.parametrize(
    ("name", "got", "digits"),
    [
        ("delta_deg", degrees(A.cones.angles), 6),
        ("face_cone_deg", degrees(A.face_cones), 6),
        ("root_cone_deg", degrees(A.root_cones), 6),
        ("theta_a_deg", degrees(A.addendum_angles), 6),
        ("theta_f_deg", degrees(A.dedendum_angles), 6),
        ("R_e", [A.cones.outer], 6),
        ("R_m", [A.cones.mean], 6),
        ("R_i", [A.cones.inner], 6),
        ("m_mn", [A.mean_normal_module], 6),
        ("c_ham", [A.gear_addendum_factor], 6),
        ("x_hm1", [A.profile_shift], 6),
        ("h_mw", [A.mean_working_depth], 6),
        ("c", [A.clearance], 6),
        ("h_am", A.mean_depths.addenda, 6),
        ("h_fm", A.mean_depths.dedenda, 6),
        ("h_ae", A.outer_addenda, 6),
        ("h_fe", A.outer_dedenda, 6),
        ("d_e", A.outer_diameters, 6),
        ("d_m", A.mean_diameters, 6),
        ("d_ae", A.tip_diameters, 6),
        ("d_fe", A.root_diameters, 6),
        ("t_xo", A.crown_to_crossing_point, 6),
        ("t_xi", A.front_crown_to_crossing_point, 6),
        ("t_B", A.mounting_distances, 6),
        ("eta_rad", A.half_tooth_angles, 6),
        ("s_mn", A.mean_thicknesses, 6),
        ("beta_toe_mean_heel_deg", degrees([math.asin(A.spiral_sine(r)) for r in (A.cones.inner, A.cones.mean, A.cones.outer)]), 6),
        ("dj_dP_dG_closed_at_crown_apex", [r.touching for r in (backlash.mesh_rates(A).pinion, backlash.mesh_rates(A).gear)], 6),
        ("dj_closed_at_pitch_cone", [r.pitch_cone for r in (backlash.mesh_rates(A).pinion, backlash.mesh_rates(A).gear)], 6),
        ("dj_handbook", [r.handbook for r in (backlash.mesh_rates(A).pinion, backlash.mesh_rates(A).gear)], 6),
    ],
)  # fmt: skip
def test_the_blank_of_the_reference_pair_is_met_to_the_last_printed_digit(name: str, got: list[float], digits: int) -> None:
    # reference: an independent trial implementation of the same blank, tests/data/mesh/blank_A.json
    assert list(got) == pytest.approx(REFERENCE[name], abs=0.5001 * 10.0**-digits, rel=0)


@pytest.mark.parametrize("row", [c for n in ("001", "002", "004", "005") for c in cases(f"BEV-{n}")])
def test_pitch_cones_follow_from_teeth_and_module(row: Row) -> None:
    z1, z2 = int(row.number("z1")), int(row.number("z2"))
    cones = bevel.pitch_cones(z1, z2, row.number("met"), row.number("b"), rad(row.number("Sigma")))
    row.near(math.degrees(cones.angles[0]), "delta1")
    row.near(math.degrees(cones.angles[1]), "delta2")
    row.near(cones.outer, "Re")
    row.near(cones.mean, "Rm")


@pytest.mark.parametrize("row", cases("BEV-007"))
def test_profile_shift_moves_depth_from_the_gear_addendum_to_the_pinion(row: Row) -> None:
    depths = bevel.mean_depths(row.number("mmn"), row.number("xhm1"), addendum_factor=1.0, clearance_factor=0.25)
    for name, got in zip(("ham1", "ham2", "hfm1", "hfm2", "c"), (*depths.addenda, *depths.dedenda, depths.clearance), strict=True):
        row.near(got, name)


@pytest.mark.parametrize("row", cases("BEV-008"))
def test_face_cones_run_parallel_to_the_mates_root_cones(row: Row) -> None:
    fall = rad(row.number("theta_a2")), rad(row.number("theta_f2"))
    pitch = rad(row.number("delta1")), rad(row.number("delta2"))
    face, root = bevel.face_and_root_cones(pitch, (fall[1], fall[0]), fall)
    for name, got in zip(("delta_a1", "delta_a2", "delta_f1", "delta_f2"), degrees(face) + degrees(root), strict=True):
        row.near(got, name)


def straight_textbook_pair() -> bevel.Blank:
    return bevel.blank(16, 48, INCH / 8.0, face_width=1.0 * INCH, pressure_angle=rad(20), backlash=0.0)


@pytest.mark.parametrize("row", cases("BEV-010"))
def test_the_textbook_straight_pair_has_its_printed_cones(row: Row) -> None:
    """Mott, Machine Elements in Mechanical Design, 4th edition, Example Problem 8-6, p. 337; nominal face width 0.30 of the cone distance."""
    cones = straight_textbook_pair().cones
    inches, angles = 0.002, 0.01
    assert math.degrees(cones.angles[0]) == pytest.approx(row.want("gamma"), abs=angles)
    assert math.degrees(cones.angles[1]) == pytest.approx(row.want("Gamma"), abs=angles)
    assert cones.outer / INCH == pytest.approx(row.want("A0"), abs=inches)
    assert cones.mean / INCH == pytest.approx(row.want("Am"), abs=inches)
    assert cones.mean / cones.outer == pytest.approx(row.want("ratio"), abs=inches)
    assert 0.30 * cones.outer / INCH == pytest.approx(row.want("Fnom"), abs=inches)


@pytest.mark.parametrize("row", cases("BEV-011"))
def test_the_textbook_straight_pair_has_its_printed_mean_depths(row: Row) -> None:
    """Mott, Machine Elements in Mechanical Design, 4th edition, Table 8-7, on the pair of Example Problem 8-6."""
    made = straight_textbook_pair()
    depths = made.mean_depths
    got = dict(h=made.mean_working_depth, c=depths.clearance, hm=made.mean_working_depth + depths.clearance,
               c1=made.gear_addendum_factor * INCH,
               aG=depths.addenda[1], aP=depths.addenda[0], bG=depths.dedenda[1], bP=depths.dedenda[0])  # fmt: skip
    for name, value in got.items():
        row.near(value / INCH, name)


@pytest.mark.parametrize("row", cases("BEV-013"))
def test_power_and_speed_give_the_tangential_load(row: Row) -> None:
    diameter, power = 3.333 * INCH, 5.0 * 550.0 * 0.3048 * POUND_FORCE
    pinion = bevel.pitch_cone_angles(row.number("mg"))[0]
    speed = bevel.pitch_line_speed(diameter, row.number("n") * 2.0 * math.pi / 60.0)
    row.near(math.degrees(pinion), "gamma")
    row.near(bevel.cone_distance(diameter, pinion) / INCH, "L")
    row.near(speed * 60.0 / 304.8, "vm")
    row.near(bevel.tangential_load(power, speed) / POUND_FORCE, "Ft")


@pytest.mark.parametrize("row", cases("BEV-014"))
def test_textbook_spiral_depths(row: Row) -> None:
    depths = bevel.spiral_outer_depths(row.number("m"), row.number("z2") / row.number("z1"))
    for name, got in zip(("ha1", "ha2", "hf1", "hf2"), (*depths.addenda, *depths.dedenda), strict=True):
        row.near(got, name)


@pytest.mark.parametrize("row", cases("BEV-016"))
def test_textbook_long_addendum_depths_and_crowns(row: Row) -> None:
    m, z1, z2 = row.number("m"), int(row.number("z1")), int(row.number("z2"))
    depths = bevel.long_addendum_outer_depths(m, z2 / z1)
    cones = bevel.pitch_cones(z1, z2, m, 1.0)
    for i, z in enumerate((z1, z2)):
        row.near(depths.addenda[i], f"ha{i + 1}")
        row.near(depths.dedenda[i], f"hf{i + 1}")
        row.near(bevel.tip_diameter(m * z, depths.addenda[i], cones.angles[i]), f"da{i + 1}")
        row.near(bevel.crown_to_apex(cones.outer, depths.addenda[i], cones.angles[i]), f"X{i + 1}")


def test_inch_practice_adds_two_thousandths_to_the_dedenda() -> None:
    plain, inch = bevel.long_addendum_outer_depths(3.0, 2.0), bevel.long_addendum_outer_depths(3.0, 2.0, 0.002 * INCH)
    assert [b - a for a, b in zip(plain.dedenda, inch.dedenda, strict=True)] == pytest.approx([0.0508, 0.0508])
    assert plain.addenda == inch.addenda


@pytest.mark.parametrize("row", cases("BEV-017"))
def test_standard_depths_and_crowns(row: Row) -> None:
    m, z1, z2 = row.number("m"), int(row.number("z1")), int(row.number("z2"))
    depths, cones = bevel.standard_outer_depths(m), bevel.pitch_cones(z1, z2, m, 1.0)
    for i, z in enumerate((z1, z2)):
        row.near(bevel.tip_diameter(m * z, depths.addenda[i], cones.angles[i]), f"da{i + 1}")
        row.near(bevel.crown_to_apex(cones.outer, depths.addenda[i], cones.angles[i]), f"X{i + 1}")
    row.near(math.degrees(bevel.dedendum_angle(depths.dedenda[0], cones.outer)), "theta_f")


@pytest.mark.parametrize("row", [c for n in ("019", "020", "022", "023", "025") for c in cases(f"BEV-{n}")])
def test_recommended_backlash_by_diametral_pitch(row: Row) -> None:
    low, high = (float(part) for part in row.inputs.split("=")[1].split(" ")[0].split("-"))
    limits = backlash.recommended_backlash(INCH / ((low + high) / 2.0), fine="7-13" in row.quantity)
    row.near(limits[0] / INCH, "min")
    row.near(limits[1] / INCH, "max")


@pytest.mark.parametrize("row", [c for n in ("026", "028") for c in cases(f"BEV-{n}")])
def test_least_backlash_by_module(row: Row) -> None:
    low, high = (float(part) for part in row.inputs.split("=")[1].split(".."))
    row.near(backlash.minimum_backlash((low + high) / 2.0))


@pytest.mark.parametrize("module", [0.9, 26.0])
def test_no_backlash_is_recommended_off_the_table(module: float) -> None:
    with pytest.raises(ValueError, match=r"accepted: 1\.27 to 25\.4 mm"):
        backlash.recommended_backlash(module)


def test_finer_pitch_never_asks_for_more_backlash() -> None:
    modules = [INCH / pitch for pitch in (1.1, 1.3, 1.6, 1.9, 2.2, 2.7, 3.2, 3.7, 4.5, 5.5, 7.0, 9.0, 12.0, 18.0)]
    for fine in (True, False):
        limits = [backlash.recommended_backlash(module, fine=fine) for module in modules]
        assert limits == sorted(limits, reverse=True)
        assert all(least < most for least, most in limits)


@pytest.mark.parametrize("row", [c for n in ("029", "031") for c in cases(f"BEV-{n}")])
def test_normal_backlash_from_circumferential(row: Row) -> None:
    row.near(backlash.normal_backlash(row.number("jt"), rad(row.number("alpha_n")), rad(row.number("beta_m"))))


@pytest.mark.parametrize("row", cases("BEV-032"))
def test_circumferential_backlash_from_normal(row: Row) -> None:
    row.near(backlash.circumferential_backlash(row.number("jn"), rad(row.number("alpha_n")), rad(row.number("beta_m"))))


@pytest.mark.parametrize("row", cases("BEV-034"))
def test_backlash_grows_from_mid_face_to_heel(row: Row) -> None:
    row.near(backlash.heel_backlash(row.number("jmt"), row.number("Re"), row.number("Rm")))


@pytest.mark.parametrize("row", [c for n in ("035", "037", "038") for c in cases(f"BEV-{n}")])
def test_handbook_backlash_change_by_pitch_angle(row: Row) -> None:
    angles = (rad(row.number(name)) for name in ("alpha_n", "delta", "beta_m"))
    row.near(backlash.backlash_change(row.number("a"), *angles))


@pytest.mark.parametrize("row", [c for n in ("040", "041", "043", "044") for c in cases(f"BEV-{n}")])
def test_handbook_backlash_change_by_tooth_numbers(row: Row) -> None:
    delta = bevel.pitch_cone_angles(row.number("z2") / row.number("z1"), rad(row.number("Sigma")))[int(row.number("member")) - 1]
    row.near(backlash.backlash_change(row.number("a"), rad(row.number("alpha_n")), delta, rad(row.number("beta_m"))))


@pytest.mark.parametrize("row", cases("BEV-046"))
def test_shift_for_a_wanted_backlash_change(row: Row) -> None:
    row.near(
        backlash.shift_for_backlash_change(
            row.number("djt"), rad(row.number("alpha")), rad(row.number("delta")), rad(row.number("beta"))
        )
    )


def test_every_outside_check_of_bevel_gears_is_used_here() -> None:
    used = Path(__file__).read_text(encoding="utf-8")
    assert [row.id for row in rows("BEV-") if f'"{row.id}"' not in used and f'"{row.id[4:]}"' not in used] == []


@given(shift=st.floats(-1.0, 1.0), pressure=st.floats(14.0, 28.0), pitch=st.floats(5.0, 85.0), spiral=st.floats(0.0, 45.0))
def test_shift_and_backlash_change_undo_each_other(shift: float, pressure: float, pitch: float, spiral: float) -> None:
    angles = rad(pressure), rad(pitch), rad(spiral)
    change = backlash.backlash_change(shift, *angles)
    assert backlash.shift_for_backlash_change(change, *angles) == pytest.approx(shift, rel=1e-12, abs=1e-300)
    assert backlash.normal_backlash(change, angles[0], angles[2]) == pytest.approx(
        backlash.normal_backlash_change(shift, angles[0], angles[1]), rel=1e-12, abs=1e-300
    )


@settings(deadline=None)
@given(teeth=st.tuples(st.integers(10, 25), st.integers(26, 60)), spiral=st.floats(0.0, 37.0), shaft=st.floats(70.0, 95.0))
def test_every_blank_has_one_clearance_and_equal_working_depth(teeth: tuple[int, int], spiral: float, shaft: float) -> None:
    m = 5.0
    width = 0.25 * bevel.pitch_cones(*teeth, m, 0.0, rad(shaft)).outer
    data = dict(
        face_width=width, pressure_angle=rad(20), spiral_angle=rad(spiral), hand="left", shaft_angle=rad(shaft), backlash=0.1
    )
    try:
        made = bevel.blank(*teeth, m, **data)  # type: ignore[arg-type]
    except bevel.BlankRefused as refused:
        assert refused.field in ("gear face cone", "shaft_angle")
        return
    for along in (made.cones.inner, made.cones.mean, made.cones.outer):
        for one, other in ((0, 1), (1, 0)):
            assert -made.root_height(other, along) - made.tip_height(one, along) == pytest.approx(made.clearance, rel=1e-12)
    assert sum(made.mean_depths.addenda) == pytest.approx(made.mean_working_depth, rel=1e-12)
    assert sum(made.cones.angles) == pytest.approx(made.shaft_angle, rel=1e-12)
    # both teeth and the mean normal backlash fill the normal pitch at mid-face
    normal = backlash.normal_backlash(made.backlash * made.cones.mean / made.cones.outer, 0.0, made.spiral_angle)
    assert sum(made.mean_thicknesses) + normal == pytest.approx(math.pi * made.mean_normal_module, rel=1e-12)


def test_uniform_depth_keeps_face_pitch_and_root_cones_parallel() -> None:
    made = pair_a(taper="uniform")
    assert made.face_cones == made.cones.angles == made.root_cones
    assert made.outer_addenda == made.mean_depths.addenda


def test_the_usual_cutter_radius_stands_in_for_an_unknown_one() -> None:
    assert pair_a(cutter_radius=None).cutter_radius == pytest.approx(1.35 * A.cones.mean)
    assert straight_textbook_pair().cutter_radius is None


def test_etched_mounting_distances_beat_the_default() -> None:
    assert pair_a(mounting_distances=(150.0, None)).mounting_distances == (150.0, A.mounting_distances[1])


@pytest.mark.parametrize(
    ("change", "field", "given"),
    [
        (dict(face_width=70.0), "face_width", "70.0 mm"),
        (dict(face_width=0.0), "face_width", "0.0 mm"),
        (dict(cutter_radius=30.0), "cutter_radius", "30.000 mm"),
        (dict(cutter_radius=-1.0), "cutter_radius", "-1.0 mm"),
        (dict(hand="straight"), "spiral_angle", "35.000 deg"),
        (dict(hand="straight", spiral_angle=0.0), "cutter_radius", "150.0 mm"),
        (dict(spiral_angle=-rad(35)), "spiral_angle", "-35.000 deg"),
        (dict(pressure_angle=20.0), "pressure_angle", "1145.916 deg"),
        (dict(shaft_angle=rad(120)), "shaft_angle", "120.000 deg"),
        (dict(shaft_angle=rad(109)), "gear face cone", "90."),
        (dict(shaft_angle=rad(10)), "shaft_angle", "10.000 deg"),
        (dict(backlash=-0.1), "backlash", "-0.1 mm"),
        (dict(backlash=6.0), "backlash", "6.0 mm"),
    ],
)
def test_a_blank_that_makes_no_pair_is_refused_with_the_field_named(change: dict[str, object], field: str, given: str) -> None:
    with pytest.raises(bevel.BlankRefused) as refused:
        pair_a(**change)
    assert refused.value.field == field
    assert str(refused.value.given).startswith(given)
    assert str(refused.value) == f"{field}: {refused.value.given}: accepted: {refused.value.accepted}"


@pytest.mark.parametrize(("teeth", "field"), [((4, 41), "pinion_teeth"), ((14, 201), "gear_teeth"), ((41, 14), "pinion_teeth")])
def test_impossible_tooth_numbers_are_refused(teeth: tuple[int, int], field: str) -> None:
    with pytest.raises(bevel.BlankRefused) as refused:
        bevel.blank(*teeth, 6.0, face_width=10.0, pressure_angle=rad(20), backlash=0.1)
    assert refused.value.field == field


def test_contact_on_the_pitch_cone_gives_the_handbook_form_times_the_cone_distances() -> None:
    half = A.mean_working_depth / 2.0
    on_cone = backlash.mesh_rates(A, over_depth=(A.mean_depths.addenda[0] - half) / half)
    assert on_cone.contact_radius == pytest.approx(A.cones.mean)
    for rate in (on_cone.pinion, on_cone.gear):
        assert rate.touching == pytest.approx(rate.pitch_cone, rel=1e-9)
        assert rate.pitch_cone == pytest.approx(rate.handbook * A.cones.outer / A.cones.mean, rel=1e-12)


def test_a_gasket_change_has_a_band_down_to_the_handbook_value() -> None:
    rates = backlash.mesh_rates(A)
    assert rates.change(0.1, 0.0) == pytest.approx(0.0453601, abs=1e-6)  # tests/data/mesh/blank_A.json
    assert rates.change_band(0.1, 0.0) == pytest.approx((0.0287162, 0.0453601), abs=1e-6)
    assert rates.change_band(0.0, -0.1) == pytest.approx((-0.0943443, -0.0840975), abs=1e-6)
    assert rates.pinion.band == (rates.pinion.handbook, rates.pinion.touching)


@pytest.mark.parametrize(("member", "shift"), [("pinion", ("dP_mm", "dG_mm")), ("gear", ("dG_mm", "dP_mm"))])
def test_the_first_order_rate_is_the_slope_of_the_reference_table(member: str, shift: tuple[str, str]) -> None:
    # reference: contact search of an independent trial implementation, mean backlash over a pitch, +-0.075 mm
    with (Path(__file__).parents[1] / "data" / "mesh" / "A_14x41_spiral35.csv").open(newline="", encoding="utf-8") as file:
        lines = [{name: float(text) for name, text in line.items()} for line in csv.DictReader(file)]
    read = {line[shift[0]]: line["j_t_mm"] for line in lines if line[shift[1]] == 0.0}
    slope = (read[0.075] - read[-0.075]) / 0.15
    assert getattr(backlash.mesh_rates(A), member).touching == pytest.approx(slope, rel=2e-3)


def test_pinion_end_play_reads_as_much_backlash_on_spiral_teeth_and_as_a_pinion_moved_out_on_straight() -> None:
    # trial pair: 0.1 mm of pinion end play read 0.098 mm of backlash in a contact search; first order gives 0.094
    assert 0.1 * backlash.mesh_rates(A).end_play == pytest.approx(0.098, abs=0.005)
    straight = backlash.mesh_rates(straight_textbook_pair())
    # both flanks of a straight tooth push the pinion out: rocking the gear finds it at the outer stop both times
    assert straight.end_play == pytest.approx(straight.pinion.pitch_cone, rel=1e-9)
