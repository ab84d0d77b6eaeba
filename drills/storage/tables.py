"""The tables: the only SQLModel classes of the program.

They describe the schema and nothing else: `table=True` does not validate, so values are checked
where they enter the repository, and again by the constraints below. Databases are made and upgraded
from here; queries use `columns`, which is written from here and starts faster.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import (
    CheckConstraint,
    Connection,
    Index,
    MetaData,
    SmallInteger,
    Text,
    UniqueConstraint,
    event,
    false,
    text,
)
from sqlalchemy.orm import registry
from sqlmodel import Field, SQLModel

from drills.storage.kinds import STABLE_ID, WINE_KEY, UtcTime

# Batch migrations find constraints by name, so every one has a name that follows from its place.
NAMING = {
    "pk": "pk_%(table_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
}


def _text() -> Any:
    """A text that older rows have not: empty there."""
    return Field(default="", sa_type=Text, sa_column_kwargs={"server_default": text("''")})


class _Stored(SQLModel, registry=registry(metadata=MetaData(naming_convention=NAMING))):
    """Base of all tables; a registry of our own keeps other libraries' tables out."""


metadata = _Stored.metadata


class Meta(_Stored, table=True):
    """Facts about the database itself."""

    key: str = Field(primary_key=True, sa_type=Text)
    value: str = Field(sa_type=Text)


class Taster(_Stored, table=True):
    """Who answers and tastes.

    `login` is the role on a server that is this taster's; `shares` says that their confusions may
    be counted with others'.
    """

    __table_args__ = (UniqueConstraint("name"), Index(None, "login", unique=True))

    id: int | None = Field(default=None, primary_key=True)
    name: str = Field(sa_type=Text)
    made_at: datetime = Field(sa_type=UtcTime)
    login: str | None = Field(default=None, sa_type=Text)
    shares: bool = Field(default=False, sa_column_kwargs={"server_default": false()})


class Contrast(_Stored, table=True):
    """A contrast of a pair; retired, never deleted, because answers refer to it."""

    __table_args__ = (
        CheckConstraint("id > 0", name="id"),
        CheckConstraint("wine_a < wine_b", name="pair"),
        CheckConstraint("sides BETWEEN 1 AND 3", name="sides"),
        Index(None, "wine_a", "wine_b"),
        Index(None, "rank"),
    )

    id: int = Field(primary_key=True, sa_type=STABLE_ID, sa_column_kwargs={"autoincrement": False})
    wine_a: str = Field(sa_type=WINE_KEY)
    wine_b: str = Field(sa_type=WINE_KEY)
    cues: str = Field(sa_type=Text)
    sides: int = Field(sa_type=SmallInteger)
    bearing: str = Field(sa_type=Text)
    rank: int
    strength: float
    retired_at: datetime | None = Field(default=None, sa_type=UtcTime)
    turned_at: datetime | None = Field(default=None, sa_type=UtcTime)


class Memory(_Stored, table=True):
    """A taster's memory of a contrast; no row while it is unseen."""

    __table_args__ = (
        CheckConstraint("stability > 0", name="stability"),
        CheckConstraint("due_day >= last_day", name="due_day"),
        CheckConstraint("slips BETWEEN 0 AND answers", name="slips"),
        Index(None, "taster_id", "due_day"),
        Index(None, "contrast_id"),
    )

    taster_id: int = Field(primary_key=True, foreign_key="taster.id", ondelete="CASCADE")
    contrast_id: int = Field(
        primary_key=True, foreign_key="contrast.id", ondelete="RESTRICT", sa_type=STABLE_ID
    )
    stability: float
    difficulty: float
    last_day: int
    due_day: int
    answers: int
    slips: int
    last_at: datetime = Field(sa_type=UtcTime)


