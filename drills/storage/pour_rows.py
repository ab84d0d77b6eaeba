"""Pours as rows: written many at once, read back with what was noted of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import fields, replace
from datetime import datetime, timedelta
from operator import attrgetter
from typing import Any

from sqlalchemy import Column, Connection, Row, ScalarSelect, Select, Table, func, insert, select

from drills.storage.columns import CANDIDATE, FLIGHT, MEMORY, OBSERVATION, POUR
from drills.storage.records import CandidateRow, ObservationRow, PourDraft, PourRecord

# What a draft holds beside the columns of its pour.
_ELSEWHERE = ("flight", "tasted_on", "observations", "candidates")
_OWN = tuple(f.name for f in fields(PourDraft) if f.name not in _ELSEWHERE)
_JUST_AFTER = timedelta(microseconds=1)
_POUR_COLUMNS = (
    POUR.c.id,
    POUR.c.flight_id,
    POUR.c.intake_id,
    POUR.c.logged_at,
    FLIGHT.c.name,
    FLIGHT.c.tasted_on,
    *(POUR.c[name] for name in _OWN),
)
_SPLIT = len(_POUR_COLUMNS) - len(_OWN)


def full_pours(connection: Connection, wanted: Any) -> list[PourRecord]:
    """Return pours with their observations and candidates, in the order of tasting."""
    found = [pour_record(row) for row in connection.execute(select_pours(wanted))]
    ids = select(POUR.c.id).where(wanted)
    observations: dict[int, list[ObservationRow]] = {}
    query: Select[Any] = (
        select(*OBSERVATION.c["pour_id", "attribute", "reading", "typed"])
        .where(OBSERVATION.c.pour_id.in_(ids))
        .order_by(OBSERVATION.c.pour_id, OBSERVATION.c.position)
    )
    for pour_id, *values in connection.execute(query):
        observations.setdefault(pour_id, []).append(ObservationRow(*values))
    candidates: dict[int, list[CandidateRow]] = {}
    query = (
        select(*CANDIDATE.c["pour_id", "text", "wine", "struck"])
        .where(CANDIDATE.c.pour_id.in_(ids))
        .order_by(CANDIDATE.c.pour_id, CANDIDATE.c.position)
    )
    for pour_id, *values in connection.execute(query):
        candidates.setdefault(pour_id, []).append(CandidateRow(*values))
    return [
        replace(
            pour,
            draft=replace(
                pour.draft,
                observations=tuple(observations.get(pour.id, ())),
                candidates=tuple(candidates.get(pour.id, ())),
            ),
        )
        for pour in found
    ]


def log_time(connection: Connection, now: datetime, taster_id: int | ScalarSelect[int]) -> datetime:
    """Return the time to log a pour at: now, or just after the taster's newest answer.

    A pair comes to the head of the drill where it was confused later than it was answered; a clock
    that was set back must not hide it.
    """
    newest: datetime | None = connection.scalar(
        select(func.max(MEMORY.c.last_at)).where(MEMORY.c.taster_id == taster_id)
    )
    return now if newest is None or newest < now else newest + _JUST_AFTER


def taster_of(pour_id: int) -> ScalarSelect[int]:
    """Return whose a pour is, as a part of a query."""
    return select(POUR.c.taster_id).where(POUR.c.id == pour_id).scalar_subquery()


def keep_pours(
    connection: Connection,
    pours: Sequence[PourDraft],
    flight_ids: Sequence[int],
    *,
    taster_id: int,
    intake_id: int | None,
    logged_at: datetime,
) -> None:
    """Write pours with their observations and candidates in an open transaction."""
    if not pours:
        return
    logged = as_kept(connection, POUR.c.logged_at, logged_at)
    rows = [
        (
            *_own_values(pour),
            *pair_of(pour.called_wine, pour.was_wine).values(),
            taster_id,
            intake_id,
            logged,
            flight_id,
        )
        for pour, flight_id in zip(pours, flight_ids, strict=True)
    ]
    names = (*_OWN, "pair_a", "pair_b", "taster_id", "intake_id", "logged_at", "flight_id")
    if any(pour.observations or pour.candidates for pour in pours):
        ids = write_counted(connection, POUR, names, rows)
        keep_notes(connection, zip(ids, pours, strict=True))
    else:
        _write(connection, POUR, names, rows)


_own_values = attrgetter(*_OWN)


def keep_notes(connection: Connection, pours: Iterable[tuple[int, PourDraft]]) -> None:
    """Write the observations and candidates of pours that have none yet."""
    observations: list[tuple[Any, ...]] = []
    candidates: list[tuple[Any, ...]] = []
    for pour_id, pour in pours:
        for position, seen in enumerate(pour.observations):
            observations.append((pour_id, position, seen.attribute, seen.reading, seen.typed))
        for position, one in enumerate(pour.candidates):
            candidates.append((pour_id, position, one.text, one.wine, one.struck))
    _write(connection, OBSERVATION, OBSERVATION.c.keys(), observations)
    _write(connection, CANDIDATE, CANDIDATE.c.keys(), candidates)


def _write(
    connection: Connection, table: Table, names: Sequence[str], rows: Sequence[tuple[Any, ...]]
) -> None:
    """Insert many rows, their values in the order of `names`, times and dates as `as_kept`."""
    if not rows:
        return
    if connection.dialect.name != "sqlite":
        connection.execute(table.insert(), [dict(zip(names, row, strict=True)) for row in rows])
        return
    # Straight to the driver: preparing each row as a mapping takes longer than writing it.
    connection.exec_driver_sql(
        f"INSERT INTO {table.name} ({', '.join(names)}) VALUES ({', '.join('?' * len(names))})",
        list(rows),
    )


def write_counted(
    connection: Connection, table: Table, names: Sequence[str], rows: Sequence[tuple[Any, ...]]
) -> list[int]:
    """Insert many rows and return their ids, in the same order."""
    if connection.dialect.name == "sqlite":
        # Nobody else writes while this transaction does, so ids can be given out.
        first = (connection.scalar(select(func.max(table.c.id))) or 0) + 1
        ids = list(range(first, first + len(rows)))
        counted = [(key, *row) for key, row in zip(ids, rows, strict=True)]
        _write(connection, table, ("id", *names), counted)
        return ids
    statement = insert(table).returning(table.c.id, sort_by_parameter_order=True)
    mappings = [dict(zip(names, row, strict=True)) for row in rows]
    return [int(key) for key in connection.execute(statement, mappings).scalars()]


def as_kept(connection: Connection, column: Column[Any], value: Any) -> Any:
    """A time or date as `_write` takes it: what the driver takes, which for SQLite is text."""
    if connection.dialect.name != "sqlite":
        return value
    process = column.type.dialect_impl(connection.dialect).bind_processor(connection.dialect)
    return value if process is None else process(value)


def select_pours(wanted: Any) -> Select[Any]:
    """Return the query of pours with their flights, in the order of tasting."""
    return (
        select(*_POUR_COLUMNS)
        .join(FLIGHT, FLIGHT.c.id == POUR.c.flight_id)
        .where(wanted)
        .order_by(
            FLIGHT.c.tasted_on.is_(None),
            FLIGHT.c.tasted_on,
            FLIGHT.c.id,
            POUR.c.position,
            POUR.c.id,
        )
    )


def pour_record(row: Row[Any]) -> PourRecord:
    """Return a row of `select_pours` as a record, without what was noted."""
    pour_id, flight_id, intake_id, logged_at, flight, tasted_on = row[:_SPLIT]
    own = dict(zip(_OWN, row[_SPLIT:], strict=True))
    draft = PourDraft(flight=flight, tasted_on=tasted_on, **own)
    return PourRecord(pour_id, flight_id, intake_id, logged_at, draft)


def pair_of(called: str | None, was: str | None) -> dict[str, str | None]:
    """Return the columns of the confused pair, sorted, where both wines are known and differ."""
    if called is None or was is None or called == was:
        return {"pair_a": None, "pair_b": None}
    return {"pair_a": min(called, was), "pair_b": max(called, was)}
