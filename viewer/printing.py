"""Sheets as PDF for paper, set by typst from data: no text of a machine file is ever read as markup.

The same input gives the same bytes: fixed time stamp, no fonts but DejaVu Sans.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from importlib.resources import files
from pathlib import Path
from typing import Any, Final, Literal

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from scenes import briefing, drift, filled_sheet, left_report, reading_sheet, sheets
from scenes.explain import Explainer
from scenes.frame import Frame
from scenes.record_listing import Opened
from scenes.settings import Settings
from scenes.wording import spoken, text
from viewer import compose, plate, plot_figure
from viewer.lettering import font_folder

Paper = Literal["a4", "letter"]
PAPERS: Final[dict[Paper, tuple[str, float]]] = {"a4": ("a4", 210.0), "letter": ("us-letter", 215.9)}
"""Name that the typesetter knows, and width [mm]."""
SIDE: Final = 14.0  # margin left and right [mm], as in sheet.typ
PLATE_HEIGHT: Final = 84.0  # of a step's picture where there is much to say [mm]
TALL_PLATE: Final = 100.0  # of the picture of a step with few notes [mm]
FEW: Final = 3  # notes
CLOSE_HEIGHT: Final = 42.0  # of a step's close-up [mm]
MOST_NAMED: Final = 4  # parts named beside a close-up
MADE: Final = 0  # time stamp in the file [s since 1970]
WHITE: Final = 247  # a colour lighter than this is the ground
VERDICTS: Final = ("fine", "watch", "stop")


def paper_for(units: str) -> Paper:
    """The paper that goes with a unit system."""
    return "letter" if units == "inch" else "a4"


class Printer:
    """Sets sheets in a folder of its own; pictures of steps are laid down there first, at half their size where it is to be `quick`."""

    def __init__(self, explainer: Explainer, now: Settings, folder: Path, paper: Paper, quick: bool = False) -> None:
        self.explainer, self.now, self.folder, self.paper, self.quick = explainer, now, folder, paper, quick
        folder.mkdir(exist_ok=True)
        for name in ("sheet", "foreman", "steps", "readings", "kit", "times", "record"):
            (folder / f"{name}.typ").write_bytes(files("viewer").joinpath("sheets", f"{name}.typ").read_bytes())
        self._close: dict[str, tuple[str, float]] = {}

    def plate_size(self, frame: Frame) -> tuple[float, float]:
        """Width and height of a step's picture [mm]."""
        return PAPERS[self.paper][1] - 2.0 * SIDE, TALL_PLATE if len(frame.callouts) <= FEW else PLATE_HEIGHT

    def lay(self, step: str, page: compose.Page, frame: Frame) -> None:
        """Keep the picture of a step, and its close-up if it has one."""
        size = self.plate_size(frame)
        self._save(plate.draw(page, frame, size), f"{step}.png")
        found = plate.close_up(page.insets)
        if found is None:
            return
        label = {part.name: part.label for part in frame.shown}
        names = list(dict.fromkeys(label[name] for item in page.insets for name in item.names))
        more = len(names) - MOST_NAMED if len(names) > MOST_NAMED + 1 else 0
        named = ", ".join(names[: len(names) - more])
        caption = text("sheet.close_more", parts=named, count=more) if more else text("sheet.close", parts=named)
        widest = 0.62 * size[0]
        self._close[step] = caption, min(CLOSE_HEIGHT, widest * found.shape[0] / found.shape[1])
        self._save(found, f"{step}-close.png")

    def _save(self, image: NDArray[np.uint8], name: str) -> None:
        """Few colours, so that the file stays small; the ground stays white."""
        whole = Image.fromarray(image)
        small = (whole.reduce(2) if self.quick else whole).quantize(256, Image.Quantize.FASTOCTREE, dither=Image.Dither.NONE)
        colours = np.array(small.getpalette(), dtype=np.uint8).reshape(-1, 3)
        colours[colours.min(axis=1) > WHITE] = 255
        small.putpalette(colours.ravel().tolist())
        small.save(self.folder / name)

    def foreman(self) -> bytes:
        """The foreman's sheet."""
        words = _words("foreman", "stops", "five", "rule", "holds", "cautions", "who")
        words |= _words("sheet", "optional", "date", "machine_number", "job_number")
        return self._set("foreman", "foreman", briefing.foreman(self.explainer, self.now), words)

    def steps(self, phase: str) -> bytes:
        """The step sheets of a phase; all its pictures must lie in the folder."""
        content = sheets.steps(self.explainer, self.now, phase)
        for step in content["steps"]:
            caption, height = self._close.get(step["id"], ("", 0.0))
            step["picture"] = f"{step['id']}.png"
            step |= {"close": f"{step['id']}-close.png" if caption else "", "close_text": caption, "close_height": height}
        keys = ("done", "initials", "optional", "torque", "again", "cautions", "hold", "figures", "source_mark", "sources")
        words = _words("sheet", *keys) | {"read": text("readings.column_read")}
        return self._set("steps", "steps", content, words, text(f"phase.{phase}"))

    def readings(self, phase: str | None = None) -> bytes:
        """The sheet of readings."""
        content = reading_sheet.readings(self.explainer, self.now, phase)
        return self._readings(content, "" if phase is None else text(f"phase.{phase}"))

    def record_sheet(self, found: Opened) -> bytes:
        """The sheet of readings of one job, filled in as far as its record goes."""
        return self._readings(filled_sheet.content(found, self.now), text("record.sheet_part", job=found.record.path.name))

    def _readings(self, content: dict[str, Any], part: str) -> bytes:
        words = _words("sheet", "initials", "date", "optional", "hold", "machine_number", "job_number")
        words |= _words("readings", "yes", "no", "leaf", "drive", "coast", "toe", "heel", "tip", "root")
        words |= _words("readings", "agreed", "maker", "taken_by", "serial", "temperature_short", "fits_how", "bore")
        words |= _words("readings", "instrument_number", "calibrated_until", "parts_at")
        return self._set("readings", "readings", content, words, part)

    def kit(self) -> bytes:
        """The kit list."""
        words = _words("kit_sheet", "item", "count", "steps", "derived")
        return self._set("kit", "kit", sheets.kit(self.explainer, self.now), words)

    def times(self) -> bytes:
        """The time plan."""
        keys = ("step", "heating", "handling", "waiting", "total", "actual", "job", "phase_total", "waits")
        words = _words("times_sheet", *keys) | _words("sheet", "optional")
        return self._set("times", "times", sheets.times(self.explainer, self.now), words)

    def record(self, found: Opened, before: Sequence[Opened]) -> bytes:
        """The record of a job as left; `before`: earlier jobs of the machine, the oldest first, for the page of plots."""
        content = left_report.report(found, self.now)
        plots = drift.drift([*before, found], self.now) if before else ()
        for plot in plots:
            drawn = plot_figure.svg(plot).replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" font-family="DejaVu Sans" ', 1)
            (self.folder / f"{plot.key}.svg").write_text(drawn, encoding="utf-8")
        content["plots"] = [
            {"title": plot.title, "file": f"{plot.key}.svg", "said": " ".join(plot.said), "narrow": not plot.lines[0].name}
            for plot in plots
        ]
        content["jobs"] = [drift.job_line(count, one) for count, one in enumerate([*before, found], 1)] if before else []
        names = (
            "column_what",
            "column_limits",
            "state_found",
            "state_left",
            "setting",
            "gaskets",
            "sizes",
            "checks",
            "told",
            "marks",
            "instruments",
            "due",
            "entries",
            "overdue",
        )
        words = _words("record", *names, "deviations", "none", "open_title", "signed", "done_by", "checked_by", "owner", "drift")
        columns = ("column_round", "column_expected", "column_read", "column_difference")
        words |= {"rounds": text("rounds.title")} | _words("rounds", *columns)
        words |= _words("record", "head_plate", "key_title", "key_fine", "key_watch", "key_stop", "key_none")
        part = text("record.sheet_part", job=found.record.path.name)
        return self._set("record", "record", content, words | _words("sheet", "date", "machine_number", "job_number"), part)

    def _set(self, template: str, title: str, content: dict[str, Any], words: dict[str, Any], part: str = "") -> bytes:
        """The finished file of one template."""
        import typst

        verdict = {name: text(f"sheet.verdict_{name}") for name in VERDICTS}
        data = {
            "paper": PAPERS[self.paper][0],
            "language": spoken(),
            "head": sheets.head(self.explainer, self.now, text(f"sheet.{title}"), part),
            "words": {**words, "verdict": verdict},
            "content": content,
        }
        (self.folder / "data.json").write_text(json.dumps(data, ensure_ascii=False), encoding="utf-8")
        made: bytes = typst.compile(
            str(self.folder / f"{template}.typ"),
            root=str(self.folder),
            font_paths=[str(font_folder())],
            ignore_system_fonts=True,
            timestamp=MADE,
        )
        return made


def _words(prefix: str, *names: str) -> dict[str, Any]:
    return {name: text(f"{prefix}.{name}") for name in names}
