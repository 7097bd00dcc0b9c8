"""A procedure file, read into records or refused with every fault at once.

A procedure file opens with `order = [...]`, one step id a line, followed by one `[step.ID]` table each. A step of the planner's own
brings its `title`, `why` and, if wanted, its `act`; the words of all others are in the catalogue (scenes.wording).
Contents: `ProcedureError`, `suggestion`, `readings`, `read`, `parse`, `shipped`, `shipped_without`, `load`.
"""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Collection, Mapping, Sequence
from functools import lru_cache
from importlib import resources
from pathlib import Path
from types import MappingProxyType
from typing import Any

from calc import refusal
from scenes import wording
from scenes.procedure import AXES, BENCHES, MAIN_BENCH, METHODS, Procedure, Step, phases, without

SHIPPED = "right_angle.toml"
"""The procedure for this layout, read when a machine names none."""
UPRIGHT = ("+x", "-x", "+z", "-z")
"""Axes that may point up on a bench."""
FIELDS = (
    "phase",
    "bench",
    "up",
    "arrives",
    "from",
    "path",
    "method",
    "merges",
    "removes",
    "tools",
    "consumables",
    "hold",
    "reads",
    "optional",
    "tightens",
    "oils",
    "turned",
    "title",
    "act",
    "why",
)
"""Keys of a step's table."""
OWN_WORDS = ("title", "act", "why")
"""Words that a step of the planner's own carries; the catalogue has those of all others."""
ACTS = ("turn_over", "bend_tab", "oil", "measure", "turn_by_hand")
"""Methods that are an act by themselves; any other brings, joins, takes out or tightens something."""
FLANGE_SCREWS = frozenset({
    "carrier_screw", "cartridge_screw", "high_speed_cover_screw", "low_speed_cartridge_screw", "low_speed_cover_screw",
    "pump_screw", "lower_plate_screw", "upper_plate_screw",
})  # fmt: skip
"""Screws that press a gasket: only their steps warn of a gasketed flange's limit."""
STEP_ID = re.compile(r"[a-z0-9_]{1,60}")
"""What a step may be called."""
LONGEST_WORDS = 400
"""Most characters of a step's own words."""
FARTHEST = 10_000
"""Longest leg of a path [mm]."""
REMEDY = "accepted: a procedure file (TOML in UTF-8); `shimwright start --procedure` writes one"
"""What to do about a file that is none."""


class ProcedureError(ValueError):
    """The file can't be used; `faults` holds one finished line per fault."""

    def __init__(self, faults: list[str]) -> None:
        self.faults = faults
        super().__init__("\n".join(faults))


def suggestion(given: str, known: Collection[str]) -> str:
    """What is accepted instead of a misspelt word: the nearest known one, or all of them when none is near (a dozen at most)."""
    close = difflib.get_close_matches(given, sorted(known), n=1, cutoff=0.55)
    if close:
        return wording.text("mark.near", near=close[0])
    shown = sorted(known) or ["none"]
    return wording.text("mark.known", known=", ".join(shown[:12]) + (" ..." if len(shown) > 12 else ""))


def _named(kind: str) -> frozenset[str]:
    """Ids that the catalogue has words for, such as phases and tools."""
    return frozenset(key.split(".")[1] for key in wording.keys(f"{kind}."))


@lru_cache(maxsize=1)
def readings() -> frozenset[str]:
    """Every reading that a step can take."""
    return _named("read")


