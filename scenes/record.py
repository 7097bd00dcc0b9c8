"""One job's record as a crew reads it: what was read, in which state of the machine, what was struck since.

An entry is either a reading or strikes an earlier one; nothing is taken back otherwise. Values are kept as they were typed.
Contents: `STATES`, `Taken`, `Whose`, `Job`, `reading`, `opening`, `same_machine`, `strike`, `job_of`.
"""

from __future__ import annotations

import unicodedata
from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property
from types import MappingProxyType
from typing import Any, Literal, get_args

from calc import refusal, units
from scenes import instruments, record_words, temperatures
from scenes.reads import Read, typed
from scenes.record_file import Content
from scenes.record_order import in_order, moment
from scenes.wording import text

State = Literal["found", "fitting", "left"]
STATES: tuple[State, ...] = get_args(State)
"""As found when the machine came apart, during the rebuild, as left."""
PUT_IN: tuple[State, ...] = ("fitting", "left")
"""States in which the machine stands with its new parts."""
MOST_INITIALS, MOST_NOTE, MOST_VALUES = 12, 400, 24
LAST = 10**9
"""Place of a reading that stands in no record yet: after all of them."""


@dataclass(frozen=True)
class Taken:
    """One reading of a record: number of its entry, when it was read (ISO 8601), state, step at which it was taken ("" = none), its name, the
    values as typed and in mm, N·m, s, L (of a run: time and degC in turn), what it was read with, who read it, a note, the entry that struck
    it (0 = none); temperatures of the parts and of the instrument [degC]; the last day of the instrument's calibration; when it was entered
    ("" = as it was read); both times as moments [s since 1970]; its place in the order in which the readings of the job were taken."""

    number: int
    time: str
    state: State
    step: str
    read: str
    typed: tuple[str, ...]
    values: tuple[float, ...]
    instrument: str
    initials: str
    note: str
    struck: int = 0
    temperatures: tuple[float, ...] = ()
    gauge: float | None = None
    due: str = ""
    entered: str = ""
    at: float = 0.0
    entered_at: float = 0.0
    place: int = LAST

    @property
    def mean(self) -> float:
        """Middle of the values [mm, N·m]."""
        return sum(self.values) / len(self.values)

    @property
    def spread(self) -> float:
        """Greatest less least of the values [mm, N·m]."""
        return max(self.values) - min(self.values)


@dataclass(frozen=True)
class Strike:
    """An entry that strikes an earlier one: its number, time, what it strikes, who, why."""

    number: int
    time: str
    strikes: int
    initials: str
    note: str


@dataclass(frozen=True)
class Whose:
    """Whose a record is: the machine's title, what is etched on its gears, their teeth in words ("" = not said); where somebody answered
    for it afterwards, number and time of that entry, who and why."""

    machine: str = ""
    set_number: str = ""
    gears: str = ""
    number: int = 0
    time: str = ""
    initials: str = ""
    note: str = ""


@dataclass(frozen=True)
class Job:
    """Everything in a record: readings and strikes in their order; numbers of lines that are torn, and of entries that this program does
    not know (`strange`): they are kept and told of, and count for nothing; whose the record is."""

    taken: tuple[Taken, ...]
    strikes: tuple[Strike, ...] = ()
    torn: tuple[int, ...] = ()
    strange: tuple[int, ...] = ()
    whose: Whose = Whose()

    def standing(self, read: str = "", *states: State) -> tuple[Taken, ...]:
        """Readings that were not struck, of one name and of some states where these are given."""
        found = self._standing.get(read, ())
        return tuple(one for one in found if one.state in states) if states else tuple(found)

    @cached_property
    def _standing(self) -> dict[str, list[Taken]]:
        """Readings that were not struck by their name, all of them under none: what is put into a machine asks for every name."""
        found: dict[str, list[Taken]] = {}
        for one in self.taken:
            if not one.struck:
                for name in {"", one.read}:
                    found.setdefault(name, []).append(one)
        return found

    def until(self, taken: Taken) -> Job:
        """The job as it stood when that was read."""
        return replace(self, taken=self.taken[: bisect_left(self.taken, taken.place, key=lambda one: one.place)])

    def latest(self, read: str, *states: State, step: str = "") -> Taken | None:
        """The last reading of that name that stands; of that step where one is given."""
        found = [one for one in self.standing(read, *states) if step in ("", one.step)]
        return found[-1] if found else None


