"""The answer of `adjust` as JSON and as lines for a fitter. Figures in mm and percent, whatever the unit system of the texts."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any, Literal

from calc import units
from calc.adjust import Move
from calc.bevel import GEAR
from calc.contact import Contact
from calc.diagnosis import Target
from calc.readings import Mark
from geometry.reducer import Reducer
from scenes import pattern_words
from scenes.adjusting import PACKS, UNKNOWN, Answer, expected_marks, over_running_stop
from scenes.dismantling import Dismantling
from scenes.procedure import Procedure
from scenes.wording import text, texts

System = Literal["mm", "inch"]

MISSED = 12.0
"""A mark expected this far from what is aimed at is said to stay off it [%]: own choice, two deviations of the aim."""


def _pattern(found: Contact) -> dict[str, Any]:
    said = {}
    for name, flank in (("drive", found.drive), ("coast", found.coast)):
        mark = flank.pattern if flank else None
        said[name] = mark and {
            "along": mark.centre_along,
            "depth": mark.centre_depth,
            "words": pattern_words.place(mark.centre_along, mark.centre_depth),
            "hard": flank.hard if flank else "",
        }
    return said


def _mark(mark: Mark | None) -> dict[str, Any] | None:
    return mark and {
        "along": mark.centre[0],
        "depth": mark.centre[1],
        "words": pattern_words.place(*mark.centre),
        "sigma": mark.sigma,
    }


def _cost(cost: Dismantling, procedure: Procedure) -> dict[str, Any]:
    return {
        "gasket": cost.gasket,
        "way": cost.way,
        "parts": list(cost.parts),
        "tight": list(cost.tight),
        "supports": list(cost.supports),
        "renew": list(cost.renew),
        "steps": [{"id": name, "number": procedure.steps[name].number} for name in cost.steps],
    }


def _move(answer: Answer, move: Move, reducer: Reducer, procedure: Procedure, found: bool) -> dict[str, Any]:
    there = answer.after(reducer, move)
    gaskets = []
    for name, pack, new, change, leaves in zip(
        PACKS, answer.packs, (move.pinion, move.gear), move.changes, move.leaves, strict=True
    ):
        gaskets.append({"name": name, "from": pack.thickness, "to": new, "change": change,
                        "leaves": [{"thickness": size, "count": count} for size, count in leaves]})  # fmt: skip
    return {
        "gaskets": gaskets,
        "pinion_shift": move.displacement.pinion,
        "gear_shift": move.displacement.gear,
        "pinion_running": there.pinion_running,
        "gear_distance": there.gear_distance,
        "backlash": move.backlash,
        "backlash_sigma": move.sigma,
        "backlash_round": list(move.backlash_round),
        "in_band": move.in_band,
        "pattern": _pattern(move.contact),
        "marks": [list(mark) if mark else None for mark in expected_marks(answer, move)],
        "high_speed_end_play": there.high_speed_end_play,
        "low_speed_end_play": there.low_speed_end_play,
        "costs": [_cost(cost, procedure) for cost, change in zip(answer.costs, move.changes, strict=True) if change and not found],
    }


def report(
    answer: Answer, reducer: Reducer, procedure: Procedure, machine: str, system: System, *, as_found: bool = False
) -> dict[str, Any]:
    """What `adjust --json` prints; `as_found`: of a machine that comes apart all the same."""
    read, found, gears = answer.read, answer.found, reducer.machine.gears
    told = found.diagnosis
    return {
        "machine": machine,
        "units": system,
        "indicative": True,
        "verdict": "watch" if answer.possible else "stop",
        "limits": {"backlash": list(gears.backlash), "high_speed_end_play": list(reducer.machine.limits.high_speed_end_play),
                   "low_speed_end_play": list(reducer.machine.limits.low_speed_end_play)},
        "read": {
            "dial": list(read.dial),
            "dial_kind": read.kind,
            "at_radius": read.at_radius,
            "at_pitch_circle": list(answer.at_pitch_circle),
            "set_value": None if found.read.backlash is None else found.read.backlash - answer.more,
            "sigma": found.read.sigma,
            "runout": found.read.runout,
            "runout_sigma": found.read.runout_sigma if found.read.runout is not None else None,
            "scatter": found.read.scatter,
            "drive": _mark(found.read.drive),
            "coast": _mark(found.read.coast),
            "end_play": read.end_play,
            "end_play_in_reading": answer.taken_off,
            "float_moves": read.float_moves,
            "dry": read.dry,
        },
        "present": {
            "high_speed_end_play": answer.present.high_speed_end_play,
            "low_speed_end_play": answer.present.low_speed_end_play,
            "end_play_would_add": answer.play_adds,
            "pattern": _pattern(found.present),
            "state": found.present.state,
        },
        "diagnosis": {
            "pinion": told.displacement.pinion,
            "gear": told.displacement.gear,
            "pinion_sigma": told.sigma[0],
            "gear_sigma": told.sigma[1],
            "correlation": told.correlation,
            "chi_square": told.chi_square,
            "limit": told.limit,
            "explained": told.explained,
            "causes": _Teller(answer, reducer, procedure, system).causes(),
        },
        "possible": answer.possible,
        "gates": list(answer.gates),
        "remarks": list(found.remarks),
        "move": None if answer.gates else _move(answer, found.move, reducer, procedure, as_found),
        "second": None if answer.gates or found.second is None else _move(answer, found.second, reducer, procedure, as_found),
        "text": list(lines(answer, reducer, procedure, machine, system, as_found=as_found)),
    }  # fmt: skip


def lines(
    answer: Answer, reducer: Reducer, procedure: Procedure, machine: str, system: System, *, as_found: bool = False
) -> Iterator[str]:
    """The answer for a fitter, line by line; `as_found`: of a machine that comes apart all the same."""
    teller, read = _Teller(answer, reducer, procedure, system), answer.read
    yield text("adjust.title", machine=machine)
    yield ""
    if as_found:
        yield from wanted_as_found(answer, reducer, procedure, system)
        return
    for key in answer.gates:
        yield text(f"adjust.gate.{key}", play=teller.shown(-answer.present.high_speed_end_play))
    if answer.gates:
        yield ""
    yield text("adjust.read")
    yield from teller.read()
    yield ""
    if answer.gates:
        yield from texts("adjust.notes")
        return
    yield from teller.then()
    yield text("adjust.sits_then" if answer.then is not read else "adjust.sits")
    yield from teller.sits()
    yield ""
    if answer.possible:
        yield text("adjust.aim")
        yield from teller.move("adjust.move", answer.found.move)
        second = answer.found.second
        if second is not None and second.in_band and answer.found.move.packs_changed and not teller.hard(second):
            yield ""
            yield from teller.move("adjust.second", second)
        yield ""
        yield text("adjust.again" if answer.found.move.packs_changed else "adjust.again_none")
    else:
        yield from teller.no_shim()
        yield ""
    yield from texts("adjust.notes")


def wanted_as_found(answer: Answer, reducer: Reducer, procedure: Procedure, system: System) -> Iterator[str]:
    """The answer for a machine that comes apart all the same: the gaskets that it asks for, and that new parts change them."""
    teller = _Teller(answer, reducer, procedure, system)
    if answer.gates:
        yield from (text(f"adjust.gate.{key}", play=teller.shown(-answer.present.high_speed_end_play)) for key in answer.gates)
        return
    if not answer.possible:
        yield from teller.no_shim()
        return
    move = answer.found.move
    yield from teller.then()
    yield text("adjust.move_found" if move.packs_changed else "adjust.move_none")
    yield from teller.packs(move)
    yield text("adjust.new_parts")


class _Teller:
    """Sentences about one answer in one unit system."""

    def __init__(self, answer: Answer, reducer: Reducer, procedure: Procedure, system: System) -> None:
        self.answer, self.reducer, self.procedure, self.system = answer, reducer, procedure, system

    def shown(self, value: float, signed: bool = False) -> str:
        return units.show(value, "length", self.system, signed=signed)

    def read(self) -> Iterator[str]:
        answer, read, found = self.answer, self.answer.read, self.answer.found.read
        radius = self.shown(self.reducer.blank.outer_diameters[GEAR] / 2.0)
        for number, (dial, value) in enumerate(zip(read.dial, answer.at_pitch_circle, strict=True), 1):
            key = "adjust.dial" if read.at_radius is not None else "adjust.dial_at_heel"
            where = text("adjust.place", number=number) if len(read.dial) > 1 else ""
            yield text(
                key,
                where=where,
                dial=self.shown(dial),
                at=self.shown(read.at_radius or 0.0),
                value=self.shown(value),
                radius=radius,
            )
        if read.kind == "lever":
            yield text("adjust.lever")
        for name, mark, which in (("drive", read.drive, "concave"), ("coast", read.coast, "convex")):
            if mark is not None:
                form = f" ({text(f'mesh_view.form_{which}')})" if self.reducer.blank.spiral_angle else ""
                yield text("adjust.mark", flank=text(f"flank.{name}"), form=form, words=pattern_words.centre(*mark.centre))
        if found.runout is not None:
            yield text(
                "adjust.runout",
                runout=self.shown(found.runout),
                sigma=self.shown(found.runout_sigma),
                value=self.shown((found.backlash or 0.0) - answer.more),
            )
        if read.dial:
            yield from self._end_play()
        least, most = self.reducer.machine.limits.high_speed_end_play
        play = answer.present.high_speed_end_play
        if not least - 1e-6 <= play <= most + 1e-6:
            yield text("adjust.play_first", play=self.shown(play), least=self.shown(least), most=self.shown(most))

    def then(self) -> Iterator[str]:
        """What is changed together with the shims, or was not in yet when the pair was read."""
        read, more = self.answer.read, self.shown(self.answer.more, True)
        if read.dry is not None:
            key = "adjust.by_trial" if abs(read.dry) > 1e-3 else "adjust.by_trial_deep"
            yield text(key, gear=self.shown(-read.dry, True))
        if read.float_moves:
            after = self.answer.present.high_speed_end_play
            before, shift = self.shown(after - read.float_moves), self.shown(abs(read.float_moves))
            key = "adjust.together_in" if read.float_moves < 0.0 else "adjust.together_out"
            yield text(key, before=before, after=self.shown(after), shift=shift, more=more)

    def _end_play(self) -> Iterator[str]:
        answer, play = self.answer, max(self.answer.present.high_speed_end_play, 0.0)
        adds = self.shown(answer.play_adds)
        if answer.read.end_play is None:
            by_chain = answer.read.high_speed_end_play is None
            yield text("adjust.on_stop" if by_chain else "adjust.on_stop_read", play=self.shown(play), adds=adds)
            return
        value = answer.found.read.backlash or 0.0
        yield text(
            "adjust.end_play",
            play=self.shown(answer.read.end_play),
            adds=self.shown(answer.taken_off),
            value=self.shown(value),
            present=self.shown(play),
        )

    def sits(self) -> Iterator[str]:
        told = self.answer.found.diagnosis
        for name, shift, sigma in (
            ("pinion", told.displacement.pinion, told.sigma[0]),
            ("gear", told.displacement.gear, told.sigma[1]),
        ):
            way = "unknown" if sigma > UNKNOWN else "here" if abs(shift) < sigma else "out" if shift > 0.0 else "in"
            yield text(f"adjust.{name}", shift=self.shown(shift, True), sigma=self.shown(sigma), way=text(f"adjust.way.{way}"))
        key = "adjust.explained" if told.explained else "adjust.not_explained"
        yield text(key, chi=units.figure(told.chi_square, ".1f"), limit=units.figure(told.limit, ".1f"))

    def no_shim(self) -> Iterator[str]:
        found = self.answer.found
        yield text("adjust.no_shim")
        if self.hard(found.move):
            yield text("adjust.because.lands_hard")
        for key in found.remarks:
            if key in ("no_move_helps", "no_move_in_band", "runout_exceeds_band"):
                band = self.reducer.machine.gears.backlash
                yield text(
                    f"adjust.because.{key}",
                    low=self.shown(band[0]),
                    high=self.shown(band[1]),
                    runout=self.shown(found.read.runout or 0.0),
                    nearest=self.shown(found.move.backlash),
                    value=self.shown(found.read.backlash or 0.0),
                )
        causes = self.causes()
        if causes:
            yield text("adjust.look_for")
            yield from (text(f"adjust.cause.{key}") for key in causes)

    def move(self, heading: str, move: Move) -> Iterator[str]:
        answer = self.answer
        yield text(heading) if move.packs_changed else text(f"{heading}_none")
        yield from self.packs(move)
        yield from self._after(move)
        for cost, change in zip(answer.costs, move.changes, strict=True):
            if change:
                yield from self.cost(cost)

    def packs(self, move: Move) -> Iterator[str]:
        """Each gasket: keep it, or another."""
        answer = self.answer
        for name, pack, new, change, leaves in zip(
            PACKS, answer.packs, (move.pinion, move.gear), move.changes, move.leaves, strict=True
        ):
            key = "adjust.keep" if not change else "adjust.thicker" if change > 0.0 else "adjust.thinner"
            yield text(
                key,
                gasket=text(f"part.{name}"),
                now=self.shown(pack.thickness),
                new=self.shown(new),
                change=self.shown(abs(change)),
                stack=self.stack(leaves),
            )

    def _after(self, move: Move) -> Iterator[str]:
        there, limits = self.answer.after(self.reducer, move), self.reducer.machine.limits
        band = self.reducer.machine.gears.backlash
        low, high = move.backlash_round
        key = "adjust.after" if math.isclose(low, high) else "adjust.after_round"
        yield text(
            key,
            backlash=self.shown(move.backlash),
            sigma=self.shown(move.sigma),
            low=self.shown(band[0]),
            high=self.shown(band[1]),
            least=self.shown(low),
            most=self.shown(high),
            within=text("adjust.outside" if not move.in_band else "adjust.inside" if self.surely(move) else "adjust.likely_inside"),
        )
        drive, coast = (pattern_words.centre(*mark) if mark else "" for mark in expected_marks(self.answer, move))
        yield text("adjust.after_pattern", drive=drive, coast=coast)
        mark, aim = expected_marks(self.answer, move)[0], Target(band).drive[0]
        if mark is not None and abs(mark[0] - aim) > MISSED:
            yield text("adjust.mark_stays", along=f"{mark[0]:.0f} %", aim=f"{aim:.0f} %")
        gears = self.reducer.machine.gears
        pinion, gear = gears.pinion_mounting_distance, gears.gear_mounting_distance
        places = {
            "pinion": self._within(there.pinion_running, (pinion.low, pinion.high), "adjust.place_outside"),
            "gear": self._within(there.gear_distance, (gear.low, gear.high), "adjust.place_outside"),
        }
        yield text("adjust.after_places", **{name: said for name, (said, _) in places.items()})
        if any(outside for _, outside in places.values()):
            yield text("adjust.places_first")
        high, _ = self._within(there.high_speed_end_play, limits.high_speed_end_play, "adjust.play_outside")
        low, _ = self._within(there.low_speed_end_play, limits.low_speed_end_play, "adjust.low_play_outside_then")
        yield text("adjust.after_play", high=high, low=low)

    def _within(self, value: float, limits: tuple[float, float], outside: str) -> tuple[str, bool]:
        """A size, with its limits where it is outside of them; whether it is."""
        least, most = limits
        off = least < most and not least - 1e-6 <= value <= most + 1e-6
        return self.shown(value) + (text(outside, least=self.shown(least), most=self.shown(most)) if off else ""), off

    def surely(self, move: Move) -> bool:
        """Whether the backlash is inside its limits all round the gear with two standard deviations in hand."""
        low, high = self.reducer.machine.gears.backlash
        return low <= move.backlash_round[0] - 2.0 * move.sigma and move.backlash_round[1] + 2.0 * move.sigma <= high

    @staticmethod
    def hard(move: Move) -> bool:
        """Whether a move lands on a tip edge."""
        return any(flank is not None and flank.hard for flank in (move.contact.drive, move.contact.coast))

    def causes(self) -> list[str]:
        """Likely causes; end play only where it could add what the dial reads too much."""
        found = list(self.answer.found.diagnosis.causes)
        read, band = self.answer.found.read.backlash, self.reducer.machine.gears.backlash
        most = max(self.answer.present.high_speed_end_play, self.reducer.machine.limits.high_speed_end_play[1])
        if "end_play_in_reading" in found and read is not None and over_running_stop(self.reducer, most) < 0.3 * (read - band[1]):
            found = ["dial_reads_high" if key == "end_play_in_reading" else key for key in found]
        return found

    def stack(self, leaves: tuple[tuple[float, int], ...]) -> str:
        said = [
            text("callout.leaf" if count == 1 else "callout.leaves", count=count, thickness=self.shown(size))
            for size, count in leaves
        ]
        return " + ".join(said) or text("callout.no_leaf")

    def cost(self, cost: Dismantling) -> Iterator[str]:
        """What must come off for one gasket."""
        figures = {"bore": self.shown(cost.bore), "tip": self.shown(cost.tip)}
        yield text(
            f"adjust.cost.{cost.way}",
            gasket=text(f"part.{cost.gasket}"),
            parts=self.parts(cost.parts),
            flange=text(f"part.{cost.flange}"),
            **figures,
        )
        yield text("adjust.cost.before")
        if cost.tight:
            yield text("adjust.cost.tight", parts=self.parts(cost.tight))
        if cost.supports:
            yield text("adjust.cost.supports", parts=self.parts(cost.supports))
        if cost.renew:
            yield text("adjust.cost.renew", parts=self.parts(cost.renew))
        yield text("adjust.cost.steps", steps=", ".join(str(self.procedure.steps[name].number) for name in cost.steps))

    def parts(self, names: tuple[str, ...]) -> str:
        """Parts by their names for a fitter, a circle of screws once."""
        return ", ".join(text(f"part.{name}", count=len(self.reducer.members(name))) for name in names)
