"""What can be measured where a job stands: first the seats, bores, lengths and gaskets of the parts that the step fits, then all others by
their part, then what is written down or answered for.

Contents: `groups`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from geometry.joints import Fit
from scenes.explain import Explainer
from scenes.read_titles import part_of
from scenes.reads import OLDER, Read
from scenes.settings import Settings
from scenes.wording import text

SEATS: Mapping[str, tuple[str, ...]] = {
    "pinion_bore": ("pinion.bore", "high_speed_shaft.pinion_seat"),
    "inner_bearing_bore": ("high_speed_shaft.bearing_seat",),
    "inner_bearing_outside": ("high_speed_cartridge.roller_seat",),
    "high_speed_bearing_1_bore": ("high_speed_shaft.bearing_seat",),
    "high_speed_bearing_1_outside": ("high_speed_cartridge.pair_seat",),
    "high_speed_bearing_2_bore": ("high_speed_shaft.bearing_seat",),
    "high_speed_bearing_2_outside": ("high_speed_cartridge.pair_seat",),
    "cartridge_body": ("case.horizontal_bore", "high_speed_cartridge.body"),
    "gear_bore": ("gear.bore", "low_speed_shaft.gear_seat"),
    "lower_bearing_bore": ("low_speed_shaft.lower_seat",),
    "lower_bearing_outside": ("carrier.roller_seat",),
    "carrier_body": ("case.floor_bore", "carrier.body"),
    "low_speed_cartridge_body": ("case.upper_bore", "low_speed_cartridge.body"),
    "low_speed_bearing_1_bore": ("low_speed_shaft.bearing_seat",),
    "low_speed_bearing_1_outside": ("low_speed_cartridge.pair_seat",),
    "low_speed_bearing_2_bore": ("low_speed_shaft.bearing_seat",),
    "low_speed_bearing_2_outside": ("low_speed_cartridge.pair_seat",),
}
"""Which diameters of the machine file a fit is made of."""
CARRIED: Mapping[str, str] = {
    "dimension.case": "lower_case",
    "dimension.high_speed_pair": "high_speed_bearing_1_inner_ring",
    "dimension.low_speed_pair": "low_speed_bearing_1_inner_ring",
    "part.inner_bearing": "inner_bearing_inner_ring",
    "part.lower_bearing": "lower_bearing_inner_ring",
}
"""The part that is measured for what is not a part's own name."""


def groups(explainer: Explainer, reads: Mapping[str, Read], now: Settings) -> list[tuple[str, tuple[str, ...]]]:
    """Title and readings of each group, in the language spoken; a reading that the step asks for by itself is in none."""
    step = explainer.procedure.steps[now.step] if now.step is not None else None
    asked = step.reads if step is not None else ()
    here = list(dict.fromkeys(_here(explainer, reads, now))) if step is not None else []
    found = [(text("page.record_here"), tuple(here))] if here else []
    parts: dict[str, list[str]] = {}
    for read in reads.values():
        if read.dimension and read.name not in here:
            parts.setdefault(part_of(read.name), []).append(read.name)
    gaskets = [name for part in parts.values() for name in part if len(part) == 1 and name.startswith("gaskets.")]
    found += [(text("page.record_gaskets"), tuple(gaskets))] if gaskets else []
    found += [(text(part), tuple(names)) for part, names in parts.items() if names[0] not in gaskets]
    written = tuple(read.name for read in reads.values() if not (read.steps or read.dimension or read.name in (*asked, *OLDER)))
    return [*found, (text("page.record_written"), written)]


def _here(explainer: Explainer, reads: Mapping[str, Read], now: Settings) -> Iterator[str]:
    """Dimensions of the parts that a step brings, and of the seats that they go on."""
    assert now.step is not None
    bench = explainer.stage(now).bench(explainer.procedure.steps[now.step], now)
    for joint in bench.reducer.of_kind(Fit):
        if bench.made((joint.bore_part, joint.shaft_part)):
            yield from (name for name in SEATS[joint.name] if name in reads)
    for read in reads.values():
        part = part_of(read.name) if read.dimension else ""
        if CARRIED.get(part, part.removeprefix("part.")) in bench.new:
            yield read.name