def reading(
    read: Read, given: Sequence[str], state: str, *, step: str = "", instrument: str = "", initials: str = "", note: str = "",
    time: datetime | None = None, temperature: Sequence[str] = (), gauge: str = "", due: str = "", called: str = "",
) -> dict[str, Any]:  # fmt: skip
    """The entry of a reading, checked. `given`, `temperature`, `gauge`: as typed, in the language spoken; the last two of parts and
    instrument; `time`: when it was read, now by default; `due`: last day of the instrument's calibration; `called`: how a fault names the
    reading. Raises ValueError with every fault, a line each."""
    faults = []
    spoken, given, temperature = given, record_words.kept(read, given), [record_words.pointed(one) for one in temperature]
    gauge = record_words.pointed(gauge)
    try:
        typed(read, given, called, spoken)
    except ValueError as error:
        faults.append(str(error))
    most = max(MOST_VALUES, read.wanted)
    if len(given) > most:
        faults.append(text("record.too_many", count=len(given), most=most))
    if step not in read.steps and read.steps and (step or len(read.steps) > 1):
        key = "record.which_step" if len(read.steps) > 1 else "record.other_step"
        faults.append(text(key, read=called or read.name, given=step, steps=", ".join(read.steps)))
    if state not in STATES:
        faults.append(text("record.state", given=refusal.told(state), states=", ".join(STATES)))
    if any(_plain(said) != said for said in (*given, instrument, *temperature, gauge, due)):
        faults.append(text("record.not_printable"))
    faults += _signed(initials, note) + _how(temperature, gauge, due, instrument, read.system)
    if len(instrument) > MOST_NOTE:
        faults.append(text("record.too_long_named", name="instrument", most=MOST_NOTE))
    if faults:
        raise ValueError("\n".join(faults))
    return {
        "time": stamp(time), **({} if time is None else {"entered": stamp(None)}), "state": state, "step": step or next(iter(read.steps), ""), "read": read.name, "values": list(given),
        "with": instrument, "initials": initials, "note": note,
        **({"temperatures": list(temperature)} if temperature else {}), **({"gauge": gauge} if gauge else {}), **({"due": due} if due else {}),
    }  # fmt: skip


def opening(whose: Whose) -> dict[str, Any]:
    """The first entry of a record: whose it is."""
    return {"time": stamp(None), "machine": whose.machine, "set": whose.set_number, "gears": whose.gears}


def same_machine(whose: Whose, *, initials: str, note: str) -> dict[str, Any]:
    """The entry by which somebody answers for it that a record is of this machine. Raises ValueError with every fault, a line each."""
    faults = [] if note.strip() else [text("record.why_same")]
    faults += _signed(initials, note)
    if faults:
        raise ValueError("\n".join(faults))
    return opening(whose) | {"initials": initials, "note": note}


def strike(job: Job, number: int, *, initials: str = "", note: str = "") -> dict[str, Any]:
    """The entry that strikes an earlier reading. Raises ValueError with every fault, a line each."""
    faults = []
    found = next((one for one in job.taken if one.number == number), None)
    if found is None:
        faults.append(text("record.no_such", number=number, known=", ".join(str(one.number) for one in job.standing()) or "-"))
    elif found.struck:
        faults.append(text("record.struck_already", number=number, by=found.struck))
    if not note.strip():
        faults.append(text("record.why"))
    faults += _signed(initials, note)
    if faults:
        raise ValueError("\n".join(faults))
    return {"time": stamp(None), "strikes": number, "initials": initials, "note": note}


def _signed(initials: str, note: str) -> list[str]:
    faults = []
    if not initials.strip() or len(initials) > MOST_INITIALS:
        faults.append(text("record.initials", given=refusal.told(initials), most=MOST_INITIALS))
    if len(note) > MOST_NOTE:
        faults.append(text("record.too_long_named", name="note", most=MOST_NOTE))
    if _plain(initials + note) != initials + note:
        faults.append(text("record.not_printable"))
    return faults


