"""Records as the tests need them: short to write, every field settable."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from contextlib import closing
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any

from drills.clock import Clock
from drills.storage.records import (
    AnswerRecord,
    ContrastRecord,
    IntakeDraft,
    MemoryRecord,
    PourDraft,
)
from drills.storage.repository import Repository, open_repository

START = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)
DAY = date(2026, 3, 1).toordinal()


@dataclass
class Wound:
    """A clock that moves one second each time it is read, and further when told to."""

    at: datetime = START
    clock: Clock = field(init=False)

    def __post_init__(self) -> None:
        self.clock = Clock(now=self.tick)

    def tick(self) -> datetime:
        self.at += timedelta(seconds=1)
        return self.at

    def pass_days(self, days: float) -> None:
        self.at += timedelta(days=days)


@cache
def _in_memory() -> Repository:
    return open_repository("sqlite://")


def emptied(clock: Clock | None = None) -> Repository:
    """An empty database in memory, for a property's next example.

    It is one and the same, emptied: making its tables would take most of a short example.
    """
    opened = _in_memory()
    with opened.writing() as connection:
        connection.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
        tables = connection.exec_driver_sql(
            "SELECT name FROM sqlite_master WHERE type = 'table' AND name <> 'alembic_version'"
        ).scalars()
        for table in tables.all():
            connection.exec_driver_sql(f'DELETE FROM "{table}"')
    return Repository(opened.location, opened._engine, clock or Clock(), readonly=False)


def contrast(number: int, **changes: Any) -> ContrastRecord:
    values: dict[str, Any] = {
        "id": number,
        "wine_a": f"albarino-{number // 4:04d}",
        "wine_b": f"verdejo-{number // 4:04d}",
        "cues": "acid+petrol",
        "sides": 3,
        "bearing": "acid:a petrol:a",
        "rank": number,
        "strength": 11.5,
    }
    return ContrastRecord(**(values | changes))


def answer(taster_id: int, contrast_id: int, drill_id: int, **changes: Any) -> AnswerRecord:
    values: dict[str, Any] = {
        "answered_at": START,
        "day": DAY,
        "form": "which glass",
        "swapped": False,
        "truth": "a",
        "given": "a",
        "correct": True,
        "sureness": 3,
        "seconds": 4.0,
        "grade": 3,
        "counts": True,
    }
    return AnswerRecord(taster_id, contrast_id, drill_id, **(values | changes))


def memory(taster_id: int, contrast_id: int, **changes: Any) -> MemoryRecord:
    values: dict[str, Any] = {
        "stability": 3.0,
        "difficulty": 5.0,
        "last_day": DAY,
        "due_day": DAY + 3,
        "answers": 1,
        "slips": 0,
        "last_at": START,
    }
    return MemoryRecord(taster_id, contrast_id, **(values | changes))


def intake(source: str = "tuesday.csv") -> IntakeDraft:
    return IntakeDraft(source, "digest", START)


def pour(fingerprint: str, **changes: Any) -> PourDraft:
    values: dict[str, Any] = {
        "flight": "Tuesday",
        "tasted_on": date(2026, 3, 1),
        "position": 1,
        "fingerprint": fingerprint,
        "called_text": "Verdejo",
        "called_wine": "verdejo-0000",
        "was_text": "Albariño",
        "was_wine": "albarino-0000",
    }
    return PourDraft(**(values | changes))


def spawn(script: str, *arguments: object) -> subprocess.Popen[str]:
    """Start a script in a process of its own, where it can be killed or import afresh."""
    return subprocess.Popen(
        [sys.executable, "-c", script, *map(str, arguments)],
        cwd=Path(__file__).parents[2],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )


def dump(file: Path) -> list[str]:
    """Everything a database holds, as text."""
    with closing(sqlite3.connect(file)) as reader:
        return list(reader.iterdump())


def beside(file: Path) -> dict[str, bytes]:
    """Every file of a folder with its bytes, to see that nothing was touched."""
    return {path.name: path.read_bytes() for path in sorted(file.parent.iterdir())}
