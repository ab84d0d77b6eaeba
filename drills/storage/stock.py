"""A taster's own cellar: its rows, and changes of it that can be undone."""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping, Sequence
from dataclasses import asdict, fields
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, and_, select, update

from drills.storage.columns import STOCK, STOCK_CHANGE
from drills.storage.planned_records import StockChangeRecord, StockRow
from drills.storage.store import Store, new_id

_NAMES = tuple(field.name for field in fields(StockRow))
_COLUMNS = tuple(STOCK.c[name] for name in _NAMES)


class Stocks(Store):
    """The part of the repository that knows the cellar."""

    def stock(self, taster_id: int) -> list[StockRow]:
        """Return every row of a cellar, those without a bottle left among them, in their order."""
        query = select(*_COLUMNS).where(STOCK.c.taster_id == taster_id).order_by(STOCK.c.id)
        with self.reading() as connection:
            return [StockRow(*row) for row in connection.execute(query)]

    def change_stock(
        self, taster_id: int, why: str, rows: Sequence[StockRow], gone: Collection[int] = ()
    ) -> None:
        """Write rows (those without an id are new) and take the `gone` ones out, as one change.

        Where nothing differs from what is kept, nothing is written.

        Raises:
            StorageError: fewer than no bottles, or no such taster.
        """
        with self.writing() as connection:
            kept = _rows(connection, taster_id)
            changed = [row for row in rows if row.id is None or kept.get(row.id) != row]
            touched = {row.id for row in changed if row.id is not None} | set(gone) & kept.keys()
            if not changed and not touched:
                return
            before: list[list[Any]] = [[key, asdict(kept[key])] for key in sorted(touched)]
            for row in changed:
                values = _values(row)
                if row.id is None:
                    added = STOCK.insert().values(taster_id=taster_id, **values)
                    before.append([new_id(connection, added), None])
                else:
                    connection.execute(update(STOCK).where(STOCK.c.id == row.id).values(values))
            connection.execute(STOCK.delete().where(STOCK.c.id.in_(set(gone) & kept.keys())))
            _tell(connection, taster_id, self._clock.now(), why, before)

    def resolve_stock(self, taster_id: int, texts: Collection[str], wine: str) -> int:
        """Say which wine waiting texts of the cellar mean; return how many rows it resolved."""
        waits = and_(
            STOCK.c.taster_id == taster_id, STOCK.c.wine.is_(None), STOCK.c.text.in_(texts)
        )
        with self.writing() as connection:
            return connection.execute(update(STOCK).where(waits).values(wine=wine)).rowcount

    def undo_stock_change(self, taster_id: int) -> StockChangeRecord | None:
        """Take the latest change that stands back; return it, or None where there is none."""
        with self.writing() as connection:
            found = _last(connection, taster_id)
            if found is None:
                return None
            change, before = found
            kept = _rows(connection, taster_id)
            for key, values in before:
                mine = STOCK.c.id == key
                if values is None:
                    connection.execute(STOCK.delete().where(mine))
                elif key in kept:
                    # What a name means was learnt since and is no part of the change.
                    values["wine"] = values["wine"] or kept[key].wine
                    connection.execute(update(STOCK).where(mine).values(values))
                else:
                    connection.execute(STOCK.insert().values(taster_id=taster_id, **values))
            connection.execute(
                update(STOCK_CHANGE)
                .where(STOCK_CHANGE.c.id == change.id)
                .values(undone_at=self._clock.now())
            )
        return change


def take_bottles(
    connection: Connection, taster_id: int, now: datetime, why: str, stock_ids: Sequence[int]
) -> None:
    """Count a bottle of each of these rows off in an open transaction; none goes below nothing."""
    kept = _rows(connection, taster_id)
    before: list[tuple[int, dict[str, Any]]] = [
        (key, asdict(kept[key])) for key in dict.fromkeys(stock_ids) if key in kept
    ]
    if not before:
        return
    for key, values in before:
        left = max(values["bottles"] - stock_ids.count(key), 0)
        connection.execute(update(STOCK).where(STOCK.c.id == key).values(bottles=left))
    _tell(connection, taster_id, now, why, before)


def _rows(connection: Connection, taster_id: int) -> dict[int, StockRow]:
    query = select(*_COLUMNS).where(STOCK.c.taster_id == taster_id)
    return {row.id: StockRow(*row) for row in connection.execute(query)}


def _values(row: StockRow) -> Mapping[str, Any]:
    return {name: value for name, value in asdict(row).items() if name != "id"}


def _tell(
    connection: Connection, taster_id: int, now: datetime, why: str, before: Sequence[Any]
) -> None:
    connection.execute(
        STOCK_CHANGE.insert().values(
            taster_id=taster_id,
            changed_at=now,
            why=why,
            before=json.dumps(before, ensure_ascii=False),
        )
    )


def _last(
    connection: Connection, taster_id: int
) -> tuple[StockChangeRecord, list[tuple[int, dict[str, Any] | None]]] | None:
    query = (
        select(*STOCK_CHANGE.c["id", "changed_at", "why", "before"])
        .where(STOCK_CHANGE.c.taster_id == taster_id, STOCK_CHANGE.c.undone_at.is_(None))
        .order_by(STOCK_CHANGE.c.id.desc())
        .limit(1)
    )
    row = connection.execute(query).one_or_none()
    if row is None:
        return None
    before = json.loads(row.before)
    return StockChangeRecord(row.id, row.changed_at, row.why, len(before)), before
