"""How the pair meets at the steps where that is read or changed: tooth maps of both flanks, backlash at the heel and on a dial.

mm, rad. Everything follows the gaskets as they are set.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from math import tan

from calc import indicator, units
from calc.bevel import GEAR, PINION, Blank
from calc.contact import Contact, FlankContact
from calc.pattern import Pattern
from geometry.joints import MeshJoint
from geometry.reducer import Reducer
from scenes.callouts.bench import Bench, solved
from scenes.frame import DialView, FlankMap, MeshView, Verdict
from scenes.tooth_contact import end_play_rate, meeting
from scenes.wording import text

POSITIONS = ("pinion_set", "pinion_running", "gear_distance")
"""Chains that place pinion and gear."""
READ = frozenset({"trial_backlash", "backlash", "pattern", "set_number", *POSITIONS})
"""Readings taken at the mesh, or of where its members stand."""
Rings = tuple[tuple[tuple[float, float], ...], ...]
BANDS = (1.0, 0.7, 0.4, 0.15)
"""Shares of the compound's film between which a tooth map is shaded."""
DIAL = {"mm": (0.01, 100), "inch": (0.0254, 100)}
"""A tick of the dial [mm] and the ticks of one turn, by unit system: dials of 0.01 mm and 0.001 in, common practice."""


def shown(bench: Bench) -> bool:
    """Whether the step reads the mesh or moves it: the pair meets, a chain that places it closes, or one of its gaskets is fitted."""
    step, reducer = bench.step, bench.reducer
    chains = [reducer.chain(name) for name in POSITIONS]
    if {chain.gasket for chain in chains} & set(step.arrives):
        return True
    for joint in reducer.of_kind(MeshJoint):
        pair = {joint.pinion, joint.gear}
        if not pair <= bench.standing:
            continue
        closing = {member for chain in chains for member in reducer.members(chain.closes_with)}
        if bench.made(pair) or READ & set(step.reads) or closing & bench.arriving:
            return True
    return False


def of_bench(bench: Bench) -> MeshView | None:
    """The mesh at a step that reads or moves it."""
    return _as_read(view(bench.reducer, bench.settings.units), bench) if shown(bench) else None


def _as_read(found: MeshView, bench: Bench) -> MeshView:
    """The same with the backlash that was read on the dial, where a reading stands; the marks stay the model's."""
    held, system = bench.held.get("backlash"), bench.settings.units
    if held is None:
        return found
    tick, divisions = DIAL[system]
    value = units.show(held.value, "length", system)
    told = text("mesh_view.measured", value=value, number=held.entry, expected=units.show(bench.backlash[0], "length", system))
    apart = found.state != "ok" and held.value > 0.0
    rest = (text("mesh_view.measured_apart"), *found.said[1:]) if apart else found.said
    dial = replace(
        found.dial, reading=max(held.value, 0.0) / (tick * divisions), text=text("mesh_view.reading_measured", value=value)
    )
    return replace(found, verdict="" if found.state == "ok" else held.verdict, dial=dial, said=(told, *rest))


def view(reducer: Reducer, system: units.System = "mm", *, dial_radius: float | None = None) -> MeshView:
    """How the pair meets with the present gaskets; `dial_radius`: where the stem touches, None = at the heel [mm]."""
    blank = reducer.blank
    heel = blank.outer_diameters[GEAR] / 2.0
    radius = heel if dial_radius is None else dial_radius
    found = meeting(reducer)
    lines = _said(reducer, found, system, radius / heel)
    verdict: Verdict = "" if found.state == "ok" else "stop"
    return MeshView(
        found.state,
        verdict,
        text("mesh_view.caption"),
        _end(blank, blank.cones.inner),
        _end(blank, blank.cones.outer),
        (_flank_map(blank, "drive", found.drive), _flank_map(blank, "coast", found.coast)),
        (text("mesh_view.toe"), text("mesh_view.heel"), text("mesh_view.tip"), text("mesh_view.root")),
        _dial(reducer, found, system, radius),
        lines,
        text("mesh_view.indicative"),
    )


