"""What single readings of a job say: sizes outside their drawing, places that stand apart, slips of the pen. Figures of the machines are our
own invention; what a fit may be is the difference of the limits in the machine file."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest

from calc import units
from scenes import filled_sheet, left_report, record, record_listing
from scenes.examples import open_machine
from scenes.explain import Explainer
from scenes.frame import Callout
from scenes.reads import Read, kind_of
from scenes.record_listing import Opened, opened
from scenes.wording import speaking
from tests.scenes.test_record_reads import is_open, put, told

SEAT, BORE = "low_speed_shaft.gear_seat", "gear.bore"
WORN = ("2.5010 in", "2.5010 in", "2.5011 in", "2.5010 in")
"""Under the 2.5019 in that the machine file has at least."""
SQUEEZED = ("0.0148 in", "0.0151 in", "0.0150 in", "0.0112 in")


@pytest.fixture(scope="module")
def slipway() -> Explainer:
    return Explainer(*open_machine("slipway"))


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return tmp_path / "job.jsonl"


def shown(found: Opened) -> str:
    return "\n".join(record_listing.lines(found, found.planned.start_settings()))


def fit(found: Opened) -> Callout:
    """The note of the gear's fit on its seat."""
    notes = found.present.callouts(found.planned.start_settings(), found.planned.procedure.order[4])
    return next(note for note in notes if note.key == "fit.gear_bore")


def deviations(found: Opened) -> list[str]:
    return left_report.report(found, found.planned.start_settings())["deviations"]


# ---- sizes outside their drawing ---------------------------------------------------------------------------------------


def test_a_worn_seat_stays_open_and_says_what_to_do_until_it_is_read_inside(slipway: Explainer, job: Path) -> None:
    found, said = put(slipway, job, SEAT, *WORN, state="found")
    assert said.verdict == "stop" and "built up and ground or sleeved" in told(said) and "--note" in told(said)
    assert is_open(found, "seat of the gear: not in order (entry 2)") and "no reason written" in deviations(found)[0]
    found, said = put(slipway, job, SEAT, *["2.5022 in"] * 4, note="sleeved and ground")
    assert said.verdict == "fine" and not is_open(found, "seat of the gear")
    assert "put right: entry 3" in deviations(found)[0]


def test_a_reason_written_with_a_later_reading_makes_a_worn_seat_a_deviation(slipway: Explainer, job: Path) -> None:
    put(slipway, job, SEAT, *WORN, state="found")
    found, said = put(slipway, job, SEAT, *WORN, note="accepted by the maker")
    assert said.verdict == "stop" and not is_open(found, "seat of the gear")
    assert "(entry 3, AB): accepted by the maker" in shown(found)
    assert any("Entry 3, " in line and "accepted by the maker" in line for line in deviations(found))
    found, _ = put(slipway, job, SEAT, *WORN)  # read again without a reason
    assert is_open(found, "seat of the gear: not in order (entry 4)")


@pytest.mark.parametrize(
    ("name", "size", "words"),
    [
        (SEAT, "2.5030 in", "stone them off"),
        (BORE, "2.4990 in", "honed or bored to size"),
        (BORE, "2.5020 in", "sleeved and bored"),
        ("low_speed_shaft.collar_length", "4.2800 in", "before gaskets make up for it"),
    ],
)
def test_a_bore_and_a_shaft_are_cured_by_which_way_they_are_off(
    slipway: Explainer, job: Path, name: str, size: str, words: str
) -> None:
    _, said = put(slipway, job, name, *[size] * 4)
    assert said.verdict == "stop" and words in told(said)


def test_a_fit_looser_than_the_drawing_allows_is_never_called_fine(slipway: Explainer, job: Path) -> None:
    """Bore 2.5000 to 2.5012 in, seat 2.5019 to 2.5025 in by the machine file: the drawing's loosest is 0.0007 in tight."""
    put(slipway, job, BORE, *["2.5005 in"] * 4)
    found, _ = put(slipway, job, SEAT, *["2.5020 in"] * 4)
    assert fit(found).verdict == "fine"
    found, _ = put(slipway, job, SEAT, *["2.5010 in"] * 4)
    note = fit(found)
    assert note.verdict == "watch"
    assert "0.0005 in tight, where it has 0.0007 in tight at the loosest" in note.text


