"""Where tastings are read from: a file or an open stream, as bytes that can be read twice."""

from __future__ import annotations

import hashlib
import io
import stat
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from types import TracebackType
from typing import BinaryIO, TextIO, cast

from drills.errors import IntakeError
from drills.tastings.cells import printable, tidy

TYPED = "typed"
LARGEST = 256 * 1024 * 1024  # bytes; a hundred years of daily flights take less than a tenth
_CHUNK = 65_536
# What comes through a pipe is kept in memory up to this size, in bytes, and on disk above it.
_IN_MEMORY = 8 * 1024 * 1024

Told = Callable[[int], None]
"""Told how many bytes were read since it was told last."""


class Source:
    """A file, or what came through a stream, that can be read from its beginning again and again.

    `label` is the name that messages give it, `suffix` the end of a file's name in small letters,
    `size` its bytes. `digest` is the SHA-256 of its bytes, known once all were read.
    """

    def __init__(self, source: Path | TextIO) -> None:
        self._kept: BinaryIO | None = None
        self._path: Path | None = None
        self.suffix = ""
        self.digest = ""
        if isinstance(source, Path):
            self.label = printable(source.name)
            self.suffix = source.suffix.lower()
            self._take_file(source)
        else:
            self.label = TYPED
            self._take_stream(source)

    def __enter__(self) -> Source:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Forget what was kept of a stream."""
        if self._kept is not None:
            self._kept.close()

    @property
    def shown(self) -> str:
        """The source as a message begins with it."""
        return "what was typed" if self.label == TYPED else f"“{self.label}”"

    @contextmanager
    def opened(self) -> Iterator[BinaryIO]:
        """The bytes from the first one on."""
        if self._kept is not None:
            self._kept.seek(0)
            yield self._kept
            return
        assert self._path is not None
        try:
            stream = self._path.open("rb")
        except OSError as error:
            raise _unreadable(self._path, error) from None
        with stream:
            yield stream

    def chunks(self, told: Told | None = None) -> Iterator[bytes]:
        """All bytes in pieces.

        IntakeError where they cannot be read, are too many, or are no longer those that were read
        before.
        """
        digest = hashlib.sha256()
        size = 0
        with self.opened() as stream:
            while True:
                try:
                    chunk = stream.read(_CHUNK)
                except OSError as error:
                    raise IntakeError(f"cannot be read: {error.strerror or error}") from None
                if not chunk:
                    break
                size += len(chunk)
                if size > LARGEST:
                    raise _too_large()
                digest.update(chunk)
                if told is not None:
                    told(len(chunk))
                yield chunk
        found = digest.hexdigest()
        if self.digest and found != self.digest:
            raise IntakeError("was changed while it was being read; try again")
        self.digest = found

    def _take_file(self, path: Path) -> None:
        shown = printable(str(path))
        try:
            status = path.stat()
            if stat.S_ISDIR(status.st_mode):
                raise IntakeError(f"“{shown}” is a folder, not a file")
            if stat.S_ISFIFO(status.st_mode):
                with path.open("rb") as stream:
                    self._keep(stream)
                return
            if not stat.S_ISREG(status.st_mode):
                raise IntakeError(f"“{shown}” is no ordinary file")
            with path.open("rb"):
                self._path, self.size = path, status.st_size
        except FileNotFoundError:
            raise IntakeError(f"there is no file “{shown}”") from None
        except (OSError, ValueError) as error:
            raise _unreadable(path, error) from None
        if self.size > LARGEST:
            raise IntakeError(f"{self.shown} {_too_large()}")

    def _take_stream(self, stream: TextIO) -> None:
        # Bytes where there are any: what a terminal or a pipe hands over need not be UTF-8.
        raw = getattr(stream, "buffer", None)
        try:
            if raw is not None:
                self._keep(cast("BinaryIO", raw))
            else:
                # A lone half of a surrogate pair is no character and has no bytes.
                text = tidy(stream.read(LARGEST + 1))
                self._keep(io.BytesIO(text.encode("utf-8")))
        except (OSError, ValueError) as error:
            raise IntakeError(f"what was typed cannot be read: {error}") from None

    def _keep(self, stream: BinaryIO) -> None:
        kept = cast("BinaryIO", tempfile.SpooledTemporaryFile(max_size=_IN_MEMORY))  # noqa: SIM115
        self.size = 0
        try:
            while chunk := stream.read(_CHUNK):
                self.size += len(chunk)
                if self.size > LARGEST:
                    raise IntakeError(f"{self.shown} {_too_large()}")
                kept.write(chunk)
        except BaseException:
            with suppress(OSError):
                kept.close()
            raise
        self._kept = kept


def _too_large() -> IntakeError:
    return IntakeError(f"is larger than {LARGEST // 1024**2} MB; split it")


def _unreadable(path: Path, error: OSError | ValueError) -> IntakeError:
    why = getattr(error, "strerror", None) or str(error)
    return IntakeError(f"“{printable(str(path))}” cannot be read: {why}")
