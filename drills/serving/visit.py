"""One visitor: a process of the program that begins with a tab and ends with it."""

from __future__ import annotations

import asyncio
import contextlib
import sys
from asyncio.subprocess import PIPE, Process
from collections.abc import Mapping, Sequence
from typing import Any

from textual_serve.app_service import AppService

from drills.paths import DATABASE_VARIABLE, GUEST_VARIABLE, TASTER_VARIABLE
from drills.serving.guard import TOKEN_VARIABLE

# A program that does not leave when asked to is ended after so many seconds, then killed.
_ASKED, _ENDED = 5.0, 2.0
# Columns and lines that a browser may ask for: a made-up size would cost memory without limit.
COLUMNS, LINES = (20, 500), (5, 200)


def within(limits: tuple[int, int], given: Any) -> int:
    """A number of columns or lines as it may be; what is no number becomes the least."""
    try:
        number = int(given)
    except (TypeError, ValueError, OverflowError):
        return limits[0]
    return min(max(number, limits[0]), limits[1])


class Visit(AppService):
    """Runs `arguments` for one visitor, with `more` in the environment."""

    def __init__(self, arguments: Sequence[str], more: Mapping[str, str], **means: Any) -> None:
        super().__init__("", **means)
        self._arguments = list(arguments)
        self._more = dict(more)

    def _build_environment(self, width: int = 80, height: int = 24) -> dict[str, str]:
        environment = super()._build_environment(within(COLUMNS, width), within(LINES, height))
        environment["TEXTUAL_DRIVER"] = "drills.serving.driver:VisitorDriver"
        # The program does not need it, and what it does not have it cannot show.
        environment.pop(TOKEN_VARIABLE, None)
        return environment | self._more

    async def _open_app_process(self, width: int = 80, height: int = 24) -> Process:
        # No shell, and a session of its own: Ctrl+C at the server reaches the program through us.
        self._process = process = await asyncio.create_subprocess_exec(
            *self._arguments,
            stdin=PIPE,
            stdout=PIPE,
            stderr=PIPE,
            env=self._build_environment(width, height),
            start_new_session=True,
        )
        assert process.stdin is not None
        self._stdin = process.stdin
        return process

    async def run(self) -> None:
        """Carry what the program draws, and close the tab's connection when it ends."""
        try:
            await super().run()
        finally:
            with contextlib.suppress(ConnectionError, RuntimeError):
                await self.remote_close()

    async def stop(self) -> None:
        """Let the program leave; returns when its process has ended."""
        task, self._task, process = self._task, None, self._process
        if task is None or process is None:
            return
        await self._download_manager.cancel_app_downloads(app_service_id=self.app_service_id)
        await self.send_meta({"type": "quit"})
        for patience, harder in ((_ASKED, process.terminate), (_ENDED, process.kill)):
            try:
                await asyncio.wait_for(process.wait(), patience)
                break
            except TimeoutError:
                with contextlib.suppress(ProcessLookupError):
                    harder()
        await process.wait()
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)


def program(door: str) -> list[str]:
    """The command of a visitor's process, run by the interpreter that runs the server."""
    # -P: no module of the folder where the server was started stands in for one of ours.
    return [sys.executable, "-P", "-m", "drills.serving.visitor", door]


def environment_of(database: str | None, taster: str | None, *, guest: bool) -> dict[str, str]:
    """What a visitor's process is told beside the server's own environment."""
    told = {
        DATABASE_VARIABLE: database,
        TASTER_VARIABLE: taster,
        GUEST_VARIABLE: "1" if guest else None,
    }
    return {name: value for name, value in told.items() if value is not None}
