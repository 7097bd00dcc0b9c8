"""Half a section through a duplex pair at the steps that fit it: which way each bearing faces, and where its contact lines go.

mm, rad; x along the shaft from bearing 1's outer side, r from the shaft's axis.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import degrees
from typing import Literal

from calc import units
from calc.duplex import ContactLine, contact_lines
from geometry import rolling
from geometry.high_speed import spacer_diameters, turned_round
from geometry.machine import Pair
from geometry.reducer import Reducer
from scenes.frame import PairView, State
from scenes.procedure import Step
from scenes.wording import text

Side = Literal["high_speed", "low_speed"]
Rect = tuple[float, float, float, float]
ENDS = {"high_speed": ("inboard", "outboard"), "low_speed": ("down", "up")}
"""How the two ends of each shaft are called, bearing 1's first."""


@dataclass(frozen=True)
class Outline:
    """One bearing in half section: its rings as (x0, x1, r0, r1), its ball as (x, r, radius) [mm]; `wide_end`: 0 the wide outer
    shoulder faces smaller x, 1 larger x."""

    rings: tuple[Rect, ...]
    ball: tuple[float, float, float]
    wide_end: int


def outline(pair: Pair, start: float, turned: bool) -> Outline:
    """A bearing of the pair from x = `start` [mm]; `turned`: the wide shoulder of its outer ring is at the far end."""
    assert pair.outside is not None and pair.width is not None
    width, bore, rim = pair.width.nominal, pair.bore / 2.0, pair.outside / 2.0
    ball, circle, _ = rolling.ball_size(pair.bore, pair.outside, width)
    pitch, high, low = circle / 2.0, rolling.HIGH_SHOULDER * ball, rolling.LOW_SHOULDER * ball
    near, far = (start, start + width / 2.0), (start + width / 2.0, start + width)
    wide, narrow = (far, near) if turned else (near, far)
    rings = (
        (start, start + width, pitch + low, rim),
        (*wide, pitch + high, pitch + low),
        (start, start + width, bore, pitch - low),
        (*narrow, pitch - low, pitch - high),
    )
    return Outline(rings, (start + width / 2.0, pitch, ball / 2.0), int(turned))


def side_of(step: Step) -> Side | None:
    """Whose pair a step works at, None where it brings neither a bearing nor a spacer of one."""
    sides: tuple[Side, ...] = ("high_speed", "low_speed")
    for side in sides:
        names = {f"{side}_bearing_1", f"{side}_bearing_2", f"{side}_inner_spacer", f"{side}_outer_spacer"}
        if names & set(step.arrives):
            return side
    return None


def of_step(reducer: Reducer, step: Step, before: tuple[str, ...]) -> PairView | None:
    """The pair's half section at a step that fits one of its bearings or its spacers; `before`: what stands there already."""
    side = side_of(step)
    if side is None:
        return None
    pair = reducer.machine.high_speed_pair if side == "high_speed" else reducer.machine.low_speed_pair

    def state(*names: str) -> State:
        if any(name in step.arrives for name in names):
            return "arriving"
        there = all(set(reducer.members(name)) <= set(before) for name in names)
        return "in place" if there else "waiting"

    units = ((f"{side}_bearing_1",), (f"{side}_bearing_2",), (f"{side}_inner_spacer", f"{side}_outer_spacer"))
    return view(pair, ENDS[side], (state(*units[0]), state(*units[1]), state(*units[2])), upright=side == "low_speed")


def view(pair: Pair, ends: tuple[str, str], states: tuple[State, State, State], *, upright: bool = False) -> PairView:
    """The half section of a pair; `ends`: text keys of bearing 1's end and bearing 2's; `states`: of bearing 1, 2 and the spacers."""
    assert pair.outside is not None and pair.width is not None
    width, gap = pair.width.nominal, pair.inner_spacer.nominal
    first = outline(pair, 0.0, turned_round(pair.arrangement, 1))
    second = outline(pair, width + gap, turned_round(pair.arrangement, 2))
    inner_outside, outer_bore = spacer_diameters(pair.bore, pair.outside)
    spacers: tuple[Rect, ...] = ()
    if gap > 0.0:
        spacers = (
            (width, width + gap, pair.bore / 2.0, inner_outside / 2.0),
            (width, width + gap, outer_bore / 2.0, pair.outside / 2.0),
        )
    return PairView(
        _caption(pair, ends, (first, second), states),
        first.rings + second.rings,
        spacers,
        (first.ball, second.ball),
        _lines(pair),
        ("1", "2", text(f"pair_view.{ends[0]}"), text(f"pair_view.{ends[1]}")),
        states,
        upright,
    )


def _lines(pair: Pair) -> tuple[tuple[tuple[float, float], tuple[float, float]], ...]:
    """Contact lines from the outside to the axis."""
    assert pair.outside is not None and pair.width is not None
    width, gap = pair.width.nominal, pair.inner_spacer.nominal
    found = contact_lines(
        pair.arrangement, bore=pair.bore, outside=pair.outside, width=width, contact_angle=pair.contact_angle, spacer=gap
    )

    def ends(line: ContactLine) -> tuple[tuple[float, float], tuple[float, float]]:
        return line.outer_end, line.load_centre

    return ends(found.first), ends(found.second)


def _caption(pair: Pair, ends: tuple[str, str], bearings: tuple[Outline, Outline], states: tuple[State, State, State]) -> str:
    """The arrangement as marked, which way each bearing faces, where the contact lines go."""
    said = [
        text(
            "pair_view.as_marked",
            arrangement=text(f"arrangement.{pair.arrangement}"),
            angle=f"{units.figure(degrees(pair.contact_angle), '.3g')}°",
        )
    ]
    for number, (bearing, state) in enumerate(zip(bearings, states[:2], strict=True), start=1):
        key = "pair_view.turn" if state == "arriving" else "pair_view.faces"
        said.append(text(key, number=number, side=text(f"pair_view.{ends[bearing.wide_end]}")))
    said.append(text(f"pair_view.lines_{pair.arrangement}"))
    return " ".join(said)
