"""The `record` command: adds readings to the record of a job, strikes them, prints it."""

from __future__ import annotations

import argparse
import json
import os
import sys
import tempfile
from pathlib import Path
from typing import Any

from calc import refusal
from scenes import next_move, record, record_listing, record_time, record_whose, rounds_listing
from scenes.explain import Explainer
from scenes.procedure_file import suggestion
from scenes.reads import OLDER, known
from scenes.record_file import RecordError
from scenes.settings import Settings
from scenes.wording import text
from viewer.refused import Refused

EXAMPLE = (
    'shimwright record millrace job.jsonl add --reading backlash --value "0.21 mm" --value "0.24 mm" --state left --initials AB'
)
OPTIONS = {
    "reading": "--reading", "value": "--value", "state": "--state", "step": "--step", "instrument": "--instrument", "due": "--calibrated-until",
    "temperature": "--temperature", "gauge": "--gauge-temperature", "time": "--time", "initials": "--initials", "note": "--note",
    "strike": "--strike", "same_machine": "--same-machine", "out": "--out", "before": "--before", "paper": "--paper", "json": "--json",
}  # fmt: skip
"""Options by the name under which they are kept."""
USED_BY = {name: ("add",) for name in OPTIONS} | {
    "out": ("sheet", "report"), "before": ("report",), "paper": ("sheet", "report"), "json": ("add", "show", "rounds"),
}  # fmt: skip
"""The acts that take an option."""
NOT_SIGNED = ("time", "state", "step", "instrument", "temperature", "gauge", "due")
"""Options of a reading alone."""
ACTS = ("add", "show", "rounds", "sheet", "report", "names")


def options(sub: argparse.ArgumentParser) -> None:
    """What is recorded, and by whom."""
    sub.add_argument("job", metavar="JOB", help="the record's file, one a job, beside the machine file; made when it is not there")
    sub.add_argument(
        "act",
        choices=ACTS,
        help="add: a reading, or strike one; show: print it; rounds: how it came inside its limits, gasket by gasket, and what next; "
        "sheet: its sheet of readings as PDF, blank where nothing is read; report: write it as PDF; names: what can be read",
    )
    sub.add_argument(
        "--reading", metavar="NAME", help="what was read: backlash, gaskets.pinion_gasket, high_speed_shaft.roller_seat ..."
    )
    sub.add_argument("--value", metavar="VALUE", action="append", default=[],
                     help='what was read, with its unit; give it once for each place, push or screw; "8 x 60 N m" for eight screws alike; "20 min 48 degC" in the first run; a mark as "drive toe,low"; a dial at another radius as "0.39 mm at 240 mm"')  # fmt: skip
    sub.add_argument("--state", choices=record.STATES, help="as found, in the rebuild, as left (default fitting)")
    sub.add_argument("--step", help="step number or id at which it was read (default: the first that asks for it)")
    sub.add_argument(
        "--instrument", default="", metavar="TEXT", help='what it was read with, and its number: "micrometer 25-50, no. 17"'
    )
    sub.add_argument("--calibrated-until", default="", metavar="DATE", dest="due",
                     help="last day of the instrument's calibration, for example 2027-03-01; told once it holds for later readings")  # fmt: skip
    sub.add_argument("--temperature", metavar="TEMPERATURE", action="append", default=[],
                     help='of the part that was read, for example "21 degC"; once for each part')  # fmt: skip
    sub.add_argument("--gauge-temperature", metavar="TEMPERATURE", default="", dest="gauge", help="of the instrument")
    sub.add_argument("--initials", default="", metavar="TEXT", help="who read it")
    sub.add_argument("--time", metavar="TIME", help='when it was read, typed in afterwards: "2026-11-24 14:30" (default: now)')
    sub.add_argument("--note", default="", metavar="TEXT", help="a remark; why an entry is struck")
    sub.add_argument("--strike", type=int, metavar="NUMBER", help="strike the entry of that number instead of adding a reading")
    sub.add_argument("--same-machine", action="store_true", dest="same_machine",
                     help="instead of adding a reading, sign that the record is of this machine and set though its title or set number was changed: with --initials and --note")  # fmt: skip
    sub.add_argument("-o", "--out", metavar="FILE", help="PDF to write for sheet and report")
    sub.add_argument("--before", metavar="JOB", action="append", default=[],
                     help="record of an earlier job of this machine for the plots of report; the oldest first")  # fmt: skip
    sub.add_argument("--paper", choices=["a4", "letter"], help="paper of sheet and report (default: a4 in mm, letter in inches)")
    sub.add_argument("--json", action="store_true", help="print as JSON")


