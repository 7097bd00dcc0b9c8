"""Notes of a fit: its band and verdict, what was measured, what the press needs, what the joint holds, what chilling gives."""

from __future__ import annotations

from calc import cold, heat, interference, materials, press, units
from calc.fits import FitError, standard_tolerance
from geometry.joints import Fit
from geometry.rolling import ball_size
from scenes.callouts.bench import SLACK, Bench, at_most, clearance_band, fit_sources, from_to, note, part_name, verdict_of
from scenes.callouts.heating import plan
from scenes.frame import Callout, Verdict
from scenes.wording import text

FORM_GRADE = 6
"""A seat's taper or out-of-round is compared with half of this grade of ISO 286: common practice, no source."""
TIGHT_GRADE, LOOSE_GRADE = 6, 8
"""An outer ring in its housing: at most this grade tight, at most this grade loose: common practice, no source."""
RING_YIELD = 1200.0
"""Yield strength of a hardened bearing ring, taken low [MPa]: from memory."""


def notes(bench: Bench, joint: Fit) -> list[Callout]:
    """All notes of a fit that this step makes cold."""
    if not bench.made((joint.bore_part, joint.shaft_part)):
        return []
    part = joint.bore_part if joint.bore_part in bench.arriving else joint.shaft_part
    found = [fit_note(bench, joint, part), *measured(bench, joint)]
    if joint.hub == "bearing ring" and joint.bore_part.endswith("_inner_ring"):
        found += _press(bench, joint, part)
        found += _other_diameter(bench, joint)
        found += _largest(bench, joint, part)
    if joint.hub == "housing" and bench.step.method == "press":
        found += _chilled(bench, joint, part)
    return found


def fit_note(bench: Bench, joint: Fit, part: str) -> Callout:
    """The fit itself with its verdict by what carries the bore."""
    low, middle, high = joint.clearance
    band = clearance_band(bench, low, high)
    limit, state, why = _judged(bench, joint)
    beyond = _beyond(bench, joint)
    state = "watch" if beyond and state != "stop" else state
    size = joint.diameter
    open_sides = [name for name, read in ((joint.bore_part, joint.bore_read), (joint.shaft_part, joint.shaft_read)) if read is None]
    first = (
        " " + text("callout.measure_first", names=", ".join(part_name(name) for name in open_sides))
        if state == "watch" and open_sides
        else ""
    ) + beyond
    return note(
        f"fit.{joint.name}", part, joint.at, "fit_housing" if joint.hub in ("housing", "cartridge") else "fit", middle, "mm", band,
        how="clearance",
        given={"bore": from_to(bench, size + joint.bore.lower, size + joint.bore.upper), "shaft": from_to(bench, size + joint.shaft.lower, size + joint.shaft.upper)},
        limit=limit, verdict=state, source=f"{fit_sources(joint)}{why}",
        bore=part_name(joint.bore_part), shaft=part_name(joint.shaft_part), band=band, diameter=bench.size(size), first=first,
    )  # fmt: skip


def _judged(bench: Bench, joint: Fit) -> tuple[str, Verdict, str]:
    """Limit, verdict and where the limit comes from: a gear and a turning ring must be tight, a cartridge must slide, a ring in its
    housing may be a little of either."""
    low, middle, high = joint.clearance
    practice = "; " + text("source.fit_practice")
    if joint.hub in ("gear", "bearing ring"):
        return text("callout.limit_tight"), "stop" if middle > SLACK else "watch" if high > SLACK else "fine", practice
    if joint.hub == "cartridge":
        return text("callout.limit_slides"), "stop" if middle < -SLACK else "watch" if low < -SLACK else "fine", practice
    if joint.hub == "housing":
        try:
            tight, loose = (standard_tolerance(joint.diameter, grade) for grade in (TIGHT_GRADE, LOOSE_GRADE))
        except FitError:
            return "", "", ""
        return clearance_band(bench, -tight, loose), verdict_of(middle, low, high, -tight, loose), practice
    return "", "", ""


def _beyond(bench: Bench, joint: Fit) -> str:
    """That a fit as measured is looser or tighter than the drawing allows, with both figures; nothing where it is neither."""
    if joint.drawn is None:
        return ""
    low, _, high = joint.clearance
    told = []
    if high > joint.drawn[1] + SLACK:
        told.append(("callout.fit_looser", high, joint.drawn[1]))
    if low < joint.drawn[0] - SLACK:
        told.append(("callout.fit_tighter", low, joint.drawn[0]))
    return "".join(
        " " + text(key, read=clearance_band(bench, read, read), drawn=clearance_band(bench, drawn, drawn))
        for key, read, drawn in told
    )


