"""The columns of the tables, for queries. Written from `tables`: change that, then run

    python -m tests.storage.write_columns

A query needs to know columns and their types, and nothing of the classes that SQLModel makes of
them: without those the program starts in three quarters of the time. Constraints, indexes and
references stand in `tables` alone, which makes and upgrades a database.
"""

from __future__ import annotations

from sqlalchemy import (
    Boolean,
    Column,
    Date,
    Float,
    Integer,
    MetaData,
    SmallInteger,
    Table,
    Text,
)

from drills.storage.kinds import STABLE_ID, WINE_KEY, UtcTime

_EVERY = MetaData()

META = Table(
    "meta",
    _EVERY,
    Column("key", Text, primary_key=True),
    Column("value", Text, nullable=False),
)

TASTER = Table(
    "taster",
    _EVERY,
    Column("id", Integer, primary_key=True),
    Column("name", Text, nullable=False),
    Column("made_at", UtcTime, nullable=False),
    Column("login", Text),
    Column("shares", Boolean, nullable=False, default=False),
)

CONTRAST = Table(
    "contrast",
    _EVERY,
    Column("id", STABLE_ID, primary_key=True, autoincrement=False),
    Column("wine_a", WINE_KEY, nullable=False),
    Column("wine_b", WINE_KEY, nullable=False),
    Column("cues", Text, nullable=False),
    Column("sides", SmallInteger, nullable=False),
    Column("bearing", Text, nullable=False),
    Column("rank", Integer, nullable=False),
    Column("strength", Float, nullable=False),
    Column("retired_at", UtcTime),
    Column("turned_at", UtcTime),
)

MEMORY = Table(
    "memory",
    _EVERY,
    Column("taster_id", Integer, primary_key=True),
    Column("contrast_id", STABLE_ID, primary_key=True),
    Column("stability", Float, nullable=False),
    Column("difficulty", Float, nullable=False),
    Column("last_day", Integer, nullable=False),
    Column("due_day", Integer, nullable=False),
    Column("answers", Integer, nullable=False),
    Column("slips", Integer, nullable=False),
    Column("last_at", UtcTime, nullable=False),
)

DRILL = Table(
    "drill",
    _EVERY,
    Column("id", Integer, primary_key=True),
    Column("taster_id", Integer, nullable=False),
    Column("began_at", UtcTime, nullable=False),
    Column("ended_at", UtcTime),
    Column("planned_seconds", Integer, nullable=False),
    Column("note", Text, nullable=False, default=""),
)

ANSWER = Table(
    "answer",
    _EVERY,
    Column("id", Integer, primary_key=True),
    Column("taster_id", Integer, nullable=False),
    Column("contrast_id", STABLE_ID, nullable=False),
    Column("drill_id", Integer, nullable=False),
    Column("answered_at", UtcTime, nullable=False),
    Column("day", Integer, nullable=False),
    Column("form", Text, nullable=False),
    Column("swapped", Boolean, nullable=False),
    Column("truth", Text, nullable=False),
    Column("given", Text, nullable=False),
    Column("correct", Boolean, nullable=False),
    Column("sureness", SmallInteger, nullable=False),
    Column("seconds", Float, nullable=False),
    Column("grade", SmallInteger, nullable=False),
    Column("counts", Boolean, nullable=False),
    Column("undone_at", UtcTime),
    Column("receipt", STABLE_ID),
)

STOCK = Table(
    "stock",
    _EVERY,
    Column("id", Integer, primary_key=True),
    Column("taster_id", Integer, nullable=False),
    Column("text", Text, nullable=False),
    Column("wine", WINE_KEY),
    Column("vintage", Integer),
    Column("price", Float),
    Column("bottles", Integer, nullable=False),
    Column("note", Text, nullable=False, default=""),
)

STOCK_CHANGE = Table(
    "stock_change",
    _EVERY,
    Column("id", Integer, primary_key=True),
    Column("taster_id", Integer, nullable=False),
    Column("changed_at", UtcTime, nullable=False),
    Column("why", Text, nullable=False),
    Column("before", Text, nullable=False),
    Column("undone_at", UtcTime),
)

PLANNED_FLIGHT = Table(
    "planned_flight",
    _EVERY,
    Column("id", Integer, primary_key=True),
    Column("taster_id", Integer, nullable=False),
    Column("number", Integer, nullable=False),
    Column("made_at", UtcTime, nullable=False),
    Column("seed", Integer, nullable=False),
    Column("state", Text, nullable=False),
    Column("seal", Text, nullable=False),
    Column("asked", Text, nullable=False),
)

