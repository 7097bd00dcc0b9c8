"""Plots of a step, where a curve says more than a figure: a hot bore over its shaft, cooling on the way, gaskets against backlash and play.

mm, degC, s. The curves come from calc: `heat.growth` and `cooling.cooling_time`; the chains and the tooth model behind `effects.after`.
Contents: `of_bench`, and each plot by itself: `bore_over_temperature`, `cooling_curve`, `backlash_over_gaskets`, `play_over_gaskets`.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from calc import cooling, heat, materials
from geometry.joints import Fit
from geometry.machine import GASKET_RANGE, Gasket
from geometry.reducer import Reducer
from scenes import effects
from scenes.callouts import heating
from scenes.callouts.bench import Bench, clearance_band
from scenes.callouts.gaskets import AIMS
from scenes.plot import Band, Dot, Line, Mark, Place, Plot, axis
from scenes.positions import positions
from scenes.settings import POSITION_GASKETS
from scenes.wording import text

HEADROOM = 12.0
"""How far the temperature axis runs on past the limit or the setting [K]."""
SAMPLES = 25
"""Points of a cooling curve."""
GASKET_SAMPLES = 9
"""Points of a gasket's curve between the thinnest and the thickest that it can be set to."""
PAST_GRIP = 0.4
"""How far a cooling curve runs on after the part no longer slides, as a share of its fall to there."""
FARTHEST = 2.0
"""The gasket axis ends at this many times the thickness of the machine file, as its slider does."""
BACKLASH_GASKETS = ("pinion_gasket", "gear_gasket", "high_speed_float_gasket")
"""Gaskets that move pinion or gear, and with them the backlash."""
PLAY = {"high_speed_float_gasket": "high_speed_end_play", "low_speed_float_gasket": "low_speed_end_play"}
"""The end play that each float gasket sets."""


def of_bench(bench: Bench, nominal: Reducer | None = None) -> tuple[Plot, ...]:
    """The plots that belong to a step at its settings. `nominal`: the reducer as in the machine file, whose gaskets give the axes."""
    joint = heating.joint_of(bench)
    if joint is not None:
        curve = cooling_curve(bench, joint)
        return (bore_over_temperature(bench, joint), *((curve,) if curve else ()))
    nominal = nominal or bench.reducer
    fitted = [name for name in POSITION_GASKETS if name in bench.new]
    reads = set(bench.step.reads)
    backlash = [name for name in BACKLASH_GASKETS if name in fitted]
    play = [name for name in PLAY if name in fitted or PLAY[name] in reads]
    if {"backlash", "trial_backlash"} & reads:
        backlash = list(BACKLASH_GASKETS)
    found = []
    if backlash:
        found.append(backlash_over_gaskets(bench, nominal, backlash))
    if play:
        found.append(play_over_gaskets(bench, nominal, play))
    return tuple(found)


def bore_over_temperature(bench: Bench, joint: Fit) -> Plot:
    """Bore of the heated part over its own temperature, above the shaft at workshop temperature; both with their limits."""
    now, plan = heating.setting_now(bench, joint), heating.plan(bench, joint)
    hottest = max(plan.limit, now) + HEADROOM
    least = min(bench.ambient, now)
    temperatures = np.array([least, hottest])
    steel = materials.material("steel").expansion
    grown = heat.growth(joint.diameter, heating.expansion(joint), temperatures - heat.REFERENCE)
    shaft = heat.growth(joint.diameter, steel, bench.ambient - heat.REFERENCE)

    def curve(diameter: float, bore: bool) -> tuple[Place, ...]:
        rise = grown if bore else np.full(2, shaft)
        return tuple((float(t), float(diameter + more)) for t, more in zip(temperatures, rise, strict=True))

    bores = [joint.diameter + joint.bore.lower, joint.bore_mean, joint.diameter + joint.bore.upper]
    shafts = [joint.diameter + joint.shaft.lower, joint.shaft_mean, joint.diameter + joint.shaft.upper]
    low, middle, high = (curve(d, True) for d in bores)
    under, mean, over = (curve(d, False) for d in shafts)
    names = [text("curve.bore", part=text(f"part.{joint.bore_part}")), text(f"part.{joint.shaft_part}")]
    clear = heating.clearance_now(bench, joint, now)
    at = joint.bore_mean + float(heat.growth(joint.diameter, heating.expansion(joint), now - heat.REFERENCE))
    ends = [place[1] for places in (low, high, under, over) for place in places]
    return Plot(
        "bore",
        text("curve.bore_title"),
        axis(text("curve.temperature"), [least, hottest], "temperature", bench.settings.units),
        axis(text("curve.diameter"), _room(ends), "length", bench.settings.units, most=4),
        (Line(names[0], "bore", (middle,)), Line(names[1], "shaft", (mean,))),
        (Band("shaft", under, over), Band("bore", low, high)),
        (
            Mark("x", plan.limit, text("curve.limit", value=bench.degrees(plan.limit)), "limit"),
            Mark("x", now, text("curve.now", value=bench.degrees(now)), "now"),
        ),
        (Dot("bore", (now, at), ""),),
        (text("curve.bore_said", temperature=bench.degrees(now), band=clearance_band(bench, clear[0], clear[2])),),
    )


