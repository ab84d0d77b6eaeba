"""The columns that queries use are those of the tables, on every kind of database."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Dialect, Table, select
from sqlalchemy.dialects import postgresql, sqlite

from drills.storage import columns, tables
from drills.storage.tables import metadata
from tests.storage.write_columns import FILE, written

DIALECTS: list[Any] = [sqlite.dialect(), postgresql.dialect()]  # type: ignore[no-untyped-call]


def plain(name: str) -> Table:
    found = getattr(columns, name.upper())
    assert isinstance(found, Table)
    return found


def test_the_columns_were_written_after_the_last_change_of_the_tables() -> None:
    assert FILE.read_text(encoding="utf-8") == written(), (
        "run python -m tests.storage.write_columns"
    )


def test_the_schema_takes_in_every_file_of_tables() -> None:
    says = (
        "import sys, drills.storage.tables\n"
        "print(*(name.rpartition('.')[2] for name in sys.modules"
        " if name.startswith('drills.storage.tables.')))"
    )
    ran = subprocess.run([sys.executable, "-c", says], capture_output=True, text=True, check=True)
    files = {file.stem for file in Path(tables.__path__[0]).glob("*.py")}
    assert {*ran.stdout.split()} == files - {"__init__"}


@pytest.mark.parametrize("dialect", DIALECTS, ids=lambda dialect: dialect.name)
@pytest.mark.parametrize("name", metadata.tables)
def test_statements_and_values_are_the_same_for_either(name: str, dialect: Dialect) -> None:
    whole, part = metadata.tables[name], plain(name)
    assert part.c.keys() == whole.c.keys()
    for mine, theirs in zip(part.c, whole.c, strict=True):
        assert mine.type.compile(dialect) == theirs.type.compile(dialect)
        assert type(mine.type) is type(theirs.type)
        assert (mine.primary_key, mine.nullable) == (theirs.primary_key, theirs.nullable)
        assert getattr(mine.default, "arg", None) == getattr(theirs.default, "arg", None)
    for statement in (Table.insert, Table.update, Table.delete, select):
        said = [str(statement(table).compile(dialect=dialect)) for table in (part, whole)]
        assert said[0] == said[1]
    # Which column the database numbers by itself, and so gives back after adding a row.
    numbered = [getattr(table.autoincrement_column, "name", None) for table in (part, whole)]
    assert numbered[0] == numbered[1]
