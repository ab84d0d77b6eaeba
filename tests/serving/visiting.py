"""What a visitor does who speaks HTTP but is no browser: opens a tab, reads, leaves."""

from __future__ import annotations

import asyncio
import re
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import aiohttp
import pytest

from tests.serving.running import Served

TOKEN = "lighthouse-cellar-2026"
LATE = 30.0
_CONTROL = re.compile(r"\x1b\[[0-?]*[ -/]*[@-~]")


@asynccontextmanager
async def entered(server: Served, token: str | None) -> AsyncIterator[aiohttp.ClientSession]:
    """A browser that has shown a token at the door, where it has one."""
    # Without a name a server's cookies are kept only when told to.
    async with aiohttp.ClientSession(cookie_jar=aiohttp.CookieJar(unsafe=True)) as session:
        if token is not None:
            door, origin = f"{server.url}/enter", {"Origin": server.url}
            async with session.post(door, data={"token": token}, headers=origin) as page:
                await page.read()
        yield session


@asynccontextmanager
async def tab(
    server: Served, path: str = "/ws/home", *, origin: str | None = None, token: str | None = None
) -> AsyncIterator[aiohttp.ClientWebSocketResponse]:
    """The live connection of a page."""
    headers = {"Origin": origin or server.url}
    async with entered(server, token) as session:
        live = session.ws_connect(server.url + path, headers=headers, max_msg_size=0)
        async with live as connection:
            yield connection


async def until(live: aiohttp.ClientWebSocketResponse, *words: str) -> str:
    """Read what the program draws until one of `words` is in it."""
    said = ""
    try:
        async with asyncio.timeout(LATE):
            while True:
                message = await live.receive()
                assert message.type is aiohttp.WSMsgType.BINARY, (message, said[-2000:])
                said += _CONTROL.sub("", message.data.decode(errors="replace"))
                for one in words:
                    if one in said:
                        return one
    except TimeoutError:
        raise AssertionError(f"waited in vain for {words}; the terminal says:\n{said}") from None


async def closed(live: aiohttp.ClientWebSocketResponse) -> int | None:
    """Read on until the server closes; returns its code."""
    while not live.closed:
        await live.receive(LATE)
    return live.close_code


async def refused(server: Served, **how: str | None) -> int:
    """With which status a live connection is refused."""
    with pytest.raises(aiohttp.WSServerHandshakeError) as no:
        async with tab(server, **how):  # type: ignore[arg-type]
            pass
    return no.value.status
