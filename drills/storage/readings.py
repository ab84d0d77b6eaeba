"""How a taster read the cues of wines that were revealed, counted."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sqlalchemy import and_, cast, func, select
from sqlalchemy.types import Float

from drills.storage.columns import FLIGHT, OBSERVATION, POUR
from drills.storage.store import Store

if TYPE_CHECKING:
    from drills.storage.counted import AlcoholCount, ReadingCount

_YES, _NO = "yes", "no"


class Readings(Store):
    """The part of the repository that counts readings."""

    def reading_counts(self, taster_id: int, pours: int) -> list[ReadingCount]:
        """Return how often each cue was read how, in the latest noted pours of known wines.

        So many `pours` are looked at, by the date of tasting. Alcohol is left out: what it was held
        against is the label, see `alcohol_counts`.
        """
        from drills.storage.counted import ReadingCount

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
        from drills.storage.counted import AlcoholCount

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
