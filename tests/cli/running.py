"""The program as a shell runs it: in a process of its own, on a pipe or on a terminal."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).parents[2]
COMMAND = [sys.executable, "-c", "import sys; from drills.cli import main; sys.exit(main())"]
# Sequences with which a program moves the cursor, sets colours and asks the terminal things.
_CONTROL = re.compile(
    r"\x1b(?:\[[0-?]*[ -/]*[@-~]|[PX^_\]].*?(?:\x1b\\|\x07)|[@-Z\\-_])", re.DOTALL
)
PATIENCE = 30.0


def environment(home: Path, **more: str) -> dict[str, str]:
    """The environment of a taster whose home is `home`."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith("CROSSPOUR_")}
    return kept | {"CROSSPOUR_HOME": str(home), "PYTHONPATH": str(ROOT), "LC_ALL": "C.UTF-8"} | more


def crosspour(
    home: Path, *arguments: str, typed: str | bytes = b"", **more: str
) -> subprocess.CompletedProcess[str]:
    """Run a command without a terminal."""
    done = subprocess.run(
        [*COMMAND, *arguments],
        input=typed.encode() if isinstance(typed, str) else typed,
        capture_output=True,
        env=environment(home, **more),
        timeout=60,
        check=False,
    )
    out, err = done.stdout.decode(errors="replace"), done.stderr.decode(errors="replace")
    return subprocess.CompletedProcess(done.args, done.returncode, out, err)


class Terminal:
    """A program on a terminal of its own."""

    def __init__(self, process: subprocess.Popen[bytes], end: int) -> None:
        self.process = process
        self._end = end
        self._said = b""

    @property
    def said(self) -> str:
        """All it has written, without colours and movements of the cursor."""
        return _CONTROL.sub("", self._said.decode(errors="replace"))

    def wait_for(self, *words: str) -> str:
        """Read until one of `words` was written since the last time; returns which."""
        start = len(self._said)
        deadline = time.monotonic() + PATIENCE
        while time.monotonic() < deadline:
            fresh = _CONTROL.sub("", self._said[start:].decode(errors="replace"))
            for one in words:
                if one in fresh:
                    return one
            if not self._read(deadline - time.monotonic()):
                break
        raise AssertionError(f"waited in vain for {words}; the terminal says:\n{self.said[-3000:]}")

    def _read(self, seconds: float) -> bool:
        ready, _, _ = select.select([self._end], [], [], max(seconds, 0))
        if not ready:
            return False
        try:
            fresh = os.read(self._end, 65536)
        except OSError:
            return False  # the program has ended
        self._said += fresh
        return bool(fresh)

    def type(self, keys: str) -> None:
        """Press keys."""
        os.write(self._end, keys.encode())

    def leave(self) -> int:
        """Read on until the program has ended; returns its exit code."""
        while self._read(PATIENCE):
            pass
        return self.process.wait(PATIENCE)

    def kill(self) -> None:
        """End the program at once, as a power cut would."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait(PATIENCE)


@contextmanager
def on_terminal(
    home: Path,
    *arguments: str,
    size: tuple[int, int] = (80, 24),
    more: Mapping[str, str] | None = None,
    command: Sequence[str] = COMMAND,
) -> Iterator[Terminal]:
    """Run a command on a terminal of `size` columns and lines."""
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", size[1], size[0], 0, 0))
    settings = environment(home, TERM="xterm-256color")
    for name in ("COLUMNS", "LINES", "NO_COLOR"):
        settings.pop(name, None)
    settings |= more or {}
    process = subprocess.Popen(
        [*command, *arguments],
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
        env=settings,
        start_new_session=True,
        # Its own terminal, so that Ctrl+C, Ctrl+Z and a new size reach it as signals.
        preexec_fn=lambda: fcntl.ioctl(0, termios.TIOCSCTTY, 0),  # type: ignore[func-returns-value]
    )
    os.close(theirs)
    try:
        yield Terminal(process, ours)
    finally:
        if process.poll() is None:
            process.kill()
            process.wait(PATIENCE)
        os.close(ours)
