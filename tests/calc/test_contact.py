"""Contact of displaced pairs against a reference table, closed forms, symmetries, the trade's directions and a brute-force search."""

from __future__ import annotations

import csv
import json
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calc import flank, indicator
from calc.backlash import mesh_rates, normal_backlash
from calc.bevel import GEAR, PINION, Blank, blank
from calc.contact import Contact, FlankContact, contact, drive_side, end_play_rates
from calc.flank import UNCROWNED, EaseOff, Errors
from calc.flank_grid import tabulate
from calc.pattern import mark
from tests.calc.bevel_pairs import INCH, INCH_SPIRAL, OBLIQUE, PAIRS, SPIRAL, STRAIGHT, ZEROL, mott_pair, reference_pair
from tests.calc.rows import rows
from tests.calc.triangulated import search

DATA = Path(__file__).parents[1] / "data" / "mesh"
NOMINAL = EaseOff()
each_pair = pytest.mark.parametrize("made", PAIRS.values(), ids=PAIRS.keys())
with (DATA / "A_14x41_spiral35.csv").open(newline="", encoding="utf-8") as file:
    TABLE = [{name: float(text) for name, text in row.items()} for row in csv.DictReader(file)]
REFERENCE = json.loads((DATA / "blank_A.json").read_text(encoding="utf-8"))["A_14x41_spiral35"]


def heel(made: Blank) -> float:
    return made.outer_diameters[GEAR] / 2.0


def flanks(found: Contact) -> tuple[FlankContact, FlankContact]:
    assert found.drive is not None and found.coast is not None
    return found.drive, found.coast


def play(found: Contact) -> float:
    assert found.backlash is not None
    return found.backlash.outer


def centre(found: FlankContact) -> tuple[float, float]:
    return found.pattern.centre_along, found.pattern.centre_depth


# The reference table -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("row", TABLE, ids=[f"dP {row['dP_mm']:+.3f} dG {row['dG_mm']:+.3f}" for row in TABLE])
def test_the_reference_table_is_met(row: dict[str, float]) -> None:
    # reference: an independent trial implementation on 33x33 nodes and 480 phases, tests/data/mesh/A_14x41_spiral35.csv; tolerances
    # as stated with it: backlash 0.3 um, transmission error 0.8 um, centre 0.2 %, area 0.3 %, extents 1 % (plus half a last digit)
    found = contact(SPIRAL, NOMINAL, Errors(row["dP_mm"], row["dG_mm"]))
    assert found.backlash is not None
    assert found.backlash.outer == pytest.approx(row["j_t_mm"], abs=0.3e-3 + 0.5e-5)
    assert found.backlash.normal == pytest.approx(row["j_n_mm"], abs=0.3e-3 + 0.5e-5)
    assert found.backlash.least == pytest.approx(row["j_t_min_mm"], abs=1.2e-3)
    assert found.backlash.most == pytest.approx(row["j_t_max_mm"], abs=1.2e-3)
    assert found.state == ("jammed" if row["j_t_min_mm"] < 0.0 else "ok")
    for name, side in zip(("drive", "coast"), flanks(found), strict=True):
        assert side.transmission_error_um == pytest.approx(row[f"te_{name}_um"], abs=0.8)
        assert side.transmission_error * 1e6 == pytest.approx(row[f"te_{name}_urad"], abs=0.8 / heel(SPIRAL) * 1e3)
        assert centre(side) == pytest.approx((row[f"{name}_u_c"], row[f"{name}_v_c"]), abs=0.2)
        assert side.pattern.area == pytest.approx(row[f"{name}_area"], abs=0.3)
        for key, extent in (("u", side.pattern.extent_along), ("v", side.pattern.extent_depth)):
            assert extent == pytest.approx((row[f"{name}_{key}_min"], row[f"{name}_{key}_max"]), abs=1.0)
        # shares are counted in whole phases here, 48 to the pitch, and jump at a row's end: twice that fineness each way
        assert side.edge_root == pytest.approx(row[f"{name}_edge_root"], abs=0.09)
        assert side.edge_tip == pytest.approx(row[f"{name}_edge_tip"], abs=0.09)


