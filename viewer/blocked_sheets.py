"""Pictures of the ways of an order that are not free, one a file and one for each item and what stops it, as the steps come."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from scenes import blocked_view, verdict
from scenes.order import BlockedPath, Proof
from scenes.settings import Settings
from scenes.stage import Stage
from scenes.wording import text
from viewer.progress import progress

SIZE: Final = (1500, 1000)


def shown(ways: Sequence[BlockedPath]) -> list[str]:
    """Name of the file that shows each way: one for an item and what stops it, also when that is so in several steps; empty for what
    is beyond the most that are drawn."""
    files: dict[tuple[str, ...], str] = {}
    told = []
    for way in ways:
        _, *pair = verdict.pair(way)
        if tuple(pair) not in files and len(files) < blocked_view.MOST:
            files[tuple(pair)] = f"blocked-{len(files) + 1:02}-{way.step}.png"
        told.append(files.get(tuple(pair), ""))
    return told


def names(ways: Sequence[BlockedPath]) -> list[str]:
    """Names of the files that are drawn of these ways."""
    return [name for name in dict.fromkeys(shown(ways)) if name]


def write(stage: Stage, proof: Proof, now: Settings, folder: Path, size: tuple[int, int] = SIZE) -> list[str]:
    """Draw the first ways that are not free into a folder, each file whole or not at all. Result: names of the files."""
    written = names(proof.blocked)
    if not written:
        return []
    import imageio.v3 as imageio

    from viewer import compose, ink
    from viewer.stage import Stage as Scene

    folder.mkdir(parents=True, exist_ok=True)
    scene = Scene((size[0] * ink.SCALE, size[1] * ink.SCALE))
    try:
        with tempfile.TemporaryDirectory(prefix=".ways-", dir=folder) as beside:
            by_file = dict(zip(reversed(shown(proof.blocked)), reversed(proof.blocked), strict=True))
            for count, name in enumerate(written, 1):
                way = by_file[name]
                progress(count, len(written), text("blocked.progress"))
                sheet = compose.page(blocked_view.frame_of(stage, way, now, size[0] / size[1]), size, stage=scene)
                imageio.imwrite(Path(beside) / name, sheet.image)
            for name in written:
                os.replace(Path(beside) / name, folder / name)
    finally:
        scene.close()
    return written
