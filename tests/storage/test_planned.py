"""A cellar and planned flights: what is kept, what stays sealed, and what can be taken back."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from drills.errors import StorageError
from drills.storage.planned_records import (
    Place,
    PlannedFlightDraft,
    PlannedPourDraft,
    Reveal,
    StockRow,
)
from drills.storage.repository import Repository, open_repository
from drills.storage.upgrade import REVISIONS, read_revision
from tests.storage.making import dump

THIRD = Path(__file__).parent / "old" / "revision-0003.sqlite3"


def test_a_file_of_the_third_revision_keeps_all_it_held(tmp_path: Path) -> None:
    file = tmp_path / "crosspour.sqlite3"
    shutil.copy(THIRD, file)
    with closing(sqlite3.connect(THIRD)) as reader:
        old = {
            name: reader.execute(f"SELECT * FROM {name}").fetchall()
            for (name,) in reader.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
            if name not in ("alembic_version", "meta")
        }
    assert all(old.values()), "the fixture has something in every table"
    with open_repository(file) as repository:
        assert repository.upgrade_copy is not None
        assert dump(repository.upgrade_copy) == dump(THIRD)
    assert read_revision(file) == REVISIONS[-1]
    with closing(sqlite3.connect(file)) as reader:
        for name, rows in old.items():
            wide = len(rows[0])
            now = [row[:wide] for row in reader.execute(f"SELECT * FROM {name}")]
            assert now == rows, name
        assert reader.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def glass(code: int, *, sealed: str = "sealed", **places: Place) -> PlannedPourDraft:
    return PlannedPourDraft(code, sealed, places or {"Ada": Place(1, 1)})


def planned(*codes: int) -> PlannedFlightDraft:
    return PlannedFlightDraft(7, "a seal", '{"bottles": 3}', [glass(code) for code in codes])


ROWS = [
    StockRow("Chablis 2021", "chardonnay-chablis", 2021, 18.5, 2, "from the fair"),
    StockRow("the lantern white", None, None, None, 1),
]


def test_a_planned_flight_comes_back_whole_and_numbers_go_on(
    repository: Repository, me: int
) -> None:
    orders = {"Ada": Place(1, 2), "Ben": Place(2, 1)}
    flight = PlannedFlightDraft(7, "a seal", "{}", [glass(514), glass(208, sealed="x", **orders)])
    first = repository.keep_planned(me, flight)
    assert (first.number, first.seed, first.state, first.seal) == (1, 7, "planned", "a seal")
    assert [(one.code, one.sealed, one.wine) for one in first.pours] == [
        (208, "x", None),
        (514, "sealed", None),
    ]
    assert first.pours[0].places == orders
    second = repository.keep_planned(me, planned(208, 371))
    other = repository.keep_planned(repository.taster("other").id, planned(208))
    assert (second.number, other.number) == (2, 3)
    assert repository.planned_flights(me) == [second, first]
    assert (first.planner, other.planner) == ("me", "other")


def test_a_flight_is_found_by_those_whom_it_serves_and_by_nobody_else(
    repository: Repository, me: int
) -> None:
    other = repository.taster("other").id
    pour = glass(514, Zoë=Place(1, 1), Ben=Place(1, 1))
    flight = repository.keep_planned(me, PlannedFlightDraft(1, "a seal", "{}", [pour]))
    assert repository.flights_served_to(other, "zoË") == [flight]
    assert repository.flights_served_to(other, "other") == []
    assert repository.flights_served_to(me, "Ben") == []


def test_a_code_twice_in_a_flight_is_refused_and_leaves_nothing(
    repository: Repository, me: int
) -> None:
    with pytest.raises(StorageError):
        repository.keep_planned(me, planned(208, 208))
    with pytest.raises(StorageError):
        repository.keep_planned(me, planned(208, 99))
    assert repository.planned_flights(me) == []


def test_a_reveal_counts_a_bottle_off_once_and_the_last_one_ends_the_flight(
    repository: Repository, me: int
) -> None:
    repository.change_stock(me, "imported", ROWS)
    chablis = repository.stock(me)[0]
    flight = repository.keep_planned(me, planned(208, 371))
    reveals = [Reveal(flight.pours[0].id, "chardonnay-chablis", chablis.id)]
    for _ in range(2):
        now = repository.reveal_planned(me, flight.id, reveals, "flight 1")
        assert now.state == "poured"
        assert [one.wine for one in now.pours] == ["chardonnay-chablis", None]
        assert [row.bottles for row in repository.stock(me)] == [1, 1]
    last = [Reveal(flight.pours[1].id, "melon-muscadet")]
    assert repository.reveal_planned(me, flight.id, last, "flight 1").state == "done"
    change = repository.undo_stock_change(me)
    assert change is not None
    assert (change.why, change.rows) == ("flight 1", 1)


def test_a_glass_of_somebody_else_is_not_revealed(repository: Repository, me: int) -> None:
    other = repository.taster("other").id
    flight = repository.keep_planned(other, planned(208))
    with pytest.raises(StorageError, match="no planned flight"):
        repository.reveal_planned(me, flight.id, [Reveal(flight.pours[0].id, "x")], "")
    assert repository.planned_flights(other) == [flight]


def test_changes_of_a_cellar_are_taken_back_one_by_one(repository: Repository, me: int) -> None:
    repository.change_stock(me, "imported", ROWS)
    first = repository.stock(me)
    assert [replace(row, id=None) for row in first] == ROWS
    repository.change_stock(me, "imported", first)
    fuller = replace(first[0], bottles=6, price=None)
    repository.change_stock(me, "changed", [fuller, StockRow("Barolo")], gone=[first[1].id or 0])
    assert [(row.text, row.bottles) for row in repository.stock(me)] == [
        ("Chablis 2021", 6),
        ("Barolo", 1),
    ]
    undone = repository.undo_stock_change(me)
    assert undone is not None
    assert undone.why == "changed"
    assert repository.stock(me) == first
    assert repository.undo_stock_change(me) is not None
    assert repository.stock(me) == []
    assert repository.undo_stock_change(me) is None


def test_no_cellar_holds_fewer_than_no_bottles(repository: Repository, me: int) -> None:
    with pytest.raises(StorageError):
        repository.change_stock(me, "", [*ROWS, StockRow("Barolo", bottles=-1)])
    assert repository.stock(me) == []
    assert repository.undo_stock_change(me) is None


def test_what_a_waiting_bottle_is_stays_said_when_a_change_is_undone(
    repository: Repository, me: int
) -> None:
    repository.change_stock(me, "imported", ROWS)
    waiting = repository.stock(me)[1]
    repository.change_stock(me, "changed", [replace(waiting, bottles=4)])
    assert repository.resolve_stock(me, ["the lantern white"], "melon-muscadet") == 1
    repository.undo_stock_change(me)
    assert [(row.wine, row.bottles) for row in repository.stock(me)][1] == ("melon-muscadet", 1)
