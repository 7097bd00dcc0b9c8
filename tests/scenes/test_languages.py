"""Every language says the same: same keys and places, same figures, and no sentence or decimal mark leaks from one to another.

Spanish writes a decimal comma (ISO 80000-1, 7.3.2, and the Unicode locale data); words are common workshop practice, no source.
"""

from __future__ import annotations

import asyncio
import json
import re
import threading
from collections.abc import Iterator
from dataclasses import astuple, replace
from functools import cache
from importlib.resources import files
from string import Formatter
from typing import Any

import pytest

from calc import units
from scenes import effects, effects_listing, forgotten, listing, walk, wording
from scenes.examples import EXAMPLES, open_machine
from scenes.explain import Explainer
from scenes.frame import Callout
from scenes.settings import Settings
from scenes.wording import LANGUAGES, WordingError, speaking, text
from viewer.cli import main

OTHERS = LANGUAGES[1:]
NUMBER = re.compile(r"[−+-]?\d+(?:[.,]\d+)?")
POINT = re.compile(r"\S*\d\.\d\S*")
DESIGNATION = re.compile(r"M\d+x1\.5\D?|(?:8\.8|10\.9|12\.9)\D?")
"""Names that keep their point in every language: fine threads, property classes of ISO 898."""
ENGLISH = re.compile(r"\b(the|of|and|with|from|without|is|are|not|by|for|its|on|at|then|must|bearing|shaft|gear)\b", re.IGNORECASE)
SAME = {"source.iso492", "inserted.link"}
"""Texts with words that are alike in every language: names of standards."""
LONGEST = 40
"""Words in a sentence: Spanish needs about a quarter more than English (common practice, no source), which stops at thirty."""


def entries(language: str) -> dict[str, tuple[str, ...]]:
    return {key: (entry,) if isinstance(entry, str) else entry for key, entry in wording.catalogue(language).items()}


def places(item: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(item) if name}


def plain(item: str) -> str:
    """A text of the catalogue without its places and what is quoted from a file."""
    return re.sub(r"\{[^}]*\}|`[^`]*`", "", item)


def figures(said: str) -> list[str]:
    return sorted(number.replace(",", ".").lstrip("+-−") for number in NUMBER.findall(said))


@cache
def explainer(name: str) -> Explainer:
    return Explainer(*open_machine(name))


def settings(name: str, language: str, system: Any = "mm") -> Settings:
    return replace(explainer(name).start_settings(), language=language, units=system)


def notes(name: str, language: str, system: str = "mm") -> Iterator[tuple[str, Callout]]:
    made, now = explainer(name), settings(name, language, system)
    for step in made.procedure.order:
        for note in made.callouts(now, step):
            yield step, note


def said(note: Callout) -> tuple[str, ...]:
    return (note.text, note.short, note.limit, note.source, note.formula, *note.inserted)


def gaps(first: dict[str, tuple[str, ...]], other: dict[str, tuple[str, ...]], language: str) -> list[str]:
    """What a language lacks or has too much against the first one: a line a key, by name."""
    found = [f"{language} lacks {key}" for key in first if key not in other]
    found += [f"only {language} has {key}" for key in other if key not in first]
    for key in first.keys() & other.keys():
        if len(first[key]) != len(other[key]):
            found.append(f"{key}: {len(other[key])} texts in {language}, {len(first[key])} in {LANGUAGES[0]}")
            continue
        for one, two in zip(first[key], other[key], strict=True):
            found += [f"{key}: {language} lacks place {name}" for name in sorted(places(one) - places(two))]
            found += [f"{key}: only {language} has place {name}" for name in sorted(places(two) - places(one))]
    return sorted(found)


@pytest.mark.parametrize("language", OTHERS)
def test_every_language_has_the_same_files(language: str) -> None:
    folder = files(wording.__name__)
    names = [sorted(item.name for item in folder.joinpath(one).iterdir()) for one in (LANGUAGES[0], language)]
    assert names[0] == names[1]


@pytest.mark.parametrize("language", OTHERS)
def test_every_language_has_every_text_with_the_same_places(language: str) -> None:
    found = gaps(entries(LANGUAGES[0]), entries(language), language)
    assert not found, "\n".join(["", *found])