def slides_down_to(bench: Bench, joint: Fit) -> float:
    """Temperature of the bore below which the tightest pair no longer slides by hand [degC]: the clearance is linear in it."""
    cold, warm = (heating.clearance_now(bench, joint, t)[0] for t in (0.0, 100.0))
    return 100.0 * (bench.reducer.machine.shop.sliding_clearance - cold) / (warm - cold)


def cooling_curve(bench: Bench, joint: Fit) -> Plot | None:
    """The heated part in still air from the present setting on, with the time left until it no longer slides; None when it is cold."""
    now, ambient = heating.setting_now(bench, joint), bench.ambient
    if now <= ambient + 1.0:
        return None
    grips, left = slides_down_to(bench, joint), heating.time_to_slide(bench, joint, now)
    excess = now - ambient
    coldest = ambient + 0.45 * excess
    if ambient < grips < now:
        coldest = max(ambient + 0.06 * excess, grips - PAST_GRIP * (now - grips))
    body = heating.hot_body(bench.reducer, joint)
    fall = [float(t) for t in np.linspace(now, coldest, SAMPLES)]
    times = [cooling.cooling_time(body, now, temperature, ambient) for temperature in fall]
    part = text(f"part.{joint.bore_part}")
    marks = [Mark("y", grips, text("curve.grips", value=bench.degrees(grips)), "wanted")] if coldest < grips < now else []
    if 0.0 < left.low < times[-1].low:
        marks.append(Mark("x", left.low, text("curve.left", time=bench.within(left.low)), "now"))
    said = (
        text("curve.cooling_never", part=part, temperature=bench.degrees(now))
        if left.low <= 0.0
        else text("curve.cooling_said", part=part, temperature=bench.degrees(grips), low=bench.within(left.low), time=bench.about(left.value))
        if left.value != float("inf")
        else text("curve.cooling_always", part=part)
    )  # fmt: skip
    return Plot(
        "cooling",
        text("curve.cooling_title", part=part),
        axis(text("curve.time"), [0.0, times[-1].value], "time", bench.settings.units),
        axis(text("curve.temperature"), [coldest, now + 0.05 * excess], "temperature", bench.settings.units, most=4),
        (Line(part, "bore", (tuple((each.value, t) for each, t in zip(times, fall, strict=True)),)),),
        (
            Band(
                "bore",
                tuple((each.low, t) for each, t in zip(times, fall, strict=True)),
                tuple((each.high, t) for each, t in zip(times, fall, strict=True)),
            ),
        ),
        tuple(marks),
        (),
        (said,),
        text("curve.cooling_indicative"),
    )


def backlash_over_gaskets(bench: Bench, nominal: Reducer, gaskets: Sequence[str]) -> Plot:
    """Backlash at the heel by the tooth model over the free thickness of each gasket, the others as they are."""
    reducer, limits = bench.reducer, bench.reducer.machine.gears.backlash
    lines, dots = [], []
    for name in gaskets:
        item: Gasket = getattr(reducer.machine.gaskets, name)
        along = _thicknesses(nominal, name)
        if name in PLAY:  # the pinion moves out only once there is end play
            bend = item.thickness - getattr(positions(reducer), PLAY[name]) / (1.0 - item.compression)
            along = sorted([*along, bend]) if along[0] < bend < along[-1] else along
        places = [(t, effects.after(reducer, name, t - item.thickness).backlash) for t in along]
        lines.append(Line(text(f"part.{name}"), name, _pieces(places)))
        present = effects.after(reducer, "", 0.0).backlash
        if present is not None:
            dots.append(Dot(name, (item.thickness, present), bench.shown(present, "length") if len(gaskets) == 1 else ""))
    return _gasket_plot(bench, nominal, "backlash", lines, dots, (limits[0], limits[1]), gaskets, text("curve.backlash_indicative"))


