"""Leaving the screens in order when a signal says so; the terminal stays whole."""

from __future__ import annotations

import asyncio
import os
import signal
import threading
from contextlib import suppress
from typing import Any

from textual.app import App

from drills.errors import DrillsError
from drills.screens.base import DeskScreen

# A terminal that is gone takes no writing, and the library would wait for it: then we just end.
# Longer than the wait for another program that writes to the database, since keeping the last
# answer is tried once more as the screens go.
_PATIENCE = 4.0
# As shells count: 128 and the number of the signal.
_SIGNALLED = 128


def leave_on_signals(app: App[Any]) -> None:
    """Leave `app` when the system or the terminal tells the program to end."""
    loop = asyncio.get_running_loop()
    # Windows knows no hang-up.
    for name in ("SIGTERM", "SIGHUP"):
        if number := getattr(signal, name, None):
            loop.add_signal_handler(number, _leave, app, _SIGNALLED + number)


def _leave(app: App[Any], code: int) -> None:
    # Before the guard: a server that is away may take longer to be found so than the guard waits.
    for screen in app.screen_stack:
        if isinstance(screen, DeskScreen):
            # Tried once more as the screens go, and told if that fails too.
            with suppress(DrillsError):
                screen.keep_now()
    guard = threading.Timer(_PATIENCE, os._exit, (code,))
    guard.daemon = True
    guard.start()
    app.exit(return_code=code)
