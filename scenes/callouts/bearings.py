"""Notes of the bearings: clearance before and after mounting, overlap of rollers and ring, what a duplex pair's spacers and sides do."""

from __future__ import annotations

from calc import clearance, duplex
from calc.clearance import ClearanceBand
from geometry.joints import Fit, RollerJoint
from geometry.machine import Pair
from scenes.callouts.bench import SLACK, Bench, at_least, from_to, note, part_name, place_of
from scenes.frame import Callout, Verdict
from scenes.wording import text

LEAST_OVERLAP = 0.9
"""Share of a roller ring's width that its rollers should run on [1]: common practice, no source."""
RUNNING_DIFFERENCE = 5.0
"""How much warmer the inner ring runs than the outer one [K]: common practice, no source."""


def of_rollers(bench: Bench, joint: RollerJoint) -> list[Callout]:
    """Overlap of rollers and ring, and the radial clearance that is left once both rings are on."""
    if not bench.made((joint.rollers, joint.ring)):
        return []
    found, width = [], tenths(bench, joint.width)
    if joint.name.startswith("lower"):
        drop = bench.reducer.machine.spacers.packer_drop
        shared = tenths(bench, joint.overlap_at(-drop))
        found.append(
            note(
                f"rollers.{joint.name}.on_packers", joint.rollers, joint.at, "roller_overlap_on_packers", joint.overlap_at(-drop), "mm",
                text("callout.roller_overlap_on_packers_label", overlap=shared),
                how="overlap", given={"width": width, "offset": bench.shown(joint.offset - drop, "length", signed=True)},
                source=text("source.chain"), drop=bench.size(drop), overlap=shared,
            )
        )  # fmt: skip
    wanted, overlap = LEAST_OVERLAP * joint.width, tenths(bench, joint.overlap)
    found.append(
        note(
            f"rollers.{joint.name}", joint.rollers, joint.at, "roller_overlap" if joint.name.startswith("lower") else "roller_overlap_level", joint.overlap, "mm", text("callout.roller_overlap_label", overlap=overlap),
            how="overlap", given={"width": width, "offset": bench.shown(joint.offset, "length", signed=True)},
            limit=at_least(tenths(bench, wanted)), verdict="fine" if joint.overlap >= wanted - SLACK else "watch",
            source=text("source.common_practice"), overlap=overlap, width=width, ring=part_name(joint.ring),
        )
    )  # fmt: skip
    return found + _clearance(bench, joint)


def tenths(bench: Bench, value: float) -> str:
    """A length that nobody needs closer than a tenth of a millimetre."""
    return bench.shown(value, "length", digits=2 if bench.settings.units == "inch" else 1)


def _clearance(bench: Bench, joint: RollerJoint) -> list[Callout]:
    """Radial clearance as delivered by its group, mounted, and warm."""
    name = joint.rollers.removesuffix("_rollers")
    bearing = getattr(bench.reducer.machine, name)
    inner = next((item for item in bench.reducer.of_kind(Fit) if item.bore_part == f"{name}_inner_ring"), None)
    outer = next((item for item in bench.reducer.of_kind(Fit) if item.shaft_part == f"{name}_outer_ring"), None)
    try:
        initial = clearance.internal_clearance(bearing.bore, "cylindrical roller", bearing.clearance_group)
    except ValueError:
        return []
    assert bearing.outside is not None
    left = clearance.mounted_clearance(
        initial,
        bore=bearing.bore,
        outside=bearing.outside,
        kind="cylindrical roller",
        inner_raceway=bearing.raceway_inner,
        inner_interference=ClearanceBand(-inner.clearance[2], -inner.clearance[0])
        if inner is not None
        else ClearanceBand(0.0, 0.0),
        outer_raceway=bearing.raceway_outer,
        outer_interference=ClearanceBand(-outer.clearance[2], -outer.clearance[0]) if outer is not None else None,
        difference=RUNNING_DIFFERENCE,
    )
    band = from_to(bench, left.mounted.low, left.mounted.high)
    state: Verdict = "stop" if left.mounted.mid <= 0.0 else "watch" if left.may_be_preloaded else "fine"
    return [
        note(
            f"clearance.{name}", joint.rollers, joint.at, "mounted_clearance", left.mounted.mid, "mm", text("callout.mounted_clearance_label", band=band),
            how="mounted_clearance",
            given={"initial": from_to(bench, initial.low, initial.high), "inner": from_to(bench, left.inner_loss.low, left.inner_loss.high),
                   "outer": from_to(bench, left.outer_loss.low, left.outer_loss.high), "thermal": bench.shown(left.thermal_loss, "length")},
            limit=text("callout.limit_play"), verdict=state, source=text("source.iso5753"),
            bearing=text(f"part.{name}"), group=bearing.clearance_group, initial=from_to(bench, initial.low, initial.high), band=band,
            warm=from_to(bench, left.band.low, left.band.high), difference=bench.shown(RUNNING_DIFFERENCE, "temperature rise"),
        )
    ]  # fmt: skip


