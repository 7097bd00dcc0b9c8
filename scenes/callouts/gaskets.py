"""Notes of the gaskets and of the dimension chains: what each sets, what a change does, which stock reaches what is wanted."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from calc import shims, units
from calc.backlash import Rate
from geometry.joints import Chain, GasketJoint, Vector
from geometry.machine import Gasket, Machine
from geometry.reducer import Reducer, build
from scenes.callouts.bench import (
    GASKET_STEP,
    Bench,
    closed,
    from_to,
    measured,
    mesh_rates,
    met,
    note,
    part_name,
    place_of,
    solved,
    verdict_of,
)
from scenes.frame import Callout, Verdict
from scenes.procedure import MAIN_BENCH
from scenes.tooth_contact import displacement
from scenes.wording import text

MOST_GASKETS = 3
"""Most gaskets that give in one stack: common practice, no source. Metal leaves don't give: `calc.shims.MOST_LEAVES`."""
THINNEST = 0.01
"""Thinnest leaf that counts [mm]: common practice, no source."""
TARGET_SHARE = 0.5
"""A stack counts as right when it lands within this share of the half band wanted [1]: own choice."""


def of_gasket(bench: Bench, joint: GasketJoint) -> list[Callout]:
    """Thickness of a gasket that arrives, what a change of it does, and what the stock can make."""
    if joint.gasket not in bench.new:
        return []
    at = place_of(bench, joint.gasket)
    free, clamped = bench.shown(joint.free, "length"), bench.shown(joint.clamped, "length")
    found = [
        note(
            f"gasket.{joint.name}", joint.gasket, at, "gasket", joint.clamped, "mm", clamped,
            how="clamped", given={"free": free, "share": bench.shown(1.0 - joint.clamped / joint.free if joint.free else 0.0, "fraction")},
            source=text("source.gasket"), gasket=part_name(joint.gasket), free=free, clamped=clamped,
        )
    ]  # fmt: skip
    for item in bench.reducer.chains:
        if item.gasket == joint.gasket and item.name != "pinion_running":
            found += _effect(bench, joint, item, at)
    target = next((item for item in bench.reducer.chains if item.name == AIMS.get(joint.gasket)), None)
    if target is not None:
        found += _choice(bench, joint, target, at)
    return found


AIMS = {
    "pinion_gasket": "pinion_running",
    "gear_gasket": "gear_distance",
    "high_speed_float_gasket": "high_speed_end_play",
    "low_speed_float_gasket": "low_speed_end_play",
}
"""The chain whose limits each position gasket is chosen for."""


def _effect(bench: Bench, joint: GasketJoint, item: Chain, at: Vector) -> list[Callout]:
    step = GASKET_STEP[bench.settings.units]
    rates = mesh_rates(bench.reducer)
    rate = {"pinion_set": rates.pinion, "gear_distance": rates.gear}.get(item.name)
    share = joint.clamped / joint.free if joint.free else 1.0
    change = item.per_gasket * step * share
    shared = {
        "step": bench.shown(step, "length"),
        "chain": text(f"chain.{item.name}"),
        "change": bench.shown(change, "length", signed=True),
    }
    if rate is not None:
        return [_backlash_effect(bench, joint, item, at, rate, shared)]
    return [
        note(
            f"gasket.{joint.name}.end_play", joint.gasket, at, "gasket_end_play", change, "mm", text("callout.gasket_end_play_label", change=shared["change"], step=shared["step"]),
            how="end_play_change", given={"step": shared["step"]}, source=text("source.chain"), **shared,
        )
    ]  # fmt: skip


def _backlash_effect(bench: Bench, joint: GasketJoint, item: Chain, at: Vector, rate: Rate, shared: dict[str, str]) -> Callout:
    """What the step does to the backlash: the tooth model's difference, first order where the teeth don't meet."""
    here, change = (
        displacement(bench.reducer),
        item.per_gasket * GASKET_STEP[bench.settings.units] * (joint.clamped / joint.free if joint.free else 1.0),
    )
    member = "pinion" if item.name == "pinion_set" else "gear"
    now, then = bench.contact, met(bench.reducer, replace(here, **{member: getattr(here, member) + change}))
    value, how, source = rate.touching * change, "backlash_change", "first_order"
    given = {"change": shared["change"], "rate": units.figure(rate.touching, ".3f")}
    if now is not None and then is not None and now.backlash is not None and then.backlash is not None:
        value, how, source = then.backlash.outer - now.backlash.outer, "model_change", "tooth_model_pattern"
        given = {"now": bench.shown(now.backlash.outer, "length"), "then": bench.shown(then.backlash.outer, "length"),
                 "pinion": bench.shown(here.pinion, "length", signed=True), "gear": bench.shown(here.gear, "length", signed=True)}  # fmt: skip
    shown = bench.shown(value, "length", signed=True)
    return note(
        f"gasket.{joint.name}.backlash", joint.gasket, at, "gasket_backlash", value, "mm", text("callout.gasket_backlash_label", backlash=shown, step=shared["step"]),
        how=how, given=given, source=text(f"source.{source}"), backlash=shown,
        handbook=bench.shown(rate.handbook * change, "length", signed=True), **shared,
    )  # fmt: skip


