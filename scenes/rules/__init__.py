"""Rules of the trade that an order must keep: each has an id, its reason, and where it comes from.

Geometry knows what is in the way; it does not know that a tab must be bent before a cover hides it. A rule looks at a job and names each
step that breaks it; its level says whether that stops the order or is only watched at the bench. Reason and source of rule ID are `rule.ID.reason` and `rule.ID.source` of the catalogue; the sentence of a breach is
`rule.ID.breach`, or another of the rule's sentences. One module a topic; `course` is the job replayed.
Contents: `Job`, `Breach`, `Level`, `RULES`, `breaches`, `listing`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from scenes.rules import bearings, closing, forces, lifting, locks, oiling, presence, readings, split
from scenes.rules.course import Breach, Course, Job, Level
from scenes.wording import text

__all__ = ["RULES", "Breach", "Job", "Level", "Rule", "breaches", "listing"]

Rule = Callable[[Course], Iterable[Breach]]

RULES: Mapping[str, Rule] = {
    "safe_first": presence.safe_first,
    "complete": presence.complete,
    "supported": presence.supported,
    "gasket_place": presence.gasket_place,
    "gasket_first": presence.gasket_first,
    "inspected": presence.inspected,
    "turned_over": presence.turned_over,
    "method_fits": forces.method_fits,
    "reacted": forces.reacted,
    "through_ring": forces.through_ring,
    "carried": forces.carried,
    "counted": forces.counted,
    "hot_bore": readings.hot_bore,
    "followed_up": readings.followed_up,
    "shoulder": readings.shoulder,
    "washer_first": locks.washer_first,
    "seated": bearings.seated,
    "torqued": locks.torqued,
    "lock_after_torque": locks.lock_after_torque,
    "locked": locks.locked,
    "oiled": bearings.oiled,
    "pair_faces": bearings.pair_faces,
    "faces": bearings.faces,
    "ports": bearings.ports,
    "turned_by_hand": bearings.turned_by_hand,
    "kept": bearings.kept,
    "lip_guarded": bearings.lip_guarded,
    "trial": closing.trial,
    "compound_first": closing.compound_first,
    "dowels_first": closing.dowels_first,
    "flange_free": closing.flange_free,
    "plays_first": readings.plays_first,
    "taken": readings.taken,
    "one_temperature": readings.one_temperature,
    "split_tight": split.split_tight,
    "open_time": split.open_time,
    "drawn_in": split.drawn_in,
    "dabbed": split.dabbed,
    "from_below": lifting.from_below,
    "hot_held": lifting.hot_held,
    "tackle": lifting.tackle,
    "clamped_home": lifting.clamped_home,
    "oiled_between": oiling.oiled_between,
    "lip_oiled": oiling.lip_oiled,
    "run_last": presence.run_last,
    "retorque": presence.retorque,
}
"""Every rule by its id, in the order in which they are looked at."""


def breaches(job: Job) -> tuple[Breach, ...]:
    """Every breach of every rule, by step."""
    course = Course(job)
    return tuple(sorted(dict.fromkeys(found for rule in RULES.values() for found in rule(course)), key=lambda found: found.number))


def listing() -> list[dict[str, str]]:
    """Every rule with its reason and its source."""
    return [{"rule": rule, "reason": text(f"rule.{rule}.reason"), "source": text(f"rule.{rule}.source")} for rule in RULES]
