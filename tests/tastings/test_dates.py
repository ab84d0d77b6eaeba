"""Dates as people write them, in five languages, and what is no date."""

from __future__ import annotations

from datetime import date

import pytest

from drills.tastings.drafts import IntakeDraft
from tests.tastings.reading_lists import Reading


def day_of(draft: IntakeDraft) -> list[date | None]:
    return [pour.date for pour in draft.pours]


def with_dates(*dates: str) -> str:
    return "date;called;was\n" + "".join(f"{day};Chablis;Sancerre\n" for day in dates)


@pytest.mark.parametrize(
    "written",
    [
        "2025-05-03",
        "2025/05/03",
        "2025.5.3",
        "20250503",
        "2025-05-03T19:30:00Z",
        "2025-05-03 19:30",
        "3.5.2025",
        "03.05.25",
        "3 May 2025",
        "May 3, 2025",
        "3rd of May 2025",
        "Sat 3 May 2025",
        "3-May-25",
        "3 mai 2025",
        "samedi 3 mai 2025",
        "3. Mai 2025",
        "3 maggio 2025",
        "3 de mayo de 2025",
    ],
)
def test_ways_to_write_a_date(read: Reading, written: str) -> None:
    assert day_of(read(with_dates(written))) == [date(2025, 5, 3)]


@pytest.mark.parametrize(
    ("written", "month"),
    [
        ("1er août 2024", 8),
        ("1 Dez 2024", 12),
        ("1 dic. 2024", 12),
        ("1 März 2024", 3),
        ("1 Jänner 2024", 1),
        ("1 luglio 2024", 7),
        ("1 juil. 2024", 7),
        ("1 set 2024", 9),
        ("1 ene 2024", 1),
        ("1 gen 2024", 1),
        ("1 févr. 2024", 2),
    ],
)
def test_months_of_five_languages(read: Reading, written: str, month: int) -> None:
    assert day_of(read(with_dates(written))) == [date(2024, month, 1)]


def test_one_clear_date_settles_the_column(read: Reading) -> None:
    assert day_of(read(with_dates("3/5/2025", "13/5/2025"))) == [
        date(2025, 5, 3),
        date(2025, 5, 13),
    ]
    assert day_of(read(with_dates("3/5/2025", "5/13/2025"))) == [
        date(2025, 3, 5),
        date(2025, 5, 13),
    ]


def test_dates_that_could_be_two_days_are_refused(read: Reading) -> None:
    draft = read(with_dates("3/5/2025", "6/6/2025"))
    assert day_of(draft) == [date(2025, 6, 6)]
    (one,) = draft.rejected
    assert (one.row, one.column) == (2, "date")
    assert "2025-05-03" in one.reason
    assert "2025-03-05" in one.reason


@pytest.mark.parametrize(("order", "day"), [("dmy", date(2025, 5, 3)), ("mdy", date(2025, 3, 5))])
def test_the_order_of_dates_can_be_given(read: Reading, order: str, day: date) -> None:
    assert day_of(read(with_dates("3/5/2025"), date_order=order)) == [day]


def test_a_column_in_both_orders_settles_nothing(read: Reading) -> None:
    draft = read(with_dates("13/5/2025", "5/13/2025", "3/5/2025"))
    assert day_of(draft) == [date(2025, 5, 13), date(2025, 5, 13)]
    assert [one.row for one in draft.rejected] == [4]


@pytest.mark.parametrize(
    "written",
    [
        "31.2.2025",
        "2025-13-01",
        "0/0/2025",
        "yesterday",
        "3/5",
        "May 2025",
        "25-05-03",
        "3 Smarch 2025",
        "99999999",
        "3.5.1212",
        "2025",
        "3 May 2025 or so",
    ],
)
def test_what_is_no_date_is_refused(read: Reading, written: str) -> None:
    draft = read(with_dates(written, "2025-05-03"))
    assert day_of(draft) == [date(2025, 5, 3)]
    assert [(one.row, one.column) for one in draft.rejected] == [(2, "date")]


def test_serial_numbers_of_a_spreadsheet(read: Reading) -> None:
    assert day_of(read(with_dates("45780", "45780.8125", ""))) == [
        date(2025, 5, 3),
        date(2025, 5, 3),
        None,
    ]
    # Among written dates a bare number is more likely a slip.
    assert [one.row for one in read(with_dates("45780", "3.5.2025")).rejected] == [2]
