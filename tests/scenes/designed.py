"""Machines designed from drawn figures by plain rules of proportion, not from the shipped examples: another one for each seed.

Drawn: ratio 1.5 to 6, tooth form, teeth, shafts 30 to 120 mm, bearing series of ISO 15, locknuts of ISO 2982, screw counts 4 to 16
circle by circle, arrangement of the pairs, gaskets. Every other size follows; the proportions are ours, common practice, no source.
Lengths mm. A draw that makes no reducer is refused by the machine's own rules and drawn again.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, ceil, cos, degrees, hypot, pi
from random import Random
from typing import Any

from calc import bearings, hardware, keys
from geometry import high_speed
from geometry.machine import Machine, MachineError, accept

BORES = (30, 35, 40, 45, 50, 55, 60, 65, 70, 75, 80, 85, 90, 95, 100, 105, 110)
"""Bearing bores that both ISO 15 and the locknuts of ISO 2982 hold [mm]."""
NUTS = {20: "M20x1", 25: "M25x1.5", 30: "M30x1.5", 35: "M35x1.5", 40: "M40x1.5", 45: "M45x1.5", 50: "M50x1.5"}
SCREWS = (6, 8, 10, 12, 14, 16, 20, 24)
"""Screw sizes M6 to M24 [mm]."""
MOST_DRAWS = 400
"""Draws before a seed is given up."""


@dataclass(frozen=True)
class Design:
    """A machine of a seed: its figures, its tables, how many draws were refused before it, with their reasons."""

    seed: int
    machine: Machine
    data: dict[str, Any]
    refused: tuple[str, ...]

    @property
    def told(self) -> str:
        g, d = self.machine.gears, self.data
        counts = [
            d[a]["screws"]["count"]
            for a in ("high_speed_cartridge", "high_speed_cover", "low_speed_cartridge", "low_speed_cover", "carrier")
        ]
        return (
            f"seed {self.seed}: {g.pinion_teeth}/{g.gear_teeth} = {g.gear_teeth / g.pinion_teeth:.2f}, module {g.module:.2f}, {g.pinion_hand}, "
            f"shafts {d['high_speed_shaft']['bearing_seat']['diameter']} and {d['low_speed_shaft']['bearing_seat']['diameter']}, screws {counts}"
        )


def design(seed: int) -> Design:
    """The first machine of this seed that can be built."""
    random, refused = Random(seed), []
    for _ in range(MOST_DRAWS):
        try:
            data = _drawn(random)
            return Design(seed, accept(data), data, tuple(refused))
        except MachineError as error:
            refused += error.faults
        except Unfit as error:
            refused.append(str(error))
    raise AssertionError(f"seed {seed}: nothing in {MOST_DRAWS} draws: {refused[-5:]}")


class Unfit(Exception):
    """A draw that its own rules give up before it is a machine."""


def nut(bore: float) -> str:
    """Designation of the locknut's thread."""
    return NUTS.get(round(bore), f"M{bore:g}x2")


def _mm(size: float) -> str:
    return f"{size:.4f} mm"


def _tolerated(size: float, half: float) -> dict[str, str]:
    return {"size": _mm(size), "plus": _mm(half), "minus": _mm(half)}


def _fit(size: float, name: str) -> dict[str, str]:
    return {"diameter": _mm(size), "fit": name}


def _size(screw: float) -> hardware.SocketScrew:
    return hardware.socket_screw(f"M{screw:g}")


def _screw(least: float) -> float:
    """The screw size nearest above."""
    return next((float(size) for size in SCREWS if size >= least), float(SCREWS[-1]))