def test_a_finer_table_changes_little() -> None:
    errors = Errors(-0.1, 0.12)
    one, other = contact(SPIRAL, NOMINAL, errors), contact(SPIRAL, NOMINAL, errors, nodes=33, refinement=4)
    assert play(one) == pytest.approx(play(other), abs=0.3e-3)
    for a, b in zip(flanks(one), flanks(other), strict=True):
        assert a.transmission_error_um == pytest.approx(b.transmission_error_um, abs=0.6)
        assert centre(a) == pytest.approx(centre(b), abs=0.12)


# Conjugate flanks --------------------------------------------------------------------------------------------------------------


@each_pair
def test_aligned_uncrowned_teeth_run_without_error_at_the_design_backlash(made: Blank) -> None:
    found = contact(made, UNCROWNED)
    assert play(found) == pytest.approx(made.backlash, abs=1e-9)
    assert found.backlash is not None and found.backlash.most - found.backlash.least < 1e-9
    for side in flanks(found):
        assert side.transmission_error_um < 1e-6
        assert side.pattern.area == pytest.approx(25.0 * _active(made), rel=5e-3)
        assert set(side.pattern.runs_off) == {"toe", "heel", "root", "tip"}
    table = tabulate(made, (1, -1), (UNCROWNED, UNCROWNED), Errors())
    assert np.ptp(table.gap, axis=(1, 2)) * heel(made) * 1000.0 == pytest.approx([0.0, 0.0], abs=1e-6)


def _active(made: Blank) -> float:
    """Active flank in (u, v): the area between the lines of both tip edges, by the trapezoid rule."""
    radius = np.linspace(made.cones.inner, made.cones.outer, 201)
    roll = flank.active_rolls(made, radius)
    ends = [flank.gap(made, 1, radius, phi, flank.contact_phase(made, 1, radius, phi)) for phi in roll]
    lines = [(np.clip(end.face, -1, 1), np.clip(end.depth, -1, 1)) for end in ends]
    u = (lines[0][0] + lines[1][0]) / 2.0
    return float(np.trapezoid(lines[0][1] - lines[1][1], u))


def test_the_contact_ratios_of_the_reference_pair() -> None:
    drive, _ = flanks(contact(SPIRAL))
    # reference: trial implementation, tests/data/mesh/blank_A.json; a numerical slope places each contact phase to 1e-6 rad
    assert drive.contact_ratio == pytest.approx(REFERENCE["eps_total_drive"][0], abs=5e-6)
    # its profile contact ratio is the mean of its 33 rows
    phase = tabulate(SPIRAL, (1, -1), (NOMINAL, NOMINAL), Errors(), nodes=33, refinement=1).phase[0]
    rows_mean = float((phase[:, -1] - phase[:, 0]).mean()) * SPIRAL.teeth[PINION] / (2.0 * math.pi)
    assert rows_mean == pytest.approx(REFERENCE["eps_alpha"][0], abs=5e-6)


@each_pair
def test_contact_ratios_follow_the_equivalent_cylinders(made: Blank) -> None:
    # equivalent spur pair on the back cones at mid-face (Tredgold), transverse pressure angle; ISO 21771 form of the contact ratio
    mean = made.cones.mean
    tangent = math.tan(made.pressure_angle) / math.cos(made.spiral_angle)
    radii = [mean * math.tan(angle) for angle in made.cones.angles]
    bases = [radius * math.cos(math.atan(tangent)) for radius in radii]
    tips = [radius + addendum for radius, addendum in zip(radii, made.mean_depths.addenda, strict=True)]
    path = sum(math.sqrt(a**2 - b**2) for a, b in zip(tips, bases, strict=True)) - sum(radii) * math.sin(math.atan(tangent))
    profile = path / (2.0 * math.pi * bases[PINION] * math.cos(made.cones.angles[PINION]) / made.teeth[PINION])
    drive, _ = flanks(contact(made))
    assert drive.profile_contact_ratio == pytest.approx(profile, rel=0.01)
    if made.spiral_angle > 0.0:
        overlap = made.face_width * math.sin(made.spiral_angle) / (math.pi * made.mean_normal_module)
        assert drive.contact_ratio == pytest.approx(profile + overlap, rel=0.01)
    else:
        assert drive.contact_ratio >= drive.profile_contact_ratio


# Closed forms ------------------------------------------------------------------------------------------------------------------