def of_pair(bench: Bench) -> list[Callout]:
    """A duplex pair: which way round, what its spacers make of its play, and what each mix-up would do."""
    found: list[Callout] = []
    for side, pair in (("high_speed", bench.reducer.machine.high_speed_pair), ("low_speed", bench.reducer.machine.low_speed_pair)):
        first, second, inner = f"{side}_bearing_1", f"{side}_bearing_2", f"{side}_inner_spacer"
        arrives = {name: bool(set(bench.reducer.members(name)) & bench.new) for name in (first, second, inner)}
        for index, name in ((1, first), (2, second)):
            if arrives[name]:
                found.append(_turned(bench, pair, side, index, name))
        if arrives[inner]:
            found.append(_spacers(bench, pair, side, inner))
        if arrives[second]:
            found.append(_play(bench, pair, side, second))
    return found


def _given(bench: Bench, pair: Pair) -> dict[str, str]:
    return {"arrangement": text(f"arrangement.{pair.arrangement}"), "inner": bench.shown(pair.inner_spacer.nominal, "length"),
            "outer": bench.shown(pair.outer_spacer.nominal, "length"), "play": bench.shown(pair.internal_play, "length", signed=True)}  # fmt: skip


def _ring(bench: Bench, name: str) -> str:
    return next(member for member in bench.reducer.members(name) if member.endswith("_outer_ring"))


def _turned(bench: Bench, pair: Pair, side: str, index: int, name: str) -> Callout:
    """Which way this bearing faces, and what turning it round would do."""
    wrong = duplex.consequence(
        pair.arrangement, turned="first" if index == 1 else "second", equal_spacers=pair.internal_play,
        inner_spacer=pair.inner_spacer.nominal, outer_spacer=pair.outer_spacer.nominal,
    )  # fmt: skip
    part = _ring(bench, name)
    return note(
        f"pair.{side}.bearing_{index}", part, place_of(bench, part), "pair_side", float(index), "-", text(f"arrangement.{pair.arrangement}"),
        how="pair_turned", given=_given(bench, pair), source=text("source.kinematics"), bearing=text(f"part.{name}"),
        arrangement=text(f"arrangement.{pair.arrangement}"), side=text(f"pair_side.{side}.{pair.arrangement}.{index}"), wrong=text(f"pair_slip.{wrong.key}"),
    )  # fmt: skip


def _spacers(bench: Bench, pair: Pair, side: str, name: str) -> Callout:
    """What swapping the spacers or leaving one out would do."""
    shared = {
        "equal_spacers": pair.internal_play,
        "inner_spacer": pair.inner_spacer.nominal,
        "outer_spacer": pair.outer_spacer.nominal,
    }
    swapped = duplex.consequence(pair.arrangement, spacers_swapped=True, **shared)
    missing = duplex.consequence(pair.arrangement, spacer_missing="inner", **shared)
    both = duplex.consequence(pair.arrangement, spacer_missing="both", **shared)
    difference = pair.inner_spacer.nominal - pair.outer_spacer.nominal
    return note(
        f"pair.{side}.spacers", name, place_of(bench, name), "pair_spacers", difference, "mm", text("callout.pair_spacers_label", difference=bench.shown(difference, "length", signed=True)),
        how="pair_play", given=_given(bench, pair), source=text("source.kinematics"), inner=bench.shown(pair.inner_spacer.nominal, "length"),
        outer=bench.shown(pair.outer_spacer.nominal, "length"), difference=bench.shown(difference, "length", signed=True),
        swapped=text(f"pair_slip.{swapped.key}"), missing=text(f"pair_slip.{missing.key}"), both=text(f"pair_slip.{both.key}"),
    )  # fmt: skip


def _play(bench: Bench, pair: Pair, side: str, name: str) -> Callout:
    """Play or preload of the pair as it stands, its band from the spacers' tolerances."""
    value = duplex.axial_clearance(pair.arrangement, pair.internal_play, pair.inner_spacer.nominal, pair.outer_spacer.nominal)
    half = sum(abs(item.upper - item.lower) / 2.0 for item in (pair.inner_spacer, pair.outer_spacer))
    low, high = value - half, value + half
    state: Verdict = (
        "stop"
        if value < -PRELOAD_LIMIT - SLACK or value > PLAY_LIMIT + SLACK
        else "watch"
        if value < -SLACK or low < -PRELOAD_LIMIT - SLACK or high > PLAY_LIMIT + SLACK
        else "fine"
    )
    part = _ring(bench, name)
    shown = bench.shown(abs(value), "length")
    says = "pair_play" if value > SLACK else "pair_preload" if value < -SLACK else "pair_neither"
    return note(
        f"pair.{side}.play", part, place_of(bench, part), says, value, "mm", text(f"callout.{says}_label", value=shown),
        how="pair_play", given=_given(bench, pair), limit=clearance_limits(bench), verdict=state, source=text("source.pair_play"),
        value=shown, low=bench.shown(value - half, "length", signed=True), high=bench.shown(value + half, "length", signed=True),
    )  # fmt: skip


def clearance_limits(bench: Bench) -> str:
    """Limits of a pair without its maker's word."""
    return text("callout.pair_limits", preload=bench.shown(PRELOAD_LIMIT, "length"), play=bench.shown(PLAY_LIMIT, "length"))


PLAY_LIMIT = 0.06
"""Most play of a duplex pair that passes without the maker's word [mm]: a few hundredths, common practice, no source."""
PRELOAD_LIMIT = 0.01
"""Most preload offset that passes without the maker's word [mm]; any is looked at: common practice, no source."""
