"""A small made-up machine for picture tests: plain solids written vertex by vertex, so that the tests of the pictures
do not depend on the reducer."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from geometry.part import Role, Solid
from scenes.frame import Callout, Camera, CutPlane, FitView, Frame, HeatMark, HeatScale, Shown, State, StepText, Trail

Points = NDArray[np.float64]


def loft(rings: Sequence[Points], closed: bool = False) -> Solid:
    """A closed body from outlines of equal count, joined in turn; `closed` joins last to first, else both ends are capped."""
    count, n = len(rings), len(rings[0])
    vertices = [np.asarray(r, dtype=float) for r in rings]
    faces: list[tuple[int, int, int]] = []
    for i in range(count if closed else count - 1):
        a, b = i * n, ((i + 1) % count) * n
        for k in range(n):
            m = (k + 1) % n
            faces += [(a + k, a + m, b + m), (a + k, b + m, b + k)]
    if not closed:
        for ring, turned in ((0, True), (count - 1, False)):
            centre = sum(len(v) for v in vertices)
            vertices.append(rings[ring].mean(axis=0, keepdims=True))
            for k in range(n):
                pair = (ring * n + (k + 1) % n, ring * n + k)
                faces.append((centre, *pair) if turned else (centre, *pair[::-1]))
    return Solid(np.concatenate(vertices), np.array(faces, dtype=np.int32))


def circle(radius: float, z: float, count: int = 64) -> Points:
    """A circle about z, counter-clockwise."""
    angle = np.arange(count) * 2.0 * np.pi / count
    return np.stack([radius * np.cos(angle), radius * np.sin(angle), np.full(count, z)], axis=1)


def rectangle(x0: float, y0: float, x1: float, y1: float, z: float) -> Points:
    return np.array([(x0, y0, z), (x1, y0, z), (x1, y1, z), (x0, y1, z)], dtype=float)


def turned(profile: Sequence[tuple[float, float]], count: int = 64, closed: bool = False) -> Solid:
    """A body of revolution from (r, z) pairs; `closed` for a ring with a bore."""
    return loft([circle(r, z, count) for r, z in profile], closed)


def ring(bore: float, outside: float, z0: float, z1: float, count: int = 64) -> Solid:
    return turned([(bore / 2, z1), (bore / 2, z0), (outside / 2, z0), (outside / 2, z1)], count, closed=True)


def toothed(teeth: int, tip: float, root: float, bore: float, height: float) -> Solid:
    """A bevel-like toothed ring, teeth up."""
    k = np.arange(teeth * 4)
    angle = (k + 0.0) * 2.0 * np.pi / (teeth * 4)
    radius = np.where((k % 4 == 1) | (k % 4 == 2), tip, root)
    flat = np.stack([np.cos(angle), np.sin(angle)], axis=1)

    def at(r: NDArray[np.float64] | float, z: NDArray[np.float64] | float) -> Points:
        return np.column_stack([flat * np.broadcast_to(r, angle.shape)[:, None], np.broadcast_to(z, angle.shape)])

    high = np.where(radius == tip, height, height * 0.72)
    return loft(
        [
            at(bore, 0.0),
            at(root * 0.93, 0.0),
            at(root, height * 0.4),
            at(radius, high * 0.8),
            at(root * 0.62, high),
            at(bore, height * 0.7),
        ],
        True,
    )


def place(x: float = 0.0, y: float = 0.0, z: float = 0.0, along: str = "z") -> Points:
    """A placement: the part's own z axis turned onto `along`, then moved."""
    pose = np.eye(4)
    if along == "x":
        pose[:3, :3] = [[0, 0, 1], [1, 0, 0], [0, 1, 0]]
    pose[:3, 3] = (x, y, z)
    return pose


def shown(name: str, label: str, role: Role, solid: Solid, pose: Points, state: State = "in place", **more: object) -> Shown:
    return replace(
        Shown(name, label, role, solid, hashlib.sha1(solid.vertices.tobytes() + solid.faces.tobytes()).hexdigest(), pose, state),
        **more,
    )  # type: ignore[arg-type]


