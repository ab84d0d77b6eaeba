"""Putting a backup in the place of a database, without ever losing what stood there.

The file from before keeps a name of its own, its log with it. From the moment that the backup
stands ready under the name `FILE-restored` it will take the place: a power cut in between only
delays that to the next start.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from drills.disk import sync_folder
from drills.errors import DatabaseLocked, StorageError
from drills.storage.backup import copy_database
from drills.storage.engine import file_uri, make_folder, require_writable, translated
from drills.storage.locks import in_use
from drills.storage.rotation import sound
from drills.storage.upgrade import finish_restore, free_name, waiting_name

_IN_USE = "{} is open in another window; close crosspour there and try again"


@dataclass(frozen=True, slots=True)
class Restored:
    """What was put back. `kept` is where the file from before is, None where there was none."""

    source: Path
    answers: int
    pours: int
    kept: Path | None


def restore_database(source: Path, database: Path) -> Restored:
    """Put a checked copy of `source` in the place of `database`.

    Raises:
        DatabaseCorrupt: `source` is damaged or not ours.
        DatabaseLocked: another process has the database open.
        StorageError: `source` is missing or is the database itself, or the disk is full; the
            database is as it was.
    """
    if not source.is_file():
        raise StorageError(f"there is no file {source} to restore from")
    # SQLite keeps its log beside the file that a link leads to.
    database = database.resolve()
    make_folder(database.parent)
    there = database.exists()
    if there and source.samefile(database):
        raise StorageError("the database cannot be restored from itself")
    sound(source)
    if there:
        require_writable(database)
    draft = database.with_name(f".{database.name}-{os.getpid()}.draft")
    contents = copy_database(source, draft, overwrite=True)
    try:
        if in_use(database):
            raise DatabaseLocked(_IN_USE.format(database))
        kept = _set_aside(database) if there else None
        draft.replace(waiting_name(database))
        sync_folder(database.parent)
        finish_restore(database)
    except OSError as error:
        raise StorageError(f"{database} cannot be replaced: {error.strerror}") from error
    finally:
        draft.unlink(missing_ok=True)
    rows = contents.rows
    return Restored(source, rows.get("answer", 0), rows.get("pour", 0), kept)


def _set_aside(database: Path) -> Path:
    """Give the present file a second name, its log with it; returns that name."""
    kept = free_name(database, "replaced" if _settled(database) else "damaged")
    # The log first: a file without the log that belongs to it would look whole and be older.
    for ending in ("-wal", "-journal", ""):
        old = database.with_name(database.name + ending)
        if old.exists():
            _second_name(old, kept.with_name(kept.name + ending))
    sync_folder(database.parent)
    return kept


def _settled(database: Path) -> bool:
    """Bring the log into the file, so that it stands alone; False where the file is damaged."""
    try:
        sound(database)
        with (
            translated(str(database)),
            closing(sqlite3.connect(file_uri(database, "rw"), uri=True, timeout=0)) as one,
        ):
            # Needs the file for itself.
            one.execute("PRAGMA journal_mode = DELETE")
    except DatabaseLocked as error:
        raise DatabaseLocked(_IN_USE.format(database)) from error
    except StorageError:
        return False
    return True


def _second_name(file: Path, other: Path) -> None:
    try:
        os.link(file, other)
    except OSError:
        # A file system without links (a memory stick).
        shutil.copyfile(file, other)
        with other.open("rb+") as stream:
            os.fsync(stream.fileno())
