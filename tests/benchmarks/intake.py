"""Long lists of tastings taken in, against the same rows put into the same tables unasked."""

from __future__ import annotations

import csv
import hashlib
import random
import shutil
import sqlite3
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing
from pathlib import Path

from cards.cellar import Cellar
from cards.scale import LEVEL_LABELS
from drills.service.desk import Desk
from drills.service.intake import read, take_in
from tests.benchmarks.making import make_empty
from tests.benchmarks.timing import Line, in_turn

ROWS = 100_000
TARGET = 3.0
_FLIGHT = 6
_CONFUSED = 0.3
# Whoever tastes for years mixes up the same few.
_PAIRS = 100
_HEAD = ("date", "flight", "pour", "called", "was", "first call", "note")
_LEVELS = ("acid", "tannin", "body")
_NOTED = ("alcohol % vol", *_LEVELS, "descriptors")
_WORDS = ("lemon", "lime", "petrol", "flint", "plum", "black cherry", "vanilla", "smoke")


def intake(folder: Path, repeats: int, rows: int = ROWS) -> list[Line]:
    """Read, resolve and keep `rows` rows, of calls alone and with what was noted.

    Each time into a database that knows none of them; opening it is not counted on either side.
    """
    empty = folder / "for-intake.sqlite3"
    if not empty.exists():
        make_empty(empty)
    desk = Desk(str(empty))
    sheets = {
        "calls": folder / f"calls-{rows}.csv",
        "notes": folder / f"notes-{rows // 2}.csv",
    }
    _write(sheets["calls"], desk.cellar, rows, noted=False)
    _write(sheets["notes"], desk.cellar, rows // 2, noted=True)
    wines = {
        name: key for key, one in desk.table.profiles.items() for name in (one.name, one.short)
    }
    desk.close()
    lines = []
    for what, sheet in sheets.items():
        number = rows if what == "calls" else rows // 2
        found = in_turn(
            {"bare": _bare(empty, sheet, wines), "whole": _whole(empty, sheet, number)},
            max(min(repeats, 5), 1),
        )
        lines.append(
            Line(
                "intake", f"{number:,} rows of CSV, {what}", found["whole"],
                "csv and executemany", found["bare"], TARGET,
            )
        )  # fmt: skip
    return lines


def _whole(empty: Path, sheet: Path, rows: int) -> Callable[[], float]:
    def run() -> float:
        desk = Desk(str(_copy(empty)))
        _ = desk.taster, desk.cellar
        began = time.perf_counter()
        with read(desk, str(sheet)) as source:
            taken = take_in(desk, source)
        seconds = time.perf_counter() - began
        desk.close()
        if taken.pours != rows or taken.rejected or taken.unread:
            raise ValueError("the sheet was not understood, so its time would mean nothing")
        return seconds

    return run


def _bare(empty: Path, sheet: Path, wines: Mapping[str, str]) -> Callable[[], float]:
    with sheet.open(encoding="utf-8", newline="") as stream:
        # The same index over texts in no order.
        prints = [hashlib.sha256(line.encode()).hexdigest() for line in stream]

    def run() -> float:
        with closing(sqlite3.connect(_copy(empty))) as plain:
            plain.execute("PRAGMA synchronous = FULL")
            plain.execute("PRAGMA foreign_keys = ON")
            began = time.perf_counter()
            with sheet.open(encoding="utf-8", newline="") as stream:
                _put(plain, csv.reader(stream), prints, wines)
            return time.perf_counter() - began

    return run


def _copy(empty: Path) -> Path:
    """A database of its own for each run; any log that SQLite left beside the last one goes."""
    copy = empty.with_name("taken-in.sqlite3")
    for beside in ("", "-wal", "-shm"):
        copy.with_name(copy.name + beside).unlink(missing_ok=True)
    shutil.copy(empty, copy)
    return copy


def _write(sheet: Path, cellar: Cellar, rows: int, *, noted: bool) -> None:
    """Names in full and short; what is mixed up is near, as in life."""
    rng = random.Random(1)
    profiles, pairs = cellar.table.profiles, cellar.pairs()
    near = sorted(pairs, key=lambda pair: cellar.separation(*pair))[:_PAIRS]
    with sheet.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow((*_HEAD, *(_NOTED if noted else ())))
        for number in range(rows):
            was, other = (profiles[key] for key in rng.sample(rng.choice(near), 2))
            called = other if rng.random() < _CONFUSED else was
            flight = number // _FLIGHT
            row = [
                f"{2000 + flight % 25}-{flight % 12 + 1:02d}-{flight % 28 + 1:02d}",
                f"evening {flight}",
                number % _FLIGHT + 1,
                rng.choice((called.name, called.short)),
                rng.choice((was.name, was.short)),
                called.short,
                f"row {number}, tired" if number % 3 else "",
            ]
            if noted:
                row += [f"{rng.randint(22, 30) / 2:g}", *rng.choices(LEVEL_LABELS, k=len(_LEVELS))]
                row.append("; ".join(rng.sample(_WORDS, 4)))
            writer.writerow(row)


def _put(
    plain: sqlite3.Connection,
    rows: Iterator[list[str]],
    prints: list[str],
    wines: Mapping[str, str],
) -> None:
    """The rows as they stand: every name is taken for known, nothing is looked for."""
    now = "2026-03-01 09:00:00.000000"
    next(rows)
    with plain:
        plain.execute(
            "INSERT INTO intake (taster_id, source, digest, made_at, pours) VALUES (1,'b','b',?,0)",
            (now,),
        )
        flights: dict[tuple[str, str], int] = {}
        pours, noted = [], []
        for number, (day, flight, place, called, was, first, note, *more) in enumerate(rows, 1):
            key = flights.setdefault((day, flight), len(flights) + 1)
            a, b = wines[called], wines[was]
            pair = (None, None) if a == b else (min(a, b), max(a, b))
            pours.append(
                (number, key, place, called, a, was, b, first, wines[first], note, prints[number],
                 now, *pair)
            )  # fmt: skip
            if more:
                readings = [("alcohol", more[0]), *zip(_LEVELS, more[1:4], strict=True)]
                readings += [(word, "yes") for word in more[4].split("; ")]
                noted += [(number, at, *reading) for at, reading in enumerate(readings)]
        plain.executemany(
            "INSERT INTO flight (id, taster_id, tasted_on, name, intake_id) VALUES (?, 1, ?, ?, 1)",
            [(key, *place) for place, key in flights.items()],
        )
        plain.executemany(
            "INSERT INTO pour (id, flight_id, taster_id, intake_id, position, called_text,"
            " called_wine, was_text, was_wine, first_text, first_wine, runner_text, note,"
            " fingerprint, logged_at, pair_a, pair_b)"
            " VALUES (?, ?, 1, 1, ?, ?, ?, ?, ?, ?, ?, '', ?, ?, ?, ?, ?)",
            pours,
        )
        plain.executemany(
            "INSERT INTO observation (pour_id, position, attribute, reading, typed)"
            " VALUES (?, ?, ?, ?, '')",
            noted,
        )
