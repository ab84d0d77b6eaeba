"""The log of tastings: flights and their pours, what was noted, and what was changed since."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import CheckConstraint, Index, SmallInteger, Text, UniqueConstraint
from sqlmodel import Field

from drills.storage.kinds import WINE_KEY, UtcTime
from drills.storage.tables.ground import Stored, later_text


class Intake(Stored, table=True):
    """A file or typed list that added pours."""

    __table_args__ = (Index(None, "taster_id"),)

    id: int | None = Field(default=None, primary_key=True)
    taster_id: int = Field(foreign_key="taster.id", ondelete="CASCADE")
    source: str = Field(sa_type=Text)
    digest: str = Field(sa_type=Text)
    made_at: datetime = Field(sa_type=UtcTime)
    pours: int
    undone_at: datetime | None = Field(default=None, sa_type=UtcTime)


class Flight(Stored, table=True):
    """A tasting: its date, if known, and its name."""

    __table_args__ = (Index(None, "taster_id", "tasted_on"), Index(None, "intake_id"))

    id: int | None = Field(default=None, primary_key=True)
    taster_id: int = Field(foreign_key="taster.id", ondelete="CASCADE")
    tasted_on: date | None = None
    name: str = Field(sa_type=Text)
    intake_id: int | None = Field(default=None, foreign_key="intake.id", ondelete="SET NULL")


class Pour(Stored, table=True):
    """One wine of a flight: texts as typed, and beside them the wines they resolved to."""

    __table_args__ = (
        UniqueConstraint("taster_id", "fingerprint"),
        # Both known and different, in sorted order, or none.
        CheckConstraint(
            "(pair_a IS NULL AND pair_b IS NULL)"
            " OR (pair_a IS NOT NULL AND pair_b IS NOT NULL AND pair_a < pair_b)",
            name="pair",
        ),
        Index(None, "taster_id", "pair_a", "pair_b", "logged_at"),
        Index(None, "taster_id", "was_wine"),
        Index(None, "flight_id"),
        Index(None, "intake_id"),
    )

    id: int | None = Field(default=None, primary_key=True)
    flight_id: int = Field(foreign_key="flight.id", ondelete="CASCADE")
    taster_id: int = Field(foreign_key="taster.id", ondelete="CASCADE")
    intake_id: int | None = Field(default=None, foreign_key="intake.id", ondelete="SET NULL")
    position: int
    called_text: str = Field(sa_type=Text)
    called_wine: str | None = Field(default=None, sa_type=WINE_KEY)
    was_text: str = Field(sa_type=Text)
    was_wine: str | None = Field(default=None, sa_type=WINE_KEY)
    first_text: str = Field(sa_type=Text)
    first_wine: str | None = Field(default=None, sa_type=WINE_KEY)
    runner_text: str = Field(sa_type=Text)
    runner_wine: str | None = Field(default=None, sa_type=WINE_KEY)
    note: str = Field(sa_type=Text)
    fingerprint: str = Field(sa_type=Text)
    logged_at: datetime = Field(sa_type=UtcTime)
    pair_a: str | None = Field(default=None, sa_type=WINE_KEY)
    pair_b: str | None = Field(default=None, sa_type=WINE_KEY)
    called_vintage: int | None = None
    was_vintage: int | None = None
    first_vintage: int | None = None
    called_sureness: int | None = Field(default=None, sa_type=SmallInteger)
    first_sureness: int | None = Field(default=None, sa_type=SmallInteger)
    label_alcohol: float | None = None
    seconds: float | None = None
    price: str = later_text()
    world: str = later_text()
    climate: str = later_text()
    age: str = later_text()
    appearance: str = later_text()
    nose: str = later_text()
    palate: str = later_text()


class Observation(Stored, table=True):
    """One thing noted of a pour, in the order of noting.

    `attribute` is empty for a word that no cue answers to; `typed` is what was typed where that was
    not the reading itself.
    """

    pour_id: int = Field(primary_key=True, foreign_key="pour.id", ondelete="CASCADE")
    position: int = Field(primary_key=True, sa_type=SmallInteger)
    attribute: str = Field(sa_type=Text)
    reading: str = Field(sa_type=Text)
    typed: str = Field(sa_type=Text)


class Candidate(Stored, table=True):
    """A wine that was considered; `struck` is why it was struck off, empty while it stands."""

    pour_id: int = Field(primary_key=True, foreign_key="pour.id", ondelete="CASCADE")
    position: int = Field(primary_key=True, sa_type=SmallInteger)
    text: str = Field(sa_type=Text)
    wine: str | None = Field(default=None, sa_type=WINE_KEY)
    struck: str = Field(sa_type=Text)


class PourChange(Stored, table=True):
    """What one field of a pour held before it was changed, and after; None for nothing."""

    __tablename__ = "pour_change"
    __table_args__ = (Index(None, "pour_id"),)

    id: int | None = Field(default=None, primary_key=True)
    pour_id: int = Field(foreign_key="pour.id", ondelete="CASCADE")
    changed_at: datetime = Field(sa_type=UtcTime)
    field: str = Field(sa_type=Text)
    before: str | None = Field(default=None, sa_type=Text)
    after: str | None = Field(default=None, sa_type=Text)


class Draft(Stored, table=True):
    """A half-entered flight, as JSON."""

    __table_args__ = (Index(None, "taster_id"),)

    id: int | None = Field(default=None, primary_key=True)
    taster_id: int = Field(foreign_key="taster.id", ondelete="CASCADE")
    content: str = Field(sa_type=Text)
    saved_at: datetime = Field(sa_type=UtcTime)


class OwnName(Stored, table=True):
    """What a taster means by a name that the table does not know."""

    __tablename__ = "own_name"
    __table_args__ = (UniqueConstraint("taster_id", "text"),)

    id: int | None = Field(default=None, primary_key=True)
    taster_id: int = Field(foreign_key="taster.id", ondelete="CASCADE")
    text: str = Field(sa_type=Text)
    wine: str = Field(sa_type=WINE_KEY)
    made_at: datetime = Field(sa_type=UtcTime)
