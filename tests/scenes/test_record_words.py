"""What a record is called and says in words: every dimension by its trade name, every value in the language spoken."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args

import pytest

from calc import refusal, units
from geometry.fields import Fitted, Record, Size
from geometry.machine import Gasket, Machine
from scenes import measurable, read_titles, record, record_listing, record_typed, record_words
from scenes.explain import Explainer
from scenes.reads import Read, field_at, known, typed
from scenes.record_file import RecordError
from scenes.record_listing import Opened, opened
from scenes.record_time import when
from scenes.rounds_expected import rounds
from scenes.wording import LANGUAGES, catalogue, speaking


def types(annotation: Any) -> Iterator[type]:
    """The classes that an annotation is made of."""
    if isinstance(annotation, type):
        yield annotation
    for piece in get_args(annotation):
        yield from types(piece)


def places(section: type[Record], place: str = "") -> Iterator[str]:
    """Every place of the machine file that takes readings, those that a machine may leave out too."""
    for name, field in section.model_fields.items():
        kinds = list(types(field.annotation))
        if any(issubclass(kind, Fitted | Gasket | Size) for kind in kinds):
            yield f"{place}{name}"
        else:
            yield from (inner for kind in kinds if issubclass(kind, Record) for inner in places(kind, f"{place}{name}."))


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_dimension_of_a_machine_file_has_a_name_of_the_trade(language: str) -> None:
    found = list(places(Machine))
    assert {"gear.key.hub_width", "gear.bore", "carrier.gasket", "gaskets.gear_gasket"} <= set(found) and len(found) > 53
    with speaking(language):
        titles = [read_titles.title(place) for place in found]
    assert len(set(titles)) == len(titles)
    assert not [title for title in titles if "_" in title or re.search(r"\w\.\w", title)]


def test_the_names_are_those_of_parts_and_gaskets_as_they_are_called_elsewhere() -> None:
    assert read_titles.title("gear.bore") == "Gear: bore" and read_titles.title("gaskets.pinion_gasket") == "Pinion gasket"
    with speaking("es"):
        assert (
            read_titles.title("gear.bore") == "Corona: agujero"
            and read_titles.title("carrier.gasket") == "Junta del portarrodamiento"
        )


def filled(explainer: Explainer, path: Path) -> Opened:
    """A record with one reading of each dimension, as the machine file has it."""
    found = opened(explainer, path)
    for read in found.reads.values():
        if read.dimension:
            field: Any = field_at(explainer.machine, read.name)
            size = field.diameter if isinstance(field, Fitted) else field.thickness if isinstance(field, Gasket) else field.nominal
            record_listing.put(found, record.reading(read, [f"{size!r} mm"], "fitting", initials="AB"))
    return opened(explainer, path)


def test_no_place_of_the_machine_file_is_shown_to_a_person(explainer: Explainer, tmp_path: Path) -> None:
    found = filled(explainer, tmp_path / "a")
    names = [read.name for read in found.reads.values() if read.dimension]
    assert len(found.job.taken) == len(names) > 50
    for language in LANGUAGES:
        with speaking(language):
            now = explainer.start_settings()
            told = "\n".join([record_listing.entry_line(found, one) for one in found.job.taken])
            told += str([group["title"] for group in record_typed.choice(found, now)])
            told += str([record_typed.asked(found, read, "", now)["title"] for read in found.reads.values()])
            assert not [name for name in names if name in told]


VOLUME, RUN, SCREWS = Read("oil_filled", "volume"), Read("first_run_temperature", "run"), Read("split_screw", "torque")
FEEL, DIAL = Read("turning_feel", "feel"), Read("backlash", "length", pitch=140.0)
MARKS, LENGTH, TICK = Read("pattern", "marks"), Read("backlash", "length"), Read("locks", "agreed")


@pytest.mark.parametrize(
    ("read", "given", "kept", "told"),
    [
        (MARKS, "tracción punta,raíz", "drive toe,low", "tracción punta, raíz"),
        (MARKS, "Retencion muy al talon", "coast hard-heel", "retención muy al talón"),
        (MARKS, "tracción 40,5 %,55 %", "drive 40.5 %,55 %", "tracción 40,5 %, 55 %"),
        (MARKS, "drive toe,low", "drive toe,low", "tracción punta, raíz"),
        (LENGTH, "0,05 mm", "0.05 mm", "0,05 mm"),
        (LENGTH, "0.05 mm", "0.05 mm", "0,05 mm"),
        (LENGTH, "20,5 um", "20.5 um", "20,5 um"),
        (VOLUME, "6,5 L", "6.5 L", "6,5 L"),
        (RUN, "20 min 48,5 degC", "20 min 48.5 degC", "20 min 48,5 °C"),
        (SCREWS, "8 x 60,5 N m", "8 x 60.5 N m", "8 x 60,5 N m"),
        (DIAL, "0,39 mm a 240,5 mm", "0.39 mm at 240.5 mm", "0,39 mm a 240,5 mm"),
        (DIAL, "0,39 mm @ 240,5 mm", "0.39 mm at 240.5 mm", "0,39 mm a 240,5 mm"),
        (FEEL, "duro pinon", "tight pinion", "duro piñón"),
        (FEEL, "Duro, en todo", "tight everywhere", "duro en todo"),
        (FEEL, "even", "even", "igual"),
        (TICK, "Sí", "yes", "sí"),
        (TICK, "si", "yes", "sí"),
        (TICK, "no", "no", "no"),
    ],
)
def test_a_value_is_typed_and_read_in_spanish_and_kept_in_english(read: Read, given: str, kept: str, told: str) -> None:
    with speaking("es"):
        assert record_words.kept(read, [given]) == [kept]
        assert record_words.told(read, [kept]) == told
    typed(read, [kept])


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ("impulsión talón, bajo", ["'impulsión talón, bajo'", "se acepta: un flanco y un lugar", "tracción punta,raíz"]),
        ("tracción talón, bajo", ["'tracción talón, bajo'", "'bajo' no es un lugar del patrón: se acepta: centrado", "raíz"]),
        ("retención talom", ["'retención talom'", "¿quiso decir talón?"]),
        ("tracción punta, talón", ["dos lugares a lo largo de la cara"]),
        ("retención 140 %,50 %", ["de 0 % a 100 %"]),
    ],
)
def test_a_pattern_refused_in_spanish_is_echoed_and_answered_in_spanish(given: str, told: list[str]) -> None:
    with speaking("es"), pytest.raises(ValueError) as refused:
        record.reading(MARKS, [given], "left", initials="AB")
    said = str(refused.value)
    assert all(word in said for word in told), said
    assert not re.search(r"\b(heel|toe|low|high|hard|drive|coast|centre|place)\b", said), said


def test_the_feel_of_the_pair_is_no_torque_in_spanish() -> None:
    with speaking("es"):
        assert FEEL.title == "Tacto de la pareja girada a mano"


def test_a_decimal_comma_in_english_and_words_of_somebodys_own_are_left_alone() -> None:
    assert record_words.kept(LENGTH, ["0,05 mm"]) == ["0,05 mm"]
    seen = "toe cap of the boot, yes"
    with speaking("es"):
        assert record_words.told(Read("found_condition", "words"), [seen]) == seen


@pytest.mark.parametrize(
    "given", ["2026-13-01 10:00", "24.11.2026", "14:30", "2026-11-24", "0001-01-01 00:00+14:00", "2999-01-01 00:00"]
)
def test_a_time_that_is_none_or_lies_ahead_is_refused(given: str) -> None:
    with pytest.raises(ValueError) as refused:
        when(given)
    assert refusal.told(given) in str(refused.value)


def test_what_is_typed_in_afterwards_keeps_both_times_and_stands_where_it_was_read(millrace: Explainer, tmp_path: Path) -> None:
    found = opened(millrace, tmp_path / "a")
    read = found.reads["backlash"]
    record_listing.put(found, record.reading(read, ["0.2 mm"] * 4, "left", initials="AB"))
    for day, value in ((4, "0.8 mm"), (3, "0.9 mm"), (4, "0.7 mm")):
        typed_in = record.reading(read, [value] * 4, "left", initials="AB", time=when(f"2020-02-0{day} 14:30"))
        record_listing.put(found, typed_in)
    found = opened(millrace, tmp_path / "a")
    assert [one.typed[0] for one in found.job.taken] == ["0.9 mm", "0.8 mm", "0.7 mm", "0.2 mm"]
    late, now = found.job.taken[0], found.job.taken[-1]
    assert now.entered == "" and late.time.startswith("2020-02-03T14:30") and late.entered >= now.time
    assert found.job.latest("backlash") is now and found.job.until(now).taken == found.job.taken[:3]
    told = record_listing.entry_line(found, late)
    assert "  2020-02-03 14:30 (entered " in told and f"{late.entered[:16].replace('T', ' ')})" in told and late.entered not in told
    kept = record_listing.report(found, millrace.start_settings())["readings"][0]
    assert (kept["time"], kept["entered"]) == (late.time, late.entered)


def test_a_sheet_typed_in_after_the_gaskets_were_changed_belongs_to_the_round_that_it_was_read_in(
    millrace: Explainer, tmp_path: Path
) -> None:
    def put(name: str, value: str, time: str = "") -> None:
        found = opened(millrace, tmp_path / "a")
        step = next(iter(found.reads[name].steps), "")
        entry = record.reading(found.reads[name], [value] * 4, "fitting", step=step, initials="AB", time=when(time))
        record_listing.put(found, entry if not time else entry | {"entered": record.stamp(None)})

    put("gaskets.gear_gasket", "0.50 mm", "2020-02-03 08:00")
    put("gaskets.gear_gasket", "0.60 mm", "2020-02-03 16:00")
    put("backlash", "0.20 mm", "2020-02-03 17:00")
    put("backlash", "0.30 mm", "2020-02-03 12:00")
    found = opened(millrace, tmp_path / "a")
    assert [[one.mean for one in each.readings.values()] for each in rounds(found)] == [[0.30], [0.20]]
    last = found.job.latest("backlash")
    assert last is not None and last.mean == 0.20 and found.lapses.since(last) is None


def test_nothing_is_read_as_found_once_the_new_gaskets_are_in(millrace: Explainer, tmp_path: Path) -> None:
    def put(name: str, value: str, state: str, time: str) -> None:
        found = opened(millrace, tmp_path / "a")
        record_listing.put(found, record.reading(found.reads[name], [value] * 4, state, initials="AB", time=when(time)))

    put("gaskets.gear_gasket", "0.50 mm", "fitting", "2020-02-03 08:00")
    put("backlash", "0.30 mm", "found", "2020-02-02 08:00")
    put("gaskets.gear_gasket", "0.45 mm", "found", "2020-02-03 09:00")  # the old gasket, measured while the new one is in
    for name in ("backlash", "gaskets.gear_gasket"):
        with pytest.raises(RecordError, match=r"state found: not kept, new gaskets are in \(entry 2\)"):
            put(name, "0.40 mm", "found", "2020-02-03 10:00")
    assert [one.mean for one in opened(millrace, tmp_path / "a").job.taken] == [0.30, 0.50, 0.45]


def test_every_dimension_can_be_measured_at_a_step_that_brings_its_part(explainer: Explainer) -> None:
    reads, now = known(explainer.machine, explainer.procedure), explainer.start_settings()
    offered = {step: measurable.groups(explainer, reads, explainer.with_(now, step=step)) for step in explainer.procedure.order}
    dimensions = {read.name for read in reads.values() if read.dimension}
    here = {name for groups in offered.values() if groups[0][0] == "At this step" for name in groups[0][1]}
    assert here == dimensions
    for groups in offered.values():
        names = [name for _, group in groups for name in group]
        assert (
            len(names) == len(set(names))
            and dimensions <= set(names)
            and {"bearing_marks", "pattern_accepted"} <= set(names)
            and "locks" not in names
        )
    assert {"gear.bore", "low_speed_shaft.gear_seat"} <= set(offered["gear_hot"][0][1])
    assert set(offered["pinion_gasket"][0][1]) == {"gaskets.pinion_gasket"}


def test_a_value_is_judged_before_it_is_kept_and_a_bare_figure_takes_the_unit_beside_its_box(
    millrace: Explainer, tmp_path: Path
) -> None:
    found, now = opened(millrace, tmp_path / "a"), millrace.start_settings()
    read, screw = found.reads["high_speed_end_play"], found.reads["split_screw"]
    assert record_typed.values(found, read, "0.05; 0.06 mm;", now) == ["0.05 mm", "0.06 mm"]
    assert typed(screw, record_typed.values(found, screw, "160", now)) == (160.0,)
    assert typed(screw, record_typed.values(found, screw, "8 x 160", now)) == (160.0,) * 8
    assert record_typed.values(found, found.reads["backlash"], "0.39 at 240; 0.39 mm", now) == ["0.39 mm at 240 mm", "0.39 mm"]
    assert record_typed.values(found, found.reads["oil_filled"], "6.5", now) == ["6.5 L"]
    assert record_typed.how("dial", "", "21; 70 degF", now).temperature == ["21 °C", "70 degF"]
    with speaking("es"):
        assert record_typed.values(found, found.reads["backlash"], "0,39 a 240,5", now) == ["0.39 mm at 240.5 mm"]
    inch = millrace.with_(now, units="inch")
    assert typed(read, record_typed.values(found, read, ".002", inch)) == pytest.approx((0.0508,))

    def said(given: str) -> record_typed.Said:
        told = record_typed.verdict(found, read, given, "left", now)
        assert told is not None
        return told

    assert (said("0.05; 0.05; 0.06").verdict, said("0.05; 0.05; 0.06").heading) == ("fine", "✓ fine")
    assert (said("0.95; 0.95; 0.96").verdict, said("0.95; 0.95; 0.96").heading) == ("stop", "✕ stop")
    assert "outside" in said("0.95; 0.95; 0.96").line and said("0.95; 0.95; 0.96").now
    assert "1 of 3" in said("0.05").now[0]
    assert said("0.05 m").line.startswith("Not yet: High-speed end play '0.05 m'")
    assert record_typed.verdict(found, read, " ", "left", now) is None and not (tmp_path / "a").exists()


@pytest.mark.parametrize(
    ("name", "given", "refused"),
    [
        ("high_speed_end_play", "0,05 psi", "la unidad 'psi' no es de longitud: se acepta: mm"),
        ("high_speed_end_play", "poco", "no se lee como longitud: se acepta: un número y una unidad"),
        ("split_screw", "160 mm", "la unidad 'mm' no es de par de apriete: se acepta: N m"),
        ("oil_filled", "6 gal", "la unidad 'gal' no es de volumen"),
        ("high_speed_end_play", "1e999 mm", "demasiado grande: se acepta: un número finito"),
        ("first_run_temperature", "20 min 48 C", "(los grados se escriben"),
    ],
)
def test_a_figure_that_is_none_is_refused_in_the_language_spoken(
    millrace: Explainer, tmp_path: Path, name: str, given: str, refused: str
) -> None:
    with speaking("es"):
        found, now = opened(millrace, tmp_path / "a"), millrace.start_settings()
        said = record_typed.verdict(found, found.reads[name], given, "left", now)
    assert said is not None and said.verdict == "" and refused in said.line and "accepted" not in said.line


def test_the_english_catalogue_refuses_figures_as_the_reader_of_units_does_by_itself() -> None:
    assert {key: catalogue("en")[f"quantity.{key}"] for key in units.REFUSALS} == dict(units.REFUSALS)
