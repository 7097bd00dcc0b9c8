"""Can this machine draw? Asked in a child process, because without OpenGL the drawing library does not raise: it dies."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import MutableMapping

REMEDY = "apt-get install --no-install-recommends libegl1 libgl1-mesa-dri"
PROBE_SECONDS = 60.0  # a cold first start on a slow disk; a warm one takes under a second
_SIDE = 32
_COLOUR = (32, 64, 96)
_CHILD = """
import vtkmodules.vtkRenderingOpenGL2
from vtkmodules.vtkCommonCore import vtkUnsignedCharArray
from vtkmodules.vtkRenderingCore import vtkRenderer, vtkRenderWindow
window = vtkRenderWindow()
window.SetOffScreenRendering(1)
window.SetSize({side}, {side})
renderer = vtkRenderer()
renderer.SetBackground({r} / 255, {g} / 255, {b} / 255)
window.AddRenderer(renderer)
window.Render()
pixels = vtkUnsignedCharArray()
window.GetPixelData({mid}, {mid}, {mid}, {mid}, 0, pixels, 0)
print(*[int(pixels.GetValue(i)) for i in range(3)])
"""


def prepare(environment: MutableMapping[str, str] | None = None, platform: str = sys.platform) -> None:
    """Ask for drawing without a screen where there is none: must run before the drawing library is imported."""
    env = os.environ if environment is None else environment
    if platform.startswith("linux") and not env.get("DISPLAY") and not env.get("WAYLAND_DISPLAY"):
        env.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")


def probe(executable: str = sys.executable) -> str | None:
    """Draw one small picture in a child process: None when it came out right, else one line that says what to do."""
    prepare()
    code = _CHILD.format(side=_SIDE, mid=_SIDE // 2, r=_COLOUR[0], g=_COLOUR[1], b=_COLOUR[2])
    try:
        child = subprocess.run([executable, "-c", code], capture_output=True, text=True, timeout=PROBE_SECONDS, check=False)
    except (OSError, subprocess.TimeoutExpired) as fault:
        return f"this machine can't draw ({type(fault).__name__}); on Debian or Ubuntu: {REMEDY}"
    lines = child.stdout.split("\n")
    if child.returncode == 0 and " ".join(map(str, _COLOUR)) in [line.strip() for line in lines]:
        return None
    why = f"the trial picture ended with code {child.returncode}" if child.returncode else "the trial picture came out wrong"
    return f"this machine can't draw ({why}); on Debian or Ubuntu: {REMEDY}"
