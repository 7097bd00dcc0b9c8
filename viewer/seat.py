"""One page at a time: who may talk to the page's server, and the headers that keep the page from asking anyone else."""

from __future__ import annotations

import time
from collections.abc import Awaitable, Callable
from typing import Any, Final

from aiohttp import web

RESERVED_SECONDS: Final = 5.0  # between asking for the seat and taking it
POLICY: Final = (
    "default-src 'self'; script-src 'self' 'unsafe-inline' 'unsafe-eval'; style-src 'self' 'unsafe-inline'; "
    "img-src 'self' blob: data:; connect-src 'self'; frame-ancestors 'none'"
)
HEADERS: Final = {
    "Content-Security-Policy": POLICY,
    "Cache-Control": "no-store",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
}
Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]


class Seat:
    """The single place at the page. `opened` is called when it is taken: True if by another browser page than the one before."""

    def __init__(self, opened: Callable[[bool], None], clock: Callable[[], float] = time.monotonic) -> None:
        self._opened = opened
        self._clock = clock
        self._holder = ""
        self._asked = -RESERVED_SECONDS
        self._connections = 0

    def ask(self, page: str) -> bool:
        """Whether this page (an id that it keeps over a reload) may connect now; if so the seat is kept for it for a moment."""
        reserved = self._clock() - self._asked < RESERVED_SECONDS and page != self._holder
        if not page or self._connections or reserved:
            return False
        another = page != self._holder
        self._holder = page
        self._asked = self._clock()
        self._opened(another)
        return True

    def attach(self, app: web.Application, files: dict[str, tuple[str, str]]) -> None:
        """Guard the server, answer `seat?page=...` and serve our own files: name -> (content type, text)."""
        app.middlewares.append(self._guard())
        app.router.add_get("/seat", self._answer)
        for name, (kind, text) in files.items():
            app.router.add_get(f"/{name}", _file(kind, text))

    async def _answer(self, request: web.Request) -> web.Response:
        return web.json_response({"free": self.ask(request.query.get("page", ""))})

    def _guard(self) -> Any:
        @web.middleware
        async def guard(request: web.Request, handler: Handler) -> web.StreamResponse:
            """Only this machine's own pages: a foreign page could reach a local port through a name it controls."""
            if not _local(request):
                raise web.HTTPForbidden
            if request.path != "/ws":
                response = await handler(request)
                response.headers.update(HEADERS)
                return response
            if self._connections:
                raise web.HTTPConflict
            self._connections += 1
            self._asked = -RESERVED_SECONDS
            try:
                return await handler(request)
            finally:
                self._connections -= 1

        return guard


def _local(request: web.Request) -> bool:
    name, _, port = request.host.rpartition(":")
    origin = request.headers.get("Origin")
    return name in ("127.0.0.1", "localhost") and port.isdigit() and origin in (None, f"http://{request.host}")


def _file(kind: str, text: str) -> Handler:
    async def answer(_: web.Request) -> web.Response:
        return web.Response(text=text, content_type=kind, charset="utf-8")

    return answer
