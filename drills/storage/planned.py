"""Planned flights: kept with their identities sealed, revealed glass by glass."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from sqlalchemy import Connection, and_, func, select, text, update

from drills.errors import StorageError
from drills.storage.columns import PLANNED_FLIGHT, PLANNED_POUR, PLANNED_SERVING, TASTER
from drills.storage.planned_records import (
    Place,
    PlannedFlightDraft,
    PlannedFlightRecord,
    PlannedPourRecord,
    Reveal,
)
from drills.storage.stock import take_bottles
from drills.storage.store import Store, new_id

PLANNED, POURED, DONE = "planned", "poured", "done"


class Planned(Store):
    """The part of the repository that knows planned flights."""

    def keep_planned(self, taster_id: int, flight: PlannedFlightDraft) -> PlannedFlightRecord:
        """Keep a planned flight under the next number, all of it or nothing.

        Numbers go on whoever plans, so that a sheet's number says the same to every taster of it.

        Raises:
            StorageError: no such taster, or a code twice in the flight.
        """
        with self.writing() as connection:
            highest = connection.scalar(
                # A login sees its own flights only.
                text("SELECT crosspour_last_flight()")
                if self.on_server and _has_functions(connection)
                else select(func.max(PLANNED_FLIGHT.c.number))
            )
            number = (highest or 0) + 1
            values = {
                "taster_id": taster_id,
                "number": number,
                "made_at": self._clock.now(),
                "seed": flight.seed,
                "state": PLANNED,
                "seal": flight.seal,
                "asked": flight.asked,
            }
            flight_id = new_id(connection, PLANNED_FLIGHT.insert().values(values))
            # By code: in no order that tells anything of the wines.
            for pour in sorted(flight.pours, key=lambda one: one.code):
                values = {
                    "planned_flight_id": flight_id,
                    "code": pour.code,
                    "sealed": pour.sealed,
                }
                pour_id = new_id(connection, PLANNED_POUR.insert().values(values))
                rows = [
                    {"planned_pour_id": pour_id, "taster": name}
                    | {"position": place.position, "sitting": place.sitting}
                    for name, place in pour.places.items()
                ]
                if rows:
                    connection.execute(PLANNED_SERVING.insert(), rows)
            return _flights(connection, PLANNED_FLIGHT.c.id == flight_id)[0]

    def planned_flights(self, taster_id: int) -> list[PlannedFlightRecord]:
        """Return every planned flight, those poured and done among them, the latest first."""
        with self.reading() as connection:
            return _flights(connection, PLANNED_FLIGHT.c.taster_id == taster_id)

    def flights_served_to(self, taster_id: int, name: str) -> list[PlannedFlightRecord]:
        """Return the flights that others planned and that serve a taster of this name.

        To a login of one taster's a server tells no key: a glass has its mark, and its wine once
        its planner has revealed it.
        """
        if self.on_server:
            with self.reading() as connection:
                if connection.scalar(text("SELECT row_security_active('planned_flight')")):
                    return _served(connection) if _has_functions(connection) else []
        query = (
            select(PLANNED_FLIGHT.c.id, PLANNED_SERVING.c.taster)
            .join(PLANNED_POUR, PLANNED_POUR.c.planned_flight_id == PLANNED_FLIGHT.c.id)
            .join(PLANNED_SERVING, PLANNED_SERVING.c.planned_pour_id == PLANNED_POUR.c.id)
            .where(PLANNED_FLIGHT.c.taster_id != taster_id)
            .distinct()
        )
        with self.reading() as connection:
            # Compared here: SQLite knows capitals of plain letters only.
            ids = [key for key, served in connection.execute(query) if _same(served, name)]
            return _flights(connection, PLANNED_FLIGHT.c.id.in_(ids)) if ids else []

    def reveal_planned(
        self, taster_id: int, flight_id: int, reveals: Sequence[Reveal], why: str
    ) -> PlannedFlightRecord:
        """Reveal glasses and count their bottles off the cellar, in one transaction.

        A glass that is revealed already stays as it is, and takes no second bottle.

        Raises:
            StorageError: no such flight of this taster.
        """
        with self.writing() as connection:
            mine = and_(PLANNED_FLIGHT.c.id == flight_id, PLANNED_FLIGHT.c.taster_id == taster_id)
            if connection.scalar(select(PLANNED_FLIGHT.c.id).where(mine)) is None:
                raise StorageError(f"there is no planned flight with the id {flight_id}")
            now = self._clock.now()
            opened = []
            for one in reveals:
                shut = and_(
                    PLANNED_POUR.c.id == one.pour_id,
                    PLANNED_POUR.c.planned_flight_id == flight_id,
                    PLANNED_POUR.c.revealed_at.is_(None),
                )
                values = {"wine": one.wine, "revealed_at": now}
                if connection.execute(update(PLANNED_POUR).where(shut).values(values)).rowcount:
                    opened.append(one)
            taken = [one.stock_id for one in opened if one.stock_id is not None]
            take_bottles(connection, taster_id, now, why, taken)
            flight = _flights(connection, mine)[0]
            shut_still = sum(pour.revealed_at is None for pour in flight.pours)
            state = DONE if not shut_still else POURED
            if shut_still < len(flight.pours) and state != flight.state:
                connection.execute(update(PLANNED_FLIGHT).where(mine).values(state=state))
            return _flights(connection, mine)[0]


def _has_functions(connection: Connection) -> bool:
    """Whether a server has what it tells tasters of others' flights by.

    One that was furnished by an earlier version has not, until whoever runs it refreshes it.
    """
    return bool(connection.scalar(text("SELECT to_regproc('crosspour_served') IS NOT NULL")))


def _served(connection: Connection) -> list[PlannedFlightRecord]:
    """What a server tells a taster's login of the flights that others planned for them."""
    query = text(
        "SELECT flight, number, made_at, planner, tasters, pour, code, mark, revealed_at, wine,"
        " taster, sitting, place FROM crosspour_served()"
        " ORDER BY number DESC, flight, code, taster"
    ).columns(made_at=PLANNED_FLIGHT.c.made_at.type, revealed_at=PLANNED_POUR.c.revealed_at.type)
    flights: dict[int, Any] = {}
    pours: dict[int, dict[int, PlannedPourRecord]] = {}
    for row in connection.execute(query):
        flights.setdefault(row.flight, row)
        glasses = pours.setdefault(row.flight, {})
        place = {row.taster: Place(row.sitting, row.place)}
        if (known := glasses.get(row.pour)) is not None:
            place = {**known.places, **place}
        glasses[row.pour] = PlannedPourRecord(
            row.pour, row.code, "", row.wine, row.revealed_at, place, row.mark, row.wine
        )
    return [
        _record(
            {
                "id": row.flight,
                "number": row.number,
                "made_at": row.made_at,
                # What it was drawn from, and what it covers, would tell of the wines.
                "seed": 0,
                "state": PLANNED,
                "seal": "",
                "asked": json.dumps({"asked": {"tasters": json.loads(row.tasters)}}),
                "planner": row.planner,
            },
            tuple(pours[row.flight].values()),
        )
        for row in flights.values()
    ]


