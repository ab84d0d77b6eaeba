"""Making a database, checking its revision at every start, and upgrading an old one.

The check reads one row with plain sqlite3; alembic (some 200 ms) is imported only for a file that
is stale. A file that is not ours is recognised by its first bytes and never opened.
"""

from __future__ import annotations

import os
import sqlite3
import stat
import tempfile
from contextlib import closing, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from drills.disk import sync_folder
from drills.errors import DatabaseCorrupt, DatabaseNewer, StorageError
from drills.storage.backup import backup_folder, copy_database, has_backups
from drills.storage.engine import (
    APPLICATION_ID,
    WAIT_SECONDS,
    WRITES,
    Location,
    building_engine,
    file_uri,
    require_writable,
    translated,
)
from drills.storage.locks import turn

if TYPE_CHECKING:
    from sqlalchemy import Connection, Engine

REVISIONS = ("0001", "0002", "0003", "0004", "0005")
"""Every revision of the schema, oldest first; one module of `migrations/versions` each."""

MIGRATIONS = Path(__file__).parent / "migrations"

PROGRAM_KEY = "program"
"""Key in `meta`: version of the program that gave the database its schema."""

_HINT = "crosspour restore puts the newest backup in its place"

_VERSION_TABLE = (
    "CREATE TABLE alembic_version (version_num VARCHAR(32) NOT NULL,"
    " CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num))"
)


def prepare_file(
    location: Location,
    *,
    readonly: bool = False,
    wait_seconds: float = WAIT_SECONDS,
    migrations: Path = MIGRATIONS,
    revisions: tuple[str, ...] = REVISIONS,
) -> Path | None:
    """Bring a file to the newest schema: make it, accept it, upgrade it or refuse it.

    Returns the copy that was put beside the file before an upgrade, or None.

    Raises:
        StorageError: no such folder, a folder instead of a file, no file to read.
        DatabaseReadOnly: the file must be written and cannot be.
        DatabaseCorrupt: damaged, half written or another program's; the file is as it was.
        DatabaseNewer: a later version of the program wrote it; the file is as it was.
    """
    file = location.file
    assert file is not None
    with translated(str(file)):
        if not readonly:
            _settle_restore(file)
        if _is_new(file):
            if readonly:
                raise StorageError(f"there is no database at {file}")
            _refuse_to_begin_anew(file)
            _set_log_aside(file)
            _make_file(location)
            return None
        if not readonly:
            require_writable(file)
        try:
            revision = read_revision(file, wait_seconds=wait_seconds)
        except DatabaseCorrupt as error:
            if not has_backups(file):
                raise
            raise DatabaseCorrupt(f"{error}; {_HINT}") from error
        if revision == revisions[-1]:
            return None
        if revision not in revisions:
            raise _newer(file, file_uri(file, "ro"))
        if readonly:
            raise StorageError(f"{file} must be upgraded first: open it once for writing")
        return _upgrade_file(location, revision, revisions, migrations, wait_seconds)


def prepare_server(engine: Engine, name: str, *, readonly: bool = False) -> None:
    """Bring a database that is no file (a server's, or one in memory) to the newest schema.

    Raises:
        DatabaseNewer: a later version of the program wrote it.
        StorageError: the database cannot be reached, or must be made or upgraded but only read.
    """
    from sqlalchemy import inspect, text

    opened = engine if readonly else engine.execution_options(**{WRITES: True})
    with translated(name), opened.begin() as connection:
        if not inspect(connection).has_table("alembic_version"):
            if readonly:
                raise StorageError(f"there is nothing of ours at {name}")
            build(connection)
            return
        revision = connection.scalar(text("SELECT version_num FROM alembic_version"))
        if revision == REVISIONS[-1]:
            return
        if revision not in REVISIONS:
            raise DatabaseNewer(f"{name} was made by a later version of crosspour; update it here")
        if readonly:
            raise StorageError(f"{name} must be upgraded first: open it once for writing")
        _migrate(connection, MIGRATIONS, REVISIONS[-1])


def read_revision(file: Path, *, wait_seconds: float = WAIT_SECONDS) -> str:
    """Return the schema revision of a file of ours, reading only.

    Raises:
        DatabaseCorrupt: the file is damaged or not ours.
    """
    _check_header(file)
    with translated(str(file)):
        try:
            row = _read_revision(file, "ro", wait_seconds)
        except sqlite3.OperationalError as error:
            # A power cut within an upgrade left a journal that is to be rolled back first.
            if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_READONLY:
                raise
            row = _read_revision(file, "rw", wait_seconds)
    if row is None:
        raise DatabaseCorrupt(f"{file} has lost its tables; restore a backup")
    return str(row[0])


