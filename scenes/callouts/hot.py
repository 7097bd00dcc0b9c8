"""Notes of a part that is fitted hot: how hot, what it clears then, how long the crew has, how long the heater takes."""

from __future__ import annotations

from dataclasses import replace

from calc import heat, induction, press, units
from geometry.joints import Fit, NutJoint
from scenes import pattern_words
from scenes.callouts import fits
from scenes.callouts.bench import SLACK, Bench, at_least, at_most, clearance_band, mesh_rates, met, note, part_name
from scenes.callouts.heating import OVEN_SHORT, clearance_now, expansion, heating_of, hot_body, plan, setting_now, time_to_slide
from scenes.frame import Callout, Verdict
from scenes.tooth_contact import displacement
from scenes.wording import text

ENOUGH = 90.0
"""Time to slide home that leaves a second try [s]: common practice, no source."""
TOO_SHORT = 30.0
"""Time to slide home under which a hot fit is not started [s]: common practice, no source."""
HOTTER_THAN_USUAL = 5.0
"""How far over the usual limit of a bearing ring the setting draws a warning, whatever the owner's limit [K]."""
FEELER = 0.03
"""Feeler that must not enter at a cold shoulder [mm]: common practice, no source."""


def notes(bench: Bench, joint: Fit) -> list[Callout]:
    """All that the crew acts on when this part goes on hot, the most urgent first."""
    heating, now = plan(bench, joint), setting_now(bench, joint)
    low, middle, high = clearance_now(bench, joint, now)
    part, at, name, key = joint.bore_part, joint.at, part_name(joint.bore_part), f"heat.{joint.name}"
    sliding = bench.reducer.machine.shop.sliding_clearance
    state: Verdict = "stop" if middle < -SLACK else "watch" if low < sliding - SLACK else "fine"
    over = now > heating.limit + SLACK
    hotter = joint.hub == "bearing ring" and now > heat.BEARING_LIMIT + HOTTER_THAN_USUAL
    limit = at_most(bench.degrees(heating.limit))
    limit_source = (
        text("source.owner") if joint.hub == "gear" else text("source.bearing_heating", usual=bench.degrees(heat.BEARING_SETTING))
    )
    given = {
        "tight": bench.shown(-joint.clearance[0], "length"),
        "slide": bench.shown(heating.joining_clearance, "length"),
        "diameter": bench.size(joint.diameter),
        "expansion": f"{units.figure(expansion(joint) * 1e6, '.1f')}e-6/K",
        "ambient": bench.degrees(bench.ambient),
        "setting": bench.degrees(now),
        "limit": bench.degrees(heating.limit),
    }
    found = [
        fits.fit_note(bench, joint, part),
        note(
            f"{key}.just_clears", part, at, "just_clears", heating.just_clears, "degC", bench.degrees(heating.just_clears),
            how="just_clears", given=given, source=text("source.expansion"), part=name, temperature=bench.degrees(heating.just_clears),
        ),
        note(
            f"{key}.recommended", part, at, "recommended", heating.recommended, "degC", bench.degrees(heating.recommended),
            how="recommended_gear" if joint.hub == "gear" else "recommended_ring",
            given=given | {"wanted": bench.degrees(heating.wanted), "just": bench.degrees(heating.just_clears), "usual": bench.degrees(heat.BEARING_SETTING)},
            limit=limit,
            verdict="fine" if heating.recommended < heating.limit - SLACK and heating.clearance_at_recommended >= sliding - SLACK else "watch",
            source=text("source.joining_clearance") if joint.hub == "gear" and heating.wanted <= heating.recommended + SLACK else text("source.under_limit") if joint.hub == "gear" else limit_source,
            part=name, temperature=bench.degrees(heating.recommended),
            clearance=clearance_band(bench, heating.clearance_at_recommended, heating.clearance_at_recommended),
        ),
        note(
            f"{key}.setting", part, at, "setting_too_hot" if over else "setting_hotter_than_usual" if hotter else "setting",
            now, "degC", bench.degrees(now), how="setting", given=given, limit=limit,
            verdict="stop" if over else "watch" if hotter else "fine", source=limit_source,
            part=name, temperature=bench.degrees(now), limit_value=bench.degrees(heating.limit), usual=bench.degrees(heat.BEARING_LIMIT),
        ),
        note(
            f"{key}.clearance", part, at, "clearance_now", middle, "mm", clearance_band(bench, low, high),
            how="clearance_now", given=given | {"cold": clearance_band(bench, joint.clearance[0], joint.clearance[2])},
            limit=at_least(bench.shown(sliding, "length")), verdict=state, source=text("source.expansion"),
            part=name, temperature=bench.degrees(now), band=clearance_band(bench, low, high), bore=bench.shown(joint.diameter + joint.shaft.upper + sliding, "length"),
        ),
    ]  # fmt: skip
    found += fits.measured(bench, joint)
    found += fits.hot_ring(bench, joint)
    found += fits.hold(bench, joint)
    found += _carry(bench, joint, now, name)
    found += _heater(bench, joint, name)
    if joint.hub == "gear":
        found += _shrink_back(bench, joint, name)
    return found


