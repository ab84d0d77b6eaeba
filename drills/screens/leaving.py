"""Leaving the screens in order when a signal says so; the terminal stays whole."""

from __future__ import annotations

import asyncio
import os
import signal
import threading
from typing import Any

from textual.app import App

# A terminal that is gone takes no writing, and the library would wait for it: then we just end.
_PATIENCE = 2.0
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
    guard = threading.Timer(_PATIENCE, os._exit, (code,))
    guard.daemon = True
    guard.start()
    app.exit(return_code=code)
