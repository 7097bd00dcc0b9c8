"""Plain pages that need no drawing: the frame of the sharing server's own pages, and the numbers of every step to pick and read."""

from __future__ import annotations

import html
from importlib import resources
from typing import Any

from scenes.wording import spoken, text
from viewer import page


def framed(title: str, body: str, script: str = "") -> str:
    """A whole page. `body` and `script` are markup, `title` is text."""
    style = resources.files("viewer").joinpath("web", "plain.css").read_text(encoding="utf-8")
    return f"""<!doctype html>
<html lang="{spoken()}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<link rel="icon" href="data:,">
<title>{html.escape(title)}</title>
<style>
{style}</style>
</head>
<body>
<main>
<h1>{html.escape(title)}</h1>
{body}
</main>
{script}</body>
</html>
"""


def document(explainer: Any) -> str:
    """Every step's title, what to do, and its numbers, asked for at the settings that are typed in; they are kept nowhere else."""
    word = page.words()
    options = "".join(
        f'<optgroup label="{html.escape(title)}">'
        + "".join(f'<option value="{html.escape(step)}">{number}  {html.escape(name)}</option>' for step, number, name in steps)
        + "</optgroup>"
        for _, title, steps in explainer.phases
    )
    fields = "".join(
        f'<label>{html.escape(text(f"share.{name}"))}<input name="{name}" autocomplete="off"></label>'
        for name in ("heater", "ambient")
    )
    fields += "".join(
        f'<label>{html.escape(label)}<input name="{name}" data-gasket autocomplete="off"></label>'
        for name, label, *_ in explainer.gaskets
    )
    units = "".join(
        f'<label><input type="radio" name="units" value="{u}">{html.escape(word[f"page.unit_{u}"])}</label>' for u in ("mm", "inch")
    )
    marks = "".join(
        f' data-{verdict or "none"}="{html.escape(" ".join(words))}"' for verdict, words in page.verdict_words(word).items()
    )
    body = f"""<form id="asked">
<div class="row"><button type="button" data-by="-1" title="{html.escape(word["page.previous"])}">‹</button>
<select name="step" aria-label="{html.escape(word["page.steps"])}">{options}</select>
<button type="button" data-by="1" title="{html.escape(word["page.next"])}">›</button></div>
<details><summary>{html.escape(text("share.settings"))}</summary>{fields}<div class="row">{units}</div></details>
</form>
<p class="fault" role="alert" hidden></p>
<table{marks}><caption>{html.escape(word["page.numbers"])}</caption><tbody></tbody></table>
<p class="none" hidden>{html.escape(word["page.no_numbers"])}</p>
<p class="soft">{html.escape(text("share.indicative"))}</p>"""
    script = resources.files("viewer").joinpath("web", "plain.js").read_text(encoding="utf-8")
    return framed(explainer.title, body, f"<script>\n{script}</script>\n")