def parts(fine: int = 1) -> list[Shown]:
    """The machine's parts; `fine` multiplies the facets of the round ones."""
    n = 64 * fine
    rows = [
        shown("case", "Case, lower half", "case", tub(), place(), cut=True),
        shown(
            "shaft",
            "Low-speed shaft",
            "shaft",
            turned([(28, -210), (28, -60), (34, -60), (34, 40), (30, 40), (30, 110)], n),
            place(),
            whole=True,
        ),
        shown("bearing-inner", "Lower bearing inner ring", "ring", ring(68, 84, -52, -26, n), place(), cut=True),
        shown("bearing-outer", "Lower bearing outer ring", "ring", ring(104, 122, -52, -26, n), place(), cut=True),
        shown("cage", "Lower bearing cage", "cage", ring(90, 98, -48, -30, n), place(), cut=True),
        shown("gear", "Gear", "gear", toothed(41, 118, 104, 34.0, 30), place(z=2), cut=True),
        shown("spacer", "Gear spacer", "spacer", ring(60, 78, 34, 58, n), place(), cut=True),
        shown(
            "gasket",
            "Pinion gasket",
            "gasket",
            ring(150, 230, 0, 2, n),
            place(x=190, z=62, along="x"),
            "arriving",
            travel=(44.0, 0, 0),
        ),
        shown("cartridge", "Cartridge", "cartridge", cartridge(n), place(x=250, z=62, along="x"), "arriving", travel=(104.0, 0, 0)),
        shown(
            "pinion", "Pinion", "pinion", toothed(14, 46, 37, 16, 44), place(x=140, z=62, along="x"), "in place", temperature=None
        ),
        shown("seal", "Shaft seal", "seal", ring(64, 92, 0, 12, n), place(x=420, z=62, along="x"), "waiting", travel=(300.0, 0, 0)),
        shown(
            "cover",
            "Seal cover",
            "cartridge",
            ring(92, 190, 0, 16, n),
            place(x=452, z=62, along="x"),
            "waiting",
            travel=(300.0, 0, 0),
        ),
    ]
    for k in range(12):
        angle = k * np.pi / 6
        rows.append(
            shown(
                f"roller{k}",
                "Lower bearing rollers (12)",
                "rolling",
                turned([(5.5, -50), (5.5, -28)], 16 * fine),
                place(47 * np.cos(angle), 47 * np.sin(angle)),
                whole=True,
            )
        )
    for k in range(8):
        angle = (k + 0.5) * np.pi / 4
        rows.append(
            shown(
                f"screw{k}",
                "Cartridge screws (8)",
                "fastener",
                screw(16 * fine),
                place(330, 98 * np.cos(angle), 62 + 98 * np.sin(angle), "x"),
                "waiting",
                travel=(170.0, 0, 0),
                whole=True,
            )
        )
    return rows


def tub() -> Solid:
    return loft(
        [
            rectangle(-170, -150, 170, 150, -100),
            rectangle(-170, -150, 170, 150, 0),
            rectangle(-150, -130, 150, 130, 0),
            rectangle(-150, -130, 150, 130, -80),
        ]
    )


def cartridge(n: int) -> Solid:
    return turned([(66, 70), (66, -60), (76, -60), (76, 0), (114, 0), (114, 18), (88, 18), (88, 70)], n, closed=True)


def screw(n: int) -> Solid:
    return turned([(4, -36), (4, 0), (7, 0), (7, 9)], n)


