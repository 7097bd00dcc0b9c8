"""Worked cases of public-domain service manuals and rows of the outside checks, entered as readings of a record and read off its answers.

Manual, paragraph and page stand beside each case in tests/data/manuals.csv (works of a government, in the public domain: facts only), and what
the manual gives of it: "figure" = what goes in and what comes out are printed there, "rule" = the manual says how, the figures are ours.
The machines are the shipped ones with the sizes that the case gives; a pack is of metal leaves, which don't give.
"""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from dataclasses import replace
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest

from calc.backlash import mesh_rates
from calc.bevel import GEAR
from geometry.machine import accept
from geometry.reducer import Reducer
from scenes import adjusting, record, record_listing
from scenes.explain import Explainer
from scenes.frame import Callout
from scenes.positions import closed, positions
from scenes.record_judged import Judgement
from scenes.record_listing import Opened, opened
from scenes.tooth_contact import displacement, meeting
from tests.calc.rows import Row, cases, rows
from tests.scenes.readied import before_turning

MANUALS = Path(__file__).resolve().parents[1] / "data" / "manuals.csv"
INCH = 25.4
"""ISO 80000-3 [mm]."""
SPACER = 10.0
"""Between the rings of the high-speed pair in cases that give a stack as one size [mm]."""
WAY = {("pinion_gasket", "thicker"): "away", ("pinion_gasket", "thinner"): "toward",
       ("gear_gasket", "thicker"): "toward", ("gear_gasket", "thinner"): "away"}  # fmt: skip
"""Where a gasket sends its member: the pinion's lies under its cartridge's flange, the gear hangs below its own."""


PRINTED = {"figure": 13, "rule": 19}
"""How many cases are of each sort; DEVELOPERS.md says it too."""


def manual(quantity: str) -> list[Any]:
    return cases("MAN", quantity, MANUALS)


@cache
def tables(name: str) -> str:
    return files("scenes").joinpath("machines", f"{name}.toml").read_text(encoding="utf-8")


def derived(name: str, **changes: Any) -> Explainer:
    """A shipped machine with other sizes: `gears__backlash=[...]`; None takes a line out."""
    data = tomllib.loads(tables(name))
    for place, value in changes.items():
        *sections, last = place.split("__")
        table = data
        for section in sections:
            table = table[section]
        table.pop(last, None)
        if value is not None:
            table[last] = value
    return Explainer(accept(data))


@cache
def shipped(name: str) -> Explainer:
    return derived(name)


def pack(size: str, leaves: list[str] | None = None) -> dict[str, Any]:
    """A pack of metal leaves."""
    return {"thickness": size, "compression": "0 %", **({"stock": leaves} if leaves else {})}


def of_chain(size: float, plus: float = 0.0, minus: float = 0.0) -> dict[str, str]:
    return {"size": f"{size!r} mm", "plus": f"{plus} mm", "minus": f"{minus} mm"}


def put(explainer: Explainer, path: Path, name: str, *values: str, state: str = "fitting") -> Opened:
    """The record with one more reading in it."""
    found = opened(explainer, path)
    step = found.reads[name].steps[0] if found.reads[name].steps else ""
    record_listing.put(found, record.reading(found.reads[name], values, state, initials="AB", step=step))
    return opened(explainer, path)


def said(found: Opened) -> Judgement:
    return found.judge(found.job.taken[-1], found.planned.start_settings())


def reducer(found: Opened) -> Reducer:
    return found.present.reducer(found.planned.start_settings())


def noted(found: Opened, step: str, key: str) -> Callout:
    """A note of a step, of the machine with the record's readings."""
    assert not found.unfit, found.unfit
    return next(
        note for note in found.present.callouts(replace(found.planned.start_settings(), step=step), step) if note.key == key
    )


def figures(row: Row, name: str) -> list[float]:
    """Several figures of one input."""
    return [float(one) for one in re.findall(r"\d+\.\d+", row.given[name])]


