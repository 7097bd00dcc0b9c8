"""The live explainer in a browser: one machine, one page, one person, on this computer only."""

from __future__ import annotations

import asyncio
import os
import sys
import webbrowser
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Final

from scenes.wording import text
from viewer import gl, page

if TYPE_CHECKING:
    from scenes.record_listing import Opened
    from viewer.session import Explainer

QUALITY: Final = 88  # of the picture's JPEG
PICTURES_A_SECOND: Final = 30
LARGEST: Final = 2600 * 1500  # pixels: beyond this, drawing without a graphics card is no longer live


def serve(
    explainer: Explainer,
    *,
    port: int = 0,
    open_browser: bool = True,
    on_ready: Callable[[str], None] | None = None,
    record: Opened | None = None,
) -> None:
    """Serve the live page on this machine only, until Ctrl+C.

    `record`: of the job, which the page then adds to. `port` 0 takes a free one. `open_browser` shows the page where there is a screen. `on_ready` is called with the address.
    Whether this computer can draw at all is asked before (viewer.gl). Raises OSError when the port is taken.
    """
    gl.prepare()
    try:
        asyncio.run(_serve(explainer, port, open_browser, on_ready, record))
    except KeyboardInterrupt:
        return


async def _serve(
    explainer: Explainer, port: int, open_browser: bool, on_ready: Callable[[str], None] | None, record: Opened | None
) -> None:
    os.environ["TRAME_ARGS"] = ""  # else the server reads our own command line as its own
    from trame.app import get_server
    from trame_rca.schedulers import RcaImageRenderScheduler

    from viewer.adapter import PageAdapter
    from viewer.seat import Seat
    from viewer.session import LivePage
    from viewer.stage import Stage

    word = page.words()
    server = get_server(f"shimwright-{id(explainer)}", client_type="vue3")
    stage = Stage((960, 600), edges=True)
    live = LivePage(explainer, server, stage, word, record)
    live.stage.show(live.frame)
    gaskets = [{"slot": slot, "name": g[0], "label": g[1], "low": g[3], "high": g[4]} for slot, g in live.slots.items()]
    ranges = {"explode": (0.0, 1.0), "heater": explainer.heater_range[:2], "ambient": explainer.ambient_range[:2]}
    area = page.build(server, word, gaskets, ranges)
    scheduler = RcaImageRenderScheduler(
        live.picture, target_fps=PICTURES_A_SECOND, interactive_quality=QUALITY, still_quality=QUALITY, rca_encoder="jpeg"
    )
    live.adapter = PageAdapter(live.picture, area.name, scheduler)
    live.adapter.max_pixel_count = LARGEST
    area.add_view_handler(live.adapter)
    seat = Seat(live.opened)
    files = page.shell(word["page.title"].format(machine=explainer.title), word)
    server.controller.on_server_bind.add(lambda bound: seat.attach(bound.app, files))

    def ready(**_: Any) -> None:
        address = f"http://127.0.0.1:{server.port}/"
        print(word["page.address"].format(address=address), flush=True)
        print(word["page.one_page"], flush=True)
        if open_browser:
            show_in_browser(address)
        if on_ready:
            on_ready(address)

    server.controller.on_server_ready.add(ready)
    worker = asyncio.create_task(live.work())
    judging = asyncio.create_task(live.judge())
    serving = server.start(
        port=port,
        host="127.0.0.1",
        thread=True,
        exec_mode="coroutine",
        open_browser=False,
        show_connection_info=False,
        disable_logging=True,
        timeout=0,
    )
    running = asyncio.ensure_future(serving)
    try:  # a fault of either ends both: a page that looks alive and no longer answers helps nobody
        done, _ = await asyncio.wait({worker, running}, return_when=asyncio.FIRST_COMPLETED)
        for task in done:
            task.result()
    finally:
        worker.cancel()
        judging.cancel()
        running.cancel()
        await live.adapter.close()
        stage.close()


def show_in_browser(address: str) -> None:
    """Open the person's own browser where there is a screen; say so where it does not open."""
    if _has_screen() and not webbrowser.open(address):
        print(text("page.not_opened", address=address), flush=True)


def browser_missing() -> bool:
    """Whether there is a screen here but no browser to open on it."""
    try:
        return _has_screen() and not webbrowser.get()
    except webbrowser.Error:
        return True


def _has_screen() -> bool:
    return not sys.platform.startswith("linux") or bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))