CAMERA = Camera((1520.0, -1900.0, 1060.0), (70.0, 0.0, 0.0), (0.0, 0.0, 1.0))
STEP = StepText(
    "draw-in-cartridge",
    14,
    46,
    "D",
    "Close the case",
    "Slide the cartridge into the lower half",
    "Hold the flange 5 mm off the end face, lower, rock the gear to let the teeth in, then slide in while turning the pinion.",
    "The flange and its gasket would scrape the end face if it came straight down.",
    "lower on a sling",
    ("No fingers in the mesh while the gear is rocked: one person commands turning.", "Sling legs not below 45° from horizontal."),
    ("Sling, 2 legs", "Eyebolts M12"),
    "Stop: flange stays 5 mm off until the upper half is tight.",
)
CALLOUTS = (
    Callout(
        "lift.cartridge",
        "cartridge",
        (250.0, 0.0, 62.0),
        "The cartridge with its shaft weighs 38 kg.",
        "38 kg",
        38.0,
        "kg",
        "up to 25 kg by hand",
        "watch",
        "common practice, no source",
    ),
    Callout(
        "fit.cartridge",
        "cartridge",
        (230.0, 0.0, 150.0),
        "Cartridge in case bore: 8 to 51 µm clear.",
        "8…51 µm clear",
        0.03,
        "mm",
        "0…60 µm",
        "fine",
        "ISO 286-2",
    ),
    Callout(
        "fit.gear.bore",
        "gear",
        (0.0, -20.0, 20.0),
        "The heated gear bore is 0.021 mm larger than the shaft.",
        "0.021 mm clear",
        0.021,
        "mm",
        "at least 0.05 mm",
        "stop",
        "common practice, no source",
    ),
    Callout(
        "chain.pinion",
        "gasket",
        (190.0, 0.0, 62.0),
        "Pinion gasket 0.50 mm sets the mounting distance to 171.02 mm.",
        "0.50 mm",
        0.5,
        "mm",
        "",
        "",
        "",
    ),
)
NOTES = ("Defer to the maker's manual, site rules and qualified people.",)


def frame(fine: int = 1) -> Frame:
    """The cartridge arrives, its screws, seal and cover wait."""
    trails = (
        Trail("cartridge", ((250.0, 0.0, 62.0), (146.0, 0.0, 62.0))),
        Trail("gasket", ((190.0, -115.0, 62.0), (146.0, -115.0, 62.0))),
    )
    return Frame("example", STEP, tuple(parts(fine)), trails, CALLOUTS, CAMERA, notes=NOTES, arriving=("cartridge", "gasket"))


def sectioned() -> Frame:
    """The same with the near half cut away."""
    return replace(frame(), cut=CutPlane((0.0, 0.0, 0.0), (0.0, -1.0, 0.0)), trails=())


def heated() -> Frame:
    """The gear at 118 degC above its seat, with the fit drawing and the temperature scale."""
    rows = []
    for part in parts():
        if part.name == "gear":
            part = replace(part, temperature=118.0, state="arriving", pose=place(z=150), travel=(0.0, 0.0, 148.0))
        elif part.state == "arriving":
            part = replace(part, state="waiting")
        rows.append(part)
    fit = FitView(
        "gear", "gear bore", "gear seat", 60.0, 0.021, -0.004, 0.046, 118.0, 250.0, "Gaps drawn 250 times larger than they are."
    )
    return replace(
        frame(),
        shown=tuple(rows),
        trails=(Trail("gear", ((0.0, 0.0, 150.0), (0.0, 0.0, 2.0))),),
        arriving=("gear",),
        fit_view=fit,
        heat_scale=HeatScale(
            20.0,
            150.0,
            "Gear at 118 °C, shaft at 20 °C",
            (HeatMark(20.0, "20 °C", "start"), HeatMark(118.0, "now 118 °C", "now"), HeatMark(140.0, "limit 140 °C", "limit")),
        ),
    )


def hidden() -> Frame:
    """A spacer arrives deep inside a closed box: only the inset can show it."""
    box = shown("box", "Case", "case", loft([rectangle(-100, -100, 100, 100, -80), rectangle(-100, -100, 100, 100, 80)]), place())
    inner = shown("spacer", "Spacer", "spacer", ring(60, 78, 0, 24), place(), "arriving", travel=(0.0, 0.0, 10.0))
    rod = shown("rod", "Shaft", "shaft", turned([(29, -60), (29, 60)]), place())
    return replace(
        frame(),
        shown=(box, inner, rod),
        trails=(),
        callouts=(),
        arriving=("spacer",),
        camera=Camera((900.0, -1100.0, 620.0), (0.0, 0.0, 0.0), (0.0, 0.0, 1.0)),
    )


def heavy(copies: int = 5) -> Frame:
    """Some 150 parts and 300 000 triangles, for timing."""
    first = parts(fine=4)
    rows = list(first)
    for copy in range(1, copies):
        for part in first:
            pose = part.pose.copy()
            pose[1, 3] += 330.0 * copy
            rows.append(replace(part, name=f"{part.name}.{copy}", pose=pose))
    return replace(frame(), shown=tuple(rows))
