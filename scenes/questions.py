"""Questions for trainees, put with a picture: what comes next among parts laid out, what is wrong with what stands. mm.

Every answer is computed (scenes.slips). A question is only put when its answer can be seen and no other choice is right too: a part that
could as well come first is not offered, a slip is only asked when it changes the picture. Contents: `Choice`, `Question`,
`next_part`, `slip`, `ask`.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from geometry.reducer import build
from scenes import cameras, explode
from scenes.frame import CutPlane, Frame, Numbered, Shown
from scenes.shown import FRONT, label_of, rotation
from scenes.slips import SHIMS, Slip, Slips
from scenes.wording import text

Differs = Callable[[Frame, Frame], float]
"""How much of the picture [1] two frames differ in."""
SEEN = 0.0007
"""Share of the picture that a slip must change to be asked about."""
CHOICES = 4
FEWEST = 3
"""Choices of a question: wanted, and the fewest it is put with."""
TRIES = 12
"""Slips looked at before a question is given up."""
APART = 0.35
"""Gap between parts laid out, over the middle one's width [1]."""
HEAP = 2.0
"""How much larger than its largest part a heap of parts may be to be offered [1]."""
CLOSE = 1.0
"""How many times the size of a part that may be turned round stays in view."""
SHIM_SHARE = 0.3
"""Share of the questions about slips in which a wrong gasket may be one."""
OVER = 0.012
"""How far over a group its number stands, over the distance that it is seen from [1]."""
Array = NDArray[np.float64]


@dataclass(frozen=True)
class Choice:
    """One answer offered; `because`: what is said when it is chosen ("" = nothing but the answer)."""

    text: str
    right: bool
    because: str


@dataclass(frozen=True, eq=False)
class Question:
    """One question: what is asked, the picture it is asked with and the one that belongs to the answer, choices, reason and cost.

    `number`: of the step that was done last."""

    kind: Literal["next", "wrong"]
    number: int
    hint: str
    frame: Frame
    answer: Frame
    choices: tuple[Choice, ...]
    why: str
    cost: str
    indicative: str


def _box(shown: Shown) -> Array:
    ends = shown.solid.vertices @ shown.pose[:3, :3].T + shown.pose[:3, 3]
    return np.array([ends.min(axis=0), ends.max(axis=0)])


def _bare(frame: Frame, shown: Sequence[Shown], labelled: Collection[str] = (), cut: CutPlane | None = None) -> Frame:
    """A frame with parts only: no words, numbers, figures or trails that would give the answer away."""
    return Frame(frame.machine, None, tuple(shown), (), (), frame.camera, cut, labelled=tuple(labelled))


# -- what comes next ------------------------------------------------------------------------------------------------


def next_part(slips: Slips, due: str, chance: random.Random, aspect: float = 1.5) -> Question | None:
    """What comes next, when step `due` is next; None when too few parts would be wrong."""
    wrong: list[tuple[str, str]] = []
    for name in slips.offered(due):
        if not _compact(slips, name):
            continue
        found = slips.too_early(name, due)
        if found is not None:
            reason, cost = found
            told = f" {slips.told(cost)}" if cost.off else ""
            wrong.append((name, reason + told))
        if len(wrong) == CHOICES - 1:
            break
    if len(wrong) < FEWEST - 1:
        return None
    step = slips.procedure.steps[due]
    offered = [(due, text(f"step.{due}.reason")), *wrong]
    chance.shuffle(offered)
    choices = tuple(Choice(_names(slips, name), name == due, because) for name, because in offered)
    now = slips.explainer.with_(slips.now, step=due)
    frame = slips.explainer.frame(now, aspect)
    coming = _members(slips, step.arrives)
    standing = [replace(part, state="in place", cut=False) for part in frame.shown if part.name not in coming]
    tries = [_laid_out(slips, [name for name, _ in offered], standing, below) for below in (False, True)]
    views = [cameras.fit([_box(part) for part in (*standing, *sum(groups, []))], aspect=aspect) for groups in tries]
    far = [float(np.linalg.norm(np.subtract(view.position, view.focus))) for view in views]
    groups, camera = tries[int(np.argmin(far))], views[int(np.argmin(far))]
    asked = replace(_bare(frame, [*standing, *sum(groups, [])]), camera=camera, sequence=_numbered(groups, min(far)))
    answer = slips.explainer.frame(replace(now, explode=1.0), aspect)
    number = slips.procedure.steps[due].number - 1
    return Question(
        "next", number, text("question.next_hint", number=number), asked, replace(answer, callouts=()), choices,
        text(f"step.{due}.reason"), wrong[0][1], text("order.forgotten.indicative"),
    )  # fmt: skip


