"""How the command line names a verdict."""

from __future__ import annotations

from scenes.wording import text


def verdict_word(verdict: str) -> str:
    """A verdict's word, all as wide as the widest."""
    words = {key: text(f"page.verdict_{key}") for key in ("fine", "watch", "stop")} | {"": "-"}
    return words[verdict].ljust(max(map(len, words.values())))
