"""What `shimwright check` tells of an order instead of the verdict: who comes before whom, the smallest change that mends it, what a
forgotten part costs, the rules of the trade.

Contents: `options`, `asked`, `precedence_report`, `pitch`, `bar`, `STOP`.
"""

from __future__ import annotations

import argparse
import json
from codecs import BOM_UTF8
from collections.abc import Callable
from pathlib import Path
from typing import Any

from scenes import forgotten, network, order_lines, order_listing, precedence, procedure_file, rules, suggest, verdict
from scenes.explain import Explainer
from scenes.network import Network
from scenes.order import PROOF, QUICK, Progress
from scenes.precedence import Precedence
from scenes.settings import Settings
from scenes.wording import text
from viewer import progress
from viewer.refused import Refused

STOP = 1
Asked = Callable[[Explainer, Settings, argparse.Namespace], int]


def options(check: argparse.ArgumentParser) -> None:
    """The questions, one at a time."""
    instead = check.add_mutually_exclusive_group()
    for name, told in (
        ("precedence", "who must come before whom, how far each step may move, the critical path"),
        ("suggest", "the fewest steps to move for an order that is proven"),
        ("forgotten", "what each forgotten part costs when it is noticed at the end, what hurts most first"),
        ("rules", "every rule of the trade that an order must keep, why, and its source"),
    ):
        instead.add_argument(f"--{name}", action="store_true", help=f"instead: {told}")


def asked(args: argparse.Namespace) -> Asked | None:
    """What answers the question that was asked; None when the verdict is wanted. Raises Refused on options that don't go together."""
    name = next((name for name in ANSWERS if getattr(args, name)), None)
    if name is None:
        if args.out is not None and Path(args.out).suffix.lower() in FILES:
            raise Refused(f"-o {args.out}: accepted: a folder; a file of this kind with --precedence or --suggest")
        return None
    answer, endings, pitched = ANSWERS[name]
    if args.proof and not pitched:
        raise Refused(f"--{name}: with --proof, which looks at the ways in instead: accepted: one of the two")
    if args.out is not None and not endings:
        raise Refused(f"-o {args.out}: with --{name} nothing is written: accepted: one of the two")
    if args.out is not None and Path(args.out).suffix.lower() not in endings:
        raise Refused(f"-o {args.out}: can't be written: accepted: a file ending in {' or '.join(endings)}")
    if name == "suggest" and args.out is not None and Path(args.out).exists():
        raise Refused(f"-o {args.out}: exists: accepted: a new file name (nothing was written)")
    return answer


def pitch(args: argparse.Namespace) -> float:
    """Distance of the lines that ways are looked at on [mm]."""
    return PROOF if args.proof else QUICK


def bar(key: str) -> Progress:
    """A progress bar with a text of the catalogue."""
    return lambda done, total: progress.progress(done, total, text(key))


def precedence_report(explainer: Explainer, now: Settings, args: argparse.Namespace) -> dict[str, Any]:
    """Who must come before whom, for `--json`; only of an order that holds."""
    return order_listing.precedence_report(explainer.procedure, *_links(explainer, now, args))


def _links(explainer: Explainer, now: Settings, args: argparse.Namespace) -> tuple[Precedence, Network]:
    found = precedence.precedence(explainer.job(now), pitch=pitch(args), progress=bar("precedence.progress"))
    return found, network.network(explainer.procedure, found, explainer.times(now))


def _precedence(explainer: Explainer, now: Settings, args: argparse.Namespace) -> int:
    """Print who must come before whom, and draw it."""
    judged = explainer.verdict(now, pitch=pitch(args), progress=bar("order.progress"))
    if not judged.holds:
        return _unanswered(explainer, args, verdict.sentences(judged, explainer.reducer(now), now.units), "precedence.not_whole")
    links = _links(explainer, now, args)
    if args.out:
        from viewer import order_figure

        try:
            order_figure.draw(explainer.procedure, *links, explainer.title, Path(args.out))
        except OSError as error:
            raise Refused(f"-o {args.out}: can't be written: {error.strerror}") from None
    if args.json:
        _print({"machine": explainer.title, "precedence": order_listing.precedence_report(explainer.procedure, *links)})
    else:
        print("\n".join(order_listing.precedence_lines(explainer.procedure, *links, explainer.title)))
    return 0