def _read_revision(file: Path, mode: str, wait_seconds: float) -> tuple[str] | None:
    uri = file_uri(file, mode)
    with closing(sqlite3.connect(uri, uri=True, timeout=wait_seconds)) as reader:
        try:
            row: tuple[str] | None = reader.execute(
                "SELECT version_num FROM alembic_version"
            ).fetchone()
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode != sqlite3.SQLITE_ERROR:
                raise
            return None
    return row


def build(connection: Connection) -> None:
    """Make the newest schema in an empty database, in the transaction of `connection`.

    Quicker than running the migrations, and a test holds the two to the same result.
    """
    from sqlalchemy import text

    from drills.storage import columns, tables

    tables.metadata.create_all(connection, checkfirst=False)
    connection.execute(text(_VERSION_TABLE))
    connection.execute(text("INSERT INTO alembic_version VALUES (:it)"), {"it": REVISIONS[-1]})
    connection.execute(columns.META.insert().values(key=PROGRAM_KEY, value=program_version()))
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
    _furnish(connection)


def program_version() -> str:
    """Return the version of the installed program, or "0" when it runs from its sources."""
    from importlib import metadata

    try:
        # None where the installed metadata cannot be read.
        return metadata.version("crosspour") or "0"
    except metadata.PackageNotFoundError:
        return "0"


def _settle_restore(file: Path) -> None:
    try:
        # SQLite keeps its log beside the file that a link leads to.
        finish_restore(file.resolve())
    except (OSError, RuntimeError) as error:
        raise StorageError(f"{file} cannot be opened: {error}") from error


def _is_new(file: Path) -> bool:
    """Whether there is nothing yet; refuses what can never become a database."""
    if file.is_dir():
        raise StorageError(f"{file} is a folder, not a database")
    if not file.parent.is_dir():
        raise StorageError(f"there is no folder {file.parent} for the database")
    try:
        found = file.stat()
        # An empty file is replaced by a whole one; a device or a pipe must never be.
        if not stat.S_ISREG(found.st_mode):
            raise StorageError(f"{file} is no file that a database could be kept in")
        return found.st_size == 0
    except FileNotFoundError:
        return True
    except OSError as error:
        raise StorageError(f"{file} cannot be opened: {error.strerror}") from error


def _refuse_to_begin_anew(file: Path) -> None:
    """A file that is gone, or was emptied by a power cut, is no new one where it was backed up."""
    if has_backups(file):
        raise DatabaseCorrupt(
            f"{file} is {'empty' if file.exists() else 'gone'}, though {backup_folder(file)} holds"
            f" backups of it; {_HINT}, and once that folder is moved away a new one is begun"
        )


def _set_log_aside(file: Path) -> None:
    """Keep a log whose database is gone under another name: SQLite would play it into the new."""
    logs = [file.with_name(file.name + ending) for ending in ("-wal", "-journal")]
    left = [log for log in logs if log.exists()]
    # Asked in this order: the log of a database that another process makes now is not among them.
    if left and (not file.exists() or file.stat().st_size == 0):
        for log in left:
            with suppress(FileNotFoundError):
                log.rename(free_name(log, "left-over"))


def _check_header(file: Path) -> None:
    """Recognise our files by their first 100 bytes (SQLite file format, section 1.3)."""
    try:
        with file.open("rb") as stream:
            header = stream.read(100)
    except OSError as error:
        raise StorageError(f"{file} cannot be opened: {error.strerror}") from error
    if len(header) < 100 or not header.startswith(b"SQLite format 3\x00"):
        raise DatabaseCorrupt(f"{file} is no database, or a damaged one; it is left as it is")
    if int.from_bytes(header[68:72], "big") != APPLICATION_ID:
        raise DatabaseCorrupt(f"{file} belongs to another program; it is left as it is")


def _make_file(location: Location) -> None:
    """Make a file under another name and publish it whole, so that no half-made one is ever met."""
    file = location.file
    assert file is not None
    try:
        handle, draft_name = tempfile.mkstemp(prefix=f".{file.name}-", dir=file.parent)
    except OSError as error:
        raise StorageError(f"{file} cannot be made: {error.strerror}") from error
    os.close(handle)
    draft = Path(draft_name)
    try:
        engine = building_engine(Location(location.url, draft))
        with engine.begin() as connection:
            build(connection)
        with closing(sqlite3.connect(file_uri(draft, "rw"), uri=True)) as plain:
            plain.execute("PRAGMA journal_mode = WAL")
        _publish(draft, file)
    finally:
        draft.unlink(missing_ok=True)