def _compact(slips: Slips, step: str) -> bool:
    """Whether what a step brings can be laid out as one heap: not keys of two shafts."""
    boxes = [explode.box_of(slips.reducer.by_name[name]) for name in _members(slips, slips.procedure.steps[step].arrives)]
    whole = float(np.linalg.norm(np.ptp(explode.union(boxes), axis=0)))
    return whole <= HEAP * max(float(np.linalg.norm(np.ptp(box, axis=0))) for box in boxes)


def _members(slips: Slips, items: Sequence[str]) -> set[str]:
    return {member for item in items for member in slips.reducer.members(item)}


def _names(slips: Slips, step: str) -> str:
    return ", ".join(slips.name(item) for item in slips.procedure.steps[step].arrives)


def _laid_out(slips: Slips, steps: Sequence[str], standing: Sequence[Shown], below: bool) -> list[list[Shown]]:
    """The parts of each step as they go together, the steps side by side to the right of what stands, or below it in the picture."""
    reducer, turn = slips.reducer, rotation(slips.procedure.steps[steps[0]])
    groups = []
    for name in steps:
        group = []
        for item in slips.procedure.steps[name].arrives:
            for member in reducer.members(item):
                part = reducer.by_name[member]
                flat = replace(part, spec=part.unlocked or part.spec)
                pose = np.eye(4)
                pose[:3, :3], pose[:3, 3] = turn @ part.pose[:3, :3], turn @ part.pose[:3, 3]
                group.append(
                    Shown(member, label_of(reducer, part), part.role, build(flat), flat.spec.key, pose, "arriving", whole=True)
                )
        groups.append(group)
    back = cameras.DIRECTION / np.linalg.norm(cameras.DIRECTION)
    right = np.cross([0.0, 0.0, 1.0], back)
    right /= np.linalg.norm(right)
    over = np.cross(back, right)
    there = np.vstack([cameras.corners(_box(part)) for part in standing])
    boxes = [np.vstack([cameras.corners(_box(part)) for part in group]) for group in groups]
    widths = [float(np.ptp(points @ right)) for points in boxes]
    gap = APART * sorted(widths)[len(widths) // 2]
    middle = (there.min(axis=0) + there.max(axis=0)) / 2.0
    if below:
        tall = max(float(np.ptp(points @ over)) for points in boxes)
        middle = middle + over * (float((there @ over).min()) - (1.0 + APART) * tall / 2.0 - float(middle @ over))
        at = float(middle @ right) - (sum(widths) + gap * (len(widths) - 1)) / 2.0
    else:
        at = float((there @ right).max()) + gap
    found: list[list[Shown]] = []
    for group, points, width in zip(groups, boxes, widths, strict=True):
        shift = middle + right * (at + width / 2.0 - middle @ right) - (points.min(axis=0) + points.max(axis=0)) / 2.0
        at += width + gap
        found.append([])
        for shown in group:
            pose = shown.pose.copy()
            pose[:3, 3] += shift
            found[-1].append(replace(shown, pose=pose))
    return found


def _numbered(groups: Sequence[Sequence[Shown]], far: float) -> tuple[Numbered, ...]:
    """The number of each choice over what it names, seen from so far away [mm]."""
    found = []
    for number, group in enumerate(groups, 1):
        points = np.vstack([cameras.corners(_box(part)) for part in group])
        x, y, _ = (points.min(axis=0) + points.max(axis=0)) / 2.0
        found.append(Numbered((float(x), float(y), float(points[:, 2].max()) + OVER * far), str(number)))
    return tuple(found)


# -- what is wrong --------------------------------------------------------------------------------------------------


def slip(slips: Slips, chosen: Slip, chance: random.Random, differs: Differs, aspect: float = 1.5) -> Question | None:
    """What is wrong, for this slip; None when the picture does not show it or too few other choices are plainly false."""
    settings = slips.settings(chosen)
    frame = slips.explainer.frame(settings, aspect)
    step = slips.procedure.steps[chosen.seen]
    number, title = step.number, text(f"step.{step.id}.title")
    if chosen.kind == "shim":
        right = slips.explainer.frame(replace(settings, gaskets=slips.now.gaskets), aspect)
        asked = replace(frame, step=None, callouts=(), labelled=(), trails=(), notes=())
        others = [
            Slip("shim", name, chosen.seen, thickness, 1.0) for name in SHIMS for thickness in (2.0, 0.5)
            if (name, thickness > 1.0) != (chosen.item, chosen.thick)
        ]  # fmt: skip
        false = [(slips.said(other), "") for other in others]
        return _put(slips, chosen, chance, asked, right, false, text("question.shim_hint", number=number, step=title))
    turn = rotation(step)
    x, y, z = (float(v) for v in turn @ np.array(FRONT.normal))
    cut = CutPlane(FRONT.origin, (x, y, z))
    true = [replace(part, state="in place", cut=True) for part in frame.shown if part.state != "waiting"]
    there = {part.name for part in true}
    about = set(slips.reducer.members(chosen.item))
    if not about <= there or (chosen.kind == "omitted" and not slips.cost(chosen).off):
        return None
    right = _bare(frame, true, (), cut)
    boxes = [_box(part) for part in true]
    subject = [_box(part) for part in true if part.name in about]
    if chosen.kind == "turned":  # which way a part faces is told by its lips, ribs and shoulders
        right = replace(right, camera=cameras.close_camera(boxes, subject, CLOSE, aspect))
    else:
        right = replace(right, camera=cameras.step_camera(boxes, subject, aspect=aspect))
    asked = replace(right, shown=tuple(_altered(slips, chosen, true)))
    if differs(asked, right) < SEEN:
        return None
    false = _false(slips, chosen, right, true, chance, differs)
    if len(false) < FEWEST - 1:
        return None
    labels = tuple(dict.fromkeys(part.label for part in true if part.name in about))
    return _put(
        slips, chosen, chance, asked, replace(right, labelled=labels), false, text("question.wrong_hint", number=number, step=title)
    )


def _put(
    slips: Slips, chosen: Slip, chance: random.Random, asked: Frame, right: Frame, false: Sequence[tuple[str, str]], hint: str
) -> Question:
    why = slips.why(chosen)
    choices = [Choice(slips.said(chosen), True, why), *(Choice(told, False, because) for told, because in false[: CHOICES - 1])]
    chance.shuffle(choices)
    cost = slips.told(slips.cost(chosen))
    return Question(
        "wrong",
        slips.procedure.steps[chosen.seen].number,
        hint,
        asked,
        right,
        tuple(choices),
        why,
        cost,
        text("order.forgotten.indicative"),
    )


def _altered(slips: Slips, chosen: Slip, true: Sequence[Shown]) -> list[Shown]:
    """The parts with the slip in them."""
    about = set(slips.reducer.members(chosen.item))
    if chosen.kind == "omitted":
        return [part for part in true if part.name not in about]
    if chosen.kind == "open":
        part = slips.reducer.by_name[chosen.item]
        assert part.unlocked is not None
        flat = replace(part, spec=part.unlocked)
        return [replace(each, solid=build(flat), spec_key=flat.spec.key) if each.name in about else each for each in true]
    mine = [part for part in true if part.name in about]
    points = np.vstack([cameras.corners(_box(part)) for part in mine])
    own = slips.about_its_axis(chosen)
    centre = mine[0].pose[:3, 3] if own else (points.min(axis=0) + points.max(axis=0)) / 2.0
    line = mine[0].pose[:3, 2 if own else 0]  # its own axis, or one square to it: end for end
    turn = 2.0 * np.outer(line, line) - np.eye(3)  # half a turn
    found = []
    for shown in true:
        if shown.name in about:
            pose = shown.pose.copy()
            pose[:3, :3] = turn @ pose[:3, :3]
            pose[:3, 3] = turn @ (pose[:3, 3] - centre) + centre
            shown = replace(shown, pose=pose)
        found.append(shown)
    return found


def _false(
    slips: Slips, chosen: Slip, right: Frame, true: Sequence[Shown], chance: random.Random, differs: Differs
) -> list[tuple[str, str]]:
    """What is plainly not so: a part that is there, a bearing that faces right, a tab that is bent."""
    there = {part.name for part in true}
    seen: dict[tuple[str, str], Slip] = {}
    for other in slips.all:
        if other.kind != "shim" and other.item != chosen.item and set(slips.reducer.members(other.item)) <= there:
            if slips.place[slips.right_step(other)] <= slips.place[chosen.seen]:
                seen[other.kind, other.item] = other
    rest = list(seen.values())
    chance.shuffle(rest)
    rest.sort(key=lambda other: other.kind == "omitted")  # few can be turned or left open: offer those when they are there
    found = []
    for other in rest[:TRIES]:
        if differs(replace(right, shown=tuple(_altered(slips, replace(other, seen=chosen.seen), true))), right) >= SEEN:
            found.append((slips.said(other), text(f"question.fine_{other.kind}", item=slips.name(other.item))))
        if len(found) == CHOICES - 1:
            break
    return found


def ask(slips: Slips, kind: str, near: str | None, chance: random.Random, differs: Differs, aspect: float = 1.5) -> Question | None:
    """A question of this kind ("next" or "wrong"), about the phase of step `near` if it can be; None when none is found in a few tries."""
    phase = slips.procedure.steps[near].phase if near is not None and near in slips.procedure.steps else None

    def first(step: str) -> bool:
        return slips.procedure.steps[step].phase != phase

    if kind == "next":
        steps = list(slips.due)
        chance.shuffle(steps)
        tries = (next_part(slips, due, chance, aspect) for due in sorted(steps, key=first))
        return next((found for found in tries if found is not None), None)
    rest = list(slips.all)
    chance.shuffle(rest)
    rest = _mixed(sorted(rest, key=lambda each: first(each.seen)), chance)
    tries = (slip(slips, each, chance, differs, aspect) for each in rest[:TRIES])
    return next((found for found in tries if found is not None), None)


def _mixed(slips: Sequence[Slip], chance: random.Random) -> list[Slip]:
    """The same with the kinds taking turns, or parts left out would be nearly all."""
    kinds = list(dict.fromkeys(each.kind for each in slips))
    chance.shuffle(kinds)
    if chance.random() > SHIM_SHARE:  # the marks and the dial always show it: it would push out all that is harder to see
        kinds.sort(key=lambda kind: kind == "shim")
    queues = {kind: [each for each in slips if each.kind == kind] for kind in kinds}
    turns = [kind for kind in kinds if kind != "shim" or kinds[0] == "shim"]
    found = [queues[kind].pop(0) for _ in range(TRIES) for kind in turns if queues[kind]][: TRIES - 1]
    return found + [each for kind in kinds for each in queues[kind][:1] if kind == "shim"]
