"""A small made-up machine for the live page: a gear shrunk on a shaft, and a flange with a gasket."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from typing import Any

import numpy as np

from geometry.part import Role, Solid
from scenes import cameras
from scenes.frame import Callout, CutPlane, FitView, Frame, HeatMark, HeatScale, Shown, StepText, Trail

BORE = 75.0
EXPANSION = 11.5e-6  # 1/K, steel; any value would do for the page
SIDES = 96


@dataclass(frozen=True)
class Settings:
    """What a person moves."""

    step: str | None = "place"
    explode: float = 0.0
    heater: float | None = None
    ambient: float | None = None
    gaskets: Mapping[str, float] = field(default_factory=dict)
    cut: bool = False
    units: str = "mm"


def ring(inner: float, outer: float, low: float, high: float, sides: int = SIDES) -> Solid:
    """A closed ring (or, with inner 0, a rod of radius `outer`) about z."""
    inner = max(inner, 0.5)
    angle = np.linspace(0.0, 2.0 * np.pi, sides, endpoint=False)
    circle = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    loops = [(inner, low), (outer, low), (outer, high), (inner, high)]
    vertices = np.concatenate([np.column_stack([circle * r, np.full(sides, z)]) for r, z in loops])
    faces = []
    for k in range(4):
        a, b = k * sides, (k + 1) % 4 * sides
        for i in range(sides):
            j = (i + 1) % sides
            faces += [(a + i, a + j, b + j), (a + i, b + j, b + i)]
    return Solid(vertices, np.array(faces, dtype=np.int32))


PARTS: tuple[tuple[str, str, Role, Solid, float], ...] = (
    ("shaft", "Low-speed shaft", "shaft", ring(0.0, BORE / 2, -120.0, 140.0), 0.0),
    ("shoulder", "Bearing ring, lower", "ring", ring(BORE / 2, 60.0, -100.0, -70.0), -60.0),
    ("gear", "Gear", "gear", ring(BORE / 2, 130.0, 0.0, 45.0), 110.0),
    ("spacer", "Spacer", "spacer", ring(BORE / 2, 48.0, 45.0, 70.0), 170.0),
    ("flange", "Cartridge, upper", "cartridge", ring(BORE / 2 + 12.0, 95.0, 84.0, 110.0), 240.0),
    ("gasket", "Gear gasket", "gasket", ring(60.0, 95.0, 82.0, 84.0), 210.0),
)
STEPS = (
    ("prepare", "Prepare", (("clean", "Clean and inspect the seats"), ("measure", "Measure bore and seat"))),
    (
        "shrink",
        "Shrink the gear on",
        (("heat", "Heat the gear"), ("place", "Drop the gear over the shaft"), ("cool", "Hold it until it grips")),
    ),
    ("close", "Close up", (("flange", "Fit the upper cartridge and its gasket"),)),
)


class SampleExplainer:
    """Six steps in three phases."""

    title = "Sample reducer"
    gaskets = (
        ("gear_gasket", "Gear gasket", 0.5, 0.2, 1.0, (0.25, 0.4, 0.5, 0.8)),
        ("pinion_gasket", "Pinion gasket", 0.5, 0.2, 1.0, (0.25, 0.4, 0.5, 0.8)),
        ("float_gasket_2", "High-speed float gasket", 0.5, 0.3, 0.8, (0.4, 0.5, 0.6)),
        ("float_gasket", "Low-speed float gasket", 0.5, 0.3, 0.8, (0.4, 0.5, 0.6)),
    )
    heater_range = (20.0, 180.0, 110.0)
    ambient_range = (-10.0, 45.0, 20.0)

    def __init__(self) -> None:
        self.phases = []
        number = 0
        self._text: dict[str, tuple[int, str, str, str]] = {}
        for phase, phase_title, steps in STEPS:
            rows = []
            for step, title in steps:
                number += 1
                rows.append((step, number, title))
                self._text[step] = (number, phase, phase_title, title)
            self.phases.append((phase, phase_title, rows))

    def start_settings(self) -> Settings:
        """The step at which the page opens."""
        return Settings()

    def with_(self, settings: Settings, **changes: Any) -> Settings:
        """Changed settings, or ValueError with one clear line."""
        known = {f.name for f in fields(Settings)}
        if changes.keys() - known:
            raise ValueError(f"unknown setting {sorted(changes.keys() - known)[0]}")
        changed = replace(settings, **changes)
        if changed.step is not None and changed.step not in self._text:
            raise ValueError(f"step = {changed.step}: there is no such step")
        for name, value, (low, high, _) in (
            ("heater", changed.heater, self.heater_range),
            ("ambient", changed.ambient, self.ambient_range),
        ):
            if value is not None and not low <= value <= high:
                raise ValueError(f"{name} = {value:g} °C: give {low:g} to {high:g} °C")
        for name, _, _, low, high, _ in self.gaskets:
            value = changed.gaskets.get(name)
            if value is not None and not low - 1e-9 <= value <= high + 1e-9:
                raise ValueError(f"{name} = {value:g} mm: give {low:g} to {high:g} mm")
        return changed

    def judge(self) -> None:
        """Nothing is known of this order."""

    def numbers(self, settings: Settings) -> dict[str, Any]:
        """The callouts as the command line prints them."""
        return {"callouts": [{"key": c.key, "text": c.text, "verdict": c.verdict} for c in self._callouts(settings)]}

    def frame(self, settings: Settings, aspect: float = 1.5) -> Frame:
        """All that is on stage."""
        number, phase, phase_title, title = self._text.get(str(settings.step), (0, "", "", ""))
        pull = settings.explode
        hot = settings.step in ("heat", "place")
        shown, trails = [], []
        for name, label, role, solid, lift in PARTS:
            pose = np.eye(4)
            pose[2, 3] = lift * pull
            shown.append(
                Shown(
                    name,
                    label,
                    role,
                    solid,
                    f"sample-{name}",
                    pose,
                    "arriving" if name == "gear" else "in place",
                    (0.0, 0.0, lift * pull),
                    self._heater(settings) if hot and name == "gear" else None,
                    cut=True,
                    whole=name == "shaft",
                )
            )
            if lift * pull:
                trails.append(Trail(name, ((100.0, 0.0, lift * pull), (100.0, 0.0, 0.0))))
        gap = self._gap(settings)
        return Frame(
            machine=self.title,
            step=None
            if settings.step is None
            else StepText(
                str(settings.step),
                number,
                len(self._text),
                phase,
                phase_title,
                title,
                "Lift the gear level on the chain, drop it over the shaft in one movement and turn it a little as it seats.",
                "The bore must clear the shaft all the way down: on the cold shaft it grips within seconds.",
                "Hot, lowered on a chain",
                ("Heat-resistant gloves.", "Once started, do not stop.", "No fingers below the gear."),
                ("Induction heater", "Contact thermometer"),
                "The fitter measures the bore before the lift." if settings.step == "place" else "",
            ),
            shown=tuple(shown),
            trails=tuple(trails),
            callouts=self._callouts(settings),
            camera=cameras.fit(
                [np.array([part.solid.vertices.min(axis=0), part.solid.vertices.max(axis=0)]) + part.pose[:3, 3] for part in shown],
                aspect=aspect,
            ),
            cut=CutPlane((0.0, 0.0, 0.0), (0.0, -1.0, 0.0)) if settings.cut else None,
            fit_view=FitView(
                "gear",
                "Bore, hot",
                "Shaft",
                BORE,
                gap,
                gap - 0.02,
                gap + 0.02,
                110.0,
                60.0,
                f"Gap {gap:+.3f} mm, drawn 60 times too large.",
            ),
            heat_scale=HeatScale(
                20.0,
                180.0,
                "Temperature of the gear",
                (HeatMark(20.0, "20 °C", "start"), HeatMark(self._heater(settings), f"now {self._heater(settings):.0f} °C", "now")),
            )
            if hot
            else None,
            labelled=("Gear", "Low-speed shaft", "Cartridge, upper"),
            arriving=("gear",),
        )

    def _heater(self, settings: Settings) -> float:
        return self.heater_range[2] if settings.heater is None else settings.heater

    def _gap(self, settings: Settings) -> float:
        ambient = self.ambient_range[2] if settings.ambient is None else settings.ambient
        return EXPANSION * BORE * (self._heater(settings) - ambient) - 0.045

    def _callouts(self, settings: Settings) -> tuple[Callout, ...]:
        if settings.step is None:
            return ()
        gap, hot = self._gap(settings), self._heater(settings)
        thickness = settings.gaskets.get("gear_gasket", 0.5)
        inch = settings.units == "inch"
        length = (lambda mm: f"{mm / 25.4:.4f} in") if inch else (lambda mm: f"{mm:.3f} mm")
        lift = 110.0 * settings.explode
        rows = (
            (
                "fit.gear.bore",
                "gear",
                (BORE / 2, 0.0, 45.0 + lift),
                f"At {hot:.0f} °C the bore stands {length(gap)} off the shaft.",
                length(gap),
                gap,
                "at least " + length(0.02),
                "fine" if gap > 0.04 else "watch" if gap > 0.02 else "stop",
                "common practice, no source",
            ),
            (
                "heat.gear",
                "gear",
                (130.0, 0.0, 20.0 + lift),
                f"Heat the gear to {hot:.0f} °C, measured in the bore.",
                f"{hot:.0f} °C",
                hot,
                "at most 150 °C",
                "fine" if hot <= 140 else "watch" if hot <= 150 else "stop",
                "common practice, no source",
            ),
            ("mass.gear", "gear", (0.0, 130.0, 45.0 + lift), "The gear weighs 14.3 kg.", "14.3 kg", 14.3, "", "", ""),
            (
                "chain.gear",
                "gasket",
                (95.0, 0.0, 83.0 + 210.0 * settings.explode),
                f"The gear gasket of {length(thickness)} sets the gear's position.",
                length(thickness),
                thickness,
                f"{length(0.25)} to {length(0.8)}",
                "fine",
                "made up",
            ),
            (
                "seat.shaft",
                "shaft",
                (0.0, -BORE / 2, -30.0),
                f"Seat of the shaft: {length(BORE + 0.045)}.",
                length(BORE + 0.045),
                BORE + 0.045,
                "",
                "",
                "made up",
            ),
        )
        return tuple(
            Callout(k, p, xyz, text, short, v, "mm", limit, verdict, source)
            for k, p, xyz, text, short, v, limit, verdict, source in rows
        )  # type: ignore[arg-type]


def main() -> None:
    """Serve the sample on the port given, for tests."""
    from viewer.live import serve

    serve(SampleExplainer(), port=int(sys.argv[1]) if len(sys.argv) > 1 else 0, open_browser=False)


if __name__ == "__main__":
    main()
