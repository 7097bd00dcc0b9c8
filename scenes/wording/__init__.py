"""The catalogue of every sentence a user reads: all TOML files of a language, read through the package and merged.

`with speaking("es"):` makes everything inside say and write figures in that language; each thread and task has its own. A table becomes a dotted key (`[step.gear_hot] title` is `step.gear_hot.title`). A value is a text or a list of texts, with named
places in braces.
"""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache, lru_cache
from importlib import resources
from types import MappingProxyType
from typing import Any

from calc import units

Entry = str | tuple[str, ...]
LANGUAGES = ("en", "es")
"""Languages that have a folder of their own here."""
_spoken: ContextVar[str] = ContextVar("_spoken", default=LANGUAGES[0])


class WordingError(LookupError):
    """A text can't be given: unknown key or language, a value left out, or a catalogue file that is at fault."""


def spoken() -> str:
    """The language spoken here and now."""
    return _spoken.get()


@contextmanager
def speaking(language: str) -> Iterator[None]:
    """Speak a language in this block: sentences come from its catalogue, figures carry its decimal mark. Raises WordingError."""
    written = _written(language)  # raises before anything is set
    said, shown = _spoken.set(language), units.WRITTEN.set(written)
    try:
        yield
    finally:
        _spoken.reset(said)
        units.WRITTEN.reset(shown)


@lru_cache(maxsize=len(LANGUAGES))
def _written(language: str) -> units.Figures:
    """How a language writes figures and refuses what is no quantity. Raises WordingError."""
    refusals = {key: str(catalogue(language)[f"quantity.{key}"]) for key in units.REFUSALS}
    return units.Figures(text("figures.mark", language), text("figures.endless", language), MappingProxyType(refusals))


def catalogue(language: str | None = None) -> Mapping[str, Entry]:
    """Every key of a language (None: the one spoken) with its text, or texts. Raises WordingError for an unknown language."""
    return _catalogue(spoken() if language is None else language)


@lru_cache(maxsize=len(LANGUAGES))
def _catalogue(language: str) -> Mapping[str, Entry]:
    """Every key of a language with its text, or texts.

    Raises WordingError for an unknown language, a key that two files hold, or a value that is neither a text nor a list of texts.
    """
    if language not in LANGUAGES:
        raise WordingError(f"language {language!r}: accepted: {', '.join(LANGUAGES)}")
    folder = resources.files(__name__).joinpath(language)
    found: dict[str, Entry] = {}
    for file in sorted(folder.iterdir(), key=lambda item: item.name):
        if not file.name.endswith(".toml"):
            continue
        for key, entry in _entries(tomllib.loads(file.read_text(encoding="utf-8")), "", file.name):
            if key in found:
                raise WordingError(f"{file.name}: {key}: given twice: accepted: each key in one file only")
            found[key] = entry
    return MappingProxyType(found)


def _entries(table: Mapping[str, Any], stem: str, file: str) -> Iterator[tuple[str, Entry]]:
    for name, value in table.items():
        key = f"{stem}{name}"
        if isinstance(value, Mapping):
            yield from _entries(value, f"{key}.", file)
        elif isinstance(value, str):
            yield key, value
        elif isinstance(value, list) and all(isinstance(item, str) for item in value):
            yield key, tuple(value)
        else:
            raise WordingError(f"{file}: {key} = {value!r}: accepted: a text or a list of texts")


_own: dict[str, Entry] = {}
_at_hand: ContextVar[Mapping[str, Entry]] = ContextVar("words of the procedure at hand", default=MappingProxyType({}))


def add(words: Mapping[str, str]) -> None:
    """Words of a planner's own steps, the same in every language; those read last stand until others are put at hand."""
    _own.update(_plain(words))
    _at_hand.set({key: entry for key, entry in _at_hand.get().items() if key not in words})


def use(words: Mapping[str, str]) -> None:
    """Put the words of one procedure's own steps at hand: they stand before those of any other procedure that was read."""
    _at_hand.set(_plain(words))


def _plain(words: Mapping[str, str]) -> dict[str, Entry]:
    return {key: word.replace("{", "{{").replace("}", "}}") for key, word in words.items()}


def has(key: str, language: str | None = None) -> bool:
    """Whether the catalogue holds this key."""
    return key in catalogue(language) or key in _at_hand.get() or key in _own


def keys(prefix: str = "", language: str | None = None) -> tuple[str, ...]:
    """All keys that begin with `prefix`, in the order of the files."""
    return _beginning(prefix, spoken() if language is None else language)


@cache
def _beginning(prefix: str, language: str) -> tuple[str, ...]:
    return tuple(key for key in _catalogue(language) if key.startswith(prefix))


def _entry(key: str, language: str | None) -> Entry:
    entries = catalogue(language)
    if key not in entries and (own := _at_hand.get().get(key, _own.get(key))) is not None:
        return own
    if key not in entries:
        close = difflib.get_close_matches(key, list(entries), n=1, cutoff=0.6)
        raise WordingError(f"no text for {key!r}" + (f": did you mean {close[0]}?" if close else ""))
    return entries[key]


def _filled(key: str, pattern: str, values: Mapping[str, object]) -> str:
    try:
        return pattern.format_map(values)
    except KeyError as error:
        raise WordingError(f"text {key!r} needs a value for {error.args[0]!r}") from None


def text(key: str, /, language: str | None = None, **values: object) -> str:
    """The text of a key, its named places filled in; a list of texts comes joined. Raises WordingError for an unknown key."""
    entry = _entry(key, language)
    return " ".join(_filled(key, item, values) for item in ((entry,) if isinstance(entry, str) else entry))


def texts(key: str, /, language: str | None = None, optional: bool = False, **values: object) -> tuple[str, ...]:
    """The texts of a key one by one; a single text gives one. With `optional` an unknown key gives none, otherwise WordingError."""
    if optional and not has(key, language):
        return ()
    entry = _entry(key, language)
    return tuple(_filled(key, item, values) for item in ((entry,) if isinstance(entry, str) else entry))