def kept(explainer: Explainer, given: str) -> record_listing.Opened:
    """The record of that file, empty where there is none yet. Raises Refused."""
    try:
        return record_listing.opened(explainer, Path(given))
    except RecordError as error:
        raise Refused(str(error)) from None


def measured(explainer: Explainer, given: str) -> Explainer:
    """The machine with the readings of a record in it; what could not be put in is told of. Raises Refused."""
    found = kept(explainer, given)
    if not found.there:
        raise Refused(f"--record {given}: not found: accepted: the record of a job")
    for line in (*found.remarks, *found.unfit):
        print(line, file=sys.stderr)
    return found.present


def last_round(explainer: Explainer, now: Settings, given: str) -> next_move.Next:
    """What the readings of a record's last round ask for. Raises Refused where there is no such record."""
    found = kept(explainer, given)
    if not found.there:
        raise Refused(f"--record {given}: not found: accepted: the record of a job")
    return next_move.next_move(found, now)


def run(explainer: Explainer, now: Settings, args: argparse.Namespace) -> int:
    """Do it. Result: 0; 1 when the reading is outside its limits. Raises Refused."""
    for name, option in OPTIONS.items():
        if getattr(args, name) not in (None, [], "", False) and args.act not in USED_BY[name]:
            raise Refused(f"{option}: with {args.act}: accepted: with {', '.join(USED_BY[name])}")
    try:
        acts = {"show": _listed, "add": _add, "rounds": _listed, "sheet": _sheet, "report": _report, "names": _names}
        return acts[args.act](explainer, now, args)
    except RecordError as error:
        raise Refused(str(error)) from None


def _names(explainer: Explainer, now: Settings, args: argparse.Namespace) -> int:
    for read in known(explainer.machine, explainer.procedure).values():
        if read.name in OLDER:
            continue
        steps = ", ".join(str(explainer.procedure.steps[step].number) for step in read.steps)
        print(text("record.name_line", name=read.name, title=read.title, kind=read.typed_as, steps=steps or "-"))
    return 0


def _opened(explainer: Explainer, given: str) -> record_listing.Opened:
    """The record of that file. Raises Refused where there is none, RecordError."""
    found = record_listing.opened(explainer, Path(given))
    if not found.there:
        raise Refused(f"{given}: not found: accepted: the record of a job")
    return found


def _listed(explainer: Explainer, now: Settings, args: argparse.Namespace) -> int:
    found, listing = _opened(explainer, args.job), rounds_listing if args.act == "rounds" else record_listing
    if args.json:
        print(json.dumps(listing.report(found, now), indent=1, ensure_ascii=False))
    else:
        print("\n".join(listing.lines(found, now)))
    return 0


def _sheet(explainer: Explainer, now: Settings, args: argparse.Namespace) -> int:
    _out(args, "sheet.pdf", args.job)
    found = record_listing.opened(explainer, Path(args.job))
    from viewer import printing

    with tempfile.TemporaryDirectory() as folder:
        printer = printing.Printer(found.present, now, Path(folder), args.paper or printing.paper_for(now.units))
        made = printer.record_sheet(found)
    _write(Path(args.out), made)
    print(text("record.wrote", file=args.out))
    return 0


def _report(explainer: Explainer, now: Settings, args: argparse.Namespace) -> int:
    _out(args, "left.pdf", *args.before, args.job)
    jobs = [_opened(explainer, given) for given in (*args.before, args.job)]
    from viewer import printing

    with tempfile.TemporaryDirectory() as folder:
        printer = printing.Printer(jobs[-1].present, now, Path(folder), args.paper or printing.paper_for(now.units))
        made = printer.record(jobs[-1], jobs[:-1])
    _write(Path(args.out), made)
    print(text("record.wrote", file=args.out))
    return 0


def _out(args: argparse.Namespace, example: str, *jobs: str) -> None:
    """Raises Refused where no PDF is to be written, or one that would take a record's place."""
    if not args.out:
        raise Refused(f"--out: missing: accepted: a PDF to write, for example -o {example}")
    for job in jobs:
        if os.path.realpath(args.out) == os.path.realpath(job):
            raise Refused(f"--out {args.out}: is the record {job} itself: accepted: another file")
    if Path(args.out).suffix.lower() != ".pdf":
        raise Refused(f"--out {args.out}: a PDF is written: accepted: a name that ends in .pdf, for example -o {example}")


