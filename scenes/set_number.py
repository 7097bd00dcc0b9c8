"""The set number off the gears against the one of the machine file: "1", "set 1, both gears, X and XX" and "juego 1" are all "set 1".

Only the number is compared; match marks beside it are left out. What is not clear is asked again, never passed. Contents: `judged`.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence

from scenes.frame import Verdict

CALLED = "set|no|nr|number|pair|juego|num|numero|pareja|pinion|pinon|gear|corona|wheel"
"""Words before a number, without accents, in any language spoken."""
_MARKS = re.compile(r"\b(?:match|mark|marks|marca|marcas|tooth|teeth|diente|dientes|photo\w*|foto\w*|picture\w*)\b.*")
_TOKEN = re.compile(r"[^\W_]+(?:[./_-]+[^\W_]+)*")
_GLUED = re.compile(rf"(?:{CALLED})[.º°]?(?=\d)")
_NAMED = re.compile(rf"\b(?:{CALLED})\W{{0,3}}\s*(?=[^\W_]*\d)")
_DOUBT = re.compile(r"[?¿]|\b(?:not|isn't|unreadable|illegible|ilegible|no (?:es|se|legible|visible|readable))\b")


def judged(marked: str, typed: Sequence[str]) -> Verdict:
    """`stop` where a number is another one, `fine` where each is the same, `watch` where that is not clear. `marked`: of the machine file."""
    wanted, found = _bare(marked), {_one(_bare(marked), _bare(given)) for given in typed}
    if {wanted} == {_bare(given) for given in typed}:
        return "fine"
    return "stop" if "stop" in found else "watch" if "watch" in found or not found else "fine"


def _one(marked: str, given: str) -> Verdict:
    if given == marked:
        return "fine"
    wanted, numbered = _numbers(marked), [_MARKS.sub("", part) for part in re.split(r"[,;]", given)]
    first = _numbers(numbered[0])
    named = {number for part in numbered for place in _NAMED.finditer(part) for number in _numbers(part[place.end() :])[:1]}
    if len(wanted) != 1 or not any(sign.isdigit() for sign in wanted[0]):  # a set called by words: only the same words will do
        return "watch" if set(wanted) <= set(first) else "stop"
    number, figures = wanted[0], [one for one in first if any(sign.isdigit() for sign in one)]
    if _DOUBT.search(given):
        return "watch"
    if any(_other(one, number) for one in named) or (figures and all(_other(one, number) for one in figures)):
        return "stop"
    if not figures:
        return "stop" if len(first) == 1 and len(first[0]) > 3 and len(numbered) == 1 else "watch"
    every = [one for part in numbered for one in _numbers(part) if any(sign.isdigit() for sign in one)]
    return "fine" if all(one == number for one in every) else "watch"


def _other(one: str, number: str) -> bool:
    """Whether two numbers are two; 01 may be 1."""
    return one != number and not (one.isdecimal() and number.isdecimal() and int(one) == int(number))


def _numbers(given: str) -> list[str]:
    """The words of a number, without those that only say what it is."""
    found = (_GLUED.sub("", token) for token in _TOKEN.findall(given))
    return [token for token in found if token not in CALLED.split("|")]


def _bare(given: str) -> str:
    """Small letters without accents."""
    return "".join(sign for sign in unicodedata.normalize("NFD", given.strip().lower()) if not unicodedata.combining(sign))
