"""What the phone file says in one language: every text finished, every step's notes on a grid of settings in both unit systems.

The grid: the settings packed ("base"); the heater every 5 K of its range; each position gasket at every thickness in stock, one at a time.
A point is kept for a step only where something that it shows differs from the base.

`words` gives plain lists for JSON; a text is its place in `texts`:
    page     the page's own words by key; `verdicts` [mark, word] by verdict
    parts    name of each piece; `notes` what stands under every step; `phases` [title, [step numbers]]
    steps    of each step: id, title, act, reason, method, cautions, tools, hold, phase
    rows     every different note once: [text, figure, limit, verdict, source, piece of its part or -1]
    grid     by unit system: [point, its name] in order; `base` names the settings packed, `nearest` the heater's point nearest to them
    told     by unit system, of each step: {"": what the base shows, point: what differs there}
What is shown: {"rows": [...], "first": [those the act goes by], "figures": [[caption, drawing], ...], "heat": [colour, pieces]}; a key left out is as in the base.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from math import ceil
from operator import eq
from typing import Any, Final, get_args

from calc import units
from geometry.machine import MachineError
from geometry.part import Part
from scenes.explain import Explainer
from scenes.frame import Callout
from scenes.settings import Settings, changed
from scenes.shown import label_of
from scenes.step_frame import Readings
from scenes.wording import catalogue, speaking, text, texts
from viewer import mesh_figure, overlay, page, pair_figure, palette
from viewer.progress import progress
from viewer.talk import needed, needed_first

HEATER_STEP: Final = 5.0
"""Between two heater settings of the grid [K]."""
PROBES: Final = (0.0, 0.35, 0.7, 1.0)
"""Where in the heater's range a step is asked whether the heater moves anything in it, shares of its points."""
SYSTEMS: Final[tuple[units.System, ...]] = get_args(units.System)
FIGURE_WIDTH: Final = 240.0
HEATER: Final = "heater"
Shows = dict[str, Any]
Moved = dict[str, dict[str, bool]]
"""The steps in which a kind of point (the heater, a gasket) moves what is shown, and whether it moves a figure too."""


class Texts:
    """Every different text once."""

    def __init__(self) -> None:
        self.kept: list[str] = []
        self._place: dict[str, int] = {}

    def place(self, given: str) -> int:
        """Where a text stands."""
        if given not in self._place:
            self._place[given] = len(self.kept)
            self.kept.append(given)
        return self._place[given]