def measured(bench: Bench, joint: Fit) -> list[Callout]:
    """What micrometer readings say of a diameter: mean, spread, and whether it is tapered or out of round."""
    found = []
    for name, readings in ((joint.bore_part, joint.bore_read), (joint.shaft_part, joint.shaft_read)):
        if readings is None:
            continue
        limit = standard_tolerance(joint.diameter, FORM_GRADE) / 2.0
        known = readings.taper is not None and readings.out_of_round is not None
        worst = max(readings.taper or 0.0, readings.out_of_round or 0.0, 0.0 if known else readings.spread)
        shown = {
            "mean": bench.shown(readings.mean, "length"),
            "spread": bench.shown(readings.spread, "length"),
            "taper": bench.shown(readings.taper or 0.0, "length"),
            "roundness": bench.shown(readings.out_of_round or 0.0, "length"),
        }
        found.append(
            note(
                f"fit.{joint.name}.{'bore' if name == joint.bore_part else 'shaft'}_readings", name, joint.at,
                "readings_by_plane" if known else "readings", readings.mean, "mm", shown["mean"],
                how="readings", given={"count": str(readings.count), "low": bench.shown(readings.low, "length"), "high": bench.shown(readings.high, "length")},
                limit=at_most(bench.shown(limit, "length")), verdict="fine" if worst <= limit + SLACK else "watch",
                source=text("source.form_limit"), part=part_name(name), count=readings.count, **shown,
            )
        )  # fmt: skip
    return found


def raceway(bench: Bench, joint: Fit) -> float:
    """Outside diameter of the inner ring as a press fit sees it: its raceway, typed for a roller bearing, derived for a ball bearing as
    its solid is drawn [mm]."""
    machine = bench.reducer.machine
    for name in ("inner_bearing", "lower_bearing"):
        if joint.bore_part.startswith(name):
            return float(getattr(machine, name).raceway_inner)
    pair = machine.high_speed_pair if joint.bore_part.startswith("high_speed") else machine.low_speed_pair
    assert pair.outside is not None and pair.width is not None
    ball, circle, _ = ball_size(pair.bore, pair.outside, pair.width.nominal)
    return circle - ball


def lame(
    joint: Fit, tight: float, hub_outside: float, hub_yield: float, roughness: tuple[float, float] = (0.0, 0.0)
) -> interference.InterferenceJoint:
    """The elastic joint at this interference, steel on a solid steel shaft; `roughness`: Rz of shaft and bore [mm, MPa].

    Raises InterferenceYields.
    """
    steel = materials.material("steel")
    return interference.joint(
        tight,
        joint.diameter,
        hub_outside,
        length=joint.grip,
        hub_yield=hub_yield,
        shaft_yield=SHAFT_YIELD,
        hub_modulus=steel.youngs_modulus,
        shaft_modulus=steel.youngs_modulus,
        hub_poisson=steel.poisson_ratio,
        shaft_poisson=steel.poisson_ratio,
        shaft_roughness=roughness[0],
        hub_roughness=roughness[1],
    )


SERVICE = 1.5
"""Margin of the holding torque over the rated one [1]: common practice, no source."""
USUAL_ROUGHNESS = (0.004, 0.0063)
"""Rz of a ground shaft seat and of a finely bored hub where nobody states them [mm]: common practice, no source."""
SHAFT_YIELD = 500.0
"""Yield strength of a quenched and tempered shaft steel, taken low [MPa]: from memory."""


