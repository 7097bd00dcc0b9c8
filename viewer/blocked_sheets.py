"""Pictures of the ways of an order that are not free, one a file, as the steps come."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from scenes import blocked_view
from scenes.order import BlockedPath, Proof
from scenes.settings import Settings
from scenes.stage import Stage
from scenes.wording import text
from viewer.progress import progress

SIZE: Final = (1500, 1000)


def names(ways: Sequence[BlockedPath]) -> list[str]:
    """Names of the files of these ways; what is beyond the most that are drawn has none."""
    return [f"blocked-{place:02}-{way.step}.png" for place, way in enumerate(ways[: blocked_view.MOST], 1)]


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
            for count, (name, way) in enumerate(zip(written, proof.blocked, strict=False), 1):
                progress(count, len(written), text("blocked.progress"))
                sheet = compose.page(blocked_view.frame_of(stage, way, now, size[0] / size[1]), size, stage=scene)
                imageio.imwrite(Path(beside) / name, sheet.image)
            for name in written:
                os.replace(Path(beside) / name, folder / name)
    finally:
        scene.close()
    return written
