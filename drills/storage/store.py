"""The ground the repository stands on: one engine, short transactions, our own errors."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, Insert, select

from drills.clock import Clock
from drills.errors import DatabaseReadOnly, StorageError
from drills.paths import expanded
from drills.storage.backup import copy_database
from drills.storage.columns import META
from drills.storage.engine import WRITES, Location, translated


class Store:
    """An open database; the parts of the repository add what is asked of it."""

    def __init__(self, location: Location, engine: Engine, clock: Clock, *, readonly: bool) -> None:
        self.location = location
        self.readonly = readonly
        self._engine = engine
        self._writer = engine.execution_options(**{WRITES: True})
        self._clock = clock
        self.on_server = location.file is None and not location.in_memory

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Open a transaction for reading; in a file it sees one state throughout.

        Raises:
            StorageError: and its kinds, see `translated`.
        """
        with translated(self.location.name), self._engine.connect() as connection:
            yield connection

    @contextmanager
    def snapshot(self) -> Iterator[Connection]:
        """Open a transaction for reading that sees one state throughout, on a server too.

        Raises:
            StorageError: and its kinds, see `translated`.
        """
        one_state = {"isolation_level": "REPEATABLE READ"} if self.on_server else {}
        with translated(self.location.name), self._engine.connect() as connection:
            yield connection.execution_options(**one_state)

    @contextmanager
    def writing(self, taster_id: int | None = None) -> Iterator[Connection]:
        """Open a transaction that is committed whole at the end, or not at all.

        One that writes for one taster only may name them: on a server the others need not wait.

        Raises:
            DatabaseReadOnly: the database was opened for reading.
            StorageError: and its other kinds, see `translated`.
        """
        if self.readonly:
            raise DatabaseReadOnly(f"{self.location.name} was opened for reading only")
        writer = self._writer
        if taster_id is not None and self.on_server:
            writer = self._engine.execution_options(**{WRITES: taster_id})
        with translated(self.location.name), writer.begin() as connection:
            yield connection

    def close(self) -> None:
        """Give the database back; using the repository again opens it again."""
        with translated(self.location.name):
            self._engine.dispose()

    def backup(self, to: Path, *, overwrite: bool = False) -> None:
        """Write a checked copy of the database file; it appears whole or not at all.

        Raises:
            StorageError: the target exists, is the database itself or cannot be written, or the
                database is no file of ours (a server has its own means).
        """
        if self.location.file is None:
            raise StorageError(f"{self.location.name} is no file; use the means of its server")
        copy_database(self.location.file, expanded(to).absolute(), overwrite=overwrite)

    def meta(self, key: str) -> str | None:
        """Return a fact about the database, or None."""
        with self.reading() as connection:
            return read_meta(connection, key)

    def keep_meta(self, key: str, value: str | None) -> None:
        """Keep a fact about the database; None forgets it."""
        with self.writing() as connection:
            write_meta(connection, key, value)


def read_meta(connection: Connection, key: str) -> str | None:
    """Return a fact about the database, or None."""
    value = connection.scalar(select(META.c.value).where(META.c.key == key))
    return None if value is None else str(value)


def write_meta(connection: Connection, key: str, value: str | None) -> None:
    """Keep a fact about the database in an open transaction; None forgets it."""
    mine = META.c.key == key
    if value is None:
        connection.execute(META.delete().where(mine))
    elif connection.execute(META.update().where(mine).values(value=value)).rowcount == 0:
        connection.execute(META.insert().values(key=key, value=value))


def new_id(connection: Connection, statement: Insert, values: dict[str, Any] | None = None) -> int:
    """Add a row in an open transaction, and return the id that the database gave it."""
    key = connection.execute(statement, values).inserted_primary_key
    assert key is not None
    return int(key[0])
