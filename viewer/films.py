"""Films of the rebuild: the whole as MP4, and each phase as MP4 (a cut of the whole) and GIF, with the step's title burnt in.

Pixels and seconds. A drawing that stands is drawn once and repeated. The whole is the phases' films joined without encoding again.
"""

from __future__ import annotations

import contextlib
import re
import subprocess
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from scenes import film
from scenes.explain import Explainer
from scenes.film import Shot
from scenes.frame import Frame
from scenes.settings import Settings
from scenes.wording import text
from viewer import lettering, palette
from viewer.stage import Stage

RATE: Final = 10  # pictures a second
FAST_RATE: Final = 5  # the same of a quick film, which has few drawings of a move
SIZE: Final = (1280, 720)
FAST_SIZE: Final = (640, 360)
GIF_WIDTH: Final = 640
OVERSIZE: Final = 1.5  # drawn larger and reduced, for smooth edges
CRF: Final = 23  # quality of the MP4: the encoder's own middle
GIF_COLOURS: Final = 160
SPARSE: Final = 4  # of every so many pixels each way the colours of a GIF are found
WHITE: Final = 247  # a colour lighter than this is the ground
STRIP, FOOT = 0.092, 0.05  # title strip and line at the foot, shares of the height


class FilmFault(Exception):
    """The encoder gave up: a finished line."""


@dataclass(frozen=True)
class View:
    """Where a picture is taken from, with what fitting it into its rectangle has added."""

    position: NDArray[np.float64]
    focus: NDArray[np.float64]
    up: NDArray[np.float64]
    angle: float
    middle: NDArray[np.float64]

    def toward(self, other: View, share: float) -> View:
        """A view on the way to another."""

        def mix(a: Any, b: Any) -> Any:
            return a + (b - a) * share

        return View(
            mix(self.position, other.position),
            mix(self.focus, other.focus),
            mix(self.up, other.up),
            mix(self.angle, other.angle),
            mix(self.middle, other.middle),
        )


def _view(scene: Stage) -> View:
    camera = scene.plotter.camera
    return View(
        np.array(camera.GetPosition()),
        np.array(camera.GetFocalPoint()),
        np.array(camera.GetViewUp()),
        float(camera.GetViewAngle()),
        np.array(camera.GetWindowCenter()),
    )


def _take(scene: Stage, view: View) -> None:
    camera = scene.plotter.camera
    camera.SetPosition(*view.position)
    camera.SetFocalPoint(*view.focus)
    camera.SetViewUp(*view.up)
    camera.SetViewAngle(view.angle)
    camera.SetWindowCenter(*view.middle)
    scene.renderer.ResetCameraClippingRange()


def drawings(
    explainer: Explainer, now: Settings, shots: Sequence[Shot], size: tuple[int, int], *, oversize: float = OVERSIZE
) -> Iterator[tuple[Shot, NDArray[np.uint8]]]:
    """Draw the shots one after the other; each picture has the film's size (width, height)."""
    strip, foot = round(STRIP * size[1]), round(FOOT * size[1])
    field = (size[0], size[1] - strip - foot)
    scene = Stage((round(field[0] * oversize), round(field[1] * oversize)), edges=True)
    margin = 0.03 * scene.size[1]
    free = (margin, margin, scene.size[0] - margin, scene.size[1] - margin)
    frame: Frame | None = None
    last: Frame | None = None
    view = before = None
    step = ""
    try:
        for shot in shots:
            if shot.step != step:
                step, before = shot.step, view
                frame = explainer.frame(explainer.with_(now, step=step), field[0] / field[1])
                scene.show(film.moved(explainer, now, frame, step, 1.0))
                home = scene.corners()
                scene.show(frame)
                scene.fit(frame.camera, free, also=home)
                view = _view(scene)
            assert frame is not None and view is not None
            shown = film.moved(explainer, now, frame, step, shot.home)
            if shot.eased < 1.0 and last is not None and before is not None:
                scene.show(film.blended(last, shown, shot.eased), camera=False)
                _take(scene, before.toward(view, shot.eased))
            else:
                scene.show(shown, camera=False)
                _take(scene, view)
                last = shown
            picture = Image.fromarray(scene.image())
            if oversize != 1.0:
                picture = picture.resize(field, Image.Resampling.BOX if oversize == 2.0 else Image.Resampling.LANCZOS)
            yield shot, _titled(picture, explainer, shot, size, strip, foot)
    finally:
        scene.close()


