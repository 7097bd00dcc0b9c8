"""The report and the sheet of readings of a job on paper: in the language spoken, every reading with its unit, nothing lost."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest
from pypdf import PdfReader

from scenes import drift, record, record_listing
from scenes.examples import open_machine
from scenes.explain import Explainer
from scenes.record_judged import limits_of
from scenes.record_listing import Opened, opened
from scenes.settings import POSITION_GASKETS
from scenes.wording import catalogue, speaking, text, texts
from viewer.cli import main
from viewer.printing import Printer

TYPED = {"values": ["XQ7"], "with": "XQ8", "note": "XQ9"}
"""What somebody writes in words of his own."""


@pytest.fixture(scope="module")
def slipway() -> Explainer:
    return Explainer(open_machine("slipway")[0])


@pytest.fixture(scope="module")
def full(slipway: Explainer, tmp_path_factory: pytest.TempPathFactory) -> Opened:
    """A record with every kind of entry: as found, every reading of every step, sizes, one struck, one out of limits, one that doesn't fit."""
    found = opened(slipway, tmp_path_factory.mktemp("job") / "a.jsonl")
    reducer = slipway.reducer(slipway.start_settings())

    def add(name: str, values: list[str], state: str = "fitting", step: str = "") -> int:
        read = found.reads[name]
        entry = record.reading(read, values, state, step=step, initials="XQ", instrument=TYPED["with"], note=TYPED["note"])
        return record_listing.put(found, entry)

    for name in ("bearing_marks", "match_marks", "found_condition"):
        add(name, TYPED["values"], "found")
    first = add("gaskets.pinion_gasket", ["0.45 mm"] * 4, "found")
    add("backlash", ["0.41 mm", "0.44 mm", "0.47 mm", "0.43 mm"], "found")
    add("pattern", ["drive heel,high", "coast hard-heel"], "found")
    add("high_speed_shaft.bearing_seat", ["59.3 mm"] * 4)
    add("gear.bore", ["63.51 mm"] * 4)
    for name in POSITION_GASKETS:
        add(f"gaskets.{name}", ["0.38 mm"] * 4)
    typed = {
        "torque": "40 N m",
        "count": "3",
        "agreed": "yes",
        "words": "XQ7",
        "volume": "6.5 L",
        "feel": "even",
        "time": "60 min",
        "run": "20 min 48.5 degC",
        "temperature": "230 degF",
    }
    for step in slipway.procedure.order:
        for name in slipway.procedure.steps[step].reads:
            read = found.reads[name]
            limits = limits_of(reducer, read)
            length = f"{max((limits.low + limits.high) / 2.0, 0.0):.4f} mm" if limits else "0.5 mm"
            values = (
                ["drive toe,low", "coast 40.5 %,55 %"] if read.kind == "marks" else [typed.get(read.kind, length)] * read.wanted
            )
            add(name, ["9 mm"] * 3 if name == "flange_gap" else values, "left", step)
    record_listing.put(found, record.strike(opened(slipway, found.record.path).job, first, initials="XQ", note=TYPED["note"]))
    return opened(slipway, found.record.path)


def printed(full: Opened, folder: Path, language: str, kind: str) -> str:
    with speaking(language):
        now = full.planned.start_settings()
        printer = Printer(full.present, now, folder / language, "a4")
        made = printer.record(full, [full]) if kind == "report" else printer.record_sheet(full)
    (folder / f"{kind}.pdf").write_bytes(made)
    return "\n".join(page.extract_text() for page in PdfReader(folder / f"{kind}.pdf").pages)


def words(texts: Iterator[str]) -> set[str]:
    return {word.lower() for one in texts for word in re.findall(r"[^\W\d_]{2,}", one)}


def spanish() -> set[str]:
    return words(piece for one in catalogue("es").values() for piece in ([one] if isinstance(one, str) else one))


UNITS = {"us", "gal", "mm", "kw", "kn", "mpa", "psi", "lbf", "ft", "lb", "kg"}


