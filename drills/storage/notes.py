"""Edits of pours and their history, what was noted, half-entered flights."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import fields
from datetime import date, datetime
from typing import Any

from sqlalchemy import and_, func, select, update

from drills.errors import StorageError
from drills.storage.columns import CANDIDATE, DRAFT, FLIGHT, INTAKE, OBSERVATION, POUR, POUR_CHANGE
from drills.storage.pour_rows import full_pours, keep_notes, log_time, pair_of, taster_of
from drills.storage.records import (
    ChangeRecord,
    DraftRecord,
    ObservationRow,
    PourDraft,
    PourRecord,
)
from drills.storage.store import Store, new_id

# How a pour is told from every other, and what belongs to its flight: no edit of a pour.
_FIXED = ("fingerprint", "flight", "tasted_on")
_LISTS = ("observations", "candidates")
_FIELDS = tuple(f.name for f in fields(PourDraft) if f.name not in (*_FIXED, *_LISTS))
_TOGETHER = 1000


class Notes(Store):
    """The part of the repository that knows edits and half-entered flights."""

    def change_pour(self, pour_id: int, after: PourDraft) -> PourRecord:
        """Make a pour what `after` says; every field that changes goes into the history.

        Fingerprint, flight and date stay as they are. A pour that becomes another confusion counts
        as logged now, so that its pair comes to the head of the next drill.

        Raises:
            StorageError: no such pour.
        """
        with self.writing() as connection:
            found = full_pours(connection, POUR.c.id == pour_id)
            if not found:
                raise StorageError(f"there is no pour {pour_id}")
            before = found[0].draft
            changes = list(_differences(before, after))
            if not changes:
                return found[0]
            now = self._clock.now()
            connection.execute(
                POUR_CHANGE.insert(), [_change(pour_id, now, *change) for change in changes]
            )
            pair = pair_of(after.called_wine, after.was_wine)
            values = {name: getattr(after, name) for name in _FIELDS} | pair
            if pair["pair_a"] is not None and pair != pair_of(before.called_wine, before.was_wine):
                values["logged_at"] = log_time(connection, now, taster_of(pour_id))
            connection.execute(POUR.update().where(POUR.c.id == pour_id).values(values))
            if any(getattr(before, name) != getattr(after, name) for name in _LISTS):
                connection.execute(OBSERVATION.delete().where(OBSERVATION.c.pour_id == pour_id))
                connection.execute(CANDIDATE.delete().where(CANDIDATE.c.pour_id == pour_id))
                keep_notes(connection, [(pour_id, after)])
            return full_pours(connection, POUR.c.id == pour_id)[0]

    def changes(self, pour_id: int) -> list[ChangeRecord]:
        """Return what was changed in a pour, the oldest change first."""
        names = [field.name for field in fields(ChangeRecord)]
        query = (
            select(*POUR_CHANGE.c[tuple(names)])
            .where(POUR_CHANGE.c.pour_id == pour_id)
            .order_by(POUR_CHANGE.c.id)
        )
        with self.reading() as connection:
            return [ChangeRecord(*row) for row in connection.execute(query)]

    def observations(self, pour_ids: Iterable[int]) -> dict[int, tuple[ObservationRow, ...]]:
        """Return what was noted of pours, in the order of noting; pours without notes left out."""
        wanted = list(pour_ids)
        found: dict[int, list[ObservationRow]] = {}
        with self.reading() as connection:
            # A statement takes only so many values.
            for start in range(0, len(wanted), _TOGETHER):
                query = (
                    select(*OBSERVATION.c["pour_id", "attribute", "reading", "typed"])
                    .where(OBSERVATION.c.pour_id.in_(wanted[start : start + _TOGETHER]))
                    .order_by(OBSERVATION.c.pour_id, OBSERVATION.c.position)
                )
                for pour_id, *values in connection.execute(query):
                    found.setdefault(pour_id, []).append(ObservationRow(*values))
        return {pour_id: tuple(rows) for pour_id, rows in found.items()}

    def flight_names(self, taster_id: int, tasted_on: date | None) -> frozenset[str]:
        """Return the names of all flights of one day, or of those without a date."""
        query = select(FLIGHT.c.name).where(
            FLIGHT.c.taster_id == taster_id, FLIGHT.c.tasted_on.is_not_distinct_from(tasted_on)
        )
        with self.reading() as connection:
            return frozenset(connection.scalars(query))

    def log_state(self, taster_id: int) -> tuple[object, ...]:
        """Return what changes whenever a pour is logged, resolved, edited or taken back."""
        # Each is one step into an index; whose pours they are is asked only of the intakes.
        undone = select(func.max(INTAKE.c.undone_at)).where(INTAKE.c.taster_id == taster_id)
        with self.reading() as connection:
            return (
                connection.scalar(select(func.max(POUR.c.id))),
                connection.scalar(select(func.max(POUR_CHANGE.c.id))),
                connection.scalar(undone),
            )

    def save_draft(self, taster_id: int, content: str, draft_id: int | None = None) -> int:
        """Keep a half-entered flight, in place of what the draft held; return the draft's id.

        A draft that is gone (recorded or dropped by another window) is made anew.

        Raises:
            StorageError: no such taster.
        """
        values = {"content": content, "saved_at": self._clock.now()}
        with self.writing() as connection:
            if draft_id is not None:
                mine = and_(DRAFT.c.id == draft_id, DRAFT.c.taster_id == taster_id)
                if connection.execute(update(DRAFT).where(mine).values(values)).rowcount:
                    return draft_id
            return new_id(connection, DRAFT.insert().values(taster_id=taster_id, **values))

    def drafts(self, taster_id: int) -> list[DraftRecord]:
        """Return the half-entered flights, the latest first."""
        query = (
            select(DRAFT.c.id, DRAFT.c.content, DRAFT.c.saved_at)
            .where(DRAFT.c.taster_id == taster_id)
            .order_by(DRAFT.c.saved_at.desc(), DRAFT.c.id.desc())
        )
        with self.reading() as connection:
            return [DraftRecord(*row) for row in connection.execute(query)]

    def drop_draft(self, draft_id: int) -> None:
        """Forget a half-entered flight; one that is gone already is no error."""
        with self.writing() as connection:
            connection.execute(DRAFT.delete().where(DRAFT.c.id == draft_id))


def _change(
    pour_id: int, now: datetime, field: str, before: str | None, after: str | None
) -> dict[str, Any]:
    return {
        "pour_id": pour_id,
        "changed_at": now,
        "field": field,
        "before": before,
        "after": after,
    }


def _differences(
    before: PourDraft, after: PourDraft
) -> Iterator[tuple[str, str | None, str | None]]:
    """Every field that differs, with what it held before and after."""
    for name in _FIELDS:
        old, new = getattr(before, name), getattr(after, name)
        if old != new:
            yield name, _text(old), _text(new)
    old_notes, new_notes = _noted(before.observations), _noted(after.observations)
    for name in dict.fromkeys((*old_notes, *new_notes)):
        if old_notes.get(name) != new_notes.get(name):
            yield name, old_notes.get(name), new_notes.get(name)
    if before.candidates != after.candidates:
        yield "candidates", _considered(before), _considered(after)


def _considered(pour: PourDraft) -> str:
    """Candidates as JSON: `[[text, wine, struck]]`."""
    rows = [[one.text, one.wine, one.struck] for one in pour.candidates]
    return json.dumps(rows, ensure_ascii=False)


def _noted(rows: Sequence[ObservationRow]) -> Mapping[str, str]:
    """Observations by a name for the history: “noted acid”, “noted words”."""
    found: dict[str, str] = {}
    for row in rows:
        if not row.attribute:
            found["noted words"] = "\n".join(filter(None, (found.get("noted words"), row.typed)))
            continue
        typed = f" “{row.typed}”" if row.typed else ""
        found[f"noted {row.attribute}"] = f"{row.reading}{typed}"
    return found


def _text(value: Any) -> str | None:
    if value is None or isinstance(value, str):
        return value
    return value.isoformat() if isinstance(value, date) else str(value)
