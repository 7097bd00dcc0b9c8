"""Notes of screws, lockwire, locknuts, keys and dowels."""

from __future__ import annotations

from math import pi

from calc import bolts, fits, hardware, keys, locking, tightening, units
from geometry.joints import DowelJoint, KeyJoint, NutJoint, ScrewJoint, WireJoint
from geometry.machine import Key
from scenes import screw_words, sequence
from scenes.callouts.bearings import tenths
from scenes.callouts.bench import SLACK, Bench, at_least, at_most, clearance_band, from_to, note, part_name
from scenes.callouts.fits import rated_torque
from scenes.frame import Callout, Verdict
from scenes.wording import text

KEY_STRESS_SHARE = 1.0 / 3.0
"""Greatest key stress over its yield strength [1]: safety 3, common practice, no source."""
KEY_YIELD = 330.0
"""Yield strength of drawn key steel, taken low [MPa]: from memory."""
WIRE = {"M6": 0.8, "1/4-20 UNC": 0.8128}
"""Lockwire diameter by thread; 1 mm (0.04 in) for larger ones [mm]: common practice, no source."""
LARGE_WIRE = 1.0
FACE_SHARE = 0.92
"""Face under a socket head over its head diameter [1]: derived, so that one rule serves metric and inch screws."""
NEAR_CEILING = 0.9
"""Share of the ceiling from which a torque is looked at again [1]: common practice, no source."""
LEAST_SHARE = 0.35
"""Share of the proof load under which a torque looks like a slip of figure or unit [1]: common practice, no source."""
STRIPPING_SAFETY = 1.25
"""Thread in the iron holds this much more than the greatest preload [1]: own choice."""


def of_screws(bench: Bench, joint: ScrewJoint) -> list[Callout]:
    """Torque with its ceiling, preload, thread in the iron, order and passes."""
    if not set(bench.reducer.members(joint.screws)) & bench.new and joint.name not in bench.step.reads:
        return []
    part, name = bench.reducer.members(joint.screws)[0], text(f"part.{joint.screws}", count=joint.count)
    friction = bench.reducer.machine.shop.screw_friction
    head = hardware.socket_screw(joint.thread)
    most = bolts.torque_range(
        joint.thread, joint.property_class, friction, head_diameter=FACE_SHARE * head.head_diameter, hole=head.clearance_hole
    )
    ceiling = bench.shown(most.ceiling, "torque", beside=joint.torque)
    strength = screw_words.strength(joint.thread, joint.property_class, bench.settings.units)
    given = {
        "thread": joint.thread,
        "strength": strength,
        "friction": text("callout.from_to", low=units.figure(friction[0], "g"), high=units.figure(friction[1], "g")),
    }
    shared = {"screws": name, "count": joint.count, "thread": joint.thread, "ceiling": ceiling, "strength": strength}
    if not set(bench.reducer.members(joint.screws)) & bench.new and joint.torque is not None:
        torque = bench.shown(joint.torque, "torque")
        return [
            note(
                f"screws.{joint.name}", part, joint.at, "screw_again", joint.torque, "N m",
                text("callout.screws_short", count=joint.count, thread=joint.thread, torque=torque),
                how="screw_ceiling", given=given, limit=text("callout.limit_ceiling", limit=ceiling), verdict="fine" if joint.torque <= most.ceiling else "stop",
                source=text("source.owner_ceiling"), screws=name, torque=torque,
            )
        ]  # fmt: skip
    if joint.torque is None:
        found = [
            note(
                f"screws.{joint.name}", part, joint.at, "screws_no_torque", most.ceiling, "N m", f"{joint.count} x {joint.thread}",
                how="screw_ceiling", given=given, source=text("source.maker_manual"), **shared,
            )
        ]  # fmt: skip
    else:
        found = [_torque(bench, joint, part, most, head, given, shared, joint.torque)]
    found += _thread_in_iron(bench, joint, part, name)
    parts = [bench.reducer.by_name[member] for member in bench.reducer.members(joint.screws)]
    order = "-".join(str(place) for place in sequence.order(parts))
    numbered = joint in sequence.tightened(bench.reducer, bench.step)
    found.append(
        note(
            f"screws.{joint.name}.order", part, joint.at, "screw_order" if numbered else "screw_order_crossing", float(joint.count), "screws", text("callout.screw_order_label", count=joint.count),
            how="crossing", given={"count": str(joint.count), "order": order}, source=text("source.passes"), screws=name,
            passes=_passes(bench, joint),
        )
    )  # fmt: skip
    return found