def test_a_gap_between_two_languages_is_named_by_its_key_in_both_directions() -> None:
    first = {"part.cap": ("Cap {count}",), "part.nut": ("Nut",), "step.a": ("One.", "Two."), "note.a": ("{a} to {b}",)}
    other = {"part.cap": ("Tapa {number}",), "part.pin": ("Pasador",), "step.a": ("Uno.",), "note.a": ("{b} a {a}",)}
    assert gaps(first, other, "es") == [
        "es lacks part.nut",
        "only es has part.pin",
        "part.cap: es lacks place count",
        "part.cap: only es has place number",
        "step.a: 1 texts in es, 2 in en",
    ]


@pytest.mark.parametrize("language", OTHERS)
def test_every_text_tells_the_same_figures(language: str) -> None:
    first, other = entries(LANGUAGES[0]), entries(language)
    both = [key for key in first if key in other]
    wrong = [key for key in both for a, b in zip(first[key], other[key], strict=False) if figures(plain(a)) != figures(plain(b))]
    assert wrong == []


def test_no_english_is_left_in_the_spanish_catalogue() -> None:
    first, other = entries("en"), entries("es")
    bare = {key: [plain(item) for item in items] for key, items in other.items()}
    alike = [key for key, items in bare.items() if first.get(key) == other[key] and any(re.search(r"[a-z]{4}", i) for i in items)]
    assert set(alike) <= SAME
    assert [key for key, items in bare.items() if any(map(ENGLISH.search, items))] == []


def test_no_english_figure_is_left_in_the_spanish_catalogue() -> None:
    typed = {"page.readings_backlash", "page.readings_end_play"}
    assert {key for key, items in entries("es").items() if any(POINT.search(item) for item in items)} <= typed


def test_no_two_parts_share_a_spanish_name() -> None:
    names = [text(key, "es", count=2) for key in wording.keys("part.")]
    assert len(names) == len(set(names))


def test_no_spanish_sentence_is_too_long_to_take_in_at_once() -> None:
    spoken = {key: items for key, items in entries("es").items() if key.split(".")[0] in ("step", "caution", "note")}
    long = [part for items in spoken.values() for item in items for part in re.split(r"(?<=[.!?])\s+", item)]
    assert [part for part in long if len(part.split()) > LONGEST] == []


# One term for one thing, as the glossary in parts.toml has it: no other word for it may slip in.
@pytest.mark.parametrize("wrong", [r"\bbalero", r"\bchumacera", r"\brondana", r"\bempaque", r"\bback ?lash", r"\bhuella"])
def test_the_spanish_words_are_those_of_the_glossary(wrong: str) -> None:
    assert [
        key for key, items in entries("es").items() if any(re.search(wrong, plain(item), re.IGNORECASE) for item in items)
    ] == []


# What must not be lost in translation: cautions that keep people whole (common practice, no source).
TOLD = [
    ("caution.hot", "guantes secos resistentes al calor"), ("caution.hot", "nunca de eslingas sintéticas"), ("caution.hot", "Ningún soplete"),
    ("caution.hot", "no parar"), ("caution.hot", "marcapasos"), ("caution.hot", "Desmagnetizar"), ("caution.ring", "solo por el aro que se monta"),
    ("caution.lower", "bajo la carga"), ("caution.lower", "10 %"), ("caution.lower", "cuatro ramales cuenta como dos"), ("caution.lower", "parar por debajo de 30°"),
    ("caution.turn_over", "tiro lateral"), ("caution.measure", "sigue bloqueado"), ("caution.turn_by_hand", "Una sola persona manda todos los giros"),
    ("caution.soft_drift", "protección ocular"), ("step.make_safe.hold", "El intento de arranque ha fallado"), ("step.packers.reason", "no soporta peso"),
    ("step.lower_tab.act", "nunca aflojar"), ("step.pump.hold", "Giro equivocado = sin aceite"), ("step.oil_first_run.act", "Marcar otra vez antes de la marcha"),
    ("callout.screws", "nunca una meta"), ("callout.chilled", "nada de nitrógeno líquido"), ("note.sheet", "personas cualificadas"),
]  # fmt: skip