def _same(one: str, other: str) -> bool:
    return one.casefold() == other.casefold()


def _flights(connection: Connection, wanted: Any) -> list[PlannedFlightRecord]:
    names = ("id", "number", "made_at", "seed", "state", "seal", "asked")
    flights = connection.execute(
        select(*PLANNED_FLIGHT.c[names], TASTER.c.name.label("planner"))
        .join(TASTER, TASTER.c.id == PLANNED_FLIGHT.c.taster_id)
        .where(wanted)
        .order_by(PLANNED_FLIGHT.c.number.desc())
    ).all()
    ids = select(PLANNED_FLIGHT.c.id).where(wanted)
    places: dict[int, dict[str, Place]] = {}
    query = (
        select(*PLANNED_SERVING.c["planned_pour_id", "taster", "sitting", "position"])
        .join(PLANNED_POUR, PLANNED_POUR.c.id == PLANNED_SERVING.c.planned_pour_id)
        .where(PLANNED_POUR.c.planned_flight_id.in_(ids))
        .order_by(PLANNED_SERVING.c.taster)
    )
    for pour_id, taster, sitting, position in connection.execute(query):
        places.setdefault(pour_id, {})[taster] = Place(sitting, position)
    pours: dict[int, list[PlannedPourRecord]] = {}
    query = (
        select(*PLANNED_POUR.c["planned_flight_id", "id", "code", "sealed", "wine", "revealed_at"])
        .where(PLANNED_POUR.c.planned_flight_id.in_(ids))
        .order_by(PLANNED_POUR.c.code)
    )
    for flight_id, pour_id, code, sealed, wine, revealed_at in connection.execute(query):
        pours.setdefault(flight_id, []).append(
            PlannedPourRecord(pour_id, code, sealed, wine, revealed_at, places.get(pour_id, {}))
        )
    return [_record(row._mapping, tuple(pours.get(row.id, ()))) for row in flights]


def _record(values: Any, pours: tuple[PlannedPourRecord, ...]) -> PlannedFlightRecord:
    first = min((pour.revealed_at for pour in pours if pour.revealed_at), default=None)
    return PlannedFlightRecord(**values, pours=pours, first_revealed=first)
