"""What could be shown next, and how much of it waits.

Each query reads by an index and never touches the table of answers: a memory row says all that the
answers of a contrast have left behind.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import ColumnElement, Row, Select, and_, bindparam, case, func, or_, select

from drills.storage.columns import ANSWER, CONTRAST, MEMORY, POUR
from drills.storage.contrasts import CONTRAST_COLUMNS, contrast_of
from drills.storage.records import Counts, MemoryRecord, PlanRow, QueueRow
from drills.storage.store import Store

MEMORY_COLUMNS = (
    MEMORY.c.taster_id,
    MEMORY.c.contrast_id,
    MEMORY.c.stability,
    MEMORY.c.difficulty,
    MEMORY.c.last_day,
    MEMORY.c.due_day,
    MEMORY.c.answers,
    MEMORY.c.slips,
    MEMORY.c.last_at,
)
"""In the order of the fields of MemoryRecord."""

_BOTH = (*CONTRAST_COLUMNS, *MEMORY_COLUMNS)
_SPLIT = len(CONTRAST_COLUMNS)


class Queues(Store):
    """The part of the repository that knows what waits."""

    def urgent(
        self, taster_id: int, limit: int, among: frozenset[str] | None = None
    ) -> list[QueueRow]:
        """Return contrasts of pairs confused in the glass since they were last answered.

        The newest confusion comes first, of equally new ones (one file brings many) the pair that
        was confused most often, then the order of introduction. `among` keeps to pairs of two of
        these wines, as in the next two queries.
        """
        query, order = _urgent(taster_id, _BOTH)
        query = _of(query, among)
        return self._queue(query.order_by(*order, *_INTRODUCTION).limit(limit))

    def due(
        self, taster_id: int, day: int, limit: int, among: frozenset[str] | None = None
    ) -> list[QueueRow]:
        """Return contrasts due on `day` or before, the longest overdue first."""
        query = _of(_due(taster_id, day, _BOTH), among)
        return self._queue(query.order_by(MEMORY.c.due_day, *_INTRODUCTION).limit(limit))

    def unseen(
        self, taster_id: int, limit: int, among: frozenset[str] | None = None
    ) -> list[QueueRow]:
        """Return contrasts never answered (or not since their answer turned), as introduced."""
        query = _of(_unseen(taster_id, _BOTH), among)
        return self._queue(query.order_by(*_INTRODUCTION).limit(limit))

    def sure_slips(self, taster_id: int, limit: int) -> list[QueueRow]:
        """Return what was answered wrongly and surely, the latest first.

        A contrast leaves the list once it is answered as known on a later day.
        """
        wrong = and_(ANSWER.c.correct.is_(False), ANSWER.c.sureness == 3, ANSWER.c.grade == 1)
        mended = and_(ANSWER.c.correct.is_(True), ANSWER.c.grade > 1)
        slips = (
            select(
                ANSWER.c.contrast_id,
                func.max(case((wrong, ANSWER.c.day))).label("slipped"),
                func.max(case((mended, ANSWER.c.day))).label("mended"),
            )
            .where(
                ANSWER.c.taster_id == taster_id,
                ANSWER.c.undone_at.is_(None),
                ANSWER.c.counts.is_(True),
            )
            .group_by(ANSWER.c.contrast_id)
            .subquery("slips")
        )
        query = (
            select(*_BOTH)
            .select_from(slips)
            .join(CONTRAST, CONTRAST.c.id == slips.c.contrast_id)
            .outerjoin(MEMORY, _mine(taster_id))
            .where(
                CONTRAST.c.retired_at.is_(None),
                slips.c.slipped.is_not(None),
                or_(slips.c.mended.is_(None), slips.c.mended <= slips.c.slipped),
            )
            .order_by(slips.c.slipped.desc(), *_INTRODUCTION)
            .limit(limit)
        )
        return self._queue(query)

    def plan_rows(self, taster_id: int) -> list[PlanRow]:
        """Return every contrast in use, as introduced, with what planning needs of its memory."""
        query = (
            select(
                CONTRAST.c.id,
                CONTRAST.c.wine_a,
                CONTRAST.c.wine_b,
                CONTRAST.c.cues,
                MEMORY.c.stability,
                MEMORY.c.difficulty,
                MEMORY.c.last_day,
            )
            .outerjoin(MEMORY, _mine(taster_id))
            .where(CONTRAST.c.retired_at.is_(None))
            .order_by(*_INTRODUCTION)
        )
        with self.reading() as connection:
            return [PlanRow(*row) for row in connection.execute(query)]

    def counts(self, taster_id: int, day: int) -> Counts:
        """Return how many contrasts wait on `day`."""
        number = (func.count(),)
        with self.reading() as connection:
            return Counts(
                urgent=connection.scalar(_urgent(taster_id, number)[0]) or 0,
                due=connection.scalar(_due(taster_id, day, number)) or 0,
                unseen=connection.scalar(_unseen(taster_id, number)) or 0,
            )

    def next_due_day(self, taster_id: int) -> int | None:
        """Return the earliest day on which a contrast in use is due, past or not, or None."""
        query = _seen(taster_id, (MEMORY.c.due_day,)).order_by(MEMORY.c.due_day).limit(1)
        with self.reading() as connection:
            day: int | None = connection.scalar(query)
        return day

    def due_forecast(self, taster_id: int, from_day: int, days: int) -> tuple[int, ...]:
        """Return how many contrasts fall due on each of `days` days; the overdue are not in it."""
        query = (
            _seen(taster_id, (MEMORY.c.due_day, func.count()))
            .where(MEMORY.c.due_day.between(from_day, from_day + days - 1))
            .group_by(MEMORY.c.due_day)
        )
        with self.reading() as connection:
            found = {row[0]: row[1] for row in connection.execute(query)}
        return tuple(found.get(day, 0) for day in range(from_day, from_day + days))

    def memory(self, taster_id: int, contrast_id: int) -> MemoryRecord | None:
        """Return what a taster remembers of a contrast, or None while it is unseen."""
        of = {"taster": taster_id, "contrast": contrast_id}
        with self.reading() as connection:
            row = connection.execute(_ONE_MEMORY, of).one_or_none()
        return None if row is None else MemoryRecord(*row)

    def memories(self, taster_id: int) -> list[QueueRow]:
        """Return every contrast in use that a taster has a memory of, as introduced."""
        return self._queue(_seen(taster_id, _BOTH).order_by(*_INTRODUCTION))

    def _queue(self, query: Select[Any]) -> list[QueueRow]:
        with self.reading() as connection:
            return [queue_row(row) for row in connection.execute(query)]


# Asked at every answer, so made once.
_ONE_MEMORY = select(*MEMORY_COLUMNS).where(
    MEMORY.c.taster_id == bindparam("taster"), MEMORY.c.contrast_id == bindparam("contrast")
)
_INTRODUCTION = (CONTRAST.c.rank, CONTRAST.c.id)


def _urgent(taster_id: int, columns: Any) -> tuple[Select[Any], tuple[ColumnElement[Any], ...]]:
    confused = (
        select(
            POUR.c.pair_a,
            POUR.c.pair_b,
            func.max(POUR.c.logged_at).label("newest"),
            func.count().label("times"),
        )
        .where(POUR.c.taster_id == taster_id, POUR.c.pair_a.is_not(None))
        .group_by(POUR.c.pair_a, POUR.c.pair_b)
        .subquery("confused")
    )
    query = (
        select(*columns)
        .select_from(confused)
        .join(
            CONTRAST,
            and_(CONTRAST.c.wine_a == confused.c.pair_a, CONTRAST.c.wine_b == confused.c.pair_b),
        )
        .outerjoin(MEMORY, _mine(taster_id))
        .where(
            CONTRAST.c.retired_at.is_(None),
            or_(MEMORY.c.last_at.is_(None), confused.c.newest > MEMORY.c.last_at),
        )
    )
    return query, (confused.c.newest.desc(), confused.c.times.desc())


def _seen(taster_id: int, columns: Any) -> Select[Any]:
    return (
        select(*columns)
        .select_from(MEMORY)
        .join(CONTRAST, CONTRAST.c.id == MEMORY.c.contrast_id)
        .where(MEMORY.c.taster_id == taster_id, CONTRAST.c.retired_at.is_(None))
    )


def _due(taster_id: int, day: int, columns: Any) -> Select[Any]:
    return _seen(taster_id, columns).where(MEMORY.c.due_day <= day)


def _unseen(taster_id: int, columns: Any) -> Select[Any]:
    return (
        select(*columns)
        .select_from(CONTRAST)
        .outerjoin(MEMORY, _mine(taster_id))
        .where(CONTRAST.c.retired_at.is_(None), MEMORY.c.contrast_id.is_(None))
    )


def _of(query: Select[Any], wines: frozenset[str] | None) -> Select[Any]:
    if wines is None:
        return query
    return query.where(CONTRAST.c.wine_a.in_(wines), CONTRAST.c.wine_b.in_(wines))


def _mine(taster_id: int) -> ColumnElement[bool]:
    return and_(MEMORY.c.taster_id == taster_id, MEMORY.c.contrast_id == CONTRAST.c.id)


def queue_row(row: Row[Any]) -> QueueRow:
    """Read a row of CONTRAST_COLUMNS and MEMORY_COLUMNS."""
    known = row[_SPLIT] is not None
    return QueueRow(contrast_of(row[:_SPLIT]), MemoryRecord(*row[_SPLIT:]) if known else None)