def play_over_gaskets(bench: Bench, nominal: Reducer, gaskets: Sequence[str]) -> Plot:
    """End play by the chain over the free thickness of each float gasket; below zero the cover clamps the rings."""
    reducer = bench.reducer
    lines, dots, limits = [], [], [reducer.chain(PLAY[name]) for name in gaskets]
    for name in gaskets:
        item: Gasket = getattr(reducer.machine.gaskets, name)
        places: list[tuple[float, float | None]] = []
        for thickness in _thicknesses(nominal, name):
            change = (thickness - item.thickness) * (1.0 - item.compression)
            places.append((thickness, getattr(positions(reducer, {name: change}), AIMS[name])))
        present = getattr(positions(reducer), AIMS[name])
        lines.append(Line(text(f"part.{name}"), name, _pieces(places)))
        dots.append(Dot(name, (item.thickness, present), bench.shown(present, "length") if len(gaskets) == 1 else ""))
    same = {(item.low_limit, item.high_limit) for item in limits}
    pair = next(iter(same)) if len(same) == 1 else (None, None)
    return _gasket_plot(bench, nominal, "play", lines, dots, pair, gaskets, "")


def _gasket_plot(
    bench: Bench,
    nominal: Reducer,
    key: str,
    lines: Sequence[Line],
    dots: Sequence[Dot],
    limits: tuple[float | None, float | None],
    gaskets: Sequence[str],
    indicative: str,
) -> Plot:
    kept = [limit for limit in limits if limit is not None]
    heights = [y for line in lines for piece in line.pieces for _, y in piece] + kept + [dot.at[1] for dot in dots]
    reach = [t for name in gaskets for t in (_thicknesses(nominal, name)[0], _thicknesses(nominal, name)[-1])]
    marks = [Mark("y", limit, text("curve.limit", value=bench.shown(limit, "length")), "limit") for limit in kept]
    if len(gaskets) == 1:
        now = getattr(bench.reducer.machine.gaskets, gaskets[0]).thickness
        marks.append(Mark("x", now, text("curve.now", value=bench.shown(now, "length")), "now"))
    said = [
        text(f"curve.{key}_said", gasket=line.name, value=bench.shown(dot.at[1], "length"))
        for line, dot in zip(lines, dots, strict=False)
    ]
    return Plot(
        key,
        text(f"curve.{key}_title"),
        axis(text("curve.thickness"), reach, "length", bench.settings.units),
        axis(text(f"curve.{key}"), _room(heights), "length", bench.settings.units, most=4),
        tuple(lines),
        (),
        tuple(marks),
        tuple(dots),
        tuple(said) if len(gaskets) == 1 else (text(f"curve.{key}_several"),),
        indicative,
    )


def _thicknesses(nominal: Reducer, name: str) -> list[float]:
    """Free thicknesses along a gasket's axis [mm]: the same whatever it is set to, so that the tooth model remembers."""
    low, high = GASKET_RANGE
    thickness = getattr(nominal.machine.gaskets, name).thickness
    return [float(t) for t in np.linspace(low, min(high, FARTHEST * thickness), GASKET_SAMPLES)]


def _pieces(places: Sequence[tuple[float, float | None]]) -> tuple[tuple[Place, ...], ...]:
    """The places that have a value, in pieces where some between have none."""
    pieces: list[list[Place]] = [[]]
    for x, y in places:
        if y is not None:
            pieces[-1].append((x, y))
        elif pieces[-1]:
            pieces.append([])
    return tuple(tuple(piece) for piece in pieces if len(piece) > 1)


def _room(values: Sequence[float], share: float = 0.06) -> tuple[float, float]:
    """Ends with a little room around the values."""
    low, high = min(values), max(values)
    return low - share * (high - low), high + share * (high - low)
