"""`shimwright check`: judge every joint, prove the order, tell who comes before whom, mend an order, tell what a forgotten part costs."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

from scenes import forgotten, network, order_lines, order_listing, precedence, procedure, suggest, verdict
from scenes.explain import Explainer
from scenes.network import Network
from scenes.order import PROOF, QUICK, Progress
from scenes.precedence import Precedence
from scenes.settings import Settings
from scenes.wording import text
from viewer import progress
from viewer.refused import Refused

EXAMPLE = "shimwright check millrace --proof"
STOP = 1


def options(check: argparse.ArgumentParser) -> None:
    """What can be asked of it."""
    check.add_argument(
        "--proof", action="store_true", help="look at every way in at 0.5 mm instead of 1 mm: the verdict to rely on"
    )
    instead = check.add_mutually_exclusive_group()
    instead.add_argument(
        "--precedence",
        action="store_true",
        help="instead: who must come before whom, how far each step may move, the critical path; with -o FILE.png or FILE.svg as a drawing too",
    )
    instead.add_argument(
        "--suggest",
        action="store_true",
        help="instead: the fewest steps to move for an order that is proven; with -o FILE.toml as a procedure file too",
    )
    instead.add_argument(
        "--forgotten",
        action="store_true",
        help="instead: what each forgotten part costs when it is noticed at the end, what hurts most first",
    )
    check.add_argument("-o", "--out", metavar="FILE", help="file to write, with --precedence or --suggest")
    check.add_argument("--json", action="store_true", help="print as JSON")


def run(explainer: Explainer, now: Settings, args: argparse.Namespace) -> int:
    """Print what was asked. Result: the exit code."""
    _refuse_wrong_file(args)
    if args.forgotten:
        return _forgotten(explainer, now, args)
    if args.suggest:
        return _suggest(explainer, now, args)
    if args.precedence and not args.json:
        return _precedence(explainer, now, args)
    reducer = explainer.reducer(now)
    judged = explainer.verdict(now, pitch=_pitch(args), progress=_bar("order.progress"))
    report = explainer.numbers(now)
    report["order"] = verdict.report(judged, reducer, now.units)
    if args.json:
        links = _links(explainer, now, args) if judged.holds else None
        report["order"]["precedence"] = links and order_listing.precedence_report(explainer.procedure, *links)
        if args.out and links:
            _drawn(explainer, args, *links)
    stops = verdict.sentences(judged, reducer, now.units)
    if stops:
        report["verdict"] = "stop"
    if args.json:
        print(json.dumps(report, indent=1, ensure_ascii=False))
    else:
        notes = [(step, note) for step in report["steps"] for note in step["callouts"] if note["verdict"]]
        counts = {word: sum(note["verdict"] == word for _, note in notes) for word in ("stop", "watch", "fine")}
        counts["stop"] += len(stops)
        print(
            f"{report['machine']}: {len(explainer.procedure.order)} steps, "
            + ", ".join(f"{count} {word}" for word, count in counts.items())
        )
        for sentence in stops:
            print(f"stop   order    {sentence}")
        for word in ("stop", "watch"):
            for step, note in notes:
                if note["verdict"] == word:
                    tail = f"  [{note['limit']}; {note['source']}]" if note["limit"] else ""
                    print(f"{word:5}  step {step['number']:2}  {note['text']}{tail}")
        print("\n".join(verdict.closing(judged)))
    return STOP if report["verdict"] == "stop" else 0


def _pitch(args: argparse.Namespace) -> float:
    return PROOF if args.proof else QUICK


def _bar(key: str) -> Progress:
    return lambda done, total: progress.progress(done, total, text(key))


def _refuse_wrong_file(args: argparse.Namespace) -> None:
    """Before anything is looked at: what -o names must fit what is asked."""
    if args.out is None:
        return
    accepted = (".png", ".svg") if args.precedence else (".toml",) if args.suggest else ()
    if Path(args.out).suffix.lower() not in accepted:
        told = f"a file ending in {' or '.join(accepted)}" if accepted else "with --precedence or --suggest"
        raise Refused(f"-o {args.out}: can't be written: accepted: {told}")
    if args.suggest and Path(args.out).exists():
        raise Refused(f"-o {args.out}: exists: accepted: a new file name (nothing was written)")


Links = tuple[Precedence, Network]


def _links(explainer: Explainer, now: Settings, args: argparse.Namespace) -> Links:
    found = precedence.precedence(explainer.job(now), pitch=_pitch(args), progress=_bar("precedence.progress"))
    return found, network.network(explainer.procedure, found, explainer.times(now))


def _drawn(explainer: Explainer, args: argparse.Namespace, links: Precedence, found: Network) -> None:
    from viewer import order_figure

    try:
        order_figure.draw(explainer.procedure, links, found, explainer.title, Path(args.out))
    except OSError as error:
        raise Refused(f"-o {args.out}: can't be written: {error.strerror}") from None


def _precedence(explainer: Explainer, now: Settings, args: argparse.Namespace) -> int:
    """Print who must come before whom, and draw it."""
    if not explainer.verdict(now, pitch=_pitch(args), progress=_bar("order.progress")).holds:
        print(text("precedence.not_whole"))
        return STOP
    links = _links(explainer, now, args)
    if args.out:
        _drawn(explainer, args, *links)
    print("\n".join(order_listing.precedence_lines(explainer.procedure, *links, explainer.title)))
    return 0


def _suggest(explainer: Explainer, now: Settings, args: argparse.Namespace) -> int:
    """Print the smallest change that is proven, and write it."""
    reducer = explainer.reducer(now)
    found = suggest.suggest(explainer.job(now), pitch=_pitch(args), progress=_bar("order.progress"))
    if args.json:
        report: dict[str, Any] = {"machine": explainer.title}
        report["suggestion"] = order_listing.suggestion_report(found, reducer, now.units)
        print(json.dumps(report, indent=1, ensure_ascii=False))
    else:
        print("\n".join(order_listing.suggestion_lines(found, reducer, now.units)))
    if args.out and found.cures:
        name = explainer.machine.procedure
        source = procedure.shipped() if name is None else (explainer.folder / name).read_bytes()
        try:
            made = order_lines.rewritten(source.decode(), found.procedure.order)
            with Path(args.out).open("x", encoding="utf-8") as out:
                out.write(made)
        except order_lines.CannotRewrite as error:
            raise Refused(f"{name}: {error}") from None
        except OSError as error:
            raise Refused(f"-o {args.out}: can't be written: {error.strerror}") from None
    return 0 if found.cures else STOP


def _forgotten(explainer: Explainer, now: Settings, args: argparse.Namespace) -> int:
    """Print what each forgotten part costs."""
    if args.proof:
        raise Refused("--forgotten: with --proof the order is proven instead: accepted: one of the two")
    if explainer.gaps:
        raise Refused(*explainer.gaps)
    reducer, procedure = explainer.reducer(now), explainer.procedure
    rows = forgotten.table(reducer, procedure, explainer.times(now))
    if args.json:
        print(json.dumps(forgotten.report(reducer, procedure, rows), indent=1, ensure_ascii=False))
    else:
        print("\n".join(forgotten.lines(reducer, procedure, rows)))
    return 0
