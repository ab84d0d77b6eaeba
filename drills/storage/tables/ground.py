"""The ground of all tables: their base, the facts about a database, and whose the rest is."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import Index, MetaData, Text, UniqueConstraint, false, text
from sqlalchemy.orm import registry
from sqlmodel import Field, SQLModel

from drills.storage.kinds import UtcTime

# Batch migrations find constraints by name, so every one has a name that follows from its place.
_NAMING = {
    "pk": "pk_%(table_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
}


class Stored(SQLModel, registry=registry(metadata=MetaData(naming_convention=_NAMING))):
    """Base of all tables; a registry of our own keeps other libraries' tables out."""


def later_text() -> Any:
    """Return the field of a text that came after the first rows of its table: empty in those."""
    return Field(default="", sa_type=Text, sa_column_kwargs={"server_default": text("''")})


class Meta(Stored, table=True):
    """Facts about the database itself."""

    key: str = Field(primary_key=True, sa_type=Text)
    value: str = Field(sa_type=Text)


class Taster(Stored, table=True):
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