@dataclass(frozen=True)
class Stock:
    """What a gasket can be made of: thicknesses [mm], how much they give when clamped [1], and which stock it is (a key of words)."""

    sizes: tuple[float, ...]
    compression: float
    kind: Literal["own", "leaves", "usual"]

    @property
    def most_leaves(self) -> int:
        """Most of them in one stack [1]."""
        return MOST_GASKETS if self.compression else shims.MOST_LEAVES


def stock_of(machine: Machine, gasket: Gasket) -> Stock:
    """The gasket's own stock, which gives as it does, else the shop's metal leaves, else the usual ones, which don't give."""
    system: Literal["inch", "metric"] = "inch" if machine.units == "inch" else "metric"
    for sizes, compression, kind in (
        (gasket.stock, gasket.compression, "own"),
        (machine.shop.leaves, 0.0, "leaves"),
    ):
        held = tuple(round(size, 4) for size in sizes if size >= THINNEST)
        if held:
            return Stock(held, compression, kind)  # type: ignore[arg-type]
    return Stock(shims.standard_leaves(system), 0.0, "usual")


def choose(bench: Bench, gasket: Gasket, item: Chain) -> tuple[shims.Choice | None, float] | None:
    """Stacks from stock that bring a chain to the middle of its limits, and the free thickness needed for that [mm]; None without
    limits, no stack where no gasket is thin enough."""
    if item.low_limit is None or item.high_limit is None:
        return None
    wanted, half = (item.low_limit + item.high_limit) / 2.0, (item.high_limit - item.low_limit) / 2.0
    needed = gasket.clamped + (wanted - present(bench, item)) / item.per_gasket
    stock = stock_of(bench.reducer.machine, gasket)
    free = needed / (1.0 - stock.compression)
    if free < THINNEST:
        return None, free
    goal = round(free * 1e4) / 1e4
    return shims.stacks(goal, stock.sizes, tolerance=TARGET_SHARE * half, most_leaves=stock.most_leaves), free


def present(bench: Bench, item: Chain) -> float:
    """Where a chain ends now: as measured where a reading of it stands, else as it is worked out [mm]."""
    held = bench.held.get(item.name)
    return held.value if held is not None else closed(bench.reducer, item).nominal


def stack_words(bench: Bench, stack: shims.Stack) -> str:
    """A stack in words: "0.25 mm + 2 x 0.10 mm"."""
    leaves = [
        text("callout.leaf" if count == 1 else "callout.leaves", count=count, thickness=bench.shown(size, "length"))
        for size, count in stack.leaves
    ]
    return " + ".join(leaves) or text("callout.no_leaf")


def _choice(bench: Bench, joint: GasketJoint, item: Chain, at: Vector) -> list[Callout]:
    gasket: Gasket = getattr(bench.reducer.machine.gaskets, joint.gasket)
    made = choose(bench, gasket, item)
    if made is None:
        return []
    choice, free = made
    stock = stock_of(bench.reducer.machine, gasket)
    given = {"wanted": from_to(bench, item.low_limit or 0.0, item.high_limit or 0.0), "present": bench.shown(present(bench, item), "length"),
             "clamped": bench.shown(gasket.clamped, "length"), "share": bench.shown(stock.compression, "fraction"), "per": f"{item.per_gasket:+.0f}"}  # fmt: skip
    shown, chain = bench.shown(free, "length"), text(f"chain.{item.name}")
    key, label = f"gasket.{joint.name}.choice", text("callout.choice_label", free=shown)
    if choice is None:
        return [
            note(
                key, joint.gasket, at, "choice_too_thick", free, "mm", label, how="gasket_choice", given=given, verdict="stop", source=text(f"source.stock_{stock.kind}"),
                free=shown, chain=chain,
            )
        ]  # fmt: skip
    if choice.best is None:
        near = " / ".join(stack_words(bench, stack) for stack in (choice.below, choice.above) if stack is not None and stack.count)
        return [
            note(
                key, joint.gasket, at, "choice_none", free, "mm", label, how="gasket_choice", given=given, verdict="watch", source=text(f"source.stock_{stock.kind}"),
                free=shown, stock=", ".join(bench.shown(size, "length") for size in stock.sizes), near=near, chain=chain,
            )
        ]  # fmt: skip
    other = (
        text("callout.choice_next", stack=stack_words(bench, choice.next_best))
        if choice.next_best is not None and choice.best.count > 1
        else ""
    )
    return [
        note(
            key, joint.gasket, at, "choice", free, "mm", label, how="gasket_choice", given=given, source=text(f"source.stock_{stock.kind}"), free=shown,
            stack=stack_words(bench, choice.best), error=bench.shown(choice.best.thickness - free, "length", signed=True), other=other, chain=chain,
        )
    ]  # fmt: skip


