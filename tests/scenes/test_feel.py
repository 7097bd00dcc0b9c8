"""How the pair feels turned by hand: what is accepted, what it says, where to look. The causes are common practice, no source."""

from __future__ import annotations

from pathlib import Path

import pytest

from scenes import feel, record, record_listing
from scenes.explain import Explainer
from scenes.record_judged import Judgement
from scenes.record_listing import Opened, opened
from scenes.wording import LANGUAGES, speaking, texts
from tests.scenes.readied import before_turning

STEP = "turn_pair"


def put(explainer: Explainer, path: Path, name: str, *values: str) -> Opened:
    found = opened(explainer, path)
    read = found.reads[name]
    record_listing.put(found, record.reading(read, values, "left", initials="AB", step=read.steps[0]))
    return opened(explainer, path)


def said(found: Opened) -> Judgement:
    return found.judge(found.job.taken[-1], found.planned.start_settings())


def test_the_closing_checks_ask_how_the_pair_feels(explainer: Explainer, tmp_path: Path) -> None:
    read = opened(explainer, tmp_path / "a").reads["turning_feel"]
    assert (read.kind, read.steps) == ("feel", (STEP,)) and explainer.procedure.steps[STEP].phase == "closing_checks"
    number, now = explainer.procedure.steps[STEP].number, explainer.start_settings()

    def still_open(found: Opened) -> list[str]:
        return [line for line in record_listing.still_open(found, now) if line.startswith(f"Step {number}: Feel of the pair")]

    assert "not read" in still_open(opened(explainer, tmp_path / "a"))[0]
    before_turning(explainer, tmp_path / "a")
    assert "not in order" in still_open(put(explainer, tmp_path / "a", "turning_feel", "tight gear"))[0]
    assert not still_open(put(explainer, tmp_path / "a", "turning_feel", "even"))


@pytest.mark.parametrize(
    ("typed", "verdict"),
    [("free", "fine"), ("Even", "fine"), ("tight pinion", "stop"), ("tight-gear", "stop"), ("TIGHT, everywhere", "stop")],
)
def test_a_tight_spot_stops_the_job_an_even_drag_does_not(explainer: Explainer, typed: str, verdict: str, tmp_path: Path) -> None:
    before_turning(explainer, tmp_path / "a")
    judged = said(put(explainer, tmp_path / "a", "turning_feel", typed))
    assert judged.verdict == verdict and len(judged.says) == 1 and bool(judged.now) == (verdict == "stop")


def test_a_spot_of_the_gear_comes_once_in_as_many_turns_of_the_pinion_as_the_ratio(explainer: Explainer, tmp_path: Path) -> None:
    gears = explainer.machine.gears
    told = said(put(explainer, tmp_path / "a", "turning_feel", "tight gear")).says[0]
    assert f"once in {gears.gear_teeth / gears.pinion_teeth:.2f} turns of the pinion" in told


def test_what_was_read_of_it_stands_before_the_causes(explainer: Explainer, tmp_path: Path) -> None:
    path = tmp_path / "a"
    put(explainer, path, "high_speed_end_play", "0 mm", "0 mm", "0 mm")
    told = said(put(explainer, path, "turning_feel", "tight everywhere")).now
    assert told[0] == "High-speed end play, as last read: 0 mm; 0 mm; 0 mm."
    assert told[1] == "Low-speed end play: not read yet; read it first." and told[2].startswith("Backlash: not read yet")
    assert told[5].startswith("- No end play: the cover clamps the rings.")


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("spot", ["tight gear", "tight pinion"])
def test_no_hand_goes_into_the_mesh_before_bar_shaft_and_lockout(
    explainer: Explainer, language: str, spot: str, tmp_path: Path
) -> None:
    with speaking(language):
        told = said(put(explainer, tmp_path / "a", "turning_feel", spot)).now
    words = {"en": ("bar off", "shaft held", "nobody turns", "lock"), "es": ("barra fuera", "eje sujeto", "nadie gira", "candado")}[
        language
    ]
    first = next(place for place, line in enumerate(told) if all(word in line for word in words))
    tooth = next(place for place, line in enumerate(told) if line.startswith("- ") and all(word in line for word in words[:3]))
    assert first < tooth and not any(line.startswith("- ") for line in told[: first + 1])


def test_two_tight_spots_tell_the_causes_of_both_once(explainer: Explainer, tmp_path: Path) -> None:
    before_turning(explainer, tmp_path / "a")
    judged = said(put(explainer, tmp_path / "a", "turning_feel", "tight pinion", "tight gear", "tight pinion"))
    causes = [line for line in judged.now if line.startswith("- ")]
    assert len(judged.says) == 2 and causes == [*texts("feel.cause.tight_pinion"), *texts("feel.cause.tight_gear")]


@pytest.mark.parametrize(
    ("typed", "told"), [("tight", "tight"), ("loose", "accepted: "), ("tight gera", "did you mean tight gear?"), ("", "accepted: ")]
)
def test_what_is_no_feel_is_refused_and_says_what_would_be(explainer: Explainer, typed: str, told: str, tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="no feel of a pair") as refused:
        record.reading(opened(explainer, tmp_path / "a").reads["turning_feel"], [typed], "left", initials="AB", step=STEP)
    assert told in str(refused.value)


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_feel_has_its_words_in_every_language(language: str, explainer: Explainer) -> None:
    with speaking(language):
        for one in feel.FEELS:
            assert len(list(feel.says([one], explainer.machine.gears))) == 1
            assert (len(list(feel.now([one], lambda name: ()))) > 4) == one.startswith("tight")


def test_a_record_from_before_this_reading_is_read_as_it_was(explainer: Explainer, tmp_path: Path) -> None:
    """Then the same step asked for a yes or no."""
    found = opened(explainer, tmp_path / "a")
    found.record.add({"time": "2026-01-01T10:00:00+00:00", "state": "left", "step": STEP, "read": "free_turning", "values": ["yes"],
                      "with": "", "initials": "AB", "note": ""})  # fmt: skip
    found = opened(explainer, tmp_path / "a")
    assert found.job.strange == () and said(found).verdict == "fine"
