"""What the live page tells of a frame beside its picture, as the page takes it: the step's card, the verdict on the order, the rows of numbers,
the figures.

Contents: `card`, `order`, `rows`, `figures`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from scenes.frame import Callout, Frame, Verdict
from viewer import mesh_figure, overlay, pair_figure, palette

Marks = Mapping[Verdict, tuple[str, str]]
"""Mark and word of each verdict."""


def card(frame: Frame, word: Mapping[str, str]) -> dict[str, Any] | None:
    """The step in words; None for the whole machine."""
    step = frame.step
    if step is None:
        return None
    return {
        "place": word["page.step_count"].format(number=step.number, count=step.count) + "  ·  " + step.phase_title,
        "title": step.title,
        "act": step.act,
        "reason": step.reason,
        "method": step.method,
        "cautions": list(step.cautions),
        "tools": list(step.tools),
        "hold": step.hold,
    }


def order(frame: Frame, marks: Marks, word: Mapping[str, str], fault: str, meeting: int | None) -> dict[str, Any]:
    """The verdict on the order in a line, and what stands against it at this step; `meet`: place of a way that can be shown. `fault`: why the
    order could not be looked at; `meeting`: place of the way that is shown now."""
    found, way = frame.order, frame.blocked
    if found is None:
        told = word["order_verdict.failed"].format(fault=fault) if fault else word["order_verdict.asked"]
        return {
            "mark": marks["" if not fault else "watch"][0],
            "class": "none",
            "text": told,
            "faults": [],
            "watched": [],
            "names": [],
            "said": [],
        }
    faults = [
        {"text": against, "meet": place if place < found.ways else -1, "now": place == meeting}
        for place, against in enumerate(found.faults)
    ]
    parts = () if way is None else zip(("moving", "fixed"), way.names, strict=True)
    return {
        "mark": marks[found.verdict][0],
        "class": found.verdict,
        "text": found.text,
        "faults": faults,
        "watched": list(found.watched),
        "names": [{"class": kind, "text": word[f"picture.{kind}"].format(part=name)} for kind, name in parts],
        "said": [] if way is None else list(way.said),
    }


def rows(callouts: Sequence[Callout], marks: Marks) -> list[dict[str, Any]]:
    """The numbers of the step, a row each."""
    return [
        {
            "id": f"{index} {callout.key}",
            "key": callout.key,
            "text": callout.text,
            "short": callout.short,
            "limit": callout.limit,
            "mark": marks[callout.verdict][0],
            "word": marks[callout.verdict][1],
            "class": callout.verdict or "none",
            "source": callout.source,
        }
        for index, callout in enumerate(callouts)
    ]


def figures(frame: Frame) -> dict[str, Any]:
    """Drawings beside the picture with their captions; empty where the step has none."""
    view, scale, pair, mesh = frame.fit_view, frame.heat_scale, frame.pair_view, frame.mesh_view
    hub = next((palette.role(p.role) for p in frame.shown if view and p.name == view.part), palette.role("gear"))
    return {
        "fit": overlay.fit(view, hub) if view else "",
        "fit_caption": view.caption if view else "",
        "pair": pair_figure.svg(pair) if pair else "",
        "pair_caption": pair.caption if pair else "",
        "mesh": mesh_figure.svg(mesh) if mesh else "",
        "mesh_caption": mesh.caption if mesh else "",
        "mesh_state": mesh.verdict if mesh else "",
        "mesh_words": list(mesh_figure.words(mesh)) if mesh else [],
        "heat": overlay.heat(scale) if scale else "",
        "heat_caption": scale.caption if scale else "",
    }