class _Reader:
    """Reads one step's table and notes each fault on the way."""

    def __init__(self, file: str, name: str, table: Mapping[str, Any], parts: Collection[str] | None) -> None:
        self.file, self.name, self.table, self.parts = file, name, table, parts
        self.faults: list[str] = []

    def fault(self, key: str, given: object, accepted: str) -> None:
        shown = "" if given is None else f" = {_shown(given)}"
        self.faults.append(f"{self.file}: step.{refusal.key(self.name)}.{key}{shown}: {accepted}")

    def word(self, key: str, known: Collection[str], default: str | None = None) -> str:
        """A text out of a known set."""
        value = self.table.get(key, default)
        if value is None:
            self.fault(key, None, "missing: accepted: " + ", ".join(sorted(known)[:20]))
            return ""
        if not isinstance(value, str):
            self.fault(key, value, "accepted: a text in quotes")
        elif value not in known and value != default:
            self.fault(key, value, f"unknown: {suggestion(value, known)}")
        return str(value)

    def flag(self, key: str) -> bool:
        value = self.table.get(key, False)
        if not isinstance(value, bool):
            self.fault(key, value, "accepted: true, false")
            return False
        return value

    def words(self, key: str, known: Collection[str] | None) -> tuple[str, ...]:
        """A list of texts out of a known set (None = not checked), none twice."""
        value = self.table.get(key, [])
        if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
            self.fault(key, value, 'accepted: a list of texts, for example ["gear"]')
            return ()
        for item in dict.fromkeys(value):
            if known is not None and item not in known:
                self.fault(key, item, f"unknown: {suggestion(item, known)}")
            if value.count(item) > 1:
                self.fault(key, item, "given twice: accepted: once")
        return tuple(dict.fromkeys(value))

    def sides(self, movers: tuple[str, ...], up: str, has_path: bool) -> Mapping[str, str]:
        """The axis each mover comes from: one for all, one each, or the bench's up axis where nothing is said."""
        value = self.table.get("from")
        default = up if up in AXES else "+z"
        if value is None:
            return MappingProxyType({} if has_path else dict.fromkeys(movers, default))
        if isinstance(value, str):
            self._axis("from", value)
            return MappingProxyType(dict.fromkeys(movers, value))
        if not isinstance(value, Mapping):
            self.fault("from", value, 'accepted: one axis, for example "+z", or a table { gear = "+z" }')
            return MappingProxyType({})
        for name, axis in value.items():
            if name not in movers:
                self.fault(f"from.{refusal.key(name)}", axis, f"does not move in this step: {suggestion(name, movers)}")
            self._axis(f"from.{refusal.key(name)}", axis)
        return MappingProxyType({name: str(value.get(name, default)) for name in movers})

    def _axis(self, key: str, value: object) -> None:
        if not isinstance(value, str) or value not in AXES:
            self.fault(key, value, f"unknown axis: {suggestion(str(value), AXES)}")

    def legs(self) -> tuple[tuple[str, float], ...]:
        value = self.table.get("path", [])
        form = 'accepted: legs from the far end to the seat, for example [["+z", 300], ["+x", 5]] (mm, above 0, up to 10000)'
        if not isinstance(value, list) or not all(isinstance(leg, list) and len(leg) == 2 for leg in value):
            self.fault("path", value, form)
            return ()
        legs = []
        for axis, length in value:
            self._axis("path", axis)
            if isinstance(length, bool) or not isinstance(length, int | float) or not 0 < length <= FARTHEST:
                self.fault("path", length, form)
            else:
                legs.append((str(axis), float(length)))
        return tuple(legs)

    def _own_words(self, hold: bool, reads: tuple[str, ...]) -> Mapping[str, str]:
        """Take the words of a step of the planner's own into the catalogue; refuse them for any other. Result: these words."""
        if self.name in _named("step"):
            for key in OWN_WORDS:
                if key in self.table:
                    self.fault(key, None, "accepted: only for a step of your own; the catalogue has the words of this one")
            return {}
        words = {}
        for key in OWN_WORDS:
            value = self.table.get(key)
            if key == "act" and value is None:
                words[f"step.{self.name}.act"] = words.get(f"step.{self.name}.title", "")
                continue
            if not isinstance(value, str) or not value.strip() or len(value) > LONGEST_WORDS:
                self.fault(key, value, f"accepted for a step of your own: a text in quotes, up to {LONGEST_WORDS} characters")
            elif not (value if key == "title" else re.sub(r"\s", " ", value)).isprintable():
                self.fault(key, value, "accepted: printable characters" + (" on one line" if key == "title" else ""))
            else:
                words[f"step.{self.name}.{'reason' if key == 'why' else key}"] = value.strip()
        if hold:
            words[f"step.{self.name}.hold"] = ". ".join(
                wording.text(f"read.{name}") for name in reads if wording.has(f"read.{name}")
            )
        wording.add(words)
        return words

    def step(self, number: int) -> Step:
        for key in self.table:
            if key not in FIELDS:
                self.fault(refusal.key(key), None, f"unknown key: {suggestion(key, FIELDS)}")
        bench, method, up = self.word("bench", BENCHES), self.word("method", METHODS), self.word("up", UPRIGHT, "+z")
        arrives, removes, path = self.words("arrives", self.parts), self.words("removes", self.parts), self.legs()
        merges = self.word("merges", BENCHES, "")
        if merges and merges == bench:
            self.fault("merges", merges, f"a bench can't join itself: accepted: another of {', '.join(BENCHES)}")
        movers = (*arrives, *removes, *([merges] if merges else []))
        tools = self.words("tools", _named("tool"))
        ring = method in ("press", "draw_on") and any("bearing" in item for item in arrives)
        tightens = self.words("tightens", self.parts)
        flange = method == "screw" and bool(FLANGE_SCREWS & {*movers, *tightens})
        cautions = [f"caution.{method}", *(["caution.ring"] if ring else []), *(["caution.flange"] if flange else [])]
        cautions += [f"caution.{tool}" for tool in tools]
        cautions.append(f"step.{self.name}.caution")
        hold, reads = self.flag("hold"), self.words("reads", readings())
        if hold and not reads:
            self.fault("reads", None, 'missing: accepted with hold = true: what is read, for example ["backlash"]')
        words = self._own_words(hold, reads)
        if hold and not wording.has(f"step.{self.name}.hold"):
            self.fault("hold", True, "accepted: only for a step that the catalogue has a hold point for")
        turned = self.words("turned", None)
        for item in turned:
            if item not in movers:
                self.fault("turned", item, f"does not come in this step: {suggestion(item, movers)}")
        if method in METHODS and method not in ACTS and not movers and not (tightens or (method == "screw" and reads)):
            self.fault(
                "method",
                method,
                "moves nothing: accepted: with arrives, merges, removes or tightens; or an act: " + ", ".join(ACTS),
            )
        return Step(
            id=self.name,
            number=number,
            phase=self.word("phase", _named("phase")),
            bench=bench,
            method=method,
            arrives=arrives,
            side=self.sides(movers, up, bool(path)),
            path=path,
            up=up,
            merges=merges,
            removes=removes,
            tools=tools,
            consumables=self.words("consumables", _named("consumable")),
            hold=hold,
            reads=reads,
            optional=self.flag("optional"),
            tightens=tightens,
            oils=self.words("oils", self.parts),
            turned=turned,
            cautions=tuple(key for key in cautions if wording.has(key)),
            words=MappingProxyType(dict(words)),
        )