def first_touch(made: Blank, ease: EaseOff, errors: Errors) -> float:
    """Backlash between the first points to touch on both flanks, at the outer pitch radius [mm]."""
    return sum(float(side.closing.min()) for side in flanks(contact(made, ease, errors))) * heel(made)


@each_pair
@pytest.mark.parametrize("member", ["pinion", "gear"])
@pytest.mark.parametrize("apex", [(0.0, 0.0), (0.3, 0.2)])
def test_backlash_grows_at_the_closed_rate_where_the_teeth_touch(made: Blank, member: str, apex: tuple[float, float]) -> None:
    crown = EaseOff(60.0, 40.0, 0.0, *apex)
    ends = [first_touch(made, crown, Errors(**{member: step})) for step in (0.01, -0.01)]
    rate = getattr(mesh_rates(made, along_face=apex[0], over_depth=apex[1]), member).touching
    assert (ends[0] - ends[1]) / 0.02 == pytest.approx(rate, rel=0.012)


@each_pair
@pytest.mark.parametrize("member", ["pinion", "gear"])
def test_touching_on_the_pitch_cone_it_is_the_handbook_rate_read_at_the_contact_radius(made: Blank, member: str) -> None:
    # dj = 2 a tan(alpha_n) sin(delta) / cos(beta): trade handbooks, rows BEV-035 to BEV-044
    tips = made.tip_height(PINION, made.cones.mean), made.tip_height(GEAR, made.cones.mean)
    crown = EaseOff(80.0, 60.0, 0.0, 0.0, 2.0 * tips[0] / sum(tips) - 1.0)
    ends = [first_touch(made, crown, Errors(**{member: step})) for step in (0.005, -0.005)]
    angle = made.cones.angles[PINION if member == "pinion" else GEAR]
    handbook = 2.0 * math.tan(made.pressure_angle) * math.sin(angle) / math.cos(made.spiral_angle)
    assert (ends[0] - ends[1]) / 0.01 * made.cones.mean / made.cones.outer == pytest.approx(handbook, rel=0.01)


@pytest.mark.parametrize(("name", "member"), [("BEV-040", "pinion"), ("BEV-041", "gear")], ids=["pinion", "gear"])
def test_the_printed_backlash_change_of_a_straight_pair_is_found_on_the_pitch_cone(name: str, member: str) -> None:
    (row,) = rows(name)
    assert ("member=1" in row.inputs) == (member == "pinion")
    made = blank(18, 54, 5.0, face_width=40.0, pressure_angle=math.radians(20), backlash=0.3)
    tips = made.tip_height(PINION, made.cones.mean), made.tip_height(GEAR, made.cones.mean)
    crown = EaseOff(80.0, 60.0, 0.0, 0.0, 2.0 * tips[0] / sum(tips) - 1.0)
    # the printed change is for 0.1 mm; a tenth of it keeps the contact on the pitch cone
    ends = [first_touch(made, crown, Errors(**{member: step})) for step in (0.005, -0.005)]
    assert (ends[0] - ends[1]) * 10.0 * made.cones.mean / made.cones.outer == pytest.approx(row.expected, rel=0.01)


@each_pair
def test_an_offset_or_a_shaft_angle_error_acts_as_its_closed_slope(made: Blank) -> None:
    crown = EaseOff(60.0, 40.0)
    at = mesh_rates(made)
    slopes = [flank.slopes(made, s, at.contact_radius, at.roll_arcs[0]) for s in (1, -1)]
    opened = [first_touch(made, crown, Errors(shaft_angle=step)) for step in (5e-5, -5e-5)]
    closed = heel(made) * sum(float(slope.shaft_angle) for slope in slopes)
    assert (opened[0] - opened[1]) / 1e-4 == pytest.approx(closed, rel=0.01)
    for s, slope in zip((1, -1), slopes, strict=True):
        place = 0 if drive_side(made) == s else 1
        ends = [float(flanks(contact(made, crown, Errors(offset=e)))[place].closing.min()) for e in (0.005, -0.005)]
        assert (ends[0] - ends[1]) / 0.01 == pytest.approx(float(slope.offset), rel=0.01)


# Symmetries --------------------------------------------------------------------------------------------------------------------