def _how(temperature: Sequence[str], gauge: str, due: str, instrument: str, system: units.System) -> list[str]:
    faults = []
    for check in (
        lambda: temperatures.read_all(temperature, gauge, system),
        lambda: instruments.due(due, instrument) if due else "",
    ):
        try:
            check()
        except ValueError as error:
            faults.append(str(error))
    return faults


def stamp(time: datetime | None) -> str:
    """A time as it stands in a record: local, to the second, with its distance from UTC (ISO 8601)."""
    return (time or datetime.now()).astimezone().isoformat(timespec="seconds")


def job_of(content: Content, reads: Mapping[str, Read], known: Mapping[int, Taken] = MappingProxyType({})) -> Job:
    """What a record says. `known`: readings of it that were understood before, by the number of their entries."""
    taken: dict[int, Taken] = {}
    strikes, strange, whose = [], [], Whose()
    for entry in content.entries:
        values = entry.values
        if isinstance(values.get("machine"), str) and "read" not in values:
            told = _whose(entry.number, values)
            whose = told if told.initials or not whose.machine else whose
            continue
        found = known.get(entry.number) or _taken(entry.number, values, reads)
        if found is not None:
            taken[entry.number] = found
        elif type(values.get("strikes")) is int and values["strikes"] in taken:
            one = Strike(entry.number, str(values.get("time", "")), values["strikes"], *_who(values))
            strikes.append(one)
            if not taken[one.strikes].struck:
                taken[one.strikes] = replace(taken[one.strikes], struck=entry.number)
        else:
            strange.append(entry.number)
    return Job(_in_order(taken.values()), tuple(strikes), content.torn, tuple(strange), whose)


def _in_order(taken: Iterable[Taken]) -> tuple[Taken, ...]:
    """Readings in the order in which they were taken."""
    found = list(taken)
    placed = (found[number] for number in in_order((one.at, bool(one.entered)) for one in found))
    return tuple(one if one.place == place else replace(one, place=place) for place, one in enumerate(placed))


def _whose(number: int, values: Mapping[str, Any]) -> Whose:
    """An entry that says whose the record is."""
    machine, set_number, gears = (_plain(values.get(name, "")) for name in ("machine", "set", "gears"))
    initials, note = _who(values)
    return Whose(machine, set_number, gears, number, str(values.get("time", "")), initials, note)


def _who(values: Mapping[str, Any]) -> tuple[str, str]:
    return _plain(values.get("initials", "")), _plain(values.get("note", ""))


def _plain(said: object) -> str:
    """Text of a record as one line: a control sign or line end, from another hand, is shown as a replacement character."""
    if str(said).isprintable():
        return str(said)
    return "".join("\ufffd" if unicodedata.category(char) in ("Cc", "Cs", "Zl", "Zp") else char for char in str(said))


def _taken(number: int, values: Mapping[str, Any], reads: Mapping[str, Read]) -> Taken | None:
    """An entry as a reading; None when it is none, or none that is known."""
    read = reads.get(str(values.get("read", "")))
    given, state = values.get("values"), values.get("state")
    if read is None or state not in STATES or not (isinstance(given, list) and all(isinstance(one, str) for one in given)):
        return None
    parts, gauge, due = values.get("temperatures", []), values.get("gauge", ""), values.get("due", "")
    if not (isinstance(parts, list) and all(isinstance(one, str) for one in (*parts, gauge, due))):
        return None
    try:
        found, warm = typed(read, given), temperatures.read_all(parts, gauge)
        due = due and instruments.due(due, str(values.get("with", "")))
        time, entered = str(values.get("time", "")), str(values.get("entered", ""))
        at = moment(time, entered)
        entered_at = moment(entered) if entered else at
    except ValueError:
        return None
    initials, note = _who(values)
    return Taken(
        number, time, state, _plain(values.get("step", "")), read.name, tuple(map(_plain, given)), found,
        _plain(values.get("with", "")), initials, note,
        temperatures=warm[0], gauge=warm[1], due=due, entered=entered, at=at, entered_at=entered_at,
    )  # fmt: skip
