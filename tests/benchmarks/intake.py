"""A spreadsheet of many tastings taken in, against the same rows put in without a question."""

from __future__ import annotations

import csv
import random
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

from cards.contrasts import Cellar
from drills.service.desk import Desk
from drills.service.intake import read, take_in
from tests.benchmarks.making import make_empty
from tests.benchmarks.timing import Line, in_turn, timed

ROWS = 10_000
_FLIGHTS = 1_000
_CONFUSED = 0.3
_HEAD = ("date", "flight", "pour", "called", "was", "first call", "note")


def intake(folder: Path, repeats: int, rows: int = ROWS) -> list[Line]:
    """Read, resolve and keep `rows` rows; each time into a database that knows none of them."""
    empty, sheet = folder / "for-intake.sqlite3", folder / f"rows-{rows}.csv"
    if not empty.exists():
        make_empty(empty)
    desk = Desk(str(empty))
    _write(sheet, desk.cellar, rows)
    desk.close()
    draft = read(desk, str(sheet))
    if draft.rejected or len(draft.pours) != rows:
        raise ValueError("the sheet was not understood, so its time would mean nothing")

    def whole() -> None:
        fresh = Desk(str(_copy(empty)))
        if take_in(fresh, read(fresh, str(sheet))).pours != rows:
            raise ValueError("the rows were not all kept")
        fresh.close()

    def bare() -> None:
        with (
            closing(sqlite3.connect(_copy(empty))) as plain,
            sheet.open(encoding="utf-8", newline="") as lines,
        ):
            _put(plain, csv.DictReader(lines))

    found = in_turn({"bare": timed(bare), "whole": timed(whole)}, repeats)
    return [
        Line(
            "intake", f"{rows:,} rows of CSV", found["whole"],
            "csv and executemany", found["bare"],
        )
    ]  # fmt: skip


def _copy(empty: Path) -> Path:
    """A database of its own for each run; any log that SQLite left beside the last one goes."""
    copy = empty.with_name("taken-in.sqlite3")
    for beside in ("", "-wal", "-shm"):
        copy.with_name(copy.name + beside).unlink(missing_ok=True)
    shutil.copy(empty, copy)
    return copy


def _write(sheet: Path, cellar: Cellar, rows: int) -> None:
    """Names in full and short; what is mixed up is near, as in life."""
    rng = random.Random(1)
    profiles, pairs = cellar.table.profiles, cellar.pairs()
    with sheet.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(_HEAD)
        for number in range(rows):
            was, other = (profiles[key] for key in rng.sample(rng.choice(pairs), 2))
            called = other if rng.random() < _CONFUSED else was
            flight = number * _FLIGHTS // rows
            writer.writerow(
                (
                    f"{2010 + flight % 15}-{flight % 12 + 1:02d}-{flight % 28 + 1:02d}",
                    f"evening {flight}",
                    number % 10 + 1,
                    rng.choice((called.name, called.short)),
                    rng.choice((was.name, was.short)),
                    called.short,
                    f"row {number}" if number % 3 else "",
                )
            )


def _put(plain: sqlite3.Connection, rows: csv.DictReader[str]) -> None:
    """The rows as they stand: no names resolved, nothing looked for."""
    now = "2026-03-01 09:00:00"
    with plain:
        plain.execute("PRAGMA synchronous = FULL")
        plain.execute(
            "INSERT INTO intake (taster_id, source, digest, made_at, pours) VALUES (1,'b','b',?,0)",
            (now,),
        )
        flights: dict[tuple[str, str], int] = {}
        pours = []
        for number, row in enumerate(rows):
            flight = flights.setdefault((row["date"], row["flight"]), len(flights) + 1)
            words = (row["called"], row["was"], row["first call"], "", row["note"])
            pours.append((flight, number, *words, str(number), now))
        plain.executemany(
            "INSERT INTO flight (id, taster_id, tasted_on, name) VALUES (?, 1, ?, ?)",
            [(flight, *place) for place, flight in flights.items()],
        )
        plain.executemany(
            "INSERT INTO pour (flight_id, taster_id, intake_id, position, called_text, was_text,"
            " first_text, runner_text, note, fingerprint, logged_at)"
            " VALUES (?, 1, 1, ?, ?, ?, ?, ?, ?, ?, ?)",
            pours,
        )
