"""The command line: start, check, numbers, adjust, show, record, pack.

Exit codes: 0 fine, 1 a stop verdict, 2 bad input. Drawing code is imported inside the commands that draw.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from importlib.resources import files
from pathlib import Path
from typing import Any

from calc import refusal, units
from geometry.machine import MachineError
from scenes import effects, effects_listing, listing
from scenes.examples import EXAMPLES, open_machine
from scenes.explain import Explainer
from scenes.procedure_file import ProcedureError, suggestion
from scenes.settings import POSITION_GASKETS, Settings
from scenes.wording import LANGUAGES, speaking, text
from viewer import adjust_command, check_command, packing, record_command
from viewer.refused import Refused
from viewer.verdict_word import verdict_word

BAD_INPUT = 2


def parser() -> argparse.ArgumentParser:
    """The whole command line."""
    top = argparse.ArgumentParser(
        prog="shimwright", description="Plan, brief and check the rebuild of a right-angle bevel gear reducer."
    )
    top.add_argument("--debug", action="store_true", help="show the traceback of an unexpected fault")
    commands = top.add_subparsers(dest="command", required=True, metavar="COMMAND")

    def command(name: str, text: str, example: str, machine: bool = True) -> argparse.ArgumentParser:
        sub = commands.add_parser(name, help=text, description=text, epilog=f"example: {example}")
        if machine:
            sub.add_argument("machine", metavar="FILE", help=f"machine file, or a shipped example: {', '.join(EXAMPLES)}")
            if name != "record":
                sub.add_argument("--record", metavar="JOB", help="the machine as measured: with the readings of this record in it")
            sub.add_argument("--units", choices=["mm", "inch"], help="unit system of what is shown (default: the file's)")
            sub.add_argument(
                "--language", choices=LANGUAGES, default=LANGUAGES[0], help=f"language of what is shown (default {LANGUAGES[0]})"
            )
        return sub

    start = command("start", "Write a commented machine file to fill in.", "shimwright start mymachine.toml", machine=False)
    start.add_argument("file", metavar="FILE", help="file to write; an existing one is kept")
    kinds = start.add_mutually_exclusive_group()
    kinds.add_argument("--procedure", action="store_true", help="write the procedure file instead, for a planner to reorder")
    kinds.add_argument("--handling", action="store_true", help="write the handling times instead, for your shop's own")

    check = command(
        "check",
        "Read the machine file, build the reducer, judge every joint, prove the order.",
        check_command.EXAMPLE,
    )
    check_command.options(check)
    _shop_options(check)

    numbers = command(
        "numbers",
        "Print the live notes of one step or of all, the time plan, the kit list, or the effect table of the gaskets.",
        'shimwright numbers millrace --step gear_hot --heater "140 degC"',
    )
    lists = numbers.add_mutually_exclusive_group()
    lists.add_argument("--times", action="store_true", help="the time plan instead: heating, handling and waiting, step by step")
    lists.add_argument("--kit", action="store_true", help="the kit list instead: parts, gaskets, consumables, tools, lifts")
    lists.add_argument(
        "--effects", action="store_true", help="the effect table instead: what each position gasket does to backlash and pattern"
    )
    numbers.add_argument("--json", action="store_true", help="print as JSON")
    lists.add_argument("--explain", metavar="ID", help="how one figure is found: its formula, the figures in it, its source")
    _settings_options(numbers)

    adjust = command(
        "adjust",
        "Turn readings of backlash and pattern into shim moves; with --record alone those of its last round.",
        adjust_command.EXAMPLE,
    )
    adjust_command.options(adjust)
    _gasket_option(adjust)

    show = command("show", "Open the live explainer in the browser.", "shimwright show millrace")
    show.add_argument("--window", action="store_true", help="a plain window with keys instead of the browser page")
    show.add_argument("--port", type=int, default=0, help="port of the page (default: a free one)")
    show.add_argument("--no-browser", action="store_true", help="print the address only")
    show.add_argument(
        "--share", action="store_true", help="let others on this network read along: prints an address and a one-time code"
    )

    record = command("record", "Keep the record of a job: readings as found, in the rebuild, as left.", record_command.EXAMPLE)
    record_command.options(record)

    pack = command("pack", "Write pictures, sheets, films, model and numbers for the bench.", "shimwright pack millrace -o talk")
    pack.add_argument("-o", "--out", metavar="DIR", required=True, help="folder to write")
    pack.add_argument("--only", choices=packing.SECTIONS, help="write this part of the pack alone")
    pack.add_argument("--phase", metavar="ID", help="step pictures, sheets and film of this phase alone")
    pack.add_argument("--fast", action="store_true", help="pictures and films of half the size, films with fewer drawings")
    pack.add_argument("--paper", choices=["a4", "letter"], help="paper of the sheets (default: a4 in mm, letter in inches)")
    pack.add_argument("--size", default="1500x1000", help="picture size in pixels (default 1500x1000)")
    _settings_options(pack)
    return top


def _settings_options(sub: argparse.ArgumentParser) -> None:
    sub.add_argument("--step", help="step number or id (default: all)")
    _shop_options(sub)


def _shop_options(sub: argparse.ArgumentParser) -> None:
    sub.add_argument("--heater", metavar="TEMPERATURE", help='heater setting, for example "110 degC"')
    sub.add_argument("--ambient", metavar="TEMPERATURE", help='workshop temperature, for example "20 degC"')
    _gasket_option(sub)


def _gasket_option(sub: argparse.ArgumentParser) -> None:
    sub.add_argument(
        "--gasket",
        metavar="NAME=THICKNESS",
        action="append",
        default=[],
        help=f'free thickness of a gasket, for example pinion_gasket="0.6 mm" ({", ".join(POSITION_GASKETS)})',
    )


def _planned(args: argparse.Namespace) -> Explainer:
    """The machine as in its file."""
    machine, path = open_machine(args.machine)
    try:
        return Explainer(machine, path.parent if path else None, args.units)
    except MachineError as error:
        raise MachineError([f"{path.name if path else args.machine}: {line}" for line in error.faults]) from error


def _explainer(args: argparse.Namespace) -> Explainer:
    """The machine as in its file, with the readings of a record where one is named."""
    return record_command.measured(_planned(args), args.record) if getattr(args, "record", None) else _planned(args)


def _option(name: str, given: str, kind: str) -> float:
    try:
        return units.read(given, kind)
    except units.UnitError as error:
        raise Refused(f"{name} {refusal.told(given)}: {error}") from None


def _settings(explainer: Explainer, args: argparse.Namespace) -> Settings:
    now = explainer.start_settings()
    changes: dict[str, Any] = {"step": None}
    if args.units:
        changes["units"] = args.units
    if getattr(args, "step", None):
        changes["step"] = explainer.step_named(args.step)
    for name in ("heater", "ambient"):
        given = getattr(args, name, None)
        if given is not None:
            changes[name] = _option(f"--{name}", given, "temperature")
    gaskets = {}
    for given in getattr(args, "gasket", []):
        name, equals, thickness = given.partition("=")
        if not equals:
            raise Refused(f'--gasket {refusal.told(given)}: accepted: NAME=THICKNESS, for example pinion_gasket="0.6 mm"')
        gaskets[name.strip()] = _option(f"--gasket {refusal.key(name.strip())}", thickness, "length")
    if gaskets:
        changes["gaskets"] = gaskets
    return explainer.with_(now, **changes)


def start(args: argparse.Namespace) -> int:
    """Write the commented example, the procedure, or the handling times."""
    kind, folder, name = ("machine", "machines", "millrace.toml")
    if args.procedure:
        kind, folder, name = ("procedure", "procedures", "right_angle.toml")
    elif args.handling:
        kind, folder, name = ("handling", "procedures", "handling.toml")
    source = files("scenes").joinpath(folder, name)
    path = Path(args.file)
    try:
        with path.open("xb") as out:
            out.write(source.read_bytes())
    except FileExistsError:
        raise Refused(f"{path}: exists: accepted: a new file name (nothing was written)") from None
    except OSError as error:
        raise Refused(f"{path}: can't be written: {error.strerror}") from None
    print(text(f"start.{kind}", path=path, name=path.name))
    return 0


def check(args: argparse.Namespace) -> int:
    """Judge every joint of every step, and the order."""
    explainer = _explainer(args)
    return check_command.run(explainer, _settings(explainer, args), args)


def numbers(args: argparse.Namespace) -> int:
    """Print the notes, the time plan, the kit list or the effect table."""
    whole = next((name for name in ("times", "kit", "effects") if getattr(args, name)), None)
    if whole and args.step:
        raise Refused(f"--step {args.step}: with --{whole} the whole job is listed: accepted: one of the two")
    explainer = _explainer(args)
    if args.explain is not None:
        return _explain(explainer, args)
    if whole:
        return _listed(args, explainer)
    report = explainer.numbers(_settings(explainer, args))
    if args.json:
        print(json.dumps(report, indent=1, ensure_ascii=False))
        return 0
    print(report["machine"])
    for step in report["steps"]:
        if not step["callouts"] and args.step is None:
            continue
        print(f"\n{step['number']:2}  {step['title']}")
        for note in step["callouts"]:
            tail = "; ".join(part for part in (note["limit"], note["source"]) if part)
            print(f"    {verdict_word(note['verdict'])}  {note['text']}" + (f"  [{tail}]" if tail else ""))
    return 0


def _explain(explainer: Explainer, args: argparse.Namespace) -> int:
    """Print how one figure is found, once for all steps that show it alike."""
    found = explainer.workings(_settings(explainer, args), args.explain)
    if args.json:
        print(json.dumps(found, indent=1, ensure_ascii=False))
        return 0
    told: dict[str, list[str]] = {}
    for item in found:
        lines = [item["text"], text("explain.formula", formula=item["formula"])]
        lines += [text("explain.inserted", inserted=line) for line in item["inserted"]]
        if item["limit"]:
            lines.append(text("explain.limit", limit=item["limit"], verdict=verdict_word(item["verdict"]).rstrip()))
        lines.append(text("explain.source", source=item["source"]))
        told.setdefault("\n".join(lines), []).append(str(item["number"]))
    for words, steps in told.items():
        print(text("explain.steps", steps=", ".join(steps)))
        print(words)
    return 0


def _listed(args: argparse.Namespace, explainer: Explainer) -> int:
    """Print the time plan, the kit list or the effect table of the whole job."""
    now, name = _settings(explainer, args), explainer.title
    if args.effects:
        reducer = explainer.reducer(now)
        table = effects.effects(reducer, now.units)
        report = effects_listing.report(table, reducer, name, now.units)
        lines = effects_listing.lines(table, reducer, name, now.units)
    elif args.times:
        plan = explainer.times(now)
        report = listing.times(plan, explainer.procedure, name, now.units)
        lines = listing.times_lines(plan, explainer.procedure, name, now.units)
    else:
        found = explainer.kit(now)
        report = listing.kit(found, name, now.units)
        lines = listing.kit_lines(found, explainer.procedure, name)
    print(json.dumps(report, indent=1, ensure_ascii=False) if args.json else "\n".join(lines))
    return 0


def adjust(args: argparse.Namespace) -> int:
    """Shim moves from readings."""
    if not args.record or adjust_command.typed(args):
        explainer = _explainer(args)
        return adjust_command.run(explainer, _settings(explainer, args), args)
    adjust_command.refuse_beside_record(args)
    planned = _planned(args)
    now = _settings(planned, args)
    found = record_command.last_round(planned, now, args.record)
    if found.answer is None:
        return adjust_command.wanted_first(planned, [*found.said, *found.why], args)
    given = found.answer, found.reducer, planned.procedure, planned.title, now.units
    return adjust_command.run(planned, now, args, given, as_found=found.as_found, said=(*found.said, *found.why))


def _drawable() -> None:
    from viewer import gl

    fault = gl.probe()
    if fault:
        raise Refused(fault)
    gl.prepare()


def show(args: argparse.Namespace) -> int:
    """The live page, or the plain window."""
    if args.record and (args.window or args.share):
        raise Refused("--record: with --window or --share: accepted: the page alone adds to a record")
    if args.window and args.share:
        raise Refused("--share: with --window: accepted: one of the two")
    if not 0 <= args.port <= 65535:
        raise Refused(f"--port {args.port}: accepted: 0 to 65535")
    kept = record_command.kept(_planned(args), args.record) if args.record else None
    explainer = _planned(args) if kept is None else kept.present
    if not (args.window or args.no_browser):
        from viewer import live

        if live.browser_missing():
            raise Refused(text("page.no_browser"))
    _drawable()
    if args.window:
        from viewer import window

        window.run(explainer)
        return 0
    from viewer import live, share

    def asked(given: dict[str, Any]) -> Settings:
        return _settings(explainer, argparse.Namespace(**given))

    try:
        if args.share:
            share.serve(explainer, args.machine, asked, port=args.port, open_browser=not args.no_browser)
        else:
            live.serve(explainer, port=args.port, open_browser=not args.no_browser, record=kept)
    except OSError as error:
        raise Refused(
            f"--port {args.port}: can't be used: {error.strerror}: accepted: another port, or none for a free one"
        ) from None
    return 0


def record(args: argparse.Namespace) -> int:
    """The record of a job."""
    explainer = _explainer(args)
    return record_command.run(explainer, explainer.start_settings(), args)


def pack(args: argparse.Namespace) -> int:
    """Pictures and numbers into a folder."""
    if not args.out.strip():
        raise Refused('--out "": accepted: a folder to write, for example talk')
    explainer = _explainer(args)
    now = _settings(explainer, args)
    width, cross, height = args.size[:20].partition("x")
    if not (cross and width.isdecimal() and height.isdecimal() and 400 <= int(width) <= 6000 and 300 <= int(height) <= 6000):
        raise Refused(f"--size {refusal.told(args.size)}: accepted: WIDTHxHEIGHT, 400x300 to 6000x6000, for example 1500x1000")
    if args.phase is not None:
        _phase(explainer, now, args)
    order = packing.Order(args.only, args.phase, args.fast, (int(width), int(height)), args.paper)
    if order.sections(now) & packing.DRAWN:
        _drawable()
    try:
        written = packing.write(explainer, now, Path(args.out), order)
    except packing.CannotWrite as error:
        raise Refused(str(error)) from None
    print(text("lines.wrote", count=len(written), folder=args.out))
    return 0


def _phase(explainer: Explainer, now: Settings, args: argparse.Namespace) -> None:
    """Refuse a phase that there is not, or that goes with nothing else that is asked for."""
    given, phases = refusal.told(args.phase), explainer.procedure.phases
    if args.phase not in phases:
        raise Refused(f"--phase {given}: unknown: {suggestion(args.phase, phases)}")
    if now.step is not None:
        raise Refused(f"--phase {given}: with --step one step is written: accepted: one of the two")
    if args.only is not None and args.only not in packing.PHASED:
        raise Refused(
            f"--phase {given}: --only {args.only} is of the whole job: accepted: --only {', '.join(sorted(packing.PHASED))}"
        )


COMMANDS = {"start": start, "check": check, "numbers": numbers, "adjust": adjust, "show": show, "record": record, "pack": pack}


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command. Result: the exit code."""
    args = parser().parse_args(argv)
    try:
        with speaking(getattr(args, "language", LANGUAGES[0])):
            return COMMANDS[args.command](args)
    except (MachineError, ProcedureError) as error:
        lines = error.faults
    except Refused as error:
        lines = list(error.lines)
    except adjust_command.Fault as error:
        lines = str(error).splitlines()
    except ValueError as error:
        if args.debug:
            raise
        lines = [str(error)]
    except BrokenPipeError:
        return 0
    except KeyboardInterrupt:
        return 130
    except Exception as error:
        if args.debug:
            raise
        lines = [f"unexpected fault: {type(error).__name__}: {error} (run again with --debug to see where; nothing was changed)"]
    for line in lines:
        print(f"shimwright: {line}", file=sys.stderr)
    return BAD_INPUT


if __name__ == "__main__":
    sys.exit(main())