def _suggest(explainer: Explainer, now: Settings, args: argparse.Namespace) -> int:
    """Print the smallest change that is proven, and write it."""
    reducer = explainer.reducer(now)
    found = suggest.suggest(explainer.job(now), pitch=pitch(args), progress=bar("order.progress"))
    if args.json:
        left = {} if found.cures else {"holds": False, "faults": verdict.sentences(found.left, reducer, now.units)}
        _print({"machine": explainer.title, **left, "suggestion": order_listing.suggestion_report(found, reducer, now.units)})
    else:
        print("\n".join(order_listing.suggestion_lines(found, reducer, now.units)))
    if args.out and found.cures:
        name = explainer.machine.procedure
        source = procedure_file.shipped() if name is None else (explainer.folder / name).read_bytes()
        shipped = procedure_file.shipped().decode()
        tables = {step: order_lines.table_of(shipped, step) for step in found.restored}
        mark, content = ("utf-8-sig" if source.startswith(BOM_UTF8) else "utf-8"), source.decode("utf-8-sig")
        try:
            made = order_lines.rewritten(content, found.procedure.order, tables)
            with Path(args.out).open("x", encoding=mark, newline="") as out:
                out.write(made)
        except order_lines.CannotRewrite as error:
            raise Refused(f"{name}: {error}") from None
        except OSError as error:
            raise Refused(f"-o {args.out}: can't be written: {error.strerror}") from None
    return 0 if found.cures else STOP


def _forgotten(explainer: Explainer, now: Settings, args: argparse.Namespace) -> int:
    """Print what each forgotten part costs; of an order with gaps the gaps, of one with other faults a warning above it."""
    judged = explainer.verdict(now, pitch=pitch(args), progress=bar("order.progress"))
    if judged.gaps:
        return _unanswered(explainer, args, list(judged.gaps), "order.forgotten.not_whole")
    reducer, steps = explainer.reducer(now), explainer.procedure
    faults = verdict.sentences(judged, reducer, now.units)
    rows = forgotten.table(reducer, steps, explainer.times(now), pitch=pitch(args), progress=bar("forgotten.progress"))
    if args.json:
        told = {"machine": explainer.title, "holds": judged.holds, "faults": faults, "pitch": pitch(args)}
        _print({**told, "forgotten": forgotten.report(reducer, steps, rows)})
    else:
        warning = [] if judged.holds else [text("order.forgotten.at_fault"), *(f"  {fault}" for fault in faults), ""]
        print("\n".join([*warning, *forgotten.lines(reducer, steps, rows, now.units, pitch=pitch(args))]))
    return 0 if judged.holds else STOP


def _unanswered(explainer: Explainer, args: argparse.Namespace, faults: list[str], why: str) -> int:
    """Tell why a question is not answered: the order is at fault."""
    if args.json:
        _print({"machine": explainer.title, "holds": False, "faults": faults, "text": text(why)})
    else:
        print("\n".join([text(why), *(f"  {fault}" for fault in faults)]))
    return STOP


def _rules(explainer: Explainer, now: Settings, args: argparse.Namespace) -> int:
    """Print every rule with its reason and source."""
    listed = rules.listing()
    if args.json:
        _print({"rules": listed})
    else:
        print("\n".join(f"{found['rule']:<18} {found['reason']}  [{found['source']}]" for found in listed))
    return 0


def _print(report: object) -> None:
    print(json.dumps(report, indent=1, ensure_ascii=False))


ANSWERS: dict[str, tuple[Asked, tuple[str, ...], bool]] = {
    "precedence": (_precedence, (".png", ".svg"), True),
    "suggest": (_suggest, (".toml",), True),
    "forgotten": (_forgotten, (), True),
    "rules": (_rules, (), False),
}
"""What answers each question, endings of the file it may write, whether ways in are looked at."""
FILES = {ending for _, endings, _ in ANSWERS.values() for ending in endings}