def _press(bench: Bench, joint: Fit, part: str) -> list[Callout]:
    """Force to press or draw the ring on, against the shop's press. Blows of a drift are never given as a force."""
    tight = -joint.clearance[0]
    if bench.step.method not in ("press", "draw_on") or tight <= SLACK:
        return []
    capacity = bench.reducer.machine.shop.press_capacity
    try:
        held = lame(joint, tight, raceway(bench, joint), RING_YIELD)
    except interference.InterferenceYields as error:
        return [_yields(bench, joint, part, error)]
    loosest = max(-joint.clearance[2], 0.0)
    least = lame(joint, loosest, raceway(bench, joint), RING_YIELD).press_force.low if loosest > SLACK else 0.0
    most = held.press_force.high
    state: Verdict = "" if capacity is None else "fine" if most <= capacity else "watch" if least <= capacity else "stop"
    return [
        note(
            f"press.{joint.name}", part, joint.at, "press_force", most, "N", text("callout.press_force_label", force=bench.shown(most, "force")),
            how="press_force",
            given={"pressure": bench.shown(held.pressure, "pressure"), "diameter": bench.shown(joint.diameter, "length"), "grip": bench.shown(joint.grip, "length"),
                   "friction": text("callout.from_to", low=units.figure(interference.PRESSING_OILED.low, "g"), high=units.figure(interference.PRESSING_OILED.high, "g"))},
            limit=at_most(bench.shown(capacity, "force")) if capacity is not None else "", verdict=state, source=text("source.lame_press"),
            part=part_name(part), low=bench.shown(least, "force"), high=bench.shown(most, "force"),
            pressure=bench.shown(held.pressure, "pressure"),
        )
    ]  # fmt: skip


def _yields(bench: Bench, joint: Fit, part: str, error: interference.InterferenceYields) -> Callout:
    largest = bench.shown(error.yield_interference, "length")
    return note(
        f"press.{joint.name}.yields", part, joint.at, "would_yield", error.interference, "mm", bench.shown(error.interference, "length"),
        how="yield_interference", given={"tight": bench.shown(error.interference, "length"), "largest": largest},
        limit=at_most(largest), verdict="stop", source=text("source.lame"), part=part_name(part), tight=bench.shown(error.interference, "length"), largest=largest,
    )  # fmt: skip


def hot_ring(bench: Bench, joint: Fit) -> list[Callout]:
    """What a ring fitted hot must not exceed whatever the heat: the advised interference, and yielding."""
    tight = -joint.clearance[0]
    if joint.hub != "bearing ring" or tight <= SLACK:
        return []
    found = _largest(bench, joint, joint.bore_part)
    try:
        lame(joint, tight, raceway(bench, joint), RING_YIELD)
    except interference.InterferenceYields as error:
        found.append(_yields(bench, joint, joint.bore_part, error))
    return found


def hold(bench: Bench, joint: Fit) -> list[Callout]:
    """Stress in a gear's hub and the torque that its fit holds without the key, against the rated torque."""
    low, _, high = joint.clearance
    if joint.hub != "gear" or high >= -SLACK:
        return []
    machine = bench.reducer.machine
    pinion = joint.bore_part == "pinion"
    blank = machine.pinion if pinion else machine.gear
    try:
        known = machine.shop.seat_roughness
        roughness = USUAL_ROUGHNESS if known is None else known
        most, least = (lame(joint, -tight, blank.hub_diameter, blank.yield_strength, roughness) for tight in (low, high))
    except interference.InterferenceYields as error:
        return [_yields(bench, joint, joint.bore_part, error)]
    shared = {"part": part_name(joint.bore_part)}
    found = [
        note(
            f"hold.{joint.name}.stress", joint.bore_part, joint.at, "hub_stress", most.hub_stress, "MPa",
            text("callout.hub_stress_label", stress=bench.shown(most.hub_stress, "pressure")),
            how="hub_stress",
            given={"pressure": bench.shown(most.pressure, "pressure"), "outside": bench.shown(blank.hub_diameter, "length"), "diameter": bench.shown(joint.diameter, "length")},
            limit=at_most(bench.shown(blank.yield_strength, "pressure")), verdict="fine" if most.hub_stress <= blank.yield_strength else "stop",
            source=text("source.lame"), stress=bench.shown(most.hub_hoop_stress, "pressure"), pressure=bench.shown(most.pressure, "pressure"), **shared,
        )
    ]  # fmt: skip
    rated = rated_torque(bench, pinion)
    if rated is not None:
        safe, asked = least.holding_torque.low, SERVICE * rated
        found.append(
            note(
                f"hold.{joint.name}.torque", joint.bore_part, joint.at, "fit_slips" if safe < asked else "fit_holds" if known is not None else "fit_holds_assumed", safe, "N m",
                text("callout.fit_holds_label", torque=bench.shown(safe, "torque", digits=0)),
                how="holding_torque",
                given={"pressure": bench.shown(least.holding_pressure, "pressure"), "diameter": bench.shown(joint.diameter, "length"),
                       "grip": bench.shown(joint.grip, "length"), "friction": units.figure(interference.SHRUNK_STEEL.low, "g"), "loss": bench.shown(least.interference - least.effective, "length")},
                limit=at_least_rated(bench, asked), verdict="fine" if safe >= asked and known is not None else "watch", source=text("source.lame_hold"),
                torque=bench.shown(safe, "torque", digits=0), rated=bench.shown(rated, "torque", digits=0), **shared,
            )
        )  # fmt: skip
    return found


