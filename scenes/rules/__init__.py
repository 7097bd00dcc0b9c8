"""Rules of the trade that an order must keep: each has an id, its reason, and where it comes from.

Geometry knows what is in the way; it does not know that a tab must be bent before a cover hides it. A rule looks at a job and names each
step that breaks it. Reason and source of rule ID are `rule.ID.reason` and `rule.ID.source` of the catalogue; the sentence of a breach is
`rule.ID.breach`.
Contents: `Job`, `Breach`, `RULES`, `breaches`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

from geometry.reducer import Reducer
from scenes.procedure import Procedure
from scenes.wording import text


@dataclass(frozen=True)
class Job:
    """What rules look at: the reducer, the order, and the worst verdict of the notes of each step by joint id."""

    reducer: Reducer = field(hash=False)
    procedure: Procedure


@dataclass(frozen=True)
class Breach:
    """A rule broken in a step. `part`: what is wrong there, a part, group or bench; `other`: what it should have come before or after."""

    rule: str
    step: str
    number: int
    part: str
    other: str
    text: str

    @property
    def reason(self) -> str:
        """Why the rule stands."""
        return text(f"rule.{self.rule}.reason")

    @property
    def source(self) -> str:
        """Where the rule comes from."""
        return text(f"rule.{self.rule}.source")


Rule = Callable[[Job], Iterable[Breach]]

RULES: Mapping[str, Rule] = {}
"""Every rule by its id, in the order in which they are looked at."""


def breaches(job: Job) -> tuple[Breach, ...]:
    """Every breach of every rule, by step."""
    return tuple(sorted((found for rule in RULES.values() for found in rule(job)), key=lambda found: found.number))