def _carry(bench: Bench, joint: Fit, now: float, name: str) -> list[Callout]:
    """Seconds left from the heater until the least clearance no longer slides: still air, the model says its own uncertainty."""
    if now <= bench.ambient + 1.0:
        return []
    time = time_to_slide(bench, joint, now)
    clears = clearance_now(bench, joint, now)[0] > SLACK
    if round(time.low) >= ENOUGH:
        says = "carry_time"
    elif time.low >= TOO_SHORT:
        says = "carry_time_brisk"
    elif time.low > 0.0:
        says = "carry_time_short"
    else:
        says = "no_time_in_hand" if clears else "no_carry_time"
    body = hot_body(bench.reducer, joint)
    return [
        note(
            f"heat.{joint.name}.carry_time", joint.bore_part, joint.at, says, time.low, "s",
            text("callout.carry_time_label", time=bench.within(time.low)),
            how="carry_time",
            given={
                "mass": bench.shown(body.mass, "mass"), "surface": f"{body.surface / 100.0:.0f} cm²", "start": bench.degrees(now),
                "ambient": bench.degrees(bench.ambient), "sliding": bench.shown(bench.reducer.machine.shop.sliding_clearance, "length"),
                "model": bench.about(time.value),
            },
            verdict="stop" if says not in ("carry_time", "carry_time_brisk") else "fine" if says == "carry_time" else "watch",
            limit=text("callout.limit_heater_to_seat", limit=bench.about(ENOUGH if says == "carry_time_brisk" else TOO_SHORT)), source=text("source.still_air"),
            part=name, time=bench.within(time.low), model=bench.about(time.value), least=bench.about(TOO_SHORT), enough=bench.about(ENOUGH),
        )
    ]  # fmt: skip


