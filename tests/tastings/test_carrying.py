"""Dates and flights written once: carried down where the whole table means it, else never."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from drills.tastings.drafts import IntakeDraft
from drills.tastings.intake import read_intake
from tests.tastings.reading_lists import FewNames

A, B = date(2025, 5, 3), date(2025, 5, 4)


def read(folder: Path, *rows: str, head: str = "date;flight;called;was") -> IntakeDraft:
    file = folder / "list.csv"
    file.write_text("\n".join((head, *rows)), encoding="utf-8")
    return read_intake(file, FewNames())


def places(draft: IntakeDraft) -> list[tuple[date | None, str]]:
    return [(pour.date, pour.flight) for pour in draft.pours]


def told(draft: IntakeDraft) -> bool:
    return any("took those above them" in warning for warning in draft.warnings)


def test_blocks_of_rows_under_one_date_and_flight(tmp_path: Path) -> None:
    draft = read(tmp_path, "2025-05-03;A;x;y", ";;x;y", ";;p;q", "2025-05-04;B;x;y", ";;p;q")
    assert places(draft) == [(A, "A")] * 3 + [(B, "B")] * 2
    assert [pour.position for pour in draft.pours] == [1, 2, 3, 1, 2]
    assert "3 rows without date or flight took those above them" in draft.warnings


def test_several_flights_of_one_day(tmp_path: Path) -> None:
    draft = read(
        tmp_path, "2025-05-03;A;x;y", ";;x;y", ";B;x;y", ";;p;q", "2025-05-04;C;x;y", ";;p;q"
    )
    assert places(draft) == [(A, "A")] * 2 + [(A, "B")] * 2 + [(B, "C")] * 2


def test_one_column_alone(tmp_path: Path) -> None:
    draft = read(tmp_path, "2025-05-03;x;y", ";p;q", head="date;called;was")
    assert [pour.date for pour in draft.pours] == [A, A]
    assert told(draft)


def test_places_in_the_flight_prove_a_block_of_one(tmp_path: Path) -> None:
    rows = ("A;1;x;y", ";2;x;y", "B;1;x;y", "C;1;x;y", ";2;p;q")
    draft = read(tmp_path, *rows, head="flight;pour;called;was")
    assert [pour.flight for pour in draft.pours] == ["A", "A", "B", "C", "C"]


@pytest.mark.parametrize(
    "rows",
    [
        # A row that forgot its date, between rows that all write theirs.
        ("2025-05-03;A;x;y", "2025-05-03;A;p;q", ";;x;y"),
        # A block of one row could as well be a row whose neighbour forgot its date.
        ("2025-05-03;A;x;y", "2025-05-04;B;p;q", ";;x;y"),
        # The first rows have nothing above them.
        (";;x;y", "2025-05-03;A;x;y", ";;p;q"),
        # A new date without its flight: nobody knows whether the flight goes on.
        ("2025-05-03;A;x;y", ";;x;y", "2025-05-04;;p;q", ";;p;q"),
        # Nothing is blank, nothing is carried.
        ("2025-05-03;A;x;y", "2025-05-04;B;x;y"),
    ],
)
def test_what_is_not_clear_stays_blank(tmp_path: Path, rows: tuple[str, ...]) -> None:
    draft = read(tmp_path, *rows)
    written = [tuple(row.split(";")[:2]) for row in rows]
    assert places(draft) == [
        (date.fromisoformat(day) if day else None, flight) for day, flight in written
    ]
    assert not told(draft)
