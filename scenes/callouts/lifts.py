"""Notes of a lift: mass and centre of gravity of what hangs on the sling, tension of the legs, tilt when it is picked off centre."""

from __future__ import annotations

from math import degrees, tan

import numpy as np

from calc import lifting, units
from geometry import mass
from scenes import explode, slinging
from scenes.callouts.bench import Bench, at_most, note
from scenes.frame import Callout, Verdict
from scenes.wording import text

HOT_BY_HAND = 3.0
"""Mass from which a heated part hangs on chain or wire rope [kg]: common practice, no source."""
TWO_HANDS = 15.0
"""Mass from which a part is lifted with tackle [kg]: common practice, no source."""
LIFTS = ("lower", "turn_over", "hot", "base", "remove")
"""Methods whose load is always told."""
OFF_CENTRE = 20.0
"""Pick point beside the centre of gravity for which the tilt is told [mm]: own example."""


def notes(bench: Bench) -> list[Callout]:
    """Mass of what moves in this step, told when it needs tackle or is a lift or a heated part; its sling where it hangs on one."""
    moved = bench.standing if bench.step.method == "turn_over" else bench.arriving
    names = sorted(name for name in moved if not bench.reducer.by_name[name].tool)
    if not names:
        return []
    parts = [bench.reducer.by_name[name] for name in names]
    total = mass.combined([(bench.reducer.weight(part.name), part.pose) for part in parts])
    slung = total.mass >= TWO_HANDS and bench.step.method in ("lower", "turn_over", "base", "hot")
    if total.mass < TWO_HANDS and bench.step.method not in LIFTS:
        return []
    heaviest = max(parts, key=lambda part: bench.reducer.weight(part.name).mass)
    at = (float(total.centre[0]), float(total.centre[1]), float(total.centre[2]))
    shown = bench.shown(total.mass, "mass")
    heated = bench.step.method == "hot" and total.mass >= HOT_BY_HAND
    if not slung or heated:
        return [
            note(
                "lift.mass", heaviest.name, at, "mass_hot" if heated else "mass", total.mass, "kg", text("callout.mass_label", mass=shown),
                how="mass", given={"count": str(len(names))}, source=text("source.solids"), mass=shown,
            )
        ]  # fmt: skip
    boxes = np.array([explode.box_of(part) for part in parts])
    box = np.array([boxes[:, 0].min(axis=0), boxes[:, 1].max(axis=0)])
    along = int(np.argmax(box[1] - box[0]))
    length = float(box[1][along] - box[0][along])
    ends = float(total.centre[along] - box[0][along]), float(box[1][along] - total.centre[along])

    def whole(value: float) -> str:
        return bench.shown(value, "length", digits=1 if bench.settings.units == "inch" else 0)

    return [
        note(
            "lift.mass", heaviest.name, at, "mass_slung", total.mass, "kg", text("callout.mass_label", mass=shown),
            how="mass", given={"count": str(len(names))}, source=text("source.solids"), mass=shown, centre=whole(min(ends)), length=whole(length),
            end=text(f"lift_end.{'xyz'[along]}.{'low' if ends[0] <= ends[1] else 'high'}"),
        ),
        *_sling(bench, total.mass, heaviest.name, at, length),
    ]  # fmt: skip


def _sling(bench: Bench, weight: float, part: str, at: tuple[float, float, float], length: float) -> list[Callout]:
    """Tension of a leg, the verdict on angle and rating, and the tilt off centre where more than one leg spans the load."""
    shop = bench.reducer.machine.shop
    hung = slinging.sling(shop, bench.step.tools, weight)
    angle: Verdict = {"stop": "stop", "watch": "watch", "good": "fine"}[lifting.angle_verdict(hung.angle)]  # type: ignore[assignment]
    state, limit = angle, ""
    if shop.sling_rating is not None:
        limit = at_most(bench.shown(shop.sling_rating, "mass", digits=0))
        state = "stop" if hung.rating > shop.sling_rating else angle
    shown, turned = bench.shown(hung.rating, "mass"), f"{degrees(hung.angle):.0f}°"
    said = {"tension": shown, "angle": turned, "legs": str(hung.legs)}
    if hung.legs > 1:
        height = length / 2.0 * tan(hung.angle)
        places = 1 if bench.settings.units == "inch" else 0
        said |= {
            "offset": bench.shown(OFF_CENTRE, "length", digits=places),
            "tilt": bench.shown(lifting.hang_tilt(OFF_CENTRE, height), "angle", digits=0),
            "height": bench.shown(height, "length", digits=places),
        }
    return [
        note(
            "lift.legs", part, at, "legs_four" if hung.legs == 4 else "legs" if hung.legs > 1 else "legs_one", hung.tension, "N",
            text("callout.legs_label" if hung.legs > 1 else "callout.legs_one_label", tension=shown), how="leg_tension",
            given={"mass": bench.shown(weight, "mass"), "carrying": str(hung.carrying), "angle": turned, "allowance": units.figure(lifting.FIRST_LIFT, "g")},
            limit=limit, verdict=state, source=text("source.sling"), **said,
        )
    ]  # fmt: skip