def test_swapping_the_hand_and_the_offset_leaves_everything_as_it_was() -> None:
    ease, coast = EaseOff(30.0, 15.0, 8.0, 0.1, -0.2), EaseOff(20.0, 10.0, -5.0, -0.1, 0.1)
    left = contact(reference_pair("left"), ease, Errors(0.12, -0.04, 0.05, 3e-4), coast_ease_off=coast)
    right = contact(reference_pair("right"), ease, Errors(0.12, -0.04, -0.05, 3e-4), coast_ease_off=coast)
    assert play(left) == pytest.approx(play(right), abs=1e-10)
    for a, b in zip(flanks(left), flanks(right), strict=True):
        assert a.side == -b.side
        assert a.closing == pytest.approx(b.closing, abs=1e-13)
        assert a.pattern.left == pytest.approx(b.pattern.left, abs=1e-10)
        assert (a.edge_root, a.edge_tip) == (b.edge_root, b.edge_tip)


def test_the_other_rotation_swaps_the_names() -> None:
    usual, other = contact(SPIRAL, displacement=Errors(0.1)), contact(SPIRAL, displacement=Errors(0.1), drive="convex")
    for a, b in zip(flanks(usual), reversed(flanks(other)), strict=True):
        assert a.closing == pytest.approx(b.closing, abs=1e-15)
    assert play(usual) == pytest.approx(play(other), abs=1e-12)


@settings(max_examples=15, deadline=None)
@given(pinion=st.floats(-0.15, 0.15), gear=st.floats(-0.15, 0.15))
def test_straight_teeth_bear_alike_on_both_flanks(pinion: float, gear: float) -> None:
    drive, coast = flanks(contact(STRAIGHT, NOMINAL, Errors(pinion, gear)))
    assert drive.closing == pytest.approx(coast.closing, abs=1e-14)
    assert centre(drive) == pytest.approx(centre(coast), abs=1e-8)
    assert drive.pattern.area == pytest.approx(coast.pattern.area, abs=1e-8)


def test_a_pair_in_inches_is_the_pair_in_millimetres() -> None:
    same = blank(13, 38, 5.08, face_width=31.75, pressure_angle=math.radians(20), spiral_angle=math.radians(35), hand="right",
                 backlash=0.1778)  # fmt: skip
    errors = Errors(0.004 * INCH, -0.002 * INCH)
    assert play(contact(INCH_SPIRAL, NOMINAL, errors)) == pytest.approx(
        play(contact(same, NOMINAL, Errors(0.1016, -0.0508))), abs=1e-9
    )


def test_twice_the_size_has_twice_the_gaps() -> None:
    big = blank(14, 41, 12.0, face_width=76.0, pressure_angle=math.radians(20), spiral_angle=math.radians(35), hand="left",
                cutter_radius=300.0, backlash=0.4)  # fmt: skip
    small, large = contact(SPIRAL, NOMINAL, Errors(0.1, 0.05)), contact(big, EaseOff(50.0, 24.0), Errors(0.2, 0.1), film=0.012)
    assert play(large) == pytest.approx(2.0 * play(small), rel=1e-9)
    assert centre(flanks(large)[0]) == pytest.approx(centre(flanks(small)[0]), abs=1e-7)


# Directions of the trade -------------------------------------------------------------------------------------------------------

WITH_LARGE_CUTTER = {"spiral": SPIRAL, "spiral right": reference_pair("right"), "spiral inch": INCH_SPIRAL}
each_spiral = pytest.mark.parametrize("made", WITH_LARGE_CUTTER.values(), ids=WITH_LARGE_CUTTER.keys())


@each_spiral
def test_pinion_out_bears_toward_the_tip_and_heel_on_drive_toe_on_coast(made: Blank) -> None:
    # common practice, no source: printed alike in many service manuals for ring-and-pinion sets; needs a large cutter radius
    out, true, deep = (flanks(contact(made, NOMINAL, Errors(step))) for step in (0.1, 0.0, -0.1))
    for side in (0, 1):
        assert centre(out[side])[1] > centre(true[side])[1] > centre(deep[side])[1]
    assert centre(out[0])[0] > centre(true[0])[0] > centre(deep[0])[0]
    assert centre(out[1])[0] < centre(true[1])[0] < centre(deep[1])[0]


