"""Going to the shell by Ctrl+Z, and coming back by its `fg`, without a moment in between.

The library leaves and takes the terminal in the midst of whatever runs as a signal comes. A Ctrl+Z
within a few milliseconds of `fg`, before keys come to us again, then met threads that were made and
not yet started: the program ended with a traceback, or heard no key any more. So a stop waits here
for its turn between two events of the loop, and before the first screen until that stands.
"""

from __future__ import annotations

import asyncio
import os
import signal
import termios
from typing import Any

from textual.app import App

# Where keys come from, and where a terminal tells how it hands them over.
_STANDARD_INPUT = 0
_LOCAL_MODES = 3


def hold_stop() -> None:
    """Let a Ctrl+Z wait until the first screen stands."""
    signal.pthread_sigmask(signal.SIG_BLOCK, [signal.SIGTSTP])


def stop_in_turn(app: App[Any]) -> None:
    """Stop at a Ctrl+Z once nothing else is being done, and come back when the shell says so."""
    # The library would take the terminal once more at a SIGCONT that no stop of ours preceded.
    signal.signal(signal.SIGCONT, signal.SIG_DFL)
    _listen(app)
    release_stop()


def release_stop() -> None:
    """Let a Ctrl+Z do what it usually does, one that waited too."""
    signal.pthread_sigmask(signal.SIG_UNBLOCK, [signal.SIGTSTP])


def _listen(app: App[Any]) -> None:
    asyncio.get_running_loop().add_signal_handler(signal.SIGTSTP, _stop, app)


def _stop(app: App[Any]) -> None:
    if not _has_screens():
        # The program is being left: the terminal is the shell's already.
        os.kill(os.getpid(), signal.SIGSTOP)
        return
    # A second Ctrl+Z on the way out asks for what is being done.
    signal.signal(signal.SIGTSTP, signal.SIG_IGN)
    with app.suspend():
        os.kill(os.getpid(), signal.SIGSTOP)
        while _in_background():
            os.kill(os.getpid(), signal.SIGSTOP)
        _listen(app)


def _has_screens() -> bool:
    """Whether keys come one by one, as only the screens want them."""
    try:
        return not termios.tcgetattr(_STANDARD_INPUT)[_LOCAL_MODES] & termios.ICANON
    except termios.error:
        return False


def _in_background() -> bool:
    """Whether the shell let us go on (`bg`) without giving us the terminal."""
    try:
        return os.tcgetpgrp(_STANDARD_INPUT) != os.getpgrp()
    except OSError:
        # The terminal is gone; a signal of its own says so.
        return False
