"""Names that a taster explained, and what waits for one."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, and_, case, func, literal, or_, select, update
from sqlalchemy.types import Text

from drills.storage.columns import CANDIDATE, OWN_NAME, POUR, POUR_CHANGE
from drills.storage.kinds import UtcTime
from drills.storage.pour_rows import log_time
from drills.storage.records import OwnNameRecord
from drills.storage.store import Store

ROLES = ("called", "was", "first", "runner")
# A statement takes only so many values.
_TOGETHER = 1000


class OwnNames(Store):
    """The part of the repository that knows what a taster means by a name."""

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
