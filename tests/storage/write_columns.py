"""Writes `drills/storage/columns.py` from the tables: `python -m tests.storage.write_columns`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from sqlalchemy import Column, Table
from sqlalchemy.types import TypeEngine

from drills.storage import kinds
from drills.storage.tables import metadata

FILE = Path(kinds.__file__).with_name("columns.py")
_HEAD = '''"""The columns of the tables, for queries. Written from `tables`: change that, then run

    python -m tests.storage.write_columns

A query needs to know columns and their types, and nothing of the classes that SQLModel makes of
them: without those the program starts in three quarters of the time. Constraints, indexes and
references stand in `tables` alone, which makes and upgrades a database.
"""

from __future__ import annotations

from sqlalchemy import (
'''


def written() -> str:
    """The module, as it should be."""
    tables = [_table(table) for table in metadata.tables.values()]
    body = "\n".join(tables)
    known = ("Boolean", "Date", "Float", "Integer", "SmallInteger", "Text")
    names = sorted({"Column", "MetaData", "Table", *(n for n in known if f", {n}" in body)})
    own = [name for name in ("STABLE_ID", "WINE_KEY", "UtcTime") if name in body]
    imports = "".join(f"    {name},\n" for name in names)
    return (
        f"{_HEAD}{imports})\n\nfrom drills.storage.kinds import {', '.join(own)}\n\n"
        f"_EVERY = MetaData()\n\n{body}"
    )


def _table(table: Table) -> str:
    columns = "".join(f"    {_column(column)},\n" for column in table.columns)
    return f'{table.name.upper()} = Table(\n    "{table.name}",\n    _EVERY,\n{columns})\n'


def _column(column: Column[Any]) -> str:
    parts = [f'"{column.name}"', _kind(column.type)]
    if column.primary_key:
        parts.append("primary_key=True")
        if column.autoincrement != "auto":
            parts.append(f"autoincrement={column.autoincrement}")
    elif not column.nullable:
        parts.append("nullable=False")
    default = getattr(column.default, "arg", None)
    if default is not None:
        parts.append(f"default={_quoted(default)}")
    return f"Column({', '.join(parts)})"


def _kind(kind: TypeEngine[Any]) -> str:
    if kind is kinds.STABLE_ID:
        return "STABLE_ID"
    if kind is kinds.WINE_KEY:
        return "WINE_KEY"
    return type(kind).__name__


def _quoted(value: object) -> str:
    return f'"{value}"' if isinstance(value, str) else repr(value)


if __name__ == "__main__":
    FILE.write_text(written(), encoding="utf-8")