@pytest.mark.parametrize("key, phrase", TOLD)
def test_what_keeps_people_whole_is_said_in_spanish(key: str, phrase: str) -> None:
    assert phrase in " ".join(entries("es")[key])


@pytest.mark.parametrize("system", ["mm", "inch"])
@pytest.mark.parametrize("name", EXAMPLES)
def test_every_spanish_note_tells_the_figures_of_the_english_one(name: str, system: str) -> None:
    both = zip(notes(name, "en", system), notes(name, "es", system), strict=True)
    for (step, english), (_, spanish) in both:
        assert (spanish.key, spanish.value, spanish.unit, spanish.verdict) == (
            english.key, english.value, english.unit, english.verdict,
        )  # fmt: skip
        assert [figures(line) for line in said(spanish)] == [figures(line) for line in said(english)], (step, english.key)


@pytest.mark.parametrize("name", EXAMPLES)
def test_spanish_notes_write_a_decimal_comma_and_no_english(name: str) -> None:
    lines = [line for _, note in notes(name, "es") for line in said(note)]
    assert any(re.search(r"\d,\d{3} mm", line) for line in lines)
    assert {found for line in lines for found in POINT.findall(line) if not DESIGNATION.fullmatch(found)} == set()
    assert [line for line in lines if ENGLISH.search(line)] == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_lists_of_the_whole_job_are_told_in_the_language_spoken(language: str) -> None:
    made, now = explainer("millrace"), settings("millrace", language)
    with speaking(language):
        reducer, plan = made.reducer(now), made.times(now)
        table = effects.effects(reducer, now.units)
        rows = forgotten.table(reducer, made.procedure, plan)
        lines = [
            *listing.times_lines(plan, made.procedure, made.title, now.units),
            *listing.kit_lines(made.kit(now), made.procedure, made.title),
            *effects_listing.lines(table, reducer, made.title, now.units),
            *forgotten.lines(reducer, made.procedure, rows, now.units),
            *(line for stop in walk.walk(reducer, now.units).stops for line in (stop.sentence, stop.effect)),
        ]
    mark = {"en": re.compile(r"\d\.\d"), "es": re.compile(r"\d,\d")}
    other = "en" if language == "es" else "es"
    told = [DESIGNATION.sub("", line).replace(made.title, "") for line in lines]
    assert any(mark[language].search(line) for line in told)
    assert [line for line in told if mark[other].search(line)] == []
    assert any(ENGLISH.search(line) for line in told) == (language == "en")


def test_two_languages_in_turn_do_not_leak_into_each_other() -> None:
    """Everything that keeps finished words or figures must keep them apart: one explainer, one stage, frame by frame."""
    made, steps = explainer("slipway"), ("gear_hot", "hs_bearing_2", "pattern", "split_screws", None)
    alone = {
        language: [_words(made, settings("slipway", language), step) for step in steps] for language in LANGUAGES
    }  # a language at a time
    assert alone["en"] != alone["es"]
    for index, step in enumerate(steps):  # by turns
        for language in ("es", "en", "es"):
            assert _words(made, settings("slipway", language), step) == alone[language][index]
    assert wording.spoken() == LANGUAGES[0]


def test_headings_of_pictures_and_page_follow_the_language() -> None:
    from viewer import page, sheet_plan

    for language, hold in (("en", "Hold point"), ("es", "Punto de parada"), ("en", "Hold point")):
        with speaking(language):
            assert (sheet_plan.words()["hold"], page.words()["page.hold"]) == (hold, hold)


def _words(made: Explainer, now: Settings, step: str | None) -> tuple[object, ...]:
    frame = made.frame(replace(now, step=step))
    mesh, pair, fit, heat = frame.mesh_view, frame.pair_view, frame.fit_view, frame.heat_scale
    views = (
        mesh and (mesh.caption, mesh.ends, mesh.said, mesh.dial),
        pair and pair.caption,
        fit and fit.caption,
        heat and (heat.caption, heat.marks),
    )
    return (frame.step and astuple(frame.step), tuple(said(note) for note in frame.callouts), frame.notes, views)


