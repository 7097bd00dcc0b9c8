"""The plain window: the machine to turn with the mouse, the step's words and numbers drawn over it, everything else by keys."""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping
from contextvars import copy_context
from dataclasses import replace
from threading import Thread
from typing import Any, Final, Protocol

import numpy as np
import pyvista as pv
from vtkmodules.vtkRenderingCore import vtkActor2D, vtkPolyDataMapper2D, vtkRenderer, vtkTexture, vtkTexturedActor2D

from scenes import questions
from scenes.frame import Frame
from scenes.wording import text as say
from viewer import compose, over_picture, palette, panel, sheet_plan
from viewer.asked import Asked
from viewer.asking import DIFFERENT, failed
from viewer.lettering import Sheet, width_of
from viewer.stage import PartMap, Stage

HEATER_STEP: Final = 5.0  # K
EXPLODE_STEP: Final = 0.1
TICK: Final = 250  # ms between two looks whether the order is known ...
LISTENING: Final = 2400  # ... and how many there are: ten minutes
FINE_STEP: Final = 0.05  # mm, of a gasket that has no sizes in stock


class Explainer(Protocol):
    """What the window draws from (scenes.explain)."""

    title: str
    phases: Any
    gaskets: Any
    heater_range: tuple[float, float, float]

    def start_settings(self) -> Any: ...
    def frame(self, settings: Any) -> Frame: ...
    def blocked_frame(self, settings: Any, place: int) -> Frame: ...
    def judge(self) -> Any: ...
    def with_(self, settings: Any, **changes: Any) -> Any: ...


