"""The talk pack as it is held in hand: sheets against the numbers, films by count and length, the model reopened, and what spoils a run.

Expected texts are those of `shimwright numbers --json`; paper sizes are those of ISO 216 (A4) and US Letter (8.5 by 11 inches).
"""

from __future__ import annotations

import csv
import io
import json
import os
import re
import resource
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

import imageio_ffmpeg
import psutil
import pypdf
import pytest
import trimesh
from PIL import Image

from geometry.mass import of_solid
from geometry.reducer import build
from scenes import film, reading_sheet
from scenes import sheets as sheets_of
from scenes.examples import EXAMPLES, open_machine
from scenes.explain import Explainer
from scenes.wording import speaking, text, texts
from viewer import aside, compose, films, ink, lettering, packing, plate, printing
from viewer.aside import CannotWrite
from viewer.cli import main
from viewer.mate import Gone, Mate
from viewer.stage import Stage

PHASE = "cartridge_into_case"
STEPS = 3  # steps of that phase
PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
FIRST = "The maker's manual, site rules, local codes and qualified people"


@cache
def explainer(name: str) -> Explainer:
    return Explainer(open_machine(name)[0])


def numbers(capsys: pytest.CaptureFixture[str], *argv: str) -> dict[str, Any]:
    """What `numbers --json` prints."""
    assert main(("numbers", *argv, "--json")) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def plain(words: str) -> str:
    """A text without its spaces: line breaks of a page are no part of it."""
    return "".join(words.split())


def words_of(pdf: pypdf.PdfReader) -> str:
    return plain(" ".join(page.extract_text() for page in pdf.pages))


def judge_pages(pdf: pypdf.PdfReader, paper: str) -> None:
    """Paper, embedded typeface, and on every page what stands before it."""
    for page in pdf.pages:
        size = [float(side) * 25.4 / 72.0 for side in page.mediabox[2:]]
        assert size == pytest.approx(PAPERS[paper], abs=0.05)
        for line in texts("note.sheet"):
            assert plain(line) in plain(page.extract_text())
        assert plain(FIRST) in plain(page.extract_text())
        fonts = page["/Resources"]["/Font"].values()
        for font in fonts:
            inner = font.get_object()["/DescendantFonts"][0].get_object()
            assert {"/FontFile2", "/FontFile3"} & set(inner["/FontDescriptor"].get_object()), inner["/BaseFont"]
            assert "DejaVuSans" in inner["/BaseFont"]


