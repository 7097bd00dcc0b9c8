"""Notes of the gear mesh: backlash and pattern to expect, what end play adds to the dial, match marks; and oil ports that must line up."""

from __future__ import annotations

from dataclasses import replace

from calc import marks, units
from geometry.joints import MeshJoint, PortJoint
from scenes import pattern_words
from scenes.callouts.bench import Bench, at_most, from_to, measured, mesh_rates, note, part_name, verdict_of
from scenes.frame import Callout
from scenes.positions import solved
from scenes.tooth_contact import displacement, end_play_rate
from scenes.wording import text


def of_mesh(bench: Bench, joint: MeshJoint) -> list[Callout]:
    """The pair when it meets and when it is read."""
    meets = bench.made((joint.pinion, joint.gear))
    read = bool({"backlash", "trial_backlash"} & set(bench.step.reads))
    found = [_backlash(bench, joint), _end_play(bench, joint)] if meets or read else []
    if "pattern" in bench.step.reads:
        found += _patterns(bench, joint)
    if meets or "set_number" in bench.step.reads:
        found += _marks(bench, joint)
    return found


NOTHING = 5e-4
"""Less than this no dial shows [mm]."""


def shifts(bench: Bench) -> dict[str, str]:
    """Where pinion and gear stand from their etched distances, in words."""
    at = displacement(bench.reducer)
    return {"pinion": bench.shown(at.pinion, "length", signed=True), "gear": bench.shown(at.gear, "length", signed=True)}


def _backlash(bench: Bench, joint: MeshJoint) -> Callout:
    value, low, high = bench.backlash
    gears, rates, shift = bench.reducer.machine.gears, mesh_rates(bench.reducer), displacement(bench.reducer)
    state = verdict_of(value, low, high, *gears.backlash)
    handbook = gears.design_backlash + rates.pinion.handbook * shift.pinion + rates.gear.handbook * shift.gear
    design, shown = bench.shown(gears.design_backlash, "length"), bench.shown(value, "length")
    told = {"value": shown, "band": from_to(bench, low, high)}
    met = bench.contact
    if met is None:
        says, how, source = "out_of_mesh", "backlash", "first_order"
        given = {
            "design": design,
            "pinion": units.figure(rates.pinion.touching, ".3f"),
            "gear": units.figure(rates.gear.touching, ".3f"),
        }
        state = "stop"
    else:
        says, how, source = "backlash" if value > 0.0 else "no_backlash", "backlash_model", "tooth_model"
        given = {"design": design, "handbook": bench.shown(handbook, "length"), **shifts(bench)}
        assert met.drive is not None
        mark = met.drive.pattern
        told["place"] = text("callout.contact_place", along=f"{mark.centre_along:.0f} %", depth=f"{mark.centre_depth:.0f} %")
    model = note(
        "mesh.backlash", joint.pinion, joint.at, says, value, "mm", text("callout.backlash_label", value=shown), how=how, given=given,
        limit=from_to(bench, *gears.backlash), verdict="watch" if state == "fine" else state, source=text(f"source.{source}"), **told,
    )  # fmt: skip
    held = bench.held.get("backlash")
    if held is None:
        return model
    says = "backlash_measured" if held.value > 0.0 else "no_backlash_measured"
    label = text("callout.backlash_label_measured", value=bench.shown(held.value, "length"))
    return replace(measured(bench, "backlash", model, says, by=text(f"callout.by_{source}")), short=label)


def _end_play(bench: Bench, joint: MeshJoint) -> Callout:
    held = bench.held.get("high_speed_end_play")
    play = max(held.value if held is not None else solved(bench.reducer.chain("high_speed_end_play")).nominal, 0.0)
    rate = max(end_play_rate(bench.reducer.blank), 0.0)
    adds, shown = bench.shown(rate * play, "length"), bench.shown(play, "length")
    says = "end_play_in_reading" if rate * play > NOTHING else "end_play_adds_nothing"
    return note(
        "mesh.end_play_in_reading", joint.pinion, joint.at, says, rate * play, "mm",
        text(f"callout.{says}_label", adds=bench.shown(rate * play, "length", signed=True)), how="end_play_reading",
        given={"play": shown, "rate": units.figure(rate, ".3f")}, source=text("source.first_order"), play=shown, adds=adds,
    )  # fmt: skip


