"""`shimwright check`: the verdict on a job, and what else can be asked of its order."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

from calc import refusal
from scenes import verdict, verdict_page
from scenes.explain import Explainer
from scenes.judged import Judged
from scenes.settings import Settings
from scenes.verdict import Verdict
from scenes.verdict_page import VerdictPage
from scenes.wording import text
from viewer import order_commands
from viewer.order_commands import STOP, bar, pitch
from viewer.refused import Refused
from viewer.verdict_word import verdict_word

EXAMPLE = "shimwright check millrace --proof"


def options(check: argparse.ArgumentParser) -> None:
    """What can be asked of it."""
    check.add_argument(
        "--proof", action="store_true", help="look at every way in at 0.5 mm instead of 1 mm: the verdict to rely on"
    )
    order_commands.options(check)
    check.add_argument(
        "-o",
        "--out",
        metavar="PATH",
        help="also write: a folder for pictures of the ways in that are not free, cut open where they meet; "
        "with --precedence a .png or .svg, with --suggest a .toml",
    )
    check.add_argument("--json", action="store_true", help="print as JSON")


def run(explainer: Explainer, now: Settings, args: argparse.Namespace) -> int:
    """Print what was asked. Result: the exit code."""
    asked = order_commands.asked(args)
    if asked is not None:
        return asked(explainer, now, args)
    if args.out is not None:
        _can_draw(args.out)
    judged = explainer.verdict(now, pitch=pitch(args), progress=bar("order.progress"))
    reducer = explainer.reducer(now)
    report = explainer.numbers(now)
    if not judged.holds:
        report["verdict"] = "stop"
    if args.json:
        report["order"] = verdict.report(judged, reducer, now.units)
        report["order"]["precedence"] = order_commands.precedence_report(explainer, now, args) if judged.holds else None
        print(json.dumps(report, indent=1, ensure_ascii=False))
    else:
        page = verdict_page.page(Judged(judged, ()), report, reducer, explainer.procedure, now.units, ())
        print("\n".join(_lines(page)))
    if args.out is not None:
        _draw(explainer, now, judged, args)
    return STOP if report["verdict"] == "stop" else 0


def _lines(page: VerdictPage) -> list[str]:
    """The one-page verdict, for a terminal."""
    told = [page.machine, f"{verdict_word(page.verdict).strip()}: {page.headline}", *page.facts]
    for part in page.lists:
        if part.items:
            told += ["", part.title]
        for item in part.items:
            told.append(f"{verdict_word(item.verdict)}  {item.text}" + (f"  [{item.below}]" if item.below else ""))
    return [*told, "", *page.foot]


def _can_draw(out: str) -> None:
    """Refuse a folder that can't be one, and a computer that can't draw, before the order is looked at."""
    if not out.strip() or (Path(out).exists() and not Path(out).is_dir()):
        raise Refused(f"--out {refusal.told(out)}: accepted: a folder to write, for example ways")
    from viewer import gl

    fault = gl.probe()
    if fault:
        raise Refused(fault)
    gl.prepare()


def _draw(explainer: Explainer, now: Settings, judged: Verdict, args: argparse.Namespace) -> None:
    """Pictures of the ways that are not free."""
    from viewer import blocked_sheets

    try:
        written = blocked_sheets.write(explainer.stage(now), judged.proof, now, Path(args.out))
    except OSError as error:
        raise Refused(f"--out {args.out}: can't be written: {error.strerror}") from None
    told = [text("blocked.written", count=len(written), folder=args.out) if written else text("blocked.none")]
    if "" in blocked_sheets.shown(judged.proof.blocked):
        told.append(text("blocked.capped", count=len(judged.proof.blocked), most=len(written)))
    print("\n".join(told), file=sys.stderr if args.json else sys.stdout)
