"""A whole, checked copy of the database, taken while it may be in use."""

from __future__ import annotations

import os
import sqlite3
import tempfile
from collections.abc import Mapping
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from drills.disk import sync_folder
from drills.errors import DatabaseCorrupt, StorageError
from drills.storage.engine import file_uri, translated

# A step copies so many pages and then lets others run; the transaction around all steps sees one
# state throughout.
_PAGES_AT_ONCE = 512

Check = Literal["whole", "quick", "none"]
_CHECKS = {"whole": "PRAGMA integrity_check(1)", "quick": "PRAGMA quick_check(1)"}


@dataclass(frozen=True, slots=True)
class Contents:
    """What a database holds: the revision of its schema, and how many rows each table has."""

    revision: str
    rows: Mapping[str, int]


def copy_database(
    source: Path, target: Path, *, overwrite: bool = False, draft: Path | None = None
) -> Contents:
    """Copy a database file with SQLite's backup interface; the target appears whole or not at all.

    The copy is opened anew and must be sound and hold as many rows as the source did. `draft` is
    the name that it has until then, in the target's folder; one of its own where none is given.

    Raises:
        DatabaseCorrupt: the source is damaged.
        StorageError: the target exists (and `overwrite` is False), is the source itself, is a
            folder, or is in use; the folder is missing; the disk is full.
    """
    if not source.is_file():
        raise StorageError(f"there is no database at {source}")
    _check_target(source, target, overwrite)
    try:
        if draft is None:
            handle, name = tempfile.mkstemp(prefix=f".{target.name}-", dir=target.parent)
            draft = Path(name)
        else:
            handle = os.open(draft, os.O_CREAT | os.O_TRUNC | os.O_RDWR, 0o600)
    except OSError as error:
        raise StorageError(f"{target} cannot be made: {error.strerror}") from error
    os.close(handle)
    try:
        with translated(str(draft)):
            contents = _fill(source, draft)
        try:
            copied = contents_of(draft, "whole")
        except DatabaseCorrupt as error:
            raise DatabaseCorrupt(f"{source} is damaged; no copy was made") from error
        if copied != contents:
            raise StorageError(f"the copy of {source} does not hold what {source} does; try again")
        with draft.open("rb+") as stream:
            os.fsync(stream.fileno())
        # Asked again: the copy took a while.
        _check_target(source, target, overwrite)
        draft.replace(target)
        sync_folder(target.parent)
    except OSError as error:
        raise StorageError(f"{target} cannot be written: {error.strerror}") from error
    finally:
        for ending in ("", "-journal"):
            draft.with_name(draft.name + ending).unlink(missing_ok=True)
    return contents


def contents_of(file: Path, check: Check = "quick") -> Contents:
    """Check a database, and return what it holds.

    "whole" also holds every index against its table, which takes several times as long.

    Raises:
        DatabaseCorrupt: it is no database, or damaged.
        StorageError: it cannot be read.
    """
    with (
        translated(str(file)),
        closing(sqlite3.connect(file_uri(file, "ro"), uri=True)) as reader,
    ):
        if check != "none":
            verdict = reader.execute(_CHECKS[check]).fetchone()[0]
            if verdict != "ok":
                raise DatabaseCorrupt(f"{file} is damaged ({str(verdict).splitlines()[-1]})")
        return _count(reader)


def backup_folder(database: Path) -> Path:
    """Return the folder of a database's daily backups; it need not exist."""
    return database.with_name(f"{database.stem}-backups")


def has_backups(database: Path) -> bool:
    """Whether there are daily backups of a database, going by their names."""
    return any(backup_folder(database).glob(f"*.????-??-??*{database.suffix}"))


def _fill(source: Path, draft: Path) -> Contents:
    with (
        closing(sqlite3.connect(file_uri(source, "ro"), uri=True, isolation_level=None)) as reader,
        closing(sqlite3.connect(file_uri(draft, "rw"), uri=True)) as writer,
    ):
        # What is counted is what is copied: one transaction holds both.
        reader.execute("BEGIN")
        contents = _count(reader)
        # A draft needs no journal and no waiting for the disk: it is synced once, when it is whole.
        writer.execute("PRAGMA journal_mode = OFF")
        writer.execute("PRAGMA synchronous = OFF")
        reader.backup(writer, pages=_PAGES_AT_ONCE)
        # A copy in write-ahead mode would want files beside it even to be read.
        writer.execute("PRAGMA journal_mode = DELETE")
    return contents


def _count(reader: sqlite3.Connection) -> Contents:
    revision = reader.execute("SELECT version_num FROM alembic_version").fetchone()
    tables = reader.execute(
        "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'"
    ).fetchall()
    return Contents(
        "" if revision is None else str(revision[0]),
        {
            name: reader.execute(f'SELECT count(*) FROM "{name}"').fetchone()[0]
            for (name,) in tables
        },
    )


def _check_target(source: Path, target: Path, overwrite: bool) -> None:
    # Unlike those of a Path, these answer for a name that is too long, too: there is no such file.
    if os.path.isdir(target):
        raise StorageError(f"{target} is a folder; name a file in it")
    if not os.path.isdir(target.parent):
        raise StorageError(f"there is no folder {target.parent} for the copy")
    if not os.path.exists(target):
        return
    if target.samefile(source):
        raise StorageError("the database cannot be copied onto itself")
    if not overwrite:
        raise StorageError(f"{target} exists already; choose another name")
    for ending in ("-wal", "-journal"):
        if target.with_name(target.name + ending).exists():
            # SQLite would play the old log into the new file.
            raise StorageError(f"{target} is in use or was not closed; choose another name")