def _circle(
    random: Random, screw: float, circle: float, clamped: float, *, drilled: bool = False, split: bool = False, passing: float = 0.0
) -> dict[str, Any]:
    """A circle of screws: a count from 4 to 16 that fits, a length with 1.2 to 1.8 diameters of thread.

    `drilled`: wired, where wire drawn straight from head to head stays 2 mm off what stands in the circle or passes it later, else
    its threads are locked another way; `passing`: diameter of that [mm].
    """
    head = _size(screw).head_diameter + (5.0 if drilled else 1.0)
    most = min(16, int(pi / _arcsine(head / circle)) if circle > head else 0)
    if most < 4:
        raise Unfit(f"M{screw:g} on {circle:.1f} mm: fewer than four screws")
    count = random.randint(4, most)
    step = 2.0 * pi / count
    angle = random.uniform(0.0, step)
    if split:
        free = [
            k * step / 8.0
            for k in range(8)
            if all(abs(cos(k * step / 8.0 + i * step)) * circle / 2.0 > screw + 1.0 for i in range(count))
        ]
        if not free:
            raise Unfit("a screw on the split")
        angle = random.choice(free)
    return {
        "thread": f"M{screw:g}", "length": _mm(ceil((clamped + random.uniform(1.2, 1.8) * screw) / 5.0) * 5.0 if screw > 8 else clamped + 1.6 * screw),
        "count": count, "circle": _mm(circle), "first_angle": f"{degrees(angle):.3f} deg", "drilled": drilled and circle * cos(pi / count) > passing + 4.0,
    }  # fmt: skip


def _arcsine(share: float) -> float:
    return atan2(share, max(1e-9, 1.0 - share * share) ** 0.5)


def _key(diameter: float, seat: float) -> dict[str, str]:
    """A key over most of its seat."""
    section = keys.key_section(diameter)
    return {"length": _mm(max(section.width + 2.0, 0.8 * seat - 4.0))}