def _end(blank: Blank, along: float) -> tuple[float, float, float]:
    """Heights of tooth root, root of the working depth and tip at an end of the gear tooth over the face width [1]."""
    beyond = along - blank.cones.outer
    tips = [blank.outer_addenda[i] + beyond * tan(blank.addendum_angles[i]) for i in (PINION, GEAR)]
    return (
        blank.root_height(GEAR, along) / blank.face_width,
        -tips[PINION] / blank.face_width,
        tips[GEAR] / blank.face_width,
    )


def _flank_map(blank: Blank, flank: str, found: FlankContact | None) -> FlankMap:
    name = text(f"mesh_view.{flank}")
    if blank.hand == "straight":
        form = text("mesh_view.form_straight")
    else:  # the drive flank is the pinion's concave one, so the gear's convex
        form = text("mesh_view.form_concave" if flank == "drive" else "mesh_view.form_convex")
    if found is None:
        return FlankMap(name, form, (), None, text("mesh_view.nowhere"))
    mark = found.pattern
    centre = (mark.centre_along, mark.centre_depth)
    place = text("mesh_view.place", along=f"{centre[0]:.0f}", depth=f"{centre[1]:.0f}")
    return FlankMap(name, form, _bands(mark), centre, place)


@lru_cache(maxsize=256)
def _bands(mark: Pattern) -> tuple[tuple[float, Rings], ...]:
    """The outlines of a mark at each share of the film; kept, because every language and unit system shows the same."""
    return tuple((share, mark.outline_at(share)) for share in BANDS)


def _dial(reducer: Reducer, found: Contact, system: units.System, radius: float) -> DialView:
    """The dial with the play as it would read it, and the set's limits carried to its radius."""
    tick, divisions = DIAL[system]
    turn = tick * divisions
    heel = reducer.blank.outer_diameters[GEAR] / 2.0

    def read(play: float) -> float:
        return indicator.reading_from_backlash(play, pitch_radius=heel, dial_radius=radius)

    def told(value: float) -> str:
        return units.show(value, "length", system)

    play = found.backlash.outer if found.backlash is not None else 0.0
    low, high = (read(limit) for limit in reducer.machine.gears.backlash)
    says = {"ok": told(read(play)), "jammed": text("mesh_view.reading_jammed"), "out_of_mesh": text("mesh_view.reading_out")}
    return DialView(
        read(max(play, 0.0)) / turn,
        low / turn,
        high / turn,
        divisions,
        tuple(str(number * divisions // 10) for number in range(10)),
        says[found.state],
        text("mesh_view.tick", tick=units.show(tick, "length", system, digits=2 if system == "mm" else 3)),
        text("mesh_view.radius", radius=units.show(radius, "length", system, digits=1 if system == "mm" else 2)),
        (text("mesh_view.limits_low", low=told(low)), text("mesh_view.limits_high", high=told(high))),
    )


def _said(reducer: Reducer, found: Contact, system: units.System, per_heel: float) -> tuple[str, ...]:
    """The state where it is not ok, the backlash, hard edges, and what end play would add to the dial."""

    def told(value: float) -> str:
        return units.show(value, "length", system)

    lines = []
    if found.state == "jammed":
        assert found.backlash is not None
        lines.append(text("mesh_view.jammed", overlap=told(-min(found.backlash.least, 0.0))))
    elif found.state == "out_of_mesh":
        lines.append(text("mesh_view.out_of_mesh"))
    else:
        assert found.backlash is not None
        if per_heel != 1.0:  # else the dial reads it
            heel = units.show(reducer.blank.outer_diameters[GEAR] / 2.0, "length", system, digits=1 if system == "mm" else 2)
            lines.append(text("mesh_view.heel_backlash", radius=heel, value=told(found.backlash.outer)))
        lines += [text(f"mesh_view.{remark}") for remark in found.remarks if remark.startswith("hard_")]
    play = max(solved(reducer.chain("high_speed_end_play")).nominal, 0.0)
    if play > 0.0:
        added = play * max(end_play_rate(reducer.blank), 0.0) * per_heel
        lines.append(
            text("mesh_view.end_play" if added > 5e-4 else "mesh_view.end_play_nothing", play=told(play), adds=told(added))
        )
    else:
        lines.append(text("mesh_view.no_end_play"))
    return tuple(lines)
