"""The `adjust` command: reads what the fitter typed, prints the shim moves."""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable, Sequence
from typing import Any

from calc import refusal, units
from calc.readings import BACKLASH_SIGMA, MARK_SIGMA, Mark
from scenes import adjusting, adjusting_listing, mark_words, record_words
from scenes.explain import Explainer
from scenes.reads import Read
from scenes.settings import Settings
from scenes.wording import text

MOST_READINGS = 24
EXAMPLE = 'shimwright adjust millrace --backlash "0.31 mm" --drive heel --coast heel'


class Fault(Exception):
    """Bad input: a finished line."""


def options(sub: argparse.ArgumentParser) -> None:
    """The readings."""
    sub.add_argument("--backlash", metavar="READING", action="append", default=[],
                     help="what the dial read; give it once for each place, evenly spread round the gear (three or more tell the runout)")  # fmt: skip
    sub.add_argument(
        "--at-radius",
        metavar="RADIUS",
        help="where the dial's stem touches, from the gear's axis (default: large-end pitch circle)",
    )
    places = "toe, heel, low, high, centre, hard-toe ... or two percentages, from the toe and up from the root"
    sub.add_argument("--drive", metavar="PLACE", help=f"pattern on the drive flank, read on the gear: {places}")
    sub.add_argument("--coast", metavar="PLACE", help="pattern on the coast flank, likewise")
    sub.add_argument(
        "--end-play", metavar="PLAY", help="pinion end play that the reading contains (default: held on its running stop)"
    )
    sub.add_argument("--sigma", metavar="LENGTH", help="standard deviation of one dial reading (default 0.025 mm)")
    sub.add_argument("--mark-sigma", metavar="PERCENT", help='standard deviation of a pattern\'s place (default "7 %%")')
    sub.add_argument("--dial", choices=["plunger", "lever"], default="plunger", help="kind of dial (default plunger)")
    sub.add_argument("--json", action="store_true", help="print as JSON")


def _quantity(name: str, given: str, kind: str, least: float, most: float, *, above: bool = False) -> float:
    """A quantity within its range; `above`: the least itself is refused. Raises Fault."""
    try:
        value = units.read(given, kind)
    except units.UnitError as error:
        raise Fault(f"{name} {refusal.told(given)}: {error}") from None
    if not least <= value <= most or (above and value == least):
        system: Any = "inch" if given.strip().endswith(("in", '"', "inch", "thou")) else "mm"
        low, high = (units.typed(limit, kind, system) for limit in (least, most))
        raise Fault(f"{name} {refusal.told(given)}: accepted: {'above ' if above else ''}{low} to {high}")
    return value


def place(name: str, given: str, sigma: float) -> Mark:
    """A pattern's place from words such as "toe,low", or from two percentages. Raises Fault."""
    try:
        return mark_words.place(record_words.kept(Read("pattern", "marks"), [given])[0], sigma)
    except ValueError as error:
        raise Fault(f"{name} {refusal.told(given)}: {error}") from None


