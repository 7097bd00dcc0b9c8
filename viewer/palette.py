"""Colours of the drawing: one per role, a scale for temperature, inks and verdicts. Nothing is told by colour alone.

The role colours keep a difference of at least 21 (CIE 1976) between any two, in ordinary sight and in the three
kinds of colour blindness, except the tool, which only ever appears beside the work.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from scenes.frame import State

Rgb = tuple[int, int, int]

ROLE: Final[dict[str, str]] = {
    "case": "#B5D5F7",
    "cartridge": "#72A2E1",
    "pinion": "#F0B23C",
    "gear": "#A8481F",
    "shaft": "#F7D4AF",
    "ring": "#1A6E58",
    "rolling": "#F6F7F7",
    "cage": "#6A4C93",
    "spacer": "#B39C5E",
    "seal": "#2B2E33",
    "gasket": "#F4227C",
    "fastener": "#8F9EAA",
    "tool": "#7C8A3E",
}
GROUND: Final[Rgb] = (255, 255, 255)
INK: Final[Rgb] = (32, 36, 42)
PAPER: Final[Rgb] = (
    254,
    254,
    254,
)  # under a mark on the picture: not the ground's white, which lets the scene through in the window
SOFT_INK: Final[Rgb] = (92, 99, 108)
RULE: Final[Rgb] = (206, 211, 217)
PANEL: Final[Rgb] = (245, 246, 248)
ACCENT: Final[Rgb] = (0, 92, 200)  # halo, trail and heading of what arrives; used for nothing else
MOVING: Final[Rgb] = (64, 132, 226)  # of a blocked way: what moves ...
BLOCKING: Final[Rgb] = (214, 72, 62)  # ... and what is in its way
VERDICT: Final[dict[str, Rgb]] = {"fine": (21, 113, 84), "watch": (156, 98, 0), "stop": (176, 28, 40), "": SOFT_INK}
COMPOUND: Final[Rgb] = (45, 72, 128)  # marking blue on a flank
METAL: Final[Rgb] = (233, 235, 231)  # where the teeth have wiped it off
MATCH: Final[Rgb] = (90, 225, 235)  # paint of the match marks
WAITING_WHITE: Final = 0.70  # share of white in a part that waits
CAP_WHITE: Final = 0.72  # share of white in a cut face, under its hatching
_HEAT: Final = ("#3B4CC0", "#E9DFC9", "#F4B860", "#E0561F", "#9B1C31", "#45092B")
_HEAT_AT: Final = (-0.45, 0.0, 0.3, 0.6, 0.85, 1.0)  # below 0: colder than the bottom of the scale (chilled parts)


def rgb(colour: str) -> Rgb:
    """The three components 0..255 of "#RRGGBB"."""
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)


def code(colour: Rgb) -> str:
    """The colour as "#rrggbb"."""
    return "#{:02x}{:02x}{:02x}".format(*colour)


def mix(colour: Rgb, other: Rgb, share: float) -> Rgb:
    """`colour` with `share` (0..1) of `other` in it."""
    r, g, b = (round(a + (o - a) * share) for a, o in zip(colour, other, strict=True))
    return r, g, b


def role(name: str) -> Rgb:
    """The colour of a role."""
    return rgb(ROLE[name])


def waiting(colour: Rgb) -> Rgb:
    """The pale tint of a part that has not had its turn."""
    return mix(colour, GROUND, WAITING_WHITE)


def of(name: str, state: State) -> Rgb:
    """The colour of a role in a state: the mark of a blocked way's two parts, else the role's own or its pale tint."""
    if state == "moving":
        return MOVING
    if state == "blocking":
        return BLOCKING
    return waiting(role(name)) if state == "waiting" else role(name)


def heat_position(temperature: float, low: float, high: float) -> float:
    """Where a temperature [degC] stands on a scale from low (0) to high (1), held to what the scale can show."""
    span = max(high - low, 1e-9)
    return float(min(1.0, max(_HEAT_AT[0], (temperature - low) / span)))


def heat(position: float) -> Rgb:
    """The colour at a position of the temperature scale; its lightness falls all the way from 0 to 1."""
    return _heat_row(np.array([position]))[0]


def heat_ramp(count: int) -> NDArray[np.uint8]:
    """The temperature scale from low to high as `count` colours, shape (count, 3)."""
    return np.array(_heat_row(np.linspace(0.0, 1.0, count)), dtype=np.uint8)


def _heat_row(positions: NDArray[np.float64]) -> list[Rgb]:
    stops = np.array([rgb(c) for c in _HEAT], dtype=float)
    channels = [np.interp(positions, _HEAT_AT, stops[:, k]) for k in range(3)]
    return [(round(float(r)), round(float(g)), round(float(b))) for r, g, b in zip(*channels, strict=True)]