@each_spiral
def test_gear_away_bears_at_the_heel_and_gear_close_at_the_toe_on_both_flanks(made: Blank) -> None:
    # common practice, no source; same as the correction table of TM 10-3930-653-14&P, page 4-181
    away, true, close = (flanks(contact(made, NOMINAL, Errors(gear=step))) for step in (0.1, 0.0, -0.1))
    for side in (0, 1):
        assert centre(away[side])[0] > centre(true[side])[0] > centre(close[side])[0]


@pytest.mark.parametrize(("standard", "made"), [((0.15, 0.25), SPIRAL)])
def test_a_toe_bearing_goes_with_small_backlash_and_a_heel_bearing_with_large(standard: tuple[float, float], made: Blank) -> None:
    # TM 10-3930-653-14&P page 4-181: toe bearing, gear too close, small backlash; heel bearing, gear too far, large backlash
    for step in (-0.2, 0.2):
        found = contact(made, NOMINAL, Errors(gear=step))
        toe = all(centre(side)[0] < 47.0 for side in flanks(found))
        heel_bearing = all(centre(side)[0] > 53.0 for side in flanks(found))
        assert (toe, heel_bearing) == (step < 0.0, step > 0.0)
        assert (play(found) < standard[0], play(found) > standard[1]) == (toe, heel_bearing)


def test_straight_teeth_go_to_the_heel_on_both_flanks_when_the_pinion_comes_out() -> None:
    for made in (STRAIGHT, mott_pair()):
        out, true = (flanks(contact(made, NOMINAL, Errors(step))) for step in (0.03, 0.0))
        for side in (0, 1):
            assert centre(out[side])[0] > centre(true[side])[0] + 0.5
            assert centre(out[side])[1] > centre(true[side])[1] + 0.5


def test_zerol_teeth_go_the_other_way_along_the_face() -> None:
    out, true = (flanks(contact(ZEROL, NOMINAL, Errors(step))) for step in (0.05, 0.0))
    assert centre(out[0])[0] < centre(true[0])[0]
    assert centre(out[1])[0] > centre(true[1])[0]


@each_pair
@settings(max_examples=8, deadline=None)
@given(pinion=st.floats(-0.1, 0.1), gear=st.floats(-0.1, 0.1), step=st.floats(0.01, 0.1))
def test_either_member_moved_out_opens_the_backlash(made: Blank, pinion: float, gear: float, step: float) -> None:
    here = play(contact(made, NOMINAL, Errors(pinion, gear)))
    assert play(contact(made, NOMINAL, Errors(pinion + step, gear))) > here
    assert play(contact(made, NOMINAL, Errors(pinion, gear + step))) > here


# Brute force -------------------------------------------------------------------------------------------------------------------

FORMS = {"spiral": SPIRAL, "straight": STRAIGHT, "zerol": ZEROL, "75 deg": OBLIQUE}
DISPLACED = [Errors(0.1, -0.05), Errors(-0.1, 0.1), Errors(0.15, 0.15), Errors(offset=0.08, shaft_angle=4e-4)]


@pytest.mark.parametrize("made", FORMS.values(), ids=FORMS.keys())
@pytest.mark.parametrize("errors", DISPLACED, ids=["out-in", "in-out", "out-out", "axes"])
def test_a_search_on_triangles_closes_at_the_same_gear_turn(made: Blank, errors: Errors) -> None:
    ease = EaseOff(25.0, 12.0, 6.0, 0.1, -0.1)
    for side in flanks(contact(made, ease, errors)):
        brute = search(made, side.side, errors, ease)
        step = 2.0 * math.pi / made.teeth[PINION] / 48
        apart = np.array([brute.closing(4 * j * step) for j in range(12)]) - side.closing[::4]
        micrometres = apart * heel(made) * 1000.0
        assert abs(micrometres.mean()) < 0.4
        # single phases beside a tip edge: up to a tenth of the transmission error
        assert np.abs(micrometres).max() < 0.5 + 0.2 * max(side.transmission_error_um - 2.0, 0.0)


@pytest.mark.parametrize("made", [SPIRAL, STRAIGHT], ids=["spiral", "straight"])
@pytest.mark.parametrize("errors", [Errors(0.6, -0.3), Errors(-0.4, 0.6)], ids=["high", "low"])
def test_far_out_and_riding_on_an_edge_it_still_closes_within_micrometres_on_average(made: Blank, errors: Errors) -> None:
    for side in flanks(contact(made, NOMINAL, errors)):
        brute = search(made, side.side, errors, NOMINAL)
        step = 2.0 * math.pi / made.teeth[PINION] / 48
        apart = np.array([brute.closing(4 * j * step) for j in range(12)]) - side.closing[::4]
        assert abs(float(apart.mean())) * heel(made) * 1000.0 < 3.0
        assert side.hard == ("high" if errors.pinion > 0.0 else "low")