def test_what_does_not_count_is_open_and_stays_out_of_the_machine(slipway: Explainer, job: Path) -> None:
    found, said = put(slipway, job, BORE, "2.5000 in", "2.5000 in")
    assert said.verdict == "watch" and is_open(found, "Gear: bore: 2 of 4 places (entry 2)")
    assert found.present.machine.gear.bore.readings is None
    late = {"instrument": "micrometer no. 22", "due": "2026-05-01", "time": datetime(2026, 6, 1, 8, 0), "state": "found"}
    found, _ = put(slipway, job, SEAT, *["2.5020 in"] * 4, **late)
    assert is_open(found, "seat of the gear: does not count") and found.present.machine.low_speed_shaft.gear_seat.readings is None


# ---- notes, instruments, limits ----------------------------------------------------------------------------------------


def test_note_and_instrument_of_a_good_reading_stand_in_show_sheet_and_report(slipway: Explainer, job: Path) -> None:
    how = {"instrument": "micrometer no. 17", "due": "2027-01-01", "temperature": ["70 degF"], "gauge": "71 degF"}
    found, said = put(slipway, job, SEAT, *["2.5022 in"] * 4, note="sleeved and ground", **how)
    now = slipway.start_settings()
    assert said.verdict == "fine"
    assert "With: micrometer no. 17, calibrated until 2027-01-01, 70 °F, instrument 71 °F." in shown(found)
    on_sheet = next(line for line in filled_sheet.content(found, now)["sizes"] if line["name"] == SEAT)
    in_report = next(row for row in left_report.report(found, now)["sizes"] if "seat of the gear" in row["what"])
    for said_of_it in (shown(found), on_sheet["who"], in_report["left"]["who"]):
        assert "micrometer no. 17" in said_of_it and "note: sleeved and ground" in said_of_it


def test_the_places_outside_are_named(slipway: Explainer, job: Path) -> None:
    """The owner wants a backlash of 0.0060 to 0.0120 in (machine file)."""
    _, said = put(slipway, job, "trial_backlash", "0.0040 in", "0.0090 in", "0.0140 in", "0.0090 in")
    assert "Outside 0.0060 in to 0.0120 in" in told(said)
    assert "place 1 with 0.0040 in; place 3 with 0.0140 in." in told(said) and "0.0090 in: outside" not in told(said)


def test_a_value_just_outside_is_printed_unlike_its_limit(slipway: Explainer, job: Path) -> None:
    _, said = put(slipway, job, "low_speed_end_play", *["0.00304 in"] * 3)
    assert "0.00304 in: outside 0.00100 in to 0.00300 in" in told(said)


# ---- places that stand apart, slips of the pen -------------------------------------------------------------------------


def test_a_squeezed_place_of_a_gasket_is_told_and_its_mean_is_not_used(slipway: Explainer, job: Path) -> None:
    found, said = put(slipway, job, "gaskets.gear_gasket", *SQUEEZED)
    assert said.verdict == "watch" and "Place 4 is 0.0038 in thinner than the others" in told(said)
    assert is_open(found, "Gear gasket: does not count")
    assert found.present.machine.gaskets.gear_gasket.thickness == slipway.machine.gaskets.gear_gasket.thickness
    found, said = put(slipway, job, "gaskets.gear_gasket", *SQUEEZED, note="read again, thin at the dowel")
    assert said.counts and said.verdict == "watch"  # so it is thin there


def test_one_push_and_one_place_of_a_seat_that_stand_apart_are_named(slipway: Explainer, job: Path) -> None:
    _, said = put(slipway, job, "low_speed_end_play", "0.0025 in", "0.0041 in", "0.0026 in")
    assert said.verdict != "fine" and "Push 2 reads 0.0016 in more than the others" in told(said)
    _, said = put(slipway, job, "low_speed_shaft.lower_seat", "55.018 mm", "55.019 mm", "54.990 mm", "55.018 mm")
    assert said.verdict != "fine" and "Place 3 is 0.0011 in smaller than the others" in told(said)