def _read(args: argparse.Namespace) -> adjusting.Read:
    """The readings as typed. Raises Fault with every fault at once, a line each."""
    faults: list[str] = []

    def taken(read: Callable[[], Any]) -> Any:
        try:
            return read()
        except Fault as fault:
            faults.append(str(fault))
            return None

    if len(args.backlash) > MOST_READINGS:
        faults.append(f"--backlash: {len(args.backlash)} readings: accepted: at most {MOST_READINGS}")
    dial = [
        taken(lambda given=given: _quantity("--backlash", given, "length", 0.0, 5.0)) for given in args.backlash[:MOST_READINGS]
    ]
    radius = taken(lambda: _quantity("--at-radius", args.at_radius, "length", 1.0, 5000.0)) if args.at_radius is not None else None
    play = taken(lambda: _quantity("--end-play", args.end_play, "length", 0.0, 1.0)) if args.end_play is not None else None
    sigma = (
        taken(lambda: _quantity("--sigma", args.sigma, "length", 0.0, 1.0, above=True))
        if args.sigma is not None
        else BACKLASH_SIGMA
    )
    spread = MARK_SIGMA
    if args.mark_sigma is not None:
        share = taken(lambda: _quantity("--mark-sigma", args.mark_sigma, "fraction", 0.0, 1.0, above=True))
        spread = share * 100.0 if share else MARK_SIGMA
    marks = [
        taken(lambda n=n: place(f"--{n}", getattr(args, n), spread)) if getattr(args, n) is not None else None
        for n in ("drive", "coast")
    ]
    if not args.backlash and args.drive is None and args.coast is None:
        faults.append(f"nothing read: accepted: --backlash, --drive or --coast, for example {EXAMPLE}")
    if args.at_radius is not None and not args.backlash:
        faults.append("--at-radius: without a --backlash there is nothing to convert: accepted: both")
    if args.dial == "lever":
        faults.append(
            "--dial lever: a lever dial multiplies by its own factor: accepted: plunger, square to the tooth (read again)"
        )
    if faults:
        raise Fault("\n".join(faults))
    return adjusting.Read(tuple(dial), radius, marks[0], marks[1], play, sigma, args.dial)


def _found(explainer: Explainer, now: Settings, args: argparse.Namespace) -> tuple[Any, ...]:
    read, reducer = _read(args), explainer.reducer(now)
    try:
        found = adjusting.answer(reducer, explainer.procedure, read)
    except ValueError as error:
        raise Fault(text("adjust.refused", why=str(error))) from None
    return found, reducer, explainer.procedure, explainer.title, now.units


def answered(explainer: Explainer, now: Settings, args: argparse.Namespace) -> tuple[list[str], bool]:
    """The answer as lines, and whether shims can do it. Raises Fault with every fault of what was typed, a line each."""
    given = _found(explainer, now, args)
    return list(adjusting_listing.lines(*given)), bool(given[0].possible)


def typed(args: argparse.Namespace) -> bool:
    """Whether readings were typed; without them those of the record's last round are taken."""
    return bool(args.backlash or args.drive is not None or args.coast is not None)


def refuse_beside_record(args: argparse.Namespace) -> None:
    """Refuse what says something about readings that were not typed. Raises Fault."""
    given = {"--at-radius": args.at_radius, "--end-play": args.end_play, "--sigma": args.sigma, "--mark-sigma": args.mark_sigma}
    given |= {"--gasket": args.gasket or None, "--dial": args.dial if args.dial != "plunger" else None}
    faults = [
        f"{name}: with --record alone: accepted: with readings that are typed" for name, one in given.items() if one is not None
    ]
    if faults:
        raise Fault("\n".join(faults))


def wanted_first(explainer: Explainer, why: list[str], args: argparse.Namespace) -> int:
    """Print what is wanted before a move can be worked out. Result: 1."""
    said = {"machine": explainer.title, "possible": False, "move": None, "wanted_first": why, "text": why}
    print(json.dumps(said, indent=1, ensure_ascii=False) if args.json else "\n".join(why))
    return 1


def run(
    explainer: Explainer,
    now: Settings,
    args: argparse.Namespace,
    given: tuple[Any, ...] | None = None,
    *,
    as_found: bool = False,
    said: Sequence[str] = (),
) -> int:
    """Print the moves; `given`: of readings that a record holds, `as_found` of a machine that comes apart all the same, with what else is
    `said` of them. Result: 0, or 1 when no shim can do it. Raises Fault."""
    given = given or _found(explainer, now, args)
    if args.json:
        report = adjusting_listing.report(*given, as_found=as_found)
        print(json.dumps({**report, **({"said": list(said)} if said else {})}, indent=1, ensure_ascii=False))
        return 0 if given[0].possible else 1
    title, *lines = adjusting_listing.lines(*given, as_found=as_found)
    print("\n".join([title, *(one for one in said if one not in lines), *lines]))
    return 0 if given[0].possible else 1
