"""Keeping contrasts in step with the table of wines."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from operator import attrgetter
from typing import Any

from sqlalchemy import Connection, Row, bindparam, func, select

from drills.errors import StorageError
from drills.storage.columns import CONTRAST, MEMORY
from drills.storage.records import ContrastRecord
from drills.storage.store import Store, write_meta

FINGERPRINT_KEY = "contrasts"
"""Key in `meta`: fingerprint of the contrasts that are kept."""

CONTRAST_COLUMNS = (
    CONTRAST.c.id,
    CONTRAST.c.wine_a,
    CONTRAST.c.wine_b,
    CONTRAST.c.cues,
    CONTRAST.c.sides,
    CONTRAST.c.bearing,
    CONTRAST.c.rank,
    CONTRAST.c.strength,
    CONTRAST.c.retired_at,
    CONTRAST.c.turned_at,
)
"""In the order of the fields of ContrastRecord."""


# An intake asks it for each of hundreds of pairs, so it is made once.
_OF_PAIR = (
    select(*CONTRAST_COLUMNS)
    .where(
        CONTRAST.c.wine_a == bindparam("first"),
        CONTRAST.c.wine_b == bindparam("second"),
        CONTRAST.c.retired_at.is_(None),
    )
    .order_by(CONTRAST.c.rank, CONTRAST.c.id)
)


def contrast_of(row: Row[Any] | tuple[Any, ...]) -> ContrastRecord:
    """Read a row of CONTRAST_COLUMNS."""
    return ContrastRecord(*row)


class Contrasts(Store):
    """The part of the repository that knows contrasts."""

    def kept_fingerprint(self) -> str | None:
        """Return the fingerprint given with the contrasts that are kept, or None."""
        return self.meta(FINGERPRINT_KEY)

    def contrast(self, contrast_id: int) -> ContrastRecord | None:
        """Return a contrast, retired or not, or None."""
        query = select(*CONTRAST_COLUMNS).where(CONTRAST.c.id == contrast_id)
        with self.reading() as connection:
            row = connection.execute(query).one_or_none()
        return None if row is None else contrast_of(row)

    def contrasts_of_pair(self, wine: str, other: str) -> list[ContrastRecord]:
        """Return the contrasts in use of two wines, given in any order, by rank."""
        first, second = sorted((wine, other))
        with self.reading() as connection:
            rows = connection.execute(_OF_PAIR, {"first": first, "second": second})
            return [contrast_of(row) for row in rows]

    def learnt_contrasts(self) -> list[ContrastRecord]:
        """Return the contrasts in use that any taster has a memory of."""
        learnt = select(MEMORY.c.contrast_id).where(MEMORY.c.contrast_id == CONTRAST.c.id)
        query = (
            select(*CONTRAST_COLUMNS)
            .where(CONTRAST.c.retired_at.is_(None), learnt.exists())
            .order_by(CONTRAST.c.rank, CONTRAST.c.id)
        )
        with self.reading() as connection:
            return [contrast_of(row) for row in connection.execute(query)]

    def keep_contrasts(self, rows: Iterable[ContrastRecord], fingerprint: str) -> None:
        """Make `rows` the contrasts in use: whole, or not at all.

        New ones are added, returning ones taken up again with their memory, the ones not among
        `rows` retired. Where `bearing` changed, the answer turned: what was remembered is wrong, so
        the memories of it are deleted; its answers stay. `retired_at` and `turned_at` of `rows`
        are not read.

        Raises:
            StorageError: two of `rows`, or one and a kept contrast of another pair, share an id.
        """
        wanted = _by_id(rows)
        with self.writing() as connection:
            kept = self._merge(connection, wanted)
            now = self._clock.now()
            gone = [
                _values(old) | {"retired_at": now}
                for key, old in kept.items()
                if key not in wanted and old.retired_at is None
            ]
            self._change(connection, gone)
            write_meta(connection, FINGERPRINT_KEY, fingerprint)

    def add_contrasts(self, rows: Iterable[ContrastRecord]) -> None:
        """Take `rows` into use beside the others, ranked behind all of them: whole, or not at all.

        Raises:
            StorageError: as for `keep_contrasts`.
        """
        with self.writing() as connection:
            last: int | None = connection.scalar(select(func.max(CONTRAST.c.rank)))
            first = 0 if last is None else last + 1
            ordered = sorted(_by_id(rows).values(), key=lambda row: row.rank)
            behind = {row.id: replace(row, rank=first + n) for n, row in enumerate(ordered)}
            self._merge(connection, behind)

    def _merge(
        self, connection: Connection, wanted: dict[int, ContrastRecord]
    ) -> dict[int, ContrastRecord]:
        """Add or update `wanted`, and return all contrasts as they were before."""
        # All of them are read: a filter on thousands of ids would be slower.
        kept = {row.id: contrast_of(row) for row in connection.execute(select(*CONTRAST_COLUMNS))}
        now = self._clock.now()
        fresh: list[ContrastRecord] = []
        changed: list[dict[str, Any]] = []
        turned: list[int] = []
        for key, new in wanted.items():
            old = kept.get(key)
            if old is None:
                fresh.append(new)
                continue
            if (new.wine_a, new.wine_b) != (old.wine_a, old.wine_b):
                raise StorageError(f"contrasts of two pairs share the id {key}")
            turned_at = old.turned_at
            if new.bearing != old.bearing:
                turned.append(key)
                turned_at = now
            values = _values(new) | {"retired_at": None, "turned_at": turned_at}
            if values != _values(old):
                changed.append(values)
        self._add(connection, fresh)
        self._change(connection, changed)
        self._forget(connection, turned)
        return kept

    def _add(self, connection: Connection, rows: list[ContrastRecord]) -> None:
        if rows:
            fresh: dict[str, Any] = {"retired_at": None, "turned_at": None}
            connection.execute(CONTRAST.insert(), [_values(row) | fresh for row in rows])

    def _change(self, connection: Connection, rows: list[dict[str, Any]]) -> None:
        if rows:
            setting: dict[str, Any] = {
                column.name: bindparam(column.name)
                for column in CONTRAST_COLUMNS
                if column.name not in ("id", "wine_a", "wine_b")
            }
            statement = CONTRAST.update().where(CONTRAST.c.id == bindparam("key")).values(setting)
            connection.execute(
                statement, [{k: row[k] for k in setting} | {"key": row["id"]} for row in rows]
            )

    def _forget(self, connection: Connection, ids: list[int]) -> None:
        if ids:
            statement = MEMORY.delete().where(MEMORY.c.contrast_id == bindparam("key"))
            connection.execute(statement, [{"key": key} for key in ids])


def _by_id(rows: Iterable[ContrastRecord]) -> dict[int, ContrastRecord]:
    wanted: dict[int, ContrastRecord] = {}
    for row in rows:
        if wanted.setdefault(row.id, row) is not row:
            raise StorageError(f"two contrasts share the id {row.id}")
    return wanted


_NAMES = tuple(column.name for column in CONTRAST_COLUMNS)
_FIELDS = attrgetter(*_NAMES)


def _values(record: ContrastRecord) -> dict[str, Any]:
    return dict(zip(_NAMES, _FIELDS(record), strict=True))