def at_least_rated(bench: Bench, rated: float) -> str:
    """The rated torque as a limit."""
    return text("callout.at_least_rated", rated=bench.shown(rated, "torque", digits=0))


def rated_torque(bench: Bench, pinion: bool) -> float | None:
    """Rated torque of the pinion or of the gear shaft, losses left out [N·m]."""
    gears = bench.reducer.machine.gears
    if gears.pinion_torque is None:
        return None
    return gears.pinion_torque if pinion else gears.pinion_torque * gears.gear_teeth / gears.pinion_teeth


def _chilled(bench: Bench, joint: Fit, part: str) -> list[Callout]:
    """What chilling the ring to its cold limit would give: another way to fit it than the press."""
    limit = bench.reducer.machine.shop.bearing_cold_limit
    values = [
        cold.clearance_of_cold_ring(
            value,
            joint.diameter,
            limit,
            limit=limit,
            housing_temperature=bench.ambient,
            housing_expansion=materials.material("grey iron").expansion,
        )
        for value in (joint.clearance[0], joint.clearance[2])
    ]
    band = clearance_band(bench, values[0], values[1])
    return [
        note(
            f"cold.{joint.name}", part, joint.at, "chilled", values[0], "mm", text("callout.chilled_label", band=band),
            how="chilled",
            given={"diameter": bench.shown(joint.diameter, "length"), "contraction": f"{units.figure(cold.contraction(limit) * 1000.0, '.3f')}e-3",
                   "cold": clearance_band(bench, joint.clearance[0], joint.clearance[2])},
            source=text("source.contraction"), part=part_name(part), temperature=bench.degrees(limit), band=band, housing=part_name(joint.bore_part),
        )
    ]  # fmt: skip


def _largest(bench: Bench, joint: Fit, part: str) -> list[Callout]:
    """A warning where the interference passes what is advised for a bearing ring."""
    tight, limit = -joint.clearance[0], press.largest_ring_interference(joint.diameter)
    if tight <= limit:
        return []
    shown, shown_limit = bench.apart(tight, limit)
    return [
        note(
            f"fit.{joint.name}.largest", part, joint.at, "large_interference", tight, "mm", shown,
            how="largest_interference", given={"diameter": bench.shown(joint.diameter, "length")},
            limit=at_most(shown_limit), verdict="stop" if -joint.clearance[1] > limit else "watch", source=text("source.common_practice"), value=shown, limit_value=shown_limit,
        )
    ]  # fmt: skip


def _other_diameter(bench: Bench, joint: Fit) -> list[Callout]:
    """Why a ring pair is or is not heated: does its outside still enter the housing at the temperature its bore would need?

    A plain note: it stands at a step that fits the ring cold; a step that heats it breaks a rule.
    """
    outer = next(
        (item for item in bench.reducer.of_kind(Fit) if item.shaft_part == joint.bore_part.replace("_inner_ring", "_outer_ring")),
        None,
    )
    if outer is None or outer.shaft_part not in bench.arriving:
        return []
    setting = plan(bench, joint).recommended
    band = heat.enters_housing(
        outer.diameter,
        (outer.shaft.lower, outer.shaft.upper),
        (outer.bore.lower, outer.bore.upper),
        setting - heat.REFERENCE,
        materials.material("bearing steel").expansion,
        housing_expansion=materials.material("grey iron").expansion,
        housing_rise=bench.ambient - heat.REFERENCE,
    )
    shown = clearance_band(bench, band.low, band.high)
    return [
        note(
            f"fit.{joint.name}.other_diameter", outer.shaft_part, outer.at, "hot_ring_enters" if band.low >= 0.0 else "hot_ring_jams",
            band.low, "mm", text("callout.hot_ring_label", band=shown),
            how="other_diameter",
            given={"diameter": bench.shown(outer.diameter, "length"), "cold": clearance_band(bench, outer.clearance[0], outer.clearance[2]),
                   "setting": bench.degrees(setting), "ambient": bench.degrees(bench.ambient)},
            limit=text("callout.limit_if_heated"), source=fit_sources(outer), ring=part_name(joint.bore_part.removesuffix("_inner_ring")), temperature=bench.degrees(setting),
            band=shown, housing=part_name(outer.bore_part),
        )
    ]  # fmt: skip
