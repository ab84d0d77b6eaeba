"""Flights and pours: what was called, what it was, and which pairs were confused."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import fields
from datetime import date
from itertools import islice
from typing import Any

from sqlalchemy import ColumnElement, Connection, and_, func, or_, select

from drills.errors import StorageError
from drills.storage.columns import DRAFT, FLIGHT, INTAKE, POUR
from drills.storage.pour_rows import (
    as_kept,
    full_pours,
    keep_pours,
    log_time,
    pour_record,
    select_pours,
    write_counted,
)
from drills.storage.records import (
    ConfusionRow,
    FlightRecord,
    IntakeDraft,
    IntakeOutcome,
    IntakeRecord,
    PourDraft,
    PourRecord,
    RevealRow,
)
from drills.storage.store import Store, new_id

_ROLES = ("called", "was", "first", "runner")
# Pours that are written together: enough that a statement costs nothing, few enough that a file of
# any size takes the same memory.
_TOGETHER = 1000
_INTAKE_COLUMNS = tuple(INTAKE.c[field.name] for field in fields(IntakeRecord))


class Tastings(Store):
    """The part of the repository that knows flights and pours."""

    def record_pours(
        self, taster_id: int, intake: IntakeDraft, pours: Iterable[PourDraft]
    ) -> IntakeOutcome:
        """Keep the pours that are not known yet, all or none of them.

        A pour is known by its fingerprint. Pours of the same date and flight name join one flight.
        Where nothing is new, nothing is written. `pours` may be read while it is written: an error
        that it raises leaves nothing behind, and no more than a thousand pours are held at once.

        Raises:
            StorageError: no such taster.
        """
        intake_id: int | None = None
        added = already = 0
        flights = _Flights(taster_id)
        with self.writing() as connection:
            logged_at = log_time(connection, self._clock.now(), taster_id)
            for batch in _batches(pours):
                fresh = _unknown(connection, taster_id, batch)
                already += len(batch) - len(fresh)
                if not fresh:
                    continue
                if intake_id is None:
                    values = {
                        "taster_id": taster_id,
                        "source": intake.source,
                        "digest": intake.digest,
                        "made_at": intake.made_at,
                        "pours": 0,
                    }
                    intake_id = new_id(connection, INTAKE.insert().values(values))
                keep_pours(
                    connection,
                    fresh,
                    flights.of(connection, intake_id, fresh),
                    taster_id=taster_id,
                    intake_id=intake_id,
                    logged_at=logged_at,
                )
                added += len(fresh)
            if intake_id is not None:
                connection.execute(
                    INTAKE.update().where(INTAKE.c.id == intake_id).values(pours=added)
                )
        return IntakeOutcome(intake_id, added, already)

    def record_flight(
        self,
        taster_id: int,
        name: str,
        tasted_on: date | None,
        pours: Sequence[PourDraft],
        *,
        draft_id: int | None = None,
    ) -> int:
        """Keep a flight that was tasted, and drop its draft, in one transaction; return its id.

        The flight is a new one, whatever others are called; what the pours say of flight and date
        does not matter.

        Raises:
            StorageError: no such taster, or a fingerprint that is kept already.
        """
        with self.writing() as connection:
            flight_id = new_id(
                connection,
                FLIGHT.insert().values(taster_id=taster_id, tasted_on=tasted_on, name=name),
            )
            keep_pours(
                connection,
                pours,
                [flight_id] * len(pours),
                taster_id=taster_id,
                intake_id=None,
                logged_at=log_time(connection, self._clock.now(), taster_id),
            )
            if draft_id is not None:
                connection.execute(DRAFT.delete().where(DRAFT.c.id == draft_id))
        return flight_id

    def known_pours(self, taster_id: int) -> frozenset[str]:
        """Return the fingerprints of all pours that are kept."""
        query = select(POUR.c.fingerprint).where(POUR.c.taster_id == taster_id)
        with self.reading() as connection:
            return frozenset(connection.scalars(query))

    def undo_intake(self, intake_id: int) -> int:
        """Take an intake's pours out again, with flights left empty; return how many pours.

        The file may be taken in again later. Undoing twice takes out nothing more.

        Raises:
            StorageError: no such intake.
        """
        mine = POUR.c.intake_id == intake_id
        with self.writing() as connection:
            undone = connection.execute(
                select(INTAKE.c.undone_at).where(INTAKE.c.id == intake_id)
            ).one_or_none()
            if undone is None:
                raise StorageError(f"there is no intake {intake_id}")
            if undone[0] is not None:
                return 0
            flights = list(connection.scalars(select(POUR.c.flight_id).where(mine).distinct()))
            gone = connection.execute(POUR.delete().where(mine)).rowcount
            for flight_id in flights:
                left = select(POUR.c.id).where(POUR.c.flight_id == flight_id).exists()
                connection.execute(FLIGHT.delete().where(FLIGHT.c.id == flight_id, ~left))
            connection.execute(
                INTAKE.update().where(INTAKE.c.id == intake_id).values(undone_at=self._clock.now())
            )
        return gone

    def intakes(self, taster_id: int, limit: int = 50) -> list[IntakeRecord]:
        """Return the latest intakes, newest first, the undone ones among them."""
        query = (
            select(*_INTAKE_COLUMNS)
            .where(INTAKE.c.taster_id == taster_id)
            .order_by(INTAKE.c.id.desc())
            .limit(limit)
        )
        with self.reading() as connection:
            return [IntakeRecord(*row) for row in connection.execute(query)]

    def flights(self, taster_id: int, limit: int = 50) -> list[FlightRecord]:
        """Return the latest flights, newest first; those without a date come last."""
        query = (
            select(FLIGHT.c.id, FLIGHT.c.name, FLIGHT.c.tasted_on, func.count(POUR.c.id))
            .outerjoin(POUR, POUR.c.flight_id == FLIGHT.c.id)
            .where(FLIGHT.c.taster_id == taster_id)
            .group_by(FLIGHT.c.id, FLIGHT.c.name, FLIGHT.c.tasted_on)
            .order_by(FLIGHT.c.tasted_on.is_(None), FLIGHT.c.tasted_on.desc(), FLIGHT.c.id.desc())
            .limit(limit)
        )
        with self.reading() as connection:
            return [FlightRecord(*row) for row in connection.execute(query)]

    def pour(self, pour_id: int) -> PourRecord | None:
        """Return a pour with its observations and candidates, or None."""
        with self.reading() as connection:
            return next(iter(full_pours(connection, POUR.c.id == pour_id)), None)

    def pours(
        self, taster_id: int, flight_id: int | None = None, *, full: bool = False
    ) -> list[PourRecord]:
        """Return all pours of a taster, or those of one flight, in the order of tasting.

        `full` adds their observations and candidates.
        """
        wanted = POUR.c.taster_id == taster_id
        if flight_id is not None:
            wanted = and_(wanted, POUR.c.flight_id == flight_id)
        if not full:
            return self._pours(wanted)
        with self.reading() as connection:
            return full_pours(connection, wanted)

    def unresolved(self, taster_id: int) -> list[PourRecord]:
        """Return the pours of which something typed is no wine of the table yet."""
        return self._pours(_unresolved(taster_id))

    def unresolved_pours(self, taster_id: int) -> int:
        """Return how many pours there are of which something typed is no wine of the table yet."""
        query = select(func.count()).select_from(POUR).where(_unresolved(taster_id))
        with self.reading() as connection:
            return int(connection.execute(query).scalar_one())

    def confusions(self, taster_id: int) -> list[ConfusionRow]:
        """Return the pours called another wine than they were, the oldest log entry first."""
        query = (
            select(POUR.c.called_wine, POUR.c.was_wine, FLIGHT.c.tasted_on, POUR.c.logged_at)
            .join(FLIGHT, FLIGHT.c.id == POUR.c.flight_id)
            .where(POUR.c.taster_id == taster_id, POUR.c.pair_a.is_not(None))
            .order_by(POUR.c.logged_at, POUR.c.id)
        )
        with self.reading() as connection:
            return [ConfusionRow(*row) for row in connection.execute(query)]

    def reveals(self, taster_id: int) -> list[RevealRow]:
        """Return every pour whose identity is known, rightly called or not, in log order."""
        query = (
            select(POUR.c.was_wine, POUR.c.called_wine, FLIGHT.c.tasted_on)
            .join(FLIGHT, FLIGHT.c.id == POUR.c.flight_id)
            .where(POUR.c.taster_id == taster_id, POUR.c.was_wine.is_not(None))
            .order_by(POUR.c.logged_at, POUR.c.id)
        )
        with self.reading() as connection:
            # Fetched at once: row by row takes twice as long, and a log is read whole.
            return [RevealRow(*row) for row in connection.execute(query).all()]

    def _pours(self, wanted: Any) -> list[PourRecord]:
        with self.reading() as connection:
            return [pour_record(row) for row in connection.execute(select_pours(wanted))]


def _unresolved(taster_id: int) -> ColumnElement[bool]:
    open_text = (
        and_(POUR.c[f"{role}_text"] != "", POUR.c[f"{role}_wine"].is_(None)) for role in _ROLES
    )
    return and_(POUR.c.taster_id == taster_id, or_(*open_text))


def _batches(pours: Iterable[PourDraft]) -> Iterator[list[PourDraft]]:
    left = iter(pours)
    while batch := list(islice(left, _TOGETHER)):
        yield batch


def _unknown(connection: Connection, taster_id: int, batch: Sequence[PourDraft]) -> list[PourDraft]:
    """The pours of a batch that are not kept yet, each fingerprint once."""
    by_fingerprint: dict[str, PourDraft] = {}
    for pour in batch:
        by_fingerprint.setdefault(pour.fingerprint, pour)
    known = connection.scalars(
        select(POUR.c.fingerprint).where(
            POUR.c.taster_id == taster_id, POUR.c.fingerprint.in_(by_fingerprint)
        )
    )
    for fingerprint in known:
        by_fingerprint.pop(fingerprint, None)
    return list(by_fingerprint.values())


class _Flights:
    """The flights that an intake's pours join, found or made when they are first met."""

    def __init__(self, taster_id: int) -> None:
        self._taster_id = taster_id
        self._by_day: dict[date | None, dict[str, int]] = {}

    def of(self, connection: Connection, intake_id: int, pours: Sequence[PourDraft]) -> list[int]:
        """The flight of each pour."""
        days = {pour.tasted_on for pour in pours} - self._by_day.keys()
        if days:
            # A day's flights at once, for an old list may hold thousands without any date; and all
            # days at once, for a long list may hold as many.
            dated = FLIGHT.c.tasted_on.in_([day for day in days if day is not None])
            wanted = or_(dated, FLIGHT.c.tasted_on.is_(None)) if None in days else dated
            query = (
                select(FLIGHT.c.tasted_on, FLIGHT.c.name, FLIGHT.c.id)
                .where(FLIGHT.c.taster_id == self._taster_id, wanted)
                .order_by(FLIGHT.c.id.desc())
            )
            self._by_day |= {day: {} for day in days}
            # The oldest of equal ones comes last and stays.
            for day, name, flight_id in connection.execute(query):
                self._by_day[day][name] = flight_id
        places = dict.fromkeys((pour.tasted_on, pour.flight) for pour in pours)
        new = [place for place in places if place[1] not in self._by_day[place[0]]]
        if new:
            rows = [
                (self._taster_id, as_kept(connection, FLIGHT.c.tasted_on, day), name, intake_id)
                for day, name in new
            ]
            names = ("taster_id", "tasted_on", "name", "intake_id")
            ids = write_counted(connection, FLIGHT, names, rows)
            for (day, name), flight_id in zip(new, ids, strict=True):
                self._by_day[day][name] = flight_id
        return [self._by_day[pour.tasted_on][pour.flight] for pour in pours]
