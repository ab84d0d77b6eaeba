"""A row in every table for each taster, whatever tables there are."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

from sqlalchemy import Boolean, Column, Connection, Date, Float, Table, func, select
from sqlalchemy import Integer as AnyInteger
from sqlalchemy.types import TypeDecorator

from drills.storage.tables import metadata

START = datetime(2026, 3, 1, 9, 0, 0, 123456, tzinfo=UTC)
TRICKY = "Añejo “x” 'y' \\ %s [b] \U0001f377"

# What the checks of the tables ask for; everything else follows from the kind of its column.
_WANTED: dict[tuple[str, str], Any] = {
    ("contrast", "id"): lambda n: 2**62 + n,
    ("contrast", "wine_a"): lambda n: f"albarino-{n}",
    ("contrast", "wine_b"): lambda n: f"verdejo-{n}",
    ("contrast", "sides"): lambda _: 3,
    ("contrast", "retired_at"): lambda n: None if n % 2 else START,
    ("memory", "due_day"): lambda n: n + 1000,
    ("memory", "slips"): lambda _: 0,
    ("answer", "truth"): lambda _: "a",
    ("answer", "sureness"): lambda _: 2,
    ("answer", "grade"): lambda _: 3,
    ("answer", "receipt"): lambda n: 2**61 + n if n % 2 else None,
    ("pour", "pair_a"): lambda _: "albarino-1",
    ("pour", "pair_b"): lambda _: "verdejo-1",
    ("planned_flight", "state"): lambda _: "poured",
    ("planned_pour", "code"): lambda n: 100 + n,
    ("taster", "login"): lambda _: None,
}


def fill(connection: Connection, tasters: dict[int, int]) -> None:
    """Add rows to every table: so many for each taster, by the taster's number."""
    number = 0
    parents: dict[tuple[str, int], list[Any]] = {}
    for table in metadata.sorted_tables:
        if table.name in ("meta", "taster"):
            continue
        for taster, rows in tasters.items():
            for _ in range(rows):
                number += 1
                values = {
                    column.name: _value(column, number, taster, parents)
                    for column in table.columns
                    if not (column.name == "id" and column.autoincrement is not False)
                }
                key = connection.execute(table.insert().values(values)).inserted_primary_key
                assert key is not None
                parents.setdefault((table.name, taster), []).append(key[0])


def rows_of(connection: Connection, table: Table) -> list[tuple[Any, ...]]:
    """Every row of a table in the order of its key."""
    query = select(table).order_by(*table.primary_key.columns)
    return [tuple(row) for row in connection.execute(query)]


def count(connection: Connection, table: Table) -> int:
    """How many rows a table shows."""
    return int(connection.scalar(select(func.count()).select_from(table)) or 0)


def _value(
    column: Column[Any], number: int, taster: int, parents: dict[tuple[str, int], list[Any]]
) -> Any:
    if column.name == "taster_id":
        return taster
    for key in column.foreign_keys:
        known = parents[key.column.table.name, taster]
        return known[number % len(known)]
    wanted = _WANTED.get((column.table.name, column.name))
    if wanted is not None:
        return wanted(number)
    kind = column.type
    if isinstance(kind, TypeDecorator):
        return START + timedelta(minutes=number)
    if isinstance(kind, Boolean):
        return bool(number % 2)
    if isinstance(kind, Date):
        return date(2026, 1, 1) + timedelta(days=number)
    if isinstance(kind, Float):
        return number + 1 / 3
    if isinstance(kind, AnyInteger):
        return number
    return f"{column.name} {number} {TRICKY}"
