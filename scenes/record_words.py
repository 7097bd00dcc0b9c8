"""What a fitter types and reads, in the language spoken; a record keeps the English words, a decimal point and a unit. mm, N·m.

"tracción punta,raíz" is kept as "drive toe,low", "0,05 mm" as "0.05 mm". What somebody wrote in words of his own stays as it is.
Contents: `kept`, `told`, `pointed`.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Sequence

from calc.readings import ALONG_FACE, OVER_DEPTH
from scenes import dial, feel
from scenes.reads import FEELER, NONE, YES, Read
from scenes.wording import text

FLANKS = ("drive", "coast")
FIGURES = ("length", "torque", "time", "volume", "temperature")
"""Kinds of reading that are one figure with its unit."""
_NO_LEAF = re.compile(rf"{NONE}|[0.,]*0[0.,]*\s*\D*", re.IGNORECASE)
"""A feeler's reading where no leaf enters: the word, or a thickness of nothing."""
PLACES = tuple(dict.fromkeys((*ALONG_FACE, *OVER_DEPTH)))


def kept(read: Read, given: Sequence[str]) -> list[str]:
    """The values as a record keeps them, from those typed in the language spoken."""
    return [_kept(read, one) for one in given]


def told(read: Read, typed: Sequence[str]) -> str:
    """The values of a record in the language spoken."""
    return "; ".join(_told(read, one) for one in typed)


def _kept(read: Read, given: str) -> str:
    if read.name in FEELER and _bare(given.strip()) == _bare(text("record.no_leaf")):
        return NONE
    if read.name in dial.DIALLED_AT:
        return " at ".join(
            _figure(one) for one in re.split(rf"\s+(?:at|{text('record.at')})\s+|\s*@\s*", given.strip(), maxsplit=1)
        )
    if read.kind in FIGURES:
        return _figure(given)
    if read.kind == "feel":
        bare = _bare(" ".join(given.replace("-", " ").replace(",", " ").split()))
        return next((one for one in feel.FEELS if _bare(feel.word(one)) == bare), given)
    if read.kind == "run":
        return pointed(given)
    if read.kind not in ("agreed", "marks"):
        return given
    if read.kind == "agreed":
        bare = _bare(given.strip())
        return next((word for word in YES if _bare(text(f"readings.{word}")) == bare), given)
    given = pointed(given)
    for word, spoken in _mark_words():
        given = re.sub(rf"(?<!\w){_loose(spoken)}(?!\w)", word.replace("_", "-"), given, flags=re.IGNORECASE)
    return given


def _told(read: Read, typed: str) -> str:
    if read.name in FEELER and _NO_LEAF.fullmatch(typed.strip()):
        return text("record.no_leaf")
    if read.name in dial.DIALLED_AT:
        return f" {text('record.at')} ".join(one for one in dial.split(typed) if one).replace(".", _mark())
    if read.kind in FIGURES and read.kind != "temperature":
        return typed.replace(".", _mark())
    if read.kind == "feel":
        return feel.word(feel.felt(typed))
    if read.kind in ("run", "temperature"):
        return typed.replace(".", _mark()).replace("deg", "°")
    if read.kind == "agreed":
        word = typed.strip().lower()
        return text(f"readings.{word}") if word in YES else typed
    if read.kind == "count":
        return text("record.pieces", count=int(typed))
    if read.kind != "marks":
        return typed
    spoken = {word: text(f"flank.{word}" if word in FLANKS else f"pattern.{word}") for word in (*FLANKS, *PLACES)}
    spoken |= {other: spoken["centred"] for other in ("centre", "center", "centered", "middle")}
    found = re.sub(r"[A-Za-z][A-Za-z_-]*", lambda each: spoken.get(each[0].lower().replace("-", "_"), each[0]), typed)
    return re.sub(r"(?<=\d)\.(?=\d)", _mark(), re.sub(r"\s*,\s*", ", ", found))


def _figure(given: str) -> str:
    return pointed(given) if given.count(",") == 1 and "." not in given else given


def pointed(given: str) -> str:
    """Figures with a decimal point, where the language writes another mark."""
    return re.sub(rf"(?<=\d){_mark()}(?=\d+\s*[^\W\d]|\d+\s*[%°])", ".", given) if _mark() != "." else given


def _mark() -> str:
    """The decimal mark of the language spoken."""
    return text("figures.mark")


def _mark_words() -> Iterator[tuple[str, str]]:
    """Words of flanks and places, English and spoken, the longest first: "muy a la punta" before "punta"."""
    found = [(word, text(f"flank.{word}")) for word in FLANKS] + [(word, text(f"pattern.{word}")) for word in PLACES]
    yield from sorted(found, key=lambda pair: -len(pair[1]))


def _bare(word: str) -> str:
    """A word without accents, in small letters."""
    return "".join(sign for sign in unicodedata.normalize("NFD", word.lower()) if not unicodedata.combining(sign))


def _loose(word: str) -> str:
    """A pattern for a word with or without its accents, its pieces parted by blanks or hyphens."""
    signs = (f"[{sign}{_bare(sign)}]" if _bare(sign) != sign else re.escape(sign) for sign in word)
    return "".join("[ -]+" if sign in ("\\ ", " ") else sign for sign in signs)
