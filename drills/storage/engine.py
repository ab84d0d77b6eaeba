"""Opening a database, and turning what a driver complains about into our own errors.

Everything that only SQLite knows stands here and in `upgrade`.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import URL, Connection, Engine, create_engine, event, exc, make_url
from sqlalchemy.engine.interfaces import DBAPIConnection
from sqlalchemy.pool import ConnectionPoolEntry, NullPool, QueuePool, StaticPool

from drills.errors import (
    ConnectionLost,
    DatabaseCorrupt,
    DatabaseLocked,
    DatabaseMisnamed,
    DatabaseReadOnly,
    DrillsError,
    StorageError,
)
from drills.paths import expanded

WAIT_SECONDS = 2.0
"""How long we wait for another program to finish writing."""

APPLICATION_ID = 0x43725072
"""Marks what is ours: in the header of every file, and as the name of a server's locks."""

WRITES = "crosspour_writes"
"""Execution option of a connection that is going to write: True, or the taster it writes for."""

# PostgreSQL's own programs take either word.
_SERVERS = ("postgresql", "postgres")


@dataclass(frozen=True, slots=True)
class Location:
    """Where a database is: a file of ours, or (`file` is None) whatever `url` says."""

    url: URL
    file: Path | None

    @property
    def name(self) -> str:
        """How messages call the database; never shows a password."""
        if self.file:
            return str(self.file)
        if self.in_memory:
            return self.url.render_as_string(hide_password=True)
        from drills.storage.server import shown

        return shown(self.url)

    @property
    def in_memory(self) -> bool:
        """Whether the database ends with the program."""
        return self.file is None and self.url.get_backend_name() == "sqlite"


def locate(given: str | Path) -> Location:
    """Read a path or a database URL (anything with `://`).

    Raises:
        DatabaseMisnamed: the URL cannot be read, or names a kind of database that is not known.
    """
    text = str(given)
    if "://" not in text:
        file = expanded(text).absolute()
        return Location(URL.create("sqlite", database=str(file)), file)
    try:
        url = make_url(text)
        backend = url.get_backend_name()
    except (exc.ArgumentError, ValueError):
        # Neither the text nor the frames that read it are shown: they may hold a password.
        raise DatabaseMisnamed(
            "the database URL cannot be read; one looks like postgresql://ada@host:5432/group"
        ) from None
    if backend not in ("sqlite", *_SERVERS):
        raise DatabaseMisnamed(
            f"“{backend}” is no database that crosspour knows; give the path of an SQLite file, or"
            " a URL that begins with postgresql://"
        )
    if backend != "sqlite":
        from drills.storage.server import server_url

        return Location(server_url(url), None)
    if url.database in (None, "", ":memory:"):
        return Location(url, None)
    assert url.database is not None
    if url.database.startswith("file:") or url.drivername not in ("sqlite", "sqlite+pysqlite"):
        raise DatabaseMisnamed("give an SQLite database as the plain path of its file")
    return Location(url, expanded(url.database).absolute())


def file_uri(file: Path, mode: str) -> str:
    """Return SQLite's own URI of a file; `mode` is ro, rw (must exist) or rwc (may be made)."""
    uri = f"{file.absolute().as_uri()}?mode={mode}"
    # In write-ahead mode SQLite wants to put files beside the database even to read it. In a
    # folder that forbids it, a file nobody is writing may be read as it stands.
    if mode == "ro" and not _may_write(file.parent):
        log = file.with_name(file.name + "-wal")
        if not log.exists() or log.stat().st_size == 0:
            uri += "&immutable=1"
    return uri


def make_engine(
    location: Location, *, readonly: bool = False, wait_seconds: float = WAIT_SECONDS
) -> Engine:
    """Return an engine for daily use; for a file, the file must exist and be ours.

    Raises:
        StorageError: the driver of the URL is not installed.
    """
    if location.file is not None:
        engine = _file_engine(location.file, readonly, wait_seconds)
    elif location.in_memory:
        # One connection for all threads, or each thread would see a database of its own.
        engine = create_engine(
            "sqlite://", poolclass=StaticPool, connect_args={"check_same_thread": False}
        )
        _control_transactions(engine, readonly=readonly, foreign_keys=True)
    else:
        from drills.storage.server import server_engine

        engine = server_engine(location.url, wait_seconds)
    return engine


def building_engine(location: Location, *, wait_seconds: float = WAIT_SECONDS) -> Engine:
    """Return an engine that makes or upgrades a schema.

    With foreign keys on, recreating a table would delete what refers to it. Every transaction takes
    the write lock at once and covers the DDL, so that a failure leaves nothing behind.
    """
    if location.file is None:
        return make_engine(location)
    file = location.file
    engine = create_engine(
        "sqlite://",
        creator=lambda: sqlite3.connect(
            file_uri(file, "rw"), uri=True, timeout=wait_seconds, check_same_thread=False
        ),
        poolclass=NullPool,
    )
    _control_transactions(engine, readonly=False, foreign_keys=False, always_write=True)
    return engine


