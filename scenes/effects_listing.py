"""The effect table as JSON, lines and CSV rows. Figures in mm and percent, whatever the unit system of the texts."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Literal

from calc import units
from geometry.machine import Gasket
from geometry.reducer import Reducer
from scenes import pattern_words
from scenes.effects import Effect, Effects
from scenes.wording import text, texts

System = Literal["mm", "inch"]
COLUMNS = (
    "gasket", "change_mm", "clamped_change_mm", "free_mm", "pinion_running_mm", "gear_distance_mm", "pinion_shift_mm", "gear_shift_mm", "backlash_mm",
    "first_order_mm", "handbook_mm", "drive_along_percent", "drive_depth_percent", "coast_along_percent", "coast_depth_percent",
    "high_speed_end_play_mm", "low_speed_end_play_mm", "state", "text",
)  # fmt: skip
"""Columns of effects.csv."""


def remarks(effect: Effect) -> tuple[str, ...]:
    """Keys of what to say beside the figures: hard edges, a pair far from where it was tried, a cover that clamps the rings."""
    said = list(effect.contact.remarks) if effect.contact is not None else []
    if effect.positions is not None:
        for name in ("high_speed_end_play", "low_speed_end_play"):
            if getattr(effect.positions, name) <= 0.0:
                said.append(f"no_{name}")
    return tuple(said)


def _place(along: float, depth: float) -> dict[str, Any]:
    return {"along": along, "depth": depth, "words": pattern_words.place(along, depth)}


def _row(effect: Effect, system: System, reducer: Reducer) -> dict[str, Any]:
    at, places = effect.positions, effect.places
    usable = at is not None
    return {
        "gasket": effect.gasket,
        "change": effect.change,
        "clamped_change": effect.clamped_change,
        "free": effect.free if effect.gasket else None,
        "pinion_running": at.pinion_running if at else None,
        "gear_distance": at.gear_distance if at else None,
        "pinion_shift": effect.shift.pinion if usable else None,
        "gear_shift": effect.shift.gear if usable else None,
        "backlash": effect.backlash,
        "first_order": effect.first_order if usable else None,
        "handbook": effect.handbook if usable else None,
        "drive": _place(*places[0]) if places else None,
        "coast": _place(*places[1]) if places else None,
        "high_speed_end_play": at.high_speed_end_play if at else None,
        "low_speed_end_play": at.low_speed_end_play if at else None,
        "state": effect.state,
        "remarks": [*remarks(effect), *outside(effect, reducer)],
        "text": " ".join(line(effect, system, reducer).split()),
    }


def report(found: Effects, reducer: Reducer, machine: str, system: System) -> dict[str, Any]:
    """What `numbers --effects --json` prints."""
    return {
        "machine": machine,
        "units": system,
        "indicative": True,
        "notes": list(texts("effects.notes")),
        "present": _row(found.present, system, reducer),
        "gaskets": [
            {
                "name": name,
                "title": text(f"part.{name}"),
                "free": _gasket(reducer, name).thickness,
                "clamped": _gasket(reducer, name).clamped,
                "compression": _gasket(reducer, name).compression,
                "rows": [_row(effect, system, reducer) for effect in rows],
            }
            for name, rows in found.rows.items()
        ],
    }


def _gasket(reducer: Reducer, name: str) -> Gasket:
    item: Gasket = getattr(reducer.machine.gaskets, name)
    return item


def outside(effect: Effect, reducer: Reducer) -> tuple[str, ...]:
    """What of this row lies outside its limits (keys)."""
    machine, found = reducer.machine, []
    low, high = machine.gears.backlash
    if effect.backlash is not None and not low <= effect.backlash <= high:
        found.append("backlash_below" if effect.backlash < low else "backlash_above")
    if effect.positions is not None:
        for side, play, (least, most) in (
            ("high", effect.positions.high_speed_end_play, machine.limits.high_speed_end_play),
            ("low", effect.positions.low_speed_end_play, machine.limits.low_speed_end_play),
        ):
            if not least - 1e-6 <= play <= most + 1e-6:
                found.append(f"{side}_play_outside")
    return tuple(found)


def line(effect: Effect, system: System, reducer: Reducer) -> str:
    """One row of the table for a reader."""

    def shown(value: float | None, signed: bool = False) -> str:
        return text("effects.none") if value is None else units.show(value, "length", system, signed=signed)

    if effect.positions is None:
        free = shown(effect.free) if effect.free > 0.0 else text("effects.nothing")
        return text("effects.too_thin", change=shown(effect.change, True), free=free)
    places, at = effect.places, effect.positions
    said = [text(f"effects.state.{effect.state}")] + [
        text(f"effects.remark.{key}") for key in (*remarks(effect), *outside(effect, reducer))
    ]
    return text(
        "effects.row",
        change=shown(effect.change, True) if effect.gasket else text("effects.present"),
        clamped=shown(effect.clamped_change, True) if effect.gasket else text("effects.none"),
        pinion=shown(at.pinion_running),
        gear=shown(at.gear_distance),
        backlash=shown(effect.backlash),
        first=shown(effect.first_order),
        handbook=shown(effect.handbook),
        drive=pattern_words.short(*places[0]) if places else text("effects.none"),
        coast=pattern_words.short(*places[1]) if places else text("effects.none"),
        high=shown(at.high_speed_end_play),
        low=shown(at.low_speed_end_play),
        state="; ".join(said),
    )


def lines(found: Effects, reducer: Reducer, machine: str, system: System) -> Iterator[str]:
    """The table for a reader."""
    head = text("effects.row", **{name: text(f"effects.column.{name}") for name in HEADS})
    yield text("effects.title", machine=machine)
    yield ""
    yield head
    yield line(found.present, system, reducer)
    for name, rows in found.rows.items():
        item = _gasket(reducer, name)
        figures = {
            key: units.show(getattr(item, field), "length", system)
            for key, field in (("free", "thickness"), ("clamped", "clamped"))
        }
        yield ""
        yield text(
            "effects.gasket", name=text(f"part.{name}"), share=units.show(1.0 - item.compression, "fraction", system), **figures
        )
        yield from (line(effect, system, reducer) for effect in rows)
    yield ""
    yield from texts("effects.notes")


HEADS = ("change", "clamped", "pinion", "gear", "backlash", "first", "handbook", "drive", "coast", "high", "low", "state")


def csv_rows(found: Effects, reducer: Reducer, system: System) -> Iterator[tuple[Any, ...]]:
    """Rows of effects.csv under COLUMNS; the first is the present state."""
    for effect in (found.present, *(effect for rows in found.rows.values() for effect in rows)):
        row = _row(effect, system, reducer)
        drive, coast = (row[name] or {"along": None, "depth": None} for name in ("drive", "coast"))
        plain = [
            row[name]
            for name in (
                "change",
                "clamped_change",
                "free",
                "pinion_running",
                "gear_distance",
                "pinion_shift",
                "gear_shift",
                "backlash",
                "first_order",
                "handbook",
            )
        ]
        places = [drive["along"], drive["depth"], coast["along"], coast["depth"]]
        plays = [row["high_speed_end_play"], row["low_speed_end_play"]]
        figures = ["" if value is None else round(value, 4) for value in (*plain, *places, *plays)]
        yield (effect.gasket or "present", *figures, effect.state, row["text"])