@pytest.mark.parametrize(
    ("made", "errors"), [(SPIRAL, Errors(0.1, -0.05)), (STRAIGHT, Errors(0.05, 0.05))], ids=["spiral", "straight"]
)
def test_a_search_on_triangles_leaves_the_same_mark(made: Blank, errors: Errors) -> None:
    found, _ = flanks(contact(made, NOMINAL, errors))
    brute = search(made, found.side, errors, NOMINAL, pinion=(71, 36))
    pitch = 2.0 * math.pi / made.teeth[PINION]
    phases = np.arange(-48 * 3, 48 * 3) * (pitch / 48)
    curve = {j: brute.closing(j * pitch / 48) for j in range(48)}
    best = np.full(brute.radius.shape, np.inf)
    u, v = np.zeros_like(best), np.zeros_like(best)
    for count, phase in enumerate(phases):
        value, along, height = brute.gap(float(phase))
        value = value - curve[(count - 48 * 3) % 48]
        nearer = value < best
        best = np.where(nearer, value, best)
        tips = [made.outer_addenda[i] + (along - made.cones.outer) * math.tan(made.addendum_angles[i]) for i in (0, 1)]
        u = np.where(nearer, (along - made.cones.mean) / (made.face_width / 2.0), u)
        v = np.where(nearer, 2.0 * (height + tips[0]) / (tips[0] + tips[1]) - 1.0, v)
    sine = brute.blank.spiral_sine(made.cones.mean)
    arm = brute.radius * math.sin(made.cones.angles[GEAR]) * math.cos(made.pressure_angle) * math.sqrt(1.0 - sine**2)
    marked = (best * arm < 0.006) & (brute.polar > float(brute.polar[:, 0].max()))
    size = np.abs(np.gradient(u, axis=0) * np.gradient(v, axis=1)) * marked
    area, along_face, depth = (float((size * x).sum()) for x in (np.ones_like(u), u, v))
    assert 50.0 * (1.0 + along_face / area) == pytest.approx(found.pattern.centre_along, abs=2.0)
    assert 50.0 * (1.0 + depth / area) == pytest.approx(found.pattern.centre_depth, abs=2.0)
    assert 25.0 * area == pytest.approx(found.pattern.area, rel=0.08)


# The mark ----------------------------------------------------------------------------------------------------------------------


@each_pair
@settings(max_examples=8, deadline=None)
@given(pinion=st.floats(-0.1, 0.1), gear=st.floats(-0.1, 0.1))
def test_the_outline_encloses_the_marked_area_and_touches_its_extents(made: Blank, pinion: float, gear: float) -> None:
    for side in flanks(contact(made, NOMINAL, Errors(pinion, gear))):
        mark_ = side.pattern
        assert mark_.film.min() == pytest.approx(0.0, abs=0.05) and mark_.film.max() <= 1.0
        enclosed = 0.0
        for ring in mark_.outline:
            x, y = np.array(ring).T
            enclosed += abs(float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))) / 2.0
        assert enclosed / 100.0 == pytest.approx(mark_.area, rel=0.02, abs=0.05)
        points = np.array([point for ring in mark_.outline for point in ring])
        assert (points[:, 0].min(), points[:, 0].max()) == pytest.approx(mark_.extent_along, abs=1e-6)
        assert (points[:, 1].min(), points[:, 1].max()) == pytest.approx(mark_.extent_depth, abs=1e-6)
        assert mark_.extent_along[0] <= mark_.centre_along <= mark_.extent_along[1]