def of_chains(bench: Bench) -> list[Callout]:
    """The chains that close in this step, that are read in it, or whose gasket arrives in it."""
    found = []
    for item in bench.reducer.chains:
        closes = bench.step.bench == MAIN_BENCH and bool(set(bench.reducer.members(item.closes_with)) & bench.arriving)
        if closes or item.name in bench.step.reads or item.gasket in bench.arriving:
            found.append(_chain(bench, item))
    return found


def _chain(bench: Bench, item: Chain) -> Callout:
    result = closed(bench.reducer, item)
    limit, state = "", ""
    if item.low_limit is not None and item.high_limit is not None:
        limit = from_to(bench, item.low_limit, item.high_limit)
        state = verdict_of(result.nominal, result.low, result.high, item.low_limit, item.high_limit)
    clamped = item.name.endswith("end_play") and result.nominal <= 0.0
    says = "no_end_play" if clamped else "chain"
    verdict: Verdict = "stop" if clamped else state  # type: ignore[assignment]
    model = note(
        f"chain.{item.name}", bench.reducer.members(item.closes_with)[0], item.at, says, result.nominal, "mm",
        text("callout.chain_label", name=text(f"chain_label.{item.name}"), value=bench.shown(result.nominal, "length")),
        how="chain", given=links(bench, item), limit=limit, verdict=verdict, source=text(item.limit_source) if limit else text("source.chain"),
        chain=text(f"chain.{item.name}"), value=bench.shown(result.nominal, "length"),
        low=bench.shown(result.low, "length"), high=bench.shown(result.high, "length"),
        likely_low=bench.shown(result.rss_low, "length"), likely_high=bench.shown(result.rss_high, "length"),
        gasket=part_name(item.gasket), widest=widest(bench, item) if verdict and verdict != "fine" and item.gasket in bench.arriving else "",
    )  # fmt: skip
    held = bench.held.get(item.name)
    if held is None:
        return model
    none = item.name.endswith("end_play") and held.value <= 0.0
    label = text("callout.chain_label_measured", name=text(f"chain_label.{item.name}"), value=bench.shown(held.value, "length"))
    says, told = (
        "no_end_play_measured" if none else "chain_measured",
        {"chain": text(f"chain.{item.name}"), "gasket": part_name(item.gasket)},
    )
    return replace(measured(bench, item.name, model, says, **told), short=label)


def links(bench: Bench, item: Chain) -> list[str]:
    """One line a link: sign, size, band, where it comes from."""
    return [
        text(
            "inserted.link",
            sign="+" if link.sign > 0 else "\u2212",
            name=text(link.name),
            size=bench.shown(link.nominal, "length"),
            low=bench.shown(link.lower, "length", signed=True),
            high=bench.shown(link.upper, "length", signed=True),
            source=text(link.source) if link.source else "",
        )
        for link in item.links
    ]


def widest(bench: Bench, item: Chain) -> str:
    """Which readings would narrow the band most: the links that make up half of it, as a sentence."""
    open_links = {text(link.name) for link in item.links if link.source != "source.measured"}
    names = [text(name) for name in solved(item).dominant if text(name) in open_links]
    return " " + text("callout.measure_first", names=", ".join(names)) if names else ""


def heights(bench: Bench) -> list[Callout]:
    """Heights that are set by hand: the packers under the gear, and the shaft's depth in the dry trial."""
    machine, found = bench.reducer.machine, []
    packers = sorted(name for name in bench.new if bench.reducer.by_name[name].tool)
    if packers:
        low, high = standing_height(bench.reducer, packers[0])
        drop = bench.size(machine.spacers.packer_drop)
        found.append(("packers", packers[0], high - low, {"drop": drop}, {"drop": drop}))
    if "trial_depth" in bench.step.reads:
        stop, clamped, film = _depth_links(machine)
        given = {
            "stop": bench.shown(stop, "length"),
            "clamped": bench.shown(clamped, "length"),
            "film": bench.shown(film, "length"),
        }
        found.append(("trial_depth", "low_speed_shaft", trial_depth(machine), {}, given))
    return [
        note(
            f"height.{key}", part, place_of(bench, part), key, value, "mm", text(f"callout.{key}_label", value=bench.shown(value, "length")),
            how=key, given=given, source=text("source.chain"), value=bench.shown(value, "length"), **more,
        )
        for key, part, value, more, given in found
    ]  # fmt: skip


def _depth_links(machine: Machine) -> tuple[float, float, float]:
    """Flange to stop, clamped gear gasket, sealing film [mm]."""
    return (
        -machine.low_speed_cartridge.stop_offset.nominal,
        machine.gaskets.gear_gasket.clamped,
        machine.case.sealing_film,
    )


def trial_depth(machine: Machine) -> float:
    """Top face to the shaft's shoulder in the dry case: the flange stands on the clamped gasket, and the film is not there yet [mm]."""
    stop, clamped, film = _depth_links(machine)
    return stop - clamped - film


def standing_height(reducer: Reducer, name: str) -> tuple[float, float]:
    """Lowest and highest point of a part in its place [mm]."""
    part = reducer.by_name[name]
    up = (build(part).vertices @ part.pose[:3, :3].T + part.pose[:3, 3])[:, 2]
    return float(up.min()), float(up.max())
