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
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TypeVar

import pyte

Found = TypeVar("Found")
ROOT = Path(__file__).parents[2]
COMMAND = [sys.executable, "-c", "import sys; from drills.cli import main; sys.exit(main())"]
# Sequences with which a program moves the cursor, sets colours and asks the terminal things.
_CONTROL = re.compile(
    r"\x1b(?:\[[0-?]*[ -/]*[@-~]|[PX^_\]].*?(?:\x1b\\|\x07)|[@-Z\\-_])", re.DOTALL
)
PATIENCE = 30.0
# Bytes read at once. What a program draws comes in parts, at a loaded machine in other parts than
# usual; read like this, a test that counts on their coming together fails always, not sometimes.
_PART = 64


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

    def __init__(self, process: subprocess.Popen[bytes], end: int, size: tuple[int, int]) -> None:
        self.process = process
        self._end = end
        self._said = b""
        self.screen = pyte.Screen(*size)
        self._painter = pyte.ByteStream(self.screen)

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

    @property
    def raw(self) -> bytes:
        """All it has written."""
        return self._said

    @property
    def seen(self) -> str:
        """What stands on the terminal now, line by line."""
        # A space that holds words together is one all the same.
        return "\n".join(self.screen.display).replace("\N{NO-BREAK SPACE}", " ")

    def wait_to_see(self, *words: str) -> str:
        """Read until one of `words` stands on the terminal; returns which."""
        return self.wait_until(lambda: next((one for one in words if one in self.seen), ""), words)

    def wait_to_lose(self, *words: str) -> None:
        """Read until none of `words` stands on the terminal."""
        self.wait_until(lambda: not any(one in self.seen for one in words), words)

    def wait_until(self, found: Callable[[], Found], about: object = "") -> Found:
        """Read until `found` finds something in what the terminal says."""
        deadline = time.monotonic() + PATIENCE
        while not (result := found()):
            if not self._read(deadline - time.monotonic()):
                raise AssertionError(f"waited in vain: {about}; the terminal says:\n{self.seen}")
        return result

    def _read(self, seconds: float) -> bool:
        ready, _, _ = select.select([self._end], [], [], max(seconds, 0))
        if not ready:
            return False
        try:
            fresh = os.read(self._end, _PART)
        except OSError:
            return False  # the program has ended
        self._said += fresh
        self._painter.feed(fresh)
        return bool(fresh)

    def type(self, keys: str) -> None:
        """Press keys; a long text is taken in as fast as the program reads."""
        left = memoryview(keys.encode())
        while left:
            ready, free, _ = select.select([self._end], [self._end], [], PATIENCE)
            assert ready or free, "the program reads no more"
            if ready:
                self._read(0)
            if free:
                left = left[os.write(self._end, left[:4096]) :]

    def resize(self, columns: int, lines: int) -> None:
        """Give the terminal another size; the program is told."""
        self.screen.resize(lines, columns)
        set_size(self._end, columns, lines)

    def hang_up(self) -> None:
        """Close the terminal, as closing its window does."""
        os.close(self._end)
        self._end = -1

    def leave(self) -> int:
        """Read on until the program has ended; returns its exit code."""
        deadline = time.monotonic() + PATIENCE
        while self._read(deadline - time.monotonic()):
            pass
        return self.process.wait(PATIENCE)

    def kill(self) -> None:
        """End the program at once, as a power cut would."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait(PATIENCE)


def set_size(end: int, columns: int, lines: int) -> None:
    """Set the size of a terminal by either of its ends."""
    fcntl.ioctl(end, termios.TIOCSWINSZ, struct.pack("HHHH", lines, columns, 0, 0))


@contextmanager
def on_terminal(
    home: Path,
    *arguments: str,
    size: tuple[int, int] = (80, 24),
    more: Mapping[str, str] | None = None,
    command: Sequence[str] = COMMAND,
    folder: Path | None = None,
) -> Iterator[Terminal]:
    """Run a command on a terminal of `size` columns and lines, perhaps in another folder."""
    ours, theirs = pty.openpty()
    set_size(theirs, *size)
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
        cwd=folder,
        start_new_session=True,
        # Its own terminal, so that Ctrl+C, Ctrl+Z and a new size reach it as signals.
        preexec_fn=lambda: fcntl.ioctl(0, termios.TIOCSCTTY, 0),  # type: ignore[func-returns-value]
    )
    os.close(theirs)
    terminal = Terminal(process, ours, size)
    try:
        yield terminal
    finally:
        if process.poll() is None:
            process.kill()
            process.wait(PATIENCE)
        if terminal._end >= 0:
            os.close(ours)