def test_an_ellipse_of_film_is_measured_exactly() -> None:
    u, v = np.meshgrid(np.linspace(-1.0, 1.0, 81), np.linspace(-1.0, 1.0, 81), indexing="ij")
    found = mark(u, v, 0.024 * (u - 0.2) ** 2 + 0.054 * (v + 0.1) ** 2, 0.006)
    # half axes sqrt(6/24) = 1/2 and sqrt(6/54) = 1/3 about (0.2, -0.1); area pi/6 of 4
    assert (found.centre_along, found.centre_depth) == pytest.approx((60.0, 45.0), abs=0.01)
    assert found.area == pytest.approx(100.0 * math.pi / 6.0 / 4.0, rel=2e-3)
    assert found.extent_along == pytest.approx((35.0, 85.0), abs=0.05)
    assert found.extent_depth == pytest.approx((100.0 * (0.45 - 1 / 6), 100.0 * (0.45 + 1 / 6)), abs=0.05)
    assert found.runs_off == () and len(found.outline) == 1


def test_two_marks_have_two_outlines_and_a_saddle_keeps_its_corners_apart() -> None:
    u, v = np.meshgrid(np.linspace(-1.0, 1.0, 9), np.linspace(-1.0, 1.0, 9), indexing="ij")
    left = np.where((np.abs(u) > 0.7) & (np.sign(u) == np.sign(v)) & (np.abs(v) > 0.7), 0.0, 0.02)
    assert len(mark(u, v, left, 0.006).outline) == 2
    corner = np.array([[0.0, 1.0], [1.0, 0.0]])
    across, over = np.meshgrid([-1.0, 1.0], [-1.0, 1.0], indexing="ij")
    assert len(mark(across, over, corner, 0.5).outline) == 2


def test_more_crown_makes_a_shorter_mark_and_less_travel() -> None:
    lengths, travels = [], []
    for crown in (15.0, 25.0, 50.0):
        here, moved = (flanks(contact(SPIRAL, EaseOff(crown), Errors(gear=step)))[1] for step in (0.0, 0.05))
        lengths.append(here.pattern.extent_along[1] - here.pattern.extent_along[0])
        travels.append(moved.pattern.centre_along - here.pattern.centre_along)
    assert lengths == sorted(lengths, reverse=True) and travels == sorted(travels, reverse=True)


def test_a_thicker_film_marks_more() -> None:
    areas = [flanks(contact(SPIRAL, film=film))[0].pattern.area for film in (0.003, 0.006, 0.012)]
    assert areas == sorted(areas) and areas[0] < 0.7 * areas[2]


def test_the_dial_reads_in_proportion_to_its_radius_and_normal_backlash_square_to_the_tooth() -> None:
    found = contact(SPIRAL, displacement=Errors(gear=0.05), indicator_radius=110.0).backlash
    assert found is not None and found.at_indicator is not None
    wanted = indicator.reading_from_backlash(found.outer, pitch_radius=heel(SPIRAL), dial_radius=110.0)
    assert found.at_indicator == pytest.approx(wanted, rel=1e-12)
    spiral = math.asin(SPIRAL.spiral_sine(SPIRAL.cones.outer))
    assert found.normal == pytest.approx(normal_backlash(found.outer, SPIRAL.pressure_angle, spiral), rel=1e-12)


# End play ----------------------------------------------------------------------------------------------------------------------


@each_pair
def test_end_play_of_the_pinion_adds_to_the_dial_reading(made: Blank) -> None:
    # Rock the gear: each flank pushes the pinion to the stop where that flank is more open.
    crown, loose = EaseOff(60.0, 40.0), 0.01
    inner, outer = (flanks(contact(made, crown, Errors(step))) for step in (0.0, loose))
    added = heel(made) * sum(max(float(b.closing.min() - a.closing.min()), 0.0) for a, b in zip(inner, outer, strict=True))
    assert added / loose == pytest.approx(sum(end_play_rates(made)), rel=0.02)
    # the simpler form on the pitch cone; a long pinion addendum touches above it
    assert mesh_rates(made).end_play == pytest.approx(sum(end_play_rates(made)), rel=0.6)


def test_end_play_of_the_reference_pair_reads_almost_in_full() -> None:
    # trial implementation: 0.1 mm of end play reads as 0.098 mm of backlash, against 0.045 for simply moving the pinion out
    assert 0.1 * sum(end_play_rates(SPIRAL)) == pytest.approx(0.098, abs=0.003)
    inner, outer = flanks(contact(SPIRAL)), flanks(contact(SPIRAL, displacement=Errors(0.1)))
    free = [max(float((b.closing - a.closing).mean()), 0.0) for a, b in zip(inner, outer, strict=True)]
    assert sum(free) * heel(SPIRAL) == pytest.approx(0.098, abs=0.003)
    assert play(contact(SPIRAL, displacement=Errors(0.1))) - play(contact(SPIRAL)) == pytest.approx(0.045, abs=0.005)


