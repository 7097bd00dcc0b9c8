"""Kit list of a job: parts by designation, gaskets, consumables, tools by size, and what the lifting gear must carry.

Sizes come from the machine, the joints and the standards' tables; what each step asks for comes from the procedure.
Contents: `kit`, and its answer `Kit`.
"""

from __future__ import annotations

from scenes.kit_items import GROUPS, Item, Kit
from scenes.kit_parts import Parts
from scenes.kit_tools import Tools
from scenes.settings import Settings
from scenes.stage import Stage

__all__ = ["GROUPS", "Item", "Kit", "kit"]


def kit(stage: Stage, settings: Settings) -> Kit:
    """The kit list of a machine and its procedure.

    `stage`: the reducer with its order. `settings`: the unit system of the sizes. Result: Kit, the parts in the order of the job.
    """
    parts, tools = Parts(stage, settings), Tools(stage, settings)
    return Kit((*parts.parts(), *parts.consumables(), *tools.tools(), *tools.lifts()))
