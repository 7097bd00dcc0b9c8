"""How a refusal repeats what was given: on one line, short, no control characters. Plain texts only; imports nothing of ours."""

from __future__ import annotations

import re
import tomllib
from datetime import date, time

LONGEST = 60
"""Most characters of a given text that a refusal repeats in full."""


def told(given: object) -> str:
    """A value as a refusal repeats it: on one line, control characters escaped, cut to 60 characters.

    given: anything that a file or a command line can hold [-]
    Result: its text in Python's spelling [text]. Range: any value. Source: own convention of messages.

    >>> told("a" * 100)[-5:]
    "aa..'"
    >>> told(10 ** 5000)
    'a number of more than 4000 digits'
    """
    if isinstance(given, date | time):
        return given.isoformat()
    try:
        shown = repr(given[: LONGEST + 1] if isinstance(given, str) else given)
    except ValueError:
        return "a number of more than 4000 digits"
    except RecursionError:
        return "tables within tables"
    return shown if len(shown) <= LONGEST else shown[: LONGEST - 3] + ".." + (shown[0] if isinstance(given, str) else ".")


def key(part: object) -> str:
    """A key of a file as a refusal repeats it: bare when it is a plain word, else as `told`.

    part: key of a table or place in a list [-]
    Result: its text [text]. Range: any value. Source: own convention of messages.

    >>> key("split_screws"), key("a b")
    ('split_screws', "'a b'")
    """
    text = str(part)
    return text if re.fullmatch(r"[A-Za-z0-9_-]{1,60}", text) else told(text)


def unreadable(error: Exception) -> str:
    """Why a text is no TOML, in one sentence.

    error: what tomllib raised [-]
    Result: cause and remedy [text]. Range: TOMLDecodeError, ValueError, RecursionError. Source: own convention of messages.

    >>> unreadable(RecursionError())
    'lists or tables too deep in each other: accepted: a few levels'
    """
    if isinstance(error, tomllib.TOMLDecodeError):
        return f"{error}: accepted: TOML"
    if isinstance(error, RecursionError):
        return "lists or tables too deep in each other: accepted: a few levels"
    return 'a number with too many digits: accepted: a text with a unit, for example "60 mm"'