def _drawn(random: Random) -> dict[str, Any]:
    """The tables of one draw; may be refused."""
    ratio = random.uniform(1.5, 6.0)
    straight = random.random() < 0.5
    z1 = random.randint(12, 22) if ratio < 3.0 else random.randint(10, 16)
    z2 = round(ratio * z1)
    bore_1 = random.choice(BORES)
    bore_2 = random.choice([bore for bore in BORES if bore >= 0.9 * bore_1])
    # pinion: root over the keyway decides the module
    seat = max(25.0, 5.0 * round(random.uniform(0.7, 0.95) * bore_1 / 5.0))
    section = keys.key_section(seat)
    reach = hypot(z1, z2) / 2.0
    face_share = random.uniform(0.26, 0.3)
    least = (seat / 2.0 + section.hub_depth) / (z1 / 2.0 * (1.0 - face_share) - 1.25 - 0.5)
    module = round(max(3.0, least * random.uniform(1.02, 1.25)), 2)
    if module > 25.0:
        raise Unfit("module over 25 mm")
    face = max(2.05 * module, min(face_share * module * reach, 10.0 * module))
    share = face / (module * reach)
    r1, r2 = module * z1 / 2.0, module * z2 / 2.0
    tip_1, tip_2 = r1 + 1.6 * module, r2 + 0.9 * module

    inner = _roller(random, bore_1)
    pair_1 = _pair(random, bore_1)
    if inner["D"] != pair_1["D"] and random.random() < 0.5:
        pair_1 = {**pair_1, **{key: inner[key] for key in ("series", "D", "B", "r")}}
    # ---- pinion shaft, along x
    marked = r2 + random.uniform(2.6, 3.2) * module
    toe = r2 * (1.0 - share)
    length = marked - (toe - random.uniform(0.9, 1.5) * module)
    small = _screw(0.045 * inner["D"])
    ring = max(6.0, round(0.06 * inner["D"]))
    collar = max(bore_1, seat) * 1.15 + 3.0
    collar_width = max(0.16 * bore_1, ring + _size(small).head_height + 4.0 - (marked - tip_2))
    roller_out = marked + collar_width + inner["B"]
    # ---- case
    wall = max(8.0, round(0.04 * tip_2 + 8.0))
    radius = ceil(tip_2 + random.uniform(8.0, 20.0))
    body_1 = ceil(max(2.0 * tip_1 + 6.0, inner["D"] + 2.0 * (_size(small).clearance_hole + 8.0), pair_1["D"] + 24.0))
    end_face = ceil(max(radius + wall + 14.0, roller_out + random.uniform(-8.0, 2.0)))
    sleeve = max(0.3 * bore_1, end_face + 6.0 - roller_out, 8.0)
    gasket = random.choice((0.3, 0.4, 0.5, 0.8))
    stop = roller_out + sleeve
    stop_offset = stop - end_face - 0.9 * gasket
    spacer_1 = random.uniform(6.0, 16.0)
    stack_1 = 2.0 * pair_1["B"] + spacer_1
    float_1, spigot_1 = random.choice((0.4, 0.5, 0.6)), random.uniform(3.0, 5.0)
    outer_face_1 = stack_1 + spigot_1 + 0.04 - 0.9 * float_1
    # ---- high-speed cartridge and cover
    cover_screw = _screw(0.06 * pair_1["D"])
    nut_1 = hardware.locknut(nut(bore_1))
    thrower_1 = min(nut_1.outside + random.uniform(0.0, 6.0), pair_1["D"] - 18.0)
    cavity_1 = high_speed.cover_cavity(nut(bore_1), thrower_1)
    seal_1 = _seal(bore_1)
    seal_outside_1 = seal_1 + max(16.0, 0.35 * seal_1)
    neck_1, circle_1 = _neck(pair_1["D"], cover_screw, max(cavity_1, seal_outside_1))
    flange_screw = _screw(0.07 * body_1)
    flange_1 = max(12.0, min(round(0.12 * body_1), stop_offset + outer_face_1 - 2.0))
    flange_circle_1, flange_diameter_1 = _flange(max(neck_1, body_1), flange_screw)
    nut_width = nut_1.width + hardware.tab_washer(nut(bore_1)).thickness
    thrower_width = max(5.0, round(0.14 * bore_1))
    over = stack_1 + thrower_width + nut_width + 2.0 - (outer_face_1 + 0.9 * float_1)
    seal_width = max(7.0, round(0.12 * seal_1))
    cover_1 = max(over, 2.0) + seal_width + 8.0 + random.uniform(0.5, 6.0)
    # ---- gear shaft, along z
    coll_2 = bore_2 * 1.2 + 4.0
    gear_seat = 5.0 * round(bore_2 * random.uniform(1.02, 1.12) / 5.0)
    gear_seat = min(max(gear_seat, bore_2), 120.0, 5.0 * int((coll_2 - 2.0) / 5.0))
    lower_bore = max([bore for bore in BORES if bore < gear_seat - 1.0 and bore <= bore_2] or [0])
    if lower_bore < 30:
        raise Unfit("no lower seat")
    lower, pair_2 = _roller(random, lower_bore), _pair(random, bore_2)
    gear_marked = r1 + random.uniform(3.2, 4.2) * module
    gear_front = r1 * (1.0 - share) - random.uniform(1.0, 2.0) * module
    inner_nut = hardware.locknut(nut(_thread(seat)))
    hub = gear_seat * random.uniform(1.42, 1.55)
    inner_end = marked - length - inner_nut.width - hardware.tab_washer(nut(_thread(seat))).thickness - 4.0
    if hub / 2.0 > inner_end - 3.0:
        gear_front = max(gear_front, inner_nut.outside / 2.0 + 3.0)
    gear_length = gear_marked - gear_front
    low_screw = _screw(0.045 * lower["D"])
    low_ring = max(6.0, round(0.06 * lower["D"]))
    flange_thick = max(16.0, round(1.6 * wall))
    split = _screw(0.7 * wall)
    split_length = ceil((flange_thick + 2.0 * split) / 5.0) * 5.0
    border = 5.2 * small
    while (  # the lower inspection opening is as tall as the packers that go out through it
        max(split_length - flange_thick + 11.0, flange_thick) + 3.0 + border / 2.0 > gear_marked + 1.5
        and split_length - 5.0 > flange_thick + 0.8 * split
    ):
        split_length -= 5.0
    flange_screw_2 = _screw(0.07 * pair_2["D"])
    floor_least = max(
        body_1 / 2.0 + wall + 14.0,
        max(split_length - flange_thick + 11.0, flange_thick) + 3.0 + 15.0 + border / 2.0 + 4.0,
        flange_diameter_1 / 2.0 + 6.0,
        flange_thick + wall + 14.0,
    )
    to_seat, carrier_gasket = random.uniform(3.0, 6.0), 0.4
    offset = random.uniform(-0.3, 0.3)
    gear_spacer = max(
        low_ring + _size(low_screw).head_height + 4.0 + offset, floor_least - gear_marked - lower["B"] + 0.36 + to_seat
    )
    floor = gear_marked + gear_spacer + lower["B"] + 0.9 * carrier_gasket + to_seat + offset
    body_3 = ceil(lower["D"] + 2.0 * (_size(low_screw).clearance_hole + 8.0))
    cover_screw_2 = _screw(0.05 * pair_2["D"]) if pair_2["D"] < 240 else 12.0
    nut_3 = hardware.locknut(nut(lower_bore))
    shoulder = min(lower["E"] + 0.3 * (lower["D"] - lower["E"]), lower["D"] - 4.0)
    thrower_2 = min(shoulder, lower["E"]) - 4.0
    body_3 = max(body_3, ceil(shoulder + 2.0 * _size(cover_screw_2).head_diameter + 2.0))
    carrier_screw = _screw(0.06 * body_3)
    flange_circle_3, flange_diameter_3 = _flange(body_3, carrier_screw)
    thrower_width_2 = max(5.0, round(0.12 * lower_bore))
    below = thrower_width_2 + nut_3.width + hardware.tab_washer(nut(lower_bore)).thickness + 20.0
    depth_3 = below + random.uniform(1.0, 8.0) - to_seat - offset
    # ---- upper end
    spacer_2 = random.uniform(8.0, 16.0)
    stack_2 = 2.0 * pair_2["B"] + spacer_2
    float_2, spigot_2 = random.choice((0.4, 0.5, 0.6)), random.uniform(3.0, 5.0)
    outer_face_2 = stack_2 + spigot_2 + 0.04 - 0.9 * float_2
    nut_2 = hardware.locknut(nut(bore_2))
    seal_2 = _seal(bore_2)
    seal_outside_2 = seal_2 + max(16.0, 0.3 * seal_2)
    neck_2, circle_2 = _neck(pair_2["D"], cover_screw_2, max(high_speed.cover_cavity(nut(bore_2)), seal_outside_2))
    body_2 = ceil(pair_2["D"] + random.uniform(20.0, 40.0))
    flange_circle_2, flange_diameter_2 = _flange(max(neck_2, body_2), flange_screw_2)
    flange_2 = max(12.0, round(0.11 * body_2))
    lip = round(body_2 / 20.0, 1)
    gear_gasket, film = random.choice((0.3, 0.4, 0.5)), 0.03
    upper = max(
        body_1 / 2.0 + wall + 14.0,
        flange_diameter_1 / 2.0 + 6.0,
        flange_thick + split + 13.0 + wall / 2.0 + 2.0 * border / 2.0 + 20.0,
    )
    offset_2 = -(outer_face_2 - flange_2 - 3.0) * random.uniform(0.5, 1.0)
    upper = ceil(max(upper, tip_1 + 5.0 + lip - offset_2))
    stop_2 = film + upper + 0.9 * gear_gasket + offset_2
    collar_length = stop_2 + gear_front
    over_2 = stack_2 + nut_2.width + hardware.tab_washer(nut(bore_2)).thickness + 2.0 - (outer_face_2 + 0.9 * float_2)
    seal_width_2 = max(7.0, round(0.12 * seal_2))
    cover_2 = max(over_2, 2.0) + seal_width_2 + 8.0 + random.uniform(0.5, 6.0)
    packer = max(0.88 * r2 - flange_diameter_3 / 2.0 - 6.0, 14.0)
    past = flange_diameter_3 / 2.0 + 31.0 + 0.87 * packer  # a packer slides out between carrier pad and wall without being turned
    beside = (flange_diameter_2 / 2.0 + 3.0 + 1.05 * split) / 0.9  # the breather stands on the roof beside the upper flange
    radius = max(radius, ceil(max(flange_diameter_1 / 2.0, flange_diameter_2 / 2.0, past, beside)))
    outward = max(0.0, radius + wall + 14.0 - end_face)  # a wider case carries the pair farther out on a longer sleeve
    end_face, sleeve = end_face + outward, sleeve + outward
    extension_1, extension_2 = 5.0 * int(seal_1 / 5.0), 5.0 * int(seal_2 / 5.0)
    return {
        "name": "Designed machine", "units": random.choice(("mm", "inch")),
        "gears": {
            "pinion_teeth": z1, "gear_teeth": z2, "outer_module": _mm(module), "face_width": _mm(face), "pressure_angle": "20 deg",
            "spiral_angle": "0 deg" if straight else f"{random.uniform(25.0, 35.0):.2f} deg",
            "pinion_hand": "straight" if straight else random.choice(("left", "right")),
            **({} if straight else {"cutter_radius": _mm(module * reach * random.uniform(1.0, 1.3))}),
            "design_backlash": _mm(0.02 * module + 0.06), "backlash": [_mm(0.015 * module + 0.04), _mm(0.03 * module + 0.1)],
            "pinion_mounting_distance": _tolerated(marked, 0.05), "gear_mounting_distance": _tolerated(gear_marked, 0.05),
        },
        "pinion": {"bore": _fit(seat, "H7"), "length": _tolerated(length, 0.02), "hub_diameter": _mm(max(seat + 2.0 * section.hub_depth + 4.0, min(seat * 1.4, 2.0 * r1 * (1 - share) - 3.0 * module))), "key": _key(seat, length)},
        "gear": {"bore": _fit(gear_seat, "H7"), "length": _tolerated(gear_length, 0.02), "hub_diameter": _mm(hub), "key": _key(gear_seat, gear_length)},
        "high_speed_shaft": {
            "pinion_seat": _fit(seat, random.choice(("p6", "r6"))), "pinion_thread": nut(_thread(seat)), "collar_diameter": _mm(min(collar, inner["retainer"] - 4.0)), "collar_width": _tolerated(collar_width, 0.01),
            "bearing_seat": _fit(bore_1, random.choice(("k5", "m5"))), "bearing_thread": nut(bore_1), "seal_diameter": _mm(seal_1),
            "extension": _fit(extension_1, "k6"), "extension_length": _mm(2.0 * extension_1), "coupling_key": _key(extension_1, 2.0 * extension_1 - 8.0),
        },
        "low_speed_shaft": {
            "gear_seat": _fit(gear_seat, random.choice(("r6", "s6"))), "collar_diameter": _mm(max(coll_2, gear_seat + 4.0)), "collar_length": _tolerated(collar_length, 0.02),
            "bearing_seat": _fit(bore_2, "k5"), "bearing_thread": nut(bore_2), "lower_seat": _fit(lower_bore, "m5"), "lower_thread": nut(lower_bore),
            "seal_diameter": _mm(seal_2), "extension": _fit(extension_2, "m6"), "extension_length": _mm(2.0 * extension_2), "coupling_key": _key(extension_2, 2.0 * extension_2 - 8.0),
        },
        "inner_bearing": _roller_table(inner), "lower_bearing": _roller_table(lower),
        "high_speed_pair": _pair_table(random, pair_1, spacer_1), "low_speed_pair": _pair_table(random, pair_2, spacer_2),
        "spacers": {
            "high_speed_sleeve": _tolerated(sleeve, 0.01), "gear_spacer": _tolerated(gear_spacer, 0.02), "high_speed_thrower": _mm(thrower_width), "high_speed_thrower_diameter": _mm(max(thrower_1, bore_1 + 8.0)),
            "lower_thrower": _mm(thrower_width_2), "lower_thrower_diameter": _mm(thrower_2),
        },
        "high_speed_cartridge": {
            "body": _fit(body_1, "g6"), "flange_diameter": _mm(flange_diameter_1), "flange_thickness": _mm(flange_1), "stop_offset": _tolerated(stop_offset, 0.02),
            "outer_face": _tolerated(outer_face_1, 0.005), "pair_seat": _fit(pair_1["D"], "H6"), "stop_bore": _mm(_stop(bore_1 * 1.2 + 2.0, min(pair_1["D"], inner["D"]), inner["r"])), "neck_diameter": _mm(neck_1),
            "rib_width": _tolerated(sleeve, 0.05), "roller_seat": _fit(inner["D"], "J7"), "roller_seat_depth": _tolerated(inner["B"] - 0.2, 0.03),
            "screws": _circle(random, flange_screw, flange_circle_1, flange_1, split=True),
            "retainer": _retainer(random, inner, body_1, ring, small),
        },
        "high_speed_cover": {
            "spigot": _tolerated(spigot_1, 0.005), "outside": _mm(min(neck_1, flange_diameter_1)), "thickness": _mm(cover_1), "screws": _circle(random, cover_screw, circle_1, min(14.0, 0.6 * cover_1)),
            "seal_outside": _mm(seal_outside_1), "seal_width": _mm(seal_width),
        },
        "low_speed_cartridge": {
            "body": _fit(body_2, "g6"), "flange_diameter": _mm(flange_diameter_2), "flange_thickness": _mm(flange_2), "stop_offset": _tolerated(offset_2, 0.02), "outer_face": _tolerated(outer_face_2, 0.005),
            "pair_seat": _fit(pair_2["D"], "H6"), "stop_bore": _mm(_stop(max(coll_2, gear_seat + 4.0) + 2.0, pair_2["D"], pair_2["r"])), "neck_diameter": _mm(neck_2),
            "screws": _circle(random, flange_screw_2, flange_circle_2, flange_2),
        },
        "low_speed_cover": {
            "spigot": _tolerated(spigot_2, 0.005), "outside": _mm(neck_2), "thickness": _mm(cover_2), "screws": _circle(random, cover_screw_2, circle_2, min(14.0, 0.6 * cover_2)),
            "seal_outside": _mm(seal_outside_2), "seal_width": _mm(seal_width_2),
        },
        "carrier": {
            "body": _fit(body_3, "g6"), "flange_diameter": _mm(flange_diameter_3), "flange_thickness": _mm(max(10.0, min(round(0.09 * body_3), to_seat + lower["B"] - 2.0))), "roller_seat": _fit(lower["D"], "J7"),
            "roller_seat_depth": _tolerated(lower["B"] - 0.2, 0.03), "flange_to_seat": _tolerated(to_seat, 0.02), "shoulder_bore": _mm(shoulder), "depth": _mm(depth_3),
            "gasket": {"thickness": _mm(carrier_gasket), "compression": "10 %"}, "screws": _circle(random, carrier_screw, flange_circle_3, max(10.0, min(round(0.09 * body_3), to_seat + lower["B"] - 2.0)), drilled=True, passing=body_3),
            "retainer": _retainer(random, lower, body_3, low_ring, low_screw),
        },
        "case": {
            "end_face": _tolerated(end_face, 0.03), "upper_height": _tolerated(upper, 0.03), "floor_depth": _tolerated(floor, 0.05), "sealing_film": _mm(film),
            "horizontal_bore": _fit(body_1, "H7"), "upper_bore": _fit(body_2, "H7"), "floor_bore": _fit(body_3, "H7"), "inner_radius": _mm(radius), "wall": _mm(wall), "foot_height": _mm(depth_3 + 60.0),
            "flange_width": _mm(_size(split).head_diameter + 12.0), "flange_thickness": _mm(flange_thick), "split_screws": {"thread": f"M{split:g}", "length": _mm(split_length), "per_side": random.randint(4, 6)},
            "dowel_diameter": _mm(8.0 if split < 12 else 10.0 if split < 16 else 12.0),
        },
        "gaskets": {
            "pinion_gasket": {"thickness": _mm(gasket), "compression": "10 %"}, "gear_gasket": {"thickness": _mm(gear_gasket), "compression": "10 %"},
            "high_speed_float_gasket": {"thickness": _mm(float_1), "compression": "10 %"}, "low_speed_float_gasket": {"thickness": _mm(float_2), "compression": "10 %"},
        },
        "limits": {"high_speed_end_play": ["0.02 mm", "0.08 mm"], "low_speed_end_play": ["0.02 mm", "0.08 mm"]},
    }  # fmt: skip