@pytest.mark.parametrize(
    ("name", "values", "words"),
    [
        ("gaskets.pinion_gasket", ["0.15 in"] * 4, "ten times what is expected (0.0150 in)"),
        ("low_speed_end_play", ["0.0200 in"] * 3, "ten times what is expected (0.0020 in)"),
        ("low_speed_end_play", ["0.051 in"] * 3, "25.4 times what is expected (0.0020 in)"),
        ("trial_backlash", ["0.0009 in"] * 4, "a tenth of what is expected (0.0090 in)"),
    ],
)
def test_a_slip_of_the_pen_is_asked_after_and_nothing_is_worked_out_of_it(
    slipway: Explainer, job: Path, name: str, values: list[str], words: str
) -> None:
    found, said = put(slipway, job, name, *values)
    assert said.verdict in ("watch", "stop") and words in told(said) and " mm" not in told(said)
    assert "free (new one)" not in told(said) and found.unfit == ()
    found, said = put(slipway, job, name, *values)
    assert "The same as entry 2, a few minutes before: typed twice?" in told(said) and words in told(said)
    _, said = put(slipway, job, name, *values, note="read again, so it is")
    assert words not in told(said) or name.startswith("gaskets.")


def test_the_same_again_is_asked_after_within_minutes_only(slipway: Explainer, job: Path) -> None:
    put(slipway, job, "gear_distance", "3.1505 in", step="backlash", time=datetime(2026, 11, 2, 8, 0))
    _, said = put(slipway, job, "gear_distance", "3.1505 in", step="backlash")
    assert "typed twice" in told(said)  # both were typed in just now
    _, said = put(slipway, job, "gear_distance", "3.1505 in", step="backlash", instrument="depth gauge 2")
    assert "typed twice" not in told(said)


@pytest.mark.parametrize(
    ("system", "name", "value", "words"),
    [
        ("inch", "backlash", "0.5 in", "accepted: 0.0000 in to 0.1969 in"),
        ("inch", "backlash", "0.2", 'for example "0.010 in"'),
        ("inch", "oil_filled", "900 US gal", "accepted: 0.03 US gal to 528.34 US gal"),
        ("mm", "backlash", "0.5 in", "accepted: 0.000 mm to 5.000 mm"),
        ("mm", "backlash", "0.2", 'for example "60 mm"'),
    ],
)
def test_a_refusal_has_the_units_of_the_machine(system: units.System, name: str, value: str, words: str) -> None:
    with pytest.raises(ValueError) as fault:
        record.reading(Read(name, kind_of(name), system=system), [value], "fitting", initials="AB")
    assert words in str(fault.value)


def test_the_readings_of_a_machine_have_its_units(slipway: Explainer, job: Path) -> None:
    assert {read.system for read in opened(slipway, job).reads.values()} == {"inch"}


def test_what_can_not_be_put_into_an_inch_machine_is_told_in_inches(slipway: Explainer, job: Path) -> None:
    for name, size in (("high_speed_shaft.pinion_seat", "1.6004 in"), ("case.end_face", "-0.9 in")):
        found, _ = put(slipway, job, name, *[size] * 4)
    assert len(found.unfit) == 2 and " in" in found.unfit[0] and not any(" mm" in line for line in found.unfit)


def test_what_single_readings_say_can_be_told_in_spanish(slipway: Explainer, job: Path) -> None:
    put(slipway, job, SEAT, *WORN, note="aceptado")
    put(slipway, job, "gaskets.gear_gasket", *SQUEEZED)
    found, _ = put(slipway, job, "trial_backlash", "0.0040 in", "0.0090 in", "0.0140 in", "0.0090 in")
    with speaking("es"):
        assert "nota: aceptado" in shown(found) and "el punto 4" in shown(found).lower()
