"""The server: pages, the token at the door, and a process for each visitor.

Everything a page needs comes from here: own files, and the terminal, fonts and styles that come
with textual-serve. Its own page asks a font from elsewhere, so it is not used.
"""

from __future__ import annotations

import asyncio
import contextlib
import logging
import socket
from collections.abc import Awaitable, Callable, Mapping, Sequence
from math import ceil
from pathlib import Path
from typing import Any

import aiohttp_jinja2
import jinja2
from aiohttp import WSCloseCode, WSMessage, WSMsgType, web
from textual_serve import server as textual_server
from textual_serve.app_service import AppService

from drills.clock import Clock
from drills.errors import DrillsError
from drills.serving.attempts import REFUSED_SECONDS, Attempts, span
from drills.serving.guard import COOKIE, Guard
from drills.serving.visit import COLUMNS, LINES, Visit, environment_of, program, within
from drills.serving.visitor import DOORS, HOME

# The largest message a browser may send, in bytes: a key is a few, a long paste some thousand.
MOST_MESSAGE = 64 * 1024
# The largest form: a token.
_MOST_FORM = 4 * 1024
# A tab that is loaded anew gives its place back a moment after it asks for one.
_PLACE_SECONDS = 3.0
# Silence after which a connection counts as lost, half of it after a question.
_HEARTBEAT = 15.0
_SHUTDOWN_SECONDS = 10.0
_PAGES = Path(__file__).with_name("pages")

Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]


class Server(textual_server.Server):
    """Serves the drill to as many visitors as there are places.

    `tasters` names those of the database; where there are several a visitor says who they are.
    """

    def __init__(
        self,
        guard: Guard,
        *,
        places: int,
        database: str | None = None,
        tasters: Callable[[], Sequence[str]] = tuple,
        stopwatch: Callable[[], float] | None = None,
    ) -> None:
        super().__init__("crosspour", title="crosspour")
        self._guard = guard
        self._attempts = Attempts(stopwatch or Clock().stopwatch)
        self._places = places
        self._free = asyncio.Semaphore(places)
        self._database = database
        self._tasters = tasters
        self._open: set[web.WebSocketResponse] = set()

    def listen(self, listening: socket.socket, told: Callable[[], None]) -> None:
        """Serve until interrupted or terminated; calls `told` once the door is open."""
        logging.getLogger("textual-serve").setLevel(logging.ERROR)
        web.run_app(
            self._make_app(),
            sock=listening,
            print=lambda *_: told(),
            # A log of requests would name visitors, and nobody reads it.
            access_log=None,
            shutdown_timeout=_SHUTDOWN_SECONDS,
        )

    async def _make_app(self) -> web.Application:
        app = web.Application(middlewares=[self._at_the_door], client_max_size=_MOST_FORM)
        aiohttp_jinja2.setup(app, loader=jinja2.FileSystemLoader(_PAGES), autoescape=True)
        app.add_routes(
            [
                web.get("/", self.handle_index),
                web.get("/drill", self.handle_index),
                web.get("/full", self._full),
                web.post("/enter", self._enter),
                web.get("/ws/{door}", self.handle_websocket),
                web.get("/ws/{door}/{taster}", self.handle_websocket),
                web.get("/download/{key}", self.handle_download),
                web.static("/static", self.statics_path),
                web.static("/own", _PAGES / "own"),
            ]
        )
        app.on_shutdown.append(self.on_shutdown)
        return app

    async def on_shutdown(self, app: web.Application) -> None:
        """Close every tab's connection; each ends its process."""
        del app
        closing = (one.close(code=WSCloseCode.GOING_AWAY) for one in list(self._open))
        await asyncio.gather(*closing, return_exceptions=True)

    @web.middleware
    async def _at_the_door(self, request: web.Request, handler: Handler) -> web.StreamResponse:
        host = request.headers.get("Host", "")
        if not self._guard.knows_host(host):
            return web.Response(status=403, text="This server is not asked by that name.\n")
        entering = request.method == "POST" and request.path == "/enter"
        live = request.path.startswith("/ws/")
        if (entering or live) and not self._guard.same_origin(request.headers.get("Origin"), host):
            return web.Response(status=403, text="Only a page of this server may ask that.\n")
        if not entering and not self._guard.knows_pass(request.cookies.get(COOKIE)):
            if live:
                return web.Response(status=401, text="The token is missing.\n")
            return self._page(request, "enter.html", {}, status=401)
        try:
            response = await handler(request)
        except web.HTTPException as refused:
            if refused.status in (404, 405):
                return self._page(request, "lost.html", {}, status=refused.status)
            raise
        except DrillsError as error:
            # The database is asked who drills; a visitor may read why it does not answer.
            return web.Response(status=503, text=f"crosspour: {error}\n")
        if not response.prepared:
            _harden(response, host)
        return response

    def _page(
        self, request: web.Request, name: str, told: Mapping[str, Any], status: int = 200
    ) -> web.Response:
        response = aiohttp_jinja2.render_template(name, request, dict(told), status=status)
        _harden(response, request.host)
        response.headers["Cache-Control"] = "no-store"
        return response

    async def _enter(self, request: web.Request) -> web.StreamResponse:
        form = await request.post()
        given = form.get("token")
        token = given.strip() if isinstance(given, str) else ""
        # From here to the count nothing is awaited: guesses sent at once are counted in turn.
        if wait := self._attempts.wait(request.remote):
            return self._too_early(request, wait)
        if self._guard.token is None or not self._guard.knows_token(token):
            wait = self._attempts.wrong(request.remote)
            if wait >= REFUSED_SECONDS:
                return self._too_early(request, wait)
            told = {"wrong": True, "wait": span(wait) if wait else ""}
            return self._page(request, "enter.html", told, status=401)
        self._attempts.right(request.remote)
        answer = web.Response(status=303, headers={"Location": "/"})
        answer.set_cookie(
            COOKIE,
            self._guard.pass_,
            httponly=True,
            samesite="Strict",
            secure=request.headers.get("X-Forwarded-Proto", request.scheme) == "https",
            path="/",
        )
        return answer

    def _too_early(self, request: web.Request, wait: float) -> web.Response:
        """Say that no token from this address is looked at yet, the right one neither."""
        page = self._page(request, "enter.html", {"early": True, "wait": span(wait)}, status=429)
        page.headers["Retry-After"] = str(ceil(wait))
        return page

    async def handle_index(self, request: web.Request) -> web.StreamResponse:
        """The page of the first screen, or of the drill; before it, who drills, where not clear."""
        door = request.path.strip("/") or HOME
        tasters = await asyncio.to_thread(self._tasters)
        taster = request.query.get("taster")
        if taster is not None and taster not in tasters:
            return self._page(request, "lost.html", {}, status=404)
        if len(tasters) == 1:
            taster = tasters[0]
        if taster is None:
            return self._page(request, "who.html", {"tasters": tasters, "path": request.path})
        size = within((8, 40), request.query.get("fontsize", 16))
        return self._page(
            request, "drill.html", {"door": door, "taster": taster, "font_size": size}
        )

    async def _full(self, request: web.Request) -> web.StreamResponse:
        return self._page(request, "full.html", {"places": self._places}, status=503)

    async def handle_websocket(self, request: web.Request) -> web.WebSocketResponse:
        """A tab's connection: its place, its process, and their end."""
        door, taster = request.match_info["door"], request.match_info.get("taster")
        if door not in DOORS:
            raise web.HTTPNotFound
        if taster is not None and taster not in await asyncio.to_thread(self._tasters):
            raise web.HTTPNotFound
        socket_ = web.WebSocketResponse(heartbeat=_HEARTBEAT, max_msg_size=MOST_MESSAGE)
        await socket_.prepare(request)
        try:
            await asyncio.wait_for(self._free.acquire(), _PLACE_SECONDS)
        except TimeoutError:
            await socket_.send_json(["open_url", {"url": "/full", "new_tab": False}])
            await socket_.close()
            return socket_
        self._open.add(socket_)
        visit = Visit(
            program(door),
            environment_of(self._database, taster, guest=self._guard.token is not None),
            write_bytes=socket_.send_bytes,
            write_str=socket_.send_str,
            close=socket_.close,
            download_manager=self.download_manager,
        )
        try:
            await visit.start(*(within(*one) for one in _size(request.query)))
            await self._process_messages(socket_, visit)
        finally:
            self._open.discard(socket_)
            try:
                # The place is free when the process has ended, whatever becomes of this request.
                await asyncio.shield(visit.stop())
            finally:
                self._free.release()
        return socket_

    async def _process_messages(
        self, websocket: web.WebSocketResponse, app_service: AppService
    ) -> None:
        async for message in websocket:
            if message.type is WSMsgType.TEXT and not await _obeyed(
                message, websocket, app_service
            ):
                await websocket.close(code=WSCloseCode.PROTOCOL_ERROR)


