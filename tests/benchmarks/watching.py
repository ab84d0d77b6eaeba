"""A program on a pseudo-terminal of its own, and how long until given words stand on it.

Standard library only, so that watching costs the watched program next to nothing.
"""

from __future__ import annotations

import contextlib
import fcntl
import os
import pty
import re
import select
import signal
import struct
import subprocess
import termios
import time
from collections.abc import Mapping, Sequence
from types import TracebackType

WIDTH, HEIGHT = 100, 30
CTRL_Q = b"\x11"
_CONTROL = re.compile(
    rb"\x1b\[[0-?]*[ -/]*[@-~]|\x1b\][^\x07\x1b]*(?:\x07|\x1b\\)|\x1b[P_^][^\x1b]*\x1b\\|\x1b."
)
_PATIENCE = 20.0
# Nothing is written for this long: the screen has settled.
_QUIET = 0.06


class UnseenError(Exception):
    """The words never came; says what was on the terminal instead."""


class Terminal:
    """A running program; everything it writes is kept until the next key is pressed."""

    def __init__(self, command: Sequence[str], environment: Mapping[str, str]) -> None:
        ours, theirs = pty.openpty()
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", HEIGHT, WIDTH, 0, 0))
        self._side = ours
        self._raw = b""
        self.began = time.perf_counter()
        self.process = subprocess.Popen(
            command,
            stdin=theirs,
            stdout=theirs,
            stderr=theirs,
            env={**environment, "TERM": "xterm-256color", "COLORTERM": "truecolor"},
            start_new_session=True,
        )
        os.close(theirs)

    def __enter__(self) -> Terminal:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    @property
    def text(self) -> str:
        """What was written since the last key, in the order of writing, without its colours."""
        return _CONTROL.sub(b"", self._raw).decode("utf-8", "replace")

    def press(self, keys: bytes) -> None:
        """Press a key, and start the time from it."""
        self._raw = b""
        self.began = time.perf_counter()
        os.write(self._side, keys)

    def until(self, words: str) -> float:
        """Read until what was written since the last key holds the pattern; seconds since the key.

        Raises:
            UnseenError: it was not written in 20 seconds, or the program ended.
        """
        wanted = re.compile(words, re.DOTALL)
        while True:
            alive = self._read(_PATIENCE)
            now = time.perf_counter()
            text = self.text
            if wanted.search(text):
                return now - self.began
            if not alive or now - self.began > _PATIENCE:
                raise UnseenError(f"no {words} in {text[:4000]}")

    def settle(self) -> None:
        """Read until the program has written nothing for a moment."""
        while select.select([self._side], [], [], _QUIET)[0]:
            if not self._read(0):
                return

    def close(self) -> None:
        """Ask the program to leave; insist if it does not."""
        with contextlib.suppress(OSError):
            os.write(self._side, CTRL_Q)
        deadline = time.monotonic() + 5
        while self.process.poll() is None and time.monotonic() < deadline:
            self._read(0.05)
        if self.process.poll() is None:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()
        os.close(self._side)

    def _read(self, seconds: float) -> bool:
        """Take what is there within so many seconds; False once the program has gone."""
        if not select.select([self._side], [], [], seconds)[0]:
            return self.process.poll() is None
        try:
            more = os.read(self._side, 1 << 16)
        except OSError:
            return False
        self._raw += more
        return bool(more)