def test_the_spanish_report_says_every_word_in_spanish(full: Opened, tmp_path: Path) -> None:
    told = printed(full, tmp_path, "es", "report")
    own = words(iter([full.planned.title, full.record.path.name, "XQ", "XQ7", full.planned.machine.gears.set_number or ""])) | UNITS
    said = words(iter([told])) - own
    assert said <= spanish(), said - spanish()
    typed = {"coast", "toe", "heel", "yes", "accepted", "pattern"}  # words that the Spanish catalogue tells of as they can be typed
    assert not said & typed, said & typed
    assert "tracción punta, raíz" in " ".join(told.split()) and "no encaja con las demás medidas" in " ".join(told.split())


def test_every_reading_of_the_report_has_its_unit_and_no_place_of_the_machine_file(full: Opened, tmp_path: Path) -> None:
    told = printed(full, tmp_path, "en", "report")
    assert not re.search(r"[a-z]_[a-z]|[a-z]\.[a-z]+_", told.replace("\u200b", ""))
    joined = " ".join(told.split())
    for expected in (
        "0.0172 in 0.0161 in to 0.0185 in, 4 values",
        "0.3543 in 3 values, all the same",
        "pieces: 3",
        "119.3 °F",
        "1.72 US gal",
        "29.5 lbf·ft",
        "yes",
    ):
        assert expected in joined, expected


def test_there_is_room_to_sign(full: Opened, tmp_path: Path) -> None:
    """10 mm from line to line at least: common practice, no source. One point is 25.4/72 mm."""
    printed(full, tmp_path, "en", "report")
    heights: dict[str, float] = {}
    names = [text(f"record.{name}") for name in ("done_by", "checked_by", "owner")]

    def seen(said: str, page: list[float], line: list[float], *_: object) -> None:
        heights.update({name: line[4] * page[1] + line[5] * page[3] + page[5] for name in names if name in said})

    for page in PdfReader(tmp_path / "report.pdf").pages:
        page.extract_text(visitor_text=seen)
    assert list(heights) == names
    assert all(abs(heights[one] - heights[two]) * 25.4 / 72 >= 10.0 for one, two in pairwise(names))


def test_a_row_stays_on_one_page_and_each_page_of_a_table_has_its_head(full: Opened, tmp_path: Path) -> None:
    printed(full, tmp_path, "en", "report")
    told = "\f".join(page.extract_text() for page in PdfReader(tmp_path / "report.pdf").pages)
    pages = told.split("Instruments and wrenches")[0].split("\f")  # the tables with these columns end before it
    last = max(number for number, page in enumerate(pages) if "Turning direction" in page or "Torque of the" in page)
    assert last >= 2 and all("What Limits as found as left" in " ".join(page.split()) for page in pages[: last + 1])


def test_the_sheet_of_a_job_has_what_is_read_and_blanks_and_names_for_the_rest(full: Opened, tmp_path: Path) -> None:
    told = " ".join(printed(full, tmp_path, "en", "sheet").split())
    for expected in (
        "entry ",
        "gaskets.gear_gasket",
        "bore_clearance --step gear_hot",
        "--time",
        "drive toe, low",
        "63.51 mm",
        "XQ8, temperature not noted",
        "20 min 48.5 °C",
        "locks",
        "✓ fine",
        "▲ watch",
        "✕ STOP",
        "(40 N·m; 40 N·m; ",
        "2.5004 in",
    ):
        assert expected in told, expected
    assert not re.search(r"\d N m\b", told)