def _patterns(bench: Bench, joint: MeshJoint) -> list[Callout]:
    """Where the model puts the mark on the drive and on the coast flank, read on the gear."""
    met = bench.contact
    if met is None or met.drive is None or met.coast is None:
        return []
    found = []
    for name, flank in (("drive", met.drive), ("coast", met.coast)):
        mark, words = flank.pattern, text(f"flank.{name}")
        (toe, heel), (root, tip) = mark.extent_along, mark.extent_depth
        given = {
            "film": bench.shown(mark.thickness, "length"),
            "along": text("callout.from_to", low=f"{toe:.0f}", high=f"{heel:.0f} %"),
            "depth": text("callout.from_to", low=f"{root:.0f}", high=f"{tip:.0f} %"),
        }
        model = note(
            f"mesh.pattern.{name}", joint.gear, joint.at, "pattern", mark.centre_along, "%",
            text("callout.pattern_label", flank=words, place=pattern_words.place(mark.centre_along, mark.centre_depth)),
            how="pattern", given=given | shifts(bench), verdict="watch", source=text("source.tooth_model_pattern"),
            flank=words, words=pattern_words.flank(flank),
        )  # fmt: skip
        found.append(_as_marked(bench, name, model, pattern_words.flank(flank)))
    return found


def _as_marked(bench: Bench, flank: str, model: Callout, expected: str) -> Callout:
    """The mark as it was read, where a reading of it stands; the model's beside it."""
    held = bench.held.get("pattern")
    if held is None or flank not in held.marks:
        return model
    along, depth = held.marks[flank]
    words, entry = text(f"flank.{flank}"), text("callout.entry", number=held.entry)
    told = text("callout.pattern_measured", flank=words, words=pattern_words.centre(along, depth), entry=entry, expected=expected)
    if held.verdict == "stop":
        told += " " + text("callout.measured_stop", number=held.entry)
    label = text("callout.pattern_label_measured", flank=words, place=pattern_words.place(along, depth))
    read_as = text("inserted.measured", value=pattern_words.short(along, depth), entry=entry)
    return replace(
        model, text=told, short=label, value=along, verdict=held.verdict, source=text("source.reading", number=held.entry),
        formula=text("formula.measured"), inserted=(read_as, text("inserted.measured_model", formula=model.formula), *model.inserted),
        entry=held.entry,
    )  # fmt: skip


def _marks(bench: Bench, joint: MeshJoint) -> list[Callout]:
    gears = bench.reducer.machine.gears
    meeting = marks.meeting_teeth(gears.pinion_teeth, gears.gear_teeth)
    return [
        note(
            "mesh.marks", joint.gear, joint.at, "marks_hunting" if meeting.hunting else "marks_needed", float(meeting.pinion_turns), "turns",
            text("callout.marks_label", turns=meeting.pinion_turns), how="marks",
            given={"pinion": str(gears.pinion_teeth), "gear": str(gears.gear_teeth), "factor": str(meeting.common_factor)},
            source=text("source.tooth_counts"), turns=meeting.pinion_turns, gear_turns=meeting.gear_turns, factor=meeting.common_factor, ways=meeting.ways,
        )
    ]  # fmt: skip


def of_port(bench: Bench, joint: PortJoint) -> list[Callout]:
    """How far two oil ports stand out of line."""
    if not bench.made(joint.parts):
        return []
    off, limit = abs(joint.angles[0] - joint.angles[1]) * abs(joint.at[2]), joint.diameter / 4
    shown = bench.shown(off, "length")
    return [
        note(
            f"port.{joint.name}", joint.parts[1], joint.at, "port", off, "mm", text("callout.port_label", off=shown),
            how="port", given={"radius": bench.shown(abs(joint.at[2]), "length")}, limit=at_most(bench.shown(limit, "length")),
            verdict="fine" if off <= limit else "stop", source=text("source.chain"), first=part_name(joint.parts[0]), second=part_name(joint.parts[1]), off=shown,
        )
    ]  # fmt: skip
