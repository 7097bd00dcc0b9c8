"""Notes of the gear mesh: backlash to expect, what end play adds to the dial, match marks; and oil ports that must line up."""

from __future__ import annotations

from calc import marks
from geometry.joints import MeshJoint, PortJoint
from scenes.callouts.bench import GASKET_STEP, Bench, at_most, from_to, mesh_rates, note, part_name, verdict_of
from scenes.frame import Callout
from scenes.wording import text


def of_mesh(bench: Bench, joint: MeshJoint) -> list[Callout]:
    """The pair when it meets and when it is read."""
    meets = bench.made((joint.pinion, joint.gear))
    read = bool({"backlash", "trial_backlash"} & set(bench.step.reads))
    found = _backlash(bench, joint) if meets or read else []
    if meets or "set_number" in bench.step.reads:
        found += _marks(bench, joint)
    return found


def _backlash(bench: Bench, joint: MeshJoint) -> list[Callout]:
    value, low, high = bench.backlash
    gears, rates = bench.reducer.machine.gears, mesh_rates(bench.reducer)
    state = verdict_of(value, low, high, *gears.backlash)
    step = GASKET_STEP[bench.settings.units]
    adds = bench.shown(rates.end_play * step, "length", signed=True)
    return [
        note(
            "mesh.backlash", joint.pinion, joint.at, "backlash" if value > 0.0 else "no_backlash", value, "mm",
            text("callout.backlash_label", value=bench.shown(value, "length")),
            how="backlash",
            given={"design": bench.shown(gears.design_backlash, "length"), "pinion": f"{rates.pinion.touching:.3f}", "gear": f"{rates.gear.touching:.3f}"},
            limit=from_to(bench, *gears.backlash), verdict="watch" if state == "fine" else state, source=text("source.first_order"),
            value=bench.shown(value, "length"), band=from_to(bench, low, high),
        ),
        note(
            "mesh.end_play_in_reading", joint.pinion, joint.at, "end_play_in_reading", rates.end_play * step, "mm",
            text("callout.end_play_in_reading_label", adds=adds), how="backlash_change",
            given={"change": bench.shown(step, "length"), "rate": f"{rates.end_play:.3f}"}, source=text("source.first_order"),
            step=bench.shown(step, "length"), adds=bench.shown(rates.end_play * step, "length"),
        ),
    ]  # fmt: skip


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