@pytest.mark.parametrize(("language", "paper"), [("en", "a4"), ("es", "letter")])
def test_the_plots_of_twelve_jobs_stand_on_one_page_with_a_date_each(
    full: Opened, tmp_path: Path, language: str, paper: str
) -> None:
    with speaking(language):
        printer = Printer(full.present, full.planned.start_settings(), tmp_path / "folder", paper)
        made = printer.record(full, [full] * 11)
    (tmp_path / "a.pdf").write_bytes(made)
    pages = [page.extract_text() for page in PdfReader(tmp_path / "a.pdf").pages]
    with speaking(language):
        head, sheet = text("record.drift"), texts("note.sheet")[0]
        named = [*(text(f"part.{name}") for name in POSITION_GASKETS), *(text(f"read.{name}") for name in drift.FOLLOWED)]
    last = " ".join(pages[-1].split())
    assert [head in page for page in pages] == [False] * (len(pages) - 1) + [True]
    assert all(f"{number}: a.jsonl" in last for number in range(1, 13))
    assert all(one in last for one in named)
    assert all(sheet in " ".join(page.split()) for page in pages)


def test_a_blank_sheet_is_printed_before_anything_is_recorded_and_never_over_the_record(
    full: Opened, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job, out = tmp_path / "job.jsonl", tmp_path / "sheet.pdf"
    assert main(["record", "slipway", str(job), "sheet", "-o", str(out), "--paper", "letter"]) == 0
    assert not job.exists() and "entry " not in "".join(page.extract_text() for page in PdfReader(out).pages)
    job.write_bytes(full.record.path.read_bytes())
    assert main(["record", "slipway", str(job), "sheet", "-o", str(job)]) == 2
    assert "is the record" in capsys.readouterr().err and job.read_bytes() == full.record.path.read_bytes()


@pytest.mark.parametrize(("language", "paper"), [("en", "a4"), ("es", "letter")])
def test_a_blank_sheet_asks_first_for_the_lock_then_for_what_is_found_in_the_order_of_taking_apart(
    tmp_path: Path, language: str, paper: str
) -> None:
    """Nobody measures on a machine that is not locked out, and no gasket comes out before the plays are read: common practice, no source."""
    with speaking(language):
        found = opened(Explainer(open_machine("slipway")[0]), tmp_path / "none.jsonl")
        made = Printer(found.present, found.planned.start_settings(), tmp_path / "folder", paper).record_sheet(found)
        heads = [text(f"record.sheet_{name}") for name in ("found", "gaskets_found")]
    (tmp_path / "a.pdf").write_bytes(made)
    pages = [" ".join(page.extract_text().split()) for page in PdfReader(tmp_path / "a.pdf").pages]
    as_found = (
        "bearing_marks",
        "match_marks",
        "found_condition",
        "high_speed_end_play",
        "low_speed_end_play",
        "backlash",
        "pattern",
    )
    gaskets = ("pinion_gasket", "gear_gasket", "high_speed_float_gasket", "low_speed_float_gasket")
    wanted = ["zero_energy", heads[0], *as_found, heads[1], *(f"gaskets.{name}" for name in gaskets), "carrier.gasket", "incoming"]
    told, place = "".join(pages), 0
    for one in wanted:
        assert one in told[place:], one
        place = told.index(one, place)
    assert [told.count(head) for head in heads] == [1, 1]
    for head, names in zip(heads, (as_found, ("carrier.gasket", *(f"gaskets.{name}" for name in gaskets))), strict=True):
        page = next(page for page in pages if head in page)
        assert all(name in page[page.index(head) :] for name in names)


def test_a_reading_is_typed_in_afterwards_in_the_language_spoken(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = tmp_path / "job.jsonl"
    given = ["record", "millrace", str(job), "add", "--reading", "pattern", "--value", "tracción punta,raíz", "--initials", "AB"]
    assert main([*given, "--language", "es", "--time", "2020-11-24 14:30"]) == 0
    line = job.read_text(encoding="utf-8").splitlines()[1]
    assert '"drive toe,low"' in line and '"time":"2020-11-24T14:30:00' in line and '"entered":"20' in line
    assert main([*given, "--time", "2999-01-01 00:00"]) == 2
    assert "lies ahead" in capsys.readouterr().err
    assert len(job.read_text(encoding="utf-8").splitlines()) == 2
