"""Writes the pack: the verdict, pictures of the steps, sheets as PDF, films, the page for phones, model, the notes as CSV and JSON, time
plan, kit list and effect table as CSV, the walk round the gaskets.

Everything is made in a folder beside the target and moved into place at the end; a fault leaves the old pack untouched. Films and the page
for phones are made in a second process meanwhile.
"""

from __future__ import annotations

import contextlib
import csv
import json
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any, Literal, get_args

from geometry.machine import Machine
from scenes import effects, effects_listing, forgotten, listing, verdict, verdict_page, walk
from scenes.explain import Explainer
from scenes.judged import Judged
from scenes.order import PROOF, QUICK
from scenes.settings import Settings, changed
from scenes.standing import Held
from scenes.wording import speaking, spoken, text
from viewer import aside, phone
from viewer.aside import CannotWrite
from viewer.mate import Gone, Mate
from viewer.progress import progress

__all__ = ["DRAWN", "PHASED", "SECTIONS", "CannotWrite", "Order", "write"]

Section = Literal["verdict", "overview", "steps", "numbers", "gaskets", "sheets", "films", "phone", "model"]
SECTIONS: tuple[Section, ...] = get_args(Section)
"""Parts of the pack that can be asked for alone."""
DRAWN: frozenset[Section] = frozenset({"verdict", "overview", "steps", "sheets", "films"})
"""Those that need the machine to draw."""
PHASED: frozenset[Section] = frozenset({"steps", "sheets", "films"})
"""Those that can be had for one phase."""
BESIDE: frozenset[Section] = frozenset({"films", "phone"})
"""Those that a second process makes while this one draws the others."""
OURS: dict[Section, re.Pattern[str]] = {
    "verdict": re.compile(r"blocked-\d{2,3}-[a-z0-9_]+\.png"),
    "steps": re.compile(r"step-\d{2,3}-[a-z0-9_]+\.png"),
    "sheets": re.compile(r"(steps|readings)-\d{2}-[a-z0-9_]+\.pdf"),
    "films": re.compile(r"film-\d{2}-[a-z0-9_]+\.(mp4|gif)"),
}
"""Names of what a pack may clear away in its folder when an older order left it."""
COLUMNS = ("step", "id", "title", "key", "part", "text", "figure", "value", "unit", "limit", "verdict", "source")
GASKET_FILES = ("effects.csv", "effects.png", "gaskets.json", "gaskets.csv", "gaskets.png")
"""What the pack holds of the gaskets."""
VERDICT_FILES = ("verdict.png", "verdict.json")
"""The verdict on the job; beside it a picture of each way that is not free."""
WHOLE_SHEETS = ("foreman.pdf", "readings.pdf", "kit.pdf", "times.pdf")
"""Sheets of the whole job."""