# Limits ------------------------------------------------------------------------------------------------------------------------


@each_pair
def test_pushed_together_the_teeth_jam_and_pulled_apart_they_let_go(made: Blank) -> None:
    reach = made.outer_module
    jammed, apart = contact(made, displacement=Errors(gear=-0.08 * reach)), contact(made, displacement=Errors(gear=1.9 * reach))
    assert jammed.state == "jammed" and jammed.backlash is not None and jammed.backlash.least < 0.0
    assert apart.state == "out_of_mesh" and apart.backlash is None and apart.drive is None and apart.coast is None
    assert "beyond_tried_shift" in apart.remarks and "beyond_tried_shift" not in jammed.remarks


def test_hard_edge_contact_is_said() -> None:
    low, high = contact(SPIRAL, displacement=Errors(-0.4, 0.4)), contact(SPIRAL, displacement=Errors(0.6, -0.3))
    assert "hard_low_drive" in low.remarks and "hard_high_drive" in high.remarks
    assert flanks(low)[0].edge_share > 0.1 and flanks(low)[0].hard == "low"
    assert flanks(contact(SPIRAL))[0].hard == ""


def test_an_undercut_pinion_is_said_and_its_active_flank_ends_at_the_base_cone() -> None:
    made = blank(8, 30, 4.0, face_width=15.0, pressure_angle=math.radians(14.5), backlash=0.1, addendum_factor=0.5)
    found = contact(made)
    assert found.remarks == ("undercut_pinion",) and found.state == "ok"
    assert flanks(found)[0].profile_contact_ratio == pytest.approx(1.057, abs=0.02)
    assert play(found) == pytest.approx(0.1, abs=0.01)


def test_a_pointed_pinion_tooth_is_refused() -> None:
    pointed = blank(8, 30, 4.0, face_width=15.0, pressure_angle=math.radians(20), backlash=0.1)
    with pytest.raises(ValueError, match=r"pinion tip thickness: -0\.\d+ mm: accepted: above 0 mm"):
        contact(pointed)


def test_a_face_too_wide_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match=r"face_width: 70\.0 mm: accepted: above 0 and below half the outer cone distance"):
        blank(14, 41, 6.0, face_width=70.0, pressure_angle=math.radians(20), backlash=0.2)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"displacement": Errors(pinion=12.1)}, r"displacement pinion: 12\.1 mm: accepted: -12 to 12 mm"),
        ({"displacement": Errors(gear=-13.0)}, r"displacement gear: -13\.0 mm: accepted: -12 to 12 mm"),
        ({"displacement": Errors(gear=math.nan)}, r"displacement gear: nan mm: accepted"),
        ({"displacement": Errors(offset=20.0)}, r"displacement offset: 20\.0 mm: accepted"),
        ({"displacement": Errors(shaft_angle=0.03)}, r"displacement shaft angle: 0\.03 rad: accepted: -0\.02 to 0\.02 rad"),
        ({"ease_off": EaseOff(length_um=-1.0)}, r"ease-off length: -1\.0 um: accepted: 0 to 1000 um"),
        ({"ease_off": EaseOff(profile_um=math.inf)}, r"ease-off profile: inf um: accepted"),
        ({"ease_off": EaseOff(twist_um=2000.0)}, r"ease-off twist: 2000\.0 um: accepted: -1000 to 1000 um"),
        ({"coast_ease_off": EaseOff(over_depth=1.5)}, r"ease-off over depth: 1\.5: accepted: -1 to 1"),
        ({"film": 0.0}, r"film: 0\.0 mm: accepted: above 0, to 0\.1 mm"),
        ({"indicator_radius": 0.0}, r"indicator radius: 0\.0 mm: accepted: above 0 mm"),
        ({"nodes": 10}, r"nodes, refinement: 10, 8: accepted: odd, 3 or more"),
        ({"drive": "left"}, r"drive: left: accepted: concave, convex"),
    ],
)
def test_what_is_out_of_range_is_refused_by_name(changes: dict[str, object], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        contact(SPIRAL, **changes)  # type: ignore[arg-type]
