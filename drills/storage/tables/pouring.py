"""What is to be poured: a taster's own bottles, and planned flights with their sealed glasses."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint, Index, SmallInteger, Text, UniqueConstraint
from sqlmodel import Field

from drills.storage.kinds import WINE_KEY, UtcTime
from drills.storage.tables.ground import Stored, later_text


class Stock(Stored, table=True):
    """A wine in a taster's own cellar: its name as typed, what that means, and bottles left."""

    __table_args__ = (
        CheckConstraint("bottles >= 0", name="bottles"),
        CheckConstraint("price >= 0", name="price"),
        Index(None, "taster_id"),
    )

    id: int | None = Field(default=None, primary_key=True)
    taster_id: int = Field(foreign_key="taster.id", ondelete="CASCADE")
    text: str = Field(sa_type=Text)
    wine: str | None = Field(default=None, sa_type=WINE_KEY)
    vintage: int | None = None
    price: float | None = None
    bottles: int
    note: str = later_text()


class StockChange(Stored, table=True):
    """One change of a cellar; `before` is JSON, the rows that it touched as they were."""

    __tablename__ = "stock_change"
    __table_args__ = (Index(None, "taster_id"),)

    id: int | None = Field(default=None, primary_key=True)
    taster_id: int = Field(foreign_key="taster.id", ondelete="CASCADE")
    changed_at: datetime = Field(sa_type=UtcTime)
    why: str = Field(sa_type=Text)
    before: str = Field(sa_type=Text)
    undone_at: datetime | None = Field(default=None, sa_type=UtcTime)


class PlannedFlight(Stored, table=True):
    """A flight to be poured blind; `asked` is JSON, what was asked and what it covers.

    `seal` is what the identities of its pours are sealed with.
    """

    __tablename__ = "planned_flight"
    __table_args__ = (
        UniqueConstraint("taster_id", "number"),
        CheckConstraint("state IN ('planned', 'poured', 'done')", name="state"),
    )

    id: int | None = Field(default=None, primary_key=True)
    taster_id: int = Field(foreign_key="taster.id", ondelete="CASCADE")
    number: int
    made_at: datetime = Field(sa_type=UtcTime)
    seed: int
    state: str = Field(sa_type=Text)
    seal: str = Field(sa_type=Text)
    asked: str = Field(sa_type=Text)


class PlannedPour(Stored, table=True):
    """A glass by its code; what is in it is sealed, and its wine known once it is revealed."""

    __tablename__ = "planned_pour"
    __table_args__ = (
        UniqueConstraint("planned_flight_id", "code"),
        CheckConstraint("code BETWEEN 100 AND 999", name="code"),
        CheckConstraint("(wine IS NULL) = (revealed_at IS NULL)", name="revealed"),
    )

    id: int | None = Field(default=None, primary_key=True)
    planned_flight_id: int = Field(foreign_key="planned_flight.id", ondelete="CASCADE")
    code: int = Field(sa_type=SmallInteger)
    sealed: str = Field(sa_type=Text)
    wine: str | None = Field(default=None, sa_type=WINE_KEY)
    revealed_at: datetime | None = Field(default=None, sa_type=UtcTime)


class PlannedServing(Stored, table=True):
    """Where a glass stands in the order of one taster, from 1, and in which sitting."""

    __tablename__ = "planned_serving"

    planned_pour_id: int = Field(
        primary_key=True, foreign_key="planned_pour.id", ondelete="CASCADE"
    )
    taster: str = Field(primary_key=True, sa_type=Text)
    position: int = Field(sa_type=SmallInteger)
    sitting: int = Field(sa_type=SmallInteger)
