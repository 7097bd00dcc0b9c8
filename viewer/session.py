"""One person at the live page: what was set, what is shown for it. Numbers answer at once, the picture follows as it comes."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Any, Final, Protocol

import numpy as np
from numpy.typing import NDArray

from calc import units
from scenes.frame import Frame
from scenes.record_listing import Opened
from viewer import anchors, live_labels, live_told, page
from viewer.ahead import Ahead
from viewer.asking import Asking
from viewer.live_picture import Picture
from viewer.orbit import Orbit
from viewer.readings_form import Readings
from viewer.recording import Recording
from viewer.talk import Fingers, Talk

SENT_SECONDS: Final = 0.06  # a picture is packed and on its way to the page by then: what takes the processor waits as long
QUIET_SECONDS: Final = 0.12  # without a change after a moving picture: what was dragged has come to rest
HELD_SECONDS: Final = 0.35  # the same while the button is down: a slow hand is still a hand
IDLE_SECONDS: Final = 0.6  # at rest: time for the fine picture, and for what the next step will need
LABEL_MARGIN: Final = 0.23  # of the picture's width left free for labels on either side of the machine
BARE: Final = 0.94  # of the picture's width over its height, for a picture without labels
JUDGED_AFTER: Final = 3.0  # s without another size recorded: then the order of the measured machine is looked at
SNAP: Final = 0.012  # share of a gasket slider's range within which it catches on a thickness in stock
FINE_STEP: Final = 0.01  # mm, of a gasket slider between thicknesses in stock


class Explainer(Protocol):
    """What the page draws from (scenes.explain)."""

    title: str
    machine: Any
    held: Any
    judged: Any
    phases: Any
    gaskets: Any
    heater_range: tuple[float, float, float]
    ambient_range: tuple[float, float, float]

    def start_settings(self) -> Any: ...
    def frame(self, settings: Any, aspect: float = ...) -> Frame: ...
    def blocked_frame(self, settings: Any, place: int, aspect: float = ...) -> Frame: ...
    def judge(self) -> Any: ...
    def with_(self, settings: Any, **changes: Any) -> Any: ...


class LivePage:
    """Settings in, state of the page out. All in one thread: the latest settings win, older ones are never drawn."""

    def __init__(self, explainer: Explainer, server: Any, stage: Any, word: dict[str, str], record: Opened | None = None) -> None:
        self.explainer, self.server, self.state, self.stage, self.word = explainer, server, server.state, stage, word
        self.marks = page.verdict_words(word)
        self.steps = [None, *(step for _, _, steps in explainer.phases for step, _, _ in steps)]
        self.slots = {f"gasket_{i}": gasket for i, gasket in enumerate(explainer.gaskets)}
        self.settings = explainer.start_settings()
        self.orbit = Orbit()
        self.frame = explainer.frame(self.settings)
        self.meeting: int | None = None  # place of the blocked way that is shown instead of the step
        self.order_fault = ""
        self.picture = Picture(stage, self._drawn, self._mouse, self._sized)
        self.adapter: Any = None
        self.leader_ends: dict[str, tuple[str, NDArray[np.float64]]] = {}
        self._wanted = asyncio.Event()
        self._unjudged = asyncio.Event()
        self._unjudged.set()
        self._rest: asyncio.TimerHandle | None = None
        self._idle: asyncio.TimerHandle | None = None
        self._sent: asyncio.TimerHandle | None = None
        self._pressed: tuple[str, float, float] | None = None
        self._listening = True
        self._blank = True  # the page has no picture yet
        self.readings = Readings(explainer, server, lambda: self.settings)
        self.recording = Recording(server, lambda: self.settings, record, self.measured)
        self.talk = Talk(explainer, server, lambda: self._refresh(moving=False))
        self.fingers = Fingers()
        self.asking = Asking(explainer, server, stage, self._other_view, self._standing)
        self.ahead = Ahead(explainer, self.steps)
        self._fill()
        self._show_controls()
        self._numbers()
        for name in ("explode", "cut", "heater", "ambient", "units", *self.slots):
            self.state.change(name)(self._changed(name))
        for name in ("go", "step_by", "own_view", "as_built", "stock", "meet"):
            server.controller.trigger(name)(getattr(self, name))

    # -- what a person does ---------------------------------------------------------------------------------------

    def go(self, step: str | None) -> None:
        """Show a step (none or "" = the whole machine) from its own side."""
        self.orbit = Orbit()
        self.meeting = None
        self.recording.look()
        self._set(moving=False, step=step or None)

    def meet(self, place: int) -> None:
        """Show where a blocked way of this step meets what is in it; asked again, go back to the step."""
        self.orbit = Orbit()
        self.meeting = None if self.meeting == int(place) else int(place)
        self._refresh(moving=False)

    def step_by(self, by: int) -> None:
        """Go some steps on (+) or back (-)."""
        here = self.steps.index(self.settings.step)
        there = min(max(here + int(by), 0), len(self.steps) - 1)
        if there != here:
            self.go(self.steps[there])

    def own_view(self) -> None:
        """Undo turning, shifting and enlarging."""
        self.orbit = Orbit()
        self._look()
        self._draw(moving=False)

    def as_built(self) -> None:
        """Put all but the step and the units back to the machine file."""
        start = self.explainer.start_settings()
        self._set(
            moving=False,
            explode=start.explode,
            cut=start.cut,
            heater=start.heater,
            ambient=start.ambient,
            gaskets=dict(start.gaskets),
        )
        self._show_controls()

    def stock(self, name: str, by: int) -> None:
        """Take the next thinner (-) or thicker (+) gasket in stock."""
        _, _, nominal, _, _, stock = next(g for g in self.explainer.gaskets if g[0] == name)
        now = self.settings.gaskets.get(name, nominal)
        further = sorted(t for t in stock if (t - now) * by > 1e-6)
        if further:
            self._set(moving=False, gaskets={**self.settings.gaskets, name: further[0] if by > 0 else further[-1]})
            self._show_controls()

    def opened(self, another: bool) -> None:
        """A page opens. If it is not the one before, loaded again: forget what that one has set."""
        self._blank = True
        with self.state:
            self.state.busy = True
        if not another:
            return
        self.orbit = Orbit()
        self.meeting = None
        self.settings = self.explainer.start_settings()
        self.asking.leave()
        self._refresh(moving=False)
        self._show_controls()

    def _changed(self, name: str) -> Callable[..., None]:
        def take(**state: Any) -> None:
            if not self._listening:
                return
            value = state[name]
            if name in self.slots:
                gasket, _, _, low, high, stock = self.slots[name]
                self._set(gaskets={**self.settings.gaskets, gasket: _caught(float(value), low, high, stock)})
            elif name in ("cut", "units"):
                self._set(moving=False, **{name: value})
            else:
                self._set(moving=True, **{name: float(value)})

        return take

    def _set(self, *, moving: bool = True, **changes: Any) -> None:
        try:
            self.settings = self.explainer.with_(self.settings, **changes)
        except ValueError as fault:
            self.state.notice = _line(fault)
            self._show_controls()
            return
        self.state.notice = ""
        if self.asking.on:
            self.asking.leave()
        self._refresh(moving)

    def _mouse(self, event: dict[str, Any]) -> None:
        kind = str(event.get("type", ""))
        if kind.endswith("ButtonPress"):
            self._pressed = (kind, float(event["x"]), float(event["y"]))
        elif kind.endswith("ButtonRelease"):
            self._pressed = None
            self._draw(moving=False)
        elif kind == "MouseMove" and self._pressed:
            button, x, y = self._pressed
            across, up = (event["x"] - x) / max(event["w"], 1), (event["y"] - y) / max(event["h"], 1)
            self._pressed = (button, float(event["x"]), float(event["y"]))
            aside = not button.startswith("Left") or bool(event.get("shiftKey"))
            self.orbit = self.orbit.shifted(across, up) if aside else self.orbit.turned(across, up).held(self.frame.camera)
            self._turned()
        elif kind in ("StartMouseWheel", "MouseWheel") and event.get("spinY"):
            self.orbit = self.orbit.zoomed(-float(np.clip(event["spinY"], -3.0, 3.0)))
            self._turned()
        else:
            orbit = self.fingers.moved(event, self.orbit, self._page_size())
            if orbit is not None:
                self._pressed = None
                self.orbit = orbit
                self._turned()

    def _standing(self) -> tuple[str | None, float]:
        width, height = self._page_size()
        return self.settings.step, BARE * width / max(height, 1.0)

    def _other_view(self) -> None:
        """A question comes, is answered or goes: its own picture, seen from its own side."""
        self.orbit = Orbit()
        self.leader_ends = {}
        self._refresh(moving=False)

    def _sized(self) -> None:
        """The page has told the size of its picture: it is there and waits for one."""
        self._blank = False
        self._refresh(moving=False)

    def _turned(self) -> None:
        self._look()
        self._draw(moving=True)

    # -- what the page shows --------------------------------------------------------------------------------------

    def _refresh(self, moving: bool) -> None:
        self.picture.moving = moving
        self.state.busy = True
        self._wanted.set()

    async def judge(self) -> None:
        """Look at the order of each machine that is shown, beside the page, and tell of it when it is known."""
        quiet = 0.0
        while True:
            await self._unjudged.wait()
            while self._unjudged.is_set():
                self._unjudged.clear()
                await asyncio.sleep(quiet)
            quiet = JUDGED_AFTER
            self.order_fault = ""
            try:
                await asyncio.to_thread(self.explainer.judge)
            except ValueError as fault:
                self.order_fault = _line(fault)
            self._refresh(moving=False)

    def measured(self, explainer: Explainer) -> None:
        """Something was recorded: from here on the machine is the one that was measured."""
        if explainer.machine != self.explainer.machine:
            self._hand(explainer)
            self.slots = {f"gasket_{i}": gasket for i, gasket in enumerate(explainer.gaskets)}
            self.meeting = None
            self._unjudged.set()
            self._show_controls()
        elif explainer.held != self.explainer.held:
            explainer.judged = self.explainer.judged  # the order is the same
            self._hand(explainer)
            if explainer.judged is None:
                self._unjudged.set()
        self._refresh(moving=False)

    def _hand(self, explainer: Explainer) -> None:
        """All that hold the machine go on with this one."""
        for holder in (self, self.readings, self.talk, self.asking, self.ahead):
            holder.explainer = explainer
        self.asking.forget()

    def _seen(self) -> Frame:
        """What is on stage now: the step, or a blocked way of it."""
        if self.meeting is None:
            return self.explainer.frame(self.settings, self._aspect())
        return self.explainer.blocked_frame(self.settings, self.meeting, self._aspect())

    async def work(self) -> None:
        """Answer changes for ever: the latest settings, numbers first, then the picture."""
        while True:
            await self._wanted.wait()
            await asyncio.sleep(0)  # let all changes that have arrived come in
            self._wanted.clear()
            self._put_off()
            with self.state:
                try:
                    self.frame = self.asking.frame() or self._seen()
                except ValueError as fault:  # settings that pass alone but make no buildable reducer
                    self.state.notice = _line(fault)
                    self.state.busy = False
                    self._draw(moving=False)  # what stands comes to rest
                    continue
                self._numbers()
                if not self.asking.on:
                    self.talk.follow(self.settings, at_once=self.frame.fit_view is not None)
                self.state.heater = self._heater()
                self._flush_unheard()
            await asyncio.sleep(0.002)  # let the numbers leave before drawing takes the processor
            if self._wanted.is_set():
                continue
            self.stage.show(self.frame, camera=False)
            self._look()
            self._draw(self.picture.moving)

    def _draw(self, moving: bool) -> None:
        self.picture.moving = moving
        self._put_off()
        if self.adapter:
            self.adapter.schedule_render()

    def _put_off(self) -> None:
        """What waits for the picture before waits no longer: another one is on its way."""
        for timer in (self._rest, self._idle, self._sent):
            if timer:
                timer.cancel()

    def _look(self) -> None:
        """The step's own view, turned as the person has."""
        self.stage.look(self.orbit.camera(self.frame.camera), self.orbit.shift, self.orbit.zoom)

    def _aspect(self) -> float:
        """Width over height of what the labels leave free for the machine."""
        width, height = self._page_size()
        return (1.0 - 2.0 * LABEL_MARGIN) * width / max(height, 1.0)

    def _page_size(self) -> tuple[float, float]:
        """Size of the picture on the page [CSS pixel]."""
        size = self.adapter.page_size if self.adapter else None
        return size or (float(self.picture.size[0]), float(self.picture.size[1]))

    def _drawn(self, moving: bool) -> None:
        """A picture is ready: put the labels where it shows their parts; at rest look anew where those can be seen."""
        if self.adapter is None:  # the remote area looks at the property once while it is put together
            return
        self._label()
        loop = asyncio.get_running_loop()
        if moving:  # counted from the picture, not from the hand: a slow picture must not pass for a hand at rest
            if self._rest:
                self._rest.cancel()
            self._rest = loop.call_later(HELD_SECONDS if self._pressed else QUIET_SECONDS, self._draw, False)
        else:
            self._sent = loop.call_later(SENT_SECONDS, self._look_for_anchors)

    def _look_for_anchors(self) -> None:
        if self.picture.moving or self._wanted.is_set():
            return
        self.leader_ends = {} if self.asking.silent else anchors.find(self.stage, self.frame)
        self._label()
        with self.state:
            self.talk.rest()
            self.state.busy = self._blank
        if self._idle:
            self._idle.cancel()
        self._idle = asyncio.get_running_loop().call_later(IDLE_SECONDS, self._use_the_time)

    def _use_the_time(self) -> None:
        """Nothing moves: bring the fine picture if it is still due, else make ready what the next step shows."""
        if self.picture.moving or self._wanted.is_set():
            return
        if self.picture.finer_due:
            self.picture.fine = True
            self._draw(moving=False)
        elif not self.asking.on:
            self.ahead.prepare(self.settings, self._aspect(), lambda: self._wanted.is_set() or self.picture.moving)

    def _label(self) -> None:
        scene = live_labels.Scene(self.stage, self.frame, self._page_size(), self.talk.larger, self.marks)
        with self.state:
            self.state.overlay = scene.labels(self.leader_ends)

    def _fill(self) -> None:
        """What never changes while the page lives."""
        phases = []
        for i, (phase, name, steps) in enumerate(self.explainer.phases):
            rows = [{"id": step, "number": number, "title": title} for step, number, title in steps]
            phases.append({"id": f"{phase} {i}", "title": name, "steps": rows})
        self.state.trame__title = self.word["page.title"].format(machine=self.explainer.title)
        self.state.update({"machine": self.explainer.title, "phases": phases, "notice": "", "overlay": "", "busy": True})

    def _show_controls(self) -> None:
        """Bring the controls to the settings without hearing them as changes."""
        now = self.settings
        self.state.explode, self.state.cut, self.state.units = now.explode, now.cut, now.units
        self.state.heater = self._heater()
        self.state.ambient = self.explainer.ambient_range[2] if now.ambient is None else now.ambient
        for slot, (name, _, nominal, *_) in self.slots.items():
            self.state[slot] = now.gaskets.get(name, nominal)
        self._flush_unheard()

    def _flush_unheard(self) -> None:
        self._listening = False
        try:
            self.state.flush()
        finally:
            self._listening = True

    def _heater(self) -> float:
        """The heater's setting [degC]: the person's, else what this step heats to by its own plan, else the machine file's."""
        if self.settings.heater is not None:
            return float(self.settings.heater)
        view = self.frame.fit_view
        return view.temperature if view else self.explainer.heater_range[2]

    def _numbers(self) -> None:
        frame, state = self.frame, self.state
        step = frame.step
        self.readings.shown(frame)
        self.recording.shown(self.settings.step)
        state.step = step.id if step else ""
        state.first, state.last = step is None, step is not None and step.id == self.steps[-1]
        state.card = live_told.card(frame, self.word)
        state.notes, state.forgotten = list(frame.notes), list(frame.forgotten)
        state.order = live_told.order(frame, self.marks, self.word, self.order_fault, self.meeting)
        state.rows = live_told.rows(self.talk.sorted(frame.callouts), self.marks)
        state.readouts = self._readouts()
        state.update(live_told.figures(frame))

    def _readouts(self) -> dict[str, str]:
        now, system = self.settings, self.settings.units
        heater = self._heater()
        ambient = self.explainer.ambient_range[2] if now.ambient is None else now.ambient
        shown = {"explode": f"{100.0 * now.explode:.0f} %"}
        shown |= {
            name: units.show(value, "temperature", system, digits=0) for name, value in (("heater", heater), ("ambient", ambient))
        }
        for slot, (name, _, nominal, *_) in self.slots.items():
            shown[slot] = units.show(now.gaskets.get(name, nominal), "length", system, digits=None if system == "inch" else 2)
        return shown


def _line(fault: ValueError) -> str:
    return " · ".join(str(fault).splitlines())


def _caught(value: float, low: float, high: float, stock: tuple[float, ...]) -> float:
    """A slider's thickness [mm]: one in stock when it is near, else a whole fine step."""
    nearest = min(stock, key=lambda t: abs(t - value), default=value)
    if abs(nearest - value) <= SNAP * (high - low):
        return nearest
    return min(max(round(value / FINE_STEP) * FINE_STEP, low), high)