def _thread(seat: float) -> float:
    """Thread of the pinion's locknut: the largest that its seat passes over [mm]."""
    return max(size for size in (20, 25, *BORES) if size <= seat)


def _seal(bore: float) -> float:
    """Seal seat that locknut and tongue of its washer pass over [mm]."""
    washer = hardware.tab_washer(nut(bore))
    tongue = 2.0 * washer.tongue_to_bore - washer.bore
    return float(int(min(hardware.thread(nut(bore)).minor_diameter, tongue) - 1.0))


def _roller(random: Random, bore: float) -> dict[str, Any]:
    """A cylindrical roller bearing of ISO 15 with raceways in the middle of its section [mm]."""
    series = random.choice(("02", "02", "03", "22"))
    size = bearings.boundary(float(bore), series)
    section = (size.outside - size.bore) / 2.0
    race = size.bore + 2.0 * max(0.27 * section, size.chamfer + 1.6)
    outer = size.outside - 2.0 * max(0.25 * section, size.chamfer + 1.6)
    roller, circle = (outer - race) / 2.0, (outer + race) / 4.0
    count = int(0.82 * pi / _arcsine((0.53 * roller + 0.2) / circle))
    return {
        "bore": bore, "series": series, "D": size.outside, "B": size.width, "r": size.chamfer, "F": race, "E": outer, "count": count,
        "retainer": outer + 0.45 * (size.outside - outer),
    }  # fmt: skip