def test_every_case_says_whether_its_figures_are_the_manuals() -> None:
    """A pack whose thickness drops out of the answer may be ours in a case of printed figures; nothing else."""
    every = rows("MAN", path=MANUALS)
    assert Counter(row.printed for row in every) == PRINTED
    theirs = [row for row in every if row.printed == "figure"]
    assert [row.id for row in theirs if "ours" in (row.inputs + row.source).replace("pack: ours", "")] == []
    told = (MANUALS.parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert f"{PRINTED['figure']} with the manual's own figures, {PRINTED['rule']} with its rule and figures of ours" in told


@pytest.mark.parametrize("state", ["fitting", "found"])
@pytest.mark.parametrize("row", manual("shims under a cover"))
def test_the_shims_are_the_gap_without_them_and_the_clearance(row: Row, state: str, tmp_path: Path) -> None:
    """Read with 0.090 in of shims in, too many: the play is then what they exceed the gap by. The program aims at the middle of the limits."""
    least, most, gap = row.number("least"), row.number("most"), row.number("gap")
    leaves = [f"{size} in" for size in figures(row, "leaves")]
    explainer = derived(
        "slipway",
        limits__high_speed_end_play=[f"{least} in", f"{most} in"],
        gaskets__high_speed_float_gasket=pack("0.1 in", leaves),
    )
    put(explainer, tmp_path / "a", "gaskets.high_speed_float_gasket", *["0.090 in"] * 4, state=state)
    judged = said(put(explainer, tmp_path / "a", "high_speed_end_play", *[f"{0.090 - gap:.3f} in"] * 3, state=state))
    told = " ".join(judged.now)
    assert judged.verdict == "stop"
    row.near(float(re.search(r"([\d.]+) in free", told)[1]))  # type: ignore[index]
    stack = sum(
        int(count or 1) * float(size)
        for count, size in re.findall(r"(?:(\d+) x )?([\d.]+) in", told.split("From stock: ")[1].split(". ")[0])
    )
    assert gap + least - 1e-9 <= stack <= gap + most + 1e-9


@pytest.mark.parametrize("row", manual("shims for a preload"))
def test_the_shims_are_the_mean_of_the_gaps_less_the_preload(row: Row, tmp_path: Path) -> None:
    """The gap is made by the cover's spigot, measured as often as the manual measures; a play below zero clamps the rings by as much."""
    explainer = derived("slipway", gaskets__high_speed_float_gasket=pack("0.03 in"))
    machine = explainer.machine
    pair = machine.high_speed_pair
    assert pair.width is not None
    no_gap = (
        machine.high_speed_cartridge.outer_face.nominal
        - 2.0 * pair.width.nominal
        - pair.outer_spacer.nominal
        + max(pair.internal_play, 0.0)
    )
    found = put(
        explainer, tmp_path / "a", "high_speed_cover.spigot", *[f"{no_gap / INCH + gap!r} in" for gap in figures(row, "gaps")]
    )
    found = put(explainer, tmp_path / "a", "gaskets.high_speed_float_gasket", *[f"{row.value} in"] * 4)
    play = positions(reducer(found)).high_speed_end_play / INCH
    row.near(row.value - (play + row.number("preload")))


@pytest.mark.parametrize("row", manual("shims that fill"))
def test_the_shims_fill_what_the_measured_sizes_leave(row: Row, tmp_path: Path) -> None:
    """Shaft less carrier, plus the depth of the bearing's seat, less a constant: rings and spacer, outer face and spigot of the pair here."""
    explainer, path = derived("millrace", gaskets__high_speed_float_gasket=pack("0.5 mm")), tmp_path / "a"
    sizes = {
        "high_speed_cartridge.outer_face": row.number("carrier") + row.number("constant"),
        "high_speed_pair.width": (row.number("shaft") - SPACER / INCH) / 2.0,
        "high_speed_pair.inner_spacer": SPACER / INCH,
        "high_speed_pair.outer_spacer": SPACER / INCH,
        "high_speed_cover.spigot": row.number("depth"),
    }
    for name, size in sizes.items():
        put(explainer, path, name, f"{size!r} in")
    found = put(explainer, path, "gaskets.high_speed_float_gasket", *[f"{row.value} in"] * 4)
    row.near(row.value - positions(reducer(found)).high_speed_end_play / INCH)


def another_mark(row: Row, old: float, new: float, path: Path) -> float:
    """How much the program makes the pinion's pack thicker when a set with another mounting distance [in] goes in [in]."""
    size, drawn = row.number("pack"), shipped("slipway")
    chain = drawn.reducer(drawn.start_settings()).chain("pinion_running")
    stands = sum(link.sign * link.nominal for link in chain.links) + size * INCH - drawn.machine.gaskets.pinion_gasket.clamped
    missing, sleeve = old * INCH - stands, drawn.machine.spacers.high_speed_sleeve.nominal
    near = {"spacers__high_speed_sleeve": of_chain(sleeve - missing)}
    far = {"case__end_face": of_chain(drawn.machine.case.end_face.nominal + missing)}
    distance = {"size": f"{old!r} in", "plus": "0 in", "minus": "0 in"}
    before = derived(
        "slipway",
        gaskets__pinion_gasket=pack(f"{size} in"),
        gears__pinion_mounting_distance=distance,
        **(near if abs(missing) < 3.0 else far),
    )
    step, key = "pinion_gasket", "gasket.pinion_gasket.choice"
    assert noted(opened(before, path), step, key).value / INCH == pytest.approx(size, abs=1e-6)  # the old set stands right
    found = put(before, path, "gears.pinion_mounting_distance", f"{new!r} in")
    return noted(found, step, key).value / INCH - size


@pytest.mark.parametrize("row", manual("another mounting distance"))
def test_a_set_with_another_mounting_distance_changes_the_pack_by_the_difference(row: Row, tmp_path: Path) -> None:
    """Behind the inner bearing a thicker pack sends the pinion in, under the flange it sends it out: the same size, the other sign."""
    size = row.number("pack")
    row.near(size - another_mark(row, row.number("old"), row.number("new"), tmp_path / "a"))


@pytest.mark.parametrize("row", manual("another mark"))
def test_marks_of_another_set_in_thousandths_change_the_pack_by_their_difference(row: Row, tmp_path: Path) -> None:
    distance = shipped("slipway").machine.gears.pinion_mounting_distance.nominal / INCH
    old, new = (distance + row.number(name) / 1000.0 for name in ("old", "new"))
    sign = -1.0 if "behind the inner bearing" in row.quantity else 1.0
    row.near(sign * another_mark(row, old, new, tmp_path / "a"))


@pytest.mark.parametrize("row", manual("which member is moved"))
def test_readings_move_the_member_that_the_manual_moves(row: Row, tmp_path: Path) -> None:
    """A spiral set cut for the middle of those limits: the mark alike on both flanks, backlash at four places."""
    ((member, way),) = row.expected_texts.items()
    unit, least, most = row.unit, row.number("least"), row.number("most")
    explainer = derived(
        "millrace", gears__backlash=[f"{least} {unit}", f"{most} {unit}"], gears__design_backlash=f"{(least + most) / 2.0} {unit}"
    )
    where = row.given["pattern"]
    put(explainer, tmp_path / "a", "pattern", f"drive {where}", f"coast {where}")
    judged = said(put(explainer, tmp_path / "a", "backlash", *[f"{row.given['reads']} {unit}"] * 4))
    told = "\n".join(judged.now).split("Recommended move")[1].split("Next best")[0]
    assert judged.verdict == "stop"
    moved = {name: found for name, found in re.findall(r"(Pinion|Gear) gasket: [\d.]+ mm (thicker|thinner)", told)}
    assert WAY[f"{member}_gasket", moved[member.capitalize()]] == way


@pytest.mark.parametrize("row", manual("which way the mark goes"))
def test_a_gasket_moves_the_mark_as_the_manual_says(row: Row, tmp_path: Path) -> None:
    """The new gasket is read at four points; the mean of drive and coast is compared, as the manuals tell no flanks apart."""
    member, ((axis, goal),) = row.given["member"], row.expected_texts.items()
    explainer = shipped("millrace")
    old = getattr(explainer.machine.gaskets, f"{member}_gasket").thickness
    thicker = (
        next(how for (gasket, how), way in WAY.items() if gasket == f"{member}_gasket" and way == row.given["way"]) == "thicker"
    )
    found = put(explainer, tmp_path / "a", f"gaskets.{member}_gasket", *[f"{old + (0.1 if thicker else -0.1):.2f} mm"] * 4)
    before, after = (centre(one, axis) for one in (explainer, found.present))
    assert (after > before) == (goal in ("heel", "high")) and abs(after - before) > 1.0


def centre(explainer: Explainer, axis: str) -> float:
    """Middle of the marks of both flanks, from toe or root [%]."""
    built = explainer.reducer(explainer.start_settings())
    met = meeting(built, displacement(built))
    assert met.drive is not None and met.coast is not None
    name = f"centre_{axis}"
    return (getattr(met.drive.pattern, name) + getattr(met.coast.pattern, name)) / 2.0


@pytest.mark.parametrize("row", manual("inside or outside"))
def test_a_reading_is_inside_the_manuals_limits_or_not(row: Row, tmp_path: Path) -> None:
    place = "gears__backlash" if row.given["read"] == "backlash" else f"limits__{row.given['read']}"
    explainer = derived("slipway", **{place: [f"{row.number('least')} in", f"{row.number('most')} in"]})
    verdicts = []
    for number, value in enumerate(figures(row, "values")):
        before_turning(explainer, tmp_path / str(number))
        verdicts.append(said(put(explainer, tmp_path / str(number), row.given["read"], *[f"{value} in"] * 4)).verdict)
    assert verdicts == row.expected_text.split()


@pytest.mark.parametrize("row", cases("END", "shoulder) + t (compressed gasket)"))
def test_the_end_play_of_the_measured_sizes_closes_the_chain(row: Row, tmp_path: Path) -> None:
    """Every link is read: outer face H, two rings and a spacer that make the stack W, spigot C, gasket t."""
    side = "low" if row.number("W") > 60.0 else "high"
    spacer = 12.0 if side == "low" else SPACER
    explainer, path = derived("millrace", **{f"gaskets__{side}_speed_float_gasket": pack("0.5 mm")}), tmp_path / "a"
    put(explainer, path, f"{side}_speed_cartridge.outer_face", f"{row.number('H')} mm")
    put(explainer, path, f"{side}_speed_pair.width", f"{(row.number('W') - spacer) / 2.0} mm")
    for ring in ("inner", "outer"):
        put(explainer, path, f"{side}_speed_pair.{ring}_spacer", f"{spacer} mm")
    put(explainer, path, f"{side}_speed_cover.spigot", f"{row.number('C')} mm")
    found = put(explainer, path, f"gaskets.{side}_speed_float_gasket", *[f"{row.number('t')} mm"] * 4)
    row.near(noted(found, "hs_end_play" if side == "high" else "ls_end_play", f"chain.{side}_speed_end_play").value)


@pytest.mark.parametrize("row", cases("END", "statistical"))
def test_the_end_play_of_drawn_sizes_has_the_statistical_band(row: Row, tmp_path: Path) -> None:
    """A new gasket's band is 5 % of its thickness here, so that the row's +-0.03 mm belongs to 0.60 mm: 0.15 mm more, and the spigot too."""
    more = 0.15
    explainer = derived(
        "millrace",
        gaskets__high_speed_float_gasket=pack(f"{row.number('t') + more} mm"), high_speed_cartridge__outer_face=of_chain(62.0, 0.05, 0.05),
        high_speed_pair__width=of_chain(10.5), high_speed_pair__inner_spacer=of_chain(10.0), high_speed_pair__outer_spacer=of_chain(10.0, 0.0, 0.15),
        high_speed_cover__spigot=of_chain(row.number("C") + more, 0.05, 0.05),
    )  # fmt: skip
    built = reducer(put(explainer, tmp_path / "a", "high_speed_shaft.extension", *["50.01 mm"] * 4))
    band = closed(built, built.chain("high_speed_end_play"))
    assert band.mid == pytest.approx(row.want("mid"), abs=row.tolerance.value)
    assert band.rss == pytest.approx(0.107, abs=row.tolerance.value) and "+-0.107" in row.expected_text


@pytest.mark.parametrize("row", cases("END", "shim thickness to reach"))
@pytest.mark.parametrize("side", ["high", "low"])
def test_a_wanted_end_play_asks_for_shims_thicker_by_what_is_missing(row: Row, side: str, tmp_path: Path) -> None:
    present, wanted = row.number("present e"), row.number("wanted")
    limits, leaves = [f"{wanted - 0.01} mm", f"{wanted + 0.01} mm"], ["0.05 mm", "0.10 mm", "0.25 mm", "0.50 mm"]
    place = f"{side}_speed_float_gasket"
    explainer = derived("millrace", **{f"limits__{side}_speed_end_play": limits, f"gaskets__{place}": pack("0.5 mm", leaves)})
    put(explainer, tmp_path / "a", f"gaskets.{place}", *["0.50 mm"] * 4)
    told = " ".join(said(put(explainer, tmp_path / "a", f"{side}_speed_end_play", *[f"{present:.2f} mm"] * 3)).now)
    row.near(float(re.search(r"([\d.]+) mm free", told)[1]) - 0.50, "add")  # type: ignore[index]
    assert "From stock: 1 x 0.500 mm + 1 x 0.100 mm." in told


@pytest.mark.parametrize("row", cases("END", "gasket compressed thickness"))
def test_a_measured_gasket_is_reckoned_with_as_it_clamps(row: Row, tmp_path: Path) -> None:
    explainer = derived(
        "millrace", gaskets__high_speed_float_gasket={"thickness": "0.5 mm", "compression": row.given["compression"]}
    )
    found = put(explainer, tmp_path / "a", "gaskets.high_speed_float_gasket", *[f"{row.number('t0')} mm"] * 4)
    row.near(noted(found, "hs_float_gasket", "gasket.high_speed_float_gasket").value)


@pytest.mark.parametrize("row", cases("DIA", "indicator reading at radius"))
def test_a_dial_at_another_radius_is_brought_to_the_pitch_circle(row: Row, tmp_path: Path) -> None:
    """The radii are the row's times what makes its r this gear's: only their ratio counts."""
    explainer = shipped("millrace")
    pitch = explainer.reducer(explainer.start_settings()).blank.outer_diameters[GEAR] / 2.0
    at = row.number("Ri") * pitch / row.number("r")
    before_turning(explainer, tmp_path / "a")
    found = put(explainer, tmp_path / "a", "backlash", *[f"{row.value} mm at {at!r} mm"] * 4)
    assert found.job.taken[-1].values == pytest.approx((row.number("jt"),) * 4, abs=row.tolerance.value)
    judged = said(found)
    assert (
        judged.verdict == "fine"
        and judged.says[0] == f"Read at another radius: brought to the large-end pitch circle, radius {pitch:.3f} mm."
    )
    same = adjusting.readings(reducer(found), adjusting.Read((row.value,), at_radius=at))  # what `adjust` makes of it
    assert found.job.taken[-1].values[0] == pytest.approx(same[0].backlash, abs=1e-12)


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("0.2 mm at 0.5 mm", "accepted: 1.000 mm to 5000.000 mm"),
        ("0.2 mm at 150", "150"),
        ("6 mm at 900 mm", "accepted: 0.000 mm to 5.000 mm"),
    ],
)
def test_a_radius_that_is_none_is_refused(typed: str, told: str, tmp_path: Path) -> None:
    read = opened(shipped("millrace"), tmp_path / "a").reads["backlash"]
    with pytest.raises(ValueError, match="backlash '") as refused:
        record.reading(read, [typed], "left", initials="AB", step="backlash")
    assert told in str(refused.value)