def _passes(bench: Bench, joint: ScrewJoint) -> str:
    """The crossing passes, in torque where it is known."""
    shares = [item.share for item in tightening.passes() if item.order == "crossing"]
    if joint.torque is None:
        return ", ".join(bench.shown(share, "fraction") for share in shares)
    return ", ".join(bench.shown(share * joint.torque, "torque", digits=0, beside=joint.torque) for share in shares)


def _torque(
    bench: Bench,
    joint: ScrewJoint,
    part: str,
    most: bolts.TorqueRange,
    head: hardware.SocketScrew,
    given: dict[str, str],
    shared: dict[str, object],
    torque: float,
) -> Callout:
    friction = bench.reducer.machine.shop.screw_friction
    preloads = [
        bolts.preload_from_torque(
            torque,
            joint.thread,
            thread_friction=mu,
            head_friction=mu,
            head_diameter=FACE_SHARE * head.head_diameter,
            hole=head.clearance_hole,
        )
        for mu in (friction[1], friction[0])
    ]
    share = bolts.proof_share(preloads[1], joint.thread, joint.property_class)
    state: Verdict = (
        "stop" if torque > most.ceiling else "watch" if torque > NEAR_CEILING * most.ceiling or share < LEAST_SHARE else "fine"
    )
    shown = bench.shown(torque, "torque")
    return note(
        f"screws.{joint.name}", part, joint.at, {"fine": "screws", "watch": "screws_doubtful", "stop": "screws_over"}[state], torque, "N m",
        text("callout.screws_short", count=joint.count, thread=joint.thread, torque=shown),
        how="screw_preload", given=given | {"torque": shown}, limit=text("callout.limit_ceiling", limit=shared["ceiling"]), verdict=state, source=text("source.owner_ceiling"),
        torque=shown, preload=from_to(bench, preloads[0], preloads[1], "force"), share=bench.shown(share, "fraction", digits=0),
        **shared,
    )  # fmt: skip


def _thread_in_iron(bench: Bench, joint: ScrewJoint, part: str, name: str) -> list[Callout]:
    if joint.engagement is None:
        return []
    strength = bench.reducer.machine.case.iron_strength
    force = bolts.REUSED_PRELOAD * bolts.proof_load(joint.thread, joint.property_class)
    if joint.torque is not None:
        mu = bench.reducer.machine.shop.screw_friction[0]
        head = hardware.socket_screw(joint.thread)
        force = STRIPPING_SAFETY * bolts.preload_from_torque(
            joint.torque,
            joint.thread,
            thread_friction=mu,
            head_friction=mu,
            head_diameter=FACE_SHARE * head.head_diameter,
            hole=head.clearance_hole,
        )
    needed = bolts.engagement_needed(joint.thread, joint.property_class, iron_strength=strength, force=force).with_ends
    shown, least = tenths(bench, joint.engagement), tenths(bench, needed)
    return [
        note(
            f"screws.{joint.name}.thread", part, joint.at, "screw_thread", joint.engagement, "mm", text("callout.screw_thread_label", engagement=shown),
            how="engagement", given={"strength": bench.shown(strength, "pressure"), "thread": joint.thread},
            limit=at_least(least), verdict="fine" if joint.engagement >= needed - SLACK else "stop", source=text("source.stripping"),
            screws=name, engagement=shown, needed=least, into=part_name(joint.into),
        )
    ]  # fmt: skip


