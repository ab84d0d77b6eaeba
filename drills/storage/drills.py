"""Drills: when they began and ended, and how long they were to last."""

from __future__ import annotations

from dataclasses import fields
from datetime import datetime

from sqlalchemy import select

from drills.errors import StorageError
from drills.storage.columns import DRILL
from drills.storage.records import DrillRecord
from drills.storage.store import Store, new_id

_DRILL_COLUMNS = tuple(DRILL.c[field.name] for field in fields(DrillRecord))


class Drills(Store):
    """The part of the repository that knows drills."""

    def start_drill(self, taster_id: int, planned_seconds: int, note: str = "") -> DrillRecord:
        """Begin a drill now.

        Raises:
            StorageError: no such taster.
        """
        now = self._clock.now()
        values = {
            "taster_id": taster_id,
            "began_at": now,
            "planned_seconds": planned_seconds,
            "note": note,
        }
        with self.writing(taster_id) as connection:
            drill_id = new_id(connection, DRILL.insert().values(values))
        return DrillRecord(drill_id, taster_id, now, None, planned_seconds, note)

    def end_drill(self, drill_id: int, at: datetime | None = None) -> None:
        """End a drill, now if no time is given; one that has ended keeps its end.

        Raises:
            StorageError: no such drill.
        """
        with self.writing() as connection:
            ended = connection.execute(
                select(DRILL.c.ended_at).where(DRILL.c.id == drill_id)
            ).one_or_none()
            if ended is None:
                raise StorageError(f"there is no drill {drill_id}")
            if ended[0] is None:
                at = at or self._clock.now()
                connection.execute(DRILL.update().where(DRILL.c.id == drill_id).values(ended_at=at))

    def plan_longer(self, drill_id: int, planned_seconds: int) -> None:
        """Keep that a drill was made longer."""
        longer = DRILL.update().where(DRILL.c.id == drill_id)
        with self.writing() as connection:
            connection.execute(longer.values(planned_seconds=planned_seconds))

    def drills(self, taster_id: int, limit: int = 50) -> list[DrillRecord]:
        """Return the latest drills, newest first."""
        query = (
            select(*_DRILL_COLUMNS)
            .where(DRILL.c.taster_id == taster_id)
            .order_by(DRILL.c.id.desc())
            .limit(limit)
        )
        with self.reading() as connection:
            return [DrillRecord(*row) for row in connection.execute(query)]
