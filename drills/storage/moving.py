"""Moving house: every row from one database into another, whatever kinds the two are.

The target gets everything in one transaction, and each row is read back and compared before that
is committed. The source is only read, at one state of it.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from itertools import zip_longest
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Row, Table, collate, exists, func, inspect, select, text
from sqlalchemy.types import String

from drills.disk import sync_folder
from drills.errors import DatabaseMisnamed, DatabaseReadOnly, StorageError
from drills.storage.backup import copy_database
from drills.storage.engine import (
    WRITES,
    Location,
    building_engine,
    locate,
    make_engine,
    translated,
)
from drills.storage.repository import Repository, open_repository
from drills.storage.restore import Restored
from drills.storage.rotation import sound
from drills.storage.upgrade import REVISIONS, build, free_name

Moved = dict[str, int]
"""How many rows each table has got."""

_TOGETHER = 1000


def move(source: Repository, to: str) -> Moved:
    """Copy everything into a new file or an empty database of a server.

    Raises:
        StorageError: the target is not empty or cannot be written, or a row came out otherwise than
            it went in; then the target is as it was.
    """
    location = locate(to)
    if location.in_memory:
        raise DatabaseMisnamed(
            "a database in memory would be gone at once; name a file or a server"
        )
    if location.name == source.location.name:
        raise StorageError(f"{location.name} is where everything is already")
    if location.file is not None:
        return copy_to_file(source, location.file)
    engine = make_engine(location).execution_options(**{WRITES: True})
    try:
        with (
            source.snapshot() as reader,
            translated(location.name),
            engine.begin() as writer,
        ):
            if not inspect(writer).has_table("alembic_version"):
                build(writer)
            else:
                _require_empty(writer, location.name)
            return fill(reader, writer)
    finally:
        engine.dispose()


def copy_to_file(source: Repository, file: Path) -> Moved:
    """Copy everything into a new file, which appears whole or not at all.

    Raises:
        StorageError: the file exists, cannot be made, or a row came out otherwise.
    """
    if file.exists():
        raise StorageError(f"{file} exists already; name a file that does not")
    if not file.parent.is_dir():
        raise StorageError(f"there is no folder {file.parent} for {file.name}")
    draft = file.with_name(f".{file.name}-{os.getpid()}.draft")
    try:
        draft.touch(exist_ok=False)
        engine = building_engine(Location(locate(draft).url, draft))
        with source.snapshot() as reader, translated(str(draft)), engine.begin() as writer:
            build(writer)
            rows = fill(reader, writer)
            broken = writer.exec_driver_sql("PRAGMA foreign_key_check").all()
            if broken:
                raise StorageError(f"{len(broken)} rows of {broken[0][0]} would refer to nothing")
        with draft.open("rb+") as stream:
            os.fsync(stream.fileno())
        # A name that somebody took meanwhile is not taken from them.
        os.link(draft, file)
        sync_folder(file.parent)
    except OSError as error:
        raise StorageError(f"{file} cannot be made: {error.strerror}") from error
    finally:
        draft.unlink(missing_ok=True)
    return rows


def restore_server(repository: Repository, file: Path, beside: Path) -> Restored:
    """Put what a file of ours holds in the place of all that a server's database holds.

    What was there before is first copied into the folder `beside`.

    Raises:
        DatabaseReadOnly: this is the login of one taster.
        StorageError: and its kinds: the file is missing, damaged or newer; the server is as it was.
    """
    if repository.is_member:
        raise DatabaseReadOnly("only whoever runs the group may restore: your login may not")
    if not file.is_file():
        raise StorageError(f"there is no file {file} to restore from")
    sound(file)
    beside.mkdir(parents=True, exist_ok=True)
    name = Path(repository.location.url.database or "group").name
    kept = free_name(beside / f"{name}.sqlite3", "replaced")
    copy_to_file(repository, kept)
    with tempfile.TemporaryDirectory(prefix="crosspour-restore-") as folder:
        # A copy, for an old file is upgraded first.
        copied = Path(folder) / "copy.sqlite3"
        copy_database(file, copied)
        with (
            open_repository(copied) as source,
            source.snapshot() as reader,
            repository.writing() as writer,
        ):
            names = ", ".join(table.name for table in _tables())
            writer.exec_driver_sql(f"TRUNCATE {names}")
            rows = fill(reader, writer)
    return Restored(file, rows["answer"], rows["pour"], kept)


def fill(reader: Connection, writer: Connection) -> Moved:
    """Copy every row into tables that hold none, and compare all of them with where they are from.

    Raises:
        StorageError: a row came out otherwise than it went in.
    """
    moved: Moved = {}
    for table in _tables():
        # A new database knows which version of the program made it; the old one's word counts.
        if table.name == "meta":
            writer.execute(table.delete())
        moved[table.name] = 0
        for rows in reader.execute(
            select(table).execution_options(yield_per=_TOGETHER)
        ).partitions():
            writer.execute(table.insert(), [row._asdict() for row in rows])
            moved[table.name] += len(rows)
        for old, new in zip_longest(_in_order(reader, table), _in_order(writer, table)):
            if old is None or new is None or tuple(old) != tuple(new):
                raise StorageError(
                    f"a row of {table.name} came out otherwise than it went in; nothing was moved"
                )
    if writer.dialect.name == "postgresql":
        from drills.storage.rights import furnish

        _set_sequences(writer)
        furnish(writer)
    return moved


def _in_order(connection: Connection, table: Table) -> Iterator[Row[Any]]:
    # Texts by code point: each kind of database has its own idea of the alphabet.
    plain = "C" if connection.dialect.name == "postgresql" else "BINARY"
    keys = [
        collate(column, plain) if isinstance(column.type, String) else column
        for column in table.primary_key.columns
    ]
    query = select(table).order_by(*keys).execution_options(yield_per=_TOGETHER)
    yield from connection.execute(query)


def _set_sequences(connection: Connection) -> None:
    """Let the server number on from the highest that is taken."""
    for table in _tables():
        for column in table.primary_key.columns:
            found = connection.scalar(
                text("SELECT pg_get_serial_sequence(quote_ident(:table), :column)"),
                {"table": table.name, "column": column.name},
            )
            if found is not None:
                highest = connection.scalar(select(func.max(column)))
                connection.execute(
                    text("SELECT setval(CAST(:sequence AS regclass), :highest, :taken)"),
                    {"sequence": found, "highest": highest or 1, "taken": highest is not None},
                )


def _require_empty(connection: Connection, name: str) -> None:
    revision = connection.scalar(text("SELECT version_num FROM alembic_version"))
    if revision != REVISIONS[-1]:
        raise StorageError(f"{name} holds another version of our tables; move into an empty one")
    for table in _tables():
        if table.name != "meta" and connection.scalar(select(exists(select(table)))):
            raise StorageError(
                f"{name} is not empty: it has rows in {table.name}; nothing was moved"
            )


def _tables() -> list[Table]:
    """All tables, those first that others refer to."""
    from drills.storage.tables import metadata

    return metadata.sorted_tables