def points(explainer: Explainer, now: Settings) -> dict[str, Settings]:
    """The settings of each point of the grid but the base; a thickness with which the reducer can't be built is left out."""
    low, high, _ = explainer.heater_range
    found = {}
    for number in range(ceil(low / HEATER_STEP), int(high // HEATER_STEP) + 1):
        found[f"{HEATER} {number * HEATER_STEP:g}"] = explainer.with_(now, heater=number * HEATER_STEP)
    for name, *_, stock in explainer.gaskets:
        for thickness in stock:
            with contextlib.suppress(MachineError):
                found[f"{name} {thickness:g}"] = explainer.with_(now, gaskets={**now.gaskets, name: thickness})
    return found


def words(
    explainer: Explainer, now: Settings, language: str, parts: Sequence[Part], moved: Mapping[units.System, Moved]
) -> dict[str, Any]:
    """Everything that the page says in one language. `parts`: the part of each piece of the drawing; `moved`: as `moving` finds it."""
    with speaking(language):
        now = changed(now, language=language)
        kept = _Kept(explainer, parts)
        grid = points(explainer, now)
        told = {system: _told(kept, changed(now, units=system), grid, system, moved[system]) for system in SYSTEMS}
        reducer = explainer.reducer(now)
        return {
            "page": {key.removeprefix("phone."): entry for key, entry in catalogue(language).items() if key.startswith("phone.")},
            "verdicts": {verdict: list(pair) for verdict, pair in page.verdict_words(page.words()).items()},
            "parts": [label_of(reducer, part) for part in parts],
            "notes": list(texts("note.sheet")),
            "phases": [[title, [number for _, number, _ in steps]] for _, title, steps in explainer.phases],
            "steps": [_step(explainer, changed(now, step=name)) for name in explainer.procedure.order],
            "grid": {system: [[point, _named(explainer, point, system)] for point in grid] for system in SYSTEMS},
            "nearest": _nearest(explainer, now, grid),
            "base": text("phone.as_packed" if _changed_by_hand(explainer, now) else "phone.as_in_file"),
            "told": told,
            "rows": kept.rows,
            "texts": kept.texts.kept,
        }  # fmt: skip


def _nearest(explainer: Explainer, now: Settings, grid: Mapping[str, Settings]) -> str:
    """The heater's point nearest to the setting packed: where the page's slider stands before it is moved."""
    packed = explainer.heater_range[2] if now.heater is None else now.heater
    heated = {point: settings.heater for point, settings in grid.items() if _kind(point) == HEATER}
    return min(heated, key=lambda point: abs((heated[point] or 0.0) - packed))


def _changed_by_hand(explainer: Explainer, now: Settings) -> bool:
    start = explainer.start_settings()
    return (now.heater, now.ambient, dict(now.gaskets)) != (start.heater, start.ambient, dict(start.gaskets))


def _named(explainer: Explainer, point: str, system: units.System) -> str:
    name, value = point.rsplit(" ", 1)
    if name == HEATER:
        return text("phone.at_heater", value=units.show(float(value), "temperature", system, digits=0))
    return text("phone.at_gasket", name=text(f"part.{name}"), value=units.show(float(value), "length", system))


def _step(explainer: Explainer, now: Settings) -> dict[str, Any]:
    said = explainer.frame(changed(now, explode=0.0)).step
    assert said is not None
    return {
        "id": said.id, "title": said.title, "act": said.act, "reason": said.reason, "method": said.method, "phase": said.phase_title,
        "cautions": list(said.cautions), "tools": list(said.tools), "hold": said.hold,
    }  # fmt: skip


class _Kept:
    """Notes and figures of one language as numbers into its tables."""

    def __init__(self, explainer: Explainer, parts: Sequence[Part]) -> None:
        self.explainer = explainer
        self.texts, self.rows = Texts(), list[list[Any]]()
        self._row: dict[tuple[Any, ...], int] = {}
        self._role = {part.name: part.role for part in parts}
        self._piece = {part.name: place for place, part in reversed(list(enumerate(parts)))}

    def rows_of(self, notes: Iterable[Callout]) -> list[int]:
        """Notes as places in `rows`."""
        found = []
        for note in notes:
            place = self.texts.place
            row = (
                place(note.text),
                place(note.short),
                place(note.limit),
                note.verdict,
                place(note.source),
                self._piece.get(note.part, -1),
            )
            if row not in self._row:
                self._row[row] = len(self.rows)
                self.rows.append(list(row))
            found.append(self._row[row])
        return found

    def shows(self, now: Settings, step: str, figures: bool = True) -> Shows:
        """All that a step shows at these settings and that may change with them; without `figures` the notes alone."""
        if not figures:
            return self._notes(self.explainer.callouts(now, step))
        read = self.explainer.readings(now, step)
        drawn = [[self.texts.place(caption), self.texts.place(drawing)] for caption, drawing in _figures(read, self._role)]
        return {**self._notes(read.callouts), "figures": drawn, "heat": self._heat(read)}

    def _notes(self, notes: Sequence[Callout]) -> Shows:
        return {"rows": self.rows_of(notes), "first": self.rows_of(note for note in needed_first(notes) if needed(note))}

    def _heat(self, read: Readings) -> list[Any]:
        if read.heat_scale is None or read.temperature is None or not read.heated:
            return []
        place = palette.heat_position(read.temperature, read.heat_scale.low, read.heat_scale.high)
        return [palette.code(palette.heat(place)), [self._piece[name] for name in read.heated]]


def _figures(read: Readings, roles: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """Caption and drawing of each small figure beside the picture; `roles`: of the parts by name."""
    if read.heat_scale is not None:
        yield read.heat_scale.caption, overlay.heat(read.heat_scale, FIGURE_WIDTH - 20.0)
    if read.fit_view is not None:
        hub = palette.role(roles.get(read.fit_view.part, "gear"))
        yield read.fit_view.caption, overlay.fit(read.fit_view, hub, FIGURE_WIDTH)
    if read.pair_view is not None:
        yield read.pair_view.caption, pair_figure.svg(read.pair_view, FIGURE_WIDTH)
    if read.mesh_view is not None:
        said = "\n".join((read.mesh_view.caption, *mesh_figure.words(read.mesh_view)))
        yield said, mesh_figure.svg(read.mesh_view, FIGURE_WIDTH)


def moving(explainer: Explainer, now: Settings) -> Moved:
    """What each kind of point moves, in the unit system of the settings and in whatever language: found at the ends of its range, for
    the heater at two settings between them as well."""
    order, grid = explainer.procedure.order, points(explainer, now)
    base = [words_and_figures(explainer.readings(now, step)) for step in order]
    found: Moved = {}
    for kind in dict.fromkeys(_kind(point) for point in grid):
        of_kind = sorted((point for point in grid if _kind(point) == kind), key=lambda point: float(point.rsplit(" ", 1)[1]))
        shares = PROBES if kind == HEATER else (0.0, 1.0)
        probes = [grid[of_kind[round(share * (len(of_kind) - 1))]] for share in shares]
        found[kind] = {}
        for step, at_base in zip(order, base, strict=True):
            pairs = [tuple(map(eq, words_and_figures(explainer.readings(probe, step)), at_base)) for probe in probes]
            if not all(map(all, pairs)):
                found[kind][step] = not all(same for _, same in pairs)
    return found


def words_and_figures(read: Readings) -> tuple[list[tuple[str, ...]], list[tuple[str, str]]]:
    """What a step tells, as it is shown: its notes, its figures."""
    words = [(note.text, note.short, note.limit, note.verdict, note.source) for note in read.callouts]
    return words, list(_figures(read, {}))


def _kind(point: str) -> str:
    """What a point of the grid moves: the heater, or a gasket."""
    return point.rsplit(" ", 1)[0]


def _told(kept: _Kept, now: Settings, grid: Mapping[str, Settings], system: units.System, moved: Moved) -> list[dict[str, Shows]]:
    """For each step: what the base shows, and at each point what differs from it."""
    order = kept.explainer.procedure.order
    base = [kept.shows(now, step) for step in order]
    found: list[dict[str, Shows]] = [{"": shows} for shows in base]
    for count, (point, settings) in enumerate(grid.items(), 1):
        progress(count, len(grid), text("phone.progress"))
        for step, figures in moved[_kind(point)].items():
            place = order.index(step)
            shows = kept.shows(changed(settings, units=system), step, figures=figures)
            differs = {key: value for key, value in shows.items() if value != base[place][key]}
            if differs:
                found[place][point] = differs
    return found