def test_only_backlash_has_a_radius(tmp_path: Path) -> None:
    read = opened(shipped("millrace"), tmp_path / "a").reads["high_speed_end_play"]
    with pytest.raises(ValueError, match="0.05 mm at 150 mm"):
        record.reading(read, ["0.05 mm at 150 mm"], "left", initials="AB", step="hs_end_play")


TEETH = {18: (54, "6.8 mm"), 14: (39, "8.5 mm")}
"""Sets of the rows that a machine of this layout can have: pinion teeth, gear teeth, a module that fits the case."""


def set_of(pinion: int, spiral: float) -> Explainer:
    gear, module = TEETH[pinion]
    straight = {} if spiral else {"gears__pinion_hand": "straight", "gears__cutter_radius": None}
    return derived(
        "millrace", gears__pinion_teeth=pinion, gears__gear_teeth=gear, gears__outer_module=module,
        gears__spiral_angle=f"{spiral} deg", **straight,
        gaskets__pinion_gasket=pack("0.5 mm"), gaskets__gear_gasket=pack("0.5 mm"),
    )  # fmt: skip


def changed(explainer: Explainer, member: str, shift: float, path: Path) -> float:
    """Change of the backlash, by the handbook's rate, when a gasket that was read sends a member out by so much [mm]."""
    thicker = shift if member == "pinion" else -shift
    before = positions(explainer.reducer(explainer.start_settings()))
    built = reducer(put(explainer, path, f"gaskets.{member}_gasket", *[f"{0.5 + thicker!r} mm"] * 4))
    after, end = positions(built), "pinion_running" if member == "pinion" else "gear_distance"
    assert getattr(after, end) - getattr(before, end) == pytest.approx(shift, abs=1e-9)
    return float(getattr(mesh_rates(built.blank), member).handbook * (getattr(after, end) - getattr(before, end)))


