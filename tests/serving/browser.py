"""A real browser, headless, driven over its DevTools protocol: keys in, frames and pictures out."""

from __future__ import annotations

import asyncio
import base64
import json
import re
import shutil
import tempfile
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager, suppress
from pathlib import Path
from typing import Any

import aiohttp

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
PATIENCE = 30.0
_FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--no-default-browser-check",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--remote-debugging-port=0",
    "--window-size=1000,640",
)
_CONTROL = re.compile(r"\x1b(?:\[[0-?]*[ -/]*[@-~]|[@-Z\\-_])")
# Key names of the protocol with their old key codes, for keys that write no letter.
_CODES = {"Escape": 27, "Enter": 13, "F5": 116}


class Tab:
    """One tab: a page, the requests it makes, and what comes over its live connection."""

    def __init__(self, browser: Browser, session: str, target: str) -> None:
        self._browser = browser
        self._session = session
        self._target = target
        self._said = b""
        self.requests: list[str] = []
        self.problems: list[str] = []
        self._changed = asyncio.Event()

    async def call(self, method: str, **told: Any) -> dict[str, Any]:
        """One command of the protocol."""
        return await self._browser.call(method, self._session, **told)

    def heard(self, method: str, told: dict[str, Any]) -> None:
        """Take note of an event."""
        if method == "Network.requestWillBeSent":
            self.requests.append(told["request"]["url"])
        elif method == "Network.webSocketCreated":
            self.requests.append(told["url"])
        elif method == "Network.webSocketFrameReceived" and told["response"]["opcode"] == 2:
            self._said += base64.b64decode(told["response"]["payloadData"])
        elif method == "Log.entryAdded" and told["entry"]["level"] == "error":
            self.problems.append(f"{told['entry']['text']} {told['entry'].get('url', '')}")
        elif method == "Runtime.exceptionThrown":
            self.problems.append(str(told["exceptionDetails"]))
        self._changed.set()

    @property
    def said(self) -> str:
        """What the program wrote to the terminal, without colours and movements."""
        return _CONTROL.sub("", self._said.decode(errors="replace"))

    async def _until(self, found: Callable[[], Any], wanted: object) -> Any:
        async def wait() -> Any:
            while not (result := found()):
                self._changed.clear()
                await self._changed.wait()
            return result

        try:
            return await asyncio.wait_for(wait(), PATIENCE)
        except TimeoutError:
            raise AssertionError(
                f"waited in vain for {wanted}; the terminal says:\n{self.said[-2000:]}\n"
                f"the browser says: {self.problems}"
            ) from None

    async def open(self, url: str) -> None:
        """Go to a page."""
        self._said = b""
        await self.call("Page.navigate", url=url)

    async def wait_for(self, *words: str, since: int = 0) -> str:
        """Wait until the program has written one of `words` after the first `since` bytes."""

        def found() -> str | None:
            fresh = _CONTROL.sub("", self._said[since:].decode(errors="replace"))
            return next((one for one in words if one in fresh), None)

        return str(await self._until(found, words))

    async def press(self, key: str, *words: str) -> str:
        """Press a key in the page and wait for one of `words` to be written since."""
        since = len(self._said)
        letter = {"text": key} if len(key) == 1 else {}
        code = _CODES.get(key) or ord(key.upper())
        name = key if key in _CODES else "Space" if key == " " else f"Key{key.upper()}"
        for kind in ("keyDown" if letter else "rawKeyDown", "keyUp"):
            await self.call(
                "Input.dispatchKeyEvent",
                type=kind,
                key=key,
                code=name,
                windowsVirtualKeyCode=code,
                **(letter if kind == "keyDown" else {}),
            )
        return await self.wait_for(*words, since=since) if words else ""

    async def run(self, script: str) -> Any:
        """The value of an expression in the page."""
        done = await self.call("Runtime.evaluate", expression=script, awaitPromise=True)
        return done["result"].get("value")

    async def shows(self, script: str) -> None:
        """Wait until an expression in the page is true."""

        async def wait() -> None:
            while not await self.run(script):
                # The page changes without an event that we could wait for.
                await asyncio.sleep(0.02)

        await asyncio.wait_for(wait(), PATIENCE)

    async def picture(self) -> bytes:
        """The page as PNG."""
        done = await self.call("Page.captureScreenshot", format="png")
        return base64.b64decode(done["data"])

    async def close(self) -> None:
        """Close the tab, as its cross does."""
        await self._browser.call("Target.closeTarget", targetId=self._target)


class Browser:
    """The browser's end of the protocol: one connection for all tabs."""

    def __init__(self, socket: aiohttp.ClientWebSocketResponse) -> None:
        self._socket = socket
        self._number = 0
        self._waiting: dict[int, asyncio.Future[dict[str, Any]]] = {}
        self._tabs: dict[str, Tab] = {}

    async def call(self, method: str, session: str | None = None, **told: Any) -> dict[str, Any]:
        """One command; AssertionError where the browser refuses it."""
        self._number += 1
        message: dict[str, Any] = {"id": self._number, "method": method, "params": told}
        if session is not None:
            message["sessionId"] = session
        future = self._waiting[self._number] = asyncio.get_running_loop().create_future()
        await self._socket.send_json(message)
        answer = await asyncio.wait_for(future, PATIENCE)
        assert "error" not in answer, (method, answer)
        return answer.get("result", {})

    async def listen(self) -> None:
        """Hand answers and events to whom they concern."""
        async for message in self._socket:
            told = json.loads(message.data)
            if (future := self._waiting.pop(told.get("id"), None)) and not future.done():
                future.set_result(told)
            elif tab := self._tabs.get(told.get("sessionId", "")):
                tab.heard(told["method"], told["params"])

    async def tab(self) -> Tab:
        """A new tab."""
        target = (await self.call("Target.createTarget", url="about:blank"))["targetId"]
        told = await self.call("Target.attachToTarget", targetId=target, flatten=True)
        tab = self._tabs[told["sessionId"]] = Tab(self, told["sessionId"], target)
        for part in ("Page", "Network", "Log", "Runtime"):
            await tab.call(f"{part}.enable")
        return tab


@asynccontextmanager
async def open_browser() -> AsyncIterator[Browser]:
    """Start a browser with a profile of its own, and end it."""
    assert CHROMIUM is not None
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        process = await asyncio.create_subprocess_exec(
            CHROMIUM,
            *_FLAGS,
            f"--user-data-dir={profile}",
            stdout=asyncio.subprocess.DEVNULL,
            stderr=asyncio.subprocess.DEVNULL,
        )
        try:
            port, path = await asyncio.wait_for(_address(Path(profile)), PATIENCE)
            async with (
                aiohttp.ClientSession() as session,
                session.ws_connect(f"ws://127.0.0.1:{port}{path}", max_msg_size=0) as socket,
            ):
                browser = Browser(socket)
                listening = asyncio.create_task(browser.listen())
                try:
                    yield browser
                finally:
                    with suppress(AssertionError, TimeoutError, ConnectionError):
                        await browser.call("Browser.close")
                    listening.cancel()
        finally:
            with suppress(ProcessLookupError):
                process.kill()
            await process.wait()


async def _address(profile: Path) -> tuple[str, str]:
    """Where the browser listens; it writes that into its profile once it does."""
    file = profile / "DevToolsActivePort"
    while True:
        with suppress(FileNotFoundError, ValueError):
            port, path = file.read_text().split()
            return port, path
        await asyncio.sleep(0.02)
