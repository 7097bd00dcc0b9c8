"""Writes the pack: a still of every step, the exploded overview, the verdict on one page, the notes as CSV and JSON, time plan, kit list and effect table as
CSV, the walk round the gaskets.

Everything is made in a folder beside the target and moved into place at the end; a fault leaves the old pack untouched.
"""

from __future__ import annotations

import csv
import json
import os
import re
import shutil
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

from scenes import effects, effects_listing, forgotten, listing, verdict, verdict_page, walk
from scenes.explain import Explainer
from scenes.judged import Judged
from scenes.order import PROOF, QUICK
from scenes.settings import Settings, changed
from scenes.wording import text
from viewer import blocked_sheets, verdict_sheet
from viewer.progress import progress

OLD_PICTURE = re.compile(r"(step|blocked)-\d{2,3}-[a-z0-9_]+\.png")
"""Name of a picture of one step, or of a way that is not free: what a pack may clear away in its folder."""
COLUMNS = ("step", "id", "title", "key", "part", "text", "figure", "value", "unit", "limit", "verdict", "source")


GASKET_FILES = ("effects.csv", "effects.png", "gaskets.json", "gaskets.csv", "gaskets.png")
"""What the pack holds of the gaskets."""


VERDICT_FILES = ("verdict.png", "verdict.json")
"""The verdict on the job; beside it a picture of each way that is not free."""


class CannotWrite(Exception):
    """The folder can't be used: a finished line."""


def write(
    explainer: Explainer, now: Settings, out: Path, *, only: str | None = None, size: tuple[int, int] = (1500, 1000)
) -> list[str]:
    """Write the pack, or the part of it named by `only`. Result: names of the files written."""
    parent = out.resolve().parent
    if out.exists() and not out.is_dir():
        raise CannotWrite(f"--out {out}: is a file: accepted: a folder")
    _check(out, _names(explainer, now, only))
    try:
        parent.mkdir(parents=True, exist_ok=True)
        beside = Path(tempfile.mkdtemp(prefix=f".{out.name}-", dir=parent))
    except OSError as error:
        raise CannotWrite(f"--out {out}: can't be written: {error.strerror}") from None
    try:
        judged = _judge(explainer, PROOF) if _whole_verdict(now, only) else None
        names = _names(explainer, now, only) + (blocked_sheets.names(judged.verdict.proof.blocked) if judged else [])
        if judged is not None:
            _verdict(explainer, now, beside, judged)
        if only in (None, "numbers"):
            _numbers(explainer, now, beside)
        stops = _walk(explainer, now, only)
        if stops is not None:
            _gaskets(explainer, now, beside, stops)
        if only not in ("numbers", "gaskets", "verdict"):
            _pictures(explainer, now, beside, only, size)
        _move(beside, out, names, _stale(out, names, now, only))
    except OSError as error:
        raise CannotWrite(f"--out {out}: can't be written: {error.strerror}") from None
    finally:
        shutil.rmtree(beside, ignore_errors=True)
    return names


def _check(out: Path, names: list[str]) -> None:
    """Raise CannotWrite when one of the files can't take its place: before anything is moved."""
    if out.is_dir() and not os.access(out, os.W_OK | os.X_OK):
        raise CannotWrite(f"--out {out}: can't be written: Permission denied: accepted: a folder of your own")
    for name in names:
        if (out / name).is_dir() and not (out / name).is_symlink():
            raise CannotWrite(f"--out {out}: {name} is a folder there: accepted: a folder without one of that name")


def _move(beside: Path, out: Path, names: list[str], stale: list[Path]) -> None:
    """Put the finished files in place one rename each, when all of them are finished; pictures of an older order go."""
    _check(out, names)
    out.mkdir(exist_ok=True)
    for name in names:
        os.replace(beside / name, out / name)
    for path in stale:
        path.unlink(missing_ok=True)