def of_nut(bench: Bench, joint: NutJoint) -> list[Callout]:
    """The turn to the next tab."""
    if not bench.made((joint.nut, joint.washer, joint.shaft)):
        return []
    turn = locking.alignment_step(joint.slots, joint.tabs)
    nut = hardware.locknut(joint.thread)
    shown = bench.shown(turn, "angle")
    advance = bench.shown(turn / (2.0 * pi) * nut.pitch, "length")
    return [
        note(
            f"nut.{joint.name}", joint.nut, joint.at, "nut", turn * 180.0 / pi, "deg", joint.thread,
            how="alignment", given={"slots": str(joint.slots), "tabs": str(joint.tabs)}, source=text("source.iso2982"),
            nut=part_name(joint.nut), thread=joint.thread, slots=joint.slots, tabs=joint.tabs, turn=shown, advance=advance, outside=bench.size(nut.outside),
        )
    ]  # fmt: skip


def of_key(bench: Bench, joint: KeyJoint) -> list[Callout]:
    """How far a key stands proud, its room, its sides and its stress."""
    if bench.new.isdisjoint((joint.key, joint.hub)):
        return []
    name, shown = part_name(joint.key), lambda value: bench.size(value)
    section = {"height": shown(joint.height), "shaft_depth": shown(joint.shaft_depth), "hub_depth": shown(joint.hub_depth)}
    if joint.key in bench.new:
        proud = joint.height - joint.shaft_depth
        found = [
            note(
                f"key.{joint.name}.proud", joint.key, joint.at, "key_proud", proud, "mm", text("callout.key_proud_label", proud=shown(proud), hub_depth=shown(joint.hub_depth)),
                how="key_proud", given=section, source=text("source.key"), key=name, proud=shown(proud), hub_depth=shown(joint.hub_depth),
            ),
            note(
                f"key.{joint.name}", joint.key, joint.at, "key", joint.width, "mm", f"{shown(joint.width)} x {shown(joint.height)}",
                how="key_section", given={"diameter": shown(joint.diameter)}, source=text("source.key"), key=name,
                width=shown(joint.width), height=shown(joint.height), length=shown(joint.length),
            ),
        ]  # fmt: skip
        return found + _sides(bench, joint)
    gap = joint.top_clearance
    return [
        note(
            f"key.{joint.name}.top", joint.key, joint.at, "key_top", gap, "mm", text("callout.key_top_label", gap=shown(gap)),
            how="key_top", given=section, limit=text("callout.limit_free"), verdict="fine" if gap > SLACK else "stop", source=text("source.key"), key=name, gap=shown(gap),
        ),
        *_stress(bench, joint),
    ]  # fmt: skip


def _record(bench: Bench, joint: KeyJoint) -> Key | None:
    machine = bench.reducer.machine
    return {"pinion": machine.pinion.key, "gear": machine.gear.key}.get(joint.hub)


def _sides(bench: Bench, joint: KeyJoint) -> list[Callout]:
    """Clearance at the key's sides: from readings, else from the usual classes (key h9, shaft N9, hub JS9)."""
    record = _record(bench, joint)
    if record is None:
        return []
    key = record.key_width
    try:
        normal = {
            "key": fits.shaft_limits(joint.width, "h9"),
            "shaft": keys.keyway_limits(joint.width, "N9"),
            "hub": keys.keyway_limits(joint.width, "JS9"),
        }
    except ValueError:
        return []
    sizes = {
        which: (read.low, read.high) if read is not None else normal[which].at(joint.width)
        for which, read in (("key", key), ("shaft", record.shaft_width), ("hub", record.hub_width))
    }
    measured = all(item is not None for item in (key, record.shaft_width, record.hub_width))
    bands = {which: (sizes[which][0] - sizes["key"][1], sizes[which][1] - sizes["key"][0]) for which in ("shaft", "hub")}
    play = sum((low + high) / 2.0 for low, high in bands.values())
    return [
        note(
            f"key.{joint.name}.sides", joint.key, joint.at, "key_sides" if measured else "key_sides_drawing", play, "mm",
            text("callout.key_sides_label", band=clearance_band(bench, *bands["shaft"])),
            how="key_sides", given={which: from_to(bench, *size) for which, size in sizes.items()},
            source=text("source.measured" if measured else "source.keyway_classes"), key=part_name(joint.key),
            shaft=clearance_band(bench, *bands["shaft"]), hub=clearance_band(bench, *bands["hub"]),
        )
    ]  # fmt: skip


