"""Sharing in a room: the page for phones and the numbers for as many as come, live sessions for a few, all behind a one-time code.

    /                           asks for the code
    /CODE/                      what there is
    /CODE/phone                 the page for phones (viewer.phone); what is set there stays in that browser
    /CODE/numbers?step=...      stateless and read-only: exactly what `numbers --json` prints for these options (ASKED)
    /CODE/live                  asks whether to take a place for a live session (viewer.places); its button takes one for this browser

Nothing here draws: the page for phones is made once and live sessions run in processes of their own (viewer.beside).
"""

from __future__ import annotations

import asyncio
import contextlib
import fcntl
import html
import json
import secrets
import socket
import struct
import sys
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from importlib import resources
from typing import Any, Final

from aiohttp import web

from calc import refusal
from scenes.settings import Settings
from scenes.wording import LANGUAGES, speaking, spoken, text
from viewer.live import show_in_browser
from viewer.phone_place import SharedPhone
from viewer.places import Places
from viewer.refused import Refused

LIVE_PLACES: Final = 3  # live sessions at a time; each draws on this machine and needs about half a gigabyte
LETTERS: Final = "abcdefghjkmnpqrstuvwxyz23456789"  # none that is taken for another
CODE_LENGTH: Final = 6
WRONG_SECONDS, WRONG_AT_ONCE = 1.0, 20  # a wrong code is answered after this time, and only so many wait for that at once
ASKED: Final = ("step", "units", "language", "heater", "ambient", "gasket")
LONGEST: Final = 200  # characters of one value asked for
INTERFACE_ADDRESS: Final = 0x8915  # asks Linux for the address of one network connection
COOKIE: Final = "place"  # names the live session that a browser has
KEPT: Final = 200  # answers
AGAIN_SECONDS: Final = 2  # after which who comes before the page for phones is made asks again
HEADERS: Final = {
    "Cache-Control": "no-store",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
}
Asked = Callable[[dict[str, Any]], Settings]


class Numbers:
    """Answers as `numbers --json` prints them, computed one at a time beside the server; it knows nothing of who asks."""

    def __init__(self, explainer: Any, asked: Asked) -> None:
        self.explainer, self._asked = explainer, asked
        self._worker = ThreadPoolExecutor(1)
        self._kept: OrderedDict[tuple[tuple[str, str], ...], str] = OrderedDict()

    async def answer(self, query: list[tuple[str, str]]) -> str:
        """The text for this query. Raises ValueError or Refused with a clear line."""
        once = [value.partition("=")[0].strip() if name == "gasket" else name for name, value in query]
        for name, value in query:
            if name not in ASKED:
                raise Refused(text("share.unknown", name=refusal.key(name), accepted=", ".join(ASKED)))
            if len(value) > LONGEST:
                raise Refused(text("share.too_long", name=name, longest=LONGEST))
            if name == "language" and value not in LANGUAGES:
                raise Refused(text("share.language", value=refusal.told(value), accepted=", ".join(LANGUAGES)))
        if again := [name for name in once if once.count(name) > 1]:
            raise Refused(text("share.repeated", name=refusal.key(again[0])))
        language = dict(query).get("language", spoken())
        key = (("language", language), *sorted((name, value) for name, value in query if name != "language"))
        if key not in self._kept:
            self._kept[key] = await asyncio.get_running_loop().run_in_executor(self._worker, self._made, query, language)
            while len(self._kept) > KEPT:
                self._kept.popitem(last=False)
        return self._kept[key]

    def _made(self, query: list[tuple[str, str]], language: str) -> str:
        given: dict[str, Any] = {name: None for name in ("step", "units", "heater", "ambient")}
        given |= {name: value for name, value in query if name not in ("gasket", "language")}
        given["gasket"] = [value for name, value in query if name == "gasket"]
        with speaking(language):
            if given["units"] not in (None, "mm", "inch"):
                raise Refused(text("share.units", value=refusal.told(given["units"])))
            return json.dumps(self.explainer.numbers(self._asked(given)), indent=1, ensure_ascii=False) + "\n"