def _file_engine(file: Path, readonly: bool, wait_seconds: float) -> Engine:
    mode = "ro" if readonly else "rw"

    def connect() -> sqlite3.Connection:
        return sqlite3.connect(
            file_uri(file, mode), uri=True, timeout=wait_seconds, check_same_thread=False
        )

    engine = create_engine("sqlite://", creator=connect, poolclass=QueuePool)
    _control_transactions(engine, readonly=readonly, foreign_keys=True, write_ahead=not readonly)
    return engine


def _control_transactions(
    engine: Engine,
    *,
    readonly: bool,
    foreign_keys: bool,
    write_ahead: bool = False,
    always_write: bool = False,
) -> None:
    """Let SQLAlchemy begin transactions: the driver's own way leaves SELECT and DDL outside."""

    @event.listens_for(engine, "connect")
    def prepare(connection: DBAPIConnection, _entry: ConnectionPoolEntry) -> None:
        connection.isolation_level = None
        cursor = connection.cursor()
        cursor.execute(f"PRAGMA foreign_keys = {'ON' if foreign_keys else 'OFF'}")
        if write_ahead:
            cursor.execute("PRAGMA journal_mode = WAL")
        # In write-ahead mode the usual setting may lose the last answers in a power cut.
        cursor.execute("PRAGMA synchronous = FULL")
        if readonly:
            cursor.execute("PRAGMA query_only = ON")
        cursor.close()

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        # A transaction that reads first and writes later cannot wait for its lock, so writers
        # take it at once.
        writes = always_write or WRITES in connection.get_execution_options()
        # Straight to the driver: an answer takes two transactions, and SQLAlchemy's own way to
        # execute a statement would cost as much as what the first of them is for.
        driver = connection.connection.driver_connection
        assert driver is not None
        driver.execute("BEGIN IMMEDIATE" if writes else "BEGIN")


@contextmanager
def translated(name: str) -> Iterator[None]:
    """Turn a driver's error inside the block into one of ours; `name` is what messages call it.

    Raises:
        DatabaseLocked, DatabaseReadOnly, DatabaseCorrupt, StorageError: as their names say.
        ValueError: a value that cannot be stored (a time without a zone).
    """
    try:
        yield
    except DrillsError:
        raise
    except exc.StatementError as error:
        cause = error.orig
        if isinstance(cause, ValueError | TypeError):
            raise cause from None
        ours = _ours(name, cause if cause is not None else error)
        # Where a connection fails, the frames of the driver hold its password, and a traceback
        # that shows them would tell it.
        raise ours from (None if isinstance(ours, ConnectionLost) else error)
    except exc.SQLAlchemyError as error:
        raise _ours(name, error) from error
    except sqlite3.Error as error:
        raise _ours(name, error) from error
    except UnicodeDecodeError as error:
        raise _damaged(name) from error
    except (ValueError, TypeError) as error:
        # A date that cannot be read: nothing of the kind was ever written.
        if "isoformat" in str(error):
            raise _damaged(name) from error
        raise


def _damaged(name: str) -> DatabaseCorrupt:
    return DatabaseCorrupt(
        f"{name} is damaged or no database; nothing was written to it,"
        " crosspour restore puts a backup in its place"
    )


def _ours(name: str, cause: BaseException) -> StorageError:
    """Choose our error for a driver's error."""
    if not isinstance(cause, sqlite3.Error):
        from drills.storage.server import server_error

        return server_error(name, cause)
    # The low byte is the kind, the rest says more of it. Python's own complaints have no code.
    code = getattr(cause, "sqlite_errorcode", 0) & 0xFF
    if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return DatabaseLocked(
            f"another program is writing to {name}; close it or try again in a moment"
        )
    if code == sqlite3.SQLITE_READONLY:
        return DatabaseReadOnly(f"{name} may be read but not written")
    if code in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB):
        return _damaged(name)
    if "decode" in str(cause):
        return _damaged(name)
    if code == sqlite3.SQLITE_FULL:
        return StorageError(f"the disk is full: {name} keeps what it had, the last step is lost")
    if code in (sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM, sqlite3.SQLITE_AUTH):
        return StorageError(f"{name} cannot be opened: check the folder and its permissions")
    if getattr(cause, "sqlite_errorcode", 0) == sqlite3.SQLITE_IOERR_SHMSIZE:
        return StorageError(f"the disk is full: {name} cannot be opened without some room")
    if code == sqlite3.SQLITE_IOERR:
        return StorageError(f"the disk of {name} failed to read or write ({cause})")
    if code == sqlite3.SQLITE_CONSTRAINT:
        return StorageError(f"{name} refused a value that contradicts what it holds ({cause})")
    return StorageError(f"the database {name} answered: {cause}")


def make_folder(folder: Path) -> None:
    """Make a folder where there is none yet.

    Raises:
        StorageError: it cannot be made.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StorageError(f"the folder {folder} cannot be made: {error.strerror}") from error


def require_writable(file: Path) -> None:
    """Refuse a file that could be read only, before anything is asked of it.

    Raises:
        DatabaseReadOnly: the file or its folder may not be written.
    """
    if not _may_write(file) or not _may_write(file.parent):
        raise DatabaseReadOnly(f"{file} may be read but not written")


def _may_write(path: Path) -> bool:
    return os.access(path, os.W_OK, effective_ids=os.access in os.supports_effective_ids)