class Drill(_Stored, table=True):
    """One sitting of answering."""

    __table_args__ = (
        CheckConstraint("planned_seconds >= 0", name="planned_seconds"),
        Index(None, "taster_id"),
    )

    id: int | None = Field(default=None, primary_key=True)
    taster_id: int = Field(foreign_key="taster.id", ondelete="CASCADE")
    began_at: datetime = Field(sa_type=UtcTime)
    ended_at: datetime | None = Field(default=None, sa_type=UtcTime)
    planned_seconds: int
    note: str = Field(default="", sa_type=Text)


_COUNTED = "ix_answer_counted"
_STANDS = "undone_at IS NULL"


class Answer(_Stored, table=True):
    """One answer; undone ones are marked, never deleted."""

    __table_args__ = (
        CheckConstraint("truth IN ('a', 'b')", name="truth"),
        CheckConstraint("sureness BETWEEN 1 AND 3", name="sureness"),
        CheckConstraint("grade BETWEEN 1 AND 4", name="grade"),
        CheckConstraint("seconds >= 0", name="seconds"),
        # SQLite ends every index with the row's number, so these also give the order of answering.
        Index(None, "taster_id", "contrast_id"),
        Index(None, "taster_id", "day"),
        Index(None, "taster_id", "form"),
        Index(None, "drill_id"),
        # What is delivered again after a lost connection is kept once.
        Index(None, "taster_id", "receipt", unique=True),
        # Holds all that is counted for weak pairs and progress: a million answers take 0.1 s, and
        # 1.3 s without it.
        Index(
            _COUNTED,
            "taster_id",
            "form",
            "contrast_id",
            "truth",
            "correct",
            "sureness",
            sqlite_where=text(_STANDS),
        ),
    )

    id: int | None = Field(default=None, primary_key=True)
    taster_id: int = Field(foreign_key="taster.id", ondelete="CASCADE")
    contrast_id: int = Field(foreign_key="contrast.id", ondelete="RESTRICT", sa_type=STABLE_ID)
    # No action instead of restrict: a taster's drills and answers go in one statement.
    drill_id: int = Field(foreign_key="drill.id")
    answered_at: datetime = Field(sa_type=UtcTime)
    day: int
    form: str = Field(sa_type=Text)
    swapped: bool
    truth: str = Field(sa_type=Text)
    given: str = Field(sa_type=Text)
    correct: bool
    sureness: int = Field(sa_type=SmallInteger)
    seconds: float
    grade: int = Field(sa_type=SmallInteger)
    counts: bool
    undone_at: datetime | None = Field(default=None, sa_type=UtcTime)
    receipt: int | None = Field(default=None, sa_type=STABLE_ID)


class Intake(_Stored, table=True):
    """A file or typed list that added pours."""

    __table_args__ = (Index(None, "taster_id"),)

    id: int | None = Field(default=None, primary_key=True)
    taster_id: int = Field(foreign_key="taster.id", ondelete="CASCADE")
    source: str = Field(sa_type=Text)
    digest: str = Field(sa_type=Text)
    made_at: datetime = Field(sa_type=UtcTime)
    pours: int
    undone_at: datetime | None = Field(default=None, sa_type=UtcTime)


class Flight(_Stored, table=True):
    """A tasting: its date, if known, and its name."""

    __table_args__ = (Index(None, "taster_id", "tasted_on"), Index(None, "intake_id"))

    id: int | None = Field(default=None, primary_key=True)
    taster_id: int = Field(foreign_key="taster.id", ondelete="CASCADE")
    tasted_on: date | None = None
    name: str = Field(sa_type=Text)
    intake_id: int | None = Field(default=None, foreign_key="intake.id", ondelete="SET NULL")


class Pour(_Stored, table=True):
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
    price: str = _text()
    world: str = _text()
    climate: str = _text()
    age: str = _text()
    appearance: str = _text()
    nose: str = _text()
    palate: str = _text()