def _stress(bench: Bench, joint: KeyJoint) -> list[Callout]:
    """What the rated torque does to the key if the fit carried nothing."""
    torque = rated_torque(bench, joint.hub == "pinion")
    if torque is None:
        return []
    section = keys.KeySection(joint.width, joint.height, joint.shaft_depth, joint.hub_depth)
    load = keys.key_load(torque, joint.diameter, section, joint.length)
    worst, limit = max(load.hub_pressure, load.shaft_pressure), KEY_YIELD * KEY_STRESS_SHARE
    shown = bench.shown(torque, "torque", digits=0)
    return [
        note(
            f"key.{joint.name}.stress", joint.key, joint.at, "key_stress", worst, "MPa", text("callout.key_stress_label", pressure=bench.shown(worst, "pressure")),
            how="key_stress", given={"torque": shown, "diameter": bench.size(joint.diameter), "length": bench.shown(load.bearing_length, "length")},
            limit=at_most(bench.shown(limit, "pressure")), verdict="fine" if worst <= limit else "watch", source=text("source.key_stress"),
            key=part_name(joint.key), torque=shown, pressure=bench.shown(worst, "pressure"), shear=bench.shown(load.shear, "pressure"),
        )
    ]  # fmt: skip


def of_dowel(bench: Bench, joint: DowelJoint) -> list[Callout]:
    """Fit of the dowels in their holes."""
    if not set(bench.reducer.members(joint.dowels)) & bench.new:
        return []
    low, high = joint.hole.lower - joint.pin.upper, joint.hole.upper - joint.pin.lower
    band = clearance_band(bench, low, high)
    sizes = {name: from_to(bench, *item.at(joint.diameter)) for name, item in (("bore", joint.hole), ("shaft", joint.pin))}
    return [
        note(
            f"dowel.{joint.name}", bench.reducer.members(joint.dowels)[0], joint.at, "dowel", (low + high) / 2, "mm", band,
            how="clearance", given=sizes, source=text("source.dowel"), diameter=bench.size(joint.diameter), band=band,
        )
    ]  # fmt: skip


def of_wire(bench: Bench, joint: WireJoint) -> list[Callout]:
    """Which heads are wired together, how often the wire is twisted, which way it pulls."""
    if joint.wire not in bench.new:
        return []
    screws = next(item for item in bench.reducer.of_kind(ScrewJoint) if item.screws == joint.screws)
    diameter = WIRE.get(screws.thread, LARGE_WIRE)
    twist = tightening.twists(diameter)
    per = (25.4 if bench.settings.units == "inch" else 10.0) / 25.4
    twists = f"{twist.low * per:.0f}\u2013{twist.high * per:.0f}"
    return [
        note(
            f"wire.{joint.name}", joint.wire, joint.at, "wire" if joint.count % 2 == 0 else "wire_odd", float(joint.count), "heads", text("callout.wire_short", count=joint.count),
            how="wire", given={"count": str(joint.count)}, source=text("source.lockwire"), screws=text(f"part.{joint.screws}", count=joint.count),
            wire=bench.shown(diameter, "length", digits=None if bench.settings.units == "inch" else 1), twists=twists,
            length=text("callout.per_inch" if bench.settings.units == "inch" else "callout.per_centimetre"),
        )
    ]  # fmt: skip