def test_threads_and_tasks_speak_each_their_own_language() -> None:
    wrong: list[str] = []
    start = threading.Barrier(len(LANGUAGES))

    def speak(language: str) -> None:
        with speaking(language):
            start.wait()
            for _ in range(200):
                if (text("part.gear"), units.show(1.5, "length", "mm")) != spoken[language]:
                    wrong.append(language)

    async def answer(language: str) -> None:
        with speaking(language):
            for _ in range(20):
                await asyncio.sleep(0)
                if (text("part.gear"), units.show(1.5, "length", "mm")) != spoken[language]:
                    wrong.append(language)

    async def both() -> None:
        await asyncio.gather(*map(answer, LANGUAGES))

    spoken = {"en": ("Gear", "1.500 mm"), "es": ("Corona", "1,500 mm")}
    threads = [threading.Thread(target=speak, args=(language,)) for language in LANGUAGES]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    asyncio.run(both())
    assert wrong == []


def test_a_language_ends_with_its_block_even_after_a_fault() -> None:
    with pytest.raises(ZeroDivisionError), speaking("es"):
        assert units.figure(0.5, "g") == "0,5"
        raise ZeroDivisionError
    assert (wording.spoken(), units.figure(0.5, "g")) == ("en", "0.5")


def test_an_unknown_language_is_refused_everywhere() -> None:
    with pytest.raises(WordingError, match="accepted: en, es"), speaking("xx"):
        pass
    assert wording.spoken() == "en"
    with pytest.raises(ValueError, match="language = 'xx': accepted: en, es"):
        explainer("millrace").with_(Settings(), language="xx")


def test_a_time_without_end_and_a_size_without_zeros_follow_the_language() -> None:
    with speaking("es"):
        assert units.show(float("inf"), "time", "mm") == "sin límite"
        assert [units.trimmed(shown) for shown in ("60,000 mm", "46,800 mm", "40,0°", "100 mm")] == [
            "60 mm",
            "46,8 mm",
            "40°",
            "100 mm",
        ]
        assert units.show(-1234.5678, "length", "mm") == "−1234,568 mm"


def test_what_is_typed_keeps_its_point_in_every_language() -> None:
    """A refusal names what the reader accepts, and the reader takes a decimal point only."""
    with pytest.raises(ValueError) as english:
        explainer("millrace").with_(Settings(), gaskets={"pinion_gasket": 9.0})
    with speaking("es"), pytest.raises(ValueError) as spanish:
        explainer("millrace").with_(Settings(), gaskets={"pinion_gasket": 9.0})
    assert str(spanish.value) == str(english.value)
    assert "0.050 mm to 5.000 mm" in str(spanish.value)


def test_the_command_line_speaks_spanish_and_its_json_keeps_keys_and_numbers(capsys: pytest.CaptureFixture[str]) -> None:
    told = {}
    for language in LANGUAGES:
        assert main(["numbers", "millrace", "--step", "gear_hot", "--language", language, "--json"]) == 0
        told[language] = json.loads(capsys.readouterr().out)
    assert _shape(told["en"]) == _shape(told["es"])
    assert told["es"]["steps"][0]["title"] == text("step.gear_hot.title", "es")
    assert main(["numbers", "millrace", "--step", "gear_hot", "--language", "es"]) == 0
    printed = capsys.readouterr().out
    assert "    bien      Corona" in printed and not ENGLISH.search(printed)
    with pytest.raises(SystemExit) as left:
        main(["numbers", "millrace", "--language", "xx"])
    assert left.value.code == 2


def _shape(value: Any) -> Any:
    """Keys, numbers and verdicts of a report; its sentences left out."""
    if isinstance(value, dict):
        sentences = ("text", "short", "limit", "source", "title")
        return {key: None if key in sentences else _shape(item) for key, item in value.items()}
    return [_shape(item) for item in value] if isinstance(value, list) else value


def test_charts_write_their_ticks_in_the_language_spoken() -> None:
    from viewer import chart

    axes = chart.figure(400, 300).add_subplot()
    axes.plot([0.0, 0.3], [0.1, 0.2])
    chart.ruled(axes)
    with speaking("es"):
        axes.figure.canvas.draw()
        labels = [label.get_text() for label in axes.get_xticklabels()]
    assert any("," in label for label in labels) and not any("." in label for label in labels)
