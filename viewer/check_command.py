"""`shimwright check`: judge every joint, prove the order, tell what a forgotten part costs."""

from __future__ import annotations

import argparse
import json

from scenes import forgotten, verdict
from scenes.explain import Explainer
from scenes.order import PROOF, QUICK
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
    check.add_argument(
        "--forgotten",
        action="store_true",
        help="instead: what each forgotten part costs when it is noticed at the end, what hurts most first",
    )
    check.add_argument("--json", action="store_true", help="print as JSON")


def run(explainer: Explainer, now: Settings, args: argparse.Namespace) -> int:
    """Print what was asked. Result: the exit code."""
    if args.forgotten:
        return _forgotten(explainer, now, args)
    reducer = explainer.reducer(now)
    judged = explainer.verdict(
        now,
        pitch=PROOF if args.proof else QUICK,
        progress=lambda done, total: progress.progress(done, total, text("order.progress")),
    )
    report = explainer.numbers(now)
    report["order"] = verdict.report(judged, reducer, now.units)
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