class Sharing:
    """The server's answers."""

    def __init__(self, explainer: Any, asked: Asked, phone: SharedPhone, places: Places, code: str) -> None:
        self.explainer, self.phone, self.places, self.code = explainer, phone, places, code
        self.numbers = Numbers(explainer, asked)
        self._wrong = 0

    def app(self) -> web.Application:
        """The server."""
        app = web.Application(middlewares=[self._dressed, self._guard], client_max_size=1024)
        app.router.add_get("/", self._gate)
        app.router.add_get("/enter", self._enter)
        app.router.add_get("/{code}", self._slash)
        app.router.add_get("/{code}/", self._menu)
        app.router.add_get("/{code}/phone", self._phone)
        app.router.add_get("/{code}/numbers", self._numbers)
        app.router.add_get("/{code}/live", self._ask_live, allow_head=False)
        app.router.add_post("/{code}/live", self._live)
        app.router.add_get("/{code}/live/{place}/{tail:.*}", self._session, allow_head=False)
        return app

    @web.middleware
    async def _guard(self, request: web.Request, handler: Any) -> web.StreamResponse:
        """Whoever does not have the code gets the page that asks for it, and that not quickly."""
        if request.path not in ("/", "/enter"):
            given = request.match_info.get("code", "")
            if not secrets.compare_digest(given.encode(), self.code.encode()):
                return await self._refuse()
        answer: web.StreamResponse = await handler(request)
        return answer

    @web.middleware
    async def _dressed(self, request: web.Request, handler: Any) -> web.StreamResponse:
        """Our headers on every answer, refusals and redirections too; a fault of ours is told in a line here and on a page there."""
        try:
            answer: web.StreamResponse = await handler(request)
        except web.HTTPException as refused:
            refused.headers.update(HEADERS)
            raise
        except ConnectionError:  # whoever asked has gone
            raise
        except Exception as fault:
            told = f"{type(fault).__name__}: {' '.join(str(fault).split())}"
            print(text("share.fault", fault=told), file=sys.stderr, flush=True)
            answer = _page(self.explainer.title, f'<p class="fault" role="alert">{_escaped("share.fault_there")}</p>', status=500)
        if not answer.prepared:
            for name, value in HEADERS.items():
                answer.headers.setdefault(name, value)
        return answer

    async def _slash(self, _: web.Request) -> web.Response:
        raise web.HTTPSeeOther(f"/{self.code}/")

    async def _refuse(self) -> web.Response:
        if self._wrong >= WRONG_AT_ONCE:
            return web.Response(status=429, text=text("share.too_many"))
        self._wrong += 1
        try:
            await asyncio.sleep(WRONG_SECONDS)
        finally:
            self._wrong -= 1
        return _page(text("share.gate"), _form(text("share.wrong")), status=403)

    async def _gate(self, _: web.Request) -> web.Response:
        return _page(text("share.gate"), _form(""))

    async def _enter(self, request: web.Request) -> web.Response:
        given = request.query.get("code", "").strip().lower()
        if not secrets.compare_digest(given.encode(), self.code.encode()):
            return await self._refuse()
        raise web.HTTPSeeOther(f"/{self.code}/")

    async def _menu(self, request: web.Request) -> web.Response:
        free = self.places.free
        live = (
            f"{self._button()}<p>{_escaped('share.live_hint', free=free, most=self.places.most)}</p>"
            if free > 0 or self._own(request)
            else f"<p>{_escaped('share.full', most=self.places.most)}</p>"
        )
        phone = f'<p><a class="go" href="phone">{_escaped("share.phone")}</a></p><p>{_escaped("share.phone_hint")}</p>'
        return _page(self.explainer.title, f"{phone}{live}<p>{_escaped('share.indicative')}</p>")

    async def _phone(self, _: web.Request) -> web.Response:
        if self.phone.document is not None:
            return web.Response(body=self.phone.document, content_type="text/html", charset="utf-8")
        if self.phone.failed:
            return _page(self.explainer.title, f'<p class="fault" role="alert">{_escaped("share.phone_failed")}</p>', status=500)
        return _page(
            self.explainer.title, f'<p role="status">{_escaped("share.phone_making")}</p>', status=202, again=AGAIN_SECONDS
        )

    async def _numbers(self, request: web.Request) -> web.Response:
        try:
            told = await self.numbers.answer(list(request.query.items()))
        except (ValueError, Refused) as fault:
            return web.Response(status=400, text=str(fault))
        return web.Response(text=told, content_type="application/json")

    def _button(self) -> str:
        """Takes a place: a button, so that nothing that only looks ahead at links takes one."""
        return f'<form method="post" action="/{self.code}/live"><button>{_escaped("share.live")}</button></form>'

    def _own(self, request: web.Request) -> str:
        """The session that this browser has already ("" = none)."""
        name = request.cookies.get(COOKIE, "")
        return name if self.places.holds(name) else ""

    def _full(self) -> web.Response:
        back = f'<p><a class="go" href="/{self.code}/phone">{_escaped("share.phone")}</a></p>'
        return _page(self.explainer.title, f"<p>{_escaped('share.full', most=self.places.most)}</p>{back}", status=503)

    async def _ask_live(self, request: web.Request) -> web.Response:
        if self.places.free <= 0 and not self._own(request):
            return self._full()
        hint = _escaped("share.live_hint", free=self.places.free, most=self.places.most)
        return _page(self.explainer.title, f"{self._button()}<p>{hint}</p>")

    async def _live(self, request: web.Request) -> web.Response:
        name = self._own(request) or await self.places.take()
        if name is None:
            return self._full()
        there = web.HTTPSeeOther(f"/{self.code}/live/{name}/")
        there.set_cookie(COOKIE, name, path=f"/{self.code}/", httponly=True, samesite="Strict")
        raise there

    async def _session(self, request: web.Request) -> web.StreamResponse:
        """A live session's own answer; a page in its place when it has ended."""
        if self.places.holds(request.match_info["place"]) or request.match_info["tail"]:
            return await self.places.answer(request)
        return _page(self.explainer.title, f"<p>{_escaped('share.ended')}</p>{self._button()}", status=404)