def _titled(
    picture: Image.Image, explainer: Explainer, shot: Shot, size: tuple[int, int], strip: int, foot: int
) -> NDArray[np.uint8]:
    """The picture with the step's number and title above it and what stands before it below."""
    step = explainer.procedure.steps[shot.step]
    sheet = Image.new("RGB", size, palette.GROUND)
    sheet.paste(picture, (0, strip))
    pen = ImageDraw.Draw(sheet)
    pen.rectangle((0, 0, size[0], strip - 1), fill=palette.INK)
    big, small, line = round(0.50 * strip), round(0.30 * strip), max(9, round(0.46 * foot))
    x = round(0.3 * strip)
    number = str(step.number)
    wide = lettering.width_of(number, big, True)
    pen.rounded_rectangle((x, 0.14 * strip, x + wide + 0.36 * strip, 0.86 * strip), 0.1 * strip, fill=palette.GROUND)
    pen.text((x + 0.18 * strip, strip / 2), number, palette.INK, lettering.font(big, True), anchor="lm")
    x += round(wide + 0.36 * strip + 0.28 * strip)
    right = size[0] - round(0.3 * strip)
    aside = text("film.hold") if step.hold else text(f"method.{step.method}")
    room = right - x - lettering.width_of(aside, small, step.hold) - 0.4 * strip
    title = film.step_title(shot.step)
    fitting = big
    while fitting > small and lettering.width_of(title, fitting, True) > room:
        fitting -= 1
    pen.text((x, strip / 2), title, palette.GROUND, lettering.font(fitting, True), anchor="lm")
    pen.text((right, strip / 2), aside, palette.GROUND, lettering.font(small, step.hold), anchor="rm")
    said = text("film.foot", machine=explainer.title)
    while line > 7 and lettering.width_of(said, line) > size[0] - 0.6 * strip:
        line -= 1
    pen.text((round(0.3 * strip), size[1] - foot / 2), said, palette.SOFT_INK, lettering.font(line), anchor="lm")
    return np.asarray(sheet)


def repeats(shot: Shot, rate: int = RATE) -> int:
    """How many pictures of a film one drawing stands; `rate`: pictures a second."""
    return max(1, round(shot.time * rate))


class Cut:
    """A stretch of the film while it is being written: an MP4 of its own; `rate`: pictures a second."""

    def __init__(self, path: Path, size: tuple[int, int], rate: int) -> None:
        import imageio_ffmpeg

        self.path = path
        command = [
            imageio_ffmpeg.get_ffmpeg_exe(), "-y", "-loglevel", "error", "-f", "rawvideo", "-pix_fmt", "rgb24",
            "-s", f"{size[0]}x{size[1]}", "-r", str(rate), "-i", "-", "-an", "-c:v", "libx264", "-crf", str(CRF), "-preset", "veryfast",
            "-pix_fmt", "yuv420p", "-threads", "1", "-fflags", "+bitexact", "-flags:v", "+bitexact", "-map_metadata", "-1",
            "-movflags", "+faststart", str(path),
        ]  # fmt: skip
        self._encoder = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)

    def add(self, image: NDArray[np.uint8], count: int) -> None:
        """A drawing that stands for some pictures."""
        assert self._encoder.stdin is not None
        data = np.ascontiguousarray(image).tobytes()
        try:
            for _ in range(count):
                self._encoder.stdin.write(data)
        except BrokenPipeError:
            raise FilmFault(self._said()) from None

    def finish(self) -> None:
        """Close the file."""
        assert self._encoder.stdin is not None
        try:
            self._encoder.stdin.close()
        except BrokenPipeError:
            pass
        if self._encoder.wait():
            raise FilmFault(self._said())

    def stop(self) -> None:
        """Let go of the encoder; one that still runs is ended."""
        if self._encoder.poll() is None:
            self._encoder.kill()
        self._encoder.wait()
        assert self._encoder.stdin is not None and self._encoder.stderr is not None
        with contextlib.suppress(BrokenPipeError):
            self._encoder.stdin.close()
        self._encoder.stderr.close()

    def _said(self) -> str:
        assert self._encoder.stderr is not None
        self._encoder.wait()
        lines = self._encoder.stderr.read().decode(errors="replace").strip().splitlines()
        return _line(lines, self._encoder.returncode)