@pytest.mark.parametrize("row", [case for case in cases("BEV", "0.1 mm outward shift") if case.values[0].number("z1") in TEETH])
def test_a_new_gasket_changes_the_backlash_as_the_handbook_says(row: Row, tmp_path: Path) -> None:
    """The row of equal tooth numbers is left out: such a pinion is no pinion that goes in through its bore."""
    member = "pinion" if row.number("member") == 1 else "gear"
    row.near(changed(set_of(int(row.number("z1")), row.number("beta_m")), member, row.number("a"), tmp_path / "a"))


@pytest.mark.parametrize("row", cases("BEV", "backlash change per axial shift"))
def test_a_shift_changes_the_backlash_as_the_handbook_says(row: Row, tmp_path: Path) -> None:
    """Pitch angle 18.4349 deg: 18/54 teeth; 19.7468 and 70.2532 deg: pinion and gear of 14/39 (BEV-002, BEV-008)."""
    member = "pinion" if row.number("delta") < 45.0 else "gear"
    teeth = 18 if row.number("delta") == 18.4349 else 14
    row.near(changed(set_of(teeth, row.number("beta_m")), member, row.number("a"), tmp_path / "a"))


@pytest.mark.parametrize("row", cases("BEV", "shim change for a wanted"))
def test_the_gasket_for_a_wanted_change_of_backlash_gives_it(row: Row, tmp_path: Path) -> None:
    """Pitch angle 18.4349 deg: the pinion of 18/54 teeth (BEV-002)."""
    got = changed(set_of(18, row.number("beta")), "pinion", row.value, tmp_path / "a")
    assert got == pytest.approx(row.number("djt"), abs=row.tolerance.value)
