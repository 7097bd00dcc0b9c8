"""The heat of a step on stage: which parts are hot, the scale beside them, bore and shaft drawn apart.

mm, degC. Contents: `fit_view`, `scale_of`, `heat_unit`, `still_hot`, and its answer `Warm`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from geometry.joints import Fit
from scenes.callouts import heating
from scenes.callouts.bench import Bench, clearance_band
from scenes.frame import FitView, HeatMark, HeatScale
from scenes.procedure import Step
from scenes.settings import Settings
from scenes.stage import Stage
from scenes.wording import text

GAP_FACTORS = (2000.0, 1000.0, 500.0, 200.0, 100.0, 50.0, 20.0)
"""Exaggerations offered for the gap between bore and shaft, largest first."""
GAP_SHARE = 0.22
"""Share of the shaft's radius that the drawn gap may take."""
GLOVES = "heat_gloves"
"""The tool of steps that handle a hot part."""
HEAT_HEADROOM = 1.15
"""The heat scale ends this far above the limit, so that a part at its limit keeps its colour."""


@dataclass(frozen=True, eq=False)
class Warm:
    """The fit made hot in the step just before, while its part is still handled in gloves; its temperature as it went on [degC]."""

    bench: Bench
    hot: Fit
    temperature: float


def still_hot(stage: Stage, step: Step, settings: Settings) -> Warm | None:
    """What is still hot in a step that is no hot fit itself."""
    if step.method == "hot" or GLOVES not in step.tools:
        return None
    place = stage.procedure.order.index(step.id)
    earlier = [stage.procedure.steps[name] for name in stage.procedure.order[:place]]
    last = next((item for item in reversed(earlier) if item.bench == step.bench), None)
    bench = stage.bench(last, settings) if last is not None else None
    hot = heating.joint_of(bench) if bench is not None else None
    return Warm(bench, hot, heating.setting_now(bench, hot)) if bench is not None and hot is not None else None


def heat_unit(stage: Stage, hot: Fit | None) -> set[str]:
    """The parts that are heated for a fit."""
    if hot is None:
        return set()
    unit = stage.reducer.by_name[hot.bore_part].unit
    return {hot.bore_part, *(stage.reducer.members(unit) if unit else ())}


def scale_of(bench: Bench, hot: Fit | None, temperature: float | None, warm: Warm | None) -> HeatScale | None:
    """The scale of a hot fit, or of a part that was heated in the step before."""
    if hot is not None:
        return _heat_scale(bench, hot, temperature)
    return _warm_scale(warm) if warm is not None else None


def _warm_scale(warm: Warm) -> HeatScale:
    """The scale of a part that was heated in the step before."""
    scale = _heat_scale(warm.bench, warm.hot, warm.temperature)
    marks = tuple(
        replace(mark, text=text("heat_scale.fitted", temperature=warm.bench.shown(mark.temperature, "temperature", digits=0)))
        if mark.kind == "now"
        else mark
        for mark in scale.marks
    )
    return replace(scale, caption=text("heat_scale.still", part=text(f"part.{warm.hot.bore_part}")), marks=marks)


def _heat_scale(bench: Bench, hot: Fit, temperature: float | None) -> HeatScale:
    """From the workshop's temperature to the part's limit, or to its setting if that is above."""
    plan = heating.plan(bench, hot)
    low, high = bench.ambient, HEAT_HEADROOM * max(plan.limit, temperature or 0.0)

    def degrees(value: float) -> str:
        return bench.shown(value, "temperature", digits=0)

    marks = [
        HeatMark(low, degrees(low), "start"),
        HeatMark(plan.limit, text("heat_scale.limit", limit=degrees(plan.limit)), "limit"),
    ]
    if temperature is not None:
        marks.append(HeatMark(temperature, text("heat_scale.now", temperature=degrees(temperature)), "now"))
    return HeatScale(
        low,
        high,
        text(
            "heat_scale.caption",
            part=text(f"part.{hot.bore_part}"),
            recommended=degrees(plan.recommended),
            limit=degrees(plan.limit),
            least=bench.shown(bench.reducer.machine.shop.sliding_clearance, "length"),
            time=bench.within(heating.time_to_slide(bench, hot, plan.recommended).low),
        ),
        tuple(marks),
    )


def fit_view(bench: Bench, hot: Fit | None, temperature: float | None) -> FitView | None:
    """Bore and shaft at the present setting, drawn apart by the largest factor that still leaves a ring to look at."""
    if hot is None or temperature is None:
        return None
    low, middle, high = heating.clearance_now(bench, hot, temperature)
    widest = max(abs(low), abs(high), 1e-6)
    factor = next((item for item in GAP_FACTORS if widest * item <= GAP_SHARE * hot.diameter / 2.0), GAP_FACTORS[-1])
    caption = text(
        "fit_view.caption",
        factor=f"{factor:.0f}",
        temperature=bench.shown(temperature, "temperature", digits=0),
        band=clearance_band(bench, low, high),
    )
    return FitView(
        hot.bore_part,
        text(f"part.{hot.bore_part}"),
        text(f"part.{hot.shaft_part}"),
        hot.diameter,
        middle,
        low,
        high,
        temperature,
        factor,
        caption,
    )
