"""Places for live sessions on a shared page: a bounded number of processes, each behind a path of its own.

A session lives as long as its page is open and a little longer (a reload keeps it); then its process ends and its memory is given back.
"""

from __future__ import annotations

import asyncio
import contextlib
import re
import secrets
from dataclasses import dataclass
from typing import Any, Final

from aiohttp import ClientError, ClientSession, WSMsgType, web

from scenes.wording import spoken
from viewer import beside

GONE_SECONDS: Final = 8.0  # after its page was closed, a session waits this long for a reload
UNUSED_SECONDS: Final = 60.0  # a session whose page never opens ends after this
START_SECONDS: Final = 90.0  # that a session may take to start on a slow machine
END_SECONDS: Final = 5.0  # that a session may take to end when it is told to; then it is killed
SILENT_SECONDS: Final = 15.0  # between two signs of life asked of a page: one that went out of range gives its place back
LARGEST_MESSAGE: Final = 16 * 1024 * 1024  # bytes of one message between page and session
KEPT_HEADERS: Final = ("Content-Security-Policy", "Cache-Control", "Referrer-Policy", "X-Content-Type-Options")


@dataclass(eq=False)
class Place:
    """One session: its process, its port when it is ready, and how many pages are connected."""

    process: asyncio.subprocess.Process
    port: asyncio.Future[int]
    connections: int = 0
    leaving: asyncio.TimerHandle | None = None


class Places:
    """At most so many live sessions of one machine at a time, started in these units."""

    def __init__(self, machine: str, most: int, units: str) -> None:
        self.machine, self.most, self.units = machine, most, units
        self._places: dict[str, Place] = {}
        self._starting = 0
        self._client: ClientSession | None = None

    @property
    def free(self) -> int:
        """How many more sessions there is room for."""
        return self.most - len(self._places) - self._starting

    def holds(self, name: str) -> bool:
        """Whether this session is there."""
        return name in self._places

    async def take(self) -> str | None:
        """Start a session and give its id; None when there is no room."""
        if self.free <= 0:
            return None
        self._starting += 1
        try:
            process = await beside.start("viewer.live_place", self.machine, spoken(), self.units)
        finally:
            self._starting -= 1
        name = secrets.token_hex(9)  # in lower case: the page's client knows no other
        place = self._places[name] = Place(process, asyncio.get_running_loop().create_future())
        asyncio.create_task(self._listen(name, place))
        self._leave_later(name, place, START_SECONDS)
        return name

    async def _listen(self, name: str, place: Place) -> None:
        """Read the port that the session prints; a session that ends of itself frees its place."""
        assert place.process.stdout
        async for line in place.process.stdout:
            found = re.search(rb"http://127\.0\.0\.1:(\d+)/", line)
            if found and not place.port.done():
                place.port.set_result(int(found[1]))
                self._leave_later(name, place, UNUSED_SECONDS)
        if not place.port.done():
            place.port.cancel()
        await self._end(name)

    def _leave_later(self, name: str, place: Place, seconds: float) -> None:
        if place.leaving:
            place.leaving.cancel()
        place.leaving = asyncio.get_running_loop().call_later(seconds, lambda: asyncio.ensure_future(self._end(name)))

    async def _end(self, name: str) -> None:
        place = self._places.get(name)
        if place is None:
            return
        if place.leaving:
            place.leaving.cancel()
        if place.process.returncode is None:
            with contextlib.suppress(ProcessLookupError):
                place.process.terminate()
                try:
                    await asyncio.wait_for(place.process.wait(), END_SECONDS)
                except TimeoutError:
                    place.process.kill()
            await place.process.wait()
        self._places.pop(name, None)

    async def close(self) -> None:
        """End every session."""
        for name in list(self._places):
            await self._end(name)
        if self._client:
            await self._client.close()

    async def answer(self, request: web.Request) -> web.StreamResponse:
        """Pass a request on to its session."""
        name, tail = request.match_info["place"], request.match_info["tail"]
        place = self._places.get(name)
        if place is None:
            raise web.HTTPNotFound
        try:
            port = await asyncio.shield(place.port)
        except asyncio.CancelledError:
            if place.port.cancelled():
                raise web.HTTPServiceUnavailable from None
            raise
        self._client = self._client or ClientSession(auto_decompress=False)
        address = f"http://127.0.0.1:{port}/{tail}"
        if tail == "ws":
            return await self._talk(request, name, place, address)
        try:
            async with self._client.get(address, params=request.query) as answer:
                body = await answer.read()
                kept = {
                    key: answer.headers[key] for key in (*KEPT_HEADERS, "Content-Type", "Content-Encoding") if key in answer.headers
                }
                return web.Response(body=body, status=answer.status, headers=kept)
        except ClientError:
            raise web.HTTPBadGateway from None

    async def _talk(self, request: web.Request, name: str, place: Place, address: str) -> web.StreamResponse:
        if request.headers.get("Origin") not in (None, f"http://{request.host}"):
            raise web.HTTPForbidden
        assert self._client
        page = web.WebSocketResponse(heartbeat=SILENT_SECONDS, max_msg_size=LARGEST_MESSAGE)
        if place.leaving:
            place.leaving.cancel()
        place.connections += 1
        try:
            async with self._client.ws_connect(address, max_msg_size=LARGEST_MESSAGE) as session:
                await page.prepare(request)
                there = asyncio.create_task(_pass(page, session))
                back = asyncio.create_task(_pass(session, page))
                await asyncio.wait({there, back}, return_when=asyncio.FIRST_COMPLETED)
                there.cancel()
                back.cancel()
                await asyncio.gather(there, back, return_exceptions=True)
                await page.close()
        except ClientError:
            raise web.HTTPConflict from None
        finally:
            place.connections -= 1
            if not place.connections and name in self._places:
                self._leave_later(name, place, GONE_SECONDS)
        return page


async def _pass(source: Any, target: Any) -> None:
    """Pass messages on until one side closes."""
    async for message in source:
        if message.type == WSMsgType.TEXT:
            await target.send_str(message.data)
        elif message.type == WSMsgType.BINARY:
            await target.send_bytes(message.data)