PLANNED_POUR = Table(
    "planned_pour",
    _EVERY,
    Column("id", Integer, primary_key=True),
    Column("planned_flight_id", Integer, nullable=False),
    Column("code", SmallInteger, nullable=False),
    Column("sealed", Text, nullable=False),
    Column("wine", WINE_KEY),
    Column("revealed_at", UtcTime),
)

PLANNED_SERVING = Table(
    "planned_serving",
    _EVERY,
    Column("planned_pour_id", Integer, primary_key=True),
    Column("taster", Text, primary_key=True),
    Column("position", SmallInteger, nullable=False),
    Column("sitting", SmallInteger, nullable=False),
)

INTAKE = Table(
    "intake",
    _EVERY,
    Column("id", Integer, primary_key=True),
    Column("taster_id", Integer, nullable=False),
    Column("source", Text, nullable=False),
    Column("digest", Text, nullable=False),
    Column("made_at", UtcTime, nullable=False),
    Column("pours", Integer, nullable=False),
    Column("undone_at", UtcTime),
)

FLIGHT = Table(
    "flight",
    _EVERY,
    Column("id", Integer, primary_key=True),
    Column("taster_id", Integer, nullable=False),
    Column("tasted_on", Date),
    Column("name", Text, nullable=False),
    Column("intake_id", Integer),
)

POUR = Table(
    "pour",
    _EVERY,
    Column("id", Integer, primary_key=True),
    Column("flight_id", Integer, nullable=False),
    Column("taster_id", Integer, nullable=False),
    Column("intake_id", Integer),
    Column("position", Integer, nullable=False),
    Column("called_text", Text, nullable=False),
    Column("called_wine", WINE_KEY),
    Column("was_text", Text, nullable=False),
    Column("was_wine", WINE_KEY),
    Column("first_text", Text, nullable=False),
    Column("first_wine", WINE_KEY),
    Column("runner_text", Text, nullable=False),
    Column("runner_wine", WINE_KEY),
    Column("note", Text, nullable=False),
    Column("fingerprint", Text, nullable=False),
    Column("logged_at", UtcTime, nullable=False),
    Column("pair_a", WINE_KEY),
    Column("pair_b", WINE_KEY),
    Column("called_vintage", Integer),
    Column("was_vintage", Integer),
    Column("first_vintage", Integer),
    Column("called_sureness", SmallInteger),
    Column("first_sureness", SmallInteger),
    Column("label_alcohol", Float),
    Column("seconds", Float),
    Column("price", Text, nullable=False, default=""),
    Column("world", Text, nullable=False, default=""),
    Column("climate", Text, nullable=False, default=""),
    Column("age", Text, nullable=False, default=""),
    Column("appearance", Text, nullable=False, default=""),
    Column("nose", Text, nullable=False, default=""),
    Column("palate", Text, nullable=False, default=""),
)

OBSERVATION = Table(
    "observation",
    _EVERY,
    Column("pour_id", Integer, primary_key=True),
    Column("position", SmallInteger, primary_key=True),
    Column("attribute", Text, nullable=False),
    Column("reading", Text, nullable=False),
    Column("typed", Text, nullable=False),
)

CANDIDATE = Table(
    "candidate",
    _EVERY,
    Column("pour_id", Integer, primary_key=True),
    Column("position", SmallInteger, primary_key=True),
    Column("text", Text, nullable=False),
    Column("wine", WINE_KEY),
    Column("struck", Text, nullable=False),
)

POUR_CHANGE = Table(
    "pour_change",
    _EVERY,
    Column("id", Integer, primary_key=True),
    Column("pour_id", Integer, nullable=False),
    Column("changed_at", UtcTime, nullable=False),
    Column("field", Text, nullable=False),
    Column("before", Text),
    Column("after", Text),
)

DRAFT = Table(
    "draft",
    _EVERY,
    Column("id", Integer, primary_key=True),
    Column("taster_id", Integer, nullable=False),
    Column("content", Text, nullable=False),
    Column("saved_at", UtcTime, nullable=False),
)

OWN_NAME = Table(
    "own_name",
    _EVERY,
    Column("id", Integer, primary_key=True),
    Column("taster_id", Integer, nullable=False),
    Column("text", Text, nullable=False),
    Column("wine", WINE_KEY, nullable=False),
    Column("made_at", UtcTime, nullable=False),
)
