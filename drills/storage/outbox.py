"""What waits on this machine because its server did not answer: one JSON object a line.

Each process writes a file of its own and holds a lock on it while it lives. A file that nobody
holds was left behind; whoever comes next delivers it. Every line is on disk before the taster is
told that the answer is kept.
"""

from __future__ import annotations

import hashlib
import json
import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import asdict
from datetime import datetime
from pathlib import Path
from typing import IO, Any

from drills.disk import sync_folder
from drills.errors import StorageError
from drills.storage.locks import hold
from drills.storage.records import AnswerRecord

_ENDING = ".jsonl"
_REFUSED = ".refused"


class Outbox:
    """What one process could not send to the server called `name`."""

    def __init__(self, folder: Path, name: str) -> None:
        self._folder = folder
        self._head = _head(name)
        self._file: Path | None = None
        self._stream: IO[bytes] | None = None
        self.entries: list[dict[str, Any]] = []

    def put(self, entry: dict[str, Any]) -> None:
        """Keep an entry; it is on disk when this returns.

        Raises:
            StorageError: the file cannot be written.
        """
        try:
            if self._stream is None:
                self._open()
            assert self._stream is not None
            _add_line(self._stream, json.dumps(entry, ensure_ascii=False).encode() + b"\n")
        except OSError as error:
            raise StorageError(
                f"the server is away and the answer cannot wait in {self._folder}: {error.strerror}"
            ) from error
        self.entries.append(entry)

    def clear(self) -> None:
        """Forget everything: it was delivered."""
        self.entries.clear()
        if self._stream is not None and self._file is not None:
            # Taken away while the lock is held, so that nobody delivers it again.
            with suppress(OSError):
                self._file.unlink()
            self._stream.close()
            self._stream = self._file = None

    def put_aside(self) -> Path:
        """Keep everything under a name that is not tried again, and return it."""
        assert self._file is not None
        aside = put_aside(self._file)
        self.entries.clear()
        self.close()
        self._file = None
        return aside

    def close(self) -> None:
        """Let go of the file; whatever waits in it is delivered by the next who comes."""
        if self._stream is not None:
            self._stream.close()
            self._stream = None

    @contextmanager
    def left_behind(self) -> Iterator[dict[Path, list[dict[str, Any]]]]:
        """Give the files that other processes left, with their entries, while nobody else may.

        Delivered ones should be unlinked, refused ones put aside, before the block ends.
        """
        streams: list[IO[bytes]] = []
        found: dict[Path, list[dict[str, Any]]] = {}
        try:
            for file in sorted(self._folder.glob(f"{self._head}-*{_ENDING}")):
                if file == self._file:
                    continue
                with suppress(OSError):
                    stream: IO[bytes] = file.open("r+b")
                    streams.append(stream)
                    # Gone meanwhile: another process has delivered it.
                    if hold(stream) and file.exists():
                        found[file] = _entries(stream.read())
            yield found
        finally:
            for stream in streams:
                stream.close()

    def _open(self) -> None:
        self._folder.mkdir(parents=True, exist_ok=True)
        file = self._folder / f"{self._head}-{os.getpid()}-{secrets.token_hex(4)}{_ENDING}"
        self._stream = file.open("xb", buffering=0)
        self._file = file
        hold(self._stream)
        sync_folder(self._folder)


def _add_line(stream: IO[bytes], line: bytes) -> None:
    """Put a line on disk whole; where that fails the file ends where it did.

    Half a line would spoil the next one, and what is said not to be kept must not be delivered.
    """
    end = stream.tell()
    try:
        left = memoryview(line)
        while left:
            left = left[stream.write(left) :]
        os.fsync(stream.fileno())
    except OSError:
        with suppress(OSError):
            stream.seek(end)
            stream.truncate()
        raise


def put_aside(file: Path) -> Path:
    """Keep a file that the server refuses under a name that is not tried again, and return it."""
    aside = file.with_suffix(_REFUSED)
    file.replace(aside)
    return aside


def answer_entry(answer: AnswerRecord) -> dict[str, Any]:
    """An answer as an entry."""
    values = asdict(answer)
    del values["id"], values["undone_at"]
    values["answered_at"] = answer.answered_at.isoformat()
    return {"answer": values}


def answer_of(entry: dict[str, Any]) -> AnswerRecord:
    """The answer of an entry."""
    values = entry["answer"]
    return AnswerRecord(**{**values, "answered_at": datetime.fromisoformat(values["answered_at"])})


def _entries(content: bytes) -> list[dict[str, Any]]:
    # A last line without its end was cut off by a crash before anybody was told that it is kept.
    whole = content[: content.rfind(b"\n") + 1]
    return [json.loads(line) for line in whole.splitlines()]


def _head(name: str) -> str:
    return hashlib.sha256(name.encode()).hexdigest()[:12]