@pytest.fixture(scope="module")
def phase_pack(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The pack of one phase, in a hurry."""
    out = tmp_path_factory.mktemp("talk") / "pack"
    assert main(["pack", "millrace", "-o", str(out), "--phase", PHASE, "--fast"]) == 0
    return out


def test_a_phase_is_packed_with_its_pictures_sheets_and_films_alone(phase_pack: Path) -> None:
    assert sorted(path.name for path in phase_pack.iterdir()) == [
        "film-04-cartridge_into_case.gif",
        "film-04-cartridge_into_case.mp4",
        "readings-04-cartridge_into_case.pdf",
        "step-41-pinion_gasket.png",
        "step-42-cartridge_in.png",
        "step-43-cartridge_screws.png",
        "steps-04-cartridge_into_case.pdf",
    ]
    assert [path.name for path in phase_pack.parent.iterdir()] == ["pack"]
    with Image.open(phase_pack / "step-42-cartridge_in.png") as picture:
        assert picture.size == (750, 500)


def test_the_step_sheets_carry_every_note_of_the_numbers(phase_pack: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pdf = pypdf.PdfReader(phase_pack / f"steps-04-{PHASE}.pdf")
    judge_pages(pdf, "a4")
    printed = words_of(pdf)
    steps = [step for step in numbers(capsys, "millrace")["steps"] if step["phase"] == PHASE]
    assert len(steps) == STEPS
    for step in steps:
        assert plain(f"{step['number']} {step['title']}") in printed
        for note in step["callouts"]:
            assert plain(note["text"]) in printed
            assert plain(note["limit"]) in printed and plain(note["source"]) in printed


@pytest.mark.parametrize(("name", "phase", "step"), [("millrace", "low_speed_shaft", 5), ("slipway", "finish", 75)])
def test_cautions_and_hold_point_stand_on_the_page_of_what_is_done_and_the_picture_keeps_its_height(
    name: str, phase: str, step: int, tmp_path: Path
) -> None:
    made = explainer(name)
    now = made.with_(made.start_settings(), step=None)
    printer = printing.Printer(made, now, tmp_path / "print", printing.paper_for(now.units))
    content = sheets_of.steps(made, now, phase)
    for row in content["steps"]:
        Image.new("RGB", (1456, 672)).save(printer.folder / f"{row['id']}.png")  # 182 x 84 mm, drawn in black
    pdf = pypdf.PdfReader(io.BytesIO(printer.steps(phase)))
    row = next(row for row in content["steps"] if row["number"] == step)
    page = next(plain(page.extract_text()) for page in pdf.pages if plain(row["act"]) in plain(page.extract_text()))
    places = [page.index(plain(words)) for words in (row["act"], *row["cautions"], row["hold"], row["why"])]
    assert places == sorted(places)
    if row["again"]:  # torques of a first run come once it is over, cold
        assert places[-2] < page.index(plain(text("sheet.again"))) < page.index(plain(row["notes"][0]["torque"])) < places[-1]
    heights: list[float] = []
    for sheet in pdf.pages:
        sheet.extract_text(visitor_operand_before=lambda op, args, cm, tm: heights.append(abs(cm[3])) if op == b"Do" else None)
    assert len(heights) == len(content["steps"]) and min(heights) * 25.4 / 72.0 >= 74.9


@pytest.mark.parametrize("step", ["lower_inner_ring", "pinion_hot", "cartridge_draw_in", "ls_nut"])
def test_what_arrives_is_named_beside_a_printed_picture_before_what_stands_there(step: str) -> None:
    made = explainer("millrace")
    now = made.with_(made.start_settings(), step=step)
    frame = made.frame(now, 1.5)
    scene = Stage((750 * ink.ROUGH.scale, 500 * ink.ROUGH.scale))
    try:
        page = compose.page(frame, (750, 500), stage=scene, finish=ink.ROUGH)
    finally:
        scene.close()
    _, layout = plate.laid(page, frame, (182.0, 84.0))
    named = {label.key for label in layout.labels}
    assert {part.label for part in frame.shown if part.state == "arriving"} <= named


def test_the_film_of_a_phase_has_the_pictures_and_the_length_of_its_script(phase_pack: Path) -> None:
    made = explainer("millrace")
    shots = [shot for shot in film.script(made, most=film.FAST_DRAWN, beat=1.0 / films.FAST_RATE) if shot.phase == PHASE]
    pictures = sum(max(1, round(shot.time * films.FAST_RATE)) for shot in shots)
    frames, seconds = imageio_ffmpeg.count_frames_and_secs(str(phase_pack / f"film-04-{PHASE}.mp4"))
    assert frames == pictures and seconds == pytest.approx(pictures / films.FAST_RATE, abs=0.3)
    strip: Any
    with Image.open(phase_pack / f"film-04-{PHASE}.gif") as strip:
        assert strip.size == films.FAST_SIZE and 1 < strip.n_frames <= len(shots)
        times = []
        for place in range(strip.n_frames):
            strip.seek(place)
            times.append(strip.info["duration"])
    assert sum(times) == pytest.approx(1000.0 * pictures / films.FAST_RATE, abs=10.0 * len(times))


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_film_keeps_to_its_number_of_drawings_and_leaves_time_to_read(name: str) -> None:
    made = explainer(name)
    for most in (film.MOST_DRAWN, film.FAST_DRAWN):
        shots = film.script(made, most=most)
        assert len(made.procedure.order) <= len(shots) <= most
        assert list(dict.fromkeys(shot.step for shot in shots)) == list(made.procedure.order)
        for step in made.procedure.order:
            assert sum(shot.time for shot in shots if shot.step == step) >= film.READ * len(film.step_title(step)) + 1.0


@pytest.mark.parametrize(
    ("name", "units", "paper"), [("millrace", "mm", "a4"), ("slipway", "inch", "letter"), ("millrace", "inch", "a4")]
)
def test_the_foremans_sheet_is_one_page_with_the_figures_of_the_numbers(
    name: str, units: str, paper: printing.Paper, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    made = explainer(name)
    now = made.with_(made.start_settings(), step=None, units=units)
    assert printing.paper_for(units) == ("a4" if units == "mm" else "letter")
    pdf = pypdf.PdfReader(io.BytesIO(printing.Printer(made, now, tmp_path / "print", paper).foreman()))
    judge_pages(pdf, paper)
    assert len(pdf.pages) == 1
    printed = words_of(pdf)
    report = numbers(capsys, name, "--units", units)
    notes = {note["key"]: note for step in report["steps"] for note in step["callouts"]}
    lift = max((note for note in notes.values() if note["key"] == "lift.mass"), key=lambda note: note["value"])
    heaviest = max(note["value"] for step in report["steps"] for note in step["callouts"] if note["key"] == "lift.mass")
    assert heaviest >= lift["value"]
    heavy = next(note for step in report["steps"] for note in step["callouts"] if note["value"] == heaviest)
    for wanted in (notes["mesh.backlash"]["short"], notes["mesh.backlash"]["limit"], heavy["short"]):
        assert plain(wanted) in printed
    hottest = [note for note in notes.values() if note["key"].endswith(".carry_time")]
    assert any(plain(note["short"]) in printed for note in hottest)
    for step in made.procedure.order:
        found = made.procedure.steps[step]
        assert not found.hold or str(found.number) in printed
    assert printed.count("Checkedthatalllocksareon") == 1


@pytest.mark.parametrize(("name", "units"), [("millrace", "mm"), ("slipway", "inch")])
def test_spanish_sheets_say_that_they_are_spanish_and_cut_no_figure_at_its_comma(name: str, units: str, tmp_path: Path) -> None:
    made = explainer(name)
    with speaking("es"):
        now = made.with_(made.start_settings(), step=None, units=units)
        printer = printing.Printer(made, now, tmp_path / "print", printing.paper_for(units))
        sheets = {kind: pypdf.PdfReader(io.BytesIO(getattr(printer, kind)())) for kind in ("foreman", "readings", "kit", "times")}
    assert len(sheets["foreman"].pages) == 1
    for pdf in sheets.values():
        assert pdf.trailer["/Root"]["/Lang"] == "es"
        lines = "\n".join(page.extract_text() for page in pdf.pages)
        assert re.findall(r".*\d,\n\d+ (?:mm|in|N·m|lbf|lb|kg|kN|%).*", lines) == []
    assert re.search(r"\d,\d+ (?:mm|in)", sheets["foreman"].pages[0].extract_text())


def test_readings_kit_and_times_say_what_the_program_prints(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    made = explainer("millrace")
    now = made.with_(made.start_settings(), step=None)
    printer = printing.Printer(made, now, tmp_path / "print", "a4")
    sheets = {kind: pypdf.PdfReader(io.BytesIO(getattr(printer, kind)())) for kind in ("readings", "kit", "times")}
    for pdf in sheets.values():
        judge_pages(pdf, "a4")
    notes = {note["key"]: note for step in numbers(capsys, "millrace")["steps"] for note in step["callouts"]}
    printed = words_of(sheets["readings"])
    for key in (
        "mesh.backlash",
        "chain.high_speed_end_play",
        "chain.low_speed_end_play",
        "chain.pinion_running",
    ):
        assert plain(notes[key]["limit"]) in printed
    assert main(["pack", "millrace", "-o", str(tmp_path / "talk"), "--only", "numbers"]) == 0
    with (tmp_path / "talk" / "kit.csv").open(encoding="utf-8") as stream:
        kit = list(csv.DictReader(stream))
    printed = words_of(sheets["kit"])
    assert len(kit) > 80 and all(plain(row["name"]) in printed and plain(row["size"]) in printed for row in kit)
    with (tmp_path / "talk" / "times.csv").open(encoding="utf-8") as stream:
        times = list(csv.DictReader(stream))
    printed = words_of(sheets["times"])
    titles = [row["title"] for row in times if row["title"]]
    assert len(titles) >= len(made.procedure.order) and all(plain(title) in printed for title in titles)


def test_every_blank_of_the_readings_can_be_filled_as_its_step_says(tmp_path: Path) -> None:
    made = explainer("millrace")
    now = made.with_(made.start_settings(), step=None)
    found = {row["number"]: row["lines"] for row in reading_sheet.readings(made, now)["rows"]}
    # "at four points", "three times": the words of the steps
    assert [line["blanks"] for line in found[68]][0] == 4 and [line["blanks"] for line in found[45]][1] == 4
    assert found[55][0]["blanks"] == found[67][0]["blanks"] == 3
    for number in (6, 27):
        assert [(line["kind"], line["blanks"], line["expected"]) for line in found[number]] == [("feeler", 4, "")]
    for number in (20, 63):
        assert found[number][0]["kind"] == "count" and "3" in found[number][0]["expected"]
    assert "1.00 mm" in found[43][0]["expected"]
    assert found[70][1]["kind"] == "words" and made.machine.gears.set_number in found[70][1]["expected"]
    printer = printing.Printer(made, now, tmp_path / "print", "a4")
    printed = words_of(pypdf.PdfReader(io.BytesIO(printer.readings())))
    for key in ("sheet.machine_number", "sheet.job_number", "readings.toe", "readings.heel", "readings.tip", "readings.root"):
        assert plain(text(key)) in printed
    assert printed.count(plain(text("readings.leaf"))) == 3 and "Partsat°C" in printed and "a[mm]b[mm]c[mm]d[mm]" in printed
    assert plain(text("sheet.job_number")) in words_of(pypdf.PdfReader(io.BytesIO(printer.foreman())))


def test_the_same_sheet_is_the_same_file_and_hostile_names_are_text(tmp_path: Path) -> None:
    content = files("scenes").joinpath("machines", "millrace.toml").read_text(encoding="utf-8")
    name = "#panic() *x* <b>&amp;</b> $1$ \\\\ @y"
    path = tmp_path / "hostile.toml"
    path.write_text(content.replace('name = "Mill-race gate drive"', f'name = "{name}"', 1), encoding="utf-8")
    made = Explainer(open_machine(str(path))[0])
    now = made.with_(made.start_settings(), step=None)
    first, second = (printing.Printer(made, now, tmp_path / str(k), "a4").foreman() for k in (1, 2))
    assert first == second
    assert plain(made.machine.name) in words_of(pypdf.PdfReader(io.BytesIO(first)))


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_model_opens_with_the_names_and_volumes_of_the_parts(name: str, tmp_path: Path) -> None:
    assert main(["pack", name, "-o", str(tmp_path / "talk"), "--only", "model"]) == 0
    scene: Any = trimesh.load(tmp_path / "talk" / "model.glb")
    reducer = explainer(name).reducer(explainer(name).start_settings())
    parts = {part.name: part for part in reducer.parts if not part.tool}
    assert set(scene.graph.nodes_geometry) == set(parts)
    for found, part in parts.items():
        pose, shape = scene.graph[found]
        mesh = scene.geometry[shape].copy().apply_transform(pose)
        volume, _ = of_solid(build(part))
        # a GLB holds single precision, 1e-7 of each coordinate
        assert mesh.is_volume and mesh.volume * 1e9 == pytest.approx(volume, rel=1e-6), found


@pytest.mark.parametrize("label", ["High-speed cartridge", "press up to 9.4 kN", "High-speed cover screws (6)"])
def test_a_label_breaks_between_words_and_never_between_a_figure_and_its_unit(label: str) -> None:
    words = label.replace("9.4 kN", "9.4_kN").split()
    widest = max(lettering.width_of(word.replace("_", " "), 31, True) for word in words)
    for more in range(0, 300, 7):
        lines = lettering.balanced(label, 31, widest + more, True)
        assert " ".join(lines) == label and all(lettering.width_of(line, 31, True) <= widest + more for line in lines)
        assert not any(line.startswith("kN") for line in lines)


def refused(capsys: pytest.CaptureFixture[str], *argv: str) -> str:
    assert main(argv) == 2
    said = capsys.readouterr()
    assert said.out == "" and "Traceback" not in said.err
    return said.err


def test_phases_that_cannot_be_are_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = str(tmp_path / "talk")
    assert "did you mean closing" in refused(capsys, "pack", "millrace", "-o", out, "--phase", "closin")
    assert "one of the two" in refused(capsys, "pack", "millrace", "-o", out, "--phase", PHASE, "--step", "5")
    said = refused(capsys, "pack", "millrace", "-o", out, "--phase", PHASE, "--only", "numbers")
    assert "--only films, sheets, steps" in said
    assert list(tmp_path.iterdir()) == []


def run(*argv: str, most: int | None = None) -> subprocess.CompletedProcess[str]:
    """The program as a process of its own; `most`: no file may grow beyond so many bytes, as on a disk that is full."""

    def limit() -> None:
        if most is not None:
            resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))

    command = [sys.executable, "-m", "viewer.cli", *argv]
    return subprocess.run(command, capture_output=True, text=True, preexec_fn=limit, check=False)


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


@pytest.mark.parametrize("only", ["numbers", "model"])
def test_a_full_disk_is_told_in_a_line_and_leaves_the_last_good_pack(only: str, tmp_path: Path) -> None:
    out = tmp_path / "talk"
    out.mkdir()
    for name in ("numbers.json", "numbers.csv", "model.glb"):
        (out / name).write_text("last good")
    before = contents(out)
    done = run("pack", "millrace", "-o", str(out), "--only", only, most=10_000)
    assert done.returncode == 2 and done.stdout == ""
    assert "can't be written" in done.stderr and len(done.stderr.splitlines()) == 1
    assert contents(out) == before and [path.name for path in tmp_path.iterdir()] == ["talk"]


def test_a_film_on_a_full_disk_is_told_in_a_line(tmp_path: Path) -> None:
    done = run("pack", "millrace", "-o", str(tmp_path / "talk"), "--only", "films", "--phase", PHASE, "--fast", most=4_000)
    assert done.returncode == 2 and "can't be written" in done.stderr and len(done.stderr.splitlines()) == 1
    assert "0x" not in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_pack_killed_half_way_leaves_the_last_good_one_and_is_cleared_away_later(tmp_path: Path) -> None:
    out = tmp_path / "talk"
    assert main(["pack", "slipway", "-o", str(out), "--only", "numbers"]) == 0
    before = contents(out)
    command = [sys.executable, "-m", "viewer.cli", "pack", "slipway", "-o", str(out), "--fast"]
    job = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    deadline = time.monotonic() + 120.0
    while not list(tmp_path.glob(".talk.*/numbers.csv")):
        assert job.poll() is None and time.monotonic() < deadline
        time.sleep(0.05)
    os.kill(job.pid, signal.SIGKILL)
    job.communicate()
    assert contents(out) == before
    assert len(list(tmp_path.glob(".talk.*"))) == 1
    assert main(["pack", "slipway", "-o", str(out), "--only", "numbers"]) == 0
    assert contents(out) == before and [path.name for path in tmp_path.iterdir()] == ["talk"]


def test_folders_of_others_beside_the_target_stay_whatever_their_names(tmp_path: Path) -> None:
    names = (
        ".talk-archive",
        ".talk-abcdefgh",
        ".talk.shimwright-archive",
        ".talk.shimwright-abcdefgh",
        ".talk.shimwright-abcd1234",
    )
    for name in names:
        (tmp_path / name).mkdir()
        for lock in (".lock", aside.LOCK):
            (tmp_path / name / lock).write_text("somebody else's\n")
    with aside.beside(tmp_path / "talk") as folder:
        assert folder.parent == tmp_path
    for pattern in ("*", "t?lk", "[a-z]alk"):  # a name is no pattern
        with aside.beside(tmp_path / pattern):
            assert folder.parent == tmp_path
    assert {path.name for path in tmp_path.iterdir()} == set(names)
    assert all((tmp_path / name / aside.LOCK).read_text() == "somebody else's\n" for name in names)


def test_two_packs_at_once_leave_each_other_alone(tmp_path: Path) -> None:
    with aside.beside(tmp_path / "talk") as first:
        (first / "half").write_text("made")
        with aside.beside(tmp_path / "talk") as second:
            assert first != second and (first / "half").exists()
        assert not second.exists() and (first / "half").exists()
    assert list(tmp_path.iterdir()) == []


def test_what_a_killed_pack_left_goes_with_the_next(tmp_path: Path) -> None:
    left = tmp_path / ".talk.shimwright-abcd1234"
    left.mkdir()
    (left / aside.LOCK).write_bytes(aside.LINE)
    with aside.beside(tmp_path / "talk"):
        assert not left.exists()


@pytest.mark.skipif(not os.path.ismount("/dev/shm"), reason="needs a folder where another disk begins")
def test_a_folder_where_another_disk_begins_is_worked_in_from_inside() -> None:
    with aside.beside(Path("/dev/shm")) as folder:
        assert folder.parent == Path("/dev/shm")
    assert not folder.exists()


def test_the_folder_one_stands_in_can_be_packed_into(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    with aside.beside(Path(".")) as folder:
        assert folder.parent == tmp_path.parent and folder.name.startswith(f".{tmp_path.name}.")
        (folder / "sheet").write_text("made")
        aside.move(folder, Path("."), ["sheet"], [])
    assert [path.name for path in tmp_path.iterdir()] == ["sheet"]


def _fails(kind: str) -> None:
    if kind == "fault":
        raise CannotWrite("--out talk: can't be written: No space left on device")
    os.kill(os.getpid(), signal.SIGKILL)


def _waits(sign: Path) -> None:
    sign.write_text(str(os.getpid()))
    time.sleep(600.0)


def alive(process: int) -> bool:
    return psutil.pid_exists(process) and psutil.Process(process).status() != psutil.STATUS_ZOMBIE


def waited_for(act: Callable[[], bool]) -> None:
    deadline = time.monotonic() + 120.0
    while not act():
        assert time.monotonic() < deadline
        time.sleep(0.05)


def test_a_fault_of_the_second_process_is_told_as_if_it_were_the_first_one() -> None:
    with Mate(_fails, "fault") as mate, pytest.raises(CannotWrite, match="No space left on device"):
        mate.finish()
    with Mate(_fails, "killed") as mate, pytest.raises(Gone, match="ended with code -9"):
        mate.finish()


def test_the_second_process_ends_with_the_first(tmp_path: Path) -> None:
    with Mate(_waits, tmp_path / "left"):
        waited_for(lambda: (tmp_path / "left").exists() and bool((tmp_path / "left").read_text()))
    assert not alive(int((tmp_path / "left").read_text()))
    asked = (
        f"import time, pathlib; from viewer.mate import Mate; from {__name__} import _waits; "
        f"mate = Mate(_waits, pathlib.Path({str(tmp_path / 'killed')!r})); time.sleep(600)"
    )
    job = subprocess.Popen([sys.executable, "-c", asked])
    waited_for(lambda: (tmp_path / "killed").exists() and bool((tmp_path / "killed").read_text()))
    os.kill(job.pid, signal.SIGKILL)
    job.wait()
    waited_for(lambda: not alive(int((tmp_path / "killed").read_text())))


def test_notes_and_figures_without_the_drawing_are_those_of_the_frame() -> None:
    made = explainer("millrace")
    start = made.start_settings()
    for step in made.procedure.order:
        for changes in ({}, {"heater": 140.0}, {"gaskets": {"pinion_gasket": 0.8}}):
            now = made.with_(start, step=step, explode=0.0, **changes)
            frame, read = made.frame(now), made.readings(now, step)
            assert [replace(note, point=(0.0, 0.0, 0.0)) for note in read.callouts] == [
                replace(note, point=(0.0, 0.0, 0.0)) for note in frame.callouts
            ]
            assert (read.fit_view, read.heat_scale, read.pair_view) == (frame.fit_view, frame.heat_scale, frame.pair_view)
            assert read.mesh_view == frame.mesh_view
            hot = {item.name: item.temperature for item in frame.shown if item.temperature is not None}
            assert hot == dict.fromkeys(read.heated, read.temperature)


@pytest.mark.long
@pytest.mark.parametrize("name", EXAMPLES)
def test_a_whole_pack_in_a_hurry(name: str, tmp_path: Path) -> None:
    out = tmp_path / "talk"
    assert main(["pack", name, "-o", str(out), "--fast"]) == 0
    made = explainer(name)
    phases, steps = made.procedure.phases, made.procedure.order
    found = [path.name for path in out.iterdir()]
    assert sum(path.endswith(".gif") for path in found) == len(phases)
    assert sum(path.startswith("step-") for path in found) == len(steps)
    assert set(packing.WHOLE_SHEETS) <= set(found) and "model.glb" in found and "numbers.csv" in found
    for path in out.glob("*.pdf"):
        judge_pages(pypdf.PdfReader(path), "a4" if made.start_settings().units == "mm" else "letter")
    cuts = [imageio_ffmpeg.count_frames_and_secs(str(out / films.names_of(made, phase)[0])) for phase in phases]
    whole = imageio_ffmpeg.count_frames_and_secs(str(out / films.WHOLE))
    assert whole[0] == sum(frames for frames, _ in cuts)
    assert whole[1] == pytest.approx(whole[0] / films.FAST_RATE, abs=0.3)