@dataclass(frozen=True)
class Order:
    """What of the pack is written: one section or all, one phase or all, in a hurry or not, at which picture size [pixel], on which
    paper (None: the one that goes with the units)."""

    only: Section | None = None
    phase: str | None = None
    fast: bool = False
    size: tuple[int, int] = (1500, 1000)
    paper: Literal["a4", "letter"] | None = None

    def sections(self, now: Settings) -> frozenset[Section]:
        """The sections that are written: of one step its picture and numbers, of one phase what can be had for it."""
        if self.only is not None:
            return frozenset({self.only})
        if now.step is not None:
            return frozenset({"steps", "numbers"})
        return PHASED if self.phase is not None else frozenset(SECTIONS)

    @property
    def picture(self) -> tuple[int, int]:
        """Size of a picture [pixel]: half of what was asked for in a hurry."""
        return (self.size[0] // 2, self.size[1] // 2) if self.fast else self.size


def write(explainer: Explainer, now: Settings, out: Path, order: Order | None = None) -> list[str]:
    """Write the pack, or the part of it that is ordered. Result: names of the files written. Raises CannotWrite."""
    order = order or Order()
    sections = order.sections(now)
    aside.check(out, ())
    stops = _walk(explainer, now, sections, order)
    names = _names(explainer, now, order, stops is not None)
    aside.check(out, names)
    with aside.beside(out) as folder, contextlib.ExitStack() as stack:
        apart = sections & BESIDE if sections & (DRAWN - BESIDE) else frozenset()
        mate = _mate(explainer, now, folder, order, apart) if apart else None
        if mate is not None:
            stack.enter_context(mate)
        look = mate.look if mate is not None else _nothing
        if "numbers" in sections:
            _numbers(explainer, now, folder)
        if "verdict" in sections:  # before all that is drawn: pictures tell of it
            names += _verdict(explainer, now, folder, order)
        if stops is not None:
            _gaskets(explainer, now, folder, stops)
        if sections & {"overview", "steps", "sheets"}:
            _pictures(explainer, now, folder, order, look)
        if "model" in sections:
            from viewer import model

            model.write(explainer.reducer(now), folder / "model.glb")
        if mate is None:
            _films_and_page(explainer, now, folder, order, sections)
        else:
            _finish(mate)
        whole = now.step is None and order.phase is None
        aside.move(folder, out, names, _stale(out, names, sections) if whole else [])
    return names


def _nothing() -> None:
    """Nobody to look after."""


def _mate(explainer: Explainer, now: Settings, folder: Path, order: Order, sections: frozenset[Section]) -> Mate:
    """The second process at work on these sections."""
    given = {field.name: getattr(now, field.name) for field in fields(now)} | {"gaskets": dict(now.gaskets)}
    return Mate(
        _apart, explainer.machine, dict(explainer.held), explainer.folder.resolve(), given, spoken(), folder, order, sections
    )


def _apart(
    machine: Machine,
    held: dict[str, Held],
    home: Path,
    given: dict[str, Any],
    language: str,
    folder: Path,
    order: Order,
    sections: frozenset[Section],
) -> None:
    """What the second process does."""
    with speaking(language):
        _films_and_page(Explainer(machine, home).holding(held), Settings(**given), folder, order, sections)


def _films_and_page(explainer: Explainer, now: Settings, folder: Path, order: Order, sections: frozenset[Section]) -> None:
    if "films" in sections:
        _films(explainer, now, folder, order)
    if "phone" in sections:
        phone.write(explainer, now, folder / phone.NAME)


def _finish(mate: Mate) -> None:
    try:
        mate.finish()
    except Gone as error:
        raise CannotWrite(f"the pack can't be written: {error}") from None


def _stale(out: Path, names: list[str], sections: frozenset[Section]) -> list[Path]:
    """Files of steps and phases that an older order left behind, when all of their section are written anew."""
    if not out.is_dir():
        return []
    patterns = [pattern for section, pattern in OURS.items() if section in sections]
    found = [path for path in out.iterdir() if path.name not in names and not path.is_dir()]
    return [path for path in found if any(pattern.fullmatch(path.name) for pattern in patterns)]


def _names(explainer: Explainer, now: Settings, order: Order, walked: bool) -> list[str]:
    """Names of all files that this pack has; `walked`: whether the walk round the gaskets is among them."""
    sections = order.sections(now)
    names = list(VERDICT_FILES) if "verdict" in sections else []
    names += ["numbers.csv", "numbers.json"] if "numbers" in sections else []
    names += ["times.csv", "kit.csv", "effects.csv"] if "numbers" in sections and now.step is None else []
    if walked:
        names += [name for name in GASKET_FILES if name not in names]
    if sections & {"overview", "steps"}:
        names += [name for name, _ in _wanted(explainer, now, order)]
    if "sheets" in sections:
        names += [_sheet("steps", explainer, phase) for phase in _phases(explainer, order)]
        names += WHOLE_SHEETS if order.phase is None else [_sheet("readings", explainer, order.phase)]
    if "films" in sections:
        from viewer import films

        names += [name for phase in _phases(explainer, order) for name in films.names_of(explainer, phase)]
        names += [films.WHOLE] if order.phase is None else []
    names += [phone.NAME] if "phone" in sections else []
    names += ["model.glb"] if "model" in sections else []
    return names


def _phases(explainer: Explainer, order: Order) -> tuple[str, ...]:
    return explainer.procedure.phases if order.phase is None else (order.phase,)


def _sheet(kind: str, explainer: Explainer, phase: str) -> str:
    """File name of a sheet of one phase."""
    return f"{kind}-{explainer.procedure.phases.index(phase) + 1:02}-{phase}.pdf"


def _judge(explainer: Explainer, pitch: float) -> Judged:
    """Judge the order with a progress bar; what is drawn after that tells of it."""
    return explainer.judge(pitch=pitch, progress=lambda done, total: progress(done, total, text("order.progress")))


def _verdict(explainer: Explainer, now: Settings, folder: Path, order: Order) -> list[str]:
    """The verdict on one page, the same as data, and a picture of each way that is not free. Result: the names of these pictures."""
    from viewer import blocked_sheets, verdict_sheet

    judged = _judge(explainer, QUICK if order.fast else PROOF)
    start = changed(explainer.start_settings(), units=now.units)
    reducer, report = explainer.reducer(start), explainer.numbers(changed(start, step=None))
    blocked_sheets.write(explainer.stage(start), judged.verdict.proof, start, folder)
    pictures = blocked_sheets.shown(judged.verdict.proof.blocked)
    page = verdict_page.page(judged, report, reducer, explainer.procedure, now.units, pictures)
    verdict_sheet.draw(page, folder / "verdict.png")
    told: dict[str, Any] = {"machine": explainer.title, "order": verdict.report(judged.verdict, reducer, now.units)}
    told["forgotten"] = forgotten.report(reducer, explainer.procedure, judged.forgotten)
    (folder / "verdict.json").write_text(json.dumps(told, indent=1, ensure_ascii=False), encoding="utf-8")
    return pictures


def _walk(explainer: Explainer, now: Settings, sections: frozenset[Section], order: Order) -> walk.Walk | None:
    """The walk round the gaskets where it belongs in this pack; a whole pack goes without it when the pair doesn't mesh."""
    if "gaskets" not in sections:
        return None
    try:
        return walk.walk(explainer.reducer(now), now.units)
    except walk.CannotWalk:
        if order.only == "gaskets":
            raise
        return None


def _gaskets(explainer: Explainer, now: Settings, folder: Path, stops: walk.Walk) -> None:
    """The effect table and the walk round the gaskets."""
    from viewer import effects_figure, walk_sheet

    reducer, name = explainer.reducer(now), explainer.title
    table = effects.effects(reducer, now.units)
    _table(folder / "effects.csv", effects_listing.COLUMNS, effects_listing.csv_rows(table, reducer, now.units))
    effects_figure.draw(table, reducer.machine.gears.backlash, name, now.units, folder / "effects.png")
    report = walk.report(stops, name, now.units)
    (folder / "gaskets.json").write_text(json.dumps(report, indent=1, ensure_ascii=False), encoding="utf-8")
    _table(folder / "gaskets.csv", walk.COLUMNS, walk.csv_rows(stops))
    walk_sheet.draw(stops, name, now.units, folder / "gaskets.png")


def _numbers(explainer: Explainer, now: Settings, folder: Path) -> None:
    report = explainer.numbers(now)
    (folder / "numbers.json").write_text(json.dumps(report, indent=1, ensure_ascii=False), encoding="utf-8")
    _table(folder / "numbers.csv", COLUMNS, _rows(report))
    if now.step is not None:
        return
    plan, name = explainer.times(now), explainer.title
    _table(folder / "times.csv", listing.TIMES_COLUMNS, listing.times_rows(plan, explainer.procedure, name, now.units))
    _table(folder / "kit.csv", listing.KIT_COLUMNS, listing.kit_rows(explainer.kit(now)))
    reducer = explainer.reducer(now)
    table = effects.effects(reducer, now.units)
    _table(folder / "effects.csv", effects_listing.COLUMNS, effects_listing.csv_rows(table, reducer, now.units))


def _table(path: Path, columns: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
    with path.open("w", newline="", encoding="utf-8") as stream:
        writer = csv.writer(stream)
        writer.writerow(columns)
        writer.writerows(rows)


def _rows(report: dict[str, Any]) -> Iterator[tuple[Any, ...]]:
    for step in report["steps"]:
        for note in step["callouts"]:
            yield (
                step["number"],
                step["id"],
                step["title"],
                note["key"],
                note["part"],
                note["text"],
                note["short"],
                note["value"],
                note["unit"],
                note["limit"],
                note["verdict"],
                note["source"],
            )


def _wanted(explainer: Explainer, now: Settings, order: Order) -> list[tuple[str, Settings]]:
    """The pictures that are drawn for this pack: file name and settings."""
    sections, procedure = order.sections(now), explainer.procedure
    wanted: list[tuple[str, Settings]] = []
    if "overview" in sections:
        wanted.append(("overview.png", changed(now, step=None)))
    if sections & {"steps", "sheets"}:
        steps = [now.step] if now.step is not None else procedure.order
        for step in steps:
            if order.phase in (None, procedure.steps[step].phase):
                wanted.append((f"step-{procedure.order.index(step) + 1:02}-{step}.png", changed(now, step=step)))
    return wanted


def _pictures(explainer: Explainer, now: Settings, folder: Path, order: Order, look: Callable[[], None]) -> None:
    """The stills, and from the same drawings the sheets. `look` is called with each: the second process may have come to a fault."""
    import imageio.v3 as imageio

    from viewer import compose, ink
    from viewer.stage import Stage

    sections, size = order.sections(now), order.picture
    wanted = _wanted(explainer, now, order)
    if sections & {"steps", "sheets"} and explainer.judged is None:
        _judge(explainer, QUICK)
    printer = _printer(explainer, now, folder, order) if "sheets" in sections else None
    finish = ink.ROUGH if order.fast else ink.FINE
    scene = Stage((size[0] * finish.scale, size[1] * finish.scale))
    try:
        for count, (name, settings) in enumerate(wanted, 1):
            progress(count, len(wanted), name)
            look()
            frame = explainer.frame(settings, size[0] / size[1])
            sheet = compose.page(frame, size, stage=scene, finish=finish)
            if sections & {"overview", "steps"}:
                imageio.imwrite(folder / name, sheet.image)
            if printer is not None and settings.step is not None:
                printer.lay(settings.step, sheet, frame)
    finally:
        scene.close()
    if printer is not None:
        _sheets(printer, explainer, folder, order)


def _printer(explainer: Explainer, now: Settings, folder: Path, order: Order) -> Any:
    from viewer import printing

    return printing.Printer(explainer, now, folder / "print", order.paper or printing.paper_for(now.units), quick=order.fast)


def _sheets(printer: Any, explainer: Explainer, folder: Path, order: Order) -> None:
    """The printed sheets, once the pictures of their steps are laid down."""
    phases = _phases(explainer, order)
    for count, phase in enumerate(phases, 1):
        name = _sheet("steps", explainer, phase)
        progress(count, len(phases), name)
        (folder / name).write_bytes(printer.steps(phase))
    if order.phase is not None:
        (folder / _sheet("readings", explainer, order.phase)).write_bytes(printer.readings(order.phase))
        return
    for name in WHOLE_SHEETS:
        (folder / name).write_bytes(getattr(printer, name.removesuffix(".pdf"))())


def _films(explainer: Explainer, now: Settings, folder: Path, order: Order) -> None:
    from viewer import films

    try:
        films.write(explainer, now, folder, phase=order.phase, fast=order.fast, told=progress)
    except films.FilmFault as error:
        raise CannotWrite(f"the film can't be written: {error}") from None