def _roller_table(size: dict[str, Any]) -> dict[str, Any]:
    return {
        "bore": _mm(size["bore"]), "series": size["series"], "raceway_inner": _mm(size["F"]), "raceway_outer": _mm(size["E"]), "roller_count": size["count"],
        "width": {"readings": [_mm(size["B"])]},
    }  # fmt: skip


def _pair(random: Random, bore: float) -> dict[str, Any]:
    series = random.choice(("02", "02", "03"))
    size = bearings.boundary(float(bore), series)
    return {"bore": bore, "series": series, "D": size.outside, "B": size.width, "r": size.chamfer}


def _pair_table(random: Random, size: dict[str, Any], spacer: float) -> dict[str, Any]:
    return {
        "bore": _mm(size["bore"]), "series": size["series"], "contact_angle": random.choice(("25 deg", "40 deg")), "arrangement": random.choice(("back-to-back", "face-to-face")),
        "inner_spacer": _tolerated(spacer, 0.002), "outer_spacer": _tolerated(spacer, 0.002), "width": {"readings": [_mm(size["B"])]},
    }  # fmt: skip


def _stop(least: float, outside: float, chamfer: float) -> float:
    """Bore of a stop between what must pass it and the ring that must not [mm]."""
    return max(least, outside - 4.0 - 3.0 * chamfer)


def _neck(outside: float, screw: float, room: float) -> tuple[float, float]:
    """Outside of a neck or cover and its screw circle: heads clear of cavity and seal, threads clear of the seat [mm]."""
    size = _size(screw)
    circle = max(outside + size.clearance_hole + 3.0, room + size.head_diameter + 5.0)
    return ceil(circle + size.head_diameter + 4.0), circle


def _flange(inside: float, screw: float) -> tuple[float, float]:
    """Screw circle and outside of a flange around a neck or body [mm]."""
    size = _size(screw)
    circle = inside * 1.02 + size.head_diameter + 9.0
    return circle, ceil(circle + size.head_diameter + 4.0)


def _retainer(random: Random, bearing: dict[str, Any], body: float, thickness: float, screw: float) -> dict[str, Any]:
    size = _size(screw)
    circle = max(bearing["D"] + size.clearance_hole + 1.0, bearing["retainer"] + size.head_diameter + 1.0)
    outside = min(body - 1.0, circle + size.head_diameter + 6.0)
    return {
        "bore": _mm(bearing["retainer"]), "outside": _mm(outside), "thickness": _mm(thickness),
        "screws": _circle(random, screw, circle, thickness, drilled=True, passing=bearing["E"]),
    }  # fmt: skip
