"""What is drilled, what was answered, and the memory that answers leave."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import CheckConstraint, Connection, Index, MetaData, SmallInteger, Text, event, text
from sqlmodel import Field

from drills.storage.kinds import STABLE_ID, WINE_KEY, UtcTime
from drills.storage.tables.ground import Stored

_COUNTED = "ix_answer_counted"
_STANDS = "undone_at IS NULL"


class Contrast(Stored, table=True):
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


class Memory(Stored, table=True):
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


class Drill(Stored, table=True):
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


class Answer(Stored, table=True):
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


@event.listens_for(Stored.metadata, "before_create")
def _on_a_server(metadata: MetaData, connection: Connection, **_: Any) -> None:
    # Written on the index, these words would load SQLAlchemy's part for PostgreSQL at every start.
    if connection.dialect.name == "postgresql":
        index = next(one for one in metadata.tables["answer"].indexes if one.name == _COUNTED)
        index.dialect_kwargs["postgresql_where"] = text(_STANDS)