def _publish(draft: Path, file: Path) -> None:
    """Give the draft its name, unless another process was quicker."""
    with suppress(FileNotFoundError):
        if file.stat().st_size == 0:
            file.unlink()
    try:
        os.link(draft, file)
    except FileExistsError:
        return
    except OSError:
        # A file system without links (a memory stick).
        if not file.exists():
            draft.rename(file)
    sync_folder(file.parent)


def _newer(file: Path, uri: str) -> DatabaseNewer:
    from importlib.metadata import version

    with closing(sqlite3.connect(uri, uri=True)) as reader:
        try:
            row = reader.execute("SELECT value FROM meta WHERE key = ?", (PROGRAM_KEY,)).fetchone()
        except sqlite3.OperationalError:
            row = None
    # Of two copies with one number the later one may have made the file: its number says nothing.
    named = row and row[0] not in ("0", version("crosspour"))
    needed = f"crosspour {row[0]} or later" if named else "a later crosspour than this one"
    return DatabaseNewer(f"{file} needs {needed}; it is left as it is")


def _upgrade_file(
    location: Location,
    revision: str,
    revisions: tuple[str, ...],
    migrations: Path,
    wait_seconds: float,
) -> Path | None:
    file = location.file
    assert file is not None
    copy = free_name(file, f"before-{revisions[-1]}")
    copy_database(file, copy)
    try:
        engine = building_engine(location, wait_seconds=wait_seconds)
        with engine.begin() as connection:
            # Another process may have upgraded the file while this one waited for the lock.
            now = connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar()
            mine = now == revision
            if mine:
                _migrate(connection, migrations, revisions[-1])
    except Exception as error:
        # All of it was one transaction, so the file is as it was and the copy is not needed.
        if read_revision(file) == revision:
            copy.unlink(missing_ok=True)
            kept = "it is as it was"
        else:
            kept = f"a copy from before is at {copy}"
        raise StorageError(
            f"{file} could not be upgraded, {kept} ({_first_line(error)})"
        ) from error
    if not mine:
        copy.unlink(missing_ok=True)
        return None
    return copy


def _migrate(connection: Connection, migrations: Path, revision: str) -> None:
    """Run the migrations inside the open transaction and check what they leave."""
    from alembic import command
    from alembic.config import Config

    from drills.storage.columns import META

    config = Config()
    # ConfigParser reads a percent sign as the start of a reference.
    config.set_main_option("script_location", str(migrations).replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, revision)
    if connection.dialect.name == "sqlite":
        broken = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
        if broken:
            raise StorageError(f"{len(broken)} rows of {broken[0][0]} would refer to nothing")
    _furnish(connection)
    connection.execute(
        META.update().where(META.c.key == PROGRAM_KEY).values(value=program_version())
    )


def waiting_name(file: Path) -> Path:
    """Return the name under which a restored backup waits to take a database's place."""
    return file.with_name(f"{file.name}-restored")


def finish_restore(file: Path) -> None:
    """Let a restored backup that waits beside a database take its place; nothing where none does.

    Its file from before has a second name by then. OSError is raised where it cannot be done.
    """
    waiting = waiting_name(file)
    if not waiting.exists():
        return
    with turn(file.with_name(f".{file.name}.lock"), wait=True):
        if waiting.exists():
            # The log of the file from before would be played into the new one.
            for ending in ("-wal", "-shm", "-journal"):
                file.with_name(file.name + ending).unlink(missing_ok=True)
            waiting.replace(file)
            sync_folder(file.parent)
    file.with_name(f".{file.name}.lock").unlink(missing_ok=True)


def free_name(file: Path, word: str) -> Path:
    """Return a name beside `file` that nothing has yet."""
    number = 1
    while True:
        suffix = "" if number == 1 else f"-{number}"
        candidate = file.with_name(f"{file.stem}.{word}{suffix}{file.suffix}")
        if not candidate.exists():
            return candidate
        number += 1


def _furnish(connection: Connection) -> None:
    """Add what only a server has."""
    if connection.dialect.name == "postgresql":
        from drills.storage.rights import furnish

        furnish(connection)


def _first_line(error: Exception) -> str:
    return (str(error).strip() or type(error).__name__).splitlines()[0]
