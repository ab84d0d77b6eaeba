"""A whole, checked copy of the database, taken while it may be in use."""

from __future__ import annotations

import os
import sqlite3
import tempfile
from contextlib import closing, suppress
from pathlib import Path

from drills.errors import StorageError
from drills.storage.engine import file_uri, translated


def copy_database(source: Path, target: Path, *, overwrite: bool = False) -> None:
    """Copy a database file with SQLite's backup interface; the target appears whole or not at all.

    Raises:
        StorageError: the target exists (and `overwrite` is False), is the source itself, is a
            folder, or is in use; the folder is missing; the disk is full; the copy is not sound.
    """
    _check_target(source, target, overwrite)
    try:
        handle, draft_name = tempfile.mkstemp(prefix=f".{target.name}-", dir=target.parent)
    except OSError as error:
        raise StorageError(f"{target} cannot be made: {error.strerror}") from error
    os.close(handle)
    draft = Path(draft_name)
    try:
        with translated(str(draft)):
            _fill(source, draft)
        with draft.open("rb+") as stream:
            os.fsync(stream.fileno())
        # Asked again: the copy took a while.
        _check_target(source, target, overwrite)
        draft.replace(target)
        sync_folder(target.parent)
    except OSError as error:
        raise StorageError(f"{target} cannot be written: {error.strerror}") from error
    finally:
        draft.unlink(missing_ok=True)


def sync_folder(folder: Path) -> None:
    """Make a new or renamed file in `folder` survive a power cut, where the system can."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _fill(source: Path, draft: Path) -> None:
    with (
        closing(sqlite3.connect(file_uri(source, "ro"), uri=True)) as reader,
        closing(sqlite3.connect(file_uri(draft, "rw"), uri=True)) as writer,
    ):
        reader.backup(writer)
        # A copy in write-ahead mode would want files beside it even to be read.
        writer.execute("PRAGMA journal_mode = DELETE")
        verdict = writer.execute("PRAGMA integrity_check(1)").fetchone()[0]
    if verdict != "ok":
        raise StorageError(f"{source} is damaged ({verdict}); no copy was made")


def _check_target(source: Path, target: Path, overwrite: bool) -> None:
    if target.is_dir():
        raise StorageError(f"{target} is a folder; name a file in it")
    if not target.parent.is_dir():
        raise StorageError(f"there is no folder {target.parent} for the copy")
    if not target.exists():
        return
    if target.samefile(source):
        raise StorageError("the database cannot be copied onto itself")
    if not overwrite:
        raise StorageError(f"{target} exists already; choose another name")
    for ending in ("-wal", "-journal"):
        if target.with_name(target.name + ending).exists():
            # SQLite would play the old log into the new file.
            raise StorageError(f"{target} is in use or was not closed; choose another name")