def _stale(out: Path, names: list[str], now: Settings, only: str | None) -> list[Path]:
    """Pictures that an older order left behind: of steps when all are written anew, of blocked ways with a new verdict."""
    kinds = ["step"] if now.step is None and only in (None, "steps") else []
    kinds += ["blocked"] if _whole_verdict(now, only) else []
    if not out.is_dir():
        return []
    found = ((path, OLD_PICTURE.fullmatch(path.name)) for path in out.iterdir())
    return [path for path, old in found if old and old[1] in kinds and path.name not in names and not path.is_dir()]


def _names(explainer: Explainer, now: Settings, only: str | None) -> list[str]:
    """Names of all files that this pack has."""
    numbers = ["numbers.csv", "numbers.json"] if only in (None, "numbers") else []
    numbers += ["times.csv", "kit.csv", "effects.csv"] if numbers and now.step is None else []
    if _walk(explainer, now, only) is not None:
        numbers += [name for name in GASKET_FILES if name not in numbers]
    numbers += list(VERDICT_FILES) if _whole_verdict(now, only) else []
    return numbers + [name for name, _ in _wanted(explainer, now, only)]


def _whole_verdict(now: Settings, only: str | None) -> bool:
    """Whether the page with the verdict belongs in this pack."""
    return only == "verdict" or (only is None and now.step is None)


def _judge(explainer: Explainer, pitch: float) -> Judged:
    """Judge the order with a progress bar; what is drawn after that tells of it."""
    return explainer.judge(pitch=pitch, progress=lambda done, total: progress(done, total, text("order.progress")))


def _verdict(explainer: Explainer, now: Settings, folder: Path, judged: Judged) -> None:
    """The verdict on one page, the same as data, and a picture of each way that is not free."""
    start = changed(explainer.start_settings(), units=now.units)
    reducer, report = explainer.reducer(start), explainer.numbers(changed(start, step=None))
    blocked_sheets.write(explainer.stage(start), judged.verdict.proof, start, folder)
    pictures = blocked_sheets.shown(judged.verdict.proof.blocked)
    page = verdict_page.page(judged, report, reducer, explainer.procedure, now.units, pictures)
    verdict_sheet.draw(page, folder / "verdict.png")
    told: dict[str, Any] = {"machine": explainer.title, "order": verdict.report(judged.verdict, reducer, now.units)}
    told["forgotten"] = forgotten.report(reducer, explainer.procedure, judged.forgotten)
    (folder / "verdict.json").write_text(json.dumps(told, indent=1, ensure_ascii=False), encoding="utf-8")


def _walk(explainer: Explainer, now: Settings, only: str | None) -> walk.Walk | None:
    """The walk round the gaskets where it belongs in this pack; a whole pack goes without it when the pair doesn't mesh."""
    if only != "gaskets" and not (only is None and now.step is None):
        return None
    try:
        return walk.walk(explainer.reducer(now), now.units)
    except walk.CannotWalk:
        if only == "gaskets":
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


def _wanted(explainer: Explainer, now: Settings, only: str | None) -> list[tuple[str, Settings]]:
    """The pictures of this pack: file name and settings."""
    wanted: list[tuple[str, Settings]] = []
    if only in ("numbers", "gaskets", "verdict"):
        return wanted
    if only == "overview" or (only is None and now.step is None):
        wanted.append(("overview.png", changed(now, step=None)))
    if only != "overview":
        steps = [now.step] if now.step is not None else list(explainer.procedure.order)
        for step in steps:
            wanted.append((f"step-{explainer.procedure.order.index(step) + 1:02}-{step}.png", changed(now, step=step)))
    return wanted


def _pictures(explainer: Explainer, now: Settings, folder: Path, only: str | None, size: tuple[int, int]) -> None:
    import imageio.v3 as imageio

    from viewer import compose, ink
    from viewer.stage import Stage

    wanted = _wanted(explainer, now, only)
    if only != "overview" and explainer.judged is None:
        _judge(explainer, QUICK)
    scene = Stage((size[0] * ink.SCALE, size[1] * ink.SCALE))
    try:
        for count, (name, settings) in enumerate(wanted, 1):
            progress(count, len(wanted), name)
            sheet = compose.page(explainer.frame(settings, size[0] / size[1]), size, stage=scene)
            imageio.imwrite(folder / name, sheet.image)
    finally:
        scene.close()
