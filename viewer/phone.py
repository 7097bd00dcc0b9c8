"""The phone file: one self-contained page with drawing, texts and numbers of one machine, for a phone that has no network.

It opens from a file, asks for nothing (its content policy allows no address at all) and computes no number: every note is a finished
string of the grid that `viewer.phone_words` describes; the page picks a point of that grid and names it.

Served by `show --share` the same page may ask for exact settings. Whoever serves it passes the text of the file through
`served(page, address)`, which names the address in `<meta name="shimwright-live" content="ADDRESS">` and allows requests to the page's
own server. The page then offers a form and asks, statelessly,

    GET ADDRESS?step=ID&units=mm|inch&language=en&heater=TEXT&gasket=NAME=TEXT

with only what was filled in; TEXT is a value with its unit as on the command line ("110 degC", "0.6 mm"). The answer is exactly what
`numbers --json` prints for these options, as application/json; its strings are shown as they come. A refusal answers with a status of 400 or
above and the clear line as text/plain, which is shown too.
"""

from __future__ import annotations

import base64
import gzip
import hashlib
import html
import json
import re
from collections.abc import Sequence
from importlib import resources
from pathlib import Path
from typing import Any, Final

from scenes.explain import Explainer
from scenes.settings import Settings, changed
from scenes.wording import LANGUAGES, text
from viewer import palette, phone_model, phone_words

NAME: Final = "phone.html"
MOST_BYTES: Final = 5_000_000
"""What a phone file may weigh at most [byte]."""
NIGHT: Final = {
    "ground": "#17191d",
    "ink": "#0c0e11",
    "rim": "#7d8691",
    "arriving": "#6cb2ff",
    "chosen": "#ffffff",
    "pale": "#3a4048",
    "dim": 0.94,
}
"""Colours of the drawing on a dark ground."""
LIVE: Final = '<meta name="shimwright-live" content="">'


def write(explainer: Explainer, now: Settings, path: Path, languages: Sequence[str] = LANGUAGES) -> None:
    """Write the phone file. With a step in the settings it opens there."""
    path.write_text(page(explainer, now, languages), encoding="utf-8")


def page(explainer: Explainer, now: Settings, languages: Sequence[str] = LANGUAGES) -> str:
    """The whole page as text."""
    opens = -1 if now.step is None else explainer.procedure.order.index(now.step)
    now = changed(now, step=None)
    languages = sorted(
        languages, key=lambda language: language != now.language
    )  # the packed one where the phone speaks none of them
    scene, bodies, parts = phone_model.scene(explainer, now)
    moved = {system: phone_words.moving(explainer, changed(now, units=system)) for system in phone_words.SYSTEMS}
    told: dict[str, Any] = {
        "machine": explainer.title,
        "units": now.units,
        "opens": opens,
        "colours": _colours(),
        "scene": scene,
        "words": {language: phone_words.words(explainer, now, language, parts, moved) for language in languages},
    }
    packed = json.dumps(told, ensure_ascii=False, separators=(",", ":")).encode("utf-8")
    return _document(explainer.title, _packed(packed), _packed(bodies))


def served(document: str, address: str) -> str:
    """The page as a server hands it out: it may ask this address of its own server for exact numbers."""
    asking = LIVE.replace('content=""', f'content="{html.escape(address)}"')
    return document.replace("connect-src 'none'", "connect-src 'self'", 1).replace(LIVE, asking, 1)


def _colours() -> dict[str, Any]:
    code = palette.code
    day = {
        "ground": code(palette.GROUND), "ink": code(palette.INK), "rim": code(palette.INK), "arriving": code(palette.ACCENT),
        "chosen": code(palette.INK), "pale": code(palette.GROUND), "dim": 1.0,
    }  # fmt: skip
    return {"role": palette.ROLE, "light": day, "dark": NIGHT}


def _packed(data: bytes) -> str:
    """Packed so that the same data gives the same text."""
    return base64.b64encode(gzip.compress(data, 9, mtime=0)).decode("ascii")


def _allowed(inline: str) -> str:
    """The source of a content policy that allows this inline text and no other."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(inline.encode('utf-8')).digest()).decode('ascii')}'"


def _document(title: str, words: str, bodies: str) -> str:
    web = resources.files("viewer").joinpath("web")
    style = web.joinpath("phone.css").read_text(encoding="utf-8")
    script = web.joinpath("phone.js").read_text(encoding="utf-8")
    layout = web.joinpath("phone.html").read_text(encoding="utf-8")
    policy = f"default-src 'none'; script-src {_allowed(script)}; style-src {_allowed(style)}; img-src data:; connect-src 'none'; base-uri 'none'; form-action 'none'"
    blocks = {
        "policy": policy,
        "live": LIVE,
        "lang": text("phone.lang"),
        "title": html.escape(title),
        "style": style,
        "unable": html.escape(text("phone.cannot_open")),
        "no_script": html.escape(text("phone.no_script")),
        "loading": html.escape(text("phone.loading")),
        "words": words,
        "bodies": bodies,
        "script": script,
    }
    return re.sub(r"<!--(\w+)-->", lambda found: blocks.get(found[1], found[0]), layout)