class Strip:
    """The GIF of one phase while its pictures are gathered; `rate`: pictures a second of the film."""

    def __init__(self, rate: int) -> None:
        self._rate = rate
        self._pictures: list[Image.Image] = []
        self._times: list[int] = []

    def add(self, image: NDArray[np.uint8], count: int) -> None:
        """A drawing that stands for some pictures of the film."""
        small = Image.fromarray(image)
        if small.width > GIF_WIDTH:
            small = small.resize((GIF_WIDTH, GIF_WIDTH * small.height // small.width), Image.Resampling.LANCZOS)
        self._pictures.append(small)
        self._times.append(round(1000 * count / self._rate))

    def write(self, path: Path) -> None:
        """Write the file, with one palette for all its pictures; a drawing stands as long as in the film."""
        palette = self._palette()
        first, *rest = (picture.quantize(palette=palette, dither=Image.Dither.NONE) for picture in self._pictures)
        first.save(path, save_all=True, append_images=rest, duration=self._times, loop=0, disposal=1)

    def _palette(self) -> Image.Image:
        """The colours of all pictures together; the ground stays white."""
        sparse = np.concatenate([np.asarray(picture)[::SPARSE, ::SPARSE] for picture in self._pictures])
        found = Image.fromarray(sparse).quantize(GIF_COLOURS, dither=Image.Dither.NONE)
        colours = np.array(found.getpalette(), dtype=np.uint8).reshape(-1, 3)
        colours[colours.min(axis=1) > WHITE] = 255
        found.putpalette(colours.ravel().tolist())
        return found


WHOLE: Final = "film.mp4"


def names_of(explainer: Explainer, phase: str) -> tuple[str, str]:
    """Names of a phase's MP4 and GIF."""
    stem = f"film-{explainer.procedure.phases.index(phase) + 1:02}-{phase}"
    return f"{stem}.mp4", f"{stem}.gif"


def write(
    explainer: Explainer,
    now: Settings,
    folder: Path,
    *,
    phase: str | None = None,
    fast: bool = False,
    size: tuple[int, int] | None = None,
    told: Callable[[int, int, str], None] = lambda count, total, what: None,
) -> None:
    """Write the films of all phases and the whole, or of one phase alone. `told` is called with each drawing."""
    size, rate = size or (FAST_SIZE if fast else SIZE), FAST_RATE if fast else RATE
    shots = film.script(explainer, most=film.FAST_DRAWN if fast else film.MOST_DRAWN, beat=1.0 / rate)
    chosen = [shot for shot in shots if phase in (None, shot.phase)]
    stretches: list[tuple[str, Cut]] = []  # an order of its own may come back to a phase: then it has several
    strips: dict[str, Strip] = {}
    last = {shot.phase: count for count, shot in enumerate(chosen, 1)}
    try:
        for count, (shot, image) in enumerate(drawings(explainer, now, chosen, size), 1):
            if not stretches or stretches[-1][0] != shot.phase:
                if stretches:
                    stretches[-1][1].finish()
                stretches.append((shot.phase, Cut(folder / f"stretch-{len(stretches):03}.mp4", size, rate)))
            stretches[-1][1].add(image, repeats(shot, rate))
            strips.setdefault(shot.phase, Strip(rate)).add(image, repeats(shot, rate))
            if count == last[shot.phase]:
                strips.pop(shot.phase).write(folder / names_of(explainer, shot.phase)[1])
            told(count, len(chosen), text("film.progress", number=explainer.procedure.steps[shot.step].number))
        stretches[-1][1].finish()
    finally:
        for _, cut in stretches:
            cut.stop()
    for name in last:
        _join([cut.path for found, cut in stretches if found == name], folder / names_of(explainer, name)[0])
    if phase is None:
        _join([cut.path for _, cut in stretches], folder / WHOLE)
    for _, cut in stretches:
        cut.path.unlink()


def _join(parts: Sequence[Path], path: Path) -> None:
    """Stretches of film one after the other, not encoded again."""
    import imageio_ffmpeg

    listing = path.with_suffix(".txt")
    listing.write_text("".join(f"file '{part.name}'\n" for part in parts), encoding="utf-8")
    command = [
        imageio_ffmpeg.get_ffmpeg_exe(), "-y", "-loglevel", "error", "-f", "concat", "-safe", "0", "-i", str(listing),
        "-c", "copy", "-fflags", "+bitexact", "-map_metadata", "-1", "-movflags", "+faststart", str(path),
    ]  # fmt: skip
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    listing.unlink()
    if done.returncode:
        raise FilmFault(_line(done.stderr.strip().splitlines(), done.returncode))


def _line(lines: Sequence[str], code: int) -> str:
    """What the encoder said last, without the name of its inner part."""
    return re.sub(r"^\[[^]]*\] *", "", lines[-1]) if lines else f"the encoder ended with code {code}"