def _size(query: Mapping[str, str]) -> tuple[tuple[tuple[int, int], Any], ...]:
    return (COLUMNS, query.get("width", 80)), (LINES, query.get("height", 24))


async def _obeyed(message: WSMessage, back: web.WebSocketResponse, visit: AppService) -> bool:
    """Do what a message of a tab says; False where it says nothing a tab would say."""
    try:
        said = message.json()
    except ValueError:
        return False
    match said:
        case ["stdin", str(keys)]:
            # Half of a pair of surrogates is no letter; a terminal would not send it either.
            await visit.send_bytes(keys.encode("utf-8", "replace"))
        case ["resize", {"width": width, "height": height}]:
            await visit.set_terminal_size(within(COLUMNS, width), within(LINES, height))
        case ["ping", str(mark)]:
            with contextlib.suppress(ConnectionError):
                await back.send_json(["pong", mark])
        case ["focus"]:
            await visit.focus()
        case ["blur"]:
            await visit.blur()
        case _:
            return False
    return True


def _harden(response: web.StreamResponse, host: str) -> None:
    """Say to the browser that this page has no business elsewhere, nor others with it.

    `host` was let in by the guard, so it holds nothing but a name and a port. The terminal writes
    styles of its own, so those need not come from a file.
    """
    response.headers.update(
        {
            "Content-Security-Policy": "default-src 'none'; script-src 'self'; "
            "style-src 'self' 'unsafe-inline'; font-src 'self'; img-src 'self' data:; "
            f"connect-src 'self' ws://{host} wss://{host}; form-action 'self'; base-uri 'none'; "
            "frame-ancestors 'none'",
            "X-Content-Type-Options": "nosniff",
            "X-Frame-Options": "DENY",
            "Referrer-Policy": "same-origin",
        }
    )