def _shown(value: object) -> str:
    return refusal.told(value).replace("'", '"')


def _order_faults(file: str, order: object, tables: Mapping[str, Any]) -> tuple[tuple[str, ...], list[str]]:
    """The ids of `order`, each once, and what is wrong with them."""
    if not isinstance(order, list) or not order or not all(isinstance(item, str) for item in order):
        given = "missing" if order is None else f"given {_shown(order)}"
        return (), [f"{file}: order: {given}: accepted: a list of step ids, one a line"]
    known, faults = _named("step"), []
    for name in dict.fromkeys(order):
        if order.count(name) > 1:
            faults.append(f"{file}: order = {_shown(name)}: given {order.count(name)} times: accepted: once")
        if not STEP_ID.fullmatch(name):
            faults.append(f"{file}: order = {_shown(name)}: accepted: a step id of a to z, 0 to 9 and _, up to 60 characters")
        elif name not in known and not (isinstance(tables.get(name), Mapping) and "title" in tables[name]):
            own = "; or, for a step of your own, a table with title and why"
            faults.append(f"{file}: order = {_shown(name)}: unknown step: {suggestion(name, known)}{own}")
        elif name not in tables:
            faults.append(
                f"{file}: order = {_shown(name)}: no table [step.{refusal.key(name)}]: accepted: a table for each id in order"
            )
    sound = [item for item in order if item in tables or item in known]
    for name, table in tables.items():
        if name not in order:
            own = name in known or (isinstance(table, Mapping) and "title" in table)
            cure = f'accepted: a line of its own in order, "{name}"' if own else suggestion(name, sound)
            faults.append(f"{file}: step.{refusal.key(name)}: not in order: {cure}")
    return tuple(dict.fromkeys(order)), faults


def read(data: Mapping[str, Any], file: str, parts: Collection[str] | None = None) -> Procedure:
    """The procedure from the tables of its file. Raises ProcedureError with every fault at once."""
    faults = [
        f"{file}: {refusal.key(key)}: unknown key: {suggestion(key, ('order', 'step'))}"
        for key in data
        if key not in ("order", "step")
    ]
    tables = data.get("step", {})
    if not isinstance(tables, Mapping):
        raise ProcedureError([*faults, f"{file}: step = {_shown(tables)}: accepted: one table [step.ID] for each id in order"])
    order, order_faults = _order_faults(file, data.get("order"), tables)
    faults += order_faults
    steps: dict[str, Step] = {}
    numbers = {name: index + 1 for index, name in enumerate(order)}
    for name in dict.fromkeys([*order, *tables]):
        table = tables.get(name)
        if table is None:
            continue
        if not isinstance(table, Mapping):
            faults.append(f"{file}: step.{refusal.key(name)} = {_shown(table)}: accepted: a table [step.{refusal.key(name)}]")
            continue
        reader = _Reader(file, name, table, parts)
        steps[name] = reader.step(numbers.get(name, 0))
        faults += reader.faults
    faults += _circles(file, [steps[name] for name in order if name in steps])
    if faults:
        raise ProcedureError(faults)
    ordered = {name: steps[name] for name in order}
    return Procedure(order, MappingProxyType(ordered), phases(ordered.values()))


