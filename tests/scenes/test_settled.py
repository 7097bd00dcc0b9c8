"""What was read of end plays and positions goes into the machine: solids, mesh and moves follow it. True sizes are known; mm."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest

from calc.readings import Mark
from scenes import adjusting, adjusting_listing, record, record_listing
from scenes.examples import EXAMPLES
from scenes.positions import positions
from scenes.settled import LAID_ON, Stood, settled
from scenes.tooth_contact import meeting
from tests.scenes.true_machine import Crew, built, explainer


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_machine_stands_where_it_was_read(name: str, tmp_path: Path) -> None:
    """Common practice, no source: a chain's end that was read is surer than the sizes it is added up from."""
    crew = Crew(name, tmp_path / "job")
    crew.read()
    there = built(crew.true, crew.inside)
    shown, true = positions(crew.record.present.reducer(crew.planned.start_settings())), positions(there)
    for chain in LAID_ON:
        off = getattr(positions(built(crew.planned.machine, crew.inside)), chain) - getattr(true, chain)
        assert abs(off) > 0.05, "else the reading teaches nothing"
        assert getattr(shown, chain) == pytest.approx(getattr(true, chain), abs=0.006)  # written down to a hundredth
    model, met = meeting(crew.record.present.reducer(crew.planned.start_settings())), meeting(there)
    assert model.backlash is not None and met.backlash is not None
    assert model.backlash.outer == pytest.approx(met.backlash.outer, abs=0.012)


def test_another_gasket_moves_the_machine_from_where_it_was_read(tmp_path: Path) -> None:
    crew = Crew("millrace", tmp_path / "job")
    crew.read()
    crew.put_in({"gear_gasket": crew.written["gear_gasket"] + 0.2})
    shown = positions(crew.record.present.reducer(crew.planned.start_settings()))
    assert shown.gear_distance == pytest.approx(positions(built(crew.true, crew.inside)).gear_distance, abs=0.006)


def test_what_was_measured_is_not_moved_and_no_play_read_moves_nothing() -> None:
    machine = explainer("millrace").machine
    cartridge = machine.high_speed_cartridge
    known = cartridge.model_copy(update={"stop_offset": cartridge.stop_offset.model_copy(update={"measured": True})})
    machine = machine.model_copy(update={"high_speed_cartridge": known})
    found = settled(machine, {"pinion_running": Stood(205.1, {}), "low_speed_end_play": Stood(0.0, {})})
    assert found.high_speed_cartridge == known and found.low_speed_cartridge == machine.low_speed_cartridge
    assert found.case.end_face.settled and not machine.case.end_face.settled
    assert positions(built(found, {})).pinion_running == pytest.approx(205.1, abs=1e-9)


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_move_starts_from_the_positions_as_read(name: str) -> None:
    """Where the positions were read closely, backlash and marks judged by eye move the answer by little."""
    planned = explainer(name)
    reducer, gears = planned.reducer(planned.start_settings()), planned.machine.gears
    met = meeting(reducer)
    assert met.backlash is not None
    here = positions(reducer)
    read = adjusting.Read((met.backlash.outer,), drive=Mark("heel"), coast=Mark("heel"))
    free = adjusting.answer(reducer, planned.procedure, read).found.diagnosis
    at = adjusting.Read(**(vars(read) | {"pinion_running": here.pinion_running, "gear_distance": here.gear_distance}))
    held = adjusting.answer(reducer, planned.procedure, at).found.diagnosis
    off = here.gear_distance - gears.gear_mounting_distance.nominal
    assert abs(held.displacement.gear - off) < 0.5 * abs(free.displacement.gear - off)


def test_positions_that_backlash_and_marks_gainsay_move_no_gasket() -> None:
    planned = explainer("millrace")
    reducer, here = planned.reducer(planned.start_settings()), positions(planned.reducer(planned.start_settings()))
    met = meeting(reducer)
    assert met.backlash is not None
    read = adjusting.Read(
        (met.backlash.outer,),
        drive=Mark(),
        coast=Mark(),
        pinion_running=here.pinion_running,
        gear_distance=here.gear_distance + 0.4,
    )
    answer = adjusting.answer(reducer, planned.procedure, read)
    assert not answer.possible and answer.found.diagnosis.causes[0] == "position_misread"
    assert any(
        "Read both positions again" in line for line in adjusting_listing.lines(answer, reducer, planned.procedure, "", "mm")
    )


def test_a_move_that_lands_outside_an_etched_limit_says_so() -> None:
    planned = explainer("slipway")
    reducer, machine = planned.reducer(planned.start_settings()), planned.machine
    met, here = meeting(reducer), positions(reducer)
    assert met.backlash is not None
    read = adjusting.Read(
        (met.backlash.outer,), drive=Mark(), coast=Mark(), pinion_running=here.pinion_running, gear_distance=here.gear_distance
    )
    told = []
    for off in (0.0, 1.0):  # etched where the gear stands, and a millimetre farther out
        etched = machine.gears.gear_mounting_distance
        band = etched.model_copy(update={"lower": off - 0.05, "upper": off + 0.05})
        changed = built(machine.model_copy(update={"gears": machine.gears.model_copy(update={"gear_mounting_distance": band})}), {})
        answer = adjusting.answer(changed, planned.procedure, read)
        assert answer.possible
        told.append("for the maker to allow" in "\n".join(adjusting_listing.lines(answer, changed, planned.procedure, "", "inch")))
    assert told == [False, True]


def test_what_does_not_count_is_neither_in_the_machine_nor_does_it_settle_it(tmp_path: Path) -> None:
    """A squeezed gasket and a single push are readings of nothing; a chain that was read with such a gasket in still ends where it was read."""
    crew = Crew("millrace", tmp_path / "job")
    drawn = positions(crew.record.present.reducer(crew.planned.start_settings())).high_speed_end_play
    crew.write("high_speed_end_play", "0.30 mm")
    assert positions(crew.record.present.reducer(crew.planned.start_settings())).high_speed_end_play == pytest.approx(drawn)
    crew.write("gaskets.high_speed_float_gasket", "0.50 mm", "0.50 mm", "0.50 mm", "0.30 mm")
    crew.write("high_speed_end_play", *["0.10 mm"] * 3)
    present = crew.record.present
    assert present.machine.gaskets.high_speed_float_gasket.thickness == pytest.approx(0.5)
    assert positions(present.reducer(crew.planned.start_settings())).high_speed_end_play == pytest.approx(0.10)
    taken = crew.record.job.latest("high_speed_end_play", "fitting")
    assert taken is not None
    said = " ".join(crew.record.judge(taken, crew.planned.start_settings()).now)
    assert "it is not known what is in" in said and "From stock" not in said and not crew.next().gaskets


def test_a_squeezed_gasket_typed_in_afterwards_confirms_no_later_one(tmp_path: Path) -> None:
    crew = Crew("millrace", tmp_path / "job")
    squeezed = ["0.50 mm", "0.50 mm", "0.50 mm", "0.30 mm"]
    crew.write("gaskets.pinion_gasket", *squeezed)
    found = crew.record
    early = record.reading(found.reads["gaskets.pinion_gasket"], squeezed, "fitting", initials="AB", time=datetime(2020, 1, 1, 8))
    record_listing.put(found, early)
    late = crew.record.job.latest("gaskets.pinion_gasket", "fitting")
    assert late is not None and crew.record.judge(late, crew.planned.start_settings()).counts  # read so before it
    assert crew.record.present.machine.gaskets.pinion_gasket.thickness == pytest.approx(0.45)
