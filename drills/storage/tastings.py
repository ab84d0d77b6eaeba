"""Flights and pours: what was called, what it was, and which pairs were confused."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields
from datetime import date
from typing import Any

from sqlalchemy import Connection, Row, Select, and_, func, or_, select

from drills.errors import StorageError
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
from drills.storage.store import Store
from drills.storage.tables import FLIGHT, INTAKE, POUR

_ROLES = ("called", "was", "first", "runner")
_OWN = tuple(f.name for f in fields(PourDraft) if f.name not in ("flight", "tasted_on"))
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
_INTAKE_COLUMNS = tuple(INTAKE.c[field.name] for field in fields(IntakeRecord))


class Tastings(Store):
    """The part of the repository that knows flights and pours."""

    def record_pours(
        self, taster_id: int, intake: IntakeDraft, pours: Sequence[PourDraft]
    ) -> IntakeOutcome:
        """Keep the pours that are not known yet, all or none of them.

        A pour is known by its fingerprint. Pours of the same date and flight name join one flight.
        Where nothing is new, nothing is written.

        Raises:
            StorageError: no such taster.
        """
        with self.writing() as connection:
            known = set(
                connection.scalars(select(POUR.c.fingerprint).where(POUR.c.taster_id == taster_id))
            )
            fresh: dict[str, PourDraft] = {}
            for pour in pours:
                if pour.fingerprint not in known:
                    fresh.setdefault(pour.fingerprint, pour)
            already = len(pours) - len(fresh)
            if not fresh:
                return IntakeOutcome(None, 0, already)
            intake_id = _insert(
                connection,
                INTAKE,
                taster_id=taster_id,
                source=intake.source,
                digest=intake.digest,
                made_at=intake.made_at,
                pours=len(fresh),
            )
            flights: dict[tuple[date | None, str], int] = {}
            for pour in fresh.values():
                place = (pour.tasted_on, pour.flight)
                if place not in flights:
                    flights[place] = _flight(connection, taster_id, intake_id, *place)
            logged_at = self._clock.now()
            connection.execute(
                POUR.insert(),
                [
                    {name: getattr(pour, name) for name in _OWN}
                    | _pair(pour.called_wine, pour.was_wine)
                    | {
                        "flight_id": flights[pour.tasted_on, pour.flight],
                        "taster_id": taster_id,
                        "intake_id": intake_id,
                        "logged_at": logged_at,
                    }
                    for pour in fresh.values()
                ],
            )
        return IntakeOutcome(intake_id, len(fresh), already)

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
        """Return a pour, or None."""
        return next(iter(self._pours(POUR.c.id == pour_id)), None)

    def pours(self, taster_id: int, flight_id: int | None = None) -> list[PourRecord]:
        """Return all pours of a taster, or those of one flight, in the order of tasting."""
        wanted = POUR.c.taster_id == taster_id
        if flight_id is not None:
            wanted = and_(wanted, POUR.c.flight_id == flight_id)
        return self._pours(wanted)

    def unresolved(self, taster_id: int) -> list[PourRecord]:
        """Return the pours of which something typed is no wine of the table yet."""
        open_text = (
            and_(POUR.c[f"{role}_text"] != "", POUR.c[f"{role}_wine"].is_(None)) for role in _ROLES
        )
        return self._pours(and_(POUR.c.taster_id == taster_id, or_(*open_text)))

    def resolve_pour(
        self,
        pour_id: int,
        *,
        called: str | None = None,
        was: str | None = None,
        first: str | None = None,
        runner: str | None = None,
    ) -> PourRecord:
        """Say which wines the typed texts of a pour mean; what is not given stays as it is.

        Raises:
            StorageError: no such pour.
        """
        given = dict(zip(_ROLES, (called, was, first, runner), strict=True))
        values: dict[str, Any] = {f"{role}_wine": wine for role, wine in given.items() if wine}
        with self.writing() as connection:
            row = connection.execute(_select_pours(POUR.c.id == pour_id)).one_or_none()
            if row is None:
                raise StorageError(f"there is no pour {pour_id}")
            draft = _pour_record(row).draft
            values |= _pair(called or draft.called_wine, was or draft.was_wine)
            connection.execute(POUR.update().where(POUR.c.id == pour_id).values(values))
            return _pour_record(connection.execute(_select_pours(POUR.c.id == pour_id)).one())

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
            return [RevealRow(*row) for row in connection.execute(query)]

    def _pours(self, wanted: Any) -> list[PourRecord]:
        with self.reading() as connection:
            return [_pour_record(row) for row in connection.execute(_select_pours(wanted))]


def _select_pours(wanted: Any) -> Select[Any]:
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


def _pour_record(row: Row[Any]) -> PourRecord:
    pour_id, flight_id, intake_id, logged_at, flight, tasted_on = row[:_SPLIT]
    own = dict(zip(_OWN, row[_SPLIT:], strict=True))
    draft = PourDraft(flight=flight, tasted_on=tasted_on, **own)
    return PourRecord(pour_id, flight_id, intake_id, logged_at, draft)


def _pair(called: str | None, was: str | None) -> dict[str, str | None]:
    """Return the confused pair, its wines sorted, where both are known and differ."""
    if called is None or was is None or called == was:
        return {"pair_a": None, "pair_b": None}
    return {"pair_a": min(called, was), "pair_b": max(called, was)}


def _flight(
    connection: Connection, taster_id: int, intake_id: int, tasted_on: date | None, name: str
) -> int:
    found = connection.scalar(
        select(FLIGHT.c.id)
        .where(
            FLIGHT.c.taster_id == taster_id,
            FLIGHT.c.tasted_on.is_not_distinct_from(tasted_on),
            FLIGHT.c.name == name,
        )
        .order_by(FLIGHT.c.id)
        .limit(1)
    )
    if found is not None:
        return int(found)
    return _insert(
        connection,
        FLIGHT,
        taster_id=taster_id,
        intake_id=intake_id,
        tasted_on=tasted_on,
        name=name,
    )


def _insert(connection: Connection, table: Any, **values: Any) -> int:
    key = connection.execute(table.insert().values(values)).inserted_primary_key
    assert key is not None
    return int(key[0])