class Window:
    """One window on one explainer. `off_screen` draws the same without a screen (for tests)."""

    def __init__(self, explainer: Explainer, size: tuple[int, int] = (1400, 900), *, off_screen: bool = False) -> None:
        self.explainer = explainer
        self.settings = explainer.start_settings()
        self.steps = [str(step[0]) for _, _, steps in explainer.phases for step in steps]
        self.gasket = 0
        self.notice = ""
        self.meeting = -1  # place of the blocked way of this step that is shown; -1 = the step
        self._judging: Thread | None = None
        self.asking = Asked(explainer)
        plotter = pv.Plotter(off_screen=off_screen, window_size=list(size), lighting="none", title=explainer.title)
        self.stage = Stage(size, edges=True, plotter=plotter)
        self.frame = explainer.frame(self.settings)
        self._over = vtkRenderer()
        self._over.SetLayer(2)
        self._over.InteractiveOff()
        self.stage.window.SetNumberOfLayers(3)
        self.stage.window.AddRenderer(self._over)
        self._text: vtkActor2D | None = None
        self._drawn_size = (0, 0)
        self._close = False  # the step's view is a close-up, cut off at the edges of the picture
        self.keys: Mapping[str, Callable[[], None]] = {
            "Right": lambda: self._go(1),
            "Next": lambda: self._go(1),
            "Left": lambda: self._go(-1),
            "Prior": lambda: self._go(-1),
            "e": lambda: self._explode(EXPLODE_STEP),
            "E": lambda: self._explode(-EXPLODE_STEP),
            "c": lambda: self._set(cut=not self.settings.cut),
            "h": lambda: self._heat(HEATER_STEP),
            "H": lambda: self._heat(-HEATER_STEP),
            "g": self._next_gasket,
            "plus": lambda: self._thickness(1),
            "equal": lambda: self._thickness(1),
            "KP_Add": lambda: self._thickness(1),
            "minus": lambda: self._thickness(-1),
            "KP_Subtract": lambda: self._thickness(-1),
            "u": lambda: self._set(units="inch" if self.settings.units == "mm" else "mm"),
            "b": self._meet,
            "v": lambda: self.draw(aim=True),
            "n": lambda: self._ask("next"),
            "f": lambda: self._ask("wrong"),
            **{str(number): functools.partial(self._answer, number - 1) for number in range(1, questions.CHOICES + 1)},
        }
        self.draw(aim=True)

    def press(self, key: str) -> bool:
        """Do what a key stands for; False when it stands for nothing."""
        self.notice = ""
        act = self.keys.get(key)
        if act is not None:
            act()
        return act is not None

    def _seen(self) -> Frame:
        """The step, or one of its ways that is not free."""
        if self.meeting < 0:
            return self.explainer.frame(self.settings)
        return self.explainer.blocked_frame(self.settings, self.meeting)

    def draw(self, *, aim: bool = False) -> None:
        """Bring stage and text to the settings; `aim` also goes back to the step's own view."""
        frame = self.asking.frame() or self._seen()
        moved = aim or (frame.step.id if frame.step else "") != (self.frame.step.id if self.frame.step else "")
        self.frame = frame
        self.stage.show(frame, camera=False)
        self._write(aim=moved)

    def judge(self) -> None:
        """Look at the order beside the window; it tells of it when it is known."""
        self._judging = Thread(target=copy_context().run, args=(self.explainer.judge,), daemon=True)
        self._judging.start()

    def tell(self) -> bool:
        """Whether the order has just become known: then the window is written anew."""
        if self._judging is None or self._judging.is_alive():
            return False
        self._judging = None
        self.draw(aim=True)
        return True

    def run(self) -> None:
        """Open the window and stay until it is closed."""
        self.listen()
        self.judge()
        self.stage.plotter.add_timer_event(max_steps=LISTENING, duration=TICK, callback=self._on_time)
        self.stage.plotter.show(auto_close=True)

    def listen(self) -> None:
        """Take keys, mouse and changes of size from the window."""
        plotter = self.stage.plotter
        plotter.enable_trackball_style()
        plotter.reset_key_events()
        style = plotter.iren.interactor.GetInteractorStyle()
        style.AddObserver("CharEvent", lambda *_: None)  # else the renderer's own single-letter commands would act too
        style.AddObserver("StartInteractionEvent", lambda *_: self._hide_text())
        style.AddObserver("EndInteractionEvent", lambda *_: self._write())
        plotter.iren.add_observer("KeyPressEvent", self._on_key)
        plotter.iren.add_observer("ConfigureEvent", lambda *_: self._on_size())

    def image(self) -> Any:
        """What the window shows, shape (height, width, 3)."""
        return self.stage.image()

    # -- keys ---------------------------------------------------------------------------------------------------

    def _on_key(self, interactor: Any, _: str) -> None:
        key = interactor.GetKeySym()
        if key in ("q", "Escape"):
            interactor.TerminateApp()
        elif self.press(key):
            self.stage.render()

    def _on_time(self, _: int) -> None:
        if self.tell():
            self.stage.render()

    def _on_size(self) -> None:
        if self.stage.size != self._drawn_size:
            self._write(aim=True)

    def _ask(self, kind: str) -> None:
        if hasattr(self.explainer, "procedure"):
            try:
                self.asking.ask(kind, self.settings.step, self._differs)
                self.notice = "" if self.asking.question is not None else say("question.none")
            except Exception as fault:  # whatever it is: said in a line, and the steps go on
                self.notice = failed(fault)
            self.draw(aim=True)

    def _answer(self, choice: int) -> None:
        if self.asking.answer(choice):
            self.notice = ""
            self.draw()

    def _differs(self, a: Frame, b: Frame) -> float:
        self._hide_text()
        pictures = []
        for frame in (a, b):
            self.stage.show(frame)
            pictures.append(self.stage.image().astype(np.int16))
        return float((np.abs(pictures[0] - pictures[1]).max(axis=2) > DIFFERENT).mean())

    def _set(self, **changes: Any) -> None:
        leaving, self.asking.question = self.asking.question is not None, None
        try:
            self.settings = self.explainer.with_(self.settings, **changes)
            self.draw(aim=leaving or "explode" in changes)
        except ValueError as fault:  # outside what is accepted: say so and stay
            self.notice = str(fault).splitlines()[0]
            self._write()

    def _meet(self) -> None:
        """The next blocked way of this step, after the last the step again."""
        ways = self.frame.order.ways if self.frame.order else 0
        self.meeting = self.meeting + 1 if self.meeting + 1 < ways else -1
        self.draw(aim=True)

    def _go(self, by: int) -> None:
        self.meeting = -1
        now = self.settings.step
        at = self.steps.index(now) + by if now in self.steps else 0
        if 0 <= at < len(self.steps):
            self._set(step=self.steps[at])

    def _explode(self, by: float) -> None:
        self._set(explode=round(min(1.0, max(0.0, self.settings.explode + by)), 6))

    def _heat(self, by: float) -> None:
        low, high, start = self.explainer.heater_range
        now = start if self.settings.heater is None else self.settings.heater
        self._set(heater=min(high, max(low, now + by)))

    def _next_gasket(self) -> None:
        if self.explainer.gaskets:
            self.gasket = (self.gasket + 1) % len(self.explainer.gaskets)
        self._write()

    def _thickness(self, way: int) -> None:
        if not self.explainer.gaskets:
            return
        name, _, nominal, low, high, stock = self.explainer.gaskets[self.gasket]
        now = self.settings.gaskets.get(name, nominal)
        further = sorted(t for t in stock if low <= t <= high and (t - now) * way > 1e-9)
        thickness = (further[0] if way > 0 else further[-1]) if further else min(high, max(low, now + way * FINE_STEP))
        self._set(gaskets={**self.settings.gaskets, name: thickness})

    # -- text over the picture ----------------------------------------------------------------------------------

    def _write(self, *, aim: bool = False) -> None:
        """Draw strips, panel and labels for this frame and size, and lay them over the scene."""
        size = self.stage.size
        sheet = Sheet(size)
        plan = compose.begin(sheet, self.frame)
        if self.asking.silent:  # names would give the answer away
            plan = replace(plan, wishes={})
        if aim:
            self._close = self.stage.fit(self.frame.camera, plan.free)
        panel.write_panel(sheet, self.frame, plan)
        self._hide_text()
        window = plan.free if self._close else plan.area
        layout = over_picture.write_labels(sheet, plan, _within(self.stage.part_map(), window))
        if self.frame.sequence:
            spots = self.stage.project(np.array([mark.point for mark in self.frame.sequence]))
            over_picture.write_order(sheet, self.frame, spots, plan, layout, plan.area)
        if self.frame.blocked is not None:
            chains = over_picture.projected(self.stage, self.frame, 1.0, (0.0, 0.0))
            over_picture.write_way(sheet, self.frame, chains, plan, layout, window)
        self._help(sheet, plan)
        image = sheet.finish()
        seen = np.full((*image.shape[:2], 1), 255, dtype=np.uint8)
        x0, y0, x1, y1 = (round(v) for v in plan.area)
        seen[y0:y1, x0:x1, 0] = np.where((image[y0:y1, x0:x1] == 255).all(axis=2), 0, 255)
        if self._close:
            outside = np.ones(seen.shape[:2], dtype=bool)
            outside[_inside(window)] = False
            seen[outside] = 255
        self._lay(np.concatenate([image, seen], axis=2))
        self._drawn_size = size

    def _help(self, sheet: Sheet, plan: sheet_plan.Plan) -> None:
        size = sheet_plan.type_size(11.5, plan.unit)
        y = plan.area[1] + 14 * plan.unit
        x = plan.area[0] + 14 * plan.unit
        if self.notice:
            sheet.mark("stop", x + 6 * plan.unit, y, 6 * plan.unit)
            sheet.text(x + 18 * plan.unit, y, self.notice, size, palette.VERDICT["stop"], bold=True)
        elif self.asking.question is not None:
            sheet.text(x, y, self.asking.score, size, palette.INK, bold=True)
        elif self.explainer.gaskets:
            name = self.explainer.gaskets[self.gasket][1]
            text = sheet_plan.words()["gasket_chosen"].format(name=name)
            sheet.text(x, y, text, size, palette.SOFT_INK)
        text = sheet_plan.words()["keys"]
        if self.frame.order is not None and self.frame.order.ways:
            text = f"{sheet_plan.words()['keys_blocked']}    {text}"
        while size > 8 and width_of(text, size) > plan.area[2] - plan.area[0] - 28 * plan.unit:
            size -= 1
        sheet.text(x, plan.area[3] - 12 * plan.unit, text, size, palette.SOFT_INK)

    def _hide_text(self) -> None:
        if self._text is not None:
            self._text.SetVisibility(False)

    def _lay(self, image: np.ndarray[Any, np.dtype[np.uint8]]) -> None:
        if self._text is not None:
            self._over.RemoveViewProp(self._text)
        height, width = image.shape[:2]
        grid = pv.ImageData(dimensions=(width, height, 1))
        grid.point_data["text"] = np.ascontiguousarray(image[::-1]).reshape(-1, 4)
        grid.point_data.active_scalars_name = "text"
        texture = vtkTexture()
        texture.SetInputData(grid)
        texture.SetColorModeToDirectScalars()
        texture.InterpolateOff()
        square = pv.PolyData(
            np.array([(0, 0, 0), (width, 0, 0), (width, height, 0), (0, height, 0)], dtype=np.float32), faces=[4, 0, 1, 2, 3]
        )
        square.active_texture_coordinates = np.array([(0, 0), (1, 0), (1, 1), (0, 1)], dtype=np.float32)
        mapper = vtkPolyDataMapper2D()
        mapper.SetInputData(square)
        self._text = vtkTexturedActor2D()
        self._text.SetTexture(texture)
        self._text.SetMapper(mapper)
        self._over.AddViewProp(self._text)


def _inside(window: sheet_plan.Rect) -> tuple[slice, slice]:
    """Rows and columns of a rectangle."""
    x0, y0, x1, y1 = (round(v) for v in window)
    return slice(y0, y1), slice(x0, x1)


def _within(parts: PartMap, window: sheet_plan.Rect) -> PartMap:
    """What of the parts is seen in a rectangle [pixel]."""
    part = np.full_like(parts.part, -1)
    part[_inside(window)] = parts.part[_inside(window)]
    return PartMap(part, parts.cap, parts.names)


def run(explainer: Explainer) -> None:
    """Open the plain window on an explainer and stay until it is closed."""
    Window(explainer).run()