def _write(path: Path, content: bytes) -> None:
    """Beside its place, then moved in; never over what is no PDF. Raises Refused."""
    try:
        if path.exists() and not _is_pdf(path):
            raise Refused(f"--out {path}: exists and is no PDF: accepted: a new file, or an older report")
        with tempfile.NamedTemporaryFile(dir=path.parent, prefix=f".{path.name}.", delete=False) as file:
            try:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
                os.chmod(file.name, 0o644)
                os.replace(file.name, path)
            except OSError:
                Path(file.name).unlink(missing_ok=True)
                raise
    except OSError as error:
        raise Refused(f"--out {path}: can't be written: {error.strerror or error}") from None


def _is_pdf(path: Path) -> bool:
    if not path.is_file():
        return False
    with path.open("rb") as file:
        return file.read(4) == b"%PDF"


def _add(explainer: Explainer, now: Settings, args: argparse.Namespace) -> int:
    path = Path(args.job)
    found = record_listing.opened(explainer, path)
    try:
        values = (
            _same(found, args) if args.same_machine else _strike(found, args) if args.strike is not None else _reading(found, args)
        )
    except ValueError as error:
        raise Refused(str(error)) from None
    number = record_listing.put(found, values)
    if args.same_machine:
        same: dict[str, Any] = {"number": number, "machine": found.planned.title}
        print(json.dumps(same, indent=1, ensure_ascii=False) if args.json else text("record.same_added", **same))
        return 0
    if args.strike is not None:
        said: dict[str, Any] = {"number": number, "strikes": args.strike}
        print(json.dumps(said, indent=1) if args.json else text("record.struck", number=number, old=args.strike))
        return 0
    try:
        return _told(record_listing.opened(explainer, path, found), number, now, args.json)
    except Exception as error:  # whatever it is: the entry stands, and nobody must type it again
        print(text("record.added_untold", number=number, fault=error), file=sys.stderr)
        return 1


def _told(found: record_listing.Opened, number: int, now: Settings, as_json: bool) -> int:
    """Print what the entry just added says. Result: 1 when it is outside its limits, else 0."""
    taken = next(one for one in found.job.taken if one.number == number)
    judged, follows = found.judge(taken, now), found.follows(taken, now)
    said = {
        "number": number,
        "verdict": judged.verdict,
        "says": list(judged.says),
        "now": [*judged.now, *follows],
        "unfit": list(found.unfit),
        "remarks": list(found.remarks),
    }
    told = [
        text("record.added", number=number, title=found.reads[taken.read].title),
        *judged.says,
        *judged.now,
        *follows,
        *found.unfit,
        *found.remarks,
    ]
    print(json.dumps(said, indent=1, ensure_ascii=False) if as_json else "\n".join(told))
    return 1 if judged.verdict == "stop" else 0


def _same(found: record_listing.Opened, args: argparse.Namespace) -> dict[str, Any]:
    for name in ("reading", "value", "strike", *NOT_SIGNED):
        if getattr(args, name) not in (None, "", []):
            raise ValueError(f"{OPTIONS[name]}: with --same-machine: accepted: --initials and --note alone")
    if not found.there:
        raise ValueError(f"{found.record.path}: not found: accepted: the record of a job")
    return record.same_machine(record_whose.of(found.planned.machine), initials=args.initials, note=args.note)


def _strike(found: record_listing.Opened, args: argparse.Namespace) -> dict[str, Any]:
    if args.reading is not None or args.value:
        raise ValueError("--strike: with --reading: accepted: one of the two")
    for name in NOT_SIGNED:
        if getattr(args, name):
            raise ValueError(f"{OPTIONS[name]}: with --strike: accepted: with a reading")
    return record.strike(found.job, args.strike, initials=args.initials, note=args.note)


def _reading(found: record_listing.Opened, args: argparse.Namespace) -> dict[str, Any]:
    procedure = found.planned.procedure
    read = found.reads.get(args.reading or "")
    if read is None:
        given = refusal.told(args.reading or "")
        raise ValueError(text("record.unknown", given=given, suggestion=suggestion(args.reading or "", list(found.reads))))
    step = args.step or ""
    if step.isdecimal() and 1 <= int(step[:9]) <= len(procedure.order):
        step = procedure.order[int(step) - 1]
    if step and step not in procedure.steps:
        raise ValueError(text("record.step", given=refusal.told(step), suggestion=suggestion(step, procedure.order)))
    return record.reading(
        read, args.value, args.state or "fitting", step=step, instrument=args.instrument, initials=args.initials, note=args.note,
        temperature=args.temperature, gauge=args.gauge, due=args.due, time=record_time.when(args.time or ""),
    )  # fmt: skip
