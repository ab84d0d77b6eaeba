"""Waiting for other processes, and seeing them, by locks on files.

Where the system has no such locks (Windows without WSL) nobody is waited for or seen.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

try:
    import fcntl
except ImportError:
    fcntl = None  # type: ignore[assignment]

# Where SQLite keeps its locks in a file: the bytes from PENDING_BYTE on, see "File Locking And
# Concurrency" in its documentation.
_LOCKS_AT, _LOCKS = 0x40000000, 512


@contextmanager
def turn(file: Path, *, wait: bool) -> Iterator[bool]:
    """Take turns with others that ask for the same file, which is made where it is missing.

    Gives False, without the turn, where somebody else has it and `wait` is False.
    OSError is raised where the file cannot be opened.
    """
    handle = os.open(file, os.O_CREAT | os.O_RDWR, 0o600)
    try:
        mine = True
        if fcntl is not None:
            try:
                fcntl.flock(handle, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))
            except BlockingIOError:
                mine = False
        yield mine
    finally:
        os.close(handle)


def hold(stream: IO[bytes]) -> bool:
    """Lock an open file until it is closed; False where another process holds it."""
    if fcntl is not None:
        try:
            fcntl.flock(stream, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
    return True


def in_use(database: Path) -> bool:
    """Whether another process has a database open; asked without opening it as one.

    A process does not see its own locks, and loses them here: it must have closed the database.
    """
    if fcntl is None or not database.exists():
        return False
    handle = os.open(database, os.O_RDWR)
    try:
        fcntl.lockf(handle, fcntl.LOCK_EX | fcntl.LOCK_NB, _LOCKS, _LOCKS_AT)
    except OSError:
        return True
    else:
        return False
    finally:
        os.close(handle)