class Observation(_Stored, table=True):
    """One thing noted of a pour, in the order of noting.

    `attribute` is empty for a word that no cue answers to; `typed` is what was typed where that was
    not the reading itself.
    """

    pour_id: int = Field(primary_key=True, foreign_key="pour.id", ondelete="CASCADE")
    position: int = Field(primary_key=True, sa_type=SmallInteger)
    attribute: str = Field(sa_type=Text)
    reading: str = Field(sa_type=Text)
    typed: str = Field(sa_type=Text)


class Candidate(_Stored, table=True):
    """A wine that was considered; `struck` is why it was struck off, empty while it stands."""

    pour_id: int = Field(primary_key=True, foreign_key="pour.id", ondelete="CASCADE")
    position: int = Field(primary_key=True, sa_type=SmallInteger)
    text: str = Field(sa_type=Text)
    wine: str | None = Field(default=None, sa_type=WINE_KEY)
    struck: str = Field(sa_type=Text)


class PourChange(_Stored, table=True):
    """What one field of a pour held before it was changed, and after; None for nothing."""

    __tablename__ = "pour_change"
    __table_args__ = (Index(None, "pour_id"),)

    id: int | None = Field(default=None, primary_key=True)
    pour_id: int = Field(foreign_key="pour.id", ondelete="CASCADE")
    changed_at: datetime = Field(sa_type=UtcTime)
    field: str = Field(sa_type=Text)
    before: str | None = Field(default=None, sa_type=Text)
    after: str | None = Field(default=None, sa_type=Text)


class Draft(_Stored, table=True):
    """A half-entered flight, as JSON."""

    __table_args__ = (Index(None, "taster_id"),)

    id: int | None = Field(default=None, primary_key=True)
    taster_id: int = Field(foreign_key="taster.id", ondelete="CASCADE")
    content: str = Field(sa_type=Text)
    saved_at: datetime = Field(sa_type=UtcTime)


class OwnName(_Stored, table=True):
    """What a taster means by a name that the table does not know."""

    __tablename__ = "own_name"
    __table_args__ = (UniqueConstraint("taster_id", "text"),)

    id: int | None = Field(default=None, primary_key=True)
    taster_id: int = Field(foreign_key="taster.id", ondelete="CASCADE")
    text: str = Field(sa_type=Text)
    wine: str = Field(sa_type=WINE_KEY)
    made_at: datetime = Field(sa_type=UtcTime)


class Stock(_Stored, table=True):
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
    note: str = _text()


class StockChange(_Stored, table=True):
    """One change of a cellar; `before` is JSON, the rows that it touched as they were."""

    __tablename__ = "stock_change"
    __table_args__ = (Index(None, "taster_id"),)

    id: int | None = Field(default=None, primary_key=True)
    taster_id: int = Field(foreign_key="taster.id", ondelete="CASCADE")
    changed_at: datetime = Field(sa_type=UtcTime)
    why: str = Field(sa_type=Text)
    before: str = Field(sa_type=Text)
    undone_at: datetime | None = Field(default=None, sa_type=UtcTime)


class PlannedFlight(_Stored, table=True):
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


class PlannedPour(_Stored, table=True):
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


class PlannedServing(_Stored, table=True):
    """Where a glass stands in the order of one taster, from 1, and in which sitting."""

    __tablename__ = "planned_serving"

    planned_pour_id: int = Field(
        primary_key=True, foreign_key="planned_pour.id", ondelete="CASCADE"
    )
    taster: str = Field(primary_key=True, sa_type=Text)
    position: int = Field(sa_type=SmallInteger)
    sitting: int = Field(sa_type=SmallInteger)


@event.listens_for(metadata, "before_create")
def _on_a_server(_metadata: MetaData, connection: Connection, **_: Any) -> None:
    # Written on the index, these words would load SQLAlchemy's part for PostgreSQL at every start.
    if connection.dialect.name == "postgresql":
        index = next(one for one in metadata.tables["answer"].indexes if one.name == _COUNTED)
        index.dialect_kwargs["postgresql_where"] = text(_STANDS)
