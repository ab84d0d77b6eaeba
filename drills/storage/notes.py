"""Edits of pours and their history, half-entered flights, own names, readings counted."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import fields
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, and_, case, cast, func, literal, or_, select, update
from sqlalchemy.types import Float, Text

from drills.errors import StorageError
from drills.storage.columns import (
    CANDIDATE,
    DRAFT,
    FLIGHT,
    INTAKE,
    OBSERVATION,
    OWN_NAME,
    POUR,
    POUR_CHANGE,
)
from drills.storage.kinds import UtcTime
from drills.storage.records import (
    AlcoholCount,
    ChangeRecord,
    DraftRecord,
    ObservationRow,
    OwnNameRecord,
    PourDraft,
    PourRecord,
    ReadingCount,
)
from drills.storage.store import Store
from drills.storage.tastings import full_pours, keep_notes, log_time, pair_of, taster_of

ROLES = ("called", "was", "first", "runner")
# How a pour is told from every other, and what belongs to its flight: no edit of a pour.
_FIXED = ("fingerprint", "flight", "tasted_on")
_LISTS = ("observations", "candidates")
_FIELDS = tuple(f.name for f in fields(PourDraft) if f.name not in (*_FIXED, *_LISTS))
_YES, _NO = "yes", "no"
_TOGETHER = 1000


class Notes(Store):
    """The part of the repository that knows edits, half-entered flights and own names."""

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

    def change_flight(self, flight_id: int, name: str, tasted_on: date | None) -> None:
        """Give a flight another name or date; the history of each of its pours tells of it.

        Raises:
            StorageError: no such flight.
        """
        mine = FLIGHT.c.id == flight_id
        with self.writing() as connection:
            row = connection.execute(
                select(FLIGHT.c.name, FLIGHT.c.tasted_on).where(mine)
            ).one_or_none()
            if row is None:
                raise StorageError(f"there is no flight {flight_id}")
            after = {"flight": name, "tasted_on": tasted_on}
            changes = [
                (field, _text(old), _text(after[field]))
                for field, old in zip(after, row, strict=True)
                if old != after[field]
            ]
            if not changes:
                return
            now = self._clock.now()
            pours = connection.scalars(select(POUR.c.id).where(POUR.c.flight_id == flight_id)).all()
            rows = [_change(pour_id, now, *change) for pour_id in pours for change in changes]
            if rows:
                connection.execute(POUR_CHANGE.insert(), rows)
            connection.execute(FLIGHT.update().where(mine).values(name=name, tasted_on=tasted_on))

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
            key = connection.execute(
                DRAFT.insert().values(taster_id=taster_id, **values)
            ).inserted_primary_key
            assert key is not None
            return int(key[0])

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

    def own_names(self, taster_id: int) -> list[OwnNameRecord]:
        """Return the names that a taster explained, the oldest first."""
        query = (
            select(OWN_NAME.c.text, OWN_NAME.c.wine, OWN_NAME.c.made_at)
            .where(OWN_NAME.c.taster_id == taster_id)
            .order_by(OWN_NAME.c.made_at, OWN_NAME.c.id)
        )
        with self.reading() as connection:
            return [OwnNameRecord(*row) for row in connection.execute(query)]

    def waiting_names(self, taster_id: int) -> dict[str, int]:
        """Return every typed text that is no wine yet, with the number of pours it stands in."""
        found: dict[str, int] = {}
        with self.reading() as connection:
            for role in ROLES:
                text, wine = POUR.c[f"{role}_text"], POUR.c[f"{role}_wine"]
                query = (
                    select(text, func.count())
                    .where(POUR.c.taster_id == taster_id, wine.is_(None), text != "")
                    .group_by(text)
                    .order_by(func.min(POUR.c.id))
                )
                for name, times in connection.execute(query):
                    found[name] = found.get(name, 0) + times
        return found

    def remember_name(
        self, taster_id: int, text: str, wine: str, spellings: Sequence[str] = ()
    ) -> int:
        """Keep which wine a taster means by a name, and resolve what waits for it.

        `spellings` are other typed texts that say the same. Every waiting text that is one of them
        becomes that wine, which goes into the history of its pour; pours whose call or reveal it
        was count as logged now, so that their pairs come to the head of the next drill. Returns
        how many pours it resolved.

        Raises:
            StorageError: no such taster.
        """
        texts = [text, *spellings]
        now = self._clock.now()
        with self.writing() as connection:
            mine = and_(OWN_NAME.c.taster_id == taster_id, OWN_NAME.c.text == text)
            values = {"wine": wine, "made_at": now}
            if not connection.execute(update(OWN_NAME).where(mine).values(values)).rowcount:
                connection.execute(
                    OWN_NAME.insert().values(taster_id=taster_id, text=text, **values)
                )
            return _resolve(connection, taster_id, texts, wine, now)

    def forget_name(self, taster_id: int, text: str) -> None:
        """Forget which wine a name stands for; what it resolved stays resolved."""
        with self.writing() as connection:
            connection.execute(
                OWN_NAME.delete().where(OWN_NAME.c.taster_id == taster_id, OWN_NAME.c.text == text)
            )

    def reading_counts(self, taster_id: int, pours: int) -> list[ReadingCount]:
        """Return how often each cue was read how, in the latest noted pours of known wines.

        So many `pours` are looked at, by the date of tasting. Alcohol is left out: what it was held
        against is the label, see `alcohol_counts`.
        """
        latest = _latest_noted(taster_id, pours).subquery("latest")
        query = (
            select(latest.c.was_wine, OBSERVATION.c.attribute, OBSERVATION.c.reading, func.count())
            .select_from(latest)
            .join(OBSERVATION, OBSERVATION.c.pour_id == latest.c.id)
            .where(OBSERVATION.c.attribute.not_in(("", "alcohol")))
            .group_by(latest.c.was_wine, OBSERVATION.c.attribute, OBSERVATION.c.reading)
        )
        with self.reading() as connection:
            return [ReadingCount(*row) for row in connection.execute(query)]

    def noted_pours(self, taster_id: int, pours: int) -> dict[str, int]:
        """Return, by wine, in how many of the latest noted pours any descriptor was noted."""
        latest = _latest_noted(taster_id, pours).subquery("latest")
        smelt = (
            select(OBSERVATION.c.pour_id)
            .where(OBSERVATION.c.pour_id == latest.c.id, OBSERVATION.c.reading.in_((_YES, _NO)))
            .exists()
        )
        query = select(latest.c.was_wine, func.count()).where(smelt).group_by(latest.c.was_wine)
        with self.reading() as connection:
            return {row[0]: row[1] for row in connection.execute(query)}

    def alcohol_counts(self, taster_id: int, pours: int) -> list[AlcoholCount]:
        """Return alcohol as called and as the label states it, in the latest pours that have both.

        The label speaks for itself, so the wine may be one that the table does not know.
        """
        latest = (
            _latest(taster_id)
            .add_columns(POUR.c.label_alcohol, cast(OBSERVATION.c.reading, Float).label("called"))
            .join(
                OBSERVATION,
                and_(OBSERVATION.c.pour_id == POUR.c.id, OBSERVATION.c.attribute == "alcohol"),
            )
            .where(POUR.c.label_alcohol.is_not(None))
            .limit(pours)
            .subquery("latest")
        )
        columns = (latest.c.was_wine, latest.c.called, latest.c.label_alcohol)
        query = select(*columns, func.count()).group_by(*columns)
        with self.reading() as connection:
            return [AlcoholCount(*row) for row in connection.execute(query)]


def _latest(taster_id: int) -> Any:
    """Pours of a taster, the latest tasting first; those without a date last."""
    return (
        select(POUR.c.id, POUR.c.was_wine)
        .select_from(FLIGHT)
        .join(POUR, POUR.c.flight_id == FLIGHT.c.id)
        .where(FLIGHT.c.taster_id == taster_id)
        .order_by(FLIGHT.c.tasted_on.desc().nulls_last(), FLIGHT.c.id.desc(), POUR.c.id.desc())
    )


def _latest_noted(taster_id: int, pours: int) -> Any:
    noted = select(OBSERVATION.c.pour_id).where(OBSERVATION.c.pour_id == POUR.c.id).exists()
    return _latest(taster_id).where(POUR.c.was_wine.is_not(None), noted).limit(pours)


def _resolve(
    connection: Connection, taster_id: int, texts: Sequence[str], wine: str, now: datetime
) -> int:
    waits = {
        role: and_(POUR.c[f"{role}_wine"].is_(None), POUR.c[f"{role}_text"].in_(texts))
        for role in ROLES
    }
    mine = POUR.c.taster_id == taster_id
    values: dict[str, Any] = {
        f"{role}_wine": case((wait, wine), else_=POUR.c[f"{role}_wine"])
        for role, wait in waits.items()
    }
    logged_at = literal(log_time(connection, now, taster_id), UtcTime())
    values["logged_at"] = case(
        (or_(waits["called"], waits["was"]), logged_at), else_=POUR.c.logged_at
    )
    touched = list(
        connection.scalars(select(POUR.c.id).where(mine, or_(*waits.values())).order_by(POUR.c.id))
    )
    for role, wait in waits.items():
        told = select(
            POUR.c.id,
            literal(now, UtcTime()),
            literal(f"{role}_wine", Text()),
            literal(wine, Text()),
        ).where(mine, wait)
        names = ["pour_id", "changed_at", "field", "after"]
        connection.execute(POUR_CHANGE.insert().from_select(names, told))
    # By id from here on: which pours waited is known only before they are resolved.
    for start in range(0, len(touched), _TOGETHER):
        ids = touched[start : start + _TOGETHER]
        connection.execute(update(POUR).where(POUR.c.id.in_(ids)).values(values))
        called, was = POUR.c.called_wine, POUR.c.was_wine
        confused = and_(called.is_not(None), was.is_not(None), called != was)
        less, more = (
            case((called < was, called), else_=was),
            case((called < was, was), else_=called),
        )
        connection.execute(
            update(POUR)
            .where(POUR.c.id.in_(ids))
            .values(pair_a=case((confused, less)), pair_b=case((confused, more)))
        )
    pours = select(POUR.c.id).where(mine)
    connection.execute(
        update(CANDIDATE)
        .where(
            CANDIDATE.c.pour_id.in_(pours), CANDIDATE.c.wine.is_(None), CANDIDATE.c.text.in_(texts)
        )
        .values(wine=wine)
    )
    return len(touched)


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