def _circles(file: str, steps: Sequence[Step]) -> list[str]:
    """Benches that end in each other: one line for each circle, naming the step that closes it."""
    into: dict[str, str] = {}
    found = []
    for step in steps:
        if not step.merges or step.merges == step.bench:
            continue
        way = [step.merges, step.bench]
        while way[-1] in into and way[-1] != step.merges:
            way.append(into[way[-1]])
        if way[-1] == step.merges:
            told = " -> ".join(way)
            found.append(
                f"{file}: step.{refusal.key(step.id)}.merges = {_shown(step.merges)}: benches join in a circle: {told}: "
                f"accepted: every bench ends in {MAIN_BENCH}"
            )
        else:
            into[step.merges] = step.bench
    return found


def parse(content: bytes, file: str = "procedure file", parts: Collection[str] | None = None) -> Procedure:
    """Read a procedure from the bytes of its TOML file.

    `content`: the file [bytes]. `file`: name used in messages [text]. `parts`: known part ids, with the names of groups and
    bearing units; None leaves part names unchecked. Raises ProcedureError with every fault at once.
    """
    if not content.strip():
        raise ProcedureError([f"{file}: the file is empty: {REMEDY}"])
    try:
        told, twice = _once(content.decode("utf-8-sig"), file)
        data = tomllib.loads(told)
    except UnicodeDecodeError:
        raise ProcedureError([f"{file}: not a text file: {REMEDY}"]) from None
    except (ValueError, RecursionError) as error:
        raise ProcedureError([*twice, f"{file}: not valid TOML: {refusal.unreadable(error)}"]) from None
    if not twice:
        return read(data, file, parts)
    try:
        read(data, file, parts)
    except ProcedureError as error:
        twice += error.faults
    raise ProcedureError(twice)


def _once(told: str, file: str) -> tuple[str, list[str]]:
    """The file's text without the second table of a step, and a line for each such table."""
    lines, seen, faults, skipping = told.splitlines(), dict[str, int](), list[str](), False
    for number, line in enumerate(lines, 1):
        header = re.match(r"\s*\[\s*([^\[\]]+?)\s*\]\s*(#.*)?$", line)
        if header:
            name = header[1]
            skipping = name.startswith("step.") and name in seen
            if skipping:
                faults.append(
                    f"{file}: {refusal.key(name) if '.' not in name else name[:60]}: given twice, lines {seen[name]} and {number}: "
                    "accepted: one table for each step"
                )
            seen.setdefault(name, number)
        if skipping:
            lines[number - 1] = ""
    return ("\n".join(lines) if faults else told), faults


def shipped() -> bytes:
    """The procedure file that comes with the package [bytes]."""
    return resources.files("scenes").joinpath("procedures", SHIPPED).read_bytes()


@lru_cache(maxsize=8)
def _shipped(parts: tuple[str, ...] | None) -> Procedure:
    """The shipped procedure, for a machine with these parts."""
    return parse(shipped(), SHIPPED, parts)


@lru_cache(maxsize=8)
def shipped_without(absent: frozenset[str]) -> Procedure:
    """The shipped procedure for a machine that does without these parts."""
    return without(load(), absent)


def contents(path: Path, remedy: str) -> bytes:
    """A file as it is on disk. Raises ProcedureError when it can't be opened; `remedy`: what is accepted."""
    if path.is_dir():
        raise ProcedureError([f"{path}: is a folder: {remedy}"])
    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise ProcedureError([f"{path}: no such file: {remedy}"]) from None
    except (OSError, ValueError) as error:
        raise ProcedureError([f"{path}: can't be read: {getattr(error, 'strerror', None) or error}"]) from None


def load(path: str | Path | None = None, parts: Collection[str] | None = None) -> Procedure:
    """Read a procedure file from disk, or the shipped one.

    `path`: the file; None for the shipped one. `parts`: as for `parse`. Raises ProcedureError when it can't be opened or used.
    """
    if path is None:
        return _shipped(None if parts is None else tuple(parts))
    path = Path(path)
    return parse(contents(path, REMEDY), path.name, parts)