def _heater(bench: Bench, joint: Fit, name: str) -> list[Callout]:
    """How long the induction heater takes, or that it can't take the part and how long an oven needs."""
    shop, run = bench.reducer.machine.shop, heating_of(bench)
    if shop.heater_power is None or run is None or run.time.value <= 0.0:
        return []
    shared = {"part": name, "mass": bench.shown(run.mass, "mass"), "temperature": bench.degrees(run.end)}
    if run.oven is not None:
        oven, above, limit = bench.degrees(run.oven), bench.shown(run.oven - run.end, "temperature rise"), plan(bench, joint).limit
        says = "too_large_for_heater" if run.oven > run.end + SLACK else "too_large_at_limit"
        if run.oven > limit + SLACK:
            says = "too_large_over_limit"
        return [
            note(
                f"heat.{joint.name}.heater", joint.bore_part, joint.at, says, run.time.value, "s", text("callout.oven_run_label", time=bench.about(run.time.value)),
                how="soak", given={"mass": shared["mass"], "oven": oven, "film": f"{induction.FILM_OVEN:.0f} W/(m² K)"},
                verdict="stop" if says == "too_large_over_limit" else "watch", source=text("source.oven"), low=bench.about(run.time.low), time=bench.about(run.time.high), oven=oven, above=above, short=bench.shown(OVEN_SHORT, "temperature rise"), limit_value=bench.degrees(limit), why=text(f"heater.{run.refused}"), **shared,
            )
        ]  # fmt: skip
    power, share = bench.shown(shop.heater_power, "power"), bench.shown(shop.heater_efficiency, "fraction")
    return [
        note(
            f"heat.{joint.name}.heater", joint.bore_part, joint.at, "heater_run", run.time.value, "s",
            text("callout.heater_run_label", time=bench.about(run.time.value)),
            how="heater_run",
            given={"mass": shared["mass"], "heat": f"{run.energy / 1000.0:.0f} kJ", "rise": bench.shown(run.end - run.start, "temperature rise"), "power": power, "share": share},
            source=text("source.heat_balance"), heating=bench.about(run.time.value - run.hold), hold=bench.about(run.hold),
            power=power, share=share, **shared,
        )
    ]  # fmt: skip


def _shrink_back(bench: Bench, joint: Fit, name: str) -> list[Callout]:
    """The gap that a hub leaves at its shoulder when it grips first at the far end, and what it would do to the mounting distance."""
    gap = press.shrink_back_gap(max(-joint.clearance[0], 0.0), joint.grip, joint.diameter)
    chain_name = "pinion_set" if joint.bore_part == "pinion" else "gear_distance"
    # the pinion's shoulder lies outward of it: the gap brings it toward the crossing point; the gear hangs below its shoulder: away.
    holder = "nut" if any(nut.name == f"{joint.bore_part}_locknut" for nut in bench.reducer.of_kind(NutJoint)) else "clamp"
    shift = gap * press.mounting_distance_sign(joint.bore_part == "pinion")
    backlash, pattern = _by_model(bench, joint.bore_part, shift)
    feeler = bench.shown(FEELER, "length")
    return [
        note(
            f"heat.{joint.name}.shrink_back", joint.bore_part, joint.at, "shrink_back", gap, "mm",
            text("callout.shrink_back_label", gap=bench.shown(gap, "length")),
            how="shrink_back",
            given={"tight": bench.shown(max(-joint.clearance[0], 0.0), "length"), "grip": bench.shown(joint.grip, "length"), "diameter": bench.size(joint.diameter),
                   "shift": bench.shown(shift, "length", signed=True)},
            limit=at_most(feeler), verdict="watch" if gap > FEELER else "fine", source=text("source.derived_gap", feeler=feeler),
            part=name, gap=bench.shown(gap, "length"), held=text(f"callout.held_by_{holder}"), shift=bench.shown(shift, "length", signed=True),
            chain=text(f"chain.{chain_name}"), backlash=bench.shown(backlash, "length", signed=True), pattern=pattern,
        )
    ]  # fmt: skip


def _by_model(bench: Bench, part: str, shift: float) -> tuple[float, str]:
    """What a shift of pinion or gear does: change of backlash [mm], and the total with the pattern on drive in words."""
    here, member = displacement(bench.reducer), "pinion" if part == "pinion" else "gear"
    now, then = bench.contact, met(bench.reducer, replace(here, **{member: getattr(here, member) + shift}))
    if now is None or then is None or now.backlash is None or then.backlash is None or then.drive is None:
        rates = mesh_rates(bench.reducer)
        return (rates.pinion if member == "pinion" else rates.gear).touching * shift, ""
    total = bench.shown(then.backlash.outer, "length")
    return then.backlash.outer - now.backlash.outer, text(
        "callout.shrink_back_pattern", total=total, drive=pattern_words.flank(then.drive)
    )