def _escaped(key: str, **values: object) -> str:
    return html.escape(text(key, **values))


def _form(fault: str) -> str:
    said = f'<p class="fault" role="alert">{html.escape(fault)}</p>' if fault else ""
    return (
        f'{said}<form action="/enter"><label for="code">{_escaped("share.code")}</label>'
        f'<input id="code" name="code" autocomplete="off" autocapitalize="none" spellcheck="false" maxlength="20" autofocus>'
        f"<button>{_escaped('share.enter')}</button></form>"
    )


def _page(title: str, body: str, status: int = 200, again: int = 0) -> web.Response:
    """A page of the server's own. `body` is markup, `title` is text; `again`: it loads anew after so many seconds."""
    style = resources.files("viewer").joinpath("web", "share.css").read_text(encoding="utf-8")
    anew = f'<meta http-equiv="refresh" content="{again}">\n' if again else ""
    document = f"""<!doctype html>
<html lang="{spoken()}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
{anew}<link rel="icon" href="data:,">
<title>{html.escape(title)}</title>
<style>
{style}</style>
</head>
<body>
<main>
<h1 dir="auto">{html.escape(title)}</h1>
{body}
</main>
</body>
</html>
"""
    return web.Response(text=document, status=status, content_type="text/html")


def own_addresses() -> list[str]:
    """This machine's addresses that others can reach it by, the one that it would leave by first; nothing is sent to find them."""
    found: list[str] = []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        with contextlib.suppress(OSError):
            probe.connect(("10.255.255.255", 9))
            found.append(str(probe.getsockname()[0]))
        for _, name in socket.if_nameindex() if sys.platform == "linux" else []:
            with contextlib.suppress(OSError):  # one without an address
                told = fcntl.ioctl(probe.fileno(), INTERFACE_ADDRESS, struct.pack("256s", name.encode()[:15]))
                found.append(socket.inet_ntoa(told[20:24]))
    with contextlib.suppress(OSError):
        found += [str(each[4][0]) for each in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)]
    return [each for each in dict.fromkeys(found) if not each.startswith(("127.", "0."))]


def serve(explainer: Any, machine: str, asked: Asked, *, port: int = 0, open_browser: bool = True) -> None:
    """Share until Ctrl+C. `machine`: as given on the command line; `asked`: settings from its options.

    Raises OSError when the port is taken.
    """
    try:
        asyncio.run(_serve(explainer, machine, asked, port, open_browser))
    except KeyboardInterrupt:
        return


async def _serve(explainer: Any, machine: str, asked: Asked, port: int, open_browser: bool) -> None:
    code = "".join(secrets.choice(LETTERS) for _ in range(CODE_LENGTH))
    places, phone = Places(machine, LIVE_PLACES, explainer.units), SharedPhone(machine, explainer.units)
    runner = web.AppRunner(Sharing(explainer, asked, phone, places, code).app(), access_log=None)
    await runner.setup()
    making = None
    try:
        site = web.TCPSite(runner, "0.0.0.0", port)
        await site.start()
        bound = runner.addresses[0][1]
        say = partial(print, flush=True)
        own = own_addresses()
        address, *others = [f"http://{each}:{bound}/" for each in own or ["127.0.0.1"]]
        say(text("share.address", address=f"{address}{code}/"))
        say(text("share.by_hand", address=address, code=code))
        if others:
            say(text("share.also", addresses=", ".join(f"{other}{code}/" for other in others)))
        if not own:
            say(text("share.no_network"))
        say(text("share.places", most=LIVE_PLACES))
        making = asyncio.create_task(phone.make())
        if open_browser:
            show_in_browser(f"http://127.0.0.1:{bound}/{code}/live/{await places.take()}/")
        await asyncio.Event().wait()
    finally:
        if making:
            making.cancel()
            await asyncio.gather(making, return_exceptions=True)
        await places.close()
        await runner.cleanup()
