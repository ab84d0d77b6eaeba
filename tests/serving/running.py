"""The server in a process of its own, and what a visitor without a browser can ask of it."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from drills.storage.records import AnswerRecord
from drills.storage.repository import open_repository
from tests.cli.running import COMMAND, PATIENCE, environment


@dataclass
class Served:
    """A running server: where it is, and its process."""

    url: str
    process: subprocess.Popen[bytes]

    @property
    def host(self) -> str:
        """Host and port as a browser names them."""
        return self.url.removeprefix("http://")

    def visitors(self) -> list[int]:
        """The processes of visitors, by number."""
        return children(self.process.pid)

    def none_left(self, processes: list[int]) -> None:
        """Wait until these processes have ended."""
        deadline = time.monotonic() + PATIENCE
        while any(_runs(number) for number in processes):
            assert time.monotonic() < deadline, f"{processes} are still there"
            time.sleep(0.01)

    def stop(self) -> int:
        """Press Ctrl+C; returns the exit code."""
        self.process.send_signal(signal.SIGINT)
        return self.process.wait(PATIENCE)


@contextmanager
def served(home: Path, *arguments: str, **more: str) -> Iterator[Served]:
    """Serve a home on a free port of this machine."""
    process = subprocess.Popen(
        [*COMMAND, "serve", "--port", "0", *arguments],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env=environment(home, **more),
        start_new_session=True,
    )
    try:
        assert process.stdout is not None
        line = process.stdout.readline().decode()
        found = re.search(r"http://\S+:(\d+)", line)
        assert found, line
        yield Served(f"http://localhost:{found[1]}", process)
    finally:
        if process.poll() is None:
            process.terminate()
            process.wait(PATIENCE)
        if process.stdout is not None:
            process.stdout.close()


def children(parent: int) -> list[int]:
    """The processes that a process has started and that still run."""
    found = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdecimal() and _parent(int(entry.name)) == parent:
            found.append(int(entry.name))
    return found


def _parent(number: int) -> int | None:
    try:
        told = Path(f"/proc/{number}/stat").read_text()
    except (FileNotFoundError, ProcessLookupError):
        return None
    state, parent = told.rpartition(")")[2].split()[:2]
    return None if state == "Z" else int(parent)


def _runs(number: int) -> bool:
    return _parent(number) is not None


def kill(number: int) -> None:
    """End a process at once."""
    os.kill(number, signal.SIGKILL)


def answers(home: Path) -> list[AnswerRecord]:
    """Every answer in the database, in order."""
    with open_repository(home / "crosspour.sqlite3", readonly=True) as repository:
        me = repository.taster().id
        drills = sorted(repository.drills(me), key=lambda drill: drill.id)
        return [one for drill in drills for one in repository.answers_of_drill(drill.id)]
